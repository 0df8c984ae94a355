/* baked.h: an oven of a model's appliance, drawn from its family, baked and logged as a technician would.
 *
 * Lives here: the draw of the family's traits, the simulated log with a thermometer's errors, its figures.
 * Not here: what the figures mean (diagnosis). A test that uses it links core_diagnosis. Failing to simulate
 * fails the test. */
#ifndef SUPPORT_BAKED_H
#define SUPPORT_BAKED_H

#include "base/random.h"
#include "core/diagnosis/diagnosis.h"

/* 350 F, from the kitchen's temperature, two hours, a value every five seconds. */
#define BAKED_SET_CELSIUS 176.67
#define BAKED_SECOND      7200.0
#define BAKED_EVERY       5.0

/* How the drawn ovens and the thermometer differ from the typical. */
typedef struct {
    double traits;       /* standard deviations of a trait, in those that the diagnosis assumes */
    double probe;        /* share of the limits of a thermocouple of class 2, IEC 60584-1 */
    double noise_kelvin; /* of every value, standard deviation */
    bool at_sensor;      /* is a second thermometer there, too? one of its own, within the same limits */
} BakedTerms;

/* The log of one such oven with these faults (numbers in the circuit's variants), in the usual function,
 * analysed. What `run` points to lives in the arena. */
void baked_run(const DiagnosisModel *model, const int *variants, int count, const BakedTerms *terms,
               RandomStream *stream, Arena *arena, Run *run);

/* The entry that such a run is. */
Entry baked_entry(const DiagnosisModel *model, const Run *run);

#endif
