/* Fills a threat's sheet as it is asked. */
#include "core/know/sheet.h"

#include <assert.h>
#include <string.h>

#define DEVICE_MASK ((1U << FL_DEVICE_COUNT) - 1U)

void fl_sheet_begin(fl_sheet *sheet, const fl_threat *threat)
{
    assert(threat->n_stages > 0);
    memset(sheet, 0, sizeof *sheet);
    sheet->threat = threat;
}

fl_know_survival fl_sheet_survival(fl_sheet *sheet, int stage, fl_step step, fl_agent agent)
{
    fl_know_survival *of = sheet->survival[step][agent];
    if (!sheet->has_survival[step][agent]) {
        for (int i = 0; i < sheet->threat->n_stages; i++) {
            of[i] = fl_know_survival_of(sheet->threat, i, step, agent);
        }
        sheet->has_survival[step][agent] = true;
    }
    return of[stage];
}

const double *fl_sheet_link(fl_sheet *sheet, fl_link link)
{
    if (!sheet->has_link[link]) {
        for (int i = 0; i < sheet->threat->n_stages; i++) {
            sheet->link[link][i] = fl_know_link_stage_factor(sheet->threat, i, link);
        }
        sheet->has_link[link] = true;
    }
    return sheet->link[link];
}

const double *fl_sheet_detect(fl_sheet *sheet, fl_effort effort, unsigned devices,
                              bool is_after_dark)
{
    unsigned read = devices & DEVICE_MASK; /* the tables know of no other */
    int dark = is_after_dark ? 1 : 0;
    double *of = sheet->detect[effort][read][dark];
    if (!sheet->has_detect[effort][read][dark]) {
        for (int i = 0; i < sheet->threat->n_stages; i++) {
            of[i] = fl_know_detect(sheet->threat, i, effort, read, is_after_dark);
        }
        sheet->has_detect[effort][read][dark] = true;
    }
    return of;
}

static void fill_room(fl_sheet *sheet)
{
    if (!sheet->has_room) {
        sheet->room_per_opening = fl_know_room_per_opening(sheet->threat);
        sheet->room_per_day[0] = fl_know_room_per_day(sheet->threat, false);
        sheet->room_per_day[1] = fl_know_room_per_day(sheet->threat, true);
        sheet->has_room = true;
    }
}

double fl_sheet_room_per_opening(fl_sheet *sheet)
{
    fill_room(sheet);
    return sheet->room_per_opening;
}

double fl_sheet_room_per_day(fl_sheet *sheet, bool has_gasket)
{
    fill_room(sheet);
    return sheet->room_per_day[has_gasket ? 1 : 0];
}
