/* customs.h: what a technician without a computer knows of an appliance.
 *
 * Lives here: which check tests which branch of the wiring diagram, what a good reading is, what a sound part
 * looks like, which parts lie between the mains and an element, how a sound oven of this type runs. Not here:
 * in which order it is used (customary.c). Ownership: see policy.h. */
#ifndef CALLS_CUSTOMS_H
#define CALLS_CUSTOMS_H

#include "policy.h"

enum { CUSTOMS_MOST_CHAIN = 64, CUSTOMS_MOST_HEATS = 8 };

/* Branches in series with something, in the order in which custom tests them. */
typedef struct {
    int branches[CUSTOMS_MOST_CHAIN], count;
} Chain;

/* Is the entry what this check shows of a sound oven? Doubt counts for the part. */
bool customs_is_sound(Customs *customs, int check, const Entry *entry, bool *sound, Error *error) MUST_CHECK;

typedef enum { RUN_SOUND, RUN_OFF, RUN_WIDE, RUN_SLOW, RUN_COLD, RUN_HOT } RunSign;
/* `off_kelvin`: so far from what was set an oven is let be. */
RunSign customs_judge_run(const Customs *customs, const Run *run, double off_kelvin);

/* The check that tests a branch as custom has it: ohms across it, or, where a control works the contact, the
 * volts that are left across it while it should conduct. -1: there is none. */
int customs_test_of(const Customs *customs, int branch);
/* Volts across a contact that should be open, with everything off; ohms for one worked by hand. -1: none. */
int customs_test_open(const Customs *customs, int branch);

/* The first check of this kind on a part, in any function; -1: none. */
int customs_find(const Customs *customs, CheckKind kind, int part);
/* Ohms from a part to the frame: its insulation. -1: none. */
int customs_find_insulation(const Customs *customs, int part);
/* Volts between two marks with everything off; -1: none. */
int customs_find_volt(const Customs *customs, int from, int to);

/* What has to conduct so that the branch gets power in the function. */
void customs_chain(const Customs *customs, int branch, int function, Chain *chain);
/* The function in which a branch first has power; 0: none. */
int customs_function_of(const Customs *customs, int branch);

int customs_rank(const Appliance *appliance, int part); /* in which order a chain is tested */

#endif
