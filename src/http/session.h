/* Signing in: the token of programs, one-time keys, and the sessions of browsers.
 *
 * Nothing that is kept can be used to sign in: sessions and keys are held as hashes. The token lies
 * in DIR/server-token, sessions in DIR/server-sessions; both 0600. Deleting a file revokes what is
 * in it at the next start. Safe to use from several threads. */
#ifndef FL_HTTP_SESSION_H
#define FL_HTTP_SESSION_H

#include "base/clock.h"
#include "http/guard.h"
#include "http/reply.h"
#include "http/secret.h"

#define FL_TOKEN_FILE "server-token"
#define FL_SESSIONS_FILE "server-sessions"
#define FL_SESSIONS_MAX 64        /* beyond it the longest unused one ends */
#define FL_KEYS_MAX 16            /* open one-time keys; beyond it the oldest is void */
#define FL_KEY_LIFE_S 60          /* of a key that is printed or opened */
#define FL_SESSION_IDLE_S 2592000 /* 30 days: a session that is not used for so long ends */
#define FL_SESSION_NAME_MAX 64

typedef struct fl_sessions fl_sessions;

/* Reads the token (makes it the first time) and the sessions of the room in `dir`. Errors of
 * fl_secret_keep and fl_secret_read; FL_EFORMAT: the sessions file is not ours. */
fl_status fl_sessions_open(const char *dir, fl_clock clock, fl_sessions **out,
                           fl_err *err) FL_MUST_USE;
void fl_sessions_close(fl_sessions *sessions); /* NULL is fine */

/* "fernlock_" and eight hex digits that belong to the room: all ports of a host share cookies. */
const char *fl_sessions_cookie_name(const fl_sessions *sessions);

/* The moment, by the clock that keys and sessions go by. */
int64_t fl_sessions_now_s(const fl_sessions *sessions);

/* The eight hex digits alone: which room this is. A browser that holds events back asks for it. */
const char *fl_sessions_room_tag(const fl_sessions *sessions);

/* A key that signs in one browser, once, within life_s, with this tier; terminated, into
 * key[FL_SECRET_TEXT_MAX]; returns key. */
const char *fl_sessions_new_key(fl_sessions *sessions, fl_tier tier, int life_s, char *key);

/* Spends a key: *cookie is the text of the Set-Cookie header, in the arena, *tier the new
 * session's. `name` (may be empty) is what the keeper calls the device. FL_EAUTH: unknown, spent or
 * too old. */
fl_status fl_sessions_redeem(fl_sessions *sessions, fl_sv key, fl_sv name, fl_arena *arena,
                             fl_sv *cookie, fl_tier *tier, fl_err *err) FL_MUST_USE;

/* A session for a device that the keeper has allowed (http/pairing.h); *cookie as above. FL_EIO. */
fl_status fl_sessions_admit(fl_sessions *sessions, fl_sv name, fl_arena *arena, fl_sv *cookie,
                            fl_err *err) FL_MUST_USE;

/* What the request's credentials are worth now. */
fl_who fl_sessions_who(fl_sessions *sessions, const fl_request *request);

/* Ends a session (fl_who.session); *cookie is a Set-Cookie header that removes it from the browser.
 * FL_ENOTFOUND: there is none of that number. */
fl_status fl_sessions_end(fl_sessions *sessions, int number, fl_arena *arena, fl_sv *cookie,
                          fl_err *err) FL_MUST_USE;

#endif
