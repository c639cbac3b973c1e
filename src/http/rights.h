/* What a device may tell. A phone beside the sink records what happened and takes back what it told
 * itself; settings, imports and what others told are the keeper's, at the computer. Which addresses
 * it may ask is the tier of each route (api.c); here is what the one address for events adds. */
#ifndef FL_HTTP_RIGHTS_H
#define FL_HTTP_RIGHTS_H

#include "event/event.h"
#include "http/route.h"

/* The least that may tell this kind of event. */
fl_tier fl_rights_of_kind(fl_kind kind);

/* FL_EFORBIDDEN with a sentence for a person when the caller may not tell the event in `json`;
 * FL_OK also for what is no event: recording says what is wrong with it. */
fl_status fl_rights_check(const fl_exchange *x, struct fl_app *app, fl_sv json,
                          fl_err *err) FL_MUST_USE;

#endif
