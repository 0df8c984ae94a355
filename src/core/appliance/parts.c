/* parts.c: parts and the wires between them, and how they name one another; see appliance.h.
 *
 * Not here: what a part is made of (branches.c), to whom its marks belong (marks.c).
 *
 * Invariants: (1) described parts stand in the order of the file, wires behind them; (2) every name is
 * there once; (3) arrays are taken once, large enough for every mention of a mark, and never grow. */
#include "core/appliance/appliance_private.h"

#include "base/text.h"

#include <assert.h>

/* An unknown kind counts as having no branches here; it is refused a moment later, with its line. */
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

/* A figure that the kind has no use for is refused rather than ignored: `watt` for `watts` would leave an
 * element without a rating. */
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
    *place = name ? description_find_place(builder->description, name) : 0;
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
    part->seen_from = part->place;
    if (described->seen && !find_reach(builder, described, described->seen, &part->seen_from)) return false;
    if (!check_properties(builder, part)) return false;
    if (part->kind->has_ways ? !appliance__add_ways(builder, part)
                             : !appliance__add_fixed_branches(builder, part))
        return false;
    part->branch_count = appliance->branch_count - part->first_branch;
    return true;
}

/* A wire has no entry among the parts, yet it can burn off like any of them: it becomes a part with a name
 * made of its two ends. */
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
    const int from = appliance__mark_of(builder, wire->from), to = appliance__mark_of(builder, wire->to);
    return appliance__add_branch(builder, part, &part->kind->branches[0], part->kind->branches[0].name, from,
                                 to);
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

/* The first control counts; a second one would have to say which contacts are its own. */
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
    appliance__settle_marks(builder);
    find_control(appliance);
    appliance->frame = appliance_find_mark(appliance, description->supply.frame);
    if (appliance->frame >= 0) return true;
    return appliance__refuse(builder, ERROR_INCONSISTENT, description->supply.line, description->supply.frame,
                             "frame: a mark of some part");
}
