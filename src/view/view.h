/* The JSON of every answer, in one place: `--json` and the API give the same bytes. Start here.
 *
 * Each function writes one value: as the top of the writer (key NULL), or under a key. Numbers have
 * their unit in the key; a moment ends in _at (RFC 3339, UTC), a civil date in the room's zone in
 * _on, a probability begins with prob (0 to 1). What is not known is null. Texts for people stand
 * beside the numbers and come from view/words. What the keys mean: api/openapi.yaml.
 *
 * On failure the writer holds half a value: throw it away. */
#ifndef FL_VIEW_VIEW_H
#define FL_VIEW_VIEW_H

#include "app/app.h"
#include "app/backup.h"
#include "app/chance.h"
#include "app/examine.h"
#include "app/gate.h"
#include "app/looks.h"
#include "app/plans.h"
#include "app/room.h"
#include "app/today.h"
#include "json/json.h"

/* What an answer is made from, and where it goes. */
typedef struct fl_view {
    const fl_room *room;
    fl_chances *chances; /* of this room; NULL only where told */
    fl_arena *arena;     /* for texts; lives at least until the writer is written */
    fl_json_writer *w;
    const fl_backup_state *backup; /* how backups stand; NULL: not asked */
} fl_view;

/* The room: name, position, now, zone, is_demo, round, counts, pace. chances may be NULL. */
void fl_view_room(const fl_view *v, const char *key);

/* What is due: lines, more, next_at, lots_in_quarantine, and backup_text when a backup failed.
 * chances may be NULL. */
void fl_view_today(const fl_view *v, const char *key, const fl_today *today);

/* One line of it: its text, and until when for what could still go back. */
fl_sv fl_say_due(const fl_room *room, const fl_due *due, fl_arena *arena);

/* Lots, those that came last first: {"lots":[…]}. place: only those that stand there (none: all);
 * has_gone: also those that are gone; only: just these, as they are given. Asks the gate for each
 * in quarantine or held, but not where chances is NULL. */
typedef struct fl_view_lots_of {
    fl_id place;
    bool has_gone;
    const fl_lot *const *only; /* NULL: all that fit */
    size_t n_only;
} fl_view_lots_of;
fl_status fl_view_lots(const fl_view *v, const char *key, fl_view_lots_of which,
                       fl_err *err) FL_MUST_USE;

/* One lot whole: identity, way through the airlock, stays, steps, looks, findings, conflicts,
 * chances with their reasons, the gate for its own use, the plan for its evening. */
fl_status fl_view_lot(const fl_view *v, const char *key, const fl_lot *lot,
                      fl_err *err) FL_MUST_USE;

/* Places that are not retired, by kind, then shelf and name: {"places":[…]}. chances may be NULL:
 * then nothing says when a place opens. */
fl_status fl_view_places(const fl_view *v, const char *key, fl_err *err) FL_MUST_USE;

/* The same of these places alone, as they are given. */
fl_status fl_view_places_only(const fl_view *v, const char *key,
                              const fl_ev_place_set *const *places, size_t count,
                              fl_err *err) FL_MUST_USE;

/* One place whole: what it is, its fill, lots, holds, cards, looks, findings, earlier fills, the
 * enclosure's own total. */
fl_status fl_view_place(const fl_view *v, const char *key, const fl_ev_place_set *place,
                        fl_err *err) FL_MUST_USE;

/* The gate's answer; this is also what a release freezes. chances may be NULL. */
void fl_view_gate(const fl_view *v, const char *key, const fl_gate_report *report);

/* What to do with a lot on the evening it comes home. chances may be NULL. */
void fl_view_plan(const fl_view *v, const char *key, const fl_lot *lot, const fl_prep_plan *plan);

/* What each place would cost some lots: {"prices":[…]}, cheapest first. chances may be NULL. */
void fl_view_prices(const fl_view *v, const char *key, const fl_place_price *prices, size_t count);

/* One number opened: the course of a pest's chance on a lot, with origins, marks (what was done and
 * looked at), temperatures, points, what lies ahead, and the changes that would help most. Errors
 * as fl_course_make. */
fl_status fl_view_course(const fl_view *v, const char *key, const fl_lot *lot,
                         const fl_threat *threat, fl_err *err) FL_MUST_USE;

/* A lot's look plan under some options, and every what-if against them: {"lot","uses","options",
 * "plan","what_ifs"}. FL_EDOMAIN for an option out of range. */
fl_status fl_view_looks(const fl_view *v, const char *key, fl_looks *looks,
                        const fl_looks_options *options, fl_err *err) FL_MUST_USE;

/* The release under some options alone: what a slider shows. With what a temperature does to the
 * plants there when one is given. Errors as above. */
fl_status fl_view_release(const fl_view *v, const char *key, fl_looks *looks,
                          const fl_looks_options *options, fl_err *err) FL_MUST_USE;

/* Sources with what each has taught: {"sources":[…]}; and one whole: form by form, pest by pest,
 * purchase by purchase. */
fl_status fl_view_sources(const fl_view *v, const char *key, fl_err *err) FL_MUST_USE;
fl_status fl_view_source(const fl_view *v, const char *key, const fl_ev_source_set *source,
                         fl_err *err) FL_MUST_USE;

/* How much of a lot to look at, at one look. */
void fl_view_examine(const fl_view *v, const char *key, const fl_examine *examine);

/* What became of events that were handed in: {"recorded","already","position","results":[…]}. ids
 * may be NULL (then results have none). */
void fl_view_recorded(fl_json_writer *w, const char *key, const fl_id *ids,
                      const fl_recorded *results, size_t count, int64_t position);

/* What `verify` found. */
void fl_view_verified(fl_json_writer *w, const char *key, const fl_verified *verified);

/* The changes feed: {"since","position","is_changed","now_at"}. */
void fl_view_changes(fl_json_writer *w, int64_t since, int64_t position, int64_t now_s);

/* An RFC 9457 problem: type ("/problems/not-found"), title, status, detail. Top value. detail may
 * be empty. status 0: the HTTP status of `code`. */
void fl_view_problem(fl_json_writer *w, fl_status code, int http_status, fl_sv detail);

#endif
