/* store.c: opening, statements and transactions; see store.h. */
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

static bool take_number(void *context, const StoreValue *columns, Error *error)
{
    (void)error;
    *(int64_t *)context = columns[0].number;
    return true;
}

bool store__ask(Store *store, const char *sql, const StoreValue *values, int value_count, int64_t *number,
                Error *error)
{
    return store__run(store, sql, values, value_count, take_number, number, NULL, error);
}

bool store__begin(Store *store, Error *error)
{
    return store__run(store, store->engine->dialect->begin, NULL, 0, NULL, NULL, NULL, error);
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

static bool is_url(const char *path)
{
    return strncmp(path, "postgresql://", 13) == 0 || strncmp(path, "postgres://", 11) == 0;
}

/* An engine says where it stands itself, since an address may hold a password. */
static bool open_engine(const char *path, bool may_create, StoreEngine **engine, Error *error)
{
    if (is_url(path)) return store__open_postgresql(path, engine, error);
    return store__open_sqlite(path, may_create, engine, error) || error_at(error, path, 0, 0);
}

bool store_open(const char *path, bool may_create, Store **store, Error *error)
{
    Store *opened = calloc(1, sizeof *opened);
    if (!opened) return error_memory(error);
    if (sodium_init() < 0) {
        free(opened);
        return error_set(error, ERROR_DEFECT, "the library of hashes", "one that can be used");
    }
    if (open_engine(path, may_create, &opened->engine, error) && store__begin(opened, error) &&
        store__end(opened, store__meet(opened, may_create, error), error)) {
        *store = opened;
        return true;
    }
    error_at(error, is_url(path) ? "the shop's store" : path, 0, 0);
    store_close(opened);
    return false;
}

void store_close(Store *store)
{
    if (!store) return;
    if (store->engine) store->engine->close(store->engine);
    free(store);
}

/* Where the engine cannot copy itself, the copy takes everything as a new store. */
bool store_backup(Store *store, const char *path, Error *error)
{
    Store *copy;
    int taken;
    if (store->engine->copy) return store->engine->copy(store->engine, path, error);
    if (store_open(path, false, &copy, &(Error){.code = ERROR_NONE})) {
        store_close(copy);
        error_set(error, ERROR_IO, "a file that is there already", "a name for a new file");
        return error_at(error, path, 0, 0);
    }
    if (!store_open(path, true, &copy, error)) return false;
    const bool went_well = store_take(copy, store, &taken, error);
    store_close(copy);
    return went_well;
}
