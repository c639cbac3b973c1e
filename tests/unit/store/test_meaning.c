/* The live tables: rows come back as they went in and in the order that fl_meaning demands, and a
 * replacement touches only its own lots and places. */
#include <string.h>

#include <sqlite3.h>

#include "support/room.h"

static int setup(void **state)
{
    static fl_test_room room;
    fl_test_room_init(&room);
    *state = &room;
    return 0;
}

static int teardown(void **state)
{
    fl_test_room_done(*state);
    return 0;
}

#define ID(n) fl_test_id(n)

/* Two lots (1, 2), two places (11, 12), all optional members once present and once absent. */
typedef struct world {
    fl_lot lots[2];
    fl_stay stays[3];
    fl_fill fills[3];
    fl_hold holds[3];
    fl_finding_now findings[3];
    fl_conflict conflicts[6];
    fl_meaning meaning;
} world;

static void make_lots(world *w)
{
    w->lots[0] = (fl_lot){.id = ID(1),
                          .born_by = ID(101),
                          .origin = FL_KIND_LOT_CUT,
                          .born_s = -5,
                          .precision = FL_PRECISION_YEAR,
                          .mother = ID(2),
                          .arrival = ID(301),
                          .source = ID(302),
                          .plant = ID(303),
                          .name = FL_SV("fern \xc2\xb7 n\xc2\xb0 1"),
                          .form = FL_FORM_CULTURE,
                          .use = FL_USE_STOCK,
                          .label_active = FL_SV("imidacloprid"),
                          .is_label_clean = true,
                          .count_born = 8,
                          .count = 3,
                          .place = ID(11),
                          .released_by = ID(109)};
    w->lots[1] = (fl_lot){
        .id = ID(2), .born_by = ID(102), .origin = FL_KIND_LOT_ALREADY_HERE, .is_gone = true};
    w->stays[0] = (fl_stay){ID(1), ID(11), 10, 10, ID(101), ID(103)}; /* of no length */
    w->stays[1] = (fl_stay){ID(1), ID(12), 10, FL_TIME_OPEN, ID(103), {{0}}};
    w->stays[2] = (fl_stay){ID(2), ID(11), -9, 0, ID(102), ID(104)};
}

static void make_places(world *w)
{
    w->fills[0] = (fl_fill){ID(401), ID(11), -9, 0, ID(102), ID(105), false};
    w->fills[1] = (fl_fill){ID(402), ID(11), 0, FL_TIME_OPEN, ID(105), {{0}}, true};
    w->fills[2] = (fl_fill){ID(403), ID(12), 10, FL_TIME_OPEN, ID(103), {{0}}, false};
    w->holds[0] =
        (fl_hold){ID(501), ID(11), FL_HOLD_BY_FINDING, ID(106), ID(601), 3, 9, ID(107), FL_SV("")};
    w->holds[1] = (fl_hold){ID(502),      ID(11), FL_HOLD_BY_KEEPER, ID(106), {{0}}, 3,
                            FL_TIME_OPEN, {{0}},  FL_SV("a feeling")};
    w->holds[2] =
        (fl_hold){ID(500), ID(12), FL_HOLD_BY_ANIMAL, ID(108), {{0}}, 1, 2, ID(107), FL_SV("")};
    w->findings[0] = (fl_finding_now){ID(602),
                                      ID(106),
                                      ID(12),
                                      ID(1),
                                      2,
                                      FL_SV("thrips"),
                                      FL_SV("larva"),
                                      7,
                                      true,
                                      false,
                                      FL_SV("thin, pale")};
    w->findings[1] = (fl_finding_now){.finding = ID(601),
                                      .look = ID(106),
                                      .place = ID(11),
                                      .at_s = 3,
                                      .count = 1,
                                      .is_retracted = true};
    w->findings[2] = (fl_finding_now){
        .finding = ID(603), .look = ID(106), .place = ID(11), .at_s = 3, .count = 2};
}

static void make_conflicts(world *w)
{
    /* kinds in the order of the enum, which is not the order of their words */
    w->conflicts[0] = (fl_conflict){FL_CONFLICT_BORN_TWICE, ID(110), ID(101), ID(1), {{0}}, 4};
    w->conflicts[1] = (fl_conflict){FL_CONFLICT_AFTER_GONE, ID(110), ID(104), ID(1), ID(12), 4};
    w->conflicts[2] = (fl_conflict){FL_CONFLICT_AFTER_GONE, ID(110), ID(104), ID(2), ID(12), 4};
    w->conflicts[3] = (fl_conflict){FL_CONFLICT_AFTER_GONE, ID(110), ID(105), ID(1), ID(12), 4};
    w->conflicts[4] = (fl_conflict){FL_CONFLICT_LEFT_HELD, ID(111), ID(106), {{0}}, ID(11), 4};
    w->conflicts[5] = (fl_conflict){FL_CONFLICT_HOLD_NOT_SET, ID(90), {{0}}, {{0}}, {{0}}, 5};
}

static void make_world(world *w)
{
    *w = (world){0};
    make_lots(w);
    make_places(w);
    make_conflicts(w);
    w->meaning = (fl_meaning){w->lots,  2, w->stays,    3, w->fills,     3,
                              w->holds, 3, w->findings, 3, w->conflicts, 6};
}

static void check_id(fl_id got, fl_id want)
{
    check_int(fl_id_compare(got, want), 0);
}

static void check_text(fl_sv got, fl_sv want)
{
    check_int(got.len, want.len);
    check_true(got.len == 0 || memcmp(got.ptr, want.ptr, got.len) == 0);
}

static void check_lot(const fl_lot *got, const fl_lot *want)
{
    check_id(got->id, want->id);
    check_id(got->born_by, want->born_by);
    check_int(got->origin, want->origin);
    check_int(got->born_s, want->born_s);
    check_int(got->precision, want->precision);
    check_id(got->mother, want->mother);
    check_id(got->arrival, want->arrival);
    check_id(got->source, want->source);
    check_id(got->plant, want->plant);
    check_text(got->name, want->name);
    check_int(got->form, want->form);
    check_int(got->use, want->use);
    check_text(got->label_active, want->label_active);
    check_int(got->is_label_clean, want->is_label_clean);
    check_int(got->count_born, want->count_born);
    check_int(got->count, want->count);
    check_id(got->place, want->place);
    check_int(got->is_gone, want->is_gone);
    check_id(got->released_by, want->released_by);
}

static void check_stay(const fl_stay *got, const fl_stay *want)
{
    check_id(got->lot, want->lot);
    check_id(got->place, want->place);
    check_int(got->from_s, want->from_s);
    check_int(got->to_s, want->to_s);
    check_id(got->from_event, want->from_event);
    check_id(got->to_event, want->to_event);
}

static void check_fill(const fl_fill *got, const fl_fill *want)
{
    check_id(got->id, want->id);
    check_id(got->place, want->place);
    check_int(got->from_s, want->from_s);
    check_int(got->to_s, want->to_s);
    check_id(got->from_event, want->from_event);
    check_id(got->to_event, want->to_event);
    check_int(got->began_with_lots, want->began_with_lots);
}

static void check_hold(const fl_hold *got, const fl_hold *want)
{
    check_id(got->id, want->id);
    check_id(got->place, want->place);
    check_int(got->cause, want->cause);
    check_id(got->from_event, want->from_event);
    check_id(got->finding, want->finding);
    check_int(got->from_s, want->from_s);
    check_int(got->to_s, want->to_s);
    check_id(got->to_event, want->to_event);
    check_text(got->why, want->why);
}

static void check_finding(const fl_finding_now *got, const fl_finding_now *want)
{
    check_id(got->finding, want->finding);
    check_id(got->look, want->look);
    check_id(got->place, want->place);
    check_id(got->lot, want->lot);
    check_int(got->at_s, want->at_s);
    check_text(got->threat, want->threat);
    check_text(got->stage, want->stage);
    check_int(got->count, want->count);
    check_int(got->is_removed, want->is_removed);
    check_int(got->is_retracted, want->is_retracted);
    check_text(got->what, want->what);
}

static void check_conflict(const fl_conflict *got, const fl_conflict *want)
{
    check_int(got->kind, want->kind);
    check_id(got->event, want->event);
    check_id(got->other, want->other);
    check_id(got->lot, want->lot);
    check_id(got->place, want->place);
    check_int(got->at_s, want->at_s);
}

static void check_meaning(const fl_meaning *got, const fl_meaning *want)
{
    check_int(got->n_lots, want->n_lots);
    for (size_t i = 0; i < want->n_lots; i++) {
        check_lot(&got->lots[i], &want->lots[i]);
    }
    check_int(got->n_stays, want->n_stays);
    for (size_t i = 0; i < want->n_stays; i++) {
        check_stay(&got->stays[i], &want->stays[i]);
    }
    check_int(got->n_fills, want->n_fills);
    for (size_t i = 0; i < want->n_fills; i++) {
        check_fill(&got->fills[i], &want->fills[i]);
    }
    check_int(got->n_holds, want->n_holds);
    for (size_t i = 0; i < want->n_holds; i++) {
        check_hold(&got->holds[i], &want->holds[i]);
    }
    check_int(got->n_findings, want->n_findings);
    for (size_t i = 0; i < want->n_findings; i++) {
        check_finding(&got->findings[i], &want->findings[i]);
    }
    check_int(got->n_conflicts, want->n_conflicts);
    for (size_t i = 0; i < want->n_conflicts; i++) {
        check_conflict(&got->conflicts[i], &want->conflicts[i]);
    }
}

static void replace_all(fl_test_room *room, const fl_meaning *meaning)
{
    check_ok(fl_store_begin(room->store, &room->err), &room->err);
    check_ok(fl_store_meaning_replace_all(room->store, meaning, &room->err), &room->err);
    check_ok(fl_store_commit(room->store, &room->err), &room->err);
}

static fl_meaning read_all(fl_test_room *room)
{
    fl_meaning got;
    check_ok(fl_store_meaning_read(room->store, &room->arena, &got, &room->err), &room->err);
    return got;
}

static void test_empty(void **state)
{
    fl_meaning none = {0};
    fl_meaning got = read_all(*state);
    check_meaning(&got, &none);
    check_true(got.lots == NULL && got.conflicts == NULL);
}

static void test_round_trip(void **state)
{
    fl_test_room *room = *state;
    world w;
    make_world(&w);
    replace_all(room, &w.meaning);
    fl_test_room_reopen(room);
    fl_meaning got = read_all(room);
    check_meaning(&got, &w.meaning);
    replace_all(room, &w.meaning); /* again: nothing doubles */
    got = read_all(room);
    check_meaning(&got, &w.meaning);
    /* within a transaction of the caller, which stays open */
    check_ok(fl_store_begin_read(room->store, &room->err), &room->err);
    got = read_all(room);
    check_meaning(&got, &w.meaning);
    check_ok(fl_store_commit(room->store, &room->err), &room->err);
}

/* Every word of every list survives. */
static void test_all_words(void **state)
{
    fl_test_room *room = *state;
    for (int i = 0; i < FL_KIND_COUNT; i++) {
        fl_lot lot = {.id = ID(1),
                      .origin = (fl_kind)i,
                      .precision = (fl_precision)(i % FL_PRECISION_COUNT),
                      .form = (fl_form)(i % FL_FORM_COUNT),
                      .use = (fl_use)(i % FL_USE_COUNT)};
        fl_hold hold = {.id = ID(2), .place = ID(3), .cause = (fl_hold_cause)(i % 3)};
        fl_conflict conflict = {.kind = (fl_conflict_kind)(i % FL_CONFLICT_COUNT), .event = ID(4)};
        fl_meaning meaning = {.lots = &lot,
                              .n_lots = 1,
                              .holds = &hold,
                              .n_holds = 1,
                              .conflicts = &conflict,
                              .n_conflicts = 1};
        replace_all(room, &meaning);
        fl_meaning got = read_all(room);
        check_meaning(&got, &meaning);
    }
}

/* A new lot 1 and a new place 11: lot 2 and place 12 stay as they were. */
static void test_replace_some(void **state)
{
    fl_test_room *room = *state;
    world w;
    world changed;
    make_world(&w);
    make_world(&changed);
    replace_all(room, &w.meaning);
    changed.lots[0].count = 2;
    changed.lots[1].count = 99; /* not asked for */
    changed.stays[2].to_s = 99; /* not asked for */
    changed.fills[1].began_with_lots = false;
    changed.fills[2].from_s = 99; /* not asked for */
    changed.meaning.n_conflicts = 0;
    changed.meaning.n_findings = 0;
    fl_id lots[] = {ID(1), ID(77), ID(1)}; /* unknown and repeated ids do no harm */
    fl_id places[] = {ID(78), ID(11)};
    check_ok(fl_store_begin(room->store, &room->err), &room->err);
    check_ok(
        fl_store_meaning_replace(room->store, lots, 3, places, 2, &changed.meaning, &room->err),
        &room->err);
    check_ok(fl_store_commit(room->store, &room->err), &room->err);
    w.lots[0].count = 2;
    w.fills[1].began_with_lots = false;
    w.meaning.n_findings = 1; /* the one in place 12 */
    fl_conflict left[] = {w.conflicts[2], w.conflicts[5]};
    w.meaning.conflicts = left;
    w.meaning.n_conflicts = 2;
    fl_meaning got = read_all(room);
    check_meaning(&got, &w.meaning);
}

/* What has no lot and no place goes with the none place; an empty call changes nothing. */
static void test_replace_of_no_place(void **state)
{
    fl_test_room *room = *state;
    world w;
    make_world(&w);
    replace_all(room, &w.meaning);
    fl_meaning none = {0};
    check_ok(fl_store_begin(room->store, &room->err), &room->err);
    check_ok(fl_store_meaning_replace(room->store, NULL, 0, NULL, 0, &none, &room->err),
             &room->err);
    fl_meaning got = read_all(room);
    check_meaning(&got, &w.meaning);
    fl_id no_place = {{0}};
    check_ok(fl_store_meaning_replace(room->store, NULL, 0, &no_place, 1, &none, &room->err),
             &room->err);
    check_ok(fl_store_commit(room->store, &room->err), &room->err);
    w.meaning.n_conflicts = 5;
    got = read_all(room);
    check_meaning(&got, &w.meaning);
}

static void test_lots_of_places(void **state)
{
    fl_test_room *room = *state;
    world w;
    make_world(&w);
    replace_all(room, &w.meaning);
    fl_id places[] = {ID(12), ID(11)};
    fl_id *lots = NULL;
    size_t count = 0;
    check_ok(
        fl_store_lots_of_places(room->store, places, 1, &room->arena, &lots, &count, &room->err),
        &room->err);
    check_int(count, 1);
    check_id(lots[0], ID(1));
    check_ok(
        fl_store_lots_of_places(room->store, places, 2, &room->arena, &lots, &count, &room->err),
        &room->err);
    check_int(count, 2); /* lot 1 stayed in both, and is named once */
    check_id(lots[0], ID(1));
    check_id(lots[1], ID(2));
    check_ok(fl_store_lots_of_places(room->store, NULL, 0, &room->arena, &lots, &count, &room->err),
             &room->err);
    check_int(count, 0);
}

static void test_refusals(void **state)
{
    fl_test_room *room = *state;
    fl_meaning none = {0};
    check_int(fl_store_meaning_replace_all(room->store, &none, &room->err), FL_EINVAL);
    check_int(fl_store_meaning_replace(room->store, NULL, 0, NULL, 0, &none, &room->err),
              FL_EINVAL);
    fl_store *reader = NULL;
    check_ok(fl_store_open_reader(room->dir, &reader, &room->err), &room->err);
    check_int(fl_store_meaning_replace_all(reader, &none, &room->err), FL_EFORBIDDEN);
    fl_store_close(reader);
}

static void test_unknown_word(void **state)
{
    fl_test_room *room = *state;
    world w;
    make_world(&w);
    replace_all(room, &w.meaning);
    sqlite3 *db = NULL;
    check_int(sqlite3_open(room->file, &db), SQLITE_OK);
    check_int(sqlite3_exec(db, "UPDATE lot_now SET form = 'cloud'", NULL, NULL, NULL), SQLITE_OK);
    check_int(sqlite3_close(db), SQLITE_OK);
    fl_meaning got = {.n_lots = 77};
    check_int(fl_store_meaning_read(room->store, &room->arena, &got, &room->err), FL_ECORRUPT);
    check_contains(room->err.message, "lot_now");
    check_int(got.n_lots, 77);
    replace_all(room, &w.meaning); /* the tables are derived: they can be made again */
    got = read_all(room);
    check_meaning(&got, &w.meaning);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown(test_empty, setup, teardown),
    cmocka_unit_test_setup_teardown(test_round_trip, setup, teardown),
    cmocka_unit_test_setup_teardown(test_all_words, setup, teardown),
    cmocka_unit_test_setup_teardown(test_replace_some, setup, teardown),
    cmocka_unit_test_setup_teardown(test_replace_of_no_place, setup, teardown),
    cmocka_unit_test_setup_teardown(test_lots_of_places, setup, teardown),
    cmocka_unit_test_setup_teardown(test_refusals, setup, teardown),
    cmocka_unit_test_setup_teardown(test_unknown_word, setup, teardown),
};
FL_TEST_MAIN(tests)
