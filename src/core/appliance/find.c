/* find.c: things by name, with help for a name that is not there; see appliance.h.
 *
 * Everything is searched from the front: an appliance has some dozens of each, and names are looked up
 * while reading files, not while computing. */
#include "core/appliance/appliance_private.h"

#include "base/text.h"

#include <assert.h>
#include <stdio.h>
#include <string.h>

int appliance_find_mark(const Appliance *appliance, const char *name)
{
    for (int i = 0; i < appliance->mark_count; i++)
        if (text_equal(appliance->marks[i].name, name)) return i;
    return -1;
}

int appliance_find_part(const Appliance *appliance, const char *name)
{
    for (int i = 0; i < appliance->part_count; i++)
        if (text_equal(appliance->parts[i].name, name)) return i;
    return -1;
}

int appliance_find_fault(const Appliance *appliance, const char *name)
{
    for (int i = 0; i < appliance->fault_count; i++)
        if (text_equal(appliance->faults[i].name, name)) return i;
    return -1;
}

int appliance_find_function(const Appliance *appliance, const char *name)
{
    for (int i = 0; i < appliance->function_count; i++)
        if (text_equal(appliance->functions[i].name, name)) return i;
    return -1;
}

/* Lists as many known words as the error has room for, says so when there are more, and proposes the
 * nearest: people mistype far more often than they invent. */
bool appliance__unknown(Error *error, const char *found, const char *what, const char *const *known,
                        int count)
{
    char list[sizeof((Error *)0)->expected - 60] = "";
    size_t length = 0;
    for (int i = 0; i < count && length < sizeof list; i++)
        length += (size_t)snprintf(list + length, sizeof list - length, "%s%s", i ? ", " : "", known[i]);
    const bool is_cut = length >= sizeof list;
    char quoted[sizeof((Error *)0)->found];
    snprintf(quoted, sizeof quoted, "'%s'", found);
    error_set(error, ERROR_UNKNOWN_WORD, quoted, "%s%s%s%s", what, count ? ": " : " (there is none)", list,
              is_cut ? " ..." : "");
    const char *nearest = text_nearest(found, known, (size_t)count);
    return nearest ? error_hint(error, "did you mean '%s'?", nearest) : false;
}

bool appliance_need_mark(const Appliance *appliance, const char *name, int *mark, Error *error)
{
    const char *known[APPLIANCE_MOST_NAMES];
    *mark = appliance_find_mark(appliance, name);
    if (*mark > APPLIANCE_EARTH) return true; /* no probe reaches the earth */
    int count = 0;
    for (int i = APPLIANCE_EARTH + 1; i < appliance->mark_count && count < APPLIANCE_MOST_NAMES; i++)
        known[count++] = appliance->marks[i].name;
    return appliance__unknown(error, name, "a mark of this appliance", known, count);
}

/* Wires are parts too, but far too many to list. */
bool appliance_need_part(const Appliance *appliance, const char *name, int *part, Error *error)
{
    const char *known[APPLIANCE_MOST_NAMES];
    *part = appliance_find_part(appliance, name);
    if (*part >= 0) return true;
    int count = 0;
    for (int i = 0; i < appliance->part_count && count < APPLIANCE_MOST_NAMES; i++)
        if (appliance->parts[i].described) known[count++] = appliance->parts[i].name;
    return appliance__unknown(error, name, "a part of this appliance", known, count);
}

bool appliance_need_function(const Appliance *appliance, const char *name, int *function, Error *error)
{
    const char *known[APPLIANCE_MOST_NAMES];
    *function = appliance_find_function(appliance, name);
    if (*function >= 0) return true;
    int count = 0;
    for (int i = 0; i < appliance->function_count && count < APPLIANCE_MOST_NAMES; i++)
        known[count++] = appliance->functions[i].name;
    return appliance__unknown(error, name, "a function of this appliance", known, count);
}

bool appliance_part_has_role(const Appliance *appliance, int part, const char *role)
{
    assert(part >= 0 && part < appliance->part_count);
    return text_equal(appliance->parts[part].kind->role, role);
}

bool appliance__comes_off(const Part *part)
{
    return text_equal(part->kind->role, "wiring") || text_equal(part->kind->role, "cord");
}

bool appliance_is_wiring(const Appliance *appliance, int branch)
{
    assert(branch >= 0 && branch < appliance->branch_count);
    return appliance__comes_off(&appliance->parts[appliance->branches[branch].part]);
}

Connection appliance_connection(const Check *asked)
{
    static const ReadingKind kinds[] = {
        [CHECK_OHM] = READING_OHM, [CHECK_VOLT] = READING_VOLT, [CHECK_AMP] = READING_AMP};
    assert(asked->kind <= CHECK_AMP);
    Connection connection = {.kind = kinds[asked->kind],
                             .from = asked->from,
                             .to = asked->to,
                             .function = asked->function,
                             .power_on = asked->power_on,
                             .lift_count = asked->lift_count,
                             .unplug_count = asked->unplug >= 0};
    for (int i = 0; i < asked->lift_count; i++) connection.lifts[i] = asked->lifts[i];
    connection.unplugs[0] = asked->unplug;
    return connection;
}

/* A wire has no description of its own, so nothing but what its kind says. */
double appliance_number(const Part *part, const char *name, double otherwise)
{
    for (int i = 0; part->described && i < part->described->number_count; i++)
        if (text_equal(part->described->numbers[i].name, name)) return part->described->numbers[i].value;
    return otherwise;
}
