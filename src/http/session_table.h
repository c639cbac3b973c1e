/* Inside src/http only: the table of sessions, shared by session.c (who is asking), session_file.c
 * (what is kept of it) and device.c (the list that the keeper sees). Its lock is held by whoever
 * reads or changes it. */
#ifndef FL_HTTP_SESSION_TABLE_H
#define FL_HTTP_SESSION_TABLE_H

#include <pthread.h>

#include "http/device.h"
#include "http/session.h"

#define FL_COOKIE_PREFIX "fernlock_"
#define FL_COOKIE_NAME_MAX 24

typedef struct fl_session_row {
    int number; /* 0: free */
    fl_tier tier;
    fl_hash hash;   /* of the cookie's value */
    int64_t made_s; /* 0: not known (written by an earlier version) */
    int64_t seen_s;
    int64_t saved_seen_s;
    char name[FL_SESSION_NAME_MAX];
    char label[FL_DEVICE_LABEL_MAX]; /* of a device: its name in the journal; else empty */
} fl_session_row;

typedef struct fl_one_time_key {
    fl_hash hash;
    fl_tier tier;
    int64_t until_s; /* 0: free */
} fl_one_time_key;

struct fl_sessions {
    pthread_mutex_t lock;
    char *dir; /* owned */
    fl_clock clock;
    fl_hash token_hash;
    char cookie_name[FL_COOKIE_NAME_MAX];
    fl_session_row list[FL_SESSIONS_MAX];
    fl_one_time_key keys[FL_KEYS_MAX];
    int last_number;
};

/* True when a row has lain unused for FL_SESSION_IDLE_S. */
bool fl_session_is_idle(const fl_session_row *row, int64_t now_s);

/* Reads DIR/server-sessions into an empty table. Errors of fl_sessions_open. */
fl_status fl_sessions_read(fl_sessions *sessions, fl_err *err) FL_MUST_USE;
/* Writes it, without rows that are idle. FL_EIO. */
fl_status fl_sessions_save(fl_sessions *sessions, fl_err *err) FL_MUST_USE;

/* A new session with a new cookie: the row is saved, *cookie is its Set-Cookie text. On an error
 * the table is as before. */
fl_status fl_sessions_add(fl_sessions *sessions, fl_tier tier, fl_sv name, fl_arena *arena,
                          fl_sv *cookie, fl_err *err) FL_MUST_USE;

/* What a person typed as a name: without control characters, cut at a whole character so that it
 * fits into out[max]. */
void fl_session_copy_name(char *out, size_t max, fl_sv name);

/* Which device this is, in addresses: sixteen hex digits that tell nothing of the cookie. */
void fl_session_write_id(const fl_session_row *row, char *id);

/* Sets the label of a row that has just got its hash and name. */
void fl_session_make_label(fl_session_row *row);

#endif
