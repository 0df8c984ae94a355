/* score.h: what the played calls come to, as tables. Ownership: nothing is kept. */
#ifndef CALLS_SCORE_H
#define CALLS_SCORE_H

#include "play.h"

/* One row for each policy of an appliance. */
void score_print_head(void);
void score_print_rows(const Bench *bench, const PlayTerms *terms, const Played *played);

/* Fault classes with more than `least` calls: ours against customary, worst first. */
void score_print_classes(const Bench *bench, const PlayTerms *terms, const Played *played, int least);

/* The `most` calls in which ours costs most above customary, to be looked at with --show. */
void score_print_worst(const Bench *bench, const PlayTerms *terms, const Played *played, int most);

/* The first `most` calls that ours did not end as it should: a fault left, handed over, a part fitted to a
 * sound oven. */
void score_print_left(const Bench *bench, const PlayTerms *terms, const Played *played, int most);

/* Said against came, in ten bins, over `count` calls; then how long advice took. */
void score_print_reliability(const Played *played, int count);
void score_print_times(const Played *played, int count);

/* Steps of any policy that were left out because nothing may be switched on (safety, S7). */
int score_count_unsafe(const Played *played, int count);

#endif
