/* Reading CSV: RFC 4180's own examples (section 2, rules 1 to 7), what spreadsheets add, and where
 * each complaint points. */
#include <stdio.h>
#include <string.h>

#include "cli/csv_in.h"
#include "support/check.h"

/* Writes bytes to a file in a folder of its own and reads it back. */
typedef struct csv_case {
    char folder[FL_TEMP_PATH_MAX];
    char path[FL_TEMP_PATH_MAX + 16];
    fl_csv csv;
    fl_err err;
    fl_status status;
} csv_case;

static void read_bytes(csv_case *c, const char *bytes, size_t len)
{
    FILE *file;

    memset(c, 0, sizeof *c);
    (void)fl_temp_folder(c->folder);
    (void)snprintf(c->path, sizeof c->path, "%s/in.csv", c->folder);
    file = fopen(c->path, "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(bytes, 1, len, file), len);
    assert_int_equal(fclose(file), 0);
    c->status = fl_csv_read(c->path, &c->csv, &c->err);
}

static void read_text(csv_case *c, const char *text)
{
    read_bytes(c, text, strlen(text));
}

static void done(csv_case *c)
{
    fl_csv_done(&c->csv);
    fl_remove_folder(c->folder);
}

static void check_text(csv_case *c, size_t row, size_t column, const char *want)
{
    check_sv(fl_csv_text(&c->csv, row, column), want);
}

/* RFC 4180 section 2: rules 1 to 7, with LF, CRLF and no end on the last line. */
static void test_rfc_4180(void **state)
{
    csv_case c;
    (void)state;

    read_text(&c, "field_name,field_name2,field_name3\r\naaa,bbb,ccc\r\nzzz,yyy,xxx");
    check_ok(c.status, &c.err);
    check_int(c.csv.n_columns, 3);
    check_int(c.csv.n_rows, 2);
    check_sv(c.csv.columns[1], "field_name2");
    check_text(&c, 1, 2, "xxx");
    done(&c);

    read_text(&c,
              "x,y,z\n\"aaa\",\"b \r\nbb\",\"ccc\"\nzzz,yyy,xxx\n\"aaa\",\"b\"\"bb\",\"ccc\"\n");
    check_ok(c.status, &c.err);
    check_int(c.csv.n_rows, 3);
    check_text(&c, 0, 1, "b \r\nbb");
    check_text(&c, 2, 1, "b\"bb");
    /* the quoted line break moves what follows down by one */
    check_int(c.csv.lines[0], 2);
    check_int(c.csv.lines[1], 4);
    check_int(c.csv.lines[2], 5);
    done(&c);
}

/* A first field that goes on over lines, the second beginning with '#': still one row. */
static void test_first_field_over_lines(void **state)
{
    csv_case c;
    (void)state;

    read_text(&c, "a,b\n\"one\n# two\n\nthree\",4\n5,6\n");
    check_ok(c.status, &c.err);
    check_int(c.csv.n_rows, 2);
    check_text(&c, 0, 0, "one\n# two\n\nthree");
    check_int(c.csv.lines[0], 2);
    check_int(c.csv.lines[1], 6);
    done(&c);
}

static void test_comments_blank_lines_and_mark(void **state)
{
    csv_case c;
    (void)state;

    read_text(&c, "\xEF\xBB\xBF# note, \"with\" quotes\n\n u , v \n\n# more\n 1 ,\t2\n   \n3,\n");
    check_ok(c.status, &c.err);
    check_int(c.csv.n_columns, 2);
    check_sv(c.csv.columns[0], "u");
    check_int(c.csv.n_rows, 2);
    check_text(&c, 0, 0, "1");
    check_text(&c, 0, 1, "2");
    check_text(&c, 1, 1, "");
    check_int(c.csv.lines[0], 6);
    check_int(c.csv.lines[1], 8);
    done(&c);
}

static void test_many_rows(void **state)
{
    static char text[200000];
    size_t len = (size_t)snprintf(text, sizeof text, "t,u\n");
    csv_case c;
    (void)state;

    for (int i = 0; i < 10000; i++) {
        len += (size_t)snprintf(text + len, sizeof text - len, "%d,%d\n", i, 3 * i);
    }
    read_bytes(&c, text, len);
    check_ok(c.status, &c.err);
    check_int(c.csv.n_rows, 10000);
    check_text(&c, 9999, 1, "29997");
    check_int(c.csv.lines[9999], 10001);
    done(&c);
}

static void test_fields_as_numbers(void **state)
{
    const double range[2] = {-50.0, 60.0};
    const int64_t whole[2] = {0, 1000};
    size_t column = 99;
    double number = 7.0;
    int64_t integer = 7;
    csv_case c;
    (void)state;

    read_text(&c, "date,Min,n\n2026-03-01, 3.5 ,\" 12 \"\n2026-03-02,warm,-1\n2026-03-03,99,1.5\n");
    check_ok(c.status, &c.err);
    check_ok(fl_csv_need_column(&c.csv, "min", &column, &c.err), &c.err);
    check_int(column, 1);
    check_ok(fl_csv_number(&c.csv, 0, 1, range, &number, &c.err), &c.err);
    check_close(number, 3.5, 0.0, 0.0);
    check_ok(fl_csv_int(&c.csv, 0, 2, whole, &integer, &c.err), &c.err);
    check_int(integer, 12);

    number = 7.0;
    check_int(fl_csv_number(&c.csv, 1, 1, range, &number, &c.err), FL_EFORMAT);
    check_contains(c.err.message, "in.csv line 3, Min");
    check_contains(c.err.message, "warm");
    check_int(fl_csv_number(&c.csv, 2, 1, range, &number, &c.err), FL_EDOMAIN);
    check_contains(c.err.message, "line 4, Min");
    check_close(number, 7.0, 0.0, 0.0);
    check_int(fl_csv_int(&c.csv, 1, 2, whole, &integer, &c.err), FL_EDOMAIN);
    check_int(fl_csv_int(&c.csv, 2, 2, whole, &integer, &c.err), FL_EFORMAT);
    check_int(integer, 12);

    check_int(fl_csv_need_column(&c.csv, "max", &column, &c.err), FL_EFORMAT);
    check_contains(c.err.message, "no column \"max\"");
    check_contains(c.err.message, "date,Min,n");
    check_int(column, 1);
    done(&c);
}

/* Each bad file: what it is called and where it points. */
static void test_bad_files(void **state)
{
    static const struct {
        const char *text;
        const char *message;
    } bad[] = {
        {"", "no rows"},
        {"# only a note\n", "no rows"},
        {"a,b\n1,2\n\n3\n", "line 4: 1 fields; the first row names 2 columns"},
        {"a,b\n1,2,3\n", "line 2: 3 fields"},
        {"a,b\n1,2\n\"3,4\n5,6\n", "line 3: a quoted field that never ends"},
        {"a,b\n1,x\"y\n", "line 2: a quote inside a field"},
        {"a,b\n1,\"x\"y\n", "line 2: a quote inside a field"},
    };
    (void)state;

    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        csv_case c;
        read_text(&c, bad[i].text);
        check_int(c.status, FL_EFORMAT);
        check_contains(c.err.message, bad[i].message);
        check_int(c.csv.n_rows, 0);
        done(&c);
    }
}

static void test_zero_byte_missing_file_and_folder(void **state)
{
    csv_case c;
    (void)state;

    read_bytes(&c, "a,b\n1,\0\n", 8);
    check_int(c.status, FL_EFORMAT);
    check_contains(c.err.message, "line 2: a zero byte");
    check_int(fl_csv_read(c.folder, &c.csv, &c.err), FL_EIO);
    fl_remove_folder(c.folder);
    check_int(fl_csv_read(c.path, &c.csv, &c.err), FL_ENOTFOUND);
    check_contains(c.err.message, "cannot be read");
    check_int(fl_csv_read(c.path, &c.csv, NULL), FL_ENOTFOUND);
}

static void test_too_many_columns(void **state)
{
    char text[2 * FL_CSV_COLUMNS_MAX + 8];
    size_t len = 0;
    csv_case c;
    (void)state;

    for (int i = 0; i < FL_CSV_COLUMNS_MAX; i++) {
        text[len++] = 'a';
        text[len++] = ',';
    }
    text[len++] = 'a';
    text[len++] = '\n';
    read_bytes(&c, text, len);
    check_int(c.status, FL_ETOOBIG);
    check_contains(c.err.message, "257 columns");
    done(&c);
}

/* From memory; a long name is shown by its end, which tells files apart. */
static void test_parse_and_long_name(void **state)
{
    fl_csv csv = {0};
    fl_err err = {0};
    (void)state;

    check_ok(fl_csv_parse(FL_SV("a,b\n1,2\n"), "memory", &csv, &err), &err);
    check_int(csv.n_rows, 1);
    check_sv(fl_csv_text(&csv, 0, 1), "2");
    fl_csv_done(&csv);
    check_int(csv.n_rows, 0);
    check_int(fl_csv_parse((fl_sv){NULL, 0},
                           "a/very/long/path/that/no/message/could/show/as/a/whole/to/contacts.csv",
                           &csv, &err),
              FL_EFORMAT);
    check_contains(err.message, "contacts.csv: no rows");
    assert_null(strstr(err.message, "a/very/"));
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_rfc_4180),
    cmocka_unit_test(test_first_field_over_lines),
    cmocka_unit_test(test_comments_blank_lines_and_mark),
    cmocka_unit_test(test_many_rows),
    cmocka_unit_test(test_fields_as_numbers),
    cmocka_unit_test(test_bad_files),
    cmocka_unit_test(test_zero_byte_missing_file_and_folder),
    cmocka_unit_test(test_too_many_columns),
    cmocka_unit_test(test_parse_and_long_name),
};
FL_TEST_MAIN(tests)
