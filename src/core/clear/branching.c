/* The backward equations of branching lines. Both u and v obey the same equation, so one step
 * function serves them; it works with the complement y = 1 - z, which is small where it matters and
 * makes the part without births linear:
 *     dy_i/ds = leave_i (y_{i+1} - y_i) - mu_i y_i + births (1 - y_i) y_0  (births: last stage). */
#include "core/clear/branching.h"

#include <math.h>
#include <string.h>

#include "core/develop/develop.h"

#define BLOCK 4 /* entries handled together: fixed blocks become vector code */
#define FLAT_MAX (FL_SUBSTAGES_MAX * FL_MIXTURE_MAX)
#define PADDED_MAX (FLAT_MAX + FL_MIXTURE_MAX + BLOCK)
#define HOURS_PER_DAY 24.0
#define LINEAR_ORDER 10
#define LINEAR_REACH 0.5 /* as filter_time.c: what an order of 10 is trusted with */
#define STEP_ERROR 1e-9  /* absolute, a step with births */
#define GROWTH_MAX 4.0
#define SHRINK_MAX 0.2

/* Rates per day by substage, entry by entry. Behind the chain's n_flat entries all rates are 0, and
 * so is everything that is computed there. */
typedef struct rates {
    int n_mix;
    int n_flat;
    int n_last;   /* entries before the last stage */
    int n_padded; /* n_flat in whole blocks */
    double births;
    double fastest;
    double leave[PADDED_MAX];
    double die[PADDED_MAX];
} rates;

typedef struct work {
    double y[PADDED_MAX];
    double a[PADDED_MAX];
    double b[PADDED_MAX];
    double slope[7][PADDED_MAX]; /* births only */
} work;

/* ---- the end, and instant happenings ---- */

fl_status fl_branching_end(const fl_stage_model *model, int n_mix, const double *multiplier,
                           fl_branching *out, fl_err *err)
{
    fl_filter checked;
    const fl_filter_seed seed = {.substage = 0, .n_mix = n_mix, .multiplier = multiplier};
    fl_status status = fl_filter_start(model, &seed, &checked, err);
    if (status != FL_OK) {
        return status;
    }
    fl_branching end = {.n = checked.n, .n_mix = n_mix};
    memcpy(end.multiplier, checked.multiplier, sizeof end.multiplier);
    for (int j = 0; j < end.n * n_mix; j++) {
        end.quiet[j] = 1.0;
    }
    *out = end;
    return FL_OK;
}

static fl_status check(const fl_stage_model *model, const fl_branching *state, fl_err *err)
{
    fl_status status = fl_filter_check_model(model, err);
    if (status != FL_OK) {
        return status;
    }
    int n = fl_filter_substages(model);
    if (state->n != n || state->n_mix < 1 || state->n_mix > FL_MIXTURE_MAX) {
        return fl_fail(err, FL_EINVAL, "lines of %d substages: the model has %d", state->n, n);
    }
    return FL_OK;
}

static fl_status check_shares(const fl_stage_model *model, const double *value, const char *what,
                              fl_err *err)
{
    for (int s = 0; s < model->n_stages; s++) {
        if (!(value[s] >= 0.0 && value[s] <= 1.0)) {
            return fl_fail(err, FL_EDOMAIN, "stage %d: %s %g: give 0 to 1", s, what, value[s]);
        }
    }
    return FL_OK;
}

fl_status fl_branching_treat(const fl_stage_model *model, const double *survival,
                             fl_branching *state, fl_err *err)
{
    fl_status status = check(model, state, err);
    if (status == FL_OK) {
        status = check_shares(model, survival, "survival", err);
    }
    int j = 0;
    while (status == FL_OK && j < state->n * state->n_mix) { /* each generation */
        for (int s = 0; s < model->n_stages; s++) {
            int end = j + model->stage[s].n_substages * state->n_mix;
            for (; j < end; j++) {
                state->quiet[j] = survival[s] * state->quiet[j] + (1.0 - survival[s]);
                state->gone[j] = survival[s] * state->gone[j] + (1.0 - survival[s]);
            }
        }
    }
    return status;
}

fl_status fl_branching_look(const fl_stage_model *model, const double *detect, double cap,
                            fl_branching *state, fl_err *err)
{
    fl_status status = check(model, state, err);
    if (status == FL_OK) {
        status = check_shares(model, detect, "detect", err);
    }
    if (status == FL_OK && !(cap >= 0.0 && cap <= 1.0)) {
        status = fl_fail(err, FL_EDOMAIN, "cap %g: give 0 to 1", cap);
    }
    int i = 0;
    for (int g = 0; g < fl_filter_generations(model) && status == FL_OK; g++) {
        for (int s = 0; s < model->n_stages; s++) {
            for (int end = i + model->stage[s].n_substages; i < end; i++) {
                for (int w = 0; w < state->n_mix; w++) {
                    double q = fmin(cap, state->multiplier[w] * detect[s]);
                    double missed = 1.0 - fl_filter_seen_of(model, g, q);
                    state->quiet[i * state->n_mix + w] *= missed;
                    state->gone[i * state->n_mix + w] *= missed;
                }
            }
        }
    }
    return status;
}

/* ---- time ---- */

static void set_rates(const fl_stage_model *model, double temp_c, rates *r)
{
    int j = 0;
    int n_stages = model->n_stages * fl_filter_generations(model);
    r->fastest = 0.0;
    for (int i = 0; i < n_stages; i++) {
        int s = i % model->n_stages;
        const fl_stage_rate *stage = &model->stage[s];
        bool is_last = i == n_stages - 1;
        double leave = 0.0;
        if (s < model->n_stages - 1) {
            leave = stage->n_substages * fl_develop_rate_per_day(stage, temp_c);
        } else if (!is_last) { /* a founder that breeds: what it leaves begins anew */
            leave = 1.0 / model->life_days;
        }
        double die = stage->mortality_per_day;
        for (int end = j + stage->n_substages * r->n_mix; j < end; j++) {
            r->leave[j] = leave;
            r->die[j] = die;
        }
        r->fastest = fmax(r->fastest, leave + die + (is_last ? r->births : 0.0));
    }
}

/* out = the derivative of in. */
static void derive(const rates *r, const double *in, double *restrict out)
{
    int n_mix = r->n_mix;
    for (int start = 0; start < r->n_padded; start += BLOCK) {
        for (int j = start; j < start + BLOCK; j++) {
            out[j] = r->leave[j] * (in[j + n_mix] - in[j]) - r->die[j] * in[j];
        }
    }
    for (int j = r->n_last; j < r->n_flat; j++) {
        out[j] += r->births * (1.0 - in[j]) * in[j - r->n_last];
    }
}

/* out = y + c * slope. */
static void ahead(const rates *r, const double *y, double c, const double *slope,
                  double *restrict out)
{
    for (int start = 0; start < r->n_padded; start += BLOCK) {
        for (int j = start; j < start + BLOCK; j++) {
            out[j] = y[j] + c * slope[j];
        }
    }
}

/* out += c * slope. */
static void add(const rates *r, double c, const double *slope, double *restrict out)
{
    for (int start = 0; start < r->n_padded; start += BLOCK) {
        for (int j = start; j < start + BLOCK; j++) {
            out[j] += c * slope[j];
        }
    }
}

/* exp(dt Q) y by its power series in Horner's form. */
static void step_linear(const rates *r, double dt_days, work *w)
{
    derive(r, w->y, w->b);
    for (int m = LINEAR_ORDER; m >= 2; m--) {
        ahead(r, w->y, dt_days / m, w->b, w->a);
        derive(r, w->a, w->b);
    }
    add(r, dt_days, w->b, w->y);
}

/* The pair of orders 5 and 4 of Dormand and Prince (1980), J. Comput. Appl. Math. 6:19-26, table 2,
 * from memory; test_branching.c would see a wrong coefficient. */
#define PAIR_STAGES 7
static const double PAIR[PAIR_STAGES][PAIR_STAGES - 1] = {
    {0},
    {1.0 / 5.0},
    {3.0 / 40.0, 9.0 / 40.0},
    {44.0 / 45.0, -56.0 / 15.0, 32.0 / 9.0},
    {19372.0 / 6561.0, -25360.0 / 2187.0, 64448.0 / 6561.0, -212.0 / 729.0},
    {9017.0 / 3168.0, -355.0 / 33.0, 46732.0 / 5247.0, 49.0 / 176.0, -5103.0 / 18656.0},
    {35.0 / 384.0, 0.0, 500.0 / 1113.0, 125.0 / 192.0, -2187.0 / 6784.0, 11.0 / 84.0}};
/* What the order 5 has more than the order 4. */
static const double PAIR_ERROR[PAIR_STAGES] = {
    71.0 / 57600.0,      0.0,          -71.0 / 16695.0, 71.0 / 1920.0,
    -17253.0 / 339200.0, 22.0 / 525.0, -1.0 / 40.0};

/* One step from w->y into w->a; slope[0] holds the derivative at y. Returns the largest estimated
 * error; slope[6] is then the derivative at the end. */
static double try_pair(const rates *r, double dt_days, work *w)
{
    for (int k = 1; k < PAIR_STAGES; k++) {
        memcpy(w->a, w->y, (size_t)r->n_padded * sizeof w->a[0]);
        for (int i = 0; i < k; i++) {
            add(r, dt_days * PAIR[k][i], w->slope[i], w->a);
        }
        derive(r, w->a, w->slope[k]);
    }
    memset(w->b, 0, (size_t)r->n_padded * sizeof w->b[0]);
    for (int i = 0; i < PAIR_STAGES; i++) {
        add(r, dt_days * PAIR_ERROR[i], w->slope[i], w->b);
    }
    double worst = 0.0;
    for (int j = 0; j < r->n_flat; j++) {
        worst = fmax(worst, fabs(w->b[j]));
    }
    return worst;
}

static void run_pair(const rates *r, double days, work *w)
{
    double done = 0.0;
    double dt_days = fmin(days, 0.1 / r->fastest);
    size_t bytes = (size_t)r->n_padded * sizeof w->y[0];
    derive(r, w->y, w->slope[0]);
    while (done < days) {
        dt_days = fmin(dt_days, days - done);
        double error = try_pair(r, dt_days, w);
        if (error <= STEP_ERROR) {
            done = dt_days >= days - done ? days : done + dt_days;
            memcpy(w->y, w->a, bytes);
            memcpy(w->slope[0], w->slope[PAIR_STAGES - 1], bytes);
        }
        double factor = 0.9 * pow(STEP_ERROR / fmax(error, 1e-30), 0.2);
        dt_days *= fmin(GROWTH_MAX, fmax(SHRINK_MAX, factor));
    }
}

static void run_series(const rates *r, double days, work *w)
{
    int n_steps = (int)ceil(r->fastest * days / LINEAR_REACH);
    for (int i = 0; i < n_steps; i++) {
        step_linear(r, days / n_steps, w);
    }
}

static void run_constant(const rates *r, int n_hours, double *z)
{
    work w;
    double days = n_hours / HOURS_PER_DAY;
    if (n_hours == 0 || !(r->fastest > 0.0)) {
        return; /* too cold for everything, nothing dies and nothing is born */
    }
    memset(&w, 0, sizeof w);
    for (int j = 0; j < r->n_flat; j++) {
        w.y[j] = 1.0 - z[j];
    }
    if (r->births > 0.0) {
        run_pair(r, days, &w);
    } else {
        run_series(r, days, &w);
    }
    for (int j = 0; j < r->n_flat; j++) {
        z[j] = fmin(1.0, fmax(0.0, 1.0 - w.y[j]));
    }
}

/* True when the two temperatures give the same rates because they are the same. */
static bool is_same(double a_c, double b_c)
{
    return !(a_c < b_c) && !(a_c > b_c);
}

static fl_status check_time(const fl_stage_model *model, const fl_branching *state,
                            double births_per_day, int n_hours, fl_err *err)
{
    fl_status status = check(model, state, err);
    if (status != FL_OK) {
        return status;
    }
    if (!(births_per_day >= 0.0 && births_per_day <= FL_BIRTHS_MAX_PER_DAY)) {
        return fl_fail(err, FL_EDOMAIN, "births_per_day %g: give 0 to %g", births_per_day,
                       FL_BIRTHS_MAX_PER_DAY);
    }
    if (births_per_day > 0.0 && model->life_days > 0.0) {
        return fl_fail(err, FL_EINVAL,
                       "births and life_days %g: births make the generations, give life_days 0",
                       model->life_days);
    }
    if (n_hours < 0) {
        return fl_fail(err, FL_EDOMAIN, "%d hours: give 0 or more", n_hours);
    }
    if (n_hours > FL_FILTER_HOURS_MAX) {
        return fl_fail(err, FL_ETOOBIG, "%d hours: at most %d", n_hours, FL_FILTER_HOURS_MAX);
    }
    return FL_OK;
}

static fl_status check_temp(double temp_c, fl_err *err)
{
    if (!(temp_c >= FL_FILTER_TEMP_MIN_C && temp_c <= FL_FILTER_TEMP_MAX_C)) {
        return fl_fail(err, FL_EDOMAIN, "temperature %g C: give -90 to 100", temp_c);
    }
    return FL_OK;
}

static void begin_rates(const fl_branching *state, double births_per_day, rates *r)
{
    r->n_mix = state->n_mix;
    r->n_flat = state->n * state->n_mix;
    r->n_last = (state->n - 1) * state->n_mix;
    r->n_padded = (r->n_flat + BLOCK - 1) / BLOCK * BLOCK;
    r->births = births_per_day;
    memset(r->leave, 0, sizeof r->leave);
    memset(r->die, 0, sizeof r->die);
}

fl_status fl_branching_back(const fl_stage_model *model, double births_per_day,
                            const double *temps_c, int n_hours, fl_branching *state, fl_err *err)
{
    fl_status status = check_time(model, state, births_per_day, n_hours, err);
    for (int h = 0; h < n_hours && status == FL_OK; h++) {
        status = check_temp(temps_c[h], err);
    }
    if (status != FL_OK) {
        return status;
    }
    rates r;
    begin_rates(state, births_per_day, &r);
    for (int end = n_hours; end > 0;) {
        int start = end - 1;
        while (start > 0 && is_same(temps_c[start - 1], temps_c[end - 1])) {
            start--;
        }
        set_rates(model, temps_c[end - 1], &r);
        run_constant(&r, end - start, state->quiet);
        run_constant(&r, end - start, state->gone);
        end = start;
    }
    return FL_OK;
}

fl_status fl_branching_back_constant(const fl_stage_model *model, double births_per_day,
                                     double temp_c, int n_hours, fl_branching *state, fl_err *err)
{
    fl_status status = check_time(model, state, births_per_day, n_hours, err);
    if (status == FL_OK) {
        status = check_temp(temp_c, err);
    }
    if (status != FL_OK) {
        return status;
    }
    rates r;
    begin_rates(state, births_per_day, &r);
    set_rates(model, temp_c, &r);
    run_constant(&r, n_hours, state->quiet);
    run_constant(&r, n_hours, state->gone);
    return FL_OK;
}

/* ---- reading ---- */

fl_status fl_branching_start(const fl_stage_model *model, const fl_branching *state,
                             const double *share, int substage, fl_branching_line *out, fl_err *err)
{
    const double one[FL_MIXTURE_MAX] = {1.0, 1.0, 1.0, 1.0, 1.0};
    fl_filter start; /* its starting masses are the founder's */
    const fl_filter_seed seed = {
        .share = share, .substage = substage, .n_mix = state->n_mix, .multiplier = one};
    fl_status status = check(model, state, err);
    if (status == FL_OK) {
        status = fl_filter_start(model, &seed, &start, err);
    }
    if (status != FL_OK) {
        return status;
    }
    fl_branching_line line = {{0.0}, {0.0}};
    for (int i = 0; i < state->n; i++) {
        for (int w = 0; w < state->n_mix; w++) {
            line.quiet[w] += start.alive[i][w] * state->quiet[i * state->n_mix + w];
            line.gone[w] += start.alive[i][w] * state->gone[i * state->n_mix + w];
        }
    }
    *out = line;
    return FL_OK;
}

fl_status fl_branching_chance(const fl_branching *state, const fl_branching_line *line,
                              double prior, const double *weight, const fl_founders *founders,
                              fl_chance *out, fl_err *err)
{
    fl_filter end; /* the same readout: D = 1 - v, A = v - u, X = u */
    if (!(prior >= 0.0 && prior <= 1.0)) {
        return fl_fail(err, FL_EDOMAIN, "prior %g: give 0 to 1", prior);
    }
    end.prior = prior;
    end.n = 1;
    end.n_mix = state->n_mix;
    for (int w = 0; w < state->n_mix && w < FL_MIXTURE_MAX; w++) {
        end.alive[0][w] = fmax(0.0, line->quiet[w] - line->gone[w]);
        end.found[w] = 1.0 - line->quiet[w];
        end.dead[w] = line->gone[w];
    }
    return fl_filter_chance(&end, weight, founders, out, err);
}
