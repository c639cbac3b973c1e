/* The golden scenario: tests/golden/scenario/scenario.txt, run command by command with the clock it
 * sets; what it asks is compared with tests/reference/scenario/expected.csv, which paper.py beside
 * that file computed independently (scipy's matrix exponentials, histories written by hand). The
 * reasoning is in tests/golden/scenario/README.md. */
#define _GNU_SOURCE
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/arena.h"
#include "base/hash.h"
#include "base/num.h"
#include "json/json.h"
#include "support/check.h"
#include "support/program.h"

#define SCENARIO FL_SOURCE_DIR "/tests/golden/scenario/scenario.txt"
#define EXPECTED "scenario/expected.csv"
#define DATA_DIR FL_SOURCE_DIR "/data"
#define WORDS_MAX 40
#define FILE_BYTES_MAX ((size_t)4 << 20)
/* Both sides solve the same linear chains: scipy to rounding, the program to 1e-8 of a mass. */
#define REL 1e-6
#define ABS 1e-8

typedef struct play {
    fl_arena arena;
    char folder[FL_TEMP_PATH_MAX];
    char room[FL_TEMP_PATH_MAX + 8];
    fl_sv now;
    fl_table expected;
    size_t n_compared;
    size_t n_wrong;
} play;

static fl_sv read_file(fl_arena *arena, const char *path)
{
    FILE *file = fopen(path, "rb");
    if (file == NULL) {
        print_error("%s cannot be read\n", path);
        fail();
    }
    char *text = fl_arena_alloc(arena, FILE_BYTES_MAX, 1);
    size_t len = fread(text, 1, FILE_BYTES_MAX, file);
    check_int(fclose(file), 0);
    check_true(len < FILE_BYTES_MAX);
    return (fl_sv){text, len};
}

/* ---- the tables are those that the paper was computed from ---- */

static void check_digest(play *p, fl_sv name, fl_sv digest)
{
    char path[512];
    char text[FL_HASH_TEXT_MAX];
    (void)snprintf(path, sizeof path, DATA_DIR "/%.*s", FL_SV_ARG(name));
    fl_sv bytes = read_file(&p->arena, path);
    const char *now = fl_hash_format(text, fl_hash_of(bytes.ptr, bytes.len));
    if (!fl_sv_eq_cstr(digest, now)) {
        print_error("data/%.*s is not the one that expected.csv was computed from: read "
                    "tests/golden/scenario/README.md, then run paper.py again\n",
                    FL_SV_ARG(name));
        fail();
    }
}

static void check_digests(play *p)
{
    fl_sv text = read_file(&p->arena, FL_TEST_DATA_DIR "/" EXPECTED);
    const fl_sv mark = FL_SV("# data: ");
    int count = 0;
    while (text.len > 0) {
        fl_sv line = fl_sv_split(&text, '\n');
        if (line.len > mark.len && memcmp(line.ptr, mark.ptr, mark.len) == 0) {
            line = (fl_sv){line.ptr + mark.len, line.len - mark.len};
            fl_sv name = fl_sv_split(&line, ' ');
            check_digest(p, name, fl_sv_trim(line));
            count++;
        }
    }
    check_true(count >= 10);
}

/* ---- comparing ---- */

static bool names(const fl_json_value *element, const char *key, const char *inner, fl_sv wanted)
{
    const fl_json_value *value = fl_json_get(element, key);
    value = inner != NULL ? fl_json_get(value, inner) : value;
    return fl_json_type_of(value) == FL_JSON_STRING && fl_sv_eq(fl_json_text(value), wanted);
}

/* An element of a list: by its index, or by what it is about. */
static const fl_json_value *element_of(const fl_json_value *list, fl_sv segment)
{
    int64_t index = 0;
    if (fl_num_parse_int(segment, "index", 0, INT32_MAX, &index, NULL) == FL_OK) {
        return fl_json_at(list, (size_t)index);
    }
    for (size_t i = 0; i < fl_json_size(list); i++) {
        const fl_json_value *e = fl_json_at(list, i);
        if (names(e, "threat", NULL, segment) || names(e, "kind", NULL, segment) ||
            names(e, "lot", "name", segment) || names(e, "place", "name", segment)) {
            return e;
        }
    }
    return NULL;
}

static void wrong(play *p, size_t row, const char *got)
{
    print_error("%s: %s: program %s, paper %s\n", fl_table_text(&p->expected, row, "check"),
                fl_table_text(&p->expected, row, "path"), got,
                fl_table_text(&p->expected, row, "value"));
    p->n_wrong++;
}

static void compare_number(play *p, size_t row, double got)
{
    double want = fl_table_number(&p->expected, row, "value");
    char text[64];
    (void)snprintf(text, sizeof text, "%.15g", got);
    if (!(fabs(got - want) <= fmax(REL * fabs(want), ABS))) {
        wrong(p, row, text);
    }
}

static void compare_value(play *p, size_t row, const fl_json_value *value)
{
    const char *want = fl_table_text(&p->expected, row, "value");
    double number = 0.0;
    switch (fl_json_type_of(value)) {
    case FL_JSON_NUMBER:
        (void)fl_json_number(value, &number);
        compare_number(p, row, number);
        return;
    case FL_JSON_STRING:
        if (!fl_sv_eq_cstr(fl_json_text(value), want)) {
            wrong(p, row, fl_arena_copy_sv(&p->arena, fl_json_text(value)).ptr);
        }
        return;
    case FL_JSON_BOOL:
        if (strcmp(want, fl_json_bool(value, false) ? "true" : "false") != 0) {
            wrong(p, row, "the other");
        }
        return;
    case FL_JSON_NULL:
        if (strcmp(want, "null") != 0) {
            wrong(p, row, "null");
        }
        return;
    case FL_JSON_ABSENT:
    case FL_JSON_ARRAY:
    case FL_JSON_OBJECT:
    default:
        wrong(p, row, "nothing of the kind");
        return;
    }
}

static void compare_row(play *p, size_t row, const fl_json_value *value)
{
    fl_sv path = fl_sv_from_cstr(fl_table_text(&p->expected, row, "path"));
    p->n_compared++;
    while (path.len > 0) {
        fl_sv segment = fl_sv_split(&path, '/');
        if (fl_sv_eq_cstr(segment, "count") && fl_json_type_of(value) == FL_JSON_ARRAY) {
            compare_number(p, row, (double)fl_json_size(value));
            return;
        }
        value = fl_json_type_of(value) == FL_JSON_ARRAY
                    ? element_of(value, segment)
                    : fl_json_get(value, fl_arena_copy_sv(&p->arena, segment).ptr);
    }
    compare_value(p, row, value);
}

static void compare_answer(play *p, fl_sv name, const fl_run *run)
{
    fl_json_doc *doc = NULL;
    fl_err err = {0};
    size_t before = p->n_compared;
    check_ok(fl_json_parse(fl_sv_from_cstr(run->out), &doc, &err), &err);
    for (size_t row = 0; row < p->expected.n_rows; row++) {
        if (fl_sv_eq_cstr(name, fl_table_text(&p->expected, row, "check"))) {
            compare_row(p, row, fl_json_root(doc));
        }
    }
    fl_json_free(doc);
    if (p->n_compared == before) {
        print_error("nothing is expected of %.*s\n", FL_SV_ARG(name));
        fail();
    }
}

/* ---- playing ---- */

/* Words of a line after the room and the clock; "…" keeps spaces together. */
static void split_words(play *p, fl_sv line, const char **words)
{
    size_t n = 0;
    words[n++] = "--room";
    words[n++] = p->room;
    words[n++] = "--now";
    words[n++] = fl_arena_copy_sv(&p->arena, p->now).ptr;
    words[n++] = "--ids";
    words[n++] = "golden";
    for (line = fl_sv_trim(line); line.len > 0; line = fl_sv_trim(line)) {
        bool is_quoted = line.ptr[0] == '"';
        if (is_quoted) {
            line = (fl_sv){line.ptr + 1, line.len - 1};
        }
        fl_sv word = fl_sv_split(&line, is_quoted ? '"' : ' ');
        check_true(n < WORDS_MAX);
        words[n++] = fl_arena_copy_sv(&p->arena, word).ptr;
    }
    words[n] = NULL;
}

static void ask(play *p, fl_sv line)
{
    const char *words[WORDS_MAX + 2];
    fl_sv name = fl_sv_trim(fl_sv_split(&line, ':'));
    split_words(p, line, words);
    size_t n = 0;
    while (words[n] != NULL) {
        n++;
    }
    words[n] = "--json";
    words[n + 1] = NULL;
    fl_run run = fl_run_program(words, NULL);
    if (run.code > 1) {
        print_error("%.*s: exit %d: %s\n", FL_SV_ARG(name), run.code, run.err);
        fail();
    }
    compare_answer(p, name, &run);
    fl_run_done(&run);
}

static void do_line(play *p, fl_sv line)
{
    const char *words[WORDS_MAX + 2];
    split_words(p, line, words);
    fl_run run = fl_run_program(words, NULL);
    if (run.code != 0) {
        print_error("%.*s: exit %d: %s%s\n", FL_SV_ARG(line), run.code, run.out, run.err);
        fail();
    }
    fl_run_done(&run);
}

static void take_line(play *p, fl_sv line)
{
    if (line.len == 0 || line.ptr[0] == '#') {
        return;
    }
    fl_sv rest = fl_sv_trim((fl_sv){line.ptr + 1, line.len - 1});
    switch (line.ptr[0]) {
    case '@':
        p->now = rest;
        return;
    case '?':
        ask(p, rest);
        return;
    default:
        do_line(p, line);
        return;
    }
}

static void test_scenario(void **state)
{
    (void)state;
    static play p;
    fl_arena_init(&p.arena);
    check_digests(&p);
    p.expected = fl_table_read(EXPECTED);
    (void)fl_temp_folder(p.folder);
    (void)snprintf(p.room, sizeof p.room, "%s/room", p.folder);
    fl_sv text = read_file(&p.arena, SCENARIO);
    while (text.len > 0) {
        take_line(&p, fl_sv_trim(fl_sv_split(&text, '\n')));
    }
    check_int(p.n_wrong, 0);
    check_int(p.n_compared, p.expected.n_rows);
    fl_table_free(&p.expected);
    fl_remove_folder(p.folder);
    fl_arena_done(&p.arena);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_scenario),
};
FL_TEST_MAIN(tests)
