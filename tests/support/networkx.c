/* Spawns Python with two files as its input and output. */
#define _GNU_SOURCE
#include "support/networkx.h"

#include <fcntl.h>
#include <spawn.h>
#include <stdio.h>
#include <sys/wait.h>
#include <unistd.h>

#include "support/check.h"

#define NO_NETWORKX 77
#define SPAWN_FAILED 127

extern char **environ;

static int run_with(const char *python, const char *script, const char *in, const char *out)
{
    char path[FL_TEMP_PATH_MAX];
    char *const words[] = {(char[]){"python3"}, path, NULL};
    posix_spawn_file_actions_t files;
    pid_t child = 0;
    int status = 0;

    assert_true(snprintf(path, sizeof path, "%s/%s", FL_TEST_DATA_DIR, script) < (int)sizeof path);
    assert_int_equal(posix_spawn_file_actions_init(&files), 0);
    assert_int_equal(posix_spawn_file_actions_addopen(&files, 0, in, O_RDONLY, 0), 0);
    assert_int_equal(
        posix_spawn_file_actions_addopen(&files, 1, out, O_WRONLY | O_CREAT | O_TRUNC, 0600), 0);
    if (posix_spawnp(&child, python, &files, NULL, words, environ) != 0) {
        status = SPAWN_FAILED;
    } else {
        assert_int_equal(waitpid(child, &status, 0), child);
        status = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
    }
    (void)posix_spawn_file_actions_destroy(&files);
    return status;
}

void fl_run_networkx(const char *script, const char *in, const char *out, const char *folder)
{
    int status = run_with("python3", script, in, out);
    if (status == NO_NETWORKX || status == SPAWN_FAILED) {
        status = run_with("/usr/bin/python3", script, in, out);
    }
    if (status == NO_NETWORKX || status == SPAWN_FAILED) {
        fl_remove_folder(folder);
        print_message("python3-networkx is not on this machine: skipped\n");
        skip();
    }
    assert_int_equal(status, 0);
}
