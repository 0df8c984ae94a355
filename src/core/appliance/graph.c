/* graph.c: who is joined to whom, with nothing broken; the questions that need no solved circuit.
 *
 * Lives here: conduction, best paths in ohms, joints of next to no resistance. Not here: readings (circuit),
 * which is why nothing here knows of currents.
 *
 * Joints lump everything that next to no resistance joins; paths add up ohms along the best single way.
 * Both are cheap stand-ins for solving the circuit, good enough to ask 'can this get power?' and 'is
 * something beside it?'.
 *
 * Bad at: currents that split. The best single path is an upper bound of what a meter would find between
 * two marks, never less. */
#include "core/appliance/appliance_private.h"

#include <assert.h>
#include <math.h>

bool appliance__function_closes(const Appliance *appliance, int function, int branch)
{
    assert(function >= 0 && function < appliance->function_count);
    for (int i = 0; i < appliance->functions[function].contact_count; i++)
        if (appliance->functions[function].contacts[i] == branch) return true;
    return false;
}

/* Wiring hangs free at a lifted mark; everything else stays where it is. */
static bool is_lifted(const Appliance *appliance, const Wiring *wiring, int branch)
{
    if (!appliance_is_wiring(appliance, branch)) return false;
    for (int i = 0; i < wiring->lift_count; i++) {
        const int mark = wiring->lifts[i];
        if (appliance->branches[branch].from == mark || appliance->branches[branch].to == mark) return true;
    }
    return false;
}

/* The legs of the mains count as no conductor: through the house every mark would be joined to every other.
 */
bool appliance__conducts(const Appliance *appliance, const Wiring *wiring, int number)
{
    const Branch *branch = &appliance->branches[number];
    if (number == wiring->without || branch->part == wiring->unplug || branch->leg >= 0) return false;
    if (!wiring->power_on && appliance_part_has_role(appliance, branch->part, "breaker")) return false;
    if (branch->type == BRANCH_GAP || is_lifted(appliance, wiring, number)) return false;
    if (branch->type != BRANCH_CONTACT) return true;
    return appliance__function_closes(appliance, wiring->function, number) &&
           (branch->driver < 0 || wiring->power_on);
}

/* Every conducting branch has ohms (branches.c, invariant 2); 1 is a defence and no case. */
static double ohm_of(const Branch *branch) { return branch->cold_ohm > 0 ? branch->cold_ohm : 1; }

/* Relaxes until nothing improves: a few dozen marks, a few rounds. */
void appliance__find_paths(const Appliance *appliance, const Wiring *wiring, int from, double *ohm)
{
    assert(from >= 0 && from < appliance->mark_count);
    for (int i = 0; i < appliance->mark_count; i++) ohm[i] = INFINITY;
    ohm[from] = 0;
    bool has_changed = true;
    while (has_changed) {
        has_changed = false;
        for (int i = 0; i < appliance->branch_count; i++) {
            const Branch *branch = &appliance->branches[i];
            if (!appliance__conducts(appliance, wiring, i)) continue;
            const double there = ohm[branch->from] + ohm_of(branch), back = ohm[branch->to] + ohm_of(branch);
            if (there < ohm[branch->to]) ohm[branch->to] = there, has_changed = true;
            if (back < ohm[branch->from]) ohm[branch->from] = back, has_changed = true;
        }
    }
}

/* Smaller numbers win, so the earth's joint is always 0 and the answer does not depend on the order of
 * branches. */
void appliance__find_joints(const Appliance *appliance, int function, int *joint)
{
    const Wiring wiring = {.function = function, .power_on = true, .without = -1, .unplug = -1};
    for (int i = 0; i < appliance->mark_count; i++) joint[i] = i;
    bool has_changed = true;
    while (has_changed) {
        has_changed = false;
        for (int i = 0; i < appliance->branch_count; i++) {
            const Branch *branch = &appliance->branches[i];
            const bool is_short = branch->type == BRANCH_LINK || branch->type == BRANCH_CONTACT;
            if (!is_short || !appliance__conducts(appliance, &wiring, i)) continue;
            int *from = &joint[branch->from], *to = &joint[branch->to];
            if (*from == *to) continue;
            *(*from < *to ? to : from) = *from < *to ? *from : *to;
            has_changed = true;
        }
    }
}

int appliance__leg_joint(const Appliance *appliance, const int *joint, int leg)
{
    for (int i = 0; i < appliance->branch_count; i++) {
        const Branch *branch = &appliance->branches[i];
        if (branch->leg == leg) return joint[branch->from == APPLIANCE_EARTH ? branch->to : branch->from];
    }
    return -1;
}

/* Neutral and frame are both at the earth here: a load from a leg to either has power. */
bool appliance__is_powered(const Appliance *appliance, const int *joint, int number)
{
    const Branch *branch = &appliance->branches[number];
    const int from = joint[branch->from], to = joint[branch->to];
    const int first = appliance__leg_joint(appliance, joint, 0),
              second = appliance__leg_joint(appliance, joint, 1);
    const bool from_live = from == first || from == second, to_live = to == first || to == second;
    const bool from_earth = from == joint[APPLIANCE_EARTH], to_earth = to == joint[APPLIANCE_EARTH];
    return from != to && (from_live || from_earth) && (to_live || to_earth);
}
