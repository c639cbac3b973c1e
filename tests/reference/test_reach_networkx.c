/* Reach against networkx (Debian python3-networkx): generated networks with ties and cleanings,
 * both directions, strict and chained; every node's time and state. The script reach_networkx.py
 * builds a time-expanded graph and asks networkx for descendants and ancestors. Skipped only on a
 * machine without networkx. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/rng.h"
#include "core/trace/reach.h"
#include "support/check.h"
#include "support/networkx.h"

#define N_NODES 40
#define N_CONTACTS 260
#define N_CLEANINGS 60
#define TIME_MAX 90
#define N_CASES 160

typedef struct big_case {
    fl_contact contacts[N_CONTACTS];
    fl_cleaning cleanings[N_CLEANINGS];
    fl_reach_query query;
    fl_reach_node nodes[N_NODES];
    fl_reach_link links[N_CONTACTS];
    fl_reach_count count;
} big_case;

static void make_case(big_case *c, int index)
{
    fl_rng rng = {(uint64_t)index / 4 + 9000};

    memset(c, 0, sizeof *c);
    for (size_t i = 0; i < N_CONTACTS; i++) {
        c->contacts[i].time = (int64_t)fl_rng_below(&rng, TIME_MAX);
        c->contacts[i].from = (int32_t)fl_rng_below(&rng, N_NODES);
        c->contacts[i].to = (int32_t)fl_rng_below(&rng, N_NODES);
    }
    for (size_t i = 0; i < N_CLEANINGS; i++) {
        c->cleanings[i].time = (int64_t)fl_rng_below(&rng, TIME_MAX);
        c->cleanings[i].node = (int32_t)fl_rng_below(&rng, N_NODES);
    }
    qsort(c->contacts, N_CONTACTS, sizeof(fl_contact), fl_contact_compare);
    qsort(c->cleanings, N_CLEANINGS, sizeof(fl_cleaning), fl_cleaning_compare);
    c->query = (fl_reach_query){.contacts = c->contacts,
                                .n_contacts = N_CONTACTS,
                                .cleanings = c->cleanings,
                                .n_cleanings = N_CLEANINGS,
                                .n_nodes = N_NODES,
                                .root = (int32_t)fl_rng_below(&rng, N_NODES),
                                .from = (int64_t)fl_rng_below(&rng, 20),
                                .to = 60 + (int64_t)fl_rng_below(&rng, 30),
                                .is_backward = index % 2 == 1,
                                .is_strict = index / 2 % 2 == 1};
}

static void write_case(FILE *file, const big_case *c, int index)
{
    (void)fprintf(file, "case %d %d %lld %lld %d %d %d\n", index, N_NODES, (long long)c->query.from,
                  (long long)c->query.to, c->query.is_strict, c->query.is_backward, c->query.root);
    for (size_t i = 0; i < N_CONTACTS; i++) {
        (void)fprintf(file, "c %lld %d %d\n", (long long)c->contacts[i].time, c->contacts[i].from,
                      c->contacts[i].to);
    }
    for (size_t i = 0; i < N_CLEANINGS; i++) {
        (void)fprintf(file, "k %lld %d\n", (long long)c->cleanings[i].time, c->cleanings[i].node);
    }
    (void)fprintf(file, "end\n");
}

/* What networkx would print for this case, by our own pass. */
static void write_ours(FILE *file, big_case *c, int index)
{
    fl_err err = {0};

    check_ok(fl_reach(&c->query, c->nodes, c->links, &c->count, &err), &err);
    for (int32_t i = 0; i < N_NODES; i++) {
        const fl_reach_node *node = &c->nodes[i];
        if (node->is_reached) {
            (void)fprintf(file, "%d %d %lld %d\n", index, i, (long long)node->time, node->is_dirty);
        } else if (node->is_dirty) {
            (void)fprintf(file, "%d %d - 1\n", index, i);
        }
    }
}

static void check_same_lines(const char *got_path, const char *want_path)
{
    char got[200];
    char want[200];
    FILE *got_file = fopen(got_path, "r");
    FILE *want_file = fopen(want_path, "r");
    size_t n_lines = 0;

    assert_non_null(got_file);
    assert_non_null(want_file);
    while (fgets(want, sizeof want, want_file) != NULL) {
        assert_non_null(fgets(got, sizeof got, got_file));
        assert_string_equal(got, want);
        n_lines++;
    }
    assert_null(fgets(got, sizeof got, got_file));
    /* the networks are dense enough that a pass which reaches nobody cannot get through */
    check_true(n_lines > (size_t)N_CASES * 4);
    (void)fclose(got_file);
    (void)fclose(want_file);
}

static void test_networkx(void **state)
{
    char folder[FL_TEMP_PATH_MAX];
    char cases[FL_TEMP_PATH_MAX + 16];
    char ours[FL_TEMP_PATH_MAX + 16];
    char theirs[FL_TEMP_PATH_MAX + 16];
    FILE *cases_file;
    FILE *ours_file;
    big_case c;
    (void)state;

    (void)fl_temp_folder(folder);
    (void)snprintf(cases, sizeof cases, "%s/cases", folder);
    (void)snprintf(ours, sizeof ours, "%s/ours", folder);
    (void)snprintf(theirs, sizeof theirs, "%s/theirs", folder);
    cases_file = fopen(cases, "w");
    ours_file = fopen(ours, "w");
    assert_non_null(cases_file);
    assert_non_null(ours_file);
    for (int i = 0; i < N_CASES; i++) {
        make_case(&c, i);
        write_case(cases_file, &c, i);
        write_ours(ours_file, &c, i);
    }
    assert_int_equal(fclose(cases_file), 0);
    assert_int_equal(fclose(ours_file), 0);
    fl_run_networkx("reach_networkx.py", cases, theirs, folder);
    check_same_lines(ours, theirs);
    fl_remove_folder(folder);
}

static const struct CMUnitTest tests[] = {cmocka_unit_test(test_networkx)};
FL_TEST_MAIN(tests)
