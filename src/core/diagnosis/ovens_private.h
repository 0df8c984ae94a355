/* ovens_private.h: the ovens of hypotheses, made, simulated together, likened to each other.
 *
 * Lives here: what usual.c and nearby.c share. Each hypothesis is an oven (core/thermal); equal ovens are
 * simulated once (core/behaviour), and most faults of the wiring make the same oven: one that lacks its bake
 * element does so whichever wire is broken. Not here: what a log says of them (temperature.c). */
#ifndef CORE_DIAGNOSIS_OVENS_PRIVATE_H
#define CORE_DIAGNOSIS_OVENS_PRIVATE_H

#include "core/diagnosis/diagnosis_private.h"

/* What is needed while the ovens of one set of terms are made. */
typedef struct {
    DiagnosisModel *model;
    Arena scratch; /* of all that is not remembered; the caller frees it, also after a failure */
    const ThermalPower *healthy;
    const ThermalPower **powers; /* [variants], found when first asked for */
    ThermalPower both;           /* of the last pair that needed one of its own */
    int pair[2];
    int function;
    double set_celsius;
    Oven *ovens;
    const Oven **lanes;
    int count;
    bool is_out; /* of memory */
} OvenMaker;

/* Room for `most` ovens at a time; false: memory is out. */
bool diagnosis__begin_maker(DiagnosisModel *model, int function, double set_celsius, size_t most,
                            OvenMaker *maker) MUST_CHECK;
/* What the circuit gives with one fault; maker->healthy itself where that changes nothing. */
const ThermalPower *diagnosis__power_of(OvenMaker *maker, int variant);
/* With both faults, anew only where each changes something; good until the next pair. */
const ThermalPower *diagnosis__power_of_pair(OvenMaker *maker, const int *variants);
/* One more oven, with `count` faults; `family` NULL for a typical one. */
void diagnosis__add_oven(OvenMaker *maker, const int *variants, int count, const ThermalFamily *family);
/* With each trait of the family moved by one standard deviation. */
void diagnosis__add_traits(OvenMaker *maker, const int *variants, int count);
/* What was added since the last time, simulated, in that order; in the maker's scratch. NULL: memory is out.
 */
Behaviour *diagnosis__find_ovens(OvenMaker *maker, const BehaviourTerms *terms, Error *error);

/* An oven that differs from `base` as `to` does from `from`: temperatures by as much, times by as many times;
 * figures that one of them lacks are NAN. */
Behaviour diagnosis__liken(const Behaviour *base, const Behaviour *from, const Behaviour *to);

/* Without behaviours yet; NULL: memory is out. */
Simulated *diagnosis__new_simulated(const DiagnosisModel *model, int function, double set_celsius,
                                    double second, Arena *arena);

#endif
