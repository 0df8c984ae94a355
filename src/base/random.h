/* random.h: random numbers from a seed.
 *
 * Lives here: a stream in the caller's hands, so that the same seed gives the same numbers on every
 * machine. Not here: seeds from a clock or the system (edge), anything secret: the stream is not made for
 * that. Ownership: a RandomStream is a plain value; a copy goes on by itself.
 * The generator is SplitMix64 (G. L. Steele, D. Lea, C. H. Flood, OOPSLA 2014). */
#ifndef BASE_RANDOM_H
#define BASE_RANDOM_H

#include <stdint.h>

typedef struct {
    uint64_t state;
} RandomStream;

RandomStream random_stream(uint64_t seed); /* neighbouring seeds give unrelated streams */

uint64_t random_bits(RandomStream *stream);                  /* 64 of them */
double random_uniform(RandomStream *stream);                 /* at least 0, below 1, in steps of 2^-53 */
double random_normal(RandomStream *stream);                  /* mean 0, standard deviation 1 */
uint32_t random_below(RandomStream *stream, uint32_t count); /* 0 to count - 1, all alike; count at least 1 */

#endif
