/* Looks and finds (design 4.8): a quiet look goes to every open copy; a find closes the roots that
 * were there and opens one of its own. */
#include <math.h>
#include <string.h>

#include "core/clear/spread_work.h"

/* Seen although the look could hardly have shown it: a small weight, not none. */
#define HARDLY_SEEN 1e-6

/* ---- what was seen ---- */

/* True when the stage that was told breeds, or may: then there are eggs. */
static bool may_breed(const fl_threat *threat, fl_sv stage)
{
    for (int i = 0; i < threat->n_stages; i++) {
        if (fl_sv_eq_cstr(stage, threat->stage[i].name)) {
            return threat->stage[i].is_breeding;
        }
    }
    return true; /* not told, or a word that is none of ours */
}

void fl_spread_on_found(fl_spread *s, const fl_happening *h)
{
    fl_spread_carrier *c = fl_spread_carrier_at(s, h->carrier);
    const fl_finding_now *f = h->finding;
    if (!fl_sv_eq_cstr(f->threat, s->threat->code)) {
        return;
    }
    if (c->finding == NULL) {
        c->finding = f;
        c->n_found = 0;
        c->is_left_there = c->saw_breeding = false;
    }
    c->n_found += f->count > 0 ? f->count : 1;
    c->is_left_there = c->is_left_there || !f->is_removed;
    c->saw_breeding = c->saw_breeding || may_breed(s->threat, f->stage);
}

static void look_op(fl_spread *s, const fl_happening *h, fl_op *op)
{
    const double *detect =
        fl_sheet_detect(&s->sheet, h->look->effort, h->look->devices, h->look->is_after_dark);
    *op = (fl_op){.kind = FL_OP_LOOK, .at_h = h->at_h};
    op->look.cap = s->mixture.cap;
    for (int i = 0; i < s->threat->n_stages; i++) {
        op->look.detect[i] = h->frac_seen * detect[i];
    }
}

/* ---- whose it was ---- */

/* P(this root was real, every look before was quiet, and this one showed it), up to a factor that
 * all roots here share: prior x share seen now / (1 - prior x share seen so far). */
static fl_status suspect(fl_spread *s, fl_copy *copy, const fl_op *look, fl_err *err)
{
    fl_filter state;
    fl_filter_masses before = {0};
    fl_filter_masses after = {0};
    fl_status status = s->env->state(s->env->context, copy->prog, &state, err);
    if (status == FL_OK) {
        status = fl_filter_means(&state, s->mixture.weight_middle, &before, err);
    }
    if (status == FL_OK) {
        status = fl_op_apply(s->model, look, &state, err);
    }
    if (status == FL_OK) {
        status = fl_filter_means(&state, s->mixture.weight_middle, &after, err);
    }
    double prior = copy->is_steady ? 1.0 : fl_spread_prior(s, copy);
    double seen = after.found - before.found + HARDLY_SEEN * before.alive;
    double quiet = copy->is_steady ? 1.0 : 1.0 - prior * after.found;
    copy->suspicion = prior * seen / fmax(quiet, HARDLY_SEEN);
    return status;
}

/* True when an earlier copy of the same root in the carrier's list is at least as suspicious: a
 * root is one suspect, however many copies it has here. */
static bool is_outdone(const fl_spread *s, size_t first, size_t at)
{
    bool is_before = true;
    for (size_t i = first; i != FL_NO_INDEX; i = s->copies[i].next) {
        const fl_copy *other = &s->copies[i];
        is_before = is_before && i != at;
        if (i == at || other->root != s->copies[at].root || !fl_spread_is_open(other)) {
            continue;
        }
        if (other->suspicion > s->copies[at].suspicion ||
            (is_before && other->suspicion >= s->copies[at].suspicion)) {
            return true;
        }
    }
    return false;
}

/* The suspects of a find: the likeliest copy and the sum over roots. */
typedef struct suspects {
    size_t first; /* copy of the carrier */
    size_t best;  /* FL_NO_INDEX: nothing was thought of */
    double sum;
} suspects;

static fl_status weigh(fl_spread *s, const fl_happening *h, const fl_op *look, suspects *out,
                       fl_err *err)
{
    fl_status status = fl_spread_append_all(s, h, NULL, err);
    *out = (suspects){.first = fl_spread_carrier_at(s, h->carrier)->first, .best = FL_NO_INDEX};
    for (size_t i = out->first; i != FL_NO_INDEX && status == FL_OK; i = s->copies[i].next) {
        if (fl_spread_is_open(&s->copies[i])) {
            status = suspect(s, &s->copies[i], look, err);
        }
    }
    for (size_t i = out->first; i != FL_NO_INDEX && status == FL_OK; i = s->copies[i].next) {
        s->copies[i].is_suspect = fl_spread_is_open(&s->copies[i]) && !is_outdone(s, out->first, i);
        if (!s->copies[i].is_suspect) {
            continue;
        }
        out->sum += s->copies[i].suspicion;
        if (out->best == FL_NO_INDEX || s->copies[i].suspicion > s->copies[out->best].suspicion) {
            out->best = i;
        }
    }
    return status;
}

static double cause_of(const fl_spread *s, const suspects *all, size_t copy)
{
    return all->sum > 0.0 ? s->copies[copy].suspicion / all->sum : 0.0;
}

/* The chance that some root other than the likeliest is there and was not what was seen: closing
 * the roots must not lose it. */
static fl_status chance_of_others(fl_spread *s, const suspects *all, double *out, fl_err *err)
{
    double none = 1.0;
    fl_status status = FL_OK;
    for (size_t i = all->first; i != FL_NO_INDEX && status == FL_OK; i = s->copies[i].next) {
        const fl_copy *copy = &s->copies[i];
        fl_reading reading = {0};
        bool is_own_room = copy->is_steady && copy->link == FL_LINK_COUNT; /* it goes on */
        if (!copy->is_suspect || is_own_room || copy->root == s->copies[all->best].root) {
            continue;
        }
        status = fl_spread_read_root(s, all->first, copy->root, copy->at_h, &reading, err);
        none *= 1.0 - (1.0 - cause_of(s, all, i)) * reading.middle;
    }
    *out = 1.0 - none;
    return status;
}

/* ---- what follows from it ---- */

/* The copies of a root elsewhere become as likely as it was the cause, and its source learns. */
void fl_spread_blame(fl_spread *s, size_t root, double cause)
{
    for (size_t i = 0; i < s->n_copies; i++) {
        fl_copy *other = &s->copies[i];
        if (other->root == root && !other->is_closed && !other->is_steady) {
            other->blamed = 1.0 - (1.0 - other->blamed) * (1.0 - cause);
        }
    }
    if (!FL_IS_FIND_ROOT(root)) {
        s->root_found[root] = fmin(1.0, fmax(s->root_found[root], cause));
    }
}

/* Closes what was here; the roots that may have brought it are blamed. */
static void blame(fl_spread *s, const suspects *all)
{
    for (size_t i = all->first; i != FL_NO_INDEX; i = s->copies[i].next) {
        s->copies[i].is_closed = s->copies[i].is_closed || fl_spread_is_open(&s->copies[i]);
    }
    for (size_t i = all->first; i != FL_NO_INDEX; i = s->copies[i].next) {
        const fl_copy *copy = &s->copies[i];
        if (!copy->is_suspect) {
            continue;
        }
        double cause = cause_of(s, all, i);
        fl_spread_blame(s, copy->root, cause);
        if (s->env->blamed != NULL) {
            s->env->blamed(s->env->context, copy->root, cause);
        }
    }
}

/* The room's own hazard begins anew: a find does not keep it out. */
static fl_status renew_room(fl_spread *s, const fl_happening *h, const suspects *all, fl_err *err)
{
    for (size_t i = all->first; i != FL_NO_INDEX; i = s->copies[i].next) {
        fl_copy copy = s->copies[i];
        fl_op op;
        if (!copy.is_steady || copy.link != FL_LINK_COUNT || copy.at_h < h->at_h) {
            continue;
        }
        copy.prog = NULL;
        copy.is_closed = copy.is_ended = false;
        copy.from_h = copy.at_h; /* now, or when the place is first told of */
        copy.from_event = h->event;
        fl_spread_start_op(s, FL_ROOT_ROOM, copy.at_h, &op);
        fl_status status = fl_spread_append(s, &copy, &op, err);
        return status == FL_OK ? fl_spread_add_copy(s, &copy, err) : status;
    }
    return FL_OK;
}

/* -1 for a seen young stage while hardly any breeding stage can be there; else 0: eggs. */
static fl_status youngest_hidden(fl_spread *s, const fl_copy *copy, bool saw_breeding, int *out,
                                 fl_err *err)
{
    fl_filter state;
    double by_stage[FL_STAGES_MAX] = {0};
    double all = 0.0;
    *out = 0;
    if (saw_breeding) {
        return FL_OK;
    }
    fl_status status = s->env->state(s->env->context, copy->prog, &state, err);
    if (status == FL_OK) {
        status =
            fl_filter_alive_by_stage(s->model, &state, s->mixture.weight_middle, by_stage, err);
    }
    for (int i = 0; i < s->threat->n_stages; i++) {
        all += by_stage[i];
    }
    if (status == FL_OK && by_stage[s->threat->n_stages - 1] < 0.05 * all) {
        *out = -1;
    }
    return status;
}

/* The filter's find takes all that was found since the root began as found together. What was found
 * before this look is nothing, so the multipliers are weighed by what this look could show: an eye
 * that sees little leaves more to be seen late. */
static void weigh_eyes(const fl_spread *s, const fl_filter *before, const fl_filter *after,
                       double n_found, double *weight)
{
    double ratio[FL_MIXTURE_MAX] = {0};
    double most = 0.0;
    for (int w = 0; w < after->n_mix; w++) {
        double now = after->found[w] - before->found[w];
        ratio[w] = after->found[w] > 0.0 ? fmax(0.0, now) / after->found[w] : 0.0;
        most = fmax(most, ratio[w]);
    }
    for (int w = 0; w < after->n_mix; w++) {
        double factor = most > 0.0 ? pow(ratio[w] / most, n_found) : 1.0;
        weight[w] = s->mixture.weight_middle[w] * factor;
    }
}

/* The programme of the find's own root: the likeliest one's, or a fresh one, with this look and
 * the find. *has_bred: what was seen breeds, or may have by then. */
static fl_status find_programme(fl_spread *s, const fl_happening *h, const fl_op *look,
                                const suspects *all, fl_copy *copy, bool *has_bred, fl_err *err)
{
    const fl_spread_carrier *c = fl_spread_carrier_at(s, h->carrier);
    fl_filter before = {0};
    fl_filter after = {0};
    fl_op op;
    fl_status status = FL_OK;
    *copy = (fl_copy){.prog = NULL, .at_h = h->at_h};
    if (all->best != FL_NO_INDEX && !s->copies[all->best].is_steady) {
        *copy = s->copies[all->best];
    } else { /* nothing, or only the room's own hazard, was thought of */
        fl_spread_start_op(s, FL_ROOT_PURCHASE, h->at_h, &op);
        status = fl_spread_append(s, copy, &op, err);
    }
    op = (fl_op){.kind = FL_OP_FIND, .at_h = h->at_h};
    op.find.n_found = (int)(c->n_found < 1000 ? c->n_found : 1000);
    op.find.mean = FL_FOUNDERS_MEAN;
    op.find.size = FL_FOUNDERS_SIZE;
    if (status == FL_OK) {
        status = s->env->state(s->env->context, copy->prog, &before, err);
    }
    if (status == FL_OK) {
        status = fl_spread_append(s, copy, look, err);
    }
    if (status == FL_OK) {
        status = s->env->state(s->env->context, copy->prog, &after, err);
    }
    if (status == FL_OK) {
        weigh_eyes(s, &before, &after, op.find.n_found, op.find.weight);
        status = youngest_hidden(s, copy, c->saw_breeding, &op.find.youngest_hidden_stage, err);
        *has_bred = op.find.youngest_hidden_stage >= 0;
    }
    return status == FL_OK ? fl_spread_append(s, copy, &op, err) : status;
}

static fl_status on_find(fl_spread *s, const fl_happening *h, const fl_op *look, fl_err *err)
{
    const fl_spread_carrier *c = fl_spread_carrier_at(s, h->carrier);
    suspects all;
    fl_copy copy;
    fl_filter state = {0};
    double others = 0.0;
    bool has_bred = false;
    if (s->n_finds >= s->cap_finds && s->env->more_finds != NULL) {
        s->finds = s->env->more_finds(s->env->context, s->finds, s->n_finds, &s->cap_finds);
    }
    if (s->n_finds >= s->cap_finds) {
        return fl_fail(err, FL_ETOOBIG, "more than %zu finds of %s", s->cap_finds, s->threat->code);
    }
    fl_status status = weigh(s, h, look, &all, err);
    if (status == FL_OK) {
        status = find_programme(s, h, look, &all, &copy, &has_bred, err);
    }
    if (status == FL_OK) {
        status = s->env->state(s->env->context, copy.prog, &state, err);
    }
    if (status == FL_OK && all.best != FL_NO_INDEX) {
        status = chance_of_others(s, &all, &others, err);
    }
    if (status != FL_OK) {
        return status;
    }
    fl_spread_find *find = &s->finds[s->n_finds];
    *find =
        (fl_spread_find){.finding = c->finding,
                         .carrier = h->carrier,
                         .at_h = h->at_h,
                         .was = all.best == FL_NO_INDEX ? FL_NO_INDEX : s->copies[all.best].root};
    find->prob_was = all.best == FL_NO_INDEX ? 0.0 : cause_of(s, &all, all.best);
    /* Equation (2) is of founders found and removed whole; one that breeds was not. */
    double no_young = has_bred ? 1.0 - FL_FIND_LEFT_YOUNG : 1.0;
    fl_copy made = {.root = FL_FIND_ROOT(s->n_finds),
                    .carrier = h->carrier,
                    .prog = copy.prog,
                    .prior = 1.0 - (1.0 - state.prior) * (1.0 - others) * no_young,
                    .from_h = h->at_h,
                    .at_h = h->at_h,
                    .link = FL_LINK_COUNT,
                    .from = FL_NO_INDEX,
                    .from_event = h->event};
    if (c->is_left_there) {
        made.prior = fmax(made.prior, FL_FIND_NOT_REMOVED);
    }
    s->n_finds++;
    blame(s, &all);
    status = renew_room(s, h, &all, err);
    return status == FL_OK ? fl_spread_add_copy(s, &made, err) : status;
}

fl_status fl_spread_on_look(fl_spread *s, const fl_happening *h, fl_err *err)
{
    fl_spread_carrier *c = fl_spread_carrier_at(s, h->carrier);
    fl_op op;
    look_op(s, h, &op);
    fl_status status = FL_OK;
    if (c->finding != NULL) {
        status = on_find(s, h, &op, err);
    } else if (!h->has_unidentified) { /* something without a name: no credit for the look */
        bool sees = false;
        for (int i = 0; i < s->threat->n_stages; i++) {
            sees = sees || op.look.detect[i] > 0.0;
        }
        status = sees ? fl_spread_append_all(s, h, &op, err) : FL_OK;
    }
    c->finding = NULL;
    return status;
}
