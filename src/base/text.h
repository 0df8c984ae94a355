/* text.h: views into text, and text that grows in an arena.
 *
 * Lives here: Text (a view that owns nothing), TextBuilder (grows up to a limit named at birth),
 * numbers read and written without a locale. Not here: units (quantity.h), sentences (format/words).
 * Ownership: a view never outlives its bytes; a builder's text lives in its arena. */
#ifndef BASE_TEXT_H
#define BASE_TEXT_H

#include "base/arena.h"
#include "base/error.h"

typedef struct {
    const char *bytes;
    size_t length;
} Text;

Text text_of(const char *string); /* view of a NUL-terminated string; NULL gives an empty view */
bool text_is(Text text, const char *string);
bool text_equal(const char *a, const char *b); /* of two strings; NULL equals only NULL */

/* Reads a whole text as one decimal number (`12`, `-0.5`, `1e-3`): no locale, no spaces, nothing left
 * over, no `inf`, no `nan`, no hex. Correct to one unit in the last place; false, `value` untouched,
 * otherwise. */
bool text_read_number(Text text, double *value) MUST_CHECK;

/* Length of the longest beginning of `text` that is such a number; 0 when there is none. */
size_t text_number_length(Text text);

typedef struct {
    Arena *arena;
    char *bytes; /* NUL-terminated once anything was added; NULL before */
    size_t length, size, limit;
    bool is_cut; /* the limit or the arena was reached; what was added before stays */
} TextBuilder;

TextBuilder text_builder(Arena *arena, size_t limit);
void text_add(TextBuilder *builder, const char *string);
void text_add_bytes(TextBuilder *builder, const char *bytes, size_t length);
void text_addf(TextBuilder *builder, const char *format, ...) PRINTF_LIKE(2, 3);
const char *text_string(const TextBuilder *builder); /* never NULL */

/* The known word nearest to `wrong` by edits (two at the most), or NULL: for 'did you mean'. */
const char *text_nearest(const char *wrong, const char *const *known, size_t count);

#endif
