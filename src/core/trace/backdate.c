/* The adjoint pass: value[i] is the chance that a founder which is in substage i now will be missed
 * until the find and then be seen as it was. Going back one hour multiplies by the exponential of
 * the chain's generator; going back over a look or a treatment multiplies entry by entry. */
#include "core/trace/backdate.h"

#include <assert.h>
#include <math.h>
#include <string.h>

#include "core/develop/develop.h"

#define SERIES_ORDER 8
#define SERIES_REACH 0.5 /* fastest rate x time of one step: the cut term is below 1e-8 */

/* One set under one multiplier. */
typedef struct pass {
    const fl_backdate_query *query;
    const fl_stage_model *model;
    double multiplier;
    int n;                       /* substages */
    int stage[FL_SUBSTAGES_MAX]; /* of each substage */
    double leave[FL_SUBSTAGES_MAX],
        die[FL_SUBSTAGES_MAX]; /* per hour, at the present temperature */
    double fastest;
    double value[FL_SUBSTAGES_MAX];
} pass;

void fl_backdate_colony(const fl_threat *threat, const double *detect, double *out)
{
    int last = threat->n_stages - 1;
    double sum = 0.0;
    for (int s = 0; s <= last; s++) {
        double made_of = threat->stage[s].start_share;
        if (s == last) {
            made_of = fmax(made_of, FL_BACKDATE_COLONY_BREEDING);
        }
        out[s] = made_of * detect[s];
        sum += out[s];
    }
    for (int s = 0; s <= last; s++) { /* nothing of it can be seen: then its last stage was */
        out[s] = sum > 0.0 ? out[s] / sum : (s == last ? 1.0 : 0.0);
    }
}

bool fl_backdate_is_bound(const fl_threat *threat, int stage)
{
    return stage >= 0 && (stage == threat->n_stages - 1 || threat->stage[stage].is_breeding);
}

int fl_backdate_stage(const fl_threat *threat, fl_sv name)
{
    for (int s = 0; s < threat->n_stages && name.len > 0; s++) {
        if (fl_sv_eq_cstr(name, threat->stage[s].name)) {
            return s;
        }
    }
    return -1;
}

/* ---- checks ---- */

static bool is_in(double value, double low, double high)
{
    return value >= low && value <= high; /* NaN is not */
}

static fl_status check_stages(const double *values, int n, const char *what, fl_err *err)
{
    for (int s = 0; s < n; s++) {
        if (!is_in(values[s], 0.0, 1.0)) {
            return fl_fail(err, FL_EDOMAIN, "%s of stage %d is %g: give 0 to 1", what, s,
                           values[s]);
        }
    }
    return FL_OK;
}

static fl_status check_sets(const fl_backdate_query *q, fl_err *err)
{
    if (q->n_sets < 1 || q->n_sets > FL_BACKDATE_SETS_MAX) {
        return fl_fail(err, FL_EINVAL, "%d development sets: give 1 to %d", q->n_sets,
                       FL_BACKDATE_SETS_MAX);
    }
    for (int i = 0; i < q->n_sets; i++) {
        fl_status status = fl_filter_check_model(q->set[i], err);
        if (status != FL_OK) {
            return status;
        }
        if (q->set[i]->n_stages != q->set[0]->n_stages) {
            return fl_fail(err, FL_EINVAL, "set %d has %d stages, the first has %d", i,
                           q->set[i]->n_stages, q->set[0]->n_stages);
        }
    }
    return FL_OK;
}

static fl_status check_history(const fl_backdate_query *q, fl_err *err)
{
    if (q->n_hours < 0 || q->n_hours > FL_BACKDATE_HOURS_MAX) {
        return fl_fail(err, FL_EINVAL, "%d hours: give 0 to %d", q->n_hours, FL_BACKDATE_HOURS_MAX);
    }
    for (int h = 0; h < q->n_hours; h++) {
        if (!is_in(q->temps_c[h], FL_FILTER_TEMP_MIN_C, FL_FILTER_TEMP_MAX_C)) {
            return fl_fail(err, FL_EDOMAIN, "temperature %g at hour %d: give %g to %g",
                           q->temps_c[h], h, FL_FILTER_TEMP_MIN_C, FL_FILTER_TEMP_MAX_C);
        }
    }
    for (size_t i = 0; i < q->n_ops; i++) {
        if (q->ops[i].hour < 0 || q->ops[i].hour > q->n_hours ||
            (i > 0 && q->ops[i].hour < q->ops[i - 1].hour)) {
            return fl_fail(err, FL_EINVAL, "operation %zu at hour %d: give them by hour, 0 to %d",
                           i, q->ops[i].hour, q->n_hours);
        }
        fl_status status = check_stages(q->ops[i].by_stage, q->set[0]->n_stages,
                                        q->ops[i].is_look ? "chance of a look" : "survival", err);
        if (status != FL_OK) {
            return status;
        }
    }
    return FL_OK;
}

static fl_status check_query(const fl_backdate_query *q, fl_err *err)
{
    double all = 0.0;
    fl_status status = check_sets(q, err);
    if (status != FL_OK) {
        return status;
    }
    int n_stages = q->set[0]->n_stages;
    if (q->stage_seen < -1 || q->stage_seen >= n_stages) {
        return fl_fail(err, FL_EINVAL, "stage %d was seen: give 0 to %d, or -1", q->stage_seen,
                       n_stages - 1);
    }
    if (q->n_mix < 1 || q->n_mix > FL_MIXTURE_MAX || !is_in(q->cap, 0.0, 1.0)) {
        return fl_fail(err, FL_EINVAL, "%d multipliers capped at %g: give 1 to %d and 0 to 1",
                       q->n_mix, q->cap, FL_MIXTURE_MAX);
    }
    for (int w = 0; w < q->n_mix; w++) {
        if (!is_in(q->multiplier[w], 0.0, 100.0) || !is_in(q->weight[w], 0.0, 1e9)) {
            return fl_fail(err, FL_EDOMAIN, "multiplier %g of weight %g: give 0 to 100, >= 0",
                           q->multiplier[w], q->weight[w]);
        }
        all += q->weight[w];
    }
    if (!(all > 0.0)) {
        return fl_fail(err, FL_EDOMAIN, "all weights are 0");
    }
    status = check_stages(q->share, n_stages, "share", err);
    if (status == FL_OK) {
        status = check_stages(q->detect, n_stages, "chance to be seen", err);
    }
    return status == FL_OK ? check_history(q, err) : status;
}

/* ---- the pass ---- */

static void lay_out(pass *p)
{
    p->n = 0;
    for (int s = 0; s < p->model->n_stages; s++) {
        int count = s == p->model->n_stages - 1 ? 1 : p->model->stage[s].n_substages;
        for (int k = 0; k < count; k++) {
            p->stage[p->n++] = s;
        }
    }
}

static double seen_with(const pass *p, double detect)
{
    return fmin(p->query->cap, p->multiplier * detect);
}

/* The look that found it. */
static void begin(pass *p)
{
    const fl_backdate_query *q = p->query;
    int last = p->model->n_stages - 1;
    for (int i = 0; i < p->n; i++) {
        int s = p->stage[i];
        double seen = seen_with(p, fmax(q->detect[s], FL_BACKDATE_SEEN_LEAST));
        bool is_colony = s == last && q->colony != NULL;
        if (q->stage_seen < 0) {
            p->value[i] = seen;
        } else if (is_colony) {
            p->value[i] = seen * q->colony[q->stage_seen];
        } else {
            p->value[i] = s == q->stage_seen ? seen : 0.0;
        }
    }
}

static void back_over(pass *p, const fl_backdate_op *op)
{
    for (int i = 0; i < p->n; i++) {
        double by_stage = op->by_stage[p->stage[i]];
        p->value[i] *= op->is_look ? 1.0 - seen_with(p, by_stage) : by_stage;
    }
}

static void set_rates(pass *p, double temp_c)
{
    int last = p->model->n_stages - 1;
    p->fastest = 0.0;
    for (int i = 0; i < p->n; i++) {
        const fl_stage_rate *rate = &p->model->stage[p->stage[i]];
        double per_day =
            p->stage[i] == last ? 0.0 : rate->n_substages * fl_develop_rate_per_day(rate, temp_c);
        p->leave[i] = per_day / 24.0;
        p->die[i] = rate->mortality_per_day / 24.0;
        p->fastest = fmax(p->fastest, p->leave[i] + p->die[i]);
    }
}

/* value = exp(dt Q) value, Q value = leave (value of the next - value) - die value; its power
 * series by Horner. */
static void back_step(pass *p, double dt_h)
{
    double term[FL_SUBSTAGES_MAX + 1];
    memcpy(term, p->value, (size_t)p->n * sizeof term[0]);
    for (int m = SERIES_ORDER; m >= 1; m--) {
        double c = dt_h / m;
        for (int i = 0; i < p->n; i++) { /* upwards: entry i + 1 is still the old one */
            double next = i + 1 < p->n ? term[i + 1] : 0.0;
            term[i] = p->value[i] + c * (p->leave[i] * (next - term[i]) - p->die[i] * term[i]);
        }
    }
    memcpy(p->value, term, (size_t)p->n * sizeof term[0]);
}

static void back_hour(pass *p)
{
    int steps = (int)ceil(p->fastest / SERIES_REACH);
    steps = steps < 1 ? 1 : steps;
    for (int i = 0; i < steps && p->fastest > 0.0; i++) {
        back_step(p, 1.0 / steps);
    }
}

/* What comes in is spread evenly over the substages of its stage. */
static double value_of_start(const pass *p)
{
    double sum = 0.0;
    for (int i = 0; i < p->n; i++) {
        int s = p->stage[i];
        int count = s == p->model->n_stages - 1 ? 1 : p->model->stage[s].n_substages;
        sum += p->query->share[s] / count * p->value[i];
    }
    return sum;
}

static void run_pass(pass *p, double weight, double *likelihood)
{
    const fl_backdate_query *q = p->query;
    size_t left = q->n_ops;
    double temp_c = (double)NAN;
    begin(p);
    for (int h = q->n_hours; h >= 0; h--) {
        if (h < q->n_hours) {
            if (!(q->temps_c[h] >= temp_c && q->temps_c[h] <= temp_c)) {
                temp_c = q->temps_c[h];
                set_rates(p, temp_c);
            }
            back_hour(p);
        }
        while (left > 0 && q->ops[left - 1].hour == h) {
            back_over(p, &q->ops[--left]);
        }
        likelihood[h] += weight * value_of_start(p);
    }
}

fl_status fl_backdate_likelihood(const fl_backdate_query *query, double *likelihood, fl_err *err)
{
    double all = 0.0;
    fl_status status = check_query(query, err);
    if (status != FL_OK) {
        return status;
    }
    for (int h = 0; h <= query->n_hours; h++) {
        likelihood[h] = 0.0;
    }
    for (int w = 0; w < query->n_mix; w++) {
        all += query->weight[w];
    }
    for (int set = 0; set < query->n_sets; set++) {
        for (int w = 0; w < query->n_mix; w++) {
            pass p = {.query = query, .model = query->set[set], .multiplier = query->multiplier[w]};
            double weight = query->weight[w] / (all * query->n_sets);
            lay_out(&p);
            if (weight > 0.0) {
                run_pass(&p, weight, likelihood);
            }
        }
    }
    return FL_OK;
}

/* ---- the window ---- */

static double weight_at(const double *likelihood, const double *prior, int h)
{
    return fmax(0.0, likelihood[h]) * (prior == NULL ? 1.0 : prior[h]);
}

static void bound_of(const double *likelihood, const double *prior, int n_hours,
                     fl_backdate_window *out)
{
    double best = 0.0;
    for (int h = 0; h <= n_hours; h++) {
        best = fmax(best, weight_at(likelihood, prior, h));
    }
    int to = n_hours;
    while (to > 0 && weight_at(likelihood, prior, to) < FL_BACKDATE_TAIL * best) {
        to--;
    }
    out->from_h = 0;
    out->to_h = out->middle_h = to;
}

/* The first hour at which the sum reaches a share of all. */
static int quantile(const double *likelihood, const double *prior, int n_hours, double want)
{
    double sum = 0.0;
    for (int h = 0; h < n_hours; h++) {
        sum += weight_at(likelihood, prior, h);
        if (sum >= want) {
            return h;
        }
    }
    return n_hours;
}

void fl_backdate_window_of(const double *likelihood, const double *prior, int n_hours,
                           bool is_bound, fl_backdate_window *out)
{
    double all = 0.0;
    *out = (fl_backdate_window){.is_bound = is_bound, .to_h = n_hours, .middle_h = n_hours};
    for (int h = 0; h <= n_hours; h++) {
        all += weight_at(likelihood, prior, h);
    }
    out->is_possible = all > 0.0;
    if (!out->is_possible) {
        return;
    }
    if (is_bound) {
        bound_of(likelihood, prior, n_hours, out);
        return;
    }
    out->from_h = quantile(likelihood, prior, n_hours, FL_BACKDATE_TAIL * all);
    out->to_h = quantile(likelihood, prior, n_hours, (1.0 - FL_BACKDATE_TAIL) * all);
    out->middle_h = quantile(likelihood, prior, n_hours, 0.5 * all);
}
