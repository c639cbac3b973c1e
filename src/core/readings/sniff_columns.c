/* Which column is what: by what the keeper said, by the header's names, by what stands in it. */
#include <string.h>

#include "base/num.h"
#include "base/shown.h"
#include "core/readings/sniff.h"

/* ---- names ---- */

static char lower(char c)
{
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

/* True when `part` (lower case) occurs in the name, ignoring the case of ASCII letters. */
static bool has(fl_sv name, const char *part)
{
    size_t len = strlen(part);
    for (size_t i = 0; i + len <= name.len; i++) {
        size_t k = 0;
        while (k < len && lower(name.ptr[i + k]) == part[k]) {
            k++;
        }
        if (k == len) {
            return true;
        }
    }
    return false;
}

static bool has_any(fl_sv name, const char *const *parts)
{
    for (; *parts != NULL; parts++) {
        if (has(name, *parts)) {
            return true;
        }
    }
    return false;
}

static bool is_letter(char c)
{
    char low = lower(c);
    return low >= 'a' && low <= 'z';
}

/* True when one of the words of the name (letters between other signs) is `word`. */
static bool has_word(fl_sv name, const char *word)
{
    size_t len = strlen(word);
    for (size_t i = 0; i < name.len;) {
        size_t from = i;
        while (i < name.len && is_letter(name.ptr[i])) {
            i++;
        }
        if (i - from == len && fl_sv_eq_nocase((fl_sv){name.ptr + from, len}, (fl_sv){word, len})) {
            return true;
        }
        i += i == from ? 1U : 0U;
    }
    return false;
}

/* Beginnings of what the languages of Europe call them. */
static const char *const temp_names[] = {"temp", "celsius", "fahrenheit", "l\xC3\xA4mp", NULL};
static const char *const rh_names[] = {"humid", "humed", "feucht",    "umid",    "vocht",
                                       "fukt",  "hygro", "fugtighed", "kosteus", NULL};
/* What a logger reckons from the readings, or takes elsewhere. */
static const char *const derived[] = {"dew",  "taupunkt", "ros\xC3\xA9", "rocio", "roc\xC3\xADo",
                                      "wet",  "index",    "vpd",         "abs",   "daugpunkt",
                                      "bulb", "feels",    NULL};
static const char *const extremes[] = {"min", "max", NULL};

static bool is_temp_name(fl_sv name)
{
    bool is_unit = has_word(name, "t") && (has_word(name, "c") || has_word(name, "f"));
    return (has_any(name, temp_names) || is_unit) && !has_any(name, derived);
}

static bool is_rh_name(fl_sv name)
{
    return (has_any(name, rh_names) || has_word(name, "rh") || has_word(name, "rf") ||
            has_word(name, "hr")) &&
           !has_any(name, derived);
}

/* ---- told ---- */

/* Sets *column to what was told: a number from 1 or a name; leaves it when nothing was. */
static fl_status take_told(fl_sv text, const char *what, const fl_probe_shape *shape, int *column,
                           fl_err *err)
{
    int64_t number = 0;
    if (text.len == 0) {
        return FL_OK;
    }
    for (size_t i = 0; i < shape->n_columns && shape->has_header; i++) {
        if (fl_sv_eq_nocase(shape->column[i], text)) {
            *column = (int)i;
            return FL_OK;
        }
    }
    if (fl_num_parse_int(text, what, 1, (int64_t)shape->n_columns, &number, NULL) == FL_OK) {
        *column = (int)number - 1;
        return FL_OK;
    }
    return fl_fail(err, FL_EINVAL,
                   "%s column \"%.*s\" is not in the file: give its name in the header, or a "
                   "number from 1 to %zu",
                   what, FL_SHOWN(text), shape->n_columns);
}

/* ---- found ---- */

static bool is_one(uint64_t mask)
{
    return mask != 0 && (mask & (mask - 1)) == 0;
}

static int index_of(uint64_t mask)
{
    int i = 0;
    while ((mask >> i & 1U) == 0) {
        i++;
    }
    return i;
}

/* Most of the rows; the sample may have a few broken ones. */
static bool is_most(int count, int n_rows)
{
    return count * 4 > n_rows * 3;
}

static void ask(fl_probe_shape *shape, fl_probe_question question, uint64_t columns)
{
    shape->questions |= 1U << question;
    shape->columns_open |= columns;
}

static void find_time(const fl_sniffed *seen, fl_probe_shape *shape)
{
    uint64_t whole = 0; /* date and time in one field */
    uint64_t dates = 0;
    uint64_t times = 0;
    for (size_t i = 0; i < shape->n_columns; i++) {
        if (is_most(seen->has_time[i], seen->n_rows)) {
            whole |= UINT64_C(1) << i;
        } else if (is_most(seen->is_date[i], seen->n_rows)) {
            dates |= UINT64_C(1) << i;
        } else if (is_most(seen->is_time[i], seen->n_rows)) {
            times |= UINT64_C(1) << i;
        }
    }
    if (shape->date_column >= 0) {
        bool needs_time = (whole >> shape->date_column & 1U) == 0;
        shape->time_column = needs_time && is_one(times) ? index_of(times) : -1;
        return;
    }
    if (is_one(whole)) {
        shape->date_column = index_of(whole);
    } else if (whole == 0 && is_one(dates) && is_one(times)) {
        shape->date_column = index_of(dates);
        shape->time_column = index_of(times);
    } else if (whole == 0 && is_one(dates) && times == 0) {
        shape->date_column = index_of(dates); /* a reading a day */
    } else {
        ask(shape, FL_PROBE_ASK_TIME, whole != 0 ? whole : dates);
    }
}

/* Columns with numbers, and those of them whose name passes. */
static uint64_t candidates(const fl_sniffed *seen, const fl_probe_shape *shape,
                           bool (*passes)(fl_sv name), uint64_t *numbers)
{
    uint64_t named = 0;
    uint64_t plain = 0;
    *numbers = 0;
    for (size_t i = 0; i < shape->n_columns; i++) {
        uint64_t bit = UINT64_C(1) << i;
        if (seen->is_number[i] == 0 ||
            !is_most(seen->is_number[i] + seen->is_missing[i], seen->n_rows)) {
            continue;
        }
        *numbers |= bit;
        if (shape->has_header && passes(shape->column[i])) {
            named |= bit;
            plain |= has_any(shape->column[i], extremes) ? 0 : bit;
        }
    }
    return plain != 0 ? plain : named;
}

static void find_values(const fl_sniffed *seen, const fl_probe_told *told, fl_probe_shape *shape)
{
    uint64_t numbers = 0;
    uint64_t temps = candidates(seen, shape, is_temp_name, &numbers);
    uint64_t humid = candidates(seen, shape, is_rh_name, &numbers);
    if (shape->temp_column >= 0) {
        numbers &= ~(UINT64_C(1) << shape->temp_column);
        humid &= ~(UINT64_C(1) << shape->temp_column);
    } else if (is_one(temps)) {
        shape->temp_column = index_of(temps);
    } else {
        ask(shape, FL_PROBE_ASK_TEMP, temps != 0 ? temps : numbers);
    }
    if (told->rh_column.len > 0) {
        return;
    }
    if (is_one(humid)) {
        shape->rh_column = index_of(humid);
    } else if (humid != 0 || (!shape->has_header && numbers != 0 && !is_one(numbers)) ||
               (!shape->has_header && shape->temp_column >= 0 && numbers != 0)) {
        ask(shape, FL_PROBE_ASK_RH, humid != 0 ? humid : numbers);
    }
}

fl_status fl_sniff_columns(const fl_sniffed *seen, const fl_probe_told *told, fl_probe_shape *shape,
                           fl_err *err)
{
    fl_status status = take_told(told->time_column, "time", shape, &shape->date_column, err);
    if (status == FL_OK) {
        status = take_told(told->temp_column, "temperature", shape, &shape->temp_column, err);
    }
    if (status == FL_OK && !fl_sv_eq_nocase(told->rh_column, FL_SV("none"))) {
        status = take_told(told->rh_column, "humidity", shape, &shape->rh_column, err);
    }
    if (status == FL_OK) {
        find_time(seen, shape);
        find_values(seen, told, shape);
    }
    return status;
}

/* ---- unit and zone ---- */

#define MILLI 1000
/* No closed box with living plants is as warm as that, or all the time below freezing. */
#define TOO_WARM_C 55
#define FREEZING_F 32

void fl_sniff_unit(const fl_sniffed *seen, const fl_probe_told *told, fl_probe_shape *shape)
{
    int column = shape->temp_column;
    if (told->unit >= 0) {
        shape->unit = (fl_probe_unit)told->unit;
        shape->unit_why = "as you said";
        return;
    }
    if (column < 0) {
        shape->questions |= 1U << FL_PROBE_ASK_UNIT;
        return;
    }
    fl_sv name = shape->column[column];
    bool says_c = has_word(name, "c") || has(name, "celsius") || has_word(name, "degc");
    bool says_f = has_word(name, "f") || has(name, "fahrenheit") || has_word(name, "degf");
    if (seen->unit[column] != '\0') {
        shape->unit = seen->unit[column] == 'F' ? FL_PROBE_FAHRENHEIT : FL_PROBE_CELSIUS;
        shape->unit_why = "the values say so";
    } else if (says_c != says_f) {
        shape->unit = says_f ? FL_PROBE_FAHRENHEIT : FL_PROBE_CELSIUS;
        shape->unit_why = "the header says so";
    } else if (seen->least[column] > TOO_WARM_C * MILLI) {
        shape->unit = FL_PROBE_FAHRENHEIT;
        shape->unit_why = "in Celsius no plant would live";
    } else if (seen->most[column] < FREEZING_F * MILLI && seen->least[column] > 0) {
        shape->unit = FL_PROBE_CELSIUS;
        shape->unit_why = "in Fahrenheit all of it would be below freezing";
    } else {
        shape->questions |= 1U << FL_PROBE_ASK_UNIT;
    }
}

/* "+01:00", "+1", "-0330" behind "UTC" or "GMT" in a name; 0 when there is none. */
static int zone_in(fl_sv name)
{
    int value[2] = {0, 0};
    int n = 0;
    size_t i = 0;
    while (i + 3 <= name.len && !fl_sv_eq_nocase((fl_sv){name.ptr + i, 3}, FL_SV("utc")) &&
           !fl_sv_eq_nocase((fl_sv){name.ptr + i, 3}, FL_SV("gmt"))) {
        i++;
    }
    for (i += 3; i < name.len && name.ptr[i] == ' '; i++) {
    }
    if (i >= name.len || (name.ptr[i] != '+' && name.ptr[i] != '-')) {
        return 0;
    }
    int sign = name.ptr[i] == '-' ? -1 : 1;
    for (i++; i < name.len && n < 4; i++) {
        if (name.ptr[i] >= '0' && name.ptr[i] <= '9') {
            value[n / 2] = value[n / 2] * 10 + (name.ptr[i] - '0');
            n++;
        } else if (name.ptr[i] == ':' && n < 2) {
            n = 2;
        } else {
            break;
        }
    }
    int minutes = sign * (value[0] * 60 + value[1]);
    return minutes >= -840 && minutes <= 840 ? minutes : 0;
}

void fl_sniff_zone(fl_sv text, const fl_probe_told *told, fl_probe_shape *shape)
{
    fl_probe_when when;
    (void)text;
    shape->tz_offset_min = told->tz_offset_min;
    shape->zone_why = "the room's clock";
    if (shape->date_column < 0) {
        return;
    }
    int column = shape->time_column >= 0 ? shape->time_column : shape->date_column;
    fl_sv name = shape->column[shape->date_column];
    if (fl_probe_when_read(shape->sample[column], &when) && when.has_zone) {
        shape->has_zone = true;
        shape->tz_offset_min = when.zone_min;
        shape->zone_why = "the times say it";
    } else if (has(name, "utc") || has(name, "gmt")) {
        shape->has_zone = true;
        shape->tz_offset_min = zone_in(name);
        shape->zone_why = "the header says it";
    }
}
