/* network.c: the wiring as a nodal network, and its solution.
 *
 * Every mark but the earth is a node; every branch is an admittance between two marks. The nodal matrix
 * of such a network is a weighted graph, and we eliminate it as one: taking a mark out joins its
 * neighbours to each other (the star-mesh transformation; Rosen 1924). What leaks to earth is kept as a
 * number of its own for each mark, so a pivot is always a sum of admittances and never a difference:
 *
 *   d_k = g_k + sum_j a_kj        a_ij += a_ik a_kj / d_k        g_j += a_jk g_k / d_k
 *
 * That is the algorithm of Grassmann, Taksar and Heyman (1985) for weighted graphs. It matters here: a part
 * of the wiring that hangs on insulation alone has pivots of 1e-10 siemens beside wires of 100 siemens, and
 * ordinary elimination would get them by subtracting 100 from 100. No pivoting is needed.
 *
 * Invariant: every pivot has a positive real part.
 *
 * Bad at: everything that is not linear. A hot element has one resistance whatever it gets, a lamp too;
 * there are no harmonics, no arcs, no bouncing contacts. */
#include "core/circuit/circuit_private.h"

#include <assert.h>
#include <string.h>

#include "base/mathematics.h"

/* Only ghost voltages depend on it; 60 Hz where a file says nothing. */
static double mains_hertz(const Circuit *circuit)
{
    const double hertz = circuit->appliance->description->supply.hertz;
    return hertz > 0 ? hertz : 60;
}

Complex circuit__open_admittance(const Circuit *circuit, NetworkMode mode)
{
    const double susceptance = mode == MODE_DEAD ? 0 : 2 * MATH_PI * mains_hertz(circuit) * CIRCUIT_GAP_FARAD;
    return (Complex){CIRCUIT_GAP_SIEMENS, susceptance};
}

static bool is_closed_by(const Function *function, int branch)
{
    for (int i = 0; i < function->contact_count; i++)
        if (function->contacts[i] == branch) return true;
    return false;
}

/* With the power off, legs and breaker are open, while neutral and ground stay joined to earth through the
 * house. */
static bool conducts(const Circuit *circuit, int number, int function, NetworkMode mode)
{
    const Appliance *appliance = circuit->appliance;
    const Branch *branch = &appliance->branches[number];
    if (branch->type == BRANCH_GAP) return false;
    if (mode == MODE_DEAD &&
        (branch->leg >= 0 || appliance_part_has_role(appliance, branch->part, "breaker")))
        return false;
    if (branch->type != BRANCH_CONTACT) return true;
    if (!is_closed_by(&circuit->settings[function], number)) return false;
    return branch->driver < 0 || mode == MODE_RUNNING;
}

/* At an ambient that the sensor's formula does not reach, its room resistance must do: a reading that is a
 * little off beats none. */
static double sensor_branch_ohm(const Circuit *circuit, const Branch *branch)
{
    const DescribedPart *described = circuit->appliance->parts[branch->part].described;
    double ohm = branch->cold_ohm;
    Error ignored;
    if (described && described->has_sensor &&
        !sensor_ohm(&described->sensor, circuit->ambient_celsius, &ohm, &ignored))
        return branch->cold_ohm;
    return ohm;
}

Complex circuit__admittance(const Circuit *circuit, int number, int function, NetworkMode mode)
{
    const Branch *branch = &circuit->appliance->branches[number];
    if (!conducts(circuit, number, function, mode)) return circuit__open_admittance(circuit, mode);
    Complex impedance = {mode == MODE_DEAD ? branch->cold_ohm : branch->hot_ohm, 0};
    if (branch->type == BRANCH_SENSOR) impedance.re = sensor_branch_ohm(circuit, branch);
    if (mode != MODE_DEAD) impedance.im = branch->reactance_ohm;
    assert(impedance.re > 0);
    return complex_divide((Complex){1, 0}, impedance);
}

/* Effective values, angle against the neutral. */
static Complex source_volt(const Appliance *appliance, const Branch *branch)
{
    if (branch->leg < 0) return (Complex){0, 0};
    const double angle = appliance->leg_degree[branch->leg] * MATH_PI / 180;
    const double volt = appliance->leg_volt[branch->leg];
    return (Complex){volt * math_cos(angle), volt * math_sin(angle)};
}

static bool is_zero(Complex z) { return z.re == 0 && z.im == 0; }

static void add_to(Complex *sum, Complex more) { *sum = complex_add(*sum, more); }

/* Every branch where it belongs: into the link between its marks, or into what its mark leaks to earth. */
static void fill_in(const CircuitPattern *pattern, const Branch *wiring, const Complex *admittance,
                    Factors *factors)
{
    memset(factors->weight, 0, (size_t)pattern->links * sizeof *factors->weight);
    for (int m = 0; m < pattern->marks; m++) factors->leak[m] = (Complex){CIRCUIT_MARK_LEAK_SIEMENS, 0};
    for (int b = 0; b < pattern->branches; b++) {
        const int from = wiring[b].from, to = wiring[b].to;
        if (pattern->branch_link[b] >= 0)
            add_to(&factors->weight[pattern->branch_link[b]], admittance[b]);
        else if (from != to)
            add_to(&factors->leak[from == APPLIANCE_EARTH ? to : from], admittance[b]);
    }
}

/* Below, weight becomes a_kj / d_k only after all fills of that mark are made, since they need a_kj itself.
 */
void circuit__factorise(const CircuitPattern *pattern, const Branch *wiring, const Complex *admittance,
                        Factors *factors)
{
    const int *fill = pattern->fill_link;
    fill_in(pattern, wiring, admittance, factors);
    for (int i = 0; i < pattern->marks - 1; i++) {
        const Elimination *gone = &pattern->eliminations[i];
        Complex *joined = factors->weight + gone->first, pivot = factors->leak[gone->mark];
        const int *mark = pattern->link_mark + gone->first;
        for (int a = 0; a < gone->count; a++) add_to(&pivot, joined[a]);
        assert(pivot.re > 0);
        factors->spread[i] = complex_divide((Complex){1, 0}, pivot);
        const Complex leak = complex_multiply(factors->leak[gone->mark], factors->spread[i]);
        for (int a = 0; a < gone->count; a++) {
            const Complex weight = complex_multiply(joined[a], factors->spread[i]);
            add_to(&factors->leak[mark[a]], complex_multiply(joined[a], leak));
            for (int b = 0; b < a; b++)
                add_to(&factors->weight[*fill++], complex_multiply(weight, joined[b]));
        }
        for (int a = 0; a < gone->count; a++) joined[a] = complex_multiply(joined[a], factors->spread[i]);
    }
}

/* Down: the current into a mark that goes is handed to its neighbours, by weight. Up again: a mark has its
 * neighbours' volts, by weight, and what its own current adds. Marks without current cost nothing. */
void circuit__solve(const CircuitPattern *pattern, const Factors *factors, Complex *volt)
{
    const int last = pattern->marks - 2;
    for (int i = 0; i <= last; i++) {
        const Elimination *gone = &pattern->eliminations[i];
        const Complex ampere = volt[gone->mark];
        if (is_zero(ampere)) continue;
        for (int a = gone->first; a < gone->first + gone->count; a++)
            add_to(&volt[pattern->link_mark[a]], complex_multiply(factors->weight[a], ampere));
    }
    volt[APPLIANCE_EARTH] = (Complex){0, 0};
    for (int i = last; i >= 0; i--) {
        const Elimination *gone = &pattern->eliminations[i];
        Complex sum = complex_multiply(volt[gone->mark], factors->spread[i]);
        for (int a = gone->first; a < gone->first + gone->count; a++)
            add_to(&sum, complex_multiply(factors->weight[a], volt[pattern->link_mark[a]]));
        volt[gone->mark] = sum;
    }
}

/* What enters also leaves: between two marks nothing has to flow through the earth, where 1e-11 siemens
 * would make gigavolts of an ampere. */
void circuit__solve_pair(const CircuitPattern *pattern, const Factors *factors, int from, int to,
                         Complex *out)
{
    memset(out, 0, (size_t)pattern->marks * sizeof *out);
    if (from == to) return;
    out[from].re = 1;
    out[to].re = -1;
    circuit__solve(pattern, factors, out);
}

/* A source in series with an admittance y is a current y V beside it (Norton's equivalent). */
void circuit__solve_sources(const CircuitNetwork *network, const Factors *factors, const Complex *admittance,
                            Complex *out)
{
    memset(out, 0, (size_t)network->marks * sizeof *out);
    if (network->mode == MODE_DEAD) return;
    for (int b = 0; b < network->branches; b++) {
        if (is_zero(network->source[b])) continue;
        const Complex ampere = complex_multiply(admittance[b], network->source[b]);
        Complex *from = &out[network->wiring[b].from];
        *from = complex_subtract(*from, ampere);
        add_to(&out[network->wiring[b].to], ampere);
    }
    circuit__solve(network->pattern, factors, out);
}

Complex circuit__across(const CircuitNetwork *network, const Complex *volt, int branch)
{
    return complex_subtract(volt[network->wiring[branch].from], volt[network->wiring[branch].to]);
}

static bool take_factors(const CircuitPattern *pattern, Arena *arena, Factors *factors)
{
    factors->weight = ARENA_ARRAY(arena, Complex, (size_t)pattern->links);
    factors->spread = ARENA_ARRAY(arena, Complex, (size_t)pattern->marks);
    factors->leak = ARENA_ARRAY(arena, Complex, (size_t)pattern->marks);
    return factors->weight && factors->spread && factors->leak;
}

static bool take_arrays(CircuitNetwork *network, Arena *arena)
{
    const size_t marks = (size_t)network->marks, branches = (size_t)network->branches;
    network->admittance = ARENA_ARRAY(arena, Complex, branches);
    network->source = ARENA_ARRAY(arena, Complex, branches);
    network->drive = ARENA_ARRAY(arena, Complex, branches);
    network->volt = ARENA_ARRAY(arena, Complex, marks);
    network->tolerance = ARENA_ARRAY(arena, double, branches);
    network->tolerant = ARENA_ARRAY(arena, int, branches);
    return network->admittance && network->source && network->drive && network->volt && network->tolerance &&
           network->tolerant && take_factors(network->pattern, arena, &network->factors);
}

/* Tolerances are listed too, since most branches (wires, gaps) have none and need not be visited. */
static void set_branches(const Circuit *circuit, int function, CircuitNetwork *network)
{
    for (int b = 0; b < network->branches; b++) {
        const Branch *branch = &network->wiring[b];
        network->admittance[b] = circuit__is_opened(&network->opened, b)
                                     ? circuit__open_admittance(circuit, network->mode)
                                     : circuit__admittance(circuit, b, function, network->mode);
        if (network->mode != MODE_DEAD) network->source[b] = source_volt(circuit->appliance, branch);
        if (branch->tolerance > 0) network->tolerant[network->tolerant_count++] = b;
        network->tolerance[b] =
            branch->tolerance * branch->tolerance * complex_square(network->admittance[b]);
    }
}

static void solve_healthy(CircuitNetwork *network)
{
    circuit__factorise(network->pattern, network->wiring, network->admittance, &network->factors);
    circuit__solve_sources(network, &network->factors, network->admittance, network->volt);
    for (int b = 0; b < network->branches; b++) {
        network->drive[b] = complex_add(circuit__across(network, network->volt, b), network->source[b]);
        network->volt_reach = fmax(network->volt_reach, complex_size(network->source[b]));
    }
}

/* Kept ascending (circuit__open), so equal sets are equal bytes. */
static bool same_opened(const Opened *a, const Opened *b)
{
    return a->count == b->count &&
           memcmp(a->branches, b->branches, (size_t)a->count * sizeof *a->branches) == 0;
}

/* A list for each function and mode, searched from its front: a call lifts few different wires. What is
 * found is handed out again, so two readings with the same wires off share one solution. */
CircuitNetwork *circuit__network(Circuit *circuit, int function, NetworkMode mode, const Opened *opened)
{
    assert(function >= 0 && function < circuit->setting_count);
    CircuitNetwork **slot = &circuit->networks[function * CIRCUIT_NETWORK_MODES + (int)mode];
    for (; *slot; slot = &(*slot)->next)
        if (same_opened(&(*slot)->opened, opened)) return *slot;
    CircuitNetwork *network = ARENA_ARRAY(circuit->arena, CircuitNetwork, 1);
    if (!network) return NULL;
    *network = (CircuitNetwork){.pattern = circuit->pattern,
                                .wiring = circuit->appliance->branches,
                                .marks = circuit->appliance->mark_count,
                                .branches = circuit->appliance->branch_count,
                                .mode = mode,
                                .opened = *opened};
    if (!take_arrays(network, circuit->arena)) return NULL;
    set_branches(circuit, function, network);
    solve_healthy(network);
    circuit->solves++;
    return *slot = network;
}

/* branches * branches complex numbers: asked for only where faults are read, which a network with wires off
 * often is once. */
bool circuit__prepare(const Circuit *circuit, CircuitNetwork *network)
{
    if (network->transfer) return true;
    const size_t marks = (size_t)network->marks, branches = (size_t)network->branches;
    network->fresh_admittance = ARENA_ARRAY(circuit->arena, Complex, branches);
    network->fresh_volt = ARENA_ARRAY(circuit->arena, Complex, marks);
    network->fresh_probe = ARENA_ARRAY(circuit->arena, Complex, marks);
    Complex *transfer = ARENA_ARRAY(circuit->arena, Complex, branches * branches);
    if (!network->fresh_admittance || !network->fresh_volt || !network->fresh_probe || !transfer ||
        !take_factors(network->pattern, circuit->arena, &network->fresh))
        return false;
    for (int driven = 0; driven < network->branches; driven++) {
        const Branch *branch = &network->wiring[driven];
        circuit__solve_pair(network->pattern, &network->factors, branch->from, branch->to,
                            network->fresh_probe);
        for (int b = 0; b < network->branches; b++)
            transfer[(size_t)driven * branches + (size_t)b] =
                circuit__across(network, network->fresh_probe, b);
    }
    network->transfer = transfer;
    return circuit__find_changes(circuit, network);
}

bool circuit_mark_volt(Circuit *circuit, int function, int mark, double *volt, Error *error)
{
    const CircuitNetwork *network = circuit__network(circuit, function, MODE_RUNNING, &(Opened){.count = 0});
    if (!network) return error_memory(error);
    assert(mark >= 0 && mark < network->marks);
    *volt = complex_size(network->volt[mark]);
    return true;
}
