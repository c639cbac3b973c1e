/* What an evening's steps are recorded as. */
#include <math.h>
#include <stdlib.h>

#include "app/evening_work.h"

static fl_id_list one_lot(const fl_lot *lot, fl_arena *arena)
{
    fl_id *id = FL_ARENA_NEW(arena, fl_id);
    *id = lot->id;
    return (fl_id_list){id, 1};
}

fl_ev_step fl_evening_step_event(const fl_evening *evening, const fl_evening_item *item,
                                 fl_arena *arena)
{
    const double untold = (double)NAN;
    const fl_evening_lot *lot = &evening->lots[item->lot];
    const fl_evening_step *step = &lot->steps[item->step];
    if (step->as_recorded != NULL) { /* it runs: it ends as it was begun */
        return *step->as_recorded;
    }
    fl_ev_step made = {.lots = one_lot(lot->lot, arena),
                       .step = step->plan->step,
                       .agent = step->plan->agent,
                       .dose_mg_per_l = untold,
                       .pct = untold,
                       .temp_c = untold,
                       .minutes = untold};
    if (item->tub > 0) {
        made.tub = fl_evening_tub_name(item->tub, arena);
    }
    if (made.agent == FL_AGENT_BLEACH && evening->has_mix) {
        made.dose_mg_per_l = evening->mix.chlorine_mg_per_l;
        made.pct = evening->mix.product_pct_by_volume;
        made.bottle = evening->bottle != NULL ? evening->bottle->bottle : made.bottle;
    }
    return made;
}

/* The events while they are gathered. */
typedef struct gathered {
    const fl_evening *evening;
    fl_arena *arena;
    fl_event *events;
    size_t n;
} gathered;

static void put_cleaned(gathered *g, fl_sv part, int64_t at_s)
{
    if (fl_id_is_none(g->evening->bench)) {
        return;
    }
    fl_event *event = &g->events[g->n++];
    *event = (fl_event){.kind = FL_KIND_PLACE_CLEANED, .at_s = at_s};
    event->body.place_cleaned = (fl_ev_place_cleaned){.place = g->evening->bench,
                                                      .agent = FL_AGENT_BLEACH,
                                                      .efficacy = (double)NAN,
                                                      .part = part};
}

static void put_step(gathered *g, const fl_evening_item *item)
{
    const fl_evening_step *step = &g->evening->lots[item->lot].steps[item->step];
    fl_event *event = &g->events[g->n++];
    fl_ev_step *made = FL_ARENA_NEW(g->arena, fl_ev_step);
    *made = fl_evening_step_event(g->evening, item, g->arena);
    if (step->state != FL_STEP_RUNS && isnan(made->minutes)) {
        int64_t stood_s = fl_evening_stands(made->step) ? item->out_from_s - item->hands_until_s
                                                        : item->end_s - item->start_s;
        made->minutes = (double)stood_s / 60.0;
    }
    if (made->step == FL_STEP_FREEZE || made->step == FL_STEP_DRY) {
        made->minutes = step->plan->minutes_usual;
    }
    *event = (fl_event){.kind = FL_KIND_STEP_DONE, .at_s = item->end_s};
    event->body.step_done = (fl_ev_step_done){.run = step->run, .steps = made, .n_steps = 1};
}

static void put_item(gathered *g, const fl_evening_item *item)
{
    const fl_evening *e = g->evening;
    switch (item->job) {
    case FL_BENCH_STEP:
        put_step(g, item);
        return;
    case FL_BENCH_DISINFECT_TUB:
        put_cleaned(g, fl_evening_tub_name(item->tub, g->arena), item->hands_until_s);
        return;
    case FL_BENCH_CLOSE_TUBS:
        for (int i = 0; i < e->n_tubs; i++) {
            if ((e->tubs_lost & (1U << i)) == 0) {
                put_cleaned(g, fl_evening_tub_name(i + 1, g->arena), item->end_s);
            }
        }
        return;
    case FL_BENCH_CLOSE_TOOLS:
        put_cleaned(g, FL_SV("tools"), item->end_s);
        return;
    case FL_BENCH_CLOSE_SINK:
        put_cleaned(g, FL_SV("sink"), item->end_s);
        return;
    case FL_BENCH_WASH_HANDS:
    case FL_BENCH_BAG_WASTE:
    case FL_BENCH_POUR_AWAY:
    case FL_BENCH_CONTACT:
    case FL_BENCH_LAST_WASH:
    case FL_BENCH_JOB_COUNT:
        break;
    }
}

/* By time; in one second as they stand: the sheet's own order. */
static void sort_by_time(gathered *g)
{
    for (size_t i = 1; i < g->n; i++) {
        fl_event kept = g->events[i];
        size_t k = i;
        for (; k > 0 && g->events[k - 1].at_s > kept.at_s; k--) {
            g->events[k] = g->events[k - 1];
        }
        g->events[k] = kept;
    }
}

/* Each at its planned end, but none later than now, and each a second after the one before where
 * that is possible: in one second a cleaning would count as before a step. */
static void fit_into_the_past(gathered *g)
{
    int64_t born_s = g->evening->begun_s;
    for (size_t i = 0; i < g->evening->n_lots; i++) {
        int64_t at_s = g->evening->lots[i].lot->born_s;
        born_s = at_s > born_s ? at_s : born_s;
    }
    for (size_t i = 0; i < g->n; i++) {
        int64_t last_s = g->evening->now_s - (int64_t)(g->n - 1 - i);
        int64_t at_s = g->events[i].at_s < last_s ? g->events[i].at_s : last_s;
        g->events[i].at_s = at_s > born_s ? at_s : born_s;
    }
}

void fl_evening_as_planned(const fl_evening *evening, fl_arena *arena, fl_event **out,
                           size_t *count)
{
    gathered g = {.evening = evening, .arena = arena};
    g.events = FL_ARENA_ARRAY(arena, fl_event, evening->n_items + FL_BENCH_TUBS_MAX + 1);
    for (size_t i = 0; i < evening->n_items; i++) {
        put_item(&g, &evening->items[i]);
    }
    sort_by_time(&g);
    fit_into_the_past(&g);
    *out = g.events;
    *count = g.n;
}
