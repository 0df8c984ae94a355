/* steps.c: what a plan must obey: ways and prices, what is not proposed twice, what goes before all checks,
 * adjusting, closing, handing over, and the plan before the visit.
 *
 * Minutes, prices and places are those of the shipped files and of plan_default_terms. */
#include <math.h>
#include <string.h>

#include "core/plan/plan_private.h"
#include "support/near.h"
#include "support/visit.h"

/* A visit and the plan for it. */
typedef struct {
    Visit visit;
    Plan plan;
    PlanTerms terms;
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
    Planned *p = *state;
    visit_forget(&p->visit);
    p->terms = plan_default_terms();
    return 0;
}

static void plan(Planned *p)
{
    Error error;
    visit_diagnose(&p->visit);
    assert_true(
        plan_next(&p->visit.model, &p->visit.standing, &p->terms, &p->visit.answers, &p->plan, &error));
}

static int place(const Planned *p, const char *name)
{
    for (int i = 0; i < p->visit.appliance.description->place_count; i++)
        if (text_equal(p->visit.appliance.description->places[i].name, name)) return i;
    fail_msg("no place %s", name);
    return -1;
}

static const char *part_of(const Planned *p, const Step *step)
{
    return step->part >= 0 ? p->visit.appliance.parts[step->part].name : "";
}

/* A log read off by hand: settles at `mean`, swinging as a good oven does. */
static void run(Planned *p, double mean)
{
    const RunFigure none = {NAN, NAN};
    Run *figures = &p->visit.runs[p->visit.run_count++];
    *figures = (Run){.set_celsius = 177,
                     .mean_celsius = {mean, 2},
                     .error_kelvin = {mean - 177, 2},
                     .swing_kelvin = {25, 5},
                     .period_second = none,
                     .preheat_second = {700, 60},
                     .overshoot_kelvin = none,
                     .duty = none,
                     .cycles = 4,
                     .is_settled = true,
                     .to_second = 2400,
                     .settled_second = NAN,
                     .heat_up_second = NAN,
                     .end_celsius = mean};
    p->visit.entries[p->visit.call.entry_count++] = (Entry){
        .kind = ENTRY_RUN, .text = "by-hand", .set_celsius = 177, .part = -1, .function = -1, .run = figures};
}

/* ---- ways and prices */

static Planning *make_problem(Planned *p)
{
    Error error;
    Planning *planning =
        plan__begin(&p->visit.model, &p->visit.standing, &p->terms, true, 0, &p->visit.answers, &error);
    assert_non_null(planning);
    return planning;
}

static DecisionAct replacing(const Planning *planning, const char *part)
{
    for (int r = 0; r < planning->remedies.remedy_count; r++) {
        const Remedy *remedy = &planning->remedies.remedies[r];
        if (!remedy->is_adjustment && text_equal(planning->model->appliance->parts[remedy->part].name, part))
            return (DecisionAct){DECISION_REPAIR, r};
    }
    fail_msg("nothing replaces %s", part);
    return (DecisionAct){DECISION_END, 0};
}

/* Seconds to get to the control from there, as the step has them and as its price in the decision has. */
static double way_to_control(Planning *planning, const Situation *from, int *opened)
{
    Error error;
    Step step;
    const DecisionAct act = replacing(planning, "control");
    const Remedy *remedy = &planning->remedies.remedies[act.number];
    unsigned open = 0;
    for (int i = 0; i < planning->model->appliance->description->place_count; i++)
        if (from->is_open[i] && planning->bit_of_place[i] >= 0) open |= 1u << planning->bit_of_place[i];
    const DecisionSetup setup = decision_setup(&planning->problem, open, from->power_on, from->is_hot);
    assert_true(plan__make_step(planning, from, (DecisionChoice){act, 0}, STEP_THEN, &step, &error));
    assert_near(decision_cost(&planning->decision, setup, act),
                plan__labour(planning->terms, step.second) + (double)remedy->price_minor, 1e-6);
    *opened = step.open_count;
    return step.second - remedy->second;
}

/* The console (4 min) lies behind the rear panel (5 min), both are opened dead, and that takes 2 min. */
static void the_way_is_paid_with_all_before_it(void **state)
{
    Planned *p = *state;
    int opened;
    visit_complain(&p->visit, "no-heat");
    visit_diagnose(&p->visit);
    Planning *planning = make_problem(p);
    Situation from = {.power_on = true};
    assert_near(way_to_control(planning, &from, &opened), 120 + 300 + 240, 1e-9);
    assert_int_equal(opened, 2);
    from.power_on = false;
    assert_near(way_to_control(planning, &from, &opened), 300 + 240, 1e-9);
    from.is_open[place(p, "behind")] = true;
    assert_near(way_to_control(planning, &from, &opened), 240, 1e-9);
    assert_int_equal(opened, 1);
    from.is_open[place(p, "console")] = true;
    assert_near(way_to_control(planning, &from, &opened), 0, 1e-9);
    assert_int_equal(opened, 0);
}

/* A proving run of 40 min from there: both panels are closed again (4 min each) and the power goes on (1). */
static void a_run_closes_everything_first(void **state)
{
    Planned *p = *state;
    Error error;
    Step step;
    visit_complain(&p->visit, "no-heat");
    visit_diagnose(&p->visit);
    Planning *planning = make_problem(p);
    Situation from = {.power_on = false, .phase = DECISION_REPAIRED};
    from.is_open[place(p, "behind")] = from.is_open[place(p, "console")] = true;
    const DecisionChoice prove = {{DECISION_PROVE, 0}, 0};
    assert_true(plan__make_step(planning, &from, prove, STEP_THEN, &step, &error));
    assert_int_equal(step.kind, STEP_PROVE);
    assert_true(step.closes_all && step.switches_power && step.needs.power_on);
    assert_near(step.second, 2400 + 240 + 240 + 60, 1e-9);
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
        for (int i = 0; i < p->plan.steps[s].open_count; i++)
            assert_int_not_equal(p->plan.steps[s].opens[i], place(p, "behind"));
}

static bool lies_on_way(const Planned *p, int wanted, int to)
{
    for (; to >= 0; to = description_place_before(p->visit.appliance.description, to))
        if (to == wanted) return true;
    return false;
}

/* Is a place open once the step is done? */
static bool is_open_after(const Planned *p, const Step *step, int wanted)
{
    const Situation situation = plan__situation(&p->visit.model, &p->visit.call);
    if (wanted < 0 || p->visit.appliance.description->places[wanted].open_second == 0) return true;
    bool is_open = situation.is_open[wanted] && !step->closes_all;
    for (int i = 0; i < step->open_count; i++) is_open |= lies_on_way(p, wanted, step->opens[i]);
    return is_open;
}

/* What is said to go along needs no place that is not open then. */
static void what_goes_along_costs_no_way(void **state)
{
    Planned *p = *state;
    int seen = 0;
    visit_complain(&p->visit, "no-heat");
    visit_look(&p->visit, "bake-element", "dark", "bake");
    visit_look(&p->visit, "broil-element", "dark", "broil");
    for (int round = 0; round < 4; round++) {
        plan(p);
        for (int s = 0; s < p->plan.step_count; s++) {
            const Step *step = &p->plan.steps[s];
            for (int i = 0; i < step->shared_count; i++) {
                const Check *check = &p->visit.appliance.checks[step->shared[i]];
                assert_int_not_equal(step->shared[i], step->check);
                assert_true(is_open_after(p, step, check->places[0]) &&
                            is_open_after(p, step, check->places[1]));
                seen++;
            }
        }
        if (p->plan.steps[0].kind != STEP_CHECK) break;
        p->visit.entries[p->visit.call.entry_count++] =
            diagnosis_entry(&p->visit.model, p->plan.steps[0].check, &p->plan.steps[0].branches[0].outcome,
                            &p->visit.runs[p->visit.run_count++]);
    }
    assert_true(seen > 0);
}

/* ---- what is proposed, and when */

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
    int rounds = 0;
    visit_complain(&p->visit, "no-bake");
    plan(p);
    for (; rounds < 10 && p->plan.steps[0].kind == STEP_CHECK; rounds++) {
        const Step step = p->plan.steps[0];
        const Entry *entry = &p->visit.entries[p->visit.call.entry_count];
        p->visit.entries[p->visit.call.entry_count++] = diagnosis_entry(
            &p->visit.model, step.check, &step.branches[0].outcome, &p->visit.runs[p->visit.run_count++]);
        plan(p);
        assert_false(proposes(p, entry));
    }
    assert_true(rounds >= 3);
}

static void enter_open_element(Planned *p)
{
    visit_complain(&p->visit, "no-bake");
    visit_look(&p->visit, "bake-element", "dark", "bake");
    visit_look(&p->visit, "broil-element", "glows", "broil");
    visit_dead(&p->visit);
    visit_ohm(&p->visit, "BK1", "BK2", INFINITY, NULL);
}

static void found_ends_with_repair_and_proof(void **state)
{
    Planned *p = *state;
    enter_open_element(p);
    plan(p);
    assert_true(p->plan.verdict == PLAN_FOUND || p->plan.verdict == PLAN_SET);
    assert_true(p->plan.is_done);
    assert_int_equal(p->plan.steps[0].kind, STEP_REPAIR);
    assert_string_equal(part_of(p, &p->plan.steps[0]), "bake-element");
    assert_false(p->plan.steps[0].is_adjustment || p->plan.steps[0].needs_second_visit);
    for (int s = 1; s <= 3; s++) /* ground, insulation, what is in sight (S8) */
        assert_true(p->plan.steps[s].is_closing && p->plan.steps[s].role == STEP_THEN);
    assert_int_equal(p->plan.steps[4].kind, STEP_PROVE);
    assert_int_equal(p->plan.steps[4].role, STEP_THEN);
    /* 48 USD and 15 minutes at 120 USD an hour; the rear panel is off already. */
    assert_int_equal(p->plan.steps[0].cost_minor, 4800 + 3000);
}

/* Not on the truck: a second visit, which the step says and which is in its price. */
static void a_part_not_at_hand_costs_a_visit(void **state)
{
    Planned *p = *state;
    static const char *const stock[] = {"oven-sensor", "oven-lamp"};
    enter_open_element(p);
    p->terms.stock = stock;
    p->terms.stock_count = 2;
    plan(p);
    assert_int_equal(p->plan.steps[0].kind, STEP_REPAIR);
    assert_true(p->plan.steps[0].needs_second_visit);
    assert_int_equal(p->plan.steps[0].cost_minor, 4800 + 3000 + p->terms.second_visit_minor);
}

/* What the check most likely shows if that hypothesis is true. */
static void answer(Planned *p, int check, int truth)
{
    Prediction seen;
    Error error;
    int best = 0;
    assert_true(diagnosis_predict(&p->visit.model, &p->visit.call, check, &truth, 1, &p->visit.answers, &seen,
                                  &error));
    for (int o = 1; o < seen.outcome_count; o++)
        if (seen.chance[o] > seen.chance[best]) best = o;
    p->visit.entries[p->visit.call.entry_count++] =
        diagnosis_entry(&p->visit.model, check, &seen.outcomes[best], NULL);
}

/* Functions that nobody has tried yet are tried before the call is closed: looks from a distance, all sound.
 */
static void try_functions(Planned *p)
{
    int looks = 0;
    for (; p->plan.steps[0].kind == STEP_CHECK && looks < 6; plan(p), looks++) {
        assert_int_equal(p->visit.appliance.checks[p->plan.steps[0].check].kind, CHECK_WATCH);
        answer(p, p->plan.steps[0].check, 0);
    }
    assert_in_range(looks, 1, 4);
}

/* What is at hand may be measured; then ground and insulation are while the covers are off, and what is in
 * sight is looked over: all are dead checks, and all sound. */
static int measure_before_covers(Planned *p)
{
    int made = 0, steps = 0;
    for (; p->plan.steps[0].kind == STEP_CHECK && !p->plan.steps[0].needs.power_on && steps < 8;
         plan(p), steps++) {
        made += p->plan.steps[0].is_closing;
        assert_int_equal(p->plan.steps[0].open_count, 0);
        answer(p, p->plan.steps[0].check, 0);
    }
    return made;
}

/* Proved first, then every function tried, then closed: right means repaired and proven right. */
static void a_repair_is_proved_and_then_closed(void **state)
{
    Planned *p = *state;
    enter_open_element(p);
    visit_repair(&p->visit, "bake-element");
    plan(p);
    assert_int_equal(measure_before_covers(p), 3);
    assert_int_equal(p->plan.steps[0].kind, STEP_PROVE);
    assert_int_equal(p->plan.verdict, PLAN_GO_ON);
    run(p, 177);
    plan(p);
    try_functions(p);
    assert_int_equal(p->plan.steps[0].kind, STEP_CLOSE);
    assert_int_equal(p->plan.verdict, PLAN_PROVED);
}

/* The lamp was changed and not yet seen to burn, and the element is known to be broken besides: the plan
 * mends it and proves all by a run, and does not forget what would prove the lamp. */
static void a_plain_repair_keeps_its_proof(void **state)
{
    Planned *p = *state;
    visit_look(&p->visit, "oven-lamp", "dark", "light");
    visit_dead(&p->visit);
    visit_ohm(&p->visit, "E1", "E2", INFINITY, "E1");
    enter_open_element(p);
    visit_repair(&p->visit, "oven-lamp");
    plan(p);
    int repairs = 0, watched = 0;
    for (int s = 0; s < p->plan.step_count; s++) {
        const Step *step = &p->plan.steps[s];
        repairs += step->kind == STEP_REPAIR && text_equal(part_of(p, step), "bake-element");
        if (step->kind != STEP_PROVE || p->visit.appliance.checks[step->check].kind != CHECK_WATCH) continue;
        assert_string_equal(part_of(p, step), "oven-lamp");
        watched++;
    }
    assert_true(repairs >= 1);
    print_message("%d steps mend the element, %d watch the lamp\n", repairs, watched);
}

static bool is_watch(const Planned *p, const Step *step)
{
    return step->kind == STEP_CHECK && p->visit.appliance.checks[step->check].kind == CHECK_WATCH;
}

/* A dead oven, and a breaker that may have been the reason: whether anything is alive now shows in a minute,
 * from where one stands, and not in a run of forty; and if all is still dark, there is nothing to run. */
static void a_run_is_not_made_to_see_that_all_is_dead(void **state)
{
    Planned *p = *state;
    int closing = 0;
    Error error;
    visit_complain(&p->visit, "no-heat");
    visit_look(&p->visit, "control", "display-blank", "light");
    visit_look(&p->visit, "oven-lamp", "dark", "light");
    visit_dead(&p->visit);
    visit_repair(&p->visit, "breaker");
    for (plan(p); p->plan.steps[0].kind == STEP_CHECK && !is_watch(p, &p->plan.steps[0]) && closing < 10;
         plan(p), closing++)
        answer(p, p->plan.steps[0].check, 0);
    assert_true(is_watch(p, &p->plan.steps[0]));
    visit_look(&p->visit, "oven-lamp", "dark", "light");
    visit_look(&p->visit, "bake-element", "dark", "bake");
    visit_look(&p->visit, "broil-element", "dark", "broil");
    plan(p);
    for (int s = 0; s < p->plan.step_count; s++)
        assert_true(p->plan.steps[s].kind != STEP_PROVE || p->plan.steps[s].role == STEP_THEN);
    const Planning *planning =
        plan__begin(&p->visit.model, &p->visit.standing, &p->terms, true, 0, &p->visit.answers, &error);
    assert_non_null(planning);
    assert_int_equal(planning->state.phase, DECISION_FAILED);
}

/* The lamp works again, the door is loose and a strip of paper slips out of it: what is suspected besides is
 * for a run to show, and nothing to hand over. */
static void what_works_again_is_not_handed_over(void **state)
{
    Planned *p = *state;
    int steps = 0;
    visit_complain(&p->visit, "light-out");
    visit_complain(&p->visit, "slow");
    visit_dead(&p->visit);
    visit_ohm(&p->visit, "E1", "E2", INFINITY, "E1");
    visit_repair(&p->visit, "oven-lamp");
    visit_look(&p->visit, "door", "loose", NULL);
    visit_look(&p->visit, "oven-lamp", "lit", "light");
    for (plan(p); p->plan.steps[0].kind <= STEP_REPEAT && steps < 40; plan(p), steps++) {
        if (p->plan.steps[0].kind == STEP_REPEAT)
            visit_look(&p->visit, "door", "loose", NULL);
        else if (p->visit.appliance.checks[p->plan.steps[0].check].kind == CHECK_STRIP)
            visit_look(&p->visit, "door-gasket", "slips", NULL);
        else
            answer(p, p->plan.steps[0].check, 0);
    }
    print_message("after %d checks: nothing wrong %.2f\n", steps,
                  p->visit.standing.nothing_wrong.probability);
    assert_true(p->visit.standing.nothing_wrong.probability < 0.85);
    assert_int_equal(p->plan.steps[0].kind, STEP_PROVE);
    assert_true(p->visit.appliance.checks[p->plan.steps[0].check].kind == CHECK_RUN);
}

/* One look says that the gasket is torn, and much speaks for a sound oven: before it is bought it is looked
 * at once more; and when the second look says the contrary, it is not bought. */
static void what_is_bought_is_measured_twice(void **state)
{
    Planned *p = *state;
    visit_complain(&p->visit, "too-cool");
    visit_look(&p->visit, "bake-element", "glows", "bake");
    visit_look(&p->visit, "broil-element", "glows", "broil");
    visit_offset(&p->visit, 0);
    const Entry *torn = visit_look(&p->visit, "door-gasket", "torn", NULL);
    int checks = 0;
    for (plan(p); p->plan.steps[0].kind == STEP_CHECK && checks < 40; plan(p), checks++) {
        const CheckKind kind = p->visit.appliance.checks[p->plan.steps[0].check].kind;
        if (kind == CHECK_RUN)
            run(p, 177);
        else if (kind == CHECK_STRIP)
            visit_look(&p->visit, "door-gasket", "slips", NULL);
        else
            answer(p, p->plan.steps[0].check, 0);
    }
    print_message("after %d checks\n", checks);
    assert_int_equal(p->plan.steps[0].kind, STEP_REPEAT);
    assert_true(&p->visit.entries[p->plan.steps[0].entry] == torn);
    visit_look(&p->visit, "door-gasket", "sound", NULL);
    plan(p);
    assert_false(p->plan.steps[0].kind == STEP_REPAIR);
}

/* A gasket that looks torn, and is: before it is bought a strip of paper is pulled, and a look alone would
 * not have done. */
static void what_looks_torn_is_tried_with_paper(void **state)
{
    Planned *p = *state;
    const int gasket = appliance_find_part(&p->visit.appliance, "door-gasket"),
              torn = appliance_find_fault(&p->visit.appliance, "door-gasket.torn"),
              truth = p->visit.model.groups[1 + torn].first_hypothesis;
    int strip = -1, steps = 0;
    visit_complain(&p->visit, "slow");
    visit_look(&p->visit, "door-gasket", "torn", NULL);
    for (plan(p); p->plan.steps[0].kind <= STEP_REPEAT && steps < 30; plan(p), steps++) {
        const Step *step = &p->plan.steps[0];
        if (step->kind == STEP_CHECK && p->visit.appliance.checks[step->check].kind == CHECK_STRIP)
            strip = step->check;
        if (step->kind == STEP_REPEAT)
            p->visit.entries[p->visit.call.entry_count++] = p->visit.entries[step->entry];
        else if (p->visit.appliance.checks[step->check].kind == CHECK_RUN)
            run(p, 165);
        else
            answer(p, step->check, truth);
    }
    print_message("bought after %d steps, believed up to %.3f\n", steps,
                  p->visit.standing.suspects[0].probability);
    assert_true(strip >= 0 && plan__is_done(&p->visit.model, &p->visit.call, strip));
    assert_int_equal(p->plan.steps[0].kind, STEP_REPAIR);
    assert_int_equal(p->plan.steps[0].part, gasket);
    assert_true(p->visit.standing.suspects[0].probability > p->terms.justified);
}

/* That one half of the supply is missing was seen before; which part has lost it rests on one reading, that a
 * sound oven has nothing to do with. Read again it conducts, and the part is not bought. */
static void so_is_what_tells_one_broken_part_from_another(void **state)
{
    Planned *p = *state;
    visit_complain(&p->visit, "no-bake");
    visit_look(&p->visit, "broil-element", "dark", "broil");
    visit_look(&p->visit, "oven-lamp", "lit", "light");
    visit_look(&p->visit, "control", "display-on", NULL);
    visit_look(&p->visit, "control", "sound", NULL);
    visit_dead(&p->visit);
    visit_ohm(&p->visit, "BR1", "BR2", 15.7, NULL);
    const Entry *open = visit_ohm(&p->visit, "B2", "L2", INFINITY, NULL);
    plan(p);
    assert_true(p->visit.standing.suspects[0].probability > 0.85);
    assert_int_equal(p->plan.steps[0].kind, STEP_REPEAT);
    assert_true(&p->visit.entries[p->plan.steps[0].entry] == open);
    assert_int_equal(p->plan.steps[1].kind, STEP_REPAIR);
    visit_ohm(&p->visit, "B2", "L2", 0.3, NULL);
    plan(p);
    for (int s = 0; s < p->plan.step_count; s++) assert_int_not_equal(p->plan.steps[s].kind, STEP_REPAIR);
}

/* All that speaks for a relay that sticks is what the owner says, and nothing that was read or seen would be
 * otherwise in a sound oven: no control is sold on that before the oven has shown it. */
static void what_the_owner_says_sells_no_part(void **state)
{
    Planned *p = *state;
    static const char *const said[] = {"uneven", "burnt-bottom", "stays-on", "swings", "pale-bottom"};
    double most = 0;
    int steps = 0;
    bool is_shown = false;
    for (size_t i = 0; i < sizeof said / sizeof *said; i++) visit_complain(&p->visit, said[i]);
    visit_look(&p->visit, "bake-element", "glows", "bake");
    visit_dead(&p->visit);
    visit_ohm(&p->visit, "K1", "K2", INFINITY, NULL);
    visit_ohm(&p->visit, "S1", "S2", 1074, NULL);
    for (plan(p); !is_shown && steps < 25; plan(p), steps++) {
        const Step *step = &p->plan.steps[0];
        most = fmax(most, p->visit.standing.suspects[0].probability);
        if (step->kind == STEP_REPAIR) break;
        is_shown = p->visit.appliance.checks[step->check].kind == CHECK_RUN;
        if (!is_shown) answer(p, step->check, 0);
    }
    print_message("after %d checks; who led was believed up to %.3f\n", steps, most);
    assert_true(is_shown);
    assert_true(most >= 0.85); /* which would have been enough */
}

/* Five runs that were not right, whatever was mended between them: someone else should look. */
static void after_many_failed_runs_others_are_asked(void **state)
{
    Planned *p = *state;
    visit_complain(&p->visit, "too-cool");
    for (int runs = 0; runs < 5; runs++) {
        plan(p);
        assert_int_not_equal(p->plan.steps[0].kind, STEP_HAND_OVER);
        run(p, 150);
        if (runs < 4) visit_repair(&p->visit, runs % 2 ? "oven-sensor" : "control");
    }
    plan(p);
    assert_int_equal(p->plan.steps[0].kind, STEP_HAND_OVER);
    assert_int_equal(p->plan.verdict, PLAN_OPEN);
}

/* What the control displays after it was set says how it was set, and nothing else. */
static void a_setting_just_made_is_not_read(void **state)
{
    Planned *p = *state;
    visit_complain(&p->visit, "too-hot");
    visit_adjust(&p->visit, "control");
    plan(p);
    for (int s = 0; s < p->plan.step_count; s++)
        assert_true(p->plan.steps[s].check < 0 ||
                    p->visit.appliance.checks[p->plan.steps[s].check].kind != CHECK_OFFSET);
}

/* A run that still shows the fault proves nothing. */
static void a_failed_proof_closes_nothing(void **state)
{
    Planned *p = *state;
    enter_open_element(p);
    visit_repair(&p->visit, "bake-element");
    run(p, 120);
    plan(p);
    for (int s = 0; s < p->plan.step_count; s++) assert_int_not_equal(p->plan.steps[s].kind, STEP_CLOSE);
    assert_int_not_equal(p->plan.verdict, PLAN_PROVED);
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

/* S7: with a leaking frame before us, only what is done dead is proposed. */
static void leaking_frame_keeps_the_power_off(void **state)
{
    Planned *p = *state;
    visit_complain(&p->visit, "tingles");
    visit_ohm(&p->visit, "BK1", "G", 1900, NULL);
    plan(p);
    assert_true(p->plan.warning_count > 0);
    assert_string_equal(p->plan.warnings[0].key, "frame-leakage");
    for (int s = 0; s < p->plan.step_count; s++)
        if (p->plan.steps[s].kind == STEP_CHECK)
            assert_true(!p->plan.steps[s].needs.power_on || p->plan.steps[s].needs.any_power);
}

/* S7: what has been found is not proved by a run while a reading says that the frame may be live. */
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
    assert_true(p->plan.step_count > 1);
    for (int s = 0; s < p->plan.step_count; s++)
        assert_true(!p->plan.steps[s].needs.power_on || p->plan.steps[s].needs.any_power);
}

/* ---- adjusting, closing, handing over */

/* Settles 20 K too low with a sound sensor and an offset of -20 K on display: it is set, nothing is bought.
 */
static void a_wrong_offset_is_set_not_replaced(void **state)
{
    Planned *p = *state;
    visit_complain(&p->visit, "too-cool");
    plan(p);
    assert_int_not_equal(p->plan.steps[0].kind, STEP_REPAIR);
    run(p, 159);
    visit_offset(&p->visit, -18);
    plan(p);
    const int fault = appliance_find_fault(&p->visit.appliance, "control.offset-low");
    for (int i = 0; i < 4 && p->plan.steps[0].kind == STEP_CHECK;
         i++) { /* a question or a look may come first */
        assert_true(p->plan.steps[0].second <= 120);
        answer(p, p->plan.steps[0].check, p->visit.model.groups[1 + fault].first_hypothesis);
        plan(p);
    }
    assert_int_equal(p->plan.steps[0].kind, STEP_REPAIR);
    assert_true(p->plan.steps[0].is_adjustment);
    assert_string_equal(part_of(p, &p->plan.steps[0]), "control");
    assert_int_equal(p->plan.steps[0].open_count, 0);
    visit_adjust(&p->visit, "control");
    run(p, 177);
    plan(p);
    for (int i = 0; i < 3 && p->plan.steps[0].kind == STEP_CHECK;
         i++, plan(p)) /* other functions are tried */
        answer(p, p->plan.steps[0].check, 0);
    assert_int_equal(p->plan.verdict, PLAN_PROVED);
}

/* A thermostat that switches off 17 K early is turned, after the temperature that says how far, and not
 * before. */
static void a_thermostat_is_turned_as_measured(void **state)
{
    (void)state;
    static Planned p;
    bool is_measured = false, is_adjusted = false;
    visit_begin(&p.visit, "range-thermostat");
    p.terms = plan_default_terms();
    const HypothesisGroup *group =
        &p.visit.model.groups[1 + appliance_find_fault(&p.visit.appliance, "thermostat.calibrated-low")];
    const int truth = group->first_hypothesis + group->hypothesis_count - 1; /* the mildest */
    visit_complain(&p.visit, "too-cool");
    for (int round = 0; round < 30 && !is_adjusted; round++) {
        plan(&p);
        const Step *step = &p.plan.steps[0];
        assert_true(step->kind == STEP_CHECK || step->kind == STEP_REPAIR || step->kind == STEP_PROVE);
        if (step->kind == STEP_REPAIR) {
            assert_string_equal(part_of(&p, step), "thermostat");
            assert_true(step->is_adjustment && is_measured);
            assert_near(step->turn_kelvin, 17, 1e-9);
            is_adjusted = true;
        } else if (step->kind == STEP_PROVE || p.visit.appliance.checks[step->check].kind == CHECK_RUN) {
            run(&p, 160);
            is_measured = true;
        } else if (p.visit.appliance.checks[step->check].kind == CHECK_SPOT) {
            visit_spot(&p.visit, 160, 177);
            is_measured = true;
        } else {
            answer(&p, step->check, truth);
        }
    }
    assert_true(is_adjusted);
    visit_end(&p.visit);
}

/* Is a thermostat turned on the word of this reading, before a run; and how probable is it that it is out? */
static bool is_turned_at(double celsius, double *out)
{
    static Planned p;
    bool is_turned = false, goes_on = true;
    visit_begin(&p.visit, "range-thermostat");
    p.terms = plan_default_terms();
    visit_complain(&p.visit, "too-cool");
    visit_look(&p.visit, "bake-element", "glows", "bake");
    visit_spot(&p.visit, celsius, 177);
    for (int round = 0; round < 40 && goes_on && !is_turned; round++) {
        plan(&p);
        const Step *step = &p.plan.steps[0];
        is_turned =
            step->kind == STEP_REPAIR && step->is_adjustment && strcmp(part_of(&p, step), "thermostat") == 0;
        goes_on = step->kind == STEP_CHECK && p.visit.appliance.checks[step->check].kind != CHECK_RUN;
        if (goes_on) answer(&p, step->check, 0);
    }
    *out = visit_probability(&p.visit, "thermostat.calibrated-low");
    visit_end(&p.visit);
    return is_turned;
}

/* One reading is from somewhere in the cycle: where the thermostat is rather good than not, a run tells
 * first. */
static void one_reading_turns_only_what_is_probably_out(void **state)
{
    (void)state;
    static const double celsius[] = {148, 154, 160, 166, 172, 177, 182};
    for (size_t i = 0; i < sizeof celsius / sizeof *celsius; i++) {
        double out;
        const bool is_turned = is_turned_at(celsius[i], &out);
        print_message("%g C: out with %.2f, %s\n", celsius[i], out, is_turned ? "turned" : "not turned");
        if (is_turned) assert_true(out >= 0.45); /* and what else turning cures */
    }
}

/* Is the part, if it is suspected so much that it would be fitted otherwise, not fitted below `bar`? 1 if it
 * was between the two. */
static int is_held_back(Planned *p, const char *part, double bar)
{
    visit_diagnose(&p->visit);
    const Planning *planning = make_problem(p);
    for (int r = 0; r < planning->remedies.remedy_count; r++) {
        const Remedy *remedy = &planning->remedies.remedies[r];
        const double cured = plan__cured_by(planning, remedy->cures);
        if (remedy->is_adjustment || !text_equal(planning->model->appliance->parts[remedy->part].name, part))
            continue;
        if (cured < bar) assert_false(plan__is_justified(planning, (DecisionAct){DECISION_REPAIR, r}));
        return cured >= p->terms.justified && cured < bar;
    }
    return 0;
}

/* A thermostat is not sold on a temperature read at one moment of its cycle, nor an electrician called to the
 * house, as soon as other parts are (common practice, no source). */
static void a_spot_sells_no_part_and_the_house_wants_more(void **state)
{
    (void)state;
    static Planned p;
    int thermostats = 0, supplies = 0;
    visit_begin(&p.visit, "range-thermostat");
    p.terms = plan_default_terms();
    for (int celsius = 195; celsius < 300; celsius += 7) {
        visit_forget(&p.visit);
        visit_complain(&p.visit, "too-hot");
        visit_spot(&p.visit, celsius, 177);
        thermostats += is_held_back(&p, "thermostat", 0.93);
    }
    for (int volts = 150; volts < 235; volts += 4) {
        visit_forget(&p.visit);
        visit_complain(&p.visit, "slow");
        visit_volt(&p.visit, "L1", "L2", volts, "off");
        supplies += is_held_back(&p, "supply", 0.97);
    }
    print_message("held back: the thermostat %d times, the supply %d times\n", thermostats, supplies);
    assert_true(thermostats > 0 && supplies > 0);
    visit_end(&p.visit);
}

/* It was turned by a bad reading, and a new one was fitted; the run swings widely, which speaks for a new
 * thermostat that is bad, too. But it is 2 K off, and nobody turns it by 2 K. */
static void what_is_right_is_not_turned(void **state)
{
    (void)state;
    static Planned p;
    visit_begin(&p.visit, "range-thermostat");
    p.terms = plan_default_terms();
    visit_complain(&p.visit, "slow");
    visit_spot(&p.visit, 158, 177);
    visit_adjust(&p.visit, "thermostat");
    visit_spot(&p.visit, 226, 177);
    visit_repair(&p.visit, "thermostat");
    run(&p, 179);
    p.visit.runs[p.visit.run_count - 1].swing_kelvin = (RunFigure){56, 3};
    plan(&p);
    for (int round = 0; round < 40 && p.plan.steps[0].kind == STEP_CHECK; round++, plan(&p))
        answer(&p, p.plan.steps[0].check, 0);
    for (int s = 0; s < p.plan.step_count; s++)
        assert_false(p.plan.steps[s].kind == STEP_REPAIR && p.plan.steps[s].is_adjustment &&
                     strcmp(part_of(&p, &p.plan.steps[s]), "thermostat") == 0);
    visit_end(&p.visit);
}

/* A new element works and the run is 17 K (30 F) low. Whether that is a fault or how this oven was made, it
 * is set right before anybody calls it proved; 12 K are within specification. */
static void what_settles_too_far_off_is_set_right(void **state)
{
    Planned *p = *state;
    static const double off[] = {-17, -12, 12, 17};
    for (size_t i = 0; i < sizeof off / sizeof *off; i++) {
        visit_forget(&p->visit);
        enter_open_element(p);
        visit_repair(&p->visit, "bake-element");
        run(p, 177 + off[i]);
        plan(p);
        for (int steps = 0; p->plan.steps[0].kind == STEP_CHECK && steps < 20; plan(p), steps++)
            answer(p, p->plan.steps[0].check, 0);
        const Step *step = &p->plan.steps[0];
        print_message("%g K off: sound %.2f, step %d, %+.1f K\n", off[i],
                      p->visit.standing.nothing_wrong.probability, (int)step->kind, step->turn_kelvin);
        if (fabs(off[i]) < 14) {
            assert_int_equal(step->kind, STEP_CLOSE);
            continue;
        }
        assert_true(step->kind == STEP_REPAIR && step->is_adjustment);
        assert_string_equal(part_of(p, step), "control");
        assert_near(step->turn_kelvin, -off[i], 1e-9);
        assert_int_equal(p->plan.verdict, PLAN_GO_ON);
        for (int s = 1; s < p->plan.step_count; s++) assert_true(p->plan.steps[s].kind != STEP_CLOSE);
        visit_adjust(&p->visit, "control");
        run(p, 177);
        plan(p);
        for (int steps = 0; p->plan.steps[0].kind == STEP_CHECK && steps < 20; plan(p), steps++)
            answer(p, p->plan.steps[0].check, 0);
        assert_int_equal(p->plan.verdict, PLAN_PROVED);
    }
}

/* 20 K too cool, turned, and now so far off: is it turned again, after looks that show nothing? */
static bool is_turned_again(Planned *p, double off)
{
    visit_forget(&p->visit);
    visit_complain(&p->visit, "too-cool");
    run(p, 177 - 20);
    visit_adjust(&p->visit, "control");
    run(p, 177 + off);
    plan(p);
    for (int steps = 0; p->plan.steps[0].kind == STEP_CHECK && steps < 25; plan(p), steps++)
        answer(p, p->plan.steps[0].check, 0);
    print_message("%g K off: step %d, %+.1f K\n", off, (int)p->plan.steps[0].kind,
                  p->plan.steps[0].turn_kelvin);
    return p->plan.steps[0].kind == STEP_REPAIR && p->plan.steps[0].is_adjustment;
}

/* Who has turned it once turns it again while it is 11 K off, though that is within specification; but not at
 * 6 K. */
static void what_is_turned_is_turned_until_it_is_near(void **state)
{
    Planned *p = *state;
    assert_false(is_turned_again(p, -6));
    assert_false(is_turned_again(p, 6));
    assert_true(is_turned_again(p, 11));
    assert_near(p->plan.steps[0].turn_kelvin, -11, 1e-9);
    visit_adjust(&p->visit, "control");
    run(p, 178);
    plan(p);
    assert_true(p->plan.steps[0].turn_kelvin == 0);
}

/* What the owner said, a lamp that was changed, and the proof: is it a temperature run? */
static bool asks_for_a_run(Planned *p, const char *word)
{
    bool is_run = false;
    int steps = 0;
    visit_forget(&p->visit);
    visit_complain(&p->visit, word);
    visit_look(&p->visit, "bake-element", "glows", "bake");
    visit_look(&p->visit, "broil-element", "glows", "broil");
    visit_look(&p->visit, "oven-lamp", "dark", "light");
    visit_dead(&p->visit);
    visit_ohm(&p->visit, "E1", "E2", INFINITY, "E1");
    visit_repair(&p->visit, "oven-lamp");
    for (plan(p); !is_run && p->plan.steps[0].kind != STEP_CLOSE && steps < 40; plan(p), steps++) {
        const Step *step = &p->plan.steps[0];
        assert_true(step->kind == STEP_CHECK || step->kind == STEP_PROVE);
        is_run = p->visit.appliance.checks[step->check].kind == CHECK_RUN;
        if (!is_run) answer(p, step->check, 0);
    }
    print_message("%s: after %d checks %s\n", word, steps, is_run ? "a run" : "closed");
    return is_run;
}

/* A dark lamp explains why somebody says that the light is out, and not that the oven bakes too hot. */
static void what_the_owner_said_of_the_temperature_is_answered(void **state)
{
    Planned *p = *state;
    assert_true(asks_for_a_run(p, "too-hot"));
    assert_true(asks_for_a_run(p, "swings"));
    assert_false(asks_for_a_run(p, "light-out"));
    assert_false(asks_for_a_run(p, "smells-burnt")); /* which no thermometer shows */
}

/* The fan of this oven stands still, which makes it slow to heat, and not too hot: a new fan that turns
 * answers the one, and not the other. */
static void what_was_mended_may_be_the_answer(void **state)
{
    (void)state;
    static Planned p;
    static const char *const said[] = {"slow", "too-hot"};
    visit_begin(&p.visit, "oven-230");
    p.terms = plan_default_terms();
    for (int i = 0; i < 2; i++) {
        bool is_run = false;
        int steps = 0;
        visit_forget(&p.visit);
        visit_complain(&p.visit, said[i]);
        visit_look(&p.visit, "top-element", "glows", "bake");
        visit_look(&p.visit, "convection-fan", "still", "convection");
        visit_dead(&p.visit);
        visit_repair(&p.visit, "convection-fan");
        for (plan(&p); !is_run && p.plan.steps[0].kind != STEP_CLOSE && steps < 30; plan(&p), steps++) {
            is_run = p.visit.appliance.checks[p.plan.steps[0].check].kind == CHECK_RUN;
            if (!is_run) answer(&p, p.plan.steps[0].check, 0);
        }
        print_message("%s: after %d checks %s\n", said[i], steps, is_run ? "a run" : "closed");
        assert_int_equal(is_run, i == 1);
    }
    visit_end(&p.visit);
}

/* Who has looked behind the rear panel has opened it, and who has mended something there, too: nobody is sent
 * to open it again, and before it is closed, what S8 wants is measured. */
static void a_look_opens_what_it_looks_into(void **state)
{
    Planned *p = *state;
    visit_complain(&p->visit, "no-bake");
    const Entry *look = visit_look(&p->visit, "wire-BK2-K5", "sound", NULL);
    const int behind = p->visit.appliance.parts[look->part].seen_from;
    assert_true(plan__situation(&p->visit.model, &p->visit.call).is_open[behind]);
    visit_forget(&p->visit);
    visit_look(&p->visit, "bake-element", "dark", "bake");
    visit_repair(&p->visit, "bake-element");
    const Situation mended = plan__situation(&p->visit.model, &p->visit.call);
    assert_true(mended.is_open[place(p, "behind")] && !mended.power_on);
    plan(p);
    assert_true(measure_before_covers(p) >= 2); /* ground and insulation */
    visit_forget(&p->visit);
    visit_look(&p->visit, "bake-element", "glows", "bake"); /* from where one stands */
    assert_false(plan__situation(&p->visit.model, &p->visit.call).is_open[place(p, "behind")]);
    visit_forget(&p->visit);
    visit_look(&p->visit, "door-gasket", "slips", NULL); /* by the closed door */
    assert_false(plan__situation(&p->visit.model, &p->visit.call).is_open[place(p, "cavity")]);
    visit_look(&p->visit, "door-gasket", "torn", NULL);
    assert_true(plan__situation(&p->visit.model, &p->visit.call).is_open[place(p, "cavity")]);
}

/* A tripped breaker is found before anybody has looked at the oven: what the control is set to is read on the
 * way to the run, since a wrong offset set after it would need another. It is not read where it is known. */
static void what_the_control_is_set_to_is_read_before_the_run(void **state)
{
    Planned *p = *state;
    visit_complain(&p->visit, "no-heat");
    visit_look(&p->visit, "oven-lamp", "dark", "light");
    visit_look(&p->visit, "breaker", "tripped", NULL);
    visit_adjust(&p->visit, "breaker");
    int looks = 0;
    for (plan(p); p->plan.steps[0].kind == STEP_CHECK && looks < 4; plan(p), looks++) {
        const Check *check = &p->visit.appliance.checks[p->plan.steps[0].check];
        if (check->kind == CHECK_OFFSET) break;
        answer(p, p->plan.steps[0].check, 0);
    }
    assert_int_equal(p->plan.steps[0].kind, STEP_CHECK);
    visit_offset(&p->visit, 0);
    for (plan(p); p->plan.steps[0].kind == STEP_CHECK && looks < 8; plan(p), looks++) {
        assert_true(p->visit.appliance.checks[p->plan.steps[0].check].kind != CHECK_OFFSET);
        answer(p, p->plan.steps[0].check, 0);
    }
    assert_int_equal(p->plan.steps[0].kind, STEP_PROVE);
}

/* The owner's thermometer said so, the run does not: within specification after cheap looks, which
 * together take less than another run, and nothing is sold. */
static void within_specification_is_closed(void **state)
{
    Planned *p = *state;
    int looks = 0;
    double second = 0;
    visit_complain(&p->visit, "too-cool");
    visit_offset(&p->visit, 0);
    run(p, 177);
    for (plan(p); p->plan.steps[0].kind == STEP_CHECK && looks < 30; plan(p), looks++) {
        second += p->plan.steps[0].second;
        answer(p, p->plan.steps[0].check, 0);
    }
    print_message("closed after %d more checks of %.0f minutes\n", looks, second / 60);
    assert_int_equal(p->plan.steps[0].kind, STEP_CLOSE);
    assert_int_equal(p->plan.verdict, PLAN_NOTHING_WRONG);
    assert_true(p->plan.is_done);
    assert_int_equal(p->plan.set[0], 0);
    assert_true(second < p->terms.proving_second);
}

/* With an hour at a fortune and help for next to nothing, help is called. */
static void what_is_not_worth_its_cost_is_handed_over(void **state)
{
    Planned *p = *state;
    visit_complain(&p->visit, "no-bake");
    p->terms.labour_minor_per_hour = 1200000;
    p->terms.hand_over_minor = 1000;
    plan(p);
    assert_int_equal(p->plan.steps[0].kind, STEP_HAND_OVER);
    assert_int_equal(p->plan.verdict, PLAN_OPEN);
    /* whoever takes over pays for a part between none and the dearest, 210 USD */
    assert_in_range(p->plan.steps[0].expected_total_minor, 1000, 1000 + 21000);
}

/* A set is as probable as that one of its suspects is there, alone or with others besides. */
static void a_set_is_named_with_its_probability(void **state)
{
    Planned *p = *state;
    visit_complain(&p->visit, "too-cool");
    plan(p);
    double sum = 0;
    for (int i = 0; i < p->plan.set_count; i++)
        sum += plan__group_probability(&p->visit.standing, p->plan.set[i]);
    assert_true(p->plan.set_count >= 1);
    assert_true(p->plan.set_probability >= sum - 1e-12 && p->plan.set_probability <= 1 + 1e-12);
}

/* ---- what if */

/* What a branch says of who leads then is what the diagnosis says once the entry is made, and imagining it
 * leaves the call alone. */
static void an_imagined_outcome_is_the_entry(void **state)
{
    Planned *p = *state;
    int compared = 0;
    visit_complain(&p->visit, "no-bake");
    visit_look(&p->visit, "bake-element", "dark", "bake");
    plan(p);
    const Plan here = p->plan;
    const Entry before = p->visit.entries[1];
    for (int s = 0; s < here.step_count; s++)
        for (int b = 0; b < here.steps[s].branch_count; b++) {
            const StepBranch *branch = &here.steps[s].branches[b];
            if (branch->outcome.kind != OUTCOME_LOOK && branch->outcome.kind != OUTCOME_YES) continue;
            p->visit.entries[p->visit.call.entry_count++] =
                diagnosis_entry(&p->visit.model, here.steps[s].check, &branch->outcome, NULL);
            plan(p);
            /* of what comes once in a hundred times the planner's classes of causes know less */
            assert_near(plan__group_probability(&p->visit.standing, branch->group), branch->group_probability,
                        branch->chance > 0.05 ? 0.02 : 0.03);
            const Plan with = p->plan;
            plan(p);
            assert_int_equal(with.steps[0].kind, p->plan.steps[0].kind);
            assert_int_equal(with.steps[0].check, p->plan.steps[0].check);
            p->visit.call.entry_count--;
            compared++;
        }
    assert_true(compared > 0);
    assert_memory_equal(&before, &p->visit.entries[1], sizeof before);
    plan(p);
    assert_int_equal(p->plan.steps[0].check, here.steps[0].check);
    assert_int_equal(p->plan.steps[0].expected_total_minor, here.steps[0].expected_total_minor);
}

/* ---- before the visit */

/* Probability that something is there which only a new one of this part cures. */
static double needs_new(const Planned *p, int part)
{
    const Appliance *appliance = &p->visit.appliance;
    double sum = 0;
    for (int g = 1; g < p->visit.model.group_count; g++) {
        const HypothesisGroup *group = &p->visit.model.groups[g];
        bool is_needed = false;
        for (int i = 0; i < group->count; i++) {
            const Fault *fault = &appliance->faults[group->faults[i]];
            is_needed |= appliance->parts[fault->part].replaced_with == part &&
                         fault->mode->adjust_second <= 0 && !plan__is_harmless(appliance, group->faults[i]);
        }
        if (is_needed) sum += plan__group_probability(&p->visit.standing, g);
    }
    return sum;
}

static void visit_is_prepared(Planned *p, const char *word)
{
    PlanVisit visit;
    Error error;
    visit_complain(&p->visit, word);
    visit_diagnose(&p->visit);
    assert_true(
        plan_before_visit(&p->visit.model, &p->visit.standing, &p->terms, &p->visit.answers, &visit, &error));
    assert_in_range(visit.question_count, 1, PLAN_MOST_QUESTIONS);
    for (int q = 0; q < visit.question_count; q++) {
        const Step *question = &visit.questions[q];
        double sum = 0;
        assert_int_equal(p->visit.appliance.checks[question->check].kind, CHECK_ASK);
        assert_false(diagnosis_is_check(&p->visit.model, &p->visit.entries[0], question->check));
        assert_true(q == 0 || question->information <= visit.questions[q - 1].information);
        for (int b = 0; b < question->branch_count; b++) sum += question->branches[b].chance;
        assert_near(sum, 1, 0.02); /* what hardly ever comes has no branch */
    }
    assert_true(visit.part_count > 0);
    for (int i = 0; i < visit.part_count; i++) {
        const PlanPart *part = &visit.parts[i];
        const double price = (double)p->visit.appliance.parts[part->part].described->price_minor;
        assert_true(i == 0 || part->saves_minor <= visit.parts[i - 1].saves_minor);
        assert_int_equal(part->is_carried, part->saves_minor > 0);
        assert_near(part->probability, needs_new(p, part->part), 0.005); /* rare pairs count to one of them */
        assert_near(part->saves_minor, 9000 * part->probability - 100 - 0.01 * price, 1);
    }
    visit_forget(&p->visit);
}

static void a_visit_is_prepared_by_telephone(void **state)
{
    Planned *p = *state;
    static const char *const words[] = {"no-bake", "no-heat", "too-cool", "slow", "light-out"};
    for (int w = 0; w < 5; w++) visit_is_prepared(p, words[w]);
}

/* No bottom heat: the bake element is what goes on the truck first (the commonest cause; common practice). */
static void the_likely_part_is_carried(void **state)
{
    Planned *p = *state;
    PlanVisit visit;
    Error error;
    visit_complain(&p->visit, "no-bake");
    visit_diagnose(&p->visit);
    assert_true(
        plan_before_visit(&p->visit.model, &p->visit.standing, &p->terms, &p->visit.answers, &visit, &error));
    assert_string_equal(p->visit.appliance.parts[visit.parts[0].part].name, "bake-element");
    assert_true(visit.parts[0].is_carried);
    assert_false(visit.parts[visit.part_count - 1].is_carried);
}

#define TEST(name) cmocka_unit_test_setup(name, fresh)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(the_way_is_paid_with_all_before_it),
        TEST(a_run_closes_everything_first),
        TEST(open_places_are_not_paid_twice),
        TEST(what_goes_along_costs_no_way),
        TEST(what_is_done_is_not_proposed),
        TEST(found_ends_with_repair_and_proof),
        TEST(a_part_not_at_hand_costs_a_visit),
        TEST(a_repair_is_proved_and_then_closed),
        TEST(a_failed_proof_closes_nothing),
        TEST(a_plain_repair_keeps_its_proof),
        TEST(what_is_bought_is_measured_twice),
        TEST(what_looks_torn_is_tried_with_paper),
        TEST(so_is_what_tells_one_broken_part_from_another),
        TEST(what_the_owner_says_sells_no_part),
        TEST(what_works_again_is_not_handed_over),
        TEST(a_run_is_not_made_to_see_that_all_is_dead),
        TEST(a_setting_just_made_is_not_read),
        TEST(after_many_failed_runs_others_are_asked),
        TEST(contradiction_is_settled_first),
        TEST(leaking_frame_keeps_the_power_off),
        TEST(live_frame_keeps_a_repair_from_its_run),
        TEST(a_wrong_offset_is_set_not_replaced),
        TEST(a_thermostat_is_turned_as_measured),
        TEST(one_reading_turns_only_what_is_probably_out),
        TEST(a_spot_sells_no_part_and_the_house_wants_more),
        TEST(what_is_right_is_not_turned),
        TEST(what_settles_too_far_off_is_set_right),
        TEST(what_is_turned_is_turned_until_it_is_near),
        TEST(what_the_owner_said_of_the_temperature_is_answered),
        TEST(what_was_mended_may_be_the_answer),
        TEST(a_look_opens_what_it_looks_into),
        TEST(what_the_control_is_set_to_is_read_before_the_run),
        TEST(within_specification_is_closed),
        TEST(what_is_not_worth_its_cost_is_handed_over),
        TEST(a_set_is_named_with_its_probability),
        TEST(an_imagined_outcome_is_the_entry),
        TEST(a_visit_is_prepared_by_telephone),
        TEST(the_likely_part_is_carried),
    };
    return cmocka_run_group_tests(tests, begin, end);
}
