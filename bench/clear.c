/* How long one clearance filter takes: 49 substages, 42 days of hourly temperatures that all differ,
 * two treatments and five looks. Prints the best and the median of many runs in milliseconds, and
 * the masses at the end with 12 digits, for bench/clear.py to check. */
#define _GNU_SOURCE
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include "core/clear/filter.h"

#define DAYS 42
#define RUNS 501

static const fl_stage_model MODEL = {
    4,
    {{16, 10, 60, 30, 0}, {16, 9, 80, 30, 0}, {16, 10.5, 55, 30, 0}, {1, 0, 0, 0, 0}}};
static const double SURVIVAL[4] = {0.9, 0.1, 0.6, 0.05};
static const double DETECT[4] = {0.005, 0.125, 0.0125, 0.175};

static double now_ms(void)
{
    struct timespec now;
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec * 1e3 + (double)now.tv_nsec * 1e-6;
}

/* The whole record; false on an error. */
static bool run(const double *temps_c, int n_mix, fl_filter *state)
{
    static const double multiplier[FL_MIXTURE_MAX] = {1.0, 0.25, 0.6, 1.4, 1.8};
    const fl_filter_seed seed = {.prior = 0.3, .n_mix = n_mix, .multiplier = multiplier};
    bool is_ok = fl_filter_start(&MODEL, &seed, state, NULL) == FL_OK;
    for (int day = 0; day < DAYS && is_ok; day++) {
        if (day == 0 || day == 7) {
            is_ok = fl_filter_treat(&MODEL, SURVIVAL, false, state, NULL) == FL_OK;
        }
        if (is_ok && day > 0 && day % 7 == 0 && day <= 35) {
            is_ok = fl_filter_look(&MODEL, DETECT, 1.0, state, NULL) == FL_OK;
        }
        is_ok = is_ok && fl_filter_advance(&MODEL, &temps_c[24 * day], 24, state, NULL) == FL_OK;
    }
    return is_ok;
}

static int compare(const void *a, const void *b)
{
    double x = *(const double *)a;
    double y = *(const double *)b;
    return (x > y) - (x < y);
}

int main(void)
{
    double temps_c[24 * DAYS];
    double took_ms[RUNS];
    fl_filter state;
    for (int h = 0; h < 24 * DAYS; h++) {
        temps_c[h] = 20.0 + 12.0 * sin(2.0 * acos(-1.0) * ((h + 0.5) / 24.0 - 0.25)) + h * 1e-4;
    }
    for (int n_mix = 1; n_mix <= FL_MIXTURE_MAX; n_mix += FL_MIXTURE_MAX - 1) {
        for (int i = 0; i < RUNS; i++) {
            double start_ms = now_ms();
            if (!run(temps_c, n_mix, &state)) {
                return 1;
            }
            took_ms[i] = now_ms() - start_ms;
        }
        qsort(took_ms, RUNS, sizeof took_ms[0], compare);
        printf("C multipliers=%d best_ms=%.4f median_ms=%.4f alive=%.12f found=%.12f dead=%.12f\n",
               n_mix, took_ms[0], took_ms[RUNS / 2], fl_filter_alive(&state, 0), state.found[0],
               state.dead[0]);
    }
    return 0;
}
