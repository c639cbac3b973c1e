/* Individuals, each with the moment at which its stage ends, or its life. Births are drawn when
 * time has passed: in a span of an adult's life they are a Poisson process. */
#include "support/bugs.h"

#include <assert.h>
#include <math.h>

typedef struct bug {
    int stage;
    double ends; /* of the stage, day */
    double laid; /* births are drawn up to here */
    bool is_dead;
} bug;

typedef struct colony {
    const fl_threat *threat;
    const fl_bugs_truth *truth;
    fl_rng *rng;
    int n;
    bug bugs[FL_BUGS_MAX];
} colony;

static double exponential(fl_rng *rng)
{
    return -log(1.0 - fl_rng_uniform(rng));
}

/* Days that `left` of the stage's substages take: a gamma variate of whole shape. */
static double stage_days(const colony *c, int stage, int left)
{
    const fl_stage_rate *r = &c->threat->slow.stage[stage];
    double warm = fmin(c->truth->temp_c, r->upper_c) - r->threshold_c;
    double sum = 0.0;
    for (int i = 0; i < left; i++) {
        sum += exponential(c->rng);
    }
    return warm > 0.0 ? sum / r->n_substages * r->degree_days * c->truth->slowness / warm
                      : HUGE_VAL;
}

static void enter(const colony *c, bug *b, int stage, int left, double day)
{
    b->stage = stage;
    b->laid = day;
    if (stage < c->threat->n_stages - 1) {
        b->ends = day + stage_days(c, stage, left);
    } else {
        double life = c->truth->life_days;
        b->ends = isnan(life) ? HUGE_VAL : day + life * exponential(c->rng);
    }
}

static void be_born(colony *c, double day)
{
    if (c->n < FL_BUGS_MAX) {
        bug *b = &c->bugs[c->n++];
        *b = (bug){0};
        enter(c, b, 0, c->threat->slow.stage[0].n_substages, day);
    }
}

/* Eggs laid by one adult until `day`. */
static void lay(colony *c, int mother, double day)
{
    double until = fmin(day, c->bugs[mother].ends);
    double rate = c->truth->births_per_day;
    double at = c->bugs[mother].laid;
    while (rate > 0.0 && c->n < FL_BUGS_MAX) {
        at += exponential(c->rng) / rate;
        if (at >= until) {
            break;
        }
        be_born(c, at);
    }
    c->bugs[mother].laid = until; /* the process has no memory */
}

/* Time passes to `day`; young that are born on the way are further down the list. */
static void live_to(colony *c, double day)
{
    int last = c->threat->n_stages - 1;
    for (int i = 0; i < c->n; i++) {
        bug *b = &c->bugs[i];
        while (!b->is_dead && b->stage < last && b->ends <= day) {
            int next = b->stage + 1;
            enter(c, b, next, next < last ? c->threat->slow.stage[next].n_substages : 1, b->ends);
        }
        if (!b->is_dead && b->stage == last) {
            lay(c, i, day);
            b->is_dead = b->ends <= day;
        }
    }
}

static int sweep_dead(colony *c)
{
    int n = 0;
    for (int i = 0; i < c->n; i++) {
        if (!c->bugs[i].is_dead) {
            c->bugs[n++] = c->bugs[i];
        }
    }
    c->n = n;
    return n;
}

/* True when a look shows any of them. */
static bool is_seen(const colony *c, const fl_bugs_event *look)
{
    for (int i = 0; i < c->n; i++) {
        double q = fmin(c->truth->cap, c->truth->multiplier * look->chance[c->bugs[i].stage]);
        if (fl_rng_uniform(c->rng) < q) {
            return true;
        }
    }
    return false;
}

static void suffer(colony *c, const fl_bugs_event *treatment)
{
    for (int i = 0; i < c->n; i++) {
        c->bugs[i].is_dead = fl_rng_uniform(c->rng) >= treatment->chance[c->bugs[i].stage];
    }
}

static void arrive(colony *c, int n_founders, double day)
{
    for (int k = 0; k < n_founders && c->n < FL_BUGS_MAX; k++) {
        double at = fl_rng_uniform(c->rng);
        int stage = 0;
        while (stage < c->threat->n_stages - 1 && at >= c->threat->stage[stage].start_share) {
            at -= c->threat->stage[stage++].start_share;
        }
        int n = stage < c->threat->n_stages - 1 ? c->threat->slow.stage[stage].n_substages : 1;
        bug *b = &c->bugs[c->n++];
        *b = (bug){0};
        enter(c, b, stage, n - (int)fl_rng_below(c->rng, (uint64_t)n), day);
    }
}

void fl_bugs_run(const fl_threat *threat, const fl_bugs_truth *truth, int n_founders,
                 const fl_bugs_event *events, int n_events, fl_rng *rng, fl_bugs_fate *out)
{
    static colony c; /* tests run in one thread; too large for the stack */
    c.threat = threat;
    c.truth = truth;
    c.rng = rng;
    c.n = 0;
    assert(n_events <= FL_BUGS_EVENTS_MAX);
    arrive(&c, n_founders, 0.0);
    out->found_at = n_events;
    for (int i = 0; i < n_events; i++) {
        live_to(&c, events[i].day);
        (void)sweep_dead(&c);
        if (events[i].is_look && is_seen(&c, &events[i])) {
            out->found_at = i;
            return;
        }
        if (!events[i].is_look) {
            suffer(&c, &events[i]);
        }
        (void)sweep_dead(&c);
        arrive(&c, events[i].n_in, events[i].day);
        out->alive_after[i] = c.n > 0;
    }
}
