/* stores.h: what tests of the store share: a store of their own, in either engine, and records made up.
 *
 * A store in PostgreSQL is a schema of its own on the server that OVENWRIGHT_TEST_POSTGRESQL names
 * (tests/support/postgresql starts one). Ownership: folder and schema go with stores_end. */
#ifndef SUPPORT_STORES_H
#define SUPPORT_STORES_H

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/random.h"
#include "edge/store/store.h"
#include "support/near.h"

typedef enum { STORES_SQLITE, STORES_POSTGRESQL } StoresEngine;

typedef struct {
    StoresEngine engine;
    char folder[64];
    char path[300]; /* or address */
    char schema[80];
    RandomStream stream;
    Store *store;
    Arena arena;
} Stores;

static inline const char *stores_server(void)
{
    const char *server = getenv("OVENWRIGHT_TEST_POSTGRESQL");
    if (!server || !server[0])
        fail_msg("OVENWRIGHT_TEST_POSTGRESQL names no server; ./dev unit and ./dev store start one");
    return server;
}

static inline void stores_shell(const char *format, ...) PRINTF_LIKE(1, 2);
static inline void stores_shell(const char *format, ...)
{
    char command[3000];
    va_list arguments;
    va_start(arguments, format);
    const int length = vsnprintf(command, sizeof command, format, arguments);
    va_end(arguments);
    assert_true(length > 0 && length < (int)sizeof command);
    if (system(command) != 0) fail_msg("%s", command);
}

/* Says the statements to the store's engine, past the program. */
static inline void stores_sql(const Stores *stores, const char *sql)
{
    if (stores->engine == STORES_SQLITE)
        stores_shell("sqlite3 %s \"%s\"", stores->path, sql);
    else
        stores_shell("psql -q -v ON_ERROR_STOP=1 '%s' -c \"%s\" >/dev/null", stores->path, sql);
}

static inline void stores_name_place(Stores *stores)
{
    snprintf(stores->path, sizeof stores->path, "%s/calls.db", stores->folder);
    if (stores->engine == STORES_SQLITE) return;
    snprintf(stores->schema, sizeof stores->schema, "t%s", strrchr(stores->folder, '-') + 1);
    stores_shell("psql -q '%s' -c 'CREATE SCHEMA \"%s\"' >/dev/null", stores_server(), stores->schema);
    snprintf(stores->path, sizeof stores->path, "%s?options=-csearch_path%%3D%%22%s%%22", stores_server(),
             stores->schema);
}

/* An empty store in a new folder. */
static inline void stores_begin(Stores *stores, StoresEngine engine, uint64_t seed)
{
    Error error = {.code = ERROR_NONE};
    *stores =
        (Stores){.engine = engine, .folder = "/tmp/ovenwright-store-XXXXXX", .stream = random_stream(seed)};
    stores->arena = arena_new((size_t)64 << 20);
    assert_non_null(mkdtemp(stores->folder));
    stores_name_place(stores);
    if (!store_open(stores->path, true, &stores->store, &error)) fail_msg("%s %s", error.found, error.hint);
}

static inline void stores_end(Stores *stores)
{
    store_close(stores->store);
    arena_free(&stores->arena);
    stores_shell("rm -rf %s", stores->folder);
    if (stores->engine == STORES_POSTGRESQL)
        stores_shell("psql -q '%s' -c 'DROP SCHEMA \"%s\" CASCADE' >/dev/null 2>&1", stores_server(),
                     stores->schema);
}

static inline void stores_name(RandomStream *stream, char id[TRAIL_ID_SIZE])
{
    const uint64_t a = random_bits(stream), b = random_bits(stream);
    snprintf(id, TRAIL_ID_SIZE, "%08x-%04x-7%03x-a%03x-%012llx", (unsigned)(a >> 32),
             (unsigned)(a >> 16 & 0xffff), (unsigned)(a & 0xfff), (unsigned)(b >> 48 & 0xfff),
             (unsigned long long)(b & 0xffffffffffff));
}

/* A record of that call; NULL: of a new one. */
static inline TrailRecord stores_record(RandomStream *stream, const char *call, TrailKind kind,
                                        int64_t millisecond, const char *payload)
{
    TrailRecord record = {.made_millisecond = millisecond,
                          .author = "Ada",
                          .device = "van",
                          .kind = kind,
                          .subject = kind == TRAIL_ENTRY     ? "note"
                                     : kind == TRAIL_CHANGED ? "call"
                                                             : "",
                          .payload = payload};
    stores_name(stream, record.id);
    if (call)
        memcpy(record.call, call, TRAIL_ID_SIZE);
    else
        stores_name(stream, record.call);
    return record;
}

static inline void stores_say(void *context, const char *sentence)
{
    (void)context;
    print_message("  %s\n", sentence);
}

static inline int stores_check(Store *store)
{
    int found = -1;
    Error error = {.code = ERROR_NONE};
    if (!store_check(store, stores_say, NULL, &found, &error)) fail_msg("%s", error.found);
    return found;
}

#endif
