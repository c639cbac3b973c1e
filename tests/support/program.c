/* The program as a child: input and output go through temporary files, so nothing can block. */
#define _GNU_SOURCE
#include "support/program.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include "support/check.h"

#define WORDS_MAX 60
#define RUN_S_MAX 60

static char *read_all(FILE *file)
{
    (void)fseek(file, 0, SEEK_END);
    long len = ftell(file);
    check_true(len >= 0);
    rewind(file);
    char *text = malloc((size_t)len + 1);
    check_true(text != NULL);
    size_t got = fread(text, 1, (size_t)len, file);
    text[got] = '\0';
    (void)fclose(file);
    return text;
}

static void become_program(const char *const *words, FILE *in, FILE *out, FILE *err)
{
    char *argv[WORDS_MAX + 2] = {strdup("fernlock")};
    for (size_t i = 0; words[i] != NULL && i < WORDS_MAX; i++) {
        argv[i + 1] = strdup(words[i]);
    }
    (void)dup2(fileno(in), STDIN_FILENO);
    (void)dup2(fileno(out), STDOUT_FILENO);
    (void)dup2(fileno(err), STDERR_FILENO);
    (void)alarm(RUN_S_MAX);
    (void)execv(FL_BINARY, argv);
    _exit(127);
}

fl_run fl_run_program(const char *const *words, const char *input)
{
    FILE *in = tmpfile();
    FILE *out = tmpfile();
    FILE *err = tmpfile();
    int status = 0;
    check_true(in != NULL && out != NULL && err != NULL);
    if (input != NULL) {
        (void)fputs(input, in);
        (void)fflush(in);
        rewind(in);
    }
    pid_t child = fork();
    check_true(child >= 0);
    if (child == 0) {
        become_program(words, in, out, err);
    }
    check_int(waitpid(child, &status, 0), child);
    (void)fclose(in);
    fl_run run = {.out = read_all(out), .err = read_all(err)};
    run.code = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
    if (run.code == 127 || run.code == -1) {
        print_error("%s did not run to its end (status %d): %s\n", FL_BINARY, status, run.err);
        fail();
    }
    return run;
}

void fl_run_done(fl_run *run)
{
    free(run->out);
    free(run->err);
    *run = (fl_run){.code = 0};
}

void fl_run_in_room(const char *dir, const char *now, const char *a, const char *b, const char *c)
{
    const char *const words[] = {"--room", dir, "--now", now, a, b, c, NULL};
    fl_run done = fl_run_program(words, NULL);
    if (done.code != 0) {
        print_error("%s\n", done.err);
    }
    check_int(done.code, 0);
    fl_run_done(&done);
}
