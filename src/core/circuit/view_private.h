/* view_private.h: what the files of this room share of a network seen through a meter's two probes, with
 * faults in it. The network itself: circuit_private.h. */
#ifndef CORE_CIRCUIT_VIEW_PRIVATE_H
#define CORE_CIRCUIT_VIEW_PRIVATE_H

#include "core/circuit/circuit_private.h"

/* A network through two probes. */
struct CircuitView {
    const CircuitNetwork *network;
    int from, to;
    Complex *towards;   /* [branches]: transfer impedance between probes and branch */
    Complex probe_self; /* impedance seen by the probes */
    Complex probe_volt; /* open-circuit volts between the probes */
    double probe_reach; /* no mark gets more volts from one ampere through the probes */
};

typedef enum {
    CONTROL_RUNS,
    CONTROL_DEAD,   /* no supply, or broken itself */
    CONTROL_REFUSES /* it does not believe its sensor, and says so */
} ControlState;

/* Views that decide whether the control runs; NULL where that does not count. */
struct CircuitControl {
    const CircuitView *power, *sensed;
    const ControlState *states; /* [variants], each alone; the last: with none */
};

/* The currents that stand in for the changed branches: see currents.c. */
typedef struct {
    int count;
    int branch[CIRCUIT_MOST_CHANGES];
    Complex admittance[CIRCUIT_MOST_CHANGES], delta[CIRCUIT_MOST_CHANGES];
    Complex by_probe[CIRCUIT_MOST_CHANGES];  /* amperes, with one ampere through the probes */
    Complex by_source[CIRCUIT_MOST_CHANGES]; /* amperes, with the sources on */
    double sag;
    double loss;   /* by how much rounding has grown */
    bool is_fresh; /* the network was solved anew with the changes in it: use its fresh_... instead */
} Currents;

/* A view; NULL when memory is out, or when there is no network. */
CircuitView *circuit__view(Circuit *circuit, const CircuitNetwork *network, int from, int to);

/* Lists what variants change in a network, without any currents; the last of them, NULL when there is none.
 */
const Change *circuit__list_changes(const CircuitNetwork *network, const int *variants, int count,
                                    Currents *currents);
/* The currents of up to CIRCUIT_MOST_FAULTS variants, and what they make of probes and branches. The network
 * must be prepared. */
void circuit__find_currents(const CircuitView *view, const int *variants, int count, Currents *currents);
/* The same by a new solution, which costs a hundred times as much and loses nothing. */
void circuit__solve_anew(const CircuitView *view, Currents *currents);
/* Does the variant change anything in the network of a view (NULL: there is none)? */
bool circuit__is_moved(const CircuitView *view, int variant);
/* How far off a voltage (or an impedance, `of_volt` false) between the probes may be by rounding. */
double circuit__probe_error(const CircuitView *view, const Currents *currents, bool of_volt);
Complex circuit__probe_self(const CircuitView *view, const Currents *currents);
Complex circuit__probe_volt(const CircuitView *view, const Currents *currents);
Complex circuit__branch_volt(const CircuitView *view, const Currents *currents,
                             int branch); /* own source added */
Complex circuit__branch_ampere(const CircuitView *view, const Currents *currents, int branch);
/* Has one of the faults changed this branch? */
bool circuit__is_changed(const Currents *currents, int branch);
/* Square of what the tolerances of the parts do to an impedance or to open-circuit volts (a branch with a
 * fault in it has no tolerance any more, its severity says what it is): for one branch
 * d(reading) / d(ln R) = z_mb u_b y_b, with u_b the transfer impedance or the volts of the branch. */
double circuit__tolerance_square(const CircuitView *view, const Currents *currents, bool of_volt);

/* What decides whether the control runs in a function; NULL when memory is out or there is no control. */
CircuitControl *circuit__control(Circuit *circuit, int function, const Opened *opened);
/* Does the control run with these variants? It does without a control. */
ControlState circuit__control_state(const Circuit *circuit, const CircuitControl *control,
                                    const int *variants, int count);
/* Can the variant decide that, alone or beside another? Not without a control. */
bool circuit__control_sees(const Circuit *circuit, const CircuitControl *control, int variant);

#endif
