/* The demo room: demo/demo.jsonl recorded the ordinary way, line by line, with a clock that follows
 * it. What is checked is the story that demo/README.md tells (our own making, no outside source):
 * it records and verifies, the keeper went against the gate once and no more, the outbreak came and
 * went, and on the last day most kinds of thing are due. */
#include <stdio.h>
#include <string.h>

#include "app/today.h"
#include "base/limits.h"
#include "json/event_codec.h"
#include "support/check.h"

#define DEMO_PATH FL_SOURCE_DIR "/demo/demo.jsonl"
#define LINES_MAX 1000
#define TZ_MIN 60
#define LAST_DAY "2026-11-25T09:00:00+01:00"

typedef struct demo {
    fl_arena arena;
    fl_err err;
    char dir[FL_TEMP_PATH_MAX];
    fl_app app;
    int64_t now_s;
    fl_sv lines[LINES_MAX];
    size_t n_lines;
    int n_against;
} demo;

static int64_t moment(const char *text)
{
    int64_t at_s = 0;
    fl_precision precision;
    check_ok(fl_civil_parse(fl_sv_from_cstr(text), 0, &at_s, &precision, NULL), NULL);
    return at_s;
}

static void read_lines(demo *d)
{
    static char line[FL_EVENT_BYTES_MAX + 2];
    FILE *file = fopen(DEMO_PATH, "rb");
    check_true(file != NULL);
    while (fgets(line, sizeof line, file) != NULL) {
        check_true(d->n_lines < LINES_MAX);
        d->lines[d->n_lines++] = fl_arena_copy_sv(&d->arena, fl_sv_trim(fl_sv_from_cstr(line)));
    }
    check_int(fclose(file), 0);
}

static void begin(demo *d)
{
    memset(d, 0, sizeof *d);
    fl_arena_init(&d->arena);
    (void)fl_temp_folder(d->dir);
    read_lines(d);
    check_ok(fl_app_open(d->dir, true, TZ_MIN, fl_clock_fixed(&d->now_s), &d->app, &d->err),
             &d->err);
}

static void end(demo *d)
{
    fl_app_close(&d->app);
    fl_remove_folder(d->dir);
    fl_arena_done(&d->arena);
}

static fl_event decode(demo *d, size_t i)
{
    fl_event event;
    check_ok(fl_event_read(d->lines[i], TZ_MIN, &d->arena, &event, NULL, &d->err), &d->err);
    return event;
}

/* What the gate says of a release at its moment, before it is recorded. */
static bool is_gate_open(demo *d, const fl_ev_lot_released *release)
{
    fl_room room;
    fl_chances *chances = NULL;
    fl_gate_report report;
    check_ok(fl_room_load(&d->app, &room, &d->err), &d->err);
    check_ok(fl_chances_new(&room, &d->app, &chances, &d->err), &d->err);
    const fl_lot *lot = fl_meaning_lot(&room.meaning, release->lot);
    const fl_ev_place_set *to = fl_defs_place(&room.defs, release->to);
    check_true(lot != NULL && to != NULL);
    check_ok(
        fl_gate_ask(chances, &room, lot, fl_gate_uses_of_place(to), &d->arena, &report, &d->err),
        &d->err);
    fl_chances_free(chances);
    fl_room_done(&room);
    return report.answer.is_open;
}

/* Records all lines; the clock follows, and never goes back. */
static void replay(demo *d)
{
    for (size_t i = 0; i < d->n_lines; i++) {
        fl_recorded what = FL_RECORDED_ALREADY;
        fl_event event = decode(d, i);
        bool is_moment = event.precision == FL_PRECISION_EXACT;
        d->now_s = is_moment && event.at_s > d->now_s ? event.at_s : d->now_s;
        if (event.kind == FL_KIND_LOT_RELEASED) {
            bool is_against = event.body.lot_released.is_against_gate;
            check_int(is_gate_open(d, &event.body.lot_released), !is_against);
            d->n_against += is_against;
        }
        check_ok(fl_app_record(&d->app, d->lines[i], &what, &d->err), &d->err);
        check_int(what, FL_RECORDED_NEW);
    }
    check_true(d->now_s < moment(LAST_DAY));
    d->now_s = moment(LAST_DAY);
}

static bool has_due(const fl_today *today, fl_due_kind kind)
{
    for (int i = 0; i < today->n; i++) {
        if (today->lines[i].kind == kind) {
            return true;
        }
    }
    return false;
}

static void check_last_day(demo *d, const fl_room *room)
{
    static const fl_due_kind due[] = {FL_DUE_PREP, FL_DUE_PLACE, FL_DUE_LOOK, FL_DUE_RELEASE,
                                      FL_DUE_UPKEEP};
    fl_chances *chances = NULL;
    fl_today today;
    check_ok(fl_chances_new(room, &d->app, &chances, &d->err), &d->err);
    check_ok(fl_today_list(chances, room, &d->arena, &today, &d->err), &d->err);
    for (size_t i = 0; i < sizeof due / sizeof due[0]; i++) {
        check_true(has_due(&today, due[i]));
    }
    check_int(today.n_more, 0);
    check_int(today.n_in_quarantine, 4);
    fl_chances_free(chances);
}

/* Gnats were seen twice and are gone; a speck was nothing; all holds are lifted. */
static void check_findings(const fl_room *room)
{
    size_t n_gnats = 0;
    size_t n_retracted = 0;
    for (size_t i = 0; i < room->meaning.n_findings; i++) {
        const fl_finding_now *f = &room->meaning.findings[i];
        n_gnats += fl_sv_eq_cstr(f->threat, "fungus_gnat");
        n_retracted += f->is_retracted;
    }
    check_int(n_gnats, 2);
    check_int(n_retracted, 1);
    check_int(room->meaning.n_holds, 4);
    for (size_t i = 0; i < room->meaning.n_holds; i++) {
        check_true(room->meaning.holds[i].to_s != FL_TIME_OPEN);
    }
    check_int(room->meaning.n_conflicts, 0);
    check_int(room->n_voided, 1);
}

static void test_story(void **state)
{
    (void)state;
    static demo d;
    fl_room room;
    fl_verified verified;
    begin(&d);
    check_true(d.n_lines >= 300 && d.n_lines <= 450);
    fl_event first = decode(&d, 0);
    check_int(first.kind, FL_KIND_ROOM_SET);
    check_true(first.body.room_set.is_demo);
    replay(&d);
    check_int(d.n_against, 1);
    check_ok(fl_app_verify(&d.app, &verified, &d.err), &d.err);
    check_int(verified.n_events, d.n_lines);
    check_ok(fl_room_load(&d.app, &room, &d.err), &d.err);
    check_true(room.is_demo);
    check_findings(&room);
    check_last_day(&d, &room);
    fl_room_done(&room);
    end(&d);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_story),
};
FL_TEST_MAIN(tests)
