/* The demo's loggers: invented weather, written as such a logger's file and read like any other. */
#include "cli/demo_readings.h"

#include <math.h>

#include "app/readings.h"
#include "base/rng.h"
#include "base/str.h"
#include "cli/compose.h"

#define STEP_S 1800
#define DAYS 364
#define QUARTER_DAYS 91
#define PI 3.14159265358979323846
#define FILE_BYTES_MAX ((size_t)1 << 20)

/* One logger's bin. */
typedef struct station {
    const char *bin;
    double mean_c;
    double swing_c;  /* from night to day */
    double mean_pct; /* humidity */
    double dry_pct;  /* lost in the last week */
    uint64_t seed;
} station;

static const station stations[] = {
    {"bin 4", 21.0, 1.2, 86.0, 0.0, 41},
    {"bin 6, the mothers", 22.0, 1.5, 78.0, 30.0, 62},
};

/* A hump of `height` between two days before today, 0 outside. */
static double hump(double day, double from, double to, double height)
{
    if (day < from || day > to) {
        return 0.0;
    }
    return height * sin(PI * (day - from) / (to - from));
}

/* The logger was off, for its battery. */
static bool is_gap(double day)
{
    return day > -71.0 && day < -59.5;
}

static void add_row(const fl_session *s, const station *st, fl_rng *rng, int64_t at_s, fl_str *out)
{
    fl_civil c = fl_civil_from_utc(at_s, s->room.tz_offset_min);
    double day = (double)(at_s - s->room.now_s) / FL_DAY_S;
    double hour = c.hour + c.minute / 60.0;
    double noise = fl_rng_uniform(rng) - 0.5;
    double light = hour > 8.0 && hour < 20.0 ? sin(PI * (hour - 8.0) / 12.0) : -0.3;
    double wave = hump(day, -140.0, -126.0, 11.0); /* a fortnight of July */
    double cold = hump(day, -322.0, -313.0, -8.0); /* nine days of January */
    double temp_c = st->mean_c + st->swing_c * (light - 0.25) + wave + cold + 0.3 * noise;
    double rh_pct = st->mean_pct - 2.5 * light - 0.9 * wave + 4.0 * noise;
    rh_pct -= day > -7.0 ? st->dry_pct * fmin((day + 7.0) / 2.0, 1.0) : 0.0;
    int tenths_c = (int)lround(temp_c * 10.0);
    int tenths_pct = (int)lround(fmin(rh_pct, 99.0) * 10.0);
    if (!is_gap(day)) {
        fl_str_appendf(out, "%02d.%02d.%04d %02d:%02d;%d,%d;%d,%d\r\n", c.day, c.month, c.year,
                       c.hour, c.minute, tenths_c / 10, tenths_c % 10, tenths_pct / 10,
                       tenths_pct % 10);
    }
}

static fl_status take_quarter(fl_session *s, const station *st, fl_id place, int quarter,
                              fl_err *err)
{
    fl_str text;
    fl_readings_look look;
    fl_rng rng = {st->seed + (uint64_t)quarter};
    const fl_probe_told told = {.order = -1, .unit = -1, .tz_offset_min = s->room.tz_offset_min};
    int64_t first_s = (s->room.now_s - DAYS * (int64_t)FL_DAY_S) / STEP_S * STEP_S;
    int64_t from_s = first_s + quarter * QUARTER_DAYS * (int64_t)FL_DAY_S;
    int64_t to_s = from_s + QUARTER_DAYS * (int64_t)FL_DAY_S;
    fl_event event = {.kind = FL_KIND_READINGS_IMPORTED, .at_s = to_s};
    fl_str_init(&text, FILE_BYTES_MAX);
    fl_str_append_cstr(&text, "Zeit;Temperatur (\xC2\xB0"
                              "C);Feuchte (% RH)\r\n");
    for (int64_t at_s = from_s; at_s < to_s; at_s += STEP_S) {
        add_row(s, st, &rng, at_s, &text);
    }
    event.id = fl_compose_id(s);
    fl_status status = fl_readings_look_at(&s->app, &s->room, place, fl_str_sv(&text), &told,
                                           &s->arena, &look, err);
    if (status == FL_OK) {
        status =
            fl_readings_keep(&s->app, &look, place, &s->arena, &event.body.readings_imported, err);
    }
    if (status == FL_OK) {
        event.note = fl_readings_note(&look, FL_SV("logger.csv"), &s->arena);
        status = fl_app_record_events(&s->app, &event, 1, err);
    }
    fl_str_done(&text);
    return status == FL_OK ? fl_session_load(s, err) : status;
}

fl_status fl_demo_readings(fl_session *s, fl_err *err)
{
    fl_status status = FL_OK;
    for (size_t i = 0; i < sizeof stations / sizeof stations[0]; i++) {
        const fl_ev_place_set *place = NULL;
        if (fl_room_find_place(&s->room, fl_sv_from_cstr(stations[i].bin), &place, NULL) != FL_OK) {
            continue;
        }
        fl_id id = place->place;
        for (int quarter = 0; quarter < DAYS / QUARTER_DAYS && status == FL_OK; quarter++) {
            status = take_quarter(s, &stations[i], id, quarter, err);
        }
    }
    return status;
}
