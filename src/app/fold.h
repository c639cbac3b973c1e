/* From journal rows to meaning: decoding, voiding, sorting, folding, in an arena. Shared by the
 * writer (live tables), the reader (snapshots), what-ifs and verify. */
#ifndef FL_APP_FOLD_H
#define FL_APP_FOLD_H

#include "base/arena.h"
#include "core/ledger/defs.h"
#include "core/ledger/ledger.h"
#include "store/store.h"

/* A history that counts, and what it means. A timed step that was ended without telling its minutes
 * has those from its start to its end. */
typedef struct fl_history {
    fl_event *events; /* live, sorted by fl_event_compare */
    size_t n_events;
    fl_event *voided; /* sorted */
    size_t n_voided;
} fl_history;

/* Decodes rows (any order) and separates what was voided. All in the arena. FL_ECORRUPT names the
 * event that cannot be read. */
fl_status fl_history_of_rows(const fl_journal_row *rows, size_t n_rows, int tz_offset_min,
                             fl_arena *arena, fl_history *out, fl_err *err) FL_MUST_USE;

/* One row. FL_ECORRUPT as above. */
fl_status fl_history_decode(const fl_journal_row *row, int tz_offset_min, fl_arena *arena,
                            fl_event *out, fl_err *err) FL_MUST_USE;

/* The same from events in memory (copied; any order). */
void fl_history_of_events(const fl_event *events, size_t n_events, fl_arena *arena,
                          fl_history *out);

/* Folds the live events; rows in the arena. */
void fl_history_fold(const fl_history *history, fl_arena *arena, fl_meaning *out);

/* The definitions among the live events; pointers in the arena. */
void fl_history_defs(const fl_history *history, fl_arena *arena, fl_defs *out);

#endif
