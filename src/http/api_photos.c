/* Photos: taken in, listed, shown. */
#include "http/api.h"
#include "view/photos.h"

fl_status fl_api_photo_keep(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_photo_kept kept;
    fl_status status = fl_photo_keep(app, x->body, &x->arena, &kept, err);
    if (status == FL_OK) {
        fl_json_writer *w = fl_json_writer_new();
        fl_view_photo_kept(w, NULL, &kept);
        x->reply = fl_reply_json(201, w, &x->arena);
    }
    return status;
}

fl_status fl_api_photos(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_view view;
    fl_sv of;
    fl_photo_subject subject = {.kind = FL_ENTITY_COUNT};
    fl_status status = fl_api_query(x, "of", &of, err);
    if (status == FL_OK) {
        status = fl_api_begin(x, app, &view, err);
    }
    if (status != FL_OK) {
        return status;
    }
    if (of.len > 0) {
        status = fl_photo_find_subject(view.room, of, &subject, err);
    }
    if (status == FL_OK) {
        fl_view_photos(&view, NULL, subject.id);
    }
    return fl_api_end(x, &view, status);
}

/* The name is the content's, so that a browser may keep it; only for who is signed in. */
fl_status fl_api_photo(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_sv bytes;
    fl_status status = fl_photo_bytes(app, x->param[0], &x->arena, &bytes, err);
    if (status == FL_OK) {
        x->reply = (fl_reply){.status = 200,
                              .content_type = "image/jpeg",
                              .body = bytes,
                              .cache = "private, max-age=31536000, immutable"};
    }
    return status;
}
