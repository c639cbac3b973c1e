/* Gathers what the gate decides on: chances and forecast, guards, looks, steps, residues, and
 * where the lot has been. */
#include "app/gate.h"

#include <math.h>
#include <stdlib.h>

#include "app/past.h"
#include "app/plans.h"
#include "core/residue/residue.h"
#include "json/json.h"

/* ---- looks ---- */

static bool lists(const fl_id_list *list, fl_id id)
{
    for (size_t i = 0; i < list->count; i++) {
        if (fl_id_eq(list->ids[i], id)) {
            return true;
        }
    }
    return false;
}

/* True when the look was at this lot: it stood there, and was not left out. */
static bool looked_at(const fl_room *room, const fl_event *event, const fl_lot *lot)
{
    const fl_ev_look_done *look = &event->body.look_done;
    const fl_stay *stay = fl_meaning_stay_at(&room->meaning, lot->id, event->at_s);
    return stay != NULL && fl_id_eq(stay->place, look->place) &&
           (look->lots.count == 0 || lists(&look->lots, lot->id));
}

static bool found_nothing(const fl_room *room, const fl_event *event)
{
    for (size_t i = 0; i < room->meaning.n_findings; i++) {
        const fl_finding_now *f = &room->meaning.findings[i];
        if (fl_id_eq(f->look, event->id) && !f->is_retracted &&
            (f->threat.len == 0 || fl_know_threat_find(f->threat) != NULL)) {
            return false;
        }
    }
    return true;
}

static int64_t last_quiet_look(const fl_room *room, const fl_lot *lot)
{
    for (size_t i = room->n_events; i > 0; i--) {
        const fl_event *event = &room->events[i - 1];
        if (event->kind == FL_KIND_LOOK_DONE && event->at_s <= room->now_s &&
            looked_at(room, event, lot)) {
            return found_nothing(room, event) ? event->at_s : INT64_MIN;
        }
    }
    return INT64_MIN;
}

/* The looks at one lot, gathered once for all its threats. */
typedef struct lot_looks {
    fl_effort best;                  /* so far; the round's own when there was none */
    int64_t last_s[FL_EFFORT_COUNT]; /* the last at this effort or better; INT64_MIN */
} lot_looks;

static void gather_looks(const fl_room *room, const fl_lot *lot, lot_looks *out)
{
    lot_looks looks = {.best = room->round_effort};
    for (int effort = 0; effort < FL_EFFORT_COUNT; effort++) {
        looks.last_s[effort] = INT64_MIN;
    }
    for (size_t i = 0; i < room->n_events; i++) {
        const fl_event *event = &room->events[i];
        if (event->kind != FL_KIND_LOOK_DONE || !looked_at(room, event, lot)) {
            continue;
        }
        const fl_ev_look_done *look = &event->body.look_done;
        looks.best = look->effort > looks.best ? look->effort : looks.best;
        for (int effort = 0; effort <= (int)look->effort; effort++) {
            looks.last_s[effort] = event->at_s; /* in order of time */
        }
    }
    *out = looks;
}

/* ---- threats and guards ---- */

/* The first round day ahead on which looks at this effort would meet the guard; NEVER. */
static fl_status guard_date(fl_chances *chances, const fl_lot *lot, const fl_forecast *forecast,
                            fl_effort effort, fl_gate_threat *t, fl_err *err)
{
    double share[FL_FORECAST_LOOKS];
    t->guard_s = FL_GATE_NEVER;
    t->guard_effort = effort;
    if (forecast->n == 0) {
        return FL_OK; /* no dates are asked for */
    }
    fl_status status = fl_chances_guard(chances, lot, t->threat, effort, &forecast->at_s[1],
                                        forecast->n, share, err);
    for (int k = 0; k < forecast->n && status == FL_OK; k++) {
        if (share[k] >= FL_GATE_GUARD_SHARE) {
            t->guard_s = forecast->at_s[k + 1];
            break;
        }
    }
    return status;
}

/* The guard now, by the looks that were done, and the round day on which it will be met: at the
 * effort of the looks so far, or else, for what lives in the mix, by a look at the roots. */
static fl_status ask_guard(fl_chances *chances, const fl_gate_report *r, const lot_looks *looks,
                           fl_gate_threat *t, fl_err *err)
{
    const fl_lot *lot = r->lot;
    const fl_forecast *forecast = &r->forecast;
    double share = 0.0;
    fl_effort best = looks->best;
    fl_status status = FL_OK;
    t->guard_share = 0.0;
    /* A look at the roots sees more than a careful one; each effort has its own last look. */
    for (int effort = 0; effort <= (int)best && status == FL_OK; effort++) {
        int64_t at_s = looks->last_s[effort];
        if (at_s == INT64_MIN) {
            continue;
        }
        status =
            fl_chances_guard(chances, lot, t->threat, (fl_effort)effort, &at_s, 1, &share, err);
        t->guard_share = fmax(t->guard_share, status == FL_OK ? share : 0.0);
    }
    if (status == FL_OK) {
        status = guard_date(chances, lot, forecast, best, t, err);
    }
    if (status == FL_OK && t->guard_s == FL_GATE_NEVER && best != FL_EFFORT_ROOTS) {
        status = guard_date(chances, lot, forecast, FL_EFFORT_ROOTS, t, err);
    }
    return status;
}

static double largest_weight(const fl_threat *threat, unsigned uses)
{
    double largest = 0.0;
    for (int use = 0; use < FL_USE_COUNT; use++) {
        if ((uses & (1U << use)) != 0) {
            largest = fmax(largest, threat->weight[use]);
        }
    }
    return largest;
}

static fl_status gather_threats(fl_chances *chances, const fl_room *room, fl_gate_report *r,
                                fl_arena *arena, fl_err *err)
{
    size_t n = 0;
    fl_lot_chance *all = FL_ARENA_ARRAY(arena, fl_lot_chance, fl_know_threat_count());
    fl_status status = fl_chances_of_lot(chances, r->lot, all, &n, err);
    lot_looks looks;
    gather_looks(room, r->lot, &looks);
    r->threats = FL_ARENA_ARRAY(arena, fl_gate_threat, fl_know_threat_count());
    r->n_threats = n;
    for (size_t i = 0; i < n && status == FL_OK; i++) {
        fl_gate_threat *t = &r->threats[i];
        *t = (fl_gate_threat){.threat = all[i].threat,
                              .chance = all[i].chance,
                              .least = all[i].least,
                              .most = all[i].most,
                              .prior = all[i].prior,
                              .guard_share = 1.0,
                              .guard_s = room->now_s,
                              .guard_effort = room->round_effort};
        if (!t->threat->is_out_of_reach &&
            largest_weight(t->threat, r->uses) * t->prior >= FL_GATE_GUARD_FROM) {
            status = ask_guard(chances, r, &looks, t, err);
        }
    }
    return status;
}

static void first_dates(const fl_room *room, const fl_forecast *f, fl_use use, fl_gate_dates *out)
{
    double ceiling = fl_know_use_of(use).ceiling;
    *out = (fl_gate_dates){f->sum[use][0], FL_GATE_NEVER, FL_GATE_NEVER};
    for (int k = f->n; k >= 0; k--) {
        int64_t at_s = k == 0 ? room->now_s : f->at_s[k];
        if (f->sum[use][k] <= ceiling) {
            out->all_s = at_s;
        }
        if (f->sum_quick[use][k] <= ceiling) {
            out->quick_s = at_s;
        }
    }
}

/* ---- residues ---- */

#define SPRAYS_MAX 16

static bool has_new_growth(const fl_room *room, const fl_lot *lot)
{
    for (size_t i = 0; i < room->n_events; i++) {
        if (room->events[i].kind == FL_KIND_LOOK_DONE &&
            room->events[i].body.look_done.has_new_growth &&
            looked_at(room, &room->events[i], lot)) {
            return true;
        }
    }
    return false;
}

/* A tip cut from a mother that had grown here for this long is growth made here (assumed). */
#define MOTHER_GROWN_D 60

static bool is_new_growth(const fl_room *room, const fl_lot *lot)
{
    const fl_lot *mother =
        fl_id_is_none(lot->mother) ? NULL : fl_meaning_lot(&room->meaning, lot->mother);
    return mother != NULL && lot->origin == FL_KIND_LOT_CUT &&
           lot->form == FL_FORM_UNROOTED_CUTTING &&
           lot->born_s - mother->born_s >= MOTHER_GROWN_D * (int64_t)FL_DAY_S;
}

/* The last trial of residues in a place while the lot stood there; one that was lived through
 * counts
 * when it was long enough. */
static fl_residue_trial last_trial(const fl_room *room, const fl_lot *lot)
{
    fl_residue_trial last = FL_TRIAL_NONE;
    for (size_t i = 0; i < room->n_events && room->events[i].at_s <= room->now_s; i++) {
        const fl_event *event = &room->events[i];
        const fl_ev_animal_noted *noted = &event->body.animal_noted;
        if (event->kind != FL_KIND_ANIMAL_NOTED ||
            (noted->what != FL_ANIMAL_TRIAL_LIVED && noted->what != FL_ANIMAL_TRIAL_DIED)) {
            continue;
        }
        const fl_stay *stay = fl_meaning_stay_at(&room->meaning, lot->id, event->at_s);
        if (stay == NULL || !fl_id_eq(stay->place, noted->place)) {
            continue;
        }
        int64_t began_s = noted->sampled_s > stay->from_s ? noted->sampled_s : stay->from_s;
        double days = (double)(event->at_s - began_s) / FL_DAY_S;
        if (noted->what == FL_ANIMAL_TRIAL_DIED) {
            last = FL_TRIAL_DIED;
        } else if (days >= FL_RESIDUE_TRIAL_DAYS) {
            last = FL_TRIAL_LIVED;
        }
    }
    return last;
}

static void judge_residue(const fl_room *room, fl_gate_report *r, fl_use *strictest)
{
    fl_residue_spray sprays[SPRAYS_MAX + 1];
    const fl_lot *lot = r->lot;
    const fl_lot *origin = fl_room_origin_of(room, lot);
    const fl_ev_source_set *source = fl_defs_source(&room->defs, origin->source);
    double days_here = fmax(0.0, (double)(room->now_s - origin->born_s) / FL_DAY_S);
    fl_residue_case c = {.form = origin == lot ? lot->form : origin->form,
                         .days_since = days_here,
                         .has_new_growth = has_new_growth(room, lot),
                         .is_only_new_growth = is_new_growth(room, lot),
                         .trial = last_trial(room, lot),
                         .sprays = sprays};
    /* What has been here for years has outlived what a shop put on it; so has one's own stock. */
    c.is_line_clean = origin->origin == FL_KIND_LOT_ALREADY_HERE ||
                      (source != NULL && source->kind == FL_SOURCE_OWN_STOCK);
    c.n_sprays = fl_past_sprays(room, lot, sprays, SPRAYS_MAX);
    if (origin->label_active.len > 0) {
        c.label = FL_LABEL_NAMES_ACTIVE;
        sprays[c.n_sprays++] =
            (fl_residue_spray){.active = origin->label_active, .days_since = days_here};
    } else if (origin->is_label_clean) {
        c.label = FL_LABEL_SAYS_CLEAN;
    }
    bool is_first = true;
    for (int use = 0; use < FL_USE_COUNT; use++) {
        if ((r->uses & (1U << use)) == 0) {
            continue;
        }
        c.use = (fl_use)use;
        fl_residue_verdict verdict = fl_residue_judge(&c);
        bool is_worse =
            !verdict.is_ok_for_use &&
            (r->residue.is_ok_for_use || isnan(verdict.wait_days) ||
             (!isnan(r->residue.wait_days) && verdict.wait_days > r->residue.wait_days));
        if (is_first || is_worse) {
            r->residue = verdict;
            *strictest = (fl_use)use;
        }
        is_first = false;
    }
}

fl_residue_verdict fl_gate_residue(const fl_room *room, const fl_lot *lot, unsigned uses)
{
    fl_gate_report r = {.lot = lot, .uses = uses != 0 ? uses : 1U << lot->use};
    fl_use strictest = lot->use;
    judge_residue(room, &r, &strictest);
    return r.residue;
}

/* ---- asking ---- */

/* The largest weight x chance first. */
static void sort_threats(fl_gate_report *r)
{
    for (size_t i = 1; i < r->n_threats; i++) {
        fl_gate_threat kept = r->threats[i];
        double harm = largest_weight(kept.threat, r->uses) * kept.chance;
        size_t k = i;
        while (k > 0 &&
               largest_weight(r->threats[k - 1].threat, r->uses) * r->threats[k - 1].chance <
                   harm) {
            r->threats[k] = r->threats[k - 1];
            k--;
        }
        r->threats[k] = kept;
    }
}

/* A lot of plants that was bought: these are what teaches (app/learn.c). */
static bool is_bought(const fl_lot *lot)
{
    return lot->origin == FL_KIND_LOT_ARRIVED && !fl_form_is_material(lot->form);
}

/* Lots of one purchase side by side. */
static int compare_purchases(const void *a, const void *b)
{
    const fl_lot *x = *(const fl_lot *const *)a;
    const fl_lot *y = *(const fl_lot *const *)b;
    const int by_arrival = fl_id_compare(x->arrival, y->arrival);
    return by_arrival != 0 ? by_arrival : fl_id_compare(x->source, y->source);
}

int fl_gate_own_purchases(const fl_room *room)
{
    fl_arena arena;
    fl_arena_init(&arena);
    const fl_lot **bought = FL_ARENA_ARRAY(&arena, const fl_lot *, room->meaning.n_lots + 1);
    size_t n = 0;
    int count = 0;
    for (size_t i = 0; i < room->meaning.n_lots; i++) {
        if (is_bought(&room->meaning.lots[i])) {
            bought[n++] = &room->meaning.lots[i];
        }
    }
    if (n > 1) {
        qsort(bought, n, sizeof bought[0], compare_purchases);
    }
    for (size_t i = 0; i < n; i++) {
        count += i == 0 || compare_purchases(&bought[i - 1], &bought[i]) != 0;
    }
    fl_arena_done(&arena);
    return count;
}

/* Gathers and decides, with the forecast that the report holds: without one (n 0) what is not met
 * by the chances has no date. */
static fl_status ask(fl_chances *chances, const fl_room *room, fl_arena *arena, fl_gate_report *out,
                     fl_err *err)
{
    fl_gate_report r = *out;
    const fl_lot *lot = r.lot;
    fl_prep_plan plan;
    fl_gate_input in = {.now_s = room->now_s};
    const fl_status status = gather_threats(chances, room, &r, arena, err);
    if (status != FL_OK) {
        return status;
    }
    sort_threats(&r);
    r.last_way_in_s = fl_chances_last_way_in(chances, lot);
    r.last_look_s = last_quiet_look(room, lot);
    judge_residue(room, &r, &in.residue_use);
    fl_past_animals(room, lot, &r.pathogen);
    fl_plan_for_lot(room, lot, &plan);
    in.uses = r.uses;
    in.today_end_s = fl_civil_day_end(room->now_s, room->tz_offset_min);
    in.last_way_in_s = r.last_way_in_s;
    in.last_look_s = r.last_look_s;
    in.next_round_s = r.forecast.at_s[1];
    in.is_held = fl_meaning_is_held(&room->meaning, lot->place, room->now_s);
    in.threats = r.threats;
    in.n_threats = r.n_threats;
    for (int use = 0; use < FL_USE_COUNT; use++) {
        first_dates(room, &r.forecast, (fl_use)use, &in.dates[use]);
    }
    bool needs_steps = fl_room_unsplit(room, lot)->origin == FL_KIND_LOT_ARRIVED;
    in.steps_needed = needs_steps ? fl_prep_called_for(&plan) : 0;
    in.steps_done = fl_steps_done(room, lot);
    in.asks_prills = needs_steps && (lot->form == FL_FORM_POTTED || lot->form == FL_FORM_PLUG);
    in.prills = fl_steps_prills(room, lot);
    in.chlorine = fl_steps_chlorine(room, lot);
    in.residue = r.residue;
    in.pathogen = r.pathogen;
    fl_gate_decide(&in, &r.answer);
    r.ceiling = r.answer.ceiling;
    *out = r;
    return FL_OK;
}

static fl_status refuse_gone(const fl_room *room, const fl_lot *lot, fl_err *err)
{
    return lot->is_gone
               ? fl_fail(err, FL_EINVAL, "lot \"%.*s\" is gone: nothing is left to release",
                         FL_SV_ARG(fl_room_lot_name(room, lot)))
               : FL_OK;
}

fl_status fl_gate_ask(fl_chances *chances, const fl_room *room, const fl_lot *lot, unsigned uses,
                      fl_arena *arena, fl_gate_report *out, fl_err *err)
{
    fl_gate_report r = {.lot = lot, .uses = uses != 0 ? uses : 1U << lot->use};
    fl_status status = refuse_gone(room, lot, err);
    if (status == FL_OK) {
        status = fl_chances_forecast(chances, lot, &r.forecast, err);
    }
    if (status == FL_OK) {
        status = ask(chances, room, arena, &r, err);
    }
    if (status == FL_OK) {
        r.is_mostly_judgement = fl_gate_own_purchases(room) < FL_OWN_PURCHASES;
        *out = r;
    }
    return status;
}

fl_status fl_gate_ask_now(fl_chances *chances, const fl_room *room, const fl_lot *lot,
                          unsigned uses, fl_arena *arena, fl_gate_now *out, fl_err *err)
{
    fl_gate_report r = {.lot = lot, .uses = uses != 0 ? uses : 1U << lot->use};
    fl_status status = refuse_gone(room, lot, err);
    if (status == FL_OK) {
        status = ask(chances, room, arena, &r, err);
    }
    if (status != FL_OK) {
        return status;
    }
    fl_gate_now now = {.sum = r.answer.sum,
                       .ceiling = r.answer.ceiling,
                       .waits_for_look_only = fl_gate_waits_for_look_only(&r.answer),
                       .not_before_s = room->now_s};
    for (int i = 0; i < FL_CONDITION_COUNT; i++) {
        const fl_condition *c = &r.answer.conditions[i];
        const bool is_undated = i == FL_CONDITION_CHANCE || i == FL_CONDITION_GUARD;
        now.waits_for_round = now.waits_for_round || (is_undated && !c->is_met);
        if (!is_undated && c->earliest_s > now.not_before_s) {
            now.not_before_s = c->earliest_s;
        }
    }
    *out = now;
    return FL_OK;
}

unsigned fl_gate_uses_of_place(const fl_ev_place_set *place)
{
    if (place->kind == FL_PLACE_ENCLOSURE) {
        return place->uses != 0 ? place->uses : 1U << FL_USE_PLANTS_ONLY;
    }
    /* A bin that is not an enclosure takes what is released into it as stock. */
    return place->uses != 0 ? place->uses : 1U << FL_USE_STOCK;
}

/* ---- the place's total and the room's pace ---- */

fl_status fl_gate_place_total(fl_chances *chances, const fl_room *room, fl_id place,
                              fl_place_total *out, fl_err *err)
{
    fl_arena arena;
    fl_place_total total = {0};
    const fl_ev_place_set *set = fl_defs_place(&room->defs, place);
    unsigned uses = set != NULL ? fl_gate_uses_of_place(set) : 1U << FL_USE_PLANTS_ONLY;
    fl_status status = FL_OK;
    fl_arena_init(&arena);
    size_t n_threats = fl_know_threat_count();
    double *quiet = FL_ARENA_ARRAY(&arena, double, n_threats);
    double *mobile = FL_ARENA_ARRAY(&arena, double, n_threats);
    fl_lot_chance *chance = FL_ARENA_ARRAY(&arena, fl_lot_chance, n_threats);
    for (size_t i = 0; i < n_threats; i++) {
        quiet[i] = 1.0;
    }
    for (size_t i = 0; i < room->meaning.n_lots && status == FL_OK; i++) {
        const fl_lot *lot = &room->meaning.lots[i];
        size_t n = 0;
        if (lot->is_gone || !fl_id_eq(lot->place, place)) {
            continue;
        }
        status = fl_chances_of_lot(chances, lot, chance, &n, err);
        for (size_t k = 0; k < n && status == FL_OK; k++) {
            for (size_t t = 0; t < n_threats; t++) {
                if (fl_know_threat(t) != chance[k].threat || chance[k].is_out_of_reach) {
                    continue;
                }
                /* A mobile pest is one question for the whole place; others are asked by lot. */
                if (chance[k].threat->is_mobile) {
                    mobile[t] = fmax(mobile[t], chance[k].chance);
                } else {
                    quiet[t] *= 1.0 - chance[k].chance;
                }
            }
        }
    }
    double none = 1.0;
    for (size_t t = 0; t < n_threats; t++) {
        double there = 1.0 - quiet[t] * (1.0 - mobile[t]);
        none *= 1.0 - there;
        total.sum += largest_weight(fl_know_threat(t), uses) * there;
        if (there > total.worst_chance) {
            total.worst = fl_know_threat(t);
            total.worst_chance = there;
        }
    }
    total.any = 1.0 - none;
    fl_arena_done(&arena);
    if (status == FL_OK) {
        *out = total;
    }
    return status;
}

/* The frozen answers carry the sum they were given with; false without one. */
static bool frozen_sum(fl_sv answer_json, double *sum)
{
    fl_json_doc *doc = NULL;
    if (answer_json.len == 0 || fl_json_parse(answer_json, &doc, NULL) != FL_OK) {
        return false;
    }
    bool has_sum = fl_json_number(fl_json_get(fl_json_root(doc), "weighted_sum"), sum);
    fl_json_free(doc);
    return has_sum;
}

void fl_gate_pace(const fl_room *room, fl_pace *out)
{
    *out = (fl_pace){.years_per_bad = HUGE_VAL};
    for (size_t i = 0; i < room->n_events; i++) {
        const fl_event *event = &room->events[i];
        double sum = 0.0;
        if (event->kind != FL_KIND_LOT_RELEASED ||
            event->at_s <= room->now_s - 365 * (int64_t)FL_DAY_S) {
            continue;
        }
        out->n_releases++;
        if (frozen_sum(event->body.lot_released.answer_json, &sum)) {
            out->n_answered++;
            out->expected_bad += sum;
        }
    }
    if (out->expected_bad > 0.0) {
        out->years_per_bad = 1.0 / out->expected_bad;
    }
}
