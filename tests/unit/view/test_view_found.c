/* The JSON of what was found, of an outbreak's new dates, of a pesticide's trace. */
#include <math.h>
#include <stdio.h>

#include "json/json.h"
#include "support/shelf.h"
#include "view/view_trace.h"

static const fl_id NONE = {{0}};

static fl_view view_of(fl_shelf *s)
{
    return (fl_view){
        .room = &s->k.room, .chances = s->k.chances, .arena = &s->arena, .w = fl_json_writer_new()};
}

static fl_json_doc *read_back(fl_shelf *s, const fl_view *v)
{
    fl_str text;
    fl_json_doc *doc = NULL;
    fl_str_init(&text, (size_t)4 << 20);
    fl_json_write(v->w, false, &text);
    check_false(text.is_full);
    check_ok(fl_json_parse(fl_str_sv(&text), &doc, &s->k.err), &s->k.err);
    fl_str_done(&text);
    fl_json_writer_free(v->w);
    return doc;
}

static fl_sv text_of(const fl_json_value *value, const char *key)
{
    return fl_json_text(fl_json_get(value, key));
}

/* The last first: a test, a find without a name, a named one that was taken back. */
static void test_the_list(void **state)
{
    (void)state;
    fl_shelf s;
    fl_shelf_init(&s);
    fl_id tank = fl_shelf_tank(&s, "frog room", 1U << FL_USE_AMPHIBIAN);
    fl_id lot = fl_shelf_buy(&s, s.shop, fl_keeper_id(&s.k));
    fl_keeper_day(&s.k, 0, 2);
    fl_keeper_move(&s.k, lot, s.bin[1]);
    fl_keeper_day(&s.k, 7, 0);
    fl_id gnat = fl_shelf_find(&s, s.bin[1], "fungus_gnat", "larva", lot);
    fl_keeper_day(&s.k, 8, 0);
    fl_event back = {.kind = FL_KIND_FINDING_RETRACTED};
    back.body.finding_retracted.finding = gnat;
    fl_keeper_record(&s.k, &back);
    fl_keeper_day(&s.k, 9, 0);
    (void)fl_shelf_find(&s, s.bin[1], "", "", NONE);
    fl_keeper_day(&s.k, 10, 0);
    fl_id test = fl_shelf_animal(&s, tank, FL_ANIMAL_TESTED, "chytrid_bd", true, INT64_MIN);
    fl_keeper_ask(&s.k);
    fl_view v = view_of(&s);
    fl_view_found(&v, NULL);
    fl_json_doc *doc = read_back(&s, &v);
    const fl_json_value *root = fl_json_root(doc);
    check_int(fl_json_size(fl_json_get(root, "first")), FL_OUTBREAK_FIRST);
    for (size_t i = 0; i < FL_OUTBREAK_FIRST; i++) {
        check_sv(fl_json_text(fl_json_at(fl_json_get(root, "first"), i)),
                 fl_outbreak_first_plants[i]);
        check_sv(fl_json_text(fl_json_at(fl_json_get(root, "first_animals"), i)),
                 fl_outbreak_first_animals[i]);
    }
    const fl_json_value *found = fl_json_get(root, "found");
    check_int(fl_json_size(found), 3);
    const fl_json_value *animal = fl_json_at(found, 0);
    check_sv(text_of(animal, "kind"), "animal");
    check_true(fl_json_bool(fl_json_get(animal, "is_held"), false));
    check_true(fl_json_bool(fl_json_get(animal, "is_named"), false));
    char code[FL_CODE_TEXT_MAX];
    check_sv(text_of(animal, "code"), fl_id_code(code, test));
    const fl_json_value *unnamed = fl_json_at(found, 1);
    check_false(fl_json_bool(fl_json_get(unnamed, "is_named"), true));
    check_true(fl_json_bool(fl_json_get(unnamed, "is_held"), false));
    const fl_json_value *taken_back = fl_json_at(found, 2);
    check_sv(text_of(taken_back, "text"), "fungus gnat, larva");
    check_true(fl_json_bool(fl_json_get(taken_back, "is_retracted"), false));
    check_false(fl_json_bool(fl_json_get(taken_back, "is_held"), true));
    fl_json_free(doc);
    fl_shelf_done(&s);
}

static void test_words_of_dates(void **state)
{
    (void)state;
    fl_shelf s;
    fl_shelf_init(&s);
    fl_id lot = fl_shelf_buy(&s, s.shop, fl_keeper_id(&s.k));
    fl_keeper_ask(&s.k);
    const int64_t later_s = s.k.now_s + 41 * (int64_t)FL_DAY_S; /* 2 March and 41 days */
    fl_outbreak_dates dates = {.n = 2};
    dates.list[0] = (fl_outbreak_date){
        .lot = fl_keeper_lot(&s.k, lot), .was_s = later_s, .now_s = FL_GATE_NEVER};
    dates.list[1] = (fl_outbreak_date){
        .lot = fl_keeper_lot(&s.k, lot), .was_s = s.k.now_s - 1, .now_s = s.k.now_s};
    fl_view v = view_of(&s);
    fl_json_begin_object(v.w, NULL);
    fl_view_dates(&v, "dates", &dates);
    fl_json_end(v.w);
    fl_json_doc *doc = read_back(&s, &v);
    const fl_json_value *list = fl_json_get(fl_json_root(doc), "dates");
    check_sv(text_of(fl_json_at(list, 0), "text"), "was 12 April, now no date within half a year");
    check_sv(text_of(fl_json_at(list, 0), "was_on"), "2026-04-12");
    check_int(fl_json_type_of(fl_json_get(fl_json_at(list, 0), "now_on")), FL_JSON_NULL);
    check_sv(text_of(fl_json_at(list, 1), "text"), "today, as before");
    fl_json_free(doc);
    fl_shelf_done(&s);
}

/* A label's active, told at the arrival; one that is not in the table is taken for systemic. */
static void test_residue_by_label(void **state)
{
    (void)state;
    fl_shelf s;
    fl_shelf_init(&s);
    fl_id lot = fl_keeper_id(&s.k);
    fl_event arrived = {.kind = FL_KIND_LOT_ARRIVED};
    arrived.body.lot_arrived = (fl_ev_lot_arrived){.lot = lot,
                                                   .arrival = fl_keeper_id(&s.k),
                                                   .source = s.shop,
                                                   .name = FL_SV("Pilea"),
                                                   .count = 3,
                                                   .form = FL_FORM_POTTED,
                                                   .use = FL_USE_STOCK,
                                                   .place = s.bench,
                                                   .label_active = FL_SV("wonderol"),
                                                   .cost = (double)NAN};
    fl_keeper_record(&s.k, &arrived);
    fl_keeper_day(&s.k, 3, 0);
    fl_id split = fl_keeper_split(&s.k, lot, 1);
    fl_keeper_ask(&s.k);
    fl_residue_trace t;
    check_ok(fl_residue_trace_ask(&s.k.room, fl_keeper_lot(&s.k, split), &s.arena, &t, &s.k.err),
             &s.k.err);
    check_true(t.is_by_label && t.is_systemic && !t.is_listed);
    check_int(t.n_lots, 2);
    fl_view v = view_of(&s);
    check_ok(fl_view_residue(&v, NULL, &t, &s.k.err), &s.k.err);
    fl_json_doc *doc = read_back(&s, &v);
    const fl_json_value *root = fl_json_root(doc);
    check_sv(
        text_of(root, "text"),
        "Pilea came home on 2 March with wonderol, by its label. It is not in our table and is "
        "taken for one that goes into every part of the plant, cuttings too.");
    const fl_json_value *child = fl_json_at(fl_json_get(root, "lots"), 1);
    char text[300];
    (void)snprintf(text, sizeof text, "%.*s", FL_SV_ARG(text_of(child, "text")));
    check_contains(text, "split from Pilea, 5 March; in ");
    check_true(fl_json_size(fl_json_get(root, "proposals")) > 0);
    fl_json_free(doc);
    fl_shelf_done(&s);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_the_list),
    cmocka_unit_test(test_words_of_dates),
    cmocka_unit_test(test_residue_by_label),
};
FL_TEST_MAIN(tests)
