/* setup.c: where the technician stands, what may be done from there, and where that leads.
 *
 * A setup is a number: which places are open, whether the power is on, whether the oven is hot. An act uses
 * the nearest setup that suits it: it opens what it needs and closes nothing, except the proving run, for
 * which everything is closed. Places that may only be moved dead take the power off on the way, those that
 * must be cool make one wait.
 *
 * Invariants: (1) a way never costs less than the act itself; (2) ways are worked out once for each act and
 * setup, so the order in which they are asked for changes nothing; (3) beliefs sum to 1 after every outcome.
 *
 * Bad at: an oven that cools while something else is done. It stays hot here until somebody waits for it. */
#include <assert.h>
#include <math.h>
#include <string.h>

#include "base/mathematics.h"
#include "core/decision/decision_private.h"

DecisionSetup decision_setup(const DecisionProblem *problem, unsigned open, bool is_on, bool is_hot)
{
    const int count = problem->place_count;
    assert(open < 1u << count);
    return open | (unsigned)is_on << count | (unsigned)is_hot << (count + 1);
}

int decision__act_number(const DecisionProblem *problem, DecisionAct act)
{
    if (act.kind == DECISION_TEST) return act.number;
    if (act.kind == DECISION_REPAIR) return problem->test_count + act.number;
    return problem->test_count + problem->repair_count + act.number;
}

const DecisionTest *decision__test(const DecisionProblem *problem, DecisionAct act)
{
    if (act.kind == DECISION_TEST) return &problem->tests[act.number];
    return act.number ? &problem->again : &problem->proving;
}

unsigned decision__passes(const DecisionProblem *problem, DecisionAct act)
{
    return act.number ? problem->again_passes : problem->passes;
}

DecisionAct decision__proof(const DecisionProblem *problem, DecisionPhase phase, bool all_plain)
{
    return (DecisionAct){DECISION_PROVE,
                         all_plain && phase != DECISION_REPAIRED && problem->again.outcome_count > 0};
}

static const DecisionNeeds *needs_of(const DecisionProblem *problem, DecisionAct act, double *cost)
{
    if (act.kind == DECISION_REPAIR) {
        *cost = problem->repairs[act.number].cost;
        return &problem->repairs[act.number].needs;
    }
    const DecisionTest *test = decision__test(problem, act);
    *cost = test->cost;
    return &test->needs;
}

/* With everything that lies before them. */
static unsigned with_fronts(const DecisionProblem *problem, unsigned open)
{
    for (int p = problem->place_count - 1; p >= 0; p--)
        for (int at = p; (open >> p & 1) && at >= 0; at = problem->places[at].behind) open |= 1u << at;
    return open;
}

/* Power off before a place that is moved dead, waiting before one that must be cool, then what the act itself
 * needs. */
static double find_way(const DecisionProblem *problem, DecisionSetup setup, const DecisionNeeds *needs,
                       DecisionSetup *end)
{
    const unsigned open = setup & ((1u << problem->place_count) - 1);
    const unsigned goal = needs->closes_all ? 0 : open | with_fronts(problem, needs->open);
    bool is_on = setup >> problem->place_count & 1, is_hot = setup >> (problem->place_count + 1) & 1;
    bool needs_off = false, needs_cool = needs->needs_cool;
    double cost = 0;
    for (int p = 0; p < problem->place_count; p++) {
        if (!((open ^ goal) >> p & 1)) continue;
        cost += open >> p & 1 ? problem->places[p].close_cost : problem->places[p].open_cost;
        needs_off |= problem->places[p].needs_off;
        needs_cool |= problem->places[p].needs_cool && !needs->closes_all;
    }
    if (needs_cool && is_hot) {
        cost += problem->cool_cost;
        is_hot = false;
    }
    if (is_on && (needs_off || needs->power == DECISION_POWER_OFF)) {
        cost += problem->off_cost;
        is_on = false;
    }
    if (!is_on && needs->power == DECISION_POWER_ON) {
        cost += problem->on_cost;
        is_on = true;
    }
    *end = decision_setup(problem, goal, is_on, is_hot || needs->heats);
    return cost;
}

double decision__way(const Decision *decision, DecisionSetup setup, DecisionAct act, DecisionSetup *end)
{
    DecisionTables *tables = decision->tables;
    const int number = decision__act_number(decision->problem, act);
    const size_t at = (size_t)number * (size_t)tables->setup_count + setup;
    assert(act.kind <= DECISION_PROVE && setup < (unsigned)tables->setup_count);
    if (tables->way_cost[at] < 0) {
        double own;
        const DecisionNeeds *needs = needs_of(decision->problem, act, &own);
        tables->way_cost[at] = own + find_way(decision->problem, setup, needs, &tables->way_end[at]);
    }
    *end = tables->way_end[at];
    return tables->way_cost[at];
}

double decision_cost(const Decision *decision, DecisionSetup setup, DecisionAct act)
{
    DecisionSetup end;
    return decision__way(decision, setup, act, &end);
}

DecisionSetup decision_after(const Decision *decision, DecisionSetup setup, DecisionAct act)
{
    DecisionSetup end;
    decision__way(decision, setup, act, &end);
    return end;
}

/* Can the test be made where one stands, with the power as it is? */
static bool is_at_hand(const DecisionProblem *problem, DecisionSetup setup, int test)
{
    DecisionSetup end;
    find_way(problem, setup, &problem->tests[test].needs, &end);
    return end == setup;
}

/* Between a repair and its proof only tests at hand are made, if any: whatever needs the power on or another
 * place is told by the proof. A proving run is not made twice without a repair. */
bool decision__is_open(const DecisionProblem *problem, const DecisionState *state, DecisionAct act)
{
    switch (act.kind) {
    case DECISION_TEST:
        if (state->done >> act.number & 1) return false;
        return !decision__is_unproved(state->phase) ||
               (problem->tests_before_proof && is_at_hand(problem, state->setup, act.number));
    case DECISION_REPAIR: return act.number < problem->repair_count;
    case DECISION_PROVE:
        if (act.number) return state->phase == DECISION_MENDED && problem->again.outcome_count > 0;
        return state->phase == DECISION_FRESH || decision__is_unproved(state->phase);
    case DECISION_END: return state->phase == DECISION_PROVED;
    default: return true;
    }
}

/* A repair that cures nothing of what may be wrong is not worth a look. */
static bool may_cure(const DecisionProblem *problem, const DecisionState *state, uint64_t cures)
{
    for (int c = 0; c < problem->cause_count; c++)
        if (state->belief[c] > 0 && (problem->broken[c] & cures)) return true;
    return false;
}

int decision__list(const DecisionProblem *problem, const DecisionState *state, DecisionAct *acts)
{
    const DecisionAct others[] = {
        {DECISION_PROVE, 0}, {DECISION_PROVE, 1}, {DECISION_END, 0}, {DECISION_GIVE_UP, 0}};
    int count = 0;
    for (int t = 0; t < problem->test_count; t++) {
        const DecisionAct act = {DECISION_TEST, t};
        if (decision__is_open(problem, state, act)) acts[count++] = act;
    }
    for (int r = 0; r < problem->repair_count; r++)
        if (may_cure(problem, state, problem->repairs[r].cures))
            acts[count++] = (DecisionAct){DECISION_REPAIR, r};
    for (int i = 0; i < 4; i++)
        if (decision__is_open(problem, state, others[i])) acts[count++] = others[i];
    return count;
}

int decision__outcome_count(const DecisionProblem *problem, DecisionAct act)
{
    return act.kind == DECISION_TEST || act.kind == DECISION_PROVE
               ? decision__test(problem, act)->outcome_count
               : 1;
}

double decision__end_cost(const DecisionProblem *problem, const DecisionState *state, DecisionAct act)
{
    if (act.kind == DECISION_GIVE_UP) return problem->give_up_cost;
    double sum = 0;
    for (int c = 0; c < problem->cause_count; c++) sum += state->belief[c] * problem->left_cost[c];
    return sum;
}

DecisionPhase decision__after_repair(const DecisionProblem *problem, DecisionPhase phase, int number)
{
    return problem->repairs[number].is_plain && phase != DECISION_REPAIRED ? DECISION_MENDED
                                                                           : DECISION_REPAIRED;
}

/* What the repair cures becomes another cause; in a few cases it cures nothing. */
static void repair(const Decision *decision, const double *belief, int number, double *after)
{
    const DecisionProblem *problem = decision->problem;
    const int *left = &decision->tables->after[(size_t)number * (size_t)problem->cause_count];
    memset(after, 0, (size_t)problem->cause_count * sizeof *after);
    for (int c = 0; c < problem->cause_count; c++) {
        const double stays = left[c] == c ? belief[c] : belief[c] * problem->repair_fails;
        after[c] += stays;
        after[left[c]] += belief[c] - stays;
    }
}

/* Bayes' rule; the chance of the outcome is what it takes to make the sum 1 again. */
static double observe(const DecisionProblem *problem, const double *belief, const double *chance,
                      double *after)
{
    double sum = 0;
    for (int c = 0; c < problem->cause_count; c++) sum += belief[c] * chance[c];
    if (sum <= 0) return 0;
    for (int c = 0; c < problem->cause_count; c++) after[c] = belief[c] * chance[c] / sum;
    return sum;
}

void decision_follow(const Decision *decision, const DecisionState *state, DecisionAct act, int outcome,
                     DecisionState *after, double *chance)
{
    const DecisionProblem *problem = decision->problem;
    DecisionSetup end;
    assert(act.kind <= DECISION_PROVE && outcome >= 0 && outcome < decision__outcome_count(problem, act));
    decision__way(decision, state->setup, act, &end);
    *chance = 1;
    if (act.kind == DECISION_REPAIR) {
        repair(decision, state->belief, act.number, after->belief);
        after->phase = decision__after_repair(problem, state->phase, act.number);
        after->done = state->done;
    } else {
        const DecisionTest *test = decision__test(problem, act);
        *chance = observe(problem, state->belief,
                          &test->chance[(size_t)outcome * (size_t)problem->cause_count], after->belief);
        if (*chance <= 0) return;
        after->phase = act.kind == DECISION_TEST                         ? state->phase
                       : (decision__passes(problem, act) >> outcome & 1) ? DECISION_PROVED
                                                                         : DECISION_FAILED;
        after->done = act.kind == DECISION_TEST ? state->done | (uint64_t)1 << act.number : state->done;
    }
    after->setup = end;
}
