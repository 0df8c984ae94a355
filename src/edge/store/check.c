/* check.c: is the store what it should be? Nothing is mended here: a backup or another device has what is
 * damaged. */
#include "edge/store/store_private.h"

#include <stdio.h>
#include <string.h>

enum { PAGE = 500, SENTENCE = 1200 };

typedef struct {
    Store *store;
    StoreSays *says;
    void *context;
    int found;
} Checking;

static void say(Checking *checking, const char *what, const char *which, const Error *error)
{
    char sentence[SENTENCE];
    snprintf(sentence, sizeof sentence, "%s %s%s%s", what, which, error ? ": " : "",
             error ? error->found : "");
    checking->says(checking->context, sentence);
    checking->found++;
}

/* Names of one page, so that no statement stays open while others run. */
typedef struct {
    char names[PAGE][TRAIL_HASH_SIZE];
    int count;
} Page;

static bool take_name(void *context, const StoreValue *columns, Error *error)
{
    Page *page = context;
    (void)error;
    if (page->count < PAGE)
        snprintf(page->names[page->count++], TRAIL_HASH_SIZE, "%.*s", (int)columns[0].length,
                 columns[0].text);
    return true;
}

typedef bool CheckOne(Checking *checking, const char *name, Error *error);

/* Every name that the statement gives, a page at a time: it asks for what comes after $1, in order. */
static bool check_each(Checking *checking, const char *sql, CheckOne *check, Error *error)
{
    char last[TRAIL_HASH_SIZE] = "";
    Page page;
    do {
        const StoreValue values[] = {store__text(last), store__number(PAGE)};
        page.count = 0;
        if (!store__run(checking->store, sql, values, 2, take_name, &page, NULL, error)) return false;
        for (int n = 0; n < page.count; n++)
            if (!check(checking, page.names[n], error)) return false;
        if (page.count > 0) memcpy(last, page.names[page.count - 1], sizeof last);
    } while (page.count == PAGE);
    return true;
}

static bool check_attachment(Checking *checking, const char *hash, Error *error)
{
    Arena arena = arena_new((size_t)2 * STORE_MOST_ATTACHMENT);
    Text bytes;
    Error damage = {.code = ERROR_NONE};
    const bool is_right = store_read_attachment(checking->store, hash, &arena, &bytes, &damage);
    if (!is_right) say(checking, "Attachment", hash, &damage);
    arena_free(&arena);
    return damage.code == ERROR_MEMORY ? error_memory(error) : true;
}

typedef struct {
    Arena *arena;
    StoreSummary kept;
    const char *texts[5]; /* title, appliance, author, words, confirmed */
} Kept;

static bool is_same(const Kept *kept, const StoreDigest *digest)
{
    const StoreSummary *a = &kept->kept, *b = &digest->of_list;
    return a->phase == b->phase && a->opened_millisecond == b->opened_millisecond &&
           a->changed_millisecond == b->changed_millisecond && a->record_count == b->record_count &&
           a->conflict_count == b->conflict_count && text_equal(kept->texts[0], b->title) &&
           text_equal(kept->texts[1], b->appliance) && text_equal(kept->texts[2], b->author) &&
           text_equal(kept->texts[3], digest->words) && text_equal(kept->texts[4], digest->confirmed);
}

static bool take_kept(void *context, const StoreValue *columns, Error *error)
{
    Kept *kept = context;
    for (int i = 0; i < 5; i++) {
        kept->texts[i] = arena_copy_text(kept->arena, columns[i].text, columns[i].length);
        if (!kept->texts[i]) return error_memory(error);
    }
    kept->kept = (StoreSummary){.phase = (TrailPhase)columns[5].number,
                                .opened_millisecond = columns[6].number,
                                .changed_millisecond = columns[7].number,
                                .record_count = (int)columns[8].number,
                                .conflict_count = (int)columns[9].number};
    return true;
}

static bool check_summary(Checking *checking, const char *call, const StoreDigest *digest, Arena *arena,
                          Error *error)
{
    Kept kept = {.arena = arena};
    const StoreValue values[] = {store__text(call)};
    if (!store__run(checking->store,
                    "SELECT title, appliance, author, words, confirmed, phase, opened, changed, records,"
                    " conflicts FROM call WHERE id = $1",
                    values, 1, take_kept, &kept, NULL, error))
        return false;
    if (!is_same(&kept, digest)) say(checking, "The list is out of date for call", call, NULL);
    return true;
}

static bool check_call(Checking *checking, const char *call, Error *error)
{
    Arena arena = arena_new((size_t)256 << 20);
    TrailRecord *records;
    StoreDigest digest;
    int count = 0;
    Error damage = {.code = ERROR_NONE};
    bool went_well = true;
    if (!store_read_call(checking->store, call, &arena, &records, &count, &damage)) {
        say(checking, "Call", call, &damage);
        count = 0;
    }
    for (int r = 0; r < count; r++)
        if (!trail_check(&records[r], &damage)) say(checking, "Record", records[r].id, &damage);
    if (count > 0 && store__summarise(records, count, &arena, &digest, &damage))
        went_well = check_summary(checking, call, &digest, &arena, error);
    arena_free(&arena);
    return went_well;
}

/* ---- the chain of records */

typedef struct {
    Checking *checking;
    int64_t chain, last;
    int count;
} Chain;

/* One link that does not hold is said; what follows is held against what is there. */
static bool take_link(void *context, const StoreValue *columns, Error *error)
{
    Chain *chain = context;
    char id[TRAIL_ID_SIZE];
    (void)error;
    snprintf(id, sizeof id, "%.*s", (int)columns[0].length, columns[0].text);
    if (store__next_chain(chain->chain, id) != columns[1].number)
        say(chain->checking, "Something is missing or was changed before record", id, NULL);
    chain->chain = columns[1].number;
    chain->last = columns[2].number;
    chain->count++;
    return true;
}

static bool check_chain(Checking *checking, Error *error)
{
    Chain chain = {checking, 0, 0, 1};
    while (chain.count > 0) {
        const StoreValue values[] = {store__number(chain.last), store__number(20 * PAGE)};
        chain.count = 0;
        if (!store__run(checking->store,
                        "SELECT id, chain, arrival FROM record WHERE arrival > $1 ORDER BY arrival LIMIT $2",
                        values, 2, take_link, &chain, NULL, error))
            return false;
    }
    return true;
}

bool store_check(Store *store, StoreSays *says, void *context, int *found, Error *error)
{
    Checking checking = {store, says, context, 0};
    const bool went_well =
        store->engine->check(store->engine, says, context, &checking.found, error) &&
        check_chain(&checking, error) &&
        check_each(&checking, "SELECT id FROM call WHERE id > $1 ORDER BY id LIMIT $2", check_call, error) &&
        check_each(&checking, "SELECT hash FROM attachment WHERE hash > $1 ORDER BY hash LIMIT $2",
                   check_attachment, error);
    *found = checking.found;
    return went_well;
}
