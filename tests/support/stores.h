/* stores.h: what tests of the store share: a folder of their own, and records made up. Ownership: the folder
 * goes with stores_end. */
#ifndef SUPPORT_STORES_H
#define SUPPORT_STORES_H

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/random.h"
#include "edge/store/store.h"
#include "support/near.h"

typedef struct {
    char folder[64];
    char path[128];
    RandomStream stream;
    Store *store;
    Arena arena;
} Stores;

/* An empty store in a new folder. */
static inline void stores_begin(Stores *stores, uint64_t seed)
{
    Error error = {.code = ERROR_NONE};
    *stores = (Stores){.folder = "/tmp/ovenwright-store-XXXXXX", .stream = random_stream(seed)};
    stores->arena = arena_new((size_t)64 << 20);
    assert_non_null(mkdtemp(stores->folder));
    snprintf(stores->path, sizeof stores->path, "%s/calls.db", stores->folder);
    if (!store_open(stores->path, true, &stores->store, &error)) fail_msg("%s", error.found);
}

static inline void stores_end(Stores *stores)
{
    char command[128];
    store_close(stores->store);
    arena_free(&stores->arena);
    snprintf(command, sizeof command, "rm -rf %s", stores->folder);
    assert_int_equal(system(command), 0);
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
