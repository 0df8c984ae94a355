/* description.h: one type of oven as its file describes it, word for word.
 *
 * Lives here: the plain structs that an appliance file is read into, each with the line it stands on, and
 * the rating plate that changes a few of its numbers. Not here: what it means (appliance builds that).
 * Units: SI, turned when the file is read. Ownership: plain data in the reader's arena. Names are kept as
 * text; numbers that tie things together are made when the appliance is built. */
#ifndef CORE_DESCRIPTION_H
#define CORE_DESCRIPTION_H

#include "base/quantity.h"
#include "core/sensor/sensor.h"

typedef struct {
    const char *name;
    double value; /* SI */
    int line;
} DescribedNumber;

typedef struct {
    const char *name, *from, *to; /* way or pin: its name and its two marks */
    int line;
} DescribedWay;

typedef struct {
    const char *name;
    double open_second, close_second;
    bool needs_power_off; /* may only be opened and closed dead */
    bool needs_cool_oven;
    const char *after; /* the place that must be open before; NULL */
    int line;
} DescribedPlace;

typedef struct {
    const char *name, *kind, *says; /* says may be NULL */
    const char *reach;              /* place of its terminals; NULL: the first place */
    const char *seen;               /* place from which it is looked at; NULL: where it is reached */
    const DescribedWay *ways;       /* for a kind with ways; else terminals as from/to pairs are unused */
    int way_count;
    const char *const *terminals; /* for a kind with fixed terminals */
    int terminal_count;
    const DescribedNumber *numbers; /* properties: watts, volts, ohm ... */
    int number_count;
    const char *plate;         /* the rating plate's key for its main figure, e.g. 'bake'; NULL */
    const char *heats;         /* bottom, top, ring; NULL */
    const char *driver;        /* the control that closes its contact; NULL */
    const char *replaced_with; /* the part bought to replace it; NULL: itself */
    SensorKind sensor;         /* kinds with a sensor branch */
    bool has_sensor, is_hidden;
    long long price_minor;
    double replace_second;
    int line;
} DescribedPart;

typedef struct {
    const char *from, *to;
    int line;
} DescribedWire;

typedef struct {
    const char *contact; /* 'bake-relay', 'thermostat.bake' */
    double from_second, to_second;
} DescribedDuty;

typedef struct {
    double period_second; /* 0: there is no pattern, and what the function closes stays closed */
    const DescribedDuty *duties;
    int duty_count;
} DescribedPattern;

typedef struct {
    const char *name, *says;
    const char *const *closes; /* contacts: a part's name, or part.way */
    int close_count;
    DescribedPattern pattern, preheat; /* duty while it heats; until the set temperature is first reached */
    int line;
} DescribedFunction;

typedef enum { SUPPLY_SPLIT_PHASE, SUPPLY_208Y, SUPPLY_SINGLE_PHASE, SUPPLY_SYSTEM_COUNT } SupplySystem;

/* 'split-phase', '208y-120', 'single-phase': the words of the file. */
const char *description_supply_name(SupplySystem system);

typedef struct {
    SupplySystem system;
    double volt; /* leg to leg; leg to neutral for single-phase */
    double hertz;
    const char *legs[2];
    int leg_count;
    const char *neutral, *frame; /* marks */
    double breaker_ampere;
    int line;
} DescribedSupply;

typedef struct {
    const char *senses;        /* the part that tells the control the temperature */
    const char *const *cycles; /* contacts that open when the oven is hot enough; none: see core/oven */
    int cycle_count;
    double differential_kelvin, offset_from_kelvin, offset_to_kelvin, offset_step_kelvin;
    int line;
} DescribedRegulation;

typedef struct {
    const char *name, *says;
    const char *currency; /* of the prices, three capitals */
    DescribedSupply supply;
    const DescribedPlace *places;
    int place_count;
    const DescribedPart *parts;
    int part_count;
    const DescribedWire *wires;
    int wire_count;
    const DescribedFunction *functions;
    int function_count;
    DescribedRegulation regulation;
    const DescribedNumber *thermal; /* 'cavity.width' and so on; metre, kilogram, watt per kelvin */
    int thermal_count;
    const char *file; /* for messages */
} Description;

/* What a technician read on the rating plate: key ('bake', 'supply') and figure. */
typedef struct {
    const char *key;
    Quantity figure;
    SensorKind sensor; /* for a key that names a sensor */
    bool has_sensor;
    int line;
} PlateEntry;

enum { DESCRIPTION_MOST_PLACES = 64 };

/* By name; -1: there is none. */
int description_find_place(const Description *description, const char *name);

/* The place that must be open before this one; -1: none. */
int description_place_before(const Description *description, int place);

#endif
