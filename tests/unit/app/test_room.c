/* A snapshot of the room: finding by what a person typed, names, settings, and rooms that might
 * be. */
#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "support/keeper.h"

#define NO_ID ((fl_id){{0}})

static fl_id plant(fl_keeper *k, const char *name, const char *taxon)
{
    fl_event event = {.kind = FL_KIND_PLANT_SET};
    event.body.plant_set = (fl_ev_plant_set){
        .plant = fl_keeper_id(k), .name = fl_sv_from_cstr(name), .taxon = fl_sv_from_cstr(taxon)};
    fl_keeper_record(k, &event);
    return event.body.plant_set.plant;
}

static fl_id lot_of(fl_keeper *k, fl_id plant_id, fl_id source, fl_id place)
{
    fl_event event = {.kind = FL_KIND_LOT_ARRIVED};
    event.body.lot_arrived = (fl_ev_lot_arrived){.lot = fl_keeper_id(k),
                                                 .arrival = fl_keeper_id(k),
                                                 .source = source,
                                                 .plant = plant_id,
                                                 .count = 1,
                                                 .form = FL_FORM_POTTED,
                                                 .place = place,
                                                 .cost = (double)NAN};
    fl_keeper_record(k, &event);
    return event.body.lot_arrived.lot;
}

static const fl_lot *found_lot(fl_keeper *k, const char *text)
{
    const fl_lot *lot = NULL;
    fl_err_clear(&k->err);
    fl_status status = fl_room_find_lot(&k->room, fl_sv_from_cstr(text), &lot, &k->err);
    return status == FL_OK ? lot : NULL;
}

/* By id, by code in either case, by name, by an unambiguous beginning. */
static void test_finding_a_lot(void **state)
{
    (void)state;
    fl_keeper k;
    char uuid[FL_ID_TEXT_MAX];
    char code[FL_CODE_TEXT_MAX];
    fl_keeper_init(&k);
    fl_id source = fl_keeper_source(&k, "a stall", FL_SOURCE_MARKET_STALL, false);
    fl_id bench = fl_keeper_place(&k, "bench", FL_PLACE_BENCH, 0, 21.0);
    fl_id fern = lot_of(&k, plant(&k, "Button fern", "Pellaea rotundifolia"), source, bench);
    fl_id begonia = lot_of(&k, plant(&k, "Button begonia", ""), source, bench);
    fl_id pilea = lot_of(&k, plant(&k, "Pilea", ""), source, bench);
    fl_keeper_ask(&k);
    check_true(found_lot(&k, fl_id_format(uuid, fern)) == fl_keeper_lot(&k, fern));
    check_true(found_lot(&k, fl_id_code(code, begonia)) == fl_keeper_lot(&k, begonia));
    for (size_t i = 0; code[i] != '\0'; i++) {
        code[i] = (char)tolower((unsigned char)code[i]);
    }
    check_true(found_lot(&k, code) == fl_keeper_lot(&k, begonia));
    check_true(found_lot(&k, "Button fern") == fl_keeper_lot(&k, fern));
    check_true(found_lot(&k, "button FERN") == fl_keeper_lot(&k, fern));
    check_true(found_lot(&k, "pil") == fl_keeper_lot(&k, pilea));
    check_true(found_lot(&k, "button b") == fl_keeper_lot(&k, begonia));
    check_true(found_lot(&k, "button") == NULL);
    check_status(&k.err, FL_EINVAL);
    check_contains(k.err.message, "2 of them fit");
    check_contains(k.err.message, fl_id_code(code, fern));
    check_true(found_lot(&k, "moss") == NULL);
    check_status(&k.err, FL_ENOTFOUND);
    check_contains(k.err.message, "\"moss\"");
    check_true(found_lot(&k, "") == NULL);
    fl_keeper_done(&k);
}

/* The whole name wins over a beginning; what is still there over what is gone; a code over both. */
static void test_the_better_fit(void **state)
{
    (void)state;
    fl_keeper k;
    char code[FL_CODE_TEXT_MAX];
    fl_keeper_init(&k);
    fl_id source = fl_keeper_source(&k, "a stall", FL_SOURCE_MARKET_STALL, false);
    fl_id bench = fl_keeper_place(&k, "bench", FL_PLACE_BENCH, 0, 21.0);
    fl_id outside = fl_keeper_place(&k, "outside", FL_PLACE_OUTSIDE, 0, 21.0);
    fl_id moss = plant(&k, "Moss", "");
    fl_id old = lot_of(&k, moss, source, bench);
    fl_id green = lot_of(&k, plant(&k, "Moss, green", ""), source, bench);
    fl_keeper_day(&k, 1, 0);
    fl_keeper_move(&k, old, outside);
    fl_id new_one = lot_of(&k, moss, source, bench);
    fl_keeper_ask(&k);
    check_true(found_lot(&k, "moss") == fl_keeper_lot(&k, new_one));
    check_true(found_lot(&k, "moss,") == fl_keeper_lot(&k, green));
    check_true(found_lot(&k, fl_id_code(code, old)) == fl_keeper_lot(&k, old));
    fl_keeper_move(&k, new_one, outside);
    fl_keeper_ask(&k);
    check_true(found_lot(&k, "moss, g") == fl_keeper_lot(&k, green));
    check_true(found_lot(&k, "moss") == NULL); /* two of that name, both gone */
    check_status(&k.err, FL_EINVAL);
    fl_keeper_done(&k);
}

static void test_finding_places_sources_plants(void **state)
{
    (void)state;
    fl_keeper k;
    const fl_ev_place_set *place = NULL;
    const fl_ev_source_set *source = NULL;
    const fl_ev_plant_set *found = NULL;
    fl_keeper_init(&k);
    fl_id bin_1 = fl_keeper_place(&k, "bin 1", FL_PLACE_BIN, 0, 21.0);
    fl_id bin_10 = fl_keeper_place(&k, "bin 10", FL_PLACE_BIN, 0, 21.0);
    fl_id store = fl_keeper_source(&k, "Garden store", FL_SOURCE_CHAIN_STORE, false);
    fl_id pilea = plant(&k, "Pilea", "");
    fl_keeper_ask(&k);
    check_ok(fl_room_find_place(&k.room, FL_SV("bin 1"), &place, &k.err), &k.err);
    check_true(fl_id_eq(place->place, bin_1)); /* the whole name, not the beginning of two */
    check_ok(fl_room_find_place(&k.room, FL_SV("BIN 10"), &place, &k.err), &k.err);
    check_true(fl_id_eq(place->place, bin_10));
    check_int(fl_room_find_place(&k.room, FL_SV("bin"), &place, &k.err), FL_EINVAL);
    check_int(fl_room_find_place(&k.room, FL_SV("shelf"), &place, &k.err), FL_ENOTFOUND);
    check_contains(k.err.message, "place");
    check_ok(fl_room_find_source(&k.room, FL_SV("gard"), &source, &k.err), &k.err);
    check_true(fl_id_eq(source->source, store));
    check_ok(fl_room_find_plant(&k.room, FL_SV("PILEA"), &found, &k.err), &k.err);
    check_true(fl_id_eq(found->plant, pilea));
    check_int(fl_room_find_plant(&k.room, FL_SV("garden"), &found, &k.err), FL_ENOTFOUND);
    fl_keeper_done(&k);
}

/* Names a person reads are never empty; the plant's table row is found by its botanical name. */
static void test_names(void **state)
{
    (void)state;
    fl_keeper k;
    fl_keeper_init(&k);
    fl_id source = fl_keeper_source(&k, "a stall", FL_SOURCE_MARKET_STALL, false);
    fl_id bench = fl_keeper_place(&k, "bench", FL_PLACE_BENCH, 0, 21.0);
    const fl_know_plant *row = fl_know_plant_at(0);
    fl_id named = lot_of(&k, plant(&k, "the small one", row->botanical_name), source, bench);
    fl_id bare =
        fl_keeper_arrive(&k, source, fl_keeper_id(&k), bench, FL_FORM_WOOD, FL_USE_PLANTS_ONLY, 1);
    fl_keeper_ask(&k);
    check_sv(fl_room_lot_name(&k.room, fl_keeper_lot(&k, named)), "the small one");
    check_sv(fl_room_lot_name(&k.room, fl_keeper_lot(&k, bare)), "a plant");
    fl_lot unnamed = {.form = FL_FORM_WOOD};
    check_sv(fl_room_lot_name(&k.room, &unnamed), "wood or bark");
    check_true(fl_room_place_name(&k.room, NO_ID).len > 0);
    check_true(fl_room_source_name(&k.room, NO_ID).len > 0);
    check_true(fl_room_plant_row(&k.room, fl_keeper_lot(&k, named)) == row);
    check_true(fl_room_plant_row(&k.room, fl_keeper_lot(&k, bare)) == NULL);
    fl_keeper_done(&k);
}

/* Splits lead to what they were split from; the origin is the oldest of the line. */
static void test_lineage(void **state)
{
    (void)state;
    fl_keeper k;
    fl_keeper_init(&k);
    fl_id source = fl_keeper_source(&k, "a stall", FL_SOURCE_MARKET_STALL, false);
    fl_id bench = fl_keeper_place(&k, "bench", FL_PLACE_BENCH, 0, 21.0);
    fl_id lot =
        fl_keeper_arrive(&k, source, fl_keeper_id(&k), bench, FL_FORM_POTTED, FL_USE_STOCK, 6);
    fl_keeper_day(&k, 1, 0);
    fl_id cutting = fl_keeper_cut(&k, lot, bench, 4);
    fl_keeper_day(&k, 2, 0);
    fl_id split = fl_keeper_split(&k, cutting, 2);
    fl_keeper_day(&k, 3, 0);
    fl_id again = fl_keeper_split(&k, split, 1);
    fl_keeper_ask(&k);
    const fl_lot *row = fl_keeper_lot(&k, again);
    check_true(fl_room_unsplit(&k.room, row) == fl_keeper_lot(&k, cutting));
    check_true(fl_room_origin_of(&k.room, row) == fl_keeper_lot(&k, lot));
    check_true(fl_room_unsplit(&k.room, fl_keeper_lot(&k, lot)) == fl_keeper_lot(&k, lot));
    fl_keeper_done(&k);
}

/* Sunday and a careful look until told; a setting told later, and only part of it. */
static void test_settings(void **state)
{
    (void)state;
    fl_keeper k;
    fl_keeper_init(&k);
    fl_keeper_ask(&k);
    check_int(k.room.round_weekday, 6);
    check_int(k.room.round_effort, FL_EFFORT_CAREFUL);
    check_true(k.room.name.len > 0);
    fl_event set = {.kind = FL_KIND_ROOM_SET};
    set.body.room_set = (fl_ev_room_set){
        .name = FL_SV("the cellar"), .round_weekday = 2, .round_effort = FL_EFFORT_GLANCE};
    fl_keeper_record(&k, &set);
    fl_keeper_day(&k, 1, 0);
    set.body.room_set = (fl_ev_room_set){.round_weekday = -1, .round_effort = FL_EFFORT_ROOTS};
    fl_keeper_record(&k, &set);
    fl_keeper_ask(&k);
    check_sv(k.room.name, "the cellar");
    check_int(k.room.round_weekday, 2);
    check_int(k.room.round_effort, FL_EFFORT_ROOTS);
    fl_keeper_done(&k);
}

/* A room with one event more is another room: the first and the file are as they were. */
static void test_what_if(void **state)
{
    (void)state;
    fl_keeper k;
    fl_room with;
    fl_keeper_init(&k);
    fl_id source = fl_keeper_source(&k, "a stall", FL_SOURCE_MARKET_STALL, false);
    fl_id bench = fl_keeper_place(&k, "bench", FL_PLACE_BENCH, 0, 21.0);
    fl_id bin = fl_keeper_place(&k, "bin 1", FL_PLACE_BIN, 0, 21.0);
    fl_id lot =
        fl_keeper_arrive(&k, source, fl_keeper_id(&k), bench, FL_FORM_POTTED, FL_USE_STOCK, 1);
    fl_keeper_day(&k, 1, 0);
    fl_keeper_ask(&k);
    fl_event move = {.kind = FL_KIND_LOT_MOVED, .at_s = k.now_s, .id = fl_keeper_id(&k)};
    move.body.lot_moved = (fl_ev_lot_moved){.lots = {&lot, 1}, .to = bin};
    check_ok(fl_room_with(&k.room, &move, 1, &with, &k.err), &k.err);
    check_true(fl_id_eq(fl_meaning_lot(&with.meaning, lot)->place, bin));
    check_int(with.n_events, k.room.n_events + 1);
    check_true(fl_id_eq(fl_keeper_lot(&k, lot)->place, bench));
    fl_room_done(&with);
    fl_keeper_verify(&k);
    fl_keeper_done(&k);
}

static const struct CMUnitTest tests[] = {cmocka_unit_test(test_finding_a_lot),
                                          cmocka_unit_test(test_the_better_fit),
                                          cmocka_unit_test(test_finding_places_sources_plants),
                                          cmocka_unit_test(test_names),
                                          cmocka_unit_test(test_lineage),
                                          cmocka_unit_test(test_settings),
                                          cmocka_unit_test(test_what_if)};
FL_TEST_MAIN(tests)
