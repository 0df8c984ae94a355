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
    static Page page;
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

static bool is_same(const StoreSummary *a, const StoreSummary *b)
{
    return a->phase == b->phase && a->opened_millisecond == b->opened_millisecond &&
           a->changed_millisecond == b->changed_millisecond && a->record_count == b->record_count &&
           a->conflict_count == b->conflict_count && text_equal(a->title, b->title) &&
           text_equal(a->appliance, b->appliance) && text_equal(a->author, b->author);
}

typedef struct {
    StoreSummary kept;
    char texts[3][4096];
} Kept;

static bool take_kept(void *context, const StoreValue *columns, Error *error)
{
    Kept *kept = context;
    (void)error;
    for (int i = 0; i < 3; i++)
        snprintf(kept->texts[i], sizeof kept->texts[i], "%.*s", (int)columns[i].length, columns[i].text);
    kept->kept = (StoreSummary){.title = kept->texts[0],
                                .appliance = kept->texts[1],
                                .author = kept->texts[2],
                                .phase = (TrailPhase)columns[3].number,
                                .opened_millisecond = columns[4].number,
                                .changed_millisecond = columns[5].number,
                                .record_count = (int)columns[6].number,
                                .conflict_count = (int)columns[7].number};
    return true;
}

static bool check_summary(Checking *checking, const char *call, const StoreSummary *summary, Error *error)
{
    static Kept kept;
    const StoreValue values[] = {store__text(call)};
    if (!store__run(checking->store,
                    "SELECT title, appliance, author, phase, opened, changed, records, conflicts FROM call "
                    "WHERE id = $1",
                    values, 1, take_kept, &kept, NULL, error))
        return false;
    if (!is_same(&kept.kept, summary)) say(checking, "The list is out of date for call", call, NULL);
    return true;
}

static bool check_call(Checking *checking, const char *call, Error *error)
{
    Arena arena = arena_new((size_t)256 << 20);
    TrailRecord *records;
    StoreSummary summary;
    const char *words;
    int count = 0;
    Error damage = {.code = ERROR_NONE};
    bool went_well = true;
    if (!store_read_call(checking->store, call, &arena, &records, &count, &damage)) {
        say(checking, "Call", call, &damage);
        count = 0;
    }
    for (int r = 0; r < count; r++)
        if (!trail_check(&records[r], &damage)) say(checking, "Record", records[r].id, &damage);
    if (count > 0 && store__summarise(records, count, &arena, &summary, &words, &damage))
        went_well = check_summary(checking, call, &summary, error);
    arena_free(&arena);
    return went_well;
}

bool store_check(Store *store, StoreSays *says, void *context, int *found, Error *error)
{
    Checking checking = {store, says, context, 0};
    const bool went_well =
        store->engine->check(store->engine, says, context, &checking.found, error) &&
        check_each(&checking, "SELECT id FROM call WHERE id > $1 ORDER BY id LIMIT $2", check_call, error) &&
        check_each(&checking, "SELECT hash FROM attachment WHERE hash > $1 ORDER BY hash LIMIT $2",
                   check_attachment, error);
    *found = checking.found;
    return went_well;
}
