/* Turns happenings into copies and programmes for one threat. Each kind of happening has one
 * function. */
#include "core/clear/spread.h"

#include <assert.h>
#include <math.h>
#include <string.h>

/* ---- copies ---- */

void fl_spread_begin(fl_spread *s)
{
    s->mixture = fl_know_detectability();
    s->n_copies = s->n_finds = s->n_touched = 0;
    memset(s->lots, 0, s->n_lots * sizeof s->lots[0]);
    for (size_t i = 0; i < s->network->cap_carriers; i++) {
        s->carriers[i] = (fl_spread_carrier){.first = FL_NO_INDEX, .efficacy = (double)NAN};
    }
    for (size_t i = 0; i < s->network->cap_roots; i++) {
        s->root_found[i] = 0.0;
    }
}

static bool is_open(const fl_copy *copy)
{
    return !copy->is_closed && !copy->is_ended;
}

/* A carrier that is a pool has had its place from the start. */
static fl_spread_carrier *carrier_at(fl_spread *s, size_t index)
{
    fl_spread_carrier *c = &s->carriers[index];
    const fl_carrier *carrier = &s->network->carriers[index];
    if (!c->has_place && carrier->lot == FL_NO_INDEX) {
        c->place = carrier->place;
        c->has_place = true;
    }
    return c;
}

static fl_status add_copy(fl_spread *s, const fl_copy *copy, fl_err *err)
{
    if (s->n_copies >= s->cap_copies) {
        return fl_fail(err, FL_ETOOBIG, "more than %zu copies of %s", s->cap_copies,
                       s->threat->code);
    }
    fl_spread_carrier *c = carrier_at(s, copy->carrier);
    s->copies[s->n_copies] = *copy;
    s->copies[s->n_copies].next = c->first;
    c->first = s->n_copies++;
    return FL_OK;
}

double fl_spread_prior(const fl_spread *s, const fl_copy *copy)
{
    if (!isnan(copy->prior)) {
        return copy->prior;
    }
    return s->env->prior(s->env->context, &s->network->roots[copy->root], s->threat);
}

static fl_status append(fl_spread *s, fl_copy *copy, const fl_op *op, fl_err *err)
{
    const fl_prog *prog = NULL;
    fl_status status = s->env->append(s->env->context, copy->prog, op, &prog, err);
    if (status == FL_OK) {
        copy->prog = prog;
    }
    return status;
}

/* The room's own copy takes in what its openings and its lid let through, at the end of the time
 * just passed: younger, hence more hidden, than it may be. */
static fl_status take_inflow(fl_spread *s, fl_copy *copy, int64_t hours, fl_err *err)
{
    /* A find's root is not in the network: only a steady copy's may be looked up. */
    if (!copy->is_steady || s->network->roots[copy->root].carrier != copy->carrier) {
        return FL_OK;
    }
    fl_spread_carrier *c = carrier_at(s, copy->carrier);
    bool has_gasket = s->network->carriers[copy->carrier].has_gasket;
    fl_op op = {.kind = FL_OP_INFLOW, .at_h = copy->at_h};
    op.inflow.mean = fl_know_room_per_day(s->threat, has_gasket) * (double)hours / 24.0 +
                     fl_know_room_per_opening(s->threat) * c->n_openings;
    c->n_openings = 0.0;
    for (int i = 0; i < s->threat->n_stages; i++) {
        op.inflow.share[i] = s->threat->stage[i].start_share;
    }
    return op.inflow.mean > 0.0 ? append(s, copy, &op, err) : FL_OK;
}

fl_status fl_spread_advance(fl_spread *s, fl_copy *copy, int64_t to_h, fl_err *err)
{
    const fl_spread_carrier *c = carrier_at(s, copy->carrier);
    if (to_h <= copy->at_h) {
        return FL_OK;
    }
    int64_t hours = to_h - copy->at_h;
    fl_op op = {.kind = FL_OP_TIME, .at_h = copy->at_h};
    op.time.n_hours = (int)hours;
    fl_status status = FL_OK;
    if (c->has_place) {
        status = s->env->temps(s->env->context, c->place, copy->at_h, to_h, &op.time.temps_c,
                               &op.time.temp_c, err);
        if (status == FL_OK) {
            status = append(s, copy, &op, err);
        }
    }
    copy->at_h = to_h;
    return status == FL_OK ? take_inflow(s, copy, hours, err) : status;
}

/* Calls `each` for every open copy on a carrier that began before `event`, brought up to at_h. */
static fl_status each_open(fl_spread *s, const fl_happening *h,
                           fl_status (*each)(fl_spread *s, fl_copy *copy, const fl_happening *h,
                                             const fl_op *op, fl_err *err),
                           const fl_op *op, fl_err *err)
{
    fl_status status = FL_OK;
    for (size_t i = carrier_at(s, h->carrier)->first; i != FL_NO_INDEX && status == FL_OK;
         i = s->copies[i].next) {
        if (!is_open(&s->copies[i])) {
            continue;
        }
        status = fl_spread_advance(s, &s->copies[i], h->at_h, err);
        if (status == FL_OK) {
            status = each(s, &s->copies[i], h, op, err);
        }
    }
    return status;
}

static fl_status each_append(fl_spread *s, fl_copy *copy, const fl_happening *h, const fl_op *op,
                             fl_err *err)
{
    (void)h;
    return append(s, copy, op, err);
}

static fl_status each_end(fl_spread *s, fl_copy *copy, const fl_happening *h, const fl_op *op,
                          fl_err *err)
{
    (void)s;
    (void)h;
    (void)op;
    (void)err;
    copy->is_ended = true;
    return FL_OK;
}

static fl_status each_nothing(fl_spread *s, fl_copy *copy, const fl_happening *h, const fl_op *op,
                              fl_err *err)
{
    (void)s;
    (void)copy;
    (void)h;
    (void)op;
    (void)err;
    return FL_OK;
}

/* ---- roots ---- */

static void start_op(const fl_spread *s, fl_root_kind kind, int64_t at_h, fl_op *op)
{
    *op = (fl_op){.kind = kind == FL_ROOT_ROOM ? FL_OP_START_EMPTY : FL_OP_START, .at_h = at_h};
    if (kind == FL_ROOT_ROOM) {
        return;
    }
    int last = s->threat->n_stages - 1;
    op->start.prior = 1.0; /* priors stay outside the programme, so that it can be shared */
    for (int i = 0; i <= last; i++) {
        /* What has been here for years is an established colony. */
        op->start.share[i] = kind == FL_ROOT_ALREADY_HERE ? (i == last ? 1.0 : 0.0)
                                                          : s->threat->stage[i].start_share;
    }
}

static fl_status on_root(fl_spread *s, const fl_happening *h, fl_err *err)
{
    const fl_root *root = &s->network->roots[h->root];
    bool is_room = root->kind == FL_ROOT_ROOM;
    bool has_gasket = s->network->carriers[h->carrier].has_gasket;
    if (is_room && fl_know_room_per_opening(s->threat) <= 0.0 &&
        fl_know_room_per_day(s->threat, has_gasket) <= 0.0) {
        return FL_OK;
    }
    for (size_t i = carrier_at(s, h->carrier)->first; i != FL_NO_INDEX; i = s->copies[i].next) {
        if (s->copies[i].root == h->root && is_open(&s->copies[i]) &&
            s->copies[i].from_h == h->at_h) {
            return FL_OK; /* another lot of the same purchase, at the same moment */
        }
    }
    fl_copy copy = {.root = h->root,
                    .carrier = h->carrier,
                    .prior = (double)NAN,
                    .from_h = h->at_h,
                    .at_h = h->at_h,
                    .link = FL_LINK_COUNT,
                    .from = FL_NO_INDEX,
                    .from_event = h->event,
                    .is_steady = is_room};
    fl_op op;
    start_op(s, root->kind, h->at_h, &op);
    fl_status status = append(s, &copy, &op, err);
    return status == FL_OK ? add_copy(s, &copy, err) : status;
}

/* ---- transfers ---- */

/* Chance that the copy is real and alive: decides whether a thin link is worth following. */
static fl_status copy_mass(fl_spread *s, const fl_copy *copy, double *mass, fl_err *err)
{
    fl_filter state;
    fl_filter_masses masses;
    fl_status status = s->env->state(s->env->context, copy->prog, &state, err);
    if (status == FL_OK) {
        status = fl_filter_means(&state, s->mixture.weight_middle, &masses, err);
    }
    if (status == FL_OK) {
        *mass = masses.alive * (copy->is_steady ? 1.0 : fl_spread_prior(s, copy));
    }
    return status;
}

/* The share of each stage that rides; returns the largest. */
static double ride_of(const fl_spread *s, const fl_happening *h, double *ride)
{
    double largest = 0.0;
    for (int i = 0; i < s->threat->n_stages; i++) {
        ride[i] = isnan(h->factor) ? fl_know_link_stage_factor(s->threat, i, h->link) : h->factor;
        ride[i] = h->days > 0.0 ? 1.0 - pow(1.0 - ride[i], h->days) : ride[i];
        largest = fmax(largest, ride[i]);
    }
    return largest;
}

static bool is_whole(const fl_spread *s, const double *ride)
{
    for (int i = 0; i < s->threat->n_stages; i++) {
        if (ride[i] < 1.0) {
            return false;
        }
    }
    return true;
}

/* Keeps at most FL_COPY_THINNED_MAX thinned copies of a root on a carrier, the likeliest: true when
 * the new one may be added (a weaker one was closed for it, where there was no room). */
static fl_status make_room(fl_spread *s, const fl_copy *copy, double mass, bool *may_add,
                           fl_err *err)
{
    size_t weakest = FL_NO_INDEX;
    double least = mass;
    int count = 0;
    fl_status status = FL_OK;
    *may_add = true;
    for (size_t i = carrier_at(s, copy->carrier)->first; i != FL_NO_INDEX && status == FL_OK;
         i = s->copies[i].next) {
        const fl_copy *other = &s->copies[i];
        if (other->root != copy->root || !other->is_thinned || !is_open(other)) {
            continue;
        }
        double other_mass = 0.0;
        count++;
        status = copy_mass(s, other, &other_mass, err);
        if (status == FL_OK && other_mass < least) {
            least = other_mass;
            weakest = i;
        }
    }
    if (count >= FL_COPY_THINNED_MAX) {
        *may_add = weakest != FL_NO_INDEX;
        if (*may_add) {
            s->copies[weakest].is_closed = true;
        }
    }
    return status;
}

static bool is_there_already(fl_spread *s, const fl_copy *copy)
{
    for (size_t i = carrier_at(s, copy->carrier)->first; i != FL_NO_INDEX; i = s->copies[i].next) {
        const fl_copy *other = &s->copies[i];
        if (other->root == copy->root && other->prog == copy->prog && is_open(other)) {
            return true;
        }
    }
    return false;
}

static fl_status transfer_thin(fl_spread *s, fl_copy *copy, const double *ride, double largest,
                               fl_err *err)
{
    double mass = 0.0;
    if (!copy->is_steady && fl_spread_prior(s, copy) * largest < FL_COPY_LEAST) {
        return FL_OK;
    }
    fl_status status = copy_mass(s, copy, &mass, err);
    if (status != FL_OK || mass * largest < FL_COPY_LEAST) {
        return status;
    }
    fl_op op = {.kind = FL_OP_THIN, .at_h = copy->at_h};
    memcpy(op.thin.ride, ride, (size_t)s->threat->n_stages * sizeof ride[0]);
    copy->is_thinned = true;
    status = append(s, copy, &op, err);
    bool may_add = false;
    if (status == FL_OK && !is_there_already(s, copy)) {
        status = make_room(s, copy, mass * largest, &may_add, err);
    }
    return status == FL_OK && may_add ? add_copy(s, copy, err) : status;
}

static fl_status on_transfer(fl_spread *s, const fl_happening *h, fl_err *err)
{
    double ride[FL_STAGES_MAX] = {0};
    bool is_leftover = h->link == FL_LINK_LEFTOVER;
    fl_happening actual = *h;
    if (is_leftover && !isnan(s->carriers[h->other].efficacy)) {
        actual.factor = 1.0 - s->carriers[h->other].efficacy;
    }
    double largest = ride_of(s, &actual, ride);
    fl_status status = FL_OK;
    if (largest <= 0.0) {
        return FL_OK;
    }
    for (size_t i = carrier_at(s, h->other)->first; i != FL_NO_INDEX && status == FL_OK;
         i = s->copies[i].next) {
        fl_copy *source = &s->copies[i];
        /* What this very event brought by this link does not go back by it. From a cleaned
         * carrier goes the leftover, or what a lot that was still in it takes along. */
        bool may_go = is_leftover ? source->is_ended : !source->is_ended || h->link == FL_LINK_MOVE;
        bool goes_back = source->from_event == h->event && source->link == h->link;
        if (source->is_closed || !may_go || goes_back) {
            continue;
        }
        if (!is_leftover) {
            status = fl_spread_advance(s, source, h->at_h, err);
        }
        fl_copy copy = *source;
        copy.carrier = h->carrier;
        copy.from = h->other;
        copy.from_h = copy.at_h = h->at_h;
        copy.from_event = h->event;
        copy.link = h->link;
        copy.is_ended = false;
        if (status == FL_OK && is_whole(s, ride)) {
            status = is_there_already(s, &copy) ? FL_OK : add_copy(s, &copy, err);
        } else if (status == FL_OK) {
            status = transfer_thin(s, &copy, ride, largest, err);
        }
    }
    return status;
}

/* ---- steps ---- */

/* One lot's share of one step: the sequence's survival so far, stage by stage. */
static void on_part(fl_spread *s, const fl_happening *h)
{
    fl_spread_lot *lot = &s->lots[h->lot];
    bool is_material = s->env->is_material(s->env->context, h->lot);
    bool is_new = lot->last_h == 0 || h->at_h - lot->last_h > FL_SEQUENCE_H;
    for (int i = 0; i < s->threat->n_stages; i++) {
        if (is_new) {
            lot->cum[i] = 1.0;
            lot->floor[i] = is_material ? 0.0 : fl_know_step_floor();
        }
        if (!lot->is_touched) {
            lot->before[i] = fmax(lot->cum[i], fmin(lot->floor[i], 1.0));
        }
        fl_know_survival step = fl_know_survival_of(s->threat, i, h->step->step, h->step->agent);
        if (h->step->agent == FL_AGENT_HOT_WATER &&
            !fl_know_hot_water_counts(s->threat, h->step->temp_c, h->step->minutes)) {
            step.survival = 1.0; /* not as hot or as long as it was shown to work */
        }
        if (step.grade == FL_GRADE_MEASURED) { /* shown to remove it: its own figure is the floor */
            lot->floor[i] = fmin(lot->floor[i], step.survival);
        }
        lot->cum[i] *= step.survival;
    }
    lot->last_h = h->at_h;
    lot->carrier = h->carrier;
    lot->n_plants = h->n_plants;
    if (!lot->is_touched) {
        lot->is_touched = true;
        s->touched[s->n_touched++] = h->lot;
    }
}

/* The carrier's survival: the treated lots by their share of the plants, the rest untouched. */
static fl_status on_treated(fl_spread *s, const fl_happening *h, fl_err *err)
{
    fl_op op = {.kind = FL_OP_TREAT, .at_h = h->at_h};
    double lost[FL_STAGES_MAX] = {0};
    bool does_anything = false;
    size_t kept = 0;
    for (size_t t = 0; t < s->n_touched; t++) {
        fl_spread_lot *lot = &s->lots[s->touched[t]];
        if (lot->carrier != h->carrier) {
            s->touched[kept++] = s->touched[t];
            continue;
        }
        lot->is_touched = false;
        double share = h->n_plants > 0 ? (double)lot->n_plants / (double)h->n_plants : 1.0;
        for (int i = 0; i < s->threat->n_stages; i++) {
            double ratio = fmax(lot->cum[i], lot->floor[i]) / lot->before[i];
            lost[i] += fmin(share, 1.0) * (1.0 - fmin(ratio, 1.0));
        }
    }
    s->n_touched = kept;
    for (int i = 0; i < s->threat->n_stages; i++) {
        op.treat.survival[i] = fmax(0.0, 1.0 - lost[i]);
        does_anything = does_anything || lost[i] > 0.0;
    }
    op.treat.has_colony_rule = s->threat->stage[s->threat->n_stages - 1].is_breeding;
    return does_anything ? each_open(s, h, each_append, &op, err) : FL_OK;
}

/* ---- looks and finds ---- */

static void on_found(fl_spread *s, const fl_happening *h)
{
    fl_spread_carrier *c = carrier_at(s, h->carrier);
    if (!fl_sv_eq_cstr(h->finding->threat, s->threat->code)) {
        return;
    }
    c->n_found += h->finding->count > 0 ? h->finding->count : 1;
    if (c->finding == NULL || !h->finding->is_removed) {
        c->finding = h->finding; /* the one that was left there counts */
    }
}

static void look_op(const fl_spread *s, const fl_happening *h, fl_op *op)
{
    *op = (fl_op){.kind = FL_OP_LOOK, .at_h = h->at_h};
    op->look.cap = s->mixture.cap;
    for (int i = 0; i < s->threat->n_stages; i++) {
        op->look.detect[i] =
            h->frac_seen *
            fl_know_detect(s->threat, i, h->look->effort, h->look->devices, h->look->is_after_dark);
    }
}

/* What the look could have seen of this copy: P(real) x P(one founder seen now). */
static fl_status find_weight(fl_spread *s, const fl_copy *copy, const fl_op *look, double *weight,
                             fl_err *err)
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
    /* A look that could hardly have seen it leaves a small weight, not none: it was seen. */
    *weight = prior * (after.found - before.found + 1e-6 * before.alive);
    return status;
}

/* Stage 0 when what was seen breeds, or may: then there are eggs. -1 for a seen young stage while
 * hardly any breeding stage can be there. */
static fl_status youngest_hidden(fl_spread *s, const fl_copy *copy, const fl_finding_now *finding,
                                 int *out, fl_err *err)
{
    fl_filter state;
    double by_stage[FL_STAGES_MAX] = {0};
    double all = 0.0;
    *out = 0;
    for (int i = 0; i < s->threat->n_stages; i++) {
        if (fl_sv_eq_cstr(finding->stage, s->threat->stage[i].name) &&
            s->threat->stage[i].is_breeding) {
            return FL_OK;
        }
    }
    if (finding->stage.len == 0) {
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

/* The candidates of a find: every open copy here, weighed; the likeliest and the sum by root. */
typedef struct candidates {
    size_t best;
    double best_weight;
    double sum;
} candidates;

static fl_status weigh(fl_spread *s, const fl_happening *h, const fl_op *look, candidates *out,
                       fl_err *err)
{
    *out = (candidates){.best = FL_NO_INDEX};
    fl_status status = each_open(s, h, each_nothing, NULL, err);
    for (size_t i = carrier_at(s, h->carrier)->first; i != FL_NO_INDEX && status == FL_OK;
         i = s->copies[i].next) {
        double weight = 0.0;
        if (!is_open(&s->copies[i])) {
            continue;
        }
        status = find_weight(s, &s->copies[i], look, &weight, err);
        out->sum += weight;
        if (out->best == FL_NO_INDEX || weight > out->best_weight) {
            out->best = i;
            out->best_weight = weight;
        }
    }
    return status;
}

/* The roots that may have brought it: their other copies become likelier, and the source learns. */
static fl_status blame(fl_spread *s, const fl_happening *h, const fl_op *look,
                       const candidates *all, fl_err *err)
{
    fl_status status = FL_OK;
    for (size_t i = carrier_at(s, h->carrier)->first; i != FL_NO_INDEX && status == FL_OK;
         i = s->copies[i].next) {
        fl_copy *copy = &s->copies[i];
        double weight = 0.0;
        if (!is_open(copy) || copy->carrier != h->carrier) {
            continue;
        }
        status = find_weight(s, copy, look, &weight, err);
        double cause = all->sum > 0.0 ? weight / all->sum : 0.0;
        copy->is_closed = true;
        if (!FL_IS_FIND_ROOT(copy->root)) {
            double *found = &s->root_found[copy->root];
            *found = fmin(1.0, fmax(*found, cause));
        }
        for (size_t k = 0; k < s->n_copies; k++) {
            fl_copy *other = &s->copies[k];
            if (other->root == copy->root && is_open(other) && !other->is_steady) {
                double prior = fl_spread_prior(s, other);
                other->prior = cause + (1.0 - cause) * prior;
            }
        }
    }
    return status;
}

/* Design 4.8: the roots here are closed and a new one opens with the after-a-find chance. */
static fl_status on_find(fl_spread *s, const fl_happening *h, const fl_op *look, fl_err *err)
{
    fl_spread_carrier *c = carrier_at(s, h->carrier);
    candidates all;
    if (s->n_finds >= s->cap_finds) {
        return fl_fail(err, FL_ETOOBIG, "more than %zu finds of %s", s->cap_finds, s->threat->code);
    }
    fl_status status = weigh(s, h, look, &all, err);
    fl_copy copy = {.prog = NULL, .at_h = h->at_h};
    fl_op op;
    if (status == FL_OK && all.best != FL_NO_INDEX && !s->copies[all.best].is_steady) {
        copy = s->copies[all.best];
    } else if (status == FL_OK) { /* nothing, or only the room's own hazard, was thought of */
        start_op(s, FL_ROOT_PURCHASE, h->at_h, &op);
        status = append(s, &copy, &op, err);
    }
    int youngest = 0;
    if (status == FL_OK) {
        status = append(s, &copy, look, err);
    }
    if (status == FL_OK) {
        status = youngest_hidden(s, &copy, c->finding, &youngest, err);
    }
    op = (fl_op){.kind = FL_OP_FIND, .at_h = h->at_h};
    op.find.n_found = (int)(c->n_found < 1000 ? c->n_found : 1000);
    op.find.mean = FL_FOUNDERS_MEAN;
    op.find.size = FL_FOUNDERS_SIZE;
    memcpy(op.find.weight, s->mixture.weight_middle, sizeof op.find.weight);
    op.find.youngest_hidden_stage = youngest;
    fl_filter state;
    if (status == FL_OK) {
        status = append(s, &copy, &op, err);
    }
    if (status == FL_OK) {
        status = s->env->state(s->env->context, copy.prog, &state, err);
    }
    if (status == FL_OK) {
        status = blame(s, h, look, &all, err);
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
    find->prob_was = all.sum > 0.0 ? all.best_weight / all.sum : 0.0;
    bool is_removed = c->finding->is_removed;
    fl_copy made = {.root = FL_FIND_ROOT(s->n_finds),
                    .carrier = h->carrier,
                    .prog = copy.prog,
                    .prior = is_removed ? state.prior : fmax(state.prior, FL_FIND_NOT_REMOVED),
                    .from_h = h->at_h,
                    .at_h = h->at_h,
                    .link = FL_LINK_COUNT,
                    .from = FL_NO_INDEX,
                    .from_event = h->event};
    s->n_finds++;
    return add_copy(s, &made, err);
}

static fl_status on_look(fl_spread *s, const fl_happening *h, fl_err *err)
{
    fl_spread_carrier *c = carrier_at(s, h->carrier);
    fl_op op;
    look_op(s, h, &op);
    fl_status status = FL_OK;
    if (c->n_found > 0) {
        status = on_find(s, h, &op, err);
    } else if (!h->has_unidentified) { /* something without a name: no credit for the look */
        bool sees = false;
        for (int i = 0; i < s->threat->n_stages; i++) {
            sees = sees || op.look.detect[i] > 0.0;
        }
        status = sees ? each_open(s, h, each_append, &op, err) : FL_OK;
    }
    c->n_found = 0;
    c->finding = NULL;
    return status;
}

/* ---- the other happenings ---- */

static fl_status on_place(fl_spread *s, const fl_happening *h, fl_err *err)
{
    fl_status status = each_open(s, h, each_nothing, NULL, err);
    fl_spread_carrier *c = &s->carriers[h->carrier];
    c->place = h->place;
    c->has_place = !fl_id_is_none(h->place);
    return status;
}

fl_status fl_spread_take(fl_spread *s, const fl_happening *h, fl_err *err)
{
    switch (h->kind) {
    case FL_HAP_ROOT:
        return on_root(s, h, err);
    case FL_HAP_TRANSFER:
        return on_transfer(s, h, err);
    case FL_HAP_CLOSE:
        s->carriers[h->carrier].efficacy = h->factor;
        return each_open(s, h, each_end, NULL, err);
    case FL_HAP_PLACE:
        return on_place(s, h, err);
    case FL_HAP_PART:
        on_part(s, h);
        return FL_OK;
    case FL_HAP_TREATED:
        return on_treated(s, h, err);
    case FL_HAP_FOUND:
        on_found(s, h);
        return FL_OK;
    case FL_HAP_LOOK:
        return on_look(s, h, err);
    case FL_HAP_OPENED:
        carrier_at(s, h->carrier)->n_openings += 1.0;
        return FL_OK;
    case FL_HAP_STAND: /* for whoever asks who stood where */
        return FL_OK;
    }
    return FL_OK;
}

/* ---- reading ---- */

static fl_status read_one(const fl_copy *copy, const fl_filter *state, const double *weight,
                          double *out, fl_err *err)
{
    if (copy->is_steady) {
        return fl_filter_steady_chance(state, weight, out, err);
    }
    fl_founders many = {.family = FL_FOUNDERS_ZT_POISSON, .lambda = FL_FOUNDERS_MEAN};
    fl_chance chance = {0};
    fl_status status = fl_filter_chance(state, weight, &many, &chance, err);
    if (status == FL_OK) {
        *out = chance.chance;
    }
    return status;
}

fl_status fl_spread_read_state(const fl_spread *s, const fl_copy *copy, const fl_filter *state,
                               fl_reading *out, fl_err *err)
{
    fl_filter own = *state;
    own.prior = copy->is_steady ? 0.0 : fl_spread_prior(s, copy);
    fl_status status = read_one(copy, &own, s->mixture.weight_low, &out->poor, err);
    if (status == FL_OK) {
        status = read_one(copy, &own, s->mixture.weight_middle, &out->middle, err);
    }
    if (status == FL_OK) {
        status = read_one(copy, &own, s->mixture.weight_high, &out->good, err);
    }
    return status;
}

void fl_reading_combine(fl_reading *all, const fl_reading *one)
{
    all->poor = 1.0 - (1.0 - all->poor) * (1.0 - one->poor);
    all->middle = 1.0 - (1.0 - all->middle) * (1.0 - one->middle);
    all->good = 1.0 - (1.0 - all->good) * (1.0 - one->good);
}

void fl_reading_larger(fl_reading *a, const fl_reading *b)
{
    a->poor = fmax(a->poor, b->poor);
    a->middle = fmax(a->middle, b->middle);
    a->good = fmax(a->good, b->good);
}

/* The largest reading over the open copies of one root on a carrier; false when an earlier copy in
 * the list already answered for that root. */
static fl_status read_root(fl_spread *s, size_t first, size_t at, int64_t now_h, fl_reading *out,
                           bool *is_first, fl_err *err)
{
    size_t root = s->copies[at].root;
    fl_status status = FL_OK;
    *is_first = true;
    for (size_t i = first; i != at; i = s->copies[i].next) {
        if (s->copies[i].root == root && is_open(&s->copies[i]) && s->copies[i].from_h <= now_h) {
            *is_first = false;
            return FL_OK;
        }
    }
    *out = (fl_reading){0};
    for (size_t i = at; i != FL_NO_INDEX && status == FL_OK; i = s->copies[i].next) {
        fl_copy *copy = &s->copies[i];
        fl_filter state;
        fl_reading one = {0};
        if (copy->root != root || !is_open(copy) || copy->from_h > now_h) {
            continue;
        }
        status = fl_spread_advance(s, copy, now_h, err);
        if (status == FL_OK) {
            status = s->env->state(s->env->context, copy->prog, &state, err);
        }
        if (status == FL_OK) {
            status = fl_spread_read_state(s, copy, &state, &one, err);
        }
        fl_reading_larger(out, &one);
    }
    return status;
}

fl_status fl_spread_chance(fl_spread *s, size_t carrier, int64_t now_h, fl_reading *out,
                           fl_err *err)
{
    fl_reading all = {0};
    fl_status status = FL_OK;
    size_t first = carrier_at(s, carrier)->first;
    for (size_t i = first; i != FL_NO_INDEX && status == FL_OK; i = s->copies[i].next) {
        fl_reading one = {0};
        bool is_first = false;
        if (!is_open(&s->copies[i]) || s->copies[i].from_h > now_h) {
            continue;
        }
        status = read_root(s, first, i, now_h, &one, &is_first, err);
        if (is_first) {
            fl_reading_combine(&all, &one);
        }
    }
    if (status == FL_OK) {
        *out = all;
    }
    return status;
}
