/* instances.c: see instances.h.
 *
 * The figures of the generator are ours, chosen to look like service calls: common practice, no source. */
#include "support/instances.h"

#include "base/mathematics.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { PANEL_A, PANEL_B, MOST_PLACES = 2 };

static const size_t MOST_BYTES = (size_t)2 << 30;
static const long long MOST_NODES = 50000000;

static void *take(Arena *arena, size_t count, size_t size)
{
    void *memory = arena_take_array(arena, count, size);
    if (memory) return memory;
    fprintf(stderr, "instances: the arena is too small\n");
    exit(1);
}

static void demand(bool is_done, const Error *error)
{
    char line[1024];
    if (is_done) return;
    error_line(error, line, sizeof line);
    fprintf(stderr, "instances: %s\n", line);
    exit(1);
}

Decision instance_begin(const Instance *instance, Arena *arena)
{
    Decision decision;
    Error error = {0};
    demand(decision_begin(&instance->problem, arena, &decision, &error), &error);
    return decision;
}

DecisionChoice instance_solve(Decision *decision, const DecisionState *state)
{
    Arena arena = arena_new(MOST_BYTES);
    DecisionChoice best;
    Error error = {0};
    demand(decision_solve(decision, state, MOST_NODES, &arena, &best, &error), &error);
    arena_free(&arena);
    return best;
}

double instance_follow(Decision *decision, DecisionRule rule, const DecisionState *state)
{
    Arena arena = arena_new(MOST_BYTES);
    double cost;
    Error error = {0};
    demand(decision_follow_rule(decision, rule, state, &arena, &cost, &error), &error);
    arena_free(&arena);
    return cost;
}

static double between(RandomStream *stream, double low, double high)
{
    return low + (high - low) * random_uniform(stream);
}

/* --- by hand --- */

void instance_plain(Arena *arena, int causes, const uint64_t *broken, const double *belief,
                    Instance *instance)
{
    const size_t n = (size_t)causes + 1;
    uint64_t *sets = take(arena, n, sizeof *sets);
    double *weights = take(arena, n, sizeof *weights), *proving = take(arena, 2 * n, sizeof *proving);
    memcpy(sets + 1, broken, (size_t)causes * sizeof *sets);
    memcpy(weights + 1, belief, (size_t)causes * sizeof *weights);
    proving[0] = 1;
    for (size_t c = 1; c < n; c++) proving[n + c] = 1;
    *instance = (Instance){.problem = {.cause_count = causes + 1,
                                       .broken = sets,
                                       .left_cost = take(arena, n, sizeof(double)),
                                       .tests = take(arena, DECISION_MOST_TESTS, sizeof(DecisionTest)),
                                       .repairs = take(arena, DECISION_MOST_REPAIRS, sizeof(DecisionRepair)),
                                       .proving = {.outcome_count = 2, .chance = proving},
                                       .passes = 1,
                                       .give_up_cost = 1000,
                                       .places = take(arena, DECISION_MOST_PLACES, sizeof(DecisionPlace))},
                           .start = {.belief = weights}};
    instance->start.setup = decision_setup(&instance->problem, 0, true, false);
}

/* The arrays are this file's own, taken with room for the most there can be. */
DecisionTest *instance_add_test(Arena *arena, Instance *instance, double cost, int outcomes,
                                const double *chance)
{
    const size_t cells = (size_t)outcomes * (size_t)instance->problem.cause_count;
    double *own = take(arena, cells, sizeof *own);
    DecisionTest *test = (DecisionTest *)&instance->problem.tests[instance->problem.test_count++];
    memcpy(own, chance, cells * sizeof *own);
    *test = (DecisionTest){.cost = cost, .outcome_count = outcomes, .chance = own};
    return test;
}

DecisionRepair *instance_add_repair(Instance *instance, double cost, uint64_t cures)
{
    DecisionRepair *repair = (DecisionRepair *)&instance->problem.repairs[instance->problem.repair_count++];
    *repair = (DecisionRepair){.cost = cost, .cures = cures};
    return repair;
}

static void set_places(Instance *instance, const double *factor, int panels, double off, double on)
{
    static const double open_cost[] = {4, 8}, close_cost[] = {3, 6};
    DecisionProblem *problem = &instance->problem;
    DecisionPlace *places = (DecisionPlace *)problem->places;
    for (int p = 0; p < panels; p++)
        places[p] =
            (DecisionPlace){open_cost[p] * factor[2 * p], close_cost[p] * factor[2 * p + 1], -1, true, false};
    problem->place_count = panels;
    problem->off_cost = off;
    problem->on_cost = on;
    problem->proving.needs = (DecisionNeeds){.closes_all = true, .power = DECISION_POWER_ON};
    instance->start.setup = decision_setup(problem, 0, true, false);
}

/* A test that shows abnormal with these chances. */
static void add_look(Arena *arena, Instance *instance, double cost, unsigned open, DecisionPower power,
                     const double *abnormal)
{
    double chance[2 * GOLDEN_CAUSES];
    for (int c = 0; c < GOLDEN_CAUSES; c++) {
        chance[c] = 1 - abnormal[c];
        chance[GOLDEN_CAUSES + c] = abnormal[c];
    }
    instance_add_test(arena, instance, cost, 2, chance)->needs =
        (DecisionNeeds){.open = open, .power = power};
}

void instance_golden(Arena *arena, Instance *instance)
{
    static const double belief[] = {.50, .30, .15, .05}, ones[] = {1, 1, 1, 1};
    static const uint64_t broken[] = {1, 2, 4, 3};
    static const double cost[] = {40, 30, 90}, t1[] = {.02, .8, .3, .3, .86},
                        t2[] = {.05, .95, .05, .05, .95}, t3[] = {.05, .05, .95, .05, .95},
                        t4[] = {.1, .1, .1, .9, .1};
    enum { A = 1 << PANEL_A, B = 1 << PANEL_B };
    instance_plain(arena, GOLDEN_CAUSES - 1, broken, belief, instance);
    set_places(instance, ones, 2, 2.5, 1);
    instance->problem.proving.cost = 10;
    instance->problem.give_up_cost = 260;
    add_look(arena, instance, 1, 0, DECISION_POWER_ON, t1);
    add_look(arena, instance, 2, A, DECISION_POWER_OFF, t2);
    add_look(arena, instance, 2, B, DECISION_POWER_OFF, t3);
    add_look(arena, instance, 3, B, DECISION_POWER_ON, t4);
    for (int r = 0; r < 3; r++)
        instance_add_repair(instance, cost[r], (uint64_t)1 << r)->needs =
            (DecisionNeeds){.open = r == 0 ? A : B, .power = DECISION_POWER_OFF};
}

/* --- at random --- */

typedef struct {
    const InstanceFamily *family;
    RandomStream *stream;
    Arena *arena;
    Instance *instance;
    unsigned panel[DECISION_MOST_REPAIRS]; /* bit of the panel that a component lies behind */
} Draw;

static bool happens(const Draw *draw, double chance) { return random_uniform(draw->stream) < chance; }

static unsigned any_panel(const Draw *draw)
{
    return 1u << random_below(draw->stream, (uint32_t)draw->family->panels);
}

static bool is_new_pair(const uint64_t *broken, int count, uint64_t pair)
{
    for (int i = 0; i < count; i++)
        if (broken[i] == pair) return false;
    return true;
}

/* Single faults weigh e^U(-2, 1); pairs little against the product of theirs. */
static void draw_causes(Draw *draw)
{
    const int faults = draw->family->faults, count = faults + draw->family->pairs;
    uint64_t broken[DECISION_MOST_REPAIRS];
    double weight[DECISION_MOST_REPAIRS], singles = 0;
    for (int i = 0; i < faults; i++) {
        broken[i] = (uint64_t)1 << i;
        singles += weight[i] = math_exp(between(draw->stream, -2, 1));
    }
    for (int i = faults; i < count;) {
        const uint32_t a = random_below(draw->stream, (uint32_t)faults),
                       b = random_below(draw->stream, (uint32_t)faults);
        const uint64_t pair = (uint64_t)1 << a | (uint64_t)1 << b;
        if (a == b || !is_new_pair(broken, i, pair)) continue;
        broken[i] = pair;
        weight[i++] = between(draw->stream, 0.05, 0.4) * weight[a] * weight[b] / singles;
    }
    instance_plain(draw->arena, count, broken, weight, draw->instance);
}

static void sum_to_one(double *belief, int count)
{
    double sum = 0;
    for (int c = 0; c < count; c++) sum += belief[c];
    for (int c = 0; c < count; c++) belief[c] /= sum;
}

static void draw_setups(Draw *draw)
{
    const InstanceFamily *family = draw->family;
    const double times = family->setup > 0 ? family->setup : 1;
    double factor[2 * MOST_PLACES + 2];
    for (int i = 0; i < 2 * MOST_PLACES + 2; i++) factor[i] = times * between(draw->stream, 0.7, 1.4);
    set_places(draw->instance, factor, family->panels, 2.5 * factor[2 * MOST_PLACES],
               factor[2 * MOST_PLACES + 1]);
    DecisionProblem *problem = &draw->instance->problem;
    DecisionPlace *places = (DecisionPlace *)problem->places;
    problem->proving.cost = (family->proving > 0 ? family->proving : 1) * between(draw->stream, 6, 18);
    problem->give_up_cost = between(draw->stream, 220, 320);
    if (family->may_be_nested && family->panels > 1 && happens(draw, 1 / 3.0))
        places[PANEL_B].behind = PANEL_A;
    if (!family->may_be_hot) return;
    problem->proving.needs.heats = true;
    places[PANEL_A].needs_cool = true;
    problem->cool_cost = times * between(draw->stream, 2, 8);
}

static void draw_repairs(Draw *draw)
{
    for (int r = 0; r < draw->family->faults; r++) {
        draw->panel[r] = any_panel(draw);
        const double labour = between(draw->stream, 4, 20),
                     part = math_exp(between(draw->stream, math_log(8), math_log(130)));
        instance_add_repair(draw->instance, labour + part, (uint64_t)1 << r)->needs =
            (DecisionNeeds){.open = draw->panel[r], .power = DECISION_POWER_OFF};
    }
}

/* What kind of test it is: what it needs, costs, and how likely a fault behind the same or another panel
 * shows in it. */
typedef struct {
    DecisionNeeds needs;
    double cost, same, other;
} TestKind;

static TestKind draw_kind(const Draw *draw)
{
    const double u = random_uniform(draw->stream);
    const unsigned panel = any_panel(draw);
    if (u < 0.20) return (TestKind){{.power = DECISION_POWER_ON}, between(draw->stream, 0.5, 5), 0.45, 0.45};
    if (u < 0.35)
        return (TestKind){{.closes_all = true, .power = DECISION_POWER_ON, .heats = draw->family->may_be_hot},
                          between(draw->stream, 5, 15),
                          0.45,
                          0.45};
    if (u < 0.75)
        return (TestKind){
            {.open = panel, .power = DECISION_POWER_OFF}, between(draw->stream, 1, 4), 0.35, 0.05};
    return (TestKind){{.open = panel, .power = DECISION_POWER_ON}, between(draw->stream, 1.5, 5), 0.5, 0.2};
}

typedef double Chances[DECISION_MOST_OUTCOMES];

/* One component's row: what shows when it alone is broken. */
static void draw_row(const Draw *draw, const TestKind *kind, int component, int outcomes, double error,
                     double *row)
{
    const bool is_same = (kind->needs.open & draw->panel[component]) != 0;
    const bool is_relevant = happens(draw, is_same ? kind->same : kind->other);
    const int shows = is_relevant ? 1 + (int)random_below(draw->stream, (uint32_t)outcomes - 1) : 0;
    const double strength = is_relevant && happens(draw, 0.15) ? between(draw->stream, 0.4, 0.7) : 1 - error;
    for (int o = 0; o < outcomes; o++) row[o] = o == shows ? strength : 0;
    if (is_relevant && strength < 1 - error) { /* a weak one mostly looks normal */
        row[0] = 1 - strength;
        return;
    }
    for (int o = 0; o < outcomes; o++)
        if (o != shows) row[o] = error / (outcomes - 1);
}

/* Noisy-or in the order of the components: the first that shows is what is seen. */
static void join_rows(const Chances *rows, uint64_t broken, double error, int outcomes, double *row)
{
    double unseen = 1;
    for (int o = 0; o < outcomes; o++) row[o] = 0;
    for (int i = 0; broken >> i; i++) {
        if (!(broken >> i & 1)) continue;
        for (int o = 1; o < outcomes; o++) row[o] += unseen * rows[i][o];
        unseen *= rows[i][0];
    }
    if (!broken) {
        for (int o = 1; o < outcomes; o++) row[o] = error / (outcomes - 1);
        unseen = 1 - error;
    }
    row[0] = unseen;
}

static void draw_test(Draw *draw)
{
    const DecisionProblem *problem = &draw->instance->problem;
    const TestKind kind = draw_kind(draw);
    const int outcomes = happens(draw, 0.35) ? 3 : 2, causes = problem->cause_count;
    const double error = draw->family->noise * between(draw->stream, 0.3, 1.7);
    Chances rows[DECISION_MOST_REPAIRS], row;
    double *chance = take(draw->arena, (size_t)outcomes * (size_t)causes, sizeof *chance);
    for (int i = 0; i < draw->family->faults; i++) draw_row(draw, &kind, i, outcomes, error, rows[i]);
    for (int c = 0; c < causes; c++) {
        join_rows((const Chances *)rows, problem->broken[c], error, outcomes, row);
        for (int o = 0; o < outcomes; o++) chance[o * causes + c] = row[o];
    }
    instance_add_test(draw->arena, draw->instance, kind.cost, outcomes, chance)->needs = kind.needs;
}

/* The proving run passes some faults and fails some sound ovens, two repairs in a hundred cure nothing, a
 * fault that is left calls back. */
static void let_it_be_sound(Draw *draw)
{
    DecisionProblem *problem = &draw->instance->problem;
    const int causes = problem->cause_count;
    double *chance = (double *)problem->proving.chance, *left = (double *)problem->left_cost;
    double faulty = 0;
    for (int c = 0; c < causes; c++) {
        faulty += draw->instance->start.belief[c];
        chance[c] = c == 0 ? between(draw->stream, 0.97, 1) : between(draw->stream, 0, 0.15);
        chance[causes + c] = 1 - chance[c];
        left[c] = c == 0 ? 0 : between(draw->stream, 80, 200);
    }
    draw->instance->start.belief[0] = faulty * between(draw->stream, 0.1, 0.6);
}

void instance_draw(const InstanceFamily *family, RandomStream *stream, Arena *arena, Instance *instance)
{
    Draw draw = {.family = family, .stream = stream, .arena = arena, .instance = instance};
    draw_causes(&draw);
    draw_setups(&draw);
    draw_repairs(&draw);
    for (int t = 0; t < family->tests; t++) draw_test(&draw);
    instance->problem.repair_fails = family->repair_fails;
    instance->problem.tests_before_proof = family->before_proof;
    if (family->may_be_sound) let_it_be_sound(&draw);
    sum_to_one(instance->start.belief, instance->problem.cause_count);
}
