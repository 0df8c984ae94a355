/* desk_private.h: what the files of this room share. */
#ifndef EDGE_DESK_PRIVATE_H
#define EDGE_DESK_PRIVATE_H

#include "edge/desk/desk.h"

/* Gives every run of the call its figures. A log that cannot be had leaves its run without figures, so that
 * the other entries still count, and a line in `notes`; one that cannot be read is an error with its line. */
bool desk__load_runs(const char *call_name, DeskReadLog *read, void *context, Arena *arena, Call *call,
                     TextBuilder *notes, Error *error) MUST_CHECK;

/* An appliance of a description, with the figures of a rating plate in place of its own. */
bool desk__build(const char *file, Text bytes, const PlateEntry *plate, int plate_count, Arena *arena,
                 Appliance *appliance, Error *error) MUST_CHECK;

bool desk__analyse(const char *path, Text bytes, const Entry *entry, Arena *arena, LogText *log, Run *run,
                   Error *error) MUST_CHECK;

/* The appliance that the call's head names, with its plate's figures. */
bool desk__load_oven(const DeskSource *source, const Call *call, Arena *arena, Appliance *appliance,
                     Error *error) MUST_CHECK;

/* Moves the chances of the faults of an appliance, whose file is `name`. Calls on a file that cannot be read
 * any more teach nothing; with nothing confirmed the chances stay as they are, to the bit. */
bool desk__learn(Store *store, const HistoryTerms *terms, const char *name, Arena *arena,
                 Appliance *appliance, DeskLearned *learned, Error *error) MUST_CHECK;

typedef struct DeskOven DeskOven;
/* The model and the memory of a call that is read and has its chances: one of `kept`, or laid out there. */
bool desk__find_oven(DeskKept *kept, const DeskSource *source, DeskStanding *stands, Arena *arena,
                     Error *error) MUST_CHECK;

/* A memory of what was simulated before. The file is $XDG_CACHE_HOME/ovenwright/behaviours, or below
 * ~/.cache; OVENWRIGHT_CACHE names another one, or none with an empty name. It may be deleted at any time;
 * one of another program, or a broken one, is not used; one that cannot be written is no error. False only
 * when memory is out. */
bool desk__open_cache(Arena *arena, BehaviourMemory *memory, Error *error) MUST_CHECK;

#endif
