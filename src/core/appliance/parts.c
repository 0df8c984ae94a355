/* parts.c: parts, their marks and branches, and the wires between them; see appliance.h.
 *
 * A mark comes to be where it is first mentioned. It belongs to the first part that a technician would say
 * it is a terminal of: not a wire and not the supply, if there is any other. */
#include "core/appliance/appliance_private.h"

#include "base/text.h"
#include "core/sensor/sensor.h"

#include <assert.h>
#include <stdio.h>
#include <string.h>

static const char *const word_for_the_mains = "mains";

/* Number of the mark, made if need be; the arrays are large enough for every mention. */
static int mark_of(Builder *builder, const char *name)
{
    if (text_equal(name, word_for_the_mains)) return APPLIANCE_EARTH;
    const int known = appliance_find_mark(builder->appliance, name);
    if (known >= 0) return known;
    builder->marks[builder->appliance->mark_count] = (Mark){.name = name, .part = -1};
    return builder->appliance->mark_count++;
}

static bool take_arrays(Builder *builder)
{
    const Description *description = builder->description;
    size_t marks = 1 + 2 * (size_t)description->wire_count;
    size_t branches = (size_t)description->wire_count;
    for (int i = 0; i < description->part_count; i++) {
        const DescribedPart *part = &description->parts[i];
        const int kind = kind_find(builder->appliance->catalogue, part->kind);
        marks += (size_t)part->terminal_count + 2 * (size_t)part->way_count;
        branches += (size_t)part->way_count +
                    (kind < 0 ? 0 : (size_t)builder->appliance->catalogue->kinds[kind].branch_count);
    }
    builder->marks = ARENA_ARRAY(builder->arena, Mark, marks);
    builder->branches = ARENA_ARRAY(builder->arena, Branch, branches);
    builder->parts =
        ARENA_ARRAY(builder->arena, Part, (size_t)(description->part_count + description->wire_count));
    if (!builder->marks || !builder->branches || !builder->parts) return error_memory(builder->error);
    builder->appliance->marks = builder->marks;
    builder->appliance->branches = builder->branches;
    builder->appliance->parts = builder->parts;
    builder->marks[APPLIANCE_EARTH] = (Mark){.name = "earth", .part = -1};
    builder->appliance->mark_count = 1;
    return true;
}

/* Resistances by rank: the part's own `ohm`; what the kind says; rated volts and watts (ohm = V^2/W is the
 * hot one, since ratings are for an element at work). */
static void set_ohms(const Part *part, const KindBranch *built, Branch *branch)
{
    const double ratio = built->hot_ratio > 0 ? built->hot_ratio : 1;
    const double volt = appliance_number(part, "volts", 0), watt = appliance_number(part, "watts", 0);
    const bool can_rate = branch->type == BRANCH_HEATER || branch->type == BRANCH_LOAD;
    branch->cold_ohm = appliance_number(part, "ohm", built->ohm);
    branch->hot_ohm = branch->cold_ohm * ratio;
    branch->reactance_ohm = appliance_number(part, "reactance", built->reactance_ohm);
    if (can_rate && branch->cold_ohm == 0 && watt > 0) {
        branch->hot_ohm = volt * volt / watt;
        branch->cold_ohm = branch->hot_ohm / ratio;
    }
    if (!can_rate || !(branch->hot_ohm > 0)) return;
    const double square = branch->hot_ohm * branch->hot_ohm + branch->reactance_ohm * branch->reactance_ohm;
    branch->rated_volt = volt;
    branch->rated_watt = volt * volt * branch->hot_ohm / square;
}

/* A sensor's ohms at room and at baking temperature; in between, circuit asks the sensor itself. */
static bool set_sensor_ohms(Builder *builder, const Part *part, Branch *branch)
{
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

static bool check_ohms(Builder *builder, const Part *part, Branch *branch)
{
    if (branch->type == BRANCH_SENSOR) return set_sensor_ohms(builder, part, branch);
    if (branch->type == BRANCH_GAP || branch->cold_ohm > 0) return true;
    return appliance__refuse(builder, ERROR_MISSING, part->described ? part->described->line : 0, part->name,
                             "watts and volts as rated, or ohm, of its %s", branch->name);
}

static bool add_branch(Builder *builder, const Part *part, const KindBranch *built, const char *name,
                       int from, int to)
{
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

static bool add_ways(Builder *builder, Part *part)
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
        if (!add_branch(builder, part, &part->kind->way, way->name, mark_of(builder, way->from),
                        mark_of(builder, way->to)))
            return false;
        builder->branches[builder->appliance->branch_count - 1].leg = leg_of(builder, part, way);
    }
    return true;
}

static int terminal(Builder *builder, const DescribedPart *described, int number)
{
    if (number == KIND_FRAME) return mark_of(builder, builder->description->supply.frame);
    assert(number >= 0 && number < described->terminal_count);
    return mark_of(builder, described->terminals[number]);
}

static bool add_fixed_branches(Builder *builder, Part *part)
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
        mark_of(builder, described->terminals[i]); /* even one that no branch of the kind uses */
    }
    for (int i = 0; i < kind->branch_count; i++) {
        const KindBranch *built = &kind->branches[i];
        if (built->from >= kind->terminal_count || built->to >= kind->terminal_count)
            return appliance__refuse(builder, ERROR_INCONSISTENT, described->line, kind->name,
                                     "a kind whose branches lie between its %d terminals",
                                     kind->terminal_count);
        if (!add_branch(builder, part, built, built->name, terminal(builder, described, built->from),
                        terminal(builder, described, built->to)))
            return false;
    }
    return true;
}

static bool check_properties(Builder *builder, const Part *part)
{
    for (int i = 0; i < part->described->number_count; i++) {
        const DescribedNumber *number = &part->described->numbers[i];
        int at = 0;
        while (at < part->kind->property_count && !text_equal(part->kind->properties[at], number->name)) at++;
        if (at < part->kind->property_count) continue;
        appliance__unknown(builder->error, number->name, "a property of this kind of part",
                           part->kind->properties, part->kind->property_count);
        return error_at(builder->error, builder->description->file, number->line, 0);
    }
    return true;
}

static bool find_kind(Builder *builder, const DescribedPart *described, const PartKind **kind)
{
    const char *known[APPLIANCE_MOST_NAMES];
    const int found = kind_find(builder->appliance->catalogue, described->kind);
    if (found >= 0) {
        *kind = &builder->appliance->catalogue->kinds[found];
        return true;
    }
    int count = 0;
    while (count < builder->appliance->catalogue->kind_count && count < APPLIANCE_MOST_NAMES) {
        known[count] = builder->appliance->catalogue->kinds[count].name;
        count++;
    }
    appliance__unknown(builder->error, described->kind, "a kind of part", known, count);
    return error_at(builder->error, builder->description->file, described->line, 0);
}

static bool find_reach(Builder *builder, const DescribedPart *described, const char *name, int *place)
{
    const char *known[APPLIANCE_MOST_NAMES];
    *place = appliance__find_place(builder->description, name);
    if (*place >= 0) return true;
    int count = 0;
    while (count < builder->description->place_count && count < APPLIANCE_MOST_NAMES) {
        known[count] = builder->description->places[count].name;
        count++;
    }
    appliance__unknown(builder->error, name, "a place", known, count);
    return error_at(builder->error, builder->description->file, described->line, 0);
}

static bool add_part(Builder *builder, const DescribedPart *described)
{
    Appliance *appliance = builder->appliance;
    Part *part = &builder->parts[appliance->part_count];
    if (appliance_find_part(appliance, described->name) >= 0)
        return appliance__refuse(builder, ERROR_INCONSISTENT, described->line, described->name,
                                 "each part described once");
    *part = (Part){.name = described->name,
                   .says = described->says,
                   .described = described,
                   .first_branch = appliance->branch_count,
                   .replaced_with = appliance->part_count};
    if (!find_kind(builder, described, &part->kind)) return false;
    if (!part->says) part->says = part->kind->says;
    appliance->part_count++;
    if (!find_reach(builder, described, described->reach, &part->place)) return false;
    int seen;
    if (described->seen && !find_reach(builder, described, described->seen, &seen)) return false;
    if (!check_properties(builder, part)) return false;
    if (part->kind->has_ways ? !add_ways(builder, part) : !add_fixed_branches(builder, part)) return false;
    part->branch_count = appliance->branch_count - part->first_branch;
    return true;
}

static bool add_wire(Builder *builder, const DescribedWire *wire)
{
    Appliance *appliance = builder->appliance;
    const int kind = kind_find(builder->appliance->catalogue, "wire");
    if (kind < 0 || builder->appliance->catalogue->kinds[kind].branch_count != 1)
        return appliance__refuse(builder, ERROR_MISSING, wire->line, "wires",
                                 "a kind 'wire' of one branch in the catalogue of kinds");
    if (text_equal(wire->from, wire->to))
        return appliance__refuse(builder, ERROR_INCONSISTENT, wire->line, wire->from, "two different marks");
    TextBuilder name = text_builder(builder->arena, 200);
    text_addf(&name, "wire-%s-%s", wire->from, wire->to);
    if (!name.bytes) return error_memory(builder->error);
    if (appliance_find_part(appliance, text_string(&name)) >= 0)
        return appliance__refuse(builder, ERROR_INCONSISTENT, wire->line, text_string(&name),
                                 "each wire once");
    Part *part = &builder->parts[appliance->part_count];
    *part = (Part){.name = text_string(&name),
                   .kind = &builder->appliance->catalogue->kinds[kind],
                   .branch_count = 1,
                   .first_branch = appliance->branch_count,
                   .replaced_with = appliance->part_count++};
    part->says = part->kind->says;
    const int from = mark_of(builder, wire->from), to = mark_of(builder, wire->to);
    return add_branch(builder, part, &part->kind->branches[0], part->kind->branches[0].name, from, to);
}

/* What parts say of one another by name: who drives a contact, what is bought instead. */
static bool tie_part(Builder *builder, Part *part)
{
    Appliance *appliance = builder->appliance;
    const DescribedPart *described = part->described;
    const char *wrong = NULL;
    int driver = -1;
    if (described->driver && (driver = appliance_find_part(appliance, described->driver)) < 0)
        wrong = described->driver;
    if (described->replaced_with &&
        (part->replaced_with = appliance_find_part(appliance, described->replaced_with)) < 0)
        wrong = described->replaced_with;
    if (wrong) {
        int unused;
        if (appliance_need_part(appliance, wrong, &unused, builder->error)) return true;
        return error_at(builder->error, builder->description->file, described->line, 0);
    }
    if (driver >= 0 && !appliance_part_has_role(appliance, driver, "control"))
        return appliance__refuse(builder, ERROR_INCONSISTENT, described->line, described->driver,
                                 "driver: a part that is a control");
    for (int i = part->first_branch; i < part->first_branch + part->branch_count; i++)
        if (builder->branches[i].type == BRANCH_CONTACT) builder->branches[i].driver = driver;
    return true;
}

static bool is_terminal(const Appliance *appliance, const Part *part, int mark)
{
    for (int i = 0; part->described && i < part->described->terminal_count; i++)
        if (text_equal(part->described->terminals[i], appliance->marks[mark].name)) return true;
    for (int i = part->first_branch; i < part->first_branch + part->branch_count; i++) {
        const Branch *branch = &appliance->branches[i];
        if ((branch->from == mark || branch->to == mark) && branch->type != BRANCH_GAP) return true;
    }
    return false;
}

/* How good an answer this part is to 'whose terminal is it?': the house's side of it is the worst. */
static int claim(const Part *part)
{
    static const char *const weak[] = {"wiring", "supply", "breaker"};
    if (!part->described) return 1; /* a wire's end: a joint, unless something else is there */
    for (size_t i = 0; i < sizeof weak / sizeof weak[0]; i++)
        if (text_equal(part->kind->role, weak[i])) return 2;
    return 3;
}

static void settle_mark(Builder *builder, int number)
{
    const Appliance *appliance = builder->appliance;
    Mark *mark = &builder->marks[number];
    int best = 0;
    bool has_wiring = false, has_other = false;
    for (int i = 0; i < appliance->part_count; i++) {
        const Part *part = &appliance->parts[i];
        if (!is_terminal(appliance, part, number)) continue;
        *(text_equal(part->kind->role, "wiring") ? &has_wiring : &has_other) = true;
        if (claim(part) <= best) continue;
        best = claim(part);
        mark->part = part->described ? i : -1;
        mark->place = part->place;
    }
    mark->can_lift = has_wiring && has_other && number != APPLIANCE_EARTH;
    if (number == APPLIANCE_EARTH) mark->part = -1;
}

/* A wire is looked at from the nearer of its ends (places are described from the outside in); a joint between
 * wires is where the nearest part is. */
static void settle_wires(Builder *builder)
{
    const Appliance *appliance = builder->appliance;
    for (int i = 0; i < appliance->part_count; i++) {
        Part *part = &builder->parts[i];
        if (part->described) continue;
        Mark *from = &builder->marks[appliance->branches[part->first_branch].from];
        Mark *to = &builder->marks[appliance->branches[part->first_branch].to];
        if (from->part < 0 && to->part >= 0) from->place = to->place;
        if (to->part < 0 && from->part >= 0) to->place = from->place;
        part->place = from->place < to->place ? from->place : to->place;
    }
}

static void find_control(Appliance *appliance)
{
    for (int i = 0; i < appliance->part_count && appliance->control < 0; i++)
        if (appliance_part_has_role(appliance, i, "control")) appliance->control = i;
    if (appliance->control < 0) return;
    const Part *control = &appliance->parts[appliance->control];
    for (int i = control->first_branch; i < control->first_branch + control->branch_count; i++) {
        if (text_equal(appliance->branches[i].name, "power")) appliance->control_power = i;
        if (text_equal(appliance->branches[i].name, "input")) appliance->control_input = i;
    }
}

bool appliance__add_parts(Builder *builder)
{
    Appliance *appliance = builder->appliance;
    const Description *description = builder->description;
    if (!take_arrays(builder)) return false;
    if (!description->supply.frame)
        return appliance__refuse(builder, ERROR_MISSING, description->supply.line, "supply", "frame: a mark");
    for (int i = 0; i < description->part_count; i++)
        if (!add_part(builder, &description->parts[i])) return false;
    for (int i = 0; i < description->wire_count; i++)
        if (!add_wire(builder, &description->wires[i])) return false;
    for (int i = 0; i < description->part_count; i++)
        if (!tie_part(builder, &builder->parts[i])) return false;
    for (int i = 0; i < appliance->mark_count; i++) settle_mark(builder, i);
    settle_wires(builder);
    find_control(appliance);
    appliance->frame = appliance_find_mark(appliance, description->supply.frame);
    if (appliance->frame >= 0) return true;
    return appliance__refuse(builder, ERROR_INCONSISTENT, description->supply.line, description->supply.frame,
                             "frame: a mark of some part");
}
