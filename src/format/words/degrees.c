/* degrees.c: temperatures and differences of temperature as text, in the degrees that the reader has chosen.
 *
 * Lives here: the two sorts of degrees, their units and decimals. Not here: the sentences around them
 * (temperature.c, run.c). Where nobody chose, both are given, Fahrenheit first: North American controls count
 * in the one, thermometers and the rest of the world in the other. */
#include "format/words/words_private.h"

#include <math.h>
#include <stdio.h>

enum { VALUE_LENGTH = 40 };

/* A figure in one of the two sorts of degrees, or in both, the second in brackets. */
typedef struct {
    double value;
    int decimals;
    const char *unit;
} Counted;

static void write_both(const Words *words, bool has_sign, Counted fahrenheit, Counted celsius, char *out,
                       size_t size)
{
    const char *format = has_sign ? "%+.*f %s" : "%.*f %s";
    char one[VALUE_LENGTH], other[VALUE_LENGTH];
    snprintf(one, sizeof one, format, fahrenheit.decimals, fahrenheit.value, fahrenheit.unit);
    snprintf(other, sizeof other, format, celsius.decimals, celsius.value, celsius.unit);
    switch (words->degrees) {
    case DEGREES_FAHRENHEIT: snprintf(out, size, "%s", one); break;
    case DEGREES_CELSIUS: snprintf(out, size, "%s", other); break;
    default: snprintf(out, size, "%s (%s)", one, other);
    }
}

static double to_fahrenheit(double celsius) { return celsius * 1.8 + 32; }

void words_write_temperature(const Words *words, double celsius, int decimals, char *out, size_t size)
{
    write_both(words, false, (Counted){to_fahrenheit(celsius), decimals, "F"},
               (Counted){celsius, decimals, "C"}, out, size);
}

void words_write_difference(const Words *words, double kelvin, bool has_sign, char *out, size_t size)
{
    write_both(words, has_sign, (Counted){kelvin * 1.8, 1, "F"}, (Counted){kelvin, 1, "K"}, out, size);
}

void words_write_width(const Words *words, double kelvin, char *out, size_t size)
{
    write_both(words, false, (Counted){kelvin * 1.8, 0, "F"}, (Counted){kelvin, 1, "K"}, out, size);
}

void words__write_offset(const Words *words, double kelvin, char *out, size_t size)
{
    write_both(words, true, (Counted){kelvin * 1.8, 0, "F"}, (Counted){kelvin, 1, "K"}, out, size);
}

static double to_five(double degrees) { return 5 * floor(degrees / 5 + 0.5); }

/* Behind a mark in Fahrenheit stands what it is in celsius; alone, a mark of its own. */
void words__write_dial(const Words *words, double celsius, char *out, size_t size)
{
    const double shown = words->degrees == DEGREES_CELSIUS ? to_five(celsius) : celsius;
    write_both(words, false, (Counted){to_five(to_fahrenheit(celsius)), 0, "F"}, (Counted){shown, 0, "C"},
               out, size);
}
