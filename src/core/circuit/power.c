/* power.c: what gets how much power, and what the owner can notice of it.
 *
 * An element counts in the functions in which it has power when all is well; it is dead or weak when it
 * falls short in one of them. The limits are common practice, no source.
 *
 * Bad at: degrees. 'Weak' starts at 85 % of the power for an owner who cannot measure; how long such an
 * oven takes to heat up is a question of temperatures, which are not computed here. */
#include <assert.h>

#include "core/circuit/view_private.h"

static const double DEAD_SHARE = 0.05, WEAK_SHARE = 0.85; /* of the power when all is well */
static const double COUNTS_SHARE = 0.2;                   /* of the rating: has power in this function */
static const double OVERLOAD = 1.25;                      /* of the breaker's rating */
static const double LIVE_FRAME_VOLT = 30;

/* One function with some faults, solved once for all that is asked of it. */
typedef struct {
    const CircuitView *view;
    Currents currents;
    ControlState control;
} Live;

/* Without a control there is one network only, and whatever state it would be in does not matter. */
static void turn_on(const CircuitMeter *meter, const int *variants, int count, Live *live)
{
    live->control = circuit__control_state(meter->circuit, meter->control, variants, count);
    live->view = live->control == CONTROL_RUNS || !meter->stopped ? meter->view : meter->stopped;
    circuit__find_currents(live->view, variants, count, &live->currents);
}

/* Real power, Re(V I*): a motor's reactive current heats nothing. */
static double share_of(const Live *live, int number)
{
    const Branch *branch = &live->view->network->wiring[number];
    if (branch->rated_watt <= 0) return 0;
    const Complex volt = circuit__branch_volt(live->view, &live->currents, number);
    const Complex ampere = circuit__branch_ampere(live->view, &live->currents, number);
    return (volt.re * ampere.re + volt.im * ampere.im) / branch->rated_watt;
}

double circuit_power_share(const CircuitPower *power, int function, int branch, const int *variants,
                           int count)
{
    Live live;
    turn_on(&power->live[function], variants, count, &live);
    return share_of(&live, branch);
}

/* The meter sits between frame and earth because that voltage is wanted anyway; power shares need no
 * probes. */
static bool watch(Circuit *circuit, int setting, CircuitMeter *live, Error *error)
{
    const Connection connection = {.kind = READING_VOLT,
                                   .from = circuit->appliance->frame,
                                   .to = APPLIANCE_EARTH,
                                   .function = setting,
                                   .power_on = true};
    return circuit_connect(circuit, &connection, live, error);
}

bool circuit_stage(Circuit *circuit, const int *contacts, int count, CircuitMeter *live, Error *error)
{
    const int setting = circuit->setting_count;
    assert(setting < circuit->appliance->function_count * (1 + CIRCUIT_MOST_STAGES));
    circuit->settings[setting] =
        (Function){.name = "", .says = "", .contacts = contacts, .contact_count = count};
    circuit->setting_count++;
    return watch(circuit, setting, live, error);
}

void circuit_watts(const CircuitMeter *meter, const int *branches, int branch_count, const int *variants,
                   int count, double *watts)
{
    Live live;
    turn_on(meter, variants, count, &live);
    for (int i = 0; i < branch_count; i++)
        watts[i] = share_of(&live, branches[i]) * live.view->network->wiring[branches[i]].rated_watt;
}

bool circuit_power_begin(Circuit *circuit, CircuitPower *power, Error *error)
{
    const Appliance *appliance = circuit->appliance;
    const size_t functions = (size_t)appliance->function_count, branches = (size_t)appliance->branch_count;
    CircuitMeter *live = ARENA_ARRAY(circuit->arena, CircuitMeter, functions);
    double *share = ARENA_ARRAY(circuit->arena, double, functions *branches);
    if (!live || !share) return error_memory(error);
    *power = (CircuitPower){circuit, live, share};
    for (int f = 0; f < appliance->function_count; f++) {
        if (!watch(circuit, f, &live[f], error)) return false;
        for (int b = 0; b < appliance->branch_count; b++)
            share[f * appliance->branch_count + b] = circuit_power_share(power, f, b, NULL, 0);
    }
    return true;
}

static bool is_heater(const Appliance *appliance, int branch)
{
    return appliance->branches[branch].type == BRANCH_HEATER;
}

/* The condition 'dead' for what this branch does for the owner; CONDITION_COUNT when nothing. 'Weak', where
 * there is one, comes right behind it in CONDITION_LIST. */
static Condition dead_condition(const Appliance *appliance, int branch)
{
    const Part *part = &appliance->parts[appliance->branches[branch].part];
    const char *heats = part->described ? part->described->heats : NULL;
    if (is_heater(appliance, branch) && heats) {
        if (text_equal(heats, "bottom")) return CONDITION_BOTTOM_DEAD;
        if (text_equal(heats, "top")) return CONDITION_TOP_DEAD;
        if (text_equal(heats, "ring")) return CONDITION_RING_DEAD;
    }
    if (text_equal(part->kind->role, "fan")) return CONDITION_FAN_DEAD;
    if (text_equal(part->kind->role, "lamp")) return CONDITION_LAMP_DEAD;
    return CONDITION_COUNT;
}

/* What all functions together say of the elements. */
typedef struct {
    int counted, dead;
} Elements;

/* What has no power in this function when all is well cannot be missed in it; an element that has some with
 * everything off is what the owner finds hot in the morning. */
static void judge_branch(const CircuitPower *power, const Live *live, int function, int branch,
                         Elements *elements, bool *holds)
{
    const Appliance *appliance = power->circuit->appliance;
    if (appliance->branches[branch].rated_watt <= 0) return;
    const double healthy = power->healthy_share[function * appliance->branch_count + branch];
    if (healthy < COUNTS_SHARE) {
        if (function == 0 && is_heater(appliance, branch) && share_of(live, branch) > DEAD_SHARE)
            holds[CONDITION_ALWAYS_ON] = true;
        return;
    }
    const double share = share_of(live, branch) / healthy;
    const Condition dead = dead_condition(appliance, branch);
    if (is_heater(appliance, branch)) {
        elements->counted++;
        elements->dead += share < DEAD_SHARE;
    }
    if (dead == CONDITION_COUNT) return;
    if (share < DEAD_SHARE)
        holds[dead] = true;
    else if (share < WEAK_SHARE && is_heater(appliance, branch))
        holds[dead + 1] = true;
}

/* Sound branch circuits carry their rating for hours; a quarter above it trips a breaker within minutes
 * (common practice, no source). */
static bool is_overloaded(const CircuitPower *power, const Live *live)
{
    const Appliance *appliance = power->circuit->appliance;
    const double most = OVERLOAD * appliance->description->supply.breaker_ampere;
    if (most <= 0) return false;
    for (int b = 0; b < appliance->branch_count; b++)
        if (appliance->branches[b].leg >= 0 &&
            complex_size(circuit__branch_ampere(live->view, &live->currents, b)) > most)
            return true;
    return false;
}

/* A condition holds if it holds in one function: the owner complains of bake even while broil is well. */
void circuit_conditions(const CircuitPower *power, const int *variants, int count,
                        bool holds[CONDITION_COUNT])
{
    const Appliance *appliance = power->circuit->appliance;
    Elements elements = {0, 0};
    for (int c = CONDITION_COMPUTED; c < CONDITION_COUNT; c++) holds[c] = false;
    for (int f = 0; f < appliance->function_count; f++) {
        Live live;
        turn_on(&power->live[f], variants, count, &live);
        for (int b = 0; b < appliance->branch_count; b++) judge_branch(power, &live, f, b, &elements, holds);
        holds[CONDITION_CONTROL_DEAD] |= live.control == CONTROL_DEAD;
        holds[CONDITION_SENSOR_REFUSED] |= live.control == CONTROL_REFUSES;
        holds[CONDITION_OVERCURRENT] |= is_overloaded(power, &live);
        holds[CONDITION_LIVE_FRAME] |=
            complex_size(circuit__probe_volt(live.view, &live.currents)) > LIVE_FRAME_VOLT;
    }
    holds[CONDITION_ALL_DEAD] = elements.counted > 0 && elements.dead == elements.counted;
}
