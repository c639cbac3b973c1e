/* The way in for every event: what is refused, and leaves nothing behind; and what is not refused,
 * because it happened, and is shown as a conflict (design section 3). */
#include <stdio.h>
#include <string.h>

#include "support/keeper.h"

#define PLACE "10000000-0000-4000-8000-000000000a01"
#define OTHER "10000000-0000-4000-8000-000000000a02"
#define LOT "10000000-0000-4000-8000-000000000b01"
#define SOURCE "10000000-0000-4000-8000-000000000c01"
#define ARRIVAL "10000000-0000-4000-8000-000000000d01"
#define NOTHING "10000000-0000-4000-8000-00000000ffff"
#define NOON "2026-03-02T12:00:00Z" /* the keeper's first moment */

typedef struct door {
    fl_keeper k;
    unsigned next;
    char text[2048];
} door;

/* One event as JSON: kind, time, body, with the next id. */
static fl_sv write_event(door *d, const char *kind, const char *at, const char *body)
{
    (void)snprintf(d->text, sizeof d->text,
                   "{\"id\":\"20000000-0000-4000-8000-%012x\",\"kind\":\"%s\","
                   "\"occurred_at\":\"%s\",\"body\":%s}",
                   d->next++, kind, at, body);
    return fl_sv_from_cstr(d->text);
}

static fl_status try_event(door *d, const char *kind, const char *at, const char *body)
{
    fl_recorded what;
    return fl_app_record(&d->k.app, write_event(d, kind, at, body), &what, &d->k.err);
}

static void record(door *d, const char *kind, const char *at, const char *body)
{
    check_ok(try_event(d, kind, at, body), &d->k.err);
}

static int64_t count_events(door *d)
{
    fl_verified verified;
    check_ok(fl_app_verify(&d->k.app, &verified, &d->k.err), &d->k.err);
    return verified.n_events;
}

/* Refused with this code, naming `what`; nothing is written. */
static void check_refused(door *d, fl_status status, fl_status code, const char *what)
{
    check_status(&d->k.err, code);
    check_int(status, code);
    check_contains(d->k.err.message, what);
    check_true(strchr(d->k.err.message, '\n') == NULL);
}

static void open_door(door *d)
{
    memset(d, 0, sizeof *d);
    fl_keeper_init(&d->k);
    d->next = 1;
    record(d, "place_set", NOON, "{\"place\":\"" PLACE "\",\"name\":\"bin 1\",\"kind\":\"bin\"}");
    record(d, "place_set", NOON, "{\"place\":\"" OTHER "\",\"name\":\"bin 2\",\"kind\":\"bin\"}");
    record(d, "source_set", NOON,
           "{\"source\":\"" SOURCE "\",\"name\":\"a stall\",\"kind\":\"market_stall\"}");
    record(d, "lot_arrived", NOON,
           "{\"lot\":\"" LOT "\",\"arrival\":\"" ARRIVAL "\",\"source\":\"" SOURCE
           "\",\"name\":\"a "
           "fern\",\"count\":3,\"form\":\"potted\",\"use\":\"stock\",\"place\":\"" PLACE "\"}");
}

static void close_door(door *d)
{
    fl_keeper_verify(&d->k);
    fl_keeper_done(&d->k);
}

/* ---- refused ---- */

static void test_malformed(void **state)
{
    (void)state;
    static const char *const texts[] = {
        "",
        "not json",
        "[]",
        "{}",
        "{\"id\":\"20000000-0000-4000-8000-000000000fff\"}",
        "{\"id\":\"nothing\",\"kind\":\"place_cleaned\",\"occurred_at\":\"" NOON
        "\",\"body\":{\"place\":\"" PLACE "\"}}",
        "{\"id\":\"20000000-0000-4000-8000-000000000fff\",\"kind\":\"place_cleaned\","
        "\"occurred_at\":\"yesterday\",\"body\":{\"place\":\"" PLACE "\"}}",
        "{\"id\":\"20000000-0000-4000-8000-000000000fff\",\"kind\":\"place_cleaned\","
        "\"occurred_at\":\"2026-02-30T10:00:00Z\",\"body\":{\"place\":\"" PLACE "\"}}",
        "{\"id\":\"20000000-0000-4000-8000-000000000fff\",\"kind\":\"place_cleaned\","
        "\"occurred_at\":\"" NOON "\",\"body\":{\"place\":\"" PLACE "\",\"colour\":\"red\"}}",
        "{\"id\":\"20000000-0000-4000-8000-000000000fff\",\"kind\":\"look_done\","
        "\"occurred_at\":\"" NOON "\",\"body\":{\"place\":\"" PLACE "\",\"effort\":\"lazy\"}}",
        "{\"id\":\"20000000-0000-4000-8000-000000000fff\",\"kind\":\"look_done\",\"occurred_at\":"
        "\"" NOON "\",\"body\":{\"place\":\"" PLACE
        "\",\"effort\":\"glance\",\"frac_examined\":1.5}}",
    };
    door d;
    open_door(&d);
    int64_t before = count_events(&d);
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        fl_recorded what;
        fl_err_clear(&d.k.err);
        fl_status status = fl_app_record(&d.k.app, fl_sv_from_cstr(texts[i]), &what, &d.k.err);
        check_true(status != FL_OK);
        check_true(d.k.err.message[0] != '\0' && strchr(d.k.err.message, '\n') == NULL);
    }
    check_int(count_events(&d), before);
    close_door(&d);
}

static void test_unknown_words(void **state)
{
    (void)state;
    door d;
    open_door(&d);
    int64_t before = count_events(&d);
    check_true(try_event(&d, "plant_sung_to", NOON, "{}") != FL_OK);
    check_contains(d.k.err.message, "plant_sung_to");
    check_refused(&d,
                  try_event(&d, "look_done", NOON,
                            "{\"place\":\"" PLACE "\",\"effort\":\"glance\",\"findings\":[{"
                            "\"finding\":\"" NOTHING "\",\"threat\":\"gremlin\",\"what\":\"x\"}]}"),
                  FL_EINVAL, "gremlin");
    check_refused(&d,
                  try_event(&d, "tolerated_set", NOON,
                            "{\"place\":\"" PLACE
                            "\",\"threat\":\"gremlin\",\"is_tolerated\":true}"),
                  FL_EINVAL, "gremlin");
    check_refused(&d,
                  try_event(&d, "animal_noted", NOON,
                            "{\"place\":\"" PLACE "\",\"what\":\"tested\",\"animal\":\"a frog\","
                            "\"threat\":\"gremlin\",\"is_positive\":true}"),
                  FL_EINVAL, "gremlin");
    check_int(count_events(&d), before);
    /* What only looks like a threat has a name too. */
    record(&d, "look_done", NOON,
           "{\"place\":\"" PLACE "\",\"effort\":\"glance\",\"findings\":[{\"finding\":\"" NOTHING
           "\",\"threat\":\"springtail\",\"what\":\"white and jumping\"}]}");
    close_door(&d);
}

static void test_references_to_nothing(void **state)
{
    (void)state;
    static const struct {
        const char *kind;
        const char *body;
    } events[] = {
        {"place_cleaned", "{\"place\":\"" NOTHING "\"}"},
        {"lot_moved", "{\"lots\":[\"" NOTHING "\"],\"to\":\"" PLACE "\"}"},
        {"lot_moved", "{\"lots\":[\"" LOT "\"],\"to\":\"" NOTHING "\"}"},
        {"lot_cut",
         "{\"mother\":\"" NOTHING "\",\"lot\":\"10000000-0000-4000-8000-000000000b09\","
         "\"count\":1,\"form\":\"unrooted_cutting\",\"use\":\"stock\",\"place\":\"" PLACE "\"}"},
        {"finding_retracted", "{\"finding\":\"" NOTHING "\",\"why\":\"a speck\"}"},
        {"hold_lifted", "{\"hold\":\"" NOTHING "\",\"why\":\"gone\"}"},
        {"event_voided", "{\"event\":\"" NOTHING "\",\"why\":\"a slip\"}"},
        {"look_done", "{\"place\":\"" NOTHING "\",\"effort\":\"glance\"}"},
        {"step_done", "{\"steps\":[{\"lots\":[\"" NOTHING "\"],\"step\":\"rinse\"}]}"},
    };
    door d;
    open_door(&d);
    int64_t before = count_events(&d);
    for (size_t i = 0; i < sizeof events / sizeof events[0]; i++) {
        check_refused(&d, try_event(&d, events[i].kind, NOON, events[i].body), FL_ENOTFOUND,
                      NOTHING);
    }
    check_int(count_events(&d), before);
    close_door(&d);
}

/* At most five minutes ahead; a vague time when its day, month or year has begun. The room is at
 * +01:00, where it is 13:00 on Monday, 2 March 2026. */
static void test_times_ahead(void **state)
{
    (void)state;
    static const struct {
        const char *at;
        bool is_fine;
    } times[] = {{"2026-03-02T12:05:00Z", true},
                 {"2026-03-02T12:05:01Z", false},
                 {"2026-03-02T13:04:59+01:00", true},
                 {"2026-03-02", true},
                 {"2026-03-03", false},
                 {"2026-03", true},
                 {"2026-04", false},
                 {"2026", true},
                 {"2027", false},
                 {"1999", true}};
    door d;
    open_door(&d);
    for (size_t i = 0; i < sizeof times / sizeof times[0]; i++) {
        fl_status status = try_event(&d, "place_cleaned", times[i].at, "{\"place\":\"" PLACE "\"}");
        if (times[i].is_fine) {
            check_ok(status, &d.k.err);
        } else {
            check_refused(&d, status, FL_EDOMAIN, "ahead");
        }
    }
    /* Ten hours later it is the third of March there. */
    fl_keeper_day(&d.k, 0, 11);
    record(&d, "place_cleaned", "2026-03-03", "{\"place\":\"" PLACE "\"}");
    close_door(&d);
}

/* Same id, same bytes: already recorded. Same id, other bytes: a conflict. The order of keys and
 * the spelling of numbers are not other bytes. */
static void test_the_same_id_again(void **state)
{
    (void)state;
    door d;
    open_door(&d);
    fl_recorded what = FL_RECORDED_ALREADY;
    const char *first = "{\"id\":\"30000000-0000-4000-8000-000000000001\",\"kind\":\"look_done\","
                        "\"occurred_at\":\"" NOON "\",\"body\":{\"place\":\"" PLACE
                        "\",\"effort\":\"glance\",\"frac_examined\":0.5}}";
    const char *again = "{\"body\":{\"frac_examined\":5e-1,\"effort\":\"glance\",\"place\":\"" PLACE
                        "\"},\"occurred_at\":\"" NOON "\",\"kind\":\"look_done\","
                        " \"id\":\"30000000-0000-4000-8000-000000000001\"}";
    const char *other = "{\"id\":\"30000000-0000-4000-8000-000000000001\",\"kind\":\"look_done\","
                        "\"occurred_at\":\"" NOON "\",\"body\":{\"place\":\"" PLACE
                        "\",\"effort\":\"careful\",\"frac_examined\":0.5}}";
    check_ok(fl_app_record(&d.k.app, fl_sv_from_cstr(first), &what, &d.k.err), &d.k.err);
    check_int(what, FL_RECORDED_NEW);
    int64_t before = count_events(&d);
    check_ok(fl_app_record(&d.k.app, fl_sv_from_cstr(first), &what, &d.k.err), &d.k.err);
    check_int(what, FL_RECORDED_ALREADY);
    check_ok(fl_app_record(&d.k.app, fl_sv_from_cstr(again), &what, &d.k.err), &d.k.err);
    check_int(what, FL_RECORDED_ALREADY);
    check_refused(&d, fl_app_record(&d.k.app, fl_sv_from_cstr(other), &what, &d.k.err),
                  FL_ECONFLICT, "30000000");
    check_int(count_events(&d), before);
    /* It stays "already" when the clock has been set back, and when what it names is known. */
    d.k.now_s -= 3600;
    check_ok(fl_app_record(&d.k.app, fl_sv_from_cstr(first), &what, &d.k.err), &d.k.err);
    check_int(what, FL_RECORDED_ALREADY);
    close_door(&d);
}

/* All or none: one bad event takes its batch back, and its number is told. */
static void test_a_batch(void **state)
{
    (void)state;
    door d;
    open_door(&d);
    int64_t before = count_events(&d);
    char good[2048];
    char bad[2048];
    (void)snprintf(good, sizeof good, "%s",
                   write_event(&d, "place_cleaned", NOON, "{\"place\":\"" PLACE "\"}").ptr);
    (void)snprintf(bad, sizeof bad, "%s",
                   write_event(&d, "place_cleaned", NOON, "{\"place\":\"" NOTHING "\"}").ptr);
    fl_sv texts[] = {fl_sv_from_cstr(good), fl_sv_from_cstr(bad), fl_sv_from_cstr(good)};
    fl_recorded results[3];
    size_t failed_at = 99;
    check_true(fl_app_record_all(&d.k.app, texts, 3, results, &failed_at, &d.k.err) != FL_OK);
    check_int(failed_at, 1);
    check_int(count_events(&d), before);
    texts[1] = texts[0];
    check_ok(fl_app_record_all(&d.k.app, texts, 3, results, &failed_at, &d.k.err), &d.k.err);
    check_int(results[0], FL_RECORDED_NEW);
    check_int(results[2], FL_RECORDED_ALREADY);
    check_int(count_events(&d), before + 1);
    close_door(&d);
}

/* ---- not refused ---- */

static size_t n_conflicts(door *d, fl_conflict_kind kind)
{
    size_t n = 0;
    fl_keeper_ask(&d->k);
    for (size_t i = 0; i < d->k.room.meaning.n_conflicts; i++) {
        n += d->k.room.meaning.conflicts[i].kind == kind;
    }
    return n;
}

/* What contradicts is kept and shown; the record never refuses what happened. */
static void test_contradictions_are_kept(void **state)
{
    (void)state;
    door d;
    open_door(&d);
    int64_t before = count_events(&d);
    fl_keeper_day(&d.k, 10, 0);
    /* a look before it was bought; in a place where it was not */
    record(&d, "lot_moved", "2026-02-20T12:00:00Z",
           "{\"lots\":[\"" LOT "\"],\"to\":\"" OTHER "\"}");
    record(&d, "look_done", "2026-03-03T12:00:00Z",
           "{\"place\":\"" OTHER "\",\"lots\":[\"" LOT "\"],\"effort\":\"careful\"}");
    /* more plants lost than there are; then moved although nothing is left */
    record(&d, "lot_lost", "2026-03-04T12:00:00Z",
           "{\"lot\":\"" LOT "\",\"count\":7,\"why\":\"rot\"}");
    record(&d, "lot_moved", "2026-03-05T12:00:00Z",
           "{\"lots\":[\"" LOT "\"],\"to\":\"" OTHER "\"}");
    /* it arrived a second time */
    record(&d, "lot_arrived", "2026-03-06T12:00:00Z",
           "{\"lot\":\"" LOT "\",\"arrival\":\"" ARRIVAL "\",\"source\":\"" SOURCE
           "\",\"name\":\"a "
           "fern\",\"count\":3,\"form\":\"potted\",\"use\":\"stock\",\"place\":\"" PLACE "\"}");
    check_int(count_events(&d), before + 5);
    check_int(n_conflicts(&d, FL_CONFLICT_BEFORE_BORN), 1);
    check_int(n_conflicts(&d, FL_CONFLICT_NOT_THERE), 1);
    check_int(n_conflicts(&d, FL_CONFLICT_TOO_MANY), 1);
    check_int(n_conflicts(&d, FL_CONFLICT_AFTER_GONE), 1);
    check_int(n_conflicts(&d, FL_CONFLICT_BORN_TWICE), 1);
    close_door(&d);
}

/* Out of a held bin, and against the gate: kept, and shown. */
static void test_against_holds_and_the_gate(void **state)
{
    (void)state;
    door d;
    open_door(&d);
    fl_keeper_day(&d.k, 2, 0);
    record(&d, "look_done", "2026-03-03T12:00:00Z",
           "{\"place\":\"" PLACE "\",\"effort\":\"glance\",\"findings\":[{\"finding\":\"" NOTHING
           "\",\"threat\":\"aphid\",\"what\":\"green\"}]}");
    record(&d, "lot_released", "2026-03-04T12:00:00Z",
           "{\"lot\":\"" LOT "\",\"to\":\"" OTHER "\",\"is_against_gate\":true}");
    check_int(n_conflicts(&d, FL_CONFLICT_LEFT_HELD), 1);
    fl_id other;
    check_ok(fl_id_parse(FL_SV(OTHER), &other, &d.k.err), &d.k.err);
    check_true(fl_id_eq(d.k.room.meaning.lots[0].place, other)); /* it stands where it was put */
    close_door(&d);
}

static const struct CMUnitTest tests[] = {cmocka_unit_test(test_malformed),
                                          cmocka_unit_test(test_unknown_words),
                                          cmocka_unit_test(test_references_to_nothing),
                                          cmocka_unit_test(test_times_ahead),
                                          cmocka_unit_test(test_the_same_id_again),
                                          cmocka_unit_test(test_a_batch),
                                          cmocka_unit_test(test_contradictions_are_kept),
                                          cmocka_unit_test(test_against_holds_and_the_gate)};
FL_TEST_MAIN(tests)
