/* finish.c: what follows the checks: mending, proving, and an entry that is made once more.
 *
 * Costs are the labour of the step, its part, and what is expected to come after it: the repair of whatever
 * it turns out to be, and the proving run.
 *
 * Bad at: choosing. It mends what leads the set, even where a cheaper member of it might be tried first,
 * and knows neither truck stock nor return visits. */
#include <assert.h>

#include "core/plan/plan_private.h"

static const double REPEAT_SECOND = 60; /* the probes are still at hand */
/* A wire has no entry of its own in the file: making a new one takes this long. Common practice, no source.
 */
static const double REWIRE_SECOND = 900;

static double replace_second(const Part *part)
{
    return part->described && part->described->replace_second > 0 ? part->described->replace_second
                                                                  : REWIRE_SECOND;
}

static long long price_minor(const Part *part) { return part->described ? part->described->price_minor : 0; }

/* Minor units. Part and labour of what is bought; opening the place is priced with the step, where it is
 * known what is open. */
static double repair_cost(const Appliance *appliance, int fault, const PlanTerms *terms)
{
    const Part *part = &appliance->parts[appliance->parts[appliance->faults[fault].part].replaced_with];
    return (double)price_minor(part) + replace_second(part) / 3600 * (double)terms->labour_minor_per_hour;
}

/* Repairing whatever it turns out to be, and proving it. */
double plan__expected_rest(const Standing *standing, const PlanTerms *terms)
{
    const DiagnosisModel *model = standing->model;
    double sum = terms->proving_second / 3600 * (double)terms->labour_minor_per_hour;
    for (int h = 1; h < model->hypothesis_count; h++)
        for (int i = 0; i < model->hypotheses[h].count; i++) {
            const int fault = model->circuit.variants[model->hypotheses[h].variants[i]].fault;
            sum += standing->probability[h] * repair_cost(model->appliance, fault, terms);
        }
    return sum;
}

/* `is_off`: the power is off before it. */
static Step prove(const PlanTerms *terms, bool is_off)
{
    Step step = {.kind = STEP_PROVE, .check = -1, .entry = -1, .part = -1, .second = terms->proving_second};
    step.needs.power_on = true;
    step.switches_power = is_off;
    step.cost_minor = (long long)(terms->proving_second / 3600 * (double)terms->labour_minor_per_hour + 0.5);
    return step;
}

/* What is bought may be more than what is broken: a relay is replaced with the control that carries it. */
static Step mend(const Standing *standing, const PlanTerms *terms, int fault)
{
    const Appliance *appliance = standing->model->appliance;
    const Situation situation = plan__situation(appliance, standing->call);
    const int part = appliance->parts[appliance->faults[fault].part].replaced_with;
    Step step = {.kind = STEP_REPAIR, .check = -1, .entry = -1, .part = part};
    step.needs = safety_of_repair(appliance, part, standing->call);
    plan__price(appliance, &situation, terms, &appliance->parts[part].place, 1,
                replace_second(&appliance->parts[part]), &step);
    step.cost_minor += price_minor(&appliance->parts[part]);
    return step;
}

/* An entry as the check that it was, for what it needs and where it is made. */
static Check check_of(const Appliance *appliance, const Entry *entry)
{
    static const CheckKind kinds[] = {
        [READING_OHM] = CHECK_OHM, [READING_VOLT] = CHECK_VOLT, [READING_AMP] = CHECK_AMP};
    Check check = {.kind = CHECK_SIGHT,
                   .part = entry->part,
                   .from = -1,
                   .to = -1,
                   .places = {-1, -1},
                   .second = REPEAT_SECOND};
    if (entry->kind == ENTRY_READING) {
        const Connection *connection = &entry->connection;
        check.kind = kinds[connection->kind];
        check.power_on = connection->power_on;
        check.places[0] = appliance->marks[connection->from].place;
        check.places[1] = appliance->marks[connection->to].place;
    } else if (entry->kind == ENTRY_LOOK) {
        check.kind = entry->function >= 0 ? CHECK_WATCH : CHECK_SIGHT;
        check.power_on = entry->function >= 0;
        check.places[0] = appliance->parts[entry->part].place;
    }
    return check;
}

/* Contradictions are listed in the order of the entries, so the earliest doubtful one is repeated first. */
static Step repeat(const Standing *standing, const PlanTerms *terms)
{
    const Appliance *appliance = standing->model->appliance;
    const int entry = standing->contradictions[0].entry;
    const Check check = check_of(appliance, &standing->call->entries[entry]);
    const Situation situation = plan__situation(appliance, standing->call);
    Step step = {.kind = STEP_REPEAT, .check = -1, .entry = entry, .part = check.part};
    step.needs = safety_of_check(appliance, &check, standing->call);
    plan__price(appliance, &situation, terms, check.places, 2, check.second, &step);
    return step;
}

/* Both faults of a pair may be cured by one new part. */
static bool is_planned(const Plan *plan, int part)
{
    for (int s = 0; s < plan->step_count; s++)
        if (plan->steps[s].part == part) return true;
    return false;
}

/* S7: these may show where the frame gets its voltage from, or that it does not. A reading that does not fit
 * may be the one that said so, so it comes first. */
static void add_dead_checks(const Standing *standing, const PlanTerms *terms, const Plan *checks, Plan *plan)
{
    if (standing->contradiction_count > 0 && plan->step_count < PLAN_MOST_STEPS) {
        const Step again = repeat(standing, terms);
        if (!again.needs.power_on) plan->steps[plan->step_count++] = again;
    }
    for (int s = 0; s < checks->step_count && plan->step_count < PLAN_MOST_STEPS; s++)
        if (!checks->steps[s].needs.power_on) plan->steps[plan->step_count++] = checks->steps[s];
}

/* What follows when the checks have done their work: mend what leads, if anything is sure enough, then prove.
 */
void plan__finish(const Standing *standing, const PlanTerms *terms, bool may_prove, Plan *plan)
{
    const HypothesisGroup *leading = &standing->model->groups[plan->set[0]];
    const bool is_sure = plan->verdict == PLAN_FOUND || plan->verdict == PLAN_SET;
    const Plan checks = *plan;
    plan->step_count = 0;
    for (int i = 0; is_sure && i < leading->count; i++) {
        const Step step = mend(standing, terms, leading->faults[i]);
        if (!is_planned(plan, step.part)) plan->steps[plan->step_count++] = step;
    }
    const bool is_off =
        plan->step_count > 0 || !plan__situation(standing->model->appliance, standing->call).power_on;
    if (may_prove)
        plan->steps[plan->step_count++] = prove(terms, is_off);
    else
        add_dead_checks(standing, terms, &checks, plan);
}

/* With all places taken the last runner-up goes. */
static void put_first(Plan *plan, const Step *step)
{
    const int last = plan->step_count < PLAN_MOST_STEPS ? plan->step_count++ : PLAN_MOST_STEPS - 1;
    for (int at = last; at > 0; at--) plan->steps[at] = plan->steps[at - 1];
    plan->steps[0] = *step;
}

/* Has a part been mended, and no run been made since? */
static bool is_unproved(const Call *call)
{
    bool is_mended = false;
    for (int e = 0; e < call->entry_count; e++) {
        if (call->entries[e].is_struck) continue;
        if (call->entries[e].kind == ENTRY_REPAIR) is_mended = true;
        if (call->entries[e].kind == ENTRY_RUN) is_mended = false;
    }
    return is_mended;
}

/* A doubtful entry comes before a proving run: a run that proves a misread repair proves nothing. */
void plan__put_first(const Standing *standing, const PlanTerms *terms, Plan *plan)
{
    Step step;
    if (standing->contradiction_count > 0)
        step = repeat(standing, terms);
    else if (is_unproved(standing->call) && plan->set[0] == 0)
        step = prove(terms, !plan__situation(standing->model->appliance, standing->call).power_on);
    else
        return;
    if (step.needs.power_on && !safety_may_switch_on(plan->warnings, plan->warning_count)) return; /* S7 */
    put_first(plan, &step);
}
