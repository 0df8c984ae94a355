/* oven_private.h: what the files of this room share. */
#ifndef CORE_OVEN_PRIVATE_H
#define CORE_OVEN_PRIVATE_H

#include "core/oven/oven.h"

#include <stdint.h>

#define OVEN_BOILING_KELVIN   15.0   /* half width of the band in which water in the insulation boils off */
#define OVEN_ROOM_KELVIN      293.15 /* where materials are measured */
#define OVEN_OPEN_STEP_SECOND 1.0    /* with the door open the air is exchanged within seconds */
#define OVEN_CALM_SECOND      20.0   /* and as quickly heated by the walls for so long after */
#define OVEN_EDGE_SECOND      1e-4   /* instants nearer than this are one */

/* What a control watches: the sensor, the walls. */
enum { OVEN_CALLS, OVEN_TRIPS, OVEN_WATCHED };

typedef enum { OVEN_SWITCH_NONE, OVEN_SWITCH_CALL, OVEN_SWITCH_TRIP } OvenSwitch;

/* What one lane's control remembers. */
typedef struct {
    const Oven *oven;
    OvenRun *run; /* NULL: a spare lane, which stands still */
    bool is_calling, is_tripped, is_open, is_preheating;
    double step_second;    /* the largest */
    double release_second; /* a contact that was told to open holds until then */
    double calm_second;    /* steps are short until then */
    int sample_count, switch_count;
} OvenLane;

void oven__start(OvenLane *lane, const Oven *oven, OvenRun *run, const OvenTerms *terms);
/* Until when a lane may go from `second` without anything that its clock brings; `second` itself at the end.
 */
double oven__until(const OvenLane *lane, double second, const OvenTerms *terms);
double oven__longest_step(const OvenLane *lane, double second);
/* The control has switched; the door is where it is at `second`. */
void oven__switch(OvenLane *lane, OvenSwitch what, double second, const OvenTerms *terms);
/* Watts at `second`. */
void oven__watts(const OvenLane *lane, double second, double watt[OVEN_HEATS]);

/* The three widths; `_wide` are the same code for processors with 256-bit vectors. */
typedef void OvenKernel(const Oven *const *ovens, OvenRun *runs, int count, const OvenTerms *terms);
OvenKernel oven__run_scalar, oven__run_double, oven__run_single, oven__run_double_wide, oven__run_single_wide;

#endif
