/* turns.c: where the temperature turns, and the cycles between turns.
 *
 * A turn is an extreme that the temperature leaves by more than a threshold in both directions, so noise and
 * the ripple of a duty pattern inside one heating make none. One pass over the values with the smallest
 * threshold finds all that can matter; larger thresholds work on those few turns alone.
 *
 * A cycle goes from the middle of one rise to the middle of the next, the middle being halfway between the
 * turns around that rise. At these two moments the oven is in the same state, so the mean between them is the
 * cycle mean whatever the shape of the curve; halfway up the slope is steepest and the level nearest to the
 * mean, so an error of the moment costs least.
 *
 * What it is bad at: two ovens' worth of ripple, where heating pulses are as tall as the cycle itself, are
 * taken for the cycle. */
#include "core/run/run_private.h"

#include <assert.h>
#include <math.h>
#include <string.h>

/* Walks along values; knows the extremes since the last turn. */
typedef struct {
    RunTurn low, high;
    int direction; /* 0: not known yet, 1: rising since the last turn, -1: falling */
    double threshold;
} Walk;

static Walk begin(RunTurn first, double threshold)
{
    return (Walk){.low = first, .high = first, .threshold = threshold};
}

/* One value further; true when it leaves an extreme behind for good, which is then a turn. */
static inline bool leaves_turn(Walk *walk, int index, double celsius, RunTurn *turn)
{
    const RunTurn here = {index, celsius, false};
    if (celsius > walk->high.celsius) walk->high = here;
    if (celsius < walk->low.celsius) walk->low = here;
    if (walk->direction <= 0 && celsius - walk->low.celsius > walk->threshold) {
        *turn = walk->low;
        walk->high = here;
        walk->direction = 1;
        return true;
    }
    if (walk->direction >= 0 && walk->high.celsius - celsius > walk->threshold) {
        *turn = walk->high;
        turn->is_high = true;
        walk->low = here;
        walk->direction = -1;
        return true;
    }
    return false;
}

/* The extreme that it has not left yet: needed when turns are merged, but no turn itself. */
static RunTurn pending(const Walk *walk)
{
    RunTurn turn = walk->direction < 0 ? walk->low : walk->high;
    turn.is_high = walk->direction >= 0;
    return turn;
}

int run__find_turns(const RunTrace *trace, int from, int to, double threshold, RunTurn *turns, int most)
{
    assert(from >= 0 && from < to && to <= trace->count && threshold > 0 && most > 0);
    Walk walk = begin((RunTurn){from, trace->celsius[from], false}, threshold);
    int count = 0;
    for (int i = from + 1; i < to; i++) {
        RunTurn turn;
        if (!leaves_turn(&walk, i, trace->celsius[i], &turn)) continue;
        if (count < most) turns[count] = turn;
        count++;
    }
    if (count < most) turns[count] = pending(&walk);
    return count + 1;
}

int run__merge_turns(RunTurn *turns, int count, double threshold)
{
    assert(count >= 1);
    Walk walk = begin(turns[0], threshold);
    int kept = 0;
    for (int i = 1; i < count; i++) {
        RunTurn turn;
        if (leaves_turn(&walk, turns[i].index, turns[i].celsius, &turn)) turns[kept++] = turn;
    }
    turns[kept] = pending(&walk);
    assert(kept < count);
    return kept + 1;
}

/* Two straight lines, each through two values, and where they meet. For a parabola both miss the value
 * between them by the same amount wherever its top is; at a corner one of them goes through it. */
static bool find_corner(const double *t, const double *c, RunPeak *peak)
{
    const double before = (c[-1] - c[-2]) / (t[-1] - t[-2]), behind = (c[2] - c[1]) / (t[2] - t[1]);
    const double miss_before = c[-1] + before * (t[0] - t[-1]) - c[0];
    const double miss_behind = c[1] + behind * (t[0] - t[1]) - c[0];
    if (fmin(fabs(miss_before), fabs(miss_behind)) > 0.3 * fmax(fabs(miss_before), fabs(miss_behind)))
        return false;
    if (before == behind) return false;
    const double second = t[-1] + (c[1] - c[-1] + behind * (t[-1] - t[1])) / (before - behind);
    if (!(second >= t[-1] && second <= t[1])) return false;
    *peak = (RunPeak){second, c[-1] + before * (second - t[-1])};
    return true;
}

/* Newton's divided differences: c[0] + slope (t - t0) + bend (t - t0)(t - t[-1]). */
static RunPeak top_of_parabola(const double *t, const double *c)
{
    const double before = (c[0] - c[-1]) / (t[0] - t[-1]), behind = (c[1] - c[0]) / (t[1] - t[0]);
    const double bend = (behind - before) / (t[1] - t[-1]);
    if (bend == 0) return (RunPeak){t[0], c[0]};
    const double second = (t[0] + t[-1]) / 2 - before / (2 * bend);
    if (!(second >= t[-1] && second <= t[1])) return (RunPeak){t[0], c[0]};
    return (RunPeak){second, c[0] + before * (second - t[0]) + bend * (second - t[0]) * (second - t[-1])};
}

RunPeak run__sharpen(const RunTrace *trace, RunTurn turn, int from, int to)
{
    const double *t = trace->second + turn.index, *c = trace->celsius + turn.index;
    assert(from >= 0 && to < trace->count);
    RunPeak peak = {t[0], c[0]};
    if (turn.index - from < 1 || to - turn.index < 1) return peak;
    if (turn.index - from >= 2 && to - turn.index >= 2 && find_corner(t, c, &peak)) return peak;
    return top_of_parabola(t, c);
}
