/* cache.h: what was simulated before, kept between runs of the program.
 *
 * Lives here: where the file is, taking it and keeping it. Not here: what is in it (core/behaviour). The file
 * is $XDG_CACHE_HOME/ovenwright/behaviours, or below ~/.cache; OVENWRIGHT_CACHE names another one, or none
 * with an empty name. It may be deleted at any time; one of another program, or a broken one, is not used; a
 * cache that cannot be written is no error, it only saves time. */
#ifndef EDGE_CLI_CACHE_H
#define EDGE_CLI_CACHE_H

#include "core/behaviour/behaviour.h"

/* A memory with what the file holds. False only when memory is out. */
bool cache_open(Arena *arena, BehaviourMemory *memory, Error *error) MUST_CHECK;

/* Keeps it, if anything was simulated since. */
void cache_keep(BehaviourMemory *memory);

#endif
