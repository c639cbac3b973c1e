/* A batch of arrivals, and the way back. */
#include "app/newcomer.h"

#include <string.h>

#include "base/shown.h"

#define DEVICE "batch-"

fl_event *fl_newcomer_event(fl_newcomer_batch *batch, fl_kind kind, int64_t at_s, fl_sv name)
{
    if (batch->n == batch->capacity) {
        size_t capacity = batch->capacity == 0 ? 64 : 2 * batch->capacity;
        fl_event *events = FL_ARENA_ARRAY(batch->arena, fl_event, capacity);
        if (batch->n > 0) {
            memcpy(events, batch->events, batch->n * sizeof events[0]);
        }
        batch->events = events;
        batch->capacity = capacity;
    }
    fl_event *event = &batch->events[batch->n++];
    *event = (fl_event){
        .id = fl_id_derive(batch->key, name), .kind = kind, .at_s = at_s, .device = batch->device};
    return event;
}

fl_sv fl_newcomer_device(fl_id key, fl_arena *arena)
{
    return fl_arena_printf(arena, DEVICE "%02x%02x%02x%02x%02x%02x", key.b[0], key.b[1], key.b[2],
                           key.b[3], key.b[4], key.b[5]);
}

static bool is_named(const fl_ev_plant_set *plant, const fl_newcomer *newcomer)
{
    return fl_sv_eq_nocase(plant->name, newcomer->plant) ||
           (plant->taxon.len > 0 && (fl_sv_eq_nocase(plant->taxon, newcomer->plant) ||
                                     fl_sv_eq_nocase(plant->taxon, newcomer->taxon)));
}

static fl_id plant_of(fl_newcomer_batch *batch, const fl_newcomer *newcomer)
{
    for (size_t i = 0; i < batch->room->defs.plants.count; i++) {
        const fl_ev_plant_set *plant = &batch->room->defs.plants.events[i]->body.plant_set;
        if (is_named(plant, newcomer)) {
            return plant->plant;
        }
    }
    for (size_t i = 0; i < batch->n; i++) {
        if (batch->events[i].kind == FL_KIND_PLANT_SET &&
            is_named(&batch->events[i].body.plant_set, newcomer)) {
            return batch->events[i].body.plant_set.plant;
        }
    }
    const fl_know_plant *row =
        fl_know_plant_find(newcomer->taxon.len > 0 ? newcomer->taxon : newcomer->plant);
    fl_sv name = newcomer->plant;
    fl_id plant =
        fl_id_derive(batch->key, fl_arena_printf(batch->arena, "plant %.*s", FL_SV_ARG(name)));
    fl_event *event =
        fl_newcomer_event(batch, FL_KIND_PLANT_SET, newcomer->at_s,
                          fl_arena_printf(batch->arena, "plant_set %.*s", FL_SV_ARG(name)));
    event->precision = newcomer->precision;
    event->body.plant_set = (fl_ev_plant_set){
        .plant = plant,
        .name = newcomer->plant,
        .taxon = row != NULL ? fl_sv_from_cstr(row->botanical_name) : newcomer->taxon};
    return plant;
}

/* One arrival for each source and moment of the batch. */
static fl_id arrival_of(const fl_newcomer_batch *batch, const fl_newcomer *newcomer)
{
    fl_id of_source = fl_id_derive(
        batch->key, (fl_sv){(const char *)newcomer->source.b, sizeof newcomer->source.b});
    return fl_id_derive(of_source,
                        fl_arena_printf(batch->arena, "arrival %lld", (long long)newcomer->at_s));
}

void fl_newcomer_add(fl_newcomer_batch *batch, const fl_newcomer *newcomer, fl_id *lot)
{
    bool is_material = fl_form_is_material(newcomer->form);
    fl_id plant = {{0}};
    if (!is_material) {
        plant = plant_of(batch, newcomer);
    }
    size_t number = batch->n_lots++;
    fl_id id = fl_id_derive(batch->key, fl_arena_printf(batch->arena, "lot %zu", number));
    fl_event *event = fl_newcomer_event(batch, FL_KIND_LOT_ARRIVED, newcomer->at_s,
                                        fl_arena_printf(batch->arena, "arrived %zu", number));
    event->precision = newcomer->precision;
    event->note = newcomer->note;
    event->body.lot_arrived = (fl_ev_lot_arrived){.lot = id,
                                                  .arrival = arrival_of(batch, newcomer),
                                                  .source = newcomer->source,
                                                  .plant = plant,
                                                  .name = is_material ? newcomer->plant : FL_SV(""),
                                                  .count = newcomer->count,
                                                  .form = newcomer->form,
                                                  .use = newcomer->use,
                                                  .place = newcomer->place,
                                                  .label_active = newcomer->label_active,
                                                  .is_label_clean = newcomer->is_label_clean,
                                                  .cost = newcomer->cost};
    *lot = id;
}

/* ---- undoing ---- */

/* A lot that came in another way is of this plant. */
static bool is_used_elsewhere(const fl_room *room, fl_id plant, fl_sv device)
{
    for (size_t i = 0; i < room->n_events; i++) {
        const fl_event *event = &room->events[i];
        bool is_other = !fl_sv_eq(event->device, device);
        if (is_other && ((event->kind == FL_KIND_LOT_ARRIVED &&
                          fl_id_eq(event->body.lot_arrived.plant, plant)) ||
                         (event->kind == FL_KIND_LOT_ALREADY_HERE &&
                          fl_id_eq(event->body.lot_already_here.plant, plant)))) {
            return true;
        }
    }
    return false;
}

fl_status fl_newcomer_undo(fl_app *app, const fl_room *room, fl_sv device, fl_sv why,
                           size_t *n_voided, fl_err *err)
{
    fl_arena arena;
    size_t n = 0;
    bool is_batch =
        device.len > sizeof DEVICE - 1 && memcmp(device.ptr, DEVICE, sizeof DEVICE - 1) == 0;
    fl_arena_init(&arena);
    fl_event *events = FL_ARENA_ARRAY(&arena, fl_event, room->n_events);
    for (size_t i = 0; i < room->n_events && is_batch; i++) {
        const fl_event *event = &room->events[i];
        bool is_kept = event->kind == FL_KIND_PLANT_SET &&
                       is_used_elsewhere(room, event->body.plant_set.plant, device);
        if (fl_sv_eq(event->device, device) && !is_kept) {
            events[n] = (fl_event){
                .id = fl_id_random(), .kind = FL_KIND_EVENT_VOIDED, .at_s = fl_app_now(app)};
            events[n].body.event_voided = (fl_ev_event_voided){.event = event->id, .why = why};
            n++;
        }
    }
    fl_status status =
        n > 0 ? fl_app_record_events(app, events, n, err)
              : fl_fail(err, FL_ENOTFOUND, "there is no batch \"%.*s\", or it is undone already",
                        FL_SHOWN(device));
    fl_arena_done(&arena);
    if (status == FL_OK) {
        *n_voided = n;
    }
    return status;
}
