/* load.c: see load.h. */
#include "edge/cli/load.h"

#include <string.h>

/* `bake=2500W`, or `sensor=pt1000`: a figure begins with a digit or a sign, a sensor with a letter. */
static bool read_plate_entry(const char *typed, Arena *arena, PlateEntry *entry, Error *error)
{
    const char *equals = strchr(typed, '=');
    if (!equals || equals == typed)
        return error_set(error, ERROR_USAGE, typed, "KEY=VALUE from the rating plate, as bake=2500W");
    const Text value = text_of(equals + 1);
    entry->key = arena_copy_text(arena, typed, (size_t)(equals - typed));
    if (!entry->key) return error_memory(error);
    entry->has_sensor = value.length && value.bytes[0] >= 'a' && value.bytes[0] <= 'z';
    return entry->has_sensor ? sensor_read_kind(value, &entry->sensor, error)
                             : quantity_read(value, &entry->figure, error);
}

/* A house's voltage is what the plate's key 'supply' says; ten times as much is a slip of the pen. */
static bool read_supply(const char *typed, PlateEntry *entry, Error *error)
{
    const double least = 80, most = 500;
    *entry = (PlateEntry){.key = "supply", .figure = {.unit = UNIT_VOLT}};
    if (!quantity_read_as(text_of(typed), UNIT_VOLT, &entry->figure.value, error)) return false;
    if (entry->figure.value >= least && entry->figure.value <= most) return true;
    return error_set(error, ERROR_OUT_OF_RANGE, typed, "a supply from %gV to %gV", least, most);
}

bool load_appliance_with_options(const Invocation *invocation, const char *name, Appliance *appliance,
                                 Error *error)
{
    PlateEntry *plate = ARENA_ARRAY(invocation->arena, PlateEntry, COMMAND_MOST_OPTIONS);
    if (!plate) return error_memory(error);
    int count = 0;
    for (int i = 0; i < invocation->option_count; i++) {
        const char *typed = invocation->options[i].words[0];
        const OptionCode code = invocation->options[i].code;
        if (code == OPTION_PLATE && !read_plate_entry(typed, invocation->arena, &plate[count++], error))
            return false;
        if (code == OPTION_SUPPLY && !read_supply(typed, &plate[count++], error)) return false;
    }
    return desk_load_appliance(name, plate, count, invocation->arena, appliance, error);
}

bool load_terms(const Invocation *invocation, PlanTerms *terms, HistoryTerms *history, Error *error)
{
    return desk_load_terms(cli__option(invocation, OPTION_TERMS, NULL), invocation->arena, terms, history,
                           error);
}
