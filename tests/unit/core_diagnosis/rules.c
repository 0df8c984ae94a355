/* rules.c: what a standing starts from, what a repair leaves, what leads on a sound oven.
 *
 * Readings are made up for one shipped oven. Not here: what must hold of any standing (standing.c). */
#include <math.h>
#include <string.h>

#include "support/near.h"
#include "support/visit.h"

static int begin(void **state)
{
    static Visit visit;
    visit_begin(&visit, "range-relay-control");
    *state = &visit;
    return 0;
}

static int end(void **state)
{
    visit_end(*state);
    return 0;
}

static int fresh(void **state)
{
    visit_forget(*state);
    return 0;
}

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

static void runs_and_notes_are_not_weighed(void **state)
{
    Visit *visit = *state;
    tell_of_a_dark_element(visit);
    visit_diagnose(visit);
    const double *before = visit->standing.probability;
    visit->entries[visit->call.entry_count++] =
        (Entry){.kind = ENTRY_RUN, .text = "run.csv", .set_celsius = 177};
    visit->entries[visit->call.entry_count++] = (Entry){.kind = ENTRY_NOTE, .text = "dog barks"};
    visit_diagnose(visit);
    assert_false(diagnosis_weighs(&visit->entries[4]));
    assert_memory_equal(before, visit->standing.probability,
                        (size_t)visit->model.hypothesis_count * sizeof(double));
}

#define TEST(name) cmocka_unit_test_setup(name, fresh)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(priors_are_those_of_the_appliance),
        TEST(repair_leaves_the_other_fault),
        TEST(replacing_the_control_cures_its_relays),
        TEST(fitting_entries_are_no_contradiction),
        TEST(sound_oven_leads),
        TEST(runs_and_notes_are_not_weighed),
    };
    return cmocka_run_group_tests(tests, begin, end);
}
