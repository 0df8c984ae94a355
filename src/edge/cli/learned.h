/* learned.h: what the closed calls of a store teach about an appliance.
 *
 * Lives here: from the store's counts to the families of core/history, and its weights into an appliance. Not
 * here: the arithmetic (core/history), what was confirmed (edge/store). A family is an appliance file; calls
 * on a file that cannot be read any more teach nothing. Ownership: the caller's arena. */
#ifndef EDGE_CLI_LEARNED_H
#define EDGE_CLI_LEARNED_H

#include "core/appliance/appliance.h"
#include "core/history/history.h"
#include "edge/store/store.h"

typedef struct {
    HistoryShare share;                  /* where the chances come from */
    int calls, all;                      /* with something confirmed: on this appliance, on any */
    const double *before, *now, *counts; /* [fault_count + 1]; 0 is 'nothing wrong' */
} Learned;

/* Moves the chances of the appliance's faults, whose file is `name`. With nothing confirmed they stay as they
 * are, to the bit. */
bool learned_apply(Store *store, const HistoryTerms *terms, const char *name, Arena *arena,
                   Appliance *appliance, Learned *learned, Error *error) MUST_CHECK;

#endif
