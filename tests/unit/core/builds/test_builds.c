/* The planner of builds: small cases on paper, full enumeration up to three builds of five plants
 * and three bins, and the errors. The enumeration is the outside: it knows nothing of the climb. */
#include <string.h>

#include "base/rng.h"
#include "core/builds/builds.h"
#include "support/check.h"

static fl_build_want want(int need_day, int group, int bin_days)
{
    return (fl_build_want){
        .need_day = need_day, .n_ways = 1, .ways = {{.group = group, .bin_days = bin_days}}};
}

static fl_build_plan make(const fl_build_want *wants, size_t n_wants, const fl_build_bin *bins,
                          size_t n_bins)
{
    fl_err err = {0};
    fl_build_plan plan;
    const fl_build_input input = {wants, n_wants, bins, n_bins};
    check_ok(fl_build_make(&input, &plan, &err), &err);
    return plan;
}

/* On paper: 42 days of quarantine before day 70, one bin: begin on day 0, at the latest on 28. */
static void test_one_want(void **state)
{
    (void)state;
    const fl_build_want wants[] = {want(70, 1, 42)};
    const fl_build_bin bins[] = {{.free_day = 0}};
    const fl_build_plan plan = make(wants, 1, bins, 1);
    check_int(plan.n_cohorts, 1);
    check_int(plan.cohorts[0].first_day, 0);
    check_int(plan.cohorts[0].last_day, 28);
    check_int(plan.ready_day[0], 42);
    check_int(plan.late_days, 0);
    check_int(plan.bound, 0);
}

/* Two sources of 42 and 28 days, one bin, both needed on day 60: 10 days late whatever is done; a
 * second bin meets it. Bought on one trip (one group) they share the bin and are in time. */
static void test_bin_space(void **state)
{
    (void)state;
    fl_build_want wants[] = {want(60, 1, 42), want(60, 2, 28)};
    const fl_build_bin bins[] = {{.free_day = 0}, {.free_day = 5}};
    fl_build_plan plan = make(wants, 2, bins, 1);
    check_int(plan.late_days, 10);
    check_int(plan.bound, 10);
    plan = make(wants, 2, bins, 2);
    check_int(plan.late_days, 0);
    check_int(plan.cohorts[plan.cohort[0]].last_day, 18);
    check_int(plan.cohorts[plan.cohort[1]].last_day, 32);
    wants[1].ways[0].group = 1;
    plan = make(wants, 2, bins, 1);
    check_int(plan.late_days, 0);
    check_int(plan.n_cohorts, 1);
    check_int(plan.busy_days, 42);
}

/* A cutting that roots in 21 days when the shop plant would take 42: the second way is taken only
 * because the day asks for it. */
static void test_ways(void **state)
{
    (void)state;
    fl_build_want w = want(30, 1, 42);
    w.ways[w.n_ways++] = (fl_build_way){.group = 2, .first_day = 3, .bin_days = 21};
    const fl_build_bin bins[] = {{.free_day = 0}};
    fl_build_plan plan = make(&w, 1, bins, 1);
    check_int(plan.way[0], 1);
    check_int(plan.cohorts[0].first_day, 3);
    check_int(plan.cohorts[0].last_day, 9);
    w.need_day = 50;
    plan = make(&w, 1, bins, 1);
    check_int(plan.way[0], 1); /* fewer bin days */
    w.ways[1].bin_days = 42;
    plan = make(&w, 1, bins, 1);
    check_int(plan.way[0], 0); /* as good: what the keeper prefers */
}

/* A jar takes one want that fits, never two together. */
static void test_jars(void **state)
{
    (void)state;
    fl_build_want wants[] = {want(60, 1, 40), want(60, 1, 40), want(60, 2, 40)};
    const fl_build_bin bins[] = {{.free_day = 0}, {.free_day = 0, .is_jar = true}};
    wants[2].ways[0].fits_jar = true;
    const fl_build_plan plan = make(wants, 3, bins, 2);
    check_int(plan.late_days, 0);
    check_int(plan.cohorts[plan.cohort[2]].bin, 1);
    check_int(plan.cohort[0], plan.cohort[1]);
    fl_err err = {0};
    fl_build_plan none;
    const fl_build_input jars_only = {wants, 3, &bins[1], 1};
    check_int(fl_build_make(&jars_only, &none, &err), FL_EDOMAIN);
    check_contains(err.message, "want 1 fits no bin");
}

/* ---- full enumeration ---- */

#define ATOMS_MAX 15

typedef struct search {
    const fl_build_input *input;
    int way[ATOMS_MAX];
    int label[ATOMS_MAX];
    int best; /* the least late that was met */
} search;

/* Cohorts 0 to n-1 in the order of their due days onto bins in every way: on one bin the order of
 * due days is the best for the latest (Jackson 1955), as nothing waits for a first day here. */
static void assign(search *s, const int *length, const int *latest, const int *order, int n, int k,
                   int *free_day, int late)
{
    if (late >= s->best) {
        return;
    }
    if (k == n) {
        s->best = late;
        return;
    }
    const int c = order[k];
    for (size_t b = 0; b < s->input->n_bins; b++) {
        const int start = free_day[b];
        const int own = start - latest[c] > 0 ? start - latest[c] : 0;
        free_day[b] = start + length[c];
        assign(s, length, latest, order, n, k + 1, free_day, own > late ? own : late);
        free_day[b] = start;
    }
}

static void lay_out(search *s, int n_labels)
{
    int length[ATOMS_MAX] = {0};
    int latest[ATOMS_MAX];
    int order[ATOMS_MAX];
    int free_day[3];
    for (int k = 0; k < n_labels; k++) {
        latest[k] = 1000000;
    }
    for (size_t w = 0; w < s->input->n_wants; w++) {
        const fl_build_way *way = &s->input->wants[w].ways[s->way[w]];
        const int k = s->label[w];
        const int l = s->input->wants[w].need_day - way->bin_days;
        length[k] = length[k] > way->bin_days ? length[k] : way->bin_days;
        latest[k] = latest[k] < l ? latest[k] : l;
    }
    for (int k = 0; k < n_labels; k++) {
        int j = k;
        while (j > 0 && latest[order[j - 1]] + length[order[j - 1]] > latest[k] + length[k]) {
            order[j] = order[j - 1];
            j--;
        }
        order[j] = k;
    }
    for (size_t b = 0; b < s->input->n_bins; b++) {
        free_day[b] = s->input->bins[b].free_day;
    }
    assign(s, length, latest, order, n_labels, 0, free_day, 0);
}

/* Every way of want w, alone or with each earlier cohort of its group. */
static void enumerate(search *s, size_t w, int n_labels)
{
    if (w == s->input->n_wants) {
        lay_out(s, n_labels);
        return;
    }
    for (int k = 0; k < s->input->wants[w].n_ways; k++) {
        s->way[w] = k;
        for (int label = 0; label <= n_labels; label++) {
            bool is_open = label == n_labels;
            for (size_t v = 0; v < w && !is_open; v++) {
                is_open = s->label[v] == label && s->input->wants[v].ways[s->way[v]].group ==
                                                      s->input->wants[w].ways[k].group;
            }
            if (is_open) {
                s->label[w] = label;
                enumerate(s, w + 1, label == n_labels ? n_labels + 1 : n_labels);
            }
        }
    }
}

static int least_late(const fl_build_input *input)
{
    search s = {.input = input, .best = 1000000};
    enumerate(&s, 0, 0);
    return s.best;
}

/* 200 small cases with other ways, and 24 of three builds with five plants each from three
 * sources: a build's plants of one source are on one trip (they are needed on the same day, so
 * together is never later), which leaves nine cohorts to part or join. */
static void test_against_enumeration(void **state)
{
    (void)state;
    fl_rng rng = {20261125};
    int n_exact = 0;
    int n_all = 0;
    for (int trial = 0; trial < 200; trial++) {
        fl_build_want wants[6];
        fl_build_bin bins[3];
        const size_t n_wants = 1 + fl_rng_below(&rng, 6);
        const size_t n_bins = 1 + fl_rng_below(&rng, 3);
        for (size_t w = 0; w < n_wants; w++) {
            wants[w] = want(30 + 10 * (int)fl_rng_below(&rng, 7), (int)fl_rng_below(&rng, 4),
                            14 + 7 * (int)fl_rng_below(&rng, 8));
            if (fl_rng_below(&rng, 3) == 0) {
                wants[w].ways[wants[w].n_ways++] =
                    (fl_build_way){.group = 4 + (int)fl_rng_below(&rng, 2),
                                   .bin_days = 14 + 7 * (int)fl_rng_below(&rng, 6)};
            }
        }
        for (size_t b = 0; b < n_bins; b++) {
            bins[b] = (fl_build_bin){.free_day = 5 * (int)fl_rng_below(&rng, 4)};
        }
        const fl_build_input input = {wants, n_wants, bins, n_bins};
        const fl_build_plan plan = make(wants, n_wants, bins, n_bins);
        const int exact = least_late(&input);
        check_true(plan.bound <= exact);
        check_true(plan.late_days >= exact);
        check_true(plan.late_days <= exact + 7); /* never more than a week from the best */
        n_exact += plan.late_days == exact;
        n_all++;
    }
    check_true(n_exact >= 198 && n_all == 200);
}

static void test_three_builds(void **state)
{
    (void)state;
    fl_rng rng = {7};
    int n_exact = 0;
    for (int trial = 0; trial < 24; trial++) {
        fl_build_want wants[15];
        fl_build_want trips[9];
        fl_build_bin bins[3];
        size_t n_trips = 0;
        for (int build = 0; build < 3; build++) {
            const int need_day = 50 + (int)fl_rng_below(&rng, 60);
            int longest[3] = {0};
            for (int p = 0; p < 5; p++) {
                const int group = (int)fl_rng_below(&rng, 3);
                const int days = 21 + 7 * (int)fl_rng_below(&rng, 6);
                wants[5 * build + p] = want(need_day, group, days);
                longest[group] = longest[group] > days ? longest[group] : days;
            }
            for (int g = 0; g < 3; g++) {
                if (longest[g] > 0) {
                    trips[n_trips++] = want(need_day, g, longest[g]);
                }
            }
        }
        for (int b = 0; b < 3; b++) {
            bins[b] = (fl_build_bin){.free_day = 7 * (int)fl_rng_below(&rng, 3)};
        }
        const fl_build_input input = {trips, n_trips, bins, 3};
        const fl_build_plan plan = make(wants, 15, bins, 3);
        const int exact = least_late(&input);
        check_true(plan.bound <= exact);
        check_true(plan.late_days >= exact);
        check_true(plan.late_days <= exact + 7);
        n_exact += plan.late_days == exact;
    }
    check_true(n_exact >= 23);
}

/* No two fills of a bin overlap, also when each begins on its latest day; nobody gets later by
 * waiting until then. */
static void test_last_days(void **state)
{
    (void)state;
    fl_rng rng = {3};
    for (int trial = 0; trial < 100; trial++) {
        fl_build_want wants[12];
        fl_build_bin bins[4];
        for (int w = 0; w < 12; w++) {
            wants[w] = want(60 + (int)fl_rng_below(&rng, 80), (int)fl_rng_below(&rng, 5),
                            20 + (int)fl_rng_below(&rng, 40));
            wants[w].ways[0].first_day = (int)fl_rng_below(&rng, 10);
        }
        for (int b = 0; b < 4; b++) {
            bins[b] = (fl_build_bin){.free_day = (int)fl_rng_below(&rng, 20)};
        }
        const fl_build_plan plan = make(wants, 12, bins, 4);
        for (size_t i = 0; i < plan.n_cohorts; i++) {
            const fl_build_cohort *a = &plan.cohorts[i];
            check_true(a->first_day >= bins[a->bin].free_day && a->last_day >= a->first_day);
            for (size_t j = i + 1; j < plan.n_cohorts; j++) {
                const fl_build_cohort *b = &plan.cohorts[j];
                check_true(a->bin != b->bin || (a->first_day + a->bin_days <= b->first_day &&
                                                a->last_day + a->bin_days <= b->last_day));
            }
        }
        for (int w = 0; w < 12; w++) {
            const fl_build_cohort *c = &plan.cohorts[plan.cohort[w]];
            const int late = c->last_day + wants[w].ways[0].bin_days - wants[w].need_day;
            check_true(late <= 0 || c->last_day == c->first_day);
            check_true(c->first_day >= wants[w].ways[0].first_day);
        }
    }
}

static void test_errors(void **state)
{
    (void)state;
    fl_err err = {0};
    fl_build_plan plan;
    fl_build_want w = want(10, 0, 0);
    const fl_build_bin bin = {.free_day = 0};
    const fl_build_bin bad = {.free_day = -1};
    check_int(fl_build_make(&(fl_build_input){&w, 1, &bin, 1}, &plan, &err), FL_EDOMAIN);
    check_contains(err.message, "0 days in the bin");
    w.ways[0].bin_days = 5;
    check_int(fl_build_make(&(fl_build_input){&w, 1, &bad, 1}, &plan, &err), FL_EDOMAIN);
    check_contains(err.message, "bin 1 is free from day -1");
    check_int(fl_build_make(&(fl_build_input){&w, 1, &bin, 0}, &plan, &err), FL_EDOMAIN);
    check_int(fl_build_make(&(fl_build_input){&w, 97, &bin, 1}, &plan, &err), FL_ETOOBIG);
    check_ok(fl_build_make(&(fl_build_input){NULL, 0, NULL, 0}, &plan, &err), &err);
    check_int(plan.n_cohorts, 0);
    check_int(plan.late_days, 0);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_one_want),
    cmocka_unit_test(test_bin_space),
    cmocka_unit_test(test_ways),
    cmocka_unit_test(test_jars),
    cmocka_unit_test(test_against_enumeration),
    cmocka_unit_test(test_three_builds),
    cmocka_unit_test(test_last_days),
    cmocka_unit_test(test_errors),
};
FL_TEST_MAIN(tests)
