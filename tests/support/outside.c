/* Children with their output in temporary files, so nothing can block. */
#define _GNU_SOURCE
#include "support/outside.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include "support/check.h"

#define WORDS_MAX 60
#define RUN_S_MAX 60
#define NOT_FOUND 127

static char *read_all(FILE *file)
{
    (void)fseek(file, 0, SEEK_END);
    long len = ftell(file);
    check_true(len >= 0);
    rewind(file);
    char *text = malloc((size_t)len + 1);
    check_true(text != NULL);
    text[fread(text, 1, (size_t)len, file)] = '\0';
    (void)fclose(file);
    return text;
}

static void become(const char *const *words, FILE *out, FILE *err)
{
    char *argv[WORDS_MAX + 1] = {NULL};
    for (size_t i = 0; words[i] != NULL && i < WORDS_MAX; i++) {
        argv[i] = strdup(words[i]);
    }
    (void)dup2(fileno(out), STDOUT_FILENO);
    (void)dup2(fileno(err), STDERR_FILENO);
    (void)alarm(RUN_S_MAX);
    (void)execvp(argv[0], argv);
    _exit(NOT_FOUND);
}

fl_run fl_outside_run(const char *const *words)
{
    FILE *out = tmpfile();
    FILE *err = tmpfile();
    int status = 0;
    check_true(out != NULL && err != NULL);
    pid_t child = fork();
    check_true(child >= 0);
    if (child == 0) {
        become(words, out, err);
    }
    check_int(waitpid(child, &status, 0), child);
    fl_run run = {.out = read_all(out), .err = read_all(err)};
    run.code = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
    if (run.code == NOT_FOUND || run.code == -1) {
        print_error("%s did not run to its end (status %d): scripts/install-packages\n%s\n",
                    words[0], status, run.err);
        fail();
    }
    return run;
}

fl_run fl_outside_must(const char *const *words)
{
    fl_run run = fl_outside_run(words);
    if (run.code != 0) {
        print_error("%s %s … ended with %d: %s%s\n", words[0], words[1] == NULL ? "" : words[1],
                    run.code, run.out, run.err);
        fail();
    }
    return run;
}
