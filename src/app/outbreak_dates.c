/* Two answers of the gate for each lot that waits: the room as it is, and as it would be had the
 * find been nothing. */
#include "app/outbreak.h"
#include "app/today.h"

int64_t fl_outbreak_date_of(const fl_gate_report *report)
{
    const fl_condition *c = report->answer.conditions;
    int64_t at_s = c[FL_CONDITION_CHANCE].earliest_s;
    at_s = c[FL_CONDITION_GUARD].earliest_s > at_s ? c[FL_CONDITION_GUARD].earliest_s : at_s;
    return c[FL_CONDITION_LEAST_DAYS].earliest_s > at_s ? c[FL_CONDITION_LEAST_DAYS].earliest_s
                                                        : at_s;
}

/* Reached, still here, and waiting for the gate. */
static bool is_waiting(const fl_room *room, const fl_trace_reached *r)
{
    fl_phase phase = r->lot->is_gone ? FL_PHASE_GONE : fl_phase_of(room, r->lot);
    return r->prob >= FL_OUTBREAK_LEAST && (phase == FL_PHASE_QUARANTINE || phase == FL_PHASE_HELD);
}

static fl_status date_in(const fl_room *room, fl_chances *chances, fl_id lot, fl_arena *arena,
                         int64_t *out, fl_err *err)
{
    fl_gate_report report;
    fl_status status =
        fl_gate_ask(chances, room, fl_meaning_lot(&room->meaning, lot), 0, arena, &report, err);
    if (status == FL_OK) {
        *out = fl_outbreak_date_of(&report);
    }
    return status;
}

/* The same lots in a room where the find was taken back. */
static fl_status dates_without(const fl_room *room, fl_app *app, const fl_outbreak *outbreak,
                               fl_arena *arena, fl_outbreak_dates *dates, fl_err *err)
{
    fl_room without;
    fl_chances *chances = NULL;
    fl_event back = {.kind = FL_KIND_FINDING_RETRACTED, .at_s = room->now_s};
    back.id = fl_id_derive(outbreak->trace.finding->finding, FL_SV("had it been nothing"));
    back.body.finding_retracted.finding = outbreak->trace.finding->finding;
    fl_status status = fl_room_with(room, &back, 1, &without, err);
    if (status != FL_OK) {
        return status;
    }
    status = fl_chances_new(&without, app, &chances, err);
    for (size_t i = 0; i < dates->n && status == FL_OK; i++) {
        status =
            date_in(&without, chances, dates->list[i].lot->id, arena, &dates->list[i].was_s, err);
    }
    fl_chances_free(chances);
    fl_room_done(&without);
    return status;
}

fl_status fl_outbreak_ask_dates(const fl_room *room, fl_app *app, fl_chances *chances,
                                const fl_outbreak *outbreak, fl_arena *arena,
                                fl_outbreak_dates *out, fl_err *err)
{
    fl_outbreak_dates dates = {.n = 0};
    fl_status status = FL_OK;
    bool is_asked = outbreak->is_traced && outbreak->trace.finding != NULL &&
                    outbreak->state == FL_OUTBREAK_OPEN;
    for (size_t i = 0; is_asked && i < outbreak->trace.n_reached && status == FL_OK &&
                       dates.n < FL_OUTBREAK_DATES_MAX;
         i++) {
        const fl_trace_reached *r = &outbreak->trace.reached[i];
        if (is_waiting(room, r)) {
            fl_outbreak_date *date = &dates.list[dates.n++];
            *date = (fl_outbreak_date){.lot = r->lot};
            status = date_in(room, chances, r->lot->id, arena, &date->now_s, err);
        }
    }
    if (status == FL_OK && dates.n > 0) {
        status = dates_without(room, app, outbreak, arena, &dates, err);
    }
    if (status == FL_OK) {
        *out = dates;
    }
    return status;
}
