/* checks.c: everything a technician can do to learn more, derived from the wiring; see appliance.h.
 *
 * Lives here: the list, where hands must get to, looks. Not here: which readings make sense (checks_ohm.c,
 * checks_live.c), temperatures, displays and questions (checks_oven.c), what a check would show (circuit),
 * which is worth doing (plan), what is allowed (safety).
 * The list is made in two passes of the same code: one that counts, one that fills.
 *
 * Invariants: (1) the list depends on the appliance alone, so a check has the same number on every call;
 * (2) no check needs more than two places open at once; (3) no ohms are asked for on the house's side of the
 * breaker.
 *
 * Bad at: judgement. It lists a few hundred checks, many of which nobody would make; which are worth their
 * minutes is decided elsewhere. */
#include "core/appliance/appliance_private.h"

#include "base/text.h"

#include <assert.h>
#include <math.h>

/* Seconds at the oven itself, once everything is open. Common practice, no source. A voltage takes longer
 * than a resistance: the function is set, hands come out, power goes on.  */
static const double second_of_kind[] = {
    [CHECK_OHM] = 60,    [CHECK_VOLT] = 90,   [CHECK_AMP] = 60,   [CHECK_SIGHT] = 30,
    [CHECK_WATCH] = 30,  [CHECK_GLANCE] = 40, [CHECK_STRIP] = 60, [CHECK_RUN] = 2400,
    [CHECK_SPOT] = 1500, [CHECK_OFFSET] = 30, [CHECK_CODE] = 30,  [CHECK_ASK] = 20};
static const double second_to_heat = 60, second_to_lift = 60, second_to_unplug = 30, second_a_part = 4;

enum { LEAST_GLANCED = 3 }; /* parts: fewer are looked at one by one */

const int *appliance__joints_of(const Lister *lister, int function)
{
    return lister->joints + (size_t)function * (size_t)lister->appliance->mark_count;
}

/* Two places at once is what one pair of hands and a second lead can manage. */
static bool add_place(Check *check, int place)
{
    if (check->places[0] == place || check->places[1] == place) return true;
    if (check->places[0] < 0)
        check->places[0] = place;
    else if (check->places[1] < 0)
        check->places[1] = place;
    else
        return false;
    return true;
}

/* The frame is metal that a probe finds anywhere. */
static bool add_place_of(const Appliance *appliance, Check *check, int mark)
{
    return mark == appliance->frame || add_place(check, appliance->marks[mark].place);
}

/* Everything that hands touch must be within reach at once; false when that is more than two places. */
bool appliance__set_places(const Appliance *appliance, Check *check)
{
    check->places[0] = check->places[1] = -1;
    bool is_within = add_place_of(appliance, check, check->from) && add_place_of(appliance, check, check->to);
    for (int i = 0; i < check->lift_count; i++)
        is_within = is_within && add_place_of(appliance, check, check->lifts[i]);
    return is_within && (check->unplug < 0 || add_place(check, appliance->parts[check->unplug].place));
}

/* In the counting pass there is no array yet, and only the number is wanted. */
void appliance__add_check(Lister *lister, Check check)
{
    check.second = second_of_kind[check.kind] + check.lift_count * second_to_lift +
                   (check.unplug >= 0 ? second_to_unplug : 0);
    assert(check.places[0] >= 0 || check.kind >= CHECK_RUN);
    if (lister->checks) lister->checks[lister->count] = check;
    lister->count++;
}

/* The earth is inside the house; what takes more than two places at once is no check but a project. */
void appliance__add_reading(Lister *lister, CheckKind kind, int part, int from, int to, int function)
{
    Check check = {.kind = kind,
                   .part = part,
                   .from = from,
                   .to = to,
                   .function = function,
                   .power_on = kind != CHECK_OHM,
                   .unplug = -1};
    if (from == APPLIANCE_EARTH || to == APPLIANCE_EARTH || from == to) return;
    if (appliance__set_places(lister->appliance, &check)) appliance__add_check(lister, check);
}

static bool has_look(const Appliance *appliance, const Part *part, LookWay way)
{
    for (int i = 0; i < part->kind->look_count; i++) {
        const LookWord *look = &appliance->catalogue->looks[part->kind->looks[i]];
        if (look->way == way && !look->is_sound) return true;
    }
    return false;
}

/* Does watching the part in this function tell something? Elements are worth a look in every function that
 * powers them; lamps, fans and displays in the first that powers each piece. */
static bool is_worth_watching(const Lister *lister, const Part *part, int function, bool *is_heater)
{
    bool is_worth = false;
    for (int i = part->first_branch; i < part->first_branch + part->branch_count; i++) {
        const Branch *branch = &lister->appliance->branches[i];
        if (!appliance__takes_power(branch) ||
            !appliance__is_powered(lister->appliance, appliance__joints_of(lister, function), i))
            continue;
        *is_heater = *is_heater || branch->type == BRANCH_HEATER;
        is_worth = is_worth || *is_heater || appliance__first_powering(lister, i) == function;
    }
    return is_worth;
}

int appliance_seen_from(const Appliance *appliance, int number)
{
    const Part *part = &appliance->parts[number];
    if (!has_look(appliance, part, LOOK_CLOSE) || appliance_part_has_role(appliance, number, "control"))
        return -1;
    return part->seen_from;
}

/* Whoever has opened a place looks it over before anything is measured there: all its terminals and wires in
 * the time that three of them would take one by one. */
static void add_glances(Lister *lister)
{
    const Appliance *appliance = lister->appliance;
    for (int place = 0; place < appliance->description->place_count; place++) {
        int seen = 0;
        for (int p = 0; p < appliance->part_count; p++) seen += appliance_seen_from(appliance, p) == place;
        if (seen < LEAST_GLANCED) continue;
        appliance__add_check(lister, (Check){.kind = CHECK_GLANCE,
                                             .part = -1,
                                             .from = -1,
                                             .to = -1,
                                             .function = -1,
                                             .unplug = -1,
                                             .places = {place, -1}});
        if (lister->checks) lister->checks[lister->count - 1].second += second_a_part * seen;
    }
}

/* Watching and trying the door are done from where one stands, the first place; looking closely, from where
 * the part is seen. */
static void add_looks(Lister *lister, int number)
{
    const Appliance *appliance = lister->appliance;
    const Part *part = &appliance->parts[number];
    if (has_look(appliance, part, LOOK_CLOSE))
        appliance__add_check(lister, (Check){.kind = CHECK_SIGHT,
                                             .part = number,
                                             .from = -1,
                                             .to = -1,
                                             .unplug = -1,
                                             .places = {part->seen_from, -1}});
    if (has_look(appliance, part, LOOK_STRIP))
        appliance__add_check(
            lister,
            (Check){
                .kind = CHECK_STRIP, .part = number, .from = -1, .to = -1, .unplug = -1, .places = {0, -1}});
    if (!has_look(appliance, part, LOOK_POWER)) return;
    for (int f = 0; f < appliance->function_count; f++) {
        bool is_heater = false;
        if (!is_worth_watching(lister, part, f, &is_heater)) continue;
        appliance__add_check(lister, (Check){.kind = CHECK_WATCH,
                                             .part = number,
                                             .from = -1,
                                             .to = -1,
                                             .unplug = -1,
                                             .function = f,
                                             .power_on = true,
                                             .places = {0, -1}});
        if (is_heater && lister->checks) lister->checks[lister->count - 1].second += second_to_heat;
    }
}

/* The order of the list decides between checks that promise the same, so the supply comes first, as a
 * technician would have it. */
static void list_all(Lister *lister)
{
    const Appliance *appliance = lister->appliance;
    lister->count = 0;
    appliance__list_supply(lister);
    for (int p = 0; p < appliance->part_count; p++) {
        const Part *part = &appliance->parts[p];
        add_looks(lister, p);
        if (!part->kind->is_measured) continue;
        for (int i = part->first_branch; i < part->first_branch + part->branch_count; i++) {
            appliance__list_ohms(lister, i);
            appliance__list_live(lister, i);
        }
        appliance__list_feed(lister, p);
    }
    appliance__list_oven(lister);
    add_glances(lister);
}

bool appliance__add_checks(Builder *builder)
{
    Appliance *appliance = builder->appliance;
    const size_t marks = (size_t)appliance->mark_count, functions = (size_t)appliance->function_count;
    Lister lister = {.appliance = appliance,
                     .parts = builder->parts,
                     .ohm = ARENA_ARRAY(builder->arena, double, marks),
                     .joints = ARENA_ARRAY(builder->arena, int, marks *functions)};
    if (!lister.ohm || !lister.joints) return error_memory(builder->error);
    for (int f = 0; f < appliance->function_count; f++)
        appliance__find_joints(appliance, f, lister.joints + (size_t)f * marks);
    list_all(&lister);
    const int count = lister.count;
    lister.checks = ARENA_ARRAY(builder->arena, Check, (size_t)count);
    if (!lister.checks) return error_memory(builder->error);
    list_all(&lister);
    assert(lister.count == count);
    appliance->checks = lister.checks;
    appliance->check_count = count;
    return true;
}
