/* Named limits of everything whose size a user chooses. */
#ifndef FL_BASE_LIMITS_H
#define FL_BASE_LIMITS_H

#define FL_EVENT_BYTES_MAX 65536 /* one event's canonical JSON */
#define FL_NAME_BYTES_MAX 200    /* a name or short text */
#define FL_NOTE_BYTES_MAX 4000   /* a note */
#define FL_LIST_MAX 500          /* entries of one list inside an event */
#define FL_FUTURE_S_MAX 300      /* how far ahead of the clock an event may be */
#define FL_JSON_DEPTH_MAX 16

#endif
