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

/* No direction yet: the first movement decides whether the first turn is low or high. */
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

/* The count goes on beyond `most`, so that a caller can ask first and take memory after. */
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

/* In place: a turn is never written ahead of where it is read, since at least one is read for each written.
 */
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

/* Is the value three away on the line through the two between, to a part of `miss`? `way` is 1 or -1. */
static bool is_straight(const double *t, const double *c, int way, double miss)
{
    const double slope = (c[2 * way] - c[way]) / (t[2 * way] - t[way]);
    return fabs(c[way] + slope * (t[3 * way] - t[way]) - c[3 * way]) < 0.3 * miss;
}

/* Two straight lines, each through two values, and where they meet. For a parabola both miss the value
 * between them by the same amount wherever its top is, and a third value by as much again; at a corner one of
 * them goes through it, and the curve beside it is straight. `before` and `behind` say how many values there
 * are to either side; four are needed to tell. */
static bool find_corner(const double *t, const double *c, int before, int behind, RunPeak *peak)
{
    const double rise = (c[-1] - c[-2]) / (t[-1] - t[-2]), fall = (c[2] - c[1]) / (t[2] - t[1]);
    const double miss_rise = fabs(c[-1] + rise * (t[0] - t[-1]) - c[0]);
    const double miss_fall = fabs(c[1] + fall * (t[0] - t[1]) - c[0]);
    const double miss = fmax(miss_rise, miss_fall);
    if (fmin(miss_rise, miss_fall) > 0.3 * miss || rise == fall || before < 4 || behind < 4) return false;
    if (!is_straight(t, c, -1, miss) || !is_straight(t, c, 1, miss)) return false;
    const double second = t[-1] + (c[1] - c[-1] + fall * (t[-1] - t[1])) / (rise - fall);
    if (!(second >= t[-1] && second <= t[1])) return false;
    *peak = (RunPeak){second, c[-1] + rise * (second - t[-1])};
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

/* Too near to the next turn there is nothing to draw a line through, and the value itself stands. */
RunPeak run__sharpen(const RunTrace *trace, RunTurn turn, int from, int to)
{
    const double *t = trace->second + turn.index, *c = trace->celsius + turn.index;
    assert(from >= 0 && to < trace->count);
    RunPeak peak = {t[0], c[0]};
    const int before = turn.index - from, behind = to - turn.index;
    if (before < 2 || behind < 2) return peak;
    if (!find_corner(t, c, before, behind, &peak)) peak = top_of_parabola(t, c);
    /* Rounded values can pretend a corner far out: no turn is moved by more than a twelfth of its height. */
    const double height = fmin(fabs(c[0] - trace->celsius[from]), fabs(c[0] - trace->celsius[to]));
    return fabs(peak.celsius - c[0]) <= height / 12 ? peak : (RunPeak){t[0], c[0]};
}
