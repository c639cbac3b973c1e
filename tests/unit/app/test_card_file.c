/* app/card.h, card_file.h, card_take.h: a card goes out, comes into another room, and is there as
 * told by another; what is no card is refused. The form is schema/history_card.json; that an
 * independent validator agrees is tests/browser/schema-ajv.test.mjs. */
#include <string.h>

#include "app/card_take.h"
#include "app/card_told.h"
#include "json/json.h"
#include "support/keeper.h"

static fl_id a_life(fl_keeper *k)
{
    fl_id shop = fl_keeper_source(k, "Corner Nursery", FL_SOURCE_NURSERY, true);
    fl_id bench = fl_keeper_place(k, "bench", FL_PLACE_BENCH, 0, 21.0);
    fl_id bin = fl_keeper_place(k, "bin 1", FL_PLACE_BIN, 0, 23.0);
    fl_id mother =
        fl_keeper_arrive(k, shop, fl_keeper_id(k), bench, FL_FORM_POTTED, FL_USE_STOCK, 2);
    fl_keeper_step(k, &mother, 1, FL_STEP_RINSE, FL_AGENT_NONE, "");
    fl_keeper_move(k, mother, bin);
    for (int week = 1; week < 5; week++) {
        fl_keeper_day(k, 7 * week, 0);
        (void)fl_keeper_look(k, bin, FL_EFFORT_CAREFUL, 0, week == 2 ? "fungus_gnat" : NULL,
                             mother);
    }
    fl_id cutting = fl_keeper_cut(k, mother, bench, 3);
    fl_keeper_day(k, 40, 0);
    (void)fl_keeper_look(k, bench, FL_EFFORT_ROOTS, 0, NULL, cutting);
    fl_keeper_ask(k);
    return cutting;
}

static void write_card(fl_keeper *k, fl_id lot, fl_arena *arena, fl_str *out)
{
    fl_card card;
    size_t n_left_out = 9;
    check_ok(fl_card_make(&k->room, k->chances, fl_keeper_lot(k, lot), arena, &card, &k->err),
             &k->err);
    fl_str_init(out, FL_CARD_BYTES_MAX + 1);
    check_ok(fl_card_write(&card, out, &n_left_out, &k->err), &k->err);
    check_int(n_left_out, 0);
    check_true(card.n_chances > 0 && card.n_assumed >= 4);
}

static void test_what_is_on_it(void **state)
{
    fl_keeper k;
    fl_arena arena;
    fl_str text;
    (void)state;
    fl_keeper_init(&k);
    fl_arena_init(&arena);
    write_card(&k, a_life(&k), &arena, &text);
    check_contains(text.ptr, "no official phytosanitary document");
    check_contains(text.ptr, "3 taken as unrooted cutting");
    check_contains(text.ptr, "a look at the roots: nothing found");
    check_contains(text.ptr, "fungus gnat");
    check_contains(text.ptr, "from Corner Nursery (nursery)");
    check_contains(text.ptr, "\"is_mother\": true");
    check_contains(text.ptr, "\"keeps_animals\": true");
    check_true(strstr(text.ptr, "\"signature\"") == NULL);
    fl_str_done(&text);
    fl_arena_done(&arena);
    fl_keeper_done(&k);
}

static void test_told_by_another(void **state)
{
    fl_keeper giver;
    fl_keeper taker;
    fl_arena arena;
    fl_str text;
    fl_card_read card;
    fl_id lot;
    fl_card_line *told = NULL;
    size_t n = 0;
    (void)state;
    fl_keeper_init(&giver);
    fl_keeper_init(&taker);
    fl_arena_init(&arena);
    write_card(&giver, a_life(&giver), &arena, &text);
    check_ok(fl_card_parse((fl_sv){text.ptr, text.len}, &arena, &card, &taker.err), &taker.err);
    check_int(card.form, FL_FORM_UNROOTED_CUTTING);
    check_int(card.count, 3);
    (void)fl_keeper_source(&taker, "Ines", FL_SOURCE_TRADE, false);
    (void)fl_keeper_place(&taker, "bench", FL_PLACE_BENCH, 0, 21.0);
    fl_keeper_day(&taker, 50, 0);
    fl_keeper_ask(&taker);
    const fl_card_taking taking = {.key = fl_id_random(),
                                   .source = FL_SV("Ines"),
                                   .place = FL_SV("bench"),
                                   .use = FL_USE_STOCK,
                                   .count = 1,
                                   .at_s = taker.now_s};
    check_ok(fl_card_take(&taker.app, &taker.room, &card, &taking, &lot, &taker.err), &taker.err);
    fl_keeper_ask(&taker);
    check_int(fl_keeper_lot(&taker, lot)->count, 1);
    check_ok(fl_card_told(&taker.room, fl_keeper_lot(&taker, lot), &arena, &told, &n, &taker.err),
             &taker.err);
    check_int(n, card.n_past);
    for (size_t i = 0; i < n; i++) {
        check_sv(told[i].teller, card.from.ptr);
    }
    /* sent twice it is recorded once */
    int64_t before = 0;
    int64_t after = 0;
    check_ok(fl_app_position(&taker.app, &before, &taker.err), &taker.err);
    check_ok(fl_card_take(&taker.app, &taker.room, &card, &taking, &lot, &taker.err), &taker.err);
    check_ok(fl_app_position(&taker.app, &after, &taker.err), &taker.err);
    check_int(before, after);
    /* handed on, the told lines say who told them first */
    fl_str again;
    write_card(&taker, lot, &arena, &again);
    check_contains(again.ptr, "\"teller\": ");
    check_contains(again.ptr, "a look at the roots: nothing found");
    fl_verified verified;
    check_ok(fl_app_verify(&taker.app, &verified, &taker.err), &taker.err);
    fl_str_done(&again);
    fl_str_done(&text);
    fl_arena_done(&arena);
    fl_keeper_done(&taker);
    fl_keeper_done(&giver);
}

static void test_refused(void **state)
{
    static const struct {
        const char *text;
        fl_status status;
    } cases[] = {
        {"no json", FL_EFORMAT},
        {"{}", FL_EINVAL},
        {"{\"format\":\"fernlock-history\",\"version\":2}", FL_EINVAL},
        {"{\"format\":\"fernlock-history\",\"version\":1}", FL_EINVAL},
        {"[]", FL_EINVAL},
    };
    fl_arena arena;
    fl_card_read card;
    (void)state;
    fl_arena_init(&arena);
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        fl_err err = {0};
        check_int(fl_card_parse(fl_sv_from_cstr(cases[i].text), &arena, &card, &err),
                  cases[i].status);
        check_status(&err, cases[i].status);
    }
    fl_arena_done(&arena);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_what_is_on_it),
    cmocka_unit_test(test_told_by_another),
    cmocka_unit_test(test_refused),
};
FL_TEST_MAIN(tests)
