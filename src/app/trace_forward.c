/* Forwards: which lots and places it may have reached, over all ways in by their probability. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "app/trace_walk.h"

/* Ways in that are followed; the rest is too unlikely to move a rank. */
#define SOURCES_FOLLOWED 12
/* When it came in by the room, as steps of the window's distribution. */
#define WINDOW_STEPS 8

/* What has been gathered of each lot and carrier. */
typedef struct gathered {
    double *prob; /* by node: sum over ways in of P(way in) x P(reached | way in) */
    double *most;
    double *best;              /* by lot: the largest term of that sum; its chain is shown */
    fl_trace_reached *reached; /* by lot */
} gathered;

/* ---- seeds ---- */

static int compare_seeds(const void *a, const void *b)
{
    const fl_passage_seed *x = a;
    const fl_passage_seed *y = b;
    if (x->time != y->time) {
        return x->time < y->time ? -1 : 1;
    }
    return (x->node > y->node) - (x->node < y->node);
}

/* The carriers along the chain of a suspect: there it was for sure, if it came this way. */
static size_t seeds_of_suspect(const fl_trace_walk *w, const fl_suspect *suspect,
                               fl_passage_seed *seeds)
{
    const fl_spread *s = &w->spread[suspect->set];
    size_t n = 0;
    for (size_t i = suspect->copy; i != FL_NO_INDEX; i = w->parent[suspect->set][i]) {
        const fl_copy *c = &s->copies[i];
        seeds[n++] = (fl_passage_seed){c->from_event->at_s, (int32_t)c->carrier, 1.0};
    }
    /* All lots of a purchase came with it, also those that stood elsewhere. */
    for (size_t i = 0; i < w->n_roots; i++) {
        if (w->roots[i].root == suspect->root && w->roots[i].event->at_s <= w->finding->at_s) {
            seeds[n++] =
                (fl_passage_seed){w->roots[i].event->at_s, (int32_t)w->roots[i].carrier, 1.0};
        }
    }
    qsort(seeds, n, sizeof seeds[0], compare_seeds);
    return n;
}

/* By the room: on the carrier of the find from the window on, step by step. */
static size_t seeds_of_window(const fl_trace_walk *w, const double *likelihood, int64_t start_h,
                              fl_passage_seed *seeds)
{
    size_t n = 0;
    double all = 0.0;
    double sum = 0.0;
    int hours = (int)(w->found_h - start_h);
    for (int h = 0; likelihood != NULL && h <= hours; h++) {
        all += likelihood[h];
    }
    for (int h = 0; all > 0.0 && h <= hours && n < WINDOW_STEPS; h++) {
        sum += likelihood[h];
        if (sum >= all * (double)(n + 1) / WINDOW_STEPS - 1e-12 * all) {
            double prob = fmin(1.0, (double)(n + 1) / WINDOW_STEPS);
            seeds[n++] = (fl_passage_seed){(start_h + h) * FL_HOUR_S, (int32_t)w->found_on, prob};
        }
    }
    seeds[n++] = (fl_passage_seed){w->finding->at_s, (int32_t)w->found_on, 1.0};
    qsort(seeds, n, sizeof seeds[0], compare_seeds);
    return n;
}

/* ---- gathering ---- */

static gathered begin(const fl_trace_walk *w)
{
    size_t n_lots = w->room->meaning.n_lots;
    size_t n = w->network.cap_carriers + n_lots;
    return (gathered){.prob = FL_ARENA_ARRAY(w->arena, double, n),
                      .most = FL_ARENA_ARRAY(w->arena, double, n),
                      .best = FL_ARENA_ARRAY(w->arena, double, n_lots),
                      .reached = FL_ARENA_ARRAY(w->arena, fl_trace_reached, n_lots)};
}

/* When the lot may have got it: with the last contact, or when it came to stand there. */
static int64_t when_reached(const fl_trace_walk *w, size_t lot, const fl_trace_contact *chain,
                            size_t n)
{
    const fl_passage_node *node = &w->nodes[fl_walk_lot_node(w, lot)];
    int64_t at_s = n > 0 ? chain[n - 1].at_s : INT64_MIN;
    if (node->contact >= 0) {
        size_t carrier = (size_t)w->contacts[node->contact].from;
        int64_t on_carrier = w->nodes[carrier].prob > 0.0 ? w->nodes[carrier].time : INT64_MIN;
        at_s = on_carrier > at_s ? on_carrier : at_s;
        for (size_t i = 0; i < w->n_stands; i++) {
            const fl_walk_stand *stand = &w->stands[i];
            if (stand->lot == lot && stand->carrier == carrier && stand->to_s >= at_s) {
                return stand->from_s > at_s ? stand->from_s : at_s;
            }
        }
    }
    return at_s;
}

static void gather(const fl_trace_walk *w, double weight, gathered *g)
{
    size_t n_carriers = w->network.cap_carriers;
    for (size_t i = 0; i < n_carriers + w->room->meaning.n_lots; i++) {
        g->prob[i] += weight * w->nodes[i].prob;
        g->most[i] += weight * w->nodes[i].most;
    }
    for (size_t lot = 0; lot < w->room->meaning.n_lots; lot++) {
        double term = weight * w->nodes[fl_walk_lot_node(w, lot)].prob;
        if (term <= g->best[lot]) {
            continue;
        }
        fl_trace_reached *r = &g->reached[lot];
        g->best[lot] = term;
        r->chain = fl_walk_chain(w, fl_walk_lot_node(w, lot), &r->n_chain);
        r->at_s = when_reached(w, lot, r->chain, r->n_chain);
        r->link = r->n_chain > 0 ? r->chain[r->n_chain - 1].link : FL_LINK_COUNT;
    }
}

/* Which suspect a source of the answer is: they were sorted. */
static const fl_suspect *suspect_like(const fl_trace_walk *w, const fl_trace_source *s)
{
    for (size_t i = 0; i < w->n_suspects; i++) {
        if (w->suspects[i].root == s->root) {
            return &w->suspects[i];
        }
    }
    return NULL;
}

static fl_status gather_find(fl_trace_walk *w, const fl_trace *out, const double *likelihood,
                             int64_t start_h, gathered *g, fl_err *err)
{
    size_t cap = w->cap_copies + w->n_roots + WINDOW_STEPS + 1;
    fl_passage_seed *seeds = FL_ARENA_ARRAY(w->arena, fl_passage_seed, cap);
    double all = 0.0;
    fl_status status = FL_OK;
    size_t n = out->n_sources < SOURCES_FOLLOWED ? out->n_sources : SOURCES_FOLLOWED;
    for (size_t i = 0; i < n; i++) {
        all += out->sources[i].prob;
    }
    for (size_t i = 0; i < n && status == FL_OK; i++) {
        const fl_suspect *suspect = suspect_like(w, &out->sources[i]);
        bool is_room = suspect == NULL || out->sources[i].kind == FL_SUSPECT_ROOM;
        size_t n_seeds = is_room ? seeds_of_window(w, likelihood, start_h, seeds)
                                 : seeds_of_suspect(w, suspect, seeds);
        status = fl_walk_pass(w, seeds, n_seeds, w->until_s, err);
        if (status == FL_OK) {
            gather(w, out->sources[i].prob / all, g);
        }
    }
    if (status == FL_OK && n == 0) {
        size_t n_seeds = seeds_of_window(w, likelihood, start_h, seeds);
        status = fl_walk_pass(w, seeds, n_seeds, w->until_s, err);
        if (status == FL_OK) {
            gather(w, 1.0, g);
        }
    }
    return status;
}

/* The subject itself had it, from from_s on. */
static fl_status gather_subject(fl_trace_walk *w, const fl_trace *out, gathered *g, fl_err *err)
{
    fl_walk_subject *subjects = NULL;
    size_t n = fl_walk_subjects(w, out->place, out->lot, out->from_s, out->to_s, &subjects);
    fl_passage_seed *seeds = FL_ARENA_ARRAY(w->arena, fl_passage_seed, n + 1);
    for (size_t i = 0; i < n; i++) {
        seeds[i] = (fl_passage_seed){subjects[i].from_s, (int32_t)subjects[i].carrier, 1.0};
    }
    qsort(seeds, n, sizeof seeds[0], compare_seeds);
    fl_status status = fl_walk_pass(w, seeds, n, w->until_s, err);
    if (status == FL_OK) {
        gather(w, 1.0, g);
    }
    return status;
}

/* ---- the answer ---- */

static fl_status chance_now(const fl_trace_walk *w, const fl_lot *lot, double *out, fl_err *err)
{
    size_t n = 0;
    *out = (double)NAN;
    if (w->chances == NULL || lot->is_gone) {
        return FL_OK;
    }
    fl_lot_chance *all = FL_ARENA_ARRAY(w->arena, fl_lot_chance, fl_know_threat_count());
    fl_status status = fl_chances_of_lot(w->chances, lot, all, &n, err);
    for (size_t i = 0; i < n && status == FL_OK; i++) {
        if (all[i].threat == w->threat) {
            *out = all[i].chance;
        }
    }
    return status;
}

static bool stood_where_found(const fl_trace_walk *w, const fl_trace *out, size_t lot)
{
    if (out->lot != NULL) {
        return fl_id_eq(out->lot->id, w->room->meaning.lots[lot].id);
    }
    for (size_t i = 0; i < w->n_stands; i++) {
        const fl_walk_stand *stand = &w->stands[i];
        if (stand->lot != lot || stand->from_s > out->found_s || stand->to_s <= out->found_s) {
            continue;
        }
        return w->is_caught ? stand->carrier == w->found_on
                            : fl_id_eq(fl_walk_place(w, stand->carrier, out->found_s), out->place);
    }
    return false;
}

static int compare_reached(const void *a, const void *b)
{
    const fl_trace_reached *x = a;
    const fl_trace_reached *y = b;
    if (x->is_where_found != y->is_where_found) {
        return x->is_where_found ? -1 : 1;
    }
    if (x->here > y->here || x->here < y->here) {
        return x->here < y->here ? 1 : -1;
    }
    if (x->prob > y->prob || x->prob < y->prob) {
        return x->prob < y->prob ? 1 : -1;
    }
    if (x->most > y->most || x->most < y->most) {
        return x->most < y->most ? 1 : -1;
    }
    return fl_id_compare(x->lot->id, y->lot->id);
}

static fl_status list_lots(const fl_trace_walk *w, gathered *g, fl_trace *out, fl_err *err)
{
    fl_status status = FL_OK;
    out->reached = FL_ARENA_ARRAY(w->arena, fl_trace_reached, w->room->meaning.n_lots);
    for (size_t lot = 0; lot < w->room->meaning.n_lots && status == FL_OK; lot++) {
        bool is_there = stood_where_found(w, out, lot);
        bool is_outside = fl_trace_went_outside(w->room, &w->room->meaning.lots[lot]);
        /* What left since is what the treatments and looks left of it. */
        double prob = is_there && !is_outside ? 1.0 : g->prob[fl_walk_lot_node(w, lot)];
        if (prob < FL_TRACE_REACHED_LEAST && !is_there) {
            continue;
        }
        fl_trace_reached *r = &out->reached[out->n_reached++];
        *r = g->reached[lot];
        r->lot = &w->room->meaning.lots[lot];
        r->prob = fmin(1.0, prob);
        r->most = fmin(1.0, fmax(prob, g->most[fl_walk_lot_node(w, lot)]));
        r->is_where_found = is_there;
        r->is_outside = is_outside;
        r->is_lost = r->lot->is_gone && !r->is_outside;
        out->n_outside += r->is_outside ? 1 : 0;
        status = chance_now(w, r->lot, &r->chance_now, err);
        r->here = isnan(r->chance_now) ? r->prob : fmin(r->prob, r->chance_now);
    }
    if (status == FL_OK && out->n_reached > 0) {
        qsort(out->reached, out->n_reached, sizeof out->reached[0], compare_reached);
    }
    return status;
}

static int compare_places(const void *a, const void *b)
{
    const fl_trace_place *x = a;
    const fl_trace_place *y = b;
    if (x->is_where_found != y->is_where_found) {
        return x->is_where_found ? -1 : 1;
    }
    if (x->prob > y->prob || x->prob < y->prob) {
        return x->prob < y->prob ? 1 : -1;
    }
    return fl_id_compare(x->place, y->place);
}

static void add_place(const fl_trace_walk *w, fl_id place, double prob, fl_trace *out)
{
    const fl_ev_place_set *set = fl_defs_place(&w->room->defs, place);
    if (set == NULL || set->kind == FL_PLACE_OUTSIDE || prob < FL_TRACE_REACHED_LEAST) {
        return;
    }
    for (size_t i = 0; i < out->n_places; i++) {
        if (fl_id_eq(out->places[i].place, place)) {
            out->places[i].prob = fmax(out->places[i].prob, prob);
            return;
        }
    }
    fl_trace_place *p = &out->places[out->n_places++];
    *p = (fl_trace_place){.place = place, .prob = prob};
    p->is_held = fl_meaning_is_held(&w->room->meaning, place, w->room->now_s);
    p->is_where_found = fl_id_eq(place, out->place);
    p->is_occupied = set->has_animals;
    for (size_t i = 0; i < w->room->meaning.n_lots; i++) {
        const fl_lot *lot = &w->room->meaning.lots[i];
        p->n_lots += !lot->is_gone && fl_id_eq(lot->place, place) ? 1 : 0;
    }
}

/* A carrier of the bench is a purchase that stood there: it counts while something of it does. */
static bool is_there_now(const fl_trace_walk *w, size_t carrier)
{
    if (carrier < w->room->meaning.n_fills) {
        return !w->is_closed[carrier];
    }
    for (size_t lot = 0; lot < w->room->meaning.n_lots; lot++) {
        size_t last = w->lot_stand[lot];
        if (last > 0 && w->stands[last - 1].carrier == carrier &&
            w->stands[last - 1].to_s == FL_TIME_OPEN) {
            return true;
        }
    }
    return false;
}

/* Present fills that were reached; for a sedentary threat, the places of reached lots. */
static void list_places(const fl_trace_walk *w, const gathered *g, fl_trace *out)
{
    out->places = FL_ARENA_ARRAY(w->arena, fl_trace_place,
                                 w->network.n_carriers + w->room->meaning.n_lots + 1);
    for (size_t c = 0; c < w->network.n_carriers; c++) {
        if (w->network.carriers[c].lot == FL_NO_INDEX && is_there_now(w, c)) {
            add_place(w, w->network.carriers[c].place, fmin(1.0, g->prob[c]), out);
        }
    }
    for (size_t i = 0; i < out->n_reached; i++) {
        if (!out->reached[i].lot->is_gone) {
            add_place(w, out->reached[i].lot->place, out->reached[i].prob, out);
        }
    }
    if (out->n_places > 0) {
        qsort(out->places, out->n_places, sizeof out->places[0], compare_places);
    }
}

fl_status fl_trace_forward(fl_trace_walk *w, const double *likelihood, int64_t start_h,
                           fl_trace *out, fl_err *err)
{
    gathered g = begin(w);
    fl_status status = w->is_caught ? gather_find(w, out, likelihood, start_h, &g, err)
                                    : gather_subject(w, out, &g, err);
    if (status == FL_OK) {
        status = list_lots(w, &g, out, err);
    }
    if (status == FL_OK) {
        list_places(w, &g, out);
    }
    out->n_contacts = w->n_contacts;
    return status;
}
