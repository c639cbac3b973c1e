/* Weights of ways in. */
#include "core/trace/source.h"

#include <assert.h>
#include <math.h>
#include <string.h>

#include "core/trace/backdate.h"
#include "data/disease_sources.h"

fl_source_founder fl_source_founder_seen(const fl_stage_model *model, const fl_filter *state, int w,
                                         const fl_source_seen *seen)
{
    fl_source_founder one = {0.0, 0.0};
    int last = model->n_stages - 1;
    int at = 0;
    for (int i = 0; i < model->n_stages * fl_filter_generations(model); i++) {
        int s = i % model->n_stages;
        int end = at + (s == last ? 1 : model->stage[s].n_substages);
        double detect = fmax(seen->detect[s], FL_BACKDATE_SEEN_LEAST);
        double q = fl_filter_seen_of(model, i / model->n_stages,
                                     fmin(seen->cap, state->multiplier[w] * detect));
        double as = s == seen->stage || seen->stage < 0 ? 1.0 : 0.0;
        if (s == last && seen->stage >= 0) {
            as = seen->colony[seen->stage];
        }
        for (; at < end; at++) {
            one.any += q * state->alive[at][w];
            one.as += q * as * state->alive[at][w];
        }
    }
    return one;
}

/* P(none found before, at least one now): the founders are independent given their number. */
static double first_seen_now(double found, double any, double mean, bool is_steady)
{
    if (is_steady) { /* found and any are expected numbers */
        return exp(-found) * -expm1(-any);
    }
    return exp(-mean * found) * -expm1(-mean * any) / -expm1(-mean);
}

fl_status fl_source_likelihood(const fl_stage_model *model, const fl_filter *state, bool is_steady,
                               const fl_source_seen *seen, double *out, fl_err *err)
{
    double sum = 0.0;
    double all = 0.0;
    fl_status status = fl_filter_check(model, state, err);
    if (status != FL_OK) {
        return status;
    }
    if (seen->stage < -1 || seen->stage >= model->n_stages) {
        return fl_fail(err, FL_EDOMAIN, "stage %d was seen: give 0 to %d, or -1", seen->stage,
                       model->n_stages - 1);
    }
    if (!(seen->founders >= 1e-6 && seen->founders <= 1e6)) {
        return fl_fail(err, FL_EDOMAIN, "%g founders: give 1e-6 to 1e6", seen->founders);
    }
    for (int w = 0; w < state->n_mix; w++) {
        fl_source_founder one = fl_source_founder_seen(model, state, w, seen);
        double now = first_seen_now(state->found[w], one.any, seen->founders, is_steady);
        sum += one.any > 0.0 ? seen->weight[w] * now * one.as / one.any : 0.0;
        all += seen->weight[w];
    }
    if (!(all > 0.0)) {
        return fl_fail(err, FL_EDOMAIN, "all weights are 0");
    }
    *out = sum / all;
    return FL_OK;
}

static double weight_of(const char *fact)
{
    for (size_t i = 0; i < fl_rows_disease_sources_count; i++) {
        if (strcmp(fl_rows_disease_sources[i].fact, fact) == 0) {
            return fl_rows_disease_sources[i].weight;
        }
    }
    assert(false && "every fact has its row: a test goes through them");
    return 0.0;
}

static void consider(bool is_so, const char *fact, const char **best, double *weight)
{
    if (is_so && weight_of(fact) > *weight) {
        *best = fact;
        *weight = weight_of(fact);
    }
}

double fl_source_disease_weight(const fl_source_facts *facts, const char **fact)
{
    double weight = weight_of("other");
    *fact = "other";
    if (facts->is_sterile) {
        *fact = "sterile";
        return weight_of("sterile");
    }
    consider(facts->has_positive, "positive", fact, &weight);
    consider(facts->has_ill, "died_or_ill", fact, &weight);
    consider(facts->was_with_amphibians, "with_amphibians", fact, &weight);
    consider(facts->keeps_animals, "sold_with_animals", fact, &weight);
    consider(facts->was_in_occupied, "occupied", fact, &weight);
    consider(facts->is_outdoors, "outdoors", fact, &weight);
    return weight;
}

void fl_source_scale(double *weight, size_t n)
{
    double sum = 0.0;
    for (size_t i = 0; i < n; i++) {
        sum += weight[i];
    }
    for (size_t i = 0; i < n; i++) {
        weight[i] = sum > 0.0 ? weight[i] / sum : 1.0 / (double)n;
    }
}
