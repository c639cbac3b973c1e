/* reckon runsheet: the order of an evening at the sink, from a plan file. Reads the plan, asks
 * core/bench, writes the items; knows no rule itself. */
#include <math.h>

#include "base/alloc.h"
#include "base/civil.h"
#include "base/shown.h"
#include "cli/command.h"
#include "cli/reckon.h"
#include "core/bench/bench.h"

#define PLAN_BYTES_MAX ((size_t)1 << 20)
#define TUBS_USUAL 2

enum { PLAN, OPTION_COUNT };

static const fl_arg options[OPTION_COUNT] = {
    [PLAN] = {"plan", FL_ARG_TEXT, .is_required = true,
              .help =
                  "a JSON file; -: standard input\n\n"
                  "  {\"start\": \"2026-03-01T18:30:00+01:00\" (optional), \"tubs\": 2,\n"
                  "   \"lots\": [{\"name\": \"fern\", \"purchase\": \"market, 1 March\",\n"
                  "     \"risk\": 2 (smaller is cleaner), \"established\": false,\n"
                  "     \"steps\": [\n"
                  "       {\"name\": \"strip\", \"hands_s\": 180},\n"
                  "       {\"name\": \"dip\", \"hands_s\": 20, \"unattended_s\": 120, "
                  "\"out_s\": 20,\n"
                  "        \"needs_tub\": true, \"may_overrun\": false},\n"
                  "       {\"name\": \"drain\", \"unattended_s\": 600}]}],\n"
                  "   \"chores\": {\"hand_wash_s\": 60, …} (optional)}\n\n"
                  "  out_s: hands at the end (30 when it must be taken out). may_overrun: false\n"
                  "  with a tub, true without, when not told. chores: docs/models/runsheet.md."},
};

/* Everything that lives as long as the plan. */
typedef struct plan_file {
    fl_str text;
    fl_json_doc *doc;
    fl_bench_plan plan;
    fl_bench_lot *lots;
    fl_bench_step (*steps)[FL_BENCH_STEPS_MAX];
    int64_t start_utc_s;
    bool has_start;
} plan_file;

/* Refuses members that are none of `known` ("a|b|c"): a mistyped name must not change the rules. */
static fl_status check_members(const fl_json_value *object, const char *what, const char *known,
                               fl_err *err)
{
    if (fl_json_type_of(object) != FL_JSON_OBJECT) {
        return fl_fail(err, FL_EINVAL, "plan: %s must be an object", what);
    }
    for (size_t i = 0; i < fl_json_size(object); i++) {
        fl_sv key;
        bool is_known = false;
        (void)fl_json_member(object, i, &key);
        fl_sv rest = fl_sv_from_cstr(known);
        while (rest.len > 0) {
            is_known = fl_sv_eq(fl_sv_split(&rest, '|'), key) || is_known;
        }
        if (!is_known) {
            return fl_fail(err, FL_EINVAL, "plan: %s has \"%.*s\": give %s", what, FL_SHOWN(key),
                           known);
        }
    }
    return FL_OK;
}

/* An optional whole number of seconds. */
static fl_status read_s(const fl_json_value *object, const char *key, int *out, fl_err *err)
{
    const fl_json_value *value = fl_json_get(object, key);
    int64_t s = 0;
    if (value == NULL) {
        return FL_OK;
    }
    if (!fl_json_int(value, &s) || s < 0 || s > FL_BENCH_STEP_S_MAX) {
        return fl_fail(err, FL_EINVAL, "plan: %s must be a whole number of 0 to %d", key,
                       FL_BENCH_STEP_S_MAX);
    }
    *out = (int)s;
    return FL_OK;
}

/* An optional yes or no. */
static fl_status read_bool(const fl_json_value *object, const char *key, bool *out, fl_err *err)
{
    const fl_json_value *value = fl_json_get(object, key);
    if (value == NULL) {
        return FL_OK;
    }
    if (fl_json_type_of(value) != FL_JSON_BOOL) {
        return fl_fail(err, FL_EINVAL, "plan: %s must be true or false", key);
    }
    *out = fl_json_bool(value, false);
    return FL_OK;
}

/* A name under "name", or under the word that the answer uses. */
static fl_status read_name(const fl_json_value *object, const char *key, fl_sv *out, fl_err *err)
{
    const fl_json_value *value = fl_json_get(object, "name");
    fl_sv name = fl_json_text(value != NULL ? value : fl_json_get(object, key));
    if (name.len == 0) {
        return fl_fail(err, FL_EINVAL, "plan: a %s has no name", key);
    }
    *out = name;
    return FL_OK;
}

static fl_status read_step(const fl_json_value *value, fl_bench_step *out, fl_err *err)
{
    fl_status status = check_members(
        value, "a step", "name|step|hands_s|unattended_s|out_s|needs_tub|may_overrun", err);
    fl_bench_step step = {.out_s = -1};
    if (status == FL_OK) {
        status = read_name(value, "step", &step.name, err);
    }
    if (status == FL_OK) {
        status = read_s(value, "hands_s", &step.hands_s, err);
    }
    if (status == FL_OK) {
        status = read_s(value, "unattended_s", &step.unattended_s, err);
    }
    if (status == FL_OK) {
        status = read_s(value, "out_s", &step.out_s, err);
    }
    if (status == FL_OK) {
        status = read_bool(value, "needs_tub", &step.needs_tub, err);
    }
    step.may_overrun = !step.needs_tub;
    if (status == FL_OK) {
        status = read_bool(value, "may_overrun", &step.may_overrun, err);
    }
    *out = step;
    return status;
}

static fl_status read_steps(const fl_json_value *value, fl_bench_lot *lot, fl_bench_step *steps,
                            fl_err *err)
{
    size_t n = fl_json_size(value);
    if (fl_json_type_of(value) != FL_JSON_ARRAY || n < 1 || n > FL_BENCH_STEPS_MAX) {
        return fl_fail(err, FL_EINVAL, "plan: lot \"%.*s\" needs \"steps\", a list of 1 to %d",
                       FL_SHOWN(lot->name), FL_BENCH_STEPS_MAX);
    }
    for (size_t i = 0; i < n; i++) {
        fl_status status = read_step(fl_json_at(value, i), &steps[i], err);
        if (status != FL_OK) {
            return status;
        }
    }
    lot->steps = steps;
    lot->n_steps = n;
    return FL_OK;
}

static fl_status read_lot(const fl_json_value *value, fl_bench_lot *lot, fl_bench_step *steps,
                          fl_err *err)
{
    fl_status status =
        check_members(value, "a lot", "name|lot|purchase|risk|established|steps", err);
    if (status == FL_OK) {
        status = read_name(value, "lot", &lot->name, err);
    }
    if (status != FL_OK) {
        return status;
    }
    lot->purchase = fl_json_text(fl_json_get(value, "purchase"));
    const fl_json_value *risk = fl_json_get(value, "risk");
    if (risk != NULL && !fl_json_number(risk, &lot->risk)) {
        return fl_fail(err, FL_EINVAL, "plan: risk of lot \"%.*s\" must be a number",
                       FL_SHOWN(lot->name));
    }
    status = read_bool(value, "established", &lot->is_established, err);
    return status != FL_OK ? status : read_steps(fl_json_get(value, "steps"), lot, steps, err);
}

static fl_status read_chores(const fl_json_value *value, fl_bench_chores *c, fl_err *err)
{
    const struct {
        const char *key;
        int *out;
    } all[] = {{"hand_wash_s", &c->hand_wash_s},
               {"tub_hands_s", &c->tub_hands_s},
               {"tub_contact_s", &c->tub_contact_s},
               {"bag_waste_s", &c->bag_waste_s},
               {"pour_away_s", &c->pour_away_s},
               {"tools_s", &c->tools_s},
               {"sink_s", &c->sink_s},
               {"contact_s", &c->contact_s},
               {"last_wash_s", &c->last_wash_s}};
    if (value == NULL) {
        return FL_OK;
    }
    fl_status status = check_members(value, "chores",
                                     "hand_wash_s|tub_hands_s|tub_contact_s|bag_waste_s|"
                                     "pour_away_s|tools_s|sink_s|contact_s|last_wash_s",
                                     err);
    for (size_t i = 0; status == FL_OK && i < sizeof all / sizeof all[0]; i++) {
        status = read_s(value, all[i].key, all[i].out, err);
    }
    return status;
}

static fl_status read_start(const fl_json_value *value, plan_file *file, fl_err *err)
{
    fl_precision precision;
    if (value == NULL) {
        return FL_OK;
    }
    if (fl_json_type_of(value) != FL_JSON_STRING) {
        return fl_fail(err, FL_EINVAL,
                       "plan: start must be a text such as "
                       "\"2026-03-01T18:30:00+01:00\"");
    }
    file->has_start = true;
    return fl_civil_parse(fl_json_text(value), 0, &file->start_utc_s, &precision, err);
}

static fl_status read_lots(const fl_json_value *value, plan_file *file, fl_err *err)
{
    size_t n = fl_json_size(value);
    if (fl_json_type_of(value) != FL_JSON_ARRAY || n < 1 || n > FL_BENCH_LOTS_MAX) {
        return fl_fail(err, FL_EINVAL, "plan: \"lots\" must be a list of 1 to %d",
                       FL_BENCH_LOTS_MAX);
    }
    file->lots = fl_alloc(n, sizeof file->lots[0]);
    file->steps = fl_alloc(n, sizeof file->steps[0]);
    for (size_t i = 0; i < n; i++) {
        fl_status status = read_lot(fl_json_at(value, i), &file->lots[i], file->steps[i], err);
        if (status != FL_OK) {
            return status;
        }
    }
    file->plan.lots = file->lots;
    file->plan.n_lots = n;
    return FL_OK;
}

static fl_status read_plan(plan_file *file, fl_err *err)
{
    fl_status status = fl_json_parse(fl_str_sv(&file->text), &file->doc, err);
    if (status != FL_OK) {
        return status;
    }
    const fl_json_value *root = fl_json_root(file->doc);
    file->plan.n_tubs = TUBS_USUAL;
    file->plan.chores = fl_bench_chores_usual();
    status = check_members(root, "it", "start|tubs|lots|chores", err);
    if (status == FL_OK) {
        status = read_start(fl_json_get(root, "start"), file, err);
    }
    if (status == FL_OK) {
        status = read_s(root, "tubs", &file->plan.n_tubs, err);
    }
    if (status == FL_OK) {
        status = read_chores(fl_json_get(root, "chores"), &file->plan.chores, err);
    }
    return status != FL_OK ? status : read_lots(fl_json_get(root, "lots"), file, err);
}

/* A moment of the evening: the time of day when the plan has one, else seconds from its start. */
static void put_moment(const plan_file *file, const char *key, int s, fl_json_writer *w)
{
    char text[FL_CIVIL_TEXT_MAX];
    if (file->has_start) {
        fl_json_put_cstr(w, key, fl_civil_format_utc(text, file->start_utc_s + s));
    } else {
        fl_json_put_int(w, key, s);
    }
}

static void put_station(const fl_bench_item *item, fl_json_writer *w)
{
    static const char *const tubs[FL_BENCH_TUBS_MAX] = {"tub 1", "tub 2", "tub 3", "tub 4",
                                                        "tub 5", "tub 6", "tub 7", "tub 8"};
    const char *station = "hands";
    if (item->tub >= 0) {
        station = tubs[item->tub];
    } else if (item->out_from_s > item->hands_until_s) {
        station = "standing"; /* by itself: on a rack, or a disinfectant at work */
    }
    fl_json_put_cstr(w, "station", station);
}

static void put_item(const plan_file *file, const fl_bench_item *item, fl_json_writer *w)
{
    fl_json_begin_object(w, NULL);
    if (item->lot >= 0) {
        fl_json_put_text(w, "lot", file->plan.lots[item->lot].name);
    } else {
        fl_json_put_null(w, "lot");
    }
    fl_json_put_text(w, "step", fl_bench_item_name(&file->plan, item));
    fl_json_put_int(w, "start_s", item->start_s);
    fl_json_put_int(w, "end_s", item->end_s);
    put_station(item, w);
    fl_json_put_int(w, "hands_until_s", item->hands_until_s);
    fl_json_put_int(w, "out_from_s", item->out_from_s);
    fl_json_end(w);
}

static fl_status answer(const plan_file *file, fl_json_writer *w, fl_err *err)
{
    fl_bench_sheet *sheet = fl_alloc(1, sizeof *sheet);
    void *work = fl_alloc(1, fl_bench_work_bytes());
    fl_status status = fl_bench_schedule(&file->plan, 0, work, sheet, err);
    if (status == FL_OK) {
        put_moment(file, "start", 0, w);
        put_moment(file, "finish", sheet->finish_s, w);
        fl_json_put_int(w, "finish_s", sheet->finish_s);
        fl_json_put_int(w, "bound_s", sheet->bound_s);
        fl_json_put_bool(w, "is_optimal", sheet->is_optimal);
        fl_json_begin_array(w, "items");
        for (size_t i = 0; i < sheet->n_items; i++) {
            put_item(file, &sheet->items[i], w);
        }
        fl_json_end(w);
    }
    fl_alloc_free(work);
    fl_alloc_free(sheet);
    return status;
}

static fl_status reckon(const fl_arg_value *value, fl_json_writer *w, fl_err *err)
{
    plan_file file = {0};
    fl_str path;
    fl_str_init(&path, 4096);
    fl_str_init(&file.text, PLAN_BYTES_MAX);
    fl_str_append(&path, value[PLAN].text);
    fl_status status = fl_cli_read_file(path.ptr, PLAN_BYTES_MAX, &file.text, err);
    if (status == FL_OK) {
        status = read_plan(&file, err);
    }
    if (status == FL_OK) {
        status = answer(&file, w, err);
    }
    fl_alloc_free(file.steps);
    fl_alloc_free(file.lots);
    fl_json_free(file.doc);
    fl_str_done(&file.text);
    fl_str_done(&path);
    return status;
}

extern const fl_reckon_topic fl_reckon_topic_runsheet;
const fl_reckon_topic fl_reckon_topic_runsheet = {
    .name = "runsheet",
    .summary = "who is handled when tonight: clean before suspect, then the shortest evening",
    .example = "runsheet --plan evening.json",
    .option = options,
    .option_count = OPTION_COUNT,
    .fn = reckon,
};
