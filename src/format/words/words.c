/* words.c: see words.h. Reading flattens the tree into one sorted list; saying copies a sentence and puts
 * values where its braces are.
 *
 * Invariants: (1) keys are sorted; (2) braces are whole, so that filling in never runs past
 * the end; (3) what is missing shows in the text and stops nothing: a technician with a sentence that reads
 * [step.ohm] still has the figures around it, and tools/words finds it before a release.
 *
 * Bad at: sharing. Each sentence is found anew by halving; with some hundreds of them that is nothing
 * beside writing them. */
#include "format/words/words.h"

#include "format/yaml/yaml.h"

#include <assert.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { LONGEST_KEY = 200 };

/* Counted first, so that the array is taken once. */
static int count_scalars(const YamlNode *node)
{
    if (node->type == YAML_SCALAR) return 1;
    int count = 0;
    for (const YamlNode *child = node->first; child; child = child->next) count += count_scalars(child);
    return count;
}

/* Every opening brace has its closing one before the next opens. */
static bool has_whole_braces(const char *text)
{
    for (const char *open = strchr(text, '{'); open; open = strchr(open + 1, '{')) {
        const char *close = strchr(open, '}');
        const char *next = strchr(open + 1, '{');
        if (!close || (next && next < close)) return false;
    }
    return true;
}

/* A brace that is not closed is refused at reading, where it has a line, and not when it is said. */
static bool add_sentence(const YamlReader *reader, const YamlNode *node, const char *key, Sentence *sentence,
                         Error *error)
{
    if (!has_whole_braces(node->text))
        return yaml_refuse(reader, node, ERROR_SYNTAX, error, "a } behind every {");
    *sentence = (Sentence){.key = key, .text = node->text};
    return true;
}

/* Adds what is below `node`; `path` is its own key, empty at the top. */
static bool add_below(const YamlReader *reader, const YamlNode *node, const char *path, Sentence *sentences,
                      int *count, Error *error)
{
    if (node->type == YAML_SCALAR) return add_sentence(reader, node, path, &sentences[(*count)++], error);
    if (!yaml_need_mapping(reader, node, "sentences by key", error)) return false;
    for (const YamlNode *child = node->first; child; child = child->next) {
        TextBuilder key = text_builder(reader->arena, LONGEST_KEY);
        text_addf(&key, "%s%s%s", path, *path ? "." : "", child->key);
        if (key.is_cut)
            return yaml_refuse(reader, child, ERROR_TOO_LARGE, error, "a key of at most %d letters",
                               LONGEST_KEY);
        if (!add_below(reader, child, text_string(&key), sentences, count, error)) return false;
    }
    return true;
}

/* By bytes: the order only has to be the same for sorting and for finding. */
static int compare(const void *a, const void *b)
{
    return strcmp(((const Sentence *)a)->key, ((const Sentence *)b)->key);
}

bool words_read(const char *file, Text bytes, Arena *arena, Words *words, Error *error)
{
    const YamlNode *root = NULL;
    if (!yaml_read_tree(file, bytes, arena, &root, error)) return false;
    const YamlReader reader = {.file = file, .arena = arena};
    if (!yaml_need_mapping(&reader, root, "sentences by key", error)) return false;
    const int most = count_scalars(root);
    Sentence *sentences = ARENA_ARRAY(arena, Sentence, (size_t)most);
    if (!sentences) return error_memory(error);
    int count = 0;
    if (!add_below(&reader, root, "", sentences, &count, error)) return false;
    assert(count == most);
    qsort(sentences, (size_t)count, sizeof *sentences, compare);
    *words = (Words){.sentences = sentences, .count = count};
    return true;
}

bool words_add(const char *file, Text bytes, Arena *arena, Words *words, Error *error)
{
    Words more;
    if (!words_read(file, bytes, arena, &more, error)) return false;
    Sentence *all = ARENA_ARRAY(arena, Sentence, (size_t)words->count + (size_t)more.count);
    int count = 0;
    if (!all) return error_memory(error);
    for (int i = 0; i < words->count; i++) all[count++] = words->sentences[i];
    for (int i = 0; i < more.count; i++)
        if (!words_find(words, more.sentences[i].key)) all[count++] = more.sentences[i];
    qsort(all, (size_t)count, sizeof *all, compare);
    *words = (Words){.sentences = all, .count = count};
    return true;
}

const char *words_translate(const Words *words, const char *english)
{
    char key[LONGEST_KEY + 1];
    if (!english || snprintf(key, sizeof key, "says.%s", english) >= (int)sizeof key) return english;
    const char *found = words_find(words, key);
    return found ? found : english;
}

/* 'wire-K2-BK1' is translated as 'wire'. */
const char *words_name(const Words *words, const char *identifier, Arena *arena)
{
    static const char wire[] = "wire";
    const size_t length = sizeof wire - 1;
    const char *said = words_translate(words, identifier), *as_wire = words_translate(words, wire);
    if (said != identifier || strncmp(identifier, "wire-", length + 1) != 0 || as_wire == wire) return said;
    TextBuilder made = text_builder(arena, LONGEST_KEY);
    text_addf(&made, "%s %s", as_wire, identifier + length + 1);
    return text_string(&made);
}

/* bsearch may not be given an empty array's NULL. */
const char *words_find(const Words *words, const char *key)
{
    const Sentence wanted = {.key = key};
    if (words->count == 0) return NULL;
    const Sentence *found = bsearch(&wanted, words->sentences, (size_t)words->count, sizeof wanted, compare);
    return found ? found->text : NULL;
}

/* The value of the placeholder whose name is these letters; NULL when nobody gave it. */
static const char *find_value(Text name, const WordValue *values, int count)
{
    for (int i = 0; i < count; i++)
        if (text_is(name, values[i].name)) return values[i].text;
    return NULL;
}

/* Values are put in as they are and not looked through for braces of their own: what a user typed cannot
 * become a placeholder. */
void words_say(const Words *words, TextBuilder *out, const char *key, const WordValue *values, int count)
{
    const char *text = words_find(words, key);
    if (!text) {
        text_addf(out, "[%s]", key);
        return;
    }
    for (const char *open = strchr(text, '{'); open; open = strchr(text, '{')) {
        const char *close = strchr(open, '}');
        assert(close); /* words_read has seen to it */
        const Text name = {open + 1, (size_t)(close - open - 1)};
        const char *value = find_value(name, values, count);
        text_add_bytes(out, text, (size_t)(open - text));
        if (value)
            text_add(out, value);
        else
            text_add_bytes(out, open, (size_t)(close - open + 1));
        text = close + 1;
    }
    text_add(out, text);
}
