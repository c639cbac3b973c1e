/* Replays the programmes of a lot's copies over a grid of hours. */
#include "app/course.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "app/chance_work.h"

#define FL_WORD_ENTRY(name, word, text) {word, text},
const fl_word fl_words_course_mark[FL_COURSE_MARK_COUNT] = {FL_COURSE_MARK_LIST(FL_WORD_ENTRY)};
#undef FL_WORD_ENTRY

/* About so many points without the marks; never closer than a day. */
#define POINTS_USUAL 180
#define H_DAY 24

/* One moment of the grid: readings before and after what was done in that hour. */
typedef struct moment {
    int64_t at_h;
    fl_reading before[2], after[2]; /* [0] slow, [1] fast */
    double best_before;             /* of the likeliest single copy, slow and middle */
    double frac_shown, frac_left;   /* of that copy; NAN: no look or treatment took it */
} moment;

/* A copy and the hours in which the lot was with it. */
typedef struct piece {
    fl_copy *copy;
    int64_t from_h, to_h;
    fl_reading *before, *after; /* [n moments] */
    bool *has_before, *has_after;
} piece;

typedef struct work {
    fl_chances *c;
    fl_pest *pest;
    fl_spread *s; /* the set at hand */
    int set;      /* 0 slow, 1 fast */
    fl_arena *arena;
    moment *moments;
    size_t n;
} work;

/* ---- replaying one copy ---- */

static size_t first_from(const work *w, int64_t at_h)
{
    size_t k = 0;
    while (k < w->n && w->moments[k].at_h < at_h) {
        k++;
    }
    return k;
}

static fl_status read_into(const work *w, const piece *p, const fl_filter *state, fl_reading *out,
                           fl_err *err)
{
    return fl_spread_read_state(w->s, p->copy, state, out, err);
}

/* The state at moment k, whatever is done in that hour still to come. */
static fl_status arrive_at(work *w, piece *p, size_t k, const fl_filter *state, fl_err *err)
{
    int64_t at_h = w->moments[k].at_h;
    fl_status status = read_into(w, p, state, &p->before[k], err);
    p->after[k] = p->before[k];
    p->has_before[k] = p->from_h < at_h && at_h <= p->to_h;
    p->has_after[k] = p->from_h <= at_h && at_h < p->to_h;
    return status;
}

/* Hours pass; stops at each moment on the way. */
static fl_status pass_time(work *w, piece *p, const fl_op *op, int64_t *at_h, fl_filter *state,
                           fl_err *err)
{
    int64_t end_h = *at_h + op->time.n_hours;
    fl_status status = FL_OK;
    for (size_t k = first_from(w, *at_h + 1); status == FL_OK && *at_h < end_h; k++) {
        int64_t stop_h = k < w->n && w->moments[k].at_h < end_h ? w->moments[k].at_h : end_h;
        fl_op part = *op;
        part.time.n_hours = (int)(stop_h - *at_h);
        part.time.temps_c = op->time.temps_c == NULL
                                ? NULL
                                : op->time.temps_c + (*at_h - (end_h - op->time.n_hours));
        status = fl_op_apply(w->s->model, &part, state, err);
        *at_h = stop_h;
        if (status == FL_OK && k < w->n && w->moments[k].at_h == stop_h) {
            status = arrive_at(w, p, k, state, err);
        }
    }
    return status;
}

/* What a look or a treatment did to what was alive, if this copy is the likeliest so far. */
static fl_status note_effect(work *w, const piece *p, size_t k, const fl_op *op,
                             const fl_filter *before, const fl_filter *after, fl_err *err)
{
    moment *m = &w->moments[k];
    fl_filter_masses was = {0};
    fl_filter_masses is = {0};
    bool is_effect = op->kind == FL_OP_LOOK || op->kind == FL_OP_TREAT;
    if (w->set != 0 || !is_effect || !p->has_before[k] || p->before[k].middle < m->best_before) {
        return FL_OK;
    }
    fl_status status = fl_filter_means(before, w->s->mixture.weight_middle, &was, err);
    if (status == FL_OK) {
        status = fl_filter_means(after, w->s->mixture.weight_middle, &is, err);
    }
    if (status != FL_OK || was.alive <= 0.0) {
        return status;
    }
    m->best_before = p->before[k].middle;
    if (op->kind == FL_OP_LOOK) {
        m->frac_shown = (is.found - was.found) / was.alive;
    } else {
        m->frac_left = (isnan(m->frac_left) ? 1.0 : m->frac_left) * is.alive / was.alive;
    }
    return FL_OK;
}

/* Anything but time. */
static fl_status do_op(work *w, piece *p, const fl_op *op, int64_t at_h, fl_filter *state,
                       fl_err *err)
{
    fl_filter before = *state;
    size_t k = first_from(w, at_h);
    bool is_moment = k < w->n && w->moments[k].at_h == at_h;
    fl_status status = fl_op_apply(w->s->model, op, state, err);
    if (status != FL_OK || !is_moment) {
        return status;
    }
    if (op->kind == FL_OP_START || op->kind == FL_OP_START_EMPTY || op->kind == FL_OP_INFLOW) {
        return arrive_at(w, p, k, state, err); /* what came in belongs to the time before */
    }
    status = note_effect(w, p, k, op, &before, state, err);
    return status == FL_OK ? read_into(w, p, state, &p->after[k], err) : status;
}

/* A programme's nodes may be shared with an equal history at other dates, so hours are counted back
 * from where the copy ends. */
static fl_status replay(work *w, piece *p, fl_err *err)
{
    size_t n = 0;
    int64_t at_h = p->copy->at_h;
    for (const fl_prog *node = p->copy->prog; node != NULL; node = node->parent) {
        at_h -= node->op->kind == FL_OP_TIME ? node->op->time.n_hours : 0;
        n++;
    }
    const fl_prog **nodes = FL_ARENA_ARRAY(w->arena, const fl_prog *, n);
    size_t at = n;
    for (const fl_prog *node = p->copy->prog; node != NULL; node = node->parent) {
        nodes[--at] = node;
    }
    fl_filter state = {.n_mix = FL_MULTIPLIERS};
    memcpy(state.multiplier, w->s->mixture.multiplier, sizeof w->s->mixture.multiplier);
    fl_status status = FL_OK;
    for (size_t i = 0; i < n && status == FL_OK; i++) {
        const fl_op *op = nodes[i]->op;
        status = op->kind == FL_OP_TIME ? pass_time(w, p, op, &at_h, &state, err)
                                        : do_op(w, p, op, at_h, &state, err);
    }
    return status;
}

/* ---- over all copies ---- */

/* True when an earlier piece has the same root at that moment. */
static bool is_answered(const piece *pieces, size_t at, size_t k, bool is_after)
{
    for (size_t i = 0; i < at; i++) {
        bool has = is_after ? pieces[i].has_after[k] : pieces[i].has_before[k];
        if (has && pieces[i].copy->root == pieces[at].copy->root) {
            return true;
        }
    }
    return false;
}

/* The largest of each root, combined over roots: as fl_spread_chance. */
static fl_reading combined(const piece *pieces, size_t n, size_t k, bool is_after)
{
    fl_reading all = {0};
    for (size_t i = 0; i < n; i++) {
        fl_reading largest = {0};
        bool has_own = is_after ? pieces[i].has_after[k] : pieces[i].has_before[k];
        if (!has_own || is_answered(pieces, i, k, is_after)) {
            continue;
        }
        for (size_t j = i; j < n; j++) {
            bool has = is_after ? pieces[j].has_after[k] : pieces[j].has_before[k];
            if (has && pieces[j].copy->root == pieces[i].copy->root) {
                fl_reading_larger(&largest, is_after ? &pieces[j].after[k] : &pieces[j].before[k]);
            }
        }
        fl_reading_combine(&all, &largest);
    }
    return all;
}

static fl_status add_piece(work *w, fl_copy *copy, const fl_stretch *stretch, piece *pieces,
                           size_t *n, fl_err *err)
{
    bool is_open = !copy->is_closed && !copy->is_ended;
    fl_status status = FL_OK;
    if (is_open && stretch->to_h == INT64_MAX) {
        status = fl_spread_advance(w->s, copy, w->c->now_h, err);
    }
    int64_t end_h = is_open ? INT64_MAX : copy->at_h;
    piece p = {.copy = copy,
               .from_h = copy->from_h > stretch->from_h ? copy->from_h : stretch->from_h,
               .to_h = end_h < stretch->to_h ? end_h : stretch->to_h};
    if (status != FL_OK || p.from_h >= p.to_h || p.from_h > w->c->now_h) {
        return status;
    }
    p.before = FL_ARENA_ARRAY(w->arena, fl_reading, w->n);
    p.after = FL_ARENA_ARRAY(w->arena, fl_reading, w->n);
    p.has_before = FL_ARENA_ARRAY(w->arena, bool, w->n);
    p.has_after = FL_ARENA_ARRAY(w->arena, bool, w->n);
    pieces[*n] = p;
    return replay(w, &pieces[(*n)++], err);
}

static fl_status run_set(work *w, const fl_stretch *stretches, size_t n_stretches, fl_err *err)
{
    fl_status status = FL_OK;
    size_t cap = 0;
    size_t n = 0;
    for (size_t i = 0; i < n_stretches; i++) {
        for (size_t k = stretches[i].carrier == FL_NO_INDEX
                            ? FL_NO_INDEX
                            : w->s->carriers[stretches[i].carrier].first;
             k != FL_NO_INDEX; k = w->s->copies[k].next) {
            cap++;
        }
    }
    piece *pieces = FL_ARENA_ARRAY(w->arena, piece, cap + 1);
    for (size_t i = 0; i < n_stretches && status == FL_OK; i++) {
        if (stretches[i].carrier == FL_NO_INDEX) {
            continue;
        }
        for (size_t k = w->s->carriers[stretches[i].carrier].first;
             k != FL_NO_INDEX && status == FL_OK; k = w->s->copies[k].next) {
            status = add_piece(w, &w->s->copies[k], &stretches[i], pieces, &n, err);
        }
    }
    for (size_t k = 0; k < w->n && status == FL_OK; k++) {
        w->moments[k].before[w->set] = combined(pieces, n, k, false);
        w->moments[k].after[w->set] = combined(pieces, n, k, true);
    }
    return status;
}

/* ---- what happened to the lot ---- */

static bool is_listed(const fl_id_list *list, fl_id id)
{
    for (size_t i = 0; i < list->count; i++) {
        if (fl_id_eq(list->ids[i], id)) {
            return true;
        }
    }
    return false;
}

/* The name under which the plants went at a time: a split is the same plants. */
static const fl_lot *name_at(const fl_room *room, const fl_lot *lot, int64_t at_s)
{
    while (lot != NULL && lot->origin == FL_KIND_LOT_SPLIT && at_s < lot->born_s) {
        lot = fl_meaning_lot(&room->meaning, lot->mother);
    }
    return lot;
}

static bool is_looked_at(const fl_room *room, const fl_lot *lot, const fl_event *event)
{
    const fl_ev_look_done *look = &event->body.look_done;
    const fl_lot *name = name_at(room, lot, event->at_s);
    const fl_stay *stay =
        name == NULL ? NULL : fl_meaning_stay_at(&room->meaning, name->id, event->at_s);
    return stay != NULL && fl_id_eq(stay->place, look->place);
}

/* A find of this threat at the look, on a carrier of the lot: elsewhere in the place it is told as
 * what it was for this lot, a look. */
static bool is_find(const fl_room *room, const fl_event *event, const fl_threat *threat)
{
    for (size_t i = 0; i < room->meaning.n_findings; i++) {
        const fl_finding_now *f = &room->meaning.findings[i];
        if (f->at_s == event->at_s && fl_id_eq(f->place, event->body.look_done.place) &&
            !f->is_retracted && fl_sv_eq_cstr(f->threat, threat->code)) {
            return true;
        }
    }
    return false;
}

static void add_source(fl_course_mark *mark, const char *key)
{
    for (int i = 0; i < mark->n_sources; i++) {
        if (strcmp(mark->sources[i], key) == 0) {
            return;
        }
    }
    if (key != NULL && key[0] != '\0' && mark->n_sources < FL_STAGES_MAX) {
        mark->sources[mark->n_sources++] = key;
    }
}

/* What the tables say the step leaves of each stage. */
static void judge_step(const fl_threat *threat, const fl_ev_step *step, fl_course_mark *mark)
{
    mark->left_least = 1.0;
    mark->left_most = 0.0;
    for (int i = 0; i < threat->n_stages; i++) {
        fl_know_survival one = fl_know_survival_of(threat, i, step->step, step->agent);
        if (step->agent == FL_AGENT_HOT_WATER &&
            !fl_know_hot_water_counts(threat, step->temp_c, step->minutes)) {
            one.survival = 1.0;
        }
        mark->left_least = fmin(mark->left_least, one.survival);
        mark->left_most = fmax(mark->left_most, one.survival);
        mark->grade = one.grade > mark->grade ? one.grade : mark->grade;
        add_source(mark, one.source);
    }
}

typedef struct marks {
    fl_course_mark *list;
    size_t n, cap;
} marks;

static void add_mark(marks *m, fl_arena *arena, const fl_course_mark *mark)
{
    if (m->n == m->cap) {
        size_t cap = m->cap == 0 ? 32 : 2 * m->cap;
        fl_course_mark *list = FL_ARENA_ARRAY(arena, fl_course_mark, cap);
        if (m->n > 0) {
            memcpy(list, m->list, m->n * sizeof list[0]);
        }
        m->list = list;
        m->cap = cap;
    }
    m->list[m->n++] = *mark;
}

static void add_steps(const fl_room *room, const fl_event *event, const fl_course *course,
                      fl_arena *arena, marks *out)
{
    const fl_lot *name = name_at(room, course->lot, event->at_s);
    for (size_t k = 0; name != NULL && k < event->body.step_done.n_steps; k++) {
        const fl_ev_step *step = &event->body.step_done.steps[k];
        fl_course_mark mark = {.kind = FL_COURSE_STEP,
                               .event = event,
                               .at_s = event->at_s,
                               .frac_shown = (double)NAN,
                               .step = step};
        if (is_listed(&step->lots, name->id)) {
            judge_step(course->threat, step, &mark);
            add_mark(out, arena, &mark);
        }
    }
}

static void add_look(const fl_room *room, const fl_event *event, const fl_course *course,
                     fl_arena *arena, marks *out)
{
    const fl_ev_look_done *look = &event->body.look_done;
    fl_course_mark mark = {.kind = FL_COURSE_LOOK,
                           .event = event,
                           .at_s = event->at_s,
                           .is_credited = true,
                           .frac_left = (double)NAN};
    if (is_find(room, event, course->threat)) {
        mark.kind = FL_COURSE_FIND;
    }
    for (size_t i = 0; i < look->n_findings; i++) {
        mark.is_credited = mark.is_credited && look->findings[i].threat.len > 0;
    }
    add_mark(out, arena, &mark);
}

static void gather_marks(const fl_room *room, fl_course *course, fl_arena *arena)
{
    marks m = {0};
    for (size_t i = 0; i < room->n_events; i++) {
        const fl_event *event = &room->events[i];
        if (event->at_s < course->from_s || event->at_s > room->now_s) {
            continue;
        }
        if (event->kind == FL_KIND_STEP_DONE) {
            add_steps(room, event, course, arena, &m);
        } else if (event->kind == FL_KIND_LOOK_DONE && is_looked_at(room, course->lot, event)) {
            add_look(room, event, course, arena, &m);
        }
    }
    course->marks = m.list;
    course->n_marks = m.n;
}

/* ---- the grid ---- */

static int compare_hours(const void *a, const void *b)
{
    const moment *x = a;
    const moment *y = b;
    return x->at_h < y->at_h ? -1 : x->at_h > y->at_h ? 1 : 0;
}

static void set_grid(work *w, const fl_course *course)
{
    int64_t from_h = course->from_s / FL_HOUR_S;
    int64_t span_h = w->c->now_h - from_h;
    int64_t step_h = H_DAY * (1 + span_h / ((int64_t)H_DAY * POINTS_USUAL));
    size_t cap = (size_t)(span_h / step_h) + course->n_marks + 3;
    size_t n = 0;
    w->moments = FL_ARENA_ARRAY(w->arena, moment, cap);
    for (int64_t h = from_h; h < w->c->now_h; h += step_h) {
        w->moments[n++].at_h = h;
    }
    w->moments[n++].at_h = w->c->now_h;
    for (size_t i = 0; i < course->n_marks; i++) {
        w->moments[n++].at_h = course->marks[i].at_s / FL_HOUR_S;
    }
    qsort(w->moments, n, sizeof w->moments[0], compare_hours);
    for (size_t i = 0; i < n; i++) {
        if (w->n == 0 || w->moments[i].at_h != w->moments[w->n - 1].at_h) {
            w->moments[w->n++] = (moment){.at_h = w->moments[i].at_h,
                                          .best_before = 0.0,
                                          .frac_shown = (double)NAN,
                                          .frac_left = (double)NAN};
        }
    }
}

static double least_of(const fl_reading *r)
{
    return fmin(r->poor, fmin(r->middle, r->good));
}

static double most_of(const fl_reading *r)
{
    return fmax(r->poor, fmax(r->middle, r->good));
}

static fl_course_point point_of(int64_t at_h, const fl_reading *sets)
{
    return (fl_course_point){.at_s = at_h * FL_HOUR_S,
                             .chance = sets[0].middle,
                             .least = fmin(least_of(&sets[0]), least_of(&sets[1])),
                             .most = fmax(most_of(&sets[0]), most_of(&sets[1]))};
}

static void take_points(const work *w, fl_course *course)
{
    course->points = FL_ARENA_ARRAY(w->arena, fl_course_point, 2 * w->n);
    for (size_t k = 0; k < w->n; k++) {
        const moment *m = &w->moments[k];
        fl_course_point before = point_of(m->at_h, m->before);
        fl_course_point after = point_of(m->at_h, m->after);
        bool is_step = before.chance < after.chance || before.chance > after.chance ||
                       before.most < after.most || before.most > after.most;
        if (k > 0 && is_step) {
            course->points[course->n_points++] = before;
        }
        course->points[course->n_points++] = after;
    }
    for (size_t i = 0; i < course->n_marks; i++) {
        fl_course_mark *mark = &course->marks[i];
        const moment *m = &w->moments[first_from(w, mark->at_s / FL_HOUR_S)];
        mark->before = m->before[0].middle;
        mark->after = m->after[0].middle;
        mark->frac_shown = mark->kind == FL_COURSE_STEP ? (double)NAN : m->frac_shown;
        mark->frac_left = mark->kind == FL_COURSE_STEP ? m->frac_left : (double)NAN;
    }
}

/* ---- where it is from ---- */

static fl_form likeliest_form(const fl_threat *threat, fl_source_kind kind, unsigned forms)
{
    fl_form best = FL_FORM_POTTED;
    double most = -1.0;
    for (int form = 0; form < FL_FORM_COUNT; form++) {
        double prob =
            (forms & (1U << form)) != 0 ? fl_know_prior_of(threat, kind, (fl_form)form).prob : -1.0;
        best = prob > most ? (fl_form)form : best;
        most = fmax(most, prob);
    }
    return best;
}

/* The root of the pest's network that a reason speaks of: the same way in at the same time. */
static const fl_root *root_of(const fl_network *network, const fl_reason *reason)
{
    for (size_t i = 0; i < network->n_roots; i++) {
        if (network->roots[i].kind == reason->kind &&
            network->roots[i].at_h * FL_HOUR_S == reason->at_s) {
            return &network->roots[i];
        }
    }
    return NULL;
}

static int compare_origins(const void *a, const void *b)
{
    const fl_course_origin *x = a;
    const fl_course_origin *y = b;
    return x->reason.chance > y->reason.chance ? -1 : x->reason.chance < y->reason.chance ? 1 : 0;
}

static fl_status gather_origins(const work *w, fl_course *course, fl_err *err)
{
    fl_reason *reasons = NULL;
    size_t n = 0;
    fl_status status =
        fl_chances_reasons(w->c, course->lot, course->threat, w->arena, &reasons, &n, err);
    if (status != FL_OK) {
        return status;
    }
    course->origins = FL_ARENA_ARRAY(w->arena, fl_course_origin, n + 1);
    for (size_t i = 0; i < n; i++) {
        fl_course_origin *o = &course->origins[course->n_origins++];
        *o = (fl_course_origin){.reason = reasons[i], .already_here_factor = 1.0};
        const fl_root *root = root_of(fl_pest_network(w->c, w->pest), &reasons[i]);
        o->has_table =
            root != NULL && (root->kind == FL_ROOT_PURCHASE || root->kind == FL_ROOT_ALREADY_HERE);
        if (!o->has_table) {
            continue;
        }
        const fl_ev_source_set *source = fl_defs_source(&w->c->room->defs, root->source);
        o->source_kind = source != NULL ? source->kind : FL_SOURCE_CHAIN_STORE;
        o->form = likeliest_form(course->threat, o->source_kind, root->forms);
        o->table = fl_know_prior_of(course->threat, o->source_kind, o->form);
        if (root->kind == FL_ROOT_ALREADY_HERE) {
            o->already_here_factor = fl_know_already_here_factor(course->threat);
        }
    }
    qsort(course->origins, course->n_origins, sizeof course->origins[0], compare_origins);
    return FL_OK;
}

/* ---- temperatures ---- */

/* Hours of one stay. */
static void add_stay(const work *w, fl_id place, int64_t from_h, int64_t to_h, double *sum,
                     fl_course_temps *out)
{
    const double *temps_c = NULL;
    double constant_c = 0.0;
    const int64_t span[2] = {from_h, to_h};
    fl_temps_count count;
    int64_t hours = to_h - from_h;
    if (hours <= 0) {
        return;
    }
    fl_temps_of_place(w->c->room, place, from_h, to_h, w->arena, &temps_c, &constant_c);
    for (int64_t h = 0; h < hours; h++) {
        double value = temps_c != NULL ? temps_c[h] : constant_c;
        out->least_c = fmin(out->least_c, value);
        out->most_c = fmax(out->most_c, value);
        *sum += value;
    }
    fl_temps_count_of(w->c->room, place, span, &count);
    out->hours_measured += count.measured;
    out->hours_interpolated += count.interpolated;
    out->hours_told += count.told;
    out->hours_assumed += count.assumed;
}

static void gather_temps(const work *w, fl_course *course)
{
    const fl_meaning *m = &w->c->room->meaning;
    fl_course_temps *t = &course->temps;
    double sum = 0.0;
    int64_t first_h = course->from_s / FL_HOUR_S;
    *t = (fl_course_temps){.least_c = (double)NAN, .mean_c = (double)NAN, .most_c = (double)NAN};
    for (size_t i = 0; i < m->n_stays; i++) {
        const fl_stay *stay = &m->stays[i];
        const fl_lot *name = name_at(w->c->room, course->lot, stay->from_s);
        if (name == NULL || !fl_id_eq(stay->lot, name->id)) {
            continue;
        }
        int64_t from_h = stay->from_s / FL_HOUR_S;
        int64_t to_h = stay->to_s == FL_TIME_OPEN ? w->c->now_h : stay->to_s / FL_HOUR_S;
        if (!fl_id_eq(stay->lot, course->lot->id) && to_h > course->lot->born_s / FL_HOUR_S) {
            to_h = course->lot->born_s / FL_HOUR_S;
        }
        add_stay(w, stay->place, from_h > first_h ? from_h : first_h,
                 to_h < w->c->now_h ? to_h : w->c->now_h, &sum, t);
    }
    int64_t hours = t->hours_measured + t->hours_interpolated + t->hours_told + t->hours_assumed;
    if (hours > 0) {
        t->mean_c = sum / (double)hours;
    }
}

/* ---- ahead ---- */

static fl_status gather_ahead(work *w, size_t carrier, fl_course *course, fl_err *err)
{
    fl_forecast days;
    if (course->threat->is_out_of_reach) {
        return FL_OK;
    }
    fl_status status = fl_chances_forecast(w->c, course->lot, &days, err);
    const fl_cached *cached = fl_chances_cached(w->c, w->pest, carrier);
    for (int k = 0; status == FL_OK && cached->ahead != NULL && k <= days.n; k++) {
        course->ahead[course->n_ahead++] = (fl_course_point){.at_s = days.at_s[k],
                                                             .chance = cached->ahead[k],
                                                             .least = (double)NAN,
                                                             .most = (double)NAN};
    }
    return status;
}

/* ---- the whole ---- */

static fl_status find_now(fl_chances *c, fl_course *course, fl_arena *arena, fl_err *err)
{
    size_t n = 0;
    fl_lot_chance *all = FL_ARENA_ARRAY(arena, fl_lot_chance, fl_know_threat_count());
    fl_status status = fl_chances_of_lot(c, course->lot, all, &n, err);
    for (size_t i = 0; i < n && status == FL_OK; i++) {
        if (all[i].threat == course->threat) {
            course->now = all[i];
            return FL_OK;
        }
    }
    return status != FL_OK
               ? status
               : fl_fail(err, FL_ENOTFOUND, "%s has no chance of its own on a lot: ask for a pest",
                         course->threat->code);
}

static fl_status run_both(work *w, const fl_course *course, fl_err *err)
{
    fl_stretch *stretches = NULL;
    size_t lot = fl_chances_lot_index(w->c, course->lot);
    size_t n = fl_chances_stretches(w->c, w->pest, lot, &stretches);
    set_grid(w, course);
    w->s = &w->pest->slow;
    fl_status status = run_set(w, stretches, n, err);
    if (status == FL_OK) {
        w->s = &w->pest->fast;
        w->set = 1;
        status = run_set(w, stretches, n, err);
    }
    return status;
}

fl_status fl_course_make(fl_chances *c, const fl_room *room, const fl_lot *lot,
                         const fl_threat *threat, fl_arena *arena, fl_course *out, fl_err *err)
{
    fl_course course = {.lot = lot, .threat = threat};
    work w = {.c = c, .arena = arena};
    if (lot->is_gone) {
        return fl_fail(err, FL_EINVAL, "the lot is gone: name one that is here");
    }
    fl_status status = find_now(c, &course, arena, err);
    for (size_t i = 0; i < c->n_pests && status == FL_OK; i++) {
        w.pest = c->pests[i].threat == threat ? &c->pests[i] : w.pest;
    }
    if (status != FL_OK || w.pest == NULL) {
        return status;
    }
    course.from_s = fl_room_unsplit(room, lot)->born_s;
    course.from_s = course.from_s < room->now_s ? course.from_s : room->now_s;
    gather_marks(room, &course, arena);
    status = run_both(&w, &course, err);
    if (status == FL_OK) {
        take_points(&w, &course);
        gather_temps(&w, &course);
        status = gather_origins(&w, &course, err);
    }
    if (status == FL_OK) {
        status = gather_ahead(&w, fl_chances_carrier(c, w.pest, lot), &course, err);
    }
    if (status == FL_OK) {
        *out = course;
    }
    return status;
}
