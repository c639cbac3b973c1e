/* Light, air and water of the places; the readings of one; taking in a logger's file. */
#include <stdlib.h>

#include "base/num.h"
#include "base/shown.h"
#include "http/api.h"
#include "http/problem.h"
#include "view/suits.h"
#include "view/view_climate.h"
#include "view/view_readings.h"

#define CHART_DAYS_MAX 3660

fl_status fl_api_climate(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_view view;
    fl_climate climate;
    fl_recheck *rechecks = NULL;
    size_t n = 0;
    fl_status status = fl_api_begin(x, app, &view, err);
    if (status != FL_OK) {
        return status;
    }
    status = fl_climate_of_room(view.room, &x->arena, &climate, err);
    if (status == FL_OK) {
        status = fl_recheck_list(view.chances, view.room, &x->arena, &rechecks, &n, err);
    }
    if (status == FL_OK) {
        fl_view_climate(&view, NULL, &climate, rechecks, n);
    }
    return fl_api_end(x, &view, status);
}

/* The place of the address within the climate of the room. */
static fl_status find_place(fl_exchange *x, const fl_view *view, const fl_climate_place **out,
                            fl_err *err)
{
    fl_climate climate;
    const fl_ev_place_set *place = NULL;
    fl_status status = fl_room_find_place(view->room, x->param[0], &place, err);
    if (status == FL_OK) {
        status = fl_climate_of_room(view->room, &x->arena, &climate, err);
    }
    if (status != FL_OK) {
        return status;
    }
    *out = fl_climate_find(&climate, place->place);
    if (*out == NULL) {
        return fl_fail(err, FL_ENOTFOUND, "%.*s: nothing is told or measured of its light and air",
                       FL_SV_ARG(place->name));
    }
    return FL_OK;
}

fl_status fl_api_place_climate(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_view view;
    const fl_climate_place *place = NULL;
    fl_status status = fl_api_begin(x, app, &view, err);
    if (status != FL_OK) {
        return status;
    }
    status = find_place(x, &view, &place, err);
    if (status == FL_OK) {
        fl_view_climate_place(&view, NULL, place);
    }
    return fl_api_end(x, &view, status);
}

fl_status fl_api_suits(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_view view;
    fl_suits suits;
    fl_sv plant;
    const fl_ev_place_set *place = NULL;
    fl_status status = fl_api_query(x, "plant", &plant, err);
    if (status == FL_OK) {
        status = fl_api_begin(x, app, &view, err);
    }
    if (status != FL_OK) {
        return status;
    }
    status = fl_room_find_place(view.room, x->param[0], &place, err);
    if (status == FL_OK) {
        const size_t n = plant.len > 0 ? 1 : 0;
        status = fl_suits_of_place(view.room, place, &plant, n, &x->arena, &suits, err);
    }
    if (status == FL_OK) {
        fl_view_suits(&view, NULL, &suits);
    }
    return fl_api_end(x, &view, status);
}

/* ---- charts ---- */

static fl_status read_days(const fl_request *request, int64_t *days, fl_err *err)
{
    fl_sv text;
    *days = 0; /* all there is */
    if (!fl_request_query(request, "days", &text)) {
        return FL_OK;
    }
    return fl_num_parse_int(text, "days", 1, CHART_DAYS_MAX, days, err);
}

static int compare_steps(const void *left, const void *right)
{
    int64_t a = *(const int64_t *)left;
    int64_t b = *(const int64_t *)right;
    return (a > b) - (a < b);
}

/* The middle of up to a hundred steps. */
static int64_t usual_step(const fl_reading_point *points, size_t n)
{
    int64_t steps[100];
    size_t count = 0;
    size_t stride = n / 100 + 1;
    for (size_t i = 1; i < n && count < 100; i += stride) {
        steps[count++] = points[i].at_s - points[i - 1].at_s;
    }
    qsort(steps, count, sizeof steps[0], compare_steps);
    return count > 0 ? steps[count / 2] : 0;
}

/* The last `days` of a place's readings, up to the last one; all of them for 0. */
static fl_readings_span span_of(const fl_climate_place *place, int64_t days)
{
    const fl_series *s = place->series;
    fl_readings_span span = {s->from_h * FL_HOUR_S, (s->from_h + (int64_t)s->n_hours) * FL_HOUR_S};
    if (days > 0 && span.to_s - days * FL_DAY_S > span.from_s) {
        span.from_s = span.to_s - days * FL_DAY_S;
    }
    return span;
}

fl_status fl_api_readings(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_view view;
    fl_view_chart chart = {0};
    fl_reading_point *points = NULL;
    int64_t days = 0;
    fl_status status = read_days(x->request, &days, err);
    if (status == FL_OK) {
        status = fl_api_begin(x, app, &view, err);
    }
    if (status != FL_OK) {
        return status;
    }
    status = find_place(x, &view, &chart.place, err);
    if (status == FL_OK && chart.place->series == NULL) {
        status = fl_fail(err, FL_ENOTFOUND, "%.*s has no readings yet: take in a logger's file",
                         FL_SV_ARG(chart.place->place->name));
    }
    if (status == FL_OK) {
        chart.span = span_of(chart.place, days);
        status = fl_readings_of_place(app, view.room, chart.place->place->place, &chart.span,
                                      &x->arena, &points, &chart.n_points, err);
    }
    if (status == FL_OK) {
        chart.points = points;
        chart.step_s = usual_step(points, chart.n_points);
        fl_view_readings_chart(&view, NULL, &chart);
    }
    return fl_api_end(x, &view, status);
}

/* ---- a file ---- */

/* A parameter of the address, decoded; empty when it is not there. */
static fl_status take_text(fl_exchange *x, const char *name, fl_sv *out, fl_err *err)
{
    fl_sv raw;
    *out = (fl_sv){NULL, 0};
    if (!fl_request_query(x->request, name, &raw)) {
        return FL_OK;
    }
    return fl_percent_decode(raw, &x->arena, out, err);
}

static fl_status take_word(fl_exchange *x, const char *name, const fl_word *words, int count,
                           int *out, fl_err *err)
{
    fl_sv text;
    fl_status status = take_text(x, name, &text, err);
    *out = -1;
    if (status == FL_OK && text.len > 0) {
        *out = fl_word_find(words, count, text);
        if (*out < 0) {
            status =
                fl_fail(err, FL_EINVAL, "%s \"%.*s\" is none that is known", name, FL_SHOWN(text));
        }
    }
    return status;
}

static fl_status take_number(fl_exchange *x, const char *name, int64_t most, int64_t *out,
                             fl_err *err)
{
    fl_sv text;
    fl_status status = take_text(x, name, &text, err);
    if (status == FL_OK && text.len > 0) {
        status = fl_num_parse_int(text, name, -most, most, out, err);
    }
    return status;
}

static fl_status read_told(fl_exchange *x, const fl_room *room, fl_probe_told *told, fl_err *err)
{
    int64_t zone_min = room->tz_offset_min;
    int64_t shift_min = 0;
    *told = (fl_probe_told){.order = -1, .unit = -1};
    fl_status status =
        take_word(x, "order", fl_words_probe_order, FL_PROBE_ORDERS, &told->order, err);
    if (status == FL_OK) {
        status = take_word(x, "unit", fl_words_probe_unit, FL_PROBE_UNITS, &told->unit, err);
    }
    if (status == FL_OK) {
        status = take_text(x, "time_column", &told->time_column, err);
    }
    if (status == FL_OK) {
        status = take_text(x, "temp_column", &told->temp_column, err);
    }
    if (status == FL_OK) {
        status = take_text(x, "rh_column", &told->rh_column, err);
    }
    if (status == FL_OK) {
        status = take_number(x, "tz_offset_min", 840, &zone_min, err);
    }
    if (status == FL_OK) {
        status = take_number(x, "shift_min", 5256000, &shift_min, err);
    }
    told->tz_offset_min = (int)zone_min;
    told->shift_s = shift_min * 60;
    return status;
}

static fl_status look_at_body(fl_exchange *x, fl_app *app, const fl_room *room, fl_id *place,
                              fl_readings_look *look, fl_err *err)
{
    const fl_ev_place_set *set = NULL;
    fl_probe_told told;
    fl_status status = fl_room_find_place(room, x->param[0], &set, err);
    if (status == FL_OK) {
        *place = set->place;
        status = read_told(x, room, &told, err);
    }
    return status == FL_OK
               ? fl_readings_look_at(app, room, *place, x->body, &told, &x->arena, look, err)
               : status;
}

fl_status fl_api_readings_preview(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_view view;
    fl_readings_look look;
    fl_id place;
    fl_status status = fl_api_begin(x, app, &view, err);
    if (status != FL_OK) {
        return status;
    }
    status = look_at_body(x, app, view.room, &place, &look, err);
    if (status == FL_OK) {
        fl_view_readings_look(&view, NULL, &look);
    }
    return fl_api_end(x, &view, status);
}

/* The event's id: Idempotency-Key, which a client must send. */
static fl_status take_key(const fl_exchange *x, fl_id *id, fl_err *err)
{
    const fl_header *header = fl_request_header(x->request, "Idempotency-Key");
    if (header == NULL || fl_id_parse(header->value, id, NULL) != FL_OK || fl_id_is_none(*id)) {
        return fl_fail(err, FL_EINVAL,
                       "Idempotency-Key: give a new id (a UUID) for the event of this batch");
    }
    return FL_OK;
}

static const fl_event *recorded(const fl_room *room, fl_id id)
{
    for (size_t i = 0; i < room->n_events; i++) {
        if (fl_id_eq(room->events[i].id, id)) {
            return &room->events[i];
        }
    }
    return NULL;
}

static fl_status record(fl_exchange *x, fl_app *app, const fl_room *room, fl_id id, fl_err *err)
{
    fl_readings_look look;
    fl_id place;
    fl_sv name;
    fl_event event = {.id = id, .kind = FL_KIND_READINGS_IMPORTED, .at_s = room->now_s};
    fl_status status = look_at_body(x, app, room, &place, &look, err);
    if (status == FL_OK) {
        status = take_text(x, "name", &name, err);
    }
    if (status == FL_OK) {
        status = fl_readings_keep(app, &look, place, &x->arena, &event.body.readings_imported, err);
    }
    if (status == FL_OK) {
        event.note = fl_readings_note(&look, name, &x->arena);
        status = fl_app_record_events(app, &event, 1, err);
    }
    return status;
}

fl_status fl_api_readings_take(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_room room;
    fl_id id;
    int64_t position = 0;
    fl_recorded result = FL_RECORDED_NEW;
    fl_status status = take_key(x, &id, err);
    if (status == FL_OK) {
        status = fl_room_load(app, &room, err);
    }
    if (status != FL_OK) {
        return status;
    }
    const fl_event *before = recorded(&room, id);
    if (before != NULL && before->kind != FL_KIND_READINGS_IMPORTED) {
        x->reply = fl_problem_reply(FL_PROBLEM_KEY_MISMATCH, NULL, &x->arena);
    } else if (before != NULL) {
        result = FL_RECORDED_ALREADY; /* sent again: the answer may have been lost */
    } else {
        status = record(x, app, &room, id, err);
    }
    fl_room_done(&room);
    if (status == FL_OK) {
        status = fl_app_position(app, &position, err);
    }
    if (status != FL_OK || x->reply.status != 0) {
        return status;
    }
    fl_json_writer *w = fl_json_writer_new();
    fl_view_recorded(w, NULL, &id, &result, 1, position);
    x->reply = fl_reply_json(result == FL_RECORDED_NEW ? 201 : 200, w, &x->arena);
    return FL_OK;
}
