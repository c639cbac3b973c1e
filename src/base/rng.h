/* A small seeded generator for tests, simulations and demo data; never for secrets. */
#ifndef FL_BASE_RNG_H
#define FL_BASE_RNG_H

#include <stdint.h>

/* SplitMix64 (Steele, Lea and Flood 2014). Any state is valid. */
typedef struct fl_rng {
    uint64_t state;
} fl_rng;

uint64_t fl_rng_next(fl_rng *rng);

/* Uniform in [0, 1), 53 bits. */
double fl_rng_uniform(fl_rng *rng);

/* Uniform in 0 to bound - 1; bound > 0. */
uint64_t fl_rng_below(fl_rng *rng, uint64_t bound);

#endif
