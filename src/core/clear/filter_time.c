/* The clearance filter's time step: the substage chain at hourly temperatures. This is the inner
 * loop of the whole program, so it works on flat arrays in fixed blocks that compilers turn into
 * vector code; there is no matrix. */
#include <math.h>
#include <string.h>

#include "core/clear/filter.h"
#include "core/develop/develop.h"

#define HOURS_PER_DAY 24.0
#define BLOCK 4 /* entries handled together */
#define LEAD 8  /* zeros before the first entry, at least FL_MIXTURE_MAX: nothing flows in */
#define FLAT_MAX (LEAD + FL_SUBSTAGES_MAX * FL_MIXTURE_MAX + BLOCK)
/* Masses below this are dropped, because arithmetic on denormal numbers is slow. */
#define MASS_TINY 1e-200

/* The chain laid out flat: entry LEAD + i * n_mix + w is substage i under multiplier w, so that
 * what leaves an entry arrives n_mix entries later. Rates are per day. */
typedef struct flat_chain {
    int n_mix;
    int n_blocks;
    bool has_mortality;
    double fastest_per_day; /* the largest total loss rate */
    double leave[FLAT_MAX]; /* to the next substage */
    double loss[FLAT_MAX];  /* leave + mortality */
    double mass[FLAT_MAX], work_a[FLAT_MAX], work_b[FLAT_MAX];
} flat_chain;

/* The longest step (fastest rate x time) each order of the series is trusted with. Measured against
 * matrix exponentials of 400 random chains that start in one substage, the worst case: a stage's
 * mass was off by 2.4e-9 at most. A Runge-Kutta step (order 4) at a reach of 0.115 is off by 8e-7
 * there. */
static const struct {
    double reach;
    int order;
} SERIES[] = {{0.03, 4}, {0.07, 5}, {0.14, 6}, {0.22, 7}, {0.32, 8}, {0.52, 10}};
#define N_SERIES ((int)(sizeof SERIES / sizeof SERIES[0]))

/* Without mortality what leaves an entry arrives whole in the next one, so the series can run on
 * the fluxes f = leave * v alone: f' = leave * (mass + c * (f[before] - f)). With c = 0 it is
 * the first term, leave * mass. */
static void next_flux(const flat_chain *chain, const double *in, double c, double *restrict out)
{
    const double *mass = chain->mass;
    const double *leave = chain->leave;
    int back = chain->n_mix;
    for (int b = 0; b < chain->n_blocks; b++) {
        int j = LEAD + b * BLOCK; /* written out: compilers keep a short loop a loop */
        double one = leave[j] * (mass[j] + c * (in[j - back] - in[j]));
        double two = leave[j + 1] * (mass[j + 1] + c * (in[j + 1 - back] - in[j + 1]));
        double three = leave[j + 2] * (mass[j + 2] + c * (in[j + 2 - back] - in[j + 2]));
        double four = leave[j + 3] * (mass[j + 3] + c * (in[j + 3 - back] - in[j + 3]));
        out[j] = one;
        out[j + 1] = two;
        out[j + 2] = three;
        out[j + 3] = four;
    }
}

/* The last term: mass += c * (f[before] - f). */
static void add_flux(flat_chain *chain, const double *restrict flux, double c)
{
    double *mass = chain->mass;
    int back = chain->n_mix;
    for (int b = 0; b < chain->n_blocks; b++) {
        int start = LEAD + b * BLOCK;
        for (int k = 0; k < BLOCK; k++) {
            int j = start + k;
            mass[j] += c * (flux[j - back] - flux[j]);
        }
    }
}

/* With mortality: out = mass + c * Q in, with Q the chain's generator. */
static void add_flow(const flat_chain *chain, const double *in, double c, double *restrict out)
{
    const double *mass = chain->mass;
    const double *leave = chain->leave;
    const double *loss = chain->loss;
    int back = chain->n_mix;
    for (int b = 0; b < chain->n_blocks; b++) {
        int start = LEAD + b * BLOCK;
        for (int k = 0; k < BLOCK; k++) {
            int j = start + k;
            out[j] = mass[j] + c * (leave[j - back] * in[j - back] - loss[j] * in[j]);
        }
    }
}

/* One step: exp(dt Q) mass by its power series in Horner's form,
 * mass + dt Q (mass + dt/2 Q (mass + dt/3 Q (...))). */
static void step_series(flat_chain *chain, double dt_days, int order)
{
    double *now = chain->work_a;
    double *next = chain->work_b;
    if (!chain->has_mortality) {
        next_flux(chain, chain->mass, 0.0, now);
        for (int m = order; m >= 2; m--) {
            next_flux(chain, now, dt_days / m, next);
            double *spare = now;
            now = next;
            next = spare;
        }
        add_flux(chain, now, dt_days);
        return;
    }
    add_flow(chain, chain->mass, dt_days / order, now);
    for (int m = order - 1; m >= 1; m--) {
        add_flow(chain, now, dt_days / m, next);
        double *spare = now;
        now = next;
        next = spare;
    }
    memcpy(&chain->mass[LEAD], &now[LEAD], (size_t)(chain->n_blocks * BLOCK) * sizeof now[0]);
}

static void drop_tiny(flat_chain *chain)
{
    for (int j = LEAD; j < LEAD + chain->n_blocks * BLOCK; j++) {
        chain->mass[j] = fabs(chain->mass[j]) < MASS_TINY ? 0.0 : chain->mass[j];
    }
}

/* Sets at least `count` entries, in whole blocks: the next stage overwrites the excess, and the
 * last stage's excess lies behind the chain, where no mass is. */
static void fill_blocks(double *at, int count, double value)
{
    for (int i = 0; i < count; i += BLOCK) {
        for (int k = 0; k < BLOCK; k++) {
            at[i + k] = value;
        }
    }
}

static void set_rates(const fl_stage_model *model, double temp_c, flat_chain *chain)
{
    chain->fastest_per_day = 0.0;
    int j = LEAD;
    int n_stages = model->n_stages * fl_filter_generations(model);
    for (int i = 0; i < n_stages; i++) {
        int s = i % model->n_stages;
        const fl_stage_rate *rate = &model->stage[s];
        double leave = 0.0;
        if (s < model->n_stages - 1) {
            leave = rate->n_substages * fl_develop_rate_per_day(rate, temp_c);
        } else if (i < n_stages - 1) { /* a founder that breeds: what it leaves begins anew */
            leave = 1.0 / model->life_days;
        }
        double loss = leave + rate->mortality_per_day;
        int count = rate->n_substages * chain->n_mix;
        fill_blocks(&chain->leave[j], count, leave);
        if (chain->has_mortality) {
            fill_blocks(&chain->loss[j], count, loss);
        }
        j += count;
        chain->fastest_per_day = loss > chain->fastest_per_day ? loss : chain->fastest_per_day;
    }
}

/* Integrates n_hours at the rates that are set. */
static void run_constant(flat_chain *chain, int n_hours)
{
    double days = n_hours / HOURS_PER_DAY;
    double reach = chain->fastest_per_day * days;
    if (!(reach > 0.0)) {
        return; /* too cold for everything and nothing dies */
    }
    int n_steps = (int)ceil(reach / SERIES[N_SERIES - 1].reach);
    double step_reach = reach / n_steps;
    int row = 0;
    while (row < N_SERIES - 1 && step_reach > SERIES[row].reach) {
        row++;
    }
    for (int i = 0; i < n_steps; i++) {
        step_series(chain, days / n_steps, SERIES[row].order);
        if (i % 32 == 31) {
            drop_tiny(chain);
        }
    }
}

static bool has_mortality(const fl_stage_model *model)
{
    bool has = false;
    for (int s = 0; s < model->n_stages; s++) {
        has = has || model->stage[s].mortality_per_day > 0.0;
    }
    return has;
}

/* Until the first look all multipliers have the same masses: one of them stands for all. */
static bool is_one_for_all(const fl_filter *state)
{
    bool is_same = true;
    for (int i = 0; i < state->n && is_same; i++) {
        is_same = memcmp(state->alive[i], &state->alive[i][1],
                         (size_t)(state->n_mix - 1) * sizeof state->alive[i][0]) == 0;
    }
    return is_same;
}

static void load(const fl_stage_model *model, const fl_filter *state, flat_chain *chain)
{
    chain->has_mortality = has_mortality(model);
    chain->n_mix = is_one_for_all(state) ? 1 : state->n_mix;
    int n_flat = state->n * chain->n_mix;
    chain->n_blocks = (n_flat + BLOCK - 1) / BLOCK;
    size_t bytes = (size_t)(LEAD + chain->n_blocks * BLOCK) * sizeof(double);
    memset(chain->leave, 0, bytes);
    memset(chain->loss, 0, bytes);
    memset(chain->mass, 0, bytes);
    memset(chain->work_a, 0, bytes);
    memset(chain->work_b, 0, bytes);
    double *entry = &chain->mass[LEAD];
    for (int i = 0; i < state->n; i++) {
        for (int w = 0; w < chain->n_mix; w++) {
            *entry++ = state->alive[i][w];
        }
    }
}

/* Back into the filter; what mortality took goes to dead. */
static void unload(const flat_chain *chain, fl_filter *state)
{
    double lost[FL_MIXTURE_MAX] = {0.0};
    for (int i = 0; i < state->n; i++) {
        const double *entry = &chain->mass[LEAD + i * chain->n_mix];
        for (int w = 0; w < state->n_mix; w++) {
            double now = fmax(0.0, entry[chain->n_mix > 1 ? w : 0]);
            lost[w] += state->alive[i][w] - now;
            state->alive[i][w] = now;
        }
    }
    for (int w = 0; w < state->n_mix && chain->has_mortality; w++) {
        state->dead[w] += fmax(0.0, lost[w]);
    }
}

static fl_status check_time(const fl_stage_model *model, const fl_filter *state, int n_hours,
                            fl_err *err)
{
    fl_status status = fl_filter_check(model, state, err);
    if (status != FL_OK) {
        return status;
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

fl_status fl_filter_advance(const fl_stage_model *model, const double *temps_c, int n_hours,
                            fl_filter *state, fl_err *err)
{
    fl_status status = check_time(model, state, n_hours, err);
    for (int h = 0; h < n_hours && status == FL_OK; h++) {
        status = check_temp(temps_c[h], err);
    }
    if (status != FL_OK) {
        return status;
    }
    flat_chain chain;
    load(model, state, &chain);
    for (int h = 0; h < n_hours;) {
        int end = h + 1;
        while (end < n_hours && !(temps_c[end] < temps_c[h]) && !(temps_c[end] > temps_c[h])) {
            end++;
        }
        set_rates(model, temps_c[h], &chain);
        run_constant(&chain, end - h);
        if (h / 24 != end / 24) {
            drop_tiny(&chain);
        }
        h = end;
    }
    unload(&chain, state);
    return FL_OK;
}

fl_status fl_filter_advance_constant(const fl_stage_model *model, double temp_c, int n_hours,
                                     fl_filter *state, fl_err *err)
{
    fl_status status = check_time(model, state, n_hours, err);
    if (status == FL_OK) {
        status = check_temp(temp_c, err);
    }
    if (status != FL_OK) {
        return status;
    }
    flat_chain chain;
    load(model, state, &chain);
    set_rates(model, temp_c, &chain);
    run_constant(&chain, n_hours);
    drop_tiny(&chain);
    unload(&chain, state);
    return FL_OK;
}
