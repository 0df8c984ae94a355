/* arena.h: memory that goes at once.
 *
 * Lives here: the arena that every caller brings and every result lives in.
 * Not here: anything that frees one thing alone.
 * Ownership: what arena_take gives belongs to the arena, until arena_free.
 * An arena is born with a limit, so that outside input cannot eat the machine. */
#ifndef BASE_ARENA_H
#define BASE_ARENA_H

#include <stddef.h>

typedef struct ArenaBlock ArenaBlock;

typedef struct {
    ArenaBlock *blocks; /* the one in use first */
    size_t block_bytes; /* size of an ordinary block */
    size_t limit_bytes; /* all blocks together never exceed this */
    size_t held_bytes;  /* all blocks together */
    size_t used_bytes;  /* given out, padding included: a count that does not depend on the machine */
} Arena;

/* An empty arena; takes no memory yet. */
Arena arena_new(size_t limit_bytes);

/* `size` bytes, zeroed, aligned for any type; NULL when the limit or the memory is reached
 * (what was taken before stays). A size of 0 gives a valid pointer. */
void *arena_take(Arena *arena, size_t size);

/* Room for `count` things of `size` bytes, zeroed; NULL as above or when count * size overflows. */
void *arena_take_array(Arena *arena, size_t count, size_t size);

/* A copy of `length` bytes with a NUL behind; NULL as above. */
char *arena_copy_text(Arena *arena, const char *bytes, size_t length);

/* Gives everything back; the arena is empty and may be used again. */
void arena_free(Arena *arena);

#define ARENA_ARRAY(arena, type, count) ((type *)arena_take_array((arena), (count), sizeof(type)))

#endif
