/* gap.c: see gap.h. */
#include "support/gap.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

enum { MIB = 1 << 20 };

const InstanceFamily gap_families[GAP_FAMILIES] = {
    {.name = "6+2 faults, 7 tests, 5 %", .faults = 6, .pairs = 2, .tests = 7, .panels = 2, .noise = 0.05},
    {.name = "the same, 1 %", .faults = 6, .pairs = 2, .tests = 7, .panels = 2, .noise = 0.01},
    {.name = "the same, 15 %", .faults = 6, .pairs = 2, .tests = 7, .panels = 2, .noise = 0.15},
    {.name = "the same, setups x 3, proving x 2",
     .faults = 6,
     .pairs = 2,
     .tests = 7,
     .panels = 2,
     .noise = 0.05,
     .setup = 3,
     .proving = 2},
    {.name = "9+0 faults, 7 tests, 5 %", .faults = 9, .tests = 7, .panels = 2, .noise = 0.05},
    {.name = "5+1 faults, 5 tests, perhaps nothing",
     .faults = 5,
     .pairs = 1,
     .tests = 5,
     .panels = 2,
     .noise = 0.05,
     .may_be_sound = true,
     .may_be_hot = true,
     .may_be_nested = true},
    {.name = "the same, tests at hand before the proof",
     .faults = 5,
     .pairs = 1,
     .tests = 5,
     .panels = 2,
     .noise = 0.05,
     .may_be_sound = true,
     .may_be_hot = true,
     .may_be_nested = true,
     .before_proof = true},
    {.name = "2+1 faults, 4 tests, repairs fail too",
     .faults = 2,
     .pairs = 1,
     .tests = 4,
     .panels = 2,
     .noise = 0.05,
     .may_be_sound = true,
     .may_be_hot = true,
     .may_be_nested = true,
     .repair_fails = 0.02},
    {.name = "7+3 faults, 8 tests, 5 %", .faults = 7, .pairs = 3, .tests = 8, .panels = 2, .noise = 0.05},
};

static const char *const RULES[DECISION_RULE_COUNT] = {
    "repairs only", "information for cost", "Gini for cost", "myopic value", "completed value", "rollout"};

static int compare(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static Gap summarise(double *percent, int count)
{
    double sum = 0;
    qsort(percent, (size_t)count, sizeof *percent, compare);
    for (int i = 0; i < count; i++) sum += percent[i];
    return (Gap){percent[0], sum / count, percent[(int)ceil(0.95 * count) - 1], percent[count - 1]};
}

void gap_measure(const InstanceFamily *family, int instances, unsigned seed, GapTable *table)
{
    RandomStream stream = random_stream(seed);
    double *percent = malloc(sizeof(double) * (size_t)instances * DECISION_RULE_COUNT);
    *table = (GapTable){0};
    for (int i = 0; i < instances; i++) {
        Arena arena = arena_new(16 * MIB);
        Instance instance;
        instance_draw(family, &stream, &arena, &instance);
        Decision decision = instance_begin(&instance, &arena);
        const double optimum = instance_solve(&decision, &instance.start).value;
        table->nodes += (double)decision.nodes / instances;
        table->optimum += optimum / instances;
        table->floor += decision_full_information(&decision, &instance.start) / instances;
        for (int r = 0; r < DECISION_RULE_COUNT; r++)
            percent[r * instances + i] =
                100 * (instance_follow(&decision, (DecisionRule)r, &instance.start) / optimum - 1);
        arena_free(&arena);
    }
    for (int r = 0; r < DECISION_RULE_COUNT; r++)
        table->gaps[r] = summarise(&percent[r * instances], instances);
    free(percent);
}

void gap_print(const InstanceFamily *family, int instances, unsigned seed, const GapTable *table)
{
    printf("%s: seed %u, %d instances, mean optimum %.1f, full information %.1f, %.0f nodes\n", family->name,
           seed, instances, table->optimum, table->floor, table->nodes);
    printf("| above the optimum, %%  |   mean | 95 in 100 |  worst |\n");
    for (int r = 0; r < DECISION_RULE_COUNT; r++)
        printf("| %-21s | %6.2f | %9.2f | %6.2f |\n", RULES[r], table->gaps[r].mean, table->gaps[r].high,
               table->gaps[r].worst);
}
