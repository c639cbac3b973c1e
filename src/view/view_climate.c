/* The JSON of the climate. */
#include "view/view_climate.h"

#include <math.h>

#include "core/light/lamp.h"
#include "core/mix/watering.h"
#include "view/put.h"

static const char *const basis_words[] = {[FL_BASIS_DEFAULT] = "start",
                                          [FL_BASIS_FIXTURE] = "lamp",
                                          [FL_BASIS_READING] = "reading",
                                          [FL_BASIS_DARK] = "no_lamp"};
static const char *const basis_texts[] = {[FL_BASIS_DEFAULT] =
                                              "nothing is told; the strip to start from",
                                          [FL_BASIS_FIXTURE] = "by the lamp as told",
                                          [FL_BASIS_READING] = "by a meter's reading",
                                          [FL_BASIS_DARK] = "no lamp of its own"};
static const char *const rank_words[] = {[FL_CLIMATE_FINE] = "fine",
                                         [FL_CLIMATE_UNTOLD] = "untold",
                                         [FL_CLIMATE_WATCH] = "watch",
                                         [FL_CLIMATE_ACT] = "act"};
static const char *const rank_texts[] = {[FL_CLIMATE_FINE] = "fits",
                                         [FL_CLIMATE_UNTOLD] = "too little is told",
                                         [FL_CLIMATE_WATCH] = "something is off",
                                         [FL_CLIMATE_ACT] = "do something today"};

/* ---- light ---- */

static void put_band(const fl_view *v, const char *key, const fl_light_band *band)
{
    if (isnan(band->low) || isnan(band->high)) {
        fl_json_put_null(v->w, key);
        return;
    }
    fl_json_begin_object(v->w, key);
    fl_json_put_number(v->w, "low_mol_m2_d", band->low);
    fl_json_put_number(v->w, "high_mol_m2_d", band->high);
    fl_json_end(v->w);
}

static void put_plant(const fl_view *v, const fl_climate_plant *plant)
{
    const fl_know_plant *row = plant->plant;
    fl_json_begin_object(v->w, NULL);
    fl_put_lot_ref(v, "lot", plant->lot);
    fl_json_put_text(v->w, "name", fl_room_lot_name(v->room, plant->lot));
    fl_put_word(v->w, "state", "state_text", &fl_words_light_state[plant->state]);
    fl_json_put_bool(v->w, "is_thriving", plant->is_thriving);
    put_band(v, "band", &plant->band);
    if (row == NULL) {
        fl_json_put_null(v->w, "light_class");
        fl_json_put_null(v->w, "source_text");
        fl_json_put_number(v->w, "temp_opt_lo_c", (double)NAN);
        fl_json_put_number(v->w, "temp_opt_hi_c", (double)NAN);
        fl_json_put_number(v->w, "rh_min_pct", (double)NAN);
    } else {
        fl_json_put_cstr(v->w, "light_class", row->light_class);
        fl_json_put_text(
            v->w, "source_text",
            plant->band.is_published
                ? fl_sv_from_cstr(row->source)
                : fl_arena_printf(v->arena, "a band of its class, %s", row->confidence));
        fl_json_put_number(v->w, "temp_opt_lo_c", row->temp_opt_lo_c);
        fl_json_put_number(v->w, "temp_opt_hi_c", row->temp_opt_hi_c);
        fl_json_put_number(v->w, "rh_min_pct", row->rh_min_pct);
    }
    fl_json_end(v->w);
}

static void put_light(const fl_view *v, const fl_climate_place *p)
{
    const fl_light_at *light = &p->light;
    fl_json_begin_object(v->w, "light");
    fl_json_put_cstr(v->w, "basis", basis_words[light->basis]);
    fl_json_put_cstr(v->w, "basis_text", basis_texts[light->basis]);
    fl_json_put_number(v->w, "lux", light->lux);
    fl_json_put_number(v->w, "ppfd_umol_m2_s", light->ppfd_umol_m2_s);
    fl_json_put_number(v->w, "hours", light->hours);
    fl_json_put_number(v->w, "dli_mol_m2_d", light->dli_mol_m2_d);
    fl_json_put_number(v->w, "lux_per_umol", light->lux_per_umol);
    fl_json_put_cstr(v->w, "lux_per_umol_source", light->factor_source);
    fl_json_put_number(v->w, "lid_transmittance", light->lid);
    put_band(v, "want", &p->want);
    fl_json_put_number(v->w, "hours_needed", p->change.hours);
    fl_json_put_number(v->w, "height_needed_mm", p->change.height_mm);
    fl_put_place_ref(v, "swap_with", p->swap != NULL ? p->swap->place : (fl_id){{0}});
    fl_json_end(v->w);
}

static void put_lamp(const fl_view *v, const char *key, const fl_climate_lamp *lamp)
{
    fl_json_begin_object(v->w, key);
    fl_put_text(v->w, "lamp", lamp->code);
    fl_json_put_number(v->w, "lumens", lamp->lumens);
    fl_json_put_number(v->w, "length_mm", lamp->length_mm);
    fl_json_put_number(v->w, "height_mm", lamp->height_mm);
    fl_json_put_number(v->w, "along_mm", lamp->along_mm);
    fl_json_put_number(v->w, "across_mm", lamp->across_mm);
    fl_json_put_int(v->w, "count", lamp->count);
    fl_json_put_number(v->w, "spacing_mm", lamp->spacing_mm);
    fl_json_put_number(v->w, "hours", lamp->hours);
    fl_json_put_number(v->w, "watts", lamp->watts);
    fl_json_put_number(v->w, "lux_per_umol", lamp->lux_per_umol);
    fl_json_end(v->w);
}

static void put_told(const fl_view *v, const fl_climate_facts *facts)
{
    fl_json_begin_object(v->w, "told");
    fl_json_put_bool(v->w, "is_lamp_told", facts->is_lamp_told);
    fl_json_put_bool(v->w, "has_no_lamp", facts->has_no_lamp);
    put_lamp(v, "lamp", &facts->lamp);
    fl_put_text(v->w, "lid", facts->lid);
    fl_json_put_number(v->w, "length_mm", facts->length_mm);
    fl_json_put_number(v->w, "width_mm", facts->width_mm);
    fl_json_put_number(v->w, "mix_l", facts->mix_l);
    fl_json_put_number(v->w, "mat_watts", facts->mat_watts);
    fl_json_put_number(v->w, "light_lux", facts->light_lux);
    fl_json_put_number(v->w, "light_umol_m2_s", facts->light_umol_m2_s);
    bool has_reading = facts->light_lux > 0.0 || facts->light_umol_m2_s > 0.0;
    fl_put_on(v, "reading_on", has_reading ? facts->reading_s : INT64_MIN);
    fl_json_end(v->w);
}

/* ---- air and water ---- */

static void put_air(const fl_view *v, const fl_climate_place *p)
{
    const fl_air_days *d = &p->days;
    fl_json_begin_object(v->w, "air");
    fl_put_mask(v->w, "states", p->air_states, fl_words_air_state, FL_AIR_STATES);
    fl_json_put_int(v->w, "days", FL_AIR_DAYS);
    fl_json_put_int(v->w, "hours_temp", d->n_temp);
    fl_json_put_int(v->w, "hours_rh", d->n_rh);
    fl_json_put_number(v->w, "temp_mean_c", d->temp_mean_c);
    fl_json_put_number(v->w, "temp_min_c", d->temp_min_c);
    fl_json_put_number(v->w, "temp_max_c", d->temp_max_c);
    fl_json_put_number(v->w, "rh_mean_pct", d->rh_mean_pct);
    fl_json_put_number(v->w, "rh_min_pct", d->rh_min_pct);
    fl_json_put_number(v->w, "rh_max_pct", d->rh_max_pct);
    fl_json_put_number(v->w, "vpd_mean_kpa", d->vpd_mean_kpa);
    fl_json_put_number(v->w, "dew_point_c", d->dew_point_c);
    fl_json_put_number(v->w, "absolute_humidity_g_m3", d->absolute_humidity_g_m3);
    fl_json_put_number(v->w, "room_c", p->room_c);
    fl_json_put_bool(v->w, "is_lid_wet", p->is_lid_wet);
    fl_json_put_number(v->w, "warmer_than_room_k", p->warmer_k);
    fl_json_put_number(v->w, "want_temp_min_c", p->air_want.temp_min_c);
    fl_json_put_number(v->w, "want_temp_low_c", p->air_want.temp_opt_lo_c);
    fl_json_put_number(v->w, "want_temp_high_c", p->air_want.temp_opt_hi_c);
    fl_json_put_number(v->w, "want_rh_min_pct", p->air_want.rh_min_pct);
    int64_t last_h =
        p->series != NULL ? p->series->from_h + (int64_t)p->series->n_hours - 1 : INT64_MIN;
    fl_put_at(v->w, "last_reading_at", p->series != NULL ? last_h * FL_HOUR_S : INT64_MIN);
    fl_json_end(v->w);
}

static fl_sv say_water(const fl_climate_place *p, fl_arena *arena)
{
    const fl_climate_water *w = &p->water;
    if (isinf(w->days_low)) {
        return FL_SV("The room is the moister side: it does not dry. Feel the mix at each look: "
                     "water moves inside a closed bin.");
    }
    if (w->days_low > 365.0) {
        return FL_SV("By reckoning its water lasts longer than a year; if it asks for some every "
                     "week, it leaks. Feel the mix at each look: water moves inside a closed bin.");
    }
    fl_sv most =
        w->days_high > 365.0 ? FL_SV("longer than a year") : fl_say_days(w->days_high, arena);
    return fl_arena_printf(
        arena,
        "It asks for water after %.*s to %.*s by reckoning. Feel the mix at each "
        "look: water moves inside a closed bin.",
        FL_SV_ARG(fl_say_days(w->days_low, arena)), FL_SV_ARG(most));
}

static void put_water(const fl_view *v, const fl_climate_place *p)
{
    const fl_climate_water *w = &p->water;
    if (!w->is_known) {
        fl_json_put_null(v->w, "water");
        return;
    }
    fl_json_begin_object(v->w, "water");
    fl_json_put_number(v->w, "loss_low_g_per_day", w->loss_low_g_per_day);
    fl_json_put_number(v->w, "loss_high_g_per_day", w->loss_high_g_per_day);
    fl_json_put_number(v->w, "days_low", w->days_low);
    fl_json_put_number(v->w, "days_high", w->days_high);
    fl_json_put_number(v->w, "mix_l", w->mix_l);
    fl_json_put_bool(v->w, "is_mix_told", w->is_mix_told);
    fl_json_put_number(v->w, "first_low_ml", w->first_low_ml);
    fl_json_put_number(v->w, "first_high_ml", w->first_high_ml);
    fl_json_put_text(v->w, "text", say_water(p, v->arena));
    fl_json_end(v->w);
}

/* ---- a place ---- */

static void put_advice(const fl_view *v, const fl_climate_place *p)
{
    size_t n = 0;
    const fl_sv *list = fl_say_climate_advice(v, p, &n);
    fl_json_begin_array(v->w, "advice");
    for (size_t i = 0; i < n; i++) {
        fl_json_put_text(v->w, NULL, list[i]);
    }
    fl_json_end(v->w);
}

void fl_view_climate_place(const fl_view *v, const char *key, const fl_climate_place *p)
{
    fl_json_begin_object(v->w, key);
    fl_put_place_ref(v, "place", p->place->place);
    if (p->place->shelf >= 0) {
        fl_json_put_int(v->w, "shelf", p->place->shelf);
    } else {
        fl_json_put_null(v->w, "shelf");
    }
    fl_json_put_bool(v->w, "has_gasket", p->place->has_gasket);
    fl_json_put_cstr(v->w, "rank", rank_words[p->rank]);
    fl_json_put_cstr(v->w, "rank_text", rank_texts[p->rank]);
    fl_json_put_text(v->w, "text", fl_say_climate(p, v->arena));
    fl_put_mask(v->w, "light_states", p->light_states, fl_words_light_state, FL_LIGHT_STATES);
    put_light(v, p);
    put_air(v, p);
    put_water(v, p);
    put_told(v, &p->facts);
    fl_json_begin_array(v->w, "plants");
    for (size_t i = 0; i < p->n_plants; i++) {
        put_plant(v, &p->plants[i]);
    }
    fl_json_end(v->w);
    put_advice(v, p);
    fl_json_end(v->w);
}

/* ---- shelves ---- */

static void put_grid(const fl_view *v, const fl_climate_shelf *s)
{
    double most = 0.0;
    fl_json_begin_object(v->w, "grid");
    fl_json_put_number(v->w, "from_along_mm", s->grid.from_along_mm);
    fl_json_put_number(v->w, "to_along_mm", s->grid.to_along_mm);
    fl_json_put_number(v->w, "from_across_mm", s->grid.from_across_mm);
    fl_json_put_number(v->w, "to_across_mm", s->grid.to_across_mm);
    fl_json_begin_array(v->w, "rows_lux");
    for (int row = 0; row < s->grid.n_across; row++) {
        fl_json_begin_array(v->w, NULL);
        for (int column = 0; column < s->grid.n_along; column++) {
            double lux = s->lux[row * s->grid.n_along + column];
            most = fmax(most, lux);
            fl_json_put_int(v->w, NULL, llround(lux));
        }
        fl_json_end(v->w);
    }
    fl_json_end(v->w);
    fl_json_put_int(v->w, "most_lux", llround(most));
    fl_json_end(v->w);
}

static void put_shelf(const fl_view *v, const fl_climate_shelf *s)
{
    fl_json_begin_object(v->w, NULL);
    if (s->shelf >= 0) {
        fl_json_put_int(v->w, "shelf", s->shelf);
    } else {
        fl_json_put_null(v->w, "shelf");
    }
    put_lamp(v, "lamp", &s->lamp);
    put_grid(v, s);
    fl_json_begin_array(v->w, "places");
    for (size_t i = 0; i < s->n_places; i++) {
        const fl_climate_place *p = s->places[i];
        fl_json_begin_object(v->w, NULL);
        fl_put_place_ref(v, "place", p->place->place);
        fl_json_put_number(v->w, "along_mm", p->facts.lamp.along_mm);
        fl_json_put_number(v->w, "across_mm", p->facts.lamp.across_mm);
        fl_json_put_number(v->w, "length_mm",
                           p->facts.length_mm > 0.0 ? p->facts.length_mm : 400.0);
        fl_json_put_number(v->w, "width_mm", p->facts.width_mm > 0.0 ? p->facts.width_mm : 300.0);
        fl_json_put_number(v->w, "dli_mol_m2_d", p->light.dli_mol_m2_d);
        fl_json_end(v->w);
    }
    fl_json_end(v->w);
    fl_json_put_text(
        v->w, "text",
        fl_arena_printf(
            v->arena,
            "%lld strip%s of %.0f lm, %.0f cm long, %.0f cm above the leaves, %.1f hours "
            "a day. Without lids; the lids take their share.",
            (long long)s->lamp.count, s->lamp.count == 1 ? "" : "s", s->lamp.lumens,
            s->lamp.length_mm / 10.0, s->lamp.height_mm / 10.0, s->lamp.hours));
    fl_json_end(v->w);
}

/* ---- what the strip to start from gives ---- */

static void put_start(const fl_view *v)
{
    fl_climate_facts facts;
    fl_light_at light;
    fl_climate_facts_of(NULL, 0, (fl_id){{0}}, &facts);
    if (fl_climate_light(&facts, true, &light, NULL) != FL_OK) {
        fl_json_put_null(v->w, "start");
        return;
    }
    fl_json_begin_object(v->w, "start");
    put_lamp(v, "lamp", &facts.lamp);
    fl_json_put_number(v->w, "ppfd_umol_m2_s", light.ppfd_umol_m2_s);
    fl_json_put_number(v->w, "dli_mol_m2_d", light.dli_mol_m2_d);
    fl_json_put_text(
        v->w, "text",
        fl_arena_printf(
            v->arena,
            "To start from (common practice, no source): a 5000 K strip of %.0f lm, 120 cm long, "
            "30 cm above the leaves, six hours on and eighteen off. Under a closed lid that gives "
            "about %.0f \xC2\xB5mol m\xE2\x81\xBB\xC2\xB2 s\xE2\x81\xBB\xC2\xB9, %.1f mol a day: "
            "low; ferns, mosses and pothos live on it, most else wants eight to twelve hours.",
            FL_CLIMATE_LUMENS, light.ppfd_umol_m2_s, light.dli_mol_m2_d));
    fl_json_end(v->w);
}

static void put_short_days(const fl_view *v)
{
    fl_json_begin_array(v->w, "short_days");
    for (size_t i = 0; i < fl_climate_short_day_count(); i++) {
        fl_short_day one = fl_climate_short_day_at(i);
        const fl_threat *threat = fl_know_threat_find(fl_sv_from_cstr(one.threat));
        fl_json_begin_object(v->w, NULL);
        fl_json_put_cstr(v->w, "threat", one.threat);
        fl_json_put_cstr(v->w, "name", threat != NULL ? threat->name : one.threat);
        fl_json_put_number(v->w, "below_hours", one.below_hours);
        fl_json_put_number(v->w, "below_c", one.below_c);
        fl_json_put_cstr(v->w, "grade", one.grade);
        fl_json_put_text(
            v->w, "text",
            fl_arena_printf(v->arena,
                            "A day shorter than %.0f hours in a place below %.0f \xC2\xB0"
                            "C lets %s rest, unseen and without eggs (from memory): a quiet look "
                            "then says less. A warm bin, or %.0f hours of light, keeps it going.",
                            one.below_hours, one.below_c,
                            threat != NULL ? threat->name : one.threat, one.below_hours));
        fl_json_end(v->w);
    }
    fl_json_end(v->w);
}

/* ---- releases ---- */

static void put_recheck(const fl_view *v, const fl_recheck *r)
{
    fl_json_begin_object(v->w, NULL);
    fl_put_lot_ref(v, "lot", r->lot);
    fl_put_place_ref(v, "place", r->place->place);
    fl_put_on(v, "released_on", r->release->at_s);
    fl_put_place_ref(v, "bin", r->bin);
    fl_json_put_number(v->w, "colder_k", r->colder_c);
    fl_json_put_cstr(v->w, "use", fl_words_use[r->use].word);
    fl_json_put_number(v->w, "weighted_sum_then", r->sum_then);
    fl_json_put_number(v->w, "weighted_sum_now", r->sum_now);
    fl_json_put_number(v->w, "ceiling", r->ceiling);
    fl_json_put_cstr(v->w, "threat", r->worst->code);
    fl_json_put_cstr(v->w, "threat_name", r->worst->name);
    fl_json_put_number(v->w, "prob_threat", r->worst_chance);
    fl_json_put_bool(v->w, "is_occupied", r->is_occupied);
    fl_json_put_int(v->w, "n_looks", r->n_looks);
    fl_put_on(v, "under_on", r->under_s);
    fl_json_put_text(v->w, "text", fl_say_recheck(v, r));
    fl_json_begin_array(v->w, "proposals");
    fl_json_put_text(v->w, NULL,
                     fl_arena_printf(v->arena,
                                     "A careful look on each round, by eye and with a lens: leaf "
                                     "undersides, axils, the mix. %s",
                                     r->worst->look_where));
    if (r->is_night_look) {
        fl_json_put_text(v->w, NULL, FL_SV("One of them after dark, with a dim red light."));
    }
    if (r->is_occupied) {
        fl_json_put_text(
            v->w, NULL,
            FL_SV("Animals are in it: nothing is set up, sprayed or poured, nothing is "
                  "unpotted; what is seen is taken off by hand."));
    }
    fl_json_end(v->w);
    fl_json_end(v->w);
}

/* ---- all of it ---- */

void fl_view_climate(const fl_view *v, const char *key, const fl_climate *climate,
                     const fl_recheck *rechecks, size_t n_rechecks)
{
    int n_off = 0;
    fl_json_begin_object(v->w, key);
    fl_json_begin_array(v->w, "places");
    for (size_t i = 0; i < climate->n_places; i++) {
        n_off += climate->places[i].rank >= FL_CLIMATE_WATCH;
        fl_view_climate_place(v, NULL, &climate->places[i]);
    }
    fl_json_end(v->w);
    fl_json_put_int(v->w, "n_off", n_off);
    fl_json_put_text(v->w, "text",
                     n_off == 0   ? FL_SV("Nothing that was told or measured is off.")
                     : n_off == 1 ? FL_SV("One place is off.")
                                  : fl_arena_printf(v->arena, "%d places are off.", n_off));
    fl_json_begin_array(v->w, "shelves");
    for (size_t i = 0; i < climate->n_shelves; i++) {
        put_shelf(v, &climate->shelves[i]);
    }
    fl_json_end(v->w);
    put_start(v);
    put_short_days(v);
    fl_json_begin_array(v->w, "rechecks");
    for (size_t i = 0; i < n_rechecks; i++) {
        put_recheck(v, &rechecks[i]);
    }
    fl_json_end(v->w);
    fl_json_end(v->w);
}

/* ---- charts ---- */

/* Two decimals: a logger has no more. */
static double rounded(double value)
{
    return round(value * 100.0) / 100.0;
}

static void put_buckets(const fl_view *v, const char *key, const fl_view_chart *c, bool is_temp)
{
    static const char *const units[2] = {"rh_pct", "temp_c"};
    fl_bucket_value *values = FL_ARENA_ARRAY(v->arena, fl_bucket_value, c->n_points);
    const int64_t span[2] = {c->span.from_s, c->span.to_s};
    size_t n = fl_buckets_for(span, c->step_s);
    fl_bucket *buckets = FL_ARENA_ARRAY(v->arena, fl_bucket, n);
    for (size_t i = 0; i < c->n_points; i++) {
        values[i] = (fl_bucket_value){c->points[i].at_s,
                                      is_temp ? c->points[i].temp_c : c->points[i].rh_pct};
    }
    fl_buckets_fill(values, c->n_points, span, n, buckets);
    fl_json_begin_object(v->w, key);
    fl_json_put_cstr(v->w, "unit", units[is_temp]);
    fl_json_begin_array(v->w, "least");
    for (size_t i = 0; i < n; i++) {
        fl_json_put_number(v->w, NULL, rounded(buckets[i].least));
    }
    fl_json_end(v->w);
    fl_json_begin_array(v->w, "greatest");
    for (size_t i = 0; i < n; i++) {
        fl_json_put_number(v->w, NULL, rounded(buckets[i].greatest));
    }
    fl_json_end(v->w);
    fl_json_begin_array(v->w, "mean");
    for (size_t i = 0; i < n; i++) {
        fl_json_put_number(v->w, NULL, rounded(buckets[i].mean));
    }
    fl_json_end(v->w);
    fl_json_end(v->w);
}

static void put_band_of(const fl_view *v, const char *what, fl_sv text, double low, double high)
{
    if (isnan(low) && isnan(high)) {
        return;
    }
    fl_json_begin_object(v->w, NULL);
    fl_json_put_cstr(v->w, "what", what);
    fl_json_put_text(v->w, "text", text);
    fl_json_put_number(v->w, "low", low);
    fl_json_put_number(v->w, "high", high);
    fl_json_end(v->w);
}

/* Where the threats that are likeliest here develop: from the highest threshold of their stages to
 * the lowest limit above which they go no faster. */
static void put_pest_band(const fl_view *v, const fl_threat *threat)
{
    double low_c = -90.0;
    double high_c = 90.0;
    for (int i = 0; i + 1 < threat->n_stages; i++) {
        low_c = fmax(low_c, threat->slow.stage[i].threshold_c);
        high_c = fmin(high_c, threat->slow.stage[i].upper_c);
    }
    put_band_of(v, "pest",
                fl_arena_printf(v->arena,
                                "%s: develops above %.0f \xC2\xB0"
                                "C, no faster above %.0f",
                                threat->name, low_c, high_c),
                low_c, high_c);
}

#define PESTS_SHOWN 3

static void put_bands(const fl_view *v, const fl_climate_place *p)
{
    static const char *const usual[PESTS_SHOWN] = {"fungus_gnat", "western_flower_thrips",
                                                   "citrus_mealybug"};
    const fl_air_want *want = &p->air_want;
    fl_json_begin_array(v->w, "bands");
    put_band_of(v, "plants_temp_c", FL_SV("where all its plants do best"), want->temp_opt_lo_c,
                want->temp_opt_hi_c);
    put_band_of(v, "plants_rh_pct", FL_SV("damp enough for its most demanding plant"),
                want->rh_min_pct, 100.0);
    for (size_t i = 0; i < PESTS_SHOWN; i++) {
        const fl_threat *threat = fl_know_threat_find(fl_sv_from_cstr(usual[i]));
        if (threat != NULL && threat->n_stages > 1) {
            put_pest_band(v, threat);
        }
    }
    fl_json_end(v->w);
}

/* Least, greatest and time out of range of one series. */
static fl_sv say_series(const fl_view *v, const fl_view_chart *c, bool is_temp)
{
    double least = (double)NAN;
    double greatest = (double)NAN;
    size_t n = 0;
    size_t n_below = 0;
    size_t n_above = 0;
    double low = is_temp ? c->place->air_want.temp_opt_lo_c : c->place->air_want.rh_min_pct;
    double high = is_temp ? c->place->air_want.temp_opt_hi_c : (double)NAN;
    const char *unit = is_temp ? "\xC2\xB0"
                                 "C"
                               : "%";
    for (size_t i = 0; i < c->n_points; i++) {
        double value = is_temp ? c->points[i].temp_c : c->points[i].rh_pct;
        least = fmin(least, value);
        greatest = fmax(greatest, value);
        n += isnan(value) ? 0U : 1U;
        n_below += value < low ? 1U : 0U;
        n_above += value > high ? 1U : 0U;
    }
    if (n == 0) {
        return is_temp ? FL_SV("No temperatures of this time.")
                       : FL_SV("No humidities of this time.");
    }
    fl_sv outside = FL_SV("");
    if (!isnan(low) || !isnan(high)) {
        outside = fl_arena_printf(v->arena, "; %.0f %% of the readings below what the plants want",
                                  100.0 * (double)n_below / (double)n);
    }
    if (!isnan(high)) {
        outside = fl_arena_printf(v->arena, "%.*s, %.0f %% above", FL_SV_ARG(outside),
                                  100.0 * (double)n_above / (double)n);
    }
    return fl_arena_printf(v->arena, "%s from %.1f to %.1f %s%.*s.",
                           is_temp ? "Temperature" : "Humidity", least, greatest, unit,
                           FL_SV_ARG(outside));
}

void fl_view_readings_chart(const fl_view *v, const char *key, const fl_view_chart *chart)
{
    const int64_t span[2] = {chart->span.from_s, chart->span.to_s};
    size_t n = fl_buckets_for(span, chart->step_s);
    fl_json_begin_object(v->w, key);
    fl_put_place_ref(v, "place", chart->place->place->place);
    fl_put_at(v->w, "from_at", chart->span.from_s);
    fl_put_at(v->w, "to_at", chart->span.to_s);
    fl_json_put_int(v->w, "n_readings", (int64_t)chart->n_points);
    fl_json_put_number(v->w, "bucket_s",
                       (double)(chart->span.to_s - chart->span.from_s) / (double)n);
    put_buckets(v, "temp", chart, true);
    put_buckets(v, "rh", chart, false);
    put_bands(v, chart->place);
    fl_json_begin_array(v->w, "sentences");
    fl_json_put_text(v->w, NULL, say_series(v, chart, true));
    fl_json_put_text(v->w, NULL, say_series(v, chart, false));
    fl_json_end(v->w);
    fl_json_end(v->w);
}
