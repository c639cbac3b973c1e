/* JSON pointers of failures. */
#include "json/pointer.h"

#include <string.h>

#include "base/str.h"

fl_json_where fl_json_where_key(const fl_json_where *parent, fl_sv key)
{
    return (fl_json_where){.parent = parent, .key = key};
}

fl_json_where fl_json_where_index(const fl_json_where *parent, size_t index)
{
    return (fl_json_where){.parent = parent, .index = index, .is_element = true};
}

/* Appends a key, '~' and '/' escaped as the standard says. */
static void append_key(fl_str *out, fl_sv key)
{
    for (size_t i = 0; i < key.len; i++) {
        if (key.ptr[i] == '~') {
            fl_str_append_cstr(out, "~0");
        } else if (key.ptr[i] == '/') {
            fl_str_append_cstr(out, "~1");
        } else {
            fl_str_append_char(out, key.ptr[i]);
        }
    }
}

static void append_at(fl_str *out, const fl_json_where *at)
{
    if (at == NULL) {
        return;
    }
    append_at(out, at->parent);
    fl_str_append_char(out, '/');
    if (at->is_element) {
        fl_str_appendf(out, "%zu", at->index);
    } else {
        append_key(out, at->key);
    }
}

const char *fl_json_where_format(char *buffer, const fl_json_where *at)
{
    fl_str text;
    fl_str_init(&text, FL_JSON_WHERE_TEXT_MAX - 1);
    append_at(&text, at);
    if (text.len == 0) {
        fl_str_append_cstr(&text, "(top)");
    }
    memcpy(buffer, text.ptr, text.len + 1);
    fl_str_done(&text);
    return buffer;
}
