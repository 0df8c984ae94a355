/* shortage.h: what a reader does with part of a file, and with part of the memory.
 *
 * Lives here: every beginning of a text, and every size of an arena, given to a reader in turn. Not here:
 * what the whole text says. A reader that takes a cut text is right, too: it may end anywhere. */
#ifndef SUPPORT_SHORTAGE_H
#define SUPPORT_SHORTAGE_H

#include "base/arena.h"
#include "base/error.h"
#include "base/text.h"

/* Reads bytes with an arena; `of` is the test's own. */
typedef bool ShortageReader(void *of, Text bytes, Arena *arena, Error *error);

/* Every `step`-th length: read, or refused as bad input (exit status 3), at a line where `has_line`. The copy
 * is just that long, so that a sanitizer sees one step too far. */
void shortage_of_bytes(ShortageReader *read, void *of, Text whole, size_t step, bool has_line);

/* From nothing to 16 MiB: out of memory, until it is read; more than ten times. */
void shortage_of_memory(ShortageReader *read, void *of, Text whole);

#endif
