/* figures.c: preheat and overshoot, and all figures of a clean trace at once.
 *
 * Overshoot is counted from the set temperature, as a technician sees it. The preheat ends at the first peak:
 * an oven that is set too cool may reach the set temperature an hour later, after a door was open, and that
 * is no preheat.
 *
 * run_figures is called some thousand times for one diagnosis, so it allocates nothing and passes over the
 * values a few times only. It uses the same turns, cycles and averages as run_analyse, so a simulated oven
 * and a logged one are compared by the same definitions. What only a log of a real oven has (noise, gaps,
 * open doors) it does not look for. */
#include "core/run/run_private.h"

#include <assert.h>
#include <math.h>

enum { MOST_TURNS = 512, MOST_CYCLES = 128 };

/* Above this an oven is not cold: a kitchen is never that warm (common practice, no source). */
static const double cold_celsius = 60;

/* Before an element warms the middle of an oven it takes a minute or so; longer than this is waiting. */
static const double wait_second = 180;

/* A clean trace has no noise: what is smaller than this is no cycle but rounding. */
static const double clean_floor_kelvin = 0.3;

/* The first high turn from a time on. */
static RunPeak first_peak(const RunSearch *search, double second)
{
    for (int s = 0; s < search->segment_count; s++) {
        const RunSegment *segment = &search->segments[s];
        const RunTurn *turns = search->turns + segment->turn_from;
        for (int i = 0; i + 1 < segment->merged_count; i++)
            if (turns[i].is_high && search->trace.second[turns[i].index] >= second)
                return run__sharpen(&search->trace, turns[i], i > 0 ? turns[i - 1].index : segment->from,
                                    turns[i + 1].index);
    }
    return (RunPeak){NAN, NAN};
}

/* When heating began: after a wait, the last value that is still where the log started. */
static int find_start(const RunTrace *trace, int at, double tremor_kelvin, RunPreheat *preheat)
{
    int still = at;
    while (still > 0 && trace->celsius[still] > preheat->start_celsius + 1 + tremor_kelvin) still--;
    if (trace->second[still] - trace->second[0] > wait_second) {
        preheat->on_second = trace->second[still];
        preheat->is_early = true;
    }
    return still;
}

/* How fast it rises is taken over the last minute before the crossing, not over two values: noise would make
 * the uncertainty of the time a lottery. */
void run__preheat(const RunSearch *search, double set_celsius, double tremor_kelvin, RunPreheat *preheat)
{
    const RunTrace *trace = &search->trace;
    assert(trace->count >= 1);
    const double start = trace->celsius[0];
    *preheat = (RunPreheat){.on_second = trace->second[0],
                            .set_second = run__crossing(trace, 1, trace->count - 1, set_celsius),
                            .kelvin_per_second = NAN,
                            .start_celsius = start,
                            .first = first_peak(search, trace->second[run__reached(trace)]),
                            .over = {NAN, NAN},
                            .is_cold = start <= cold_celsius && start < set_celsius};
    if (!isfinite(preheat->set_second)) return;
    preheat->over = first_peak(search, preheat->set_second);
    const int at = run__index_at(trace, preheat->set_second);
    const int still = find_start(trace, at, tremor_kelvin, preheat);
    const int before = run__index_at(trace, preheat->set_second - 60) - 1;
    const int from = before > still ? before : still;
    if (from < at)
        preheat->kelvin_per_second =
            (trace->celsius[at] - trace->celsius[from]) / (trace->second[at] - trace->second[from]);
}

/* NAN stays where the trace starts hot or never gets there. */
static void find_preheat(const RunSearch *search, double set_celsius, RunFigures *figures)
{
    RunPreheat preheat;
    run__preheat(search, set_celsius, 0, &preheat);
    if (!preheat.is_cold || !isfinite(preheat.set_second)) return;
    figures->preheat_second = preheat.set_second - preheat.on_second;
    figures->overshoot_kelvin = preheat.over.celsius - set_celsius;
}

/* When there are more turns than room the floor is doubled: a trace with so many is noise at that height. */
void run_figures(const double *second, const double *celsius, int count, double set_celsius,
                 RunFigures *figures)
{
    assert(count >= 3);
    RunTurn fine[MOST_TURNS], turns[MOST_TURNS];
    RunCycle cycles[MOST_CYCLES];
    const RunTrace trace = {second, celsius, count};
    RunSegment whole = {0, count, 0, 0, 0};
    RunSearch search = {
        .trace = trace, .full = trace, .segments = &whole, .segment_count = 1, .fine = fine, .turns = turns};
    search.range_kelvin = run__late_range(&trace, &whole, 1, run__reached(&trace));
    search.floor_kelvin = clean_floor_kelvin;
    *figures = (RunFigures){NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN, 0};
    while ((whole.turn_count = run__find_turns(&trace, 0, count, search.floor_kelvin, fine, MOST_TURNS)) >
           MOST_TURNS)
        search.floor_kelvin *= 2;
    const int found = run__find_cycles(&search, cycles, MOST_CYCLES);
    const int unsettled = run__unsettled(cycles, found);
    if (found - unsettled >= 2) run__average(cycles + unsettled, found - unsettled, figures);
    run__end(&trace, figures);
    find_preheat(&search, set_celsius, figures);
}
