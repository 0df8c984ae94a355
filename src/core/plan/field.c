/* field.c: the hypotheses that matter now, who it may be, and what an outcome would tell of them.
 *
 * Most of some thousand hypotheses have next to no probability; what a check is worth is decided by the few
 * hundred that share nearly all of it. The rest is not forgotten: problem.c counts it to the classes that it
 * belongs to.
 *
 * Invariants: (1) rows stand in falling probability, equals by their number; (2) 'nothing wrong' has a row.
 */
#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "core/plan/plan_private.h"

static const double LEAST_CHANCE = 0.01; /* of an outcome that is worth a word */
static const double COVERED = 0.97;      /* of the probability is named as who it may be */
static const double LEAST_MEMBER = 0.004;
static const double SPARE = 0.2; /* of the rows are kept for those that must be there whatever they weigh */

double plan__group_probability(const Standing *standing, int group)
{
    const HypothesisGroup *members = &standing->model->groups[group];
    double sum = 0;
    for (int h = 0; h < members->hypothesis_count; h++)
        sum += standing->probability[members->first_hypothesis + h];
    return sum;
}

typedef struct {
    double probability;
    int hypothesis;
} Ranked;

static int by_probability(const void *a, const void *b)
{
    const Ranked *first = a, *second = b;
    if (first->probability != second->probability) return first->probability < second->probability ? 1 : -1;
    return (first->hypothesis > second->hypothesis) - (first->hypothesis < second->hypothesis);
}

bool plan__add_row(const Standing *standing, Field *field, int hypothesis)
{
    for (int i = 0; i < field->count; i++)
        if (field->which[i] == hypothesis) return true;
    if (field->count == PLAN_MOST_ROWS) return false;
    field->which[field->count] = hypothesis;
    field->weight[field->count++] = standing->probability[hypothesis];
    return true;
}

bool plan__find_field(const Standing *standing, Arena *arena, Field *field, Error *error)
{
    const int count = standing->model->hypothesis_count;
    const int most = PLAN_MOST_ROWS - (int)(SPARE * PLAN_MOST_ROWS);
    Ranked *ranked = ARENA_ARRAY(arena, Ranked, (size_t)count);
    if (!ranked) return error_memory(error);
    for (int h = 0; h < count; h++) ranked[h] = (Ranked){standing->probability[h], h};
    qsort(ranked, (size_t)count, sizeof *ranked, by_probability);
    field->count = 0;
    for (int i = 0; i < count && i < most && ranked[i].probability > 0; i++) {
        field->which[field->count] = ranked[i].hypothesis;
        field->weight[field->count++] = ranked[i].probability;
    }
    const bool has_room = plan__add_row(standing, field, 0);
    assert(has_room);
    (void)has_room;
    return true;
}

bool plan__contains(const HypothesisGroup *group, const HypothesisGroup *part)
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
            is_covered = plan->set[i] == 0 ? g == 0 : plan__contains(&groups[g], &groups[plan->set[i]]);
        if (is_covered) sum += plan__group_probability(standing, g);
    }
    return sum;
}

/* A pair with a member of the set in it adds nothing to it: that member's repair comes first anyway. */
static bool is_in_set(const Standing *standing, const Plan *plan, int group)
{
    const HypothesisGroup *groups = standing->model->groups;
    for (int i = 0; i < plan->set_count; i++)
        if (plan->set[i] != 0 && plan__contains(&groups[group], &groups[plan->set[i]])) return true;
    return false;
}

static void add_to_set(const Standing *standing, Plan *plan, int group)
{
    if (plan->set_count == PLAN_MOST_SET || is_in_set(standing, plan, group)) return;
    plan->set[plan->set_count++] = group;
    plan->set_probability = covered_by_set(standing, plan);
}

/* 'Nothing wrong' is a suspect like the others here: a set that contains it must say so. */
void plan__find_set(const Standing *standing, Plan *plan)
{
    bool has_sound = false;
    for (int s = 0; s <= standing->suspect_count; s++) {
        const double next = s < standing->suspect_count ? standing->suspects[s].probability : -1;
        const double sound = standing->nothing_wrong.probability;
        if (!has_sound && sound >= next) {
            has_sound = true;
            if (plan->set_count == 0 || sound >= LEAST_MEMBER) add_to_set(standing, plan, 0);
        }
        if (plan->set_probability >= COVERED || (plan->set_count > 0 && next < LEAST_MEMBER)) return;
        add_to_set(standing, plan, standing->suspects[s].group);
        if (plan->set_probability >= COVERED) return;
    }
}

/* Keeps the most probable outcomes, in order. */
static void insert_branch(Step *step, const StepBranch *branch, int outcome, int *outcome_of_branch)
{
    int at = step->branch_count;
    if (at == PLAN_MOST_BRANCHES)
        at--;
    else
        step->branch_count++;
    if (step->branches[at].chance > branch->chance) return; /* full: the last one is the least probable */
    for (; at > 0 && step->branches[at - 1].chance < branch->chance; at--) {
        step->branches[at] = step->branches[at - 1];
        outcome_of_branch[at] = outcome_of_branch[at - 1];
    }
    step->branches[at] = *branch;
    outcome_of_branch[at] = outcome;
}

/* Joint probability of a group of the field and each outcome; all rows for a group of -1. */
static void join_rows(const Standing *standing, const Field *field, const Prediction *prediction, int group,
                      double *joint)
{
    memset(joint, 0, DIAGNOSIS_MOST_OUTCOMES * sizeof *joint);
    for (int row = 0; row < field->count; row++) {
        if (group >= 0 && standing->model->hypotheses[field->which[row]].group != group) continue;
        for (int o = 0; o < prediction->outcome_count; o++)
            joint[o] += field->weight[row] * prediction->chance[row * DIAGNOSIS_MOST_OUTCOMES + o];
    }
}

/* Groups that lead after some outcome are among those of the first rows. */
static void find_leaders(const Standing *standing, const Field *field, const Prediction *prediction,
                         const double *total, StepBranch *all)
{
    double joint[DIAGNOSIS_MOST_OUTCOMES];
    for (int row = 0; row < field->count; row++) {
        const int group = standing->model->hypotheses[field->which[row]].group;
        bool is_first = true;
        for (int before = 0; before < row && is_first; before++)
            is_first = standing->model->hypotheses[field->which[before]].group != group;
        if (!is_first) continue;
        join_rows(standing, field, prediction, group, joint);
        for (int o = 0; o < prediction->outcome_count; o++) {
            if (total[o] <= 0 || joint[o] / total[o] <= all[o].group_probability) continue;
            all[o].group = group;
            all[o].group_probability = joint[o] / total[o];
        }
    }
}

/* Who leads after each outcome is what a technician wants to know before walking to the breaker. */
void plan__note_branches(const Standing *standing, const Field *field, const Prediction *prediction,
                         Step *step, int *outcome_of_branch)
{
    double total[DIAGNOSIS_MOST_OUTCOMES], weight = 0;
    StepBranch all[DIAGNOSIS_MOST_OUTCOMES];
    for (int row = 0; row < field->count; row++) weight += field->weight[row];
    join_rows(standing, field, prediction, -1, total);
    for (int o = 0; o < prediction->outcome_count; o++)
        all[o] = (StepBranch){.outcome = prediction->outcomes[o],
                              .chance = total[o] / weight,
                              .next_check = -1,
                              .next_part = -1};
    find_leaders(standing, field, prediction, total, all);
    for (int o = 0; o < prediction->outcome_count; o++)
        if (all[o].chance >= LEAST_CHANCE) insert_branch(step, &all[o], o, outcome_of_branch);
}
