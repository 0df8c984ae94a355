/* plan.c: the provisional planner, information for minutes.
 *
 * Every check that has not been made is judged by the information that its outcome is expected to give about
 * which faults are there (field.c), for the time that it takes from where the technician stands
 * (situation.c). On the way we find out which suspects none of these checks tells apart. When the leading
 * suspect, together with those, is sure enough, mending and proving follow (finish.c).
 *
 * It is bad at what needs two checks to pay (each alone tells nothing), and it does not weigh repairs
 * against checks.
 *
 * Invariants: (1) no step asks for the power while rule S7 bars it; (2) a check that the trail has since
 * the last repair is not proposed again; (3) is_done is false only while a check is offered; (4) of two
 * checks worth the same the earlier in the list comes first, so the same call always gives the same plan.
 *
 * What it costs: every check under every row of the field, at most PLAN_MOST_ROWS; displays are remembered
 * by the model, so a second plan after one more entry is cheaper. */
#include <assert.h>

#include "core/plan/plan_private.h"

static const double SAME = 0.8; /* two suspects that look this much alike in all checks are one set */
static const double LEAST_MEMBER = 1e-4;       /* of a set of suspects */
static const double LEAST_SURE = 0.95;         /* with no check left, less than this is no answer */
static const double LEAST_INFORMATION = 0.004; /* nats that a check must promise */

enum { SCRATCH_BYTES = 8 << 20 }; /* for the predictions of one check, given back before the next */

/* 120 an hour, 40 minutes for a proving run, a minute to the breaker and back, four minutes for the risk of
 * live work; 'sure' leaves one call in 200 to come back. */
PlanTerms plan_default_terms(void)
{
    return (PlanTerms){.labour_minor_per_hour = 12000,
                       .proving_second = 2400,
                       .switch_second = 60,
                       .live_risk_second = 240,
                       .sure = 0.995};
}

/* What every routine below needs. */
typedef struct {
    DiagnosisModel *model;
    const Standing *standing;
    const PlanTerms *terms;
    Situation situation;
    Field *field;
    Plan *plan;
    bool may_switch_on;
} Planning;

/* Nats for a second; live work counts as longer than it takes. */
static double score(const Planning *planning, const Step *step)
{
    const double risk = step->needs.is_live_work ? planning->terms->live_risk_second : 0;
    return step->information / (step->second + risk);
}

/* Keeps the best steps in the plan, best first; of equals the earlier check. */
static void offer(const Planning *planning, const Step *step)
{
    Plan *plan = planning->plan;
    int at = plan->step_count;
    if (at == PLAN_MOST_STEPS) {
        if (score(planning, step) <= score(planning, &plan->steps[at - 1])) return;
        at--;
    } else {
        plan->step_count++;
    }
    for (; at > 0 && score(planning, &plan->steps[at - 1]) < score(planning, step); at--)
        plan->steps[at] = plan->steps[at - 1];
    plan->steps[at] = *step;
}

/* How alike the leaders would look is asked of every check, also of one that promises too little to be
 * offered: many small differences together can tell two suspects apart. */
static bool consider(const Planning *planning, int check, Arena *scratch, Error *error)
{
    const Appliance *appliance = planning->model->appliance;
    const Check *asked = &appliance->checks[check];
    Field *field = planning->field;
    Prediction prediction;
    if (asked->power_on && !planning->may_switch_on) return true; /* safety, S7 */
    if (asked->kind >= CHECK_RUN) return true;                    /* not yet */
    if (plan__is_done(planning->model, planning->standing->call, check)) return true;
    if (!diagnosis_predict(planning->model, planning->standing->call, check, field->which, field->count,
                           scratch, &prediction, error))
        return false;
    plan__compare_leaders(planning->standing, field, &prediction);
    Step step = {.kind = STEP_CHECK, .check = check, .entry = -1, .part = asked->part};
    step.information = plan__information(planning->standing, field, &prediction);
    if (step.information < LEAST_INFORMATION) return true;
    step.needs = safety_of_check(appliance, asked, planning->standing->call);
    plan__price(appliance, &planning->situation, planning->terms, asked->places, 2, asked->second, &step);
    plan__note_branches(planning->standing, field, &prediction, &step);
    offer(planning, &step);
    return true;
}

static bool consider_all(const Planning *planning, Error *error)
{
    for (int check = 0; check < planning->model->appliance->check_count; check++) {
        Arena scratch = arena_new(SCRATCH_BYTES);
        const bool went_well = consider(planning, check, &scratch, error);
        arena_free(&scratch);
        if (!went_well) return false;
    }
    return true;
}

static bool contains(const HypothesisGroup *group, const HypothesisGroup *part)
{
    for (int i = 0; i < part->count; i++) {
        bool is_there = false;
        for (int k = 0; k < group->count; k++) is_there |= group->faults[k] == part->faults[i];
        if (!is_there) return false;
    }
    return true;
}

/* Probability that the faults of one of the set are there, alone or with others besides. For 'nothing wrong'
 * that is its own probability. */
static double covered_by_set(const Standing *standing, const Plan *plan)
{
    const HypothesisGroup *groups = standing->model->groups;
    double sum = 0;
    for (int g = 0; g < standing->model->group_count; g++) {
        bool is_covered = false;
        for (int i = 0; i < plan->set_count && !is_covered; i++)
            is_covered = plan->set[i] == 0 ? g == 0 : contains(&groups[g], &groups[plan->set[i]]);
        if (is_covered) sum += plan__group_probability(standing, g);
    }
    return sum;
}

/* A pair with a member of the set in it adds nothing to it: that member's repair comes first anyway. */
static bool is_in_set(const Standing *standing, const Plan *plan, int group)
{
    const HypothesisGroup *groups = standing->model->groups;
    for (int i = 0; i < plan->set_count; i++)
        if (plan->set[i] != 0 && contains(&groups[group], &groups[plan->set[i]])) return true;
    return false;
}

/* The leading suspect and, unless that alone is sure, those that no check still to be made tells from it;
 * with no check left, everyone who has not been ruled out. */
static void find_set(const Standing *standing, const Field *field, const PlanTerms *terms, Plan *plan)
{
    const bool has_check = plan->step_count > 0;
    for (int i = 0; i < field->leader_count; i++) {
        const int group = field->leaders[i];
        if (plan->set_count == 1 && plan->set_probability >= terms->sure) break;
        if (has_check && plan->set_probability >= terms->sure) break;
        if (i > 0 && plan__group_probability(standing, group) < LEAST_MEMBER) break;
        if (i > 0 && ((has_check && field->alike[i] < SAME) || is_in_set(standing, plan, group))) continue;
        plan->set[plan->set_count++] = group;
        plan->set_probability = covered_by_set(standing, plan);
    }
}

/* As long as a check promises something, only `sure` ends the visit; with none left, what is probable
 * enough must do, or nothing is claimed. */
static PlanVerdict judge(const Plan *plan, const PlanTerms *terms)
{
    const bool has_check = plan->step_count > 0;
    if (has_check && plan->set_probability < terms->sure) return PLAN_GO_ON;
    if (!has_check && plan->set_probability < LEAST_SURE) return PLAN_OPEN;
    if (plan->set_count > 1) return PLAN_SET;
    return plan->set[0] == 0 ? PLAN_NOTHING_WRONG : PLAN_FOUND;
}

static bool is_among(const HypothesisGroup *group, int fault)
{
    for (int i = 0; i < group->count; i++)
        if (group->faults[i] == fault) return true;
    return false;
}

/* Probability of each fault once those of `mended` are gone, for the warnings: of a pair whose two faults
 * give the same warning only one counts, or the pair would be warned of twice. */
static void fill_fault_probabilities(const Standing *standing, int mended, double *probability)
{
    const DiagnosisModel *model = standing->model;
    for (int h = 1; h < model->hypothesis_count; h++) {
        const char *before = NULL;
        for (int i = 0; i < model->hypotheses[h].count; i++) {
            const int fault = model->circuit.variants[model->hypotheses[h].variants[i]].fault;
            if (is_among(&model->groups[mended], fault)) continue;
            const char *key = safety_warning_key(model->appliance, &model->appliance->faults[fault]);
            if (!before || !key || !text_equal(key, before)) probability[fault] += standing->probability[h];
            before = key;
        }
    }
}

/* What must be warned of once the faults of the group `mended` are gone; group 0 has none. */
static bool find_warnings(const Standing *standing, int mended, Arena *arena, const SafetyWarning **warnings,
                          int *count, Error *error)
{
    const Appliance *appliance = standing->model->appliance;
    double *probability = ARENA_ARRAY(arena, double, (size_t)appliance->fault_count + 1);
    if (!probability) return error_memory(error);
    fill_fault_probabilities(standing, mended, probability);
    return safety_warnings(appliance, probability, arena, warnings, count, error);
}

/* S7: the proving run waits while something else than what is mended may have made the frame live. */
static bool finish(const Standing *standing, const PlanTerms *terms, Arena *arena, Plan *plan, Error *error)
{
    const bool mends = plan->verdict == PLAN_FOUND || plan->verdict == PLAN_SET;
    const SafetyWarning *left;
    int count;
    if (!find_warnings(standing, mends ? plan->set[0] : 0, arena, &left, &count, error)) return false;
    plan__finish(standing, terms, safety_may_switch_on(left, count), plan);
    return true;
}

/* Warn, look around, choose, judge; then either checks or what follows them. Behind this one call a planner
 * that looks further ahead can take its place. */
bool plan_next(DiagnosisModel *model, const Standing *standing, const PlanTerms *terms, Arena *arena,
               Plan *plan, Error *error)
{
    *plan = (Plan){.verdict = PLAN_GO_ON};
    if (!find_warnings(standing, 0, arena, &plan->warnings, &plan->warning_count, error)) return false;
    Planning planning = {.model = model,
                         .standing = standing,
                         .terms = terms,
                         .situation = plan__situation(model->appliance, standing->call),
                         .field = ARENA_ARRAY(arena, Field, 1),
                         .plan = plan,
                         .may_switch_on = safety_may_switch_on(plan->warnings, plan->warning_count)};
    if (!planning.field) return error_memory(error);
    plan__find_field(standing, planning.field);
    if (!consider_all(&planning, error)) return false;
    find_set(standing, planning.field, terms, plan);
    plan->verdict = judge(plan, terms);
    plan->is_done = plan->verdict != PLAN_GO_ON;
    if (!plan->is_done)
        plan__put_first(standing, terms, plan);
    else if (!finish(standing, terms, arena, plan, error))
        return false;
    const double rest = plan__expected_rest(standing, terms);
    for (int s = 0; s < plan->step_count; s++)
        plan->steps[s].expected_total_minor = plan->steps[s].cost_minor + (long long)(rest + 0.5);
    return true;
}
