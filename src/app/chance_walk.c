/* The walks behind the chances. Without a recall every happening goes to every pest's two spreads.
 * With one the happenings are told first, each carrier gets its digest, and only what no earlier
 * answer had, or what somebody asks for, goes to the spreads, with all that it rests on. */
#include <assert.h>
#include <string.h>

#include "app/chance_work.h"
#include "base/alloc.h"
#include "core/clear/filter.h"

#define HAPPENINGS_BETWEEN 64 /* two words about how far it is */

/* ---- one happening ---- */

/* The record is walked twice, each time from its beginning to now. */
static fl_status tell_progress(const fl_chances *c, fl_carriage carriage, size_t n_told,
                               int64_t at_h, fl_err *err)
{
    const fl_room *room = c->room;
    const int64_t first_h = room->n_events > 0 ? room->events[0].at_s / FL_HOUR_S : c->now_h;
    const int64_t span_d = (c->now_h - first_h) / 24 + 1;
    int64_t done_d = (at_h - first_h) / 24;
    done_d = done_d < 0 ? 0 : done_d;
    done_d = done_d > span_d ? span_d : done_d;
    done_d += carriage == FL_CARRIAGE_LOT ? span_d : 0;
    return n_told % HAPPENINGS_BETWEEN == 0
               ? fl_progress_step(c->app != NULL ? c->app->progress : NULL, FL_WORK_CHANCES, done_d,
                                  2 * span_d, err)
               : FL_OK;
}

static void note_stand(fl_chances *c, fl_walked *walked, const fl_happening *h)
{
    if (walked->n_stands == walked->cap_stands) {
        size_t cap = walked->cap_stands == 0 ? 64 : 2 * walked->cap_stands;
        fl_stand *stands = FL_ARENA_ARRAY(&c->arena, fl_stand, cap);
        if (walked->n_stands > 0) {
            memcpy(stands, walked->stands, walked->n_stands * sizeof stands[0]);
        }
        walked->stands = stands;
        walked->cap_stands = cap;
    }
    walked->stands[walked->n_stands++] =
        (fl_stand){.lot = h->lot, .carrier = h->carrier, .at_h = h->at_h};
}

typedef fl_status (*spread_verb)(fl_spread *spread, const fl_happening *h, fl_err *err);

/* To both sets of every pest of the carriage. */
static fl_status tell_all(fl_chances *c, fl_carriage carriage, spread_verb verb,
                          const fl_happening *h, fl_err *err)
{
    fl_status status = FL_OK;
    for (size_t i = 0; i < c->n_pests && status == FL_OK; i++) {
        fl_pest *pest = &c->pests[i];
        if (pest->carriage != carriage) {
            continue;
        }
        status = verb(&pest->slow, h, err);
        if (status == FL_OK) {
            status = verb(&pest->fast, h, err);
        }
    }
    return status;
}

typedef struct walker {
    fl_chances *chances;
    fl_walked *walked;
    fl_carriage carriage;
    size_t n_told; /* happenings so far */
} walker;

static fl_status on_happening(void *context, const fl_happening *h, fl_err *err)
{
    walker *w = context;
    fl_status status = tell_progress(w->chances, w->carriage, w->n_told++, h->at_h, err);
    if (h->kind == FL_HAP_STAND) {
        note_stand(w->chances, w->walked, h);
    }
    return status == FL_OK ? tell_all(w->chances, w->carriage, fl_spread_take, h, err) : status;
}

/* ---- what is told ---- */

static fl_status on_told(void *context, const fl_happening *h, fl_err *err)
{
    walker *w = context;
    fl_walked *walked = w->walked;
    (void)err;
    if (h->kind == FL_HAP_STAND) {
        note_stand(w->chances, walked, h);
    }
    if (walked->n_told == walked->cap_told) {
        walked->cap_told = walked->cap_told == 0 ? 1024 : 2 * walked->cap_told;
        walked->told = fl_alloc_resize(walked->told, walked->cap_told, sizeof walked->told[0]);
    }
    fl_told *told = &walked->told[walked->n_told++];
    *told = (fl_told){.happening = *h};
    if (h->kind == FL_HAP_ROOT) {
        told->forms = walked->network.roots[h->root].forms;
    }
    if (h->kind == FL_HAP_FOUND) {
        walked->has_find[h->carrier] = true;
    }
    if (h->kind == FL_HAP_LOOK && walked->has_find[h->carrier]) {
        told->find = ++walked->finds[h->carrier];
        walked->n_finds++;
        walked->has_find[h->carrier] = false;
    }
    return FL_OK;
}

static fl_status walk_network(fl_chances *c, fl_carriage carriage, fl_happening_sink sink,
                              fl_err *err)
{
    walker w = {.chances = c, .walked = &c->walked[carriage], .carriage = carriage};
    fl_network_input input = {.events = c->room->events,
                              .n_events = c->room->n_events,
                              .meaning = &c->room->meaning,
                              .defs = &c->room->defs,
                              .carriage = carriage,
                              .now_s = c->room->now_s};
    size_t bytes = fl_network_scratch_bytes(input.meaning, input.defs);
    input.scratch = fl_arena_alloc(&c->arena, bytes, 1);
    return fl_network_walk(&input, sink, &w, &w.walked->network, err);
}

/* ---- what digests begin with ---- */

/* All that fl_temps_of_place_side reads of a place. */
static fl_digest temps_digest(const fl_chances *c, fl_id place)
{
    fl_digest d = {11, 12};
    for (size_t i = 0; i < c->room->n_place_sets; i++) {
        const fl_event *event = c->room->place_sets[i];
        if (fl_id_eq(event->body.place_set.place, place)) {
            fl_digest_word(&d, (uint64_t)event->at_s);
            fl_digest_real(&d, event->body.place_set.set_temp_c);
        }
    }
    const fl_series *series = fl_room_series(c->room, place);
    if (series != NULL) { /* ahead of now other rules hold */
        fl_digest_word(&d, (uint64_t)c->now_h);
        fl_digest_word(&d, (uint64_t)series->from_h);
        for (size_t h = 0; h < series->n_hours; h++) {
            fl_digest_real(&d, series->temp_c[h]);
        }
    }
    return d;
}

typedef struct digester {
    fl_chances *chances;
    fl_digest *digests; /* by place */
    bool *is_known;
} digester;

static size_t place_index(const fl_defs *defs, fl_id place)
{
    size_t low = 0;
    size_t high = defs->places.count;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (fl_id_compare(defs->places.events[middle]->body.place_set.place, place) < 0) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    bool is_there =
        low < defs->places.count && fl_id_eq(defs->places.events[low]->body.place_set.place, place);
    return is_there ? low : FL_NO_INDEX;
}

static fl_digest place_digest(void *context, fl_id place)
{
    digester *d = context;
    size_t index = place_index(&d->chances->room->defs, place);
    if (index == FL_NO_INDEX) {
        return temps_digest(d->chances, place);
    }
    if (!d->is_known[index]) {
        d->digests[index] = temps_digest(d->chances, place);
        d->is_known[index] = true;
    }
    return d->digests[index];
}

/* What table_prior in chance.c reads beside the root itself. */
static fl_digest root_digest(void *context, const fl_root *root)
{
    const digester *of = context;
    const fl_ev_source_set *source = fl_defs_source(&of->chances->room->defs, root->source);
    fl_digest d = {13, 14};
    fl_digest_word(&d, source != NULL ? (uint64_t)source->kind : (uint64_t)FL_SOURCE_CHAIN_STORE);
    return d;
}

static fl_digest lot_digest(void *context, size_t lot)
{
    const digester *of = context;
    const fl_lot *row = &of->chances->room->meaning.lots[lot];
    fl_digest d = {15, 16};
    fl_digest_id(&d, row->id);
    fl_digest_word(&d, fl_form_is_material(row->form) ? 1U : 0U);
    return d;
}

static const fl_digest *digests_of(fl_chances *c, const fl_walked *walked, digester *d,
                                   fl_arena *arena)
{
    const fl_network *network = &walked->network;
    const fl_depend_env env = {
        .context = d, .place = place_digest, .root = root_digest, .lot = lot_digest};
    size_t n_marks = network->n_roots + walked->n_finds;
    size_t words = fl_depend_words(n_marks);
    size_t n_lots = c->room->meaning.n_lots;
    fl_depend out = {.carriers = FL_ARENA_ARRAY(arena, fl_digest, network->n_carriers),
                     .lots = FL_ARENA_ARRAY(arena, fl_digest, n_lots),
                     .roots = FL_ARENA_ARRAY(arena, fl_digest, network->n_roots),
                     .blames = FL_ARENA_ARRAY(arena, fl_digest, n_marks),
                     .stands_on = FL_ARENA_ARRAY(arena, size_t, n_lots),
                     .has_find = FL_ARENA_ARRAY(arena, bool, network->n_carriers),
                     .may_hold = FL_ARENA_ARRAY(arena, uint64_t, network->n_carriers * words),
                     .n_lots = n_lots,
                     .n_marks = n_marks};
    fl_depend_digest(network, &env, walked->told, walked->n_told, &out);
    return out.carriers;
}

/* ---- blames ---- */

static fl_recalled_root recalled_root(const fl_chances *c, const fl_pest *pest, const fl_spread *s,
                                      size_t root)
{
    const fl_network *network = fl_pest_network(c, pest);
    if (!FL_IS_FIND_ROOT(root)) {
        return (fl_recalled_root){.kind = network->roots[root].kind,
                                  .key = network->roots[root].key};
    }
    const fl_spread_find *find = &s->finds[root - FL_FIND_ROOT(0)];
    return (fl_recalled_root){.kind = FL_ROOT_FIND,
                              .key = find->finding->look,
                              .carrier = network->carriers[find->carrier].id};
}

void fl_chances_note_blame(fl_chances *c, const fl_pest *pest, bool is_fast, size_t root,
                           double cause)
{
    if (c->n_blames == c->cap_blames) {
        c->cap_blames = c->cap_blames == 0 ? 64 : 2 * c->cap_blames;
        c->blames = fl_alloc_resize(c->blames, c->cap_blames, sizeof c->blames[0]);
    }
    const fl_spread *s = is_fast ? &pest->fast : &pest->slow;
    c->blames[c->n_blames++] = (fl_chance_blame){.carrier = c->now_told->happening.carrier,
                                                 .blame = {.pest = (size_t)(pest - c->pests),
                                                           .is_fast = is_fast,
                                                           .find = c->now_told->find,
                                                           .root = recalled_root(c, pest, s, root),
                                                           .cause = cause}};
}

size_t fl_chances_root(const fl_chances *c, fl_carriage carriage, const fl_recalled_root *root)
{
    const fl_walked *walked = &c->walked[carriage];
    size_t slot = (size_t)(root->key.b[14] << 8 | root->key.b[15]) & (walked->cap_index - 1);
    for (; walked->root_index[slot] > 0; slot = (slot + 1) & (walked->cap_index - 1)) {
        const fl_root *own = &walked->network.roots[walked->root_index[slot] - 1];
        if (own->kind == root->kind && fl_id_eq(own->key, root->key)) {
            return walked->root_index[slot] - 1;
        }
    }
    return FL_NO_INDEX;
}

static void index_roots(fl_chances *c, fl_walked *walked)
{
    walked->cap_index = 64;
    while (walked->cap_index < 2 * walked->network.n_roots) {
        walked->cap_index *= 2;
    }
    walked->root_index = FL_ARENA_ARRAY(&c->arena, size_t, walked->cap_index);
    for (size_t i = 0; i < walked->network.n_roots; i++) {
        fl_id key = walked->network.roots[i].key;
        size_t slot = (size_t)(key.b[14] << 8 | key.b[15]) & (walked->cap_index - 1);
        while (walked->root_index[slot] > 0) {
            slot = (slot + 1) & (walked->cap_index - 1);
        }
        walked->root_index[slot] = i + 1;
    }
}

/* The spread's own number for a root of the recall; FL_NO_INDEX: it has no copy of it. */
static size_t root_in(const fl_chances *c, const fl_pest *pest, const fl_spread *s,
                      const fl_recalled_root *root)
{
    if (root->kind != FL_ROOT_FIND) {
        return fl_chances_root(c, pest->carriage, root);
    }
    const fl_network *network = fl_pest_network(c, pest);
    for (size_t k = 0; k < s->n_finds; k++) {
        if (fl_id_eq(s->finds[k].finding->look, root->key) &&
            fl_id_eq(network->carriers[s->finds[k].carrier].id, root->carrier)) {
            return FL_FIND_ROOT(k);
        }
    }
    return FL_NO_INDEX;
}

/* A find on a carrier that is left out: whom it blamed is known. */
static void blame_by_recall(fl_chances *c, const fl_walked *walked, const fl_told *told)
{
    const fl_recalled *known = walked->of_carrier[told->happening.carrier];
    assert(known != NULL); /* what is not known is walked to its end */
    for (size_t i = 0; i < known->n_blames; i++) {
        const fl_recalled_blame *blame = &known->blames[i];
        fl_pest *pest = &c->pests[blame->pest];
        fl_spread *s = blame->is_fast ? &pest->fast : &pest->slow;
        size_t root = blame->find == told->find ? root_in(c, pest, s, &blame->root) : FL_NO_INDEX;
        if (root != FL_NO_INDEX) {
            fl_spread_blame(s, root, blame->cause);
        }
    }
}

/* ---- walking what is needed ---- */

/* Lots that are ever on a carrier while it is needed: their steps count, wherever done. */
static bool *lots_needed(const fl_chances *c, const fl_walked *walked, fl_arena *arena)
{
    bool *is_needed = FL_ARENA_ARRAY(arena, bool, c->room->meaning.n_lots);
    for (size_t i = 0; i < walked->n_told; i++) {
        const fl_happening *h = &walked->told[i].happening;
        if ((h->kind == FL_HAP_STAND || h->kind == FL_HAP_PART) && h->carrier != FL_NO_INDEX &&
            i < walked->until[h->carrier]) {
            is_needed[h->lot] = true;
        }
    }
    return is_needed;
}

static fl_status replay_one(fl_chances *c, fl_carriage carriage, size_t at, const bool *lots,
                            fl_err *err)
{
    const fl_walked *walked = &c->walked[carriage];
    const fl_told *told = &walked->told[at];
    const fl_happening *h = &told->happening;
    bool is_of_lot = h->kind == FL_HAP_STAND || h->kind == FL_HAP_PART;
    bool is_needed = is_of_lot ? lots[h->lot] : at < walked->until[h->carrier];
    if (h->kind == FL_HAP_ROOT) {
        walked->network.roots[h->root].forms = told->forms;
    }
    if (is_needed) {
        return tell_all(c, carriage, fl_spread_take, h, err);
    }
    if (h->kind == FL_HAP_TRANSFER && at < walked->until[h->other]) {
        return tell_all(c, carriage, fl_spread_take_out, h, err);
    }
    if (told->find > 0) {
        blame_by_recall(c, walked, told);
    }
    return FL_OK;
}

static void begin_again(fl_chances *c, fl_carriage carriage)
{
    for (size_t i = 0; i < c->n_pests; i++) {
        fl_pest *pest = &c->pests[i];
        if (pest->carriage != carriage) {
            continue;
        }
        if (c->walked[carriage].n_replays > 0) {
            pest->retired[pest->n_retired++] = pest->slow.copies;
            pest->retired[pest->n_retired++] = pest->fast.copies;
            pest->slow.copies = pest->fast.copies = NULL;
            pest->slow.cap_copies = pest->fast.cap_copies = 0;
            fl_spread_begin(&pest->slow);
            fl_spread_begin(&pest->fast);
        }
    }
}

/* Walks all that is asked for, from the beginning. */
static fl_status replay(fl_chances *c, fl_carriage carriage, fl_err *err)
{
    fl_walked *walked = &c->walked[carriage];
    fl_status status = FL_OK;
    fl_arena arena;
    fl_arena_init(&arena);
    begin_again(c, carriage);
    for (size_t i = 0; i < walked->network.n_carriers; i++) {
        bool is_asked = walked->is_asked[i] || walked->n_replays + 1 >= FL_REPLAYS_MAX;
        walked->is_asked[i] = is_asked;
        walked->until[i] = is_asked ? SIZE_MAX : 0;
    }
    fl_depend_close(walked->told, walked->n_told, walked->until);
    const bool *lots = lots_needed(c, walked, &arena);
    for (size_t i = 0; i < walked->network.n_roots; i++) {
        walked->network.roots[i].forms = 0;
    }
    bool was_walking = c->is_walking;
    c->is_walking = true;
    for (size_t i = 0; i < walked->n_told && status == FL_OK; i++) {
        c->now_told = &walked->told[i];
        status = tell_progress(c, carriage, i, walked->told[i].happening.at_h, err);
        if (status == FL_OK) {
            status = replay_one(c, carriage, i, lots, err);
        }
    }
    c->is_walking = was_walking;
    walked->n_replays++;
    fl_arena_done(&arena);
    return status;
}

/* ---- what is asked for ---- */

/* Asks for all carriers that the lot, and those it was cut or split from, ever stood on. True when
 * one of them was not asked for before. */
static bool ask_for_lot(fl_chances *c, fl_walked *walked, size_t lot)
{
    const fl_meaning *m = &c->room->meaning;
    bool is_new = false;
    while (lot != FL_NO_INDEX) {
        for (size_t i = walked->first_stand[lot]; i != FL_NO_INDEX; i = walked->next_stand[i]) {
            size_t carrier = walked->stands[i].carrier;
            if (carrier != FL_NO_INDEX && !walked->is_asked[carrier]) {
                walked->is_asked[carrier] = is_new = true;
            }
        }
        const fl_lot *row = &m->lots[lot];
        const fl_lot *mother = fl_id_is_none(row->mother) ? NULL : fl_meaning_lot(m, row->mother);
        lot = mother == NULL ? FL_NO_INDEX : (size_t)(mother - m->lots);
    }
    return is_new;
}

static void index_stands(fl_chances *c, fl_walked *walked)
{
    size_t n_lots = c->room->meaning.n_lots;
    walked->first_stand = FL_ARENA_ARRAY(&c->arena, size_t, n_lots);
    walked->next_stand = FL_ARENA_ARRAY(&c->arena, size_t, walked->n_stands);
    for (size_t i = 0; i < n_lots; i++) {
        walked->first_stand[i] = FL_NO_INDEX;
    }
    for (size_t i = 0; i < walked->n_stands; i++) {
        walked->next_stand[i] = walked->first_stand[walked->stands[i].lot];
        walked->first_stand[walked->stands[i].lot] = i;
    }
}

/* Asks for what no answer before has left: with the lots on it, for they are asked for next. */
static bool ask_for_unknown(fl_chances *c, fl_walked *walked)
{
    size_t n_unknown = 0;
    for (size_t i = 0; i < walked->network.n_carriers; i++) {
        walked->is_asked[i] = walked->of_carrier[i] == NULL;
        n_unknown += walked->is_asked[i];
    }
    bool is_most = 2 * n_unknown > walked->network.n_carriers;
    for (size_t i = 0; i < walked->network.n_carriers && is_most; i++) {
        walked->is_asked[i] = true;
    }
    for (size_t i = 0; i < c->room->meaning.n_lots && n_unknown > 0 && !is_most; i++) {
        size_t carrier = walked->network.lot_carrier[i];
        if (carrier != FL_NO_INDEX && walked->of_carrier[carrier] == NULL) {
            (void)ask_for_lot(c, walked, i);
        }
    }
    return n_unknown > 0;
}

fl_status fl_chances_reach(fl_chances *c, const fl_lot *lot, fl_err *err)
{
    size_t index = fl_chances_lot_index(c, lot);
    fl_status status = FL_OK;
    if (c->recall == NULL || index == FL_NO_INDEX) {
        return FL_OK;
    }
    for (int k = 0; k < 2 && status == FL_OK; k++) {
        if (ask_for_lot(c, &c->walked[k], index)) {
            status = replay(c, (fl_carriage)k, err);
        }
    }
    return status;
}

/* ---- what is left behind ---- */

/* Room for a carrier's roots while they are collected. */
typedef struct collector {
    fl_chances *chances;
    fl_carriage carriage;
    size_t *place; /* [n_roots]: of the root in the carrier's list, from 1; 0: not in it */
    size_t *roots;
    double *quiet; /* [n_roots x n_pests] */
    size_t n;
} collector;

static fl_status collect_pest(collector *k, size_t pest_index, size_t carrier, fl_err *err)
{
    fl_chances *c = k->chances;
    const fl_pest *pest = &c->pests[pest_index];
    const fl_spread *s = &pest->slow;
    for (size_t i = s->carriers[carrier].first; i != FL_NO_INDEX; i = s->copies[i].next) {
        const fl_copy *copy = &s->copies[i];
        double likelihood = 0.0;
        if (copy->is_steady || copy->is_thinned || FL_IS_FIND_ROOT(copy->root)) {
            continue;
        }
        fl_status status = fl_chances_quiet(c, s, copy, &likelihood, err);
        if (status != FL_OK) {
            return status;
        }
        if (k->place[copy->root] == 0) {
            for (size_t p = 0; p < c->n_pests; p++) {
                k->quiet[k->n * c->n_pests + p] = -1.0;
            }
            k->roots[k->n++] = copy->root;
            k->place[copy->root] = k->n;
        }
        double *quiet = &k->quiet[(k->place[copy->root] - 1) * c->n_pests + pest_index];
        *quiet = likelihood > *quiet ? likelihood : *quiet;
    }
    return FL_OK;
}

static void keep_blames(const fl_chances *c, fl_carriage carriage, size_t carrier, fl_recalled *out)
{
    for (int pass = 0; pass < 2; pass++) {
        size_t n = 0;
        for (size_t i = 0; i < c->n_blames; i++) {
            const fl_chance_blame *one = &c->blames[i];
            if (one->carrier != carrier || c->pests[one->blame.pest].carriage != carriage) {
                continue;
            }
            if (pass == 1) {
                out->blames[n] = one->blame;
            }
            n++;
        }
        if (pass == 0) {
            out->n_blames = n;
            out->blames = n > 0 ? fl_alloc(n, sizeof out->blames[0]) : NULL;
        }
    }
}

static fl_status keep_carrier(collector *k, size_t carrier, fl_digest digest, fl_err *err)
{
    fl_chances *c = k->chances;
    fl_walked *walked = &c->walked[k->carriage];
    fl_status status = FL_OK;
    k->n = 0;
    for (size_t p = 0; p < c->n_pests && status == FL_OK; p++) {
        if (c->pests[p].carriage == k->carriage) {
            status = collect_pest(k, p, carrier, err);
        }
    }
    for (size_t i = 0; i < k->n; i++) {
        k->place[k->roots[i]] = 0;
    }
    if (status != FL_OK) {
        return status;
    }
    fl_recalled made = {.digest = digest, .n_roots = k->n};
    if (k->n > 0) {
        made.roots = fl_alloc(k->n, sizeof made.roots[0]);
        made.quiet = fl_alloc(k->n * c->n_pests, sizeof made.quiet[0]);
        memcpy(made.quiet, k->quiet, k->n * c->n_pests * sizeof made.quiet[0]);
    }
    for (size_t i = 0; i < k->n; i++) {
        const fl_root *root = &walked->network.roots[k->roots[i]];
        made.roots[i] = (fl_recalled_root){.kind = root->kind, .key = root->key};
    }
    keep_blames(c, k->carriage, carrier, &made);
    walked->of_carrier[carrier] = fl_recall_keep(c->recall, &made);
    return FL_OK;
}

static fl_status keep_unknown(fl_chances *c, fl_carriage carriage, const fl_digest *digests,
                              fl_err *err)
{
    fl_walked *walked = &c->walked[carriage];
    fl_arena arena;
    fl_arena_init(&arena);
    size_t n = walked->network.n_roots;
    collector k = {.chances = c,
                   .carriage = carriage,
                   .place = FL_ARENA_ARRAY(&arena, size_t, n),
                   .roots = FL_ARENA_ARRAY(&arena, size_t, n),
                   .quiet = FL_ARENA_ARRAY(&arena, double, n * c->n_pests)};
    fl_status status = FL_OK;
    for (size_t i = 0; i < walked->network.n_carriers && status == FL_OK; i++) {
        if (walked->of_carrier[i] == NULL) {
            status = keep_carrier(&k, i, digests[i], err);
        }
    }
    fl_arena_done(&arena);
    return status;
}

static fl_status walk_again(fl_chances *c, fl_carriage carriage, digester *d, fl_err *err)
{
    fl_walked *walked = &c->walked[carriage];
    walked->finds = FL_ARENA_ARRAY(&c->arena, unsigned, walked->network.cap_carriers);
    walked->has_find = FL_ARENA_ARRAY(&c->arena, bool, walked->network.cap_carriers);
    fl_status status = walk_network(c, carriage, on_told, err);
    if (status != FL_OK) {
        return status;
    }
    fl_arena arena;
    fl_arena_init(&arena);
    size_t n = walked->network.n_carriers;
    const fl_digest *digests = digests_of(c, walked, d, &arena);
    walked->is_asked = FL_ARENA_ARRAY(&c->arena, bool, n);
    walked->until = FL_ARENA_ARRAY(&c->arena, size_t, n);
    walked->of_carrier = FL_ARENA_ARRAY(&c->arena, const fl_recalled *, n);
    index_roots(c, walked);
    index_stands(c, walked);
    for (size_t i = 0; i < n; i++) {
        walked->of_carrier[i] = fl_recall_find(c->recall, digests[i]);
    }
    if (ask_for_unknown(c, walked)) {
        c->n_blames = 0;
        status = replay(c, carriage, err);
        if (status == FL_OK) {
            status = keep_unknown(c, carriage, digests, err);
        }
    }
    fl_arena_done(&arena);
    return status;
}

fl_status fl_chances_walk(fl_chances *c, fl_err *err)
{
    fl_status status = FL_OK;
    if (c->recall == NULL) {
        status = walk_network(c, FL_CARRIAGE_POOL, on_happening, err);
        return status == FL_OK ? walk_network(c, FL_CARRIAGE_LOT, on_happening, err) : status;
    }
    size_t n_places = c->room->defs.places.count;
    digester d = {.chances = c,
                  .digests = FL_ARENA_ARRAY(&c->arena, fl_digest, n_places),
                  .is_known = FL_ARENA_ARRAY(&c->arena, bool, n_places)};
    for (int k = 0; k < 2 && status == FL_OK; k++) {
        status = walk_again(c, (fl_carriage)k, &d, err);
    }
    return status;
}
