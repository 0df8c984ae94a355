/* safety.h: may this step be offered, and what must be said before it?
 *
 * Lives here, once for all: the power state that a check needs, when 'disconnected and proved dead' must be
 * acknowledged, which findings come before everything else. Not here: probabilities (diagnosis gives them),
 * what to do next (plan), the sentences (format/words has one for each key).
 * Ownership: plain values; what is listed lives in the caller's arena.
 *
 * Rules, as the tests quote them:
 *   S1  a resistance or continuity check is made with the power off
 *   S2  a check with the power off that touches terminals needs 'disconnected and proved dead' in the trail,
 *       later than the last live entry; until it is there, the step asks for it
 *   S3  a check at open terminals with the power on is live work and marked as such
 *   S4  a suspected live or leaking frame, missing ground, open neutral, welded contact or burning connection
 *       is warned of above everything else, once the entries have raised its probability to
 *       SAFETY_WARN_RAISED times what it was before the visit, and to SAFETY_WARN_FROM
 *   S5  a place that needs a cool oven is opened when it is cool, and the step says so
 *   S6  a place that needs the power off is opened with the power off, even for a live check
 *   S7  while a leaking frame and a missing ground, taken together, are likely (SAFETY_BAR_FROM), nothing is
 *       switched on
 *   S8  once a part has been replaced, ground and the insulation of what was fitted are measured, and what is
 *       in sight is looked over, before the covers go back on, as far as they are within reach (plan offers
 *       them; whoever passes over them leaves a trail without them) */
#ifndef CORE_SAFETY_H
#define CORE_SAFETY_H

#include "base/arena.h"
#include "core/call/call.h"

#define SAFETY_WARN_FROM   0.05 /* probability; common practice, no source */
#define SAFETY_WARN_RAISED 2    /* times its prior; common practice, no source */
#define SAFETY_BAR_FROM    0.1  /* probability; common practice, no source: an owner's tingle is enough */

typedef struct {
    bool power_on;        /* while the probes are on */
    bool any_power;       /* on or off: a question, paper in the door */
    bool is_live_work;    /* S3 */
    bool needs_proof;     /* S2: ask for the acknowledgement first */
    bool needs_cool_oven; /* S5 */
    bool opens_dead;      /* S6: power off to open, then on again */
} SafetyNeeds;

/* What a check needs, after what the trail says. */
SafetyNeeds safety_of_check(const Appliance *appliance, const Check *check, const Call *call);

/* The same for opening up to replace a part. */
SafetyNeeds safety_of_repair(const Appliance *appliance, int part, const Call *call);

/* The key of the warning that a fault gives: its mode's own, or what a lost ground or neutral means; NULL. */
const char *safety_warning_key(const Appliance *appliance, const Fault *fault);

typedef struct {
    const char *key; /* as the fault mode names it: 'frame-leakage' */
    double probability;
    int fault; /* the most probable one behind it */
} SafetyWarning;

/* S4: warnings from the probability of each fault, fault_probability[fault_count], most pressing first. False
 * only when memory is out. */
bool safety_warnings(const Appliance *appliance, const double *fault_probability, Arena *arena,
                     const SafetyWarning **warnings, int *count, Error *error) MUST_CHECK;

/* S7: may the power be switched on with these warnings standing? */
bool safety_may_switch_on(const SafetyWarning *warnings, int count);

#endif
