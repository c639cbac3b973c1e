/* base/rng.h and base/clock.h. */
#include <time.h>

#include "base/clock.h"
#include "base/rng.h"
#include "support/check.h"

/* The published outputs for seed 1234567: Rosetta Code, "Pseudo-random numbers/Splitmix64". */
static void test_published_sequence(void **state)
{
    (void)state;
    static const uint64_t want[] = {UINT64_C(6457827717110365317), UINT64_C(3203168211198807973),
                                    UINT64_C(9817491932198370423), UINT64_C(4593380528125082431),
                                    UINT64_C(16408922859458223821)};
    fl_rng rng = {1234567};
    for (size_t i = 0; i < sizeof want / sizeof want[0]; i++) {
        check_true(fl_rng_next(&rng) == want[i]);
    }
}

/* The same page: how often floor(5 u) is 0 to 4 in 100000 draws from seed 987654321. */
static void test_published_counts(void **state)
{
    (void)state;
    static const int want[] = {20027, 19892, 20073, 19978, 20030};
    int counts[5] = {0};
    fl_rng rng = {987654321};
    for (int i = 0; i < 100000; i++) {
        double u = fl_rng_uniform(&rng);
        check_true(u >= 0.0 && u < 1.0);
        counts[(int)(5.0 * u)]++;
    }
    for (int i = 0; i < 5; i++) {
        check_int(counts[i], want[i]);
    }
}

/* Chi-square with 6 degrees of freedom: 22.46 is passed by chance once in 1000 (NIST/SEMATECH
 * e-Handbook of Statistical Methods, 1.3.6.7.4); the seed is fixed. */
static void test_below(void **state)
{
    (void)state;
    fl_rng rng = {42};
    double counts[7] = {0};
    const int draws = 70000;
    for (int i = 0; i < draws; i++) {
        counts[fl_rng_below(&rng, 7)] += 1.0;
    }
    double chi_square = 0.0;
    for (int i = 0; i < 7; i++) {
        double off = counts[i] - draws / 7.0;
        chi_square += off * off / (draws / 7.0);
    }
    check_true(chi_square < 22.46);
    check_int(fl_rng_below(&rng, 1), 0);
    const uint64_t most = UINT64_C(1) << 63;
    for (int i = 0; i < 100; i++) {
        check_true(fl_rng_below(&rng, most + 1) <= most);
    }
}

static void test_clocks(void **state)
{
    (void)state;
    int64_t utc_s = 1000;
    fl_clock fixed = fl_clock_fixed(&utc_s);
    check_int(fixed.now_utc_s(fixed.context), 1000);
    utc_s += 5;
    check_int(fixed.now_utc_s(fixed.context), 1005);
    fl_clock machine = fl_clock_system();
    int64_t before = (int64_t)time(NULL);
    int64_t now = machine.now_utc_s(machine.context);
    check_true(now >= before - 1 && now <= (int64_t)time(NULL) + 1);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_published_sequence),
    cmocka_unit_test(test_published_counts),
    cmocka_unit_test(test_below),
    cmocka_unit_test(test_clocks),
};
FL_TEST_MAIN(tests)
