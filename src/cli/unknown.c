/* Messages for unknown names. */
#include "cli/unknown.h"

#include <string.h>

#include "base/shown.h"
#include "base/str.h"

#define NAMES_BYTES_MAX 150

fl_status fl_cli_unknown(fl_err *err, const char *what, fl_sv given,
                         const char *(*code_at)(size_t index), size_t count)
{
    fl_str names;
    fl_status status;
    size_t i = 0;

    fl_str_init(&names, NAMES_BYTES_MAX + 8);
    while (i < count && names.len + strlen(code_at(i)) + 2 <= NAMES_BYTES_MAX) {
        fl_str_appendf(&names, "%s%s", i == 0 ? "" : ", ", code_at(i));
        i++;
    }
    fl_str_append_cstr(&names, i < count ? ", …" : "");
    status = fl_fail(err, FL_ENOTFOUND, "unknown %s \"%.*s\": give %s", what, FL_SHOWN(given),
                     names.ptr);
    fl_str_done(&names);
    return status;
}
