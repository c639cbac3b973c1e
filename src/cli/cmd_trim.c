/* Plants were trimmed, or when each is to be. */
#include <math.h>
#include <stdio.h>

#include "app/trims.h"
#include "cli/answer.h"
#include "cli/compose.h"
#include "cli/find.h"
#include "view/words.h"

static const fl_arg options[] = {FL_OPTIONS_RECORDING};

static fl_status list_trims(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    const fl_trim *trims = NULL;
    const size_t n = fl_trims_list(&s->room, &s->arena, &trims);
    (void)err;
    for (size_t i = 0; i < n; i++) {
        const fl_sv label = fl_lot_label(s, trims[i].lot);
        const fl_sv place = fl_room_place_name(&s->room, trims[i].place);
        const int64_t due_s = trims[i].due_s < s->room.now_s ? s->room.now_s : trims[i].due_s;
        const fl_sv when = fl_say_when(&s->room, due_s, &s->arena);
        (void)printf("%.*s in %.*s: %.*s, every %d days (%s)\n", FL_SV_ARG(label), FL_SV_ARG(place),
                     FL_SV_ARG(when), trims[i].every_days,
                     trims[i].is_own ? "as you did" : "common practice");
    }
    if (n == 0) {
        (void)puts("Nothing here is trimmed by how it grows.");
    }
    return FL_OK;
}

/* All lots that stand in the place and grow so that they are trimmed; else all of it. */
static fl_id_list lots_in(fl_session *s, fl_id place)
{
    fl_id *ids = FL_ARENA_ARRAY(&s->arena, fl_id, s->room.meaning.n_lots + 1);
    const fl_trim *trims = NULL;
    const size_t n_trims = fl_trims_list(&s->room, &s->arena, &trims);
    size_t n = 0;
    for (size_t i = 0; i < n_trims; i++) {
        if (fl_id_eq(trims[i].place, place)) {
            ids[n++] = trims[i].lot->id;
        }
    }
    return (fl_id_list){ids, n};
}

/* The words as lots; one word that names a place: what is trimmed there. */
static fl_status read_what(fl_call *call, fl_id_list *out, fl_err *err)
{
    fl_session *s = call->s;
    const fl_ev_place_set *place = NULL;
    const fl_lot **lots = NULL;
    size_t n = 0;
    fl_err none;
    if (call->n_words == 1 &&
        fl_room_find_place(&s->room, call->words[0], &place, &none) == FL_OK) {
        *out = lots_in(s, place->place);
        return out->count > 0 ? FL_OK
                              : fl_fail(err, FL_EINVAL,
                                        "nothing in %.*s is trimmed by how it grows: name the lot",
                                        FL_SV_ARG(place->name));
    }
    const fl_status status = fl_read_lots(call, 0, &lots, &n, err);
    if (status == FL_OK) {
        *out = fl_lot_ids(s, lots, n);
    }
    return status;
}

static fl_status trim(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    fl_event *event = NULL;
    fl_id_list lots = {NULL, 0};
    if (call->n_words == 0) {
        return list_trims(call, err);
    }
    fl_status status = read_what(call, &lots, err);
    if (status == FL_OK) {
        status = fl_compose(s, FL_KIND_STEP_DONE, &event, err);
    }
    if (status != FL_OK) {
        return status;
    }
    fl_ev_step *step = FL_ARENA_NEW(&s->arena, fl_ev_step);
    *step = (fl_ev_step){.lots = lots,
                         .step = FL_STEP_TRIM,
                         .agent = FL_AGENT_NONE,
                         .dose_mg_per_l = (double)NAN,
                         .pct = (double)NAN,
                         .temp_c = (double)NAN,
                         .minutes = (double)NAN};
    event->body.step_done.steps = step;
    event->body.step_done.n_steps = 1;
    status = fl_compose_record(s, err);
    if (status == FL_OK && !fl_compose_told(s)) {
        (void)printf(
            "Recorded: %zu lot%s trimmed. Bag what you cut off: what is on it travels with "
            "it. Clean the scissors before the next place.\n",
            lots.count, lots.count == 1 ? "" : "s");
    }
    return status;
}

static const fl_verb verbs[] = {
    {.usage = "[PLACE | LOT…]",
     .summary = "All that is trimmed in a place, or these lots, were cut back; without words, what "
                "is to be trimmed when.",
     .args = FL_VERB_ARGS_WORDS(options, "LOT", FL_WORDS_MAX),
     .fn = trim},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_trim;
const fl_command fl_command_trim = {
    .name = "trim",
    .rank = 44,
    .summary = "plants were cut back, or when each is to be",
    .usage = "[PLACE | LOT…]",
    .example = "fernlock trim \"frog room\"",
    .fn = run,
    .help = help,
};
