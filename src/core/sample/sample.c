/* Sample sizes by exact search: the chance of seeing nothing falls with every plant examined, so
 * a bisection finds the first sample that is large enough. */
#include "core/sample/sample.h"

#include <math.h>

/* A confidence met exactly must not be lost to rounding (19 of 20 plants give exactly 95 %). */
#define TIE_SLACK 1e-12
/* level * lot that should be whole is off by a rounding or two. */
#define WHOLE_SLACK 1e-9
/* Neighbours' weights below this share of the mode's add nothing a double could hold. */
#define WEIGHT_FLOOR 1e-40

/* The two sums over the number k of infested plants in the sample. */
typedef struct tail_sum {
    double all;    /* of the weights */
    double unseen; /* of the weights times (1 - efficacy)^k */
} tail_sum;

static void add_term(tail_sum *sum, double weight, double log_unseen, int64_t k)
{
    sum->all += weight;
    /* 0^0 is 1: with full efficacy only k = 0 goes unseen. */
    sum->unseen += k == 0 ? weight : weight * exp((double)k * log_unseen);
}

/* Sums away from the mode in one direction (step +1 or -1), the mode itself left out. */
static void sum_side(tail_sum *sum, const double hyper[4], double log_unseen, int step)
{
    const double lot = hyper[0];
    const double infested = hyper[1];
    const double sample = hyper[2];
    double k = hyper[3];
    double weight = 1.0;

    while (weight > WEIGHT_FLOOR) {
        if (step > 0) {
            weight *=
                (infested - k) * (sample - k) / ((k + 1.0) * (lot - infested - sample + k + 1.0));
        } else {
            weight *=
                k * (lot - infested - sample + k) / ((infested - k + 1.0) * (sample - k + 1.0));
        }
        k += step;
        if (weight > 0.0) {
            add_term(sum, weight, log_unseen, (int64_t)k);
        }
    }
}

/* fl_sample_miss without the checks. */
static double miss(int64_t lot_size, int64_t infested, int64_t sample, double prob_efficacy)
{
    const double lot = (double)lot_size;
    const double least = fmax(0.0, (double)(infested + sample - lot_size));
    const double most = (double)(infested < sample ? infested : sample);
    const double middle = floor(((double)sample + 1.0) * ((double)infested + 1.0) / (lot + 2.0));
    /* Rounding of a product near 1e18 must not put the mode outside what is possible. */
    const double mode = fmin(most, fmax(least, middle));
    const double hyper[4] = {lot, (double)infested, (double)sample, mode};
    const double log_unseen = prob_efficacy < 1.0 ? log1p(-prob_efficacy) : -HUGE_VAL;
    tail_sum sum = {0.0, 0.0};

    add_term(&sum, 1.0, log_unseen, (int64_t)mode);
    sum_side(&sum, hyper, log_unseen, 1);
    sum_side(&sum, hyper, log_unseen, -1);
    return sum.unseen / sum.all;
}

fl_status fl_sample_miss(int64_t lot_size, int64_t infested, int64_t sample, double prob_efficacy,
                         double *out)
{
    if (lot_size < 1 || lot_size > FL_SAMPLE_LOT_MAX || infested < 0 || infested > lot_size ||
        sample < 0 || sample > lot_size || !(prob_efficacy >= 0.0 && prob_efficacy <= 1.0)) {
        return FL_EDOMAIN;
    }
    *out = miss(lot_size, infested, sample, prob_efficacy);
    return FL_OK;
}

/* The first sample that reaches the confidence, 0 when the whole lot does not. */
static int64_t search(const fl_sample_design *design, int64_t infested)
{
    const double allowed = 1.0 - design->prob_confidence + TIE_SLACK;
    int64_t low = 1;
    int64_t high = design->lot_size;

    if (miss(design->lot_size, infested, high, design->prob_efficacy) > allowed) {
        return 0;
    }
    while (low < high) {
        const int64_t middle = low + (high - low) / 2;
        if (miss(design->lot_size, infested, middle, design->prob_efficacy) <= allowed) {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    return low;
}

static fl_sample_size size_hypergeometric(const fl_sample_design *design)
{
    const double wanted = (double)design->lot_size * design->frac_level;
    const double nearest = round(wanted);
    const bool is_whole = fabs(wanted - nearest) <= WHOLE_SLACK * fmax(1.0, wanted);
    const double rounded = design->rounding == FL_SAMPLE_FLOOR ? floor(wanted) : ceil(wanted);
    fl_sample_size out = {.reason = FL_SAMPLE_ATTAINABLE, .is_rounded = !is_whole};

    out.infested_plants = (int64_t)(is_whole ? nearest : rounded);
    if (wanted < 1.0 && !(is_whole && nearest >= 1.0)) {
        out.is_under_one_plant = true;
        out.size_for_one = search(design, 1);
    }
    if (out.infested_plants < 1) {
        out.infested_plants = 0;
        out.reason = FL_SAMPLE_UNDER_ONE_PLANT;
        return out;
    }
    out.sample_size = search(design, out.infested_plants);
    if (out.sample_size == 0) {
        out.reason = FL_SAMPLE_EFFICACY_TOO_LOW;
    }
    out.prob_reached = 1.0 - miss(design->lot_size, out.infested_plants,
                                  out.sample_size == 0 ? design->lot_size : out.sample_size,
                                  design->prob_efficacy);
    return out;
}

static fl_sample_size size_binomial(const fl_sample_design *design)
{
    const double prob_seen = design->frac_level * design->prob_efficacy;
    const double wanted = log1p(-design->prob_confidence) / log1p(-prob_seen);
    fl_sample_size out = {.reason = FL_SAMPLE_ATTAINABLE};

    /* With level and efficacy both 1 the quotient is 0: one plant is enough. */
    out.sample_size = (int64_t)fmax(1.0, ceil(wanted - WHOLE_SLACK));
    out.prob_reached = -expm1((double)out.sample_size * log1p(-prob_seen));
    out.exceeds_lot = out.sample_size > design->lot_size;
    return out;
}

fl_status fl_sample_size_of(const fl_sample_design *design, fl_sample_size *out, fl_err *err)
{
    if (design->lot_size < 1 || design->lot_size > FL_SAMPLE_LOT_MAX) {
        return fl_fail(err, FL_EDOMAIN, "lot of %lld plants: give 1 to %d",
                       (long long)design->lot_size, FL_SAMPLE_LOT_MAX);
    }
    if (!(design->frac_level >= 1e-9 && design->frac_level <= 1.0)) {
        return fl_fail(err, FL_EDOMAIN, "level %g: give an infested share of 1e-9 to 1",
                       design->frac_level);
    }
    if (!(design->prob_confidence > 0.0 && design->prob_confidence < 1.0)) {
        return fl_fail(err, FL_EDOMAIN, "confidence %g: give more than 0 and less than 1",
                       design->prob_confidence);
    }
    if (!(design->prob_efficacy >= 1e-6 && design->prob_efficacy <= 1.0)) {
        return fl_fail(err, FL_EDOMAIN, "efficacy %g: give 1e-6 to 1", design->prob_efficacy);
    }
    *out =
        design->method == FL_SAMPLE_BINOMIAL ? size_binomial(design) : size_hypergeometric(design);
    return FL_OK;
}
