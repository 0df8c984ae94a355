/* machine.h: what the program asks of the machine that it runs on.
 *
 * Lives here: where its memory comes from. Not here: anything that a call or an oven is made of. Nothing is
 * owned, nothing fails: a machine that does not grant it is only slower. */
#ifndef EDGE_MACHINE_H
#define EDGE_MACHINE_H

/* Asks for the heap in large pages, once, before any thread is begun. A first advice touches some twenty
 * megabytes that nobody has touched before; in pages of 4 KiB that is thousands of faults, a quarter of its
 * time. */
void machine_use_large_pages(void);

#endif
