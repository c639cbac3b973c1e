/* reckon residue: what is left of a pesticide after so many days. */
#include <math.h>

#include "base/shown.h"
#include "cli/reckon.h"
#include "core/residue/residue.h"

enum { ACTIVE, HALF_LIFE, DAYS, RINSED, OUTDOORS, OPTION_COUNT };

static const fl_arg options[OPTION_COUNT] = {
    [ACTIVE] = {"active", FL_ARG_TEXT,
                .help = "the pesticide's active: imidacloprid, permethrin …"},
    [HALF_LIFE] = {"half-life-days", FL_ARG_NUMBER, .help = "instead: a half-life on the plant"},
    [DAYS] = {"days", FL_ARG_NUMBER, .is_required = true, .help = "days since it was put on"},
    [RINSED] = {"rinsed", FL_ARG_FLAG, .help = "washed since: credited once, never for systemics"},
    [OUTDOORS] = {"outdoors", FL_ARG_FLAG,
                  .help = "stood in sunlight (indoors, light-broken actives last about 3 x)"},
};

static const char *const movements[] = {"surface", "slight", "translaminar", "partial", "systemic"};
static const char *const flags[] = {"unknown", "caution", "block"};

/* The names the table knows, for the line that says what would do. */
static fl_status fail_unknown(fl_sv given, fl_err *err)
{
    fl_str names;
    fl_str_init(&names, 150);
    for (size_t i = 0; i < fl_active_count(); i++) {
        fl_str_appendf(&names, "%s%s", i == 0 ? "" : ", ", fl_active_at(i).code);
    }
    fl_status status = fl_fail(err, FL_EINVAL,
                               "active \"%.*s\" is not in the table (%s …); or give "
                               "--half-life-days",
                               FL_SHOWN(given), names.ptr);
    fl_str_done(&names);
    return status;
}

static void put_days(fl_json_writer *w, const char *key, double days)
{
    if (isnan(days)) {
        fl_json_put_null(w, key);
    } else {
        fl_json_put_number(w, key, days);
    }
}

/* What the table says of the active; a bare half-life has no such facts. */
static void put_active(fl_json_writer *w, const fl_active *active)
{
    fl_json_put_bool(w, "systemic", fl_active_is_systemic(active));
    fl_json_put_cstr(w, "active", active->code);
    fl_json_put_cstr(w, "movement", movements[active->movement]);
    put_days(w, "half_life_low_days", active->half_life_low_d);
    put_days(w, "half_life_plan_days", active->half_life_plan_d);
    put_days(w, "half_life_high_days", active->half_life_high_d);
    fl_json_put_bool(w, "persists_in_mix", active->persists_in_mix);
    fl_json_put_cstr(w, "invertebrates", flags[active->invertebrates]);
    fl_json_put_cstr(w, "amphibians", flags[active->amphibians]);
    fl_json_put_cstr(w, "grade", active->grade);
    fl_json_put_cstr(w, "note", active->note);
    fl_json_begin_array(w, "sources");
    fl_sv rest = fl_sv_from_cstr(active->source);
    while (rest.len > 0) {
        fl_json_put_text(w, NULL, fl_sv_split(&rest, '|'));
    }
    fl_json_end(w);
}

static fl_status reckon(const fl_arg_value *value, fl_json_writer *w, fl_err *err)
{
    if (value[ACTIVE].is_given == value[HALF_LIFE].is_given) {
        return fl_fail(err, FL_EINVAL, "give one of --active and --half-life-days");
    }
    fl_residue_since since = {.days = value[DAYS].number,
                              .is_rinsed = value[RINSED].is_given,
                              .is_outdoors = value[OUTDOORS].is_given};
    fl_active active = {0};
    fl_residue_left left = {0};
    fl_status status = FL_OK;
    if (value[HALF_LIFE].is_given) {
        status = fl_residue_of_half_life(value[HALF_LIFE].number, &since, &left, err);
    } else if (!fl_active_find(value[ACTIVE].text, &active)) {
        status = fail_unknown(value[ACTIVE].text, err);
    } else {
        status = fl_residue_of_active(&active, &since, &left, err);
    }
    if (status != FL_OK) {
        return status;
    }
    fl_json_put_number(w, "fraction_left", left.fraction);
    fl_json_put_number(w, "fraction_left_low", left.fraction_low);
    fl_json_put_number(w, "fraction_left_high", left.fraction_high);
    if (value[ACTIVE].is_given) {
        put_active(w, &active);
    } else {
        fl_json_put_null(w, "systemic");
    }
    put_days(w, "days_to_tenth", left.days_to_tenth);
    put_days(w, "days_to_hundredth", left.days_to_hundredth);
    fl_json_put_cstr(w, "advice_code", fl_words_residue_advice[left.advice].word);
    fl_json_put_cstr(w, "advice", fl_words_residue_advice[left.advice].text);
    return FL_OK;
}

extern const fl_reckon_topic fl_reckon_topic_residue;
const fl_reckon_topic fl_reckon_topic_residue = {
    .name = "residue",
    .summary = "what is left of a pesticide on a plant after so many days",
    .example = "residue --active permethrin --days 30 --rinsed",
    .option = options,
    .option_count = OPTION_COUNT,
    .fn = reckon,
};
