/* The writer: a jansson tree under construction, and a stack of the open containers. */
#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <jansson.h>

#include "base/alloc.h"
#include "json/json.h"
#include "json/text.h"

#define WRITER_DEPTH_MAX 32

struct fl_json_writer {
    json_t *top;                    /* owned; NULL until the first value */
    json_t *open[WRITER_DEPTH_MAX]; /* borrowed, outermost first */
    size_t depth;
};

/* jansson answers NULL only when memory is gone: end as fl_alloc does. */
static json_t *must(json_t *value)
{
    if (value == NULL) {
        (void)fputs("fernlock: out of memory (JSON)\n", stderr);
        _Exit(3);
    }
    return value;
}

fl_json_writer *fl_json_writer_new(void)
{
    return fl_alloc(1, sizeof(fl_json_writer));
}

void fl_json_writer_free(fl_json_writer *w)
{
    if (w != NULL) {
        json_decref(w->top);
        fl_alloc_free(w);
    }
}

/* Puts an owned value in its place. */
static void place(fl_json_writer *w, const char *key, json_t *value)
{
    int failed = 0;
    if (w->depth == 0) {
        assert(w->top == NULL && key == NULL);
        w->top = value;
        return;
    }
    json_t *parent = w->open[w->depth - 1];
    if (json_is_object(parent)) {
        assert(key != NULL && json_object_get(parent, key) == NULL);
        failed = json_object_set_new(parent, key, value);
    } else {
        assert(key == NULL);
        failed = json_array_append_new(parent, value);
    }
    assert(failed == 0); /* else the key is not UTF-8; keys are literals */
    (void)failed;
}

static void begin(fl_json_writer *w, const char *key, json_t *container)
{
    assert(w->depth < WRITER_DEPTH_MAX);
    place(w, key, container);
    w->open[w->depth++] = container;
}

void fl_json_begin_object(fl_json_writer *w, const char *key)
{
    begin(w, key, must(json_object()));
}

void fl_json_begin_array(fl_json_writer *w, const char *key)
{
    begin(w, key, must(json_array()));
}

void fl_json_end(fl_json_writer *w)
{
    assert(w->depth > 0);
    w->depth--;
}

/* Text that is not UTF-8 (a file name, a foreign message): what is not ASCII becomes '?'. */
static json_t *ascii_string(fl_sv text)
{
    assert(text.ptr != NULL);
    char *copy = fl_alloc(text.len + 1, 1);
    for (size_t i = 0; i < text.len; i++) {
        copy[i] = (unsigned char)text.ptr[i] < 0x80 ? text.ptr[i] : '?';
    }
    json_t *value = must(json_stringn(copy, text.len));
    fl_alloc_free(copy);
    return value;
}

void fl_json_put_text(fl_json_writer *w, const char *key, fl_sv text)
{
    json_t *value = json_stringn(text.ptr == NULL ? "" : text.ptr, text.len);
    place(w, key, value != NULL ? value : ascii_string(text));
}

void fl_json_put_cstr(fl_json_writer *w, const char *key, const char *text)
{
    fl_json_put_text(w, key, fl_sv_from_cstr(text));
}

void fl_json_put_number(fl_json_writer *w, const char *key, double value)
{
    place(w, key, isfinite(value) ? must(json_real(value)) : json_null());
}

void fl_json_put_int(fl_json_writer *w, const char *key, int64_t value)
{
    place(w, key, must(json_integer(value)));
}

void fl_json_put_bool(fl_json_writer *w, const char *key, bool value)
{
    place(w, key, json_boolean(value));
}

void fl_json_put_null(fl_json_writer *w, const char *key)
{
    place(w, key, json_null());
}

fl_status fl_json_put_raw(fl_json_writer *w, const char *key, fl_sv json, fl_err *err)
{
    json_t *value = NULL;
    fl_status status = fl_json_load(json, &value, err);
    if (status != FL_OK) {
        return status;
    }
    place(w, key, value);
    return FL_OK;
}

void fl_json_write(const fl_json_writer *w, bool is_pretty, fl_str *out)
{
    const fl_json_style style = {.is_pretty = is_pretty, .digits = 15};
    assert(w->depth == 0 && w->top != NULL);
    fl_json_append(w->top, &style, out);
}
