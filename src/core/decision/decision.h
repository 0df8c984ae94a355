/* decision.h: which step costs least in the end?
 *
 * Lives here: troubleshooting as a problem of decision in plain arrays (causes, tests, repairs, a proving
 * run, places that must be opened), rules that choose the next act, and the exact optimum of small problems.
 * Not here: ovens, entries, sentences; core/plan makes the problem and speaks of its answer.
 * Units: one unit of cost throughout (minor units of money in this program); probabilities.
 * Ownership: a problem is the caller's and outlives the Decision made of it, which lives in an arena.
 *
 * A cause is a set of components that need repair; the empty set is 'nothing wrong'. A repair cures
 * components, and every act may need places open, the power on or off, the oven cool. Doing it where one
 * stands is cheaper than getting there: that is what the problem is about.
 *
 * Heckerman, Breese and Rommelse, Comm. ACM 38(3) (1995) 49 for repairs by expected cost; Warnquist and
 * Nyberg (2008) for a price of entropy; Bertsekas, Tsitsiklis and Wu, J. Heuristics 3 (1997) 245: rollout. */
#ifndef CORE_DECISION_H
#define CORE_DECISION_H

#include "base/arena.h"
#include "base/error.h"

#include <stdint.h>

enum { DECISION_MOST_PLACES = 10, DECISION_MOST_OUTCOMES = 8, DECISION_MOST_CHOICES = 8 };
enum { DECISION_MOST_TESTS = 64, DECISION_MOST_REPAIRS = 64 };

typedef enum { DECISION_POWER_ANY, DECISION_POWER_OFF, DECISION_POWER_ON } DecisionPower;
/* What must be so for an act to be done. */
typedef struct {
    unsigned open;   /* bit p: place p is open, with all that it lies behind */
    bool closes_all; /* everything is closed again first: a proving run */
    DecisionPower power;
    bool needs_cool; /* the oven */
    bool heats;      /* leaves the oven hot */
} DecisionNeeds;

typedef struct {
    double open_cost, close_cost;
    int behind;                 /* the place that must be open before; -1 */
    bool needs_off, needs_cool; /* to be opened or closed */
} DecisionPlace;

typedef struct {
    double cost;
    DecisionNeeds needs;
    int outcome_count;
    const double *chance; /* [outcomes][causes]; over outcomes they sum to 1 for each cause */
} DecisionTest;

typedef struct {
    double cost;
    DecisionNeeds needs;
    uint64_t cures; /* bit i: component i */
    bool is_plain;  /* what it mends is proved by looking again: a lamp */
} DecisionRepair;

typedef struct {
    /* components of each cause; for what a repair leaves of a cause there is a cause */
    const uint64_t *broken;
    const double *left_cost; /* [causes]: of ending the call with this cause there; 0 for 'nothing wrong' */
    const DecisionTest *tests;
    const DecisionRepair *repairs;
    const DecisionPlace *places;
    int cause_count, test_count, repair_count, place_count;
    DecisionTest proving; /* may be made once at first, and again after repairs */
    DecisionTest again;   /* looking again instead, after plain repairs alone; without outcomes: not done */
    unsigned passes, again_passes; /* bit o: outcome o allows the call to be ended */
    double give_up_cost;           /* ends it at any time, whatever the cause */
    double repair_fails;           /* chance that a repair cures nothing */
    double off_cost, on_cost, cool_cost;
    bool tests_before_proof; /* what is at hand may be tested between a repair and its proof */
} DecisionProblem;

/* Places open (bit p), then the power, then the heat of the oven. */
typedef unsigned DecisionSetup;
DecisionSetup decision_setup(const DecisionProblem *problem, unsigned open, bool is_on, bool is_hot);

typedef enum {
    DECISION_FRESH,    /* nothing proved, nothing repaired since */
    DECISION_REPAIRED, /* repaired, not yet proved: now only further repairs or the proving run */
    DECISION_MENDED,   /* the same of plain repairs alone: looking again will do */
    DECISION_FAILED,   /* the proving run failed */
    DECISION_PROVED    /* it passed: the call may be ended */
} DecisionPhase;

typedef struct {
    double *belief; /* [causes], sums to 1 */
    uint64_t done;  /* bit t: test t has been made */
    DecisionSetup setup;
    DecisionPhase phase;
} DecisionState;

typedef enum { DECISION_TEST, DECISION_REPAIR, DECISION_PROVE, DECISION_END, DECISION_GIVE_UP } DecisionKind;

typedef struct {
    DecisionKind kind;
    int number; /* of the test or repair; proving: 0 the run, 1 looking again */
} DecisionAct;
typedef enum {
    DECISION_BY_REPAIRS,     /* no tests: probability over cost, proving after batches */
    DECISION_BY_INFORMATION, /* nats for cost, until one set of repairs reaches 0.8 */
    DECISION_BY_GINI,        /* expected sum of squares for cost, among tests worth more than they cost */
    DECISION_BY_VALUE,       /* myopic: expected cost of repairs after one test (Heckerman et al.) */
    DECISION_BY_COMPLETION,  /* one step ahead on full information completed by a price of entropy */
    DECISION_BY_ROLLOUT,     /* that rule improved by following it to the end */
    DECISION_RULE_COUNT
} DecisionRule;

/* An act and what it is expected to cost to the end, the act included. */
typedef struct {
    DecisionAct act;
    double value;
} DecisionChoice;
typedef struct DecisionTables DecisionTables;
/* A problem made ready: classes of causes with the same repairs, tables of ways between setups. */
typedef struct {
    const DecisionProblem *problem;
    DecisionTables *tables;
    long long budget; /* nodes that a rollout may visit for one choice */
    long long nodes;  /* visited so far: a count that does not depend on the machine */
} Decision;

/* Checks the problem (a defect of the caller asserts) and makes it ready. Memory is the only failure. */
bool decision_begin(const DecisionProblem *problem, Arena *arena, Decision *decision,
                    Error *error) MUST_CHECK;

/* The best acts by a rule, best first, at most `most`; returns how many. There is always one. */
int decision_choose(Decision *decision, DecisionRule rule, const DecisionState *state, int most,
                    DecisionChoice *choices);

/* One act that the rules need not have proposed: its value by one step and the completed value after it. */
double decision_value(Decision *decision, const DecisionState *state, DecisionAct act);
/* What it costs to make an act from here, the setup then, and the state after an outcome of it, in `after`,
 * whose belief has room. `chance` of that outcome; 0: it cannot be, and `after` is not touched. */
double decision_cost(const Decision *decision, DecisionSetup setup, DecisionAct act);
DecisionSetup decision_after(const Decision *decision, DecisionSetup setup, DecisionAct act);
void decision_follow(const Decision *decision, const DecisionState *state, DecisionAct act, int outcome,
                     DecisionState *after, double *chance);
/* What a technician who sees every cause at once would pay: no plan costs less. */
double decision_full_information(const Decision *decision, const DecisionState *state);

/* The least expected cost of all plans, by depth-first branch and bound over states with memory, and the act
 * that it begins with. Small problems only: false when `most_nodes` or memory is out. */
bool decision_solve(Decision *decision, const DecisionState *state, long long most_nodes, Arena *arena,
                    DecisionChoice *best, Error *error) MUST_CHECK;

/* Expected cost of following a rule to the end, exactly, over every outcome of every act. */
bool decision_follow_rule(Decision *decision, DecisionRule rule, const DecisionState *state, Arena *arena,
                          double *cost, Error *error) MUST_CHECK;

#endif
