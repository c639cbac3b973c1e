/* Inside src/http only: the handlers of the API, by area. */
#ifndef FL_HTTP_API_H
#define FL_HTTP_API_H

#include "http/route.h"

/* POST /api/v1/session {"key", "name"?}: spends a one-time key; 201 {"tier"} with the cookie. */
fl_status fl_api_session_open(fl_exchange *x, struct fl_app *app, fl_err *err);
/* GET: who is asking: {"tier"}. */
fl_status fl_api_session_show(fl_exchange *x, struct fl_app *app, fl_err *err);
/* DELETE: ends the session of the cookie; 204. */
fl_status fl_api_session_end(fl_exchange *x, struct fl_app *app, fl_err *err);

#endif
