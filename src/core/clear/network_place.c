/* Carriers, and which lot stands where: each lot knows its carrier and its place, each place the
 * lots that stand in it (an intrusive list). */
#include <math.h>

#include "core/clear/network_work.h"

#define FOR_GOOD_D 365.0 /* of a day's figure nothing is left after so long */

size_t fl_net_carriers_at_most(const fl_meaning *meaning)
{
    return meaning->n_fills + meaning->n_stays + meaning->n_lots;
}

/* True the first time a carrier is asked about since the last ++last_mark. */
bool fl_net_is_new_mark(fl_net_walk *w, size_t carrier)
{
    bool is_new = w->mark[carrier] != w->last_mark;
    w->mark[carrier] = w->last_mark;
    return is_new;
}

/* ---- small look-ups ---- */

int64_t fl_net_hour_of(int64_t at_s)
{
    return at_s >= 0 ? at_s / FL_HOUR_S : -((-at_s + FL_HOUR_S - 1) / FL_HOUR_S);
}

size_t fl_net_lot_index(const fl_net_walk *w, fl_id id)
{
    const fl_meaning *m = w->in->meaning;
    size_t low = 0;
    size_t high = m->n_lots;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (fl_id_compare(m->lots[middle].id, id) < 0) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    return low < m->n_lots && fl_id_eq(m->lots[low].id, id) ? low : FL_NO_INDEX;
}

const fl_ev_place_set *fl_net_place_at(const fl_net_walk *w, size_t place)
{
    return &w->in->defs->places.events[place]->body.place_set;
}

size_t fl_net_place_index(const fl_net_walk *w, fl_id id)
{
    const fl_def_set *places = &w->in->defs->places;
    size_t low = 0;
    size_t high = places->count;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (fl_id_compare(fl_net_place_at(w, middle)->place, id) < 0) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    return low < places->count && fl_id_eq(fl_net_place_at(w, low)->place, id) ? low : FL_NO_INDEX;
}

size_t fl_net_fill_index(const fl_net_walk *w, fl_id place, int64_t at_s)
{
    const fl_meaning *m = w->in->meaning;
    size_t low = 0;
    size_t high = m->n_fills; /* the last fill with (place, from_s) <= (place, at_s) */
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        int order = fl_id_compare(m->fills[middle].place, place);
        if (order < 0 || (order == 0 && m->fills[middle].from_s <= at_s)) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    if (low == 0 || !fl_id_eq(m->fills[low - 1].place, place) || at_s >= m->fills[low - 1].to_s) {
        return FL_NO_INDEX;
    }
    return low - 1;
}

fl_status fl_net_emit(fl_net_walk *w, fl_happening happening, const fl_event *event)
{
    happening.event = event;
    happening.at_h = fl_net_hour_of(event->at_s);
    return w->sink(w->context, &happening, w->err);
}

fl_status fl_net_emit_transfer(fl_net_walk *w, size_t from, size_t to, fl_link link,
                               const fl_event *event)
{
    if (from == to || from == FL_NO_INDEX || to == FL_NO_INDEX) {
        return FL_OK;
    }
    fl_happening h = {.kind = FL_HAP_TRANSFER, .carrier = to, .other = from, .link = link};
    h.factor = (double)NAN;
    return fl_net_emit(w, h, event);
}

fl_status fl_net_emit_opened(fl_net_walk *w, size_t carrier, const fl_event *event)
{
    if (carrier == FL_NO_INDEX || w->in->carriage == FL_CARRIAGE_LOT ||
        carrier >= w->in->meaning->n_fills || w->opened_by[carrier] == event) {
        return FL_OK; /* several lots of one event: one opening */
    }
    w->opened_by[carrier] = event;
    fl_happening h = {.kind = FL_HAP_OPENED, .carrier = carrier};
    return fl_net_emit(w, h, event);
}

/* ---- carriers ---- */

static fl_status add_carrier(fl_net_walk *w, const fl_carrier *carrier, size_t *index)
{
    if (w->out->n_carriers >= w->out->cap_carriers) {
        return fl_fail(w->err, FL_ETOOBIG, "more than %zu carriers", w->out->cap_carriers);
    }
    *index = w->out->n_carriers;
    w->out->carriers[w->out->n_carriers++] = *carrier;
    return FL_OK;
}

/* The carriers that are there from the start: every fill, or every lot. */
fl_status fl_net_add_fixed_carriers(fl_net_walk *w)
{
    const fl_meaning *m = w->in->meaning;
    size_t index = 0;
    fl_status status = FL_OK;
    if (w->in->carriage == FL_CARRIAGE_LOT) {
        for (size_t i = 0; i < m->n_lots && status == FL_OK; i++) {
            fl_carrier carrier = {.id = m->lots[i].id, .lot = i};
            status = add_carrier(w, &carrier, &index);
        }
        return status;
    }
    for (size_t i = 0; i < m->n_fills && status == FL_OK; i++) {
        const fl_ev_place_set *place = fl_defs_place(w->in->defs, m->fills[i].place);
        fl_carrier carrier = {.id = m->fills[i].id, .place = m->fills[i].place, .lot = FL_NO_INDEX};
        carrier.has_gasket = place != NULL && place->has_gasket;
        carrier.is_closed_box =
            place != NULL && (place->kind == FL_PLACE_BIN || place->kind == FL_PLACE_JAR);
        status = add_carrier(w, &carrier, &index);
    }
    return status;
}

/* What holds together on an open bench: one arrival, one batch of own cuttings, or all that was
 * already there (none: they have one root, see root_key). */
static fl_id bench_group(const fl_lot *lot)
{
    if (lot->origin == FL_KIND_LOT_ALREADY_HERE) {
        return (fl_id){{0}};
    }
    return fl_id_is_none(lot->arrival) ? lot->id : lot->arrival;
}

/* What two groups on a bench gave each other in the time since it was last told. */
fl_status fl_net_tell_pair(fl_net_walk *w, fl_net_pair *pair, int64_t at_s, const fl_event *event)
{
    double days = (double)(at_s - pair->since_s) / FL_DAY_S;
    fl_happening h = {.kind = FL_HAP_TRANSFER,
                      .at_h = fl_net_hour_of(at_s),
                      .event = event,
                      .carrier = pair->a,
                      .other = pair->b,
                      .link = FL_LINK_OPEN_BENCH,
                      .factor = (double)NAN,
                      .days = days};
    if (days <= 0.0) {
        return FL_OK;
    }
    pair->since_s = at_s;
    fl_status status = w->sink(w->context, &h, w->err);
    h.carrier = pair->b;
    h.other = pair->a;
    return status == FL_OK ? w->sink(w->context, &h, w->err) : status;
}

/* A group has come to stand on a bench: with each group that stands there a pair begins. */
static fl_status begin_pairs(fl_net_walk *w, size_t carrier, size_t place, const fl_event *event)
{
    fl_status status = FL_OK;
    w->last_mark++;
    (void)fl_net_is_new_mark(w, carrier);
    for (size_t i = w->first_lot[place]; i != FL_NO_INDEX && status == FL_OK; i = w->lots[i].next) {
        size_t other = w->lots[i].carrier;
        if (other == FL_NO_INDEX || other < w->in->meaning->n_fills ||
            !fl_net_is_new_mark(w, other)) {
            continue;
        }
        if (w->n_pairs ==
            FL_NET_PAIRS_MAX) { /* never in a plant room: one is told as if for good */
            w->pairs[0].since_s = event->at_s - (int64_t)(FOR_GOOD_D * FL_DAY_S);
            status = fl_net_tell_pair(w, &w->pairs[0], event->at_s, event);
            w->pairs[0] = w->pairs[--w->n_pairs];
        }
        w->pairs[w->n_pairs++] = (fl_net_pair){carrier, other, event->at_s};
    }
    return status;
}

/* A lot is about to leave a bench: its pairs are told, and end when none of its group is left. */
static fl_status leave_bench(fl_net_walk *w, size_t lot, const fl_event *event)
{
    const fl_net_lot *s = &w->lots[lot];
    fl_status status = FL_OK;
    if (w->in->carriage == FL_CARRIAGE_LOT || s->carrier == FL_NO_INDEX ||
        s->carrier < w->in->meaning->n_fills || s->place == FL_NO_INDEX) {
        return FL_OK;
    }
    bool is_last = w->n_on[s->carrier] <= 1;
    for (size_t i = 0; i < w->n_pairs && status == FL_OK;) {
        bool is_own = w->pairs[i].a == s->carrier || w->pairs[i].b == s->carrier;
        status = is_own ? fl_net_tell_pair(w, &w->pairs[i], event->at_s, event) : FL_OK;
        if (is_own && is_last) {
            w->pairs[i] = w->pairs[--w->n_pairs];
        } else {
            i++;
        }
    }
    return status;
}

/* The bench carrier of this lot's group. A group that had left the bench begins anew there: what
 * it left on an empty bench is not a pool any more. */
static fl_status bench_carrier(fl_net_walk *w, size_t lot, size_t place, const fl_event *event,
                               size_t *out)
{
    char text[FL_ID_TEXT_MAX];
    fl_id group = bench_group(&w->in->meaning->lots[lot]);
    fl_id id =
        fl_id_derive(fl_net_place_at(w, place)->place, fl_sv_from_cstr(fl_id_format(text, group)));
    *out = FL_NO_INDEX;
    for (size_t i = w->out->n_carriers; i > w->in->meaning->n_fills && *out == FL_NO_INDEX; i--) {
        *out = fl_id_eq(w->out->carriers[i - 1].id, id) ? i - 1 : FL_NO_INDEX;
    }
    if (*out != FL_NO_INDEX && w->n_on[*out] == 0 && w->emptied_s[*out] < event->at_s) {
        *out = FL_NO_INDEX;
    }
    fl_carrier carrier = {.id = id, .place = fl_net_place_at(w, place)->place, .lot = FL_NO_INDEX};
    fl_status status = *out == FL_NO_INDEX ? add_carrier(w, &carrier, out) : FL_OK;
    if (status == FL_OK && w->n_on[*out] == 0) {
        w->emptied_s[*out] = event->at_s; /* until its first lot stands on it */
        status = begin_pairs(w, *out, place, event);
    }
    return status;
}

/* When the record knows the place from: an existing collection may be dated years before it, and
 * what the room let in meanwhile is in its own prior already. */
static int64_t told_from(const fl_net_walk *w, fl_id place, int64_t at_s)
{
    for (size_t i = 0; i < w->in->n_events; i++) { /* oldest first: places are told early */
        const fl_event *event = &w->in->events[i];
        if (event->kind == FL_KIND_PLACE_SET && fl_id_eq(event->body.place_set.place, place)) {
            return event->at_s > at_s ? event->at_s : at_s;
        }
    }
    return at_s;
}

/* A fill begins: what the one before it left, and the room's own hazard. */
fl_status fl_net_begin_fill(fl_net_walk *w, size_t fill, const fl_event *event)
{
    const fl_meaning *m = w->in->meaning;
    if (w->carrier_used[fill]) {
        return FL_OK;
    }
    w->carrier_used[fill] = true;
    if (w->out->n_roots >= w->out->cap_roots) {
        return fl_fail(w->err, FL_ETOOBIG, "more than %zu roots", w->out->cap_roots);
    }
    fl_root *room = &w->out->roots[w->out->n_roots];
    *room = (fl_root){.kind = FL_ROOT_ROOM,
                      .key = m->fills[fill].id,
                      .lot = FL_NO_INDEX,
                      .carrier = fill,
                      .at_h = fl_net_hour_of(told_from(w, m->fills[fill].place, event->at_s))};
    fl_happening h = {.kind = FL_HAP_ROOT, .carrier = fill, .root = w->out->n_roots++};
    fl_status status = fl_net_emit(w, h, event);
    bool follows = fill > 0 && fl_id_eq(m->fills[fill - 1].place, m->fills[fill].place);
    if (status == FL_OK && follows && w->carrier_used[fill - 1] &&
        !m->fills[fill].began_with_lots) {
        status = fl_net_emit_transfer(w, fill - 1, fill, FL_LINK_LEFTOVER, event);
    }
    return status;
}

/* The carrier of a lot that stands in `place` from this event on. */
static fl_status carrier_of(fl_net_walk *w, size_t lot, size_t place, const fl_event *event,
                            size_t *out)
{
    *out = FL_NO_INDEX;
    if (place == FL_NO_INDEX || fl_net_place_at(w, place)->kind == FL_PLACE_OUTSIDE) {
        return FL_OK;
    }
    if (w->in->carriage == FL_CARRIAGE_LOT) {
        *out = lot;
        return FL_OK;
    }
    if (fl_net_place_at(w, place)->kind == FL_PLACE_BENCH) {
        return bench_carrier(w, lot, place, event, out);
    }
    *out = fl_net_fill_index(w, fl_net_place_at(w, place)->place, event->at_s);
    return *out == FL_NO_INDEX ? FL_OK : fl_net_begin_fill(w, *out, event);
}

/* ---- lots in places ---- */

static void unlink_lot(fl_net_walk *w, size_t lot)
{
    fl_net_lot *s = &w->lots[lot];
    if (s->place == FL_NO_INDEX) {
        return;
    }
    if (s->previous != FL_NO_INDEX) {
        w->lots[s->previous].next = s->next;
    } else {
        w->first_lot[s->place] = s->next;
    }
    if (s->next != FL_NO_INDEX) {
        w->lots[s->next].previous = s->previous;
    }
    s->place = s->next = s->previous = FL_NO_INDEX;
}

static void link_lot(fl_net_walk *w, size_t lot, size_t place)
{
    unlink_lot(w, lot);
    if (place == FL_NO_INDEX) {
        return;
    }
    fl_net_lot *s = &w->lots[lot];
    s->place = place;
    s->next = w->first_lot[place];
    s->previous = FL_NO_INDEX;
    if (s->next != FL_NO_INDEX) {
        w->lots[s->next].previous = lot;
    }
    w->first_lot[place] = lot;
}

void fl_net_set_carrier(fl_net_walk *w, size_t lot, size_t carrier, const fl_event *event)
{
    fl_net_lot *s = &w->lots[lot];
    if (s->carrier != FL_NO_INDEX && --w->n_on[s->carrier] == 0) {
        w->emptied_s[s->carrier] = event->at_s;
    }
    s->carrier = carrier;
    if (carrier != FL_NO_INDEX) {
        w->n_on[carrier]++;
        s->last = carrier;
    }
}

/* ---- roots ---- */

static size_t find_root(const fl_net_walk *w, fl_root_kind kind, fl_id key)
{
    for (size_t i = w->out->n_roots; i > 0; i--) { /* the newest are asked for most */
        const fl_root *root = &w->out->roots[i - 1];
        if (root->kind == kind && fl_id_eq(root->key, key)) {
            return i - 1;
        }
    }
    return FL_NO_INDEX;
}

/* What tells one root from another: the purchase for mobile threats, else the lot. */
static fl_id root_key(const fl_net_walk *w, const fl_lot *lot, fl_root_kind kind, size_t place)
{
    char text[FL_ID_TEXT_MAX];
    if (w->in->carriage == FL_CARRIAGE_LOT || fl_form_is_material(lot->form)) {
        return lot->id;
    }
    if (kind == FL_ROOT_ALREADY_HERE) {
        return place == FL_NO_INDEX ? lot->id : fl_net_place_at(w, place)->place;
    }
    return fl_id_derive(lot->source, fl_sv_from_cstr(fl_id_format(text, lot->arrival)));
}

fl_status fl_net_add_root(fl_net_walk *w, size_t lot, size_t place, fl_root_kind kind,
                          const fl_event *event)
{
    size_t carrier = w->lots[lot].carrier;
    w->lots[lot].needs_root = carrier == FL_NO_INDEX;
    w->lots[lot].root_kind = kind;
    if (carrier == FL_NO_INDEX) {
        return FL_OK;
    }
    const fl_lot *l = &w->in->meaning->lots[lot];
    fl_id key = root_key(w, l, kind, place);
    size_t root = find_root(w, kind, key);
    if (root == FL_NO_INDEX) {
        if (w->out->n_roots >= w->out->cap_roots) {
            return fl_fail(w->err, FL_ETOOBIG, "more than %zu roots", w->out->cap_roots);
        }
        root = w->out->n_roots++;
        w->out->roots[root] = (fl_root){.kind = kind,
                                        .key = key,
                                        .source = l->source,
                                        .lot = lot,
                                        .carrier = carrier,
                                        .at_h = fl_net_hour_of(event->at_s)};
    }
    w->out->roots[root].forms |= 1U << l->form;
    fl_happening h = {.kind = FL_HAP_ROOT, .carrier = carrier, .root = root};
    return fl_net_emit(w, h, event);
}

/* Puts a lot into a place: finds its carrier, and tells a sedentary carrier's new place. */
fl_status fl_net_put_lot(fl_net_walk *w, size_t lot, size_t place, const fl_event *event)
{
    size_t carrier = FL_NO_INDEX;
    fl_status status = leave_bench(w, lot, event);
    if (status == FL_OK) {
        status = carrier_of(w, lot, place, event, &carrier);
    }
    if (status != FL_OK) {
        return status;
    }
    link_lot(w, lot, place);
    fl_net_set_carrier(w, lot, carrier, event);
    bool is_outside = place != FL_NO_INDEX && fl_net_place_at(w, place)->kind == FL_PLACE_OUTSIDE;
    w->lots[lot].is_gone = w->lots[lot].is_gone || is_outside;
    fl_happening stand = {.kind = FL_HAP_STAND, .lot = lot, .carrier = carrier};
    status = fl_net_emit(w, stand, event);
    if (status == FL_OK && w->in->carriage == FL_CARRIAGE_LOT) {
        fl_happening h = {.kind = FL_HAP_PLACE, .carrier = lot};
        if (carrier != FL_NO_INDEX) {
            h.place = fl_net_place_at(w, place)->place;
        }
        status = fl_net_emit(w, h, event);
    }
    if (status == FL_OK && w->lots[lot].needs_root && carrier != FL_NO_INDEX) {
        status = fl_net_add_root(w, lot, place, w->lots[lot].root_kind, event);
    }
    return status;
}
