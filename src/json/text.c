/* Serialises a value. jansson's own dump is not used: it would print 7.6 as 7.5999999999999996. */
#include "json/text.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/alloc.h"
#include "base/num.h"

#define EXACT_WHOLE_MAX 9007199254740992.0 /* 2^53: up to here a double holds every integer */

static void append_value(const json_t *value, const fl_json_style *style, int depth, fl_str *out);

static void append_string(const char *text, size_t len, fl_str *out)
{
    static const char hex[] = "0123456789abcdef";
    static const char plain[] = "\b\t\n\f\r\"\\";
    static const char letter[] = "btnfr\"\\";
    fl_str_append_char(out, '"');
    size_t from = 0;
    for (size_t i = 0; i < len; i++) {
        unsigned char c = (unsigned char)text[i];
        const char *found = c == 0 ? NULL : strchr(plain, c);
        if (c >= 0x20 && found == NULL) {
            continue;
        }
        fl_str_append(out, (fl_sv){text + from, i - from});
        from = i + 1;
        fl_str_append_char(out, '\\');
        if (found != NULL) {
            fl_str_append_char(out, letter[found - plain]);
        } else {
            fl_str_append_cstr(out, "u00");
            fl_str_append_char(out, hex[c >> 4]);
            fl_str_append_char(out, hex[c & 15]);
        }
    }
    fl_str_append(out, (fl_sv){text + from, len - from});
    fl_str_append_char(out, '"');
}

/* The fewest digits of 15, 16 and 17 whose text reads back as the same double (17 always does). */
static const char *shortest(char *buffer, double value)
{
    for (int digits = 15; digits < 17; digits++) {
        double back = 0.0;
        const char *text = fl_num_format(buffer, value, digits);
        if (fl_num_parse_double(fl_sv_from_cstr(text), "number", &back, NULL) == FL_OK &&
            back == value) {
            return text;
        }
    }
    return fl_num_format(buffer, value, 17);
}

static void append_real(double value, const fl_json_style *style, fl_str *out)
{
    char buffer[FL_NUM_TEXT_MAX];
    if (fabs(value) <= EXACT_WHOLE_MAX && value == trunc(value)) {
        /* 3 and 3.0 are one number, and get one text */
        fl_str_appendf(out, "%lld", (long long)value);
        return;
    }
    const char *text =
        style->digits == 0 ? shortest(buffer, value) : fl_num_format(buffer, value, style->digits);
    fl_str_append_cstr(out, text);
}

static void append_line(const fl_json_style *style, int depth, fl_str *out)
{
    if (!style->is_pretty) {
        return;
    }
    fl_str_append_char(out, '\n');
    for (int i = 0; i < depth; i++) {
        fl_str_append_cstr(out, "  ");
    }
}

static void append_array(const json_t *array, const fl_json_style *style, int depth, fl_str *out)
{
    size_t count = json_array_size(array);
    fl_str_append_char(out, '[');
    for (size_t i = 0; i < count; i++) {
        if (i > 0) {
            fl_str_append_char(out, ',');
        }
        append_line(style, depth + 1, out);
        append_value(json_array_get(array, i), style, depth + 1, out);
    }
    if (count > 0) {
        append_line(style, depth, out);
    }
    fl_str_append_char(out, ']');
}

/* A member while its object is written. */
typedef struct member {
    const char *key;
    size_t key_len;
    const json_t *value;
} member;

static int compare_members(const void *left, const void *right)
{
    const member *a = left;
    const member *b = right;
    return fl_sv_compare((fl_sv){a->key, a->key_len}, (fl_sv){b->key, b->key_len});
}

static member *members_of(const json_t *object, bool is_sorted, size_t *count)
{
    json_t *borrowed =
        (json_t *)(uintptr_t)object; /* the iterator wants it writable; it only reads */
    member *members = fl_alloc(json_object_size(object), sizeof *members);
    *count = 0;
    for (void *at = json_object_iter(borrowed); at != NULL;
         at = json_object_iter_next(borrowed, at)) {
        const char *key = json_object_iter_key(at);
        members[(*count)++] = (member){key, strlen(key), json_object_iter_value(at)};
    }
    if (is_sorted && *count > 1) {
        qsort(members, *count, sizeof *members, compare_members);
    }
    return members;
}

static void append_object(const json_t *object, const fl_json_style *style, int depth, fl_str *out)
{
    size_t count = 0;
    member *members = members_of(object, style->is_sorted, &count);
    fl_str_append_char(out, '{');
    for (size_t i = 0; i < count; i++) {
        if (i > 0) {
            fl_str_append_char(out, ',');
        }
        append_line(style, depth + 1, out);
        append_string(members[i].key, members[i].key_len, out);
        fl_str_append_cstr(out, style->is_pretty ? ": " : ":");
        append_value(members[i].value, style, depth + 1, out);
    }
    if (count > 0) {
        append_line(style, depth, out);
    }
    fl_str_append_char(out, '}');
    fl_alloc_free(members);
}

static void append_value(const json_t *value, const fl_json_style *style, int depth, fl_str *out)
{
    switch (json_typeof(value)) {
    case JSON_OBJECT:
        append_object(value, style, depth, out);
        break;
    case JSON_ARRAY:
        append_array(value, style, depth, out);
        break;
    case JSON_STRING:
        append_string(json_string_value(value), json_string_length(value), out);
        break;
    case JSON_INTEGER:
        fl_str_appendf(out, "%lld", (long long)json_integer_value(value));
        break;
    case JSON_REAL:
        append_real(json_real_value(value), style, out);
        break;
    case JSON_TRUE:
        fl_str_append_cstr(out, "true");
        break;
    case JSON_FALSE:
        fl_str_append_cstr(out, "false");
        break;
    case JSON_NULL:
        fl_str_append_cstr(out, "null");
        break;
    default:
        assert(false); /* jansson has no other type */
    }
}

void fl_json_append(const json_t *value, const fl_json_style *style, fl_str *out)
{
    append_value(value, style, 0, out);
}
