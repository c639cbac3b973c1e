/* The evening a lot comes home: its plan with reasons, the dip's recipe, and "all as planned". */
#include <math.h>
#include <stdio.h>

#include "base/num.h"
#include "base/shown.h"
#include "cli/answer.h"
#include "cli/cautions.h"
#include "cli/compose.h"
#include "cli/evening.h"
#include "cli/sheet.h"
#include "core/dip/volume.h"
#include "view/evening.h"
#include "view/recipe.h"
#include "view/words.h"

enum { TUB_ML = FL_OPTION_FIRST, LABEL, TUBS, LOST, START, DONE, TUB, EXCEPT, PRILLS };

static const fl_arg options[] = {
    FL_OPTIONS_RECORDING,
    [TUB_ML] = {"tub-ml", FL_ARG_NUMBER, .min = 10, .max = FL_BLEACH_TOTAL_ML_MAX,
                .help = "millilitres of the tub for the dip: tells what to mix"},
    [LABEL] = {"label-pct", FL_ARG_NUMBER, .min = FL_BLEACH_PCT_MIN, .max = FL_BLEACH_PCT_MAX,
               .help = "the bleach label's percent, when no bottle is recorded"},
    [TUBS] = {"tubs", FL_ARG_INT, .min = 1, .max = FL_BENCH_TUBS_MAX,
              .fallback = FL_EVENING_TUBS_USUAL, .help = "tubs put out"},
    [LOST] = {"lost", FL_ARG_TEXT, .is_repeatable = true,
              .help = "number of a tub that can not be used any more"},
    [START] = {"start", FL_ARG_TEXT, .help = "when the evening begins, if not now"},
    [DONE] = {"done", FL_ARG_FLAG, .help = "record that all was done as planned"},
    [TUB] = {"tub", FL_ARG_TEXT,
             .help = "with --done: all were in this one tub; else each purchase had its own"},
    [EXCEPT] = {"except", FL_ARG_TEXT, .is_repeatable = true,
                .help = "with --done: LOT:STEP that was not done"},
    [PRILLS] = {"prills", FL_ARG_TEXT, .choices = "not_told|removed|none_seen|left",
                .help = "fertiliser prills among the roots: with --done as they were stripped; "
                        "else of the lots named, as they were unpotted to look"},
};

/* ---- the plan in text ---- */

static void print_minutes(const fl_prep_step *step)
{
    if (step->minutes_low >= 1440.0) {
        (void)printf(", %.0f to %.0f days", step->minutes_low / 1440.0,
                     step->minutes_high / 1440.0);
    } else {
        (void)printf(", %.0f to %.0f min", step->minutes_low, step->minutes_high);
    }
}

static void print_step(const fl_prep_plan *plan, int index)
{
    const fl_prep_step *step = &plan->steps[index];
    (void)printf("  %d. %s", index + 1, fl_words_step[step->step].text);
    if (step->agent != FL_AGENT_NONE) {
        (void)printf(" in %s", fl_words_agent[step->agent].text);
    }
    print_minutes(step);
    if (step->times > 1) {
        (void)printf(", %d times in fresh water", step->times);
    }
    (void)printf(". %s\n", step->reason == FL_PREP_DIP ? fl_words_dip_reason[plan->dip.reason].text
                                                       : fl_words_prep_reason[step->reason].text);
}

/* Gloves, sap, crystals: for whoever has it in hand tonight. */
static void print_hands(fl_session *s, const fl_lot *lot, const fl_prep_plan *plan)
{
    const char *hands[FL_PREP_HANDS_MAX];
    size_t n = fl_prep_hand_cautions(lot->form, fl_room_plant_row(&s->room, lot), hands);
    for (size_t i = 0; i < n && plan->n_steps > 0; i++) {
        (void)printf("  ! %s\n", hands[i]);
    }
}

static void print_plan(fl_session *s, const fl_lot *lot, const fl_prep_plan *plan)
{
    fl_sv use = fl_say_uses(1U << lot->use, &s->arena);
    fl_print_lot(s, lot);
    (void)printf(", for %.*s\n", FL_SV_ARG(use));
    if (plan->verdict != FL_PREP_GO) {
        (void)printf("  %s. %s\n", fl_words_prep_verdict[plan->verdict].text, plan->verdict_why);
    }
    for (int i = 0; i < plan->n_steps; i++) {
        print_step(plan, i);
    }
    if (plan->n_steps == 0) {
        (void)printf("  %s\n", fl_words_prep_reason[plan->nothing].text);
    } else if (plan->dip.agent == FL_AGENT_NONE && !plan->dip.is_better_refused) {
        (void)printf("  No dip. %s\n", fl_words_dip_reason[plan->dip.reason].text);
    }
    if (plan->dip.agent != FL_AGENT_NONE && plan->dip.risk_why[0] != '\0') {
        (void)printf("  The dip and this plant: %s\n", plan->dip.risk_why);
    }
    print_hands(s, lot, plan);
}

/* To two figures, without an exponent: 3100. */
static double two_figures(double value)
{
    double step = value > 0.0 ? pow(10.0, floor(log10(value)) - 1.0) : 1.0;
    return round(value / step) * step;
}

static void print_recipe(const fl_bleach_mix *mix)
{
    (void)printf("The dip: %.0f ml of bleach and %.0f ml of water (%.0f parts in 100 by volume);\n"
                 "  %.1f US fl oz and %.2f US gal.\n",
                 mix->product_ml, mix->water_ml, mix->product_pct_by_volume,
                 fl_volume_ml_to_us_fl_oz(mix->product_ml), fl_volume_ml_to_us_gal(mix->water_ml));
    (void)printf("  In it: about %.0f mg/L of available chlorine, %.0f to %.0f; the bottle has "
                 "%.2g %% now.\n",
                 two_figures(mix->chlorine_mg_per_l), two_figures(mix->chlorine_low_mg_per_l),
                 two_figures(mix->chlorine_high_mg_per_l), mix->strength.now_pct);
    fl_print_bleach_cautions(mix);
}

/* ---- JSON ---- */

static fl_status print_json(fl_session *s, const fl_tonight *evening, const fl_bleach_mix *mix,
                            const fl_evening *sheet)
{
    fl_json_writer *w = fl_json_writer_new();
    const fl_view view = fl_session_view(s, w);
    fl_json_begin_object(w, NULL);
    fl_json_begin_array(w, "plans");
    for (size_t i = 0; i < evening->n_lots; i++) {
        fl_view_plan(&view, NULL, evening->lots[i], &evening->plans[i]);
    }
    fl_json_end(w);
    if (mix != NULL) {
        fl_view_recipe(w, "recipe", mix);
    } else {
        fl_json_put_null(w, "recipe");
    }
    fl_view_evening(&view, "evening", sheet);
    fl_json_end(w);
    fl_print_json(w);
    fl_json_writer_free(w);
    return FL_OK;
}

static fl_status show_plans(fl_session *s, const fl_tonight *evening, const fl_bleach_mix *mix,
                            const fl_evening *sheet, bool is_tub_told)
{
    if (s->cli->is_json) {
        return print_json(s, evening, mix, sheet);
    }
    for (size_t i = 0; i < evening->n_lots; i++) {
        print_plan(s, evening->lots[i], &evening->plans[i]);
    }
    if (mix != NULL) {
        print_recipe(mix);
    } else if (is_tub_told) {
        (void)puts("No dip is planned: nothing is to be mixed.");
    } else if (fl_tonight_has_dip(evening)) {
        (void)puts("For the dip's recipe: --tub-ml and how much the tub holds.");
    }
    fl_print_sheet(s, sheet);
    if (evening->n_lots == 0 && sheet->n_items == 0) {
        (void)puts("Nothing waits to be cleaned.");
    } else {
        (void)puts("When it is done: fernlock prep --done");
    }
    return FL_OK;
}

/* ---- done ---- */

static fl_prills prills_told(const fl_call *call)
{
    return call->value[PRILLS].is_given ? (fl_prills)call->value[PRILLS].choice
                                        : FL_PRILLS_NOT_TOLD;
}

/* The lots named were unpotted, looked through for prills, and potted up again. */
static fl_status record_prills(fl_call *call, const fl_tonight *evening, fl_err *err)
{
    fl_session *s = call->s;
    const double untold = (double)NAN;
    fl_event *event = NULL;
    fl_id *ids = FL_ARENA_ARRAY(&s->arena, fl_id, evening->n_lots);
    fl_ev_step *step = FL_ARENA_NEW(&s->arena, fl_ev_step);
    if (!evening->is_named) {
        return fl_fail(err, FL_EINVAL, "--prills without --done: name the lots");
    }
    for (size_t i = 0; i < evening->n_lots; i++) {
        ids[i] = evening->lots[i]->id;
    }
    *step = (fl_ev_step){.lots = {ids, evening->n_lots},
                         .step = FL_STEP_POT_UP,
                         .dose_mg_per_l = untold,
                         .pct = untold,
                         .temp_c = untold,
                         .minutes = untold,
                         .prills = prills_told(call)};
    fl_status status = fl_compose(s, FL_KIND_STEP_DONE, &event, err);
    if (status == FL_OK) {
        event->body.step_done.steps = step;
        event->body.step_done.n_steps = 1;
        status = fl_compose_record(s, err);
    }
    if (status == FL_OK && !fl_compose_told(s)) {
        (void)printf("Recorded: fertiliser prills of %zu lot%s, %s.\n", evening->n_lots,
                     evening->n_lots == 1 ? "" : "s", fl_words_prills[step->prills].text);
    }
    return status;
}

static fl_status read_exceptions(fl_call *call, fl_exception *out, size_t *count, fl_err *err)
{
    const fl_arg_value *value = &call->value[EXCEPT];
    fl_status status = FL_OK;
    *count = 0;
    for (size_t i = 0; i < value->n_repeats && status == FL_OK; i++) {
        fl_sv rest = value->repeats[i];
        fl_sv lot = fl_sv_split(&rest, ':');
        int step = 0;
        if (rest.len == 0) {
            return fl_fail(err, FL_EFORMAT, "--except \"%.*s\": give LOT:STEP, as in pilea:dip",
                           FL_SHOWN(value->repeats[i]));
        }
        status = fl_room_find_lot(&call->s->room, lot, &out[*count].lot, err);
        if (status == FL_OK) {
            status = fl_read_word(rest, "step", fl_words_step, FL_STEP_COUNT, &step, err);
        }
        out[(*count)++].step = (fl_step)step;
    }
    return status;
}

/* Lots that are not worth it for where they go are left out, unless they were named. */
static void leave_out_refused(fl_tonight *evening)
{
    size_t kept = 0;
    for (size_t i = 0; i < evening->n_lots; i++) {
        if (evening->is_named || evening->plans[i].verdict == FL_PREP_GO) {
            evening->lots[kept] = evening->lots[i];
            evening->plans[kept++] = evening->plans[i];
        } else if (!evening->s->cli->is_json) {
            fl_sv label = fl_lot_label(evening->s, evening->lots[i]);
            (void)printf("Left out: %.*s, %s. Name it to record it all the same.\n",
                         FL_SV_ARG(label), fl_words_prep_verdict[evening->plans[i].verdict].text);
        }
    }
    evening->n_lots = kept;
}

static size_t count_purchases(const fl_tonight *evening)
{
    size_t n = 0;
    for (size_t i = 0; i < evening->n_lots; i++) {
        bool is_first = true;
        for (size_t k = 0; k < i; k++) {
            is_first =
                is_first && !(fl_id_eq(evening->lots[k]->arrival, evening->lots[i]->arrival) &&
                              fl_id_eq(evening->lots[k]->source, evening->lots[i]->source));
        }
        n += is_first ? 1U : 0U;
    }
    return n;
}

static fl_status record_done(fl_call *call, fl_tonight *evening, const fl_bleach_mix *mix,
                             fl_err *err)
{
    fl_session *s = call->s;
    fl_exception except[FL_ARGS_REPEATS];
    fl_tonight_done done = {.tub = call->value[TUB].text, .dip = mix, .except = except};
    done.prills = prills_told(call);
    fl_status status = read_exceptions(call, except, &done.n_except, err);
    if (status == FL_OK) {
        leave_out_refused(evening);
        status = fl_tonight_compose(evening, &done, err);
    }
    if (status != FL_OK) {
        return status;
    }
    size_t n_lots = evening->n_lots;
    size_t n_purchases = count_purchases(evening);
    status = fl_compose_record(s, err);
    if (status != FL_OK || fl_compose_told(s)) {
        return status;
    }
    (void)printf("Recorded: %zu step%s on %zu lot%s. Next: fernlock place LOT… --in BIN\n",
                 s->events[0].body.step_done.n_steps,
                 s->events[0].body.step_done.n_steps == 1 ? "" : "s", n_lots,
                 n_lots == 1 ? "" : "s");
    if (done.tub.len > 0 && n_purchases > 1) {
        (void)printf("%zu purchases shared a tub: what one carried may be on the others now.\n",
                     n_purchases);
    }
    return FL_OK;
}

/* ---- the command ---- */

static fl_status mix_dip(fl_call *call, fl_bleach_mix *mix, fl_err *err)
{
    const fl_arg_value *value = call->value;
    double label_pct = value[LABEL].is_given ? value[LABEL].number : 0.0;
    double total_ml = value[TUB_ML].is_given ? value[TUB_ML].number : 1000.0;
    fl_err why = {0};
    fl_status status = fl_plan_bleach(&call->s->room, label_pct, total_ml, mix, &why);
    if (status == FL_ENOTFOUND) {
        return fl_fail(err, FL_EINVAL,
                       "a dip is planned and no bottle of bleach is recorded: give --label-pct, "
                       "or fernlock bottle add");
    }
    if (status != FL_OK) {
        return fl_fail(err, status, "%s", why.message);
    }
    return FL_OK;
}

/* The run sheet of the lots named, or of tonight as the journal has it. */
static fl_status make_sheet(fl_call *call, const fl_tonight *tonight, fl_evening *out, fl_err *err)
{
    const fl_arg_value *value = call->value;
    fl_session *s = call->s;
    fl_precision precision;
    fl_evening_options o = fl_evening_options_usual();
    o.n_tubs = (int)value[TUBS].integer;
    o.tub_ml = value[TUB_ML].is_given ? value[TUB_ML].number : o.tub_ml;
    o.label_pct = value[LABEL].is_given ? value[LABEL].number : 0.0;
    o.lots = tonight->is_named ? tonight->lots : NULL;
    o.n_lots = tonight->is_named ? tonight->n_lots : 0;
    fl_status status = fl_session_chances(s, err);
    if (status == FL_OK && value[START].is_given) {
        status =
            fl_civil_parse(value[START].text, s->app.tz_offset_min, &o.start_s, &precision, err);
    }
    for (size_t i = 0; i < value[LOST].n_repeats && status == FL_OK; i++) {
        int64_t number = 1;
        status =
            fl_num_parse_int(value[LOST].repeats[i], "--lost", 1, FL_BENCH_TUBS_MAX, &number, err);
        o.tubs_lost |= 1U << (number - 1);
    }
    return status == FL_OK ? fl_evening_make(&s->room, s->chances, &o, &s->arena, out, err)
                           : status;
}

/* Of a step that strips, what was told of the prills. */
static void note_prills(fl_session *s, fl_event *event, fl_prills prills)
{
    fl_ev_step_done *done = &event->body.step_done;
    if (event->kind == FL_KIND_STEP_DONE && done->steps[0].step == FL_STEP_STRIP) {
        fl_ev_step *made = FL_ARENA_NEW(&s->arena, fl_ev_step);
        *made = done->steps[0];
        made->prills = prills;
        done->steps = made;
    }
}

/* An evening that has begun is closed as the sheet has it: what runs, what is left, the tubs,
 * tools and
 * sink, each as an event of its own. */
static fl_status close_evening(fl_call *call, const fl_evening *sheet, fl_err *err)
{
    fl_session *s = call->s;
    fl_event *planned = NULL;
    size_t n = 0;
    fl_status status = FL_OK;
    fl_evening_as_planned(sheet, &s->arena, &planned, &n);
    for (size_t i = 0; i < n && status == FL_OK; i++) {
        fl_event *event = NULL;
        status = fl_compose(s, planned[i].kind, &event, err);
        if (status == FL_OK) {
            event->at_s = planned[i].at_s;
            event->body = planned[i].body;
            note_prills(s, event, prills_told(call));
        }
    }
    if (status == FL_OK && n == 0) {
        return fl_fail(err, FL_EINVAL, "nothing of tonight is left to record");
    }
    status = status == FL_OK ? fl_compose_record(s, err) : status;
    if (status == FL_OK && !fl_compose_told(s)) {
        (void)printf("Recorded: the rest of tonight as planned, %zu event%s. Next: fernlock place "
                     "LOT… --in BIN\n",
                     n, n == 1 ? "" : "s");
    }
    return status;
}

static fl_status prep(fl_call *call, fl_err *err)
{
    const fl_arg_value *value = call->value;
    fl_tonight evening;
    fl_evening sheet = {0};
    fl_bleach_mix mix;
    fl_status status = fl_tonight_plan(call, &evening, err);
    if (status != FL_OK) {
        return status;
    }
    bool wants_mix = fl_tonight_has_dip(&evening) &&
                     (value[DONE].is_given || value[TUB_ML].is_given || value[LABEL].is_given);
    if (wants_mix) {
        status = mix_dip(call, &mix, err);
    }
    if (status == FL_OK) {
        status = make_sheet(call, &evening, &sheet, err);
    }
    if (status != FL_OK) {
        return status;
    }
    const fl_bleach_mix *told = wants_mix ? &mix : NULL;
    if (value[PRILLS].is_given && !value[DONE].is_given) {
        return record_prills(call, &evening, err);
    }
    if (!value[DONE].is_given) {
        return show_plans(call->s, &evening, told, &sheet, value[TUB_ML].is_given);
    }
    bool is_plain = !value[TUB].is_given && value[EXCEPT].n_repeats == 0;
    return sheet.begun_s != INT64_MIN && is_plain && !evening.is_named
               ? close_evening(call, &sheet, err)
               : record_done(call, &evening, told, err);
}

static const fl_verb verbs[] = {
    {.usage = "[LOT…] [--tubs N] [--tub-ml N] [--done [--except LOT:STEP]…] [--prills WORD]",
     .summary =
         "The plan and tonight's run sheet for what came home (or the lots named), and what to "
         "mix; --done records that all was done as planned.",
     .args = FL_VERB_ARGS_WORDS(options, "LOT", FL_WORDS_MAX),
     .fn = prep},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_prep;
const fl_command fl_command_prep = {
    .name = "prep",
    .rank = 16,
    .summary = "what to do with what came home, with reasons; what to mix; done as planned",
    .usage = "[LOT…] [--OPTION VALUE]…",
    .example = "fernlock prep --tub-ml 4000 --label-pct 6",
    .fn = run,
    .help = help,
};
