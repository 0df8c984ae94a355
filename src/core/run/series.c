/* series.c: a log as it came, made into values that can be computed with.
 *
 * Left out: rows without a value, over-range rows, rows that repeat the time of the row before, and spikes.
 * A spike is one value or two that jump far out and back to where the curve was; an open door falls steeply
 * too, but comes back slowly, so it stays in and is found later (doors.c).
 *
 * Noise is judged by third differences, which a smooth curve has next to none of. With few values in a cycle
 * more than half of them are at a corner, so the quantile looked at is the one of a quarter. A display's step
 * is the smallest change between neighbours, if the other changes are multiples of it. */
#include "core/run/work_private.h"

#include <assert.h>
#include <math.h>
#include <string.h>

/* No oven is outside: such a value is a column that holds something else. */
static const double least_celsius = -100, most_celsius = 1200;

/* Selects in place (C. A. R. Hoare's FIND, CACM 4, 1961, 321; from memory): everything before `wanted` is not
 * above it. */
static double nth(double *values, int count, int wanted)
{
    int low = 0, high = count - 1;
    while (low < high) {
        const double pivot = values[low + (high - low) / 2];
        int i = low, j = high;
        while (i <= j) {
            while (values[i] < pivot) i++;
            while (values[j] > pivot) j--;
            if (i > j) break;
            const double held = values[i];
            values[i++] = values[j];
            values[j--] = held;
        }
        if (wanted <= j)
            high = j;
        else if (wanted >= i)
            low = i;
        else
            break;
    }
    return values[wanted];
}

double run__median(double *values, int count)
{
    assert(count >= 1);
    return run__quantile(values, count, 0.5);
}

/* The nearest rank; between ranks nobody could tell the difference. */
double run__quantile(double *values, int count, double share)
{
    assert(count >= 1 && share >= 0 && share <= 1);
    return nth(values, count, (int)floor(share * (count - 1) + 0.5));
}

/* How many rows to go on from one look to the next. */
static int stride_of(int count) { return 1 + count / RUN__MOST_LOOKED_AT; }

/* Robust against gaps, which a mean is not. */
static double median_interval(const RunTrace *trace, double *scratch)
{
    const int stride = stride_of(trace->count);
    int count = 0;
    for (int i = 1; i < trace->count; i += stride) scratch[count++] = trace->second[i] - trace->second[i - 1];
    return count ? run__median(scratch, count) : 0;
}

/* What the curve usually does from row to row: a spike must be large beside it. */
static double median_change(const RunTrace *trace, double *scratch)
{
    const int stride = stride_of(trace->count);
    int count = 0;
    for (int i = 1; i < trace->count; i += stride)
        scratch[count++] = fabs(trace->celsius[i] - trace->celsius[i - 1]);
    return count ? run__median(scratch, count) : 0;
}

/* Standard deviation: a third difference of independent values has sqrt 20 times theirs, and a quarter of
 * normal values are within 0.31864 standard deviations. */
static double noise_of(const RunTrace *trace, double *scratch)
{
    const int stride = stride_of(trace->count);
    int count = 0;
    for (int i = 3; i < trace->count; i += stride) {
        const double *c = trace->celsius + i;
        scratch[count++] = fabs(c[0] - 3 * c[-1] + 3 * c[-2] - c[-3]);
    }
    return count ? run__quantile(scratch, count, 0.25) / 0.31864 / sqrt(20) : 0;
}

/* A tenth of a step off: logs are rounded once more when Fahrenheit is written in Celsius. */
static bool is_multiple(double value, double step)
{
    const double times = value / step;
    return fabs(times - floor(times + 0.5)) < 0.1;
}

/* Large changes are left out of the count: a tenth of a small step is lost in them. */
static double step_of(const RunTrace *trace)
{
    const int stride = stride_of(trace->count), last = trace->count;
    double step = INFINITY;
    int changes = 0, multiples = 0;
    for (int i = 1; i < last; i += stride) {
        const double change = fabs(trace->celsius[i] - trace->celsius[i - 1]);
        if (change > 1e-4 && change < step) step = change;
    }
    for (int i = 1; i < last && isfinite(step); i += stride) {
        const double change = fabs(trace->celsius[i] - trace->celsius[i - 1]);
        if (change <= 1e-4 || change > 9 * step) continue;
        changes++;
        multiples += is_multiple(change, step);
    }
    return changes >= 5 && multiples >= 0.95 * changes ? step : 0;
}

/* Does `count` values from i on (1 or 2) jump out on one side by more than `jump`, and back? */
static bool is_spike(const double *celsius, int length, int i, int count, double jump)
{
    if (i < 1 || i + count >= length) return false;
    const double before = celsius[i - 1], behind = celsius[i + count];
    const double first = celsius[i] - before, last = celsius[i + count - 1] - behind;
    if ((first > 0) != (last > 0)) return false;
    const double out = fmin(fabs(first), fabs(last));
    return out > jump && fabs(behind - before) < 0.25 * out;
}

/* Takes spikes out in place. A jump is large beside the usual change from row to row and the noise. */
static void remove_spikes(double *second, double *celsius, double *scratch, RunSeries *series)
{
    RunTrace *trace = &series->full;
    const double jump = fmax(4, 8 * median_change(trace, scratch) + 8 * series->noise_kelvin);
    int kept = 0;
    for (int i = 0; i < trace->count;) {
        const int out = is_spike(celsius, trace->count, i, 1, jump)   ? 1
                        : is_spike(celsius, trace->count, i, 2, jump) ? 2
                                                                      : 0;
        if (out > 0 && series->spikes == 0) series->first_spike = second[i];
        series->spikes += out;
        i += out;
        if (out > 0) continue;
        second[kept] = second[i];
        celsius[kept++] = celsius[i++];
    }
    trace->count = kept;
}

/* The values that can be used, in order. A few that no oven has are a broken wire or a slip of the logger;
 * many are a column that holds something else. */
static bool take_values(const RunLog *log, const double *celsius, double *second, double *values,
                        RunSeries *series, Error *error)
{
    int count = 0, strange = 0;
    for (int i = 0; i < log->count; i++) {
        const double t = log->second[i], value = celsius[i];
        if (!isfinite(t) || (i > 0 && t < log->second[i - 1]))
            return error_set(error, ERROR_INCONSISTENT, "a time before the one above it",
                             "times that rise, row %d", i + 1);
        if (isnan(value)) continue;
        const bool is_strange = isfinite(value) && (value < least_celsius || value > most_celsius);
        strange += is_strange;
        if ((is_strange || isinf(value)) && series->over_range++ == 0) series->first_over_range = t;
        if (is_strange || isinf(value) || (count > 0 && t <= second[count - 1])) continue;
        second[count] = t;
        values[count++] = value;
    }
    if (strange > count)
        return error_set(error, ERROR_OUT_OF_RANGE, "temperatures that no oven has",
                         "most of them between %g C and %g C", least_celsius, most_celsius);
    series->full = (RunTrace){second, values, count};
    return true;
}

/* Means over stretches of RUN__BIN_SECOND; a stretch without a value leaves no mean. */
static bool make_coarse(RunSeries *series, Arena *arena, Error *error)
{
    const RunTrace *full = &series->full;
    series->coarse = *full;
    if (full->count < 3 || series->interval_second > RUN__BIN_SECOND / 2) return true;
    const double span = (full->second[full->count - 1] - full->second[0]) / RUN__BIN_SECOND;
    const size_t most = span + 2 < full->count ? (size_t)span + 2 : (size_t)full->count;
    double *second = ARENA_ARRAY(arena, double, most), *celsius = ARENA_ARRAY(arena, double, most);
    if (!second || !celsius) return error_memory(error);
    int count = 0;
    for (int i = 0; i < full->count;) {
        const double bin = floor((full->second[i] - full->second[0]) / RUN__BIN_SECOND);
        double t = 0, c = 0;
        int n = 0;
        for (; i < full->count && floor((full->second[i] - full->second[0]) / RUN__BIN_SECOND) == bin; i++) {
            t += full->second[i] - full->second[0];
            c += full->celsius[i];
            n++;
        }
        assert((size_t)count < most);
        second[count] = full->second[0] + t / n;
        celsius[count++] = c / n;
    }
    series->coarse = (RunTrace){second, celsius, count};
    return true;
}

/* Values from `least` on, every stride-th; their number. */
static int take_above(const RunTrace *trace, double least, double *scratch)
{
    const int stride = stride_of(trace->count);
    int count = 0;
    for (int i = 0; i < trace->count; i += stride)
        if (trace->celsius[i] >= least) scratch[count++] = trace->celsius[i];
    return count;
}

static int last_above(const RunTrace *trace, double celsius)
{
    int i = trace->count - 1;
    while (i > 0 && trace->celsius[i] < celsius) i--;
    return i;
}

/* Many a log goes on while the oven cools. What was hot is taken from the upper tenth of the values; an end
 * that is below two thirds of that, counted from the kitchen, is no part of the run, which ends where it was
 * last in the middle of its cycles. */
static void leave_out_cooling(RunSeries *series, double *scratch)
{
    RunTrace *trace = &series->coarse;
    const double kitchen = 25, least_rise = 30;
    const double hot = run__quantile(scratch, take_above(trace, -INFINITY, scratch), 0.9);
    const double limit = hot - 0.35 * (hot - kitchen);
    if (hot - kitchen < least_rise || trace->celsius[trace->count - 1] >= limit) return;
    const int end = last_above(trace, limit);
    if (series->last_second - trace->second[end] < 120) return;
    const double middle = run__median(scratch, take_above(trace, limit, scratch));
    trace->count = last_above(trace, middle) + 1;
    series->off_second = trace->second[trace->count - 1];
    series->full.count = run__index_at(&series->full, series->off_second) + 1;
}

/* Noise is judged twice: with the spikes, to know how large a jump is, and without, for everything else. */
bool run__clean(const RunLog *log, int channel, const RunTerms *terms, Arena *arena, RunSeries *series,
                Error *error)
{
    assert(channel >= 0 && channel < log->channel_count);
    *series = (RunSeries){.first_spike = NAN, .first_over_range = NAN, .off_second = NAN, .last_second = NAN};
    if (log->count > RUN_MOST_ROWS)
        return error_set(error, ERROR_TOO_LARGE, "more rows", "at most %d rows", RUN_MOST_ROWS);
    const size_t rows = log->count > 0 ? (size_t)log->count : 1;
    double *second = ARENA_ARRAY(arena, double, rows), *celsius = ARENA_ARRAY(arena, double, rows);
    double *scratch = ARENA_ARRAY(arena, double, RUN__MOST_LOOKED_AT + 1);
    if (!second || !celsius || !scratch) return error_memory(error);
    if (!take_values(log, log->channels[channel].celsius, second, celsius, series, error)) return false;
    series->noise_kelvin = noise_of(&series->full, scratch);
    remove_spikes(second, celsius, scratch, series);
    series->interval_second = median_interval(&series->full, scratch);
    series->noise_kelvin = noise_of(&series->full, scratch);
    series->step_kelvin = terms->resolution_kelvin > 0 ? terms->resolution_kelvin : step_of(&series->full);
    if (!make_coarse(series, arena, error)) return false;
    if (series->full.count > 0) series->last_second = series->full.second[series->full.count - 1];
    if (series->coarse.count >= 3) leave_out_cooling(series, scratch);
    series->coarse_second = median_interval(&series->coarse, scratch);
    series->coarse_noise_kelvin = noise_of(&series->coarse, scratch);
    return true;
}
