/* frame.c: what part of time and temperature a picture shows, and where its marks are.
 *
 * Over-range values and holes are not drawn. The set temperature is always in the picture, the more so when
 * the oven never gets there. */
#include "format/plot/plot_private.h"

#include <assert.h>
#include <math.h>

static const char *const keys[] = {
#define X(code, key) key,
    PLOT_CAPTION_LIST(X)
#undef X
};

const char *plot_caption_key(PlotCaption caption)
{
    assert((int)caption >= 0 && caption < PLOT_CAPTION_COUNT);
    return keys[caption];
}

/* A twentieth of room above and below keeps the curve off the edges. */
bool plot__frame(const Plot *plot, PlotFrame *frame)
{
    const Run *run = plot->run;
    int row = 0;
    double low, high;
    *frame = (PlotFrame){run->from_second, run->to_second, run->set_celsius, run->set_celsius};
    if (!(run->to_second > run->from_second)) return false;
    if (!plot__extremes(plot, &row, INFINITY, &low, &high)) return false;
    frame->low_celsius = fmin(frame->low_celsius, low);
    frame->high_celsius = fmax(frame->high_celsius, high);
    const double room = 0.05 * (frame->high_celsius - frame->low_celsius) + 2;
    frame->low_celsius -= room;
    frame->high_celsius += room;
    return true;
}

/* Multiples of 25 F are what oven knobs are marked in, so 2.5 is among the steps. */
double plot__step(double range, int most)
{
    static const double steps[] = {1, 2, 2.5, 5, 10};
    double size = 1e-3;
    assert(range > 0 && most > 0);
    while (size * 10 * most < range) size *= 10;
    for (int i = 0; i < 5; i++)
        if (steps[i] * size * most >= range) return steps[i] * size;
    return 10 * size;
}

/* An axis of time is read in quarters of an hour, not in tenths. */
double plot__minute_step(double minutes, int most)
{
    static const double steps[] = {1, 2, 5, 10, 15, 20, 30, 60, 120, 240, 480, 1440};
    for (int i = 0; i < 12; i++)
        if (steps[i] * most >= minutes) return steps[i];
    return 1440 * ceil(minutes / most / 1440);
}

/* No oven is outside -100 to 1200 celsius; what is so far out would press everything else flat. */
static bool is_shown(double celsius) { return celsius > -100 && celsius < 1200; }

/* A million rows are passed over once: the next call goes on where this one stopped. */
bool plot__extremes(const Plot *plot, int *row, double before_second, double *low, double *high)
{
    const double *celsius = plot->log->channels[plot->channel].celsius;
    *low = INFINITY, *high = -INFINITY;
    for (; *row < plot->log->count && plot->log->second[*row] < before_second; ++*row) {
        if (!is_shown(celsius[*row])) continue;
        *low = fmin(*low, celsius[*row]);
        *high = fmax(*high, celsius[*row]);
    }
    return *high >= *low;
}

/* Cycles of one stretch share their ends exactly, so equality is enough. */
int plot__last_in_row(const Run *run, int first)
{
    assert(first >= 0 && first < run->cycles);
    int last = first;
    while (last + 1 < run->cycles &&
           run->cycle_spans[last + 1].from_second <= run->cycle_spans[last].to_second)
        last++;
    return last;
}
