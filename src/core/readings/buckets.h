/* A long series for a chart: at most so many buckets, each with its least and greatest value, so
 * that no spike is lost; gaps stay gaps. */
#ifndef FL_CORE_READINGS_BUCKETS_H
#define FL_CORE_READINGS_BUCKETS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define FL_BUCKETS_MAX 1000 /* two points each: 2,000 in a chart */

typedef struct fl_bucket {
    int64_t at_s;    /* its middle */
    size_t n;        /* values in it; 0: the chart has a gap here */
    double least;    /* NAN without values */
    double greatest; /* NAN without values */
    double mean;     /* NAN without values */
} fl_bucket;

/* One value of a series at a time; NAN: none. */
typedef struct fl_bucket_value {
    int64_t at_s;
    double value;
} fl_bucket_value;

/* Sorts n values (any order) into n_buckets equal parts of from_s <= t <= to_s.
 *   n_buckets  1 to FL_BUCKETS_MAX (asserted), from_s < to_s (asserted)
 *   out        [n_buckets], all written */
void fl_buckets_fill(const fl_bucket_value *values, size_t n, const int64_t span[2],
                     size_t n_buckets, fl_bucket *out);

/* How many buckets suit a span: one for every two steps of the logger, so that a clock that is not
 * exact leaves none empty; at most FL_BUCKETS_MAX, at least 1. A step of 0 counts as an hour. */
size_t fl_buckets_for(const int64_t span[2], int64_t step_s);

#endif
