/* Building the events of a command: each gets its id, the command's time and note; all of them are
 * recorded in one transaction. Also how lists of what a person typed are read. */
#ifndef FL_CLI_COMPOSE_H
#define FL_CLI_COMPOSE_H

#include "cli/verb.h"

/* A new id: random, or the same each time with --ids (from the seed, the room's position and how
 * many came before). */
fl_id fl_compose_id(fl_session *s);

/* A new event at the end of those that are to be recorded; the caller fills in the body, whose
 * numbers that may be absent begin as "not told". FL_ETOOBIG beyond FL_SESSION_EVENTS_MAX. */
fl_status fl_compose(fl_session *s, fl_kind kind, fl_event **out, fl_err *err) FL_MUST_USE;

/* Remembers what the command makes, for its answer. `what` is static; the name is copied. */
void fl_compose_made(fl_session *s, const char *what, fl_id id, fl_sv name);

/* Records the events, all or none, and reads the snapshot anew. */
fl_status fl_compose_record(fl_session *s, fl_err *err) FL_MUST_USE;

/* Under --json, prints {"record":…,"made":[…]} and answers true: then no text is printed. */
bool fl_compose_told(fl_session *s);

/* ---- reading what was typed ---- */

/* The lots of the words from `first` on: names, codes, ids. Array in the session's memory. */
fl_status fl_read_lots(fl_call *call, size_t first, const fl_lot ***out, size_t *count,
                       fl_err *err) FL_MUST_USE;
/* Their ids, in the session's memory. */
fl_id_list fl_lot_ids(fl_session *s, const fl_lot *const *lots, size_t count);

/* A word of one of the lists of event/words.h; FL_EINVAL names the text and lists the words.
 * `what` is what it is ("kind"). */
fl_status fl_read_word(fl_sv text, const char *what, const fl_word *list, int count, int *out,
                       fl_err *err) FL_MUST_USE;
/* "a,b" as a mask of 1u << index. */
fl_status fl_read_mask(fl_sv text, const char *what, const fl_word *list, int count, unsigned *out,
                       fl_err *err) FL_MUST_USE;

#endif
