/* Keeping photos, and which are of what. Lists are made from the live events: no table of their
 * own. */
#include "app/photos.h"

#include <string.h>

#include "base/alloc.h"
#include "base/shown.h"

fl_status fl_photo_keep(fl_app *app, fl_sv bytes, fl_arena *arena, fl_photo_kept *out, fl_err *err)
{
    char hex[FL_HASH_TEXT_MAX];
    fl_jpeg jpeg = {0};
    if (bytes.len > FL_PHOTO_BYTES_MAX) {
        return fl_fail(err, FL_ETOOBIG, "the photo has %zu kB: at most %zu kB are kept",
                       bytes.len >> 10, FL_PHOTO_BYTES_MAX >> 10);
    }
    unsigned char *kept = fl_alloc(bytes.len + FL_JPEG_BYTES_MORE, 1);
    fl_status status = fl_jpeg_strip(bytes, kept, &jpeg, err);
    fl_hash hash = fl_hash_of(kept, jpeg.bytes);
    if (status == FL_OK) {
        status = fl_app_keep_blob(app, hash, (fl_sv){(const char *)kept, jpeg.bytes}, err);
    }
    if (status == FL_OK) {
        fl_sv sha256 = fl_sv_from_cstr(fl_hash_format(hex, hash));
        *out = (fl_photo_kept){.sha256 = fl_arena_copy_sv(arena, sha256), .jpeg = jpeg};
    }
    fl_alloc_free(kept);
    return status;
}

fl_status fl_photo_bytes(fl_app *app, fl_sv sha256, fl_arena *arena, fl_sv *bytes, fl_err *err)
{
    fl_hash hash;
    if (!fl_hash_parse(sha256.ptr, sha256.len, &hash)) {
        return fl_fail(err, FL_ENOTFOUND, "\"%.*s\" is no photo: give the 64 hex digits of one",
                       FL_SHOWN(sha256));
    }
    fl_sv got;
    fl_status status = fl_store_blob_get(app->store, hash, arena, &got, err);
    if (status == FL_OK && (got.len < 3 || memcmp(got.ptr, "\xFF\xD8\xFF", 3) != 0)) {
        status = fl_fail(err, FL_ENOTFOUND, "%.*s is no photo", FL_SHOWN(sha256));
    }
    if (status == FL_OK) {
        *bytes = got;
    }
    return status;
}

static const fl_finding_now *find_finding(const fl_room *room, fl_id id)
{
    for (size_t i = 0; i < room->meaning.n_findings; i++) {
        if (fl_id_eq(room->meaning.findings[i].finding, id)) {
            return &room->meaning.findings[i];
        }
    }
    return NULL;
}

fl_photo_subject fl_photo_subject_of(const fl_room *room, fl_id id)
{
    fl_photo_subject subject = {.kind = FL_ENTITY_COUNT, .id = id};
    if (fl_meaning_lot(&room->meaning, id) != NULL) {
        subject.kind = FL_ENTITY_LOT;
    } else if (fl_defs_place(&room->defs, id) != NULL) {
        subject.kind = FL_ENTITY_PLACE;
    } else if (find_finding(room, id) != NULL) {
        subject.kind = FL_ENTITY_FINDING;
    } else if (fl_defs_plant(&room->defs, id) != NULL) {
        subject.kind = FL_ENTITY_PLANT;
    }
    return subject;
}

fl_status fl_photo_find_subject(const fl_room *room, fl_sv text, fl_photo_subject *out, fl_err *err)
{
    fl_id id;
    const fl_lot *lot = NULL;
    const fl_ev_place_set *place = NULL;
    const fl_ev_plant_set *plant = NULL;
    fl_photo_subject subject = {.kind = FL_ENTITY_COUNT};
    if (fl_id_parse(text, &id, NULL) == FL_OK) {
        subject = fl_photo_subject_of(room, id);
    } else if (fl_room_find_lot(room, text, &lot, NULL) == FL_OK) {
        subject = (fl_photo_subject){FL_ENTITY_LOT, lot->id};
    } else if (fl_room_find_place(room, text, &place, NULL) == FL_OK) {
        subject = (fl_photo_subject){FL_ENTITY_PLACE, place->place};
    } else if (fl_room_find_plant(room, text, &plant, NULL) == FL_OK) {
        subject = (fl_photo_subject){FL_ENTITY_PLANT, plant->plant};
    }
    if (subject.kind == FL_ENTITY_COUNT) {
        return fl_fail(err, FL_ENOTFOUND,
                       "\"%.*s\" is no one lot, place or plant, and no id of a finding",
                       FL_SHOWN(text));
    }
    *out = subject;
    return FL_OK;
}

/* True when a photo of `of` is also one of `wanted`. */
static bool is_about(const fl_room *room, fl_id of, fl_id wanted)
{
    if (fl_id_is_none(wanted) || fl_id_eq(of, wanted)) {
        return true;
    }
    const fl_finding_now *finding = find_finding(room, of);
    return finding != NULL &&
           fl_id_eq(fl_id_is_none(finding->lot) ? finding->place : finding->lot, wanted);
}

size_t fl_photos_of(const fl_room *room, fl_id subject, fl_arena *arena, const fl_event ***out)
{
    size_t n = 0;
    const fl_event **list = FL_ARENA_ARRAY(arena, const fl_event *, room->n_events);
    for (size_t i = room->n_events; i > 0; i--) {
        const fl_event *event = &room->events[i - 1];
        if (event->kind == FL_KIND_PHOTO_ATTACHED &&
            is_about(room, event->body.photo_attached.subject, subject)) {
            list[n++] = event;
        }
    }
    *out = list;
    return n;
}

size_t fl_photos_to_name(const fl_room *room, fl_arena *arena, const fl_lot ***out)
{
    size_t n = 0;
    const fl_lot **list = FL_ARENA_ARRAY(arena, const fl_lot *, room->n_events);
    for (size_t i = 0; i < room->n_events; i++) {
        const fl_event *event = &room->events[i];
        const fl_lot *lot = event->kind == FL_KIND_PHOTO_ATTACHED
                                ? fl_meaning_lot(&room->meaning, event->body.photo_attached.subject)
                                : NULL;
        bool is_new = lot != NULL && !lot->is_gone && fl_id_is_none(lot->plant) &&
                      fl_sv_eq_cstr(lot->name, FL_UNNAMED_PLANT);
        for (size_t k = 0; k < n && is_new; k++) {
            is_new = list[k] != lot;
        }
        if (is_new) {
            list[n++] = lot;
        }
    }
    *out = list;
    return n;
}
