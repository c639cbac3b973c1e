/* From batches of readings to hours. */
#include "app/series.h"

#include <math.h>
#include <string.h>

#include "app/readings_pack.h"
#include "base/alloc.h"
#include "base/civil.h"

fl_status fl_series_raw(fl_app *app, const fl_ev_readings_imported *batch, fl_arena *arena,
                        fl_readings *out, fl_err *err)
{
    fl_hash hash;
    fl_sv bytes;
    if (!fl_hash_parse(batch->blob.ptr, batch->blob.len, &hash)) {
        return fl_fail(err, FL_EFORMAT, "the readings have no SHA-256");
    }
    fl_status status = fl_store_blob_get(app->store, hash, arena, &bytes, err);
    return status == FL_OK ? fl_readings_unpack(bytes, arena, out, err) : status;
}

static int64_t floor_hour(int64_t at_s)
{
    return at_s >= 0 ? at_s / FL_HOUR_S : -((-at_s + FL_HOUR_S - 1) / FL_HOUR_S);
}

static void sum_hours(const fl_readings *readings, int64_t from_s, fl_arena *arena,
                      fl_series_batch *out)
{
    int64_t last_s = from_s + readings->list[readings->count - 1].offset_s;
    out->from_h = floor_hour(from_s);
    out->n_hours = (size_t)(floor_hour(last_s) - out->from_h) + 1;
    fl_series_hour *hours = FL_ARENA_ARRAY(arena, fl_series_hour, out->n_hours);
    for (size_t i = 0; i < readings->count; i++) {
        const fl_logged *reading = &readings->list[i];
        fl_series_hour *hour = &hours[floor_hour(from_s + reading->offset_s) - out->from_h];
        if (reading->temp_milli != FL_PROBE_MISSING) {
            hour->temp_sum_c += fl_probe_temp_c(reading->temp_milli, readings->unit);
            hour->n_temp++;
        }
        if (reading->rh_milli != FL_PROBE_MISSING) {
            hour->rh_sum_pct += reading->rh_milli / 1000.0;
            hour->n_rh++;
        }
    }
    out->hours = hours;
}

/* A span of a hundred years is no logger's: the day numbers of a batch bound it, too. */
static fl_status read_batch(fl_app *app, const fl_event *event, fl_arena *arena,
                            fl_series_batch *out, fl_err *err)
{
    const fl_ev_readings_imported *told = &event->body.readings_imported;
    fl_readings readings;
    fl_arena scratch;
    fl_err why = {0};
    *out = (fl_series_batch){.event = event->id, .place = told->place};
    fl_arena_init(&scratch);
    fl_status status = fl_series_raw(app, told, &scratch, &readings, &why);
    if (status == FL_OK &&
        readings.list[readings.count - 1].offset_s < INT64_C(100) * 366 * FL_DAY_S) {
        sum_hours(&readings, told->from_s, arena, out);
    }
    fl_arena_done(&scratch);
    if (status == FL_OK || status == FL_ENOTFOUND || status == FL_EFORMAT) {
        return FL_OK;
    }
    return fl_fail(err, status, "%s", why.message);
}

static const fl_series_batch *find_past(const fl_series_past *past, fl_id event)
{
    for (size_t i = 0; past != NULL && i < past->count; i++) {
        if (fl_id_eq(past->batches[i].event, event)) {
            return &past->batches[i];
        }
    }
    return NULL;
}

static void add_past(fl_series_past *past, const fl_series_batch *batch)
{
    if (past->count == past->cap) {
        past->cap = past->cap == 0 ? 16 : 2 * past->cap;
        past->batches = fl_alloc_resize(past->batches, past->cap, sizeof past->batches[0]);
    }
    past->batches[past->count++] = *batch;
}

static fl_status take_batch(fl_app *app, const fl_event *event, fl_series_past *past,
                            fl_arena *arena, fl_series_batch *out, fl_err *err)
{
    const fl_series_batch *known = find_past(past, event->id);
    if (known != NULL) {
        *out = *known;
        return FL_OK;
    }
    fl_status status = read_batch(app, event, past != NULL ? past->arena : arena, out, err);
    if (status == FL_OK && past != NULL && out->n_hours > 0) {
        add_past(past, out); /* a missing blob may come yet */
    }
    return status;
}

fl_status fl_series_read(fl_app *app, const fl_event *events, size_t n_events, fl_series_past *past,
                         fl_arena *arena, fl_series_batch **out, size_t *count, fl_err *err)
{
    size_t n = 0;
    fl_status status = FL_OK;
    for (size_t i = 0; i < n_events; i++) {
        n += events[i].kind == FL_KIND_READINGS_IMPORTED;
    }
    fl_series_batch *batches = FL_ARENA_ARRAY(arena, fl_series_batch, n);
    n = 0;
    for (size_t i = 0; i < n_events && status == FL_OK; i++) {
        if (events[i].kind == FL_KIND_READINGS_IMPORTED) {
            status = take_batch(app, &events[i], past, arena, &batches[n], err);
            n++;
        }
    }
    if (status == FL_OK) {
        *out = batches;
        *count = n;
    }
    return status;
}

/* ---- places ---- */

static bool is_live(const fl_series_batch *batch, const fl_event *events, size_t n_events)
{
    for (size_t i = 0; i < n_events; i++) {
        if (events[i].kind == FL_KIND_READINGS_IMPORTED && fl_id_eq(events[i].id, batch->event)) {
            return true;
        }
    }
    return false;
}

typedef struct merging {
    const fl_series_batch **batches; /* live ones with hours */
    size_t n_batches;
    fl_arena *arena;
} merging;

static void merge_place(const merging *m, fl_id place, fl_series *out)
{
    int64_t from_h = INT64_MAX;
    int64_t to_h = INT64_MIN;
    for (size_t i = 0; i < m->n_batches; i++) {
        const fl_series_batch *batch = m->batches[i];
        if (fl_id_eq(batch->place, place)) {
            int64_t end_h = batch->from_h + (int64_t)batch->n_hours;
            from_h = batch->from_h < from_h ? batch->from_h : from_h;
            to_h = end_h > to_h ? end_h : to_h;
        }
    }
    size_t n_hours = (size_t)(to_h - from_h);
    fl_series_hour *sum = FL_ARENA_ARRAY(m->arena, fl_series_hour, n_hours);
    double *temp_c = FL_ARENA_ARRAY(m->arena, double, n_hours);
    double *rh_pct = FL_ARENA_ARRAY(m->arena, double, n_hours);
    for (size_t i = 0; i < m->n_batches; i++) {
        const fl_series_batch *batch = m->batches[i];
        for (size_t h = 0; h < batch->n_hours && fl_id_eq(batch->place, place); h++) {
            fl_series_hour *hour = &sum[batch->from_h - from_h + (int64_t)h];
            hour->temp_sum_c += batch->hours[h].temp_sum_c;
            hour->rh_sum_pct += batch->hours[h].rh_sum_pct;
            hour->n_temp += batch->hours[h].n_temp;
            hour->n_rh += batch->hours[h].n_rh;
        }
    }
    for (size_t h = 0; h < n_hours; h++) {
        temp_c[h] = sum[h].n_temp > 0 ? sum[h].temp_sum_c / sum[h].n_temp : (double)NAN;
        rh_pct[h] = sum[h].n_rh > 0 ? sum[h].rh_sum_pct / sum[h].n_rh : (double)NAN;
    }
    *out = (fl_series){
        .place = place, .from_h = from_h, .n_hours = n_hours, .temp_c = temp_c, .rh_pct = rh_pct};
}

void fl_series_merge(const fl_series_batch *batches, size_t n_batches, const fl_event *events,
                     size_t n_events, fl_arena *arena, fl_series **out, size_t *count)
{
    merging m = {.batches = FL_ARENA_ARRAY(arena, const fl_series_batch *, n_batches),
                 .arena = arena};
    fl_series *series = FL_ARENA_ARRAY(arena, fl_series, n_batches);
    size_t n = 0;
    for (size_t i = 0; i < n_batches; i++) {
        if (batches[i].n_hours > 0 && is_live(&batches[i], events, n_events)) {
            m.batches[m.n_batches++] = &batches[i];
        }
    }
    for (size_t i = 0; i < m.n_batches; i++) {
        bool is_new = true;
        for (size_t k = 0; k < n && is_new; k++) {
            is_new = !fl_id_eq(series[k].place, m.batches[i]->place);
        }
        if (is_new) {
            merge_place(&m, m.batches[i]->place, &series[n++]);
        }
    }
    *out = series;
    *count = n;
}
