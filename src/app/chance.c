/* Builds the chances of a room: walks the history once for pools and once for lots, and lets every
 * pest's two spreads take each happening. */
#include <math.h>
#include <string.h>

#include "app/chance_work.h"
#include "base/alloc.h"

#define COPIES_FIRST 32
#define FINDS_FIRST 4

/* ---- what the spreads ask for ---- */

/* Which model a spread works with is known by its programme's first node; append is told here. */
typedef struct asker {
    fl_chances *chances;
    fl_pest *pest;
    const fl_stage_model *model;
    bool is_fast;
} asker;

static fl_status env_append(void *context, const fl_prog *parent, const fl_op *op,
                            const fl_prog **out, fl_err *err)
{
    asker *a = context;
    return fl_programmes_append(a->chances->programmes, a->model, parent, op, out, err);
}

static fl_status env_state(void *context, const fl_prog *prog, fl_filter *out, fl_err *err)
{
    asker *a = context;
    return fl_programmes_state(a->chances->programmes, prog, out, err);
}

static fl_status env_sums(void *context, const fl_prog *prog, fl_filter_sums *out, fl_err *err)
{
    asker *a = context;
    return fl_programmes_sums(a->chances->programmes, prog, out, err);
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

static void env_blamed(void *context, size_t root, double cause)
{
    asker *a = context;
    fl_chances_note_blame(a->chances, a->pest, a->is_fast, root, cause);
}

double fl_chances_know_prior(const fl_chances *c, const fl_threat *threat, fl_source_kind kind,
                             fl_form form)
{
    size_t index = (size_t)(threat - fl_know_threat(0));
    fl_known_prior *known =
        &c->known[(index * FL_SOURCE_COUNT + (size_t)kind) * FL_FORM_COUNT + (size_t)form];
    if (!known->is_known) {
        *known = (fl_known_prior){true, fl_know_prior_of(threat, kind, form).prob};
    }
    return known->prob;
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
            prior = fmax(prior, fl_chances_know_prior(chances, threat, kind, (fl_form)form));
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
    if (!a->chances->is_walking && a->pest->prior != NULL &&
        index < fl_pest_network(a->chances, a->pest)->n_roots) {
        return fl_chances_prior(a->chances, a->pest, index);
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

/* ---- the whole ---- */

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
    *a = (asker){.chances = c, .pest = pest, .model = model, .is_fast = spread == &pest->fast};
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
                    .n_lots = n_lots,
                    .recent = FL_ARENA_ARRAY(&c->arena, size_t, n_lots)};
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

/* Figures are looked up by words: those of the run before hold. */
static void recall_sheets(fl_chances *c)
{
    const fl_recall *recall = c->recall;
    for (size_t i = 0; i < c->n_pests && 2 * c->n_pests == recall->n_sheets; i++) {
        c->pests[i].slow.sheet = recall->sheets[2 * i];
        c->pests[i].fast.sheet = recall->sheets[2 * i + 1];
    }
}

static void keep_sheets(fl_chances *c)
{
    fl_recall *recall = c->recall;
    if (recall->sheets == NULL) {
        recall->n_sheets = 2 * c->n_pests;
        recall->sheets = fl_alloc(recall->n_sheets, sizeof recall->sheets[0]);
    }
    for (size_t i = 0; i < c->n_pests; i++) {
        recall->sheets[2 * i] = c->pests[i].slow.sheet;
        recall->sheets[2 * i + 1] = c->pests[i].fast.sheet;
    }
}

static fl_status build(fl_chances *c, fl_app *app, fl_err *err)
{
    if (c->recall != NULL) {
        fl_recall_begin(c->recall, app);
        c->programmes = &c->recall->programmes;
    } else {
        c->programmes = &c->own_programmes;
        fl_programmes_init(c->programmes, app, &c->arena);
    }
    prepare_network(c, FL_CARRIAGE_POOL);
    prepare_network(c, FL_CARRIAGE_LOT);
    prepare_pests(c);
    if (c->recall != NULL) {
        recall_sheets(c);
    }
    c->is_walking = true;
    fl_status status = fl_chances_walk(c, err);
    c->is_walking = false;
    return status;
}

fl_status fl_chances_again(const fl_room *room, fl_app *app, fl_recall *recall, fl_chances **out,
                           fl_err *err)
{
    fl_chances *c = fl_alloc(1, sizeof *c);
    *c = (fl_chances){.room = room, .now_h = room->now_s / FL_HOUR_S, .recall = recall};
    c->app = app;
    fl_arena_init(&c->arena);
    c->known = FL_ARENA_ARRAY(&c->arena, fl_known_prior,
                              fl_know_threat_count() * FL_SOURCE_COUNT * FL_FORM_COUNT);
    c->env = (fl_spread_env){.append = env_append,
                             .state = env_state,
                             .sums = env_sums,
                             .temps = env_temps,
                             .prior = env_prior,
                             .is_material = env_is_material,
                             .more_copies = env_more_copies,
                             .more_finds = env_more_finds,
                             .blamed = recall != NULL ? env_blamed : NULL};
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
    fl_programmes_remember(c->programmes);
    *out = c;
    return FL_OK;
}

fl_status fl_chances_new(const fl_room *room, fl_app *app, fl_chances **out, fl_err *err)
{
    return fl_chances_again(room, app, NULL, out, err);
}

static void free_copies(fl_chances *c)
{
    for (size_t i = 0; i < c->n_pests; i++) {
        fl_pest *pest = &c->pests[i];
        fl_alloc_free(pest->slow.copies);
        fl_alloc_free(pest->fast.copies);
        fl_alloc_free(pest->slow.finds);
        fl_alloc_free(pest->fast.finds);
        for (size_t k = 0; k < pest->n_retired; k++) {
            fl_alloc_free(pest->retired[k]);
        }
    }
}

void fl_chances_free(fl_chances *c)
{
    if (c == NULL) {
        return;
    }
    if (c->programmes != NULL) {
        fl_programmes_remember(c->programmes);
    }
    if (c->recall != NULL) {
        keep_sheets(c);
        fl_programmes_resume(c->programmes); /* it may outlive the app */
        fl_recall_end(c->recall);
    }
    free_copies(c);
    fl_alloc_free(c->blames);
    fl_alloc_free(c->walked[0].told);
    fl_alloc_free(c->walked[1].told);
    fl_arena_done(&c->arena);
    fl_alloc_free(c);
}

fl_chances_stats fl_chances_statistics(const fl_chances *c)
{
    fl_chances_stats stats = {.n_programmes = c->programmes->count,
                              .n_states = c->programmes->n_states,
                              .n_memo_hits = c->programmes->n_memo_hits};
    for (int k = 0; k < 2; k++) {
        stats.n_carriers += c->walked[k].network.n_carriers;
        stats.n_roots += c->walked[k].network.n_roots;
    }
    for (size_t i = 0; i < c->n_pests; i++) {
        stats.n_copies += c->pests[i].slow.n_copies + c->pests[i].fast.n_copies;
    }
    return stats;
}
