/* outcome.c: few outcomes instead of many.
 *
 * A meter's display falls into up to sixteen classes; a search that branches sixteenfold sees two steps where
 * one that branches fourfold sees four. So the least probable outcome is counted to the one whose suspects
 * look most like its own, until few are left. What is lost is small: outcomes that are joined first are those
 * that hardly ever come, or that mean the same.
 *
 * Likeness is Bhattacharyya's coefficient of the two distributions over classes (Bhattacharyya 1943, from
 * memory). */
#include <assert.h>
#include <math.h>

#include "core/plan/plan_private.h"

static const double NEGLIGIBLE = 0.004, SAME = 0.995;

static double likeness(const double *a, const double *b, double sum_a, double sum_b, int class_count)
{
    double overlap = 0;
    for (int k = 0; k < class_count; k++) overlap += sqrt(a[k] * b[k]);
    return sum_a > 0 && sum_b > 0 ? overlap / sqrt(sum_a * sum_b) : 1;
}

/* Outcomes while they are joined: joint masses, their sums, and which stand for themselves. */
typedef struct {
    double *joint;
    int class_count, count, left;
    double sum[DIAGNOSIS_MOST_OUTCOMES];
    int into[DIAGNOSIS_MOST_OUTCOMES]; /* itself, or the one that it was counted to */
} Joining;

static void join_pair(Joining *joining, int from, int to)
{
    for (int k = 0; k < joining->class_count; k++)
        joining->joint[to * joining->class_count + k] += joining->joint[from * joining->class_count + k];
    joining->sum[to] += joining->sum[from];
    for (int o = 0; o < joining->count; o++)
        if (joining->into[o] == from) joining->into[o] = to;
    joining->left--;
}

/* The least probable outcome that still stands, or -1 when none is left to be joined. */
static int find_least(const Joining *joining)
{
    int least = -1;
    for (int o = 0; o < joining->count; o++)
        if (joining->into[o] == o && (least < 0 || joining->sum[o] < joining->sum[least])) least = o;
    return least;
}

static int find_most_alike(const Joining *joining, int outcome, double *alike)
{
    int best = -1;
    *alike = -1;
    for (int o = 0; o < joining->count; o++) {
        if (o == outcome || joining->into[o] != o) continue;
        const double here = likeness(&joining->joint[outcome * joining->class_count],
                                     &joining->joint[o * joining->class_count], joining->sum[outcome],
                                     joining->sum[o], joining->class_count);
        if (here <= *alike) continue;
        *alike = here;
        best = o;
    }
    return best;
}

/* Outcomes that mean the same are one, however probable. */
static void join_alike(Joining *joining)
{
    for (int o = 0; o < joining->count; o++) {
        double alike;
        if (joining->into[o] != o || joining->left == 1) continue;
        const int other = find_most_alike(joining, o, &alike);
        if (alike >= SAME) join_pair(joining, o, other);
    }
}

/* Numbers from 0 in the order of the outcomes that are left. */
static int number_outcomes(const Joining *joining, int *merged)
{
    int number[DIAGNOSIS_MOST_OUTCOMES], count = 0;
    for (int o = 0; o < joining->count; o++)
        if (joining->into[o] == o) number[o] = count++;
    for (int o = 0; o < joining->count; o++) merged[o] = number[joining->into[o]];
    return count;
}

int plan__merge_outcomes(int outcome_count, int class_count, double *joint, int most, int *merged)
{
    Joining joining = {
        .joint = joint, .class_count = class_count, .count = outcome_count, .left = outcome_count};
    assert(outcome_count > 0 && outcome_count <= DIAGNOSIS_MOST_OUTCOMES);
    for (int o = 0; o < outcome_count; o++) {
        joining.into[o] = o;
        for (int k = 0; k < class_count; k++) joining.sum[o] += joint[o * class_count + k];
    }
    join_alike(&joining);
    while (joining.left > 1) {
        double alike;
        const int least = find_least(&joining);
        if (joining.left <= most && joining.sum[least] >= NEGLIGIBLE) break;
        join_pair(&joining, least, find_most_alike(&joining, least, &alike));
    }
    return number_outcomes(&joining, merged);
}
