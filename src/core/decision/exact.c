/* exact.c: the least expected cost of all plans, and what following a rule costs, over every outcome.
 *
 * Depth-first search of the tree of acts (choose the cheapest) and outcomes (weigh by chance), with branch
 * and bound: a state is left as soon as it cannot be worth what may be spent on it. Floor of a state: full
 * information. Ceiling: the plan without tests where that can be relied on, else giving up. Acts are tried in
 * the order of their floors, and what was found out of a state is kept.
 *
 * Invariants: (1) a range holds the state's true value; (2) its low end reaches the limit it was asked with,
 * or it is solved: as narrow as the grain allows on the path it was asked on; (3) states are the same when
 * beliefs agree to 1e-9, everything else to the bit, but for a clash of 128 bits of hash.
 *
 * A repair that may fail makes the tree endless: fails, is proved wrong, is made again. Every round is less
 * likely, so a path is cut where what it can still add to the root is below the grain, and what was
 * solved for an unlikely path is solved again for a likelier one.
 *
 * Bad at: size. Eight faults and eight noisy tests take thousands of states, thirteen and twelve millions. */
#include <assert.h>
#include <math.h>

#include "base/random.h"
#include "core/decision/decision_private.h"

enum { FIRST_CAPACITY = 1 << 12 };

static const double GRAIN = 1e-12;   /* of the ceiling at the root: what a path that is cut may be worth */
static const double WIDEST = 1e-9;   /* of the value: of a range that counts as exact */
static const double ROUNDING = 1e-9; /* of a belief in the key */

typedef struct {
    double low, high;
} Range;

/* A state that was looked at, and on how likely a path; 0: only its low end is of use. */
typedef struct {
    uint64_t key[2];
    Range range;
    double path;
} Row;

typedef struct {
    DecisionAct act;
    double low;
} Candidate;

typedef enum { FINE, TOO_MANY_NODES, TOO_DEEP, NO_MEMORY } Trouble;

typedef struct {
    Decision *decision;
    Arena *arena;
    Row *rows; /* [capacity], a power of two; path below 0: empty */
    size_t capacity, count;
    double *beliefs;              /* [depth][causes] */
    double *mass, *own_mass;      /* [classes] */
    Candidate *candidates, first; /* [depth][acts]; the best at the root */
    size_t act_count;             /* at most, in one state */
    bool relies_on_repairs;
    double grain;
    long long nodes, most_nodes;
    Trouble trouble;
} Search;

/* --- what was found out of a state --- */

static uint64_t mix(uint64_t word)
{
    RandomStream stream = {word};
    return random_bits(&stream);
}

static void stir(uint64_t key[2], uint64_t word)
{
    key[0] = mix(key[0] ^ word);
    key[1] = mix(key[1] + word * UINT64_C(0x9e3779b97f4a7c15));
}

static void key_of(const Search *search, const DecisionState *state, uint64_t key[2])
{
    const int count = search->decision->problem->cause_count;
    key[0] = 1;
    key[1] = 2;
    stir(key, state->done);
    stir(key, (uint64_t)state->setup << 2 | state->phase);
    for (int c = 0; c < count; c++) {
        const uint64_t rounded = (uint64_t)floor(state->belief[c] / ROUNDING + 0.5);
        if (rounded > 0) stir(key, (uint64_t)c << 32 | rounded);
    }
}

static Row *row_for(const Search *search, const uint64_t key[2])
{
    size_t at = (size_t)key[0] & (search->capacity - 1);
    while (search->rows[at].path >= 0 &&
           (search->rows[at].key[0] != key[0] || search->rows[at].key[1] != key[1]))
        at = (at + 1) & (search->capacity - 1);
    return &search->rows[at];
}

/* Never more than half full. The old rows stay in the arena: together no more than the new ones. */
static bool grow(Search *search)
{
    const Search old = *search;
    search->capacity = old.capacity ? 2 * old.capacity : FIRST_CAPACITY;
    search->rows = ARENA_ARRAY(search->arena, Row, search->capacity);
    if (!search->rows) return false;
    for (size_t i = 0; i < search->capacity; i++) search->rows[i].path = -1;
    for (size_t i = 0; i < old.capacity; i++)
        if (old.rows[i].path >= 0) *row_for(search, old.rows[i].key) = old.rows[i];
    return true;
}

static void put(Search *search, const uint64_t key[2], Range range, double path)
{
    Row *row = row_for(search, key);
    search->count += row->path < 0;
    *row = (Row){{key[0], key[1]}, range, path};
    if (2 * search->count > search->capacity && !grow(search)) search->trouble = NO_MEMORY;
}

/* Two ranges of one state hold its value, so what both hold does. */
static void narrow(Search *search, const uint64_t key[2], Range range, double path)
{
    const Row *row = row_for(search, key);
    if (row->path >= 0) {
        range = (Range){fmax(row->range.low, range.low), fmin(row->range.high, range.high)};
        path = fmax(row->path, path);
    }
    put(search, key, range, path);
}

/* --- bounds --- */

/* Does the proving run tell sound from broken, and leave the same setup whatever came before it? Only then is
 * what decision__by_repairs says really what its plan costs. */
static bool relies_on_repairs(const DecisionProblem *problem)
{
    const DecisionTest *proving = &problem->proving;
    if (problem->repair_fails > 0 || problem->again.outcome_count > 0 || !proving->needs.closes_all ||
        proving->needs.power == DECISION_POWER_ANY)
        return false;
    for (int o = 0; o < proving->outcome_count; o++)
        for (int c = 0; c < problem->cause_count; c++)
            if ((problem->passes >> o & 1) != !problem->broken[c] &&
                proving->chance[(size_t)o * (size_t)problem->cause_count + (size_t)c] > 0)
                return false;
    return true;
}

static double floor_of(const Search *search, const DecisionState *state)
{
    const DecisionOutlook outlook = decision__outlook(search->decision, state, search->mass);
    return decision__full(search->decision, &outlook);
}

/* What somebody would certainly get by with, and how he would begin. */
static double ceiling_of(const Search *search, const DecisionState *state, DecisionAct *first)
{
    const DecisionProblem *problem = search->decision->problem;
    if (search->relies_on_repairs) {
        const DecisionOutlook outlook = decision__outlook(search->decision, state, search->mass);
        return decision__by_repairs(search->decision, &outlook, first);
    }
    const DecisionAct end = {DECISION_END, 0}, give_up = {DECISION_GIVE_UP, 0};
    const double ended = state->phase == DECISION_PROVED ? decision__end_cost(problem, state, end) : INFINITY;
    *first = ended < problem->give_up_cost ? end : give_up;
    return fmin(ended, problem->give_up_cost);
}

/* --- acts and outcomes --- */

static DecisionState room_for_state(const Search *search, int depth)
{
    return (DecisionState){
        .belief = &search->beliefs[(size_t)depth * (size_t)search->decision->problem->cause_count]};
}

static bool ends(DecisionAct act) { return act.kind == DECISION_END || act.kind == DECISION_GIVE_UP; }

typedef struct {
    int number;
    double chance, low; /* low: what the state after it costs at least */
} Outcome;

/* The likeliest first: what an unlikely one may cost is known best when the others are. A state that was
 * looked at before has a better low end than its floor. */
static int list_outcomes(const Search *search, int depth, const DecisionState *state, DecisionAct act,
                         Outcome *outcomes)
{
    const Decision *decision = search->decision;
    int count = 0;
    for (int o = 0; o < decision__outcome_count(decision->problem, act); o++) {
        DecisionState after = room_for_state(search, depth + 1);
        uint64_t key[2];
        Outcome outcome = {.number = o};
        decision_follow(decision, state, act, o, &after, &outcome.chance);
        if (outcome.chance <= 0) continue;
        key_of(search, &after, key);
        const Row *row = row_for(search, key);
        outcome.low = fmax(floor_of(search, &after), row->path >= 0 ? row->range.low : 0);
        int at = count++;
        for (; at > 0 && outcomes[at - 1].chance < outcome.chance; at--) outcomes[at] = outcomes[at - 1];
        outcomes[at] = outcome;
    }
    return count;
}

static double expect(double cost, const Outcome *outcomes, int count)
{
    for (int i = 0; i < count; i++) cost += outcomes[i].chance * outcomes[i].low;
    return cost;
}

/* The least that an act can cost to the end. Full information after a test needs no outcomes: it is linear in
 * the belief, and a test changes neither the causes nor the phase. `mass` is that of the state. */
static double least_of(const Search *search, int depth, const DecisionState *state, DecisionAct act,
                       const double *mass)
{
    const Decision *decision = search->decision;
    if (ends(act)) return decision__end_cost(decision->problem, state, act);
    DecisionOutlook after = {.mass = mass, .phase = state->phase};
    const double cost = decision__way(decision, state->setup, act, &after.setup);
    if (act.kind == DECISION_TEST) return cost + decision__full(decision, &after);
    double low = cost, chance;
    for (int o = 0; o < decision__outcome_count(decision->problem, act); o++) {
        DecisionState state_after = room_for_state(search, depth + 1);
        decision_follow(decision, state, act, o, &state_after, &chance);
        if (chance > 0) low += chance * floor_of(search, &state_after);
    }
    return low;
}

/* Cheapest floor first; ties stay in the order of the acts. */
static int list_candidates(const Search *search, int depth, const DecisionState *state, Candidate *candidates)
{
    DecisionAct acts[DECISION_MOST_TESTS + DECISION_MOST_REPAIRS + 4];
    const int count = decision__list(search->decision->problem, state, acts);
    decision__outlook(search->decision, state, search->own_mass);
    for (int i = 0; i < count; i++) {
        const Candidate candidate = {acts[i], least_of(search, depth, state, acts[i], search->own_mass)};
        int at = i;
        for (; at > 0 && candidates[at - 1].low > candidate.low; at--) candidates[at] = candidates[at - 1];
        candidates[at] = candidate;
    }
    return count;
}

static Range solve(Search *search, int depth, const DecisionState *state, double most, double path);

/* One act, which is worth no more than `most`: outcome after outcome, what is not looked at yet at its low
 * end. */
static Range try(Search *search, int depth, const DecisionState *state, DecisionAct act, double most,
                 double path)
{
    Outcome outcomes[DECISION_MOST_OUTCOMES];
    if (ends(act)) {
        const double cost = decision__end_cost(search->decision->problem, state, act);
        return (Range){cost, cost};
    }
    const double cost = decision_cost(search->decision, state->setup, act);
    const int count = list_outcomes(search, depth, state, act, outcomes);
    Range range = {expect(cost, outcomes, count), cost};
    for (int i = 0; i < count && range.low < most; i++) {
        const Outcome *outcome = &outcomes[i];
        DecisionState after = room_for_state(search, depth + 1);
        double chance;
        decision_follow(search->decision, state, act, outcome->number, &after, &chance);
        const double others = range.low - chance * outcome->low, limit = (most - others) / chance;
        const Range found = solve(search, depth + 1, &after, limit, path * chance);
        range.low = others + chance * found.low;
        range.high += chance * found.high;
        if (found.low >= limit || search->trouble) range.low = fmax(range.low, most);
    }
    return range.low < most ? range : (Range){range.low, INFINITY};
}

/* The acts of a state, until none that is left can be better. */
static Range choose(Search *search, int depth, const DecisionState *state, double most, double ceiling,
                    double path)
{
    Candidate *candidates = &search->candidates[(size_t)depth * search->act_count];
    const int count = list_candidates(search, depth, state, candidates);
    Range best = {INFINITY, ceiling};
    for (int i = 0; i < count && !search->trouble; i++) {
        const double limit = fmin(most, best.high);
        const bool is_hopeless = candidates[i].low >= limit;
        const Range found = is_hopeless ? (Range){candidates[i].low, INFINITY}
                                        : try(search, depth, state, candidates[i].act, limit, path);
        best.low = fmin(best.low, found.low);
        if (found.high < best.high) {
            best.high = found.high;
            if (depth == 0) search->first = candidates[i];
        }
        if (is_hopeless) break;
    }
    best.low = fmin(best.low, best.high);
    return best;
}

/* The value of a state on a path of this probability, as far as it is below `most`. */
static Range solve(Search *search, int depth, const DecisionState *state, double most, double path)
{
    DecisionAct ignored;
    uint64_t key[2];
    Range range = {floor_of(search, state), INFINITY};
    if (range.low >= most) return range;
    key_of(search, state, key);
    const Row *row = row_for(search, key);
    if (row->path >= 0 && (row->range.low >= most || path <= row->path)) return row->range;
    range.high = ceiling_of(search, state, &ignored);
    assert(range.low <= range.high * (1 + WIDEST));
    range.low = fmin(range.low, range.high);
    if ((range.high - range.low) * path <= search->grain || depth >= DECISION_MOST_DEPTH) return range;
    if (++search->nodes > search->most_nodes) {
        search->trouble = TOO_MANY_NODES;
        return range;
    }
    range = choose(search, depth, state, most, range.high, path);
    if (!search->trouble) narrow(search, key, range, range.low < most ? path : 0);
    return range;
}

/* --- the two questions --- */

static bool begin(Search *search, Decision *decision, Arena *arena)
{
    const DecisionProblem *problem = decision->problem;
    const size_t causes = (size_t)problem->cause_count;
    *search = (Search){.decision = decision,
                       .arena = arena,
                       .act_count = (size_t)problem->test_count + (size_t)problem->repair_count + 4,
                       .relies_on_repairs = relies_on_repairs(problem)};
    search->beliefs = ARENA_ARRAY(arena, double, (DECISION_MOST_DEPTH + 2) * causes);
    search->mass = ARENA_ARRAY(arena, double, causes);
    search->own_mass = ARENA_ARRAY(arena, double, causes);
    search->candidates = ARENA_ARRAY(arena, Candidate, (DECISION_MOST_DEPTH + 1) * search->act_count);
    return search->beliefs && search->mass && search->own_mass && search->candidates && grow(search);
}

static bool tell(const Search *search, Error *error)
{
    switch (search->trouble) {
    case FINE: return true;
    case NO_MEMORY: return error_memory(error);
    case TOO_DEEP:
        return error_set(error, ERROR_TOO_LARGE, "a plan of endless length",
                         "one that comes to its end within %d acts", DECISION_MOST_DEPTH);
    default:
        return error_set(error, ERROR_TOO_LARGE, "more states than may be looked at", "at most %lld",
                         search->most_nodes);
    }
}

/* A path that is cut ends in giving up. */
static double follow_rule(Search *search, DecisionRule rule, int depth, const DecisionState *state,
                          double path)
{
    Decision *decision = search->decision;
    const DecisionProblem *problem = decision->problem;
    DecisionChoice choice;
    uint64_t key[2];
    key_of(search, state, key);
    const Row *row = row_for(search, key);
    if (row->path >= path) return row->range.low;
    if (depth >= DECISION_MOST_DEPTH) search->trouble = TOO_DEEP;
    if (path <= GRAIN || search->trouble) return problem->give_up_cost;
    decision_choose(decision, rule, state, 1, &choice);
    if (ends(choice.act)) return decision__end_cost(problem, state, choice.act);
    double cost = decision_cost(decision, state->setup, choice.act);
    for (int o = 0; o < decision__outcome_count(problem, choice.act); o++) {
        DecisionState after = room_for_state(search, depth + 1);
        double chance;
        decision_follow(decision, state, choice.act, o, &after, &chance);
        if (chance > 0) cost += chance * follow_rule(search, rule, depth + 1, &after, path * chance);
    }
    put(search, key, (Range){cost, cost}, path); /* a likelier path cuts less */
    return cost;
}

bool decision_follow_rule(Decision *decision, DecisionRule rule, const DecisionState *state, Arena *arena,
                          double *cost, Error *error)
{
    Search search;
    if (!begin(&search, decision, arena)) return error_memory(error);
    *cost = follow_rule(&search, rule, 0, state, 1);
    return tell(&search, error);
}

bool decision_solve(Decision *decision, const DecisionState *state, long long most_nodes, Arena *arena,
                    DecisionChoice *best, Error *error)
{
    Search search;
    if (!begin(&search, decision, arena)) return error_memory(error);
    const double ceiling = ceiling_of(&search, state, &search.first.act);
    search.grain = GRAIN * ceiling;
    search.most_nodes = most_nodes;
    const Range range = solve(&search, 0, state, INFINITY, 1);
    decision->nodes += search.nodes;
    if (!search.trouble && range.high - range.low > WIDEST * range.high) search.trouble = TOO_DEEP;
    if (!tell(&search, error)) return false;
    assert(range.low <= range.high && range.high <= ceiling);
    *best = (DecisionChoice){search.first.act, range.high};
    return true;
}
