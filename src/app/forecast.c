/* Looking ahead: the same copies, the same place, a look on each round day, nothing found. */
#include <math.h>
#include <string.h>

#include "app/chance_work.h"
#include "app/looks.h"

#define WEEK_S (7 * (int64_t)FL_DAY_S)

/* One copy on its way into the future. Copies of one programme fare alike: they share a state. */
typedef struct ahead {
    const fl_copy *copy;
    bool is_fed; /* the room's steady hazard goes on */
    fl_filter *state;
    bool is_first; /* of those that share the state */
    double chance; /* slow, middle: at the moment that was reached */
} ahead;

/* Local noon of the round days after today; while the keeper is away there is none, and the first
 * after that is the day of return. */
static void round_days(const fl_room *room, fl_forecast *out)
{
    int64_t noon = fl_civil_noon(room->now_s, room->tz_offset_min);
    int today = fl_civil_weekday(noon, room->tz_offset_min);
    int wait = (room->round_weekday - today + 7) % 7;
    out->n = FL_FORECAST_LOOKS;
    out->at_s[0] = room->now_s;
    int64_t at_s = noon + (int64_t)(wait == 0 ? 7 : wait) * FL_DAY_S;
    for (int i = 0; i < out->n; i++, at_s += WEEK_S) {
        while (fl_room_is_away(room, at_s)) {
            at_s += WEEK_S;
        }
        const bool is_return = room->away_until_s > out->at_s[i] && room->away_until_s < at_s;
        out->at_s[i + 1] = is_return ? room->away_until_s : at_s;
        at_s -= is_return ? WEEK_S : 0;
    }
}

bool fl_threat_is_quick(const fl_threat *threat)
{
    double days = 0.0;
    for (int i = 0; i < threat->n_stages - 1; i++) {
        const fl_stage_rate *r = &threat->slow.stage[i];
        double above = fmin(21.0, r->upper_c) - r->threshold_c;
        days += above > 0.0 ? r->degree_days / above : HUGE_VAL;
    }
    return days <= FL_QUICK_DAYS;
}

/* The room's steady hazard goes on where the copy is that of its own carrier. */
static bool is_fed(const fl_chances *c, const fl_pest *pest, const fl_copy *copy)
{
    return copy->is_steady && !FL_IS_FIND_ROOT(copy->root) &&
           fl_pest_network(c, pest)->roots[copy->root].carrier == copy->carrier;
}

/* Gives the copy the state of one before it that is of the same programme, or one of its own. */
static fl_status set_state(fl_chances *c, ahead *copies, size_t at, fl_err *err)
{
    ahead *copy = &copies[at];
    for (size_t i = 0; i < at; i++) {
        const ahead *other = &copies[i];
        if (other->is_first && other->copy->prog == copy->copy->prog &&
            other->is_fed == copy->is_fed) {
            copy->state = other->state;
            return FL_OK;
        }
    }
    copy->is_first = true;
    copy->state = FL_ARENA_NEW(&c->arena, fl_filter);
    return fl_programmes_state(c->programmes, copy->copy->prog, copy->state, err);
}

static fl_status open_copies(fl_chances *c, fl_pest *pest, size_t carrier, ahead **out, size_t *n,
                             fl_err *err)
{
    fl_spread *s = &pest->slow;
    fl_status status = FL_OK;
    *n = 0;
    for (size_t i = s->carriers[carrier].first; i != FL_NO_INDEX; i = s->copies[i].next) {
        *n += !s->copies[i].is_closed && !s->copies[i].is_ended;
    }
    *out = FL_ARENA_ARRAY(&c->arena, ahead, *n);
    size_t at = 0;
    for (size_t i = s->carriers[carrier].first; i != FL_NO_INDEX && status == FL_OK;
         i = s->copies[i].next) {
        fl_copy *copy = &s->copies[i];
        if (copy->is_closed || copy->is_ended) {
            continue;
        }
        status = fl_spread_advance(s, copy, c->now_h, err);
        if (status == FL_OK) {
            (*out)[at] = (ahead){.copy = copy, .is_fed = is_fed(c, pest, copy)};
            status = set_state(c, *out, at++, err);
        }
    }
    return status;
}

/* The combination over roots of the largest of each, as fl_spread_chance. */
static fl_status combined(const fl_spread *s, ahead *copies, size_t n, double *out, fl_err *err)
{
    double quiet = 1.0;
    fl_status status = FL_OK;
    for (size_t i = 0; i < n && status == FL_OK; i++) {
        fl_reading reading = {0};
        status = fl_spread_read_state(s, copies[i].copy, copies[i].state, &reading, err);
        copies[i].chance = reading.middle;
    }
    for (size_t i = 0; i < n; i++) {
        double largest = 0.0;
        bool is_first = true;
        for (size_t k = 0; k < n; k++) {
            if (copies[k].copy->root == copies[i].copy->root) {
                is_first = is_first && k >= i;
                largest = fmax(largest, copies[k].chance);
            }
        }
        quiet *= is_first ? 1.0 - largest : 1.0;
    }
    *out = 1.0 - quiet;
    return status;
}

typedef struct step_ahead {
    fl_id place;
    int64_t from_h;
    int64_t to_h;
    fl_op time; /* from the one to the other, in that place */
    double detect[FL_STAGES_MAX];
} step_ahead;

static void set_time(fl_chances *c, step_ahead *step)
{
    step->time = (fl_op){.kind = FL_OP_TIME};
    step->time.time.n_hours = (int)(step->to_h - step->from_h);
    fl_temps_of_place(c->room, step->place, step->from_h, step->to_h, &c->arena,
                      &step->time.time.temps_c, &step->time.time.temp_c);
}

/* A week, or what is left of one, and the look at its end. */
static fl_status advance(const fl_pest *pest, const step_ahead *step, const ahead *copy,
                         fl_err *err)
{
    const fl_spread *s = &pest->slow;
    fl_status status = fl_op_apply(s->model, &step->time, copy->state, err);
    if (status == FL_OK && copy->is_fed) {
        bool has_gasket = s->network->carriers[copy->copy->carrier].has_gasket;
        double share[FL_STAGES_MAX];
        for (int i = 0; i < pest->threat->n_stages; i++) {
            share[i] = pest->threat->stage[i].start_share;
        }
        double mean =
            fl_know_room_per_day(pest->threat, has_gasket) * step->time.time.n_hours / 24.0 +
            fl_know_room_per_opening(pest->threat);
        status = fl_filter_inflow(s->model, mean, share, copy->state, err);
    }
    if (status == FL_OK) {
        status = fl_filter_look(s->model, step->detect, s->mixture.cap, copy->state, err);
    }
    return status;
}

/* Adds one pest's chance at moment k to the sums of all uses. */
static void add_chance(const fl_threat *threat, bool is_quick, double chance, int k,
                       fl_forecast *out)
{
    for (int use = 0; use < FL_USE_COUNT; use++) {
        out->sum[use][k] += threat->weight[use] * chance;
        out->sum_quick[use][k] += is_quick ? threat->weight[use] * chance : 0.0;
    }
}

/* The chance of a pest on a carrier now and after each look ahead; lots of one pool share it. */
static fl_status look_ahead(fl_chances *c, fl_pest *pest, const fl_lot *lot,
                            const fl_forecast *days, double *out, fl_err *err)
{
    size_t carrier = fl_chances_carrier(c, pest, lot);
    ahead *copies = NULL;
    size_t n = 0;
    step_ahead step = {.place = lot->place, .from_h = c->now_h};
    unsigned devices = fl_devices_in(c->room, lot->place);
    for (int i = 0; i < pest->threat->n_stages; i++) {
        step.detect[i] = fl_know_detect(pest->threat, i, c->room->round_effort, devices, false);
    }
    fl_status status = open_copies(c, pest, carrier, &copies, &n, err);
    for (int k = 0; k <= days->n && status == FL_OK; k++) {
        step.to_h = k == 0 ? step.from_h : days->at_s[k] / FL_HOUR_S;
        if (k > 0 && n > 0) {
            set_time(c, &step);
        }
        for (size_t i = 0; i < n && k > 0 && status == FL_OK; i++) {
            status = copies[i].is_first ? advance(pest, &step, &copies[i], err) : FL_OK;
        }
        if (status == FL_OK) {
            status = combined(&pest->slow, copies, n, &out[k], err);
        }
        step.from_h = step.to_h;
    }
    return status;
}

static fl_status add_pest(fl_chances *c, fl_pest *pest, const fl_lot *lot, fl_forecast *out,
                          fl_err *err)
{
    size_t carrier = fl_chances_carrier(c, pest, lot);
    bool is_quick = fl_threat_is_quick(pest->threat);
    if (carrier == FL_NO_INDEX) {
        return FL_OK;
    }
    fl_cached *cached = fl_chances_cached(c, pest, carrier);
    if (cached->ahead == NULL) {
        double *chances = FL_ARENA_ARRAY(&c->arena, double, FL_FORECAST_LOOKS + 1);
        fl_status status = look_ahead(c, pest, lot, out, chances, err);
        if (status != FL_OK) {
            return status;
        }
        cached->ahead = chances;
    }
    for (int k = 0; k <= out->n; k++) {
        add_chance(pest->threat, is_quick, cached->ahead[k], k, out);
    }
    return FL_OK;
}

fl_status fl_chances_forecast(fl_chances *c, const fl_lot *lot, fl_forecast *out, fl_err *err)
{
    fl_forecast forecast = {0};
    fl_status status = fl_chances_reach(c, lot, err);
    round_days(c->room, &forecast);
    for (size_t i = 0; i < c->n_pests && status == FL_OK; i++) {
        if (!c->pests[i].threat->is_out_of_reach) {
            status = add_pest(c, &c->pests[i], lot, &forecast, err);
        }
    }
    if (status == FL_OK) {
        *out = forecast;
    }
    return status;
}
