/* Builds the chances of a room: walks the history once for pools and once for lots, and lets every
 * pest's two spreads take each happening. */
#include <math.h>
#include <string.h>

#include "app/chance_work.h"
#include "base/alloc.h"

#define COPIES_FIRST 32
#define FINDS_FIRST 4
#define HAPPENINGS_BETWEEN 64 /* two words about how far it is */

/* ---- what the spreads ask for ---- */

/* Which model a spread works with is known by its programme's first node; append is told here. */
typedef struct asker {
    fl_chances *chances;
    fl_pest *pest;
    const fl_stage_model *model;
} asker;

static fl_status env_append(void *context, const fl_prog *parent, const fl_op *op,
                            const fl_prog **out, fl_err *err)
{
    asker *a = context;
    return fl_programmes_append(&a->chances->programmes, a->model, parent, op, out, err);
}

static fl_status env_state(void *context, const fl_prog *prog, fl_filter *out, fl_err *err)
{
    asker *a = context;
    return fl_programmes_state(&a->chances->programmes, prog, out, err);
}

static fl_status env_sums(void *context, const fl_prog *prog, fl_filter_sums *out, fl_err *err)
{
    asker *a = context;
    return fl_programmes_sums(&a->chances->programmes, prog, out, err);
}

static fl_status env_temps(void *context, fl_id place, int64_t from_h, int64_t to_h,
                           const double **temps_c, double *constant_c, fl_err *err)
{
    asker *a = context;
    fl_chances *c = a->chances;
    fl_steady_place *steady = &c->steady[place.b[sizeof place.b - 1] % FL_STEADY_PLACES];
    (void)err;
    if (!steady->is_known || !fl_id_eq(steady->place, place)) {
        *steady = (fl_steady_place){.place = place, .is_known = true};
        steady->is_constant = fl_temps_are_constant(c->room, place, &steady->temp_c);
    }
    *temps_c = NULL;
    *constant_c = steady->temp_c;
    if (!steady->is_constant) {
        const int64_t span[2] = {from_h, to_h};
        fl_temps_side side = a->model == &a->pest->threat->fast ? FL_TEMPS_WARM : FL_TEMPS_COLD;
        fl_temps_of_place_side(c->room, place, span, side, &c->arena, temps_c, constant_c);
    }
    return FL_OK;
}

static fl_copy *env_more_copies(void *context, fl_copy *copies, size_t n, size_t *cap)
{
    (void)context;
    *cap = n < COPIES_FIRST ? COPIES_FIRST : n + n / 2;
    return fl_alloc_resize(copies, *cap, sizeof copies[0]);
}

static fl_spread_find *env_more_finds(void *context, fl_spread_find *finds, size_t n, size_t *cap)
{
    (void)context;
    *cap = n < FINDS_FIRST ? FINDS_FIRST : n + n / 2;
    return fl_alloc_resize(finds, *cap, sizeof finds[0]);
}

static bool env_is_material(void *context, size_t lot)
{
    const asker *a = context;
    return fl_form_is_material(a->chances->room->meaning.lots[lot].form);
}

/* The tables' prior of a root: the likeliest of its lots' forms. */
static double table_prior(const fl_chances *chances, const fl_root *root, const fl_threat *threat)
{
    const fl_ev_source_set *source = fl_defs_source(&chances->room->defs, root->source);
    fl_source_kind kind = source != NULL ? source->kind : FL_SOURCE_CHAIN_STORE;
    double prior = 0.0;
    if (root->kind == FL_ROOT_ROOM || root->kind == FL_ROOT_FIND) {
        return 0.0;
    }
    for (int form = 0; form < FL_FORM_COUNT; form++) {
        if ((root->forms & (1U << form)) != 0) {
            prior = fmax(prior, fl_know_prior_of(threat, kind, (fl_form)form).prob);
        }
    }
    if (root->kind == FL_ROOT_ALREADY_HERE) {
        prior *= fl_know_already_here_factor(threat);
    }
    return prior;
}

/* A root's forms grow while its lots come in: what was looked up holds for the forms it had. */
static double env_prior(void *context, const fl_root *root, const fl_threat *threat)
{
    const asker *a = context;
    size_t index = (size_t)(root - fl_pest_network(a->chances, a->pest)->roots);
    if (a->pest->prior != NULL && index < fl_pest_network(a->chances, a->pest)->n_roots) {
        return a->pest->prior[index];
    }
    fl_table_prior *table = &a->pest->table[index];
    if (table->forms != root->forms) {
        *table = (fl_table_prior){root->forms, table_prior(a->chances, root, threat)};
    }
    return table->prior;
}

/* ---- small helpers ---- */

const fl_network *fl_pest_network(const fl_chances *chances, const fl_pest *pest)
{
    return &chances->walked[pest->carriage].network;
}

size_t fl_chances_lot_index(const fl_chances *chances, const fl_lot *lot)
{
    const fl_meaning *m = &chances->room->meaning;
    const fl_lot *own = fl_meaning_lot(m, lot->id);
    return own != NULL ? (size_t)(own - m->lots) : FL_NO_INDEX;
}

size_t fl_chances_carrier(const fl_chances *chances, const fl_pest *pest, const fl_lot *lot)
{
    size_t index = fl_chances_lot_index(chances, lot);
    return index == FL_NO_INDEX ? FL_NO_INDEX : fl_pest_network(chances, pest)->lot_carrier[index];
}

/* ---- the walk ---- */

typedef struct walker {
    fl_chances *chances;
    fl_walked *walked;
    fl_carriage carriage;
    const fl_progress *progress;
    int64_t first_h; /* when the record begins */
    int64_t n_told;  /* happenings so far */
} walker;

static void note_stand(walker *w, const fl_happening *h)
{
    fl_walked *walked = w->walked;
    if (walked->n_stands == walked->cap_stands) {
        size_t cap = walked->cap_stands == 0 ? 64 : 2 * walked->cap_stands;
        fl_stand *stands = FL_ARENA_ARRAY(&w->chances->arena, fl_stand, cap);
        if (walked->n_stands > 0) {
            memcpy(stands, walked->stands, walked->n_stands * sizeof stands[0]);
        }
        walked->stands = stands;
        walked->cap_stands = cap;
    }
    walked->stands[walked->n_stands++] =
        (fl_stand){.lot = h->lot, .carrier = h->carrier, .at_h = h->at_h};
}

/* The record is walked twice, each time from its beginning to now. */
static fl_status tell_progress(walker *w, int64_t at_h, fl_err *err)
{
    const int64_t span_d = (w->chances->now_h - w->first_h) / 24 + 1;
    int64_t done_d = (at_h - w->first_h) / 24;
    done_d = done_d < 0 ? 0 : done_d;
    done_d = done_d > span_d ? span_d : done_d;
    done_d += w->carriage == FL_CARRIAGE_LOT ? span_d : 0;
    return w->n_told++ % HAPPENINGS_BETWEEN == 0
               ? fl_progress_step(w->progress, FL_WORK_CHANCES, done_d, 2 * span_d, err)
               : FL_OK;
}

static fl_status on_happening(void *context, const fl_happening *h, fl_err *err)
{
    walker *w = context;
    fl_status status = tell_progress(w, h->at_h, err);
    if (h->kind == FL_HAP_STAND) {
        note_stand(w, h);
    }
    for (size_t i = 0; i < w->chances->n_pests && status == FL_OK; i++) {
        fl_pest *pest = &w->chances->pests[i];
        if (pest->carriage != w->carriage) {
            continue;
        }
        status = fl_spread_take(&pest->slow, h, err);
        if (status == FL_OK) {
            status = fl_spread_take(&pest->fast, h, err);
        }
    }
    return status;
}

static void prepare_network(fl_chances *c, fl_carriage carriage)
{
    const fl_meaning *m = &c->room->meaning;
    size_t cap = m->n_lots + m->n_fills + m->n_stays + 1;
    fl_network *network = &c->walked[carriage].network;
    *network = (fl_network){.carriers = FL_ARENA_ARRAY(&c->arena, fl_carrier, cap),
                            .cap_carriers = cap,
                            .roots = FL_ARENA_ARRAY(&c->arena, fl_root, cap),
                            .cap_roots = cap,
                            .lot_carrier = FL_ARENA_ARRAY(&c->arena, size_t, m->n_lots)};
}

static void prepare_spread(fl_chances *c, fl_pest *pest, fl_spread *spread,
                           const fl_stage_model *model)
{
    const fl_network *network = fl_pest_network(c, pest);
    fl_spread_env *env = FL_ARENA_NEW(&c->arena, fl_spread_env);
    asker *a = FL_ARENA_NEW(&c->arena, asker);
    *a = (asker){.chances = c, .pest = pest, .model = model};
    *env = c->env;
    env->context = a;
    size_t n_lots = c->room->meaning.n_lots;
    *spread =
        (fl_spread){.threat = pest->threat,
                    .model = model,
                    .network = network,
                    .env = env,
                    .root_found = FL_ARENA_ARRAY(&c->arena, double, network->cap_roots),
                    .carriers = FL_ARENA_ARRAY(&c->arena, fl_spread_carrier, network->cap_carriers),
                    .lots = FL_ARENA_ARRAY(&c->arena, fl_spread_lot, n_lots),
                    .n_lots = n_lots};
    fl_spread_begin(spread);
}

static void prepare_pests(fl_chances *c)
{
    c->n_pests = 0;
    c->pests = FL_ARENA_ARRAY(&c->arena, fl_pest, fl_know_threat_count());
    for (size_t i = 0; i < fl_know_threat_count(); i++) {
        const fl_threat *threat = fl_know_threat(i);
        if (threat->class != FL_CLASS_PEST || threat->n_stages == 0) {
            continue;
        }
        fl_pest *pest = &c->pests[c->n_pests++];
        *pest = (fl_pest){.threat = threat};
        pest->carriage = threat->is_mobile ? FL_CARRIAGE_POOL : FL_CARRIAGE_LOT;
        pest->table =
            FL_ARENA_ARRAY(&c->arena, fl_table_prior, fl_pest_network(c, pest)->cap_roots);
        prepare_spread(c, pest, &pest->slow, &threat->slow);
        prepare_spread(c, pest, &pest->fast, &threat->fast);
    }
}

static fl_status walk(fl_chances *c, const fl_app *app, fl_carriage carriage, fl_err *err)
{
    walker w = {.chances = c,
                .walked = &c->walked[carriage],
                .carriage = carriage,
                .progress = app != NULL ? app->progress : NULL};
    w.first_h = c->room->n_events > 0 ? c->room->events[0].at_s / FL_HOUR_S : c->now_h;
    fl_network_input input = {.events = c->room->events,
                              .n_events = c->room->n_events,
                              .meaning = &c->room->meaning,
                              .defs = &c->room->defs,
                              .carriage = carriage,
                              .now_s = c->room->now_s};
    size_t bytes = fl_network_scratch_bytes(input.meaning, input.defs);
    input.scratch = fl_arena_alloc(&c->arena, bytes, 1);
    return fl_network_walk(&input, on_happening, &w, &w.walked->network, err);
}

static fl_status build(fl_chances *c, fl_app *app, fl_err *err)
{
    fl_programmes_init(&c->programmes, app, &c->arena);
    prepare_network(c, FL_CARRIAGE_POOL);
    prepare_network(c, FL_CARRIAGE_LOT);
    prepare_pests(c);
    fl_status status = walk(c, app, FL_CARRIAGE_POOL, err);
    if (status == FL_OK) {
        status = walk(c, app, FL_CARRIAGE_LOT, err);
    }
    return status;
}

fl_status fl_chances_new(const fl_room *room, fl_app *app, fl_chances **out, fl_err *err)
{
    fl_chances *c = fl_alloc(1, sizeof *c);
    *c = (fl_chances){.room = room, .now_h = room->now_s / FL_HOUR_S};
    fl_arena_init(&c->arena);
    c->env = (fl_spread_env){.append = env_append,
                             .state = env_state,
                             .sums = env_sums,
                             .temps = env_temps,
                             .prior = env_prior,
                             .is_material = env_is_material,
                             .more_copies = env_more_copies,
                             .more_finds = env_more_finds};
    fl_status status = build(c, app, err);
    if (status == FL_OK) {
        status = fl_chances_learn(c, err);
    }
    if (status != FL_OK) {
        fl_chances_free(c);
        return status;
    }
    for (int k = 0; k < 2; k++) {
        size_t n = c->walked[k].network.n_carriers * c->n_pests;
        c->cached[k] = FL_ARENA_ARRAY(&c->arena, fl_cached, n);
    }
    for (size_t i = 0; i < room->meaning.n_lots; i++) {
        c->n_lots += room->meaning.lots[i].is_gone ? 0 : 1;
    }
    fl_programmes_remember(&c->programmes);
    *out = c;
    return FL_OK;
}

void fl_chances_free(fl_chances *c)
{
    if (c == NULL) {
        return;
    }
    fl_programmes_remember(&c->programmes);
    for (size_t i = 0; i < c->n_pests; i++) {
        fl_alloc_free(c->pests[i].slow.copies);
        fl_alloc_free(c->pests[i].fast.copies);
        fl_alloc_free(c->pests[i].slow.finds);
        fl_alloc_free(c->pests[i].fast.finds);
    }
    fl_arena_done(&c->arena);
    fl_alloc_free(c);
}

fl_chances_stats fl_chances_statistics(const fl_chances *c)
{
    fl_chances_stats stats = {.n_programmes = c->programmes.count,
                              .n_states = c->programmes.n_states,
                              .n_memo_hits = c->programmes.n_memo_hits};
    for (int k = 0; k < 2; k++) {
        stats.n_carriers += c->walked[k].network.n_carriers;
        stats.n_roots += c->walked[k].network.n_roots;
    }
    for (size_t i = 0; i < c->n_pests; i++) {
        stats.n_copies += c->pests[i].slow.n_copies + c->pests[i].fast.n_copies;
    }
    return stats;
}
