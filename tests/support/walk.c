/* walk.c: see walk.h. */
#include "support/walk.h"

#include "base/random.h"
#include "support/near.h"

#include <math.h>

static int pick(RandomStream *stream, int count) { return (int)random_below(stream, (uint32_t)count); }

static Entry *add(Visit *visit, Entry entry)
{
    Entry *added = &visit->entries[visit->call.entry_count++];
    *added = entry;
    return added;
}

/* One of the foreseen outcomes; of a step without any, and of every other proving run, any that there is. */
static Outcome draw_outcome(Visit *visit, const Step *step, RandomStream *stream)
{
    const int sound = 0;
    const bool is_right = step->kind == STEP_PROVE && pick(stream, 2);
    Prediction prediction;
    Error error = {0};
    if (step->kind == STEP_CHECK && step->branch_count > 0)
        return step->branches[pick(stream, step->branch_count)].outcome;
    Arena arena = arena_new((size_t)8 << 20);
    assert_true(
        diagnosis_predict(&visit->model, &visit->call, step->check, &sound, 1, &arena, &prediction, &error));
    Outcome outcome = prediction.outcomes[pick(stream, prediction.outcome_count)];
    for (int o = 0; o < prediction.outcome_count && is_right; o++)
        if (prediction.outcomes[o].is_right) outcome = prediction.outcomes[o];
    arena_free(&arena);
    return outcome;
}

static void make_check(Visit *visit, const Step *step, RandomStream *stream)
{
    Outcome outcome = draw_outcome(visit, step, stream);
    const bool is_ohm = visit->appliance.checks[step->check].kind == CHECK_OHM;
    /* Only ohms can be OL. */
    if (outcome.kind == OUTCOME_DISPLAY && !is_ohm && isinf(outcome.low)) outcome.low = outcome.high = 0;
    if (visit->run_count == VISIT_MOST_ENTRIES) visit->run_count = 0;
    add(visit, diagnosis_entry(&visit->model, step->check, &outcome, &visit->runs[visit->run_count++]));
}

/* Now and then a hasty technician forgets to prove it dead. */
static void take(Visit *visit, const Step *step, RandomStream *stream)
{
    if (step->needs.needs_proof && pick(stream, 4)) visit_dead(visit);
    if (visit->call.entry_count >= VISIT_MOST_ENTRIES - 1) return;
    switch (step->kind) {
    case STEP_CHECK:
    case STEP_PROVE: make_check(visit, step, stream); break;
    case STEP_REPEAT: add(visit, visit->entries[step->entry]); break;
    case STEP_REPAIR: visit_mend(visit, step->part, step->is_adjustment); break;
    case STEP_CLOSE:
    case STEP_HAND_OVER: break;
    }
}

static void walk_once(Visit *visit, int entries, RandomStream *stream, WalkLook look, void *context)
{
    const PlanTerms terms = plan_default_terms();
    const Catalogue *catalogue = visit->appliance.catalogue;
    visit_complain(visit, catalogue->complaints[pick(stream, catalogue->complaint_count)].name);
    while (true) {
        Arena arena = arena_new((size_t)64 << 20);
        Plan plan;
        Error error = {0};
        arena_free(&visit->answers);
        visit_diagnose(visit);
        assert_true(plan_next(&visit->model, &visit->standing, &terms, &arena, &plan, &error));
        look(visit, &plan, context);
        const bool goes_on =
            plan.step_count > 0 && plan.steps[0].kind < STEP_CLOSE && visit->call.entry_count < entries;
        if (goes_on) take(visit, &plan.steps[plan.is_done ? 0 : pick(stream, plan.step_count)], stream);
        arena_free(&arena);
        if (!goes_on || visit->call.entry_count >= entries) return;
    }
}

void walk_calls(const char *appliance, int calls, int entries, unsigned seed, WalkLook look, void *context)
{
    static Visit visit;
    RandomStream stream = random_stream(seed);
    visit_begin(&visit, appliance);
    assert_true(entries < VISIT_MOST_ENTRIES - 2);
    for (int c = 0; c < calls; c++) {
        visit_forget(&visit);
        walk_once(&visit, entries, &stream, look, context);
    }
    print_message("%s: seed %u, %d calls of %d entries\n", appliance, seed, calls, entries);
    visit_end(&visit);
}
