/* How many plants of a lot to look at, at one look. A hobby lot: every plant, at the right time. A
 * tray: the sample of ISPM 31 (core/sample), with the chance that a look shows what is there. One
 * look alone; what looks over weeks add up to is the gate's business. */
#ifndef FL_APP_EXAMINE_H
#define FL_APP_EXAMINE_H

#include "app/gate.h"
#include "core/sample/sample.h"

/* Up to so many plants, looking at each is less work than choosing (our judgement). */
#define FL_EXAMINE_EVERY_PLANT 24
#define FL_EXAMINE_LEVEL 0.05 /* the infested share that the sample is made to meet */
#define FL_EXAMINE_CONFIDENCE 0.95

typedef struct fl_examine {
    const fl_lot *lot;
    int64_t n_plants;
    bool is_every_plant;
    const fl_threat *threat; /* the likeliest that this effort can see; NULL: none */
    const char *stage;       /* its stage that shows best */
    fl_effort effort;
    double prob_efficacy; /* that a look shows it on one infested plant, 0 to 0.95 */
    double frac_level, prob_confidence;
    fl_sample_size floor; /* of a tray: rounded down, as ISPM 31's tables: the larger sample */
    fl_sample_size ceil;  /* rounded up: the smaller sample */
} fl_examine;

/* For a look at this effort with these cards (mask of 1u << fl_device). The report is the lot's.
 * A lot without plants counts as one. */
fl_status fl_examine_lot(const fl_gate_report *report, fl_effort effort, unsigned devices,
                         fl_examine *out, fl_err *err) FL_MUST_USE;

#endif
