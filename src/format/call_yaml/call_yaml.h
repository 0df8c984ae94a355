/* call_yaml.h: one visit as a file (doc/interface.md), read into a Call.
 *
 * Lives here: the head of a call file and its entries, with names turned into the appliance's numbers.
 * Not here: which entries may stand (core/call judges, this room adds the place), opening files, finding
 * the appliance that a call names, temperature logs (the file's name is kept as written).
 * Units: SI after reading. Ownership: the call lives in the arena and points into the appliance; the bytes
 * may go afterwards. A call names its appliance, so it is read in two steps: the head, which needs none,
 * then the whole once the appliance is built. */
#ifndef FORMAT_CALL_YAML_H
#define FORMAT_CALL_YAML_H

#include "base/arena.h"
#include "base/error.h"
#include "base/text.h"
#include "core/call/call.h"

/* Title, appliance's name, rating plate, ambient temperature (22 celsius when not given) and meter
 * (meter_default where not given); no entries. The file is checked as YAML to its end. */
bool call_yaml_read_head(const char *file, Text bytes, Arena *arena, Call *call, Error *error) MUST_CHECK;

/* The same with the entries, each checked by call_check_entry. */
bool call_yaml_read(const char *file, Text bytes, const Appliance *appliance, Arena *arena, Call *call,
                    Error *error) MUST_CHECK;

/* One more entry at the end of a call, written as it would stand in the file (`{look: bake-element, sees:
 * dark}`): to ask what would follow from it. Nothing is written anywhere; the call's own entries stay as they
 * are. */
bool call_yaml_imagine(const char *file, Text bytes, const Appliance *appliance, Arena *arena, Call *call,
                       Error *error) MUST_CHECK;

#endif
