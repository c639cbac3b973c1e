/* A room in a temporary folder, and small events to put into it. */
#include "support/room.h"

#include <stdio.h>

void fl_test_room_init(fl_test_room *room)
{
    *room = (fl_test_room){.store = NULL};
    fl_arena_init(&room->arena);
    fl_temp_folder(room->dir);
    (void)snprintf(room->file, sizeof room->file, "%s/room.sqlite", room->dir);
    check_ok(fl_store_open(room->dir, true, &room->store, &room->err), &room->err);
}

void fl_test_room_reopen(fl_test_room *room)
{
    fl_store_close(room->store);
    room->store = NULL;
    check_ok(fl_store_open(room->dir, false, &room->store, &room->err), &room->err);
}

void fl_test_room_done(fl_test_room *room)
{
    fl_store_close(room->store);
    fl_arena_done(&room->arena);
    fl_remove_folder(room->dir);
}

fl_id fl_test_id(uint64_t number)
{
    fl_id id = {{0}};
    for (int i = 0; i < 8; i++) {
        id.b[15 - i] = (uint8_t)(number >> (8 * i));
    }
    return id;
}

/* Facts and bytes of a finished event. */
static void complete(fl_test_event *made, fl_arena *arena)
{
    char id[FL_ID_TEXT_MAX];
    made->bytes = fl_arena_printf(arena, "{\"at\":%lld,\"id\":\"%s\",\"kind\":\"%s\"}",
                                  (long long)made->event.at_s, fl_id_format(id, made->event.id),
                                  fl_kinds[made->event.kind].word);
    fl_err err;
    check_ok(fl_event_facts(&made->event, made->facts, sizeof made->facts / sizeof made->facts[0],
                            &made->n_facts, &err),
             &err);
}

fl_test_event fl_test_arrived(fl_arena *arena, uint64_t event, uint64_t lot, int64_t at_s)
{
    fl_test_event made = {.event = {.id = fl_test_id(event),
                                    .kind = FL_KIND_LOT_ARRIVED,
                                    .at_s = at_s,
                                    .body.lot_arrived = {.lot = fl_test_id(lot),
                                                         .arrival = fl_test_id(8001),
                                                         .source = fl_test_id(8002),
                                                         .place = fl_test_id(8003),
                                                         .count = 1}}};
    complete(&made, arena);
    return made;
}

fl_test_event fl_test_moved(fl_arena *arena, uint64_t event, const fl_id *lot, uint64_t place,
                            int64_t at_s)
{
    fl_test_event made = {
        .event = {.id = fl_test_id(event),
                  .kind = FL_KIND_LOT_MOVED,
                  .at_s = at_s,
                  .body.lot_moved = {.lots = {.ids = lot, .count = 1}, .to = fl_test_id(place)}}};
    complete(&made, arena);
    return made;
}

fl_test_event fl_test_voided(fl_arena *arena, uint64_t event, uint64_t voided, int64_t at_s)
{
    fl_test_event made = {.event = {.id = fl_test_id(event),
                                    .kind = FL_KIND_EVENT_VOIDED,
                                    .at_s = at_s,
                                    .body.event_voided = {.event = fl_test_id(voided)}}};
    complete(&made, arena);
    return made;
}

fl_status fl_test_append(fl_store *store, const fl_test_event *event, fl_err *err)
{
    return fl_store_journal_append(store, &event->event, event->bytes, event->facts, event->n_facts,
                                   1700000000, err);
}

void fl_test_record(fl_test_room *room, const fl_test_event *event)
{
    check_ok(fl_store_begin(room->store, &room->err), &room->err);
    check_ok(fl_test_append(room->store, event, &room->err), &room->err);
    check_ok(fl_store_commit(room->store, &room->err), &room->err);
}
