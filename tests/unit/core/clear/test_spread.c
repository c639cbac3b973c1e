/* One threat over the network (design 4.1 to 4.9, 4.11, 4.12): copies against the bare filter,
 * steps on a part of a pool, finds against a simulation, and what must never make a chance
 * smaller. */
#include "base/rng.h"
#include "unit/core/clear/small.h"
#include "unit/core/clear/spreading.h"

/* Boxes that close tight: nothing comes in from the room. */
static history *tight_places(void)
{
    history *h = history_with_places();
    for (size_t i = 0; i < h->count; i++) {
        h->events[i].body.place_set.has_gasket = true;
    }
    return h;
}

static void read_cards(history *h, unsigned number)
{
    event_at(h, number)->body.look_done.devices = 1U << FL_DEVICE_YELLOW_CARD;
}

/* ---- copies ---- */

/* The chance of one root that was looked at twice, from the filter by hand. */
static void test_a_copy_is_the_filter(void **state)
{
    (void)state;
    history *h = tight_places();
    buy(h, 1 * DAY, 1, 1, 1, BIN);
    look_whole(h, 8 * DAY, BIN, FL_EFFORT_CAREFUL, FL_HANDS_CLEANED);
    look_whole(h, 15 * DAY, BIN, FL_EFFORT_GLANCE, FL_HANDS_CLEANED);
    spreading *s = spreading_new(h, "western_flower_thrips", 23.0);
    spreading_run(s);
    const fl_threat *t = s->spread.threat;
    const fl_know_mixture *m = &s->mixture;
    double share[FL_STAGES_MAX] = {0};
    double careful[FL_STAGES_MAX] = {0};
    double glance[FL_STAGES_MAX] = {0};
    for (int i = 0; i < t->n_stages; i++) {
        share[i] = t->stage[i].start_share;
        careful[i] = fl_know_detect(t, i, FL_EFFORT_CAREFUL, 0, false);
        glance[i] = fl_know_detect(t, i, FL_EFFORT_GLANCE, 0, false);
    }
    fl_filter_seed seed = {
        .prior = 0.3, .share = share, .n_mix = FL_MULTIPLIERS, .multiplier = m->multiplier};
    fl_founders many = {.family = FL_FOUNDERS_ZT_POISSON, .lambda = FL_FOUNDERS_MEAN};
    fl_filter f;
    fl_chance want;
    fl_err err = {0};
    check_ok(fl_filter_start(&t->slow, &seed, &f, &err), &err);
    check_ok(fl_filter_advance_constant(&t->slow, 23.0, 7 * 24, &f, &err), &err);
    check_ok(fl_filter_look(&t->slow, careful, m->cap, &f, &err), &err);
    check_ok(fl_filter_advance_constant(&t->slow, 23.0, 7 * 24, &f, &err), &err);
    check_ok(fl_filter_look(&t->slow, glance, m->cap, &f, &err), &err);
    fl_reading got = chance_on(s, 1, 15 * DAY);
    check_ok(fl_filter_chance(&f, m->weight_middle, &many, &want, &err), &err);
    check_close(got.middle, want.chance, 1e-12, 0.0);
    check_ok(fl_filter_chance(&f, m->weight_low, &many, &want, &err), &err);
    check_close(got.poor, want.chance, 1e-12, 0.0);
    check_ok(fl_filter_chance(&f, m->weight_high, &many, &want, &err), &err);
    check_close(got.good, want.chance, 1e-12, 0.0);
    check_true(got.poor > got.middle && got.middle > got.good);
    spreading_end(s);
    history_end(h);
}

/* Several copies of one root are one risk, the largest; two roots are two. */
static void test_combining(void **state)
{
    (void)state;
    history *h = tight_places();
    buy(h, 1 * DAY, 1, 1, 1, BIN);
    buy(h, 1 * DAY, 2, 1, 1, BIN_2);
    look_whole(h, 8 * DAY, BIN, FL_EFFORT_CAREFUL, FL_HANDS_CLEANED);
    move(h, 9 * DAY, 2, BIN); /* the same purchase, less looked at */
    buy(h, 10 * DAY, 3, 2, 2, BIN);
    spreading *s = spreading_new(h, "western_flower_thrips", 23.0);
    s->prior[2] = 0.1;
    spreading_run(s);
    check_close(chance_on(s, 3, 10 * DAY).middle, 1.0 - (1.0 - 0.3) * (1.0 - 0.1), 1e-12, 0.0);
    spreading_end(s);
    history_end(h);
}

/* What was already here for years is an established colony; what was bought is not. */
static void test_already_here_is_a_colony(void **state)
{
    (void)state;
    history *h = tight_places();
    fl_event *e = add(h, FL_KIND_LOT_ALREADY_HERE, DAY);
    e->body.lot_already_here = (fl_ev_lot_already_here){
        .lot = lot_id(1), .count = 1, .source = id_of('s', 1), .place = place_id(ENCLOSURE)};
    spreading *s = spreading_new(h, "citrus_mealybug", 23.0);
    spreading_run(s);
    const fl_copy *copy = copy_on(s, 1);
    check_close(copy->prog->state.alive[copy->prog->state.n - 1][0], 1.0, 1e-12, 0.0);
    spreading_end(s);
    history_end(h);
}

/* ---- the bench ---- */

/* Each of two purchases that stood a day on one bench has its own chance and half of the other's (a
 * leaf flier's open_bench figure for a day), whichever came first. */
static void test_bench_neighbours_both_get_it(void **state)
{
    (void)state;
    history *h = tight_places();
    buy(h, 1 * DAY, 1, 1, 1, BENCH);
    buy(h, 2 * DAY, 2, 2, 2, BENCH);
    spreading *s = spreading_new(h, "western_flower_thrips", 23.0);
    s->prior[2] = 0.2;
    spreading_run_until(s, 3 * DAY);
    /* One founder: p x ride. Several founders: more likely that one rode. The larger counts. */
    double many = -expm1(-1.5) / -expm1(-3.0);
    double from_1 = 0.3 * many;
    double from_2 = 0.2 * many;
    check_close(chance_on(s, 1, 3 * DAY).middle, 1.0 - 0.7 * (1.0 - from_2), 1e-9, 0.0);
    check_close(chance_on(s, 2, 3 * DAY).middle, 1.0 - 0.8 * (1.0 - from_1), 1e-9, 0.0);
    spreading_end(s);
    history_end(h);
}

/* After weeks of quiet looks in a bin, an hour on the empty bench does not bring back what the
 * bench held on the first day. */
static void test_an_empty_bench_forgets(void **state)
{
    (void)state;
    history *h = tight_places();
    buy(h, 1 * DAY, 1, 1, 1, BENCH);
    move(h, 2 * DAY, 1, BIN);
    for (int week = 1; week <= 8; week++) {
        read_cards(h,
                   look_whole(h, (2 + 7 * week) * DAY, BIN, FL_EFFORT_CAREFUL, FL_HANDS_CLEANED));
    }
    move(h, 59 * DAY, 1, BENCH);
    spreading *s = spreading_new(h, "western_flower_thrips", 23.0);
    spreading_run(s);
    check_true(chance_on(s, 1, 59 * DAY).middle < 0.05);
    spreading_end(s);
    history_end(h);
}

/* ---- steps ---- */

/* The share of each stage that is alive, whatever the multiplier. */
static double alive_in(const fl_copy *copy, const fl_stage_model *model, int stage)
{
    int first = 0;
    double sum = 0.0;
    for (int i = 0; i < stage; i++) {
        first += model->stage[i].n_substages;
    }
    for (int i = first; i < first + model->stage[stage].n_substages; i++) {
        sum += copy->prog->state.alive[i][0];
    }
    return sum;
}

/* Strip and rinse (0.6 each for a gnat larva) of one of two lots: 1 - 1/2 (1 - 0.36), told in one
 * event, in two, or lot by lot. The larva's share is 0.45 (data/stages.csv). */
static void test_steps_on_a_part(void **state)
{
    (void)state;
    static const unsigned one[] = {1};
    static const unsigned two[] = {2};
    for (int way = 0; way < 3; way++) {
        history *h = tight_places();
        buy(h, DAY, 1, 1, 1, BENCH);
        buy(h, DAY, 2, 1, 1, BENCH);
        if (way == 0) {
            fl_ev_step *steps = FL_ARENA_ARRAY(&h->arena, fl_ev_step, 2);
            unsigned number = step_on(h, DAY, one, 1, FL_STEP_STRIP, "");
            steps[0] = steps[1] = event_at(h, number)->body.step_done.steps[0];
            steps[1].step = FL_STEP_RINSE;
            event_at(h, number)->body.step_done = (fl_ev_step_done){.steps = steps, .n_steps = 2};
        } else {
            step_on(h, DAY, one, 1, FL_STEP_STRIP, "");
            step_on(h, DAY, one, 1, FL_STEP_RINSE, "");
        }
        if (way == 2) {
            step_on(h, DAY, two, 1, FL_STEP_STRIP, "");
            step_on(h, DAY, two, 1, FL_STEP_RINSE, "");
        }
        spreading *s = spreading_new(h, "fungus_gnat", 23.0);
        spreading_run(s);
        double want = way == 2 ? 0.36 : 1.0 - 0.5 * (1.0 - 0.36);
        check_close(alive_in(copy_on(s, 1), s->model, 1), 0.45 * want, 1e-12, 0.0);
        spreading_end(s);
        history_end(h);
    }
}

/* Washing half of the plants again and again within an evening cannot take more than its half; a
 * sequence goes no lower than the floor (design 4.11), on material it does. */
static void test_floors(void **state)
{
    (void)state;
    static const unsigned one[] = {1};
    history *h = tight_places();
    buy(h, DAY, 1, 1, 1, BENCH);
    buy(h, DAY, 2, 1, 1, BENCH);
    for (int i = 0; i < 12; i++) {
        step_on(h, DAY + i * 600, one, 1, FL_STEP_RINSE, "");
    }
    spreading *s = spreading_new(h, "fungus_gnat", 23.0);
    spreading_run(s);
    fl_copy *copy = copy_on(s, 1);
    double kept = (1.0 - copy->prog->state.dead[0]);
    check_close(kept, 1.0 - 0.5 * (1.0 - 0.1), 1e-9, 0.0);
    spreading_end(s);
    history_end(h);

    h = tight_places();
    buy(h, DAY, 1, 1, 1, BENCH);
    event_at(h, number_of(h))->body.lot_arrived.form = FL_FORM_LEAF_LITTER;
    step_on(h, DAY, one, 1, FL_STEP_BOIL, "");
    step_on(h, DAY, one, 1, FL_STEP_BOIL, "");
    s = spreading_new(h, "slug", 20.0);
    spreading_run(s);
    check_close(alive_in(copy_on(s, 1), s->model, 1), 0.3 * 0.05 * 0.05, 1e-9, 0.0);
    check_true(chance_on(s, 1, DAY).middle > 0.0);
    spreading_end(s);
    history_end(h);
}

/* Bleach earns nothing against an insect (design 4.11). */
static void test_bleach_earns_nothing(void **state)
{
    (void)state;
    static const unsigned one[] = {1};
    history *h = tight_places();
    buy(h, DAY, 1, 1, 1, BENCH);
    unsigned number = step_on(h, DAY, one, 1, FL_STEP_DIP, "");
    fl_ev_step *dip = FL_ARENA_NEW(&h->arena, fl_ev_step);
    *dip = event_at(h, number)->body.step_done.steps[0];
    dip->agent = FL_AGENT_BLEACH;
    event_at(h, number)->body.step_done.steps = dip;
    spreading *s = spreading_new(h, "western_flower_thrips", 23.0);
    spreading_run(s);
    check_close(copy_on(s, 1)->prog->state.dead[0], 0.0, 0.0, 0.0);
    spreading_end(s);
    history_end(h);
}

/* ---- finds ---- */

/* One founder of a simulated batch: which substage it is in, and when it leaves it. */
typedef struct founder {
    int substage;
    double leaves_d;
    bool is_found;
} founder;

static double exponential(fl_rng *rng, double rate)
{
    return -log1p(-fl_rng_uniform(rng)) / rate;
}

/* Substages per day at a temperature, by substage; 0 for the last. */
static double leaving_rate(const fl_stage_model *model, int substage, double temp_c, int *stage)
{
    int first = 0;
    for (*stage = 0; substage >= first + model->stage[*stage].n_substages; ++*stage) {
        first += model->stage[*stage].n_substages;
    }
    const fl_stage_rate *r = &model->stage[*stage];
    double warm = fmin(temp_c, r->upper_c) - r->threshold_c;
    return *stage == model->n_stages - 1 ? 0.0 : r->n_substages * warm / r->degree_days;
}

static founder new_founder(fl_rng *rng, const fl_threat *t, double temp_c)
{
    double u = fl_rng_uniform(rng);
    int first = 0;
    int stage = 0;
    while (stage < t->n_stages - 1 && u > t->stage[stage].start_share) {
        u -= t->stage[stage].start_share;
        first += t->slow.stage[stage++].n_substages;
    }
    int n = t->slow.stage[stage].n_substages;
    founder f = {.substage = first + (int)(fl_rng_uniform(rng) * n)};
    double rate = leaving_rate(&t->slow, f.substage, temp_c, &stage);
    f.leaves_d = rate > 0.0 ? exponential(rng, rate) : HUGE_VAL;
    return f;
}

static int stage_at(fl_rng *rng, const fl_threat *t, founder *f, double day, double temp_c)
{
    int stage = 0;
    double rate = leaving_rate(&t->slow, f->substage, temp_c, &stage);
    while (f->leaves_d <= day) {
        f->substage++;
        rate = leaving_rate(&t->slow, f->substage, temp_c, &stage);
        f->leaves_d = rate > 0.0 ? f->leaves_d + exponential(rng, rate) : HUGE_VAL;
    }
    return stage;
}

static int poisson(fl_rng *rng, double mean)
{
    int n = 0;
    for (double t = exponential(rng, 1.0); t < mean; n++) {
        t += exponential(rng, 1.0);
    }
    return n;
}

#define QUIET_LOOKS 4
#define BATCHES 400000

/* P(some founder is left | four weekly careful looks quiet, the fifth shows exactly one, which is
 * taken away), by simulation: Gamma(1) intensity of mean 3, one eye for the batch. */
static double simulate_find(const fl_threat *t, double temp_c, double *se)
{
    fl_know_mixture mix = fl_know_detectability();
    fl_rng rng = {20260302};
    double n_left = 0.0;
    double n = 0.0;
    for (int b = 0; b < BATCHES; b++) {
        founder all[64];
        double eye = fl_rng_uniform(&rng);
        int w = 0;
        while (w < FL_MULTIPLIERS - 1 && eye > mix.weight_middle[w]) {
            eye -= mix.weight_middle[w++];
        }
        int n_all = poisson(&rng, exponential(&rng, 1.0 / FL_FOUNDERS_MEAN));
        int seen = 0;
        n_all = n_all < 64 ? n_all : 64;
        for (int i = 0; i < n_all; i++) {
            all[i] = new_founder(&rng, t, temp_c);
        }
        for (int look = 1; look <= QUIET_LOOKS + 1 && (look == 1 || seen == 0); look++) {
            for (int i = 0; i < n_all; i++) {
                int stage = stage_at(&rng, t, &all[i], 7.0 * look, temp_c);
                double q = fl_know_detect(t, stage, FL_EFFORT_CAREFUL, 0, false);
                all[i].is_found = fl_rng_uniform(&rng) < fmin(mix.cap, mix.multiplier[w] * q);
                seen += all[i].is_found ? 1 : 0;
            }
            if (look <= QUIET_LOOKS && seen > 0) {
                seen = -1; /* not this history */
            }
        }
        if (seen == 1) {
            n += 1.0;
            n_left += n_all > 1 ? 1.0 : 0.0;
        }
    }
    *se = sqrt(n_left / n * (1.0 - n_left / n) / n);
    return n_left / n;
}

/* The after-a-find chance of a late find: quiet looks before it tell of a poor eye, which leaves
 * more behind. Against the simulation above (400 000 batches). */
static void test_a_late_find_against_simulation(void **state)
{
    (void)state;
    history *h = tight_places();
    buy(h, 0, 1, 1, 1, BIN);
    for (int look = 1; look <= QUIET_LOOKS; look++) {
        look_whole(h, 7 * look * DAY, BIN, FL_EFFORT_CAREFUL, FL_HANDS_CLEANED);
    }
    find_one(h, 7 * (QUIET_LOOKS + 1) * DAY, BIN, 1, "western_flower_thrips", "adult");
    spreading *s = spreading_new(h, "western_flower_thrips", 23.0);
    spreading_run(s);
    double se = 0.0;
    double want = simulate_find(s->spread.threat, 23.0, &se);
    const fl_copy *copy = copy_on(s, 1);
    check_true(FL_IS_FIND_ROOT(copy->root));
    /* The adult's own young come on top of what others left (docs/decisions/0005). */
    double others = 1.0 - (1.0 - copy->prior) / (1.0 - FL_FIND_LEFT_YOUNG);
    check_close(others, want, 0.0, 4.0 * se);
    check_true(se < 0.01);
    spreading_end(s);
    history_end(h);
}

/* At least half of the mass is in the youngest hidden stage when an adult was seen. */
static void test_a_find_leaves_eggs(void **state)
{
    (void)state;
    history *h = tight_places();
    buy(h, DAY, 1, 1, 1, BIN);
    find_one(h, 60 * DAY, BIN, 1, "western_flower_thrips", "adult");
    spreading *s = spreading_new(h, "western_flower_thrips", 23.0);
    spreading_run(s);
    check_true(copy_on(s, 1)->prog->state.alive[0][2] >= 0.5);
    check_close(s->spread.root_found[copy_on(s, 1)->root == 0 ? 0 : s->spread.finds[0].was], 1.0,
                1e-6, 0.0);
    spreading_end(s);
    history_end(h);
}

/* Several findings of one look: what was left there, and the stage that breeds, count. */
static void test_findings_of_one_look(void **state)
{
    (void)state;
    history *h = tight_places();
    buy(h, DAY, 1, 1, 1, BIN);
    unsigned number = find_one(h, 8 * DAY, BIN, 1, "western_flower_thrips", "larva");
    fl_ev_finding *seen = FL_ARENA_ARRAY(&h->arena, fl_ev_finding, 2);
    seen[0] = seen[1] = event_at(h, number)->body.look_done.findings[0];
    seen[1].finding = finding_id(2);
    seen[1].stage = FL_SV("adult");
    seen[1].is_removed = false;
    event_at(h, number)->body.look_done.findings = seen;
    event_at(h, number)->body.look_done.n_findings = 2;
    spreading *s = spreading_new(h, "western_flower_thrips", 23.0);
    spreading_run(s);
    check_int(s->spread.n_finds, 1);
    check_true(copy_on(s, 1)->prior >= FL_FIND_NOT_REMOVED);
    check_true(copy_on(s, 1)->prog->state.alive[0][2] >= 0.5);
    spreading_end(s);
    history_end(h);
}

/* Two purchases in a bin, and a find: the chance that the other one brought some too is not lost
 * with its root; the copies elsewhere become as likely as they were the cause; the sum of the
 * causes is 1. */
static void test_a_find_among_several_roots(void **state)
{
    (void)state;
    history *h = tight_places();
    buy(h, 0 * DAY, 1, 1, 1, BIN);
    buy(h, 0 * DAY, 2, 2, 2, BIN);
    buy(h, 0 * DAY, 3, 1, 1, BIN_2); /* of the first purchase too */
    buy(h, 0 * DAY, 4, 2, 2, JAR);   /* of the second */
    find_one(h, 7 * DAY, BIN, 1, "western_flower_thrips", "adult");
    spreading *s = spreading_new(h, "western_flower_thrips", 23.0);
    s->prior[1] = 0.1;
    s->prior[2] = 0.4;
    spreading_run(s);
    size_t first = copy_on(s, 3)->root;
    size_t second = copy_on(s, 4)->root;
    double by_first = s->spread.root_found[first];
    double by_second = s->spread.root_found[second];
    check_close(by_first + by_second, 1.0, 1e-9, 0.0);
    /* The same age and looks: prior / (1 - prior x seen), so the odds are above 4 to 1. */
    check_true(by_second / by_first > 4.0 && by_second / by_first < 6.0);
    check_close(fl_spread_prior(&s->spread, copy_on(s, 3)), by_first + (1.0 - by_first) * 0.1,
                1e-12, 0.0);
    check_close(fl_spread_prior(&s->spread, copy_on(s, 4)), by_second + (1.0 - by_second) * 0.4,
                1e-12, 0.0);
    spreading *alone = NULL;
    history *g = tight_places();
    buy(g, 0, 1, 2, 2, BIN);
    find_one(g, 7 * DAY, BIN, 1, "western_flower_thrips", "adult");
    alone = spreading_new(g, "western_flower_thrips", 23.0);
    alone->prior[2] = 0.4;
    spreading_run(alone);
    check_true(chance_on(s, 1, 7 * DAY).middle > chance_on(alone, 1, 7 * DAY).middle);
    spreading_end(alone);
    history_end(g);
    spreading_end(s);
    history_end(h);
}

/* Thin copies of one root are one suspect: they do not crowd out another root. */
static void test_thin_copies_are_one_suspect(void **state)
{
    (void)state;
    history *h = tight_places();
    buy(h, 0, 1, 1, 1, BIN);
    buy(h, 0, 2, 2, 2, BIN_2);
    for (int i = 0; i < 3; i++) { /* tools from bin to bin, three times: three thin copies */
        look_whole(h, (1 + 2 * i) * DAY, BIN, FL_EFFORT_GLANCE, FL_HANDS_CLEANED);
        look_whole(h, (1 + 2 * i) * DAY + 60, BIN_2, FL_EFFORT_GLANCE, FL_HANDS_NOT_CLEANED);
    }
    find_one(h, 14 * DAY, BIN_2, 1, "western_flower_thrips", "adult");
    spreading *s = spreading_new(h, "western_flower_thrips", 23.0);
    spreading_run(s);
    size_t first = copy_on(s, 1)->root;
    double thin = s->spread.root_found[first];
    double sum = 0.0;
    for (size_t i = 0; i < s->w->network.n_roots; i++) {
        sum += s->spread.root_found[i];
    }
    check_close(sum, 1.0, 1e-6, 0.0);
    check_true(thin > 0.0 && thin < 0.12); /* one tenth rides, not three tenths */
    spreading_end(s);
    history_end(h);
}

/* ---- the room's own hazard ---- */

static history *loose_places(void)
{
    return history_with_places();
}

/* Thirty days in a box without a gasket: 0.0002 a day (data/room.csv), as 1 - e^-m. */
static void test_the_room_gets_in(void **state)
{
    (void)state;
    history *h = loose_places();
    buy(h, 0, 1, 1, 1, BIN);
    spreading *s = spreading_new(h, "western_flower_thrips", 23.0);
    s->prior[1] = 0.0;
    spreading_run(s);
    check_close(chance_on(s, 1, 30 * DAY).middle, -expm1(-30.0 * 0.0002), 1e-9, 0.0);
    spreading_end(s);
    history_end(h);
}

/* A collection that has been here for years, in a place without a gasket that was told of on day
 * 1000: the room's hazard counts from there, not from the date that the keeper remembers. */
static void test_the_room_begins_with_the_record(void **state)
{
    (void)state;
    history *h = history_with_places();
    const int64_t told = 1000 * DAY;
    for (size_t i = 0; i < h->count; i++) {
        h->events[i].body.place_set.has_gasket = false;
        h->events[i].at_s += told;
    }
    fl_event *e = add(h, FL_KIND_LOT_ALREADY_HERE, DAY);
    e->body.lot_already_here = (fl_ev_lot_already_here){
        .lot = lot_id(1), .count = 1, .source = id_of('s', 1), .place = place_id(BIN)};
    buy(h, told + 2 * DAY, 2, 2, 2, BIN_2); /* as in any box since */
    spreading *s = spreading_new(h, "western_flower_thrips", 23.0);
    for (int i = 0; i < 8; i++) {
        s->prior[i] = 0.0;
    }
    spreading_run_until(s, told + 12 * DAY);
    double per_day = fl_know_room_per_day(s->spread.threat, false);
    check_true(per_day > 0.0);
    double here = chance_on(s, 1, told + 12 * DAY).middle;
    double bought = chance_on(s, 2, told + 12 * DAY).middle;
    check_close(here, -expm1(-12.0 * per_day), 0.02, 0.0);
    check_close(bought, -expm1(-10.0 * per_day), 0.02, 0.0);
    spreading_end(s);
    history_end(h);
}

/* A lot that moves takes along what the room let into its first box, and leaves that box's lid
 * behind: each place lets in for its own days only. */
static void test_the_room_after_a_move(void **state)
{
    (void)state;
    history *h = loose_places();
    buy(h, 0, 1, 1, 1, BIN);
    move(h, 30 * DAY, 1, BIN_2);
    move(h, 50 * DAY, 1, BIN); /* back: the same fill, not cleaned */
    spreading *s = spreading_new(h, "western_flower_thrips", 23.0);
    s->prior[1] = 0.0;
    spreading_run(s);
    double got = chance_on(s, 1, 60 * DAY).middle;
    /* In the first box 60 days went by, in the second 20. */
    check_close(got, -expm1(-80.0 * 0.0002), 1e-6, 0.0);
    spreading_end(s);
    history_end(h);
}

/* A find closes what was there; the lid lets in as before. */
static void test_the_room_after_a_find(void **state)
{
    (void)state;
    history *h = loose_places();
    buy(h, 0, 1, 1, 1, BIN);
    find_one(h, 10 * DAY, BIN, 1, "western_flower_thrips", "adult");
    find_one(h, 20 * DAY, BIN, 2, "western_flower_thrips", "adult");
    spreading *s = spreading_new(h, "western_flower_thrips", 23.0);
    spreading_run(s);
    size_t carrier = carrier_of_lot(s->w, 1);
    fl_reading room = {0};
    int n_open = 0;
    for (size_t i = s->spread.carriers[carrier].first; i != FL_NO_INDEX;
         i = s->spread.copies[i].next) {
        fl_copy *copy = &s->spread.copies[i];
        fl_err err = {0};
        if (!copy->is_steady || copy->is_closed) {
            continue;
        }
        n_open++;
        check_ok(fl_spread_advance(&s->spread, copy, 120 * 24, &err), &err);
        check_ok(fl_spread_read_state(&s->spread, copy, &copy->prog->state, &room, &err), &err);
    }
    check_int(n_open, 1);
    check_close(room.middle, -expm1(-100.0 * 0.0002), 1e-9, 0.0);
    spreading_end(s);
    history_end(h);
}

/* ---- what never makes a chance smaller ---- */

/* An unidentified finding takes all credit from its look. */
static void test_no_credit_beside_the_unidentified(void **state)
{
    (void)state;
    history *h = tight_places();
    buy(h, 0, 1, 1, 1, BIN);
    unsigned number = find_one(h, 28 * DAY, BIN, 1, "", "");
    read_cards(h, number);
    spreading *s = spreading_new(h, "western_flower_thrips", 23.0);
    spreading_run(s);
    check_close(chance_on(s, 1, 28 * DAY).middle, 0.3, 1e-12, 0.0);
    spreading_end(s);
    history_end(h);
}

/* A time of more than the filter takes at once: an old plant, told of as from 1900. */
static void test_a_very_old_plant(void **state)
{
    (void)state;
    history *h = tight_places();
    buy(h, -70 * 365 * DAY, 1, 1, 1, BIN);
    look_whole(h, 365 * DAY, BIN, FL_EFFORT_CAREFUL, FL_HANDS_CLEANED);
    spreading *s = spreading_new(h, "western_flower_thrips", 23.0);
    spreading_run(s);
    double chance = chance_on(s, 1, 366 * DAY).middle;
    check_true(chance > 0.0 && chance < 0.3);
    spreading_end(s);
    history_end(h);
}

/* ---- thin copies against keeping all of them ---- */

#define ALL_MAX 60000
#define ALL_LEAST 1e-7

/* Every copy of one root, none dropped: carrier, programme, and nothing else. */
typedef struct every_copy {
    size_t carrier;
    size_t root;
    fl_filter state;
    int64_t at_h;
    const fl_event *by;
} every_copy;

typedef struct everything {
    spreading *s;
    every_copy *copies;
    size_t n;
} everything;

static void bring_up(everything *all, every_copy *copy, int64_t to_h)
{
    fl_err err = {0};
    if (to_h > copy->at_h) {
        check_ok(fl_filter_advance_constant(all->s->model, all->s->temp_c, (int)(to_h - copy->at_h),
                                            &copy->state, &err),
                 &err);
        copy->at_h = to_h;
    }
}

static void give_all(everything *all, const fl_happening *t)
{
    double ride[FL_STAGES_MAX] = {0};
    size_t n = all->n;
    for (int i = 0; i < all->s->spread.threat->n_stages; i++) {
        ride[i] = fl_know_link_stage_factor(all->s->spread.threat, i, t->link);
    }
    for (size_t i = 0; i < n; i++) {
        every_copy copy = all->copies[i];
        fl_filter_masses m;
        fl_err err = {0};
        if (copy.carrier != t->other || copy.by == t->event) {
            continue;
        }
        bring_up(all, &copy, t->at_h);
        check_ok(fl_filter_thin(all->s->model, ride, &copy.state, &err), &err);
        check_ok(fl_filter_means(&copy.state, all->s->mixture.weight_middle, &m, &err), &err);
        if (m.alive >= ALL_LEAST) {
            assert_true(all->n < ALL_MAX);
            copy.carrier = t->carrier;
            copy.by = t->event;
            all->copies[all->n++] = copy;
        }
    }
}

static fl_status take_all(void *context, const fl_happening *t, fl_err *err)
{
    everything *all = context;
    const fl_threat *threat = all->s->spread.threat;
    fl_op op = {.kind = FL_OP_START};
    if (t->kind == FL_HAP_ROOT && all->s->w->network.roots[t->root].kind == FL_ROOT_PURCHASE) {
        every_copy *copy = &all->copies[all->n++];
        *copy = (every_copy){.carrier = t->carrier, .root = t->root, .at_h = t->at_h};
        op.start.prior = 1.0;
        for (int i = 0; i < threat->n_stages; i++) {
            op.start.share[i] = threat->stage[i].start_share;
        }
        copy->state.n_mix = FL_MULTIPLIERS;
        memcpy(copy->state.multiplier, all->s->mixture.multiplier,
               sizeof all->s->mixture.multiplier);
        return fl_op_apply(all->s->model, &op, &copy->state, err);
    }
    if (t->kind == FL_HAP_TRANSFER) {
        give_all(all, t);
    }
    if (t->kind == FL_HAP_LOOK) {
        double detect[FL_STAGES_MAX] = {0};
        for (int i = 0; i < threat->n_stages; i++) {
            detect[i] = t->frac_seen * fl_know_detect(threat, i, t->look->effort, 0, false);
        }
        for (size_t i = 0; i < all->n; i++) {
            if (all->copies[i].carrier == t->carrier) {
                bring_up(all, &all->copies[i], t->at_h);
                check_ok(fl_filter_look(all->s->model, detect, all->s->mixture.cap,
                                        &all->copies[i].state, err),
                         err);
            }
        }
    }
    return FL_OK;
}

/* The largest reading of one root on a carrier, middle weights. */
static double all_of_root(everything *all, size_t carrier, size_t root, int64_t now_h)
{
    fl_founders many = {.family = FL_FOUNDERS_ZT_POISSON, .lambda = FL_FOUNDERS_MEAN};
    double largest = 0.0;
    for (size_t i = 0; i < all->n; i++) {
        every_copy *copy = &all->copies[i];
        fl_chance chance;
        fl_err err = {0};
        if (copy->carrier == carrier && copy->root == root) {
            bring_up(all, copy, now_h);
            copy->state.prior = 0.3;
            check_ok(
                fl_filter_chance(&copy->state, all->s->mixture.weight_middle, &many, &chance, &err),
                &err);
            largest = fmax(largest, chance.chance);
        }
    }
    return largest;
}

/* Three bins on a round with hands that are never cleaned, sixteen weeks: what is left out by
 * following only few thin copies is less than 0.001 of any chance. */
static void check_rounds(const char *threat, fl_effort at_first, fl_effort at_others)
{
    history *h = tight_places();
    buy(h, 0, 1, 1, 1, BIN);
    buy(h, 0, 2, 2, 2, BIN_2);
    buy(h, 0, 3, 3, 3, JAR);
    for (int week = 1; week <= 16; week++) {
        look_whole(h, 7 * week * DAY, BIN, at_first, FL_HANDS_CLEANED);
        look_whole(h, 7 * week * DAY + 60, BIN_2, at_others, FL_HANDS_NOT_CLEANED);
        look_whole(h, 7 * week * DAY + 120, JAR, at_others, FL_HANDS_NOT_CLEANED);
    }
    spreading *s = spreading_new(h, threat, 23.0);
    spreading_run(s);
    everything all = {.s = s, .copies = fl_alloc(ALL_MAX, sizeof(every_copy))};
    walked_run(s->w, s->spread.threat->is_mobile ? FL_CARRIAGE_POOL : FL_CARRIAGE_LOT, take_all,
               &all);
    check_true(all.n > 2 * s->spread.n_copies); /* some were left out: there is something to try */
    for (unsigned lot = 1; lot <= 3; lot++) {
        size_t carrier = carrier_of_lot(s->w, lot);
        double none = 1.0;
        for (size_t root = 0; root < s->w->network.n_roots; root++) {
            none *= 1.0 - all_of_root(&all, carrier, root, 16 * 7 * 24);
        }
        double got = chance_on(s, lot, 16 * 7 * DAY).middle;
        double room = 17.0 * fl_know_room_per_opening(s->spread.threat); /* not in `all` */
        check_true(got > 1.0 - none - 1e-3 && got < 1.0 - none + 1e-3 + room);
    }
    fl_alloc_free(all.copies);
    spreading_end(s);
    history_end(h);
}

/* Two lots of one purchase that change places again and again, one bin looked at more than the
 * other: every swap would double the copies. A few are followed, and nothing is lost by it. */
static void test_lots_to_and_fro(void **state)
{
    (void)state;
    history *h = tight_places();
    buy(h, 0, 1, 1, 1, BIN);
    buy(h, 0, 2, 1, 1, BIN_2);
    buy(h, 0, 3, 2, 2, BIN_2);
    for (int week = 1; week <= 12; week++) {
        fl_effort effort = week % 3 == 0 ? FL_EFFORT_ROOTS : FL_EFFORT_GLANCE;
        look_whole(h, 7 * week * DAY, BIN, effort, FL_HANDS_CLEANED);
        if (week % 2 == 0) {
            look_whole(h, 7 * week * DAY + HOUR, BIN_2, FL_EFFORT_GLANCE, FL_HANDS_CLEANED);
        }
        move(h, (7 * week + 2) * DAY, week % 2 == 0 ? 1 : 2, week % 4 < 2 ? BIN_2 : BIN);
        move(h, (7 * week + 4) * DAY, week % 2 == 0 ? 2 : 1, week % 4 < 2 ? BIN : BIN_2);
    }
    spreading *s = spreading_new(h, "western_flower_thrips", 21.0);
    spreading_run(s);
    everything all = {.s = s, .copies = fl_alloc(ALL_MAX, sizeof(every_copy))};
    walked_run(s->w, FL_CARRIAGE_POOL, take_all, &all);
    check_true(s->spread.n_copies < 200 && all.n > 2 * s->spread.n_copies);
    for (unsigned lot = 1; lot <= 3; lot++) {
        double none = 1.0;
        for (size_t root = 0; root < s->w->network.n_roots; root++) {
            none *= 1.0 - all_of_root(&all, carrier_of_lot(s->w, lot), root, 90 * 24);
        }
        check_close(chance_on(s, lot, 90 * DAY).middle, 1.0 - none, 0.0, 1e-3);
    }
    fl_alloc_free(all.copies);
    spreading_end(s);
    history_end(h);
}

static void test_thin_copies_left_out_are_little(void **state)
{
    (void)state;
    static const char *const threats[] = {"western_flower_thrips", "citrus_mealybug", "fungus_gnat",
                                          "root_mealybug", "slug"};
    for (size_t i = 0; i < sizeof threats / sizeof threats[0]; i++) {
        check_rounds(threats[i], FL_EFFORT_CAREFUL, FL_EFFORT_CAREFUL);
        check_rounds(threats[i], FL_EFFORT_GLANCE, FL_EFFORT_ROOTS);
        check_rounds(threats[i], FL_EFFORT_ROOTS, FL_EFFORT_GLANCE);
    }
}

static const struct CMUnitTest tests[] = {cmocka_unit_test(test_a_copy_is_the_filter),
                                          cmocka_unit_test(test_combining),
                                          cmocka_unit_test(test_already_here_is_a_colony),
                                          cmocka_unit_test(test_bench_neighbours_both_get_it),
                                          cmocka_unit_test(test_an_empty_bench_forgets),
                                          cmocka_unit_test(test_steps_on_a_part),
                                          cmocka_unit_test(test_floors),
                                          cmocka_unit_test(test_bleach_earns_nothing),
                                          cmocka_unit_test(test_a_late_find_against_simulation),
                                          cmocka_unit_test(test_a_find_leaves_eggs),
                                          cmocka_unit_test(test_findings_of_one_look),
                                          cmocka_unit_test(test_a_find_among_several_roots),
                                          cmocka_unit_test(test_thin_copies_are_one_suspect),
                                          cmocka_unit_test(test_the_room_gets_in),
                                          cmocka_unit_test(test_the_room_begins_with_the_record),
                                          cmocka_unit_test(test_the_room_after_a_move),
                                          cmocka_unit_test(test_the_room_after_a_find),
                                          cmocka_unit_test(test_no_credit_beside_the_unidentified),
                                          cmocka_unit_test(test_a_very_old_plant),
                                          cmocka_unit_test(test_lots_to_and_fro),
                                          cmocka_unit_test(test_thin_copies_left_out_are_little)};
FL_TEST_MAIN(tests)
