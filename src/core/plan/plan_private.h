/* plan_private.h: what the files of this room share. */
#ifndef CORE_PLAN_PRIVATE_H
#define CORE_PLAN_PRIVATE_H

#include "core/plan/plan.h"

/* ---- situation.c: where the technician stands after the trail */

typedef struct {
    bool is_open[DESCRIPTION_MOST_PLACES];
    bool power_on, is_hot;
    DecisionPhase phase;
    bool has_repair; /* something was mended on this visit */
    int runs;        /* since then, that are weighed */
} Situation;

Situation plan__situation(const DiagnosisModel *model, const Call *call);

/* Has the trail an entry that is this check, since the last repair? */
bool plan__is_done(const DiagnosisModel *model, const Call *call, int check);
/* How often was the part adjusted, or replaced, on this call? */
int plan__times_repaired(const Call *call, int part, bool is_adjustment);

/* ---- field.c: the hypotheses that matter now */

enum { PLAN_MOST_ROWS = 400 };

typedef struct {
    int which[PLAN_MOST_ROWS]; /* numbers of hypotheses, most probable first; the last ones may weigh nothing
                                */
    double weight[PLAN_MOST_ROWS];
    int count;
} Field;

/* The likeliest hypotheses; 'nothing wrong' is always among them. */
bool plan__find_field(const Standing *standing, Arena *arena, Field *field, Error *error) MUST_CHECK;
/* Adds a hypothesis if it is not there; false when there is no room. */
bool plan__add_row(const Standing *standing, Field *field, int hypothesis);
double plan__group_probability(const Standing *standing, int group);
/* Does the group hold all faults of `part`, another group? */
bool plan__contains(const HypothesisGroup *group, const HypothesisGroup *part);
/* The suspects that the finding rests on: most probable first, until nearly all is covered. */
void plan__find_set(const Standing *standing, Plan *plan);
/* Fills step->branches: outcomes, their chances, who leads after each. */
void plan__note_branches(const Standing *standing, const Field *field, const Prediction *prediction,
                         Step *step, int *outcome_of_branch);

/* ---- remedy.c: what can be done about each fault */

enum { PLAN_MOST_REMEDIES = 64, PLAN_KEPT_COMPONENTS = 24, PLAN_HARMLESS = -2, PLAN_RARE = -1 };

/* Replacing what is bought, or adjusting a part. */
typedef struct {
    int part;
    bool is_adjustment;
    double second;
    long long price_minor;
    uint64_t cures;
    int proof; /* the watching that proves it instead of a run; -1 */
} Remedy;

/* Faults that the same remedies cure are one component; those that are next to impossible now are the rare
 * component together, mended at a flat price. */
typedef struct {
    int *component_of; /* [2 * faults], of each within and beyond the reach of an adjustment: bit number,
                          PLAN_HARMLESS or PLAN_RARE */
    int likeliest[PLAN_KEPT_COMPONENTS]; /* a hypothesis of each, of one fault */
    int component_count;                 /* the rare one's bit number too */
    Remedy remedies[PLAN_MOST_REMEDIES];
    int remedy_count;
} Remedies;

bool plan__find_remedies(const Standing *standing, Arena *arena, Remedies *remedies, Error *error) MUST_CHECK;
/* Components of a hypothesis that need a remedy. */
uint64_t plan__broken(const Standing *standing, const Remedies *remedies, int hypothesis);
bool plan__is_harmless(const Appliance *appliance, int fault);
bool plan__is_at_hand(const PlanTerms *terms, const Part *part);
/* Where a part is adjusted; -1: from where one stands. */
int plan__adjusting_place(const Appliance *appliance, int part);

/* ---- outcome.c: few outcomes instead of many */

/* Which of a few outcomes each of the prediction's is counted to, so that as little as may be is lost of what
 * they tell about classes; joint[outcomes][classes]. What hardly loses anything is joined until the fewest
 * are left, what loses more until most are. Returns how many are left. */
int plan__merge_outcomes(int outcome_count, int class_count, double *joint, int fewest, int most,
                         int *merged);

/* ---- problem.c: the standing as a problem of decision */

enum { PLAN_MOST_TESTS = 20, PLAN_MOST_OUTCOMES = 5, PLAN_SINGLE_CAUSES = 60, PLAN_MOST_CLASSES = 96 };
enum { PLAN_MOST_CAUSES = PLAN_SINGLE_CAUSES + PLAN_MOST_CLASSES };

/* What every routine of a plan needs. */
typedef struct {
    DiagnosisModel *model;
    const Standing *standing;
    const PlanTerms *terms;
    Arena *arena;
    Situation situation;
    Field field;
    Remedies remedies;
    bool may_switch_on;

    uint64_t classes[PLAN_MOST_CLASSES]; /* sets of components */
    double class_mass[PLAN_MOST_CLASSES];
    int class_count;
    int *class_of_row; /* [field.count] */

    uint64_t broken[PLAN_MOST_CAUSES];
    double left_cost[PLAN_MOST_CAUSES], belief[PLAN_MOST_CAUSES];
    int row_of_cause[PLAN_MOST_CAUSES]; /* of the field; -1: the mean of its class */
    int class_of_cause[PLAN_MOST_CAUSES];
    int cause_count;

    int checks[PLAN_MOST_TESTS]; /* of the tests, in their order */
    double nats[PLAN_MOST_TESTS];
    Prediction predictions[PLAN_MOST_TESTS + 1]; /* the last is the proving run's */
    int merged[PLAN_MOST_TESTS + 1][DIAGNOSIS_MOST_OUTCOMES];
    int run_check;             /* -1: the oven cannot be simulated */
    uint64_t plain_components; /* what repairs mend that need no run */
    int plain_proof;           /* the watching that the last plain repair asks for; -1 */
    int proof_to_come;         /* the same of the repair that was made into a step last */

    int bit_of_place[DESCRIPTION_MOST_PLACES]; /* -1: no minutes to share */
    DecisionPlace places[DECISION_MOST_PLACES];
    DecisionTest tests[PLAN_MOST_TESTS];
    DecisionRepair repairs[PLAN_MOST_REMEDIES];
    DecisionProblem problem;
    DecisionState state;
    Decision decision;
} Planning;

static inline uint64_t plan__bit(int i) { return (uint64_t)1 << i; }

/* The standing made into a problem. The best `questions` questions to the owner are among the tests whatever
 * else promises more. NULL when memory is out. */
Planning *plan__begin(DiagnosisModel *model, const Standing *standing, const PlanTerms *terms,
                      bool may_switch_on, int questions, Arena *arena, Error *error);

/* Chance that the proving run allows the call to be ended, with this cause there. */
double plan__chance_to_pass(const Planning *planning, int cause);
/* Probability that something is broken which these components hold. */
double plan__cured_by(const Planning *planning, uint64_t cures);

/* Minor units of labour. */
double plan__labour(const PlanTerms *terms, double second);
DecisionNeeds plan__needs_of_check(const Planning *planning, const Check *check);
/* Off, or any: for hands in a place, -1 where one stands. */
DecisionPower plan__power_for_hands(const Planning *planning, int place);

/* ---- causes.c: hypotheses as causes */

bool plan__make_classes(Planning *planning, Error *error) MUST_CHECK;
void plan__make_causes(Planning *planning);
/* chance[outcomes][causes] of a prediction for the field's rows whose outcomes are merged to `outcomes`. */
bool plan__fill_chances(const Planning *planning, const Prediction *prediction, const int *merged,
                        int outcomes, const double **chance, Error *error) MUST_CHECK;

/* ---- tests.c: checks as tests */

/* Numbers and nats of the best checks; the best `questions` questions are among them. */
bool plan__choose_tests(Planning *planning, int questions, Error *error) MUST_CHECK;
bool plan__make_tests(Planning *planning, Error *error) MUST_CHECK;
bool plan__make_proving(Planning *planning, Error *error) MUST_CHECK;
/* What takes a minute from where one stands, and is tried whether or not it is suspected: a function, or what
 * the control is set to. */
bool plan__is_tried_anyway(const Appliance *appliance, int check);

/* ---- proof.c: repairs that need no run */

void plan__find_plain(Planning *planning);
bool plan__make_again(Planning *planning, Error *error) MUST_CHECK;
DecisionPhase plan__phase_of_plain(Planning *planning);

/* ---- closing.c: what is measured before the covers go back on (safety, S8) */

enum { PLAN_MOST_CLOSING = 4 };

/* The part that was replaced last and is not proved yet; -1. */
int plan__unproved_part(const Planning *planning);
/* Checks that stand between the replaced part and its proof, from what is open in the situation; those that
 * the trail has since then are left out, unless the repair is still to come. Returns how many. */
int plan__list_closing(const Planning *planning, const Situation *situation, int part, bool is_to_come,
                       int checks[PLAN_MOST_CLOSING]);
/* One of them as a step; `rest_minor` is expected after it. */
Step plan__closing(const Planning *planning, const Situation *situation, int check, StepRole role,
                   double rest_minor);

/* ---- rules.c: what may be proposed */

/* The best act that no rule bars, of those that the search has followed and all others by one step; giving up
 * when none is left. */
DecisionChoice plan__choose(Planning *planning, const DecisionChoice *followed, int followed_count);
/* Is a repair made on enough evidence? Every other act is. */
bool plan__is_justified(const Planning *planning, DecisionAct act);
bool plan__is_same_act(DecisionAct a, DecisionAct b);
/* Is this what sets right an oven that settles too far off, though all speaks for a sound one? */
bool plan__is_set_right(const Planning *planning, DecisionAct act);
/* How much hotter an adjustment of this part makes the oven, by the last temperature since the last repair; 0
 * when what is put right is no matter of degrees, or nothing says how far. */
double plan__turn_kelvin(const Planning *planning, int part);

/* ---- doubt.c: entries that are made once more */

/* The earliest that contradicts the others; that which a part to be bought rests on. -1. */
int plan__find_doubtful(const Planning *planning);
int plan__find_decisive(const Planning *planning, DecisionAct act);
/* Does more speak for this part being broken than what the owner says? */
bool plan__is_witnessed(const Planning *planning, int part);
bool plan__is_seen_broken(const Planning *planning, int part); /* since it was last mended */

/* ---- step.c: an act as a step */

/* Minutes, places and power of a step that opens these places. */
void plan__walk(const Planning *planning, const Situation *situation, const int *places, int place_count,
                DecisionPower power, Step *step);

/* The step of an act from a situation; `value` is its expected cost to the end. */
bool plan__make_step(Planning *planning, const Situation *situation, DecisionChoice choice, StepRole role,
                     Step *step, Error *error) MUST_CHECK;
/* An entry that contradicts the others, once more; `rest_minor` is expected after it. */
Step plan__repeat(const Planning *planning, int entry, double rest_minor);
/* Does the act mend whatever is rare? It is never proposed. */
bool plan__is_rare(const Planning *planning, DecisionAct act);
/* The situation once the step has been done. */
Situation plan__after(const Planning *planning, const Situation *situation, const Step *step);

#endif
