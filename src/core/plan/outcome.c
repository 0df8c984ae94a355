/* outcome.c: few outcomes instead of many.
 *
 * A meter's display falls into up to sixteen classes; a search that branches sixteenfold sees two steps where
 * one that branches fourfold sees four. So the two outcomes whose joining loses least are joined, until few
 * are left: those that mean the same, and those that hardly ever come.
 *
 * What a pair loses is its reduced probability, p q / (p + q), times the squared Hellinger distance of what
 * the two say of the classes: Ward's merging (J. Am. Stat. Assoc. 58 (1963) 236, from memory) with a distance
 * that needs no logarithm. Held against all partitions in the tests. */
#include <assert.h>
#include <math.h>

#include "core/plan/plan_private.h"

static const double WORTH_A_PLACE = 0.001; /* loss from which two outcomes are kept apart */

static double likeness(const double *a, const double *b, double sum_a, double sum_b, int class_count)
{
    double overlap = 0;
    for (int k = 0; k < class_count; k++) overlap += sqrt(a[k] * b[k]);
    return overlap / sqrt(sum_a * sum_b);
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

/* What is lost by counting two outcomes as one. */
static double loss(const Joining *joining, int a, int b)
{
    const double sum_a = joining->sum[a], sum_b = joining->sum[b];
    if (sum_a <= 0 || sum_b <= 0) return 0;
    const double alike =
        likeness(&joining->joint[a * joining->class_count], &joining->joint[b * joining->class_count], sum_a,
                 sum_b, joining->class_count);
    return sum_a * sum_b / (sum_a + sum_b) * (1 - alike);
}

/* Joins the pair that loses least; of equals the first. False: all that are left are worth their place, or no
 * more than the fewest are. */
static bool join_cheapest(Joining *joining, int fewest, int most)
{
    int from = -1, to = -1;
    double least = INFINITY;
    for (int b = 1; b < joining->count; b++)
        for (int a = 0; a < b && joining->into[b] == b; a++) {
            const double here = joining->into[a] == a ? loss(joining, a, b) : INFINITY;
            if (here >= least) continue;
            least = here;
            from = b;
            to = a;
        }
    if (from < 0 || (joining->left <= most && (joining->left <= fewest || least >= WORTH_A_PLACE)))
        return false;
    join_pair(joining, from, to);
    return true;
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

int plan__merge_outcomes(int outcome_count, int class_count, double *joint, int fewest, int most, int *merged)
{
    Joining joining = {
        .joint = joint, .class_count = class_count, .count = outcome_count, .left = outcome_count};
    assert(outcome_count > 0 && outcome_count <= DIAGNOSIS_MOST_OUTCOMES && fewest <= most);
    for (int o = 0; o < outcome_count; o++) {
        joining.into[o] = o;
        for (int k = 0; k < class_count; k++) joining.sum[o] += joint[o * class_count + k];
    }
    while (join_cheapest(&joining, fewest, most)) {
    }
    return number_outcomes(&joining, merged);
}
