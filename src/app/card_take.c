/* The events of a lot with a told past. */
#include "app/card_take.h"

#include <math.h>

#include "app/newcomer.h"

fl_status fl_card_take(fl_app *app, const fl_room *room, const fl_card_read *card,
                       const fl_card_taking *taking, fl_id *lot, fl_err *err)
{
    fl_arena arena;
    const fl_ev_source_set *source = NULL;
    const fl_ev_place_set *place = NULL;
    fl_id id = {{0}};
    fl_status status = fl_room_find_source(room, taking->source, &source, err);
    if (status == FL_OK) {
        status = fl_room_find_place(room, taking->place, &place, err);
    }
    if (status != FL_OK) {
        return status;
    }
    fl_arena_init(&arena);
    fl_newcomer_batch batch = {.room = room,
                               .arena = &arena,
                               .key = taking->key,
                               .device = fl_newcomer_device(taking->key, &arena)};
    int64_t count = taking->count > 0 ? taking->count : card->count;
    const fl_newcomer newcomer = {.plant = card->plant,
                                  .taxon = card->taxon,
                                  .count = count > 0 ? count : 1,
                                  .form = card->form,
                                  .use = taking->use,
                                  .source = source->source,
                                  .place = place->place,
                                  .at_s = taking->at_s,
                                  .label_active = card->label_active,
                                  .is_label_clean = card->is_label_clean,
                                  .cost = (double)NAN};
    fl_newcomer_add(&batch, &newcomer, &id);
    fl_event *told = fl_newcomer_event(&batch, FL_KIND_HISTORY_TOLD, taking->at_s, FL_SV("told"));
    told->body.history_told =
        (fl_ev_history_told){.lot = id,
                             .teller = card->from.len > 0 ? card->from : source->name,
                             .card_json = card->canonical};
    status = fl_app_record_events(app, batch.events, batch.n, err);
    fl_arena_done(&arena);
    if (status == FL_OK) {
        *lot = id;
    }
    return status;
}
