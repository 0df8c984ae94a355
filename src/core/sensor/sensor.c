/* sensor.c: one question for all families: which file answers it? And how a kind is spelled; see sensor.h.
 *
 * Policy: a temperature or a showing outside a sensor's range is the caller's error and names the range;
 * nothing is extrapolated, since beyond its ends a polynomial of the ninth degree says whatever it likes. */
#include "core/sensor/sensor.h"

#include "core/sensor/sensor_private.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>

/* Wider than any bead is sold for, so that a bead's own limits are the bead's business. Common practice, no
 * source. */
static const double THERMISTOR_LOWEST = -100, THERMISTOR_HIGHEST = 400;

bool sensor__out_of_range(double value, double low, double high, const char *unit, Error *error)
{
    char found[48];
    snprintf(found, sizeof found, "%.6g %s", value, unit);
    return error_set(error, ERROR_OUT_OF_RANGE, found, "%s %.6g %s, this sensor goes from %.6g to %.6g %s",
                     value > high ? "no more than" : "no less than", value > high ? high : low, unit, low,
                     high, unit);
}

bool sensor_is_resistive(const SensorKind *kind) { return kind->family != SENSOR_THERMOCOUPLE; }

void sensor_range(const SensorKind *kind, double *low_celsius, double *high_celsius)
{
    switch (kind->family) {
    case SENSOR_PLATINUM:
        *low_celsius = SENSOR_RTD_LOWEST;
        *high_celsius = SENSOR_RTD_HIGHEST;
        return;
    case SENSOR_THERMOCOUPLE: sensor__thermocouple_range(kind->letter, low_celsius, high_celsius); return;
    case SENSOR_BETA:
    case SENSOR_STEINHART_HART:
        *low_celsius = THERMISTOR_LOWEST;
        *high_celsius = THERMISTOR_HIGHEST;
        return;
    }
    assert(!"a family that does not exist");
}

/* The core's functions below assert their range; here it is the caller's error. */
static bool check_celsius(const SensorKind *kind, double celsius, Error *error)
{
    double low, high;
    sensor_range(kind, &low, &high);
    if (celsius >= low && celsius <= high) return true;
    return sensor__out_of_range(celsius, low, high, "C", error);
}

/* An ohmmeter on a thermocouple shows its wire, a millivoltmeter on a resistor nothing: a mix-up of kinds. */
static bool check_family(const SensorKind *kind, bool wants_ohm, Error *error)
{
    if (sensor_is_resistive(kind) == wants_ohm) return true;
    if (wants_ohm)
        return error_set(error, ERROR_WRONG_KIND, "a thermocouple",
                         "millivolts: it has no resistance of note");
    return error_set(error, ERROR_WRONG_KIND, "a resistance sensor", "ohms: it gives no voltage of its own");
}

/* Neither a platinum curve nor a thermistor's reaches 0 ohm inside its range, so circuits may divide by it.
 */
bool sensor_ohm(const SensorKind *kind, double celsius, double *ohm, Error *error)
{
    if (!check_family(kind, true, error) || !check_celsius(kind, celsius, error)) return false;
    *ohm = kind->family == SENSOR_PLATINUM ? sensor__rtd_ohm(kind->zero_ohm, celsius)
                                           : sensor__thermistor_ohm(kind, celsius);
    assert(isfinite(*ohm) && *ohm > 0);
    return true;
}

/* A thermistor falls, so its most ohms belong to its lowest temperature. */
bool sensor_celsius_from_ohm(const SensorKind *kind, double ohm, double *celsius, Error *error)
{
    if (!check_family(kind, true, error)) return false;
    if (kind->family == SENSOR_PLATINUM) return sensor__rtd_celsius(kind->zero_ohm, ohm, celsius, error);
    const double most = sensor__thermistor_ohm(kind, THERMISTOR_LOWEST);
    const double least = sensor__thermistor_ohm(kind, THERMISTOR_HIGHEST);
    assert(least < most);
    if (!(ohm >= least && ohm <= most)) return sensor__out_of_range(ohm, least, most, "ohm", error);
    *celsius = sensor__thermistor_celsius(kind, ohm);
    return true;
}

/* Negative below 0 celsius: the reference junction is then the warmer one. */
bool sensor_millivolt(const SensorKind *kind, double celsius, double *millivolt, Error *error)
{
    if (!check_family(kind, false, error) || !check_celsius(kind, celsius, error)) return false;
    *millivolt = sensor__thermocouple_millivolt(kind->letter, celsius);
    return true;
}

/* As if the meter's junction sat in ice: what a bare voltmeter shows must be compensated first, see below. */
bool sensor_celsius_from_millivolt(const SensorKind *kind, double millivolt, double *celsius, Error *error)
{
    if (!check_family(kind, false, error)) return false;
    return sensor__thermocouple_celsius(kind->letter, millivolt, celsius, error);
}

/* E(t, 0) = E(t, junction) + E(junction, 0): the law of intermediate temperatures. */
bool sensor_celsius_compensated(const SensorKind *kind, double millivolt, double junction_celsius,
                                double *celsius, Error *error)
{
    double junction_millivolt;
    if (!sensor_millivolt(kind, junction_celsius, &junction_millivolt, error)) return false;
    return sensor_celsius_from_millivolt(kind, millivolt + junction_millivolt, celsius, error);
}

/* Classes that a family has; none for thermistors. */
static bool has_class(const SensorKind *kind, SensorClass tolerance_class)
{
    if (kind->family == SENSOR_PLATINUM) return tolerance_class <= SENSOR_CLASS_C;
    return kind->family == SENSOR_THERMOCOUPLE && tolerance_class >= SENSOR_CLASS_1;
}

static bool wrong_class(const SensorKind *kind, const char *found, Error *error)
{
    const char *const classes[] = {"AA, A, B or C (IEC 60751)", "1, 2 or 3 (IEC 60584-1)"};
    if (kind->family == SENSOR_PLATINUM || kind->family == SENSOR_THERMOCOUPLE)
        return error_set(error, ERROR_WRONG_KIND, found, "class %s",
                         classes[kind->family == SENSOR_THERMOCOUPLE]);
    return error_set(error, ERROR_WRONG_KIND, found, "no class: thermistors have none");
}

static const char *const CLASS_NAMES[SENSOR_CLASS_COUNT] = {"AA", "A", "B", "C", "1", "2", "3"};

/* A class that another family has is refused like one that nobody has: there is no class 1 of a Pt100. */
bool sensor_read_class(Text text, const SensorKind *kind, SensorClass *tolerance_class, Error *error)
{
    for (int i = 0; i < SENSOR_CLASS_COUNT; i++)
        if (text_is(text, CLASS_NAMES[i]) && has_class(kind, (SensorClass)i)) {
            *tolerance_class = (SensorClass)i;
            return true;
        }
    char found[40];
    snprintf(found, sizeof found, "class '%.*s'", text.length < 20 ? (int)text.length : 20, text.bytes);
    return wrong_class(kind, found, error);
}

/* A platinum class is taken over the sensor's whole range, although the standard ends each earlier (from
 * memory); a thermocouple's class has ends of its own. */
bool sensor_tolerance(const SensorKind *kind, SensorClass tolerance_class, double celsius, double *kelvin,
                      Error *error)
{
    assert(tolerance_class >= 0 && tolerance_class < SENSOR_CLASS_COUNT);
    if (!has_class(kind, tolerance_class)) return wrong_class(kind, CLASS_NAMES[tolerance_class], error);
    if (!check_celsius(kind, celsius, error)) return false;
    if (kind->family == SENSOR_THERMOCOUPLE)
        return sensor__thermocouple_tolerance(kind->letter, tolerance_class, celsius, kelvin, error);
    *kelvin = sensor__rtd_tolerance(tolerance_class, celsius);
    return true;
}
