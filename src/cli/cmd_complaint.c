/* A customer's complaint: written down, answered, listed. */
#include <math.h>
#include <stdio.h>

#include "base/shown.h"
#include "cli/compose.h"
#include "view/complaint.h"
#include "view/words.h"

enum { THREAT = FL_OPTION_FIRST, STAGE, CUSTOMER, HAZARD, LOOK_DAYS, TEMP_C, WHAT };

static const fl_arg add_options[] = {
    FL_OPTIONS_RECORDING,
    [THREAT] = {"threat", FL_ARG_TEXT, .is_required = true,
                .help = "what was noticed: a threat's code"},
    [STAGE] = {"stage", FL_ARG_TEXT, .help = "the stage that was seen"},
    [CUSTOMER] = {"customer", FL_ARG_TEXT,
                  .help = "who says so; else the place outside where the lot went"},
    [HAZARD] = {"hazard-per-30-days", FL_ARG_NUMBER, .min = 0, .max = 30,
                .help = "founders of it that come there from elsewhere in 30 days; else our "
                        "judgement, 0.02, with 0.005 to 0.08"},
    [LOOK_DAYS] = {"look-days", FL_ARG_NUMBER, .min = 1, .max = 365,
                   .help = "somebody glances at the plants there every so many days; else 7"},
    [TEMP_C] = {"temp-c", FL_ARG_NUMBER, .min = -30, .max = 60,
                .help = "how warm they stand there; else 21"},
    [WHAT] = {"what", FL_ARG_TEXT, .help = "what it looked like, in the customer's words"},
};

/* ---- the answer ---- */

static void print_others(fl_session *s, const fl_complaint *c)
{
    for (size_t i = 0; i < c->n_others; i++) {
        const fl_batch_leaving *o = &c->others[i];
        if (o->lot != c->left.lot) {
            const fl_sv label = fl_lot_label(s, o->lot);
            const fl_sv on = fl_say_date(&s->room, o->at_s, o->event->precision, &s->arena);
            (void)printf("  %lld of %.*s to %.*s, %.*s\n", (long long)o->count, FL_SV_ARG(label),
                         FL_SV_ARG(fl_room_place_name(&s->room, o->to)), FL_SV_ARG(on));
        }
    }
}

static void print_reached(fl_session *s, const fl_complaint *c)
{
    size_t n = 0;
    for (size_t i = 0; i < c->trace.n_reached && n < 8; i++) {
        const fl_trace_reached *r = &c->trace.reached[i];
        if (r->lot != c->left.lot && !r->is_lost) {
            const fl_sv label = fl_lot_label(s, r->lot);
            const fl_sv prob = fl_say_chance(r->prob, &s->arena);
            (void)printf("  %.*s, %.*s: %.*s\n", FL_SV_ARG(label),
                         FL_SV_ARG(r->is_outside ? FL_SV("gone out")
                                                 : fl_room_place_name(&s->room, r->lot->place)),
                         FL_SV_ARG(prob));
            n++;
        }
    }
}

static void print_answer(fl_session *s, const fl_complaint *c)
{
    fl_sv next[FL_COMPLAINT_NEXT_MAX];
    const size_t n = fl_say_complaint_next(&s->room, c, &s->arena, next);
    const fl_sv label = fl_lot_label(s, c->left.lot);
    const fl_sv code = fl_code_of(s, c->event->id);
    const fl_sv noticed = fl_say_date(&s->room, c->event->at_s, c->event->precision, &s->arena);
    const fl_sv text = fl_say_complaint(c, &s->arena);
    const fl_sv left = fl_say_complaint_left(&s->room, c, &s->arena);
    const fl_sv there = fl_say_complaint_there(c, &s->arena);
    (void)printf("%.*s: %s on %.*s, noticed %.*s by %.*s\n", FL_SV_ARG(code),
                 c->question.threat->name, FL_SV_ARG(label), FL_SV_ARG(noticed),
                 FL_SV_ARG(c->customer));
    (void)printf("%.*s\n%.*s\n%.*s\n", FL_SV_ARG(text), FL_SV_ARG(left), FL_SV_ARG(there));
    for (size_t i = 0; i < n; i++) {
        (void)printf("%zu. %.*s\n", i + 1, FL_SV_ARG(next[i]));
    }
    if (c->trace.n_reached > 1) {
        (void)puts("If it came along, what else it may have met, and how likely:");
        print_reached(s, c);
    }
    if (c->n_others > 1) {
        (void)puts("Who else has of the same plants:");
        print_others(s, c);
    }
}

static fl_status answer(fl_call *call, const fl_event *event, fl_err *err)
{
    fl_session *s = call->s;
    fl_complaint c;
    fl_status status = fl_session_chances(s, err);
    if (status == FL_OK) {
        status = fl_complaint_ask_event(&s->room, &s->app, s->chances, event, &s->arena, &c, err);
    }
    if (status != FL_OK) {
        return status;
    }
    if (!s->cli->is_json) {
        print_answer(s, &c);
        return FL_OK;
    }
    fl_json_writer *w = fl_json_writer_new();
    const fl_view view = fl_session_view(s, w);
    fl_view_complaint(&view, NULL, &c);
    fl_print_json(w);
    fl_json_writer_free(w);
    return FL_OK;
}

/* ---- add ---- */

static fl_status read_threat(const fl_arg_value *value, const fl_threat **out, fl_err *err)
{
    *out = fl_know_threat_find(value[THREAT].text);
    if (*out == NULL) {
        return fl_fail(err, FL_EINVAL,
                       "threat \"%.*s\" is not known: `fernlock show threats` lists the codes",
                       FL_SHOWN(value[THREAT].text));
    }
    if (value[STAGE].is_given && fl_backdate_stage(*out, value[STAGE].text) < 0) {
        return fl_fail(err, FL_EINVAL, "%s has no stage \"%.*s\"", (*out)->name,
                       FL_SHOWN(value[STAGE].text));
    }
    return FL_OK;
}

static fl_status add(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    const fl_arg_value *value = call->value;
    const double untold = (double)NAN;
    const fl_lot *lot = NULL;
    const fl_threat *threat = NULL;
    fl_batch_leaving left;
    fl_event *event = NULL;
    fl_status status = fl_room_find_lot(&s->room, call->words[0], &lot, err);
    if (status == FL_OK) {
        status = read_threat(value, &threat, err);
    }
    if (status == FL_OK) {
        status = fl_complaint_leaving(&s->room, lot, &s->arena, &left, err);
    }
    if (status == FL_OK && fl_civil_day_end(s->at_s, s->room.tz_offset_min) <
                               fl_civil_day_end(left.at_s, s->room.tz_offset_min)) {
        return fl_fail(err, FL_EINVAL, "noticed before it left: give --at, when it was noticed");
    }
    if (status == FL_OK) {
        status = fl_compose(s, FL_KIND_COMPLAINT_NOTED, &event, err);
    }
    if (status != FL_OK) {
        return status;
    }
    event->body.complaint_noted = (fl_ev_complaint_noted){
        .lot = lot->id,
        .customer = value[CUSTOMER].text,
        .threat = value[THREAT].text,
        .stage = value[STAGE].text,
        .hazard_per_30_days = value[HAZARD].is_given ? value[HAZARD].number : untold,
        .look_days = value[LOOK_DAYS].is_given ? value[LOOK_DAYS].number : untold,
        .temp_c = value[TEMP_C].is_given ? value[TEMP_C].number : untold,
        .what = value[WHAT].text};
    const fl_id id = event->id;
    fl_compose_made(s, "complaint", id, value[THREAT].text);
    status = fl_compose_record(s, err);
    if (status != FL_OK || fl_compose_told(s)) {
        return status;
    }
    for (size_t i = 0; i < s->room.n_events; i++) {
        if (fl_id_eq(s->room.events[i].id, id)) {
            return answer(call, &s->room.events[i], err);
        }
    }
    return FL_OK;
}

/* ---- show, list ---- */

static fl_status show(fl_call *call, fl_err *err)
{
    const fl_event *event = fl_complaint_find(&call->s->room, call->words[0]);
    if (event == NULL) {
        return fl_fail(err, FL_ENOTFOUND, "there is no complaint \"%.*s\"",
                       FL_SHOWN(call->words[0]));
    }
    return answer(call, event, err);
}

static fl_status list(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    size_t n = 0;
    (void)err;
    if (s->cli->is_json) {
        fl_json_writer *w = fl_json_writer_new();
        const fl_view view = fl_session_view(s, w);
        fl_view_complaints(&view, NULL);
        fl_print_json(w);
        fl_json_writer_free(w);
        return FL_OK;
    }
    for (size_t i = s->room.n_events; i-- > 0;) {
        const fl_event *event = &s->room.events[i];
        const fl_lot *lot = fl_meaning_lot(&s->room.meaning, event->body.complaint_noted.lot);
        if (event->kind != FL_KIND_COMPLAINT_NOTED) {
            continue;
        }
        const fl_sv on = fl_say_date(&s->room, event->at_s, event->precision, &s->arena);
        (void)printf("%.*s: %.*s on %.*s, %.*s\n", FL_SV_ARG(fl_code_of(s, event->id)),
                     FL_SV_ARG(event->body.complaint_noted.threat),
                     FL_SV_ARG(lot != NULL ? fl_lot_label(s, lot) : FL_SV("a lot")), FL_SV_ARG(on));
        n++;
    }
    if (n == 0) {
        (void)puts("Nobody has complained.");
    }
    return FL_OK;
}

static const fl_verb verbs[] = {
    {.name = "add",
     .usage = "LOT --threat CODE [--at DATE] [--stage S] [--customer WHO] [--OPTION VALUE]…",
     .summary = "Writes down what a customer noticed on plants of a lot (--at: when), and answers.",
     .args = FL_VERB_ARGS_WORDS(add_options, "LOT", 1),
     .words_min = 1,
     .fn = add},
    {.name = "list", .usage = "", .summary = "All of them.", .fn = list},
    {.usage = "CODE",
     .summary = "Did it come along, or begin there? Who else may have it? What now?",
     .args = FL_VERB_WORDS("CODE", 1),
     .words_min = 1,
     .fn = show},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_complaint;
const fl_command fl_command_complaint = {
    .name = "complaint",
    .rank = 44,
    .summary = "a customer noticed a pest: did it come along, who else, what now",
    .usage = "CODE | add LOT --threat CODE [--at DATE] … | list",
    .example = "fernlock complaint add pilea --threat western_flower_thrips --at 2026-04-12",
    .fn = run,
    .help = help,
};
