/* record.c: any bytes as one record on a line; what is read must be written and read again the same. */
#include "support/shipped.h"

#include "format/record_text/record_text.h"

#include <stdlib.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    const Text bytes = {(const char *)data, size};
    Arena arena = arena_new(SHIPPED_ARENA_LIMIT);
    TrailRecord record, again;
    Error error = {0};
    if (!record_text_read_json("fuzz", 1, bytes, &arena, &record, &error)) {
        shipped_check_error(&error);
    } else {
        TextBuilder line = text_builder(&arena, 8 * RECORD_TEXT_MOST_BYTES);
        const TrailRecord *const first = &record;
        Trail trail;
        if (!record_text_write_json(first, &line, &error) ||
            !record_text_read_json("fuzz", 1, text_of(text_string(&line)), &arena, &again, &error) ||
            !trail_merge(first, 1, &again, 1, &arena, &trail, &error) || trail.count != 1)
            abort();
    }
    arena_free(&arena);
    return 0;
}
