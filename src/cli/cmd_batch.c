/* Batches: what became of the plants of a tray, and who got which. */
#include <stdio.h>

#include "cli/answer.h"
#include "cli/find.h"
#include "cli/show.h"
#include "view/batch.h"

static void print_batch(fl_session *s, const fl_batch *b)
{
    const fl_sv label = fl_lot_label(s, b->lot);
    const fl_sv text = fl_say_batch(b, &s->arena);
    (void)printf("%.*s: %.*s\n", FL_SV_ARG(label), FL_SV_ARG(text));
    for (size_t i = 0; i < b->n_parts; i++) {
        const fl_lot *lot = b->parts[i].lot;
        const fl_sv code = fl_code_of(s, lot->id);
        const fl_sv place = fl_room_place_name(&s->room, lot->place);
        const fl_sv in = fl_say_container(b->parts[i].container, &s->arena);
        (void)printf("  %.*s: %lld %.*s, %s %.*s\n", FL_SV_ARG(code), (long long)lot->count,
                     FL_SV_ARG(in), fl_place_in(s, lot->place), FL_SV_ARG(place));
    }
    for (size_t i = 0; i < b->n_losses; i++) {
        const fl_sv line = fl_say_loss(&s->room, &b->losses[i], &s->arena);
        (void)printf("  died: %.*s\n", FL_SV_ARG(line));
    }
    for (size_t i = 0; i < b->n_leavings; i++) {
        const fl_sv line = fl_say_leaving(&s->room, &b->leavings[i], &s->arena);
        (void)printf("  left: %.*s\n", FL_SV_ARG(line));
    }
    for (size_t i = 0; i < b->n_cutting_leavings; i++) {
        const fl_sv line = fl_say_leaving(&s->room, &b->cutting_leavings[i], &s->arena);
        (void)printf("  cut from it, and left: %.*s\n", FL_SV_ARG(line));
    }
}

static fl_status list_batches(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    const fl_lot **tops = NULL;
    (void)err;
    if (s->cli->is_json) {
        fl_json_writer *w = fl_json_writer_new();
        const fl_view view = fl_session_view(s, w);
        fl_view_batches(&view, NULL);
        fl_print_json(w);
        fl_json_writer_free(w);
        return FL_OK;
    }
    const size_t n = fl_batch_list(&s->room, &s->arena, &tops);
    for (size_t i = 0; i < n; i++) {
        fl_batch b;
        fl_batch_of(&s->room, tops[i], &s->arena, &b);
        const fl_sv label = fl_lot_label(s, b.lot);
        const fl_sv text = fl_say_batch(&b, &s->arena);
        (void)printf("%.*s: %.*s\n", FL_SV_ARG(label), FL_SV_ARG(text));
    }
    if (n == 0) {
        (void)puts("No lot of more than one plant yet.");
    }
    return FL_OK;
}

static fl_status show_batch(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    const fl_lot *lot = NULL;
    fl_batch batch;
    if (call->n_words == 0) {
        return list_batches(call, err);
    }
    const fl_status status = fl_room_find_lot(&s->room, call->words[0], &lot, err);
    if (status != FL_OK) {
        return status;
    }
    fl_batch_of(&s->room, lot, &s->arena, &batch);
    if (s->cli->is_json) {
        fl_json_writer *w = fl_json_writer_new();
        const fl_view view = fl_session_view(s, w);
        fl_view_batch(&view, NULL, &batch);
        fl_print_json(w);
        fl_json_writer_free(w);
    } else {
        print_batch(s, &batch);
    }
    return FL_OK;
}

/* What one person got, of which batches. */
static fl_status show_taker(fl_call *call, fl_err *err)
{
    fl_session *s = call->s;
    const fl_ev_place_set *place = NULL;
    const fl_batch_leaving *all = NULL;
    size_t n_own = 0;
    const fl_status status = fl_room_find_place(&s->room, call->words[0], &place, err);
    if (status != FL_OK) {
        return status;
    }
    if (place->kind != FL_PLACE_OUTSIDE) {
        return fl_fail(err, FL_EINVAL, "%.*s is a place here: fernlock show place",
                       FL_SV_ARG(place->name));
    }
    if (s->cli->is_json) {
        fl_json_writer *w = fl_json_writer_new();
        const fl_view view = fl_session_view(s, w);
        fl_view_taker(&view, NULL, place->place);
        fl_print_json(w);
        fl_json_writer_free(w);
        return FL_OK;
    }
    const size_t n = fl_batch_leavings(&s->room, &s->arena, &all);
    for (size_t i = 0; i < n; i++) {
        if (fl_id_eq(all[i].to, place->place)) {
            const fl_sv line = fl_say_leaving(&s->room, &all[i], &s->arena);
            const fl_sv batch = fl_code_of(s, all[i].batch->id);
            (void)printf("%.*s; batch %.*s\n", FL_SV_ARG(line), FL_SV_ARG(batch));
            n_own++;
        }
    }
    if (n_own == 0) {
        (void)puts("Nothing went there.");
    }
    return FL_OK;
}

static const fl_verb verbs[] = {
    {.name = "to",
     .usage = "NAME",
     .summary = "What somebody got, of which batches, and when.",
     .args = FL_VERB_WORDS("NAME", 1),
     .words_min = 1,
     .fn = show_taker},
    {.usage = "[LOT]",
     .summary = "What became of the plants of a batch, and who got some; without LOT, every batch. "
                "With --json, also everyone who got something.",
     .args = FL_VERB_WORDS("LOT", 1),
     .fn = show_batch},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_batch;
const fl_command fl_command_batch = {
    .name = "batch",
    .rank = 43,
    .summary = "what became of a tray's plants, and who got which",
    .usage = "[LOT] | to NAME",
    .example = "fernlock batch pilea",
    .fn = run,
    .help = help,
};
