/* record.c: records, in and out.
 *
 * Every record that arrives takes the chain a link further: a number made of the one before and its
 * identifier. So two stores find out with one look whether what the one has had of the other is still the
 * beginning of it. */
#include "edge/store/store_private.h"

#include <sodium.h>
#include <stdlib.h>
#include <string.h>

#define RECORD_COLUMNS "id, call, made, author, device, kind, subject, payload, strikes, attachment"

typedef struct {
    Arena *arena;
    TrailRecord *records;
    int count, room;
    int64_t last; /* arrival */
} Reading;

static bool copy_fixed(char *out, size_t size, const StoreValue *value, Error *error)
{
    if (value->is_null) return true;
    if (value->length >= size)
        return error_set(error, ERROR_IO, "a damaged identifier", "a record of the store");
    memcpy(out, value->text, value->length);
    return true;
}

static bool take_record(void *context, const StoreValue *columns, Error *error)
{
    Reading *reading = context;
    if (reading->count == reading->room)
        return error_set(error, ERROR_TOO_LARGE, "a call of that many records", "at most %d", reading->room);
    TrailRecord *record = &reading->records[reading->count++];
    const char **texts[] = {&record->author, &record->device, NULL, &record->subject, &record->payload};
    *record = (TrailRecord){.made_millisecond = columns[2].number};
    for (int i = 0; i < 5; i++) {
        if (!texts[i]) continue;
        *texts[i] = arena_copy_text(reading->arena, columns[3 + i].text, columns[3 + i].length);
        if (!*texts[i]) return error_memory(error);
    }
    if (!trail_kind_of(columns[5].text, &record->kind))
        return error_set(error, ERROR_IO, columns[5].text, "a kind of record that this program knows");
    return copy_fixed(record->id, sizeof record->id, &columns[0], error) &&
           copy_fixed(record->call, sizeof record->call, &columns[1], error) &&
           copy_fixed(record->strikes, sizeof record->strikes, &columns[8], error) &&
           copy_fixed(record->attachment, sizeof record->attachment, &columns[9], error);
}

static bool take_arrival(void *context, const StoreValue *columns, Error *error)
{
    Reading *reading = context;
    reading->last = columns[10].number;
    return take_record(context, columns, error);
}

bool store_read_call(Store *store, const char *call, Arena *arena, TrailRecord **records, int *count,
                     Error *error)
{
    const StoreValue values[] = {store__text(call)};
    int64_t room = 0;
    Reading reading = {.arena = arena};
    if (!store__ask(store, "SELECT count(*) FROM record WHERE call = $1", values, 1, &room, error))
        return false;
    if (room > STORE_MOST_CALL_RECORDS)
        return error_set(error, ERROR_TOO_LARGE, "a call of too many records", "at most %d",
                         STORE_MOST_CALL_RECORDS);
    /* another process may add some between the two statements: they are of the next reading */
    reading.records = ARENA_ARRAY(arena, TrailRecord, (size_t)room + 1);
    reading.room = (int)room;
    if (!reading.records) return error_memory(error);
    const StoreValue limited[] = {store__text(call), store__number(room)};
    if (!store__run(store, "SELECT " RECORD_COLUMNS " FROM record WHERE call = $1 ORDER BY made, id LIMIT $2",
                    limited, 2, take_record, &reading, NULL, error))
        return false;
    *records = reading.records;
    *count = reading.count;
    return true;
}

bool store__read_arrivals(Store *store, int64_t after, int most, Arena *arena, TrailRecord **records,
                          int *count, int64_t *last, Error *error)
{
    const StoreValue values[] = {store__number(after), store__number(most)};
    Reading reading = {.arena = arena, .room = most, .last = after};
    reading.records = ARENA_ARRAY(arena, TrailRecord, (size_t)most);
    if (!reading.records) return error_memory(error);
    if (!store__run(store,
                    "SELECT " RECORD_COLUMNS
                    ", arrival FROM record WHERE arrival > $1 ORDER BY arrival LIMIT $2",
                    values, 2, take_arrival, &reading, NULL, error))
        return false;
    *records = reading.records;
    *count = reading.count;
    *last = reading.last;
    return true;
}

bool store_each(Store *store, StoreEach *each, void *context, Error *error)
{
    int count = 1;
    bool went_well = true;
    for (int64_t last = 0; count > 0 && went_well;) {
        Arena arena = arena_new((size_t)STORE__BATCH << 18);
        TrailRecord *records;
        went_well = store__read_arrivals(store, last, STORE__BATCH, &arena, &records, &count, &last, error) &&
                    (count == 0 || each(context, records, count, error));
        arena_free(&arena);
    }
    return went_well;
}

/* ---- adding */

/* Half of a SHA-256 (FIPS 180-4), as a number that both engines can hold. */
int64_t store__next_chain(int64_t chain, const char *id)
{
    unsigned char link[sizeof chain + TRAIL_ID_SIZE] = {0}, digest[crypto_hash_sha256_BYTES];
    uint64_t next = 0;
    for (size_t i = 0; i < sizeof chain; i++) link[i] = (unsigned char)((uint64_t)chain >> (56 - 8 * i));
    memcpy(&link[sizeof chain], id, strlen(id) < TRAIL_ID_SIZE ? strlen(id) : TRAIL_ID_SIZE);
    crypto_hash_sha256(digest, link, sizeof link);
    for (int i = 0; i < 8; i++) next = next << 8 | digest[i];
    return (int64_t)(next >> 1); /* never negative */
}

/* The same identifier is there already: with the same content, or the whole append is refused. */
static bool hold_same(Store *store, const TrailRecord *record, Error *error)
{
    Arena arena = arena_new((size_t)1 << 20);
    Reading reading = {.arena = &arena, .room = 1, .records = ARENA_ARRAY(&arena, TrailRecord, 1)};
    const StoreValue values[] = {store__text(record->id)};
    Trail trail;
    const bool is_same = (reading.records || error_memory(error)) &&
                         store__run(store, "SELECT " RECORD_COLUMNS " FROM record WHERE id = $1", values, 1,
                                    take_record, &reading, NULL, error) &&
                         trail_merge(reading.records, reading.count, record, 1, &arena, &trail, error);
    arena_free(&arena);
    return is_same;
}

static bool insert(Store *store, const TrailRecord *record, int64_t *chain, int *added, Error *error)
{
    const StoreValue call[] = {store__text(record->call)};
    const int64_t next = store__next_chain(*chain, record->id);
    const StoreValue values[] = {store__text(record->id),
                                 store__text(record->call),
                                 store__number(record->made_millisecond),
                                 store__text(record->author),
                                 store__text(record->device),
                                 store__text(trail_kind_name(record->kind)),
                                 store__text(record->subject),
                                 store__text(record->payload),
                                 store__text_or_null(record->strikes),
                                 store__text_or_null(record->attachment),
                                 store__number(next)};
    int changed = 0;
    if (!trail_check(record, error)) return false;
    if (!store__run(store, "INSERT INTO call (id) VALUES ($1) ON CONFLICT (id) DO NOTHING", call, 1, NULL,
                    NULL, NULL, error) ||
        !store__run(store,
                    "INSERT INTO record (" RECORD_COLUMNS ", chain)"
                    " VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11) ON CONFLICT (id) DO NOTHING",
                    values, 11, NULL, NULL, &changed, error))
        return false;
    *added += changed;
    if (changed == 1) *chain = next;
    return changed == 1 || hold_same(store, record, error);
}

static int by_call(const void *a, const void *b)
{
    return strcmp((*(const TrailRecord *const *)a)->call, (*(const TrailRecord *const *)b)->call);
}

/* Each call that the records belong to, once. */
static bool refresh_calls(Store *store, const TrailRecord *records, int count, Error *error)
{
    Arena arena = arena_new((size_t)(count + 1) * sizeof(void *) + (1 << 16));
    const TrailRecord **sorted = ARENA_ARRAY(&arena, const TrailRecord *, (size_t)count);
    bool went_well = sorted || error_memory(error);
    for (int r = 0; r < count && went_well; r++) sorted[r] = &records[r];
    if (went_well) qsort(sorted, (size_t)count, sizeof *sorted, by_call);
    for (int r = 0; r < count && went_well; r++)
        if (r == 0 || by_call(&sorted[r - 1], &sorted[r]) != 0)
            went_well = store__refresh(store, sorted[r]->call, error);
    arena_free(&arena);
    return went_well;
}

/* What was there already changes no call, so nothing is worked out anew. */
bool store__append(Store *store, const TrailRecord *records, int count, int *added, Error *error)
{
    int64_t chain = 0;
    *added = 0;
    if (!store__ask(store, "SELECT chain FROM record ORDER BY arrival DESC LIMIT 1", NULL, 0, &chain, error))
        return false;
    for (int r = 0; r < count; r++)
        if (!insert(store, &records[r], &chain, added, error)) return false;
    return *added == 0 || refresh_calls(store, records, count, error);
}

static bool attach_and_append(Store *store, const TrailRecord *records, int count, const Text *attachments,
                              int attachment_count, int *added, Error *error)
{
    char hash[TRAIL_HASH_SIZE];
    for (int a = 0; a < attachment_count; a++)
        if (!store_attach(store, attachments[a], hash, error)) return false;
    return store__append(store, records, count, added, error);
}

bool store_append_attached(Store *store, const TrailRecord *records, int count, const Text *attachments,
                           int attachment_count, int *added, Error *error)
{
    *added = 0;
    const bool went_well =
        store__begin(store, error) &&
        store__end(store,
                   attach_and_append(store, records, count, attachments, attachment_count, added, error),
                   error);
    if (!went_well) *added = 0;
    return went_well;
}

bool store_append(Store *store, const TrailRecord *records, int count, int *added, Error *error)
{
    return store_append_attached(store, records, count, NULL, 0, added, error);
}
