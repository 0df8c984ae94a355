/* outcome.c: few outcomes instead of many, held against the best that any joining could keep.
 *
 * The reference is exhaustive: of seven outcomes all partitions into at most `most` blocks are tried, and
 * what each keeps of the mutual information of outcome and class (Shannon 1948) is worked out here, with the
 * C library's logarithm. Joining can only lose (data processing inequality; Cover and Thomas, Elements of
 * Information Theory, from memory). */
#include <math.h>
#include <string.h>

#include "base/random.h"
#include "core/plan/plan_private.h"
#include "support/near.h"

enum { SEED = 417, DRAWS = 300, OUTCOMES = 7, CLASSES = 6 };

static double term(double p) { return p > 0 ? p * log(p) : 0; }

/* Nats that outcome and class tell of each other, outcomes joined as `block` says. */
static double mutual(const double *joint, int outcomes, int classes, const int *block, int blocks)
{
    double of_class[PLAN_MOST_CLASSES] = {0}, sum = 0;
    for (int b = 0; b < blocks; b++) {
        double all = 0;
        for (int k = 0; k < classes; k++) {
            double cell = 0;
            for (int o = 0; o < outcomes; o++)
                if (block[o] == b) cell += joint[o * classes + k];
            sum += term(cell);
            all += cell;
            of_class[k] += cell;
        }
        sum -= term(all);
    }
    for (int k = 0; k < classes; k++) sum -= term(of_class[k]);
    return sum;
}

/* The most that a partition into at most `most` blocks keeps; outcomes from `next` on are not placed yet. */
static double best_partition(const double *joint, int most, int next, int used, int *block)
{
    double best = -INFINITY;
    if (next == OUTCOMES) return mutual(joint, OUTCOMES, CLASSES, block, used);
    for (int b = 0; b <= used && b < most; b++) {
        block[next] = b;
        best = fmax(best, best_partition(joint, most, next + 1, b == used ? used + 1 : used, block));
    }
    return best;
}

/* As checks have them: each class mostly shows one or two of the outcomes. */
static void draw_joint(RandomStream *stream, int outcomes, int classes, double *joint)
{
    double sum = 0;
    for (int k = 0; k < classes; k++) {
        const double mass = exp(2 * random_normal(stream));
        const int typical = (int)random_below(stream, (uint32_t)outcomes);
        for (int o = 0; o < outcomes; o++) {
            const double spread = o == typical ? 1 : random_below(stream, 3) ? 0.003 : 0.3;
            joint[o * classes + k] = mass * spread * exp(0.3 * random_normal(stream));
            sum += joint[o * classes + k];
        }
    }
    for (int i = 0; i < outcomes * classes; i++) joint[i] /= sum;
}

static int merge_to(const double *joint, int outcomes, int classes, int fewest, int most, int *merged)
{
    double copy[DIAGNOSIS_MOST_OUTCOMES * PLAN_MOST_CLASSES];
    memcpy(copy, joint, (size_t)(outcomes * classes) * sizeof *joint);
    return plan__merge_outcomes(outcomes, classes, copy, fewest, most, merged);
}

static int merge(const double *joint, int outcomes, int classes, int most, int *merged)
{
    return merge_to(joint, outcomes, classes, 1, most, merged);
}

static void nearly_the_best_partition(void **state)
{
    (void)state;
    RandomStream stream = random_stream(SEED);
    double joint[OUTCOMES * CLASSES], worst = 1, sum = 0;
    for (int d = 0; d < DRAWS; d++) {
        int merged[DIAGNOSIS_MOST_OUTCOMES], block[OUTCOMES];
        draw_joint(&stream, OUTCOMES, CLASSES, joint);
        const int most = 2 + d % 4, left = merge(joint, OUTCOMES, CLASSES, most, merged);
        assert_in_range(left, 1, most);
        const double kept = mutual(joint, OUTCOMES, CLASSES, merged, left),
                     best = best_partition(joint, most, 0, 0, block);
        const double share = kept / best;
        assert_true(share <= 1 + 1e-12);
        worst = fmin(worst, share);
        sum += share;
    }
    print_message("seed %d: of the best partition's nats %.3f is kept on average, %.3f at worst\n", SEED,
                  sum / DRAWS, worst);
    assert_true(sum / DRAWS > 0.98);
    assert_true(worst > 0.7);
}

/* Every outcome is counted to one number, every number stands for an outcome; the same again gives the
 * same. */
static void numbers_are_complete(void **state)
{
    (void)state;
    RandomStream stream = random_stream(SEED + 1);
    double joint[DIAGNOSIS_MOST_OUTCOMES * PLAN_MOST_CLASSES];
    for (int d = 0; d < DRAWS; d++) {
        const int outcomes = 1 + (int)random_below(&stream, DIAGNOSIS_MOST_OUTCOMES),
                  classes = 1 + (int)random_below(&stream, PLAN_MOST_CLASSES);
        int merged[DIAGNOSIS_MOST_OUTCOMES], again[DIAGNOSIS_MOST_OUTCOMES];
        double mass[DIAGNOSIS_MOST_OUTCOMES] = {0};
        draw_joint(&stream, outcomes, classes, joint);
        const int left = merge(joint, outcomes, classes, PLAN_MOST_OUTCOMES, merged);
        assert_in_range(left, 1, outcomes < PLAN_MOST_OUTCOMES ? outcomes : PLAN_MOST_OUTCOMES);
        for (int o = 0; o < outcomes; o++) {
            assert_in_range(merged[o], 0, left - 1);
            for (int k = 0; k < classes; k++) mass[merged[o]] += joint[o * classes + k];
        }
        for (int n = 0; n < left; n++) assert_true(mass[n] > 0);
        assert_int_equal(merge(joint, outcomes, classes, PLAN_MOST_OUTCOMES, again), left);
        assert_memory_equal(merged, again, (size_t)outcomes * sizeof *merged);
    }
}

/* Two that mean the same are one, even with room for both, and nothing is lost; two that do not stay apart.
 */
static void what_means_the_same_is_one(void **state)
{
    (void)state;
    const double joint[4 * 3] = {0.10, 0.02, 0.08, /* twice the next but one */
                                 0.01, 0.30, 0.01, /* */
                                 0.05, 0.01, 0.04, /* */
                                 0.03, 0.05, 0.30};
    int merged[DIAGNOSIS_MOST_OUTCOMES];
    const int whole[4] = {0, 1, 2, 3};
    assert_int_equal(merge(joint, 4, 3, 4, merged), 3);
    assert_int_equal(merged[0], merged[2]);
    assert_true(merged[1] != merged[0] && merged[3] != merged[0] && merged[1] != merged[3]);
    assert_near(mutual(joint, 4, 3, merged, 3), mutual(joint, 4, 3, whole, 4), 1e-12);
}

/* What cannot happen belongs to anybody. */
static void an_impossible_outcome_is_counted_in(void **state)
{
    (void)state;
    const double joint[3 * 2] = {0.5, 0, 0, 0.5, 0, 0};
    int merged[DIAGNOSIS_MOST_OUTCOMES];
    assert_int_equal(merge(joint, 3, 2, 5, merged), 2);
    assert_true(merged[0] != merged[1]);
    assert_true(merged[2] == merged[0] || merged[2] == merged[1]);
}

/* A lamp of which one in three thousand is dark by now: hardly worth a place, but a look. */
static void the_fewest_are_kept(void **state)
{
    (void)state;
    const double joint[3 * 2] = {0.9990, 0.0003, 0.0001, 0.0003, 0.0003, 0};
    int merged[DIAGNOSIS_MOST_OUTCOMES];
    assert_int_equal(merge(joint, 3, 2, 5, merged), 1);
    assert_int_equal(merge_to(joint, 3, 2, 2, 5, merged), 2);
    assert_int_equal(merged[2], merged[0]);
    assert_true(merged[1] != merged[0]);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nearly_the_best_partition), cmocka_unit_test(numbers_are_complete),
        cmocka_unit_test(what_means_the_same_is_one), cmocka_unit_test(an_impossible_outcome_is_counted_in),
        cmocka_unit_test(the_fewest_are_kept)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
