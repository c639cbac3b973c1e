/* Opening an address that holds a one-time key in the keeper's browser. Command lines can be read
 * by everyone on the machine, so the browser is given a file that only the keeper can read and that
 * leads on to the address. */
#ifndef FL_CLI_OPENER_H
#define FL_CLI_OPENER_H

#include <signal.h>
#include <stdbool.h>
#include <sys/types.h>

#include "base/err.h"

#define FL_OPENER_PATH_MAX 4200

typedef struct fl_opener {
    bool is_open;
    pid_t child;
    char file[FL_OPENER_PATH_MAX]; /* deleted at the end */
} fl_opener;

/* Writes DIR/open.html (0600) and starts the desktop's opener with it; the signal mask is what the
 * child gets. Without a display, or an opener, a line on stderr says so and FL_OK comes back.
 * FL_EIO when the file cannot be written. */
fl_status fl_opener_open(fl_opener *opener, const char *dir, const char *url, const sigset_t *mask,
                         fl_err *err) FL_MUST_USE;

void fl_opener_done(fl_opener *opener); /* one that is not open is fine */

#endif
