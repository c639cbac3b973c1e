/* A customer's complaint over a whole room: the plant's chance is that of the day it left, with
 * what was learned since; the orderings that must hold; what is refused; voiding. The numbers of
 * one case against matrix exponentials are in tests/unit/core/trace/test_complaint.c. */
#include <math.h>

#include "app/complaint.h"
#include "support/keeper.h"

#define PEST "western_flower_thrips"

typedef struct stage {
    fl_keeper k;
    fl_arena arena;
    fl_id bench, bin, school, fig, fern, part;
    fl_complaint c;
} stage;

static void set_stage(stage *s)
{
    fl_id source, arrival;
    *s = (stage){0};
    fl_keeper_init(&s->k);
    fl_arena_init(&s->arena);
    s->bin = fl_keeper_place(&s->k, "bin 1", FL_PLACE_BIN, 1U << FL_USE_STOCK, 21.0);
    s->school = fl_keeper_place(&s->k, "the school", FL_PLACE_OUTSIDE, 0, 21.0);
    source = fl_keeper_source(&s->k, "Corner Nursery", FL_SOURCE_NURSERY, false);
    arrival = fl_keeper_id(&s->k);
    s->fig = fl_keeper_arrive(&s->k, source, arrival, s->bin, FL_FORM_POTTED, FL_USE_STOCK, 6);
    s->fern = fl_keeper_arrive(&s->k, source, arrival, s->bin, FL_FORM_POTTED, FL_USE_STOCK, 2);
}

static void clear_stage(stage *s)
{
    fl_arena_done(&s->arena);
    fl_keeper_done(&s->k);
}

static void look(stage *s, int day, fl_effort effort, const char *threat)
{
    fl_keeper_day(&s->k, day, 0);
    (void)fl_keeper_look(&s->k, s->bin, effort, 0, threat, s->fern);
}

/* Two of the figs go to the school. */
static void give(stage *s, int day)
{
    fl_keeper_day(&s->k, day, 2);
    s->part = fl_keeper_split(&s->k, s->fig, 2);
    fl_keeper_release(&s->k, s->part, s->school);
}

static fl_complaint_question question(stage *s, int noticed_day)
{
    const double untold = (double)NAN;
    return (fl_complaint_question){.lot = fl_keeper_lot(&s->k, s->part),
                                   .threat = fl_know_threat_find(FL_SV(PEST)),
                                   .noticed_s = FL_KEEPER_START_S + noticed_day * FL_DAY_S,
                                   .hazard_per_30_days = untold,
                                   .look_days = untold,
                                   .temp_c = untold};
}

/* Asked `today`, of what was noticed on a day. */
static void ask(stage *s, int today, int noticed_day, double hazard)
{
    fl_keeper_day(&s->k, today, 3);
    fl_keeper_ask(&s->k);
    fl_complaint_question q = question(s, noticed_day);
    q.hazard_per_30_days = hazard;
    check_ok(fl_complaint_ask(&s->k.room, &s->k.app, s->k.chances, &q, &s->arena, &s->c, &s->k.err),
             &s->k.err);
    check_true(s->c.no_chance == NULL);
    check_true(s->c.here.least <= s->c.here.middle && s->c.here.middle <= s->c.here.most);
    check_true(s->c.on_it.least <= s->c.on_it.middle && s->c.on_it.middle <= s->c.on_it.most);
    check_true(s->c.here.least >= 0.0 && s->c.here.most <= 1.0);
}

/* What was on it when it left is what the room said on that day: to 1e-4, since founders too few
 * to follow are dropped on the way (FL_COPY_LEAST), and roots are put together before they are
 * read. */
static void test_chance_of_the_day_it_left(void **state)
{
    stage s;
    (void)state;
    set_stage(&s);
    look(&s, 7, FL_EFFORT_CAREFUL, NULL);
    look(&s, 14, FL_EFFORT_CAREFUL, NULL);
    fl_keeper_day(&s.k, 20, 2);
    fl_keeper_ask(&s.k);
    const fl_lot_chance then = fl_keeper_chance(&s.k, s.fig, PEST);
    give(&s, 20);
    ask(&s, 41, 40, (double)NAN);
    check_close(s.c.on_it.middle, then.chance, 1e-4, 0.0);
    check_int(s.c.left.at_s, FL_KEEPER_START_S + 20 * FL_DAY_S + 2 * FL_HOUR_S);
    check_int(s.c.left.count, 2);
    check_sv(s.c.customer, "the school");
    check_close(s.c.here.middle, s.c.noticed_here / (s.c.noticed_here + s.c.noticed_there), 1e-12,
                0.0);
    /* who else: what stood with it, likeliest first; nobody else has of its plants */
    check_int(s.c.n_others, 1);
    bool has_fern = false;
    for (size_t i = 0; i < s.c.trace.n_reached; i++) {
        has_fern = has_fern || fl_id_eq(s.c.trace.reached[i].lot->id, s.fern);
    }
    check_true(has_fern);
    clear_stage(&s);
}

/* The customer's own hazard: none, then it came along; more of it speaks for there. */
static void test_hazard(void **state)
{
    stage s;
    double last = 1.0;
    (void)state;
    set_stage(&s);
    look(&s, 7, FL_EFFORT_CAREFUL, NULL);
    give(&s, 10);
    ask(&s, 31, 30, 0.0);
    check_close(s.c.here.middle, 1.0, 1e-12, 0.0);
    check_close(s.c.here.least, 1.0, 1e-12, 0.0);
    for (double hazard = 0.01; hazard < 2.0; hazard *= 3.0) {
        ask(&s, 31, 30, hazard);
        check_true(s.c.here.middle < last);
        last = s.c.here.middle;
    }
    ask(&s, 31, 30, (double)NAN); /* not told: ours, with its range */
    const double width = s.c.here.most - s.c.here.least;
    check_close(s.c.question.hazard_per_30_days, FL_COMPLAINT_HAZARD_30_DAYS, 0.0, 0.0);
    ask(&s, 31, 30, FL_COMPLAINT_HAZARD_30_DAYS);
    check_true(s.c.here.most - s.c.here.least < width);
    clear_stage(&s);
}

/* More quiet looks here speak for there; thrips found in the bin after it had left, for here. */
static void test_what_is_known_here(void **state)
{
    stage few, many, found;
    (void)state;
    set_stage(&few);
    set_stage(&many);
    set_stage(&found);
    for (int day = 4; day <= 24; day += 4) {
        look(&many, day, FL_EFFORT_CAREFUL, NULL);
    }
    give(&few, 26);
    give(&many, 26);
    give(&found, 26);
    look(&found, 33, FL_EFFORT_CAREFUL, PEST);
    ask(&few, 41, 40, (double)NAN);
    ask(&many, 41, 40, (double)NAN);
    ask(&found, 41, 40, (double)NAN);
    check_true(many.c.on_it.middle < few.c.on_it.middle);
    check_true(many.c.here.middle < few.c.here.middle);
    check_true(found.c.on_it.middle > few.c.on_it.middle);
    check_true(found.c.here.middle > few.c.here.middle);
    clear_stage(&few);
    clear_stage(&many);
    clear_stage(&found);
}

/* Noticed later, it is likelier to have begun there. */
static void test_later(void **state)
{
    stage s;
    double last = 1.0;
    (void)state;
    set_stage(&s);
    look(&s, 7, FL_EFFORT_CAREFUL, NULL);
    give(&s, 10);
    for (int day = 20; day <= 340; day += 80) {
        ask(&s, 350, day, (double)NAN);
        check_true(s.c.here.middle < last);
        last = s.c.here.middle;
    }
    clear_stage(&s);
}

static void test_refused(void **state)
{
    stage s;
    (void)state;
    set_stage(&s);
    fl_keeper_day(&s.k, 9, 0);
    fl_keeper_ask(&s.k);
    s.part = s.fig; /* has not left, nor any of it */
    fl_complaint_question q = question(&s, 9);
    check_int(fl_complaint_ask(&s.k.room, &s.k.app, s.k.chances, &q, &s.arena, &s.c, &s.k.err),
              FL_EINVAL);
    check_contains(s.k.err.message, "fernlock give");
    give(&s, 10);
    fl_keeper_day(&s.k, 11, 0);
    fl_keeper_ask(&s.k);
    q = question(&s, 10); /* told as a date, noon: the day it left, at two */
    check_ok(fl_complaint_ask(&s.k.room, &s.k.app, s.k.chances, &q, &s.arena, &s.c, &s.k.err),
             &s.k.err);
    check_close(s.c.here.middle, 1.0, 1e-12, 0.0); /* nothing can have begun there yet */
    q = question(&s, 9);                           /* noticed before it left */
    check_int(fl_complaint_ask(&s.k.room, &s.k.app, s.k.chances, &q, &s.arena, &s.c, &s.k.err),
              FL_EINVAL);
    q = question(&s, 11);
    q.lot = fl_keeper_lot(&s.k, s.fig); /* a part of it has: it is named */
    char code[FL_CODE_TEXT_MAX];
    check_int(fl_complaint_ask(&s.k.room, &s.k.app, s.k.chances, &q, &s.arena, &s.c, &s.k.err),
              FL_EINVAL);
    check_contains(s.k.err.message, fl_id_code(code, s.part));
    clear_stage(&s);
}

/* A disease has no clock: no number, but who else. */
static void test_no_clock(void **state)
{
    stage s;
    (void)state;
    set_stage(&s);
    give(&s, 10);
    fl_keeper_day(&s.k, 31, 0);
    fl_keeper_ask(&s.k);
    fl_complaint_question q = question(&s, 30);
    for (size_t i = 0; i < fl_know_threat_count(); i++) {
        if (fl_know_threat(i)->class == FL_CLASS_PATHOGEN) {
            q.threat = fl_know_threat(i);
        }
    }
    check_ok(fl_complaint_ask(&s.k.room, &s.k.app, s.k.chances, &q, &s.arena, &s.c, &s.k.err),
             &s.k.err);
    check_true(s.c.no_chance != NULL);
    clear_stage(&s);
}

/* As an event: it moves no chance, sets no hold, and can be taken back. */
static void test_event(void **state)
{
    stage s;
    (void)state;
    set_stage(&s);
    give(&s, 10);
    fl_keeper_day(&s.k, 30, 0);
    fl_keeper_ask(&s.k);
    const double before = fl_keeper_chance(&s.k, s.fern, PEST).chance;
    fl_event event = {.kind = FL_KIND_COMPLAINT_NOTED};
    event.body.complaint_noted = (fl_ev_complaint_noted){.lot = s.part,
                                                         .customer = FL_SV("class 4b"),
                                                         .threat = FL_SV(PEST),
                                                         .stage = FL_SV("adult"),
                                                         .hazard_per_30_days = 0.05,
                                                         .look_days = (double)NAN,
                                                         .temp_c = 19.0};
    fl_keeper_record(&s.k, &event);
    fl_keeper_ask(&s.k);
    check_close(fl_keeper_chance(&s.k, s.fern, PEST).chance, before, 1e-12, 0.0);
    check_int(s.k.room.meaning.n_holds, 0);
    char code[FL_CODE_TEXT_MAX];
    const fl_event *found =
        fl_complaint_find(&s.k.room, fl_sv_from_cstr(fl_id_code(code, event.id)));
    check_true(found != NULL);
    check_ok(
        fl_complaint_ask_event(&s.k.room, &s.k.app, s.k.chances, found, &s.arena, &s.c, &s.k.err),
        &s.k.err);
    check_sv(s.c.customer, "class 4b");
    check_true(s.c.is_hazard_told && !s.c.is_look_told);
    check_close(s.c.question.temp_c, 19.0, 0.0, 0.0);
    fl_event undo = {.kind = FL_KIND_EVENT_VOIDED};
    undo.body.event_voided.event = event.id;
    fl_keeper_record(&s.k, &undo);
    fl_keeper_ask(&s.k);
    check_true(fl_complaint_find(&s.k.room, fl_sv_from_cstr(code)) == NULL);
    fl_keeper_verify(&s.k);
    clear_stage(&s);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_chance_of_the_day_it_left),
    cmocka_unit_test(test_hazard),
    cmocka_unit_test(test_what_is_known_here),
    cmocka_unit_test(test_later),
    cmocka_unit_test(test_refused),
    cmocka_unit_test(test_no_clock),
    cmocka_unit_test(test_event),
};
FL_TEST_MAIN(tests)
