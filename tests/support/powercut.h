/* A disk that loses power: a VFS for SQLite that remembers, for each file, what was surely on the
 * disk (synced) and what was only written. At a chosen operation the power goes, or the operation
 * fails; afterwards the files can be put into a state that a real disk could show.
 *
 * It lies over SQLite's own VFS and becomes the default, so a store opened while it is installed
 * uses it without knowing. Counted operations: write, truncate, sync, delete. One thread. What our
 * own code does to files without SQLite (making, linking, fsync) passes it by; a file that such a
 * step gave a second name keeps its history under the new name. */
#ifndef FL_TESTS_SUPPORT_POWERCUT_H
#define FL_TESTS_SUPPORT_POWERCUT_H

#include <stdbool.h>
#include <stdint.h>

typedef enum fl_fault {
    FL_FAULT_NONE = 0,
    FL_FAULT_POWER,      /* the n-th operation and all later ones do not happen */
    FL_FAULT_ERROR_ONCE, /* the n-th operation fails with SQLITE_IOERR, later ones work */
    FL_FAULT_ERROR_ON,   /* the n-th and all later ones fail, until the next arming */
    FL_FAULT_FULL_ONCE,  /* the n-th operation, if it is a write, fails with SQLITE_FULL */
} fl_fault;

/* What of the writes that were not synced is found after the cut. */
typedef enum fl_leftover {
    FL_LEFTOVER_NONE = 0, /* nothing */
    FL_LEFTOVER_SOME,     /* any of their 512-byte sectors, by chance, in any order */
    FL_LEFTOVER_ALL,      /* all of it, as after a kill */
    FL_LEFTOVER_COUNT
} fl_leftover;

/* Makes it the default VFS, with nothing remembered. */
void fl_powercut_install(void);
/* Takes it away again; no file may be open. */
void fl_powercut_remove(void);

/* From now on counts operations from 1, and does `fault` at the n-th. */
void fl_powercut_arm(fl_fault fault, uint64_t n);
/* How many operations there were since arming; whether the fault has happened. */
uint64_t fl_powercut_operations(void);
bool fl_powercut_has_fired(void);

/* After the cut, when all files are closed: puts the files into a state the disk could show, takes
 * the shared-memory files away, and forgets. The seed decides which sectors are left. */
void fl_powercut_restart(fl_leftover leftover, uint64_t seed);

#endif
