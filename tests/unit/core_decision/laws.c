/* laws.c: what must hold of every problem of decision, on drawn instances.
 *
 * States are reached by straying: any act that may be made, any outcome that can be. What must hold follows
 * from the promises of decision.h and from probability, not from a figure. Rollout against its base rule:
 * Bertsekas, Tsitsiklis and Wu, J. Heuristics 3 (1997) 245, where nothing is cut off; here paths are, so only
 * the mean is held. */
#include <math.h>
#include <string.h>

#include "support/gap.h"
#include "support/near.h"

enum { SEED = 51966, MIB = 1 << 20, MOST_CAUSES = 12, STRAYS = 12, BUDGET = 200 };
/* What a choice may visit beyond its budget: a node for each act that is rolled out, and the ranking itself.
 */
enum { SLACK = 16 };

#ifdef __SANITIZE_ADDRESS__
enum { INSTANCES = 12, PAIRED = 6 };
#else
enum { INSTANCES = 60, PAIRED = 60 };
#endif

/* Everything sure but the tests; proving runs that err, perhaps nothing wrong; repairs that fail too. */
enum { FAMILIES = 3 };
static const InstanceFamily *family_of(int instance)
{
    static const int families[FAMILIES] = {0, GAP_FAMILIES - 3, GAP_FAMILIES - 2};
    return &gap_families[families[instance % FAMILIES]];
}

/* --- straying --- */

typedef struct {
    Decision *decision;
    RandomStream *stream;
    DecisionState at;
    double beliefs[2][MOST_CAUSES];
    int now; /* which of the two */
} Stray;

static bool may_be_made(const Stray *stray, DecisionAct act)
{
    const DecisionPhase phase = stray->at.phase;
    const bool is_at_hand = stray->decision->problem->tests_before_proof && act.kind == DECISION_TEST &&
                            decision_after(stray->decision, stray->at.setup, act) == stray->at.setup;
    if (act.kind == DECISION_TEST)
        return (phase != DECISION_REPAIRED || is_at_hand) && !(stray->at.done >> act.number & 1);
    if (act.kind == DECISION_PROVE) return phase == DECISION_FRESH || phase == DECISION_REPAIRED;
    if (act.kind == DECISION_END) return phase == DECISION_PROVED;
    return true;
}

static DecisionAct any_act(const Stray *stray)
{
    const DecisionProblem *problem = stray->decision->problem;
    const int tests = problem->test_count, repairs = problem->repair_count;
    for (;;) {
        const int number = (int)random_below(stray->stream, (uint32_t)(tests + repairs + 1));
        const DecisionAct act = number < tests             ? (DecisionAct){DECISION_TEST, number}
                                : number < tests + repairs ? (DecisionAct){DECISION_REPAIR, number - tests}
                                                           : (DecisionAct){DECISION_PROVE, 0};
        if (may_be_made(stray, act)) return act;
    }
}

static int outcome_count(const DecisionProblem *problem, DecisionAct act)
{
    if (act.kind == DECISION_REPAIR) return 1;
    return act.kind == DECISION_TEST ? problem->tests[act.number].outcome_count
                                     : problem->proving.outcome_count;
}

/* Into an outcome that is not too unlikely. */
static void step(Stray *stray, DecisionAct act)
{
    const int outcomes = outcome_count(stray->decision->problem, act);
    for (;;) {
        DecisionState after = {.belief = stray->beliefs[1 - stray->now]};
        double chance;
        decision_follow(stray->decision, &stray->at, act,
                        (int)random_below(stray->stream, (uint32_t)outcomes), &after, &chance);
        if (chance < 1e-3) continue;
        stray->at = after;
        stray->now = 1 - stray->now;
        return;
    }
}

typedef void (*Look)(Stray *stray);

/* Draws instances of every family and looks at every state on a way through them. */
static void stray_through(Look look)
{
    RandomStream stream = random_stream(SEED);
    print_message("seed %d\n", SEED);
    for (int i = 0; i < INSTANCES; i++) {
        Arena arena = arena_new(8 * MIB);
        Instance instance;
        instance_draw(family_of(i), &stream, &arena, &instance);
        Decision decision = instance_begin(&instance, &arena);
        Stray stray = {.decision = &decision, .stream = &stream, .at = instance.start};
        decision.budget = BUDGET;
        memcpy(stray.beliefs[0], instance.start.belief,
               sizeof(double) * (size_t)instance.problem.cause_count);
        stray.at.belief = stray.beliefs[0];
        for (int s = 0; s < STRAYS; s++) {
            look(&stray);
            step(&stray, any_act(&stray));
        }
        arena_free(&arena);
    }
}

/* --- what must hold --- */

static void look_at_choices(Stray *stray)
{
    for (int r = 0; r < DECISION_RULE_COUNT; r++) {
        DecisionChoice choices[DECISION_MOST_CHOICES];
        const long long nodes = stray->decision->nodes;
        const int count =
            decision_choose(stray->decision, (DecisionRule)r, &stray->at, DECISION_MOST_CHOICES, choices);
        assert_in_range(count, 1, DECISION_MOST_CHOICES);
        for (int i = 0; i < count; i++) {
            assert_true(may_be_made(stray, choices[i].act));
            assert_true(isfinite(choices[i].value) && choices[i].value >= 0);
        }
        assert_true(stray->decision->nodes - nodes <= BUDGET + SLACK);
    }
}

/* Every rule has an act to propose, one that may be made, with a value, and stays within the budget. */
static void there_is_always_an_act(void **state)
{
    (void)state;
    stray_through(look_at_choices);
}

static void look_at_outcomes(Stray *stray)
{
    const DecisionProblem *problem = stray->decision->problem;
    const DecisionAct act = any_act(stray);
    double sum = 0, mean[MOST_CAUSES] = {0};
    for (int o = 0; o < outcome_count(problem, act); o++) {
        double belief[MOST_CAUSES], total = 0, chance;
        DecisionState after = {.belief = belief};
        decision_follow(stray->decision, &stray->at, act, o, &after, &chance);
        if (chance <= 0) continue;
        for (int c = 0; c < problem->cause_count; c++) {
            assert_true(belief[c] >= 0);
            total += belief[c];
            mean[c] += chance * belief[c];
        }
        assert_near(total, 1, 1e-12);
        sum += chance;
    }
    assert_near(sum, 1, 1e-12);
    /* what is learnt is expected to change nothing */
    for (int c = 0; act.kind != DECISION_REPAIR && c < problem->cause_count; c++)
        assert_near(mean[c], stray->at.belief[c], 1e-12);
}

static void outcomes_are_a_distribution(void **state)
{
    (void)state;
    stray_through(look_at_outcomes);
}

/* A repair of something that is surely not broken. */
static void look_at_needless_repairs(Stray *stray)
{
    const DecisionProblem *problem = stray->decision->problem;
    double held[MOST_CAUSES], belief[MOST_CAUSES], chance, sum = 0;
    const int r = (int)random_below(stray->stream, (uint32_t)problem->repair_count);
    for (int c = 0; c < problem->cause_count; c++) {
        held[c] = problem->broken[c] & problem->repairs[r].cures ? 0 : stray->at.belief[c];
        sum += held[c];
    }
    if (sum <= 0) return;
    for (int c = 0; c < problem->cause_count; c++) held[c] /= sum;
    DecisionState from = stray->at, after = {.belief = belief};
    from.belief = held;
    decision_follow(stray->decision, &from, (DecisionAct){DECISION_REPAIR, r}, 0, &after, &chance);
    assert_near(chance, 1, 0);
    assert_memory_equal(belief, held, sizeof(double) * (size_t)problem->cause_count);
    assert_int_equal(after.phase, DECISION_REPAIRED);
}

static void a_needless_repair_changes_no_belief(void **state)
{
    (void)state;
    stray_through(look_at_needless_repairs);
}

/* A problem made ready anew, which has been asked nothing, answers to the bit as one that was asked a lot. */
static void look_twice(Stray *stray)
{
    Arena arena = arena_new(8 * MIB);
    Instance again = {.problem = *stray->decision->problem};
    Decision fresh = instance_begin(&again, &arena);
    fresh.budget = stray->decision->budget;
    for (int r = DECISION_RULE_COUNT - 1; r >= 0; r--) {
        DecisionChoice one[DECISION_MOST_CHOICES], two[DECISION_MOST_CHOICES];
        const int count =
            decision_choose(stray->decision, (DecisionRule)r, &stray->at, DECISION_MOST_CHOICES, one);
        assert_int_equal(count,
                         decision_choose(&fresh, (DecisionRule)r, &stray->at, DECISION_MOST_CHOICES, two));
        for (int i = 0; i < count; i++) {
            assert_true(one[i].act.kind == two[i].act.kind && one[i].act.number == two[i].act.number);
            assert_memory_equal(&one[i].value, &two[i].value, sizeof(double));
        }
    }
    assert_near(decision_full_information(stray->decision, &stray->at),
                decision_full_information(&fresh, &stray->at), 0);
    arena_free(&arena);
}

static void the_same_question_has_the_same_answer(void **state)
{
    (void)state;
    stray_through(look_twice);
}

/* Paired on the same instances; exact costs of both. */
static void rollout_is_no_worse_than_its_base(void **state)
{
    (void)state;
    RandomStream stream = random_stream(SEED);
    double base = 0, rolled = 0, worst = 0;
    for (int i = 0; i < PAIRED; i++) {
        Arena arena = arena_new(8 * MIB);
        Instance instance;
        instance_draw(family_of(i), &stream, &arena, &instance);
        Decision decision = instance_begin(&instance, &arena);
        decision.budget = BUDGET;
        const double one = instance_follow(&decision, DECISION_BY_COMPLETION, &instance.start),
                     two = instance_follow(&decision, DECISION_BY_ROLLOUT, &instance.start);
        base += one / PAIRED;
        rolled += two / PAIRED;
        worst = fmax(worst, two / one - 1);
        arena_free(&arena);
    }
    print_message("seed %d, %d pairs: base %.2f, rollout %.2f; on one instance at worst %+.2f %%\n", SEED,
                  PAIRED, base, rolled, 100 * worst);
    assert_true(rolled <= base);
    assert_true(worst <= 0.025);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(there_is_always_an_act),
        cmocka_unit_test(outcomes_are_a_distribution),
        cmocka_unit_test(a_needless_repair_changes_no_belief),
        cmocka_unit_test(the_same_question_has_the_same_answer),
        cmocka_unit_test(rollout_is_no_worse_than_its_base),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
