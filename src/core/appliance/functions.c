/* functions.c: settings of the knob and the contacts that each closes; see appliance.h. 'off' is always
 * there and always first.
 *
 * A contact is named by its part where that has one only, else by part.way; a short name that would fit two
 * contacts fits none, so a switch chart cannot mean the wrong one without an error. */
#include "core/appliance/appliance_private.h"

#include "base/text.h"

#include <assert.h>
#include <string.h>

/* Is `name` how a function would call this branch? */
static bool is_called(const Appliance *appliance, const Branch *branch, const char *name)
{
    const char *part = appliance->parts[branch->part].name;
    const size_t length = strlen(part);
    return strncmp(name, part, length) == 0 && name[length] == '.' &&
           text_equal(name + length + 1, branch->name);
}

int appliance_find_contact(const Appliance *appliance, const char *name)
{
    int only = -1, count = 0;
    for (int i = 0; i < appliance->branch_count; i++) {
        const Branch *branch = &appliance->branches[i];
        if (branch->type != BRANCH_CONTACT) continue;
        if (is_called(appliance, branch, name)) return i;
        if (!text_equal(appliance->parts[branch->part].name, name)) continue;
        only = i;
        count++;
    }
    return count == 1 ? only : -1;
}

bool appliance_closes(const Appliance *appliance, const Function *function, int part)
{
    for (int c = 0; c < function->contact_count; c++)
        if (appliance->branches[function->contacts[c]].part == part) return true;
    return false;
}

int appliance_find_effect(const Appliance *appliance, int number, EffectType effect)
{
    const Part *part = &appliance->parts[number];
    for (int f = part->first_fault; f < part->first_fault + part->fault_count; f++)
        if (appliance->faults[f].mode->effect == effect) return f;
    return -1;
}

/* The list proposes each contact by the shortest name that means it alone. */
static bool refuse_contact(Builder *builder, const DescribedFunction *described, const char *name)
{
    const Appliance *appliance = builder->appliance;
    const char *known[APPLIANCE_MOST_NAMES];
    int count = 0;
    for (int i = 0; i < appliance->branch_count && count < APPLIANCE_MOST_NAMES; i++) {
        const Branch *branch = &appliance->branches[i];
        if (branch->type != BRANCH_CONTACT) continue;
        const Part *part = &appliance->parts[branch->part];
        known[count++] = part->name;
        if (appliance_find_contact(appliance, part->name) == i) continue;
        TextBuilder full = text_builder(builder->arena, 200);
        text_addf(&full, "%s.%s", part->name, branch->name);
        known[count - 1] = text_string(&full);
    }
    appliance__unknown(builder->error, name, "a contact", known, count);
    return error_at(builder->error, builder->description->file, described->line, 0);
}

/* Contacts of a duty pattern are looked up only to see that they exist: what it does is the oven's affair. */
static bool check_pattern(Builder *builder, const DescribedFunction *described,
                          const DescribedPattern *pattern)
{
    for (int i = 0; i < pattern->duty_count; i++)
        if (appliance_find_contact(builder->appliance, pattern->duties[i].contact) < 0)
            return refuse_contact(builder, described, pattern->duties[i].contact);
    return true;
}

static bool add_function(Builder *builder, const DescribedFunction *described, Function *function)
{
    int *contacts = ARENA_ARRAY(builder->arena, int, (size_t)described->close_count);
    if (!contacts) return error_memory(builder->error);
    *function = (Function){.name = described->name,
                           .says = described->says ? described->says : described->name,
                           .contacts = contacts,
                           .contact_count = described->close_count};
    for (int i = 0; i < described->close_count; i++) {
        contacts[i] = appliance_find_contact(builder->appliance, described->closes[i]);
        if (contacts[i] < 0) return refuse_contact(builder, described, described->closes[i]);
    }
    return check_pattern(builder, described, &described->pattern) &&
           check_pattern(builder, described, &described->preheat);
}

/* A file may describe 'off' itself, for contacts that are closed at rest; it keeps its place in front. */
bool appliance__add_functions(Builder *builder)
{
    Appliance *appliance = builder->appliance;
    const Description *description = builder->description;
    builder->functions = ARENA_ARRAY(builder->arena, Function, (size_t)description->function_count + 1);
    if (!builder->functions) return error_memory(builder->error);
    appliance->functions = builder->functions;
    builder->functions[0] = (Function){.name = "off", .says = "off"};
    appliance->function_count = 1;
    for (int i = 0; i < description->function_count; i++) {
        const DescribedFunction *described = &description->functions[i];
        const bool is_off = text_equal(described->name, "off");
        if (!is_off && appliance_find_function(appliance, described->name) >= 0)
            return appliance__refuse(builder, ERROR_INCONSISTENT, described->line, described->name,
                                     "each function described once");
        Function *function = &builder->functions[is_off ? 0 : appliance->function_count++];
        if (!add_function(builder, described, function)) return false;
    }
    assert(appliance->function_count <= description->function_count + 1);
    return true;
}
