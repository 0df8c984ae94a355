/* doors.c: open doors and gaps, and the stretches between them.
 *
 * An open door makes the air of the oven fall several times as steeply as it ever does by itself, below where
 * its cycles reach; it is over when the temperature is back in the middle of its cycles. What happens in
 * between says nothing of the control, so cycles are looked for in the stretches before and behind.
 *
 * What it is bad at: a door opened for a second or two, or a thermometer in a heavy block, shows no more than
 * a deep cycle. */
#include "core/run/work_private.h"

#include <assert.h>
#include <math.h>

/* A fall is judged over half a minute, and its bottom looked for within ten. */
static const double window_second = 30, bottom_second = 600;
static const double least_fall_kelvin = 5;

/* The usual behaviour once the oven is hot: quantiles over its values and its falls. */
typedef struct {
    double fall_kelvin_per_second, trough_celsius, middle_celsius, range_kelvin;
    int reached;
} Habit;

/* First index at least the window behind `i`, never `i` itself. */
static int behind(const RunTrace *trace, int i)
{
    int j = i + 1;
    while (j < trace->count && trace->second[j] - trace->second[i] < window_second) j++;
    return j;
}

/* Quantiles and not means: an open door is part of what is looked at. */
static bool learn(const RunTrace *trace, Arena *arena, Habit *habit, Error *error)
{
    double *values = ARENA_ARRAY(arena, double, RUN__MOST_LOOKED_AT + 1);
    if (!values) return error_memory(error);
    habit->reached = run__reached(trace);
    const int stride = 1 + (trace->count - habit->reached) / RUN__MOST_LOOKED_AT;
    int count = 0;
    for (int i = habit->reached; i < trace->count; i += stride) {
        const int j = behind(trace, i);
        if (j >= trace->count) break;
        const double fall = (trace->celsius[i] - trace->celsius[j]) / (trace->second[j] - trace->second[i]);
        if (fall > 0) values[count++] = fall;
    }
    habit->fall_kelvin_per_second = count ? run__quantile(values, count, 0.75) : 0;
    count = 0;
    for (int i = habit->reached; i < trace->count; i += stride) values[count++] = trace->celsius[i];
    habit->trough_celsius = run__quantile(values, count, 0.1);
    habit->middle_celsius = run__quantile(values, count, 0.5);
    habit->range_kelvin = run__quantile(values, count, 0.9) - habit->trough_celsius;
    return true;
}

/* The bottom comes after the door is shut, when the walls have given back less than the air has lost. */
static int lowest_after(const RunTrace *trace, int from)
{
    int lowest = from;
    for (int i = from; i < trace->count && trace->second[i] - trace->second[from] < bottom_second; i++)
        if (trace->celsius[i] < trace->celsius[lowest]) lowest = i;
    return lowest;
}

/* Is there a steep fall within the window behind `i`? Then where it begins and ends. */
static bool find_door(const RunSeries *series, const Habit *habit, int i, RunSpan *door, int *end)
{
    const RunTrace *trace = &series->coarse;
    const int j = behind(trace, i);
    if (j >= trace->count) return false;
    const double fall = trace->celsius[i] - trace->celsius[j];
    const double seconds = trace->second[j] - trace->second[i];
    if (fall < least_fall_kelvin + 8 * series->coarse_noise_kelvin ||
        fall / seconds < 3 * habit->fall_kelvin_per_second ||
        seconds > 5 * fmax(window_second, series->coarse_second))
        return false;
    int start = i;
    while (start + 1 < j && trace->celsius[start] - trace->celsius[start + 1] < fall / 4) start++;
    const int bottom = lowest_after(trace, start);
    const bool is_hot = start >= habit->reached;
    if (is_hot && trace->celsius[bottom] > habit->trough_celsius - fmax(2, 0.25 * habit->range_kelvin))
        return false;
    const double level = fmin(trace->celsius[start], habit->middle_celsius);
    int k = bottom;
    while (k + 1 < trace->count && trace->celsius[k] < level) k++;
    *door = (RunSpan){trace->second[start], trace->second[k], trace->celsius[start] - trace->celsius[bottom],
                      trace->celsius[bottom], trace->celsius[start]};
    *end = k;
    return true;
}

/* Fewer than three values hold no turn. */
static void add_segment(RunCuts *cuts, int from, int to)
{
    if (to - from >= 3) cuts->segments[cuts->segment_count++] = (RunSegment){.from = from, .to = to};
}

/* Between two values of the trace; longer than a few of its intervals. */
static bool is_gap(const RunSeries *series, int i)
{
    const double *second = series->coarse.second;
    return second[i] - second[i - 1] > 4 * fmax(series->coarse_second, window_second / 3);
}

/* Only the longest is told; all of them cut. */
static void note_gap(RunCuts *cuts, const RunTrace *trace, int i)
{
    const double length = trace->second[i] - trace->second[i - 1];
    if (length <= cuts->gap_length) return;
    cuts->gap_length = length;
    cuts->gap_second = trace->second[i - 1];
}

/* One pass: a door found at `i` is stepped over as a whole, so doors never overlap, and what follows begins
 * where the oven has recovered. */
bool run__cut(const RunSeries *series, Arena *arena, RunCuts *cuts, Error *error)
{
    const RunTrace *trace = &series->coarse;
    Habit habit = {0};
    assert(trace->count >= 1);
    *cuts = (RunCuts){.doors = ARENA_ARRAY(arena, RunSpan, RUN__MOST_DOORS),
                      .segments = ARENA_ARRAY(arena, RunSegment, (size_t)trace->count / 3 + 1)};
    if (!cuts->doors || !cuts->segments) return error_memory(error);
    if (!learn(trace, arena, &habit, error)) return false;
    int from = 0;
    for (int i = 0; i < trace->count;) {
        RunSpan door;
        int end;
        if (i > from && is_gap(series, i)) {
            note_gap(cuts, trace, i);
            add_segment(cuts, from, i);
            from = i;
        }
        if (cuts->door_count < RUN__MOST_DOORS && find_door(series, &habit, i, &door, &end)) {
            cuts->doors[cuts->door_count++] = door;
            add_segment(cuts, from, run__index_at(trace, door.from_second) + 1);
            from = i = end > i ? end : i + 1;
        } else {
            i++;
        }
    }
    add_segment(cuts, from, trace->count);
    return true;
}
