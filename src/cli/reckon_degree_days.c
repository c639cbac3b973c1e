/* reckon degree-days: daily degree-days from a file of minima and maxima, by a single sine. */
#include "base/str.h"
#include "cli/csv_in.h"
#include "cli/reckon.h"
#include "core/develop/degree_days.h"

enum { LOWER, UPPER, CUTOFF, CSV, OPTION_COUNT };

static const fl_arg options[OPTION_COUNT] = {
    [LOWER] = {"lower", FL_ARG_NUMBER, .is_required = true, .min = -1000, .max = 1000,
               .help = "lower threshold; its unit is the file's and the answer's"},
    [UPPER] = {"upper", FL_ARG_NUMBER, .is_required = true, .min = -1000, .max = 1000,
               .help = "upper threshold"},
    [CUTOFF] = {"cutoff", FL_ARG_TEXT, .is_required = true,
                .choices = "horizontal|intermediate|vertical", .help = "above the upper threshold"},
    [CSV] = {"csv", FL_ARG_TEXT, .is_required = true, .help = "a file with columns date,min,max"},
};

typedef struct columns {
    size_t date, min, max;
} columns;

static fl_status find_columns(const fl_csv *csv, columns *out, fl_err *err)
{
    fl_status status = fl_csv_need_column(csv, "date", &out->date, err);
    if (status == FL_OK) {
        status = fl_csv_need_column(csv, "min", &out->min, err);
    }
    return status == FL_OK ? fl_csv_need_column(csv, "max", &out->max, err) : status;
}

static fl_status reckon_row(const fl_csv *csv, size_t row, const columns *column,
                            const fl_degree_day_limits *limits, double *out, fl_err *err)
{
    static const double range[2] = {-1000.0, 1000.0};
    double min = 0.0;
    double max = 0.0;
    fl_status status = fl_csv_number(csv, row, column->min, range, &min, err);
    if (status == FL_OK) {
        status = fl_csv_number(csv, row, column->max, range, &max, err);
    }
    if (status == FL_OK && max < min) {
        status = fl_fail(err, FL_EDOMAIN, "%.*s line %lld: max %g is below min %g",
                         FL_SV_ARG(csv->path), (long long)csv->lines[row], max, min);
    }
    return status == FL_OK ? fl_degree_days_single_sine(min, max, limits, out, err) : status;
}

static fl_status reckon_rows(const fl_csv *csv, const fl_degree_day_limits *limits,
                             fl_json_writer *w, fl_err *err)
{
    columns column = {0, 0, 0};
    double total = 0.0;
    fl_status status = find_columns(csv, &column, err);
    if (status != FL_OK) {
        return status;
    }
    fl_json_begin_array(w, "days");
    for (size_t row = 0; row < csv->n_rows && status == FL_OK; row++) {
        double day = 0.0;
        status = reckon_row(csv, row, &column, limits, &day, err);
        total += day;
        fl_json_begin_object(w, NULL);
        fl_json_put_text(w, "date", fl_csv_text(csv, row, column.date));
        fl_json_put_number(w, "degree_days", day);
        fl_json_end(w);
    }
    fl_json_end(w);
    fl_json_put_number(w, "total", total);
    return status;
}

static fl_status reckon(const fl_arg_value *value, fl_json_writer *w, fl_err *err)
{
    const fl_degree_day_limits limits = {value[LOWER].number, value[UPPER].number,
                                         (fl_cutoff)value[CUTOFF].choice};
    if (limits.upper <= limits.lower) {
        return fl_fail(err, FL_EDOMAIN, "--upper %g: give more than --lower %g", limits.upper,
                       limits.lower);
    }
    fl_csv csv = {0};
    fl_str path;
    fl_str_init(&path, 4096);
    fl_str_append(&path, value[CSV].text);
    fl_status status = fl_csv_read(path.ptr, &csv, err);
    if (status == FL_OK) {
        status = reckon_rows(&csv, &limits, w, err);
    }
    fl_csv_done(&csv);
    fl_str_done(&path);
    return status;
}

extern const fl_reckon_topic fl_reckon_topic_degree_days;
const fl_reckon_topic fl_reckon_topic_degree_days = {
    .name = "degree-days",
    .summary = "daily degree-days from minima and maxima, single sine",
    .example = "degree-days --lower 12 --upper 33 --cutoff horizontal --csv days.csv",
    .option = options,
    .option_count = OPTION_COUNT,
    .fn = reckon,
};
