/* gap.h: how far every rule stays above the optimum, on drawn instances.
 *
 * Lives here: the families that rules are measured on, the measurement, the table. Not here: which gap is
 * small enough. Both costs are exact expectations, nothing is played. A program that uses it links
 * core_decision. */
#ifndef SUPPORT_GAP_H
#define SUPPORT_GAP_H

#include "support/instances.h"

typedef struct {
    double least, mean, high, worst; /* percent of the optimum; high: at the 95th percentile */
} Gap;

typedef struct {
    Gap gaps[DECISION_RULE_COUNT];
    double optimum, floor; /* means; floor: full information */
    double nodes;          /* of the search for the optimum, mean */
} GapTable;

/* The first and the last, which is a size larger, are the ones that the goals speak of. */
enum { GAP_FAMILIES = 9 };
extern const InstanceFamily gap_families[GAP_FAMILIES];

void gap_measure(const InstanceFamily *family, int instances, unsigned seed, GapTable *table);
void gap_print(const InstanceFamily *family, int instances, unsigned seed, const GapTable *table);

#endif
