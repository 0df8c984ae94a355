/* reduced.c: the rule for the next step against the exact optimum, on problems cut from the shipped
 * appliances.
 *
 * The whole problem of a call has no known optimum. So from the problem that a complaint makes, the likeliest
 * components are kept, each alone and 'nothing wrong', with the checks that tell most about them, their true
 * costs, places and power states, and the proving run with its errors. Such a piece is small enough for
 * decision_solve. This is (iii) of the instruments that the plan is held to; drawn instances are in
 * core_decision.gap. */
#include <math.h>
#include <string.h>

#include "core/plan/plan_private.h"
#include "support/near.h"
#include "support/shipped.h"
#include "support/visit.h"

enum { COMPONENTS = 4, TESTS = 5, CAUSES = COMPONENTS + 1, MOST_NODES = 4000000 };

static const char *const complaints[] = {"too-cool", "pale-bottom", "no-heat", "swings"};

typedef struct {
    uint64_t broken[CAUSES];
    double left_cost[CAUSES], belief[CAUSES];
    double chance[TESTS + 1][DECISION_MOST_OUTCOMES][CAUSES];
    DecisionTest tests[TESTS];
    DecisionRepair repairs[PLAN_MOST_REMEDIES];
    DecisionProblem problem;
} Reduced;

/* The typical cause of a class is the last one. */
static int typical(const Planning *planning, uint64_t broken)
{
    for (int c = planning->cause_count - 1; c >= 0; c--)
        if (planning->broken[c] == broken) return c;
    return -1;
}

static double mass(const Planning *planning, uint64_t broken)
{
    double sum = 0;
    for (int c = 0; c < planning->cause_count; c++)
        if (planning->broken[c] == broken) sum += planning->belief[c];
    return sum;
}

/* Chances of the kept causes; of a proving run only right and wrong. */
static void cut_test(const Planning *planning, const DecisionTest *from, bool is_proving,
                     double chance[DECISION_MOST_OUTCOMES][CAUSES], const int *causes, DecisionTest *to)
{
    memset(chance, 0, sizeof(double[DECISION_MOST_OUTCOMES][CAUSES]));
    for (int o = 0; o < from->outcome_count; o++)
        for (int c = 0; c < CAUSES; c++)
            chance[is_proving && o > 0 ? 1 : o][c] +=
                from->chance[(size_t)o * (size_t)planning->cause_count + (size_t)causes[c]];
    *to = *from;
    to->outcome_count = is_proving ? 2 : from->outcome_count;
    to->chance = &chance[0][0];
}

static void cut(const Planning *planning, Reduced *reduced)
{
    int causes[CAUSES];
    double sum = 0;
    for (int c = 0; c < CAUSES; c++) {
        reduced->broken[c] = c == 0 ? 0 : (uint64_t)1 << (c - 1);
        causes[c] = typical(planning, reduced->broken[c]);
        reduced->left_cost[c] = planning->left_cost[causes[c]];
        reduced->belief[c] = mass(planning, reduced->broken[c]);
        sum += reduced->belief[c];
    }
    for (int c = 0; c < CAUSES; c++) reduced->belief[c] /= sum;
    reduced->problem = planning->problem;
    DecisionProblem *problem = &reduced->problem;
    problem->broken = reduced->broken;
    problem->left_cost = reduced->left_cost;
    problem->cause_count = CAUSES;
    problem->tests = reduced->tests;
    problem->repairs = reduced->repairs;
    problem->repair_count = 0;
    problem->again.outcome_count = 0;
    problem->test_count = planning->problem.test_count < TESTS ? planning->problem.test_count : TESTS;
    for (int t = 0; t < problem->test_count; t++)
        cut_test(planning, &planning->tests[t], false, reduced->chance[t], causes, &reduced->tests[t]);
    cut_test(planning, &planning->problem.proving, true, reduced->chance[TESTS], causes, &problem->proving);
    for (int r = 0; r < planning->problem.repair_count; r++) {
        DecisionRepair repair = planning->repairs[r];
        repair.cures &= ((uint64_t)1 << COMPONENTS) - 1;
        repair.is_plain = false;
        if (repair.cures) reduced->repairs[problem->repair_count++] = repair;
    }
}

/* Per cent above the optimum; negative where the piece was too large to be solved. */
static double gap(const Planning *planning, const Reduced *reduced)
{
    Arena arena = arena_new((size_t)1 << 30);
    Decision decision;
    DecisionChoice best;
    Error error = {0};
    double paid, above = -1, belief[CAUSES];
    memcpy(belief, reduced->belief, sizeof belief);
    const DecisionState state = {.belief = belief, .setup = planning->state.setup};
    assert_true(decision_begin(&reduced->problem, &arena, &decision, &error));
    decision.budget = plan_default_terms().nodes;
    if (decision_solve(&decision, &state, MOST_NODES, &arena, &best, &error) &&
        decision_follow_rule(&decision, DECISION_BY_ROLLOUT, &state, &arena, &paid, &error))
        above = 100 * (paid / best.value - 1);
    arena_free(&arena);
    return above;
}

static double gap_of_call(Visit *visit, const char *complaint)
{
    static Reduced reduced;
    const PlanTerms terms = plan_default_terms();
    Arena arena = arena_new((size_t)64 << 20);
    Error error = {0};
    visit_forget(visit);
    visit_complain(visit, complaint);
    visit_diagnose(visit);
    const Planning *planning = plan__begin(&visit->model, &visit->standing, &terms, true, 0, &arena, &error);
    assert_non_null(planning);
    cut(planning, &reduced);
    const double above = gap(planning, &reduced);
    arena_free(&arena);
    return above;
}

static void the_rule_is_near_the_optimum_on_pieces_of_real_problems(void **state)
{
    (void)state;
    static Visit visit;
    double sum = 0, worst = 0;
    int count = 0;
    for (int i = 0; i < SHIPPED_COUNT; i++) {
        visit_begin(&visit, shipped_names[i]);
        for (size_t c = 0; c < sizeof complaints / sizeof *complaints; c++) {
            const double above = gap_of_call(&visit, complaints[c]);
            print_message("%-22s %-12s %s%.2f %%\n", shipped_names[i], complaints[c],
                          above < 0 ? "not solved " : "", above);
            if (above < 0) continue;
            assert_true(above >= -1e-6);
            sum += above;
            worst = fmax(worst, above);
            count++;
        }
        visit_end(&visit);
    }
    print_message("%d pieces: mean %.2f %%, worst %.2f %% above the optimum\n", count, sum / count, worst);
    assert_true(count >= 18);
    assert_true(sum / count <= 1.3);
    assert_true(worst <= 5);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_rule_is_near_the_optimum_on_pieces_of_real_problems)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
