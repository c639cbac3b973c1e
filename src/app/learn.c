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

/* The carriers that the lots of a purchase were on last. */
static bool is_where_they_are(const fl_chances *c, const fl_pest *pest, const fl_root *root,
                              size_t carrier)
{
    const fl_meaning *m = &c->room->meaning;
    const fl_walked *walked = &c->walked[pest->carriage];
    for (size_t i = walked->n_stands; i > 0; i--) {
        const fl_stand *stand = &walked->stands[i - 1];
        const fl_lot *lot = &m->lots[stand->lot];
        bool is_own = fl_id_eq(lot->source, root->source) &&
                      fl_id_eq(lot->arrival, m->lots[root->lot].arrival);
        bool is_last = true;
        for (size_t k = i; k < walked->n_stands && is_own && is_last; k++) {
            is_last =
                walked->stands[k].lot != stand->lot || walked->stands[k].carrier == FL_NO_INDEX;
        }
        if (is_own && is_last && stand->carrier == carrier) {
            return true;
        }
    }
    return false;
}

/* P(no find so far | the purchase carries it): the most that is left unseen on any carrier that its
 * lots were on last. A copy that a find replaced had been looked at until then; its find is in
 * prob_cause. */
static fl_status prob_quiet(fl_chances *c, fl_pest *pest, size_t root, double *out, fl_err *err)
{
    double most = 0.0;
    bool has_copy = false;
    fl_spread *s = &pest->slow;
    const fl_root *r = &fl_pest_network(c, pest)->roots[root];
    for (size_t i = 0; i < s->n_copies; i++) {
        /* One founder is the slowest to be noticed: quiet teaches no more than that. */
        fl_founders one = {.family = FL_FOUNDERS_ONE};
        const fl_filter *state = NULL;
        double likelihood = 1.0;
        const fl_copy *copy = &s->copies[i];
        if (copy->root != root || copy->is_steady || copy->is_thinned ||
            !is_where_they_are(c, pest, r, copy->carrier)) {
            continue;
        }
        fl_status status = fl_programmes_state(&c->programmes, copy->prog, &state, err);
        if (status != FL_OK) {
            return status;
        }
        fl_filter certain = *state;
        certain.prior = 1.0;
        status = fl_filter_likelihood(&certain, s->mixture.weight_middle, &one, &likelihood, err);
        if (status != FL_OK) {
            return status;
        }
        most = fmax(most, likelihood);
        has_copy = true;
    }
    *out = has_copy ? fmin(most, 1.0) : 1.0;
    return FL_OK;
}

/* A sedentary threat has a root for each lot; purchases are counted all the same, so the lots of
 * one purchase are one teacher: the likeliest cause, the least seen. */
static bool same_purchase(const fl_chances *c, const fl_root *a, const fl_root *b)
{
    const fl_lot *lots = c->room->meaning.lots;
    return fl_id_eq(a->source, b->source) && fl_id_eq(lots[a->lot].arrival, lots[b->lot].arrival);
}

/* Plants bought from a source that is known: these teach and learn. */
static bool is_plant_purchase(const fl_chances *c, const fl_root *root)
{
    return root->kind == FL_ROOT_PURCHASE && !fl_id_is_none(root->source) &&
           !fl_form_is_material(c->room->meaning.lots[root->lot].form);
}

typedef struct fl_teacher teacher;

static fl_status gather(fl_chances *c, fl_pest *pest, teacher *teachers, size_t *count, fl_err *err)
{
    const fl_network *network = fl_pest_network(c, pest);
    *count = 0;
    for (size_t i = 0; i < network->n_roots; i++) {
        const fl_root *root = &network->roots[i];
        teacher *own = NULL;
        double quiet = 1.0;
        if (!is_plant_purchase(c, root)) {
            continue;
        }
        fl_status status = prob_quiet(c, pest, i, &quiet, err);
        if (status != FL_OK) {
            return status;
        }
        for (size_t k = 0; k < *count && own == NULL; k++) {
            own = same_purchase(c, &network->roots[teachers[k].root], root) ? &teachers[k] : NULL;
        }
        double cause = pest->slow.root_found[i];
        double age = fmax(0.0, (double)(c->now_h - root->at_h) / 24.0);
        if (own == NULL) {
            teachers[(*count)++] = (teacher){i, pest->prior[i], {cause, quiet, age}};
        } else {
            own->table = fmax(own->table, pest->prior[i]);
            own->purchase.prob_cause = fmax(own->purchase.prob_cause, cause);
            own->purchase.prob_missed = fmax(own->purchase.prob_missed, quiet);
        }
    }
    return FL_OK;
}

/* ---- one source ---- */

/* The purchases of a source, as they teach about one whose table prior is `table`; `without` (a
 * root): its own purchase is left out; NULL: none is. Returns how many. */
static int purchases_of(fl_chances *c, const fl_pest *pest, fl_id source, const fl_root *without,
                        double table, fl_learn_purchase *out)
{
    const fl_network *network = fl_pest_network(c, pest);
    int n = 0;
    for (size_t k = 0; k < pest->n_teachers && n < FL_LEARN_PURCHASES_MAX; k++) {
        const teacher *t = &pest->teachers[k];
        const fl_root *taught = &network->roots[t->root];
        if (!fl_id_eq(taught->source, source) ||
            (without != NULL && same_purchase(c, taught, without))) {
            continue;
        }
        /* A form that rarely carries it (a sealed cup) says as much less of one that often does:
         * its own chance is the source's, times the ratio of the tables. */
        double ratio = table > 0.0 ? fmin(1.0, t->table / table) : 1.0;
        out[n] = t->purchase;
        out[n].prob_missed = 1.0 - ratio * (1.0 - t->purchase.prob_missed);
        n++;
    }
    return n;
}

static fl_status learn(double prior, const fl_learn_purchase *purchases, int n, fl_learn_risk *out,
                       fl_err *err)
{
    fl_learn_beta beta = {.a = prior * JUDGEMENT_SIZE, .b = (1.0 - prior) * JUDGEMENT_SIZE};
    return fl_learn_source(&beta, purchases, n, HALF_LIFE_D, out, err);
}

/* The prior of one root from the other purchases of its source. */
static fl_status learn_root(fl_chances *c, fl_pest *pest, size_t index, fl_err *err)
{
    const fl_root *root = &fl_pest_network(c, pest)->roots[index];
    double table = pest->prior[index];
    if (table <= 0.0 || table >= 1.0) {
        return FL_OK;
    }
    fl_learn_purchase *others = FL_ARENA_ARRAY(&c->arena, fl_learn_purchase, pest->n_teachers);
    int n = purchases_of(c, pest, root->source, root, table, others);
    if (n == 0) {
        return FL_OK;
    }
    fl_learn_risk learned = {0};
    fl_status status = learn(table, others, n, &learned, err);
    if (status == FL_OK) {
        pest->prior[index] = learned.mean;
        pest->is_learned[index] = true;
    }
    return status;
}

static fl_status learn_pest(fl_chances *c, fl_pest *pest, fl_err *err)
{
    const fl_network *network = fl_pest_network(c, pest);
    double *table = FL_ARENA_ARRAY(&c->arena, double, network->n_roots);
    for (size_t i = 0; i < network->n_roots; i++) {
        table[i] = pest->slow.env->prior(pest->slow.env->context, &network->roots[i], pest->threat);
    }
    pest->teachers = FL_ARENA_ARRAY(&c->arena, teacher, network->n_roots);
    pest->is_learned = FL_ARENA_ARRAY(&c->arena, bool, network->n_roots);
    pest->prior = table; /* from here on the spreads read these */
    fl_status status = gather(c, pest, pest->teachers, &pest->n_teachers, err);
    for (size_t i = 0; i < network->n_roots && status == FL_OK; i++) {
        if (is_plant_purchase(c, &network->roots[i])) {
            status = learn_root(c, pest, i, err);
        }
    }
    return status;
}

fl_status fl_chances_learn(fl_chances *c, fl_err *err)
{
    fl_status status = FL_OK;
    for (size_t i = 0; i < c->n_pests && status == FL_OK; i++) {
        status = learn_pest(c, &c->pests[i], err);
    }
    return status;
}

/* ---- what a source has taught ---- */

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
    int n = purchases_of(c, pest, source, NULL, risk.table.prob, own);
    risk.n_purchases = n;
    risk.n_elsewhere = (int)pest->n_teachers - n;
    for (int i = 0; i < n; i++) {
        risk.n_found += own[i].prob_cause >= 0.5;
    }
    fl_status status = fl_learn_count_of(own, n, HALF_LIFE_D, &count, err);
    risk.judged = count.judged;
    if (status == FL_OK && risk.mean > 0.0 && risk.mean < 1.0) {
        status = learn(risk.mean, own, n, &learned, err);
        risk.mean = learned.mean;
        risk.low = learned.low;
        risk.high = learned.high;
    }
    if (status == FL_OK) {
        *out = risk;
    }
    return status;
}
