/* Some plants of a lot: a split when they are not all. */
#include "cli/nursery.h"

#include <stdio.h>

#include "cli/compose.h"
#include "view/batch.h"

fl_status fl_nursery_part(fl_session *s, const fl_lot *lot, const fl_arg_value *count, fl_id *out,
                          int64_t *n, fl_err *err)
{
    const fl_sv label = fl_lot_label(s, lot);
    const int64_t wanted = count->is_given ? count->integer : lot->count;
    fl_event *event = NULL;
    if (lot->is_gone || lot->count < 1) {
        return fl_fail(err, FL_EINVAL, "nothing is left of %.*s", FL_SV_ARG(label));
    }
    if (wanted > lot->count) {
        return fl_fail(err, FL_EINVAL, "--count %lld: %.*s has %lld", (long long)wanted,
                       FL_SV_ARG(label), (long long)lot->count);
    }
    *n = wanted;
    *out = lot->id;
    if (wanted == lot->count) {
        return FL_OK;
    }
    const fl_status status = fl_compose(s, FL_KIND_LOT_SPLIT, &event, err);
    if (status == FL_OK) {
        *out = fl_compose_id(s);
        event->body.lot_split = (fl_ev_lot_split){.lot = lot->id, .new_lot = *out, .count = wanted};
        fl_compose_made(s, "lot", *out, fl_room_lot_name(&s->room, lot));
    }
    return status;
}

void fl_nursery_print(fl_session *s, fl_id lot)
{
    fl_batch batch;
    const fl_lot *now = fl_meaning_lot(&s->room.meaning, lot);
    if (now == NULL) {
        return;
    }
    fl_batch_of(&s->room, now, &s->arena, &batch);
    const fl_sv label = fl_lot_label(s, batch.lot);
    const fl_sv text = fl_say_batch(&batch, &s->arena);
    (void)printf("%.*s: %.*s\n", FL_SV_ARG(label), FL_SV_ARG(text));
}
