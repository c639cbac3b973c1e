/* The steps, the child they run in, and what is looked at afterwards. */
#define _GNU_SOURCE
#include "support/job.h"

#include <dirent.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "app/app.h"
#include "base/hash.h"
#include "cli/command.h"

#define WORDS_MAX 24
#define SECONDS_MAX 60
#define COMPLAINTS_MAX 12 /* shown; all are counted */
#define PATH_LONG (FL_TEMP_PATH_MAX + 64)

typedef struct job_step {
    const char *name;
    const char *words; /* separated by spaces, 'quoted', {D}: the working folder */
    const char *now;
    int code;         /* undisturbed */
    const char *made; /* a file it writes, below the working folder; NULL: none */
    const char *room; /* the room it leaves, if not "room" */
} job_step;

/* The main job. What it must say is tests/golden/cli_session.case's; here it is done. */
static const job_step steps[] = {
    {"init", "init --tz +01:00", "2026-03-01T17:00:00Z", 0, NULL, NULL},
    {"record", "record --together {D}/things.jsonl", "2026-03-01T17:10:00Z", 0, NULL, NULL},
    {"place add",
     "place add 'frog room' --kind enclosure --uses amphibian --animals '6 small frogs'",
     "2026-03-01T17:11:00Z", 0, NULL, NULL},
    {"arrive",
     "arrive --source garden --place bench '3x Pilea cadierei:potted:amphibian' "
     "'5x Anubias barteri:tissue_culture:amphibian'",
     "2026-03-02T17:00:00Z", 0, NULL, NULL},
    {"prep", "prep --tub-ml 4000 --label-pct 6", "2026-03-02T17:05:00Z", 0, NULL, NULL},
    {"prep done", "prep --done", "2026-03-02T18:05:00Z", 0, NULL, NULL},
    {"place", "place pilea anubias --in 'bin 1'", "2026-03-02T18:10:00Z", 0, NULL, NULL},
    {"look", "look 'bin 1' --effort careful --hands cleaned", "2026-03-09T18:00:00Z", 0, NULL,
     NULL},
    {"find", "look 'bin 1' --found twospotted_spider_mite:adult:2@pilea", "2026-03-16T18:00:00Z", 0,
     NULL, NULL},
    {"trace", "trace 'bin 1'", "2026-03-16T18:01:00Z", 0, NULL, NULL},
    {"today", "today --json", "2026-03-17T08:00:00Z", 0, NULL, NULL},
    {"gate", "gate anubias --into 'frog room'", "2026-03-23T18:00:00Z", 1, NULL, NULL},
    {"release", "release anubias --into 'frog room' --anyway", "2026-03-23T18:02:00Z", 0, NULL,
     NULL},
    {"backup", "backup {D}/copy.sqlite", "2026-03-23T19:00:00Z", 0, "copy.sqlite", NULL},
    {"restore", "restore {D}/copy.sqlite", "2026-03-23T19:01:00Z", 0, NULL, NULL},
    {"export", "export {D}/room.zip", "2026-03-23T19:02:00Z", 0, "room.zip", NULL},
    {"import", "--room {D}/second import {D}/room.zip", "2026-03-23T19:03:00Z", 0, NULL, "second"},
    {"verify", "verify", "2026-03-23T19:04:00Z", 0, NULL, NULL},
};
#define N_STEPS (sizeof steps / sizeof steps[0])

/* What the recording step takes in. */
#define EVENT(n, kind, body)                                                                       \
    "{\"id\":\"10000000-0000-4000-8000-00000000000" n "\",\"kind\":\"" kind                        \
    "\",\"occurred_at\":\"2026-03-01T17:00:00Z\",\"body\":{" body "}}\n"
#define THING(n) "10000000-0000-4000-8000-0000000000a" n
static const char things[] = EVENT(
    "1", "source_set",
    "\"source\":\"" THING("1") "\",\"name\":\"garden hall\",\"kind\":\"chain_store\"")
    EVENT("2", "place_set", "\"place\":\"" THING("2") "\",\"name\":\"bench\",\"kind\":\"bench\"")
        EVENT("3", "place_set",
              "\"place\":\"" THING("3") "\",\"name\":\"bin 1\",\"kind\":\"bin\",\"set_temp_c\":23,"
                                        "\"has_gasket\":true");

const char *fl_job_name(size_t at)
{
    return steps[at].name;
}

/* ---- folders ---- */

static void copy_file(const char *from, const char *to)
{
    static char block[1 << 16];
    FILE *in = fopen(from, "rb");
    FILE *out = fopen(to, "wb");
    check_true(in != NULL && out != NULL);
    size_t got = 0;
    while ((got = fread(block, 1, sizeof block, in)) > 0) {
        check_int(fwrite(block, 1, got, out), got);
    }
    check_int(fclose(in), 0);
    check_int(fclose(out), 0);
}

static void copy_folder(const char *from, const char *to)
{
    check_int(mkdir(to, 0700), 0);
    DIR *dir = opendir(from);
    check_true(dir != NULL);
    struct dirent *entry = NULL;
    while ((entry = readdir(dir)) != NULL) {
        char a[2 * PATH_LONG];
        char b[2 * PATH_LONG];
        struct stat info;
        if (entry->d_name[0] == '.') {
            continue;
        }
        (void)snprintf(a, sizeof a, "%s/%s", from, entry->d_name);
        (void)snprintf(b, sizeof b, "%s/%s", to, entry->d_name);
        check_int(stat(a, &info), 0);
        if (S_ISDIR(info.st_mode)) {
            copy_folder(a, b);
        } else {
            copy_file(a, b);
        }
    }
    (void)closedir(dir);
}

static const char *path_before(const fl_job *job, char path[PATH_LONG], size_t step)
{
    (void)snprintf(path, PATH_LONG, "%s/before-%zu", job->base, step);
    return path;
}

/* A fresh copy of what was before the step, as the working folder. */
static void begin(const fl_job *job, size_t step, char now[PATH_LONG])
{
    char before[PATH_LONG];
    (void)snprintf(now, PATH_LONG, "%s/now", job->base);
    fl_remove_folder(now);
    copy_folder(path_before(job, before, step), now);
}

/* ---- the child ---- */

/* Splits at spaces, outside '…'; {D} becomes the folder. Returns how many words there are. */
static int split(const char *words, const char *folder, char *text, size_t size, char **argv)
{
    int n = 0;
    size_t len = 0;
    bool is_quoted = false;
    bool is_inside = false;
    for (const char *at = words; *at != '\0'; at++) {
        if (*at == ' ' && !is_quoted) {
            is_inside = false;
            text[len++] = '\0';
            continue;
        }
        if (!is_inside) {
            check_true(n < WORDS_MAX);
            argv[n++] = text + len;
            is_inside = true;
        }
        if (*at == '\'') {
            is_quoted = !is_quoted;
        } else if (strncmp(at, "{D}", 3) == 0) {
            len += (size_t)snprintf(text + len, size - len, "%s", folder);
            at += 2;
        } else {
            text[len++] = *at;
        }
        check_true(len + 2 < size);
    }
    text[len] = '\0';
    return n;
}

static _Noreturn void become(size_t at, const char *folder, fl_trip trip, size_t file_bytes_max,
                             int err)
{
    char line[2 * PATH_LONG + 512];
    char text[sizeof line + WORDS_MAX];
    char *argv[WORDS_MAX + 8] = {NULL};
    (void)snprintf(line, sizeof line, "fernlock --room {D}/room --ids job%zu --now %s %s", at,
                   steps[at].now, steps[at].words);
    if (strncmp(steps[at].words, "--room", 6) == 0) {
        (void)snprintf(line, sizeof line, "fernlock --ids job%zu --now %s %s", at, steps[at].now,
                       steps[at].words);
    }
    int argc = split(line, folder, text, sizeof text, argv);
    check_true(freopen("/dev/null", "wb", stdout) != NULL);
    (void)dup2(err, STDERR_FILENO);
    (void)alarm(SECONDS_MAX);
    (void)signal(SIGXFSZ, SIG_IGN); /* then a write that is too long fails */
    struct rlimit limit = {file_bytes_max, file_bytes_max};
    if (file_bytes_max > 0) {
        (void)setrlimit(RLIMIT_FSIZE, &limit);
    }
    fl_trip_arm(trip);
    int code = fl_cli_run("test", argc, argv);
    fl_trip_disarm();
    exit(code);
}

static fl_job_end run(size_t at, const char *folder, fl_trip trip, size_t file_bytes_max)
{
    int err[2];
    int status = 0;
    fl_job_end end = {.code = -1};
    check_int(pipe(err), 0);
    (void)fflush(NULL);
    pid_t child = fork();
    check_true(child >= 0);
    if (child == 0) {
        become(at, folder, trip, file_bytes_max, err[1]);
    }
    (void)close(err[1]);
    check_int(waitpid(child, &status, 0), child); /* what it says fits into the pipe */
    ssize_t got = read(err[0], end.said, sizeof end.said - 1);
    end.said[got < 0 ? 0 : got] = '\0';
    (void)close(err[0]);
    fl_trip_disarm(); /* it may have had no time to */
    end.code = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
    end.signal = WIFSIGNALED(status) ? WTERMSIG(status) : 0;
    return end;
}

/* ---- what is left ---- */

typedef struct found {
    bool is_there; /* the room */
    size_t n_events;
    fl_hash events; /* of the first `upto` */
    char why[300];  /* what is wrong with it; empty: nothing */
} found;

static fl_status look_inside(fl_app *app, size_t upto, fl_arena *arena, found *out, fl_err *err)
{
    fl_journal_row *rows = NULL;
    fl_verified verified;
    fl_status status =
        fl_store_journal_read(app->store, 0, SIZE_MAX, arena, &rows, &out->n_events, err);
    for (size_t i = 0; i < out->n_events && i < upto && status == FL_OK; i++) {
        out->events = fl_hash_link(out->events, rows[i].bytes.ptr, rows[i].bytes.len);
    }
    return status == FL_OK ? fl_app_verify(app, &verified, err) : status;
}

/* Opens the room as the next start of the program would, and looks at all of it. */
static found look_at(const char *folder, const char *room, size_t upto)
{
    found out = {.is_there = false};
    char path[PATH_LONG + 32];
    struct stat info;
    int64_t now_s = 1775000000; /* after all of the job */
    (void)snprintf(path, sizeof path, "%s/%s/room.sqlite", folder, room);
    out.is_there = stat(path, &info) == 0;
    *strrchr(path, '/') = '\0';
    if (!out.is_there) {
        return out;
    }
    fl_arena arena;
    fl_app app;
    fl_err err;
    fl_arena_init(&arena);
    fl_status status = fl_app_open(path, false, 0, fl_clock_fixed(&now_s), &app, &err);
    if (status == FL_OK) {
        status = look_inside(&app, upto, &arena, &out, &err);
        fl_app_close(&app);
    }
    if (status != FL_OK) {
        (void)snprintf(out.why, sizeof out.why, "%s", err.message);
    }
    fl_arena_done(&arena);
    return out;
}

static const char *room_of(size_t step)
{
    return steps[step].room == NULL ? "room" : steps[step].room;
}

/* A file that the step makes: there? */
static bool has_made(size_t step, const char *folder)
{
    char path[PATH_LONG + 64];
    struct stat info;
    (void)snprintf(path, sizeof path, "%s/%s", folder,
                   steps[step].made == NULL ? "" : steps[step].made);
    return steps[step].made != NULL && stat(path, &info) == 0;
}

/* ---- the whole job ---- */

void fl_job_init(fl_job *job)
{
    *job = (fl_job){.n_steps = N_STEPS};
    char path[PATH_LONG];
    char next[PATH_LONG];
    (void)fl_temp_folder(job->base);
    check_int(mkdir(path_before(job, path, 0), 0700), 0);
    (void)strncat(path, "/things.jsonl", sizeof path - strlen(path) - 1);
    FILE *file = fopen(path, "wb");
    check_true(file != NULL && fputs(things, file) >= 0);
    check_int(fclose(file), 0);
    for (size_t i = 0; i < N_STEPS; i++) {
        copy_folder(path_before(job, path, i), path_before(job, next, i + 1));
        fl_job_end end = run(i, next, (fl_trip){.n = 0}, 0);
        if (end.code != steps[i].code) {
            print_error("%s: exit code %d: %s\n", steps[i].name, end.code, end.said);
        }
        check_int(end.code, steps[i].code);
        found now = look_at(next, "room", SIZE_MAX);
        check_str(now.why, "");
        check_true(now.is_there);
        job->events[i + 1] = now.n_events;
        job->sums[i + 1] = now.events;
    }
}

void fl_job_done(fl_job *job)
{
    fl_remove_folder(job->base);
}

/* ---- one fault ---- */

/* One run and what it is held to; `wrong` is the first thing that is not as it must be. */
typedef struct trial {
    fl_job *job;
    size_t step;
    fl_trip trip;
    fl_job_end end;
    char folder[PATH_LONG];
    char wrong[300]; /* empty: nothing */
} trial;

static void complain(trial *t, const char *what)
{
    if (t->wrong[0] == '\0') {
        (void)snprintf(t->wrong, sizeof t->wrong, "%.290s", what);
    }
}

/* Each line says who speaks, and there is one; a second when memory is gone for that as well. */
static bool is_plain(const char *said, bool may_be_two)
{
    int n = 0;
    for (const char *at = said; at != NULL && *at != '\0'; n++) {
        if (strncmp(at, "fernlock", 8) != 0) {
            return false;
        }
        at = strchr(at, '\n');
        at = at == NULL ? NULL : at + 1;
    }
    return n == 1 || (n == 2 && may_be_two);
}

/* How the program may end: its work done, or one plain line. */
static void check_end(trial *t)
{
    const char *said = t->end.said;
    bool is_memory = t->trip.kinds == FL_TRIP_MEMORY;
    if (t->end.signal != 0 || strstr(said, "Sanitizer") != NULL) {
        complain(t, "it crashed");
    } else if (t->end.code != steps[t->step].code && t->end.code != FL_EXIT_FAILED) {
        complain(t, "another exit code than done or failed");
    } else if (t->end.code == FL_EXIT_FAILED && !is_plain(said, is_memory)) {
        complain(t, "it failed without one plain line");
    } else if (strstr(said, "damaged") != NULL) {
        complain(t, "a fault of the machine is called damage of the room");
    }
}

/* The room after the step: whole, and all or nothing of the step is in it. True: all of it. */
static bool check_room(trial *t, bool is_done)
{
    const fl_job *job = t->job;
    bool is_new = steps[t->step].room != NULL;
    size_t before = is_new ? 0 : job->events[t->step];
    size_t after = is_new ? job->events[N_STEPS] : job->events[t->step + 1];
    found now = look_at(t->folder, room_of(t->step), before);
    if (!now.is_there && !is_done && (t->step == 0 || is_new)) {
        return false;
    }
    if (!now.is_there) {
        complain(t, "the room is gone");
    } else if (now.why[0] != '\0') {
        complain(t, now.why);
    } else if (before > 0 && memcmp(&now.events, &job->sums[t->step], sizeof now.events) != 0) {
        complain(t, "what was in the journal before has changed");
    } else if (now.n_events != after && (is_done || now.n_events != before)) {
        complain(t, is_done ? "acknowledged and not there" : "there in half");
    }
    return is_new || t->step == 0 || (before != after && now.n_events == after);
}

/* A copy or an export that is there must be whole: it is put to use. */
static void check_made(trial *t)
{
    size_t user = t->step + 1; /* restore after backup, import after export */
    fl_job_end used = run(user, t->folder, (fl_trip){.n = 0}, 0);
    found now = look_at(t->folder, room_of(user), SIZE_MAX);
    if (used.code != 0) {
        complain(t, used.said);
    } else if (now.why[0] != '\0' || now.n_events != t->job->events[N_STEPS]) {
        complain(t, "the file it left is not whole");
    }
}

static void check_all(trial *t)
{
    int done = steps[t->step].code;
    check_end(t);
    bool is_in = check_room(t, t->end.code == done);
    bool is_made = has_made(t->step, t->folder);
    if (t->end.code == done && steps[t->step].made != NULL && !is_made) {
        complain(t, "acknowledged, and the file is not there");
    }
    if (t->end.code != done && !is_in && !is_made) {
        fl_job_end again = run(t->step, t->folder, (fl_trip){.n = 0}, 0);
        if (again.code != done) {
            complain(t, again.said); /* of the same command, undisturbed */
        }
        (void)check_room(t, true);
        is_made = has_made(t->step, t->folder);
    }
    if (is_made) {
        check_made(t);
    }
}

static fl_job_end try(fl_job *job, size_t step, fl_trip trip, size_t file_bytes_max)
{
    static trial t;
    t = (trial){.job = job, .step = step, .trip = trip};
    begin(job, step, t.folder);
    t.end = run(step, t.folder, trip, file_bytes_max);
    bool has_fired = fl_trip_has_fired();
    job->n_operations = fl_trip_count();
    check_all(&t);
    if (t.wrong[0] != '\0' && job->n_wrong++ < COMPLAINTS_MAX) {
        print_error("%s, kinds %u, how %d, n %llu%s, size %zu: %s\n  exit code %d, signal %d: %s\n",
                    steps[step].name, trip.kinds, (int)trip.how, (unsigned long long)trip.n,
                    trip.is_lasting ? " and on" : "", file_bytes_max, t.wrong, t.end.code,
                    t.end.signal, t.end.said);
    }
    t.end.has_fired = has_fired;
    return t.end;
}

fl_job_end fl_job_try(fl_job *job, size_t step, fl_trip trip)
{
    return try(job, step, trip, 0);
}

fl_job_end fl_job_try_small(fl_job *job, size_t step, size_t file_bytes_max)
{
    return try(job, step, (fl_trip){.n = 0}, file_bytes_max);
}
