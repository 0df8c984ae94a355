/* problem.c: what must hold of every problem that a standing is made into, over made-up calls on all
 * appliances (tests/support/walk).
 *
 * The classes are worked out a second time here, fault by fault. How much the compression changes what a test
 * promises is measured against all hypotheses. */
#include <math.h>
#include <string.h>

#include "core/plan/plan_private.h"
#include "support/near.h"
#include "support/shipped.h"
#include "support/walk.h"

enum { CALLS = 4, ENTRIES = 7, SEED = 823, MIB = 1 << 20, EVERY = 9 };

typedef struct {
    int problems, compared;
    double worst_chance, sum_chance;
} Seen;

static uint64_t bit(int i) { return (uint64_t)1 << i; }

/* What of a hypothesis needs mending, as component numbers; the rare one's is the last. Of each fault there
 * are two cases, within the reach of its screw or setting and beyond. */
static uint64_t broken_of(const Planning *planning, int h)
{
    const DiagnosisModel *model = planning->model;
    uint64_t broken = 0;
    for (int i = 0; i < model->hypotheses[h].count; i++) {
        const int fault = model->groups[model->hypotheses[h].group].faults[i];
        const bool is_beyond = !diagnosis_is_within_reach(
            model, planning->standing->call, planning->standing->call->entry_count, &model->hypotheses[h], i);
        const int component = planning->remedies.component_of[2 * fault + is_beyond];
        if (component == PLAN_RARE) broken |= bit(planning->remedies.component_count);
        if (component >= 0) broken |= bit(component);
    }
    return broken;
}

static int find_class(const Planning *planning, uint64_t broken)
{
    for (int k = 0; k < planning->class_count; k++)
        if (planning->classes[k] == broken) return k;
    return -1;
}

/* Its own class, or 'the likelier one of the pair and something rare besides'. */
static int class_of(const Planning *planning, int h)
{
    const uint64_t broken = broken_of(planning, h);
    const int own = find_class(planning, broken), rare = planning->remedies.component_count;
    if (own >= 0) return own;
    int lowest = 0;
    while (!(broken >> lowest & 1)) lowest++;
    return find_class(planning, bit(lowest) | bit(rare));
}

static void hold_masses(const Planning *planning)
{
    double summed[PLAN_MOST_CLASSES] = {0}, by_cause[PLAN_MOST_CLASSES] = {0}, sum = 0, all = 0;
    for (int h = 0; h < planning->model->hypothesis_count; h++) {
        const int class = class_of(planning, h);
        assert_true(class >= 0);
        summed[class] += planning->standing->probability[h];
    }
    for (int c = 0; c < planning->cause_count; c++) {
        assert_true(planning->belief[c] >= 0 && planning->belief[c] <= 1);
        assert_true(planning->broken[c] == planning->classes[planning->class_of_cause[c]]);
        by_cause[planning->class_of_cause[c]] += planning->belief[c];
        sum += planning->belief[c];
    }
    assert_near(sum, 1, 1e-9);
    for (int k = 0; k < planning->class_count; k++) {
        assert_near(planning->class_mass[k], summed[k], 1e-9);
        assert_near(by_cause[k], summed[k], 1e-9);
        for (int other = 0; other < k; other++) assert_true(planning->classes[k] != planning->classes[other]);
        all += planning->class_mass[k];
    }
    assert_near(all, 1, 1e-9);
}

/* A repair of any class leaves a class, each class has its typical cause, and nothing can be left unmended.
 */
static void hold_classes(const Planning *planning)
{
    uint64_t cured = 0;
    for (int r = 0; r < planning->problem.repair_count; r++) {
        const uint64_t cures = planning->repairs[r].cures;
        assert_true(planning->repairs[r].cost > 0);
        cured |= cures;
        for (int k = 0; k < planning->class_count; k++)
            assert_true(find_class(planning, planning->classes[k] & ~cures) >= 0);
    }
    for (int k = 0; k < planning->class_count; k++) {
        int typical = 0;
        for (int c = planning->cause_count - planning->class_count; c < planning->cause_count; c++)
            typical += planning->row_of_cause[c] < 0 && planning->class_of_cause[c] == k;
        assert_int_equal(typical, 1);
        assert_true((planning->classes[k] & ~cured) == 0);
    }
    for (int c = 0; c < planning->cause_count; c++)
        assert_true((planning->left_cost[c] > 0) == (planning->broken[c] != 0));
}

static void hold_chances(const Planning *planning, const DecisionTest *test)
{
    const int causes = planning->cause_count;
    assert_in_range(test->outcome_count, 1, PLAN_MOST_OUTCOMES);
    for (int c = 0; c < causes; c++) {
        double sum = 0;
        for (int o = 0; o < test->outcome_count; o++) {
            assert_true(test->chance[o * causes + c] >= 0);
            sum += test->chance[o * causes + c];
        }
        assert_near(sum, 1, 1e-9);
    }
}

/* A remedy for every component, and only for components; what only the owner mends has none. */
static void hold_remedies(const Planning *planning)
{
    const Remedies *remedies = &planning->remedies;
    const Appliance *appliance = planning->model->appliance;
    int count[PLAN_KEPT_COMPONENTS + 1] = {0};
    for (int r = 0; r < remedies->remedy_count; r++)
        for (int i = 0; i <= PLAN_KEPT_COMPONENTS; i++)
            count[i] += (int)(remedies->remedies[r].cures >> i & 1);
    for (int i = 0; i <= PLAN_KEPT_COMPONENTS; i++)
        assert_in_range(count[i], i < remedies->component_count ? 1 : 0,
                        i < remedies->component_count ? 2 : 0);
    for (int f = 0; f < 2 * appliance->fault_count; f++)
        assert_int_equal(remedies->component_of[f] == PLAN_HARMLESS, plan__is_harmless(appliance, f / 2));
}

/* Largest difference of an outcome's chance over the causes from that over all hypotheses of the standing; -1
 * where a display that only the unlikely show makes other outcomes of it. */
static double compare_chances(Visit *visit, const Planning *planning, int t)
{
    const int hypotheses = visit->model.hypothesis_count, causes = planning->cause_count;
    const DecisionTest *test = &planning->tests[t];
    double exact[PLAN_MOST_OUTCOMES] = {0}, most = 0;
    Arena arena = arena_new(64 * MIB);
    Prediction prediction;
    Error error = {0};
    int *which = ARENA_ARRAY(&arena, int, (size_t)hypotheses);
    assert_non_null(which);
    for (int h = 0; h < hypotheses; h++) which[h] = h;
    assert_true(diagnosis_predict(&visit->model, &visit->call, planning->checks[t], which, hypotheses, &arena,
                                  &prediction, &error));
    const bool is_same = prediction.outcome_count == planning->predictions[t].outcome_count &&
                         memcmp(prediction.outcomes, planning->predictions[t].outcomes,
                                (size_t)prediction.outcome_count * sizeof *prediction.outcomes) == 0;
    for (int h = 0; h < hypotheses && is_same; h++)
        for (int o = 0; o < prediction.outcome_count; o++)
            exact[planning->merged[t][o]] +=
                visit->standing.probability[h] * prediction.chance[h * DIAGNOSIS_MOST_OUTCOMES + o];
    for (int o = 0; o < test->outcome_count; o++) {
        double here = 0;
        for (int c = 0; c < causes; c++) here += planning->belief[c] * test->chance[o * causes + c];
        most = fmax(most, fabs(here - exact[o]));
    }
    arena_free(&arena);
    return is_same ? most : -1;
}

static void hold_tests(Visit *visit, const Planning *planning, Seen *seen)
{
    for (int t = 0; t < planning->problem.test_count; t++) {
        hold_chances(planning, &planning->tests[t]);
        assert_true(planning->tests[t].cost > 0 && planning->nats[t] > 0);
        assert_false(plan__is_done(&visit->model, &visit->call, planning->checks[t]));
        for (int before = 0; before < t; before++)
            assert_int_not_equal(planning->checks[t], planning->checks[before]);
        if ((seen->problems + t) % EVERY != 0) continue;
        const double off = compare_chances(visit, planning, t);
        if (off < 0) continue;
        seen->worst_chance = fmax(seen->worst_chance, off);
        seen->sum_chance += off;
        seen->compared++;
    }
    hold_chances(planning, &planning->problem.proving);
}

static void hold(Visit *visit, const Plan *plan, void *context)
{
    Seen *seen = context;
    const PlanTerms terms = plan_default_terms();
    Arena arena = arena_new(256 * (size_t)MIB);
    Error error = {0};
    Planning *planning =
        plan__begin(&visit->model, &visit->standing, &terms,
                    safety_may_switch_on(plan->warnings, plan->warning_count), 0, &arena, &error);
    assert_non_null(planning);
    hold_masses(planning);
    hold_classes(planning);
    hold_remedies(planning);
    hold_tests(visit, planning, seen);
    seen->problems++;
    arena_free(&arena);
}

static void every_problem_is_whole(void **state)
{
    (void)state;
    Seen seen = {.problems = 0};
    for (int i = 0; i < SHIPPED_COUNT; i++) walk_calls(shipped_names[i], CALLS, ENTRIES, SEED, hold, &seen);
    print_message(
        "%d problems; chance of an outcome against all hypotheses: %.4f off on average, %.4f at most\n",
        seen.problems, seen.sum_chance / seen.compared, seen.worst_chance);
    assert_true(seen.problems >= SHIPPED_COUNT * CALLS);
    assert_true(seen.sum_chance / seen.compared < 0.01);
    assert_true(seen.worst_chance < 0.07);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(every_problem_is_whole)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
