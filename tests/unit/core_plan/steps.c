/* steps.c: what a plan must obey: prices, what is not proposed twice, verdicts, what goes before all checks.
 *
 * Minutes and places are those of the shipped files. */
#include <math.h>
#include <string.h>

#include "core/plan/plan_private.h"
#include "support/near.h"
#include "support/visit.h"

/* A visit and the plan for it. */
typedef struct {
    Visit visit;
    Plan plan;
} Planned;

static int begin(void **state)
{
    static Planned planned;
    visit_begin(&planned.visit, "range-relay-control");
    *state = &planned;
    return 0;
}

static int end(void **state)
{
    visit_end(&((Planned *)*state)->visit);
    return 0;
}

static int fresh(void **state)
{
    visit_forget(&((Planned *)*state)->visit);
    return 0;
}

static void plan(Planned *p)
{
    Error error;
    const PlanTerms terms = plan_default_terms();
    visit_diagnose(&p->visit);
    assert_true(plan_next(&p->visit.model, &p->visit.standing, &terms, &p->visit.answers, &p->plan, &error));
    assert_true(p->plan.step_count >= 1 && p->plan.step_count <= PLAN_MOST_STEPS);
}

static const DescribedPlace *place(const Planned *p, const char *name)
{
    for (int i = 0; i < p->visit.appliance.description->place_count; i++)
        if (text_equal(p->visit.appliance.description->places[i].name, name))
            return &p->visit.appliance.description->places[i];
    fail_msg("no place %s", name);
    return NULL;
}

/* What must lie open, with the power off, before a check is made: each place once, what is before it first.
 */
static void assert_priced(const Planned *p, const Step *step)
{
    const PlanTerms terms = plan_default_terms();
    const Check *check = &p->visit.appliance.checks[step->check];
    double least = check->second;
    for (int i = 0; i < step->open_count; i++) {
        const DescribedPlace *opened = &p->visit.appliance.description->places[step->opens[i]];
        least += opened->open_second;
        for (int k = 0; k < i; k++) assert_int_not_equal(step->opens[k], step->opens[i]);
        bool after_is_there = opened->after == NULL;
        for (int k = 0; k < i && !after_is_there; k++)
            after_is_there =
                text_equal(p->visit.appliance.description->places[step->opens[k]].name, opened->after);
        assert_true(after_is_there || place(p, opened->after)->open_second == 0);
    }
    assert_true(step->second >= least && step->second <= least + 2 * terms.switch_second);
    assert_near(step->cost_minor, step->second / 3600 * (double)terms.labour_minor_per_hour, 0.51);
    assert_true(step->expected_total_minor > step->cost_minor);
}

static void steps_are_priced(void **state)
{
    Planned *p = *state;
    visit_complain(&p->visit, "no-bake");
    visit_look(&p->visit, "bake-element", "dark", "bake");
    plan(p);
    assert_int_equal(p->plan.verdict, PLAN_GO_ON);
    for (int s = 0; s < p->plan.step_count; s++) {
        const Step *step = &p->plan.steps[s];
        assert_int_equal(step->kind, STEP_CHECK);
        assert_priced(p, step);
        const SafetyNeeds needs =
            safety_of_check(&p->visit.appliance, &p->visit.appliance.checks[step->check], &p->visit.call);
        assert_memory_equal(&needs, &step->needs, sizeof needs);
        assert_true(step->information > 0);
        assert_true(step->branch_count >= 1);
    }
}

/* Seconds to get to the console from there, dead at the end or not, as range-relay-control.yaml has them. */
static double way_to_console(const Planned *p, const Situation *from, bool power_on, int *opened)
{
    const PlanTerms terms = plan_default_terms();
    const Description *description = p->visit.appliance.description;
    const int console = (int)(place(p, "console") - description->places), places[] = {console, console};
    Step step = {.needs.power_on = power_on};
    plan__price(&p->visit.appliance, from, &terms, places, 2, 30, &step);
    assert_int_equal(step.switches_power, from->power_on != power_on);
    *opened = step.open_count;
    return step.second - 30;
}

/* The console (4 min) lies behind the rear panel (5 min), both are opened dead, the breaker takes a minute.
 */
static void the_way_is_paid_with_all_before_it(void **state)
{
    Planned *p = *state;
    const Description *description = p->visit.appliance.description;
    Situation from = {.power_on = true};
    int opened;
    assert_near(way_to_console(p, &from, false, &opened), 60 + 300 + 240, 1e-9);
    assert_int_equal(opened, 2);
    assert_near(way_to_console(p, &from, true, &opened), 60 + 300 + 240 + 60, 1e-9);
    from.power_on = false;
    assert_near(way_to_console(p, &from, false, &opened), 300 + 240, 1e-9);
    from.is_open[place(p, "behind") - description->places] = true;
    assert_near(way_to_console(p, &from, false, &opened), 240, 1e-9);
    assert_int_equal(opened, 1);
    from.is_open[place(p, "console") - description->places] = true;
    assert_near(way_to_console(p, &from, true, &opened), 60, 1e-9);
    assert_int_equal(opened, 0);
}

/* The console lies behind the rear panel: opening it from the kitchen takes both, from behind only one. */
static void open_places_are_not_paid_twice(void **state)
{
    Planned *p = *state;
    visit_complain(&p->visit, "no-bake");
    visit_look(&p->visit, "bake-element", "dark", "bake");
    visit_ohm(&p->visit, "BK1", "BK2", 23.2, NULL);
    visit_dead(&p->visit);
    plan(p);
    for (int s = 0; s < p->plan.step_count; s++)
        for (int i = 0; i < p->plan.steps[s].open_count; i++) {
            const char *name = p->visit.appliance.description->places[p->plan.steps[s].opens[i]].name;
            assert_string_not_equal(name, "behind");
        }
}

static bool proposes(const Planned *p, const Entry *entry)
{
    for (int s = 0; s < p->plan.step_count; s++)
        if (p->plan.steps[s].kind == STEP_CHECK &&
            diagnosis_is_check(&p->visit.model, entry, p->plan.steps[s].check))
            return true;
    return false;
}

static void what_is_done_is_not_proposed(void **state)
{
    Planned *p = *state;
    visit_complain(&p->visit, "no-bake");
    plan(p);
    for (int round = 0; round < 10 && p->plan.verdict == PLAN_GO_ON; round++) {
        const Step step = p->plan.steps[0];
        assert_int_equal(step.kind, STEP_CHECK);
        const Entry *entry = &p->visit.entries[p->visit.call.entry_count];
        p->visit.entries[p->visit.call.entry_count++] =
            diagnosis_entry(&p->visit.model, step.check, &step.branches[0].outcome, &p->visit.runs[round]);
        plan(p);
        assert_false(proposes(p, entry));
    }
}

static void found_ends_with_repair_and_proof(void **state)
{
    Planned *p = *state;
    visit_complain(&p->visit, "no-bake");
    visit_look(&p->visit, "bake-element", "dark", "bake");
    visit_look(&p->visit, "broil-element", "glows", "broil");
    visit_ohm(&p->visit, "BK1", "BK2", INFINITY, NULL);
    plan(p);
    assert_int_equal(p->plan.verdict, PLAN_FOUND);
    assert_true(p->plan.is_done);
    assert_int_equal(p->plan.steps[0].kind, STEP_REPAIR);
    assert_string_equal(p->visit.appliance.parts[p->plan.steps[0].part].name, "bake-element");
    assert_int_equal(p->plan.steps[p->plan.step_count - 1].kind, STEP_PROVE);
    /* 48 USD and 15 minutes at 120 USD an hour, and getting there. */
    assert_true(p->plan.steps[0].cost_minor >= 4800 + 3000);
}

static void repair_is_proved_first(void **state)
{
    Planned *p = *state;
    visit_complain(&p->visit, "no-bake");
    visit_look(&p->visit, "bake-element", "dark", "bake");
    visit_ohm(&p->visit, "BK1", "BK2", INFINITY, NULL);
    visit_repair(&p->visit, "bake-element");
    plan(p);
    assert_int_equal(p->plan.steps[0].kind, STEP_PROVE);
    /* And a check from before the repair may be proposed again. */
    const Entry *before = &p->visit.entries[1];
    const Entry *ohms = &p->visit.entries[2];
    assert_true(proposes(p, before) || proposes(p, ohms));
}

static void contradiction_is_settled_first(void **state)
{
    Planned *p = *state;
    visit_look(&p->visit, "bake-element", "dark", "bake");
    visit_ohm(&p->visit, "BK1", "BK2", 23.2, NULL);
    visit_ohm(&p->visit, "BK1", "BK2", INFINITY, NULL);
    p->visit.entries[2].connection.lifts[p->visit.entries[2].connection.lift_count++] =
        p->visit.entries[2].connection.from;
    plan(p);
    assert_int_equal(p->plan.verdict, PLAN_GO_ON);
    assert_int_equal(p->plan.steps[0].kind, STEP_REPEAT);
    assert_int_equal(p->plan.steps[0].entry, p->visit.standing.contradictions[0].entry);
    assert_true(p->plan.steps[0].needs.needs_proof);
}

/* S7: with a leaking frame before us, only dead checks are proposed. */
static void leaking_frame_keeps_the_power_off(void **state)
{
    Planned *p = *state;
    visit_complain(&p->visit, "tingles");
    visit_ohm(&p->visit, "BK1", "G", 1900, NULL);
    plan(p);
    assert_true(p->plan.warning_count > 0);
    assert_string_equal(p->plan.warnings[0].key, "frame-leakage");
    for (int s = 0; s < p->plan.step_count; s++)
        if (p->plan.steps[s].kind == STEP_CHECK) assert_false(p->plan.steps[s].needs.power_on);
}

/* S7: what has been found is not proved by a run while a reading says that the frame may be live; that
 * reading is made once more, dead. */
static void live_frame_keeps_a_repair_from_its_run(void **state)
{
    Planned *p = *state;
    visit_complain(&p->visit, "tingles");
    visit_look(&p->visit, "bake-element", "dark", "bake");
    visit_dead(&p->visit);
    visit_ohm(&p->visit, "BK1", "BK2", INFINITY, "BK1");
    visit_ohm(&p->visit, "BK1", "BK2", INFINITY, "BK2");
    visit_look(&p->visit, "bake-element", "blistered", NULL);
    visit_ohm(&p->visit, "BR1", "G", 1900, NULL);
    plan(p);
    assert_int_equal(p->plan.verdict, PLAN_FOUND);
    assert_int_equal(p->plan.steps[0].kind, STEP_REPAIR);
    assert_true(p->plan.step_count > 1);
    for (int s = 0; s < p->plan.step_count; s++) assert_false(p->plan.steps[s].needs.power_on);
}

/* --- verdicts: each by a call of a few entries, some with a shop that is sure sooner --- */

static void plan_when_sure_from(Planned *p, double sure)
{
    Error error;
    PlanTerms terms = plan_default_terms();
    terms.sure = sure;
    visit_diagnose(&p->visit);
    assert_true(plan_next(&p->visit.model, &p->visit.standing, &terms, &p->visit.answers, &p->plan, &error));
}

/* An oven that settles 20 K too low with a sound sensor: its offset, or a control that reads wrong. No check
 * of the list tells them apart. */
static void a_set_is_what_no_check_tells_apart(void **state)
{
    Planned *p = *state;
    const RunFigure none = {NAN, NAN};
    const Run run = {.set_celsius = 177,
                     .mean_celsius = {157, 2},
                     .swing_kelvin = {23, 3},
                     .period_second = none,
                     .preheat_second = none,
                     .overshoot_kelvin = none,
                     .is_settled = true};
    visit_complain(&p->visit, "too-cool");
    visit_ohm(&p->visit, "S1", "S2", 1086, NULL);
    p->visit.entries[p->visit.call.entry_count++] =
        (Entry){.kind = ENTRY_RUN, .text = "by-hand", .set_celsius = 177, .function = -1, .run = &run};
    plan_when_sure_from(p, 0.5);
    assert_int_equal(p->plan.verdict, PLAN_SET);
    assert_true(p->plan.set_count > 1 && p->plan.set_probability >= 0.5);
    assert_true(p->plan.is_done);
    assert_int_equal(p->plan.steps[p->plan.step_count - 1].kind, STEP_PROVE);
}

static void nothing_wrong_is_proved_by_a_run(void **state)
{
    Planned *p = *state;
    visit_look(&p->visit, "bake-element", "glows", "bake");
    visit_look(&p->visit, "broil-element", "glows", "broil");
    plan_when_sure_from(p, 0.1);
    assert_int_equal(p->plan.verdict, PLAN_NOTHING_WRONG);
    assert_int_equal(p->plan.set[0], 0);
    assert_int_equal(p->plan.step_count, 1);
    assert_int_equal(p->plan.steps[0].kind, STEP_PROVE);
}

/* An oven on which nothing more can be checked, whoever is easily sure; while its frame may be live, nothing
 * is left to do either. */
static void without_checks_it_stays_open(void **state)
{
    Planned *p = *state;
    const int checks = p->visit.appliance.check_count;
    p->visit.appliance.check_count = 0;
    plan_when_sure_from(p, 0.1);
    assert_int_equal(p->plan.verdict, PLAN_OPEN);
    assert_int_equal(p->plan.step_count, 1);
    assert_int_equal(p->plan.steps[0].kind, STEP_PROVE);
    visit_complain(&p->visit, "tingles");
    plan_when_sure_from(p, 0.1);
    assert_int_equal(p->plan.verdict, PLAN_OPEN);
    assert_int_equal(p->plan.step_count, 0);
    p->visit.appliance.check_count = checks;
}

/* A set is as probable as that one of its suspects is there, alone or with others besides. */
static void a_set_is_named_with_its_probability(void **state)
{
    Planned *p = *state;
    visit_complain(&p->visit, "too-cool");
    plan(p);
    double sum = 0;
    for (int i = 0; i < p->plan.set_count; i++) {
        const HypothesisGroup *group = &p->visit.model.groups[p->plan.set[i]];
        for (int h = 0; h < group->hypothesis_count; h++)
            sum += p->visit.standing.probability[group->first_hypothesis + h];
    }
    assert_true(p->plan.set_count >= 1);
    assert_true(p->plan.set_probability >= sum - 1e-12 && p->plan.set_probability <= 1 + 1e-12);
    assert_true(p->plan.set_probability < plan_default_terms().sure);
}

#define TEST(name) cmocka_unit_test_setup(name, fresh)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(steps_are_priced),
        TEST(the_way_is_paid_with_all_before_it),
        TEST(open_places_are_not_paid_twice),
        TEST(what_is_done_is_not_proposed),
        TEST(found_ends_with_repair_and_proof),
        TEST(repair_is_proved_first),
        TEST(contradiction_is_settled_first),
        TEST(leaking_frame_keeps_the_power_off),
        TEST(live_frame_keeps_a_repair_from_its_run),
        TEST(a_set_is_what_no_check_tells_apart),
        TEST(nothing_wrong_is_proved_by_a_run),
        TEST(without_checks_it_stays_open),
        TEST(a_set_is_named_with_its_probability),
    };
    return cmocka_run_group_tests(tests, begin, end);
}
