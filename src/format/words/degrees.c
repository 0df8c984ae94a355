/* degrees.c: temperatures and differences of temperature as text, in the degrees that the reader has chosen.
 *
 * Lives here: the two sorts of degrees, their units and decimals. Not here: the sentences around them
 * (temperature.c, run.c). Where nobody chose, both are given, Fahrenheit first: North American controls count
 * in the one, thermometers and the rest of the world in the other. */
#include "format/words/words_private.h"

#include <math.h>
#include <stdio.h>

enum { VALUE_LENGTH = 40 };

/* One of the two, or both, the second in brackets. */
static void choose(const Words *words, const char *fahrenheit, const char *celsius, char *out, size_t size)
{
    switch (words->degrees) {
    case DEGREES_FAHRENHEIT: snprintf(out, size, "%s", fahrenheit); break;
    case DEGREES_CELSIUS: snprintf(out, size, "%s", celsius); break;
    default: snprintf(out, size, "%s (%s)", fahrenheit, celsius);
    }
}

void words_write_temperature(const Words *words, double celsius, int decimals, char *out, size_t size)
{
    char one[VALUE_LENGTH], other[VALUE_LENGTH];
    snprintf(one, sizeof one, "%.*f F", decimals, celsius * 1.8 + 32);
    snprintf(other, sizeof other, "%.*f C", decimals, celsius);
    choose(words, one, other, out, size);
}

void words_write_difference(const Words *words, double kelvin, bool has_sign, char *out, size_t size)
{
    char one[VALUE_LENGTH], other[VALUE_LENGTH];
    snprintf(one, sizeof one, has_sign ? "%+.1f F" : "%.1f F", kelvin * 1.8);
    snprintf(other, sizeof other, has_sign ? "%+.1f K" : "%.1f K", kelvin);
    choose(words, one, other, out, size);
}

void words_write_width(const Words *words, double kelvin, char *out, size_t size)
{
    char one[VALUE_LENGTH], other[VALUE_LENGTH];
    snprintf(one, sizeof one, "%.0f F", kelvin * 1.8);
    snprintf(other, sizeof other, "%.1f K", kelvin);
    choose(words, one, other, out, size);
}

static double to_five(double degrees) { return 5 * floor(degrees / 5 + 0.5); }

void words__write_dial(const Words *words, double celsius, char *out, size_t size)
{
    char one[VALUE_LENGTH], other[VALUE_LENGTH];
    snprintf(one, sizeof one, "%.0f F", to_five(celsius * 1.8 + 32));
    snprintf(other, sizeof other, "%.0f C", words->degrees == DEGREES_CELSIUS ? to_five(celsius) : celsius);
    choose(words, one, other, out, size);
}

void words__write_offset(const Words *words, double kelvin, char *out, size_t size)
{
    char one[VALUE_LENGTH], other[VALUE_LENGTH];
    snprintf(one, sizeof one, "%+.0f F", kelvin * 1.8);
    snprintf(other, sizeof other, "%+.1f K", kelvin);
    choose(words, one, other, out, size);
}
