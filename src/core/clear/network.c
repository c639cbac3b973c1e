/* The walk over the history that finds carriers, roots and transfers. One pass; here are births,
 * moves and cleanings. */
#include <assert.h>
#include <string.h>

#include "core/clear/network_work.h"

size_t fl_network_scratch_bytes(const fl_meaning *meaning, const fl_defs *defs)
{
    return meaning->n_lots * sizeof(fl_net_lot) +
           fl_net_carriers_at_most(meaning) * (sizeof(int64_t) + sizeof(fl_event *)) +
           (defs->places.count + 2 * fl_net_carriers_at_most(meaning)) * sizeof(size_t) +
           meaning->n_fills * sizeof(bool) + sizeof(fl_net_lot);
}

/* ---- births ---- */

static fl_status on_born(fl_net_walk *w, const fl_event *event, fl_id lot_id, fl_id place_id,
                         int64_t count, size_t *out)
{
    size_t lot = fl_net_lot_index(w, lot_id);
    *out = FL_NO_INDEX;
    if (lot == FL_NO_INDEX || w->lots[lot].is_born ||
        !fl_id_eq(w->in->meaning->lots[lot].born_by, event->id)) {
        return FL_OK;
    }
    w->lots[lot].is_born = true;
    w->lots[lot].count = count;
    *out = lot;
    return fl_net_put_lot(w, lot, fl_net_place_index(w, place_id), event);
}

static fl_status on_arrived(fl_net_walk *w, const fl_event *event)
{
    const fl_ev_lot_arrived *b = &event->body.lot_arrived;
    size_t lot = FL_NO_INDEX;
    fl_status status = on_born(w, event, b->lot, b->place, b->count, &lot);
    if (status != FL_OK || lot == FL_NO_INDEX) {
        return status;
    }
    return fl_net_add_root(w, lot, w->lots[lot].place, FL_ROOT_PURCHASE, event);
}

static fl_status on_already_here(fl_net_walk *w, const fl_event *event)
{
    const fl_ev_lot_already_here *b = &event->body.lot_already_here;
    size_t lot = FL_NO_INDEX;
    fl_status status = on_born(w, event, b->lot, b->place, b->count, &lot);
    if (status != FL_OK || lot == FL_NO_INDEX) {
        return status;
    }
    return fl_net_add_root(w, lot, w->lots[lot].place, FL_ROOT_ALREADY_HERE, event);
}

static fl_status on_cut(fl_net_walk *w, const fl_event *event)
{
    const fl_ev_lot_cut *b = &event->body.lot_cut;
    size_t lot = FL_NO_INDEX;
    size_t mother = fl_net_lot_index(w, b->mother);
    size_t from = mother == FL_NO_INDEX ? FL_NO_INDEX : w->lots[mother].last;
    fl_status status = on_born(w, event, b->lot, b->place, b->count, &lot);
    if (status != FL_OK || lot == FL_NO_INDEX) {
        return status;
    }
    if (w->lots[lot].last == FL_NO_INDEX) {
        w->lots[lot].last = from;
    }
    fl_link link = b->form == FL_FORM_UNROOTED_CUTTING ? FL_LINK_CUTTING : FL_LINK_DIVISION;
    return fl_net_emit_transfer(w, from, w->lots[lot].carrier, link, event);
}

static fl_status on_split(fl_net_walk *w, const fl_event *event)
{
    const fl_ev_lot_split *b = &event->body.lot_split;
    size_t old = fl_net_lot_index(w, b->lot);
    size_t lot = FL_NO_INDEX;
    if (old == FL_NO_INDEX || w->lots[old].place == FL_NO_INDEX) {
        return FL_OK;
    }
    fl_id place = fl_net_place_at(w, w->lots[old].place)->place;
    fl_status status = on_born(w, event, b->new_lot, place, b->count, &lot);
    if (status != FL_OK || lot == FL_NO_INDEX) {
        return status;
    }
    int64_t left = w->lots[old].count - b->count;
    w->lots[old].count = left > 0 ? left : 0;
    return fl_net_emit_transfer(w, w->lots[old].carrier, w->lots[lot].carrier, FL_LINK_MOVE, event);
}

/* ---- moves, cleanings ---- */

static fl_status move_lot(fl_net_walk *w, fl_id lot_id, fl_id to, const fl_event *event)
{
    size_t lot = fl_net_lot_index(w, lot_id);
    if (lot == FL_NO_INDEX || !w->lots[lot].is_born || w->lots[lot].is_gone) {
        return FL_OK;
    }
    size_t from = w->lots[lot].last;
    size_t place = fl_net_place_index(w, to);
    if (place != FL_NO_INDEX && place == w->lots[lot].place) {
        return FL_OK;
    }
    fl_status status = fl_net_put_lot(w, lot, place, event);
    if (status == FL_OK) {
        status = fl_net_emit_transfer(w, from, w->lots[lot].carrier, FL_LINK_MOVE, event);
    }
    if (status == FL_OK && from != w->lots[lot].carrier) {
        status = fl_net_emit_opened(w, from, event);
    }
    if (status == FL_OK && from != w->lots[lot].carrier) {
        status = fl_net_emit_opened(w, w->lots[lot].carrier, event);
    }
    return status;
}

static fl_status on_moved(fl_net_walk *w, const fl_event *event)
{
    const fl_ev_lot_moved *b = &event->body.lot_moved;
    fl_status status = FL_OK;
    for (size_t i = 0; i < b->lots.count && status == FL_OK; i++) {
        status = move_lot(w, b->lots.ids[i], b->to, event);
    }
    return status;
}

static fl_status on_lost(fl_net_walk *w, const fl_event *event)
{
    size_t lot = fl_net_lot_index(w, event->body.lot_lost.lot);
    if (lot == FL_NO_INDEX || !w->lots[lot].is_born || w->lots[lot].is_gone) {
        return FL_OK;
    }
    int64_t left = w->lots[lot].count - event->body.lot_lost.count;
    w->lots[lot].count = left > 0 ? left : 0;
    w->lots[lot].is_gone = left <= 0;
    return left > 0 ? FL_OK : fl_net_put_lot(w, lot, FL_NO_INDEX, event);
}

/* Cleaning closes the fill; lots that stood there through it carry their copies on. */
static fl_status on_cleaned(fl_net_walk *w, const fl_event *event)
{
    const fl_meaning *m = w->in->meaning;
    if (event->body.place_cleaned.part.len > 0) {
        fl_net_forget_tub(w, event->body.place_cleaned.part);
        return FL_OK;
    }
    if (w->in->carriage == FL_CARRIAGE_LOT) {
        return FL_OK;
    }
    size_t place = fl_net_place_index(w, event->body.place_cleaned.place);
    fl_status status = FL_OK;
    for (size_t fill = 0; fill < m->n_fills && status == FL_OK; fill++) {
        if (!fl_id_eq(m->fills[fill].to_event, event->id)) {
            continue;
        }
        size_t next = fl_net_fill_index(w, m->fills[fill].place, event->at_s);
        bool has_next = next != FL_NO_INDEX && m->fills[next].began_with_lots;
        if (has_next) {
            status = fl_net_begin_fill(w, next, event);
        }
        if (has_next && status == FL_OK) {
            status = fl_net_emit_transfer(w, fill, next, FL_LINK_MOVE, event);
        }
        for (size_t i = place == FL_NO_INDEX ? FL_NO_INDEX : w->first_lot[place];
             i != FL_NO_INDEX && status == FL_OK; i = w->lots[i].next) {
            if (w->lots[i].carrier == fill) {
                fl_net_set_carrier(w, i, has_next ? next : FL_NO_INDEX, event);
                fl_happening h = {.kind = FL_HAP_STAND, .lot = i};
                h.carrier = w->lots[i].carrier;
                status = fl_net_emit(w, h, event);
            }
        }
        if (status == FL_OK) {
            fl_happening h = {.kind = FL_HAP_CLOSE, .carrier = fill};
            h.factor = event->body.place_cleaned.efficacy;
            status = fl_net_emit(w, h, event);
        }
    }
    return status;
}

/* ---- the walk ---- */

static fl_status on_event(fl_net_walk *w, const fl_event *event)
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
        return fl_net_on_steps(w, event);
    case FL_KIND_LOT_MOVED:
        return on_moved(w, event);
    case FL_KIND_LOOK_DONE:
        return fl_net_on_look(w, event);
    case FL_KIND_LOT_RELEASED:
        return move_lot(w, event->body.lot_released.lot, event->body.lot_released.to, event);
    case FL_KIND_LOT_LOST:
        return on_lost(w, event);
    default:
        return FL_OK;
    }
}

static void lay_out_scratch(fl_net_walk *w)
{
    const fl_meaning *m = w->in->meaning;
    unsigned char *memory = w->in->scratch;
    memset(memory, 0, fl_network_scratch_bytes(m, w->in->defs));
    w->lots = (fl_net_lot *)(void *)memory;
    w->first_lot = (size_t *)(void *)(memory + m->n_lots * sizeof(fl_net_lot));
    w->mark = &w->first_lot[w->in->defs->places.count];
    w->n_on = &w->mark[fl_net_carriers_at_most(m)];
    w->emptied_s = (int64_t *)(void *)&w->n_on[fl_net_carriers_at_most(m)];
    w->opened_by = (const fl_event **)(void *)&w->emptied_s[fl_net_carriers_at_most(m)];
    w->carrier_used = (bool *)(void *)&w->opened_by[fl_net_carriers_at_most(m)];
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
    fl_net_walk w = {.in = input, .out = out, .sink = sink, .context = context, .err = err};
    lay_out_scratch(&w);
    out->n_carriers = out->n_roots = 0;
    fl_status status = fl_net_add_fixed_carriers(&w);
    for (size_t i = 0; i < input->n_events && status == FL_OK; i++) {
        status = on_event(&w, &input->events[i]);
    }
    for (size_t i = 0; i < w.n_pairs && status == FL_OK; i++) { /* they stand there still */
        status =
            fl_net_tell_pair(&w, &w.pairs[i], input->now_s, &input->events[input->n_events - 1]);
    }
    for (size_t i = 0; i < input->meaning->n_lots; i++) {
        out->lot_carrier[i] = w.lots[i].carrier;
    }
    return status;
}
