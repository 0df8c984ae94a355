/* write.c: from jansson's tree to text, and the two leaves that JSON has no word for. */
#include "format/call_json/call_json_private.h"

#include <math.h>

/* 17 digits keep every bit of a double; the order of keys is the writer's. */
static const size_t flags = JSON_INDENT(2) | JSON_PRESERVE_ORDER | JSON_REAL_PRECISION(17);

json_t *call_json__number(double value) { return isfinite(value) ? json_real(value) : json_null(); }

json_t *call_json__text(const char *text) { return text ? json_string(text) : json_null(); }

static int add_piece(const char *bytes, size_t length, void *builder)
{
    text_add_bytes(builder, bytes, length);
    return 0;
}

bool call_json__write(json_t *root, bool is_whole, TextBuilder *out, Error *error)
{
    const bool is_written = root && is_whole && json_dump_callback(root, add_piece, out, flags) == 0;
    json_decref(root);
    text_add(out, "\n");
    return is_written && !out->is_cut ? true : error_memory(error);
}
