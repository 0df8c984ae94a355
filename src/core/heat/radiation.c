/* radiation.c: heat that grey surfaces send each other; see heat.h.
 *
 *   E   what a black surface sends out, sigma T^4     J   radiosity: what leaves a surface, sent and
 * reflected F   view factor: share of what leaves one surface that reaches another
 *
 * Surfaces are grey and diffuse, air lets everything through. Glass is opaque to what an oven radiates,
 * though not to the light of a glowing element: its panes count as surfaces here. The star (Carroll's common
 * node) is what a simulated oven uses; the enclosure solved exactly is what it is held against: for six sides
 * of a cube the star is right to a percent. */
#include "core/heat/heat.h"

#include "base/mathematics.h"

#include <assert.h>
#include <math.h>

static double fourth_power(double celsius)
{
    const double kelvin = celsius + HEAT_ZERO_KELVIN, square = kelvin * kelvin;
    return square * square;
}

double heat_black_flux(double celsius) { return HEAT_STEFAN * fourth_power(celsius); }

double heat_radiation_parallel(double emissivity, double celsius, double other_emissivity,
                               double other_celsius)
{
    assert(emissivity > 0 && other_emissivity > 0);
    const double resistance = 1 / emissivity + 1 / other_emissivity - 1;
    return (heat_black_flux(celsius) - heat_black_flux(other_celsius)) / resistance;
}

double heat_radiation_small(double emissivity, double celsius, double surroundings_celsius)
{
    return emissivity * (heat_black_flux(celsius) - heat_black_flux(surroundings_celsius));
}

/* (T^4 - U^4) / (T - U) multiplied out, so that nothing is divided by a difference. */
double heat_radiation_coefficient(double celsius, double other_celsius)
{
    const double t = celsius + HEAT_ZERO_KELVIN, u = other_celsius + HEAT_ZERO_KELVIN;
    return HEAT_STEFAN * (t * t + u * u) * (t + u);
}

static double arc_tangent(double x) { return math_atan2(x, 1); }

/* With X and Y, the sides over the distance:
 * F = 2 / (pi X Y) { ln sqrt[(1 + X^2)(1 + Y^2) / (1 + X^2 + Y^2)] + X sqrt(1 + Y^2) atan(X / sqrt(1 + Y^2))
 *     + Y sqrt(1 + X^2) atan(Y / sqrt(1 + X^2)) - X atan X - Y atan Y } */
double heat_view_parallel(double width, double height, double distance)
{
    assert(width > 0 && height > 0 && distance > 0);
    const double x = width / distance, y = height / distance;
    const double root_x = sqrt(1 + x * x), root_y = sqrt(1 + y * y);
    const double logarithm = math_log(root_x * root_y / sqrt(1 + x * x + y * y));
    const double angles = x * root_y * arc_tangent(x / root_y) + y * root_x * arc_tangent(y / root_x) -
                          x * arc_tangent(x) - y * arc_tangent(y);
    return 2 / (MATH_PI * x * y) * (logarithm + angles);
}

/* What reaches surface i, W/m2 of it. */
static double irradiation(int i, int count, const double *view, const double *radiosity)
{
    double sum = 0;
    for (int j = 0; j < count; j++) sum += view[i * count + j] * radiosity[j];
    return sum;
}

/* J = e E + (1 - e) F J, again and again with the newest J: each round shrinks the error by at least the
 * largest reflected share, since the views of a surface add up to at most 1. */
void heat_radiation_enclosure(int count, const double *view, const double *emissivity, const double *celsius,
                              double *flux, double *radiosity)
{
    enum { MOST_ROUNDS = 2000 };
    assert(count > 0 && count <= HEAT_MOST_SURFACES);
    for (int i = 0; i < count; i++) radiosity[i] = heat_black_flux(celsius[i]);
    double change = 1;
    for (int round = 0; round < MOST_ROUNDS && change > 1e-14; round++) {
        change = 0;
        for (int i = 0; i < count; i++) {
            const double next = emissivity[i] * heat_black_flux(celsius[i]) +
                                (1 - emissivity[i]) * irradiation(i, count, view, radiosity);
            change = fmax(change, fabs(next - radiosity[i]) / next);
            radiosity[i] = next;
        }
    }
    for (int i = 0; i < count; i++) flux[i] = radiosity[i] - irradiation(i, count, view, radiosity);
}

/* F = 1 / (1 - A F / sum of A F): a surface does not see itself, so its tie to the node is stronger the
 * larger its share of all. Half steps, because whole ones swing where one surface is much larger than the
 * rest. */
void heat_star_factors(int count, const double *area, double *factor)
{
    enum { ROUNDS = 200 };
    static const double MOST_FACTOR = 4;
    assert(count > 0 && count <= HEAT_MOST_SURFACES);
    for (int i = 0; i < count; i++) factor[i] = 1;
    for (int round = 0; round < ROUNDS; round++) {
        double sum = 0, next[HEAT_MOST_SURFACES];
        for (int i = 0; i < count; i++) sum += area[i] * factor[i];
        for (int i = 0; i < count; i++) {
            const double others = 1 - area[i] * factor[i] / sum;
            next[i] = fmin(1 / fmax(others, 1 / MOST_FACTOR), MOST_FACTOR);
        }
        for (int i = 0; i < count; i++) factor[i] = (factor[i] + next[i]) / 2;
    }
    for (int i = 0; i < count; i++) assert(factor[i] >= 1 && factor[i] <= MOST_FACTOR);
}

double heat_star_area(double area, double emissivity, double factor)
{
    assert(emissivity > 0 && emissivity <= 1 && factor > 0);
    return area / (1 / factor + (1 - emissivity) / emissivity);
}

double heat_star_celsius(int count, const double *area, const double *celsius)
{
    double sum = 0, weight = 0;
    for (int i = 0; i < count; i++) {
        sum += area[i] * fourth_power(celsius[i]);
        weight += area[i];
    }
    assert(weight > 0);
    return sqrt(sqrt(sum / weight)) - HEAT_ZERO_KELVIN;
}
