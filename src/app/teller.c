/* Reading who told. */
#include "app/teller.h"

#include "json/event_codec.h"

fl_status fl_app_teller(fl_app *app, fl_id event, fl_arena *arena, fl_sv *device, fl_err *err)
{
    fl_sv bytes;
    fl_event told;
    fl_status status = fl_store_journal_get(app->store, event, arena, &bytes, err);
    if (status == FL_OK) {
        status = fl_event_decode(bytes, app->tz_offset_min, arena, &told, err);
    }
    if (status == FL_OK) {
        *device = told.device;
    }
    return status;
}
