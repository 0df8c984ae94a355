/* store_private.h: the narrow engine below the store, and what its files share.
 *
 * An engine runs one statement at a time. Everything that a store does is said once, in SQL that both SQLite
 * and PostgreSQL understand; parameters are $1, $2, ... , each used by the statement. Where the two differ in
 * a word, the dialect has it. */
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

typedef struct {
    const char *begin; /* begins a transaction that writes; one at a time in the whole store */
    const char *count_tables /* of the store's database */, *count_ours; /* 1: there is a table `meta` */
    const char *integer, *bytes, *text, *arrival /* a number that grows */, *strict, *by_key;
    const char *find; /* the function that says where a text occurs in another */
} StoreDialect;

typedef struct StoreEngine StoreEngine;
struct StoreEngine {
    const StoreDialect *dialect;
    /* `row` may be NULL; `changed`, how many rows were inserted, updated or deleted, too. */
    bool (*run)(StoreEngine *engine, const char *sql, const StoreValue *values, int value_count,
                StoreRow *row, void *context, int *changed, Error *error);
    bool (*check)(StoreEngine *engine, StoreSays *says, void *context, int *found, Error *error);
    bool (*copy)(StoreEngine *engine, const char *path, Error *error); /* to a new file; NULL: cannot */
    bool (*forget)(StoreEngine *engine, Error *error); /* leaves no trace of what was deleted */
    void (*close)(StoreEngine *engine);
};

bool store__open_sqlite(const char *path, bool may_create, StoreEngine **engine, Error *error) MUST_CHECK;
bool store__open_postgresql(const char *url, StoreEngine **engine, Error *error) MUST_CHECK;

struct Store {
    StoreEngine *engine;
    char id[TRAIL_ID_SIZE]; /* of the store itself, so that others know what they have had of it */
    int met_schema;         /* in which it was found; 0: it was made now */
};

StoreValue store__text(const char *text);
StoreValue store__text_or_null(const char *text); /* "" is null */
StoreValue store__number(int64_t number);

/* One statement; shorter than engine->run. */
bool store__run(Store *store, const char *sql, const StoreValue *values, int value_count, StoreRow *row,
                void *context, int *changed, Error *error) MUST_CHECK;
/* The number that the statement's only row begins with; untouched without a row. */
bool store__ask(Store *store, const char *sql, const StoreValue *values, int value_count, int64_t *number,
                Error *error) MUST_CHECK;

/* All or nothing. */
bool store__begin(Store *store, Error *error) MUST_CHECK;
bool store__end(Store *store, bool went_well, Error *error) MUST_CHECK; /* commits, or takes all back */

/* ---- schema.c */

/* Makes the tables, brings older ones up to date, refuses newer and other ones; within a transaction. */
bool store__meet(Store *store, bool may_create, Error *error) MUST_CHECK;

/* ---- record.c */

enum { STORE__BATCH = 500 }; /* records that are read or moved at a time */

/* store_append within a transaction. */
bool store__append(Store *store, const TrailRecord *records, int count, int *added, Error *error) MUST_CHECK;

/* Records in the order of their arrival, `most` of them after `after`; `last` is where they end. */
bool store__read_arrivals(Store *store, int64_t after, int most, Arena *arena, TrailRecord **records,
                          int *count, int64_t *last, Error *error) MUST_CHECK;

/* What follows `chain` when that record arrives: two stores whose chains agree at a number have had the same
 * records until then, in the same order. */
int64_t store__next_chain(int64_t chain, const char *id);

/* ---- identifier.c */

void store__turn(const char *text, char turned[TRAIL_ID_SIZE]); /* written backwards */

/* ---- summary.c */

/* What the records of a call come to. */
typedef struct {
    StoreSummary of_list;
    StoreOutcome outcome;
    const char *confirmed; /* one fault to a line */
    const char *words;     /* one to a line, sorted, each once */
} StoreDigest;
bool store__summarise(const TrailRecord *records, int count, Arena *arena, StoreDigest *digest,
                      Error *error) MUST_CHECK;
/* A word that no text makes: `by:ada`, in small letters. */
void store__label(const char *kind, const char *value, char *label, size_t size);
/* Works a call's summary out and writes it. */
bool store__refresh(Store *store, const char *call, Error *error) MUST_CHECK;

/* ---- customer.c */

/* Customers that were changed after `after`, from one store to the other, and where they end. */
bool store__move_customers(Store *from, Store *to, int64_t after, int64_t *last, Error *error) MUST_CHECK;

#endif
