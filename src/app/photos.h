/* Photos: what a keeper saw, kept with the record. A photo's bytes are a blob under their SHA-256;
 * the event photo_attached says of what it is. Where and when the camera says it was taken is taken
 * out before anything is kept (core/picture/jpeg.h). */
#ifndef FL_APP_PHOTOS_H
#define FL_APP_PHOTOS_H

#include "app/room.h"
#include "core/picture/jpeg.h"

#define FL_PHOTO_BYTES_MAX ((size_t)2 << 20) /* as it comes; a browser makes it smaller first */

/* What a photo can be of. */
typedef struct fl_photo_subject {
    fl_entity kind; /* FL_ENTITY_LOT, _PLACE, _FINDING or _PLANT */
    fl_id id;
} fl_photo_subject;

typedef struct fl_photo_kept {
    fl_sv sha256; /* hex, in the arena */
    fl_jpeg jpeg;
} fl_photo_kept;

/* Strips and keeps a photo; the same bytes again are kept once. The caller attaches it by an event.
 * FL_EFORMAT: no whole JPEG. FL_ETOOBIG: more than FL_PHOTO_BYTES_MAX, or more than the room may
 * hold (fl_app_keep_blob). How many one thing may have is asked when the event is recorded. */
fl_status fl_photo_keep(fl_app *app, fl_sv bytes, fl_arena *arena, fl_photo_kept *out,
                        fl_err *err) FL_MUST_USE;

/* The bytes of a photo by its hex SHA-256. FL_ENOTFOUND: none of that name, or no photo. */
fl_status fl_photo_bytes(fl_app *app, fl_sv sha256, fl_arena *arena, fl_sv *bytes,
                         fl_err *err) FL_MUST_USE;

/* What a person typed: a lot, place or plant as in fl_room_find_*, or a finding's id. */
fl_status fl_photo_find_subject(const fl_room *room, fl_sv text, fl_photo_subject *out,
                                fl_err *err) FL_MUST_USE;

/* What a photo is of; kind FL_ENTITY_COUNT when nothing of that id is there any more. */
fl_photo_subject fl_photo_subject_of(const fl_room *room, fl_id id);

/* The photos of a subject, the newest first: events photo_attached that are live. Those of a
 * finding count for its lot, or for its place when its lot was not told. none: all of the room.
 * Array in the arena. */
size_t fl_photos_of(const fl_room *room, fl_id subject, fl_arena *arena, const fl_event ***out);

/* Lots that came without a name, of which a photo tells which they are: moved in by photos, to be
 * named later. Oldest first; array in the arena. */
#define FL_UNNAMED_PLANT "unnamed plant"
size_t fl_photos_to_name(const fl_room *room, fl_arena *arena, const fl_lot ***out);

#endif
