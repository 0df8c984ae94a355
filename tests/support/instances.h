/* instances.h: problems of decision to measure planners with: drawn at random, and one by hand.
 *
 * Lives here: the generator (faults, pairs of faults, noisy tests, power and panels, prices as service calls
 * have them, drawn from a seed), its families, and the instance whose optimum two independent programs gave.
 * Not here: what the answers should be. Ownership: everything lives in the caller's arena; running out of it
 * ends the program. A test that uses it links core_decision. */
#ifndef SUPPORT_INSTANCES_H
#define SUPPORT_INSTANCES_H

#include "base/random.h"
#include "core/decision/decision.h"

typedef struct {
    const char *name;
    int faults, pairs, tests;
    int panels;            /* power and these make the setups */
    double noise;          /* of a test, as a probability */
    double setup, proving; /* factors on what setups and the proving run cost; 0: 1 */
    bool may_be_sound; /* nothing wrong has weight, the proving run errs, a fault may be left at a price */
    double repair_fails;
    bool may_be_hot;    /* closed runs heat the oven, the first panel wants it cool */
    bool may_be_nested; /* in a third of them the second panel lies behind the first */
    bool before_proof;  /* what is at hand may be tested between a repair and its proof */
} InstanceFamily;

typedef struct {
    DecisionProblem problem;
    DecisionState start; /* closed, power on, cool */
} Instance;

void instance_draw(const InstanceFamily *family, RandomStream *stream, Arena *arena, Instance *instance);

/* Four causes, four tests, two panels. */
enum { GOLDEN_NOTHING, GOLDEN_A, GOLDEN_B, GOLDEN_C, GOLDEN_AB, GOLDEN_CAUSES };
void instance_golden(Arena *arena, Instance *instance);

/* The problem made ready; its optimum; what following a rule costs. What fails ends the program with a
 * sentence. */
Decision instance_begin(const Instance *instance, Arena *arena);
DecisionChoice instance_solve(Decision *decision, const DecisionState *state);
double instance_follow(Decision *decision, DecisionRule rule, const DecisionState *state);

/* A problem by hand: causes are the empty set and then sets of components, weighted; no test, no repair, no
 * panel yet, a proving run that is free, tells all and can be made as one stands. Begins with the power on.
 */
void instance_plain(Arena *arena, int causes, const uint64_t *broken, const double *belief,
                    Instance *instance);
DecisionTest *instance_add_test(Arena *arena, Instance *instance, double cost, int outcomes,
                                const double *chance);
DecisionRepair *instance_add_repair(Instance *instance, double cost, uint64_t cures);

#endif
