/* load.h: what options of the command line stand for.
 *
 * Lives here: the rating plate given by options, the terms of --terms. Not here: finding and reading them
 * (edge/desk). Ownership: everything lives in the invocation's arena or in the program. */
#ifndef EDGE_CLI_LOAD_H
#define EDGE_CLI_LOAD_H

#include "edge/cli/command.h"
#include "edge/desk/desk.h"

/* The appliance of that name or path, with the plate given by --plate and --supply options. */
bool load_appliance_with_options(const Invocation *invocation, const char *name, Appliance *appliance,
                                 Error *error) MUST_CHECK;

/* What the shop's minutes cost and how much its history weighs (NULL: not asked for): the file of the --terms
 * option, or the program's own. */
bool load_terms(const Invocation *invocation, PlanTerms *terms, HistoryTerms *history,
                Error *error) MUST_CHECK;

#endif
