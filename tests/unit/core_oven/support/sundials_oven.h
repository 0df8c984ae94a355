/* sundials_oven.h: the same oven in the hands of SUNDIALS (CVODE and ARKODE, general-purpose integrators).
 *
 * Of our own code it uses the right-hand side, oven_rates(), alone; thermostat, duty pattern, sticking
 * contact, cutout and door are written here once more after what oven.h says of them, with root finding for
 * what a temperature brings and stop times for what the clock brings. Prints and exits when SUNDIALS fails.
 */
#ifndef SUPPORT_SUNDIALS_OVEN_H
#define SUPPORT_SUNDIALS_OVEN_H

#include "core/oven/oven.h"

/* Backward differentiation with Newton's method and difference quotients, Adams with fixed-point iteration,
 * the explicit Runge-Kutta method of order 4 that ARKODE takes by itself. */
typedef enum { SUNDIALS_BDF, SUNDIALS_ADAMS, SUNDIALS_EXPLICIT, SUNDIALS_METHODS } SundialsMethod;

typedef struct SundialsOven SundialsOven;

typedef struct {
    double *trace[OVEN_TRACES]; /* in: [sample_count] celsius, or NULL */
    double *switch_second;      /* in: [switch_room] or NULL */
    int switch_room;
    double end_celsius[OVEN_NODES];
    double given_joule, lost_joule; /* only where the ledgers are integrated too */
    int switch_count;
    long evaluations; /* of the right-hand side, all in all */
    long for_jacobian;
} SundialsRun;

/* `relative` tolerance, and the same number of kelvin absolute. Without ledgers the system is two smaller. */
SundialsOven *sundials_oven_new(SundialsMethod method, double relative, bool has_ledgers);
void sundials_oven_run(SundialsOven *system, const Oven *oven, const OvenTerms *terms, SundialsRun *run);
void sundials_oven_free(SundialsOven *system);

#endif
