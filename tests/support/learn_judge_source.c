/* One source's risk from its purchases, by a sum over the risk on a logit scale. */
#include <math.h>

#include "support/learn_judge.h"

#define REACH 40.0    /* of the logit; beyond it 1 - theta or theta is 1 to the last digit */
#define STEP_MAX 0.25 /* of the logit */

/* Everything the sum needs to know. */
typedef struct evidence {
    double a, b;
    const fl_learn_purchase *purchase;
    int n;
    double weight[FL_LEARN_PURCHASES_MAX]; /* what is left of each by its age */
    double step;                           /* of the logit */
    int n_steps;                           /* from -REACH to REACH */
    /* beyond -REACH the density falls as theta^low_power, beyond REACH as (1-theta)^high_power */
    double low_power, high_power;
} evidence;

/* The step resolves the posterior: its spread in logits is at least 2/sqrt(a + b + n), and a
 * trapezoid sum with two steps to a spread is exact to every digit. */
static void lay_out(evidence *e, double half_life_days)
{
    double step = fmin(STEP_MAX, 1.0 / sqrt(e->a + e->b + e->n));
    e->n_steps = (int)ceil(2.0 * REACH / step);
    e->step = 2.0 * REACH / e->n_steps;
    for (int i = 0; i < e->n; i++) {
        e->weight[i] = fl_learn_left(&e->purchase[i], half_life_days);
    }
}

/* The powers at both ends. */
static void set_powers(evidence *e)
{
    e->low_power = e->a;
    e->high_power = e->b;
    for (int i = 0; i < e->n; i++) {
        const fl_learn_purchase *p = &e->purchase[i];
        e->low_power += p->prob_cause >= 1.0 ? e->weight[i] : 0.0;
        e->high_power += p->prob_cause <= 0.0 && p->prob_missed <= 0.0 ? e->weight[i] : 0.0;
    }
}

/* The logit at a step, or between two. */
static double logit_at(const evidence *e, double i)
{
    return -REACH + i * e->step;
}

static double risk_of(double logit)
{
    return 1.0 / (1.0 + exp(-logit));
}

/* A risk and its complement, kept apart so that nothing cancels near either end. */
typedef struct odds {
    double theta, rest;
} odds;

static odds odds_at(double logit)
{
    return (odds){risk_of(logit), risk_of(-logit)};
}

/* ln of the prior x d theta / d logit. */
static double log_prior(const evidence *e, odds o)
{
    return e->a * log(o.theta) + e->b * log(o.rest);
}

/* ln of what one purchase says, to the power of what is left of it. */
static double log_purchase(const evidence *e, int i, odds o)
{
    const fl_learn_purchase *p = &e->purchase[i];
    double quiet = o.rest + o.theta * p->prob_missed;
    return e->weight[i] * log(p->prob_cause * o.theta + (1.0 - p->prob_cause) * quiet);
}

static double log_density(const evidence *e, double logit)
{
    odds o = odds_at(logit);
    double sum = log_prior(e, o);
    for (int i = 0; i < e->n; i++) {
        sum += log_purchase(e, i, o);
    }
    return sum;
}

/* How much a step counts: the end ones stand for all beyond them too, a geometric series. */
static double share_of_step(const evidence *e, int i)
{
    if (i == 0) {
        return -1.0 / expm1(-e->low_power * e->step);
    }
    return i == e->n_steps ? -1.0 / expm1(-e->high_power * e->step) : 1.0;
}

/* Weighted sums, rescaled whenever a greater density comes up. */
typedef struct moments {
    double top, total, first, second;
} moments;

static void add_step(moments *m, double log_weight, double share, double theta)
{
    if (log_weight > m->top) {
        double scale = exp(m->top - log_weight);
        m->total *= scale;
        m->first *= scale;
        m->second *= scale;
        m->top = log_weight;
    }
    double weight = share * exp(log_weight - m->top);
    m->total += weight;
    m->first += weight * theta;
    m->second += weight * theta * theta;
}

static moments sum_up(const evidence *e)
{
    moments m = {.top = -HUGE_VAL};
    for (int i = 0; i <= e->n_steps; i++) {
        double logit = logit_at(e, i);
        add_step(&m, log_density(e, logit), share_of_step(e, i), risk_of(logit));
    }
    return m;
}

/* The 5 % and 95 % points. The sum up to and with a step is the distribution half a step later;
 * between, the logit is interpolated; below the first step the distribution is a power. */
static void find_quantiles(const evidence *e, const moments *m, fl_learn_risk *out)
{
    const double target[2] = {0.05 * m->total, 0.95 * m->total};
    double *const quantile[2] = {&out->low, &out->high};
    double before = 0.0;
    out->low = out->high = 1.0;
    for (int i = 0; i <= e->n_steps; i++) {
        double weight = share_of_step(e, i) * exp(log_density(e, logit_at(e, i)) - m->top);
        for (int q = 0; q < 2; q++) {
            double missing = target[q] - before;
            if (missing <= 0.0 || missing > weight) {
                continue;
            }
            double within = i > 0 ? i - 0.5 + missing / weight
                                  : 0.5 + log(missing / weight) / (e->low_power * e->step);
            *quantile[q] = risk_of(logit_at(e, fmin(within, e->n_steps)));
        }
        before += weight;
    }
}

fl_learn_risk fl_judge_source(const fl_learn_beta *prior, const fl_learn_purchase *purchase, int n,
                              double half_life_days)
{
    evidence e;
    e.a = prior->a;
    e.b = prior->b;
    e.purchase = purchase;
    e.n = n;
    lay_out(&e, half_life_days);
    set_powers(&e);
    moments m = sum_up(&e);
    fl_learn_risk risk = {.mean = m.first / m.total};
    risk.sd = sqrt(fmax(0.0, m.second / m.total - risk.mean * risk.mean));
    find_quantiles(&e, &m, &risk);
    return risk;
}
