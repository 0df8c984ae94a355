/* control.c: does the electronic control run, and if not, why?
 *
 * Without its supply, or with a sensor that it cannot believe, it opens all contacts that it drives. Its
 * supply is asked for in the network in which it has stopped already: a control that would feed itself
 * through a contact of its own never starts.
 *
 * Bad at: what a control's makers put into its program. It believes any resistance between two limits,
 * waits for nothing, and knows no fault codes; time delays and door locks do not exist here. */
#include <assert.h>

#include "core/circuit/view_private.h"

/* Broken electronics need no circuit to be asked. */
static bool stops_control(const Circuit *circuit, const int *variants, int count)
{
    for (int i = 0; i < count; i++)
        if (circuit->appliance->faults[circuit->variants[variants[i]].fault].mode->effect == EFFECT_STOP)
            return true;
    return false;
}

/* The sensor as the control sees it: the network at its input, less the input itself. */
static double sensed_ohm(const Circuit *circuit, const CircuitView *sensed, const int *variants, int count)
{
    const Appliance *appliance = circuit->appliance;
    Currents currents;
    circuit__find_currents(sensed, variants, count, &currents);
    /* What the probes see is the sensor's loop beside the control's own input; conductances add up, so the
     * input is taken off as one. The network is the dead one: the mains do not come near this loop. */
    const double seen = 1 / circuit__probe_self(sensed, &currents).re;
    const double own = 1 / appliance->branches[appliance->control_input].cold_ohm;
    return seen > own ? 1 / (seen - own) : INFINITY;
}

double circuit_sensed_ohm(const CircuitMeter *live, const int *variants, int count)
{
    if (!live->control || !live->control->sensed) return NAN;
    return sensed_ohm(live->circuit, live->control->sensed, variants, count);
}

static bool is_believable(const Circuit *circuit, const CircuitView *sensed, const int *variants, int count)
{
    const Part *control = &circuit->appliance->parts[circuit->appliance->control];
    const double least = appliance_number(control, "sensor-from", 0),
                 most = appliance_number(control, "sensor-to", 0);
    if (most <= 0) return true;
    const double ohm = sensed_ohm(circuit, sensed, variants, count);
    return ohm >= least && ohm <= most;
}

/* The size of the phasor, not its angle: on 208Y/120 a leg against the neutral is as good as on a split
 * phase. */
static bool has_supply(const Circuit *circuit, const CircuitView *power, const int *variants, int count)
{
    Currents currents;
    circuit__find_currents(power, variants, count, &currents);
    const double rated = circuit->appliance->branches[circuit->appliance->control_power].rated_volt;
    return complex_size(circuit__probe_volt(power, &currents)) >= CIRCUIT_CONTROL_LEAST_SHARE * rated;
}

/* Dead before refusing: a control without power says nothing of its sensor. */
static ControlState find_state(const Circuit *circuit, const CircuitControl *control, const int *variants,
                               int count)
{
    if (stops_control(circuit, variants, count)) return CONTROL_DEAD;
    if (control->power && !has_supply(circuit, control->power, variants, count)) return CONTROL_DEAD;
    if (control->sensed && !is_believable(circuit, control->sensed, variants, count)) return CONTROL_REFUSES;
    return CONTROL_RUNS;
}

bool circuit__control_sees(const Circuit *circuit, const CircuitControl *control, int variant)
{
    return control && (stops_control(circuit, &variant, 1) || circuit__is_moved(control->power, variant) ||
                       circuit__is_moved(control->sensed, variant));
}

/* None and one fault, asked for by every reading, are remembered. Pairs are too many for that, but of most
 * one is nothing to the control. */
ControlState circuit__control_state(const Circuit *circuit, const CircuitControl *control,
                                    const int *variants, int count)
{
    if (!control) return CONTROL_RUNS;
    if (count == 0) return control->states[circuit->variant_count];
    if (count == 1) return control->states[variants[0]];
    int seen[CIRCUIT_MOST_FAULTS], seen_count = 0;
    for (int i = 0; i < count; i++)
        if (circuit__control_sees(circuit, control, variants[i])) seen[seen_count++] = variants[i];
    if (seen_count > 1) return find_state(circuit, control, seen, seen_count);
    return control->states[seen_count == 0 ? variants[0] : seen[0]];
}

/* A view across a branch of the control, in a network fit for faults. */
static const CircuitView *view_across(Circuit *circuit, CircuitNetwork *network, int branch)
{
    const Branch *across = &circuit->appliance->branches[branch];
    if (!network || !circuit__prepare(circuit, network)) return NULL;
    return circuit__view(circuit, network, across->from, across->to);
}

/* The sensor's loop is asked with the knob at 'off': no function switches a sensor. */
static bool look(Circuit *circuit, CircuitNetwork *stopped, const Opened *opened, CircuitControl *control)
{
    const Appliance *appliance = circuit->appliance;
    ControlState *states = ARENA_ARRAY(circuit->arena, ControlState, (size_t)circuit->variant_count + 1);
    if (!states) return false;
    if (appliance->control_power >= 0 &&
        !(control->power = view_across(circuit, stopped, appliance->control_power)))
        return false;
    CircuitNetwork *dead = circuit__network(circuit, 0, MODE_DEAD, opened);
    if (appliance->control_input >= 0 &&
        !(control->sensed = view_across(circuit, dead, appliance->control_input)))
        return false;
    for (int v = 0; v < circuit->variant_count; v++) states[v] = find_state(circuit, control, &v, 1);
    states[circuit->variant_count] = find_state(circuit, control, NULL, 0);
    control->states = states;
    return true;
}

CircuitControl *circuit__control(Circuit *circuit, int function, const Opened *opened)
{
    assert(circuit->appliance->control >= 0);
    CircuitNetwork *stopped = circuit__network(circuit, function, MODE_STOPPED, opened);
    if (!stopped) return NULL;
    if (stopped->control) return stopped->control;
    CircuitControl *control = ARENA_ARRAY(circuit->arena, CircuitControl, 1);
    if (!control || !look(circuit, stopped, opened, control)) return NULL;
    return stopped->control = control;
}
