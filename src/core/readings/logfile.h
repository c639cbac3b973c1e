/* Files of temperature and humidity loggers: what such a file is (encoding, delimiter, decimal
 * sign, columns, order of the date, unit), and the readings in it, one after the other. Start here.
 *
 * Nothing is guessed in silence: what the file does not settle is a question for the keeper, and
 * what it does settle says by what. Text in, readings out; nothing is kept. */
#ifndef FL_CORE_READINGS_LOGFILE_H
#define FL_CORE_READINGS_LOGFILE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/err.h"
#include "base/sv.h"
#include "event/words.h"

/* ---- encoding ---- */

/* X(enum, word, what a person reads) */
#define FL_PROBE_ENCODING_LIST(X)                                                                  \
    X(FL_PROBE_UTF8, "utf-8", "UTF-8")                                                             \
    X(FL_PROBE_UTF8_BOM, "utf-8-bom", "UTF-8 with a byte order mark")                              \
    X(FL_PROBE_UTF16LE, "utf-16le", "UTF-16, low byte first")                                      \
    X(FL_PROBE_UTF16BE, "utf-16be", "UTF-16, high byte first")                                     \
    X(FL_PROBE_CP1252, "cp1252", "Windows-1252")
#define FL_WORD_ENUM(name, word, text) name,
typedef enum fl_probe_encoding {
    FL_PROBE_ENCODING_LIST(FL_WORD_ENUM) FL_PROBE_ENCODINGS
} fl_probe_encoding;
#undef FL_WORD_ENUM
extern const fl_word fl_words_probe_encoding[FL_PROBE_ENCODINGS];

/* By the byte order mark; without one by the zeros of UTF-16 (every other byte of the first 4 kB);
 * else UTF-8 when all of it is, and Windows-1252 when not. */
fl_probe_encoding fl_probe_encoding_of(fl_sv bytes);

/* Bytes that fl_probe_decode writes at most. */
size_t fl_probe_decode_bound(fl_probe_encoding encoding, size_t len);

/* The text as UTF-8, without its mark: a view into `bytes` where it is that already, else written
 * to buffer (fl_probe_decode_bound bytes). What stands for no character becomes U+FFFD. */
fl_sv fl_probe_decode(fl_probe_encoding encoding, fl_sv bytes, char *buffer);

/* ---- dates ---- */

#define FL_PROBE_ORDER_LIST(X)                                                                     \
    X(FL_PROBE_DMY, "dmy", "day, month, year")                                                     \
    X(FL_PROBE_MDY, "mdy", "month, day, year")                                                     \
    X(FL_PROBE_YMD, "ymd", "year, month, day")
#define FL_WORD_ENUM(name, word, text) name,
typedef enum fl_probe_order { FL_PROBE_ORDER_LIST(FL_WORD_ENUM) FL_PROBE_ORDERS } fl_probe_order;
#undef FL_WORD_ENUM
extern const fl_word fl_words_probe_order[FL_PROBE_ORDERS];

/* A date and a time of day as they stand in a field, before the order is known. */
typedef struct fl_probe_when {
    bool has_date;
    bool has_time;
    bool is_epoch;   /* then at_s is the moment */
    int64_t at_s;    /* seconds since 1970 */
    int part[3];     /* the three numbers of the date as they stand */
    unsigned orders; /* mask of 1u << fl_probe_order: those that the form allows */
    int hour, minute, second;
    bool has_zone; /* the field says its own offset from UTC */
    int zone_min;
} fl_probe_when;

/* Reads a field: "2026-03-01T18:30:00+01:00", "1.3.2026 18:30", "03/01/26 6:30 PM", "1-Mar-2026",
 * "18:30:05", seconds or milliseconds since 1970; false when it is none of these. */
bool fl_probe_when_read(fl_sv field, fl_probe_when *out);

/* The moment of a date in an order with a time, both of civil clocks tz_offset_min east of UTC
 * (unless the time says its own); false when there is no such day in that order. */
bool fl_probe_when_utc(const fl_probe_when *date, const fl_probe_when *time, fl_probe_order order,
                       int tz_offset_min, int64_t *at_s);

/* ---- the shape of a file ---- */

#define FL_PROBE_UNIT_LIST(X)                                                                      \
    X(FL_PROBE_CELSIUS, "c", "degrees Celsius")                                                    \
    X(FL_PROBE_FAHRENHEIT, "f", "degrees Fahrenheit")
#define FL_WORD_ENUM(name, word, text) name,
typedef enum fl_probe_unit { FL_PROBE_UNIT_LIST(FL_WORD_ENUM) FL_PROBE_UNITS } fl_probe_unit;
#undef FL_WORD_ENUM
extern const fl_word fl_words_probe_unit[FL_PROBE_UNITS];

/* What the keeper is asked when the file does not settle it. */
#define FL_PROBE_QUESTION_LIST(X)                                                                  \
    X(FL_PROBE_ASK_TIME, "time_column", "Which column is the time of the reading?")                \
    X(FL_PROBE_ASK_TEMP, "temp_column", "Which column is the temperature?")                        \
    X(FL_PROBE_ASK_RH, "rh_column", "Which column is the relative humidity, if any?")              \
    X(FL_PROBE_ASK_ORDER, "order", "In which order are the parts of the date?")                    \
    X(FL_PROBE_ASK_UNIT, "unit", "Are the temperatures in degrees Celsius or Fahrenheit?")
#define FL_WORD_ENUM(name, word, text) name,
typedef enum fl_probe_question {
    FL_PROBE_QUESTION_LIST(FL_WORD_ENUM) FL_PROBE_QUESTIONS
} fl_probe_question;
#undef FL_WORD_ENUM
extern const fl_word fl_words_probe_question[FL_PROBE_QUESTIONS];

#define FL_PROBE_COLUMNS_MAX 40
#define FL_PROBE_FIELD_MAX 120 /* bytes of a field that are looked at */

/* What the keeper said, and what the readings are measured against. */
typedef struct fl_probe_told {
    int order;         /* fl_probe_order; -1: not told */
    int unit;          /* fl_probe_unit; -1: not told */
    fl_sv time_column; /* a number from 1, or a name of the header; empty: not told */
    fl_sv temp_column; /* likewise */
    fl_sv rh_column;   /* likewise, or "none" */
    int tz_offset_min; /* of clocks that do not say theirs */
    int64_t shift_s;   /* added to every moment: a clock that was wrong */
    int64_t now_s;     /* no reading is later than this (and a day for clocks) */
} fl_probe_told;

/* What was found. Texts view into the file's text or are static. */
typedef struct fl_probe_shape {
    char delimiter;
    char decimal; /* '.' or ',' */
    size_t n_columns;
    fl_sv column[FL_PROBE_COLUMNS_MAX]; /* the header's names; empty without a header */
    bool has_header;
    int64_t first_line; /* of the rows, from 1 */
    size_t first_byte;  /* likewise, in the text */
    int date_column;    /* -1: asked for */
    int time_column;    /* of the time of day when it has a column of its own; -1 */
    int temp_column;    /* -1: asked for */
    int rh_column;      /* -1: none */
    fl_probe_order order;
    const char *order_why; /* "a day above 12", … */
    fl_probe_unit unit;
    const char *unit_why;
    bool has_zone;     /* the times say their own offset */
    int tz_offset_min; /* of those that do not */
    const char *zone_why;
    int64_t shift_s;
    unsigned questions;   /* mask of 1u << fl_probe_question: nothing is read while there are any */
    unsigned orders_open; /* mask of 1u << fl_probe_order, for FL_PROBE_ASK_ORDER */
    uint64_t columns_open;              /* mask of 1 << column, for the questions about columns */
    fl_sv sample[FL_PROBE_COLUMNS_MAX]; /* the first row's fields, for the questions */
} fl_probe_shape;

/* Finds the shape of a file's text (UTF-8).
 *   told  what the keeper said already; it wins over what the file seems to be
 *   out   complete on success, also when there are questions left
 * Errors: FL_EFORMAT (no rows with a date, commas both in and between the numbers, …) and
 * FL_EINVAL (told a column that is not there), each saying what would do.
 * Cost: reads as much as it takes to settle the order of the date, at most all of it. */
fl_status fl_probe_sniff(fl_sv text, const fl_probe_told *told, fl_probe_shape *out,
                         fl_err *err) FL_MUST_USE;

/* ---- the readings ---- */

#define FL_PROBE_MISSING INT32_MIN

typedef struct fl_probe_reading {
    int64_t at_s;       /* UTC */
    int32_t temp_milli; /* thousandths of a degree of the file's unit; FL_PROBE_MISSING */
    int32_t rh_milli;   /* thousandths of a percent; FL_PROBE_MISSING */
    int64_t line;       /* from 1 */
} fl_probe_reading;

typedef enum fl_probe_row {
    FL_PROBE_END = 0, /* no more rows */
    FL_PROBE_READING, /* *out is one */
    FL_PROBE_EMPTY,   /* a row with a time and no value: the logger missed it */
    FL_PROBE_BAD      /* a row that cannot be read: *why says so (static) */
} fl_probe_row;

/* Where a reader stands. */
typedef struct fl_probe_cursor {
    fl_sv text;
    const fl_probe_shape *shape; /* without questions */
    size_t at;
    int64_t line; /* of the last row */
} fl_probe_cursor;

/* A cursor before the first row. */
fl_probe_cursor fl_probe_begin(fl_sv text, const fl_probe_shape *shape);

/* The next row. out->line is set for every row; the rest for FL_PROBE_READING (and at_s for
 * FL_PROBE_EMPTY). A temperature must lie in -30 to 60 C, a humidity in 0 to 110 %. */
fl_probe_row fl_probe_next(fl_probe_cursor *cursor, fl_probe_reading *out, const char **why);

/* Degrees Celsius of a value in thousandths of a unit; NAN for FL_PROBE_MISSING. */
double fl_probe_temp_c(int32_t temp_milli, fl_probe_unit unit);

#endif
