/* residual.c: how well a solution keeps Kirchhoff's first law.
 *
 * An ampere is driven only through what is made to carry one: through 20 kilohm of damp insulation it would
 * be 20 kilovolts, beside which what is across a wire cannot be told.
 *
 * This is a check of the solution by something that was not used to make it: currents from volts, summed
 * mark by mark. It says nothing of whether the wiring is the right one; for that, see the tests against an
 * independent simulator. */
#include "core/circuit/view_private.h"

#include <assert.h>
#include <string.h>

/* The largest sum of currents at any mark but the earth, relative to the largest current, or to an ampere
 * where all are smaller. `driven` is
 * the branch that one ampere was driven through, -1 for the sources. */
static double kirchhoff(const CircuitNetwork *network, const Complex *admittance, const Complex *volt,
                        int driven, Complex *sum)
{
    double largest = 1, worst = 0;
    memset(sum, 0, (size_t)network->marks * sizeof *sum);
    for (int b = 0; b < network->branches; b++) {
        Complex across = circuit__across(network, volt, b);
        if (driven < 0) across = complex_add(across, network->source[b]);
        Complex ampere = complex_multiply(admittance[b], across);
        largest = fmax(largest, complex_size(ampere));
        if (b == driven) ampere.re -= 1;
        Complex *from = &sum[network->wiring[b].from], *to = &sum[network->wiring[b].to];
        *from = complex_add(*from, ampere);
        *to = complex_subtract(*to, ampere);
    }
    for (int m = 1; m < network->marks; m++) {
        const Complex rest = complex_add(sum[m], complex_scale(volt[m], CIRCUIT_MARK_LEAK_SIEMENS));
        worst = fmax(worst, complex_size(rest));
    }
    return worst / largest;
}

/* Elements, coils and sensors are below, insulation far above. */
static const double MOST_OHM = 1e3;

static bool can_carry(const CircuitNetwork *network, int branch)
{
    return network->wiring[branch].from != network->wiring[branch].to &&
           complex_size(network->fresh_admittance[branch]) >= 1 / MOST_OHM;
}

bool circuit_residual(Circuit *circuit, int function, bool power_on, const int *variants, int count,
                      double *residual, Error *error)
{
    CircuitNetwork *network =
        circuit__network(circuit, function, power_on ? MODE_RUNNING : MODE_DEAD, &(Opened){.count = 0});
    Complex *sum = network ? ARENA_ARRAY(circuit->arena, Complex, (size_t)network->marks) : NULL;
    if (!sum || !circuit__prepare(circuit, network)) return error_memory(error);
    const CircuitView earth = {.network = network};
    Currents currents = {.count = 0};
    circuit__list_changes(network, variants, count, &currents);
    circuit__solve_anew(&earth, &currents);
    *residual = power_on ? kirchhoff(network, network->fresh_admittance, network->fresh_volt, -1, sum) : 0;
    for (int b = 0; b < network->branches; b++) {
        const Branch *branch = &network->wiring[b];
        if (!can_carry(network, b)) continue;
        circuit__solve_pair(network->pattern, &network->fresh, branch->from, branch->to,
                            network->fresh_probe);
        *residual =
            fmax(*residual, kirchhoff(network, network->fresh_admittance, network->fresh_probe, b, sum));
    }
    return true;
}
