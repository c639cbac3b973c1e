/* Learning from the keeper's own purchases: for each pest and source, how often it came in. Each
 * purchase is left out of its own prior. Only purchases teach (design 4.14): what was already here,
 * the room and material do not. */
#include "core/learn/learn.h"

#include <math.h>
#include <string.h>

#include "app/chance_work.h"

/* A judgement counts like this many purchases (reference 4.3); old purchases fade. */
#define JUDGEMENT_SIZE 10.0
#define HALF_LIFE_D 365.0

/* ---- who teaches, the same for every pest of one carriage ---- */

/* A purchase: all roots of one source and one arrival. A sedentary threat has a root for each lot;
 * purchases are counted all the same. */
typedef struct purchase {
    size_t lot;    /* one of it */
    size_t source; /* in the order in which the sources came up */
    size_t place;  /* among the purchases of its source */
} purchase;

typedef struct school {
    const fl_network *network;
    size_t *of_root; /* [n_roots]: its purchase; FL_NO_INDEX: it neither teaches nor learns */
    purchase *purchases;
    size_t n_purchases, n_sources;
    size_t *by_source; /* [n_purchases]: purchases source by source, each in order */
    size_t *first_of;  /* [n_sources + 1]: where each source begins in by_source */
    size_t *last_on;   /* [n_carriers]: a lot that was on it last; FL_NO_INDEX */
    size_t *next;      /* [n_lots]: another such lot */
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
    for (size_t k = 0; k < s->n_purchases; k++) {
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

static void sort_by_source(fl_arena *arena, school *s)
{
    s->by_source = FL_ARENA_ARRAY(arena, size_t, s->n_purchases);
    s->first_of = FL_ARENA_ARRAY(arena, size_t, s->n_sources + 1);
    size_t at = 0;
    for (size_t source = 0; source < s->n_sources; source++) {
        for (size_t k = 0; k < s->n_purchases; k++) {
            if (s->purchases[k].source == source) {
                s->purchases[k].place = at - s->first_of[source];
                s->by_source[at++] = k;
            }
        }
        s->first_of[source + 1] = at;
    }
}

static school open_school(fl_chances *c, fl_carriage carriage, fl_arena *arena)
{
    const fl_walked *walked = &c->walked[carriage];
    size_t n_roots = walked->network.n_roots;
    school s = {.network = &walked->network,
                .of_root = FL_ARENA_ARRAY(arena, size_t, n_roots),
                .purchases = FL_ARENA_ARRAY(arena, purchase, n_roots)};
    for (size_t i = 0; i < n_roots; i++) {
        const fl_root *root = &walked->network.roots[i];
        s.of_root[i] = is_plant_purchase(c, root)
                           ? purchase_of(&s, c->room->meaning.lots, root->lot)
                           : FL_NO_INDEX;
    }
    sort_by_source(arena, &s);
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

/* ---- what one pest's purchases say ---- */

/* The lots of one purchase are one teacher: the likeliest cause, the least seen. */
typedef struct fl_teacher teacher;

/* P(no find so far | the root is real), for each root: the most that is left unseen on any carrier
 * that its lots were on last; 1 without a copy there. A copy that a find replaced had been looked
 * at until then; its find is in prob_cause. */
static fl_status hear_copies(fl_chances *c, fl_pest *pest, const school *all, double *quiet,
                             fl_err *err)
{
    const fl_spread *s = &pest->slow;
    /* One founder is the slowest to be noticed: quiet teaches no more than that. */
    const fl_founders one = {.family = FL_FOUNDERS_ONE};
    for (size_t i = 0; i < all->network->n_roots; i++) {
        quiet[i] = -1.0;
    }
    for (size_t i = 0; i < s->n_copies; i++) {
        const fl_copy *copy = &s->copies[i];
        bool is_own = !copy->is_steady && !copy->is_thinned && !FL_IS_FIND_ROOT(copy->root);
        size_t index = is_own ? all->of_root[copy->root] : FL_NO_INDEX;
        fl_filter_sums sums;
        double likelihood = 1.0;
        if (index == FL_NO_INDEX || !is_where_they_are(c, all, index, copy->carrier)) {
            continue;
        }
        fl_status status = fl_programmes_sums(&c->programmes, copy->prog, &sums, err);
        if (status == FL_OK) {
            status =
                fl_sums_likelihood(&sums, 1.0, s->mixture.weight_middle, &one, &likelihood, err);
        }
        if (status != FL_OK) {
            return status;
        }
        quiet[copy->root] = fmax(quiet[copy->root], likelihood);
    }
    for (size_t i = 0; i < all->network->n_roots; i++) {
        quiet[i] = quiet[i] < 0.0 ? 1.0 : fmin(quiet[i], 1.0);
    }
    return FL_OK;
}

static fl_status gather(fl_chances *c, fl_pest *pest, const school *s, fl_arena *arena,
                        teacher *teachers, fl_err *err)
{
    double *quiet = FL_ARENA_ARRAY(arena, double, s->network->n_roots);
    fl_status status = hear_copies(c, pest, s, quiet, err);
    for (size_t i = s->network->n_roots; i > 0 && status == FL_OK; i--) { /* its first root last */
        const fl_root *root = &s->network->roots[i - 1];
        if (s->of_root[i - 1] == FL_NO_INDEX) {
            continue;
        }
        teacher *t = &teachers[s->of_root[i - 1]];
        t->root = i - 1;
        t->table = fmax(t->table, pest->prior[i - 1]);
        t->purchase.prob_cause = fmax(t->purchase.prob_cause, pest->slow.root_found[i - 1]);
        t->purchase.prob_missed = fmax(t->purchase.prob_missed, quiet[i - 1]);
        t->purchase.age_days = fmax(0.0, (double)(c->now_h - root->at_h) / 24.0);
    }
    return status;
}

/* ---- what they teach ---- */

/* What the purchases of one source teach roots that have one prior by the tables. */
typedef struct lesson {
    double table;
    double *mean; /* by its place: what each purchase learns from the others */
    struct lesson *next;
} lesson;

/* One pest's teachers and what they have taught so far. */
typedef struct class
{
    const school *school;
    teacher *teachers; /* [n_purchases] */
    lesson **lessons;  /* [n_sources] */
    fl_arena *arena;
} class;

/* A form that rarely carries it (a sealed cup) says as much less of one that often does: its own
 * chance is the source's, times the ratio of the tables. */
static fl_learn_purchase as_taught(const teacher *t, double table)
{
    double ratio = table > 0.0 ? fmin(1.0, t->table / table) : 1.0;
    fl_learn_purchase taught = t->purchase;
    taught.prob_missed = 1.0 - ratio * (1.0 - taught.prob_missed);
    return taught;
}

static fl_learn_beta judgement(double prior)
{
    return (fl_learn_beta){.a = prior * JUDGEMENT_SIZE, .b = (1.0 - prior) * JUDGEMENT_SIZE};
}

static fl_status give_lesson(const class *c, size_t source, double table, lesson *out, fl_err *err)
{
    const school *s = c->school;
    const fl_learn_beta prior = judgement(table);
    size_t n = s->first_of[source + 1] - s->first_of[source];
    fl_learn_purchase *taught = FL_ARENA_ARRAY(c->arena, fl_learn_purchase, n);
    *out = (lesson){.table = table, .mean = FL_ARENA_ARRAY(c->arena, double, n)};
    for (size_t k = 0; k < n; k++) {
        taught[k] = as_taught(&c->teachers[s->by_source[s->first_of[source] + k]], table);
    }
    if (n <= FL_LEARN_PURCHASES_MAX) {
        return fl_learn_without_each(&prior, taught, (int)n, HALF_LIFE_D, out->mean, err);
    }
    /* Never in a plant room: all learn from the newest, themselves among them. */
    fl_learn_risk risk = {0};
    fl_status status = fl_learn_source(&prior, &taught[n - FL_LEARN_PURCHASES_MAX],
                                       FL_LEARN_PURCHASES_MAX, HALF_LIFE_D, &risk, err);
    for (size_t k = 0; k < n; k++) {
        out->mean[k] = risk.mean;
    }
    return status;
}

static fl_status lesson_for(class *c, size_t source, double table, const lesson **out, fl_err *err)
{
    fl_status status = FL_OK;
    *out = c->lessons[source];
    while (*out != NULL && ((*out)->table < table || (*out)->table > table)) {
        *out = (*out)->next;
    }
    if (*out == NULL) {
        lesson *fresh = FL_ARENA_NEW(c->arena, lesson);
        status = give_lesson(c, source, table, fresh, err);
        fresh->next = c->lessons[source];
        *out = c->lessons[source] = fresh;
    }
    return status;
}

/* The prior of one root from the other purchases of its source. */
static fl_status learn_root(class *c, fl_pest *pest, size_t index, fl_err *err)
{
    const school *s = c->school;
    const purchase *own = &s->purchases[s->of_root[index]];
    const lesson *learned = NULL;
    double table = pest->prior[index];
    bool has_others = s->first_of[own->source + 1] - s->first_of[own->source] > 1;
    if (!has_others || table <= 0.0 || table >= 1.0) {
        return FL_OK;
    }
    fl_status status = lesson_for(c, own->source, table, &learned, err);
    if (status == FL_OK) {
        pest->prior[index] = learned->mean[own->place];
        pest->is_learned[index] = true;
    }
    return status;
}

static fl_status learn_pest(fl_chances *c, fl_pest *pest, const school *s, fl_arena *arena,
                            fl_err *err)
{
    const fl_network *network = s->network;
    class own = {.school = s,
                 .teachers = FL_ARENA_ARRAY(&c->arena, teacher, s->n_purchases),
                 .lessons = FL_ARENA_ARRAY(arena, lesson *, s->n_sources),
                 .arena = arena};
    double *table = FL_ARENA_ARRAY(&c->arena, double, network->n_roots);
    for (size_t i = 0; i < network->n_roots; i++) {
        table[i] = pest->slow.env->prior(pest->slow.env->context, &network->roots[i], pest->threat);
    }
    pest->is_learned = FL_ARENA_ARRAY(&c->arena, bool, network->n_roots);
    pest->teachers = own.teachers;
    pest->n_teachers = s->n_purchases;
    pest->prior = table; /* from here on the spreads read these */
    fl_status status = gather(c, pest, s, arena, own.teachers, err);
    for (size_t i = 0; i < network->n_roots && status == FL_OK; i++) {
        if (s->of_root[i] != FL_NO_INDEX) {
            status = learn_root(&own, pest, i, err);
        }
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

/* The purchases of a source, as they teach about one whose table prior is `table`. */
static int purchases_of(const fl_chances *c, const fl_pest *pest, fl_id source, double table,
                        fl_learn_purchase *out)
{
    const fl_network *network = fl_pest_network(c, pest);
    int n = 0;
    for (size_t k = 0; k < pest->n_teachers && n < FL_LEARN_PURCHASES_MAX; k++) {
        const teacher *t = &pest->teachers[k];
        if (fl_id_eq(network->roots[t->root].source, source)) {
            out[n++] = as_taught(t, table);
        }
    }
    return n;
}

fl_status fl_chances_source_risk(fl_chances *c, fl_id source, fl_form form, const fl_threat *threat,
                                 fl_source_risk *out, fl_err *err)
{
    const fl_ev_source_set *set = fl_defs_source(&c->room->defs, source);
    fl_source_risk risk = {.threat = threat};
    fl_learn_risk learned = {0};
    fl_pest *pest = NULL;
    for (size_t i = 0; i < c->n_pests; i++) {
        pest = c->pests[i].threat == threat ? &c->pests[i] : pest;
    }
    if (pest == NULL || set == NULL) {
        return fl_fail(err, FL_ENOTFOUND, "%s: no source or no pest to learn of", threat->code);
    }
    risk.table = fl_know_prior_of(threat, set->kind, form);
    risk.mean = risk.table.prob;
    fl_learn_purchase *own = FL_ARENA_ARRAY(&c->arena, fl_learn_purchase, pest->n_teachers);
    fl_learn_count count = {0};
    int n = purchases_of(c, pest, source, risk.table.prob, own);
    risk.n_purchases = n;
    risk.n_elsewhere = (int)pest->n_teachers - n;
    for (int i = 0; i < n; i++) {
        risk.n_found += own[i].prob_cause >= 0.5;
    }
    fl_status status = fl_learn_count_of(own, n, HALF_LIFE_D, &count, err);
    risk.judged = count.judged;
    if (status == FL_OK && risk.mean > 0.0 && risk.mean < 1.0) {
        fl_learn_beta prior = judgement(risk.mean);
        status = fl_learn_source(&prior, own, n, HALF_LIFE_D, &learned, err);
        risk.mean = learned.mean;
        risk.low = learned.low;
        risk.high = learned.high;
    }
    if (status == FL_OK) {
        *out = risk;
    }
    return status;
}
