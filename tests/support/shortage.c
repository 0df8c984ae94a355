/* shortage.c: see shortage.h. */
#include "support/shortage.h"
#include "support/near.h"

#include <stdlib.h>
#include <string.h>

static const size_t MIB = (size_t)1 << 20;

void shortage_of_bytes(ShortageReader *read, void *of, Text whole, size_t step, bool has_line)
{
    for (size_t length = 0; length < whole.length; length += step) {
        Arena arena = arena_new(16 * MIB);
        Error error = {0};
        char *bytes = malloc(length ? length : 1);
        assert_non_null(bytes);
        memcpy(bytes, whole.bytes, length);
        if (!read(of, (Text){bytes, length}, &arena, &error)) {
            assert_int_equal(error_exit_status(error.code), 3);
            if (has_line) assert_true(error.line > 0);
        }
        free(bytes);
        arena_free(&arena);
    }
}

void shortage_of_memory(ShortageReader *read, void *of, Text whole)
{
    int failures = 0;
    bool is_read = false;
    for (size_t limit = 0; !is_read && limit < 16 * MIB; limit += limit < 16384 ? 16 : limit / 64) {
        Arena arena = arena_new(limit);
        Error error = {0};
        arena.block_bytes = 64;
        is_read = read(of, whole, &arena, &error);
        if (!is_read) assert_int_equal(error.code, ERROR_MEMORY);
        failures += !is_read;
        arena_free(&arena);
    }
    assert_true(is_read && failures > 10);
}
