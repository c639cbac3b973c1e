/* Gathers a lot's copies as they stand now, and asks core/clear/lookplan. */
#include "app/looks.h"

#include <math.h>
#include <string.h>

#include "app/chance_work.h"

#define FL_WORD_ENTRY(name, word, text) {word, text},
const fl_word fl_words_what_if[FL_WHAT_IF_COUNT] = {FL_WHAT_IF_LIST(FL_WORD_ENTRY)};

#define EVERY_DAYS_LEAST 5
#define EVERY_DAYS_MOST 28
#define TEMP_LEAST_C 5.0
#define TEMP_MOST_C 35.0
/* Guards are asked for over this many round days first: mostly one of them meets it. */
#define GUARD_DAYS_FIRST 8

struct fl_looks {
    fl_chances *chances;
    const fl_room *room;
    const fl_lot *lot;
    fl_arena *arena;
    fl_gate_report report;
    unsigned devices;            /* hang in the place now */
    fl_lookplan_pest *pests;     /* weights; what looks see is set for each question */
    const fl_pest **pest_source; /* [n_pests] */
    double *inflow_per_day;      /* [n_pests] as the place is */
    size_t n_pests;
    fl_lookplan_copy *copies;
    size_t n_copies;
    void *work;
    size_t work_bytes;
};

/* One question: the days and what they have to meet. */
typedef struct question {
    fl_looks *looks;
    const fl_looks_options *options;
    int64_t at_s[FL_LOOKS_DAYS_MAX];
    int hours[FL_LOOKS_DAYS_MAX];
    int n_days;
    int first_release; /* n_days: none */
    fl_condition_kind binding;
    const fl_threat *threat; /* of the guard, when it binds */
    bool needs_roots;
    fl_lookplan_problem problem;
} question;

/* ---- gathering ---- */

/* Cards and baits that hang in the place now: they will be read at the looks to come. */
unsigned fl_devices_in(const fl_room *room, fl_id place)
{
    unsigned devices = 0;
    for (size_t i = 0; i < room->n_events; i++) {
        const fl_event *event = &room->events[i];
        if (event->kind == FL_KIND_CARD_SET && fl_id_eq(event->body.card_set.place, place)) {
            unsigned bit = 1U << event->body.card_set.device;
            devices = event->body.card_set.is_taken_away ? devices & ~bit : devices | bit;
        }
    }
    return devices;
}

static bool is_here(const fl_looks *looks, const fl_copy *copy)
{
    return !copy->is_closed && !copy->is_ended && copy->from_h <= looks->chances->now_h;
}

/* The room's trickle goes on where it came in, not with what was carried off. */
static bool takes_inflow(const fl_copy *copy)
{
    return copy->is_steady && copy->link == FL_LINK_COUNT;
}

/* Puts a copy behind the others of its root, else at the end of its pest. */
static void place_copy(fl_looks *looks, size_t first, const fl_lookplan_copy *copy)
{
    size_t at = looks->n_copies;
    for (size_t i = first; i < looks->n_copies; i++) {
        at = looks->copies[i].root == copy->root ? i + 1 : at;
    }
    for (size_t i = looks->n_copies; i > at; i--) {
        looks->copies[i] = looks->copies[i - 1];
    }
    looks->copies[at] = *copy;
    looks->n_copies++;
}

static fl_status gather_copies(fl_looks *looks, fl_pest *pest, size_t carrier, fl_err *err)
{
    fl_chances *c = looks->chances;
    fl_spread *s = &pest->slow;
    size_t first = looks->n_copies;
    fl_status status = FL_OK;
    for (size_t i = s->carriers[carrier].first; i != FL_NO_INDEX && status == FL_OK;
         i = s->copies[i].next) {
        fl_copy *copy = &s->copies[i];
        if (!is_here(looks, copy)) {
            continue;
        }
        fl_filter *own = FL_ARENA_NEW(looks->arena, fl_filter);
        status = fl_spread_advance(s, copy, c->now_h, err);
        if (status == FL_OK) {
            status = fl_programmes_state(c->programmes, copy->prog, own, err);
        }
        if (status != FL_OK) {
            return status;
        }
        own->prior = copy->is_steady ? 0.0 : fl_spread_prior(s, copy);
        fl_lookplan_copy as = {.pest = looks->n_pests,
                               .root = copy->root,
                               .state = own,
                               .is_steady = copy->is_steady,
                               .takes_inflow = takes_inflow(copy)};
        place_copy(looks, first, &as);
    }
    return status;
}

static size_t count_copies(const fl_looks *looks)
{
    size_t n = 0;
    for (size_t i = 0; i < looks->chances->n_pests; i++) {
        const fl_pest *pest = &looks->chances->pests[i];
        size_t carrier = fl_chances_carrier(looks->chances, pest, looks->lot);
        if (carrier == FL_NO_INDEX) {
            continue;
        }
        for (size_t k = pest->slow.carriers[carrier].first; k != FL_NO_INDEX;
             k = pest->slow.copies[k].next) {
            n += is_here(looks, &pest->slow.copies[k]);
        }
    }
    return n;
}

/* The uses asked for, in the order of the enum: column u of weights and ceilings. */
static int uses_of(unsigned mask, fl_use uses[FL_USE_COUNT])
{
    int n = 0;
    for (int use = 0; use < FL_USE_COUNT; use++) {
        if ((mask & (1U << use)) != 0) {
            uses[n++] = (fl_use)use;
        }
    }
    return n;
}

static void set_pest(fl_looks *looks, const fl_pest *pest, size_t carrier)
{
    const fl_threat *threat = pest->threat;
    fl_use uses[FL_USE_COUNT];
    int n_uses = uses_of(looks->report.uses, uses);
    bool has_gasket = pest->slow.network->carriers[carrier].has_gasket;
    fl_lookplan_pest *out = &looks->pests[looks->n_pests];
    *out = (fl_lookplan_pest){.model = pest->slow.model,
                              .inflow_per_day = fl_know_room_per_day(threat, has_gasket),
                              .inflow_per_look = fl_know_room_per_opening(threat)};
    for (int u = 0; u < n_uses; u++) {
        out->weight[u] = threat->weight[uses[u]];
    }
    for (int i = 0; i < threat->n_stages; i++) {
        out->inflow_share[i] = threat->stage[i].start_share;
    }
    looks->pest_source[looks->n_pests] = pest;
    looks->inflow_per_day[looks->n_pests] = out->inflow_per_day;
}

static fl_status gather(fl_looks *looks, fl_err *err)
{
    fl_chances *c = looks->chances;
    fl_status status = FL_OK;
    looks->pests = FL_ARENA_ARRAY(looks->arena, fl_lookplan_pest, c->n_pests);
    looks->pest_source = FL_ARENA_ARRAY(looks->arena, const fl_pest *, c->n_pests);
    looks->inflow_per_day = FL_ARENA_ARRAY(looks->arena, double, c->n_pests);
    looks->copies = FL_ARENA_ARRAY(looks->arena, fl_lookplan_copy, count_copies(looks));
    for (size_t i = 0; i < c->n_pests && status == FL_OK; i++) {
        fl_pest *pest = &c->pests[i];
        size_t carrier = fl_chances_carrier(c, pest, looks->lot);
        if (carrier == FL_NO_INDEX || pest->threat->is_out_of_reach) {
            continue;
        }
        set_pest(looks, pest, carrier);
        status = gather_copies(looks, pest, carrier, err);
        looks->n_pests++;
    }
    return status;
}

fl_status fl_looks_open(fl_chances *chances, const fl_room *room, const fl_lot *lot, unsigned uses,
                        fl_arena *arena, fl_looks **out, fl_err *err)
{
    fl_looks *looks = FL_ARENA_NEW(arena, fl_looks);
    *looks = (fl_looks){.chances = chances, .room = room, .lot = lot, .arena = arena};
    fl_status status = fl_gate_ask(chances, room, lot, uses, arena, &looks->report, err);
    if (status == FL_OK) {
        looks->devices = fl_devices_in(room, lot->place);
        status = gather(looks, err);
    }
    if (status == FL_OK) {
        *out = looks;
    }
    return status;
}

const fl_gate_report *fl_looks_report(const fl_looks *looks)
{
    return &looks->report;
}

fl_looks_options fl_looks_usual(const fl_looks *looks)
{
    return (fl_looks_options){.every_days = 7,
                              .effort = looks->room->round_effort,
                              .devices = looks->devices,
                              .temp_c = (double)NAN};
}

/* ---- the days ---- */

static fl_status check_options(const fl_looks_options *o, fl_err *err)
{
    if (o->every_days < EVERY_DAYS_LEAST || o->every_days > EVERY_DAYS_MOST) {
        return fl_fail(err, FL_EDOMAIN, "a look every %d days: give %d to %d", o->every_days,
                       EVERY_DAYS_LEAST, EVERY_DAYS_MOST);
    }
    if ((int)o->effort < 0 || o->effort >= FL_EFFORT_COUNT) {
        return fl_fail(err, FL_EDOMAIN, "effort %d: give 0 to %d", (int)o->effort,
                       FL_EFFORT_COUNT - 1);
    }
    if (!isnan(o->temp_c) && !(o->temp_c >= TEMP_LEAST_C && o->temp_c <= TEMP_MOST_C)) {
        return fl_fail(err, FL_EDOMAIN, "%g C in the place: give %g to %g", o->temp_c, TEMP_LEAST_C,
                       TEMP_MOST_C);
    }
    if (o->n_looks < 0 || o->n_looks > FL_LOOKS_DAYS_MAX) {
        return fl_fail(err, FL_EDOMAIN, "at most %d looks: give 0 to %d", o->n_looks,
                       FL_LOOKS_DAYS_MAX);
    }
    return FL_OK;
}

static bool is_round_day(const fl_room *room)
{
    return fl_civil_weekday(room->now_s, room->tz_offset_min) == room->round_weekday;
}

/* Today, when it is a round day, then the next round day and so on over half a year. */
static void set_days(question *q)
{
    const fl_forecast *weeks = &q->looks->report.forecast;
    int64_t now_h = q->looks->chances->now_h;
    int64_t last_s = weeks->at_s[weeks->n];
    if (is_round_day(q->looks->room)) {
        q->at_s[q->n_days++] = q->looks->room->now_s;
    }
    int64_t step_s = q->options->every_days * (int64_t)FL_DAY_S;
    int64_t at_s = q->n_days > 0 && q->options->every_days > 7
                       ? weeks->at_s[1] - 7 * FL_DAY_S + step_s
                       : weeks->at_s[1];
    for (; at_s <= last_s && q->n_days < FL_LOOKS_DAYS_MAX; at_s += step_s) {
        if (!fl_room_is_away(q->looks->room, at_s)) {
            q->at_s[q->n_days++] = at_s;
        }
    }
    for (int k = 0; k < q->n_days; k++) {
        int64_t hour = q->at_s[k] / FL_HOUR_S - now_h;
        q->hours[k] = (int)(hour > 0 ? hour : 0);
    }
}

/* The first day on or after a moment; n_days: none. */
static int day_from(const question *q, int64_t at_s)
{
    int day = 0;
    while (day < q->n_days && q->at_s[day] < at_s) {
        day++;
    }
    return day;
}

/* ---- what else the release waits for ---- */

static void wait_for(question *q, int day, fl_condition_kind kind, const fl_threat *threat)
{
    if (day > q->first_release) {
        q->first_release = day;
        q->binding = kind;
        q->threat = threat;
    }
}

/* The first day on which looks at this effort meet the guard of one pest; n_days: none. */
static fl_status guard_day(const question *q, const fl_threat *threat, fl_effort effort, int *day,
                           fl_err *err)
{
    double share[FL_LOOKS_DAYS_MAX];
    fl_guard_case guard = {
        .threat = threat, .effort = effort, .temp_c = q->options->temp_c, .at_s = q->at_s};
    int most = q->n_days < FL_FORECAST_LOOKS ? q->n_days : FL_FORECAST_LOOKS;
    int tried = 0;
    *day = q->n_days;
    while (tried < most && *day == q->n_days) {
        guard.n = tried == 0 && most > GUARD_DAYS_FIRST ? GUARD_DAYS_FIRST : most;
        fl_status status =
            fl_chances_guard_if(q->looks->chances, q->looks->lot, &guard, share, err);
        if (status != FL_OK) {
            return status;
        }
        for (int k = guard.n - 1; k >= tried; k--) {
            *day = share[k] >= FL_GATE_GUARD_SHARE ? k : *day;
        }
        tried = guard.n;
    }
    return FL_OK;
}

static double largest_weight(const fl_threat *threat, unsigned uses)
{
    double largest = 0.0;
    for (int use = 0; use < FL_USE_COUNT; use++) {
        if ((uses & (1U << use)) != 0) {
            largest = fmax(largest, threat->weight[use]);
        }
    }
    return largest;
}

static fl_status wait_for_guards(question *q, fl_err *err)
{
    const fl_gate_report *r = &q->looks->report;
    fl_status status = FL_OK;
    for (size_t i = 0; i < r->n_threats && status == FL_OK; i++) {
        const fl_gate_threat *t = &r->threats[i];
        int day = 0;
        if (t->threat->is_out_of_reach || t->guard_share >= FL_GATE_GUARD_SHARE ||
            largest_weight(t->threat, r->uses) * t->prior < FL_GATE_GUARD_FROM) {
            continue;
        }
        status = guard_day(q, t->threat, q->options->effort, &day, err);
        if (status == FL_OK && day == q->n_days && q->options->effort != FL_EFFORT_ROOTS) {
            status = guard_day(q, t->threat, FL_EFFORT_ROOTS, &day, err);
            q->needs_roots = q->needs_roots || day < q->n_days;
        }
        if (status == FL_OK) {
            wait_for(q, day, FL_CONDITION_GUARD, t->threat);
        }
    }
    return status;
}

static fl_status wait_for_conditions(question *q, fl_err *err)
{
    static const fl_condition_kind timed[] = {FL_CONDITION_LEAST_DAYS, FL_CONDITION_RESIDUE};
    const fl_gate_answer *a = &q->looks->report.answer;
    q->binding = FL_CONDITION_CHANCE;
    for (size_t i = 0; i < sizeof timed / sizeof timed[0]; i++) {
        const fl_condition *c = &a->conditions[timed[i]];
        if (!c->is_met && c->earliest_s != FL_GATE_NEVER) {
            wait_for(q, day_from(q, c->earliest_s), timed[i], NULL);
        }
    }
    return wait_for_guards(q, err);
}

/* Conditions that neither looks nor time will meet. */
static unsigned blocked(const fl_gate_answer *a)
{
    unsigned mask = 0;
    for (int i = 0; i < FL_CONDITION_COUNT; i++) {
        bool is_ours = i == FL_CONDITION_CHANCE || i == FL_CONDITION_GUARD ||
                       i == FL_CONDITION_LEAST_DAYS || i == FL_CONDITION_RELEASE_LOOK;
        bool is_timed = i == FL_CONDITION_RESIDUE && a->conditions[i].earliest_s != FL_GATE_NEVER;
        if (!a->conditions[i].is_met && !is_ours && !is_timed) {
            mask |= 1U << i;
        }
    }
    return mask;
}

/* ---- the problem ---- */

static void set_eyes(const question *q)
{
    for (size_t p = 0; p < q->looks->n_pests; p++) {
        const fl_threat *threat = q->looks->pest_source[p]->threat;
        for (int i = 0; i < threat->n_stages; i++) {
            q->looks->pests[p].detect[i] =
                fl_know_detect(threat, i, q->options->effort, q->options->devices, false);
        }
        q->looks->pests[p].inflow_per_day = q->options->is_sealed
                                                ? fl_know_room_per_day(threat, true)
                                                : q->looks->inflow_per_day[p];
    }
}

static void set_temps(question *q)
{
    fl_lookplan_problem *p = &q->problem;
    fl_chances *c = q->looks->chances;
    int64_t to_h = c->now_h + q->hours[q->n_days - 1];
    p->temp_c = q->options->temp_c;
    if (isnan(q->options->temp_c)) {
        fl_temps_of_place(q->looks->room, q->looks->lot->place, c->now_h, to_h, &c->arena,
                          &p->temps_c, &p->temp_c);
    }
}

static fl_status set_problem(question *q, fl_err *err)
{
    fl_looks *looks = q->looks;
    const fl_gate_report *r = &looks->report;
    fl_know_mixture mixture = fl_know_detectability();
    fl_use uses[FL_USE_COUNT];
    int64_t last_s = r->last_look_s;
    q->problem = (fl_lookplan_problem){
        .pests = looks->pests,
        .n_pests = looks->n_pests,
        .copies = looks->copies,
        .n_copies = looks->n_copies,
        .cap = mixture.cap,
        .founders = {.family = FL_FOUNDERS_ZT_POISSON, .lambda = FL_FOUNDERS_MEAN},
        .n_uses = uses_of(r->uses, uses),
        .hours = q->hours,
        .n_days = q->n_days,
        .since_last_look_h = -1,
        .first_release = q->first_release,
        .most_looks = q->options->n_looks > 0 ? q->options->n_looks : q->n_days};
    memcpy(q->problem.mix_weight, mixture.weight_middle, sizeof q->problem.mix_weight);
    for (int u = 0; u < q->problem.n_uses; u++) {
        q->problem.ceiling[u] = fl_know_use_of(uses[u]).ceiling;
    }
    if (last_s != INT64_MIN) {
        q->problem.since_last_look_h = (int)((looks->room->now_s - last_s) / FL_HOUR_S);
    }
    set_eyes(q);
    set_temps(q);
    size_t bytes = fl_lookplan_work_bytes(&q->problem);
    if (bytes > looks->work_bytes) {
        looks->work = fl_arena_alloc(looks->arena, bytes, 1);
        looks->work_bytes = bytes;
    }
    return bytes > 0 ? FL_OK : fl_fail(err, FL_EINVAL, "the looks ahead cannot be planned");
}

static fl_status ask(fl_looks *looks, const fl_looks_options *options, question *q, fl_err *err)
{
    fl_status status = check_options(options, err);
    *q = (question){.looks = looks, .options = options};
    if (status != FL_OK) {
        return status;
    }
    set_days(q);
    status = wait_for_conditions(q, err);
    return status == FL_OK ? set_problem(q, err) : status;
}

/* ---- answers ---- */

static int64_t date_of(const question *q, int day)
{
    return day == FL_LOOKPLAN_NEVER ? FL_GATE_NEVER : q->at_s[day];
}

fl_status fl_looks_make_plan(fl_looks *looks, const fl_looks_options *options, fl_looks_plan *out,
                             fl_err *err)
{
    question q;
    fl_lookplan plan;
    fl_status status = ask(looks, options, &q, err);
    if (status == FL_OK) {
        status = fl_lookplan_find(&q.problem, looks->work, &plan, err);
    }
    if (status != FL_OK) {
        return status;
    }
    bool is_on_hold = plan.release == q.first_release || q.first_release == q.n_days;
    const fl_gate_answer *answer = &looks->report.answer;
    fl_looks_plan made = {.n_days = q.n_days,
                          .n_looks = plan.n_looks,
                          .release_s = date_of(&q, plan.release),
                          .needs_roots = q.needs_roots,
                          .blocked = blocked(answer)};
    made.binding = is_on_hold ? q.binding : FL_CONDITION_CHANCE;
    made.threat = made.binding == FL_CONDITION_CHANCE && answer->worst != NULL
                      ? answer->worst->threat
                      : q.threat;
    for (int k = 0; k < q.n_days && status == FL_OK; k++) {
        const fl_lookplan_day *day = &plan.day[k];
        int moved = FL_LOOKPLAN_NEVER;
        if (day->is_look) {
            status = fl_lookplan_missed(&q.problem, &plan, k, looks->work, &moved, err);
        }
        made.days[k] = (fl_looks_day){.at_s = q.at_s[k],
                                      .is_look = day->is_look,
                                      .load = day->load,
                                      .load_changed = day->load_changed,
                                      .missed_s = date_of(&q, moved)};
    }
    if (status == FL_OK) {
        *out = made;
    }
    return status;
}

fl_status fl_looks_release(fl_looks *looks, const fl_looks_options *options, int64_t *release_s,
                           fl_err *err)
{
    question q;
    fl_lookplan plan;
    fl_status status = ask(looks, options, &q, err);
    if (status == FL_OK) {
        status = fl_lookplan_every(&q.problem, looks->work, &plan, err);
    }
    if (status == FL_OK) {
        *release_s = date_of(&q, plan.release);
    }
    return status;
}

/* ---- what if ---- */

/* A card that is not there yet: yellow before blue. */
static bool next_card(unsigned devices, fl_device *out)
{
    static const fl_device cards[] = {FL_DEVICE_YELLOW_CARD, FL_DEVICE_BLUE_CARD};
    for (size_t i = 0; i < sizeof cards / sizeof cards[0]; i++) {
        if ((devices & (1U << cards[i])) == 0) {
            *out = cards[i];
            return true;
        }
    }
    return false;
}

static double set_value_now(const fl_looks *looks)
{
    const double *temps_c = NULL;
    double constant_c = 0.0;
    int64_t now_h = looks->chances->now_h;
    fl_temps_of_place(looks->room, looks->lot->place, now_h, now_h + 1, &looks->chances->arena,
                      &temps_c, &constant_c);
    return temps_c != NULL ? temps_c[0] : constant_c;
}

/* Unknown plants last, the farthest above their best range first. */
static bool is_worse(const fl_warm_plant *a, const fl_warm_plant *b)
{
    if (isnan(a->over_c) || isnan(b->over_c)) {
        return !isnan(a->over_c) && isnan(b->over_c);
    }
    return a->over_c > b->over_c;
}

size_t fl_looks_warm_plants(const fl_looks *looks, double temp_c, fl_arena *arena,
                            fl_warm_plant **out)
{
    const fl_room *room = looks->room;
    size_t n = 0;
    if (isnan(temp_c)) {
        return 0;
    }
    fl_warm_plant *plants = FL_ARENA_ARRAY(arena, fl_warm_plant, room->meaning.n_lots);
    for (size_t i = 0; i < room->meaning.n_lots; i++) {
        const fl_lot *lot = &room->meaning.lots[i];
        if (lot->is_gone || !fl_id_eq(lot->place, looks->lot->place)) {
            continue;
        }
        const fl_know_plant *plant = fl_room_plant_row(room, lot);
        fl_warm_plant warm = {.lot = lot, .plant = plant, .over_c = (double)NAN};
        if (plant != NULL && !isnan(plant->temp_opt_hi_c)) {
            warm.over_c = fmax(0.0, temp_c - plant->temp_opt_hi_c);
        }
        size_t at = n++;
        for (; at > 0 && is_worse(&warm, &plants[at - 1]); at--) {
            plants[at] = plants[at - 1];
        }
        plants[at] = warm;
    }
    *out = plants;
    return n;
}

static bool is_leaky_box(const fl_looks *looks)
{
    const fl_ev_place_set *place = fl_defs_place(&looks->room->defs, looks->lot->place);
    return place != NULL && !place->has_gasket &&
           (place->kind == FL_PLACE_BIN || place->kind == FL_PLACE_JAR);
}

/* Changes the options; false when there is nothing to change. */
static bool change(const fl_looks *looks, const fl_looks_options *usual, fl_what_if *what,
                   fl_looks_options *options)
{
    *options = *usual;
    switch (what->kind) {
    case FL_WHAT_IF_FORTNIGHT:
        options->every_days *= 2;
        return options->every_days <= EVERY_DAYS_MOST;
    case FL_WHAT_IF_CAREFUL:
        if (options->effort != FL_EFFORT_GLANCE) {
            return false;
        }
        options->effort = FL_EFFORT_CAREFUL;
        return true;
    case FL_WHAT_IF_WARM:
        what->from_c = isnan(options->temp_c) ? set_value_now(looks) : options->temp_c;
        options->temp_c = FL_WHAT_IF_WARM_C;
        return what->from_c < FL_WHAT_IF_WARM_C;
    case FL_WHAT_IF_CARD:
        if (!next_card(options->devices, &what->device)) {
            return false;
        }
        options->devices |= 1U << what->device;
        return true;
    case FL_WHAT_IF_ROOTS:
        options->effort = FL_EFFORT_ROOTS;
        return usual->effort != FL_EFFORT_ROOTS;
    case FL_WHAT_IF_OFTEN:
        options->every_days = EVERY_DAYS_LEAST;
        return usual->every_days > EVERY_DAYS_LEAST;
    case FL_WHAT_IF_SEALED:
        options->is_sealed = true;
        return !usual->is_sealed && is_leaky_box(looks);
    case FL_WHAT_IF_COUNT:
        break;
    }
    return false;
}

/* One change, when the release as things go is known. */
static fl_status try_change(fl_looks *looks, const fl_looks_options *usual, fl_arena *arena,
                            fl_what_if *what, fl_err *err)
{
    fl_looks_options changed;
    fl_status status = FL_OK;
    what->release_s = what->usual_s;
    if ((int)what->kind < 0 || what->kind >= FL_WHAT_IF_COUNT) {
        return fl_fail(err, FL_EINVAL, "what-if %d: give 0 to %d", (int)what->kind,
                       FL_WHAT_IF_COUNT - 1);
    }
    what->applies = change(looks, usual, what, &changed);
    if (what->applies) {
        status = fl_looks_release(looks, &changed, &what->release_s, err);
    }
    if (status == FL_OK && what->kind == FL_WHAT_IF_WARM) {
        what->n_plants = fl_looks_warm_plants(looks, FL_WHAT_IF_WARM_C, arena, &what->plants);
    }
    return status;
}

fl_status fl_looks_what_if(fl_looks *looks, const fl_looks_options *usual, fl_what_if_kind kind,
                           fl_arena *arena, fl_what_if *out, fl_err *err)
{
    fl_what_if what = {.kind = kind};
    fl_status status = fl_looks_release(looks, usual, &what.usual_s, err);
    if (status == FL_OK) {
        status = try_change(looks, usual, arena, &what, err);
    }
    if (status == FL_OK) {
        *out = what;
    }
    return status;
}

/* ---- what helps most ---- */

static bool is_disliked(const fl_what_if *what)
{
    for (size_t i = 0; i < what->n_plants; i++) {
        if (what->plants[i].over_c > 0.0) {
            return true;
        }
    }
    return false;
}

fl_status fl_looks_helps(fl_looks *looks, const fl_looks_options *usual, fl_arena *arena,
                         fl_what_if *out, int most, int *count, fl_err *err)
{
    int n = 0;
    int64_t usual_s = FL_GATE_NEVER;
    fl_status status = fl_looks_release(looks, usual, &usual_s, err);
    for (int kind = 0; kind < FL_WHAT_IF_COUNT; kind++) {
        fl_what_if what = {.kind = (fl_what_if_kind)kind, .usual_s = usual_s};
        status = status == FL_OK ? try_change(looks, usual, arena, &what, err) : status;
        if (status != FL_OK) {
            return status;
        }
        if (!what.applies || what.release_s >= what.usual_s || is_disliked(&what)) {
            continue;
        }
        int at = n < most ? n : most; /* most: behind the last place */
        while (at > 0 && what.release_s < out[at - 1].release_s) {
            if (at < most) {
                out[at] = out[at - 1];
            }
            at--;
        }
        if (at < most) {
            out[at] = what;
            n = n < most ? n + 1 : most;
        }
    }
    *count = n;
    return FL_OK;
}
