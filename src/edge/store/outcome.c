/* outcome.c: what closed calls teach, as the history wants it (core/history). */
#include "edge/store/store_private.h"

#include <string.h>

static const char *copy(Arena *arena, const StoreValue *value)
{
    return arena_copy_text(arena, value->text ? value->text : "", value->length);
}

typedef struct {
    Arena *arena;
    StoreConfirmed *confirmed;
    StoreOutcome *outcomes;
    int count, room;
} Taking;

static bool take_confirmed(void *context, const StoreValue *columns, Error *error)
{
    Taking *taking = context;
    if (taking->count == taking->room) return true;
    StoreConfirmed *one = &taking->confirmed[taking->count++];
    *one = (StoreConfirmed){copy(taking->arena, &columns[0]), copy(taking->arena, &columns[1]),
                            (int)columns[2].number};
    return (one->appliance && one->confirmed) || error_memory(error);
}

bool store_confirmed(Store *store, Arena *arena, StoreConfirmed **confirmed, int *count, Error *error)
{
    Taking taking = {.arena = arena, .room = 20000};
    taking.confirmed = ARENA_ARRAY(arena, StoreConfirmed, (size_t)taking.room);
    if (!taking.confirmed) return error_memory(error);
    if (!store__run(store,
                    "SELECT appliance, confirmed, count(*) FROM call WHERE confirmed <> ''"
                    " GROUP BY confirmed, appliance ORDER BY confirmed, appliance",
                    NULL, 0, take_confirmed, &taking, NULL, error))
        return false;
    *confirmed = taking.confirmed;
    *count = taking.count;
    return true;
}

/* The same appliance's name is kept once for a run of calls. */
static bool take_outcome(void *context, const StoreValue *columns, Error *error)
{
    Taking *taking = context;
    if (taking->count == taking->room) return true;
    StoreOutcome *one = &taking->outcomes[taking->count];
    const char *before = taking->count > 0 ? one[-1].appliance : NULL;
    const bool is_same = before && text_is((Text){columns[0].text, columns[0].length}, before);
    *one = (StoreOutcome){.appliance = is_same ? before : copy(taking->arena, &columns[0]),
                          .closings = (int)columns[1].number,
                          .visits = (int)columns[2].number,
                          .minute = (double)columns[3].number / 60,
                          .said = (double)columns[4].number / 1e6,
                          .came = columns[5].number != 0};
    taking->count++;
    return one->appliance || error_memory(error);
}

bool store_outcomes(Store *store, Arena *arena, StoreOutcome **outcomes, int *count, Error *error)
{
    int64_t calls = 0;
    Taking taking = {.arena = arena};
    if (!store__ask(store, "SELECT count(*) FROM call WHERE closings > 0", NULL, 0, &calls, error))
        return false;
    taking.room = (int)calls;
    taking.outcomes = ARENA_ARRAY(arena, StoreOutcome, (size_t)calls);
    if (!taking.outcomes) return error_memory(error);
    if (!store__run(store,
                    "SELECT appliance, closings, visits, work_second, said_millionth, came FROM call"
                    " WHERE closings > 0 ORDER BY appliance",
                    NULL, 0, take_outcome, &taking, NULL, error))
        return false;
    *outcomes = taking.outcomes;
    *count = taking.count;
    return true;
}
