/* Simulated infestations for checking the program against itself: individuals that are born,
 * develop, are treated, looked at, breed and die. Nothing of core/clear is used: only the tables of
 * what is known. One lot, one pest, one history of treatments and looks. */
#ifndef FL_TESTS_SUPPORT_BUGS_H
#define FL_TESTS_SUPPORT_BUGS_H

#include <stdbool.h>

#include "base/rng.h"
#include "core/know/know.h"

#define FL_BUGS_MAX 3000 /* individuals of one infestation; beyond these none is born */
#define FL_BUGS_EVENTS_MAX 64

/* What happens to the lot; days from the arrival, in order. */
typedef struct fl_bugs_event {
    double day;
    bool is_look;
    double chance[FL_STAGES_MAX]; /* look: that one individual is seen; else: that it lives */
    int n_in;                     /* founders that get in just after it */
} fl_bugs_event;

/* How things really are, for one lot. */
typedef struct fl_bugs_truth {
    double temp_c;
    double slowness;   /* times the degree-days of the slow set */
    double multiplier; /* of what a look sees; capped as the program does */
    double cap;
    double births_per_day; /* of each individual of the last stage */
    double life_days;      /* of it, on average; NAN: it does not die */
} fl_bugs_truth;

/* What became of it. */
typedef struct fl_bugs_fate {
    int found_at; /* index of the first look that showed any; n_events: none did */
    /* alive_after[i]: some individual is alive after event i; up to found_at */
    bool alive_after[FL_BUGS_EVENTS_MAX];
} fl_bugs_fate;

/* Simulates n_founders of a threat; n_events at most FL_BUGS_EVENTS_MAX. It ends with the first
 * look that shows one. */
void fl_bugs_run(const fl_threat *threat, const fl_bugs_truth *truth, int n_founders,
                 const fl_bugs_event *events, int n_events, fl_rng *rng, fl_bugs_fate *out);

#endif
