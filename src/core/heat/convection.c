/* convection.c: heat between surfaces and air that moves by its own warmth or is blown; see heat.h.
 *
 *   Ra  Rayleigh number   Pr  Prandtl number   Re  Reynolds number   Nu  Nusselt number, h L / k
 *   h   coefficient, W/m2K    k  conductivity of air    nu  kinematic viscosity    L  length, m
 *
 * Properties are those of air at the film temperature, the mean of surface and air. All correlations are
 * means over a surface of one temperature in quiet, wide surroundings; a wall inside an oven cavity is
 * neither, so expect a quarter either way there. Bad at: the ends of ranges, where McAdams' plates jump by 6
 * percent (Ra = 1e7), and small differences of temperature, where any draught moves more air than warmth
 * does. */
#include "core/heat/heat.h"

#include "base/mathematics.h"

#include <assert.h>
#include <math.h>

double heat_rayleigh(double length, double celsius, double other_celsius)
{
    assert(length > 0);
    const double film = (celsius + other_celsius) / 2;
    const HeatAir air = heat_air(film);
    const double expansion = 1 / fmax(film + HEAT_ZERO_KELVIN, 1);
    const double grashof = HEAT_GRAVITY * expansion * fabs(celsius - other_celsius) * length * length *
                           length / (air.viscosity * air.viscosity);
    return grashof * air.prandtl;
}

/* [1 + (c / Pr)^(9/16)], which all of Churchill and Chu's forms divide by to some power. */
static double prandtl_term(double c, double prandtl)
{
    assert(prandtl > 0);
    return 1 + math_pow(c / prandtl, 9.0 / 16);
}

/* (offset + 0.387 Ra^(1/6) / [...]^(8/27))^2, for plates and cylinders alike. */
static double churchill_chu(double offset, double c, double rayleigh, double prandtl)
{
    assert(rayleigh >= 0);
    const double sum =
        offset + 0.387 * math_pow(rayleigh, 1.0 / 6) / math_pow(prandtl_term(c, prandtl), 8.0 / 27);
    return sum * sum;
}

double heat_nusselt_vertical(double rayleigh, double prandtl)
{
    return churchill_chu(0.825, 0.492, rayleigh, prandtl);
}

double heat_nusselt_cylinder(double rayleigh, double prandtl)
{
    return churchill_chu(0.60, 0.559, rayleigh, prandtl);
}

double heat_nusselt_vertical_laminar(double rayleigh, double prandtl)
{
    assert(rayleigh >= 0);
    return 0.68 + 0.670 * sqrt(sqrt(rayleigh)) / math_pow(prandtl_term(0.492, prandtl), 4.0 / 9);
}

double heat_nusselt_upward(double rayleigh)
{
    assert(rayleigh >= 0);
    return rayleigh < 1e7 ? 0.54 * sqrt(sqrt(rayleigh)) : 0.15 * math_pow(rayleigh, 1.0 / 3);
}

double heat_nusselt_downward(double rayleigh)
{
    assert(rayleigh >= 0);
    return 0.27 * sqrt(sqrt(rayleigh));
}

/* The larger of a curve in the Rayleigh number alone, by its three ranges, and the laminar one of tall gaps.
 */
double heat_nusselt_gap(double rayleigh, double aspect)
{
    assert(rayleigh >= 0 && aspect > 0);
    double narrow;
    if (rayleigh > 5e4)
        narrow = 0.0673838 * math_pow(rayleigh, 1.0 / 3);
    else if (rayleigh > 1e4)
        narrow = 0.028154 * math_pow(rayleigh, 0.4134);
    else
        narrow = 1 + 1.7596678e-10 * math_pow(rayleigh, 2.2984755);
    return fmax(narrow, 0.242 * math_pow(rayleigh / aspect, 0.272));
}

/* h = Nu k / L with the film's conductivity. */
static double coefficient(double nusselt, double length, double celsius, double other_celsius)
{
    return nusselt * heat_air((celsius + other_celsius) / 2).conductivity / length;
}

double heat_convection_vertical(double height, double surface_celsius, double air_celsius)
{
    const double rayleigh = heat_rayleigh(height, surface_celsius, air_celsius);
    const double prandtl = heat_air((surface_celsius + air_celsius) / 2).prandtl;
    const double nusselt = rayleigh < 1e9 ? heat_nusselt_vertical_laminar(rayleigh, prandtl)
                                          : heat_nusselt_vertical(rayleigh, prandtl);
    return coefficient(nusselt, height, surface_celsius, air_celsius);
}

/* Heat leaves upward from a hot side that faces up, and reaches a cold side that faces down in the same way.
 */
double heat_convection_horizontal(double length, double surface_celsius, double air_celsius, bool faces_up)
{
    const double rayleigh = heat_rayleigh(length, surface_celsius, air_celsius);
    const bool is_unstable = faces_up == (surface_celsius > air_celsius);
    const double nusselt = is_unstable ? heat_nusselt_upward(rayleigh) : heat_nusselt_downward(rayleigh);
    return coefficient(nusselt, length, surface_celsius, air_celsius);
}

double heat_convection_cylinder(double diameter, double surface_celsius, double air_celsius)
{
    const double rayleigh = heat_rayleigh(diameter, surface_celsius, air_celsius);
    const double prandtl = heat_air((surface_celsius + air_celsius) / 2).prandtl;
    return coefficient(heat_nusselt_cylinder(rayleigh, prandtl), diameter, surface_celsius, air_celsius);
}

double heat_convection_gap(double width, double height, double celsius, double other_celsius)
{
    const double rayleigh = heat_rayleigh(width, celsius, other_celsius);
    return coefficient(heat_nusselt_gap(rayleigh, height / width), width, celsius, other_celsius);
}

/* Laminar up to Re = 5e5, then a turbulent rear behind a laminar front. */
double heat_convection_forced(double length, double speed, double surface_celsius, double air_celsius)
{
    assert(length > 0 && speed >= 0);
    const HeatAir air = heat_air((surface_celsius + air_celsius) / 2);
    const double reynolds = speed * length / air.viscosity;
    const double share = reynolds <= 5e5 ? 0.664 * sqrt(reynolds) : 0.037 * math_pow(reynolds, 0.8) - 871;
    return coefficient(share * math_pow(air.prandtl, 1.0 / 3), length, surface_celsius, air_celsius);
}

double heat_convection_mixed(double natural, double forced)
{
    assert(natural >= 0 && forced >= 0);
    return math_pow(natural * natural * natural + forced * forced * forced, 1.0 / 3);
}
