/* Reads and runs a clearance scenario. Ranges of single values are checked here, so that a message
 * can say where; the model as a whole is checked by the filter. */
#include "app/scenario.h"

#include <math.h>
#include <string.h>

#include "base/alloc.h"
#include "json/json.h"

#define HOURS_PER_DAY 24
#define SPAN_WITHOUT_UPPER_C 200.0
#define DEFAULT_LAMBDA 3.0 /* docs/models/clearance.md: one founder or a zero-truncated Poisson */

/* Where in the scenario we are: "stages[2]". */
typedef struct place {
    const char *list;
    size_t index;
} place;

static fl_status refuse_at(place at, const fl_err *inner, fl_err *err)
{
    return fl_fail(err, inner->code, "%s[%zu]: %s", at.list, at.index, inner->message);
}

/* Every key of `object` is one of `keys` (NULL at the end). */
static fl_status check_keys(const fl_json_value *object, const char *const *keys, fl_err *err)
{
    if (fl_json_type_of(object) != FL_JSON_OBJECT) {
        return fl_fail(err, FL_EINVAL, "give an object with \"%s\" and so on", keys[0]);
    }
    for (size_t i = 0; i < fl_json_size(object); i++) {
        fl_sv key;
        (void)fl_json_member(object, i, &key);
        bool is_known = false;
        for (size_t k = 0; keys[k] != NULL; k++) {
            is_known = is_known || fl_sv_eq_cstr(key, keys[k]);
        }
        if (!is_known) {
            return fl_fail(err, FL_EINVAL, "unknown key \"%.*s\"",
                           (int)(key.len < 40 ? key.len : 40), key.ptr);
        }
    }
    return FL_OK;
}

/* An array of one number for each of n stages, each 0 to 1. */
static fl_status read_shares(const fl_json_value *array, const char *key, int n, double *out,
                             fl_err *err)
{
    if (fl_json_type_of(array) != FL_JSON_ARRAY || fl_json_size(array) != (size_t)n) {
        return fl_fail(err, FL_EINVAL, "%s: give %d numbers, one for each stage", key, n);
    }
    for (int s = 0; s < n; s++) {
        if (!fl_json_number(fl_json_at(array, (size_t)s), &out[s]) || out[s] < 0.0 ||
            out[s] > 1.0) {
            return fl_fail(err, FL_EDOMAIN, "%s[%d]: give a number from 0 to 1", key, s);
        }
    }
    return FL_OK;
}

/* A number that may be missing. */
static fl_status read_optional(const fl_json_value *object, const char *key, const double range[2],
                               double *out, fl_err *err)
{
    if (fl_json_type_of(fl_json_get(object, key)) <= FL_JSON_NULL) {
        return FL_OK; /* absent or null: the caller's default stays */
    }
    return fl_json_need_number(object, key, range[0], range[1], out, err);
}

static fl_status read_int(const fl_json_value *object, const char *key, const int range[2],
                          int *out, fl_err *err)
{
    double number = 0.0;
    fl_status status = fl_json_need_number(object, key, range[0], range[1], &number, err);
    if (status != FL_OK) {
        return status;
    }
    if (floor(number) < number) {
        return fl_fail(err, FL_EINVAL, "%s %g: give a whole number", key, number);
    }
    *out = (int)number;
    return FL_OK;
}

/* ---- stages ---- */

static fl_status read_rate(const fl_json_value *stage, fl_stage_rate *rate, fl_err *err)
{
    fl_status status =
        read_int(stage, "substages", (const int[]){1, FL_SUBSTAGES_MAX}, &rate->n_substages, err);
    if (status == FL_OK) {
        status = fl_json_need_number(stage, "threshold_c", FL_FILTER_TEMP_MIN_C,
                                     FL_FILTER_TEMP_MAX_C, &rate->threshold_c, err);
    }
    if (status == FL_OK) {
        status = fl_json_need_number(stage, "degree_days", 0.1, 1e9, &rate->degree_days, err);
    }
    rate->upper_c = rate->threshold_c + SPAN_WITHOUT_UPPER_C; /* without: no upper limit */
    if (status == FL_OK) {
        status =
            read_optional(stage, "upper_c", (const double[]){-90.0, 300.0}, &rate->upper_c, err);
    }
    return status;
}

static fl_status read_stage(const fl_json_value *stage, bool is_last, fl_stage_rate *rate,
                            double *detect, fl_err *err)
{
    static const char *const keys[] = {"name",      "detect",      "mortality_per_day",
                                       "substages", "threshold_c", "degree_days",
                                       "upper_c",   NULL};
    fl_status status = check_keys(stage, keys, err);
    if (status == FL_OK) {
        status = fl_json_need_number(stage, "detect", 0.0, 1.0, detect, err);
    }
    if (status == FL_OK) {
        status = read_optional(stage, "mortality_per_day", (const double[]){0.0, 1000.0},
                               &rate->mortality_per_day, err);
    }
    if (status == FL_OK && !is_last) {
        return read_rate(stage, rate, err);
    }
    rate->n_substages = 1; /* the absorbing stage: whatever rate it names means nothing */
    return status;
}

static fl_status read_stages(const fl_json_value *stages, fl_scenario *out, fl_err *err)
{
    size_t n = fl_json_size(stages);
    if (fl_json_type_of(stages) != FL_JSON_ARRAY || n < 2 || n > FL_STAGES_MAX) {
        return fl_fail(err, FL_EINVAL, "stages: give a list of 2 to %d", FL_STAGES_MAX);
    }
    out->model.n_stages = (int)n;
    for (size_t s = 0; s < n; s++) {
        fl_err inner = {FL_OK, "", NULL, 0};
        if (read_stage(fl_json_at(stages, s), s == n - 1, &out->model.stage[s], &out->detect[s],
                       &inner) != FL_OK) {
            return refuse_at((place){"stages", s}, &inner, err);
        }
    }
    return fl_filter_check_model(&out->model, err);
}

/* ---- start, founders, mixture ---- */

static fl_status read_start(const fl_json_value *root, fl_scenario *out, fl_err *err)
{
    const fl_json_value *start = fl_json_get(root, "start");
    const fl_json_value *substage = fl_json_get(root, "start_substage");
    if ((start == NULL) == (substage == NULL)) {
        return fl_fail(err, FL_EINVAL, "give one of \"start\" and \"start_substage\"");
    }
    if (substage != NULL) {
        int last = fl_filter_substages(&out->model) - 1;
        return read_int(root, "start_substage", (const int[]){0, last}, &out->substage, err);
    }
    out->has_shares = true;
    return read_shares(start, "start", out->model.n_stages, out->share, err);
}

static fl_status read_many(const fl_json_value *many, fl_founders *out, fl_err *err)
{
    static const char *const keys[] = {"family", "lambda", "mean", "size", NULL};
    if (many == NULL) {
        *out = (fl_founders){.family = FL_FOUNDERS_ZT_POISSON, .lambda = DEFAULT_LAMBDA};
        return FL_OK;
    }
    fl_status status = check_keys(many, keys, err);
    if (status != FL_OK) {
        return status;
    }
    fl_sv family = fl_json_text(fl_json_get(many, "family"));
    if (fl_sv_eq_cstr(family, "zt-poisson")) {
        out->family = FL_FOUNDERS_ZT_POISSON;
        return fl_json_need_number(many, "lambda", 1e-6, 1e6, &out->lambda, err);
    }
    if (!fl_sv_eq_cstr(family, "zt-negbin")) {
        return fl_fail(err, FL_EINVAL, "many: family: give \"zt-poisson\" or \"zt-negbin\"");
    }
    out->family = FL_FOUNDERS_ZT_NEGBIN;
    status = fl_json_need_number(many, "mean", 1e-6, 1e6, &out->mean, err);
    return status == FL_OK ? fl_json_need_number(many, "size", 1e-6, 1e6, &out->size, err) : status;
}

static fl_status read_mixture(const fl_json_value *mixture, fl_scenario *out, fl_err *err)
{
    static const char *const keys[] = {"multiplier", "weight", NULL};
    size_t n = fl_json_size(mixture);
    if (mixture == NULL) {
        out->n_mix = 1;
        out->multiplier[0] = out->weight[0] = 1.0;
        return FL_OK;
    }
    if (fl_json_type_of(mixture) != FL_JSON_ARRAY || n < 1 || n > FL_MIXTURE_MAX) {
        return fl_fail(err, FL_EINVAL, "detect_mixture: give a list of 1 to %d", FL_MIXTURE_MAX);
    }
    out->n_mix = (int)n;
    for (size_t w = 0; w < n; w++) {
        const fl_json_value *part = fl_json_at(mixture, w);
        fl_err inner = {FL_OK, "", NULL, 0};
        fl_status status = check_keys(part, keys, &inner);
        if (status == FL_OK) {
            status =
                fl_json_need_number(part, "multiplier", 0.0, 100.0, &out->multiplier[w], &inner);
        }
        if (status == FL_OK) {
            status = fl_json_need_number(part, "weight", 0.0, 1e6, &out->weight[w], &inner);
        }
        if (status != FL_OK) {
            return refuse_at((place){"detect_mixture", w}, &inner, err);
        }
    }
    return FL_OK;
}

/* ---- temperatures and events ---- */

static fl_status read_temps(const fl_json_value *temps, fl_scenario *out, fl_err *err)
{
    if (fl_json_number(temps, &out->temp_c)) {
        if (out->temp_c >= FL_FILTER_TEMP_MIN_C && out->temp_c <= FL_FILTER_TEMP_MAX_C) {
            return FL_OK;
        }
        return fl_fail(err, FL_EDOMAIN, "temperature_c %g: give -90 to 100", out->temp_c);
    }
    size_t n = fl_json_size(temps);
    size_t n_needed = (size_t)out->days * HOURS_PER_DAY;
    if (fl_json_type_of(temps) != FL_JSON_ARRAY || n < n_needed) {
        return fl_fail(err, FL_EINVAL,
                       "temperature_c: give a number, or %zu hourly numbers for %d days", n_needed,
                       out->days);
    }
    out->temps_c = fl_alloc(n + 1, sizeof out->temps_c[0]);
    for (size_t h = 0; h < n; h++) {
        double *temp_c = &out->temps_c[h];
        if (!fl_json_number(fl_json_at(temps, h), temp_c) || *temp_c < FL_FILTER_TEMP_MIN_C ||
            *temp_c > FL_FILTER_TEMP_MAX_C) {
            return fl_fail(err, FL_EDOMAIN, "temperature_c[%zu]: give a number from -90 to 100", h);
        }
    }
    return FL_OK;
}

/* One entry may hold a treatment, a look, or both: it becomes one or two events. */
static fl_status read_event(const fl_json_value *entry, fl_scenario *out, fl_err *err)
{
    static const char *const keys[] = {"day", "treat", "look", NULL};
    fl_scenario_event event = {0};
    fl_status status = check_keys(entry, keys, err);
    if (status == FL_OK) {
        status = read_int(entry, "day", (const int[]){0, out->days}, &event.day, err);
    }
    if (status != FL_OK) {
        return status;
    }
    const fl_json_value *treat = fl_json_get(entry, "treat");
    const fl_json_value *look = fl_json_get(entry, "look");
    if (treat == NULL && look == NULL) {
        return fl_fail(err, FL_EINVAL, "give \"treat\", \"look\" or both");
    }
    if (treat != NULL) {
        event.is_treatment = true;
        status = read_shares(treat, "treat", out->model.n_stages, event.survival, err);
        out->event[out->n_events++] = event;
    }
    if (look != NULL && status == FL_OK) {
        event.is_treatment = false;
        status = fl_json_need_number(entry, "look", 0.0, 1.0, &event.share_examined, err);
        out->event[out->n_events++] = event;
    }
    return status;
}

/* By day, treatments first; equal ones stay as written. An insertion sort, since records are short
 * and mostly in order. */
static void sort_events(fl_scenario_event *event, size_t n)
{
    for (size_t i = 1; i < n; i++) {
        fl_scenario_event moved = event[i];
        size_t to = i;
        while (to > 0 && (event[to - 1].day > moved.day ||
                          (event[to - 1].day == moved.day && moved.is_treatment &&
                           !event[to - 1].is_treatment))) {
            event[to] = event[to - 1];
            to--;
        }
        event[to] = moved;
    }
}

static fl_status read_events(const fl_json_value *events, fl_scenario *out, fl_err *err)
{
    if (events == NULL) {
        return FL_OK;
    }
    size_t n = fl_json_size(events);
    if (fl_json_type_of(events) != FL_JSON_ARRAY) {
        return fl_fail(err, FL_EINVAL, "events: give a list");
    }
    if (n > FL_SCENARIO_EVENTS_MAX) {
        return fl_fail(err, FL_ETOOBIG, "%zu events: at most %d", n, FL_SCENARIO_EVENTS_MAX);
    }
    out->event = fl_alloc(2 * n + 1, sizeof out->event[0]);
    for (size_t i = 0; i < n; i++) {
        fl_err inner = {FL_OK, "", NULL, 0};
        if (read_event(fl_json_at(events, i), out, &inner) != FL_OK) {
            return refuse_at((place){"events", i}, &inner, err);
        }
    }
    sort_events(out->event, out->n_events);
    return FL_OK;
}

/* ---- the whole ---- */

static fl_status read_scenario(const fl_json_value *root, fl_scenario *out, fl_err *err)
{
    static const char *const keys[] = {"stages",         "start", "start_substage", "prior",
                                       "many",           "days",  "temperature_c",  "events",
                                       "detect_mixture", NULL};
    fl_status status = check_keys(root, keys, err);
    if (status == FL_OK) {
        status = read_stages(fl_json_get(root, "stages"), out, err);
    }
    if (status == FL_OK) {
        status = read_start(root, out, err);
    }
    if (status == FL_OK) {
        status = fl_json_need_number(root, "prior", 0.0, 1.0, &out->prior, err);
    }
    if (status == FL_OK) {
        status = read_many(fl_json_get(root, "many"), &out->many, err);
    }
    if (status == FL_OK) {
        status = read_mixture(fl_json_get(root, "detect_mixture"), out, err);
    }
    if (status == FL_OK) {
        status = read_int(root, "days", (const int[]){0, FL_SCENARIO_DAYS_MAX}, &out->days, err);
    }
    if (status == FL_OK) {
        status = read_temps(fl_json_get(root, "temperature_c"), out, err);
    }
    return status == FL_OK ? read_events(fl_json_get(root, "events"), out, err) : status;
}

/* Starts a filter: what the parts could not tell alone (the sum of the shares, of the weights). */
static fl_status start_filter(const fl_scenario *scenario, fl_filter *state, fl_err *err)
{
    const fl_filter_seed seed = {.prior = scenario->prior,
                                 .share = scenario->has_shares ? scenario->share : NULL,
                                 .substage = scenario->substage,
                                 .n_mix = scenario->n_mix,
                                 .multiplier = scenario->multiplier};
    fl_chance chance;
    fl_status status = fl_filter_start(&scenario->model, &seed, state, err);
    return status == FL_OK
               ? fl_filter_chance(state, scenario->weight, &scenario->many, &chance, err)
               : status;
}

fl_status fl_scenario_parse(fl_sv text, fl_scenario *out, fl_err *err)
{
    fl_json_doc *doc = NULL;
    fl_scenario read = {0};
    fl_filter state;
    fl_status status = fl_json_parse(text, &doc, err);
    if (status == FL_OK) {
        status = read_scenario(fl_json_root(doc), &read, err);
    }
    if (status == FL_OK) {
        status = start_filter(&read, &state, err);
    }
    fl_json_free(doc);
    if (status != FL_OK) {
        fl_scenario_done(&read);
        return status;
    }
    *out = read;
    return FL_OK;
}

void fl_scenario_done(fl_scenario *scenario)
{
    if (scenario != NULL) {
        fl_alloc_free(scenario->temps_c);
        fl_alloc_free(scenario->event);
        memset(scenario, 0, sizeof *scenario);
    }
}

static fl_status do_event(const fl_scenario *scenario, const fl_scenario_event *event,
                          fl_filter *state, fl_err *err)
{
    if (event->is_treatment) {
        return fl_filter_treat(&scenario->model, event->survival, false, state, err);
    }
    double detect[FL_STAGES_MAX];
    for (int s = 0; s < scenario->model.n_stages; s++) {
        detect[s] = scenario->detect[s] * event->share_examined;
    }
    return fl_filter_look(&scenario->model, detect, 1.0, state, err);
}

static fl_status read_out(const fl_scenario *scenario, const fl_filter *state, fl_scenario_day *out,
                          fl_err *err)
{
    fl_status status = fl_filter_means(state, scenario->weight, &out->mass, err);
    if (status == FL_OK) {
        status = fl_filter_alive_by_stage(&scenario->model, state, scenario->weight,
                                          out->alive_by_stage, err);
    }
    return status == FL_OK
               ? fl_filter_chance(state, scenario->weight, &scenario->many, &out->chance, err)
               : status;
}

static fl_status pass_day(const fl_scenario *scenario, int day, fl_filter *state, fl_err *err)
{
    if (scenario->temps_c == NULL) {
        return fl_filter_advance_constant(&scenario->model, scenario->temp_c, HOURS_PER_DAY, state,
                                          err);
    }
    return fl_filter_advance(&scenario->model, &scenario->temps_c[day * HOURS_PER_DAY],
                             HOURS_PER_DAY, state, err);
}

fl_status fl_scenario_run(const fl_scenario *scenario, fl_scenario_day *day, fl_err *err)
{
    fl_filter state;
    size_t next = 0;
    fl_status status = start_filter(scenario, &state, err);
    for (int d = 0; d <= scenario->days && status == FL_OK; d++) {
        if (d > 0) {
            status = pass_day(scenario, d - 1, &state, err);
        }
        for (; next < scenario->n_events && scenario->event[next].day == d && status == FL_OK;
             next++) {
            status = do_event(scenario, &scenario->event[next], &state, err);
        }
        if (status == FL_OK) {
            status = read_out(scenario, &state, &day[d], err);
        }
    }
    return status;
}
