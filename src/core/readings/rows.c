/* The readings of a file whose shape is known. */
#include <math.h>

#include "core/readings/split.h"

#define FL_WORD_ROW(name, word, text) {word, text},
const fl_word fl_words_probe_unit[FL_PROBE_UNITS] = {FL_PROBE_UNIT_LIST(FL_WORD_ROW)};
#undef FL_WORD_ROW

#define TEMP_MIN_C (-30.0)
#define TEMP_MAX_C 60.0
#define RH_MAX_MILLI 110000

fl_probe_cursor fl_probe_begin(fl_sv text, const fl_probe_shape *shape)
{
    return (fl_probe_cursor){
        .text = text, .shape = shape, .at = shape->first_byte, .line = shape->first_line - 1};
}

double fl_probe_temp_c(int32_t temp_milli, fl_probe_unit unit)
{
    if (temp_milli == FL_PROBE_MISSING) {
        return (double)NAN;
    }
    double value = temp_milli / 1000.0;
    return unit == FL_PROBE_FAHRENHEIT ? (value - 32.0) / 1.8 : value;
}

static bool read_moment(const fl_probe_shape *shape, const fl_sv *field, size_t n, int64_t *at_s)
{
    fl_probe_when date;
    fl_probe_when time;
    size_t date_at = (size_t)shape->date_column;
    if (date_at >= n || !fl_probe_when_read(field[date_at], &date) || !date.has_date) {
        return false;
    }
    time = date;
    if (shape->time_column >= 0) {
        size_t time_at = (size_t)shape->time_column;
        if (time_at >= n || !fl_probe_when_read(field[time_at], &time) || !time.has_time) {
            return false;
        }
    }
    if (!fl_probe_when_utc(&date, &time, shape->order, shape->tz_offset_min, at_s)) {
        return false;
    }
    *at_s += shape->shift_s;
    return true;
}

/* A value of a column; FL_PROBE_MISSING where there is none. False when it is no number. */
static bool read_value(const fl_probe_shape *shape, const fl_sv *field, size_t n, int column,
                       int32_t *out)
{
    bool is_missing = false;
    char unit = '\0';
    *out = FL_PROBE_MISSING;
    if (column < 0 || (size_t)column >= n) {
        return true;
    }
    return fl_probe_number(field[column], shape->decimal, out, &is_missing, &unit) || is_missing;
}

static bool is_blank_row(const fl_sv *field, size_t n)
{
    return (n == 1 && field[0].len == 0) || (field[0].len > 0 && field[0].ptr[0] == '#');
}

static const char *fault_of(const fl_probe_shape *shape, const fl_probe_reading *reading)
{
    double temp_c = fl_probe_temp_c(reading->temp_milli, shape->unit);
    if (temp_c < TEMP_MIN_C || temp_c > TEMP_MAX_C) {
        return "a temperature outside -30 to 60 degrees Celsius";
    }
    if (reading->rh_milli != FL_PROBE_MISSING &&
        (reading->rh_milli < 0 || reading->rh_milli > RH_MAX_MILLI)) {
        return "a humidity outside 0 to 110 %";
    }
    return NULL;
}

fl_probe_row fl_probe_next(fl_probe_cursor *cursor, fl_probe_reading *out, const char **why)
{
    const fl_probe_shape *shape = cursor->shape;
    fl_sv field[FL_PROBE_COLUMNS_MAX];
    size_t n = 0;
    do {
        int64_t lines = 0;
        n = fl_probe_split(cursor->text, &cursor->at, shape->delimiter, field, FL_PROBE_COLUMNS_MAX,
                           &lines);
        cursor->line += lines;
    } while (n > 0 && is_blank_row(field, n));
    if (n == 0) {
        return FL_PROBE_END;
    }
    n = n < FL_PROBE_COLUMNS_MAX ? n : FL_PROBE_COLUMNS_MAX;
    out->line = cursor->line;
    if (!read_moment(shape, field, n, &out->at_s)) {
        *why = "no date and time that can be read";
        return FL_PROBE_BAD;
    }
    if (!read_value(shape, field, n, shape->temp_column, &out->temp_milli) ||
        !read_value(shape, field, n, shape->rh_column, &out->rh_milli)) {
        *why = "a value that is no number";
        return FL_PROBE_BAD;
    }
    if (out->temp_milli == FL_PROBE_MISSING && out->rh_milli == FL_PROBE_MISSING) {
        return FL_PROBE_EMPTY;
    }
    *why = fault_of(shape, out);
    return *why == NULL ? FL_PROBE_READING : FL_PROBE_BAD;
}
