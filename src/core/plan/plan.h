/* plan.h: what next?
 *
 * Lives here: the next steps from a standing: checks by information for their minutes, then repair and
 * proving run; which suspects no check can tell apart; when to stop. Not here: what the entries say
 * (diagnosis), what is allowed (safety), sentences (format/words).
 * Units: second, minor units of money, nats. Ownership: a plan lives in the arena it was made in.
 *
 * For now a step is chosen by the best ratio of information gained to time spent, the opening of places and
 * the switching of power counted in. A planner that minimises the expected cost to the end has the same
 * interface: standing in, steps out. */
#ifndef CORE_PLAN_H
#define CORE_PLAN_H

#include "core/diagnosis/diagnosis.h"
#include "core/safety/safety.h"

enum { PLAN_MOST_STEPS = 4, PLAN_MOST_PLACES = 8, PLAN_MOST_SET = 64, PLAN_MOST_BRANCHES = 6 };

typedef enum {
    STEP_CHECK,    /* a reading, a look, a question, what the control displays, a temperature */
    STEP_REPEAT,   /* an entry that contradicts the others, once more */
    STEP_REPAIR,   /* replace a part, or (is_adjustment) adjust it */
    STEP_PROVE,    /* proving run: does it reach and hold the set temperature? */
    STEP_CLOSE,    /* the call may be closed: proven right, or within specification */
    STEP_HAND_OVER /* nothing at hand is worth its cost: ask for help, or the maker */
} StepKind;

/* One outcome of a check, and who leads after it. */
typedef struct {
    Outcome outcome;
    double chance;
    int group; /* leading group of hypotheses then */
    double group_probability;
    double expected_minor; /* from there to the end */
} StepBranch;

typedef struct {
    StepKind kind;
    int check, entry, part;      /* by kind; -1 */
    bool is_adjustment;          /* repair: adjusted, not replaced */
    double second;               /* with opening places and switching power */
    int opens[PLAN_MOST_PLACES]; /* places to open first, in that order */
    int open_count;
    bool switches_power;
    SafetyNeeds needs;
    double information; /* nats expected; 0 for other kinds */
    long long cost_minor, expected_total_minor;
    StepBranch branches[PLAN_MOST_BRANCHES]; /* most probable first */
    int branch_count;
} Step;

typedef enum {
    PLAN_GO_ON,         /* a check is worth its minutes */
    PLAN_FOUND,         /* this fault is there, whatever else may be: repair it */
    PLAN_SET,           /* suspects that no available check tells apart */
    PLAN_NOTHING_WRONG, /* within its specification, as far as can be seen */
    PLAN_OPEN           /* no check is left and nothing stands out */
} PlanVerdict;

/* Money per hour and what a proving run takes; a shop has its own. */
typedef struct {
    long long labour_minor_per_hour;
    double proving_second, switch_second, live_risk_second; /* live work counts as that much longer */
    double sure; /* probability from which a suspect counts as found */
} PlanTerms;

PlanTerms plan_default_terms(void); /* common practice, no source */

typedef struct {
    PlanVerdict verdict;
    bool is_done;
    Step steps[PLAN_MOST_STEPS]; /* the proposal first, then the runners-up, or what follows it */
    int step_count;              /* 0: nothing is left that may be done with the power off (safety, S7) */
    int set[PLAN_MOST_SET]; /* the leading group and those that no check still to be made tells from it: group
                               numbers */
    int set_count;
    const SafetyWarning *warnings; /* to be said before all else, most pressing first */
    int warning_count;
    double set_probability; /* that the faults of one of them are there */
} Plan;

/* The next steps. Memory is the only failure. */
bool plan_next(DiagnosisModel *model, const Standing *standing, const PlanTerms *terms, Arena *arena,
               Plan *plan, Error *error) MUST_CHECK;

#endif
