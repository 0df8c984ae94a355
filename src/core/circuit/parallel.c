/* parallel.c: paths around the part that is meant to be measured.
 *
 * An ohmmeter across an element that is still wired to others reads them too. We ask the circuit: with what
 * lies between the two marks broken, would the meter still read something? If so, which part carries most of
 * that current, and would taking a wire off one of the marks, or opening a plug there, stop it?
 *
 * Bad at: two paths. It asks for one wire or one plug; where only both ends together would free the part,
 * it warns and names no remedy (the list of checks, core/appliance/checks_ohm.c, tries pairs). */
#include <assert.h>
#include <math.h>

#include "core/circuit/view_private.h"

/* More than this is no path that would hide anything: an ohmmeter's last range and up. */
static const double NO_PATH_OHM = 40e6; /* common practice, no source */

/* Insulation between the marks stays: a meter that sees only that shows OL. */
static bool joins(const Branch *branch, const Connection *connection)
{
    return branch->type != BRANCH_GAP &&
           ((branch->from == connection->from && branch->to == connection->to) ||
            (branch->from == connection->to && branch->to == connection->from));
}

/* What is opened for the connection, and what lies between its marks besides; false when nothing does. */
static bool open_between(const Appliance *appliance, const Connection *connection, Opened *opened)
{
    bool is_across = false;
    if (!circuit__opened(appliance, connection, opened)) return false;
    for (int b = 0; b < appliance->branch_count; b++) {
        if (!joins(&appliance->branches[b], connection) || circuit__is_opened(opened, b)) continue;
        if (!circuit__open(opened, b)) return false;
        is_across = true;
    }
    return is_across;
}

/* One ampere through the probes then flows around the part alone. */
static const CircuitView *view_around(Circuit *circuit, const Connection *connection)
{
    Opened opened;
    if (!open_between(circuit->appliance, connection, &opened)) return NULL;
    const CircuitNetwork *network = circuit__network(circuit, connection->function, MODE_DEAD, &opened);
    return circuit__view(circuit, network, connection->from, connection->to);
}

static bool has_path(Circuit *circuit, const Connection *connection, double *ohm)
{
    const CircuitView *view = view_around(circuit, connection);
    if (!view) return false;
    *ohm = view->probe_self.re;
    return *ohm < NO_PATH_OHM;
}

/* The part, no wire, in which the current around the marks makes the most heat: the one to name. */
static int find_around(const CircuitView *view, const Appliance *appliance)
{
    int part = -1;
    double most = 0;
    for (int b = 0; b < appliance->branch_count; b++) {
        const double share = complex_square(view->towards[b]) * view->network->admittance[b].re;
        if (share <= most || appliance_is_wiring(appliance, b)) continue;
        most = share;
        part = appliance->branches[b].part;
    }
    return part;
}

/* Only at the two marks themselves: the hands are there already, and a wire further off leaves what hangs
 * between. */
static void find_lift(Circuit *circuit, const Connection *connection, CircuitParallel *parallel)
{
    const int ends[2] = {connection->from, connection->to};
    double ohm = 0;
    for (int i = 0; i < 2 && parallel->lift < 0; i++) {
        if (!circuit->appliance->marks[ends[i]].can_lift || connection->lift_count >= CONNECTION_MOST_LIFTS)
            continue;
        Connection with = *connection;
        with.lifts[with.lift_count++] = ends[i];
        if (!has_path(circuit, &with, &ohm)) parallel->lift = ends[i];
    }
}

/* Any plug that helps will do; the first in the file is as good as another. */
static void find_unplug(Circuit *circuit, const Connection *connection, CircuitParallel *parallel)
{
    const Appliance *appliance = circuit->appliance;
    double ohm = 0;
    for (int p = 0; p < appliance->part_count && parallel->unplug < 0; p++) {
        if (!appliance_part_has_role(appliance, p, "plug") ||
            connection->unplug_count >= CONNECTION_MOST_LIFTS)
            continue;
        Connection with = *connection;
        with.unplugs[with.unplug_count++] = p;
        if (!has_path(circuit, &with, &ohm)) parallel->unplug = p;
    }
}

/* With the power on nothing is hidden in this sense: volts are shared by what is in parallel. */
bool circuit_find_parallel(Circuit *circuit, const Connection *connection, CircuitParallel *parallel,
                           Error *error)
{
    *parallel = (CircuitParallel){.around = -1, .lift = -1, .unplug = -1};
    if (connection->kind != READING_OHM || connection->power_on) return true;
    Opened opened;
    if (!open_between(circuit->appliance, connection, &opened)) return true;
    const CircuitView *view = view_around(circuit, connection);
    if (!view) return error_memory(error);
    parallel->hidden_ohm = view->probe_self.re;
    if (parallel->hidden_ohm >= NO_PATH_OHM) return true;
    parallel->is_hidden = true;
    parallel->around = find_around(view, circuit->appliance);
    find_lift(circuit, connection, parallel);
    if (parallel->lift < 0) find_unplug(circuit, connection, parallel);
    return true;
}
