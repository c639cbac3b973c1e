/* Walks the segments of a JPEG (T.81 annex B) once and copies those that make the picture. */
#include "core/picture/jpeg.h"

#include <string.h>

/* Markers: the second byte after 0xFF (T.81 table B.1). */
enum {
    TEM = 0x01,
    SOF0 = 0xC0,
    DHT = 0xC4,
    JPG = 0xC8,
    DAC = 0xCC,
    SOF15 = 0xCF,
    RST0 = 0xD0,
    RST7 = 0xD7,
    SOI = 0xD8,
    EOI = 0xD9,
    SOS = 0xDA,
    DQT = 0xDB,
    DNL = 0xDC,
    DRI = 0xDD,
    APP0 = 0xE0,
    APP1 = 0xE1,
    APP14 = 0xEE
};

#define JFIF_BYTES 16  /* with its length, without a preview */
#define ADOBE_BYTES 14 /* with its length */
#define DNL_BYTES 4    /* likewise */
#define FRAME_BYTES_MIN 8

/* "Exif", two zero bytes, then a TIFF (Exif 2.32 section 4.5). */
#define EXIF_HEAD_BYTES 6
#define TIFF_HEAD_BYTES 8
#define TIFF_ENTRY_BYTES 12
#define TIFF_SHORT 3
#define TAG_ORIENTATION 0x0112

typedef struct walk {
    const unsigned char *in;
    size_t len;
    size_t at;
    unsigned char *out;
    fl_jpeg *jpeg;
    bool has_frame;
    bool has_scan;
    fl_err *err;
} walk;

static fl_status bad(const walk *w, const char *why)
{
    return fl_fail(w->err, FL_EFORMAT, "this is no JPEG that can be kept: %s at byte %zu", why,
                   w->at);
}

static void copy(walk *w, size_t from, size_t to)
{
    memcpy(&w->out[w->jpeg->bytes], &w->in[from], to - from);
    w->jpeg->bytes += to - from;
}

static int two_bytes(const unsigned char *at)
{
    return at[0] << 8 | at[1];
}

static bool is_frame(int marker)
{
    return marker >= SOF0 && marker <= SOF15 && marker != DHT && marker != JPG && marker != DAC;
}

/* True for what is known to belong to the picture. `body`: the segment from its length on. */
static bool is_kept(int marker, const unsigned char *body, int len)
{
    if (marker == APP0) {
        return len == JFIF_BYTES && memcmp(&body[2], "JFIF", 5) == 0;
    }
    if (marker == APP14) {
        return len == ADOBE_BYTES && memcmp(&body[2], "Adobe", 5) == 0;
    }
    return is_frame(marker) || marker == DHT || marker == DAC || marker == DQT || marker == DRI ||
           marker == SOS || (marker == DNL && len == DNL_BYTES);
}

static fl_status read_frame(walk *w, const unsigned char *body, int len)
{
    if (len < FRAME_BYTES_MIN) {
        return bad(w, "a frame that is too short");
    }
    w->jpeg->height_px = two_bytes(&body[3]);
    w->jpeg->width_px = two_bytes(&body[5]);
    w->has_frame = true;
    return w->jpeg->height_px >= 1 && w->jpeg->height_px <= FL_JPEG_SIDE_PX_MAX &&
                   w->jpeg->width_px >= 1 && w->jpeg->width_px <= FL_JPEG_SIDE_PX_MAX
               ? FL_OK
               : bad(w, "a side of the picture is 0 or too long");
}

/* ---- which way up ---- */

typedef struct tiff {
    const unsigned char *at;
    size_t len;
    bool is_little;
} tiff;

static unsigned number(const tiff *t, size_t at, int n_bytes)
{
    unsigned value = 0;
    for (int i = 0; i < n_bytes; i++) {
        int shift = 8 * (t->is_little ? i : n_bytes - 1 - i);
        value |= (unsigned)t->at[at + (size_t)i] << shift;
    }
    return value;
}

/* The orientation of an APP1 segment; 1 when it tells none that is known. */
static int orientation_of(const unsigned char *body, int len)
{
    tiff t = {.at = &body[2 + EXIF_HEAD_BYTES]};
    if (len < 2 + EXIF_HEAD_BYTES + TIFF_HEAD_BYTES || memcmp(&body[2], "Exif\0", 6) != 0) {
        return 1;
    }
    t.len = (size_t)len - 2 - EXIF_HEAD_BYTES;
    t.is_little = t.at[0] == 'I';
    size_t first = number(&t, 4, 4);
    if (first > t.len || t.len - first < 2) {
        return 1;
    }
    size_t n = number(&t, first, 2);
    for (size_t i = 0; i < n && (t.len - first - 2) / TIFF_ENTRY_BYTES > i; i++) {
        size_t entry = first + 2 + i * TIFF_ENTRY_BYTES;
        if (number(&t, entry, 2) == TAG_ORIENTATION && number(&t, entry + 2, 2) == TIFF_SHORT) {
            unsigned told = number(&t, entry + 8, 2);
            return told >= 1 && told <= 8 ? (int)told : 1;
        }
    }
    return 1;
}

/* The way up alone; nothing for 1, which is how a picture without it is taken. */
static void put_orientation(walk *w)
{
    unsigned char segment[FL_JPEG_BYTES_MORE] = {0xFF,
                                                 APP1,
                                                 0,
                                                 FL_JPEG_BYTES_MORE - 2,
                                                 'E',
                                                 'x',
                                                 'i',
                                                 'f',
                                                 0,
                                                 0,
                                                 'M',
                                                 'M',
                                                 0,
                                                 42,
                                                 0,
                                                 0,
                                                 0,
                                                 TIFF_HEAD_BYTES,
                                                 0,
                                                 1,
                                                 TAG_ORIENTATION >> 8,
                                                 TAG_ORIENTATION & 0xFF,
                                                 0,
                                                 TIFF_SHORT,
                                                 0,
                                                 0,
                                                 0,
                                                 1};
    segment[29] = (unsigned char)w->jpeg->orientation;
    if (w->jpeg->orientation > 1) {
        memcpy(&w->out[w->jpeg->bytes], segment, sizeof segment);
        w->jpeg->bytes += sizeof segment;
    }
}

/* ---- the walk ---- */

/* Entropy-coded data, until a marker that is no restart: 0xFF 0x00 is a byte of the data. */
static void skip_scan(walk *w)
{
    while (w->at < w->len) {
        bool is_marker = w->in[w->at] == 0xFF && w->at + 1 < w->len && w->in[w->at + 1] != 0x00 &&
                         w->in[w->at + 1] != 0xFF &&
                         !(w->in[w->at + 1] >= RST0 && w->in[w->at + 1] <= RST7);
        if (is_marker) {
            return;
        }
        w->at++;
    }
}

/* The marker at w->at; w->at is moved behind it. Fill bytes (0xFF) may stand before it. */
static fl_status read_marker(walk *w, int *marker)
{
    if (w->at >= w->len) {
        return bad(w, "it is cut off");
    }
    if (w->in[w->at] != 0xFF) {
        return bad(w, "no marker");
    }
    while (w->at < w->len && w->in[w->at] == 0xFF) {
        w->at++;
    }
    if (w->at >= w->len) {
        return bad(w, "it is cut off");
    }
    *marker = w->in[w->at++];
    return *marker == 0x00 ? bad(w, "no marker") : FL_OK;
}

/* One segment, and behind a start of scan its data. */
static fl_status take_segment(walk *w, int marker)
{
    const unsigned char *body = &w->in[w->at];
    size_t start = w->at;
    int len = w->len - w->at >= 2 ? two_bytes(body) : 0;
    if (len < 2 || (size_t)len > w->len - w->at) {
        return bad(w, "a length that does not fit");
    }
    fl_status status = is_frame(marker) ? read_frame(w, body, len) : FL_OK;
    if (status != FL_OK) {
        return status;
    }
    w->at += (size_t)len;
    if (marker == SOS) {
        if (!w->has_frame) {
            return bad(w, "a scan without a frame");
        }
        w->has_scan = true;
        skip_scan(w);
    }
    if (is_kept(marker, body, len)) {
        const unsigned char head[2] = {0xFF, (unsigned char)marker};
        memcpy(&w->out[w->jpeg->bytes], head, sizeof head);
        w->jpeg->bytes += sizeof head;
        copy(w, start, w->at);
    } else if (marker == APP1 && w->jpeg->orientation == 1 && !w->has_scan) {
        w->jpeg->orientation = orientation_of(body, len);
        w->jpeg->n_dropped++;
        put_orientation(w);
    } else {
        w->jpeg->n_dropped++;
    }
    return FL_OK;
}

fl_status fl_jpeg_strip(fl_sv bytes, unsigned char *out, fl_jpeg *jpeg, fl_err *err)
{
    walk w = {.in = (const unsigned char *)bytes.ptr, .len = bytes.len, .out = out, .err = err};
    fl_jpeg made = {.orientation = 1};
    w.jpeg = &made;
    int marker = 0;
    if (w.len < 2 || w.in[0] != 0xFF || w.in[1] != SOI) {
        return bad(&w, "no start of a picture");
    }
    w.at = 2;
    copy(&w, 0, 2);
    fl_status status = read_marker(&w, &marker);
    while (status == FL_OK && marker != EOI) {
        bool is_alone = marker == TEM || (marker >= RST0 && marker <= SOI);
        status = is_alone ? bad(&w, "a marker out of place") : take_segment(&w, marker);
        if (status == FL_OK) {
            status = read_marker(&w, &marker);
        }
    }
    if (status != FL_OK) {
        return status;
    }
    if (!w.has_scan) {
        return bad(&w, "no picture");
    }
    out[made.bytes++] = 0xFF;
    out[made.bytes++] = EOI;
    *jpeg = made;
    return FL_OK;
}
