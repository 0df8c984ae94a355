/* plate.c: what was read on the rating plate takes the place of what the file says; see appliance.h.
 *
 * A key is 'supply' or the `plate` of a part. The figure replaces the part's property of that unit, or its
 * sensor. Only copies in the arena are changed.
 *
 * Why at all: one description serves a whole family of ovens, and the plate says which of them this one is.
 * An element keeps the resistance of its own rating on any supply: 2500 W at 240 V gives 1878 W on 208 V,
 * and nobody has to say so. */
#include "core/appliance/appliance_private.h"

#include "base/text.h"

#include <assert.h>
#include <string.h>

/* Between two of the three phases of a 208Y/120 service there are 208 V, on a split phase 240 V; a plate or
 * a meter that says less than this is on the former. Halfway between the two, rounded down. */
static const double least_split_phase_volt = 219;

/* A plate stands in the call's file, so the file's name is left to whoever read that one. */
static bool refuse_entry(Builder *builder, const PlateEntry *entry, const char *expected)
{
    error_set(builder->error, ERROR_WRONG_KIND, entry->key, "on the plate %s", expected);
    return error_at(builder->error, NULL, entry->line, 0);
}

/* Single-phase appliances keep their system whatever the voltage: 220, 230 and 240 V are one thing there. */
static bool apply_supply(Builder *builder, const PlateEntry *entry)
{
    DescribedSupply *supply = &builder->description->supply;
    if (entry->figure.unit != UNIT_VOLT || !(entry->figure.value > 0))
        return refuse_entry(builder, entry, "a voltage such as 240V");
    supply->volt = entry->figure.value;
    if (supply->system == SUPPLY_SPLIT_PHASE && supply->volt < least_split_phase_volt)
        supply->system = SUPPLY_208Y;
    else if (supply->system == SUPPLY_208Y && supply->volt >= least_split_phase_volt)
        supply->system = SUPPLY_SPLIT_PHASE;
    return true;
}

/* The unit says which property is meant, so a plate needs no words of its own. */
static const char *property_of(Unit unit)
{
    switch (unit) {
    case UNIT_WATT: return "watts";
    case UNIT_VOLT: return "volts";
    case UNIT_OHM: return "ohm";
    default: return NULL;
    }
}

/* Sets the number in a fresh copy of the part's numbers. */
static bool set_number(Builder *builder, DescribedPart *part, const char *name, const PlateEntry *entry)
{
    DescribedNumber *numbers = ARENA_ARRAY(builder->arena, DescribedNumber, (size_t)part->number_count + 1);
    if (!numbers) return error_memory(builder->error);
    if (part->number_count) memcpy(numbers, part->numbers, (size_t)part->number_count * sizeof *numbers);
    int at = 0;
    while (at < part->number_count && !text_equal(numbers[at].name, name)) at++;
    numbers[at] = (DescribedNumber){name, entry->figure.value, entry->line};
    if (at == part->number_count) part->number_count++;
    part->numbers = numbers;
    return true;
}

static bool apply_to_part(Builder *builder, DescribedPart *part, const PlateEntry *entry)
{
    if (entry->has_sensor) {
        if (!part->has_sensor) return refuse_entry(builder, entry, "a figure such as 2500W, not a sensor");
        part->sensor = entry->sensor;
        return true;
    }
    const char *name = property_of(entry->figure.unit);
    if (!name || part->has_sensor || !(entry->figure.value > 0))
        return refuse_entry(builder, entry,
                            part->has_sensor ? "a sensor such as pt1000"
                                             : "a power such as 2500W, a voltage or a resistance");
    return set_number(builder, part, name, entry);
}

static bool refuse_key(Builder *builder, const PlateEntry *entry)
{
    const char *known[APPLIANCE_MOST_NAMES] = {"supply"};
    int count = 1;
    for (int i = 0; i < builder->description->part_count && count < APPLIANCE_MOST_NAMES; i++)
        if (builder->description->parts[i].plate) known[count++] = builder->description->parts[i].plate;
    appliance__unknown(builder->error, entry->key, "a key of the rating plate", known, count);
    return error_at(builder->error, NULL, entry->line, 0);
}

/* Two parts may share a key (two like elements); the figure then goes to both. A key that nothing has is an
 * error: a plate figure that changes nothing would be believed to have been used. */
bool appliance__apply_plate(Builder *builder, const PlateEntry *plate, int plate_count)
{
    const int part_count = builder->description->part_count;
    assert(part_count >= 0 && plate_count >= 0);
    DescribedPart *parts = ARENA_ARRAY(builder->arena, DescribedPart, (size_t)part_count);
    if (!parts) return error_memory(builder->error);
    if (part_count) memcpy(parts, builder->description->parts, (size_t)part_count * sizeof *parts);
    builder->description->parts = parts;
    for (int i = 0; i < plate_count; i++) {
        bool is_known = text_equal(plate[i].key, "supply");
        if (is_known && !apply_supply(builder, &plate[i])) return false;
        for (int p = 0; p < part_count; p++) {
            if (!text_equal(parts[p].plate, plate[i].key)) continue;
            is_known = true;
            if (!apply_to_part(builder, &parts[p], &plate[i])) return false;
        }
        if (!is_known) return refuse_key(builder, &plate[i]);
    }
    return true;
}
