/* load.c: see load.h.
 *
 * Names before paths: `range-208` is the shipped appliance even where a file of that name lies in the
 * folder, so a call means the same everywhere. Whoever wants the file writes a path, or its ending. */
#include "edge/cli/load.h"

#include "edge/cli/assets.h"
#include "edge/cli/files.h"
#include "format/appliance_yaml/appliance_yaml.h"
#include "format/shop_yaml/shop_yaml.h"

#include <assert.h>
#include <stdio.h>
#include <string.h>

enum { FILE_LIMIT = 1 << 20 };

/* 'range-208' of 'appliances/range-208.yaml', as a name of its own in the arena. */
static const char *short_name(const Asset *asset, Arena *arena)
{
    const char *begin = strrchr(asset->name, '/') + 1;
    const size_t length = strlen(begin);
    assert(length > strlen(".yaml"));
    return arena_copy_text(arena, begin, length - strlen(".yaml"));
}

/* A name without a slash and without .yaml was meant as a name, and is answered with the names. */
static bool no_such_appliance(const char *name, Arena *arena, Error *error)
{
    size_t count = 0;
    const Asset *assets = assets_list("appliances/", &count);
    const char **known = ARENA_ARRAY(arena, const char *, count);
    TextBuilder list = text_builder(arena, sizeof error->expected);
    if (!known) return error_memory(error);
    for (size_t i = 0; i < count; i++) {
        known[i] = short_name(&assets[i], arena);
        if (!known[i]) return error_memory(error);
        text_addf(&list, "%s%s", i ? ", " : "", known[i]);
    }
    char quoted[sizeof error->found];
    snprintf(quoted, sizeof quoted, "'%s'", name);
    error_set(error, ERROR_UNKNOWN_WORD, quoted, "a file's path or one of %s", text_string(&list));
    const char *nearest = text_nearest(name, known, count);
    if (nearest) error_hint(error, "did you mean %s?", nearest);
    return false;
}

bool load_appliance_bytes(const char *name, Arena *arena, const char **file, Text *bytes, Error *error)
{
    char asset_name[200];
    snprintf(asset_name, sizeof asset_name, "appliances/%s.yaml", name);
    const Asset *asset = assets_find(asset_name);
    *file = asset ? asset->name : name;
    if (asset) *bytes = (Text){asset->bytes, asset->length};
    if (asset) return true;
    if (!strchr(name, '/') && !strstr(name, ".yaml")) return no_such_appliance(name, arena, error);
    return files_read(name, FILE_LIMIT, arena, bytes, error);
}

/* Only for files that the build has put in; a missing one is a defect of ours. */
static Text asset_text(const char *name)
{
    const Asset *asset = assets_find(name);
    assert(asset); /* the build puts all of data/ into the program */
    return (Text){asset->bytes, asset->length};
}

/* Kinds, words and materials are part of the program and never a user's file: an appliance is held against
 * the kinds it was written for. */
static bool load_catalogue(Arena *arena, Catalogue *catalogue, Error *error)
{
    static const char kinds[] = "parts/kinds.yaml", words[] = "parts/words.yaml";
    static const char materials[] = "parts/materials.yaml";
    const CatalogueFiles files = {.kinds_file = kinds,
                                  .words_file = words,
                                  .materials_file = materials,
                                  .kinds = asset_text(kinds),
                                  .words = asset_text(words),
                                  .materials = asset_text(materials)};
    return catalogue_yaml_read(&files, arena, catalogue, error);
}

bool load_appliance(const char *name, const PlateEntry *plate, int plate_count, Arena *arena,
                    Appliance *appliance, Error *error)
{
    const char *file = NULL;
    Text bytes;
    Description description = {0};
    Catalogue *catalogue = arena_take(arena, sizeof *catalogue);
    if (!catalogue) return error_memory(error);
    return load_appliance_bytes(name, arena, &file, &bytes, error) &&
           appliance_yaml_read(file, bytes, arena, &description, error) &&
           load_catalogue(arena, catalogue, error) &&
           appliance_build(&description, catalogue, plate, plate_count, arena, appliance, error);
}

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
    return load_appliance(name, plate, count, invocation->arena, appliance, error);
}

bool load_terms(const Invocation *invocation, PlanTerms *terms, HistoryTerms *history, Error *error)
{
    static const char own[] = "shop/terms.yaml";
    const char *path = cli__option(invocation, OPTION_TERMS, NULL);
    Text bytes = asset_text(own);
    if (path && !files_read(path, FILE_LIMIT, invocation->arena, &bytes, error)) return false;
    return shop_yaml_read_terms(path ? path : own, bytes, invocation->arena, terms, history, error);
}

bool load_words(Arena *arena, Words *words, Error *error)
{
    static const char name[] = "words/en.yaml";
    return words_read(name, asset_text(name), arena, words, error);
}
