/* From a file's bytes to a batch. */
#include "app/readings.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/shown.h"

/* ---- reading ---- */

/* A row with its place in the file, for a sort that keeps the file's order among equals. */
typedef struct row {
    int64_t at_s;
    int32_t temp_milli;
    int32_t rh_milli;
    int64_t line;
} row;

static size_t count_ends(fl_sv text)
{
    size_t n = 1;
    for (size_t i = 0; i < text.len; i++) {
        n += text.ptr[i] == '\n' || text.ptr[i] == '\r' ? 1U : 0U;
    }
    return n;
}

static void note_bad(fl_readings_look *look, int64_t line, const char *why)
{
    if (look->n_bad < FL_READINGS_SHOWN) {
        look->bad[look->n_bad] = (fl_readings_fault){line, why};
    }
    look->n_bad++;
}

/* The rows of a file while they are read. */
typedef struct row_list {
    row *list; /* room for all of them, in the file's order */
    size_t n;
    size_t most; /* lines of the file */
    bool is_sorted;
} row_list;

#define LINES_BETWEEN 4096 /* two words about it */

static fl_status read_rows(fl_sv text, const fl_app *app, int64_t now_s, fl_readings_look *look,
                           row_list *out, fl_err *err)
{
    fl_probe_cursor cursor = fl_probe_begin(text, &look->shape);
    row *rows = out->list;
    out->is_sorted = true;
    for (size_t line = 0;; line++) {
        fl_probe_reading one;
        const char *why = NULL;
        const size_t n = out->n;
        if (line % LINES_BETWEEN == 0 &&
            fl_progress_step(app->progress, FL_WORK_LINES, (int64_t)line, (int64_t)out->most,
                             err) != FL_OK) {
            return FL_ECANCELLED;
        }
        fl_probe_row what = fl_probe_next(&cursor, &one, &why);
        if (what == FL_PROBE_END) {
            return FL_OK;
        }
        if (what == FL_PROBE_READING && one.at_s > now_s + FL_DAY_S) {
            what = FL_PROBE_BAD;
            why = "a time more than a day ahead of this machine's clock";
        }
        if (what == FL_PROBE_BAD) {
            note_bad(look, one.line, why);
        } else if (what == FL_PROBE_EMPTY) {
            look->n_empty++;
        } else {
            if (look->n_shown < FL_READINGS_SHOWN) {
                look->shown[look->n_shown++] = one;
            }
            out->is_sorted = out->is_sorted && (n == 0 || rows[n - 1].at_s <= one.at_s);
            rows[out->n++] = (row){one.at_s, one.temp_milli, one.rh_milli, one.line};
        }
    }
}

static int compare_rows(const void *left, const void *right)
{
    const row *a = left;
    const row *b = right;
    if (a->at_s != b->at_s) {
        return a->at_s < b->at_s ? -1 : 1;
    }
    return (a->line > b->line) - (a->line < b->line);
}

/* Takes out what has the moment of another; the first in the file stays. */
static size_t drop_repeats(row *rows, size_t n, fl_readings_look *look)
{
    size_t kept = 0;
    for (size_t i = 0; i < n; i++) {
        if (kept > 0 && rows[kept - 1].at_s == rows[i].at_s) {
            bool is_same = rows[kept - 1].temp_milli == rows[i].temp_milli &&
                           rows[kept - 1].rh_milli == rows[i].rh_milli;
            look->n_repeated += is_same;
            look->n_clashing += !is_same;
            continue;
        }
        rows[kept++] = rows[i];
    }
    return kept;
}

/* ---- what it looks like ---- */

static int compare_steps(const void *left, const void *right)
{
    int64_t a = *(const int64_t *)left;
    int64_t b = *(const int64_t *)right;
    return (a > b) - (a < b);
}

#define STEPS_MAX 1001

/* The middle of up to a thousand steps spread over the file. */
static int64_t usual_step(const row *rows, size_t n)
{
    int64_t steps[STEPS_MAX];
    size_t n_steps = 0;
    size_t stride = n / STEPS_MAX + 1;
    for (size_t i = 1; i < n && n_steps < STEPS_MAX; i += stride) {
        steps[n_steps++] = rows[i].at_s - rows[i - 1].at_s;
    }
    if (n_steps == 0) {
        return 0;
    }
    qsort(steps, n_steps, sizeof steps[0], compare_steps);
    return steps[n_steps / 2];
}

static void note_gap(fl_readings_look *look, int64_t from_s, int64_t to_s)
{
    fl_readings_span gap = {from_s, to_s};
    look->n_gaps++;
    for (size_t i = 0; i < FL_READINGS_SHOWN; i++) {
        if (gap.to_s - gap.from_s > look->gaps[i].to_s - look->gaps[i].from_s) {
            fl_readings_span other = look->gaps[i];
            look->gaps[i] = gap;
            gap = other;
        }
    }
}

static void describe(const row *rows, size_t n, fl_readings_look *look)
{
    int32_t temp[2] = {INT32_MAX, INT32_MIN};
    int32_t rh[2] = {INT32_MAX, INT32_MIN};
    look->step_s = usual_step(rows, n);
    for (size_t i = 0; i < n; i++) {
        if (i > 0 && look->step_s > 0 && (rows[i].at_s - rows[i - 1].at_s) * 2 > look->step_s * 5) {
            note_gap(look, rows[i - 1].at_s, rows[i].at_s);
        }
        if (rows[i].temp_milli != FL_PROBE_MISSING) {
            temp[0] = rows[i].temp_milli < temp[0] ? rows[i].temp_milli : temp[0];
            temp[1] = rows[i].temp_milli > temp[1] ? rows[i].temp_milli : temp[1];
        }
        if (rows[i].rh_milli != FL_PROBE_MISSING) {
            rh[0] = rows[i].rh_milli < rh[0] ? rows[i].rh_milli : rh[0];
            rh[1] = rows[i].rh_milli > rh[1] ? rows[i].rh_milli : rh[1];
        }
    }
    bool has_temp = temp[0] <= temp[1];
    bool has_rh = rh[0] <= rh[1];
    look->temp_min_c = has_temp ? fl_probe_temp_c(temp[0], look->shape.unit) : (double)NAN;
    look->temp_max_c = has_temp ? fl_probe_temp_c(temp[1], look->shape.unit) : (double)NAN;
    look->rh_min_pct = has_rh ? rh[0] / 1000.0 : (double)NAN;
    look->rh_max_pct = has_rh ? rh[1] / 1000.0 : (double)NAN;
    look->from_s = n > 0 ? rows[0].at_s : 0;
    look->to_s = n > 0 ? rows[n - 1].at_s : 0;
}

/* ---- what the room has ---- */

/* Two values are the same when rounding to a hundredth of a degree makes them so. */
static bool is_same_value(double a, double b)
{
    return isnan(a) ? isnan(b) : fabs(a - b) < 0.006;
}

/* Strikes out of rows what one batch has; both are in order. */
static size_t drop_known(row *rows, size_t n, const fl_readings *known, int64_t first_s,
                         fl_readings_look *look)
{
    size_t kept = 0;
    size_t k = 0;
    for (size_t i = 0; i < n; i++) {
        while (k < known->count && first_s + known->list[k].offset_s < rows[i].at_s) {
            k++;
        }
        if (k == known->count || first_s + known->list[k].offset_s != rows[i].at_s) {
            rows[kept++] = rows[i];
            continue;
        }
        const fl_logged *have = &known->list[k];
        double temp_c = fl_probe_temp_c(rows[i].temp_milli, look->shape.unit);
        bool is_same = is_same_value(temp_c, fl_probe_temp_c(have->temp_milli, known->unit)) &&
                       (have->rh_milli == rows[i].rh_milli);
        look->n_known += is_same;
        look->n_other += !is_same;
    }
    return kept;
}

static fl_status drop_all_known(fl_app *app, const fl_room *room, fl_id place, row *rows, size_t *n,
                                fl_readings_look *look, fl_err *err)
{
    fl_status status = FL_OK;
    for (size_t i = 0; i < room->n_events && status == FL_OK; i++) {
        const fl_ev_readings_imported *batch = &room->events[i].body.readings_imported;
        fl_readings known;
        fl_arena scratch;
        fl_err why = {0};
        if (room->events[i].kind != FL_KIND_READINGS_IMPORTED || !fl_id_eq(batch->place, place) ||
            batch->to_s < look->from_s || batch->from_s > look->to_s) {
            continue;
        }
        fl_arena_init(&scratch);
        fl_status got = fl_series_raw(app, batch, &scratch, &known, &why);
        if (got == FL_OK) {
            *n = drop_known(rows, *n, &known, batch->from_s, look);
        } else if (got != FL_ENOTFOUND && got != FL_EFORMAT) {
            status = fl_fail(err, got, "%s", why.message);
        }
        fl_arena_done(&scratch);
    }
    return status;
}

/* ---- the look ---- */

static void take_new(const row *rows, size_t n, fl_arena *arena, fl_readings_look *look)
{
    look->first_s = n > 0 ? rows[0].at_s : 0;
    look->readings = (fl_readings){
        .list = FL_ARENA_ARRAY(arena, fl_logged, n), .count = n, .unit = look->shape.unit};
    for (size_t i = 0; i < n; i++) {
        look->readings.list[i] =
            (fl_logged){rows[i].at_s - look->first_s, rows[i].temp_milli, rows[i].rh_milli};
    }
}

static fl_status read_all(fl_app *app, const fl_room *room, fl_id place, fl_sv text,
                          fl_arena *arena, fl_readings_look *look, fl_err *err)
{
    fl_arena scratch;
    fl_arena_init(&scratch);
    row_list read = {.most = count_ends(text)};
    row *rows = read.list = FL_ARENA_ARRAY(&scratch, row, read.most);
    fl_status status = read_rows(text, app, room->now_s, look, &read, err);
    size_t n = read.n;
    look->n_rows = (int64_t)n;
    if (status != FL_OK) {
        fl_arena_done(&scratch);
        return status;
    }
    if (n > FL_READINGS_MAX) {
        status = fl_fail(err, FL_ETOOBIG,
                         "%zu readings: at most %d go into one batch; split the "
                         "file",
                         n, FL_READINGS_MAX);
    } else if (n == 0 && look->n_bad > 0) {
        status = fl_fail(err, FL_EFORMAT, "no row can be read; line %lld: %s",
                         (long long)look->bad[0].line, look->bad[0].why);
    } else if (!read.is_sorted) {
        qsort(rows, n, sizeof rows[0], compare_rows);
    }
    if (status == FL_OK) {
        n = drop_repeats(rows, n, look);
        describe(rows, n, look);
        status = drop_all_known(app, room, place, rows, &n, look, err);
    }
    if (status == FL_OK) {
        take_new(rows, n, arena, look);
    }
    fl_arena_done(&scratch);
    return status;
}

fl_status fl_readings_look_at(fl_app *app, const fl_room *room, fl_id place, fl_sv bytes,
                              const fl_probe_told *told, fl_arena *arena, fl_readings_look *out,
                              fl_err *err)
{
    const double none = (double)NAN;
    fl_readings_look look = {.encoding = fl_probe_encoding_of(bytes),
                             .temp_min_c = none,
                             .temp_max_c = none,
                             .rh_min_pct = none,
                             .rh_max_pct = none};
    fl_probe_told said = *told;
    if (bytes.len > FL_READINGS_FILE_BYTES_MAX) {
        return fl_fail(err, FL_ETOOBIG, "the file has %zu bytes: at most %zu; split it", bytes.len,
                       FL_READINGS_FILE_BYTES_MAX);
    }
    said.now_s = room->now_s;
    size_t bound = fl_probe_decode_bound(look.encoding, bytes.len);
    char *buffer = bound > 0 ? fl_arena_alloc(arena, bound, 1) : NULL;
    fl_sv text = fl_probe_decode(look.encoding, bytes, buffer);
    fl_status status = fl_probe_sniff(text, &said, &look.shape, err);
    if (status == FL_OK && look.shape.questions == 0) {
        status = read_all(app, room, place, text, arena, &look, err);
    }
    if (status == FL_OK) {
        *out = look;
    }
    return status;
}

/* ---- keeping it ---- */

fl_sv fl_readings_note(const fl_readings_look *look, fl_sv file_name, fl_arena *arena)
{
    const fl_probe_shape *shape = &look->shape;
    fl_sv clock = FL_SV("");
    if (shape->shift_s != 0) {
        clock = fl_arena_printf(arena, "; every time moved by %+lld minutes",
                                (long long)(shape->shift_s / 60));
    }
    return fl_arena_printf(arena, "%.*s%s%s; %s%.*s", FL_SHOWN(file_name),
                           file_name.len > 0 ? ": " : "", fl_words_probe_order[shape->order].text,
                           fl_words_probe_unit[shape->unit].text, FL_SV_ARG(clock));
}

fl_status fl_readings_keep(fl_app *app, const fl_readings_look *look, fl_id place, fl_arena *arena,
                           fl_ev_readings_imported *body, fl_err *err)
{
    fl_sv bytes;
    fl_arena scratch;
    char hex[FL_HASH_TEXT_MAX];
    if (look->shape.questions != 0) {
        return fl_fail(err, FL_EINVAL, "a question about the file is open: answer it first");
    }
    if (look->readings.count == 0) {
        return fl_fail(err, FL_EINVAL,
                       "there is nothing new in the file: the room has all %lld readings",
                       (long long)look->n_known);
    }
    fl_arena_init(&scratch);
    fl_status status = fl_readings_pack(&look->readings, &scratch, &bytes, err);
    if (status == FL_OK) {
        fl_hash hash = fl_hash_of(bytes.ptr, bytes.len);
        status = fl_app_keep_blob(app, hash, bytes, err);
        if (status == FL_OK) {
            size_t last = look->readings.count - 1;
            *body = (fl_ev_readings_imported){.place = place,
                                              .from_s = look->first_s,
                                              .to_s = look->first_s +
                                                      look->readings.list[last].offset_s,
                                              .n_readings = (int64_t)look->readings.count};
            body->blob = fl_arena_copy_sv(arena, fl_sv_from_cstr(fl_hash_format(hex, hash)));
        }
    }
    fl_arena_done(&scratch);
    return status;
}

/* ---- for charts ---- */

static int compare_points(const void *left, const void *right)
{
    const fl_reading_point *a = left;
    const fl_reading_point *b = right;
    return (a->at_s > b->at_s) - (a->at_s < b->at_s);
}

/* Appends the readings of a batch that lie in the span. */
static void add_points(const fl_readings *readings, int64_t first_s, const fl_readings_span *span,
                       fl_reading_point *points, size_t *n)
{
    for (size_t i = 0; i < readings->count; i++) {
        const fl_logged *one = &readings->list[i];
        int64_t at_s = first_s + one->offset_s;
        if (at_s >= span->from_s && at_s <= span->to_s) {
            points[(*n)++] = (fl_reading_point){
                .at_s = at_s,
                .temp_c = fl_probe_temp_c(one->temp_milli, readings->unit),
                .rh_pct = one->rh_milli == FL_PROBE_MISSING ? (double)NAN : one->rh_milli / 1000.0};
        }
    }
}

static bool is_wanted(const fl_event *event, fl_id place, const fl_readings_span *span)
{
    const fl_ev_readings_imported *batch = &event->body.readings_imported;
    return event->kind == FL_KIND_READINGS_IMPORTED && fl_id_eq(batch->place, place) &&
           batch->to_s >= span->from_s && batch->from_s <= span->to_s;
}

fl_status fl_readings_of_place(fl_app *app, const fl_room *room, fl_id place,
                               const fl_readings_span *span, fl_arena *arena,
                               fl_reading_point **out, size_t *count, fl_err *err)
{
    fl_arena scratch;
    size_t cap = 0;
    size_t n = 0;
    fl_status status = FL_OK;
    for (size_t i = 0; i < room->n_events; i++) {
        bool is_in = is_wanted(&room->events[i], place, span);
        int64_t told = is_in ? room->events[i].body.readings_imported.n_readings : 0;
        cap += told > 0 && told <= FL_READINGS_MAX ? (size_t)told : 0;
    }
    fl_reading_point *points = FL_ARENA_ARRAY(arena, fl_reading_point, cap);
    for (size_t i = 0; i < room->n_events && status == FL_OK; i++) {
        const fl_ev_readings_imported *batch = &room->events[i].body.readings_imported;
        fl_readings readings;
        if (!is_wanted(&room->events[i], place, span)) {
            continue;
        }
        fl_arena_init(&scratch);
        status = fl_series_raw(app, batch, &scratch, &readings, err);
        if (status == FL_OK && n + readings.count <= cap) {
            add_points(&readings, batch->from_s, span, points, &n);
        }
        fl_arena_done(&scratch);
        if (status == FL_ENOTFOUND || status == FL_EFORMAT) {
            fl_err_clear(err);
            status = FL_OK;
        }
    }
    bool is_sorted = true; /* one batch is; several mostly are */
    for (size_t i = 1; i < n && is_sorted; i++) {
        is_sorted = points[i - 1].at_s <= points[i].at_s;
    }
    if (!is_sorted) {
        qsort(points, n, sizeof points[0], compare_points);
    }
    *out = points;
    *count = n;
    return status;
}
