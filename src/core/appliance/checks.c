/* checks.c: everything a technician can do to learn more, derived from the wiring; see appliance.h.
 *
 * Lives here: which readings and looks make sense at all, what has to come off first, where hands must get
 * to. Not here: what a check would show (circuit), which is worth doing (plan), what is allowed (safety).
 * The list is made in two passes of the same code: one that counts, one that fills. */
#include "core/appliance/appliance_private.h"

#include "base/text.h"

#include <assert.h>
#include <math.h>

/* Seconds at the oven itself, once everything is open. Common practice, no source. */
static const double second_of_kind[] = {
    [CHECK_OHM] = 60, [CHECK_VOLT] = 90, [CHECK_AMP] = 60, [CHECK_SIGHT] = 30, [CHECK_WATCH] = 60};
static const double second_to_heat = 60, second_to_lift = 60, second_to_unplug = 30;

/* A parallel path matters when it is not far above what is measured: for what has next to no resistance, a
 * path that a meter could take for it; for a load, one that would shift its reading by a twentieth. */
static const double path_like_a_contact_ohm = 5, path_beside_a_load = 20;

enum { MOST_PART_MARKS = 6 };

typedef struct {
    const Appliance *appliance;
    Check *checks; /* NULL while counting */
    int count;
    double *ohm; /* of paths, one for each mark */
    int *joints; /* function_count rows of mark_count */
} Lister;

static const int *joints_of(const Lister *lister, int function)
{
    return lister->joints + (size_t)function * (size_t)lister->appliance->mark_count;
}

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
static bool set_places(const Appliance *appliance, Check *check)
{
    check->places[0] = check->places[1] = -1;
    bool is_within = add_place_of(appliance, check, check->from) && add_place_of(appliance, check, check->to);
    for (int i = 0; i < check->lift_count; i++)
        is_within = is_within && add_place_of(appliance, check, check->lifts[i]);
    return is_within && (check->unplug < 0 || add_place(check, appliance->parts[check->unplug].place));
}

static void add_check(Lister *lister, Check check)
{
    check.second = second_of_kind[check.kind] + check.lift_count * second_to_lift +
                   (check.unplug >= 0 ? second_to_unplug : 0);
    assert(check.places[0] >= 0);
    if (lister->checks) lister->checks[lister->count] = check;
    lister->count++;
}

static void add_reading(Lister *lister, CheckKind kind, int part, int from, int to, int function)
{
    Check check = {.kind = kind,
                   .part = part,
                   .from = from,
                   .to = to,
                   .function = function,
                   .power_on = kind != CHECK_OHM,
                   .unplug = -1};
    if (from == APPLIANCE_EARTH || to == APPLIANCE_EARTH || from == to) return;
    if (set_places(lister->appliance, &check)) add_check(lister, check);
}

/* --- ohms, with the power off --- */

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

static bool is_free(Lister *lister, Check *check, int branch)
{
    return set_places(lister->appliance, check) && !is_blurred(lister, check, branch);
}

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
    if (!set_places(appliance, &check)) return;
    const bool can_free = !appliance_is_wiring(appliance, number) && is_blurred(lister, &check, number);
    if (can_free && !free_by_plug(lister, &check, number) && !free_by_lifts(lister, &check, number))
        set_places(appliance, &check);
    add_check(lister, check);
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

static int first_function_closing(const Appliance *appliance, int branch)
{
    for (int i = 0; i < appliance->function_count; i++)
        if (appliance__function_closes(appliance, i, branch)) return i;
    return -1;
}

static void add_ohms(Lister *lister, int number)
{
    const Appliance *appliance = lister->appliance;
    const Branch *branch = &appliance->branches[number];
    if (!can_fail(appliance, number) || is_on_the_house(appliance, branch)) return;
    add_ohm(lister, number, 0);
    const int function = first_function_closing(appliance, number);
    if (branch->type == BRANCH_CONTACT && branch->driver < 0 && function > 0)
        add_ohm(lister, number, function);
}

/* --- volts and amps, with the power on --- */

static bool takes_power(const Branch *branch) { return branch->rated_watt > 0; }

static int first_function_powering(const Lister *lister, int branch)
{
    for (int i = 0; i < lister->appliance->function_count; i++)
        if (appliance__is_powered(lister->appliance, joints_of(lister, i), branch)) return i;
    return -1;
}

static bool powers_a_heater(const Lister *lister, int function)
{
    for (int i = 0; i < lister->appliance->branch_count; i++)
        if (lister->appliance->branches[i].type == BRANCH_HEATER &&
            appliance__is_powered(lister->appliance, joints_of(lister, function), i))
            return true;
    return false;
}

static void add_live_readings(Lister *lister, int number)
{
    const Appliance *appliance = lister->appliance;
    const Branch *branch = &appliance->branches[number];
    if (takes_power(branch)) {
        const int function = first_function_powering(lister, number);
        if (function < 0) return;
        add_reading(lister, CHECK_VOLT, branch->part, branch->from, branch->to, function);
        if (branch->type == BRANCH_HEATER)
            add_reading(lister, CHECK_AMP, branch->part, branch->from, branch->to, function);
    } else if (branch->type == BRANCH_CONTACT) {
        const int function = first_function_closing(appliance, number);
        if (function > 0) add_reading(lister, CHECK_VOLT, branch->part, branch->from, branch->to, function);
        if (branch->driver >= 0) add_reading(lister, CHECK_VOLT, branch->part, branch->from, branch->to, 0);
    }
}

/* A way of this part that is named like a leg or the neutral of the supply; -1 when there is none. */
static int find_way(const Appliance *appliance, const Part *part, const char *name)
{
    for (int i = part->first_branch; i < part->first_branch + part->branch_count; i++)
        if (text_equal(appliance->branches[i].name, name)) return i;
    return -1;
}

/* Where the supply passes through a part (cord, breaker): volts between its incoming conductors, and, under
 * load, along each conductor, which shows a bad connection. Long leads through the house are not asked for.
 */
static void add_feed_readings(Lister *lister, int number)
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
            add_reading(lister, CHECK_VOLT, number, way->from, way->to, load);
        for (int k = i + 1; k < way_count; k++)
            add_reading(lister, CHECK_VOLT, number, way->from, appliance->branches[ways[k]].from, 0);
    }
}

/* At the terminal block, where the appliance begins: every pair idle, the working pairs under load. */
static void add_supply_readings(Lister *lister)
{
    const Appliance *appliance = lister->appliance;
    const int marks[4] = {appliance->legs[0], appliance->legs[1], appliance->neutral, appliance->frame};
    for (int i = 0; i < 4; i++)
        for (int k = i + 1; k < 4; k++) {
            if (marks[i] < 0 || marks[k] < 0) continue;
            const int owner = appliance->marks[marks[i]].part, part = owner < 0 ? 0 : owner;
            add_reading(lister, CHECK_VOLT, part, marks[i], marks[k], 0);
            for (int f = 1; f < appliance->function_count; f++)
                if (k < 3 && powers_a_heater(lister, f))
                    add_reading(lister, CHECK_VOLT, part, marks[i], marks[k], f);
        }
    const int owner = appliance->marks[appliance->neutral].part;
    add_reading(lister, CHECK_OHM, owner < 0 ? 0 : owner, appliance->neutral, appliance->frame, 0);
}

/* --- looks --- */

static bool has_look(const Appliance *appliance, const Part *part, bool is_power)
{
    for (int i = 0; i < part->kind->look_count; i++) {
        const LookWord *look = &appliance->catalogue->looks[part->kind->looks[i]];
        if (look->is_power == is_power && !look->is_sound) return true;
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
        if (!takes_power(branch) || !appliance__is_powered(lister->appliance, joints_of(lister, function), i))
            continue;
        *is_heater = *is_heater || branch->type == BRANCH_HEATER;
        is_worth = is_worth || *is_heater || first_function_powering(lister, i) == function;
    }
    return is_worth;
}

/* Watching is done from where one stands, the first place; looking closely, from where the part is seen. */
static void add_looks(Lister *lister, int number)
{
    const Appliance *appliance = lister->appliance;
    const Part *part = &appliance->parts[number];
    Check check = {
        .kind = CHECK_SIGHT, .part = number, .from = -1, .to = -1, .unplug = -1, .places = {part->place, -1}};
    if (part->described && part->described->seen)
        check.places[0] = appliance__find_place(appliance->description, part->described->seen);
    if (has_look(appliance, part, false)) add_check(lister, check);
    if (!has_look(appliance, part, true)) return;
    for (int f = 0; f < appliance->function_count; f++) {
        bool is_heater = false;
        if (!is_worth_watching(lister, part, f, &is_heater)) continue;
        add_check(lister, (Check){.kind = CHECK_WATCH,
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

static void list_all(Lister *lister)
{
    const Appliance *appliance = lister->appliance;
    lister->count = 0;
    add_supply_readings(lister);
    for (int p = 0; p < appliance->part_count; p++) {
        const Part *part = &appliance->parts[p];
        add_looks(lister, p);
        if (!part->kind->is_measured) continue;
        for (int i = part->first_branch; i < part->first_branch + part->branch_count; i++) {
            add_ohms(lister, i);
            add_live_readings(lister, i);
        }
        add_feed_readings(lister, p);
    }
}

bool appliance__add_checks(Builder *builder)
{
    Appliance *appliance = builder->appliance;
    const size_t marks = (size_t)appliance->mark_count, functions = (size_t)appliance->function_count;
    Lister lister = {.appliance = appliance,
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
