/* cautions.c: the rules S1 to S7 of safety.h, and the prices, in every step of every plan of made-up calls.
 *
 * core_safety.rules holds the rules themselves; here they are held of what is proposed. The power state, open
 * places and proofs are followed a second time, entry by entry. */
#include <math.h>
#include <string.h>

#include "core/plan/plan_private.h"
#include "support/near.h"
#include "support/shipped.h"
#include "support/walk.h"

enum { CALLS = 5, ENTRIES = 8, SEED = 1906 };

typedef struct {
    int verdicts[PLAN_OPEN + 1];
    int first_steps, live_first, dead_would_do;
} Seen;

/* Where the last entry has left the oven. */
typedef struct {
    bool power_on, is_proved;
} Made;

static Made follow(const Call *call)
{
    Made oven = {.power_on = true};
    for (int e = 0; e < call->entry_count; e++) {
        const Entry *entry = &call->entries[e];
        if (entry->kind == ENTRY_DEAD) oven = (Made){.power_on = false, .is_proved = true};
        if (entry->kind == ENTRY_REPAIR) oven.power_on = false;
        if (entry->kind == ENTRY_READING) oven.power_on = entry->connection.power_on;
        if (entry->kind == ENTRY_RUN || (entry->kind == ENTRY_LOOK && entry->function >= 0))
            oven.power_on = true;
        if (oven.power_on) oven.is_proved = false;
    }
    return oven;
}

static bool touches_frame(const char *key)
{
    return key && (strcmp(key, "frame-leakage") == 0 || strcmp(key, "missing-ground") == 0);
}

static bool may_be_live(const Plan *plan)
{
    double danger = 0;
    for (int w = 0; w < plan->warning_count; w++)
        if (touches_frame(plan->warnings[w].key)) danger += plan->warnings[w].probability;
    return danger >= SAFETY_BAR_FROM;
}

static bool is_mended(const Visit *visit, const Plan *plan, int fault)
{
    const int part = visit->appliance.parts[visit->appliance.faults[fault].part].replaced_with;
    for (int s = 0; s < plan->step_count; s++)
        if (plan->steps[s].kind == STEP_REPAIR && plan->steps[s].part == part) return true;
    return false;
}

/* Probability that the frame is still not safe when all repairs of the plan are made. */
static double danger_left(const Visit *visit, const Plan *plan)
{
    double sum = 0;
    for (int h = 1; h < visit->model.hypothesis_count; h++) {
        bool is_live = false;
        for (int i = 0; i < visit->model.hypotheses[h].count; i++) {
            const int variant = visit->model.hypotheses[h].variants[i];
            const int fault = visit->model.circuit.variants[variant].fault;
            const char *key = safety_warning_key(&visit->appliance, &visit->appliance.faults[fault]);
            is_live |= touches_frame(key) && !is_mended(visit, plan, fault);
        }
        if (is_live) sum += visit->standing.probability[h];
    }
    return sum;
}

static void hold_check(const Visit *visit, const Step *step, const Made *oven)
{
    const Check *check = &visit->appliance.checks[step->check];
    const bool touches = check->kind <= CHECK_AMP;
    if (check->kind == CHECK_OHM) assert_false(step->needs.power_on);                                /* S1 */
    assert_int_equal(step->needs.is_live_work, touches && step->needs.power_on);                     /* S3 */
    assert_int_equal(step->needs.needs_proof, touches && !step->needs.power_on && !oven->is_proved); /* S2 */
    assert_true(step->information > 0);
    for (int e = 0; e < visit->call.entry_count; e++) { /* not twice on the same oven */
        bool is_mended = false;
        for (int later = e; later < visit->call.entry_count; later++)
            is_mended |= visit->entries[later].kind == ENTRY_REPAIR;
        assert_true(is_mended || !diagnosis_is_check(&visit->model, &visit->entries[e], step->check));
    }
}

static void hold_repeat(const Visit *visit, const Step *step, const Made *oven)
{
    const Entry *entry = &visit->entries[step->entry];
    const bool is_reading = entry->kind == ENTRY_READING;
    assert_true(is_reading || entry->kind == ENTRY_LOOK);
    const bool is_live = is_reading ? entry->connection.power_on : entry->function >= 0;
    assert_int_equal(step->needs.power_on, is_live);
    assert_int_equal(step->needs.is_live_work, is_live && is_reading);
    assert_int_equal(step->needs.needs_proof, is_reading && !is_live && !oven->is_proved);
}

static bool is_open(const Visit *visit, const Step *step, int until, int place)
{
    const DescribedPlace *places = visit->appliance.description->places;
    if (places[place].open_second == 0) return true;
    for (int i = 0; i < until; i++)
        if (step->opens[i] == place) return true;
    for (int e = 0; e < visit->call.entry_count; e++) { /* opened for a reading, or on the way to it */
        if (visit->entries[e].kind != ENTRY_READING) continue;
        for (int end = 0; end < 2; end++) {
            const Connection *connection = &visit->entries[e].connection;
            int at = visit->appliance.marks[end ? connection->to : connection->from].place;
            while (at >= 0) {
                if (at == place) return true;
                int before = -1;
                for (int p = 0; places[at].after && p < visit->appliance.description->place_count; p++)
                    if (strcmp(places[p].name, places[at].after) == 0) before = p;
                at = before;
            }
        }
    }
    return false;
}

/* Each place once, nothing that is open already, and what lies before it first. */
static void hold_places(const Visit *visit, const Step *step)
{
    const Description *description = visit->appliance.description;
    double second = 0;
    for (int i = 0; i < step->open_count; i++) {
        const DescribedPlace *place = &description->places[step->opens[i]];
        for (int k = 0; k < i; k++) assert_int_not_equal(step->opens[k], step->opens[i]);
        for (int p = 0; place->after && p < description->place_count; p++)
            if (strcmp(description->places[p].name, place->after) == 0)
                assert_true(is_open(visit, step, i, p));
        second += place->open_second;
    }
    assert_true(step->second >= second);
}

static void hold_step(Visit *visit, const Plan *plan, const Step *step)
{
    const Made oven = follow(&visit->call);
    const PlanTerms terms = plan_default_terms();
    if (step->kind == STEP_CHECK) hold_check(visit, step, &oven);
    if (step->kind == STEP_REPEAT) hold_repeat(visit, step, &oven);
    if (step->kind == STEP_REPAIR) {
        assert_false(step->needs.power_on);
        assert_int_equal(step->needs.needs_proof, !oven.is_proved);
    }
    if (step->kind != STEP_PROVE) {
        if (may_be_live(plan)) assert_false(step->needs.power_on); /* S7 */
        assert_int_equal(step->switches_power, oven.power_on != step->needs.power_on);
        hold_places(visit, step);
    }
    const double labour = step->second / 3600 * (double)terms.labour_minor_per_hour;
    const long long price = step->kind == STEP_REPAIR && visit->appliance.parts[step->part].described
                                ? visit->appliance.parts[step->part].described->price_minor
                                : 0;
    assert_near((double)(step->cost_minor - price), labour, 1);
    assert_true(step->expected_total_minor >= step->cost_minor);
}

/* Repairs, then the proving run; or, while the frame may be live after them, only what is done dead. */
static void hold_end(const Visit *visit, const Plan *plan)
{
    int mends = 0;
    while (mends < plan->step_count && plan->steps[mends].kind == STEP_REPAIR) mends++;
    assert_int_equal(mends > 0,
                     (plan->verdict == PLAN_FOUND || plan->verdict == PLAN_SET) && plan->set[0] != 0);
    if (mends < plan->step_count && plan->steps[mends].kind == STEP_PROVE) {
        assert_int_equal(plan->step_count, mends + 1);
        assert_true(danger_left(visit, plan) < SAFETY_BAR_FROM + SAFETY_WARN_FROM); /* one may be too small */
        return;
    }
    assert_true(may_be_live(plan));
    for (int s = mends; s < plan->step_count; s++) assert_false(plan->steps[s].needs.power_on);
}

/* A dead check that promises as much as that live one, for no more time: priced here for all checks, not only
 * for those that the plan names. */
static bool is_dead_as_good(Visit *visit, const Step *live)
{
    static Field field;
    const PlanTerms terms = plan_default_terms();
    const Situation situation = plan__situation(&visit->appliance, &visit->call);
    bool is_there = false;
    plan__find_field(&visit->standing, &field);
    for (int c = 0; c < visit->appliance.check_count && !is_there; c++) {
        const Check *check = &visit->appliance.checks[c];
        if (check->power_on || check->kind >= CHECK_RUN || plan__is_done(&visit->model, &visit->call, c))
            continue;
        Arena arena = arena_new((size_t)8 << 20);
        Prediction prediction;
        Error error = {0};
        Step step = {.kind = STEP_CHECK, .check = c};
        step.needs = safety_of_check(&visit->appliance, check, &visit->call);
        assert_true(diagnosis_predict(&visit->model, &visit->call, c, field.which, field.count, &arena,
                                      &prediction, &error));
        plan__price(&visit->appliance, &situation, &terms, check->places, 2, check->second, &step);
        is_there = plan__information(&visit->standing, &field, &prediction) >= live->information &&
                   step.second <= live->second;
        arena_free(&arena);
    }
    return is_there;
}

static void hold_first(Visit *visit, const Step *first, Seen *seen)
{
    seen->first_steps++;
    if (first->kind != STEP_CHECK || !first->needs.is_live_work) return;
    seen->live_first++;
    seen->dead_would_do += is_dead_as_good(visit, first);
}

static void hold(Visit *visit, const Plan *plan, void *context)
{
    Seen *seen = context;
    seen->verdicts[plan->verdict]++;
    assert_int_equal(plan->is_done, plan->verdict != PLAN_GO_ON);
    if (visit->standing.contradiction_count > 0 && !plan->is_done && !may_be_live(plan))
        assert_int_equal(plan->steps[0].kind, STEP_REPEAT);
    for (int s = 0; s < plan->step_count; s++) hold_step(visit, plan, &plan->steps[s]);
    if (plan->is_done)
        hold_end(visit, plan);
    else
        hold_first(visit, &plan->steps[0], seen);
}

static void every_step_keeps_the_rules(void **state)
{
    (void)state;
    Seen seen = {.first_steps = 0};
    for (int i = 0; i < SHIPPED_COUNT; i++) walk_calls(shipped_names[i], CALLS, ENTRIES, SEED, hold, &seen);
    print_message("plans: %d go on, %d found, %d set, %d nothing wrong, %d open\n", seen.verdicts[PLAN_GO_ON],
                  seen.verdicts[PLAN_FOUND], seen.verdicts[PLAN_SET], seen.verdicts[PLAN_NOTHING_WRONG],
                  seen.verdicts[PLAN_OPEN]);
    print_message("first steps: %d, of these live work %d, where a dead check would do as well %d\n",
                  seen.first_steps, seen.live_first, seen.dead_would_do);
    assert_true(seen.verdicts[PLAN_GO_ON] > 0 && seen.verdicts[PLAN_FOUND] > 0);
    assert_int_equal(seen.dead_would_do, 0);
}

/* An owner who feels it tingle is reason enough to switch nothing on (S7; common practice, no source). */
static void a_tingle_keeps_the_power_off(void **state)
{
    (void)state;
    static Visit visit;
    for (int i = 0; i < SHIPPED_COUNT; i++) {
        const PlanTerms terms = plan_default_terms();
        Plan plan;
        Error error = {0};
        visit_begin(&visit, shipped_names[i]);
        visit_complain(&visit, "tingles");
        visit_diagnose(&visit);
        assert_true(plan_next(&visit.model, &visit.standing, &terms, &visit.answers, &plan, &error));
        assert_true(touches_frame(plan.warnings[0].key));
        assert_true(plan.step_count > 0);
        for (int s = 0; s < plan.step_count; s++) assert_false(plan.steps[s].needs.power_on);
        visit_end(&visit);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(a_tingle_keeps_the_power_off),
                                       cmocka_unit_test(every_step_keeps_the_rules)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
