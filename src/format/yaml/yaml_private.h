/* yaml_private.h: what the files of format/yaml share. Not for other rooms. */
#ifndef FORMAT_YAML_PRIVATE_H
#define FORMAT_YAML_PRIVATE_H

#include "format/yaml/yaml.h"

/* Are these bytes text that may be shown to anybody: UTF-8 without control characters, at most
 * YAML_MOST_BYTES? The error says where they are not. */
bool yaml__check_bytes(const char *file, Text bytes, Error *error) MUST_CHECK;

/* The first letters of `text` in quotes, on one line, for a message; `size` of `out` at least 16. */
void yaml__quote(const char *text, char *out, size_t size);

#endif
