/* plan_private.h: what the files of this room share. */
#ifndef CORE_PLAN_PRIVATE_H
#define CORE_PLAN_PRIVATE_H

#include "core/plan/plan.h"

/* Where the technician stands after the trail: what is open, is the power on. */
typedef struct {
    bool is_open[64];
    bool power_on;
} Situation;

Situation plan__situation(const Appliance *appliance, const Call *call);

/* Fills places to open, power switching and the time of a step whose check or part is set. */
void plan__price(const Appliance *appliance, const Situation *situation, const PlanTerms *terms,
                 const int *places, int place_count, double own_second, Step *step);

/* Has the trail an entry that is this check, since the last repair? */
bool plan__is_done(const Appliance *appliance, const Call *call, int check);

#endif
