/* schema.c: the tables of a store, version by version.
 *
 * A new store is made by going through all versions, so that it never differs from one that grew up. What is
 * worked out of the records (summaries, words, chains) is made anew whenever a version has changed it. A file
 * of each version is kept in tests/fixtures. */
#include "edge/store/store_private.h"

#include <string.h>

enum { MOST_SQL = 2000, MOST_STATEMENTS = 24, PAGE = 500 };

/* steps[v] makes version v + 1 of version v; words in braces are the dialect's. */
static const char *const steps[STORE_SCHEMA][MOST_STATEMENTS] = {
    {
        "CREATE TABLE meta (key {text} PRIMARY KEY, value {text} NOT NULL){strict}",
        "CREATE TABLE attachment (hash {text} PRIMARY KEY, content {bytes} NOT NULL){strict}",
        "CREATE TABLE call (id {text} PRIMARY KEY, title {text} NOT NULL DEFAULT '',"
        " appliance {text} NOT NULL DEFAULT '', author {text} NOT NULL DEFAULT '',"
        " phase {integer} NOT NULL DEFAULT 0, opened {integer} NOT NULL DEFAULT 0,"
        " changed {integer} NOT NULL DEFAULT 0, records {integer} NOT NULL DEFAULT 0,"
        " conflicts {integer} NOT NULL DEFAULT 0){strict}",
        "CREATE INDEX call_changed ON call (changed)",
        "CREATE INDEX call_appliance ON call (appliance, changed)",
        "CREATE TABLE record (arrival {arrival}, id {text} NOT NULL UNIQUE,"
        " call {text} NOT NULL REFERENCES call (id), made {integer} NOT NULL, author {text} NOT NULL,"
        " device {text} NOT NULL, kind {text} NOT NULL, subject {text} NOT NULL, payload {text} NOT NULL,"
        " strikes {text}, attachment {text} REFERENCES attachment (hash)){strict}",
        "CREATE INDEX record_call ON record (call, made, id)",
        "CREATE TABLE call_word (word {text} NOT NULL, call {text} NOT NULL REFERENCES call (id),"
        " PRIMARY KEY (word, call)){by_key}",
        "CREATE INDEX call_word_call ON call_word (call)",
        NULL,
    },
    {
        /* customers, apart from calls; what closed calls teach; what other stores have been asked for;
           devices that may use the server of this store */
        "CREATE TABLE customer (call {text} PRIMARY KEY REFERENCES call (id), made {integer} NOT NULL,"
        " arrival {integer} NOT NULL, name {text} NOT NULL, address {text} NOT NULL, phone {text} NOT NULL,"
        " is_erased {integer} NOT NULL){strict}",
        "CREATE INDEX customer_arrival ON customer (arrival)",
        "CREATE TABLE peer (store {text} PRIMARY KEY, arrival {integer} NOT NULL, chain {integer} NOT NULL,"
        " customer {integer} NOT NULL){strict}",
        "CREATE TABLE device (id {arrival}, token {text} NOT NULL UNIQUE, name {text} NOT NULL,"
        " may {text} NOT NULL, made {integer} NOT NULL, is_revoked {integer} NOT NULL DEFAULT 0){strict}",
        "ALTER TABLE record ADD COLUMN chain {integer} NOT NULL DEFAULT 0",
        "ALTER TABLE call ADD COLUMN backwards {text} NOT NULL DEFAULT ''",
        "ALTER TABLE call ADD COLUMN words {text} NOT NULL DEFAULT ''",
        "ALTER TABLE call ADD COLUMN confirmed {text} NOT NULL DEFAULT ''",
        "ALTER TABLE call ADD COLUMN closings {integer} NOT NULL DEFAULT 0",
        "ALTER TABLE call ADD COLUMN visits {integer} NOT NULL DEFAULT 0",
        "ALTER TABLE call ADD COLUMN work_second {integer} NOT NULL DEFAULT 0",
        "ALTER TABLE call ADD COLUMN said_millionth {integer} NOT NULL DEFAULT -1",
        "ALTER TABLE call ADD COLUMN came {integer} NOT NULL DEFAULT 0",
        "DROP INDEX call_changed",
        "DROP INDEX call_appliance",
        "DROP INDEX call_word_call",
        "DELETE FROM call_word",
        "CREATE INDEX call_changed ON call (changed, id)",
        "CREATE INDEX call_backwards ON call (backwards)",
        "CREATE INDEX call_confirmed ON call (confirmed, appliance) WHERE confirmed <> ''",
        NULL,
    },
};

static const char *word_of(const StoreDialect *dialect, const char *name, size_t length)
{
    const struct {
        const char *name, *word;
    } words[] = {{"integer", dialect->integer}, {"bytes", dialect->bytes},   {"text", dialect->text},
                 {"arrival", dialect->arrival}, {"strict", dialect->strict}, {"by_key", dialect->by_key}};
    for (size_t w = 0; w < sizeof words / sizeof words[0]; w++)
        if (text_is((Text){name, length}, words[w].name)) return words[w].word;
    return "";
}

static bool run_statement(Store *store, const char *statement, Error *error)
{
    Arena arena = arena_new((size_t)1 << 16);
    TextBuilder sql = text_builder(&arena, MOST_SQL);
    for (const char *at = statement; *at;) {
        const size_t plain = strcspn(at, "{");
        text_add_bytes(&sql, at, plain);
        at += plain;
        if (!*at) break;
        const size_t length = strcspn(at, "}");
        text_add(&sql, word_of(store->engine->dialect, at + 1, length - 1));
        at += length + 1;
    }
    const bool went_well = (!sql.is_cut || error_memory(error)) &&
                           store__run(store, text_string(&sql), NULL, 0, NULL, NULL, NULL, error);
    arena_free(&arena);
    return went_well;
}

static bool put_meta(Store *store, const char *key, const char *value, Error *error)
{
    const StoreValue values[] = {store__text(key), store__text(value)};
    return store__run(store,
                      "INSERT INTO meta (key, value) VALUES ($1, $2)"
                      " ON CONFLICT (key) DO UPDATE SET value = excluded.value",
                      values, 2, NULL, NULL, NULL, error);
}

/* ---- what is worked out of the records, made anew */

typedef struct {
    char names[PAGE][TRAIL_ID_SIZE];
    int64_t arrivals[PAGE];
    int count;
} Page;

static bool take_name(void *context, const StoreValue *columns, Error *error)
{
    Page *page = context;
    (void)error;
    if (page->count == PAGE || columns[0].length >= TRAIL_ID_SIZE) return true;
    memcpy(page->names[page->count], columns[0].text, columns[0].length);
    page->names[page->count][columns[0].length] = '\0';
    page->arrivals[page->count++] = columns[1].number;
    return true;
}

static bool write_chains(Store *store, Error *error)
{
    int64_t chain = 0, last = 0;
    Page page;
    do {
        const StoreValue after[] = {store__number(last), store__number(PAGE)};
        page.count = 0;
        if (!store__run(store, "SELECT id, arrival FROM record WHERE arrival > $1 ORDER BY arrival LIMIT $2",
                        after, 2, take_name, &page, NULL, error))
            return false;
        for (int n = 0; n < page.count; n++) {
            chain = store__next_chain(chain, page.names[n]);
            last = page.arrivals[n];
            const StoreValue values[] = {store__number(chain), store__number(last)};
            if (!store__run(store, "UPDATE record SET chain = $1 WHERE arrival = $2", values, 2, NULL, NULL,
                            NULL, error))
                return false;
        }
    } while (page.count == PAGE);
    return true;
}

static bool refresh_all(Store *store, Error *error)
{
    char last[TRAIL_ID_SIZE] = "";
    Page page;
    do {
        const StoreValue after[] = {store__text(last), store__number(PAGE)};
        page.count = 0;
        if (!store__run(store, "SELECT id, changed FROM call WHERE id > $1 ORDER BY id LIMIT $2", after, 2,
                        take_name, &page, NULL, error))
            return false;
        for (int n = 0; n < page.count; n++)
            if (!store__refresh(store, page.names[n], error)) return false;
        if (page.count > 0) memcpy(last, page.names[page.count - 1], sizeof last);
    } while (page.count == PAGE);
    return true;
}

static bool bring_up_to_date(Store *store, int version, Error *error)
{
    static const char *const numbers[] = {"0", "1", "2"};
    _Static_assert(sizeof numbers / sizeof numbers[0] == STORE_SCHEMA + 1, "a number for each version");
    char id[TRAIL_ID_SIZE];
    for (int v = version; v < STORE_SCHEMA; v++)
        for (int i = 0; steps[v][i]; i++)
            if (!run_statement(store, steps[v][i], error)) return false;
    store_new_id(1, id); /* of no moment: nobody sorts stores */
    return put_meta(store, "schema", numbers[STORE_SCHEMA], error) && put_meta(store, "store", id, error) &&
           write_chains(store, error) && refresh_all(store, error);
}

/* ---- */

static bool take_text(void *context, const StoreValue *columns, Error *error)
{
    char *out = context;
    (void)error;
    const size_t length = columns[0].length < TRAIL_ID_SIZE ? columns[0].length : TRAIL_ID_SIZE - 1;
    memcpy(out, columns[0].text ? columns[0].text : "", columns[0].text ? length : 0);
    out[columns[0].text ? length : 0] = '\0';
    return true;
}

static bool get_meta(Store *store, const char *key, char value[TRAIL_ID_SIZE], Error *error)
{
    const StoreValue values[] = {store__text(key)};
    value[0] = '\0';
    return store__run(store, "SELECT value FROM meta WHERE key = $1", values, 1, take_text, value, NULL,
                      error);
}

static bool meet_version(Store *store, Error *error)
{
    char value[TRAIL_ID_SIZE];
    if (!get_meta(store, "schema", value, error)) return false;
    double version = 0;
    if (!text_read_number(text_of(value), &version)) version = 0;
    store->met_schema = version >= 0 && version < 1e6 ? (int)version : 0;
    if (version > STORE_SCHEMA) {
        error_set(error, ERROR_IO, "a store of a newer version of this program", "schema %d or older",
                  STORE_SCHEMA);
        return error_hint(error, "Use the newer program; this one leaves the store as it is.");
    }
    if (version < 1) return error_set(error, ERROR_IO, "a store without a version", "a store of calls");
    return version == STORE_SCHEMA || bring_up_to_date(store, (int)version, error);
}

/* A database with tables of somebody else's is no store, and stays as it is. */
bool store__meet(Store *store, bool may_create, Error *error)
{
    int64_t tables = 0, ours = 0;
    if (!store__ask(store, store->engine->dialect->count_tables, NULL, 0, &tables, error) ||
        !store__ask(store, store->engine->dialect->count_ours, NULL, 0, &ours, error))
        return false;
    if (ours == 0 && (tables > 0 || !may_create))
        return error_set(error, ERROR_IO, tables > 0 ? "a database of something else" : "an empty database",
                         "a store of calls, or no file yet");
    const bool went_well = ours == 0 ? bring_up_to_date(store, 0, error) : meet_version(store, error);
    return went_well && get_meta(store, "store", store->id, error);
}

int store_found_schema(const Store *store) { return store->met_schema; }
