/* The gate's conditions, one function each. */
#include "core/gate/gate.h"

#include <math.h>

#define FL_WORD_ENTRY(name, word, text) {word, text},
const fl_word fl_words_condition[FL_CONDITION_COUNT] = {FL_CONDITION_LIST(FL_WORD_ENTRY)};

static bool asks(const fl_gate_input *in, fl_use use)
{
    unsigned uses = in->uses != 0 ? in->uses : 1U << FL_USE_PLANTS_ONLY;
    return (uses & (1U << use)) != 0;
}

double fl_gate_sum(const fl_gate_threat *threats, size_t n_threats, fl_use use)
{
    double sum = 0.0;
    for (size_t i = 0; i < n_threats; i++) {
        if (!threats[i].threat->is_out_of_reach) {
            sum += threats[i].threat->weight[use] * threats[i].chance;
        }
    }
    return sum;
}

static const fl_gate_threat *worst_for(const fl_gate_input *in, fl_use use)
{
    const fl_gate_threat *worst = NULL;
    double largest = 0.0;
    for (size_t i = 0; i < in->n_threats; i++) {
        double harm = in->threats[i].threat->weight[use] * in->threats[i].chance;
        if (!in->threats[i].threat->is_out_of_reach && (worst == NULL || harm > largest)) {
            worst = &in->threats[i];
            largest = harm;
        }
    }
    return worst;
}

static fl_condition met(const fl_gate_input *in, fl_condition_kind kind)
{
    return (fl_condition){.kind = kind, .is_met = true, .earliest_s = in->now_s, .reason = ""};
}

static fl_condition on_hold(const fl_gate_input *in)
{
    fl_condition c = met(in, FL_CONDITION_HOLD);
    if (in->is_held) {
        c.is_met = false;
        c.earliest_s = FL_GATE_NEVER;
        c.reason = "held";
    }
    return c;
}

/* Every use asked for has its ceiling; the one that is met last binds. */
static fl_condition on_chance(const fl_gate_input *in, fl_gate_answer *out)
{
    fl_condition c = met(in, FL_CONDITION_CHANCE);
    double closest = -HUGE_VAL;
    out->quick_s = in->now_s;
    for (int u = 0; u < FL_USE_COUNT; u++) {
        fl_use use = (fl_use)u;
        if (!asks(in, use)) {
            continue;
        }
        double ceiling = fl_know_use_of(use).ceiling;
        double sum = fl_gate_sum(in->threats, in->n_threats, use);
        const fl_gate_dates *dates = &in->dates[use];
        int64_t at = sum <= ceiling ? in->now_s : dates->all_s;
        if (sum > ceiling && dates->quick_s > out->quick_s) {
            out->quick_s = dates->quick_s;
        }
        bool binds = at > c.earliest_s || (at == c.earliest_s && sum / ceiling > closest);
        if (binds) {
            c.earliest_s = at;
            c.use = use;
            c.value = sum;
            c.limit = ceiling;
            closest = sum / ceiling;
        }
        c.is_met = c.is_met && sum <= ceiling;
    }
    out->binding_use = c.use;
    out->worst = worst_for(in, c.use);
    out->sum = c.value;
    out->ceiling = c.limit;
    c.threat = out->worst != NULL ? out->worst->threat : NULL;
    return c;
}

/* The threat that will be the last to have shown itself, among those that matter for a use. */
static fl_condition on_guard(const fl_gate_input *in)
{
    fl_condition c = met(in, FL_CONDITION_GUARD);
    c.value = 1.0;
    c.limit = FL_GATE_GUARD_SHARE;
    for (size_t i = 0; i < in->n_threats; i++) {
        const fl_gate_threat *t = &in->threats[i];
        double weight = 0.0;
        for (int u = 0; u < FL_USE_COUNT; u++) {
            weight = asks(in, (fl_use)u) ? fmax(weight, t->threat->weight[u]) : weight;
        }
        if (t->threat->is_out_of_reach || weight * t->prior < FL_GATE_GUARD_FROM) {
            continue;
        }
        bool is_met = t->guard_share >= FL_GATE_GUARD_SHARE;
        int64_t at = is_met ? in->now_s : t->guard_s;
        if (c.threat == NULL || at > c.earliest_s ||
            (at == c.earliest_s && t->guard_share < c.value)) {
            c.earliest_s = at;
            c.threat = t->threat;
            c.value = t->guard_share;
            c.reason = is_met ? "" : fl_words_effort[t->guard_effort].word;
        }
        c.is_met = c.is_met && is_met;
    }
    return c;
}

static fl_condition on_least_days(const fl_gate_input *in)
{
    fl_condition c = met(in, FL_CONDITION_LEAST_DAYS);
    for (int u = 0; u < FL_USE_COUNT; u++) {
        int days = fl_know_use_of((fl_use)u).least_days;
        if (asks(in, (fl_use)u) && days > c.limit) {
            c.limit = days;
            c.use = (fl_use)u;
        }
    }
    c.value = floor((double)(in->now_s - in->last_way_in_s) / FL_DAY_S);
    int64_t at = in->last_way_in_s + (int64_t)c.limit * FL_DAY_S;
    c.is_met = at <= in->now_s;
    c.earliest_s = c.is_met ? in->now_s : at;
    return c;
}

/* What goes on releasing fertiliser in a warm enclosure reaches what lives there. */
static bool asks_for_animals(const fl_gate_input *in)
{
    return asks(in, FL_USE_AMPHIBIAN) || asks(in, FL_USE_REPTILE) || asks(in, FL_USE_INVERTEBRATE);
}

static fl_condition on_steps(const fl_gate_input *in)
{
    fl_condition c = met(in, FL_CONDITION_STEPS);
    c.steps_missing = in->steps_needed & ~in->steps_done;
    c.is_met = c.steps_missing == 0;
    /* A step can be done any evening; what it does to the chance is seen when it is. */
    if (in->chlorine != FL_GATE_CHLORINE_NONE && asks_for_animals(in) && c.is_met) {
        c.is_met = in->chlorine == FL_GATE_CHLORINE_RINSED;
        c.reason = c.is_met ? "chlorine_today" : "chlorine_left";
    } else if (in->asks_prills && asks_for_animals(in) && c.is_met) {
        /* Stripping takes them off with the mix: nothing told is asked, and does not hold. */
        c.is_met = in->prills != FL_PRILLS_LEFT;
        c.reason = in->prills == FL_PRILLS_LEFT       ? "prills_left"
                   : in->prills == FL_PRILLS_NOT_TOLD ? "prills_not_told"
                                                      : "";
    }
    return c;
}

static fl_condition on_residue(const fl_gate_input *in)
{
    fl_condition c = met(in, FL_CONDITION_RESIDUE);
    c.use = in->residue_use;
    c.reason = fl_words_residue_why[in->residue.why].word;
    c.is_met = in->residue.is_ok_for_use;
    if (!c.is_met) {
        bool never = isnan(in->residue.wait_days);
        c.earliest_s =
            never ? FL_GATE_NEVER : in->now_s + (int64_t)in->residue.wait_days * FL_DAY_S;
    }
    return c;
}

/* Why it may carry a disease of animals; "" when nothing says so. A sterile start answers for where
 * it came from, not for where it has been since. */
static const char *carries_because(const fl_pathogen_facts *p)
{
    if (p->has_positive) {
        return "positive";
    }
    if (p->was_with_amphibians) {
        return "with_amphibians";
    }
    if (p->was_in_occupied) {
        return "occupied_enclosure";
    }
    if (p->is_sterile) {
        return "";
    }
    return p->source_keeps_animals ? "source_keeps_animals" : p->is_from_outdoors ? "outdoors" : "";
}

/* Diseases of animals are not in the sum: where it has been, and what was done since. */
static fl_condition on_pathogen(const fl_gate_input *in)
{
    fl_condition c = met(in, FL_CONDITION_PATHOGEN);
    const fl_pathogen_facts *p = &in->pathogen;
    bool asked = false;
    for (int u = 0; u < FL_USE_COUNT; u++) {
        asked = asked || (asks(in, (fl_use)u) && fl_know_use_of((fl_use)u).needs_pathogen_rule);
    }
    if (!asked) {
        return c;
    }
    c.use = FL_USE_AMPHIBIAN;
    c.reason = carries_because(p);
    if (c.reason[0] == '\0') {
        return c;
    }
    if (p->was_disinfected && !p->has_positive) {
        c.reason = "disinfected";
        return c;
    }
    c.is_met = false;
    c.earliest_s = FL_GATE_NEVER; /* not by waiting: "not from here", or a dip */
    return c;
}

static fl_condition on_release_look(const fl_gate_input *in)
{
    fl_condition c = met(in, FL_CONDITION_RELEASE_LOOK);
    c.is_met = in->last_look_s > in->today_end_s - FL_DAY_S && in->last_look_s <= in->now_s;
    /* It can be met any day: by looking. */
    return c;
}

void fl_gate_decide(const fl_gate_input *in, fl_gate_answer *out)
{
    *out = (fl_gate_answer){.is_open = true, .earliest_s = in->now_s};
    out->conditions[FL_CONDITION_HOLD] = on_hold(in);
    out->conditions[FL_CONDITION_CHANCE] = on_chance(in, out);
    out->conditions[FL_CONDITION_GUARD] = on_guard(in);
    out->conditions[FL_CONDITION_LEAST_DAYS] = on_least_days(in);
    out->conditions[FL_CONDITION_STEPS] = on_steps(in);
    out->conditions[FL_CONDITION_RESIDUE] = on_residue(in);
    out->conditions[FL_CONDITION_PATHOGEN] = on_pathogen(in);
    out->conditions[FL_CONDITION_RELEASE_LOOK] = on_release_look(in);
    for (int i = 0; i < FL_CONDITION_COUNT; i++) {
        const fl_condition *c = &out->conditions[i];
        out->is_open = out->is_open && c->is_met;
        if (c->earliest_s > out->earliest_s) {
            out->earliest_s = c->earliest_s;
        }
        /* The guard is about slow hidden ones; the sum has its own date for the quick. */
        if (i != FL_CONDITION_CHANCE && i != FL_CONDITION_GUARD && c->earliest_s > out->quick_s) {
            out->quick_s = c->earliest_s;
        }
    }
}

bool fl_gate_waits_for_look_only(const fl_gate_answer *answer)
{
    for (int i = 0; i < FL_CONDITION_COUNT; i++) {
        if (i != FL_CONDITION_RELEASE_LOOK && !answer->conditions[i].is_met) {
            return false;
        }
    }
    return true;
}
