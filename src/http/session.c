/* Sessions: a short table, searched from end to end with comparisons that take the same time. */
#define _GNU_SOURCE
#include "http/session.h"

#include <assert.h>
#include <stdio.h>
#include <string.h>

#include "base/alloc.h"
#include "base/civil.h"
#include "http/session_table.h"

#define SEEN_SAVE_S FL_HOUR_S /* a use is written down when the last one written is older */

int64_t fl_sessions_now_s(const fl_sessions *sessions)
{
    return sessions->clock.now_utc_s(sessions->clock.context);
}

static fl_hash hash_of(fl_sv text)
{
    return fl_hash_of(text.ptr, text.len);
}

/* ---- life ---- */

/* The cookie's name must stay with the room and tell nothing of the token. */
static void name_cookie(fl_sessions *sessions)
{
    char hex[FL_HASH_TEXT_MAX];
    static const char label[] = "cookie name";
    (void)fl_hash_format(hex, fl_hash_link(sessions->token_hash, label, sizeof label));
    (void)snprintf(sessions->cookie_name, sizeof sessions->cookie_name, "%s%.8s", FL_COOKIE_PREFIX,
                   hex);
}

fl_status fl_sessions_open(const char *dir, fl_clock clock, fl_sessions **out, fl_err *err)
{
    char token[FL_SECRET_TEXT_MAX];
    fl_status status = fl_secret_keep(dir, FL_TOKEN_FILE, token, err);
    if (status != FL_OK) {
        return status;
    }
    fl_sessions *sessions = fl_alloc(1, sizeof *sessions);
    sessions->dir = fl_alloc(strlen(dir) + 1, 1);
    memcpy(sessions->dir, dir, strlen(dir));
    sessions->clock = clock;
    sessions->token_hash = hash_of(fl_sv_from_cstr(token));
    (void)pthread_mutex_init(&sessions->lock, NULL);
    name_cookie(sessions);
    status = fl_sessions_read(sessions, err);
    if (status != FL_OK) {
        fl_sessions_close(sessions);
        return status;
    }
    *out = sessions;
    return FL_OK;
}

void fl_sessions_close(fl_sessions *sessions)
{
    if (sessions == NULL) {
        return;
    }
    (void)pthread_mutex_destroy(&sessions->lock);
    fl_alloc_free(sessions->dir);
    fl_alloc_free(sessions);
}

const char *fl_sessions_cookie_name(const fl_sessions *sessions)
{
    return sessions->cookie_name;
}

const char *fl_sessions_room_tag(const fl_sessions *sessions)
{
    return sessions->cookie_name + sizeof FL_COOKIE_PREFIX - 1;
}

/* ---- keys ---- */

const char *fl_sessions_new_key(fl_sessions *sessions, fl_tier tier, int life_s, char *key)
{
    assert(tier != FL_TIER_NONE && life_s > 0);
    (void)fl_secret_make(key);
    (void)pthread_mutex_lock(&sessions->lock);
    fl_one_time_key *place = &sessions->keys[0];
    for (size_t i = 1; i < FL_KEYS_MAX; i++) {
        if (sessions->keys[i].until_s < place->until_s) {
            place = &sessions->keys[i];
        }
    }
    *place = (fl_one_time_key){.hash = hash_of(fl_sv_from_cstr(key)),
                               .tier = tier,
                               .until_s = fl_sessions_now_s(sessions) + life_s};
    (void)pthread_mutex_unlock(&sessions->lock);
    return key;
}

/* The tier of a key that still works; it does not work again. */
static fl_tier spend_key(fl_sessions *sessions, fl_sv key)
{
    const fl_hash hash = hash_of(key);
    const int64_t now = fl_sessions_now_s(sessions);
    fl_tier tier = FL_TIER_NONE;
    for (size_t i = 0; i < FL_KEYS_MAX; i++) {
        fl_one_time_key *one = &sessions->keys[i];
        if (fl_hash_eq_secret(one->hash, hash) && one->until_s != 0) {
            tier = now <= one->until_s ? one->tier : FL_TIER_NONE;
            *one = (fl_one_time_key){.until_s = 0};
        }
    }
    return tier;
}

/* ---- sessions ---- */

bool fl_session_is_idle(const fl_session_row *row, int64_t now_s)
{
    return now_s - row->seen_s > FL_SESSION_IDLE_S;
}

/* A free place, else that of the session which was not used for the longest time. */
static fl_session_row *make_room(fl_sessions *sessions)
{
    fl_session_row *place = &sessions->list[0];
    for (size_t i = 0; i < FL_SESSIONS_MAX; i++) {
        fl_session_row *one = &sessions->list[i];
        if (one->number == 0) {
            return one;
        }
        if (one->seen_s < place->seen_s) {
            place = one;
        }
    }
    return place;
}

static fl_sv cookie_text(const fl_sessions *sessions, const char *value, int age_s, fl_arena *arena)
{
    return fl_arena_printf(arena, "%s=%s; Max-Age=%d; Path=/; HttpOnly; SameSite=Strict",
                           sessions->cookie_name, value, age_s);
}

fl_status fl_sessions_add(fl_sessions *sessions, fl_tier tier, fl_sv name, fl_arena *arena,
                          fl_sv *cookie, fl_err *err)
{
    char value[FL_SECRET_TEXT_MAX];
    const int64_t now_s = fl_sessions_now_s(sessions);
    fl_session_row *place = make_room(sessions);
    fl_session_row old = *place;
    *place = (fl_session_row){.number = ++sessions->last_number,
                              .tier = tier,
                              .hash = hash_of(fl_sv_from_cstr(fl_secret_make(value))),
                              .made_s = now_s,
                              .seen_s = now_s};
    fl_session_copy_name(place->name, sizeof place->name, fl_sv_trim(name));
    if (tier == FL_TIER_DEVICE) {
        fl_session_make_label(place);
    }
    const fl_status status = fl_sessions_save(sessions, err);
    if (status != FL_OK) {
        *place = old;
    } else {
        *cookie = cookie_text(sessions, value, FL_SESSION_IDLE_S, arena);
    }
    return status;
}

fl_status fl_sessions_redeem(fl_sessions *sessions, fl_sv key, fl_sv name, fl_arena *arena,
                             fl_sv *cookie, fl_tier *tier, fl_err *err)
{
    (void)pthread_mutex_lock(&sessions->lock);
    const fl_tier found = spend_key(sessions, key);
    fl_status status = found == FL_TIER_NONE
                           ? fl_fail(err, FL_EAUTH, "this key is unknown, spent or too old")
                           : fl_sessions_add(sessions, found, name, arena, cookie, err);
    (void)pthread_mutex_unlock(&sessions->lock);
    if (status == FL_OK) {
        *tier = found;
    }
    return status;
}

fl_status fl_sessions_admit(fl_sessions *sessions, fl_sv name, fl_arena *arena, fl_sv *cookie,
                            fl_err *err)
{
    (void)pthread_mutex_lock(&sessions->lock);
    const fl_status status = fl_sessions_add(sessions, FL_TIER_DEVICE, name, arena, cookie, err);
    (void)pthread_mutex_unlock(&sessions->lock);
    return status;
}

/* Looks at every session whatever it finds. */
static fl_session_row *find_session(fl_sessions *sessions, fl_sv value, int64_t now)
{
    const fl_hash hash = hash_of(value);
    fl_session_row *found = NULL;
    for (size_t i = 0; i < FL_SESSIONS_MAX; i++) {
        fl_session_row *one = &sessions->list[i];
        bool is_same = fl_hash_eq_secret(one->hash, hash);
        if (is_same && one->number != 0 && !fl_session_is_idle(one, now)) {
            found = one;
        }
    }
    return found;
}

/* Another program on this host may have set a cookie of the same name: each one is tried. */
static fl_session_row *session_of_cookies(fl_sessions *sessions, fl_sv cookies, int64_t now)
{
    fl_session_row *found = NULL;
    while (cookies.len > 0 && found == NULL) {
        fl_sv value = fl_sv_trim(fl_sv_split(&cookies, ';'));
        fl_sv name = fl_sv_split(&value, '=');
        if (fl_sv_eq_cstr(name, sessions->cookie_name)) {
            found = find_session(sessions, value, now);
        }
    }
    return found;
}

static bool is_token(const fl_sessions *sessions, fl_sv authorization)
{
    fl_sv rest = authorization;
    fl_sv scheme = fl_sv_split(&rest, ' ');
    return fl_sv_eq_nocase(scheme, FL_SV("Bearer")) &&
           fl_hash_eq_secret(hash_of(rest), sessions->token_hash);
}

fl_who fl_sessions_who(fl_sessions *sessions, const fl_request *request)
{
    fl_who who = {.session = -1};
    const fl_header *authorization = fl_request_header(request, "Authorization");
    who.has_cookie = fl_request_header(request, "Cookie") != NULL;
    (void)pthread_mutex_lock(&sessions->lock);
    const int64_t now = fl_sessions_now_s(sessions);
    fl_session_row *found = session_of_cookies(sessions, fl_request_value(request, "Cookie"), now);
    if (found != NULL) {
        who.tier = found->tier;
        who.session = found->number;
        found->seen_s = now;
        if (now - found->saved_seen_s > SEEN_SAVE_S) {
            (void)!fl_sessions_save(sessions,
                                    NULL); /* it only moves an expiry; the next use tries again */
        }
    }
    if (authorization != NULL) {
        who.is_bearer = is_token(sessions, authorization->value);
        who.has_false_bearer = !who.is_bearer;
        who.tier = who.is_bearer ? FL_TIER_OWNER : FL_TIER_NONE;
    }
    (void)pthread_mutex_unlock(&sessions->lock);
    return who;
}

fl_status fl_sessions_end(fl_sessions *sessions, int number, fl_arena *arena, fl_sv *cookie,
                          fl_err *err)
{
    fl_status status = FL_ENOTFOUND;
    (void)pthread_mutex_lock(&sessions->lock);
    for (size_t i = 0; i < FL_SESSIONS_MAX && number > 0; i++) {
        if (sessions->list[i].number == number) {
            sessions->list[i] = (fl_session_row){.number = 0};
            status = fl_sessions_save(sessions, err);
        }
    }
    (void)pthread_mutex_unlock(&sessions->lock);
    if (status == FL_ENOTFOUND) {
        return fl_fail(err, FL_ENOTFOUND, "there is no such session");
    }
    if (status == FL_OK) {
        *cookie = cookie_text(sessions, "", 0, arena);
    }
    return status;
}
