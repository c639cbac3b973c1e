/* Buckets for charts: no spike is lost, gaps stay gaps, every value falls into one. Against a plain
 * second reckoning, written out. */
#include <math.h>

#include "core/readings/buckets.h"
#include "support/check.h"

static void test_spike_and_gap(void **state)
{
    (void)state;
    static fl_bucket_value values[10000];
    static fl_bucket out[FL_BUCKETS_MAX];
    size_t n = 0;
    for (int i = 0; i < 10000; i++) {
        bool is_gap = i >= 4000 && i < 4500;
        if (!is_gap) {
            values[n++] = (fl_bucket_value){i * 300, i == 7777 ? 39.5 : 20.0 + i % 3};
        }
    }
    const int64_t span[2] = {0, 9999 * 300};
    fl_buckets_fill(values, n, span, 100, out);
    size_t sum = 0;
    double greatest = 0.0;
    int n_empty = 0;
    for (int k = 0; k < 100; k++) {
        sum += out[k].n;
        n_empty += out[k].n == 0;
        greatest = fmax(greatest, out[k].n > 0 ? out[k].greatest : 0.0);
        if (out[k].n > 0) {
            check_true(out[k].least >= 20.0 && out[k].mean >= out[k].least &&
                       out[k].mean <= out[k].greatest);
        } else {
            check_true(isnan(out[k].least) && isnan(out[k].greatest) && isnan(out[k].mean));
        }
    }
    check_int(sum, n);
    check_close(greatest, 39.5, 0.0, 0.0);
    check_int(n_empty, 5); /* 500 of 10,000 readings are missing: 5 of 100 buckets */
    check_close(out[10].mean, 21.0, 1e-2, 0.0);
}

static void test_count(void **state)
{
    (void)state;
    const int64_t day[2] = {0, 86400};
    const int64_t year[2] = {0, 365 * 86400};
    check_int(fl_buckets_for(day, 300), 144);
    check_int(fl_buckets_for(year, 300), FL_BUCKETS_MAX);
    check_int(fl_buckets_for(day, 0), 12);
}

static const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_spike_and_gap),
    cmocka_unit_test(test_count),
};
FL_TEST_MAIN(tests)
