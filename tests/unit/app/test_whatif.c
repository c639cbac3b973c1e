/* What-ifs on whole rooms: what each change moves, what warmth does to the plants, what helps most.
 * Orderings are those of design 4.13; the rest is reasoned at each check. */
#define _GNU_SOURCE
#include <math.h>
#include <string.h>
#include <time.h>

#include "unit/app/looks_stage.h"

static double now_ms(void)
{
    struct timespec now;
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec * 1e3 + (double)now.tv_nsec * 1e-6;
}

static void test_what_ifs(void **unused)
{
    (void)unused;
    stage s;
    set_stage(&s, FL_USE_PLANTS_ONLY, 20.0, FL_EFFORT_GLANCE);
    fl_keeper_day(&s.k, 1, 0);
    open_looks(&s);
    fl_looks_options usual = fl_looks_usual(s.looks);
    fl_what_if what[FL_WHAT_IF_COUNT];
    for (int kind = 0; kind < FL_WHAT_IF_COUNT; kind++) {
        double start_ms = now_ms();
        check_ok(fl_looks_what_if(s.looks, &usual, (fl_what_if_kind)kind, &s.arena, &what[kind],
                                  &s.k.err),
                 &s.k.err);
        print_message(
            "%s: %.1f to %.1f days, %.1f ms\n", fl_words_what_if[kind].word,
            what[kind].usual_s == FL_GATE_NEVER ? -1.0 : days_from_now(&s, what[kind].usual_s),
            what[kind].release_s == FL_GATE_NEVER ? -1.0 : days_from_now(&s, what[kind].release_s),
            now_ms() - start_ms);
        check_true(what[kind].applies == (kind != FL_WHAT_IF_SEALED)); /* the keeper's box does */
        check_true(what[kind].usual_s == what[0].usual_s);
    }
    check_true(what[FL_WHAT_IF_ROOTS].release_s <= what[FL_WHAT_IF_CAREFUL].release_s);
    check_true(what[FL_WHAT_IF_OFTEN].release_s <= what[0].usual_s);
    fl_what_if helps[2];
    int n_helps = 0;
    check_ok(fl_looks_helps(s.looks, &usual, &s.arena, helps, 2, &n_helps, &s.k.err), &s.k.err);
    check_int(n_helps, 2);
    for (int kind = 0; kind < FL_WHAT_IF_COUNT; kind++) { /* none helps more than the first two */
        bool is_one = kind == (int)helps[0].kind || kind == (int)helps[1].kind;
        check_true(is_one || what[kind].release_s >= helps[1].release_s);
    }
    check_true(helps[0].release_s <= helps[1].release_s);
    check_true(what[FL_WHAT_IF_FORTNIGHT].release_s >= what[0].usual_s);
    check_true(what[FL_WHAT_IF_CAREFUL].release_s < what[0].usual_s);
    check_true(what[FL_WHAT_IF_WARM].release_s <= what[0].usual_s);
    check_close(what[FL_WHAT_IF_WARM].from_c, 20.0, 0.0, 0.0);
    check_true(what[FL_WHAT_IF_CARD].release_s <= what[0].usual_s);
    check_int(what[FL_WHAT_IF_CARD].device, FL_DEVICE_YELLOW_CARD);
    /* careful already, warm already, both cards there: nothing to change */
    usual.effort = FL_EFFORT_ROOTS;
    usual.temp_c = 26.0;
    usual.devices = CARD | 1U << FL_DEVICE_BLUE_CARD;
    usual.every_days = 28;
    for (int kind = 0; kind < FL_WHAT_IF_COUNT; kind++) {
        check_ok(fl_looks_what_if(s.looks, &usual, (fl_what_if_kind)kind, &s.arena, &what[kind],
                                  &s.k.err),
                 &s.k.err);
        check_true(what[kind].applies == (kind == FL_WHAT_IF_OFTEN));
        if (!what[kind].applies) {
            check_int(what[kind].release_s, what[kind].usual_s);
        }
    }
    strike_stage(&s);
}

/* What goes to stock never gets quiet enough in a box without a gasket (data/room.csv lets fliers
 * in by the day); closing it gives a date. */
static void test_a_box_that_closes(void **unused)
{
    (void)unused;
    stage s;
    fl_what_if what;
    int n = 0;
    set_stage(&s, FL_USE_STOCK, 23.0, FL_EFFORT_CAREFUL);
    fl_keeper_ask(&s.k);
    fl_event event = {.kind = FL_KIND_PLACE_SET};
    event.body.place_set = *fl_defs_place(&s.k.room.defs, s.bin);
    event.body.place_set.has_gasket = false;
    fl_keeper_record(&s.k, &event);
    fl_keeper_day(&s.k, 1, 0);
    open_looks(&s);
    fl_looks_options usual = fl_looks_usual(s.looks);
    check_ok(fl_looks_helps(s.looks, &usual, &s.arena, &what, 1, &n, &s.k.err), &s.k.err);
    check_int(n, 1);
    int64_t best_s = what.release_s;
    check_ok(fl_looks_what_if(s.looks, &usual, FL_WHAT_IF_SEALED, &s.arena, &what, &s.k.err),
             &s.k.err);
    check_true(what.applies && what.release_s >= best_s);
    check_true(what.usual_s == FL_GATE_NEVER);
    check_true(what.release_s < FL_GATE_NEVER);
    strike_stage(&s);
}

/* One card more when the yellow one hangs: the blue one. */
static void test_the_next_card(void **unused)
{
    (void)unused;
    stage s;
    fl_what_if what;
    set_stage(&s, FL_USE_PLANTS_ONLY, 23.0, FL_EFFORT_CAREFUL);
    hang(&s, FL_DEVICE_YELLOW_CARD);
    fl_keeper_day(&s.k, 1, 0);
    open_looks(&s);
    fl_looks_options usual = fl_looks_usual(s.looks);
    check_ok(fl_looks_what_if(s.looks, &usual, FL_WHAT_IF_CARD, &s.arena, &what, &s.k.err),
             &s.k.err);
    check_true(what.applies);
    check_int(what.device, FL_DEVICE_BLUE_CARD);
    strike_stage(&s);
}

static fl_id arrive_as(stage *s, const char *botanical)
{
    fl_event plant = {.kind = FL_KIND_PLANT_SET};
    plant.body.plant_set = (fl_ev_plant_set){.plant = fl_keeper_id(&s->k),
                                             .name = fl_sv_from_cstr(botanical),
                                             .taxon = fl_sv_from_cstr(botanical)};
    fl_keeper_record(&s->k, &plant);
    fl_event event = {.kind = FL_KIND_LOT_ARRIVED};
    event.body.lot_arrived = (fl_ev_lot_arrived){.lot = fl_keeper_id(&s->k),
                                                 .arrival = fl_keeper_id(&s->k),
                                                 .source = s->store,
                                                 .plant = plant.body.plant_set.plant,
                                                 .count = 1,
                                                 .form = FL_FORM_POTTED,
                                                 .use = FL_USE_PLANTS_ONLY,
                                                 .place = s->bin,
                                                 .cost = (double)NAN};
    fl_keeper_record(&s->k, &event);
    return event.body.lot_arrived.lot;
}

/* Warmth is told plant by plant: the farthest above its best range first, the unknown last. */
static void test_warmth_and_plants(void **unused)
{
    (void)unused;
    stage s;
    fl_what_if what;
    set_stage(&s, FL_USE_PLANTS_ONLY, 20.0, FL_EFFORT_CAREFUL);
    const fl_know_plant *cool = NULL; /* the plant that likes it coolest, and one that likes 25 */
    const fl_know_plant *warm = NULL;
    for (size_t i = 0; i < fl_know_plant_count(); i++) {
        const fl_know_plant *p = fl_know_plant_at(i);
        cool = cool == NULL || p->temp_opt_hi_c < cool->temp_opt_hi_c ? p : cool;
        warm = warm == NULL && p->temp_opt_hi_c >= FL_WHAT_IF_WARM_C ? p : warm;
    }
    check_true(cool != NULL && warm != NULL && cool->temp_opt_hi_c < FL_WHAT_IF_WARM_C);
    fl_id warm_lot = arrive_as(&s, warm->botanical_name);
    fl_id cool_lot = arrive_as(&s, cool->botanical_name);
    fl_keeper_day(&s.k, 1, 0);
    open_looks(&s);
    fl_looks_options usual = fl_looks_usual(s.looks);
    check_ok(fl_looks_what_if(s.looks, &usual, FL_WHAT_IF_WARM, &s.arena, &what, &s.k.err),
             &s.k.err);
    check_int(what.n_plants, 3);
    check_true(fl_id_eq(what.plants[0].lot->id, cool_lot));
    check_close(what.plants[0].over_c, FL_WHAT_IF_WARM_C - cool->temp_opt_hi_c, 0.0, 1e-12);
    check_true(fl_id_eq(what.plants[1].lot->id, warm_lot));
    check_close(what.plants[1].over_c, 0.0, 0.0, 0.0);
    check_true(what.plants[2].plant == NULL && isnan(what.plants[2].over_c));
    strike_stage(&s);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_what_ifs), cmocka_unit_test(test_a_box_that_closes),
    cmocka_unit_test(test_the_next_card), cmocka_unit_test(test_warmth_and_plants)};
FL_TEST_MAIN(tests)
