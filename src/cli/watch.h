/* Long work at a terminal: a line on stderr that says how far it is, and Ctrl-C that ends it
 * cleanly. Where stderr is no terminal there is no line; Ctrl-C works all the same. */
#ifndef FL_CLI_WATCH_H
#define FL_CLI_WATCH_H

#include <stdbool.h>

#include "base/progress.h"

typedef struct fl_watch {
    fl_progress progress; /* to be handed to the work */
    bool is_terminal;
    bool is_shown;      /* a line stands there */
    int64_t started_ms; /* of the machine's steady clock */
    int64_t told_ms;
} fl_watch;

/* From here on SIGINT asks the work to stop, once it has told how far it is; before that, and the
 * second time, it ends the program at once, which the room file survives. `watch` must stay where
 * it is until fl_watch_end, which wipes the line; a second fl_watch_end is harmless. */
void fl_watch_begin(fl_watch *watch);
void fl_watch_end(fl_watch *watch);

#endif
