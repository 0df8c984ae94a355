/* walk.h: made-up calls that follow the plan, whatever comes out, for tests of what must hold of every plan.
 *
 * Lives here: a technician who takes one of the proposed steps at random and gets one of its foreseen
 * outcomes at random, likely or not: contradictions, dangers and repairs come about by themselves. Not here:
 * what the plan should be. A test that uses it links format_appliance_yaml and core_plan. */
#ifndef SUPPORT_WALK_H
#define SUPPORT_WALK_H

#include "core/plan/plan.h"
#include "support/visit.h"

/* What a test looks at after each entry: the entries and their standing, the plan that follows from it. */
typedef void (*WalkLook)(Visit *visit, const Plan *plan, void *context);

/* `calls` calls of up to `entries` entries on a shipped appliance. The seed is printed. */
void walk_calls(const char *appliance, int calls, int entries, unsigned seed, WalkLook look, void *context);

#endif
