/* Runs the golden cases: command lines of the built program and what they must answer. The form
 * of a case is in tests/golden/README.md. */
#define _GNU_SOURCE
#include <glob.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/arena.h"
#include "base/num.h"
#include "base/str.h"
#include "json/json.h"
#include "support/check.h"
#include "support/program.h"

#define CASES_MAX 1000
#define SECTIONS_MAX 400
#define WORDS_MAX 60
#define CASE_BYTES_MAX ((size_t)1 << 22)
#define JSON_REL 1e-9

typedef struct section {
    fl_sv name; /* "command", "stdout-json", "file soil.csv" … */
    fl_sv body; /* with the line break of each line */
} section;

/* One case while it runs. */
typedef struct golden {
    const char *path;
    fl_arena arena;
    char folder[FL_TEMP_PATH_MAX];
    section sections[SECTIONS_MAX];
    size_t count;
} golden;

static void complain(const golden *g, const section *at, const char *what, fl_sv got, fl_sv want)
{
    print_error("%s: %.*s: %s\n--- got\n%.*s\n--- want\n%.*s\n", g->path, FL_SV_ARG(at->name), what,
                FL_SV_ARG(got), FL_SV_ARG(want));
    fail();
}

/* ---- reading ---- */

static fl_sv read_case(golden *g)
{
    FILE *file = fopen(g->path, "rb");
    check_true(file != NULL);
    char *text = fl_arena_alloc(&g->arena, CASE_BYTES_MAX, 1);
    size_t len = fread(text, 1, CASE_BYTES_MAX, file);
    (void)fclose(file);
    check_true(len < CASE_BYTES_MAX);
    return (fl_sv){text, len};
}

static bool starts_with(fl_sv text, const char *start)
{
    size_t len = strlen(start);
    return text.len >= len && memcmp(text.ptr, start, len) == 0;
}

static void split_sections(golden *g, fl_sv text)
{
    while (text.len > 0) {
        const char *from = text.ptr;
        fl_sv line = fl_sv_split(&text, '\n');
        if (starts_with(line, "--- ")) {
            check_true(g->count < SECTIONS_MAX);
            fl_sv name = fl_sv_trim((fl_sv){line.ptr + 4, line.len - 4});
            g->sections[g->count++] = (section){name, {text.ptr, 0}};
        } else if (g->count > 0) {
            section *open = &g->sections[g->count - 1];
            open->body.len += (size_t)(text.ptr - from);
        }
    }
}

/* The text with {TMP} and {DATA} filled in. */
static fl_sv fill_in(golden *g, fl_sv text)
{
    fl_str out;
    fl_str_init(&out, CASE_BYTES_MAX);
    while (text.len > 0) {
        if (starts_with(text, "{TMP}")) {
            fl_str_append_cstr(&out, g->folder);
            text = (fl_sv){text.ptr + 5, text.len - 5};
        } else if (starts_with(text, "{DATA}")) {
            fl_str_append_cstr(&out, FL_TEST_DATA_DIR);
            text = (fl_sv){text.ptr + 6, text.len - 6};
        } else {
            fl_str_append_char(&out, text.ptr[0]);
            text = (fl_sv){text.ptr + 1, text.len - 1};
        }
    }
    fl_sv copy = fl_arena_copy_sv(&g->arena, fl_str_sv(&out));
    fl_str_done(&out);
    return copy;
}

static void write_file(golden *g, fl_sv name, fl_sv body)
{
    fl_sv path = fl_arena_printf(&g->arena, "%s/%.*s", g->folder, FL_SV_ARG(name));
    FILE *file = fopen(path.ptr, "wb");
    check_true(file != NULL);
    fl_sv text = fill_in(g, body);
    check_int(fwrite(text.ptr, 1, text.len, file), text.len);
    check_int(fclose(file), 0);
}

/* The words of a command line; "…" keeps spaces together. */
static void split_words(golden *g, fl_sv line, const char **words)
{
    size_t count = 0;
    line = fl_sv_trim(fill_in(g, line));
    while (line.len > 0) {
        bool is_quoted = line.ptr[0] == '"';
        if (is_quoted) {
            line = (fl_sv){line.ptr + 1, line.len - 1};
        }
        fl_sv word = fl_sv_split(&line, is_quoted ? '"' : ' ');
        check_true(count < WORDS_MAX);
        words[count++] = fl_arena_copy_sv(&g->arena, word).ptr;
        line = fl_sv_trim(line);
    }
    words[count] = NULL;
}

/* ---- comparing ---- */

/* True when `got` has all that `want` has: members by name, lists of the same length. */
static bool is_covered(const fl_json_value *want, const fl_json_value *got)
{
    double want_number = 0.0;
    double got_number = 0.0;
    if (fl_json_type_of(want) != fl_json_type_of(got)) {
        return false;
    }
    switch (fl_json_type_of(want)) {
    case FL_JSON_NUMBER:
        (void)fl_json_number(want, &want_number);
        (void)fl_json_number(got, &got_number);
        return fabs(got_number - want_number) <= JSON_REL * fabs(want_number);
    case FL_JSON_STRING:
        return fl_sv_eq(fl_json_text(want), fl_json_text(got));
    case FL_JSON_BOOL:
        return fl_json_bool(want, false) == fl_json_bool(got, false);
    case FL_JSON_ARRAY:
    case FL_JSON_OBJECT:
        break;
    case FL_JSON_ABSENT:
    case FL_JSON_NULL:
    default:
        return true;
    }
    bool is_array = fl_json_type_of(want) == FL_JSON_ARRAY;
    bool is_same = !is_array || fl_json_size(want) == fl_json_size(got);
    for (size_t i = 0; is_same && i < fl_json_size(want); i++) {
        fl_sv key = FL_SV("");
        const fl_json_value *member =
            is_array ? fl_json_at(want, i) : fl_json_member(want, i, &key);
        const fl_json_value *other = is_array ? fl_json_at(got, i) : fl_json_get(got, key.ptr);
        is_same = is_covered(member, other);
    }
    return is_same;
}

static void compare_json(golden *g, const section *at, fl_sv got, fl_sv want)
{
    fl_json_doc *got_doc = NULL;
    fl_json_doc *want_doc = NULL;
    fl_err err = {0};
    if (fl_json_parse(want, &want_doc, &err) != FL_OK ||
        fl_json_parse(got, &got_doc, &err) != FL_OK) {
        fl_json_free(want_doc);
        complain(g, at, err.message, got, want);
    }
    bool is_same = is_covered(fl_json_root(want_doc), fl_json_root(got_doc));
    fl_json_free(got_doc);
    fl_json_free(want_doc);
    if (!is_same) {
        complain(g, at, "differs", got, want);
    }
}

static void compare_lines(golden *g, const section *at, fl_sv got, fl_sv want)
{
    while (want.len > 0) {
        fl_sv line = fl_sv_trim(fl_sv_split(&want, '\n'));
        if (line.len > 0 && memmem(got.ptr, got.len, line.ptr, line.len) == NULL) {
            complain(g, at, "this line is not there", got, line);
        }
    }
}

static void compare_exactly(golden *g, const section *at, fl_sv got, fl_sv want)
{
    if (!fl_sv_eq(got, want)) {
        complain(g, at, "differs", got, want);
    }
}

/* Compares one section with what the command said; false when the section is no expectation. */
static bool compare(golden *g, const section *at, const fl_run *run)
{
    fl_sv want = fill_in(g, at->body);
    fl_sv out = fl_sv_from_cstr(run->out);
    fl_sv err = fl_sv_from_cstr(run->err);
    if (fl_sv_eq_cstr(at->name, "stdout")) {
        compare_exactly(g, at, out, want);
    } else if (fl_sv_eq_cstr(at->name, "stdout-json")) {
        compare_json(g, at, out, want);
    } else if (fl_sv_eq_cstr(at->name, "stdout-has")) {
        compare_lines(g, at, out, want);
    } else if (fl_sv_eq_cstr(at->name, "stderr")) {
        compare_exactly(g, at, err, want);
    } else if (fl_sv_eq_cstr(at->name, "stderr-has")) {
        compare_lines(g, at, err, want);
    } else {
        return false;
    }
    return true;
}

static void check_exit(golden *g, const section *at, const fl_run *run)
{
    int64_t code = -1;
    check_ok(fl_num_parse_int(fl_sv_trim(at->body), "exit", 0, 3, &code, NULL), NULL);
    if (run->code != code) {
        fl_sv said = fl_arena_printf(&g->arena, "exit %d\n%s%s", run->code, run->out, run->err);
        complain(g, at, "another exit code", said, at->body);
    }
}

/* Runs the command at `index` and checks the sections that belong to it; returns the next index. */
static size_t run_command(golden *g, size_t index)
{
    const char *words[WORDS_MAX + 1];
    const char *input = NULL;
    size_t next = index + 1;
    split_words(g, g->sections[index].body, words);
    if (next < g->count && fl_sv_eq_cstr(g->sections[next].name, "stdin")) {
        input = fill_in(g, g->sections[next].body).ptr;
        next++;
    }
    check_true(next < g->count && fl_sv_eq_cstr(g->sections[next].name, "exit"));
    fl_run run = fl_run_program(words, input);
    check_exit(g, &g->sections[next], &run);
    bool is_err_checked = false;
    for (next++; next < g->count && compare(g, &g->sections[next], &run); next++) {
        is_err_checked = is_err_checked || starts_with(g->sections[next].name, "stderr");
    }
    if (!is_err_checked) {
        compare_exactly(g, &g->sections[index], fl_sv_from_cstr(run.err), FL_SV(""));
    }
    fl_run_done(&run);
    return next;
}

static void run_case(void **state)
{
    golden *g = calloc(1, sizeof *g);
    check_true(g != NULL);
    g->path = *state;
    fl_arena_init(&g->arena);
    (void)fl_temp_folder(g->folder);
    split_sections(g, read_case(g));
    check_true(g->count > 0);
    for (size_t i = 0; i < g->count;) {
        if (starts_with(g->sections[i].name, "file ")) {
            fl_sv name = {g->sections[i].name.ptr + 5, g->sections[i].name.len - 5};
            write_file(g, name, g->sections[i].body);
            i++;
        } else if (fl_sv_eq_cstr(g->sections[i].name, "command")) {
            i = run_command(g, i);
        } else {
            complain(g, &g->sections[i], "no such section here", FL_SV(""), FL_SV(""));
        }
    }
    fl_remove_folder(g->folder);
    fl_arena_done(&g->arena);
    free(g);
}

static const char *base_name(const char *path)
{
    const char *slash = strrchr(path, '/');
    return slash == NULL ? path : slash + 1;
}

int main(void)
{
    static struct CMUnitTest tests[CASES_MAX];
    glob_t found;
    if (glob(FL_SOURCE_DIR "/tests/golden/*.case", 0, NULL, &found) != 0) {
        print_error("no tests/golden/*.case\n");
        return 1;
    }
    size_t count = found.gl_pathc < CASES_MAX ? found.gl_pathc : CASES_MAX;
    for (size_t i = 0; i < count; i++) {
        tests[i] = (struct CMUnitTest){.name = base_name(found.gl_pathv[i]),
                                       .test_func = run_case,
                                       .initial_state = found.gl_pathv[i]};
    }
    int failed = _cmocka_run_group_tests("golden", tests, count, NULL, NULL);
    globfree(&found);
    return failed;
}
