/* decision.c: every rule against the exact optimum, on every family of drawn instances; and what a choice
 * costs.
 *
 * Gaps are exact expectations of both sides, so nothing in them hangs on the machine or on luck after the
 * seed. The rules that stand beside ours are those of the literature (rules.c names it). Goal for the first
 * family: rollout 0.5 % above the optimum in the mean, 5 % at worst. Seconds are those of one core. */
#include "core/decision/decision.h"
#include "measure.h"
#include "support/gap.h"

#include <stdio.h>

enum { SEED = 7003 };

static const int INSTANCES[GAP_FAMILIES] = {200, 60, 60, 60, 60, 60, 60, 60, 40};

static void bench_gaps(void)
{
    for (int f = 0; f < GAP_FAMILIES; f++) {
        GapTable table;
        const double start = now();
        gap_measure(&gap_families[f], INSTANCES[f], SEED, &table);
        gap_print(&gap_families[f], INSTANCES[f], SEED, &table);
        printf("%.1f s\n\n", now() - start);
        fflush(stdout);
    }
}

int main(void)
{
    bench_gaps();
    return 0;
}
