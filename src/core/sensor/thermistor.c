/* thermistor.c: resistors that fall with temperature (NTC), by beta and by Steinhart-Hart. Both ways. Not
 * here: self-heating, and how well a real bead follows its curve (some kelvin for beta far from 25 celsius).
 *
 *   T   temperature, kelvin     R   resistance, ohm     L   ln R     x   1 / T
 *   beta:            R = R25 exp(beta (1 / T - 1 / T25)), T25 = 298.15
 *   Steinhart-Hart:  x = a + b L + c L^3 (Deep-Sea Research 15, 1968, 497)
 *
 * Bad at: two constants for a whole curve. Beta fits at 25 celsius and at the other temperature of its data
 * sheet; in between and beyond it is a model, which is why an oven's file should prefer Steinhart-Hart
 * where three points are known. */
#include "core/sensor/sensor_private.h"

#include "base/mathematics.h"

#include <assert.h>
#include <math.h>

/* Kelvin: the temperature at which beads are sorted and R25 is stated. */
static const double T25 = 298.15;

/* L for a given x. b > 0 and c >= 0, so the cubic rises and has one root. Newton from the root of the line
 * without the cube, which lies beyond it: the steps come down to it from one side. */
static double logarithm_at(const SensorKind *kind, double x)
{
    assert(kind->b > 0 && kind->c >= 0);
    double logarithm = (x - kind->a) / kind->b;
    for (int i = 0; i < 100; i++) { /* the error is squared each time; 100 ends a NaN */
        const double square = logarithm * logarithm;
        const double excess = kind->a + (kind->b + kind->c * square) * logarithm - x;
        const double step = excess / (kind->b + 3 * kind->c * square);
        logarithm -= step;
        if (fabs(step) < 1e-14 * (1 + fabs(logarithm))) break;
    }
    return logarithm;
}

/* Forward: beta in closed form, Steinhart-Hart by its cubic. */
double sensor__thermistor_ohm(const SensorKind *kind, double celsius)
{
    const double x = 1 / (celsius + SENSOR_ZERO_KELVIN);
    if (kind->family == SENSOR_BETA) return kind->r25_ohm * math_exp(kind->beta_kelvin * (x - 1 / T25));
    assert(kind->family == SENSOR_STEINHART_HART);
    return math_exp(logarithm_at(kind, x));
}

/* Back: closed form for both. */
double sensor__thermistor_celsius(const SensorKind *kind, double ohm)
{
    assert(ohm > 0);
    if (kind->family == SENSOR_BETA) {
        const double x = 1 / T25 + math_log(ohm / kind->r25_ohm) / kind->beta_kelvin;
        return 1 / x - SENSOR_ZERO_KELVIN;
    }
    assert(kind->family == SENSOR_STEINHART_HART);
    const double logarithm = math_log(ohm);
    return 1 / (kind->a + (kind->b + kind->c * logarithm * logarithm) * logarithm) - SENSOR_ZERO_KELVIN;
}

/* Wide enough for any bead sold, narrow enough that swapped numbers and slips of a power of ten are noticed.
 */
bool sensor__thermistor_is_sound(const SensorKind *kind)
{
    if (kind->family == SENSOR_BETA)
        return kind->r25_ohm >= 1 && kind->r25_ohm <= 1e8 && kind->beta_kelvin >= 500 &&
               kind->beta_kelvin <= 10000;
    if (!(isfinite(kind->a) && kind->b > 1e-6 && kind->b < 1 && kind->c >= 0 && kind->c < 1)) return false;
    const double ohm = sensor__thermistor_ohm(kind, 25);
    return ohm >= 1 && ohm <= 1e8;
}

/* Divided differences: x is linear in L and L^3, so the slopes between pairs of points give c, then b, a. */
bool sensor_fit_steinhart_hart(const double celsius[3], const double ohm[3], SensorKind *kind, Error *error)
{
    double x[3], l[3];
    for (int i = 0; i < 3; i++) {
        if (!(ohm[i] > 0 && isfinite(ohm[i]) && celsius[i] > -SENSOR_ZERO_KELVIN && isfinite(celsius[i])))
            return error_set(error, ERROR_OUT_OF_RANGE, "a point",
                             "resistances and absolute temperatures above zero");
        x[i] = 1 / (celsius[i] + SENSOR_ZERO_KELVIN);
        l[i] = math_log(ohm[i]);
    }
    const double slope_01 = (x[1] - x[0]) / (l[1] - l[0]), slope_02 = (x[2] - x[0]) / (l[2] - l[0]);
    SensorKind fitted = {.family = SENSOR_STEINHART_HART};
    fitted.c = (slope_02 - slope_01) / ((l[2] - l[1]) * (l[0] + l[1] + l[2]));
    fitted.b = slope_01 - fitted.c * (l[0] * l[0] + l[0] * l[1] + l[1] * l[1]);
    fitted.a = x[0] - (fitted.b + fitted.c * l[0] * l[0]) * l[0];
    if (!sensor__thermistor_is_sound(&fitted))
        return error_set(error, ERROR_INCONSISTENT, "three points",
                         "a curve that falls as a thermistor's does");
    *kind = fitted;
    return true;
}
