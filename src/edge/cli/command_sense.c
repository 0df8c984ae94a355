/* command_sense.c: `ovenwright sense KIND VALUE [--class C]`: one sensor conversion, either way. A
 * thermocouple's emf is the one with its reference junction at 0 C.
 *
 * Fahrenheit stands beside Celsius here because North American service sheets are printed in it; everything
 * below this file has Celsius only. */
#include "edge/cli/command.h"

#include "base/quantity.h"
#include "core/sensor/sensor.h"
#include "format/call_json/call_json.h"

#include <stdio.h>

static bool show_at(const SensorKind *kind, double celsius, SensorShowing *showing, Error *error)
{
    showing->celsius = celsius;
    if (showing->is_resistive) return sensor_ohm(kind, celsius, &showing->showing, error);
    return sensor_millivolt(kind, celsius, &showing->showing, error);
}

/* A temperature gives what the sensor shows; ohms or millivolts give the temperature. */
static bool convert(const SensorKind *kind, const Quantity *value, const char *typed, SensorShowing *showing,
                    Error *error)
{
    if (value->unit == UNIT_CELSIUS) return show_at(kind, value->value, showing, error);
    if (showing->is_resistive && value->unit == UNIT_OHM) {
        showing->showing = value->value;
        return sensor_celsius_from_ohm(kind, value->value, &showing->celsius, error);
    }
    if (!showing->is_resistive && value->unit == UNIT_VOLT) {
        showing->showing = value->value * 1000;
        return sensor_celsius_from_millivolt(kind, showing->showing, &showing->celsius, error);
    }
    return error_set(error, ERROR_WRONG_KIND, typed, "a temperature (350F, 177C) or %s",
                     showing->is_resistive ? "a resistance (1.08kohm)" : "a voltage (4.1mV)");
}

/* Limits are those at the temperature found, whichever way the conversion went. */
static bool add_tolerance(const SensorKind *kind, const char *typed, SensorShowing *showing, Error *error)
{
    SensorClass tolerance_class;
    if (!sensor_read_class(text_of(typed), kind, &tolerance_class, error)) return false;
    if (!sensor_tolerance(kind, tolerance_class, showing->celsius, &showing->tolerance_kelvin, error))
        return false;
    showing->has_tolerance = true;
    return true;
}

static void say(const SensorShowing *showing, const char *tolerance_class, TextBuilder *out)
{
    text_addf(out, "%-12s%s\n", "sensor", showing->kind);
    text_addf(out, "%-12s%.2f C  (%.2f F)\n", "temperature", showing->celsius, showing->celsius * 1.8 + 32);
    text_addf(out,
              showing->is_resistive ? "%-12s%.2f ohm\n" : "%-12s%.3f mV with the reference junction at 0 C\n",
              "shows", showing->showing);
    if (showing->has_tolerance)
        text_addf(out, "%-12s+-%.2f K, class %s\n", "tolerance", showing->tolerance_kelvin, tolerance_class);
}

bool cli__sense(Invocation *invocation, Error *error)
{
    const char *const typed = invocation->arguments[1];
    const char *tolerance_class = cli__option(invocation, OPTION_CLASS, NULL);
    SensorKind kind;
    Quantity value;
    if (!sensor_read_kind(text_of(invocation->arguments[0]), &kind, error)) return false;
    if (!quantity_read(text_of(typed), &value, error)) return false;
    SensorShowing showing = {.kind = invocation->arguments[0], .is_resistive = sensor_is_resistive(&kind)};
    if (!convert(&kind, &value, typed, &showing, error)) return false;
    if (tolerance_class && !add_tolerance(&kind, tolerance_class, &showing, error)) return false;
    if (cli__has_option(invocation, OPTION_JSON)) return call_json_sense(&showing, &invocation->out, error);
    say(&showing, tolerance_class, &invocation->out);
    return true;
}
