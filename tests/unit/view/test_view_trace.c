/* The JSON and words of traces and outbreaks: that numbers are those of the app, that each event of
 * a proposal reads back, and that the words say what the numbers do. */
#include <string.h>

#include "json/event_codec.h"
#include "support/shelf.h"
#include "view/view_trace.h"

static const fl_id NONE = {{0}};

static fl_json_doc *outbreak_json(fl_shelf *s)
{
    fl_str text;
    fl_json_doc *doc = NULL;
    fl_json_writer *w = fl_json_writer_new();
    const fl_view view = {.room = &s->k.room, .chances = s->k.chances, .arena = &s->arena, .w = w};
    fl_str_init(&text, (size_t)4 << 20);
    check_ok(fl_view_outbreak(&view, NULL, &s->o, &s->k.err), &s->k.err);
    fl_json_write(w, false, &text);
    check_ok(fl_json_parse(fl_str_sv(&text), &doc, &s->k.err), &s->k.err);
    fl_json_writer_free(w);
    fl_str_done(&text);
    return doc;
}

static double number(const fl_json_value *object, const char *key)
{
    double value = -1.0;
    check_true(fl_json_number(fl_json_get(object, key), &value));
    return value;
}

static void set_up(fl_shelf *s)
{
    fl_shelf_init(s);
    fl_id arrival = fl_keeper_id(&s->k);
    fl_id a = fl_shelf_buy(s, s->shop, arrival);
    fl_id b = fl_shelf_buy(s, s->shop, arrival);
    fl_keeper_day(&s->k, 0, 1);
    fl_keeper_move(&s->k, a, s->bin[1]);
    fl_keeper_move(&s->k, b, s->bin[2]);
    fl_keeper_day(&s->k, 12, 0);
    fl_shelf_outbreak(s, fl_shelf_find(s, s->bin[1], "western_flower_thrips", "larva", a));
}

static void test_outbreak_as_json(void **state)
{
    (void)state;
    fl_shelf s;
    set_up(&s);
    fl_json_doc *doc = outbreak_json(&s);
    const fl_json_value *o = fl_json_root(doc);
    const fl_json_value *t = fl_json_get(o, "trace");
    check_sv(fl_json_text(fl_json_get(o, "state")), "open");
    check_int(fl_json_size(fl_json_get(o, "first")), FL_OUTBREAK_FIRST);
    check_int(fl_json_size(fl_json_get(o, "proposals")), s.o.n_proposals);
    check_int(fl_json_size(fl_json_get(o, "story")), s.o.n_story);
    check_sv(fl_json_text(fl_json_get(t, "threat")), "western_flower_thrips");
    check_sv(fl_json_text(fl_json_get(t, "stage")), "larva");
    const fl_json_value *sources = fl_json_get(t, "sources");
    const fl_json_value *reached = fl_json_get(t, "reached");
    check_int(fl_json_size(sources), s.t.n_sources);
    check_close(number(fl_json_at(sources, 0), "prob"), s.t.sources[0].prob, 1e-12, 0.0);
    check_int(fl_json_size(fl_json_get(fl_json_at(sources, 0), "chain")), s.t.sources[0].n_chain);
    check_int(fl_json_size(reached), s.t.n_reached);
    for (size_t i = 0; i < s.t.n_reached; i++) {
        const fl_json_value *r = fl_json_at(reached, i);
        check_close(number(r, "prob_here"), s.t.reached[i].here, 1e-12, 0.0);
        check_true(number(r, "prob") <= number(r, "prob_most") + 1e-12);
        check_true(fl_json_text(fl_json_get(r, "here_text")).len > 0);
    }
    fl_json_free(doc);
    fl_shelf_done(&s);
}

/* What the page would post back is the event itself. */
static void test_events_of_proposals_read_back(void **state)
{
    (void)state;
    fl_shelf s;
    set_up(&s);
    fl_json_doc *doc = outbreak_json(&s);
    const fl_json_value *proposals = fl_json_get(fl_json_root(doc), "proposals");
    size_t n = 0;
    for (size_t i = 0; i < fl_json_size(proposals); i++) {
        const fl_json_value *p = fl_json_at(proposals, i);
        const fl_json_value *events = fl_json_get(p, "events");
        check_close(number(p, "number"), (double)(i + 1), 0.0, 0.0);
        check_int(fl_json_size(events), s.o.proposals[i].n_events);
        for (size_t k = 0; k < fl_json_size(events); k++) {
            fl_str text;
            fl_event event;
            fl_str_init(&text, 65536);
            check_ok(fl_json_canonical(fl_json_at(events, k), &text, &s.k.err), &s.k.err);
            check_ok(fl_event_read(fl_str_sv(&text), 60, &s.arena, &event, NULL, &s.k.err),
                     &s.k.err);
            check_true(fl_id_eq(event.id, s.o.proposals[i].events[k].id));
            check_int(event.kind, s.o.proposals[i].events[k].kind);
            fl_str_done(&text);
            n++;
        }
    }
    check_true(n >= 4);
    fl_json_free(doc);
    fl_shelf_done(&s);
}

static void test_untraced_has_no_trace(void **state)
{
    (void)state;
    fl_shelf s;
    fl_shelf_init(&s);
    fl_keeper_day(&s.k, 1, 0);
    (void)fl_keeper_already_here(&s.k, s.bin[1], 1);
    fl_keeper_day(&s.k, 9, 0);
    fl_shelf_outbreak(&s, fl_shelf_find(&s, s.bin[1], "", "", NONE));
    fl_json_doc *doc = outbreak_json(&s);
    check_int(fl_json_type_of(fl_json_get(fl_json_root(doc), "trace")), FL_JSON_NULL);
    fl_json_free(doc);
    fl_shelf_done(&s);
}

static void test_words(void **state)
{
    (void)state;
    fl_shelf s;
    set_up(&s);
    const fl_room *room = &s.k.room;
    check_sv(fl_say_subject(room, &s.t, &s.arena), "western flower thrips, larva");
    check_sv(fl_say_source(room, &s.t.sources[0], &s.arena),
             "the purchase from Corner Nursery, 2 March");
    check_sv(fl_say_contact(room, &s.t.sources[0].chain[0], &s.arena), "came to the bench");
    check_sv(fl_say_contact(room, &s.t.sources[0].chain[1], &s.arena),
             "from the bench to bin 1: the plant itself was moved");
    check_sv(fl_say_window(room, &s.t, &s.arena),
             "By its stage and the warmth it came in between 2 March and 14 March, or was on what "
             "stood there first.");
    fl_trace bound = s.t;
    bound.window.is_bound = true;
    bound.window_to_s = bound.found_s - 9 * FL_DAY_S;
    check_sv(fl_say_window(room, &bound, &s.arena),
             "What was seen breeds, so this is only a bound: it came in at least 9 days before the "
             "find, on 5 March or earlier.");
    bound.has_window = false;
    check_sv(fl_say_window(room, &bound, &s.arena), "");
    fl_outbreak o = s.o;
    o.state = FL_OUTBREAK_OVER;
    o.clear_s = FL_KEEPER_START_S + 30 * FL_DAY_S;
    check_sv(fl_say_outbreak_state(room, &o, &s.arena), "All clear since 1 April.");
    o.state = FL_OUTBREAK_OPEN;
    o.clear_s = FL_GATE_NEVER;
    check_sv(fl_say_outbreak_state(room, &o, &s.arena), "Open; no day can be named yet.");
    o.is_about_animals = true;
    check_sv(fl_say_outbreak_state(room, &o, &s.arena),
             "Open until your vet says otherwise and you lift the hold.");
    fl_shelf_done(&s);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_outbreak_as_json),
    cmocka_unit_test(test_events_of_proposals_read_back),
    cmocka_unit_test(test_untraced_has_no_trace),
    cmocka_unit_test(test_words),
};
FL_TEST_MAIN(tests)
