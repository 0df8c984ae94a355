/* meter.h: how sure is a figure, and is it inside its limits?
 *
 * Lives here: a meter's accuracy as its data sheet prints it, +-(% of reading + counts), its ranges and
 * resolution, the test leads; the standard uncertainty of a reading by the GUM (JCGM 100:2008); verdicts by
 * JCGM 106:2012. Not here: what the reading should be (circuit), what it means (diagnosis).
 * Units: SI (ohm, volt, ampere, celsius); an accuracy's percentage is a ratio. Ownership: plain values. */
#ifndef CORE_METER_H
#define CORE_METER_H

#include "base/error.h"
#include "base/text.h"

typedef enum { METER_OHM, METER_VOLT, METER_AMPERE, METER_CELSIUS, METER_MODE_COUNT } MeterMode;

/* +-(ratio of reading + counts): `0.8%+3` is {0.008, 3}. */
typedef struct {
    double ratio, counts;
} MeterAccuracy;

/* One position of the dial. The ranges follow each other in powers of ten. */
typedef struct {
    MeterAccuracy accuracy;
    double smallest_range; /* what the lowest range shows at the most, 600 ohm for example */
    int ranges;
    double counts; /* of every range: 6000 steps from 0 to its end */
} MeterDial;

typedef struct {
    MeterDial dial[METER_MODE_COUNT];
    double lead_ohm;            /* resistance of the two leads, as read with the tips shorted */
    double lead_half_width_ohm; /* by how much the contact of the tips makes it vary */
} Meter;

/* A handheld meter of 6000 counts as technicians carry it: 0.8%+3 ohm, 1.0%+3 volt (alternating), 2.5%+5
 * ampere (clamp), 1.0%+10 celsius, leads 0.3 +-0.1 ohm. Common practice, no source. */
Meter meter_default(void);

/* Reads `0.8%+3`, `1%` or `0.8 % + 3`, with or without +- and brackets around. */
bool meter_read_accuracy(Text text, MeterAccuracy *accuracy, Error *error) MUST_CHECK;

/* The step of the range that an autoranging meter shows `value` on; infinite when it shows OL. */
double meter_resolution(const Meter *meter, MeterMode mode, double value);

bool meter_is_over(const Meter *meter, MeterMode mode, double value); /* would show OL */

/* What the display shows of `value`, rounded to its step; infinite for OL. For ohms the leads are added. */
double meter_display(const Meter *meter, MeterMode mode, double value);

/* What a reading says of the thing measured: for ohms, the reading less the leads, never below 0. */
double meter_value(const Meter *meter, MeterMode mode, double reading);

/* Half-width of the limits of error of a reading: ratio * |reading| + counts * step. */
double meter_half_width(const Meter *meter, MeterMode mode, double reading);

/* Standard uncertainty of meter_value: limits of error and, for ohms, the leads, each taken as rectangular
 * (half-width / sqrt 3, GUM 4.3.7) and combined (GUM 5.1.2). Infinite for OL. */
double meter_uncertainty(const Meter *meter, MeterMode mode, double reading);

/* Combined standard uncertainty of `count` independent contributions (GUM 5.1.2). */
double meter_combine(const double *contributions, int count);

/* Combined standard uncertainty for correlated inputs (GUM 5.2.2, formula 16): sensitivities c and standard
 * uncertainties u of `count` inputs, their correlations r row by row, count * count. */
double meter_combine_correlated(const double *c, const double *u, const double *r, int count);

/* Effective degrees of freedom (Welch and Satterthwaite, GUM G.4.1); infinite ones are allowed. */
double meter_effective_freedom(const double *contributions, const double *freedom, int count);

typedef enum { METER_INSIDE, METER_OUTSIDE, METER_CANNOT_TELL } MeterVerdict;

typedef struct {
    MeterVerdict verdict;
    double inside_probability;
} MeterJudgement;

/* Probability that the true value lies between `low` and `high` (either may be infinite), given an estimate
 * and its standard uncertainty, normally distributed (JCGM 106:2012, 7.2 to 7.4). */
double meter_inside_probability(double estimate, double uncertainty, double low, double high);

/* The verdict by guarded acceptance and guarded rejection (JCGM 106:2012, 8.3): inside when the true value is
 * so with at least probability `coverage` (0.5 to 1, 0.95 is usual), outside when it is so for being outside.
 */
MeterJudgement meter_judge(double estimate, double uncertainty, double low, double high, double coverage);

/* Width of the guard band that gives `coverage` at one limit: acceptance limit = limit -+ this. */
double meter_guard_band(double uncertainty, double coverage);

#endif
