/* Least, greatest and mean by bucket. */
#include "core/readings/buckets.h"

#include <assert.h>
#include <math.h>

size_t fl_buckets_for(const int64_t span[2], int64_t step_s)
{
    int64_t step = step_s > 0 ? step_s : 3600;
    int64_t n = (span[1] - span[0]) / (2 * step);
    return n < 1 ? 1 : n > FL_BUCKETS_MAX ? FL_BUCKETS_MAX : (size_t)n;
}

void fl_buckets_fill(const fl_bucket_value *values, size_t n, const int64_t span[2],
                     size_t n_buckets, fl_bucket *out)
{
    assert(n_buckets >= 1 && n_buckets <= FL_BUCKETS_MAX && span[0] < span[1]);
    const double width = (double)(span[1] - span[0]) / (double)n_buckets;
    for (size_t i = 0; i < n_buckets; i++) {
        out[i] = (fl_bucket){.at_s = span[0] + (int64_t)(width * ((double)i + 0.5)),
                             .least = (double)NAN,
                             .greatest = (double)NAN,
                             .mean = 0.0};
    }
    for (size_t i = 0; i < n; i++) {
        if (isnan(values[i].value) || values[i].at_s < span[0] || values[i].at_s > span[1]) {
            continue;
        }
        size_t k = (size_t)((double)(values[i].at_s - span[0]) / width);
        fl_bucket *bucket = &out[k < n_buckets ? k : n_buckets - 1];
        bucket->least = fmin(bucket->least, values[i].value);
        bucket->greatest = fmax(bucket->greatest, values[i].value);
        bucket->mean += values[i].value;
        bucket->n++;
    }
    for (size_t i = 0; i < n_buckets; i++) {
        out[i].mean = out[i].n > 0 ? out[i].mean / (double)out[i].n : (double)NAN;
    }
}
