/* figures.c: how calls went, and whether what was said came true. */
#include "core/history/history.h"

#include <math.h>

static const double NORMAL_95 = 1.959963984540054; /* two-sided quantile of the normal distribution */

static void find_interval(HistoryFigures *figures)
{
    const double n = figures->closed, share = n > 0 ? figures->first_visit / n : NAN, z = NORMAL_95;
    const double middle = (share + z * z / (2 * n)) / (1 + z * z / n);
    const double half = z / (1 + z * z / n) * sqrt(share * (1 - share) / n + z * z / (4 * n * n));
    figures->first_visit_share = share;
    figures->low = n > 0 ? fmax(middle - half, 0) : NAN;
    figures->high = n > 0 ? fmin(middle + half, 1) : NAN;
}

static void add_said(HistoryFigures *figures, const HistoryCall *call)
{
    if (!call->has_said || !(call->said >= 0 && call->said <= 1)) return;
    HistoryBin *bin = &figures->bins[(int)fmin(call->said * HISTORY_BINS, HISTORY_BINS - 1)];
    bin->count++;
    bin->came += call->came;
    bin->said += call->said;
}

HistoryFigures history_figures(const HistoryCall *calls, int call_count, int family)
{
    HistoryFigures figures = {.calls = 0};
    double minutes = 0;
    for (int c = 0; c < call_count; c++) {
        const HistoryCall *call = &calls[c];
        if (family >= 0 && call->family != family) continue;
        figures.calls++;
        if (call->closings == 0) continue;
        figures.closed++;
        figures.callbacks += call->closings > 1;
        figures.first_visit += call->closings == 1 && call->visits == 1;
        minutes += call->minute;
        add_said(&figures, call);
    }
    for (int b = 0; b < HISTORY_BINS; b++)
        if (figures.bins[b].count > 0) figures.bins[b].said /= figures.bins[b].count;
    figures.minute = figures.closed > 0 ? minutes / figures.closed : NAN;
    find_interval(&figures);
    return figures;
}
