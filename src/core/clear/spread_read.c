/* Reading chances from copies (design 4.4 and 4.9). */
#include <math.h>

#include "core/clear/spread_work.h"

fl_status fl_spread_read_sums(const fl_spread *s, const fl_copy *copy, const fl_filter_sums *sums,
                              fl_reading *out, fl_err *err)
{
    const double *const weights[3] = {s->mixture.weight_low, s->mixture.weight_middle,
                                      s->mixture.weight_high};
    const fl_founders many = {.family = FL_FOUNDERS_ZT_POISSON, .lambda = FL_FOUNDERS_MEAN};
    fl_chance chance[3] = {{0.0, 0.0, 0.0}};
    fl_status status = FL_OK;
    if (copy->is_steady) {
        for (int i = 0; i < 3 && status == FL_OK; i++) {
            status = fl_sums_steady_chance(sums, weights[i], &chance[i].chance, err);
        }
    } else {
        status = fl_sums_chances(sums, fl_spread_prior(s, copy), weights, 3, &many, chance, err);
    }
    if (status == FL_OK) {
        *out = (fl_reading){chance[0].chance, chance[1].chance, chance[2].chance};
    }
    return status;
}

fl_status fl_spread_read_state(const fl_spread *s, const fl_copy *copy, const fl_filter *state,
                               fl_reading *out, fl_err *err)
{
    fl_filter_sums sums;
    fl_filter_sum(state, &sums);
    return fl_spread_read_sums(s, copy, &sums, out, err);
}

void fl_reading_combine(fl_reading *all, const fl_reading *one)
{
    all->poor = 1.0 - (1.0 - all->poor) * (1.0 - one->poor);
    all->middle = 1.0 - (1.0 - all->middle) * (1.0 - one->middle);
    all->good = 1.0 - (1.0 - all->good) * (1.0 - one->good);
}

void fl_reading_larger(fl_reading *a, const fl_reading *b)
{
    a->poor = fmax(a->poor, b->poor);
    a->middle = fmax(a->middle, b->middle);
    a->good = fmax(a->good, b->good);
}

static bool counts(const fl_copy *copy, int64_t now_h)
{
    return fl_spread_is_open(copy) && copy->from_h <= now_h;
}

fl_status fl_spread_read_root(fl_spread *s, size_t first, size_t root, int64_t now_h,
                              fl_reading *out, fl_err *err)
{
    fl_reading largest = {0};
    fl_status status = FL_OK;
    for (size_t i = first; i != FL_NO_INDEX && status == FL_OK; i = s->copies[i].next) {
        fl_copy *copy = &s->copies[i];
        fl_filter_sums sums;
        fl_reading one = {0};
        if (copy->root != root || !counts(copy, now_h)) {
            continue;
        }
        status = fl_spread_advance(s, copy, now_h, err);
        if (status == FL_OK) {
            status = s->env->sums(s->env->context, copy->prog, &sums, err);
        }
        if (status == FL_OK) {
            status = fl_spread_read_sums(s, copy, &sums, &one, err);
        }
        fl_reading_larger(&largest, &one);
    }
    *out = largest;
    return status;
}

/* True when an earlier copy in the list answers for the same root. */
static bool is_answered(const fl_spread *s, size_t first, size_t at, int64_t now_h)
{
    for (size_t i = first; i != at; i = s->copies[i].next) {
        if (s->copies[i].root == s->copies[at].root && counts(&s->copies[i], now_h)) {
            return true;
        }
    }
    return false;
}

fl_status fl_spread_chance(fl_spread *s, size_t carrier, int64_t now_h, fl_reading *out,
                           fl_err *err)
{
    fl_reading all = {0};
    fl_status status = FL_OK;
    size_t first = fl_spread_carrier_at(s, carrier)->first;
    for (size_t i = first; i != FL_NO_INDEX && status == FL_OK; i = s->copies[i].next) {
        fl_reading one = {0};
        if (!counts(&s->copies[i], now_h) || is_answered(s, first, i, now_h)) {
            continue;
        }
        status = fl_spread_read_root(s, first, s->copies[i].root, now_h, &one, err);
        fl_reading_combine(&all, &one);
    }
    if (status == FL_OK) {
        *out = all;
    }
    return status;
}
