/* rules.c: the next act, by looking one step ahead.
 *
 * The best of these rules takes a bounded value of what a test would leave: full information completed by a
 * price of entropy, min(repairs only, full information + 1.7 rho H), where rho is what a nat costs with the
 * tests at hand, here and now. The others are there to be compared with: they are what the literature offers.
 *
 * Only what needs different repairs need be told apart, so entropy and all values are those of classes of
 * causes; the chances of outcomes are those of each cause.
 *
 * Warnquist and Nyberg (2008) add entropy times a price per bit to full information; Heckerman, Breese and
 * Rommelse (1995) for the myopic rule. The factor 1.7 was found on random instances of one family; anything
 * from 1.3 to 2.5 does as well.
 *
 * Invariant: of equals the act that is listed first is chosen, so results do not hang on the machine. */
#include <assert.h>
#include <math.h>
#include <string.h>

#include "base/mathematics.h"
#include "core/decision/decision_private.h"

static const double ENTROPY_FACTOR = 1.7, ENOUGH = 0.8;
static const double LEAST_GAIN = 1e-9; /* nats: less is rounding */
static const double PRICELESS =
    1e15; /* a nat, when nothing tells anything: only certainty is without doubt */
static const double WORTH_A_LOOK = 0.02; /* chance that a repair cures something */

static const DecisionAct PROVING = {DECISION_PROVE, 0};

static double *joint_of(const Decision *decision, int test, int outcome)
{
    const DecisionTables *tables = decision->tables;
    return &tables->joint[((size_t)test * DECISION_MOST_OUTCOMES + (size_t)outcome) *
                          (size_t)tables->class_count];
}

/* The proving run's place in `joint` is behind the tests. */
static int slot_of(const DecisionProblem *problem, DecisionAct act)
{
    return act.kind == DECISION_TEST ? act.number : problem->test_count + act.number;
}

/* Joint probability of outcome and class. */
static void join(Decision *decision, const DecisionState *state, DecisionAct act)
{
    const DecisionProblem *problem = decision->problem;
    const DecisionTables *tables = decision->tables;
    const DecisionTest *test = decision__test(problem, act);
    for (int o = 0; o < test->outcome_count; o++) {
        double *joint = joint_of(decision, slot_of(problem, act), o);
        const double *chance = &test->chance[(size_t)o * (size_t)problem->cause_count];
        memset(joint, 0, (size_t)tables->class_count * sizeof *joint);
        for (int c = 0; c < problem->cause_count; c++)
            joint[tables->class_of[c]] += state->belief[c] * chance[c];
    }
}

static double sum_of(const Decision *decision, const double *mass)
{
    double sum = 0;
    for (int k = 0; k < decision->tables->class_count; k++) sum += mass[k];
    return sum;
}

/* A proof at once, each class as its typical cause; what fails is valued by `decision__completed`. */
static double prove_now(const Decision *decision, const DecisionOutlook *outlook, DecisionAct act,
                        double nat_price)
{
    const DecisionProblem *problem = decision->problem;
    const DecisionTables *tables = decision->tables;
    double *mass = tables->masses + tables->class_count;
    DecisionOutlook after = {.mass = mass};
    double value =
        sum_of(decision, outlook->mass) * decision__way(decision, outlook->setup, act, &after.setup);
    const DecisionTest *test = decision__test(problem, act);
    for (int o = 0; o < test->outcome_count; o++) {
        const double *chance = &test->chance[(size_t)o * (size_t)problem->cause_count];
        for (int k = 0; k < tables->class_count; k++) mass[k] = outlook->mass[k] * chance[tables->typical[k]];
        after.phase = decision__passes(problem, act) >> o & 1 ? DECISION_PROVED : DECISION_FAILED;
        value += decision__completed(decision, &after, -1, nat_price);
    }
    return value;
}

double decision__completed(const Decision *decision, const DecisionOutlook *outlook, double entropy,
                           double nat_price)
{
    DecisionAct first;
    const double plan = decision__by_repairs(decision, outlook, &first);
    if (decision__is_unproved(outlook->phase)) {
        const DecisionAct proof = decision__proof(decision->problem, outlook->phase, true);
        return fmin(plan, prove_now(decision, outlook, proof, nat_price));
    }
    if (entropy < 0) entropy = decision__entropy(decision, outlook->mass);
    return fmin(plan, decision__full(decision, outlook) + nat_price * entropy);
}

static double *entropy_of(const Decision *decision, DecisionAct act)
{
    return &decision->tables->joint_entropy[slot_of(decision->problem, act) * DECISION_MOST_OUTCOMES];
}

/* Nats that the joined outcomes of an act are expected to tell. */
static double information(const Decision *decision, DecisionAct act, double entropy)
{
    const DecisionTest *test = decision__test(decision->problem, act);
    double left = 0, *each = entropy_of(decision, act);
    for (int o = 0; o < test->outcome_count; o++) {
        each[o] = decision__entropy(decision, joint_of(decision, slot_of(decision->problem, act), o));
        left += each[o];
    }
    return entropy - left;
}

double decision__nat_price(Decision *decision, const DecisionState *state, double nat_price)
{
    const DecisionProblem *problem = decision->problem;
    const bool is_unproved = decision__is_unproved(state->phase);
    if (is_unproved && nat_price >= 0) return nat_price;
    DecisionState before = *state; /* at a repair that nothing went before: what tests would cost */
    if (is_unproved) before.phase = DECISION_FAILED;
    const DecisionOutlook outlook = decision__outlook(decision, state, decision->tables->masses);
    const double entropy = decision__entropy(decision, outlook.mass);
    double least = PRICELESS;
    for (int t = 0; t <= problem->test_count; t++) {
        const DecisionAct act = t < problem->test_count ? (DecisionAct){DECISION_TEST, t} : PROVING;
        if (!decision__is_open(problem, &before, act)) continue;
        join(decision, state, act);
        const double nats = information(decision, act, entropy);
        DecisionSetup end;
        if (nats > LEAST_GAIN) least = fmin(least, decision__way(decision, state->setup, act, &end) / nats);
    }
    return ENTROPY_FACTOR * least;
}

/* One step and the completed value after it; the act has been joined if it has outcomes. */
static double look_ahead(Decision *decision, const DecisionState *state, DecisionAct act, double nat_price)
{
    const DecisionProblem *problem = decision->problem;
    const DecisionTables *tables = decision->tables;
    DecisionOutlook after = {.phase = state->phase};
    if (act.kind >= DECISION_END) return decision__end_cost(problem, state, act);
    double value = decision__way(decision, state->setup, act, &after.setup);
    if (act.kind == DECISION_REPAIR) {
        double *mass = tables->masses;
        const int *left = &tables->after[(size_t)act.number * (size_t)problem->cause_count];
        memset(mass, 0, (size_t)tables->class_count * sizeof *mass);
        for (int c = 0; c < problem->cause_count; c++) {
            const double stays = left[c] == c ? state->belief[c] : state->belief[c] * problem->repair_fails;
            mass[tables->class_of[c]] += stays;
            mass[tables->class_of[left[c]]] += state->belief[c] - stays;
        }
        after.mass = mass;
        after.phase = decision__after_repair(problem, state->phase, act.number);
        return value + decision__completed(decision, &after, -1, nat_price);
    }
    const bool is_known = !decision__is_unproved(state->phase); /* by the price of a nat */
    for (int o = 0; o < decision__outcome_count(problem, act); o++) {
        after.mass = joint_of(decision, slot_of(problem, act), o);
        if (act.kind == DECISION_PROVE)
            after.phase = decision__passes(problem, act) >> o & 1 ? DECISION_PROVED : DECISION_FAILED;
        value +=
            decision__completed(decision, &after, is_known ? entropy_of(decision, act)[o] : -1, nat_price);
    }
    return value;
}

int decision__insert(DecisionChoice *choices, int count, int most, DecisionChoice choice)
{
    if (count == most && choices[count - 1].value <= choice.value) return count;
    int at = count < most ? count++ : most - 1;
    for (; at > 0 && choices[at - 1].value > choice.value; at--) choices[at] = choices[at - 1];
    choices[at] = choice;
    return count;
}

/* Between a repair and its proving run outcomes have not been joined for the price of a nat. */
static double value_of(Decision *decision, const DecisionState *state, DecisionAct act, double nat_price)
{
    if (act.kind <= DECISION_PROVE && act.kind != DECISION_REPAIR && decision__is_unproved(state->phase))
        join(decision, state, act);
    return look_ahead(decision, state, act, nat_price);
}

static double cured_by(const DecisionProblem *problem, const DecisionState *state, uint64_t cures)
{
    double sum = 0;
    for (int c = 0; c < problem->cause_count; c++)
        if (problem->broken[c] & cures) sum += state->belief[c];
    return sum;
}

/* A repair that hardly ever helps is looked at only when the repairs-only plan would begin with it. */
int decision__rank(Decision *decision, const DecisionState *state, double nat_price, bool is_now, int most,
                   DecisionChoice *choices)
{
    DecisionAct acts[DECISION_MOST_TESTS + DECISION_MOST_REPAIRS + 4], first;
    const DecisionProblem *problem = decision->problem;
    const DecisionOutlook outlook = decision__outlook(decision, state, decision->tables->masses);
    decision__by_repairs(decision, &outlook, &first);
    const int act_count = decision__list(problem, state, acts);
    int count = 0;
    decision->nodes++;
    for (int i = 0; i < act_count; i++) {
        if (acts[i].kind == DECISION_TEST && !is_now && decision__is_unproved(state->phase)) continue;
        const bool is_first = acts[i].kind == first.kind && acts[i].number == first.number;
        if (acts[i].kind == DECISION_REPAIR && !is_first &&
            cured_by(problem, state, problem->repairs[acts[i].number].cures) < WORTH_A_LOOK)
            continue;
        const DecisionChoice choice = {acts[i], value_of(decision, state, acts[i], nat_price)};
        count = decision__insert(choices, count, most, choice);
    }
    assert(count > 0);
    return count;
}

double decision_value(Decision *decision, const DecisionState *state, DecisionAct act)
{
    const double nat_price = decision__nat_price(decision, state, -1);
    if (act.kind == DECISION_TEST || act.kind == DECISION_PROVE) join(decision, state, act);
    return look_ahead(decision, state, act, nat_price);
}

/* The value of repairs and proving alone once the outcomes of a test are known. */
static double repairs_after(const Decision *decision, const DecisionState *state, DecisionAct act)
{
    DecisionOutlook after = {.phase = state->phase};
    DecisionAct first;
    double value = decision__way(decision, state->setup, act, &after.setup);
    for (int o = 0; o < decision__outcome_count(decision->problem, act); o++) {
        after.mass = joint_of(decision, slot_of(decision->problem, act), o);
        value += decision__by_repairs(decision, &after, &first);
    }
    return value;
}

/* Expected sum of squares of the classes' probabilities after the test, less what it is now. */
static double gini(const Decision *decision, const double *mass, DecisionAct act)
{
    double sum = 0;
    for (int o = 0; o < decision__outcome_count(decision->problem, act); o++) {
        const double *joint = joint_of(decision, slot_of(decision->problem, act), o);
        double squares = 0, chance = 0;
        for (int k = 0; k < decision->tables->class_count; k++) {
            squares += joint[k] * joint[k];
            chance += joint[k];
        }
        sum += chance > 0 ? squares / chance : 0;
    }
    for (int k = 0; k < decision->tables->class_count; k++) sum -= mass[k] * mass[k];
    return sum;
}

/* How much a rule likes a test; nothing at or below 0 is made. */
static double liking(const Decision *decision, DecisionRule rule, const DecisionState *state,
                     const DecisionOutlook *outlook, DecisionAct act, double plan)
{
    const double cost = decision_cost(decision, state->setup, act);
    if (rule == DECISION_BY_INFORMATION)
        return information(decision, act, decision__entropy(decision, outlook->mass)) / cost;
    const double worth = plan - repairs_after(decision, state, act);
    if (rule == DECISION_BY_VALUE || worth <= 0) return worth;
    return gini(decision, outlook->mass, act) / cost;
}

static bool is_enough(const Decision *decision, const double *mass)
{
    for (int k = 0; k < decision->tables->class_count; k++)
        if (mass[k] >= ENOUGH) return true;
    return false;
}

/* The rules of the literature: the test that is liked best, or else the first repair. */
static DecisionChoice choose_liked(Decision *decision, DecisionRule rule, const DecisionState *state)
{
    DecisionTables *tables = decision->tables;
    const DecisionOutlook outlook = decision__outlook(decision, state, tables->masses);
    DecisionChoice choice;
    choice.value = decision__by_repairs(decision, &outlook, &choice.act);
    decision->nodes++;
    if (rule == DECISION_BY_REPAIRS || decision__is_unproved(state->phase) ||
        (rule == DECISION_BY_INFORMATION && is_enough(decision, outlook.mass)))
        return choice;
    const double plan = choice.value;
    double most = LEAST_GAIN;
    for (int t = 0; t < decision->problem->test_count; t++) {
        const DecisionAct act = {DECISION_TEST, t};
        if (!decision__is_open(decision->problem, state, act)) continue;
        join(decision, state, act);
        const double liked = liking(decision, rule, state, &outlook, act, plan);
        if (liked <= most) continue;
        most = liked;
        choice = (DecisionChoice){act, repairs_after(decision, state, act)};
    }
    return choice;
}

int decision_choose(Decision *decision, DecisionRule rule, const DecisionState *state, int most,
                    DecisionChoice *choices)
{
    assert(most > 0 && rule < DECISION_RULE_COUNT);
    if (rule == DECISION_BY_ROLLOUT) return decision__roll_out(decision, state, most, choices);
    if (rule == DECISION_BY_COMPLETION)
        return decision__rank(decision, state, decision__nat_price(decision, state, -1), true, most, choices);
    choices[0] = choose_liked(decision, rule, state);
    return 1;
}
