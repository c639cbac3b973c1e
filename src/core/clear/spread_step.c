/* Steps: what a treatment of some lots leaves alive on their carrier (design 4.5, 4.7, 4.11).
 *
 * Steps on one lot within FL_SEQUENCE_H are one sequence: their survivals multiply, down to a
 * floor. A pool's survival since its lots' sequences began is 1 - sum of share x (1 - survival of
 * the lot); an event multiplies the state by what it changes of that, so that the same steps in
 * one event or in several come to the same. */
#include <math.h>

#include "core/clear/spread_work.h"

/* What the sequence has left alive of a stage on the lot. */
static double kept(const fl_spread_lot *lot, int stage)
{
    return fmin(1.0, fmax(lot->cum[stage], lot->floor[stage]));
}

static bool is_in_sequence(const fl_spread_lot *lot, int64_t at_h)
{
    return lot->is_treated && at_h - lot->last_h <= FL_SEQUENCE_H;
}

static void begin_sequence(fl_spread_lot *lot, int n_stages, double floor)
{
    for (int i = 0; i < n_stages; i++) {
        lot->cum[i] = lot->before[i] = 1.0;
        lot->floor[i] = floor;
    }
    lot->is_treated = true;
}

static fl_know_survival survival_of(fl_spread *s, int stage, const fl_ev_step *step)
{
    fl_know_survival one = fl_sheet_survival(&s->sheet, stage, step->step, step->agent);
    if (step->agent == FL_AGENT_HOT_WATER &&
        !fl_know_hot_water_counts(s->threat, step->temp_c, step->minutes)) {
        one.survival = 1.0; /* not as hot or as long as it was shown to work */
    }
    return one;
}

/* Keeps the list of lots in a sequence, in order of their index. */
static void note_recent(fl_spread *s, size_t lot)
{
    size_t at = s->n_recent;
    for (size_t i = 0; i < s->n_recent && at == s->n_recent; i++) {
        at = s->recent[i] >= lot ? i : at;
    }
    if (at < s->n_recent && s->recent[at] == lot) {
        return;
    }
    for (size_t i = s->n_recent; i > at; i--) {
        s->recent[i] = s->recent[i - 1];
    }
    s->recent[at] = lot;
    s->n_recent++;
}

/* Those whose sequence is over are in none until they have another step. */
static void forget_recent(fl_spread *s, int64_t at_h)
{
    size_t n = 0;
    for (size_t i = 0; i < s->n_recent; i++) {
        if (is_in_sequence(&s->lots[s->recent[i]], at_h)) {
            s->recent[n++] = s->recent[i];
        }
    }
    s->n_recent = n;
}

void fl_spread_on_part(fl_spread *s, const fl_happening *h)
{
    fl_spread_lot *lot = &s->lots[h->lot];
    int n = s->threat->n_stages;
    if (s->recent != NULL) {
        forget_recent(s, h->at_h);
        note_recent(s, h->lot);
    }
    if (!is_in_sequence(lot, h->at_h)) {
        bool is_material = s->env->is_material(s->env->context, h->lot);
        begin_sequence(lot, n, is_material ? 0.0 : fl_know_step_floor());
    } else if (!lot->is_touched) {
        for (int i = 0; i < n; i++) {
            lot->before[i] = kept(lot, i);
        }
    }
    for (int i = 0; i < n; i++) {
        fl_know_survival step = survival_of(s, i, h->step);
        if (step.grade == FL_GRADE_MEASURED) { /* shown to remove it: its own figure is the floor */
            lot->floor[i] = fmin(lot->floor[i], step.survival);
        }
        lot->cum[i] *= step.survival;
    }
    lot->last_h = h->at_h;
    lot->carrier = h->carrier;
    lot->n_plants = h->n_plants;
    lot->is_touched = true;
}

/* Adds what a lot of the carrier lost before and with this event, weighed by its plants. */
static void add_lost(const fl_spread *s, const fl_spread_lot *lot, int64_t n_plants,
                     double *lost_before, double *lost_now)
{
    double share = n_plants > 0 ? fmin(1.0, (double)lot->n_plants / (double)n_plants) : 1.0;
    for (int i = 0; i < s->threat->n_stages; i++) {
        double now = kept(lot, i);
        lost_before[i] += share * (1.0 - (lot->is_touched ? lot->before[i] : now));
        lost_now[i] += share * (1.0 - now);
    }
}

fl_status fl_spread_on_treated(fl_spread *s, const fl_happening *h, fl_err *err)
{
    fl_op op = {.kind = FL_OP_TREAT, .at_h = h->at_h};
    double lost_before[FL_STAGES_MAX] = {0};
    double lost_now[FL_STAGES_MAX] = {0};
    bool does_anything = false;
    size_t n_lots = s->recent != NULL ? s->n_recent : s->n_lots;
    for (size_t i = 0; i < n_lots; i++) {
        fl_spread_lot *lot = &s->lots[s->recent != NULL ? s->recent[i] : i];
        if (lot->carrier != h->carrier || !is_in_sequence(lot, h->at_h)) {
            continue;
        }
        add_lost(s, lot, h->n_plants, lost_before, lost_now);
        lot->is_touched = false;
    }
    for (int i = 0; i < s->threat->n_stages; i++) {
        double before = fmax(0.0, 1.0 - lost_before[i]);
        double now = fmax(0.0, 1.0 - lost_now[i]);
        op.treat.survival[i] = before > 0.0 ? fmin(1.0, now / before) : 1.0;
        does_anything = does_anything || op.treat.survival[i] < 1.0;
    }
    op.treat.has_colony_rule = s->threat->stage[s->threat->n_stages - 1].is_breeding;
    return does_anything ? fl_spread_append_all(s, h, &op, err) : FL_OK;
}
