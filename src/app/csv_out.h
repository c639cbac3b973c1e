/* CSV that other programs read: RFC 4180 (a row of names, CRLF, fields quoted where they must be),
 * UTF-8.
 *
 * A spreadsheet runs a field that begins with = + - @ as a formula, whoever typed it. Such a text
 * gets an apostrophe in front; numbers do not. */
#ifndef FL_APP_CSV_OUT_H
#define FL_APP_CSV_OUT_H

#include <stdbool.h>
#include <stdint.h>

#include "base/civil.h"
#include "base/id.h"
#include "base/str.h"

typedef struct fl_csv_out {
    fl_str text;
    bool is_row_begun;
} fl_csv_out;

/* Begins with a row of names, written "a,b,c". */
void fl_csv_out_init(fl_csv_out *csv, const char *names);
void fl_csv_out_done(fl_csv_out *csv);

/* Each adds a field to the row. */
void fl_csv_put_text(fl_csv_out *csv, fl_sv text);
void fl_csv_put_cstr(fl_csv_out *csv, const char *text); /* NULL is empty */
void fl_csv_put_int(fl_csv_out *csv, int64_t value);
void fl_csv_put_number(fl_csv_out *csv, double value); /* 15 digits; NAN is empty */
void fl_csv_put_bool(fl_csv_out *csv, bool value);     /* true or false */
void fl_csv_put_id(fl_csv_out *csv, fl_id id);         /* the none id is empty */
/* RFC 3339 in UTC; empty for "not ended" and "not told". */
void fl_csv_put_moment(fl_csv_out *csv, int64_t at_s);

void fl_csv_end_row(fl_csv_out *csv);

#endif
