/* every_fault.c: each single fault of each shipped appliance, found by the program's own steps.
 *
 * A simulated technician takes the proposed step, reads what the circuit shows with the fault in it (the
 * meter's own error drawn at random, seed printed), writes it down, and asks again, until the program says
 * that it is done. What it then names must contain the fault with a probability above 0.95: the fault alone,
 * or a set that no available check tells apart. Faults that neither meter nor eye can find (a control out of
 * calibration) end in such a set together with 'nothing wrong'; a temperature run is what tells those apart.
 *
 * The readings come from the program's own circuit, which is held against an independent simulator in
 * core_circuit.reference; this test is about the way from readings to fault. */
#include <math.h>
#include <string.h>

#include "base/random.h"
#include "core/plan/plan.h"
#include "support/near.h"
#include "support/shipped.h"

enum { MOST_STEPS = 100, SEED = 20260, MIB = 1 << 20 };

typedef struct {
    int faults, found, in_sets, steps;
    double second;
} Tally;

/* What the owner of such an oven would say: the word that fits the fault best. */
static Entry complain(const DiagnosisModel *model, const Hypothesis *truth)
{
    const Catalogue *catalogue = model->appliance->catalogue;
    bool holds[CONDITION_COUNT];
    circuit_conditions(&model->power, truth->variants, truth->count, holds);
    int best = 0;
    double most = -1;
    for (int w = 0; w < catalogue->complaint_count; w++) {
        double absent = 1 - catalogue->complaints[w].otherwise;
        for (int c = 0; c < CONDITION_COUNT; c++) {
            const Fault *fault = &model->appliance->faults[model->circuit.variants[truth->variants[0]].fault];
            const double strength = c >= CONDITION_COMPUTED && holds[c] ? 1 : fault->mode->condition[c];
            absent *= 1 - catalogue->complaints[w].when[c] * strength;
        }
        if (1 - absent <= most) continue;
        most = 1 - absent;
        best = w;
    }
    return (Entry){.kind = ENTRY_COMPLAINT, .words = {best}, .word_count = 1};
}

static int most_likely(const double *chance, int count)
{
    int best = 0;
    for (int o = 1; o < count; o++)
        if (chance[o] > chance[best]) best = o;
    return best;
}

/* Makes the proposed check on an oven with the true fault. */
static Entry observe(DiagnosisModel *model, int check, int truth, RandomStream *stream)
{
    const Check *asked = &model->appliance->checks[check];
    Error error;
    if (asked->from < 0) {
        Arena arena = arena_new(MIB);
        Prediction prediction;
        assert_true(diagnosis_predict(model, NULL, check, &truth, 1, &arena, &prediction, &error));
        const Outcome seen = prediction.outcomes[most_likely(prediction.chance, prediction.outcome_count)];
        arena_free(&arena);
        return diagnosis_entry(model, check, &seen, NULL);
    }
    const Hypothesis *hypothesis = &model->hypotheses[truth];
    const CircuitMeter *meter = &model->check_meters[check];
    const MeterMode mode = (MeterMode)meter->connection.kind;
    const double shown = circuit_read(meter, hypothesis->variants, hypothesis->count).value;
    const double error_of_meter =
        meter_is_over(&model->meter, mode, shown) ? 0 : meter_uncertainty(&model->meter, mode, shown);
    double display =
        meter_display(&model->meter, mode, fmax(shown + error_of_meter * random_normal(stream), 0));
    return diagnosis_entry(model, check, &(Outcome){.low = display, .high = display}, NULL);
}

static double set_share(const Plan *plan, const DiagnosisModel *model, int truth)
{
    for (int i = 0; i < plan->set_count; i++)
        if (plan->set[i] == model->hypotheses[truth].group) return plan->set_probability;
    return 0;
}

static void print_miss(const DiagnosisModel *model, const Standing *standing, const Plan *plan,
                       const Entry *entries, int count, int truth)
{
    const Fault *fault =
        &model->appliance->faults[model->circuit.variants[model->hypotheses[truth].variants[0]].fault];
    print_message("  missed %s (verdict %d, set of %d with %.3f) after %d entries\n", fault->name,
                  plan->verdict, plan->set_count, plan->set_probability, count);
    for (int i = 0; i < plan->set_count || i < 4; i++) {
        const Suspect *suspect = &standing->suspects[i];
        const HypothesisGroup *group = &model->groups[suspect->group];
        print_message("      %.4f %s%s%s\n", suspect->probability,
                      model->appliance->faults[group->faults[0]].name, group->count > 1 ? "+" : "",
                      group->count > 1 ? model->appliance->faults[group->faults[1]].name : "");
    }
    for (int e = 0; e < count; e++) {
        const Entry *entry = &entries[e];
        if (entry->kind == ENTRY_READING)
            print_message("      %d: %s-%s %s %.5g\n", e,
                          model->appliance->marks[entry->connection.from].name,
                          model->appliance->marks[entry->connection.to].name,
                          model->appliance->functions[entry->connection.function].name, entry->value.value);
        else if (entry->kind == ENTRY_LOOK)
            print_message("      %d: %s %s\n", e, model->appliance->parts[entry->part].name,
                          model->appliance->catalogue->looks[entry->words[0]].name);
    }
}

static bool play(DiagnosisModel *model, int truth, RandomStream *stream, Tally *tally)
{
    Entry entries[MOST_STEPS + 1];
    const PlanTerms terms = plan_default_terms();
    Call call = {.title = "", .entries = entries, .entry_count = 1, .meter = model->meter};
    Standing standing;
    Plan plan = {.is_done = false};
    Error error = {0};
    bool found = false;
    entries[0] = complain(model, &model->hypotheses[truth]);
    while (true) {
        Arena arena = arena_new(64 * MIB);
        assert_true(diagnose(model, &call, &arena, &standing, &error));
        assert_true(plan_next(model, &standing, &terms, &arena, &plan, &error));
        const bool stop = plan.is_done || call.entry_count > MOST_STEPS - 1;
        if (!stop) {
            const Step *step = &plan.steps[0];
            tally->steps++;
            tally->second += step->second;
            entries[call.entry_count] =
                step->kind == STEP_REPEAT ? entries[step->entry] : observe(model, step->check, truth, stream);
            call.entry_count++;
        } else {
            found = set_share(&plan, model, truth) > 0.95;
            if (!found) print_miss(model, &standing, &plan, entries, call.entry_count, truth);
            tally->found += found;
            tally->in_sets += found && plan.set_count > 1;
        }
        arena_free(&arena);
        if (stop) return found;
    }
}

/* Returns how many faults were missed. */
static int play_appliance(const char *name, int stride)
{
    Arena arena = arena_new(256 * MIB);
    Appliance appliance;
    DiagnosisModel model;
    Error error = {0};
    const Meter meter = meter_default();
    RandomStream stream = random_stream(SEED);
    Tally tally = {0};
    shipped_build(name, &arena, &appliance);
    assert_true(diagnosis_begin(&appliance, 22, &meter, NULL, &arena, &model, &error));
    for (int f = 0; f < appliance.fault_count; f += stride) {
        tally.faults++;
        const HypothesisGroup *group = &model.groups[1 + f];
        play(&model, group->first_hypothesis + group->hypothesis_count / 2, &stream, &tally);
    }
    print_message("| %-22s | %6d | %5d | %7d | %6.1f | %7.1f |\n", name, tally.faults, tally.found,
                  tally.in_sets, (double)tally.steps / tally.faults, tally.second / tally.faults / 60);
    arena_free(&arena);
    return tally.faults - tally.found;
}

/* One appliance by its name with all its faults; or, unasked, a sample of all appliances, which is as much as
 * the sanitizers can bear. */
static const char *only;
enum { SAMPLE_STRIDE = 29 };

static void finds_every_single_fault(void **state)
{
    (void)state;
    int missed = 0;
    print_message("seed %d\n| %-22s | faults | found | in sets | checks | minutes |\n", SEED, "appliance");
    for (int i = 0; i < SHIPPED_COUNT; i++)
        if (!only || text_equal(only, shipped_names[i]))
            missed += play_appliance(shipped_names[i], only ? 1 : SAMPLE_STRIDE);
    assert_int_equal(missed, 0);
}

int main(int argc, char **argv)
{
    only = argc > 1 ? argv[1] : NULL;
    const struct CMUnitTest tests[] = {cmocka_unit_test(finds_every_single_fault)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
