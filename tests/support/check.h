/* How tests here check: cmocka behind a few words of our own, and a reader for reference tables.
 * A failed check prints what it got and what it wanted, and ends the test.
 *
 *     static void test_boil(void **state)
 *     {
 *         (void)state;
 *         check_close(fl_air_saturation_kpa(100.0), 101.3, 1e-3, 0.0);
 *     }
 *     static const struct CMUnitTest tests[] = {cmocka_unit_test(test_boil)};
 *     FL_TEST_MAIN(tests)
 */
#ifndef FL_TESTS_SUPPORT_CHECK_H
#define FL_TESTS_SUPPORT_CHECK_H

#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "base/err.h"
#include "base/sv.h"

/* |got - want| <= max(rel * |want|, abs), in double precision; NaN equals nothing. */
#define check_close(got, want, rel, abs)                                                           \
    fl_check_close((got), (want), (rel), (abs), #got, __FILE__, __LINE__)
/* Both are the same whole number. */
#define check_int(got, want) fl_check_int((int64_t)(got), (int64_t)(want), #got, __FILE__, __LINE__)
#define check_true(claim) fl_check_true((claim), #claim, __FILE__, __LINE__)
#define check_false(claim) fl_check_true(!(claim), "not " #claim, __FILE__, __LINE__)
/* An fl_sv against a terminated string. */
#define check_sv(got, want) fl_check_sv((got), (want), #got, __FILE__, __LINE__)
/* Two terminated strings. */
#define check_str(got, want) fl_check_sv(fl_sv_from_cstr(got), (want), #got, __FILE__, __LINE__)
/* FL_OK, else prints the error's message. */
#define check_ok(status, err) fl_check_ok((status), (err), #status, __FILE__, __LINE__)
/* The error struct holds this code and a one-line message. */
#define check_status(err, code) fl_check_status((err), (code), __FILE__, __LINE__)
/* `text` occurs in the terminated string `got`. */
#define check_contains(got, text) fl_check_contains((got), (text), #got, __FILE__, __LINE__)

#define FL_TEST_MAIN(tests)                                                                        \
    int main(void)                                                                                 \
    {                                                                                              \
        return cmocka_run_group_tests(tests, NULL, NULL);                                          \
    }

void fl_check_close(double got, double want, double rel, double abs, const char *what,
                    const char *file, int line);
void fl_check_int(int64_t got, int64_t want, const char *what, const char *file, int line);
void fl_check_true(bool claim, const char *what, const char *file, int line);
void fl_check_sv(fl_sv got, const char *want, const char *what, const char *file, int line);
void fl_check_ok(fl_status status, const fl_err *err, const char *what, const char *file, int line);
void fl_check_status(const fl_err *err, fl_status code, const char *file, int line);
void fl_check_contains(const char *got, const char *text, const char *what, const char *file,
                       int line);

/* A reference table: a CSV file whose lines starting with '#' are its source and notes, then a row
 * of column names, then rows. Fields may be quoted ("a, b", "" for a quote). */
typedef struct fl_table {
    char *text;    /* the file; fields point into it */
    char **field;  /* n_rows * n_columns, terminated, row by row; without the header */
    char **column; /* n_columns names */
    size_t n_rows;
    size_t n_columns;
} fl_table;

/* Reads FL_TEST_DATA_DIR/name; fails the test when it cannot be read, has no row, or a row has
 * another number of fields than the header. */
fl_table fl_table_read(const char *name);
void fl_table_free(fl_table *table);
/* Field of a row by column name; fails the test when there is no such column or row. */
const char *fl_table_text(const fl_table *table, size_t row, const char *column);
/* The same as a number; an empty field is NaN; fails the test when it is no number. */
double fl_table_number(const fl_table *table, size_t row, const char *column);

/* A new empty folder for this test under the system's folder for temporary files; the caller frees
 * nothing: the path lives in `path`. fl_remove_folder deletes it with all below. */
#define FL_TEMP_PATH_MAX 256
const char *fl_temp_folder(char path[FL_TEMP_PATH_MAX]);
void fl_remove_folder(const char *path);

#endif
