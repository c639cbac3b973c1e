/* A clearance scenario: one threat's chain, one batch, one record of days, as a JSON object. It is
 * what `reckon clearance` reads; it needs no room and knows no threat by name. The form is fixed
 * (docs/models/clearance.md); unknown keys are refused, so that a slip of the pen is not a silent
 * default. The colony rule is not applied here. */
#ifndef FL_APP_SCENARIO_H
#define FL_APP_SCENARIO_H

#include <stdbool.h>
#include <stddef.h>

#include "base/err.h"
#include "base/sv.h"
#include "core/clear/filter.h"

#define FL_SCENARIO_BYTES_MAX (8U * 1024U * 1024U)
#define FL_SCENARIO_DAYS_MAX 3653
#define FL_SCENARIO_EVENTS_MAX 2000

/* Something done on a day; a treatment comes before a look. */
typedef struct fl_scenario_event {
    int day; /* 0 to days */
    bool is_treatment;
    double survival[FL_STAGES_MAX]; /* of a treatment, by stage */
    double share_examined;          /* of a look, 0 to 1 */
} fl_scenario_event;

/* Everything a scenario says. Own the whole: fl_scenario_done. */
typedef struct fl_scenario {
    fl_stage_model model;
    double detect[FL_STAGES_MAX];
    bool has_shares; /* else the start is one substage */
    double share[FL_STAGES_MAX];
    int substage;
    double prior;
    fl_founders many;
    int n_mix;
    double multiplier[FL_MIXTURE_MAX];
    double weight[FL_MIXTURE_MAX];
    double *temps_c; /* at least 24 * days values, owned; NULL: temp_c throughout */
    double temp_c;
    int days;
    fl_scenario_event *event; /* by day, treatments first, else as written; owned */
    size_t n_events;
} fl_scenario;

/* One day's answer, after the day's events. */
typedef struct fl_scenario_day {
    fl_filter_masses mass;                /* means over the multipliers */
    double alive_by_stage[FL_STAGES_MAX]; /* means too */
    fl_chance chance;
} fl_scenario_day;

/* Reads a scenario. *out is owned by the caller on success and untouched otherwise. FL_EFORMAT (no
 * JSON), FL_EINVAL and FL_EDOMAIN (a key, a type, a value), FL_ETOOBIG; the message says where. */
fl_status fl_scenario_parse(fl_sv text, fl_scenario *out, fl_err *err) FL_MUST_USE;

/* NULL and an all-zero struct are fine. */
void fl_scenario_done(fl_scenario *scenario);

/* Runs the scenario into day[days + 1]. Errors are those of the filter. */
fl_status fl_scenario_run(const fl_scenario *scenario, fl_scenario_day *day,
                          fl_err *err) FL_MUST_USE;

#endif
