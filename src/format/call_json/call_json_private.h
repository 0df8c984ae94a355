/* call_json_private.h: what the writers of this room share. Trees are made by json_pack, which takes what it
 * is given and is NULL when any part of it is: lack of memory shows at the root, where call_json__write sees
 * it. */
#ifndef FORMAT_CALL_JSON_PRIVATE_H
#define FORMAT_CALL_JSON_PRIVATE_H

#include "format/call_json/call_json.h"

#include <jansson.h>

/* A real, or null when it is not finite. */
json_t *call_json__number(double value);

/* Appends the item; a missing one makes the array itself missing, so that call_json__write finds out. */
void call_json__append(json_t **array, json_t *item);

/* An array of texts. */
json_t *call_json__texts(const char *const *texts, int count);

/* What a step would put on record, with what may be answered: `entry`, and `measure` or `sees`; null for
 * steps that put nothing on record. The places that are opened for it, in order. */
json_t *call_json__step_entry(const Standing *standing, const Step *step);
json_t *call_json__step_places(const Standing *standing, const Step *step);

/* Writes the whole document and gives the tree back to jansson. */
bool call_json__write(json_t *root, TextBuilder *out, Error *error) MUST_CHECK;

#endif
