/* summary.c: what a list shows of a call, the words by which it is found, and what became of it, worked out
 * of its records.
 *
 * Words are the texts in the contents of what holds, in small letters, at blanks and signs; `bake-element`
 * stays one word, and so does `bake-element.open`. Letters beyond ASCII are kept as they are. Labels stand
 * among them: `is:open`, `appliance:range-208`, `by:ada`, `part:` of a repair, `fault:` of a closing; no text
 * makes one by itself, since a colon ends a word. */
#include "edge/store/store_private.h"

#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    MOST_WORDS = 20000,
    MOST_OF_TEXT = 18000,
    MOST_WORD = 80,
    MOST_DEPTH = 16,
    WORDS_BYTES = MOST_WORDS * (MOST_WORD + 1)
};

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

void store__label(const char *kind, const char *value, char *label, size_t size)
{
    const int length = snprintf(label, size, "%s:", kind);
    size_t at = length > 0 && (size_t)length < size ? (size_t)length : 0;
    for (; *value && at + 1 < size; value++) label[at++] = *value == '\n' ? ' ' : small(*value);
    while (*value && at > 0 && (unsigned char)label[at - 1] >= 0x80) at--; /* half a letter is none */
    label[at] = '\0';
}

/* Signs at the ends belong to the sentence and not to the word. Too many words are left out: the call is
 * found by the first ones. */
static bool add_word(Words *words, const char *from, size_t length)
{
    while (length > 0 && (from[length - 1] == '.' || from[length - 1] == '-')) length--;
    while (length > 0 && (from[0] == '.' || from[0] == '-')) from++, length--;
    if (length == 0 || length > MOST_WORD || words->count >= MOST_OF_TEXT) return true;
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

/* A label is a word even with blanks in it. */
static bool add_label(Words *words, const char *kind, const char *value)
{
    char label[MOST_WORD + 1];
    store__label(kind, value, label, sizeof label);
    const char *copy = arena_copy_text(words->arena, label, strlen(label));
    if (copy && words->count < MOST_WORDS) words->words[words->count++] = copy;
    return copy != NULL;
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
static void read_head(const TrailRecord *record, const json_t *content, StoreDigest *digest, Arena *arena)
{
    const char *title = find_text(content, "call", arena),
               *appliance = find_text(content, "appliance", arena);
    if (record->kind != TRAIL_OPENED && record->kind != TRAIL_CHANGED) return;
    if (title[0]) digest->of_list.title = title;
    if (appliance[0]) digest->of_list.appliance = appliance;
}

static bool read_repair(const TrailRecord *record, const json_t *content, Words *words)
{
    const char *part = find_text(content, "repair", words->arena);
    return record->kind != TRAIL_ENTRY || !part[0] || add_label(words, "part", part);
}

static bool read_record(const TrailRecord *record, StoreDigest *digest, Words *words)
{
    json_t *content = json_loads(record->payload, 0, NULL);
    read_head(record, content, digest, words->arena);
    const bool went_well = read_repair(record, content, words) && add_json(words, content, 0) &&
                           add_text(words, record->author) && add_label(words, "by", record->author);
    json_decref(content);
    return went_well;
}

/* ---- how it ended */

static double find_number(const json_t *content, const char *key, double otherwise)
{
    const json_t *value = json_object_get(content, key);
    double number = otherwise;
    if (json_is_string(value) && !text_read_number(text_of(json_string_value(value)), &number))
        number = otherwise;
    return number >= 0 && number < 1e6 ? number : otherwise;
}

/* What was named is a fault, or two as `a+b`. */
static int count_named(const char *named)
{
    int count = 1;
    for (; *named; named++) count += *named == '+';
    return count;
}

static bool is_named(const char *named, const char *fault)
{
    for (size_t length; *named; named += length + (named[length] == '+')) {
        length = strcspn(named, "+");
        if (text_is((Text){named, length}, fault)) return true;
    }
    return false;
}

/* What was confirmed counts while the call is closed: of one that came back nobody knows yet. */
static bool read_confirmed(const json_t *content, const json_t *said, StoreDigest *digest, Words *words)
{
    TextBuilder lines = text_builder(words->arena, WORDS_BYTES);
    const json_t *confirmed = json_object_get(content, "confirmed"), *fault;
    const char *named = find_text(said, "fault", words->arena);
    size_t index;
    int met = 0;
    json_array_foreach(confirmed, index, fault)
    {
        const char *name = json_is_string(fault) ? json_string_value(fault) : "";
        if (!name[0] || strchr(name, '\n')) continue;
        text_addf(&lines, "%s%s", lines.length ? "\n" : "", name);
        met += is_named(named, name);
        if (!add_label(words, "fault", name)) return false;
    }
    digest->confirmed = text_string(&lines);
    digest->outcome.came = named[0] && met == count_named(named);
    return !lines.is_cut;
}

static bool read_closing(const TrailRecord *closing, StoreDigest *digest, Words *words)
{
    json_t *content = json_loads(closing->payload, 0, NULL);
    const json_t *said = json_object_get(content, "said");
    digest->outcome.visits = (int)find_number(content, "visits", 1);
    digest->outcome.minute = find_number(content, "minutes", 0);
    digest->outcome.said = find_number(said, "probability", -1);
    const bool went_well = read_confirmed(content, said, digest, words);
    json_decref(content);
    return went_well;
}

static bool read_end(const Trail *trail, const TrailState *state, StoreDigest *digest, Words *words)
{
    if (state->phase != TRAIL_IS_CLOSED && !add_label(words, "is", "open")) return false;
    for (int r = 0; r < trail->count; r++)
        digest->outcome.closings += trail->records[r]->kind == TRAIL_CLOSED && !state->is_struck[r];
    if (state->phase != TRAIL_IS_CLOSED || state->closed < 0) return true;
    return read_closing(trail->records[state->closed], digest, words);
}

/* ---- all of it */

static bool read_records(const Trail *trail, const TrailState *state, StoreDigest *digest, Words *words)
{
    StoreSummary *summary = &digest->of_list;
    for (int r = 0; r < trail->count; r++) {
        const TrailRecord *record = trail->records[r];
        summary->changed_millisecond = record->made_millisecond; /* the last one stays */
        if (!state->is_struck[r] && !read_record(record, digest, words)) return false;
    }
    if (state->opened >= 0) {
        summary->author = trail->records[state->opened]->author;
        summary->opened_millisecond = trail->records[state->opened]->made_millisecond;
    }
    return read_end(trail, state, digest, words) &&
           (!summary->appliance[0] || add_label(words, "appliance", summary->appliance));
}

bool store__summarise(const TrailRecord *records, int count, Arena *arena, StoreDigest *digest, Error *error)
{
    Words *words = ARENA_ARRAY(arena, Words, 1);
    Trail trail;
    TrailState state;
    *digest = (StoreDigest){.of_list = {.title = "", .appliance = "", .author = "", .record_count = count},
                            .outcome = {.said = -1},
                            .confirmed = ""};
    if (!words) return error_memory(error);
    words->arena = arena;
    if (!trail_merge(records, count, NULL, 0, arena, &trail, error) ||
        !trail_replay(&trail, trail.count, arena, &state, error))
        return false;
    if (!read_records(&trail, &state, digest, words)) return error_memory(error);
    if (count > 0) memcpy(digest->of_list.call, records[0].call, sizeof digest->of_list.call);
    digest->of_list.phase = state.phase;
    digest->of_list.conflict_count = state.conflict_count;
    digest->words = join_words(words);
    return true;
}

/* ---- into the store */

static bool put_word(Store *store, const char *sql, const char *word, size_t length, const char *call,
                     Error *error)
{
    const StoreValue values[] = {{.text = word, .length = length}, store__text(call)};
    return store__run(store, sql, values, 2, NULL, NULL, NULL, error);
}

/* Both are sorted; only what has come or gone is written, for an entry changes few of a call's words. */
static bool write_words(Store *store, const char *call, const char *before, const char *now, Error *error)
{
    while (*before || *now) {
        const size_t old = strcspn(before, "\n"), new = strcspn(now, "\n");
        const size_t shorter = old < new ? old : new;
        const int order = memcmp(before, now, shorter);
        const bool is_gone = *before && (!*now || order < 0 || (order == 0 && old < new));
        const bool is_new = *now && (!*before || order > 0 || (order == 0 && new < old));
        if (is_gone &&
            !put_word(store, "DELETE FROM call_word WHERE word = $1 AND call = $2", before, old, call, error))
            return false;
        if (is_new &&
            !put_word(store, "INSERT INTO call_word (word, call) VALUES ($1, $2)", now, new, call, error))
            return false;
        if (!is_new) before += old + 1;
        if (!is_gone) now += new + 1;
    }
    return true;
}

typedef struct {
    Arena *arena;
    const char *text;
} Copied;

static bool copy_text(void *context, const StoreValue *columns, Error *error)
{
    Copied *copied = context;
    copied->text = arena_copy_text(copied->arena, columns[0].text, columns[0].length);
    return copied->text ? true : error_memory(error);
}

static bool write_digest(Store *store, const char *call, const StoreDigest *digest, Error *error)
{
    char turned[TRAIL_ID_SIZE];
    const StoreSummary *summary = &digest->of_list;
    const StoreOutcome *outcome = &digest->outcome;
    store__turn(call, turned);
    const StoreValue values[] = {store__text(call),
                                 store__text(summary->title),
                                 store__text(summary->appliance),
                                 store__text(summary->author),
                                 store__number(summary->phase),
                                 store__number(summary->opened_millisecond),
                                 store__number(summary->changed_millisecond),
                                 store__number(summary->record_count),
                                 store__number(summary->conflict_count),
                                 store__text(turned),
                                 store__text(digest->words),
                                 store__text(digest->confirmed),
                                 store__number(outcome->closings),
                                 store__number(outcome->visits),
                                 store__number((int64_t)(60 * outcome->minute)),
                                 store__number((int64_t)(1e6 * outcome->said)),
                                 store__number(outcome->came)};
    return store__run(store,
                      "UPDATE call SET title = $2, appliance = $3, author = $4, phase = $5, opened = $6,"
                      " changed = $7, records = $8, conflicts = $9, backwards = $10, words = $11,"
                      " confirmed = $12, closings = $13, visits = $14, work_second = $15,"
                      " said_millionth = $16, came = $17 WHERE id = $1",
                      values, 17, NULL, NULL, NULL, error);
}

bool store__refresh(Store *store, const char *call, Error *error)
{
    Arena arena = arena_new((size_t)256 << 20);
    TrailRecord *records;
    StoreDigest digest;
    Copied before = {&arena, ""};
    int count;
    const StoreValue of_call[] = {store__text(call)};
    const bool went_well = store_read_call(store, call, &arena, &records, &count, error) &&
                           store__summarise(records, count, &arena, &digest, error) &&
                           store__run(store, "SELECT words FROM call WHERE id = $1", of_call, 1, copy_text,
                                      &before, NULL, error) &&
                           write_words(store, call, before.text, digest.words, error) &&
                           write_digest(store, call, &digest, error);
    arena_free(&arena);
    return went_well;
}
