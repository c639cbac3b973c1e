/* Backwards: when it came in, and which way in brought it. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "app/trace_walk.h"

/* ---- the window ---- */

/* The operations of a programme, oldest first. */
static size_t ops_of(const fl_trace_walk *w, const fl_prog *prog, const fl_op ***out)
{
    size_t n = 0;
    for (const fl_prog *p = prog; p != NULL; p = p->parent) {
        n++;
    }
    *out = FL_ARENA_ARRAY(w->arena, const fl_op *, n + 1);
    size_t at = n;
    for (const fl_prog *p = prog; p != NULL; p = p->parent) {
        (*out)[--at] = p->op;
    }
    return n;
}

/* The history of the carrier's plants as back-dating takes it. */
typedef struct past {
    double *temps_c;
    int n_hours;
    fl_backdate_op *ops;
    size_t n_ops;
    bool was_found_before; /* an earlier find: what was before it is left out */
} past;

static void add_time(past *p, const fl_op *op)
{
    for (int h = 0; h < op->time.n_hours; h++) {
        p->temps_c[p->n_hours++] = op->time.temps_c != NULL ? op->time.temps_c[h] : op->time.temp_c;
    }
}

static void add_op(past *p, const fl_op *op, const double *by_stage, int n_stages)
{
    fl_backdate_op *made = &p->ops[p->n_ops++];
    *made = (fl_backdate_op){.hour = p->n_hours, .is_look = op->kind == FL_OP_LOOK};
    memcpy(made->by_stage, by_stage, (size_t)n_stages * sizeof by_stage[0]);
}

static past past_of(const fl_trace_walk *w)
{
    const fl_op **list = NULL;
    size_t n = ops_of(w, w->longest, &list);
    int64_t hours = w->found_h - w->longest_from_h;
    past p = {.temps_c = FL_ARENA_ARRAY(w->arena, double, (size_t)(hours > 0 ? hours : 0) + 1),
              .ops = FL_ARENA_ARRAY(w->arena, fl_backdate_op, n + 1)};
    for (size_t i = 0; i < n; i++) {
        const fl_op *op = list[i];
        switch (op->kind) {
        case FL_OP_TIME:
            if (p.n_hours + op->time.n_hours <= hours) {
                add_time(&p, op);
            }
            break;
        case FL_OP_LOOK:
            add_op(&p, op, op->look.detect, w->threat->n_stages);
            break;
        case FL_OP_TREAT:
            add_op(&p, op, op->treat.survival, w->threat->n_stages);
            break;
        case FL_OP_THIN:
            add_op(&p, op, op->thin.ride, w->threat->n_stages);
            break;
        case FL_OP_FIND:
            p.was_found_before = true;
            break;
        case FL_OP_START:
        case FL_OP_REWEIGHT:
        case FL_OP_START_EMPTY:
        case FL_OP_INFLOW:
            break;
        }
    }
    return p;
}

/* Keeps the last hours when there are more than back-dating takes. */
static void keep_last(past *p)
{
    int cut = p->n_hours - FL_BACKDATE_HOURS_MAX;
    size_t kept = 0;
    if (cut <= 0) {
        return;
    }
    p->temps_c += cut;
    p->n_hours -= cut;
    for (size_t i = 0; i < p->n_ops; i++) {
        if (p->ops[i].hour >= cut) {
            p->ops[kept] = p->ops[i];
            p->ops[kept++].hour -= cut;
        }
    }
    p->n_ops = kept;
}

/* Quantiles over hours that are all alike cut a hundredth off each end, with it the very evening
 * on which the plants came: an end that is not unlikely is moved to the edge of the record. */
static void reach_edges(const double *likelihood, int n_hours, fl_backdate_window *window)
{
    double best = 0.0;
    for (int h = 0; h <= n_hours; h++) {
        best = fmax(best, likelihood[h]);
    }
    if (likelihood[0] >= FL_BACKDATE_TAIL * best) {
        window->from_h = 0;
    }
    if (likelihood[n_hours] >= FL_BACKDATE_TAIL * best) {
        window->to_h = n_hours;
    }
}

fl_status fl_trace_back_window(const fl_trace_walk *w, fl_trace *out, double **likelihood,
                               int64_t *start_h, fl_err *err)
{
    *likelihood = NULL;
    if (!w->is_caught || w->longest == NULL) {
        return FL_OK;
    }
    past p = past_of(w);
    double share[FL_STAGES_MAX] = {0};
    const fl_know_mixture *mixture = &w->spread[0].mixture;
    keep_last(&p);
    for (int s = 0; s < w->threat->n_stages; s++) {
        share[s] = w->threat->stage[s].start_share;
    }
    double *values = FL_ARENA_ARRAY(w->arena, double, (size_t)p.n_hours + 1);
    const fl_backdate_query query = {.set = {&w->threat->slow, &w->threat->fast},
                                     .n_sets = 2,
                                     .share = share,
                                     .temps_c = p.temps_c,
                                     .n_hours = p.n_hours,
                                     .ops = p.ops,
                                     .n_ops = p.n_ops,
                                     .stage_seen = w->stage,
                                     .detect = w->detect,
                                     .cap = mixture->cap,
                                     .n_mix = FL_MULTIPLIERS,
                                     .multiplier = mixture->multiplier,
                                     .weight = mixture->weight_middle,
                                     .colony = w->colony};
    fl_status status = fl_backdate_likelihood(&query, values, err);
    if (status != FL_OK) {
        return status;
    }
    *start_h = w->found_h - p.n_hours;
    fl_backdate_window_of(values, NULL, p.n_hours, fl_backdate_is_bound(w->threat, w->stage),
                          &out->window);
    out->has_window = out->window.is_possible;
    if (out->has_window) {
        reach_edges(values, p.n_hours, &out->window);
        *likelihood = values;
        out->window_from_s = (*start_h + out->window.from_h) * FL_HOUR_S;
        out->window_middle_s = (*start_h + out->window.middle_h) * FL_HOUR_S;
        out->window_to_s = (*start_h + out->window.to_h) * FL_HOUR_S;
        out->is_older_possible = out->window.is_bound || out->window.from_h == 0;
    }
    return FL_OK;
}

/* ---- who a root is ---- */

static fl_suspect_kind kind_of(const fl_trace_walk *w, size_t root)
{
    const fl_root *r = fl_walk_root_of(w, root);
    if (r == NULL) {
        return FL_SUSPECT_FIND;
    }
    if (fl_walk_is_mix(w, root)) {
        return FL_SUSPECT_MIX;
    }
    switch (r->kind) {
    case FL_ROOT_ALREADY_HERE:
        return FL_SUSPECT_ALREADY_HERE;
    case FL_ROOT_ROOM:
        return FL_SUSPECT_ROOM;
    case FL_ROOT_PURCHASE:
    case FL_ROOT_FIND:
        break;
    }
    return fl_form_is_material(w->room->meaning.lots[r->lot].form) ? FL_SUSPECT_MATERIAL
                                                                   : FL_SUSPECT_PURCHASE;
}

static fl_sv text_of(const fl_trace_walk *w, const fl_trace_source *s, const fl_root *root)
{
    const fl_room *room = w->room;
    fl_sv place = fl_room_place_name(room, s->place);
    switch (s->kind) {
    case FL_SUSPECT_PURCHASE:
        return fl_arena_printf(w->arena, "the purchase from %.*s",
                               FL_SV_ARG(fl_room_source_name(room, s->source)));
    case FL_SUSPECT_MATERIAL:
        return fl_arena_printf(w->arena, "the material %.*s",
                               FL_SV_ARG(fl_room_lot_name(room, &room->meaning.lots[root->lot])));
    case FL_SUSPECT_MIX:
        return FL_SV("the mix it was potted in");
    case FL_SUSPECT_ALREADY_HERE:
        return fl_arena_printf(w->arena, "what was already here in %.*s", FL_SV_ARG(place));
    case FL_SUSPECT_FIND:
        return fl_arena_printf(w->arena, "the earlier find in %.*s", FL_SV_ARG(place));
    case FL_SUSPECT_ANIMAL:
        return fl_arena_printf(w->arena, "the animals in %.*s", FL_SV_ARG(place));
    case FL_SUSPECT_ROOM:
    case FL_SUSPECT_COUNT:
        break;
    }
    return FL_SV("the room itself: an opening, the lid");
}

/* Everything of a source but its probability and its chain. */
static void describe(const fl_trace_walk *w, size_t root, fl_trace_source *s)
{
    const fl_root *r = fl_walk_root_of(w, root);
    s->root = root;
    s->kind = kind_of(w, root);
    s->fact = "";
    s->at_s = INT64_MIN;
    if (r == NULL) {
        const fl_spread_find *find = &w->spread[0].finds[root - FL_FIND_ROOT(0)];
        s->place = find->finding->place;
        s->lot = find->finding->lot;
        s->at_s = find->finding->at_s;
    } else {
        s->place = fl_walk_place(w, r->carrier, r->at_h * FL_HOUR_S);
        s->at_s = s->kind == FL_SUSPECT_ROOM ? INT64_MIN : r->at_h * FL_HOUR_S;
        s->source = r->source;
        if (r->lot != FL_NO_INDEX) {
            s->lot = w->room->meaning.lots[r->lot].id;
            s->arrival = w->room->meaning.lots[r->lot].arrival;
        }
        (void)fl_walk_prior(w, root, &s->is_learned);
    }
    s->what = text_of(w, s, r);
}

/* ---- of a find: the copies that were there ---- */

/* From the copy back to where its root came in; lines earliest first. */
static const fl_trace_contact *copy_chain(const fl_trace_walk *w, int set, size_t copy, size_t *n)
{
    const fl_spread *s = &w->spread[set];
    size_t len = 0;
    for (size_t i = copy; i != FL_NO_INDEX; i = w->parent[set][i]) {
        len++;
    }
    fl_trace_contact *lines = FL_ARENA_ARRAY(w->arena, fl_trace_contact, len);
    size_t at = len;
    for (size_t i = copy; i != FL_NO_INDEX; i = w->parent[set][i]) {
        const fl_copy *c = &s->copies[i];
        fl_trace_contact *line = &lines[--at];
        *line = (fl_trace_contact){.at_s = c->from_event->at_s,
                                   .link = c->link,
                                   .to_place = fl_walk_place(w, c->carrier, c->from_event->at_s),
                                   .lot = fl_walk_lot_of_event(c->from_event),
                                   .share = 1.0,
                                   .event = c->from_event->id};
        if (w->parent[set][i] != FL_NO_INDEX) {
            line->from_place = fl_walk_place(w, c->from, c->from_event->at_s - 1);
            line->share = fl_know_link_factor(w->threat, c->link);
        } else {
            line->link = FL_LINK_COUNT;
        }
    }
    *n = len;
    return lines;
}

static int compare_sources(const void *a, const void *b)
{
    const fl_trace_source *x = a;
    const fl_trace_source *y = b;
    if (x->prob > y->prob || x->prob < y->prob) {
        return x->prob < y->prob ? 1 : -1;
    }
    return x->at_s != y->at_s ? (x->at_s < y->at_s ? 1 : -1) : fl_sv_compare(x->what, y->what);
}

/* Scales, sorts, and drops the least. */
static void conclude(const fl_trace_walk *w, fl_trace *out)
{
    double *weight = FL_ARENA_ARRAY(w->arena, double, out->n_sources + 1);
    for (size_t i = 0; i < out->n_sources; i++) {
        weight[i] = out->sources[i].prob;
    }
    fl_source_scale(weight, out->n_sources);
    for (size_t i = 0; i < out->n_sources; i++) {
        out->sources[i].prob = weight[i];
    }
    if (out->n_sources > 0) {
        qsort(out->sources, out->n_sources, sizeof out->sources[0], compare_sources);
    }
    while (out->n_sources > 0 && out->sources[out->n_sources - 1].prob < FL_TRACE_SOURCE_LEAST) {
        out->n_sources--;
    }
}

static void sources_of_find(const fl_trace_walk *w, fl_trace *out)
{
    out->sources = FL_ARENA_ARRAY(w->arena, fl_trace_source, w->n_suspects + 1);
    for (size_t i = 0; i < w->n_suspects; i++) {
        const fl_suspect *suspect = &w->suspects[i];
        fl_trace_source *s = &out->sources[out->n_sources++];
        *s = (fl_trace_source){.prob = suspect->weight, .prior = suspect->prior};
        describe(w, suspect->root, s);
        s->chain = copy_chain(w, suspect->set, suspect->copy, &s->n_chain);
    }
    conclude(w, out);
}

/* ---- by contacts alone ---- */

static bool was_with_amphibians(const fl_trace_walk *w, fl_id place)
{
    const fl_ev_place_set *set = fl_defs_place(&w->room->defs, place);
    return set != NULL && set->kind == FL_PLACE_ENCLOSURE &&
           (set->uses & (1U << FL_USE_AMPHIBIAN)) != 0;
}

static double disease_weight(const fl_trace_walk *w, const fl_root *root, fl_trace_source *s)
{
    const fl_lot *lot = root->lot != FL_NO_INDEX ? &w->room->meaning.lots[root->lot] : NULL;
    const fl_ev_source_set *source = fl_defs_source(&w->room->defs, root->source);
    const fl_ev_place_set *place = fl_defs_place(&w->room->defs, s->place);
    unsigned sterile = 1U << FL_FORM_TISSUE_CULTURE | 1U << FL_FORM_SEED;
    fl_source_facts facts = {
        .was_with_amphibians =
            s->kind == FL_SUSPECT_ALREADY_HERE && was_with_amphibians(w, s->place),
        .was_in_occupied = s->kind == FL_SUSPECT_ALREADY_HERE && place != NULL &&
                           place->kind == FL_PLACE_ENCLOSURE && place->has_animals,
        .keeps_animals = source != NULL && source->has_animals_with_plants,
        .is_outdoors = source != NULL && source->kind == FL_SOURCE_OUTDOORS,
        .is_sterile = lot != NULL && (root->forms & ~sterile) == 0 && root->forms != 0};
    return fl_source_disease_weight(&facts, &s->fact);
}

/* A search for ways to the subject. */
typedef struct search {
    fl_trace_walk *w;
    const fl_walk_subject *subjects;
    size_t n_subjects;
    fl_passage_seed *seeds; /* of the way in that is looked at, by time */
    size_t n_seeds;
    fl_trace *out;
} search;

/* The likeliest way from the seeds to the subject. */
typedef struct way {
    double prob;
    int64_t at_s; /* when it came to the subject */
    const fl_trace_contact *chain;
    size_t n_chain;
} way;

static fl_status find_way(const search *f, way *out, fl_err *err)
{
    fl_trace_walk *w = f->w;
    int32_t best = -1;
    *out = (way){.prob = 0.0};
    fl_status status = fl_walk_pass(w, f->seeds, f->n_seeds, f->out->found_s, err);
    for (size_t i = 0; i < f->n_subjects && status == FL_OK; i++) {
        const fl_passage_node *node = &w->nodes[f->subjects[i].carrier];
        if (node->prob > out->prob) {
            out->prob = node->prob;
            out->at_s = node->time;
            best = (int32_t)f->subjects[i].carrier;
        }
    }
    if (best >= 0) {
        out->chain = fl_walk_chain(w, best, &out->n_chain);
    }
    return status;
}

static const fl_trace_contact *with_first(const fl_trace_walk *w, const fl_trace_source *s,
                                          const way *found, size_t *n)
{
    fl_trace_contact *lines = FL_ARENA_ARRAY(w->arena, fl_trace_contact, found->n_chain + 1);
    lines[0] = (fl_trace_contact){
        .at_s = s->at_s, .link = FL_LINK_COUNT, .to_place = s->place, .lot = s->lot, .share = 1.0};
    if (found->n_chain > 0) {
        memcpy(&lines[1], found->chain, found->n_chain * sizeof lines[0]);
    }
    *n = found->n_chain + 1;
    return lines;
}

/* Adds the source when its seeds reach the subject, no earlier than what is asked about. */
static fl_status add_if_reached(const search *f, fl_trace_source *s, double weight, fl_err *err)
{
    way found;
    if (f->n_seeds == 0 || weight <= 0.0) {
        return FL_OK;
    }
    fl_status status = find_way(f, &found, err);
    if (status != FL_OK || found.prob <= 0.0 || found.at_s < f->out->from_s) {
        return status;
    }
    s->prior = weight;
    s->prob = weight * found.prob;
    s->chain = with_first(f->w, s, &found, &s->n_chain);
    f->out->sources[f->out->n_sources++] = *s;
    return FL_OK;
}

/* The arrivals of one root; by time, as they were noted. */
static void seed_root(search *f, size_t root)
{
    f->n_seeds = 0;
    for (size_t i = 0; i < f->w->n_roots; i++) {
        const fl_walk_root *r = &f->w->roots[i];
        if (r->root == root && r->event->at_s <= f->out->found_s) {
            f->seeds[f->n_seeds++] = (fl_passage_seed){r->event->at_s, (int32_t)r->carrier, 1.0};
        }
    }
}

/* What stood in the place from some time before the event on. */
static void seed_place(search *f, fl_id place, int64_t since_s)
{
    fl_walk_subject *there = NULL;
    size_t n = fl_walk_subjects(f->w, place, NULL, since_s, f->out->found_s, &there);
    f->seeds = FL_ARENA_ARRAY(f->w->arena, fl_passage_seed, n + 1);
    for (size_t k = 0; k < n; k++) {
        f->seeds[k] = (fl_passage_seed){since_s, (int32_t)there[k].carrier, 1.0};
    }
    f->n_seeds = n;
}

/* Other enclosures whose animals were ill, died or tested positive before. */
static fl_status add_animals(search *f, fl_err *err)
{
    const fl_trace_walk *w = f->w;
    fl_status status = FL_OK;
    for (size_t i = 0; i < w->room->n_events && status == FL_OK; i++) {
        const fl_event *e = &w->room->events[i];
        const fl_ev_animal_noted *a = &e->body.animal_noted;
        if (e->kind != FL_KIND_ANIMAL_NOTED || e->at_s > w->until_s ||
            fl_id_eq(a->place, f->out->place)) {
            continue;
        }
        bool is_test = a->what == FL_ANIMAL_TESTED;
        if (!fl_animal_is_unwell(a) || (is_test && !fl_sv_eq_cstr(a->threat, w->threat->code))) {
            continue;
        }
        fl_source_facts facts = {.has_positive = is_test, .has_ill = !is_test};
        fl_trace_source s = {.kind = FL_SUSPECT_ANIMAL, .place = a->place, .at_s = e->at_s};
        double weight = fl_source_disease_weight(&facts, &s.fact);
        s.what = text_of(w, &s, NULL);
        seed_place(f, a->place, e->at_s - (int64_t)FL_TRACE_ANIMAL_DAYS * FL_DAY_S);
        status = add_if_reached(f, &s, weight, err);
    }
    return status;
}

static fl_status sources_by_contacts(fl_trace_walk *w, fl_trace *out, fl_err *err)
{
    fl_walk_subject *subjects = NULL;
    size_t n_subjects =
        fl_walk_subjects(w, out->place, out->lot, out->found_s, out->found_s, &subjects);
    bool is_disease = w->threat->class == FL_CLASS_PATHOGEN;
    search f = {.w = w,
                .subjects = subjects,
                .n_subjects = n_subjects,
                .seeds = FL_ARENA_ARRAY(w->arena, fl_passage_seed, w->n_roots + 1),
                .out = out};
    fl_status status = FL_OK;
    out->sources =
        FL_ARENA_ARRAY(w->arena, fl_trace_source, w->network.n_roots + w->room->n_events + 1);
    for (size_t root = 0; root < w->network.n_roots && status == FL_OK; root++) {
        if (w->network.roots[root].kind == FL_ROOT_ROOM) {
            continue;
        }
        fl_trace_source s = {.prob = 0.0};
        describe(w, root, &s);
        double weight = is_disease ? disease_weight(w, &w->network.roots[root], &s)
                                   : fl_walk_prior(w, root, NULL);
        seed_root(&f, root);
        status = add_if_reached(&f, &s, weight, err);
    }
    if (status == FL_OK && is_disease) {
        status = add_animals(&f, err);
    }
    conclude(w, out);
    return status;
}

fl_status fl_trace_back_sources(fl_trace_walk *w, fl_trace *out, fl_err *err)
{
    if (w->is_caught) {
        sources_of_find(w, out);
        return FL_OK;
    }
    return sources_by_contacts(w, out, err);
}
