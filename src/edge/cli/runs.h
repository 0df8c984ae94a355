/* runs.h: the temperature logs that a call names, read and analysed.
 *
 * Lives here: finding a log beside its call, and what is assumed of the thermometer. Not here: reading it
 * (format/log_text), what it says (core/run), what that means (core/diagnosis). Ownership: the caller's
 * arena. */
#ifndef EDGE_CLI_RUNS_H
#define EDGE_CLI_RUNS_H

#include "base/text.h"
#include "core/call/call.h"

/* The bytes of the log that entry number `entry` names, and its name for messages; ERROR_IO when they cannot
 * be had. */
typedef bool RunsRead(void *context, const char *name, int entry, Arena *arena, Text *bytes,
                      const char **source, Error *error);

/* From the folder of the call's file; the context is its path, a const char *. */
RunsRead runs_read_beside;

/* Gives every run of the call its figures. A log that cannot be had leaves its run without figures, so that
 * the other entries still count, and a line in `notes`; one that cannot be read is an error with its line. */
bool runs_load(const char *call_name, RunsRead *read, void *context, Arena *arena, Call *call,
               TextBuilder *notes, Error *error) MUST_CHECK;

#endif
