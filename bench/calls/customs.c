/* customs.c: see customs.h. Numbers in capitals are common practice, no source. */
#include "customs.h"

#include <math.h>
#include <string.h>

/* Beside a sound oven of its type. */
static const double WIDE_RATIO = 1.8, WIDE_KELVIN = 6, SLOW_RATIO = 1.5;
static const double OFFSET_KELVIN = 3;          /* less is none */
static const double USUAL_CHANCE = 0.15;        /* of a word that nobody wonders at */
static const double POWERED = 0.2, DEAD = 0.05; /* shares of the rating, of the power when all is well */
enum { SCRATCH_BYTES = 8 << 20 };

bool customs_begin(DiagnosisModel *model, double run_second, Customs *customs, Error *error)
{
    const size_t checks = (size_t)model->appliance->check_count;
    Oven oven;
    const Oven *lane = &oven;
    *customs = (Customs){.model = model};
    customs->expected = ARENA_ARRAY(model->arena, const Expectation *, checks);
    customs->sound_words = ARENA_ARRAY(model->arena, uint64_t, checks);
    if (!customs->expected || !customs->sound_words) return error_memory(error);
    if (model->usual_function < 0 ||
        !thermal_oven(&model->thermal, model->usual_function, WORLD_SET_CELSIUS, NULL, 0, NULL, &oven))
        return true;
    const BehaviourTerms terms = {.set_celsius = WORLD_SET_CELSIUS,
                                  .ambient_celsius = model->circuit.ambient_celsius,
                                  .second = run_second};
    return behaviour_find(model->memory, &lane, 1, &terms, &customs->sound_run, error);
}

/* --- judging --- */

static bool judge_reading(Customs *customs, int check, const Entry *entry, bool *sound, Error *error)
{
    DiagnosisModel *model = customs->model;
    if (!customs->expected[check]) {
        Expectation *expected = ARENA_ARRAY(model->arena, Expectation, 1);
        if (!expected) return error_memory(error);
        if (!circuit_expect(&model->circuit, &entry->connection, &model->meter, expected, error))
            return false;
        customs->expected[check] = expected;
    }
    const double shown = entry->value.is_over ? INFINITY : entry->value.value;
    const double value =
        entry->connection.kind == READING_OHM ? meter_value(&model->meter, METER_OHM, shown) : shown;
    *sound = circuit_judge(customs->expected[check], &entry->connection, &model->meter, value).verdict !=
             METER_OUTSIDE;
    return true;
}

/* On a low supply a sound element may glow or only get warm: either will do. */
static bool find_sound_words(Customs *customs, int check, Error *error)
{
    static const int nothing_wrong = 0;
    Arena scratch = arena_new(SCRATCH_BYTES);
    Prediction prediction;
    const bool went_well =
        diagnosis_predict(customs->model, NULL, check, &nothing_wrong, 1, &scratch, &prediction, error);
    for (int o = 0; went_well && o < prediction.outcome_count; o++)
        if (prediction.chance[o] > USUAL_CHANCE)
            customs->sound_words[check] |= (uint64_t)1 << prediction.outcomes[o].word;
    arena_free(&scratch);
    return went_well;
}

bool customs_is_sound(Customs *customs, int check, const Entry *entry, bool *sound, Error *error)
{
    if (entry->kind == ENTRY_SETTING) {
        *sound = entry->shows ? text_equal(entry->shows, "none") : fabs(entry->value.value) < OFFSET_KELVIN;
        return true;
    }
    if (entry->kind == ENTRY_READING) return judge_reading(customs, check, entry, sound, error);
    if (!customs->sound_words[check] && !find_sound_words(customs, check, error)) return false;
    *sound = customs->sound_words[check] >> entry->words[0] & 1;
    return true;
}

/* A log that ends before the second whole cycle has no mean; who stood beside it knows all the same whether
 * it was near what was set. */
static RunSign judge_without_cycles(const Run *run, double allowed_kelvin, double slow_second)
{
    const double off = run->end_celsius - WORLD_SET_CELSIUS;
    const bool cycles = run_has_finding(run, RUN_LOG_TOO_SHORT) && isfinite(run->preheat_second.value);
    if (fabs(off) > allowed_kelvin) return cycles ? RUN_OFF : off > 0 ? RUN_HOT : RUN_COLD;
    return run->preheat_second.value <= slow_second ? RUN_SOUND : RUN_SLOW;
}

RunSign customs_judge_run(const Customs *customs, const Run *run, double off_kelvin)
{
    const double swing = (double)customs->sound_run.swing_kelvin,
                 slow = SLOW_RATIO * (double)customs->sound_run.preheat_second;
    if (!run) return RUN_SOUND;
    if (!isfinite(run->mean_celsius.value)) return judge_without_cycles(run, off_kelvin + swing / 2, slow);
    if (fabs(run->mean_celsius.value - WORLD_SET_CELSIUS) > off_kelvin) return RUN_OFF;
    if (run->swing_kelvin.value > WIDE_RATIO * swing + WIDE_KELVIN) return RUN_WIDE;
    return run->preheat_second.value > slow ? RUN_SLOW : RUN_SOUND;
}

/* --- which check --- */

static bool joins(const Check *check, const Branch *branch)
{
    return (check->from == branch->from && check->to == branch->to) ||
           (check->from == branch->to && check->to == branch->from);
}

static int find_across(const Customs *customs, int number, CheckKind kind, bool in_function)
{
    const Appliance *appliance = customs->model->appliance;
    const Branch *branch = &appliance->branches[number];
    for (int c = 0; c < appliance->check_count; c++) {
        const Check *check = &appliance->checks[c];
        if (check->kind == kind && check->part == branch->part && joins(check, branch) &&
            (check->function > 0) == in_function)
            return c;
    }
    return -1;
}

int customs_test_of(const Customs *customs, int branch)
{
    const Branch *tested = &customs->model->appliance->branches[branch];
    if (tested->type != BRANCH_CONTACT) return find_across(customs, branch, CHECK_OHM, false);
    return find_across(customs, branch, tested->driver >= 0 ? CHECK_VOLT : CHECK_OHM, true);
}

int customs_test_open(const Customs *customs, int branch)
{
    const Branch *tested = &customs->model->appliance->branches[branch];
    if (tested->type != BRANCH_CONTACT) return -1;
    return find_across(customs, branch, CHECK_OHM, false);
}

int customs_find(const Customs *customs, CheckKind kind, int part)
{
    const Appliance *appliance = customs->model->appliance;
    for (int c = 0; c < appliance->check_count; c++)
        if (appliance->checks[c].kind == kind && appliance->checks[c].part == part) return c;
    return -1;
}

int customs_find_insulation(const Customs *customs, int part)
{
    const Appliance *appliance = customs->model->appliance;
    const Part *of = &appliance->parts[part];
    for (int b = of->first_branch; b < of->first_branch + of->branch_count; b++)
        if (appliance->branches[b].type == BRANCH_GAP) return find_across(customs, b, CHECK_OHM, false);
    return -1;
}

int customs_find_volt(const Customs *customs, int from, int to)
{
    const Appliance *appliance = customs->model->appliance;
    const Branch wanted = {.from = from, .to = to};
    for (int c = 0; c < appliance->check_count; c++) {
        const Check *check = &appliance->checks[c];
        if (check->kind == CHECK_VOLT && check->function == 0 && joins(check, &wanted)) return c;
    }
    return -1;
}

/* --- the wiring diagram --- */

static double share_when_sound(const Customs *customs, int branch, int function)
{
    const DiagnosisModel *model = customs->model;
    return model->power.healthy_share[function * model->appliance->branch_count + branch];
}

int customs_function_of(const Customs *customs, int branch)
{
    for (int f = 1; f < customs->model->appliance->function_count; f++)
        if (share_when_sound(customs, branch, f) > POWERED) return f;
    return 0;
}

int customs_rank(const Appliance *appliance, int part)
{
    static const char *const kinds[] = {
        "element",     "hidden-element", "one-shot-cutout", "cutout", "thermostat",     "selector", "relay",
        "hand-switch", "plug",           "harness",         "wire",   "terminal-block", "cord",     "breaker",
        "supply"};
    const int count = (int)(sizeof kinds / sizeof *kinds);
    int rank = 0;
    while (rank < count && !text_equal(appliance->parts[part].kind->name, kinds[rank])) rank++;
    return rank;
}

static void insert(const Appliance *appliance, int branch, Chain *chain)
{
    if (chain->count == CUSTOMS_MOST_CHAIN) return;
    const int rank = customs_rank(appliance, appliance->branches[branch].part);
    int at = chain->count++;
    for (; at > 0 && customs_rank(appliance, appliance->branches[chain->branches[at - 1]].part) > rank; at--)
        chain->branches[at] = chain->branches[at - 1];
    chain->branches[at] = branch;
}

static bool contains(const Chain *chain, int branch)
{
    for (int i = 0; i < chain->count; i++)
        if (chain->branches[i] == branch) return true;
    return false;
}

/* Read off the diagram: what is in series is what takes the power away when it is open. */
void customs_chain(const Customs *customs, int branch, int function, Chain *chain)
{
    const DiagnosisModel *model = customs->model;
    const Appliance *appliance = model->appliance;
    const double sound = share_when_sound(customs, branch, function);
    chain->count = 0;
    for (int f = 0; f < appliance->fault_count; f++) {
        const Fault *fault = &appliance->faults[f];
        const int variant = model->circuit.first_variant[f];
        if (fault->mode->effect != EFFECT_OPEN || fault->branch_count != 1) continue;
        if (circuit_power_share(&model->power, function, branch, &variant, 1) > DEAD * sound &&
            fault->branches[0] != branch)
            continue;
        if (!contains(chain, fault->branches[0])) insert(appliance, fault->branches[0], chain);
    }
}
