/* repairs.c: what it costs to mend without another test, and what it would cost to know everything.
 *
 * Repairs are ordered by what they are likely to cure for what they cost, proving run included; the proving
 * run may wait until up to three are done, whichever batches cost least (found backwards along the order).
 * Full information is the other end: each class is mended at once, for the least that its repairs and one
 * proving run cost. Between the two lies every sensible plan.
 *
 * Kadane and Simon, Ann. Statist. 5 (1977) 237, for the order by probability over cost; Ottosen and Jensen,
 * report TR 10-001 (2010), for proving after several repairs.
 *
 * Bad at: a repair that fails and a sound oven that fails its proving run; both are taken as impossible here,
 * the rules that look ahead see them. */
#include <assert.h>
#include <math.h>
#include <string.h>

#include "base/mathematics.h"
#include "core/decision/decision_private.h"

enum { MOST_ORDERED = 16, MOST_BATCH = 3 };
static const double HOPELESS = 1e-5;   /* of the mass: what is rarer is not mended in this reckoning */
static const double NEGLIGIBLE = 1e-8; /* of the mass: adds less than a millionth of a nat */

static const DecisionAct PROVING = {DECISION_PROVE, 0};

DecisionOutlook decision__outlook(const Decision *decision, const DecisionState *state, double *mass)
{
    const DecisionTables *tables = decision->tables;
    memset(mass, 0, (size_t)tables->class_count * sizeof *mass);
    for (int c = 0; c < decision->problem->cause_count; c++) mass[tables->class_of[c]] += state->belief[c];
    return (DecisionOutlook){mass, state->setup, state->phase};
}

double decision__entropy(const Decision *decision, const double *mass)
{
    double total = 0, sum = 0;
    for (int k = 0; k < decision->tables->class_count; k++) total += mass[k];
    for (int k = 0; k < decision->tables->class_count; k++)
        if (mass[k] > NEGLIGIBLE * total) sum -= mass[k] * math_log(mass[k] / total);
    return fmax(sum, 0);
}

/* The order in which repairs are made, and what is left after each. */
typedef struct {
    const Decision *decision;
    const DecisionOutlook *outlook;
    double gain[DECISION_MOST_REPAIRS], price[DECISION_MOST_REPAIRS];
    int promising[DECISION_MOST_REPAIRS], promising_count;
    int order[MOST_ORDERED];
    double caught[MOST_ORDERED + 1]; /* mass still broken that the proving run shows */
    double missed[MOST_ORDERED + 1]; /* cost of what is still broken and passes */
    int count, active_count;         /* classes that still weigh something, in tables->active */
} Ordering;

/* All of it for what one repair cures; half for one of several that it takes. */
static double share(uint64_t rest, uint64_t cures)
{
    if (!(rest & cures)) return 0;
    return rest & ~cures ? 0.5 : 1;
}

static void add_gain(Ordering *ordering, int k, double mass)
{
    const DecisionProblem *problem = ordering->decision->problem;
    const DecisionTables *tables = ordering->decision->tables;
    const uint8_t *healers = &tables->healers[k * problem->repair_count];
    for (int i = 0; i < tables->healer_count[k]; i++)
        ordering->gain[healers[i]] += mass * share(tables->rest[k], problem->repairs[healers[i]].cures);
}

/* What is still broken after the repairs so far; only what the last one touched has changed. */
static void note_rest(Ordering *ordering, double caught, double missed)
{
    ordering->caught[ordering->count] = fmax(caught, 0);
    ordering->missed[ordering->count] = fmax(missed, 0);
}

/* A repair's price is the way to it from here, itself, and the proof after it. Only those that promise
 * something are looked at. */
static void list_promising(Ordering *ordering, double least)
{
    const Decision *decision = ordering->decision;
    for (int r = 0; r < decision->problem->repair_count; r++) {
        if (ordering->gain[r] <= least) continue;
        DecisionSetup end;
        const DecisionAct repair = {DECISION_REPAIR, r};
        const DecisionAct proof = decision__proof(decision->problem, ordering->outlook->phase,
                                                  decision->problem->repairs[r].is_plain);
        ordering->price[r] = decision__way(decision, ordering->outlook->setup, repair, &end);
        ordering->price[r] += decision__way(decision, end, proof, &end);
        ordering->promising[ordering->promising_count++] = r;
    }
}

/* What is negligible is never mended here, but it is paid for: the exact search takes this as a ceiling. */
static void begin_ordering(Ordering *ordering, double *total)
{
    const DecisionTables *tables = ordering->decision->tables;
    double caught = 0, missed = 0;
    for (int k = 0; k < tables->class_count; k++) *total += ordering->outlook->mass[k];
    for (int k = 0; k < tables->class_count; k++) {
        const double mass = ordering->outlook->mass[k];
        tables->rest[k] = mass > NEGLIGIBLE * *total ? tables->broken[k] : 0;
        if (!tables->broken[k]) continue;
        caught += mass * (1 - tables->pass[k]);
        missed += mass * tables->pass[k] * tables->left_cost[k];
        if (!tables->rest[k]) continue;
        tables->active[ordering->active_count++] = k;
        add_gain(ordering, k, mass);
    }
    note_rest(ordering, caught, missed);
    list_promising(ordering, HOPELESS * *total);
}

static int best_repair(const Ordering *ordering, double least)
{
    int best = -1;
    for (int i = 0; i < ordering->promising_count; i++) {
        const int r = ordering->promising[i];
        if (ordering->gain[r] > least && (best < 0 || ordering->gain[r] * ordering->price[best] >
                                                          ordering->gain[best] * ordering->price[r]))
            best = r;
    }
    return best;
}

static void make_repair(Ordering *ordering, int number)
{
    const DecisionTables *tables = ordering->decision->tables;
    const uint64_t cures = ordering->decision->problem->repairs[number].cures;
    double caught = ordering->caught[ordering->count], missed = ordering->missed[ordering->count];
    for (int i = 0; i < ordering->active_count; i++) {
        const int k = tables->active[i];
        if (!(tables->rest[k] & cures)) continue;
        const double mass = ordering->outlook->mass[k];
        add_gain(ordering, k, -mass);
        tables->rest[k] &= ~cures;
        if (tables->rest[k]) {
            add_gain(ordering, k, mass);
            continue;
        }
        caught -= mass * (1 - tables->pass[k]);
        missed -= mass * tables->pass[k] * tables->left_cost[k];
    }
    ordering->gain[number] = 0;
    ordering->order[ordering->count++] = number;
    note_rest(ordering, caught, missed);
}

static void put_in_order(Ordering *ordering, double *total)
{
    begin_ordering(ordering, total);
    while (ordering->count < MOST_ORDERED) {
        const int next = best_repair(ordering, HOPELESS * *total);
        if (next < 0) return;
        make_repair(ordering, next);
    }
}

/* The least of `weight` times the batches that begin at repair i, from `setup`, plus what comes after;
 * `length` of the best, 0 where proving at once is allowed. */
static double best_batch(const Ordering *ordering, const double *after, int i, int least_length,
                         double weight, DecisionSetup setup, DecisionPhase phase, bool charges_missed,
                         int *length)
{
    double best = INFINITY, spent = 0;
    const DecisionProblem *problem = ordering->decision->problem;
    bool all_plain = phase == DECISION_MENDED || least_length > 0;
    for (int n = 0; n <= MOST_BATCH && i + n <= ordering->count; n++) {
        DecisionSetup end;
        if (n > 0) {
            const int number = ordering->order[i + n - 1];
            spent += decision__way(ordering->decision, setup, (DecisionAct){DECISION_REPAIR, number}, &setup);
            all_plain =
                (all_plain || n == 1) && phase != DECISION_REPAIRED && problem->repairs[number].is_plain;
        }
        if (n < least_length) continue;
        const DecisionAct proof = decision__proof(problem, phase, all_plain);
        const double value = weight * (spent + decision__way(ordering->decision, setup, proof, &end)) +
                             (charges_missed ? ordering->missed[i + n] : 0) + after[i + n];
        if (value >= best) continue;
        best = value;
        *length = n;
    }
    return best;
}

/* Backwards along the order: after[i] is what is expected once a proving run has failed with i repairs made.
 */
double decision__by_repairs(const Decision *decision, const DecisionOutlook *outlook, DecisionAct *first)
{
    Ordering ordering;
    ordering.decision = decision;
    ordering.outlook = outlook;
    ordering.count = ordering.active_count = ordering.promising_count = 0;
    memset(ordering.gain, 0, (size_t)decision->problem->repair_count * sizeof *ordering.gain);
    const DecisionProblem *problem = decision->problem;
    double after[MOST_ORDERED + 1], total = 0;
    DecisionSetup proved;
    int length = 0;
    put_in_order(&ordering, &total);
    decision__way(decision, outlook->setup, PROVING, &proved);
    after[ordering.count] = ordering.caught[ordering.count] * problem->give_up_cost;
    for (int i = ordering.count - 1; i >= 0; i--)
        after[i] = fmin(
            ordering.caught[i] * problem->give_up_cost,
            best_batch(&ordering, after, i, 1, ordering.caught[i], proved, DECISION_FAILED, false, &length));
    const bool may_prove = outlook->phase == DECISION_FRESH || decision__is_unproved(outlook->phase);
    double best = best_batch(&ordering, after, 0, may_prove ? 0 : 1, total, outlook->setup, outlook->phase,
                             true, &length);
    *first = length > 0 ? (DecisionAct){DECISION_REPAIR, ordering.order[0]}
                        : decision__proof(problem, outlook->phase, outlook->phase == DECISION_MENDED);
    if (best >= total * problem->give_up_cost) {
        best = total * problem->give_up_cost;
        *first = (DecisionAct){DECISION_GIVE_UP, 0};
    }
    double left = 0;
    for (int k = 0; k < decision->tables->class_count; k++)
        left += outlook->mass[k] * decision->tables->left_cost[k];
    if (outlook->phase != DECISION_PROVED || left > best) return best;
    *first = (DecisionAct){DECISION_END, 0};
    return left;
}

/* Every order of every set of repairs that leaves nothing broken, and the proving run. Sets are small: two
 * repairs, seldom three. */
static double cheapest(const Decision *decision, uint64_t rest, DecisionSetup setup, DecisionPhase phase,
                       double spent, double best)
{
    const DecisionProblem *problem = decision->problem;
    DecisionSetup end;
    if (spent >= best) return best;
    if (!rest) {
        const DecisionAct proof = decision__proof(problem, phase, phase == DECISION_MENDED);
        return fmin(best, spent + decision__way(decision, setup, proof, &end));
    }
    for (int r = 0; r < problem->repair_count; r++) {
        if (!(problem->repairs[r].cures & rest)) continue;
        const double way = decision__way(decision, setup, (DecisionAct){DECISION_REPAIR, r}, &end);
        best = cheapest(decision, rest & ~problem->repairs[r].cures, end,
                        decision__after_repair(problem, phase, r), spent + way, best);
    }
    return best;
}

/* A fault that passes the proving run may also be left, at a price. */
static double full_of_class(const Decision *decision, int k, DecisionSetup setup)
{
    DecisionTables *tables = decision->tables;
    double *known = &tables->full[(size_t)k * (size_t)tables->setup_count + setup];
    if (*known >= 0) return *known;
    double best = decision->problem->give_up_cost;
    DecisionSetup end;
    if (tables->pass[k] > 0)
        best = fmin(best, decision__way(decision, setup, PROVING, &end) + tables->left_cost[k]);
    return *known = cheapest(decision, tables->broken[k], setup, DECISION_FRESH, 0, best);
}

/* A sound oven that has failed its proving run needs some repair before another. */
static double full_when_sound(const Decision *decision, const DecisionOutlook *outlook)
{
    double best = decision->problem->give_up_cost;
    if (outlook->phase == DECISION_PROVED) return 0;
    for (int r = 0; r < decision->problem->repair_count; r++)
        best = fmin(best, cheapest(decision, decision->problem->repairs[r].cures, outlook->setup,
                                   outlook->phase, 0, best));
    return best;
}

double decision__full(const Decision *decision, const DecisionOutlook *outlook)
{
    const DecisionTables *tables = decision->tables;
    const bool may_prove = outlook->phase == DECISION_FRESH || decision__is_unproved(outlook->phase);
    double sum = 0;
    for (int k = 0; k < tables->class_count; k++) {
        if (outlook->mass[k] <= 0) continue;
        double cost = !tables->broken[k] && !may_prove ? full_when_sound(decision, outlook)
                                                       : full_of_class(decision, k, outlook->setup);
        if (outlook->phase == DECISION_PROVED) cost = fmin(cost, tables->left_cost[k]);
        sum += outlook->mass[k] * cost;
    }
    return sum;
}

double decision_full_information(const Decision *decision, const DecisionState *state)
{
    const DecisionOutlook outlook = decision__outlook(decision, state, decision->tables->masses);
    return decision__full(decision, &outlook);
}
