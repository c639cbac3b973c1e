/* The dates of the lots of a place. */
#include "cli/dates.h"

#include <stdio.h>

#include "app/outbreak.h"
#include "app/today.h"
#include "cli/answer.h"
#include "view/words.h"

/* Lots that wait for the gate. */
static bool is_waiting(const fl_session *s, const fl_lot *lot, fl_id place)
{
    if (lot->is_gone || !fl_id_eq(lot->place, place)) {
        return false;
    }
    fl_phase phase = fl_phase_of(&s->room, lot);
    return phase == FL_PHASE_QUARANTINE || phase == FL_PHASE_HELD;
}

static fl_status ask(fl_session *s, const fl_lot *lot, fl_gate_report *report, fl_err *err)
{
    fl_status status = fl_session_chances(s, err);
    if (status == FL_OK) {
        status = fl_gate_ask(s->chances, &s->room, lot, 0, &s->arena, report, err);
    }
    return status;
}

fl_status fl_dates_of_place(fl_session *s, fl_id place, fl_lot_date **out, size_t *count,
                            fl_err *err)
{
    fl_status status = FL_OK;
    size_t n = 0;
    fl_lot_date *dates = FL_ARENA_ARRAY(&s->arena, fl_lot_date, s->room.meaning.n_lots);
    for (size_t i = 0; i < s->room.meaning.n_lots && status == FL_OK; i++) {
        const fl_lot *lot = &s->room.meaning.lots[i];
        fl_gate_report report;
        if (!is_waiting(s, lot, place)) {
            continue;
        }
        status = ask(s, lot, &report, err);
        if (status == FL_OK) {
            dates[n++] = (fl_lot_date){lot->id, fl_outbreak_date_of(&report)};
        }
    }
    if (status == FL_OK) {
        *out = dates;
        *count = n;
    }
    return status;
}

static fl_sv date_word(fl_session *s, int64_t at_s)
{
    return at_s == FL_GATE_NEVER ? FL_SV("no date within half a year") : fl_due_word(s, at_s);
}

fl_status fl_print_moved_dates(fl_session *s, fl_id place, const fl_lot_date *before, size_t count,
                               fl_err *err)
{
    fl_lot_date *after = NULL;
    size_t n_after = 0;
    fl_status status = fl_dates_of_place(s, place, &after, &n_after, err);
    for (size_t i = 0; i < n_after && status == FL_OK; i++) {
        const fl_lot *lot = fl_meaning_lot(&s->room.meaning, after[i].lot);
        for (size_t k = 0; k < count; k++) {
            if (!fl_id_eq(before[k].lot, after[i].lot)) {
                continue;
            }
            fl_sv was = date_word(s, before[k].earliest_s);
            fl_sv now = date_word(s, after[i].earliest_s);
            fl_sv label = fl_lot_label(s, lot);
            if (fl_sv_eq(was, now)) {
                (void)printf("  %.*s: %.*s, as before\n", FL_SV_ARG(label), FL_SV_ARG(now));
            } else {
                (void)printf("  %.*s: was %.*s, now %.*s\n", FL_SV_ARG(label), FL_SV_ARG(was),
                             FL_SV_ARG(now));
            }
        }
    }
    return status;
}

fl_status fl_print_answers(fl_session *s, fl_id place, size_t max, fl_err *err)
{
    fl_status status = FL_OK;
    size_t shown = 0;
    for (size_t i = 0; i < s->room.meaning.n_lots && shown < max && status == FL_OK; i++) {
        const fl_lot *lot = &s->room.meaning.lots[i];
        fl_gate_report report;
        if (!is_waiting(s, lot, place)) {
            continue;
        }
        status = ask(s, lot, &report, err);
        if (status == FL_OK) {
            fl_sv label = fl_lot_label(s, lot);
            fl_sv answer = fl_say_answer(&s->room, &report, &s->arena);
            (void)printf("  %.*s: %.*s\n", FL_SV_ARG(label), FL_SV_ARG(answer));
            shown++;
        }
    }
    return status;
}
