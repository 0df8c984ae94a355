/* changes.c: what each fault at each severity does to a network, as changed admittances.
 *
 * A fault that changes nothing in a network (a contact that cannot close, while nobody asks it to) has no
 * entry there and costs nothing.
 *
 * Invariants: (1) the changes of variant v are those from first_change[v] to before first_change[v + 1];
 * (2) none of them leaves its branch as it was; (3) no two of one variant are of the same branch.
 *
 * A fault acts on what the network has, not on what the diagram says: an open contact that burns stays
 * open, one that welds is closed, and a wire that hangs free by the technician's hand cannot be broken once
 * more. */
#include <assert.h>
#include <math.h>

#include "core/circuit/circuit_private.h"

/* Compared bit for bit: an open branch got exactly this admittance, whatever opened it. */
static bool is_open_now(const CircuitNetwork *network, const Circuit *circuit, int branch)
{
    const Complex now = network->admittance[branch], open = circuit__open_admittance(circuit, network->mode);
    return now.re == open.re && now.im == open.im;
}

/* By way of the impedance, so that the reactance of a motor stays what it was. A sensor that drifts low by
 * more ohms than it has would conduct without limit; CIRCUIT_LEAST_OHM stops that. */
static Complex with_resistance(Complex admittance, double factor, double more_ohm)
{
    Complex impedance = complex_divide((Complex){1, 0}, admittance);
    impedance.re = impedance.re * factor + more_ohm;
    if (impedance.re < CIRCUIT_LEAST_OHM) impedance.re = CIRCUIT_LEAST_OHM;
    return complex_divide((Complex){1, 0}, impedance);
}

/* A welded contact is as good as the contact was; insulation that breaks down has the ohms of its severity.
 */
static Complex closed(const Branch *branch, double severity)
{
    const double own = branch->cold_ohm > 0 ? branch->cold_ohm : CIRCUIT_SHORT_OHM;
    return (Complex){1 / (severity > 0 ? severity : own), 0};
}

static Complex faulted(const CircuitNetwork *network, const Circuit *circuit, const Fault *fault,
                       double severity, int branch)
{
    const Complex now = network->admittance[branch];
    const bool is_open = is_open_now(network, circuit, branch);
    switch (fault->mode->effect) {
    case EFFECT_OPEN: return circuit__open_admittance(circuit, network->mode);
    case EFFECT_CLOSE: return is_open ? closed(&network->wiring[branch], severity) : now;
    case EFFECT_ADD_OHM: return is_open ? now : with_resistance(now, 1, severity);
    case EFFECT_SCALE: return is_open ? now : with_resistance(now, severity, 0);
    default: return now;
    }
}

bool circuit__is_opened(const Opened *opened, int branch)
{
    for (int i = 0; i < opened->count; i++)
        if (opened->branches[i] == branch) return true;
    return false;
}

/* What the change does when it is the only one: see currents.c. */
static Change change_of(const CircuitNetwork *network, int branch, Complex after)
{
    const Complex delta = complex_subtract(after, network->admittance[branch]);
    const Complex self = network->transfer[(size_t)branch * (size_t)(network->branches + 1)];
    const Complex grown = complex_multiply(delta, self), one_and = {1 + grown.re, grown.im};
    const double size = complex_size(one_and);
    if (size == 0) return (Change){branch, after, delta, {0, 0}, INFINITY}; /* must be solved anew */
    return (Change){branch, after, delta, complex_divide(delta, one_and),
                    fmax(1, complex_size(grown)) / size};
}

/* A branch that a hand has opened cannot be changed once more. */
static int add_changes(CircuitNetwork *network, const Circuit *circuit, const Variant *variant, int count)
{
    const Fault *fault = &circuit->appliance->faults[variant->fault];
    for (int i = 0; i < fault->branch_count; i++) {
        const int branch = fault->branches[i];
        assert(branch >= 0 && branch < network->branches);
        if (circuit__is_opened(&network->opened, branch)) continue;
        const Complex after = faulted(network, circuit, fault, fault->severity[variant->severity], branch);
        const Complex before = network->admittance[branch];
        if (after.re == before.re && after.im == before.im) continue;
        network->changes[count++] = change_of(network, branch, after);
    }
    return count;
}

/* One more than needed, so that an appliance without faults asks for an array too. */
static size_t most_changes(const Circuit *circuit)
{
    size_t most = 1;
    for (int v = 0; v < circuit->variant_count; v++)
        most += (size_t)circuit->appliance->faults[circuit->variants[v].fault].branch_count;
    return most;
}

bool circuit__find_changes(const Circuit *circuit, CircuitNetwork *network)
{
    Arena *arena = circuit->arena;
    network->changes = ARENA_ARRAY(arena, Change, most_changes(circuit));
    network->first_change = ARENA_ARRAY(arena, int, (size_t)circuit->variant_count + 1);
    network->sag = ARENA_ARRAY(arena, double, (size_t)circuit->variant_count + 1);
    if (!network->changes || !network->first_change || !network->sag) return false;
    int count = 0;
    for (int v = 0; v < circuit->variant_count; v++) {
        const Fault *fault = &circuit->appliance->faults[circuit->variants[v].fault];
        network->first_change[v] = count;
        /* A sagging supply changes no branch: all is linear, so the readings are scaled in the end. */
        network->sag[v] =
            fault->mode->effect == EFFECT_SAG ? fault->severity[circuit->variants[v].severity] : 1;
        count = add_changes(network, circuit, &circuit->variants[v], count);
    }
    network->first_change[circuit->variant_count] = count;
    return true;
}
