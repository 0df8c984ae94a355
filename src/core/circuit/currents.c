/* currents.c: faulted readings from a solved network.
 *
 * Branches f get admittances larger by d_f. Seen from the network that was solved, that is a current
 * i_f = d_f u_f through each of them, where u is what is across the branch with all of them there:
 *
 *   u = u0 - Z i,  i = D u   =>   (I + D Z) i = D u0          (Woodbury 1950)
 *   m = m0 - z_mf i                                           (any other volts or transfer impedance)
 *
 * Letters: Z transfer impedances among the changed branches, D their changes (diagonal), u0 what was across
 * them, z_mf transfer impedance from branch f to whatever is read. We need i twice, with one ampere through
 * the probes and with the sources on.
 *
 * The weak spot: opening a branch whose own admittance is all that it sees makes 1 + d Z the difference of
 * two nearly equal numbers, and bridging a gap between pieces that float takes 1e10 ohm from 1e10 ohm. So we
 * keep account of what rounding can have done (circuit__probe_error), and whoever needs better solves the
 * network anew with the changes in it, which loses nothing (network.c says why).
 *
 * Invariants: (1) a fault of an untouched network has no currents, and its readings are those of the
 * network bit for bit; (2) `by_probe` and `by_source` are never used with is_fresh set; (3) sag scales what
 * comes from the sources once, at the end. */
#include <assert.h>
#include <float.h>
#include <string.h>

#include "core/circuit/view_private.h"

/* From here on the currents are no use to anybody. */
static const double HOPELESS_LOSS = 1e13;
/* Units in the last place that the few dozen additions of an elimination may be off. */
static const double ROUNDING = 8 * DBL_EPSILON;

static Complex transfer(const CircuitNetwork *network, int driven, int read)
{
    return network->transfer[(size_t)driven * (size_t)network->branches + (size_t)read];
}

/* A bound of |z|, without a root. */
static double size(Complex z) { return fabs(z.re) + fabs(z.im); }

/* By reciprocity one solution with an ampere through the probes gives the transfer impedance to every
 * branch. */
CircuitView *circuit__view(Circuit *circuit, const CircuitNetwork *network, int from, int to)
{
    if (!network) return NULL;
    CircuitView *view = ARENA_ARRAY(circuit->arena, CircuitView, 1);
    Complex *probe = ARENA_ARRAY(circuit->arena, Complex, (size_t)network->marks);
    Complex *towards = ARENA_ARRAY(circuit->arena, Complex, (size_t)network->branches);
    if (!view || !probe || !towards) return NULL;
    circuit__solve_pair(network->pattern, &network->factors, from, to, probe);
    for (int b = 0; b < network->branches; b++) towards[b] = circuit__across(network, probe, b);
    *view = (CircuitView){.network = network,
                          .from = from,
                          .to = to,
                          .towards = towards,
                          .probe_self = complex_subtract(probe[from], probe[to]),
                          .probe_volt = complex_subtract(network->volt[from], network->volt[to]),
                          .probe_reach = fmax(complex_size(probe[from]), complex_size(probe[to]))};
    return view;
}

/* (I + D Z) i = D u0 for two right sides at once; false when that is singular. */
static bool solve_currents(const CircuitNetwork *network, Currents *currents)
{
    enum { MOST = CIRCUIT_MOST_CHANGES };
    /* Column norms before and pivots after: by how much a pivot is smaller than what its column held is by
     * how much the rounding of the column has grown. */
    Complex system[MOST * MOST];
    double column[MOST], loss = 1;
    int order[MOST];
    const int k = currents->count;
    for (int j = 0; j < k; j++) {
        column[j] = 1;
        for (int i = 0; i < k; i++) {
            Complex *entry = &system[i * k + j];
            *entry = complex_multiply(currents->delta[i],
                                      transfer(network, currents->branch[j], currents->branch[i]));
            column[j] = fmax(column[j], size(*entry));
            if (i == j) entry->re += 1;
        }
    }
    if (!dense_factorise(system, k, order)) return false;
    for (int j = 0; j < k; j++) loss = fmax(loss, column[j] / size(system[j * k + j]));
    dense_solve(system, k, order, currents->by_probe);
    dense_solve(system, k, order, currents->by_source);
    currents->loss = loss;
    return loss < HOPELESS_LOSS;
}

/* One change alone needs no system: what it takes is known since the network was prepared. */
static void find_one_current(const CircuitView *view, const Change *change, Currents *currents)
{
    const int branch = change->branch;
    currents->by_probe[0] = complex_multiply(change->effect, view->towards[branch]);
    currents->by_source[0] = complex_multiply(change->effect, view->network->drive[branch]);
    currents->loss = change->loss;
    if (change->loss >= HOPELESS_LOSS) circuit__solve_anew(view, currents);
}

/* Faults of different parts never change the same branch, so their changes are simply listed together. */
const Change *circuit__list_changes(const CircuitNetwork *network, const int *variants, int count,
                                    Currents *currents)
{
    const Change *last = NULL;
    currents->count = 0;
    currents->sag = 1;
    currents->loss = 1;
    currents->is_fresh = false;
    for (int v = 0; v < count; v++) {
        currents->sag *= network->sag[variants[v]];
        for (int c = network->first_change[variants[v]]; c < network->first_change[variants[v] + 1]; c++) {
            assert(currents->count < CIRCUIT_MOST_CHANGES);
            last = &network->changes[c];
            currents->branch[currents->count] = last->branch;
            currents->admittance[currents->count] = last->admittance;
            currents->delta[currents->count++] = last->delta;
        }
    }
    return last;
}

bool circuit__is_moved(const CircuitView *view, int variant)
{
    if (!view) return false;
    const int *first = view->network->first_change;
    return first[variant + 1] > first[variant] || view->network->sag[variant] != 1;
}

/* Most faults change one branch or none, and those need no system of equations. */
void circuit__find_currents(const CircuitView *view, const int *variants, int count, Currents *currents)
{
    assert(view->network->transfer);
    const Change *last = circuit__list_changes(view->network, variants, count, currents);
    if (currents->count == 0) return;
    if (currents->count == 1) {
        find_one_current(view, last, currents);
        return;
    }
    for (int i = 0; i < currents->count; i++) {
        const int branch = currents->branch[i];
        currents->by_probe[i] = complex_multiply(currents->delta[i], view->towards[branch]);
        currents->by_source[i] = complex_multiply(currents->delta[i], view->network->drive[branch]);
    }
    if (!solve_currents(view->network, currents)) circuit__solve_anew(view, currents);
}

/* Works in the network's own room for one such solution, so what it leaves holds until the next call. */
void circuit__solve_anew(const CircuitView *view, Currents *currents)
{
    const CircuitNetwork *network = view->network;
    memcpy(network->fresh_admittance, network->admittance,
           (size_t)network->branches * sizeof *network->admittance);
    for (int i = 0; i < currents->count; i++)
        network->fresh_admittance[currents->branch[i]] = currents->admittance[i];
    Factors fresh = network->fresh;
    circuit__factorise(network->pattern, network->wiring, network->fresh_admittance, &fresh);
    circuit__solve_sources(network, &fresh, network->fresh_admittance, network->fresh_volt);
    circuit__solve_pair(network->pattern, &fresh, view->from, view->to, network->fresh_probe);
    currents->is_fresh = true;
}

/* A bound to first order: the rounding of what was there, of each current (grown by `loss`), and of what
 * each current makes of the reading. core_circuit.exact holds the readings that rest on it against networks
 * built with the fault. */
double circuit__probe_error(const CircuitView *view, const Currents *currents, bool of_volt)
{
    if (currents->is_fresh) return 0;
    const double there = of_volt ? view->network->volt_reach : view->probe_reach;
    const Complex *i = of_volt ? currents->by_source : currents->by_probe;
    double sum = there;
    for (int f = 0; f < currents->count; f++) {
        const double through_it = size(i[f]), towards = size(view->towards[currents->branch[f]]);
        sum +=
            through_it * (currents->loss * towards + view->probe_reach) + size(currents->by_probe[f]) * there;
    }
    return ROUNDING * sum;
}

/* plain - sum of what each current makes of it. */
static Complex probe_corrected(const CircuitView *view, const Currents *currents, Complex plain,
                               const Complex *i)
{
    for (int f = 0; f < currents->count; f++)
        plain = complex_subtract(plain, complex_multiply(view->towards[currents->branch[f]], i[f]));
    return plain;
}

static Complex branch_corrected(const CircuitView *view, const Currents *currents, Complex plain,
                                const Complex *i, int branch)
{
    for (int f = 0; f < currents->count; f++)
        plain = complex_subtract(
            plain, complex_multiply(transfer(view->network, currents->branch[f], branch), i[f]));
    return plain;
}

Complex circuit__probe_self(const CircuitView *view, const Currents *currents)
{
    const Complex *fresh = view->network->fresh_probe;
    if (currents->is_fresh) return complex_subtract(fresh[view->from], fresh[view->to]);
    return probe_corrected(view, currents, view->probe_self, currents->by_probe);
}

Complex circuit__probe_volt(const CircuitView *view, const Currents *currents)
{
    const Complex *fresh = view->network->fresh_volt;
    const Complex volt = currents->is_fresh
                             ? complex_subtract(fresh[view->from], fresh[view->to])
                             : probe_corrected(view, currents, view->probe_volt, currents->by_source);
    return complex_scale(volt, currents->sag);
}

Complex circuit__branch_volt(const CircuitView *view, const Currents *currents, int branch)
{
    const CircuitNetwork *network = view->network;
    const Complex volt =
        currents->is_fresh
            ? complex_add(circuit__across(network, network->fresh_volt, branch), network->source[branch])
            : branch_corrected(view, currents, network->drive[branch], currents->by_source, branch);
    return complex_scale(volt, currents->sag);
}

/* The changed admittance itself and not the old one plus delta, which would lose the digits of a wire's 100
 * siemens beside an opened 1e-10. */
Complex circuit__branch_ampere(const CircuitView *view, const Currents *currents, int branch)
{
    Complex admittance = view->network->admittance[branch];
    for (int i = 0; i < currents->count; i++)
        if (currents->branch[i] == branch) admittance = currents->admittance[i];
    return complex_multiply(admittance, circuit__branch_volt(view, currents, branch));
}

bool circuit__is_changed(const Currents *currents, int branch)
{
    for (int i = 0; i < currents->count; i++)
        if (currents->branch[i] == branch) return true;
    return false;
}

/* Square of tolerance times what a branch makes of the reading, summed over the branches: rows of the
 * transfer impedances side by side, for this is done for every reading of every hypothesis. `k` is the number
 * of currents, apart, so that it is a number to the compiler where it is small. */
static inline double sum_tolerances(const CircuitView *view, const Currents *currents, bool of_volt, int k)
{
    const CircuitNetwork *network = view->network;
    const double sag_square = of_volt ? currents->sag * currents->sag : 1;
    const Complex *row[CIRCUIT_MOST_CHANGES];
    for (int f = 0; f < k; f++) row[f] = network->transfer + currents->branch[f] * network->branches;
    double sum = 0;
    for (int t = 0; t < network->tolerant_count; t++) {
        const int b = network->tolerant[t];
        if (circuit__is_changed(currents, b)) continue;
        Complex towards = view->towards[b], volt = network->drive[b];
        for (int f = 0; f < k; f++)
            towards = complex_subtract(towards, complex_multiply(row[f][b], currents->by_probe[f]));
        for (int f = 0; f < k && of_volt; f++)
            volt = complex_subtract(volt, complex_multiply(row[f][b], currents->by_source[f]));
        const double square = complex_square(towards);
        sum += network->tolerance[b] * square * (of_volt ? sag_square * complex_square(volt) : square);
    }
    return sum;
}

double circuit__tolerance_square(const CircuitView *view, const Currents *currents, bool of_volt)
{
    const CircuitNetwork *network = view->network;
    if (!currents->is_fresh)
        return currents->count == 1   ? sum_tolerances(view, currents, of_volt, 1)
               : currents->count == 2 ? sum_tolerances(view, currents, of_volt, 2)
                                      : sum_tolerances(view, currents, of_volt, currents->count);
    double sum = 0;
    for (int t = 0; t < network->tolerant_count; t++) {
        const int b = network->tolerant[t];
        if (circuit__is_changed(currents, b)) continue;
        const double towards = complex_square(circuit__across(network, network->fresh_probe, b));
        const double volt = of_volt ? complex_square(circuit__branch_volt(view, currents, b)) : towards;
        sum += network->tolerance[b] * towards * volt;
    }
    return sum;
}
