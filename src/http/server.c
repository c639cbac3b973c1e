/* The loop: one thread waits (select) for the door, for libmicrohttpd's connections and for the two
 * workers, the reader and the writer. libmicrohttpd runs inside this loop, without a thread or a
 * listening socket of its own. While a worker is at it the connection is suspended. */
#define _GNU_SOURCE
#include "http/server.h"

#include <assert.h>
#include <errno.h>
#include <fcntl.h>
#include <pthread.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include <microhttpd.h>

#include "base/alloc.h"
#include "http/api.h"
#include "http/jobs.h"
#include "http/lan.h"
#include "http/pairing.h"
#include "http/serving.h"

/* What libmicrohttpd may use for one connection: the head, its own tables of headers, query and
 * cookies, and pieces of the body. The head is at most 16 kB, but 8,000 empty query fields in it
 * are tables of some 500 kB. Pages that are not touched cost nothing. */
#define CONNECTION_BYTES_MAX ((size_t)2 << 20)
#define SELECT_MS_MAX 60000
#define SETTLE_MS 2000
#define SETTLE_ROUND_MS 50

struct fl_server {
    fl_server_options options;
    fl_listeners listeners;
    fl_site site;
    fl_lan lan;
    fl_pairing pairing;
    fl_sessions *sessions;
    fl_jobs *jobs;
    fl_serving_context context;
    fl_snapshot snapshot[FL_LANE_COUNT]; /* the reading threads' own */
    fl_door *door;
    struct MHD_Daemon *daemon;
    fl_worker *worker[FL_LANE_COUNT]; /* by lane; NULL for the loop's own */
    int wake[2];                      /* [0] the loop reads; 'j': a job is done, 'q': stop */
    bool has_wake;
    fl_inbound *arriving; /* while MHD_add_connection runs */
    int n_suspended;
    fl_job chore;
    bool is_chore_out; /* it is in the writer's queue */
    int64_t next_chore_ms;
    pthread_t thread;
    bool has_thread;
};

/* ---- what libmicrohttpd asks ---- */

typedef struct served {
    fl_serving *serving;
    struct MHD_Connection *connection;
} served;

static enum MHD_Result send_reply(struct MHD_Connection *connection, fl_serving *serving)
{
    fl_reply *reply = &serving->x.reply;
    fl_header *header = NULL;
    size_t n = 0;
    const struct MHD_IoVec body = {reply->body.ptr, reply->body.len};
    struct MHD_Response *response = MHD_create_response_from_iovec(
        &body, reply->body.len == 0 ? 0 : 1, NULL, NULL); /* the serving outlives it */
    if (response == NULL) {
        return MHD_NO;
    }
    fl_reply_headers(reply, &serving->x.arena, &header, &n);
    enum MHD_Result result = MHD_add_response_header(response, "Connection", "close");
    for (size_t i = 0; i < n && result == MHD_YES; i++) {
        const fl_sv name = fl_arena_copy_sv(&serving->x.arena, header[i].name);
        const fl_sv value = fl_arena_copy_sv(&serving->x.arena, header[i].value);
        result = MHD_add_response_header(response, name.ptr, value.ptr);
    }
    if (result == MHD_YES) {
        result = MHD_queue_response(connection, (unsigned)reply->status, response);
    }
    MHD_destroy_response(response);
    return result;
}

static void run_job(fl_job *job)
{
    served *one = job->context;
    fl_jobs *jobs = one->serving->x.jobs;
    const bool is_reading = one->serving->lane == FL_LANE_READ;
    if (is_reading) {
        fl_jobs_reading_begin(jobs, &one->serving->x.who);
    }
    fl_serving_run(one->serving);
    if (is_reading) {
        fl_jobs_reading_end(jobs);
    }
}

static void run_long_job(fl_job *job)
{
    fl_jobs_run(job->context);
}

/* Makes a job of what was asked, and an answer that says so. */
static void begin_job(fl_server *server, served *one)
{
    fl_job_told told;
    fl_err err = {0};
    fl_serving *asked = one->serving;
    const fl_request *request = asked->x.request;
    const fl_who who = asked->x.who;
    fl_serving *answer = fl_serving_answered(request, &who);
    if (fl_jobs_take(server->jobs, asked, run_long_job, &told, &err) != FL_OK) {
        answer->x.reply = fl_problem_reply_err(&err, &answer->x.arena);
        fl_serving_free(asked);
    } else {
        fl_json_writer *w = fl_json_writer_new();
        fl_api_put_job(w, &told);
        answer->x.reply = fl_reply_json(202, w, &answer->x.arena);
        fl_reply_add(&answer->x.reply, "Location",
                     fl_arena_printf(&answer->x.arena, "/api/v1/jobs/%s", told.id));
        fl_reply_add(&answer->x.reply, "Preference-Applied", FL_SV("respond-async"));
        fl_worker_put(server->worker[FL_LANE_JOB], &asked->job);
    }
    one->serving = answer;
}

static served *begin(fl_server *server, struct MHD_Connection *connection, const char *method)
{
    const union MHD_ConnectionInfo *info =
        MHD_get_connection_info(connection, MHD_CONNECTION_INFO_SOCKET_CONTEXT);
    fl_inbound *inbound = info == NULL ? NULL : info->socket_context;
    if (inbound == NULL || inbound->is_taken || !fl_sv_eq_cstr(inbound->request.method, method)) {
        return NULL; /* a second request in one connection: ended without an answer */
    }
    inbound->is_taken = true;
    served *one = fl_alloc(1, sizeof *one);
    one->connection = connection;
    one->serving = fl_serving_new(&server->context, &inbound->request, &inbound->who);
    one->serving->job = (fl_job){.run = run_job, .context = one};
    return one;
}

static enum MHD_Result on_request(void *context, struct MHD_Connection *connection, const char *url,
                                  const char *method, const char *version, const char *data,
                                  size_t *data_len, void **request_context)
{
    fl_server *server = context;
    served *one = *request_context;
    (void)url; /* the guard's reading of the head counts, not the library's */
    (void)version;
    if (one == NULL) {
        one = begin(server, connection, method);
        *request_context = one;
        return one == NULL ? MHD_NO : MHD_YES;
    }
    if (*data_len > 0) {
        fl_serving_take_body(one->serving, (fl_sv){data, *data_len});
        *data_len = 0;
        return MHD_YES;
    }
    if (fl_serving_lane(one->serving) == FL_LANE_JOB) {
        begin_job(server, one);
        return send_reply(connection, one->serving);
    }
    fl_worker *worker = server->worker[fl_serving_lane(one->serving)];
    if (worker != NULL) { /* called again when it is done */
        server->n_suspended++;
        MHD_suspend_connection(connection);
        fl_worker_put(worker, &one->serving->job);
        return MHD_YES;
    }
    fl_serving_run(one->serving);
    return send_reply(connection, one->serving);
}

static void log_failure(void *context, const fl_serving *serving)
{
    const fl_server *server = context;
    char line[FL_ERR_MESSAGE_MAX + 16];
    if (serving->x.reply.status >= 500 && server->options.log != NULL) {
        (void)snprintf(line, sizeof line, "%d %s", serving->x.reply.status, serving->err.message);
        server->options.log(server->options.log_context, line);
    }
}

static void on_completed(void *context, struct MHD_Connection *connection, void **request_context,
                         enum MHD_RequestTerminationCode code)
{
    served *one = *request_context;
    (void)connection;
    (void)code;
    if (one != NULL) {
        log_failure(context, one->serving);
        fl_serving_free(one->serving);
        fl_alloc_free(one);
        *request_context = NULL;
    }
}

static void on_connection(void *context, struct MHD_Connection *connection, void **socket_context,
                          enum MHD_ConnectionNotificationCode code)
{
    fl_server *server = context;
    (void)connection;
    if (code == MHD_CONNECTION_NOTIFY_STARTED) {
        *socket_context = server->arriving;
        server->arriving = NULL;
        return;
    }
    fl_inbound *inbound = *socket_context;
    if (inbound != NULL) {
        fl_door_left(server->door, inbound->fd);
        fl_inbound_free(inbound);
        *socket_context = NULL;
    }
}

/* ---- what the door asks ---- */

static fl_problem judge(void *context, const fl_request *request, fl_who *who)
{
    fl_server *server = context;
    *who = fl_sessions_who(server->sessions, request);
    return fl_guard_check(&server->site, request, who);
}

static void admit(void *context, fl_inbound *inbound, const struct sockaddr *address,
                  socklen_t address_len)
{
    fl_server *server = context;
    const int fd = inbound->fd;
    server->arriving = inbound;
    enum MHD_Result result = MHD_add_connection(server->daemon, fd, address, address_len);
    if (server->arriving != NULL) { /* it was not even begun: the library has closed the socket */
        assert(result == MHD_NO);
        (void)result;
        server->arriving = NULL;
        fl_door_left(server->door, fd);
        fl_inbound_free(inbound);
    }
}

static void log_line(void *context, const char *line)
{
    fl_server *server = context;
    if (server->options.log != NULL) {
        server->options.log(server->options.log_context, line);
    }
}

/* ---- the loop ---- */

static int64_t now_ms(void)
{
    struct timespec now;
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

static void run_chore(fl_job *job)
{
    fl_server *server = job->context;
    server->options.chore(server->options.chore_context, server->options.writer);
}

/* Gives the writer its chore when it is due. */
static void put_chore(fl_server *server)
{
    if (server->options.chore == NULL || server->is_chore_out || now_ms() < server->next_chore_ms) {
        return;
    }
    server->next_chore_ms = now_ms() + (int64_t)server->options.chore_every_s * 1000;
    server->chore = (fl_job){.run = run_chore, .context = server};
    server->is_chore_out = true;
    fl_worker_put(server->worker[FL_LANE_WRITE], &server->chore);
}

static void resume_done(fl_server *server)
{
    for (int lane = FL_LANE_READ; lane < FL_LANE_COUNT; lane++) {
        fl_worker *worker = server->worker[lane];
        for (fl_job *job = fl_worker_take(worker); job != NULL; job = fl_worker_take(worker)) {
            if (job == &server->chore) {
                server->is_chore_out = false;
                continue;
            }
            if (lane == FL_LANE_JOB) {
                fl_jobs_ended(job->context, log_failure, server);
                continue;
            }
            served *one = job->context;
            server->n_suspended--;
            MHD_resume_connection(one->connection);
        }
    }
}

/* Empties the pipe; true when it said stop. */
static bool read_wake(fl_server *server)
{
    char bytes[64];
    bool is_stop = false;
    ssize_t got = read(server->wake[0], bytes, sizeof bytes);
    while (got > 0) {
        is_stop = is_stop || memchr(bytes, 'q', (size_t)got) != NULL;
        got = read(server->wake[0], bytes, sizeof bytes);
    }
    return is_stop;
}

static int wait_ms(fl_server *server, int door_ms)
{
    MHD_UNSIGNED_LONG_LONG library_ms = 0;
    int ms = door_ms < SELECT_MS_MAX ? door_ms : SELECT_MS_MAX;
    if (MHD_get_timeout(server->daemon, &library_ms) == MHD_YES &&
        library_ms < (MHD_UNSIGNED_LONG_LONG)ms) {
        ms = (int)library_ms;
    }
    return ms;
}

/* select(2); the sets are empty afterwards when it was interrupted. */
static void wait_for(int max_fd, fd_set *readable, fd_set *writable, fd_set *failed, int ms)
{
    struct timeval wait = {.tv_sec = ms / 1000, .tv_usec = (ms % 1000) * 1000};
    if (select(max_fd + 1, readable, writable, failed, &wait) < 0) {
        FD_ZERO(readable);
        FD_ZERO(writable);
        FD_ZERO(failed);
    }
}

/* One round; false when the server is to stop. */
static bool turn(fl_server *server)
{
    fd_set readable;
    fd_set writable;
    fd_set failed;
    int max_fd = server->wake[0];
    FD_ZERO(&readable);
    FD_ZERO(&writable);
    FD_ZERO(&failed);
    FD_SET(server->wake[0], &readable);
    int ms = fl_door_prepare(server->door, &readable, &max_fd);
    (void)MHD_get_fdset(server->daemon, &readable, &writable, &failed, &max_fd);
    put_chore(server);
    ms = wait_ms(server, ms);
    wait_for(max_fd, &readable, &writable, &failed, ms);
    const bool is_stop = FD_ISSET(server->wake[0], &readable) && read_wake(server);
    resume_done(server);
    fl_door_attend(server->door, &readable);
    (void)MHD_run_from_select(server->daemon, &readable, &writable, &failed);
    return !is_stop;
}

static void *run(void *context)
{
    fl_server *server = context;
    sigset_t all;
    (void)sigfillset(&all); /* signals are the starter's business; SIGPIPE is nobody's */
    (void)pthread_sigmask(SIG_BLOCK, &all, NULL);
    while (turn(server)) {
    }
    return NULL;
}

/* ---- life ---- */

static fl_status open_wake(fl_server *server, fl_err *err)
{
    if (pipe(server->wake) != 0) {
        return fl_fail(err, FL_EIO, "a pipe: %s", strerror(errno));
    }
    server->has_wake = true;
    for (int i = 0; i < 2; i++) {
        if (fcntl(server->wake[i], F_SETFD, FD_CLOEXEC) != 0 ||
            fcntl(server->wake[i], F_SETFL, O_NONBLOCK) != 0) {
            return fl_fail(err, FL_EIO, "a pipe: %s", strerror(errno));
        }
    }
    return FL_OK;
}

static fl_status name_site(fl_server *server, fl_err *err)
{
    fl_status status = FL_OK;
    fl_sv names = server->options.host_names;
    fl_site *closed = &server->lan.closed;
    *closed = fl_site_of_loopback(server->listeners.port);
    while (names.len > 0 && status == FL_OK) {
        status = fl_site_add(closed, fl_sv_trim(fl_sv_split(&names, ',')), err);
    }
    server->site = *closed;
    if (server->listeners.lan[0] != '\0' && status == FL_OK) {
        status = fl_site_add(&server->site, fl_sv_from_cstr(server->listeners.lan), err);
    }
    server->lan.listeners = &server->listeners;
    server->lan.site = &server->site;
    server->lan.log = server->options.log;
    server->lan.log_context = server->options.log_context;
    return status;
}

static fl_status start_library(fl_server *server, fl_err *err)
{
    server->daemon = MHD_start_daemon(
        MHD_USE_NO_LISTEN_SOCKET | MHD_ALLOW_SUSPEND_RESUME, 0, NULL, NULL, on_request, server,
        MHD_OPTION_CONNECTION_MEMORY_LIMIT, CONNECTION_BYTES_MAX, MHD_OPTION_CONNECTION_LIMIT,
        (unsigned)server->options.limits.connections, MHD_OPTION_NOTIFY_COMPLETED, on_completed,
        server, MHD_OPTION_NOTIFY_CONNECTION, on_connection, server,
        MHD_OPTION_SIGPIPE_HANDLED_BY_APP, 1, MHD_OPTION_END);
    return server->daemon == NULL ? fl_fail(err, FL_EIO, "the HTTP library does not start") : FL_OK;
}

static fl_status start_threads(fl_server *server, fl_err *err)
{
    sigset_t all;
    sigset_t old;
    (void)sigfillset(&all);
    (void)pthread_sigmask(SIG_BLOCK, &all, &old); /* the new threads inherit it */
    fl_status status = FL_OK;
    for (int lane = FL_LANE_READ; lane < FL_LANE_COUNT && status == FL_OK; lane++) {
        status = fl_worker_start(server->wake[1], &server->worker[lane], err);
    }
    if (status == FL_OK) {
        int cause = pthread_create(&server->thread, NULL, run, server);
        server->has_thread = cause == 0;
        if (cause != 0) {
            status = fl_fail(err, FL_EIO, "the server's thread: %s", strerror(cause));
        }
    }
    (void)pthread_sigmask(SIG_SETMASK, &old, NULL);
    return status;
}

static fl_status start(fl_server *server, fl_err *err)
{
    const fl_server_options *options = &server->options;
    fl_status status = fl_listen(options->port, options->lan, &server->listeners, err);
    if (status == FL_OK) {
        status = name_site(server, err);
    }
    if (status == FL_OK) {
        status = fl_sessions_open(options->room_dir, options->clock, &server->sessions, err);
    }
    if (status == FL_OK) {
        status = open_wake(server, err);
    }
    if (status == FL_OK) {
        status = start_library(server, err);
    }
    if (status != FL_OK) {
        return status;
    }
    server->jobs = fl_jobs_new(options->clock);
    const fl_door_host host = {.judge = judge, .admit = admit, .log = log_line, .context = server};
    server->door = fl_door_new(&server->listeners, &options->limits, &host);
    server->context =
        (fl_serving_context){.routes = &options->routes,
                             .assets = &options->assets,
                             .sessions = server->sessions,
                             .alarm = options->alarm,
                             .pairing = &server->pairing,
                             .lan = &server->lan,
                             .jobs = server->jobs,
                             .snapshot = {[FL_LANE_JOB] = &server->snapshot[FL_LANE_JOB],
                                          [FL_LANE_READ] = &server->snapshot[FL_LANE_READ],
                                          [FL_LANE_GLANCE] = &server->snapshot[FL_LANE_GLANCE]},
                             .app = {[FL_LANE_READ] = options->reader,
                                     [FL_LANE_GLANCE] = options->glancer,
                                     [FL_LANE_WRITE] = options->writer,
                                     [FL_LANE_JOB] = options->jobber}};
    if (options->reader != NULL) {
        fl_app_watch(options->reader, fl_jobs_reading(server->jobs));
    }
    return start_threads(server, err);
}

fl_status fl_server_start(const fl_server_options *options, fl_server **out, fl_err *err)
{
    fl_server *server = fl_alloc(1, sizeof *server);
    server->options = *options;
    fl_status status = start(server, err);
    if (status != FL_OK) {
        fl_server_stop(server);
        return status;
    }
    *out = server;
    return FL_OK;
}

const fl_listeners *fl_server_listeners(const fl_server *server)
{
    return &server->listeners;
}

fl_sessions *fl_server_sessions(fl_server *server)
{
    return server->sessions;
}

/* Ends the workers once they have done what they took, but for what can be cancelled. */
static void finish_workers(fl_server *server)
{
    if (server->jobs != NULL) {
        fl_jobs_stop(server->jobs);
    }
    for (int lane = FL_LANE_READ; lane < FL_LANE_COUNT; lane++) {
        if (server->worker[lane] != NULL) {
            fl_worker_finish(server->worker[lane]);
        }
    }
    fl_snapshot_done(&server->snapshot[FL_LANE_READ]);
    fl_snapshot_done(&server->snapshot[FL_LANE_GLANCE]);
    fl_snapshot_done(&server->snapshot[FL_LANE_JOB]);
    if (server->jobs != NULL && server->options.reader != NULL) {
        fl_app_watch(server->options.reader, NULL);
    }
}

/* Sends the answers that are due: for a moment, no longer. The library must have no suspended
 * connection when it is stopped. */
static void settle(fl_server *server)
{
    const int64_t until_ms = now_ms() + SETTLE_MS;
    resume_done(server);
    assert(server->n_suspended == 0);
    while (fl_door_has_guests(server->door) && now_ms() < until_ms) {
        fd_set readable;
        fd_set writable;
        fd_set failed;
        int max_fd = -1;
        FD_ZERO(&readable);
        FD_ZERO(&writable);
        FD_ZERO(&failed);
        (void)MHD_get_fdset(server->daemon, &readable, &writable, &failed, &max_fd);
        const int ms = wait_ms(server, SETTLE_ROUND_MS);
        wait_for(max_fd, &readable, &writable, &failed, ms);
        (void)MHD_run_from_select(server->daemon, &readable, &writable, &failed);
    }
}

void fl_server_stop(fl_server *server)
{
    if (server == NULL) {
        return;
    }
    if (server->has_thread) {
        ssize_t put = write(server->wake[1], "q", 1);
        (void)put;
        (void)pthread_join(server->thread, NULL);
    }
    finish_workers(server);
    if (server->has_thread) {
        settle(server);
    }
    if (server->daemon != NULL) {
        MHD_stop_daemon(server->daemon);
    }
    fl_door_free(server->door);
    for (int lane = FL_LANE_READ; lane < FL_LANE_COUNT; lane++) {
        fl_worker_free(server->worker[lane]);
    }
    fl_jobs_free(server->jobs);
    fl_sessions_close(server->sessions);
    if (server->has_wake) {
        (void)close(server->wake[0]);
        (void)close(server->wake[1]);
    }
    fl_listen_done(&server->listeners);
    fl_alloc_free(server);
}
