/* A fault at the n-th operation of a kind, for tests that go through every n until none fires:
 * SQLite's files (a VFS), our own calls of the system (the linker's --wrap) and allocations all
 * count here. What is counted lies in shared memory, so that a child may be armed and the parent
 * sees what came of it. "How SQLite Is Tested" (sqlite.org/testing.html, sections 3.1 and 3.2)
 * describes the method. */
#ifndef FL_TESTS_SUPPORT_TRIP_H
#define FL_TESTS_SUPPORT_TRIP_H

#include <stdbool.h>
#include <stdint.h>

/* Kinds of operation, a mask. */
typedef enum fl_trip_kind {
    FL_TRIP_READ = 1,
    FL_TRIP_WRITE = 2, /* truncating, removing and renaming too */
    FL_TRIP_SYNC = 4,
    FL_TRIP_OPEN = 8,
    FL_TRIP_LOCK = 16,
    FL_TRIP_MEMORY = 32,
} fl_trip_kind;

/* How it fails. */
typedef enum fl_trip_how {
    FL_TRIP_ERROR = 0, /* an error of the device; of memory: none left */
    FL_TRIP_REFUSED,   /* a write: the disk is full; a lock: another process has it */
} fl_trip_how;

typedef struct fl_trip {
    unsigned kinds;
    fl_trip_how how;
    uint64_t n;      /* the n-th, from 1 */
    bool is_lasting; /* and every later one */
} fl_trip;

/* Whether every malloc of the process is counted, or (sanitizers have their own) only ours and
 * SQLite's. */
#if defined(__SANITIZE_ADDRESS__) || !defined(__GLIBC__)
#define FL_TRIP_IS_EVERY_MALLOC 0
#elif defined(__has_feature)
#if __has_feature(address_sanitizer) || __has_feature(thread_sanitizer)
#define FL_TRIP_IS_EVERY_MALLOC 0
#endif
#endif
#ifndef FL_TRIP_IS_EVERY_MALLOC
#define FL_TRIP_IS_EVERY_MALLOC 1
#endif

/* Makes the shared counter and the VFS, which becomes the default, and takes over allocators.
 * Before anything of SQLite is used; once in a process. */
void fl_trip_install(void);
/* From now on counts operations of trip.kinds, and lets the n-th fail. */
void fl_trip_arm(fl_trip trip);
void fl_trip_disarm(void);
/* Of the last arming, also by a child that is gone: how many there were, and whether it fired. */
uint64_t fl_trip_count(void);
bool fl_trip_has_fired(void);
/* Counts one; true when it shall fail. */
bool fl_trip_hits(fl_trip_kind kind);
bool fl_trip_is_refusal(void);

#endif
