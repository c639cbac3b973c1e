/* The API by HTTP, over a real room: the events of tests/browser/room.jsonl at a fixed clock. What
 * a read must answer is what the command line prints for the same room and moment (view/view.h:
 * "the same bytes"); what a write must do is design section 3 (same id and same content: already
 * recorded; other content: refused) and RFC 9457 for problems. */
#define _GNU_SOURCE
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/app.h"
#include "http/server.h"
#include "support/check.h"
#include "support/http.h"
#include "support/program.h"

#define NOW "2026-03-07T18:00:00Z"
#define BIN_2 "b760c2e3-2d45-45b5-a631-3d605c002a5f"

typedef struct fixture {
    char dir[FL_TEMP_PATH_MAX];
    int64_t now_s;
    fl_app writer;
    fl_app reader;
    fl_server *server;
    uint16_t port;
    char token[FL_SECRET_TEXT_MAX];
    fl_err err;
} fixture;

static int setup(void **state)
{
    fixture *f = calloc(1, sizeof *f);
    fl_precision precision;
    char path[FL_TEMP_PATH_MAX + 32];
    fl_temp_folder(f->dir);
    fl_run_in_room(f->dir, NOW, "init", "--tz", "Z");
    fl_run_in_room(f->dir, NOW, "record", FL_SOURCE_DIR "/tests/browser/room.jsonl", "--together");
    check_ok(fl_civil_parse(FL_SV(NOW), 0, &f->now_s, &precision, &f->err), &f->err);
    const fl_clock clock = fl_clock_fixed(&f->now_s);
    check_ok(fl_app_open(f->dir, false, 0, clock, &f->writer, &f->err), &f->err);
    check_ok(fl_app_open_reader(f->dir, clock, &f->reader, &f->err), &f->err);
    const fl_server_options options = {.room_dir = f->dir,
                                       .clock = fl_clock_system(),
                                       .assets = fl_assets_embedded(),
                                       .routes = fl_routes_of_api(),
                                       .reader = &f->reader,
                                       .writer = &f->writer,
                                       .limits = FL_DOOR_LIMITS_USUAL};
    check_ok(fl_server_start(&options, &f->server, &f->err), &f->err);
    f->port = fl_server_listeners(f->server)->port;
    (void)snprintf(path, sizeof path, "%s/" FL_TOKEN_FILE, f->dir);
    FILE *file = fopen(path, "rb");
    check_true(file != NULL);
    check_true(fgets(f->token, sizeof f->token, file) != NULL);
    (void)fclose(file);
    *state = f;
    return 0;
}

static int teardown(void **state)
{
    fixture *f = *state;
    fl_server_stop(f->server);
    fl_app_close(&f->reader);
    fl_verified found;
    check_ok(fl_app_verify(&f->writer, &found, &f->err), &f->err);
    fl_app_close(&f->writer);
    fl_remove_folder(f->dir);
    free(f);
    return 0;
}

static fl_answer get(const fixture *f, const char *path)
{
    char text[1024];
    int len = snprintf(text, sizeof text,
                       "GET %s HTTP/1.1\r\nHost: 127.0.0.1:%u\r\nAuthorization: Bearer %s\r\n\r\n",
                       path, f->port, f->token);
    return fl_http_ask("127.0.0.1", f->port, text, (size_t)len);
}

/* `headers` come after the usual ones. */
static fl_answer post(const fixture *f, const char *path, const char *headers, const char *body)
{
    const size_t max = strlen(body) + strlen(headers) + 1024;
    char *text = malloc(max);
    check_true(text != NULL);
    int len = snprintf(text, max,
                       "POST %s HTTP/1.1\r\nHost: 127.0.0.1:%u\r\nContent-Type: application/json"
                       "\r\nContent-Length: %zu\r\n%s\r\n%s",
                       path, f->port, strlen(body), headers, body);
    fl_answer answer = fl_http_ask("127.0.0.1", f->port, text, (size_t)len);
    free(text);
    return answer;
}

/* Records with the token; `key` may be NULL. */
static fl_answer record(const fixture *f, const char *key, const char *body)
{
    char headers[256];
    (void)snprintf(headers, sizeof headers, "Authorization: Bearer %s\r\n%s%s%s", f->token,
                   key == NULL ? "" : "Idempotency-Key: ", key == NULL ? "" : key,
                   key == NULL ? "" : "\r\n");
    return post(f, "/api/v1/events", headers, body);
}

static void check_answer(fl_answer answer, int status, const char *has)
{
    if (answer.status != status || strstr(answer.body, has) == NULL) {
        print_error("wanted %d with %s, got %s\n", status, has, answer.text);
        fail();
    }
    fl_answer_done(&answer);
}

static int64_t position_of(fixture *f)
{
    int64_t position = 0;
    check_ok(fl_app_position(&f->reader, &position, &f->err), &f->err);
    return position;
}

/* ---- reading ---- */

/* The command prints a line end after the value. */
static void check_same(const fixture *f, const char *path, const char *const words[4], int code)
{
    const char *const all[] = {"--room", f->dir,   "--now",  NOW,      "--json",
                               words[0], words[1], words[2], words[3], NULL};
    fl_run done = fl_run_program(all, NULL);
    fl_answer answer = get(f, path);
    check_int(done.code, code);
    check_int(answer.status, 200);
    const size_t len = strlen(done.out);
    if (len != answer.body_len + 1 || memcmp(done.out, answer.body, answer.body_len) != 0) {
        print_error("%s\ngot  %.300s\nwant %.300s\n", path, answer.body, done.out);
        fail();
    }
    fl_answer_done(&answer);
    fl_run_done(&done);
}

static void test_reads_as_the_command_line(void **state)
{
    fixture *f = *state;
    const int64_t before = position_of(f);
    check_same(f, "/api/v1/today", (const char *const[4]){"today"}, 0);
    check_same(f, "/api/v1/lots", (const char *const[4]){"show", "lots"}, 0);
    check_same(f, "/api/v1/places", (const char *const[4]){"show", "places"}, 0);
    check_same(f, "/api/v1/lots/7GFZSX", (const char *const[4]){"show", "lot", "7GFZSX"}, 0);
    check_same(f, "/api/v1/places/Bin%202", (const char *const[4]){"show", "place", "Bin 2"}, 0);
    check_same(f, "/api/v1/lots/7gfzsx/gate?use=amphibian,stock",
               (const char *const[4]){"gate", "7GFZSX", "--for", "amphibian,stock"}, 1);
    check_same(f, "/api/v1/lots/7GFZSX/gate", (const char *const[4]){"gate", "7GFZSX"}, 1);
    check_answer(get(f, "/api/v1/room"), 200, "\"position\":61");
    check_int(position_of(f), before);
}

static void test_reads_refused(void **state)
{
    fixture *f = *state;
    check_answer(get(f, "/api/v1/lots/nothing"), 404, "/problems/not-found");
    check_answer(get(f, "/api/v1/places/nothing"), 404, "/problems/not-found");
    check_answer(get(f, "/api/v1/lots/7GFZSX/gate?use=frogs"), 400, "frogs");
    check_answer(get(f, "/api/v1/lots/7GFZSX/gate?use="), 400, "/problems/invalid");
    check_answer(get(f, "/api/v1/changes"), 400, "since");
    check_answer(get(f, "/api/v1/changes?since=x"), 400, "\\\"x\\\"");
    check_answer(get(f, "/api/v1/changes?since=-1"), 422, "-1");
    check_answer(get(f, "/api/v1/lots/a%00b"), 400, "/problems/malformed-request");
    check_answer(get(f, "/api/v1/lots/%ff%fe"), 404, "/problems/not-found"); /* no UTF-8 */
    check_answer(get(f, "/api/v1/nothing"), 404, "/problems/no-page");
}

/* ---- writing ---- */

#define LOOK_ID "11111111-2222-4333-8444-555555555555"
#define LOOK                                                                                       \
    "{\"id\":\"" LOOK_ID "\",\"kind\":\"look_done\",\"occurred_at\":\"2026-03-07T17:40:00Z\","     \
    "\"body\":{\"place\":\"" BIN_2 "\",\"effort\":\"careful\"}}"

static void test_record(void **state)
{
    fixture *f = *state;
    const int64_t before = position_of(f);
    check_answer(get(f, "/api/v1/changes?since=61"), 200, "\"is_changed\":false");
    fl_answer old = get(f, "/api/v1/places/Bin%202");
    check_answer(record(f, LOOK_ID, LOOK), 201, "\"recorded\":1,\"already\":0,\"position\":62");
    check_answer(get(f, "/api/v1/changes?since=61"), 200, "\"is_changed\":true");
    fl_answer fresh = get(f, "/api/v1/places/Bin%202"); /* reads see it at once */
    check_true(strcmp(old.body, fresh.body) != 0);
    check_contains(fresh.body, LOOK_ID);
    fl_answer_done(&old);
    fl_answer_done(&fresh);
    /* sent again: by the same bytes, in another order of members, without the header */
    check_answer(record(f, LOOK_ID, LOOK), 200, "\"recorded\":0,\"already\":1");
    check_answer(record(f, NULL,
                        "{\"kind\":\"look_done\", \"id\":\"" LOOK_ID
                        "\",\"body\":{\"effort\":\"careful\",\"place\":\"" BIN_2
                        "\"},\"occurred_at\":\"2026-03-07T17:40:00Z\"}"),
                 200, "\"already\":1");
    check_int(position_of(f), before + 1);
    /* the same id for something else */
    check_answer(record(f, LOOK_ID,
                        "{\"id\":\"" LOOK_ID "\",\"kind\":\"look_done\",\"occurred_at\":"
                        "\"2026-03-07T17:40:00Z\",\"body\":{\"place\":\"" BIN_2
                        "\",\"effort\":\"glance\"}}"),
                 422, "/problems/key-mismatch");
    check_answer(record(f, "99999999-2222-4333-8444-555555555555", LOOK), 422,
                 "/problems/key-mismatch");
    check_answer(record(f, "no-uuid", LOOK), 422, "/problems/key-mismatch");
    check_int(position_of(f), before + 1);
}

/* POST /api/v1/events/batch with the token. */
static fl_answer record_batch(const fixture *f, const char *body)
{
    char headers[256];
    (void)snprintf(headers, sizeof headers, "Authorization: Bearer %s\r\n", f->token);
    return post(f, "/api/v1/events/batch", headers, body);
}

#define BATCH_LOOK(id, effort)                                                                     \
    "{\"id\":\"" id "\",\"kind\":\"look_done\",\"occurred_at\":\"2026-03-07T17:41:00Z\","          \
    "\"body\":{\"place\":\"" BIN_2 "\",\"effort\":\"" effort "\"}}"
#define BATCH_ONE BATCH_LOOK("11111111-2222-4333-8444-666666666661", "careful")
#define BATCH_TWO BATCH_LOOK("11111111-2222-4333-8444-666666666662", "glance")
#define BATCH_BAD BATCH_LOOK("11111111-2222-4333-8444-666666666663", "very hard")

/* All or none, in one transaction; each id is its own key. */
static void test_record_batch(void **state)
{
    fixture *f = *state;
    const int64_t before = position_of(f);
    check_answer(record_batch(f, "{\"events\":[" BATCH_ONE "," BATCH_BAD "]}"), 400,
                 "event 2 of 2");
    check_int(position_of(f), before);
    check_answer(record_batch(f, "{\"events\":[]}"), 400, "1 to 512");
    check_answer(record_batch(f, "{\"event\":1}"), 400, "1 to 512");
    check_answer(record_batch(f, "{\"events\":[1]}"), 400, "event 1 of 1");
    check_answer(record_batch(f, "{\"events\":[" BATCH_ONE "," BATCH_TWO "]}"), 201,
                 "\"recorded\":2");
    check_int(position_of(f), before + 2);
    check_answer(record_batch(f, "{\"events\":[" BATCH_ONE "," BATCH_TWO "]}"), 200,
                 "\"already\":2");
    check_answer(record_batch(f, "{\"events\":[" BATCH_LOOK("11111111-2222-4333-8444-666666666661",
                                                            "glance") "]}"),
                 422, "/problems/key-mismatch");
    check_int(position_of(f), before + 2);
}

static void test_record_refused(void **state)
{
    fixture *f = *state;
    const int64_t before = position_of(f);
    check_answer(record(f, NULL, ""), 400, "/problems/malformed");
    check_answer(record(f, NULL, "{"), 400, "/problems/malformed");
    check_answer(record(f, NULL, "[]"), 400, "/problems/");
    check_answer(record(f, NULL, "{\"id\":\"" LOOK_ID "\",\"id\":\"" LOOK_ID "\"}"), 400,
                 "/problems/malformed");
    check_answer(record(f, NULL,
                        "{\"id\":\"" LOOK_ID "\",\"kind\":\"look_done\",\"occurred_at\":"
                        "\"2026-03-07T17:40:00Z\",\"body\":{\"place\":\"" BIN_2
                        "\",\"effort\":\"thorough\"}}"),
                 400, "\"errors\":[{\"pointer\":\"/body/effort\"");
    check_answer(record(f, NULL,
                        "{\"id\":\"" LOOK_ID "\",\"kind\":\"look_done\",\"occurred_at\":"
                        "\"2027-01-01T00:00:00Z\",\"body\":{\"place\":\"" BIN_2
                        "\",\"effort\":\"glance\"}}"),
                 422, "/problems/"); /* from the future */
    char *big = malloc(200001);
    check_true(big != NULL);
    int len = snprintf(big, 200001, "{\"id\":\"" LOOK_ID "\",\"kind\":\"look_done\",\"note\":\"");
    memset(big + len, 'n', (size_t)(199990 - len));
    (void)snprintf(big + 199990, 11, "\"}");
    fl_answer answer = record(f, NULL, big);
    check_true(answer.status == 413 || answer.status == 400);
    fl_answer_done(&answer);
    free(big);
    check_int(position_of(f), before);
}

/* What another process records is seen, although the last computation is kept. */
static void test_sees_the_command_line(void **state)
{
    fixture *f = *state;
    check_answer(get(f, "/api/v1/today"), 200, "\"room_name\"");
    char path[FL_TEMP_PATH_MAX + 16];
    (void)snprintf(path, sizeof path, "%s/more.jsonl", f->dir);
    FILE *file = fopen(path, "wb");
    check_true(file != NULL);
    (void)fputs(LOOK "\n", file);
    (void)fclose(file);
    fl_run_in_room(f->dir, NOW, "record", path, NULL);
    fl_answer answer = get(f, "/api/v1/places/Bin%202");
    check_contains(answer.body, LOOK_ID);
    fl_answer_done(&answer);
}

/* The clock moves on: the kept computation gives the new time, and is made anew in another hour. */
static void test_time_goes_on(void **state)
{
    fixture *f = *state;
    check_answer(get(f, "/api/v1/today"), 200, "\"now_at\":\"2026-03-07T18:00:00Z\"");
    f->now_s += 59;
    check_answer(get(f, "/api/v1/today"), 200, "\"now_at\":\"2026-03-07T18:00:00Z\""); /* kept */
    check_answer(get(f, "/api/v1/changes?since=0"), 200, "\"now_at\":\"2026-03-07T18:00:59Z\"");
    f->now_s += 31;
    check_answer(get(f, "/api/v1/today"), 200, "\"now_at\":\"2026-03-07T18:01:30Z\"");
    f->now_s += (int64_t)30 * 86400 + 60;
    check_answer(get(f, "/api/v1/today"), 200, "\"today_on\":\"2026-04-06\"");
    f->now_s -= (int64_t)30 * 86400 + 150;
    check_answer(get(f, "/api/v1/today"), 200, "\"now_at\":\"2026-03-07T18:00:00Z\"");
}

/* What a device tells a second ahead counts from that second on, also in what was kept before. */
static void test_a_second_ahead(void **state)
{
    fixture *f = *state;
    static const char held[] =
        "{\"id\":\"7d1f5a34-0000-4000-8000-00000000f00d\",\"kind\":\"hold_set\","
        "\"occurred_at\":\"2026-03-07T18:00:01Z\",\"body\":{\"hold\":"
        "\"7d1f5a34-0000-4000-8000-00000000f00e\",\"place\":"
        "\"8ebafbac-2919-4029-be4e-27aef611d44b\",\"why\":\"to be looked at\"}}";
    check_answer(get(f, "/api/v1/places/Bin%203"), 200, "\"is_held\":false");
    check_answer(record(f, NULL, held), 201, "\"recorded\":1");
    check_answer(get(f, "/api/v1/places/Bin%203"), 200, "\"is_held\":false");
    f->now_s += 1;
    check_answer(get(f, "/api/v1/places/Bin%203"), 200, "\"is_held\":true");
}

/* ---- signing in ---- */

static void test_session(void **state)
{
    fixture *f = *state;
    char key[FL_SECRET_TEXT_MAX];
    char body[256];
    char origin[128];
    char cookie[256];
    char headers[512];
    (void)fl_sessions_new_key(fl_server_sessions(f->server), FL_TIER_DEVICE, 60, key);
    (void)snprintf(body, sizeof body, "{\"key\":\"%s\",\"name\":\"sink phone\"}", key);
    (void)snprintf(origin, sizeof origin, "Origin: http://127.0.0.1:%u\r\n", f->port);
    check_answer(post(f, "/api/v1/session", "", body), 403, "/problems/cross-site");
    check_answer(post(f, "/api/v1/session", origin, "{\"key\":\"wrong\"}"), 401,
                 "/problems/key-spent");
    check_answer(post(f, "/api/v1/session", origin, "{}"), 400, "/key");
    check_answer(post(f, "/api/v1/session", origin, "{"), 400, "/problems/malformed");
    fl_answer answer = post(f, "/api/v1/session", origin, body);
    check_int(answer.status, 201);
    check_contains(answer.body, "{\"tier\":\"device\",\"device\":\"sink phone ");
    check_contains(answer.body, "\"name\":\"sink phone\"}");
    check_true(fl_answer_header(&answer, "Set-Cookie", cookie, sizeof cookie));
    fl_answer_done(&answer);
    check_answer(post(f, "/api/v1/session", origin, body), 401, "/problems/key-spent");
    *strchr(cookie, ';') = '\0';
    /* a phone's session reads and records */
    (void)snprintf(headers, sizeof headers, "%sCookie: %s\r\n", origin, cookie);
    check_answer(post(f, "/api/v1/events", headers, LOOK), 201, "\"recorded\":1");
    char text[1024];
    static const char *const steps[][3] = {{"GET", "200", "{\"tier\":\"device\""},
                                           {"DELETE", "204", ""},
                                           {"GET", "401", "/problems/sign-in-needed"}};
    for (size_t i = 0; i < 3; i++) {
        int len = snprintf(text, sizeof text,
                           "%s /api/v1/session HTTP/1.1\r\nHost: 127.0.0.1:%u\r\n%s"
                           "Content-Type: application/json\r\n\r\n",
                           steps[i][0], f->port, headers);
        answer = fl_http_ask("127.0.0.1", f->port, text, (size_t)len);
        check_contains(answer.text + 9, steps[i][1]);
        check_int(strncmp(answer.text + 9, steps[i][1], 3), 0);
        check_contains(answer.body, steps[i][2]);
        fl_answer_done(&answer);
    }
}

/* ---- many at once ---- */

typedef struct crowd {
    const fixture *f;
    int number;
} crowd;

static void *record_many(void *context)
{
    const crowd *one = context;
    for (int i = 0; i < 10; i++) {
        char body[512];
        (void)snprintf(body, sizeof body,
                       "{\"id\":\"00000000-0000-4000-8000-0000000%05d\",\"kind\":\"source_set\","
                       "\"occurred_at\":\"2026-03-07T17:00:00Z\",\"body\":{\"source\":"
                       "\"00000000-0000-4000-9000-0000000%05d\",\"name\":\"shop %d\",\"kind\":"
                       "\"nursery\",\"has_animals_with_plants\":false}}",
                       one->number * 100 + i, one->number * 100 + i, i);
        check_answer(record(one->f, NULL, body), 201, "\"recorded\":1");
        check_answer(get(one->f, "/api/v1/changes?since=0"), 200, "\"is_changed\":true");
    }
    return NULL;
}

static void test_many_at_once(void **state)
{
    fixture *f = *state;
    enum { N = 6 };
    pthread_t threads[N];
    crowd all[N];
    const int64_t before = position_of(f);
    for (int i = 0; i < N; i++) {
        all[i] = (crowd){f, i + 1};
        check_int(pthread_create(&threads[i], NULL, record_many, &all[i]), 0);
    }
    check_answer(get(f, "/api/v1/today"), 200, "\"lines\"");
    for (int i = 0; i < N; i++) {
        check_int(pthread_join(threads[i], NULL), 0);
    }
    check_int(position_of(f), before + N * 10);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown(test_reads_as_the_command_line, setup, teardown),
    cmocka_unit_test_setup_teardown(test_reads_refused, setup, teardown),
    cmocka_unit_test_setup_teardown(test_record, setup, teardown),
    cmocka_unit_test_setup_teardown(test_record_batch, setup, teardown),
    cmocka_unit_test_setup_teardown(test_record_refused, setup, teardown),
    cmocka_unit_test_setup_teardown(test_sees_the_command_line, setup, teardown),
    cmocka_unit_test_setup_teardown(test_time_goes_on, setup, teardown),
    cmocka_unit_test_setup_teardown(test_a_second_ahead, setup, teardown),
    cmocka_unit_test_setup_teardown(test_session, setup, teardown),
    cmocka_unit_test_setup_teardown(test_many_at_once, setup, teardown),
};
FL_TEST_MAIN(tests)
