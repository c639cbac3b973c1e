/* Folds place_set events into what is known of a place's light, air and water. */
#include "core/climate/facts.h"

static bool tells_lamp(const fl_ev_place_set *set)
{
    return set->lamp.len > 0 || set->lamp_lumens > 0.0 || set->lamp_length_mm > 0.0 ||
           set->lamp_height_mm > 0.0 || set->lamp_hours > 0.0 || set->lamp_lux_per_umol > 0.0 ||
           set->lamp_watts > 0.0;
}

static double or_else(double told, double otherwise)
{
    return told > 0.0 ? told : otherwise;
}

static fl_climate_lamp lamp_of(const fl_ev_place_set *set)
{
    return (fl_climate_lamp){.code = set->lamp,
                             .lux_per_umol = set->lamp_lux_per_umol,
                             .lumens = or_else(set->lamp_lumens, FL_CLIMATE_LUMENS),
                             .length_mm = or_else(set->lamp_length_mm, FL_CLIMATE_STRIP_MM),
                             .height_mm = or_else(set->lamp_height_mm, FL_CLIMATE_HEIGHT_MM),
                             .along_mm = set->lamp_along_mm,
                             .across_mm = set->lamp_across_mm,
                             .count = set->lamp_count > 0 ? set->lamp_count : 1,
                             .spacing_mm = set->lamp_spacing_mm,
                             .hours = or_else(set->lamp_hours, FL_CLIMATE_HOURS),
                             .watts = set->lamp_watts};
}

static bool is_same_but_place(const fl_climate_facts *facts, const fl_climate_lamp *lamp)
{
    return facts->is_lamp_told && fl_climate_same_lamp(&facts->lamp, lamp) &&
           facts->lamp.along_mm == lamp->along_mm && facts->lamp.across_mm == lamp->across_mm;
}

static void take_lamp(const fl_ev_place_set *set, int64_t at_s, fl_climate_facts *facts)
{
    fl_climate_lamp lamp = lamp_of(set);
    bool has_none = fl_sv_eq_cstr(set->lamp, "none");
    bool is_news = has_none != facts->has_no_lamp || !is_same_but_place(facts, &lamp);
    facts->lamp = lamp;
    facts->has_no_lamp = has_none;
    facts->is_lamp_told = !has_none;
    if (is_news) { /* a reading under another lamp says nothing of this one */
        facts->lamp_s = at_s;
        facts->light_lux = facts->light_umol_m2_s = 0.0;
    }
}

static void take(const fl_ev_place_set *set, int64_t at_s, fl_climate_facts *facts)
{
    if (tells_lamp(set)) {
        take_lamp(set, at_s, facts);
    }
    if (set->light_lux > 0.0 || set->light_umol_m2_s > 0.0) {
        bool is_news =
            set->light_lux != facts->light_lux || set->light_umol_m2_s != facts->light_umol_m2_s;
        facts->light_lux = set->light_lux;
        facts->light_umol_m2_s = set->light_umol_m2_s;
        facts->reading_s = is_news ? at_s : facts->reading_s;
    }
    facts->lid = set->lid.len > 0 ? set->lid : facts->lid;
    facts->length_mm = or_else(set->length_mm, facts->length_mm);
    facts->width_mm = or_else(set->width_mm, facts->width_mm);
    facts->height_mm = or_else(set->height_mm, facts->height_mm);
    facts->rh_pct = or_else(set->rh_pct, facts->rh_pct);
    facts->mix_l = or_else(set->mix_l, facts->mix_l);
    facts->mat_watts = or_else(set->mat_watts, facts->mat_watts);
}

void fl_climate_facts_of(const fl_event *events, size_t n_events, fl_id place,
                         fl_climate_facts *out)
{
    const fl_ev_place_set nothing = {.shelf = -1};
    fl_climate_facts facts = {.lamp = lamp_of(&nothing), .lamp_s = INT64_MIN};
    for (size_t i = 0; i < n_events; i++) {
        const fl_event *event = &events[i];
        if (event->kind == FL_KIND_PLACE_SET && fl_id_eq(event->body.place_set.place, place)) {
            take(&event->body.place_set, event->at_s, &facts);
        }
    }
    *out = facts;
}

bool fl_climate_same_lamp(const fl_climate_lamp *a, const fl_climate_lamp *b)
{
    return fl_sv_eq(a->code, b->code) && a->lux_per_umol == b->lux_per_umol &&
           a->lumens == b->lumens && a->length_mm == b->length_mm && a->height_mm == b->height_mm &&
           a->count == b->count && a->spacing_mm == b->spacing_mm && a->hours == b->hours;
}
