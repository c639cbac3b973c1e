/* Arrival triage in a room: claim windows by the calendar, the road through quarantine as the gate
 * has it, what going each way leaves in the record, and the line on today. */
#include <math.h>
#include <stdlib.h>

#include "app/today.h"
#include "app/triage.h"
#include "support/keeper.h"
#include "view/triage.h"

typedef struct stage {
    fl_keeper k;
    fl_id store, trade, bench, bin;
} stage;

static fl_id source_with(fl_keeper *k, const char *name, fl_source_kind kind, int64_t days)
{
    fl_event event = {.kind = FL_KIND_SOURCE_SET};
    event.body.source_set = (fl_ev_source_set){.source = fl_keeper_id(k),
                                               .name = fl_sv_from_cstr(name),
                                               .kind = kind,
                                               .take_back_days = days};
    fl_keeper_record(k, &event);
    return event.body.source_set.source;
}

static int set_stage(void **state)
{
    stage *s = calloc(1, sizeof *s);
    fl_keeper_init(&s->k);
    s->store = source_with(&s->k, "a store", FL_SOURCE_CHAIN_STORE, 7);
    s->trade = source_with(&s->k, "a friend", FL_SOURCE_TRADE, 0);
    s->bench = fl_keeper_place(&s->k, "bench", FL_PLACE_BENCH, 0, 21.0);
    s->bin = fl_keeper_place(&s->k, "bin 1", FL_PLACE_BIN, 0, 23.0);
    *state = s;
    return 0;
}

static int strike_stage(void **state)
{
    stage *s = *state;
    fl_keeper_verify(&s->k);
    fl_keeper_done(&s->k);
    free(s);
    return 0;
}

typedef struct bought {
    fl_id source, arrival;
    fl_use use;
    int64_t count;
    double cost;
    int64_t take_back_days;
    const char *label;
} bought;

static fl_id buy(stage *s, bought b)
{
    fl_event event = {.kind = FL_KIND_LOT_ARRIVED};
    event.body.lot_arrived =
        (fl_ev_lot_arrived){.lot = fl_keeper_id(&s->k),
                            .arrival = b.arrival,
                            .source = b.source,
                            .name = FL_SV("unnamed vine"),
                            .count = b.count,
                            .form = FL_FORM_POTTED,
                            .use = b.use,
                            .place = s->bench,
                            .cost = b.cost,
                            .take_back_days = b.take_back_days,
                            .label_active = fl_sv_from_cstr(b.label ? b.label : "")};
    fl_keeper_record(&s->k, &event);
    return event.body.lot_arrived.lot;
}

static fl_claim claim_of(stage *s, fl_id lot)
{
    fl_keeper_ask(&s->k);
    return fl_triage_claim(&s->k.room, fl_keeper_lot(&s->k, lot));
}

static void check_claim(stage *s, fl_id lot, const char *text)
{
    fl_arena arena;
    fl_arena_init(&arena);
    const fl_claim claim = claim_of(s, lot);
    check_sv(fl_say_claim(&s->k.room, &claim, &arena), text);
    fl_arena_done(&arena);
}

/* Bought on Monday, 2 March 2026; seven days are over when the 9th is (by the calendar). */
static void test_claims(void **state)
{
    stage *s = *state;
    fl_id plain = buy(s, (bought){s->store, fl_keeper_id(&s->k), FL_USE_STOCK, 2, 9.0, 0, NULL});
    fl_id longer = buy(s, (bought){s->store, fl_keeper_id(&s->k), FL_USE_STOCK, 1, 3.0, 30, NULL});
    fl_id given =
        buy(s, (bought){s->trade, fl_keeper_id(&s->k), FL_USE_STOCK, 1, (double)NAN, 0, NULL});
    check_claim(s, plain, "It could still go back until 9 March.");
    check_claim(s, longer, "It could still go back until 1 April.");
    check_claim(s, given, "");
    check_true(claim_of(s, longer).is_of_purchase && !claim_of(s, plain).is_of_purchase);
    check_close(claim_of(s, plain).price, 9.0, 0, 0);
    check_true(isnan(claim_of(s, given).price));
    fl_keeper_day(&s->k, 7, 10); /* 23 h on the 9th, an hour east of Greenwich */
    check_claim(s, plain, "It could still go back until 9 March.");
    fl_id split = fl_keeper_split(&s->k, plain, 1);
    check_claim(s, split, "It could still go back until 9 March.");
    check_close(claim_of(s, split).price, 4.5, 1e-12, 0); /* its half */
    fl_keeper_day(&s->k, 7, 12);
    check_claim(s, plain, "It could go back until 9 March.");
    check_false(claim_of(s, plain).is_open);
}

static void ask(stage *s, const fl_id *ids, size_t n, fl_arena *arena, fl_triage_lot **out)
{
    const fl_lot *lots[4];
    const fl_triage_worth worth = fl_triage_worth_usual();
    fl_keeper_ask(&s->k);
    for (size_t i = 0; i < n; i++) {
        lots[i] = fl_keeper_lot(&s->k, ids[i]);
    }
    check_ok(fl_triage_ask(&s->k.room, &s->k.app, lots, n, &worth, arena, out, &s->k.err),
             &s->k.err);
}

/* The predicted day is the day the gate gives once it was cleaned and put into a bin of its own. */
static void test_the_road_is_the_gates(void **state)
{
    stage *s = *state;
    fl_arena arena;
    fl_triage_lot *t = NULL;
    fl_arena_init(&arena);
    fl_id lot =
        buy(s, (bought){s->store, fl_keeper_id(&s->k), FL_USE_PLANTS_ONLY, 1, 8.0, 0, NULL});
    ask(s, &lot, 1, &arena, &t);
    check_int(t->n_sharing, 1);
    check_true(t->input.tip.is_there);
    double days = t->input.whole.days;
    double prob = t->input.whole.prob_find;
    check_true(days >= 14.0 && days < 200.0 && prob > 0.05 && prob < 0.95);
    check_true(t->input.tip.prob_find < prob); /* less can ride a cutting */
    fl_keeper_step(&s->k, &lot, 1, FL_STEP_STRIP, FL_AGENT_NONE, "");
    fl_keeper_step(&s->k, &lot, 1, FL_STEP_RINSE, FL_AGENT_NONE, "");
    fl_keeper_step(&s->k, &lot, 1, FL_STEP_SOAK, FL_AGENT_NONE, "");
    fl_keeper_step(&s->k, &lot, 1, FL_STEP_DRAIN, FL_AGENT_NONE, "");
    fl_keeper_step(&s->k, &lot, 1, FL_STEP_POT_UP, FL_AGENT_NONE, "");
    fl_keeper_move(&s->k, lot, s->bin);
    fl_keeper_ask(&s->k);
    fl_gate_report report = fl_keeper_gate(&s->k, lot, 0);
    check_close(days, ceil((double)(report.answer.earliest_s - s->k.room.now_s) / FL_DAY_S), 0, 0);
    double none = 1.0;
    for (size_t i = 0; i < report.n_threats; i++) {
        const fl_gate_threat *one = &report.threats[i];
        bool counts =
            !one->threat->is_out_of_reach && one->threat->weight[FL_USE_PLANTS_ONLY] > 0.0;
        none *= counts ? 1.0 - one->chance : 1.0;
    }
    check_close(prob, 1.0 - none, 0.005, 0); /* that bin closes tighter than this one */
    /* in quarantine, and still within its days: weighed where it stands */
    ask(s, &lot, 1, &arena, &t);
    check_close(t->input.whole.days, days, 0, 0);
    fl_arena_done(&arena);
}

static void test_a_systemic_leans_back(void **state)
{
    stage *s = *state;
    fl_arena arena;
    fl_triage_lot *t = NULL;
    fl_arena_init(&arena);
    fl_id arrival = fl_keeper_id(&s->k);
    fl_id ids[2] = {
        buy(s, (bought){s->store, arrival, FL_USE_AMPHIBIAN, 1, 50.0, 0, "imidacloprid"}),
        buy(s, (bought){s->store, arrival, FL_USE_PLANTS_ONLY, 1, 50.0, 0, "imidacloprid"})};
    ask(s, ids, 2, &arena, &t);
    check_int(t[0].n_sharing, 2);
    check_close(t[0].input.bin_share, 0.5, 0, 0);
    check_int(t[0].triage.leans, FL_TRIAGE_RETURN);
    check_int(t[1].triage.leans, FL_TRIAGE_KEEP);
    fl_sv text = fl_say_triage(&s->k.room, &t[0], &arena);
    check_contains(text.ptr, "Leans to: send it back");
    check_contains(text.ptr, "systemic");
    check_contains(text.ptr, "50.00 was paid. It could still go back until 9 March.");
    fl_arena_done(&arena);
}

/* Records what going that way is, each event with an id of its own. */
static void go(stage *s, fl_id lot, fl_triage_way way, fl_id tip)
{
    fl_arena arena;
    fl_event *events = NULL;
    size_t n = 0;
    fl_arena_init(&arena);
    fl_keeper_ask(&s->k);
    fl_triage_events(&s->k.room, fl_keeper_lot(&s->k, lot), way, tip, 2, &arena, &events, &n);
    check_true(n <= FL_TRIAGE_EVENTS_MAX);
    for (size_t i = 0; i < n; i++) {
        fl_keeper_record(&s->k, &events[i]);
    }
    fl_arena_done(&arena);
    fl_keeper_ask(&s->k);
}

static const fl_due *claim_line(stage *s, fl_today *today, fl_arena *arena)
{
    fl_keeper_ask(&s->k);
    check_ok(fl_today_list(s->k.chances, &s->k.room, arena, today, &s->k.err), &s->k.err);
    for (int i = 0; i < today->n; i++) {
        if (today->lines[i].kind == FL_DUE_CLAIM) {
            return &today->lines[i];
        }
    }
    return NULL;
}

static void test_what_is_recorded(void **state)
{
    stage *s = *state;
    fl_arena arena;
    fl_today today;
    fl_arena_init(&arena);
    fl_id ids[4];
    for (int i = 0; i < 4; i++) {
        ids[i] = buy(s, (bought){s->store, fl_keeper_id(&s->k), FL_USE_STOCK, 3, 9.0, 0, NULL});
    }
    const fl_due *due = claim_line(s, &today, &arena);
    check_true(due != NULL);
    check_int(due->n_lots, 4);
    check_contains(fl_say_due(&s->k.room, due, &arena).ptr, "until 9 March");
    fl_keeper_day(&s->k, 1, 0);
    go(s, ids[0], FL_TRIAGE_RETURN, (fl_id){{0}});
    go(s, ids[1], FL_TRIAGE_RETURN, (fl_id){{0}}); /* the place of the first is taken again */
    go(s, ids[2], FL_TRIAGE_REFUSE, (fl_id){{0}});
    fl_id tip = fl_keeper_id(&s->k);
    go(s, ids[3], FL_TRIAGE_TIP, tip);
    for (int i = 0; i < 4; i++) {
        check_true(fl_keeper_lot(&s->k, ids[i])->is_gone);
    }
    check_int(fl_keeper_lot(&s->k, tip)->count, 2);
    check_int(fl_keeper_lot(&s->k, tip)->form, FL_FORM_UNROOTED_CUTTING);
    check_true(fl_id_eq(fl_keeper_lot(&s->k, tip)->mother, ids[3]));
    int n_outside = 0;
    for (size_t i = 0; i < s->k.room.defs.places.count; i++) {
        n_outside +=
            s->k.room.defs.places.events[i]->body.place_set.kind == FL_PLACE_OUTSIDE ? 1 : 0;
    }
    check_int(n_outside, 1);
    check_true(claim_line(s, &today, &arena) == NULL); /* a tip does not go back */
    const fl_lot *gone = fl_keeper_lot(&s->k, ids[0]);
    const fl_triage_worth worth = fl_triage_worth_usual();
    fl_triage_lot *t = NULL;
    check_int(fl_triage_ask(&s->k.room, &s->k.app, &gone, 1, &worth, &arena, &t, &s->k.err),
              FL_EINVAL);
    check_contains(s->k.err.message, "not on trial");
    fl_arena_done(&arena);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown(test_claims, set_stage, strike_stage),
    cmocka_unit_test_setup_teardown(test_the_road_is_the_gates, set_stage, strike_stage),
    cmocka_unit_test_setup_teardown(test_a_systemic_leans_back, set_stage, strike_stage),
    cmocka_unit_test_setup_teardown(test_what_is_recorded, set_stage, strike_stage),
};
FL_TEST_MAIN(tests)
