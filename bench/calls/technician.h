/* technician.h: a simulated technician who does as told, and keeps the books.
 *
 * Lives here: carrying out a check, a run, a repair on a virtual oven: places opened and closed, the power
 * off and proved dead and on again, waiting for a hot oven, and what all that costs. The same books for every
 * policy. Not here: what to do next (policy.h), what is true (world.h).
 * Units: second, minor units of money. Ownership: plain data beside its world; entries point into the world.
 *
 * What is switched off is proved dead each time, so no resistance is ever measured live. What the policy
 * bars (safety, S7) is not switched on: the step is left out and counted as unsafe. */
#ifndef CALLS_TECHNICIAN_H
#define CALLS_TECHNICIAN_H

#include "core/plan/plan.h"
#include "world.h"

#include <stdio.h>

enum { TECHNICIAN_MOST_ENTRIES = 200, TECHNICIAN_MOST_PLACES = 16, TECHNICIAN_MOST_STEPS = 100 };

typedef struct {
    double second;
    long long parts_minor;
    int checks, live, runs, parts, wrong_parts, repairs, visits, unsafe;
    bool is_closed, is_handed_over;
    bool is_fixed, is_left; /* at the end: all faults gone; closed with one left */
    double cost_minor;
} Books;

typedef struct {
    World *world;
    const Appliance *appliance;
    const PlanTerms *terms;
    Entry entries[TECHNICIAN_MOST_ENTRIES];
    int check_of[TECHNICIAN_MOST_ENTRIES]; /* the check that an entry is; -1 */
    Call call;
    bool is_open[TECHNICIAN_MOST_PLACES], power_on, is_barred;
    bool is_noting; /* reads each step and writes it down, which takes time */
    double cool_at; /* by the clock of books.second */
    Books books;
    FILE *trail; /* NULL: in silence */
} Technician;

/* Arrives: everything closed, the power on, the owner's words written down. */
void technician_begin(World *world, const PlanTerms *terms, FILE *trail, Technician *technician);

/* Each adds what was done to the books and, where something was seen, an entry to the call. */
bool technician_check(Technician *technician, int check, Error *error) MUST_CHECK;
bool technician_run(Technician *technician, Error *error) MUST_CHECK; /* a proving run */
void technician_replace(Technician *technician, int part);
void technician_adjust(Technician *technician, int part, double kelvin);
void technician_close(Technician *technician);
void technician_hand_over(Technician *technician);

/* How long a check would take from here, live work counting as longer. */
double technician_second_of(const Technician *technician, int check);

bool technician_is_done(const Technician *technician);      /* closed, handed over, or too many steps */
const Entry *technician_last(const Technician *technician); /* the newest entry */

/* Minutes to read, in one line of the trail. */
void technician_say(const Technician *technician, const char *format, ...) PRINTF_LIKE(2, 3);

#endif
