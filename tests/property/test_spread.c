/* Chances over random diaries: whatever happened, in whatever order it was told, every chance is
 * one, its band holds it, no mass is lost, a quiet look raises none on its carriers, and what was
 * entered late is as if it had been entered in time, bit for bit. A failure prints the seed.
 *
 * And the forecast says what then follows: recording its quiet looks gives its sums. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "app/chance_work.h"
#include "app/gate.h"
#include "base/rng.h"
#include "json/event_codec.h"
#include "support/check.h"
#include "support/diary.h"
#include "support/keeper.h"

#if defined(__SANITIZE_ADDRESS__)
#define IS_SLOW 1
#elif defined(__has_feature)
#if __has_feature(address_sanitizer)
#define IS_SLOW 1
#endif
#endif
#ifdef IS_SLOW
#define HISTORIES 60
#define ROOMS 2
#define STORED 2
#define FORECASTS 3
#else
#define HISTORIES 2000 /* one pest each, in turn */
#define ROOMS 24       /* all pests, with learning and gates */
#define STORED 6       /* rooms that go through the file */
#define FORECASTS 12
#endif

#define EVENTS_LEAST 30
#define EVENTS_MOST 48
#define CHANCES_MAX 64
#define NOW_S FL_DIARY_END_S
#define QUICKER 8 /* the year of a diary in some weeks: many things in few days */

/* ---- rooms in memory ---- */

typedef struct world {
    fl_arena arena;
    uint64_t seed;
    fl_sv *lines; /* as they were recorded */
    fl_event *events;
    size_t n;
    fl_room room;
    fl_chances *chances; /* NULL: not asked for */
    fl_err err;
} world;

static void know(const world *w, bool claim, const char *what)
{
    if (!claim) {
        fail_msg("seed %llu, %zu events: %s", (unsigned long long)w->seed, w->n, what);
    }
}

static void fold(world *w, const fl_event *extra, size_t n_extra, int64_t now_s, fl_room *room)
{
    fl_room nothing = {.now_s = now_s, .tz_offset_min = 60};
    fl_event *all = FL_ARENA_ARRAY(&w->arena, fl_event, w->n + n_extra);
    memcpy(all, w->events, w->n * sizeof all[0]);
    if (n_extra > 0) {
        memcpy(&all[w->n], extra, n_extra * sizeof all[0]);
    }
    check_ok(fl_room_with(&nothing, all, w->n + n_extra, room, &w->err), &w->err);
}

static void begin_at_pace(world *w, uint64_t seed, int pace)
{
    fl_rng rng = {seed ^ 0x5eedULL};
    memset(w, 0, sizeof *w);
    fl_arena_init(&w->arena);
    w->seed = seed;
    w->n = EVENTS_LEAST + (size_t)fl_rng_below(&rng, EVENTS_MOST - EVENTS_LEAST + 1);
    w->lines = fl_diary(seed, w->n, &w->arena);
    w->events = FL_ARENA_ARRAY(&w->arena, fl_event, w->n);
    for (size_t i = 0; i < w->n; i++) {
        check_ok(fl_event_decode(w->lines[i], 60, &w->arena, &w->events[i], &w->err), &w->err);
        w->events[i].at_s = NOW_S - (NOW_S - w->events[i].at_s) / pace;
    }
    fold(w, NULL, 0, NOW_S, &w->room);
}

static void ask(world *w)
{
    know(w, fl_chances_new(&w->room, NULL, &w->chances, &w->err) == FL_OK, w->err.message);
}

static void begin(world *w, uint64_t seed)
{
    begin_at_pace(w, seed, QUICKER);
}

static void end(world *w)
{
    fl_chances_free(w->chances);
    fl_room_done(&w->room);
    fl_arena_done(&w->arena);
}

/* ---- one pest on a history, without the application ---- */

/* Both spreads of one pest, walked over a room; states are computed at once. */
typedef struct lone {
    world *w;
    const fl_room *room;
    const fl_threat *threat;
    fl_network network;
    fl_spread spread[2]; /* slow, fast */
    fl_spread_env env[2];
    struct lone_env {
        struct lone *lone;
        const fl_stage_model *model;
    } context[2];
} lone;

/* The store keeps states packed; here they are whole. */
static const fl_filter *whole(const fl_prog *prog)
{
    return (const fl_filter *)(const void *)prog->state;
}

static fl_status lone_append(void *context, const fl_prog *parent, const fl_op *op,
                             const fl_prog **out, fl_err *err)
{
    struct lone_env *e = context;
    fl_know_mixture mixture = fl_know_detectability();
    fl_prog *prog = FL_ARENA_NEW(&e->lone->w->arena, fl_prog);
    fl_filter *state = FL_ARENA_NEW(&e->lone->w->arena, fl_filter);
    prog->state = (const double *)(const void *)state;
    if (parent != NULL) {
        *state = *whole(parent);
    } else {
        state->n_mix = FL_MULTIPLIERS;
        memcpy(state->multiplier, mixture.multiplier, sizeof mixture.multiplier);
    }
    *out = prog;
    return fl_op_apply(e->model, op, state, err);
}

static fl_status lone_state(void *context, const fl_prog *prog, fl_filter *out, fl_err *err)
{
    (void)context;
    (void)err;
    *out = *whole(prog);
    return FL_OK;
}

static fl_status lone_sums(void *context, const fl_prog *prog, fl_filter_sums *out, fl_err *err)
{
    (void)context;
    (void)err;
    fl_filter_sum(whole(prog), out);
    return FL_OK;
}

static fl_status lone_temps(void *context, fl_id place, int64_t from_h, int64_t to_h,
                            const double **temps_c, double *constant_c, fl_err *err)
{
    struct lone_env *e = context;
    (void)err;
    fl_temps_of_place(e->lone->room, place, from_h, to_h, &e->lone->w->arena, temps_c, constant_c);
    return FL_OK;
}

static double lone_prior(void *context, const fl_root *root, const fl_threat *threat)
{
    (void)context;
    (void)root;
    return 0.2 + 0.5 * threat->prior;
}

static bool lone_is_material(void *context, size_t lot)
{
    struct lone_env *e = context;
    return fl_form_is_material(e->lone->room->meaning.lots[lot].form);
}

static fl_status lone_take(void *context, const fl_happening *happening, fl_err *err)
{
    lone *l = context;
    fl_status status = fl_spread_take(&l->spread[0], happening, err);
    return status == FL_OK ? fl_spread_take(&l->spread[1], happening, err) : status;
}

#define LONE_COPIES 3000

static void prepare_lone(lone *l, int set)
{
    fl_arena *arena = &l->w->arena;
    size_t n_lots = l->room->meaning.n_lots;
    const fl_stage_model *model = set == 0 ? &l->threat->slow : &l->threat->fast;
    l->context[set] = (struct lone_env){l, model};
    l->env[set] = (fl_spread_env){.context = &l->context[set],
                                  .append = lone_append,
                                  .state = lone_state,
                                  .sums = lone_sums,
                                  .temps = lone_temps,
                                  .prior = lone_prior,
                                  .is_material = lone_is_material};
    l->spread[set] =
        (fl_spread){.threat = l->threat,
                    .model = model,
                    .network = &l->network,
                    .env = &l->env[set],
                    .copies = FL_ARENA_ARRAY(arena, fl_copy, LONE_COPIES),
                    .cap_copies = LONE_COPIES,
                    .finds = FL_ARENA_ARRAY(arena, fl_spread_find, EVENTS_MOST),
                    .cap_finds = EVENTS_MOST,
                    .root_found = FL_ARENA_ARRAY(arena, double, l->network.cap_roots),
                    .carriers = FL_ARENA_ARRAY(arena, fl_spread_carrier, l->network.cap_carriers),
                    .lots = FL_ARENA_ARRAY(arena, fl_spread_lot, n_lots),
                    .n_lots = n_lots};
    fl_spread_begin(&l->spread[set]);
}

static void walk_lone(world *w, const fl_room *room, const fl_threat *threat, lone *l)
{
    const fl_meaning *m = &room->meaning;
    size_t cap = m->n_lots + m->n_fills + m->n_stays;
    *l = (lone){.w = w, .room = room, .threat = threat};
    l->network = (fl_network){.carriers = FL_ARENA_ARRAY(&w->arena, fl_carrier, cap),
                              .cap_carriers = cap,
                              .roots = FL_ARENA_ARRAY(&w->arena, fl_root, cap),
                              .cap_roots = cap,
                              .lot_carrier = FL_ARENA_ARRAY(&w->arena, size_t, m->n_lots)};
    prepare_lone(l, 0);
    prepare_lone(l, 1);
    fl_network_input input = {.events = room->events,
                              .n_events = room->n_events,
                              .meaning = m,
                              .defs = &room->defs,
                              .carriage = threat->is_mobile ? FL_CARRIAGE_POOL : FL_CARRIAGE_LOT,
                              .now_s = room->now_s};
    input.scratch = fl_arena_alloc(&w->arena, fl_network_scratch_bytes(m, &room->defs), 1);
    know(w, fl_network_walk(&input, lone_take, l, &l->network, &w->err) == FL_OK, w->err.message);
}

/* Slow and fast on a lot's carrier now; false when it is nowhere. */
static bool read_lone(lone *l, size_t lot, fl_reading out[2])
{
    size_t carrier = l->network.lot_carrier[lot];
    for (int set = 0; set < 2 && carrier != FL_NO_INDEX; set++) {
        know(l->w,
             fl_spread_chance(&l->spread[set], carrier, NOW_S / FL_HOUR_S, &out[set], &l->w->err) ==
                 FL_OK,
             l->w->err.message);
    }
    return carrier != FL_NO_INDEX;
}

static bool is_chance(double x)
{
    return x >= 0.0 && x <= 1.0;
}

/* Every reading is a chance, and a poor eye's is never below a good one's. */
static void check_readings(lone *l)
{
    for (size_t lot = 0; lot < l->room->meaning.n_lots; lot++) {
        fl_reading r[2];
        if (!read_lone(l, lot, r)) {
            continue;
        }
        for (int set = 0; set < 2; set++) {
            know(l->w, is_chance(r[set].poor) && is_chance(r[set].middle) && is_chance(r[set].good),
                 "a chance outside 0 to 1");
        }
    }
}

/* No mass is below 0, and those of a root sum to 1. */
static void check_masses(lone *l)
{
    for (size_t i = 0; i < l->spread[0].n_copies; i++) {
        const fl_copy *copy = &l->spread[0].copies[i];
        const fl_filter *f = whole(copy->prog);
        for (int w = 0; w < f->n_mix; w++) {
            double sum = fl_filter_alive(f, w) + f->found[w] + f->dead[w];
            bool is_fine = f->found[w] >= 0.0 && f->dead[w] >= 0.0;
            for (int k = 0; k < f->n; k++) {
                is_fine = is_fine && f->alive[k][w] >= 0.0;
            }
            know(l->w, is_fine, "a mass below 0");
            know(l->w, copy->is_steady || fabs(sum - 1.0) < 1e-9, "masses are lost");
        }
        know(l->w, is_chance(fl_spread_prior(&l->spread[0], copy)) || copy->is_steady,
             "a prior outside 0 to 1");
    }
}

/* At most FL_COPY_MAX open copies of one root on a carrier, besides the room's own. */
static void check_copies(lone *l)
{
    const fl_spread *s = &l->spread[0];
    for (size_t i = 0; i < s->n_copies; i++) {
        int n = 0;
        for (size_t k = 0; k < s->n_copies; k++) {
            const fl_copy *c = &s->copies[k];
            n += c->carrier == s->copies[i].carrier && c->root == s->copies[i].root &&
                 !c->is_closed && !c->is_ended && c->link != FL_LINK_COUNT;
        }
        know(l->w, n <= FL_COPY_MAX, "too many copies of a root");
    }
}

/* ---- whole rooms ---- */

static void check_chances(world *w)
{
    fl_lot_chance all[CHANCES_MAX];
    for (size_t i = 0; i < w->room.meaning.n_lots; i++) {
        size_t n = 0;
        const fl_lot *lot = &w->room.meaning.lots[i];
        know(w, fl_chances_of_lot(w->chances, lot, all, &n, &w->err) == FL_OK, w->err.message);
        for (size_t k = 0; k < n; k++) {
            const fl_lot_chance *c = &all[k];
            know(w, c->chance >= 0.0 && c->chance <= 1.0, "a chance outside 0 to 1");
            know(w, c->least <= c->chance && c->chance <= c->most, "a band without its chance");
            know(w, c->least >= 0.0 && c->most <= 1.0, "a band outside 0 to 1");
            know(w, c->prior >= 0.0 && c->prior <= 1.0, "a prior outside 0 to 1");
        }
    }
}

/* Every gate answers, and a place's total is a chance. */
static void check_gates(world *w)
{
    for (size_t i = 0; i < w->room.meaning.n_lots; i++) {
        const fl_lot *lot = &w->room.meaning.lots[i];
        fl_gate_report r;
        fl_place_total total;
        if (lot->is_gone) {
            continue;
        }
        know(w, fl_gate_ask(w->chances, &w->room, lot, 0, &w->arena, &r, &w->err) == FL_OK,
             w->err.message);
        know(w, r.last_way_in_s <= w->room.now_s, "a way in that is still to come");
        for (size_t t = 0; t < r.n_threats; t++) {
            double share = r.threats[t].guard_share;
            know(w, share >= 0.0 && share <= 1.0, "a guard outside 0 to 1");
        }
        know(w, fl_gate_place_total(w->chances, &w->room, lot->place, &total, &w->err) == FL_OK,
             w->err.message);
        know(w, total.any >= 0.0 && total.any <= 1.0, "a total outside 0 to 1");
    }
}

/* ---- a quiet look ---- */

/* A place where some lot stands; false when there is none. */
static bool any_place(const world *w, fl_rng *rng, fl_id *place)
{
    size_t n = 0;
    for (size_t i = 0; i < w->room.meaning.n_lots; i++) {
        const fl_lot *lot = &w->room.meaning.lots[i];
        if (!lot->is_gone && !fl_id_is_none(lot->place) && fl_rng_below(rng, ++n) == 0) {
            *place = lot->place;
        }
    }
    return n > 0;
}

/* No chance of any lot is higher after it; but opening a box lets in what the room has. */
static void compare_after_look(world *w, fl_chances *after, const fl_room *room)
{
    fl_lot_chance before_it[CHANCES_MAX];
    fl_lot_chance after_it[CHANCES_MAX];
    for (size_t i = 0; i < w->room.meaning.n_lots; i++) {
        const fl_lot *lot = &w->room.meaning.lots[i];
        size_t n = 0;
        size_t m = 0;
        check_ok(fl_chances_of_lot(w->chances, lot, before_it, &n, &w->err), &w->err);
        check_ok(fl_chances_of_lot(after, fl_meaning_lot(&room->meaning, lot->id), after_it, &m,
                                   &w->err),
                 &w->err);
        know(w, n == m, "other chances after a look");
        for (size_t k = 0; k < n; k++) {
            double slack = fl_know_room_per_opening(before_it[k].threat) + 1e-9;
            know(w, after_it[k].chance <= before_it[k].chance + slack, "a look raised a chance");
            know(w, after_it[k].most <= before_it[k].most + slack, "a look raised the most");
            know(w, after_it[k].least <= before_it[k].least + slack, "a look raised the least");
        }
    }
}

/* A careful quiet look with a card, now, somewhere where a lot stands; false when none does. */
static bool quiet_look(const world *w, fl_rng *rng, fl_event *look)
{
    *look = (fl_event){.kind = FL_KIND_LOOK_DONE, .at_s = NOW_S, .id = {{0xff}}};
    look->body.look_done = (fl_ev_look_done){.effort = (fl_effort)fl_rng_below(rng, 3),
                                             .frac_examined = 1.0,
                                             .devices = 1U << FL_DEVICE_YELLOW_CARD,
                                             .hands = FL_HANDS_CLEANED};
    return any_place(w, rng, &look->body.look_done.place);
}

/* ---- late is early ---- */

static void compare_rooms(world *w, fl_chances *a, const fl_room *in_a, fl_chances *b,
                          const fl_room *in_b)
{
    fl_lot_chance x[CHANCES_MAX];
    fl_lot_chance y[CHANCES_MAX];
    know(w, in_a->meaning.n_lots == in_b->meaning.n_lots, "other lots");
    for (size_t i = 0; i < in_a->meaning.n_lots; i++) {
        size_t n = 0;
        size_t m = 0;
        check_ok(fl_chances_of_lot(a, &in_a->meaning.lots[i], x, &n, &w->err), &w->err);
        check_ok(fl_chances_of_lot(b, &in_b->meaning.lots[i], y, &m, &w->err), &w->err);
        know(w, n == m, "other chances");
        for (size_t k = 0; k < n; k++) {
            know(w, memcmp(&x[k].chance, &y[k].chance, sizeof(double)) == 0, "another chance");
            know(w, memcmp(&x[k].least, &y[k].least, sizeof(double)) == 0, "another least");
            know(w, memcmp(&x[k].most, &y[k].most, sizeof(double)) == 0, "another most");
            know(w, memcmp(&x[k].prior, &y[k].prior, sizeof(double)) == 0, "another prior");
        }
    }
}

/* The same events in another order of entry. */
static void shuffle(world *w, fl_rng *rng)
{
    for (size_t i = w->n; i > 1; i--) {
        size_t k = (size_t)fl_rng_below(rng, i);
        fl_event kept = w->events[i - 1];
        w->events[i - 1] = w->events[k];
        w->events[k] = kept;
    }
}

static void test_whole_rooms(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= ROOMS; seed++) {
        world w;
        fl_rng rng = {seed};
        fl_event look;
        fl_room room;
        fl_chances *other = NULL;
        begin(&w, 7000 + seed);
        ask(&w);
        check_chances(&w);
        check_gates(&w);
        if (quiet_look(&w, &rng, &look)) {
            fold(&w, &look, 1, NOW_S, &room);
            know(&w, fl_chances_new(&room, NULL, &other, &w.err) == FL_OK, w.err.message);
            compare_after_look(&w, other, &room);
            fl_chances_free(other);
            fl_room_done(&room);
        }
        shuffle(&w, &rng);
        fold(&w, NULL, 0, NOW_S, &room);
        know(&w, fl_chances_new(&room, NULL, &other, &w.err) == FL_OK, w.err.message);
        compare_rooms(&w, w.chances, &w.room, other, &room);
        fl_chances_free(other);
        fl_room_done(&room);
        end(&w);
    }
}

/* ---- many histories, one pest each ---- */

static const fl_threat *pest_of(uint64_t seed)
{
    size_t n = fl_know_threat_count();
    for (size_t i = (size_t)seed % n;; i = (i + 1) % n) {
        const fl_threat *threat = fl_know_threat(i);
        if (threat->class == FL_CLASS_PEST && threat->n_stages > 0) {
            return threat;
        }
    }
}

/* a is b, bit for bit; or, after a quiet look, no more than b and what an opening lets in. */
static void compare_lones(lone *a, lone *b, bool is_after_look)
{
    double slack = fl_know_room_per_opening(a->threat) + 1e-9;
    for (size_t lot = 0; lot < a->room->meaning.n_lots; lot++) {
        fl_reading x[2];
        fl_reading y[2];
        bool is_somewhere = read_lone(a, lot, x);
        know(a->w, read_lone(b, lot, y) == is_somewhere, "another carrier");
        for (int set = 0; set < 2 && is_somewhere; set++) {
            if (is_after_look) {
                know(a->w,
                     x[set].poor <= y[set].poor + slack && x[set].middle <= y[set].middle + slack &&
                         x[set].good <= y[set].good + slack,
                     "a quiet look raised a chance");
            } else {
                know(a->w, memcmp(&x[set], &y[set], sizeof x[set]) == 0, "another chance");
            }
        }
    }
}

static void test_many_histories(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= HISTORIES; seed++) {
        world w;
        fl_rng rng = {seed};
        fl_event look;
        fl_room room;
        lone first;
        lone other;
        begin(&w, seed);
        walk_lone(&w, &w.room, pest_of(seed), &first);
        check_readings(&first);
        check_masses(&first);
        check_copies(&first);
        if (quiet_look(&w, &rng, &look)) {
            fold(&w, &look, 1, NOW_S, &room);
            walk_lone(&w, &room, first.threat, &other);
            compare_lones(&other, &first, true);
            fl_room_done(&room);
        }
        shuffle(&w, &rng);
        fold(&w, NULL, 0, NOW_S, &room);
        walk_lone(&w, &room, first.threat, &other);
        compare_lones(&other, &first, false);
        fl_room_done(&room);
        end(&w);
    }
}

/* In the room file: asked again and again while it was written, so that the memo is full of states
 * of histories that late entries have changed since; and verified. */
static void test_late_entry_through_the_room_file(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= STORED; seed++) {
        world w;
        fl_app app;
        fl_room room;
        fl_verified verified;
        fl_chances *asked = NULL;
        char dir[FL_TEMP_PATH_MAX];
        int64_t now_s = NOW_S;
        begin_at_pace(&w, 9000 + seed, 1);
        ask(&w);
        (void)fl_temp_folder(dir);
        check_ok(fl_app_open(dir, true, 60, fl_clock_fixed(&now_s), &app, &w.err), &w.err);
        for (size_t i = 0; i < w.n; i++) {
            fl_recorded what;
            check_ok(fl_app_record(&app, w.lines[i], &what, &w.err), &w.err);
            if (i % 16 == 15) {
                check_ok(fl_room_load(&app, &room, &w.err), &w.err);
                know(&w, fl_chances_new(&room, &app, &asked, &w.err) == FL_OK, w.err.message);
                fl_chances_free(asked);
                fl_room_done(&room);
            }
        }
        check_ok(fl_room_load(&app, &room, &w.err), &w.err);
        know(&w, fl_chances_new(&room, &app, &asked, &w.err) == FL_OK, w.err.message);
        compare_rooms(&w, w.chances, &w.room, asked, &room);
        fl_chances_free(asked);
        fl_room_done(&room);
        know(&w, fl_app_verify(&app, &verified, &w.err) == FL_OK, w.err.message);
        fl_app_close(&app);
        fl_remove_folder(dir);
        end(&w);
    }
}

/* ---- the forecast ---- */

/* A purchase or two (of different sources: they teach each other nothing), washed or not, moved,
 * looked at; then its forecast, look by look, against what recording those looks says. */
static void check_forecast(uint64_t seed)
{
    fl_keeper k;
    fl_rng rng = {seed};
    fl_keeper_init(&k);
    fl_event set = {.kind = FL_KIND_ROOM_SET};
    set.body.room_set = (fl_ev_room_set){.round_weekday = (int64_t)fl_rng_below(&rng, 7),
                                         .round_effort = (fl_effort)fl_rng_below(&rng, 3)};
    fl_keeper_record(&k, &set);
    fl_id bin = fl_keeper_place(&k, "bin", FL_PLACE_BIN, 0, 17.0 + (double)fl_rng_below(&rng, 9));
    fl_id other = fl_keeper_place(&k, "other", FL_PLACE_JAR, 0, 20.0);
    fl_id store = fl_keeper_source(&k, "a store", FL_SOURCE_CHAIN_STORE, false);
    fl_id stall = fl_keeper_source(&k, "a stall", FL_SOURCE_MARKET_STALL, false);
    fl_event card = {.kind = FL_KIND_CARD_SET};
    card.body.card_set = (fl_ev_card_set){.place = bin, .device = FL_DEVICE_YELLOW_CARD};
    unsigned devices = fl_rng_below(&rng, 2) == 0 ? 0 : 1U << FL_DEVICE_YELLOW_CARD;
    if (devices != 0) {
        fl_keeper_record(&k, &card);
    }
    fl_id lot =
        fl_keeper_arrive(&k, store, fl_keeper_id(&k), other, FL_FORM_POTTED, FL_USE_STOCK, 3);
    fl_keeper_day(&k, 1, 0);
    if (fl_rng_below(&rng, 2) == 0) {
        fl_keeper_step(&k, &lot, 1, FL_STEP_RINSE, FL_AGENT_NONE, "");
    }
    fl_keeper_day(&k, 2, 0);
    fl_keeper_move(&k, lot, bin);
    if (fl_rng_below(&rng, 2) == 0) {
        fl_keeper_day(&k, 5, 0);
        fl_keeper_arrive(&k, stall, fl_keeper_id(&k), bin, FL_FORM_PLUG, FL_USE_STOCK, 2);
    }
    if (fl_rng_below(&rng, 3) == 0) {
        fl_keeper_day(&k, 9, 0);
        fl_keeper_look(&k, bin, FL_EFFORT_CAREFUL, devices, "aphid", lot);
    }
    fl_keeper_day(&k, 10, 0);
    fl_keeper_look(&k, bin, FL_EFFORT_CAREFUL, devices, NULL, (fl_id){{0}});
    fl_keeper_day(&k, 12, 0);
    fl_keeper_ask(&k);
    fl_forecast said = fl_keeper_gate(&k, lot, 0).forecast;
    for (int i = 1; i <= 8; i++) {
        k.now_s = said.at_s[i];
        fl_keeper_look(&k, bin, (fl_effort)set.body.room_set.round_effort, devices, NULL,
                       (fl_id){{0}});
        fl_keeper_ask(&k);
        fl_gate_report r = fl_keeper_gate(&k, lot, 0);
        for (int use = 0; use < FL_USE_COUNT; use++) {
            double got = fl_gate_sum(r.threats, r.n_threats, (fl_use)use);
            check_close(got, said.sum[use][i], 1e-6, 1e-9);
        }
    }
    fl_keeper_done(&k);
}

static void test_the_forecast_comes_true(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= FORECASTS; seed++) {
        check_forecast(seed);
    }
}

static const struct CMUnitTest tests[] = {cmocka_unit_test(test_many_histories),
                                          cmocka_unit_test(test_whole_rooms),
                                          cmocka_unit_test(test_late_entry_through_the_room_file),
                                          cmocka_unit_test(test_the_forecast_comes_true)};
FL_TEST_MAIN(tests)
