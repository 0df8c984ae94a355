/* branches.c: the two-ended pieces of a part between its marks, with their resistances; see appliance.h.
 *
 * What a branch is comes from its kind, how many ohms it has from the part's own figures. Two sets of ohms
 * are kept: cold, as an ohmmeter finds it, and hot, as the mains do.
 *
 * Invariants: (1) a branch joins two different marks; (2) whatever can conduct has more than 0 ohm; (3)
 * branches of one part follow each other, so a part is a range of numbers.
 *
 * Bad at: heaters that change much with temperature. One hot resistance serves for every power; for the
 * wire of sheathed elements that is right to a per cent (the table named in data/parts/kinds.yaml), for a
 * lamp it is not. */
#include "core/appliance/appliance_private.h"

#include "base/text.h"
#include "core/sensor/sensor.h"

#include <assert.h>

/* The one word that is no mark of the diagram: what lies beyond the house's breaker, where the circuit has
 * its sources and its earth. */
static const char *const word_for_the_mains = "mains";

/* Number of the mark, made if need be; the arrays are large enough for every mention. */
int appliance__mark_of(Builder *builder, const char *name)
{
    if (text_equal(name, word_for_the_mains)) return APPLIANCE_EARTH;
    const int known = appliance_find_mark(builder->appliance, name);
    if (known >= 0) return known;
    builder->marks[builder->appliance->mark_count] = (Mark){.name = name, .part = -1};
    return builder->appliance->mark_count++;
}

/* Resistances by rank: the part's own `ohm`; what the kind says; rated volts and watts (ohm = V^2/W is the
 * hot one, since ratings are for an element at work). */
static void set_ohms(const Part *part, const KindBranch *built, Branch *branch)
{
    const double ratio = built->hot_ratio > 0 ? built->hot_ratio : 1;
    const double volt = appliance_number(part, "volts", 0), watt = appliance_number(part, "watts", 0);
    /* A contact or a wire may carry the same properties in a file, yet takes no power of its own. */
    const bool can_rate = branch->type == BRANCH_HEATER || branch->type == BRANCH_LOAD;
    branch->cold_ohm = appliance_number(part, "ohm", built->ohm);
    branch->hot_ohm = branch->cold_ohm * ratio;
    branch->reactance_ohm = appliance_number(part, "reactance", built->reactance_ohm);
    if (can_rate && branch->cold_ohm == 0 && watt > 0) {
        branch->hot_ohm = volt * volt / watt;
        branch->cold_ohm = branch->hot_ohm / ratio;
    }
    if (!can_rate || !(branch->hot_ohm > 0)) return;
    /* With a reactance in series the real power is V^2 R / (R^2 + X^2): a motor's rating is not V^2 / R. */
    const double square = branch->hot_ohm * branch->hot_ohm + branch->reactance_ohm * branch->reactance_ohm;
    branch->rated_volt = volt;
    branch->rated_watt = volt * volt * branch->hot_ohm / square;
}

/* A sensor's ohms at room and at baking temperature; in between, circuit asks the sensor itself. */
static bool set_sensor_ohms(Builder *builder, const Part *part, Branch *branch)
{
    /* 177 celsius is 350 F, the setting that ovens are judged at. Common practice, no source. */
    const double room_celsius = 20, bake_celsius = 177;
    const DescribedPart *described = part->described;
    if (!described || !described->has_sensor)
        return appliance__refuse(builder, ERROR_MISSING, described ? described->line : 0, part->name,
                                 "sensor: which one it is, such as pt1000");
    if (sensor_ohm(&described->sensor, room_celsius, &branch->cold_ohm, builder->error) &&
        sensor_ohm(&described->sensor, bake_celsius, &branch->hot_ohm, builder->error))
        return true;
    return error_at(builder->error, builder->description->file, described->line, 0);
}

/* Nothing conducts without resistance: a branch of 0 ohm would be an infinite admittance. */
static bool check_ohms(Builder *builder, const Part *part, Branch *branch)
{
    if (branch->type == BRANCH_SENSOR) return set_sensor_ohms(builder, part, branch);
    if (branch->type == BRANCH_GAP || branch->cold_ohm > 0) return true;
    return appliance__refuse(builder, ERROR_MISSING, part->described ? part->described->line : 0, part->name,
                             "watts and volts as rated, or ohm, of its %s", branch->name);
}

/* A branch from a mark to itself is a slip of the pen, and would vanish from the circuit without a word. */
bool appliance__add_branch(Builder *builder, const Part *part, const KindBranch *built, const char *name,
                           int from, int to)
{
    if (from == to)
        return appliance__refuse(builder, ERROR_INCONSISTENT, part->described ? part->described->line : 0,
                                 builder->marks[from].name, "two different marks for the %s of %s", name,
                                 part->name);
    Branch *branch = &builder->branches[builder->appliance->branch_count++];
    *branch = (Branch){.name = name,
                       .part = (int)(part - builder->parts),
                       .from = from,
                       .to = to,
                       .type = built->type,
                       .tolerance = built->tolerance,
                       .driver = -1,
                       .leg = -1};
    assert(from >= 0 && to >= 0);
    set_ohms(part, built, branch);
    if (text_equal(part->kind->role, "control") && text_equal(name, "input"))
        branch->rated_volt = branch->rated_watt = 0; /* the sensor's input is never on the mains */
    return check_ohms(builder, part, branch);
}

/* Which leg of the mains a way of the supply brings; -1 when it is none. */
static int leg_of(const Builder *builder, const Part *part, const DescribedWay *way)
{
    const DescribedSupply *supply = &builder->description->supply;
    if (!text_equal(part->kind->role, "supply") || !text_equal(way->from, word_for_the_mains)) return -1;
    for (int i = 0; i < supply->leg_count; i++)
        if (text_equal(supply->legs[i], way->name)) return i;
    return -1;
}

/* Selectors, cords and plugs: any number of like pieces, named by the appliance and built as the kind says.
 * Names must differ, or no fault and no function could mean one of them. */
bool appliance__add_ways(Builder *builder, Part *part)
{
    const DescribedPart *described = part->described;
    if (described->way_count < 1 || described->terminal_count)
        return appliance__refuse(builder, ERROR_MISSING, described->line, part->name,
                                 "ways: {name: [mark, mark], ...}, since it is a %s", part->kind->name);
    for (int i = 0; i < described->way_count; i++) {
        const DescribedWay *way = &described->ways[i];
        if (text_equal(way->from, way->to))
            return appliance__refuse(builder, ERROR_INCONSISTENT, way->line, way->from,
                                     "two different marks");
        for (int k = 0; k < i; k++)
            if (text_equal(way->name, described->ways[k].name))
                return appliance__refuse(builder, ERROR_INCONSISTENT, way->line, way->name,
                                         "each way named once");
        /* One after the other: marks are numbered as they are met, and the order in which a compiler
         * evaluates arguments is its own. */
        const int from = appliance__mark_of(builder, way->from), to = appliance__mark_of(builder, way->to);
        if (!appliance__add_branch(builder, part, &part->kind->way, way->name, from, to)) return false;
        builder->branches[builder->appliance->branch_count - 1].leg = leg_of(builder, part, way);
    }
    return true;
}

/* Insulation of a part ends at the frame, which the kind cannot know by name. */
static int terminal(Builder *builder, const DescribedPart *described, int number)
{
    if (number == KIND_FRAME) return appliance__mark_of(builder, builder->description->supply.frame);
    assert(number >= 0 && number < described->terminal_count);
    return appliance__mark_of(builder, described->terminals[number]);
}

/* Elements, relays, sensors: the kind counts the terminals, the appliance names them in that order. */
bool appliance__add_fixed_branches(Builder *builder, Part *part)
{
    const DescribedPart *described = part->described;
    const PartKind *kind = part->kind;
    if (described->terminal_count != kind->terminal_count || described->way_count)
        return appliance__refuse(builder, ERROR_INCONSISTENT, described->line, part->name,
                                 kind->terminal_count ? "terminals: %d marks, since it is a %s"
                                                      : "%d terminals, since it is a %s",
                                 kind->terminal_count, kind->name);
    for (int i = 0; i < described->terminal_count; i++) {
        for (int k = 0; k < i; k++)
            if (text_equal(described->terminals[i], described->terminals[k]))
                return appliance__refuse(builder, ERROR_INCONSISTENT, described->line,
                                         described->terminals[i], "a mark of its own for each terminal");
        appliance__mark_of(builder, described->terminals[i]); /* even one that no branch of the kind uses */
    }
    for (int i = 0; i < kind->branch_count; i++) {
        const KindBranch *built = &kind->branches[i];
        if (built->from >= kind->terminal_count || built->to >= kind->terminal_count)
            return appliance__refuse(builder, ERROR_INCONSISTENT, described->line, kind->name,
                                     "a kind whose branches lie between its %d terminals",
                                     kind->terminal_count);
        const int from = terminal(builder, described, built->from),
                  to = terminal(builder, described, built->to);
        if (!appliance__add_branch(builder, part, built, built->name, from, to)) return false;
    }
    return true;
}
