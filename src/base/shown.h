/* A bad value as it stands in a message: its first 60 bytes. For printf's "%.*s". */
#ifndef FL_BASE_SHOWN_H
#define FL_BASE_SHOWN_H

#include "base/sv.h"

#define FL_SHOWN_MAX 60
#define FL_SHOWN(sv)                                                                               \
    (int)((sv).len > FL_SHOWN_MAX ? FL_SHOWN_MAX : (sv).len), ((sv).ptr ? (sv).ptr : "")

#endif
