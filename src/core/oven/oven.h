/* oven.h: how an oven warms.
 *
 * Lives here: an oven as a network of heat capacities and conductances, its control, and the integration of
 * many ovens side by side. Not here: which coefficients an appliance or a fault has (thermal), textbook
 * formulas (heat), what a log of the result says (run). Units: SI; the network in kelvin, what is told in
 * celsius. Ownership: an Oven and an OvenRun are plain values; traces belong to the caller; nothing is
 * allocated.
 *
 *   bottom, top, ring element --+-- radiation (T^4) ---+-- floor, walls, ceiling -- insulation -- skin --
 * kitchen
 *                               +-- cavity air --------+-- door -- outer pane -------------------------
 * kitchen |    |            +-- rack, or a load with its core vent, gasket            +-- sensor or bulb;
 * probe at the centre */
#ifndef CORE_OVEN_H
#define CORE_OVEN_H

#include <stdbool.h>

typedef enum {
    OVEN_AIR,
    OVEN_BOTTOM, /* sheaths of the elements; those that heat one side are one node */
    OVEN_TOP,
    OVEN_RING,
    OVEN_FLOOR,
    OVEN_WALLS, /* sides and back of the liner */
    OVEN_CEILING,
    OVEN_DOOR, /* its inner side */
    OVEN_RACK, /* or what stands on it */
    OVEN_SENSOR,
    OVEN_CENTRE, /* the technician's probe, middle of the rack */
    OVEN_STARRED,
    OVEN_PANE = OVEN_STARRED, /* outer side of the door */
    OVEN_WOOL,                /* middle of the insulation */
    OVEN_SKIN,
    OVEN_CORE, /* inside of the load */
    OVEN_NODES,
    OVEN_GIVEN = OVEN_NODES, /* ledgers: joules of the elements, joules to the kitchen */
    OVEN_LOST,
    OVEN_STATES
} OvenNode;

enum {
    OVEN_HEATS = 3,               /* bottom, top, ring */
    OVEN_RADIANT = OVEN_DOOR + 1, /* nodes whose mean T^4 is kept */
    OVEN_TRACE_CENTRE = 0,
    OVEN_TRACE_SENSOR = 1,
    OVEN_TRACES = 3, /* the third is the liner */
    OVEN_MOST_SEGMENTS = 6,
    OVEN_MOST_LANES = 8
};

/* Every coefficient of the heat balance: name, how many. kernel_private.h has the equations. */
#define OVEN_NETWORK(X)                                                                                      \
    X(per_capacity, OVEN_NODES) /* K/J */                                                                    \
    X(free, OVEN_STARRED)       /* W/K^1.25 to the air; from the sensor on W/K */                            \
    X(forced, OVEN_STARRED)     /* W/K, by a fan */                                                          \
    X(star, OVEN_STARRED)       /* W/K^4 to the common radiant node */                                       \
    X(star_closed, 1)           /* 1 / sum of star */                                                        \
    X(star_opened, 1)           /* what that grows by with the door open */                                  \
    X(open_star, 1)             /* W/K^4 out of the open door */                                             \
    X(facing, 4)                /* W/K^4: bottom-floor, top-ceiling, ring-walls, door-pane */                \
    X(wool, 5)                  /* W/K at 20 C: floor, walls, ceiling, bottom element; to the skin */        \
    X(wool_slope, 1)            /* 1/K, on the sum of both ends over 20 C */                                 \
    X(metal, 6)                 /* W/K: floor-walls-ceiling, walls-skin, door-pane, core, walls-sensor */    \
    X(outside_free, 2)          /* W/K^1.25: skin, pane */                                                   \
    X(outside_radiate, 2)       /* W/K^4 */                                                                  \
    X(vent, 1)                  /* W/K at air as hot as twice the kitchen's kelvin */                        \
    X(open_vent, 1)             /* the same of the open door */                                              \
    X(wet, 1)                   /* J/K at 100 C: water in the insulation */                                  \
    X(wire, 4)                  /* conductance of the elements' wire over that at work, by kelvin/1000 */    \
    X(ambient, 1)               /* K */                                                                      \
    X(ambient_fourth, 1)        /* K^4 */

typedef struct {
#define X(name, count) double name[count];
    OVEN_NETWORK(X)
#undef X
} OvenNetwork;

/* Watts of the three heats, segment after segment, over and over; until_second rises. Count 0: none. */
typedef struct {
    double until_second[OVEN_MOST_SEGMENTS], watt[OVEN_MOST_SEGMENTS][OVEN_HEATS];
    int count;
} OvenPattern;

typedef struct {
    OvenPattern preheat, heating; /* until the set temperature is first reached; whenever the control calls */
    double idle_watt[OVEN_HEATS]; /* when it does not: 0, unless something sticks */
    double held_watt[OVEN_HEATS]; /* for stick_second after it ceased to call */
    double tripped_watt[OVEN_HEATS]; /* with the temperature cutout open */
    double off_kelvin, on_kelvin;    /* of the sensor */
    double stick_second;             /* so much later than told a contact opens */
    double trip_kelvin,
        reset_kelvin; /* of the walls; infinite where there is no cutout, -infinite: one shot */
} OvenControl;

typedef struct { /* one oven: what a lane of the integration is */
    OvenNetwork network;
    OvenControl control;
} Oven;

enum { OVEN_MOST_OPENINGS = 8 };

typedef struct {
    double second;                      /* how long */
    double step_second;                 /* largest step; 0: OVEN_STEP_SECOND */
    double sample_second;               /* grid of the traces, from 0 on */
    int sample_count;                   /* so many of them */
    double start_celsius, load_celsius; /* of everything, and of what stands on the rack */
    double mean_from_second;            /* means are taken from here to the end */
    double open_from_second[OVEN_MOST_OPENINGS],
        open_until_second[OVEN_MOST_OPENINGS]; /* the door, in order */
    int opening_count;
} OvenTerms;

#define OVEN_STEP_SECOND  4.0
#define OVEN_ZERO_CELSIUS 273.15

typedef enum { OVEN_SINGLE, OVEN_DOUBLE, OVEN_SCALAR } OvenPrecision; /* 8 floats, 4 doubles, one double */

typedef struct {
    float *trace[OVEN_TRACES]; /* in: [sample_count] celsius, or NULL: not wanted */
    float *watt[OVEN_HEATS];   /* in: likewise; at work, without the change with temperature */
    double *switch_second;     /* in: [switch_room] or NULL: when the control called or ceased to */
    int switch_room;
    double mean_fourth[OVEN_RADIANT]; /* K^4 */
    double end_celsius[OVEN_NODES];
    double given_joule, lost_joule;
    int switch_count; /* also beyond switch_room */
} OvenRun;

/* Integrates any number of ovens over the same terms; each run comes out as if it were alone, bit for bit. */
void oven_simulate(const Oven *const *ovens, OvenRun *runs, int count, const OvenTerms *terms,
                   OvenPrecision precision);

/* The same right-hand side for other integrators: rates (K/s, W) of the state (K, J) with these watts. */
void oven_rates(const OvenNetwork *network, const double watt[OVEN_HEATS], bool is_open,
                const double state[OVEN_STATES], double rate[OVEN_STATES]);

/* Joules in all nodes above `celsius`, without the water in the insulation. */
double oven_stored_joule(const OvenNetwork *network, const double celsius_of[OVEN_NODES], double celsius);

#endif
