/* The manual page and the shells' completions, made from the table of commands and from what their
 * own help prints: nothing is listed by hand. */
#ifndef FL_CLI_MANUAL_H
#define FL_CLI_MANUAL_H

#include <stdio.h>

#include "base/arena.h"
#include "cli/command.h"

/* Words that may follow a command: its forms or topics, and its options ("--out"). */
typedef struct fl_manual_words {
    fl_sv *forms;
    size_t n_forms;
    fl_sv *options; /* each once */
    size_t n_options;
} fl_manual_words;

/* What the command's help tells, in the arena. */
fl_manual_words fl_manual_words_of(const fl_command *command, fl_arena *arena);

/* fernlock(1), in man(7). `version` stands at its foot. */
void fl_manual_page(const char *version, fl_arena *arena, FILE *out);
void fl_manual_bash(fl_arena *arena, FILE *out);
void fl_manual_zsh(fl_arena *arena, FILE *out);
void fl_manual_fish(fl_arena *arena, FILE *out);

#endif
