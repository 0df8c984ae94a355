/* made.h: small appliances made of a few branches, for checks by hand.
 *
 * Lives here: the plain structs of an appliance filled in without any file. Every branch is a part of its
 * own, wiring or not; mark 0 is the earth. Ownership: a Made holds everything; it must not be copied. */
#ifndef CIRCUIT_SUPPORT_MADE_H
#define CIRCUIT_SUPPORT_MADE_H

#include "core/appliance/appliance.h"

enum { MADE_MOST_MARKS = 32, MADE_MOST_BRANCHES = 64, MADE_MOST_FAULTS = 200 };

typedef struct {
    Appliance appliance;
    Description description;
    Mark marks[MADE_MOST_MARKS];
    Branch branches[MADE_MOST_BRANCHES];
    Part parts[MADE_MOST_BRANCHES];
    Fault faults[MADE_MOST_FAULTS];
    FaultMode modes[MADE_MOST_FAULTS];
    Function off;
} Made;

/* An appliance of `marks` marks, the earth among them, and no branches; 60 Hz. */
void made_begin(Made *made, int marks);
/* Adds things; each gives its number. A leg comes from the earth, with volts and degrees against it. */
int made_leg(Made *made, int to, double ohm, double volt, double degree);
int made_branch(Made *made, BranchType type, int from, int to, double ohm);
int made_wire(Made *made, int from, int to, double ohm); /* comes off when a mark is lifted */
/* A fault of one severity, so its number is its variant's, too. */
int made_fault(Made *made, int branch, EffectType effect, double severity);

#endif
