/* run_private.h: curves: turns, cycles and figures, as the files of core/run share them. Not for other rooms.
 */
#ifndef CORE_RUN_PRIVATE_H
#define CORE_RUN_PRIVATE_H

#include "core/run/run.h"

/* Values in order of time, all finite. A view: it owns nothing. */
typedef struct {
    const double *second, *celsius;
    int count;
} RunTrace;

/* Median of `count` (at least 1) values, whose order changes. */
double run__median(double *values, int count);
double run__quantile(double *values, int count, double share);

/* A stretch without a gap or an open door, as indices of the trace, and which of the turns are in it. */
typedef struct {
    int from, to; /* to: one behind the last */
    int turn_from, turn_count, merged_count;
} RunSegment;

/* First index of the trace at or after a time; `count` when there is none. */
int run__index_at(const RunTrace *trace, double second);

/* A reversal: the extreme between two movements larger than a threshold. */
typedef struct {
    int index; /* into the trace */
    double celsius;
    bool is_high;
} RunTurn;

/* Where a turn would be if values stood close together: a corner, when the value nearest to it continues one
 * of the lines through the two values before and behind, otherwise the top of the parabola through three.
 * `from` and `to` are the turns before and behind it. */
typedef struct {
    double second, celsius;
} RunPeak;
RunPeak run__sharpen(const RunTrace *trace, RunTurn turn, int from, int to);

/* Writes the turns of trace[from..to), from < to, and gives their number: a movement counts from `threshold`
 * kelvin on. The last one is the extreme since the last turn, which is not left yet. More than `most` are not
 * written, but counted. */
int run__find_turns(const RunTrace *trace, int from, int to, double threshold, RunTurn *turns, int most);

/* The turns that remain for a larger threshold, in place; gives their number. */
int run__merge_turns(RunTurn *turns, int count, double threshold);

typedef struct {
    RunSpan span;
    double rising_second; /* how long the temperature rises in it */
} RunCycle;

/* First index at or above the level that preheating leads to: the mean of the last third. */
int run__reached(const RunTrace *trace);

/* Highest less lowest value of the later two thirds of what follows `reached`, within the segments. */
double run__late_range(const RunTrace *trace, const RunSegment *segments, int segment_count, int reached);

/* What the cycles are looked for in: turns of each segment at the smallest threshold, room for as many more.
 */
typedef struct {
    RunTrace trace, full; /* where turns are; where means are taken */
    RunSegment *segments;
    int segment_count;
    const RunTurn *fine;
    RunTurn *turns; /* of each segment, merged: from turn_from, merged_count of them */
    double floor_kelvin, range_kelvin;
} RunSearch;

/* Whole cycles, at most `most`; leaves the turns that they are made of in search->turns. */
int run__find_cycles(RunSearch *search, RunCycle *cycles, int most);

/* Mean of the trace between two times, trapezoids with ends cut by interpolation. */
double run__mean_between(const RunTrace *trace, double from, double to);

/* How many of the first cycles belong to the settling. */
int run__unsettled(const RunCycle *cycles, int count);

/* Time of the first upward crossing of `level` between two indices, interpolated; NAN when there is none. */
double run__crossing(const RunTrace *trace, int from, int to, double level);

/* Mean weighted by length, mean swing, period and share of rising of `count` cycles; NAN for none. */
void run__average(const RunCycle *cycles, int count, RunFigures *figures);

typedef struct {
    double
        on_second; /* where heating begins: the first row, or the end of a wait of three minutes and more */
    double set_second;        /* where the set temperature is first reached; NAN */
    double kelvin_per_second; /* how fast it rises there */
    double start_celsius;
    RunPeak first, over;    /* first peak once hot, first peak once the set temperature is reached; NAN */
    bool is_cold, is_early; /* from cold; after a wait */
} RunPreheat;

/* After run__find_cycles. `tremor_kelvin`: movements below it mean nothing. */
void run__preheat(const RunSearch *search, double set_celsius, double tremor_kelvin, RunPreheat *preheat);

/* Mean and slope over the last ten minutes, or the last quarter if that is less. */
void run__end(const RunTrace *trace, RunFigures *figures);

#endif
