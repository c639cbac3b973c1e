/* The shape of a logger's file: delimiter, decimal sign, header, where the rows begin. */
#include "core/readings/sniff.h"

#include <string.h>

#define FL_WORD_ROW(name, word, text) {word, text},
const fl_word fl_words_probe_question[FL_PROBE_QUESTIONS] = {FL_PROBE_QUESTION_LIST(FL_WORD_ROW)};
#undef FL_WORD_ROW

/* In the order of preference where two split the rows equally well: a comma may be a decimal. */
static const char delimiters[] = {'\t', ';', '|', ','};
#define N_DELIMITERS (sizeof delimiters)

/* A row that is looked at before the shape is known. */
typedef struct peeked {
    fl_sv field[FL_PROBE_COLUMNS_MAX];
    size_t n; /* fields, at most FL_PROBE_COLUMNS_MAX of them written */
    size_t byte;
    int64_t line;
} peeked;

/* The next row that is not empty; false at the end. */
static bool peek(fl_sv text, char delimiter, size_t *at, int64_t *line, peeked *out)
{
    do {
        int64_t lines = 0;
        out->byte = *at;
        out->line = *line;
        out->n = fl_probe_split(text, at, delimiter, out->field, FL_PROBE_COLUMNS_MAX, &lines);
        *line += lines;
    } while (out->n == 1 && out->field[0].len == 0);
    return out->n > 0;
}

static size_t kept(const peeked *row)
{
    return row->n < FL_PROBE_COLUMNS_MAX ? row->n : FL_PROBE_COLUMNS_MAX;
}

/* True when the row has a field with a date. */
static bool has_date(const peeked *row)
{
    fl_probe_when when;
    for (size_t i = 0; i < kept(row); i++) {
        if (fl_probe_when_read(row->field[i], &when) && when.has_date) {
            return true;
        }
    }
    return false;
}

/* How many of the first rows have a date and as many fields as most of them; *n_fields is that. */
static int score_of(fl_sv text, char delimiter, size_t *n_fields)
{
    int count[FL_PROBE_COLUMNS_MAX + 1] = {0};
    size_t at = 0;
    int64_t line = 1;
    int best = 0;
    peeked row;
    for (int i = 0; i < FL_SNIFF_ROWS && peek(text, delimiter, &at, &line, &row); i++) {
        if (row.n >= 2 && row.n <= FL_PROBE_COLUMNS_MAX && has_date(&row)) {
            count[row.n]++;
        }
    }
    *n_fields = 0;
    for (size_t n = 2; n <= FL_PROBE_COLUMNS_MAX; n++) {
        if (count[n] > best) {
            best = count[n];
            *n_fields = n;
        }
    }
    return best;
}

static fl_status find_delimiter(fl_sv text, fl_probe_shape *shape, fl_err *err)
{
    int score[N_DELIMITERS];
    size_t n_fields[N_DELIMITERS];
    int best = 0;
    for (size_t i = 0; i < N_DELIMITERS; i++) {
        score[i] = score_of(text, delimiters[i], &n_fields[i]);
        best = score[i] > best ? score[i] : best;
    }
    for (size_t i = 0; i < N_DELIMITERS && best > 0; i++) {
        if (score[i] * 10 >= best * 9) {
            shape->delimiter = delimiters[i];
            shape->n_columns = n_fields[i];
            return FL_OK;
        }
    }
    return fl_fail(err, FL_EFORMAT,
                   "no rows with a date and a value: give a table with one reading a line, its "
                   "columns parted by a comma, a semicolon, a tab or a bar");
}

/* The header is the last row above the first reading with as many names as there are columns; more
 * fields below than names above means that the comma does two jobs. */
static fl_status find_rows(fl_sv text, fl_probe_shape *shape, fl_err *err)
{
    size_t at = 0;
    int64_t line = 1;
    peeked row;
    peeked above = {.n = 0};
    while (peek(text, shape->delimiter, &at, &line, &row)) {
        if (row.n == shape->n_columns && has_date(&row)) {
            break;
        }
        if (row.n >= 2 || shape->delimiter == '\t') {
            above = row;
        }
    }
    shape->first_byte = row.byte;
    shape->first_line = row.line;
    memcpy(shape->sample, row.field, shape->n_columns * sizeof row.field[0]);
    if (above.n >= 2 && above.n < shape->n_columns && shape->delimiter == ',') {
        return fl_fail(err, FL_EFORMAT,
                       "line %lld has %zu names and line %lld has %zu fields: the comma parts the "
                       "columns and the decimals; write the file again with a semicolon, a tab or "
                       "a decimal point",
                       (long long)above.line, above.n, (long long)row.line, shape->n_columns);
    }
    shape->has_header = above.n == shape->n_columns;
    if (shape->has_header) {
        memcpy(shape->column, above.field, shape->n_columns * sizeof above.field[0]);
    }
    return FL_OK;
}

/* The decimal sign: the one that stands between digits in the columns that are no dates. */
static fl_status find_decimal(fl_sv text, fl_probe_shape *shape, fl_err *err)
{
    size_t at = shape->first_byte;
    int64_t line = shape->first_line;
    int points = 0;
    int commas = 0;
    peeked row;
    for (int i = 0; i < FL_SNIFF_ROWS && peek(text, shape->delimiter, &at, &line, &row); i++) {
        for (size_t k = 0; k < kept(&row); k++) {
            int32_t milli = 0;
            bool is_missing = false;
            char unit = '\0';
            fl_probe_when when;
            if (fl_probe_when_read(row.field[k], &when)) {
                continue;
            }
            bool has_point = memchr(row.field[k].ptr, '.', row.field[k].len) != NULL;
            bool has_comma = memchr(row.field[k].ptr, ',', row.field[k].len) != NULL;
            points += has_point && fl_probe_number(row.field[k], '.', &milli, &is_missing, &unit);
            commas += has_comma && fl_probe_number(row.field[k], ',', &milli, &is_missing, &unit);
        }
    }
    if (points > 0 && commas > 0) {
        return fl_fail(err, FL_EFORMAT,
                       "some numbers have a decimal point and some a decimal comma: write the file "
                       "with one of them");
    }
    shape->decimal = commas > 0 ? ',' : '.';
    return FL_OK;
}

static void note_field(fl_sniffed *seen, const fl_probe_shape *shape, fl_sv field, size_t k)
{
    int32_t milli = 0;
    bool is_missing = false;
    fl_probe_when when;
    if (fl_probe_when_read(field, &when)) {
        seen->is_date[k] += when.has_date;
        seen->has_time[k] += when.has_date && when.has_time;
        seen->is_time[k] += !when.has_date;
        return;
    }
    if (!fl_probe_number(field, shape->decimal, &milli, &is_missing, &seen->unit[k])) {
        seen->is_missing[k] += is_missing;
        return;
    }
    seen->least[k] = seen->is_number[k] == 0 || milli < seen->least[k] ? milli : seen->least[k];
    seen->most[k] = seen->is_number[k] == 0 || milli > seen->most[k] ? milli : seen->most[k];
    seen->is_number[k]++;
}

static void look(fl_sv text, const fl_probe_shape *shape, fl_sniffed *seen)
{
    size_t at = shape->first_byte;
    int64_t line = shape->first_line;
    peeked row;
    while (seen->n_rows < FL_SNIFF_ROWS && peek(text, shape->delimiter, &at, &line, &row)) {
        seen->n_rows++;
        for (size_t k = 0; k < kept(&row) && k < shape->n_columns; k++) {
            note_field(seen, shape, row.field[k], k);
        }
    }
}

fl_status fl_probe_sniff(fl_sv text, const fl_probe_told *told, fl_probe_shape *out, fl_err *err)
{
    fl_probe_shape shape = {.date_column = -1,
                            .time_column = -1,
                            .temp_column = -1,
                            .rh_column = -1,
                            .order_why = "",
                            .unit_why = "",
                            .zone_why = "",
                            .shift_s = told->shift_s};
    fl_sniffed seen = {0};
    fl_status status = find_delimiter(text, &shape, err);
    if (status == FL_OK) {
        status = find_rows(text, &shape, err);
    }
    if (status == FL_OK) {
        status = find_decimal(text, &shape, err);
    }
    if (status == FL_OK) {
        look(text, &shape, &seen);
        status = fl_sniff_columns(&seen, told, &shape, err);
    }
    if (status == FL_OK) {
        fl_sniff_unit(&seen, told, &shape);
        fl_sniff_zone(text, told, &shape);
        status = fl_sniff_order(text, told, &shape, err);
    }
    if (status == FL_OK) {
        *out = shape;
    }
    return status;
}
