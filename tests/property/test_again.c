/* An answer that leans on what was recalled is the full one, bit for bit. Random rooms with several
 * bins, events one by one: at the tip and late, looks that find something, voidings, another
 * temperature, readings, another kind of source, cleanings, moves, shared tubs, hands not cleaned,
 * the clock going on. After each, fl_chances_again is asked for some lots and compared with a fresh
 * fl_chances_new by memcmp. And the same over whole diaries told in random order. A failure prints
 * the seed and the step. No source outside: the full walk is the reference. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "app/chance_work.h"
#include "base/rng.h"
#include "json/event_codec.h"
#include "support/check.h"
#include "support/diary.h"

#if defined(__SANITIZE_ADDRESS__)
#define IS_SLOW 1
#elif defined(__has_feature)
#if __has_feature(address_sanitizer)
#define IS_SLOW 1
#endif
#endif
#ifdef IS_SLOW
#define ROOMS 1
#define STEPS 8
#define DIARIES 1
#else
#define ROOMS 2
#define STEPS 12
#define DIARIES 1
#endif
#define DIARY_EVENTS 38

#define EVENTS_MAX 600
#define N_BINS 8
#define N_SOURCES 3
#define LOTS_MAX 64
#define CHANCES_MAX 64
#define READINGS_MAX 8
#define START_S INT64_C(1772452800)
#define HOUR_S INT64_C(3600)
#define DAY_S INT64_C(86400)

typedef struct world {
    fl_arena arena;
    fl_rng rng;
    uint64_t seed;
    int step;
    uint32_t next_id;
    int64_t now_s;
    fl_event *events;
    size_t n;
    fl_id bench;
    fl_id bins[N_BINS];
    fl_id sources[N_SOURCES];
    fl_id lots[LOTS_MAX];
    size_t n_lots;
    fl_series_batch batches[READINGS_MAX];
    size_t n_batches;
    fl_recall recall;
    fl_err err;
    size_t n_partial; /* answers for which not every carrier was walked */
} world;

static void know(const world *w, bool claim, const char *what)
{
    if (!claim) {
        fail_msg("seed %llu, step %d, %zu events: %s", (unsigned long long)w->seed, w->step, w->n,
                 what);
    }
}

static int between(world *w, int low, int high)
{
    return low + (int)fl_rng_below(&w->rng, (uint64_t)(high - low + 1));
}

static fl_id new_id(world *w)
{
    fl_id id = {{0x10, 0, 0, 0, 0, 0, 0x40, 0, 0x80}};
    uint32_t number = ++w->next_id;
    for (int i = 0; i < 4; i++) {
        id.b[15 - i] = (uint8_t)(number >> (8 * i));
    }
    return id;
}

static fl_event *add(world *w, fl_kind kind, int64_t at_s)
{
    know(w, w->n < EVENTS_MAX, "too many events for the test");
    fl_event *event = &w->events[w->n++];
    *event = (fl_event){.kind = kind, .id = new_id(w), .at_s = at_s};
    return event;
}

/* ---- what may happen ---- */

static void tell_place(world *w, fl_id place, fl_place_kind kind, double temp_c, int64_t at_s)
{
    add(w, FL_KIND_PLACE_SET, at_s)->body.place_set =
        (fl_ev_place_set){.place = place,
                          .name = FL_SV("a place"),
                          .kind = kind,
                          .has_gasket = (place.b[15] & 1) != 0,
                          .set_temp_c = temp_c,
                          .volume_l = (double)NAN,
                          .shelf = -1};
}

static void tell_source(world *w, fl_id source, int64_t at_s)
{
    add(w, FL_KIND_SOURCE_SET, at_s)->body.source_set =
        (fl_ev_source_set){.source = source,
                           .name = FL_SV("a source"),
                           .kind = between(w, 0, 1) ? FL_SOURCE_NURSERY : FL_SOURCE_CHAIN_STORE};
}

static fl_id_list one_lot(world *w, fl_id lot)
{
    fl_id *ids = FL_ARENA_ARRAY(&w->arena, fl_id, 1);
    ids[0] = lot;
    return (fl_id_list){ids, 1};
}

static void wash(world *w, fl_id lot, int64_t at_s)
{
    static const char *const tubs[] = {"", "tub 1", "tub 2"};
    fl_ev_step *step = FL_ARENA_NEW(&w->arena, fl_ev_step);
    *step = (fl_ev_step){.lots = one_lot(w, lot),
                         .step = between(w, 0, 1) ? FL_STEP_STRIP : FL_STEP_RINSE,
                         .agent = FL_AGENT_NONE,
                         .dose_mg_per_l = (double)NAN,
                         .pct = (double)NAN,
                         .temp_c = (double)NAN,
                         .minutes = 10.0,
                         .tub = fl_sv_from_cstr(tubs[between(w, 0, 2)])};
    add(w, FL_KIND_STEP_DONE, at_s)->body.step_done =
        (fl_ev_step_done){.steps = step, .n_steps = 1};
}

static void move(world *w, fl_id lot, fl_id to, int64_t at_s)
{
    add(w, FL_KIND_LOT_MOVED, at_s)->body.lot_moved =
        (fl_ev_lot_moved){.lots = one_lot(w, lot), .to = to};
}

static fl_id a_bin(world *w)
{
    return w->bins[between(w, 0, N_BINS - 1)];
}

static fl_id a_lot(world *w)
{
    return w->lots[fl_rng_below(&w->rng, w->n_lots)];
}

static void arrive(world *w, fl_id bin, int64_t at_s)
{
    fl_id arrival = new_id(w);
    fl_id source = w->sources[between(w, 0, N_SOURCES - 1)];
    for (int i = between(w, 1, 2); i > 0 && w->n_lots < LOTS_MAX; i--) {
        fl_event *event = add(w, FL_KIND_LOT_ARRIVED, at_s);
        fl_id lot = new_id(w);
        event->body.lot_arrived =
            (fl_ev_lot_arrived){.lot = lot,
                                .arrival = arrival,
                                .source = source,
                                .name = FL_SV("a fern"),
                                .count = between(w, 1, 5),
                                .form = between(w, 0, 2) == 0 ? FL_FORM_PLUG : FL_FORM_POTTED,
                                .use = FL_USE_AMPHIBIAN,
                                .place = w->bench,
                                .cost = (double)NAN};
        w->lots[w->n_lots++] = lot;
        wash(w, lot, at_s + HOUR_S);
        move(w, lot, bin, at_s + between(w, 2, 9) * HOUR_S);
    }
}

static void look(world *w, fl_id place, int64_t at_s)
{
    static const char *const seen[] = {"fungus_gnat", "aphid", "twospotted_spider_mite"};
    fl_event *event = add(w, FL_KIND_LOOK_DONE, at_s);
    event->body.look_done =
        (fl_ev_look_done){.place = place,
                          .effort = (fl_effort)between(w, 0, 2),
                          .devices = between(w, 0, 1) ? 1U << FL_DEVICE_YELLOW_CARD : 0U,
                          .frac_examined = 1.0,
                          .hands = between(w, 0, 2) == 0 ? FL_HANDS_UNSURE : FL_HANDS_CLEANED};
    if (between(w, 0, 4) == 0) {
        fl_ev_finding *finding = FL_ARENA_NEW(&w->arena, fl_ev_finding);
        *finding = (fl_ev_finding){.finding = new_id(w),
                                   .threat = fl_sv_from_cstr(seen[between(w, 0, 2)]),
                                   .count = between(w, 1, 3),
                                   .is_removed = between(w, 0, 3) > 0,
                                   .what = FL_SV("seen")};
        event->body.look_done.findings = finding;
        event->body.look_done.n_findings = 1;
    }
}

static void import(world *w, fl_id place, int64_t at_s)
{
    if (w->n_batches == READINGS_MAX) {
        return;
    }
    fl_event *event = add(w, FL_KIND_READINGS_IMPORTED, w->now_s - HOUR_S);
    event->body.readings_imported = (fl_ev_readings_imported){.place = place, .from_s = at_s};
    size_t n_hours = (size_t)between(w, 30, 300);
    fl_series_hour *hours = FL_ARENA_ARRAY(&w->arena, fl_series_hour, n_hours);
    for (size_t h = 0; h < n_hours; h++) {
        if (between(w, 0, 9) > 0) {
            hours[h] = (fl_series_hour){.temp_sum_c = 17.0 + 0.1 * between(w, 0, 80), .n_temp = 1};
        }
    }
    w->batches[w->n_batches++] = (fl_series_batch){.event = event->id,
                                                   .place = place,
                                                   .from_h = at_s / HOUR_S,
                                                   .n_hours = n_hours,
                                                   .hours = hours};
}

static void clean(world *w, fl_id place, int64_t at_s)
{
    add(w, FL_KIND_PLACE_CLEANED, at_s)->body.place_cleaned =
        (fl_ev_place_cleaned){.place = place, .efficacy = (double)NAN};
}

static void retract(world *w)
{
    const fl_event *target = &w->events[fl_rng_below(&w->rng, w->n)];
    fl_id id = target->id;
    add(w, FL_KIND_EVENT_VOIDED, w->now_s)->body.event_voided = (fl_ev_event_voided){.event = id};
}

/* One more event, now or late. */
static void happen(world *w)
{
    bool is_late = between(w, 0, 2) == 0;
    int64_t at_s = is_late ? w->now_s - between(w, 1, 30) * DAY_S + between(w, 0, 20) * HOUR_S
                           : w->now_s - between(w, 0, 90) * 60;
    switch (between(w, 0, 15)) {
    case 0:
        arrive(w, a_bin(w), at_s - 12 * HOUR_S);
        return;
    case 1:
        retract(w);
        return;
    case 2:
        tell_place(w, a_bin(w), FL_PLACE_BIN, 18.0 + between(w, 0, 8), at_s);
        return;
    case 3:
        import(w, a_bin(w), at_s - between(w, 2, 12) * DAY_S);
        return;
    case 4:
        tell_source(w, w->sources[between(w, 0, N_SOURCES - 1)], at_s);
        return;
    case 5:
        clean(w, a_bin(w), at_s);
        return;
    case 6:
    case 7:
        move(w, a_lot(w), between(w, 0, 5) == 0 ? w->bench : a_bin(w), at_s);
        return;
    case 8:
        wash(w, a_lot(w), at_s);
        return;
    case 9:
        tell_place(w, w->bins[0], FL_PLACE_BIN, (double)NAN, at_s);
        return;
    default:
        look(w, a_bin(w), at_s);
        return;
    }
}

static void make_room(world *w)
{
    w->now_s = START_S + 40 * DAY_S;
    w->bench = new_id(w);
    tell_place(w, w->bench, FL_PLACE_BENCH, 21.0, START_S);
    for (int i = 0; i < N_SOURCES; i++) {
        w->sources[i] = new_id(w);
        tell_source(w, w->sources[i], START_S);
    }
    for (int i = 0; i < N_BINS; i++) {
        w->bins[i] = new_id(w);
        tell_place(w, w->bins[i], FL_PLACE_BIN, 19.0 + i, START_S);
        arrive(w, w->bins[i], START_S + i * 4 * DAY_S);
    }
    for (size_t i = 0; i < w->n_lots; i++) { /* so that what is told late of one bin reaches more */
        move(w, w->lots[i], a_bin(w), START_S + 33 * DAY_S + (int64_t)i * HOUR_S);
    }
    for (int day = 6; day < 38; day += 8) {
        for (int i = 0; i < N_BINS; i++) {
            look(w, w->bins[i], START_S + day * DAY_S + i * 600);
        }
    }
}

/* ---- comparing ---- */

static void fold(world *w, fl_room *room)
{
    const fl_room nothing = {
        .now_s = w->now_s, .tz_offset_min = 60, .batches = w->batches, .n_batches = w->n_batches};
    check_ok(fl_room_with(&nothing, w->events, w->n, room, &w->err), &w->err);
}

static bool is_same(const void *a, const void *b, size_t n)
{
    return memcmp(a, b, n) == 0;
}

static void compare_reasons(world *w, fl_chances *full, fl_chances *again, const fl_lot *lot,
                            const fl_threat *threat)
{
    fl_reason *x = NULL;
    fl_reason *y = NULL;
    size_t n = 0;
    size_t m = 0;
    check_ok(fl_chances_reasons(full, lot, threat, &w->arena, &x, &n, &w->err), &w->err);
    check_ok(fl_chances_reasons(again, lot, threat, &w->arena, &y, &m, &w->err), &w->err);
    know(w, n == m, "other reasons");
    for (size_t i = 0; i < n; i++) {
        know(w,
             is_same(&x[i].chance, &y[i].chance, sizeof(double)) &&
                 is_same(&x[i].prior, &y[i].prior, sizeof(double)) && x[i].at_s == y[i].at_s &&
                 x[i].is_learned == y[i].is_learned && fl_id_eq(x[i].event, y[i].event),
             "another reason");
    }
}

static void compare_lot(world *w, fl_chances *full, fl_chances *again, const fl_lot *lot)
{
    fl_lot_chance x[CHANCES_MAX];
    fl_lot_chance y[CHANCES_MAX];
    fl_forecast f;
    fl_forecast g;
    size_t n = 0;
    size_t m = 0;
    check_ok(fl_chances_of_lot(full, lot, x, &n, &w->err), &w->err);
    check_ok(fl_chances_of_lot(again, lot, y, &m, &w->err), &w->err);
    know(w, n == m, "other chances");
    for (size_t k = 0; k < n; k++) {
        know(w, is_same(&x[k].chance, &y[k].chance, sizeof(double)), "another chance");
        know(w, is_same(&x[k].least, &y[k].least, sizeof(double)), "another least");
        know(w, is_same(&x[k].most, &y[k].most, sizeof(double)), "another most");
        know(w, is_same(&x[k].prior, &y[k].prior, sizeof(double)), "another prior");
        know(w, x[k].is_learned == y[k].is_learned, "learned or not");
    }
    if (n > 0) {
        compare_reasons(w, full, again, lot, x[fl_rng_below(&w->rng, n)].threat);
    }
    check_ok(fl_chances_forecast(full, lot, &f, &w->err), &w->err);
    check_ok(fl_chances_forecast(again, lot, &g, &w->err), &w->err);
    know(w, f.n == g.n && is_same(f.sum, g.sum, sizeof f.sum), "another forecast");
    know(w, fl_chances_last_way_in(full, lot) == fl_chances_last_way_in(again, lot),
         "another last way in");
}

/* What all purchases taught: of every carrier, also of those that were not walked. */
static void compare_priors(world *w, const fl_chances *full, const fl_chances *again)
{
    for (size_t p = 0; p < full->n_pests; p++) {
        const fl_pest *pest = &full->pests[p];
        size_t n_roots = fl_pest_network(full, pest)->n_roots;
        know(w, n_roots == fl_pest_network(again, &again->pests[p])->n_roots, "other roots");
        for (size_t i = 0; i < n_roots; i++) {
            double x = fl_chances_prior(full, pest, i);
            double y = fl_chances_prior(again, &again->pests[p], i);
            know(w, is_same(&x, &y, sizeof x), "another prior of a root");
        }
        for (size_t i = 0; i < pest->n_teachers; i++) {
            const fl_learn_purchase *x = &pest->teachers[i].purchase;
            const fl_learn_purchase *y = &again->pests[p].teachers[i].purchase;
            know(w,
                 is_same(&x->prob_cause, &y->prob_cause, sizeof(double)) &&
                     is_same(&x->prob_missed, &y->prob_missed, sizeof(double)),
                 "a purchase taught something else");
        }
    }
}

static bool is_partial(const fl_chances *c)
{
    for (int k = 0; k < 2; k++) {
        for (size_t i = 0; i < c->walked[k].network.n_carriers; i++) {
            if (!c->walked[k].is_asked[i]) {
                return true;
            }
        }
    }
    return false;
}

static void compare(world *w)
{
    fl_room room;
    fl_chances *full = NULL;
    fl_chances *again = NULL;
    fold(w, &room);
    know(w, fl_chances_new(&room, NULL, &full, &w->err) == FL_OK, w->err.message);
    know(w, fl_chances_again(&room, NULL, &w->recall, &again, &w->err) == FL_OK, w->err.message);
    compare_priors(w, full, again);
    size_t n_lots = room.meaning.n_lots;
    bool is_all = between(w, 0, 7) == 0;
    for (size_t i = 0; i < n_lots && is_all; i++) {
        compare_lot(w, full, again, &room.meaning.lots[i]);
    }
    for (int i = between(w, 0, 3); i > 0 && n_lots > 0 && !is_all; i--) {
        compare_lot(w, full, again, &room.meaning.lots[fl_rng_below(&w->rng, n_lots)]);
    }
    w->n_partial += is_partial(again);
    fl_chances_free(full);
    fl_chances_free(again);
    fl_room_done(&room);
}

static void begin(world *w, uint64_t seed)
{
    memset(w, 0, sizeof *w);
    w->seed = seed;
    w->rng = (fl_rng){seed};
    fl_arena_init(&w->arena);
    fl_recall_init(&w->recall);
    w->events = FL_ARENA_ARRAY(&w->arena, fl_event, EVENTS_MAX);
}

static void end(world *w)
{
    fl_recall_done(&w->recall);
    fl_arena_done(&w->arena);
}

static void test_one_event_more(void **state)
{
    size_t n_partial = 0;
    (void)state;
    for (uint64_t seed = 1; seed <= ROOMS; seed++) {
        world w;
        begin(&w, seed);
        make_room(&w);
        compare(&w);
        for (w.step = 1; w.step <= STEPS; w.step++) {
            happen(&w);
            if (between(&w, 0, 5) == 0) {
                w.now_s += between(&w, 1, 30) * HOUR_S;
            }
            compare(&w);
        }
        n_partial += w.n_partial;
        end(&w);
    }
    check_true(2 * n_partial > ROOMS * STEPS); /* else there is nothing that this test tests */
}

/* Diaries as wild as they come, told in random order. */
static void test_diaries(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= DIARIES; seed++) {
        world w;
        begin(&w, 500 + seed);
        w.now_s = FL_DIARY_END_S;
        fl_sv *lines = fl_diary(500 + seed, DIARY_EVENTS, &w.arena);
        for (size_t i = 0; i < DIARY_EVENTS; i++) {
            check_ok(fl_event_decode(lines[i], 60, &w.arena, &w.events[i], &w.err), &w.err);
        }
        for (size_t i = DIARY_EVENTS; i > 1; i--) {
            size_t k = (size_t)fl_rng_below(&w.rng, i);
            fl_event kept = w.events[i - 1];
            w.events[i - 1] = w.events[k];
            w.events[k] = kept;
        }
        for (w.n = DIARY_EVENTS / 2; w.n <= DIARY_EVENTS; w.n++, w.step++) {
            compare(&w);
        }
        end(&w);
    }
}

static const struct CMUnitTest tests[] = {cmocka_unit_test(test_one_event_more),
                                          cmocka_unit_test(test_diaries)};
FL_TEST_MAIN(tests)
