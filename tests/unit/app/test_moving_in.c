/* A pasted collection: the shapes people write, what is not understood, and that the same list
 * twice is recorded once. The shapes are our own; no source. */
#include <stdio.h>

#include "app/moving_in.h"
#include "base/str.h"
#include "support/keeper.h"

#define KEY ((fl_id){{7}})

typedef struct stage {
    fl_keeper k;
    fl_arena arena;
    fl_moving_in m;
} stage;

static void set_stage(stage *s)
{
    fl_keeper_init(&s->k);
    fl_arena_init(&s->arena);
}

static void strike_stage(stage *s)
{
    fl_keeper_verify(&s->k);
    fl_keeper_done(&s->k);
    fl_arena_done(&s->arena);
}

static void read_list(stage *s, const char *text)
{
    fl_keeper_ask(&s->k);
    check_ok(fl_moving_in_read(&s->k.room, fl_sv_from_cstr(text), KEY, &s->arena, &s->m, &s->k.err),
             &s->k.err);
}

static size_t record(stage *s)
{
    fl_event *events = NULL;
    size_t n = 0;
    fl_moving_in_events(&s->m, KEY, s->k.now_s, &s->arena, &events, &n);
    check_ok(fl_app_record_events(&s->k.app, events, n, &s->k.err), &s->k.err);
    return n;
}

static void check_lot(const stage *s, size_t i, const char *place, const char *name, int64_t count)
{
    check_true(i < s->m.n_lots);
    check_sv(s->m.lots[i].place->name, place);
    check_sv(s->m.lots[i].name, name);
    check_int(s->m.lots[i].count, count);
}

static void test_shapes(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    read_list(&s, "Brook (5 small frogs): 3 Ficus pumila, Pilea cadierei x2 , moss\r\n"
                  "\n"
                  "Ledge (one gecko, springtails):\n"
                  "- 2x Peperomia caperata\n"
                  "* Nepenthes x ventrata\n"
                  "Epipremnum aureum (4)\n"
                  "brook:\n"
                  "4 x fern\n"
                  "mother bin (mothers)\tSyngonium podophyllum\t3\r\n"
                  "\tripple peperomia\t\r\n");
    check_int(s.m.n_troubles, 0);
    check_int(s.m.n_places, 3);
    check_int(s.m.n_lots, 9);
    check_lot(&s, 0, "Brook", "Ficus pumila", 3);
    check_lot(&s, 1, "Brook", "Pilea cadierei", 2);
    check_lot(&s, 2, "Brook", "moss", 1);
    check_lot(&s, 3, "Ledge", "Peperomia caperata", 2);
    check_lot(&s, 4, "Ledge", "Nepenthes x ventrata", 1);
    check_lot(&s, 5, "Ledge", "Epipremnum aureum", 4);
    check_lot(&s, 6, "Brook", "fern", 4);
    check_lot(&s, 7, "mother bin", "Syngonium podophyllum", 3);
    check_lot(&s, 8, "mother bin", "ripple peperomia", 1);
    check_int(s.m.places[0].uses, 1U << FL_USE_AMPHIBIAN);
    check_int(s.m.places[1].uses, 1U << FL_USE_REPTILE | 1U << FL_USE_INVERTEBRATE);
    check_int(s.m.places[2].uses, 1U << FL_USE_STOCK);
    check_int(s.m.places[2].kind, FL_PLACE_BIN);
    check_sv(s.m.places[0].animals, "5 small frogs");
    check_int(s.m.places[2].animals.len, 0);
    check_true(s.m.lots[0].row != NULL);
    check_true(s.m.lots[2].row == NULL);
    strike_stage(&s);
}

static void test_what_is_not_understood(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    read_list(&s, "3 Ficus pumila\n"
                  ": moss\n"
                  "place\tplant\tcount\n"
                  "Ledge: fern\n");
    check_int(s.m.n_troubles, 4);
    check_int(s.m.troubles[0].line, 1);
    check_contains(s.m.troubles[0].text.ptr, "no place is named yet");
    check_int(s.m.troubles[1].line, 2);
    check_int(s.m.troubles[3].line, 3);
    check_contains(s.m.troubles[3].text.ptr, "a whole number");
    check_int(s.m.n_lots, 1);
    read_list(&s, "place\tplant\tcount\nLedge\tfern\t2\n"); /* names of columns come first */
    check_int(s.m.n_troubles, 0);
    check_int(s.m.n_lots, 1);
    read_list(&s, "Tank: P\x01ilea\nTank: Ficus\x7f"); /* found by tests/fuzz/fuzz_lots */
    check_int(s.m.n_troubles, 2);
    check_contains(s.m.troubles[0].text.ptr, "a control character");
    char list[800] = "";
    (void)snprintf(list, sizeof list, "Tank: %0201d\n%0201d: moss\nTank (%0201d): moss", 1, 2, 3);
    read_list(&s, list);                  /* likewise */
    check_int(s.m.n_troubles, 1 + 2 + 2); /* the moss of a place that was not taken is told too */
    check_contains(s.m.troubles[0].text.ptr, "longer than 200 bytes");
    strike_stage(&s);
}

/* 14 enclosures and 120 plants: nothing is blocked, nothing is due today, and the list again under
 * the same key is already recorded. */
static void test_a_whole_collection(void **state)
{
    (void)state;
    stage s;
    fl_str text;
    set_stage(&s);
    fl_str_init(&text, FL_MOVING_IN_BYTES_MAX);
    for (int place = 1; place <= 14; place++) {
        fl_str_appendf(&text, "Tank %d%s:\n", place, place % 2 == 0 ? " (frogs)" : "");
        for (int plant = 1; plant <= 8 + (place <= 8); plant++) {
            fl_str_appendf(&text, "%d plant no. %d\n", 1 + plant % 3, (place * plant) % 40);
        }
    }
    read_list(&s, text.ptr);
    check_int(s.m.n_troubles, 0);
    check_int(s.m.n_places, 14);
    check_int(s.m.n_lots, 120);
    const size_t n = record(&s);
    check_true(n > 134 && n < 14 + 2 * 120);
    read_list(&s, text.ptr);
    check_true(!s.m.places[0].is_new && !s.m.lots[0].is_new);
    check_int(record(&s), 120); /* the lots only; each already recorded */
    fl_keeper_ask(&s.k);
    check_int(s.k.room.meaning.n_lots, 120);
    check_int(s.k.room.meaning.n_conflicts, 0);
    check_int(s.k.room.meaning.n_holds, 0);
    check_int(s.k.room.defs.places.count, 14);
    fl_str_done(&text);
    strike_stage(&s);
}

static void test_limits(void **state)
{
    (void)state;
    stage s;
    fl_str text;
    set_stage(&s);
    fl_keeper_ask(&s.k);
    fl_str_init(&text, FL_MOVING_IN_BYTES_MAX);
    fl_str_append_cstr(&text, "Tank:\n");
    for (int i = 0; i <= FL_MOVING_IN_LOTS_MAX; i++) {
        fl_str_append_cstr(&text, "moss\n");
    }
    check_int(fl_moving_in_read(&s.k.room, fl_str_sv(&text), KEY, &s.arena, &s.m, &s.k.err),
              FL_ETOOBIG);
    check_contains(s.k.err.message, "more than 400 plants");
    fl_str_done(&text);
    strike_stage(&s);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_shapes),
    cmocka_unit_test(test_what_is_not_understood),
    cmocka_unit_test(test_a_whole_collection),
    cmocka_unit_test(test_limits),
};
FL_TEST_MAIN(tests)
