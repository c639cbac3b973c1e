/* Runs the built program and catches what it says. */
#ifndef FL_TESTS_SUPPORT_PROGRAM_H
#define FL_TESTS_SUPPORT_PROGRAM_H

#include <stddef.h>

typedef struct fl_run {
    char *out; /* owned, terminated: standard output */
    char *err; /* owned, terminated: standard error */
    int code;  /* exit code; -1 when it was ended by a signal */
} fl_run;

/* Runs FL_BINARY with these words (NULL at the end); `input` (may be NULL) is its standard input.
 * Ends the test when it cannot run or takes longer than 60 s. */
fl_run fl_run_program(const char *const *words, const char *input);
void fl_run_done(fl_run *run);

/* The program in the room of `dir` at the time `now`, with three words (NULL: none); ends the test
 * unless it ends with exit code 0. */
void fl_run_in_room(const char *dir, const char *now, const char *a, const char *b, const char *c);

#endif
