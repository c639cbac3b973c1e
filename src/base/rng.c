/* SplitMix64: Steele, Lea and Flood 2014, "Fast splittable pseudorandom number generators",
 * OOPSLA, figure 17 (constants of the 64-bit mixing variant 13). */
#include "base/rng.h"

#include <assert.h>

uint64_t fl_rng_next(fl_rng *rng)
{
    rng->state += UINT64_C(0x9e3779b97f4a7c15);
    uint64_t z = rng->state;
    z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
    return z ^ (z >> 31);
}

double fl_rng_uniform(fl_rng *rng)
{
    return (double)(fl_rng_next(rng) >> 11) * 0x1p-53;
}

uint64_t fl_rng_below(fl_rng *rng, uint64_t bound)
{
    assert(bound > 0);
    /* values below this would make the first remainders more likely: draw again */
    uint64_t skip = (UINT64_MAX - bound + 1) % bound;
    uint64_t value = fl_rng_next(rng);
    while (value < skip) {
        value = fl_rng_next(rng);
    }
    return value % bound;
}
