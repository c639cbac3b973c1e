/* A thread, a file, a child process at most. */
#define _GNU_SOURCE
#include "http/alarm.h"

#include <errno.h>
#include <fcntl.h>
#include <pthread.h>
#include <signal.h>
#include <spawn.h>
#include <stdio.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "app/app.h"
#include "base/alloc.h"
#include "http/secret.h"

extern char **environ;

struct fl_alarm {
    fl_alarm_options options;
    char words_of[1024]; /* the command's text, cut into words */
    char *words[FL_ALARM_WORDS_MAX + 2];
    size_t n_words;
    pthread_t thread;
    bool has_thread;
    pthread_mutex_t lock; /* of all below that other threads see */
    pthread_cond_t has_stop;
    bool is_stopping;
    fl_alarm_set set;
    bool is_watching;
    /* the thread's own */
    int64_t position;
    bool has_room;
    fl_room room;
    pid_t child; /* 0: none */
    int64_t child_since_ms;
};

/* ---- clocks ---- */

static int64_t boot_now_ms(const fl_alarm *a)
{
    if (a->options.boot_now_ms != NULL) {
        return a->options.boot_now_ms(a->options.boot_clock);
    }
    struct timespec now;
#ifdef CLOCK_BOOTTIME
    (void)clock_gettime(CLOCK_BOOTTIME, &now);
#else
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
#endif
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

static fl_alarm_now now_of(const fl_alarm *a)
{
    return (fl_alarm_now){.wall_s = fl_app_now(a->options.app), .boot_ms = boot_now_ms(a)};
}

static void read_boot_id(const fl_alarm *a, char out[FL_ALARM_BOOT_MAX])
{
    size_t len = 0;
    FILE *file = a->options.boot_id != NULL ? NULL : fopen("/proc/sys/kernel/random/boot_id", "rb");
    if (file != NULL) {
        len = fread(out, 1, FL_ALARM_BOOT_MAX - 1, file);
        (void)fclose(file);
    } else if (a->options.boot_id != NULL) {
        len = strnlen(a->options.boot_id, FL_ALARM_BOOT_MAX - 1);
        memcpy(out, a->options.boot_id, len);
    }
    while (len > 0 && out[len - 1] == '\n') {
        len--;
    }
    out[len] = '\0';
}

/* ---- the file ---- */

static void read_kept(fl_alarm *a)
{
    char path[4096];
    char text[FL_ALARM_TEXT_MAX];
    (void)snprintf(path, sizeof path, "%s/" FL_ALARM_FILE, a->options.room_dir);
    FILE *file = fopen(path, "rb");
    if (file != NULL) {
        size_t len = fread(text, 1, sizeof text, file);
        (void)fclose(file);
        fl_alarm_set_read(&a->set, (fl_sv){text, len});
    }
}

static void say(const fl_alarm *a, const char *line)
{
    if (a->options.log != NULL) {
        a->options.log(a->options.log_context, line);
    }
}

static void write_kept(fl_alarm *a)
{
    fl_str text;
    fl_err err = {0};
    fl_str_init(&text, FL_ALARM_TEXT_MAX);
    fl_alarm_set_write(&a->set, &text);
    if (fl_secret_write(a->options.room_dir, FL_ALARM_FILE, fl_str_sv(&text), &err) != FL_OK) {
        say(a, err.message); /* the alarms go on without it */
    }
    fl_str_done(&text);
}

/* ---- sounding ---- */

fl_sv fl_alarm_text(const fl_timer *timer, fl_arena *arena)
{
    const fl_ev_step *step = timer->step;
    return fl_arena_printf(arena, "%s%s%.*s, %zu lot%s", fl_words_step[step->step].text,
                           step->tub.len > 0 ? " in " : "", FL_SV_ARG(step->tub), step->lots.count,
                           step->lots.count == 1 ? "" : "s");
}

/* Without a shell, quiet, in a group of its own. */
static void run_command(fl_alarm *a, fl_sv text)
{
    posix_spawn_file_actions_t files;
    posix_spawnattr_t attributes;
    sigset_t none;
    char word[256];
    (void)snprintf(word, sizeof word, "%.*s", FL_SV_ARG(text));
    a->words[a->n_words] = word;
    a->words[a->n_words + 1] = NULL;
    (void)sigemptyset(&none);
    (void)posix_spawn_file_actions_init(&files);
    (void)posix_spawnattr_init(&attributes);
    (void)posix_spawn_file_actions_addopen(&files, STDIN_FILENO, "/dev/null", O_RDONLY, 0);
    (void)posix_spawn_file_actions_addopen(&files, STDOUT_FILENO, "/dev/null", O_WRONLY, 0);
    (void)posix_spawn_file_actions_addopen(&files, STDERR_FILENO, "/dev/null", O_WRONLY, 0);
    (void)posix_spawnattr_setsigmask(&attributes, &none);
    (void)posix_spawnattr_setpgroup(&attributes, 0);
    (void)posix_spawnattr_setflags(&attributes, POSIX_SPAWN_SETSIGMASK | POSIX_SPAWN_SETPGROUP);
    int cause = posix_spawnp(&a->child, a->words[0], &files, &attributes, a->words, environ);
    (void)posix_spawnattr_destroy(&attributes);
    (void)posix_spawn_file_actions_destroy(&files);
    a->words[a->n_words] = NULL;
    if (cause != 0) {
        char line[300];
        a->child = 0;
        (void)snprintf(line, sizeof line, "the alarm command %s: %s", a->words[0], strerror(cause));
        say(a, line);
    }
}

/* Takes back a child that ended; ends one that takes too long. now_ms is a clock that goes. */
static void mind_child(fl_alarm *a, int64_t now_ms, bool must_end)
{
    if (a->child == 0) {
        return;
    }
    if (must_end || now_ms - a->child_since_ms > (int64_t)FL_ALARM_COMMAND_S * 1000) {
        (void)kill(-a->child, SIGKILL); /* its group: it may have started others */
        (void)waitpid(a->child, NULL, 0);
        a->child = 0;
    } else if (waitpid(a->child, NULL, WNOHANG) == a->child) {
        a->child = 0;
    }
}

static int64_t steady_ms(void)
{
    struct timespec now;
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

static void sound(fl_alarm *a, const fl_timer *timer, const fl_alarm_entry *entry, fl_arena *arena)
{
    fl_sv text = fl_alarm_text(timer, arena);
    fl_sv line = entry->late_s > 0 && entry->n_sounded == 1
                     ? fl_arena_printf(arena, "due %lld s ago, and could not sound then: %.*s",
                                       (long long)entry->late_s, FL_SV_ARG(text))
                     : fl_arena_printf(arena, "due: %.*s", FL_SV_ARG(text));
    say(a, line.ptr);
    if (a->options.has_bell) {
        ssize_t put = write(STDERR_FILENO, "\a", 1);
        (void)put;
    }
    if (a->n_words > 0 && a->child == 0) {
        run_command(a, line);
        a->child_since_ms = steady_ms();
    }
}

/* ---- the thread ---- */

/* The room anew when something was recorded. */
static bool refresh(fl_alarm *a)
{
    int64_t position = 0;
    fl_err err = {0};
    if (fl_app_position(a->options.app, &position, &err) != FL_OK) {
        return false;
    }
    if (a->has_room && position == a->position) {
        return true;
    }
    if (a->has_room) {
        fl_room_done(&a->room);
        a->has_room = false;
    }
    if (fl_room_load(a->options.app, &a->room, &err) != FL_OK) {
        return false;
    }
    a->has_room = true;
    a->position = position;
    return true;
}

static void watch_once(fl_alarm *a)
{
    fl_arena arena;
    fl_timer *timers = NULL;
    size_t due[FL_ALARMS_MAX];
    fl_arena_init(&arena);
    bool is_read = refresh(a);
    size_t n = is_read ? fl_timers_running(&a->room, &arena, &timers) : 0;
    (void)pthread_mutex_lock(&a->lock);
    int64_t moved_s = a->set.moved_s;
    size_t n_due = is_read ? fl_alarm_set_update(&a->set, timers, n, now_of(a), due) : 0;
    a->is_watching = is_read;
    fl_alarm_set set = a->set;
    if (a->set.is_changed) {
        write_kept(a);
    }
    (void)pthread_mutex_unlock(&a->lock);
    if (set.moved_s != moved_s) {
        char line[128];
        (void)snprintf(line, sizeof line,
                       "the clock was moved by %lld s; timers go on by elapsed time",
                       (long long)set.moved_s);
        say(a, line);
    }
    for (size_t i = 0; i < n_due; i++) {
        sound(a, &timers[due[i]], fl_alarm_set_find(&set, timers[due[i]].run), &arena);
    }
    mind_child(a, steady_ms(), false);
    fl_arena_done(&arena);
}

/* True when it is to stop. */
static bool wait_a_while(fl_alarm *a)
{
    struct timespec until;
    int ms = a->options.poll_ms > 0 ? a->options.poll_ms : 1000;
    (void)clock_gettime(CLOCK_MONOTONIC, &until);
    until.tv_sec += ms / 1000;
    until.tv_nsec += (long)(ms % 1000) * 1000000L;
    if (until.tv_nsec >= 1000000000L) {
        until.tv_sec++;
        until.tv_nsec -= 1000000000L;
    }
    (void)pthread_mutex_lock(&a->lock);
    int rc = 0;
    while (!a->is_stopping && rc != ETIMEDOUT) {
        rc = pthread_cond_timedwait(&a->has_stop, &a->lock, &until);
    }
    bool is_stopping = a->is_stopping;
    (void)pthread_mutex_unlock(&a->lock);
    return is_stopping;
}

static void *watch(void *context)
{
    fl_alarm *a = context;
    do {
        watch_once(a);
    } while (!wait_a_while(a));
    mind_child(a, steady_ms(), true);
    if (a->has_room) {
        fl_room_done(&a->room);
    }
    return NULL;
}

/* ---- life ---- */

static fl_status split_command(fl_alarm *a, fl_err *err)
{
    const char *command = a->options.command;
    if (command == NULL) {
        return FL_OK;
    }
    if (strlen(command) >= sizeof a->words_of) {
        return fl_fail(err, FL_EINVAL, "--alarm-command: give at most %zu characters",
                       sizeof a->words_of - 1);
    }
    (void)snprintf(a->words_of, sizeof a->words_of, "%s", command);
    bool is_inside = false;
    for (char *at = a->words_of; *at != '\0'; at++) {
        bool is_blank = *at == ' ' || *at == '\t';
        if (!is_blank && !is_inside && a->n_words == FL_ALARM_WORDS_MAX) {
            return fl_fail(err, FL_EINVAL, "--alarm-command: give at most %d words",
                           FL_ALARM_WORDS_MAX);
        }
        if (!is_blank && !is_inside) {
            a->words[a->n_words++] = at;
        }
        is_inside = !is_blank;
        *at = is_blank ? '\0' : *at;
    }
    return a->n_words > 0 ? FL_OK
                          : fl_fail(err, FL_EINVAL, "--alarm-command is empty: give a program");
}

static fl_status start_thread(fl_alarm *a, fl_err *err)
{
    sigset_t all;
    sigset_t old;
    (void)sigfillset(&all);
    (void)pthread_sigmask(SIG_BLOCK, &all, &old); /* signals are the starter's business */
    int cause = pthread_create(&a->thread, NULL, watch, a);
    (void)pthread_sigmask(SIG_SETMASK, &old, NULL);
    a->has_thread = cause == 0;
    return cause == 0 ? FL_OK : fl_fail(err, FL_EIO, "the alarm's thread: %s", strerror(cause));
}

fl_status fl_alarm_start(const fl_alarm_options *options, fl_alarm **out, fl_err *err)
{
    fl_alarm *a = fl_alloc(1, sizeof *a);
    char boot_id[FL_ALARM_BOOT_MAX];
    pthread_condattr_t steady;
    a->options = *options;
    (void)pthread_mutex_init(&a->lock, NULL);
    (void)pthread_condattr_init(&steady);
    (void)pthread_condattr_setclock(&steady, CLOCK_MONOTONIC);
    (void)pthread_cond_init(&a->has_stop, &steady);
    (void)pthread_condattr_destroy(&steady);
    read_boot_id(a, boot_id);
    fl_alarm_set_init(&a->set, boot_id);
    read_kept(a);
    fl_status status = split_command(a, err);
    if (status == FL_OK) {
        status = start_thread(a, err);
    }
    if (status != FL_OK) {
        fl_alarm_stop(a);
        return status;
    }
    *out = a;
    return FL_OK;
}

void fl_alarm_stop(fl_alarm *a)
{
    if (a == NULL) {
        return;
    }
    if (a->has_thread) {
        (void)pthread_mutex_lock(&a->lock);
        a->is_stopping = true;
        (void)pthread_cond_signal(&a->has_stop);
        (void)pthread_mutex_unlock(&a->lock);
        (void)pthread_join(a->thread, NULL);
    }
    (void)pthread_cond_destroy(&a->has_stop);
    (void)pthread_mutex_destroy(&a->lock);
    fl_alloc_free(a);
}

fl_sv fl_alarm_command(const fl_alarm *alarm)
{
    return fl_sv_from_cstr(alarm->options.command);
}

void fl_alarm_look(fl_alarm *a, fl_alarm_view *out)
{
    (void)pthread_mutex_lock(&a->lock);
    *out = (fl_alarm_view){.set = a->set,
                           .now = now_of(a),
                           .has_bell = a->options.has_bell,
                           .has_command = a->n_words > 0,
                           .is_watching = a->is_watching};
    (void)pthread_mutex_unlock(&a->lock);
}
