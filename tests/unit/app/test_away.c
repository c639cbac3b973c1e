/* Away: nothing is asked, no look is counted on meanwhile, one round on the day of return. */
#include "app/today.h"
#include "support/keeper.h"

typedef struct stage {
    fl_keeper k;
    fl_arena arena;
    fl_id bin, lot;
} stage;

static void set_stage(stage *s)
{
    fl_keeper_init(&s->k);
    fl_arena_init(&s->arena);
    s->bin = fl_keeper_place(&s->k, "bin", FL_PLACE_BIN, 0, 23.0);
    const fl_id store = fl_keeper_source(&s->k, "store", FL_SOURCE_CHAIN_STORE, false);
    s->lot = fl_keeper_arrive(&s->k, store, fl_keeper_id(&s->k), s->bin, FL_FORM_POTTED,
                              FL_USE_PLANTS_ONLY, 1);
}

static void strike_stage(stage *s)
{
    fl_keeper_verify(&s->k);
    fl_keeper_done(&s->k);
    fl_arena_done(&s->arena);
}

static void go_away(stage *s, const char *from, const char *until)
{
    fl_event event = {.kind = FL_KIND_ROOM_SET};
    event.body.room_set = (fl_ev_room_set){.round_weekday = -1,
                                           .round_effort = FL_EFFORT_CAREFUL,
                                           .away_from = fl_sv_from_cstr(from),
                                           .away_until = fl_sv_from_cstr(until)};
    fl_keeper_record(&s->k, &event);
}

static fl_today today(stage *s)
{
    fl_today list;
    fl_keeper_ask(&s->k);
    check_ok(fl_today_list(s->k.chances, &s->k.room, &s->arena, &list, &s->k.err), &s->k.err);
    return list;
}

static bool has_kind(const fl_today *list, fl_due_kind kind)
{
    for (int i = 0; i < list->n; i++) {
        if (list->lines[i].kind == kind) {
            return true;
        }
    }
    return false;
}

/* 2026-03-02 is a Monday; rounds are on Sundays: 8, 15, 22, 29 March … */
static void test_the_list(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    go_away(&s, "2026-03-10", "2026-03-25");
    fl_keeper_day(&s.k, 7, 0); /* Monday 9: Sunday's look was missed */
    fl_today list = today(&s);
    check_true(has_kind(&list, FL_DUE_LOOK));
    check_false(has_kind(&list, FL_DUE_AWAY));
    fl_keeper_day(&s.k, 8, 0); /* Tuesday 10: away */
    list = today(&s);
    check_int(list.n, 1);
    check_int(list.lines[0].kind, FL_DUE_AWAY);
    fl_keeper_day(&s.k, 22, 0); /* Tuesday 24: the last day */
    list = today(&s);
    check_int(list.lines[0].kind, FL_DUE_AWAY);
    fl_keeper_day(&s.k, 23, 0); /* Wednesday 25: back */
    list = today(&s);
    check_true(has_kind(&list, FL_DUE_LOOK));
    check_false(has_kind(&list, FL_DUE_AWAY));
    strike_stage(&s);
}

static void test_no_look_is_counted_on(void **state)
{
    (void)state;
    stage s;
    fl_forecast here;
    fl_forecast away;
    set_stage(&s);
    fl_keeper_ask(&s.k);
    check_ok(fl_chances_forecast(s.k.chances, fl_keeper_lot(&s.k, s.lot), &here, &s.k.err),
             &s.k.err);
    go_away(&s, "2026-03-10", "2026-03-25");
    fl_keeper_ask(&s.k);
    check_ok(fl_chances_forecast(s.k.chances, fl_keeper_lot(&s.k, s.lot), &away, &s.k.err),
             &s.k.err);
    check_int((here.at_s[1] - FL_KEEPER_START_S + FL_DAY_S / 2) / FL_DAY_S, 6);
    check_int((here.at_s[3] - FL_KEEPER_START_S + FL_DAY_S / 2) / FL_DAY_S, 20);
    check_int((away.at_s[1] - FL_KEEPER_START_S + FL_DAY_S / 2) / FL_DAY_S, 6);
    check_int((away.at_s[2] - FL_KEEPER_START_S + FL_DAY_S / 2) / FL_DAY_S,
              23); /* the day of return */
    check_int((away.at_s[3] - FL_KEEPER_START_S + FL_DAY_S / 2) / FL_DAY_S,
              27); /* the Sunday after */
    check_int((away.at_s[4] - FL_KEEPER_START_S + FL_DAY_S / 2) / FL_DAY_S, 34);
    check_close(away.sum[FL_USE_PLANTS_ONLY][1], here.sum[FL_USE_PLANTS_ONLY][1], 1e-12, 0.0);
    /* one look on day 23 tells less than two on days 13 and 20 */
    check_true(away.sum[FL_USE_PLANTS_ONLY][2] > here.sum[FL_USE_PLANTS_ONLY][3]);
    check_true(fl_keeper_gate(&s.k, s.lot, 0).answer.earliest_s > FL_KEEPER_START_S);
    strike_stage(&s);
}

static void test_back_sooner_and_not_told(void **state)
{
    (void)state;
    stage s;
    set_stage(&s);
    fl_keeper_ask(&s.k);
    check_false(fl_room_is_away(&s.k.room, s.k.now_s));
    go_away(&s, "2026-03-01", "2026-04-01");
    fl_keeper_ask(&s.k);
    check_true(fl_room_is_away(&s.k.room, s.k.now_s));
    fl_keeper_day(&s.k, 3, 0);
    go_away(&s, "2026-03-01", "2026-03-05");
    fl_keeper_ask(&s.k);
    check_false(fl_room_is_away(&s.k.room, s.k.now_s));
    go_away(&s, "", ""); /* other settings leave it */
    fl_keeper_ask(&s.k);
    check_true(fl_room_is_away(&s.k.room, FL_KEEPER_START_S));
    strike_stage(&s);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_the_list),
    cmocka_unit_test(test_no_look_is_counted_on),
    cmocka_unit_test(test_back_sooner_and_not_told),
};
FL_TEST_MAIN(tests)
