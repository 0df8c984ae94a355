/* lanes_private.h: eight floats and four doubles side by side, as RUN(single) and RUN(double); included once
 * for every kind of processor that they are compiled for (lanes_plain.c, lanes_wide.c). */
#include "core/oven/oven_private.h"

#include <math.h>

#ifndef RUN /* compiled alone */
#define RUN(kind) oven__run_##kind
#endif

#define REAL         float
#define REAL_BITS    uint32_t
#define REAL_ROOT(x) sqrtf(x)
#define LANES        8
#define KERNEL(name) single_##name
#include "core/oven/kernel_private.h"

void RUN(single)(const Oven *const *ovens, OvenRun *runs, int count, const OvenTerms *terms)
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

void RUN(double)(const Oven *const *ovens, OvenRun *runs, int count, const OvenTerms *terms)
{
    double_run(ovens, runs, count, terms);
}
