/* pages.c: the heap in large pages, where Linux and the GNU C library offer them (madvise(2), mallopt(3)).
 *
 * The heap is let grow by HEAP at a time, which costs addresses and no memory, and the kernel is told that
 * large pages would be welcome in it. What else the heap grows to comes in ordinary ones.
 *
 * Bad at: threads other than the first, whose heaps the C library keeps elsewhere. */
#define _DEFAULT_SOURCE /* sbrk, madvise */

#include "edge/machine/machine.h"

#include <stdint.h>
#include <stdlib.h>

#if defined(__linux__) && defined(__GLIBC__)

#include <malloc.h>
#include <sys/mman.h>
#include <unistd.h>

enum { HEAP = 64 << 20, LARGE_PAGE = 2 << 20, PIECE = 100 << 10, PIECES = 2 };

/* So many pieces are more than what the C library's heap begins with, and each is less than what it would
 * give a mapping of its own. */
static void grow_heap(void)
{
    void *volatile pieces[PIECES]; /* or a compiler sees that nothing comes of it */
    for (int i = 0; i < PIECES; i++) pieces[i] = malloc(PIECE);
    for (int i = 0; i < PIECES; i++) free(pieces[i]);
}

void machine_use_large_pages(void)
{
    char *before = sbrk(0);
    if (!mallopt(M_TOP_PAD, HEAP)) return;
    grow_heap();
    char *end = sbrk(0);
    if (end - before < HEAP) return; /* somebody else's malloc, or no room */
    char *from = before + (LARGE_PAGE - (uintptr_t)before % LARGE_PAGE) % LARGE_PAGE;
    (void)madvise(from, (size_t)(end - from), MADV_HUGEPAGE);
}

#else

void machine_use_large_pages(void) {}

#endif
