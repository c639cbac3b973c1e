/* Where from, who else, what now. */
#include <math.h>
#include <stdio.h>

#include "base/num.h"
#include "cli/compose.h"
#include "cli/found.h"
#include "cli/verb.h"
#include "view/view_trace.h"
#include "view/words.h"

#define SOURCES_SHOWN 5
#define REACHED_SHOWN 12

enum { THREAT, FROM, TO, ACCEPT, STORY, RESIDUE };
static const fl_arg options[] = {
    [THREAT] = {"threat", FL_ARG_TEXT,
                .help = "what to trace, where nothing was found or it has no name yet"},
    [FROM] = {"from", FL_ARG_TEXT, .help = "since when it may have been there, if you know better"},
    [TO] = {"to", FL_ARG_TEXT, .help = "until when to follow it, if not now"},
    [ACCEPT] = {"accept", FL_ARG_TEXT, .is_repeatable = true,
                .help = "the number of a proposal: it is recorded as done now"},
    [STORY] = {"story", FL_ARG_FLAG, .help = "the outbreak's story, line by line"},
    [RESIDUE] = {"residue", FL_ARG_FLAG,
                 .help = "of a lot that had a pesticide: every cutting that carries it"},
};

/* ---- what is asked ---- */

static fl_status read_time(fl_call *call, int option, int64_t *out, fl_err *err)
{
    fl_precision precision;
    if (!call->value[option].is_given) {
        return FL_OK;
    }
    return fl_civil_parse(call->value[option].text, call->s->app.tz_offset_min, out, &precision,
                          err);
}

static fl_status read_question(fl_call *call, fl_trace_question *q, fl_err *err)
{
    const fl_threat *threat = NULL;
    if (call->value[THREAT].is_given) {
        fl_sv code = call->value[THREAT].text;
        threat = fl_know_threat_find(code);
        if (threat == NULL) {
            fl_status status = fl_found_check_code(code, err);
            return status != FL_OK ? status
                                   : fl_fail(err, FL_EINVAL, "\"%.*s\" is harmless: give a threat",
                                             FL_SV_ARG(code));
        }
    }
    fl_status status = fl_trace_find_subject(&call->s->room, call->words[0], threat, q, err);
    if (status == FL_OK) {
        status = read_time(call, FROM, &q->from_s, err);
    }
    if (status == FL_OK) {
        status = read_time(call, TO, &q->to_s, err);
    }
    if (status == FL_OK && q->to_s != FL_TIME_OPEN && q->from_s > q->to_s) {
        status = fl_fail(err, FL_EINVAL, "--from is after --to: give the earlier one first");
    }
    return status;
}

/* ---- in text ---- */

static fl_sv day(fl_session *s, int64_t at_s)
{
    return fl_say_date(&s->room, at_s, FL_PRECISION_DAY, &s->arena);
}

static void print_chain(fl_session *s, const fl_trace_contact *chain, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        fl_sv date = day(s, chain[i].at_s);
        fl_sv text = fl_say_contact(&s->room, &chain[i], &s->arena);
        (void)printf("      %.*s  %.*s\n", FL_SV_ARG(date), FL_SV_ARG(text));
    }
}

static void print_sources(fl_session *s, const fl_trace *t)
{
    (void)puts(t->n_sources > 0 ? "\nWhere from (of what is on record):"
                                : "\nWhere from: nothing on record explains it.");
    for (size_t i = 0; i < t->n_sources && i < SOURCES_SHOWN; i++) {
        const fl_trace_source *source = &t->sources[i];
        fl_sv chance = fl_say_chance(source->prob, &s->arena);
        fl_sv text = fl_say_source(&s->room, source, &s->arena);
        (void)printf("  %-18.*s %.*s%s\n", FL_SV_ARG(chance), FL_SV_ARG(text),
                     source->is_learned ? " (from your own record)" : "");
        if (source->n_chain > 1) {
            print_chain(s, source->chain, source->n_chain);
        }
    }
}

static void print_reached_line(fl_session *s, const fl_trace_reached *r)
{
    fl_sv chance = fl_say_chance(r->here, &s->arena);
    fl_sv name = fl_lot_label(s, r->lot);
    (void)printf("  %-18.*s %.*s", FL_SV_ARG(chance), FL_SV_ARG(name));
    if (r->is_outside) {
        (void)printf(", which left the room: tell who has it");
    } else if (r->is_lost) {
        (void)printf(", which is lost or discarded");
    } else {
        fl_sv place = fl_room_place_name(&s->room, r->lot->place);
        (void)printf(", now in %.*s", FL_SV_ARG(place));
    }
    if (r->is_where_found) {
        (void)printf("; it was where it was found");
    } else if (r->at_s != INT64_MIN) {
        fl_sv date = day(s, r->at_s);
        fl_sv got = fl_say_chance(r->prob, &s->arena);
        const char *how =
            r->link != FL_LINK_COUNT ? fl_words_link[r->link].text : "it came with it";
        (void)printf("; could have got there on %.*s, %.*s: %s", FL_SV_ARG(date), FL_SV_ARG(got),
                     how);
    }
    (void)puts("");
}

static void print_reached(fl_session *s, const fl_trace *t)
{
    size_t shown = 0;
    (void)puts("\nWhere it is, and who else:");
    for (size_t i = 0; i < t->n_reached && shown < REACHED_SHOWN; i++, shown++) {
        print_reached_line(s, &t->reached[i]);
    }
    if (t->n_reached == 0) {
        (void)puts("  Nobody else, over what is on record.");
    }
    if (t->n_reached > shown) {
        (void)printf("  and %zu more\n", t->n_reached - shown);
    }
}

static void print_trace(fl_session *s, const fl_trace *t)
{
    fl_sv what = fl_say_subject(&s->room, t, &s->arena);
    fl_sv place = fl_room_place_name(&s->room, t->place);
    fl_sv date = day(s, t->found_s);
    (void)printf("%.*s in %.*s, %.*s\n", FL_SV_ARG(what), FL_SV_ARG(place), FL_SV_ARG(date));
    if (t->is_threat_assumed) {
        (void)printf("What it was is not known: traced over the links of a disease.\n");
    }
    fl_sv window = fl_say_window(&s->room, t, &s->arena);
    if (window.len > 0) {
        (void)printf("%.*s\n", FL_SV_ARG(window));
    }
    print_sources(s, t);
    print_reached(s, t);
}

static void print_proposal(fl_session *s, const fl_proposal *p, size_t number)
{
    (void)printf("  %zu. %.*s", number, FL_SV_ARG(p->text));
    if (p->at_s != INT64_MIN) {
        fl_sv date = day(s, p->at_s);
        (void)printf(" (%.*s)", FL_SV_ARG(date));
    }
    (void)puts(p->n_events > 0 ? "" : " [nothing to record]");
    if (p->why.len > 0) {
        (void)printf("     %.*s\n", FL_SV_ARG(p->why));
    }
    if (p->not_reached.len > 0) {
        (void)printf("     %.*s\n", FL_SV_ARG(p->not_reached));
    }
    for (size_t i = 0; i < p->n_cautions; i++) {
        (void)printf("     ! %s\n", p->cautions[i]);
    }
}

static void print_proposals(fl_session *s, const fl_proposal *proposals, size_t n)
{
    if (n > 0) {
        (void)puts("\nWhat now (each by itself; --accept NUMBER records it as done now):");
    }
    for (size_t i = 0; i < n; i++) {
        print_proposal(s, &proposals[i], i + 1);
    }
}

static void print_dates(fl_session *s, const fl_outbreak_dates *dates)
{
    if (dates->n > 0) {
        (void)puts("\nNew dates, by pests and days:");
    }
    for (size_t i = 0; i < dates->n; i++) {
        fl_sv label = fl_lot_label(s, dates->list[i].lot);
        fl_sv text = fl_say_moved_date(&s->room, &dates->list[i], &s->arena);
        (void)printf("  %.*s: %.*s\n", FL_SV_ARG(label), FL_SV_ARG(text));
    }
}

static void print_outbreak(fl_session *s, const fl_outbreak *o, const fl_outbreak_dates *dates)
{
    fl_sv state = fl_say_outbreak_state(&s->room, o, &s->arena);
    if (o->state == FL_OUTBREAK_OPEN) {
        (void)puts("First:");
        for (int i = 0; i < FL_OUTBREAK_FIRST; i++) {
            (void)printf("  %d. %s\n", i + 1, o->first[i]);
        }
        (void)puts("");
    }
    if (o->is_traced) {
        print_trace(s, &o->trace);
    }
    print_proposals(s, o->proposals, o->n_proposals);
    print_dates(s, dates);
    (void)printf("\n%.*s\n", FL_SV_ARG(state));
}

static void print_story(fl_session *s, const fl_outbreak *o)
{
    for (size_t i = 0; i < o->n_story; i++) {
        fl_sv date = day(s, o->story[i].at_s);
        (void)printf("  %-14.*s %s%.*s\n", FL_SV_ARG(date),
                     o->story[i].is_future ? "(expected) " : "", FL_SV_ARG(o->story[i].text));
    }
    fl_sv state = fl_say_outbreak_state(&s->room, o, &s->arena);
    (void)printf("%.*s\n", FL_SV_ARG(state));
}

/* ---- accepting ---- */

/* What can be accepted: an outbreak's, or those after a pesticide came to light. */
typedef struct offers {
    const fl_proposal *proposals;
    size_t n;
} offers;

static fl_status accept_one(fl_session *s, offers o, fl_sv number, fl_err *err)
{
    int64_t n = 0;
    fl_status status = fl_num_parse_int(number, "--accept", 1, (int64_t)o.n, &n, err);
    if (status != FL_OK) {
        return status;
    }
    const fl_proposal *p = &o.proposals[n - 1];
    if (p->n_events == 0) {
        return fl_fail(err, FL_EINVAL, "proposal %lld has nothing to record: do it, that is all",
                       (long long)n);
    }
    status = fl_app_record_events(&s->app, p->events, p->n_events, err);
    if (status == FL_OK && !s->cli->is_json) {
        (void)printf("Recorded: %.*s\n", FL_SV_ARG(p->text));
    }
    return status;
}

static fl_status accept(fl_call *call, offers o, fl_err *err)
{
    const fl_arg_value *value = &call->value[ACCEPT];
    fl_status status = FL_OK;
    if (o.n == 0) {
        return fl_fail(err, FL_EINVAL, "nothing is proposed any more");
    }
    for (size_t i = 0; i < value->n_repeats && status == FL_OK; i++) {
        status = accept_one(call->s, o, value->repeats[i], err);
    }
    return status;
}

/* ---- the command ---- */

static fl_status print_outbreak_json(fl_session *s, const fl_outbreak *o,
                                     const fl_outbreak_dates *dates, fl_err *err)
{
    fl_json_writer *w = fl_json_writer_new();
    const fl_view view = fl_session_view(s, w);
    fl_json_begin_object(w, NULL);
    fl_status status = fl_view_outbreak(&view, "outbreak", o, err);
    fl_view_dates(&view, "dates", dates);
    fl_json_end(w);
    if (status == FL_OK) {
        fl_print_json(w);
    }
    fl_json_writer_free(w);
    return status;
}

static void print_trace_json(fl_session *s, const fl_trace *t)
{
    fl_json_writer *w = fl_json_writer_new();
    const fl_view view = fl_session_view(s, w);
    fl_json_begin_object(w, NULL);
    fl_json_put_null(w, "outbreak");
    fl_view_trace(&view, "trace", t);
    fl_json_end(w);
    fl_print_json(w);
    fl_json_writer_free(w);
}

static fl_status trace_outbreak(fl_call *call, const fl_trace_question *q, fl_err *err)
{
    fl_session *s = call->s;
    fl_outbreak o;
    fl_outbreak_dates dates = {.n = 0};
    fl_status status = fl_outbreak_ask(&s->room, s->chances, q, &s->arena, &o, err);
    if (status == FL_OK && call->value[ACCEPT].is_given) {
        status = accept(call, (offers){o.proposals, o.n_proposals}, err);
        if (status != FL_OK || !s->cli->is_json) {
            return status;
        }
    }
    if (status != FL_OK) {
        return status;
    }
    status = fl_outbreak_ask_dates(&s->room, &s->app, s->chances, &o, &s->arena, &dates, err);
    if (status != FL_OK || s->cli->is_json) {
        return status == FL_OK ? print_outbreak_json(s, &o, &dates, err) : status;
    }
    if (call->value[STORY].is_given) {
        print_story(s, &o);
    } else {
        print_outbreak(s, &o, &dates);
    }
    return FL_OK;
}

/* ---- a pesticide ---- */

static void print_residue(fl_session *s, const fl_residue_trace *t)
{
    fl_sv head = fl_say_residue_trace(&s->room, t, &s->arena);
    (void)printf("%.*s\n\nWho carries it:\n", FL_SV_ARG(head));
    for (size_t i = 0; i < t->n_lots; i++) {
        fl_sv name = fl_lot_label(s, t->lots[i].lot);
        fl_sv text = fl_say_residue_lot(&s->room, &t->lots[i], &s->arena);
        (void)printf("  %.*s: %.*s\n", FL_SV_ARG(name), FL_SV_ARG(text));
    }
    print_proposals(s, t->proposals, t->n_proposals);
}

static fl_status trace_residue(fl_call *call, const fl_lot *lot, fl_err *err)
{
    fl_session *s = call->s;
    fl_residue_trace t;
    fl_status status = fl_residue_trace_ask(&s->room, lot, &s->arena, &t, err);
    if (status == FL_OK && call->value[ACCEPT].is_given) {
        status = accept(call, (offers){t.proposals, t.n_proposals}, err);
        if (status != FL_OK || !s->cli->is_json) {
            return status;
        }
    }
    if (status != FL_OK || !s->cli->is_json) {
        if (status == FL_OK) {
            print_residue(s, &t);
        }
        return status;
    }
    fl_json_writer *w = fl_json_writer_new();
    const fl_view view = fl_session_view(s, w);
    fl_json_begin_object(w, NULL);
    status = fl_view_residue(&view, "residue", &t, err);
    fl_json_end(w);
    if (status == FL_OK) {
        fl_print_json(w);
    }
    fl_json_writer_free(w);
    return status;
}

/* A lot with a pesticide on record and nothing else asked: that is what to follow. */
static bool is_about_residue(const fl_call *call, const fl_trace_question *q)
{
    return call->value[RESIDUE].is_given ||
           (q->lot != NULL && q->threat == NULL && fl_residue_trace_has(&call->s->room, q->lot));
}

static fl_status trace(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    fl_trace_question q;
    fl_trace t;
    fl_status status = read_question(call, &q, err);
    if (status == FL_OK && is_about_residue(call, &q)) {
        return q.lot != NULL ? trace_residue(call, q.lot, err)
                             : fl_fail(err, FL_EINVAL, "--residue follows a lot: name one");
    }
    if (status == FL_OK) {
        status = fl_session_chances(s, err);
    }
    if (status != FL_OK) {
        return status;
    }
    if (q.finding != NULL || q.animal != NULL) {
        return trace_outbreak(call, &q, err);
    }
    if (call->value[ACCEPT].is_given || call->value[STORY].is_given) {
        return fl_fail(err, FL_EINVAL,
                       "nothing was found there: only a find has proposals and a "
                       "story");
    }
    status = fl_trace_ask(&s->room, s->chances, &q, &s->arena, &t, err);
    if (status == FL_OK && s->cli->is_json) {
        print_trace_json(s, &t);
    } else if (status == FL_OK) {
        print_trace(s, &t);
    }
    return status;
}

static const fl_verb verbs[] = {
    {.usage =
         "FINDING|LOT|PLACE [--threat T] [--from T0] [--to T1] [--accept N]… [--story|--residue]",
     .summary =
         "Of a find: first things, where from, who else, what now. Of a lot or a place: what "
         "could have brought a threat there, and where it could go. Of a lot that had a pesticide: "
         "what carries it now.",
     .args = FL_VERB_ARGS_WORDS(options, "FINDING, LOT or PLACE", 1),
     .words_min = 1,
     .fn = trace},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_trace;
const fl_command fl_command_trace = {
    .name = "trace",
    .rank = 28,
    .summary = "something was found: where from, who else, what now",
    .usage =
        "FINDING|LOT|PLACE [--threat T] [--from T0] [--to T1] [--accept N]… [--story|--residue]",
    .example = "fernlock --room room trace \"bin 2\"",
    .fn = run,
    .help = help,
};
