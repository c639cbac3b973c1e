/* A trial of the gate: one purchase, cleaned on the first evening, put into a bin, and looked at in
 * regular rounds that find nothing. When would it open? Everything goes the ordinary way in. */
#ifndef FL_TESTS_SUPPORT_TRIAL_H
#define FL_TESTS_SUPPORT_TRIAL_H

#include "app/plans.h"
#include "support/keeper.h"

#define FL_TRIAL_DAYS 168 /* how long it is tried */
#define FL_TRIAL_NEVER (-1)

typedef struct fl_trial {
    fl_source_kind source;
    fl_form form;
    double temp_c;
    fl_effort effort;
    unsigned devices;
    int every_days;
    int until_day;  /* at most FL_TRIAL_DAYS */
    bool is_washed; /* stripped and washed as its form calls for */
} fl_trial;

/* Careful looks and a yellow card every week, a potted plant from a chain store, 23 C, washed. */
fl_trial fl_trial_usual(void);

/* Days from the arrival, always days of a look; FL_TRIAL_NEVER. */
typedef struct fl_trial_days {
    int chance; /* the weighted sum is under the ceiling */
    int guard;  /* what came in has had time to show, if that day's look unpots it */
    int open;   /* both, and the least days are over, that day's look unpotting it */
} fl_trial_days;

typedef struct fl_trial_result {
    fl_trial_days days[FL_USE_COUNT];
    double sum[FL_USE_COUNT][FL_TRIAL_DAYS + 1]; /* after the look of that day; NAN: no look */
    double sum_at_start[FL_USE_COUNT];           /* in the bin, before any look */
    char binding[FL_USE_COUNT][64]; /* the threat that leads when it opens, or at the end */
} fl_trial_result;

/* What the program says of a lot on one day, after a look at its roots: by pest in the order of the
 * knowledge, for one use. */
#define FL_TRIAL_PESTS_MAX 32
typedef struct fl_trial_claim {
    fl_prep_plan plan; /* of the evening; what is called for was done */
    double chance[FL_TRIAL_PESTS_MAX], most[FL_TRIAL_PESTS_MAX];
    double sum;   /* weighted, for the use */
    bool is_open; /* chance, guard, least days and the look: what a trial is about */
} fl_trial_claim;

/* Plays the trial up to a day of a look, all quiet, the last one at the roots. */
void fl_trial_claim_at(const fl_trial *trial, fl_use use, int day, fl_trial_claim *out);

/* Runs until every use has opened, or until_day; fails the test on any error. */
void fl_trial_run(const fl_trial *trial, fl_trial_result *out);

#endif
