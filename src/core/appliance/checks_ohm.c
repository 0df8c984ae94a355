/* checks_ohm.c: resistance checks, with the power off, and what has to come off first; see checks.c.
 *
 * The idea: an ohm reading belongs to one branch if nothing else joins its two marks. So for each branch
 * that can fail we ask the wiring whether something does, and take off as little as helps: nothing, else a
 * plug that opens without a tool, else one wire, else two.
 *
 * Bad at: what three lifted wires would show, and paths through electronics, which are taken for plain
 * resistors. */
#include "core/appliance/appliance_private.h"

#include <math.h>

/* A parallel path matters when it is not far above what is measured: for what has next to no resistance, a
 * path that a meter could take for it; for a load, one that would shift its reading by a twentieth. Common
 * practice, no source. */
static const double path_like_a_contact_ohm = 5, path_beside_a_load = 20;

/* No more marks of one part are tried: an element has two, a selector more than anyone would lift. */
enum { MOST_PART_MARKS = 6 };

/* Would the reading of this branch be taken for that of something beside it? */
static bool is_blurred(Lister *lister, const Check *check, int number)
{
    const Appliance *appliance = lister->appliance;
    const Branch *branch = &appliance->branches[number];
    Wiring wiring = {.function = check->function,
                     .without = number,
                     .lift_count = check->lift_count,
                     .unplug = check->unplug};
    for (int i = 0; i < check->lift_count; i++) wiring.lifts[i] = check->lifts[i];
    appliance__find_paths(appliance, &wiring, branch->from, lister->ohm);
    if (branch->type == BRANCH_LINK || branch->type == BRANCH_CONTACT)
        return lister->ohm[branch->to] < path_like_a_contact_ohm;
    if (branch->type != BRANCH_GAP) return lister->ohm[branch->to] < path_beside_a_load * branch->cold_ohm;
    if (isfinite(lister->ohm[branch->to])) return true;
    for (int i = 0; i < appliance->branch_count; i++) { /* would leakage of another part show here too? */
        const Branch *other = &appliance->branches[i];
        const bool is_elsewhere = other->type == BRANCH_GAP && other->part != branch->part;
        if (is_elsewhere && isfinite(lister->ohm[other->from])) return true;
    }
    return false;
}

/* Places are set anew for each trial: a wire that comes off somewhere else has to be reached too. */
static bool is_free(Lister *lister, Check *check, int branch)
{
    return appliance__set_places(lister->appliance, check) && !is_blurred(lister, check, branch);
}

/* Each mark once, in the order of the part's branches, so that terminal 1 is tried before terminal 2. */
static int list_liftable(const Appliance *appliance, const Part *part, int *marks)
{
    int count = 0;
    for (int i = part->first_branch; i < part->first_branch + part->branch_count; i++)
        for (int end = 0; end < 2; end++) {
            const int mark = end ? appliance->branches[i].to : appliance->branches[i].from;
            bool is_new = appliance->marks[mark].can_lift && count < MOST_PART_MARKS;
            for (int k = 0; k < count; k++) is_new = is_new && marks[k] != mark;
            if (is_new) marks[count++] = mark;
        }
    return count;
}

static bool touches(const Appliance *appliance, int part, int other)
{
    const Part *a = &appliance->parts[part], *b = &appliance->parts[other];
    for (int i = a->first_branch; i < a->first_branch + a->branch_count; i++)
        for (int k = b->first_branch; k < b->first_branch + b->branch_count; k++) {
            const Branch *one = &appliance->branches[i], *two = &appliance->branches[k];
            if (one->from == two->from || one->from == two->to || one->to == two->from || one->to == two->to)
                return true;
        }
    return false;
}

/* Only a plug on one of the part's own marks: opening one further off would leave the path beside it. */
static bool free_by_plug(Lister *lister, Check *check, int branch)
{
    for (int i = 0; i < lister->appliance->part_count; i++) {
        if (!appliance_part_has_role(lister->appliance, i, "plug") || i == check->part) continue;
        if (!touches(lister->appliance, check->part, i)) continue;
        check->unplug = i;
        if (is_free(lister, check, branch)) return true;
    }
    check->unplug = -1;
    return false;
}

/* Pairs are tried after all single marks, so one wire off is never proposed as two. */
static bool free_by_lifts(Lister *lister, Check *check, int branch)
{
    int marks[MOST_PART_MARKS];
    const int count = list_liftable(lister->appliance, &lister->appliance->parts[check->part], marks);
    check->lift_count = 1;
    for (int i = 0; i < count; i++) {
        check->lifts[0] = marks[i];
        if (is_free(lister, check, branch)) return true;
    }
    check->lift_count = 2;
    for (int i = 0; i < count; i++)
        for (int k = i + 1; k < count; k++) {
            check->lifts[0] = marks[i];
            check->lifts[1] = marks[k];
            if (is_free(lister, check, branch)) return true;
        }
    check->lift_count = 0;
    return false;
}

/* Ohms across one branch, with as little taken off as makes the reading its own. Where nothing helps, the
 * plain reading still says something. Lifting would take a wire itself out of its reading. */
static void add_ohm(Lister *lister, int number, int function)
{
    const Appliance *appliance = lister->appliance;
    const Branch *branch = &appliance->branches[number];
    Check check = {.kind = CHECK_OHM,
                   .part = branch->part,
                   .from = branch->from,
                   .to = branch->to,
                   .function = function,
                   .unplug = -1};
    if (check.from == APPLIANCE_EARTH || check.to == APPLIANCE_EARTH) return;
    if (!appliance__set_places(appliance, &check)) return;
    const bool can_free = !appliance_is_wiring(appliance, number) && is_blurred(lister, &check, number);
    if (can_free && !free_by_plug(lister, &check, number) && !free_by_lifts(lister, &check, number))
        appliance__set_places(appliance, &check);
    appliance__add_check(lister, check);
}

/* Can any fault of its own part change what a meter sees of this branch? */
static bool can_fail(const Appliance *appliance, int number)
{
    const Part *part = &appliance->parts[appliance->branches[number].part];
    for (int f = part->first_fault; f < part->first_fault + part->fault_count; f++)
        for (int i = 0; i < appliance->faults[f].branch_count; i++)
            if (appliance->faults[f].branches[i] == number) return true;
    return false;
}

/* The mains stay live on the house's side whatever the technician switches off: no ohms there. */
static bool is_on_the_house(const Appliance *appliance, const Branch *branch)
{
    for (int i = 0; i < appliance->branch_count; i++) {
        const Branch *fed = &appliance->branches[i];
        if (fed->leg < 0) continue;
        const int outlet = fed->from == APPLIANCE_EARTH ? fed->to : fed->from;
        if (branch->from == outlet || branch->to == outlet) return true;
    }
    return false;
}

int appliance__first_closing(const Appliance *appliance, int branch)
{
    for (int i = 0; i < appliance->function_count; i++)
        if (appliance__function_closes(appliance, i, branch)) return i;
    return -1;
}

/* A contact that a hand closes is read open and closed; one that a control closes only open, since there is
 * no control without power. */
void appliance__list_ohms(Lister *lister, int number)
{
    const Appliance *appliance = lister->appliance;
    const Branch *branch = &appliance->branches[number];
    if (!can_fail(appliance, number) || is_on_the_house(appliance, branch)) return;
    add_ohm(lister, number, 0);
    const int function = appliance__first_closing(appliance, number);
    if (branch->type == BRANCH_CONTACT && branch->driver < 0 && function > 0)
        add_ohm(lister, number, function);
}

/* --- the insulation of all that hangs together --- */

/* Where the cord's neutral meets the terminal block: taken off there, the house joins nothing to the frame
 * any more. -1: it does not come off. */
static int find_incoming_neutral(const Appliance *appliance)
{
    const int neutral = appliance->neutral, owner = appliance->marks[neutral].part;
    for (int b = 0; owner >= 0 && b < appliance->branch_count; b++) {
        const Branch *branch = &appliance->branches[b];
        if (branch->part != owner || (branch->from != neutral && branch->to != neutral)) continue;
        const int other = branch->from == neutral ? branch->to : branch->from;
        if (branch->type == BRANCH_LINK && appliance->marks[other].can_lift) return other;
    }
    return -1;
}

/* Notes for each part whose insulation a reading between this mark and the frame is the first to reach, which
 * check that is: the one that comes next. Whether there is any. */
static bool reaches_more(Lister *lister, const Wiring *wiring, int mark)
{
    const Appliance *appliance = lister->appliance;
    bool is_any = false;
    appliance__find_paths(appliance, wiring, mark, lister->ohm);
    for (int b = 0; b < appliance->branch_count; b++) {
        const Branch *gap = &appliance->branches[b];
        Part *part = &lister->parts[gap->part];
        const bool is_to_frame = gap->from == appliance->frame || gap->to == appliance->frame;
        if (gap->type != BRANCH_GAP || !is_to_frame || part->insulation_check >= 0) continue;
        if (!isfinite(lister->ohm[gap->from == appliance->frame ? gap->to : gap->from])) continue;
        part->insulation_check = lister->count;
        is_any = true;
    }
    return is_any;
}

/* One reading from the terminal block to the frame, with the house's neutral off: EN 50678:2020 has the whole
 * appliance measured after a repair, switches closed (from memory). The neutral reaches most, a leg what a
 * function joins to it. What has no way of its own to the frame takes the first reading: whoever fitted a
 * thermostat has had hands among the wires of the elements. */
void appliance__list_insulation(Lister *lister)
{
    const int first = lister->count;
    const Appliance *appliance = lister->appliance;
    const int marks[3] = {appliance->neutral, appliance->legs[0], appliance->legs[1]};
    const int lift = find_incoming_neutral(appliance);
    for (int p = 0; p < appliance->part_count; p++) lister->parts[p].insulation_check = -1;
    if (lift < 0) return;
    for (int i = 0; i < 3 && marks[i] >= 0; i++)
        for (int f = 0; f < appliance->function_count; f++) {
            const Wiring wiring = {
                .function = f, .without = -1, .unplug = -1, .lifts = {lift}, .lift_count = 1};
            Check check = {.kind = CHECK_OHM,
                           .part = appliance->marks[marks[i]].part,
                           .from = marks[i],
                           .to = appliance->frame,
                           .function = f,
                           .lifts = {lift},
                           .lift_count = 1,
                           .unplug = -1};
            if (check.part >= 0 && appliance__set_places(appliance, &check) &&
                reaches_more(lister, &wiring, marks[i]))
                appliance__add_check(lister, check);
        }
    for (int p = 0; p < appliance->part_count && lister->count > first; p++)
        if (lister->parts[p].insulation_check < 0) lister->parts[p].insulation_check = first;
}
