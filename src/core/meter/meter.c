/* meter.c: what a meter shows, and how sure that is; see meter.h. Accuracy as text lives in accuracy.c, the
 * GUM's combination in uncertainty.c, verdicts in verdict.c.
 *
 * Bad at: what a data sheet says besides. Temperature coefficients, crest factor and frequency response are
 * left out: at mains frequency, on heaters, in a kitchen, they are small beside the figures here. Ranges
 * must follow each other in powers of ten with the same counts, as most handheld meters have them. */
#include "core/meter/meter.h"

#include <assert.h>
#include <math.h>

/* 600 ohm to 60 Mohm, 6 V to 600 V, a clamp of 60 and 600 A, a thermometer of 600 and 6000 celsius. */
Meter meter_default(void)
{
    return (Meter){
        .dial = {[METER_OHM] = {{0.008, 3}, .smallest_range = 600, .ranges = 6, .counts = 6000},
                 [METER_VOLT] = {{0.010, 3}, .smallest_range = 6, .ranges = 3, .counts = 6000},
                 [METER_AMPERE] = {{0.025, 5}, .smallest_range = 60, .ranges = 2, .counts = 6000},
                 [METER_CELSIUS] = {{0.010, 10}, .smallest_range = 600, .ranges = 2, .counts = 6000}},
        .lead_ohm = 0.3,
        .lead_half_width_ohm = 0.1,
    };
}

/* A range is left when its display is full, and the next one, ten times as wide, is taken. Half a step
 * below its end it already rounds up to it. */
double meter_resolution(const Meter *meter, MeterMode mode, double value)
{
    assert(mode >= 0 && mode < METER_MODE_COUNT);
    const MeterDial *dial = &meter->dial[mode];
    assert(dial->counts > 0 && dial->smallest_range > 0);
    double range = dial->smallest_range;
    for (int i = 0; i < dial->ranges; i++, range *= 10) {
        const double step = range / dial->counts;
        if (fabs(value) < range - 0.5 * step) return step;
    }
    return INFINITY;
}

bool meter_is_over(const Meter *meter, MeterMode mode, double value)
{
    return isinf(meter_resolution(meter, mode, value));
}

/* The leads are in series with what is measured, and the meter cannot tell them from it. */
double meter_display(const Meter *meter, MeterMode mode, double value)
{
    const double with_leads = mode == METER_OHM ? value + meter->lead_ohm : value;
    const double step = meter_resolution(meter, mode, with_leads);
    if (isinf(step)) return with_leads < 0 ? -INFINITY : INFINITY;
    return floor(with_leads / step + 0.5) * step;
}

/* Leads that were better than assumed must not make a resistance negative. */
double meter_value(const Meter *meter, MeterMode mode, double reading)
{
    return mode == METER_OHM ? fmax(0, reading - meter->lead_ohm) : reading;
}

/* An OL has no limits of error: it says 'more than', and how sure that is does not come from here. */
double meter_half_width(const Meter *meter, MeterMode mode, double reading)
{
    const double step = meter_resolution(meter, mode, reading);
    const MeterAccuracy accuracy = meter->dial[mode].accuracy;
    assert(accuracy.ratio >= 0 && accuracy.counts >= 0);
    return isinf(step) ? INFINITY : accuracy.ratio * fabs(reading) + accuracy.counts * step;
}

/* The counts of the accuracy include the rounding of the display, so that is not added once more. */
double meter_uncertainty(const Meter *meter, MeterMode mode, double reading)
{
    const double half_width = meter_half_width(meter, mode, reading);
    const double lead = mode == METER_OHM ? meter->lead_half_width_ohm : 0;
    const double contributions[] = {half_width / sqrt(3), lead / sqrt(3)};
    return isinf(half_width) ? INFINITY : meter_combine(contributions, 2);
}
