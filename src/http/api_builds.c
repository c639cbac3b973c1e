/* Builds: what to use, cut or buy by when. */
#include "app/build.h"
#include "http/api.h"
#include "view/builds.h"

fl_status fl_api_builds(fl_exchange *x, struct fl_app *app, fl_err *err)
{
    fl_view view;
    fl_build *builds = NULL;
    size_t n = 0;
    fl_build_study study;
    fl_status status = fl_api_begin(x, app, &view, err);
    if (status != FL_OK) {
        return status;
    }
    fl_builds_open(view.room, &x->arena, &builds, &n);
    status = fl_build_study_make(view.room, app, builds, n, &x->arena, &study, err);
    if (status == FL_OK) {
        fl_view_builds(&view, NULL, &study);
    }
    return fl_api_end(x, &view, status);
}
