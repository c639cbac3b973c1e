/* The walk for one threat: contacts with their shares, the spreads of both development sets, and
 * the ways in weighed at the moment of the find, before the find closes them. */
#include "app/trace_walk.h"

#include <math.h>
#include <string.h>

#include "app/chance_work.h"

#define COPIES_FIRST ((size_t)1024)
#define COPIES_MOST ((size_t)1 << 20)

/* ---- growing lists in the arena ---- */

static void *grown(fl_arena *arena, const void *old, size_t count, size_t *cap, size_t size)
{
    size_t more = *cap == 0 ? 64 : 2 * *cap;
    void *list = fl_arena_alloc(arena, more, size);
    if (count > 0) {
        memcpy(list, old, count * size);
    }
    *cap = more;
    return list;
}

static void add_contact(fl_trace_walk *w, fl_passage_contact contact, fl_walk_contact what)
{
    size_t cap = w->cap_contacts;
    if (contact.time > w->until_s || !(contact.share > 0.0)) {
        return;
    }
    if (w->n_contacts == cap) {
        w->contacts = grown(w->arena, w->contacts, w->n_contacts, &cap, sizeof w->contacts[0]);
        w->what = grown(w->arena, w->what, w->n_contacts, &w->cap_contacts, sizeof w->what[0]);
    }
    w->contacts[w->n_contacts] = contact;
    w->what[w->n_contacts++] = what;
}

int32_t fl_walk_lot_node(const fl_trace_walk *w, size_t lot)
{
    return (int32_t)(w->network.cap_carriers + lot);
}

/* ---- contacts ---- */

static double share_of(const fl_trace_walk *w, const fl_happening *h)
{
    double efficacy = w->efficacy[h->other];
    if (h->link == FL_LINK_LEFTOVER && !isnan(efficacy)) {
        return 1.0 - efficacy;
    }
    double share = isnan(h->factor) ? fl_know_link_factor(w->threat, h->link) : h->factor;
    return h->days > 0.0 ? 1.0 - pow(1.0 - share, h->days) : share; /* a day's, for so many */
}

/* After the find: the chance that what was found is still on the carrier, by the treatments and
 * quiet looks since. 1 for carriers where nothing was found (and before the find). */
static fl_status still_there(fl_trace_walk *w, size_t carrier, int64_t at_h, double *out,
                             fl_err *err)
{
    fl_spread *s = &w->spread[0];
    fl_reading reading = {0};
    bool has_find = false;
    *out = 1.0;
    if (!w->is_caught || at_h <= w->found_h) {
        return FL_OK;
    }
    for (size_t i = s->carriers[carrier].first; i != FL_NO_INDEX; i = s->copies[i].next) {
        const fl_copy *copy = &s->copies[i];
        has_find = has_find || (FL_IS_FIND_ROOT(copy->root) && !copy->is_closed && !copy->is_ended);
    }
    if (!has_find) {
        return FL_OK;
    }
    fl_status status = fl_spread_chance(s, carrier, at_h, &reading, err);
    *out = status == FL_OK ? fmin(1.0, reading.middle) : 1.0;
    return status;
}

static fl_status note_transfer(fl_trace_walk *w, const fl_happening *h, fl_err *err)
{
    double left = 1.0;
    fl_status status = still_there(w, h->other, h->at_h, &left, err);
    add_contact(w,
                (fl_passage_contact){.time = h->event->at_s,
                                     .from = (int32_t)h->other,
                                     .to = (int32_t)h->carrier,
                                     .share = left * share_of(w, h)},
                (fl_walk_contact){h->link, h->event});
    return status;
}

/* What is on a carrier may be on each lot of it: told when the lot leaves for good, or at the
 * end. */
static void note_left(fl_trace_walk *w, size_t lot, size_t carrier, double share, int64_t at_s,
                      fl_walk_contact what)
{
    add_contact(
        w,
        (fl_passage_contact){
            .time = at_s, .from = (int32_t)carrier, .to = fl_walk_lot_node(w, lot), .share = share},
        what);
}

/* A cutting that was never on a carrier here went out at once: it has what its mother's carrier
 * had, as far as that can ride. */
static void note_born_outside(fl_trace_walk *w, const fl_happening *h)
{
    const fl_lot *mother = NULL;
    if (h->event->kind == FL_KIND_LOT_CUT) {
        mother = fl_meaning_lot(&w->room->meaning, h->event->body.lot_cut.mother);
    }
    size_t last = mother == NULL ? 0 : w->lot_stand[mother - w->room->meaning.lots];
    if (last == 0) {
        return;
    }
    bool is_cutting = h->event->body.lot_cut.form == FL_FORM_UNROOTED_CUTTING;
    fl_link link = is_cutting ? FL_LINK_CUTTING : FL_LINK_DIVISION;
    note_left(w, h->lot, w->stands[last - 1].carrier, fl_know_link_factor(w->threat, link),
              h->event->at_s, (fl_walk_contact){link, h->event});
}

static fl_status note_stand(fl_trace_walk *w, const fl_happening *h, fl_err *err)
{
    size_t last = w->lot_stand[h->lot];
    int64_t at_s = h->event->at_s;
    double left = 1.0;
    fl_status status = FL_OK;
    if (last > 0 && w->stands[last - 1].to_s == FL_TIME_OPEN) {
        fl_walk_stand *stand = &w->stands[last - 1];
        if (stand->carrier == h->carrier) {
            return FL_OK;
        }
        stand->to_s = at_s;
        if (h->carrier == FL_NO_INDEX) { /* else it goes on with what its next carrier has */
            status = still_there(w, stand->carrier, h->at_h, &left, err);
            note_left(w, h->lot, stand->carrier, left, at_s,
                      (fl_walk_contact){FL_LINK_COUNT, h->event});
        }
    } else if (last == 0 && h->carrier == FL_NO_INDEX) {
        note_born_outside(w, h);
    }
    if (h->carrier == FL_NO_INDEX) {
        return status;
    }
    if (w->n_stands == w->cap_stands) {
        w->stands = grown(w->arena, w->stands, w->n_stands, &w->cap_stands, sizeof w->stands[0]);
    }
    w->stands[w->n_stands++] = (fl_walk_stand){h->lot, h->carrier, at_s, FL_TIME_OPEN};
    w->lot_stand[h->lot] = w->n_stands;
    return status;
}

static void note_root(fl_trace_walk *w, const fl_happening *h)
{
    if (w->n_roots == w->cap_roots) {
        w->roots = grown(w->arena, w->roots, w->n_roots, &w->cap_roots, sizeof w->roots[0]);
    }
    w->roots[w->n_roots++] = (fl_walk_root){h->root, h->carrier, h->event};
}

static fl_status note(fl_trace_walk *w, const fl_happening *h, fl_err *err)
{
    if (h->event->at_s > w->until_s) {
        return FL_OK;
    }
    switch ((int)h->kind) { /* the other kinds move nothing */
    case FL_HAP_TRANSFER:
        return note_transfer(w, h, err);
    case FL_HAP_STAND:
        return note_stand(w, h, err);
    case FL_HAP_ROOT:
        note_root(w, h);
        return FL_OK;
    case FL_HAP_CLOSE:
        w->is_closed[h->carrier] = true;
        w->efficacy[h->carrier] = h->factor;
        return FL_OK;
    default:
        return FL_OK;
    }
}

/* ---- roots and priors ---- */

bool fl_walk_is_mix(const fl_trace_walk *w, size_t root)
{
    return root < w->network.cap_roots && root >= w->network.cap_roots - FL_TRACE_MIX_MAX;
}

const fl_root *fl_walk_root_of(const fl_trace_walk *w, size_t root)
{
    return FL_IS_FIND_ROOT(root) ? NULL : &w->network.roots[root];
}

/* The tables' prior: as app/chance has it before the keeper's own purchases teach. */
static double table_prior(const fl_trace_walk *w, const fl_root *root)
{
    const fl_ev_source_set *source = fl_defs_source(&w->room->defs, root->source);
    fl_source_kind kind = source != NULL ? source->kind : FL_SOURCE_CHAIN_STORE;
    double prior = 0.0;
    for (int form = 0; form < FL_FORM_COUNT; form++) {
        if ((root->forms & (1U << form)) != 0) {
            prior = fmax(prior, fl_know_prior_of(w->threat, kind, (fl_form)form).prob);
        }
    }
    return root->kind == FL_ROOT_ALREADY_HERE ? prior * fl_know_already_here_factor(w->threat)
                                              : prior;
}

double fl_walk_prior(const fl_trace_walk *w, size_t root, bool *is_learned)
{
    if (is_learned != NULL) {
        *is_learned = false;
    }
    if (fl_walk_is_mix(w, root)) {
        return w->mix_prior;
    }
    const fl_root *r = fl_walk_root_of(w, root);
    if (r == NULL || r->kind == FL_ROOT_ROOM) {
        return 0.0;
    }
    for (size_t p = 0; w->chances != NULL && p < w->chances->n_pests; p++) {
        const fl_pest *pest = &w->chances->pests[p];
        /* The same history in the same order has the same roots. */
        if (pest->threat == w->threat && pest->prior != NULL &&
            root < fl_pest_network(w->chances, pest)->n_roots) {
            if (is_learned != NULL) {
                *is_learned = pest->is_learned[root];
            }
            return fl_chances_prior(w->chances, pest, root);
        }
    }
    return table_prior(w, r);
}

/* Fresh mix from a bag, whenever a lot is potted up: a way in that nobody records. */
static fl_status add_mix(fl_trace_walk *w, const fl_happening *part, fl_happening *root,
                         bool *is_new)
{
    fl_network *n = &w->network;
    *is_new =
        part->step->step == FL_STEP_POT_UP && w->mix_prior > 0.0 && w->n_mix < FL_TRACE_MIX_MAX;
    for (size_t i = 0; i < w->n_mix && *is_new; i++) { /* one a carrier and event */
        const fl_root *r = &n->roots[n->cap_roots - 1 - i];
        *is_new = r->carrier != part->carrier || r->at_h != part->at_h;
    }
    if (!*is_new) {
        return FL_OK;
    }
    size_t at = n->cap_roots - 1 - w->n_mix++;
    n->roots[at] = (fl_root){.kind = FL_ROOT_PURCHASE,
                             .key = part->event->id,
                             .lot = part->lot,
                             .forms = 1U << FL_FORM_MIX_BAGGED,
                             .carrier = part->carrier,
                             .at_h = part->at_h};
    *root = (fl_happening){.kind = FL_HAP_ROOT,
                           .at_h = part->at_h,
                           .event = part->event,
                           .carrier = part->carrier,
                           .root = at};
    return FL_OK;
}

/* ---- the spreads' surroundings ---- */

typedef struct asker {
    fl_trace_walk *walk;
    const fl_stage_model *model;
} asker;

static fl_status env_append(void *context, const fl_prog *parent, const fl_op *op,
                            const fl_prog **out, fl_err *err)
{
    asker *a = context;
    return fl_programmes_append(&a->walk->programmes, a->model, parent, op, out, err);
}

static fl_status env_state(void *context, const fl_prog *prog, fl_filter *out, fl_err *err)
{
    asker *a = context;
    return fl_programmes_state(&a->walk->programmes, prog, out, err);
}

static fl_status env_sums(void *context, const fl_prog *prog, fl_filter_sums *out, fl_err *err)
{
    asker *a = context;
    return fl_programmes_sums(&a->walk->programmes, prog, out, err);
}

static fl_status env_temps(void *context, fl_id place, int64_t from_h, int64_t to_h,
                           const double **temps_c, double *constant_c, fl_err *err)
{
    asker *a = context;
    (void)err;
    fl_temps_of_place(a->walk->room, place, from_h, to_h, a->walk->arena, temps_c, constant_c);
    return FL_OK;
}

static double env_prior(void *context, const fl_root *root, const fl_threat *threat)
{
    const asker *a = context;
    (void)threat;
    return fl_walk_prior(a->walk, (size_t)(root - a->walk->network.roots), NULL);
}

static bool env_is_material(void *context, size_t lot)
{
    const asker *a = context;
    return fl_form_is_material(a->walk->room->meaning.lots[lot].form);
}

static void prepare_spread(fl_trace_walk *w, int set)
{
    static const fl_spread_env asks = {.append = env_append,
                                       .state = env_state,
                                       .sums = env_sums,
                                       .temps = env_temps,
                                       .prior = env_prior,
                                       .is_material = env_is_material};
    const fl_stage_model *model = set == 0 ? &w->threat->slow : &w->threat->fast;
    size_t n_lots = w->room->meaning.n_lots;
    asker *a = FL_ARENA_NEW(w->arena, asker);
    fl_spread_env *env = FL_ARENA_NEW(w->arena, fl_spread_env);
    *a = (asker){w, model};
    *env = asks;
    env->context = a;
    w->spread[set] = (fl_spread){
        .threat = w->threat,
        .model = model,
        .network = &w->network,
        .env = env,
        .copies = FL_ARENA_ARRAY(w->arena, fl_copy, w->cap_copies),
        .cap_copies = w->cap_copies,
        .finds = FL_ARENA_ARRAY(w->arena, fl_spread_find, w->cap_copies),
        .cap_finds = w->cap_copies,
        .root_found = FL_ARENA_ARRAY(w->arena, double, w->network.cap_roots),
        .carriers = FL_ARENA_ARRAY(w->arena, fl_spread_carrier, w->network.cap_carriers),
        .lots = FL_ARENA_ARRAY(w->arena, fl_spread_lot, n_lots),
        .n_lots = n_lots};
    fl_spread_begin(&w->spread[set]);
    w->parent[set] = FL_ARENA_ARRAY(w->arena, size_t, w->cap_copies);
}

/* ---- the moment of the find ---- */

static fl_suspect *suspect_of(fl_trace_walk *w, size_t root)
{
    for (size_t i = 0; i < w->n_suspects; i++) {
        if (w->suspects[i].root == root) {
            return &w->suspects[i];
        }
    }
    fl_suspect *new_one = &w->suspects[w->n_suspects++];
    *new_one = (fl_suspect){.root = root};
    return new_one;
}

static void what_was_seen(fl_trace_walk *w, const fl_happening *h)
{
    const fl_ev_look_done *look = &h->event->body.look_done;
    for (int s = 0; s < w->threat->n_stages; s++) {
        w->detect[s] =
            fl_know_detect(w->threat, s, look->effort, look->devices, look->is_after_dark);
    }
    fl_backdate_colony(w->threat, w->detect, w->colony);
    w->stage = fl_backdate_stage(w->threat, h->finding->stage);
}

/* One copy of one set on the carrier of the find. */
static fl_status weigh_copy(fl_trace_walk *w, int set, size_t index, int64_t at_h, fl_err *err)
{
    fl_spread *s = &w->spread[set];
    fl_copy *copy = &s->copies[index];
    fl_filter state;
    double likelihood = 0.0;
    const fl_source_seen seen = {.stage = w->stage,
                                 .detect = w->detect,
                                 .cap = s->mixture.cap,
                                 .weight = s->mixture.weight_middle,
                                 .colony = w->colony,
                                 .founders = FL_FOUNDERS_MEAN};
    fl_status status = fl_spread_advance(s, copy, at_h, err);
    if (status == FL_OK) {
        status = fl_programmes_state(&w->programmes, copy->prog, &state, err);
    }
    if (status == FL_OK) {
        status = fl_source_likelihood(s->model, &state, copy->is_steady, &seen, &likelihood, err);
    }
    if (status != FL_OK) {
        return status;
    }
    double prior = copy->is_steady ? 1.0 : fl_spread_prior(s, copy);
    fl_suspect *suspect = suspect_of(w, copy->root);
    double weight = prior * likelihood;
    if (weight > suspect->best_weight || suspect->prog == NULL) {
        suspect->best_weight = weight;
        suspect->prior = copy->is_steady ? fl_filter_alive(&state, 0) : prior;
        suspect->set = set;
        suspect->copy = index;
        suspect->prog = copy->prog;
    }
    bool is_whole = !copy->is_thinned && !copy->is_steady && !FL_IS_FIND_ROOT(copy->root);
    const fl_root *root = fl_walk_root_of(w, copy->root);
    bool is_older =
        w->longest == NULL || (is_whole && !w->is_longest_whole) ||
        (is_whole == w->is_longest_whole && root != NULL && root->at_h < w->longest_from_h);
    if (set == 0 && is_older && root != NULL) {
        w->longest = copy->prog;
        w->longest_from_h = root->at_h;
        w->is_longest_whole = is_whole;
    }
    return FL_OK;
}

/* Of several copies of a root the largest counts (design 4.4); the sets are alike. */
static fl_status weigh_set(fl_trace_walk *w, int set, const fl_happening *h, fl_err *err)
{
    fl_spread *s = &w->spread[set];
    fl_status status = FL_OK;
    for (size_t i = 0; i < w->n_suspects; i++) {
        w->suspects[i].best_weight = 0.0;
    }
    for (size_t i = s->carriers[h->carrier].first; i != FL_NO_INDEX && status == FL_OK;
         i = s->copies[i].next) {
        const fl_copy *copy = &s->copies[i];
        if (!copy->is_closed && !copy->is_ended) {
            status = weigh_copy(w, set, i, h->at_h, err);
        }
    }
    for (size_t i = 0; i < w->n_suspects; i++) {
        w->suspects[i].weight += w->suspects[i].best_weight / FL_TRACE_SETS;
    }
    return status;
}

/* A find in a place of several carriers (a bench) may be on any of them: the likeliest is kept. */
static fl_status catch_find(fl_trace_walk *w, const fl_happening *h, fl_err *err)
{
    fl_trace_walk other = *w; /* what was caught before, if anything */
    w->suspects =
        FL_ARENA_ARRAY(w->arena, fl_suspect, w->spread[0].n_copies + w->spread[1].n_copies + 1);
    w->n_suspects = 0;
    w->longest = NULL;
    w->found_weight = 0.0;
    what_was_seen(w, h);
    fl_status status = FL_OK;
    for (int set = 0; set < FL_TRACE_SETS && status == FL_OK; set++) {
        status = weigh_set(w, set, h, err);
    }
    for (size_t i = 0; i < w->n_suspects; i++) {
        w->found_weight += w->suspects[i].weight;
    }
    w->found_on = h->carrier;
    w->found_h = h->at_h;
    if (other.is_caught && other.found_weight >= w->found_weight) {
        w->suspects = other.suspects;
        w->n_suspects = other.n_suspects;
        w->longest = other.longest;
        w->longest_from_h = other.longest_from_h;
        w->is_longest_whole = other.is_longest_whole;
        w->found_weight = other.found_weight;
        w->found_on = other.found_on;
        w->found_h = other.found_h;
    }
    w->is_caught = true;
    return status;
}

/* ---- the walk ---- */

/* Which copy of the giving carrier a new copy was made from: it has its programme, or one more
 * operation (thinned). */
static size_t parent_of(const fl_spread *s, const fl_happening *h, const fl_copy *made)
{
    for (size_t i = s->carriers[h->other].first; i != FL_NO_INDEX; i = s->copies[i].next) {
        const fl_copy *copy = &s->copies[i];
        if (copy->root == made->root && copy != made &&
            (copy->prog == made->prog || copy->prog == made->prog->parent)) {
            return i;
        }
    }
    return FL_NO_INDEX;
}

static fl_status take(fl_trace_walk *w, const fl_happening *h, fl_err *err)
{
    fl_status status = FL_OK;
    for (int set = 0; set < FL_TRACE_SETS && status == FL_OK; set++) {
        fl_spread *s = &w->spread[set];
        size_t before = s->n_copies;
        status = fl_spread_take(s, h, err);
        for (size_t i = before; i < s->n_copies && status == FL_OK; i++) {
            w->parent[set][i] =
                h->kind == FL_HAP_TRANSFER ? parent_of(s, h, &s->copies[i]) : FL_NO_INDEX;
        }
    }
    return status;
}

static fl_status on_happening(void *context, const fl_happening *h, fl_err *err)
{
    fl_trace_walk *w = context;
    fl_status status = note(w, h, err);
    if (!w->has_stages || status != FL_OK) {
        return status;
    }
    if (h->kind == FL_HAP_FOUND && w->finding != NULL &&
        fl_id_eq(h->finding->finding, w->finding->finding)) {
        status = catch_find(w, h, err);
    }
    if (status == FL_OK) {
        status = take(w, h, err);
    }
    if (status == FL_OK && h->kind == FL_HAP_PART) {
        fl_happening root = {0};
        bool is_new = false;
        status = add_mix(w, h, &root, &is_new);
        if (status == FL_OK && is_new) {
            note_root(w, &root);
            status = take(w, &root, err);
        }
    }
    return status;
}

static void prepare(fl_trace_walk *w)
{
    const fl_meaning *m = &w->room->meaning;
    size_t cap = m->n_lots + m->n_fills + m->n_stays + 1;
    w->network = (fl_network){.carriers = FL_ARENA_ARRAY(w->arena, fl_carrier, cap),
                              .cap_carriers = cap,
                              .roots = FL_ARENA_ARRAY(w->arena, fl_root, cap + FL_TRACE_MIX_MAX),
                              .cap_roots = cap + FL_TRACE_MIX_MAX,
                              .lot_carrier = FL_ARENA_ARRAY(w->arena, size_t, m->n_lots)};
    w->n_contacts = w->n_roots = w->n_stands = w->n_mix = 0;
    w->nodes = NULL;
    w->is_caught = false;
    w->lot_stand = FL_ARENA_ARRAY(w->arena, size_t, m->n_lots);
    w->is_closed = FL_ARENA_ARRAY(w->arena, bool, cap);
    w->efficacy = FL_ARENA_ARRAY(w->arena, double, cap);
    for (size_t i = 0; i < cap; i++) {
        w->efficacy[i] = (double)NAN;
    }
    w->mix_prior = fl_know_prior_of(w->threat, FL_SOURCE_CHAIN_STORE, FL_FORM_MIX_BAGGED).prob;
    if (w->has_stages) {
        fl_programmes_init(&w->programmes, NULL, w->arena);
        prepare_spread(w, 0);
        prepare_spread(w, 1);
    }
}

/* What still stands somewhere at the end has what is on its carrier. */
static void note_those_that_stay(fl_trace_walk *w)
{
    for (size_t lot = 0; lot < w->room->meaning.n_lots; lot++) {
        size_t last = w->lot_stand[lot];
        if (last > 0 && w->stands[last - 1].to_s == FL_TIME_OPEN) {
            note_left(w, lot, w->stands[last - 1].carrier, 1.0, w->until_s,
                      (fl_walk_contact){FL_LINK_COUNT, NULL});
        }
    }
}

fl_status fl_trace_walk_run(fl_trace_walk *w, fl_err *err)
{
    fl_network_input input = {.events = w->room->events,
                              .n_events = w->room->n_events,
                              .meaning = &w->room->meaning,
                              .defs = &w->room->defs,
                              .carriage = w->carriage};
    fl_status status = FL_ETOOBIG;
    input.scratch =
        fl_arena_alloc(w->arena, fl_network_scratch_bytes(input.meaning, input.defs), 1);
    /* How many copies there are is known only after the walk: try, and take more. */
    for (w->cap_copies = COPIES_FIRST; status == FL_ETOOBIG && w->cap_copies <= COPIES_MOST;
         w->cap_copies *= 8) {
        fl_err_clear(err);
        prepare(w);
        status = fl_network_walk(&input, on_happening, w, &w->network, err);
        if (!w->has_stages) {
            break;
        }
    }
    if (status == FL_OK) {
        note_those_that_stay(w);
    }
    return status;
}

/* ---- asking what was walked ---- */

fl_id fl_walk_place(const fl_trace_walk *w, size_t carrier, int64_t at_s)
{
    const fl_carrier *c = &w->network.carriers[carrier];
    if (c->lot == FL_NO_INDEX) {
        return c->place;
    }
    const fl_meaning *m = &w->room->meaning;
    const fl_stay *stay = fl_meaning_stay_at(m, m->lots[c->lot].id, at_s);
    return stay != NULL ? stay->place : m->lots[c->lot].place;
}

static void add_subject(fl_walk_subject *list, size_t *n, size_t carrier, int64_t from_s,
                        int64_t to_s)
{
    for (size_t i = 0; i < *n; i++) {
        if (list[i].carrier == carrier) {
            list[i].from_s = from_s < list[i].from_s ? from_s : list[i].from_s;
            list[i].to_s = to_s > list[i].to_s ? to_s : list[i].to_s;
            return;
        }
    }
    list[(*n)++] = (fl_walk_subject){carrier, from_s, to_s};
}

size_t fl_walk_subjects(const fl_trace_walk *w, fl_id place, const fl_lot *lot, int64_t from_s,
                        int64_t to_s, fl_walk_subject **out)
{
    size_t n = 0;
    *out = FL_ARENA_ARRAY(w->arena, fl_walk_subject, w->n_stands + 1);
    for (size_t i = 0; i < w->n_stands; i++) {
        const fl_walk_stand *stand = &w->stands[i];
        const fl_lot *own = &w->room->meaning.lots[stand->lot];
        bool is_own = lot != NULL && fl_id_eq(own->id, lot->id);
        bool is_there =
            lot == NULL && fl_id_eq(fl_walk_place(w, stand->carrier, stand->from_s), place);
        if ((is_own || is_there) && stand->from_s <= to_s && stand->to_s >= from_s) {
            add_subject(*out, &n, stand->carrier, stand->from_s > from_s ? stand->from_s : from_s,
                        stand->to_s < to_s ? stand->to_s : to_s);
        }
    }
    return n;
}

/* The lot that an event is about, for a line of text: the first it names. */
fl_id fl_walk_lot_of_event(const fl_event *event)
{
    switch ((int)event->kind) { /* the others are about no lot */
    case FL_KIND_LOT_ARRIVED:
        return event->body.lot_arrived.lot;
    case FL_KIND_LOT_ALREADY_HERE:
        return event->body.lot_already_here.lot;
    case FL_KIND_LOT_CUT:
        return event->body.lot_cut.lot;
    case FL_KIND_LOT_SPLIT:
        return event->body.lot_split.new_lot;
    case FL_KIND_LOT_MOVED:
        return event->body.lot_moved.lots.count > 0 ? event->body.lot_moved.lots.ids[0]
                                                    : (fl_id){{0}};
    case FL_KIND_LOT_RELEASED:
        return event->body.lot_released.lot;
    case FL_KIND_STEP_DONE:
        return event->body.step_done.n_steps > 0 && event->body.step_done.steps[0].lots.count > 0
                   ? event->body.step_done.steps[0].lots.ids[0]
                   : (fl_id){{0}};
    default:
        return (fl_id){{0}};
    }
}

/* ---- passages ---- */

fl_status fl_walk_pass(fl_trace_walk *w, const fl_passage_seed *seeds, size_t n_seeds, int64_t to_s,
                       fl_err *err)
{
    size_t n_nodes = w->network.cap_carriers + w->room->meaning.n_lots;
    if (w->nodes == NULL) {
        w->nodes = FL_ARENA_ARRAY(w->arena, fl_passage_node, n_nodes);
        w->before = FL_ARENA_ARRAY(w->arena, int32_t, w->n_contacts + 1);
        w->chain = FL_ARENA_ARRAY(w->arena, int32_t, w->n_contacts + 1);
    }
    const fl_passage_query query = {.contacts = w->contacts,
                                    .n_contacts = w->n_contacts,
                                    .seeds = seeds,
                                    .n_seeds = n_seeds,
                                    .n_nodes = (int32_t)n_nodes,
                                    .to = to_s};
    return fl_passage(&query, w->nodes, w->before, err);
}

static fl_trace_contact line_of(const fl_trace_walk *w, size_t contact)
{
    const fl_passage_contact *c = &w->contacts[contact];
    const fl_walk_contact *what = &w->what[contact];
    fl_trace_contact line = {.at_s = c->time, .link = what->link, .share = c->share};
    line.from_place = fl_walk_place(w, (size_t)c->from, c->time - 1);
    if ((size_t)c->to < w->network.cap_carriers) {
        line.to_place = fl_walk_place(w, (size_t)c->to, c->time);
    }
    if (what->event != NULL) {
        line.event = what->event->id;
        line.lot = fl_walk_lot_of_event(what->event);
    }
    return line;
}

const fl_trace_contact *fl_walk_chain(const fl_trace_walk *w, int32_t node, size_t *n_lines)
{
    size_t n = fl_passage_chain(w->nodes, w->before, node, w->chain, w->n_contacts);
    fl_trace_contact *lines = FL_ARENA_ARRAY(w->arena, fl_trace_contact, n + 1);
    *n_lines = 0;
    for (size_t i = 0; i < n; i++) {
        if (w->what[w->chain[i]].link != FL_LINK_COUNT) { /* else it only stood there */
            lines[(*n_lines)++] = line_of(w, (size_t)w->chain[i]);
        }
    }
    return lines;
}
