/* air.c: dry air at one atmosphere; Cengel and Ghajar, Heat and Mass Transfer, Table A-15. See heat.h.
 *
 * Straight lines between the rows: between 10 and 50 kelvin apart, they miss the curve by less than 0.3
 * percent (density at 42.5 celsius: 1.118 by the book's own interpolation). Moisture is left out: what
 * evaporates from food changes the heat that air carries, not how well it conducts. */
#include "core/heat/heat.h"

#include <assert.h>

typedef struct {
    double celsius;
    HeatAir air;
} Row;

/* celsius, {density, specific heat, conductivity, kinematic viscosity, Prandtl number} */
static const Row ROWS[] = {
    {-10, {1.3410, 1006, 0.02288, 1.2520e-05, 0.7387}}, {0, {1.2920, 1006, 0.02364, 1.3380e-05, 0.7362}},
    {5, {1.2690, 1006, 0.02401, 1.3820e-05, 0.7350}},   {10, {1.2460, 1006, 0.02439, 1.4260e-05, 0.7336}},
    {15, {1.2250, 1007, 0.02476, 1.4700e-05, 0.7323}},  {20, {1.2040, 1007, 0.02514, 1.5160e-05, 0.7309}},
    {25, {1.1840, 1007, 0.02551, 1.5620e-05, 0.7296}},  {30, {1.1640, 1007, 0.02588, 1.6080e-05, 0.7282}},
    {35, {1.1450, 1007, 0.02625, 1.6550e-05, 0.7268}},  {40, {1.1270, 1007, 0.02662, 1.7020e-05, 0.7255}},
    {45, {1.1090, 1007, 0.02699, 1.7500e-05, 0.7241}},  {50, {1.0920, 1007, 0.02735, 1.7980e-05, 0.7228}},
    {60, {1.0590, 1007, 0.02808, 1.8960e-05, 0.7202}},  {70, {1.0280, 1007, 0.02881, 1.9950e-05, 0.7177}},
    {80, {0.9994, 1008, 0.02953, 2.0970e-05, 0.7154}},  {90, {0.9718, 1008, 0.03024, 2.2010e-05, 0.7132}},
    {100, {0.9458, 1009, 0.03095, 2.3060e-05, 0.7111}}, {120, {0.8977, 1011, 0.03235, 2.5220e-05, 0.7073}},
    {140, {0.8542, 1013, 0.03374, 2.7450e-05, 0.7041}}, {160, {0.8148, 1016, 0.03511, 2.9750e-05, 0.7014}},
    {180, {0.7788, 1019, 0.03646, 3.2120e-05, 0.6992}}, {200, {0.7459, 1023, 0.03779, 3.4550e-05, 0.6974}},
    {250, {0.6746, 1033, 0.04104, 4.0910e-05, 0.6946}}, {300, {0.6158, 1044, 0.04418, 4.7650e-05, 0.6935}},
    {350, {0.5664, 1056, 0.04721, 5.4750e-05, 0.6937}}, {400, {0.5243, 1069, 0.05015, 6.2190e-05, 0.6948}},
    {450, {0.4880, 1081, 0.05298, 6.9970e-05, 0.6965}}, {500, {0.4565, 1093, 0.05572, 7.8060e-05, 0.6986}},
    {600, {0.4042, 1115, 0.06093, 9.5150e-05, 0.7037}},
};
enum { ROW_COUNT = sizeof ROWS / sizeof ROWS[0] };

static double between(double low, double high, double share) { return low + share * (high - low); }

/* The row that begins the interval, by halving. */
static int row_below(double celsius)
{
    int low = 0, high = ROW_COUNT - 1;
    while (high - low > 1) {
        const int middle = (low + high) / 2;
        if (ROWS[middle].celsius <= celsius)
            low = middle;
        else
            high = middle;
    }
    return low;
}

HeatAir heat_air(double celsius)
{
    if (!(celsius > ROWS[0].celsius)) return ROWS[0].air; /* also for a NaN */
    if (celsius >= ROWS[ROW_COUNT - 1].celsius) return ROWS[ROW_COUNT - 1].air;
    const Row *low = &ROWS[row_below(celsius)], *high = low + 1;
    const double share = (celsius - low->celsius) / (high->celsius - low->celsius);
    assert(share >= 0 && share <= 1);
    return (HeatAir){
        .density = between(low->air.density, high->air.density, share),
        .specific_heat = between(low->air.specific_heat, high->air.specific_heat, share),
        .conductivity = between(low->air.conductivity, high->air.conductivity, share),
        .viscosity = between(low->air.viscosity, high->air.viscosity, share),
        .prandtl = between(low->air.prandtl, high->air.prandtl, share),
    };
}
