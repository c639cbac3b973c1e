/* reckon develop: how long a stage of a known threat takes at a temperature, fast and slow set. */
#include "base/str.h"
#include "cli/reckon.h"
#include "core/clear/filter.h"
#include "core/develop/develop.h"
#include "core/know/know.h"

enum { THREAT, STAGE, TEMP, OPTION_COUNT };

static const fl_arg options[OPTION_COUNT] = {
    [THREAT] = {"threat", FL_ARG_TEXT, .is_required = true,
                .help = "code or name, such as fungus_gnat"},
    [STAGE] = {"stage", FL_ARG_TEXT, .is_required = true,
               .help = "egg, larva, …; egg_to_adult: until it breeds; all: the whole chain"},
    [TEMP] = {"temp-c", FL_ARG_NUMBER, .is_required = true, .min = FL_FILTER_TEMP_MIN_C,
              .max = FL_FILTER_TEMP_MAX_C, .help = "constant temperature where the plant stands"},
};

/* The stages asked for, both included. */
typedef struct span {
    int first, last;
} span;

static fl_status find_threat(fl_sv name, const fl_threat **out, fl_err *err)
{
    const fl_threat *threat = fl_know_threat_find(name);
    for (size_t i = 0; i < fl_know_threat_count() && threat == NULL; i++) {
        const fl_threat *other = fl_know_threat(i);
        threat = fl_sv_eq_nocase(name, fl_sv_from_cstr(other->name)) ? other : NULL;
    }
    if (threat == NULL) {
        return fl_fail(err, FL_ENOTFOUND,
                       "--threat \"%.*s\": give a code such as fungus_gnat, citrus_mealybug, slug",
                       (int)(name.len < 60 ? name.len : 60), name.ptr);
    }
    if (threat->n_stages < 2) {
        return fl_fail(err, FL_EDOMAIN, "--threat %s: it has no stages that develop", threat->code);
    }
    *out = threat;
    return FL_OK;
}

static fl_status refuse_stage(const fl_threat *threat, fl_sv name, fl_err *err)
{
    fl_str list;
    fl_str_init(&list, 120);
    for (int s = 0; s < threat->n_stages - 1; s++) {
        fl_str_appendf(&list, "%s, ", threat->stage[s].name);
    }
    fl_status status =
        fl_fail(err, FL_EINVAL, "--stage \"%.*s\": for %s give %segg_to_adult or all",
                (int)(name.len < 40 ? name.len : 40), name.ptr, threat->code, list.ptr);
    fl_str_done(&list);
    return status;
}

static fl_status find_span(const fl_threat *threat, fl_sv name, span *out, fl_err *err)
{
    int last = threat->n_stages - 2; /* the last stage has no end */
    if (fl_sv_eq_cstr(name, "all")) {
        *out = (span){0, last};
        return FL_OK;
    }
    if (fl_sv_eq_cstr(name, "egg_to_adult")) {
        int adult = 1;
        while (adult <= last && !threat->stage[adult].is_breeding) {
            adult++;
        }
        *out = (span){0, adult - 1};
        return FL_OK;
    }
    for (int s = 0; s <= last; s++) {
        if (fl_sv_eq_nocase(name, fl_sv_from_cstr(threat->stage[s].name))) {
            *out = (span){s, s};
            return FL_OK;
        }
    }
    return refuse_stage(threat, name, err);
}

static void put_days(fl_json_writer *w, const char *key, const fl_develop_time *time)
{
    if (time->does_develop) {
        fl_json_put_number(w, key, time->days);
    } else {
        fl_json_put_null(w, key);
    }
}

/* Citations for keys such as "a|b"; a key not in the table stands for itself. */
static void put_citations(fl_json_writer *w, const char *keys)
{
    fl_sv rest = fl_sv_from_cstr(keys);
    while (rest.len > 0) {
        fl_sv key = fl_sv_split(&rest, '|');
        const fl_know_source *source = fl_know_source_find(key);
        fl_json_put_text(w, NULL, source != NULL ? fl_sv_from_cstr(source->citation) : key);
    }
}

static const char *grade_word(fl_grade grade)
{
    switch (grade) {
    case FL_GRADE_MEASURED:
        return "measured";
    case FL_GRADE_PRACTICE:
        return "practice";
    case FL_GRADE_ASSUMED:
        break;
    }
    return "assumed";
}

static void put_answer(fl_json_writer *w, const fl_threat *threat, span stages,
                       const fl_develop_time time[2])
{
    bool is_one = stages.first == stages.last;
    const fl_know_stage *stage = &threat->stage[stages.first];
    put_days(w, "days_fast", &time[0]);
    put_days(w, "days_slow", &time[1]);
    fl_json_put_bool(w, "reliable",
                     time[0].does_develop && time[1].does_develop && !time[0].is_near &&
                         !time[1].is_near);
    fl_json_put_cstr(w, "note", fl_develop_note(&time[1])); /* the slow set is the gate's */
    fl_json_put_cstr(w, "grade", grade_word(is_one ? stage->grade : threat->grade));
    fl_json_put_cstr(w, "basis", is_one ? stage->note : "the sum of its stages");
    fl_json_begin_array(w, "sources");
    put_citations(w, is_one ? stage->source : threat->source);
    fl_json_end(w);
}

static fl_status reckon(const fl_arg_value *value, fl_json_writer *w, fl_err *err)
{
    const fl_threat *threat = NULL;
    span stages = {0, 0};
    fl_develop_time time[2];
    fl_status status = find_threat(value[THREAT].text, &threat, err);
    if (status != FL_OK || threat == NULL) {
        return status;
    }
    status = find_span(threat, value[STAGE].text, &stages, err);
    const double temp_c = value[TEMP].number;
    if (status == FL_OK) {
        status = fl_develop_days(&threat->fast, stages.first, stages.last, temp_c, &time[0], err);
    }
    if (status == FL_OK) {
        status = fl_develop_days(&threat->slow, stages.first, stages.last, temp_c, &time[1], err);
    }
    if (status == FL_OK) {
        put_answer(w, threat, stages, time);
    }
    return status;
}

extern const fl_reckon_topic fl_reckon_topic_develop;
const fl_reckon_topic fl_reckon_topic_develop = {
    .name = "develop",
    .summary = "days a stage of a threat takes at a temperature",
    .example = "develop --threat fungus_gnat --stage egg_to_adult --temp-c 20",
    .option = options,
    .option_count = OPTION_COUNT,
    .fn = reckon,
};
