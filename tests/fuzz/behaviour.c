/* behaviour.c: any bytes as a file of remembered behaviours; and rows of any bytes, written, read again, and
 * changed in one byte: the first must be taken, the last refused. */
#include "support/shipped.h"

#include "core/behaviour/behaviour.h"

#include <assert.h>
#include <string.h>

enum { ORIGIN = 7 };

static bool reads(Text bytes, int *count)
{
    Arena arena = arena_new(SHIPPED_ARENA_LIMIT);
    BehaviourMemory memory;
    Error error;
    const bool is_begun = behaviour_begin(&arena, &memory, &error);
    assert(is_begun);
    const bool is_taken = is_begun && behaviour_read(&memory, ORIGIN, bytes);
    assert(is_taken || memory.count == 0);
    assert(2 * memory.count <= memory.capacity);
    *count = memory.count;
    arena_free(&arena);
    return is_taken;
}

/* Straight into the places that their keys name; two of one place, and the later one is kept. */
static void fill(BehaviourMemory *memory, const uint8_t *data, size_t size)
{
    for (size_t at = 0; at + sizeof(BehaviourRow) <= size; at += sizeof(BehaviourRow)) {
        BehaviourRow row;
        memcpy(&row, data + at, sizeof row);
        if (row.key[0] == 0 && row.key[1] == 0) continue;
        BehaviourRow *place = &memory->rows[row.key[0] & (uint64_t)(memory->capacity - 1)];
        memory->count += place->key[0] == 0 && place->key[1] == 0;
        *place = row;
    }
}

static void write_and_read(const uint8_t *data, size_t size)
{
    Arena arena = arena_new(SHIPPED_ARENA_LIMIT);
    BehaviourMemory memory;
    Error error;
    int count;
    const bool is_begun = behaviour_begin(&arena, &memory, &error);
    assert(is_begun);
    (void)is_begun;
    fill(&memory, data + 3, size - 3);
    TextBuilder written = text_builder(&arena, SHIPPED_ARENA_LIMIT / 4);
    const bool is_written = behaviour_write(&memory, ORIGIN, &written);
    assert(is_written);
    (void)is_written;
    const Text bytes = {text_string(&written), written.length};
    assert(reads(bytes, &count) && count == memory.count);
    char *changed = arena_copy_text(&arena, bytes.bytes, bytes.length);
    assert(changed);
    changed[(size_t)(data[0] << 8 | data[1]) % bytes.length] ^= (char)(data[2] ? data[2] : 1);
    assert(!reads((Text){changed, bytes.length}, &count));
    arena_free(&arena);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    int count;
    reads((Text){(const char *)data, size}, &count);
    if (size >= 3) write_and_read(data, size);
    return 0;
}
