/* A tray of 72 as one lot: potted on in part, some lost and the loss taken back, some given to two
 * people; the account balances after each, and what was potted on keeps its lineage, dates, chances
 * and residues. Who got which is told from the batch and from the person. */
#include <math.h>
#include <string.h>

#include "app/batch.h"
#include "app/plans.h"
#include "support/keeper.h"

typedef struct stage {
    fl_keeper k;
    fl_arena arena;
    fl_id nursery, bin_1, bin_2, anna, fair, tray;
} stage;

static void set_stage(stage *s)
{
    *s = (stage){0};
    fl_keeper_init(&s->k);
    fl_arena_init(&s->arena);
    s->nursery = fl_keeper_source(&s->k, "a nursery", FL_SOURCE_NURSERY, false);
    s->bin_1 = fl_keeper_place(&s->k, "bin 1", FL_PLACE_BIN, 0, 23.0);
    s->bin_2 = fl_keeper_place(&s->k, "bin 2", FL_PLACE_BIN, 0, 23.0);
    s->anna = fl_keeper_place(&s->k, "a friend", FL_PLACE_OUTSIDE, 0, 21.0);
    s->fair = fl_keeper_place(&s->k, "the fair", FL_PLACE_OUTSIDE, 0, 21.0);
    s->tray = fl_keeper_arrive(&s->k, s->nursery, fl_keeper_id(&s->k), s->bin_1, FL_FORM_PLUG,
                               FL_USE_PLANTS_ONLY, 72);
}

static void strike_stage(stage *s)
{
    fl_keeper_verify(&s->k);
    fl_keeper_done(&s->k);
    fl_arena_done(&s->arena);
}

static fl_batch batch_of(stage *s, fl_id lot)
{
    fl_batch b;
    fl_keeper_ask(&s->k);
    fl_batch_of(&s->k.room, fl_keeper_lot(&s->k, lot), &s->arena, &b);
    check_int(b.told_over, 0);
    check_int(b.told_twice, 0);
    check_int(b.came, b.here + b.died + b.left);
    return b;
}

static fl_id lose(stage *s, fl_id lot, int count, const char *why)
{
    fl_event event = {.kind = FL_KIND_LOT_LOST};
    event.body.lot_lost = (fl_ev_lot_lost){.lot = lot, .count = count, .why = fl_sv_from_cstr(why)};
    fl_keeper_record(&s->k, &event);
    return event.id;
}

static void take_back(stage *s, fl_id wrong)
{
    fl_event event = {.kind = FL_KIND_EVENT_VOIDED};
    event.body.event_voided = (fl_ev_event_voided){.event = wrong};
    fl_keeper_record(&s->k, &event);
}

static void pot_up(stage *s, fl_id lot, const char *container)
{
    fl_keeper_step_as(&s->k, lot,
                      (fl_ev_step){.step = FL_STEP_POT_UP,
                                   .dose_mg_per_l = (double)NAN,
                                   .pct = (double)NAN,
                                   .temp_c = (double)NAN,
                                   .minutes = (double)NAN,
                                   .container = fl_sv_from_cstr(container)});
}

static void test_a_tray_balances(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_batch b = batch_of(&s, s.tray);
    check_int(b.here, 72);
    check_int(b.n_parts, 1);
    fl_keeper_day(&s.k, 21, 0);
    const fl_id pots = fl_keeper_split(&s.k, s.tray, 24);
    pot_up(&s, pots, "9 cm pots");
    fl_keeper_move(&s.k, pots, s.bin_2);
    const fl_id lost = lose(&s, s.tray, 5, "damped off");
    b = batch_of(&s, pots); /* asked of any part */
    check_true(fl_id_eq(b.lot->id, s.tray));
    check_int(b.here, 67);
    check_int(b.died, 5);
    check_int(b.n_parts, 2);
    check_sv(b.parts[0].container, "");
    check_sv(b.parts[1].container, "9 cm pots");
    check_int(b.parts[1].lot->count, 24);
    check_sv(b.losses[0].why, "damped off");
    take_back(&s, lost);
    b = batch_of(&s, s.tray);
    check_int(b.here, 72);
    check_int(b.died, 0);
    check_int(b.n_losses, 0);
    strike_stage(&s);
}

static void test_who_got_which(void **state)
{
    (void)state;
    stage s;
    const fl_batch_leaving *who = NULL;
    set_stage(&s);
    fl_keeper_day(&s.k, 30, 0);
    const fl_id six = fl_keeper_split(&s.k, s.tray, 6);
    fl_keeper_release(&s.k, six, s.anna);
    fl_keeper_day(&s.k, 40, 0);
    const fl_id forty = fl_keeper_split(&s.k, s.tray, 40);
    fl_keeper_day(&s.k, 41, 0);
    const fl_id ten = fl_keeper_split(&s.k, forty, 10); /* of what was potted on */
    fl_keeper_move(&s.k, ten, s.fair);
    const fl_id cuttings = fl_keeper_cut(&s.k, forty, s.bin_2, 4);
    fl_keeper_day(&s.k, 70, 0);
    fl_keeper_release(&s.k, cuttings, s.anna);
    const fl_batch b = batch_of(&s, forty);
    check_int(b.left, 16);
    check_int(b.here, 56);
    check_int(b.n_leavings, 2);
    check_true(fl_id_eq(b.leavings[0].to, s.anna));
    check_int(b.leavings[0].count, 6);
    check_int(b.leavings[0].at_s, FL_KEEPER_START_S + 30 * FL_DAY_S);
    check_true(fl_id_eq(b.leavings[1].to, s.fair));
    check_int(b.leavings[1].count, 10);
    check_int(b.n_cuttings, 1); /* plants of their own: not in the tray's account */
    check_int(b.n_cutting_leavings, 1);
    check_int(b.cutting_leavings[0].count, 4);
    check_true(fl_id_eq(b.cutting_leavings[0].batch->id, cuttings));
    check_int(fl_batch_who(&s.k.room, fl_keeper_lot(&s.k, six), &s.arena, &who), 3);
    check_true(fl_id_eq(who[2].lot->id, cuttings));
    /* who has plants of the cuttings: not those who had the tray's */
    check_int(fl_batch_who(&s.k.room, fl_keeper_lot(&s.k, cuttings), &s.arena, &who), 1);
    strike_stage(&s);
}

/* A part that was potted on is the same plants: the same chances, source, arrival and label, and
 * what was done to the tray before counts for it. The gate's dates do not move by the split. */
static void test_what_is_potted_on_stays_what_it_was(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_keeper_step(&s.k, &s.tray, 1, FL_STEP_RINSE, FL_AGENT_NONE, "");
    for (int week = 1; week <= 3; week++) {
        fl_keeper_day(&s.k, 7 * week, 0);
        fl_keeper_look(&s.k, s.bin_1, FL_EFFORT_CAREFUL, 0, NULL, (fl_id){{0}});
    }
    fl_keeper_ask(&s.k);
    const int64_t before = fl_keeper_condition(&s.k, s.tray, 0, FL_CONDITION_LEAST_DAYS).earliest_s;
    const double thrips = fl_keeper_chance(&s.k, s.tray, "western_flower_thrips").chance;
    const fl_id pots = fl_keeper_split(&s.k, s.tray, 24);
    pot_up(&s, pots, "9 cm pots");
    fl_keeper_ask(&s.k);
    const fl_lot *tray = fl_keeper_lot(&s.k, s.tray);
    const fl_lot *lot = fl_keeper_lot(&s.k, pots);
    check_true(fl_id_eq(lot->source, tray->source) && fl_id_eq(lot->arrival, tray->arrival));
    check_int(lot->form, FL_FORM_PLUG); /* how it came: what it could carry is as it was */
    check_int(fl_steps_done(&s.k.room, lot), 1U << FL_STEP_RINSE | 1U << FL_STEP_POT_UP);
    check_close(fl_keeper_chance(&s.k, pots, "western_flower_thrips").chance, thrips, 1e-9, 1e-12);
    check_close(fl_keeper_chance(&s.k, s.tray, "western_flower_thrips").chance, thrips, 1e-9,
                1e-12);
    check_int(fl_keeper_condition(&s.k, pots, 0, FL_CONDITION_LEAST_DAYS).earliest_s, before);
    check_int(fl_keeper_condition(&s.k, pots, 0, FL_CONDITION_RESIDUE).is_met,
              fl_keeper_condition(&s.k, s.tray, 0, FL_CONDITION_RESIDUE).is_met);
    strike_stage(&s);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_a_tray_balances),
    cmocka_unit_test(test_who_got_which),
    cmocka_unit_test(test_what_is_potted_on_stays_what_it_was),
};
FL_TEST_MAIN(tests)
