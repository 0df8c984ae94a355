/* literature.c: worked examples of troubleshooting, through this room's own code.
 *
 * Each test names its source. Where an example is remembered and its text was not at hand it says so; figures
 * worked out by hand from a published formula say that. */
#include <math.h>

#include "base/mathematics.h"
#include "support/instances.h"
#include "support/near.h"

enum { MIB = 1 << 20, MOST_CAUSES = 33 };

static const DecisionAct PROVE = {DECISION_PROVE, 0};

static DecisionAct test(int number) { return (DecisionAct){DECISION_TEST, number}; }
static DecisionAct repair(int number) { return (DecisionAct){DECISION_REPAIR, number}; }

/* Single faults of these chances, each with its own repair. */
static void singles(Arena *arena, int count, const double *chance, const double *cost, Instance *instance)
{
    uint64_t broken[MOST_CAUSES] = {0};
    for (int i = 0; i < count; i++) broken[i] = (uint64_t)1 << i;
    instance_plain(arena, count, broken, chance, instance);
    instance->start.phase = DECISION_FAILED; /* that it is broken has been seen */
    for (int i = 0; i < count; i++) instance_add_repair(instance, cost[i], broken[i]);
}

/* Expected cost of making these repairs in this order, the proving run after each. */
static double cost_of_order(const Decision *decision, const DecisionState *start, const int *order, int count)
{
    double beliefs[2][MOST_CAUSES], cost = 0, chance = 1;
    DecisionState at = *start;
    for (int i = 0; i < count; i++) {
        DecisionState after = {.belief = beliefs[0]}, failed = {.belief = beliefs[1]};
        double fails;
        cost += chance * decision_cost(decision, at.setup, repair(order[i]));
        decision_follow(decision, &at, repair(order[i]), 0, &after, &fails);
        cost += chance * decision_cost(decision, after.setup, PROVE);
        decision_follow(decision, &after, PROVE, 1, &failed, &fails);
        if (fails <= 0) break;
        chance *= fails;
        at = failed;
    }
    return cost;
}

/* Follows a rule along the outcomes that go on (a proving run fails); the repairs in the order they are made.
 */
static int order_of(Decision *decision, DecisionRule rule, const DecisionState *start, int *order)
{
    double beliefs[2][MOST_CAUSES];
    DecisionState at = *start;
    int count = 0;
    for (int step = 0;; step++) {
        DecisionState after = {.belief = beliefs[step % 2]};
        DecisionChoice choice;
        double chance;
        decision_choose(decision, rule, &at, 1, &choice);
        if (choice.act.kind == DECISION_REPAIR) order[count++] = choice.act.number;
        if (choice.act.kind >= DECISION_END) return count;
        decision_follow(decision, &at, choice.act, choice.act.kind == DECISION_PROVE ? 1 : 0, &after,
                        &chance);
        if (chance <= 0) return count;
        at = after;
    }
}

/* One fault, constant costs, a free test of the system after each repair: by probability over cost. Kadane
 * and Simon, Ann. Statist. 5 (1977) 237; figures by hand: 2 + .6 1 + .5 4 + .3 10. */
static void orders_by_probability_over_cost(void **state)
{
    (void)state;
    static const double chance[] = {.1, .2, .3, .4}, cost[] = {1, 4, 10, 2};
    static const int best[] = {3, 0, 1, 2}, worst[] = {2, 1, 0, 3};
    Arena arena = arena_new(4 * MIB);
    Instance instance;
    int order[MOST_CAUSES];
    singles(&arena, 4, chance, cost, &instance);
    Decision decision = instance_begin(&instance, &arena);
    assert_near(instance_solve(&decision, &instance.start).value, 7.6, 1e-12);
    assert_near(instance_follow(&decision, DECISION_BY_REPAIRS, &instance.start), 7.6, 1e-12);
    assert_int_equal(order_of(&decision, DECISION_BY_REPAIRS, &instance.start, order), 4);
    for (int i = 0; i < 4; i++) assert_int_equal(order[i], best[i]);
    assert_near(cost_of_order(&decision, &instance.start, best, 4), 7.6, 1e-12);
    assert_near(cost_of_order(&decision, &instance.start, worst, 4), 10 + .7 * 4 + .5 * 1 + .4 * 2, 1e-12);
    arena_free(&arena);
}

/* Expected cost of repair, sum of (1 - sum of p before) C_look + p C_mend: Heckerman, Breese and Rommelse,
 * Comm. ACM 38(3) (1995) 49 (formula from memory), figures by hand. What is mended costs 10 + 3 + 1 in any
 * order; a repair here stands for looking, and mending at once. */
static void costs_a_repair_as_heckerman_breese_and_rommelse_do(void **state)
{
    (void)state;
    static const double chance[] = {.5, .3, .2}, look[] = {1, 2, 4}, mend[] = {20, 10, 5};
    static const int best[] = {0, 1, 2}, worst[] = {2, 1, 0};
    Arena arena = arena_new(4 * MIB);
    Instance instance;
    double mended = 0;
    int order[MOST_CAUSES];
    for (int i = 0; i < 3; i++) mended += chance[i] * mend[i];
    singles(&arena, 3, chance, look, &instance);
    Decision decision = instance_begin(&instance, &arena);
    assert_near(instance_solve(&decision, &instance.start).value + mended, 16.8, 1e-12);
    assert_int_equal(order_of(&decision, DECISION_BY_REPAIRS, &instance.start, order), 3);
    for (int i = 0; i < 3; i++) assert_int_equal(order[i], best[i]);
    assert_near(cost_of_order(&decision, &instance.start, worst, 3) + mended, 20.1, 1e-12);
    arena_free(&arena);
}

/* The same with looking and mending apart: the last part need not be looked at, which saves .2 times 4. By
 * hand. */
static void need_not_look_at_the_last_one(void **state)
{
    (void)state;
    static const double chance[] = {.5, .3, .2}, look[] = {1, 2, 4}, mend[] = {20, 10, 5};
    Arena arena = arena_new(4 * MIB);
    Instance instance;
    singles(&arena, 3, chance, mend, &instance);
    for (int t = 0; t < 3; t++) {
        double shows[8] = {1, 1, 1, 1, 0, 0, 0, 0};
        shows[1 + t] = 0;
        shows[4 + 1 + t] = 1;
        instance_add_test(&arena, &instance, look[t], 2, shows);
    }
    Decision decision = instance_begin(&instance, &arena);
    const DecisionChoice best = instance_solve(&decision, &instance.start);
    assert_near(best.value, 16.0, 1e-12);
    assert_int_equal(best.act.kind, DECISION_TEST);
    assert_int_equal(best.act.number, 0);
    arena_free(&arena);
}

/* The system's test costs w and may wait until several repairs are made: Ottosen and Jensen, report TR 10-001
 * (2010) for the problem; figures by hand. */
static void postpones_the_test_of_the_system(void **state)
{
    (void)state;
    static const double chance[] = {.5, .3, .2}, cost[] = {2, 2, 2}, w[] = {1, 3, 6, 8, 10};
    static const double optimum[] = {5.1, 8.0, 11.6, 14.0, 16.0}, after_each[] = {5.1, 8.5, 13.6, 17.0, 20.4};
    static const int order[] = {0, 1, 2};
    for (int i = 0; i < 5; i++) {
        Arena arena = arena_new(4 * MIB);
        Instance instance;
        singles(&arena, 3, chance, cost, &instance);
        instance.problem.proving.cost = w[i];
        Decision decision = instance_begin(&instance, &arena);
        assert_near(instance_solve(&decision, &instance.start).value, optimum[i], 1e-12);
        assert_near(instance_follow(&decision, DECISION_BY_REPAIRS, &instance.start), optimum[i], 1e-12);
        assert_near(cost_of_order(&decision, &instance.start, order, 3), after_each[i], 1e-12);
        arena_free(&arena);
    }
}

/* A cluster behind one cover that need not be closed for the system's test ('inside information'): Ottosen
 * and Jensen, arXiv 1203.3502; figures by hand. Charged to each repair, the cover would put the outer one
 * first. */
static void opens_a_cluster_once(void **state)
{
    (void)state;
    static const double chance[] = {.40, .35, .25}, cost[] = {5, 1, 1};
    static const int naive[] = {0, 1, 2};
    Arena arena = arena_new(4 * MIB);
    Instance instance;
    singles(&arena, 3, chance, cost, &instance);
    ((DecisionPlace *)instance.problem.places)[0] = (DecisionPlace){.open_cost = 4, .behind = -1};
    instance.problem.place_count = 1;
    instance.start.setup = decision_setup(&instance.problem, 0, true, false);
    for (int r = 1; r < 3; r++) ((DecisionRepair *)instance.problem.repairs)[r].needs.open = 1;
    Decision decision = instance_begin(&instance, &arena);
    const DecisionChoice best = instance_solve(&decision, &instance.start);
    assert_near(best.value, 7.65, 1e-12);
    assert_int_equal(best.act.number, 1);
    assert_near(cost_of_order(&decision, &instance.start, naive, 3), 8.25, 1e-12);
    arena_free(&arena);
}

/* Actions that cure several causes each: probability over cost is not the best order. The example of the
 * SACSO papers (Jensen et al. 2001), from memory; both figures by hand. */
static void dependent_actions_break_probability_over_cost(void **state)
{
    (void)state;
    static const uint64_t broken[] = {1, 2, 4, 8};
    static const double belief[] = {.20, .25, .40, .15};
    static const int greedy[] = {1, 0, 2}, best_order[] = {2, 0};
    Arena arena = arena_new(4 * MIB);
    Instance instance;
    instance_plain(&arena, 4, broken, belief, &instance);
    instance.start.phase = DECISION_FAILED;
    instance_add_repair(&instance, 1, 1 | 2);
    instance_add_repair(&instance, 1, 2 | 4);
    instance_add_repair(&instance, 1, 4 | 8);
    Decision decision = instance_begin(&instance, &arena);
    const DecisionChoice best = instance_solve(&decision, &instance.start);
    assert_near(best.value, 1.45, 1e-12);
    assert_int_equal(best.act.number, 2);
    assert_near(cost_of_order(&decision, &instance.start, best_order, 2), 1.45, 1e-12);
    assert_near(cost_of_order(&decision, &instance.start, greedy, 3), 1.50, 1e-12);
    assert_near(instance_follow(&decision, DECISION_BY_REPAIRS, &instance.start), 1.50, 1e-12);
    arena_free(&arena);
}

/* --- identifying --- */

/* What every repair costs: a wrong one is dearer than any series of tests, so the fault is identified first.
 */
enum { DEAR = 100 };

static void add_pattern(Arena *arena, Instance *instance, unsigned fails)
{
    double chance[2 * MOST_CAUSES] = {0};
    const int causes = instance->problem.cause_count;
    for (int c = 0; c < causes; c++) chance[(c > 0 && (fails >> (c - 1) & 1) ? causes : 0) + c] = 1;
    instance_add_test(arena, instance, 1, 2, chance);
}

/* All tests at hand at one price: the tree of Huffman (1952). Lengths: Cover and Thomas, Elements of
 * Information Theory, section 5.6, examples (from memory): 2.3, and 2.2 for the other. */
static void identifies_as_huffman_codes(void **state)
{
    (void)state;
    static const double chance[2][5] = {{.25, .25, .2, .15, .15}, {.4, .2, .2, .1, .1}},
                        length[] = {2.3, 2.2};
    static const double cost[] = {DEAR, DEAR, DEAR, DEAR, DEAR};
    for (int i = 0; i < 2; i++) {
        Arena arena = arena_new(4 * MIB);
        Instance instance;
        singles(&arena, 5, chance[i], cost, &instance);
        for (unsigned split = 1; split < 16; split++) add_pattern(&arena, &instance, split);
        Decision decision = instance_begin(&instance, &arena);
        assert_near(instance_solve(&decision, &instance.start).value, DEAR + length[i], 1e-9);
        arena_free(&arena);
    }
}

/* Bits that it takes to tell the causes of a belief apart. */
static double bits(const double *belief, int count)
{
    double sum = 0;
    for (int c = 0; c < count; c++) sum -= belief[c] > 0 ? belief[c] * math_log(belief[c]) : 0;
    return sum / math_log(2);
}

static double bits_after(const Decision *decision, const DecisionState *state, DecisionAct act)
{
    double belief[MOST_CAUSES], sum = 0;
    const DecisionProblem *problem = decision->problem;
    for (int o = 0; o < problem->tests[act.number].outcome_count; o++) {
        DecisionState after = {.belief = belief};
        double chance;
        decision_follow(decision, state, act, o, &after, &chance);
        if (chance > 0) sum += chance * bits(belief, problem->cause_count);
    }
    return sum;
}

/* Expected tests until one cause is left, the most informative first, ties to the lowest number. */
static double tests_by_information(const Decision *decision, const DecisionState *state)
{
    const DecisionProblem *problem = decision->problem;
    double belief[MOST_CAUSES], least = bits(state->belief, problem->cause_count) - 1e-9, sum = 1;
    int best = -1;
    for (int t = 0; t < problem->test_count; t++) {
        const double left = bits_after(decision, state, test(t));
        if (left >= least - 1e-9) continue;
        least = left;
        best = t;
    }
    if (best < 0) return 0;
    for (int o = 0; o < 2; o++) {
        DecisionState after = {.belief = belief};
        double chance;
        decision_follow(decision, state, test(best), o, &after, &chance);
        if (chance > 0) sum += chance * tests_by_information(decision, &after);
    }
    return sum;
}

/* A matrix of five states and five tests as in Pattipati and Alexandridis, IEEE Trans. SMC 20 (1990) 872,
 * from memory; their figure is not reproduced, so the optimum is what follows from the matrix as it stands
 * here, by hand: t2 (1); failed (.18): t1 (1); passed (.82): t4 (1); passed there (.72): t3 tells s2 from s0.
 */
static void sequences_tests(void **state)
{
    (void)state;
    static const double chance[] = {.70, .01, .02, .10, .17}, cost[] = {DEAR, DEAR, DEAR, DEAR, DEAR};
    static const char *const rows[] = {"00000", "01001", "00110", "10011", "11000"};
    Arena arena = arena_new(4 * MIB);
    Instance instance;
    singles(&arena, 5, chance, cost, &instance);
    for (int t = 0; t < 5; t++) {
        unsigned fails = 0;
        for (int s = 0; s < 5; s++) fails |= (unsigned)(rows[s][t] == '1') << s;
        add_pattern(&arena, &instance, fails);
    }
    Decision decision = instance_begin(&instance, &arena);
    const DecisionChoice best = instance_solve(&decision, &instance.start);
    assert_near(best.value, DEAR + 2.12, 1e-9);
    assert_near(tests_by_information(&decision, &instance.start), 2.71, 1e-9);
    arena_free(&arena);
}

/* --- the circuit of three multipliers and two adders --- */

enum { M1, M2, M3, A1, A2, PARTS, VALUES = 16, SETS = 1 << PARTS, SILENT = -1000 };
enum { X, Y, Z, F, G, NODES };

/* One pass of what sound parts make of the values that are known; SILENT is not known. False: a
 * contradiction. */
static bool settle(int *at, int value, bool *moved)
{
    if (*at == value) return true;
    if (*at != SILENT) return false;
    *at = value;
    return *moved = true;
}

static bool add_up(int *value, int left, int right, int sum, bool *moved)
{
    if (value[left] != SILENT && value[right] != SILENT)
        return settle(&value[sum], value[left] + value[right], moved);
    if (value[sum] == SILENT) return true;
    if (value[left] != SILENT) return settle(&value[right], value[sum] - value[left], moved);
    return value[right] == SILENT || settle(&value[left], value[sum] - value[right], moved);
}

/* A = 3, B = 2, C = 2, D = 3, E = 3; X = AC, Y = BD, Z = CE, F = X + Y, G = Y + Z. */
static bool predict(unsigned faulty, int *value)
{
    static const int product[] = {[M1] = 6, [M2] = 6, [M3] = 6};
    for (bool moved = true; moved;) {
        moved = false;
        for (int m = M1; m <= M3; m++)
            if (!(faulty >> m & 1) && !settle(&value[X + m], product[m], &moved)) return false;
        if (!(faulty >> A1 & 1) && !add_up(value, X, Y, F, &moved)) return false;
        if (!(faulty >> A2 & 1) && !add_up(value, Y, Z, G, &moved)) return false;
    }
    return true;
}

/* Reads a value: 1 where it was predicted, 1/m where the set is silent, 0 where it contradicts. */
static double read(unsigned faulty, int *value, int node, int reads)
{
    if (!predict(faulty, value)) return 0;
    if (value[node] == SILENT) {
        value[node] = reads;
        return predict(faulty, value) ? 1.0 / VALUES : 0;
    }
    return value[node] == reads ? 1 : 0;
}

/* What a set of faulty parts says of every node after F = 10 and G = 12 were read, and its weight. */
static double weigh(unsigned faulty, int *value)
{
    double weight = 1;
    for (int n = 0; n < NODES; n++) value[n] = SILENT;
    for (int p = 0; p < PARTS; p++) weight *= faulty >> p & 1 ? .01 : .99;
    weight *= read(faulty, value, F, 10);
    return weight > 0 ? weight * read(faulty, value, G, 12) : 0;
}

/* A probe's outcomes: 0 to 6 stand for these values, the last for all others. A silent set gives each value
 * 1/m. */
static void add_probe(Arena *arena, Instance *instance, int node)
{
    static const int values[] = {2, 4, 6, 8};
    enum { NAMED = 4 };
    double chance[(NAMED + 1) * (SETS + 1)] = {0};
    const int causes = instance->problem.cause_count;
    for (int c = 1; c < causes; c++) {
        int value[NODES];
        if (weigh((unsigned)c - 1, value) <= 0) value[node] = SILENT;
        const int said = value[node];
        bool is_named = said == SILENT;
        for (int o = 0; o < NAMED; o++) {
            chance[o * causes + c] = said == SILENT ? 1.0 / VALUES : said == values[o];
            is_named |= said == values[o];
        }
        assert_true(is_named);
        chance[NAMED * causes + c] = said == SILENT ? 1 - (double)NAMED / VALUES : 0;
    }
    chance[0] = 1;
    instance_add_test(arena, instance, 1, NAMED + 1, chance);
}

/* de Kleer and Williams, Artificial Intelligence 32 (1987) 97: structure and choice of the probe; the figures
 * were computed from its rules (from memory) by a program written apart from this one. */
static void probes_the_circuit_of_three_multipliers_and_two_adders(void **state)
{
    (void)state;
    static const double left[] = {[X] = .038337, [Y] = 1.063548, [Z] = 1.067007};
    uint64_t broken[SETS];
    double belief[SETS], sum = 0;
    Arena arena = arena_new(4 * MIB);
    Instance instance;
    DecisionChoice choice;
    for (unsigned s = 0; s < SETS; s++) {
        int value[NODES];
        broken[s] = s;
        sum += belief[s] = weigh(s, value);
    }
    for (unsigned s = 0; s < SETS; s++) belief[s] /= sum;
    instance_plain(&arena, SETS, broken, belief, &instance);
    for (int n = X; n <= Z; n++) add_probe(&arena, &instance, n);
    for (int p = 0; p < PARTS; p++) instance_add_repair(&instance, 20, (uint64_t)1 << p);
    Decision decision = instance_begin(&instance, &arena);
    assert_near(belief[1 << M1], .496225, 5e-7);
    assert_near(belief[1 << A1], .496225, 5e-7);
    assert_near(belief[1 << M2 | 1 << M3], .000313, 5e-7);
    assert_near(bits(belief, SETS), 1.071352, 5e-7);
    for (int n = X; n <= Z; n++) assert_near(bits_after(&decision, &instance.start, test(n)), left[n], 5e-7);
    decision_choose(&decision, DECISION_BY_INFORMATION, &instance.start, 1, &choice);
    assert_int_equal(choice.act.kind, DECISION_TEST);
    assert_int_equal(choice.act.number, X);
    /* ...and what looks at money picks it too, since a wrong part costs more than a probe */
    decision_choose(&decision, DECISION_BY_ROLLOUT, &instance.start, 1, &choice);
    assert_int_equal(choice.act.kind, DECISION_TEST);
    assert_int_equal(choice.act.number, X);
    arena_free(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(orders_by_probability_over_cost),
        cmocka_unit_test(costs_a_repair_as_heckerman_breese_and_rommelse_do),
        cmocka_unit_test(need_not_look_at_the_last_one),
        cmocka_unit_test(postpones_the_test_of_the_system),
        cmocka_unit_test(opens_a_cluster_once),
        cmocka_unit_test(dependent_actions_break_probability_over_cost),
        cmocka_unit_test(identifies_as_huffman_codes),
        cmocka_unit_test(sequences_tests),
        cmocka_unit_test(probes_the_circuit_of_three_multipliers_and_two_adders),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
