/* CSV files that come in: read whole, with a row of column names and the line of each
 * row, so that a complaint can say where. The only module that includes csv.h. It knows nothing of
 * what the columns mean. */
#ifndef FL_APP_CSV_IN_H
#define FL_APP_CSV_IN_H

#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"
#include "base/err.h"
#include "base/sv.h"

#define FL_CSV_BYTES_MAX (64U * 1024U * 1024U) /* a file's size */
#define FL_CSV_COLUMNS_MAX 256

/* A file in memory. Every row has n_columns fields. */
typedef struct fl_csv {
    fl_arena arena;       /* owns all text */
    fl_sv path;           /* for messages: the last 60 bytes of it */
    size_t n_columns;     /* 1 or more */
    const fl_sv *columns; /* their names, trimmed */
    size_t n_rows;        /* without the names */
    fl_sv *fields;        /* n_rows * n_columns, row by row */
    int64_t *lines;       /* n_rows: the line a row begins on, the first line being 1 */
} fl_csv;

/* Reads a text: RFC 4180, fields quoted or not, LF or CRLF, with or without a byte order mark.
 * Empty lines, and lines that begin with '#' outside a quoted field, are skipped. White space
 * around an unquoted field is dropped. The first row names the columns.
 *   text  the whole; it may go when this returns
 *   name  what messages call it: its last 60 bytes
 *   out   owned by the caller (fl_csv_done) on success; untouched otherwise
 * Errors: FL_ETOOBIG, FL_EFORMAT; the message names the text and the line. */
fl_status fl_csv_parse(fl_sv text, const char *name, fl_csv *out, fl_err *err) FL_MUST_USE;

/* The same with another sign between fields: a semicolon, a tab. */
fl_status fl_csv_parse_by(fl_sv text, const char *name, char delimiter, fl_csv *out,
                          fl_err *err) FL_MUST_USE;

/* The same for a file of at most FL_CSV_BYTES_MAX; also FL_ENOTFOUND (no such file) and FL_EIO.
 *   path  a terminated file name */
fl_status fl_csv_read(const char *path, fl_csv *out, fl_err *err) FL_MUST_USE;

/* Frees everything; NULL and an all-zero struct are fine. */
void fl_csv_done(fl_csv *csv);

/* Index of a required column by name, ignoring case. FL_EFORMAT names the file, the column and
 * the columns there are. */
fl_status fl_csv_need_column(const fl_csv *csv, const char *name, size_t *out,
                             fl_err *err) FL_MUST_USE;

/* Field of a row; row < n_rows and column < n_columns (asserted). */
fl_sv fl_csv_text(const fl_csv *csv, size_t row, size_t column);

/* The field as a number in [min, max]. FL_EFORMAT or FL_EDOMAIN naming file, line and column. */
fl_status fl_csv_number(const fl_csv *csv, size_t row, size_t column, const double range[2],
                        double *out, fl_err *err) FL_MUST_USE;

/* The field as a whole number in [min, max]; errors as fl_csv_number. */
fl_status fl_csv_int(const fl_csv *csv, size_t row, size_t column, const int64_t range[2],
                     int64_t *out, fl_err *err) FL_MUST_USE;

#endif
