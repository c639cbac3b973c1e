/* Holds: nothing should leave a place until it is lifted. */
#include <stdio.h>

#include "cli/compose.h"
#include "cli/find.h"
#include "view/words.h"

enum { WHY = FL_OPTION_FIRST };

static const fl_arg options[] = {
    FL_OPTIONS_RECORDING,
    [WHY] = {"why", FL_ARG_TEXT, .help = "why"},
};

static void print_state(fl_session *s, fl_id place)
{
    fl_sv name = fl_room_place_name(&s->room, place);
    bool is_held = fl_meaning_is_held(&s->room.meaning, place, s->room.now_s);
    (void)printf("Recorded: %.*s is %s.\n", FL_SV_ARG(name),
                 is_held ? "on hold" : "not on hold any more");
}

static fl_status set_hold(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    const fl_ev_place_set *place = NULL;
    fl_event *event = NULL;
    fl_status status = fl_room_find_place(&s->room, call->words[0], &place, err);
    if (status == FL_OK) {
        status = fl_compose(s, FL_KIND_HOLD_SET, &event, err);
    }
    if (status != FL_OK) {
        return status;
    }
    fl_ev_hold_set *body = &event->body.hold_set;
    body->hold = fl_compose_id(s);
    body->place = place->place;
    body->why = call->value[WHY].text;
    fl_compose_made(s, "hold", body->hold, place->name);
    status = fl_compose_record(s, err);
    if (status == FL_OK && !fl_compose_told(s)) {
        print_state(s, body->place);
    }
    return status;
}

static bool is_open(const fl_session *s, const fl_hold *hold)
{
    return hold->from_s <= s->room.now_s && hold->to_s > s->room.now_s;
}

static fl_status compose_lift(fl_call *call, const fl_hold *hold, fl_err *err)
{
    fl_event *event = NULL;
    fl_status status = fl_compose(call->s, FL_KIND_HOLD_LIFTED, &event, err);
    if (status == FL_OK) {
        event->body.hold_lifted.hold = hold->id;
        event->body.hold_lifted.why = call->value[WHY].text;
    }
    return status;
}

/* Every open hold that the word names: one by its code or id, or all of a place. */
static fl_status compose_lifts(fl_call *call, fl_id *place, fl_err *err)
{
    fl_session *s = call->s;
    const fl_ev_place_set *named = NULL;
    fl_status status = FL_OK;
    for (size_t i = 0; i < s->room.meaning.n_holds; i++) {
        const fl_hold *hold = &s->room.meaning.holds[i];
        if (is_open(s, hold) && fl_id_is_named(hold->id, call->words[0])) {
            *place = hold->place;
            return compose_lift(call, hold, err);
        }
    }
    status = fl_room_find_place(&s->room, call->words[0], &named, err);
    for (size_t i = 0; i < s->room.meaning.n_holds && status == FL_OK; i++) {
        const fl_hold *hold = &s->room.meaning.holds[i];
        if (is_open(s, hold) && fl_id_eq(hold->place, named->place)) {
            status = compose_lift(call, hold, err);
        }
    }
    if (status == FL_OK && s->n_events == 0) {
        return fl_fail(err, FL_ENOTFOUND, "%.*s is not on hold: there is nothing to lift",
                       FL_SV_ARG(named->name));
    }
    if (status == FL_OK) {
        *place = named->place;
    }
    return status;
}

static fl_status lift_hold(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    fl_id place;
    fl_status status = compose_lifts(call, &place, err);
    if (status == FL_OK) {
        status = fl_compose_record(s, err);
    }
    if (status == FL_OK && !fl_compose_told(s)) {
        print_state(s, place);
    }
    return status;
}

static void put_hold(fl_session *s, fl_json_writer *w, const fl_hold *hold)
{
    char id[FL_ID_TEXT_MAX];
    char at[FL_CIVIL_TEXT_MAX];
    static const char *const causes[] = {"keeper", "finding", "animal"};
    fl_json_begin_object(w, NULL);
    fl_json_put_cstr(w, "id", fl_id_format(id, hold->id));
    fl_json_put_text(w, "code", fl_code_of(s, hold->id));
    fl_json_put_cstr(w, "place", fl_id_format(id, hold->place));
    fl_json_put_cstr(w, "cause", causes[hold->cause]);
    fl_json_put_cstr(w, "from_at", fl_civil_format_utc(at, hold->from_s));
    fl_json_put_text(w, "why", hold->why);
    fl_json_end(w);
}

static void print_hold(fl_session *s, const fl_hold *hold)
{
    fl_sv date = fl_say_civil(&s->room, hold->from_s, &s->arena);
    fl_sv code = fl_code_of(s, hold->id);
    fl_sv place = fl_room_place_name(&s->room, hold->place);
    (void)printf("%.*s  %.*s  %.*s%s%.*s\n", FL_SV_ARG(date), FL_SV_ARG(code), FL_SV_ARG(place),
                 hold->why.len > 0 ? ": " : "", FL_SV_ARG(hold->why));
}

static fl_status list_holds(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    fl_json_writer *w = NULL;
    size_t n = 0;
    (void)err;
    if (s->cli->is_json) {
        w = fl_json_writer_new();
        fl_json_begin_object(w, NULL);
        fl_json_begin_array(w, "holds");
    }
    for (size_t i = 0; i < s->room.meaning.n_holds; i++) {
        const fl_hold *hold = &s->room.meaning.holds[i];
        if (!is_open(s, hold)) {
            continue;
        }
        n++;
        if (w != NULL) {
            put_hold(s, w, hold);
        } else {
            print_hold(s, hold);
        }
    }
    if (w != NULL) {
        fl_json_end(w);
        fl_json_end(w);
        fl_print_json(w);
        fl_json_writer_free(w);
    } else if (n == 0) {
        (void)puts("Nothing is on hold.");
    }
    return FL_OK;
}

static const fl_verb verbs[] = {
    {.name = "set",
     .usage = "PLACE [--why TEXT]",
     .summary = "Nothing should leave this place for now.",
     .args = FL_VERB_ARGS_WORDS(options, "PLACE", 1),
     .words_min = 1,
     .fn = set_hold},
    {.name = "lift",
     .usage = "PLACE|HOLD [--why TEXT]",
     .summary = "Lifts one hold, or all holds of a place. What was found still counts.",
     .args = FL_VERB_ARGS_WORDS(options, "PLACE", 1),
     .words_min = 1,
     .fn = lift_hold},
    {.name = "list", .usage = "", .summary = "All open holds.", .fn = list_holds},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_hold;
const fl_command fl_command_hold = {
    .name = "hold",
    .rank = 27,
    .summary = "set, lift or list holds",
    .usage = "set|lift|list [PLACE] [--why TEXT]",
    .example = "fernlock hold lift \"bin 1\" --why \"cleaned again, three quiet looks\"",
    .fn = run,
    .help = help,
};
