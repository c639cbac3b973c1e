/* Sources pooled: a beta-binomial for each, one common Beta above, summed on a grid. */
#include <math.h>

#include "support/learn_judge.h"

#define STEP 0.1

/* The grid over the logit of mu and ln kappa, and the hyperprior's density on it. */
typedef struct grid {
    double logit_start, log_kappa_start;
    int n_logit, n_log_kappa;
} grid;

static grid grid_of(fl_judge_hyper hyper)
{
    /* the modest one must hold the prior itself: mu's tail is e^logit, kappa's kappa^2 e^(-k/10) */
    return hyper == FL_JUDGE_DIFFUSE ? (grid){-7.0, -1.0, 101, 81} : (grid){-16.0, -6.0, 241, 131};
}

/* One point: alpha = mu kappa, beta = (1 - mu) kappa. */
typedef struct point {
    double alpha, beta;
    double log_prior; /* with the change of variables */
} point;

static point point_at(const grid *g, int i, int j, fl_judge_hyper hyper)
{
    double logit = g->logit_start + STEP * i;
    double log_kappa = g->log_kappa_start + STEP * j;
    double kappa = exp(log_kappa);
    double mu = 1.0 / (1.0 + exp(-logit));
    double rest = 1.0 / (1.0 + exp(logit));
    point p = {mu * kappa, rest * kappa, 0.0};
    if (hyper == FL_JUDGE_DIFFUSE) {
        /* (alpha+beta)^(-5/2) d alpha d beta = kappa^(-5/2) alpha beta d logit d ln kappa */
        p.log_prior = -2.5 * log_kappa + log(p.alpha) + log(p.beta);
    } else {
        /* mu^0 (1-mu)^3 mu(1-mu) d logit, kappa e^(-kappa/10) kappa d ln kappa */
        p.log_prior = log(mu) + 4.0 * log(rest) + 2.0 * log_kappa - 0.1 * kappa;
    }
    return p;
}

/* ln P(counts | alpha, beta) without the binomial coefficients, which are the same everywhere. */
static double log_likelihood(const fl_learn_count *count, int n, const point *p)
{
    double log_alpha = lgamma(p->alpha);
    double log_beta = lgamma(p->beta);
    double log_both = lgamma(p->alpha + p->beta);
    double sum = 0.0;
    for (int k = 0; k < n; k++) {
        double rest = count[k].judged - count[k].infested;
        sum += lgamma(p->alpha + count[k].infested) - log_alpha + lgamma(p->beta + rest) -
               log_beta - lgamma(p->alpha + p->beta + count[k].judged) + log_both;
    }
    return sum;
}

/* Running sums, rescaled whenever a greater density comes up. */
typedef struct sums {
    double top, total, alpha, beta, fresh;
} sums;

static void rescale(sums *s, double top, double *mean, int n)
{
    double scale = exp(s->top - top);
    s->total *= scale;
    s->alpha *= scale;
    s->beta *= scale;
    s->fresh *= scale;
    for (int k = 0; k < n; k++) {
        mean[k] *= scale;
    }
    s->top = top;
}

static void add_point(sums *s, const point *p, double log_weight, const fl_learn_count *count,
                      double *mean, int n)
{
    if (log_weight > s->top) {
        rescale(s, log_weight, mean, n);
    }
    double weight = exp(log_weight - s->top);
    double both = p->alpha + p->beta;
    s->total += weight;
    s->alpha += weight * p->alpha;
    s->beta += weight * p->beta;
    s->fresh += weight * p->alpha / both;
    for (int k = 0; k < n; k++) {
        mean[k] += weight * (p->alpha + count[k].infested) / (both + count[k].judged);
    }
}

fl_judge_pool fl_judge_pooled(const fl_learn_count *count, int n, fl_judge_hyper hyper,
                              double *mean)
{
    grid g = grid_of(hyper);
    sums s = {-HUGE_VAL, 0.0, 0.0, 0.0, 0.0};
    for (int k = 0; k < n; k++) {
        mean[k] = 0.0;
    }
    for (int i = 0; i < g.n_logit; i++) {
        for (int j = 0; j < g.n_log_kappa; j++) {
            point p = point_at(&g, i, j, hyper);
            add_point(&s, &p, p.log_prior + log_likelihood(count, n, &p), count, mean, n);
        }
    }
    for (int k = 0; k < n; k++) {
        mean[k] /= s.total;
    }
    return (fl_judge_pool){s.alpha / s.total, s.beta / s.total, s.fresh / s.total};
}
