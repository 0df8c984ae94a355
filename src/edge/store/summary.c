/* summary.c: what a list shows of a call, and the words by which it is found, worked out of its records.
 *
 * Words are the texts in the contents of what holds, in small letters, at blanks and signs; `bake-element`
 * stays one word, and so does `bake-element.open`. Letters beyond ASCII are kept as they are. */
#include "edge/store/store_private.h"

#include <jansson.h>
#include <stdlib.h>
#include <string.h>

enum { MOST_WORDS = 2000, MOST_WORD = 80, MOST_DEPTH = 16, WORDS_BYTES = MOST_WORDS * (MOST_WORD + 1) };

typedef struct {
    Arena *arena;
    const char *words[MOST_WORDS];
    int count;
} Words;

static bool is_of_word(char letter)
{
    return (letter >= 'a' && letter <= 'z') || (letter >= '0' && letter <= '9') || letter == '-' ||
           letter == '.' || (unsigned char)letter >= 0x80;
}

static char small(char letter)
{
    return letter >= 'A' && letter <= 'Z' ? (char)(letter - 'A' + 'a') : letter;
}

/* Signs at the ends belong to the sentence and not to the word. Too many words are left out: the call is
 * found by the first ones. */
static bool add_word(Words *words, const char *from, size_t length)
{
    while (length > 0 && (from[length - 1] == '.' || from[length - 1] == '-')) length--;
    while (length > 0 && (from[0] == '.' || from[0] == '-')) from++, length--;
    if (length == 0 || length > MOST_WORD || words->count == MOST_WORDS) return true;
    char *word = arena_copy_text(words->arena, from, length);
    if (!word) return false;
    words->words[words->count++] = word;
    return true;
}

static bool add_text(Words *words, const char *text)
{
    char word[MOST_WORD + 2];
    size_t length = 0;
    for (const char *at = text;; at++) {
        const char letter = small(*at);
        if (letter != '\0' && is_of_word(letter)) {
            if (length < sizeof word) word[length++] = letter;
            continue;
        }
        if (!add_word(words, word, length)) return false;
        length = 0;
        if (letter == '\0') return true;
    }
}

static bool add_json(Words *words, const json_t *value, int depth)
{
    const char *key;
    json_t *item;
    size_t index;
    if (depth == MOST_DEPTH) return true;
    if (json_is_string(value)) return add_text(words, json_string_value(value));
    if (json_is_object(value)) {
        json_object_foreach((json_t *)value, key, item) if (!add_json(words, item, depth + 1)) return false;
    } else if (json_is_array(value)) {
        json_array_foreach(value, index, item) if (!add_json(words, item, depth + 1)) return false;
    }
    return true;
}

static int by_letters(const void *a, const void *b)
{
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

static const char *join_words(Words *words)
{
    TextBuilder out = text_builder(words->arena, WORDS_BYTES);
    qsort(words->words, (size_t)words->count, sizeof *words->words, by_letters);
    for (int w = 0; w < words->count; w++) {
        if (w > 0 && strcmp(words->words[w], words->words[w - 1]) == 0) continue;
        text_add(&out, words->words[w]);
        text_add(&out, "\n");
    }
    return text_string(&out);
}

/* ---- the summary */

/* A text of the content, in the arena; "" when it is not there. */
static const char *find_text(const json_t *content, const char *key, Arena *arena)
{
    const json_t *value = json_object_get(content, key);
    if (!json_is_string(value)) return "";
    const char *copy = arena_copy_text(arena, json_string_value(value), json_string_length(value));
    return copy ? copy : "";
}

/* The head of a call and its later changes: `call` is the title, as in a call file. */
static bool read_record(const TrailRecord *record, StoreSummary *summary, Words *words)
{
    json_t *content = json_loads(record->payload, 0, NULL);
    const char *title = find_text(content, "call", words->arena),
               *appliance = find_text(content, "appliance", words->arena);
    const bool is_head = record->kind == TRAIL_OPENED || record->kind == TRAIL_CHANGED;
    if (is_head && title[0]) summary->title = title;
    if (is_head && appliance[0]) summary->appliance = appliance;
    const bool went_well = add_json(words, content, 0) && add_text(words, record->author);
    json_decref(content);
    return went_well;
}

bool store__summarise(const TrailRecord *records, int count, Arena *arena, StoreSummary *summary,
                      const char **text, Error *error)
{
    Words *words = ARENA_ARRAY(arena, Words, 1);
    Trail trail;
    TrailState state;
    *summary = (StoreSummary){.title = "", .appliance = "", .author = "", .record_count = count};
    if (!words) return error_memory(error);
    words->arena = arena;
    if (!trail_merge(records, count, NULL, 0, arena, &trail, error) ||
        !trail_replay(&trail, trail.count, arena, &state, error))
        return false;
    for (int r = 0; r < trail.count; r++) {
        const TrailRecord *record = trail.records[r];
        summary->changed_millisecond = record->made_millisecond; /* the last one stays */
        if (!state.is_struck[r] && !read_record(record, summary, words)) return error_memory(error);
    }
    if (count > 0) memcpy(summary->call, records[0].call, sizeof summary->call);
    if (state.opened >= 0) {
        summary->author = trail.records[state.opened]->author;
        summary->opened_millisecond = trail.records[state.opened]->made_millisecond;
    }
    summary->phase = state.phase;
    summary->conflict_count = state.conflict_count;
    *text = join_words(words);
    return true;
}

/* ---- into the store */

static bool write_words(Store *store, const char *call, const char *words, Error *error)
{
    const StoreValue of_call[] = {store__text(call)};
    if (!store__run(store, "DELETE FROM call_word WHERE call = $1", of_call, 1, NULL, NULL, NULL, error))
        return false;
    for (const char *end; (end = strchr(words, '\n')); words = end + 1) {
        const StoreValue values[] = {{.text = words, .length = (size_t)(end - words)}, store__text(call)};
        if (!store__run(store, "INSERT INTO call_word (word, call) VALUES ($1, $2)", values, 2, NULL, NULL,
                        NULL, error))
            return false;
    }
    return true;
}

bool store__refresh(Store *store, const char *call, Error *error)
{
    Arena arena = arena_new((size_t)256 << 20);
    TrailRecord *records;
    StoreSummary summary;
    const char *words;
    int count;
    bool went_well = store_read_call(store, call, &arena, &records, &count, error) &&
                     store__summarise(records, count, &arena, &summary, &words, error);
    if (went_well) {
        const StoreValue values[] = {store__text(call),
                                     store__text(summary.title),
                                     store__text(summary.appliance),
                                     store__text(summary.author),
                                     store__number(summary.phase),
                                     store__number(summary.opened_millisecond),
                                     store__number(summary.changed_millisecond),
                                     store__number(summary.record_count),
                                     store__number(summary.conflict_count)};
        went_well =
            store__run(store,
                       "UPDATE call SET title = $2, appliance = $3, author = $4, phase = $5, opened = $6,"
                       " changed = $7, records = $8, conflicts = $9 WHERE id = $1",
                       values, 9, NULL, NULL, NULL, error) &&
            write_words(store, call, words, error);
    }
    arena_free(&arena);
    return went_well;
}
