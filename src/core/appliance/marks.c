/* marks.c: whose terminal a mark is, where hands must get to for it, what can be lifted there.
 *
 * A mark belongs to the first part that a technician would say it is a terminal of: not a wire and not the
 * supply, if there is any other.
 *
 * Where a mark can be lifted decides which checks exist; where it lies, how many minutes they take. So both
 * are worked out from the wiring and never asked of the file's author, who would forget one of forty. */
#include "core/appliance/appliance_private.h"

#include "base/text.h"

/* A part names its terminals, or has a branch that ends there; insulation makes no terminal. */
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

/* On the house's side of the terminal block nothing of the cord comes off: that is at the plug, or behind it.
 */
static bool is_of_the_house(const Part *part)
{
    return text_equal(part->kind->role, "supply") || text_equal(part->kind->role, "breaker");
}

/* How good an answer this part is to 'whose terminal is it?': the house's side of it is the worst. */
static int claim(const Part *part)
{
    if (!part->described) return 1; /* a wire's end: a joint, unless something else is there */
    return text_equal(part->kind->role, "wiring") || is_of_the_house(part) ? 2 : 3;
}

/* A wire comes off where wiring meets something that stays: between two wires there is nothing to lift from.
 */
static void settle_mark(Builder *builder, int number)
{
    const Appliance *appliance = builder->appliance;
    Mark *mark = &builder->marks[number];
    int best = 0;
    bool has_wiring = false, has_other = false;
    for (int i = 0; i < appliance->part_count; i++) {
        const Part *part = &appliance->parts[i];
        if (!is_terminal(appliance, part, number)) continue;
        if (appliance__comes_off(part))
            has_wiring = true;
        else if (!is_of_the_house(part))
            has_other = true;
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
        part->place = part->seen_from = from->place < to->place ? from->place : to->place;
    }
}

/* Marks first: a wire's place is that of its ends. */
void appliance__settle_marks(Builder *builder)
{
    for (int i = 0; i < builder->appliance->mark_count; i++) settle_mark(builder, i);
    settle_wires(builder);
}
