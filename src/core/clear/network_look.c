/* Looks: what was examined, what was found on which carrier, and what tools carried along. */
#include "core/clear/network_work.h"

static bool is_in_list(fl_id_list list, fl_id id)
{
    for (size_t i = 0; i < list.count; i++) {
        if (fl_id_eq(list.ids[i], id)) {
            return true;
        }
    }
    return false;
}

/* Plants of the carrier, in all and looked at. */
static double frac_seen(const fl_net_walk *w, const fl_ev_look_done *look, size_t carrier,
                        size_t place, int64_t *all)
{
    int64_t seen = 0;
    *all = 0;
    for (size_t i = w->first_lot[place]; i != FL_NO_INDEX; i = w->lots[i].next) {
        if (w->lots[i].carrier != carrier) {
            continue;
        }
        *all += w->lots[i].count;
        if (look->lots.count == 0 || is_in_list(look->lots, w->in->meaning->lots[i].id)) {
            seen += w->lots[i].count;
        }
    }
    return *all > 0 ? look->frac_examined * (double)seen / (double)*all : 0.0;
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

/* One look at one place. */
typedef struct sight {
    const fl_event *event;
    size_t place;
    bool is_any_examined; /* some plant there was */
} sight;

/* A finding belongs to the carrier of its lot; one whose lot was not told, or did not stand there,
 * to all that was looked at. */
static bool is_found_on(const fl_net_walk *w, const sight *s, const fl_finding_now *finding,
                        size_t carrier, double frac)
{
    size_t lot = fl_id_is_none(finding->lot) ? FL_NO_INDEX : fl_net_lot_index(w, finding->lot);
    if (lot != FL_NO_INDEX && w->lots[lot].place == s->place &&
        w->lots[lot].carrier != FL_NO_INDEX) {
        return w->lots[lot].carrier == carrier;
    }
    return frac > 0.0 || !s->is_any_examined;
}

/* Tells what was seen on a carrier; *has_any: something that has a name. */
static fl_status emit_findings(fl_net_walk *w, const sight *s, fl_happening *seen, bool *has_any)
{
    const fl_meaning *m = w->in->meaning;
    int64_t at_s = s->event->at_s;
    fl_status status = FL_OK;
    *has_any = false;
    for (size_t i = first_finding(m, at_s);
         i < m->n_findings && m->findings[i].at_s == at_s && status == FL_OK; i++) {
        const fl_finding_now *f = &m->findings[i];
        if (!fl_id_eq(f->look, s->event->id) || f->is_retracted ||
            !is_found_on(w, s, f, seen->carrier, seen->frac_seen)) {
            continue;
        }
        if (f->threat.len == 0) {
            seen->has_unidentified = true;
            continue;
        }
        fl_happening found = {.kind = FL_HAP_FOUND, .carrier = seen->carrier, .finding = f};
        *has_any = true;
        status = fl_net_emit(w, found, s->event);
    }
    return status;
}

static fl_status look_at_carrier(fl_net_walk *w, const sight *s, size_t carrier)
{
    int64_t plants = 0;
    bool has_any = false;
    fl_happening seen = {
        .kind = FL_HAP_LOOK, .carrier = carrier, .look = &s->event->body.look_done};
    seen.frac_seen = frac_seen(w, seen.look, carrier, s->place, &plants);
    fl_status status = emit_findings(w, s, &seen, &has_any);
    if (has_any && seen.frac_seen <= 0.0) { /* left out, and seen all the same: a part was */
        seen.frac_seen = 1.0 / (double)(plants > 1 ? plants : 1);
    }
    if (status == FL_OK) {
        status = fl_net_emit_opened(w, carrier, s->event);
    }
    return status != FL_OK || seen.frac_seen <= 0.0 ? status : fl_net_emit(w, seen, s->event);
}

/* A box without plants that was not cleaned since: what is seen in it counts, that nothing was
 * seen does not. */
static fl_status look_at_empty(fl_net_walk *w, const sight *s)
{
    size_t fill = w->in->carriage == FL_CARRIAGE_LOT
                      ? FL_NO_INDEX
                      : fl_net_fill_index(w, fl_net_place_at(w, s->place)->place, s->event->at_s);
    bool has_any = false;
    if (fill == FL_NO_INDEX || !w->carrier_used[fill]) {
        return FL_OK;
    }
    fl_happening seen = {.kind = FL_HAP_LOOK, .carrier = fill, .look = &s->event->body.look_done};
    fl_status status = emit_findings(w, s, &seen, &has_any);
    seen.frac_seen = seen.look->frac_examined > 0.0 ? seen.look->frac_examined : 1.0;
    if (status == FL_OK) {
        status = fl_net_emit_opened(w, fill, s->event);
    }
    return status == FL_OK && has_any ? fl_net_emit(w, seen, s->event) : status;
}

/* Tools and hands that went from the place before to this one. */
static fl_status carry_tools(fl_net_walk *w, const fl_event *event, size_t place)
{
    const fl_ev_look_done *look = &event->body.look_done;
    if (w->last_look == NULL || look->hands == FL_HANDS_CLEANED ||
        event->at_s - w->last_look->at_s > FL_ROUND_S) {
        return FL_OK;
    }
    size_t before = fl_net_place_index(w, w->last_look->body.look_done.place);
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
                status = fl_net_emit_transfer(w, last_from, last_to, link, event);
            }
        }
    }
    return status;
}

fl_status fl_net_on_look(fl_net_walk *w, const fl_event *event)
{
    sight s = {.event = event, .place = fl_net_place_index(w, event->body.look_done.place)};
    fl_status status = FL_OK;
    if (s.place == FL_NO_INDEX) {
        return FL_OK;
    }
    for (size_t i = w->first_lot[s.place]; i != FL_NO_INDEX; i = w->lots[i].next) {
        int64_t plants = 0;
        size_t carrier = w->lots[i].carrier;
        s.is_any_examined = s.is_any_examined ||
                            (carrier != FL_NO_INDEX &&
                             frac_seen(w, &event->body.look_done, carrier, s.place, &plants) > 0.0);
    }
    w->last_mark++;
    for (size_t i = w->first_lot[s.place]; i != FL_NO_INDEX && status == FL_OK;
         i = w->lots[i].next) {
        if (w->lots[i].carrier != FL_NO_INDEX && fl_net_is_new_mark(w, w->lots[i].carrier)) {
            status = look_at_carrier(w, &s, w->lots[i].carrier);
        }
    }
    if (status == FL_OK && w->first_lot[s.place] == FL_NO_INDEX) {
        status = look_at_empty(w, &s);
    }
    if (status == FL_OK) {
        status = carry_tools(w, event, s.place);
    }
    w->last_look = event;
    return status;
}
