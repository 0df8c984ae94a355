/* sensor.h: what a temperature sensor shows, and what a showing means.
 *
 * Lives here: platinum resistors, thermocouples K, J, T, N, E and thermistors, both ways, with their
 * tolerance classes. Not here: lead and connector resistance (circuit), the meter's accuracy (meter).
 * Units: celsius (ITS-90), ohm, millivolt, kelvin for tolerances. Ownership: a SensorKind is a plain value;
 * nothing is kept or allocated. Errors: outside a sensor's range ERROR_OUT_OF_RANGE, which names the range; a
 * showing that lies beyond an end by no more than a printed table's rounding counts as that end. */
#ifndef CORE_SENSOR_H
#define CORE_SENSOR_H

#include "base/error.h"
#include "base/text.h"

typedef enum { SENSOR_PLATINUM, SENSOR_THERMOCOUPLE, SENSOR_BETA, SENSOR_STEINHART_HART } SensorFamily;

typedef struct {
    SensorFamily family;
    char letter;     /* thermocouple: 'K', 'J', 'T', 'N' or 'E' */
    double zero_ohm; /* platinum: resistance at 0 celsius, 100 or 1000 */
    double r25_ohm;  /* beta thermistor: resistance at 25 celsius */
    double beta_kelvin;
    double a, b, c; /* Steinhart-Hart: 1/T = a + b ln R + c (ln R)^3, T in kelvin, R in ohm */
} SensorKind;

typedef enum {
    SENSOR_CLASS_AA,
    SENSOR_CLASS_A,
    SENSOR_CLASS_B,
    SENSOR_CLASS_C, /* platinum, IEC 60751 */
    SENSOR_CLASS_1,
    SENSOR_CLASS_2,
    SENSOR_CLASS_3, /* thermocouples, IEC 60584-1 */
    SENSOR_CLASS_COUNT
} SensorClass;

/* Reads a kind as it is spelled: pt100, pt1000, k, j, t, n, e, ntc:R25,BETA (R25 with or without `ohm` or
 * `kohm`, BETA in kelvin) or steinhart-hart:A,B,C. An unknown word is an error that lists the known ones. */
bool sensor_read_kind(Text text, SensorKind *kind, Error *error) MUST_CHECK;

/* Reads a class, `AA` to `C` or `1` to `3`, that this kind of sensor has; ERROR_WRONG_KIND otherwise. */
bool sensor_read_class(Text text, const SensorKind *kind, SensorClass *tolerance_class,
                       Error *error) MUST_CHECK;

/* Writes the kind as sensor_read_kind reads it; at most `size` bytes with the final NUL. */
void sensor_write_kind(const SensorKind *kind, char *out, size_t size);

/* A thermistor through three points, 1/T = a + b ln R + c (ln R)^3 (J. S. Steinhart and S. R. Hart, Deep-Sea
 * Research 15, 1968, 497). ERROR_INCONSISTENT when no falling curve goes through them. */
bool sensor_fit_steinhart_hart(const double celsius[3], const double ohm[3], SensorKind *kind,
                               Error *error) MUST_CHECK;

bool sensor_is_resistive(const SensorKind *kind); /* shows ohms, otherwise millivolts */

/* Lowest and highest temperature of the sensor's function. */
void sensor_range(const SensorKind *kind, double *low_celsius, double *high_celsius);

/* Resistance at a temperature and back. Platinum: IEC 60751, -200 to 850 celsius, back to 1e-9 kelvin.
 * Thermistors: -100 to 400 celsius. A thermocouple is an error of kind. */
bool sensor_ohm(const SensorKind *kind, double celsius, double *ohm, Error *error) MUST_CHECK;
bool sensor_celsius_from_ohm(const SensorKind *kind, double ohm, double *celsius, Error *error) MUST_CHECK;

/* Emf of a thermocouple with its reference junction at 0 celsius, and back: the reference functions of
 * ITS-90 (NIST Monograph 175; IEC 60584-1), from -270 (J: -210) to 1372 (K), 1200 (J), 400 (T), 1300 (N) and
 * 1000 celsius (E). The way back inverts the function itself, also below -200 celsius, to 1e-6 kelvin. */
bool sensor_millivolt(const SensorKind *kind, double celsius, double *millivolt, Error *error) MUST_CHECK;
bool sensor_celsius_from_millivolt(const SensorKind *kind, double millivolt, double *celsius,
                                   Error *error) MUST_CHECK;

/* The same for an emf measured with the reference junction at `junction_celsius` (cold junction
 * compensation): emfs are added, temperatures are not. */
bool sensor_celsius_compensated(const SensorKind *kind, double millivolt, double junction_celsius,
                                double *celsius, Error *error) MUST_CHECK;

/* Half-width of the class's limits at a temperature, in kelvin: IEC 60751 for platinum, IEC 60584-1 for
 * thermocouples (which gives each class its own range). Thermistors have no classes: ERROR_WRONG_KIND. */
bool sensor_tolerance(const SensorKind *kind, SensorClass tolerance_class, double celsius, double *kelvin,
                      Error *error) MUST_CHECK;

#endif
