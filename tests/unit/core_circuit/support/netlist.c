/* netlist.c: see netlist.h. Numbers of nodes and sources that are not marks: branch b's inner nodes stand
 * from INNER on, its sensing source is v<b>, its own mains source v<SUPPLY + b>. */
#include "netlist.h"

#include "base/mathematics.h"
#include "spice.h"
#include "support/near.h"

#include <math.h>

enum { INNER = 200, SUPPLY = 300 };

static const double WIRE_OHM = 1e4; /* below: written as a source and its current's volts */

double netlist_hertz(const Appliance *appliance)
{
    const double hertz = appliance->description->supply.hertz;
    return hertz > 0 ? hertz : 60;
}

static bool has_role(const Appliance *appliance, int branch, const char *role)
{
    return appliance_part_has_role(appliance, appliance->branches[branch].part, role);
}

static bool is_taken_off(const Setting *setting, int number)
{
    const Branch *branch = &setting->appliance->branches[number];
    for (int i = 0; i < setting->unplug_count; i++)
        if (branch->part == setting->unplugs[i]) return true;
    if (!has_role(setting->appliance, number, "wiring") && !has_role(setting->appliance, number, "cord"))
        return false;
    for (int i = 0; i < setting->lift_count; i++)
        if (branch->from == setting->lifts[i] || branch->to == setting->lifts[i]) return true;
    return false;
}

static bool is_asked_to_close(const Setting *setting, int number)
{
    const Function *function = &setting->appliance->functions[setting->function];
    for (int i = 0; i < function->contact_count; i++)
        if (function->contacts[i] == number)
            return setting->appliance->branches[number].driver < 0 ||
                   (setting->power_on && setting->control_runs);
    return false;
}

/* As the wiring diagram has it. */
static BranchState sound_state(const Setting *setting, int number)
{
    const Branch *branch = &setting->appliance->branches[number];
    const Part *part = &setting->appliance->parts[branch->part];
    BranchState state = {false, setting->power_on ? branch->hot_ohm : branch->cold_ohm,
                         setting->power_on ? branch->reactance_ohm : 0};
    if (branch->type == BRANCH_SENSOR)
        assert_true(sensor_ohm(&part->described->sensor, setting->ambient_celsius, &state.ohm, NULL));
    if (branch->type == BRANCH_GAP) state.is_open = true;
    if (branch->type == BRANCH_CONTACT) state.is_open = !is_asked_to_close(setting, number);
    if (!setting->power_on && (branch->leg >= 0 || has_role(setting->appliance, number, "breaker")))
        state.is_open = true;
    return state;
}

static void apply(const Appliance *appliance, const Fault *fault, double severity, int number,
                  BranchState *state)
{
    const Branch *branch = &appliance->branches[number];
    const double severed = severity > 0           ? severity
                           : branch->cold_ohm > 0 ? branch->cold_ohm
                                                  : CIRCUIT_SHORT_OHM;
    switch (fault->mode->effect) {
    case EFFECT_OPEN: state->is_open = true; break;
    case EFFECT_CLOSE:
        if (state->is_open) *state = (BranchState){false, severed, 0};
        break;
    case EFFECT_ADD_OHM: state->ohm = fmax(state->ohm + severity, CIRCUIT_LEAST_OHM); break;
    case EFFECT_SCALE: state->ohm = fmax(state->ohm * severity, CIRCUIT_LEAST_OHM); break;
    default: break;
    }
}

BranchState netlist_state(const Setting *setting, int number)
{
    BranchState state = sound_state(setting, number);
    for (int f = 0; f < setting->fault_count; f++) {
        const Fault *fault = &setting->appliance->faults[setting->faults[f].fault];
        for (int i = 0; i < fault->branch_count; i++)
            if (fault->branches[i] == number)
                apply(setting->appliance, fault, fault->severity[setting->faults[f].severity], number,
                      &state);
    }
    if (is_taken_off(setting, number)) state.is_open = true;
    return state;
}

static double sag(const Setting *setting)
{
    double factor = 1;
    for (int f = 0; f < setting->fault_count; f++) {
        const Fault *fault = &setting->appliance->faults[setting->faults[f].fault];
        if (fault->mode->effect == EFFECT_SAG) factor *= fault->severity[setting->faults[f].severity];
    }
    return factor;
}

/* The mains between the branch's `from` and the node that the rest of it begins at. */
static int write_supply(const Setting *setting, int number)
{
    const Branch *branch = &setting->appliance->branches[number];
    if (branch->leg < 0 || !setting->power_on) return branch->from;
    const int inner = INNER + 2 * number;
    spice_line("v%d %d %d dc 0 ac %.17g %.17g", SUPPLY + number, inner, branch->from,
               sag(setting) * setting->appliance->leg_volt[branch->leg],
               setting->appliance->leg_degree[branch->leg]);
    return inner;
}

static void write_branch(const Setting *setting, int number)
{
    const int to = setting->appliance->branches[number].to, from = write_supply(setting, number);
    const double omega = 2 * MATH_PI * netlist_hertz(setting->appliance);
    const BranchState state = netlist_state(setting, number);
    if (from == to) return;
    if (state.is_open) {
        spice_line("r%d %d %d %.17g", number, from, to, 1 / CIRCUIT_GAP_SIEMENS);
        if (setting->power_on) spice_line("c%d %d %d %.17g", number, from, to, CIRCUIT_GAP_FARAD);
        return;
    }
    const int inner = INNER + 2 * number + 1;
    if (state.ohm < WIRE_OHM && state.reactance_ohm == 0) {
        spice_line("v%d %d %d dc 0 ac 0", number, from, inner);
        spice_line("h%d %d %d v%d %.17g", number, inner, to, number, state.ohm);
    } else if (state.reactance_ohm != 0) {
        spice_line("r%d %d %d %.17g", number, from, inner, state.ohm);
        spice_line("l%d %d %d %.17g", number, inner, to, state.reactance_ohm / omega);
    } else {
        spice_line("r%d %d %d %.17g", number, from, to, state.ohm);
    }
}

void netlist_write(const Setting *setting, int without)
{
    assert_true(setting->appliance->mark_count < INNER && setting->appliance->branch_count < SUPPLY);
    for (int m = 1; m < setting->appliance->mark_count; m++)
        spice_line("rleak%d %d 0 %.17g", m, m, 1 / CIRCUIT_MARK_LEAK_SIEMENS);
    for (int b = 0; b < setting->appliance->branch_count; b++)
        if (b != without) write_branch(setting, b);
}

Complex netlist_ampere(const Setting *setting, int number)
{
    const Branch *branch = &setting->appliance->branches[number];
    const BranchState state = netlist_state(setting, number);
    if (!state.is_open && state.ohm < WIRE_OHM && state.reactance_ohm == 0) return spice_ampere(number);
    const bool has_source = branch->leg >= 0 && setting->power_on;
    const int from = has_source ? INNER + 2 * number : branch->from;
    const Complex volt = complex_subtract(spice_volt(from), spice_volt(branch->to));
    const double omega = 2 * MATH_PI * netlist_hertz(setting->appliance);
    if (state.is_open)
        return complex_multiply(
            volt, (Complex){CIRCUIT_GAP_SIEMENS, setting->power_on ? omega * CIRCUIT_GAP_FARAD : 0});
    return complex_divide(volt, (Complex){state.ohm, state.reactance_ohm});
}

static bool has_supply(const Setting *setting)
{
    const Appliance *appliance = setting->appliance;
    const Branch *power = &appliance->branches[appliance->control_power];
    Setting stopped = *setting;
    stopped.power_on = true;
    stopped.control_runs = false;
    spice_begin_circuit();
    netlist_write(&stopped, -1);
    spice_load_circuit();
    spice_run_mains(netlist_hertz(appliance));
    const Complex volt = complex_subtract(spice_volt(power->from), spice_volt(power->to));
    return complex_size(volt) >= CIRCUIT_CONTROL_LEAST_SHARE * power->rated_volt;
}

/* The control measures with everything driven at rest; its own input is no part of what it measures. */
static bool is_believable(const Setting *setting, double least, double most)
{
    const Appliance *appliance = setting->appliance;
    const Branch *input = &appliance->branches[appliance->control_input];
    Setting dead = *setting;
    dead.power_on = dead.control_runs = false;
    dead.function = 0;
    spice_begin_circuit();
    netlist_write(&dead, appliance->control_input);
    spice_line("iprobe %d %d dc 1", input->to, input->from);
    spice_load_circuit();
    spice_run_direct();
    const double ohm = spice_volt(input->from).re - spice_volt(input->to).re;
    return ohm >= least && ohm <= most;
}

bool netlist_control_runs(const Setting *setting)
{
    const Appliance *appliance = setting->appliance;
    if (appliance->control < 0) return true;
    for (int f = 0; f < setting->fault_count; f++)
        if (appliance->faults[setting->faults[f].fault].mode->effect == EFFECT_STOP) return false;
    if (appliance->control_power >= 0 && !has_supply(setting)) return false;
    const Part *control = &appliance->parts[appliance->control];
    const double most = appliance_number(control, "sensor-to", 0);
    return appliance->control_input < 0 || most <= 0 ||
           is_believable(setting, appliance_number(control, "sensor-from", 0), most);
}
