/* sync.c: two stores get what the other has.
 *
 * Names first, a page at a time and in order on both sides, so that only what is missing travels. Attachments
 * go before the records that name them, and the records of a call go together. Each call is one transaction:
 * an interrupted exchange leaves whole calls on both sides, and the next one goes on.
 *
 * Bad at: two stores of a million calls that differ in one; every name is looked at. */
#include "edge/store/store_private.h"

#include <stdio.h>
#include <string.h>

enum { PAGE = 500 };

typedef struct {
    char names[PAGE][TRAIL_HASH_SIZE];
    int count;
} Page;

static bool take_name(void *context, const StoreValue *columns, Error *error)
{
    Page *page = context;
    (void)error;
    if (page->count == PAGE) return true;
    snprintf(page->names[page->count++], TRAIL_HASH_SIZE, "%.*s", (int)columns[0].length, columns[0].text);
    return true;
}

static bool next_page(Store *store, const char *sql, Page *page, Error *error)
{
    char last[TRAIL_HASH_SIZE] = "";
    if (page->count > 0) memcpy(last, page->names[page->count - 1], sizeof last);
    const StoreValue values[] = {store__text(last), store__number(PAGE)};
    page->count = 0;
    return store__run(store, sql, values, 2, take_name, page, NULL, error);
}

typedef struct {
    Store *from, *to;
    int moved;
} Moving;

typedef bool Move(Moving *moving, const char *name, Error *error);

static bool has_row(void *context, const StoreValue *columns, Error *error)
{
    (void)error;
    *(int64_t *)context = columns[0].number;
    return true;
}

static bool move_attachment(Moving *moving, const char *hash, Error *error)
{
    const StoreValue values[] = {store__text(hash)};
    int64_t there = 0;
    char written[TRAIL_HASH_SIZE];
    if (!store__run(moving->to, "SELECT count(*) FROM attachment WHERE hash = $1", values, 1, has_row, &there,
                    NULL, error))
        return false;
    if (there) return true;
    Arena arena = arena_new((size_t)2 * STORE_MOST_ATTACHMENT);
    Text bytes;
    const bool went_well = store_read_attachment(moving->from, hash, &arena, &bytes, error) &&
                           store_attach(moving->to, bytes, written, error);
    arena_free(&arena);
    return went_well;
}

/* The other side may have other records of the same call: all of them are offered, and the union decides. */
static bool move_call(Moving *moving, const char *call, Error *error)
{
    Arena arena = arena_new((size_t)256 << 20);
    TrailRecord *records;
    int count, added = 0;
    const bool went_well = store_read_call(moving->from, call, &arena, &records, &count, error) &&
                           store_append(moving->to, records, count, &added, error);
    moving->moved += added;
    arena_free(&arena);
    return went_well;
}

static bool move_each(Moving *moving, const char *sql, Move *move, Error *error)
{
    static Page page;
    page.count = 0;
    do {
        if (!next_page(moving->from, sql, &page, error)) return false;
        for (int n = 0; n < page.count; n++)
            if (!move(moving, page.names[n], error)) return false;
    } while (page.count == PAGE);
    return true;
}

bool store_sync(Store *here, Store *there, int *given, int *taken, Error *error)
{
    static const char attachments[] = "SELECT hash FROM attachment WHERE hash > $1 ORDER BY hash LIMIT $2";
    static const char calls[] = "SELECT id FROM call WHERE id > $1 ORDER BY id LIMIT $2";
    Moving out = {here, there, 0}, in = {there, here, 0};
    const bool went_well =
        move_each(&out, attachments, move_attachment, error) && move_each(&out, calls, move_call, error) &&
        move_each(&in, attachments, move_attachment, error) && move_each(&in, calls, move_call, error);
    *given = out.moved;
    *taken = in.moved;
    return went_well;
}
