/* load.h: what a name on the command line stands for.
 *
 * Lives here: finding a shipped appliance or opening a file, the catalogue and the sentences inside the
 * program, the rating plate given by options. Not here: how any of it is written (format), what it means
 * (core). Ownership: everything lives in the caller's arena or in the program. */
#ifndef EDGE_CLI_LOAD_H
#define EDGE_CLI_LOAD_H

#include "core/appliance/appliance.h"
#include "core/history/history.h"
#include "core/plan/plan.h"
#include "edge/cli/command.h"
#include "format/words/words.h"

/* The bytes of a shipped appliance by its name, or of the file at that path; *file is the name for messages.
 * An unknown name is an error that lists the shipped ones. */
bool load_appliance_bytes(const char *name, Arena *arena, const char **file, Text *bytes,
                          Error *error) MUST_CHECK;

/* The appliance of that name or path, with the figures of a rating plate in place of its own. */
bool load_appliance(const char *name, const PlateEntry *plate, int plate_count, Arena *arena,
                    Appliance *appliance, Error *error) MUST_CHECK;

/* The same with the plate given by --plate and --supply options. */
bool load_appliance_with_options(const Invocation *invocation, const char *name, Appliance *appliance,
                                 Error *error) MUST_CHECK;

/* What the shop's minutes cost and how much its history weighs (NULL: not asked for): the file of the --terms
 * option, or the program's own. */
bool load_terms(const Invocation *invocation, PlanTerms *terms, HistoryTerms *history,
                Error *error) MUST_CHECK;

/* The sentences of the program. */
bool load_words(Arena *arena, Words *words, Error *error) MUST_CHECK;

#endif
