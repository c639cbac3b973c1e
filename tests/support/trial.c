/* The rounds of a trial, each asked after its look. */
#include "support/trial.h"

#include <math.h>
#include <stdio.h>

#define NO_ID ((fl_id){{0}})

fl_trial fl_trial_usual(void)
{
    return (fl_trial){.source = FL_SOURCE_CHAIN_STORE,
                      .form = FL_FORM_POTTED,
                      .temp_c = 23.0,
                      .effort = FL_EFFORT_CAREFUL,
                      .devices = 1U << FL_DEVICE_YELLOW_CARD,
                      .every_days = 7,
                      .until_day = FL_TRIAL_DAYS,
                      .is_washed = true};
}

/* The steps that the plan calls for, each in water of its own. */
static void wash(fl_keeper *k, fl_id lot)
{
    fl_prep_plan plan;
    fl_keeper_ask(k);
    fl_plan_for_lot(&k->room, fl_keeper_lot(k, lot), &plan);
    for (int i = 0; i < plan.n_steps; i++) {
        if (plan.steps[i].is_called_for) {
            fl_keeper_step(k, &lot, 1, plan.steps[i].step, plan.steps[i].agent, "");
        }
    }
}

/* The condition of one use if the plant were unpotted at a look right now. */
static void ask_unpotted(fl_keeper *k, fl_id lot, fl_id bin, const fl_trial *trial,
                         bool guard[FL_USE_COUNT], bool open[FL_USE_COUNT])
{
    fl_event look = {.kind = FL_KIND_LOOK_DONE, .at_s = k->now_s, .id = fl_keeper_id(k)};
    look.body.look_done = (fl_ev_look_done){.place = bin,
                                            .effort = FL_EFFORT_ROOTS,
                                            .devices = trial->devices,
                                            .frac_examined = 1.0,
                                            .hands = FL_HANDS_CLEANED};
    fl_room with;
    fl_chances *chances = NULL;
    check_ok(fl_room_with(&k->room, &look, 1, &with, &k->err), &k->err);
    check_ok(fl_chances_new(&with, NULL, &chances, &k->err), &k->err);
    for (int use = 0; use < FL_USE_COUNT; use++) {
        fl_gate_report r;
        check_ok(fl_gate_ask(chances, &with, fl_meaning_lot(&with.meaning, lot), 1U << use,
                             &with.arena, &r, &k->err),
                 &k->err);
        const fl_condition *c = r.answer.conditions;
        guard[use] = c[FL_CONDITION_GUARD].is_met;
        open[use] = guard[use] && c[FL_CONDITION_CHANCE].is_met &&
                    c[FL_CONDITION_LEAST_DAYS].is_met && c[FL_CONDITION_HOLD].is_met &&
                    c[FL_CONDITION_RELEASE_LOOK].is_met;
    }
    fl_chances_free(chances);
    fl_room_done(&with);
}

static void note(int *day, bool holds, int today)
{
    if (holds && *day == FL_TRIAL_NEVER) {
        *day = today;
    }
}

/* One round: the look, then the questions. True when every use has opened. */
static bool round_done(fl_keeper *k, fl_id lot, fl_id bin, const fl_trial *trial, int day,
                       fl_trial_result *out)
{
    bool guard[FL_USE_COUNT];
    bool open[FL_USE_COUNT];
    bool are_all_open = true;
    fl_keeper_day(k, day, -1);
    fl_keeper_look(k, bin, trial->effort, trial->devices, NULL, NO_ID);
    fl_keeper_ask(k);
    ask_unpotted(k, lot, bin, trial, guard, open);
    for (int use = 0; use < FL_USE_COUNT; use++) {
        fl_gate_report r = fl_keeper_gate(k, lot, 1U << use);
        fl_trial_days *days = &out->days[use];
        out->sum[use][day] = r.answer.sum;
        note(&days->chance, r.answer.conditions[FL_CONDITION_CHANCE].is_met, day);
        note(&days->guard, guard[use], day);
        if (days->open == FL_TRIAL_NEVER) {
            (void)snprintf(out->binding[use], sizeof out->binding[use], "%s",
                           r.answer.worst->threat->name);
        }
        note(&days->open, open[use], day);
        are_all_open =
            are_all_open && days->open != FL_TRIAL_NEVER && days->chance != FL_TRIAL_NEVER;
    }
    return are_all_open;
}

/* The first evening: one lot, washed and put into its bin. */
static fl_id first_evening(fl_keeper *k, const fl_trial *trial, fl_use use, fl_id *lot)
{
    fl_keeper_init(k);
    fl_keeper_day(k, 0, -4); /* before the hour of the rounds, so that whole days are whole */
    fl_event room = {.kind = FL_KIND_ROOM_SET};
    room.body.room_set = (fl_ev_room_set){.round_weekday = 0, .round_effort = trial->effort};
    fl_keeper_record(k, &room);
    fl_id source = fl_keeper_source(k, "a source", trial->source, false);
    fl_id bench = fl_keeper_place(k, "bench", FL_PLACE_BENCH, 0, 21.0);
    fl_id bin = fl_keeper_place(k, "bin", FL_PLACE_BIN, 0, trial->temp_c);
    *lot = fl_keeper_arrive(k, source, fl_keeper_id(k), bench, trial->form, use, 3);
    fl_keeper_day(k, 0, -3);
    if (trial->is_washed) {
        wash(k, *lot);
    }
    fl_keeper_day(k, 0, -2);
    fl_keeper_move(k, *lot, bin);
    fl_keeper_ask(k);
    return bin;
}

void fl_trial_claim_at(const fl_trial *trial, fl_use use, int day, fl_trial_claim *out)
{
    fl_keeper k;
    fl_id lot;
    fl_id bin = first_evening(&k, trial, FL_USE_PLANTS_ONLY, &lot);
    *out = (fl_trial_claim){.is_open = true};
    fl_plan_for_lot(&k.room, fl_keeper_lot(&k, lot), &out->plan);
    for (int at = trial->every_days; at <= day; at += trial->every_days) {
        fl_keeper_day(&k, at, -1);
        fl_keeper_look(&k, bin, at == day ? FL_EFFORT_ROOTS : trial->effort, trial->devices, NULL,
                       NO_ID);
    }
    fl_keeper_ask(&k);
    for (size_t i = 0; i < fl_know_threat_count() && i < FL_TRIAL_PESTS_MAX; i++) {
        if (fl_know_threat(i)->class == FL_CLASS_PEST) {
            fl_lot_chance c = fl_keeper_chance(&k, lot, fl_know_threat(i)->code);
            out->chance[i] = c.chance;
            out->most[i] = c.most;
        }
    }
    static const fl_condition_kind asked[] = {FL_CONDITION_CHANCE, FL_CONDITION_GUARD,
                                              FL_CONDITION_LEAST_DAYS, FL_CONDITION_RELEASE_LOOK};
    fl_gate_report r = fl_keeper_gate(&k, lot, 1U << use);
    out->sum = r.answer.sum;
    for (size_t i = 0; i < sizeof asked / sizeof asked[0]; i++) {
        out->is_open = out->is_open && r.answer.conditions[asked[i]].is_met;
    }
    fl_keeper_done(&k);
}

void fl_trial_run(const fl_trial *trial, fl_trial_result *out)
{
    fl_keeper k;
    for (int use = 0; use < FL_USE_COUNT; use++) {
        out->days[use] = (fl_trial_days){FL_TRIAL_NEVER, FL_TRIAL_NEVER, FL_TRIAL_NEVER};
        for (int day = 0; day <= FL_TRIAL_DAYS; day++) {
            out->sum[use][day] = (double)NAN;
        }
    }
    fl_id lot;
    fl_id bin = first_evening(&k, trial, FL_USE_PLANTS_ONLY, &lot);
    for (int use = 0; use < FL_USE_COUNT; use++) {
        out->sum_at_start[use] = fl_keeper_gate(&k, lot, 1U << use).answer.sum;
    }
    for (int day = trial->every_days; day <= trial->until_day; day += trial->every_days) {
        if (round_done(&k, lot, bin, trial, day, out)) {
            break;
        }
    }
    fl_keeper_done(&k);
}
