/* every_fault.c: each single fault of each shipped appliance, found, mended and proved by the program's
 * steps.
 *
 * A simulated technician takes the first step of the plan, whatever it is: reads what the circuit shows with
 * the fault in it (the meter's own error drawn at random, seed printed), sees, hears and logs what is most
 * likely under it, replaces and adjusts what is proposed, and asks again, until the call is to be closed or
 * handed over. A repair that cures the fault leaves a sound oven behind. The fault must be cured by then;
 * what only the owner can mend (a pan on the floor) needs no cure.
 *
 * The readings come from the program's own circuit and runs from its own oven, which are held against
 * independent references in core_circuit.reference and core_oven; this test is about the way from complaint
 * to proof. All faults are equally frequent here and each at the middle of its severity; in life the frequent
 * ones are found sooner. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/random.h"
#include "core/plan/plan_private.h"
#include "support/near.h"
#include "support/shipped.h"

static const double UNNOTICED = 0.25; /* of the owners: fewer would complain of it */
enum { MOST_STEPS = 80, MOST_ENTRIES = 2 * MOST_STEPS + 1, SEED = 20260, MIB = 1 << 20 };

enum { SAMPLE_STRIDE = 97 };

/* One appliance by its name with all its faults, every so manieth, or one of them with its trail; unasked, a
 * sample of all appliances, which is as much as the sanitizers can bear. */
static const char *only, *only_fault;
static int stride;

typedef struct {
    int faults, cured, unnoticed, one_part, steps;
    double second, cost_minor;
} Tally;

/* One call, while it is played. */
typedef struct {
    DiagnosisModel *model;
    int fault, truth; /* hypothesis: of the fault; 0 once it is cured */
    RandomStream *stream;
    Entry entries[MOST_ENTRIES];
    int check_of[MOST_ENTRIES]; /* -1: no check */
    Run runs[MOST_ENTRIES];
    Call call;
    int steps, parts;
    StepKind end; /* STEP_CHECK: there was none */
    double second, cost_minor;
    double noticed; /* how much likelier the fault makes the complaint */
} Game;

static void note(Game *game, Entry entry, int check)
{
    assert_true(game->call.entry_count < MOST_ENTRIES);
    game->check_of[game->call.entry_count] = check;
    game->entries[game->call.entry_count++] = entry;
}

/* The word that the owner of such an oven says most before others, of which a sound oven's owner would not.
 * How much more often that is: next to nothing means that nobody has anything to complain of. */
static double find_word(DiagnosisModel *model, int truth, int *word)
{
    const int which[] = {truth, 0};
    double most = -1;
    for (int c = 0; c < model->appliance->check_count; c++) {
        const Check *check = &model->appliance->checks[c];
        if (check->kind != CHECK_ASK) continue;
        Arena arena = arena_new(8 * MIB);
        Prediction prediction;
        Error error = {0};
        assert_true(diagnosis_predict(model, NULL, c, which, 2, &arena, &prediction, &error));
        const int yes = prediction.outcomes[0].kind == OUTCOME_YES ? 0 : 1;
        const double more = prediction.chance[yes] - prediction.chance[DIAGNOSIS_MOST_OUTCOMES + yes];
        if (more > most) *word = check->word;
        most = fmax(most, more);
        arena_free(&arena);
    }
    return most;
}

static int most_likely(const double *chance, int count)
{
    int best = 0;
    for (int o = 1; o < count; o++)
        if (chance[o] > chance[best]) best = o;
    return best;
}

/* What the meter shows on the oven as it is now. */
static Entry read_meter(Game *game, int check)
{
    DiagnosisModel *model = game->model;
    const Hypothesis *truth = &model->hypotheses[game->truth];
    const Connection connection = appliance_connection(&model->appliance->checks[check]);
    CircuitMeter meter;
    assert_true(circuit_connect(&model->circuit, &connection, &meter, NULL));
    const MeterMode mode = (MeterMode)connection.kind;
    const double shown = circuit_read(&meter, truth->variants, truth->count).value;
    const double spread =
        meter_is_over(&model->meter, mode, shown) ? 0 : meter_uncertainty(&model->meter, mode, shown);
    const double display =
        meter_display(&model->meter, mode, fmax(shown + spread * random_normal(game->stream), 0));
    return diagnosis_entry(model, check, &(Outcome){.low = display, .high = display}, NULL);
}

static void make_check(Game *game, int check)
{
    Run *run = &game->runs[game->call.entry_count];
    Arena arena = arena_new(8 * MIB);
    Prediction prediction;
    Error error = {0};
    assert_true(
        diagnosis_predict(game->model, &game->call, check, &game->truth, 1, &arena, &prediction, &error));
    if (game->model->appliance->checks[check].from >= 0) {
        note(game, read_meter(game, check), check);
    } else {
        const int seen = most_likely(prediction.chance, prediction.outcome_count);
        note(game, diagnosis_entry(game->model, check, &prediction.outcomes[seen], run), check);
    }
    arena_free(&arena);
}

/* A new part cures what is bought with it; adjusting cures what the screw or the setting reaches. */
static void mend(Game *game, const Step *step)
{
    const Appliance *appliance = game->model->appliance;
    const Fault *fault = &appliance->faults[game->fault];
    const bool is_within = /* of a fault that is cured already there is nothing to reach */
        game->truth > 0 && diagnosis_is_within_reach(game->model, &game->call, game->call.entry_count,
                                                     &game->model->hypotheses[game->truth], 0);
    const bool is_adjusted = fault->part == step->part && fault->mode->adjust_second > 0 && is_within,
               is_renewed =
                   fault->part == step->part || appliance->parts[fault->part].replaced_with == step->part;
    if (step->is_adjustment ? is_adjusted : is_renewed) game->truth = 0;
    game->parts += !step->is_adjustment;
    note(game,
         (Entry){.kind = ENTRY_REPAIR,
                 .part = step->part,
                 .function = -1,
                 .text = step->is_adjustment ? "adjusted" : "replaced"},
         -1);
}

static void take(Game *game, const Step *step)
{
    game->steps++;
    game->second += step->second;
    game->cost_minor += (double)step->cost_minor;
    if (step->needs.needs_proof) note(game, (Entry){.kind = ENTRY_DEAD, .part = -1}, -1);
    if (step->kind == STEP_REPAIR)
        mend(game, step);
    else if (step->kind == STEP_REPEAT)
        make_check(game, game->check_of[step->entry]);
    else
        make_check(game, step->check);
}

/* Until the call is to be closed or handed over, or nothing may be done any more. */
static void play(Game *game)
{
    const PlanTerms terms = plan_default_terms();
    Entry complaint = {.kind = ENTRY_COMPLAINT, .word_count = 1, .part = -1};
    game->noticed = find_word(game->model, game->truth, &complaint.words[0]);
    note(game, complaint, -1);
    for (bool goes_on = true; goes_on && game->steps < MOST_STEPS;) {
        Arena arena = arena_new(256 * MIB);
        Standing standing;
        Plan plan;
        Error error = {0};
        assert_true(diagnose(game->model, &game->call, &arena, &standing, &error));
        assert_true(plan_next(game->model, &standing, &terms, &arena, &plan, &error));
        goes_on = plan.step_count > 0 && plan.steps[0].kind < STEP_CLOSE;
        if (goes_on)
            take(game, &plan.steps[0]);
        else if (plan.step_count > 0)
            game->end = plan.steps[0].kind;
        if (game->end == STEP_HAND_OVER) game->cost_minor += (double)terms.hand_over_minor;
        arena_free(&arena);
    }
}

/* Bakes right with the fault in it, and hardly an owner complains of it: what there is to find is not what
 * the call was about, and the oven is within its specification. */
static bool is_unnoticed(const Game *game)
{
    bool ran_right = false;
    for (int e = 0; e < game->call.entry_count; e++)
        ran_right |= game->entries[e].kind == ENTRY_RUN && diagnosis_is_right(game->model, &game->entries[e]);
    return game->noticed < UNNOTICED && ran_right && game->truth != 0 && game->end >= STEP_CLOSE;
}

static void print_entry(const Game *game, const Entry *entry)
{
    const Appliance *appliance = game->model->appliance;
    const Connection *connection = &entry->connection;
    if (entry->kind == ENTRY_READING)
        print_message("      %s-%s in %s, %d lifted, %d unplugged: %.5g\n",
                      appliance->marks[connection->from].name, appliance->marks[connection->to].name,
                      appliance->functions[connection->function].name, connection->lift_count,
                      connection->unplug_count, entry->value.value);
    else if (entry->kind == ENTRY_LOOK)
        print_message("      %s %s\n", appliance->parts[entry->part].name,
                      appliance->catalogue->looks[entry->words[0]].name);
    else if (entry->kind == ENTRY_RUN)
        print_message("      run: mean %.0f, end %.0f, swing %.0f\n", entry->run->mean_celsius.value,
                      entry->run->end_celsius, entry->run->swing_kelvin.value);
    else if (entry->kind == ENTRY_REPAIR)
        print_message("      %s %s\n", entry->text, appliance->parts[entry->part].name);
    else if (entry->kind == ENTRY_COMPLAINT || entry->kind == ENTRY_ASKED)
        print_message("      %s%s\n", appliance->catalogue->complaints[entry->words[0]].name,
                      entry->kind == ENTRY_COMPLAINT ? ""
                      : entry->is_yes                ? ", asked: yes"
                                                     : ", asked: no");
    else if (entry->kind == ENTRY_SETTING || entry->kind == ENTRY_SPOT)
        print_message("      %s %.4g %s\n", call_entry_kind_name(entry->kind), entry->value.value,
                      entry->shows ? entry->shows : "");
}

static void print_end(const Game *game)
{
    static const char *const ends[] = {[STEP_CLOSE] = "closed", [STEP_HAND_OVER] = "handed over"};
    const char *end = game->end ? ends[game->end] : game->steps < MOST_STEPS ? "barred" : "no end";
    print_message("  %s: %s, %s after %d steps, %d parts; noticed %.2f\n",
                  is_unnoticed(game) ? "unnoticed"
                  : game->truth      ? "missed"
                                     : "cured",
                  game->model->appliance->faults[game->fault].name, end, game->steps, game->parts,
                  game->noticed);
    if (!only_fault) return;
    for (int e = 0; e < game->call.entry_count; e++) print_entry(game, &game->entries[e]);
}

static void play_fault(DiagnosisModel *model, int fault, RandomStream *stream, Tally *tally)
{
    static Game game;
    const HypothesisGroup *group = &model->groups[1 + fault];
    game = (Game){.model = model,
                  .fault = fault,
                  .truth = group->first_hypothesis + group->hypothesis_count / 2,
                  .stream = stream};
    game.call = (Call){.title = "", .entries = game.entries, .meter = model->meter, .ambient_celsius = 22};
    play(&game);
    const bool is_cured =
        game.truth == 0 || (game.end == STEP_CLOSE && plan__is_harmless(model->appliance, fault));
    tally->faults++;
    tally->cured += is_cured;
    tally->unnoticed += !is_cured && is_unnoticed(&game);
    tally->one_part += is_cured && game.parts <= 1;
    tally->steps += game.steps;
    tally->second += game.second;
    tally->cost_minor += game.cost_minor;
    if (!is_cured || game.end != STEP_CLOSE || only_fault) print_end(&game);
}

static void play_appliance(const char *name, Tally *tally)
{
    Arena arena = arena_new(1024 * (size_t)MIB);
    Appliance appliance;
    DiagnosisModel model;
    Error error = {0};
    const Meter meter = meter_default();
    RandomStream stream = random_stream(SEED);
    *tally = (Tally){0};
    shipped_build(name, &arena, &appliance);
    assert_true(diagnosis_begin(&appliance, 22, &meter, NULL, &arena, &model, &error));
    for (int f = 0; f < appliance.fault_count; f += stride)
        if (!only_fault || strcmp(appliance.faults[f].name, only_fault) == 0)
            play_fault(&model, f, &stream, tally);
    print_message("| %-22s | %6d | %5d | %9d | %8d | %5.1f | %7.1f | %6.0f |\n", name, tally->faults,
                  tally->cured, tally->unnoticed, tally->one_part, (double)tally->steps / tally->faults,
                  tally->second / tally->faults / 60, tally->cost_minor / tally->faults / 100);
    arena_free(&arena);
}

static void cures_every_single_fault(void **state)
{
    (void)state;
    int missed = 0;
    print_message("seed %d\n| %-22s | faults | cured | unnoticed | one part | steps | minutes |   cost |\n",
                  SEED, "appliance");
    for (int i = 0; i < SHIPPED_COUNT; i++) {
        Tally tally;
        if (only && strcmp(only, shipped_names[i]) != 0) continue;
        play_appliance(shipped_names[i], &tally);
        missed += tally.faults - tally.cured - tally.unnoticed;
    }
    assert_int_equal(missed, 0);
}

int main(int argc, char **argv)
{
    only = argc > 1 ? argv[1] : NULL;
    const long every = argc > 2 ? strtol(argv[2], NULL, 10) : 0;
    stride = every > 0 ? (int)every : only ? 1 : SAMPLE_STRIDE;
    only_fault = argc > 2 && every <= 0 ? argv[2] : NULL;
    const struct CMUnitTest tests[] = {cmocka_unit_test(cures_every_single_fault)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
