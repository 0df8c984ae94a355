/* ours.c: the program's own advice, taken to the letter: diagnose, plan, carry out the first step, until the
 * plan says that the call may be closed or handed over. */
#include "policy.h"

#include <assert.h>
#include <time.h>

static const double LEAST_SAID = 0.01;
enum { ABOUT_MOMENT = 1 << 24, ONE_MOMENT_OF = 12 };
static const size_t MIB = (size_t)1 << 20;

static double now_ms(void)
{
    struct timespec time;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &time);
    return 1e3 * (double)time.tv_sec + 1e-6 * (double)time.tv_nsec;
}

/* --- what was said --- */

static bool is_truth(const World *world, const HypothesisGroup *group)
{
    bool is_same = group->count == world->left_count;
    for (int i = 0; i < group->count && is_same; i++) {
        bool is_there = false;
        for (int k = 0; k < world->left_count; k++)
            is_there |= world->drawn[world->left[k]] == group->faults[i];
        is_same = is_there;
    }
    return is_same;
}

static void note_said(Advice *advice, double said, bool came)
{
    if (said > LEAST_SAID && advice->suspect_count < ADVICE_MOST_SAID)
        advice->suspects[advice->suspect_count++] = (Said){(float)said, came};
}

/* Every moment with the same chance, whatever comes of it. One of each call would count the moments of short
 * calls more, and a call is short because who is suspected is the one. */
static void note_moment(const Technician *technician, const Standing *standing, Advice *advice)
{
    RandomStream stream = world__stream(technician->world, ABOUT_MOMENT, (uint64_t)advice->moments++);
    if (random_below(&stream, ONE_MOMENT_OF) != 0) return;
    note_said(advice, standing->nothing_wrong.probability, technician->world->left_count == 0);
    for (int s = 0; s < standing->suspect_count; s++)
        note_said(advice, standing->suspects[s].probability,
                  is_truth(technician->world, &standing->model->groups[standing->suspects[s].group]));
}

/* Is the fault one that this repair is for? */
static bool is_meant(const Appliance *appliance, const Step *step, int number)
{
    const Fault *fault = &appliance->faults[number];
    if (step->is_adjustment) return fault->part == step->part && fault->mode->adjust_second > 0;
    return fault->part == step->part || appliance->parts[fault->part].replaced_with == step->part;
}

/* That a fault is there which the repair is for: what the diagnosis says of it, and whether it is true. */
static void note_repair(const Technician *technician, const Standing *standing, const Step *step,
                        Advice *advice)
{
    const World *world = technician->world;
    const DiagnosisModel *model = standing->model;
    if (advice->first_repair.said > 0) return;
    double said = 0;
    for (int g = 1; g < model->group_count; g++) {
        const HypothesisGroup *group = &model->groups[g];
        bool is_any = false;
        for (int i = 0; i < group->count; i++) is_any |= is_meant(model->appliance, step, group->faults[i]);
        for (int h = group->first_hypothesis; is_any && h < group->first_hypothesis + group->hypothesis_count;
             h++)
            said += standing->probability[h];
    }
    advice->first_repair = (Said){.said = (float)said};
    for (int i = 0; i < world->left_count; i++)
        advice->first_repair.came |= is_meant(model->appliance, step, world->drawn[world->left[i]]);
}

/* --- steps --- */

/* How far off the last run or spot was; NAN when there is none. */
static double last_error(const Call *call)
{
    for (int e = call->entry_count - 1; e >= 0; e--) {
        const Entry *entry = &call->entries[e];
        if (entry->kind == ENTRY_SPOT) return entry->value.value - entry->set_celsius;
        if (entry->kind == ENTRY_RUN && entry->run) return entry->run->error_kelvin.value;
    }
    return NAN;
}

static bool take(Technician *technician, const Plan *plan, Error *error)
{
    const Step *step = &plan->steps[0];
    switch (plan->step_count > 0 ? step->kind : STEP_HAND_OVER) {
    case STEP_CHECK: return technician_check(technician, step->check, error);
    case STEP_REPEAT: {
        const int check = technician->check_of[step->entry];
        return check < 0 ? technician_run(technician, error) : technician_check(technician, check, error);
    }
    case STEP_REPAIR:
        if (step->is_adjustment)
            technician_adjust(technician, step->part, -last_error(&technician->call));
        else
            technician_replace(technician, step->part);
        return true;
    case STEP_PROVE:
        if (step->check >= 0 && technician->appliance->checks[step->check].kind == CHECK_WATCH)
            return technician_check(technician, step->check, error);
        return technician_run(technician, error);
    case STEP_CLOSE: technician_close(technician); return true;
    default: technician_hand_over(technician); return true;
    }
}

static void say_leader(const Technician *technician, const Standing *standing)
{
    const Suspect *suspect = &standing->suspects[0];
    const HypothesisGroup *group = &standing->model->groups[suspect->group];
    technician_say(technician, "    [%s%s%s %.3f, nothing wrong %.3f]",
                   technician->appliance->faults[group->faults[0]].name, group->count > 1 ? "+" : "",
                   group->count > 1 ? technician->appliance->faults[group->faults[1]].name : "",
                   suspect->probability, standing->nothing_wrong.probability);
}

static bool step_once(Technician *technician, Arena *arena, Advice *advice, Error *error)
{
    Standing standing;
    Plan plan;
    DiagnosisModel *model = technician->world->assumed;
    const double start = now_ms();
    if (!diagnose(model, &technician->call, arena, &standing, error)) return false;
    const double diagnosed = now_ms();
    if (!plan_next(model, &standing, technician->terms, arena, &plan, error)) return false;
    if (advice->count < TECHNICIAN_MOST_STEPS) {
        advice->diagnose_ms[advice->count] = (float)(diagnosed - start);
        advice->plan_ms[advice->count++] = (float)(now_ms() - diagnosed);
    }
    technician->is_barred = !safety_may_switch_on(plan.warnings, plan.warning_count);
    note_moment(technician, &standing, advice);
    if (plan.step_count > 0 && plan.steps[0].kind == STEP_REPAIR)
        note_repair(technician, &standing, &plan.steps[0], advice);
    say_leader(technician, &standing);
    return take(technician, &plan, error);
}

bool policy_ours(Technician *technician, Advice *advice, Error *error)
{
    bool went_well = true;
    technician->is_noting = true;
    for (int step = 0; went_well && !technician_is_done(technician) && step < TECHNICIAN_MOST_STEPS; step++) {
        Arena arena = arena_new(256 * MIB);
        went_well = step_once(technician, &arena, advice, error);
        arena_free(&arena);
    }
    if (went_well && !technician_is_done(technician)) technician_hand_over(technician);
    return went_well;
}
