/* random.c: see random.h.
 *
 * A counter in steps of 2^64 / golden ratio, each value stirred by two multiplications and three shifts;
 * the constants are those of the paper. The period is 2^64.
 *
 * Not for secrets: from one number all others follow. */
#include "base/random.h"

#include "base/mathematics.h"

#include <assert.h>
#include <math.h>

uint64_t random_bits(RandomStream *stream)
{
    uint64_t z = (stream->state += UINT64_C(0x9e3779b97f4a7c15));
    z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
    return z ^ (z >> 31);
}

/* The first draw becomes the state: otherwise seeds one step apart would be the same stream, shifted. */
RandomStream random_stream(uint64_t seed)
{
    RandomStream stream = {seed};
    return (RandomStream){random_bits(&stream)};
}

/* The upper 53 bits are as many as a double holds, so every result is exact and equally spaced. */
double random_uniform(RandomStream *stream) { return (double)(random_bits(stream) >> 11) * 0x1p-53; }

/* G. E. P. Box and M. E. Muller, Annals of Mathematical Statistics 29 (1958), 610. The second number that
 * the method offers is let go, so that a stream has no memory but its state. */
double random_normal(RandomStream *stream)
{
    const double radius = sqrt(-2 * math_log(1 - random_uniform(stream))); /* 1 - u is never 0 */
    const double normal = radius * math_cos(2 * MATH_PI * random_uniform(stream));
    assert(isfinite(normal));
    return normal;
}

/* Draws that fall into the last, incomplete run of `count` are thrown away: they would favour low numbers. */
uint32_t random_below(RandomStream *stream, uint32_t count)
{
    assert(count > 0);
    const uint64_t runs = (UINT64_C(1) << 32) / count;
    uint64_t draw;
    do draw = random_bits(stream) >> 32;
    while (draw >= runs * count);
    return (uint32_t)(draw % count);
}
