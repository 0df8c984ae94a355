/* heat.h: how much heat flows between two temperatures, as textbooks have it.
 *
 * Lives here: air at one atmosphere, natural and forced convection, the air gap between two panes, radiation
 * between grey surfaces, air driven through two openings by its own warmth, bodies of one temperature.
 * Not here: what ovens are made of (material), an oven's network of these flows (oven). This room is low: it
 * knows no ovens. Pure functions; the same input gives the same bits everywhere.
 * Units: SI and celsius; a coefficient is W/m2K, a flux W/m2 and positive away from what is named first.
 * Outside a correlation's range the nearest end of it goes on, and nothing fails: a simulated oven passes
 * through every state. Errors of a textbook's correlation are 10 to 20 percent.
 * 'Incropera' is Incropera, DeWitt, Bergman, Lavine, Fundamentals of Heat and Mass Transfer, 6th edition;
 * its equation numbers are from memory, the equations were read in public sources that quote them. */
#ifndef CORE_HEAT_H
#define CORE_HEAT_H

#include <stdbool.h>

#define HEAT_ZERO_KELVIN 273.15         /* kelvin at 0 celsius */
#define HEAT_GRAVITY     9.81           /* m/s2 */
#define HEAT_STEFAN      5.670374419e-8 /* W/m2K4; CODATA 2018, from memory */
#define HEAT_DISCHARGE   0.6            /* of a sharp-edged opening; common practice */

typedef struct {
    double density;       /* kg/m3 */
    double specific_heat; /* J/kgK */
    double conductivity;  /* W/mK */
    double viscosity;     /* kinematic, m2/s */
    double prandtl;
} HeatAir;

/* Dry air at one atmosphere, by straight lines between the rows of Cengel and Ghajar, Heat and Mass Transfer,
 * Table A-15, from -10 to 600 celsius; the end row beyond. */
HeatAir heat_air(double celsius);

/* Rayleigh number of a difference of temperatures over a length (m, above 0), with air at their mean, whose
 * expansion is 1/T; Incropera 9.25. The sign of the difference does not matter. */
double heat_rayleigh(double length, double celsius, double other_celsius);

/* Nusselt numbers, means over the surface.
 * Vertical plate: Churchill and Chu, Int. J. Heat Mass Transfer 18 (1975) 1323; the form for all Rayleigh
 * numbers (Incropera 9.26) and the closer one below 1e9 (9.27). Horizontal cylinder: the same authors, 1049
 * (9.34). Plates, length = area / perimeter: McAdams (9.30 to 9.32), heat leaving upward (a hot side up or a
 * cold side down), or downward. Air between vertical panes: Wright 1996 and ElSherbiny, Raithby and Hollands
 * 1982 as in ISO 15099:2003, equations 48 to 52; `aspect` is height over width; never below 1, conduction. */
double heat_nusselt_vertical(double rayleigh, double prandtl);
double heat_nusselt_vertical_laminar(double rayleigh, double prandtl);
double heat_nusselt_cylinder(double rayleigh, double prandtl);
double heat_nusselt_upward(double rayleigh);
double heat_nusselt_downward(double rayleigh);
double heat_nusselt_gap(double rayleigh, double aspect);

/* Coefficients of natural convection between a surface and still air. Lengths in metres, above 0: height of
 * a plate, area over perimeter of a horizontal one, diameter of a cylinder. */
double heat_convection_vertical(double height, double surface_celsius, double air_celsius);
double heat_convection_horizontal(double length, double surface_celsius, double air_celsius, bool faces_up);
double heat_convection_cylinder(double diameter, double surface_celsius, double air_celsius);

/* From pane to pane across an air gap of this width and height, without radiation. */
double heat_convection_gap(double width, double height, double celsius, double other_celsius);

/* Air blown along a plate of this length (m) at a speed (m/s): Incropera 7.30 laminar, 7.38 beyond a Reynolds
 * number of 5e5. Both natural and forced: the cubes add (9.64). */
double heat_convection_forced(double length, double speed, double surface_celsius, double air_celsius);
double heat_convection_mixed(double natural, double forced);

/* What a black surface sends out. */
double heat_black_flux(double celsius);

/* Between large parallel grey plates (Incropera 13.19, Table 13.3), and between a small body and surroundings
 * that enclose it (1.7); emissivities above 0. */
double heat_radiation_parallel(double emissivity, double celsius, double other_emissivity,
                               double other_celsius);
double heat_radiation_small(double emissivity, double celsius, double surroundings_celsius);

/* Share of what one rectangle sends out that reaches an equal one, aligned and parallel: Incropera, Table
 * 13.2. Metres, above 0. */
double heat_view_parallel(double width, double height, double distance);

enum { HEAT_MOST_SURFACES = 32 };

/* Net radiation of each of `count` grey surfaces that enclose each other, exactly (radiosities, Incropera
 * 13.15 and 13.16). view[i * count + j]: share of what i sends out that reaches j. Into `flux`, W/m2 of each
 * surface, positive where it loses heat, and `radiosity`, W/m2. */
void heat_radiation_enclosure(int count, const double *view, const double *emissivity, const double *celsius,
                              double *flux, double *radiosity);

/* The same, cheaper and without view factors: each surface exchanges with one common node at the mean radiant
 * temperature (J. A. Carroll, An MRT method of computing radiant energy exchange in rooms, 1980).
 * heat_star_factors gives each surface's factor from the areas (m2); it depends on geometry alone.
 * heat_star_area is the black area that stands for a surface: it sends HEAT_STEFAN * area * (T^4 - Tm^4) to
 * the node, where Tm^4 is the mean of all T^4 weighted by these areas. Good to some percent for boxes of
 * similar sides; two or three surfaces of very different size have no such star, and factors stop at 4. */
void heat_star_factors(int count, const double *area, double *factor);
double heat_star_area(double area, double emissivity, double factor);

/* Black node temperature of the star, celsius. `area`: from heat_star_area. */
double heat_star_celsius(int count, const double *area, const double *celsius);

/* Linear coefficient of radiation at two temperatures, W/m2K for emissivity 1: (T^4 - U^4) / (T - U). */
double heat_radiation_coefficient(double celsius, double other_celsius);

/* Air that rises through a warm space with a low and a high opening (m2 each, `height` m between them), kg/s;
 * 0 where the inside is not warmer. The head (outside less inside density) times g times height is spent in
 * both openings: Bernoulli, stack effect of ASHRAE Handbook of Fundamentals, chapter on ventilation and
 * infiltration, without its simplification of nearly equal densities. */
double heat_stack_flow(double low_area, double high_area, double height, double discharge,
                       double inside_celsius, double outside_celsius);

/* Bodies of one temperature (Biot number below 0.1; Incropera 5.6, 5.7): time constant in seconds from
 * volume over surface in metres (plate heated on both sides: half its thickness; rod: a quarter of its
 * diameter), density times specific heat in J/m3K, and a coefficient; temperature after a time; time to a
 * temperature, infinite for one that is never reached. */
double heat_lumped_constant(double volume_over_surface, double heat_capacity, double coefficient);
double heat_lumped_celsius(double start_celsius, double end_celsius, double constant, double second);
double heat_lumped_second(double start_celsius, double end_celsius, double constant, double celsius);

#endif
