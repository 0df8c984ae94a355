/* state.c: the appliance in one function with the power on: what is live, closed and energised; and the order
 * of the stages that come before the layout.
 *
 * Live is asked of the circuit and not of the graph alone: a floating wire is joined to a leg by nothing, a
 * neutral under load shows a volt or two, and neither may be drawn as if it could kill; whatever can, must
 * be. */
#include "format/drawing/drawing_private.h"

#include "core/circuit/circuit.h"

#include <assert.h>

/* Above this, a conductor is marked as live; less is what stray coupling and a neutral under load show.
 * Common practice, no source. */
static const double live_volt = 30;
static const double energised_share = 0.2; /* of the rated power */
static const double room_celsius = 20;     /* the drawing does not depend on it */

/* With the power on the control runs, so driven contacts close as the function says. */
static void close_contacts(Sheet *sheet, int number)
{
    const Function *function = &sheet->appliance->functions[number];
    for (int i = 0; i < function->contact_count; i++) sheet->is_closed[function->contacts[i]] = true;
}

/* Which marks a leg reaches through anything that conducts, loads too. A conductor that nothing joins to a
 * leg shows a ghost voltage on a meter, but is not live. */
static bool *find_joined(const Sheet *sheet)
{
    const Appliance *appliance = sheet->appliance;
    bool *is_joined = ARENA_ARRAY(sheet->arena, bool, (size_t)appliance->mark_count), has_grown = true;
    if (!is_joined) return NULL;
    for (int l = 0; l < 2; l++)
        if (appliance->legs[l] >= 0) is_joined[appliance->legs[l]] = true;
    while (has_grown) {
        has_grown = false;
        for (int b = 0; b < appliance->branch_count; b++) {
            const Branch *branch = &appliance->branches[b];
            const bool is_open = branch->type == BRANCH_CONTACT && !sheet->is_closed[b];
            if (branch->type == BRANCH_GAP || is_open || is_joined[branch->from] == is_joined[branch->to])
                continue;
            is_joined[branch->from] = is_joined[branch->to] = has_grown = true;
        }
    }
    return is_joined;
}

/* Both must hold: joined to a leg, and above live_volt against earth. */
static bool find_live(Sheet *sheet, Circuit *circuit, int function, Error *error)
{
    const bool *is_joined = find_joined(sheet);
    if (!is_joined) return error_memory(error);
    for (int m = 0; m < sheet->appliance->mark_count; m++) {
        double volt = 0;
        if (m == APPLIANCE_EARTH) continue;
        if (!circuit_mark_volt(circuit, function, m, &volt, error)) return false;
        sheet->is_live[m] = is_joined[m] && volt > live_volt;
    }
    return true;
}

bool drawing__find_state(Sheet *sheet, int function, Error *error)
{
    const Appliance *appliance = sheet->appliance;
    assert(function >= -1 && function < appliance->function_count);
    sheet->is_live = ARENA_ARRAY(sheet->arena, bool, (size_t)appliance->mark_count);
    sheet->is_closed = ARENA_ARRAY(sheet->arena, bool, (size_t)appliance->branch_count);
    sheet->is_energised = ARENA_ARRAY(sheet->arena, bool, (size_t)appliance->branch_count);
    if (!sheet->is_live || !sheet->is_closed || !sheet->is_energised) return error_memory(error);
    sheet->has_function = function >= 0;
    sheet->function = function;
    if (function < 0) return true;
    Circuit circuit;
    CircuitPower power;
    close_contacts(sheet, function);
    if (!circuit_begin(appliance, room_celsius, sheet->arena, &circuit, error) ||
        !find_live(sheet, &circuit, function, error) || !circuit_power_begin(&circuit, &power, error))
        return false;
    for (int b = 0; b < appliance->branch_count; b++)
        if (drawing__is_load(&appliance->branches[b]))
            sheet->is_energised[b] = circuit_power_share(&power, function, b, NULL, 0) > energised_share;
    return true;
}

/* Without a function nothing is solved: the bare diagram does not need a circuit. */
bool drawing__begin(Sheet *sheet, const Appliance *appliance, int function, Arena *arena, Error *error)
{
    *sheet = (Sheet){.appliance = appliance, .arena = arena};
    return drawing__find_feeds(sheet, error) && drawing__find_rows(sheet, error) &&
           drawing__find_state(sheet, function, error) && drawing__find_labels(sheet, error);
}
