/* Devices: what the table of sessions shows of itself. */
#define _GNU_SOURCE
#include "http/device.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/shown.h"
#include "http/session_table.h"

#define LABEL_DIGITS 6

void fl_session_write_id(const fl_session_row *row, char *id)
{
    static const char label[] = "device id";
    char hex[FL_HASH_TEXT_MAX];
    (void)fl_hash_format(hex, fl_hash_link(row->hash, label, sizeof label));
    (void)snprintf(id, FL_DEVICE_ID_MAX, "%.*s", FL_DEVICE_ID_MAX - 1, hex);
}

void fl_session_make_label(fl_session_row *row)
{
    char id[FL_DEVICE_ID_MAX];
    fl_session_write_id(row, id);
    (void)snprintf(row->label, sizeof row->label, "%s %.*s",
                   row->name[0] != '\0' ? row->name : "phone", LABEL_DIGITS, id);
}

static void describe(const fl_session_row *row, fl_paired_device *out)
{
    *out = (fl_paired_device){.number = row->number,
                              .tier = row->tier,
                              .made_s = row->made_s,
                              .seen_s = row->seen_s,
                              .ends_s = row->seen_s + FL_SESSION_IDLE_S};
    fl_session_write_id(row, out->id);
    (void)memcpy(out->name, row->name, sizeof out->name);
    (void)memcpy(out->label, row->label, sizeof out->label);
}

static int by_last_use(const void *a, const void *b)
{
    const fl_paired_device *one = a;
    const fl_paired_device *other = b;
    if (one->seen_s != other->seen_s) {
        return one->seen_s > other->seen_s ? -1 : 1;
    }
    return one->number > other->number ? -1 : 1; /* numbers are never the same */
}

size_t fl_devices_list(fl_sessions *sessions, fl_paired_device *out)
{
    size_t count = 0;
    (void)pthread_mutex_lock(&sessions->lock);
    const int64_t now_s = fl_sessions_now_s(sessions);
    for (size_t i = 0; i < FL_SESSIONS_MAX; i++) {
        const fl_session_row *row = &sessions->list[i];
        if (row->number != 0 && !fl_session_is_idle(row, now_s)) {
            describe(row, &out[count++]);
        }
    }
    (void)pthread_mutex_unlock(&sessions->lock);
    if (count > 1) {
        qsort(out, count, sizeof out[0], by_last_use);
    }
    return count;
}

bool fl_devices_of(fl_sessions *sessions, int number, fl_paired_device *out)
{
    bool is_there = false;
    (void)pthread_mutex_lock(&sessions->lock);
    for (size_t i = 0; i < FL_SESSIONS_MAX && number > 0; i++) {
        if (sessions->list[i].number == number) {
            describe(&sessions->list[i], out);
            is_there = true;
        }
    }
    (void)pthread_mutex_unlock(&sessions->lock);
    return is_there;
}

/* The row of an id; NULL when there is none. The lock is held. */
static fl_session_row *find(fl_sessions *sessions, fl_sv id)
{
    char text[FL_DEVICE_ID_MAX];
    const int64_t now_s = fl_sessions_now_s(sessions);
    for (size_t i = 0; i < FL_SESSIONS_MAX; i++) {
        fl_session_row *row = &sessions->list[i];
        fl_session_write_id(row, text);
        if (row->number != 0 && !fl_session_is_idle(row, now_s) && fl_sv_eq_cstr(id, text)) {
            return row;
        }
    }
    return NULL;
}

/* Puts `changed` in the place of the row of an id, and writes the table; else all is as before. */
static fl_status replace(fl_sessions *sessions, fl_session_row *row, fl_session_row changed,
                         fl_err *err)
{
    const fl_session_row old = *row;
    *row = changed;
    const fl_status status = fl_sessions_save(sessions, err);
    if (status != FL_OK) {
        *row = old;
    }
    return status;
}

static fl_status no_device(fl_sv id, fl_err *err)
{
    return fl_fail(err, FL_ENOTFOUND, "there is no device \"%.*s\": it may have been sent away",
                   FL_SHOWN(id));
}

fl_status fl_devices_rename(fl_sessions *sessions, fl_sv id, fl_sv name, fl_err *err)
{
    char text[FL_SESSION_NAME_MAX];
    fl_session_copy_name(text, sizeof text, fl_sv_trim(name));
    if (text[0] == '\0') {
        return fl_fail(err, FL_EINVAL, "/name: give the device a name");
    }
    (void)pthread_mutex_lock(&sessions->lock);
    fl_session_row *row = find(sessions, id);
    fl_status status = FL_ENOTFOUND;
    if (row != NULL) {
        fl_session_row changed = *row;
        (void)memcpy(changed.name, text, sizeof changed.name);
        status = replace(sessions, row, changed, err);
    }
    (void)pthread_mutex_unlock(&sessions->lock);
    return row == NULL ? no_device(id, err) : status;
}

fl_status fl_devices_revoke(fl_sessions *sessions, fl_sv id, int *number, fl_err *err)
{
    (void)pthread_mutex_lock(&sessions->lock);
    fl_session_row *row = find(sessions, id);
    fl_status status = FL_ENOTFOUND;
    if (row != NULL) {
        const int was = row->number;
        status = replace(sessions, row, (fl_session_row){.number = 0}, err);
        *number = status == FL_OK ? was : *number;
    }
    (void)pthread_mutex_unlock(&sessions->lock);
    return row == NULL ? no_device(id, err) : status;
}
