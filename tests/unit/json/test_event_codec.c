/* json/event_codec.h: the example of every kind (tests/unit/json/events, also in the guide), the
 * canonical bytes, times, and every class of refusal. tests/reference/events_canonical.jsonl was
 * made from the examples by Python 3.11's json.dumps(sort_keys=True, separators=(",", ":"),
 * ensure_ascii=False): an independent writer of the same form. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/limits.h"
#include "json/event_codec.h"
#include "support/check.h"
#include "support/source_file.h"

#define ID "0b8e6f1c-5d2a-4c3e-9f10-2a7b3c4d5e6f"
#define ID_NONE "00000000-0000-0000-0000-000000000000"
#define ID_2 "1c8e6f1c-5d2a-4c3e-9f10-2a7b3c4d5e6f"

/* The arena of the test that runs. */
static fl_arena arena;

static int set_up(void **state)
{
    (void)state;
    fl_arena_init(&arena);
    return 0;
}

static int tear_down(void **state)
{
    (void)state;
    fl_arena_done(&arena);
    return 0;
}

static char *example_text(fl_kind kind)
{
    char path[120];
    (void)snprintf(path, sizeof path, "tests/unit/json/events/%s.json", fl_kinds[kind].word);
    return fl_source_file(path);
}

static fl_event read_ok(const char *text)
{
    fl_err err = {0};
    fl_event event = {0};
    check_ok(fl_event_read(fl_sv_from_cstr(text), 0, &arena, &event, NULL, &err), &err);
    return event;
}

static fl_event read_example(fl_kind kind)
{
    char *text = example_text(kind);
    fl_event event = read_ok(text);
    check_int(event.kind, kind);
    free(text);
    return event;
}

/* The event's bytes as the program writes them; lives in the arena. */
static fl_sv written(const fl_event *event)
{
    fl_err err = {0};
    fl_str bytes;
    fl_str_init(&bytes, FL_EVENT_BYTES_MAX);
    check_ok(fl_event_write(event, &bytes, &err), &err);
    fl_sv copy = fl_arena_copy_sv(&arena, fl_str_sv(&bytes));
    fl_str_done(&bytes);
    return copy;
}

static fl_sv canonical_of(fl_sv text)
{
    fl_err err = {0};
    fl_event event = {0};
    fl_str bytes;
    fl_str_init(&bytes, FL_EVENT_BYTES_MAX);
    check_ok(fl_event_read(text, 0, &arena, &event, &bytes, &err), &err);
    fl_sv copy = fl_arena_copy_sv(&arena, fl_str_sv(&bytes));
    fl_str_done(&bytes);
    return copy;
}

/* ---- the examples ---- */

/* The line of the reference that has the id of an example; it is ended in place. */
static char *line_with(char *reference, const char *id_member)
{
    char *found = strstr(reference, id_member);
    check_true(found != NULL);
    char *line = found;
    while (line > reference && line[-1] != '\n' && line[-1] != '\0') {
        line--;
    }
    line[strcspn(line, "\n")] = '\0';
    return line;
}

static void test_canonical_bytes(void **state)
{
    (void)state;
    for (int i = 0; i < FL_KIND_COUNT; i++) {
        char id[FL_ID_TEXT_MAX];
        char id_member[60];
        char *reference = fl_source_file("tests/reference/events_canonical.jsonl");
        char *text = example_text((fl_kind)i);
        (void)snprintf(id_member, sizeof id_member, ",\"id\":\"%s\"",
                       fl_id_format(id, read_ok(text).id));
        check_sv(canonical_of(fl_sv_from_cstr(text)), line_with(reference, id_member));
        free(text);
        free(reference);
    }
}

/* Reading, writing and reading again ends at once: the bytes and the struct stay. */
static void test_round_trip(void **state)
{
    (void)state;
    for (int i = 0; i < FL_KIND_COUNT; i++) {
        fl_err err = {0};
        fl_event event = read_example((fl_kind)i);
        fl_sv bytes = written(&event);
        fl_event decoded = {0};
        check_ok(fl_event_decode(bytes, 0, &arena, &decoded, &err), &err);
        check_true(fl_sv_eq(canonical_of(bytes), bytes));
        check_true(fl_sv_eq(written(&decoded), bytes));
        check_int(fl_event_compare(&event, &decoded), 0);
    }
}

#define check_id(id, text)                                                                         \
    do {                                                                                           \
        char id_text[FL_ID_TEXT_MAX];                                                              \
        check_str(fl_id_format(id_text, (id)), (text));                                            \
    } while (0)

static void test_definitions(void **state)
{
    (void)state;
    fl_event event = read_example(FL_KIND_SOURCE_SET);
    check_int(event.body.source_set.kind, FL_SOURCE_CHAIN_STORE);
    check_false(event.body.source_set.has_animals_with_plants);
    check_int(event.body.source_set.take_back_days, 14);
    check_sv(event.body.source_set.name, "garden centre on the ring road");
    check_int(event.at_s, 1772389800); /* date -u -d 2026-03-01T18:30:00Z +%s */
    check_int(event.precision, FL_PRECISION_EXACT);
    event = read_example(FL_KIND_PLANT_SET);
    check_sv(event.body.plant_set.taxon, "Ficus pumila");
    check_true(event.body.plant_set.is_mother && !event.body.plant_set.is_delicate);
    event = read_example(FL_KIND_PLACE_SET);
    check_int(event.body.place_set.uses, 1u << FL_USE_AMPHIBIAN);
    check_close(event.body.place_set.set_temp_c, 23, 0, 0);
    check_int(event.body.place_set.shelf, 2);
    check_true(event.body.place_set.has_gasket && !event.body.place_set.is_retired);
    event = read_example(FL_KIND_BOTTLE_OPENED);
    check_int(event.body.bottle_opened.agent, FL_AGENT_BLEACH);
    check_close(event.body.bottle_opened.specific_gravity, 1.08, 0, 0);
    event = read_example(FL_KIND_BOTTLE_TESTED);
    check_close(event.body.bottle_tested.strength_pct, 5.2, 0, 0);
}

static void test_lots(void **state)
{
    (void)state;
    fl_event event = read_example(FL_KIND_LOT_ARRIVED);
    const fl_ev_lot_arrived *arrived = &event.body.lot_arrived;
    check_id(arrived->lot, "a9193698-acfa-4fe4-8511-383b3380462c");
    check_int(arrived->count, 4);
    check_int(arrived->form, FL_FORM_POTTED);
    check_int(arrived->use, FL_USE_AMPHIBIAN);
    check_sv(arrived->label_active, "imidacloprid");
    check_close(arrived->cost, 11.96, 0, 0);
    check_sv(event.device, "phone at the sink");
    check_int(event.seq, 7);
    event = read_example(FL_KIND_LOT_CUT);
    check_int(event.body.lot_cut.form, FL_FORM_UNROOTED_CUTTING);
    check_int(event.precision, FL_PRECISION_DAY);
    event = read_example(FL_KIND_LOT_SPLIT);
    check_int(event.body.lot_split.count, 2);
    event = read_example(FL_KIND_LOT_RELEASED);
    check_sv(event.body.lot_released.answer_json,
             "{\"is_open\":false,\"use\":\"amphibian\",\"worst\":{\"chance\":0.067,"
             "\"threat\":\"western_flower_thrips\"}}");
    check_int(event.body.lot_released.knowledge.len, 64);
    check_true(event.body.lot_released.is_against_gate);
    event = read_example(FL_KIND_LOT_LOST);
    check_int(event.body.lot_lost.count, 1);
    event = read_example(FL_KIND_LOT_MOVED);
    check_int(event.body.lot_moved.lots.count, 2);
    check_id(event.body.lot_moved.lots.ids[0], "a9193698-acfa-4fe4-8511-383b3380462c");
}

static void test_steps(void **state)
{
    (void)state;
    fl_event event = read_example(FL_KIND_STEP_STARTED);
    check_int(event.body.step_started.planned_s, 600);
    check_int(event.body.step_started.step.step, FL_STEP_DIP);
    check_close(event.body.step_started.step.dose_mg_per_l, 3000, 0, 0);
    check_true(isnan(event.body.step_started.step.minutes));
    event = read_example(FL_KIND_STEP_DONE);
    const fl_ev_step_done *done = &event.body.step_done;
    check_int(done->n_steps, 4);
    check_close(done->steps[0].minutes, 10.5, 0, 0);
    check_sv(done->steps[0].tub, "tub A");
    check_int(done->steps[1].agent, FL_AGENT_NONE);
    check_int(done->steps[0].prills, FL_PRILLS_NOT_TOLD);
    check_int(done->steps[1].step, FL_STEP_STRIP);
    check_int(done->steps[1].prills, FL_PRILLS_REMOVED);
    check_true(fl_id_is_none(done->steps[1].bottle) && isnan(done->steps[1].pct));
    check_sv(done->steps[2].product, "potassium salts of fatty acids");
    check_sv(done->steps[2].container, "");
    event = read_example(FL_KIND_STEP_ABANDONED);
    check_sv(event.body.step_abandoned.why, "leaves went pale");
    event = read_example(FL_KIND_PLACE_CLEANED);
    check_close(event.body.place_cleaned.efficacy, 0.99, 0, 0);
}

static void test_looks(void **state)
{
    (void)state;
    fl_event event = read_example(FL_KIND_LOOK_DONE);
    const fl_ev_look_done *look = &event.body.look_done;
    check_int(look->effort, FL_EFFORT_CAREFUL);
    check_int(look->devices, 1u << FL_DEVICE_YELLOW_CARD | 1u << FL_DEVICE_POTATO);
    check_close(look->frac_examined, 0.5, 0, 0);
    check_int(look->hands, FL_HANDS_CLEANED);
    check_true(look->is_after_dark && look->has_new_growth);
    check_int(look->n_findings, 2);
    check_sv(look->findings[0].threat, "fungus_gnat");
    check_int(look->findings[0].count, 2);
    check_true(look->findings[0].is_removed);
    check_int(look->findings[1].count, 1); /* not told */
    check_sv(look->findings[1].threat, "");
    check_true(fl_id_is_none(look->findings[1].lot));
    event = read_example(FL_KIND_FINDING_IDENTIFIED);
    check_sv(event.body.finding_identified.threat, "western_flower_thrips");
    event = read_example(FL_KIND_TOLERATED_SET);
    check_true(event.body.tolerated_set.is_tolerated);
    event = read_example(FL_KIND_CARD_SET);
    check_int(event.body.card_set.device, FL_DEVICE_YELLOW_CARD);
}

static void test_the_rest(void **state)
{
    (void)state;
    fl_event event = read_example(FL_KIND_ANIMAL_NOTED);
    check_int(event.body.animal_noted.what, FL_ANIMAL_TESTED);
    check_int(event.body.animal_noted.sampled_s, 1774688400); /* date -u: 2026-03-28T09:00:00Z */
    event = read_example(FL_KIND_READINGS_IMPORTED);
    check_int(event.body.readings_imported.from_s, 1772323200); /* date -u: 2026-03-01 */
    check_int(event.body.readings_imported.to_s, 1774986600);   /* date -u: 2026-03-31T19:50Z */
    check_int(event.body.readings_imported.n_readings, 4440);
    event = read_example(FL_KIND_BUILD_PLANNED);
    check_sv(event.body.build_planned.need_by, "2026-09-01");
    check_true(fl_sv_eq_cstr(event.body.build_planned.plan_json,
                             "{\"crew\":[\"springtails\"],\"materials\":[\"leaf_litter\"],"
                             "\"plants\":[{\"count\":3,\"plant\":"
                             "\"ba2a986d-c509-4de2-b50d-9d9e1da14830\"}]}"));
    event = read_example(FL_KIND_KNOWLEDGE_SET);
    check_close(event.body.knowledge_set.value, 0.55, 0, 0);
    event = read_example(FL_KIND_ROOM_SET);
    check_int(event.body.room_set.round_weekday, 6);
    check_int(event.body.room_set.round_effort, FL_EFFORT_CAREFUL);
    event = read_example(FL_KIND_PHOTO_ATTACHED);
    check_int(event.body.photo_attached.blob.len, 64);
    event = read_example(FL_KIND_EVENT_VOIDED);
    check_sv(event.body.event_voided.why, "typed into the wrong bin");
    event = read_example(FL_KIND_HOLD_LIFTED);
    check_sv(event.body.hold_lifted.why, "it was nothing");
    event = read_example(FL_KIND_HOLD_SET);
    check_sv(event.body.hold_set.why, "until the speck has a name");
}

/* What is absent: none, empty, NAN, -1, or what the guide says. */
static void test_absent(void **state)
{
    (void)state;
    fl_event event = read_ok("{\"id\":\"" ID "\",\"kind\":\"look_done\",\"occurred_at\":\"2026\","
                             "\"body\":{\"place\":\"" ID "\"}}");
    const fl_ev_look_done *look = &event.body.look_done;
    check_int(look->effort, FL_EFFORT_GLANCE);
    check_int(look->hands, FL_HANDS_UNSURE);
    check_close(look->frac_examined, 1, 0, 0);
    check_true(look->lots.count == 0 && look->n_findings == 0 && look->devices == 0);
    check_true(event.seq == 0 && event.device.len == 0 && event.note.len == 0);
    event = read_ok("{\"id\":\"" ID "\",\"kind\":\"place_set\",\"occurred_at\":\"2026\",\"body\":"
                    "{\"place\":\"" ID "\",\"name\":\"a\",\"kind\":\"bin\"}}");
    check_true(isnan(event.body.place_set.set_temp_c) && isnan(event.body.place_set.volume_l));
    check_int(event.body.place_set.shelf, -1);
    event = read_ok("{\"id\":\"" ID "\",\"kind\":\"room_set\",\"occurred_at\":\"2026\","
                    "\"body\":{}}");
    check_int(event.body.room_set.round_weekday, -1);
    event = read_ok("{\"id\":\"" ID "\",\"kind\":\"animal_noted\",\"occurred_at\":\"2026\","
                    "\"body\":{\"place\":\"" ID "\",\"what\":\"ill\"}}");
    check_true(event.body.animal_noted.sampled_s == INT64_MIN);
    event = read_ok("{\"id\":\"" ID "\",\"kind\":\"place_cleaned\",\"occurred_at\":\"2026\","
                    "\"body\":{\"place\":\"" ID "\"}}");
    check_int(event.body.place_cleaned.agent, FL_AGENT_NONE);
    check_true(isnan(event.body.place_cleaned.efficacy));
}

/* ---- times ---- */

static fl_event read_at(const char *when, int tz_offset_min)
{
    char text[400];
    fl_err err = {0};
    fl_event event = {0};
    (void)snprintf(text, sizeof text,
                   "{\"id\":\"" ID "\",\"kind\":\"event_voided\",\"occurred_at\":%s,"
                   "\"body\":{\"event\":\"" ID_2 "\"}}",
                   when);
    check_ok(fl_event_read(fl_sv_from_cstr(text), tz_offset_min, &arena, &event, NULL, &err), &err);
    return event;
}

/* The seconds are those of GNU date for the UTC moment beside each. */
static void test_times(void **state)
{
    (void)state;
    fl_event event = read_at("\"2026-03-01T18:30:00+01:00\"", 0);
    check_int(event.at_s, 1772386200); /* 2026-03-01T17:30:00Z */
    event = read_at("\"2026-03-01\"", 60);
    check_int(event.at_s, 1772362800); /* 2026-03-01T11:00:00Z */
    check_int(event.precision, FL_PRECISION_DAY);
    event = read_at("\"2026-03-01\",\"tz_offset_min\":-300", 60);
    check_int(event.at_s, 1772384400); /* 2026-03-01T17:00:00Z */
    event = read_at("\"2026-03\",\"tz_offset_min\":0", 60);
    check_int(event.at_s, 1773576000); /* 2026-03-15T12:00:00Z */
    check_int(event.precision, FL_PRECISION_MONTH);
    event = read_at("\"2026\"", -60);
    check_int(event.at_s, 1782910800); /* 2026-07-01T13:00:00Z */
    check_int(event.precision, FL_PRECISION_YEAR);
}

/* Vague times are written with the offset that makes them noon, and come back whole. */
static void test_vague_times_written(void **state)
{
    (void)state;
    static const char *const forms[] = {"\"2026-03-01\"", "\"2026-03\"", "\"2023\"",
                                        "\"2024-02-29\""};
    static const int offsets[] = {0, 60, -300, 330, 345, 720, 780, 840, -660, -719};
    for (size_t i = 0; i < sizeof forms / sizeof forms[0]; i++) {
        for (size_t j = 0; j < sizeof offsets / sizeof offsets[0]; j++) {
            fl_err err = {0};
            fl_event back = {0};
            fl_event event = read_at(forms[i], offsets[j]);
            fl_sv bytes = written(&event);
            check_ok(fl_event_decode(bytes, 17, &arena, &back, &err), &err);
            check_int(back.at_s, event.at_s);
            check_int(back.precision, event.precision);
        }
    }
    fl_event event = read_at("\"2026-03\"", 780);
    check_contains(written(&event).ptr, "\"occurred_at\":\"2026-03\",\"tz_offset_min\":780");
    event = read_at("\"2026-03-01\"", 60);
    check_contains(written(&event).ptr, "\"occurred_at\":\"2026-03-01\",\"tz_offset_min\":60");
    event = read_at("\"2026-03-01T18:30:00.75+01:00\"", 60);
    check_contains(written(&event).ptr, "\"occurred_at\":\"2026-03-01T17:30:00Z\"}");
}

/* ---- refusals ---- */

static void check_refused(const char *text, fl_status code, const char *message)
{
    fl_err err = {0};
    fl_str bytes;
    fl_event event;
    memset(&event, 0x5a, sizeof event);
    fl_event untouched = event;
    fl_str_init(&bytes, 100);
    fl_str_append_cstr(&bytes, "before");
    fl_status got = fl_event_read(fl_sv_from_cstr(text), 0, &arena, &event, &bytes, &err);
    check_int(got, code);
    check_status(&err, code);
    check_contains(err.message, message);
    check_sv(fl_str_sv(&bytes), "before");
    check_int(memcmp(&event, &untouched, sizeof event), 0);
    fl_str_done(&bytes);
}

#define EVENT(kind, body)                                                                          \
    "{\"id\":\"" ID "\",\"kind\":\"" kind                                                          \
    "\",\"occurred_at\":\"2026-03-01T18:30:00Z\",\"body\":" body "}"

static void test_refused_envelopes(void **state)
{
    (void)state;
    check_refused("", FL_EFORMAT, "JSON line 1");
    check_refused("{\"id\":1,}", FL_EFORMAT, "JSON line 1");
    check_refused("{\"id\":1,\"id\":2}", FL_EFORMAT, "duplicate");
    check_refused("[]", FL_EINVAL, "(top): give an event");
    check_refused("7", FL_EINVAL, "(top): give an event");
    check_refused("{}", FL_EINVAL, "/kind: missing");
    check_refused("{\"kind\":7}", FL_EINVAL, "/kind: missing or no text");
    check_refused(EVENT("lot_move", "{}"), FL_EINVAL,
                  "/kind: \"lot_move\" is no kind of event; near: lot_moved, ");
    check_refused("{\"kind\":\"lot_moved\"}", FL_EINVAL, "(top): \"id\" is missing");
    check_refused("{\"id\":\"x\",\"kind\":\"event_voided\",\"occurred_at\":\"2026\",\"body\":{}}",
                  FL_EINVAL, "/id: \"x\": give a UUID such as");
    check_refused(EVENT("event_voided", "[]"), FL_EINVAL, "/body: a list: give an object");
    check_refused(EVENT("event_voided", "{\"event\":\"" ID_NONE "\"}"), FL_EINVAL,
                  "/body/event: all zero: give a random UUID");
}

static void test_refused_times(void **state)
{
    (void)state;
    static const char form[] = "{\"id\":\"" ID "\",\"kind\":\"event_voided\",\"occurred_at\":%s,"
                               "\"body\":{\"event\":\"" ID_2 "\"}}";
    static const struct {
        const char *when;
        fl_status code;
        const char *message;
    } cases[] = {
        {"\"yesterday\"", FL_EINVAL, "/occurred_at: \"yesterday\": give 2026-03-01T18:30:00Z"},
        {"1772389800", FL_EINVAL, "/occurred_at: 1772389800: give a text"},
        {"\"2026-02-29\"", FL_EDOMAIN, "/occurred_at: time \"2026-02-29\": there is no such"},
        {"\"2026-13\"", FL_EDOMAIN, "/occurred_at"},
        {"\"0000\"", FL_EDOMAIN, "/occurred_at"},
        {"\"2026-03-01T24:00:00Z\"", FL_EDOMAIN, "/occurred_at"},
        {"\"2026-03-01T18:30:00+24:00\"", FL_EFORMAT, "/occurred_at"},
        {"\"2026\",\"tz_offset_min\":841", FL_EINVAL, "/tz_offset_min: 841: give at most 840"},
        {"\"2026\",\"tz_offset_min\":\"+1\"", FL_EINVAL, "/tz_offset_min: \"+1\": give a whole"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char text[400];
        (void)snprintf(text, sizeof text, form, cases[i].when);
        check_refused(text, cases[i].code, cases[i].message);
    }
}

static void test_refused_bodies(void **state)
{
    (void)state;
    check_refused(EVENT("lot_lost", "{\"lot\":\"" ID "\",\"count\":0}"), FL_EINVAL,
                  "/body/count: 0: give at least 1");
    check_refused(EVENT("lot_lost", "{\"lot\":\"" ID "\"}"), FL_EINVAL,
                  "/body: \"count\" is missing");
    check_refused(EVENT("lot_lost", "{\"lot\":\"" ID "\",\"count\":1,\"reason\":\"\"}"), FL_EINVAL,
                  "/body: \"reason\" is not known here: give lot, count, why");
    check_refused(EVENT("bottle_opened",
                        "{\"bottle\":\"" ID "\",\"agent\":\"bleach\",\"name\":\"b\","
                        "\"label_pct\":60}"),
                  FL_EINVAL, "/body/label_pct: 60: give at most 20");
    check_refused(EVENT("tolerated_set", "{\"place\":\"" ID "\",\"threat\":\"Spider mite\","
                                         "\"is_tolerated\":true}"),
                  FL_EINVAL, "/body/threat: \"Spider mite\": give a code such as fungus_gnat");
    check_refused(EVENT("build_planned", "{\"build\":\"" ID "\",\"name\":\"b\","
                                         "\"need_by\":\"2026-02-30\"}"),
                  FL_EDOMAIN, "/body/need_by: time \"2026-02-30\": there is no such");
    check_refused(EVENT("animal_noted", "{\"place\":\"" ID "\",\"what\":\"tested\","
                                        "\"sampled_at\":\"2026-02-30\"}"),
                  FL_EDOMAIN, "/body/sampled_at");
}

static void test_refused_sense(void **state)
{
    (void)state;
    check_refused(EVENT("lot_cut", "{\"mother\":\"" ID "\",\"lot\":\"" ID "\",\"count\":1,\"form\":"
                                   "\"potted\",\"use\":\"stock\",\"place\":\"" ID_2 "\"}"),
                  FL_EINVAL, "/body/lot: names itself");
    check_refused(EVENT("lot_split", "{\"lot\":\"" ID_2 "\",\"new_lot\":\"" ID_2 "\",\"count\":1}"),
                  FL_EINVAL, "/body/new_lot: names itself");
    check_refused(EVENT("event_voided", "{\"event\":\"0B8E6F1C-5D2A-4C3E-9F10-2A7B3C4D5E6F\"}"),
                  FL_EINVAL, "/body/event: names itself");
    check_refused(EVENT("look_done", "{\"place\":\"" ID "\",\"findings\":[{\"finding\":\"" ID "\"},"
                                     "{\"finding\":\"" ID_2 "\"},{\"finding\":\"" ID "\"}]}"),
                  FL_EINVAL, "/body/findings/2/finding: as in entry 0");
    check_refused(EVENT("readings_imported",
                        "{\"place\":\"" ID "\",\"blob\":\"0123456789abcdef0123456789abcdef"
                        "0123456789abcdef0123456789abcdef\",\"from_at\":\"2026-03-02T00:00:00Z\","
                        "\"to_at\":\"2026-03-01T23:59:59Z\",\"n_readings\":1}"),
                  FL_EINVAL, "/body/to_at: earlier than from_at");
}

/* Limits are in bytes: 200 letters fit, 101 of two bytes each do not, though JSON Schema would
 * take 200 characters. */
static void test_bytes_of_texts(void **state)
{
    (void)state;
    char name[FL_NAME_BYTES_MAX * 2 + 1];
    char text[1024];
    static const char form[] = EVENT("hold_set", "{\"hold\":\"" ID "\",\"place\":\"" ID "\"}");
    static const char device[] = "{\"device\":\"%s\",%s";
    memset(name, 'n', FL_NAME_BYTES_MAX);
    name[FL_NAME_BYTES_MAX] = '\0';
    (void)snprintf(text, sizeof text, device, name, form + 1);
    check_int(read_ok(text).device.len, FL_NAME_BYTES_MAX);
    for (int i = 0; i <= FL_NAME_BYTES_MAX / 2; i++) {
        memcpy(name + 2 * i, "\xc3\xa9", 3);
    }
    (void)snprintf(text, sizeof text, device, name, form + 1);
    check_refused(text, FL_EINVAL, "/device: 202 bytes: give at most 200");
}

static char *spaced(size_t len, char fill, const char *tail)
{
    char *text = malloc(len + strlen(tail) + 1);
    memset(text, fill, len);
    memcpy(text + len, tail, strlen(tail) + 1);
    return text;
}

static void test_sizes(void **state)
{
    (void)state;
    static const char event[] = EVENT("event_voided", "{\"event\":\"" ID_2 "\"}");
    char *text = spaced(FL_EVENT_BYTES_MAX - (sizeof event - 1), ' ', event);
    check_int(read_ok(text).kind, FL_KIND_EVENT_VOIDED);
    free(text);
    text = spaced(FL_EVENT_BYTES_MAX - (sizeof event - 1) + 1, ' ', event);
    check_refused(text, FL_ETOOBIG, "event: 65537 bytes: at most 65536");
    free(text);
    /* short in, long out: 1e14 has four characters and fifteen digits */
    size_t len = 0;
    text = malloc(FL_EVENT_BYTES_MAX);
    len += (size_t)snprintf(text, 400,
                            "{\"id\":\"" ID "\",\"kind\":\"build_planned\",\"occurred_at\":"
                            "\"2026\",\"body\":{\"build\":\"" ID "\",\"name\":\"b\","
                            "\"need_by\":\"2026-09-01\",\"plan_json\":{\"n\":[0");
    while (len < 30000) {
        memcpy(text + len, ",1e14", 6);
        len += 5;
    }
    memcpy(text + len, "]}}}", 5);
    check_refused(text, FL_ETOOBIG, "more than 65536 bytes");
    free(text);
}

/* A caller's text that has no room is refused whole. */
static void test_no_room(void **state)
{
    (void)state;
    fl_err err = {0};
    fl_event event = {0};
    fl_str bytes;
    fl_str_init(&bytes, 100);
    const char *text = EVENT("event_voided", "{\"event\":\"" ID_2 "\"}");
    check_int(fl_event_read(fl_sv_from_cstr(text), 0, &arena, &event, &bytes, &err), FL_ETOOBIG);
    check_status(&err, FL_ETOOBIG);
    check_int(bytes.len, 0);
    check_int(event.at_s, 0);
    event = read_ok(text);
    check_int(fl_event_write(&event, &bytes, &err), FL_ETOOBIG);
    check_int(bytes.len, 0);
    fl_str_done(&bytes);
}

/* Journal bytes that were damaged give an error. */
static void test_decode_damaged(void **state)
{
    (void)state;
    static const char *const damaged[] = {
        "",
        "[]",
        "{\"kind\":\"lot_lost\"}",
        EVENT("nothing", "{}"),
        EVENT("lot_lost", "{}"),
        EVENT("lot_lost", "{\"lot\":7,\"count\":1}"),
        EVENT("lot_lost", "{\"lot\":\"" ID "\",\"count\":1.5}"),
        EVENT("lot_lost", "{\"lot\":\"" ID "\",\"count\":1,\"why\":2}"),
        EVENT("lot_moved", "{\"lots\":{},\"to\":\"" ID "\"}"),
        EVENT("lot_moved", "{\"lots\":[1],\"to\":\"" ID "\"}"),
        EVENT("card_set", "{\"place\":\"" ID "\",\"device\":\"net\"}"),
        EVENT("card_set", "{\"place\":\"" ID "\",\"device\":\"bait\",\"is_taken_away\":1}"),
        EVENT("look_done", "{\"place\":\"" ID "\",\"devices\":\"bait\"}"),
        EVENT("look_done", "{\"place\":\"" ID "\",\"devices\":[\"net\"]}"),
        EVENT("look_done", "{\"place\":\"" ID "\",\"findings\":{}}"),
        EVENT("look_done", "{\"place\":\"" ID "\",\"findings\":[7]}"),
        EVENT("look_done", "{\"place\":\"" ID "\",\"frac_examined\":\"all\"}"),
        EVENT("build_planned", "{\"build\":\"" ID "\",\"name\":\"b\",\"need_by\":\"2026\"}"),
        "{\"id\":\"" ID
        "\",\"kind\":\"event_voided\",\"occurred_at\":\"2026\",\"tz_offset_min\":9999,"
        "\"body\":{\"event\":\"" ID_2 "\"}}",
        "{\"id\":\"" ID "\",\"kind\":\"event_voided\",\"occurred_at\":\"2026\"}",
    };
    for (size_t i = 0; i < sizeof damaged / sizeof damaged[0]; i++) {
        fl_err err = {0};
        fl_event event = {.at_s = 77};
        fl_status status = fl_event_decode(fl_sv_from_cstr(damaged[i]), 0, &arena, &event, &err);
        check_true(status == FL_EFORMAT || status == FL_EINVAL || status == FL_EDOMAIN);
        check_status(&err, status);
        check_int(event.at_s, 77);
    }
}

/* ---- writing what should not be ---- */

static void check_unwritable(const fl_event *event, fl_status code, const char *message)
{
    fl_err err = {0};
    fl_str bytes;
    fl_str_init(&bytes, FL_EVENT_BYTES_MAX);
    check_int(fl_event_write(event, &bytes, &err), code);
    check_status(&err, code);
    check_contains(err.message, message);
    check_int(bytes.len, 0);
    fl_str_done(&bytes);
}

static void test_unwritable_times(void **state)
{
    (void)state;
    fl_event event = read_example(FL_KIND_EVENT_VOIDED);
    event.at_s = INT64_MAX;
    check_unwritable(&event, FL_EDOMAIN, "occurred_at: give a time in the years");
    event.at_s = 1772389800;
    event.precision = FL_PRECISION_HOUR;
    check_unwritable(&event, FL_EDOMAIN, "a vague time must be a local noon");
    event.precision = FL_PRECISION_MONTH;
    check_unwritable(&event, FL_EDOMAIN, "occurred_at: 2026-03-01T18:30:00Z at precision 3");
    event.precision = FL_PRECISION_DAY;
    event.at_s++;
    check_unwritable(&event, FL_EDOMAIN, "a vague time must be a local noon");
    event = read_example(FL_KIND_READINGS_IMPORTED);
    event.body.readings_imported.from_s = INT64_MIN;
    check_unwritable(&event, FL_EDOMAIN, "from_at: give a time in the years");
}

static void test_unwritable_values(void **state)
{
    (void)state;
    fl_event event = read_example(FL_KIND_BOTTLE_TESTED);
    event.body.bottle_tested.strength_pct = NAN;
    check_unwritable(&event, FL_EINVAL, "strength_pct: not a number");
    event.body.bottle_tested.strength_pct = 101;
    check_unwritable(&event, FL_EINVAL, "/body/strength_pct: 101: give at most 100");
    event = read_example(FL_KIND_CARD_SET);
    event.body.card_set.device = FL_DEVICE_COUNT;
    check_unwritable(&event, FL_EINVAL, "device: no word has this number");
    event = read_example(FL_KIND_PLACE_SET);
    event.body.place_set.uses = 1u << FL_USE_COUNT;
    check_unwritable(&event, FL_EINVAL, "uses: no word has one of these bits");
    event = read_example(FL_KIND_HOLD_SET);
    event.body.hold_set.why = FL_SV("\xff");
    check_unwritable(&event, FL_EFORMAT, "why: the text is not UTF-8");
    event.body.hold_set.why = (fl_sv){"a\0b", 3};
    check_unwritable(&event, FL_EFORMAT, "JSON line");
    event = read_example(FL_KIND_BUILD_PLANNED);
    event.body.build_planned.plan_json = FL_SV("{]");
    check_unwritable(&event, FL_EFORMAT, "plan_json: ");
    event.body.build_planned.plan_json = FL_SV("[]");
    check_unwritable(&event, FL_EINVAL, "/body/plan_json: a list: give an object");
    event.body.build_planned.plan_json = FL_SV("{\"a\":[[[[[[[[[[[[[[[[[[1]]]]]]]]]]]]]]]]]]}");
    check_unwritable(&event, FL_EFORMAT, "nested deeper");
}

static void test_unwritable_lists(void **state)
{
    (void)state;
    fl_event event = read_example(FL_KIND_STEP_DONE);
    fl_ev_step step = event.body.step_done.steps[0];
    step.agent = FL_AGENT_COUNT;
    event.body.step_done.steps = &step;
    event.body.step_done.n_steps = 1;
    check_unwritable(&event, FL_EINVAL, "agent: no word has this number");
    event.body.step_done.n_steps = 0;
    check_unwritable(&event, FL_EINVAL, "/body/steps: 0 entries: give at least 1");
    event = read_example(FL_KIND_STEP_STARTED);
    event.body.step_started.step.dose_mg_per_l = INFINITY;
    check_unwritable(&event, FL_EINVAL, "dose_mg_per_l: not a number");
    event = read_example(FL_KIND_SOURCE_SET);
    event.body.source_set.source = (fl_id){{0}};
    check_unwritable(&event, FL_EINVAL, "/body/source: all zero");
    event = read_example(FL_KIND_SOURCE_SET);
    event.body.source_set.name = FL_SV("");
    check_unwritable(&event, FL_EINVAL, "/body/name: \"\": give at least 1 characters");
}

#define WITH_ARENA(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)
static const struct CMUnitTest tests[] = {
    WITH_ARENA(test_canonical_bytes),
    WITH_ARENA(test_round_trip),
    WITH_ARENA(test_definitions),
    WITH_ARENA(test_lots),
    WITH_ARENA(test_steps),
    WITH_ARENA(test_looks),
    WITH_ARENA(test_the_rest),
    WITH_ARENA(test_absent),
    WITH_ARENA(test_times),
    WITH_ARENA(test_vague_times_written),
    WITH_ARENA(test_refused_envelopes),
    WITH_ARENA(test_refused_times),
    WITH_ARENA(test_refused_bodies),
    WITH_ARENA(test_refused_sense),
    WITH_ARENA(test_bytes_of_texts),
    WITH_ARENA(test_sizes),
    WITH_ARENA(test_no_room),
    WITH_ARENA(test_decode_damaged),
    WITH_ARENA(test_unwritable_times),
    WITH_ARENA(test_unwritable_values),
    WITH_ARENA(test_unwritable_lists),
};
FL_TEST_MAIN(tests)
