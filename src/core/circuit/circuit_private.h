/* circuit_private.h: what the files of this room share of a solved network. What a meter sees of one with
 * faults in it: view_private.h. */
#ifndef CORE_CIRCUIT_PRIVATE_H
#define CORE_CIRCUIT_PRIVATE_H

#include "core/circuit/circuit.h"

enum {
    CIRCUIT_MOST_CHANGES = CIRCUIT_MOST_FAULTS * APPLIANCE_MOST_EFFECTS, /* by faults */
    CIRCUIT_MOST_OPENED = 24                                             /* by lifted wires and open plugs */
};

/* What the technician and the control have done to the supply and the driven contacts. */
typedef enum {
    MODE_DEAD,    /* supply disconnected: direct current, as an ohmmeter sees it */
    MODE_RUNNING, /* on the mains, the control closes what the function asks for */
    MODE_STOPPED  /* on the mains, the control does not run: driven contacts stay open */
} NetworkMode;

/* What hands have opened: branches, ascending. */
typedef struct {
    int branches[CIRCUIT_MOST_OPENED];
    int count;
} Opened;

/* One mark taken out of the network, towards the marks that are still there: links first, first + 1 ... */
typedef struct {
    int mark, first, count;
} Elimination;

/* In which order marks go, and which links that takes: pattern.c. */
typedef struct CircuitPattern {
    int marks, branches, links, fills;
    Elimination *eliminations; /* [marks - 1], in the order in which they go */
    int *link_mark;            /* [links] */
    int *fill_link;   /* [fills]: elimination by elimination, for each pair of links the link between their
                         marks */
    int *branch_link; /* [branches]; -1 for a branch to earth */
} CircuitPattern;

/* An eliminated network, or the room for one. */
typedef struct {
    Complex *weight; /* [links]: what the mark gets of its neighbour's volts */
    Complex *spread; /* [marks - 1]: volts of the mark per ampere into it, neighbours at 0 */
    Complex *leak;   /* [marks]: to earth */
} Factors;

/* One branch gets another admittance. */
typedef struct {
    int branch;
    Complex admittance; /* siemens; not to be had from delta, which is off by the rounding of a wire's */
    Complex delta;      /* on top of what the network has */
    Complex effect;     /* delta / (1 + delta Z): of this change alone */
    double loss;        /* how much larger than 1 + delta Z the numbers are that make it */
} Change;

struct CircuitNetwork {
    const CircuitPattern *pattern;
    const Branch *wiring; /* the appliance's branches */
    int marks, branches;
    NetworkMode mode;
    Opened opened;
    CircuitNetwork *next; /* of the same function and mode, with something else opened */
    Complex *admittance;  /* [branches], siemens */
    Complex *source;      /* [branches], volts that the branch itself drives from its `from` to its `to` */
    Factors factors;
    Complex *volt;     /* [marks]: volts with the sources on */
    Complex *drive;    /* [branches]: volts across the branch, its own source added */
    double volt_reach; /* none of them is larger */
    double *tolerance; /* [branches]: square of tolerance times admittance */
    int *tolerant;     /* [tolerant_count]: branches that have any */
    int tolerant_count;
    CircuitControl *control; /* on the mains, stopped: what decides whether it runs; NULL before asked for */
    /* What faults do to it; NULL before circuit__prepare. */
    Complex *transfer; /* [branches][branches]: volts across one per ampere driven through another */
    Change *changes;   /* of all variants, one after the other */
    int *first_change; /* [variants + 1] */
    double *sag;       /* [variants]: factor on all sources */
    /* Room for one solution of it with changes; what is in it holds until the next one. */
    Factors fresh;
    Complex *fresh_admittance, *fresh_volt, *fresh_probe;
};

CircuitPattern *circuit__pattern(const Appliance *appliance, Arena *arena); /* NULL when memory is out */

/* The network of a function and mode with branches opened by hand, solved when first asked for; NULL when
 * memory is out. */
CircuitNetwork *circuit__network(Circuit *circuit, int function, NetworkMode mode, const Opened *opened);
/* Makes a network fit for faults; false when memory is out. */
bool circuit__prepare(const Circuit *circuit, CircuitNetwork *network);

/* The admittance of a branch in its ordinary state in that function and mode, siemens. */
Complex circuit__admittance(const Circuit *circuit, int branch, int function, NetworkMode mode);
/* The admittance of a branch that conducts no more. */
Complex circuit__open_admittance(const Circuit *circuit, NetworkMode mode);
/* Fills network->changes: what each variant does to this network. False when memory is out. */
bool circuit__find_changes(const Circuit *circuit, CircuitNetwork *network);

/* Eliminates all marks; `admittance` is of the branches. */
void circuit__factorise(const CircuitPattern *pattern, const Branch *wiring, const Complex *admittance,
                        Factors *factors);
/* Currents into the marks (in `volt`, amperes; earth's entry is of no account) become volts at the marks. */
void circuit__solve(const CircuitPattern *pattern, const Factors *factors, Complex *volt);
/* Volts at the marks when one ampere enters at `from` and leaves at `to`: out[marks]. */
void circuit__solve_pair(const CircuitPattern *pattern, const Factors *factors, int from, int to,
                         Complex *out);
/* Volts at the marks with the sources on. */
void circuit__solve_sources(const CircuitNetwork *network, const Factors *factors, const Complex *admittance,
                            Complex *out);
/* Volts across a branch, without a source of its own. */
Complex circuit__across(const CircuitNetwork *network, const Complex *volt, int branch);

/* The branches that lifted wires and open plugs open; false when they are too many. */
bool circuit__opened(const Appliance *appliance, const Connection *connection, Opened *opened);
/* Opens one more; false when they are too many. */
bool circuit__open(Opened *opened, int branch);
bool circuit__is_opened(const Opened *opened, int branch);

#endif
