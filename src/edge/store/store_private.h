/* store_private.h: the narrow engine below the store, and what its files share.
 *
 * An engine runs one statement at a time. Everything that a store does is said once, in SQL that both SQLite
 * and PostgreSQL understand; parameters are $1, $2, ... */
#ifndef EDGE_STORE_PRIVATE_H
#define EDGE_STORE_PRIVATE_H

#include "edge/store/store.h"

typedef struct {
    const char *text; /* NULL: the number counts */
    size_t length;
    int64_t number;
    bool is_bytes, is_null;
} StoreValue;

/* One row of an answer; its texts are gone after the call. False ends the statement with the error. */
typedef bool StoreRow(void *context, const StoreValue *columns, Error *error);

typedef struct StoreEngine StoreEngine;
struct StoreEngine {
    /* `row` may be NULL; `changed`, how many rows were inserted, updated or deleted, too. */
    bool (*run)(StoreEngine *engine, const char *sql, const StoreValue *values, int value_count,
                StoreRow *row, void *context, int *changed, Error *error);
    bool (*check)(StoreEngine *engine, StoreSays *says, void *context, int *found, Error *error);
    bool (*backup)(StoreEngine *engine, const char *path, Error *error);
    void (*close)(StoreEngine *engine);
    const char *begin;         /* the statement that begins a transaction that writes */
    const char *const *schema; /* statements that make version 1; NULL ends them */
};

bool store__open_sqlite(const char *path, bool may_create, StoreEngine **engine, Error *error) MUST_CHECK;

struct Store {
    StoreEngine *engine;
};

StoreValue store__text(const char *text);
StoreValue store__text_or_null(const char *text); /* "" is null */
StoreValue store__number(int64_t number);

/* One statement; shorter than engine->run. */
bool store__run(Store *store, const char *sql, const StoreValue *values, int value_count, StoreRow *row,
                void *context, int *changed, Error *error) MUST_CHECK;

/* All or nothing. */
bool store__begin(Store *store, Error *error) MUST_CHECK;
bool store__end(Store *store, bool went_well, Error *error) MUST_CHECK; /* commits, or takes all back */

/* ---- summary.c */

/* What the records of a call come to; `words` is one word to a line, sorted, each once. */
bool store__summarise(const TrailRecord *records, int count, Arena *arena, StoreSummary *summary,
                      const char **words, Error *error) MUST_CHECK;
/* Works a call's summary out and writes it. */
bool store__refresh(Store *store, const char *call, Error *error) MUST_CHECK;

#endif
