/* A lot's steps, and what the journal says of each: the plan is walked along the record, so that
 * what was done in another order, left out or stopped is seen as such. */
#include <math.h>

#include "app/evening_work.h"

bool fl_evening_stands(fl_step step)
{
    return step != FL_STEP_STRIP && step != FL_STEP_RINSE && step != FL_STEP_POT_UP;
}

bool fl_evening_needs_tub(fl_step step)
{
    return step == FL_STEP_SOAK || step == FL_STEP_DIP || step == FL_STEP_NEUTRALISE;
}

int64_t fl_evening_planned_s(const fl_evening_lot *lot, const fl_evening_step *step)
{
    double minutes = step->plan->minutes_usual;
    if (!fl_evening_stands(step->plan->step)) {
        /* each further plant takes half as long, up to four times the first (assumed) */
        double plants = lot->lot->count > 1 ? (double)lot->lot->count : 1.0;
        minutes *= fmin(1.0 + 0.5 * (plants - 1.0), 4.0);
    }
    return llround(minutes * 60.0);
}

static bool lists(const fl_id_list *list, fl_id id)
{
    for (size_t i = 0; i < list->count; i++) {
        if (fl_id_eq(list->ids[i], id)) {
            return true;
        }
    }
    return false;
}

/* The lot, or one it was split from before this moment. */
static bool was_at(const fl_room *room, const fl_ev_step *step, const fl_lot *lot, int64_t at_s)
{
    for (int depth = 0; lot != NULL && depth < 32; depth++) {
        if (lists(&step->lots, lot->id)) {
            return true;
        }
        if (lot->origin != FL_KIND_LOT_SPLIT || at_s >= lot->born_s) {
            return false;
        }
        lot = fl_meaning_lot(&room->meaning, lot->mother);
    }
    return false;
}

/* The lot's next planned step of this kind from `from` on; n_steps: none. A step in another agent
 * than planned counts as the planned one. */
static int find_step(const fl_evening_lot *lot, int from, const fl_ev_step *step)
{
    int other = lot->n_steps;
    for (int i = from; i < lot->n_steps; i++) {
        const fl_prep_step *plan = lot->steps[i].plan;
        if (plan->step == step->step && plan->agent == step->agent) {
            return i;
        }
        if (plan->step == step->step && other == lot->n_steps) {
            other = i;
        }
    }
    return other;
}

/* Notes one record of a step: where it stands in the plan, and that what was before was passed. */
static void note(fl_evening_lot *lot, const fl_evening_step *seen)
{
    int at = find_step(lot, lot->next, seen->as_recorded);
    if (at == lot->n_steps) {
        /* late, or not in the plan at all: it counts for the chances all the same */
        at = find_step(lot, 0, seen->as_recorded);
        if (at < lot->n_steps && lot->steps[at].state == FL_STEP_PASSED) {
            const fl_prep_step *late = lot->steps[at].plan;
            lot->steps[at] = *seen;
            lot->steps[at].plan = late;
        }
        return;
    }
    for (int i = lot->next; i < at; i++) {
        lot->steps[i].state = FL_STEP_PASSED;
    }
    const fl_prep_step *plan = lot->steps[at].plan;
    lot->steps[at] = *seen;
    lot->steps[at].plan = plan;
    lot->next = at + 1;
}

static void expand(fl_evening_lot *lot)
{
    for (int i = 0; i < lot->plan.n_steps; i++) {
        for (int time = 0; time < lot->plan.steps[i].times; time++) {
            if (lot->n_steps < FL_EVENING_STEPS_MAX) {
                lot->steps[lot->n_steps++] = (fl_evening_step){
                    .plan = &lot->plan.steps[i], .started_s = INT64_MIN, .ended_s = INT64_MIN};
            }
        }
    }
}

static void read_started(const fl_evening_work *w, const fl_event *event, fl_evening_lot *lot)
{
    const fl_ev_step_started *body = &event->body.step_started;
    const fl_event *end = fl_room_end_of_run(w->room, body->run);
    if (!was_at(w->room, &body->step, lot->lot, event->at_s) ||
        (end != NULL && end->kind == FL_KIND_STEP_DONE)) {
        return; /* a done one is read where it ended */
    }
    note(lot, &(fl_evening_step){.state = end == NULL ? FL_STEP_RUNS : FL_STEP_STOPPED,
                                 .run = body->run,
                                 .started_s = event->at_s,
                                 .ended_s = end == NULL ? INT64_MIN : end->at_s,
                                 .planned_s = body->planned_s,
                                 .as_recorded = &body->step});
}

static int64_t start_of(const fl_room *room, fl_id run)
{
    for (size_t i = 0; i < room->n_events && !fl_id_is_none(run); i++) {
        const fl_event *event = &room->events[i];
        if (event->kind == FL_KIND_STEP_STARTED && fl_id_eq(event->body.step_started.run, run)) {
            return event->at_s;
        }
    }
    return INT64_MIN;
}

static void read_done(const fl_evening_work *w, const fl_event *event, fl_evening_lot *lot)
{
    const fl_ev_step_done *body = &event->body.step_done;
    for (size_t i = 0; i < body->n_steps; i++) {
        if (was_at(w->room, &body->steps[i], lot->lot, event->at_s)) {
            note(lot, &(fl_evening_step){.state = FL_STEP_IS_DONE,
                                         .run = body->run,
                                         .started_s = start_of(w->room, body->run),
                                         .ended_s = event->at_s,
                                         .as_recorded = &body->steps[i]});
        }
    }
}

void fl_evening_read_steps(const fl_evening_work *w, fl_evening_lot *lot)
{
    expand(lot);
    int64_t since_s = fl_steps_since(w->room, lot->lot);
    for (size_t i = 0; i < w->room->n_events; i++) {
        const fl_event *event = &w->room->events[i];
        if (event->at_s < since_s) {
            continue;
        }
        if (event->kind == FL_KIND_STEP_STARTED) {
            read_started(w, event, lot);
        } else if (event->kind == FL_KIND_STEP_DONE) {
            read_done(w, event, lot);
        }
    }
    for (int i = 0; i < lot->n_steps; i++) { /* what runs is what is next */
        if (lot->steps[i].state == FL_STEP_RUNS) {
            lot->next = i;
            break;
        }
    }
}
