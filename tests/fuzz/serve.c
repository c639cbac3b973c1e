/* Requests for the fuzz programs, answered by the handlers of the API. */
#include "fuzz/serve.h"

#include <string.h>

#include "fuzz/fuzz.h"
#include "http/problem.h"
#include "http/serving.h"

#define PORT 8462
#define VERIFY_EVERY 16 /* of the requests that recorded something */

static struct {
    bool is_open;
    fl_app writer;
    fl_app reader;
    fl_snapshot snapshot;
    fl_sessions *sessions;
    int64_t now_s;
    int64_t position;
    unsigned n_writes;
} house;

static void open_house(void)
{
    fl_err err = {0};
    house.now_s = FL_FUZZ_NOW_S;
    const fl_clock clock = fl_clock_fixed(&house.now_s);
    fl_fuzz_room_open(&house.writer);
    fl_fuzz_ok(fl_app_open_reader(fl_fuzz_room_dir(), clock, &house.reader, &err), &err);
    fl_fuzz_ok(fl_sessions_open(fl_fuzz_room_dir(), clock, &house.sessions, &err), &err);
    fl_fuzz_ok(fl_app_position(&house.writer, &house.position, &err), &err);
    house.is_open = true;
}

static void close_house(void)
{
    fl_snapshot_done(&house.snapshot);
    fl_sessions_close(house.sessions);
    fl_app_close(&house.reader);
    fl_app_close(&house.writer);
    house.is_open = false;
}

/* After something was recorded: now and then the whole room must verify; then it is put back. */
static void put_back(void)
{
    fl_err err = {0};
    int64_t position = 0;
    fl_fuzz_ok(fl_app_position(&house.writer, &position, &err), &err);
    if (position == house.position) {
        return;
    }
    if (house.n_writes++ % VERIFY_EVERY == 0) {
        fl_verified found;
        fl_fuzz_ok(fl_app_verify(&house.writer, &found, &err), &err);
    }
    close_house();
    fl_fuzz_room_again();
}

static void check_reply(const fl_serving *serving)
{
    const fl_reply *reply = &serving->x.reply;
    FL_FUZZ_REQUIRE(reply->status >= 200 && reply->status <= 599);
    /* 500 and 503 stand for a fault of ours: no request may cause one */
    FL_FUZZ_REQUIRE(reply->status < 500);
    if (reply->content_type != NULL && strcmp(reply->content_type, FL_REPLY_JSON) == 0) {
        fl_json_doc *doc = NULL;
        fl_err err = {0};
        /* our reader takes 16 levels; the description of the API has more, and is no input */
        if (fl_json_parse(reply->body, &doc, &err) != FL_OK) {
            FL_FUZZ_REQUIRE(strstr(err.message, "nested deeper") != NULL);
        }
        fl_json_free(doc);
    }
}

static void answer(const fl_request *request, fl_sv body)
{
    const fl_who who = {.tier = FL_TIER_OWNER, .is_bearer = true, .session = -1};
    const fl_site site = fl_site_of_loopback(PORT);
    if (fl_guard_check(&site, request, &who) != FL_PROBLEM_NONE) {
        return;
    }
    const fl_assets assets = fl_assets_embedded();
    const fl_routes routes = fl_routes_of_api();
    const fl_serving_context context = {
        .routes = &routes,
        .assets = &assets,
        .sessions = house.sessions,
        .snapshot = {[FL_LANE_READ] = &house.snapshot},
        .app = {[FL_LANE_READ] = &house.reader, [FL_LANE_WRITE] = &house.writer}};
    fl_serving *serving = fl_serving_new(&context, request, &who);
    fl_serving_take_body(serving, body);
    fl_serving_run(serving);
    check_reply(serving);
    fl_serving_free(serving);
}

void fl_fuzz_serve(fl_sv head, fl_sv body)
{
    static fl_request request;
    fl_err err = {0};
    if (fl_head_parse(head, &request, &err) != FL_OK) {
        return;
    }
    if (!house.is_open) {
        open_house();
    }
    answer(&request, body);
    put_back();
}
