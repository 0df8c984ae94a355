/* lanes_scalar.c: one oven at a time in double precision: the reference of this room's own, and the
 * right-hand side that other integrators are given. */
#include "core/oven/oven_private.h"

#define REAL         double
#define REAL_BITS    uint64_t
#define REAL_ROOT(x) sqrt(x)
#define LANES        1
#define KERNEL(name) scalar_##name
#include "core/oven/kernel_private.h"

void oven__run_scalar(const Oven *const *ovens, OvenRun *runs, int count, const OvenTerms *terms)
{
    scalar_run(ovens, runs, count, terms);
}

/* A network of single lanes is laid out as the plain one. */
void oven_rates(const OvenNetwork *network, const double watt[OVEN_HEATS], bool is_open,
                const double state[OVEN_STATES], double rate[OVEN_STATES])
{
    const double open = is_open ? 1 : 0;
    scalar_Tangents unused;
    scalar_balance((const scalar_Network *)network, watt, &open, state, &unused, true, rate);
}
