/* Reading CSV through libcsv. libcsv finds fields and rows in a stream but knows no lines, so it is
 * fed line by line and the line that a row begins on is kept here. */
#include "app/csv_in.h"

#include <assert.h>
#include <errno.h>
#include <inttypes.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#include <csv.h>

#include "base/alloc.h"
#include "base/num.h"
#include "base/shown.h"
#include "base/str.h"

#define READ_CHUNK 65536U
#define ROWS_FIRST 256U
#define WHAT_MAX 240

/* State between the callbacks. */
typedef struct csv_reader {
    fl_csv csv;
    size_t rows_cap;
    fl_sv row[FL_CSV_COLUMNS_MAX]; /* the row being read */
    size_t n_row;                  /* its fields so far, also those beyond the array */
    int64_t line;                  /* being fed, from 1 */
    int64_t row_line;              /* that the row being read begins on */
    bool is_between_rows;
    bool has_header;
    fl_status status;
    fl_err *err;
} csv_reader;

static void on_field(void *text, size_t len, void *context)
{
    csv_reader *reader = context;

    reader->is_between_rows = false;
    if (reader->n_row < FL_CSV_COLUMNS_MAX) {
        reader->row[reader->n_row] =
            fl_arena_copy_sv(&reader->csv.arena, (fl_sv){.ptr = text, .len = len});
    }
    reader->n_row++;
}

static void take_header(csv_reader *reader)
{
    fl_sv *columns = FL_ARENA_ARRAY(&reader->csv.arena, fl_sv, reader->n_row);

    for (size_t i = 0; i < reader->n_row; i++) {
        columns[i] = fl_sv_trim(reader->row[i]);
    }
    reader->csv.columns = columns;
    reader->csv.n_columns = reader->n_row;
    reader->has_header = true;
}

static void take_row(csv_reader *reader)
{
    fl_csv *csv = &reader->csv;

    if (csv->n_rows == reader->rows_cap) {
        reader->rows_cap = reader->rows_cap == 0 ? ROWS_FIRST : reader->rows_cap * 2;
        csv->fields =
            fl_alloc_resize(csv->fields, reader->rows_cap * csv->n_columns, sizeof(fl_sv));
        csv->lines = fl_alloc_resize(csv->lines, reader->rows_cap, sizeof(int64_t));
    }
    memcpy(&csv->fields[csv->n_rows * csv->n_columns], reader->row, csv->n_columns * sizeof(fl_sv));
    csv->lines[csv->n_rows] = reader->row_line;
    csv->n_rows++;
}

static void on_row(int terminator, void *context)
{
    csv_reader *reader = context;
    (void)terminator;

    if (reader->status != FL_OK) {
        return;
    }
    if (reader->n_row > FL_CSV_COLUMNS_MAX) {
        reader->status = fl_fail(
            reader->err, FL_ETOOBIG, "%.*s line %" PRId64 ": %zu columns; at most %d are read",
            FL_SHOWN(reader->csv.path), reader->row_line, reader->n_row, FL_CSV_COLUMNS_MAX);
    } else if (!reader->has_header) {
        take_header(reader);
    } else if (reader->n_row != reader->csv.n_columns) {
        reader->status = fl_fail(
            reader->err, FL_EFORMAT,
            "%.*s line %" PRId64 ": %zu fields; the first row names %zu columns",
            FL_SHOWN(reader->csv.path), reader->row_line, reader->n_row, reader->csv.n_columns);
    } else {
        take_row(reader);
    }
    reader->n_row = 0;
    reader->is_between_rows = true;
}

/* Feeds one line, its end included. */
static void feed_line(csv_reader *reader, struct csv_parser *parser, fl_sv line)
{
    reader->line++;
    if (reader->is_between_rows) {
        if (line.ptr[0] == '#') {
            return;
        }
        reader->row_line = reader->line;
        /* A quoted first field may go on over several lines; until it ends no callback comes. */
        reader->is_between_rows = fl_sv_trim(line).len == 0;
    }
    if (memchr(line.ptr, '\0', line.len) != NULL) {
        reader->status =
            fl_fail(reader->err, FL_EFORMAT, "%.*s line %" PRId64 ": a zero byte; give a text file",
                    FL_SHOWN(reader->csv.path), reader->line);
    } else if (csv_parse(parser, line.ptr, line.len, on_field, on_row, reader) != line.len &&
               reader->status == FL_OK) {
        reader->status = fl_fail(reader->err, FL_EFORMAT,
                                 "%.*s line %" PRId64
                                 ": a quote inside a field; double it and quote the whole field",
                                 FL_SHOWN(reader->csv.path), reader->line);
    }
}

static void feed_text(csv_reader *reader, struct csv_parser *parser, fl_sv text)
{
    while (reader->status == FL_OK && text.len > 0) {
        const char *end = memchr(text.ptr, '\n', text.len);
        const size_t len = end == NULL ? text.len : (size_t)(end - text.ptr) + 1;

        feed_line(reader, parser, (fl_sv){.ptr = text.ptr, .len = len});
        text.ptr += len;
        text.len -= len;
    }
    if (reader->status == FL_OK && csv_fini(parser, on_field, on_row, reader) != 0) {
        reader->status = fl_fail(reader->err, FL_EFORMAT,
                                 "%.*s line %" PRId64 ": a quoted field that never ends",
                                 FL_SHOWN(reader->csv.path), reader->row_line);
    }
    if (reader->status == FL_OK && !reader->has_header) {
        reader->status =
            fl_fail(reader->err, FL_EFORMAT, "%.*s: no rows; the first row must name the columns",
                    FL_SHOWN(reader->csv.path));
    }
}

/* The end of a long name: the part that tells files apart. */
static fl_sv tail_of(const char *name)
{
    fl_sv tail = fl_sv_from_cstr(name);

    if (tail.len > FL_SHOWN_MAX) {
        tail.ptr += tail.len - FL_SHOWN_MAX;
        tail.len = FL_SHOWN_MAX;
    }
    return tail;
}

static fl_sv without_mark(fl_sv text)
{
    static const char BYTE_ORDER_MARK[3] = {'\xEF', '\xBB', '\xBF'};

    if (text.len >= sizeof BYTE_ORDER_MARK &&
        memcmp(text.ptr, BYTE_ORDER_MARK, sizeof BYTE_ORDER_MARK) == 0) {
        text.ptr += sizeof BYTE_ORDER_MARK;
        text.len -= sizeof BYTE_ORDER_MARK;
    }
    return text;
}

fl_status fl_csv_parse(fl_sv text, const char *name, fl_csv *out, fl_err *err)
{
    return fl_csv_parse_by(text, name, ',', out, err);
}

fl_status fl_csv_parse_by(fl_sv text, const char *name, char delimiter, fl_csv *out, fl_err *err)
{
    csv_reader reader = {.is_between_rows = true, .err = err};
    struct csv_parser parser;

    fl_arena_init(&reader.csv.arena);
    reader.csv.path = fl_arena_copy_sv(&reader.csv.arena, tail_of(name));
    if (csv_init(&parser, CSV_STRICT | CSV_STRICT_FINI) != 0) {
        reader.status = fl_fail(err, FL_EIO, "%.*s: the CSV reader cannot be set up",
                                FL_SHOWN(reader.csv.path));
    } else {
        csv_set_delim(&parser, (unsigned char)delimiter);
        feed_text(&reader, &parser, without_mark(text));
        csv_free(&parser);
    }
    if (reader.status == FL_OK) {
        *out = reader.csv;
    } else {
        fl_csv_done(&reader.csv);
    }
    return reader.status;
}

/* The whole file; *bytes is the caller's to free, also after an error. */
static fl_status read_file(const char *path, char **bytes, size_t *len, fl_err *err)
{
    const fl_sv name = tail_of(path);
    FILE *file = fopen(path, "rb");
    size_t got = 1;
    fl_status status = FL_OK;

    if (file == NULL) {
        return fl_fail(err, errno == ENOENT ? FL_ENOTFOUND : FL_EIO, "%.*s: cannot be read: %s",
                       FL_SHOWN(name), strerror(errno));
    }
    while (got > 0 && *len <= FL_CSV_BYTES_MAX) {
        *bytes = fl_alloc_resize(*bytes, *len + READ_CHUNK, 1);
        got = fread(*bytes + *len, 1, READ_CHUNK, file);
        *len += got;
    }
    if (ferror(file)) {
        status = fl_fail(err, FL_EIO, "%.*s: cannot be read: %s", FL_SHOWN(name), strerror(errno));
    } else if (*len > FL_CSV_BYTES_MAX) {
        status = fl_fail(err, FL_ETOOBIG, "%.*s: more than %u bytes; split the file",
                         FL_SHOWN(name), FL_CSV_BYTES_MAX);
    }
    (void)fclose(file);
    return status;
}

fl_status fl_csv_read(const char *path, fl_csv *out, fl_err *err)
{
    char *bytes = NULL;
    size_t len = 0;
    fl_status status = read_file(path, &bytes, &len, err);

    if (status == FL_OK) {
        status = fl_csv_parse((fl_sv){.ptr = bytes, .len = len}, path, out, err);
    }
    fl_alloc_free(bytes);
    return status;
}

void fl_csv_done(fl_csv *csv)
{
    if (csv != NULL) {
        fl_alloc_free(csv->fields);
        fl_alloc_free(csv->lines);
        fl_arena_done(&csv->arena);
        *csv = (fl_csv){0};
    }
}

fl_status fl_csv_need_column(const fl_csv *csv, const char *name, size_t *out, fl_err *err)
{
    fl_str names;
    fl_status status;

    for (size_t i = 0; i < csv->n_columns; i++) {
        if (fl_sv_eq_nocase(csv->columns[i], fl_sv_from_cstr(name))) {
            *out = i;
            return FL_OK;
        }
    }
    fl_str_init(&names, 100);
    for (size_t i = 0; i < csv->n_columns; i++) {
        fl_str_append_cstr(&names, i == 0 ? "" : ",");
        fl_str_append(&names, csv->columns[i]);
    }
    status = fl_fail(err, FL_EFORMAT, "%.*s: no column \"%s\"; the first row has %.*s",
                     FL_SHOWN(csv->path), name, FL_SV_ARG(fl_str_sv(&names)));
    fl_str_done(&names);
    return status;
}

fl_sv fl_csv_text(const fl_csv *csv, size_t row, size_t column)
{
    assert(row < csv->n_rows && column < csv->n_columns);
    return csv->fields[row * csv->n_columns + column];
}

/* "contacts.csv line 7, t": where a field stands, for messages. */
static const char *where(const fl_csv *csv, size_t row, size_t column, char buffer[WHAT_MAX])
{
    (void)snprintf(buffer, WHAT_MAX, "%.*s line %" PRId64 ", %.*s", FL_SHOWN(csv->path),
                   csv->lines[row], FL_SHOWN(csv->columns[column]));
    return buffer;
}

fl_status fl_csv_number(const fl_csv *csv, size_t row, size_t column, const double range[2],
                        double *out, fl_err *err)
{
    char what[WHAT_MAX];

    return fl_num_parse_double_in(fl_sv_trim(fl_csv_text(csv, row, column)),
                                  where(csv, row, column, what), range[0], range[1], out, err);
}

fl_status fl_csv_int(const fl_csv *csv, size_t row, size_t column, const int64_t range[2],
                     int64_t *out, fl_err *err)
{
    char what[WHAT_MAX];

    return fl_num_parse_int(fl_sv_trim(fl_csv_text(csv, row, column)),
                            where(csv, row, column, what), range[0], range[1], out, err);
}
