/* checks_live.c: voltage and current checks, with the power on; see checks.c.
 *
 * Not here: whether it is safe to do them (safety), or worth it (plan).
 *
 * What is listed: the volts across whatever takes power, in the first function that gives it any; the volts
 * lost on the way to it; the current of elements, and of all of them at the supply; the volts across
 * contacts, closed (a burnt one shows some) and, if something drives them, open (a welded one shows none);
 * the supply.
 *
 * Bad at: intermittent faults. Everything is read once, standing still. */
#include "core/appliance/appliance_private.h"

#include "base/text.h"

#include <math.h>

bool appliance__takes_power(const Branch *branch) { return branch->rated_watt > 0; }

int appliance__first_powering(const Lister *lister, int branch)
{
    for (int i = 0; i < lister->appliance->function_count; i++)
        if (appliance__is_powered(lister->appliance, appliance__joints_of(lister, i), branch)) return i;
    return -1;
}

/* A supply is read under load, since a burnt terminal shows nothing without current: any heater is load
 * enough. */
static bool powers_a_heater(const Lister *lister, int function)
{
    for (int i = 0; i < lister->appliance->branch_count; i++)
        if (lister->appliance->branches[i].type == BRANCH_HEATER &&
            appliance__is_powered(lister->appliance, appliance__joints_of(lister, function), i))
            return true;
    return false;
}

/* From where the appliance begins to one end of a load, along everything that lies between: next to no volts
 * when all of it conducts. One such reading clears a whole chain of wires and contacts. */
static void list_drop(Lister *lister, const Branch *load, int end, int function)
{
    const Appliance *appliance = lister->appliance;
    const int *joint = appliance__joints_of(lister, function);
    const int feeds[3] = {appliance->legs[0], appliance->legs[1], appliance->neutral};
    for (int i = 0; i < 3; i++)
        if (feeds[i] >= 0 && feeds[i] != end && joint[feeds[i]] == joint[end])
            appliance__add_reading(lister, CHECK_VOLT, load->part, feeds[i], end, function);
}

/* Function 0 is 'off': a contact that it closes shows nothing new, a driven one should show the whole
 * supply then. */
void appliance__list_live(Lister *lister, int number)
{
    const Appliance *appliance = lister->appliance;
    const Branch *branch = &appliance->branches[number];
    if (appliance__takes_power(branch)) {
        const int function = appliance__first_powering(lister, number);
        if (function < 0) return;
        appliance__add_reading(lister, CHECK_VOLT, branch->part, branch->from, branch->to, function);
        list_drop(lister, branch, branch->from, function);
        list_drop(lister, branch, branch->to, function);
        if (branch->type == BRANCH_HEATER)
            appliance__add_reading(lister, CHECK_AMP, branch->part, branch->from, branch->to, function);
    } else if (branch->type == BRANCH_CONTACT) {
        const int function = appliance__first_closing(appliance, number);
        if (function > 0)
            appliance__add_reading(lister, CHECK_VOLT, branch->part, branch->from, branch->to, function);
        if (branch->driver >= 0)
            appliance__add_reading(lister, CHECK_VOLT, branch->part, branch->from, branch->to, 0);
    }
}

/* A way of this part that is named like a leg or the neutral of the supply; -1 when there is none. By name,
 * since ways of cord and breaker carry no other sign of what they bring. */
static int find_way(const Appliance *appliance, const Part *part, const char *name)
{
    for (int i = part->first_branch; i < part->first_branch + part->branch_count; i++)
        if (text_equal(appliance->branches[i].name, name)) return i;
    return -1;
}

/* A clamp around the first leg, in each function that heats: what all its elements take together, and so
 * whether any of them, or anything on the way to it, is too high in resistance. At the breaker, and where the
 * appliance begins; one end of what a clamp goes around will do. */
static void list_feed_amps(Lister *lister, int number, const Branch *way)
{
    const Appliance *appliance = lister->appliance;
    if (way->to != appliance->legs[0] && !appliance_part_has_role(appliance, number, "breaker")) return;
    for (int f = 1; f < appliance->function_count; f++)
        if (powers_a_heater(lister, f))
            appliance__add_check(lister, (Check){.kind = CHECK_AMP,
                                                 .part = number,
                                                 .from = way->from,
                                                 .to = way->to,
                                                 .function = f,
                                                 .power_on = true,
                                                 .unplug = -1,
                                                 .places = {appliance->marks[way->from].place, -1}});
}

/* Where the supply passes through a part (cord, breaker): volts between its incoming conductors, and, under
 * load, along each conductor, which shows a bad connection. Long leads through the house are not asked for.
 */
void appliance__list_feed(Lister *lister, int number)
{
    const Appliance *appliance = lister->appliance;
    const DescribedSupply *supply = &appliance->description->supply;
    const Part *part = &appliance->parts[number];
    const char *names[3] = {supply->legs[0], supply->leg_count > 1 ? supply->legs[1] : NULL, supply->neutral};
    int ways[3], way_count = 0, load = 1;
    for (int i = 0; i < 3; i++) {
        const int way = names[i] ? find_way(appliance, part, names[i]) : -1;
        if (way >= 0) ways[way_count++] = way;
    }
    while (load < appliance->function_count && !powers_a_heater(lister, load)) load++;
    for (int i = 0; i < way_count; i++) {
        const Branch *way = &appliance->branches[ways[i]];
        const bool is_near = appliance->marks[way->from].place == appliance->marks[way->to].place;
        if (is_near && load < appliance->function_count)
            appliance__add_reading(lister, CHECK_VOLT, number, way->from, way->to, load);
        if (i == 0) list_feed_amps(lister, number, way);
        for (int k = i + 1; k < way_count; k++)
            appliance__add_reading(lister, CHECK_VOLT, number, way->from, appliance->branches[ways[k]].from,
                                   0);
    }
}

/* Everything that a function switches on, as one resistance and without power: a weak element, a burnt
 * contact or a wire in a function that no run tries. Only where hands close all of the way: what a control
 * closes is open without power. */
static void list_function_ohms(Lister *lister, int part, int from, int to)
{
    for (int f = 1; f < lister->appliance->function_count; f++) {
        const Wiring wiring = {.function = f, .without = -1, .unplug = -1};
        appliance__find_paths(lister->appliance, &wiring, from, lister->ohm);
        if (isfinite(lister->ohm[to]) && powers_a_heater(lister, f))
            appliance__add_reading(lister, CHECK_OHM, part, from, to, f);
    }
}

/* At the terminal block, where the appliance begins: every pair idle, the working pairs under load. */
void appliance__list_supply(Lister *lister)
{
    const Appliance *appliance = lister->appliance;
    const int marks[4] = {appliance->legs[0], appliance->legs[1], appliance->neutral, appliance->frame};
    for (int i = 0; i < 4; i++)
        for (int k = i + 1; k < 4; k++) {
            if (marks[i] < 0 || marks[k] < 0) continue;
            const int owner = appliance->marks[marks[i]].part, part = owner < 0 ? 0 : owner;
            appliance__add_reading(lister, CHECK_VOLT, part, marks[i], marks[k], 0);
            for (int f = 1; f < appliance->function_count; f++)
                if (k < 3 && powers_a_heater(lister, f))
                    appliance__add_reading(lister, CHECK_VOLT, part, marks[i], marks[k], f);
            if (k < 3) list_function_ohms(lister, part, marks[i], marks[k]);
        }
    const int owner = appliance->marks[appliance->neutral].part;
    appliance__add_reading(lister, CHECK_OHM, owner < 0 ? 0 : owner, appliance->neutral, appliance->frame, 0);
    appliance__list_insulation(lister);
}
