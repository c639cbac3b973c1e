/* A room that is loaded on from what was read before is the room as it is loaded anew, whatever was
 * recorded meanwhile: at the tip, late, voided; and of another file nothing is taken over. The
 * reference is fl_room_load. */
#include <string.h>

#include "support/keeper.h"

static void check_same(fl_keeper *k, fl_room_past *past)
{
    fl_room on;
    fl_room anew;
    check_ok(fl_room_load_on(&k->app, past, &on, &k->err), &k->err);
    check_ok(fl_room_load(&k->app, &anew, &k->err), &k->err);
    check_int(on.position, anew.position);
    check_int(on.n_events, anew.n_events);
    check_int(on.n_voided, anew.n_voided);
    check_int(on.meaning.n_lots, anew.meaning.n_lots);
    check_int(on.defs.places.count, anew.defs.places.count);
    for (size_t i = 0; i < on.n_events; i++) {
        check_true(fl_event_compare(&on.events[i], &anew.events[i]) == 0);
        check_true(fl_id_eq(on.events[i].id, anew.events[i].id));
        check_int(on.events[i].kind, anew.events[i].kind);
    }
    for (size_t i = 0; i < on.n_voided; i++) {
        check_true(fl_id_eq(on.voided[i].id, anew.voided[i].id));
    }
    fl_room_done(&on);
    fl_room_done(&anew);
}

static void test_events_one_by_one(void **state)
{
    fl_keeper k;
    fl_keeper other;
    fl_room_past past = {.position = 0};
    (void)state;
    fl_keeper_init(&k);
    check_same(&k, &past);
    fl_id shop = fl_keeper_source(&k, "a shop", FL_SOURCE_CHAIN_STORE, false);
    fl_id bench = fl_keeper_place(&k, "the bench", FL_PLACE_BENCH, 0, 21.0);
    fl_id bin = fl_keeper_place(&k, "bin 1", FL_PLACE_BIN, 0, 23.0);
    check_same(&k, &past);
    fl_id lot =
        fl_keeper_arrive(&k, shop, fl_keeper_id(&k), bench, FL_FORM_POTTED, FL_USE_STOCK, 2);
    fl_keeper_day(&k, 9, 0);
    fl_keeper_look(&k, bin, FL_EFFORT_CAREFUL, 0, NULL, lot);
    check_same(&k, &past);
    fl_keeper_day(&k, 3, 0); /* late */
    fl_keeper_move(&k, lot, bin);
    check_same(&k, &past);
    fl_event gone = {.kind = FL_KIND_EVENT_VOIDED};
    fl_keeper_day(&k, 9, 1);
    fl_keeper_ask(&k);
    gone.body.event_voided.event = k.room.events[k.room.n_events - 1].id;
    fl_keeper_record(&k, &gone);
    check_same(&k, &past);
    check_same(&k, &past);
    fl_keeper_init(&other); /* another file, as long as this one and longer */
    other.next_id += 5000;
    for (int i = 0; i < 12; i++) {
        (void)fl_keeper_place(&other, "a bin", FL_PLACE_BIN, 0, 20.0 + i);
        check_same(i % 2 == 0 ? &other : &k, &past);
    }
    fl_room_past_done(&past);
    fl_keeper_done(&other);
    fl_keeper_done(&k);
}

static const struct CMUnitTest tests[] = {cmocka_unit_test(test_events_one_by_one)};
FL_TEST_MAIN(tests)
