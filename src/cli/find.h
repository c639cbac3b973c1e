/* Finding what app/room.h does not find: bottles, findings, holds, events; by code, id or name. */
#ifndef FL_CLI_FIND_H
#define FL_CLI_FIND_H

#include "cli/session.h"

/* True when the text is the id, or its short code, in either case. */
bool fl_id_is_named(fl_id id, fl_sv text);

/* FL_ENOTFOUND, or FL_EINVAL when several fit, naming the text and what would do. */
fl_status fl_find_bottle(const fl_session *s, fl_sv text, const fl_ev_bottle_opened **out,
                         fl_err *err) FL_MUST_USE;
fl_status fl_find_finding(const fl_session *s, fl_sv text, const fl_finding_now **out,
                          fl_err *err) FL_MUST_USE;
/* Live or voided. */
fl_status fl_find_recorded(const fl_session *s, fl_sv text, const fl_event **out,
                           fl_err *err) FL_MUST_USE;

/* The plant of exactly this name, taxon, code or id; NULL. Unlike fl_room_find_plant, the beginning
 * of a name will not do: it may be another plant's whole name. */
const fl_ev_plant_set *fl_find_plant_exactly(const fl_session *s, fl_sv text);

/* The event of that id, live or voided; NULL. */
const fl_event *fl_find_event(const fl_session *s, fl_id id);

#endif
