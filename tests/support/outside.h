/* Programs that are not ours, as judges: python3, unzip, pdftoppm, zbarimg. All of them are in
 * scripts/packages.txt, so one that is missing is a failure. */
#ifndef FL_TESTS_SUPPORT_OUTSIDE_H
#define FL_TESTS_SUPPORT_OUTSIDE_H

#include "support/program.h"

/* Runs the program words[0], found in $PATH, with the rest of the words (NULL at the end), without
 * input. Ends the test when it cannot run or takes longer than 60 s. */
fl_run fl_outside_run(const char *const *words);

/* The same, and ends the test unless it ends with exit code 0. */
fl_run fl_outside_must(const char *const *words);

#define OUTSIDE(...) fl_outside_must((const char *const[]){__VA_ARGS__, NULL})

#endif
