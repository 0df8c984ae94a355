/* verdict.c: inside, outside, or cannot tell; JCGM 106:2012. See meter.h.
 *
 * Why three answers and not two: near a limit, 'good' would be wrong half the time, and a technician who
 * replaces a good element on a bad figure pays for it. What the coverage lacks of 1 is the
 * risk of being wrong that one accepts. */
#include "core/meter/meter.h"

#include "base/mathematics.h"

#include <assert.h>
#include <math.h>

/* Both ends are taken to the side of the estimate where the normal distribution is small, so that a
 * probability of 1e-20 does not drown in the rounding of 1 - 1. */
double meter_inside_probability(double estimate, double uncertainty, double low, double high)
{
    assert(uncertainty >= 0 && low <= high);
    if (isinf(uncertainty)) return isinf(low) && isinf(high) ? 1 : 0.5;
    if (uncertainty == 0 || isinf(estimate)) return estimate >= low && estimate <= high;
    const double from = (low - estimate) / uncertainty, to = (high - estimate) / uncertainty;
    const double inside = from > 0 ? math_normal_cdf(-from) - math_normal_cdf(-to)
                                   : math_normal_cdf(to) - math_normal_cdf(from);
    assert(inside > -1e-15 && inside <= 1);
    return fmax(0, inside); /* two nearly equal probabilities may differ by a rounding the wrong way */
}

/* What is not proved either way with the coverage asked for is left open: that is the third answer. */
MeterJudgement meter_judge(double estimate, double uncertainty, double low, double high, double coverage)
{
    assert(coverage >= 0.5 && coverage < 1);
    MeterJudgement judgement = {METER_CANNOT_TELL,
                                meter_inside_probability(estimate, uncertainty, low, high)};
    if (judgement.inside_probability >= coverage)
        judgement.verdict = METER_INSIDE;
    else if (judgement.inside_probability <= 1 - coverage)
        judgement.verdict = METER_OUTSIDE;
    return judgement;
}

/* One limit counts, the other is far: the quantile of the normal distribution. */
double meter_guard_band(double uncertainty, double coverage)
{
    assert(uncertainty >= 0 && coverage >= 0.5 && coverage < 1);
    return uncertainty * math_normal_quantile(coverage);
}
