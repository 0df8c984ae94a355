/* flow.c: air that rises through a warm space by itself; see heat.h.
 *
 * An oven breathes in below the door and out at its vent. Cold air outside weighs more than the hot air
 * inside: head = (rho_out - rho_in) g height,  spent in both openings, each with  m = Cd A sqrt(2 rho
 * head_of_it) so   m = Cd sqrt(2 head / (1 / (rho_out A_low^2) + 1 / (rho_in A_high^2))). Air enters cold and
 * leaves hot, hence the two densities. Bad at: openings that are channels (a vent with a bend passes less;
 * the discharge coefficient carries that) and steam, which is lighter than air. */
#include "core/heat/heat.h"

#include <assert.h>
#include <math.h>

double heat_stack_flow(double low_area, double high_area, double height, double discharge,
                       double inside_celsius, double outside_celsius)
{
    assert(low_area >= 0 && high_area >= 0 && height >= 0 && discharge >= 0);
    const double cold = heat_air(outside_celsius).density, hot = heat_air(inside_celsius).density;
    if (low_area <= 0 || high_area <= 0 || hot >= cold) return 0;
    const double head = (cold - hot) * HEAT_GRAVITY * height;
    const double resistance = 1 / (cold * low_area * low_area) + 1 / (hot * high_area * high_area);
    return discharge * sqrt(2 * head / resistance);
}
