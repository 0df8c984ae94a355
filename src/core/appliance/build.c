/* build.c: from a description to an appliance, stage by stage; see appliance.h.
 *
 * Lives here: the order of the stages, the errors they share, places and supply. Not here: the stages with
 * rules of their own: plate.c, parts.c, faults.c, functions.c, checks.c.
 *
 * Policy on failure: the first thing that is wrong ends the build with its line; half an appliance is never
 * handed out. What is merely suspicious is built and left to judge.c. */
#include "core/appliance/appliance_private.h"

#include "base/mathematics.h"
#include "base/text.h"

#include <assert.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>

/* The sentence is made before error_set, which takes a format of its own and would read a name with a per
 * cent sign as one. */
bool appliance__refuse(const Builder *builder, ErrorCode code, int line, const char *found,
                       const char *expected, ...)
{
    char sentence[sizeof((Error *)0)->expected];
    va_list arguments;
    va_start(arguments, expected);
    vsnprintf(sentence, sizeof sentence, expected, arguments);
    va_end(arguments);
    error_set(builder->error, code, found, "%s", sentence);
    return error_at(builder->error, builder->description->file, line, 0);
}

/* `after` must name a place further up: so no place can lie behind itself, and whoever walks from the
 * inside out comes to an end. */
static bool check_places(Builder *builder)
{
    const Description *description = builder->description;
    if (description->place_count < 1)
        return appliance__refuse(builder, ERROR_MISSING, 0, "no places",
                                 "at least one place, where one stands");
    if (description->place_count > DESCRIPTION_MOST_PLACES)
        return appliance__refuse(builder, ERROR_TOO_LARGE, description->places[DESCRIPTION_MOST_PLACES].line,
                                 "one place too many", "at most 64 places");
    for (int i = 0; i < description->place_count; i++) {
        const DescribedPlace *place = &description->places[i];
        if (description_find_place(description, place->name) != i)
            return appliance__refuse(builder, ERROR_INCONSISTENT, place->line, place->name,
                                     "each place described once");
        if (place->after && (description_find_place(description, place->after) < 0 ||
                             description_find_place(description, place->after) >= i))
            return appliance__refuse(builder, ERROR_INCONSISTENT, place->line, place->after,
                                     "after: a place that is described above this one");
    }
    return true;
}

/* Rated voltages as each system makes them from the figure on the plate: half a split phase on either side
 * of the neutral; two of three phases 120 degrees apart. */
static void set_leg_voltages(Appliance *appliance, const DescribedSupply *supply)
{
    const double root_of_three = sqrt(3);
    switch (supply->system) {
    case SUPPLY_SPLIT_PHASE:
        appliance->leg_volt[0] = appliance->leg_volt[1] = supply->volt / 2;
        appliance->leg_degree[1] = 180;
        break;
    case SUPPLY_208Y:
        appliance->leg_volt[0] = appliance->leg_volt[1] = supply->volt / root_of_three;
        appliance->leg_degree[1] = -120;
        break;
    default: appliance->leg_volt[0] = supply->volt; break;
    }
}

static bool need_supply_mark(Builder *builder, const char *name, const char *key, int *mark)
{
    const int line = builder->description->supply.line;
    if (!name) return appliance__refuse(builder, ERROR_MISSING, line, "supply", "%s: a mark", key);
    if (appliance_need_mark(builder->appliance, name, mark, builder->error)) return true;
    return error_at(builder->error, builder->description->file, line, 0);
}

/* The supply is found twice: as marks at the terminal block, where the technician meets it, and as ways
 * that start at the mains, where the circuit has its sources. Each leg needs exactly one such way: two
 * would be sources in parallel. */
bool appliance__find_supply(Builder *builder)
{
    Appliance *appliance = builder->appliance;
    const DescribedSupply *supply = &builder->description->supply;
    const int expected_legs = supply->system == SUPPLY_SINGLE_PHASE ? 1 : 2;
    if (supply->leg_count != expected_legs)
        return appliance__refuse(builder, ERROR_INCONSISTENT, supply->line, "supply", "%d leg%s for %s",
                                 expected_legs, expected_legs == 1 ? "" : "s",
                                 description_supply_name(supply->system));
    if (!(supply->volt > 0))
        return appliance__refuse(builder, ERROR_MISSING, supply->line, "supply",
                                 "volts: as on the rating plate");
    appliance->legs[1] = -1;
    for (int i = 0; i < supply->leg_count; i++) {
        if (!need_supply_mark(builder, supply->legs[i], "legs", &appliance->legs[i])) return false;
        int feeding = 0;
        for (int b = 0; b < appliance->branch_count; b++) feeding += appliance->branches[b].leg == i;
        if (feeding != 1)
            return appliance__refuse(builder, ERROR_MISSING, supply->line, supply->legs[i],
                                     "a part of kind supply with a way of this name that starts at mains");
    }
    if (!need_supply_mark(builder, supply->neutral, "neutral", &appliance->neutral)) return false;
    set_leg_voltages(appliance, supply);
    assert(appliance->leg_volt[0] > 0 && isfinite(appliance->leg_volt[0]));
    return true;
}

/* The order is forced: the plate changes what parts are made of, faults need branches, checks need all of
 * it. The description is copied first, since the plate of one call must not change the appliance of the
 * next. */
bool appliance_build(const Description *description, const Catalogue *catalogue, const PlateEntry *plate,
                     int plate_count, Arena *arena, Appliance *appliance, Error *error)
{
    Description *copy = arena_take(arena, sizeof *copy);
    if (!copy) return error_memory(error);
    *copy = *description;
    *appliance = (Appliance){.name = copy->name,
                             .description = copy,
                             .catalogue = catalogue,
                             .control = -1,
                             .control_power = -1,
                             .control_input = -1};
    Builder builder = {.arena = arena, .error = error, .description = copy, .appliance = appliance};
    return check_places(&builder) && appliance__apply_plate(&builder, plate, plate_count) &&
           appliance__add_parts(&builder) && appliance__find_supply(&builder) &&
           appliance__add_faults(&builder) && appliance__add_functions(&builder) &&
           appliance__add_checks(&builder);
}
