/* How far long work is, told to whoever waits for it, who may say that it should stop. The caller
 * hands the struct in; nobody else knows who listens. Work that is stopped ends with FL_ECANCELLED
 * and leaves nothing half-made, like after any other failure. */
#ifndef FL_BASE_PROGRESS_H
#define FL_BASE_PROGRESS_H

#include <stdbool.h>
#include <stdint.h>

#include "base/err.h"

/* X(code, word, what is being done, what is counted): long work goes through some of these. */
#define FL_WORK_LIST(X)                                                                            \
    X(FL_WORK_CHECK, "check", "Checking the file", "")                                             \
    X(FL_WORK_COPY, "copy", "Copying", "pages")                                                    \
    X(FL_WORK_EVENTS, "events", "Reading the record", "events")                                    \
    X(FL_WORK_COMPARE, "compare", "Working out what it means", "")                                 \
    X(FL_WORK_BLOBS, "blobs", "Reading photos and readings", "files")                              \
    X(FL_WORK_PACK, "pack", "Packing", "percent")                                                  \
    X(FL_WORK_UNPACK, "unpack", "Reading back what was packed", "files")                           \
    X(FL_WORK_CHANCES, "chances", "Working out the chances", "days of the record")                 \
    X(FL_WORK_LINES, "lines", "Reading the file", "lines")                                         \
    X(FL_WORK_RECORD, "record", "Recording", "events")                                             \
    X(FL_WORK_LOTS, "lots", "Going through the lots", "lots")                                      \
    X(FL_WORK_LABELS, "labels", "Drawing labels", "labels")

typedef enum fl_work {
#define FL_WORK_ENUM(code, word, text, unit) code,
    FL_WORK_LIST(FL_WORK_ENUM)
#undef FL_WORK_ENUM
        FL_WORK_COUNT
} fl_work;

/* The stable word of a work ("copy"), its text for a person, and what it counts ("" when it counts
 * nothing). Never NULL. */
const char *fl_work_word(fl_work work);
const char *fl_work_text(fl_work work);
const char *fl_work_unit(fl_work work);

typedef struct fl_progress {
    /* `done` of `total` are done of this work; total 0: not known. Called often: it must be quick.
     * False: stop. */
    bool (*step)(void *context, fl_work work, int64_t done, int64_t total);
    void *context;
} fl_progress;

/* Tells where the work is. FL_ECANCELLED when it should stop; `progress` NULL: nobody waits, and it
 * goes on. */
fl_status fl_progress_step(const fl_progress *progress, fl_work work, int64_t done, int64_t total,
                           fl_err *err) FL_MUST_USE;

/* The failure of work that was stopped: for who asked in a way of his own. */
fl_status fl_progress_fail(fl_err *err);

/* The same in loops of small steps: told for every 32nd `done` only. */
fl_status fl_progress_tick(const fl_progress *progress, fl_work work, int64_t done, int64_t total,
                           fl_err *err) FL_MUST_USE;

#endif
