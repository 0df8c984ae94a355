/* store.c: opening, and adding and reading records; see store.h. */
#include "edge/store/store_private.h"

#include <sodium.h>
#include <stdlib.h>
#include <string.h>

StoreValue store__text(const char *text)
{
    return (StoreValue){.text = text ? text : "", .length = text ? strlen(text) : 0};
}

StoreValue store__text_or_null(const char *text)
{
    return text && text[0] ? store__text(text) : (StoreValue){.is_null = true};
}

StoreValue store__number(int64_t number) { return (StoreValue){.number = number}; }

bool store__run(Store *store, const char *sql, const StoreValue *values, int value_count, StoreRow *row,
                void *context, int *changed, Error *error)
{
    return store->engine->run(store->engine, sql, values, value_count, row, context, changed, error);
}

bool store__begin(Store *store, Error *error)
{
    return store__run(store, store->engine->begin, NULL, 0, NULL, NULL, NULL, error);
}

/* A commit that fails is taken back, so that the next transaction can begin; the first error is the one to
 * tell. */
bool store__end(Store *store, bool went_well, Error *error)
{
    if (went_well && store__run(store, "COMMIT", NULL, 0, NULL, NULL, NULL, error)) return true;
    Error ignored = {.code = ERROR_NONE};
    if (!store__run(store, "ROLLBACK", NULL, 0, NULL, NULL, NULL, &ignored)) return false;
    return false;
}

/* ---- opening */

static bool take_number(void *context, const StoreValue *columns, Error *error)
{
    (void)error;
    *(int64_t *)context = columns[0].text ? strtoll(columns[0].text, NULL, 10) : columns[0].number;
    return true;
}

static bool make_schema(Store *store, Error *error)
{
    const StoreValue version[] = {store__text("1")};
    for (int i = 0; store->engine->schema[i]; i++)
        if (!store__run(store, store->engine->schema[i], NULL, 0, NULL, NULL, NULL, error)) return false;
    return store__run(store, "INSERT INTO meta (key, value) VALUES ('schema', $1)", version, 1, NULL, NULL,
                      NULL, error);
}

/* A file with tables of somebody else's is no store, and stays as it is. */
static bool meet(Store *store, bool may_create, Error *error)
{
    int64_t tables = 0, ours = 0, version = 0;
    if (!store__run(store, "SELECT count(*) FROM sqlite_schema WHERE type = 'table'", NULL, 0, take_number,
                    &tables, NULL, error) ||
        !store__run(store, "SELECT count(*) FROM sqlite_schema WHERE type = 'table' AND name = 'meta'", NULL,
                    0, take_number, &ours, NULL, error))
        return false;
    if (tables == 0 && may_create) return make_schema(store, error);
    if (ours == 0)
        return error_set(error, ERROR_IO, "a database of something else", "a store of calls, or no file yet");
    if (!store__run(store, "SELECT value FROM meta WHERE key = 'schema'", NULL, 0, take_number, &version,
                    NULL, error))
        return false;
    if (version == STORE_SCHEMA) return true;
    if (version > STORE_SCHEMA) {
        error_set(error, ERROR_IO, "a store of a newer version of this program", "schema %d or older",
                  STORE_SCHEMA);
        return error_hint(error, "Use the newer program; this one leaves the file as it is.");
    }
    return error_set(error, ERROR_IO, "a store without a version", "a store of calls");
}

bool store_open(const char *path, bool may_create, Store **store, Error *error)
{
    Store *opened = calloc(1, sizeof *opened);
    if (!opened) return error_memory(error);
    if (sodium_init() < 0) {
        free(opened);
        return error_set(error, ERROR_DEFECT, "the library of hashes", "one that can be used");
    }
    bool went_well = store__open_sqlite(path, may_create, &opened->engine, error);
    if (went_well)
        went_well = store__begin(opened, error) && store__end(opened, meet(opened, may_create, error), error);
    if (went_well) {
        *store = opened;
        return true;
    }
    error_at(error, path, 0, 0);
    store_close(opened);
    return false;
}

void store_close(Store *store)
{
    if (!store) return;
    if (store->engine) store->engine->close(store->engine);
    free(store);
}

/* ---- reading */

#define RECORD_COLUMNS "id, call, made, author, device, kind, subject, payload, strikes, attachment"

typedef struct {
    Arena *arena;
    TrailRecord *records;
    int count, room;
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

bool store_read_call(Store *store, const char *call, Arena *arena, TrailRecord **records, int *count,
                     Error *error)
{
    const StoreValue values[] = {store__text(call)};
    int64_t room = 0;
    Reading reading = {.arena = arena};
    if (!store__run(store, "SELECT count(*) FROM record WHERE call = $1", values, 1, take_number, &room, NULL,
                    error))
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

/* ---- adding */

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

static bool insert(Store *store, const TrailRecord *record, int *added, Error *error)
{
    const StoreValue values[] = {store__text(record->id),
                                 store__text(record->call),
                                 store__number(record->made_millisecond),
                                 store__text(record->author),
                                 store__text(record->device),
                                 store__text(trail_kind_name(record->kind)),
                                 store__text(record->subject),
                                 store__text(record->payload),
                                 store__text_or_null(record->strikes),
                                 store__text_or_null(record->attachment)};
    int changed = 0;
    if (!trail_check(record, error)) return false;
    if (!store__run(store, "INSERT INTO call (id) VALUES ($2) ON CONFLICT (id) DO NOTHING", values, 2, NULL,
                    NULL, NULL, error) ||
        !store__run(store,
                    "INSERT INTO record (" RECORD_COLUMNS ") VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)"
                    " ON CONFLICT (id) DO NOTHING",
                    values, 10, NULL, NULL, &changed, error))
        return false;
    *added += changed;
    return changed == 1 || hold_same(store, record, error);
}

static bool is_refreshed(const TrailRecord *records, int number)
{
    for (int r = 0; r < number; r++)
        if (strcmp(records[r].call, records[number].call) == 0) return true;
    return false;
}

bool store_append(Store *store, const TrailRecord *records, int count, int *added, Error *error)
{
    *added = 0;
    if (!store__begin(store, error)) return false;
    bool went_well = true;
    for (int r = 0; r < count && went_well; r++) went_well = insert(store, &records[r], added, error);
    for (int r = 0; r < count && went_well; r++)
        if (!is_refreshed(records, r)) went_well = store__refresh(store, records[r].call, error);
    went_well = store__end(store, went_well, error);
    if (!went_well) *added = 0;
    return went_well;
}

bool store_backup(Store *store, const char *path, Error *error)
{
    return store->engine->backup(store->engine, path, error);
}
