/* history.c: how a store's calls went, and what is to be expected of an appliance. */
#include "edge/desk/desk_private.h"

static bool find_figures(Store *store, const char *appliance, Arena *arena, HistoryFigures *figures,
                         Error *error)
{
    StoreOutcome *outcomes;
    int count;
    if (!store_outcomes(store, arena, &outcomes, &count, error)) return false;
    HistoryCall *calls = ARENA_ARRAY(arena, HistoryCall, (size_t)count);
    if (!calls) return error_memory(error);
    for (int c = 0; c < count; c++)
        calls[c] = (HistoryCall){.family = appliance && !text_equal(outcomes[c].appliance, appliance),
                                 .closings = outcomes[c].closings,
                                 .visits = outcomes[c].visits,
                                 .minute = outcomes[c].minute,
                                 .said = outcomes[c].said,
                                 .has_said = outcomes[c].said >= 0,
                                 .came = outcomes[c].came};
    *figures = history_figures(calls, count, appliance ? 0 : -1);
    return true;
}

static bool find_expected(Store *store, const HistoryTerms *terms, const char *name, Arena *arena,
                          HistoryAnswer *answer, Error *error)
{
    Appliance appliance;
    DeskLearned learned;
    if (!desk_load_appliance(name, NULL, 0, arena, &appliance, error) ||
        !desk__learn(store, terms, name, arena, &appliance, &learned, error))
        return false;
    const char **faults = ARENA_ARRAY(arena, const char *, (size_t)appliance.fault_count + 1);
    if (!faults) return error_memory(error);
    faults[0] = "nothing-wrong";
    for (int f = 0; f < appliance.fault_count; f++) faults[f + 1] = appliance.faults[f].name;
    *answer = (HistoryAnswer){.appliance = name,
                              .faults = faults,
                              .before = learned.before,
                              .now = learned.now,
                              .counts = learned.counts,
                              .fault_count = appliance.fault_count + 1,
                              .calls = learned.calls,
                              .all = learned.all,
                              .share = learned.share};
    return true;
}

bool desk_history(Store *store, const HistoryTerms *terms, const char *appliance, Arena *arena,
                  HistoryAnswer *answer, Error *error)
{
    HistoryFigures *figures = ARENA_ARRAY(arena, HistoryFigures, 1);
    *answer = (HistoryAnswer){.fault_count = 0};
    if (!figures) return error_memory(error);
    if (!find_figures(store, appliance, arena, figures, error) ||
        (appliance && !find_expected(store, terms, appliance, arena, answer, error)))
        return false;
    answer->figures = figures;
    return true;
}
