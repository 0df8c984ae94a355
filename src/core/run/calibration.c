/* calibration.c: what to do about the error of one run or several.
 *
 * An offset moves the whole scale of a control by a constant. So it is right for an error that is the same at
 * every set temperature, and wrong for everything else: a fault comes first, whatever the mean says, because
 * an offset on top of it only hides it until it gets worse. The order of the judgements below is that rule.
 *
 * Several runs: error = shift + slope (set - middle), least squares weighted by what differs from run to run;
 * the thermometer's own error is the same in all of them, so it widens the shift, and the slope by as much as
 * an error in proportion to the temperature would make. */
#include "core/run/run.h"

#include <assert.h>
#include <math.h>

/* Common practice, no source: a swing this much wider than the differential is no regulation any more (the
 * middle of a sound oven swings three or four times as far as its sensor); a duty
 * or a preheat (of half an hour to 177 celsius) beyond these means too little power for the heat that is
 * lost. */
static const double swing_ratio = 5, swing_kelvin = 30, duty_limit = 0.9;
static const double slow_second = 1800, slow_celsius = 177, kitchen_celsius = 22;

/* Set temperatures this close together say nothing of a slope. */
static const double least_apart_kelvin = 10;

static double square(double x) { return x * x; }

static bool any_has(const Run *runs, int count, RunFindingCode code)
{
    for (int i = 0; i < count; i++)
        if (run_has_finding(&runs[i], code)) return true;
    return false;
}

/* A comparison with NAN is false: what is not known accuses nobody. */
static bool is_slow(const Run *run)
{
    const double scale = (run->set_celsius - kitchen_celsius) / (slow_celsius - kitchen_celsius);
    return run->duty.value > duty_limit || run->heat_up_second > slow_second * fmax(scale, 0.3);
}

/* The larger of two limits, so that a narrow differential does not make every oven a fault. */
static bool swings_too_far(const Run *run, const RunControl *control)
{
    const double differential = control->differential_kelvin;
    return run->swing_kelvin.value > fmax(swing_ratio * differential, differential + swing_kelvin);
}

/* Returns true, so that a judgement reads as the return of its routine. */
static bool decide(RunAdvice *advice, RunAction action, RunReason reason)
{
    advice->action = action;
    advice->reason = reason;
    return true;
}

/* What has to be looked into before anybody adjusts anything. */
static bool is_fault(const Run *runs, int count, const RunControl *control, RunAdvice *advice)
{
    if (any_has(runs, count, RUN_RUNS_AWAY)) return decide(advice, RUN_FIND_FAULT, RUN_IS_RUNAWAY);
    for (int i = 0; i < count; i++) {
        if (!run_has_finding(&runs[i], RUN_NEVER_CYCLES)) continue;
        const bool is_short = run_has_finding(&runs[i], RUN_NEVER_REACHES);
        return decide(advice, RUN_FIND_FAULT, is_short ? RUN_IS_NOT_REACHED : RUN_IS_NOT_CYCLING);
    }
    for (int i = 0; i < count; i++) {
        if (is_slow(&runs[i])) return decide(advice, RUN_FIND_FAULT, RUN_IS_SLOW);
        if (swings_too_far(&runs[i], control)) return decide(advice, RUN_FIND_FAULT, RUN_IS_SWING);
    }
    return false;
}

/* A mean that is still moving, or none at all, cannot be adjusted by. */
static bool is_unfit(const Run *runs, int count, RunAdvice *advice)
{
    for (int i = 0; i < count; i++) {
        const Run *run = &runs[i];
        if (isfinite(run->mean_celsius.value) && run->is_settled) continue;
        const bool is_poor = run_has_finding(run, RUN_NO_VALUES) || run_has_finding(run, RUN_SPARSE);
        return decide(advice, is_poor ? RUN_REPEAT_RUN : RUN_LONGER_LOG, RUN_IS_UNFIT);
    }
    return false;
}

/* What differs from run to run, and what is the thermometer's. */
static double own_variance(const RunBudget *budget)
{
    return fmax(square(0.05), square(budget->scatter) + square(budget->sampling) +
                                  square(budget->resolution) + square(budget->drift));
}

static double common(const RunBudget *budget) { return sqrt(square(budget->probe) + square(budget->meter)); }

/* Weighted least squares, straight from the normal equations around the weighted middle, where shift and
 * slope do not depend on each other. */
static void fit(const Run *runs, int count, RunAdvice *advice)
{
    double weights = 0, middle = 0, shift = 0, thermometer = 0, xx = 0, xy = 0;
    double low = INFINITY, high = -INFINITY;
    for (int i = 0; i < count; i++) {
        const double weight = 1 / own_variance(&runs[i].budget);
        weights += weight;
        middle += weight * runs[i].set_celsius;
        shift += weight * runs[i].error_kelvin.value;
        thermometer = fmax(thermometer, common(&runs[i].budget));
        low = fmin(low, runs[i].set_celsius), high = fmax(high, runs[i].set_celsius);
    }
    middle /= weights, shift /= weights;
    advice->shift_kelvin = (RunFigure){shift, sqrt(1 / weights + square(thermometer))};
    if (high - low < least_apart_kelvin) return;
    for (int i = 0; i < count; i++) {
        const double weight = 1 / own_variance(&runs[i].budget), x = runs[i].set_celsius - middle;
        xx += weight * x * x;
        xy += weight * x * runs[i].error_kelvin.value;
    }
    advice->slope = (RunFigure){xy / xx, sqrt(1 / xx + square(thermometer / fmax(middle, 50)))};
}

/* The largest error that one run has once `change` is added to all of them. */
static double worst(const Run *runs, int count, double change)
{
    double most = 0;
    for (int i = 0; i < count; i++) most = fmax(most, fabs(runs[i].error_kelvin.value + change));
    return most;
}

/* A slope that is certain but small enough to stay within the tolerance everywhere is no reason to open an
 * oven. */
static bool is_slope(const Run *runs, int count, double tolerance_kelvin, RunAdvice *advice)
{
    const RunFigure slope = advice->slope;
    if (!isfinite(slope.value) || fabs(slope.value) < 2 * slope.uncertainty) return false;
    if (worst(runs, count, -advice->shift_kelvin.value) <= tolerance_kelvin) return false;
    return decide(advice, RUN_FIND_FAULT, RUN_IS_SLOPE);
}

/* Rounded to the control's step and kept inside its range. */
static double offset_for(const RunControl *control, double wanted)
{
    const double step = control->offset_step_kelvin;
    const double rounded = step > 0 ? floor(wanted / step + 0.5) * step : wanted;
    return fmin(fmax(rounded, control->offset_from_kelvin), control->offset_to_kelvin);
}

/* Rounding to the step may leave up to half of it; only what is more than a whole step and the tolerance is
 * out of range. */
static bool adjust(const RunControl *control, double tolerance_kelvin, RunAdvice *advice)
{
    const double wanted = control->offset_now_kelvin - advice->shift_kelvin.value;
    const double offset = offset_for(control, wanted);
    const double change = offset - control->offset_now_kelvin;
    advice->remaining_kelvin =
        (RunFigure){advice->shift_kelvin.value + change, advice->shift_kelvin.uncertainty};
    if (fabs(advice->remaining_kelvin.value) > fmax(tolerance_kelvin, control->offset_step_kelvin))
        return decide(advice, RUN_FIND_FAULT, RUN_IS_BEYOND_RANGE);
    if (fabs(change) < 1e-9) return decide(advice, RUN_NOTHING, RUN_IS_BELOW_STEP);
    advice->offset_kelvin = offset;
    return decide(advice, control->is_screw ? RUN_TURN_SCREW : RUN_SET_OFFSET, RUN_IS_SHIFT);
}

/* Reads as the order of doc/method/run.md. */
void run_advise(const Run *runs, int count, const RunControl *control, double tolerance_kelvin,
                RunAdvice *advice)
{
    assert(count >= 1 && count <= RUN_MOST_RUNS && tolerance_kelvin >= 0);
    assert(control->offset_from_kelvin <= control->offset_to_kelvin && control->offset_step_kelvin >= 0);
    const RunFigure unknown = {NAN, NAN};
    *advice = (RunAdvice){
        .shift_kelvin = unknown, .slope = unknown, .offset_kelvin = NAN, .remaining_kelvin = unknown};
    if (is_fault(runs, count, control, advice) || is_unfit(runs, count, advice)) return;
    fit(runs, count, advice);
    if (is_slope(runs, count, tolerance_kelvin, advice)) return;
    advice->remaining_kelvin = advice->shift_kelvin;
    if (worst(runs, count, 0) <= tolerance_kelvin) {
        decide(advice, RUN_NOTHING, RUN_IS_WITHIN);
    } else if (fabs(advice->shift_kelvin.value) < 2 * advice->shift_kelvin.uncertainty) {
        decide(advice, RUN_REPEAT_RUN, RUN_IS_UNSURE);
    } else {
        adjust(control, tolerance_kelvin, advice);
    }
}
