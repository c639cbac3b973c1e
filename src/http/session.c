/* Sessions: a short table, searched from end to end with comparisons that take the same time. */
#define _GNU_SOURCE
#include "http/session.h"

#include <assert.h>
#include <pthread.h>
#include <stdio.h>
#include <string.h>

#include "base/alloc.h"
#include "base/civil.h"
#include "base/num.h"

#define FILE_HEAD "fernlock sessions 1"
#define FILE_BYTES_MAX ((size_t)65536)
#define COOKIE_PREFIX "fernlock_"
#define COOKIE_NAME_MAX 24
#define SEEN_SAVE_S FL_DAY_S /* a use is written down when the last one written is older */

typedef struct session {
    int number; /* 0: free */
    fl_tier tier;
    fl_hash hash; /* of the cookie's value */
    int64_t seen_s;
    int64_t saved_seen_s;
    char name[FL_SESSION_NAME_MAX];
} session;

typedef struct one_time_key {
    fl_hash hash;
    fl_tier tier;
    int64_t until_s; /* 0: free */
} one_time_key;

struct fl_sessions {
    pthread_mutex_t lock;
    char *dir; /* owned */
    fl_clock clock;
    fl_hash token_hash;
    char cookie_name[COOKIE_NAME_MAX];
    session list[FL_SESSIONS_MAX];
    one_time_key keys[FL_KEYS_MAX];
    int last_number;
};

static int64_t now_s(const fl_sessions *sessions)
{
    return sessions->clock.now_utc_s(sessions->clock.context);
}

static fl_hash hash_of(fl_sv text)
{
    return fl_hash_of(text.ptr, text.len);
}

/* ---- the file: a head line, then "HASH TIER SEEN NAME" lines ---- */

static bool read_hash(fl_sv text, fl_hash *out)
{
    static const char digits[] = "0123456789abcdef";
    if (text.len != FL_HASH_TEXT_MAX - 1) {
        return false;
    }
    for (size_t i = 0; i < text.len; i++) {
        const char *digit = text.ptr[i] == '\0' ? NULL : strchr(digits, text.ptr[i]);
        if (digit == NULL) {
            return false;
        }
        unsigned value = (unsigned)(digit - digits);
        out->b[i / 2] = (uint8_t)(i % 2 == 0 ? value << 4 : out->b[i / 2] | value);
    }
    return true;
}

static void copy_name(char *out, fl_sv name)
{
    size_t len = 0;
    for (size_t i = 0; i < name.len && len < FL_SESSION_NAME_MAX - 1; i++) {
        unsigned char c = (unsigned char)name.ptr[i];
        if (c >= 0x20 && c != 0x7f) {
            out[len++] = name.ptr[i];
        }
    }
    out[len] = '\0';
}

static bool read_line(fl_sessions *sessions, fl_sv line, size_t at)
{
    session *one = &sessions->list[at];
    int64_t tier = 0;
    int64_t seen_s = 0;
    if (!read_hash(fl_sv_split(&line, ' '), &one->hash) ||
        fl_num_parse_int(fl_sv_split(&line, ' '), "tier", FL_TIER_DEVICE, FL_TIER_OWNER, &tier,
                         NULL) != FL_OK ||
        fl_num_parse_int(fl_sv_split(&line, ' '), "seen", 0, INT64_MAX / 2, &seen_s, NULL) !=
            FL_OK) {
        return false;
    }
    one->tier = (fl_tier)tier;
    one->seen_s = seen_s;
    one->saved_seen_s = seen_s;
    copy_name(one->name, line);
    one->number = ++sessions->last_number;
    return true;
}

static fl_status read_sessions(fl_sessions *sessions, fl_err *err)
{
    fl_err read_err = {0};
    fl_str text;
    fl_str_init(&text, FILE_BYTES_MAX);
    fl_status status = fl_secret_read(sessions->dir, FL_SESSIONS_FILE, &text, &read_err);
    if (status == FL_OK) {
        fl_sv rest = fl_str_sv(&text);
        bool is_ours = fl_sv_eq_cstr(fl_sv_split(&rest, '\n'), FILE_HEAD);
        for (size_t i = 0; i < FL_SESSIONS_MAX && rest.len > 0 && is_ours; i++) {
            is_ours = read_line(sessions, fl_sv_split(&rest, '\n'), i);
        }
        if (!is_ours) {
            status =
                fl_fail(err, FL_EFORMAT,
                        "%.100s/%s: cannot be read: delete it, and every browser signs in anew",
                        sessions->dir, FL_SESSIONS_FILE);
        }
    } else if (status == FL_ENOTFOUND) {
        status = FL_OK;
    } else if (err != NULL) {
        *err = read_err;
    }
    fl_str_done(&text);
    return status;
}

static fl_status save(fl_sessions *sessions, fl_err *err)
{
    fl_str text;
    char hex[FL_HASH_TEXT_MAX];
    fl_str_init(&text, FILE_BYTES_MAX);
    fl_str_append_cstr(&text, FILE_HEAD "\n");
    for (size_t i = 0; i < FL_SESSIONS_MAX; i++) {
        session *one = &sessions->list[i];
        if (one->number != 0) {
            fl_str_appendf(&text, "%s %d %lld %s\n", fl_hash_format(hex, one->hash), (int)one->tier,
                           (long long)one->seen_s, one->name);
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

/* ---- life ---- */

/* The cookie's name must stay with the room and tell nothing of the token. */
static void name_cookie(fl_sessions *sessions)
{
    char hex[FL_HASH_TEXT_MAX];
    static const char label[] = "cookie name";
    (void)fl_hash_format(hex, fl_hash_link(sessions->token_hash, label, sizeof label));
    (void)snprintf(sessions->cookie_name, sizeof sessions->cookie_name, "%s%.8s", COOKIE_PREFIX,
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
    status = read_sessions(sessions, err);
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
    return sessions->cookie_name + sizeof COOKIE_PREFIX - 1;
}

/* ---- keys ---- */

const char *fl_sessions_new_key(fl_sessions *sessions, fl_tier tier, int life_s, char *key)
{
    assert(tier != FL_TIER_NONE && life_s > 0);
    (void)fl_secret_make(key);
    (void)pthread_mutex_lock(&sessions->lock);
    one_time_key *place = &sessions->keys[0];
    for (size_t i = 1; i < FL_KEYS_MAX; i++) {
        if (sessions->keys[i].until_s < place->until_s) {
            place = &sessions->keys[i];
        }
    }
    *place = (one_time_key){
        .hash = hash_of(fl_sv_from_cstr(key)), .tier = tier, .until_s = now_s(sessions) + life_s};
    (void)pthread_mutex_unlock(&sessions->lock);
    return key;
}

/* The tier of a key that still works; it does not work again. */
static fl_tier spend_key(fl_sessions *sessions, fl_sv key)
{
    const fl_hash hash = hash_of(key);
    const int64_t now = now_s(sessions);
    fl_tier tier = FL_TIER_NONE;
    for (size_t i = 0; i < FL_KEYS_MAX; i++) {
        one_time_key *one = &sessions->keys[i];
        if (fl_hash_eq_secret(one->hash, hash) && one->until_s != 0) {
            tier = now <= one->until_s ? one->tier : FL_TIER_NONE;
            *one = (one_time_key){.until_s = 0};
        }
    }
    return tier;
}

/* ---- sessions ---- */

static bool is_idle(const session *one, int64_t now)
{
    return now - one->seen_s > FL_SESSION_IDLE_S;
}

/* A free place, else that of the session which was not used for the longest time. */
static session *make_room(fl_sessions *sessions)
{
    session *place = &sessions->list[0];
    for (size_t i = 0; i < FL_SESSIONS_MAX; i++) {
        session *one = &sessions->list[i];
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

fl_status fl_sessions_redeem(fl_sessions *sessions, fl_sv key, fl_sv name, fl_arena *arena,
                             fl_sv *cookie, fl_tier *tier, fl_err *err)
{
    char value[FL_SECRET_TEXT_MAX];
    fl_status status = FL_OK;
    (void)pthread_mutex_lock(&sessions->lock);
    const fl_tier found = spend_key(sessions, key);
    if (found == FL_TIER_NONE) {
        status = fl_fail(err, FL_EAUTH, "this key is unknown, spent or too old");
    } else {
        const int64_t now = now_s(sessions);
        session *place = make_room(sessions);
        session old = *place;
        *place = (session){.number = ++sessions->last_number,
                           .tier = found,
                           .hash = hash_of(fl_sv_from_cstr(fl_secret_make(value))),
                           .seen_s = now};
        copy_name(place->name, name);
        status = save(sessions, err);
        if (status != FL_OK) {
            *place = old;
        }
    }
    (void)pthread_mutex_unlock(&sessions->lock);
    if (status == FL_OK) {
        *cookie = cookie_text(sessions, value, FL_SESSION_IDLE_S, arena);
        *tier = found;
    }
    return status;
}

/* Looks at every session whatever it finds. */
static session *find_session(fl_sessions *sessions, fl_sv value, int64_t now)
{
    const fl_hash hash = hash_of(value);
    session *found = NULL;
    for (size_t i = 0; i < FL_SESSIONS_MAX; i++) {
        session *one = &sessions->list[i];
        bool is_same = fl_hash_eq_secret(one->hash, hash);
        if (is_same && one->number != 0 && !is_idle(one, now)) {
            found = one;
        }
    }
    return found;
}

/* Another program on this host may have set a cookie of the same name: each one is tried. */
static session *session_of_cookies(fl_sessions *sessions, fl_sv cookies, int64_t now)
{
    session *found = NULL;
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
    const int64_t now = now_s(sessions);
    session *found = session_of_cookies(sessions, fl_request_value(request, "Cookie"), now);
    if (found != NULL) {
        who.tier = found->tier;
        who.session = found->number;
        found->seen_s = now;
        if (now - found->saved_seen_s > SEEN_SAVE_S) {
            (void)!save(sessions, NULL); /* it only moves an expiry; the next use tries again */
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
            sessions->list[i] = (session){.number = 0};
            status = save(sessions, err);
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
