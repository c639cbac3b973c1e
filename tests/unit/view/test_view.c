/* The JSON of answers, over a small room (tests/browser/room.jsonl) seen on the evening of 7 March
 * 2026. Keys are fixed by api/openapi.yaml (the browser tests hold answers against it); here: that
 * numbers are those of the app, that words and numbers agree, and what is never said. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/str.h"
#include "support/check.h"
#include "view/recipe.h"
#include "view/view.h"

static struct world {
    char dir[FL_TEMP_PATH_MAX];
    int64_t now_s;
    fl_app app;
    fl_room room;
    fl_chances *chances;
    fl_arena arena;
    fl_err err;
} world;

static void record_all(void)
{
    char line[20000];
    FILE *file = fopen(FL_SOURCE_DIR "/tests/browser/room.jsonl", "r");
    check_true(file != NULL);
    while (fgets(line, sizeof line, file) != NULL) {
        fl_recorded what;
        fl_sv text = fl_sv_trim(fl_sv_from_cstr(line));
        check_ok(fl_app_record(&world.app, text, &what, &world.err), &world.err);
    }
    (void)fclose(file);
}

static int set_up(void **state)
{
    fl_precision precision;
    (void)state;
    fl_temp_folder(world.dir);
    fl_arena_init(&world.arena);
    check_ok(fl_civil_parse(FL_SV("2026-03-07T18:00:00Z"), 0, &world.now_s, &precision, &world.err),
             &world.err);
    check_ok(fl_app_open(world.dir, true, 60, fl_clock_fixed(&world.now_s), &world.app, &world.err),
             &world.err);
    record_all();
    check_ok(fl_room_load(&world.app, &world.room, &world.err), &world.err);
    check_ok(fl_chances_new(&world.room, &world.app, &world.chances, &world.err), &world.err);
    return 0;
}

static int tear_down(void **state)
{
    (void)state;
    fl_chances_free(world.chances);
    fl_room_done(&world.room);
    fl_app_close(&world.app);
    fl_arena_done(&world.arena);
    fl_remove_folder(world.dir);
    return 0;
}

static fl_view view(void)
{
    return (fl_view){.room = &world.room,
                     .chances = world.chances,
                     .arena = &world.arena,
                     .w = fl_json_writer_new()};
}

/* Ends the view and reads back what it wrote. The document lives until the caller frees it. */
static fl_json_doc *read_back(fl_view *v)
{
    fl_str text;
    fl_json_doc *doc = NULL;
    fl_str_init(&text, 4U * 1024U * 1024U);
    fl_json_write(v->w, false, &text);
    check_false(text.is_full);
    check_ok(fl_json_parse(fl_str_sv(&text), &doc, &world.err), &world.err);
    fl_json_writer_free(v->w);
    fl_str_done(&text);
    return doc;
}

static double number(const fl_json_value *object, const char *key)
{
    double value = (double)NAN;
    if (!fl_json_number(fl_json_get(object, key), &value)) {
        print_error("no number under \"%s\"\n", key);
        fail();
    }
    return value;
}

static fl_sv text_of(const fl_json_value *object, const char *key)
{
    return fl_json_text(fl_json_get(object, key));
}

/* The element of an array whose `key` is `want`; fails the test when there is none. */
static const fl_json_value *pick(const fl_json_value *array, const char *key, const char *want)
{
    for (size_t i = 0; i < fl_json_size(array); i++) {
        if (fl_sv_eq_cstr(text_of(fl_json_at(array, i), key), want)) {
            return fl_json_at(array, i);
        }
    }
    print_error("nothing has %s \"%s\"\n", key, want);
    fail();
    return NULL;
}

/* The lot of a plant that stands in a place, both by name. */
static const fl_lot *lot_in(const char *plant, const char *place)
{
    for (size_t i = 0; i < world.room.meaning.n_lots; i++) {
        const fl_lot *lot = &world.room.meaning.lots[i];
        if (fl_sv_eq_cstr(fl_room_lot_name(&world.room, lot), plant) &&
            fl_sv_eq_cstr(fl_room_place_name(&world.room, lot->place), place)) {
            return lot;
        }
    }
    print_error("no %s in %s\n", plant, place);
    fail();
    return NULL;
}

static fl_json_doc *view_lot(const fl_lot *lot)
{
    fl_view v = view();
    check_ok(fl_view_lot(&v, NULL, lot, &world.err), &world.err);
    return read_back(&v);
}

/* ---- what is never said ---- */

static void check_words(fl_sv text)
{
    static const char *const never[] = {"safe", "guarantee", "certain", "100 in 100", "0 in 100 "};
    char line[2000];
    (void)snprintf(line, sizeof line, "%.*s", FL_SV_ARG(text));
    for (size_t i = 0; i < sizeof never / sizeof never[0]; i++) {
        if (strstr(line, never[i]) != NULL) {
            print_error("said \"%s\": %s\n", never[i], line);
            fail();
        }
    }
}

/* Every text of an answer; every chance stands inside its band. */
static void check_all(const fl_json_value *value)
{
    double prob = 0.0;
    if (fl_json_type_of(value) == FL_JSON_STRING) {
        check_words(fl_json_text(value));
    } else if (fl_json_type_of(value) == FL_JSON_ARRAY) {
        for (size_t i = 0; i < fl_json_size(value); i++) {
            check_all(fl_json_at(value, i));
        }
    } else if (fl_json_type_of(value) == FL_JSON_OBJECT) {
        if (fl_json_number(fl_json_get(value, "prob_least"), &prob)) {
            check_true(prob >= 0.0 && prob <= number(value, "prob"));
            check_true(number(value, "prob") <= number(value, "prob_most"));
            check_true(number(value, "prob_most") <= 1.0);
        }
        for (size_t i = 0; i < fl_json_size(value); i++) {
            fl_sv key;
            check_all(fl_json_member(value, i, &key));
        }
    }
}

/* The caution texts of dips speak of what is safe to do with bleach; they are not about plants. */
static void test_no_answer_promises_anything(void **state)
{
    (void)state;
    fl_view v = view();
    check_ok(fl_view_lots(&v, NULL, (fl_view_lots_of){.has_gone = true}, &world.err), &world.err);
    fl_json_doc *doc = read_back(&v);
    check_true(fl_json_size(fl_json_get(fl_json_root(doc), "lots")) == 12);
    check_all(fl_json_root(doc));
    fl_json_free(doc);
    v = view();
    check_ok(fl_view_places(&v, NULL, &world.err), &world.err);
    doc = read_back(&v);
    check_all(fl_json_root(doc));
    fl_json_free(doc);
    doc = view_lot(lot_in("Nerve plant", "Bin 2"));
    check_all(fl_json_get(fl_json_root(doc), "gate"));
    check_all(fl_json_get(fl_json_root(doc), "chances"));
    fl_json_free(doc);
}

/* ---- the gate ---- */

static void test_gate_has_the_numbers_of_the_app(void **state)
{
    (void)state;
    const fl_lot *lot = lot_in("Nerve plant", "Bin 1");
    fl_gate_report report;
    check_ok(fl_gate_ask(world.chances, &world.room, lot, 1U << FL_USE_AMPHIBIAN, &world.arena,
                         &report, &world.err),
             &world.err);
    fl_view v = view();
    fl_view_gate(&v, NULL, &report);
    fl_json_doc *doc = read_back(&v);
    const fl_json_value *gate = fl_json_root(doc);
    check_close(number(gate, "weighted_sum"), report.answer.sum, 1e-14, 0.0);
    check_close(number(gate, "ceiling"), 0.02, 1e-14, 0.0); /* design, section 4: amphibian 2 % */
    check_int(fl_json_size(fl_json_get(gate, "conditions")), FL_CONDITION_COUNT);
    check_int(fl_json_size(fl_json_get(gate, "threats")), report.n_threats);
    check_int(fl_json_size(fl_json_get(gate, "forecast")), report.forecast.n + 1);
    check_sv(text_of(fl_json_at(fl_json_get(gate, "uses"), 0), "x"), "");
    check_sv(fl_json_text(fl_json_at(fl_json_get(gate, "uses"), 0)), "amphibian");
    const fl_json_value *least = pick(fl_json_get(gate, "conditions"), "kind", "least_days");
    check_close(number(least, "days_asked"), 28.0, 0.0, 0.0);
    check_close(number(least, "days"), 49.0, 0.0, 0.0); /* 17 January to 7 March */
    fl_json_free(doc);
}

static void test_gate_says_what_is_missing(void **state)
{
    (void)state;
    fl_json_doc *doc = view_lot(lot_in("Nerve plant", "Bin 2"));
    const fl_json_value *gate = fl_json_get(fl_json_root(doc), "gate");
    const fl_json_value *hold = pick(fl_json_get(gate, "conditions"), "kind", "hold");
    check_false(fl_json_bool(fl_json_get(hold, "is_met"), true));
    check_int(fl_json_type_of(fl_json_get(hold, "earliest_on")), FL_JSON_NULL);
    check_sv(text_of(gate, "answer_text"), "Not for stock: its place is on hold.");
    check_sv(text_of(fl_json_get(gate, "worst"), "threat"), "western_flower_thrips");
    fl_json_free(doc);
    doc = view_lot(lot_in("Creeping fig", "Bench by the sink"));
    gate = fl_json_get(fl_json_root(doc), "gate");
    const fl_json_value *pathogen = pick(fl_json_get(gate, "conditions"), "kind", "pathogen");
    check_sv(text_of(pathogen, "reason"), "source_keeps_animals");
    const fl_json_value *steps = pick(fl_json_get(gate, "conditions"), "kind", "steps");
    check_true(fl_json_size(fl_json_get(steps, "steps_missing")) > 0);
    fl_json_free(doc);
}

/* ---- lots and places ---- */

static void check_way(const fl_json_value *lot, const char *states)
{
    char got[5] = "";
    const fl_json_value *way = fl_json_get(lot, "airlock");
    check_int(fl_json_size(way), 4);
    for (size_t i = 0; i < 4; i++) {
        got[i] = text_of(fl_json_at(way, i), "state").ptr[0];
    }
    check_str(got, states);
}

static void test_way_through_the_airlock(void **state)
{
    (void)state;
    static const struct {
        const char *plant, *place, *phase, *states; /* done, now, ahead */
    } cases[] = {
        {"Creeping fig", "Bench by the sink", "arrived", "dnaa"},
        {"Ripple peperomia", "Bench by the sink", "cleaned", "ddna"},
        {"Creeping fig", "Bin 1", "quarantine", "ddna"},
        {"Nerve plant", "Bin 2", "held", "ddna"},
        {"Ripple peperomia", "Frog tank", "established", "dddd"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        fl_json_doc *doc = view_lot(lot_in(cases[i].plant, cases[i].place));
        check_sv(text_of(fl_json_root(doc), "phase"), cases[i].phase);
        check_way(fl_json_root(doc), cases[i].states);
        fl_json_free(doc);
    }
    fl_json_doc *doc = view_lot(lot_in("Inch plant", "Bin 3")); /* a cutting: no way in */
    check_int(fl_json_size(fl_json_get(fl_json_root(doc), "airlock")), 0);
    check_sv(text_of(fl_json_get(fl_json_root(doc), "mother"), "name"), "Inch plant");
    fl_json_free(doc);
}

static void test_lot_tells_its_history(void **state)
{
    (void)state;
    fl_json_doc *doc = view_lot(lot_in("Creeping fig", "Bin 1"));
    const fl_json_value *lot = fl_json_root(doc);
    check_int(fl_json_size(fl_json_get(lot, "stays")), 2);
    check_int(fl_json_size(fl_json_get(lot, "steps")), 5);
    check_int(fl_json_size(fl_json_get(lot, "looks")), 6);
    check_int(fl_json_size(fl_json_get(lot, "findings")), 0);
    check_sv(text_of(fl_json_at(fl_json_get(lot, "looks"), 0), "on"), "2026-02-28");
    check_sv(text_of(lot, "arrived_on"), "2026-01-17");
    check_sv(text_of(fl_json_get(lot, "source"), "kind"), "chain_store");
    const fl_json_value *first = fl_json_at(fl_json_get(lot, "chances"), 0);
    check_true(fl_json_size(fl_json_get(first, "reasons")) > 0);
    fl_json_free(doc);
    doc = view_lot(lot_in("Nerve plant", "Bin 2"));
    const fl_json_value *found = fl_json_get(fl_json_root(doc), "findings");
    check_int(fl_json_size(found), 1);
    check_sv(text_of(fl_json_at(found, 0), "text"), "western flower thrips, larva; taken away");
    fl_json_free(doc);
}

static void test_place_tells_its_fill(void **state)
{
    (void)state;
    const fl_ev_place_set *place = NULL;
    check_ok(fl_room_find_place(&world.room, FL_SV("Jar 1"), &place, &world.err), &world.err);
    fl_view v = view();
    check_ok(fl_view_place(&v, NULL, place, &world.err), &world.err);
    fl_json_doc *doc = read_back(&v);
    const fl_json_value *jar = fl_json_root(doc);
    check_int(fl_json_type_of(fl_json_get(jar, "fill")), FL_JSON_NULL); /* cleaned, empty */
    check_int(fl_json_size(fl_json_get(jar, "earlier_fills")), 1);
    check_close(number(fl_json_at(fl_json_get(jar, "earlier_fills"), 0), "days"), 40.125, 1e-9,
                0.0); /* 7 December 16:00 to 16 January 19:00 */
    check_sv(text_of(fl_json_get(jar, "total"), "text"), "Nothing stands here.");
    fl_json_free(doc);
    check_ok(fl_room_find_place(&world.room, FL_SV("Bin 2"), &place, &world.err), &world.err);
    v = view();
    check_ok(fl_view_place(&v, NULL, place, &world.err), &world.err);
    doc = read_back(&v);
    const fl_json_value *bin = fl_json_root(doc);
    check_true(fl_json_bool(fl_json_get(bin, "is_held"), false));
    check_sv(text_of(fl_json_at(fl_json_get(bin, "holds"), 0), "cause"), "finding");
    check_int(fl_json_size(fl_json_get(bin, "lots")), 1);
    check_true(number(fl_json_get(bin, "total"), "prob_any") >=
               number(fl_json_get(bin, "total"), "prob_worst"));
    fl_json_free(doc);
}

/* ---- today, the room, short answers ---- */

static void test_today_is_never_overdue(void **state)
{
    (void)state;
    fl_today today;
    check_ok(fl_today_list(world.chances, &world.room, &world.arena, &today, &world.err),
             &world.err);
    fl_view v = view();
    fl_view_today(&v, NULL, &today);
    fl_json_doc *doc = read_back(&v);
    const fl_json_value *lines = fl_json_get(fl_json_root(doc), "lines");
    check_true(fl_json_size(lines) <= FL_TODAY_LINES);
    check_sv(text_of(fl_json_at(lines, 0), "kind"), "hold");
    check_sv(text_of(fl_json_get(fl_json_at(lines, 0), "place"), "name"), "Bin 2");
    const fl_json_value *upkeep = pick(lines, "kind", "upkeep");
    check_sv(text_of(upkeep, "when_text"), "today");
    check_sv(text_of(upkeep, "on"), "2026-03-07");
    check_all(fl_json_root(doc));
    fl_json_free(doc);
}

static void test_room_counts(void **state)
{
    (void)state;
    fl_view v = view();
    fl_view_room(&v, NULL);
    fl_json_doc *doc = read_back(&v);
    const fl_json_value *counts = fl_json_get(fl_json_root(doc), "counts");
    check_close(number(counts, "events"), 60.0, 0.0, 0.0);
    check_close(number(counts, "lots"), 11.0, 0.0, 0.0); /* one is lost */
    check_close(number(counts, "conflicts"), 1.0, 0.0, 0.0);
    check_close(number(counts, "lots_held"), 1.0, 0.0, 0.0);
    check_sv(text_of(fl_json_get(fl_json_root(doc), "round"), "weekday_text"), "Saturday");
    check_false(fl_json_bool(fl_json_get(fl_json_root(doc), "is_demo"), true));
    fl_json_free(doc);
}

static void test_prices_and_plan(void **state)
{
    (void)state;
    const fl_lot *lot = lot_in("Ripple peperomia", "Bench by the sink");
    fl_place_price *prices = NULL;
    size_t n = 0;
    check_ok(
        fl_plan_prices(&world.room, &world.app, &lot, 1, &world.arena, &prices, &n, &world.err),
        &world.err);
    fl_view v = view();
    fl_view_prices(&v, NULL, prices, n);
    fl_json_doc *doc = read_back(&v);
    const fl_json_value *list = fl_json_get(fl_json_root(doc), "prices");
    check_int(fl_json_size(list), n);
    /* It is for stock: the first, an empty jar without a gasket, gives no date. */
    check_false(fl_json_bool(fl_json_get(fl_json_at(list, 0), "is_best"), true));
    check_true(text_of(fl_json_at(list, 0), "own_sealed_on").len > 0);
    const fl_json_value *bin2 = NULL;
    for (size_t i = 0; i < n; i++) {
        const fl_json_value *price = fl_json_at(list, i);
        bool is_bin2 = fl_sv_eq_cstr(text_of(fl_json_get(price, "place"), "name"), "Bin 2");
        bin2 = is_bin2 ? price : bin2;
    }
    check_true(fl_json_bool(fl_json_get(bin2, "is_held"), false));
    check_false(fl_json_bool(fl_json_get(bin2, "is_free"), true));
    check_true(strstr(text_of(bin2, "text").ptr, "Bin 2 (bin), ") != NULL);
    for (size_t i = 0; i < n; i++) { /* a date or none, in words and as a date */
        const fl_json_value *price = fl_json_at(list, i);
        bool has_date = text_of(price, "own_on").len > 0;
        bool says_none =
            fl_sv_eq_cstr(text_of(price, "own_date_text"), "no date within half a year");
        check_true(has_date != says_none);
        check_true(!has_date || text_of(price, "no_date_text").len == 0);
    }
    fl_json_free(doc);
    fl_prep_plan plan;
    fl_plan_for_lot(&world.room, lot, &plan);
    v = view();
    fl_view_plan(&v, NULL, lot, &plan);
    doc = read_back(&v);
    check_int(fl_json_size(fl_json_get(fl_json_root(doc), "steps")), plan.n_steps);
    fl_json_free(doc);
}

static void test_problem_is_rfc_9457(void **state)
{
    (void)state;
    fl_view v = view();
    fl_view_problem(v.w, FL_ENOTFOUND, 0, FL_SV("there is no lot \"x\""));
    fl_json_doc *doc = read_back(&v);
    check_sv(text_of(fl_json_root(doc), "type"), "/problems/not-found");
    check_close(number(fl_json_root(doc), "status"), 404.0, 0.0, 0.0);
    check_sv(text_of(fl_json_root(doc), "title"), "there is no such thing");
    check_sv(text_of(fl_json_root(doc), "detail"), "there is no lot \"x\"");
    fl_json_free(doc);
}

/* 5 parts in 100 of a 4.5 % bottle: 50 ml in a litre; the strength of an old bottle is less. */
static void test_recipe_has_the_keys_of_reckon(void **state)
{
    (void)state;
    fl_bleach_mix mix;
    check_ok(fl_plan_bleach(&world.room, 0.0, 1000.0, &mix, &world.err), &world.err);
    fl_view v = view();
    fl_view_recipe(v.w, NULL, &mix);
    fl_json_doc *doc = read_back(&v);
    const fl_json_value *recipe = fl_json_root(doc);
    check_close(number(recipe, "product_ml"), 50.0, 1e-12, 0.0);
    check_close(number(recipe, "water_ml"), 950.0, 1e-12, 0.0);
    check_true(number(recipe, "strength_now_pct") < 4.5);
    check_true(number(recipe, "chlorine_mg_per_l") > 0.0);
    check_true(fl_json_size(fl_json_get(recipe, "cautions")) > 0);
    fl_json_free(doc);
}

static void test_short_answers(void **state)
{
    (void)state;
    fl_recorded results[] = {FL_RECORDED_NEW, FL_RECORDED_ALREADY, FL_RECORDED_NEW};
    fl_view v = view();
    fl_view_recorded(v.w, NULL, NULL, results, 3, 77);
    fl_json_doc *doc = read_back(&v);
    check_close(number(fl_json_root(doc), "recorded"), 2.0, 0.0, 0.0);
    check_close(number(fl_json_root(doc), "already"), 1.0, 0.0, 0.0);
    fl_json_free(doc);
    v = view();
    fl_view_changes(v.w, 70, 77, world.now_s);
    doc = read_back(&v);
    check_true(fl_json_bool(fl_json_get(fl_json_root(doc), "is_changed"), false));
    check_sv(text_of(fl_json_root(doc), "now_at"), "2026-03-07T18:00:00Z");
    fl_json_free(doc);
    fl_verified verified = {.n_events = 60, .n_lots = 12};
    v = view();
    fl_view_verified(v.w, NULL, &verified);
    doc = read_back(&v);
    check_close(number(fl_json_root(doc), "events"), 60.0, 0.0, 0.0);
    fl_json_free(doc);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_no_answer_promises_anything),
    cmocka_unit_test(test_gate_has_the_numbers_of_the_app),
    cmocka_unit_test(test_gate_says_what_is_missing),
    cmocka_unit_test(test_way_through_the_airlock),
    cmocka_unit_test(test_lot_tells_its_history),
    cmocka_unit_test(test_place_tells_its_fill),
    cmocka_unit_test(test_today_is_never_overdue),
    cmocka_unit_test(test_room_counts),
    cmocka_unit_test(test_prices_and_plan),
    cmocka_unit_test(test_problem_is_rfc_9457),
    cmocka_unit_test(test_recipe_has_the_keys_of_reckon),
    cmocka_unit_test(test_short_answers),
};

int main(void)
{
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
