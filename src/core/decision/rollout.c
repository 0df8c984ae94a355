/* rollout.c: a rule improved by following it to the end.
 *
 * The best few acts of the one-step rule are each followed by that rule through every outcome, down to where
 * the way there has become improbable; there the completed value stands for the rest. The act whose tree
 * costs least wins, but the rule's own choice is kept unless another is better by more than the estimate is
 * worth. The cut is lowered as long as the budget of nodes lasts, and the last tree that was finished counts.
 *
 * Bertsekas, Tsitsiklis and Wu, J. Heuristics 3 (1997) 245: rollout is no worse than its base rule when that
 * is followed exactly; Tu and Pattipati, IEEE Trans. SMC A 33 (2003) 86, for test sequencing (from memory).
 *
 * Bad at: very noisy tests, where a cut at three in a hundred ends too early. */
#include <assert.h>
#include <math.h>

#include "core/decision/decision_private.h"

static const double CUTS[] = {0.1, 0.03, 0.01, 0.003};
static const double MARGIN = 0.003;     /* of the value: so much better must another act be */
static const double OUT_OF_REACH = 0.1; /* of the value: acts that far behind by one step are not followed */
enum { CUT_COUNT = sizeof CUTS / sizeof CUTS[0], TRIED = 5, MOST_PLACES = 3, RANKED = 40 };

typedef struct {
    Decision *decision;
    double cut;
    long long last_node; /* beyond it the tree is not finished */
} Tree;

static double expect(Tree *tree, const DecisionState *state, double chance, double nat_price, int depth);

/* An act and the rule after it; `chance` is that of having come here. */
static double follow_act(Tree *tree, const DecisionState *state, DecisionAct act, double chance,
                         double nat_price, int depth)
{
    Decision *decision = tree->decision;
    const DecisionProblem *problem = decision->problem;
    if (act.kind >= DECISION_END) return decision__end_cost(problem, state, act);
    DecisionState after = {.belief =
                               &decision->tables->beliefs[(size_t)depth * (size_t)problem->cause_count]};
    double value = decision_cost(decision, state->setup, act);
    for (int o = 0; o < decision__outcome_count(problem, act); o++) {
        double share;
        decision_follow(decision, state, act, o, &after, &share);
        if (share > 0) value += share * expect(tree, &after, chance * share, nat_price, depth + 1);
    }
    return value;
}

static double expect(Tree *tree, const DecisionState *state, double chance, double nat_price, int depth)
{
    Decision *decision = tree->decision;
    nat_price = decision__nat_price(decision, state, nat_price);
    if (chance < tree->cut || depth >= DECISION_MOST_DEPTH || decision->nodes >= tree->last_node) {
        const DecisionOutlook outlook = decision__outlook(decision, state, decision->tables->masses);
        return decision__completed(decision, &outlook, -1, nat_price);
    }
    DecisionChoice choice;
    decision__rank(decision, state, nat_price, false, 1, &choice);
    if (choice.act.kind >= DECISION_END) return choice.value;
    return follow_act(tree, state, choice.act, chance, nat_price, depth);
}

/* The rule's own choice first unless another beats it by the margin. */
static int order(const DecisionChoice *base, const double *values, int tried, int most,
                 DecisionChoice *choices)
{
    int best = 0, count = 0;
    for (int i = 1; i < tried; i++)
        if (values[i] < values[best]) best = i;
    if (values[best] >= (1 - MARGIN) * values[0]) best = 0;
    choices[count++] = (DecisionChoice){base[best].act, values[best]};
    for (int i = 0; i < tried && most > 1; i++)
        if (i != best)
            count = 1 + decision__insert(choices + 1, count - 1, most - 1,
                                         (DecisionChoice){base[i].act, values[i]});
    return count;
}

/* One step ahead a test in a place that is still closed pays alone for the way there. So the best test of
 * each place is followed, too: what comes after it is cheap. The first `tried` of the base are; returns how
 * many then. */
static int add_places(const Decision *decision, const DecisionState *state, DecisionChoice *base, int count,
                      int tried)
{
    for (int i = tried; i < count && tried < TRIED + MOST_PLACES; i++) {
        if (base[i].act.kind != DECISION_TEST) continue;
        const DecisionSetup end = decision_after(decision, state->setup, base[i].act);
        bool is_new = end != state->setup;
        for (int k = 0; k < tried; k++)
            is_new &= base[k].act.kind >= DECISION_END ||
                      decision_after(decision, state->setup, base[k].act) != end;
        if (is_new) base[tried++] = base[i];
    }
    return tried;
}

int decision__roll_out(Decision *decision, const DecisionState *state, int most, DecisionChoice *choices)
{
    DecisionChoice base[RANKED];
    double values[TRIED + MOST_PLACES], tree_values[TRIED + MOST_PLACES];
    const double nat_price = decision__nat_price(decision, state, -1);
    const long long first_node = decision->nodes;
    const int count = decision__rank(decision, state, nat_price, true, RANKED, base);
    int tried = count < TRIED ? count : TRIED;
    while (tried > 1 && base[tried - 1].value > (1 + OUT_OF_REACH) * base[0].value) tried--;
    tried = add_places(decision, state, base, count, tried);
    for (int i = 0; i < tried; i++) values[i] = base[i].value;
    for (int c = 0; c < CUT_COUNT; c++) {
        Tree tree = {decision, CUTS[c], first_node + decision->budget};
        for (int i = 0; i < tried; i++)
            tree_values[i] = follow_act(&tree, state, base[i].act, 1, nat_price, 0);
        if (decision->nodes >= tree.last_node)
            break; /* this tree was not finished: acts got unequal shares */
        for (int i = 0; i < tried; i++) values[i] = tree_values[i];
    }
    return order(base, values, tried, most, choices);
}
