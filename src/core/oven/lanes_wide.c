/* lanes_wide.c: the same for processors with 256-bit vectors; compiled for them by a flag of its own
 * (CMakeLists.txt), and called only where the processor says that it has them (simulate.c). */
#include "core/oven/oven_private.h"

#include <math.h>

#ifdef __AVX2__
#define REAL         float
#define REAL_BITS    uint32_t
#define REAL_ROOT(x) sqrtf(x)
#define LANES        8
#define KERNEL(name) single_##name
#include "core/oven/kernel_private.h"

void oven__run_single_wide(const Oven *const *ovens, OvenRun *runs, int count, const OvenTerms *terms)
{
    single_run(ovens, runs, count, terms);
}

#undef REAL
#undef REAL_BITS
#undef REAL_ROOT
#undef LANES
#undef KERNEL
#define REAL         double
#define REAL_BITS    uint64_t
#define REAL_ROOT(x) sqrt(x)
#define LANES        4
#define KERNEL(name) double_##name
#include "core/oven/kernel_private.h"

void oven__run_double_wide(const Oven *const *ovens, OvenRun *runs, int count, const OvenTerms *terms)
{
    double_run(ovens, runs, count, terms);
}
#else /* built without the flag: then they are what the plain ones are */
void oven__run_single_wide(const Oven *const *ovens, OvenRun *runs, int count, const OvenTerms *terms)
{
    oven__run_single(ovens, runs, count, terms);
}

void oven__run_double_wide(const Oven *const *ovens, OvenRun *runs, int count, const OvenTerms *terms)
{
    oven__run_double(ovens, runs, count, terms);
}
#endif
