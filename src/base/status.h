/* The one list of outcomes. Every function that can fail returns fl_status and is marked
 * FL_MUST_USE. */
#ifndef FL_BASE_STATUS_H
#define FL_BASE_STATUS_H

/* X(code, short name, HTTP status, what it means) */
#define FL_STATUS_LIST(X)                                                                          \
    X(FL_OK, "ok", 200, "done")                                                                    \
    X(FL_EINVAL, "invalid", 400, "an argument or a field is wrong")                                \
    X(FL_EFORMAT, "malformed", 400, "the text cannot be read")                                     \
    X(FL_EAUTH, "unauthorised", 401, "no valid session or token")                                  \
    X(FL_EFORBIDDEN, "forbidden", 403, "not allowed for this caller")                              \
    X(FL_ENOTFOUND, "not-found", 404, "there is no such thing")                                    \
    X(FL_ECONFLICT, "conflict", 409, "the same id was recorded with other content")                \
    X(FL_ETOOBIG, "too-big", 413, "a named limit is exceeded")                                     \
    X(FL_EDOMAIN, "out-of-domain", 422, "a value is outside the range where the answer holds")     \
    X(FL_EBUSY, "busy", 503, "another process holds the room")                                     \
    X(FL_EIO, "io", 500, "reading or writing failed")                                              \
    X(FL_ECORRUPT, "corrupt", 500, "the room file is damaged")                                     \
    X(FL_ECANCELLED, "cancelled", 409, "it was cancelled, and nothing was changed")

typedef enum fl_status {
#define FL_STATUS_ENUM(code, name, http, meaning) code,
    FL_STATUS_LIST(FL_STATUS_ENUM)
#undef FL_STATUS_ENUM
        FL_STATUS_COUNT
} fl_status;

#define FL_MUST_USE __attribute__((warn_unused_result))

/* The short stable name of a status ("not-found"); never NULL. */
const char *fl_status_name(fl_status status);

/* The HTTP status that answers it (200 for FL_OK). */
int fl_status_http(fl_status status);

#endif
