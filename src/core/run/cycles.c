/* cycles.c: whole cycles, which of them are settled, and their averages.
 *
 * A cycle goes from the middle of one rise to the middle of the next, the middle being halfway between the
 * turns around that rise. At these two moments the oven is in the same state, so the mean between them is the
 * cycle mean whatever the shape of the curve; the level halfway is near the mean, so an error of the moment
 * costs least.
 *
 * The threshold between a turn and a ripple is 0.4 of the typical swing, which is known only once cycles have
 * been found: it starts at half the range of the later part and falls until there are three rises.
 *
 * What it is bad at: ripple nearly as tall as the cycle itself is taken for the cycle. */
#include "core/run/run_private.h"

#include <assert.h>
#include <math.h>
#include <string.h>

enum { MOST_MOVEMENTS = 256 };

/* A rise or fall this many times the typical one is a preheat or a recovery, not part of a cycle. */
static const double odd_ratio = 2.2;

/* Bisection: invariant second[low - 1] < second <= second[high]. */
int run__index_at(const RunTrace *trace, double second)
{
    int low = 0, high = trace->count;
    while (low < high) {
        const int middle = low + (high - low) / 2;
        if (trace->second[middle] < second)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

/* The last third is late enough for any log that can be used; a log that is all preheat has its level in the
 * middle of the rise, and finds no cycles anyway. */
int run__reached(const RunTrace *trace)
{
    const int third = trace->count - trace->count / 3;
    double sum = 0;
    for (int i = third; i < trace->count; i++) sum += trace->celsius[i];
    const double level = third < trace->count ? sum / (trace->count - third) : INFINITY;
    for (int i = 0; i < trace->count; i++)
        if (trace->celsius[i] >= level) return i;
    return trace->count - 1;
}

/* Later than the first third after the preheat: its overshoot must not set the scale of the cycles. */
double run__late_range(const RunTrace *trace, const RunSegment *segments, int segment_count, int reached)
{
    const int late = reached + (trace->count - reached) / 3;
    double low = INFINITY, high = -INFINITY;
    for (int s = 0; s < segment_count; s++) {
        for (int i = segments[s].from > late ? segments[s].from : late; i < segments[s].to; i++) {
            if (trace->celsius[i] < low) low = trace->celsius[i];
            if (trace->celsius[i] > high) high = trace->celsius[i];
        }
    }
    return high >= low ? high - low : 0;
}

/* On the straight line between two neighbours; `right` is the later one. */
static double value_at(const RunTrace *trace, int right, double second)
{
    const double t0 = trace->second[right - 1], t1 = trace->second[right];
    const double share = (second - t0) / (t1 - t0);
    return trace->celsius[right - 1] + share * (trace->celsius[right] - trace->celsius[right - 1]);
}

/* Sums are counted from `from` on, not from the epoch of a clock, so nothing is lost to large times. */
double run__mean_between(const RunTrace *trace, double from, double to)
{
    assert(trace->count >= 2 && from >= trace->second[0] && to <= trace->second[trace->count - 1] &&
           from < to);
    int i = run__index_at(trace, from);
    if (i == 0) i = 1;
    double sum = 0, last_second = from, last = value_at(trace, i, from);
    for (; trace->second[i] < to; i++) {
        sum += (trace->second[i] - last_second) * (trace->celsius[i] + last);
        last_second = trace->second[i];
        last = trace->celsius[i];
    }
    sum += (to - last_second) * (value_at(trace, i, to) + last);
    return sum / 2 / (to - from);
}

/* The first of them; a level that is only touched from above does not count. */
double run__crossing(const RunTrace *trace, int from, int to, double level)
{
    for (int i = from > 0 ? from : 1; i <= to && i < trace->count; i++) {
        const double before = trace->celsius[i - 1], after = trace->celsius[i];
        if (before < level && after >= level)
            return trace->second[i - 1] +
                   (level - before) / (after - before) * (trace->second[i] - trace->second[i - 1]);
    }
    return NAN;
}

/* The last crossing of a rise: from there on it stays above, so that noise around the first is left out. */
static double last_crossing(const RunTrace *trace, int low, int high, double level)
{
    int i = high;
    while (i > low && trace->celsius[i - 1] >= level) i--;
    return i > low ? run__crossing(trace, i, i, level) : NAN;
}

/* Always from the finest turns: merging what was merged before would forget what a smaller threshold needs.
 */
static void merge(RunSearch *search, double threshold)
{
    for (int s = 0; s < search->segment_count; s++) {
        RunSegment *segment = &search->segments[s];
        RunTurn *turns = search->turns + segment->turn_from;
        memcpy(turns, search->fine + segment->turn_from, (size_t)segment->turn_count * sizeof *turns);
        segment->merged_count = run__merge_turns(turns, segment->turn_count, threshold);
    }
}

/* Median height of the movements between turns, the first of each segment (a preheat, a recovery) and the
 * unfinished last left out; 0 for none. */
static double typical_movement(const RunSearch *search)
{
    double movements[MOST_MOVEMENTS];
    int count = 0;
    for (int s = 0; s < search->segment_count; s++) {
        const RunSegment *segment = &search->segments[s];
        const RunTurn *turns = search->turns + segment->turn_from;
        for (int i = 2; i + 1 < segment->merged_count && count < MOST_MOVEMENTS; i++)
            movements[count++] = fabs(turns[i].celsius - turns[i - 1].celsius);
    }
    return count ? run__median(movements, count) : 0;
}

/* Where the rise that begins with turn `i` is halfway up; NAN when that is no rise of a cycle. The first turn
 * of a segment is only where the segment begins: a cold oven, a door just closed. The last rise need not have
 * come to its end: the turn before it tells how high that will be. */
static double halfway(const RunSearch *search, const RunTurn *turns, int count, int i, double typical)
{
    const bool is_last = i + 2 == count;
    if (i == 0) return NAN;
    const double top = is_last ? fmax(turns[i - 1].celsius, turns[i + 1].celsius) : turns[i + 1].celsius;
    const double level = (turns[i].celsius + top) / 2;
    if (top - turns[i].celsius > odd_ratio * typical || turns[i + 1].celsius < level) return NAN;
    return last_crossing(&search->trace, turns[i].index, turns[i + 1].index, level);
}

/* The cycle around the low turn `i`, whose neighbours are high. */
static RunCycle cycle_around(const RunSearch *search, const RunTurn *turns, int i, double from, double to)
{
    const RunTrace *trace = &search->trace;
    const int before = i >= 2 ? turns[i - 2].index : turns[i - 1].index;
    const RunPeak high = run__sharpen(trace, turns[i - 1], before, turns[i].index);
    const RunPeak low = run__sharpen(trace, turns[i], turns[i - 1].index, turns[i + 1].index);
    return (RunCycle){
        .span = {from, to, run__mean_between(&search->full, from, to), low.celsius, high.celsius},
        .rising_second = to - from - (low.second - high.second)};
}

/* A rise that is none (NAN) breaks the row: the next cycle begins at the next good rise. */
static int cycles_of_segment(const RunSearch *search, int s, double typical, RunCycle *cycles, int most)
{
    const RunSegment *segment = &search->segments[s];
    const RunTurn *turns = search->turns + segment->turn_from;
    int count = 0;
    double last = NAN;
    for (int i = 0; i + 1 < segment->merged_count; i++) {
        if (turns[i].is_high) continue;
        const double second = halfway(search, turns, segment->merged_count, i, typical);
        const double fall = i > 0 ? turns[i - 1].celsius - turns[i].celsius : INFINITY;
        if (second > last && fall <= odd_ratio * typical && count < most)
            cycles[count++] = cycle_around(search, turns, i, last, second);
        last = second;
    }
    return count;
}

/* In order of time, since segments are. */
static int all_cycles(const RunSearch *search, RunCycle *cycles, int most)
{
    const double typical = typical_movement(search);
    int count = 0;
    for (int s = 0; s < search->segment_count; s++)
        count += cycles_of_segment(search, s, typical, cycles + count, most - count);
    return count;
}

/* The last merge is by the swing that was found, so cycles do not depend on where the search began. */
int run__find_cycles(RunSearch *search, RunCycle *cycles, int most)
{
    assert(search->floor_kelvin > 0);
    const double least = fmax(search->floor_kelvin, 0.2 * search->range_kelvin);
    int count = 0;
    for (double threshold = 0.5 * search->range_kelvin;; threshold *= 0.7) {
        merge(search, fmax(threshold, least));
        count = all_cycles(search, cycles, most);
        if (count >= 2 || threshold <= least) break;
    }
    const double typical = typical_movement(search);
    if (typical == 0) return count;
    merge(search, fmax(0.4 * typical, search->floor_kelvin));
    return all_cycles(search, cycles, most);
}

/* The truncation after which the standard error of the mean of what is left is smallest (K. P. White,
 * Simulation 69, 1997, 323; from memory). At most half are left out; differences below `trifle` do not count.
 */
int run__unsettled(const RunCycle *cycles, int count)
{
    const double trifle = 0.02;
    double best = INFINITY;
    int left_out = 0;
    for (int d = 0; d <= count / 2 && count - d >= 2; d++) {
        double sum = 0, square = 0;
        for (int i = d; i < count; i++) sum += cycles[i].span.mean_celsius;
        const double mean = sum / (count - d);
        for (int i = d; i < count; i++) {
            const double off = cycles[i].span.mean_celsius - mean;
            square += off * off + trifle * trifle;
        }
        const double error = square / (count - d) / (count - d);
        if (error >= best) continue;
        best = error;
        left_out = d;
    }
    return left_out;
}

/* Means are summed as differences from the first: a hundred thousand cycles lose nothing. */
void run__average(const RunCycle *cycles, int count, RunFigures *figures)
{
    double seconds = 0, mean = 0, swing = 0, rising = 0;
    for (int i = 0; i < count; i++) {
        const RunSpan *span = &cycles[i].span;
        const double length = span->to_second - span->from_second;
        assert(length > 0);
        seconds += length;
        mean += length * (span->mean_celsius - cycles[0].span.mean_celsius);
        swing += span->high_celsius - span->low_celsius;
        rising += cycles[i].rising_second;
    }
    figures->cycles = count;
    figures->mean_celsius = count ? cycles[0].span.mean_celsius + mean / seconds : NAN;
    figures->swing_kelvin = count ? swing / count : NAN;
    figures->period_second = count ? seconds / count : NAN;
    figures->duty = count ? rising / seconds : NAN;
}

/* Least squares around the middle of the stretch, where mean and slope do not depend on each other. */
void run__end(const RunTrace *trace, RunFigures *figures)
{
    assert(trace->count >= 1);
    const double from = trace->second[0], to = trace->second[trace->count - 1];
    const double begin = to - fmin(600, (to - from) / 4), middle = (begin + to) / 2;
    double n = 0, sum = 0, sum_t = 0, sum_tt = 0, sum_tc = 0;
    for (int i = run__index_at(trace, begin); i < trace->count; i++) {
        const double t = trace->second[i] - middle, c = trace->celsius[i];
        n++, sum += c, sum_t += t, sum_tt += t * t, sum_tc += t * c;
    }
    const double spread = n * sum_tt - sum_t * sum_t;
    figures->end_celsius = sum / n;
    figures->end_kelvin_per_second = spread > 0 ? (n * sum_tc - sum_t * sum) / spread : NAN;
}
