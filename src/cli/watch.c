/* The line, the signal, and how often either is looked at. */
#define _GNU_SOURCE
#include "cli/watch.h"

#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#define QUIET_MS 700 /* what is done by then needs no line */
#define BETWEEN_MS 100

enum { UNHEARD, HEARD, ASKED };

/* What a signal's handler sets, and so outside every watch: UNHEARD until the work first tells how
 * far it is, since before that nobody would look; ASKED once it should stop. */
static volatile sig_atomic_t fl_interrupt_state;

static void on_interrupt(int number)
{
    if (fl_interrupt_state == HEARD) {
        fl_interrupt_state = ASKED;
    } else {
        (void)signal(number, SIG_DFL);
        (void)raise(number);
    }
}

static int64_t steady_ms(void)
{
    struct timespec now;
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

static void show(fl_watch *watch, fl_work work, int64_t done, int64_t total)
{
    const char *unit = fl_work_unit(work);
    (void)fprintf(stderr, "\r\x1b[K%s", fl_work_text(work));
    if (total > 0) {
        (void)fprintf(stderr, ": %lld of %lld%s%s", (long long)done, (long long)total,
                      unit[0] == '\0' ? "" : " ", unit);
    }
    (void)fprintf(stderr, " (Ctrl-C cancels)");
    (void)fflush(stderr);
    watch->is_shown = true;
}

static bool on_step(void *context, fl_work work, int64_t done, int64_t total)
{
    fl_watch *watch = context;
    if (watch->is_terminal) {
        const int64_t now_ms = steady_ms();
        if (now_ms - watch->started_ms >= QUIET_MS && now_ms - watch->told_ms >= BETWEEN_MS) {
            watch->told_ms = now_ms;
            show(watch, work, done, total);
        }
    }
    if (fl_interrupt_state == UNHEARD) {
        fl_interrupt_state = HEARD;
    }
    return fl_interrupt_state != ASKED;
}

void fl_watch_begin(fl_watch *watch)
{
    const struct sigaction action = {.sa_handler = on_interrupt, .sa_flags = SA_RESTART};
    *watch = (fl_watch){.progress = {.step = on_step, .context = watch},
                        .is_terminal = isatty(STDERR_FILENO) == 1,
                        .started_ms = steady_ms()};
    fl_interrupt_state = UNHEARD;
    (void)sigaction(SIGINT, &action, NULL);
}

void fl_watch_end(fl_watch *watch)
{
    const struct sigaction usual = {.sa_handler = SIG_DFL};
    (void)sigaction(SIGINT, &usual, NULL);
    if (watch->is_shown) {
        (void)fprintf(stderr, "\r\x1b[K");
        (void)fflush(stderr);
        watch->is_shown = false;
    }
}
