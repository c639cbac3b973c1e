/* reckon clearance: the chance that a threat is still there, day by day, from a scenario file. */
#include "app/scenario.h"
#include "base/alloc.h"
#include "cli/command.h"
#include "cli/reckon.h"

enum { SCENARIO, OPTION_COUNT };

static const fl_arg options[OPTION_COUNT] = {
    [SCENARIO] = {"scenario", FL_ARG_TEXT, .is_required = true,
                  .help = "a JSON file; -: standard input"},
};

static void put_day(const fl_scenario *scenario, int number, const fl_scenario_day *day,
                    fl_json_writer *w)
{
    fl_json_begin_object(w, NULL);
    fl_json_put_int(w, "day", number);
    fl_json_put_number(w, "alive", day->mass.alive);
    fl_json_put_number(w, "found", day->mass.found);
    fl_json_put_number(w, "dead", day->mass.dead);
    fl_json_begin_array(w, "alive_by_stage");
    for (int s = 0; s < scenario->model.n_stages; s++) {
        fl_json_put_number(w, NULL, day->alive_by_stage[s]);
    }
    fl_json_end(w);
    fl_json_put_number(w, "chance_one", day->chance.one);
    fl_json_put_number(w, "chance_many", day->chance.many);
    fl_json_put_number(w, "chance", day->chance.chance);
    fl_json_end(w);
}

static fl_status run(const fl_scenario *scenario, fl_json_writer *w, fl_err *err)
{
    fl_scenario_day *day = fl_alloc((size_t)scenario->days + 1, sizeof day[0]);
    fl_status status = fl_scenario_run(scenario, day, err);
    if (status == FL_OK) {
        fl_json_begin_array(w, "days");
        for (int d = 0; d <= scenario->days; d++) {
            put_day(scenario, d, &day[d], w);
        }
        fl_json_end(w);
    }
    fl_alloc_free(day);
    return status;
}

static fl_status reckon(const fl_arg_value *value, fl_json_writer *w, fl_err *err)
{
    fl_str path;
    fl_str text;
    fl_scenario scenario = {0};
    fl_str_init(&path, 4096);
    fl_str_init(&text, FL_SCENARIO_BYTES_MAX);
    fl_str_append(&path, value[SCENARIO].text);
    fl_status status = fl_cli_read_file(path.ptr, FL_SCENARIO_BYTES_MAX, &text, err);
    if (status == FL_OK) {
        status = fl_scenario_parse(fl_str_sv(&text), &scenario, err);
    }
    if (status == FL_OK) {
        status = run(&scenario, w, err);
    }
    fl_scenario_done(&scenario);
    fl_str_done(&text);
    fl_str_done(&path);
    return status;
}

extern const fl_reckon_topic fl_reckon_topic_clearance;
const fl_reckon_topic fl_reckon_topic_clearance = {
    .name = "clearance",
    .summary = "how likely a threat is still there, day by day",
    .example = "clearance --scenario scenario.json",
    .option = options,
    .option_count = OPTION_COUNT,
    .fn = reckon,
};
