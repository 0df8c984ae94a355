/* sensor_private.h: what the files of this room share: one forward and one inverse function a family, and
 * how an error of range is said. */
#ifndef CORE_SENSOR_PRIVATE_H
#define CORE_SENSOR_PRIVATE_H

#include "core/sensor/sensor.h"

#define SENSOR_RTD_LOWEST  (-200.0) /* celsius, IEC 60751 */
#define SENSOR_RTD_HIGHEST 850.0
#define SENSOR_ZERO_KELVIN 273.15 /* 0 celsius, by definition of the Celsius temperature */

double sensor__rtd_ohm(double zero_ohm, double celsius);
bool sensor__rtd_celsius(double zero_ohm, double ohm, double *celsius, Error *error) MUST_CHECK;
double sensor__rtd_tolerance(SensorClass tolerance_class, double celsius);

double sensor__thermocouple_millivolt(char letter, double celsius);
bool sensor__thermocouple_celsius(char letter, double millivolt, double *celsius, Error *error) MUST_CHECK;
void sensor__thermocouple_range(char letter, double *low_celsius, double *high_celsius);
bool sensor__thermocouple_tolerance(char letter, SensorClass tolerance_class, double celsius, double *kelvin,
                                    Error *error) MUST_CHECK;

double sensor__thermistor_ohm(const SensorKind *kind, double celsius);
double sensor__thermistor_celsius(const SensorKind *kind, double ohm);
bool sensor__thermistor_is_sound(const SensorKind *kind); /* falls over the whole range */

/* `value` outside low..high, each written with the unit: 'a value from -200 to 850 C'. Returns false. */
bool sensor__out_of_range(double value, double low, double high, const char *unit, Error *error);

#endif
