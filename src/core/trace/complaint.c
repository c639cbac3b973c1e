/* Runs and reads a complaint. */
#include "core/trace/complaint.h"

#include <math.h>

#include "core/clear/steady.h"

#define DAY_H 24

/* ---- time and looks at the customer's ---- */

/* The hour of the next look after `hour`, or the end. */
static int next_look(const fl_complaint_query *q, int hour)
{
    const int left = q->n_hours - hour;
    const int past = left % q->look_every_h;
    return past > 0 ? hour + past : hour + q->look_every_h;
}

static fl_status look_there(const fl_complaint_query *q, fl_filter *state, fl_err *err)
{
    return fl_filter_look(q->model, q->glance, q->seen.cap, state, err);
}

/* One way in, from leaving to just before the look that noticed it. */
static fl_status follow(const fl_complaint_query *q, fl_filter *state, fl_err *err)
{
    fl_status status = FL_OK;
    for (int hour = 0; hour < q->n_hours && status == FL_OK;) {
        const int to = next_look(q, hour);
        status = fl_filter_advance_constant(q->model, q->temp_c, to - hour, state, err);
        if (status == FL_OK && to < q->n_hours) {
            status = look_there(q, state, err);
        }
        hour = to;
    }
    return status;
}

/* The customer's own hazard at one founder a day: each stretch takes in its share at its middle. */
static fl_status follow_hazard(const fl_complaint_query *q, fl_filter *state, fl_err *err)
{
    fl_status status = FL_OK;
    for (int hour = 0; hour < q->n_hours && status == FL_OK;) {
        const int look = next_look(q, hour);
        const int to = look - hour > DAY_H ? hour + DAY_H : look;
        const int half = (to - hour) / 2;
        status = fl_filter_advance_constant(q->model, q->temp_c, half, state, err);
        if (status == FL_OK) {
            status = fl_filter_inflow(q->model, (to - hour) / (double)DAY_H, q->share, state, err);
        }
        if (status == FL_OK) {
            status = fl_filter_advance_constant(q->model, q->temp_c, to - hour - half, state, err);
        }
        if (status == FL_OK && to == look && to < q->n_hours) {
            status = look_there(q, state, err);
        }
        hour = to;
    }
    return status;
}

/* ---- many founders ---- */

/* P(none of a way's founders is among the mass): 1 - prior + prior G(1 - mass), G of a
 * zero-truncated Poisson number; of a steady hazard exp(-mass). */
static double none_of(const fl_complaint_way *way, double mass, double founders)
{
    if (way->is_steady) {
        return exp(-mass);
    }
    return fmax(0.0, 1.0 - way->prior * expm1(-founders * mass) / expm1(-founders));
}

/* Puts a way's state at leaving into the products. */
static void take_left(const fl_complaint_query *q, const fl_complaint_way *way,
                      fl_complaint_masses *out)
{
    for (int w = 0; w < q->n_mix; w++) {
        const double found = way->left->found[w];
        const double here = found + fl_filter_alive(way->left, w);
        out->left_quiet[w] *= none_of(way, found, q->seen.founders);
        out->left_clean[w] *= none_of(way, here, q->seen.founders);
    }
}

/* Puts a way's state just before the look into the products; drop and as gather what the look would
 * show of it. */
static void take_noticed(const fl_complaint_query *q, const fl_complaint_way *way,
                         const fl_filter *state, fl_complaint_masses *out, double *drop)
{
    for (int w = 0; w < q->n_mix; w++) {
        const fl_source_founder one = fl_source_founder_seen(q->model, state, w, &q->seen);
        const double before = none_of(way, state->found[w], q->seen.founders);
        const double after = none_of(way, state->found[w] + one.any, q->seen.founders);
        out->quiet[w] *= before;
        out->still_quiet[w] *= after;
        drop[w] += before - after;
        out->as_seen[w] += one.any > 0.0 ? (before - after) * one.as / one.any : 0.0;
    }
}

/* ---- the run ---- */

static fl_status check(const fl_complaint_query *q, fl_err *err)
{
    if (q->n_hours < 0 || q->n_hours > FL_COMPLAINT_HOURS_MAX) {
        return fl_fail(err, FL_ETOOBIG, "%d hours from leaving to noticing: give 0 to %d",
                       q->n_hours, FL_COMPLAINT_HOURS_MAX);
    }
    if (q->look_every_h < DAY_H) {
        return fl_fail(err, FL_EDOMAIN, "a look every %d hours: give %d or more", q->look_every_h,
                       DAY_H);
    }
    if (q->seen.stage < -1 || q->seen.stage >= q->model->n_stages) {
        return fl_fail(err, FL_EDOMAIN, "stage %d was seen: give 0 to %d, or -1", q->seen.stage,
                       q->model->n_stages - 1);
    }
    if (!(q->seen.founders >= 1e-6 && q->seen.founders <= 1e6)) {
        return fl_fail(err, FL_EDOMAIN, "%g founders: give 1e-6 to 1e6", q->seen.founders);
    }
    for (size_t i = 0; i < q->n_ways; i++) {
        const fl_complaint_way *way = &q->ways[i];
        if (!way->is_steady && !(way->prior >= 0.0 && way->prior <= 1.0)) {
            return fl_fail(err, FL_EDOMAIN, "prior %g: give 0 to 1", way->prior);
        }
        if (way->left->n_mix != q->n_mix) {
            return fl_fail(err, FL_EINVAL, "%d multipliers where %d are asked for",
                           way->left->n_mix, q->n_mix);
        }
    }
    return FL_OK;
}

static fl_status run_ways(const fl_complaint_query *q, fl_complaint_masses *out, fl_err *err)
{
    double drop[FL_MIXTURE_MAX] = {0};
    fl_status status = FL_OK;
    for (size_t i = 0; i < q->n_ways && status == FL_OK; i++) {
        fl_filter state = *q->ways[i].left;
        status = fl_filter_check(q->model, &state, err);
        if (status == FL_OK) {
            take_left(q, &q->ways[i], out);
            status = follow(q, &state, err);
        }
        if (status == FL_OK) {
            take_noticed(q, &q->ways[i], &state, out, drop);
        }
    }
    for (int w = 0; w < q->n_mix && status == FL_OK; w++) {
        out->as_seen[w] = drop[w] > 0.0 ? out->as_seen[w] / drop[w] : 0.0;
    }
    return status;
}

fl_status fl_complaint_run(const fl_complaint_query *query, fl_complaint_masses *out, fl_err *err)
{
    fl_complaint_masses masses = {.n_mix = query->n_mix};
    fl_filter there;
    fl_status status =
        fl_filter_start_empty(query->model, query->n_mix, query->multiplier, &there, err);
    if (status == FL_OK) {
        status = check(query, err);
    }
    for (int w = 0; w < query->n_mix && status == FL_OK; w++) {
        masses.left_quiet[w] = masses.left_clean[w] = 1.0;
        masses.quiet[w] = masses.still_quiet[w] = 1.0;
    }
    if (status == FL_OK) {
        status = run_ways(query, &masses, err);
    }
    if (status == FL_OK) {
        status = follow_hazard(query, &there, err);
    }
    if (status != FL_OK) {
        return status;
    }
    for (int w = 0; w < query->n_mix; w++) {
        const fl_source_founder one = fl_source_founder_seen(query->model, &there, w, &query->seen);
        masses.there_found[w] = there.found[w];
        masses.there_any[w] = one.any;
        masses.there_as[w] = one.as;
    }
    *out = masses;
    return FL_OK;
}

/* ---- the answer ---- */

fl_status fl_complaint_read(const fl_complaint_masses *m, double hazard_per_day,
                            const double *weight, fl_complaint_answer *out, fl_err *err)
{
    double all = 0.0;
    double quiet = 0.0;
    double left = 0.0;
    double here = 0.0;
    double there = 0.0;
    if (!(hazard_per_day >= 0.0 && isfinite(hazard_per_day))) {
        return fl_fail(err, FL_EDOMAIN, "hazard %g a day: give 0 or more", hazard_per_day);
    }
    for (int w = 0; w < m->n_mix; w++) {
        const double unseen = exp(-hazard_per_day * m->there_found[w]); /* E0 */
        const double any = hazard_per_day * m->there_any[w];
        const double as = m->there_any[w] > 0.0 ? m->there_as[w] / m->there_any[w] : 0.0;
        if (!(weight[w] >= 0.0 && isfinite(weight[w]))) {
            return fl_fail(err, FL_EDOMAIN, "weight %d is %g: give 0 or more", w, weight[w]);
        }
        all += weight[w];
        quiet += weight[w] * m->left_quiet[w];
        left += weight[w] * (m->left_quiet[w] - m->left_clean[w]);
        here += weight[w] * unseen * (m->quiet[w] - m->still_quiet[w]) * m->as_seen[w];
        there += weight[w] * unseen * -expm1(-any) * m->still_quiet[w] * as;
    }
    if (!(all > 0.0)) {
        return fl_fail(err, FL_EDOMAIN, "all weights are 0: give at least one above 0");
    }
    *out = (fl_complaint_answer){.chance_left = quiet > 0.0 ? left / quiet : 0.0,
                                 .noticed_here = quiet > 0.0 ? here / quiet : 0.0,
                                 .noticed_there = quiet > 0.0 ? there / quiet : 0.0,
                                 .chance_here =
                                     here + there > 0.0 ? here / (here + there) : (double)NAN};
    return FL_OK;
}
