/* What a refused or failed request is told: problem details (RFC 9457) for programs, a plain page
 * for a person whose browser stands before a closed door. One table holds all kinds; the type of
 * each, "/problems/NAME", is a page of this server that explains it. */
#ifndef FL_HTTP_PROBLEM_H
#define FL_HTTP_PROBLEM_H

#include "base/arena.h"
#include "base/err.h"
#include "http/reply.h"

/* X(enum, HTTP status, name, title, what would do) */
#define FL_PROBLEM_LIST(X)                                                                         \
    X(FL_PROBLEM_NONE, 200, "none", "Nothing is wrong", "")                                        \
    X(FL_PROBLEM_MALFORMED, 400, "malformed-request", "The request cannot be read",                \
      "Send a plain HTTP/1.1 request.")                                                            \
    X(FL_PROBLEM_UNCLEAR_LENGTH, 400, "unclear-length", "The length of the body is not clear",     \
      "Send one Content-Length, in digits, and no Transfer-Encoding; no body with GET.")           \
    X(FL_PROBLEM_REPEATED, 400, "repeated-header", "A header is there more than once",             \
      "Send each of Content-Type, Origin, Authorization and the like once.")                       \
    X(FL_PROBLEM_NO_SESSION, 401, "sign-in-needed", "Sign in first",                               \
      "Open the address that `fernlock serve` prints (it works once, for a minute), or send "      \
      "the token from the room's folder as Authorization: Bearer.")                                \
    X(FL_PROBLEM_KEY_SPENT, 401, "key-spent", "This sign-in address no longer works",              \
      "Each address works once, for a minute. Press Enter where `fernlock serve` runs to get a "   \
      "new one.")                                                                                  \
    X(FL_PROBLEM_PAIR_SPENT, 401, "pairing-over", "This code no longer works",                     \
      "A code works once, for two minutes. Make a new one on the computer, under \"A phone "       \
      "beside "                                                                                    \
      "the sink\", and scan it again.")                                                            \
    X(FL_PROBLEM_PAIR_WRONG, 401, "wrong-code", "These are not the digits on the computer",        \
      "Type the six digits that the computer shows now. After five wrong ones it needs a new "     \
      "code.")                                                                                     \
    X(FL_PROBLEM_PAIR_REFUSED, 403, "pairing-refused", "The computer did not let this device in",  \
      "Ask there, and make a new code.")                                                           \
    X(FL_PROBLEM_CROSS_SITE, 403, "cross-site", "Another site may not ask for this",               \
      "Use the page that this server shows. Programs send Authorization: Bearer and no cookie.")   \
    X(FL_PROBLEM_NOT_ALLOWED, 403, "not-allowed", "This device may not do that",                   \
      "Do it on the computer where fernlock runs.")                                                \
    X(FL_PROBLEM_NO_PAGE, 404, "no-page", "There is no such page", "Begin at the first page, /.")  \
    X(FL_PROBLEM_METHOD, 405, "method", "This address does not take that method",                  \
      "The Allow header lists what it takes.")                                                     \
    X(FL_PROBLEM_TOO_SLOW, 408, "too-slow", "The request took too long to arrive",                 \
      "Try again; nothing was recorded.")                                                          \
    X(FL_PROBLEM_NO_LENGTH, 411, "length-needed", "The length of the body is not told",            \
      "Send Content-Length.")                                                                      \
    X(FL_PROBLEM_BODY_TOO_BIG, 413, "body-too-big", "The body is too big",                         \
      "Send at most 1 MB of JSON, 2 MB of photo, or 64 MB of CSV.")                                \
    X(FL_PROBLEM_MEDIA_TYPE, 415, "media-type", "The body is of a kind that is not taken",         \
      "Send Content-Type: application/json; text/csv or image/jpeg together with X-Requested-By.") \
    X(FL_PROBLEM_WRONG_HOST, 421, "wrong-host", "This server does not go by that name",            \
      "Use an address that `fernlock serve` prints. To use another name, start it with "           \
      "--host-name NAME; for other devices on your network, with --lan ADDRESS.")                  \
    X(FL_PROBLEM_KEY_MISMATCH, 422, "key-mismatch", "The idempotency key does not fit the event",  \
      "Idempotency-Key must be the event's id, and one id stands for one event for ever.")         \
    X(FL_PROBLEM_HEAD_TOO_BIG, 431, "head-too-big", "The head of the request is too big",          \
      "Send at most 16 kB of headers.")

typedef enum fl_problem {
#define FL_PROBLEM_ENUM(code, status, name, title, advice) code,
    FL_PROBLEM_LIST(FL_PROBLEM_ENUM)
#undef FL_PROBLEM_ENUM
        FL_PROBLEM_COUNT
} fl_problem;

typedef struct fl_problem_info {
    int status;
    const char *name;
    const char *title;
    const char *advice;
} fl_problem_info;

extern const fl_problem_info fl_problems[FL_PROBLEM_COUNT];

/* The answer as application/problem+json. `detail` (may be NULL) says what it was this time; else
 * the table's advice stands there. Text lives in the arena. */
fl_reply fl_problem_reply(fl_problem problem, const char *detail, fl_arena *arena);

/* The same for what app answered: the status is fl_status_http's; a message that begins with a
 * JSON pointer becomes an entry of "errors". */
fl_reply fl_problem_reply_err(const fl_err *err, fl_arena *arena);

/* The same as a page for people. */
fl_reply fl_problem_page(fl_problem problem, fl_arena *arena);

/* The page "/problems/NAME" (200), for a problem of the table or a status of base/status.h; false
 * when there is none of that name. */
bool fl_problem_explain(fl_sv name, fl_arena *arena, fl_reply *out);

#endif
