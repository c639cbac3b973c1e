/* One source's risk from its purchases, by a sum over the risk on a logit scale. */
#include <math.h>
#include <stdbool.h>

#include "core/learn/learn.h"

#define BETA_MIN 0.1
#define BETA_MAX 1e6
#define TAIL 40.0     /* the prior's tails are cut at exp(-40) */
#define STEP_MAX 0.05 /* of the logit */
#define AGE_MAX_DAYS 1e6

static bool is_within(double value, double min, double max)
{
    return value >= min && value <= max;
}

static fl_status check_purchases(const fl_learn_purchase *purchase, int n, double half_life_days,
                                 fl_err *err)
{
    if (n < 0 || n > FL_LEARN_PURCHASES_MAX) {
        return fl_fail(err, n < 0 ? FL_EDOMAIN : FL_ETOOBIG, "%d purchases: give 0 to %d", n,
                       FL_LEARN_PURCHASES_MAX);
    }
    if (!is_within(half_life_days, 0.0, AGE_MAX_DAYS)) {
        return fl_fail(err, FL_EDOMAIN, "half life %g d: give 0 (none) to 1e6", half_life_days);
    }
    for (int i = 0; i < n; i++) {
        if (!is_within(purchase[i].prob_cause, 0.0, 1.0) ||
            !is_within(purchase[i].prob_missed, 0.0, 1.0)) {
            return fl_fail(err, FL_EDOMAIN, "purchase %d: prob_cause %g, prob_missed %g: 0 to 1", i,
                           purchase[i].prob_cause, purchase[i].prob_missed);
        }
        if (!is_within(purchase[i].age_days, 0.0, AGE_MAX_DAYS)) {
            return fl_fail(err, FL_EDOMAIN, "purchase %d: age %g d: give 0 to 1e6", i,
                           purchase[i].age_days);
        }
    }
    return FL_OK;
}

static double fading(const fl_learn_purchase *purchase, double half_life_days)
{
    return half_life_days > 0.0 ? exp2(-purchase->age_days / half_life_days) : 1.0;
}

/* Everything the sum needs to know. */
typedef struct evidence {
    fl_learn_beta prior;
    const fl_learn_purchase *purchase;
    int n;
    double half_life_days;
    double start, step; /* of the logit */
    int n_steps;
} evidence;

/* ln of prior x likelihood x dt/dlogit at risk t (complement u = 1 - t kept apart: no
 * cancellation). */
static double log_density(const evidence *e, double t, double u)
{
    double sum = e->prior.a * log(t) + e->prior.b * log(u);
    for (int i = 0; i < e->n; i++) {
        const fl_learn_purchase *p = &e->purchase[i];
        double quiet = u + t * p->prob_missed;
        double factor = p->prob_cause * t + (1.0 - p->prob_cause) * quiet;
        sum += fading(p, e->half_life_days) * log(factor);
    }
    return sum;
}

/* The risk at a step, or between two; *u is its complement. */
static double risk_at(const evidence *e, double i, double *u)
{
    double logit = e->start + i * e->step;
    *u = 1.0 / (1.0 + exp(logit));
    return 1.0 / (1.0 + exp(-logit));
}

/* The step resolves the posterior: its spread in logits is at least 1/sqrt(a + b + n). */
static evidence lay_out(const fl_learn_beta *prior, const fl_learn_purchase *purchase, int n,
                        double half_life_days)
{
    evidence e = {*prior, purchase, n, half_life_days, 0.0, 0.0, 0};
    double size = prior->a + prior->b + n;
    e.step = fmin(STEP_MAX, 0.5 / sqrt(size));
    e.start = -TAIL / prior->a - TAIL / 4.0;
    double end = TAIL / prior->b + TAIL / 4.0;
    e.n_steps = (int)ceil((end - e.start) / e.step);
    return e;
}

/* Weighted sums, rescaled whenever a greater density comes up. */
typedef struct moments {
    double top, total, first, second;
} moments;

static void add_point(moments *m, double log_weight, double t)
{
    if (log_weight > m->top) {
        double scale = exp(m->top - log_weight);
        m->total *= scale;
        m->first *= scale;
        m->second *= scale;
        m->top = log_weight;
    }
    double weight = exp(log_weight - m->top);
    m->total += weight;
    m->first += weight * t;
    m->second += weight * t * t;
}

/* The 5 % and 95 % points, from the total of a first pass. The sum up to and with step i is the
 * distribution half a step later; between steps the logit is interpolated. */
static void find_quantiles(const evidence *e, const moments *m, fl_learn_risk *out)
{
    const double share[2] = {0.05, 0.95};
    double *const quantile[2] = {&out->low, &out->high};
    double before = 0.0;
    for (int i = 0; i <= e->n_steps; i++) {
        double u = 0.0;
        double t = risk_at(e, i, &u);
        double weight = exp(log_density(e, t, u) - m->top);
        for (int q = 0; q < 2; q++) {
            double missing = share[q] * m->total - before;
            if (missing > 0.0 && missing <= weight) {
                *quantile[q] = risk_at(e, i - 0.5 + missing / weight, &u);
            }
        }
        before += weight;
    }
}

fl_status fl_learn_source(const fl_learn_beta *prior, const fl_learn_purchase *purchase, int n,
                          double half_life_days, fl_learn_risk *out, fl_err *err)
{
    if (!is_within(prior->a, BETA_MIN, BETA_MAX) || !is_within(prior->b, BETA_MIN, BETA_MAX)) {
        return fl_fail(err, FL_EDOMAIN, "prior Beta(%g, %g): give 0.1 to 1e6 for each", prior->a,
                       prior->b);
    }
    fl_status status = check_purchases(purchase, n, half_life_days, err);
    if (status != FL_OK) {
        return status;
    }
    evidence e = lay_out(prior, purchase, n, half_life_days);
    moments m = {-HUGE_VAL, 0.0, 0.0, 0.0};
    for (int i = 0; i <= e.n_steps; i++) {
        double u = 0.0;
        double t = risk_at(&e, i, &u);
        add_point(&m, log_density(&e, t, u), t);
    }
    fl_learn_risk risk = {.mean = m.first / m.total};
    risk.sd = sqrt(fmax(0.0, m.second / m.total - risk.mean * risk.mean));
    find_quantiles(&e, &m, &risk);
    *out = risk;
    return FL_OK;
}

fl_status fl_learn_count_of(const fl_learn_purchase *purchase, int n, double half_life_days,
                            fl_learn_count *out, fl_err *err)
{
    fl_status status = check_purchases(purchase, n, half_life_days, err);
    if (status != FL_OK) {
        return status;
    }
    fl_learn_count sum = {0.0, 0.0};
    for (int i = 0; i < n; i++) {
        double weight = fading(&purchase[i], half_life_days);
        double cause = purchase[i].prob_cause;
        sum.infested += weight * cause;
        sum.judged += weight * (cause + (1.0 - cause) * (1.0 - purchase[i].prob_missed));
    }
    *out = sum;
    return FL_OK;
}
