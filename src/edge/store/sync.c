/* sync.c: one store gets what another has.
 *
 * A store knows of each other one up to which arrival it has had everything, and what the other's chain was
 * there. While the chain still agrees, only what came later is looked at. Where it does not (the other is a
 * copy that went its own way, or was put back to an older state) everything is looked at again: the union
 * makes that harmless.
 *
 * Records go in batches, each with its attachments before it and the new mark within the same transaction, so
 * an interrupted exchange goes on where it was. Bad at: a call of many records may for a moment be there in
 * part, when a batch ends within it. */
#include "edge/store/store_private.h"

#include <string.h>

typedef struct {
    int64_t arrival, chain, customer;
} Mark;

static bool take_mark(void *context, const StoreValue *columns, Error *error)
{
    (void)error;
    *(Mark *)context = (Mark){columns[0].number, columns[1].number, columns[2].number};
    return true;
}

/* From the beginning, where the other store is not what it was. */
static bool read_mark(Store *store, Store *from, Mark *mark, Error *error)
{
    const StoreValue peer[] = {store__text(from->id)};
    int64_t chain = 0;
    *mark = (Mark){0, 0, 0};
    if (!store__run(store, "SELECT arrival, chain, customer FROM peer WHERE store = $1", peer, 1, take_mark,
                    mark, NULL, error))
        return false;
    const StoreValue arrival[] = {store__number(mark->arrival)};
    if (!store__ask(from, "SELECT chain FROM record WHERE arrival = $1", arrival, 1, &chain, error))
        return false;
    if (chain != mark->chain) *mark = (Mark){0, 0, 0};
    return true;
}

static bool write_mark(Store *store, const Store *from, const Mark *mark, Error *error)
{
    const StoreValue values[] = {store__text(from->id), store__number(mark->arrival),
                                 store__number(mark->chain), store__number(mark->customer)};
    return store__run(store,
                      "INSERT INTO peer (store, arrival, chain, customer) VALUES ($1, $2, $3, $4)"
                      " ON CONFLICT (store) DO UPDATE SET arrival = excluded.arrival, chain = excluded.chain,"
                      " customer = excluded.customer",
                      values, 4, NULL, NULL, NULL, error);
}

static bool move_attachment(Store *store, Store *from, const char *hash, Error *error)
{
    const StoreValue values[] = {store__text(hash)};
    int64_t there = 0;
    char written[TRAIL_HASH_SIZE];
    if (!hash[0]) return true;
    if (!store__ask(store, "SELECT count(*) FROM attachment WHERE hash = $1", values, 1, &there, error))
        return false;
    if (there) return true;
    Arena arena = arena_new((size_t)2 * STORE_MOST_ATTACHMENT);
    Text bytes;
    const bool went_well = store_read_attachment(from, hash, &arena, &bytes, error) &&
                           store_attach(store, bytes, written, error);
    arena_free(&arena);
    return went_well;
}

/* With the mark, or not at all. */
static bool add_batch(Store *store, const Store *from, const TrailRecord *records, int count,
                      const Mark *mark, int *taken, Error *error)
{
    int added = 0;
    const bool went_well =
        store__begin(store, error) && store__end(store,
                                                 store__append(store, records, count, &added, error) &&
                                                     write_mark(store, from, mark, error),
                                                 error);
    if (went_well) *taken += added;
    return went_well;
}

/* `count` is 0 once there is nothing more. */
static bool move_batch(Store *store, Store *from, Mark *mark, int *taken, int *count, Error *error)
{
    Arena arena = arena_new((size_t)STORE__BATCH << 18);
    TrailRecord *records;
    bool went_well = store__read_arrivals(from, mark->arrival, STORE__BATCH, &arena, &records, count,
                                          &mark->arrival, error);
    const StoreValue arrival[] = {store__number(mark->arrival)};
    if (went_well && *count > 0)
        went_well =
            store__ask(from, "SELECT chain FROM record WHERE arrival = $1", arrival, 1, &mark->chain, error);
    for (int r = 0; went_well && r < *count; r++)
        went_well = move_attachment(store, from, records[r].attachment, error);
    if (went_well && *count > 0) went_well = add_batch(store, from, records, *count, mark, taken, error);
    arena_free(&arena);
    return went_well;
}

bool store_take(Store *store, Store *from, int *taken, Error *error)
{
    Mark mark;
    *taken = 0;
    if (strcmp(store->id, from->id) == 0 && store->engine == from->engine) return true;
    if (!read_mark(store, from, &mark, error)) return false;
    for (int count = 1; count > 0;)
        if (!move_batch(store, from, &mark, taken, &count, error)) return false;
    const int64_t before = mark.customer;
    if (!store__move_customers(from, store, before, &mark.customer, error)) return false;
    return mark.customer == before ||
           (store__begin(store, error) && store__end(store, write_mark(store, from, &mark, error), error));
}
