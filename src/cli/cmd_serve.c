/* Starts the local server, says what is open, and waits to be ended. Everything that is guarded is
 * in src/http; here are only the address, the key and the signals. */
#define _GNU_SOURCE
#include <errno.h>
#include <pthread.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/select.h>
#include <unistd.h>

#include "app/chores.h"
#include "app/paper.h"
#include "base/num.h"
#include "cli/opener.h"
#include "cli/verb.h"
#include "http/alarm.h"
#include "http/feed.h"
#include "http/lan.h"
#include "http/server.h"

#define PHONE_KEY_LIFE_S 120

enum { PORT, LAN, HOST_NAME, UI_DIR, OPEN, ONCE_KEY_FILE, ALARM_COMMAND };

static const fl_arg options[] = {
    [PORT] = {"port", FL_ARG_INT, .min = 0, .max = 65535, .fallback = FL_SERVE_PORT,
              .help = "port to listen at; 0: any that is free"},
    [LAN] = {"lan", FL_ARG_TEXT, .may_be_bare = true,
             .help = "an address of this machine to listen at too, for phones on your network; "
                     "without one: shows those there are, and asks"},
    [HOST_NAME] = {"host-name", FL_ARG_TEXT,
                   .help = "another name it answers to; several with commas"},
    [UI_DIR] = {"ui-dir", FL_ARG_TEXT, .help = "serve the interface from this folder (developing)"},
    [OPEN] = {"open", FL_ARG_FLAG, .help = "open it in the browser"},
    [ONCE_KEY_FILE] = {"once-key-file", FL_ARG_TEXT,
                       .help = "also write the one-time key to this file, mode 0600"},
    [ALARM_COMMAND] = {"alarm-command", FL_ARG_TEXT,
                       .help = "program and words to run when a timed step is due, without a "
                               "shell; what is due is added as one more word"},
};

/* A server at work, and what its command was asked. */
typedef struct serving_room {
    fl_call *call;
    fl_server *server;
    fl_alarm *alarm; /* of timed steps */
    const fl_listeners *open;
    char key[FL_SECRET_TEXT_MAX]; /* the latest */
} serving_room;

static void log_line(void *context, const char *line)
{
    (void)context;
    (void)fprintf(stderr, "fernlock serve: %s\n", line);
}

/* On the writer's thread. */
static void do_chores(void *context, struct fl_app *writer)
{
    fl_arena arena;
    fl_sv what;
    fl_arena_init(&arena);
    fl_app_chores(writer, fl_feed_is_open(writer->dir), &arena, &what);
    if (what.len > 0) {
        log_line(context, fl_arena_copy_sv(&arena, what).ptr);
    }
    fl_arena_done(&arena);
}

/* ---- saying what is open ---- */

static fl_sv lan_url(const serving_room *r)
{
    const char *lan = r->open->lan;
    const bool is_ipv6 = strchr(lan, ':') != NULL;
    return fl_arena_printf(&r->call->s->arena, "http://%s%s%s:%u", is_ipv6 ? "[" : "", lan,
                           is_ipv6 ? "]" : "", r->open->port);
}

static void print_json(const serving_room *r)
{
    fl_arena *arena = &r->call->s->arena;
    fl_json_writer *w = fl_json_writer_new();
    fl_json_begin_object(w, NULL);
    fl_json_put_int(w, "port", r->open->port);
    fl_json_put_text(w, "url", fl_arena_printf(arena, "http://127.0.0.1:%u", r->open->port));
    fl_json_put_text(w, "sign_in_url",
                     fl_arena_printf(arena, "http://127.0.0.1:%u/#k=%s", r->open->port, r->key));
    fl_json_put_int(w, "key_life_s", FL_KEY_LIFE_S);
    if (r->open->lan[0] != '\0') {
        fl_json_put_text(w, "lan_url", lan_url(r));
    } else {
        fl_json_put_null(w, "lan_url");
    }
    fl_json_end(w);
    fl_print_json(w);
    fl_json_writer_free(w);
}

/* The addresses with fresh keys: one for this computer, one for a phone. */
static void print_addresses(const serving_room *r)
{
    char key[FL_SECRET_TEXT_MAX];
    (void)printf("  this computer  http://127.0.0.1:%u/#k=%s\n", r->open->port, r->key);
    if (r->open->lan[0] != '\0') {
        fl_sv url = lan_url(r);
        (void)fl_sessions_new_key(fl_server_sessions(r->server), FL_TIER_DEVICE, PHONE_KEY_LIFE_S,
                                  key);
        (void)printf("  a phone        %.*s/#k=%s\n", FL_SV_ARG(url), key);
    }
    (void)printf("  Each address signs in one browser, once, within a minute%s.\n",
                 r->open->lan[0] != '\0' ? " (the phone's within two)" : "");
}

static void print_open(const serving_room *r)
{
    (void)printf("Serving %s at 127.0.0.1%s%s%s, port %u.\n", r->call->s->app.dir,
                 r->open->has_ipv6 ? ", ::1" : "", r->open->lan[0] != '\0' ? ", " : "",
                 r->open->lan, r->open->port);
    if (r->open->lan[0] != '\0') {
        (void)puts("  The network can reach it, without encryption: anyone on it could read or copy"
                   " a session.\n  Use a network you trust.");
    }
    print_addresses(r);
    (void)printf("  A phone beside the sink is let in at http://127.0.0.1:%u/phone\n",
                 r->open->port);
    (void)printf("  %sCtrl-C ends it.\n", isatty(STDIN_FILENO) ? "Enter gives new ones. " : "");
}

/* ---- keys ---- */

static fl_status write_key(const serving_room *r, fl_sv file, fl_err *err)
{
    fl_arena *arena = &r->call->s->arena;
    fl_sv path = fl_arena_copy_sv(arena, file);
    const char *slash = strrchr(path.ptr, '/');
    fl_sv dir = slash == NULL       ? FL_SV(".")
                : slash == path.ptr ? FL_SV("/")
                                    : (fl_sv){path.ptr, (size_t)(slash - path.ptr)};
    fl_sv folder = fl_arena_copy_sv(arena, dir);
    return fl_secret_write(folder.ptr, slash == NULL ? path.ptr : slash + 1,
                           fl_sv_from_cstr(r->key), err);
}

static fl_status new_key(serving_room *r, fl_err *err)
{
    const fl_arg_value *file = &r->call->value[ONCE_KEY_FILE];
    (void)fl_sessions_new_key(fl_server_sessions(r->server), FL_TIER_OWNER, FL_KEY_LIFE_S, r->key);
    return file->is_given ? write_key(r, file->text, err) : FL_OK;
}

/* ---- waiting ---- */

static void on_signal(int number)
{
    (void)number; /* it only interrupts the wait */
}

/* Blocks the signals that end the server, so that they arrive only while it waits for them. */
static void hold_signals(sigset_t *old)
{
    static const int ending[] = {SIGINT, SIGTERM, SIGHUP};
    struct sigaction action = {.sa_handler = on_signal};
    sigset_t held;
    (void)sigemptyset(&held);
    (void)sigemptyset(&action.sa_mask);
    for (size_t i = 0; i < sizeof ending / sizeof ending[0]; i++) {
        (void)sigaddset(&held, ending[i]);
        (void)sigaction(ending[i], &action, NULL);
    }
    (void)pthread_sigmask(SIG_BLOCK, &held, old);
}

/* True when a line was typed; false when a signal came. */
static bool wait_for_line(const sigset_t *open_mask, bool *has_input)
{
    char line[256];
    fd_set readable;
    for (;;) {
        FD_ZERO(&readable);
        if (*has_input) {
            FD_SET(STDIN_FILENO, &readable);
        }
        int ready = pselect(STDIN_FILENO + 1, &readable, NULL, NULL, NULL, open_mask);
        if (ready < 0) {
            return false;
        }
        ssize_t got = read(STDIN_FILENO, line, sizeof line);
        if (got > 0) {
            return true;
        }
        *has_input = false; /* the terminal is gone: only a signal ends it now */
    }
}

static fl_status wait_to_end(serving_room *r, const sigset_t *open_mask, fl_err *err)
{
    fl_status status = FL_OK;
    bool has_input = isatty(STDIN_FILENO) != 0;
    while (status == FL_OK && wait_for_line(open_mask, &has_input)) {
        status = new_key(r, err);
        print_addresses(r);
        (void)fflush(stdout);
    }
    return status;
}

/* ---- which address of the network ---- */

static void print_choice(const fl_lan_address *all, size_t count)
{
    (void)puts("This computer's addresses in the network:");
    for (size_t i = 0; i < count; i++) {
        (void)printf("  %zu  %s  (%s%s%s)\n", i + 1, all[i].text, all[i].interface,
                     all[i].is_wireless ? ", Wi-Fi" : "",
                     all[i].is_private ? "" : ", not of a home network");
    }
    (void)printf("Which one do phones reach? [1] ");
    (void)fflush(stdout);
}

/* The number that is typed, from 0; an empty line takes the first. */
static fl_status read_choice(size_t count, size_t *chosen, fl_err *err)
{
    char line[64] = "";
    int64_t number = 1;
    if (fgets(line, sizeof line, stdin) == NULL) {
        return fl_fail(err, FL_EINVAL, "--lan: no address was chosen");
    }
    const fl_sv typed = fl_sv_trim(fl_sv_from_cstr(line));
    fl_status status = FL_OK;
    if (typed.len > 0) {
        status = fl_num_parse_int(typed, "the number", 1, (int64_t)count, &number, err);
    }
    *chosen = (size_t)number - 1;
    return status;
}

static fl_status fail_undecided(const fl_lan_address *all, size_t count, fl_err *err)
{
    fl_str list;
    fl_str_init(&list, 160);
    for (size_t i = 0; i < count; i++) {
        fl_str_appendf(&list, "%s%s", i == 0 ? "" : ", ", all[i].text);
    }
    const fl_status status = fl_fail(err, FL_EINVAL, "--lan: give one of %s", list.ptr);
    fl_str_done(&list);
    return status;
}

/* --lan without an address: the only one there is, or the one that is chosen at the terminal. */
static fl_status pick_lan(const fl_call *call, const char **out, fl_err *err)
{
    fl_lan_address all[FL_LAN_ADDRESSES_MAX];
    size_t chosen = 0;
    fl_status status = FL_OK;
    const size_t count = fl_lan_addresses(all);
    if (count == 0) {
        return fl_fail(err, FL_EINVAL, "--lan: this computer is in no network: connect it first");
    }
    if (count > 1 && (call->s->cli->is_json || isatty(STDIN_FILENO) == 0)) {
        return fail_undecided(all, count, err);
    }
    if (count > 1) {
        print_choice(all, count);
        status = read_choice(count, &chosen, err);
    }
    if (status == FL_OK) {
        *out = fl_arena_copy_sv(&call->s->arena, fl_sv_from_cstr(all[chosen].text)).ptr;
    }
    return status;
}

/* ---- the command ---- */

/* The connections that read: what computes, what only looks, and the alarm's own. */
enum { READER, GLANCER, WATCHER, READERS };

static fl_status start(serving_room *r, fl_app *readers, fl_app *jobber, fl_err *err)
{
    const fl_arg_value *value = r->call->value;
    fl_arena *arena = &r->call->s->arena;
    fl_server_options asked = {.room_dir = r->call->s->app.dir,
                               .clock = r->call->s->app.clock,
                               .port = (uint16_t)value[PORT].integer,
                               .host_names = value[HOST_NAME].text,
                               .assets = fl_assets_embedded(),
                               .routes = fl_routes_of_api(),
                               .reader = &readers[READER],
                               .glancer = &readers[GLANCER],
                               .writer = &r->call->s->app,
                               .jobber = jobber,
                               .alarm = r->alarm,
                               .limits = FL_DOOR_LIMITS_USUAL,
                               .chore = do_chores,
                               .chore_every_s = FL_CHORES_EVERY_S,
                               .log = log_line};
    if (value[LAN].is_given && value[LAN].text.len == 0) {
        const fl_status picked = pick_lan(r->call, &asked.lan, err);
        if (picked != FL_OK) {
            return picked;
        }
    } else if (value[LAN].is_given) {
        asked.lan = fl_arena_copy_sv(arena, value[LAN].text).ptr;
    }
    if (value[UI_DIR].is_given) {
        asked.assets.ui_dir = fl_arena_copy_sv(arena, value[UI_DIR].text).ptr;
    }
    fl_status status = fl_server_start(&asked, &r->server, err);
    if (status == FL_OK) {
        r->open = fl_server_listeners(r->server);
    }
    return status;
}

/* From the first word to the last. */
static fl_status run_server(serving_room *r, const sigset_t *open_mask, fl_err *err)
{
    fl_opener opener = {.is_open = false};
    fl_status status = new_key(r, err);
    if (status != FL_OK) {
        return status;
    }
    if (r->call->s->cli->is_json) {
        print_json(r);
    } else {
        print_open(r);
    }
    if (r->call->value[OPEN].is_given) {
        fl_sv url =
            fl_arena_printf(&r->call->s->arena, "http://127.0.0.1:%u/#k=%s", r->open->port, r->key);
        status = fl_opener_open(&opener, r->call->s->app.dir, url.ptr, open_mask, err);
    }
    (void)fflush(stdout);
    if (status == FL_OK) {
        status = wait_to_end(r, open_mask, err);
    }
    fl_opener_done(&opener);
    return status;
}

static fl_status start_alarm(serving_room *r, fl_app *watcher, fl_err *err)
{
    const fl_arg_value *command = &r->call->value[ALARM_COMMAND];
    fl_arena *arena = &r->call->s->arena;
    const fl_alarm_options asked = {
        .room_dir = r->call->s->app.dir,
        .app = watcher,
        .command = command->is_given ? fl_arena_copy_sv(arena, command->text).ptr : NULL,
        .has_bell = isatty(STDERR_FILENO) != 0,
        .log = log_line};
    return fl_alarm_start(&asked, &r->alarm, err);
}

static fl_status serve(fl_call *call, fl_err *err)
{
    sigset_t open_mask;
    serving_room r = {.call = call};
    fl_app readers[READERS];
    fl_app jobber = {0};
    int n_open = 0;
    fl_status status = FL_OK;
    fl_app_watch(&call->s->app, NULL); /* a server's work is watched by who asked for it */
    while (n_open < READERS && status == FL_OK) {
        status = fl_app_open_reader(call->s->app.dir, call->s->app.clock, &readers[n_open], err);
        n_open += status == FL_OK ? 1 : 0;
    }
    if (status == FL_OK) {
        status = fl_app_open(call->s->app.dir, false, 0, call->s->app.clock, &jobber, err);
    }
    if (status == FL_OK) {
        hold_signals(&open_mask);
        status = start_alarm(&r, &readers[WATCHER], err);
        if (status == FL_OK) {
            status = start(&r, readers, &jobber, err);
        }
        if (status == FL_OK) {
            status = run_server(&r, &open_mask, err);
            fl_server_stop(r.server);
        }
        fl_alarm_stop(r.alarm);
    }
    fl_app_close(&jobber);
    while (n_open > 0) {
        fl_app_close(&readers[--n_open]);
    }
    return status;
}

static const fl_verb verbs[] = {
    {.usage = "[--port N] [--lan [ADDRESS]] [--host-name NAME] [--open] [--alarm-command COMMAND]",
     .summary = "Serves the room to browsers on this computer, and with --lan to your network.",
     .args = FL_VERB_ARGS(options),
     .needs = FL_NEEDS_APP,
     .fn = serve},
};
FL_VERBS_COMMAND(verbs)

extern const fl_command fl_command_serve;
const fl_command fl_command_serve = {
    .name = "serve",
    .rank = 1,
    .summary = "serve the room to your browser, and with --lan to your phone",
    .usage = "[--port N] [--lan [ADDRESS]] [--host-name NAME] [--open]",
    .example = "fernlock --room room serve --open",
    .fn = run,
    .help = help,
};
