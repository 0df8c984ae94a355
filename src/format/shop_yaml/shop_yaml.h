/* shop_yaml.h: what a shop's minutes and mistakes cost, as a file (data/shop/terms.yaml).
 *
 * Lives here: the terms file read into PlanTerms and HistoryTerms. Not here: what the terms do (core/plan,
 * core/history), opening files.
 * Units: seconds, minor units of the appliance's currency. Ownership: names of parts live in the arena; the
 * bytes may go afterwards. */
#ifndef FORMAT_SHOP_YAML_H
#define FORMAT_SHOP_YAML_H

#include "base/arena.h"
#include "base/error.h"
#include "base/text.h"
#include "core/history/history.h"
#include "core/plan/plan.h"

/* All keys but `at-hand` and those of the history must be there: a shop that leaves one out has not thought
 * about it. Names of parts are not looked up, since parts differ from appliance to appliance. `file` is only
 * for errors; `history` may be NULL. */
bool shop_yaml_read_terms(const char *file, Text bytes, Arena *arena, PlanTerms *terms, HistoryTerms *history,
                          Error *error) MUST_CHECK;

#endif
