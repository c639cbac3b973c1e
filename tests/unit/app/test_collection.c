/* The collection by plant: mothers, back-ups, cuttings that lived; and Wilson's interval by its own
 * definition (Wilson 1927: the p for which the observed share is exactly z standard errors off). */
#include <math.h>

#include "app/build.h"
#include "app/collection.h"
#include "support/keeper.h"
#include "view/collection.h"

typedef struct stage {
    fl_keeper k;
    fl_arena arena;
    fl_id bin_a, bin_b, tank, fig;
    fl_collection c;
} stage;

static fl_id plant(fl_keeper *k, const char *name, bool is_mother)
{
    fl_event event = {.kind = FL_KIND_PLANT_SET};
    event.body.plant_set = (fl_ev_plant_set){
        .plant = fl_keeper_id(k), .name = fl_sv_from_cstr(name), .is_mother = is_mother};
    fl_keeper_record(k, &event);
    return event.body.plant_set.plant;
}

static fl_id own(stage *s, fl_id plant_id, fl_id place, int count)
{
    fl_event event = {.kind = FL_KIND_LOT_ALREADY_HERE};
    event.body.lot_already_here = (fl_ev_lot_already_here){.lot = fl_keeper_id(&s->k),
                                                           .plant = plant_id,
                                                           .count = count,
                                                           .form = FL_FORM_POTTED,
                                                           .use = FL_USE_PLANTS_ONLY,
                                                           .place = place};
    fl_keeper_record(&s->k, &event);
    return event.body.lot_already_here.lot;
}

static void lose(stage *s, fl_id lot, int count)
{
    fl_event event = {.kind = FL_KIND_LOT_LOST};
    event.body.lot_lost = (fl_ev_lot_lost){.lot = lot, .count = count};
    fl_keeper_record(&s->k, &event);
}

static void set_stage(stage *s)
{
    *s = (stage){0};
    fl_keeper_init(&s->k);
    fl_arena_init(&s->arena);
    s->bin_a = fl_keeper_place(&s->k, "bin a", FL_PLACE_BIN, 1U << FL_USE_STOCK, 23.0);
    s->bin_b = fl_keeper_place(&s->k, "bin b", FL_PLACE_BIN, 1U << FL_USE_STOCK, 23.0);
    s->tank = fl_keeper_place(&s->k, "tank", FL_PLACE_ENCLOSURE, 1U << FL_USE_PLANTS_ONLY, 23.0);
    s->fig = plant(&s->k, "fig", true);
}

static void gather(stage *s)
{
    fl_keeper_ask(&s->k);
    check_ok(fl_collection_make(&s->k.room, s->k.chances, &s->arena, &s->c, &s->k.err), &s->k.err);
}

static void strike_stage(stage *s)
{
    fl_keeper_verify(&s->k);
    fl_keeper_done(&s->k);
    fl_arena_done(&s->arena);
}

static void test_mothers_and_cuttings(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    const fl_id mother = own(&s, s.fig, s.bin_a, 2);
    (void)own(&s, s.fig, s.tank, 5); /* in an enclosure: no mother */
    (void)own(&s, plant(&s.k, "fern", false), s.bin_b, 1);
    fl_keeper_day(&s.k, 1, 0);
    const fl_id cut = fl_keeper_cut(&s.k, mother, s.bin_b, 4);
    fl_keeper_day(&s.k, 10, 0);
    lose(&s, cut, 1);
    lose(&s, mother, 1); /* no cutting */
    gather(&s);
    check_int(s.c.n_plants, 2);
    const fl_collection_plant *fern = &s.c.plants[0];
    const fl_collection_plant *fig = &s.c.plants[1];
    check_sv(fern->name, "fern");
    check_int(fern->n_mothers, 0);
    check_int(fig->count, 1 + 5 + 3);
    check_int(fig->n_lots, 3);
    check_int(fig->n_mothers, 1);
    check_int(fig->n_mother_places, 1);
    check_int(fig->n_cut, 4);
    check_int(fig->n_lost, 1);
    check_true(fig->lots[0].is_mother && fl_id_eq(fig->lots[0].lot->id, mother));
    check_int(fig->lots[0].giving.next_day, 56 - 9); /* by growth: it has no row */
    check_false(fig->lots[0].giving.is_own);
    check_false(fig->has_backup);
    check_sv(fl_say_no_backup(&s.c, &s.arena),
             "Mothers in one place only, without a back-up: fig.");
    (void)own(&s, s.fig, s.bin_b, 1);
    gather(&s);
    check_int(s.c.plants[1].n_mothers, 2);
    check_int(s.c.plants[1].n_mother_places, 2);
    check_true(s.c.plants[1].has_backup);
    check_int(fl_say_no_backup(&s.c, &s.arena).len, 0);
    strike_stage(&s);
}

/* A shop plant of yesterday is quiet enough for nothing; the gate is what says it. */
static void test_quiet_for(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    const fl_id store = fl_keeper_source(&s.k, "store", FL_SOURCE_CHAIN_STORE, false);
    (void)fl_keeper_arrive(&s.k, store, fl_keeper_id(&s.k), s.bin_a, FL_FORM_POTTED,
                           FL_USE_PLANTS_ONLY, 1);
    gather(&s);
    check_int(s.c.n_plants, 1);
    check_int(s.c.plants[0].lots[0].quiet_for, 0);
    for (int use = 0; use < FL_USE_COUNT; use++) {
        check_false(fl_keeper_gate(&s.k, s.c.plants[0].lots[0].lot->id, 1U << use).answer.is_open);
    }
    strike_stage(&s);
}

static void test_wilson(void **state)
{
    (void)state;
    static const struct {
        int64_t n, lost;
    } cases[] = {{20, 20}, {29, 0}, {16, 2}, {263, 182}, {1, 0}};
    const double z = 1.959963984540054;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        const double n = (double)cases[i].n;
        double share;
        double low;
        double high;
        fl_collection_success(cases[i].n, cases[i].lost, &share, &low, &high);
        check_close(share, (n - (double)cases[i].lost) / n, 1e-15, 1e-15);
        check_true(low >= 0.0 && low <= share && share <= high && high <= 1.0);
        check_close((share - low) * (share - low), z * z * low * (1.0 - low) / n, 1e-9, 1e-15);
        check_close((share - high) * (share - high), z * z * high * (1.0 - high) / n, 1e-9, 1e-15);
    }
}

/* By how it grows while the record says little; by the record once it says enough: the medians of
 * what was taken at a time and of the days between. */
static void test_what_a_mother_gives(void **state)
{
    (void)state;
    static const int day[] = {0, 30, 60, 100};
    static const int count[] = {4, 6, 5, 5};
    fl_know_plant row = {.growth_form = "creeping epiphyte"};
    stage s;
    fl_giving g;
    check_int(fl_know_growth(&row)->spare, 3);
    row.growth_form = "tank rosette (stolon/pup)"; /* it divides first */
    check_int(fl_know_growth(&row)->again_days, 84);
    check_int(fl_know_growth(NULL)->spare, 2);
    set_stage(&s);
    const fl_id mother = own(&s, s.fig, s.bin_a, 1);
    for (size_t i = 0; i < sizeof day / sizeof day[0]; i++) {
        fl_keeper_day(&s.k, day[i], 0);
        (void)fl_keeper_cut(&s.k, mother, s.bin_b, count[i]);
        fl_keeper_ask(&s.k);
        fl_giving_of(&s.k.room, fl_keeper_lot(&s.k, mother), &s.arena, &g);
        check_int(g.is_own, i == 3);
    }
    check_int(g.n_takings, 4);
    check_int(g.spare, 5);       /* 4, 5, 5, 6 */
    check_int(g.again_days, 30); /* 30, 30, 40 */
    check_int(g.next_day, 30);
    fl_keeper_day(&s.k, 125, 0);
    fl_keeper_ask(&s.k);
    fl_giving_of(&s.k.room, fl_keeper_lot(&s.k, mother), &s.arena, &g);
    check_int(g.next_day, 5);
    strike_stage(&s);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_what_a_mother_gives),
    cmocka_unit_test(test_mothers_and_cuttings),
    cmocka_unit_test(test_quiet_for),
    cmocka_unit_test(test_wilson),
};
FL_TEST_MAIN(tests)
