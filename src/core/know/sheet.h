/* One threat's figures on one sheet: what know.h finds in its tables by words, remembered the first
 * time it is asked for. For those who ask for the same few figures a thousand times over (a walk
 * through a room's history). Same answers as know.h, to the last bit. */
#ifndef FL_CORE_KNOW_SHEET_H
#define FL_CORE_KNOW_SHEET_H

#include "core/know/know.h"

/* The caller's storage; begun with fl_sheet_begin. */
typedef struct fl_sheet {
    const fl_threat *threat;
    bool has_survival[FL_STEP_COUNT][FL_AGENT_COUNT];
    bool has_link[FL_LINK_COUNT];
    bool has_detect[FL_EFFORT_COUNT][1U << FL_DEVICE_COUNT][2];
    bool has_room;
    fl_know_survival survival[FL_STEP_COUNT][FL_AGENT_COUNT][FL_STAGES_MAX];
    double link[FL_LINK_COUNT][FL_STAGES_MAX];
    double detect[FL_EFFORT_COUNT][1U << FL_DEVICE_COUNT][2][FL_STAGES_MAX];
    double room_per_opening;
    double room_per_day[2]; /* [has_gasket] */
} fl_sheet;

/* An empty sheet for a threat with at least one stage. */
void fl_sheet_begin(fl_sheet *sheet, const fl_threat *threat);

/* As fl_know_survival_of. */
fl_know_survival fl_sheet_survival(fl_sheet *sheet, int stage, fl_step step, fl_agent agent);

/* As fl_know_link_stage_factor, for every stage: [n_stages]. The array is the sheet's. */
const double *fl_sheet_link(fl_sheet *sheet, fl_link link);

/* As fl_know_detect, for every stage: [n_stages]. The array is the sheet's. */
const double *fl_sheet_detect(fl_sheet *sheet, fl_effort effort, unsigned devices,
                              bool is_after_dark);

/* As fl_know_room_per_opening and fl_know_room_per_day. */
double fl_sheet_room_per_opening(fl_sheet *sheet);
double fl_sheet_room_per_day(fl_sheet *sheet, bool has_gasket);

#endif
