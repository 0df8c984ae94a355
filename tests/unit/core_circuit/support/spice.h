/* spice.h: the circuit simulator ngspice inside the test, as its library.
 *
 * Lives here: one circuit at a time, line by line; runs; the volts and amperes of the last run. Not here:
 * what the lines say. Nodes are numbers, 0 is ground. ngspice keeps one state in a process, so there is one
 * of it. */
#ifndef CIRCUIT_SUPPORT_SPICE_H
#define CIRCUIT_SUPPORT_SPICE_H

#include "base/dense.h"

enum { SPICE_MOST_NODES = 600, SPICE_MOST_SOURCES = 600 };

void spice_begin_circuit(void);
void spice_line(const char *format, ...) __attribute__((format(printf, 1, 2)));
void spice_load_circuit(void); /* adds the options and the end, and hands it over */

void spice_command(const char *format, ...) __attribute__((format(printf, 1, 2)));
void spice_run_direct(void);        /* operating point */
void spice_run_mains(double hertz); /* one frequency */

Complex spice_volt(int node);     /* of the last run */
Complex spice_ampere(int source); /* through voltage source v<source>, from its first node to its second */

#endif
