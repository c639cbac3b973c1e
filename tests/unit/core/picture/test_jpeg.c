/* What is left of a JPEG: its picture and no more. Files are built segment by segment as T.81 annex
 * B and Exif 2.32 section 4.5 lay them out; whole photos are judged by Pillow (tests/reference). */
#include <stdlib.h>
#include <string.h>

#include "core/picture/jpeg.h"
#include "support/check.h"

#define CAP 4096

typedef struct file {
    unsigned char bytes[CAP];
    size_t len;
} file;

static void put(file *f, const void *bytes, size_t len)
{
    check_true(f->len + len <= CAP);
    memcpy(&f->bytes[f->len], bytes, len);
    f->len += len;
}

/* A segment with its length. */
static void segment(file *f, int marker, const void *body, size_t len)
{
    const unsigned char head[4] = {0xFF, (unsigned char)marker, (unsigned char)((len + 2) >> 8),
                                   (unsigned char)(len + 2)};
    put(f, head, sizeof head);
    put(f, body, len);
}

static const unsigned char jfif[14] = {'J', 'F', 'I', 'F', 0, 1, 2, 0, 0, 1, 0, 1, 0, 0};
static const unsigned char frame[6] = {8, 0, 3, 0, 5, 0}; /* 8 bit, 3 high, 5 wide, no component */
static const unsigned char scan[4] = {1, 1, 0, 0};
/* A stuffed 0xFF, a restart marker, a fill byte before the end. */
static const unsigned char data[] = {1, 2, 0xFF, 0, 3, 0xFF, 0xD3, 4, 5};

static void begin(file *f)
{
    *f = (file){.len = 0};
    put(f, "\xFF\xD8", 2);
}

static void picture(file *f)
{
    segment(f, 0xDB, "table", 5);
    segment(f, 0xC0, frame, sizeof frame);
    segment(f, 0xDA, scan, sizeof scan);
    put(f, data, sizeof data);
    put(f, "\xFF\xD9", 2);
}

static fl_status strip(const file *in, file *out, fl_jpeg *jpeg, fl_err *err)
{
    /* on the heap, to the byte: the sanitizers see what is read beyond it */
    char *bytes = malloc(in->len + 1);
    check_true(bytes != NULL);
    memcpy(bytes, in->bytes, in->len);
    fl_status status = fl_jpeg_strip((fl_sv){bytes, in->len}, out->bytes, jpeg, err);
    out->len = status == FL_OK ? jpeg->bytes : 0;
    free(bytes);
    return status;
}

/* An Exif segment with an orientation, a GPS pointer, and where it was. */
static void exif(file *f, int orientation)
{
    unsigned char body[64] = "Exif\0\0II*\0\x08\0\0\0\x02\0"
                             "\x12\x01\x03\0\x01\0\0\0\0\0\0\0"
                             "\x25\x88\x04\0\x01\0\0\0\x26\0\0\0";
    body[24] = (unsigned char)orientation;
    memcpy(&body[44], "52N 13E secret place", 20);
    segment(f, 0xE1, body, sizeof body);
}

/* What is left of `in` is `want`, to the byte. */
static fl_jpeg check_left(const file *in, const file *want)
{
    file out;
    fl_jpeg jpeg;
    fl_err err;
    check_ok(strip(in, &out, &jpeg, &err), &err);
    check_int(out.len, want->len);
    check_int(memcmp(out.bytes, want->bytes, want->len), 0);
    return jpeg;
}

static void test_only_the_picture_is_left(void **state)
{
    file in;
    file want;
    (void)state;
    begin(&in);
    segment(&in, 0xE0, jfif, sizeof jfif);
    exif(&in, 1);
    segment(&in, 0xE1, "http://ns.adobe.com/xap/1.0/\0<gps/>", 36);
    segment(&in, 0xE2, "ICC_PROFILE\0", 12);
    segment(&in, 0xED, "Photoshop 3.0\0city", 18);
    segment(&in, 0xFE, "my garden", 9);
    segment(&in, 0xEE, "Adobe\0d\0\0\0\0\1", 12);
    picture(&in);
    put(&in, "a film follows the picture", 26);
    begin(&want);
    segment(&want, 0xE0, jfif, sizeof jfif);
    segment(&want, 0xEE, "Adobe\0d\0\0\0\0\1", 12);
    picture(&want);
    const fl_jpeg jpeg = check_left(&in, &want);
    check_int(jpeg.width_px, 5);
    check_int(jpeg.height_px, 3);
    check_int(jpeg.n_dropped, 5);
    check_int(jpeg.orientation, 1);
}

/* Reserved segments are no part of a picture, whatever they hold: only what is known is kept. */
static void test_unknown_segments_are_dropped(void **state)
{
    static const int markers[] = {0x02, 0x50, 0xBF, 0xC8, 0xDC, 0xDE, 0xDF, 0xF0, 0xFD};
    file in;
    file want;
    (void)state;
    begin(&in);
    for (size_t i = 0; i < sizeof markers / sizeof markers[0]; i++) {
        segment(&in, markers[i], "a secret place", 14);
    }
    picture(&in);
    begin(&want);
    picture(&want);
    (void)check_left(&in, &want);
}

/* A second frame of JFIF is a preview: gone, as is a JFIF header that carries one. */
static void test_previews_are_dropped(void **state)
{
    file in;
    file want;
    unsigned char with_preview[17] = {0};
    (void)state;
    memcpy(with_preview, jfif, sizeof jfif);
    with_preview[12] = with_preview[13] = 1;
    begin(&in);
    segment(&in, 0xE0, with_preview, sizeof with_preview);
    segment(&in, 0xE0, "JFXX\0\x10 a small picture", 21);
    picture(&in);
    begin(&want);
    picture(&want);
    (void)check_left(&in, &want);
}

static void test_the_way_up_is_kept_alone(void **state)
{
    (void)state;
    for (int way = 0; way <= 10; way++) {
        file in;
        file out;
        file again;
        fl_jpeg jpeg;
        fl_err err;
        begin(&in);
        exif(&in, way);
        picture(&in);
        check_ok(strip(&in, &out, &jpeg, &err), &err);
        check_int(jpeg.orientation, way >= 1 && way <= 8 ? way : 1);
        check_int(out.bytes[3], way >= 2 && way <= 8 ? 0xE1 : 0xDB);
        for (size_t i = 0; i + 6 <= out.len; i++) {
            check_true(memcmp(&out.bytes[i], "secret", 6) != 0);
        }
        check_ok(strip(&out, &again, &jpeg, &err), &err); /* a second time changes nothing */
        check_int(again.len, out.len);
        check_int(memcmp(again.bytes, out.bytes, out.len), 0);
        check_int(jpeg.orientation, way >= 1 && way <= 8 ? way : 1);
    }
}

/* Cut anywhere, it is refused and nothing beyond its end is read. */
static void test_cut_off_anywhere(void **state)
{
    file in;
    file out;
    fl_jpeg jpeg = {.bytes = 7};
    fl_err err;
    (void)state;
    begin(&in);
    segment(&in, 0xE0, jfif, sizeof jfif);
    exif(&in, 6);
    picture(&in);
    size_t whole = in.len;
    for (in.len = 0; in.len < whole; in.len++) {
        check_int(strip(&in, &out, &jpeg, &err), FL_EFORMAT);
        check_status(&err, FL_EFORMAT);
        check_int(jpeg.bytes, 7);
    }
    check_ok(strip(&in, &out, &jpeg, &err), &err);
}

static void refuse(const file *in, const char *why)
{
    file out;
    fl_jpeg jpeg;
    fl_err err;
    check_int(strip(in, &out, &jpeg, &err), FL_EFORMAT);
    check_contains(err.message, why);
}

static void test_what_is_refused(void **state)
{
    static const unsigned char flat[6] = {8, 0, 0, 0, 5, 0};
    static const unsigned char wide[6] = {8, 0, 3, 0x40, 1, 0};
    file in = {.len = 0};
    (void)state;
    put(&in, "\x89PNG\r\n\x1a\n", 8);
    refuse(&in, "no start of a picture");
    begin(&in);
    put(&in, "\xFF\xD9", 2);
    refuse(&in, "no picture");
    begin(&in);
    segment(&in, 0xDA, scan, sizeof scan);
    put(&in, "\xFF\xD9", 2);
    refuse(&in, "a scan without a frame");
    begin(&in);
    segment(&in, 0xC0, flat, sizeof flat);
    refuse(&in, "a side of the picture is 0");
    begin(&in);
    segment(&in, 0xC2, wide, sizeof wide);
    refuse(&in, "too long");
    begin(&in);
    segment(&in, 0xC0, "short", 5);
    refuse(&in, "a frame that is too short");
    begin(&in);
    put(&in, "\xFF\xE1\x00\x01", 4);
    refuse(&in, "a length that does not fit at byte 4");
    begin(&in);
    put(&in, "\xFF\xD8", 2);
    refuse(&in, "a marker out of place");
    begin(&in);
    put(&in, "<svg", 4);
    refuse(&in, "no marker at byte 2");
}

/* Exif that lies about its offsets and counts is read as telling nothing. */
static void test_exif_that_lies(void **state)
{
    (void)state;
    for (unsigned at = 6; at < 24; at++) {
        for (unsigned value = 0; value < 256; value += 51) {
            unsigned char body[26] = "Exif\0\0II*\0\x08\0\0\0\x01\0"
                                     "\x12\x01\x03\0\x01\0\0\0\x06";
            file in;
            file out;
            fl_jpeg jpeg;
            fl_err err;
            body[at] = (unsigned char)value;
            begin(&in);
            segment(&in, 0xE1, body, sizeof body);
            picture(&in);
            check_ok(strip(&in, &out, &jpeg, &err), &err);
            check_true(jpeg.orientation >= 1 && jpeg.orientation <= 8);
        }
    }
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_only_the_picture_is_left),
    cmocka_unit_test(test_unknown_segments_are_dropped),
    cmocka_unit_test(test_previews_are_dropped),
    cmocka_unit_test(test_the_way_up_is_kept_alone),
    cmocka_unit_test(test_cut_off_anywhere),
    cmocka_unit_test(test_what_is_refused),
    cmocka_unit_test(test_exif_that_lies),
};
FL_TEST_MAIN(tests)
