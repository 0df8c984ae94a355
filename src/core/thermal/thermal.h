/* thermal.h: which oven is this appliance, healthy or with faults?
 *
 * Lives here: the coefficients of an appliance's oven from its dimensions and materials, the stages of its
 * functions (which contacts are closed while it preheats, heats, waits) with their watts from the circuit,
 * what faults do to either, and how ovens of one type differ. Not here: how an oven with given coefficients
 * warms (oven), what a run of it says (run), probabilities (diagnosis). Units: SI, celsius. Ownership: a
 * model lives in the arena of its circuit; an Oven is a plain value. */
#ifndef CORE_THERMAL_H
#define CORE_THERMAL_H

#include "core/circuit/circuit.h"
#include "core/oven/oven.h"

/* How ovens of one type differ, although nothing is wrong: name, standard deviation, says. Ratios but for the
 * setting. Common practice, no source; doc/method/thermal.md says what speaks for each. */
#define THERMAL_FAMILY_LIST(X)                                                                               \
    X(LOSS, 0.20)      /* insulation, door and vent: heat lost */                                            \
    X(MASS, 0.15)      /* heat capacity of liner, door and racks */                                          \
    X(RADIATION, 0.15) /* exchange between elements, walls and what is in the oven */                        \
    X(POWER, 0.03)     /* elements and supply */                                                             \
    X(LAG, 0.25)       /* of the sensor or bulb */                                                           \
    X(SPREAD, 0.20)    /* differential */                                                                    \
    X(SETTING, 1.0)    /* kelvin times THERMAL_SETTING_*: what it was made to hold */

typedef enum {
#define X(code, deviation) THERMAL_##code,
    THERMAL_FAMILY_LIST(X)
#undef X
        THERMAL_FAMILY_COUNT
} ThermalTrait;

/* An electronic control, a capillary thermostat: how far good ones settle from what is set, one standard
 * deviation in kelvin; common practice, no source. */
#define THERMAL_SETTING_CONTROL    4.0
#define THERMAL_SETTING_THERMOSTAT 6.0

/* In standard deviations from the typical; all 0 for the typical one. */
typedef struct {
    double trait[THERMAL_FAMILY_COUNT];
} ThermalFamily;

/* A segment of a function: its contacts are closed until `until_second` of the pattern. */
typedef struct {
    CircuitMeter live;
    double until_second;
} ThermalSegment;

typedef struct {
    ThermalSegment preheat[OVEN_MOST_SEGMENTS], heating[OVEN_MOST_SEGMENTS];
    int preheat_count, heating_count; /* heating_count 0: this function heats nothing */
    CircuitMeter idle;
    double correction_kelvin; /* its maker's calibration: sensor over centre, settled at THERMAL_MADE_FOR */
} ThermalFunction;

#define THERMAL_MADE_FOR_CELSIUS 177.0

typedef struct {
    const Appliance *appliance;
    Circuit *circuit;
    OvenNetwork network;        /* healthy, without fans */
    ThermalFunction *functions; /* [appliance->function_count] */
    int *heaters, *heat_of;     /* branches that heat the oven, and what: 0 bottom, 1 top, 2 ring */
    int heater_count;
    int *fans; /* branches that move its air */
    int fan_count;
    int cutout;                /* the part that opens when the walls get too hot; -1 */
    double area[OVEN_STARRED]; /* m2; of sensor and probe not used */
    double gap_vent;           /* vent coefficient of a gap around the door, per metre of its width */
    double setting_kelvin;     /* THERMAL_SETTING_CONTROL or _THERMOSTAT */
    bool has_own_dimensions;   /* false: the file gives no thermal data, a typical oven stands in */
} ThermalModel;

/* Builds the oven of the circuit's appliance. Errors name the line of the thermal data that is wrong. */
bool thermal_begin(Circuit *circuit, ThermalModel *model, Error *error) MUST_CHECK;

/* The first function in which the bottom or the ring heats: what a run is made in unless it says otherwise;
 * -1 for an appliance without. */
int thermal_usual_function(const ThermalModel *model);

/* What the circuit gives the oven in a function: watts of every stage, strength of the fan (0 to 1), ohms
 * that faults add to the sensor's loop. Equal ones are equal bytes. */
typedef struct {
    OvenPattern preheat, heating;
    double idle_watt[OVEN_HEATS], held_watt[OVEN_HEATS], tripped_watt[OVEN_HEATS];
    double fan, added_ohm;
} ThermalPower;
void thermal_power(const ThermalModel *model, int function, const int *variants, int count,
                   ThermalPower *power);

/* The oven of this type in a function at a set temperature, with `count` faults (numbers in the circuit's
 * variants), `family` NULL for a typical one. False, and nothing filled, when the function does not heat. */
bool thermal_oven(const ThermalModel *model, int function, double set_celsius, const int *variants, int count,
                  const ThermalFamily *family, Oven *oven) MUST_CHECK;
/* The same where the power is known already. */
bool thermal_oven_with(const ThermalModel *model, int function, double set_celsius, const ThermalPower *power,
                       const int *variants, int count, const ThermalFamily *family, Oven *oven) MUST_CHECK;

/* What stands on the rack in place of nothing: two layers. */
typedef struct {
    double outer_joule_per_kelvin, core_joule_per_kelvin, between_watt_per_kelvin;
    double area, emissivity; /* of its surface, m2 */
} ThermalLoad;
void thermal_put_load(const ThermalModel *model, const ThermalLoad *load, Oven *oven);

/* Seconds over which the sheath of a fresh element is watched, and its temperature then, from the element's
 * watts: what glows and what is warm. In a healthy cold oven, with its rated watts times `share`. */
#define THERMAL_WATCH_SECOND 180.0
double thermal_sheath_celsius(const ThermalModel *model, int heat, double share);

#endif
