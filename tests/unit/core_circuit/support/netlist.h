/* netlist.h: an appliance in some state, written down for ngspice.
 *
 * Lives here: which branch conducts and with what impedance, read from the appliance alone and independently
 * of src/core/circuit, with which only the stray constants of circuit.h are shared. Not here: ngspice
 * (spice). Node numbers are mark numbers. Branches below ten kilohm are written as a source and its
 * current's volts, for wires and elements beside insulation would cost a nodal matrix its digits. */
#ifndef CIRCUIT_SUPPORT_NETLIST_H
#define CIRCUIT_SUPPORT_NETLIST_H

#include "core/circuit/circuit.h"

typedef struct {
    const Appliance *appliance;
    double ambient_celsius;
    int function;
    bool power_on, control_runs;
    int lifts[CONNECTION_MOST_LIFTS], lift_count;
    int unplugs[CONNECTION_MOST_LIFTS], unplug_count;
    Variant faults[CIRCUIT_MOST_FAULTS];
    int fault_count;
} Setting;

/* What a branch is in a setting. */
typedef struct {
    bool is_open;
    double ohm, reactance_ohm;
} BranchState;

BranchState netlist_state(const Setting *setting, int branch);
double netlist_hertz(const Appliance *appliance);
/* All branches and what leaks; sources have their strength from the setting. `without` is left out, -1. */
void netlist_write(const Setting *setting, int without);
/* The current in a branch from its `from` to its `to`, after a run. */
Complex netlist_ampere(const Setting *setting, int branch);

/* What the control would find, each solved by ngspice: enough supply, a believable sensor, no fault of its
 * own. */
bool netlist_control_runs(const Setting *setting);

#endif
