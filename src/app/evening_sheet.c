/* The run sheet of what is left: tonight's steps as a plan for core/bench, with tubs and hands as
 * the journal left them, and its answer as moments. */
#include <assert.h>
#include <math.h>
#include <string.h>

#include "app/evening_work.h"
#include "base/alloc.h"

/* Hands at the two ends of a step that stands, and at what goes into an oven or a pot (assumed). */
#define HANDS_TUB_S 30
#define HANDS_HEAT_S 60
#define EFFORT_RANGE 120000

typedef enum pace { PACE_USUAL = 0, PACE_LOW, PACE_HIGH } pace;

/* A plan while it is made. */
typedef struct draft {
    fl_evening_work *w;
    int64_t from_s; /* when hands are free: second 0 of the sheet */
    fl_bench_lot lots[FL_BENCH_LOTS_MAX];
    fl_bench_step steps[FL_BENCH_LOTS_MAX][FL_EVENING_STEPS_MAX];
    int lot_of[FL_BENCH_LOTS_MAX]; /* index into the evening's lots */
    int step_of[FL_BENCH_LOTS_MAX][FL_BENCH_STEPS_MAX];
    int tub_of[FL_BENCH_TUBS_MAX]; /* the number of the plan's tub */
    fl_bench_begun begun;
    fl_bench_plan plan;
} draft;

/* ---- tubs and hands ---- */

static int tub_index(const draft *d, int number)
{
    for (int i = 0; i < d->plan.n_tubs; i++) {
        if (d->tub_of[i] == number) {
            return i;
        }
    }
    return -1;
}

static fl_sv purchase_at(const draft *d, const fl_id_list *lots)
{
    const fl_lot *lot =
        lots->count == 0 ? NULL : fl_meaning_lot(&d->w->room->meaning, lots->ids[0]);
    return lot == NULL ? FL_SV("") : fl_evening_purchase_of(lot, d->w->arena);
}

static void note_step(draft *d, const fl_ev_step *step)
{
    int tub = tub_index(d, fl_evening_tub_number(step->tub));
    fl_sv purchase = purchase_at(d, &step->lots);
    d->begun.hands_purchase = purchase;
    if (tub >= 0) {
        d->begun.tub_purchase[tub] = purchase;
        d->begun.tub_ready_s[tub] = 0;
    }
}

static void note_cleaned(draft *d, const fl_event *event)
{
    const fl_ev_place_cleaned *body = &event->body.place_cleaned;
    int tub = tub_index(d, fl_evening_tub_number(body->part));
    if (tub >= 0) {
        int64_t ready_s = event->at_s + d->plan.chores.tub_contact_s - d->from_s;
        d->begun.tub_purchase[tub] = FL_SV("");
        d->begun.tub_ready_s[tub] = ready_s > 0 ? (int)ready_s : 0;
    }
    if (fl_sv_eq_cstr(body->part, "sink")) {
        d->w->out->is_closed_up = true;
    }
}

/* What tonight's events say of tubs and hands. */
static void read_begun(draft *d)
{
    const fl_room *room = d->w->room;
    for (size_t i = 0; i < room->n_events; i++) {
        const fl_event *event = &room->events[i];
        if (event->at_s < d->w->out->begun_s || event->at_s > room->now_s) {
            continue;
        }
        if (event->kind == FL_KIND_STEP_STARTED) {
            note_step(d, &event->body.step_started.step);
            d->w->out->is_closed_up = false;
        } else if (event->kind == FL_KIND_STEP_DONE) {
            for (size_t k = 0; k < event->body.step_done.n_steps; k++) {
                note_step(d, &event->body.step_done.steps[k]);
            }
            /* several steps in one are "all as planned": closing up is part of that */
            d->w->out->is_closed_up = event->body.step_done.n_steps > 1;
        } else if (event->kind == FL_KIND_PLACE_CLEANED) {
            note_cleaned(d, event);
        }
    }
}

/* The most suspect of what was touched. */
static void find_touched(draft *d)
{
    const fl_evening *out = d->w->out;
    for (size_t i = 0; i < out->n_lots; i++) {
        const fl_evening_lot *lot = &out->lots[i];
        bool was_touched = false;
        for (int k = 0; k < lot->n_steps; k++) {
            was_touched =
                was_touched ||
                (lot->steps[k].as_recorded != NULL &&
                 (lot->steps[k].state == FL_STEP_RUNS || lot->steps[k].ended_s >= out->begun_s));
        }
        if (!was_touched) {
            continue;
        }
        bool is_worse =
            !d->begun.has_touched || (d->begun.is_established && !lot->is_established) ||
            (d->begun.is_established == lot->is_established && lot->risk > d->begun.risk);
        if (is_worse) {
            d->begun.has_touched = true;
            d->begun.is_established = lot->is_established;
            d->begun.risk = lot->risk;
        }
    }
}

/* ---- steps ---- */

static int paced_s(const fl_evening_lot *lot, const fl_evening_step *step, pace p)
{
    const fl_prep_step *plan = step->plan;
    double usual_s = (double)fl_evening_planned_s(lot, step);
    /* half way to the ends of the range: not every step is slow on one evening (assumed) */
    double share = p == PACE_LOW    ? 0.5 + 0.5 * plan->minutes_low / plan->minutes_usual
                   : p == PACE_HIGH ? 0.5 + 0.5 * plan->minutes_high / plan->minutes_usual
                                    : 1.0;
    return (int)llround(fmin(usual_s * share, (double)FL_BENCH_STEP_S_MAX));
}

static fl_bench_step bench_step(const fl_evening_lot *lot, const fl_evening_step *step, pace p)
{
    fl_step kind = step->plan->step;
    int time_s = paced_s(lot, step, p);
    fl_bench_step s = {.name = fl_sv_from_cstr(fl_words_step[kind].word), .may_overrun = true};
    if (!fl_evening_stands(kind)) {
        s.hands_s = time_s;
    } else if (kind == FL_STEP_FREEZE || kind == FL_STEP_DRY) {
        s.hands_s = HANDS_HEAT_S; /* it goes on when the evening is over */
    } else {
        s.unattended_s = time_s;
        s.needs_tub = fl_evening_needs_tub(kind);
        s.may_overrun = kind != FL_STEP_DIP;
        if (kind != FL_STEP_DRAIN) {
            s.hands_s = s.needs_tub ? HANDS_TUB_S : HANDS_HEAT_S;
            s.out_s = s.hands_s;
        }
    }
    return s;
}

/* The first step of a lot when it stands since before now. */
static void set_running(draft *d, fl_bench_lot *b, const fl_evening_step *step)
{
    fl_bench_step *first = &d->steps[b - d->lots][0];
    int64_t ran_s = d->from_s - step->started_s;
    b->is_running = true;
    b->ran_s = ran_s > 0 ? (int)(ran_s < 10 * FL_BENCH_STEP_S_MAX ? ran_s : 864000) : 0;
    b->tub = tub_index(d, fl_evening_tub_number(step->as_recorded->tub));
    first->hands_s = 0;
    first->unattended_s =
        (int)(step->planned_s < FL_BENCH_STEP_S_MAX ? step->planned_s : FL_BENCH_STEP_S_MAX);
    if (b->tub < 0 && first->needs_tub) {
        first->needs_tub = false; /* in a tub that is none of these: it still comes out by hand */
        first->out_s = HANDS_TUB_S;
    }
}

static bool is_hands_on(const fl_evening_step *step)
{
    return step->state == FL_STEP_RUNS && !fl_evening_stands(step->plan->step);
}

/* True for what the sheet still has to place: hands that are at work are free only after it, and
 * what freezes or dries goes on by itself. */
static bool is_to_place(const fl_evening_step *step)
{
    fl_step kind = step->plan->step;
    bool goes_on = kind == FL_STEP_FREEZE || kind == FL_STEP_DRY;
    return step->state == FL_STEP_WAITS ||
           (step->state == FL_STEP_RUNS && fl_evening_stands(kind) && !goes_on);
}

static void add_lot(draft *d, int index, pace p)
{
    const fl_evening_lot *lot = &d->w->out->lots[index];
    int n = (int)d->plan.n_lots;
    fl_bench_lot *b = &d->lots[n];
    *b = (fl_bench_lot){.name = fl_room_lot_name(d->w->room, lot->lot),
                        .purchase = lot->purchase,
                        .risk = lot->risk,
                        .is_established = lot->is_established,
                        .steps = d->steps[n],
                        .tub = -1};
    for (int i = lot->next; i < lot->n_steps; i++) {
        if (b->n_steps < FL_BENCH_STEPS_MAX && is_to_place(&lot->steps[i])) {
            d->step_of[n][b->n_steps] = i;
            d->steps[n][b->n_steps++] = bench_step(lot, &lot->steps[i], p);
        }
    }
    if (b->n_steps == 0) {
        return;
    }
    const fl_evening_step *first = &lot->steps[d->step_of[n][0]];
    if (first->state == FL_STEP_RUNS) {
        set_running(d, b, first);
    }
    d->lot_of[n] = index;
    d->plan.n_lots++;
}

/* When hands are free: now, or when the hands-on steps at work should be over. */
static int64_t hands_free_s(const fl_evening *out, int64_t start_s)
{
    int64_t from_s = out->now_s;
    if (out->begun_s == INT64_MIN && start_s != INT64_MIN) {
        return start_s;
    }
    for (size_t i = 0; i < out->n_lots; i++) {
        const fl_evening_lot *lot = &out->lots[i];
        for (int k = 0; k < lot->n_steps; k++) {
            int64_t due_s = lot->steps[k].started_s + lot->steps[k].planned_s;
            from_s = is_hands_on(&lot->steps[k]) && due_s > from_s ? due_s : from_s;
        }
    }
    return from_s;
}

static void make_draft(draft *d, fl_evening_work *w, pace p)
{
    memset(d, 0, sizeof *d);
    d->w = w;
    d->from_s = hands_free_s(w->out, w->options->start_s);
    d->plan.lots = d->lots;
    d->plan.chores = fl_bench_chores_usual();
    for (int i = 0; i < w->out->n_tubs; i++) {
        if ((w->out->tubs_lost & (1U << i)) == 0) {
            d->tub_of[d->plan.n_tubs++] = i + 1;
        }
    }
    if (w->out->begun_s != INT64_MIN) {
        d->plan.begun = &d->begun;
        read_begun(d);
        find_touched(d);
    }
    for (size_t i = 0; i < w->out->n_lots; i++) {
        add_lot(d, (int)i, p);
    }
}

/* ---- the answer ---- */

static void put_hands_on(fl_evening *out)
{
    for (size_t i = 0; i < out->n_lots; i++) {
        for (int k = 0; k < out->lots[i].n_steps; k++) {
            const fl_evening_step *step = &out->lots[i].steps[k];
            if (is_hands_on(step)) {
                int64_t end_s = step->started_s + step->planned_s;
                out->items[out->n_items++] = (fl_evening_item){.job = FL_BENCH_STEP,
                                                               .lot = (int)i,
                                                               .step = k,
                                                               .start_s = step->started_s,
                                                               .hands_until_s = end_s,
                                                               .out_from_s = end_s,
                                                               .end_s = end_s};
            }
        }
    }
}

static void put_items(const draft *d, const fl_bench_sheet *sheet)
{
    fl_evening *out = d->w->out;
    out->items = FL_ARENA_ARRAY(d->w->arena, fl_evening_item,
                                sheet->n_items + FL_BENCH_LOTS_MAX * FL_EVENING_STEPS_MAX);
    put_hands_on(out);
    for (size_t i = 0; i < sheet->n_items; i++) {
        const fl_bench_item *from = &sheet->items[i];
        fl_evening_item *to = &out->items[out->n_items++];
        *to = (fl_evening_item){.job = from->job,
                                .lot = from->lot < 0 ? -1 : d->lot_of[from->lot],
                                .step = -1,
                                .tub = from->tub < 0 ? 0 : d->tub_of[from->tub],
                                .start_s = d->from_s + from->start_s,
                                .hands_until_s = d->from_s + from->hands_until_s,
                                .out_from_s = d->from_s + from->out_from_s,
                                .end_s = d->from_s + from->end_s};
        if (from->lot >= 0) {
            to->step = d->step_of[from->lot][from->step];
        }
    }
}

/* The evening's length at another pace, from the same state; the usual one's when it fails. */
static int64_t finish_at_pace(fl_evening_work *w, draft *d, void *memory, fl_bench_sheet *sheet,
                              pace p)
{
    make_draft(d, w, p);
    if (fl_bench_schedule(&d->plan, EFFORT_RANGE, memory, sheet, NULL) != FL_OK) {
        return w->out->finish_s;
    }
    return d->from_s + sheet->finish_s;
}

fl_status fl_evening_schedule(fl_evening_work *w, fl_err *err)
{
    fl_evening *out = w->out;
    out->start_s = out->finish_s = out->finish_low_s = out->finish_high_s = out->bound_s =
        out->now_s;
    out->is_optimal = true;
    if (out->n_lots == 0) {
        return FL_OK;
    }
    draft *d = fl_alloc(1, sizeof *d);
    void *memory = fl_alloc(1, fl_bench_work_bytes());
    fl_bench_sheet *sheet = fl_alloc(1, sizeof *sheet);
    make_draft(d, w, PACE_USUAL);
    fl_status status = FL_OK;
    bool has_work = d->plan.n_lots > 0 || (d->plan.begun != NULL && !out->is_closed_up);
    if (has_work) {
        status = fl_bench_schedule(&d->plan, w->options->effort, memory, sheet, err);
    }
    if (has_work && status == FL_OK) {
        put_items(d, sheet);
        out->start_s = out->begun_s != INT64_MIN ? out->begun_s : d->from_s;
        out->finish_s = d->from_s + sheet->finish_s;
        out->bound_s = d->from_s + sheet->bound_s;
        out->is_optimal = sheet->is_optimal;
        int64_t low_s = finish_at_pace(w, d, memory, sheet, PACE_LOW);
        int64_t high_s = finish_at_pace(w, d, memory, sheet, PACE_HIGH);
        out->finish_low_s = low_s < out->finish_s ? low_s : out->finish_s;
        out->finish_high_s = high_s > out->finish_s ? high_s : out->finish_s;
    }
    fl_alloc_free(sheet);
    fl_alloc_free(memory);
    fl_alloc_free(d);
    return status;
}
