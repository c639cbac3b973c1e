/* Findings get a name, or are taken back. */
#include <stdio.h>

#include "cli/compose.h"
#include "cli/find.h"
#include "cli/found.h"
#include "view/words.h"

enum { STAGE = FL_OPTION_FIRST };
enum { WHY = FL_OPTION_FIRST };

static const fl_arg name_options[] = {
    FL_OPTIONS_RECORDING,
    [STAGE] = {"stage", FL_ARG_TEXT, .help = "the stage that was seen"},
};
static const fl_arg retract_options[] = {
    FL_OPTIONS_RECORDING,
    [WHY] = {"why", FL_ARG_TEXT, .help = "why"},
};

/* Records and says what it means for the place. */
static fl_status record_word(fl_session *s, fl_id place, const char *what, fl_err *err)
{
    fl_lot_date *before = NULL;
    size_t n_before = 0;
    fl_status status = fl_dates_of_place(s, place, &before, &n_before, err);
    if (status == FL_OK) {
        status = fl_compose_record(s, err);
    }
    if (status != FL_OK || fl_compose_told(s)) {
        return status;
    }
    fl_sv name = fl_room_place_name(&s->room, place);
    bool is_held = fl_meaning_is_held(&s->room.meaning, place, s->room.now_s);
    (void)printf("Recorded: %s. %.*s is %s.\n", what, FL_SV_ARG(name),
                 is_held ? "on hold" : "not on hold");
    return fl_print_moved_dates(s, place, before, n_before, err);
}

static fl_status name_finding(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    const fl_finding_now *finding = NULL;
    fl_event *event = NULL;
    fl_status status = fl_find_finding(s, call->words[0], &finding, err);
    if (status == FL_OK) {
        status = fl_found_check_code(call->words[1], err);
    }
    if (status == FL_OK) {
        status = fl_compose(s, FL_KIND_FINDING_IDENTIFIED, &event, err);
    }
    if (status != FL_OK) {
        return status;
    }
    event->body.finding_identified.finding = finding->finding;
    event->body.finding_identified.threat = call->words[1];
    event->body.finding_identified.stage = call->value[STAGE].text;
    return record_word(s, finding->place, "it has a name now", err);
}

static fl_status retract_finding(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    const fl_finding_now *finding = NULL;
    fl_event *event = NULL;
    fl_status status = fl_find_finding(s, call->words[0], &finding, err);
    if (status == FL_OK) {
        status = fl_compose(s, FL_KIND_FINDING_RETRACTED, &event, err);
    }
    if (status != FL_OK) {
        return status;
    }
    event->body.finding_retracted.finding = finding->finding;
    event->body.finding_retracted.why = call->value[WHY].text;
    return record_word(s, finding->place, "it is taken back", err);
}

static void put_finding(fl_session *s, fl_json_writer *w, const fl_finding_now *f)
{
    char id[FL_ID_TEXT_MAX];
    char at[FL_CIVIL_TEXT_MAX];
    fl_json_begin_object(w, NULL);
    fl_json_put_cstr(w, "id", fl_id_format(id, f->finding));
    fl_json_put_text(w, "code", fl_code_of(s, f->finding));
    fl_json_put_cstr(w, "seen_at", fl_civil_format_utc(at, f->at_s));
    fl_json_put_cstr(w, "place", fl_id_format(id, f->place));
    if (fl_id_is_none(f->lot)) {
        fl_json_put_null(w, "lot");
    } else {
        fl_json_put_cstr(w, "lot", fl_id_format(id, f->lot));
    }
    fl_json_put_text(w, "threat", f->threat);
    fl_json_put_text(w, "stage", f->stage);
    fl_json_put_int(w, "count", f->count);
    fl_json_put_bool(w, "is_removed", f->is_removed);
    fl_json_put_bool(w, "is_retracted", f->is_retracted);
    fl_json_put_text(w, "what", f->what);
    fl_json_end(w);
}

static void print_finding(fl_session *s, const fl_finding_now *f)
{
    fl_sv date = fl_say_civil(&s->room, f->at_s, &s->arena);
    fl_sv code = fl_code_of(s, f->finding);
    fl_sv place = fl_room_place_name(&s->room, f->place);
    fl_sv what = f->threat.len > 0 ? f->threat : f->what;
    (void)printf("%.*s  %.*s  %.*s%s in %.*s%s\n", FL_SV_ARG(date), FL_SV_ARG(code),
                 FL_SV_ARG(what), f->threat.len > 0 ? "" : " (no name yet)", FL_SV_ARG(place),
                 f->is_retracted ? ", taken back" : "");
}

static fl_status list_findings(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    fl_json_writer *w = NULL;
    (void)err;
    if (s->cli->is_json) {
        w = fl_json_writer_new();
        fl_json_begin_object(w, NULL);
        fl_json_begin_array(w, "findings");
    }
    for (size_t i = 0; i < s->room.meaning.n_findings; i++) {
        if (w != NULL) {
            put_finding(s, w, &s->room.meaning.findings[i]);
        } else {
            print_finding(s, &s->room.meaning.findings[i]);
        }
    }
    if (w != NULL) {
        fl_json_end(w);
        fl_json_end(w);
        fl_print_json(w);
        fl_json_writer_free(w);
    } else if (s->room.meaning.n_findings == 0) {
        (void)puts("Nothing was found so far.");
    }
    return FL_OK;
}

static const fl_verb verbs[] = {
    {.name = "name",
     .usage = "FINDING THREAT [--stage STAGE]",
     .summary = "What it was: the code of a threat or a look-alike.",
     .args = FL_VERB_ARGS_WORDS(name_options, "FINDING and THREAT", 2),
     .words_min = 2,
     .fn = name_finding},
    {.name = "retract",
     .usage = "FINDING [--why TEXT]",
     .summary = "It was nothing.",
     .args = FL_VERB_ARGS_WORDS(retract_options, "FINDING", 1),
     .words_min = 1,
     .fn = retract_finding},
    {.name = "list", .usage = "", .summary = "All findings with their codes.", .fn = list_findings},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_finding;
const fl_command fl_command_finding = {
    .name = "finding",
    .rank = 26,
    .summary = "give a finding its name, or take it back",
    .usage = "name|retract|list [FINDING] [THREAT]",
    .example = "fernlock finding name K7F2QX western_flower_thrips --stage larva",
    .fn = run,
    .help = help,
};
