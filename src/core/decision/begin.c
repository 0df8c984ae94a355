/* begin.c: a problem made ready: classes of causes, what repairs leave, room for tables.
 *
 * Invariants: (1) causes of one class are broken in the same components; (2) what a repair leaves is the last
 * cause of its class, so a caller puts the typical one last; (3) nothing here grows after this. */
#include <assert.h>
#include <math.h>

#include "core/decision/decision_private.h"

/* The last cause with these components; -1 when the caller forgot it. */
static int find_cause(const DecisionProblem *problem, uint64_t broken)
{
    for (int c = problem->cause_count - 1; c >= 0; c--)
        if (problem->broken[c] == broken) return c;
    return -1;
}

static void find_classes(const DecisionProblem *problem, DecisionTables *tables)
{
    for (int c = 0; c < problem->cause_count; c++) {
        int k = 0;
        while (k < tables->class_count && tables->broken[k] != problem->broken[c]) k++;
        if (k == tables->class_count) tables->broken[tables->class_count++] = problem->broken[c];
        tables->class_of[c] = k;
    }
    for (int k = 0; k < tables->class_count; k++) tables->typical[k] = find_cause(problem, tables->broken[k]);
}

static void find_what_is_left(const DecisionProblem *problem, DecisionTables *tables)
{
    for (int r = 0; r < problem->repair_count; r++)
        for (int c = 0; c < problem->cause_count; c++) {
            const uint64_t left = problem->broken[c] & ~problem->repairs[r].cures;
            const int cause = left == problem->broken[c] ? c : find_cause(problem, left);
            assert(cause >= 0);
            tables->after[(size_t)r * (size_t)problem->cause_count + (size_t)c] = cause;
        }
}

/* Most classes are touched by one or two repairs; only those are looked at. */
static void find_healers(const DecisionProblem *problem, DecisionTables *tables)
{
    for (int k = 0; k < tables->class_count; k++)
        for (int r = 0; r < problem->repair_count; r++)
            if (tables->broken[k] & problem->repairs[r].cures)
                tables->healers[k * problem->repair_count + tables->healer_count[k]++] = (uint8_t)r;
}

/* Heuristics take a class as its typical cause: chance to pass the proving run, cost when left. */
static void find_passes(const DecisionProblem *problem, DecisionTables *tables)
{
    for (int k = 0; k < tables->class_count; k++) {
        const int c = tables->typical[k];
        for (int o = 0; o < problem->proving.outcome_count; o++)
            if (problem->passes >> o & 1)
                tables->pass[k] +=
                    problem->proving.chance[(size_t)o * (size_t)problem->cause_count + (size_t)c];
        tables->left_cost[k] = problem->left_cost[c];
    }
}

static bool take_tables(const DecisionProblem *problem, Arena *arena, DecisionTables *tables)
{
    const size_t causes = (size_t)problem->cause_count, setups = (size_t)tables->setup_count,
                 acts = (size_t)problem->test_count + (size_t)problem->repair_count + 2,
                 most_tests = (size_t)problem->test_count + 2;
    tables->class_of = ARENA_ARRAY(arena, int, causes);
    tables->typical = ARENA_ARRAY(arena, int, causes);
    tables->broken = ARENA_ARRAY(arena, uint64_t, causes);
    tables->rest = ARENA_ARRAY(arena, uint64_t, causes);
    tables->active = ARENA_ARRAY(arena, int, causes);
    tables->healers = ARENA_ARRAY(arena, uint8_t, causes * (size_t)problem->repair_count + 1);
    tables->healer_count = ARENA_ARRAY(arena, int, causes);
    tables->pass = ARENA_ARRAY(arena, double, causes);
    tables->left_cost = ARENA_ARRAY(arena, double, causes);
    tables->after = ARENA_ARRAY(arena, int, (size_t)problem->repair_count *causes + 1);
    tables->way_cost = ARENA_ARRAY(arena, double, acts *setups);
    tables->way_end = ARENA_ARRAY(arena, unsigned, acts *setups);
    tables->full = ARENA_ARRAY(arena, double, causes *setups);
    tables->beliefs = ARENA_ARRAY(arena, double, DECISION_MOST_DEPTH *causes);
    tables->masses = ARENA_ARRAY(arena, double, 2 * causes);
    tables->joint_entropy = ARENA_ARRAY(arena, double, most_tests *DECISION_MOST_OUTCOMES);
    tables->joint = ARENA_ARRAY(arena, double, most_tests *DECISION_MOST_OUTCOMES *causes);
    return tables->class_of && tables->typical && tables->broken && tables->rest && tables->active &&
           tables->healers && tables->healer_count && tables->pass && tables->left_cost && tables->after &&
           tables->way_cost && tables->way_end && tables->full && tables->beliefs && tables->masses &&
           tables->joint_entropy && tables->joint;
}

bool decision_begin(const DecisionProblem *problem, Arena *arena, Decision *decision, Error *error)
{
    assert(problem->cause_count > 0 && problem->place_count <= DECISION_MOST_PLACES);
    assert(problem->test_count <= DECISION_MOST_TESTS && problem->repair_count <= DECISION_MOST_REPAIRS);
    DecisionTables *tables = ARENA_ARRAY(arena, DecisionTables, 1);
    if (!tables) return error_memory(error);
    tables->setup_count = 1 << (problem->place_count + 2);
    if (!take_tables(problem, arena, tables)) return error_memory(error);
    const size_t acts = (size_t)problem->test_count + (size_t)problem->repair_count + 2;
    for (size_t i = 0; i < acts * (size_t)tables->setup_count; i++) tables->way_cost[i] = -1;
    find_classes(problem, tables);
    find_what_is_left(problem, tables);
    find_healers(problem, tables);
    find_passes(problem, tables);
    for (size_t i = 0; i < (size_t)tables->class_count * (size_t)tables->setup_count; i++)
        tables->full[i] = -1;
    *decision = (Decision){.problem = problem, .tables = tables, .budget = 200};
    return true;
}
