/* How many plants of a lot must be examined before "we saw nothing" means something: the sample
 * sizes of ISPM 31. Answers for one look at one time; what looks repeated over weeks add up to is
 * core/clear's business. Start reading here. */
#ifndef FL_CORE_SAMPLE_SAMPLE_H
#define FL_CORE_SAMPLE_SAMPLE_H

#include <stdbool.h>
#include <stdint.h>

#include "base/err.h"

/* Lots above this are refused (FL_EDOMAIN). */
#define FL_SAMPLE_LOT_MAX 1000000000

typedef enum fl_sample_method {
    FL_SAMPLE_HYPERGEOMETRIC = 0, /* drawn from a lot of known size, without putting back */
    FL_SAMPLE_BINOMIAL            /* a large, well mixed lot: the lot's size does not matter */
} fl_sample_method;

/* What becomes of level * lot when it is not a whole number of plants. */
typedef enum fl_sample_rounding {
    FL_SAMPLE_FLOOR = 0, /* as ISPM 31's tables: the larger sample */
    FL_SAMPLE_CEIL       /* as epidemiology packages do: the smaller sample */
} fl_sample_rounding;

typedef struct fl_sample_design {
    int64_t lot_size;       /* plants in the lot, 1 to FL_SAMPLE_LOT_MAX */
    double frac_level;      /* level of detection: infested share, above 0 to 1 */
    double prob_confidence; /* wanted chance of seeing at least one, above 0, below 1 */
    double prob_efficacy;   /* chance that an examined infested plant is seen, above 0 to 1 */
    fl_sample_method method;
    fl_sample_rounding rounding; /* used by the hypergeometric only */
} fl_sample_design;

/* Why there is no sample size. */
typedef enum fl_sample_reason {
    FL_SAMPLE_ATTAINABLE = 0,
    FL_SAMPLE_UNDER_ONE_PLANT, /* the level means less than one plant of this lot */
    FL_SAMPLE_EFFICACY_TOO_LOW /* even examining every plant does not reach the confidence */
} fl_sample_reason;

typedef struct fl_sample_size {
    fl_sample_reason reason;
    int64_t sample_size;     /* plants to examine; 0 unless reason is FL_SAMPLE_ATTAINABLE */
    double prob_reached;     /* confidence with that sample; with the whole lot if unattainable */
    int64_t infested_plants; /* D, the infested plants designed for; 0 for the binomial */
    bool is_rounded;         /* D is not exactly level * lot */
    bool is_under_one_plant; /* level * lot < 1: size_for_one says what one plant would take */
    int64_t size_for_one;    /* sample for D = 1 when is_under_one_plant; 0: unattainable */
    bool exceeds_lot;        /* binomial only: more than the lot holds; use the hypergeometric */
} fl_sample_size;

/* Chance that a sample shows nothing although `infested` plants of the lot are infested:
 * sum over k of Hyp(k; lot, infested, sample) (1 - efficacy)^k.
 *   lot_size        1 to FL_SAMPLE_LOT_MAX; 0 <= infested <= lot_size; 0 <= sample <= lot_size
 *   prob_efficacy   0 to 1
 *   out             0 to 1
 * Errors: FL_EDOMAIN. Accuracy: rel 1e-12 where the result is above 1e-15, else below 1e-14.
 * Method: weights relative to the mode by the ratio of neighbours, so that nothing over- or
 * underflows; about 13 * sqrt(sample * infested / lot) terms. */
fl_status fl_sample_miss(int64_t lot_size, int64_t infested, int64_t sample, double prob_efficacy,
                         double *out) FL_MUST_USE;

/* The smallest sample whose chance of seeing at least one infested plant reaches the confidence.
 *   design  see above
 *   out     complete on success
 * Errors: FL_EDOMAIN naming the value. "Unattainable" is an answer (out->reason), not an error.
 * Ties (the confidence met exactly) count as reached, within 1e-12.
 * Source: ISPM 31 (FAO/IPPC 2008), appendices 2 and 3 (hypergeometric and binomial sampling);
 * efficacy in the hypergeometric is exact and our extension. */
fl_status fl_sample_size_of(const fl_sample_design *design, fl_sample_size *out,
                            fl_err *err) FL_MUST_USE;

#endif
