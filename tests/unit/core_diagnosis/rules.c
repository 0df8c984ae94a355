/* rules.c: what a standing starts from, what a repair leaves, what leads on a sound oven.
 *
 * Readings are made up for one shipped oven. Not here: what must hold of any standing (standing.c). */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "core/diagnosis/diagnosis.h"
#include "support/near.h"
#include "support/shipped.h"

enum { MIB = 1 << 20, MOST = 12 };

typedef struct {
    Arena arena;
    Appliance appliance;
    DiagnosisModel model;
    Entry entries[MOST];
    Call call;
    Standing standing;
} Fixture;

static int set_up(void **state)
{
    Fixture *f = calloc(1, sizeof *f);
    Error error;
    f->arena = arena_new((size_t)256 * MIB);
    shipped_build("range-relay-control", &f->arena, &f->appliance);
    const Meter meter = meter_default();
    assert_true(diagnosis_begin(&f->appliance, 22, &meter, &f->arena, &f->model, &error));
    f->call = (Call){.title = "", .entries = f->entries, .meter = meter};
    *state = f;
    return 0;
}

static int tear_down(void **state)
{
    Fixture *f = *state;
    arena_free(&f->arena);
    free(f);
    return 0;
}

static Entry reading(const Fixture *f, ReadingKind kind, const char *from, const char *to, double shown)
{
    Entry entry = {.kind = ENTRY_READING, .part = -1};
    entry.connection = (Connection){.kind = kind, .power_on = kind != READING_OHM};
    entry.connection.from = appliance_find_mark(&f->appliance, from);
    entry.connection.to = appliance_find_mark(&f->appliance, to);
    entry.value = (Quantity){.value = shown, .is_over = isinf(shown)};
    return entry;
}

static Entry look(const Fixture *f, const char *part, const char *word, const char *function)
{
    return (Entry){.kind = ENTRY_LOOK,
                   .part = appliance_find_part(&f->appliance, part),
                   .words = {kind_find_look(f->appliance.catalogue, word)},
                   .word_count = 1,
                   .function = function ? appliance_find_function(&f->appliance, function) : -1};
}

static Entry complaint(const Fixture *f, const char *word)
{
    return (Entry){.kind = ENTRY_COMPLAINT,
                   .words = {kind_find_complaint(f->appliance.catalogue, word)},
                   .word_count = 1};
}

static Entry repair(const Fixture *f, const char *part)
{
    return (Entry){
        .kind = ENTRY_REPAIR, .part = appliance_find_part(&f->appliance, part), .text = "replaced"};
}

static void add(Fixture *f, Entry entry)
{
    assert_true(f->call.entry_count < MOST);
    f->entries[f->call.entry_count++] = entry;
}

static void stand(Fixture *f)
{
    Error error;
    assert_true(diagnose(&f->model, &f->call, &f->arena, &f->standing, &error));
}

static double probability(const Fixture *f, const char *fault)
{
    const int number = appliance_find_fault(&f->appliance, fault);
    assert_true(number >= 0);
    for (int s = 0; s < f->standing.suspect_count; s++) {
        const HypothesisGroup *group = &f->model.groups[f->standing.suspects[s].group];
        if (group->count == 1 && group->faults[0] == number) return f->standing.suspects[s].probability;
    }
    fail_msg("%s is no suspect", fault);
    return 0;
}

static void add_some(Fixture *f)
{
    add(f, complaint(f, "pale-bottom"));
    add(f, look(f, "bake-element", "dark", "bake"));
    add(f, reading(f, READING_VOLT, "L1", "L2", 238));
    add(f, reading(f, READING_OHM, "BK1", "BK2", INFINITY));
}

static void priors_are_those_of_the_appliance(void **state)
{
    Fixture *f = *state;
    double kept = 0;
    for (int h = 0; h < f->model.hypothesis_count; h++) kept += f->model.hypotheses[h].prior;
    assert_near(kept, 1, 1e-12);
    assert_true(f->model.hypothesis_count >= 2000);
    assert_true(f->model.left_out >= 0 && f->model.left_out < 0.02);
    stand(f); /* no entry yet */
    const int open = appliance_find_fault(&f->appliance, "bake-element.open");
    const double second = f->appliance.catalogue->second_fault;
    assert_near(probability(f, "bake-element.open") / f->standing.nothing_wrong.probability,
                f->appliance.faults[open].prior * (1 - second) / f->appliance.nothing_wrong_prior, 1e-12);
}

/* A pair is left as the fault that was not mended. */
static void repair_leaves_the_other_fault(void **state)
{
    Fixture *f = *state;
    add(f, look(f, "bake-element", "dark", "bake"));
    add(f, look(f, "broil-element", "dark", "broil"));
    add(f, reading(f, READING_OHM, "BK1", "BK2", INFINITY));
    add(f, reading(f, READING_OHM, "BR1", "BR2", INFINITY));
    stand(f);
    assert_int_equal(f->model.groups[f->standing.suspects[0].group].count, 2);
    const double both = f->standing.suspects[0].probability;
    add(f, repair(f, "bake-element"));
    stand(f);
    assert_true(probability(f, "broil-element.open") >= 0.97 * both);
}

static void replacing_the_control_cures_its_relays(void **state)
{
    Fixture *f = *state;
    add(f, look(f, "bake-element", "dark", "bake"));
    add(f, reading(f, READING_OHM, "BK1", "BK2", 23.2));
    stand(f);
    const double before = probability(f, "bake-relay.open");
    assert_true(before > 0.1);
    add(f, repair(f, "control"));
    stand(f);
    assert_near(probability(f, "bake-relay.open"), 0.02 * before, 1e-9);
}

static void fitting_entries_are_no_contradiction(void **state)
{
    Fixture *f = *state;
    add_some(f);
    stand(f);
    assert_int_equal(f->standing.contradiction_count, 0);
}

static void sound_oven_leads(void **state)
{
    Fixture *f = *state;
    add(f, look(f, "bake-element", "glows", "bake"));
    add(f, look(f, "broil-element", "glows", "broil"));
    add(f, look(f, "door-gasket", "sound", NULL));
    add(f, reading(f, READING_OHM, "BK1", "BK2", 23.1));
    add(f, reading(f, READING_OHM, "N", "G", 0.4));
    stand(f);
    assert_true(f->standing.nothing_wrong.probability > f->standing.suspects[0].probability);
}

static void runs_and_notes_are_not_weighed(void **state)
{
    Fixture *f = *state;
    add_some(f);
    stand(f);
    const double *before = f->standing.probability;
    add(f, (Entry){.kind = ENTRY_RUN, .text = "run.csv", .set_celsius = 177});
    add(f, (Entry){.kind = ENTRY_NOTE, .text = "dog barks"});
    stand(f);
    assert_false(diagnosis_weighs(&f->entries[4]));
    assert_memory_equal(before, f->standing.probability, (size_t)f->model.hypothesis_count * sizeof(double));
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

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
    return cmocka_run_group_tests(tests, NULL, NULL);
}
