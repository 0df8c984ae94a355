/* analyse.c: one channel of a log, from rows to figures and findings.
 *
 * run_analyse reads as the order of the work: clean, cut at gaps and doors, find cycles, leave out those that
 * are still settling, average, judge (judge.c). Invariants of what it gives:
 * (1) mean, error, swing, period and duty are numbers together, from at least two cycles, or NAN together;
 * (2) where one of them is NAN a finding says why: log-too-short, never-cycles, sparse or no-values;
 * (3) where the preheat is NAN so is the overshoot, or a finding says why;
 * (4) uncertainties are NAN where their figures are, and never negative. */
#include "core/run/work_private.h"

#include <assert.h>
#include <math.h>

/* With fewer values in a cycle its length is a guess. */
static const double least_samples = 3;

static const RunFigure unknown = {NAN, NAN};

/* What was left out is said even when every figure could be had without it: a loose plug is worth knowing. */
static void note_cleaning(const RunSeries *series, Run *run)
{
    if (series->over_range) run__find(run, RUN_OVER_RANGE, series->first_over_range, series->over_range);
    if (series->spikes) run__find(run, RUN_SPIKES, series->first_spike, series->spikes);
    if (isfinite(series->off_second)) run__find(run, RUN_SWITCHED_OFF, series->off_second, NAN);
}

/* Each open door is a finding of its own, up to what the list holds beside one of every other kind. */
static void note_cuts(const RunCuts *cuts, Run *run)
{
    const int most = RUN_MOST_FINDINGS - RUN_FINDING_COUNT;
    if (cuts->gap_length > 0) run__find(run, RUN_GAPS, cuts->gap_second, cuts->gap_length);
    for (int i = 0; i < cuts->door_count && i < most; i++)
        run__find(run, RUN_DOOR_OPENED, cuts->doors[i].from_second, cuts->doors[i].mean_celsius);
    run->doors = cuts->doors;
    run->door_count = cuts->door_count;
}

/* Is the later part more than noise? Of independent values two thirds are higher or lower than both
 * neighbours, with variance (16 n - 29) / 90 of their number (W. A. Wallis and G. H. Moore, JASA 36, 1941,
 * 401; from memory); of cycles two in each. A display's last digit makes neighbours equal, which is no turn
 * and no sign of a cycle either: such a value is looked at once. */
static bool turns_seldom(const RunTrace *trace)
{
    int turning = 0, looked_at = 0;
    double before = 0;
    for (int i = trace->count / 3 + 1; i < trace->count; i++) {
        const double change = trace->celsius[i] - trace->celsius[i - 1];
        if (fabs(change) < 1e-9) continue;
        turning += before * change < 0;
        looked_at += fabs(before) > 0;
        before = change;
    }
    const double n = looked_at + 2;
    return looked_at > 4 && turning < 2 * looked_at / 3.0 - 3 * sqrt((16 * n - 29) / 90);
}

/* No thermometer has so much noise: values half a minute apart that look so are a cycle's own shape. */
static bool is_blurred(const RunSeries *series)
{
    return series->interval_second >= 30 && series->coarse_noise_kelvin > 1.5;
}

/* Kelvin: no contact that switches an element makes less of a turn in the middle of an oven (common practice,
 * no source). */
static const double LEAST_TURN = 1;

/* Turns smaller than this are noise or the display's last digit: eight standard deviations come by chance
 * once in ten thousand values. Where values are so far apart that a cycle's own shape looks like noise, the
 * number of turns tells the two apart. Who writes by hand does not write noise. */
static double floor_of(const RunSeries *series, bool is_hand_read, double range_kelvin)
{
    double noise = 8 * series->coarse_noise_kelvin;
    if (is_hand_read) return fmax(LEAST_TURN, 2 * series->step_kelvin);
    if (noise > 0.2 * range_kelvin && is_blurred(series))
        noise = 0.2 * range_kelvin;
    else if (noise > 0.2 * range_kelvin &&
             turns_seldom(&series->coarse)) /* a drift turns seldom too: six at least */
        noise = fmax(0.2 * range_kelvin, 6 * series->coarse_noise_kelvin);
    return fmax(LEAST_TURN, fmax(noise, 1.2 * series->step_kelvin));
}

/* Turns are counted before there is room for them: a long log has far fewer turns than values. */
static bool find_turns(RunWork *work, Arena *arena, Error *error)
{
    RunSearch *search = &work->search;
    RunTurn one;
    int total = 0;
    for (int s = 0; s < work->cuts.segment_count; s++) {
        RunSegment *segment = &work->cuts.segments[s];
        segment->turn_from = total;
        segment->turn_count =
            run__find_turns(&search->trace, segment->from, segment->to, search->floor_kelvin, &one, 1);
        total += segment->turn_count;
    }
    RunTurn *fine = ARENA_ARRAY(arena, RunTurn, (size_t)total + 1);
    search->turns = ARENA_ARRAY(arena, RunTurn, (size_t)total + 1);
    work->cycles = ARENA_ARRAY(arena, RunCycle, (size_t)total / 2 + 1);
    if (!fine || !search->turns || !work->cycles) return error_memory(error);
    for (int s = 0; s < work->cuts.segment_count; s++) {
        const RunSegment *segment = &work->cuts.segments[s];
        run__find_turns(&search->trace, segment->from, segment->to, search->floor_kelvin,
                        fine + segment->turn_from, segment->turn_count);
    }
    search->fine = fine;
    work->found = run__find_cycles(search, work->cycles, total / 2 + 1);
    return true;
}

/* Range first, from it the floor, from that the turns: each step needs the one before. */
static bool find_cycles(RunWork *work, Arena *arena, Error *error)
{
    const RunTrace *trace = &work->series.coarse;
    RunSearch *search = &work->search;
    search->trace = *trace;
    search->full = work->series.full;
    search->segments = work->cuts.segments;
    search->segment_count = work->cuts.segment_count;
    search->range_kelvin =
        run__late_range(trace, work->cuts.segments, work->cuts.segment_count, run__reached(trace));
    search->floor_kelvin = floor_of(&work->series, work->terms->is_hand_read, search->range_kelvin);
    if (!find_turns(work, arena, error)) return false;
    work->unsettled = run__unsettled(work->cycles, work->found);
    return true;
}

/* Standard deviation of the mean of one figure of the cycles. */
static double spread(const RunCycle *cycles, int count, double mean, double (*figure)(const RunCycle *))
{
    double square = 0;
    for (int i = 0; i < count; i++) square += (figure(&cycles[i]) - mean) * (figure(&cycles[i]) - mean);
    return sqrt(square / (count - 1) / count);
}

static double swing_of(const RunCycle *cycle) { return cycle->span.high_celsius - cycle->span.low_celsius; }
static double period_of(const RunCycle *cycle) { return cycle->span.to_second - cycle->span.from_second; }
static double share_of(const RunCycle *cycle) { return cycle->rising_second / period_of(cycle); }

/* An extreme lies anywhere in its interval: corners are found again by their lines, down to a quarter or so.
 */
static double swing_uncertainty(const RunWork *work, const RunCycle *cycles, int count)
{
    const RunFigures *f = &work->figures;
    const double steepest = f->swing_kelvin / fmin(f->duty, 1 - f->duty) / f->period_second;
    const double parts[] = {spread(cycles, count, f->swing_kelvin, swing_of),
                            work->series.step_kelvin / sqrt(6), work->series.coarse_noise_kelvin,
                            0.1 * steepest * work->series.interval_second};
    return meter_combine(parts, 4);
}

/* Copies what a plot or an answer needs; the cycles themselves stay private to this room. */
static bool keep_spans(const RunCycle *cycles, int count, Arena *arena, Run *run, Error *error)
{
    RunSpan *spans = ARENA_ARRAY(arena, RunSpan, (size_t)count);
    if (!spans) return error_memory(error);
    for (int i = 0; i < count; i++) spans[i] = cycles[i].span;
    run->cycle_spans = spans;
    run->cycles = count;
    run->settled_second = spans[0].from_second;
    return true;
}

/* The figures that come from cycles; two at least. */
static bool average(RunWork *work, Arena *arena, Run *run, Error *error)
{
    const RunCycle *cycles = work->cycles + work->unsettled;
    const int count = work->found - work->unsettled;
    RunFigures *f = &work->figures;
    run__average(cycles, count, f);
    if (f->period_second / work->series.interval_second < least_samples) return true;
    if (!run__budget(&work->series, work->terms, work->is_fahrenheit, cycles, count, f, &run->budget, error))
        return false;
    const double u = run__budget_total(&run->budget);
    run->mean_celsius = (RunFigure){f->mean_celsius, u};
    run->error_kelvin = (RunFigure){f->mean_celsius - run->set_celsius, u};
    run->half_width_kelvin = run__half_width(&run->budget);
    run->swing_kelvin = (RunFigure){f->swing_kelvin, swing_uncertainty(work, cycles, count)};
    run->period_second = (RunFigure){f->period_second, spread(cycles, count, f->period_second, period_of)};
    run->duty = (RunFigure){f->duty, fmax(spread(cycles, count, f->duty, share_of),
                                          work->series.interval_second / f->period_second / sqrt(12))};
    return keep_spans(cycles, count, arena, run, error);
}

/* What the oven reaches only because a door was open says nothing of its preheat. */
static bool has_door_between(const RunCuts *cuts, double from, double to)
{
    for (int i = 0; i < cuts->door_count; i++)
        if (cuts->doors[i].from_second > from && cuts->doors[i].from_second < to) return true;
    return false;
}

/* The thermometer is as wrong during the preheat as later, and the faster it rises the less that matters. */
static void add_preheat(const RunWork *work, double thermometer, RunPreheat *preheat, Run *run)
{
    const RunSeries *series = &work->series;
    run__preheat(&work->search, run->set_celsius, 3 * series->coarse_noise_kelvin + series->step_kelvin,
                 preheat);
    if (!preheat->is_early)
        preheat->on_second = run->from_second; /* the first mean is later than the first row */
    if (!preheat->is_cold) {
        if (preheat->start_celsius > 60 || preheat->start_celsius >= run->set_celsius)
            run__find(run, RUN_STARTS_HOT, run->from_second, preheat->start_celsius);
        return;
    }
    if (preheat->is_early)
        run__find(run, RUN_STARTS_EARLY, preheat->on_second, preheat->on_second - run->from_second);
    run->heat_up_second = preheat->first.second - preheat->on_second;
    if (has_door_between(&work->cuts, preheat->first.second, preheat->set_second)) preheat->set_second = NAN;
    if (!isfinite(preheat->set_second)) return;
    const double parts[] = {thermometer / preheat->kelvin_per_second,
                            series->noise_kelvin / preheat->kelvin_per_second,
                            series->interval_second / sqrt(12)};
    run->preheat_second = (RunFigure){preheat->set_second - preheat->on_second, meter_combine(parts, 3)};
    if (!isfinite(preheat->over.celsius)) return;
    const double peak_parts[] = {thermometer, series->coarse_noise_kelvin, series->step_kelvin / sqrt(12)};
    run->overshoot_kelvin =
        (RunFigure){preheat->over.celsius - run->set_celsius, meter_combine(peak_parts, 3)};
}

/* The thermometer's part at the set temperature, as far as the person has said what it is. */
static bool judge_preheat(const RunWork *work, RunPreheat *preheat, Run *run, Error *error)
{
    double probe;
    if (!run__probe_half_width(work->terms, run->set_celsius, &probe, error)) return false;
    const double parts[] = {
        probe / sqrt(3),
        run__meter_half_width(work->terms, work->is_fahrenheit, work->series.step_kelvin, run->set_celsius) /
            sqrt(3)};
    add_preheat(work, meter_combine(parts, 2), preheat, run);
    return true;
}

/* NAN everywhere before anything is known, so that no path can leave a figure that nobody has computed. */
static void begin(const RunTerms *terms, Run *run)
{
    *run = (Run){.set_celsius = terms->set_celsius,
                 .mean_celsius = unknown,
                 .error_kelvin = unknown,
                 .half_width_kelvin = NAN,
                 .swing_kelvin = unknown,
                 .period_second = unknown,
                 .preheat_second = unknown,
                 .overshoot_kelvin = unknown,
                 .duty = unknown,
                 .from_second = NAN,
                 .to_second = NAN,
                 .settled_second = NAN,
                 .heat_up_second = NAN,
                 .end_celsius = NAN,
                 .end_kelvin_per_second = NAN};
}

/* What there is to say of a log with some values in it. */
static bool judge(RunWork *work, Arena *arena, Run *run, Error *error)
{
    const RunTrace *trace = &work->series.coarse;
    RunPreheat preheat;
    run->from_second = work->series.full.second[0];
    run->to_second = work->series.last_second;
    run__end(trace, &work->figures);
    run->end_celsius = work->figures.end_celsius;
    run->end_kelvin_per_second = work->figures.end_kelvin_per_second;
    note_cuts(&work->cuts, run);
    const bool has_cycles = work->found - work->unsettled >= 2;
    if (has_cycles && !average(work, arena, run, error)) return false;
    if (!judge_preheat(work, &preheat, run, error)) return false;
    run__judge(work, has_cycles, &preheat, run);
    return true;
}

/* Fewer than three values are no curve; everything above that is judged. */
bool run_analyse(const RunLog *log, int channel, const RunTerms *terms, Arena *arena, Run *run, Error *error)
{
    assert(channel >= 0 && channel < log->channel_count);
    RunWork work = {.log = log, .terms = terms, .is_fahrenheit = log->channels[channel].is_fahrenheit};
    begin(terms, run);
    if (!run__clean(log, channel, terms, arena, &work.series, error)) return false;
    note_cleaning(&work.series, run);
    if (work.series.coarse.count < 3) {
        if (log->count > 0) run->from_second = log->second[0], run->to_second = log->second[log->count - 1];
        run__find(run, RUN_NO_VALUES, NAN, work.series.full.count);
        return true;
    }
    return run__cut(&work.series, arena, &work.cuts, error) && find_cycles(&work, arena, error) &&
           judge(&work, arena, run, error);
}

/* Mean by trapezoids between the values in the span, and how far apart its extremes are; false: fewer than
 * three values in it. */
static bool average_span(const RunTrace *trace, const RunSpan *span, double *mean, double *swing)
{
    double low = INFINITY, high = -INFINITY, sum = 0, length = 0;
    const int first = run__index_at(trace, span->from_second);
    int end = first;
    for (; end < trace->count && trace->second[end] <= span->to_second; end++) {
        const double celsius = trace->celsius[end];
        low = fmin(low, celsius);
        high = fmax(high, celsius);
        if (end == first) continue;
        const double step = trace->second[end] - trace->second[end - 1];
        sum += step * (celsius + trace->celsius[end - 1]) / 2;
        length += step;
    }
    *mean = sum / length;
    *swing = high - low;
    return end - first >= least_samples;
}

/* Cleaned like the first one, since one spike in a cycle would be its swing. */
bool run_add_sensor(const RunLog *log, int channel, Arena *arena, Run *run, Error *error)
{
    const RunTerms terms = {.set_celsius = run->set_celsius};
    RunSeries series;
    double mean = 0, swing = 0;
    int count = 0;
    assert(channel >= 0 && channel < log->channel_count);
    if (!run__clean(log, channel, &terms, arena, &series, error)) return false;
    for (int i = 0; i < run->cycles; i++) {
        double here, wide;
        if (!average_span(&series.full, &run->cycle_spans[i], &here, &wide)) continue;
        mean += here;
        swing += wide;
        count++;
    }
    run->has_sensor = count > 0;
    run->sensor_celsius = (RunFigure){mean / count, run->mean_celsius.uncertainty};
    run->sensor_swing_kelvin = (RunFigure){swing / count, run->swing_kelvin.uncertainty};
    if (count == 0) run__find(run, RUN_SENSOR_SILENT, NAN, NAN);
    return true;
}
