/* gap.c: what the rules cost above the optimum, on drawn instances.
 *
 * Optimum and cost of a rule are exact expectations (core_decision.exact holds both against other programs),
 * so the gap has no error of sampling but that of the instances. Asked for `all`, two hundred instances of
 * the first family and some of the others; unasked a sample, as much as the sanitizers can bear. Larger
 * instances: bench/decision.c. */
#include <string.h>

#include "support/gap.h"
#include "support/near.h"

enum { SEED = 7003 };

static bool is_all;

static void check(const InstanceFamily *family, int instances, double most_mean, double most_worst)
{
    GapTable table;
    gap_measure(family, instances, SEED, &table);
    gap_print(family, instances, SEED, &table);
    const Gap *rollout = &table.gaps[DECISION_BY_ROLLOUT];
    for (int r = 0; r < DECISION_RULE_COUNT; r++) assert_true(table.gaps[r].least > -1e-6);
    assert_true(rollout->mean <= most_mean);
    assert_true(rollout->worst <= most_worst);
    /* what looks further ahead costs less */
    assert_true(rollout->mean <= table.gaps[DECISION_BY_COMPLETION].mean);
    assert_true(table.gaps[DECISION_BY_COMPLETION].mean < table.gaps[DECISION_BY_INFORMATION].mean);
    assert_true(table.gaps[DECISION_BY_INFORMATION].mean < table.gaps[DECISION_BY_REPAIRS].mean);
}

static void rollout_is_near_the_optimum(void **state)
{
    (void)state;
    check(&gap_families[0], is_all ? 200 : 8, 0.5, 5);
}

/* So few that only the order of the rules and the size of the gap can be told; bench/decision.c has more. */
static void rollout_is_near_it_in_other_families(void **state)
{
    (void)state;
    for (int f = 1; is_all && f < GAP_FAMILIES - 1; f++) check(&gap_families[f], 12, 3, 12);
    if (!is_all) check(&gap_families[GAP_FAMILIES - 3], 8, 3, 12);
}

int main(int argc, char **argv)
{
    is_all = argc > 1 && strcmp(argv[1], "all") == 0;
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rollout_is_near_the_optimum),
        cmocka_unit_test(rollout_is_near_it_in_other_families),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
