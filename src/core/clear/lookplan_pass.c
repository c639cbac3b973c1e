/* The forward and the backward pass of a look plan, and the load read off them. States are packed
 * to what is in use, because a plan holds one for each copy and day. */
#include "core/clear/lookplan_pass.h"

#include <math.h>
#include <string.h>

#include "core/clear/branching.h"
#include "core/clear/steady.h"

#define HOURS_PER_DAY 24.0

/* ---- the workspace ---- */

static fl_status check_days(const fl_lookplan_problem *p, fl_err *err)
{
    if (p->n_days < 1 || p->n_days > FL_LOOKPLAN_DAYS_MAX) {
        return fl_fail(err, FL_ETOOBIG, "%d days to look on: give 1 to %d", p->n_days,
                       FL_LOOKPLAN_DAYS_MAX);
    }
    for (int d = 0; d < p->n_days; d++) {
        if (p->hours[d] < (d > 0 ? p->hours[d - 1] + 1 : 0) || p->hours[d] > FL_FILTER_HOURS_MAX) {
            return fl_fail(err, FL_EINVAL, "day %d is %d hours ahead: days rise from now on", d,
                           p->hours[d]);
        }
    }
    if (p->first_release < 0 || p->first_release > p->n_days) {
        return fl_fail(err, FL_EINVAL, "first_release %d: give 0 to %d", p->first_release,
                       p->n_days);
    }
    if (p->most_looks < 1 || p->most_looks > FL_LOOKPLAN_DAYS_MAX) {
        return fl_fail(err, FL_EDOMAIN, "at most %d looks: give 1 to %d", p->most_looks,
                       FL_LOOKPLAN_DAYS_MAX);
    }
    if (p->n_uses < 1 || p->n_uses > FL_LOOKPLAN_USES_MAX) {
        return fl_fail(err, FL_EDOMAIN, "%d uses: give 1 to %d", p->n_uses, FL_LOOKPLAN_USES_MAX);
    }
    for (int u = 0; u < p->n_uses; u++) {
        if (!(p->ceiling[u] > 0.0 && isfinite(p->ceiling[u]))) {
            return fl_fail(err, FL_EDOMAIN, "ceiling %g: give more than 0", p->ceiling[u]);
        }
    }
    return FL_OK;
}

static bool has_same_eye(const fl_filter *a, const fl_filter *b)
{
    return a->n_mix == b->n_mix &&
           memcmp(a->multiplier, b->multiplier, (size_t)a->n_mix * sizeof a->multiplier[0]) == 0;
}

/* Each copy fits its pest's model, shares the eye with the first, and stands in order. */
static fl_status check_copies(const fl_lookplan_problem *p, fl_err *err)
{
    if (p->n_copies > FL_LOOKPLAN_COPIES_MAX) {
        return fl_fail(err, FL_ETOOBIG, "%zu copies: at most %d", p->n_copies,
                       FL_LOOKPLAN_COPIES_MAX);
    }
    for (size_t i = 0; i < p->n_copies; i++) {
        const fl_lookplan_copy *copy = &p->copies[i];
        if (copy->pest >= p->n_pests || (i > 0 && copy->pest < p->copies[i - 1].pest)) {
            return fl_fail(err, FL_EINVAL, "copy %zu is of pest %zu: copies stand by pest", i,
                           copy->pest);
        }
        fl_status status = fl_filter_check(p->pests[copy->pest].model, copy->state, err);
        if (status != FL_OK) {
            return status;
        }
        if (!has_same_eye(copy->state, p->copies[0].state)) {
            return fl_fail(err, FL_EINVAL, "copy %zu has other multipliers than the first", i);
        }
    }
    return FL_OK;
}

static fl_status check_problem(const fl_lookplan_problem *p, fl_err *err)
{
    fl_status status = check_days(p, err);
    return status == FL_OK ? check_copies(p, err) : status;
}

/* The doubles of each part; returns those of all. */
static size_t lay_out(const fl_lookplan_problem *p, fl_lookplan_pass *pass, double *work)
{
    size_t n_days = (size_t)p->n_days;
    size_t n_mix = p->n_copies > 0 ? (size_t)p->copies[0].state->n_mix : 1;
    size_t stride = 0;
    for (size_t i = 0; i < p->n_copies; i++) {
        size_t n = (size_t)p->copies[i].state->n * n_mix;
        stride = n > stride ? n : stride;
    }
    size_t before = p->n_copies * n_days * (stride + n_mix);
    size_t after = p->n_copies * n_days * 2 * n_mix;
    size_t ahead = p->n_pests * n_days * 2 * stride;
    size_t trickle = p->n_pests * n_days * 2 * n_mix;
    size_t at_end = p->n_copies * 2 * n_mix;
    size_t reader = (sizeof(fl_filter) + sizeof(double) - 1) / sizeof(double);
    if (work != NULL) {
        pass->n_mix = (int)n_mix;
        pass->stride = stride;
        pass->before = work;
        pass->after = pass->before + before;
        pass->ahead = pass->after + after;
        pass->trickle = pass->ahead + ahead;
        pass->at_end = pass->trickle + trickle;
        pass->reader = (fl_filter *)(void *)(pass->at_end + at_end);
    }
    return before + after + ahead + trickle + at_end + reader;
}

size_t fl_lookplan_work_bytes(const fl_lookplan_problem *problem)
{
    if (check_problem(problem, NULL) != FL_OK) {
        return 0;
    }
    return lay_out(problem, NULL, NULL) * sizeof(double);
}

fl_status fl_lookplan_open(const fl_lookplan_problem *problem, void *work, fl_lookplan_pass *out,
                           fl_err *err)
{
    fl_status status = check_problem(problem, err);
    if (status != FL_OK) {
        return status;
    }
    *out = (fl_lookplan_pass){.p = problem};
    (void)lay_out(problem, out, work);
    memset(out->reader, 0, sizeof *out->reader);
    out->reader->n = 1;
    out->reader->n_mix = out->n_mix;
    if (problem->n_copies > 0) {
        out->multiplier = problem->copies[0].state->multiplier;
        memcpy(out->reader->multiplier, out->multiplier, (size_t)out->n_mix * sizeof(double));
    }
    return FL_OK;
}

static double *before_of(const fl_lookplan_pass *s, size_t copy, int day)
{
    size_t at = copy * (size_t)s->p->n_days + (size_t)day;
    return s->before + at * (s->stride + (size_t)s->n_mix);
}

static double *after_of(const fl_lookplan_pass *s, size_t copy, int day)
{
    size_t at = copy * (size_t)s->p->n_days + (size_t)day;
    return s->after + at * 2 * (size_t)s->n_mix;
}

static double *ahead_of(const fl_lookplan_pass *s, size_t pest, int day)
{
    size_t at = pest * (size_t)s->p->n_days + (size_t)day;
    return s->ahead + at * 2 * s->stride;
}

static double *trickle_of(const fl_lookplan_pass *s, size_t pest, int day)
{
    size_t at = pest * (size_t)s->p->n_days + (size_t)day;
    return s->trickle + at * 2 * (size_t)s->n_mix;
}

/* ---- forward ---- */

static void pack(const fl_lookplan_pass *s, const fl_filter *state, double *out)
{
    for (int i = 0; i < state->n; i++) {
        for (int w = 0; w < s->n_mix; w++) {
            *out++ = state->alive[i][w];
        }
    }
    out += s->stride - (size_t)(state->n * s->n_mix);
    memcpy(out, state->found, (size_t)s->n_mix * sizeof out[0]);
}

static void unpack(const fl_lookplan_pass *s, const double *in, fl_filter *state)
{
    for (int i = 0; i < state->n; i++) {
        for (int w = 0; w < s->n_mix; w++) {
            state->alive[i][w] = *in++;
        }
    }
    in += s->stride - (size_t)(state->n * s->n_mix);
    memcpy(state->found, in, (size_t)s->n_mix * sizeof in[0]);
}

static fl_status pass_hours(const fl_lookplan_problem *p, const fl_stage_model *model, int from_h,
                            int to_h, fl_filter *state, fl_err *err)
{
    if (p->temps_c != NULL) {
        return fl_filter_advance(model, &p->temps_c[from_h], to_h - from_h, state, err);
    }
    return fl_filter_advance_constant(model, p->temp_c, to_h - from_h, state, err);
}

/* The time to a day, and what trickled in meanwhile: at its end, hence younger than it may be. */
static fl_status come_to(const fl_lookplan_problem *p, const fl_lookplan_copy *copy, int day,
                         fl_filter *state, fl_err *err)
{
    const fl_lookplan_pest *pest = &p->pests[copy->pest];
    int from_h = day > 0 ? p->hours[day - 1] : 0;
    int hours = p->hours[day] - from_h;
    fl_status status = pass_hours(p, pest->model, from_h, p->hours[day], state, err);
    if (status == FL_OK && copy->takes_inflow && hours > 0) {
        double mean = pest->inflow_per_day * hours / HOURS_PER_DAY;
        status = fl_filter_inflow(pest->model, mean, pest->inflow_share, state, err);
    }
    return status;
}

static fl_status look(const fl_lookplan_problem *p, const fl_lookplan_copy *copy, fl_filter *state,
                      fl_err *err)
{
    const fl_lookplan_pest *pest = &p->pests[copy->pest];
    fl_status status = FL_OK;
    if (copy->takes_inflow) {
        status =
            fl_filter_inflow(pest->model, pest->inflow_per_look, pest->inflow_share, state, err);
    }
    return status == FL_OK ? fl_filter_look(pest->model, pest->detect, p->cap, state, err) : status;
}

static fl_status forward_copy(fl_lookplan_pass *s, size_t index, const bool *is_look, int from,
                              int to, fl_err *err)
{
    const fl_lookplan_problem *p = s->p;
    const fl_lookplan_copy *copy = &p->copies[index];
    fl_filter state = *copy->state;
    fl_status status = FL_OK;
    if (from > 0) {
        unpack(s, before_of(s, index, from), &state);
    }
    for (int day = from; day <= to && status == FL_OK; day++) {
        if (day > from || day == 0) {
            status = come_to(p, copy, day, &state, err);
            pack(s, &state, before_of(s, index, day));
        }
        if (status == FL_OK && is_look[day]) {
            status = look(p, copy, &state, err);
        }
        double *after = after_of(s, index, day);
        for (int w = 0; w < s->n_mix; w++) {
            after[w] = fl_filter_alive(&state, w);
            after[s->n_mix + w] = state.found[w];
        }
    }
    return status;
}

fl_status fl_lookplan_forward(fl_lookplan_pass *s, const bool *is_look, int from, int to,
                              fl_err *err)
{
    fl_status status = FL_OK;
    for (size_t i = 0; i < s->p->n_copies && status == FL_OK; i++) {
        status = forward_copy(s, i, is_look, from, to, err);
    }
    return status;
}

/* ---- backward ---- */

/* Adds `mean` founders that come in where `state` is seen from. */
static fl_status add_trickle(const fl_lookplan_pass *s, const fl_lookplan_pest *pest, double mean,
                             const fl_branching *state, double *sum, fl_err *err)
{
    fl_branching_line line;
    fl_status status = fl_branching_start(pest->model, state, pest->inflow_share, 0, &line, err);
    for (int w = 0; w < s->n_mix && status == FL_OK; w++) {
        sum[w] += mean * (line.quiet[w] - line.gone[w]);
        sum[s->n_mix + w] += mean * (1.0 - line.quiet[w]);
    }
    return status;
}

static bool trickles(const fl_lookplan_pest *pest)
{
    return pest->inflow_per_day > 0.0 || pest->inflow_per_look > 0.0;
}

/* From just after a day's look to just after the look of the day before. */
static fl_status go_back(const fl_lookplan_pass *s, const fl_lookplan_pest *pest, int day,
                         bool is_look, fl_branching *state, double *sum, fl_err *err)
{
    const fl_lookplan_problem *p = s->p;
    int from_h = p->hours[day - 1];
    int hours = p->hours[day] - from_h;
    fl_status status = FL_OK;
    if (is_look) {
        status = fl_branching_look(pest->model, pest->detect, p->cap, state, err);
    }
    if (status == FL_OK && trickles(pest)) {
        double mean =
            pest->inflow_per_day * hours / HOURS_PER_DAY + (is_look ? pest->inflow_per_look : 0.0);
        status = add_trickle(s, pest, mean, state, sum, err);
    }
    if (status != FL_OK) {
        return status;
    }
    if (p->temps_c != NULL) {
        return fl_branching_back(pest->model, 0.0, &p->temps_c[from_h], hours, state, err);
    }
    return fl_branching_back_constant(pest->model, 0.0, p->temp_c, hours, state, err);
}

static fl_status backward_pest(fl_lookplan_pass *s, size_t index, const bool *is_look, int release,
                               fl_err *err)
{
    const fl_lookplan_pest *pest = &s->p->pests[index];
    fl_branching state;
    double sum[2 * FL_MIXTURE_MAX] = {0.0};
    fl_status status = fl_branching_end(pest->model, s->n_mix, s->multiplier, &state, err);
    for (int day = release; day >= 0 && status == FL_OK; day--) {
        size_t bytes = (size_t)(state.n * state.n_mix) * sizeof(double);
        memcpy(ahead_of(s, index, day), state.quiet, bytes);
        memcpy(ahead_of(s, index, day) + s->stride, state.gone, bytes);
        memcpy(trickle_of(s, index, day), sum, 2 * (size_t)s->n_mix * sizeof sum[0]);
        if (day > 0) {
            status = go_back(s, pest, day, is_look[day], &state, sum, err);
        }
    }
    return status;
}

fl_status fl_lookplan_backward(fl_lookplan_pass *s, const bool *is_look, int release, fl_err *err)
{
    fl_status status = FL_OK;
    for (size_t i = 0; i < s->p->n_copies && status == FL_OK; i++) {
        size_t pest = s->p->copies[i].pest;
        if (i == 0 || pest != s->p->copies[i - 1].pest) {
            status = backward_pest(s, pest, is_look, release, err);
        }
    }
    return status;
}

/* ---- the load ---- */

/* The chance of one copy from the masses alive and found by multiplier. */
static fl_status read_chance(fl_lookplan_pass *s, const fl_lookplan_copy *copy, const double *mass,
                             double *out, fl_err *err)
{
    fl_filter *reader = s->reader;
    fl_chance chance = {0};
    for (int w = 0; w < s->n_mix; w++) {
        reader->alive[0][w] = mass[w];
        reader->found[w] = mass[s->n_mix + w];
        reader->dead[w] = fmax(0.0, 1.0 - mass[w] - mass[s->n_mix + w]);
    }
    if (copy->is_steady) {
        return fl_filter_steady_chance(reader, s->p->mix_weight, out, err);
    }
    reader->prior = copy->state->prior;
    fl_status status = fl_filter_chance(reader, s->p->mix_weight, &s->p->founders, &chance, err);
    *out = chance.chance;
    return status;
}

/* mass: of copy i at i * step. Largest of each root, roots combined, pests weighed and added. */
static fl_status read_load(fl_lookplan_pass *s, const double *mass, size_t step, double *out,
                           fl_err *err)
{
    const fl_lookplan_problem *p = s->p;
    double sum[FL_LOOKPLAN_USES_MAX] = {0.0};
    double quiet = 1.0;
    double largest = 0.0;
    fl_status status = FL_OK;
    for (size_t i = 0; i < p->n_copies && status == FL_OK; i++) {
        const fl_lookplan_copy *copy = &p->copies[i];
        const fl_lookplan_copy *next = i + 1 < p->n_copies ? copy + 1 : NULL;
        double chance = 0.0;
        status = read_chance(s, copy, mass + i * step, &chance, err);
        largest = fmax(largest, chance);
        bool is_last_of_pest = next == NULL || next->pest != copy->pest;
        if (is_last_of_pest || next->root != copy->root) {
            quiet *= 1.0 - largest;
            largest = 0.0;
        }
        if (is_last_of_pest) {
            for (int u = 0; u < p->n_uses; u++) {
                sum[u] += p->pests[copy->pest].weight[u] * (1.0 - quiet);
            }
            quiet = 1.0;
        }
    }
    double load = 0.0;
    for (int u = 0; u < p->n_uses; u++) {
        load = fmax(load, sum[u] / p->ceiling[u]);
    }
    if (status == FL_OK) {
        *out = load;
    }
    return status;
}

fl_status fl_lookplan_load_after(fl_lookplan_pass *s, int day, double *out, fl_err *err)
{
    return read_load(s, after_of(s, 0, day), (size_t)s->p->n_days * 2 * (size_t)s->n_mix, out, err);
}

/* What a copy's masses before a day come to at the release. */
static void price_copy(fl_lookplan_pass *s, size_t index, int day, bool has_look)
{
    const fl_lookplan_copy *copy = &s->p->copies[index];
    const fl_lookplan_pest *pest = &s->p->pests[copy->pest];
    const double *before = before_of(s, index, day);
    const double *quiet = ahead_of(s, copy->pest, day);
    const double *gone = quiet + s->stride;
    double *end = s->at_end + index * 2 * (size_t)s->n_mix;
    const double *found = before + s->stride;
    const double *later = trickle_of(s, copy->pest, day);
    for (int w = 0; w < s->n_mix; w++) {
        end[w] = copy->takes_inflow ? later[w] : 0.0;
        end[s->n_mix + w] = found[w] + (copy->takes_inflow ? later[s->n_mix + w] : 0.0);
    }
    double opened = copy->takes_inflow && has_look ? pest->inflow_per_look : 0.0;
    int j = 0;
    int n_stages = pest->model->n_stages * fl_filter_generations(pest->model);
    for (int g = 0; g < n_stages; g++) {
        int i = g % pest->model->n_stages;
        int n = pest->model->stage[i].n_substages;
        double came_in = g == i ? opened * pest->inflow_share[i] / n : 0.0; /* founders */
        for (int k = 0; k < n; k++) {
            for (int w = 0; w < s->n_mix; w++, j++) {
                double one = has_look ? fmin(s->p->cap, s->multiplier[w] * pest->detect[i]) : 0.0;
                double q = fl_filter_seen_of(pest->model, g / pest->model->n_stages, one);
                double mass = before[j] + came_in;
                end[w] += mass * (1.0 - q) * (quiet[j] - gone[j]);
                end[s->n_mix + w] += mass * (q + (1.0 - q) * (1.0 - quiet[j]));
            }
        }
    }
}

fl_status fl_lookplan_price(fl_lookplan_pass *s, int day, bool has_look, double *out, fl_err *err)
{
    for (size_t i = 0; i < s->p->n_copies; i++) {
        price_copy(s, i, day, has_look);
    }
    return read_load(s, s->at_end, 2 * (size_t)s->n_mix, out, err);
}
