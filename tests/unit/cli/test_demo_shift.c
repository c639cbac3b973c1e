/* cli/demo.h: moving a history by whole days. Days are counted with the civil calendar that
 * tests/unit/base/test_civil.c checks; weekdays by hand. */
#include "cli/demo.h"
#include "support/check.h"

static int64_t moment(const char *text, int tz_offset_min)
{
    int64_t at_s = 0;
    fl_precision precision;
    check_ok(fl_civil_parse(fl_sv_from_cstr(text), tz_offset_min, &at_s, &precision, NULL), NULL);
    return at_s;
}

static fl_event event_at(fl_kind kind, const char *text)
{
    fl_event event = {.kind = kind};
    check_ok(
        fl_civil_parse(fl_sv_from_cstr(text), FL_DEMO_TZ_MIN, &event.at_s, &event.precision, NULL),
        NULL);
    return event;
}

static void shift(fl_event *event, int64_t days, int tz_offset_min, fl_arena *arena)
{
    fl_err err = {0};
    check_ok(fl_demo_shift(event, days, tz_offset_min, arena, &err), &err);
}

static void test_moments(void **state)
{
    (void)state;
    fl_arena arena;
    fl_arena_init(&arena);
    fl_event event = event_at(FL_KIND_PLANT_SET, "2027-02-27T07:30:00+01:00");
    shift(&event, 2, FL_DEMO_TZ_MIN, &arena);
    check_int(event.at_s, moment("2027-03-01T07:30:00+01:00", 0));
    /* half past seven stays half past seven, wherever the room is */
    event = event_at(FL_KIND_PLANT_SET, "2027-02-27T07:30:00+01:00");
    shift(&event, -1, -480, &arena);
    check_int(event.at_s, moment("2027-02-26T07:30:00-08:00", 0));
    fl_arena_done(&arena);
}

/* A vague time is the middle of what it falls in after the shift, at the room's offset. */
static void test_vague(void **state)
{
    (void)state;
    static const struct {
        const char *from;
        int64_t days;
        const char *to;
    } rows[] = {{"2026-11-25", 7, "2026-12-02"},
                {"2026-11", 10, "2026-11"},
                {"2026-11", 20, "2026-12"},
                {"2026", 100, "2026"},
                {"2026", 200, "2027"}};
    static const int zones[] = {60, 0, -480, 720};
    fl_arena arena;
    fl_arena_init(&arena);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        for (size_t k = 0; k < sizeof zones / sizeof zones[0]; k++) {
            fl_event event = event_at(FL_KIND_PLANT_SET, rows[i].from);
            shift(&event, rows[i].days, zones[k], &arena);
            check_int(event.at_s, moment(rows[i].to, zones[k]));
        }
    }
    fl_arena_done(&arena);
}

static void test_bodies(void **state)
{
    (void)state;
    fl_arena arena;
    fl_arena_init(&arena);
    fl_event event = event_at(FL_KIND_ROOM_SET, "2026-01-01");
    event.body.room_set.round_weekday = 6;
    shift(&event, -8, 60, &arena); /* eight days back from a Sunday: a Saturday */
    check_int(event.body.room_set.round_weekday, 5);
    check_true(event.body.room_set.is_demo);
    event = event_at(FL_KIND_ROOM_SET, "2026-01-01");
    event.body.room_set.round_weekday = -1; /* not told stays so */
    shift(&event, 3, 60, &arena);
    check_int(event.body.room_set.round_weekday, -1);
    event = event_at(FL_KIND_BUILD_PLANNED, "2026-01-01");
    event.body.build_planned.need_by = FL_SV("2028-02-28");
    shift(&event, 2, 60, &arena);
    check_sv(event.body.build_planned.need_by, "2028-03-01");
    event = event_at(FL_KIND_ANIMAL_NOTED, "2026-01-01");
    event.body.animal_noted.sampled_s = INT64_MIN;
    shift(&event, 2, 60, &arena);
    check_int(event.body.animal_noted.sampled_s, INT64_MIN);
    event.body.animal_noted.sampled_s = moment("2026-01-01T08:00:00Z", 0);
    shift(&event, 2, 60, &arena);
    check_int(event.body.animal_noted.sampled_s, moment("2026-01-03T08:00:00Z", 0));
    fl_arena_done(&arena);
}

/* Dates inside a frozen answer move; ids and numbers that look a little like one do not. */
static void test_frozen_answer(void **state)
{
    (void)state;
    fl_arena arena;
    fl_arena_init(&arena);
    fl_event event = event_at(FL_KIND_LOT_RELEASED, "2026-01-01");
    event.body.lot_released.answer_json =
        FL_SV("{\"a\":\"2026-12-31\",\"b\":\"2026-12-31T10:00:00Z\",\"id\":"
              "\"5c303ddc-2026-4ad3-9bb9-1d41846e3f04\",\"c\":12026-12-31,\"d\":2026-12-310}");
    shift(&event, 1, 60, &arena);
    check_sv(event.body.lot_released.answer_json,
             "{\"a\":\"2027-01-01\",\"b\":\"2027-01-01T10:00:00Z\",\"id\":"
             "\"5c303ddc-2026-4ad3-9bb9-1d41846e3f04\",\"c\":12026-12-31,\"d\":2026-12-310}");
    fl_arena_done(&arena);
}

static void test_refuses_marks(void **state)
{
    (void)state;
    fl_err err = {0};
    static const char *const fine[] = {
        "{\"kind\":\"room_set\",\"body\":{\"is_demo\":false}}",
        "{\"kind\":\"room_set\",\"body\":{\"name\":\"is_demo\"}}",
        "{\"kind\":\"plant_set\",\"body\":{\"is_demo\":true}}",
        "no JSON at all",
    };
    for (size_t i = 0; i < sizeof fine / sizeof fine[0]; i++) {
        check_ok(fl_demo_refuse(fl_sv_from_cstr(fine[i]), &err), &err);
    }
    /* however it is spelt */
    check_int(fl_demo_refuse(
                  FL_SV("{\"k\\u0069nd\":\"room_set\",\"body\":{\"\\u0069s_demo\":true}}"), &err),
              FL_EFORBIDDEN);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_moments),       cmocka_unit_test(test_vague),
    cmocka_unit_test(test_bodies),        cmocka_unit_test(test_frozen_answer),
    cmocka_unit_test(test_refuses_marks),
};
FL_TEST_MAIN(tests)
