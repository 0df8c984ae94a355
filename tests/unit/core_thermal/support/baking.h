/* baking.h: a shipped appliance's oven, baked as a measurement would.
 *
 * Lives here: an oven's model from its file, faults by name, two hours at a set temperature with the figures
 * of run.h, energy and mean power. Not here: what the figures should be. A test that uses it links
 * format_appliance_yaml and core_run. What cannot be built fails the test. */
#ifndef BAKING_H
#define BAKING_H

#include "core/run/run.h"
#include "core/thermal/thermal.h"

#define BAKING_SECOND 7200.0
#define BAKING_EVERY  10.0
enum { BAKING_SAMPLES = 721, BAKING_MOST_SWITCHES = 512 };

typedef struct {
    Arena arena;
    Appliance appliance;
    Circuit circuit;
    ThermalModel model;
} Baking;

typedef struct {
    RunFigures figures; /* of the centre */
    OvenRun run;
    float centre[BAKING_SAMPLES], sensor[BAKING_SAMPLES], liner[BAKING_SAMPLES];
    double switches[BAKING_MOST_SWITCHES];
} Baked;

void baking_begin(Baking *baking, const char *appliance, double ambient_celsius);
/* The same with a figure of the rating plate, `supply` for its key. */
void baking_begin_on(Baking *baking, const char *appliance, double ambient_celsius, double supply_volt);
void baking_end(Baking *baking);

/* A fault at its middle severity, -1 where the appliance does not have it; at its point `share` (0 the least,
 * 1 the most) of the list of severities. */
int baking_fault(const Baking *baking, const char *fault, double share);
double baking_severity(const Baking *baking, int variant);

/* The oven with one fault, or none (-1). */
void baking_oven(const Baking *baking, int function, double set_celsius, int variant, Oven *oven);

/* Two hours from the kitchen's temperature. */
void baking_bake(const Baking *baking, const Oven *oven, double set_celsius, Baked *baked);

/* Joules of the elements in the first `second`s, and what the oven then is. */
double baking_joule(const Baking *baking, const Oven *oven, double second, OvenRun *run);

/* Mean power over whole cycles from `from_second` on, of a bake with switches. */
double baking_mean_watt(const Baking *baking, const Oven *oven, const Baked *baked, double from_second);

/* When the centre first has `celsius`; NAN when it never has. */
double baking_second_at(const Baked *baked, double celsius);

double baking_litre(const Baking *baking);
double baking_rated_watt(const Baking *baking, int heat);

#endif
