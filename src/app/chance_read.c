/* Reading chances: of a lot, with its reasons; when something could last have come to it. */
#include <math.h>

#include "app/chance_work.h"

fl_cached *fl_chances_cached(fl_chances *c, const fl_pest *pest, size_t carrier)
{
    size_t index = (size_t)(pest - c->pests);
    return &c->cached[pest->carriage][carrier * c->n_pests + index];
}

fl_status fl_chances_read(fl_chances *c, fl_pest *pest, size_t carrier, fl_cached *out, fl_err *err)
{
    fl_cached *cached = fl_chances_cached(c, pest, carrier);
    fl_status status = FL_OK;
    if (!cached->is_known) {
        status = fl_spread_chance(&pest->slow, carrier, c->now_h, &cached->slow, err);
        if (status == FL_OK) {
            status = fl_spread_chance(&pest->fast, carrier, c->now_h, &cached->fast, err);
        }
        cached->is_known = status == FL_OK;
    }
    if (status == FL_OK) {
        *out = *cached;
    }
    return status;
}

static double least_of(const fl_reading *r)
{
    return fmin(r->poor, fmin(r->middle, r->good));
}

static double most_of(const fl_reading *r)
{
    return fmax(r->poor, fmax(r->middle, r->good));
}

/* The prior of the root that counts most on this carrier. */
static void likeliest_prior(const fl_pest *pest, size_t carrier, fl_lot_chance *out)
{
    const fl_spread *s = &pest->slow;
    for (size_t i = s->carriers[carrier].first; i != FL_NO_INDEX; i = s->copies[i].next) {
        const fl_copy *copy = &s->copies[i];
        if (copy->is_closed || copy->is_ended || copy->is_steady) {
            continue;
        }
        double prior = fl_spread_prior(s, copy);
        if (prior > out->prior) {
            out->prior = prior;
            out->is_learned = !FL_IS_FIND_ROOT(copy->root) && isnan(copy->prior) &&
                              pest->is_learned != NULL && pest->is_learned[copy->root];
        }
    }
}

/* One lot after the other is asked for: a list of them takes its time. */
static fl_status tell_progress(fl_chances *c, fl_err *err)
{
    c->n_asked++;
    return c->app == NULL ? FL_OK
                          : fl_progress_step(c->app->progress, FL_WORK_LOTS, c->n_asked,
                                             c->n_asked <= c->n_lots ? c->n_lots : 0, err);
}

fl_status fl_chances_of_lot(fl_chances *c, const fl_lot *lot, fl_lot_chance *out, size_t *count,
                            fl_err *err)
{
    size_t n = 0;
    fl_status status = tell_progress(c, err);
    status = status == FL_OK ? fl_chances_reach(c, lot, err) : status;
    for (size_t i = 0; i < c->n_pests && status == FL_OK; i++) {
        fl_pest *pest = &c->pests[i];
        size_t carrier = fl_chances_carrier(c, pest, lot);
        fl_cached read = {0};
        if (carrier == FL_NO_INDEX) {
            continue;
        }
        status = fl_chances_read(c, pest, carrier, &read, err);
        out[n] = (fl_lot_chance){.threat = pest->threat,
                                 .chance = read.slow.middle,
                                 .least = fmin(least_of(&read.slow), least_of(&read.fast)),
                                 .most = fmax(most_of(&read.slow), most_of(&read.fast)),
                                 .is_out_of_reach = pest->threat->is_out_of_reach};
        likeliest_prior(pest, carrier, &out[n]);
        n++;
    }
    if (status == FL_OK) {
        *count = n;
    }
    return status;
}

/* ---- reasons ---- */

static fl_sv reason_text(const fl_chances *c, const fl_pest *pest, const fl_copy *copy,
                         fl_arena *arena)
{
    const fl_room *room = c->room;
    if (FL_IS_FIND_ROOT(copy->root)) {
        const fl_spread_find *find = &pest->slow.finds[copy->root - FL_FIND_ROOT(0)];
        fl_sv place = fl_room_place_name(room, find->finding->place);
        return fl_arena_printf(arena, "seen in %.*s", FL_SV_ARG(place));
    }
    const fl_root *root = &fl_pest_network(c, pest)->roots[copy->root];
    if (root->kind == FL_ROOT_ROOM) {
        return FL_SV("the room itself: openings and the lid");
    }
    const fl_lot *lot = &room->meaning.lots[root->lot];
    if (root->kind == FL_ROOT_ALREADY_HERE) {
        return FL_SV("what was already here");
    }
    if (fl_form_is_material(lot->form)) {
        return fl_arena_printf(arena, "the material %.*s", FL_SV_ARG(fl_room_lot_name(room, lot)));
    }
    return fl_arena_printf(arena, "the purchase from %.*s",
                           FL_SV_ARG(fl_room_source_name(room, root->source)));
}

static fl_reason reason_of(const fl_chances *c, const fl_pest *pest, const fl_copy *copy,
                           fl_arena *arena)
{
    fl_reason reason = {.what = reason_text(c, pest, copy, arena),
                        .link = copy->link,
                        .event = copy->from_event->id,
                        .at_s = copy->from_h * FL_HOUR_S};
    if (FL_IS_FIND_ROOT(copy->root)) {
        reason.kind = FL_ROOT_FIND;
    } else {
        const fl_root *root = &fl_pest_network(c, pest)->roots[copy->root];
        reason.kind = root->kind;
        reason.at_s = root->at_h * FL_HOUR_S;
        reason.is_learned = isnan(copy->prior) && pest->is_learned[copy->root];
    }
    reason.prior = copy->is_steady ? 0.0 : fl_spread_prior(&pest->slow, copy);
    return reason;
}

fl_status fl_chances_reasons(fl_chances *c, const fl_lot *lot, const fl_threat *threat,
                             fl_arena *arena, fl_reason **out, size_t *count, fl_err *err)
{
    *count = 0;
    fl_status reached = fl_chances_reach(c, lot, err);
    if (reached != FL_OK) {
        return reached;
    }
    for (size_t p = 0; p < c->n_pests; p++) {
        fl_pest *pest = &c->pests[p];
        fl_spread *s = &pest->slow;
        size_t carrier = fl_chances_carrier(c, pest, lot);
        if (pest->threat != threat || carrier == FL_NO_INDEX) {
            continue;
        }
        *out = FL_ARENA_ARRAY(arena, fl_reason, s->n_copies);
        for (size_t i = s->carriers[carrier].first; i != FL_NO_INDEX; i = s->copies[i].next) {
            fl_copy *copy = &s->copies[i];
            fl_filter_sums sums;
            fl_reading reading = {0};
            if (copy->is_closed || copy->is_ended) {
                continue;
            }
            fl_status status = fl_spread_advance(s, copy, c->now_h, err);
            if (status == FL_OK) {
                status = fl_programmes_sums(c->programmes, copy->prog, &sums, err);
            }
            if (status == FL_OK) {
                status = fl_spread_read_sums(s, copy, &sums, &reading, err);
            }
            if (status != FL_OK) {
                return status;
            }
            (*out)[*count] = reason_of(c, pest, copy, arena);
            (*out)[(*count)++].chance = reading.middle;
        }
    }
    return FL_OK;
}

/* ---- the last way in ---- */

typedef struct stretches {
    fl_stretch *list;
    size_t n;
} stretches;

/* A vague time stands for its middle; it may have been this much later. */
static int64_t later_by_s(fl_precision precision)
{
    static const int64_t half_s[FL_PRECISION_COUNT] = {
        0, FL_HOUR_S / 2, FL_DAY_S / 2, 17 * (int64_t)FL_DAY_S, 185 * (int64_t)FL_DAY_S};
    return half_s[precision];
}

/* Adds where a lot stood until an hour, in order. */
static void add_stretches(const fl_walked *walked, size_t lot, int64_t until_h, stretches *out)
{
    size_t first = out->n;
    for (size_t i = 0; i < walked->n_stands && walked->stands[i].at_h <= until_h; i++) {
        const fl_stand *stand = &walked->stands[i];
        if (stand->lot != lot) {
            continue;
        }
        if (out->n > first) {
            out->list[out->n - 1].to_h = stand->at_h;
        }
        out->list[out->n++] = (fl_stretch){stand->carrier, stand->at_h, until_h};
    }
}

/* Where the lot has stood, and before its birth those it was cut or split from: what reached the
 * mother had reached what was cut from her. Every stand is taken at most once, for no lot descends
 * from itself. */
static stretches stretches_of(fl_chances *c, const fl_walked *walked, size_t lot)
{
    const fl_meaning *m = &c->room->meaning;
    stretches all = {.list = FL_ARENA_ARRAY(&c->arena, fl_stretch, walked->n_stands)};
    int64_t until_h = INT64_MAX;
    while (lot != FL_NO_INDEX) {
        const fl_lot *row = &m->lots[lot];
        add_stretches(walked, lot, until_h, &all);
        const fl_lot *mother = fl_id_is_none(row->mother) ? NULL : fl_meaning_lot(m, row->mother);
        int64_t born_h = row->born_s / FL_HOUR_S;
        until_h = born_h < until_h ? born_h : until_h;
        lot = mother == NULL ? FL_NO_INDEX : (size_t)(mother - m->lots);
    }
    return all;
}

size_t fl_chances_stretches(fl_chances *c, const fl_pest *pest, size_t lot, fl_stretch **out)
{
    stretches all = stretches_of(c, &c->walked[pest->carriage], lot);
    *out = all.list;
    return all.n;
}

/* When a copy first met the lot, at the latest; INT64_MAX when never. */
static int64_t met_at(const stretches *all, const fl_copy *copy)
{
    int64_t met_h = INT64_MAX;
    int64_t from_h = copy->from_h + later_by_s(copy->from_event->precision) / FL_HOUR_S;
    for (size_t i = 0; i < all->n; i++) {
        const fl_stretch *one = &all->list[i];
        if (one->carrier == copy->carrier && copy->from_h <= one->to_h) {
            int64_t at_h = from_h > one->from_h ? from_h : one->from_h;
            met_h = at_h < met_h ? at_h : met_h;
        }
    }
    return met_h;
}

int64_t fl_chances_met_at(fl_chances *c, const fl_pest *pest, size_t lot, size_t root)
{
    stretches all = stretches_of(c, &c->walked[pest->carriage], lot);
    int64_t met_h = INT64_MAX;
    for (size_t i = 0; i < pest->slow.n_copies; i++) {
        const fl_copy *copy = &pest->slow.copies[i];
        int64_t at_h = copy->root == root ? met_at(&all, copy) : INT64_MAX;
        met_h = at_h < met_h ? at_h : met_h;
    }
    return met_h;
}

/* The last of the moments at which each root of one pest first met the lot. */
static int64_t last_of_pest(fl_chances *c, const fl_pest *pest, size_t lot)
{
    const fl_spread *s = &pest->slow;
    const fl_network *network = fl_pest_network(c, pest);
    stretches all = stretches_of(c, &c->walked[pest->carriage], lot);
    size_t n_roots = network->n_roots + s->n_finds;
    int64_t *first = FL_ARENA_ARRAY(&c->arena, int64_t, n_roots);
    int64_t last = INT64_MIN;
    for (size_t i = 0; i < n_roots; i++) {
        first[i] = INT64_MAX;
    }
    for (size_t i = 0; i < s->n_copies; i++) {
        const fl_copy *copy = &s->copies[i];
        size_t root = FL_IS_FIND_ROOT(copy->root)
                          ? network->n_roots + (copy->root - FL_FIND_ROOT(0))
                          : copy->root;
        int64_t met = copy->is_steady ? INT64_MAX : met_at(&all, copy);
        first[root] = met < first[root] ? met : first[root];
    }
    for (size_t i = 0; i < n_roots; i++) {
        last = first[i] != INT64_MAX && first[i] > last ? first[i] : last;
    }
    return last;
}

int64_t fl_chances_last_way_in(fl_chances *c, const fl_lot *lot)
{
    size_t index = fl_chances_lot_index(c, lot);
    const fl_lot *origin = fl_room_origin_of(c->room, lot);
    int64_t last = (origin->born_s + later_by_s(origin->precision)) / FL_HOUR_S;
    if (fl_chances_reach(c, lot, NULL) != FL_OK) {
        return c->now_h * FL_HOUR_S; /* not known: it may have been now */
    }
    for (size_t p = 0; p < c->n_pests; p++) {
        int64_t of_pest = last_of_pest(c, &c->pests[p], index);
        last = of_pest > last ? of_pest : last;
    }
    return (last < c->now_h ? last : c->now_h) * FL_HOUR_S;
}
