/* A snapshot of the room: the live history, what it means, and the names in it. Everything that is
 * shown is computed from one snapshot. */
#ifndef FL_APP_ROOM_H
#define FL_APP_ROOM_H

#include "app/app.h"
#include "app/series.h"
#include "core/know/know.h"
#include "core/ledger/defs.h"
#include "core/ledger/ledger.h"

typedef struct fl_room {
    fl_arena arena;   /* owns all below */
    int64_t position; /* of the journal */
    int64_t now_s;
    int tz_offset_min;
    fl_event *events; /* live, sorted */
    size_t n_events;
    const fl_event **place_sets; /* of the events, those that told a place: few, asked for often */
    size_t n_place_sets;
    fl_event *voided; /* no longer count, sorted */
    size_t n_voided;
    fl_meaning meaning;
    fl_defs defs;
    const fl_series_batch *batches; /* every batch of readings, also of what-ifs that void it */
    size_t n_batches;
    fl_series *series; /* one a place that has readings */
    size_t n_series;
    fl_sv name;        /* of the room */
    int round_weekday; /* 0 Monday to 6 Sunday: the keeper's round */
    fl_effort round_effort;
    bool is_demo;
    int64_t away_from_s;  /* the keeper is away: local noon of the first day; INT64_MAX: not told */
    int64_t away_until_s; /* and of the day of return */
} fl_room;

/* Reads the room as it is now. */
fl_status fl_room_load(fl_app *app, fl_room *out, fl_err *err) FL_MUST_USE;

/* What was read of the journal, for the next time: the journal only grows. Zeroed it is empty. */
typedef struct fl_room_past {
    fl_arena arena;   /* of what the events name, and of readings */
    fl_event *events; /* all, sorted; from fl_alloc */
    size_t n_events, cap;
    int64_t position; /* of the last one read */
    fl_id last;       /* and its id */
    fl_series_past series;
} fl_room_past;
void fl_room_past_done(fl_room_past *past);

/* As fl_room_load; only what came since is read. `past` must outlive the room; it serves one room
 * file at a time (of another it is read anew). */
fl_status fl_room_load_on(fl_app *app, fl_room_past *past, fl_room *out, fl_err *err) FL_MUST_USE;
void fl_room_done(fl_room *room);

/* The event that ended a started step: done or abandoned. NULL while it runs. */
const fl_event *fl_room_end_of_run(const fl_room *room, fl_id run);

/* True when the keeper is away at that moment (by local days): no look is made then. */
bool fl_room_is_away(const fl_room *room, int64_t at_s);

/* The room as it would be with `extra` events more (what-ifs; nothing is stored). *out has an
 * arena of its own but its events view into `room`, which must outlive it. */
fl_status fl_room_with(const fl_room *room, const fl_event *extra, size_t n_extra, fl_room *out,
                       fl_err *err) FL_MUST_USE;

/* The lot that this one was split from, and so on: the first of them, itself when it is no split. A
 * split is the same plants under another name. */
const fl_lot *fl_room_unsplit(const fl_room *room, const fl_lot *lot);
/* The oldest lot that it was cut or split from: where it all came from; itself without one. */
const fl_lot *fl_room_origin_of(const fl_room *room, const fl_lot *lot);

/* What the loggers say of a place; NULL when there is nothing. */
const fl_series *fl_room_series(const fl_room *room, fl_id place);

/* Names a person reads. Never empty. */
fl_sv fl_room_lot_name(const fl_room *room, const fl_lot *lot); /* "Pilea, 3 plants": the plant */
fl_sv fl_room_place_name(const fl_room *room, fl_id place);
fl_sv fl_room_source_name(const fl_room *room, fl_id source);
/* The plant's row in data/plants.csv; NULL when it has none. */
const fl_know_plant *fl_room_plant_row(const fl_room *room, const fl_lot *lot);

/* Finds what a person typed: a UUID, a short code, a name, or the unambiguous beginning of a name,
 * ignoring case. Of two that fit equally well, what is still there wins over what is gone or
 * retired. FL_ENOTFOUND or FL_EINVAL (several: they are listed) naming the text. */
fl_status fl_room_find_lot(const fl_room *room, fl_sv text, const fl_lot **out,
                           fl_err *err) FL_MUST_USE;
fl_status fl_room_find_place(const fl_room *room, fl_sv text, const fl_ev_place_set **out,
                             fl_err *err) FL_MUST_USE;
fl_status fl_room_find_source(const fl_room *room, fl_sv text, const fl_ev_source_set **out,
                              fl_err *err) FL_MUST_USE;
fl_status fl_room_find_plant(const fl_room *room, fl_sv text, const fl_ev_plant_set **out,
                             fl_err *err) FL_MUST_USE;

#endif
