/* reading.c: a meter between two marks, and what it shows.
 *
 * An ohmmeter sees the impedance of the dead network between its probes. A voltmeter loads the live one:
 * with open-circuit volts V and impedance Z between the probes, it shows V Zm / (Zm + Z). A clamp adds up
 * the currents of the branches that join its two marks.
 *
 * Whether the control runs is part of the answer: without its supply, or with a sensor that it cannot
 * believe, it opens all contacts that it drives. So a live reading is taken in one of two networks. */
#include <assert.h>
#include <math.h>
#include <stdio.h>

#include "core/circuit/circuit_private.h"

static const double VOLTMETER_OHM = 10e6, LOW_IMPEDANCE_OHM = 3e3; /* common practice, no source */
/* Good mains stay within 5 % (ANSI C84.1 range A, service voltage): half of that as a standard uncertainty.
 */
static const double SUPPLY_SPREAD = 0.025;
/* Stray coupling is known to a factor of two or so: how uncertain a ghost voltage is, relative to itself. */
static const double GHOST_SPREAD = 0.5;
/* A control stops below this share of its rated supply. Common practice, no source. */
static const double CONTROL_LEAST_SHARE = 0.7;

static bool list_variants(Circuit *circuit)
{
    const Appliance *appliance = circuit->appliance;
    int count = 0;
    for (int f = 0; f < appliance->fault_count; f++) count += appliance->faults[f].severity_count;
    Variant *variants = ARENA_ARRAY(circuit->arena, Variant, (size_t)count + 1);
    int *first = ARENA_ARRAY(circuit->arena, int, (size_t)appliance->fault_count + 1);
    if (!variants || !first) return false;
    int v = 0;
    for (int f = 0; f < appliance->fault_count; f++) {
        first[f] = v;
        for (int s = 0; s < appliance->faults[f].severity_count; s++) variants[v++] = (Variant){f, s};
    }
    first[appliance->fault_count] = v;
    circuit->variants = variants;
    circuit->variant_count = v;
    circuit->first_variant = first;
    return true;
}

bool circuit_begin(const Appliance *appliance, double ambient_celsius, Arena *arena, Circuit *circuit,
                   Error *error)
{
    *circuit = (Circuit){.appliance = appliance, .ambient_celsius = ambient_celsius, .arena = arena};
    const size_t slots = (size_t)appliance->function_count * CIRCUIT_NETWORK_MODES;
    circuit->networks = ARENA_ARRAY(arena, CircuitNetwork *, slots);
    if (!circuit->networks || !list_variants(circuit)) return error_memory(error);
    return true;
}

static int add_opened(int *out, int count, int branch)
{
    for (int i = 0; i < count; i++)
        if (out[i] == branch) return count;
    if (count < 0 || count >= CIRCUIT_MOST_OPENED) return -1;
    out[count] = branch;
    return count + 1;
}

int circuit__opened(const Appliance *appliance, const Connection *connection, int *out)
{
    int count = 0;
    for (int b = 0; b < appliance->branch_count && count >= 0; b++) {
        const Branch *branch = &appliance->branches[b];
        bool is_opened = false;
        for (int i = 0; i < connection->lift_count; i++)
            is_opened |= (branch->from == connection->lifts[i] || branch->to == connection->lifts[i]) &&
                         appliance_is_wiring(appliance, b);
        for (int i = 0; i < connection->unplug_count; i++)
            is_opened |= branch->part == connection->unplugs[i];
        if (is_opened) count = add_opened(out, count, b);
    }
    return count;
}

static bool find_through(const Appliance *appliance, Arena *arena, CircuitMeter *meter, Error *error)
{
    const Connection *connection = &meter->connection;
    int *through = ARENA_ARRAY(arena, int, (size_t)appliance->branch_count);
    if (!through) return error_memory(error);
    for (int b = 0; b < appliance->branch_count; b++) {
        const Branch *branch = &appliance->branches[b];
        const bool joins = (branch->from == connection->from && branch->to == connection->to) ||
                           (branch->from == connection->to && branch->to == connection->from);
        if (joins && branch->type != BRANCH_GAP) through[meter->through_count++] = b;
    }
    meter->through = through;
    if (meter->through_count > 0) return true;
    char found[160];
    snprintf(found, sizeof found, "no part or wire goes from %s to %s",
             appliance->marks[connection->from].name, appliance->marks[connection->to].name);
    error_set(error, ERROR_INCONSISTENT, found,
              "the two ends of one wire or part, for a clamp to go around it");
    return error_hint(error, "name the marks at the two ends of what the clamp was around");
}

/* Views of the control's supply and of its sensor input, which decide whether it runs. */
static bool look_at_control(Circuit *circuit, CircuitMeter *meter, const int *opened, int count)
{
    const Appliance *appliance = circuit->appliance;
    if (appliance->control < 0) return true;
    const int function = meter->connection.function;
    if (appliance->control_power >= 0) {
        const Branch *power = &appliance->branches[appliance->control_power];
        const CircuitNetwork *network = circuit__network(circuit, function, MODE_STOPPED);
        meter->power = circuit__view(circuit, network, power->from, power->to, opened, count);
        if (!meter->power) return false;
    }
    if (appliance->control_input < 0) return true;
    const Branch *input = &appliance->branches[appliance->control_input];
    const CircuitNetwork *network = circuit__network(circuit, 0, MODE_DEAD);
    meter->sensed = circuit__view(circuit, network, input->from, input->to, opened, count);
    return meter->sensed != NULL;
}

bool circuit_connect(Circuit *circuit, const Connection *connection, CircuitMeter *meter, Error *error)
{
    const Appliance *appliance = circuit->appliance;
    assert(connection->from >= 0 && connection->from < appliance->mark_count);
    assert(connection->to >= 0 && connection->to < appliance->mark_count);
    *meter = (CircuitMeter){.circuit = circuit, .connection = *connection};
    if (connection->kind == READING_AMP && !find_through(appliance, circuit->arena, meter, error))
        return false;
    int opened[CIRCUIT_MOST_OPENED];
    const int count = circuit__opened(appliance, connection, opened);
    if (count < 0)
        return error_set(error, ERROR_TOO_LARGE, "too many wires are off at once",
                         "at most %d wires and pins", CIRCUIT_MOST_OPENED);
    const NetworkMode mode = connection->power_on ? MODE_RUNNING : MODE_DEAD;
    const CircuitNetwork *network = circuit__network(circuit, connection->function, mode);
    meter->view = circuit__view(circuit, network, connection->from, connection->to, opened, count);
    if (!meter->view) return error_memory(error);
    if (!connection->power_on || appliance->control < 0) return true;
    network = circuit__network(circuit, connection->function, MODE_STOPPED);
    meter->stopped = circuit__view(circuit, network, connection->from, connection->to, opened, count);
    if (!meter->stopped || !look_at_control(circuit, meter, opened, count)) return error_memory(error);
    return true;
}

static bool stops_control(const Circuit *circuit, const int *variants, int count)
{
    for (int i = 0; i < count; i++)
        if (circuit->appliance->faults[circuit->variants[variants[i]].fault].mode->effect == EFFECT_STOP)
            return true;
    return false;
}

/* The sensor as the control sees it: the network at its input, less the input itself. */
static bool is_believable(const CircuitMeter *meter, const int *variants, int count)
{
    const Appliance *appliance = meter->circuit->appliance;
    const Part *control = &appliance->parts[appliance->control];
    Currents currents;
    circuit__find_currents(meter->sensed, variants, count, &currents);
    const double seen = 1 / circuit__probe_self(meter->sensed, &currents).re;
    const double own = 1 / appliance->branches[appliance->control_input].cold_ohm;
    const double least = appliance_number(control, "sensor-from", 0),
                 most = appliance_number(control, "sensor-to", 0);
    if (most <= 0) return true;
    const double ohm = seen > own ? 1 / (seen - own) : INFINITY;
    return ohm >= least && ohm <= most;
}

bool circuit__control_runs(const CircuitMeter *meter, const int *variants, int count)
{
    const Appliance *appliance = meter->circuit->appliance;
    if (appliance->control < 0) return true;
    if (stops_control(meter->circuit, variants, count)) return false;
    if (meter->power) {
        Currents currents;
        circuit__find_currents(meter->power, variants, count, &currents);
        const double volt = complex_size(circuit__probe_volt(meter->power, &currents));
        if (volt < CONTROL_LEAST_SHARE * appliance->branches[appliance->control_power].rated_volt)
            return false;
    }
    return !meter->sensed || is_believable(meter, variants, count);
}

/* Square of what the tolerances of the parts do to an impedance or to open-circuit volts:
 * for one branch d(reading) / d(ln R) = z_mb u_b y_b, with u_b the transfer impedance or volts of the branch.
 */
static double tolerance_square(const CircuitView *view, const Currents *currents, bool of_volt)
{
    const CircuitNetwork *network = view->network;
    double sum = 0;
    for (int b = 0; b < network->branches; b++) {
        const double tolerance = network->wiring[b].tolerance;
        if (tolerance <= 0) continue;
        const Complex towards = circuit__branch_towards(view, currents, b);
        const Complex other = of_volt ? circuit__branch_volt(view, currents, b) : towards;
        const double change = tolerance * complex_size(complex_multiply(complex_multiply(towards, other),
                                                                        network->admittance[b]));
        sum += change * change;
    }
    return sum;
}

static double meter_ohm(const Connection *connection)
{
    return connection->low_impedance ? LOW_IMPEDANCE_OHM : VOLTMETER_OHM;
}

static double shown_volt(const CircuitView *view, const Currents *currents, double meter)
{
    const Complex sum = complex_add(circuit__probe_self(view, currents), (Complex){meter, 0});
    const Complex open_volt = circuit__probe_volt(view, currents);
    return complex_size(complex_divide(complex_scale(open_volt, meter), sum));
}

static double shown_ampere(const CircuitMeter *meter, const CircuitView *view, const Currents *currents)
{
    Complex sum = {0, 0};
    for (int i = 0; i < meter->through_count; i++) {
        const Complex ampere = circuit__branch_ampere(view, currents, meter->through[i]);
        const bool is_along = view->network->wiring[meter->through[i]].from == meter->connection.from;
        sum = is_along ? complex_add(sum, ampere) : complex_subtract(sum, ampere);
    }
    return complex_size(sum);
}

static double shown(const CircuitMeter *meter, const CircuitView *view, const Currents *currents)
{
    switch (meter->connection.kind) {
    case READING_OHM: return fmax(circuit__probe_self(view, currents).re, 0);
    case READING_VOLT: return shown_volt(view, currents, meter_ohm(&meter->connection));
    default: return shown_ampere(meter, view, currents);
    }
}

static double volt_spread(const CircuitView *view, const Currents *currents, double volt, double meter)
{
    const double impedance = complex_size(circuit__probe_self(view, currents));
    const double ghost = GHOST_SPREAD * volt * impedance / (impedance + meter), supply = SUPPLY_SPREAD * volt;
    return sqrt(tolerance_square(view, currents, true) + ghost * ghost + supply * supply);
}

static double ampere_spread(const CircuitMeter *meter, double ampere)
{
    double tolerance = 0;
    for (int i = 0; i < meter->through_count; i++)
        tolerance = fmax(tolerance, meter->view->network->wiring[meter->through[i]].tolerance);
    return ampere * sqrt(tolerance * tolerance + SUPPLY_SPREAD * SUPPLY_SPREAD);
}

static double spread(const CircuitMeter *meter, const CircuitView *view, const Currents *currents,
                     double value)
{
    switch (meter->connection.kind) {
    case READING_OHM: return sqrt(tolerance_square(view, currents, false));
    case READING_VOLT: return volt_spread(view, currents, value, meter_ohm(&meter->connection));
    default: return ampere_spread(meter, value);
    }
}

static const CircuitView *current_view(const CircuitMeter *meter, const int *variants, int count)
{
    return meter->stopped && !circuit__control_runs(meter, variants, count) ? meter->stopped : meter->view;
}

CircuitReading circuit_read(const CircuitMeter *meter, const int *variants, int count)
{
    assert(count >= 0 && count <= CIRCUIT_MOST_FAULTS);
    const CircuitView *view = current_view(meter, variants, count);
    Currents currents;
    circuit__find_currents(view, variants, count, &currents);
    const double value = shown(meter, view, &currents);
    return (CircuitReading){value, spread(meter, view, &currents, value)};
}

void circuit_read_all(const CircuitMeter *meter, double *values)
{
    for (int v = 0; v < meter->circuit->variant_count; v++) {
        const CircuitView *view = current_view(meter, &v, 1);
        Currents currents;
        circuit__find_currents(view, &v, 1, &currents);
        values[v] = shown(meter, view, &currents);
    }
}
