/* words.h: which sentence says that code.
 *
 * Lives here: the sentences of data/words/<language>.yaml, found by key, with {placeholders} filled in. Not
 * here: which code it is (core), how a quantity is written (base/quantity): values come as text.
 * A key is the path through the file: `step.ohm` is the entry `ohm` of the mapping `step`.
 * Ownership: what is read lives in the arena of words_read. */
#ifndef FORMAT_WORDS_H
#define FORMAT_WORDS_H

#include "base/arena.h"
#include "base/error.h"
#include "base/text.h"

typedef struct {
    const char *key, *text;
} Sentence;

typedef struct {
    const Sentence *sentences; /* sorted by key */
    int count;
} Words;

/* What stands in for {name}. */
typedef struct {
    const char *name, *text;
} WordValue;

/* Reads a file of sentences: mappings of mappings down to text. `file` is only for errors: what
 * yaml_read_tree refuses, a list, and a brace that is not closed. */
bool words_read(const char *file, Text bytes, Arena *arena, Words *words, Error *error) MUST_CHECK;

/* The sentence with that key, placeholders as they stand; NULL when there is none. */
const char *words_find(const Words *words, const char *key);

/* Adds the sentence. What is missing shows: a missing sentence as [key], a missing value as {name}. */
void words_say(const Words *words, TextBuilder *out, const char *key, const WordValue *values, int count);

#endif
