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
 * Marks with few neighbours go first, so the factors stay about as sparse as the wiring itself.
 * Invariants: (1) marks are eliminated once each, the earth never; (2) every pivot has a positive real
 * part; (3) links of an elimination point to marks that go later. */
#include "core/circuit/circuit_private.h"

#include <assert.h>
#include <math.h>
#include <string.h>

#include "base/mathematics.h"

/* What no wiring diagram shows: every mark leaks a little to earth, so that no part of the network floats,
 * and every gap has insulation and a stray capacitance across it (a metre of two wires side by side has
 * about 60 pF; from memory), which is what makes ghost voltages on a high-impedance meter. */
static const double MARK_LEAK_SIEMENS = 1e-11, GAP_SIEMENS = 1e-10, GAP_FARAD = 60e-12;

static double mains_hertz(const Circuit *circuit)
{
    const double hertz = circuit->appliance->description->supply.hertz;
    return hertz > 0 ? hertz : 60;
}

Complex circuit__open_admittance(const Circuit *circuit, NetworkMode mode)
{
    const double susceptance = mode == MODE_DEAD ? 0 : 2 * MATH_PI * mains_hertz(circuit) * GAP_FARAD;
    return (Complex){GAP_SIEMENS, susceptance};
}

static bool is_closed_by(const Function *function, int branch)
{
    for (int i = 0; i < function->contact_count; i++)
        if (function->contacts[i] == branch) return true;
    return false;
}

static bool conducts(const Appliance *appliance, int number, int function, NetworkMode mode)
{
    const Branch *branch = &appliance->branches[number];
    if (branch->type == BRANCH_GAP) return false;
    if (mode == MODE_DEAD &&
        (branch->leg >= 0 || appliance_part_has_role(appliance, branch->part, "breaker")))
        return false;
    if (branch->type != BRANCH_CONTACT) return true;
    if (!is_closed_by(&appliance->functions[function], number)) return false;
    return branch->driver < 0 || mode == MODE_RUNNING;
}

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
    if (!conducts(circuit->appliance, number, function, mode)) return circuit__open_admittance(circuit, mode);
    Complex impedance = {mode == MODE_DEAD ? branch->cold_ohm : branch->hot_ohm, 0};
    if (branch->type == BRANCH_SENSOR) impedance.re = sensor_branch_ohm(circuit, branch);
    if (mode != MODE_DEAD) impedance.im = branch->reactance_ohm;
    assert(impedance.re > 0);
    return complex_divide((Complex){1, 0}, impedance);
}

static Complex source_volt(const Appliance *appliance, const Branch *branch)
{
    if (branch->leg < 0) return (Complex){0, 0};
    const double angle = appliance->leg_degree[branch->leg] * MATH_PI / 180;
    const double volt = appliance->leg_volt[branch->leg];
    return (Complex){volt * math_cos(angle), volt * math_sin(angle)};
}

static bool is_zero(Complex z) { return z.re == 0 && z.im == 0; }

/* The network while marks are being taken out of it. */
typedef struct {
    int marks;
    Complex *joined; /* [marks][marks], symmetric, no diagonal */
    Complex *leak;   /* [marks], to earth */
    bool *is_gone;
} Mesh;

static void join(Mesh *mesh, int i, int j, Complex admittance)
{
    Complex *ij = &mesh->joined[i * mesh->marks + j], *ji = &mesh->joined[j * mesh->marks + i];
    *ij = complex_add(*ij, admittance);
    *ji = *ij;
}

static void fill_mesh(Mesh *mesh, const CircuitNetwork *network)
{
    for (int i = 1; i < mesh->marks; i++) mesh->leak[i].re = MARK_LEAK_SIEMENS;
    for (int b = 0; b < network->branches; b++) {
        const int from = network->wiring[b].from, to = network->wiring[b].to;
        if (from == to) continue;
        if (from == APPLIANCE_EARTH || to == APPLIANCE_EARTH) {
            const int mark = from == APPLIANCE_EARTH ? to : from;
            mesh->leak[mark] = complex_add(mesh->leak[mark], network->admittance[b]);
        } else {
            join(mesh, from, to, network->admittance[b]);
        }
    }
}

static int count_neighbours(const Mesh *mesh, int mark)
{
    int count = 0;
    for (int j = 1; j < mesh->marks; j++)
        count += !mesh->is_gone[j] && !is_zero(mesh->joined[mark * mesh->marks + j]);
    return count;
}

/* The mark with the fewest neighbours, the lowest number first: same input, same order. */
static int pick_mark(const Mesh *mesh)
{
    int best = -1, fewest = 0;
    for (int i = 1; i < mesh->marks; i++) {
        if (mesh->is_gone[i]) continue;
        const int neighbours = count_neighbours(mesh, i);
        if (best < 0 || neighbours < fewest) {
            best = i;
            fewest = neighbours;
        }
    }
    return best;
}

/* Takes one mark out of the mesh and writes down how; returns the number of links used so far. */
static int eliminate(Mesh *mesh, int mark, CircuitNetwork *network, Elimination *elimination, int links)
{
    *elimination = (Elimination){.mark = mark, .first = links, .pivot = mesh->leak[mark]};
    mesh->is_gone[mark] = true;
    for (int j = 1; j < mesh->marks; j++) {
        const Complex to_j = mesh->joined[mark * mesh->marks + j];
        if (mesh->is_gone[j] || is_zero(to_j)) continue;
        elimination->pivot = complex_add(elimination->pivot, to_j);
        network->link_mark[links++] = j;
    }
    elimination->count = links - elimination->first;
    assert(elimination->pivot.re > 0);
    for (int a = elimination->first; a < links; a++) {
        const int i = network->link_mark[a];
        const Complex weight = complex_divide(mesh->joined[mark * mesh->marks + i], elimination->pivot);
        network->link_weight[a] = weight;
        mesh->leak[i] = complex_add(mesh->leak[i], complex_multiply(weight, mesh->leak[mark]));
        for (int b = elimination->first; b < a; b++) {
            const int j = network->link_mark[b];
            join(mesh, i, j, complex_multiply(weight, mesh->joined[mark * mesh->marks + j]));
        }
    }
    return links;
}

static bool factorise(CircuitNetwork *network, Arena *arena)
{
    const size_t n = (size_t)network->marks;
    Mesh mesh = {network->marks, ARENA_ARRAY(arena, Complex, n * n), ARENA_ARRAY(arena, Complex, n),
                 ARENA_ARRAY(arena, bool, n)};
    network->eliminations = ARENA_ARRAY(arena, Elimination, n);
    network->link_mark = ARENA_ARRAY(arena, int, n *n / 2);
    network->link_weight = ARENA_ARRAY(arena, Complex, n * n / 2);
    if (!mesh.joined || !mesh.leak || !mesh.is_gone || !network->eliminations || !network->link_mark ||
        !network->link_weight)
        return false;
    fill_mesh(&mesh, network);
    int links = 0;
    for (int i = 0; i < network->marks - 1; i++)
        links = eliminate(&mesh, pick_mark(&mesh), network, &network->eliminations[i], links);
    assert((size_t)links <= n * n / 2);
    return true;
}

/* Currents into the marks (in `volt`, amperes; earth's entry is of no account) become volts at the marks. */
static void solve(const CircuitNetwork *network, Complex *volt)
{
    const int last = network->marks - 2;
    for (int i = 0; i <= last; i++) {
        const Elimination *gone = &network->eliminations[i];
        if (is_zero(volt[gone->mark])) continue;
        for (int a = gone->first; a < gone->first + gone->count; a++) {
            Complex *at = &volt[network->link_mark[a]];
            *at = complex_add(*at, complex_multiply(network->link_weight[a], volt[gone->mark]));
        }
    }
    volt[APPLIANCE_EARTH] = (Complex){0, 0};
    for (int i = last; i >= 0; i--) {
        const Elimination *gone = &network->eliminations[i];
        Complex sum = complex_divide(volt[gone->mark], gone->pivot);
        for (int a = gone->first; a < gone->first + gone->count; a++)
            sum = complex_add(sum, complex_multiply(network->link_weight[a], volt[network->link_mark[a]]));
        volt[gone->mark] = sum;
    }
}

void circuit__solve_pair(const CircuitNetwork *network, int from, int to, Complex *out)
{
    memset(out, 0, (size_t)network->marks * sizeof *out);
    if (from == to) return;
    out[from].re = 1;
    out[to].re = -1;
    solve(network, out);
}

Complex circuit__transfer(const CircuitNetwork *network, int driven, int read)
{
    const Complex *column = network->column + (size_t)driven * (size_t)network->marks;
    return complex_subtract(column[network->wiring[read].from], column[network->wiring[read].to]);
}

static void solve_sources(CircuitNetwork *network)
{
    for (int b = 0; b < network->branches; b++) {
        if (is_zero(network->source[b])) continue;
        const Complex ampere = complex_multiply(network->admittance[b], network->source[b]);
        Complex *from = &network->volt[network->wiring[b].from], *to = &network->volt[network->wiring[b].to];
        *from = complex_subtract(*from, ampere);
        *to = complex_add(*to, ampere);
    }
    solve(network, network->volt);
}

static bool set_up(CircuitNetwork *network, const Circuit *circuit, int function, NetworkMode mode)
{
    const Appliance *appliance = circuit->appliance;
    const size_t marks = (size_t)appliance->mark_count, branches = (size_t)appliance->branch_count;
    *network = (CircuitNetwork){.marks = appliance->mark_count,
                                .branches = appliance->branch_count,
                                .mode = mode,
                                .admittance = ARENA_ARRAY(circuit->arena, Complex, branches),
                                .source = ARENA_ARRAY(circuit->arena, Complex, branches),
                                .column = ARENA_ARRAY(circuit->arena, Complex, branches * marks),
                                .volt = ARENA_ARRAY(circuit->arena, Complex, marks),
                                .wiring = appliance->branches};
    if (!network->admittance || !network->source || !network->column || !network->volt) return false;
    for (int b = 0; b < network->branches; b++) {
        network->admittance[b] = circuit__admittance(circuit, b, function, mode);
        if (mode != MODE_DEAD) network->source[b] = source_volt(appliance, &appliance->branches[b]);
    }
    return true;
}

const CircuitNetwork *circuit__network(Circuit *circuit, int function, NetworkMode mode)
{
    assert(function >= 0 && function < circuit->appliance->function_count);
    CircuitNetwork **slot = &circuit->networks[function * CIRCUIT_NETWORK_MODES + (int)mode];
    if (*slot) return *slot;
    CircuitNetwork *network = ARENA_ARRAY(circuit->arena, CircuitNetwork, 1);
    if (!network || !set_up(network, circuit, function, mode)) return NULL;
    if (!factorise(network, circuit->arena)) return NULL;
    solve_sources(network);
    for (int b = 0; b < network->branches; b++)
        circuit__solve_pair(network, network->wiring[b].from, network->wiring[b].to,
                            network->column + (size_t)b * (size_t)network->marks);
    if (!circuit__find_changes(circuit, network, circuit->arena)) return NULL;
    circuit->solves++;
    return *slot = network;
}

bool circuit_mark_volt(Circuit *circuit, int function, int mark, double *volt, Error *error)
{
    const CircuitNetwork *network = circuit__network(circuit, function, MODE_RUNNING);
    if (!network) return error_memory(error);
    assert(mark >= 0 && mark < network->marks);
    *volt = complex_size(network->volt[mark]);
    return true;
}

/* The largest sum of currents at any mark but the earth, relative to the largest current at any. `driven` is
 * the branch that one ampere was driven through, -1 for the sources. */
static double kirchhoff(const CircuitNetwork *network, const Complex *volt, int driven, Complex *sum)
{
    double largest = 0, worst = 0;
    memset(sum, 0, (size_t)network->marks * sizeof *sum);
    for (int b = 0; b < network->branches; b++) {
        const int from = network->wiring[b].from, to = network->wiring[b].to;
        Complex across = complex_subtract(volt[from], volt[to]);
        if (driven < 0) across = complex_add(across, network->source[b]);
        Complex ampere = complex_multiply(network->admittance[b], across);
        largest = fmax(largest, complex_size(ampere));
        if (b == driven) ampere.re -= 1;
        sum[from] = complex_add(sum[from], ampere);
        sum[to] = complex_subtract(sum[to], ampere);
    }
    for (int m = 1; m < network->marks; m++) {
        const Complex rest = complex_add(sum[m], complex_scale(volt[m], MARK_LEAK_SIEMENS));
        worst = fmax(worst, complex_size(rest));
    }
    return largest > 0 ? worst / largest : 0;
}

bool circuit_residual(Circuit *circuit, int function, bool power_on, double *residual, Error *error)
{
    const CircuitNetwork *network = circuit__network(circuit, function, power_on ? MODE_RUNNING : MODE_DEAD);
    Complex *sum = network ? ARENA_ARRAY(circuit->arena, Complex, (size_t)network->marks) : NULL;
    if (!sum) return error_memory(error);
    *residual = power_on ? kirchhoff(network, network->volt, -1, sum) : 0;
    for (int b = 0; b < network->branches; b++) {
        const Complex *column = network->column + (size_t)b * (size_t)network->marks;
        if (network->wiring[b].from == network->wiring[b].to) continue;
        *residual = fmax(*residual, kirchhoff(network, column, b, sum));
    }
    return true;
}
