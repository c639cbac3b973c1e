/* The alarm of the computer that serves: a real thread over a real room, with both clocks moved by
 * hand, and a command that leaves a mark (run without a shell). It must sound when a step is due by
 * elapsed time, again for what could not sound while it was off, and end a command that hangs. */
#define _GNU_SOURCE
#include <math.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include "http/alarm.h"
#include "support/keeper.h"

#define POLL_MS 20
#define WAIT_MS 10000

static _Atomic int64_t boot_ms;

static int64_t boot_now(void *context)
{
    (void)context;
    return boot_ms;
}

typedef struct stage {
    fl_keeper k;
    fl_app watcher;
    _Atomic int64_t wall_s;
    char mark[FL_TEMP_PATH_MAX + 32];
    char command[FL_TEMP_PATH_MAX + 64];
    fl_alarm *alarm;
} stage;

static int64_t wall_now(void *context)
{
    stage *s = context;
    return s->wall_s;
}

static void nap(void)
{
    const struct timespec time = {.tv_nsec = POLL_MS * 1000000L};
    (void)nanosleep(&time, NULL);
}

static bool has_mark(const stage *s)
{
    struct stat found;
    return stat(s->mark, &found) == 0;
}

static bool mark_comes(const stage *s)
{
    for (int ms = 0; ms < WAIT_MS && !has_mark(s); ms += POLL_MS) {
        nap();
    }
    return has_mark(s);
}

static void start(stage *s, const char *boot_id)
{
    const fl_alarm_options options = {.room_dir = s->k.dir,
                                      .app = &s->watcher,
                                      .command = s->command,
                                      .poll_ms = POLL_MS,
                                      .boot_now_ms = boot_now,
                                      .boot_id = boot_id};
    check_ok(fl_alarm_start(&options, &s->alarm, &s->k.err), &s->k.err);
}

static void pass(stage *s, int64_t seconds)
{
    s->wall_s += seconds;
    boot_ms += seconds * 1000;
}

/* Until the alarm has seen `n` timers. */
static fl_alarm_view seen(stage *s, size_t n)
{
    fl_alarm_view view;
    fl_alarm_look(s->alarm, &view);
    for (int ms = 0; ms < WAIT_MS && !(view.is_watching && view.set.n == n); ms += POLL_MS) {
        nap();
        fl_alarm_look(s->alarm, &view);
    }
    check_int(view.set.n, n);
    return view;
}

static void set_stage(stage *s)
{
    fl_keeper_init(&s->k);
    boot_ms = 900000;
    s->wall_s = s->k.now_s;
    (void)snprintf(s->mark, sizeof s->mark, "%s/mark", s->k.dir);
    (void)snprintf(s->command, sizeof s->command, "env -C %s touch mark", s->k.dir);
    const fl_clock clock = {.now_utc_s = wall_now, .context = s};
    check_ok(fl_app_open_reader(s->k.dir, clock, &s->watcher, &s->k.err), &s->k.err);
    fl_id source = fl_keeper_source(&s->k, "a store", FL_SOURCE_CHAIN_STORE, false);
    fl_id bench = fl_keeper_place(&s->k, "bench", FL_PLACE_BENCH, 0, 21.0);
    fl_id lot = fl_keeper_arrive(&s->k, source, fl_keeper_id(&s->k), bench, FL_FORM_POTTED,
                                 FL_USE_STOCK, 1);
    const double untold = (double)NAN;
    fl_event event = {.kind = FL_KIND_STEP_STARTED};
    event.body.step_started = (fl_ev_step_started){.run = fl_keeper_id(&s->k),
                                                   .step = {.lots = {&lot, 1},
                                                            .step = FL_STEP_SOAK,
                                                            .dose_mg_per_l = untold,
                                                            .pct = untold,
                                                            .temp_c = untold,
                                                            .minutes = untold},
                                                   .planned_s = 900};
    fl_keeper_record(&s->k, &event);
}

static void strike_stage(stage *s)
{
    fl_alarm_stop(s->alarm);
    fl_app_close(&s->watcher);
    fl_keeper_done(&s->k);
}

/* The clock is set back by an hour: it sounds after the 15 minutes all the same. "touch" gets what
 * is due as a word of its own, so that no shell can have had it. */
static void test_sounds_by_elapsed_time(void **state)
{
    (void)state;
    stage *s = calloc(1, sizeof *s);
    set_stage(s);
    start(s, "boot a");
    (void)seen(s, 1);
    pass(s, 600);
    s->wall_s -= 3600;
    for (int i = 0; i < 5; i++) {
        nap();
    }
    check_false(has_mark(s));
    pass(s, 300);
    check_true(mark_comes(s));
    check_int(seen(s, 1).set.entries[0].late_s, 0);
    strike_stage(s);
    free(s);
}

/* Ended and begun again after it was due: it sounds at once, and says how late. */
static void test_after_a_restart(void **state)
{
    (void)state;
    stage *s = calloc(1, sizeof *s);
    set_stage(s);
    start(s, "boot a");
    (void)seen(s, 1);
    fl_alarm_stop(s->alarm);
    pass(s, 1500);
    s->wall_s += 7200; /* and the clock was moved meanwhile */
    check_false(has_mark(s));
    start(s, "boot a");
    check_true(mark_comes(s));
    check_int(seen(s, 1).set.entries[0].late_s, 600);
    fl_alarm_stop(s->alarm);
    s->alarm = NULL;
    strike_stage(s);
    free(s);
}

/* A command that hangs is ended with the alarm, bounded; one of no words is refused. */
static void test_commands(void **state)
{
    (void)state;
    stage *s = calloc(1, sizeof *s);
    set_stage(s);
    (void)snprintf(s->command, sizeof s->command, "sleep 600");
    start(s, "boot a");
    (void)seen(s, 1);
    pass(s, 900);
    for (int i = 0; i < 20; i++) {
        nap();
    }
    struct timespec before, after;
    (void)clock_gettime(CLOCK_MONOTONIC, &before);
    fl_alarm_stop(s->alarm);
    (void)clock_gettime(CLOCK_MONOTONIC, &after);
    check_true(after.tv_sec - before.tv_sec < 10);
    (void)snprintf(s->command, sizeof s->command, "  ");
    const fl_alarm_options options = {
        .room_dir = s->k.dir, .app = &s->watcher, .command = s->command};
    check_int(fl_alarm_start(&options, &s->alarm, &s->k.err), FL_EINVAL);
    s->alarm = NULL;
    strike_stage(s);
    free(s);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_sounds_by_elapsed_time),
    cmocka_unit_test(test_after_a_restart),
    cmocka_unit_test(test_commands),
};
FL_TEST_MAIN(tests)
