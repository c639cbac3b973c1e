/* The guard: of what came in with a lot, the share that would have shown itself by now (design, the
 * gate). What came in is each root that met the lot, weighed by its prior and by what rode along;
 * looks and treatments are left out, for the guard asks only about time and warmth. */
#include <math.h>

#include "app/chance_work.h"

/* One root that came to the lot. */
typedef struct arrival {
    const fl_copy *copy; /* of its copies here the one that most of it came with */
    double weight;       /* prior x what rode along */
    int64_t met_h;       /* when it first met the lot */
} arrival;

/* The first stage that this effort sees well enough; -1 when there is none. */
static int first_seen(const fl_threat *threat, fl_effort effort)
{
    for (int i = 0; i < threat->n_stages; i++) {
        if (fl_know_detect(threat, i, effort, 0, false) >= FL_GUARD_DETECT) {
            return i;
        }
    }
    return -1;
}

static int64_t hours_of(const fl_prog *prog)
{
    int64_t hours = 0;
    for (; prog != NULL; prog = prog->parent) {
        hours += prog->op->kind == FL_OP_TIME ? prog->op->time.n_hours : 0;
    }
    return hours;
}

/* Runs the starts, finds, links and waits of a programme, leaving looks and treatments out, until
 * *left hours have passed. Nodes are shared between histories, so their at_h tells nothing here. */
static fl_status bare_history(const fl_prog *prog, fl_filter *state, int64_t *left, fl_err *err)
{
    if (prog == NULL) {
        return FL_OK;
    }
    fl_status status = bare_history(prog->parent, state, left, err);
    fl_op op = *prog->op;
    if (status != FL_OK) {
        return status;
    }
    if (op.kind == FL_OP_TIME) {
        op.time.n_hours = (int)(op.time.n_hours < *left ? op.time.n_hours : *left);
        *left -= op.time.n_hours;
    } else if (op.kind != FL_OP_START && op.kind != FL_OP_FIND && op.kind != FL_OP_THIN) {
        return FL_OK;
    }
    return fl_op_apply(prog->model, &op, state, err);
}

/* The share of what is alive that is at or beyond a stage. */
static double reached(const fl_stage_model *model, const fl_filter *state, int stage)
{
    int first = 0;
    double all = fl_filter_alive(state, 0);
    double sum = 0.0;
    for (int i = 0; i < stage; i++) {
        first += model->stage[i].n_substages;
    }
    for (int i = first; i < state->n; i++) {
        sum += state->alive[i][0];
    }
    return all > 0.0 ? fmin(1.0, sum / all) : 1.0;
}

/* What is asked of one pest on one lot. */
typedef struct question {
    fl_chances *c;
    const fl_pest *pest;
    const fl_lot *lot;
    int stage;           /* the first that is seen; -1: none */
    double temp_c;       /* of the place from now on; NAN: as it will be */
    const int64_t *at_s; /* [n], in order */
    int n;
} question;

/* The roots on a carrier that came with or to the lot; arrivals[n_copies of the pest]. */
static fl_status gather(const question *q, size_t carrier, arrival *arrivals, size_t *n,
                        fl_err *err)
{
    const fl_spread *s = &q->pest->slow;
    size_t lot = fl_chances_lot_index(q->c, q->lot);
    fl_status status = FL_OK;
    *n = 0;
    for (size_t i = s->carriers[carrier].first; i != FL_NO_INDEX && status == FL_OK;
         i = s->copies[i].next) {
        const fl_copy *copy = &s->copies[i];
        fl_filter state = {.n_mix = 1, .multiplier = {1.0}};
        int64_t none = 0;
        size_t at = 0;
        if (copy->is_closed || copy->is_ended || copy->is_steady) {
            continue;
        }
        status = bare_history(copy->prog, &state, &none, err);
        double weight =
            status == FL_OK ? fl_spread_prior(s, copy) * fl_filter_alive(&state, 0) : 0.0;
        while (at < *n && arrivals[at].copy->root != copy->root) {
            at++;
        }
        if (at == *n) {
            int64_t met_h = fl_chances_met_at(q->c, q->pest, lot, copy->root);
            arrivals[(*n)++] = (arrival){copy, weight, met_h};
        } else if (weight > arrivals[at].weight) {
            arrivals[at].copy = copy;
            arrivals[at].weight = weight;
        }
    }
    return status;
}

/* share[n] of one root. */
static fl_status shares_of(const question *q, const arrival *a, double *share, fl_err *err)
{
    const fl_stage_model *model = q->pest->slow.model;
    fl_filter state = {.n_mix = 1, .multiplier = {1.0}};
    int64_t start_h = a->copy->at_h - hours_of(a->copy->prog);
    int64_t state_h = INT64_MIN; /* the state holds here, with all that has been behind it */
    fl_status status = FL_OK;
    for (int k = 0; k < q->n && status == FL_OK; k++) {
        int64_t to_h = q->at_s[k] / FL_HOUR_S;
        int64_t left = to_h > start_h ? to_h - start_h : 0;
        if (state_h != INT64_MIN && to_h >= state_h) {
            left = to_h - state_h;
        } else {
            state = (fl_filter){.n_mix = 1, .multiplier = {1.0}};
            status = bare_history(a->copy->prog, &state, &left, err);
        }
        if (status == FL_OK && left > 0) { /* beyond what has been: the place as it is */
            fl_op op = {.kind = FL_OP_TIME};
            op.time.n_hours = (int)left;
            if (isnan(q->temp_c)) {
                fl_temps_of_place(q->c->room, q->lot->place, to_h - left, to_h, &q->c->arena,
                                  &op.time.temps_c, &op.time.temp_c);
            } else {
                op.time.temp_c = q->temp_c;
            }
            status = fl_op_apply(model, &op, &state, err);
            state_h = to_h;
        }
        /* A look from before it came has not seen it. */
        share[k] = to_h < a->met_h ? 0.0 : reached(model, &state, q->stage);
    }
    return status;
}

/* share[n] over all roots, weighed. */
static fl_status shares(const question *q, size_t carrier, double *share, fl_err *err)
{
    double own[FL_FORECAST_LOOKS] = {0};
    double all = 0.0;
    size_t n_arrivals = 0;
    arrival *arrivals = FL_ARENA_ARRAY(&q->c->arena, arrival, q->pest->slow.n_copies);
    fl_status status = gather(q, carrier, arrivals, &n_arrivals, err);
    for (size_t i = 0; i < n_arrivals && status == FL_OK; i++) {
        all += arrivals[i].weight;
        if (q->stage >= 0) {
            status = shares_of(q, &arrivals[i], own, err);
        }
        for (int k = 0; k < q->n; k++) {
            share[k] += arrivals[i].weight * own[k];
        }
    }
    for (int k = 0; k < q->n; k++) {
        share[k] = all > 0.0 ? fmin(1.0, share[k] / all) : 1.0; /* nothing came in */
    }
    return status;
}

fl_status fl_chances_guard_if(fl_chances *c, const fl_lot *lot, const fl_guard_case *guard,
                              double *share, fl_err *err)
{
    question q = {.c = c,
                  .lot = lot,
                  .stage = first_seen(guard->threat, guard->effort),
                  .temp_c = guard->temp_c,
                  .at_s = guard->at_s,
                  .n = guard->n};
    for (size_t i = 0; i < c->n_pests; i++) {
        q.pest = c->pests[i].threat == guard->threat ? &c->pests[i] : q.pest;
    }
    size_t carrier = q.pest == NULL ? FL_NO_INDEX : fl_chances_carrier(c, q.pest, lot);
    for (int k = 0; k < q.n; k++) {
        share[k] = carrier == FL_NO_INDEX ? 1.0 : 0.0;
    }
    fl_status status = fl_chances_reach(c, lot, err);
    return status != FL_OK || carrier == FL_NO_INDEX ? status : shares(&q, carrier, share, err);
}

fl_status fl_chances_guard(fl_chances *c, const fl_lot *lot, const fl_threat *threat,
                           fl_effort effort, const int64_t *at_s, int n, double *share, fl_err *err)
{
    fl_guard_case guard = {threat, effort, (double)NAN, at_s, n};
    return fl_chances_guard_if(c, lot, &guard, share, err);
}
