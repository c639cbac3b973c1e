/* A voided event stays voided in the live tables, whatever is recorded later about the same lots
 * and places; a voided voiding brings its event back. `verify` compares with the whole journal. */
#include "support/keeper.h"

/* The id of the voiding. */
static fl_id void_event(fl_keeper *k, fl_id event)
{
    fl_event voiding = {.kind = FL_KIND_EVENT_VOIDED};
    voiding.body.event_voided = (fl_ev_event_voided){.event = event, .why = FL_SV("the wrong bin")};
    fl_keeper_record(k, &voiding);
    return voiding.id;
}

static fl_id move(fl_keeper *k, fl_id lot, fl_id to)
{
    fl_event event = {.kind = FL_KIND_LOT_MOVED};
    event.body.lot_moved = (fl_ev_lot_moved){.lots = {&lot, 1}, .to = to};
    fl_keeper_record(k, &event);
    return event.id;
}

static void check_place(fl_keeper *k, fl_id lot, fl_id place)
{
    fl_keeper_verify(k);
    fl_keeper_ask(k);
    check_true(fl_id_eq(fl_keeper_lot(k, lot)->place, place));
}

static void test_later_events(void **state)
{
    (void)state;
    fl_keeper k;
    fl_keeper_init(&k);
    fl_id source = fl_keeper_source(&k, "a nursery", FL_SOURCE_NURSERY, false);
    fl_id bench = fl_keeper_place(&k, "bench", FL_PLACE_BENCH, 0, 20.0);
    fl_id wrong = fl_keeper_place(&k, "bin 1", FL_PLACE_BIN, 0, 22.0);
    fl_id right = fl_keeper_place(&k, "bin 2", FL_PLACE_BIN, 0, 22.0);
    fl_id lot = fl_keeper_arrive(&k, source, fl_keeper_id(&k), bench, FL_FORM_POTTED,
                                 FL_USE_PLANTS_ONLY, 1);
    fl_keeper_day(&k, 0, 1);
    fl_id slip = move(&k, lot, wrong);
    fl_keeper_day(&k, 0, 2);
    (void)void_event(&k, slip);
    check_place(&k, lot, bench);
    fl_keeper_day(&k, 0, 3);
    (void)move(&k, lot, right);
    check_place(&k, lot, right); /* the stay on the bench ends here, not at the voided move */
    fl_keeper_day(&k, 7, 0);
    (void)fl_keeper_look(&k, right, FL_EFFORT_CAREFUL, 0, NULL, lot);
    fl_keeper_clean(&k, wrong);
    check_place(&k, lot, right);
    fl_keeper_done(&k);
}

static void test_voided_voiding(void **state)
{
    (void)state;
    fl_keeper k;
    fl_keeper_init(&k);
    fl_id bin_1 = fl_keeper_place(&k, "bin 1", FL_PLACE_BIN, 0, 22.0);
    fl_id bin_2 = fl_keeper_place(&k, "bin 2", FL_PLACE_BIN, 0, 22.0);
    fl_id lot = fl_keeper_already_here(&k, bin_1, 2);
    fl_keeper_day(&k, 1, 0);
    fl_id moved = move(&k, lot, bin_2);
    fl_keeper_day(&k, 2, 0);
    fl_id voiding = void_event(&k, moved);
    check_place(&k, lot, bin_1);
    fl_keeper_day(&k, 3, 0);
    (void)void_event(&k, voiding);
    check_place(&k, lot, bin_2);
    fl_keeper_day(&k, 4, 0);
    (void)fl_keeper_look(&k, bin_2, FL_EFFORT_CAREFUL, 0, NULL, lot);
    check_place(&k, lot, bin_2);
    fl_keeper_done(&k);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_later_events),
    cmocka_unit_test(test_voided_voiding),
};
FL_TEST_MAIN(tests)
