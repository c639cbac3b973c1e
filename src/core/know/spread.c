/* How a threat gets about: over links between carriers, and from the room itself. */
#include <assert.h>

#include "core/know/know.h"
#include "core/know/scope.h"
#include "data/links.h"
#include "data/room.h"

static double factor_over(const fl_threat *threat, fl_link link)
{
    double factor = 0.0;
    int best_rank = 0;
    for (size_t i = 0; i < fl_rows_links_count; i++) {
        const struct fl_row_links *row = &fl_rows_links[i];
        int rank = fl_scope_rank(threat, row->scope);
        if (rank > best_rank && fl_scope_is(row->link, fl_words_link[link].word)) {
            factor = row->factor;
            best_rank = rank;
        }
    }
    return factor;
}

double fl_know_link_factor(const fl_threat *threat, fl_link link)
{
    double factor = factor_over(threat, link);
    if (link != FL_LINK_CUTTING || threat->n_stages == 0) {
        return factor;
    }
    double riding = 0.0;
    for (int i = 0; i < threat->n_stages; i++) {
        riding += threat->stage[i].rides_a_cutting ? threat->stage[i].start_share : 0.0;
    }
    return factor * riding;
}

double fl_know_link_stage_factor(const fl_threat *threat, int stage, fl_link link)
{
    assert(stage >= 0 && stage < threat->n_stages);
    if (link == FL_LINK_CUTTING && !threat->stage[stage].rides_a_cutting) {
        return 0.0;
    }
    return factor_over(threat, link);
}

static const struct fl_row_room *room_row(const fl_threat *threat)
{
    const struct fl_row_room *best = &fl_rows_room[0];
    int best_rank = 0;
    for (size_t i = 0; i < fl_rows_room_count; i++) {
        int rank = fl_scope_rank(threat, fl_rows_room[i].scope);
        if (rank > best_rank) {
            best = &fl_rows_room[i];
            best_rank = rank;
        }
    }
    return best;
}

double fl_know_room_per_opening(const fl_threat *threat)
{
    return room_row(threat)->per_opening;
}

double fl_know_room_per_day(const fl_threat *threat, bool has_gasket)
{
    return has_gasket ? 0.0 : room_row(threat)->per_day_without_gasket;
}
