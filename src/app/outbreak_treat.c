/* Treatments that fit the pest and the plant, and what lives through each. Never called for an
 * occupied enclosure, for a stowaway animal or for a disease. */
#include <math.h>
#include <string.h>

#include "app/outbreak_caution.h"
#include "app/outbreak_work.h"
#include "core/dip/advice.h"

#define STEPS_MAX 4
/* What lives through is told apart from what is only thinned out. */
#define MOSTLY_GONE 0.2

typedef struct treatment {
    const char *what; /* "Strip off the old mix, rinse, pot up in fresh mix" */
    fl_step step[STEPS_MAX];
    fl_agent agent[STEPS_MAX];
    int n_steps;
    double temp_c, minutes; /* of hot water */
    fl_agent cautions_of;
} treatment;

/* ---- the plant ---- */

static fl_delicacy delicacy_of(const fl_outbreak_work *w, const fl_lot *lot)
{
    const fl_know_plant *row = fl_room_plant_row(w->room, lot);
    const fl_ev_plant_set *plant = fl_defs_plant(&w->room->defs, lot->plant);
    if (plant != NULL && plant->is_delicate) {
        return FL_DELICACY_HIGH;
    }
    return row != NULL ? fl_delicacy_of(fl_sv_from_cstr(row->delicate_flag)) : FL_DELICACY_NONE;
}

static bool is_ruined_by_rinse(const fl_outbreak_work *w, const fl_lot *lot)
{
    const fl_know_plant *row = fl_room_plant_row(w->room, lot);
    return lot->form == FL_FORM_MOSS_CLUMP || delicacy_of(w, lot) == FL_DELICACY_HIGH ||
           (row != NULL && row->is_ruined_by_rinse);
}

static bool stands_hot_water(const fl_outbreak_work *w, const fl_lot *lot, double temp_c,
                             double minutes)
{
    fl_err ignored = {0};
    const fl_know_plant *row = fl_room_plant_row(w->room, lot);
    fl_sv family = row != NULL ? fl_sv_from_cstr(row->family) : FL_SV("");
    return fl_dip_plant_risk(FL_AGENT_HOT_WATER, lot->form, delicacy_of(w, lot), NULL) <
               FL_PLANT_RISK_HIGH &&
           fl_dip_hot_water_check(family, delicacy_of(w, lot), temp_c, minutes, &ignored) == FL_OK;
}

static bool fits(const fl_outbreak_work *w, const treatment *t, const fl_lot *lot)
{
    if (fl_form_is_material(lot->form)) {
        return false; /* material has its own: heat, or the bin */
    }
    for (int i = 0; i < t->n_steps; i++) {
        bool is_washed = t->step[i] == FL_STEP_STRIP || t->step[i] == FL_STEP_RINSE;
        if (is_washed && is_ruined_by_rinse(w, lot)) {
            return false;
        }
        if (t->agent[i] == FL_AGENT_HOT_WATER && !stands_hot_water(w, lot, t->temp_c, t->minutes)) {
            return false;
        }
        if (t->agent[i] == FL_AGENT_SOAP &&
            fl_dip_plant_risk(FL_AGENT_SOAP, lot->form, delicacy_of(w, lot), NULL) >=
                FL_PLANT_RISK_HIGH) {
            return false;
        }
    }
    return true;
}

/* ---- the pest ---- */

static double survival(const fl_threat *threat, int stage, const treatment *t)
{
    double lives = 1.0;
    for (int i = 0; i < t->n_steps; i++) {
        lives *= fl_know_survival_of(threat, stage, t->step[i], t->agent[i]).survival;
    }
    return lives;
}

static bool does_anything(const fl_threat *threat, const treatment *t)
{
    for (int s = 0; s < threat->n_stages; s++) {
        if (survival(threat, s, t) < 1.0) {
            return true;
        }
    }
    return false;
}

static fl_sv stages_between(const fl_outbreak_work *w, const treatment *t, double low, double high)
{
    fl_sv list = FL_SV("");
    for (int s = 0; s < w->threat->n_stages; s++) {
        double lives = survival(w->threat, s, t);
        if (lives >= low && lives < high) {
            list = fl_arena_printf(w->arena, "%.*s%s%s", FL_SV_ARG(list), list.len > 0 ? ", " : "",
                                   w->threat->stage[s].name);
        }
    }
    return list;
}

static fl_sv what_lives(const fl_outbreak_work *w, const treatment *t)
{
    fl_sv all = stages_between(w, t, 1.0, 1.1);
    fl_sv part = stages_between(w, t, MOSTLY_GONE, 1.0);
    if (all.len > 0 && part.len > 0) {
        return fl_arena_printf(w->arena, "Lives through it: %.*s. Only thinned out: %.*s.",
                               FL_SV_ARG(all), FL_SV_ARG(part));
    }
    if (all.len > 0) {
        return fl_arena_printf(w->arena, "Lives through it: %.*s.", FL_SV_ARG(all));
    }
    if (part.len > 0) {
        return fl_arena_printf(w->arena, "Only thinned out: %.*s.", FL_SV_ARG(part));
    }
    return FL_SV("Few live through it, but never count on none.");
}

/* ---- proposing ---- */

static fl_sv names_of(const fl_outbreak_work *w, const fl_lot *const *lots, size_t n)
{
    fl_sv list = FL_SV("");
    for (size_t i = 0; i < n; i++) {
        const char *between = i == 0 ? "" : i + 1 == n ? " and " : ", ";
        list = fl_arena_printf(w->arena, "%.*s%s%.*s", FL_SV_ARG(list), between,
                               FL_SV_ARG(fl_outbreak_lot_name(w, lots[i])));
    }
    return list;
}

static void record_steps(const fl_outbreak_work *w, fl_proposal *p, const treatment *t,
                         const fl_lot *const *lots, size_t n)
{
    fl_ev_step *steps = FL_ARENA_ARRAY(w->arena, fl_ev_step, (size_t)t->n_steps);
    fl_id *ids = FL_ARENA_ARRAY(w->arena, fl_id, n);
    for (size_t i = 0; i < n; i++) {
        ids[i] = lots[i]->id;
    }
    for (int i = 0; i < t->n_steps; i++) {
        bool is_hot = t->agent[i] == FL_AGENT_HOT_WATER;
        steps[i] = (fl_ev_step){.lots = {ids, n},
                                .step = t->step[i],
                                .agent = t->agent[i],
                                .dose_mg_per_l = (double)NAN,
                                .pct = (double)NAN,
                                .temp_c = is_hot ? t->temp_c : (double)NAN,
                                .minutes = is_hot ? t->minutes : (double)NAN};
    }
    fl_event *event = fl_outbreak_event(w, p, FL_KIND_STEP_DONE);
    event->body.step_done = (fl_ev_step_done){.steps = steps, .n_steps = (size_t)t->n_steps};
}

static void propose(fl_outbreak_work *w, const treatment *t, const fl_lot *const *lots, size_t n)
{
    const fl_lot **fitting = FL_ARENA_ARRAY(w->arena, const fl_lot *, n + 1);
    const fl_lot **others = FL_ARENA_ARRAY(w->arena, const fl_lot *, n + 1);
    size_t n_fitting = 0;
    size_t n_others = 0;
    for (size_t i = 0; i < n; i++) {
        if (fits(w, t, lots[i])) {
            fitting[n_fitting++] = lots[i];
        } else {
            others[n_others++] = lots[i];
        }
    }
    if (n_fitting == 0 || !does_anything(w->threat, t)) {
        return;
    }
    fl_proposal *p = fl_outbreak_propose(w, FL_PROPOSE_TREAT);
    if (p == NULL) {
        return;
    }
    p->place = w->place_id;
    p->lot = fitting[0]->id;
    p->text =
        fl_arena_printf(w->arena, "%s: %.*s.", t->what, FL_SV_ARG(names_of(w, fitting, n_fitting)));
    if (n_others > 0) {
        p->why = fl_arena_printf(w->arena, "Not for %.*s, which would not stand it.",
                                 FL_SV_ARG(names_of(w, others, n_others)));
    }
    p->not_reached = what_lives(w, t);
    const char **cautions = FL_ARENA_ARRAY(w->arena, const char *, FL_OUTBREAK_CAUTIONS_MAX);
    p->n_cautions = fl_outbreak_cautions(t->cautions_of, cautions);
    p->cautions = cautions;
    record_steps(w, p, t, fitting, n_fitting);
}

/* The mildest published bath that counts for this pest and that potted plants were tried at. */
static bool hot_bath(const fl_threat *threat, double *temp_c, double *minutes)
{
    static const double temps[] = {43.0, 44.0, 45.0, 46.0, 47.0, 48.0, 49.0};
    static const double times[] = {5.0, 7.0, 10.0, 12.0, 15.0};
    for (size_t t = 0; t < sizeof temps / sizeof temps[0]; t++) {
        for (size_t m = 0; m < sizeof times / sizeof times[0]; m++) {
            if (fl_know_hot_water_counts(threat, temps[t], times[m])) {
                *temp_c = temps[t];
                *minutes = times[m];
                return true;
            }
        }
    }
    return false;
}

static void propose_wash(fl_outbreak_work *w, const fl_lot *const *lots, size_t n)
{
    const treatment strip = {.what = "Strip off the old mix, rinse, pot up in fresh mix",
                             .step = {FL_STEP_STRIP, FL_STEP_RINSE, FL_STEP_POT_UP},
                             .agent = {FL_AGENT_NONE, FL_AGENT_NONE, FL_AGENT_NONE},
                             .n_steps = 3};
    const treatment rinse = {.what = "Rinse under running water, leaf undersides and axils first",
                             .step = {FL_STEP_RINSE},
                             .agent = {FL_AGENT_NONE},
                             .n_steps = 1};
    const treatment only_strip = {.step = {FL_STEP_STRIP}, .n_steps = 1};
    propose(w, does_anything(w->threat, &only_strip) ? &strip : &rinse, lots, n);
}

static void propose_heat_material(fl_outbreak_work *w, const fl_lot *const *lots, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        bool is_mix = lots[i]->form == FL_FORM_MIX_BAGGED || lots[i]->form == FL_FORM_MIX_OPEN;
        bool is_boiled = lots[i]->form == FL_FORM_LEAF_LITTER || lots[i]->form == FL_FORM_WOOD;
        if (!is_mix && !is_boiled) {
            continue;
        }
        const treatment heat = {.step = {is_mix ? FL_STEP_BAKE : FL_STEP_BOIL}, .n_steps = 1};
        fl_proposal *p = fl_outbreak_propose(w, FL_PROPOSE_TREAT);
        if (p == NULL) {
            return;
        }
        p->lot = lots[i]->id;
        p->place = w->place_id;
        p->text =
            fl_arena_printf(w->arena, "%s the %.*s through, or throw it out.",
                            is_mix ? "Bake" : "Boil", FL_SV_ARG(fl_outbreak_lot_name(w, lots[i])));
        p->why = FL_SV("Material can be heated; plants and cultures cannot.");
        p->not_reached = what_lives(w, &heat);
        record_steps(w, p, &heat, &lots[i], 1);
    }
}

void fl_outbreak_treatments(fl_outbreak_work *w)
{
    const fl_lot **lots = NULL;
    size_t n = fl_outbreak_lots_there(w, &lots);
    treatment hot = {.step = {FL_STEP_DIP},
                     .agent = {FL_AGENT_HOT_WATER},
                     .n_steps = 1,
                     .cautions_of = FL_AGENT_HOT_WATER};
    const treatment soap = {.what = "Dip or spray with insecticidal soap, as its label says, and "
                                    "rinse it off",
                            .step = {FL_STEP_DIP, FL_STEP_RINSE},
                            .agent = {FL_AGENT_SOAP, FL_AGENT_NONE},
                            .n_steps = 2,
                            .cautions_of = FL_AGENT_SOAP};
    if (n == 0) {
        return;
    }
    propose_wash(w, lots, n);
    const treatment only_soap = {.step = {FL_STEP_DIP}, .agent = {FL_AGENT_SOAP}, .n_steps = 1};
    if (does_anything(w->threat, &only_soap)) {
        propose(w, &soap, lots, n);
    }
    if (hot_bath(w->threat, &hot.temp_c, &hot.minutes)) {
        hot.what =
            fl_arena_printf(w->arena, "Dip in water of %g C for %g minutes, by a thermometer",
                            hot.temp_c, hot.minutes)
                .ptr;
        propose(w, &hot, lots, n);
    }
    propose_heat_material(w, lots, n);
}
