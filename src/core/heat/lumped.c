/* lumped.c: bodies of one temperature that warm or cool by a constant coefficient; see heat.h.
 * Closed forms, for a thermometer's bulb, a tray, and as the check of whoever integrates in steps. */
#include "core/heat/heat.h"

#include "base/mathematics.h"

#include <assert.h>
#include <math.h>

double heat_lumped_constant(double volume_over_surface, double heat_capacity, double coefficient)
{
    assert(volume_over_surface > 0 && heat_capacity > 0 && coefficient > 0);
    return volume_over_surface * heat_capacity / coefficient;
}

double heat_lumped_celsius(double start_celsius, double end_celsius, double constant, double second)
{
    assert(constant > 0);
    return end_celsius + (start_celsius - end_celsius) * math_exp(-second / constant);
}

double heat_lumped_second(double start_celsius, double end_celsius, double constant, double celsius)
{
    assert(constant > 0);
    const double left = (celsius - end_celsius) / (start_celsius - end_celsius);
    return left > 0 && left <= 1 ? -constant * math_log(left) : INFINITY;
}
