/* judge.c: what disturbs a log, and why a figure is missing.
 *
 * The three ways to have no cycles are told apart by what the end of the log does: still rising or standing
 * far above the set temperature, it runs away; without a turn for half an hour, it does not cycle; otherwise
 * nobody has waited long enough, or doors and gaps have left too little.
 *
 * Times count to where the oven was switched off, if the log goes on after that. */
#include "core/run/work_private.h"

#include <assert.h>
#include <math.h>

/* How long an oven that is hot may take for one turn before it is said not to cycle; how far above the set
 * temperature no differential and no overshoot goes; less than so much is not warmed at all (common practice,
 * no source). */
static const double patience_second = 1800, runaway_kelvin = 30, warmed_kelvin = 10;

/* Cycles that are seen at all by values further apart than this are longer than those of most ovens. */
static const double sparse_second = 90;

/* With fewer values in a cycle its corners are lost. */
static const double few_samples = 6;

/* Findings are few by construction (door openings are counted in note_cuts), so a full list is a defect; it
 * is still no reason to write beyond its end. */
void run__find(Run *run, RunFindingCode code, double second, double amount)
{
    assert(run->finding_count < RUN_MOST_FINDINGS);
    if (run->finding_count < RUN_MOST_FINDINGS)
        run->findings[run->finding_count++] = (RunFinding){code, second, amount};
}

static double end_of(const RunWork *work) { return work->series.full.second[work->series.full.count - 1]; }

/* Of the coarse trace: one noisy value must not make an oven reach its temperature. */
static double highest(const RunTrace *trace)
{
    double high = -INFINITY;
    for (int i = 0; i < trace->count; i++) high = fmax(high, trace->celsius[i]);
    return high;
}

/* Since when has it not turned? At the earliest since it was hot, since a gap or since an open door. */
static double last_turn(const RunWork *work, double hot_second)
{
    const RunSearch *search = &work->search;
    if (search->segment_count == 0) return work->series.coarse.second[work->series.coarse.count - 1];
    const RunSegment *segment = &search->segments[search->segment_count - 1];
    double last = fmax(hot_second, search->trace.second[segment->from]);
    if (segment->merged_count >= 2)
        last = fmax(
            last, search->trace.second[search->turns[segment->turn_from + segment->merged_count - 2].index]);
    return last;
}

/* Without two cycles: does it never cycle, or has nobody waited long enough? */
static void judge_no_cycles(const RunWork *work, const RunPreheat *preheat, double high, Run *run)
{
    const RunTrace *trace = &work->series.coarse;
    const bool is_warmed = high - preheat->start_celsius > warmed_kelvin; /* or nine tenths of it are noise */
    const double near = preheat->start_celsius + 0.9 * (high - preheat->start_celsius);
    const double near_second = run__crossing(trace, 1, trace->count - 1, near);
    const double hot_second = isfinite(preheat->set_second)        ? preheat->set_second
                              : is_warmed && isfinite(near_second) ? near_second
                                                                   : trace->second[0];
    const double turn_second = last_turn(work, hot_second);
    const bool is_at_top = high - trace->celsius[trace->count - 1] < 3 && turn_second <= hot_second;
    /* One turn that noise has made does not count in a log without a break that is three times as long. */
    const bool is_long = work->cuts.segment_count == 1 && end_of(work) - hot_second > 3 * patience_second;
    const bool is_still = is_long || end_of(work) - turn_second > patience_second;
    const bool runs_away = high - run->set_celsius > runaway_kelvin && (is_at_top || is_still);
    if (runs_away) run__find(run, RUN_RUNS_AWAY, preheat->set_second, high - run->set_celsius);
    if (runs_away || is_still)
        run__find(run, RUN_NEVER_CYCLES, NAN, run->end_celsius);
    else
        run__find(run, RUN_LOG_TOO_SHORT, end_of(work), end_of(work) - run->from_second);
    if (work->series.interval_second > sparse_second)
        run__find(run, RUN_SPARSE, NAN, work->series.interval_second);
}

/* Not reached counts when the preheat has come to its peak, or stands still, or went on for long. */
static void judge_reach(const RunWork *work, const RunPreheat *preheat, double high, Run *run)
{
    if (isfinite(preheat->set_second)) return;
    const double top = isfinite(preheat->first.celsius) ? preheat->first.celsius : high;
    const bool is_still = fabs(run->end_kelvin_per_second) < 10.0 / 3600;
    if (isfinite(preheat->first.celsius) || is_still ||
        end_of(work) - run->from_second > 1.5 * patience_second)
        run__find(run, RUN_NEVER_REACHES, NAN, run->set_celsius - top);
    else if (!run_has_finding(run, RUN_LOG_TOO_SHORT))
        run__find(run, RUN_LOG_TOO_SHORT, end_of(work), end_of(work) - run->from_second);
}

/* Are the means still moving: by more than their scatter, and by more than matters? */
static void judge_settling(const RunWork *work, Run *run)
{
    const RunCycle *cycles = work->cycles + work->unsettled;
    const RunDrift drift = run__drift(cycles, run->cycles);
    const double moved = fabs(drift.kelvin_per_second) * drift.span_second;
    const double matters = fmax(1, 0.1 * run->swing_kelvin.value);
    run->is_settled = true;
    if (moved > matters && fabs(drift.kelvin_per_second) > 3 * drift.uncertainty) {
        run__find(run, RUN_DRIFTING, run->settled_second, drift.kelvin_per_second * 3600);
        run->is_settled = false;
    }
    const double apart = fabs(cycles[run->cycles - 1].span.mean_celsius - cycles[0].span.mean_celsius);
    if (run->cycles < 4 && apart > 2 * matters) {
        run__find(run, RUN_NOT_SETTLED, run->settled_second, apart);
        run->is_settled = false;
    }
}

/* Few values, drift, and cycles of unlike length: each says something else of the mean, none takes it away.
 */
static void judge_cycles(const RunWork *work, Run *run)
{
    double shortest = INFINITY, longest = 0;
    if (work->figures.period_second < few_samples * work->series.interval_second)
        run__find(run, RUN_SPARSE, NAN, work->series.interval_second);
    if (run->cycles == 0) return;
    judge_settling(work, run);
    for (int i = 0; i < run->cycles; i++) {
        const double length = run->cycle_spans[i].to_second - run->cycle_spans[i].from_second;
        shortest = fmin(shortest, length);
        longest = fmax(longest, length);
    }
    if (longest > 1.7 * shortest) run__find(run, RUN_UNEVEN_CYCLES, NAN, longest / shortest);
}

void run__judge(const RunWork *work, bool has_cycles, const RunPreheat *preheat, Run *run)
{
    const double high = highest(&work->series.coarse);
    if (has_cycles)
        judge_cycles(work, run);
    else
        judge_no_cycles(work, preheat, high, run);
    if (preheat->is_cold) judge_reach(work, preheat, high, run);
}
