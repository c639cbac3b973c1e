/* An animal was ill, died or was tested: plants stop leaving; the animal is a vet's. */
#include <stdio.h>

#include "app/outbreak.h"
#include "base/shown.h"
#include "cli/compose.h"
#include "cli/found.h"

enum { ANIMAL = FL_OPTION_FIRST, THREAT, POSITIVE, SAMPLED };

static const fl_arg options[] = {
    FL_OPTIONS_RECORDING,
    [ANIMAL] = {"animal", FL_ARG_TEXT, .help = "which animal, in words"},
    [THREAT] = {"threat", FL_ARG_TEXT, .help = "what it was tested for: chytrid_bd, ranavirus …"},
    [POSITIVE] = {"positive", FL_ARG_FLAG, .help = "the test was positive"},
    [SAMPLED] = {"sampled", FL_ARG_TEXT,
                 .help = "when the sample was taken; of a trial: when it began"},
};

static fl_status check_told(const fl_arg_value *value, int what, fl_err *err)
{
    if (what == FL_ANIMAL_TESTED && !value[THREAT].is_given) {
        return fl_fail(err, FL_EINVAL, "tested for what? Give --threat, as in --threat chytrid_bd");
    }
    bool is_trial = what == FL_ANIMAL_TRIAL_LIVED || what == FL_ANIMAL_TRIAL_DIED;
    if (what != FL_ANIMAL_TESTED && value[POSITIVE].is_given) {
        return fl_fail(err, FL_EINVAL, "--positive goes with tested only");
    }
    if (what != FL_ANIMAL_TESTED && !is_trial && value[SAMPLED].is_given) {
        return fl_fail(err, FL_EINVAL, "--sampled goes with tested, or with a trial: its start");
    }
    if (is_trial && !value[SAMPLED].is_given) {
        return fl_fail(err, FL_EINVAL,
                       "since when were they with it? Give --sampled, the day the trial began");
    }
    return value[THREAT].is_given ? fl_found_check_code(value[THREAT].text, err) : FL_OK;
}

static void print_noted(fl_session *s, fl_id place)
{
    fl_sv name = fl_room_place_name(&s->room, place);
    const fl_ev_animal_noted *noted = &s->events[0].body.animal_noted;
    if (noted->what == FL_ANIMAL_TRIAL_LIVED || noted->what == FL_ANIMAL_TRIAL_DIED) {
        (void)printf("Recorded for all that stands in %.*s. %s\n", FL_SV_ARG(name),
                     noted->what == FL_ANIMAL_TRIAL_LIVED
                         ? "It counts for invertebrates; for frogs it proves nothing."
                         : "Nothing of it goes to invertebrates or amphibians until a later trial "
                           "is lived through.");
        return;
    }
    if (fl_meaning_is_held(&s->room.meaning, place, s->room.now_s)) {
        (void)puts("First:");
        for (int i = 0; i < FL_OUTBREAK_FIRST; i++) {
            (void)printf("  %d. %s\n", i + 1, fl_outbreak_first_animals[i]);
        }
        (void)printf("Recorded. %.*s is on hold: nothing should leave it. Treating the animals is "
                     "the vet's alone.\nWhere from, and what left it since: fernlock trace %.*s\n",
                     FL_SV_ARG(name), FL_SV_ARG(fl_code_of(s, place)));
    } else {
        (void)printf("Recorded. %.*s is not on hold.\n", FL_SV_ARG(name));
    }
}

static fl_status note_animal(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    const fl_arg_value *value = call->value;
    const fl_ev_place_set *place = NULL;
    fl_event *event = NULL;
    fl_precision precision;
    int what = 0;
    fl_status status = fl_room_find_place(&s->room, call->words[0], &place, err);
    if (status == FL_OK) {
        status = fl_read_word(call->words[1], "animal", fl_words_animal_event, FL_ANIMAL_COUNT,
                              &what, err);
    }
    if (status == FL_OK) {
        status = check_told(value, what, err);
    }
    if (status == FL_OK) {
        status = fl_compose(s, FL_KIND_ANIMAL_NOTED, &event, err);
    }
    if (status != FL_OK) {
        return status;
    }
    fl_ev_animal_noted *body = &event->body.animal_noted;
    body->place = place->place;
    body->what = (fl_animal_event)what;
    body->animal = value[ANIMAL].text;
    body->threat = value[THREAT].text;
    body->is_positive = value[POSITIVE].is_given;
    if (value[SAMPLED].is_given) {
        status = fl_civil_parse(value[SAMPLED].text, s->app.tz_offset_min, &body->sampled_s,
                                &precision, err);
    }
    if (status == FL_OK) {
        status = fl_compose_record(s, err);
    }
    if (status == FL_OK && !fl_compose_told(s)) {
        print_noted(s, body->place);
    }
    return status;
}

static const fl_verb verbs[] = {
    {.usage = "PLACE ill|died|tested|trial_lived|trial_died [--animal TEXT] [--threat CODE] "
              "[--positive]",
     .summary = "Plants stop leaving that enclosure; the animal itself is a vet's matter.",
     .args = FL_VERB_ARGS_WORDS(options, "PLACE and what happened", 2),
     .words_min = 2,
     .fn = note_animal},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_animal;
const fl_command fl_command_animal = {
    .name = "animal",
    .rank = 44,
    .summary = "an animal was ill, died or was tested",
    .usage = "PLACE ill|died|tested|trial_lived|trial_died [--OPTION VALUE]…",
    .example = "fernlock animal \"frog room\" tested --threat chytrid_bd --sampled 2026-03-28",
    .fn = run,
    .help = help,
};
