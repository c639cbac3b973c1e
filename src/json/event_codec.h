/* Events between JSON and structs, and the schema check in front of it.
 *
 * The JSON of an event:
 *   {"id":UUID,"kind":"lot_moved",
 *    "occurred_at":"2026-03-01T18:30:00Z" | "2026-03-01" | "2026-03" | "2026",
 *    "tz_offset_min":60, "device":"…","seq":7,"note":"…","body":{…}}
 * tz_offset_min (optional) is the local offset for vague times; absent: the room's. Body members
 * carry the names of the structs in event/event.h without a prefix; masks are arrays of words
 * ("uses":["amphibian"]); times inside bodies are RFC 3339 text; ids are UUID text. */
#ifndef FL_JSON_EVENT_CODEC_H
#define FL_JSON_EVENT_CODEC_H

#include "base/arena.h"
#include "base/str.h"
#include "event/event.h"
#include "json/json.h"

/* Checks `text` against schema/<kind>.json and reads it into *out (views into the arena); appends
 * its canonical bytes to *canonical (may be NULL). FL_EFORMAT, FL_EINVAL or FL_EDOMAIN with the
 * JSON pointer of the first thing wrong and what would do; an unknown kind lists near ones. */
fl_status fl_event_read(fl_sv text, int tz_offset_min, fl_arena *arena, fl_event *out,
                        fl_str *canonical, fl_err *err) FL_MUST_USE;

/* Reads canonical bytes that were accepted once: no schema check, same struct. */
fl_status fl_event_decode(fl_sv canonical, int tz_offset_min, fl_arena *arena, fl_event *out,
                          fl_err *err) FL_MUST_USE;

/* Appends the canonical JSON of an event made by the program. Optional members that are absent are
 * left out. What it writes, fl_event_read reads back to the same struct and bytes. */
fl_status fl_event_write(const fl_event *event, fl_str *out, fl_err *err) FL_MUST_USE;

#endif
