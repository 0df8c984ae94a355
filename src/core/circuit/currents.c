/* currents.c: faulted readings from a solved network.
 *
 * Branches f get admittances larger by d_f. Seen from the network that was solved, that is a current
 * i_f = d_f u_f through each of them, where u is what is across the branch with all of them there:
 *
 *   u = u0 - Z i,  i = D u   =>   i = (I + D Z)^-1 D u0          (Woodbury 1950)
 *   m = m0 - z_mf i                                              (any other volts or transfer impedance)
 *
 * Letters: Z transfer impedances among the changed branches, D their changes (diagonal), u0 what was across
 * them, z_mf transfer impedance from branch f to whatever is read. Lifted wires and open plugs are the same
 * thing and are worked in once, in the view; the faults come on top.
 *
 * The one weak spot: opening a branch whose own admittance is all that it sees makes 1 + d Z the difference
 * of two nearly equal numbers. With gaps of 1e-10 siemens beside wires of 100 siemens it still has four good
 * digits, of a reading that is open anyway. */
#include <assert.h>

#include "core/circuit/circuit_private.h"

/* below: (I + D Z)^-1 D for a k by k system, into `out`. */
static void invert(const Complex *impedance, const Complex *delta, int k, Complex *out)
{
    assert(k > 0 && k <= CIRCUIT_MOST_OPENED);
    if (k == 1) {
        const Complex one_and = complex_add((Complex){1, 0}, complex_multiply(delta[0], impedance[0]));
        out[0] = complex_divide(delta[0], one_and);
        return;
    }
    Complex system[CIRCUIT_MOST_OPENED * CIRCUIT_MOST_OPENED], right[CIRCUIT_MOST_OPENED];
    int order[CIRCUIT_MOST_OPENED];
    for (int i = 0; i < k; i++)
        for (int j = 0; j < k; j++) {
            const Complex entry = complex_multiply(delta[i], impedance[i * k + j]);
            system[i * k + j] = i == j ? complex_add((Complex){1, 0}, entry) : entry;
        }
    const bool is_regular = dense_factorise(system, k, order);
    assert(is_regular); /* admittances of passive branches: the changed network has a solution */
    (void)is_regular;
    for (int j = 0; j < k; j++) {
        for (int i = 0; i < k; i++) right[i] = i == j ? delta[j] : (Complex){0, 0};
        dense_solve(system, k, order, right);
        for (int i = 0; i < k; i++) out[i * k + j] = right[i];
    }
}

/* sum_ij a_i C_ij b_j */
static Complex through(const Complex *a, const Complex *inverse, const Complex *b, int k)
{
    Complex sum = {0, 0};
    for (int i = 0; i < k; i++) {
        Complex row = {0, 0};
        for (int j = 0; j < k; j++) row = complex_add(row, complex_multiply(inverse[i * k + j], b[j]));
        sum = complex_add(sum, complex_multiply(a[i], row));
    }
    return sum;
}

static void gather_opened(const CircuitView *view, int branch, Complex *out)
{
    for (int i = 0; i < view->opened_count; i++)
        out[i] = circuit__transfer(view->network, view->opened[i], branch);
}

Complex circuit__view_transfer(const CircuitView *view, int driven, int read)
{
    const Complex plain = circuit__transfer(view->network, driven, read);
    if (view->opened_count == 0) return plain;
    Complex a[CIRCUIT_MOST_OPENED], b[CIRCUIT_MOST_OPENED];
    gather_opened(view, read, a);
    gather_opened(view, driven, b);
    return complex_subtract(plain, through(a, view->inverse, b, view->opened_count));
}

static bool invert_opened(CircuitView *view, const Circuit *circuit)
{
    const int k = view->opened_count;
    if (k == 0) return true;
    view->inverse = ARENA_ARRAY(circuit->arena, Complex, (size_t)(k * k));
    if (!view->inverse) return false;
    Complex impedance[CIRCUIT_MOST_OPENED * CIRCUIT_MOST_OPENED], delta[CIRCUIT_MOST_OPENED];
    const Complex open = circuit__open_admittance(circuit, view->network->mode);
    for (int i = 0; i < k; i++) {
        delta[i] = complex_subtract(open, view->network->admittance[view->opened[i]]);
        for (int j = 0; j < k; j++)
            impedance[i * k + j] = circuit__transfer(view->network, view->opened[j], view->opened[i]);
    }
    invert(impedance, delta, k, view->inverse);
    return true;
}

static Complex across(const CircuitNetwork *network, const Complex *volt, int branch)
{
    return complex_subtract(volt[network->wiring[branch].from], volt[network->wiring[branch].to]);
}

/* What the probes and every branch see, once the opened branches are open. */
static void fill_view(CircuitView *view, const Complex *probe_column)
{
    const CircuitNetwork *network = view->network;
    const int k = view->opened_count;
    Complex probe[CIRCUIT_MOST_OPENED], drive[CIRCUIT_MOST_OPENED], here[CIRCUIT_MOST_OPENED];
    for (int i = 0; i < k; i++) {
        probe[i] = across(network, probe_column, view->opened[i]);
        drive[i] =
            complex_add(across(network, network->volt, view->opened[i]), network->source[view->opened[i]]);
    }
    view->probe_self = complex_subtract(probe_column[view->from], probe_column[view->to]);
    view->probe_volt = complex_subtract(network->volt[view->from], network->volt[view->to]);
    if (k) {
        view->probe_self = complex_subtract(view->probe_self, through(probe, view->inverse, probe, k));
        view->probe_volt = complex_subtract(view->probe_volt, through(probe, view->inverse, drive, k));
    }
    for (int b = 0; b < network->branches; b++) {
        view->towards[b] = across(network, probe_column, b);
        view->self[b] = circuit__transfer(network, b, b);
        view->drive[b] = complex_add(across(network, network->volt, b), network->source[b]);
        if (k == 0) continue;
        gather_opened(view, b, here);
        view->towards[b] = complex_subtract(view->towards[b], through(here, view->inverse, probe, k));
        view->self[b] = complex_subtract(view->self[b], through(here, view->inverse, here, k));
        view->drive[b] = complex_subtract(view->drive[b], through(here, view->inverse, drive, k));
    }
}

const CircuitView *circuit__view(Circuit *circuit, const CircuitNetwork *network, int from, int to,
                                 const int *opened, int opened_count)
{
    if (!network) return NULL;
    const size_t branches = (size_t)network->branches;
    CircuitView *view = ARENA_ARRAY(circuit->arena, CircuitView, 1);
    Complex *probe_column = ARENA_ARRAY(circuit->arena, Complex, (size_t)network->marks);
    if (!view || !probe_column) return NULL;
    *view = (CircuitView){.network = network,
                          .from = from,
                          .to = to,
                          .opened_count = opened_count,
                          .towards = ARENA_ARRAY(circuit->arena, Complex, branches),
                          .self = ARENA_ARRAY(circuit->arena, Complex, branches),
                          .drive = ARENA_ARRAY(circuit->arena, Complex, branches)};
    if (!view->towards || !view->self || !view->drive) return NULL;
    for (int i = 0; i < opened_count; i++) view->opened[i] = opened[i];
    if (!invert_opened(view, circuit)) return NULL;
    circuit__solve_pair(network, from, to, probe_column);
    fill_view(view, probe_column);
    return view;
}

/* A branch that is open already cannot be changed once more: the technician's hand goes before the fault. */
static bool is_opened(const CircuitView *view, int branch)
{
    for (int i = 0; i < view->opened_count; i++)
        if (view->opened[i] == branch) return true;
    return false;
}

void circuit__find_currents(const CircuitView *view, const int *variants, int count, Currents *currents)
{
    const CircuitNetwork *network = view->network;
    currents->count = 0;
    currents->sag = 1;
    for (int v = 0; v < count; v++) {
        currents->sag *= network->sag[variants[v]];
        for (int c = network->first_change[variants[v]]; c < network->first_change[variants[v] + 1]; c++) {
            const Change *change = &network->changes[c];
            if (is_opened(view, change->branch)) continue;
            assert(currents->count < CIRCUIT_MOST_CHANGES);
            currents->branch[currents->count] = change->branch;
            currents->delta[currents->count++] = change->delta;
        }
    }
    const int k = currents->count;
    if (k == 0) return;
    Complex impedance[CIRCUIT_MOST_CHANGES * CIRCUIT_MOST_CHANGES];
    for (int i = 0; i < k; i++)
        for (int j = 0; j < k; j++)
            impedance[i * k + j] =
                i == j ? view->self[currents->branch[i]]
                       : circuit__view_transfer(view, currents->branch[j], currents->branch[i]);
    invert(impedance, currents->delta, k, currents->inverse);
}

static void gather(const Complex *values, const Currents *currents, Complex *out)
{
    for (int i = 0; i < currents->count; i++) out[i] = values[currents->branch[i]];
}

static void gather_transfers(const CircuitView *view, const Currents *currents, int branch, Complex *out)
{
    for (int i = 0; i < currents->count; i++)
        out[i] = currents->branch[i] == branch ? view->self[branch]
                                               : circuit__view_transfer(view, currents->branch[i], branch);
}

/* plain - a C b over the changed branches. */
static Complex corrected(Complex plain, const Currents *currents, const Complex *a, const Complex *b)
{
    if (currents->count == 0) return plain;
    return complex_subtract(plain, through(a, currents->inverse, b, currents->count));
}

Complex circuit__probe_self(const CircuitView *view, const Currents *currents)
{
    Complex towards[CIRCUIT_MOST_CHANGES];
    gather(view->towards, currents, towards);
    return corrected(view->probe_self, currents, towards, towards);
}

Complex circuit__probe_volt(const CircuitView *view, const Currents *currents)
{
    Complex towards[CIRCUIT_MOST_CHANGES], drive[CIRCUIT_MOST_CHANGES];
    gather(view->towards, currents, towards);
    gather(view->drive, currents, drive);
    return complex_scale(corrected(view->probe_volt, currents, towards, drive), currents->sag);
}

Complex circuit__branch_volt(const CircuitView *view, const Currents *currents, int branch)
{
    Complex here[CIRCUIT_MOST_CHANGES], drive[CIRCUIT_MOST_CHANGES];
    gather_transfers(view, currents, branch, here);
    gather(view->drive, currents, drive);
    return complex_scale(corrected(view->drive[branch], currents, here, drive), currents->sag);
}

Complex circuit__branch_ampere(const CircuitView *view, const Currents *currents, int branch)
{
    Complex admittance = view->network->admittance[branch];
    for (int i = 0; i < currents->count; i++)
        if (currents->branch[i] == branch) admittance = complex_add(admittance, currents->delta[i]);
    return complex_multiply(admittance, circuit__branch_volt(view, currents, branch));
}

Complex circuit__branch_towards(const CircuitView *view, const Currents *currents, int branch)
{
    Complex here[CIRCUIT_MOST_CHANGES], towards[CIRCUIT_MOST_CHANGES];
    gather_transfers(view, currents, branch, here);
    gather(view->towards, currents, towards);
    return corrected(view->towards[branch], currents, here, towards);
}
