/* The way to the browser: a page of our own, then the desktop's opener, never a shell. */
#define _GNU_SOURCE
#include "cli/opener.h"

#include <fcntl.h>
#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include "base/str.h"
#include "http/secret.h"

#define PAGE_NAME "open.html"
#define PAGE_BYTES_MAX 2000

extern char **environ;

#ifdef __APPLE__
static const char opener_name[] = "open";
static bool has_display(void)
{
    return true;
}
#else
static const char opener_name[] = "xdg-open";
static bool is_set(const char *name)
{
    const char *value = getenv(name);
    return value != NULL && value[0] != '\0';
}

static bool has_display(void)
{
    return is_set("DISPLAY") || is_set("WAYLAND_DISPLAY");
}
#endif

static fl_status write_page(fl_opener *opener, const char *dir, const char *url, fl_err *err)
{
    fl_str page;
    fl_str_init(&page, PAGE_BYTES_MAX);
    fl_str_appendf(&page,
                   "<!doctype html>\n<html lang=\"en\">\n<meta charset=\"utf-8\">\n"
                   "<meta http-equiv=\"refresh\" content=\"0;url=%s\">\n<title>fernlock</title>\n"
                   "<p><a href=\"%s\">fernlock</a></p>\n</html>\n",
                   url, url);
    fl_status status = fl_secret_write(dir, PAGE_NAME, fl_str_sv(&page), err);
    fl_str_done(&page);
    if (status == FL_OK) {
        char *whole = realpath(dir, NULL);
        (void)snprintf(opener->file, sizeof opener->file, "%s/" PAGE_NAME,
                       whole != NULL ? whole : dir);
        free(whole); /* the C library's, not ours */
        opener->is_open = true;
    }
    return status;
}

/* Quiet, in a group of its own (Ctrl-C here is not meant for the browser). 0, or the error. */
static int start_child(fl_opener *opener, const sigset_t *mask)
{
    posix_spawn_file_actions_t files;
    posix_spawnattr_t attributes;
    char name[sizeof opener_name];
    memcpy(name, opener_name, sizeof name);
    char *argv[] = {name, opener->file, NULL};
    (void)posix_spawn_file_actions_init(&files);
    (void)posix_spawnattr_init(&attributes);
    (void)posix_spawn_file_actions_addopen(&files, STDIN_FILENO, "/dev/null", O_RDONLY, 0);
    (void)posix_spawn_file_actions_addopen(&files, STDOUT_FILENO, "/dev/null", O_WRONLY, 0);
    (void)posix_spawn_file_actions_addopen(&files, STDERR_FILENO, "/dev/null", O_WRONLY, 0);
    (void)posix_spawnattr_setsigmask(&attributes, mask);
    (void)posix_spawnattr_setpgroup(&attributes, 0);
    (void)posix_spawnattr_setflags(&attributes, POSIX_SPAWN_SETSIGMASK | POSIX_SPAWN_SETPGROUP);
    int cause = posix_spawnp(&opener->child, opener_name, &files, &attributes, argv, environ);
    (void)posix_spawnattr_destroy(&attributes);
    (void)posix_spawn_file_actions_destroy(&files);
    return cause;
}

fl_status fl_opener_open(fl_opener *opener, const char *dir, const char *url, const sigset_t *mask,
                         fl_err *err)
{
    *opener = (fl_opener){.child = -1};
    if (!has_display()) {
        (void)fputs("fernlock serve: no display here: open the address yourself\n", stderr);
        return FL_OK;
    }
    fl_status status = write_page(opener, dir, url, err);
    if (status == FL_OK && start_child(opener, mask) != 0) {
        opener->child = -1;
        (void)fprintf(stderr, "fernlock serve: %s is not there: open the address yourself\n",
                      opener_name);
    }
    return status;
}

void fl_opener_done(fl_opener *opener)
{
    if (!opener->is_open) {
        return;
    }
    (void)unlink(opener->file);
    if (opener->child > 0) {
        (void)waitpid(opener->child, NULL, WNOHANG); /* the browser may well stay */
    }
    opener->is_open = false;
}
