/* The gate on whole rooms: what counts as a way in, whose time the guard asks for, what was done
 * to a lot and to those it comes from, where it has been, and the looks that count. */
#include <math.h>
#include <string.h>

#include "support/keeper.h"

#define NO_ID ((fl_id){{0}})
#define CARD (1U << FL_DEVICE_YELLOW_CARD)
#define FROGS (1U << FL_USE_AMPHIBIAN)
#define PLANTS (1U << FL_USE_PLANTS_ONLY)
#define HALF_DAY_S (FL_DAY_S / 2)

typedef struct stage {
    fl_keeper k;
    fl_id store, lab, bench, bin_1, bin_2, vivarium, outside;
} stage;

static void set_stage(stage *s)
{
    fl_keeper_init(&s->k);
    s->store = fl_keeper_source(&s->k, "a store", FL_SOURCE_CHAIN_STORE, false);
    s->lab = fl_keeper_source(&s->k, "a lab", FL_SOURCE_TISSUE_CULTURE_LAB, true);
    s->bench = fl_keeper_place(&s->k, "bench", FL_PLACE_BENCH, 0, 21.0);
    s->bin_1 = fl_keeper_place(&s->k, "bin 1", FL_PLACE_BIN, 0, 23.0);
    s->bin_2 = fl_keeper_place(&s->k, "bin 2", FL_PLACE_BIN, 0, 23.0);
    s->vivarium = fl_keeper_place(&s->k, "vivarium", FL_PLACE_ENCLOSURE, FROGS, 23.0);
    s->outside = fl_keeper_place(&s->k, "outside", FL_PLACE_OUTSIDE, 0, 21.0);
}

static void strike_stage(stage *s)
{
    fl_keeper_verify(&s->k);
    fl_keeper_done(&s->k);
}

static fl_id buy(stage *s, fl_id place, fl_use use, int count)
{
    return fl_keeper_arrive(&s->k, s->store, fl_keeper_id(&s->k), place, FL_FORM_POTTED, use,
                            count);
}

static void look(stage *s, fl_id place, fl_effort effort)
{
    fl_keeper_look(&s->k, place, effort, CARD, NULL, NO_ID);
}

static int64_t way_in(stage *s, fl_id lot)
{
    return fl_keeper_gate(&s->k, lot, 0).last_way_in_s;
}

/* Chlorine as it was made, for some minutes. */
static void dip(stage *s, fl_id lot, double mg_per_l, double pct, double minutes)
{
    fl_keeper_step_as(&s->k, lot,
                      (fl_ev_step){.step = FL_STEP_DIP,
                                   .agent = FL_AGENT_BLEACH,
                                   .dose_mg_per_l = mg_per_l,
                                   .pct = pct,
                                   .temp_c = (double)NAN,
                                   .minutes = minutes});
}

static void spray(stage *s, fl_id lot, const char *active)
{
    fl_keeper_step_as(&s->k, lot,
                      (fl_ev_step){.step = FL_STEP_SOAK,
                                   .agent = FL_AGENT_PESTICIDE,
                                   .dose_mg_per_l = (double)NAN,
                                   .pct = (double)NAN,
                                   .temp_c = (double)NAN,
                                   .minutes = (double)NAN,
                                   .product = fl_sv_from_cstr(active)});
}

/* ---- the last way in ---- */

/* A split is the same plants, and what is cut brings its mother's past: neither is a way in. */
static void test_splits_and_cuttings_are_no_way_in(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_id lot = buy(&s, s.bin_1, FL_USE_STOCK, 6);
    int64_t came = s.k.now_s;
    fl_keeper_day(&s.k, 40, 0);
    fl_id split = fl_keeper_split(&s.k, lot, 2);
    fl_id cutting = fl_keeper_cut(&s.k, lot, s.bin_2, 3);
    fl_keeper_day(&s.k, 41, 0);
    fl_keeper_move(&s.k, split, s.bench);
    fl_keeper_ask(&s.k);
    check_int(way_in(&s, lot), came);
    check_int(way_in(&s, split), came);
    check_int(way_in(&s, cutting), came);
    strike_stage(&s);
}

/* Another purchase in the same bin is one, for all that stand there; looking and unpotting are
 * none. */
static void test_company_is_a_way_in(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_id lot = buy(&s, s.bin_1, FL_USE_STOCK, 1);
    fl_id away = buy(&s, s.bin_2, FL_USE_STOCK, 1);
    int64_t came = s.k.now_s;
    fl_keeper_day(&s.k, 20, 0);
    look(&s, s.bin_1, FL_EFFORT_ROOTS);
    fl_keeper_ask(&s.k);
    check_int(way_in(&s, lot), came);
    fl_keeper_day(&s.k, 30, 0);
    fl_id second = buy(&s, s.bin_1, FL_USE_STOCK, 1);
    int64_t joined = s.k.now_s;
    fl_keeper_day(&s.k, 33, 0);
    fl_keeper_ask(&s.k);
    check_int(way_in(&s, lot), joined);
    check_int(way_in(&s, second), joined);
    check_int(way_in(&s, away), came);
    strike_stage(&s);
}

/* "Some day in March": it may have been the last one. */
static void test_a_vague_arrival(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_keeper_day(&s.k, 13, -1); /* local noon of the 15th, at +01:00 */
    fl_event event = {.kind = FL_KIND_LOT_ARRIVED, .precision = FL_PRECISION_MONTH};
    event.body.lot_arrived = (fl_ev_lot_arrived){.lot = fl_keeper_id(&s.k),
                                                 .arrival = fl_keeper_id(&s.k),
                                                 .source = s.store,
                                                 .name = FL_SV("a plant"),
                                                 .count = 1,
                                                 .form = FL_FORM_POTTED,
                                                 .place = s.bin_1,
                                                 .cost = (double)NAN};
    fl_keeper_record(&s.k, &event);
    int64_t middle = s.k.now_s;
    fl_keeper_day(&s.k, 60, 0);
    fl_keeper_ask(&s.k);
    int64_t late = way_in(&s, event.body.lot_arrived.lot) - middle;
    check_true(late >= 16 * (int64_t)FL_DAY_S + HALF_DAY_S && late < 18 * (int64_t)FL_DAY_S);
    strike_stage(&s);
}

/* ---- the guard ---- */

static double guard_of(stage *s, fl_id lot, const char *threat)
{
    fl_gate_report r = fl_keeper_gate(&s->k, lot, 0);
    for (size_t i = 0; i < r.n_threats; i++) {
        if (strcmp(r.threats[i].threat->code, threat) == 0) {
            return r.threats[i].guard_share;
        }
    }
    fail_msg("no guard for %s", threat);
    return 0.0;
}

/* What a second purchase brought has to show itself too, however long the first has been here. */
static void test_the_guard_asks_for_every_root(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_id lot = buy(&s, s.bin_1, FL_USE_PLANTS_ONLY, 1);
    fl_keeper_day(&s.k, 100, 0);
    look(&s, s.bin_1, FL_EFFORT_CAREFUL);
    fl_keeper_ask(&s.k);
    check_true(guard_of(&s, lot, "citrus_mealybug") > 0.95);
    fl_id nursery = fl_keeper_source(&s.k, "a nursery", FL_SOURCE_NURSERY, false);
    fl_keeper_arrive(&s.k, nursery, fl_keeper_id(&s.k), s.bin_1, FL_FORM_POTTED, FL_USE_PLANTS_ONLY,
                     1);
    fl_keeper_day(&s.k, 101, 0);
    look(&s, s.bin_1, FL_EFFORT_CAREFUL);
    fl_keeper_ask(&s.k);
    /* 0.06 has had its time, 0.042 has not: some of it came as adults and crawlers. */
    double share = guard_of(&s, lot, "citrus_mealybug");
    check_true(share > 0.60 && share < 0.95);
    check_false(fl_keeper_condition(&s.k, lot, 0, FL_CONDITION_GUARD).is_met);
    strike_stage(&s);
}

/* A look from before a neighbour came has not seen what the neighbour brought. */
static void test_a_look_from_before(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_id lot = buy(&s, s.bin_1, FL_USE_PLANTS_ONLY, 1);
    fl_keeper_day(&s.k, 60, 0);
    look(&s, s.bin_1, FL_EFFORT_CAREFUL);
    fl_keeper_ask(&s.k);
    double before = guard_of(&s, lot, "aphid");
    check_close(before, 1.0, 1e-6, 0.0);
    fl_keeper_day(&s.k, 61, 0);
    buy(&s, s.bin_1, FL_USE_PLANTS_ONLY, 1);
    fl_keeper_ask(&s.k);
    /* Priors are all but equal: one of two was looked at. */
    check_close(guard_of(&s, lot, "aphid"), 0.5, 0.05, 0.0);
    strike_stage(&s);
}

/* A lot that moved from bin to bin keeps the looks it had. */
static void test_looks_go_along(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_id lot = buy(&s, s.bin_1, FL_USE_PLANTS_ONLY, 1);
    fl_keeper_day(&s.k, 60, 0);
    look(&s, s.bin_1, FL_EFFORT_CAREFUL);
    fl_keeper_day(&s.k, 61, 0);
    fl_keeper_move(&s.k, lot, s.bin_2);
    fl_keeper_ask(&s.k);
    check_close(guard_of(&s, lot, "aphid"), 1.0, 1e-6, 0.0);
    strike_stage(&s);
}

/* Glances see no mites: the guard names the effort that would. */
static void test_the_guard_names_an_effort(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_id lot = buy(&s, s.bin_1, FL_USE_PLANTS_ONLY, 1);
    fl_keeper_day(&s.k, 90, 0);
    look(&s, s.bin_1, FL_EFFORT_CAREFUL);
    fl_keeper_ask(&s.k);
    check_close(guard_of(&s, lot, "root_mealybug"), 0.0, 0.0, 0.0);
    fl_condition guard = fl_keeper_condition(&s.k, lot, 0, FL_CONDITION_GUARD);
    check_str(guard.threat->code, "root_mealybug");
    check_str(guard.reason, "roots");
    check_true(guard.earliest_s > s.k.now_s && guard.earliest_s < FL_GATE_NEVER);
    fl_keeper_day(&s.k, 91, 0);
    look(&s, s.bin_1, FL_EFFORT_ROOTS);
    fl_keeper_ask(&s.k);
    check_true(guard_of(&s, lot, "root_mealybug") > 0.9);
    strike_stage(&s);
}

/* ---- steps ---- */

/* Potted plants are stripped and washed, before or after they are split; what was already here, or
 * was cut here, is not asked for it. */
static void test_steps_by_where_it_comes_from(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_id lot = buy(&s, s.bench, FL_USE_PLANTS_ONLY, 4);
    fl_id old = fl_keeper_already_here(&s.k, s.bin_2, 4);
    fl_keeper_day(&s.k, 1, 0);
    fl_id early = fl_keeper_split(&s.k, lot, 1);
    fl_id old_split = fl_keeper_split(&s.k, old, 1);
    fl_id cutting = fl_keeper_cut(&s.k, lot, s.bin_2, 1);
    fl_keeper_ask(&s.k);
    unsigned want = 1U << FL_STEP_STRIP | 1U << FL_STEP_RINSE | 1U << FL_STEP_SOAK;
    check_int(fl_keeper_condition(&s.k, lot, 0, FL_CONDITION_STEPS).steps_missing, want);
    check_int(fl_keeper_condition(&s.k, early, 0, FL_CONDITION_STEPS).steps_missing, want);
    check_true(fl_keeper_condition(&s.k, old, 0, FL_CONDITION_STEPS).is_met);
    check_true(fl_keeper_condition(&s.k, old_split, 0, FL_CONDITION_STEPS).is_met);
    check_true(fl_keeper_condition(&s.k, cutting, 0, FL_CONDITION_STEPS).is_met);
    fl_keeper_step(&s.k, &lot, 1, FL_STEP_STRIP, FL_AGENT_NONE, "");
    fl_keeper_step(&s.k, &lot, 1, FL_STEP_RINSE, FL_AGENT_NONE, "");
    fl_keeper_step(&s.k, &lot, 1, FL_STEP_SOAK, FL_AGENT_NONE, "");
    fl_keeper_day(&s.k, 2, 0);
    fl_id late = fl_keeper_split(&s.k, lot, 1);
    fl_keeper_ask(&s.k);
    check_true(fl_keeper_condition(&s.k, late, 0, FL_CONDITION_STEPS).is_met);
    check_false(fl_keeper_condition(&s.k, early, 0, FL_CONDITION_STEPS).is_met);
    strike_stage(&s);
}

/* ---- residues ---- */

/* What was sprayed on the mother before the cut is in the cutting; what came after is not. */
static void test_a_mothers_spray(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_id mother = fl_keeper_already_here(&s.k, s.bin_1, 1);
    fl_keeper_day(&s.k, 10, 0);
    fl_id before = fl_keeper_cut(&s.k, mother, s.bin_2, 1);
    fl_keeper_day(&s.k, 11, 0);
    spray(&s, mother, "imidacloprid");
    fl_keeper_day(&s.k, 12, 0);
    fl_id after = fl_keeper_cut(&s.k, mother, s.bin_2, 1);
    fl_keeper_ask(&s.k);
    check_true(fl_keeper_condition(&s.k, before, FROGS, FL_CONDITION_RESIDUE).is_met);
    check_str(fl_keeper_condition(&s.k, after, FROGS, FL_CONDITION_RESIDUE).reason, "systemic");
    check_str(fl_keeper_condition(&s.k, mother, FROGS, FL_CONDITION_RESIDUE).reason, "systemic");
    check_true(fl_keeper_condition(&s.k, after, PLANTS, FL_CONDITION_RESIDUE).is_met);
    strike_stage(&s);
}

/* Many sprays of one thing do not hide the one that matters. */
static void test_many_sprays(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_id lot = fl_keeper_already_here(&s.k, s.bin_1, 1);
    for (int i = 0; i < 20; i++) {
        fl_keeper_day(&s.k, i, 0);
        spray(&s, lot, "pyrethrins");
    }
    spray(&s, lot, "imidacloprid");
    fl_keeper_day(&s.k, 21, 0);
    fl_keeper_ask(&s.k);
    check_str(fl_keeper_condition(&s.k, lot, FROGS, FL_CONDITION_RESIDUE).reason, "systemic");
    strike_stage(&s);
}

/* ---- trials and prills ---- */

static void note_trial(stage *s, fl_id place, fl_animal_event what, int days)
{
    fl_event event = {.kind = FL_KIND_ANIMAL_NOTED};
    event.body.animal_noted =
        (fl_ev_animal_noted){.place = place,
                             .what = what,
                             .animal = FL_SV("springtails"),
                             .sampled_s = s->k.now_s - days * (int64_t)FL_DAY_S};
    fl_keeper_record(&s->k, &event);
}

static bool residue_met(stage *s, fl_id lot, fl_use use)
{
    fl_keeper_ask(&s->k);
    return fl_keeper_condition(&s->k, lot, 1U << use, FL_CONDITION_RESIDUE).is_met;
}

/* Springtails that lived two weeks in a plant's box speak for invertebrates and prove nothing for
 * frogs; a death closes both; only what was in that box is spoken of, and only for so long. */
static void test_trials(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_id lot = fl_keeper_arrive(&s.k, s.store, fl_keeper_id(&s.k), s.bin_1, FL_FORM_POTTED,
                                 FL_USE_INVERTEBRATE, 1);
    fl_id other = fl_keeper_arrive(&s.k, s.store, fl_keeper_id(&s.k), s.bin_2, FL_FORM_POTTED,
                                   FL_USE_INVERTEBRATE, 1);
    fl_keeper_day(&s.k, 40, 0);
    check_false(residue_met(&s, lot, FL_USE_INVERTEBRATE));
    note_trial(&s, s.bin_1, FL_ANIMAL_TRIAL_LIVED, 13);
    check_false(residue_met(&s, lot, FL_USE_INVERTEBRATE));
    fl_keeper_day(&s.k, 41, 0);
    note_trial(&s, s.bin_1, FL_ANIMAL_TRIAL_LIVED, 14);
    check_true(residue_met(&s, lot, FL_USE_INVERTEBRATE));
    check_false(residue_met(&s, lot, FL_USE_AMPHIBIAN)); /* a pass is no proof for frogs */
    check_false(residue_met(&s, other, FL_USE_INVERTEBRATE));
    fl_keeper_day(&s.k, 42, 0);
    note_trial(&s, s.bin_1, FL_ANIMAL_TRIAL_DIED, 1);
    check_false(residue_met(&s, lot, FL_USE_INVERTEBRATE));
    check_str(fl_keeper_condition(&s.k, lot, FROGS, FL_CONDITION_RESIDUE).reason, "trial_died");
    fl_keeper_day(&s.k, 60, 0);
    note_trial(&s, s.bin_1, FL_ANIMAL_TRIAL_LIVED, 15); /* others lived through a later one */
    check_true(residue_met(&s, lot, FL_USE_INVERTEBRATE));
    strike_stage(&s);
}

/* Bleach of today, neutralised, rinsed; the next day nothing is said of it. */
static void test_chlorine_of_today(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    const double untold = (double)NAN;
    fl_ev_step step = {.step = FL_STEP_DIP,
                       .agent = FL_AGENT_BLEACH,
                       .dose_mg_per_l = 3000.0,
                       .pct = untold,
                       .temp_c = untold,
                       .minutes = 2.0};
    fl_id lot = fl_keeper_already_here(&s.k, s.bin_1, 1);
    fl_keeper_day(&s.k, 3, 0);
    fl_keeper_step_as(&s.k, lot, step);
    fl_keeper_day(&s.k, 3, 1);
    fl_keeper_step(&s.k, &lot, 1, FL_STEP_SOAK, FL_AGENT_NONE, ""); /* water alone is not enough */
    fl_keeper_ask(&s.k);
    check_str(fl_keeper_condition(&s.k, lot, FROGS, FL_CONDITION_STEPS).reason, "chlorine_left");
    check_true(fl_keeper_condition(&s.k, lot, PLANTS, FL_CONDITION_STEPS).is_met);
    fl_keeper_day(&s.k, 3, 2);
    fl_keeper_step(&s.k, &lot, 1, FL_STEP_NEUTRALISE, FL_AGENT_THIOSULFATE, "");
    fl_keeper_day(&s.k, 3, 3);
    fl_keeper_step(&s.k, &lot, 1, FL_STEP_SOAK, FL_AGENT_NONE, "");
    fl_keeper_ask(&s.k);
    check_str(fl_keeper_condition(&s.k, lot, FROGS, FL_CONDITION_STEPS).reason, "chlorine_today");
    fl_keeper_day(&s.k, 4, 0);
    fl_keeper_ask(&s.k);
    check_str(fl_keeper_condition(&s.k, lot, FROGS, FL_CONDITION_STEPS).reason, "");
    strike_stage(&s);
}

/* Told while it was stripped; a split has it too; frogs are asked for, plants are not. */
static void test_prills_told(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_id lot = fl_keeper_arrive(&s.k, s.store, fl_keeper_id(&s.k), s.bench, FL_FORM_POTTED,
                                 FL_USE_AMPHIBIAN, 2);
    fl_keeper_step(&s.k, &lot, 1, FL_STEP_RINSE, FL_AGENT_NONE, "");
    fl_keeper_step(&s.k, &lot, 1, FL_STEP_SOAK, FL_AGENT_NONE, "");
    const double untold = (double)NAN;
    fl_ev_step strip = {.step = FL_STEP_STRIP,
                        .dose_mg_per_l = untold,
                        .pct = untold,
                        .temp_c = untold,
                        .minutes = untold};
    fl_keeper_step_as(&s.k, lot, strip);
    fl_keeper_ask(&s.k);
    check_str(fl_keeper_condition(&s.k, lot, FROGS, FL_CONDITION_STEPS).reason, "prills_not_told");
    check_true(fl_keeper_condition(&s.k, lot, FROGS, FL_CONDITION_STEPS).is_met);
    fl_keeper_day(&s.k, 1, 0);
    strip.prills = FL_PRILLS_LEFT;
    fl_keeper_step_as(&s.k, lot, strip);
    fl_keeper_day(&s.k, 2, 0);
    fl_id split = fl_keeper_split(&s.k, lot, 1);
    fl_keeper_ask(&s.k);
    check_false(fl_keeper_condition(&s.k, lot, FROGS, FL_CONDITION_STEPS).is_met);
    check_false(fl_keeper_condition(&s.k, split, FROGS, FL_CONDITION_STEPS).is_met);
    check_true(fl_keeper_condition(&s.k, lot, PLANTS, FL_CONDITION_STEPS).is_met);
    fl_keeper_day(&s.k, 3, 0);
    strip.step = FL_STEP_POT_UP;
    strip.prills = FL_PRILLS_REMOVED;
    fl_keeper_step_as(&s.k, split, strip);
    fl_keeper_ask(&s.k);
    check_true(fl_keeper_condition(&s.k, split, FROGS, FL_CONDITION_STEPS).is_met);
    check_false(fl_keeper_condition(&s.k, lot, FROGS, FL_CONDITION_STEPS).is_met);
    strike_stage(&s);
}

/* ---- where it has been ---- */

static fl_condition pathogen(stage *s, fl_id lot)
{
    return fl_keeper_condition(&s->k, lot, FROGS, FL_CONDITION_PATHOGEN);
}

/* Frogs that have moved out since were there all the same; before they came they were not. */
static void test_places_as_they_were(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_id early = fl_keeper_already_here(&s.k, s.vivarium, 1);
    fl_id late = fl_keeper_already_here(&s.k, s.bin_1, 1);
    fl_id never = fl_keeper_already_here(&s.k, s.bin_2, 1);
    fl_keeper_day(&s.k, 5, 0);
    fl_keeper_move(&s.k, early, s.bin_1);
    fl_keeper_day(&s.k, 10, 0);
    fl_keeper_animals(&s.k, s.vivarium, "vivarium", FROGS, true);
    fl_keeper_day(&s.k, 20, 0);
    fl_keeper_move(&s.k, late, s.vivarium);
    fl_keeper_day(&s.k, 30, 0);
    fl_keeper_move(&s.k, late, s.bin_2);
    fl_keeper_day(&s.k, 40, 0);
    fl_keeper_animals(&s.k, s.vivarium, "vivarium", FROGS, false);
    fl_keeper_day(&s.k, 50, 0);
    fl_keeper_move(&s.k, never, s.vivarium); /* empty by now */
    fl_keeper_day(&s.k, 51, 0);
    fl_keeper_ask(&s.k);
    check_true(pathogen(&s, early).is_met);
    check_str(pathogen(&s, late).reason, "with_amphibians");
    check_true(pathogen(&s, never).is_met);
    strike_stage(&s);
}

/* A dip counts when it came after the last of it, at a strength that was tested against all. */
static void test_a_tested_dip(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_keeper_animals(&s.k, s.vivarium, "vivarium", FROGS, true);
    fl_id lot = fl_keeper_already_here(&s.k, s.vivarium, 12);
    fl_keeper_day(&s.k, 10, 0);
    fl_id out[5];
    for (int i = 0; i < 5; i++) {
        out[i] = fl_keeper_split(&s.k, lot, 2);
        fl_keeper_move(&s.k, out[i], s.bin_1);
    }
    fl_keeper_day(&s.k, 11, 0);
    dip(&s, out[0], 3000.0, 5.0, 2.0);          /* enough */
    dip(&s, out[1], (double)NAN, 5.0, 5.0);     /* 5 parts in 100 of household bleach: enough */
    dip(&s, out[2], 1200.0, (double)NAN, 15.0); /* tested against chytrid only */
    dip(&s, out[3], 3000.0, 5.0, (double)NAN);  /* no time told */
    fl_keeper_day(&s.k, 12, 0);
    fl_id child = fl_keeper_split(&s.k, out[0], 1); /* the same plant: it was dipped */
    fl_keeper_ask(&s.k);
    check_str(pathogen(&s, out[0]).reason, "disinfected");
    check_true(pathogen(&s, out[0]).is_met);
    check_true(pathogen(&s, out[1]).is_met);
    check_false(pathogen(&s, out[2]).is_met);
    check_false(pathogen(&s, out[3]).is_met);
    check_false(pathogen(&s, out[4]).is_met);
    check_true(pathogen(&s, child).is_met);
    fl_keeper_day(&s.k, 13, 0);
    fl_keeper_move(&s.k, out[0], s.vivarium); /* back among them: undone */
    fl_keeper_day(&s.k, 14, 0);
    fl_keeper_move(&s.k, out[0], s.bin_1);
    fl_keeper_ask(&s.k);
    check_false(pathogen(&s, out[0]).is_met);
    strike_stage(&s);
}

/* A cutting left its mother among the frogs: its own dip counts although she stands there still,
 * and frogs that come to her later are not its past. */
static void test_a_cutting_and_its_mothers_company(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_id mother = fl_keeper_already_here(&s.k, s.vivarium, 1);
    fl_keeper_day(&s.k, 5, 0);
    fl_id before = fl_keeper_cut(&s.k, mother, s.bin_1, 1);
    fl_keeper_day(&s.k, 10, 0);
    fl_keeper_animals(&s.k, s.vivarium, "vivarium", FROGS, true);
    fl_keeper_day(&s.k, 20, 0);
    fl_id after = fl_keeper_cut(&s.k, mother, s.bin_1, 1);
    fl_id dipped = fl_keeper_cut(&s.k, mother, s.bin_1, 1);
    fl_keeper_day(&s.k, 20, 2);
    dip(&s, dipped, 3000.0, 5.0, 2.0);
    fl_keeper_day(&s.k, 30, 0);
    fl_keeper_ask(&s.k);
    check_true(pathogen(&s, before).is_met);
    check_str(pathogen(&s, after).reason, "with_amphibians");
    check_true(pathogen(&s, dipped).is_met);
    fl_event died = {.kind = FL_KIND_ANIMAL_NOTED};
    died.body.animal_noted = (fl_ev_animal_noted){.place = s.vivarium,
                                                  .what = FL_ANIMAL_DIED,
                                                  .animal = FL_SV("a frog"),
                                                  .sampled_s = INT64_MIN};
    fl_keeper_record(&s.k, &died);
    fl_keeper_ask(&s.k);
    check_str(pathogen(&s, dipped).reason, "positive"); /* a dip is not enough then */
    strike_stage(&s);
}

/* Tissue culture answers for where it came from, not for the year with the frogs. */
static void test_tissue_culture_among_frogs(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_id lot = fl_keeper_arrive(&s.k, s.lab, fl_keeper_id(&s.k), s.bin_1, FL_FORM_TISSUE_CULTURE,
                                 FL_USE_AMPHIBIAN, 2);
    fl_keeper_animals(&s.k, s.vivarium, "vivarium", FROGS, true);
    fl_keeper_day(&s.k, 1, 0);
    fl_keeper_ask(&s.k);
    check_true(pathogen(&s, lot).is_met);
    fl_keeper_move(&s.k, lot, s.vivarium);
    fl_keeper_day(&s.k, 200, 0);
    fl_keeper_move(&s.k, lot, s.bin_1);
    fl_keeper_ask(&s.k);
    check_str(pathogen(&s, lot).reason, "with_amphibians");
    strike_stage(&s);
}

/* ---- the look of the day ---- */

static void test_which_look_counts(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_id lot = buy(&s, s.bin_1, FL_USE_PLANTS_ONLY, 1);
    fl_id other = buy(&s, s.bin_1, FL_USE_PLANTS_ONLY, 1);
    fl_keeper_day(&s.k, 10, 0);
    fl_event partly = {.kind = FL_KIND_LOOK_DONE};
    partly.body.look_done = (fl_ev_look_done){
        .place = s.bin_1, .lots = {&other, 1}, .frac_examined = 1.0, .hands = FL_HANDS_CLEANED};
    fl_keeper_record(&s.k, &partly);
    fl_keeper_ask(&s.k);
    check_false(fl_keeper_condition(&s.k, lot, 0, FL_CONDITION_RELEASE_LOOK).is_met);
    check_true(fl_keeper_condition(&s.k, other, 0, FL_CONDITION_RELEASE_LOOK).is_met);
    look(&s, s.bin_1, FL_EFFORT_GLANCE);
    fl_keeper_ask(&s.k);
    check_true(fl_keeper_condition(&s.k, lot, 0, FL_CONDITION_RELEASE_LOOK).is_met);
    fl_keeper_day(&s.k, 10, 1);
    fl_keeper_look(&s.k, s.bin_1, FL_EFFORT_GLANCE, 0, "aphid", lot);
    fl_keeper_ask(&s.k);
    check_false(fl_keeper_condition(&s.k, lot, 0, FL_CONDITION_RELEASE_LOOK).is_met);
    check_false(fl_keeper_condition(&s.k, lot, 0, FL_CONDITION_HOLD).is_met);
    fl_keeper_day(&s.k, 11, 0);
    look(&s, s.bin_1, FL_EFFORT_GLANCE);
    fl_keeper_day(&s.k, 12, 0);
    fl_keeper_ask(&s.k);
    check_false(fl_keeper_condition(&s.k, lot, 0, FL_CONDITION_RELEASE_LOOK).is_met);
    strike_stage(&s);
}

/* Asked for a lot that has gone: said so, not answered. */
static void test_a_lot_that_is_gone(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_id lot = buy(&s, s.bin_1, FL_USE_PLANTS_ONLY, 1);
    fl_keeper_day(&s.k, 1, 0);
    fl_keeper_move(&s.k, lot, s.outside);
    fl_keeper_ask(&s.k);
    fl_gate_report report;
    fl_err err = {0};
    check_true(fl_gate_ask(s.k.chances, &s.k.room, fl_keeper_lot(&s.k, lot), 0, &s.k.room.arena,
                           &report, &err) == FL_EINVAL);
    check_status(&err, FL_EINVAL);
    strike_stage(&s);
}

/* The threats of a report lead with the largest weight x chance. */
static void test_the_worst_leads(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_id lot = buy(&s, s.bin_1, FL_USE_AMPHIBIAN, 1);
    fl_keeper_ask(&s.k);
    fl_gate_report r = fl_keeper_gate(&s.k, lot, 0);
    check_true(r.n_threats > 10);
    for (size_t i = 1; i < r.n_threats; i++) {
        double before = r.threats[i - 1].threat->weight[FL_USE_AMPHIBIAN] * r.threats[i - 1].chance;
        double own = r.threats[i].threat->weight[FL_USE_AMPHIBIAN] * r.threats[i].chance;
        check_true(before >= own);
    }
    check_true(r.answer.worst->threat == r.threats[0].threat);
    strike_stage(&s);
}

/* ---- learning, as the gate sees it ---- */

/* Sealed cups that were quiet say next to nothing of the same shop's pots; pots do of pots; and a
 * bag of mix with gnats says nothing of its plants. */
static void test_what_a_purchase_teaches(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    for (int i = 0; i < 4; i++) {
        fl_id cup = fl_keeper_arrive(&s.k, s.store, fl_keeper_id(&s.k), s.bin_1,
                                     FL_FORM_TISSUE_CULTURE, FL_USE_STOCK, 1);
        fl_id pot = fl_keeper_arrive(&s.k, s.lab, fl_keeper_id(&s.k), s.bin_2, FL_FORM_POTTED,
                                     FL_USE_STOCK, 1);
        (void)cup;
        (void)pot;
    }
    for (int week = 1; week <= 10; week++) {
        fl_keeper_day(&s.k, 7 * week, 0);
        look(&s, s.bin_1, FL_EFFORT_CAREFUL);
        look(&s, s.bin_2, FL_EFFORT_CAREFUL);
    }
    fl_id bag = fl_keeper_arrive(&s.k, s.store, fl_keeper_id(&s.k), s.bench, FL_FORM_MIX_BAGGED,
                                 FL_USE_STOCK, 1);
    fl_keeper_look(&s.k, s.bench, FL_EFFORT_CAREFUL, CARD, "fungus_gnat", bag);
    fl_keeper_day(&s.k, 71, 0);
    fl_id from_store = buy(&s, s.bench, FL_USE_STOCK, 1);
    fl_id from_lab =
        fl_keeper_arrive(&s.k, s.lab, fl_keeper_id(&s.k), s.bench, FL_FORM_POTTED, FL_USE_STOCK, 1);
    fl_keeper_ask(&s.k);
    const fl_threat *gnat = fl_know_threat_find(FL_SV("fungus_gnat"));
    double pots = fl_know_prior_of(gnat, FL_SOURCE_TISSUE_CULTURE_LAB, FL_FORM_POTTED).prob;
    double cups = fl_keeper_chance(&s.k, from_store, gnat->code).prior;
    check_true(cups > 0.30 * 0.98 && cups <= 0.30); /* four cups are 0.12 of a pot */
    check_true(fl_keeper_chance(&s.k, from_lab, gnat->code).prior < 0.80 * pots);
    strike_stage(&s);
}

/* Without dates it decides as with them, at every round and for every use, and no date that comes
 * out is before the one it says. */
static void test_now_agrees_with_the_whole_answer(void **state)
{
    (void)state;
    stage s;
    int n_waiting = 0;
    int n_not_yet = 0;
    set_stage(&s);
    fl_id lots[3] = {buy(&s, s.bin_1, FL_USE_PLANTS_ONLY, 2), buy(&s, s.bin_1, FL_USE_STOCK, 1)};
    lots[2] = fl_keeper_arrive(&s.k, s.lab, fl_keeper_id(&s.k), s.bin_2, FL_FORM_TISSUE_CULTURE,
                               FL_USE_AMPHIBIAN, 3);
    static const fl_step called_for[] = {FL_STEP_STRIP, FL_STEP_RINSE, FL_STEP_SOAK, FL_STEP_DRAIN,
                                         FL_STEP_POT_UP};
    for (size_t i = 0; i < sizeof called_for / sizeof called_for[0]; i++) {
        fl_keeper_step(&s.k, lots, 3, called_for[i], FL_AGENT_NONE, "");
    }
    for (int week = 1; week <= 9; week++) {
        fl_keeper_day(&s.k, 7 * week, 0);
        look(&s, s.bin_1, FL_EFFORT_ROOTS);
        look(&s, s.bin_2, FL_EFFORT_CAREFUL);
        fl_keeper_ask(&s.k);
        for (int i = 0; i < 3 * FL_USE_COUNT; i++) {
            const fl_lot *lot = fl_keeper_lot(&s.k, lots[i % 3]);
            const unsigned uses = 1U << (i / 3);
            fl_gate_now now;
            const fl_gate_report r = fl_keeper_gate(&s.k, lot->id, uses);
            check_ok(
                fl_gate_ask_now(s.k.chances, &s.k.room, lot, uses, &s.k.room.arena, &now, &s.k.err),
                &s.k.err);
            check_true(now.waits_for_look_only == fl_gate_waits_for_look_only(&r.answer));
            check_close(now.sum, r.answer.sum, 0.0, 0.0);
            check_true(now.not_before_s <= r.answer.earliest_s);
            check_true(!now.waits_for_round || r.answer.earliest_s >= r.forecast.at_s[1]);
            n_waiting += now.waits_for_look_only;
            n_not_yet += now.waits_for_round;
        }
    }
    check_true(n_waiting > 0 && n_not_yet > 0);
    strike_stage(&s);
}

static const struct CMUnitTest tests[] = {cmocka_unit_test(test_now_agrees_with_the_whole_answer),
                                          cmocka_unit_test(test_splits_and_cuttings_are_no_way_in),
                                          cmocka_unit_test(test_company_is_a_way_in),
                                          cmocka_unit_test(test_a_vague_arrival),
                                          cmocka_unit_test(test_the_guard_asks_for_every_root),
                                          cmocka_unit_test(test_a_look_from_before),
                                          cmocka_unit_test(test_looks_go_along),
                                          cmocka_unit_test(test_the_guard_names_an_effort),
                                          cmocka_unit_test(test_steps_by_where_it_comes_from),
                                          cmocka_unit_test(test_a_mothers_spray),
                                          cmocka_unit_test(test_many_sprays),
                                          cmocka_unit_test(test_trials),
                                          cmocka_unit_test(test_prills_told),
                                          cmocka_unit_test(test_chlorine_of_today),
                                          cmocka_unit_test(test_places_as_they_were),
                                          cmocka_unit_test(test_a_tested_dip),
                                          cmocka_unit_test(test_a_cutting_and_its_mothers_company),
                                          cmocka_unit_test(test_tissue_culture_among_frogs),
                                          cmocka_unit_test(test_which_look_counts),
                                          cmocka_unit_test(test_a_lot_that_is_gone),
                                          cmocka_unit_test(test_the_worst_leads),
                                          cmocka_unit_test(test_what_a_purchase_teaches)};
FL_TEST_MAIN(tests)
