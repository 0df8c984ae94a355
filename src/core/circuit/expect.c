/* expect.c: what a meter should show between two marks, and which faults would show something else.
 *
 * Values are those of the circuit, with the meter's leads zeroed. Two readings are told apart when they
 * differ by more than twice their combined standard uncertainty (coverage of about 95 %, GUM 6.2.1 and G).
 *
 * Limits come twice: `low` to `high` hold what this meter shows of a good one, `part_low` to `part_high`
 * what a good one is. The first is for reading a display, the second for a verdict, into which the meter's
 * uncertainty enters once and not twice.
 *
 * Bad at: tolerances that are no normal distribution. A maker's +5 -10 % is taken as symmetrical. */
#include <math.h>

#include "core/circuit/circuit_private.h"

static const double COVERAGE = 2, JUDGED_COVERAGE = 0.95;
/* Probe tips and terminals (up to half an ohm passes for a sound connection); stray fields. Common practice,
 * no source. */
static const double LEAST_OHM = 0.25, LEAST_VOLT = 0.4, LEAST_AMPERE = 0.08;

typedef struct {
    double value, uncertainty, spread; /* spread: of the parts alone */
    bool is_over;
} Shown;

static const MeterMode modes[] = {METER_OHM, METER_VOLT, METER_AMPERE};

/* An open circuit has no uncertainty of the meter; the spread of the parts may be anything there and is not
 * asked for. */
static Shown show(const CircuitMeter *on, const Meter *meter, const int *variants, int count)
{
    static const double least[] = {LEAST_OHM, LEAST_VOLT, LEAST_AMPERE};
    const ReadingKind kind = on->connection.kind;
    const CircuitReading reading = circuit_read(on, variants, count);
    const double of_meter = meter_uncertainty(meter, modes[kind], reading.value);
    const double alone[] = {reading.spread, least[kind]};
    const double parts[] = {reading.spread, isfinite(of_meter) ? of_meter : 0, least[kind]};
    return (Shown){reading.value, meter_combine(parts, 3), meter_combine(alone, 2),
                   meter_is_over(meter, modes[kind], reading.value)};
}

/* OL against a figure needs no arithmetic: everybody sees the difference. */
static bool is_told_apart(const Shown *a, const Shown *b)
{
    if (a->is_over || b->is_over) return a->is_over != b->is_over;
    const double both[] = {a->uncertainty, b->uncertainty};
    return fabs(a->value - b->value) > COVERAGE * meter_combine(both, 2);
}

/* A fault that is a matter of degree is shown at its middle severity: one line for each fault is what fits
 * on a screen; diagnosis weighs all of them. */
bool circuit_expect(Circuit *circuit, const Connection *connection, const Meter *meter,
                    Expectation *expectation, Error *error)
{
    const Appliance *appliance = circuit->appliance;
    FaultReading *faults = ARENA_ARRAY(circuit->arena, FaultReading, (size_t)appliance->fault_count + 1);
    CircuitMeter on;
    if (!faults) return error_memory(error);
    if (!circuit_connect(circuit, connection, &on, error)) return false;
    const Shown healthy = show(&on, meter, NULL, 0);
    const double reach = COVERAGE * healthy.uncertainty;
    *expectation = (Expectation){.value = healthy.value,
                                 .low = fmax(healthy.value - reach, 0),
                                 .high = healthy.value + reach,
                                 .part_low = healthy.value - COVERAGE * healthy.spread,
                                 .part_high = healthy.value + COVERAGE * healthy.spread,
                                 .is_over = healthy.is_over,
                                 .faults = faults};
    for (int f = 0; f < appliance->fault_count; f++) {
        const int middle = appliance->faults[f].severity_count / 2,
                  variant = circuit->first_variant[f] + middle;
        const Shown faulty = show(&on, meter, &variant, 1);
        faults[f] =
            (FaultReading){f, appliance->faults[f].severity[middle], faulty.is_over ? INFINITY : faulty.value,
                           is_told_apart(&healthy, &faulty)};
    }
    return true;
}

/* With OL on either side there is no figure to judge: it is as it should be, or it is not. */
MeterJudgement circuit_judge(const Expectation *expectation, const Connection *connection, const Meter *meter,
                             double reading)
{
    const MeterMode mode = modes[connection->kind];
    const bool is_over = isinf(reading) || meter_is_over(meter, mode, reading);
    if (is_over || expectation->is_over) {
        const bool is_inside = is_over == expectation->is_over;
        return (MeterJudgement){is_inside ? METER_INSIDE : METER_OUTSIDE, is_inside ? 1 : 0};
    }
    /* Nothing is below 0: a short that reads 0 is no less a short for it. */
    const double low = expectation->part_low > 0 ? expectation->part_low : -INFINITY;
    return meter_judge(reading, meter_uncertainty(meter, mode, reading), low, expectation->part_high,
                       JUDGED_COVERAGE);
}
