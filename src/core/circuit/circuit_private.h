/* circuit_private.h: what the files of this room share: a solved network, and a view of it through a
 * meter's two probes. */
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

/* One branch gets another admittance. */
typedef struct {
    int branch;
    Complex delta; /* siemens, on top of what the network has */
} Change;

/* Elimination of one mark: its weights towards the marks that are still there. */
typedef struct {
    int mark, first, count; /* into link_mark, link_weight */
    Complex pivot;
} Elimination;

struct CircuitNetwork {
    int marks, branches;
    NetworkMode mode;
    Complex *admittance; /* [branches], siemens */
    Complex *source;     /* [branches], volts that the branch itself drives from its `from` to its `to` */
    Elimination *eliminations; /* [marks - 1], in the order in which they went */
    int *link_mark;
    Complex *link_weight;
    Complex
        *column;   /* [branches][marks]: volts at the marks per ampere driven through the branch's two ends */
    Complex *volt; /* [marks]: volts with the sources on */
    Change *changes;      /* of all variants, one after the other */
    int *first_change;    /* [variants + 1] */
    double *sag;          /* [variants]: factor on all sources */
    const Branch *wiring; /* the appliance's branches */
};

/* A network through two probes, with lifted wires and open plugs already worked in. */
struct CircuitView {
    const CircuitNetwork *network;
    int from, to;
    int opened_count;
    int opened[CIRCUIT_MOST_OPENED];
    Complex *inverse;   /* [opened][opened]: (I + D Z)^-1 D of the opened branches */
    Complex *towards;   /* [branches]: transfer impedance between probes and branch */
    Complex *self;      /* [branches]: impedance seen by the branch */
    Complex *drive;     /* [branches]: volts across the branch, its own source added */
    Complex probe_self; /* impedance seen by the probes */
    Complex probe_volt; /* open-circuit volts between the probes */
};

/* The currents that stand in for the changed branches: see currents.c. */
typedef struct {
    int count;
    int branch[CIRCUIT_MOST_CHANGES];
    Complex delta[CIRCUIT_MOST_CHANGES];
    Complex inverse[CIRCUIT_MOST_CHANGES * CIRCUIT_MOST_CHANGES]; /* (I + D Z)^-1 D */
    double sag;
} Currents;

/* The network of a function and mode, solved when first asked for; NULL when memory is out. */
const CircuitNetwork *circuit__network(Circuit *circuit, int function, NetworkMode mode);

/* The admittance of a branch in its ordinary state in that function and mode, siemens. */
Complex circuit__admittance(const Circuit *circuit, int branch, int function, NetworkMode mode);
/* The admittance of a branch that conducts no more. */
Complex circuit__open_admittance(const Circuit *circuit, NetworkMode mode);
/* Fills network->changes: what each variant does to this network. False when memory is out. */
bool circuit__find_changes(const Circuit *circuit, CircuitNetwork *network, Arena *arena);

/* Volts at the marks when one ampere enters at `from` and leaves at `to`: out[marks]. */
void circuit__solve_pair(const CircuitNetwork *network, int from, int to, Complex *out);
/* Impedance between branch `driven` carrying the current and branch `read` showing the volts. */
Complex circuit__transfer(const CircuitNetwork *network, int driven, int read);

/* A view; NULL when memory is out. */
const CircuitView *circuit__view(Circuit *circuit, const CircuitNetwork *network, int from, int to,
                                 const int *opened, int opened_count);
/* Transfer impedance between two branches in a view. */
Complex circuit__view_transfer(const CircuitView *view, int driven, int read);

/* The currents of up to CIRCUIT_MOST_FAULTS variants, and what they make of probes and branches. */
void circuit__find_currents(const CircuitView *view, const int *variants, int count, Currents *currents);
Complex circuit__probe_self(const CircuitView *view, const Currents *currents);
Complex circuit__probe_volt(const CircuitView *view, const Currents *currents);
Complex circuit__branch_volt(const CircuitView *view, const Currents *currents,
                             int branch); /* own source added */
Complex circuit__branch_ampere(const CircuitView *view, const Currents *currents, int branch);
Complex circuit__branch_towards(const CircuitView *view, const Currents *currents, int branch);

/* The branches that lifted wires and open plugs open: out[CIRCUIT_MOST_OPENED]; the count, -1 for too many.
 */
int circuit__opened(const Appliance *appliance, const Connection *connection, int *out);

/* Does the control run with these variants? */
bool circuit__control_runs(const CircuitMeter *meter, const int *variants, int count);

#endif
