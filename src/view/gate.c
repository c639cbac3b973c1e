/* The gate's answer as JSON: in words first, then the numbers behind every word. */
#include <math.h>

#include "view/put.h"
#include "view/words_course.h"

/* ---- conditions ---- */

/* The numbers that belong to one kind of condition, under keys with their unit. */
static void put_numbers(const fl_view *v, const fl_condition *c)
{
    fl_json_writer *w = v->w;
    switch (c->kind) {
    case FL_CONDITION_CHANCE:
        fl_json_put_number(w, "weighted_sum", c->value);
        fl_json_put_number(w, "ceiling", c->limit);
        break;
    case FL_CONDITION_GUARD:
        fl_json_put_number(w, "frac_shown", c->value);
        fl_json_put_number(w, "frac_asked", c->limit);
        break;
    case FL_CONDITION_LEAST_DAYS:
        fl_json_put_number(w, "days", fmax(c->value, 0.0));
        fl_json_put_number(w, "days_asked", c->limit);
        break;
    case FL_CONDITION_STEPS:
        fl_put_mask(w, "steps_missing", c->steps_missing, fl_words_step, FL_STEP_COUNT);
        break;
    case FL_CONDITION_HOLD:
    case FL_CONDITION_RESIDUE:
    case FL_CONDITION_PATHOGEN:
    case FL_CONDITION_RELEASE_LOOK:
    case FL_CONDITION_COUNT:
        break;
    }
}

/* Conditions that are about one use name it; the others hold for any. */
static bool has_use(fl_condition_kind kind)
{
    return kind == FL_CONDITION_CHANCE || kind == FL_CONDITION_LEAST_DAYS ||
           kind == FL_CONDITION_RESIDUE;
}

static void put_condition(const fl_view *v, const fl_gate_report *report, size_t index)
{
    fl_json_writer *w = v->w;
    const fl_condition *c = &report->answer.conditions[index];
    fl_json_begin_object(w, NULL);
    fl_put_word(w, "kind", "asks", &fl_words_condition[c->kind]);
    fl_json_put_bool(w, "is_met", c->is_met);
    fl_json_put_text(w, "text", fl_say_condition(v->room, report, index, v->arena));
    fl_put_on(v, "earliest_on", c->earliest_s);
    fl_json_put_text(w, "earliest_text",
                     c->is_met ? FL_SV("met") : fl_say_when(v->room, c->earliest_s, v->arena));
    fl_put_text(w, "use",
                has_use(c->kind) ? fl_sv_from_cstr(fl_words_use[c->use].word) : FL_SV(""));
    fl_put_text(w, "threat", c->threat != NULL ? fl_sv_from_cstr(c->threat->code) : FL_SV(""));
    fl_put_text(w, "reason", fl_sv_from_cstr(c->reason));
    put_numbers(v, c);
    fl_json_end(w);
}

/* ---- threats and what lies ahead ---- */

static void put_threat(const fl_view *v, const char *key, const fl_gate_report *report,
                       const fl_gate_threat *t, bool is_said_whole)
{
    fl_use use = report->answer.binding_use;
    fl_say_threat_args args = {t->threat, t->chance, t->least, t->most,
                               is_said_whole && report->is_mostly_judgement};
    fl_begin_threat(v, key, &args);
    fl_json_put_number(v->w, "prob_prior", t->prior);
    fl_json_put_number(v->w, "weight", t->threat->weight[use]);
    fl_json_put_bool(v->w, "is_out_of_reach", t->threat->is_out_of_reach);
    fl_json_end(v->w);
}

static void put_threats(const fl_view *v, const fl_gate_report *report)
{
    if (report->answer.worst != NULL) {
        put_threat(v, "worst", report, report->answer.worst, true);
    } else {
        fl_json_put_null(v->w, "worst");
    }
    fl_json_begin_array(v->w, "threats");
    for (size_t i = 0; i < report->n_threats; i++) {
        put_threat(v, NULL, report, &report->threats[i], false);
    }
    fl_json_end(v->w);
}

/* The sum on each round day ahead, if every look finds nothing. */
static void put_forecast(const fl_view *v, const fl_gate_report *report)
{
    const fl_forecast *f = &report->forecast;
    fl_use use = report->answer.binding_use;
    fl_json_begin_array(v->w, "forecast");
    for (int k = 0; k <= f->n; k++) {
        fl_json_begin_object(v->w, NULL);
        fl_put_on(v, "on", f->at_s[k]);
        fl_json_put_number(v->w, "weighted_sum", f->sum[use][k]);
        fl_json_put_number(v->w, "weighted_sum_quick", f->sum_quick[use][k]);
        fl_json_end(v->w);
    }
    fl_json_end(v->w);
}

/* One sentence to stand for the forecast. */
static fl_sv forecast_text(const fl_view *v, const fl_gate_report *report)
{
    const fl_gate_answer *a = &report->answer;
    const fl_condition *c = &a->conditions[FL_CONDITION_CHANCE];
    fl_sv now = fl_say_sum(a->sum, v->arena);
    fl_sv ceiling = fl_say_percent(a->ceiling, v->arena);
    if (c->is_met) {
        return fl_arena_printf(v->arena, "%.*s now, under the %.*s asked.", FL_SV_ARG(now),
                               FL_SV_ARG(ceiling));
    }
    if (c->earliest_s == FL_GATE_NEVER) {
        return fl_arena_printf(v->arena,
                               "%.*s now, and over the %.*s asked for the next half year.",
                               FL_SV_ARG(now), FL_SV_ARG(ceiling));
    }
    fl_sv date = fl_say_date(v->room, c->earliest_s, FL_PRECISION_DAY, v->arena);
    return fl_arena_printf(v->arena,
                           "%.*s now; under the %.*s asked on %.*s, if every look finds nothing.",
                           FL_SV_ARG(now), FL_SV_ARG(ceiling), FL_SV_ARG(date));
}

/* ---- the answer ---- */

static void put_dates(const fl_view *v, const fl_gate_report *report)
{
    const fl_gate_answer *a = &report->answer;
    fl_json_writer *w = v->w;
    fl_put_on(v, "earliest_on", a->earliest_s);
    fl_json_put_text(w, "earliest_text", fl_say_when(v->room, a->earliest_s, v->arena));
    fl_put_on(v, "quick_on", a->quick_s);
    fl_json_put_text(w, "quick_text", fl_say_when(v->room, a->quick_s, v->arena));
    fl_put_on(v, "last_way_in_on", report->last_way_in_s);
    fl_json_put_text(w, "last_way_in_text", fl_say_when(v->room, report->last_way_in_s, v->arena));
    fl_put_on(v, "last_look_on", report->last_look_s);
    fl_put_text(w, "last_look_text",
                report->last_look_s == INT64_MIN
                    ? FL_SV("")
                    : fl_say_when(v->room, report->last_look_s, v->arena));
}

void fl_view_gate(const fl_view *v, const char *key, const fl_gate_report *report)
{
    const fl_gate_answer *a = &report->answer;
    fl_json_writer *w = v->w;
    char hash[FL_HASH_TEXT_MAX];
    fl_pace pace;
    fl_json_begin_object(w, key);
    fl_put_lot_ref(v, "lot", report->lot);
    fl_put_at(w, "asked_at", v->room->now_s);
    fl_put_mask(w, "uses", report->uses, fl_words_use, FL_USE_COUNT);
    fl_json_put_text(w, "uses_text", fl_say_uses(report->uses, v->arena));
    fl_json_put_bool(w, "is_open", a->is_open);
    fl_json_put_text(w, "answer_text", fl_say_answer(v->room, report, v->arena));
    fl_json_put_text(w, "worst_text", fl_say_worst(report, v->arena));
    put_dates(v, report);
    fl_json_put_cstr(w, "binding_use", fl_words_use[a->binding_use].word);
    fl_json_put_number(w, "weighted_sum", a->sum);
    fl_json_put_number(w, "ceiling", a->ceiling);
    fl_json_put_bool(w, "is_mostly_judgement", report->is_mostly_judgement);
    fl_json_put_cstr(w, "knowledge_sha256", fl_hash_format(hash, fl_know_hash()));
    fl_json_begin_array(w, "conditions");
    for (size_t i = 0; i < FL_CONDITION_COUNT; i++) {
        put_condition(v, report, i);
    }
    fl_json_end(w);
    put_threats(v, report);
    fl_json_put_text(w, "forecast_text", forecast_text(v, report));
    fl_json_put_text(w, "looks_text", fl_say_looks_counted_on(v->room, report, v->arena));
    fl_put_text(w, "examine_text", fl_say_examine_usual(v->room, report, v->arena));
    fl_json_put_text(w, "sum_text", fl_say_sum(a->sum, v->arena));
    fl_gate_pace(v->room, &pace);
    fl_json_put_text(w, "pace_text", fl_say_pace(&pace, v->arena));
    put_forecast(v, report);
    fl_json_end(w);
}
