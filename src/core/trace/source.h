/* Who brought it? The weight of each way in, from what was seen. backdate.h asks when; passage.h
 * how it got from place to place.
 *
 * For a threat with stages: a way in has a filter state at the moment of the find (what would be
 * there by then, had it brought the threat, after all warmth, treatments and quiet looks). Its
 * weight is its prior times the chance that this look then sees the stage that was seen. Diseases
 * have no stages: there, facts of the source give relative weights (data/disease_sources.csv). */
#ifndef FL_CORE_TRACE_SOURCE_H
#define FL_CORE_TRACE_SOURCE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/err.h"
#include "core/clear/filter.h"

/* What was seen, and how. Arrays as in fl_backdate_query. */
typedef struct fl_source_seen {
    int stage;            /* -1: not told */
    const double *detect; /* [n_stages] */
    double cap;
    const double *weight; /* [n_mix of the state] >= 0, not all 0 */
    const double *colony; /* [n_stages], sum 1 */
    double founders;      /* mean of the Poisson number that comes in, given any: 1e-6 to 1e6 */
} fl_source_seen;

/* What one founder does at the look under multiplier w (0 to n_mix - 1 of the state): the chance
 * that it is alive, missed until then and seen (q), and seen as it was seen (q_s). The caller has
 * checked model and state. */
typedef struct fl_source_founder {
    double any;
    double as;
} fl_source_founder;
fl_source_founder fl_source_founder_seen(const fl_stage_model *model, const fl_filter *state, int w,
                                         const fl_source_seen *seen);

/* P(missed by every look before, and seen by this one as it was seen | it came this way), 0 to 1.
 * With D the chance that one founder would have been found before, q that this look sees it and
 * q_s that it sees it as it was seen, and G the generating function of the number of founders
 * (zero-truncated Poisson; of a steady hazard, core/clear/steady, Poisson):
 *     mean over multipliers of (G(1-D) - G(1-D-q)) q_s / q
 * FL_EDOMAIN, FL_EINVAL for a state of another model. */
fl_status fl_source_likelihood(const fl_stage_model *model, const fl_filter *state, bool is_steady,
                               const fl_source_seen *seen, double *out, fl_err *err) FL_MUST_USE;

/* What is known of a source of plants, as far as diseases of animals go. */
typedef struct fl_source_facts {
    bool has_positive; /* an animal tested positive for this disease where it was */
    bool has_ill;      /* an animal was ill or died there */
    bool was_with_amphibians;
    bool was_in_occupied;
    bool keeps_animals; /* animals are kept with the plants where it was bought */
    bool is_outdoors;
    bool is_sterile;
} fl_source_facts;

/* The relative weight, 0 to 1, and the word of the fact that gives it. */
double fl_source_disease_weight(const fl_source_facts *facts, const char **fact);

/* Scales weight[n] (>= 0) to sum 1; all 0: all alike. */
void fl_source_scale(double *weight, size_t n);

#endif
