/* plan.h: what next?
 *
 * Lives here: the step from a standing that is expected to cost least until the oven is proven right, what
 * else might be done, what each outcome would lead to; what to ask and to carry before the visit. Not here:
 * what the entries say (diagnosis), what is allowed (safety), how the least cost is found (decision),
 * sentences (format/words). Units: second, minor units of money, probabilities. Ownership: a plan lives in
 * the arena it was made in.
 *
 * Money counts everything: minutes at the labour rate, ways between places and power states, parts, the risk
 * of live work, the callback when a fault is left. doc/method/plan.md has the whole reckoning. */
#ifndef CORE_PLAN_H
#define CORE_PLAN_H

#include "core/decision/decision.h"
#include "core/diagnosis/diagnosis.h"
#include "core/safety/safety.h"

enum {
    PLAN_MOST_STEPS = 8,
    PLAN_MOST_PLACES = 8,
    PLAN_MOST_SET = 64,
    PLAN_MOST_BRANCHES = 6,
    PLAN_MOST_SHARED = 3
};
enum { PLAN_MOST_QUESTIONS = 5 };

typedef enum {
    STEP_CHECK,    /* a reading, a look, a question, what the control displays, a temperature */
    STEP_REPEAT,   /* an entry that contradicts the others, once more */
    STEP_REPAIR,   /* replace a part, or (is_adjustment) adjust it */
    STEP_PROVE,    /* proving run: does it reach and hold the set temperature? */
    STEP_CLOSE,    /* the call may be closed: proven right, or within specification */
    STEP_HAND_OVER /* nothing at hand is worth its cost: ask for help, or the maker */
} StepKind;

typedef enum {
    STEP_PROPOSED, /* the next step */
    STEP_THEN,     /* what follows it */
    STEP_INSTEAD   /* what might be done instead, at a higher expected cost */
} StepRole;

/* One outcome of a step, who leads after it, and what would be done then. */
typedef struct {
    Outcome outcome;
    double chance;
    int group; /* leading group of hypotheses then */
    double group_probability;
    double expected_minor; /* from there to the end */
    StepKind next;
    int next_check, next_part; /* by its kind; -1 */
} StepBranch;

typedef struct {
    StepKind kind;
    StepRole role;
    int check, entry, part;      /* by kind; -1; a run as a check or a proof has its check too */
    bool is_adjustment;          /* repair: adjusted, not replaced */
    bool is_closing;             /* check: for safety, before the covers go back on (safety, S8) */
    bool needs_second_visit;     /* repair: the part is not at hand */
    double second;               /* with opening places and switching power */
    int opens[PLAN_MOST_PLACES]; /* places to open first, in that order */
    int open_count;
    bool switches_power, closes_all;
    SafetyNeeds needs;
    double information; /* nats expected; 0 for other kinds */
    double probability; /* repair: that it cures something */
    double
        turn_kelvin; /* adjustment: how much hotter to set it, as measured; 0: it is no matter of degrees */
    long long cost_minor, expected_total_minor; /* cost: minutes, part, second visit */
    StepBranch branches[PLAN_MOST_BRANCHES];    /* most probable first */
    int branch_count;
    int shared[PLAN_MOST_SHARED]; /* checks worth making on the same occasion, with no place to open and no
                                     power to switch for them */
    int shared_count;
} Step;

typedef enum {
    PLAN_GO_ON,         /* a check is worth its minutes */
    PLAN_FOUND,         /* this fault is there, whatever else may be: repair it */
    PLAN_SET,           /* one of these, and telling them apart costs more than it saves */
    PLAN_NOTHING_WRONG, /* within its specification */
    PLAN_PROVED,        /* repaired and proven right */
    PLAN_OPEN           /* nothing at hand is worth its cost */
} PlanVerdict;

/* What a shop's minutes and mistakes cost; read from data/shop. Minor units of the appliance's currency. */
typedef struct {
    long long labour_minor_per_hour;
    long long callback_minor;     /* a fault was left, and the owner calls again */
    long long second_visit_minor; /* to fetch a part that is not at hand */
    long long hand_over_minor;    /* someone else has to find it */
    long long carrying_minor;     /* a part on the truck for one visit, its price apart */
    double carrying_share;        /* of a part's price, the same */
    double proving_second, off_second, on_second, cool_second; /* off: with proving dead */
    double noting_second;     /* to read a step and write down what came of it */
    double live_risk_second;  /* live work counts as that much longer */
    double justified;         /* probability from which a part may be replaced while a check can still tell */
    long long nodes;          /* of the search for one advice: more is slower and hardly better */
    const char *const *stock; /* parts at hand; NULL: all */
    int stock_count;
} PlanTerms;

PlanTerms plan_default_terms(void); /* common practice, no source */

typedef struct {
    PlanVerdict verdict;
    bool is_done;                /* the finding is made: nothing is left to look for */
    Step steps[PLAN_MOST_STEPS]; /* the proposal first, then what follows it, then what might be done instead
                                  */
    int step_count;              /* 0: nothing is left that may be done with the power off (safety, S7) */
    int set[PLAN_MOST_SET];      /* who it may be: group numbers, the most probable first */
    int set_count;
    const SafetyWarning *warnings; /* to be said before all else, most pressing first */
    int warning_count;
    double set_probability; /* that the faults of one of them are there */
    double floor_minor;     /* what it would cost if the fault were known: no plan can do better */
} Plan;

/* The next steps. Memory is the only failure. */
bool plan_next(DiagnosisModel *model, const Standing *standing, const PlanTerms *terms, Arena *arena,
               Plan *plan, Error *error) MUST_CHECK;

typedef struct {
    int part;
    double probability;    /* that it is needed */
    long long saves_minor; /* a second visit, so often; less what carrying it costs */
    bool is_carried;       /* take it along */
} PlanPart;

/* Before the visit: what to ask on the phone, most telling first, with what each answer would change; and the
 * parts, most useful first. */
typedef struct {
    Step questions[PLAN_MOST_QUESTIONS];
    int question_count;
    const PlanPart *parts;
    int part_count;
} PlanVisit;

bool plan_before_visit(DiagnosisModel *model, const Standing *standing, const PlanTerms *terms, Arena *arena,
                       PlanVisit *visit, Error *error) MUST_CHECK;

#endif
