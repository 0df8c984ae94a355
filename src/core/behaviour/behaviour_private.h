/* behaviour_private.h: what the files of this room share. */
#ifndef CORE_BEHAVIOUR_PRIVATE_H
#define CORE_BEHAVIOUR_PRIVATE_H

#include "core/behaviour/behaviour.h"

/* Simulates all of them, whatever the memory knows. */
void behaviour__simulate(const Oven *const *ovens, int count, const BehaviourTerms *terms,
                         Behaviour *behaviours);

#endif
