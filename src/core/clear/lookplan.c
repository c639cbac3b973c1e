/* Finds the days to look on. The passes and the load are in lookplan_pass.c. */
#include "core/clear/lookplan.h"

#include <math.h>
#include <string.h>

#include "core/clear/lookplan_pass.h"

#define SWEEPS_MAX 6
#define EXACT_LOOKS 3 /* up to so many, all choices of days are tried */
#define HOURS_PER_DAY 24.0

/* A plan in the making; the last look is on day `release`. */
typedef struct draft {
    bool is_look[FL_LOOKPLAN_DAYS_MAX];
    int release;
    double load; /* at the release */
} draft;

static int count_looks(const draft *d)
{
    int n = 0;
    for (int day = 0; day <= d->release; day++) {
        n += d->is_look[day];
    }
    return n;
}

/* ---- the gap ---- */

static bool is_after_last(const fl_lookplan_problem *p, int day)
{
    return p->since_last_look_h < 0 || p->hours[day] + p->since_last_look_h >= FL_LOOKPLAN_GAP_H;
}

/* A look on `day` keeps its distance from the last one before now and from those of the draft. */
static bool is_admissible(const fl_lookplan_problem *p, const draft *d, int day)
{
    if (!is_after_last(p, day)) {
        return false;
    }
    for (int other = 0; other <= d->release; other++) {
        int apart_h = p->hours[day] - p->hours[other];
        if (d->is_look[other] && other != day && apart_h < FL_LOOKPLAN_GAP_H &&
            apart_h > -FL_LOOKPLAN_GAP_H) {
            return false;
        }
    }
    return true;
}

/* As many looks as the gap allows, counted back from the release. */
static void fill_back(const fl_lookplan_problem *p, int release, draft *d)
{
    memset(d, 0, sizeof *d);
    d->release = release;
    d->is_look[release] = true;
    for (int day = release - 1; day >= 0; day--) {
        d->is_look[day] = is_admissible(p, d, day);
    }
}

/* ---- pricing a draft ---- */

/* Both passes over a draft, and its load. */
static fl_status run_draft(fl_lookplan_pass *s, draft *d, fl_err *err)
{
    fl_status status = fl_lookplan_forward(s, d->is_look, 0, d->release, err);
    if (status == FL_OK) {
        status = fl_lookplan_backward(s, d->is_look, d->release, err);
    }
    return status == FL_OK ? fl_lookplan_load_after(s, d->release, &d->load, err) : status;
}

/* After run_draft: the admissible day whose look lowers the load most, from `first` on; -1 when
 * there is none. */
static fl_status best_addition(fl_lookplan_pass *s, const draft *d, int first, int *day,
                               double *load, fl_err *err)
{
    fl_status status = FL_OK;
    *day = -1;
    for (int i = first; i < d->release && status == FL_OK; i++) {
        double price = 0.0;
        if (d->is_look[i] || !is_admissible(s->p, d, i)) {
            continue;
        }
        status = fl_lookplan_price(s, i, true, &price, err);
        if (status == FL_OK && (*day < 0 || price < *load)) {
            *day = i;
            *load = price;
        }
    }
    return status;
}

/* After run_draft: the look before the release that matters least; -1 when there is none. */
static fl_status least_look(fl_lookplan_pass *s, const draft *d, int *day, double *load,
                            fl_err *err)
{
    fl_status status = FL_OK;
    *day = -1;
    for (int i = 0; i < d->release && status == FL_OK; i++) {
        double price = 0.0;
        if (!d->is_look[i]) {
            continue;
        }
        status = fl_lookplan_price(s, i, false, &price, err);
        if (status == FL_OK && (*day < 0 || price < *load)) {
            *day = i;
            *load = price;
        }
    }
    return status;
}

/* Leaves out the look that matters least until at most `most` are left. */
static fl_status thin_out(fl_lookplan_pass *s, draft *d, int most, fl_err *err)
{
    fl_status status = FL_OK;
    for (int n = count_looks(d); n > most && status == FL_OK; n--) {
        int day = -1;
        status = run_draft(s, d, err);
        if (status == FL_OK) {
            status = least_look(s, d, &day, &d->load, err);
        }
        if (status == FL_OK && day >= 0) {
            d->is_look[day] = false;
        }
    }
    return status;
}

/* Moves single looks to better days until none is, or SWEEPS_MAX times. Leaves d->load right. */
static fl_status settle(fl_lookplan_pass *s, draft *d, fl_err *err)
{
    bool has_moved = true;
    fl_status status = run_draft(s, d, err);
    for (int sweep = 0; sweep < SWEEPS_MAX && has_moved && status == FL_OK; sweep++) {
        has_moved = false;
        for (int day = 0; day < d->release && status == FL_OK; day++) {
            if (!d->is_look[day]) {
                continue;
            }
            draft without = *d;
            int better = -1;
            double load = 0.0;
            without.is_look[day] = false;
            status = run_draft(s, &without, err);
            if (status == FL_OK) {
                status = best_addition(s, &without, 0, &better, &load, err);
            }
            if (status == FL_OK && better >= 0 && better != day && load < d->load * (1.0 - 1e-9)) {
                without.is_look[better] = true;
                without.load = load;
                *d = without;
                has_moved = true;
            }
        }
    }
    return status;
}

/* ---- the best plan for one release ---- */

/* With one look more than the release's own: every day is priced by one pair of passes. */
static fl_status add_best(fl_lookplan_pass *s, draft *d, int first, fl_err *err)
{
    int day = -1;
    double load = 0.0;
    fl_status status = run_draft(s, d, err);
    if (status == FL_OK) {
        status = best_addition(s, d, first, &day, &load, err);
    }
    if (status == FL_OK && day >= 0 && load < d->load) {
        d->is_look[day] = true;
        d->load = load;
    }
    return status;
}

/* Up to EXACT_LOOKS looks: the first look on every day in turn, the second priced. */
static fl_status best_of_few(fl_lookplan_pass *s, int release, int most, draft *best, fl_err *err)
{
    draft alone = {.release = release};
    alone.is_look[release] = true;
    fl_status status = most > 1 ? add_best(s, &alone, 0, err) : run_draft(s, &alone, err);
    *best = alone;
    for (int first = 0; first < release && most >= EXACT_LOOKS && status == FL_OK; first++) {
        draft d = {.release = release};
        d.is_look[release] = true;
        if (!is_admissible(s->p, &d, first)) {
            continue;
        }
        d.is_look[first] = true;
        status = add_best(s, &d, first + 1, err);
        if (status == FL_OK && d.load < best->load) {
            *best = d;
        }
    }
    return status;
}

/* At most `most` looks, the last on day `release`. */
static fl_status best_for(fl_lookplan_pass *s, int release, int most, draft *out, fl_err *err)
{
    if (most <= EXACT_LOOKS) {
        return best_of_few(s, release, most, out, err);
    }
    draft d;
    fill_back(s->p, release, &d);
    int n_all = count_looks(&d);
    fl_status status = thin_out(s, &d, most, err);
    if (status == FL_OK) {
        /* Where every day is a look already there is nothing to move. */
        status = n_all == release + 1 && n_all <= most ? run_draft(s, &d, err) : settle(s, &d, err);
    }
    *out = d;
    return status;
}

/* Fewer looks, as long as the load stays at or below 1. */
static fl_status save_looks(fl_lookplan_pass *s, draft *d, fl_err *err)
{
    fl_status status = FL_OK;
    for (bool is_done = false; !is_done && status == FL_OK;) {
        int day = -1;
        double load = 0.0;
        status = run_draft(s, d, err);
        if (status == FL_OK) {
            status = least_look(s, d, &day, &load, err);
        }
        is_done = day < 0 || load > 1.0;
        if (status == FL_OK && !is_done) {
            d->is_look[day] = false;
        }
    }
    for (int n = count_looks(d) - 1; n >= 1 && status == FL_OK; n--) {
        draft fewer;
        status = best_for(s, d->release, n, &fewer, err);
        if (status != FL_OK || fewer.load > 1.0) {
            break;
        }
        *d = fewer;
    }
    int n = count_looks(d);
    draft same = *d;
    if (status == FL_OK && n <= EXACT_LOOKS) {
        status = best_of_few(s, d->release, n, &same, err);
    } else if (status == FL_OK) {
        status = settle(s, &same, err);
    }
    if (status == FL_OK && count_looks(&same) == n) {
        *d = same;
    }
    return status;
}

/* ---- answers ---- */

/* Everything a plan says of each day. */
static fl_status describe(fl_lookplan_pass *s, const draft *d, bool is_release, fl_lookplan *out,
                          fl_err *err)
{
    fl_lookplan plan = {.release = is_release ? d->release : FL_LOOKPLAN_NEVER,
                        .n_looks = count_looks(d)};
    int n_days = s->p->n_days;
    fl_status status = fl_lookplan_forward(s, d->is_look, 0, n_days - 1, err);
    if (status == FL_OK) {
        status = fl_lookplan_backward(s, d->is_look, d->release, err);
    }
    for (int day = 0; day < n_days && status == FL_OK; day++) {
        fl_lookplan_day *at = &plan.day[day];
        *at = (fl_lookplan_day){.is_look = d->is_look[day], .load_changed = (double)NAN};
        status = fl_lookplan_load_after(s, day, &at->load, err);
        bool can_change = d->is_look[day] || is_admissible(s->p, d, day);
        if (status == FL_OK && day <= d->release && can_change) {
            status = fl_lookplan_price(s, day, !d->is_look[day], &at->load_changed, err);
        }
    }
    if (status == FL_OK) {
        *out = plan;
    }
    return status;
}

fl_status fl_lookplan_run(const fl_lookplan_problem *problem, const bool *is_look, void *work,
                          double *load, fl_err *err)
{
    fl_lookplan_pass s;
    double loads[FL_LOOKPLAN_DAYS_MAX];
    fl_status status = fl_lookplan_open(problem, work, &s, err);
    if (status == FL_OK) {
        status = fl_lookplan_forward(&s, is_look, 0, problem->n_days - 1, err);
    }
    for (int day = 0; day < problem->n_days && status == FL_OK; day++) {
        status = fl_lookplan_load_after(&s, day, &loads[day], err);
    }
    if (status == FL_OK) {
        memcpy(load, loads, (size_t)problem->n_days * sizeof loads[0]);
    }
    return status;
}

/* Looks from day `first` on, wherever the gap allows one, until one of them lets the lot go; looks
 * that are in the draft already stay. */
static fl_status look_on(fl_lookplan_pass *s, draft *d, int first, bool *is_release, fl_err *err)
{
    const fl_lookplan_problem *p = s->p;
    fl_status status = FL_OK;
    *is_release = false;
    for (int day = 0; day < p->n_days && !*is_release && status == FL_OK; day++) {
        d->release = day;
        d->is_look[day] = d->is_look[day] || (day >= first && is_admissible(p, d, day));
        /* goes on from what stands before the last day */
        status = fl_lookplan_forward(s, d->is_look, day > 0 ? day - 1 : 0, day, err);
        if (status == FL_OK && d->is_look[day] && day >= p->first_release) {
            status = fl_lookplan_load_after(s, day, &d->load, err);
            *is_release = status == FL_OK && d->load <= 1.0;
        }
    }
    return status;
}

fl_status fl_lookplan_every(const fl_lookplan_problem *problem, void *work, fl_lookplan *out,
                            fl_err *err)
{
    fl_lookplan_pass s;
    draft d = {.release = 0};
    bool is_release = false;
    fl_status status = fl_lookplan_open(problem, work, &s, err);
    if (status == FL_OK) {
        status = look_on(&s, &d, 0, &is_release, err);
    }
    fl_lookplan plan = {.release = is_release ? d.release : FL_LOOKPLAN_NEVER,
                        .n_looks = count_looks(&d)};
    for (int day = 0; day < problem->n_days && status == FL_OK; day++) {
        plan.day[day] = (fl_lookplan_day){
            .is_look = d.is_look[day], .load = (double)NAN, .load_changed = (double)NAN};
        if (day <= d.release) {
            status = fl_lookplan_load_after(&s, day, &plan.day[day].load, err);
        }
    }
    if (status == FL_OK) {
        *out = plan;
    }
    return status;
}

fl_status fl_lookplan_find(const fl_lookplan_problem *problem, void *work, fl_lookplan *out,
                           fl_err *err)
{
    fl_lookplan_pass s;
    draft every = {.release = problem->n_days - 1};
    double bound[FL_LOOKPLAN_DAYS_MAX];
    fl_status status = fl_lookplan_open(problem, work, &s, err);
    /* A look on every day, gap or not, is the least load that any plan can have. */
    for (int day = 0; day < problem->n_days && status == FL_OK; day++) {
        every.is_look[day] = true;
    }
    if (status == FL_OK) {
        status = fl_lookplan_forward(&s, every.is_look, 0, every.release, err);
    }
    for (int day = 0; day < problem->n_days && status == FL_OK; day++) {
        status = fl_lookplan_load_after(&s, day, &bound[day], err);
    }
    for (int day = problem->first_release; day < problem->n_days && status == FL_OK; day++) {
        draft d;
        if (bound[day] > 1.0 || !is_after_last(problem, day)) {
            continue;
        }
        status = best_for(&s, day, problem->most_looks, &d, err);
        if (status != FL_OK || d.load > 1.0) {
            continue;
        }
        status = save_looks(&s, &d, err);
        return status == FL_OK ? describe(&s, &d, true, out, err) : status;
    }
    draft none = {.release = 0};
    for (int day = 0; day < problem->n_days && status == FL_OK; day++) {
        none.release = day;
        none.is_look[day] = is_admissible(problem, &none, day);
    }
    return status == FL_OK ? describe(&s, &none, false, out, err) : status;
}

fl_status fl_lookplan_missed(const fl_lookplan_problem *problem, const fl_lookplan *plan,
                             int missed, void *work, int *out, fl_err *err)
{
    fl_lookplan_pass s;
    draft d = {.release = 0};
    bool is_release = false;
    fl_status status = fl_lookplan_open(problem, work, &s, err);
    if (status != FL_OK) {
        return status;
    }
    if (missed < 0 || missed >= problem->n_days || !plan->day[missed].is_look) {
        return fl_fail(err, FL_EINVAL, "day %d is no look of the plan", missed);
    }
    for (int day = 0; day < problem->n_days; day++) {
        d.is_look[day] = plan->day[day].is_look && day != missed;
    }
    int first = plan->release == FL_LOOKPLAN_NEVER ? problem->n_days : plan->release + 1;
    status = look_on(&s, &d, first, &is_release, err);
    if (status == FL_OK) {
        *out = is_release ? d.release : FL_LOOKPLAN_NEVER;
    }
    return status;
}

/* ---- expected cost ---- */

static fl_status check_costs(const fl_lookplan_problem *p, int release,
                             const fl_lookplan_costs *costs, fl_err *err)
{
    const double all[4] = {costs->per_day, costs->per_look, costs->find, costs->escape};
    if (p->n_copies != 1 || p->copies[0].is_steady) {
        return fl_fail(err, FL_EINVAL, "expected costs are of one root that is no trickle");
    }
    if (release < 0 || release >= p->n_days) {
        return fl_fail(err, FL_EINVAL, "release on day %d: give 0 to %d", release, p->n_days - 1);
    }
    for (int i = 0; i < 4; i++) {
        if (!(all[i] >= 0.0 && all[i] <= 1e12)) {
            return fl_fail(err, FL_EDOMAIN, "cost %g: give 0 to 1e12", all[i]);
        }
    }
    return FL_OK;
}

/* The mean over multipliers of the masses at `mass` (n_mix of them). */
static double mean_mass(const fl_lookplan_pass *s, const double *mass)
{
    double sum = 0.0;
    double weight = 0.0;
    for (int w = 0; w < s->n_mix; w++) {
        sum += s->p->mix_weight[w] * mass[w];
        weight += s->p->mix_weight[w];
    }
    return sum / weight;
}

fl_status fl_lookplan_expect(const fl_lookplan_problem *problem, const bool *is_look, int release,
                             const fl_lookplan_costs *costs, void *work, fl_lookplan_cost *out,
                             fl_err *err)
{
    fl_lookplan_pass s;
    double ignored = 0.0;
    fl_status status = check_costs(problem, release, costs, err);
    if (status == FL_OK) {
        status = fl_lookplan_open(problem, work, &s, err);
    }
    if (status == FL_OK) {
        status = fl_lookplan_forward(&s, is_look, 0, release, err);
    }
    if (status == FL_OK) { /* the weights are sound when a chance can be read */
        status = fl_lookplan_load_after(&s, release, &ignored, err);
    }
    if (status != FL_OK) {
        return status;
    }
    const fl_filter *now = problem->copies[0].state;
    double quiet_now = 1.0 - now->prior * mean_mass(&s, now->found);
    double quiet = 1.0;
    double cost = costs->per_day * problem->hours[0] / HOURS_PER_DAY;
    for (int day = 0; day <= release; day++) {
        const double *after = s.after + (size_t)day * 2 * (size_t)s.n_mix;
        cost += is_look[day] ? costs->per_look * quiet : 0.0;
        quiet = (1.0 - now->prior * mean_mass(&s, after + s.n_mix)) / quiet_now;
        if (day < release) {
            cost += costs->per_day * quiet * (problem->hours[day + 1] - problem->hours[day]) /
                    HOURS_PER_DAY;
        }
    }
    const double *end = s.after + (size_t)release * 2 * (size_t)s.n_mix;
    *out = (fl_lookplan_cost){.prob_quiet = quiet,
                              .prob_released = now->prior * mean_mass(&s, end) / quiet_now};
    out->expected = cost + costs->find * (1.0 - quiet) + costs->escape * out->prob_released;
    return FL_OK;
}
