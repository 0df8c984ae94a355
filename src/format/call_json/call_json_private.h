/* call_json_private.h: what the writers of this room share. Ownership is jansson's: the `_new` calls take the
 * value that they are given, NULL included, and a tree that lacks memory somewhere is NULL or short, which
 * call_json__write finds out. */
#ifndef FORMAT_CALL_JSON_PRIVATE_H
#define FORMAT_CALL_JSON_PRIVATE_H

#include "format/call_json/call_json.h"

#include <jansson.h>

/* A real, or null when it is not finite. */
json_t *call_json__number(double value);

/* A string, or null for NULL. */
json_t *call_json__text(const char *text);

/* Writes the whole document and gives the tree back to jansson. `is_whole` is false when some part could not
 * be put in. */
bool call_json__write(json_t *root, bool is_whole, TextBuilder *out, Error *error) MUST_CHECK;

#endif
