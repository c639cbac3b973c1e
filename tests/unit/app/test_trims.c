/* Trims: by how a plant grows, on round days, spread after moving in, begun anew by a trim or a
 * cutting, at the keeper's own pace once there is one; and a trim is no treatment. */
#include <math.h>
#include <string.h>

#include "app/today.h"
#include "app/trims.h"
#include "core/know/growth.h"
#include "support/keeper.h"

typedef struct stage {
    fl_keeper k;
    fl_arena arena;
    fl_id tank, fig;
} stage;

static fl_id plant(fl_keeper *k, const char *name, const char *taxon)
{
    fl_event event = {.kind = FL_KIND_PLANT_SET};
    event.body.plant_set = (fl_ev_plant_set){
        .plant = fl_keeper_id(k), .name = fl_sv_from_cstr(name), .taxon = fl_sv_from_cstr(taxon)};
    fl_keeper_record(k, &event);
    return event.body.plant_set.plant;
}

static fl_id own(stage *s, fl_id plant_id, fl_id place)
{
    fl_event event = {.kind = FL_KIND_LOT_ALREADY_HERE};
    event.body.lot_already_here = (fl_ev_lot_already_here){.lot = fl_keeper_id(&s->k),
                                                           .plant = plant_id,
                                                           .count = 1,
                                                           .form = FL_FORM_POTTED,
                                                           .use = FL_USE_PLANTS_ONLY,
                                                           .place = place};
    fl_keeper_record(&s->k, &event);
    return event.body.lot_already_here.lot;
}

static void set_stage(stage *s)
{
    *s = (stage){0};
    fl_keeper_init(&s->k);
    fl_arena_init(&s->arena);
    s->tank = fl_keeper_place(&s->k, "tank", FL_PLACE_ENCLOSURE, 1U << FL_USE_PLANTS_ONLY, 23.0);
    s->fig = plant(&s->k, "fig", "Ficus pumila");
}

static void strike_stage(stage *s)
{
    fl_keeper_verify(&s->k);
    fl_keeper_done(&s->k);
    fl_arena_done(&s->arena);
}

static void trim(stage *s, fl_id lot)
{
    fl_keeper_step_as(&s->k, lot,
                      (fl_ev_step){.step = FL_STEP_TRIM,
                                   .dose_mg_per_l = (double)NAN,
                                   .pct = (double)NAN,
                                   .temp_c = (double)NAN,
                                   .minutes = (double)NAN});
}

static fl_trim trim_of(stage *s, fl_id lot)
{
    const fl_trim *trims = NULL;
    fl_keeper_ask(&s->k);
    const size_t n = fl_trims_list(&s->k.room, &s->arena, &trims);
    for (size_t i = 0; i < n; i++) {
        if (fl_id_eq(trims[i].lot->id, lot)) {
            return trims[i];
        }
    }
    fail_msg("the lot is not trimmed");
    return (fl_trim){0}; /* not reached */
}

static void test_by_growth(void **state)
{
    (void)state;
    fl_know_plant row = {.growth_form = "root-climbing vine"};
    check_int(fl_know_trim_days(&row), 42);
    row.growth_form = "upright";
    check_int(fl_know_trim_days(&row), 70);
    row.growth_form = "epiphyte"; /* an air plant has nothing to cut back */
    check_int(fl_know_trim_days(&row), 0);
    row.growth_form = "rosette";
    check_int(fl_know_trim_days(&row), 0);
    row.growth_form = "";
    check_int(fl_know_trim_days(&row), 0);
    check_int(fl_know_trim_days(NULL), 0);
}

/* The wait begins with a trim and with a cutting; a trim missed is due, on a round day. */
static void test_the_wait_begins_anew(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    const fl_id lot = own(&s, s.fig, s.tank);
    trim(&s, lot);
    fl_trim t = trim_of(&s, lot);
    check_int(t.every_days, 42);
    check_int(fl_civil_weekday(t.due_s, s.k.room.tz_offset_min), s.k.room.round_weekday);
    check_true(t.due_s >= FL_KEEPER_START_S + 42 * FL_DAY_S);
    check_true(t.due_s < FL_KEEPER_START_S + 49 * FL_DAY_S);
    fl_keeper_day(&s.k, 30, 0);
    (void)fl_keeper_cut(&s.k, lot, s.tank, 2);
    t = trim_of(&s, lot);
    check_true(t.due_s >= FL_KEEPER_START_S + 72 * FL_DAY_S);
    fl_keeper_day(&s.k, 82, 0);
    fl_today today;
    fl_keeper_ask(&s.k);
    check_ok(fl_today_list(s.k.chances, &s.k.room, &s.arena, &today, &s.k.err), &s.k.err);
    bool is_asked = false;
    for (int i = 0; i < today.n; i++) {
        is_asked = is_asked || today.lines[i].kind == FL_DUE_TRIM;
    }
    check_true(is_asked);
    fl_id *due = NULL;
    check_true(fl_trims_due_in(&s.k.room, s.tank, &s.arena, &due) >= 1);
    trim(&s, lot);
    t = trim_of(&s, lot);
    check_true(t.due_s > FL_KEEPER_START_S + 123 * FL_DAY_S); /* noon of a day */
    fl_keeper_day(&s.k, 160, 0); /* its turn was long missed: it is not asked for until the next */
    t = trim_of(&s, lot);
    check_true(t.due_s > FL_KEEPER_START_S + 165 * FL_DAY_S);
    strike_stage(&s);
}

static void test_the_keepers_own_pace(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    const fl_id lot = own(&s, s.fig, s.tank);
    for (int n = 0; n < 4; n++) {
        fl_keeper_day(&s.k, 21 * n, 0);
        trim(&s, lot);
        check_int(trim_of(&s, lot).is_own, n == 3);
    }
    check_int(trim_of(&s, lot).every_days, 21);
    strike_stage(&s);
}

/* Forty plants that have just moved in: nothing is asked for at once, and never all together. */
static void test_moving_in_is_spread(void **state)
{
    (void)state;
    stage s;
    size_t most = 0;
    set_stage(&s);
    for (int i = 0; i < 40; i++) {
        (void)own(&s, s.fig, s.tank);
    }
    fl_keeper_ask(&s.k);
    const fl_trim *trims = NULL;
    const size_t n = fl_trims_list(&s.k.room, &s.arena, &trims);
    check_int(n, 40);
    check_true(trims[0].due_s >= FL_KEEPER_START_S + 42 * FL_DAY_S);
    for (size_t i = 0; i < n; i++) {
        size_t same = 0;
        for (size_t k = 0; k < n; k++) {
            same += trims[k].due_s == trims[i].due_s;
        }
        most = same > most ? same : most;
    }
    check_true(most <= 20);
    strike_stage(&s);
}

static void test_a_trim_is_no_treatment(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    const fl_id lot = own(&s, s.fig, s.tank);
    fl_keeper_day(&s.k, 10, 0);
    fl_keeper_ask(&s.k);
    const double before = fl_keeper_chance(&s.k, lot, "citrus_mealybug").chance;
    trim(&s, lot);
    fl_keeper_ask(&s.k);
    check_close(fl_keeper_chance(&s.k, lot, "citrus_mealybug").chance, before, 1e-12, 1e-15);
    strike_stage(&s);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_by_growth),
    cmocka_unit_test(test_the_wait_begins_anew),
    cmocka_unit_test(test_the_keepers_own_pace),
    cmocka_unit_test(test_moving_in_is_spread),
    cmocka_unit_test(test_a_trim_is_no_treatment),
};
FL_TEST_MAIN(tests)
