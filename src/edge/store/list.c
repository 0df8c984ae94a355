/* list.c: which calls there are. */
#include "edge/store/store_private.h"

#include <string.h>

enum { MOST_CONDITIONS = 24, MOST_SQL = 4096, MOST_LISTED = 100, MOST_WORD = 80 };

#define SUMMARY_COLUMNS "id, title, appliance, author, phase, opened, changed, records, conflicts"

/* Only what is asked for becomes a condition, so that the index of the one that matters is used. */
typedef struct {
    TextBuilder sql;
    StoreValue values[MOST_CONDITIONS];
    int count;
    char words[MOST_CONDITIONS][MOST_WORD + 1];
} Query;

static bool add_condition(Query *query, const char *condition, StoreValue value)
{
    if (query->count == MOST_CONDITIONS - 1) return false;
    query->values[query->count++] = value;
    text_add(&query->sql, query->count == 1 ? " WHERE " : " AND ");
    text_addf(&query->sql, condition, query->count);
    return true;
}

/* One condition for each word; what is no letter of a word separates. */
static bool add_words(Query *query, const char *words)
{
    static const char separators[] = " \t\r\n,;:\"'()[]{}";
    for (const char *at = words + strspn(words, separators); *at; at += strspn(at, separators)) {
        const size_t length = strcspn(at, separators);
        char *word = query->words[query->count];
        if (length > MOST_WORD) return false;
        for (size_t i = 0; i < length; i++)
            word[i] = at[i] >= 'A' && at[i] <= 'Z' ? (char)(at[i] - 'A' + 'a') : at[i];
        word[length] = '\0';
        if (!add_condition(query, "id IN (SELECT call FROM call_word WHERE word = $%d)", store__text(word)))
            return false;
        at += length;
    }
    return true;
}

static bool write_query(const StoreFilter *filter, Query *query, Error *error)
{
    bool went_well = true;
    text_add(&query->sql, "SELECT " SUMMARY_COLUMNS " FROM call");
    if (filter->appliance && filter->appliance[0])
        went_well = add_condition(query, "appliance = $%d", store__text(filter->appliance));
    if (filter->from_millisecond > 0)
        went_well =
            went_well && add_condition(query, "changed >= $%d", store__number(filter->from_millisecond));
    if (filter->before_millisecond > 0)
        went_well =
            went_well && add_condition(query, "changed < $%d", store__number(filter->before_millisecond));
    if (filter->is_open)
        went_well = went_well && add_condition(query, "phase <> $%d", store__number(TRAIL_IS_CLOSED));
    if (filter->words) went_well = went_well && add_words(query, filter->words);
    if (!went_well)
        return error_set(error, ERROR_TOO_LARGE, "a list by so many words", "at most 20 words of 80 letters");
    query->values[query->count++] = store__number(filter->most > 0 ? filter->most : MOST_LISTED);
    text_addf(&query->sql, " ORDER BY changed DESC, id LIMIT $%d", query->count);
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
    if (!write_query(filter, query, error) || !store__run(store, text_string(&query->sql), query->values,
                                                          query->count, take_summary, &listing, NULL, error))
        return false;
    *summaries = listing.summaries;
    *count = listing.count;
    return true;
}
