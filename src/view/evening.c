/* The evening as JSON. The web shows and collects: what it records stands here ready made. */
#include "view/evening.h"

#include <math.h>
#include <string.h>

#include "view/put.h"
#include "view/recipe.h"

/* ---- words ---- */

static const char *const job_words[FL_BENCH_JOB_COUNT] = {
    [FL_BENCH_STEP] = "step",
    [FL_BENCH_WASH_HANDS] = "wash_hands",
    [FL_BENCH_DISINFECT_TUB] = "disinfect_tub",
    [FL_BENCH_BAG_WASTE] = "bag_waste",
    [FL_BENCH_POUR_AWAY] = "pour_away",
    [FL_BENCH_CLOSE_TUBS] = "disinfect_tubs",
    [FL_BENCH_CLOSE_TOOLS] = "disinfect_tools",
    [FL_BENCH_CLOSE_SINK] = "disinfect_sink",
    [FL_BENCH_CONTACT] = "disinfectant_stands",
    [FL_BENCH_LAST_WASH] = "wash_hands_and_arms",
};

static const char *job_text(fl_bench_job job)
{
    static const char *const texts[FL_BENCH_JOB_COUNT] = {
        [FL_BENCH_STEP] = "",
        [FL_BENCH_WASH_HANDS] = "wash hands before the next purchase",
        [FL_BENCH_DISINFECT_TUB] = "disinfect the tub before the next purchase",
        [FL_BENCH_BAG_WASTE] = "bag the old mix and waste, and close the bag",
        [FL_BENCH_POUR_AWAY] = "pour away baths and wash water",
        [FL_BENCH_CLOSE_TUBS] = "disinfect the tubs",
        [FL_BENCH_CLOSE_TOOLS] = "disinfect the tools",
        [FL_BENCH_CLOSE_SINK] = "disinfect the sink",
        [FL_BENCH_CONTACT] = "the disinfectant stands",
        [FL_BENCH_LAST_WASH] = "wash hands and arms",
    };
    return texts[job];
}

/* A number of quarters of an hour: "2", "2¼", "½". */
static fl_sv quarters(int64_t n, fl_arena *arena)
{
    static const char *const part[] = {"", "¼", "½", "¾"};
    if (n < 4) {
        return fl_arena_printf(arena, "%s", n == 0 ? "0" : part[n]);
    }
    return fl_arena_printf(arena, "%lld%s", (long long)(n / 4), part[n % 4]);
}

fl_sv fl_say_span(int64_t low_s, int64_t high_s, fl_arena *arena)
{
    if (high_s > 3600) {
        int64_t low = low_s / 900;
        int64_t high = (high_s + 899) / 900;
        fl_sv to = quarters(high, arena);
        if (low == high) {
            return fl_arena_printf(arena, "about %.*s h", FL_SV_ARG(to));
        }
        if (low < 4) {
            return fl_arena_printf(arena, "%lld min to %.*s h", (long long)(low * 15),
                                   FL_SV_ARG(to));
        }
        fl_sv from = quarters(low, arena);
        return fl_arena_printf(arena, "%.*s to %.*s h", FL_SV_ARG(from), FL_SV_ARG(to));
    }
    int64_t grain_s = high_s > 600 ? 300 : 60;
    int64_t low = low_s / grain_s * grain_s / 60;
    int64_t high = (high_s + grain_s - 1) / grain_s * grain_s / 60;
    if (low == high) {
        return fl_arena_printf(arena, "about %lld min", (long long)low);
    }
    return fl_arena_printf(arena, "%lld to %lld min", (long long)low, (long long)high);
}

fl_sv fl_say_item(const fl_evening *e, const fl_evening_item *item, fl_arena *arena)
{
    if (item->job == FL_BENCH_DISINFECT_TUB) {
        return fl_arena_printf(arena, "disinfect tub %d before the next purchase", item->tub);
    }
    if (item->job != FL_BENCH_STEP) {
        return fl_sv_from_cstr(job_text(item->job));
    }
    const fl_prep_step *plan = e->lots[item->lot].steps[item->step].plan;
    if (plan->agent == FL_AGENT_NONE || plan->agent == FL_AGENT_THIOSULFATE) {
        return fl_sv_from_cstr(fl_words_step[plan->step].text);
    }
    return fl_arena_printf(arena, "%s in %s", fl_words_step[plan->step].text,
                           fl_words_agent[plan->agent].text);
}

/* ---- what is recorded ---- */

static void put_if_told(fl_json_writer *w, const char *key, double value)
{
    if (!isnan(value)) {
        fl_json_put_number(w, key, value);
    }
}

/* A step as events have it (schema/common.json, step_on_lots). */
static void put_event_step(fl_json_writer *w, const char *key, const fl_ev_step *step)
{
    fl_json_begin_object(w, key);
    fl_json_begin_array(w, "lots");
    for (size_t i = 0; i < step->lots.count; i++) {
        fl_put_id(w, NULL, step->lots.ids[i]);
    }
    fl_json_end(w);
    fl_json_put_cstr(w, "step", fl_words_step[step->step].word);
    if (step->agent != FL_AGENT_NONE) {
        fl_json_put_cstr(w, "agent", fl_words_agent[step->agent].word);
    }
    put_if_told(w, "dose_mg_per_l", step->dose_mg_per_l);
    put_if_told(w, "pct", step->pct);
    put_if_told(w, "temp_c", step->temp_c);
    put_if_told(w, "minutes", step->minutes);
    if (step->tub.len > 0) {
        fl_json_put_text(w, "tub", step->tub);
    }
    if (!fl_id_is_none(step->bottle)) {
        fl_put_id(w, "bottle", step->bottle);
    }
    if (step->prills != FL_PRILLS_NOT_TOLD) {
        fl_json_put_cstr(w, "prills", fl_words_prills[step->prills].word);
    }
    fl_json_end(w);
}

static void put_body(fl_json_writer *w, const fl_event *event)
{
    fl_json_begin_object(w, "body");
    if (event->kind == FL_KIND_STEP_DONE) {
        const fl_ev_step_done *done = &event->body.step_done;
        if (!fl_id_is_none(done->run)) {
            fl_put_id(w, "run", done->run);
        }
        fl_json_begin_array(w, "steps");
        for (size_t i = 0; i < done->n_steps; i++) {
            put_event_step(w, NULL, &done->steps[i]);
        }
        fl_json_end(w);
    } else {
        const fl_ev_place_cleaned *cleaned = &event->body.place_cleaned;
        fl_put_id(w, "place", cleaned->place);
        fl_json_put_cstr(w, "agent", fl_words_agent[cleaned->agent].word);
        fl_json_put_text(w, "part", cleaned->part);
    }
    fl_json_end(w);
}

/* "All as planned": each still needs an id of the client's. */
static void put_as_planned(const fl_view *v, const fl_evening *e)
{
    fl_event *events = NULL;
    size_t n = 0;
    fl_evening_as_planned(e, v->arena, &events, &n);
    fl_json_begin_array(v->w, "as_planned");
    for (size_t i = 0; i < n; i++) {
        fl_json_begin_object(v->w, NULL);
        fl_json_put_cstr(v->w, "kind", fl_kinds[events[i].kind].word);
        fl_put_at(v->w, "occurred_at", events[i].at_s);
        put_body(v->w, &events[i]);
        fl_json_end(v->w);
    }
    fl_json_end(v->w);
}

/* What tapping start and done records; the client adds ids, the run and the moment. */
static void put_drafts(const fl_view *v, const fl_evening *e, const fl_evening_item *item)
{
    fl_json_writer *w = v->w;
    if (item->job == FL_BENCH_STEP) {
        const fl_evening_lot *lot = &e->lots[item->lot];
        const fl_ev_step made = fl_evening_step_event(e, item, v->arena);
        put_event_step(w, "record_step", &made);
        fl_json_put_int(w, "planned_s", fl_evening_planned_s(lot, &lot->steps[item->step]));
    } else {
        fl_json_put_null(w, "record_step");
        fl_json_put_null(w, "planned_s");
    }
    fl_sv part = item->job == FL_BENCH_DISINFECT_TUB ? fl_evening_tub_name(item->tub, v->arena)
                 : item->job == FL_BENCH_CLOSE_TOOLS ? FL_SV("tools")
                 : item->job == FL_BENCH_CLOSE_SINK  ? FL_SV("sink")
                                                     : FL_SV("");
    fl_put_text(w, "record_cleaned", part);
}

/* ---- lines ---- */

static const char *how_of(const fl_prep_step *plan)
{
    for (size_t i = 0; i < fl_know_step_count(); i++) {
        fl_know_step row = fl_know_step_at(i);
        if (row.step == plan->step && row.agent == plan->agent &&
            row.minutes_low == plan->minutes_low && row.minutes_high == plan->minutes_high) {
            return row.how;
        }
    }
    return "";
}

static void put_item_cautions(const fl_view *v, const fl_evening *e, const fl_evening_item *item)
{
    const fl_prep_step *plan =
        item->job == FL_BENCH_STEP ? e->lots[item->lot].steps[item->step].plan : NULL;
    const char *hands[FL_PREP_HANDS_MAX];
    size_t n = 0;
    if (plan != NULL && plan->step != FL_STEP_DIP && plan->step != FL_STEP_NEUTRALISE) {
        const fl_lot *lot = e->lots[item->lot].lot;
        n = fl_prep_hand_cautions(lot->form, fl_room_plant_row(v->room, lot), hands);
    }
    bool is_bleach = item->job == FL_BENCH_DISINFECT_TUB || item->job == FL_BENCH_CLOSE_TUBS ||
                     item->job == FL_BENCH_CLOSE_TOOLS || item->job == FL_BENCH_CLOSE_SINK;
    fl_view_cautions_after(v->w, "cautions", hands, n,
                           is_bleach      ? 1U << FL_AGENT_BLEACH
                           : plan != NULL ? 1U << plan->agent
                                          : 0U);
}

static const char *state_word(fl_evening_state state)
{
    static const char *const words[] = {[FL_STEP_WAITS] = "waits",
                                        [FL_STEP_RUNS] = "runs",
                                        [FL_STEP_IS_DONE] = "done",
                                        [FL_STEP_STOPPED] = "stopped",
                                        [FL_STEP_PASSED] = "passed"};
    return words[state];
}

static void put_step_of_item(const fl_view *v, const fl_evening *e, const fl_evening_item *item)
{
    fl_json_writer *w = v->w;
    if (item->job != FL_BENCH_STEP) {
        static const char *const none[] = {"step",        "agent", "agent_text", "how_text",
                                           "reason_text", "state", "run_id",     "due_at"};
        for (size_t i = 0; i < sizeof none / sizeof none[0]; i++) {
            fl_json_put_null(w, none[i]);
        }
        return;
    }
    const fl_evening_lot *lot = &e->lots[item->lot];
    const fl_evening_step *step = &lot->steps[item->step];
    const fl_prep_step *plan = step->plan;
    fl_json_put_cstr(w, "step", fl_words_step[plan->step].word);
    fl_put_word(w, "agent", "agent_text", &fl_words_agent[plan->agent]);
    fl_put_text(w, "how_text", fl_sv_from_cstr(how_of(plan)));
    fl_put_text(w, "reason_text",
                fl_sv_from_cstr(plan->reason == FL_PREP_DIP
                                    ? fl_words_dip_reason[lot->plan.dip.reason].text
                                    : fl_words_prep_reason[plan->reason].text));
    fl_json_put_cstr(w, "state", state_word(step->state));
    fl_put_id(w, "run_id", step->run);
    fl_put_at(w, "due_at",
              step->state == FL_STEP_RUNS ? step->started_s + step->planned_s : INT64_MIN);
}

static void put_item(const fl_view *v, const fl_evening *e, const fl_evening_item *item)
{
    fl_json_writer *w = v->w;
    fl_json_begin_object(w, NULL);
    fl_json_put_cstr(w, "job", job_words[item->job]);
    fl_json_put_text(w, "text", fl_say_item(e, item, v->arena));
    fl_put_lot_ref(v, "lot", item->lot < 0 ? NULL : e->lots[item->lot].lot);
    put_step_of_item(v, e, item);
    if (item->tub > 0) {
        fl_json_put_int(w, "tub", item->tub);
    } else {
        fl_json_put_null(w, "tub");
    }
    fl_put_at(w, "start_at", item->start_s);
    fl_put_at(w, "hands_until_at", item->hands_until_s);
    fl_put_at(w, "out_from_at", item->out_from_s);
    fl_put_at(w, "end_at", item->end_s);
    put_drafts(v, e, item);
    put_item_cautions(v, e, item);
    fl_json_end(w);
}

/* ---- lots ---- */

static void put_lot(const fl_view *v, const fl_evening *e, size_t index)
{
    fl_json_writer *w = v->w;
    const fl_evening_lot *lot = &e->lots[index];
    size_t purchase = index;
    for (size_t i = index; i-- > 0;) {
        purchase = fl_sv_eq(e->lots[i].purchase, lot->purchase) ? i : purchase;
    }
    fl_json_begin_object(w, NULL);
    fl_put_lot_ref(v, "lot", lot->lot);
    fl_json_put_int(w, "plants", lot->lot->count);
    fl_json_put_text(w, "source_name", fl_room_source_name(v->room, lot->lot->source));
    fl_put_lot_ref(v, "purchase_of", e->lots[purchase].lot);
    fl_json_put_bool(w, "is_established", lot->is_established);
    fl_put_word(w, "verdict", "verdict_text", &fl_words_prep_verdict[lot->plan.verdict]);
    fl_put_text(w, "verdict_why", fl_sv_from_cstr(lot->plan.verdict_why));
    fl_json_begin_array(w, "steps");
    for (int i = 0; i < lot->n_steps; i++) {
        const fl_evening_step *step = &lot->steps[i];
        fl_json_begin_object(w, NULL);
        fl_put_word(w, "step", "step_text", &fl_words_step[step->plan->step]);
        fl_put_word(w, "agent", "agent_text", &fl_words_agent[step->plan->agent]);
        fl_json_put_cstr(w, "state", state_word(step->state));
        fl_put_at(w, "started_at", step->started_s);
        fl_put_at(w, "ended_at", step->ended_s);
        fl_json_put_int(w, "planned_s",
                        step->state == FL_STEP_RUNS ? step->planned_s
                                                    : fl_evening_planned_s(lot, step));
        fl_json_end(w);
    }
    fl_json_end(w);
    fl_json_end(w);
}

static void put_set_aside(const fl_view *v, const char *key, const fl_lot *const *lots, size_t n)
{
    fl_json_begin_array(v->w, key);
    for (size_t i = 0; i < n; i++) {
        fl_prep_plan plan;
        fl_plan_for_lot(v->room, lots[i], &plan);
        fl_json_begin_object(v->w, NULL);
        fl_put_lot_ref(v, "lot", lots[i]);
        fl_put_word(v->w, "verdict", "verdict_text", &fl_words_prep_verdict[plan.verdict]);
        fl_put_text(v->w, "verdict_why", fl_sv_from_cstr(plan.verdict_why));
        fl_json_end(v->w);
    }
    fl_json_end(v->w);
}

/* ---- the whole ---- */

static void put_recipe(const fl_view *v, const fl_evening *e)
{
    fl_json_writer *w = v->w;
    fl_json_put_number(w, "tub_ml", e->tub_ml);
    fl_json_put_bool(w, "has_dip", e->has_dip);
    if (e->has_mix) {
        fl_view_recipe(w, "recipe", &e->mix);
        fl_json_put_number(w, "thiosulfate_pentahydrate_mg", ceil(e->thiosulfate.planned_mg));
    } else {
        fl_json_put_null(w, "recipe");
        fl_json_put_null(w, "thiosulfate_pentahydrate_mg");
    }
    fl_put_text(w, "no_recipe_text", e->no_mix_why);
    fl_put_text(w, "bottle_name", e->bottle != NULL ? e->bottle->name : FL_SV(""));
}

static void put_times(const fl_view *v, const fl_evening *e)
{
    fl_json_writer *w = v->w;
    fl_put_at(w, "now_at", e->now_s);
    fl_put_at(w, "begun_at", e->begun_s);
    fl_put_at(w, "start_at", e->start_s);
    fl_put_at(w, "finish_at", e->finish_s);
    fl_put_at(w, "finish_low_at", e->finish_low_s);
    fl_put_at(w, "finish_high_at", e->finish_high_s);
    fl_put_at(w, "bound_at", e->bound_s);
    fl_json_put_bool(w, "is_optimal", e->is_optimal);
    int64_t from_s = e->begun_s == INT64_MIN ? e->start_s : e->now_s;
    int64_t low_s = e->finish_low_s > from_s ? e->finish_low_s - from_s : 0;
    int64_t high_s = e->finish_high_s > from_s ? e->finish_high_s - from_s : 0;
    fl_put_text(w, "left_text", e->n_items == 0 ? FL_SV("") : fl_say_span(low_s, high_s, v->arena));
}

void fl_view_evening(const fl_view *v, const char *key, const fl_evening *e)
{
    fl_json_writer *w = v->w;
    fl_json_begin_object(w, key);
    put_times(v, e);
    fl_json_put_int(w, "tubs", e->n_tubs);
    fl_json_begin_array(w, "tubs_lost");
    for (int i = 0; i < e->n_tubs; i++) {
        if ((e->tubs_lost & (1U << i)) != 0) {
            fl_json_put_int(w, NULL, i + 1);
        }
    }
    fl_json_end(w);
    fl_put_place_ref(v, "bench", e->bench);
    fl_json_put_bool(w, "is_closed_up", e->is_closed_up);
    fl_json_begin_array(w, "lots");
    for (size_t i = 0; i < e->n_lots; i++) {
        put_lot(v, e, i);
    }
    fl_json_end(w);
    put_set_aside(v, "set_aside", e->refused, e->n_refused);
    put_set_aside(v, "another_evening", e->left_out, e->n_left_out);
    put_recipe(v, e);
    fl_json_begin_array(w, "items");
    for (size_t i = 0; i < e->n_items; i++) {
        put_item(v, e, &e->items[i]);
    }
    fl_json_end(w);
    put_as_planned(v, e);
    fl_json_end(w);
}
