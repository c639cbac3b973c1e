/* Lots from a spreadsheet: a CSV file, whatever program wrote it, matched column by column to what
 * a lot needs, looked at first, then recorded as one batch that can be undone.
 *
 * Read as it comes: UTF-8 with or without its mark, UTF-16, else Windows-1252; commas, semicolons
 * or tabs; a decimal comma; quoting by RFC 4180. Nothing is guessed that cannot be told: when days
 * and months could change places, it asks. What cannot be read is a trouble of its line, and while
 * there is one nothing is recorded. */
#ifndef FL_APP_SHEET_IN_H
#define FL_APP_SHEET_IN_H

#include "app/newcomer.h"

#define FL_SHEET_BYTES_MAX ((size_t)2 << 20)
#define FL_SHEET_LOTS_MAX 400
#define FL_SHEET_TROUBLES_MAX 100

/* X(enum, word, what it is) */
#define FL_SHEET_FIELD_LIST(X)                                                                     \
    X(FL_SHEET_NONE, "none", "not read")                                                           \
    X(FL_SHEET_PLANT, "plant", "what the keeper calls it")                                         \
    X(FL_SHEET_TAXON, "taxon", "its botanical name")                                               \
    X(FL_SHEET_COUNT, "count", "how many")                                                         \
    X(FL_SHEET_FORM, "form", "the form it came in")                                                \
    X(FL_SHEET_USE, "use", "the strictest use it is for")                                          \
    X(FL_SHEET_SOURCE, "source", "where it came from: a source of the room")                       \
    X(FL_SHEET_DATE, "date", "when it came")                                                       \
    X(FL_SHEET_PLACE, "place", "where it stood on arrival")                                        \
    X(FL_SHEET_LABEL, "label", "a pesticide named on its label; \"clean\": grown without")         \
    X(FL_SHEET_COST, "cost", "what it cost")                                                       \
    X(FL_SHEET_NOTE, "note", "anything else")
#define FL_WORD_ENUM(name, word, text) name,
typedef enum fl_sheet_field {
    FL_SHEET_FIELD_LIST(FL_WORD_ENUM) FL_SHEET_FIELD_COUNT
} fl_sheet_field;
#undef FL_WORD_ENUM
extern const fl_word fl_words_sheet_field[FL_SHEET_FIELD_COUNT];

/* The order of days and months in dates such as 03/04/2026. */
typedef enum fl_sheet_dates {
    FL_SHEET_DATES_ASK = 0, /* by what the file itself shows; else it asks */
    FL_SHEET_DATES_DMY,
    FL_SHEET_DATES_MDY
} fl_sheet_dates;

typedef struct fl_sheet_options {
    fl_sv match; /* "Menge=count,Farbe=none": columns by name; may be empty */
    fl_sheet_dates dates;
    fl_sv source, place; /* for rows without one, by what a person types; may be empty */
    int form, use;       /* for rows without one; -1: each row must tell */
    int64_t at_s;        /* for rows without a date */
    fl_precision precision;
    fl_id key; /* the ids of the batch derive from it */
} fl_sheet_options;

typedef struct fl_sheet_column {
    fl_sv name;
    fl_sheet_field field;
    bool is_told; /* by `match`, not by its name */
} fl_sheet_column;

typedef struct fl_sheet_row {
    int64_t line; /* of the file, from 1 */
    fl_newcomer lot;
} fl_sheet_row;

/* A line that could not be understood; line 0: the file as a whole. */
typedef struct fl_sheet_trouble {
    int64_t line;
    fl_sv text;
} fl_sheet_trouble;

typedef struct fl_sheet_in {
    const char *encoding; /* "UTF-8", "UTF-16", "Windows-1252" */
    char delimiter;
    fl_sheet_dates dates; /* as used; ASK: no date needed an order */
    fl_sheet_column *columns;
    size_t n_columns;
    fl_sheet_row *rows; /* those that were understood */
    size_t n_rows;
    fl_sheet_trouble *troubles;
    size_t n_troubles; /* at most FL_SHEET_TROUBLES_MAX are kept */
} fl_sheet_in;

/* Reads the file against the room. Texts in the arena. FL_ETOOBIG: more bytes, rows; FL_EFORMAT: no
 * CSV; FL_EINVAL: of the options. */
fl_status fl_sheet_in_read(const fl_room *room, fl_sv bytes, const fl_sheet_options *options,
                           fl_arena *arena, fl_sheet_in *out, fl_err *err) FL_MUST_USE;

/* The events of it, all under the device fl_newcomer_device(key). */
void fl_sheet_in_events(const fl_sheet_in *sheet, const fl_room *room, fl_id key, fl_arena *arena,
                        fl_event **events, size_t *count);

/* ---- parts, for tests ---- */

/* Any of the encodings as UTF-8 in the arena; *encoding is its name. */
fl_sv fl_sheet_decode(fl_sv bytes, fl_arena *arena, const char **encoding);

/* How a date can be read. */
typedef enum fl_date_shape {
    FL_DATE_NONE = 0, /* it is none */
    FL_DATE_FIXED,    /* 2026-03-04, or with points, day first: 4.3.2026 */
    FL_DATE_DMY,      /* only day first: 25/03/2026 */
    FL_DATE_MDY,      /* only month first: 03/25/2026 */
    FL_DATE_OPEN      /* 03/04/2026: both ways */
} fl_date_shape;

/* A date as people write them; *at_s is its local noon (of an open one: as `dates` says, or day
 * first). Two digits of a year are of this century. */
fl_date_shape fl_sheet_date(fl_sv text, fl_sheet_dates dates, int tz_offset_min, int64_t *at_s);

#endif
