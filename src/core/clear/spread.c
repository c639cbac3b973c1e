/* Turns happenings into copies and programmes for one threat: copies, roots, transfers. Each kind
 * of happening has one function; steps are in spread_step.c, looks and finds in spread_find.c. */
#include <math.h>
#include <string.h>

#include "core/clear/spread_work.h"

/* ---- copies ---- */

void fl_spread_begin(fl_spread *s)
{
    s->mixture = fl_know_detectability();
    fl_sheet_begin(&s->sheet, s->threat);
    s->n_copies = s->n_finds = s->n_recent = 0;
    memset(s->lots, 0, s->n_lots * sizeof s->lots[0]);
    for (size_t i = 0; i < s->network->cap_carriers; i++) {
        s->carriers[i] = (fl_spread_carrier){.first = FL_NO_INDEX, .efficacy = (double)NAN};
    }
    for (size_t i = 0; i < s->network->cap_roots; i++) {
        s->root_found[i] = 0.0;
    }
}

bool fl_spread_is_open(const fl_copy *copy)
{
    return !copy->is_closed && !copy->is_ended;
}

fl_spread_carrier *fl_spread_carrier_at(fl_spread *s, size_t index)
{
    fl_spread_carrier *c = &s->carriers[index];
    const fl_carrier *carrier = &s->network->carriers[index];
    if (!c->has_place && carrier->lot == FL_NO_INDEX) {
        c->place = carrier->place;
        c->has_place = true;
    }
    return c;
}

fl_status fl_spread_add_copy(fl_spread *s, const fl_copy *copy, fl_err *err)
{
    if (s->n_copies >= s->cap_copies && s->env->more_copies != NULL) {
        s->copies = s->env->more_copies(s->env->context, s->copies, s->n_copies, &s->cap_copies);
    }
    if (s->n_copies >= s->cap_copies) {
        return fl_fail(err, FL_ETOOBIG, "more than %zu copies of %s", s->cap_copies,
                       s->threat->code);
    }
    fl_spread_carrier *c = fl_spread_carrier_at(s, copy->carrier);
    s->copies[s->n_copies] = *copy;
    s->copies[s->n_copies].next = c->first;
    c->first = s->n_copies++;
    return FL_OK;
}

double fl_spread_prior(const fl_spread *s, const fl_copy *copy)
{
    double prior = isnan(copy->prior)
                       ? s->env->prior(s->env->context, &s->network->roots[copy->root], s->threat)
                       : copy->prior;
    return copy->blamed + (1.0 - copy->blamed) * prior;
}

fl_status fl_spread_append(fl_spread *s, fl_copy *copy, const fl_op *op, fl_err *err)
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
    if (!copy->is_steady || copy->link != FL_LINK_COUNT) {
        return FL_OK; /* what was carried off to another place takes in no more */
    }
    fl_spread_carrier *c = fl_spread_carrier_at(s, copy->carrier);
    bool has_gasket = s->network->carriers[copy->carrier].has_gasket;
    fl_op op = {.kind = FL_OP_INFLOW, .at_h = copy->at_h};
    op.inflow.mean = fl_sheet_room_per_day(&s->sheet, has_gasket) * (double)hours / 24.0 +
                     fl_sheet_room_per_opening(&s->sheet) * c->n_openings;
    c->n_openings = 0.0;
    for (int i = 0; i < s->threat->n_stages; i++) {
        op.inflow.share[i] = s->threat->stage[i].start_share;
    }
    return op.inflow.mean > 0.0 ? fl_spread_append(s, copy, &op, err) : FL_OK;
}

fl_status fl_spread_advance(fl_spread *s, fl_copy *copy, int64_t to_h, fl_err *err)
{
    const fl_spread_carrier *c = fl_spread_carrier_at(s, copy->carrier);
    int64_t hours = to_h - copy->at_h;
    fl_status status = FL_OK;
    if (hours <= 0) {
        return FL_OK;
    }
    while (copy->at_h < to_h && status == FL_OK) { /* a filter takes 50 years at once */
        int64_t left = to_h - copy->at_h;
        int64_t now = left < FL_FILTER_HOURS_MAX ? left : FL_FILTER_HOURS_MAX;
        fl_op op = {.kind = FL_OP_TIME, .at_h = copy->at_h};
        op.time.n_hours = (int)now;
        if (c->has_place) {
            status = s->env->temps(s->env->context, c->place, copy->at_h, copy->at_h + now,
                                   &op.time.temps_c, &op.time.temp_c, err);
            status = status == FL_OK ? fl_spread_append(s, copy, &op, err) : status;
        }
        copy->at_h += now;
    }
    return status == FL_OK ? take_inflow(s, copy, hours, err) : status;
}

fl_status fl_spread_append_all(fl_spread *s, const fl_happening *h, const fl_op *op, fl_err *err)
{
    fl_status status = FL_OK;
    for (size_t i = fl_spread_carrier_at(s, h->carrier)->first; i != FL_NO_INDEX && status == FL_OK;
         i = s->copies[i].next) {
        if (!fl_spread_is_open(&s->copies[i])) {
            continue;
        }
        status = fl_spread_advance(s, &s->copies[i], h->at_h, err);
        if (status == FL_OK && op != NULL) {
            status = fl_spread_append(s, &s->copies[i], op, err);
        }
    }
    return status;
}

/* ---- roots ---- */

void fl_spread_start_op(const fl_spread *s, fl_root_kind kind, int64_t at_h, fl_op *op)
{
    *op = (fl_op){.kind = kind == FL_ROOT_ROOM ? FL_OP_START_EMPTY : FL_OP_START, .at_h = at_h};
    if (kind == FL_ROOT_ROOM) {
        return;
    }
    op->start.prior = 1.0; /* priors stay outside the programme, so that it can be shared */
    op->start.is_colony = kind == FL_ROOT_ALREADY_HERE; /* here for years: an established colony */
    for (int i = 0; i < s->threat->n_stages; i++) {
        op->start.share[i] = s->threat->stage[i].start_share;
    }
}

static fl_status on_root(fl_spread *s, const fl_happening *h, fl_err *err)
{
    const fl_root *root = &s->network->roots[h->root];
    bool is_room = root->kind == FL_ROOT_ROOM;
    bool has_gasket = s->network->carriers[h->carrier].has_gasket;
    int64_t at_h = is_room ? root->at_h : h->at_h; /* the room's: not before the place was told */
    if (is_room && fl_sheet_room_per_opening(&s->sheet) <= 0.0 &&
        fl_sheet_room_per_day(&s->sheet, has_gasket) <= 0.0) {
        return FL_OK;
    }
    for (size_t i = fl_spread_carrier_at(s, h->carrier)->first; i != FL_NO_INDEX;
         i = s->copies[i].next) {
        if (s->copies[i].root == h->root && fl_spread_is_open(&s->copies[i]) &&
            s->copies[i].from_h == h->at_h) {
            return FL_OK; /* another lot of the same purchase, at the same moment */
        }
    }
    fl_copy copy = {.root = h->root,
                    .carrier = h->carrier,
                    .prior = (double)NAN,
                    .from_h = at_h,
                    .at_h = at_h,
                    .link = FL_LINK_COUNT,
                    .from = FL_NO_INDEX,
                    .from_event = h->event,
                    .is_steady = is_room};
    fl_op op;
    fl_spread_start_op(s, root->kind, at_h, &op);
    fl_status status = fl_spread_append(s, &copy, &op, err);
    return status == FL_OK ? fl_spread_add_copy(s, &copy, err) : status;
}

/* ---- transfers ---- */

/* How much of the copy there is to give: the chance that a founder of it is alive, given that the
 * root is real and was not seen (of the room's hazard, the number of founders). The prior is left
 * out on purpose: a find elsewhere may make it 1 afterwards. */
static fl_status living_share(fl_spread *s, const fl_copy *copy, double *share, fl_err *err)
{
    fl_filter_sums sums;
    fl_filter_masses masses;
    fl_status status = s->env->sums(s->env->context, copy->prog, &sums, err);
    if (status == FL_OK) {
        status = fl_sums_means(&sums, s->mixture.weight_middle, &masses, err);
    }
    if (status == FL_OK) {
        double missed = copy->is_steady ? 1.0 : masses.alive + masses.dead;
        *share = missed > 0.0 ? masses.alive / missed : 0.0;
    }
    return status;
}

/* The share of each stage that rides; returns the largest. */
static double ride_of(fl_spread *s, const fl_happening *h, double *ride)
{
    const double *own = fl_sheet_link(&s->sheet, h->link);
    double largest = 0.0;
    for (int i = 0; i < s->threat->n_stages; i++) {
        ride[i] = isnan(h->factor) ? own[i] : h->factor;
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

static fl_status chance_of(fl_spread *s, const fl_copy *copy, double *chance, fl_err *err)
{
    fl_filter_sums sums;
    fl_reading reading = {0};
    fl_status status = s->env->sums(s->env->context, copy->prog, &sums, err);
    if (status == FL_OK) {
        status = fl_spread_read_sums(s, copy, &sums, &reading, err);
    }
    *chance = reading.middle;
    return status;
}

/* The open copies of one root that share a carrier with a new one. */
typedef struct rivals {
    const fl_copy *copy[FL_COPY_MAX + 1]; /* the last is the new one */
    size_t index[FL_COPY_MAX + 1];        /* FL_NO_INDEX for the new one */
    double chance[FL_COPY_MAX + 1];
    int n;
} rivals;

static fl_status add_rival(fl_spread *s, const fl_copy *copy, size_t index, rivals *r, fl_err *err)
{
    r->copy[r->n] = copy;
    r->index[r->n] = index;
    return chance_of(s, copy, &r->chance[r->n++], err);
}

/* True when whatever happens on the carrier leaves b no more than a: more of it is alive in every
 * substage, for every eye; and b is not the likelier now. */
static fl_status outlives(fl_spread *s, const rivals *r, int a, int b, bool *does, fl_err *err)
{
    fl_filter x;
    fl_filter y;
    fl_status status = s->env->state(s->env->context, r->copy[a]->prog, &x, err);
    if (status == FL_OK) {
        status = s->env->state(s->env->context, r->copy[b]->prog, &y, err);
    }
    *does = status == FL_OK && r->chance[a] >= r->chance[b];
    for (int i = 0; *does && i < x.n; i++) {
        for (int w = 0; w < x.n_mix; w++) {
            *does = *does && x.alive[i][w] >= y.alive[i][w];
        }
    }
    return status;
}

/* The one that is missed least: the unlikeliest of those that another outlives, or else of all. */
static fl_status least_missed(fl_spread *s, const rivals *r, int *out, fl_err *err)
{
    int least = -1;
    int safe = -1;
    fl_status status = FL_OK;
    for (int b = 0; b < r->n && status == FL_OK; b++) {
        bool is_outlived = false;
        for (int a = 0; a < r->n && !is_outlived && status == FL_OK; a++) {
            if (a != b) {
                status = outlives(s, r, a, b, &is_outlived, err);
            }
        }
        least = least < 0 || r->chance[b] < r->chance[least] ? b : least;
        if (is_outlived && (safe < 0 || r->chance[b] < r->chance[safe])) {
            safe = b;
        }
    }
    *out = safe >= 0 ? safe : least;
    return status;
}

/* Puts the copy on its carrier. Where that makes more than FL_COPY_MAX open ones of a root, one is
 * left out: lots that go to and fro would double them each time. */
static fl_status add_or_replace(fl_spread *s, const fl_copy *copy, fl_err *err)
{
    rivals r = {.n = 0};
    int out = 0;
    fl_status status = FL_OK;
    for (size_t i = fl_spread_carrier_at(s, copy->carrier)->first;
         i != FL_NO_INDEX && status == FL_OK && r.n < FL_COPY_MAX; i = s->copies[i].next) {
        fl_copy *other = &s->copies[i];
        bool is_own_room = other->is_steady && other->link == FL_LINK_COUNT; /* takes in more */
        if (other->root != copy->root || !fl_spread_is_open(other) || is_own_room) {
            continue;
        }
        status = fl_spread_advance(s, other, copy->at_h, err);
        if (status == FL_OK) {
            status = add_rival(s, other, i, &r, err);
        }
    }
    if (status != FL_OK || r.n < FL_COPY_MAX) {
        return status == FL_OK ? fl_spread_add_copy(s, copy, err) : status;
    }
    status = add_rival(s, copy, FL_NO_INDEX, &r, err);
    if (status == FL_OK) {
        status = least_missed(s, &r, &out, err);
    }
    if (status != FL_OK || r.index[out] == FL_NO_INDEX) {
        return status;
    }
    s->copies[r.index[out]].is_closed = true;
    return fl_spread_add_copy(s, copy, err);
}

static bool is_there_already(fl_spread *s, const fl_copy *copy)
{
    for (size_t i = fl_spread_carrier_at(s, copy->carrier)->first; i != FL_NO_INDEX;
         i = s->copies[i].next) {
        const fl_copy *other = &s->copies[i];
        if (other->root == copy->root && other->prog == copy->prog && fl_spread_is_open(other)) {
            return true;
        }
    }
    return false;
}

static fl_status transfer_thin(fl_spread *s, fl_copy *copy, const double *ride, fl_err *err)
{
    double share = 0.0;
    double largest = 0.0;
    for (int i = 0; i < s->threat->n_stages; i++) {
        largest = fmax(largest, ride[i]);
    }
    fl_status status = living_share(s, copy, &share, err);
    if (status != FL_OK || share * largest < FL_COPY_LEAST) {
        return status;
    }
    fl_op op = {.kind = FL_OP_THIN, .at_h = copy->at_h};
    memcpy(op.thin.ride, ride, (size_t)s->threat->n_stages * sizeof ride[0]);
    copy->is_thinned = true;
    status = fl_spread_append(s, copy, &op, err);
    if (status != FL_OK || is_there_already(s, copy)) {
        return status;
    }
    return add_or_replace(s, copy, err);
}

/* From a cleaned carrier goes the leftover, or what a lot that was still in it takes along. What
 * came by the same link of this very event (one tub, one bench) does not go on or back by it. */
static bool may_go(const fl_copy *source, const fl_happening *h)
{
    bool is_echo = source->from_event == h->event && source->link == h->link &&
                   source->from_h == h->at_h; /* the last event also tells what is so now */
    if (source->is_closed || is_echo) {
        return false;
    }
    if (h->link == FL_LINK_LEFTOVER) {
        return source->is_ended;
    }
    return !source->is_ended || h->link == FL_LINK_MOVE;
}

static fl_status give(fl_spread *s, fl_copy *source, const fl_happening *h, const double *ride,
                      fl_err *err)
{
    fl_status status = FL_OK;
    if (h->link != FL_LINK_LEFTOVER) { /* a leftover is as it was at the cleaning */
        status = fl_spread_advance(s, source, h->at_h, err);
    }
    fl_copy copy = *source;
    copy.carrier = h->carrier;
    copy.from = h->other;
    copy.from_h = copy.at_h = h->at_h;
    copy.from_event = h->event;
    copy.link = h->link;
    copy.is_ended = false;
    if (status != FL_OK) {
        return status;
    }
    if (!is_whole(s, ride)) {
        return transfer_thin(s, &copy, ride, err);
    }
    return is_there_already(s, &copy) ? FL_OK : add_or_replace(s, &copy, err);
}

/* The share of each stage that goes over; returns the largest. */
static double ride_over(fl_spread *s, const fl_happening *h, double *ride)
{
    fl_happening actual = *h;
    if (h->link == FL_LINK_LEFTOVER && !isnan(s->carriers[h->other].efficacy)) {
        actual.factor = 1.0 - s->carriers[h->other].efficacy;
    }
    return ride_of(s, &actual, ride);
}

fl_status fl_spread_take_out(fl_spread *s, const fl_happening *h, fl_err *err)
{
    double ride[FL_STAGES_MAX] = {0};
    fl_status status = FL_OK;
    if (h->link == FL_LINK_LEFTOVER || ride_over(s, h, ride) <= 0.0) {
        return FL_OK;
    }
    for (size_t i = fl_spread_carrier_at(s, h->other)->first; i != FL_NO_INDEX && status == FL_OK;
         i = s->copies[i].next) {
        if (may_go(&s->copies[i], h)) {
            status = fl_spread_advance(s, &s->copies[i], h->at_h, err);
        }
    }
    return status;
}

static fl_status on_transfer(fl_spread *s, const fl_happening *h, fl_err *err)
{
    double ride[FL_STAGES_MAX] = {0};
    fl_status status = FL_OK;
    if (ride_over(s, h, ride) <= 0.0) {
        return FL_OK;
    }
    for (size_t i = fl_spread_carrier_at(s, h->other)->first; i != FL_NO_INDEX && status == FL_OK;
         i = s->copies[i].next) {
        if (may_go(&s->copies[i], h)) {
            status = give(s, &s->copies[i], h, ride, err);
        }
    }
    return status;
}

/* ---- the other happenings ---- */

/* Cleaned: only a leftover, or what its lots take along, goes on from here. */
static fl_status on_close(fl_spread *s, const fl_happening *h, fl_err *err)
{
    fl_status status = fl_spread_append_all(s, h, NULL, err);
    for (size_t i = s->carriers[h->carrier].first; i != FL_NO_INDEX && status == FL_OK;
         i = s->copies[i].next) {
        s->copies[i].is_ended = s->copies[i].is_ended || fl_spread_is_open(&s->copies[i]);
    }
    s->carriers[h->carrier].efficacy = h->factor;
    return status;
}

static fl_status on_place(fl_spread *s, const fl_happening *h, fl_err *err)
{
    fl_status status = fl_spread_append_all(s, h, NULL, err);
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
        return on_close(s, h, err);
    case FL_HAP_PLACE:
        return on_place(s, h, err);
    case FL_HAP_PART:
        fl_spread_on_part(s, h);
        return FL_OK;
    case FL_HAP_TREATED:
        return fl_spread_on_treated(s, h, err);
    case FL_HAP_FOUND:
        fl_spread_on_found(s, h);
        return FL_OK;
    case FL_HAP_LOOK:
        return fl_spread_on_look(s, h, err);
    case FL_HAP_OPENED:
        fl_spread_carrier_at(s, h->carrier)->n_openings += 1.0;
        return FL_OK;
    case FL_HAP_STAND:
        s->lots[h->lot].carrier = h->carrier;
        return FL_OK;
    }
    return FL_OK;
}
