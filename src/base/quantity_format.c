/* quantity_format.c: writing a quantity for people; see quantity.h.
 *
 * Lossy on purpose: three digits are what a handheld meter shows and an eye takes in. Whoever computes on
 * reads the JSON, which has all of them.
 *
 * Bad at: money of currencies without hundredths, which would come out a hundred times too small: the
 * currency is not known here. The shipped appliances use dollars and euros. */
#include "base/quantity.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>

/* A prefixed unit and the size from which it is used; smallest first, the first one serves all below. */
typedef struct {
    Unit unit;
    double from, times; /* SI; shown = value * times */
    const char *symbol;
} Prefixed;

static const Prefixed PREFIXED[] = {
    {UNIT_OHM, 0, 1, "ohm"},
    {UNIT_OHM, 1e3, 1e-3, "kohm"},
    {UNIT_OHM, 1e6, 1e-6, "Mohm"},
    {UNIT_VOLT, 0, 1e3, "mV"},
    {UNIT_VOLT, 1, 1, "V"},
    {UNIT_AMPERE, 0, 1e3, "mA"},
    {UNIT_AMPERE, 1, 1, "A"},
    {UNIT_WATT, 0, 1, "W"},
    {UNIT_WATT, 1e3, 1e-3, "kW"},
    {UNIT_METRE, 0, 1e3, "mm"},
    {UNIT_METRE, 1, 1, "m"},
    {UNIT_KILOGRAM, 0, 1e3, "g"},
    {UNIT_KILOGRAM, 1, 1, "kg"},
    {UNIT_HERTZ, 0, 1, "Hz"},
    {UNIT_CUBIC_METRE, 0, 1e3, "L"},
    {UNIT_SECOND, 0, 1, "s"},
    {UNIT_SECOND, 120, 1.0 / 60, "min"},
    {UNIT_SECOND, 7200, 1.0 / 3600, "h"},
    {UNIT_CELSIUS, 0, 1, "C"},
    {UNIT_KELVIN, 0, 1, "K"},
    {UNIT_RATIO, 0, 100, "%"},
};
enum { PREFIXED_COUNT = sizeof PREFIXED / sizeof PREFIXED[0] };

/* The last row of the unit that the value reaches once it is rounded to three digits: 999.6 ohm is
 * 1.00 kohm. */
static const Prefixed *choose_prefix(double size, Unit unit)
{
    const Prefixed *chosen = NULL;
    for (int i = 0; i < PREFIXED_COUNT; i++)
        if (PREFIXED[i].unit == unit && (!chosen || size >= 0.9995 * PREFIXED[i].from)) chosen = &PREFIXED[i];
    return chosen;
}

/* Three digits, but never more than two behind the point; a thermometer is read to a tenth. */
static int choose_decimals(double shown, Unit unit)
{
    if (unit == UNIT_CELSIUS || unit == UNIT_KELVIN) return 1;
    if (shown >= 99.95) return 0;
    return shown >= 9.995 ? 1 : 2;
}

/* Times and percentages are said without zeros behind the point: 8 min, 0.8 %. */
static size_t format_short(double shown, const char *symbol, char *out, size_t size)
{
    const double tenths = floor(fabs(shown) * 10 + 0.5) / 10;
    const int decimals = tenths == floor(tenths) || tenths >= 100 ? 0 : 1;
    return (size_t)snprintf(out, size, "%.*f %s", decimals, shown, symbol);
}

/* What is not a number is a dash and what is infinite an open circuit, in any unit: a page with a hole in
 * it is better than none. */
size_t quantity_format(double value, Unit unit, char *out, size_t size)
{
    assert(size > 0 && unit >= 0 && unit < UNIT_COUNT);
    if (isnan(value)) return (size_t)snprintf(out, size, "-");
    if (isinf(value)) return (size_t)snprintf(out, size, value > 0 ? "OL" : "-OL");
    if (value == 0) value = 0; /* no sign on a zero */
    if (unit == UNIT_NONE) return (size_t)snprintf(out, size, "%.4g", value);
    if (unit == UNIT_MONEY) return (size_t)snprintf(out, size, "%.2f", value / 100);
    const Prefixed *prefix = choose_prefix(fabs(value), unit);
    assert(prefix);
    if (value == 0 && prefix->times == 1e3 && unit != UNIT_CUBIC_METRE) prefix++; /* 0.00 V, not mV */
    const double shown = value * prefix->times;
    if (unit == UNIT_SECOND || unit == UNIT_RATIO) return format_short(shown, prefix->symbol, out, size);
    return (size_t)snprintf(out, size, "%.*f %s", choose_decimals(fabs(shown), unit), shown, prefix->symbol);
}
