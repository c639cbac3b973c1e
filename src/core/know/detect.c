/* What a look can see, by where a stage lives, the look's effort and the devices that were read. */
#include <assert.h>
#include <math.h>

#include "core/know/know.h"
#include "core/know/scope.h"
#include "data/detectability.h"
#include "data/devices.h"
#include "data/visibility.h"

#define CHANCE_CAP 0.95 /* docs/decisions/0002: no look sees more than this */

_Static_assert(fl_rows_detectability_count == FL_MULTIPLIERS, "one row a multiplier");
_Static_assert(fl_rows_visibility_count == FL_WHERE_COUNT, "one row a where");

static const struct fl_row_visibility *visibility_row(fl_where where)
{
    static const char *const words[FL_WHERE_COUNT] = {[FL_WHERE_PLAIN] = "plain",
                                                      [FL_WHERE_LENS] = "lens",
                                                      [FL_WHERE_ROOT] = "root",
                                                      [FL_WHERE_HIDDEN] = "hidden"};
    for (size_t i = 0; i < fl_rows_visibility_count; i++) {
        if (fl_scope_is(fl_rows_visibility[i].lives, words[where])) {
            return &fl_rows_visibility[i];
        }
    }
    assert(false && "every word has its row: a test checks it");
    return &fl_rows_visibility[0];
}

static double by_effort(const struct fl_row_visibility *row, fl_effort effort)
{
    switch (effort) {
    case FL_EFFORT_GLANCE:
        return row->glance;
    case FL_EFFORT_CAREFUL:
        return row->careful;
    case FL_EFFORT_ROOTS:
        return row->roots;
    case FL_EFFORT_COUNT:
        break;
    }
    assert(false && "an effort");
    return 0.0;
}

static double device_gain(const fl_threat *threat, const char *stage, unsigned devices)
{
    double gain = 0.0;
    for (size_t i = 0; i < fl_rows_devices_count; i++) {
        const struct fl_row_devices *row = &fl_rows_devices[i];
        for (int d = 0; d < FL_DEVICE_COUNT; d++) {
            if ((devices & (1u << d)) != 0 && fl_scope_is(row->device, fl_words_device[d].word) &&
                fl_scope_is(row->threat, threat->code) && fl_scope_is(row->stage, stage)) {
                gain += row->gain;
            }
        }
    }
    return gain;
}

double fl_know_detect(const fl_threat *threat, int stage, fl_effort effort, unsigned devices,
                      bool is_after_dark)
{
    assert(stage >= 0 && stage < threat->n_stages);
    const fl_know_stage *of = &threat->stage[stage];
    const struct fl_row_visibility *row = visibility_row(of->where);
    double chance = by_effort(row, effort);
    if (is_after_dark && of->is_night_active && row->after_dark_to > chance) { /* NaN: no gain */
        chance = row->after_dark_to;
    }
    return fmin(CHANCE_CAP, chance + device_gain(threat, of->name, devices));
}

fl_know_mixture fl_know_detectability(void)
{
    fl_know_mixture mixture = {.cap = CHANCE_CAP};
    for (size_t i = 0; i < FL_MULTIPLIERS; i++) {
        mixture.multiplier[i] = fl_rows_detectability[i].multiplier;
        mixture.weight_low[i] = fl_rows_detectability[i].weight_low;
        mixture.weight_middle[i] = fl_rows_detectability[i].weight_middle;
        mixture.weight_high[i] = fl_rows_detectability[i].weight_high;
    }
    return mixture;
}
