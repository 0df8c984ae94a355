/* exact.c: the optimum against a brute force, an instance that two other programs solved, and its bounds.
 *
 * The brute force writes down every state that can be reached, by whatever act, and sweeps over all of them
 * until no value moves: value iteration (Bellman 1957), without bounds or an order of acts. It has its own
 * Bayes' rule, its own repairs, and its own ways between setups: shortest paths (Floyd 1962) in the graph of
 * single moves of a panel, the power, the heat. It shares the problem's structs and the rules for which act
 * may follow which (decision.h).
 *
 * Golden instance: the optimum, the values after the other first acts, repairs alone and full information
 * were found by two programs written apart from this one and from each other, which agree to the last digit
 * given. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "support/instances.h"
#include "support/near.h"

enum { SEED = 60421, MIB = 1 << 20, MOST_CAUSES = 8, MOST_SETUPS = 16, MOST_STATES = 1 << 20 };
enum { INSTANCES = 200, FIRST_ACT = 0, NO_ACT = -1 };

/* --- the brute force --- */

typedef struct {
    double belief[MOST_CAUSES];
    unsigned done, setup;
    int phase, first_edge;
} Place;

/* An act of a state is a run of edges with the same `act`; to < 0: the call is over. */
typedef struct {
    double cost, chance;
    int act, to;
} Edge;

typedef struct {
    const DecisionProblem *problem;
    double move[MOST_SETUPS][MOST_SETUPS];
    Place *places;
    double *values;
    int *table; /* places by the hash of their rounded beliefs */
    int count, edge_count, edge_room, table_size;
    Edge *edges;
    double rounding;
} Brute;

static bool is_open_in(unsigned setup, int place) { return setup >> place & 1; }

/* May this one place be moved in this setup? What lies behind it must be closed, what lies before it open. */
static bool may_move(const DecisionProblem *problem, unsigned setup, int place)
{
    const DecisionPlace *at = &problem->places[place];
    const bool is_on = setup >> problem->place_count & 1, is_hot = setup >> (problem->place_count + 1) & 1;
    if ((at->needs_off && is_on) || (at->needs_cool && is_hot)) return false;
    if (at->behind >= 0 && !is_open_in(setup, at->behind)) return false;
    for (int p = 0; p < problem->place_count; p++)
        if (problem->places[p].behind == place && is_open_in(setup, p)) return false;
    return true;
}

static void write_moves(Brute *brute)
{
    const DecisionProblem *problem = brute->problem;
    const int count = problem->place_count, setups = 1 << (count + 2);
    const unsigned on = 1u << count, hot = 2u << count;
    assert_true(setups <= MOST_SETUPS);
    for (unsigned s = 0; s < (unsigned)setups; s++) {
        for (int t = 0; t < setups; t++) brute->move[s][t] = s == (unsigned)t ? 0 : INFINITY;
        brute->move[s][s ^ on] = s & on ? problem->off_cost : problem->on_cost;
        if (s & hot) brute->move[s][s ^ hot] = problem->cool_cost;
        for (int p = 0; p < count; p++)
            if (may_move(problem, s, p))
                brute->move[s][s ^ 1u << p] =
                    is_open_in(s, p) ? problem->places[p].close_cost : problem->places[p].open_cost;
    }
    for (int k = 0; k < setups; k++)
        for (int i = 0; i < setups; i++)
            for (int j = 0; j < setups; j++)
                brute->move[i][j] = fmin(brute->move[i][j], brute->move[i][k] + brute->move[k][j]);
}

static bool suits(const DecisionProblem *problem, unsigned setup, const DecisionNeeds *needs)
{
    const unsigned open = setup & ((1u << problem->place_count) - 1);
    const bool is_on = setup >> problem->place_count & 1, is_hot = setup >> (problem->place_count + 1) & 1;
    if ((needs->open & ~open) || (needs->closes_all && open) || (needs->needs_cool && is_hot)) return false;
    return needs->power == DECISION_POWER_ANY || (needs->power == DECISION_POWER_ON) == is_on;
}

/* The nearest setup that suits; what it costs to get there is added to `cost`. */
static unsigned go(const Brute *brute, unsigned from, const DecisionNeeds *needs, double *cost)
{
    const int setups = 1 << (brute->problem->place_count + 2);
    int best = -1;
    for (int s = 0; s < setups; s++)
        if (suits(brute->problem, (unsigned)s, needs) &&
            (best < 0 || brute->move[from][s] < brute->move[from][best]))
            best = s;
    *cost += brute->move[from][best];
    return (unsigned)best | (needs->heats ? 2u << brute->problem->place_count : 0);
}

static bool is_same(const Brute *brute, const Place *a, const Place *b)
{
    if (a->done != b->done || a->setup != b->setup || a->phase != b->phase) return false;
    for (int c = 0; c < brute->problem->cause_count; c++)
        if (floor(a->belief[c] / brute->rounding + 0.5) != floor(b->belief[c] / brute->rounding + 0.5))
            return false;
    return true;
}

static int find_place(Brute *brute, const Place *place)
{
    uint64_t hash = place->done * 64u + place->setup * 4u + (unsigned)place->phase;
    for (int c = 0; c < brute->problem->cause_count; c++)
        hash = (hash ^ (uint64_t)floor(place->belief[c] / brute->rounding + 0.5)) * UINT64_C(1099511628211);
    int at = (int)(hash >> 20) & (brute->table_size - 1);
    while (brute->table[at] >= 0 && !is_same(brute, &brute->places[brute->table[at]], place))
        at = (at + 1) & (brute->table_size - 1);
    if (brute->table[at] >= 0) return brute->table[at];
    assert_true(brute->count < MOST_STATES);
    brute->places[brute->count] = *place;
    return brute->table[at] = brute->count++;
}

static void add_edge(Brute *brute, int act, double cost, double chance, int to)
{
    assert_true(brute->edge_count < brute->edge_room);
    brute->edges[brute->edge_count++] = (Edge){cost, chance, act, to};
}

static void add_observation(Brute *brute, const Place *from, int act, const DecisionTest *test)
{
    const DecisionProblem *problem = brute->problem;
    const bool is_proving = test == &problem->proving;
    double cost = test->cost;
    const unsigned setup = go(brute, from->setup, &test->needs, &cost);
    for (int o = 0; o < test->outcome_count; o++) {
        Place to = {.done = from->done | (is_proving ? 0 : 1u << act), .setup = setup, .phase = from->phase};
        double sum = 0;
        for (int c = 0; c < problem->cause_count; c++)
            sum += to.belief[c] = from->belief[c] * test->chance[o * problem->cause_count + c];
        if (sum <= 0) continue;
        for (int c = 0; c < problem->cause_count; c++) to.belief[c] /= sum;
        if (is_proving) to.phase = problem->passes >> o & 1 ? DECISION_PROVED : DECISION_FAILED;
        add_edge(brute, act, cost, sum, find_place(brute, &to));
    }
}

static int cause_with(const DecisionProblem *problem, uint64_t broken)
{
    for (int c = 0; c < problem->cause_count; c++)
        if (problem->broken[c] == broken) return c;
    fail_msg("no cause is left");
    return -1;
}

static void add_repair(Brute *brute, const Place *from, int act, const DecisionRepair *repair)
{
    const DecisionProblem *problem = brute->problem;
    double cost = repair->cost, cures = 0;
    Place to = {.done = from->done,
                .setup = go(brute, from->setup, &repair->needs, &cost),
                .phase = DECISION_REPAIRED};
    for (int c = 0; c < problem->cause_count; c++) {
        const int left = cause_with(problem, problem->broken[c] & ~repair->cures);
        const double cured = left == c ? 0 : from->belief[c] * (1 - problem->repair_fails);
        to.belief[c] += from->belief[c] - cured;
        to.belief[left] += cured;
        cures += cured;
    }
    if (cures > 0) add_edge(brute, act, cost, 1, find_place(brute, &to));
}

/* Between a repair and its proving run: where one stands, if at all. */
static bool is_at_hand(const Brute *brute, const Place *from, int test)
{
    double way = 0;
    return brute->problem->tests_before_proof &&
           go(brute, from->setup, &brute->problem->tests[test].needs, &way) == from->setup;
}

static void add_acts(Brute *brute, const Place *from)
{
    const DecisionProblem *problem = brute->problem;
    int act = FIRST_ACT;
    double left = 0;
    for (int t = 0; t < problem->test_count; t++, act++)
        if (!(from->done >> t & 1) && (from->phase != DECISION_REPAIRED || is_at_hand(brute, from, t)))
            add_observation(brute, from, act, &problem->tests[t]);
    for (int r = 0; r < problem->repair_count; r++, act++) add_repair(brute, from, act, &problem->repairs[r]);
    if (from->phase == DECISION_FRESH || from->phase == DECISION_REPAIRED)
        add_observation(brute, from, act, &problem->proving);
    for (int c = 0; c < problem->cause_count; c++) left += from->belief[c] * problem->left_cost[c];
    if (from->phase == DECISION_PROVED) add_edge(brute, act + 1, left, 0, -1);
    add_edge(brute, act + 2, problem->give_up_cost, 0, -1);
}

static double least_of(const Brute *brute, int place)
{
    const int end = place + 1 < brute->count ? brute->places[place + 1].first_edge : brute->edge_count;
    double least = INFINITY, cost = 0;
    int act = NO_ACT;
    for (int e = brute->places[place].first_edge; e < end; e++) {
        const Edge *edge = &brute->edges[e];
        if (edge->act != act) {
            if (act != NO_ACT) least = fmin(least, cost);
            act = edge->act;
            cost = edge->cost;
        }
        if (edge->to >= 0) cost += edge->chance * brute->values[edge->to];
    }
    return fmin(least, cost);
}

static void begin_brute(Brute *brute, const DecisionProblem *problem, double rounding)
{
    *brute = (Brute){.problem = problem,
                     .edge_room = 24 * MOST_STATES,
                     .table_size = 4 * MOST_STATES,
                     .rounding = rounding};
    brute->places = malloc(sizeof(Place) * MOST_STATES);
    brute->values = malloc(sizeof(double) * MOST_STATES);
    brute->table = malloc(sizeof(int) * (size_t)brute->table_size);
    brute->edges = malloc(sizeof(Edge) * (size_t)brute->edge_room);
    assert_true(brute->places && brute->values && brute->table && brute->edges);
    memset(brute->table, -1, sizeof(int) * (size_t)brute->table_size);
    write_moves(brute);
}

static void end_brute(Brute *brute)
{
    free(brute->places);
    free(brute->values);
    free(brute->table);
    free(brute->edges);
}

/* The least expected cost from a state, and how many states it took. */
static double by_brute_force(const DecisionProblem *problem, const DecisionState *state, double rounding,
                             int *states)
{
    Brute brute;
    Place start = {.done = (unsigned)state->done, .setup = state->setup, .phase = (int)state->phase};
    begin_brute(&brute, problem, rounding);
    memcpy(start.belief, state->belief, sizeof(double) * (size_t)problem->cause_count);
    find_place(&brute, &start);
    for (int p = 0; p < brute.count; p++) {
        const Place from = brute.places[p];
        brute.places[p].first_edge = brute.edge_count;
        add_acts(&brute, &from);
    }
    for (int p = 0; p < brute.count; p++) brute.values[p] = problem->give_up_cost;
    for (double moved = 1; moved > 0;) {
        moved = 0;
        for (int p = brute.count - 1; p >= 0; p--) {
            const double value = least_of(&brute, p);
            if (fabs(value - brute.values[p]) > 1e-13 * value) moved++;
            brute.values[p] = value;
        }
    }
    const double value = brute.values[0];
    *states = brute.count;
    end_brute(&brute);
    return value;
}

/* --- the optimum --- */

static void check_family(const InstanceFamily *family, int instances, double rounding, double tolerance)
{
    RandomStream stream = random_stream(SEED);
    double worst = 0, states = 0, nodes = 0;
    for (int i = 0; i < instances; i++) {
        Arena arena = arena_new(4 * MIB);
        Instance instance;
        int count;
        instance_draw(family, &stream, &arena, &instance);
        Decision decision = instance_begin(&instance, &arena);
        const double want = by_brute_force(&instance.problem, &instance.start, rounding, &count),
                     got = instance_solve(&decision, &instance.start).value;
        assert_near(got, want, tolerance * want);
        worst = fmax(worst, fabs(got / want - 1));
        states += count;
        nodes += (double)decision.nodes;
        arena_free(&arena);
    }
    print_message("seed %d, %-28s %3d instances: worst difference %.1e, states %.0f, nodes %.0f each\n", SEED,
                  family->name, instances, worst, states / instances, nodes / instances);
}

static void equals_a_brute_force(void **state)
{
    (void)state;
    static const InstanceFamily families[] = {
        {.name = "4+1/4, one panel, 5 %", .faults = 4, .pairs = 1, .tests = 4, .panels = 1, .noise = 0.05},
        {.name = "4+1/4, two panels, 5 %", .faults = 4, .pairs = 1, .tests = 4, .panels = 2, .noise = 0.05},
        {.name = "4+1/3, dear setups, 15 %",
         .faults = 4,
         .pairs = 1,
         .tests = 3,
         .panels = 2,
         .noise = 0.15,
         .setup = 3,
         .proving = 2},
        {.name = "3+1/3, hot and nested, 1 %",
         .faults = 3,
         .pairs = 1,
         .tests = 3,
         .panels = 2,
         .noise = 0.01,
         .may_be_hot = true,
         .may_be_nested = true},
        {.name = "3+2/3, at hand before the proof",
         .faults = 3,
         .pairs = 2,
         .tests = 3,
         .panels = 2,
         .noise = 0.05,
         .before_proof = true},
    };
    for (size_t f = 0; f < 5; f++) check_family(&families[f], INSTANCES / 5, 1e-11, 1e-9);
}

/* Proving runs that err and nothing wrong; and repairs that fail, which make the graph of states go round:
 * beliefs are then endlessly many, and the brute force takes those as one that agree to 1e-9. */
static void equals_a_brute_force_where_little_is_sure(void **state)
{
    (void)state;
    static const InstanceFamily sound = {.name = "3+1/2, may be sound, hot",
                                         .faults = 3,
                                         .pairs = 1,
                                         .tests = 2,
                                         .panels = 1,
                                         .noise = 0.05,
                                         .may_be_sound = true,
                                         .may_be_hot = true};
    static const InstanceFamily fails = {.name = "2+1/2, repairs fail 2 %",
                                         .faults = 2,
                                         .pairs = 1,
                                         .tests = 2,
                                         .panels = 2,
                                         .noise = 0.05,
                                         .repair_fails = 0.02,
                                         .may_be_nested = true};
    check_family(&sound, INSTANCES / 10, 1e-11, 1e-9);
    check_family(&fails, INSTANCES / 10, 1e-9, 1e-8);
}

/* --- instances with known answers --- */

/* What it costs to begin with an act and to go on as well as can be. */
static double value_after(Decision *decision, const DecisionState *state, DecisionAct act)
{
    double belief[MOST_CAUSES], value = decision_cost(decision, state->setup, act);
    const DecisionProblem *problem = decision->problem;
    const int outcomes = act.kind == DECISION_REPAIR ? 1 : problem->tests[act.number].outcome_count;
    for (int o = 0; o < outcomes; o++) {
        DecisionState after = {.belief = belief};
        double chance;
        decision_follow(decision, state, act, o, &after, &chance);
        if (chance > 0) value += chance * instance_solve(decision, &after).value;
    }
    return value;
}

/* Two programs written apart, which agree to the last digit. */
static void solves_the_golden_instance(void **state)
{
    (void)state;
    static const double after_test[] = {83.509927, 83.343070, 88.718534, 93.375433};
    static const double known[] = {
        [GOLDEN_A] = 60.5, [GOLDEN_B] = 57.5, [GOLDEN_C] = 117.5, [GOLDEN_AB] = 104.5};
    Arena arena = arena_new(4 * MIB);
    Instance instance;
    instance_golden(&arena, &instance);
    Decision decision = instance_begin(&instance, &arena);
    const DecisionChoice best = instance_solve(&decision, &instance.start);
    assert_near(best.value, 83.343070, 5e-7);
    assert_int_equal(best.act.kind, DECISION_TEST);
    assert_int_equal(best.act.number, 1);
    for (int t = 0; t < 4; t++)
        assert_near(value_after(&decision, &instance.start, (DecisionAct){DECISION_TEST, t}), after_test[t],
                    5e-7);
    assert_near(value_after(&decision, &instance.start, (DecisionAct){DECISION_REPAIR, 0}), 101.7375, 5e-7);
    assert_near(decision_full_information(&decision, &instance.start), 70.35, 1e-9);
    assert_near(instance_follow(&decision, DECISION_BY_REPAIRS, &instance.start), 106.875, 1e-9);
    assert_near(instance_follow(&decision, DECISION_BY_VALUE, &instance.start), 83.468445, 5e-7);
    /* the production rule begins as the optimum does, and loses next to nothing */
    assert_true(instance_follow(&decision, DECISION_BY_ROLLOUT, &instance.start) <= 1.001 * best.value);
    for (int c = GOLDEN_A; c < GOLDEN_CAUSES; c++) {
        double belief[GOLDEN_CAUSES] = {0};
        belief[c] = 1;
        const DecisionState one = {.belief = belief, .setup = instance.start.setup};
        assert_near(instance_solve(&decision, &one).value, known[c], 1e-9);
    }
    arena_free(&arena);
}

/* Two tests behind one panel, each worth less than it costs alone. By hand: both tests 4 + .5 + .5, then the
 * one repair 4. Without tests 4 (1 + 2 + 3 + 4) / 4; the myopic rule sees no more. */
static void is_not_trapped_by_a_shared_setup(void **state)
{
    (void)state;
    static const uint64_t broken[] = {1, 2, 4, 8};
    static const double belief[] = {.25, .25, .25, .25};
    static const double halves[2][10] = {{1, 1, 1, 0, 0, 0, 0, 0, 1, 1}, {1, 1, 0, 1, 0, 0, 0, 1, 0, 1}};
    Arena arena = arena_new(4 * MIB);
    Instance instance;
    instance_plain(&arena, 4, broken, belief, &instance);
    ((DecisionPlace *)instance.problem.places)[0] = (DecisionPlace){.open_cost = 4, .behind = -1};
    instance.problem.place_count = 1;
    instance.start.setup = decision_setup(&instance.problem, 0, true, false);
    for (int t = 0; t < 2; t++) instance_add_test(&arena, &instance, 0.5, 2, halves[t])->needs.open = 1;
    for (int r = 0; r < 4; r++) instance_add_repair(&instance, 4, broken[r]);
    Decision decision = instance_begin(&instance, &arena);
    assert_near(instance_solve(&decision, &instance.start).value, 9, 1e-12);
    assert_near(instance_follow(&decision, DECISION_BY_REPAIRS, &instance.start), 10, 1e-12);
    assert_near(instance_follow(&decision, DECISION_BY_VALUE, &instance.start), 10, 1e-12);
    assert_near(value_after(&decision, &instance.start, (DecisionAct){DECISION_TEST, 0}), 9, 1e-12);
    arena_free(&arena);
}

/* --- bounds and limits --- */

/* Up to eight acts at random, each with an outcome that can be. */
static void stray(Decision *decision, RandomStream *stream, DecisionState *state, DecisionState *after)
{
    const DecisionProblem *problem = decision->problem;
    for (uint32_t left = random_below(stream, 9); left > 0; left--) {
        const int tests = problem->test_count, acts = tests + problem->repair_count + 1;
        const int number = (int)random_below(stream, (uint32_t)acts);
        DecisionAct act = {DECISION_PROVE, 0};
        if (number < tests) act = (DecisionAct){DECISION_TEST, number};
        if (number >= tests && number < acts - 1) act = (DecisionAct){DECISION_REPAIR, number - tests};
        const bool may_prove = state->phase == DECISION_FRESH || state->phase == DECISION_REPAIRED;
        if (act.kind == DECISION_TEST ? state->phase == DECISION_REPAIRED || (state->done >> number & 1)
                                      : act.kind == DECISION_PROVE && !may_prove)
            continue;
        const int outcomes = act.kind == DECISION_TEST     ? problem->tests[number].outcome_count
                             : act.kind == DECISION_REPAIR ? 1
                                                           : problem->proving.outcome_count;
        double chance;
        decision_follow(decision, state, act, (int)random_below(stream, (uint32_t)outcomes), after, &chance);
        if (chance < 1e-3) continue;
        const DecisionState held = *state;
        *state = *after;
        *after = held;
    }
}

static void lies_between_its_bounds(void **state)
{
    (void)state;
    static const InstanceFamily family = {.faults = 5, .pairs = 2, .tests = 5, .panels = 2, .noise = 0.05};
    RandomStream stream = random_stream(SEED);
    double floors = 0, plans = 0;
    for (int i = 0; i < INSTANCES; i++) {
        double beliefs[2][MOST_CAUSES];
        Arena arena = arena_new(4 * MIB);
        Instance instance;
        DecisionChoice repairs;
        instance_draw(&family, &stream, &arena, &instance);
        Decision decision = instance_begin(&instance, &arena);
        DecisionState at = {.belief = beliefs[0], .setup = instance.start.setup},
                      after = {.belief = beliefs[1]};
        memcpy(at.belief, instance.start.belief, sizeof(double) * (size_t)instance.problem.cause_count);
        stray(&decision, &stream, &at, &after);
        const double value = instance_solve(&decision, &at).value,
                     floor = decision_full_information(&decision, &at);
        assert_int_equal(decision_choose(&decision, DECISION_BY_REPAIRS, &at, 1, &repairs), 1);
        assert_true(floor <= value * (1 + 1e-12) && value <= repairs.value * (1 + 1e-12));
        /* following the plan, made anew after every run that fails, is what it says or better */
        assert_true(value <= instance_follow(&decision, DECISION_BY_REPAIRS, &at) * (1 + 1e-12));
        floors += value > 0 ? floor / value : 1;
        plans += value > 0 ? repairs.value / value : 1;
        arena_free(&arena);
    }
    print_message("seed %d: full information %.3f of the value, repairs alone %.3f\n", SEED,
                  floors / INSTANCES, plans / INSTANCES);
}

static void says_when_it_is_too_much(void **state)
{
    (void)state;
    Arena arena = arena_new(64 * MIB), small = arena_new(4096);
    Instance instance;
    DecisionChoice best;
    Error error = {0};
    instance_golden(&arena, &instance);
    Decision decision = instance_begin(&instance, &arena);
    assert_false(decision_solve(&decision, &instance.start, 10, &arena, &best, &error));
    assert_int_equal(error.code, ERROR_TOO_LARGE);
    assert_false(decision_solve(&decision, &instance.start, 1000000, &small, &best, &error));
    assert_int_equal(error.code, ERROR_MEMORY);
    arena_free(&arena);
    arena_free(&small);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(equals_a_brute_force),
        cmocka_unit_test(equals_a_brute_force_where_little_is_sure),
        cmocka_unit_test(solves_the_golden_instance),
        cmocka_unit_test(is_not_trapped_by_a_shared_setup),
        cmocka_unit_test(lies_between_its_bounds),
        cmocka_unit_test(says_when_it_is_too_much),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
