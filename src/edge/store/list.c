/* list.c: which calls there are.
 *
 * Everything that is asked for, but for dates and customers, is a word or a label of the call. When the
 * rarest of them is of few calls, those are looked through and sorted; else the calls are, the latest changed
 * first, until there are enough. Both take little time with a million calls; what is slow is to ask for two
 * words that are both in every other call and never in the same. */
#include "edge/store/store_private.h"

#include <string.h>

enum { MOST_WORDS = 24, MOST_VALUES = 32, MOST_SQL = 8192, MOST_LISTED = 100, MOST_WORD = 80, FEW = 20000 };

#define SUMMARY_COLUMNS "id, title, appliance, author, phase, opened, changed, records, conflicts"

typedef struct {
    char words[MOST_WORDS][MOST_WORD + 1];
    int word_count;
    TextBuilder sql;
    StoreValue values[MOST_VALUES];
    int value_count, condition_count;
} Query;

static char small(char letter)
{
    return letter >= 'A' && letter <= 'Z' ? (char)(letter - 'A' + 'a') : letter;
}

/* What is no letter of a word separates. */
static bool add_words(Query *query, const char *words)
{
    static const char separators[] = " \t\r\n,;:\"'()[]{}";
    for (const char *at = words + strspn(words, separators); *at; at += strspn(at, separators)) {
        const size_t length = strcspn(at, separators);
        if (length > MOST_WORD || query->word_count == MOST_WORDS) return false;
        char *word = query->words[query->word_count++];
        for (size_t i = 0; i < length; i++) word[i] = small(at[i]);
        word[length] = '\0';
        at += length;
    }
    return true;
}

static bool add_label(Query *query, const char *kind, const char *value)
{
    if (!value || !value[0]) return true;
    if (query->word_count == MOST_WORDS) return false;
    store__label(kind, value, query->words[query->word_count++], MOST_WORD + 1);
    return true;
}

static bool gather_words(Query *query, const StoreFilter *filter, Error *error)
{
    if (add_label(query, "appliance", filter->appliance) && add_label(query, "by", filter->technician) &&
        add_label(query, "part", filter->part) && add_label(query, "fault", filter->fault) &&
        add_label(query, "is", filter->is_open ? "open" : NULL) &&
        add_words(query, filter->words ? filter->words : ""))
        return true;
    return error_set(error, ERROR_TOO_LARGE, "a list by so many words", "at most 20 words of 80 letters");
}

/* The rarest word comes first; `is_rare` when few calls have it. */
static bool put_rarest_first(Store *store, Query *query, bool *is_rare, Error *error)
{
    int64_t fewest = FEW + 1;
    for (int w = 0; w < query->word_count; w++) {
        const StoreValue values[] = {store__text(query->words[w]), store__number(FEW + 1)};
        int64_t calls = 0;
        if (!store__ask(store,
                        "SELECT count(*) FROM (SELECT 1 FROM call_word WHERE word = $1 LIMIT $2) AS few",
                        values, 2, &calls, error))
            return false;
        if (calls >= fewest) continue;
        char word[MOST_WORD + 1];
        memcpy(word, query->words[w], sizeof word);
        memcpy(query->words[w], query->words[0], sizeof word);
        memcpy(query->words[0], word, sizeof word);
        fewest = calls;
    }
    *is_rare = fewest <= FEW;
    return true;
}

/* ---- the statement */

static void add_condition(Query *query, const char *condition, StoreValue value)
{
    query->values[query->value_count++] = value;
    text_add(&query->sql, query->condition_count++ == 0 ? " WHERE " : " AND ");
    text_addf(&query->sql, condition, query->value_count);
}

static void add_customer(Query *query, const char *find, const char *customer)
{
    query->values[query->value_count++] = store__text(customer);
    text_add(&query->sql, query->condition_count++ == 0 ? " WHERE " : " AND ");
    text_addf(&query->sql,
              "EXISTS (SELECT 1 FROM customer WHERE customer.call = call.id AND"
              " %s(lower(name || ' ' || address || ' ' || phone), lower($%d)) > 0)",
              find, query->value_count);
}

static bool write_query(const StoreFilter *filter, const char *find, Query *query, bool is_rare, Error *error)
{
    text_add(&query->sql, "SELECT " SUMMARY_COLUMNS " FROM ");
    text_add(&query->sql, is_rare ? "call_word AS rare CROSS JOIN call" : "call");
    if (is_rare) {
        add_condition(query, "rare.word = $%d", store__text(query->words[0]));
        text_add(&query->sql, " AND call.id = rare.call");
    }
    for (int w = is_rare ? 1 : 0; w < query->word_count; w++)
        add_condition(
            query,
            "EXISTS (SELECT 1 FROM call_word AS other WHERE other.word = $%d AND other.call = call.id)",
            store__text(query->words[w]));
    if (filter->from_millisecond > 0)
        add_condition(query, "changed >= $%d", store__number(filter->from_millisecond));
    if (filter->before_millisecond > 0)
        add_condition(query, "changed < $%d", store__number(filter->before_millisecond));
    if (filter->customer && filter->customer[0]) add_customer(query, find, filter->customer);
    query->values[query->value_count++] = store__number(filter->most > 0 ? filter->most : MOST_LISTED);
    text_addf(&query->sql, " ORDER BY changed DESC, id DESC LIMIT $%d", query->value_count);
    return query->sql.is_cut ? error_memory(error) : true;
}

typedef struct {
    Arena *arena;
    StoreSummary *summaries;
    int count, room;
} Listing;

static bool take_summary(void *context, const StoreValue *columns, Error *error)
{
    Listing *listing = context;
    if (listing->count == listing->room) return true;
    StoreSummary *summary = &listing->summaries[listing->count++];
    const char **texts[] = {&summary->title, &summary->appliance, &summary->author};
    if (columns[0].length >= sizeof summary->call)
        return error_set(error, ERROR_IO, "a damaged identifier", "a call of the store");
    memcpy(summary->call, columns[0].text, columns[0].length);
    for (int i = 0; i < 3; i++) {
        *texts[i] = arena_copy_text(listing->arena, columns[1 + i].text, columns[1 + i].length);
        if (!*texts[i]) return error_memory(error);
    }
    summary->phase = columns[4].number >= TRAIL_IS_NOTHING && columns[4].number <= TRAIL_IS_REOPENED
                         ? (TrailPhase)columns[4].number
                         : TRAIL_IS_NOTHING;
    summary->opened_millisecond = columns[5].number;
    summary->changed_millisecond = columns[6].number;
    summary->record_count = (int)columns[7].number;
    summary->conflict_count = (int)columns[8].number;
    return true;
}

bool store_list(Store *store, const StoreFilter *filter, Arena *arena, StoreSummary **summaries, int *count,
                Error *error)
{
    Query *query = ARENA_ARRAY(arena, Query, 1);
    Listing listing = {.arena = arena, .room = filter->most > 0 ? filter->most : MOST_LISTED};
    listing.summaries = ARENA_ARRAY(arena, StoreSummary, (size_t)listing.room);
    if (!query || !listing.summaries) return error_memory(error);
    query->sql = text_builder(arena, MOST_SQL);
    bool is_rare = false;
    if (!gather_words(query, filter, error) || !put_rarest_first(store, query, &is_rare, error) ||
        !write_query(filter, store->engine->dialect->find, query, is_rare, error) ||
        !store__run(store, text_string(&query->sql), query->values, query->value_count, take_summary,
                    &listing, NULL, error))
        return false;
    *summaries = listing.summaries;
    *count = listing.count;
    return true;
}
