/* visible.c: every electrical fault of every shipped appliance shows in at least one check of its own list,
 * by the circuit and an ordinary meter. A fault that no check can show could never be found. */
#include "core/circuit/circuit.h"
#include "support/near.h"
#include "support/shipped.h"

#include <math.h>
#include <stdlib.h>

enum { MOST_VARIANTS = 2000 };

/* Is the faulted reading clear of the healthy one, by the meter's limits and twice the
 * standard uncertainty of the parts (95 %)? */
static bool differs(const Meter *meter, const Check *check, CircuitReading healthy, double faulted)
{
    static const MeterMode modes[] = {
        [CHECK_OHM] = METER_OHM, [CHECK_VOLT] = METER_VOLT, [CHECK_AMP] = METER_AMPERE};
    const MeterMode mode = modes[check->kind];
    const bool one = meter_is_over(meter, mode, healthy.value), two = meter_is_over(meter, mode, faulted);
    if (one || two) return one != two;
    const double own = meter_half_width(meter, mode, healthy.value) + meter_half_width(meter, mode, faulted);
    return fabs(healthy.value - faulted) > own + 2 * healthy.spread;
}

static void mark_visible(Circuit *circuit, const Check *check, bool *is_visible)
{
    static double values[MOST_VARIANTS];
    const Meter meter = meter_default();
    CircuitMeter on;
    const Connection connection = appliance_connection(check);
    assert_true(circuit_connect(circuit, &connection, &on, NULL));
    const CircuitReading healthy = circuit_read(&on, NULL, 0);
    circuit_read_all(&on, values);
    for (int v = 0; v < circuit->variant_count; v++)
        if (differs(&meter, check, healthy, values[v])) is_visible[v] = true;
}

/* Of the points that stand for a severity the even ones are ends of slices, which may touch what is sound. */
static bool is_middle(const Fault *fault, int severity)
{
    return fault->severity_count == 1 || severity % 2 == 1;
}

/* Does the fault change what any element, fan or lamp gets, by a twentieth of its rating? One that does not,
 * such as a few ohms before a small motor, can stay unseen. */
static bool matters(const CircuitPower *power, int variant)
{
    const Appliance *appliance = power->circuit->appliance;
    for (int f = 0; f < appliance->function_count; f++)
        for (int b = 0; b < appliance->branch_count; b++) {
            if (appliance->branches[b].rated_watt <= 0) continue;
            const double healthy = power->healthy_share[f * appliance->branch_count + b];
            if (fabs(circuit_power_share(power, f, b, &variant, 1) - healthy) > 0.05) return true;
        }
    return false;
}

static void every_electrical_fault_shows(void **state)
{
    (void)state;
    int hidden = 0;
    for (int a = 0; a < SHIPPED_COUNT; a++) {
        Arena arena = arena_new(256 << 20);
        Appliance appliance;
        Circuit circuit;
        CircuitPower power;
        bool is_visible[MOST_VARIANTS] = {false};
        shipped_build(shipped_names[a], &arena, &appliance);
        assert_true(circuit_begin(&appliance, 22, &arena, &circuit, NULL));
        assert_true(circuit_power_begin(&circuit, &power, NULL));
        assert_true(circuit.variant_count <= MOST_VARIANTS);
        for (int c = 0; c < appliance.check_count; c++)
            if (appliance.checks[c].from >= 0) mark_visible(&circuit, &appliance.checks[c], is_visible);
        for (int v = 0; v < circuit.variant_count; v++) {
            const Fault *fault = &appliance.faults[circuit.variants[v].fault];
            if (is_visible[v] || fault->mode->effect == EFFECT_NONE ||
                !is_middle(fault, circuit.variants[v].severity) || !matters(&power, v))
                continue;
            print_error("%s: no check shows %s (%g)\n", appliance.name, fault->name,
                        fault->severity[circuit.variants[v].severity]);
            hidden++;
        }
        arena_free(&arena);
    }
    assert_int_equal(hidden, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(every_electrical_fault_shows)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
