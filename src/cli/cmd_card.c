/* Cards and baits are set or taken away. */
#include <stdio.h>

#include "cli/compose.h"

enum { AWAY = FL_OPTION_FIRST, ANYWAY };

static const fl_arg options[] = {
    FL_OPTIONS_RECORDING,
    [AWAY] = {"away", FL_ARG_FLAG, .help = "it was taken away"},
    [ANYWAY] = {"anyway", FL_ARG_FLAG, .help = "record a card among animals all the same"},
};

static bool is_sticky(int device)
{
    return device == FL_DEVICE_YELLOW_CARD || device == FL_DEVICE_BLUE_CARD;
}

static fl_status record_card(fl_call *call, fl_id place, int device, fl_err *err)
{
    fl_session *s = call->s;
    fl_event *event = NULL;
    fl_status status = fl_compose(s, FL_KIND_CARD_SET, &event, err);
    if (status != FL_OK) {
        return status;
    }
    fl_ev_card_set *body = &event->body.card_set;
    body->place = place;
    body->device = (fl_device)device;
    body->is_taken_away = call->value[AWAY].is_given;
    status = fl_compose_record(s, err);
    if (status == FL_OK && !fl_compose_told(s)) {
        fl_sv name = fl_room_place_name(&s->room, place);
        (void)printf("Recorded: %s %s %.*s.\n", fl_words_device[device].text,
                     body->is_taken_away ? "taken out of" : "set in", FL_SV_ARG(name));
    }
    return status;
}

static fl_status card(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    const fl_arg_value *value = call->value;
    const fl_ev_place_set *place = NULL;
    int device = 0;
    fl_status status = fl_room_find_place(&s->room, call->words[0], &place, err);
    if (status == FL_OK) {
        status =
            fl_read_word(call->words[1], "card", fl_words_device, FL_DEVICE_COUNT, &device, err);
    }
    if (status != FL_OK) {
        return status;
    }
    bool can_catch = place->has_animals && is_sticky(device) && !value[AWAY].is_given;
    if (can_catch && !value[ANYWAY].is_given && !value[FL_OPTION_AT].is_given) {
        call->code = FL_EXIT_NO;
        if (s->cli->is_json) {
            (void)puts("{\"record\":null,\"reason\":\"animals\"}");
        } else {
            (void)printf("Animals are in %.*s: a sticky card holds small animals fast. Hang it "
                         "outside the lid, or in the room.\n"
                         "Nothing is recorded. To record it all the same: --anyway\n",
                         FL_SV_ARG(place->name));
        }
        return FL_OK;
    }
    return record_card(call, place->place, device, err);
}

static const fl_verb verbs[] = {
    {.usage = "PLACE yellow_card|blue_card|potato|bait [--away]",
     .summary = "A card or bait hangs or lies there from now on, or no longer.",
     .args = FL_VERB_ARGS_WORDS(options, "PLACE and card", 2),
     .words_min = 2,
     .fn = card},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_card;
const fl_command fl_command_card = {
    .name = "card",
    .rank = 24,
    .summary = "a card or bait was set or taken away",
    .usage = "PLACE DEVICE [--away]",
    .example = "fernlock card \"bin 3\" yellow_card",
    .fn = run,
    .help = help,
};
