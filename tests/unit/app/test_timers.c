/* Timers from the journal, and alarms with both clocks moved by hand: what must sound, when, and
 * what is said to have been missed follows from web-ui.md section 5 (state is started and planned;
 * overdue is a state, not a moment). */
#include <math.h>
#include <string.h>

#include "app/timers.h"
#include "support/keeper.h"

#define MIN 60

static fl_timer timer_of(unsigned char number, int64_t started_s, int64_t planned_s)
{
    fl_timer t = {.started_s = started_s, .planned_s = planned_s, .due_s = started_s + planned_s};
    t.run.b[15] = number;
    return t;
}

/* Both clocks, as they are on one machine: the wall says 1000000 at boot time 5000 s. */
typedef struct clocks {
    int64_t wall_s;
    int64_t boot_ms;
} clocks;

static clocks at_start(void)
{
    return (clocks){1000000, 5000000};
}

static void pass(clocks *c, int64_t seconds)
{
    c->wall_s += seconds;
    c->boot_ms += seconds * 1000;
}

static fl_alarm_now now_of(const clocks *c)
{
    return (fl_alarm_now){c->wall_s, c->boot_ms};
}

static size_t update(fl_alarm_set *set, const fl_timer *timers, size_t n, const clocks *c)
{
    size_t due[FL_ALARMS_MAX];
    return fl_alarm_set_update(set, timers, n, now_of(c), due);
}

static void test_several_at_once(void **state)
{
    (void)state;
    fl_alarm_set set;
    clocks c = at_start();
    const fl_timer timers[] = {timer_of(1, c.wall_s, 300), timer_of(2, c.wall_s, 900),
                               timer_of(3, c.wall_s - 60, 360)};
    fl_alarm_set_init(&set, "boot a");
    check_int(update(&set, timers, 3, &c), 0);
    check_int(fl_alarm_left_s(fl_alarm_set_find(&set, timers[0].run), now_of(&c)), 300);
    pass(&c, 299);
    check_int(update(&set, timers, 3, &c), 0);
    pass(&c, 1);
    check_int(update(&set, timers, 3, &c), 2); /* the first and the third, at one second */
    pass(&c, 1);
    check_int(update(&set, timers, 3, &c), 0);
    pass(&c, 59); /* nobody ended them: again after a minute */
    check_int(update(&set, timers, 3, &c), 2);
    check_int(update(&set, timers + 1, 1, &c), 0); /* both ended */
    check_int(set.n, 1);
    check_int(fl_alarm_set_find(&set, timers[1].run)->late_s, 0);
}

/* The clock is set an hour back, then two hours on: the alarm comes after the minutes that
 * passed. */
static void test_a_moved_clock(void **state)
{
    (void)state;
    fl_alarm_set set;
    clocks c = at_start();
    const fl_timer t = timer_of(1, c.wall_s, 300);
    fl_alarm_set_init(&set, "boot a");
    (void)update(&set, &t, 1, &c);
    pass(&c, 100);
    c.wall_s -= 3600;
    check_int(update(&set, &t, 1, &c), 0);
    check_int(set.moved_s, -3600);
    check_int(fl_alarm_left_s(fl_alarm_set_find(&set, t.run), now_of(&c)), 200);
    c.wall_s += 7200;
    check_int(update(&set, &t, 1, &c), 0); /* by the clock it would be long over */
    pass(&c, 200);
    check_int(update(&set, &t, 1, &c), 1);
    check_int(fl_alarm_set_find(&set, t.run)->late_s, 0);
}

/* Asleep over its end: boot time went on, so it sounds on waking and says how late. */
static void test_sleep(void **state)
{
    (void)state;
    fl_alarm_set set;
    clocks c = at_start();
    const fl_timer t = timer_of(1, c.wall_s, 300);
    fl_alarm_set_init(&set, "boot a");
    (void)update(&set, &t, 1, &c);
    pass(&c, 20 * MIN);
    check_int(update(&set, &t, 1, &c), 1);
    check_int(fl_alarm_set_find(&set, t.run)->late_s, 900);
}

static void restart(fl_alarm_set *set, const char *boot_id)
{
    fl_str kept;
    fl_str_init(&kept, FL_ALARM_TEXT_MAX);
    fl_alarm_set_write(set, &kept);
    fl_alarm_set_init(set, boot_id);
    fl_alarm_set_read(set, fl_str_sv(&kept));
    fl_str_done(&kept);
}

/* The server is ended and begun again in one boot, and the clock was set meanwhile: boot time is
 * what counts. After a reboot boot time begins anew and the clock counts. */
static void test_restart(void **state)
{
    (void)state;
    for (int is_reboot = 0; is_reboot < 2; is_reboot++) {
        fl_alarm_set set;
        clocks c = at_start();
        const fl_timer timers[] = {timer_of(1, c.wall_s, 300), timer_of(2, c.wall_s, 1800)};
        fl_alarm_set_init(&set, "boot a");
        (void)update(&set, timers, 2, &c);
        pass(&c, 600); /* the first was due while nothing ran */
        if (is_reboot) {
            c.boot_ms = 30000;
        } else {
            c.wall_s += 3600;
        }
        restart(&set, is_reboot ? "boot b" : "boot a");
        check_int(update(&set, timers, 2, &c), 1);
        check_int(fl_alarm_set_find(&set, timers[0].run)->late_s, 300); /* it says so */
        check_int(fl_alarm_left_s(fl_alarm_set_find(&set, timers[1].run), now_of(&c)), 1200);
        pass(&c, 1200);
        check_int(update(&set, timers, 2, &c), 2); /* the first again, the second in time */
        check_int(fl_alarm_set_find(&set, timers[1].run)->late_s, 0);
    }
}

/* What was kept is damaged or not ours: the journal alone says what runs, and nothing is lost. */
static void test_damaged(void **state)
{
    (void)state;
    static const char *const texts[] = {"", "something else\n",
                                        "fernlock alarms 1\nboot a\nxyz 1 2", "fernlock alarms 1"};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        fl_alarm_set set;
        clocks c = at_start();
        const fl_timer t = timer_of(1, c.wall_s, 300);
        fl_alarm_set_init(&set, "boot a");
        fl_alarm_set_read(&set, fl_sv_from_cstr(texts[i]));
        check_int(set.n, 0);
        (void)update(&set, &t, 1, &c);
        pass(&c, 300);
        check_int(update(&set, &t, 1, &c), 1);
    }
}

/* More than fit: those that fit sound, and it does not fall over. Not for ever, either. */
static void test_bounds(void **state)
{
    (void)state;
    fl_alarm_set set;
    clocks c = at_start();
    fl_timer timers[FL_ALARMS_MAX + 10];
    for (size_t i = 0; i < FL_ALARMS_MAX + 10; i++) {
        timers[i] = timer_of((unsigned char)(i + 1), c.wall_s, 60);
    }
    fl_alarm_set_init(&set, "boot a");
    (void)update(&set, timers, FL_ALARMS_MAX + 10, &c);
    pass(&c, 60);
    check_int(update(&set, timers, FL_ALARMS_MAX + 10, &c), FL_ALARMS_MAX);
    size_t n_sounded = 0;
    fl_alarm_set_init(&set, "boot a");
    for (int i = 0; i < 100; i++) {
        n_sounded += update(&set, timers, 1, &c);
        pass(&c, 61);
    }
    check_int(n_sounded, FL_ALARM_TIMES);
}

/* From the journal: due is started plus planned; what was done or abandoned is no timer. */
static void test_from_the_journal(void **state)
{
    (void)state;
    fl_keeper k;
    fl_arena arena;
    fl_timer *timers = NULL;
    fl_id run[3];
    fl_keeper_init(&k);
    fl_arena_init(&arena);
    fl_id source = fl_keeper_source(&k, "a store", FL_SOURCE_CHAIN_STORE, false);
    fl_id bench = fl_keeper_place(&k, "bench", FL_PLACE_BENCH, 0, 21.0);
    fl_id lot =
        fl_keeper_arrive(&k, source, fl_keeper_id(&k), bench, FL_FORM_POTTED, FL_USE_STOCK, 1);
    int64_t start_s = k.now_s;
    for (int i = 0; i < 3; i++) {
        fl_event event = {.kind = FL_KIND_STEP_STARTED};
        run[i] = fl_keeper_id(&k);
        event.body.step_started = (fl_ev_step_started){.run = run[i],
                                                       .step = {.lots = {&lot, 1},
                                                                .step = FL_STEP_SOAK,
                                                                .dose_mg_per_l = (double)NAN,
                                                                .pct = (double)NAN,
                                                                .temp_c = (double)NAN,
                                                                .minutes = (double)NAN},
                                                       .planned_s = 900 - 300 * i};
        fl_keeper_record(&k, &event);
        k.now_s += 10;
    }
    fl_keeper_ask(&k);
    check_int(fl_timers_running(&k.room, &arena, &timers), 3);
    check_true(fl_id_eq(timers[0].run, run[2]) && fl_id_eq(timers[2].run, run[0]));
    check_int(timers[2].due_s, start_s + 900);
    check_int(timers[1].due_s, start_s + 10 + 600);
    fl_event stop = {.kind = FL_KIND_STEP_ABANDONED};
    stop.body.step_abandoned = (fl_ev_step_abandoned){.run = run[2]};
    fl_keeper_record(&k, &stop);
    fl_keeper_ask(&k);
    check_int(fl_timers_running(&k.room, &arena, &timers), 2);
    fl_keeper_verify(&k);
    fl_keeper_done(&k);
    fl_arena_done(&arena);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_several_at_once),
    cmocka_unit_test(test_a_moved_clock),
    cmocka_unit_test(test_sleep),
    cmocka_unit_test(test_restart),
    cmocka_unit_test(test_damaged),
    cmocka_unit_test(test_bounds),
    cmocka_unit_test(test_from_the_journal),
};
FL_TEST_MAIN(tests)
