/* The JSON of a number that is opened, and of a lot's look plan with its what-ifs. */
#include <math.h>
#include <string.h>

#include "view/put.h"
#include "view/words_course.h"

#define HELPS_SHOWN 2

/* ---- sources of figures ---- */

/* "a|b" or one key: {"key","citation"} each. */
static void put_sources(const fl_view *v, const char *const *keys, int n)
{
    fl_json_begin_array(v->w, "sources");
    for (int i = 0; i < n; i++) {
        fl_sv rest = fl_sv_from_cstr(keys[i]);
        while (rest.len > 0) {
            fl_sv key = fl_sv_split(&rest, '|');
            const fl_know_source *source = fl_know_source_find(key);
            fl_json_begin_object(v->w, NULL);
            fl_json_put_text(v->w, "key", key);
            fl_put_text(v->w, "citation",
                        source != NULL ? fl_sv_from_cstr(source->citation) : FL_SV(""));
            fl_json_end(v->w);
        }
    }
    fl_json_end(v->w);
}

static void put_grade(const fl_view *v, fl_grade grade)
{
    fl_json_put_cstr(v->w, "grade", fl_grade_word(grade));
    fl_json_put_cstr(v->w, "grade_text", fl_say_grade(grade));
}

/* ---- the course ---- */

static void put_origin(const fl_view *v, const fl_course *course, size_t index)
{
    const fl_course_origin *o = &course->origins[index];
    fl_json_writer *w = v->w;
    fl_json_begin_object(w, NULL);
    fl_json_put_text(w, "text", fl_say_origin(v->room, course, index, v->arena));
    fl_json_put_text(w, "what", o->reason.what);
    fl_put_on(v, "on", o->reason.at_s);
    fl_json_put_number(w, "prob_prior", o->reason.prior);
    fl_json_put_number(w, "prob", o->reason.chance);
    fl_json_put_text(w, "chance_text", fl_say_chance(o->reason.chance, v->arena));
    fl_json_put_bool(w, "is_learned", o->reason.is_learned);
    fl_put_text(w, "link",
                o->reason.link == FL_LINK_COUNT
                    ? FL_SV("")
                    : fl_sv_from_cstr(fl_words_link[o->reason.link].word));
    fl_put_id(w, "event_id", o->reason.event);
    if (!o->has_table) {
        fl_json_put_null(w, "table");
        fl_json_end(w);
        return;
    }
    fl_json_begin_object(w, "table");
    fl_json_put_number(w, "prob", o->table.prob * o->already_here_factor);
    fl_json_put_number(w, "prob_base", o->table.base);
    fl_put_word(w, "source_kind", "source_kind_text", &fl_words_source_kind[o->source_kind]);
    fl_json_put_number(w, "source_kind_factor", o->table.kind_factor);
    fl_put_word(w, "form", "form_text", &fl_words_form[o->form]);
    fl_json_put_number(w, "form_factor", o->table.form_factor);
    fl_json_put_number(w, "already_here_factor", o->already_here_factor);
    put_grade(v, o->table.grade);
    fl_json_end(w);
    fl_json_end(w);
}

static void put_mark(const fl_view *v, const fl_course *course, size_t index)
{
    const fl_course_mark *m = &course->marks[index];
    fl_json_writer *w = v->w;
    bool is_step = m->kind == FL_COURSE_STEP;
    fl_json_begin_object(w, NULL);
    fl_put_word(w, "kind", "kind_text", &fl_words_course_mark[m->kind]);
    fl_put_id(w, "event_id", m->event->id);
    fl_put_at(w, "at", m->at_s);
    fl_put_on(v, "on", m->at_s);
    fl_json_put_text(w, "text", fl_say_mark(course, index, v->arena));
    fl_json_put_number(w, "prob_before", m->before);
    fl_json_put_number(w, "prob_after", m->after);
    fl_json_put_text(w, "before_text", fl_say_chance(m->before, v->arena));
    fl_json_put_text(w, "after_text", fl_say_chance(m->after, v->arena));
    fl_json_put_number(w, "frac_shown", m->frac_shown);
    fl_json_put_number(w, "frac_left", m->frac_left);
    fl_json_put_number(w, "frac_left_least", is_step ? m->left_least : (double)NAN);
    fl_json_put_number(w, "frac_left_most", is_step ? m->left_most : (double)NAN);
    fl_put_text(w, "grade", is_step ? fl_sv_from_cstr(fl_grade_word(m->grade)) : FL_SV(""));
    put_sources(v, m->sources, m->n_sources);
    fl_json_end(w);
}

static void put_points(const fl_view *v, const fl_course *course)
{
    fl_json_writer *w = v->w;
    fl_json_begin_array(w, "points");
    for (size_t i = 0; i < course->n_points; i++) {
        const fl_course_point *p = &course->points[i];
        fl_json_begin_object(w, NULL);
        fl_put_at(w, "at", p->at_s);
        fl_put_on(v, "on", p->at_s);
        fl_json_put_number(w, "prob", p->chance);
        fl_json_put_number(w, "prob_least", p->least);
        fl_json_put_number(w, "prob_most", p->most);
        fl_json_end(w);
    }
    fl_json_end(w);
    fl_json_begin_array(w, "ahead");
    for (int i = 0; i < course->n_ahead; i++) {
        fl_json_begin_object(w, NULL);
        fl_put_at(w, "at", course->ahead[i].at_s);
        fl_put_on(v, "on", course->ahead[i].at_s);
        fl_json_put_number(w, "prob", course->ahead[i].chance);
        fl_json_end(w);
    }
    fl_json_end(w);
}

static void put_temps(const fl_view *v, const fl_course_temps *t)
{
    fl_json_writer *w = v->w;
    fl_json_begin_object(w, "temperatures");
    fl_json_put_text(w, "text", fl_say_temps(t, v->arena));
    fl_json_put_int(w, "measured_h", t->hours_measured);
    fl_json_put_int(w, "interpolated_h", t->hours_interpolated);
    fl_json_put_int(w, "told_h", t->hours_told);
    fl_json_put_int(w, "assumed_h", t->hours_assumed);
    fl_json_put_number(w, "least_c", t->least_c);
    fl_json_put_number(w, "mean_c", t->mean_c);
    fl_json_put_number(w, "most_c", t->most_c);
    fl_json_end(w);
}

/* ---- what ifs ---- */

static void put_plants(const fl_view *v, const fl_what_if *what)
{
    fl_json_begin_array(v->w, "plants");
    for (size_t i = 0; i < what->n_plants; i++) {
        const fl_warm_plant *p = &what->plants[i];
        fl_json_begin_object(v->w, NULL);
        fl_put_lot_ref(v, "lot", p->lot);
        fl_json_put_number(v->w, "over_c", p->over_c);
        fl_json_put_text(v->w, "text", fl_say_warm_plant(v->room, p, FL_WHAT_IF_WARM_C, v->arena));
        fl_json_end(v->w);
    }
    fl_json_end(v->w);
}

/* Whole days from the usual release to this one; null when either has no date. */
static double days_sooner(const fl_what_if *what)
{
    if (what->usual_s == FL_GATE_NEVER || what->release_s == FL_GATE_NEVER) {
        return (double)NAN;
    }
    return round((double)(what->usual_s - what->release_s) / FL_DAY_S);
}

static void put_what_if(const fl_view *v, const fl_what_if *what)
{
    fl_json_writer *w = v->w;
    fl_json_begin_object(w, NULL);
    fl_put_word(w, "kind", "kind_text", &fl_words_what_if[what->kind]);
    fl_json_put_bool(w, "applies", what->applies);
    fl_json_put_text(w, "text", fl_say_what_if(v->room, what, v->arena));
    fl_put_on(v, "usual_on", what->usual_s);
    fl_put_on(v, "release_on", what->release_s);
    fl_json_put_number(w, "days_sooner", days_sooner(what));
    put_plants(v, what);
    fl_json_end(w);
}

static void put_what_ifs(const fl_view *v, const char *key, const fl_what_if *list, int n)
{
    fl_json_begin_array(v->w, key);
    for (int i = 0; i < n; i++) {
        put_what_if(v, &list[i]);
    }
    fl_json_end(v->w);
}

/* ---- the whole number ---- */

static void put_head(const fl_view *v, const fl_course *course, bool is_mostly_judgement)
{
    const fl_lot_chance *now = &course->now;
    fl_json_writer *w = v->w;
    const char *const keys[] = {course->threat->source};
    fl_json_put_bool(w, "is_mostly_judgement", is_mostly_judgement);
    fl_put_lot_ref(v, "lot", course->lot);
    fl_json_put_text(w, "course_text", fl_say_course(v->room, course, v->arena));
    fl_put_text(w, "ahead_text", fl_say_ahead(v->room, course, v->arena));
    fl_put_text(w, "development_text", fl_say_development(course, v->arena));
    fl_json_put_number(w, "prob_prior", now->prior);
    fl_json_put_number(w, "weight", course->threat->weight[course->lot->use]);
    fl_json_put_bool(w, "is_learned", now->is_learned);
    fl_json_put_bool(w, "is_out_of_reach", now->is_out_of_reach);
    put_grade(v, course->threat->grade);
    fl_json_put_cstr(w, "look_where", course->threat->look_where);
    fl_json_put_cstr(w, "harm", course->threat->harm);
    put_sources(v, keys, 1);
}

fl_status fl_view_course(const fl_view *v, const char *key, const fl_lot *lot,
                         const fl_threat *threat, fl_err *err)
{
    fl_course course;
    fl_looks *looks = NULL;
    fl_what_if helps[HELPS_SHOWN];
    int n_helps = 0;
    fl_status status = fl_course_make(v->chances, v->room, lot, threat, v->arena, &course, err);
    if (status == FL_OK) {
        status = fl_looks_open(v->chances, v->room, lot, 0, v->arena, &looks, err);
    }
    if (status == FL_OK) {
        const fl_looks_options usual = fl_looks_usual(looks);
        status = fl_looks_helps(looks, &usual, v->arena, helps, HELPS_SHOWN, &n_helps, err);
    }
    if (status != FL_OK) {
        return status;
    }
    bool is_mostly_judgement = fl_looks_report(looks)->is_mostly_judgement;
    fl_say_threat_args args = {threat, course.now.chance, course.now.least, course.now.most,
                               is_mostly_judgement};
    fl_begin_threat(v, key, &args);
    put_head(v, &course, is_mostly_judgement);
    fl_json_begin_array(v->w, "origins");
    for (size_t i = 0; i < course.n_origins; i++) {
        put_origin(v, &course, i);
    }
    fl_json_end(v->w);
    fl_json_begin_array(v->w, "marks");
    for (size_t i = 0; i < course.n_marks; i++) {
        put_mark(v, &course, i);
    }
    fl_json_end(v->w);
    put_temps(v, &course.temps);
    put_points(v, &course);
    put_what_ifs(v, "helps", helps, n_helps);
    fl_json_end(v->w);
    return FL_OK;
}

/* ---- the look plan ---- */

static void put_options(const fl_view *v, const fl_looks_options *o)
{
    fl_json_begin_object(v->w, "options");
    fl_json_put_int(v->w, "every_days", o->every_days);
    fl_put_word(v->w, "effort", "effort_text", &fl_words_effort[o->effort]);
    fl_put_mask(v->w, "devices", o->devices, fl_words_device, FL_DEVICE_COUNT);
    fl_json_put_number(v->w, "temp_c", o->temp_c);
    fl_json_put_int(v->w, "looks_most", o->n_looks);
    fl_json_put_bool(v->w, "is_sealed", o->is_sealed);
    fl_json_end(v->w);
}

static void put_day(const fl_view *v, const fl_looks_day *day)
{
    fl_json_begin_object(v->w, NULL);
    fl_put_on(v, "on", day->at_s);
    fl_json_put_bool(v->w, "is_look", day->is_look);
    fl_json_put_number(v->w, "load", day->load);
    fl_json_put_number(v->w, "load_changed", day->load_changed);
    fl_put_on(v, "missed_release_on", day->is_look ? day->missed_s : FL_GATE_NEVER);
    fl_json_end(v->w);
}

static void put_plan(const fl_view *v, const fl_looks_plan *plan)
{
    fl_json_writer *w = v->w;
    fl_json_begin_object(w, "plan");
    fl_json_put_text(w, "text", fl_say_looks_plan(v->room, plan, v->arena));
    fl_put_on(v, "release_on", plan->release_s);
    fl_json_put_text(w, "release_text", fl_say_release(v->room, plan->release_s, v->arena));
    fl_json_put_int(w, "looks", plan->n_looks);
    fl_json_put_cstr(w, "binding", fl_words_condition[plan->binding].word);
    fl_put_text(w, "threat",
                plan->threat != NULL ? fl_sv_from_cstr(plan->threat->code) : FL_SV(""));
    fl_json_put_bool(w, "needs_roots", plan->needs_roots);
    fl_put_mask(w, "blocked", plan->blocked, fl_words_condition, FL_CONDITION_COUNT);
    fl_json_begin_array(w, "days");
    for (int k = 0; k < plan->n_days; k++) {
        put_day(v, &plan->days[k]);
    }
    fl_json_end(w);
    fl_json_end(w);
}

fl_status fl_view_looks(const fl_view *v, const char *key, fl_looks *looks,
                        const fl_looks_options *options, fl_err *err)
{
    fl_looks_plan plan;
    fl_examine examine;
    fl_what_if whats[FL_WHAT_IF_COUNT];
    fl_status status = fl_looks_make_plan(looks, options, &plan, err);
    if (status == FL_OK) {
        status = fl_examine_lot(fl_looks_report(looks), options->effort, options->devices, &examine,
                                err);
    }
    for (int kind = 0; kind < FL_WHAT_IF_COUNT && status == FL_OK; kind++) {
        status =
            fl_looks_what_if(looks, options, (fl_what_if_kind)kind, v->arena, &whats[kind], err);
    }
    if (status != FL_OK) {
        return status;
    }
    fl_json_begin_object(v->w, key);
    fl_put_lot_ref(v, "lot", fl_looks_report(looks)->lot);
    fl_put_mask(v->w, "uses", fl_looks_report(looks)->uses, fl_words_use, FL_USE_COUNT);
    put_options(v, options);
    put_plan(v, &plan);
    fl_view_examine(v, "examine", &examine);
    put_what_ifs(v, "what_ifs", whats, FL_WHAT_IF_COUNT);
    fl_json_end(v->w);
    return FL_OK;
}

/* One setting of the sliders. */
fl_status fl_view_release(const fl_view *v, const char *key, fl_looks *looks,
                          const fl_looks_options *options, fl_err *err)
{
    int64_t release_s = 0;
    fl_status status = fl_looks_release(looks, options, &release_s, err);
    if (status != FL_OK) {
        return status;
    }
    fl_warm_plant *plants = NULL;
    size_t n = fl_looks_warm_plants(looks, options->temp_c, v->arena, &plants);
    fl_json_begin_object(v->w, key);
    fl_put_lot_ref(v, "lot", fl_looks_report(looks)->lot);
    put_options(v, options);
    fl_put_on(v, "release_on", release_s);
    fl_json_put_text(v->w, "release_text", fl_say_release(v->room, release_s, v->arena));
    fl_json_begin_array(v->w, "plants");
    for (size_t i = 0; i < n; i++) {
        fl_json_begin_object(v->w, NULL);
        fl_put_lot_ref(v, "lot", plants[i].lot);
        fl_json_put_number(v->w, "over_c", plants[i].over_c);
        fl_json_put_text(v->w, "text",
                         fl_say_warm_plant(v->room, &plants[i], options->temp_c, v->arena));
        fl_json_end(v->w);
    }
    fl_json_end(v->w);
    fl_json_end(v->w);
    return FL_OK;
}
