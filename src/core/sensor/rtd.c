/* rtd.c: platinum resistance thermometers; IEC 60751:2008 (the Callendar and Van Dusen equation, and the
 * tolerance classes). Both ways. Not here: its leads, its self-heating.
 *
 *   t   temperature, celsius          R   resistance, ohm          R0   resistance at 0 celsius
 *   t >= 0:  R = R0 (1 + A t + B t^2)
 *   t <  0:  R = R0 (1 + A t + B t^2 + C (t - 100) t^3) */
#include "core/sensor/sensor_private.h"

#include <assert.h>
#include <math.h>

static const double A = 3.9083e-3, B = -5.775e-7, C = -4.183e-12;
static const double TABLE_ROUNDING = 0.00005; /* of R / R0: tables print Pt100 to 0.01 ohm */

/* R / R0 at t. */
static double ratio_at(double t) { return 1 + A * t + B * t * t + (t < 0 ? C * (t - 100) * t * t * t : 0); }

double sensor__rtd_ohm(double zero_ohm, double celsius)
{
    assert(celsius >= SENSOR_RTD_LOWEST && celsius <= SENSOR_RTD_HIGHEST);
    return zero_ohm * ratio_at(celsius);
}

/* Above 0 the root of the quadratic, written so that nothing cancels. Below, Newton's steps on the quartic
 * from that root, which is at most 2.5 kelvin off; the curve is so nearly straight that four reach the last
 * bit. */
static double celsius_at(double ratio)
{
    double t = 2 * (ratio - 1) / (A + sqrt(A * A + 4 * B * (ratio - 1)));
    for (int i = 0; i < 4 && t < 0; i++) {
        const double slope = A + 2 * B * t + C * (4 * t - 300) * t * t;
        t -= (ratio_at(t) - ratio) / slope;
    }
    return t;
}

/* The curve rises all the way, so the ends of R are those of t. */
bool sensor__rtd_celsius(double zero_ohm, double ohm, double *celsius, Error *error)
{
    const double ratio = ohm / zero_ohm;
    const double low = ratio_at(SENSOR_RTD_LOWEST), high = ratio_at(SENSOR_RTD_HIGHEST);
    if (!(ratio >= low - TABLE_ROUNDING && ratio <= high + TABLE_ROUNDING))
        return sensor__out_of_range(ohm, low * zero_ohm, high * zero_ohm, "ohm", error);
    *celsius = fmin(fmax(celsius_at(ratio), SENSOR_RTD_LOWEST), SENSOR_RTD_HIGHEST);
    assert(fabs(ratio_at(*celsius) - ratio) < 2 * TABLE_ROUNDING);
    return true;
}

/* IEC 60751:2008, table of tolerance classes: fixed part and share of |t|. */
double sensor__rtd_tolerance(SensorClass tolerance_class, double celsius)
{
    static const double fixed_kelvin[] = {0.10, 0.15, 0.30, 0.60};
    static const double share[] = {0.0017, 0.002, 0.005, 0.01};
    assert(tolerance_class >= SENSOR_CLASS_AA && tolerance_class <= SENSOR_CLASS_C);
    return fixed_kelvin[tolerance_class] + share[tolerance_class] * fabs(celsius);
}
