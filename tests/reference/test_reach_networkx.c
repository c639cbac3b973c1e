/* Reach against networkx (Debian python3-networkx): generated networks with ties and cleanings,
 * both directions, strict and chained; every node's time and state. The script reach_networkx.py
 * builds a time-expanded graph and asks networkx for descendants and ancestors. Skipped only on a
 * machine without networkx. */
#define _GNU_SOURCE
#include <fcntl.h>
#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include "base/rng.h"
#include "core/trace/reach.h"
#include "support/check.h"

#define N_NODES 40
#define N_CONTACTS 260
#define N_CLEANINGS 60
#define TIME_MAX 90
#define N_CASES 160
#define NO_NETWORKX 77
#define SPAWN_FAILED 127

extern char **environ;

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

/* Runs the script with the two files as its input and output; its exit status. */
static int run_with(const char *python, const char *in, const char *out)
{
    char *const words[] = {(char[]){"python3"}, (char[]){FL_TEST_DATA_DIR "/reach_networkx.py"},
                           NULL};
    posix_spawn_file_actions_t files;
    pid_t child = 0;
    int status = 0;

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

/* The first Python on the path may be one without Debian's packages: then the system's own. */
static int run_script(const char *in, const char *out)
{
    const int status = run_with("python3", in, out);

    if (status == NO_NETWORKX || status == SPAWN_FAILED) {
        return run_with("/usr/bin/python3", in, out);
    }
    return status;
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
    int status;
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
    status = run_script(cases, theirs);
    if (status == NO_NETWORKX || status == SPAWN_FAILED) {
        fl_remove_folder(folder);
        print_message("python3-networkx is not on this machine: skipped\n");
        skip();
    }
    assert_int_equal(status, 0);
    check_same_lines(ours, theirs);
    fl_remove_folder(folder);
}

static const struct CMUnitTest tests[] = {cmocka_unit_test(test_networkx)};
FL_TEST_MAIN(tests)
