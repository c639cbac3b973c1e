/* A collection that has been there for years, pasted as a list: looked at first, then recorded. */
#include "app/moving_in.h"
#include "http/api.h"
#include "view/moving_in.h"

/* What was asked; texts in the exchange's arena. */
typedef struct asked {
    fl_id key;
    int64_t at_s;
    fl_sv text;
    bool is_preview;
} asked;

static fl_status read_body(fl_exchange *x, const fl_app *app, asked *out, fl_err *err)
{
    fl_json_doc *doc = NULL;
    fl_precision precision;
    fl_status status = fl_json_parse(x->body, &doc, err);
    if (status != FL_OK) {
        return status;
    }
    const fl_json_value *root = fl_json_root(doc);
    status = fl_id_parse(fl_json_text(fl_json_get(root, "id")), &out->key, err);
    if (status == FL_OK) {
        status = fl_civil_parse(fl_json_text(fl_json_get(root, "occurred_at")), app->tz_offset_min,
                                &out->at_s, &precision, err);
    }
    out->text = fl_arena_copy_sv(&x->arena, fl_json_text(fl_json_get(root, "text")));
    out->is_preview = fl_json_bool(fl_json_get(root, "is_preview"), true);
    fl_json_free(doc);
    return status;
}

static fl_status answer(fl_exchange *x, fl_app *app, const fl_room *room, const asked *a,
                        fl_err *err)
{
    fl_moving_in moving;
    fl_event *events = NULL;
    size_t n = 0;
    fl_status status = fl_moving_in_read(room, a->text, a->key, &x->arena, &moving, err);
    if (status != FL_OK) {
        return status;
    }
    fl_moving_in_events(&moving, a->key, a->at_s, &x->arena, &events, &n);
    const bool is_recorded = !a->is_preview && moving.n_troubles == 0;
    if (is_recorded && n > 0) {
        status = fl_app_record_events(app, events, n, err);
    }
    if (status != FL_OK) {
        return status;
    }
    const fl_view view = {.room = room, .arena = &x->arena, .w = fl_json_writer_new()};
    fl_view_moving_in(&view, NULL, &moving, is_recorded, events, n);
    return fl_api_end(x, &view, FL_OK);
}

fl_status fl_api_moving_in(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    asked a = {.is_preview = true};
    fl_room room;
    fl_status status = read_body(x, app, &a, err);
    if (status == FL_OK) {
        status = fl_room_load(app, &room, err);
    }
    if (status == FL_OK) {
        status = answer(x, app, &room, &a, err);
        fl_room_done(&room);
    }
    return status;
}
