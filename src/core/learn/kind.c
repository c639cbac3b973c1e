/* Sources of one kind pooled: sums over the logit of a source's risk, the logit of the kind's mean
 * and the logarithm of its size. */
#include "core/learn/kind.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

#define RISK_LOW (-14.0) /* logits; below, the density is a power and what was seen is too */
#define RISK_HIGH 10.0
#define RISK_STEP_MAX 0.25
#define MEAN_LOW (-12.0)
#define MEAN_HIGH 5.0
#define MEAN_STEP_MAX 0.5
#define SIZE_LEAST 0.1 /* doubled at each of FL_LEARN_SIZES steps */
#define SIZE_SHAPE 2.0 /* k ~ Gamma(2, rate 0.1): reference 4.2 */
#define SIZE_RATE 0.1
#define LEAST 1e-300
#define BETA_MIN 1e-6
#define BETA_MAX 1e6
#define AGE_MAX_DAYS 1e6
#define SHARE_MAX 100.0

/* ---- the grid ---- */

static int risks_below(double step)
{
    return (int)ceil(-RISK_LOW / step);
}

static int risks_of(double step)
{
    return risks_below(step) + 1 + (int)ceil(RISK_HIGH / step);
}

/* Trapezoid sums are exact to every digit while a step is no wider than the density's spread: that
 * is 2 / sqrt(size + purchases) logits or more, and of the kind's mean 1 / sqrt(sources). */
static double risk_step(int n_purchases)
{
    return fmin(RISK_STEP_MAX, 2.5 / sqrt(100.0 + n_purchases));
}

static double mean_step(int n_sources)
{
    return fmin(MEAN_STEP_MAX, 1.6 / sqrt(6.0 + n_sources));
}

static int means_of(double step)
{
    return 1 + (int)ceil((MEAN_HIGH - MEAN_LOW) / step);
}

size_t fl_learn_grid_doubles(int n_sources, int n_purchases)
{
    size_t nodes = (size_t)means_of(mean_step(n_sources)) * FL_LEARN_SIZES;
    size_t risks = (size_t)risks_of(risk_step(n_purchases));
    return nodes * (risks + 1) + 3 * risks;
}

static double logit_at(const fl_learn_grid *grid, int t)
{
    return (t - grid->n_below) * grid->risk_step;
}

static double sigmoid(double logit)
{
    return 1.0 / (1.0 + exp(-logit));
}

static double mean_at(const fl_learn_grid *grid, int i)
{
    return sigmoid(MEAN_LOW + i * grid->mean_step);
}

/* (the larger of t and 1 - t)^k at each risk: with e^(-a|x|) below and e^(-b x) above it makes
 * t^a (1 - t)^b without ever leaving the range of a double. */
static void fill_row(const fl_learn_grid *grid, const double *larger, double a, double b,
                     double *row)
{
    double sum = 0.0;
    double below = exp(-a * grid->risk_step);
    double above = exp(-b * grid->risk_step);
    double factor = 1.0;
    for (int t = grid->n_below; t >= 0; t--, factor *= below) {
        row[t] = factor * larger[t];
    }
    factor = above;
    for (int t = grid->n_below + 1; t < grid->n_risks; t++, factor *= above) {
        row[t] = factor * larger[t];
    }
    row[0] /= -expm1(-a * grid->risk_step);
    row[grid->n_risks - 1] /= -expm1(-b * grid->risk_step);
    for (int t = 0; t < grid->n_risks; t++) {
        sum += row[t];
    }
    for (int t = 0; t < grid->n_risks; t++) {
        row[t] /= sum;
    }
}

void fl_learn_grid_init(fl_learn_grid *grid, int n_sources, int n_purchases, double *storage)
{
    double step = risk_step(n_purchases);
    *grid = (fl_learn_grid){.n_risks = risks_of(step),
                            .n_below = risks_below(step),
                            .risk_step = step,
                            .mean_step = mean_step(n_sources),
                            .n_means = means_of(mean_step(n_sources)),
                            .density = storage};
    size_t n_risks = (size_t)grid->n_risks;
    grid->tail = storage + (size_t)grid->n_means * FL_LEARN_SIZES * n_risks;
    grid->risk = grid->tail + (size_t)grid->n_means * FL_LEARN_SIZES;
    grid->clean = grid->risk + n_risks;
    double *larger = grid->clean + n_risks;
    double size = SIZE_LEAST;
    for (int t = 0; t < grid->n_risks; t++) {
        grid->risk[t] = sigmoid(logit_at(grid, t));
        grid->clean[t] = sigmoid(-logit_at(grid, t));
        larger[t] = pow(sigmoid(fabs(logit_at(grid, t))), SIZE_LEAST);
    }
    for (int j = 0; j < FL_LEARN_SIZES; j++, size *= 2.0) {
        for (int i = 0; i < grid->n_means; i++) {
            double mean = mean_at(grid, i);
            fill_row(grid, larger, mean * size, (1.0 - mean) * size,
                     &grid->density[((size_t)i * FL_LEARN_SIZES + (size_t)j) * n_risks]);
        }
        for (int t = 0; t < grid->n_risks; t++) {
            larger[t] *= larger[t];
        }
    }
    for (int i = 0; i < grid->n_means; i++) {
        size = SIZE_LEAST;
        for (int j = 0; j < FL_LEARN_SIZES; j++, size *= 2.0) {
            grid->tail[i * FL_LEARN_SIZES + j] = mean_at(grid, i) * size * grid->risk_step;
        }
    }
}

/* ---- one kind's sums ---- */

/* The last node is a mean of 0: what the grid leaves out below MEAN_LOW. */
typedef struct sums {
    const fl_learn_grid *grid;
    const fl_learn_kind *kind;
    int n_nodes;
    int n_risks;
    double *seen;     /* [n lessons x n_risks]: what each says of each risk */
    double *ln_seen;  /* the same, its logarithm */
    double *quiet;    /* [n_sources x n_risks]: of all of a source, its greatest is 1 */
    double *found;    /* [n_sources]: power of the risk at its low end */
    double *ln_prior; /* [n_nodes] */
    double *ln_fit;   /* [n_sources x n_nodes]: how well a source fits each mean and size */
    double *ln_all;   /* [n_nodes]: the sum */
    double *mixture;  /* [n_risks]: a source's risk by the others */
    double *weight;   /* [n_nodes] */
} sums;

static int n_lessons(const fl_learn_kind *kind)
{
    return kind->n_sources > 0 ? kind->first_of[kind->n_sources] : 0;
}

static int nodes_of(const fl_learn_grid *grid)
{
    return grid->n_means * FL_LEARN_SIZES + 1;
}

size_t fl_learn_kind_doubles(const fl_learn_grid *grid, const fl_learn_kind *kind)
{
    size_t nodes = (size_t)nodes_of(grid);
    size_t risks = (size_t)grid->n_risks;
    size_t sources = (size_t)kind->n_sources;
    return (2 * (size_t)n_lessons(kind) + sources + 1) * risks + sources + (sources + 3) * nodes;
}

static sums lay_out(const fl_learn_grid *grid, const fl_learn_kind *kind, double *work)
{
    sums s = {.grid = grid, .kind = kind, .n_nodes = nodes_of(grid), .n_risks = grid->n_risks};
    size_t risks = (size_t)s.n_risks;
    size_t nodes = (size_t)s.n_nodes;
    size_t sources = (size_t)kind->n_sources;
    s.seen = work;
    s.ln_seen = s.seen + (size_t)n_lessons(kind) * risks;
    s.quiet = s.ln_seen + (size_t)n_lessons(kind) * risks;
    s.found = s.quiet + sources * risks;
    s.ln_prior = s.found + sources;
    s.ln_fit = s.ln_prior + nodes;
    s.ln_all = s.ln_fit + sources * nodes;
    s.mixture = s.ln_all + nodes;
    s.weight = s.mixture + risks;
    return s;
}

/* The power of the risk with which a lesson falls towards risk 0. */
static double power_of(const fl_learn_kind *kind, const fl_learn_purchase *p)
{
    return p->prob_cause >= 1.0 ? fl_learn_left(p, kind->half_life_days) : 0.0;
}

/* (c s t + (1 - c)(1 - s t (1 - l)))^w, and its logarithm. */
static void hear(const sums *s, int lesson)
{
    double *out = &s->seen[(size_t)lesson * (size_t)s->n_risks];
    double *ln_out = &s->ln_seen[(size_t)lesson * (size_t)s->n_risks];
    const fl_learn_lesson *own = &s->kind->lesson[lesson];
    const fl_learn_purchase *p = &own->purchase;
    double left = fl_learn_left(p, s->kind->half_life_days);
    bool says_nothing = p->prob_cause <= 0.0 && p->prob_missed >= 1.0;
    for (int t = 0; t < s->n_risks; t++) {
        double risk = fmin(1.0, own->share * s->grid->risk[t]);
        /* 1 - s t (1 - l) is s (1 - t) + (1 - s) + s t l, which keeps its digits near t = 1 */
        double clean = fmax(0.0, own->share * s->grid->clean[t] + (1.0 - own->share));
        double quiet = clean + risk * p->prob_missed;
        double heard = p->prob_cause * risk + (1.0 - p->prob_cause) * quiet;
        ln_out[t] = says_nothing ? 0.0 : left * log(fmax(heard, LEAST));
        out[t] = exp(ln_out[t]);
    }
}

static bool is_same_lesson(const fl_learn_lesson *a, const fl_learn_lesson *b)
{
    return memcmp(&a->purchase.prob_cause, &b->purchase.prob_cause, sizeof(double)) == 0 &&
           memcmp(&a->purchase.prob_missed, &b->purchase.prob_missed, sizeof(double)) == 0 &&
           memcmp(&a->purchase.age_days, &b->purchase.age_days, sizeof(double)) == 0 &&
           memcmp(&a->share, &b->share, sizeof(double)) == 0;
}

/* What is heard of a source; before: the lessons that were heard last, NULL: none were. False when
 * all of them are the same. */
static bool hear_source(sums *s, int source, const fl_learn_lesson *before)
{
    bool is_new = before == NULL;
    for (int k = s->kind->first_of[source]; k < s->kind->first_of[source + 1]; k++) {
        if (before == NULL || !is_same_lesson(&before[k], &s->kind->lesson[k])) {
            hear(s, k);
            is_new = true;
        }
    }
    if (!is_new) {
        return false;
    }
    double *quiet = &s->quiet[(size_t)source * (size_t)s->n_risks];
    double most = -HUGE_VAL;
    s->found[source] = 0.0;
    for (int t = 0; t < s->n_risks; t++) {
        quiet[t] = 0.0;
    }
    for (int k = s->kind->first_of[source]; k < s->kind->first_of[source + 1]; k++) {
        const double *ln_seen = &s->ln_seen[(size_t)k * (size_t)s->n_risks];
        for (int t = 0; t < s->n_risks; t++) {
            quiet[t] += ln_seen[t];
        }
        s->found[source] += power_of(s->kind, &s->kind->lesson[k].purchase);
    }
    for (int t = 0; t < s->n_risks; t++) {
        most = fmax(most, quiet[t]);
    }
    for (int t = 0; t < s->n_risks; t++) {
        quiet[t] = exp(quiet[t] - most);
    }
    return true;
}

/* Below the grid the density is t^(a-1) and what was found makes it t^(a+f-1): the first point's
 * share of the tail, beside its share without finds. */
static double tail_share(double a_step, double found, double step)
{
    return found > 0.0 ? expm1(-a_step) / expm1(-(a_step + found * step)) : 1.0;
}

static double tail_of(const sums *s, int node, double found)
{
    double a_step = node < s->n_nodes - 1 ? s->grid->tail[node] : 0.0;
    return tail_share(a_step, found, s->grid->risk_step);
}

static double dot(const double *x, const double *y, int n)
{
    double sum[4] = {0.0, 0.0, 0.0, 0.0};
    int t = 0;
    for (; t + 3 < n; t += 4) {
        sum[0] += x[t] * y[t];
        sum[1] += x[t + 1] * y[t + 1];
        sum[2] += x[t + 2] * y[t + 2];
        sum[3] += x[t + 3] * y[t + 3];
    }
    for (; t < n; t++) {
        sum[0] += x[t] * y[t];
    }
    return sum[0] + sum[1] + sum[2] + sum[3];
}

static void fit_source(sums *s, int source)
{
    const double *quiet = &s->quiet[(size_t)source * (size_t)s->n_risks];
    double *fit = &s->ln_fit[(size_t)source * (size_t)s->n_nodes];
    for (int node = 0; node < s->n_nodes; node++) {
        double end = tail_of(s, node, s->found[source]) * quiet[0];
        double sum = end; /* a mean of 0: there is nothing but the end */
        if (node < s->n_nodes - 1) {
            const double *row = &s->grid->density[(size_t)node * (size_t)s->n_risks];
            sum = row[0] * end + dot(&row[1], &quiet[1], s->n_risks - 1);
        }
        fit[node] = log(fmax(sum, LEAST));
    }
}

/* The tables' Beta over mu, and k's Gamma. The grid's own mean is brought to the tables', and what
 * is left of the probability is that of a mean of 0. */
static void set_prior(sums *s)
{
    const fl_learn_beta *beta = &s->kind->mean;
    double ln_beta = lgamma(beta->a) + lgamma(beta->b) - lgamma(beta->a + beta->b);
    double sizes[FL_LEARN_SIZES];
    double sum_sizes = 0.0;
    double size = SIZE_LEAST;
    double sum_mean = 0.0;
    double sum = 0.0;
    for (int j = 0; j < FL_LEARN_SIZES; j++, size *= 2.0) {
        sizes[j] = pow(size, SIZE_SHAPE) * exp(-SIZE_RATE * size);
        sum_sizes += sizes[j];
    }
    for (int i = 0; i < s->grid->n_means; i++) {
        double logit = MEAN_LOW + i * s->grid->mean_step;
        double weight = s->grid->mean_step * exp(beta->a * log(sigmoid(logit)) +
                                                 beta->b * log(sigmoid(-logit)) - ln_beta);
        s->weight[i] = weight;
        sum_mean += weight * sigmoid(logit);
        sum += weight;
    }
    double scale = fmin(beta->a / (beta->a + beta->b) / fmax(sum_mean, LEAST), 1.0 / sum);
    for (int i = 0; i < s->grid->n_means; i++) {
        for (int j = 0; j < FL_LEARN_SIZES; j++) {
            s->ln_prior[i * FL_LEARN_SIZES + j] =
                log(fmax(scale * s->weight[i] * sizes[j] / sum_sizes, LEAST));
        }
    }
    s->ln_prior[s->n_nodes - 1] = log(fmax(1.0 - scale * sum, LEAST));
}

/* Weights of the nodes by all sources but one (n_sources: by all), and the risk that they make of
 * it before its own purchases. */
static void mix_others(sums *s, int source)
{
    const double *own =
        source < s->kind->n_sources ? &s->ln_fit[(size_t)source * (size_t)s->n_nodes] : NULL;
    double most = -HUGE_VAL;
    double sum = 0.0;
    for (int node = 0; node < s->n_nodes; node++) {
        s->weight[node] = s->ln_prior[node] + s->ln_all[node] - (own != NULL ? own[node] : 0.0);
        most = fmax(most, s->weight[node]);
    }
    for (int node = 0; node < s->n_nodes; node++) {
        s->weight[node] = exp(s->weight[node] - most);
        sum += s->weight[node];
    }
    for (int t = 0; t < s->n_risks; t++) {
        s->mixture[t] = 0.0;
    }
    for (int node = 0; node < s->n_nodes - 1; node++) {
        const double *row = &s->grid->density[(size_t)node * (size_t)s->n_risks];
        double weight = s->weight[node] /= sum;
        for (int t = 1; t < s->n_risks && weight > 1e-12; t++) {
            s->mixture[t] += weight * row[t];
        }
    }
    s->weight[s->n_nodes - 1] /= sum;
}

/* The mixture at its low end, where it depends on what was found. */
static double low_end(const sums *s, double found)
{
    double sum = s->weight[s->n_nodes - 1] * tail_of(s, s->n_nodes - 1, found);
    for (int node = 0; node < s->n_nodes - 1; node++) {
        sum += s->weight[node] * s->grid->density[(size_t)node * (size_t)s->n_risks] *
               tail_of(s, node, found);
    }
    return sum;
}

/* ---- checks ---- */

static bool is_within(double value, double min, double max)
{
    return value >= min && value <= max;
}

static fl_status check_lesson(const fl_learn_lesson *lesson, int k, fl_err *err)
{
    const fl_learn_purchase *p = &lesson->purchase;
    if (!is_within(p->prob_cause, 0.0, 1.0) || !is_within(p->prob_missed, 0.0, 1.0)) {
        return fl_fail(err, FL_EDOMAIN, "purchase %d: prob_cause %g, prob_missed %g: 0 to 1", k,
                       p->prob_cause, p->prob_missed);
    }
    if (!is_within(p->age_days, 0.0, AGE_MAX_DAYS)) {
        return fl_fail(err, FL_EDOMAIN, "purchase %d: age %g d: give 0 to 1e6", k, p->age_days);
    }
    if (!(lesson->share > 0.0 && lesson->share <= SHARE_MAX)) {
        return fl_fail(err, FL_EDOMAIN, "purchase %d: share %g: above 0, at most %g", k,
                       lesson->share, SHARE_MAX);
    }
    return FL_OK;
}

static fl_status check(const fl_learn_kind *kind, fl_err *err)
{
    fl_status status = FL_OK;
    if (!is_within(kind->mean.a, BETA_MIN, BETA_MAX) || !is_within(kind->mean.b, 1.0, BETA_MAX)) {
        return fl_fail(err, FL_EDOMAIN, "prior Beta(%g, %g): give 1e-6 to 1e6, and 1 to 1e6",
                       kind->mean.a, kind->mean.b);
    }
    if (!is_within(kind->half_life_days, 0.0, AGE_MAX_DAYS)) {
        return fl_fail(err, FL_EDOMAIN, "half life %g d: give 0 (none) to 1e6",
                       kind->half_life_days);
    }
    if (kind->n_sources < 0 || kind->n_sources > FL_LEARN_SOURCES_MAX) {
        return fl_fail(err, kind->n_sources < 0 ? FL_EDOMAIN : FL_ETOOBIG,
                       "%d sources: give 0 to %d", kind->n_sources, FL_LEARN_SOURCES_MAX);
    }
    if (n_lessons(kind) > FL_LEARN_PURCHASES_MAX) {
        return fl_fail(err, FL_ETOOBIG, "%d purchases: at most %d", n_lessons(kind),
                       FL_LEARN_PURCHASES_MAX);
    }
    for (int k = 0; k < n_lessons(kind) && status == FL_OK; k++) {
        status = check_lesson(&kind->lesson[k], k, err);
    }
    return status;
}

/* ---- answers ---- */

static fl_status sum_up(const fl_learn_grid *grid, const fl_learn_kind *kind,
                        const fl_learn_lesson *before, double *work, sums *out, fl_err *err)
{
    fl_status status = check(kind, err);
    if (status != FL_OK) {
        return status;
    }
    *out = lay_out(grid, kind, work);
    if (before == NULL) {
        set_prior(out);
    }
    for (int node = 0; node < out->n_nodes; node++) {
        out->ln_all[node] = 0.0;
    }
    for (int source = 0; source < kind->n_sources; source++) {
        if (hear_source(out, source, before)) {
            fit_source(out, source);
        }
        const double *fit = &out->ln_fit[(size_t)source * (size_t)out->n_nodes];
        for (int node = 0; node < out->n_nodes; node++) {
            out->ln_all[node] += fit[node];
        }
    }
    return FL_OK;
}

/* The mean of the risk under mixture x what is heard; left_out: a lesson's own row, NULL: none. */
static double mean_risk(const sums *s, const double *quiet, double found, const double *left_out)
{
    double end = low_end(s, found) * quiet[0] / (left_out != NULL ? left_out[0] : 1.0);
    double total = end;
    double first = 0.0; /* of the end and all below it: less than a millionth */
    for (int t = 1; t < s->n_risks; t++) {
        double weight = s->mixture[t] * quiet[t] / (left_out != NULL ? left_out[t] : 1.0);
        total += weight;
        first += weight * s->grid->risk[t];
    }
    return first / fmax(total, LEAST);
}

fl_status fl_learn_kind_hear(const fl_learn_grid *grid, const fl_learn_kind *kind,
                             const fl_learn_lesson *before, double *work, fl_err *err)
{
    sums s;
    return sum_up(grid, kind, before, work, &s, err);
}

void fl_learn_kind_without(const fl_learn_grid *grid, const fl_learn_kind *kind, int source,
                           double *work, double *mean)
{
    sums s = lay_out(grid, kind, work);
    const double *quiet = &s.quiet[(size_t)source * (size_t)s.n_risks];
    mix_others(&s, source);
    for (int k = kind->first_of[source]; k < kind->first_of[source + 1]; k++) {
        double found = s.found[source] - power_of(kind, &kind->lesson[k].purchase);
        bool is_all_gone = found < 1e-9; /* what rounding leaves of it */
        mean[k] =
            mean_risk(&s, quiet, is_all_gone ? 0.0 : found, &s.seen[(size_t)k * (size_t)s.n_risks]);
    }
}

fl_status fl_learn_kind_without_each(const fl_learn_grid *grid, const fl_learn_kind *kind,
                                     double *work, double *mean, fl_err *err)
{
    fl_status status = fl_learn_kind_hear(grid, kind, NULL, work, err);
    for (int source = 0; source < kind->n_sources && status == FL_OK; source++) {
        fl_learn_kind_without(grid, kind, source, work, mean);
    }
    return status;
}

/* The 5 % and 95 % points: the sum up to and with a point is the distribution half a step later. */
static void find_quantiles(const sums *s, const double *weight, double total, fl_learn_risk *out)
{
    const double target[2] = {0.05 * total, 0.95 * total};
    double *const quantile[2] = {&out->low, &out->high};
    double before = 0.0;
    out->low = out->high = 1.0;
    for (int t = 0; t < s->n_risks; t++) {
        for (int q = 0; q < 2; q++) {
            double missing = target[q] - before;
            if (missing > 0.0 && missing <= weight[t]) {
                double within = t - 0.5 + missing / weight[t];
                *quantile[q] =
                    t == 0 ? 0.0 : sigmoid((within - s->grid->n_below) * s->grid->risk_step);
            }
        }
        before += weight[t];
    }
}

fl_status fl_learn_kind_risk(const fl_learn_grid *grid, const fl_learn_kind *kind, int source,
                             double *work, fl_learn_risk *out, fl_err *err)
{
    sums s;
    bool has_record = source >= 0 && source < kind->n_sources;
    if (!has_record && source != kind->n_sources) {
        return fl_fail(err, FL_EDOMAIN, "source %d: give 0 to %d", source, kind->n_sources);
    }
    fl_status status = sum_up(grid, kind, NULL, work, &s, err);
    if (status != FL_OK) {
        return status;
    }
    double total = 0.0;
    double first = 0.0;
    double second = 0.0;
    const double *quiet = has_record ? &s.quiet[(size_t)source * (size_t)s.n_risks] : NULL;
    mix_others(&s, source);
    s.mixture[0] = low_end(&s, has_record ? s.found[source] : 0.0);
    for (int t = 0; t < s.n_risks; t++) {
        double risk = t > 0 ? grid->risk[t] : 0.0; /* the end stands for all below */
        s.mixture[t] *= quiet != NULL ? quiet[t] : 1.0;
        total += s.mixture[t];
        first += s.mixture[t] * risk;
        second += s.mixture[t] * risk * risk;
    }
    fl_learn_risk risk = {.mean = first / total};
    risk.sd = sqrt(fmax(0.0, second / total - risk.mean * risk.mean));
    find_quantiles(&s, s.mixture, total, &risk);
    *out = risk;
    return FL_OK;
}
