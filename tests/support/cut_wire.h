/* cut_wire.h: a wire between a program and its database server that is cut at a chosen moment.
 *
 * A process of its own carries bytes between the two. The first connection is cut; later ones are carried to
 * their end. Ownership: cut_wire_end ends the process. */
#ifndef SUPPORT_CUT_WIRE_H
#define SUPPORT_CUT_WIRE_H

#include <stddef.h>
#include <sys/types.h>

typedef enum {
    CUT_BEFORE_COMMIT, /* the server never gets it */
    CUT_AFTER_COMMIT,  /* the server has answered, and the answer is lost */
    CUT_ANYWHERE       /* after so many bytes, both ways together */
} CutMoment;

typedef struct {
    pid_t process;
    int arm; /* a pipe: the cut is not before a byte came through it */
} CutWire;

/* `through` becomes the address of the same store by way of the wire. */
CutWire cut_wire_begin(const char *address, CutMoment moment, int bytes, char *through, size_t size);
void cut_wire_arm(CutWire *wire); /* from now on the moment counts */
void cut_wire_end(CutWire *wire);

#endif
