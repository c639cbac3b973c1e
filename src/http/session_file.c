/* What is kept of sessions: a head line, then a line each. Version 2 has "HASH TIER SEEN MADE
 * LABEL<tab>NAME"; version 1, which had neither day nor label, is still read. */
#include <assert.h>
#include <string.h>

#include "base/civil.h"
#include "base/num.h"
#include "http/session_table.h"

#define FILE_HEAD "fernlock sessions 2"
#define FILE_HEAD_1 "fernlock sessions 1"
#define FILE_BYTES_MAX ((size_t)65536)

void fl_session_copy_name(char *out, size_t max, fl_sv name)
{
    size_t len = 0;
    for (size_t i = 0; i < name.len && len < max - 1; i++) {
        unsigned char c = (unsigned char)name.ptr[i];
        if (c >= 0x20 && c != 0x7f) {
            out[len++] = name.ptr[i];
        }
    }
    if (len == max - 1) { /* it may have been cut inside a character of UTF-8: drop its part */
        size_t start = len;
        while (start > 0 && ((unsigned char)out[start - 1] & 0xc0U) == 0x80U) {
            start--;
        }
        const unsigned char lead = start > 0 ? (unsigned char)out[start - 1] : 0;
        const size_t whole = lead >= 0xf0 ? 4 : lead >= 0xe0 ? 3 : lead >= 0xc0 ? 2 : 1;
        if (start > 0 && len - (start - 1) < whole) {
            len = start - 1;
        }
    }
    out[len] = '\0';
}

static bool read_int(fl_sv text, int64_t min, int64_t max, int64_t *out)
{
    return fl_num_parse_int(text, "number", min, max, out, NULL) == FL_OK;
}

static bool read_line(fl_sessions *sessions, fl_sv line, fl_session_row *row, bool is_first_form)
{
    int64_t tier = 0;
    int64_t seen_s = 0;
    int64_t made_s = 0;
    const fl_sv hash = fl_sv_split(&line, ' ');
    if (!fl_hash_parse(hash.ptr, hash.len, &row->hash) ||
        !read_int(fl_sv_split(&line, ' '), FL_TIER_DEVICE, FL_TIER_OWNER, &tier) ||
        !read_int(fl_sv_split(&line, ' '), 0, INT64_MAX / 2, &seen_s) ||
        (!is_first_form && !read_int(fl_sv_split(&line, ' '), 0, INT64_MAX / 2, &made_s))) {
        return false;
    }
    row->tier = (fl_tier)tier;
    row->seen_s = seen_s;
    row->saved_seen_s = seen_s;
    row->made_s = made_s;
    if (!is_first_form) {
        fl_session_copy_name(row->label, sizeof row->label, fl_sv_split(&line, '\t'));
    }
    fl_session_copy_name(row->name, sizeof row->name, line);
    if (is_first_form && row->tier == FL_TIER_DEVICE) {
        fl_session_make_label(row);
    }
    row->number = ++sessions->last_number;
    return true;
}

static bool read_text(fl_sessions *sessions, fl_sv text)
{
    const fl_sv head = fl_sv_split(&text, '\n');
    const bool is_first_form = fl_sv_eq_cstr(head, FILE_HEAD_1);
    bool is_ours = is_first_form || fl_sv_eq_cstr(head, FILE_HEAD);
    for (size_t i = 0; i < FL_SESSIONS_MAX && text.len > 0 && is_ours; i++) {
        is_ours = read_line(sessions, fl_sv_split(&text, '\n'), &sessions->list[i], is_first_form);
    }
    return is_ours;
}

fl_status fl_sessions_read(fl_sessions *sessions, fl_err *err)
{
    fl_err read_err = {0};
    fl_str text;
    fl_str_init(&text, FILE_BYTES_MAX);
    fl_status status = fl_secret_read(sessions->dir, FL_SESSIONS_FILE, &text, &read_err);
    if (status == FL_OK && !read_text(sessions, fl_str_sv(&text))) {
        status = fl_fail(err, FL_EFORMAT,
                         "%.100s/%s: cannot be read: delete it, and every browser signs in anew",
                         sessions->dir, FL_SESSIONS_FILE);
    } else if (status == FL_ENOTFOUND) {
        status = FL_OK;
    } else if (status != FL_OK && err != NULL) {
        *err = read_err;
    }
    fl_str_done(&text);
    return status;
}

fl_status fl_sessions_save(fl_sessions *sessions, fl_err *err)
{
    fl_str text;
    char hex[FL_HASH_TEXT_MAX];
    const int64_t now_s = fl_sessions_now_s(sessions);
    fl_str_init(&text, FILE_BYTES_MAX);
    fl_str_append_cstr(&text, FILE_HEAD "\n");
    for (size_t i = 0; i < FL_SESSIONS_MAX; i++) {
        fl_session_row *row = &sessions->list[i];
        if (row->number != 0 && fl_session_is_idle(row, now_s)) {
            *row = (fl_session_row){.number = 0};
        }
        if (row->number != 0) {
            fl_str_appendf(&text, "%s %d %lld %lld %s\t%s\n", fl_hash_format(hex, row->hash),
                           (int)row->tier, (long long)row->seen_s, (long long)row->made_s,
                           row->label, row->name);
        }
    }
    assert(!text.is_full);
    fl_status status = fl_secret_write(sessions->dir, FL_SESSIONS_FILE, fl_str_sv(&text), err);
    for (size_t i = 0; i < FL_SESSIONS_MAX && status == FL_OK; i++) {
        sessions->list[i].saved_seen_s = sessions->list[i].seen_s;
    }
    fl_str_done(&text);
    return status;
}
