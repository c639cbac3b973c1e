/* Inside src/http only: the handlers of the API, by area. Each reads what it was asked, makes one
 * call of app and view, and gives the answer. What they answer: api/openapi.yaml. */
#ifndef FL_HTTP_API_H
#define FL_HTTP_API_H

#include "http/route.h"
#include "view/view.h"

/* ---- api_session.c ---- */

/* POST /api/v1/session: {"key", "name"?} spends a one-time key; 201 with the cookie. A phone that
 * pairs brings the key of the QR code or {"code", "name"}, gets 202 with a claim, and asks with
 * {"claim"} until the keeper has answered. */
fl_status fl_api_session_open(fl_exchange *x, struct fl_app *app, fl_err *err);
/* GET: who is asking: {"tier", "device", "name"}. */
fl_status fl_api_session_show(fl_exchange *x, struct fl_app *app, fl_err *err);
/* GET /api/v1/session/room: which room this is, as eight hex digits: {"room"}. */
fl_status fl_api_session_room(fl_exchange *x, struct fl_app *app, fl_err *err);
/* DELETE: ends the session of the cookie; 204. */
fl_status fl_api_session_end(fl_exchange *x, struct fl_app *app, fl_err *err);
/* GET /api/v1/openapi.json: the description, as the interface's build made it. */
fl_status fl_api_openapi(fl_exchange *x, struct fl_app *app, fl_err *err);

/* ---- api_devices.c ---- */

/* GET /api/v1/devices; PUT, DELETE /api/v1/devices/{id}: renames {"name"}; sends away at once. */
fl_status fl_api_devices(fl_exchange *x, struct fl_app *app, fl_err *err);
fl_status fl_api_device_rename(fl_exchange *x, struct fl_app *app, fl_err *err);
fl_status fl_api_device_revoke(fl_exchange *x, struct fl_app *app, fl_err *err);

/* ---- api_pairing.c ---- */

/* GET, POST {"address"}, DELETE /api/v1/lan: the network's addresses, which one is open. */
fl_status fl_api_lan(fl_exchange *x, struct fl_app *app, fl_err *err);
fl_status fl_api_lan_open(fl_exchange *x, struct fl_app *app, fl_err *err);
fl_status fl_api_lan_close(fl_exchange *x, struct fl_app *app, fl_err *err);
/* GET, POST, DELETE /api/v1/pairing, POST /api/v1/pairing/allow: the offer to a phone. */
fl_status fl_api_pairing(fl_exchange *x, struct fl_app *app, fl_err *err);
fl_status fl_api_pairing_offer(fl_exchange *x, struct fl_app *app, fl_err *err);
fl_status fl_api_pairing_allow(fl_exchange *x, struct fl_app *app, fl_err *err);
fl_status fl_api_pairing_end(fl_exchange *x, struct fl_app *app, fl_err *err);

/* ---- api_settings.c ---- */

/* GET /api/v1/settings: all of them. PUT /api/v1/settings/calendar {"zone", "round_time"},
 * /api/v1/settings/labels {"url"}: empty is the default. */
fl_status fl_api_settings(fl_exchange *x, struct fl_app *app, fl_err *err);
fl_status fl_api_settings_calendar(fl_exchange *x, struct fl_app *app, fl_err *err);
fl_status fl_api_settings_labels(fl_exchange *x, struct fl_app *app, fl_err *err);

/* ---- api_room.c ---- */

/* GET /api/v1/room, /api/v1/today?plain=true, /api/v1/changes?since=POSITION. */
fl_status fl_api_room(fl_exchange *x, struct fl_app *app, fl_err *err);
fl_status fl_api_today(fl_exchange *x, struct fl_app *app, fl_err *err);
fl_status fl_api_changes(fl_exchange *x, struct fl_app *app, fl_err *err);

/* ---- api_names.c ---- */

/* GET /api/v1/names; /api/v1/history?lot=…|place=…&limit=N */
fl_status fl_api_names(fl_exchange *x, struct fl_app *app, fl_err *err);
fl_status fl_api_history(fl_exchange *x, struct fl_app *app, fl_err *err);

/* ---- api_things.c ---- */

/* GET /api/v1/lots/{id}, /api/v1/lots/{id}/gate?use=WORD,… */
fl_status fl_api_lot(fl_exchange *x, struct fl_app *app, fl_err *err);
fl_status fl_api_gate(fl_exchange *x, struct fl_app *app, fl_err *err);
/* GET /api/v1/places/{id} */
fl_status fl_api_place(fl_exchange *x, struct fl_app *app, fl_err *err);

/* ---- api_lists.c ---- */

/* GET /api/v1/lots, /api/v1/places, /api/v1/collection ?plain=true, only=CODE,… */
fl_status fl_api_lots(fl_exchange *x, struct fl_app *app, fl_err *err);
fl_status fl_api_places(fl_exchange *x, struct fl_app *app, fl_err *err);
fl_status fl_api_collection(fl_exchange *x, struct fl_app *app, fl_err *err);

/* ---- api_batches.c ---- */

/* GET /api/v1/lots/{id}/batch: what became of the plants of the lot's batch; /api/v1/batches: all
 * of them, and who got what */
fl_status fl_api_batch(fl_exchange *x, struct fl_app *app, fl_err *err);
fl_status fl_api_batches(fl_exchange *x, struct fl_app *app, fl_err *err);

/* ---- api_copies.c ---- */

/* GET /api/v1/backup: how copies stand; POST: makes one and reads it back (201). POST
 * /api/v1/verify: the record against itself. */
fl_status fl_api_backup_state(fl_exchange *x, struct fl_app *app, fl_err *err);
fl_status fl_api_backup(fl_exchange *x, struct fl_app *app, fl_err *err);
fl_status fl_api_verify(fl_exchange *x, struct fl_app *app, fl_err *err);

/* ---- api_chances.c ---- */

/* GET /api/v1/lots/{id}/chances/{threat}: one number opened. */
fl_status fl_api_chance(fl_exchange *x, struct fl_app *app, fl_err *err);
/* GET /api/v1/lots/{id}/looks and …/looks/date ?every_days, effort, devices, temp_c, looks_most,
 * sealed: the look plan with what-ifs; the date alone, for sliders. */
fl_status fl_api_looks(fl_exchange *x, struct fl_app *app, fl_err *err);
fl_status fl_api_looks_date(fl_exchange *x, struct fl_app *app, fl_err *err);
/* GET /api/v1/sources, /api/v1/sources/{id}: what each has taught. */
fl_status fl_api_sources(fl_exchange *x, struct fl_app *app, fl_err *err);
fl_status fl_api_source(fl_exchange *x, struct fl_app *app, fl_err *err);
/* GET /api/v1/prices?lots=ID,…: what each place would cost them. */
fl_status fl_api_prices(fl_exchange *x, struct fl_app *app, fl_err *err);

/* ---- api_moving_in.c ---- */

/* POST /api/v1/already-here: a pasted list, looked at or recorded as one batch. */
fl_status fl_api_moving_in(fl_exchange *x, struct fl_app *app, fl_err *err);

/* ---- api_builds.c ---- */

/* GET /api/v1/builds: the open ones, worked backwards together. */
fl_status fl_api_builds(fl_exchange *x, struct fl_app *app, fl_err *err);

/* ---- api_pesticides.c ---- */

/* GET /api/v1/pesticides?from=DATE&to=DATE: the record of pesticides; the same as CSV. */
fl_status fl_api_pesticides(fl_exchange *x, struct fl_app *app, fl_err *err);
fl_status fl_api_pesticides_csv(fl_exchange *x, struct fl_app *app, fl_err *err);

/* ---- api_complaints.c ---- */

/* GET /api/v1/complaints; /api/v1/complaints/{id}: one of them answered. */
fl_status fl_api_complaints(fl_exchange *x, struct fl_app *app, fl_err *err);
fl_status fl_api_complaint(fl_exchange *x, struct fl_app *app, fl_err *err);

/* ---- api_found.c ---- */

/* GET /api/v1/found: what was found, and the five lines that come first. */
fl_status fl_api_found(fl_exchange *x, struct fl_app *app, fl_err *err);
/* GET /api/v1/found/{id}: one finding, or event about an animal: where from, who else, what now. */
fl_status fl_api_found_one(fl_exchange *x, struct fl_app *app, fl_err *err);
/* GET /api/v1/trace?of=FINDING|LOT|PLACE&threat=CODE&from=WHEN&to=WHEN: as `fernlock trace`. */
fl_status fl_api_trace(fl_exchange *x, struct fl_app *app, fl_err *err);
/* GET /api/v1/threats: what a find can be named. */
fl_status fl_api_threats(fl_exchange *x, struct fl_app *app, fl_err *err);
/* GET /api/v1/signs, /api/v1/identify?answers=SIGN:VALUE,…: what it could be. */
fl_status fl_api_signs(fl_exchange *x, struct fl_app *app, fl_err *err);
fl_status fl_api_identify(fl_exchange *x, struct fl_app *app, fl_err *err);

/* ---- api_timers.c ---- */

/* GET /api/v1/timers: every step that runs, with this computer's clock and its alarm. */
fl_status fl_api_timers(fl_exchange *x, struct fl_app *app, fl_err *err);

/* ---- api_evening.c ---- */

/* GET /api/v1/evening?tubs=N&lost=N,…&start=TIME&tub_ml=N&label_pct=N&all=1: tonight's run
 * sheet. */
fl_status fl_api_evening(fl_exchange *x, struct fl_app *app, fl_err *err);

/* ---- api_triage.c ---- */

/* GET /api/v1/triage?lots=ID,…&bin_week=N&times_price=N&tip_share=N: what is on trial, weighed at
 * the door; without `lots` all of it. */
fl_status fl_api_dip(fl_exchange *x, struct fl_app *app, fl_err *err);
fl_status fl_api_triage(fl_exchange *x, struct fl_app *app, fl_err *err);

/* ---- api_climate.c ---- */

/* GET /api/v1/places/{id}/suits?plant=NAME: which plants suit it, those that stand there or one. */
fl_status fl_api_suits(fl_exchange *x, struct fl_app *app, fl_err *err);
/* GET /api/v1/climate, /api/v1/places/{id}/climate, /api/v1/places/{id}/readings?days=N */
fl_status fl_api_climate(fl_exchange *x, struct fl_app *app, fl_err *err);
fl_status fl_api_place_climate(fl_exchange *x, struct fl_app *app, fl_err *err);
fl_status fl_api_readings(fl_exchange *x, struct fl_app *app, fl_err *err);
/* POST text/csv to /api/v1/places/{id}/readings/preview?order=…: how it would be read; and to
 * /api/v1/places/{id}/readings: taken in as one batch under Idempotency-Key. */
fl_status fl_api_readings_preview(fl_exchange *x, struct fl_app *app, fl_err *err);
fl_status fl_api_readings_take(fl_exchange *x, struct fl_app *app, fl_err *err);

/* ---- api_events.c ---- */

/* POST /api/v1/events: one event. 201 when it is recorded, 200 when it was before; 422 when its id
 * stands for another event, or Idempotency-Key is there and is not the id. */
fl_status fl_api_events(fl_exchange *x, struct fl_app *app, fl_err *err);

#define FL_API_BATCH_MAX 512
/* POST /api/v1/events/batch: {"events": […]}, 1 to FL_API_BATCH_MAX, in this order and in one
 * transaction: all or none. 201 when at least one is new, 200 when all were there; an error names
 * the first event that was refused. */
fl_status fl_api_events_batch(fl_exchange *x, struct fl_app *app, fl_err *err);

/* ---- api_photos.c ---- */

/* POST image/jpeg to /api/v1/photos: stripped and kept; 201 {"sha256",…}. It belongs to the
 * record when an event photo_attached names it. */
fl_status fl_api_photo_keep(fl_exchange *x, struct fl_app *app, fl_err *err);
/* GET /api/v1/photos?of=LOT|PLACE|PLANT|FINDING: which there are; /api/v1/photos/{sha256}: one. */
fl_status fl_api_photos(fl_exchange *x, struct fl_app *app, fl_err *err);
fl_status fl_api_photo(fl_exchange *x, struct fl_app *app, fl_err *err);

/* ---- api_print.c ---- */

/* GET /api/v1/print/stocks. */
fl_status fl_api_stocks(fl_exchange *x, struct fl_app *app, fl_err *err);
/* GET /api/v1/print/{labels, test-page, evening, round, place, sitter, outbreak, card}, with a
 * query of, stock, printer, skip, copies, places, paper, tub_ml, label_pct: a PDF. */
fl_status fl_api_print(fl_exchange *x, struct fl_app *app, fl_err *err);
/* GET /l/{code}, in either case: leads to the lot or place; a stranger to signing in. */
fl_status fl_api_code(fl_exchange *x, struct fl_app *app, fl_err *err);

/* ---- api_calendar.c ---- */

/* GET /api/v1/calendar: {"is_open", "zone", "round_time"}; /api/v1/calendar.ics: the file. */
fl_status fl_api_calendar(fl_exchange *x, struct fl_app *app, fl_err *err);
fl_status fl_api_calendar_file(fl_exchange *x, struct fl_app *app, fl_err *err);
/* POST, DELETE /api/v1/calendar/address: a new secret address (201 {"path"}); none any more. */
fl_status fl_api_feed_open(fl_exchange *x, struct fl_app *app, fl_err *err);
fl_status fl_api_feed_close(fl_exchange *x, struct fl_app *app, fl_err *err);
/* GET /feed/{token}/calendar.ics: the calendar for who has the address, without a session. */
fl_status fl_api_feed(fl_exchange *x, struct fl_app *app, fl_err *err);

/* ---- api_jobs.c ---- */

/* GET /api/v1/jobs: long work of the asker (of all, for the keeper), and what is being read. GET
 * /api/v1/jobs/{id}; GET /api/v1/jobs/{id}/result: the answer the request would have had. DELETE
 * /api/v1/jobs/{id}, /api/v1/jobs/reading: asks it to stop; one that has ended is forgotten. */
fl_status fl_api_jobs(fl_exchange *x, struct fl_app *app, fl_err *err);
fl_status fl_api_job(fl_exchange *x, struct fl_app *app, fl_err *err);
fl_status fl_api_job_result(fl_exchange *x, struct fl_app *app, fl_err *err);
fl_status fl_api_job_cancel(fl_exchange *x, struct fl_app *app, fl_err *err);
fl_status fl_api_reading_cancel(fl_exchange *x, struct fl_app *app, fl_err *err);
struct fl_job_told;
/* One job as a value. */
void fl_api_put_job(fl_json_writer *w, const struct fl_job_told *told);

/* ---- api_files.c, api_sheet.c ---- */

/* GET /api/v1/export: the whole room as a zip. */
fl_status fl_api_export(fl_exchange *x, struct fl_app *app, fl_err *err);
/* GET /api/v1/lots/{id}/card: its history card as a file. POST /api/v1/card: a lot that came
 * with one. */
fl_status fl_api_card(fl_exchange *x, struct fl_app *app, fl_err *err);
fl_status fl_api_card_take(fl_exchange *x, struct fl_app *app, fl_err *err);
/* POST /api/v1/lots/sheet?id=&occurred_at=&preview=1&match=&dates=&source=&place=&form=&use= with
 * text/csv: lots from a spreadsheet. POST …/undo {"batch"}: takes them back. */
fl_status fl_api_sheet(fl_exchange *x, struct fl_app *app, fl_err *err);
fl_status fl_api_sheet_undo(fl_exchange *x, struct fl_app *app, fl_err *err);

/* A reply that is kept as a file of this name; the texts must live as long as the exchange. */
void fl_api_reply_file(fl_exchange *x, const char *content_type, const char *name, fl_sv bytes);
/* A decoded value of the query; empty when it is not there. */
fl_status fl_api_query(fl_exchange *x, const char *name, fl_sv *out, fl_err *err) FL_MUST_USE;

/* ---- for the handlers that read the room ---- */

/* The room of this moment with its chances, and a writer; after FL_OK the caller must call
 * fl_api_end. */
fl_status fl_api_begin(fl_exchange *x, fl_app *app, fl_view *view, fl_err *err) FL_MUST_USE;
/* The same with view->chances NULL: for what needs none. */
fl_status fl_api_begin_plain(fl_exchange *x, fl_app *app, fl_view *view, fl_err *err) FL_MUST_USE;
/* Makes the reply when status is FL_OK; lets the writer go. Returns status. */
fl_status fl_api_end(fl_exchange *x, const fl_view *view, fl_status status) FL_MUST_USE;

#endif
