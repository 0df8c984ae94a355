/* steps.c: what a plan must obey: prices, what is not proposed twice, verdicts, what goes before all checks.
 *
 * Minutes and places are those of the shipped files. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "core/plan/plan.h"
#include "support/near.h"
#include "support/shipped.h"

enum { MIB = 1 << 20, MOST = 16 };

typedef struct {
    Arena arena;
    Appliance appliance;
    DiagnosisModel model;
    Entry entries[MOST];
    Call call;
    Standing standing;
    Plan plan;
} Fixture;

static int set_up(void **state)
{
    Fixture *f = calloc(1, sizeof *f);
    Error error;
    f->arena = arena_new((size_t)512 * MIB);
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

static void add(Fixture *f, Entry entry)
{
    assert_true(f->call.entry_count < MOST);
    f->entries[f->call.entry_count++] = entry;
}

static void add_reading(Fixture *f, ReadingKind kind, const char *from, const char *to, double shown)
{
    Entry entry = {.kind = ENTRY_READING, .part = -1};
    entry.connection = (Connection){.kind = kind, .power_on = kind != READING_OHM};
    entry.connection.from = appliance_find_mark(&f->appliance, from);
    entry.connection.to = appliance_find_mark(&f->appliance, to);
    entry.value = (Quantity){.value = shown, .is_over = isinf(shown)};
    add(f, entry);
}

static void add_look(Fixture *f, const char *part, const char *word, const char *function)
{
    add(f, (Entry){.kind = ENTRY_LOOK,
                   .part = appliance_find_part(&f->appliance, part),
                   .words = {kind_find_look(f->appliance.catalogue, word)},
                   .word_count = 1,
                   .function = function ? appliance_find_function(&f->appliance, function) : -1});
}

static void add_complaint(Fixture *f, const char *word)
{
    add(f, (Entry){.kind = ENTRY_COMPLAINT,
                   .words = {kind_find_complaint(f->appliance.catalogue, word)},
                   .word_count = 1});
}

static void plan(Fixture *f)
{
    Error error;
    const PlanTerms terms = plan_default_terms();
    assert_true(diagnose(&f->model, &f->call, &f->arena, &f->standing, &error));
    assert_true(plan_next(&f->model, &f->standing, &terms, &f->arena, &f->plan, &error));
    assert_true(f->plan.step_count >= 1 && f->plan.step_count <= PLAN_MOST_STEPS);
}

static const DescribedPlace *place(const Fixture *f, const char *name)
{
    for (int p = 0; p < f->appliance.description->place_count; p++)
        if (text_equal(f->appliance.description->places[p].name, name))
            return &f->appliance.description->places[p];
    fail_msg("no place %s", name);
    return NULL;
}

/* What must lie open, with the power off, before a check is made: each place once, what is before it first.
 */
static void assert_priced(const Fixture *f, const Step *step)
{
    const PlanTerms terms = plan_default_terms();
    const Check *check = &f->appliance.checks[step->check];
    double least = check->second;
    for (int i = 0; i < step->open_count; i++) {
        const DescribedPlace *opened = &f->appliance.description->places[step->opens[i]];
        least += opened->open_second;
        for (int k = 0; k < i; k++) assert_int_not_equal(step->opens[k], step->opens[i]);
        bool after_is_there = opened->after == NULL;
        for (int k = 0; k < i && !after_is_there; k++)
            after_is_there = text_equal(f->appliance.description->places[step->opens[k]].name, opened->after);
        assert_true(after_is_there || place(f, opened->after)->open_second == 0);
    }
    assert_true(step->second >= least && step->second <= least + 2 * terms.switch_second);
    assert_near(step->cost_minor, step->second / 3600 * (double)terms.labour_minor_per_hour, 0.51);
    assert_true(step->expected_total_minor > step->cost_minor);
}

static void steps_are_priced(void **state)
{
    Fixture *f = *state;
    add_complaint(f, "no-bake");
    add_look(f, "bake-element", "dark", "bake");
    plan(f);
    assert_int_equal(f->plan.verdict, PLAN_GO_ON);
    for (int s = 0; s < f->plan.step_count; s++) {
        const Step *step = &f->plan.steps[s];
        assert_int_equal(step->kind, STEP_CHECK);
        assert_priced(f, step);
        const SafetyNeeds needs = safety_of_check(&f->appliance, &f->appliance.checks[step->check], &f->call);
        assert_memory_equal(&needs, &step->needs, sizeof needs);
        assert_true(step->information > 0);
        assert_true(step->branch_count >= 1);
    }
}

/* The console lies behind the rear panel: opening it from the kitchen takes both, from behind only one. */
static void open_places_are_not_paid_twice(void **state)
{
    Fixture *f = *state;
    add_complaint(f, "no-bake");
    add_look(f, "bake-element", "dark", "bake");
    add_reading(f, READING_OHM, "BK1", "BK2", 23.2);
    add(f, (Entry){.kind = ENTRY_DEAD});
    plan(f);
    for (int s = 0; s < f->plan.step_count; s++)
        for (int i = 0; i < f->plan.steps[s].open_count; i++) {
            const char *name = f->appliance.description->places[f->plan.steps[s].opens[i]].name;
            assert_string_not_equal(name, "behind");
        }
}

static bool proposes(const Fixture *f, const Entry *entry)
{
    for (int s = 0; s < f->plan.step_count; s++)
        if (f->plan.steps[s].kind == STEP_CHECK &&
            diagnosis_is_check(&f->appliance, entry, f->plan.steps[s].check))
            return true;
    return false;
}

static void what_is_done_is_not_proposed(void **state)
{
    Fixture *f = *state;
    add_complaint(f, "no-bake");
    plan(f);
    for (int round = 0; round < 10 && f->plan.verdict == PLAN_GO_ON; round++) {
        const Step step = f->plan.steps[0];
        assert_int_equal(step.kind, STEP_CHECK);
        const Entry *entry = &f->entries[f->call.entry_count];
        const bool is_look = f->appliance.checks[step.check].from < 0;
        add(f, diagnosis_entry(&f->appliance, step.check, is_look ? 0 : step.branches[0].low,
                               is_look ? step.branches[0].word : 0));
        plan(f);
        assert_false(proposes(f, entry));
    }
}

static void found_ends_with_repair_and_proof(void **state)
{
    Fixture *f = *state;
    add_complaint(f, "no-bake");
    add_look(f, "bake-element", "dark", "bake");
    add_reading(f, READING_OHM, "BK1", "BK2", INFINITY);
    plan(f);
    assert_int_equal(f->plan.verdict, PLAN_FOUND);
    assert_true(f->plan.is_done);
    assert_int_equal(f->plan.steps[0].kind, STEP_REPAIR);
    assert_string_equal(f->appliance.parts[f->plan.steps[0].part].name, "bake-element");
    assert_int_equal(f->plan.steps[f->plan.step_count - 1].kind, STEP_PROVE);
    /* 48 USD and 15 minutes at 120 USD an hour, and getting there. */
    assert_true(f->plan.steps[0].cost_minor >= 4800 + 3000);
}

static void repair_is_proved_first(void **state)
{
    Fixture *f = *state;
    add_complaint(f, "no-bake");
    add_look(f, "bake-element", "dark", "bake");
    add_reading(f, READING_OHM, "BK1", "BK2", INFINITY);
    add(f, (Entry){.kind = ENTRY_REPAIR, .part = appliance_find_part(&f->appliance, "bake-element")});
    plan(f);
    assert_int_equal(f->plan.steps[0].kind, STEP_PROVE);
    /* And a check from before the repair may be proposed again. */
    const Entry *before = &f->entries[1];
    const Entry *ohms = &f->entries[2];
    assert_true(proposes(f, before) || proposes(f, ohms));
}

static void contradiction_is_settled_first(void **state)
{
    Fixture *f = *state;
    add_look(f, "bake-element", "dark", "bake");
    add_reading(f, READING_OHM, "BK1", "BK2", 23.2);
    add_reading(f, READING_OHM, "BK1", "BK2", INFINITY);
    f->entries[2].connection.lifts[f->entries[2].connection.lift_count++] = f->entries[2].connection.from;
    plan(f);
    assert_int_equal(f->plan.verdict, PLAN_GO_ON);
    assert_int_equal(f->plan.steps[0].kind, STEP_REPEAT);
    assert_int_equal(f->plan.steps[0].entry, f->standing.contradictions[0].entry);
    assert_true(f->plan.steps[0].needs.needs_proof);
}

/* S7: with a leaking frame before us, only dead checks are proposed. */
static void leaking_frame_keeps_the_power_off(void **state)
{
    Fixture *f = *state;
    add_complaint(f, "tingles");
    add_reading(f, READING_OHM, "BK1", "G", 1900);
    plan(f);
    assert_true(f->plan.warning_count > 0);
    assert_string_equal(f->plan.warnings[0].key, "frame-leakage");
    for (int s = 0; s < f->plan.step_count; s++)
        if (f->plan.steps[s].kind == STEP_CHECK) assert_false(f->plan.steps[s].needs.power_on);
}

/* A set is as probable as that one of its suspects is there, alone or with others besides. */
static void a_set_is_named_with_its_probability(void **state)
{
    Fixture *f = *state;
    add_complaint(f, "too-cool");
    plan(f);
    double sum = 0;
    for (int i = 0; i < f->plan.set_count; i++) {
        const HypothesisGroup *group = &f->model.groups[f->plan.set[i]];
        for (int h = 0; h < group->hypothesis_count; h++)
            sum += f->standing.probability[group->first_hypothesis + h];
    }
    assert_true(f->plan.set_count >= 1);
    assert_true(f->plan.set_probability >= sum - 1e-12 && f->plan.set_probability <= 1 + 1e-12);
    assert_true(f->plan.set_probability < plan_default_terms().sure);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(steps_are_priced),
        TEST(open_places_are_not_paid_twice),
        TEST(what_is_done_is_not_proposed),
        TEST(found_ends_with_repair_and_proof),
        TEST(repair_is_proved_first),
        TEST(contradiction_is_settled_first),
        TEST(leaking_frame_keeps_the_power_off),
        TEST(a_set_is_named_with_its_probability),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
