/* decision_private.h: what the files of this room share. */
#ifndef CORE_DECISION_PRIVATE_H
#define CORE_DECISION_PRIVATE_H

#include "core/decision/decision.h"

enum { DECISION_MOST_DEPTH = 96 };

/* Causes that need the same repairs stand for one class: between them nothing need be told apart. */
struct DecisionTables {
    int class_count, setup_count;
    int *class_of;            /* [causes] */
    int *typical;             /* [classes]: the last cause of each */
    uint64_t *broken;         /* [classes] */
    double *pass, *left_cost; /* [classes] */
    int *after;               /* [repairs][causes]: the cause that is left */
    double *way_cost;         /* [acts][setups]: act and way to it; negative until it is asked for */
    unsigned *way_end;        /* [acts][setups] */
    double *full;             /* [classes][setups]; negative until it is asked for */
    double *beliefs;          /* [DECISION_MOST_DEPTH][causes]: scratch for the states on the way down */
    double *masses;           /* [2][classes]: scratch */
    uint64_t *rest;           /* [classes]: scratch of the repairs-only plan */
    int *active;              /* [classes]: scratch of the same */
    uint8_t *healers;         /* [classes][repairs]: repairs that cure something of a class, first... */
    int *healer_count;        /* [classes] ...so many */
    double *joint_entropy; /* [tests and proofs][outcomes]: of those, once the price of a nat was asked for */
    double *joint;         /* [tests and proving][outcomes][classes]: scratch of one choice */
};

/* Acts by number: tests, then repairs, then proving. End and giving up have no way. */
int decision__act_number(const DecisionProblem *problem, DecisionAct act);
double decision__way(const Decision *decision, DecisionSetup setup, DecisionAct act, DecisionSetup *end);

/* What the rules look at instead of a state: masses of classes, which need not sum to 1; values are then
 * multiplied by what they sum to. */
typedef struct {
    const double *mass; /* [classes] */
    DecisionSetup setup;
    DecisionPhase phase;
} DecisionOutlook;

/* Sums the belief into mass[classes]. */
DecisionOutlook decision__outlook(const Decision *decision, const DecisionState *state, double *mass);
/* Repairs and proving only: the value and the first act. */
double decision__by_repairs(const Decision *decision, const DecisionOutlook *outlook, DecisionAct *first);
/* With every cause seen at once: no plan costs less. */
double decision__full(const Decision *decision, const DecisionOutlook *outlook);
/* Entropy of the classes, nats, times the sum of the masses. */
double decision__entropy(const Decision *decision, const double *mass);

/* Full information completed by a price of entropy, cost a nat; never above the repairs-only plan. `entropy`
 * of the masses when it is known, else negative. */
double decision__completed(const Decision *decision, const DecisionOutlook *outlook, double entropy,
                           double nat_price);
/* The price of a nat with the tests and the proving run that may be made now, times a factor. Between a
 * repair and its proof as it was before (`nat_price`); negative: as if tests might be made. */
double decision__nat_price(Decision *decision, const DecisionState *state, double nat_price);
/* All acts by one step ahead on the completed value, best first, `most` of them. Tests between a repair and
 * its proof are thought of for now alone: further on they would take the nodes and decide little. */
int decision__rank(Decision *decision, const DecisionState *state, double nat_price, bool is_now, int most,
                   DecisionChoice *choices);
/* Keeps the `most` (at least 1) of least value in order; returns how many there are now. */
int decision__insert(DecisionChoice *choices, int count, int most, DecisionChoice choice);
int decision__roll_out(Decision *decision, const DecisionState *state, int most, DecisionChoice *choices);

/* Between a repair and its proof there are no tests. */
static inline bool decision__is_unproved(DecisionPhase phase)
{
    return phase == DECISION_REPAIRED || phase == DECISION_MENDED;
}
/* The test that an act is; the outcomes of the proof that allow the call to be ended. */
const DecisionTest *decision__test(const DecisionProblem *problem, DecisionAct act);
unsigned decision__passes(const DecisionProblem *problem, DecisionAct act);
DecisionPhase decision__after_repair(const DecisionProblem *problem, DecisionPhase phase, int number);
/* The proof that repairs ask for, made in this phase: all plain, or not. */
DecisionAct decision__proof(const DecisionProblem *problem, DecisionPhase phase, bool all_plain);

/* May this act be made in this state at all? */
bool decision__is_open(const DecisionProblem *problem, const DecisionState *state, DecisionAct act);
/* Visits all acts that may be made: the number of them, in `acts` (room for all tests, repairs and 4 more).
 */
int decision__list(const DecisionProblem *problem, const DecisionState *state, DecisionAct *acts);
int decision__outcome_count(const DecisionProblem *problem, DecisionAct act);
/* Ends the call: DECISION_END and DECISION_GIVE_UP. */
double decision__end_cost(const DecisionProblem *problem, const DecisionState *state, DecisionAct act);

#endif
