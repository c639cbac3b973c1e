/* print/label.h, qr.h, page.h and stock.h, judged from outside: poppler (pdftoppm, pdfinfo,
 * pdftotext) and zbar, a reader of QR codes (ISO/IEC 18004). */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "print/label.h"
#include "print/qr.h"
#include "support/check.h"
#include "support/font_leak.h"
#include "support/outside.h"

#define BASE "http://fern.local:8462"

static const fl_label two[] = {
    {.code = {"83QSYY", 6},
     .name = {"lemon button fern", 17},
     .detail = {"2 potted, came 2026-09-19, Brackwater Garden Hall", 50},
     .is_lot = true},
    {.code = {"BQPFXT", 6}, .name = {"bin 1", 5}, .detail = {"bin", 3}},
};

static fl_labels_options options_of(const fl_stock *stock)
{
    return (fl_labels_options){
        .stock = stock, .base_url = FL_SV(BASE), .made_s = 1772389800}; /* 2026-03-01T18:30Z */
}

static void make(const fl_labels_options *options, const fl_label *labels, size_t n, fl_str *out)
{
    fl_err err = {0};
    fl_str_init(out, FL_PDF_BYTES_MAX);
    check_ok(fl_labels_print(options, labels, n, out, &err), &err);
}

static void write_file(const char *path, const fl_str *bytes)
{
    FILE *file = fopen(path, "wb");
    check_true(file != NULL);
    check_int(fwrite(bytes->ptr, 1, bytes->len, file), bytes->len);
    check_int(fclose(file), 0);
}

/* What zbar reads in one label of a page, as a printer of so many dots an inch would show it. */
static void check_reads(const char *pdf, const char *base, const fl_stock *stock, int at, int dpi,
                        const char *want)
{
    char text[6][32];
    char image[FL_TEMP_PATH_MAX + 40];
    int page = at / fl_stock_per_page(stock);
    int n = at % fl_stock_per_page(stock);
    const double x = stock->first_mm[0] + (n % stock->columns) * stock->step_mm[0];
    const double y = stock->first_mm[1] + (n / stock->columns) * stock->step_mm[1];
    const double values[] = {(double)dpi,
                             (double)(page + 1),
                             x * dpi / 25.4,
                             y * dpi / 25.4,
                             stock->label_mm[0] * dpi / 25.4,
                             stock->label_mm[1] * dpi / 25.4};
    for (int i = 0; i < 6; i++) {
        (void)snprintf(text[i], sizeof text[i], "%.0f", values[i]);
    }
    fl_run made =
        OUTSIDE("pdftoppm", "-mono", "-singlefile", "-r", text[0], "-f", text[1], "-l", text[1],
                "-x", text[2], "-y", text[3], "-W", text[4], "-H", text[5], pdf, base);
    fl_run_done(&made);
    (void)snprintf(image, sizeof image, "%s.pbm", base);
    fl_run read =
        fl_outside_run((const char *const[]){"zbarimg", "-q", "--raw", "--nodbus", image, NULL});
    char line[200];
    (void)snprintf(line, sizeof line, "HTTP://FERN.LOCAL:8462/L/%s\n", want);
    if (strcmp(read.out, line) != 0) {
        print_error("%s at %d dpi: read \"%s\"\n", stock->name, dpi, read.out);
    }
    check_str(read.out, line);
    fl_run_done(&read);
}

/* web-ui.md section 7: at 203 dots an inch in black and white, and at 300. */
static void test_every_stock_is_read(void **state)
{
    char dir[FL_TEMP_PATH_MAX];
    char pdf[FL_TEMP_PATH_MAX + 40];
    char base[FL_TEMP_PATH_MAX + 40];
    (void)state;
    (void)fl_temp_folder(dir);
    (void)snprintf(pdf, sizeof pdf, "%s/labels.pdf", dir);
    (void)snprintf(base, sizeof base, "%s/label", dir);
    for (size_t i = 0; i < FL_STOCK_COUNT; i++) {
        fl_str bytes;
        fl_labels_options options = options_of(&fl_stocks[i]);
        int last = fl_stock_per_page(&fl_stocks[i]) - 1;
        options.skip = last; /* the last of the first page, the first of the second */
        make(&options, two, 2, &bytes);
        write_file(pdf, &bytes);
        fl_str_done(&bytes);
        check_reads(pdf, base, &fl_stocks[i], last, 203, "83QSYY");
        check_reads(pdf, base, &fl_stocks[i], last, 300, "83QSYY");
        check_reads(pdf, base, &fl_stocks[i], last + 1, 203, "BQPFXT");
        check_reads(pdf, base, &fl_stocks[i], last + 1, 300, "BQPFXT");
    }
    fl_remove_folder(dir);
}

/* PDF: a point is 1/72 inch. */
static void test_pages_are_exact(void **state)
{
    char dir[FL_TEMP_PATH_MAX];
    char pdf[FL_TEMP_PATH_MAX + 40];
    (void)state;
    (void)fl_temp_folder(dir);
    (void)snprintf(pdf, sizeof pdf, "%s/labels.pdf", dir);
    for (size_t i = 0; i < FL_STOCK_COUNT; i++) {
        double w = 0;
        double h = 0;
        fl_str bytes;
        const fl_stock *s = &fl_stocks[i];
        fl_labels_options options = options_of(s);
        make(&options, two, 2, &bytes);
        write_file(pdf, &bytes);
        fl_str_done(&bytes);
        fl_run info = OUTSIDE("pdfinfo", pdf);
        const char *size = strstr(info.out, "Page size:");
        check_true(size != NULL && sscanf(size, "Page size: %lf x %lf", &w, &h) == 2);
        check_close(w * 25.4 / 72.0, s->page_mm[0], 0.0, 0.01);
        check_close(h * 25.4 / 72.0, s->page_mm[1], 0.0, 0.01);
        check_contains(info.out, "Creator:         fernlock");
        fl_run_done(&info);
        /* the labels lie on the paper, and not on each other */
        check_true(s->first_mm[0] >= 0.0 && s->first_mm[1] >= 0.0);
        check_true(s->step_mm[0] >= s->label_mm[0] && s->step_mm[1] >= s->label_mm[1]);
        check_close(2.0 * s->first_mm[0] + (s->columns - 1) * s->step_mm[0] + s->label_mm[0],
                    s->page_mm[0], 0.0, 1e-9);
    }
    fl_remove_folder(dir);
}

static void test_words(void **state)
{
    char dir[FL_TEMP_PATH_MAX];
    char pdf[FL_TEMP_PATH_MAX + 40];
    fl_str bytes;
    fl_labels_options options = options_of(&fl_stocks[0]);
    (void)state;
    (void)fl_temp_folder(dir);
    (void)snprintf(pdf, sizeof pdf, "%s/labels.pdf", dir);
    make(&options, two, 2, &bytes);
    write_file(pdf, &bytes);
    fl_str_done(&bytes);
    fl_run text = OUTSIDE("pdftotext", "-layout", pdf, "-");
    check_contains(text.out, "83QSYY");
    check_contains(text.out, "lemon button");
    check_contains(text.out, "2026-09-19");
    check_contains(text.out, "not released: ask the program");
    check_contains(text.out, "bin 1");
    /* a lot's box stands on no place's label */
    check_true(strstr(strstr(text.out, "not released") + 1, "not released") == NULL);
    fl_run_done(&text);
    fl_remove_folder(dir);
}

static void test_same_bytes(void **state)
{
    fl_str a;
    fl_str b;
    fl_labels_options options = options_of(&fl_stocks[1]);
    (void)state;
    make(&options, two, 2, &a);
    make(&options, two, 2, &b);
    check_int(a.len, b.len);
    check_int(memcmp(a.ptr, b.ptr, a.len), 0);
    fl_str_done(&b);
    options.offset_x_mm = 1.5; /* the printer's offset moves it */
    make(&options, two, 2, &b);
    check_true(a.len != b.len || memcmp(a.ptr, b.ptr, a.len) != 0);
    fl_str_done(&a);
    fl_str_done(&b);
}

/* The offset moves the code by so many dots: 2.54 mm are 30 at 300 dpi. */
static void test_offset(void **state)
{
    char dir[FL_TEMP_PATH_MAX];
    char pdf[FL_TEMP_PATH_MAX + 40];
    char text[4][FL_TEMP_PATH_MAX + 40];
    (void)state;
    (void)fl_temp_folder(dir);
    for (int k = 0; k < 2; k++) {
        fl_str bytes;
        fl_labels_options options = options_of(&fl_stocks[0]);
        options.offset_x_mm = k * 2.54;
        options.offset_y_mm = k * 2.54;
        make(&options, two, 1, &bytes);
        (void)snprintf(pdf, sizeof pdf, "%s/%d.pdf", dir, k);
        write_file(pdf, &bytes);
        fl_str_done(&bytes);
        (void)snprintf(text[k], sizeof text[k], "%s/%d", dir, k);
        fl_run made =
            OUTSIDE("pdftoppm", "-mono", "-singlefile", "-r", "300", "-x", k == 0 ? "0" : "30",
                    "-y", k == 0 ? "0" : "30", "-W", "800", "-H", "400", pdf, text[k]);
        fl_run_done(&made);
        (void)snprintf(text[k + 2], sizeof text[k + 2], "%s/%d.pbm", dir, k);
    }
    fl_run same = OUTSIDE("cmp", text[2], text[3]);
    fl_run_done(&same);
    fl_remove_folder(dir);
}

static void test_address(void **state)
{
    static const char *const bad[] = {"fern.local",           "ftp://fern.local", "http://",
                                      "http://10.0.0.2:8462", "http://[::1]:84",  "http://a b"};
    fl_arena arena;
    fl_err err = {0};
    fl_sv url;
    (void)state;
    fl_arena_init(&arena);
    check_ok(fl_label_url(FL_SV("http://Fern.local:8462/"), FL_SV("83QSYY"), &arena, &url, &err),
             &err);
    check_sv(url, "HTTP://FERN.LOCAL:8462/L/83QSYY");
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        check_int(fl_label_url(fl_sv_from_cstr(bad[i]), FL_SV("83QSYY"), &arena, &url, &err),
                  FL_EINVAL);
        check_status(&err, FL_EINVAL);
    }
    fl_arena_done(&arena);
}

/* ISO/IEC 18004, table 7: 38 alphanumeric characters at level M are version 2, 25 modules; 39 are
 * version 3, 29 modules. */
static void test_qr_versions(void **state)
{
    fl_arena arena;
    fl_err err = {0};
    fl_qr qr;
    (void)state;
    fl_arena_init(&arena);
    check_ok(fl_qr_make(FL_SV("HTTP://FERN.LOCAL:8462/L/83QSYY-012345"), &arena, &qr, &err), &err);
    check_int(qr.modules, 25);
    check_int(fl_qr_side(&qr), 33);
    check_ok(fl_qr_make(FL_SV("HTTP://FERN.LOCAL:8462/L/83QSYY-0123456"), &arena, &qr, &err), &err);
    check_int(qr.modules, 29);
    check_int(fl_qr_make(FL_SV("lower case"), &arena, &qr, &err), FL_EINVAL);
    fl_arena_done(&arena);
}

static void test_refusals(void **state)
{
    fl_err err = {0};
    fl_str out;
    fl_labels_options options = options_of(&fl_stocks[0]);
    (void)state;
    fl_str_init(&out, FL_PDF_BYTES_MAX);
    check_int(fl_labels_print(&options, two, 0, &out, &err), FL_EINVAL);
    options.skip = 24;
    check_int(fl_labels_print(&options, two, 1, &out, &err), FL_EINVAL);
    options.skip = 0;
    options.offset_x_mm = 21.0;
    check_int(fl_labels_print(&options, two, 1, &out, &err), FL_EDOMAIN);
    options.offset_x_mm = 0.0;
    /* an address whose code would need squares finer than can be read on the smallest label */
    options.base_url = FL_SV("http://a-very-long-name-of-a-machine-that-stands-in-the-cellar-below"
                             ".the-stairs.example.org:8462");
    check_ok(fl_stock_find(FL_SV("ROLL-50X25"), &options.stock, &err), &err);
    check_int(fl_labels_print(&options, two, 1, &out, &err), FL_ETOOBIG);
    check_int(out.len, 0);
    check_int(fl_stock_find(FL_SV("a5"), &options.stock, &err), FL_EINVAL);
    fl_str_done(&out);
}

/* Cyrillic, Greek, Chinese, Japanese, Korean, Thai, Devanagari, Hebrew: no character is missing
 * from the fonts of scripts/packages.txt, and the text can be read out again. */
static void test_names_beyond_latin(void **state)
{
    static const char names[8][40] = {"папоротник", /* each is a fern */
                                      "φτέρη",      /* or, the next, a maidenhair */
                                      "鐵線蕨",     /* in its own script */
                                      "シダ",       /* Japanese */
                                      "고사리",     /* Korean */
                                      "เฟิร์น",       /* Thai */
                                      "फर्न",        /* Hindi */
                                      "שרך"};
    char dir[FL_TEMP_PATH_MAX];
    char path[FL_TEMP_PATH_MAX + 40];
    fl_err err = {0};
    fl_pdf *pdf = NULL;
    fl_str out;
    const fl_pdf_options page = {.width_mm = 100, .height_mm = 100, .title = FL_SV("names")};
    (void)state;
    (void)fl_temp_folder(dir);
    (void)snprintf(path, sizeof path, "%s/names.pdf", dir);
    check_ok(fl_pdf_new(&page, &pdf, &err), &err);
    for (size_t i = 0; i < 8; i++) {
        fl_text text = {.x_mm = 5,
                        .y_mm = 5.0 + 10.0 * (double)i,
                        .size_pt = 12,
                        .text = fl_sv_from_cstr(names[i])};
        (void)fl_pdf_text(pdf, &text);
    }
    check_int(fl_pdf_unknown(pdf), 0);
    fl_text none = {.size_pt = 12, .text = FL_SV("\xf0\x92\x80\x80")}; /* cuneiform: in none */
    (void)fl_pdf_text(pdf, &none);
    check_int(fl_pdf_unknown(pdf), 1);
    fl_str_init(&out, FL_PDF_BYTES_MAX);
    check_ok(fl_pdf_finish(pdf, &out, &err), &err);
    fl_pdf_free(pdf);
    write_file(path, &out);
    fl_str_done(&out);
    fl_run text = OUTSIDE("pdftotext", path, "-");
    for (size_t i = 0; i < 5; i++) {
        check_contains(text.out, names[i]);
    }
    fl_run_done(&text);
    fl_remove_folder(dir);
}

/* The ruler of the test page: at 254 dpi a millimetre is ten dots, so 50 mm are 500. */
static void test_ruler(void **state)
{
    char dir[FL_TEMP_PATH_MAX];
    char pdf[FL_TEMP_PATH_MAX + 40];
    fl_err err = {0};
    fl_str out;
    fl_labels_options options = options_of(&fl_stocks[0]);
    (void)state;
    (void)fl_temp_folder(dir);
    (void)snprintf(pdf, sizeof pdf, "%s/test.pdf", dir);
    fl_str_init(&out, FL_PDF_BYTES_MAX);
    check_ok(fl_labels_test_page(&options, &out, &err), &err);
    write_file(pdf, &out);
    fl_str_done(&out);
    /* the ruler begins at (210 - 50) / 2 = 80 mm, 0.5 + 3 mm below the top: one row of its ticks */
    fl_run made = OUTSIDE("pdftoppm", "-gray", "-singlefile", "-r", "254", "-x", "790", "-y", "41",
                          "-W", "520", "-H", "1", pdf, dir);
    fl_run_done(&made);
    char image[FL_TEMP_PATH_MAX + 8];
    (void)snprintf(image, sizeof image, "%s.pgm", dir);
    FILE *file = fopen(image, "rb");
    check_true(file != NULL);
    unsigned char bytes[1024];
    size_t n = fread(bytes, 1, sizeof bytes, file);
    check_int(fclose(file), 0);
    check_int(remove(image), 0);
    const unsigned char *row = bytes + n - 520;
    int ticks = 0;
    int first = -1;
    int last = -1;
    for (int x = 1; x < 520; x++) {
        if (row[x] < 140 && row[x - 1] >= 140) {
            first = first < 0 ? x : first;
            last = x;
            ticks++;
        }
    }
    check_int(ticks, 51); /* 0 to 50 mm */
    check_close(last - first, 500, 0.0, 1.0);
    fl_run text = OUTSIDE("pdftotext", pdf, "-");
    check_contains(text.out, "50 mm. Print at 100 %");
    fl_run_done(&text);
    fl_remove_folder(dir);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_every_stock_is_read),
    cmocka_unit_test(test_pages_are_exact),
    cmocka_unit_test(test_words),
    cmocka_unit_test(test_same_bytes),
    cmocka_unit_test(test_offset),
    cmocka_unit_test(test_address),
    cmocka_unit_test(test_qr_versions),
    cmocka_unit_test(test_refusals),
    cmocka_unit_test(test_names_beyond_latin),
    cmocka_unit_test(test_ruler),
};
FL_TEST_MAIN(tests)
