/* A thousand simulated outbreaks in simulated rooms: the true source must be ranked first at least
 * 15 points more often than "the latest arrival". The simulator is ours. It follows single animals
 * on single lots, with births, and knows nothing of carriers, roots or copies: purchases come home,
 * share tubs and benches, go into bins, are looked at with hands that were cleaned or not, until a
 * look sees something. Priors, shares of links, survivals and chances of looks are the tables'. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "app/trace.h"
#include "base/arena.h"
#include "base/rng.h"
#include "support/check.h"

#define OUTBREAKS 1000
#define DAYS 90
#define START_S 1772452800 /* 2026-03-02T12:00Z, a Monday */
#define EVENTS_MAX 600
#define LOTS_MAX 40
#define PURCHASES_MAX 8
#define BINS 5
#define ANIMALS_MAX 300

static const char *const PESTS[5] = {"fungus_gnat", "western_flower_thrips",
                                     "twospotted_spider_mite", "citrus_mealybug",
                                     "greenhouse_whitefly"};

enum { BENCH, TANK, BIN0 };
#define PLACES (BIN0 + BINS)

typedef struct purchase {
    fl_id arrival, source;
    fl_source_kind kind;
    int day;
    int first_lot, n_lots;
    int bin;
    fl_form form;
    bool has_tub;
} purchase;

typedef struct sim_lot {
    fl_id id;
    int place;    /* -1: not here yet */
    int purchase; /* -1: was already here; -2: a cutting of that */
} sim_lot;

/* Whose child an animal is. */
enum { BY_PURCHASE, BY_ALREADY_HERE, BY_MIX, BY_ROOM };
typedef struct origin {
    int kind;
    int purchase;
    int64_t at_s;
} origin;

typedef struct animal {
    int lot;
    int stage;
    double left;
} animal;

typedef struct world {
    fl_rng rng;
    const fl_threat *threat;
    const fl_stage_model *model;
    fl_know_mixture mixture;
    double speed, eggs_per_day, multiplier, temp_c;
    unsigned devices;
    fl_event events[EVENTS_MAX];
    fl_ev_step steps[EVENTS_MAX];
    fl_id lists[EVENTS_MAX][4];
    fl_ev_finding finding;
    int n_events;
    uint64_t n_ids;
    fl_id places[PLACES];
    sim_lot lots[LOTS_MAX];
    int n_lots;
    purchase purchases[PURCHASES_MAX];
    int n_purchases;
    animal animals[ANIMALS_MAX];
    int n_animals;
    origin true_origin;
    bool is_found;
    int64_t found_s;
    int found_place;
} world;

/* ---- chance ---- */

static double uniform(world *w)
{
    return fl_rng_uniform(&w->rng);
}

static int below(world *w, int n)
{
    return (int)fl_rng_below(&w->rng, (uint64_t)n);
}

static double erlang(world *w, int substages, int all)
{
    double sum = 0.0;
    for (int i = 0; i < substages; i++) {
        sum -= log(1.0 - uniform(w)) / all;
    }
    return sum;
}

/* ---- events ---- */

static fl_id next_id(world *w)
{
    fl_id id = {{0}};
    uint64_t number = ++w->n_ids;
    id.b[0] = 0x20;
    id.b[6] = 0x40;
    id.b[8] = 0x80;
    for (int i = 0; i < 4; i++) {
        id.b[15 - i] = (uint8_t)(number >> (8 * i));
    }
    return id;
}

static int64_t at(int day, int hour)
{
    return START_S - 12 * FL_HOUR_S + (int64_t)day * FL_DAY_S + (int64_t)hour * FL_HOUR_S;
}

static fl_event *record(world *w, fl_kind kind, int64_t at_s)
{
    check_true(w->n_events < EVENTS_MAX);
    fl_event *e = &w->events[w->n_events++];
    *e = (fl_event){.id = next_id(w), .kind = kind, .at_s = at_s};
    return e;
}

static void set_up_room(world *w)
{
    for (int i = 0; i < PLACES; i++) {
        fl_event *e = record(w, FL_KIND_PLACE_SET, at(0, 0));
        w->places[i] = next_id(w);
        e->body.place_set = (fl_ev_place_set){.place = w->places[i],
                                              .name = FL_SV("a place"),
                                              .kind = i == BENCH  ? FL_PLACE_BENCH
                                                      : i == TANK ? FL_PLACE_ENCLOSURE
                                                                  : FL_PLACE_BIN,
                                              .uses = 1U << FL_USE_PLANTS_ONLY,
                                              .has_gasket = true,
                                              .set_temp_c = w->temp_c,
                                              .volume_l = (double)NAN,
                                              .shelf = -1};
    }
    for (int i = 0; i < 2; i++) {
        fl_event *e = record(w, FL_KIND_LOT_ALREADY_HERE, at(0, 1));
        w->lots[w->n_lots++] = (sim_lot){next_id(w), TANK, -1};
        e->body.lot_already_here = (fl_ev_lot_already_here){.lot = w->lots[i].id,
                                                            .name = FL_SV("an old plant"),
                                                            .count = 1,
                                                            .form = FL_FORM_POTTED,
                                                            .use = FL_USE_STOCK,
                                                            .place = w->places[TANK]};
    }
}

static void plan_purchases(world *w)
{
    static const fl_source_kind kinds[4] = {FL_SOURCE_CHAIN_STORE, FL_SOURCE_NURSERY,
                                            FL_SOURCE_TRADE, FL_SOURCE_MAIL_ORDER};
    fl_id sources[4];
    for (int i = 0; i < 4; i++) {
        fl_event *e = record(w, FL_KIND_SOURCE_SET, at(0, 0));
        sources[i] = next_id(w);
        e->body.source_set =
            (fl_ev_source_set){.source = sources[i], .name = FL_SV("a source"), .kind = kinds[i]};
    }
    w->n_purchases = 4 + below(w, PURCHASES_MAX - 3);
    for (int i = 0; i < w->n_purchases; i++) {
        purchase *p = &w->purchases[i];
        int s = below(w, 4);
        bool comes_along = i > 0 && uniform(w) < 0.3;
        *p = (purchase){.arrival = next_id(w),
                        .source = sources[s],
                        .kind = kinds[s],
                        .day = comes_along ? w->purchases[i - 1].day : 1 + below(w, DAYS - 20),
                        .n_lots = 1 + below(w, 3),
                        .bin = BIN0 + below(w, BINS),
                        .form = uniform(w) < 0.7 ? FL_FORM_POTTED : FL_FORM_BARE_ROOT,
                        .has_tub = uniform(w) < 0.5};
    }
}

/* ---- animals ---- */

static void add_animal(world *w, int lot, int stage, double left)
{
    if (w->n_animals < ANIMALS_MAX) {
        w->animals[w->n_animals++] = (animal){lot, stage, left};
    }
}

static void add_founder(world *w, int lot, bool is_adult)
{
    int last = w->threat->n_stages - 1;
    int stage = is_adult ? last : 0;
    double u = uniform(w);
    while (!is_adult && stage < last && u >= w->threat->stage[stage].start_share) {
        u -= w->threat->stage[stage++].start_share;
    }
    int all = w->model->stage[stage].n_substages;
    add_animal(w, lot, stage, stage == last ? 0.0 : erlang(w, 1 + below(w, all), all));
}

/* Zero-truncated Poisson of mean parameter 3, as the program takes founders to be. */
static int founders(world *w)
{
    for (;;) {
        double left = exp(-3.0);
        double u = uniform(w);
        int n = 0;
        double p = left;
        while (u >= p && n < 20) {
            u -= p;
            p *= 3.0 / ++n;
        }
        if (n > 0) {
            return n;
        }
    }
}

static void move_animal(animal *a, int lot)
{
    a->lot = lot;
}

static int random_lot_in(world *w, int place, int except)
{
    int seen = 0;
    int pick = -1;
    for (int i = 0; i < w->n_lots; i++) {
        if (w->lots[i].place == place && i != except && below(w, ++seen) == 0) {
            pick = i;
        }
    }
    return pick;
}

static void live_a_day(world *w)
{
    int last = w->threat->n_stages - 1;
    int n = w->n_animals;
    for (int i = 0; i < n; i++) {
        animal *a = &w->animals[i];
        if (a->stage > 0 && uniform(w) < 0.2 && w->threat->is_mobile) {
            int to = random_lot_in(w, w->lots[a->lot].place, a->lot);
            move_animal(a, to >= 0 ? to : a->lot);
        }
        for (int h = 0; h < 24 && a->stage < last; h++) {
            const fl_stage_rate *r = &w->model->stage[a->stage];
            double above = fmin(w->temp_c, r->upper_c) - r->threshold_c;
            a->left -= above > 0.0 ? w->speed * above / r->degree_days / 24.0 : 0.0;
            if (a->left <= 0.0) {
                int k = w->model->stage[++a->stage].n_substages;
                a->left = a->stage == last ? 0.0 : erlang(w, k, k);
            }
        }
        for (double eggs = w->eggs_per_day; a->stage == last && eggs > 0.0; eggs -= 1.0) {
            int k = w->model->stage[0].n_substages;
            if (uniform(w) < fmin(eggs, 1.0)) {
                add_animal(w, a->lot, 0, erlang(w, k, k));
            }
        }
    }
}

/* ---- what the keeper does ---- */

static void bring_home(world *w, int index)
{
    purchase *p = &w->purchases[index];
    p->first_lot = w->n_lots;
    for (int i = 0; i < p->n_lots; i++) {
        fl_event *e = record(w, FL_KIND_LOT_ARRIVED, at(p->day, 18));
        w->lots[w->n_lots] = (sim_lot){next_id(w), BENCH, index};
        e->body.lot_arrived = (fl_ev_lot_arrived){.lot = w->lots[w->n_lots++].id,
                                                  .arrival = p->arrival,
                                                  .source = p->source,
                                                  .name = FL_SV("a plant"),
                                                  .count = 1,
                                                  .form = p->form,
                                                  .use = FL_USE_STOCK,
                                                  .place = w->places[BENCH],
                                                  .cost = (double)NAN};
    }
    if (w->true_origin.kind == BY_PURCHASE && w->true_origin.purchase == index) {
        w->true_origin.at_s = at(p->day, 18);
        for (int n = founders(w); n > 0; n--) {
            add_founder(w, p->first_lot + below(w, p->n_lots), false);
        }
    }
}

static void share_bench(world *w)
{
    double share = fl_know_link_factor(w->threat, FL_LINK_OPEN_BENCH);
    for (int i = 0; i < w->n_animals; i++) {
        animal *a = &w->animals[i];
        int to = w->lots[a->lot].place == BENCH ? random_lot_in(w, BENCH, a->lot) : -1;
        if (a->stage > 0 && to >= 0 && uniform(w) < share) {
            move_animal(a, to);
        }
    }
}

static void step(world *w, int index, fl_step what, int hour)
{
    const purchase *p = &w->purchases[index];
    fl_event *e = record(w, FL_KIND_STEP_DONE, at(p->day, hour));
    fl_ev_step *s = &w->steps[w->n_events - 1];
    fl_id *list = w->lists[w->n_events - 1];
    for (int i = 0; i < p->n_lots; i++) {
        list[i] = w->lots[p->first_lot + i].id;
    }
    bool has_tub = what == FL_STEP_SOAK && p->has_tub;
    *s = (fl_ev_step){.lots = {list, (size_t)p->n_lots},
                      .step = what,
                      .dose_mg_per_l = (double)NAN,
                      .pct = (double)NAN,
                      .temp_c = (double)NAN,
                      .minutes = 10.0,
                      .tub = has_tub ? FL_SV("the blue tub") : FL_SV("")};
    e->body.step_done = (fl_ev_step_done){.steps = s, .n_steps = 1};
    for (int i = 0; i < w->n_animals;) {
        animal *a = &w->animals[i];
        bool is_in = a->lot >= p->first_lot && a->lot < p->first_lot + p->n_lots;
        double lives = fl_know_survival_of(w->threat, a->stage, what, FL_AGENT_NONE).survival;
        if (is_in && uniform(w) >= lives) {
            *a = w->animals[--w->n_animals];
            continue;
        }
        i++;
    }
}

/* The water of one evening's tub: what floats off one purchase reaches another. */
static void share_tub(world *w, int day)
{
    double share = fl_know_link_factor(w->threat, FL_LINK_SHARED_TUB);
    for (int i = 0; i < w->n_animals; i++) {
        animal *a = &w->animals[i];
        int own = w->lots[a->lot].purchase;
        if (own < 0 || w->purchases[own].day != day || !w->purchases[own].has_tub ||
            uniform(w) >= share) {
            continue;
        }
        int other = below(w, w->n_purchases);
        const purchase *p = &w->purchases[other];
        if (p->day == day && p->has_tub && other != own) {
            move_animal(a, p->first_lot + below(w, p->n_lots));
        }
    }
}

static void move_lots(world *w, int lot, int to, int64_t at_s)
{
    fl_event *e = record(w, FL_KIND_LOT_MOVED, at_s);
    w->lists[w->n_events - 1][0] = w->lots[lot].id;
    e->body.lot_moved =
        (fl_ev_lot_moved){.lots = {w->lists[w->n_events - 1], 1}, .to = w->places[to]};
    w->lots[lot].place = to;
}

static void evening(world *w, int day)
{
    bool is_any = false;
    for (int i = 0; i < w->n_purchases; i++) {
        if (w->purchases[i].day == day) {
            bring_home(w, i);
            is_any = true;
        }
    }
    if (!is_any) {
        return;
    }
    share_bench(w);
    for (int i = 0; i < w->n_purchases; i++) {
        if (w->purchases[i].day == day) {
            step(w, i, FL_STEP_STRIP, 19);
        }
    }
    for (int i = 0; i < w->n_purchases; i++) {
        if (w->purchases[i].day == day) {
            step(w, i, FL_STEP_SOAK, 20);
        }
    }
    share_tub(w, day);
    for (int i = 0; i < w->n_purchases; i++) {
        const purchase *p = &w->purchases[i];
        if (p->day != day) {
            continue;
        }
        step(w, i, FL_STEP_POT_UP, 21);
        if (w->true_origin.kind == BY_MIX && w->true_origin.purchase == i) {
            w->true_origin.at_s = at(day, 21);
            add_founder(w, p->first_lot + below(w, p->n_lots), false);
        }
        for (int k = 0; k < p->n_lots; k++) {
            int to = uniform(w) < 0.75 ? p->bin : BIN0 + below(w, BINS);
            move_lots(w, p->first_lot + k, to, at(day, 22));
        }
    }
}

static void take_cutting(world *w, int day)
{
    fl_event *e = record(w, FL_KIND_LOT_CUT, at(day, 17));
    int mother = below(w, 2);
    int place = BIN0 + below(w, BINS);
    w->lots[w->n_lots] = (sim_lot){next_id(w), place, -2};
    e->body.lot_cut = (fl_ev_lot_cut){.mother = w->lots[mother].id,
                                      .lot = w->lots[w->n_lots].id,
                                      .count = 1,
                                      .form = FL_FORM_UNROOTED_CUTTING,
                                      .use = FL_USE_STOCK,
                                      .place = w->places[place]};
    for (int i = 0; i < w->n_animals; i++) {
        animal *a = &w->animals[i];
        if (a->lot == mother && w->threat->stage[a->stage].rides_a_cutting && uniform(w) < 0.3) {
            move_animal(a, w->n_lots);
        }
    }
    w->n_lots++;
}

/* The most grown animal that a look at the place sees; -1. */
static int look_at(world *w, int place, fl_effort effort)
{
    int seen = -1;
    for (int i = 0; i < w->n_animals; i++) {
        const animal *a = &w->animals[i];
        double d = fl_know_detect(w->threat, a->stage, effort, w->devices, false);
        if (w->lots[a->lot].place == place &&
            uniform(w) < fmin(w->mixture.cap, w->multiplier * d) &&
            (seen < 0 || a->stage > w->animals[seen].stage)) {
            seen = i;
        }
    }
    return seen;
}

static void carry_tools(world *w, int from, int to, fl_hands hands)
{
    fl_link link = hands == FL_HANDS_NOT_CLEANED ? FL_LINK_SHARED_TOOL : FL_LINK_UNSURE_TOOL;
    int target = random_lot_in(w, to, -1);
    if (hands == FL_HANDS_CLEANED || target < 0 ||
        uniform(w) >= fl_know_link_factor(w->threat, link)) {
        return;
    }
    for (int i = 0; i < w->n_animals; i++) {
        if (w->lots[w->animals[i].lot].place == from && w->animals[i].stage > 0) {
            move_animal(&w->animals[i], target);
            return;
        }
    }
}

static void note_find(world *w, fl_event *look, int place, int seen)
{
    const animal *a = &w->animals[seen];
    w->finding = (fl_ev_finding){.finding = next_id(w),
                                 .threat = fl_sv_from_cstr(w->threat->code),
                                 .stage = fl_sv_from_cstr(w->threat->stage[a->stage].name),
                                 .count = 1,
                                 .is_removed = true};
    look->body.look_done.findings = &w->finding;
    look->body.look_done.n_findings = 1;
    w->is_found = true;
    w->found_s = look->at_s;
    w->found_place = place;
}

static void make_round(world *w, int day)
{
    int before = -1;
    for (int place = TANK; place < PLACES && !w->is_found; place++) {
        bool is_due = place != TANK || day % 28 == 6;
        if (!is_due || random_lot_in(w, place, -1) < 0) {
            continue;
        }
        fl_hands hands = (fl_hands)below(w, FL_HANDS_COUNT);
        if (before >= 0) {
            carry_tools(w, before, place, hands);
        }
        fl_event *e = record(w, FL_KIND_LOOK_DONE, at(day, 16) + place * 300);
        e->body.look_done = (fl_ev_look_done){.place = w->places[place],
                                              .effort = FL_EFFORT_CAREFUL,
                                              .devices = w->devices,
                                              .frac_examined = 1.0,
                                              .hands = before >= 0 ? hands : FL_HANDS_CLEANED};
        int seen = look_at(w, place, FL_EFFORT_CAREFUL);
        if (seen >= 0) {
            note_find(w, e, place, seen);
        }
        before = place;
    }
}

/* ---- one outbreak ---- */

/* Draws the way in by the tables' priors. */
static void draw_origin(world *w)
{
    double weight[PURCHASES_MAX * 2 + 1];
    double all = 0.0;
    int n = w->n_purchases;
    double mix = fl_know_prior_of(w->threat, FL_SOURCE_CHAIN_STORE, FL_FORM_MIX_BAGGED).prob;
    for (int i = 0; i < n; i++) {
        weight[i] = fl_know_prior_of(w->threat, w->purchases[i].kind, w->purchases[i].form).prob;
        weight[n + i] = mix;
    }
    weight[2 * n] = fl_know_prior_of(w->threat, FL_SOURCE_CHAIN_STORE, FL_FORM_POTTED).prob *
                    fl_know_already_here_factor(w->threat);
    for (int i = 0; i <= 2 * n; i++) {
        all += weight[i];
    }
    double u = uniform(w) * all;
    int pick = 0;
    while (pick < 2 * n && u >= weight[pick]) {
        u -= weight[pick++];
    }
    w->true_origin = (origin){.kind = pick < n       ? BY_PURCHASE
                                      : pick < 2 * n ? BY_MIX
                                                     : BY_ALREADY_HERE,
                              .purchase = pick < n ? pick : pick - n,
                              .at_s = at(0, 1)};
}

static void draw_world(world *w, int number)
{
    fl_rng rng = w->rng;
    memset(w, 0, sizeof *w);
    w->rng = rng;
    w->threat = fl_know_threat_find(fl_sv_from_cstr(PESTS[number % 5]));
    check_true(w->threat != NULL);
    w->model = below(w, 2) == 0 ? &w->threat->slow : &w->threat->fast;
    w->mixture = fl_know_detectability();
    w->speed = 0.8 + 0.4 * uniform(w);
    w->eggs_per_day = 1.0 + 3.0 * uniform(w);
    w->temp_c = 20.0 + 5.0 * uniform(w);
    w->devices = below(w, 2) == 0 ? 1U << FL_DEVICE_YELLOW_CARD : 0;
    double u = uniform(w);
    int m = 0;
    while (m < FL_MULTIPLIERS - 1 && u >= w->mixture.weight_middle[m]) {
        u -= w->mixture.weight_middle[m++];
    }
    w->multiplier = w->mixture.multiplier[m];
}

/* True when something was found. */
static bool simulate(world *w, int number)
{
    draw_world(w, number);
    set_up_room(w);
    plan_purchases(w);
    draw_origin(w);
    if (w->true_origin.kind == BY_ALREADY_HERE) {
        add_founder(w, below(w, 2), true);
    }
    int cut_day = uniform(w) < 0.6 ? 5 + below(w, 60) : -1;
    for (int day = 1; day < DAYS && !w->is_found; day++) {
        live_a_day(w);
        if (day % 7 == 6) {
            make_round(w, day);
        }
        if (w->is_found) {
            break;
        }
        if (day == cut_day) {
            take_cutting(w, day);
        }
        evening(w, day);
    }
    return w->is_found;
}

/* ---- the check ---- */

typedef struct tally {
    int n, ours, latest, latest_there, in_window;
} tally;

static bool is_truth(const world *w, const fl_trace_source *s)
{
    const origin *o = &w->true_origin;
    switch (o->kind) {
    case BY_PURCHASE:
        return s->kind == FL_SUSPECT_PURCHASE &&
               fl_id_eq(s->arrival, w->purchases[o->purchase].arrival);
    case BY_MIX:
        return s->kind == FL_SUSPECT_MIX && s->at_s == o->at_s;
    default:
        return s->kind == FL_SUSPECT_ALREADY_HERE;
    }
}

/* The purchase that came last before the find; with is_there, among the lots in that place. */
static int latest(const world *w, bool is_there)
{
    int best = -1;
    for (int i = 0; i < w->n_lots; i++) {
        int p = w->lots[i].purchase;
        bool counts = p >= 0 && (!is_there || w->lots[i].place == w->found_place);
        if (counts && (best < 0 || w->purchases[p].day > w->purchases[best].day)) {
            best = p;
        }
    }
    return best;
}

static void trace(const world *w, fl_trace *out, fl_room *room, fl_arena *arena)
{
    fl_err err = {0};
    const fl_room empty = {.now_s = w->found_s};
    check_ok(fl_room_with(&empty, w->events, (size_t)w->n_events, room, &err), &err);
    check_int(room->meaning.n_findings, 1);
    const fl_trace_question question = {
        .finding = &room->meaning.findings[0], .from_s = INT64_MIN, .to_s = FL_TIME_OPEN};
    check_ok(fl_trace_ask(room, NULL, &question, arena, out, &err), &err);
}

static void check_answer(const fl_trace *t)
{
    double sum = 0.0;
    check_true(t->n_sources > 0);
    for (size_t i = 0; i < t->n_sources; i++) {
        const fl_trace_source *s = &t->sources[i];
        check_true(i == 0 || s->prob <= t->sources[i - 1].prob);
        sum += s->prob;
        check_true(s->n_chain > 0);
        for (size_t k = 1; k < s->n_chain; k++) { /* contacts in order, each from where it was */
            check_true(s->chain[k].at_s >= s->chain[k - 1].at_s);
            check_true(fl_id_eq(s->chain[k].from_place, s->chain[k - 1].to_place));
        }
        check_true(fl_id_eq(s->chain[s->n_chain - 1].to_place, t->place));
    }
    check_true(sum > 0.95 && sum < 1.0 + 1e-9);
    for (size_t i = 0; i < t->n_reached; i++) {
        check_true(t->reached[i].prob >= 0.0 && t->reached[i].prob <= t->reached[i].most);
        check_true(t->reached[i].most <= 1.0);
    }
}

static void test_true_source_is_ranked_first(void **state)
{
    (void)state;
    static world w;
    tally all = {0};
    tally by_pest[5] = {{0}};
    w.rng.state = 26;
    for (int n = 0; n < OUTBREAKS;) {
        fl_arena arena;
        fl_room room;
        fl_trace t;
        if (!simulate(&w, n)) {
            continue;
        }
        fl_arena_init(&arena);
        trace(&w, &t, &room, &arena);
        check_answer(&t);
        tally *k = &by_pest[n % 5];
        int last = latest(&w, false);
        int last_there = latest(&w, true);
        bool by_purchase = w.true_origin.kind == BY_PURCHASE;
        k->n++;
        k->ours += is_truth(&w, &t.sources[0]) ? 1 : 0;
        k->latest += by_purchase && last == w.true_origin.purchase ? 1 : 0;
        k->latest_there += by_purchase && last_there == w.true_origin.purchase ? 1 : 0;
        k->in_window += t.has_window && w.true_origin.at_s >= t.window_from_s &&
                                w.true_origin.at_s <= t.window_to_s
                            ? 1
                            : 0;
        fl_room_done(&room);
        fl_arena_done(&arena);
        n++;
    }
    for (int i = 0; i < 5; i++) {
        const tally *k = &by_pest[i];
        print_message("%-24s first: ours %5.1f %%, latest arrival %5.1f %%, latest of that place "
                      "%5.1f %%; in the window %5.1f %%\n",
                      PESTS[i], 100.0 * k->ours / k->n, 100.0 * k->latest / k->n,
                      100.0 * k->latest_there / k->n, 100.0 * k->in_window / k->n);
        all.n += k->n;
        all.ours += k->ours;
        all.latest += k->latest;
        all.latest_there += k->latest_there;
        all.in_window += k->in_window;
    }
    print_message("all: the true source first: ours %.1f %%, the latest arrival %.1f %%, the "
                  "latest of that place %.1f %%; in the window %.1f %%\n",
                  100.0 * all.ours / all.n, 100.0 * all.latest / all.n,
                  100.0 * all.latest_there / all.n, 100.0 * all.in_window / all.n);
    check_int(all.n, OUTBREAKS);
    check_true(100.0 * (all.ours - all.latest) / all.n >= 15.0);
    /* and the weights must do it, not the place alone: all suspects alike would give 61 % */
    check_true(100.0 * (all.ours - all.latest_there) / all.n >= 5.0);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_true_source_is_ranked_first),
};
FL_TEST_MAIN(tests)
