/* quantity.h: numbers with their unit, as people write and read them.
 *
 * Lives here: `350F`, `1.08kohm`, `12 mV`, `OL`, `25USD`, `-35F..35F` read into SI, and SI written for
 * people. Not here: what a quantity means, or sentences around it (format/words).
 * Units inside the program: celsius for temperatures, kelvin for differences, ohm, volt, ampere, watt,
 * second, metre, cubic metre, kilogram, hertz, a plain ratio for %, minor units (cents) for money.
 * A temperature and a difference of temperatures are written alike, so the caller says which one it is:
 * 10F is -12.2 celsius as a temperature (UNIT_CELSIUS) and 5.56 kelvin as a difference (UNIT_KELVIN). */
#ifndef BASE_QUANTITY_H
#define BASE_QUANTITY_H

#include "base/text.h"

/* Unit, its name in a sentence, an example of how it is written. */
#define UNIT_LIST(X)                                                                                         \
    X(NONE, "a plain number", "12")                                                                          \
    X(CELSIUS, "a temperature", "350F or 177C")                                                              \
    X(KELVIN, "a difference of temperatures", "10F or 6K")                                                   \
    X(OHM, "a resistance", "19.2ohm or 1.08kohm")                                                            \
    X(VOLT, "a voltage", "236V or 12mV")                                                                     \
    X(AMPERE, "a current", "11.4A or 20mA")                                                                  \
    X(WATT, "a power", "2500W or 3kW")                                                                       \
    X(SECOND, "a time", "12s, 6min or 1h")                                                                   \
    X(METRE, "a length", "610mm or 0.5m")                                                                    \
    X(CUBIC_METRE, "a volume", "65L")                                                                        \
    X(KILOGRAM, "a mass", "12kg")                                                                            \
    X(HERTZ, "a frequency", "60Hz")                                                                          \
    X(RATIO, "a percentage", "0.8%")                                                                         \
    X(MONEY, "an amount of money", "25USD")

typedef enum {
#define X(unit, says, example) UNIT_##unit,
    UNIT_LIST(X)
#undef X
        UNIT_COUNT
} Unit;

typedef struct {
    double value; /* SI, see above; infinite when is_over */
    Unit unit;
    bool is_over;     /* the meter showed OL: more than it can show, unit unknown (UNIT_NONE) */
    char currency[4]; /* three capitals when unit is UNIT_MONEY, otherwise empty */
} Quantity;

/* Reads one spelled quantity; temperatures as temperatures. A space may stand between number and unit and
 * nowhere else. False with `error` (found, expected, an example, often a hint), `quantity` untouched, for
 * anything that is not one: no unit that is known, decimal comma, below absolute zero, too large. */
bool quantity_read(Text text, Quantity *quantity, Error *error) MUST_CHECK;

/* The same where one unit is expected; `expected` UNIT_KELVIN reads a difference. OL and any other unit
 * are errors. A plain number is read only for UNIT_NONE. */
bool quantity_read_as(Text text, Unit expected, double *value, Error *error) MUST_CHECK;

/* A difference of temperatures in kelvin: 10F is 5.56, 6C is 6. */
bool quantity_read_difference(Text text, double *kelvin, Error *error) MUST_CHECK;

/* Two quantities of the expected unit with two dots between, the first not above the second:
 * `-35F..35F`, `0s..51s`. */
bool quantity_read_range(Text text, Unit expected, double *low, double *high, Error *error) MUST_CHECK;

const char *quantity_unit_says(Unit unit);    /* `a resistance`; never NULL */
const char *quantity_unit_example(Unit unit); /* `19.2ohm or 1.08kohm`; never NULL */

/* Writes `value` for people with three or four digits and the usual prefix: `1.08 kohm`, `0.35 ohm`,
 * `0.80 mA`, `8 min`, `OL` for infinite. Money has no currency here: `25.00`. Writes at most `size` bytes
 * with the final NUL (size at least 1) and returns the length that it would have had. */
size_t quantity_format(double value, Unit unit, char *out, size_t size);

#endif
