/* reading.c: a meter between two marks, and what it shows.
 *
 * An ohmmeter sees the impedance of the dead network between its probes. A voltmeter loads the live one:
 * with open-circuit volts V and impedance Z between the probes, it shows V Zm / (Zm + Z). A clamp adds up
 * the currents of the branches that join its two marks.
 *
 * Whether the control runs is part of the answer (control.c), so a live reading is taken in one of two
 * networks.
 *
 * Bad at: meters that are not what they say. Input impedance is a resistance of one of two values, test
 * current is small, a clamp has no direction, a diode in the path does not exist. */
#include <assert.h>
#include <math.h>
#include <stdio.h>

#include "core/circuit/view_private.h"

/* Good mains stay within 5 % (ANSI C84.1 range A, service voltage): half of that as a standard uncertainty.
 */
static const double SUPPLY_SPREAD = 0.025;
/* Stray coupling is known to a factor of two or so: how uncertain a ghost voltage is, relative to itself. */
static const double GHOST_SPREAD = 0.5;
/* Rounding that is too much: above the first share of a reading and the first volts, in a reading that is not
 * open anyway. For a clamp the loss of the currents serves. */
static const double SURE_RATIO = 1e-10, SURE_VOLT = 1e-10, SURELY_OPEN_OHM = 1e8, SURE_LOSS = 1e4;

/* One array of all faults at all severities: a variant is a number, and a whole dictionary of readings an
 * array. */
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
    const size_t settings = (size_t)appliance->function_count * (1 + CIRCUIT_MOST_STAGES);
    circuit->networks = ARENA_ARRAY(arena, CircuitNetwork *, settings * CIRCUIT_NETWORK_MODES);
    circuit->settings = ARENA_ARRAY(arena, Function, settings);
    circuit->pattern = circuit__pattern(appliance, arena);
    if (!circuit->networks || !circuit->settings || !circuit->pattern || !list_variants(circuit))
        return error_memory(error);
    circuit->setting_count = appliance->function_count;
    for (int f = 0; f < appliance->function_count; f++) circuit->settings[f] = appliance->functions[f];
    return true;
}

/* Kept ascending and each once, so that the same wires make the same network in whichever order they came
 * off. */
bool circuit__open(Opened *opened, int branch)
{
    if (circuit__is_opened(opened, branch)) return true;
    if (opened->count >= CIRCUIT_MOST_OPENED) return false;
    int at = opened->count++;
    for (; at > 0 && opened->branches[at - 1] > branch; at--) opened->branches[at] = opened->branches[at - 1];
    opened->branches[at] = branch;
    return true;
}

/* Lifting a wire opens all wiring at that mark: what the technician holds in his hand is the terminal's
 * whole bunch. */
bool circuit__opened(const Appliance *appliance, const Connection *connection, Opened *opened)
{
    *opened = (Opened){.count = 0};
    for (int b = 0; b < appliance->branch_count; b++) {
        const Branch *branch = &appliance->branches[b];
        bool is_free = false;
        for (int i = 0; i < connection->lift_count; i++)
            is_free |= (branch->from == connection->lifts[i] || branch->to == connection->lifts[i]) &&
                       appliance_is_wiring(appliance, b);
        for (int i = 0; i < connection->unplug_count; i++) is_free |= branch->part == connection->unplugs[i];
        if (is_free && !circuit__open(opened, b)) return false;
    }
    return true;
}

/* Several branches between the same two marks lie in the same jaw and add up; a gap carries nothing worth a
 * clamp. */
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

static const CircuitView *connect_view(Circuit *circuit, const Connection *connection, NetworkMode mode,
                                       const Opened *opened)
{
    CircuitNetwork *network = circuit__network(circuit, connection->function, mode, opened);
    if (!network || !circuit__prepare(circuit, network)) return NULL;
    return circuit__view(circuit, network, connection->from, connection->to);
}

static double meter_ohm(const Connection *connection)
{
    return connection->low_impedance ? CIRCUIT_LOW_IMPEDANCE_OHM : CIRCUIT_VOLTMETER_OHM;
}

/* V Zm / (Zm + Z): a ghost on insulation of gigohms is divided down, a real 240 V on milliohms is not. */
static double shown_volt(const CircuitView *view, const Currents *currents, double meter)
{
    const Complex sum = complex_add(circuit__probe_self(view, currents), (Complex){meter, 0});
    const Complex open_volt = circuit__probe_volt(view, currents);
    return complex_size(complex_divide(complex_scale(open_volt, meter), sum));
}

/* Signs follow the way from the first mark to the second, whichever end a branch calls its own. */
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

/* The meter takes its part of what the tolerances do to the open volts, as it does of the volts. */
static double volt_spread(const CircuitView *view, const Currents *currents, double volt, double meter)
{
    const Complex seen = circuit__probe_self(view, currents);
    const double impedance = complex_size(seen),
                 share = meter / complex_size(complex_add(seen, (Complex){meter, 0}));
    const double ghost = GHOST_SPREAD * volt * impedance / (impedance + meter), supply = SUPPLY_SPREAD * volt;
    return sqrt(circuit__tolerance_square(view, currents, true) * share * share + ghost * ghost +
                supply * supply);
}

/* The current of a branch, I = y u, moves with what the tolerances do to the volts across it, and with its
 * own resistance: d I / d(ln R) = -I (1 - y Z), Z what the branch sees; next to nothing where others decide
 * the current, as in a wire. */
static double ampere_spread(const CircuitMeter *meter, const CircuitView *view, const Currents *currents,
                            double ampere)
{
    const int b = meter->through[0];
    const double supply = SUPPLY_SPREAD * ampere;
    const double volt = complex_size(circuit__branch_volt(view, currents, b));
    if (volt <= 0) return supply;
    const double tolerance = circuit__is_changed(currents, b) ? 0 : view->network->wiring[b].tolerance;
    const Complex own = circuit__branch_ampere(view, currents, b);
    const double admittance = complex_size(own) / volt;
    const Complex seen = circuit__probe_self(view, currents);
    const double of_own_volt = tolerance * complex_size(seen) * complex_size(own);
    const double of_volt = circuit__tolerance_square(view, currents, true) - of_own_volt * of_own_volt;
    const Complex rest = complex_subtract((Complex){1, 0}, complex_scale(seen, admittance));
    const double of_own = tolerance * ampere * complex_size(rest);
    return sqrt(fmax(of_volt, 0) * admittance * admittance + of_own * of_own + supply * supply);
}

/* An ohm reading has no supply in it, so its parts are all there is to be unsure of. */
static double spread(const CircuitMeter *meter, const CircuitView *view, const Currents *currents,
                     double value)
{
    switch (meter->connection.kind) {
    case READING_OHM: return sqrt(circuit__tolerance_square(view, currents, false));
    case READING_VOLT: return volt_spread(view, currents, value, meter_ohm(&meter->connection));
    default: return ampere_spread(meter, view, currents, value);
    }
}

/* Is the value as good as it was before faults came into it? */
static bool is_sure(const CircuitMeter *meter, const CircuitView *view, const Currents *currents,
                    double value)
{
    if (currents->is_fresh || currents->count == 0) return true;
    if (meter->connection.kind == READING_AMP) return currents->loss < SURE_LOSS;
    const double impedance_error = circuit__probe_error(view, currents, false);
    if (meter->connection.kind == READING_OHM)
        return impedance_error <= SURE_RATIO * value || value - impedance_error > SURELY_OPEN_OHM;
    return circuit__probe_error(view, currents, true) <= SURE_RATIO * value + SURE_VOLT &&
           impedance_error <= SURE_RATIO * meter_ohm(&meter->connection);
}

/* First the cheap way; where its own account of rounding says that it will not do, the dear one. Both give
 * the same to SURE_RATIO, so no reading jumps where one takes over. */
static double read_value(const CircuitMeter *meter, const CircuitView *view, Currents *currents)
{
    const double value = shown(meter, view, currents);
    if (is_sure(meter, view, currents, value)) return value;
    circuit__solve_anew(view, currents);
    return shown(meter, view, currents);
}

static CircuitReading read_view(const CircuitMeter *meter, const CircuitView *view, Currents *currents)
{
    const double value = read_value(meter, view, currents);
    return (CircuitReading){value, spread(meter, view, currents, value)};
}

static CircuitReading read_sound(const CircuitMeter *meter, const CircuitView *view)
{
    Currents currents;
    circuit__find_currents(view, NULL, 0, &currents);
    return read_view(meter, view, &currents);
}

/* Both networks are made ready, control running and stopped, since a fault may decide between them. */
bool circuit_connect(Circuit *circuit, const Connection *connection, CircuitMeter *meter, Error *error)
{
    const Appliance *appliance = circuit->appliance;
    assert(connection->from >= 0 && connection->from < appliance->mark_count);
    assert(connection->to >= 0 && connection->to < appliance->mark_count);
    *meter = (CircuitMeter){.circuit = circuit, .connection = *connection};
    if (connection->kind == READING_AMP && !find_through(appliance, circuit->arena, meter, error))
        return false;
    Opened opened;
    if (!circuit__opened(appliance, connection, &opened))
        return error_set(error, ERROR_TOO_LARGE, "too many wires are off at once",
                         "at most %d wires and pins", CIRCUIT_MOST_OPENED);
    meter->view = connect_view(circuit, connection, connection->power_on ? MODE_RUNNING : MODE_DEAD, &opened);
    if (!meter->view) return error_memory(error);
    meter->sound = read_sound(meter, meter->view);
    if (!connection->power_on || appliance->control < 0) return true;
    meter->stopped = connect_view(circuit, connection, MODE_STOPPED, &opened);
    meter->control = circuit__control(circuit, connection->function, &opened);
    if (!meter->stopped || !meter->control) return error_memory(error);
    meter->sound_stopped = read_sound(meter, meter->stopped);
    return true;
}

/* The view that decides, and what the faults change in it. */
static const CircuitView *view_with(const CircuitMeter *meter, const int *variants, int count,
                                    Currents *currents)
{
    const bool runs = !meter->stopped ||
                      circuit__control_state(meter->circuit, meter->control, variants, count) == CONTROL_RUNS;
    const CircuitView *view = runs ? meter->view : meter->stopped;
    circuit__find_currents(view, variants, count, currents);
    return view;
}

/* Half of the faults change nothing in a network: what it shows then is found once, when it is connected. */
CircuitReading circuit_read(const CircuitMeter *meter, const int *variants, int count)
{
    assert(count >= 0 && count <= CIRCUIT_MOST_FAULTS);
    Currents currents;
    const CircuitView *view = view_with(meter, variants, count, &currents);
    if (currents.count == 0 && currents.sag == 1)
        return view == meter->stopped ? meter->sound_stopped : meter->sound;
    return read_view(meter, view, &currents);
}

bool circuit_sees(const CircuitMeter *meter, int variant)
{
    return circuit__is_moved(meter->view, variant) || circuit__is_moved(meter->stopped, variant) ||
           circuit__control_sees(meter->circuit, meter->control, variant);
}

void circuit_read_all(const CircuitMeter *meter, double *values)
{
    Currents currents;
    for (int v = 0; v < meter->circuit->variant_count; v++) {
        const CircuitView *view = view_with(meter, &v, 1, &currents);
        values[v] = read_value(meter, view, &currents);
    }
}
