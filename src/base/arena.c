/* arena.c: see arena.h. Blocks in a list, newest first; a thing larger than a block gets a
 * block of its own. Blocks are zeroed when taken from the C library, so a thing is zeroed too. */
#include "base/arena.h"

#include <assert.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

enum { ALIGNMENT = 16, ORDINARY_BLOCK = 64 * 1024 };

struct ArenaBlock {
    ArenaBlock *next;
    size_t size, used;
    _Alignas(ALIGNMENT) unsigned char bytes[];
};

Arena arena_new(size_t limit_bytes)
{
    return (Arena){.block_bytes = ORDINARY_BLOCK, .limit_bytes = limit_bytes};
}

static ArenaBlock *add_block(Arena *arena, size_t wanted)
{
    size_t size = wanted > arena->block_bytes ? wanted : arena->block_bytes;
    if (size > arena->limit_bytes - arena->held_bytes) size = wanted;
    if (size > arena->limit_bytes - arena->held_bytes) return NULL;
    ArenaBlock *block = calloc(1, sizeof *block + size);
    if (!block) return NULL;
    block->size = size;
    block->next = arena->blocks;
    arena->blocks = block;
    arena->held_bytes += size;
    return block;
}

void *arena_take(Arena *arena, size_t size)
{
    assert(arena->held_bytes <= arena->limit_bytes);
    if (size > SIZE_MAX - ALIGNMENT) return NULL;
    const size_t padded = size ? (size + ALIGNMENT - 1) / ALIGNMENT * ALIGNMENT : ALIGNMENT;
    ArenaBlock *block = arena->blocks;
    if (!block || block->size - block->used < padded) block = add_block(arena, padded);
    if (!block) return NULL;
    void *given = block->bytes + block->used;
    block->used += padded;
    arena->used_bytes += padded;
    assert(block->used <= block->size);
    return given;
}

void *arena_take_array(Arena *arena, size_t count, size_t size)
{
    if (size && count > SIZE_MAX / size) return NULL;
    return arena_take(arena, count * size);
}

char *arena_copy_text(Arena *arena, const char *bytes, size_t length)
{
    if (length == SIZE_MAX) return NULL;
    char *copy = arena_take(arena, length + 1);
    if (copy && length) memcpy(copy, bytes, length);
    return copy;
}

void arena_free(Arena *arena)
{
    for (ArenaBlock *block = arena->blocks, *next; block; block = next) {
        next = block->next;
        free(block);
    }
    arena->blocks = NULL;
    arena->held_bytes = arena->used_bytes = 0;
}
