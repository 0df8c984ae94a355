/* plan.c: the provisional planner, information for minutes.
 *
 * Every check that has not been made is judged by the information that its outcome is expected to give about
 * which faults are there (mutual information between suspect and outcome), for the time that it takes from
 * where the technician stands. On the way we find out which suspects no check tells apart: the chance that
 * all checks together would show the same for both (product of Bhattacharyya coefficients) stays high.
 *
 * It is bad at what needs two checks to pay (each alone tells nothing), and it does not weigh repairs
 * against checks. */
#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/mathematics.h"
#include "core/plan/plan_private.h"

enum { MOST_ROWS = 400 };

static const double COVERED = 0.998; /* of the probability is looked at */
static const double SAME = 0.8;      /* two suspects that look this much alike in all checks are one set */
static const double LEAST_MEMBER = 1e-4; /* of a set of suspects */
static const double LEAST_SURE = 0.95;   /* with no check left, less than this is no answer */
static const double REPEAT_SECOND = 60;
static const double LEAST_CHANCE = 0.01;       /* of an outcome that is worth a word */
static const double LEAST_INFORMATION = 0.004; /* nats that a check must promise */

PlanTerms plan_default_terms(void)
{
    return (PlanTerms){.labour_minor_per_hour = 12000,
                       .proving_second = 2400,
                       .switch_second = 60,
                       .live_risk_second = 240,
                       .sure = 0.99};
}

/* The hypotheses that matter now, sorted so that groups stand together. */
typedef struct {
    int which[MOST_ROWS];
    double weight[MOST_ROWS];
    int count;
    int leaders[PLAN_MOST_SET]; /* groups, most probable first, 'nothing wrong' among them */
    int leader_count;
    double alike[PLAN_MOST_SET]; /* product of Bhattacharyya coefficients of each leader with the first */
} Field;

static double group_probability(const Standing *standing, int group)
{
    const HypothesisGroup *members = &standing->model->groups[group];
    double sum = 0;
    for (int h = 0; h < members->hypothesis_count; h++)
        sum += standing->probability[members->first_hypothesis + h];
    return sum;
}

static void find_leaders(const Standing *standing, Field *field)
{
    bool has_sound = false;
    for (int s = 0; field->leader_count < PLAN_MOST_SET && s <= standing->suspect_count; s++) {
        const double next = s < standing->suspect_count ? standing->suspects[s].probability : -1;
        if (!has_sound && standing->nothing_wrong.probability >= next) {
            field->leaders[field->leader_count++] = 0;
            has_sound = true;
        }
        if (s < standing->suspect_count && field->leader_count < PLAN_MOST_SET)
            field->leaders[field->leader_count++] = standing->suspects[s].group;
    }
    for (int i = 0; i < field->leader_count; i++) field->alike[i] = 1;
}

static void add_group(const Standing *standing, int group, Field *field, double *covered)
{
    const HypothesisGroup *members = &standing->model->groups[group];
    for (int i = 0; i < members->hypothesis_count && field->count < MOST_ROWS; i++) {
        const int h = members->first_hypothesis + i;
        if (standing->probability[h] <= 0) continue;
        field->which[field->count] = h;
        field->weight[field->count++] = standing->probability[h];
        *covered += standing->probability[h];
    }
}

static void find_field(const Standing *standing, Field *field)
{
    *field = (Field){.count = 0};
    double covered = 0;
    find_leaders(standing, field);
    add_group(standing, 0, field, &covered);
    for (int s = 0; s < standing->suspect_count && covered < COVERED && field->count < MOST_ROWS; s++)
        add_group(standing, standing->suspects[s].group, field, &covered);
    for (int i = 0; i < field->count; i++) field->weight[i] /= covered;
}

/* Joint probability of a group (rows from `first` to before `end`) and each outcome. */
static double join_rows(const Field *field, const Prediction *prediction, int first, int end, double *joint)
{
    double weight = 0;
    memset(joint, 0, DIAGNOSIS_MOST_OUTCOMES * sizeof *joint);
    for (int row = first; row < end; row++) {
        weight += field->weight[row];
        for (int o = 0; o < prediction->outcome_count; o++)
            joint[o] += field->weight[row] * prediction->chance[row * DIAGNOSIS_MOST_OUTCOMES + o];
    }
    return weight;
}

static int group_end(const Standing *standing, const Field *field, int first)
{
    const int group = standing->model->hypotheses[field->which[first]].group;
    int end = first;
    while (end < field->count && standing->model->hypotheses[field->which[end]].group == group) end++;
    return end;
}

/* Mutual information of group and outcome, nats. */
static double information(const Standing *standing, const Field *field, const Prediction *prediction)
{
    double joint[DIAGNOSIS_MOST_OUTCOMES], total[DIAGNOSIS_MOST_OUTCOMES], gained = 0;
    join_rows(field, prediction, 0, field->count, total);
    for (int first = 0, end; first < field->count; first = end) {
        end = group_end(standing, field, first);
        const double weight = join_rows(field, prediction, first, end, joint);
        for (int o = 0; o < prediction->outcome_count; o++)
            if (joint[o] > 0) gained += joint[o] * math_log(joint[o] / (weight * total[o]));
    }
    return fmax(gained, 0);
}

static bool find_rows(const Standing *standing, const Field *field, int group, int *first, int *end)
{
    for (*first = 0; *first < field->count; *first = *end) {
        *end = group_end(standing, field, *first);
        if (standing->model->hypotheses[field->which[*first]].group == group) return true;
    }
    return false;
}

/* How alike the leaders would look to this check, times how alike they looked to those before. */
static void compare_leaders(const Standing *standing, Field *field, const Prediction *prediction)
{
    int first, end;
    double leading[DIAGNOSIS_MOST_OUTCOMES], other[DIAGNOSIS_MOST_OUTCOMES];
    if (!find_rows(standing, field, field->leaders[0], &first, &end)) return;
    const double weight = join_rows(field, prediction, first, end, leading);
    for (int i = 1; i < field->leader_count; i++) {
        if (!find_rows(standing, field, field->leaders[i], &first, &end)) {
            field->alike[i] = 0;
            continue;
        }
        const double mine = join_rows(field, prediction, first, end, other);
        double overlap = 0;
        for (int o = 0; o < prediction->outcome_count; o++)
            overlap += sqrt(leading[o] * other[o] / (weight * mine));
        field->alike[i] *= fmin(overlap, 1);
    }
}

/* Keeps the most probable outcomes, in order. */
static void insert_branch(Step *step, const StepBranch *branch)
{
    int at = step->branch_count;
    if (at == PLAN_MOST_BRANCHES)
        at--;
    else
        step->branch_count++;
    if (step->branches[at].chance > branch->chance) return; /* full: the last one is the least probable */
    for (; at > 0 && step->branches[at - 1].chance < branch->chance; at--)
        step->branches[at] = step->branches[at - 1];
    step->branches[at] = *branch;
}

static void note_branches(const Standing *standing, const Field *field, const Prediction *prediction,
                          Step *step)
{
    double total[DIAGNOSIS_MOST_OUTCOMES], joint[DIAGNOSIS_MOST_OUTCOMES];
    StepBranch all[DIAGNOSIS_MOST_OUTCOMES];
    join_rows(field, prediction, 0, field->count, total);
    const bool is_look = standing->model->appliance->checks[step->check].from < 0;
    for (int o = 0; o < prediction->outcome_count; o++)
        all[o] = (StepBranch){
            prediction->low[o], prediction->high[o], is_look ? prediction->word[o] : -1, total[o], 0, 0};
    for (int first = 0, end; first < field->count; first = end) {
        end = group_end(standing, field, first);
        join_rows(field, prediction, first, end, joint);
        for (int o = 0; o < prediction->outcome_count; o++) {
            if (joint[o] / total[o] <= all[o].group_probability) continue;
            all[o].group = standing->model->hypotheses[field->which[first]].group;
            all[o].group_probability = joint[o] / total[o];
        }
    }
    for (int o = 0; o < prediction->outcome_count; o++)
        if (all[o].chance >= LEAST_CHANCE) insert_branch(step, &all[o]);
}

static double score(const Step *step, const PlanTerms *terms)
{
    const double risk = step->needs.is_live_work ? terms->live_risk_second : 0;
    return step->information / (step->second + risk);
}

/* Keeps the best steps in the plan, best first. */
static void offer(Plan *plan, const Step *step, const PlanTerms *terms)
{
    int at = plan->step_count;
    if (at == PLAN_MOST_STEPS) {
        if (score(step, terms) <= score(&plan->steps[at - 1], terms)) return;
        at--;
    } else {
        plan->step_count++;
    }
    for (; at > 0 && score(&plan->steps[at - 1], terms) < score(step, terms); at--)
        plan->steps[at] = plan->steps[at - 1];
    plan->steps[at] = *step;
}

static bool consider(DiagnosisModel *model, const Standing *standing, const PlanTerms *terms,
                     const Situation *situation, Field *field, int check, Arena *scratch, Plan *plan,
                     Error *error)
{
    const Check *asked = &model->appliance->checks[check];
    Prediction prediction;
    if (plan__is_done(model->appliance, standing->call, check)) return true;
    if (!diagnosis_predict(model, check, field->which, field->count, scratch, &prediction, error))
        return false;
    compare_leaders(standing, field, &prediction);
    Step step = {.kind = STEP_CHECK, .check = check, .entry = -1, .part = asked->part};
    step.information = information(standing, field, &prediction);
    if (step.information < LEAST_INFORMATION) return true;
    step.needs = safety_of_check(model->appliance, asked, standing->call);
    plan__price(model->appliance, situation, terms, asked->places, 2, asked->second, &step);
    note_branches(standing, field, &prediction, &step);
    offer(plan, &step, terms);
    return true;
}

static bool consider_all(DiagnosisModel *model, const Standing *standing, const PlanTerms *terms,
                         Field *field, Plan *plan, Error *error)
{
    const Situation situation = plan__situation(model->appliance, standing->call);
    for (int check = 0; check < model->appliance->check_count; check++) {
        Arena scratch = arena_new((size_t)8 << 20);
        const bool went_well =
            consider(model, standing, terms, &situation, field, check, &scratch, plan, error);
        arena_free(&scratch);
        if (!went_well) return false;
    }
    return true;
}

/* The leading suspect and those that no check still to be made tells from it; with no check left, whatever
 * is needed to be sure. */
static void find_set(const Standing *standing, const Field *field, const PlanTerms *terms, Plan *plan)
{
    const bool has_check = plan->step_count > 0;
    for (int i = 0; i < field->leader_count; i++) {
        const double probability = group_probability(standing, field->leaders[i]);
        if (i > 0 && (probability < LEAST_MEMBER || (!has_check && plan->set_probability >= terms->sure)))
            break;
        if (i > 0 && has_check && field->alike[i] < SAME) continue;
        plan->set[plan->set_count++] = field->leaders[i];
        plan->set_probability += probability;
    }
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

/* Found is what every suspect of the set has: there may be something else besides, but that is there. */
static PlanVerdict judge(const Standing *standing, const Plan *plan, const PlanTerms *terms)
{
    const HypothesisGroup *groups = standing->model->groups;
    if (plan->set_probability < terms->sure && plan->step_count > 0) return PLAN_GO_ON;
    if (plan->set_probability < LEAST_SURE) return PLAN_OPEN;
    if (plan->set[0] == 0) return plan->set_count > 1 ? PLAN_SET : PLAN_NOTHING_WRONG;
    for (int i = 1; i < plan->set_count; i++)
        if (!contains(&groups[plan->set[i]], &groups[plan->set[0]])) return PLAN_SET;
    return PLAN_FOUND;
}

/* A wire has no entry of its own in the file: making a new one takes this long. Common practice, no source.
 */
static const double REWIRE_SECOND = 900;

static double replace_second(const Part *part)
{
    return part->described && part->described->replace_second > 0 ? part->described->replace_second
                                                                  : REWIRE_SECOND;
}

static long long price_minor(const Part *part) { return part->described ? part->described->price_minor : 0; }

static double repair_cost(const Appliance *appliance, int fault, const PlanTerms *terms)
{
    const Part *part = &appliance->parts[appliance->parts[appliance->faults[fault].part].replaced_with];
    return (double)price_minor(part) + replace_second(part) / 3600 * (double)terms->labour_minor_per_hour;
}

/* Repairing whatever it turns out to be, and proving it. */
static double expected_rest(const Standing *standing, const PlanTerms *terms)
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

static Step prove(const PlanTerms *terms)
{
    Step step = {.kind = STEP_PROVE, .check = -1, .entry = -1, .part = -1, .second = terms->proving_second};
    step.needs.power_on = true;
    step.cost_minor = (long long)(terms->proving_second / 3600 * (double)terms->labour_minor_per_hour + 0.5);
    return step;
}

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

/* What follows when the checks have done their work: mend what leads, then prove. */
static void finish(const Standing *standing, const PlanTerms *terms, Plan *plan)
{
    plan->step_count = 0;
    int leading = 0;
    while (leading < plan->set_count && plan->set[leading] == 0) leading++;
    if (plan->verdict != PLAN_NOTHING_WRONG && leading < plan->set_count && plan->set[0] != 0) {
        const HypothesisGroup *group = &standing->model->groups[plan->set[leading]];
        for (int i = 0; i < group->count; i++) {
            const Step step = mend(standing, terms, group->faults[i]);
            bool is_there = false;
            for (int s = 0; s < plan->step_count; s++) is_there |= plan->steps[s].part == step.part;
            if (!is_there) plan->steps[plan->step_count++] = step;
        }
    }
    plan->steps[plan->step_count++] = prove(terms);
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

/* A contradiction is settled before anything else: the same entry once more. */
static void repeat_first(const Standing *standing, const PlanTerms *terms, Plan *plan)
{
    if (standing->contradiction_count == 0) return;
    const Appliance *appliance = standing->model->appliance;
    const int entry = standing->contradictions[0].entry;
    const Check check = check_of(appliance, &standing->call->entries[entry]);
    const Situation situation = plan__situation(appliance, standing->call);
    Step step = {.kind = STEP_REPEAT, .check = -1, .entry = entry, .part = check.part};
    step.needs = safety_of_check(appliance, &check, standing->call);
    plan__price(appliance, &situation, terms, check.places, 2, check.second, &step);
    const int last = plan->step_count < PLAN_MOST_STEPS ? plan->step_count++ : PLAN_MOST_STEPS - 1;
    for (int at = last; at > 0; at--) plan->steps[at] = plan->steps[at - 1];
    plan->steps[0] = step;
}

bool plan_next(DiagnosisModel *model, const Standing *standing, const PlanTerms *terms, Arena *arena,
               Plan *plan, Error *error)
{
    *plan = (Plan){.verdict = PLAN_GO_ON};
    Field *field = ARENA_ARRAY(arena, Field, 1);
    if (!field) return error_memory(error);
    find_field(standing, field);
    if (!consider_all(model, standing, terms, field, plan, error)) return false;
    find_set(standing, field, terms, plan);
    plan->verdict = judge(standing, plan, terms);
    plan->is_done = plan->verdict != PLAN_GO_ON;
    if (plan->is_done)
        finish(standing, terms, plan);
    else
        repeat_first(standing, terms, plan);
    const double rest = expected_rest(standing, terms);
    for (int s = 0; s < plan->step_count; s++)
        plan->steps[s].expected_total_minor = plan->steps[s].cost_minor + (long long)(rest + 0.5);
    return true;
}
