/* A customer's complaint: against matrix exponentials in scipy (tests/reference/complaint.py), by
 * hand, and at its limits. */
#include <math.h>

#include "core/clear/steady.h"
#include "core/trace/complaint.h"
#include "support/check.h"

/* As in complaint.py: arbitrary, not a real pest. */
static const fl_stage_model model = {
    .n_stages = 3,
    .stage = {{.n_substages = 4,
               .threshold_c = 9.0,
               .degree_days = 60.0,
               .upper_c = 40.0,
               .mortality_per_day = 0.01},
              {.n_substages = 4,
               .threshold_c = 10.0,
               .degree_days = 80.0,
               .upper_c = 40.0,
               .mortality_per_day = 0.02},
              {.n_substages = 1, .threshold_c = 0.0, .degree_days = 1.0, .upper_c = 40.0}}};
static const double share[] = {0.7, 0.2, 0.1};
static const double multiplier[] = {0.5, 1.0, 1.5};
static const double weight[] = {0.25, 0.5, 0.25};
static const double look[] = {0.05, 0.3, 0.5};
static const double glance[] = {0.01, 0.1, 0.3};
static const double colony[] = {0.3, 0.5, 0.2};
#define CAP 0.95

typedef struct plant {
    fl_filter one;  /* a purchase */
    fl_filter room; /* the grower's own hazard */
    fl_complaint_way ways[2];
    fl_complaint_query query;
} plant;

/* A week at the grower's at 22 °C: the room lets founders in on day 3, a quiet look on day 5 sees
 * `detect` with at most `cap`. */
static void grow(plant *p, const double *detect, double cap)
{
    fl_err err = {0};
    const fl_filter_seed seed = {
        .prior = 0.3, .share = share, .n_mix = 3, .multiplier = multiplier};
    check_ok(fl_filter_start(&model, &seed, &p->one, &err), &err);
    check_ok(fl_filter_start_empty(&model, 3, multiplier, &p->room, &err), &err);
    check_ok(fl_filter_advance_constant(&model, 22.0, 72, &p->one, &err), &err);
    check_ok(fl_filter_inflow(&model, 0.05, share, &p->room, &err), &err);
    for (int i = 0; i < 2; i++) {
        fl_filter *state = i == 0 ? &p->one : &p->room;
        check_ok(fl_filter_advance_constant(&model, 22.0, 48, state, &err), &err);
        check_ok(fl_filter_look(&model, detect, cap, state, &err), &err);
        check_ok(fl_filter_advance_constant(&model, 22.0, 48, state, &err), &err);
    }
    p->ways[0] = (fl_complaint_way){.left = &p->one, .prior = 0.3};
    p->ways[1] = (fl_complaint_way){.left = &p->room, .is_steady = true};
    p->query = (fl_complaint_query){.model = &model,
                                    .ways = p->ways,
                                    .n_ways = 2,
                                    .n_mix = 3,
                                    .multiplier = multiplier,
                                    .share = share,
                                    .glance = glance,
                                    .seen = {.stage = -1,
                                             .detect = glance,
                                             .cap = CAP,
                                             .weight = weight,
                                             .colony = colony,
                                             .founders = 3.0},
                                    .temp_c = 21.0,
                                    .n_hours = 504,
                                    .look_every_h = 168};
}

static fl_complaint_answer ask(const fl_complaint_query *query, double hazard_per_day)
{
    fl_err err = {0};
    fl_complaint_masses masses;
    fl_complaint_answer answer = {0};
    check_ok(fl_complaint_run(query, &masses, &err), &err);
    check_ok(fl_complaint_read(&masses, hazard_per_day, weight, &answer, &err), &err);
    return answer;
}

/* The filter's masses are good to 1e-8; the hazard is put in day by day where scipy has it flow:
 * within 1e-3 of it, and of what it decides. */
static void test_scipy(void **state)
{
    plant p = {0};
    fl_table table = fl_table_read("complaint.csv");
    (void)state;
    grow(&p, look, CAP);
    for (size_t i = 0; i < table.n_rows; i++) {
        p.query.n_hours = (int)fl_table_number(&table, i, "hours");
        p.query.look_every_h = (int)fl_table_number(&table, i, "look_every_h");
        p.query.seen.stage = (int)fl_table_number(&table, i, "stage");
        const fl_complaint_answer a = ask(&p.query, fl_table_number(&table, i, "hazard_per_day"));
        check_close(a.chance_left, fl_table_number(&table, i, "chance_left"), 1e-6, 0.0);
        check_close(a.noticed_here, fl_table_number(&table, i, "noticed_here"), 1e-4, 0.0);
        check_close(a.noticed_there, fl_table_number(&table, i, "noticed_there"), 2e-3, 0.0);
        check_close(a.chance_here, fl_table_number(&table, i, "chance_here"), 2e-3, 0.0);
    }
    fl_table_free(&table);
}

/* By hand: on the plant with 10 %, then noticed on that day with 50 %; at the customer's noticed on
 * that day with 10 %. Came along 0.05; began there 0.1 x 0.95 = 0.095; so 0.05 / 0.145. */
static void test_by_hand(void **state)
{
    fl_err err = {0};
    const double one = 1.0;
    fl_complaint_answer a;
    const fl_complaint_masses masses = {.n_mix = 1,
                                        .left_quiet = {1.0},
                                        .left_clean = {0.9},
                                        .quiet = {1.0},
                                        .still_quiet = {0.95},
                                        .as_seen = {1.0},
                                        .there_any = {-log(0.9)},
                                        .there_as = {-log(0.9)}};
    (void)state;
    check_ok(fl_complaint_read(&masses, 1.0, &one, &a, &err), &err);
    check_close(a.chance_left, 0.1, 1e-12, 0.0);
    check_close(a.noticed_here, 0.05, 1e-12, 0.0);
    check_close(a.noticed_there, 0.095, 1e-12, 0.0);
    check_close(a.chance_here, 0.05 / 0.145, 1e-12, 0.0);
}

/* A look here that sees everything, just before: it began at the customer's. */
static void test_perfect_look(void **state)
{
    static const double all[] = {1.0, 1.0, 1.0};
    static const double sure[] = {1.0, 1.0, 1.0};
    plant p = {0};
    fl_err err = {0};
    (void)state;
    grow(&p, look, CAP);
    for (int w = 0; w < 3; w++) { /* an eye that misses nothing */
        p.one.multiplier[w] = p.room.multiplier[w] = sure[w];
    }
    check_ok(fl_filter_look(&model, all, 1.0, &p.one, &err), &err);
    check_ok(fl_filter_look(&model, all, 1.0, &p.room, &err), &err);
    const fl_complaint_answer a = ask(&p.query, 0.0007);
    check_close(a.chance_left, 0.0, 0.0, 1e-12);
    check_close(a.chance_here, 0.0, 0.0, 1e-12);
    check_true(a.noticed_there > 0.0);
}

/* Nothing can begin at the customer's: it came along. Nothing was on it: it began there. Neither:
 * the complaint cannot be, and no number is made up. */
static void test_limits(void **state)
{
    plant p = {0};
    (void)state;
    grow(&p, look, CAP);
    check_close(ask(&p.query, 0.0).chance_here, 1.0, 1e-15, 0.0);
    p.query.n_ways = 0;
    check_close(ask(&p.query, 0.001).chance_here, 0.0, 0.0, 0.0);
    check_close(ask(&p.query, 0.001).chance_left, 0.0, 0.0, 0.0);
    check_true(isnan(ask(&p.query, 0.0).chance_here));
    p.query.n_ways = 2; /* noticed as it was carried in: nothing can have begun there yet */
    p.query.n_hours = 0;
    check_close(ask(&p.query, 0.01).chance_here, 1.0, 1e-15, 0.0);
}

/* A higher hazard there, and more quiet looks there, speak for there. */
static void test_orderings(void **state)
{
    plant p = {0};
    double last = 2.0;
    (void)state;
    grow(&p, look, CAP);
    for (double hazard = 0.0; hazard < 0.1; hazard = hazard * 2.0 + 0.0001) {
        const double here = ask(&p.query, hazard).chance_here;
        check_true(here < last);
        last = here;
    }
    last = 2.0;
    for (int every = 504; every >= 24; every /= 2) {
        p.query.look_every_h = every < 24 ? 24 : every;
        const double here = ask(&p.query, 0.0007).chance_here;
        check_true(here < last);
        last = here;
    }
}

static void test_refused(void **state)
{
    plant p = {0};
    fl_err err = {0};
    fl_complaint_masses masses = {.n_mix = 77};
    fl_complaint_answer answer = {.chance_here = 7.0};
    const double none[] = {0.0, 0.0, 0.0};
    (void)state;
    grow(&p, look, CAP);
#define REFUSED(member, value, code)                                                               \
    {                                                                                              \
        fl_complaint_query q = p.query;                                                            \
        q.member = (value);                                                                        \
        check_int(fl_complaint_run(&q, &masses, &err), code);                                      \
        check_status(&err, code);                                                                  \
        check_int(masses.n_mix, 77);                                                               \
    }
    REFUSED(n_hours, FL_COMPLAINT_HOURS_MAX + 1, FL_ETOOBIG)
    REFUSED(n_hours, -1, FL_ETOOBIG)
    REFUSED(look_every_h, 23, FL_EDOMAIN)
    REFUSED(seen.stage, 3, FL_EDOMAIN)
    REFUSED(seen.founders, 0.0, FL_EDOMAIN)
    REFUSED(temp_c, 200.0, FL_EDOMAIN)
    REFUSED(n_mix, 2, FL_EINVAL)
#undef REFUSED
    p.ways[0].prior = 1.5;
    check_int(fl_complaint_run(&p.query, &masses, &err), FL_EDOMAIN);
    p.ways[0].prior = 0.3;
    check_ok(fl_complaint_run(&p.query, &masses, &err), &err);
    check_int(fl_complaint_read(&masses, -1.0, weight, &answer, &err), FL_EDOMAIN);
    check_int(fl_complaint_read(&masses, 1.0, none, &answer, &err), FL_EDOMAIN);
    check_close(answer.chance_here, 7.0, 0.0, 0.0);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_scipy),     cmocka_unit_test(test_by_hand),
    cmocka_unit_test(test_limits),    cmocka_unit_test(test_perfect_look),
    cmocka_unit_test(test_orderings), cmocka_unit_test(test_refused),
};
FL_TEST_MAIN(tests)
