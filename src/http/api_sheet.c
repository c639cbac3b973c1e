/* Lots from a spreadsheet: looked at, recorded as one batch, taken back. */
#include "base/shown.h"
#include "http/api.h"
#include "view/sheet_in.h"

static fl_status query_word(fl_exchange *x, const char *name, const fl_word *list, int count,
                            int *out, fl_err *err)
{
    fl_sv text;
    fl_status status = fl_api_query(x, name, &text, err);
    *out = -1;
    if (status == FL_OK && text.len > 0) {
        *out = fl_word_find(list, count, text);
        if (*out < 0) {
            status = fl_fail(err, FL_EINVAL, "%s \"%.*s\" is not known", name, FL_SHOWN(text));
        }
    }
    return status;
}

static fl_status query_dates(fl_exchange *x, fl_sheet_dates *out, fl_err *err)
{
    static const fl_word orders[] = {{"ask", ""}, {"dmy", ""}, {"mdy", ""}};
    int found = -1;
    fl_status status = query_word(x, "dates", orders, 3, &found, err);
    *out = found > 0 ? (fl_sheet_dates)found : FL_SHEET_DATES_ASK;
    return status;
}

/* id and occurred_at make the batch the client's own: sent twice, it is recorded once. */
static fl_status query_batch(fl_exchange *x, const fl_app *app, fl_sheet_options *out, fl_err *err)
{
    fl_sv text;
    fl_status status = fl_api_query(x, "id", &text, err);
    if (status == FL_OK) {
        status = fl_id_parse(text, &out->key, err);
    }
    if (status == FL_OK) {
        status = fl_api_query(x, "occurred_at", &text, err);
    }
    return status == FL_OK
               ? fl_civil_parse(text, app->tz_offset_min, &out->at_s, &out->precision, err)
               : status;
}

static fl_status read_options(fl_exchange *x, const fl_app *app, fl_sheet_options *out, fl_err *err)
{
    fl_status status = query_batch(x, app, out, err);
    if (status == FL_OK) {
        status = fl_api_query(x, "match", &out->match, err);
    }
    if (status == FL_OK) {
        status = fl_api_query(x, "source", &out->source, err);
    }
    if (status == FL_OK) {
        status = fl_api_query(x, "place", &out->place, err);
    }
    if (status == FL_OK) {
        status = query_word(x, "form", fl_words_form, FL_FORM_COUNT, &out->form, err);
    }
    if (status == FL_OK) {
        status = query_word(x, "use", fl_words_use, FL_USE_COUNT, &out->use, err);
    }
    return status == FL_OK ? query_dates(x, &out->dates, err) : status;
}

static fl_status answer(fl_exchange *x, fl_app *app, const fl_room *room,
                        const fl_sheet_options *options, bool is_preview, fl_err *err)
{
    fl_sheet_in sheet;
    fl_event *events = NULL;
    size_t n = 0;
    fl_status status = fl_sheet_in_read(room, x->body, options, &x->arena, &sheet, err);
    if (status != FL_OK) {
        return status;
    }
    bool is_recorded = !is_preview && sheet.n_troubles == 0 && sheet.n_rows > 0;
    if (is_recorded) {
        fl_sheet_in_events(&sheet, room, options->key, &x->arena, &events, &n);
        status = fl_app_record_events(app, events, n, err);
    }
    if (status != FL_OK) {
        return status;
    }
    const fl_view view = {.room = room, .arena = &x->arena, .w = fl_json_writer_new()};
    fl_sv batch = is_recorded ? fl_newcomer_device(options->key, &x->arena) : FL_SV("");
    fl_view_sheet_in(&view, NULL, &sheet, is_recorded, batch);
    return fl_api_end(x, &view, FL_OK);
}

fl_status fl_api_sheet(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_room room;
    fl_sv preview;
    fl_sheet_options options = {0};
    fl_status status = read_options(x, app, &options, err);
    if (status == FL_OK) {
        status = fl_api_query(x, "preview", &preview, err);
    }
    if (status == FL_OK) {
        status = fl_room_load(app, &room, err);
    }
    if (status == FL_OK) {
        status = answer(x, app, &room, &options, preview.len > 0, err);
        fl_room_done(&room);
    }
    return status;
}

fl_status fl_api_sheet_undo(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_room room;
    fl_json_doc *doc = NULL;
    size_t n = 0;
    fl_status status = fl_json_parse(x->body, &doc, err);
    fl_sv batch = {NULL, 0};
    if (status == FL_OK) {
        batch = fl_arena_copy_sv(&x->arena, fl_json_text(fl_json_get(fl_json_root(doc), "batch")));
        status = fl_room_load(app, &room, err);
    }
    fl_json_free(doc);
    if (status != FL_OK) {
        return status;
    }
    status = fl_newcomer_undo(app, &room, batch, FL_SV("the batch was taken back"), &n, err);
    fl_room_done(&room);
    if (status == FL_OK) {
        fl_json_writer *w = fl_json_writer_new();
        fl_json_begin_object(w, NULL);
        fl_json_put_text(w, "batch", batch);
        fl_json_put_int(w, "voided", (int64_t)n);
        fl_json_end(w);
        x->reply = fl_reply_json(200, w, &x->arena);
    }
    return status;
}
