/* Steps: who was treated with what, and who shared a tub. */
#include "core/clear/network_work.h"

static int64_t plants_on(const fl_net_walk *w, size_t carrier, size_t place)
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

/* The water of one tub: what was in it within FL_TUB_S reaches this carrier; inside one event
 * also the other way round. */
static fl_status share_tub(fl_net_walk *w, fl_sv tub, size_t carrier, const fl_event *event)
{
    fl_status status = FL_OK;
    if (tub.len == 0) {
        return FL_OK;
    }
    size_t held = w->n_tubs < FL_NET_TUBS_MAX ? w->n_tubs : FL_NET_TUBS_MAX;
    for (size_t i = 0; i < held && status == FL_OK; i++) {
        const fl_net_tub *use = &w->tubs[i];
        if (!fl_sv_eq(use->tub, tub) || use->carrier == carrier ||
            event->at_s - use->at_s > FL_TUB_S) {
            continue;
        }
        status = fl_net_emit_transfer(w, use->carrier, carrier, FL_LINK_SHARED_TUB, event);
        if (status == FL_OK && use->event == event) {
            status = fl_net_emit_transfer(w, carrier, use->carrier, FL_LINK_SHARED_TUB, event);
        }
    }
    for (size_t i = 0; i < held; i++) {
        if (fl_sv_eq(w->tubs[i].tub, tub) && w->tubs[i].carrier == carrier) {
            w->tubs[i].at_s = event->at_s;
            w->tubs[i].event = event;
            return status;
        }
    }
    w->tubs[w->n_tubs % FL_NET_TUBS_MAX] =
        (fl_net_tub){.tub = tub, .at_s = event->at_s, .carrier = carrier, .event = event};
    w->n_tubs++;
    return status;
}

void fl_net_forget_tub(fl_net_walk *w, fl_sv tub)
{
    size_t held = w->n_tubs < FL_NET_TUBS_MAX ? w->n_tubs : FL_NET_TUBS_MAX;
    for (size_t i = 0; i < held; i++) {
        if (fl_sv_eq(w->tubs[i].tub, tub)) {
            w->tubs[i].tub = (fl_sv){NULL, 0}; /* no water has this name */
        }
    }
}

/* Calls `each` for every lot of every step that stands on a carrier. */
static fl_status each_step_lot(fl_net_walk *w, const fl_event *event,
                               fl_status (*each)(fl_net_walk *w, const fl_event *event,
                                                 const fl_ev_step *step, size_t lot))
{
    const fl_ev_step_done *b = &event->body.step_done;
    fl_status status = FL_OK;
    for (size_t i = 0; i < b->n_steps; i++) {
        const fl_ev_step *step = &b->steps[i];
        for (size_t k = 0; k < step->lots.count && status == FL_OK; k++) {
            size_t lot = fl_net_lot_index(w, step->lots.ids[k]);
            if (lot != FL_NO_INDEX && w->lots[lot].carrier != FL_NO_INDEX) {
                status = each(w, event, step, lot);
            }
        }
    }
    return status;
}

static fl_status emit_part(fl_net_walk *w, const fl_event *event, const fl_ev_step *step,
                           size_t lot)
{
    fl_happening h = {.kind = FL_HAP_PART, .lot = lot, .step = step};
    h.carrier = w->lots[lot].carrier;
    h.n_plants = w->lots[lot].count;
    return fl_net_emit(w, h, event);
}

static fl_status emit_tub(fl_net_walk *w, const fl_event *event, const fl_ev_step *step, size_t lot)
{
    return share_tub(w, step->tub, w->lots[lot].carrier, event);
}

/* After all parts: each carrier once, with all its plants. */
static fl_status emit_treated(fl_net_walk *w, const fl_event *event, const fl_ev_step *step,
                              size_t lot)
{
    (void)step;
    size_t carrier = w->lots[lot].carrier;
    if (!fl_net_is_new_mark(w, carrier)) {
        return FL_OK;
    }
    fl_happening h = {.kind = FL_HAP_TREATED, .carrier = carrier};
    h.n_plants = w->in->carriage == FL_CARRIAGE_LOT ? w->lots[lot].count
                                                    : plants_on(w, carrier, w->lots[lot].place);
    return fl_net_emit(w, h, event);
}

fl_status fl_net_on_steps(fl_net_walk *w, const fl_event *event)
{
    fl_status status = each_step_lot(w, event, emit_part);
    if (status == FL_OK) {
        status = each_step_lot(w, event, emit_tub);
    }
    w->last_mark++;
    return status == FL_OK ? each_step_lot(w, event, emit_treated) : status;
}
