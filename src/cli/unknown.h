/* The message for a name that is in none of our tables: the name, and those that would do. */
#ifndef FL_CLI_UNKNOWN_H
#define FL_CLI_UNKNOWN_H

#include <stddef.h>

#include "base/err.h"
#include "base/sv.h"

/* Fills err with: unknown WHAT "GIVEN": give A, B, C … (as many as a line holds, in order).
 *   what     a word: "lamp"
 *   code_at  the i-th name that would do, i below count
 * Returns FL_ENOTFOUND. */
fl_status fl_cli_unknown(fl_err *err, const char *what, fl_sv given,
                         const char *(*code_at)(size_t index), size_t count);

#endif
