/* rules.c: what a standing starts from, what a repair leaves, what leads on a sound oven.
 *
 * Readings are made up for one shipped oven. Not here: what must hold of any standing (standing.c). */
#include <math.h>
#include <string.h>

#include "support/near.h"
#include "support/shipped.h"
#include "support/visit.h"

static void tell_of_a_dark_element(Visit *visit)
{
    visit_complain(visit, "pale-bottom");
    visit_look(visit, "bake-element", "dark", "bake");
    visit_volt(visit, "L1", "L2", 238, NULL);
    visit_ohm(visit, "BK1", "BK2", INFINITY, NULL);
}

static void priors_are_those_of_the_appliance(void **state)
{
    Visit *visit = *state;
    double kept = 0;
    for (int h = 0; h < visit->model.hypothesis_count; h++) kept += visit->model.hypotheses[h].prior;
    assert_near(kept, 1, 1e-12);
    assert_true(visit->model.hypothesis_count >= 2000);
    assert_true(visit->model.left_out >= 0 && visit->model.left_out < 0.02);
    visit_diagnose(visit); /* no entry yet */
    const int open = appliance_find_fault(&visit->appliance, "bake-element.open");
    const double second = visit->appliance.catalogue->second_fault;
    assert_near(visit_probability(visit, "bake-element.open") / visit->standing.nothing_wrong.probability,
                visit->appliance.faults[open].prior * (1 - second) / visit->appliance.nothing_wrong_prior,
                1e-12);
}

/* Weight of all pairs of faults of two parts, as the head of model.c has it; what was kept of it stands among
 * the hypotheses, all of them scaled alike, and the rest is said. */
static double weight_of_all_pairs(const Appliance *appliance)
{
    double sum = 0, products = 0;
    for (int a = 0; a < appliance->fault_count; a++) {
        sum += appliance->faults[a].prior;
        for (int b = a + 1; b < appliance->fault_count; b++)
            if (appliance->faults[a].part != appliance->faults[b].part)
                products += appliance->faults[a].prior * appliance->faults[b].prior;
    }
    return 2 * appliance->catalogue->second_fault * products / sum;
}

static void pairs_left_out_are_counted(void **state)
{
    (void)state;
    for (int a = 0; a < SHIPPED_COUNT; a++) {
        static Visit visit;
        visit_begin(&visit, shipped_names[a]);
        const DiagnosisModel *model = &visit.model;
        const double scale = model->hypotheses[0].prior / visit.appliance.nothing_wrong_prior;
        double kept = 0;
        for (int h = 0; h < model->hypothesis_count; h++)
            if (model->hypotheses[h].count == 2) kept += model->hypotheses[h].prior / scale;
        assert_near(kept + model->left_out, weight_of_all_pairs(&visit.appliance), 1e-12);
        visit_end(&visit);
    }
}

/* A pair is left as the fault that was not mended. */
static void repair_leaves_the_other_fault(void **state)
{
    Visit *visit = *state;
    visit_look(visit, "bake-element", "dark", "bake");
    visit_look(visit, "broil-element", "dark", "broil");
    visit_ohm(visit, "BK1", "BK2", INFINITY, NULL);
    visit_ohm(visit, "BR1", "BR2", INFINITY, NULL);
    visit_diagnose(visit);
    assert_int_equal(visit->model.groups[visit->standing.suspects[0].group].count, 2);
    const double both = visit->standing.suspects[0].probability;
    visit_repair(visit, "bake-element");
    visit_diagnose(visit);
    assert_true(visit_probability(visit, "broil-element.open") >= 0.97 * both);
}

static void replacing_the_control_cures_its_relays(void **state)
{
    Visit *visit = *state;
    visit_look(visit, "bake-element", "dark", "bake");
    visit_ohm(visit, "BK1", "BK2", 23.2, NULL);
    visit_diagnose(visit);
    const double before = visit_probability(visit, "bake-relay.open");
    assert_true(before > 0.1);
    visit_repair(visit, "control");
    visit_diagnose(visit);
    assert_near(visit_probability(visit, "bake-relay.open"), 0.02 * before, 1e-9);
}

static void fitting_entries_are_no_contradiction(void **state)
{
    Visit *visit = *state;
    tell_of_a_dark_element(visit);
    visit_diagnose(visit);
    assert_int_equal(visit->standing.contradiction_count, 0);
}

static void sound_oven_leads(void **state)
{
    Visit *visit = *state;
    visit_look(visit, "bake-element", "glows", "bake");
    visit_look(visit, "broil-element", "glows", "broil");
    visit_look(visit, "door-gasket", "sound", NULL);
    visit_ohm(visit, "BK1", "BK2", 23.1, NULL);
    visit_ohm(visit, "N", "G", 0.4, NULL);
    visit_diagnose(visit);
    assert_true(visit->standing.nothing_wrong.probability > visit->standing.suspects[0].probability);
}

/* Every check of a sound appliance, with what a sound one shows by the circuit alone (no hypothesis but that
 * one is asked). Watched parts work, parts looked at are sound. */
static Entry sound_entry(Visit *visit, int check)
{
    const Appliance *appliance = &visit->appliance;
    Entry entry = diagnosis_entry(&visit->model, check, &(Outcome){.kind = OUTCOME_DISPLAY}, NULL);
    Error error;
    if (entry.kind == ENTRY_READING) {
        CircuitMeter meter;
        assert_true(circuit_connect(&visit->model.circuit, &entry.connection, &meter, &error));
        double shown = circuit_read(&meter, NULL, 0).value;
        const bool is_ohm = entry.connection.kind == READING_OHM;
        if (is_ohm) shown += visit->call.meter.lead_ohm;
        if (is_ohm && meter_is_over(&visit->call.meter, METER_OHM, shown)) shown = INFINITY;
        return diagnosis_entry(&visit->model, check, &(Outcome){.low = shown, .high = shown}, NULL);
    }
    const PartKind *kind = appliance->parts[appliance->checks[check].part].kind;
    for (int i = 0; i < kind->look_count; i++)
        if (appliance->catalogue->looks[kind->looks[i]].is_sound) entry.words[0] = kind->looks[i];
    return entry;
}

static void every_reading_of_a_sound_appliance_fits(void **state)
{
    (void)state;
    for (int a = 0; a < SHIPPED_COUNT; a++) {
        static Visit visit;
        static Entry entries[400];
        visit_begin(&visit, shipped_names[a]);
        visit.call.entries = entries;
        for (int c = 0; c < visit.appliance.check_count; c++)
            if (visit.appliance.checks[c].kind < CHECK_WATCH)
                entries[visit.call.entry_count++] = sound_entry(&visit, c);
        assert_true(visit.call.entry_count <= 400);
        visit_diagnose(&visit);
        const Standing *standing = &visit.standing;
        print_message("%s: %d entries, nothing wrong %.3f, then %.3f\n", shipped_names[a],
                      visit.call.entry_count, standing->nothing_wrong.probability,
                      standing->suspects[0].probability);
        assert_true(standing->nothing_wrong.probability > standing->suspects[0].probability);
        assert_int_equal(standing->contradiction_count, 0);
        visit_end(&visit);
    }
}

static void notes_and_runs_without_figures_are_not_weighed(void **state)
{
    Visit *visit = *state;
    tell_of_a_dark_element(visit);
    visit_diagnose(visit);
    const double *before = visit->standing.probability;
    visit->entries[visit->call.entry_count++] =
        (Entry){.kind = ENTRY_RUN, .text = "run.csv", .set_celsius = 177};
    visit->entries[visit->call.entry_count++] = (Entry){.kind = ENTRY_NOTE, .text = "dog barks"};
    visit_diagnose(visit);
    assert_false(diagnosis_weighs(&visit->model, &visit->entries[4]));
    assert_memory_equal(before, visit->standing.probability,
                        (size_t)visit->model.hypothesis_count * sizeof(double));
}

#define TEST(name) cmocka_unit_test_setup(name, visit_set_up)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(priors_are_those_of_the_appliance),       TEST(pairs_left_out_are_counted),
        TEST(repair_leaves_the_other_fault),           TEST(replacing_the_control_cures_its_relays),
        TEST(fitting_entries_are_no_contradiction),    TEST(sound_oven_leads),
        TEST(every_reading_of_a_sound_appliance_fits), TEST(notes_and_runs_without_figures_are_not_weighed),
    };
    return cmocka_run_group_tests(tests, visit_set_up_group, visit_tear_down_group);
}
