/* circuit.c: the whole fault dictionary of the largest appliance: what every reading on the list of checks
 * would show with every single fault at every severity.
 *
 * Ours: all of it, with every network solved afresh within the time. Theirs: ngspice, as its library in this
 * process, which is the fastest way to use it: one circuit for each check, changed by 'alter' for each fault
 * and run. It takes too long for all, so a sample of circuits is timed, the loading of the circuits left out.
 */
#include "measure.h"
#include "netlist.h"
#include "spice.h"

#include "base/random.h"
#include "edge/desk/desk.h"

#include <stdio.h>
#include <stdlib.h>

enum { ROUNDS = 20, SAMPLED_CHECKS = 60, FAULTS_EACH = 10 };

static bool is_reading(const Check *check) { return check->from >= 0; }

/* Seconds for the whole dictionary; the number of readings in it. */
static double time_ours(const Appliance *appliance, long *readings, int *solves)
{
    Arena arena = arena_new((size_t)256 << 20);
    Circuit circuit;
    Error error;
    const double start = now();
    demand(circuit_begin(appliance, 22, &arena, &circuit, &error), &error);
    double *values = ARENA_ARRAY(&arena, double, (size_t)circuit.variant_count);
    *readings = 0;
    for (int c = 0; c < appliance->check_count; c++) {
        if (!is_reading(&appliance->checks[c])) continue;
        const Connection connection = appliance_connection(&appliance->checks[c]);
        CircuitMeter meter;
        demand(circuit_connect(&circuit, &connection, &meter, &error), &error);
        circuit_read_all(&meter, values);
        *readings += circuit.variant_count;
    }
    const double seconds = now() - start;
    *solves = circuit.solves;
    arena_free(&arena);
    return seconds;
}

/* Resistors only, so that any of them can be altered. */
static void write_circuit(const Setting *setting, const Connection *connection)
{
    const Appliance *appliance = setting->appliance;
    spice_begin_circuit();
    for (int b = 0; b < appliance->branch_count; b++) {
        const Branch *branch = &appliance->branches[b];
        const BranchState state = netlist_state(setting, b);
        const bool has_source = branch->leg >= 0 && setting->power_on;
        if (has_source)
            spice_line("v%d s%d %d ac %g %g", b, b, branch->from, appliance->leg_volt[branch->leg],
                       appliance->leg_degree[branch->leg]);
        spice_line("r%d %s%d %d %.17g", b, has_source ? "s" : "", has_source ? b : branch->from, branch->to,
                   state.is_open ? 1 / CIRCUIT_GAP_SIEMENS : state.ohm);
    }
    for (int m = 1; m < appliance->mark_count; m++) spice_line("rleak%d %d 0 1e11", m, m);
    if (connection->kind == READING_OHM) spice_line("iprobe %d %d dc 1", connection->to, connection->from);
    if (connection->kind == READING_VOLT) spice_line("rmeter %d %d 1e7", connection->from, connection->to);
    spice_load_circuit();
}

static Setting setting_of(const Appliance *appliance, const Connection *connection)
{
    Setting setting = {.appliance = appliance,
                       .ambient_celsius = 22,
                       .function = connection->function,
                       .power_on = connection->power_on,
                       .control_runs = connection->power_on,
                       .lift_count = connection->lift_count,
                       .unplug_count = connection->unplug_count};
    for (int i = 0; i < connection->lift_count; i++) setting.lifts[i] = connection->lifts[i];
    for (int i = 0; i < connection->unplug_count; i++) setting.unplugs[i] = connection->unplugs[i];
    return setting;
}

/* One reading with one fault: what it changes is altered, the circuit run, and the change taken back. */
static void read_by_spice(const Setting *sound, int fault)
{
    const Appliance *appliance = sound->appliance;
    Setting faulted = *sound;
    faulted.faults[faulted.fault_count++] = (Variant){fault, 0};
    for (int pass = 0; pass < 2; pass++) {
        for (int i = 0; i < appliance->faults[fault].branch_count; i++) {
            const int branch = appliance->faults[fault].branches[i];
            const BranchState state = netlist_state(pass == 0 ? &faulted : sound, branch);
            spice_command("alter r%d = %.17g", branch, state.is_open ? 1 / CIRCUIT_GAP_SIEMENS : state.ohm);
        }
        if (pass == 1) break;
        if (sound->power_on)
            spice_run_mains(netlist_hertz(appliance));
        else
            spice_run_direct();
    }
}

/* Seconds a reading. */
static double time_theirs(const Appliance *appliance, int *sampled)
{
    RandomStream stream = random_stream(1);
    double seconds = 0;
    *sampled = 0;
    for (int n = 0; n < SAMPLED_CHECKS;) {
        const Check *check = &appliance->checks[random_below(&stream, (uint32_t)appliance->check_count)];
        if (!is_reading(check)) continue;
        n++;
        const Connection connection = appliance_connection(check);
        const Setting setting = setting_of(appliance, &connection);
        write_circuit(&setting, &connection);
        const double start = now();
        for (int i = 0; i < FAULTS_EACH; i++)
            read_by_spice(&setting, (int)random_below(&stream, (uint32_t)appliance->fault_count));
        seconds += now() - start;
        *sampled += FAULTS_EACH;
    }
    return seconds / *sampled;
}

int main(void)
{
    Arena arena = arena_new((size_t)16 << 20);
    Appliance appliance;
    Error error;
    demand(desk_load_appliance("wall-oven-convection", NULL, 0, &arena, &appliance, &error), &error);
    long readings = 0;
    int solves = 0, sampled = 0;
    double ours = INFINITY, sum = 0;
    for (int i = 0; i < ROUNDS; i++) {
        const double seconds = time_ours(&appliance, &readings, &solves);
        ours = fmin(ours, seconds);
        sum += seconds;
    }
    const double theirs = time_theirs(&appliance, &sampled);
    printf("%s: %d marks, %d branches, %ld readings in the dictionary, %d networks solved\n", appliance.name,
           appliance.mark_count, appliance.branch_count, readings, solves);
    printf("ours      %8.2f ms for all (best of %d; mean %.2f), %.3f us a reading\n", ours * 1e3, ROUNDS,
           sum / ROUNDS * 1e3, ours / (double)readings * 1e6);
    printf("libngspice %7.3f ms a reading (alter and run, in process; %d readings sampled)\n", theirs * 1e3,
           sampled);
    printf("ratio %.0f (wanted: 1000)\n", theirs * (double)readings / ours);
    arena_free(&arena);
    return 0;
}
