/* Loggers' files: their shape, what is asked, what is read. The files of tests/reference/loggers
 * were written with Python's datetime and codecs, and the moments below are reckoned with them.
 * Encodings by RFC 3629, ISO/IEC 10646 and Windows-1252; dates by ISO 8601. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/readings/logfile.h"
#include "support/check.h"

#define NOW_S 1795608000 /* 2026-11-25T12:00:00Z */
#define READINGS_MAX 64

typedef struct file {
    char *bytes;
    char *buffer;
    fl_probe_encoding encoding;
    fl_probe_shape shape;
    fl_probe_reading reading[READINGS_MAX];
    int n, n_bad, n_empty;
    fl_err err;
} file;

static fl_probe_told told_nothing(void)
{
    return (fl_probe_told){.order = -1, .unit = -1, .tz_offset_min = 60, .now_s = NOW_S};
}

static fl_status take(file *f, fl_sv bytes, const fl_probe_told *told)
{
    f->encoding = fl_probe_encoding_of(bytes);
    f->buffer = malloc(fl_probe_decode_bound(f->encoding, bytes.len) + 1);
    fl_sv text = fl_probe_decode(f->encoding, bytes, f->buffer);
    fl_status status = fl_probe_sniff(text, told, &f->shape, &f->err);
    if (status == FL_OK && f->shape.questions == 0) {
        fl_probe_cursor cursor = fl_probe_begin(text, &f->shape);
        const char *why = NULL;
        fl_probe_reading one;
        for (;;) {
            fl_probe_row what = fl_probe_next(&cursor, &one, &why);
            if (what == FL_PROBE_END) {
                break;
            }
            f->n_bad += what == FL_PROBE_BAD;
            f->n_empty += what == FL_PROBE_EMPTY;
            if (what == FL_PROBE_READING && f->n < READINGS_MAX) {
                f->reading[f->n++] = one;
            }
        }
    }
    return status;
}

static fl_status open_file(file *f, const char *name, const fl_probe_told *told)
{
    char path[512];
    size_t len = 0;
    memset(f, 0, sizeof *f);
    (void)snprintf(path, sizeof path, "%s/loggers/%s", FL_TEST_DATA_DIR, name);
    FILE *in = fopen(path, "rb");
    check_true(in != NULL);
    f->bytes = malloc(65536);
    len = fread(f->bytes, 1, 65536, in);
    (void)fclose(in);
    return take(f, (fl_sv){f->bytes, len}, told);
}

static void close_file(file *f)
{
    free(f->bytes);
    free(f->buffer);
}

static void check_reading(const file *f, int i, int64_t at_s, double temp_c, double rh_pct)
{
    check_int(f->reading[i].at_s, at_s);
    check_close(fl_probe_temp_c(f->reading[i].temp_milli, f->shape.unit), temp_c, 0.0, 1e-9);
    check_close(f->reading[i].rh_milli / 1000.0, rh_pct, 0.0, 1e-9);
}

static void test_six_shapes(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        fl_probe_encoding encoding;
        char delimiter, decimal;
        fl_probe_order order;
        fl_probe_unit unit;
        int n, n_bad, n_empty;
        int64_t first_s, last_s;
        double first_c, last_c, first_pct;
    } rows[] = {
        {"iso_zone_mark.csv", FL_PROBE_UTF8_BOM, ',', '.', FL_PROBE_YMD, FL_PROBE_CELSIUS, 24, 0, 0,
         1774738800, 1774738800 + 23 * 600, 21.0, 22.15, 80.0},
        {"semicolon_comma_cp1252.csv", FL_PROBE_CP1252, ';', ',', FL_PROBE_DMY, FL_PROBE_CELSIUS,
         30, 0, 0, 1773349200, 1773349200 + 29 * 900, 20.0, 22.9, 85.0},
        {"tabs_utf16_fahrenheit.txt", FL_PROBE_UTF16LE, '\t', '.', FL_PROBE_MDY,
         FL_PROBE_FAHRENHEIT, 40, 0, 0, 1770838200, 1770838200 + 39 * 3600, (70.0 - 32.0) / 1.8,
         (77.8 - 32.0) / 1.8, 75.5},
        {"quoted_newest_first.csv", FL_PROBE_UTF8, ',', '.', FL_PROBE_YMD, FL_PROBE_CELSIUS, 16, 1,
         1, 1780308000 + 19 * 3600, 1780308000, 25.9, 24.0, 71.5},
        {"bars_units_in_values.csv", FL_PROBE_UTF8, '|', '.', FL_PROBE_YMD, FL_PROBE_CELSIUS, 6, 0,
         0, 1778130000, 1778130000 + 5 * 1800, 19.5, 24.5, 60.0},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        file f;
        fl_probe_told told = told_nothing();
        if (rows[i].delimiter == '|') {
            told.temp_column = FL_SV("air"); /* its names are in no list of ours */
            told.rh_column = FL_SV("3");
        }
        check_ok(open_file(&f, rows[i].name, &told), &f.err);
        check_int(f.shape.questions, 0);
        check_int(f.encoding, rows[i].encoding);
        check_int(f.shape.delimiter, rows[i].delimiter);
        check_int(f.shape.decimal, rows[i].decimal);
        check_int(f.shape.order, rows[i].order);
        check_int(f.shape.unit, rows[i].unit);
        check_int(f.n, rows[i].n);
        check_int(f.n_bad, rows[i].n_bad);
        check_int(f.n_empty, rows[i].n_empty);
        check_reading(&f, 0, rows[i].first_s, rows[i].first_c, rows[i].first_pct);
        check_int(f.reading[f.n - 1].at_s, rows[i].last_s);
        check_close(fl_probe_temp_c(f.reading[f.n - 1].temp_milli, f.shape.unit), rows[i].last_c,
                    0.0, 1e-9);
        close_file(&f);
    }
}

static void test_what_is_asked(void **state)
{
    (void)state;
    file f;
    fl_probe_told told = told_nothing();
    check_ok(open_file(&f, "ambiguous_day.csv", &told), &f.err);
    check_int(f.shape.questions, 1U << FL_PROBE_ASK_ORDER | 1U << FL_PROBE_ASK_UNIT);
    check_int(f.shape.orders_open, 1U << FL_PROBE_DMY | 1U << FL_PROBE_MDY);
    check_int(f.n, 0);
    close_file(&f);

    told.order = FL_PROBE_DMY;
    told.unit = FL_PROBE_FAHRENHEIT;
    check_ok(open_file(&f, "ambiguous_day.csv", &told), &f.err);
    check_int(f.n, 12);
    check_reading(&f, 0, 1772578800, (48.0 - 32.0) / 1.8, 70.0);
    close_file(&f);
    told.order = FL_PROBE_MDY;
    check_ok(open_file(&f, "ambiguous_day.csv", &told), &f.err);
    check_int(f.reading[0].at_s, 1775170800);
    close_file(&f);

    told = told_nothing();
    check_ok(open_file(&f, "epoch_no_header.csv", &told), &f.err);
    check_int(f.shape.questions,
              1U << FL_PROBE_ASK_TEMP | 1U << FL_PROBE_ASK_RH | 1U << FL_PROBE_ASK_UNIT);
    check_int(f.shape.columns_open, 1U << 1 | 1U << 2);
    close_file(&f);
    told.temp_column = FL_SV("2");
    told.rh_column = FL_SV("none");
    check_ok(open_file(&f, "epoch_no_header.csv", &told), &f.err);
    check_int(f.shape.questions, 0); /* in Fahrenheit it would be below freezing */
    check_int(f.shape.unit, FL_PROBE_CELSIUS);
    check_int(f.n, 10);
    check_int(f.reading[9].at_s, 1774738800 + 9 * 300);
    check_int(f.reading[0].rh_milli, FL_PROBE_MISSING);
    close_file(&f);
}

static void test_refused(void **state)
{
    (void)state;
    file f;
    fl_probe_told told = told_nothing();
    check_int(open_file(&f, "comma_does_both.csv", &told), FL_EFORMAT);
    check_contains(f.err.message, "the comma parts the columns and the decimals");
    close_file(&f);
    told.temp_column = FL_SV("warmth");
    check_int(open_file(&f, "iso_zone_mark.csv", &told), FL_EINVAL);
    check_contains(f.err.message, "warmth");
    close_file(&f);
    static const char *const texts[] = {"", "\n\n", "hello", "a,b\n1,2\n3,4\n",
                                        "Date;T C\n31.02.2026 10:00;20,1\n"};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        told = told_nothing();
        memset(&f, 0, sizeof f);
        check_int(take(&f, fl_sv_from_cstr(texts[i]), &told), FL_EFORMAT);
        close_file(&f);
    }
}

/* A decimal point here and a decimal comma there; two numbers a row that the file cannot mean. */
static void test_order_by_evidence(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        unsigned questions;
        fl_probe_order order;
        const char *why;
    } rows[] = {
        {"Date,T (C)\n05/12/2026 10:00,20.5\n05/12/2026 11:00,20.6\n", 0, FL_PROBE_MDY, "future"},
        {"Date,T (C)\n03/06/2026 23:00,20\n04/06/2026 00:00,20\n05/06/2026 00:00,20\n", 0,
         FL_PROBE_DMY, "jump by a month"},
        {"Date,T (C)\n01/06/2026 00:00,20\n02/06/2026 00:00,20\n01/07/2026 00:00,20\n", 0,
         FL_PROBE_DMY, "back and forth"},
        {"Date,T (C)\n13/06/2026 00:00,20\n", 0, FL_PROBE_DMY, "above 12"},
        {"Date,T (C)\n03/06/26 00:00,20\n", 1U << FL_PROBE_ASK_ORDER, FL_PROBE_DMY, ""},
        {"Date,T (C)\n2026/06/03 00:00,20\n", 0, FL_PROBE_YMD, "no other"},
        {"Date,T (C)\n3 Jun 2026 00:00,20\n", 0, FL_PROBE_YMD, "no other"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        file f;
        fl_probe_told told = told_nothing();
        memset(&f, 0, sizeof f);
        check_ok(take(&f, fl_sv_from_cstr(rows[i].text), &told), &f.err);
        check_int(f.shape.questions, rows[i].questions);
        if (rows[i].questions == 0) {
            check_int(f.shape.order, rows[i].order);
            check_contains(f.shape.order_why, rows[i].why);
        }
        close_file(&f);
    }
}

static void test_moments(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        fl_probe_order order;
        int64_t at_s; /* at +01:00, by Python's datetime; -1: none */
    } rows[] = {
        {"2026-03-01T18:30:00Z", FL_PROBE_YMD, 1772389800},
        {"2026-03-01T18:30:00+01:00", FL_PROBE_YMD, 1772386200},
        {"2026-03-01T18:30:00-0330", FL_PROBE_YMD, 1772402400},
        {"2026-03-01 18:30", FL_PROBE_YMD, 1772386200},
        {"2026-03-01 18:30:00.250", FL_PROBE_YMD, 1772386200},
        {"1.3.2026 18:30", FL_PROBE_DMY, 1772386200},
        {"01. 03. 2026 18:30", FL_PROBE_DMY, 1772386200},
        {"3/1/26 6:30 PM", FL_PROBE_MDY, 1772386200},
        {"3/1/2026 12:00:00 a.m.", FL_PROBE_MDY, 1772319600},
        {"3/1/2026 12:00 pm", FL_PROBE_MDY, 1772362800},
        {"Mar 1, 2026 18:30", FL_PROBE_YMD, 1772386200},
        {"1-March-26 18:30", FL_PROBE_YMD, 1772386200},
        {"1772386200", FL_PROBE_YMD, 1772386200},
        {"1772386200123", FL_PROBE_YMD, 1772386200},
        {"29.02.2024 00:00", FL_PROBE_DMY, 1709161200},
        {"29.02.2026 00:00", FL_PROBE_DMY, -1},
        {"2026-03-01 24:30", FL_PROBE_YMD, -1},
        {"2026-13-01 10:30", FL_PROBE_YMD, -1},
        {"3/1/2026 13:30 PM", FL_PROBE_MDY, -1},
        {"12.5", FL_PROBE_YMD, -1},
        {"2026-03-01 18:30 foo", FL_PROBE_YMD, -1},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        fl_probe_when when;
        int64_t at_s = -1;
        bool is_one = fl_probe_when_read(fl_sv_from_cstr(rows[i].text), &when) && when.has_date &&
                      fl_probe_when_utc(&when, &when, rows[i].order, 60, &at_s);
        if (rows[i].at_s < 0) {
            check_false(is_one);
        } else {
            check_true(is_one);
            check_int(at_s, rows[i].at_s);
        }
    }
}

static void test_encodings(void **state)
{
    (void)state;
    static const struct {
        const char *bytes;
        size_t len;
        fl_probe_encoding encoding;
        const char *utf8;
    } rows[] = {
        {"\xEF\xBB\xBF"
         "a\xC2\xB0",
         6, FL_PROBE_UTF8_BOM, "a\xC2\xB0"},
        {"a\xC2\xB0"
         "C",
         4, FL_PROBE_UTF8,
         "a\xC2\xB0"
         "C"},
        {"a\xB0"
         "C\x80\x81",
         5, FL_PROBE_CP1252,
         "a\xC2\xB0"
         "C\xE2\x82\xAC\xEF\xBF\xBD"},
        {"\xFF\xFE"
         "a\0\xB0\0",
         6, FL_PROBE_UTF16LE, "a\xC2\xB0"},
        {"\xFE\xFF\0a\0\xB0", 6, FL_PROBE_UTF16BE, "a\xC2\xB0"},
        {"a\0b\0c\0", 6, FL_PROBE_UTF16LE, "abc"},
        {"\0a\0b\0c", 6, FL_PROBE_UTF16BE, "abc"},
        {"\xFF\xFE\x3D\xD8\x00\xDE", 6, FL_PROBE_UTF16LE, "\xF0\x9F\x98\x80"}, /* U+1F600 */
        {"\xFF\xFE\x3D\xD8"
         "a\0",
         6, FL_PROBE_UTF16LE,
         "\xEF\xBF\xBD"
         "a"},
        {"\xC0\x80", 2, FL_PROBE_CP1252, "\xC3\x80\xE2\x82\xAC"}, /* overlong: no UTF-8 */
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        fl_sv bytes = {rows[i].bytes, rows[i].len};
        char buffer[64];
        fl_probe_encoding encoding = fl_probe_encoding_of(bytes);
        check_int(encoding, rows[i].encoding);
        check_true(fl_probe_decode_bound(encoding, bytes.len) < sizeof buffer);
        check_sv(fl_probe_decode(encoding, bytes, buffer), rows[i].utf8);
    }
}

/* A clock that is wrong, a zone told in the header, a month of readings that never was. */
static void test_clock(void **state)
{
    (void)state;
    file f;
    fl_probe_told told = told_nothing();
    const char *text = "Time (UTC-05:00),Temp F\n2026-03-01 12:00,70\n2026-03-01 12:05,70.1\n";
    memset(&f, 0, sizeof f);
    told.shift_s = -3600;
    check_ok(take(&f, fl_sv_from_cstr(text), &told), &f.err);
    check_int(f.shape.unit, FL_PROBE_FAHRENHEIT);
    check_int(f.reading[0].at_s, 1772384400 - 3600); /* 17:00Z, less an hour */
    check_int(f.shape.tz_offset_min, -300);
    close_file(&f);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_six_shapes), cmocka_unit_test(test_what_is_asked),
    cmocka_unit_test(test_refused),    cmocka_unit_test(test_order_by_evidence),
    cmocka_unit_test(test_moments),    cmocka_unit_test(test_encodings),
    cmocka_unit_test(test_clock),
};
FL_TEST_MAIN(tests)
