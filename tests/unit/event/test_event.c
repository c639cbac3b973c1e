/* event/event.h: kinds, canonical order, and what each kind mentions. */
#include <string.h>

#include "event/event.h"
#include "event/meaning.h"
#include "support/check.h"

/* An id that says what it is for: one byte in front, one behind. */
static fl_id id_of(char name)
{
    fl_id id = {{0}};
    id.b[0] = (uint8_t)name;
    id.b[15] = 0x5a;
    return id;
}

static void test_kinds(void **state)
{
    (void)state;
    for (int i = 0; i < FL_KIND_COUNT; i++) {
        check_int(fl_kind_find(fl_sv_from_cstr(fl_kinds[i].word)), i);
        check_true(strlen(fl_kinds[i].text) > 0);
        check_true(i == 0 || fl_kinds[i].rank >= fl_kinds[i - 1].rank);
    }
    check_int(fl_kind_find(FL_SV("lot_move")), -1);
    check_int(fl_kind_find(FL_SV("lot_moved ")), -1);
    check_int(fl_kind_find(FL_SV("")), -1);
}

/* The order that the design fixes for one moment: arrive, clean, step, move, look, finding, hold,
 * release. */
static void test_ranks(void **state)
{
    (void)state;
    static const fl_kind order[] = {
        FL_KIND_PLACE_SET,    FL_KIND_LOT_ARRIVED, FL_KIND_PLACE_CLEANED,      FL_KIND_STEP_DONE,
        FL_KIND_LOT_MOVED,    FL_KIND_LOOK_DONE,   FL_KIND_FINDING_IDENTIFIED, FL_KIND_HOLD_SET,
        FL_KIND_LOT_RELEASED, FL_KIND_LOT_LOST,
    };
    for (size_t i = 1; i < sizeof order / sizeof order[0]; i++) {
        fl_event a = {.id = id_of(9), .kind = order[i - 1], .at_s = 1000};
        fl_event b = {.id = id_of(1), .kind = order[i], .at_s = 1000};
        check_int(fl_event_compare(&a, &b), -1);
        check_int(fl_event_compare(&b, &a), 1);
        b.at_s = 999;
        check_int(fl_event_compare(&a, &b), 1);
    }
}

static void test_order_by_id(void **state)
{
    (void)state;
    fl_event a = {.id = id_of(1), .kind = FL_KIND_LOT_CUT, .at_s = -5};
    fl_event b = {.id = id_of(2), .kind = FL_KIND_LOT_SPLIT, .at_s = -5};
    check_int(fl_event_compare(&a, &b), -1);
    check_int(fl_event_compare(&b, &a), 1);
    check_int(fl_event_compare(&a, &a), 0);
}

/* ---- mentions, written short: "E0! L1! G2": event 0 and lot 1 (defined), place 2 ---- */

static const char letters[] = "SPGBALRFHUE"; /* in the order of fl_entity; G is a place */

static const char *mentions_of(const fl_event *event, char *text)
{
    fl_err err = {0};
    fl_fact facts[32];
    size_t count = 0;
    check_ok(fl_event_facts(event, facts, 32, &count, &err), &err);
    char *at = text;
    for (size_t i = 0; i < count; i++) {
        *at++ = letters[facts[i].entity];
        bool is_derived = facts[i].id.b[8] != 0; /* the variant bits of a real UUID */
        *at++ = is_derived ? '~' : (char)facts[i].id.b[0];
        if (facts[i].is_definition) {
            *at++ = '!';
        }
        *at++ = i + 1 < count ? ' ' : '\0';
    }
    return text;
}

#define check_mentions(event_kind, body_name, wanted, ...)                                         \
    do {                                                                                           \
        char text[256];                                                                            \
        fl_event event = {.id = id_of('0'), .kind = (event_kind)};                                 \
        event.body.body_name = (fl_ev_##body_name){__VA_ARGS__};                                   \
        check_str(mentions_of(&event, text), (wanted));                                            \
    } while (0)

#define ID(letter) id_of(letter)

static void test_mentions_of_definitions(void **state)
{
    (void)state;
    check_mentions(FL_KIND_SOURCE_SET, source_set, "E0! Ss!", .source = ID('s'));
    check_mentions(FL_KIND_PLANT_SET, plant_set, "E0! Pp!", .plant = ID('p'));
    check_mentions(FL_KIND_PLACE_SET, place_set, "E0! Gg!", .place = ID('g'));
    check_mentions(FL_KIND_BOTTLE_OPENED, bottle_opened, "E0! Bb!", .bottle = ID('b'));
    check_mentions(FL_KIND_BOTTLE_TESTED, bottle_tested, "E0! Bb", .bottle = ID('b'));
    check_mentions(FL_KIND_HOLD_SET, hold_set, "E0! Hh! Gg", .hold = ID('h'), .place = ID('g'));
    check_mentions(FL_KIND_HOLD_LIFTED, hold_lifted, "E0! Hh", .hold = ID('h'));
    check_mentions(FL_KIND_BUILD_PLANNED, build_planned, "E0! Uu! Gg", .build = ID('u'),
                   .enclosure = ID('g'));
    check_mentions(FL_KIND_BUILD_PLANNED, build_planned, "E0! Uu!", .build = ID('u'));
    check_mentions(FL_KIND_COMPLAINT_NOTED, complaint_noted, "E0! Ll", .lot = ID('l'));
    check_mentions(FL_KIND_HISTORY_TOLD, history_told, "E0! Ll", .lot = ID('l'));
}

static void test_mentions_of_lots(void **state)
{
    (void)state;
    check_mentions(FL_KIND_LOT_ALREADY_HERE, lot_already_here, "E0! Ll! Pp Gg Ss", .lot = ID('l'),
                   .plant = ID('p'), .place = ID('g'), .source = ID('s'));
    check_mentions(FL_KIND_LOT_ALREADY_HERE, lot_already_here, "E0! Ll! Gg", .lot = ID('l'),
                   .place = ID('g'));
    check_mentions(FL_KIND_LOT_ARRIVED, lot_arrived, "E0! Ll! Aa! Ss Pp Gg", .lot = ID('l'),
                   .arrival = ID('a'), .source = ID('s'), .plant = ID('p'), .place = ID('g'));
    check_mentions(FL_KIND_LOT_CUT, lot_cut, "E0! Ll! Lm Gg", .mother = ID('m'), .lot = ID('l'),
                   .place = ID('g'));
    check_mentions(FL_KIND_LOT_SPLIT, lot_split, "E0! Ln! Ll", .lot = ID('l'), .new_lot = ID('n'));
    check_mentions(FL_KIND_LOT_RELEASED, lot_released, "E0! Ll Gg", .lot = ID('l'), .to = ID('g'));
    check_mentions(FL_KIND_LOT_LOST, lot_lost, "E0! Ll", .lot = ID('l'), .count = 1);
}

static void test_mentions_of_places(void **state)
{
    (void)state;
    check_mentions(FL_KIND_PLACE_CLEANED, place_cleaned, "E0! Gg", .place = ID('g'));
    check_mentions(FL_KIND_CARD_SET, card_set, "E0! Gg", .place = ID('g'));
    check_mentions(FL_KIND_TOLERATED_SET, tolerated_set, "E0! Gg", .place = ID('g'));
    check_mentions(FL_KIND_ANIMAL_NOTED, animal_noted, "E0! H~! Gg", .place = ID('g'));
    check_mentions(FL_KIND_READINGS_IMPORTED, readings_imported, "E0! Gg", .place = ID('g'));
}

static void test_mentions_of_the_rest(void **state)
{
    (void)state;
    check_mentions(FL_KIND_STEP_ABANDONED, step_abandoned, "E0! Rr", .run = ID('r'));
    check_mentions(FL_KIND_FINDING_IDENTIFIED, finding_identified, "E0! Ff", .finding = ID('f'));
    check_mentions(FL_KIND_FINDING_RETRACTED, finding_retracted, "E0! Ff", .finding = ID('f'));
    check_mentions(FL_KIND_EVENT_VOIDED, event_voided, "E0! Ee", .event = ID('e'));
    check_mentions(FL_KIND_KNOWLEDGE_SET, knowledge_set, "E0!", .value = 1.0);
    check_mentions(FL_KIND_ROOM_SET, room_set, "E0!", .round_weekday = 6);
    check_mentions(FL_KIND_PHOTO_ATTACHED, photo_attached, "E0!", .subject = ID('f'));
}

/* Lists: each entity once, definitions first. */
static void test_mentions_of_lists(void **state)
{
    (void)state;
    const fl_id lots[] = {id_of('1'), id_of('2'), id_of('1')};
    const fl_id_list list = {lots, 3};
    const fl_ev_step steps[] = {{.lots = list, .bottle = id_of('b')},
                                {.lots = {lots + 1, 1}, .bottle = id_of('b')},
                                {.lots = {lots, 0}}};
    const fl_ev_finding findings[] = {{.finding = id_of('f'), .lot = id_of('3')},
                                      {.finding = id_of('h')},
                                      {.finding = id_of('f'), .lot = id_of('1')}};
    check_mentions(FL_KIND_LOT_MOVED, lot_moved, "E0! Gg L1 L2", .lots = list, .to = ID('g'));
    check_mentions(FL_KIND_STEP_STARTED, step_started, "E0! Rr! L1 L2 Bb", .run = ID('r'),
                   .step = steps[0]);
    check_mentions(FL_KIND_STEP_DONE, step_done, "E0! Rr L1 L2 Bb", .run = ID('r'), .steps = steps,
                   .n_steps = 3);
    check_mentions(FL_KIND_STEP_DONE, step_done, "E0! L2 Bb", .steps = steps + 1, .n_steps = 2);
    check_mentions(FL_KIND_LOOK_DONE, look_done, "E0! Ff! H~! Fh! H~! Gg L3 L1 L2",
                   .place = ID('g'), .lots = list, .findings = findings, .n_findings = 3);
}

/* The same bytes may be the id of two entities; and a lot cut from itself is defined. */
static void test_equal_ids(void **state)
{
    (void)state;
    check_mentions(FL_KIND_LOT_ARRIVED, lot_arrived, "E0! Lx! Ax! Sx Px Gx", .lot = ID('x'),
                   .arrival = ID('x'), .source = ID('x'), .plant = ID('x'), .place = ID('x'));
    check_mentions(FL_KIND_LOT_CUT, lot_cut, "E0! Ll! Gg", .mother = ID('l'), .lot = ID('l'),
                   .place = ID('g'));
    check_mentions(FL_KIND_EVENT_VOIDED, event_voided, "E0!", .event = ID('0'));
}

static void test_too_many(void **state)
{
    (void)state;
    fl_err err = {0};
    fl_id lots[40];
    fl_fact facts[8];
    size_t count = 0;
    memset(facts, 0, sizeof facts);
    for (int i = 0; i < 40; i++) {
        lots[i] = id_of((char)(50 + i % 20)); /* each twice */
    }
    fl_event event = {.id = id_of('0'), .kind = FL_KIND_LOT_MOVED};
    event.body.lot_moved = (fl_ev_lot_moved){.lots = {lots, 40}, .to = id_of('g')};
    check_int(fl_event_facts(&event, facts, 7, &count, &err), FL_ETOOBIG);
    check_status(&err, FL_ETOOBIG);
    check_int(count, 22);
    check_int(facts[6].id.b[0], 54);
    check_true(fl_id_is_none(facts[7].id)); /* untouched */
    check_int(fl_event_facts(&event, NULL, 0, &count, NULL), FL_ETOOBIG);
    check_int(count, 22);
}

static void test_conflict_words(void **state)
{
    (void)state;
    for (int i = 0; i < FL_CONFLICT_COUNT; i++) {
        fl_sv word = fl_sv_from_cstr(fl_words_conflict[i].word);
        check_int(fl_word_find(fl_words_conflict, FL_CONFLICT_COUNT, word), i);
        check_true(strlen(fl_words_conflict[i].text) > 0);
    }
    check_str(fl_words_conflict[FL_CONFLICT_LEFT_HELD].word, "left_held");
}

static void test_word_lists(void **state)
{
    (void)state;
    check_int(fl_word_find(fl_words_form, FL_FORM_COUNT, FL_SV("moss_clump")), FL_FORM_MOSS_CLUMP);
    check_int(fl_word_find(fl_words_form, FL_FORM_COUNT, FL_SV("moss")), -1);
    check_int(fl_word_find(fl_words_use, 0, FL_SV("stock")), -1);
    check_false(fl_form_is_material(FL_FORM_SEED));
    check_true(fl_form_is_material(FL_FORM_MIX_BAGGED));
    check_true(fl_form_is_material(FL_FORM_CULTURE));
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_kinds),
    cmocka_unit_test(test_ranks),
    cmocka_unit_test(test_order_by_id),
    cmocka_unit_test(test_mentions_of_definitions),
    cmocka_unit_test(test_mentions_of_lots),
    cmocka_unit_test(test_mentions_of_places),
    cmocka_unit_test(test_mentions_of_the_rest),
    cmocka_unit_test(test_mentions_of_lists),
    cmocka_unit_test(test_equal_ids),
    cmocka_unit_test(test_too_many),
    cmocka_unit_test(test_conflict_words),
    cmocka_unit_test(test_word_lists),
};
FL_TEST_MAIN(tests)
