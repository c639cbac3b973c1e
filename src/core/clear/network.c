/* The walk over the history that finds carriers, roots and transfers. One pass; each lot knows its
 * carrier and its place, each place the lots that stand in it (an intrusive list). */
#include "core/clear/network.h"

#include <assert.h>
#include <math.h>
#include <string.h>

#define TUBS_MAX 32
#define PAIRS_MAX 128

typedef struct lot_state {
    size_t carrier; /* FL_NO_INDEX: nowhere */
    size_t last;    /* the last carrier it was on: what it brings along comes from there */
    size_t place;   /* index in defs->places; FL_NO_INDEX */
    size_t next;    /* next lot in the same place */
    size_t previous;
    int64_t count;
    bool is_born;
    bool needs_root; /* it came in where it did not stay for a second: its root waits */
    fl_root_kind root_kind;
} lot_state;

typedef struct tub_use {
    fl_sv tub;
    int64_t at_s;
    size_t carrier;
    const fl_event *event;
} tub_use;

/* Two groups that stand open on one bench, and since when that is not told yet. */
typedef struct bench_pair {
    size_t a;
    size_t b;
    int64_t since_s;
} bench_pair;

typedef struct walk {
    const fl_network_input *in;
    fl_network *out;
    fl_happening_sink sink;
    void *context;
    lot_state *lots;
    size_t *first_lot; /* by place */
    size_t *mark;      /* by carrier: the last mark it was given, see is_new_mark */
    size_t last_mark;
    bool *carrier_used; /* fills only: its first lot has come */
    tub_use tubs[TUBS_MAX];
    size_t n_tubs; /* ever used; the ring holds the last TUBS_MAX */
    const fl_event *last_look;
    bench_pair pairs[PAIRS_MAX];
    size_t n_pairs;
    fl_err *err;
} walk;

static size_t carriers_at_most(const fl_meaning *meaning)
{
    return meaning->n_fills + meaning->n_stays + meaning->n_lots;
}

size_t fl_network_scratch_bytes(const fl_meaning *meaning, const fl_defs *defs)
{
    return meaning->n_lots * sizeof(lot_state) +
           (defs->places.count + carriers_at_most(meaning)) * sizeof(size_t) +
           meaning->n_fills * sizeof(bool) + sizeof(lot_state);
}

/* True the first time a carrier is asked about since the last ++last_mark. */
static bool is_new_mark(walk *w, size_t carrier)
{
    bool is_new = w->mark[carrier] != w->last_mark;
    w->mark[carrier] = w->last_mark;
    return is_new;
}

/* ---- small look-ups ---- */

static int64_t hour_of(int64_t at_s)
{
    return at_s >= 0 ? at_s / FL_HOUR_S : -((-at_s + FL_HOUR_S - 1) / FL_HOUR_S);
}

static size_t lot_index(const walk *w, fl_id id)
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

static const fl_ev_place_set *place_at(const walk *w, size_t place)
{
    return &w->in->defs->places.events[place]->body.place_set;
}

static size_t place_index(const walk *w, fl_id id)
{
    const fl_def_set *places = &w->in->defs->places;
    size_t low = 0;
    size_t high = places->count;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (fl_id_compare(place_at(w, middle)->place, id) < 0) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    return low < places->count && fl_id_eq(place_at(w, low)->place, id) ? low : FL_NO_INDEX;
}

static size_t fill_index(const walk *w, fl_id place, int64_t at_s)
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

static fl_status emit(walk *w, fl_happening happening, const fl_event *event)
{
    happening.event = event;
    happening.at_h = hour_of(event->at_s);
    return w->sink(w->context, &happening, w->err);
}

static fl_status emit_transfer(walk *w, size_t from, size_t to, fl_link link, const fl_event *event)
{
    if (from == to || from == FL_NO_INDEX || to == FL_NO_INDEX) {
        return FL_OK;
    }
    fl_happening h = {.kind = FL_HAP_TRANSFER, .carrier = to, .other = from, .link = link};
    h.factor = (double)NAN;
    return emit(w, h, event);
}

/* ---- carriers ---- */

static fl_status add_carrier(walk *w, const fl_carrier *carrier, size_t *index)
{
    if (w->out->n_carriers >= w->out->cap_carriers) {
        return fl_fail(w->err, FL_ETOOBIG, "more than %zu carriers", w->out->cap_carriers);
    }
    *index = w->out->n_carriers;
    w->out->carriers[w->out->n_carriers++] = *carrier;
    return FL_OK;
}

/* The carriers that are there from the start: every fill, or every lot. */
static fl_status add_fixed_carriers(walk *w)
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

/* What holds together on an open bench: one arrival, or one batch of own cuttings. */
static fl_id bench_group(const fl_lot *lot)
{
    return fl_id_is_none(lot->arrival) ? lot->id : lot->arrival;
}

/* What two groups on a bench gave each other in the time since it was last told. */
static fl_status tell_pair(walk *w, bench_pair *pair, int64_t at_s, const fl_event *event)
{
    double days = (double)(at_s - pair->since_s) / FL_DAY_S;
    fl_happening h = {.kind = FL_HAP_TRANSFER,
                      .at_h = hour_of(at_s),
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
static fl_status begin_pairs(walk *w, size_t carrier, size_t place, const fl_event *event)
{
    fl_status status = FL_OK;
    w->last_mark++;
    (void)is_new_mark(w, carrier);
    for (size_t i = w->first_lot[place]; i != FL_NO_INDEX && status == FL_OK; i = w->lots[i].next) {
        size_t other = w->lots[i].carrier;
        if (other == FL_NO_INDEX || other < w->in->meaning->n_fills || !is_new_mark(w, other)) {
            continue;
        }
        if (w->n_pairs == PAIRS_MAX) { /* never in a plant room; the oldest is told and dropped */
            status = tell_pair(w, &w->pairs[0], event->at_s, event);
            w->pairs[0] = w->pairs[--w->n_pairs];
        }
        w->pairs[w->n_pairs++] = (bench_pair){carrier, other, event->at_s};
    }
    return status;
}

static size_t lots_on(const walk *w, size_t carrier, size_t place)
{
    size_t count = 0;
    for (size_t i = w->first_lot[place]; i != FL_NO_INDEX; i = w->lots[i].next) {
        count += w->lots[i].carrier == carrier;
    }
    return count;
}

/* A lot is about to leave a bench: its pairs are told, and end when none of its group is left. */
static fl_status leave_bench(walk *w, size_t lot, const fl_event *event)
{
    const lot_state *s = &w->lots[lot];
    fl_status status = FL_OK;
    if (w->in->carriage == FL_CARRIAGE_LOT || s->carrier == FL_NO_INDEX ||
        s->carrier < w->in->meaning->n_fills || s->place == FL_NO_INDEX) {
        return FL_OK;
    }
    bool is_last = lots_on(w, s->carrier, s->place) <= 1;
    for (size_t i = 0; i < w->n_pairs && status == FL_OK;) {
        bool is_own = w->pairs[i].a == s->carrier || w->pairs[i].b == s->carrier;
        status = is_own ? tell_pair(w, &w->pairs[i], event->at_s, event) : FL_OK;
        if (is_own && is_last) {
            w->pairs[i] = w->pairs[--w->n_pairs];
        } else {
            i++;
        }
    }
    return status;
}

/* The bench carrier of this lot's group. */
static fl_status bench_carrier(walk *w, size_t lot, size_t place, const fl_event *event,
                               size_t *out)
{
    char text[FL_ID_TEXT_MAX];
    fl_id group = bench_group(&w->in->meaning->lots[lot]);
    fl_id id = fl_id_derive(place_at(w, place)->place, fl_sv_from_cstr(fl_id_format(text, group)));
    *out = FL_NO_INDEX;
    for (size_t i = w->in->meaning->n_fills; i < w->out->n_carriers && *out == FL_NO_INDEX; i++) {
        *out = fl_id_eq(w->out->carriers[i].id, id) ? i : FL_NO_INDEX;
    }
    fl_carrier carrier = {.id = id, .place = place_at(w, place)->place, .lot = FL_NO_INDEX};
    fl_status status = *out == FL_NO_INDEX ? add_carrier(w, &carrier, out) : FL_OK;
    if (status == FL_OK && lots_on(w, *out, place) == 0) {
        status = begin_pairs(w, *out, place, event);
    }
    return status;
}

/* A fill begins: what the one before it left, and the room's own hazard. */
static fl_status begin_fill(walk *w, size_t fill, const fl_event *event)
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
                      .at_h = hour_of(event->at_s)};
    fl_happening h = {.kind = FL_HAP_ROOT, .carrier = fill, .root = w->out->n_roots++};
    fl_status status = emit(w, h, event);
    bool follows = fill > 0 && fl_id_eq(m->fills[fill - 1].place, m->fills[fill].place);
    if (status == FL_OK && follows && w->carrier_used[fill - 1] &&
        !m->fills[fill].began_with_lots) {
        status = emit_transfer(w, fill - 1, fill, FL_LINK_LEFTOVER, event);
    }
    return status;
}

/* The carrier of a lot that stands in `place` from this event on. */
static fl_status carrier_of(walk *w, size_t lot, size_t place, const fl_event *event, size_t *out)
{
    *out = FL_NO_INDEX;
    if (place == FL_NO_INDEX || place_at(w, place)->kind == FL_PLACE_OUTSIDE) {
        return FL_OK;
    }
    if (w->in->carriage == FL_CARRIAGE_LOT) {
        *out = lot;
        return FL_OK;
    }
    if (place_at(w, place)->kind == FL_PLACE_BENCH) {
        return bench_carrier(w, lot, place, event, out);
    }
    *out = fill_index(w, place_at(w, place)->place, event->at_s);
    return *out == FL_NO_INDEX ? FL_OK : begin_fill(w, *out, event);
}

/* ---- lots in places ---- */

static void unlink_lot(walk *w, size_t lot)
{
    lot_state *s = &w->lots[lot];
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

static void link_lot(walk *w, size_t lot, size_t place)
{
    unlink_lot(w, lot);
    if (place == FL_NO_INDEX) {
        return;
    }
    lot_state *s = &w->lots[lot];
    s->place = place;
    s->next = w->first_lot[place];
    s->previous = FL_NO_INDEX;
    if (s->next != FL_NO_INDEX) {
        w->lots[s->next].previous = lot;
    }
    w->first_lot[place] = lot;
}

/* Puts a lot into a place: finds its carrier, and tells a sedentary carrier's new place. */
static fl_status add_root(walk *w, size_t lot, size_t place, fl_root_kind kind,
                          const fl_event *event);

static fl_status put_lot(walk *w, size_t lot, size_t place, const fl_event *event)
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
    w->lots[lot].carrier = carrier;
    w->lots[lot].last = carrier != FL_NO_INDEX ? carrier : w->lots[lot].last;
    fl_happening stand = {.kind = FL_HAP_STAND, .lot = lot, .carrier = carrier};
    status = emit(w, stand, event);
    if (status == FL_OK && w->in->carriage == FL_CARRIAGE_LOT) {
        fl_happening h = {.kind = FL_HAP_PLACE, .carrier = lot};
        if (carrier != FL_NO_INDEX) {
            h.place = place_at(w, place)->place;
        }
        status = emit(w, h, event);
    }
    if (status == FL_OK && w->lots[lot].needs_root && carrier != FL_NO_INDEX) {
        status = add_root(w, lot, place, w->lots[lot].root_kind, event);
    }
    return status;
}

static int64_t plants_on(const walk *w, size_t carrier, size_t place)
{
    int64_t plants = 0;
    for (size_t i = place == FL_NO_INDEX ? FL_NO_INDEX : w->first_lot[place]; i != FL_NO_INDEX;
         i = w->lots[i].next) {
        if (w->lots[i].carrier == carrier) {
            plants += w->lots[i].count;
        }
    }
    return plants;
}

/* ---- births ---- */

static size_t find_root(const walk *w, fl_root_kind kind, fl_id key)
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
static fl_id root_key(const walk *w, const fl_lot *lot, fl_root_kind kind, size_t place)
{
    char text[FL_ID_TEXT_MAX];
    if (w->in->carriage == FL_CARRIAGE_LOT || fl_form_is_material(lot->form)) {
        return lot->id;
    }
    if (kind == FL_ROOT_ALREADY_HERE) {
        return place == FL_NO_INDEX ? lot->id : place_at(w, place)->place;
    }
    return fl_id_derive(lot->source, fl_sv_from_cstr(fl_id_format(text, lot->arrival)));
}

static fl_status add_root(walk *w, size_t lot, size_t place, fl_root_kind kind,
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
                                        .at_h = hour_of(event->at_s)};
    }
    w->out->roots[root].forms |= 1U << l->form;
    fl_happening h = {.kind = FL_HAP_ROOT, .carrier = carrier, .root = root};
    return emit(w, h, event);
}

static fl_status on_born(walk *w, const fl_event *event, fl_id lot_id, fl_id place_id,
                         int64_t count, size_t *out)
{
    size_t lot = lot_index(w, lot_id);
    *out = FL_NO_INDEX;
    if (lot == FL_NO_INDEX || w->lots[lot].is_born ||
        !fl_id_eq(w->in->meaning->lots[lot].born_by, event->id)) {
        return FL_OK;
    }
    w->lots[lot].is_born = true;
    w->lots[lot].count = count;
    *out = lot;
    return put_lot(w, lot, place_index(w, place_id), event);
}

static fl_status on_arrived(walk *w, const fl_event *event)
{
    const fl_ev_lot_arrived *b = &event->body.lot_arrived;
    size_t lot = FL_NO_INDEX;
    fl_status status = on_born(w, event, b->lot, b->place, b->count, &lot);
    if (status != FL_OK || lot == FL_NO_INDEX) {
        return status;
    }
    return add_root(w, lot, w->lots[lot].place, FL_ROOT_PURCHASE, event);
}

static fl_status on_already_here(walk *w, const fl_event *event)
{
    const fl_ev_lot_already_here *b = &event->body.lot_already_here;
    size_t lot = FL_NO_INDEX;
    fl_status status = on_born(w, event, b->lot, b->place, b->count, &lot);
    if (status != FL_OK || lot == FL_NO_INDEX) {
        return status;
    }
    return add_root(w, lot, w->lots[lot].place, FL_ROOT_ALREADY_HERE, event);
}

static fl_status on_cut(walk *w, const fl_event *event)
{
    const fl_ev_lot_cut *b = &event->body.lot_cut;
    size_t lot = FL_NO_INDEX;
    size_t mother = lot_index(w, b->mother);
    size_t from = mother == FL_NO_INDEX ? FL_NO_INDEX : w->lots[mother].last;
    fl_status status = on_born(w, event, b->lot, b->place, b->count, &lot);
    if (status != FL_OK || lot == FL_NO_INDEX) {
        return status;
    }
    if (w->lots[lot].last == FL_NO_INDEX) {
        w->lots[lot].last = from;
    }
    fl_link link = b->form == FL_FORM_UNROOTED_CUTTING ? FL_LINK_CUTTING : FL_LINK_DIVISION;
    return emit_transfer(w, from, w->lots[lot].carrier, link, event);
}

static fl_status on_split(walk *w, const fl_event *event)
{
    const fl_ev_lot_split *b = &event->body.lot_split;
    size_t old = lot_index(w, b->lot);
    size_t lot = FL_NO_INDEX;
    if (old == FL_NO_INDEX || w->lots[old].place == FL_NO_INDEX) {
        return FL_OK;
    }
    fl_id place = place_at(w, w->lots[old].place)->place;
    fl_status status = on_born(w, event, b->new_lot, place, b->count, &lot);
    if (status != FL_OK || lot == FL_NO_INDEX) {
        return status;
    }
    int64_t left = w->lots[old].count - b->count;
    w->lots[old].count = left > 0 ? left : 0;
    return emit_transfer(w, w->lots[old].carrier, w->lots[lot].carrier, FL_LINK_MOVE, event);
}

/* ---- moves, cleanings ---- */

static fl_status emit_opened(walk *w, size_t carrier, const fl_event *event)
{
    if (carrier == FL_NO_INDEX || w->in->carriage == FL_CARRIAGE_LOT ||
        carrier >= w->in->meaning->n_fills) {
        return FL_OK;
    }
    fl_happening h = {.kind = FL_HAP_OPENED, .carrier = carrier};
    return emit(w, h, event);
}

static fl_status move_lot(walk *w, fl_id lot_id, fl_id to, const fl_event *event)
{
    size_t lot = lot_index(w, lot_id);
    if (lot == FL_NO_INDEX || !w->lots[lot].is_born || w->lots[lot].count == 0) {
        return FL_OK;
    }
    size_t from = w->lots[lot].last;
    size_t place = place_index(w, to);
    if (place != FL_NO_INDEX && place == w->lots[lot].place) {
        return FL_OK;
    }
    fl_status status = put_lot(w, lot, place, event);
    if (status == FL_OK) {
        status = emit_transfer(w, from, w->lots[lot].carrier, FL_LINK_MOVE, event);
    }
    if (status == FL_OK && from != w->lots[lot].carrier) {
        status = emit_opened(w, from, event);
    }
    if (status == FL_OK && from != w->lots[lot].carrier) {
        status = emit_opened(w, w->lots[lot].carrier, event);
    }
    return status;
}

static fl_status on_moved(walk *w, const fl_event *event)
{
    const fl_ev_lot_moved *b = &event->body.lot_moved;
    fl_status status = FL_OK;
    for (size_t i = 0; i < b->lots.count && status == FL_OK; i++) {
        status = move_lot(w, b->lots.ids[i], b->to, event);
    }
    return status;
}

static fl_status on_lost(walk *w, const fl_event *event)
{
    size_t lot = lot_index(w, event->body.lot_lost.lot);
    if (lot == FL_NO_INDEX || !w->lots[lot].is_born) {
        return FL_OK;
    }
    int64_t left = w->lots[lot].count - event->body.lot_lost.count;
    w->lots[lot].count = left > 0 ? left : 0;
    return left > 0 ? FL_OK : put_lot(w, lot, FL_NO_INDEX, event);
}

/* Cleaning closes the fill; lots that stood there through it carry their copies on. */
static fl_status on_cleaned(walk *w, const fl_event *event)
{
    const fl_meaning *m = w->in->meaning;
    if (w->in->carriage == FL_CARRIAGE_LOT) {
        return FL_OK;
    }
    size_t place = place_index(w, event->body.place_cleaned.place);
    fl_status status = FL_OK;
    for (size_t fill = 0; fill < m->n_fills && status == FL_OK; fill++) {
        if (!fl_id_eq(m->fills[fill].to_event, event->id)) {
            continue;
        }
        size_t next = fill_index(w, m->fills[fill].place, event->at_s);
        bool has_next = next != FL_NO_INDEX && m->fills[next].began_with_lots;
        if (has_next) {
            status = begin_fill(w, next, event);
        }
        if (has_next && status == FL_OK) {
            status = emit_transfer(w, fill, next, FL_LINK_MOVE, event);
        }
        for (size_t i = place == FL_NO_INDEX ? FL_NO_INDEX : w->first_lot[place];
             i != FL_NO_INDEX && status == FL_OK; i = w->lots[i].next) {
            if (w->lots[i].carrier == fill) {
                w->lots[i].carrier = has_next ? next : FL_NO_INDEX;
                w->lots[i].last = has_next ? next : fill;
                fl_happening h = {.kind = FL_HAP_STAND, .lot = i};
                h.carrier = w->lots[i].carrier;
                status = emit(w, h, event);
            }
        }
        if (status == FL_OK) {
            fl_happening h = {.kind = FL_HAP_CLOSE, .carrier = fill};
            h.factor = event->body.place_cleaned.efficacy;
            status = emit(w, h, event);
        }
    }
    return status;
}

/* ---- steps ---- */

/* The water of one tub: what was in it within FL_TUB_S reaches this carrier; inside one event
 * also the other way round. */
static fl_status share_tub(walk *w, fl_sv tub, size_t carrier, const fl_event *event)
{
    fl_status status = FL_OK;
    if (tub.len == 0) {
        return FL_OK;
    }
    size_t held = w->n_tubs < TUBS_MAX ? w->n_tubs : TUBS_MAX;
    for (size_t i = 0; i < held && status == FL_OK; i++) {
        const tub_use *use = &w->tubs[i];
        if (!fl_sv_eq(use->tub, tub) || use->carrier == carrier ||
            event->at_s - use->at_s > FL_TUB_S) {
            continue;
        }
        status = emit_transfer(w, use->carrier, carrier, FL_LINK_SHARED_TUB, event);
        if (status == FL_OK && use->event == event) {
            status = emit_transfer(w, carrier, use->carrier, FL_LINK_SHARED_TUB, event);
        }
    }
    for (size_t i = 0; i < held; i++) {
        if (fl_sv_eq(w->tubs[i].tub, tub) && w->tubs[i].carrier == carrier) {
            w->tubs[i].at_s = event->at_s;
            w->tubs[i].event = event;
            return status;
        }
    }
    w->tubs[w->n_tubs % TUBS_MAX] =
        (tub_use){.tub = tub, .at_s = event->at_s, .carrier = carrier, .event = event};
    w->n_tubs++;
    return status;
}

/* Calls `each` for every lot of every step that stands on a carrier. */
static fl_status each_step_lot(walk *w, const fl_event *event,
                               fl_status (*each)(walk *w, const fl_event *event,
                                                 const fl_ev_step *step, size_t lot))
{
    const fl_ev_step_done *b = &event->body.step_done;
    fl_status status = FL_OK;
    for (size_t i = 0; i < b->n_steps; i++) {
        const fl_ev_step *step = &b->steps[i];
        for (size_t k = 0; k < step->lots.count && status == FL_OK; k++) {
            size_t lot = lot_index(w, step->lots.ids[k]);
            if (lot != FL_NO_INDEX && w->lots[lot].carrier != FL_NO_INDEX) {
                status = each(w, event, step, lot);
            }
        }
    }
    return status;
}

static fl_status emit_part(walk *w, const fl_event *event, const fl_ev_step *step, size_t lot)
{
    fl_happening h = {.kind = FL_HAP_PART, .lot = lot, .step = step};
    h.carrier = w->lots[lot].carrier;
    h.n_plants = w->lots[lot].count;
    return emit(w, h, event);
}

static fl_status emit_tub(walk *w, const fl_event *event, const fl_ev_step *step, size_t lot)
{
    return share_tub(w, step->tub, w->lots[lot].carrier, event);
}

/* After all parts: each carrier once, with all its plants. */
static fl_status emit_treated(walk *w, const fl_event *event, const fl_ev_step *step, size_t lot)
{
    (void)step;
    size_t carrier = w->lots[lot].carrier;
    if (!is_new_mark(w, carrier)) {
        return FL_OK;
    }
    fl_happening h = {.kind = FL_HAP_TREATED, .carrier = carrier};
    h.n_plants = w->in->carriage == FL_CARRIAGE_LOT ? w->lots[lot].count
                                                    : plants_on(w, carrier, w->lots[lot].place);
    return emit(w, h, event);
}

static fl_status on_steps(walk *w, const fl_event *event)
{
    fl_status status = each_step_lot(w, event, emit_part);
    if (status == FL_OK) {
        status = each_step_lot(w, event, emit_tub);
    }
    w->last_mark++;
    return status == FL_OK ? each_step_lot(w, event, emit_treated) : status;
}

/* ---- looks ---- */

static bool is_in_list(fl_id_list list, fl_id id)
{
    for (size_t i = 0; i < list.count; i++) {
        if (fl_id_eq(list.ids[i], id)) {
            return true;
        }
    }
    return false;
}

/* Share of the carrier's plants that this look examined. */
static double frac_seen(const walk *w, const fl_ev_look_done *look, size_t carrier, size_t place)
{
    int64_t seen = 0;
    int64_t all = 0;
    for (size_t i = w->first_lot[place]; i != FL_NO_INDEX; i = w->lots[i].next) {
        if (w->lots[i].carrier != carrier) {
            continue;
        }
        all += w->lots[i].count;
        if (look->lots.count == 0 || is_in_list(look->lots, w->in->meaning->lots[i].id)) {
            seen += w->lots[i].count;
        }
    }
    return all > 0 ? look->frac_examined * (double)seen / (double)all : 0.0;
}

/* First finding (they are sorted by time) that is not earlier than at_s. */
static size_t first_finding(const fl_meaning *m, int64_t at_s)
{
    size_t low = 0;
    size_t high = m->n_findings;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (m->findings[middle].at_s < at_s) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    return low;
}

static fl_status look_at_carrier(walk *w, const fl_event *event, size_t carrier, size_t place)
{
    const fl_meaning *m = w->in->meaning;
    const fl_ev_look_done *look = &event->body.look_done;
    fl_happening seen = {.kind = FL_HAP_LOOK, .carrier = carrier, .look = look};
    seen.frac_seen = frac_seen(w, look, carrier, place);
    fl_status status = FL_OK;
    for (size_t i = first_finding(m, event->at_s);
         i < m->n_findings && m->findings[i].at_s == event->at_s && status == FL_OK; i++) {
        const fl_finding_now *f = &m->findings[i];
        size_t lot = fl_id_is_none(f->lot) ? FL_NO_INDEX : lot_index(w, f->lot);
        if (!fl_id_eq(f->look, event->id) || f->is_retracted ||
            (lot != FL_NO_INDEX && w->lots[lot].carrier != carrier)) {
            continue;
        }
        if (f->threat.len == 0) {
            seen.has_unidentified = true;
            continue;
        }
        fl_happening found = {.kind = FL_HAP_FOUND, .carrier = carrier, .finding = f};
        status = emit(w, found, event);
    }
    if (status == FL_OK) {
        status = emit_opened(w, carrier, event);
    }
    return status != FL_OK || seen.frac_seen <= 0.0 ? status : emit(w, seen, event);
}

/* Tools and hands that went from the place before to this one. */
static fl_status carry_tools(walk *w, const fl_event *event, size_t place)
{
    const fl_ev_look_done *look = &event->body.look_done;
    if (w->last_look == NULL || look->hands == FL_HANDS_CLEANED ||
        event->at_s - w->last_look->at_s > FL_ROUND_S) {
        return FL_OK;
    }
    size_t before = place_index(w, w->last_look->body.look_done.place);
    if (before == FL_NO_INDEX || before == place) {
        return FL_OK;
    }
    fl_link link = look->hands == FL_HANDS_NOT_CLEANED ? FL_LINK_SHARED_TOOL : FL_LINK_UNSURE_TOOL;
    fl_status status = FL_OK;
    size_t last_from = FL_NO_INDEX;
    for (size_t i = w->first_lot[before]; i != FL_NO_INDEX && status == FL_OK;
         i = w->lots[i].next) {
        if (w->lots[i].carrier == last_from || w->lots[i].carrier == FL_NO_INDEX) {
            continue;
        }
        last_from = w->lots[i].carrier;
        size_t last_to = FL_NO_INDEX;
        for (size_t k = w->first_lot[place]; k != FL_NO_INDEX && status == FL_OK;
             k = w->lots[k].next) {
            if (w->lots[k].carrier != last_to && w->lots[k].carrier != FL_NO_INDEX) {
                last_to = w->lots[k].carrier;
                status = emit_transfer(w, last_from, last_to, link, event);
            }
        }
    }
    return status;
}

static fl_status on_look(walk *w, const fl_event *event)
{
    size_t place = place_index(w, event->body.look_done.place);
    fl_status status = FL_OK;
    if (place == FL_NO_INDEX) {
        return FL_OK;
    }
    w->last_mark++;
    for (size_t i = w->first_lot[place]; i != FL_NO_INDEX && status == FL_OK; i = w->lots[i].next) {
        if (w->lots[i].carrier != FL_NO_INDEX && is_new_mark(w, w->lots[i].carrier)) {
            status = look_at_carrier(w, event, w->lots[i].carrier, place);
        }
    }
    if (status == FL_OK) {
        status = carry_tools(w, event, place);
    }
    w->last_look = event;
    return status;
}

/* ---- the walk ---- */

static fl_status on_event(walk *w, const fl_event *event)
{
    switch ((int)event->kind) { /* kinds that move nothing are left out on purpose */
    case FL_KIND_LOT_ARRIVED:
        return on_arrived(w, event);
    case FL_KIND_LOT_ALREADY_HERE:
        return on_already_here(w, event);
    case FL_KIND_LOT_CUT:
        return on_cut(w, event);
    case FL_KIND_LOT_SPLIT:
        return on_split(w, event);
    case FL_KIND_PLACE_CLEANED:
        return on_cleaned(w, event);
    case FL_KIND_STEP_DONE:
        return on_steps(w, event);
    case FL_KIND_LOT_MOVED:
        return on_moved(w, event);
    case FL_KIND_LOOK_DONE:
        return on_look(w, event);
    case FL_KIND_LOT_RELEASED:
        return move_lot(w, event->body.lot_released.lot, event->body.lot_released.to, event);
    case FL_KIND_LOT_LOST:
        return on_lost(w, event);
    default:
        return FL_OK;
    }
}

static void lay_out_scratch(walk *w)
{
    const fl_meaning *m = w->in->meaning;
    unsigned char *memory = w->in->scratch;
    memset(memory, 0, fl_network_scratch_bytes(m, w->in->defs));
    w->lots = (lot_state *)(void *)memory;
    w->first_lot = (size_t *)(void *)(memory + m->n_lots * sizeof(lot_state));
    w->mark = &w->first_lot[w->in->defs->places.count];
    w->carrier_used = (bool *)(void *)&w->mark[carriers_at_most(m)];
    for (size_t i = 0; i < m->n_lots; i++) {
        w->lots[i].carrier = w->lots[i].place = w->lots[i].last = FL_NO_INDEX;
        w->lots[i].next = w->lots[i].previous = FL_NO_INDEX;
    }
    for (size_t i = 0; i < w->in->defs->places.count; i++) {
        w->first_lot[i] = FL_NO_INDEX;
    }
}

fl_status fl_network_walk(const fl_network_input *input, fl_happening_sink sink, void *context,
                          fl_network *out, fl_err *err)
{
    assert(input->scratch != NULL);
    walk w = {.in = input, .out = out, .sink = sink, .context = context, .err = err};
    lay_out_scratch(&w);
    out->n_carriers = out->n_roots = 0;
    fl_status status = add_fixed_carriers(&w);
    for (size_t i = 0; i < input->n_events && status == FL_OK; i++) {
        status = on_event(&w, &input->events[i]);
    }
    for (size_t i = 0; i < w.n_pairs && status == FL_OK; i++) { /* they stand there still */
        status = tell_pair(&w, &w.pairs[i], input->now_s, &input->events[input->n_events - 1]);
    }
    for (size_t i = 0; i < input->meaning->n_lots; i++) {
        out->lot_carrier[i] = w.lots[i].carrier;
    }
    return status;
}
