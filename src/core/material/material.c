/* material.c: properties at a temperature; see material.h.
 *
 * A straight line is what a handbook's two or three columns can bear between room temperature and that of an
 * element, and what an oven's balance needs: a tenth off in the heat of a sheet is less than what nobody
 * knows about its thickness. Not here: the values (data/parts/materials.yaml).
 *
 * Bad at: steel near 750 celsius, where its specific heat peaks (no oven wall gets there), melting, boiling.
 */
#include "core/material/material.h"

#include "base/text.h"

#include <assert.h>
#include <math.h>
#include <stddef.h>

static const double COLDEST = 0, HOTTEST = 1000; /* celsius; beyond, a straight line says nothing */
static const double REFERENCE = 20;              /* celsius: where the lines start */
static const double LEAST_SHARE = 0.1;           /* of the value at 20; a falling line must not cross 0 */

const Material *material_find(const MaterialTable *table, const char *name)
{
    for (int i = 0; i < table->count; i++)
        if (text_equal(table->rows[i].name, name)) return &table->rows[i];
    return NULL;
}

static double on_line(double at_20, double slope, double celsius)
{
    assert(at_20 >= 0);
    const double inside = fmin(fmax(celsius, COLDEST), HOTTEST);
    return fmax(at_20 + slope * (inside - REFERENCE), LEAST_SHARE * at_20);
}

double material_specific_heat(const Material *material, double celsius)
{
    return on_line(material->specific_heat, material->specific_heat_slope, celsius);
}

double material_conductivity(const Material *material, double celsius)
{
    return on_line(material->conductivity, material->conductivity_slope, celsius);
}

/* The mean of a straight line is its value in the middle. */
double material_heat_between(const Material *material, double from_celsius, double to_celsius)
{
    const double mean = material_specific_heat(material, (from_celsius + to_celsius) / 2);
    return mean * (to_celsius - from_celsius);
}

/* Handbooks print a point every 100 kelvin, so the search needs no cleverness. */
double material_resistance_ratio(const Material *material, double celsius)
{
    const MaterialPoint *points = material->resistance;
    const int count = material->resistance_count;
    if (count == 0) return 1;
    if (celsius <= points[0].celsius) return points[0].ratio;
    for (int i = 1; i < count; i++) {
        const MaterialPoint *low = &points[i - 1], *high = &points[i];
        if (celsius > high->celsius) continue;
        assert(high->celsius > low->celsius);
        const double share = (celsius - low->celsius) / (high->celsius - low->celsius);
        return low->ratio + share * (high->ratio - low->ratio);
    }
    return points[count - 1].ratio;
}
