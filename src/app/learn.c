/* Learning from the keeper's own purchases: for each pest and source, how often it came in. Sources
 * of one kind lean on each other (core/learn/kind.h); each purchase is left out of its own prior.
 * Only purchases teach (design 4.14): what was already here, the room and material do not. */
#include "core/learn/learn.h"

#include <math.h>
#include <string.h>

#include "app/chance_work.h"
#include "core/learn/kind.h"

/* The tables' judgement of a kind counts like this many purchases (reference 4.3); old purchases
 * fade. */
#define JUDGEMENT_SIZE 10.0
#define HALF_LIFE_D 365.0

/* ---- who teaches, the same for every pest of one carriage ---- */

/* A purchase: all roots of one source and one arrival. A sedentary threat has a root for each lot;
 * purchases are counted all the same. */
typedef struct purchase {
    size_t lot;    /* one of it */
    size_t source; /* in the order in which the sources came up */
} purchase;

/* What a recalled carrier tells of a root whose lots were on it last. */
typedef struct heard {
    size_t root;
    const double *quiet; /* by pest */
} heard;

typedef struct blamed {
    size_t root;
    size_t pest;
    double cause;
} blamed;

typedef struct school {
    const fl_network *network;
    size_t *of_root; /* [n_roots]: its purchase; FL_NO_INDEX: it neither teaches nor learns */
    purchase *purchases;
    size_t n_purchases, n_sources;
    fl_source_kind *kinds; /* [n_sources] */
    size_t *last_on;       /* [n_carriers]: a lot that was on it last; FL_NO_INDEX */
    size_t *next;          /* [n_lots]: another such lot */
    heard *heard;          /* with a recall */
    size_t n_heard;
    blamed *blames;
    size_t n_blames;
} school;

/* Plants bought from a source that is known: these teach and learn. */
static bool is_plant_purchase(const fl_chances *c, const fl_root *root)
{
    return root->kind == FL_ROOT_PURCHASE && !fl_id_is_none(root->source) &&
           !fl_form_is_material(c->room->meaning.lots[root->lot].form);
}

static bool is_of(const fl_lot *lot, const fl_lot *bought)
{
    return fl_id_eq(lot->source, bought->source) && fl_id_eq(lot->arrival, bought->arrival);
}

static size_t purchase_of(school *s, const fl_lot *lots, size_t lot)
{
    size_t source = s->n_sources;
    for (size_t k = s->n_purchases; k-- > 0;) { /* the lots of one come one after the other */
        const fl_lot *bought = &lots[s->purchases[k].lot];
        if (is_of(&lots[lot], bought)) {
            return k;
        }
        source = fl_id_eq(lots[lot].source, bought->source) ? s->purchases[k].source : source;
    }
    s->n_sources += source == s->n_sources ? 1 : 0;
    s->purchases[s->n_purchases] = (purchase){.lot = lot, .source = source};
    return s->n_purchases++;
}

/* Which lots were last on which carrier. */
static void note_last(const fl_chances *c, const fl_walked *walked, fl_arena *arena, school *s)
{
    size_t n_lots = c->room->meaning.n_lots;
    size_t *carrier = FL_ARENA_ARRAY(arena, size_t, n_lots);
    s->last_on = FL_ARENA_ARRAY(arena, size_t, s->network->n_carriers);
    s->next = FL_ARENA_ARRAY(arena, size_t, n_lots);
    for (size_t i = 0; i < s->network->n_carriers; i++) {
        s->last_on[i] = FL_NO_INDEX;
    }
    for (size_t i = 0; i < n_lots; i++) {
        carrier[i] = FL_NO_INDEX;
    }
    for (size_t i = 0; i < walked->n_stands; i++) {
        const fl_stand *stand = &walked->stands[i];
        carrier[stand->lot] = stand->carrier != FL_NO_INDEX ? stand->carrier : carrier[stand->lot];
    }
    for (size_t i = 0; i < n_lots; i++) {
        if (carrier[i] != FL_NO_INDEX) {
            s->next[i] = s->last_on[carrier[i]];
            s->last_on[carrier[i]] = i;
        }
    }
}

static fl_source_kind kind_of(const fl_chances *c, fl_id source)
{
    const fl_ev_source_set *set = fl_defs_source(&c->room->defs, source);
    return set != NULL ? set->kind : FL_SOURCE_CHAIN_STORE;
}

static school open_school(fl_chances *c, fl_carriage carriage, fl_arena *arena)
{
    const fl_walked *walked = &c->walked[carriage];
    size_t n_roots = walked->network.n_roots;
    school s = {.network = &walked->network,
                .of_root = FL_ARENA_ARRAY(&c->arena, size_t, n_roots), /* pests go on reading it */
                .purchases = FL_ARENA_ARRAY(arena, purchase, n_roots),
                .kinds = FL_ARENA_ARRAY(arena, fl_source_kind, n_roots)};
    for (size_t i = 0; i < n_roots; i++) {
        const fl_root *root = &walked->network.roots[i];
        s.of_root[i] = is_plant_purchase(c, root)
                           ? purchase_of(&s, c->room->meaning.lots, root->lot)
                           : FL_NO_INDEX;
    }
    for (size_t i = 0; i < s.n_purchases; i++) {
        const purchase *own = &s.purchases[i];
        s.kinds[own->source] = kind_of(c, c->room->meaning.lots[own->lot].source);
    }
    note_last(c, walked, arena, &s);
    return s;
}

/* True when a lot of the purchase was on the carrier last. */
static bool is_where_they_are(const fl_chances *c, const school *s, size_t index, size_t carrier)
{
    const fl_lot *lots = c->room->meaning.lots;
    size_t i = s->last_on[carrier];
    while (i != FL_NO_INDEX && !is_of(&lots[i], &lots[s->purchases[index].lot])) {
        i = s->next[i];
    }
    return i != FL_NO_INDEX;
}

/* What is recalled of all carriers, the same for all pests: which of it counts. */
static void recall_all(const fl_chances *c, fl_carriage carriage, fl_arena *arena, school *s)
{
    const fl_walked *walked = &c->walked[carriage];
    size_t n_heard = 0;
    size_t n_blames = 0;
    for (size_t i = 0; i < walked->network.n_carriers; i++) {
        n_heard += walked->of_carrier[i]->n_roots;
        n_blames += walked->of_carrier[i]->n_blames;
    }
    s->heard = FL_ARENA_ARRAY(arena, heard, n_heard);
    s->blames = FL_ARENA_ARRAY(arena, blamed, n_blames);
    for (size_t i = 0; i < walked->network.n_carriers; i++) {
        const fl_recalled *known = walked->of_carrier[i];
        for (size_t k = 0; k < known->n_roots; k++) {
            size_t root = fl_chances_root(c, carriage, &known->roots[k]);
            size_t index = root != FL_NO_INDEX ? s->of_root[root] : FL_NO_INDEX;
            if (index != FL_NO_INDEX && is_where_they_are(c, s, index, i)) {
                s->heard[s->n_heard++] = (heard){root, &known->quiet[k * c->n_pests]};
            }
        }
        for (size_t k = 0; k < known->n_blames; k++) {
            const fl_recalled_blame *blame = &known->blames[k];
            bool counts = !blame->is_fast && blame->root.kind != FL_ROOT_FIND;
            size_t root = counts ? fl_chances_root(c, carriage, &blame->root) : FL_NO_INDEX;
            if (root != FL_NO_INDEX) {
                s->blames[s->n_blames++] = (blamed){root, blame->pest, blame->cause};
            }
        }
    }
}

/* ---- what one pest's purchases say ---- */

/* The lots of one purchase are one teacher: the likeliest cause, the least seen. */
typedef struct fl_teacher teacher;

fl_status fl_chances_quiet(fl_chances *c, const fl_spread *s, const fl_copy *copy, double *out,
                           fl_err *err)
{
    /* One founder is the slowest to be noticed: quiet teaches no more than that. */
    const fl_founders one = {.family = FL_FOUNDERS_ONE};
    fl_filter_sums sums;
    fl_status status = fl_programmes_sums(c->programmes, copy->prog, &sums, err);
    return status == FL_OK
               ? fl_sums_likelihood(&sums, 1.0, s->mixture.weight_middle, &one, out, err)
               : status;
}

static fl_status hear_copies(fl_chances *c, const fl_pest *pest, const school *all, double *quiet,
                             fl_err *err)
{
    const fl_spread *s = &pest->slow;
    for (size_t i = 0; i < s->n_copies; i++) {
        const fl_copy *copy = &s->copies[i];
        bool is_own = !copy->is_steady && !copy->is_thinned && !FL_IS_FIND_ROOT(copy->root);
        size_t index = is_own ? all->of_root[copy->root] : FL_NO_INDEX;
        double likelihood = 1.0;
        if (index == FL_NO_INDEX || !is_where_they_are(c, all, index, copy->carrier)) {
            continue;
        }
        fl_status status = fl_chances_quiet(c, s, copy, &likelihood, err);
        if (status != FL_OK) {
            return status;
        }
        quiet[copy->root] = fmax(quiet[copy->root], likelihood);
    }
    return FL_OK;
}

/* The same, and what finds blamed, as the recall has it. */
static void hear_recalled(const school *all, size_t pest, double *quiet, double *found)
{
    for (size_t i = 0; i < all->n_heard; i++) {
        const heard *one = &all->heard[i];
        quiet[one->root] = fmax(quiet[one->root], one->quiet[pest]);
    }
    for (size_t i = 0; i < all->n_blames; i++) {
        const blamed *one = &all->blames[i];
        if (one->pest == pest) {
            found[one->root] = fmin(1.0, fmax(found[one->root], one->cause));
        }
    }
}

/* P(no find so far | the root is real), for each root: the most that is left unseen on any carrier
 * that its lots were on last; 1 without a copy there. A copy that a find replaced had been looked
 * at until then; its find is in prob_cause. And P(it was the cause of a find). */
static fl_status hear(fl_chances *c, const fl_pest *pest, const school *all, double *quiet,
                      double *found, fl_err *err)
{
    size_t n = all->network->n_roots;
    fl_status status = FL_OK;
    for (size_t i = 0; i < n; i++) {
        quiet[i] = -1.0;
    }
    if (c->recall != NULL) {
        hear_recalled(all, (size_t)(pest - c->pests), quiet, found);
    } else {
        memcpy(found, pest->slow.root_found, n * sizeof found[0]);
        status = hear_copies(c, pest, all, quiet, err);
    }
    for (size_t i = 0; i < n; i++) {
        quiet[i] = quiet[i] < 0.0 ? 1.0 : fmin(quiet[i], 1.0);
    }
    return status;
}

static fl_status gather(fl_chances *c, fl_pest *pest, const school *s, fl_arena *arena,
                        teacher *teachers, fl_err *err)
{
    double *quiet = FL_ARENA_ARRAY(arena, double, s->network->n_roots);
    double *found = FL_ARENA_ARRAY(arena, double, s->network->n_roots);
    fl_status status = hear(c, pest, s, quiet, found, err);
    for (size_t i = s->network->n_roots; i > 0 && status == FL_OK; i--) { /* its first root last */
        const fl_root *root = &s->network->roots[i - 1];
        if (s->of_root[i - 1] == FL_NO_INDEX) {
            continue;
        }
        teacher *t = &teachers[s->of_root[i - 1]];
        t->root = i - 1;
        t->source = s->purchases[s->of_root[i - 1]].source;
        t->kind = s->kinds[t->source];
        t->table = fmax(t->table, pest->prior[i - 1]);
        t->purchase.prob_cause = fmax(t->purchase.prob_cause, found[i - 1]);
        t->purchase.prob_missed = fmax(t->purchase.prob_missed, quiet[i - 1]);
        t->purchase.age_days = fmax(0.0, (double)(c->now_h - root->at_h) / 24.0);
    }
    return status;
}

/* ---- what they teach ---- */

/* The lessons of one pest's purchases of one kind, source by source. */
struct fl_class {
    fl_learn_kind kind;
    double unit;    /* the tables' prior of what the sources' risks are of */
    size_t *source; /* [kind.n_sources], as the teachers have it */
    int *place;     /* [n_teachers]: where its lesson is; -1: none */
    const fl_learn_grid *grid;
    double *work;   /* the sums */
    double *mean;   /* [lessons] */
    bool *is_mixed; /* [kind.n_sources]: its means are known */
};
typedef struct fl_class class;

/* Risks of sources are those of a potted plant, of the form that carries most where potted plants
 * never do; other forms have shares of it. */
static double unit_of(const fl_chances *c, const fl_threat *threat, fl_source_kind kind)
{
    double most = 0.0;
    double potted = fl_chances_know_prior(c, threat, kind, FL_FORM_POTTED);
    for (int form = 0; form < FL_FORM_COUNT; form++) {
        if (!fl_form_is_material((fl_form)form)) {
            most = fmax(most, fl_chances_know_prior(c, threat, kind, (fl_form)form));
        }
    }
    return potted > 0.0 ? potted : most;
}

/* Mean as by the tables; counts like JUDGEMENT_SIZE purchases, more where hardly any are clean. */
static fl_learn_beta judgement(double mean)
{
    double b = fmax(1.0, (1.0 - mean) * JUDGEMENT_SIZE);
    return (fl_learn_beta){.a = b * mean / (1.0 - mean), .b = b};
}

/* A certainty of the tables, or a form that they say never carries it, neither teaches nor learns.
 * Beyond the cap (never in a plant room) the newest purchases teach: roots are in order of time. */
static bool teaches(const teacher *t, fl_source_kind kind, double unit)
{
    return t->kind == kind && t->table > 0.0 && unit < 1.0;
}

static size_t first_heard(const fl_pest *pest, fl_source_kind kind, double unit)
{
    size_t first = pest->n_teachers;
    int n = 0;
    while (first > 0 && n < FL_LEARN_PURCHASES_MAX) {
        first--;
        n += teaches(&pest->teachers[first], kind, unit) ? 1 : 0;
    }
    return first;
}

static void list_sources(const fl_pest *pest, fl_source_kind kind, size_t first, class *c)
{
    for (size_t i = first; i < pest->n_teachers; i++) {
        const teacher *t = &pest->teachers[i];
        bool is_known = !teaches(t, kind, c->unit);
        for (int k = 0; k < c->kind.n_sources && !is_known; k++) {
            is_known = c->source[k] == t->source;
        }
        if (!is_known && c->kind.n_sources < FL_LEARN_SOURCES_MAX) {
            c->source[c->kind.n_sources++] = t->source;
        }
    }
}

static class open_class(const fl_chances *chances, const fl_pest *pest, fl_source_kind kind,
                        fl_arena *arena)
{
    size_t n = pest->n_teachers;
    fl_learn_lesson *lessons = FL_ARENA_ARRAY(arena, fl_learn_lesson, n + 1);
    class c = {.unit = unit_of(chances, pest->threat, kind),
               .source = FL_ARENA_ARRAY(arena, size_t, n + 1),
               .place = FL_ARENA_ARRAY(arena, int, n + 1)};
    size_t first = first_heard(pest, kind, c.unit);
    list_sources(pest, kind, first, &c);
    int *first_of = FL_ARENA_ARRAY(arena, int, (size_t)c.kind.n_sources + 1);
    int count = 0;
    for (size_t i = 0; i < n; i++) {
        c.place[i] = -1;
    }
    for (int source = 0; source < c.kind.n_sources; source++) {
        for (size_t i = first; i < n; i++) {
            const teacher *t = &pest->teachers[i];
            if (teaches(t, kind, c.unit) && t->source == c.source[source]) {
                lessons[count] = (fl_learn_lesson){t->purchase, t->table / c.unit};
                c.place[i] = count++;
            }
        }
        first_of[source + 1] = count;
    }
    c.kind.mean = judgement(fmin(c.unit, 0.999999));
    c.kind.lesson = lessons;
    c.kind.first_of = first_of;
    c.kind.half_life_days = HALF_LIFE_D;
    return c;
}

static int n_lessons(const class *c)
{
    return c->kind.n_sources > 0 ? c->kind.first_of[c->kind.n_sources] : 0;
}

/* How many sources of a kind teach, and purchases of a source, at most. */
static void count_most(const fl_pest *pest, fl_arena *arena, int *sources, int *purchases)
{
    int *of_source = FL_ARENA_ARRAY(arena, int, pest->n_teachers + 1);
    int of_kind[FL_SOURCE_COUNT] = {0};
    *sources = *purchases = 0;
    for (size_t i = 0; i < pest->n_teachers; i++) {
        const teacher *t = &pest->teachers[i];
        int n = ++of_source[t->source];
        of_kind[t->kind] += n == 1 ? 1 : 0;
        *purchases = n > *purchases ? n : *purchases;
        *sources = of_kind[t->kind] > *sources ? of_kind[t->kind] : *sources;
    }
}

/* One grid serves all pests of the room; it is as fine as its purchases ask for. */
static const fl_learn_grid *grid_of(fl_chances *c, const fl_pest *pest, fl_arena *arena)
{
    if (c->learn_grid == NULL) {
        int sources = 0;
        int purchases = 0;
        count_most(pest, arena, &sources, &purchases);
        if (c->recall != NULL) {
            c->learn_grid = fl_recall_grid(c->recall, sources, purchases);
            return c->learn_grid;
        }
        fl_learn_grid *grid = FL_ARENA_NEW(&c->arena, fl_learn_grid);
        size_t size = fl_learn_grid_doubles(sources, purchases);
        fl_learn_grid_init(grid, sources, purchases, FL_ARENA_ARRAY(&c->arena, double, size));
        c->learn_grid = grid;
    }
    return c->learn_grid;
}

double fl_chances_prior(const fl_chances *c, const fl_pest *pest, size_t root)
{
    double *prior = &pest->prior[root];
    (void)c;
    if (isnan(*prior)) {
        size_t index = pest->of_root[root];
        class *own = pest->classes[pest->teachers[index].kind];
        int source = 0;
        while (own->kind.first_of[source + 1] <= own->place[index]) {
            source++;
        }
        if (!own->is_mixed[source]) {
            fl_learn_kind_without(own->grid, &own->kind, source, own->work, own->mean);
            own->is_mixed[source] = true;
        }
        *prior = fmin(1.0, pest->by_table[root] / own->unit * own->mean[own->place[index]]);
    }
    return *prior;
}

static bool has_teacher(const fl_pest *pest, fl_source_kind kind)
{
    for (size_t i = 0; i < pest->n_teachers; i++) {
        if (pest->teachers[i].kind == kind) {
            return true;
        }
    }
    return false;
}

/* The priors of all roots that were bought from one kind, each by the other purchases: found when
 * they are asked for where the sums are kept, else at once. */
static fl_status learn_kind(fl_chances *c, fl_pest *pest, fl_source_kind kind, fl_arena *arena,
                            fl_err *err)
{
    size_t n_roots = fl_pest_network(c, pest)->n_roots;
    if (!has_teacher(pest, kind)) {
        return FL_OK;
    }
    class *own = FL_ARENA_NEW(&c->arena, class);
    *own = open_class(c, pest, kind, &c->arena);
    if (n_lessons(own) < 2) {
        return FL_OK;
    }
    fl_status status = FL_OK;
    own->grid = grid_of(c, pest, arena);
    own->mean = FL_ARENA_ARRAY(&c->arena, double, (size_t)n_lessons(own));
    own->is_mixed = FL_ARENA_ARRAY(&c->arena, bool, (size_t)own->kind.n_sources);
    if (c->recall != NULL) {
        size_t at = (size_t)(pest - c->pests) * FL_SOURCE_COUNT + (size_t)kind;
        status = fl_recall_hear(c->recall, at, c->n_pests * FL_SOURCE_COUNT, &own->kind, &own->work,
                                err);
    }
    const bool is_kept = own->work != NULL;
    if (status == FL_OK && !is_kept) {
        own->work = FL_ARENA_ARRAY(arena, double, fl_learn_kind_doubles(own->grid, &own->kind));
        status = fl_learn_kind_hear(own->grid, &own->kind, NULL, own->work, err);
    }
    pest->classes[kind] = own;
    for (size_t i = 0; i < n_roots && status == FL_OK; i++) {
        int place = pest->of_root[i] != FL_NO_INDEX ? own->place[pest->of_root[i]] : -1;
        if (place >= 0 && pest->prior[i] > 0.0) {
            pest->prior[i] = (double)NAN;
            pest->is_learned[i] = true;
        }
    }
    for (size_t i = 0; i < n_roots && status == FL_OK && !is_kept; i++) {
        (void)fl_chances_prior(c, pest, i); /* the sums go with the arena */
    }
    return status;
}

static fl_status learn_pest(fl_chances *c, fl_pest *pest, const school *s, fl_arena *arena,
                            fl_err *err)
{
    const fl_network *network = s->network;
    double *prior = FL_ARENA_ARRAY(&c->arena, double, network->n_roots);
    double *by_table = FL_ARENA_ARRAY(&c->arena, double, network->n_roots);
    for (size_t i = 0; i < network->n_roots; i++) {
        prior[i] = by_table[i] =
            pest->slow.env->prior(pest->slow.env->context, &network->roots[i], pest->threat);
    }
    pest->is_learned = FL_ARENA_ARRAY(&c->arena, bool, network->n_roots);
    pest->teachers = FL_ARENA_ARRAY(&c->arena, teacher, s->n_purchases);
    pest->n_teachers = s->n_purchases;
    pest->prior = prior; /* from here on the spreads read these */
    pest->by_table = by_table;
    pest->of_root = s->of_root;
    pest->classes = FL_ARENA_ARRAY(&c->arena, fl_class *, FL_SOURCE_COUNT);
    fl_status status = gather(c, pest, s, arena, pest->teachers, err);
    for (int kind = 0; kind < FL_SOURCE_COUNT && status == FL_OK; kind++) {
        status = learn_kind(c, pest, (fl_source_kind)kind, arena, err);
    }
    return status;
}

fl_status fl_chances_learn(fl_chances *c, fl_err *err)
{
    fl_status status = FL_OK;
    for (int carriage = 0; carriage < 2 && status == FL_OK; carriage++) {
        fl_arena of_carriage;
        fl_arena_init(&of_carriage);
        school s = open_school(c, (fl_carriage)carriage, &of_carriage);
        if (c->recall != NULL) {
            recall_all(c, (fl_carriage)carriage, &of_carriage, &s);
        }
        for (size_t i = 0; i < c->n_pests && status == FL_OK; i++) {
            fl_arena of_pest;
            fl_arena_init(&of_pest);
            if (c->pests[i].carriage == (fl_carriage)carriage) {
                status = learn_pest(c, &c->pests[i], &s, &of_pest, err);
            }
            fl_arena_done(&of_pest);
        }
        fl_arena_done(&of_carriage);
    }
    return status;
}

/* ---- what a source has taught ---- */

/* What its own purchases were, and what they count for. */
static fl_status count_own(const fl_chances *c, const fl_pest *pest, fl_id source,
                           fl_source_risk *risk, fl_err *err)
{
    const fl_network *network = fl_pest_network(c, pest);
    fl_status status = FL_OK;
    for (size_t i = 0; i < pest->n_teachers && status == FL_OK; i++) {
        const teacher *t = &pest->teachers[i];
        fl_learn_count count = {0};
        bool is_own = fl_id_eq(network->roots[t->root].source, source);
        risk->n_elsewhere += is_own ? 0 : 1;
        risk->n_of_kind += !is_own && t->kind == risk->kind ? 1 : 0;
        if (is_own) {
            risk->n_purchases++;
            risk->n_found += t->purchase.prob_cause >= 0.5 ? 1 : 0;
            status = fl_learn_count_of(&t->purchase, 1, HALF_LIFE_D, &count, err);
            risk->judged += count.judged;
        }
    }
    return status;
}

/* The source's place among those that teach; n_sources: it does not. */
static int place_of(const fl_chances *c, const fl_pest *pest, const class *own, fl_id source)
{
    const fl_network *network = fl_pest_network(c, pest);
    for (size_t i = 0; i < pest->n_teachers; i++) {
        const teacher *t = &pest->teachers[i];
        for (int k = 0; k < own->kind.n_sources; k++) {
            if (own->source[k] == t->source && fl_id_eq(network->roots[t->root].source, source)) {
                return k;
            }
        }
    }
    return own->kind.n_sources;
}

static fl_status learn_next(fl_chances *c, const fl_pest *pest, fl_id source, fl_source_risk *risk,
                            fl_err *err)
{
    fl_arena arena;
    fl_arena_init(&arena);
    class own = open_class(c, pest, risk->kind, &arena);
    const fl_learn_grid *grid = grid_of(c, pest, &arena);
    double *work = FL_ARENA_ARRAY(&arena, double, fl_learn_kind_doubles(grid, &own.kind));
    double share = risk->table.prob / own.unit;
    fl_learn_risk learned = {0};
    fl_learn_risk others = {0};
    int place = place_of(c, pest, &own, source);
    fl_status status = fl_learn_kind_risk(grid, &own.kind, place, work, &learned, err);
    if (status == FL_OK) {
        status = fl_learn_kind_risk(grid, &own.kind, own.kind.n_sources, work, &others, err);
    }
    fl_arena_done(&arena);
    if (status == FL_OK) {
        risk->mean = fmin(1.0, share * learned.mean);
        risk->low = fmin(1.0, share * learned.low);
        risk->high = fmin(1.0, share * learned.high);
        risk->kind_mean = fmin(1.0, share * others.mean);
    }
    return status;
}

fl_status fl_chances_source_risk(fl_chances *c, fl_id source, fl_form form, const fl_threat *threat,
                                 fl_source_risk *out, fl_err *err)
{
    const fl_ev_source_set *set = fl_defs_source(&c->room->defs, source);
    fl_source_risk risk = {.threat = threat};
    const fl_pest *pest = NULL;
    for (size_t i = 0; i < c->n_pests; i++) {
        pest = c->pests[i].threat == threat ? &c->pests[i] : pest;
    }
    if (pest == NULL || set == NULL) {
        return fl_fail(err, FL_ENOTFOUND, "%s: no source or no pest to learn of", threat->code);
    }
    risk.kind = set->kind;
    risk.table = fl_know_prior_of(threat, set->kind, form);
    risk.mean = risk.kind_mean = risk.table.prob;
    fl_status status = count_own(c, pest, source, &risk, err);
    if (status == FL_OK && risk.mean > 0.0 && unit_of(c, threat, set->kind) < 1.0) {
        status = learn_next(c, pest, source, &risk, err);
    }
    if (status == FL_OK) {
        *out = risk;
    }
    return status;
}
