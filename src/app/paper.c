/* Settings of printing, as texts of the room file. */
#define _GNU_SOURCE
#include "app/paper.h"

#include <math.h>
#include <string.h>
#include <unistd.h>

#include "base/num.h"
#include "base/shown.h"

#define BASE_URL "paper_base_url"
#define PRINTER "paper_printer "
#define PRINTER_NAME_MAX 60
#define HOST_MAX 80

/* A setting, or the empty text. */
static fl_status get(fl_app *app, fl_sv name, fl_arena *arena, fl_sv *out, fl_err *err)
{
    fl_err why = {0};
    fl_status status = fl_store_setting_get(app->store, name, arena, out, &why);
    if (status == FL_ENOTFOUND) {
        *out = FL_SV("");
        return FL_OK;
    }
    return status == FL_OK ? FL_OK : fl_fail(err, status, "%s", why.message);
}

/* The machine's name without its domain, as its own network calls it. */
static fl_sv default_url(fl_arena *arena)
{
    char host[HOST_MAX] = "";
    if (gethostname(host, sizeof host - 1) != 0 || host[0] == '\0') {
        (void)memcpy(host, "fernlock", sizeof "fernlock");
    }
    fl_sv name = fl_sv_from_cstr(host);
    fl_sv first = fl_sv_split(&name, '.');
    return fl_arena_printf(arena, "http://%.*s.local:%d", FL_SV_ARG(first), FL_SERVE_PORT);
}

fl_status fl_paper_base_url(fl_app *app, fl_arena *arena, fl_sv *out, fl_err *err)
{
    fl_sv url;
    fl_status status = get(app, FL_SV(BASE_URL), arena, &url, err);
    if (status == FL_OK) {
        *out = url.len > 0 ? url : default_url(arena);
    }
    return status;
}

fl_status fl_paper_set_base_url(fl_app *app, fl_sv url, fl_err *err)
{
    return fl_store_setting_put(app->store, FL_SV(BASE_URL), url, err);
}

static fl_status name_of(fl_sv name, fl_arena *arena, fl_sv *out, fl_err *err)
{
    char lower[PRINTER_NAME_MAX + 1];
    if (name.len > PRINTER_NAME_MAX) {
        return fl_fail(err, FL_EINVAL, "printer \"%.*s\": give a name of at most %d bytes",
                       FL_SHOWN(name), PRINTER_NAME_MAX);
    }
    for (size_t i = 0; i < name.len; i++) {
        char c = name.ptr[i];
        lower[i] = (char)(c >= 'A' && c <= 'Z' ? c - 'A' + 'a' : c);
    }
    lower[name.len] = '\0';
    *out = fl_arena_printf(arena, PRINTER "%s", lower);
    return FL_OK;
}

fl_status fl_paper_printer(fl_app *app, fl_sv name, fl_arena *arena, fl_printer *out, fl_err *err)
{
    fl_sv key;
    fl_sv value = {NULL, 0};
    fl_printer printer = {0};
    fl_status status = name_of(name, arena, &key, err);
    if (status == FL_OK) {
        status = get(app, key, arena, &value, err);
    }
    if (status == FL_OK && value.len > 0) {
        fl_sv x = fl_sv_split(&value, ' ');
        status = fl_num_parse_double(x, "offset", &printer.x_mm, err);
        if (status == FL_OK) {
            status = fl_num_parse_double(value, "offset", &printer.y_mm, err);
        }
    }
    if (status == FL_OK) {
        *out = printer;
    }
    return status;
}

fl_status fl_paper_set_printer(fl_app *app, fl_sv name, fl_printer printer, fl_err *err)
{
    char x[FL_NUM_TEXT_MAX];
    char y[FL_NUM_TEXT_MAX];
    fl_arena arena;
    fl_sv key;
    if (!(fabs(printer.x_mm) <= FL_PAPER_OFFSET_MAX_MM) ||
        !(fabs(printer.y_mm) <= FL_PAPER_OFFSET_MAX_MM)) {
        return fl_fail(err, FL_EDOMAIN, "offset %g, %g mm: give -%g to %g", printer.x_mm,
                       printer.y_mm, FL_PAPER_OFFSET_MAX_MM, FL_PAPER_OFFSET_MAX_MM);
    }
    fl_arena_init(&arena);
    fl_status status = name_of(name, &arena, &key, err);
    if (status == FL_OK) {
        fl_sv value = fl_arena_printf(&arena, "%s %s", fl_num_format(x, printer.x_mm, 6),
                                      fl_num_format(y, printer.y_mm, 6));
        status = fl_store_setting_put(app->store, key, value, err);
    }
    fl_arena_done(&arena);
    return status;
}
