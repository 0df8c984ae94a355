/* tests.c: which checks are worth looking ahead with, and what they and the proving run tell.
 *
 * Hundreds of checks become the nineteen that tell most for their minutes, on the spot or on the way, and of
 * the others the one that tells most whatever it takes: a part is not mended for want of it. Up to
 * sixteen outcomes at most five for each, joined where least is lost (outcome.c). Whether anything that is
 * not among them would tell more is measured in tests/unit/core_plan.
 *
 * Bad at: checks that tell only together; each is ranked by what it tells alone. */
#include "core/plan/plan_private.h"

#include <assert.h>
#include <math.h>
#include <string.h>

#include "base/mathematics.h"

enum { MOST_BY_WAY = 12, SCRATCH_BYTES = 8 << 20 };

static const double LEAST_NATS = 1e-4;           /* a check that tells less is no test */
static const double AS_MUCH = 0.98;              /* of the nats */
static const double BLIND_PASS[] = {0.97, 0.15}; /* proving an oven that cannot be simulated: sound, faulty */

static double entropy(const double *mass, int count)
{
    double sum = 0, total = 0;
    for (int k = 0; k < count; k++) {
        if (mass[k] <= 0) continue;
        total += mass[k];
        sum -= mass[k] * math_log(mass[k]);
    }
    return total > 0 ? fmax(sum + total * math_log(total), 0) : 0;
}

/* Joint probability of outcome and class, joint[outcomes][classes], by the rows. */
static void join_rows(const Planning *planning, const Prediction *prediction, double *joint)
{
    const int classes = planning->class_count;
    memset(joint, 0, (size_t)prediction->outcome_count * (size_t)classes * sizeof *joint);
    for (int row = 0; row < planning->field.count; row++)
        for (int o = 0; o < prediction->outcome_count; o++)
            joint[o * classes + planning->class_of_row[row]] +=
                planning->field.weight[row] * prediction->chance[row * DIAGNOSIS_MOST_OUTCOMES + o];
}

/* Nats that a check tells of what needs mending. */
static double information(const Planning *planning, const Prediction *prediction)
{
    double joint[DIAGNOSIS_MOST_OUTCOMES * PLAN_MOST_CLASSES], mass[PLAN_MOST_CLASSES] = {0}, left = 0;
    const int classes = planning->class_count;
    join_rows(planning, prediction, joint);
    for (int o = 0; o < prediction->outcome_count; o++) {
        for (int k = 0; k < classes; k++) mass[k] += joint[o * classes + k];
        left += entropy(&joint[o * classes], classes);
    }
    return entropy(mass, classes) - left;
}

typedef struct {
    int check;
    double nats, own, way; /* costs: of the check, and with the way to it */
} Candidate;

/* Minutes from where the technician stands, without the tables that are not made yet. */
static double way_second(const Planning *planning, const Check *check)
{
    const Description *description = planning->model->appliance->description;
    const DecisionNeeds needs = plan__needs_of_check(planning, check);
    double second = check->second;
    for (int p = 0; p < description->place_count; p++)
        if (planning->bit_of_place[p] >= 0 && (needs.open >> planning->bit_of_place[p] & 1) &&
            !planning->situation.is_open[p])
            second += description->places[p].open_second;
    if (needs.power == DECISION_POWER_OFF && planning->situation.power_on)
        second += planning->terms->off_second;
    if (needs.power == DECISION_POWER_ON && !planning->situation.power_on)
        second += planning->terms->on_second;
    return second;
}

static double own_cost(const Planning *planning, const Check *check)
{
    const SafetyNeeds needs = safety_of_check(planning->model->appliance, check, planning->standing->call);
    return plan__labour(planning->terms, check->second + planning->terms->noting_second +
                                             (needs.is_live_work ? planning->terms->live_risk_second : 0));
}

static bool consider(Planning *planning, int number, Arena *scratch, Candidate *candidate, Error *error)
{
    const Check *check = &planning->model->appliance->checks[number];
    Prediction prediction;
    *candidate = (Candidate){.check = number};
    if (!diagnosis_predict(planning->model, planning->standing->call, number, planning->field.which,
                           planning->field.count, scratch, &prediction, error))
        return false;
    candidate->nats = information(planning, &prediction);
    candidate->own = own_cost(planning, check);
    candidate->way =
        candidate->own + plan__labour(planning->terms, way_second(planning, check) - check->second);
    return true;
}

static bool is_worth_considering(const Planning *planning, int number)
{
    const Check *check = &planning->model->appliance->checks[number];
    if (check->kind == CHECK_RUN) return false; /* it is the proving run */
    if (check->kind == CHECK_ASK && planning->situation.has_repair)
        return false; /* the owner knows the old oven */
    if (check->kind == CHECK_OFFSET && plan__times_repaired(planning->standing->call, check->part, true) > 0)
        return false; /* it shows what was just set */
    if (!planning->may_switch_on && (check->power_on || check->kind == CHECK_SPOT))
        return false; /* safety, S7 */
    return !plan__is_done(planning->model, planning->standing->call, number);
}

static bool is_live(const Planning *planning, int number)
{
    return safety_of_check(planning->model->appliance, &planning->model->appliance->checks[number],
                           planning->standing->call)
        .is_live_work;
}

/* Live work is out of the question where a check with the power off tells as much, however long that takes.
 */
static void drop_needless_live(const Planning *planning, Candidate *candidates, int count)
{
    double most = 0;
    for (int i = 0; i < count; i++)
        if (!is_live(planning, candidates[i].check)) most = fmax(most, candidates[i].nats);
    for (int i = 0; i < count; i++)
        if (is_live(planning, candidates[i].check) && most >= AS_MUCH * candidates[i].nats)
            candidates[i].nats = 0;
}

/* What candidates are ranked by: nats for the cost with the way, or as if everything were open; nats alone.
 */
typedef enum { BY_WAY, BY_OWN, BY_NATS } Rank;

static double rank_of(const Candidate *candidate, Rank rank)
{
    if (rank == BY_NATS) return candidate->nats;
    return candidate->nats / (rank == BY_WAY ? candidate->way : candidate->own);
}

/* The best candidates, up to `most` in all; questions alone, or all. */
static int keep_best(const Planning *planning, Candidate *candidates, int count, int most, Rank rank,
                     bool only_questions, int kept, int *checks, double *nats)
{
    while (kept < most) {
        int best = -1;
        double best_value = 0;
        for (int i = 0; i < count; i++) {
            if (candidates[i].nats < LEAST_NATS) continue;
            const CheckKind kind = planning->model->appliance->checks[candidates[i].check].kind;
            const double value = rank_of(&candidates[i], rank);
            if (value <= best_value || (only_questions && kind != CHECK_ASK)) continue;
            best_value = value;
            best = i;
        }
        if (best < 0) break;
        checks[kept] = candidates[best].check;
        nats[kept++] = candidates[best].nats;
        candidates[best].nats = 0;
    }
    return kept;
}

bool plan__choose_tests(Planning *planning, int questions, Error *error)
{
    const int check_count = planning->model->appliance->check_count;
    Candidate *candidates = ARENA_ARRAY(planning->arena, Candidate, (size_t)check_count + 1);
    if (!candidates) return error_memory(error);
    int count = 0;
    planning->run_check = -1;
    for (int check = 0; check < check_count; check++) {
        if (planning->model->appliance->checks[check].kind == CHECK_RUN &&
            planning->model->usual_function >= 0)
            planning->run_check = check;
        if (!is_worth_considering(planning, check)) continue;
        Arena scratch = arena_new(SCRATCH_BYTES);
        const bool went_well = consider(planning, check, &scratch, &candidates[count], error);
        arena_free(&scratch);
        if (!went_well) return false;
        count++;
    }
    drop_needless_live(planning, candidates, count);
    int *checks = planning->checks;
    double *nats = planning->nats;
    int kept = keep_best(planning, candidates, count, questions, BY_WAY, true, 0, checks, nats);
    kept = keep_best(planning, candidates, count, questions + MOST_BY_WAY, BY_WAY, false, kept, checks, nats);
    kept = keep_best(planning, candidates, count, PLAN_MOST_TESTS - 1, BY_OWN, false, kept, checks, nats);
    kept = keep_best(planning, candidates, count, PLAN_MOST_TESTS, BY_NATS, false, kept, checks, nats);
    planning->problem.test_count = kept;
    return true;
}

bool plan__is_tried_anyway(const Appliance *appliance, int check)
{
    const CheckKind kind = appliance->checks[check].kind;
    return kind == CHECK_WATCH || kind == CHECK_OFFSET;
}

static bool make_test(Planning *planning, int t, Error *error)
{
    double joint[DIAGNOSIS_MOST_OUTCOMES * PLAN_MOST_CLASSES];
    const Check *check = &planning->model->appliance->checks[planning->checks[t]];
    Prediction *prediction = &planning->predictions[t];
    DecisionTest *test = &planning->tests[t];
    if (!diagnosis_predict(planning->model, planning->standing->call, planning->checks[t],
                           planning->field.which, planning->field.count, planning->arena, prediction, error))
        return false;
    join_rows(planning, prediction, joint);
    *test = (DecisionTest){.cost = own_cost(planning, check), .needs = plan__needs_of_check(planning, check)};
    const int fewest = plan__is_tried_anyway(planning->model->appliance, planning->checks[t]) ? 2 : 1;
    test->outcome_count = plan__merge_outcomes(prediction->outcome_count, planning->class_count, joint,
                                               fewest, PLAN_MOST_OUTCOMES, planning->merged[t]);
    return plan__fill_chances(planning, prediction, planning->merged[t], test->outcome_count, &test->chance,
                              error);
}

/* A check whose outcomes all mean the same once they are joined tells too little to be a test. */
bool plan__make_tests(Planning *planning, Error *error)
{
    int kept = 0;
    for (int t = 0; t < planning->problem.test_count; t++) {
        planning->checks[kept] = planning->checks[t];
        planning->nats[kept] = planning->nats[t];
        if (!make_test(planning, kept, error)) return false;
        if (planning->tests[kept].outcome_count > 1) kept++;
    }
    planning->problem.test_count = kept;
    return true;
}

/* ---- the proving run */

/* An oven that cannot be simulated: the run tells right from wrong, and no more. */
static bool make_blind_proving(Planning *planning, Error *error)
{
    const size_t causes = (size_t)planning->cause_count;
    double *chance = ARENA_ARRAY(planning->arena, double, 2 * causes);
    if (!chance) return error_memory(error);
    for (size_t c = 0; c < causes; c++) {
        chance[c] = BLIND_PASS[planning->broken[c] != 0];
        chance[causes + c] = 1 - chance[c];
    }
    planning->problem.proving.outcome_count = 2;
    planning->problem.proving.chance = chance;
    return true;
}

/* What is right is one outcome, the first; what is wrong is joined among itself. */
bool plan__make_proving(Planning *planning, Error *error)
{
    double joint[DIAGNOSIS_MOST_OUTCOMES * PLAN_MOST_CLASSES],
        wrong[DIAGNOSIS_MOST_OUTCOMES * PLAN_MOST_CLASSES];
    int wrong_merged[DIAGNOSIS_MOST_OUTCOMES], wrong_count = 0;
    const int classes = planning->class_count;
    Prediction *prediction = &planning->predictions[PLAN_MOST_TESTS];
    int *merged = planning->merged[PLAN_MOST_TESTS];
    DecisionTest *proving = &planning->problem.proving;
    *proving = (DecisionTest){.cost = plan__labour(planning->terms, planning->terms->proving_second),
                              .needs = {.closes_all = true, .power = DECISION_POWER_ON, .heats = true}};
    planning->problem.passes = 1;
    if (planning->run_check < 0) return make_blind_proving(planning, error);
    if (!diagnosis_predict(planning->model, planning->standing->call, planning->run_check,
                           planning->field.which, planning->field.count, planning->arena, prediction, error))
        return false;
    join_rows(planning, prediction, joint);
    for (int o = 0; o < prediction->outcome_count; o++)
        if (!prediction->outcomes[o].is_right)
            memcpy(&wrong[classes * wrong_count++], &joint[o * classes], (size_t)classes * sizeof *wrong);
    assert(wrong_count > 0);
    proving->outcome_count =
        1 + plan__merge_outcomes(wrong_count, classes, wrong, 1, PLAN_MOST_OUTCOMES - 1, wrong_merged);
    for (int o = 0, w = 0; o < prediction->outcome_count; o++)
        merged[o] = prediction->outcomes[o].is_right ? 0 : 1 + wrong_merged[w++];
    return plan__fill_chances(planning, prediction, merged, proving->outcome_count, &proving->chance, error);
}
