/* thermal_private.h: what the files of this room share. */
#ifndef CORE_THERMAL_PRIVATE_H
#define CORE_THERMAL_PRIVATE_H

#include "core/thermal/thermal.h"

/* That a good gasket leaves all around the door, m; common practice, no source. */
#define THERMAL_GASKET_GAP 0.15e-3

/* What the network is made from, before it is one; areas in m2. */
typedef struct {
    double width, height, depth;             /* of the cavity */
    double floor_area, wall_area, door_area; /* ceiling as floor */
    double gasket_length;
    int panes;
} ThermalSize;

/* The healthy network from the appliance's description. */
bool thermal__build(ThermalModel *model, Error *error) MUST_CHECK;
/* The star's sums, after any of its legs has changed. */
void thermal__sum_star(OvenNetwork *network);

/* The stages of every function. */
bool thermal__stages(ThermalModel *model, Error *error) MUST_CHECK;
/* Watts of the three heats in a stage. */
void thermal__watts(const ThermalModel *model, const CircuitMeter *live, const int *variants, int count,
                    double watt[OVEN_HEATS]);
/* The fan's strength in a stage, 0 to 1. */
double thermal__fan(const ThermalModel *model, const CircuitMeter *live, const int *variants, int count);

/* What family and faults make of a healthy oven. */
void thermal__differ(const ThermalFamily *family, OvenNetwork *network);
/* Factor of a trait: its standard deviation is of the logarithm, so that nothing gets below 0. */
double thermal__ratio(const ThermalFamily *family, ThermalTrait trait);
void thermal__spoil(const ThermalModel *model, const int *variants, int count, Oven *oven);

/* The part that the control senses with, as described; NULL where the file names none that has a description.
 */
const DescribedPart *thermal__sensing(const ThermalModel *model);
/* Is it a tube with a resistance, not a bulb? */
bool thermal__has_tube(const ThermalModel *model);

const Fault *thermal__fault(const ThermalModel *model, int variant);
double thermal__severity(const ThermalModel *model, int variant);

#endif
