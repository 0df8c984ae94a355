/* write.c: what the writers share, and the way from jansson's tree to text.
 *
 * Policy on failure: a tree that could not be made is NULL, and every step hands that on, so no writer has
 * to ask after each of its calls. Only here is it turned into an error, and nothing of a half-made answer
 * is given out. */
#include "format/call_json/call_json_private.h"

#include <math.h>

/* 17 digits keep every bit of a double; the order of keys is the writer's. */
static const size_t flags = JSON_INDENT(2) | JSON_PRESERVE_ORDER | JSON_REAL_PRECISION(17);

/* Infinity and 'unknown' are null: JSON has no word for either, and a large number would be believed. */
json_t *call_json__number(double value) { return isfinite(value) ? json_real(value) : json_null(); }

void call_json__append(json_t **array, json_t *item)
{
    if (json_array_append_new(*array, item) == 0) return;
    json_decref(*array);
    *array = NULL;
}

json_t *call_json__texts(const char *const *texts, int count)
{
    json_t *array = json_array();
    for (int i = 0; i < count; i++) call_json__append(&array, json_string(texts[i]));
    return array;
}

/* 0 tells jansson to go on; a builder that is full says so afterwards (is_cut). */
static int add_piece(const char *bytes, size_t length, void *builder)
{
    text_add_bytes(builder, bytes, length);
    return 0;
}

bool call_json__write(json_t *root, TextBuilder *out, Error *error)
{
    const bool is_written = root && json_dump_callback(root, add_piece, out, flags) == 0;
    json_decref(root);
    text_add(out, "\n");
    return is_written && !out->is_cut ? true : error_memory(error);
}
