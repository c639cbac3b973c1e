/* Takes events as JSON Lines: the same events as the API. Each line is a transaction of its own and
 * is acknowledged once it is on the disk, or all are one. */
#define _GNU_SOURCE
#include <errno.h>
#include <stdlib.h>
#include <string.h>

#include "base/alloc.h"
#include "cli/compose.h"
#include "cli/demo.h"

#define LINE_BYTES_MAX ((size_t)1 << 20)
#define TOGETHER_BYTES_MAX ((size_t)256 << 20)
#define LINES_MAX 1000000

enum { TOGETHER };

static const fl_arg options[] = {
    [TOGETHER] = {"together", FL_ARG_FLAG, .help = "all lines or none, in one transaction"},
};

/* A stream of lines, and what became of them. */
typedef struct reading {
    fl_session *s;
    FILE *file;
    const char *path;
    char *line; /* owned by getline */
    size_t cap;
    int64_t number;   /* of the last line read, from 1 */
    int64_t n_new;    /* recorded now */
    int64_t n_before; /* recorded before */
    fl_id *ids;       /* owned: of the lines that were taken, for --json */
    fl_recorded *results;
    size_t n_results;
    size_t results_cap;
} reading;

static fl_status open_lines(reading *r, const char *path, fl_err *err)
{
    bool is_input = strcmp(path, "-") == 0;
    r->path = is_input ? "standard input" : path;
    r->file = is_input ? stdin : fopen(path, "rb");
    if (r->file == NULL) {
        return fl_fail(err, FL_EIO, "%.150s: %s", path, strerror(errno));
    }
    return FL_OK;
}

static void close_lines(reading *r)
{
    if (r->file != NULL && r->file != stdin) {
        (void)fclose(r->file);
    }
    free(r->line); /* getline's, not ours */
    fl_alloc_free(r->ids);
    fl_alloc_free(r->results);
}

/* The next line that is not empty; *is_end when there is none. */
static fl_status next_line(reading *r, fl_sv *line, bool *is_end, fl_err *err)
{
    ssize_t got = 0;
    *is_end = false;
    while ((got = getline(&r->line, &r->cap, r->file)) >= 0) {
        r->number++;
        *line = fl_sv_trim((fl_sv){r->line, (size_t)got});
        if (line->len > LINE_BYTES_MAX) {
            return fl_fail(err, FL_ETOOBIG, "line %lld: more than %zu bytes", (long long)r->number,
                           LINE_BYTES_MAX);
        }
        if (line->len > 0) {
            return FL_OK;
        }
    }
    if (!feof(r->file)) { /* without memory getline sets no error */
        return fl_fail(err, FL_EIO, "%.150s: %s", r->path, strerror(errno));
    }
    *is_end = true;
    return FL_OK;
}

/* The id and kind of an accepted line. */
static fl_id name_line(fl_sv line, char *kind, size_t kind_size)
{
    fl_json_doc *doc = NULL;
    fl_id id = {{0}};
    if (fl_json_parse(line, &doc, NULL) == FL_OK) {
        const fl_json_value *root = fl_json_root(doc);
        fl_sv word = fl_json_text(fl_json_get(root, "kind"));
        if (fl_id_parse(fl_json_text(fl_json_get(root, "id")), &id, NULL) != FL_OK) {
            id = (fl_id){{0}};
        }
        (void)snprintf(kind, kind_size, "%.*s", FL_SV_ARG(word));
    }
    fl_json_free(doc);
    return id;
}

static void keep_result(reading *r, fl_id id, fl_recorded what)
{
    if (r->n_results == r->results_cap) {
        r->results_cap = r->results_cap == 0 ? 256 : 2 * r->results_cap;
        r->ids = fl_alloc_resize(r->ids, r->results_cap, sizeof r->ids[0]);
        r->results = fl_alloc_resize(r->results, r->results_cap, sizeof r->results[0]);
    }
    r->ids[r->n_results] = id;
    r->results[r->n_results++] = what;
}

/* Says what became of a line, at once: whoever reads it may rely on it. */
static void acknowledge(reading *r, int64_t number, fl_sv line, fl_recorded what)
{
    char kind[60] = "";
    char text[FL_ID_TEXT_MAX];
    fl_id id = name_line(line, kind, sizeof kind);
    bool is_new = what == FL_RECORDED_NEW;
    r->n_new += is_new ? 1 : 0;
    r->n_before += is_new ? 0 : 1;
    if (r->s->cli->is_json) {
        keep_result(r, id, what);
        return;
    }
    (void)printf("line %lld: %s %s %s\n", (long long)number,
                 is_new ? "recorded" : "already recorded", kind, fl_id_format(text, id));
    (void)fflush(stdout);
}

/* "1 event", "3 events". */
static void print_counts(const reading *r)
{
    (void)printf("%lld event%s recorded", (long long)r->n_new, r->n_new == 1 ? "" : "s");
    if (r->n_before > 0) {
        (void)printf(", %lld already recorded", (long long)r->n_before);
    }
    (void)puts(".");
}

static fl_status summarise(reading *r, fl_err *err)
{
    if (!r->s->cli->is_json) {
        print_counts(r);
        return FL_OK;
    }
    fl_status status = fl_session_load(r->s, err);
    if (status == FL_OK) {
        fl_json_writer *w = fl_json_writer_new();
        fl_view_recorded(w, NULL, r->ids, r->results, r->n_results, r->s->room.position);
        fl_print_json(w);
        fl_json_writer_free(w);
    }
    return status;
}

/* The refusal with its line; what stands before it is not lost, and says so. */
static fl_status refuse(reading *r, int64_t number, bool is_together, const fl_err *why,
                        fl_err *err)
{
    fl_err other = {0};
    if (!is_together && r->n_new + r->n_before > 0) {
        (void)summarise(r, &other);
    }
    const char *rest = is_together                  ? "; nothing was recorded"
                       : r->n_new + r->n_before > 0 ? "; the lines before it are recorded"
                                                    : "";
    /* The reason may be long: what became of the rest must not be cut off. */
    return fl_fail(err, why->code, "line %lld: %.170s%s", (long long)number, why->message, rest);
}

static fl_status record_each(reading *r, fl_err *err)
{
    for (;;) {
        fl_sv line;
        bool is_end = false;
        fl_err why = {0};
        fl_recorded what = FL_RECORDED_NEW;
        fl_status status = next_line(r, &line, &is_end, &why);
        if (status == FL_OK && is_end) {
            return summarise(r, err);
        }
        if (status == FL_OK) {
            status = fl_demo_refuse(line, &why);
        }
        if (status == FL_OK) {
            status = fl_app_record(&r->s->app, line, &what, &why);
        }
        if (status != FL_OK) {
            return refuse(r, r->number, false, &why, err);
        }
        acknowledge(r, r->number, line, what);
    }
}

/* All lines of the stream, copied. */
typedef struct lines {
    fl_sv *text; /* owned */
    int64_t *number;
    size_t count;
    size_t cap;
    size_t bytes;
} lines;

static fl_status read_all(reading *r, lines *all, fl_err *err)
{
    for (;;) {
        fl_sv line;
        bool is_end = false;
        fl_status status = next_line(r, &line, &is_end, err);
        if (status != FL_OK || is_end) {
            return status;
        }
        all->bytes += line.len;
        if (all->bytes > TOGETHER_BYTES_MAX || all->count == LINES_MAX) {
            return fl_fail(err, FL_ETOOBIG,
                           "more than %zu bytes or %d lines: record them without --together",
                           TOGETHER_BYTES_MAX, LINES_MAX);
        }
        if (all->count == all->cap) {
            all->cap = all->cap == 0 ? 256 : 2 * all->cap;
            all->text = fl_alloc_resize(all->text, all->cap, sizeof all->text[0]);
            all->number = fl_alloc_resize(all->number, all->cap, sizeof all->number[0]);
        }
        all->text[all->count] = fl_arena_copy_sv(&r->s->arena, line);
        all->number[all->count++] = r->number;
    }
}

static fl_status record_lines(reading *r, const lines *all, fl_err *err)
{
    fl_err why = {0};
    fl_status status = FL_OK;
    size_t failed_at = 0;
    fl_recorded *results = FL_ARENA_ARRAY(&r->s->arena, fl_recorded, all->count);
    while (status == FL_OK && failed_at < all->count) {
        status = fl_demo_refuse(all->text[failed_at], &why);
        failed_at += status == FL_OK ? 1 : 0;
    }
    if (status == FL_OK && all->count > 0) {
        status = fl_app_record_all(&r->s->app, all->text, all->count, results, &failed_at, &why);
    }
    if (status != FL_OK) {
        int64_t number = failed_at < all->count ? all->number[failed_at] : r->number;
        return refuse(r, number, true, &why, err);
    }
    for (size_t i = 0; i < all->count; i++) {
        acknowledge(r, all->number[i], all->text[i], results[i]);
    }
    return summarise(r, err);
}

static fl_status record_together(reading *r, fl_err *err)
{
    lines all = {0};
    fl_status status = read_all(r, &all, err);
    if (status == FL_OK) {
        status = record_lines(r, &all, err);
    }
    fl_alloc_free(all.text);
    fl_alloc_free(all.number);
    return status;
}

static fl_status record(fl_call *call, fl_err *err)
{
    reading r = {.s = call->s};
    fl_status status = open_lines(&r, call->words[0].ptr, err);
    if (status == FL_OK) {
        status = call->value[TOGETHER].is_given ? record_together(&r, err) : record_each(&r, err);
    }
    close_lines(&r);
    return status;
}

static const fl_verb verbs[] = {
    {.usage = "FILE.jsonl [--together]",
     .summary = "One event a line, as docs/guide/events.md says; - is standard input.",
     .args = FL_VERB_ARGS_WORDS(options, "FILE.jsonl", 1),
     .words_min = 1,
     .needs = FL_NEEDS_APP,
     .fn = record},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_record;
const fl_command fl_command_record = {
    .name = "record",
    .rank = 60,
    .summary = "record events, one JSON object a line",
    .usage = "FILE.jsonl|- [--together]",
    .example = "fernlock --room room record evening.jsonl",
    .fn = run,
    .help = help,
};
