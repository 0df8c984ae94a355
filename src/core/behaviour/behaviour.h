/* behaviour.h: what an oven shows in a run, worked out once.
 *
 * Lives here: a simulated run boiled down to the figures that a log would give, and the memory of what was
 * simulated before, found again by content: the same coefficients, terms and set temperature, bit for bit.
 * Not here: which oven it is (thermal), what a log says (run), where the memory is kept between runs of the
 * program (edge). Units: celsius, kelvin, second; fluxes W/m2. Ownership: the memory lives in the arena it
 * was made in; behaviours are plain values. The memory may be thrown away at any time: it only saves work.
 *
 * A key is 128 bits of hash over everything that the result depends on; two different ovens share one with a
 * chance of 1e-30 among a hundred thousand. */
#ifndef CORE_BEHAVIOUR_H
#define CORE_BEHAVIOUR_H

#include "base/arena.h"
#include "base/text.h"
#include "core/oven/oven.h"
#include "core/run/run.h"

#include <stdint.h>

/* The figures of run.h of the centre's trace, and what bakes: mean irradiance and convection on the upper and
 * the lower side of what stands in the middle. NAN where a figure does not exist. */
typedef struct {
    float mean_celsius, swing_kelvin, period_second, preheat_second, overshoot_kelvin, duty, end_celsius,
        end_kelvin_per_second;
    float sensor_celsius, sensor_swing_kelvin; /* mean and swing at the sensor or bulb */
    float top_flux, bottom_flux;
    int cycles;
} Behaviour;

/* A run as it is simulated: from the kitchen's temperature, in the dark of a closed oven. */
typedef struct {
    double set_celsius, ambient_celsius, second;
} BehaviourTerms;

#define BEHAVIOUR_SAMPLE_SECOND 10.0
#define BEHAVIOUR_LEAST_SECOND  1200.0 /* shorter runs say too little to be simulated */
#define BEHAVIOUR_MOST_SECOND   7200.0 /* longer ones say nothing more */

typedef struct {
    uint64_t key[2];
    Behaviour behaviour;
} BehaviourRow;

typedef struct {
    Arena *arena;
    BehaviourRow *rows; /* [capacity], a power of two; a key of 0, 0 is an empty row */
    int capacity, count;
    int simulated; /* so many were not known: a count that does not depend on the machine */
} BehaviourMemory;

bool behaviour_begin(Arena *arena, BehaviourMemory *memory, Error *error) MUST_CHECK;

/* Behaviours of `count` ovens, from memory or simulated eight at a time. */
bool behaviour_find(BehaviourMemory *memory, const Oven *const *ovens, int count, const BehaviourTerms *terms,
                    Behaviour *behaviours, Error *error) MUST_CHECK;

/* The memory as bytes and back, for whoever keeps it. `origin` tells what computed it: bytes of another
 * origin, cut or changed ones are not taken, which is no error. */
bool behaviour_write(const BehaviourMemory *memory, uint64_t origin, TextBuilder *out) MUST_CHECK;
bool behaviour_read(BehaviourMemory *memory, uint64_t origin, Text bytes); /* were they taken? */

#endif
