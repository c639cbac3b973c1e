/* The table of the API. Every route has its entry in api/openapi.yaml; the guard asks for a
 * session on all of them but signing in. FL_TIER_OWNER stands where something is deleted,
 * imported, restored or set, or leaves as a whole: a phone may not (rights.h; each row is asked
 * in test_rights.c). */
#include "http/api.h"

static const fl_route routes[] = {
    {"POST", "/api/v1/session", FL_TIER_NONE, FL_LANE_LOOP, false, fl_api_session_open},
    {"GET", "/api/v1/session", FL_TIER_DEVICE, FL_LANE_LOOP, false, fl_api_session_show},
    {"DELETE", "/api/v1/session", FL_TIER_DEVICE, FL_LANE_LOOP, false, fl_api_session_end},
    {"GET", "/api/v1/session/room", FL_TIER_DEVICE, FL_LANE_LOOP, false, fl_api_session_room},
    {"GET", "/api/v1/devices", FL_TIER_DEVICE, FL_LANE_LOOP, false, fl_api_devices},
    {"PUT", "/api/v1/devices/{id}", FL_TIER_OWNER, FL_LANE_LOOP, false, fl_api_device_rename},
    {"DELETE", "/api/v1/devices/{id}", FL_TIER_OWNER, FL_LANE_LOOP, false, fl_api_device_revoke},
    {"GET", "/api/v1/lan", FL_TIER_OWNER, FL_LANE_LOOP, false, fl_api_lan},
    {"POST", "/api/v1/lan", FL_TIER_OWNER, FL_LANE_LOOP, false, fl_api_lan_open},
    {"DELETE", "/api/v1/lan", FL_TIER_OWNER, FL_LANE_LOOP, false, fl_api_lan_close},
    {"GET", "/api/v1/pairing", FL_TIER_OWNER, FL_LANE_LOOP, false, fl_api_pairing},
    {"POST", "/api/v1/pairing", FL_TIER_OWNER, FL_LANE_LOOP, false, fl_api_pairing_offer},
    {"DELETE", "/api/v1/pairing", FL_TIER_OWNER, FL_LANE_LOOP, false, fl_api_pairing_end},
    {"POST", "/api/v1/pairing/allow", FL_TIER_OWNER, FL_LANE_LOOP, false, fl_api_pairing_allow},
    {"GET", "/api/v1/settings", FL_TIER_DEVICE, FL_LANE_READ, false, fl_api_settings},
    {"PUT", "/api/v1/settings/calendar", FL_TIER_OWNER, FL_LANE_WRITE, false,
     fl_api_settings_calendar},
    {"PUT", "/api/v1/settings/labels", FL_TIER_OWNER, FL_LANE_WRITE, false, fl_api_settings_labels},
    {"GET", "/api/v1/openapi.json", FL_TIER_DEVICE, FL_LANE_LOOP, false, fl_api_openapi},
    {"GET", "/api/v1/room", FL_TIER_DEVICE, FL_LANE_GLANCE, true, fl_api_room},
    {"GET", "/api/v1/today", FL_TIER_DEVICE, FL_LANE_READ, true, fl_api_today},
    {"GET", "/api/v1/names", FL_TIER_DEVICE, FL_LANE_GLANCE, true, fl_api_names},
    {"GET", "/api/v1/history", FL_TIER_DEVICE, FL_LANE_GLANCE, true, fl_api_history},
    {"GET", "/api/v1/changes", FL_TIER_DEVICE, FL_LANE_GLANCE, false, fl_api_changes},
    {"GET", "/api/v1/lots", FL_TIER_DEVICE, FL_LANE_READ, true, fl_api_lots},
    {"GET", "/api/v1/lots/{id}", FL_TIER_DEVICE, FL_LANE_READ, true, fl_api_lot},
    {"GET", "/api/v1/lots/{id}/gate", FL_TIER_DEVICE, FL_LANE_READ, true, fl_api_gate},
    {"GET", "/api/v1/lots/{id}/chances/{threat}", FL_TIER_DEVICE, FL_LANE_READ, true,
     fl_api_chance},
    {"GET", "/api/v1/lots/{id}/looks", FL_TIER_DEVICE, FL_LANE_READ, true, fl_api_looks},
    {"GET", "/api/v1/lots/{id}/batch", FL_TIER_DEVICE, FL_LANE_GLANCE, true, fl_api_batch},
    {"GET", "/api/v1/batches", FL_TIER_DEVICE, FL_LANE_GLANCE, true, fl_api_batches},
    {"GET", "/api/v1/lots/{id}/looks/date", FL_TIER_DEVICE, FL_LANE_READ, false, fl_api_looks_date},
    {"GET", "/api/v1/sources", FL_TIER_DEVICE, FL_LANE_READ, true, fl_api_sources},
    {"GET", "/api/v1/sources/{id}", FL_TIER_DEVICE, FL_LANE_READ, true, fl_api_source},
    {"GET", "/api/v1/prices", FL_TIER_DEVICE, FL_LANE_READ, true, fl_api_prices},
    {"GET", "/api/v1/places", FL_TIER_DEVICE, FL_LANE_READ, true, fl_api_places},
    {"GET", "/api/v1/places/{id}", FL_TIER_DEVICE, FL_LANE_READ, true, fl_api_place},
    {"POST", "/api/v1/already-here", FL_TIER_OWNER, FL_LANE_WRITE, false, fl_api_moving_in},
    {"GET", "/api/v1/collection", FL_TIER_DEVICE, FL_LANE_READ, true, fl_api_collection},
    {"GET", "/api/v1/builds", FL_TIER_DEVICE, FL_LANE_READ, true, fl_api_builds},
    {"GET", "/api/v1/pesticides", FL_TIER_DEVICE, FL_LANE_READ, true, fl_api_pesticides},
    {"GET", "/api/v1/pesticides.csv", FL_TIER_DEVICE, FL_LANE_READ, false, fl_api_pesticides_csv},
    {"GET", "/api/v1/complaints", FL_TIER_DEVICE, FL_LANE_READ, true, fl_api_complaints},
    {"GET", "/api/v1/complaints/{id}", FL_TIER_DEVICE, FL_LANE_READ, true, fl_api_complaint},
    {"GET", "/api/v1/found", FL_TIER_DEVICE, FL_LANE_READ, true, fl_api_found},
    {"GET", "/api/v1/found/{id}", FL_TIER_DEVICE, FL_LANE_READ, true, fl_api_found_one},
    {"GET", "/api/v1/trace", FL_TIER_DEVICE, FL_LANE_READ, true, fl_api_trace},
    {"GET", "/api/v1/threats", FL_TIER_DEVICE, FL_LANE_GLANCE, false, fl_api_threats},
    {"GET", "/api/v1/signs", FL_TIER_DEVICE, FL_LANE_GLANCE, false, fl_api_signs},
    {"GET", "/api/v1/identify", FL_TIER_DEVICE, FL_LANE_GLANCE, false, fl_api_identify},
    {"GET", "/api/v1/timers", FL_TIER_DEVICE, FL_LANE_GLANCE, false, fl_api_timers},
    {"GET", "/api/v1/evening", FL_TIER_DEVICE, FL_LANE_READ, false, fl_api_evening},
    {"GET", "/api/v1/dip", FL_TIER_DEVICE, FL_LANE_READ, false, fl_api_dip},
    {"GET", "/api/v1/triage", FL_TIER_DEVICE, FL_LANE_READ, false, fl_api_triage},
    {"GET", "/api/v1/climate", FL_TIER_DEVICE, FL_LANE_READ, true, fl_api_climate},
    {"GET", "/api/v1/places/{id}/climate", FL_TIER_DEVICE, FL_LANE_READ, true,
     fl_api_place_climate},
    {"GET", "/api/v1/places/{id}/suits", FL_TIER_DEVICE, FL_LANE_READ, true, fl_api_suits},
    {"GET", "/api/v1/places/{id}/readings", FL_TIER_DEVICE, FL_LANE_READ, true, fl_api_readings},
    {"POST", "/api/v1/places/{id}/readings/preview", FL_TIER_OWNER, FL_LANE_READ, false,
     fl_api_readings_preview},
    {"POST", "/api/v1/places/{id}/readings", FL_TIER_OWNER, FL_LANE_WRITE, false,
     fl_api_readings_take},
    {"GET", "/api/v1/photos", FL_TIER_DEVICE, FL_LANE_READ, true, fl_api_photos},
    {"POST", "/api/v1/photos", FL_TIER_DEVICE, FL_LANE_WRITE, false, fl_api_photo_keep},
    {"GET", "/api/v1/photos/{sha256}", FL_TIER_DEVICE, FL_LANE_GLANCE, false, fl_api_photo},
    {"GET", "/api/v1/print/stocks", FL_TIER_DEVICE, FL_LANE_GLANCE, false, fl_api_stocks},
    {"GET", "/api/v1/print/{what}", FL_TIER_DEVICE, FL_LANE_READ, false, fl_api_print},
    {"GET", "/api/v1/calendar", FL_TIER_DEVICE, FL_LANE_READ, false, fl_api_calendar},
    {"GET", "/api/v1/calendar.ics", FL_TIER_DEVICE, FL_LANE_READ, false, fl_api_calendar_file},
    {"POST", "/api/v1/calendar/address", FL_TIER_OWNER, FL_LANE_WRITE, false, fl_api_feed_open},
    {"DELETE", "/api/v1/calendar/address", FL_TIER_OWNER, FL_LANE_WRITE, false, fl_api_feed_close},
    {"GET", "/feed/{token}/calendar.ics", FL_TIER_NONE, FL_LANE_READ, false, fl_api_feed},
    {"GET", "/l/{code}", FL_TIER_NONE, FL_LANE_READ, false, fl_api_code},
    {"GET", "/L/{code}", FL_TIER_NONE, FL_LANE_READ, false, fl_api_code},
    {"GET", "/api/v1/backup", FL_TIER_OWNER, FL_LANE_GLANCE, false, fl_api_backup_state},
    {"POST", "/api/v1/backup", FL_TIER_OWNER, FL_LANE_WRITE, false, fl_api_backup},
    {"POST", "/api/v1/verify", FL_TIER_OWNER, FL_LANE_WRITE, false, fl_api_verify},
    {"GET", "/api/v1/export", FL_TIER_OWNER, FL_LANE_READ, false, fl_api_export},
    {"GET", "/api/v1/lots/{id}/card", FL_TIER_DEVICE, FL_LANE_READ, false, fl_api_card},
    {"POST", "/api/v1/cards", FL_TIER_OWNER, FL_LANE_WRITE, false, fl_api_card_take},
    {"POST", "/api/v1/lots/sheet", FL_TIER_OWNER, FL_LANE_WRITE, false, fl_api_sheet},
    {"POST", "/api/v1/lots/sheet/undo", FL_TIER_OWNER, FL_LANE_WRITE, false, fl_api_sheet_undo},
    {"GET", "/api/v1/jobs", FL_TIER_DEVICE, FL_LANE_LOOP, false, fl_api_jobs},
    {"DELETE", "/api/v1/jobs/reading", FL_TIER_DEVICE, FL_LANE_LOOP, false, fl_api_reading_cancel},
    {"GET", "/api/v1/jobs/{id}", FL_TIER_DEVICE, FL_LANE_LOOP, false, fl_api_job},
    {"GET", "/api/v1/jobs/{id}/result", FL_TIER_DEVICE, FL_LANE_LOOP, false, fl_api_job_result},
    {"DELETE", "/api/v1/jobs/{id}", FL_TIER_DEVICE, FL_LANE_LOOP, false, fl_api_job_cancel},
    {"POST", "/api/v1/events", FL_TIER_DEVICE, FL_LANE_WRITE, false, fl_api_events},
    {"POST", "/api/v1/events/batch", FL_TIER_DEVICE, FL_LANE_WRITE, false, fl_api_events_batch},
};

/* What may last, and need not be waited for. */
static const struct {
    fl_handler fn;
    const char *job;
} jobs[] = {{fl_api_backup, "backup"}, {fl_api_verify, "verify"},
            {fl_api_export, "export"}, {fl_api_print, "print"},
            {fl_api_sheet, "sheet"},   {fl_api_readings_take, "readings"}};

const char *fl_route_job(const fl_route *route)
{
    for (size_t i = 0; i < sizeof jobs / sizeof jobs[0]; i++) {
        if (jobs[i].fn == route->fn) {
            return jobs[i].job;
        }
    }
    return NULL;
}

fl_routes fl_routes_of_api(void)
{
    return (fl_routes){routes, sizeof routes / sizeof routes[0]};
}

static void begin(fl_exchange *x, fl_app *app, fl_chances *chances, fl_view *view)
{
    fl_backup_state *backup = FL_ARENA_NEW(&x->arena, fl_backup_state);
    bool has_backup = fl_app_backup_state(app, &x->arena, backup, NULL) == FL_OK;
    *view = (fl_view){.backup = has_backup ? backup : NULL,
                      .room = &x->snapshot->room,
                      .chances = chances,
                      .arena = &x->arena,
                      .w = fl_json_writer_new()};
}

fl_status fl_api_begin(fl_exchange *x, fl_app *app, fl_view *view, fl_err *err)
{
    const fl_status status = fl_snapshot_take(x->snapshot, app, err);
    if (status == FL_OK) {
        begin(x, app, x->snapshot->chances, view);
    }
    return status;
}

fl_status fl_api_begin_plain(fl_exchange *x, fl_app *app, fl_view *view, fl_err *err)
{
    const fl_status status = fl_snapshot_take_room(x->snapshot, app, err);
    if (status == FL_OK) {
        begin(x, app, NULL, view);
    }
    return status;
}

fl_status fl_api_end(fl_exchange *x, const fl_view *view, fl_status status)
{
    if (status == FL_OK) {
        x->reply = fl_reply_json(200, view->w, &x->arena);
    } else {
        fl_json_writer_free(view->w);
    }
    return status;
}
