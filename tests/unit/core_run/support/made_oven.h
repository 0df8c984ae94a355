/* made_oven.h: an oven of a few nodes, simulated apart from the program, whose true cycle mean is known.
 *
 * Lives here: element, air, walls and a control that switches on a lagging sensor, in fine explicit steps;
 * the log that a thermometer with errors would make of it. Not here: anything of core/run. */
#ifndef MADE_OVEN_H
#define MADE_OVEN_H

#include "base/random.h"

#include <stdbool.h>

enum { MADE_MOST_ROWS = 8000, MADE_MOST_DOORS = 2, MADE_MOST_GAPS = 3 };

typedef struct {
    double set_celsius, ambient_celsius;
    double watt, element_heat, air_heat, wall_heat;           /* W, J/K */
    double element_to_air, element_to_wall, air_to_wall, out; /* W/K */
    double sensor_second, half_differential, control_error;   /* s, K, K */
    double door_second[MADE_MOST_DOORS], door_length;
    int door_count;
} MadeOven;

typedef struct {
    double second[MADE_MOST_ROWS], celsius[MADE_MOST_ROWS];
    int count;
} MadeLog;

/* How the thermometer and whoever keeps the log go wrong. */
typedef struct {
    double interval_second, length_second, noise_kelvin, step_kelvin, offset_kelvin;
    int spikes, gaps;
    bool is_jittered; /* rows come up to a fifth of the interval early or late */
} MadeFlaws;

MadeOven made_oven(RandomStream *stream);
MadeFlaws made_flaws(RandomStream *stream);

/* Mean of the air over whole on-to-on cycles in the fourth hour, by steps of 0.25 s, doors closed. */
double made_true_mean(const MadeOven *oven);

void made_log(const MadeOven *oven, const MadeFlaws *flaws, RandomStream *stream, MadeLog *log);

#endif
