/* Follows the plant out of the door: the room as it would be had the plant gone into a jar, so that
 * its carriers, copies and everything learned later are the chances' own. */
#include "app/complaint.h"

#include <math.h>
#include <string.h>

#include "app/chance_work.h"
#include "base/limits.h"
#include "base/shown.h"
#include "base/str.h"

/* ---- when it left ---- */

/* "K7F2QX, 9F5BGT": the parts of a batch that went. */
static fl_sv codes_of(const fl_batch_leaving *list, size_t n, fl_arena *arena)
{
    char code[FL_CODE_TEXT_MAX];
    fl_str text;
    fl_str_init(&text, FL_NOTE_BYTES_MAX);
    for (size_t i = 0; i < n && i < 5; i++) {
        fl_str_appendf(&text, "%s%s", i > 0 ? ", " : "", fl_id_code(code, list[i].lot->id));
    }
    const fl_sv copy = fl_arena_copy_sv(arena, fl_str_sv(&text));
    fl_str_done(&text);
    return copy;
}

fl_status fl_complaint_leaving(const fl_room *room, const fl_lot *lot, fl_arena *arena,
                               fl_batch_leaving *out, fl_err *err)
{
    char code[FL_CODE_TEXT_MAX];
    const fl_batch_leaving *list = NULL;
    size_t n = fl_batch_leavings(room, arena, &list);
    for (size_t i = 0; i < n; i++) {
        if (list[i].lot == lot) {
            *out = list[i];
            return FL_OK;
        }
    }
    n = fl_batch_who(room, lot, arena, &list);
    if (n == 0) {
        return fl_fail(err, FL_EINVAL,
                       "%s has not left by the record: say first to whom it went (fernlock give)",
                       fl_id_code(code, lot->id));
    }
    const fl_sv codes = codes_of(list, n, arena);
    return fl_fail(err, FL_EINVAL,
                   "%s has not left itself; name the part that the customer has: %.*s",
                   fl_id_code(code, lot->id), FL_SHOWN(codes));
}

/* ---- the room in which it went into a jar ---- */

#define WHAT_IF_MAX 5

typedef struct what_if {
    fl_event event[WHAT_IF_MAX];
    size_t n;
    fl_id jar;
} what_if;

static fl_event *add(what_if *w, const fl_event *like, const char *name)
{
    fl_event *made = &w->event[w->n++];
    *made = *like;
    made->id = fl_id_derive(like->id, fl_sv_from_cstr(name));
    return made;
}

/* A move to the jar, at the moment of the event that took the lot outside. */
static void add_move(what_if *w, const fl_event *left, const char *name, fl_id_list lots, fl_id to)
{
    fl_event *move = add(w, left, name);
    move->kind = FL_KIND_LOT_MOVED;
    move->body.lot_moved = (fl_ev_lot_moved){.lots = lots, .to = to};
}

/* Those of the list that are not this lot. */
static fl_id_list without(const fl_id_list *list, fl_id lot, fl_arena *arena)
{
    fl_id *ids = FL_ARENA_ARRAY(arena, fl_id, list->count + 1);
    size_t n = 0;
    for (size_t i = 0; i < list->count; i++) {
        if (!fl_id_eq(list->ids[i], lot)) {
            ids[n++] = list->ids[i];
        }
    }
    return (fl_id_list){ids, n};
}

/* What took it outside is taken back, and takes it into the jar; the others of a move go as they
 * went, and a lot that was born outside is born in the jar. */
static void replace_leaving(what_if *w, const fl_batch_leaving *left, fl_arena *arena)
{
    const fl_event *event = left->event;
    const fl_id_list one = {&left->lot->id, 1};
    fl_event *undo = add(w, event, "complaint undo");
    undo->kind = FL_KIND_EVENT_VOIDED;
    undo->body.event_voided = (fl_ev_event_voided){.event = event->id};
    if (event->kind == FL_KIND_LOT_RELEASED) {
        add_move(w, event, "complaint move", one, w->jar);
    } else if (event->kind == FL_KIND_LOT_MOVED) {
        const fl_id_list rest = without(&event->body.lot_moved.lots, left->lot->id, arena);
        add_move(w, event, "complaint move", one, w->jar);
        if (rest.count > 0) {
            add_move(w, event, "complaint rest", rest, event->body.lot_moved.to);
        }
    } else {
        fl_event *born = add(w, event, "complaint born");
        if (born->kind == FL_KIND_LOT_CUT) {
            born->body.lot_cut.place = w->jar;
        } else if (born->kind == FL_KIND_LOT_ARRIVED) {
            born->body.lot_arrived.place = w->jar;
        } else if (born->kind == FL_KIND_LOT_ALREADY_HERE) {
            born->body.lot_already_here.place = w->jar;
        }
    }
}

static void make_what_if(what_if *w, const fl_complaint *c, fl_arena *arena)
{
    *w = (what_if){.n = 0};
    w->jar = fl_id_derive(c->left.event->id, FL_SV("complaint jar"));
    fl_event *jar = add(w, c->left.event, "complaint place");
    jar->kind = FL_KIND_PLACE_SET;
    jar->body.place_set = (fl_ev_place_set){.place = w->jar,
                                            .name = FL_SV("at the customer's"),
                                            .kind = FL_PLACE_JAR,
                                            .set_temp_c = c->question.temp_c,
                                            .volume_l = (double)NAN,
                                            .shelf = -1};
    replace_leaving(w, &c->left, arena);
}

/* ---- what was on it ---- */

/* One question at work. */
typedef struct asking {
    fl_complaint *c;
    fl_chances *chances; /* of the room with the jar */
    const fl_pest *pest;
    size_t carrier;
    int64_t left_h, noticed_h;
    fl_arena *arena;
} asking;

/* The state of a copy at an hour; *is_there false when it came later. */
static fl_status state_at(const asking *a, const fl_spread *s, const fl_copy *copy, int64_t at_h,
                          fl_filter *out, bool *is_there, fl_err *err)
{
    const fl_prog *prog = copy->prog;
    int64_t reached_h = copy->at_h;
    *is_there = false;
    while (prog != NULL && reached_h > at_h) {
        reached_h -= prog->op->kind == FL_OP_TIME ? prog->op->time.n_hours : 0;
        prog = prog->parent;
    }
    if (prog == NULL) {
        return FL_OK;
    }
    *is_there = true;
    fl_status status = fl_programmes_state(a->chances->programmes, prog, out, err);
    if (status == FL_OK && reached_h < at_h) {
        status = fl_filter_advance_constant(s->model, a->c->question.temp_c,
                                            (int)(at_h - reached_h), out, err);
    }
    return status;
}

/* Of several copies of a root the largest counts (design 4.4). */
typedef struct found_way {
    size_t root;
    double chance;
    fl_filter *state;
    fl_complaint_way way;
} found_way;

static fl_status take_copy(const asking *a, const fl_spread *s, const fl_copy *copy,
                           found_way *ways, size_t *n, fl_err *err)
{
    fl_filter state;
    fl_reading reading = {0};
    bool is_there = false;
    size_t k = 0;
    if (copy->is_closed || copy->is_ended || copy->from_h > a->left_h) {
        return FL_OK;
    }
    fl_status status = state_at(a, s, copy, a->left_h, &state, &is_there, err);
    if (status == FL_OK && is_there) {
        status = fl_spread_read_state(s, copy, &state, &reading, err);
    }
    if (status != FL_OK || !is_there) {
        return status;
    }
    while (k < *n && ways[k].root != copy->root) {
        k++;
    }
    if (k == *n) {
        ways[(*n)++] = (found_way){
            .root = copy->root, .chance = -1.0, .state = FL_ARENA_NEW(a->arena, fl_filter)};
    }
    if (reading.middle > ways[k].chance) {
        ways[k].chance = reading.middle;
        *ways[k].state = state;
        ways[k].way = (fl_complaint_way){.left = ways[k].state,
                                         .prior = copy->is_steady ? 1.0 : fl_spread_prior(s, copy),
                                         .is_steady = copy->is_steady};
    }
    return FL_OK;
}

static fl_status gather(const asking *a, const fl_spread *s, fl_complaint_way **out, size_t *count,
                        fl_err *err)
{
    found_way *ways = FL_ARENA_ARRAY(a->arena, found_way, s->n_copies + 1);
    size_t n = 0;
    fl_status status = FL_OK;
    for (size_t i = s->carriers[a->carrier].first; i != FL_NO_INDEX && status == FL_OK;
         i = s->copies[i].next) {
        status = take_copy(a, s, &s->copies[i], ways, &n, err);
    }
    *out = FL_ARENA_ARRAY(a->arena, fl_complaint_way, n + 1);
    *count = n;
    for (size_t i = 0; i < n; i++) {
        (*out)[i] = ways[i].way;
    }
    return status;
}

/* ---- the numbers ---- */

/* A zero-truncated Poisson number of so small a mean is one. */
#define ONE_FOUNDER 1e-6

static void widen(fl_complaint_range *range, double value)
{
    if (!isnan(value)) {
        range->least = fmin(range->least, value);
        range->most = fmax(range->most, value);
    }
}

/* The middle is the gate's: of one founder and of many, whichever leaves the larger chance. */
static void take_middle(fl_complaint *c, const fl_complaint_answer *answer)
{
    if (isnan(c->on_it.middle) || answer->chance_left > c->on_it.middle) {
        c->on_it.middle = answer->chance_left;
        c->here.middle = answer->chance_here;
        c->noticed_here = answer->noticed_here;
        c->noticed_there = answer->noticed_there;
    }
}

/* All hazards and eyes over one run. */
static fl_status read_all(fl_complaint *c, const fl_complaint_masses *masses, bool is_middle_run,
                          fl_err *err)
{
    const fl_know_mixture mixture = fl_know_detectability();
    const double *const weights[] = {mixture.weight_middle, mixture.weight_low,
                                     mixture.weight_high};
    const double hazards[] = {c->question.hazard_per_30_days, FL_COMPLAINT_HAZARD_30_DAYS_LEAST,
                              FL_COMPLAINT_HAZARD_30_DAYS_MOST};
    const int n_hazards = c->is_hazard_told ? 1 : 3;
    fl_status status = FL_OK;
    for (int h = 0; h < n_hazards && status == FL_OK; h++) {
        for (int e = 0; e < 3 && status == FL_OK; e++) {
            fl_complaint_answer answer = {0};
            status = fl_complaint_read(masses, hazards[h] / 30.0, weights[e], &answer, err);
            if (status == FL_OK) {
                widen(&c->on_it, answer.chance_left);
                widen(&c->here, answer.chance_here);
            }
            if (status == FL_OK && is_middle_run && h == 0 && e == 0) {
                take_middle(c, &answer);
            }
        }
    }
    return status;
}

/* What a glance there sees, and what comes in there. */
typedef struct there {
    double glance[FL_STAGES_MAX];
    double colony[FL_STAGES_MAX];
    double share[FL_STAGES_MAX];
    int stage;
} there;

static there what_is_there(const fl_complaint *c)
{
    there t = {.stage = fl_backdate_stage(c->question.threat, c->question.stage)};
    for (int s = 0; s < c->question.threat->n_stages; s++) {
        t.glance[s] = fl_know_detect(c->question.threat, s, FL_EFFORT_GLANCE, 0, false);
        t.share[s] = c->question.threat->stage[s].start_share;
    }
    fl_backdate_colony(c->question.threat, t.glance, t.colony);
    return t;
}

static fl_status run_set(const asking *a, const fl_spread *s, bool is_slow, fl_err *err)
{
    fl_complaint *c = a->c;
    const fl_know_mixture mixture = fl_know_detectability();
    const there t = what_is_there(c);
    const double looks[] = {c->question.look_days, FL_COMPLAINT_LOOK_DAYS_LEAST,
                            FL_COMPLAINT_LOOK_DAYS_MOST};
    fl_complaint_way *ways = NULL;
    fl_complaint_query query = {.model = s->model,
                                .n_mix = FL_MULTIPLIERS,
                                .multiplier = mixture.multiplier,
                                .share = t.share,
                                .glance = t.glance,
                                .seen = {.stage = t.stage,
                                         .detect = t.glance,
                                         .cap = mixture.cap,
                                         .weight = mixture.weight_middle,
                                         .colony = t.colony},
                                .temp_c = c->question.temp_c,
                                .n_hours = (int)(a->noticed_h - a->left_h)};
    fl_status status = gather(a, s, &ways, &query.n_ways, err);
    query.ways = ways;
    for (int k = 0; k < (c->is_look_told ? 2 : 6) && status == FL_OK; k++) {
        fl_complaint_masses masses;
        query.seen.founders = k % 2 == 0 ? FL_FOUNDERS_MEAN : ONE_FOUNDER;
        query.look_every_h = (int)lround(looks[k / 2] * 24.0);
        status = fl_complaint_run(&query, &masses, err);
        if (status == FL_OK) {
            status = read_all(c, &masses, is_slow && k < 2, err);
        }
    }
    return status;
}

static fl_status weigh(asking *a, fl_err *err)
{
    const fl_complaint_range none = {.middle = (double)NAN, .least = 1.0, .most = 0.0};
    const fl_lot *lot = fl_meaning_lot(&a->chances->room->meaning, a->c->left.lot->id);
    a->c->on_it = a->c->here = none;
    for (size_t i = 0; i < a->chances->n_pests; i++) {
        if (a->chances->pests[i].threat == a->c->question.threat) {
            a->pest = &a->chances->pests[i];
        }
    }
    a->carrier =
        a->pest != NULL && lot != NULL ? fl_chances_carrier(a->chances, a->pest, lot) : FL_NO_INDEX;
    if (a->carrier == FL_NO_INDEX) {
        a->c->no_chance = "what is known of the plant does not reach to the day it left";
        return FL_OK;
    }
    fl_status status = run_set(a, &a->pest->slow, true, err);
    return status == FL_OK ? run_set(a, &a->pest->fast, false, err) : status;
}

/* The reasons why there can be no number. */
static const char *why_no_chance(const fl_complaint *c)
{
    const fl_threat *threat = c->question.threat;
    if (threat->class != FL_CLASS_PEST || threat->n_stages == 0) {
        return "no clock is known of it: only who else may have it can be told";
    }
    if (c->question.noticed_s - c->left.at_s > (int64_t)FL_COMPLAINT_HOURS_MAX * FL_HOUR_S) {
        return "it left more than two years before: what was known then says nothing now";
    }
    return NULL;
}

static fl_status ask_chances(const fl_room *room, fl_app *app, fl_arena *arena, fl_complaint *c,
                             fl_err *err)
{
    what_if what;
    fl_room with;
    asking a = {.c = c,
                .left_h = c->left.at_s / FL_HOUR_S,
                .noticed_h = c->question.noticed_s / FL_HOUR_S,
                .arena = arena};
    make_what_if(&what, c, arena);
    fl_status status = fl_room_with(room, what.event, what.n, &with, err);
    if (status != FL_OK) {
        return status;
    }
    status = fl_chances_new(&with, app, &a.chances, err);
    if (status == FL_OK) {
        status = weigh(&a, err);
        fl_chances_free(a.chances);
    }
    fl_room_done(&with);
    return status;
}

/* ---- asking ---- */

static fl_sv customer_of(const fl_room *room, const fl_complaint *c)
{
    if (c->event != NULL && c->event->body.complaint_noted.customer.len > 0) {
        return c->event->body.complaint_noted.customer;
    }
    return fl_room_place_name(room, c->left.to);
}

/* A date without a time is noon: of the day it left, it is not before it. */
static bool is_same_day(const fl_room *room, int64_t a_s, int64_t b_s)
{
    return fl_civil_day_end(a_s, room->tz_offset_min) == fl_civil_day_end(b_s, room->tz_offset_min);
}

static fl_status ask(const fl_room *room, fl_app *app, fl_chances *chances, fl_arena *arena,
                     fl_complaint *c, fl_err *err)
{
    const fl_trace_question trace = {.lot = c->question.lot,
                                     .threat = c->question.threat,
                                     .from_s = INT64_MIN,
                                     .to_s = FL_TIME_OPEN};
    fl_status status = fl_complaint_leaving(room, c->question.lot, arena, &c->left, err);
    if (status == FL_OK && is_same_day(room, c->question.noticed_s, c->left.at_s)) {
        c->question.noticed_s =
            c->question.noticed_s > c->left.at_s ? c->question.noticed_s : c->left.at_s;
    }
    if (status == FL_OK && c->question.noticed_s < c->left.at_s) {
        char at[FL_CIVIL_TEXT_MAX];
        return fl_fail(err, FL_EINVAL, "noticed before it left, on %s: give a later day",
                       fl_civil_format_date(at, c->left.at_s, room->tz_offset_min));
    }
    if (status != FL_OK) {
        return status;
    }
    c->customer = customer_of(room, c);
    c->n_others = fl_batch_who(room, c->question.lot, arena, &c->others);
    c->no_chance = why_no_chance(c);
    if (c->no_chance == NULL) {
        status = ask_chances(room, app, arena, c, err);
    }
    return status == FL_OK ? fl_trace_ask(room, chances, &trace, arena, &c->trace, err) : status;
}

static void fill_in(fl_complaint *c)
{
    fl_complaint_question *q = &c->question;
    c->is_hazard_told = !isnan(q->hazard_per_30_days);
    c->is_look_told = !isnan(q->look_days);
    q->hazard_per_30_days = c->is_hazard_told ? q->hazard_per_30_days : FL_COMPLAINT_HAZARD_30_DAYS;
    q->look_days = c->is_look_told ? fmax(1.0, q->look_days) : FL_COMPLAINT_LOOK_DAYS;
    q->temp_c = isnan(q->temp_c) ? FL_COMPLAINT_TEMP_C : q->temp_c;
}

fl_status fl_complaint_ask(const fl_room *room, fl_app *app, fl_chances *chances,
                           const fl_complaint_question *question, fl_arena *arena,
                           fl_complaint *out, fl_err *err)
{
    fl_complaint c = {.question = *question};
    fill_in(&c);
    const fl_status status = ask(room, app, chances, arena, &c, err);
    if (status == FL_OK) {
        *out = c;
    }
    return status;
}

fl_status fl_complaint_question_of(const fl_room *room, const fl_event *event,
                                   fl_complaint_question *out, fl_err *err)
{
    const fl_ev_complaint_noted *b = &event->body.complaint_noted;
    const fl_lot *lot = fl_meaning_lot(&room->meaning, b->lot);
    const fl_threat *threat = fl_know_threat_find(b->threat);
    if (lot == NULL) {
        return fl_fail(err, FL_ENOTFOUND, "the lot that was complained of is not there any more");
    }
    if (threat == NULL) {
        return fl_fail(err, FL_EINVAL, "\"%.*s\" is no threat", FL_SHOWN(b->threat));
    }
    *out = (fl_complaint_question){.lot = lot,
                                   .threat = threat,
                                   .noticed_s = event->at_s,
                                   .stage = b->stage,
                                   .hazard_per_30_days = b->hazard_per_30_days,
                                   .look_days = b->look_days,
                                   .temp_c = b->temp_c};
    return FL_OK;
}

fl_status fl_complaint_ask_event(const fl_room *room, fl_app *app, fl_chances *chances,
                                 const fl_event *event, fl_arena *arena, fl_complaint *out,
                                 fl_err *err)
{
    fl_complaint c = {.event = event};
    fl_status status = fl_complaint_question_of(room, event, &c.question, err);
    if (status == FL_OK) {
        fill_in(&c);
        status = ask(room, app, chances, arena, &c, err);
    }
    if (status == FL_OK) {
        *out = c;
    }
    return status;
}

const fl_event *fl_complaint_find(const fl_room *room, fl_sv text)
{
    char id[FL_ID_TEXT_MAX];
    char code[FL_CODE_TEXT_MAX];
    for (size_t i = 0; i < room->n_events; i++) {
        const fl_event *event = &room->events[i];
        if (event->kind == FL_KIND_COMPLAINT_NOTED &&
            (fl_sv_eq_nocase(text, fl_sv_from_cstr(fl_id_format(id, event->id))) ||
             fl_sv_eq_nocase(text, fl_sv_from_cstr(fl_id_code(code, event->id))))) {
            return event;
        }
    }
    return NULL;
}
