/* Chooses between every plant and a sample. */
#include "app/examine.h"

#include <math.h>

/* The stage of a threat that shows best; *efficacy 0 when none shows. */
static const char *best_stage(const fl_threat *threat, fl_effort effort, unsigned devices,
                              double *efficacy)
{
    const char *stage = "";
    *efficacy = 0.0;
    for (int i = 0; i < threat->n_stages; i++) {
        double detect = fl_know_detect(threat, i, effort, devices, false);
        stage = detect > *efficacy ? threat->stage[i].name : stage;
        *efficacy = fmax(*efficacy, detect);
    }
    return stage;
}

/* The threats come likeliest first. */
static void choose_threat(const fl_gate_report *report, unsigned devices, fl_examine *e)
{
    for (size_t i = 0; i < report->n_threats && e->threat == NULL; i++) {
        const fl_threat *threat = report->threats[i].threat;
        double efficacy = 0.0;
        const char *stage = best_stage(threat, e->effort, devices, &efficacy);
        if (!threat->is_out_of_reach && efficacy > 0.0) {
            e->threat = threat;
            e->stage = stage;
            e->prob_efficacy = efficacy;
        }
    }
}

fl_status fl_examine_lot(const fl_gate_report *report, fl_effort effort, unsigned devices,
                         fl_examine *out, fl_err *err)
{
    fl_examine e = {.lot = report->lot,
                    .n_plants = report->lot->count > 0 ? report->lot->count : 1,
                    .effort = effort,
                    .stage = "",
                    .frac_level = FL_EXAMINE_LEVEL,
                    .prob_confidence = FL_EXAMINE_CONFIDENCE};
    choose_threat(report, devices, &e);
    e.is_every_plant = e.n_plants <= FL_EXAMINE_EVERY_PLANT || e.threat == NULL;
    fl_sample_design design = {.lot_size = e.n_plants,
                               .frac_level = e.frac_level,
                               .prob_confidence = e.prob_confidence,
                               .prob_efficacy = e.prob_efficacy,
                               .method = FL_SAMPLE_HYPERGEOMETRIC,
                               .rounding = FL_SAMPLE_FLOOR};
    fl_status status = FL_OK;
    if (!e.is_every_plant) {
        status = fl_sample_size_of(&design, &e.floor, err);
        design.rounding = FL_SAMPLE_CEIL;
        status = status == FL_OK ? fl_sample_size_of(&design, &e.ceil, err) : status;
    }
    if (status == FL_OK) {
        *out = e;
    }
    return status;
}
