/* Mothers are looked at again as their chance creeps up: what a lid lets in adds up until the
 * ceiling of stock is passed, a look takes it down, a tight box never gets there. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "app/calendar.h"
#include "app/mothers.h"
#include "app/today.h"
#include "support/keeper.h"

#define NO_ID ((fl_id){{0}})

typedef struct stage {
    fl_keeper k;
    fl_id loose, tight;
    fl_mothers_look *looks;
    size_t n;
} stage;

static fl_id add_bin(stage *s, const char *name, bool has_gasket)
{
    fl_event event = {.kind = FL_KIND_PLACE_SET};
    fl_id id = fl_keeper_id(&s->k);
    event.body.place_set = (fl_ev_place_set){.place = id,
                                             .name = fl_sv_from_cstr(name),
                                             .kind = FL_PLACE_BIN,
                                             .uses = 1U << FL_USE_STOCK,
                                             .has_gasket = has_gasket,
                                             .set_temp_c = 22.0,
                                             .volume_l = (double)NAN,
                                             .shelf = -1};
    fl_keeper_record(&s->k, &event);
    return id;
}

/* Cups from a lab, released as stock into a box that closes tight and one that does not. */
static void set_stage(stage *s)
{
    memset(s, 0, sizeof *s);
    fl_keeper_init(&s->k);
    fl_event room = {.kind = FL_KIND_ROOM_SET};
    room.body.room_set = (fl_ev_room_set){.round_weekday = 0, .round_effort = FL_EFFORT_CAREFUL};
    fl_keeper_record(&s->k, &room);
    fl_id lab = fl_keeper_source(&s->k, "a lab", FL_SOURCE_TISSUE_CULTURE_LAB, false);
    fl_id bench = fl_keeper_place(&s->k, "bench", FL_PLACE_BENCH, 0, 21.0);
    s->loose = add_bin(s, "the loose box", false);
    s->tight = add_bin(s, "the tight box", true);
    fl_id bins[2] = {s->loose, s->tight};
    for (int i = 0; i < 2; i++) {
        fl_id cup = fl_keeper_arrive(&s->k, lab, fl_keeper_id(&s->k), bench, FL_FORM_TISSUE_CULTURE,
                                     FL_USE_STOCK, 2);
        fl_keeper_release(&s->k, cup, bins[i]);
    }
}

static void ask(stage *s)
{
    fl_keeper_ask(&s->k);
    check_ok(
        fl_mothers_due(s->k.chances, &s->k.room, &s->k.room.arena, &s->looks, &s->n, &s->k.err),
        &s->k.err);
}

static int64_t noon_of(const stage *s, int day)
{
    return fl_civil_noon(FL_KEEPER_START_S, s->k.room.tz_offset_min) + day * (int64_t)FL_DAY_S;
}

static bool is_on_today(stage *s, const char *part)
{
    fl_today today;
    char text[300];
    check_ok(fl_today_list(s->k.chances, &s->k.room, &s->k.room.arena, &today, &s->k.err),
             &s->k.err);
    for (int i = 0; i < today.n; i++) {
        (void)snprintf(text, sizeof text, "%.*s", FL_SV_ARG(today.lines[i].text));
        if (today.lines[i].kind == FL_DUE_UPKEEP && strstr(text, part) != NULL) {
            return true;
        }
    }
    return false;
}

static void test_it_creeps_up(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    ask(&s);
    check_int(s.n, 0); /* cups from a lab: hardly anything */
    fl_keeper_day(&s.k, 4, 0);
    ask(&s);
    check_int(s.n, 0);
    fl_keeper_day(&s.k, 35, 0);
    ask(&s);
    check_int(s.n, 1); /* the tight box lets nothing in */
    check_true(fl_id_eq(s.looks[0].place, s.loose));
    check_close(s.looks[0].ceiling, 0.05, 1e-12, 0.0); /* design section 4, the gate */
    check_true(s.looks[0].sum > s.looks[0].ceiling && s.looks[0].sum < 0.2);
    check_true(s.looks[0].worst != NULL);
    /* the first Monday 28 days after it came there: day 28 is one */
    check_int(s.looks[0].due_s, noon_of(&s, FL_MOTHERS_DAYS));
    check_true(
        is_on_today(&s, "Look again at the mothers in the loose box: what could be on them"));
    check_true(is_on_today(&s, "over the 5 % that is enough for stock"));
    check_false(is_on_today(&s, "Look over the loose box")); /* not twice */
    fl_today plain; /* without chances nobody can say that it crept up; the rest stands */
    check_ok(fl_today_list(NULL, &s.k.room, &s.k.room.arena, &plain, &s.k.err), &s.k.err);
    double before = s.looks[0].sum;
    fl_keeper_look(&s.k, s.loose, FL_EFFORT_CAREFUL, 0, NULL, NO_ID);
    ask(&s);
    check_false(is_on_today(&s, "Look again"));
    check_true(s.n == 0 || s.looks[0].sum < before);
    fl_keeper_day(&s.k, 70, 0); /* and up again */
    ask(&s);
    check_int(s.n, 1);
    check_int(s.looks[0].due_s, noon_of(&s, 63));
    fl_keeper_done(&s.k);
}

/* On hold it has a sooner look; beside a lot in quarantine too. */
static void test_a_sooner_look(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_keeper_day(&s.k, 40, 0);
    fl_event hold = {.kind = FL_KIND_HOLD_SET};
    hold.body.hold_set = (fl_ev_hold_set){
        .hold = fl_keeper_id(&s.k), .place = s.loose, .why = FL_SV("gnats may be there")};
    fl_keeper_record(&s.k, &hold);
    ask(&s);
    check_int(s.n, 0);
    fl_keeper_done(&s.k);
}

/* What a collection came with has not crept up: it waits for its routine. */
static void test_already_here(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    (void)fl_keeper_already_here(&s.k, s.tight, 2);
    fl_keeper_day(&s.k, 35, 0);
    ask(&s);
    check_int(s.n, 1);
    check_true(fl_id_eq(s.looks[0].place, s.loose));
    fl_keeper_done(&s.k);
}

static void test_the_calendar_knows(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_keeper_day(&s.k, 26, 0);
    ask(&s);
    check_int(s.n, 1);
    fl_calendar_entry *entries = NULL;
    size_t n = 0;
    check_ok(
        fl_calendar_make(&s.k.app, &s.k.room, s.k.chances, &s.k.room.arena, &entries, &n, &s.k.err),
        &s.k.err);
    const fl_calendar_entry *found = NULL;
    for (size_t i = 0; i < n; i++) {
        bool is_it = entries[i].kind == FL_CALENDAR_UPKEEP &&
                     fl_sv_eq_cstr(entries[i].summary, "Look over the loose box");
        found = is_it ? &entries[i] : found;
    }
    if (found == NULL) {
        fail_msg("%s", "no look over the loose box in the calendar");
        return; /* not reached */
    }
    check_int(found->day, fl_civil_days(2026, 3, 30)); /* day 28 */
    fl_keeper_done(&s.k);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_it_creeps_up), cmocka_unit_test(test_a_sooner_look),
    cmocka_unit_test(test_already_here), cmocka_unit_test(test_the_calendar_knows)};
FL_TEST_MAIN(tests)
