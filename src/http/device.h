/* The browsers that are signed in, as the keeper sees them: named, with the day of their pairing
 * and their last use, each to be sent away at once. A phone is a device; the keeper's own
 * browsers are in the list too.
 *
 * A device has a label, made when it is let in and never changed: the name it was given and six
 * hex digits ("Sink phone 3fa8c1"). It stands in the events that it tells, so that the journal
 * says who told what, and the phone may take back what it told itself (http/rights.h). */
#ifndef FL_HTTP_DEVICE_H
#define FL_HTTP_DEVICE_H

#include "http/session.h"

#define FL_DEVICE_ID_MAX 17
#define FL_DEVICE_LABEL_MAX (FL_SESSION_NAME_MAX + 8)

typedef struct fl_paired_device {
    int number; /* as in fl_who */
    char id[FL_DEVICE_ID_MAX];
    fl_tier tier;
    char name[FL_SESSION_NAME_MAX];
    char label[FL_DEVICE_LABEL_MAX]; /* empty for the keeper's own browsers */
    int64_t made_s;                  /* 0: not known */
    int64_t seen_s;
    int64_t ends_s; /* when it is not used before */
} fl_paired_device;

/* Those that may still come in, the latest used first; returns how many (at most FL_SESSIONS_MAX)
 * stand in out[]. */
size_t fl_devices_list(fl_sessions *sessions, fl_paired_device *out);

/* The one of a number (fl_who.session); false when there is none. */
bool fl_devices_of(fl_sessions *sessions, int number, fl_paired_device *out);

/* FL_ENOTFOUND names the id; FL_EINVAL: an empty name; FL_EIO: it is not written, and unchanged. */
fl_status fl_devices_rename(fl_sessions *sessions, fl_sv id, fl_sv name, fl_err *err) FL_MUST_USE;

/* Ends it at once: its next request is a stranger's. *number is the one it had. */
fl_status fl_devices_revoke(fl_sessions *sessions, fl_sv id, int *number, fl_err *err) FL_MUST_USE;

#endif
