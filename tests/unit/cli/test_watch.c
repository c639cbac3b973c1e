/* cli/watch.h: what Ctrl-C does while work is watched. */
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include "cli/command.h"
#include "cli/watch.h"
#include "support/check.h"

static bool step(const fl_watch *watch)
{
    return watch->progress.step(watch->progress.context, FL_WORK_COPY, 1, 2);
}

static void test_it_stops(void **state)
{
    (void)state;
    fl_watch watch;
    fl_watch_begin(&watch);
    check_true(step(&watch));
    check_true(step(&watch));
    check_int(raise(SIGINT), 0);
    check_false(step(&watch));
    check_false(step(&watch)); /* it stays so */
    fl_watch_end(&watch);
    fl_watch_begin(&watch); /* and the next work is another */
    check_true(step(&watch));
    fl_watch_end(&watch);
}

/* The signal that ended a child in which SIGINT came after some words: 0 when it lived. */
static int ends_with(int words, int interrupts)
{
    const pid_t child = fork();
    if (child == 0) {
        fl_watch watch;
        fl_watch_begin(&watch);
        for (int i = 0; i < words; i++) {
            (void)step(&watch);
        }
        for (int i = 0; i < interrupts; i++) {
            (void)raise(SIGINT);
        }
        _exit(0);
    }
    int how = 0;
    check_true(child > 0);
    check_true(waitpid(child, &how, 0) == child);
    return WIFSIGNALED(how) ? WTERMSIG(how) : 0;
}

static void test_it_is_never_deaf(void **state)
{
    (void)state;
    check_int(ends_with(0, 1), SIGINT); /* nobody would look: the program ends at once */
    check_int(ends_with(1, 1), 0);      /* somebody will */
    check_int(ends_with(1, 2), SIGINT); /* the second time it ends at once */
}

/* 128 + SIGINT, which is 2: POSIX.1-2017, XCU 2.8.2, "greater than 128" for a command ended by a
 * signal, and what shells make of it. */
static void test_the_exit_code(void **state)
{
    (void)state;
    fl_err err = {0};
    (void)fl_progress_fail(&err);
    check_status(&err, FL_ECANCELLED);
    check_int(fl_cli_fail("backup", &err), 128 + SIGINT);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_it_stops),
    cmocka_unit_test(test_it_is_never_deaf),
    cmocka_unit_test(test_the_exit_code),
};
FL_TEST_MAIN(tests)
