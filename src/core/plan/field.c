/* field.c: the hypotheses that matter now, and what an outcome would tell of them.
 *
 * Most of some thousand hypotheses have next to no probability; what a check is worth is decided by the few
 * hundred that share nearly all of it. They are sorted so that the severities of one suspect stand together:
 * telling two severities of one fault apart is worth nothing here, the repair is the same.
 *
 * Information is the mutual information of suspect and outcome in nats (Shannon 1948). How alike two suspects
 * look is the product over checks of their Bhattacharyya coefficients (Bhattacharyya 1943, from memory): the
 * outcomes of different checks are independent once the fault is given.
 *
 * Invariants: (1) rows of one group stand together; (2) weights sum to 1; (3) a leader without rows is
 * taken as told apart, since it has next to no probability. */
#include <assert.h>
#include <math.h>
#include <string.h>

#include "base/mathematics.h"
#include "core/plan/plan_private.h"

static const double COVERED = 0.998;     /* of the probability is looked at */
static const double LEAST_CHANCE = 0.01; /* of an outcome that is worth a word */

double plan__group_probability(const Standing *standing, int group)
{
    const HypothesisGroup *members = &standing->model->groups[group];
    double sum = 0;
    for (int h = 0; h < members->hypothesis_count; h++)
        sum += standing->probability[members->first_hypothesis + h];
    return sum;
}

/* 'Nothing wrong' is a suspect like the others here: a set that contains it must say so. */
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

/* All severities of a suspect or none: half a suspect would look better told apart than it is. */
static void add_group(const Standing *standing, int group, Field *field, double *covered)
{
    const HypothesisGroup *members = &standing->model->groups[group];
    for (int i = 0; i < members->hypothesis_count && field->count < PLAN_MOST_ROWS; i++) {
        const int h = members->first_hypothesis + i;
        if (standing->probability[h] <= 0) continue;
        field->which[field->count] = h;
        field->weight[field->count++] = standing->probability[h];
        *covered += standing->probability[h];
    }
}

/* 'Nothing wrong' always has a row: whether a check can clear the oven is worth knowing even when it is
 * unlikely. */
void plan__find_field(const Standing *standing, Field *field)
{
    *field = (Field){.count = 0};
    double covered = 0;
    find_leaders(standing, field);
    add_group(standing, 0, field, &covered);
    for (int s = 0; s < standing->suspect_count && covered < COVERED && field->count < PLAN_MOST_ROWS; s++)
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
double plan__information(const Standing *standing, const Field *field, const Prediction *prediction)
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

/* False when the group is not in the field. */
static bool find_rows(const Standing *standing, const Field *field, int group, int *first, int *end)
{
    for (*first = 0; *first < field->count; *first = *end) {
        *end = group_end(standing, field, *first);
        if (standing->model->hypotheses[field->which[*first]].group == group) return true;
    }
    return false;
}

/* How alike the leaders would look to this check, times how alike they looked to those before. */
void plan__compare_leaders(const Standing *standing, Field *field, const Prediction *prediction)
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

/* Who leads after each outcome is what a technician wants to know before walking to the breaker. */
void plan__note_branches(const Standing *standing, const Field *field, const Prediction *prediction,
                         Step *step)
{
    double total[DIAGNOSIS_MOST_OUTCOMES], joint[DIAGNOSIS_MOST_OUTCOMES];
    StepBranch all[DIAGNOSIS_MOST_OUTCOMES];
    join_rows(field, prediction, 0, field->count, total);
    for (int o = 0; o < prediction->outcome_count; o++)
        all[o] = (StepBranch){.outcome = prediction->outcomes[o], .chance = total[o]};
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
