/* arena.c: see arena.h. Blocks in a list, the one in use first; a thing larger than a block gets a
 * block of its own. Blocks are zeroed when taken from the C library, so a thing is zeroed too.
 *
 * Invariants: (1) held_bytes never exceeds limit_bytes, so the caller's limit is a promise about all blocks
 * together; (2) what was given out never moves, so things in one arena may point at each other until
 * arena_free; (3) every size is rounded up to ALIGNMENT, so the next thing is aligned without asking.
 *
 * Bad at: freeing one thing, and growing one. What a growing text has outgrown stays until the end
 * (text.c): at most as much again as it holds. Only the block in use is looked at, so the rest of one that
 * was too short for the next small thing is never used. */
#include "base/arena.h"

#include <assert.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/* 16 is what the C library's malloc promises on 64-bit machines; 64 KiB is large beside anything that is
 * taken one at a time, and small beside any limit. */
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

/* Near the limit only what is wanted is asked for, so the last bytes can be used too. Failing leaves the
 * arena as it was. */
static ArenaBlock *add_block(Arena *arena, size_t wanted)
{
    size_t size = wanted > arena->block_bytes ? wanted : arena->block_bytes;
    if (size > arena->limit_bytes - arena->held_bytes) size = wanted;
    if (size > arena->limit_bytes - arena->held_bytes) return NULL;
    ArenaBlock *block = calloc(1, sizeof *block + size);
    if (!block) return NULL;
    /* The one in use stays the one in use, or what is left of it would be lost to each large thing. */
    ArenaBlock **at = size > arena->block_bytes && arena->blocks ? &arena->blocks->next : &arena->blocks;
    block->size = size;
    block->next = *at;
    *at = block;
    arena->held_bytes += size;
    return block;
}

void *arena_take(Arena *arena, size_t size)
{
    assert(arena->held_bytes <= arena->limit_bytes);
    if (size > SIZE_MAX - ALIGNMENT) return NULL; /* rounding up would wrap around */
    /* Nothing is given an address of its own too, so that two things are never the same one. */
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

/* Counts come from files, so the product is checked before it is formed. */
void *arena_take_array(Arena *arena, size_t count, size_t size)
{
    if (size && count > SIZE_MAX / size) return NULL;
    return arena_take(arena, count * size);
}

/* The NUL is there already: blocks come zeroed and no byte is given twice. */
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
