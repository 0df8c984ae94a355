/* load.c: what a name stands for.
 *
 * Names before paths: `range-208` is the shipped appliance even where a file of that name lies in the
 * folder, so a call means the same everywhere. Whoever wants the file writes a path, or its ending. */
#include "edge/desk/desk_private.h"

#include "edge/files/files.h"
#include "format/appliance_yaml/appliance_yaml.h"
#include "format/shop_yaml/shop_yaml.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

enum { FILE_LIMIT = 1 << 20 };

/* 'range-208' of 'appliances/range-208.yaml', as a name of its own in the arena. */
static const char *short_name(const FilesAsset *asset, Arena *arena)
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
    const FilesAsset *assets = files_list_assets("appliances/", &count);
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

bool desk_is_shipped(const char *name)
{
    char asset_name[200];
    return snprintf(asset_name, sizeof asset_name, "appliances/%s.yaml", name) < (int)sizeof asset_name &&
           files_find_asset(asset_name) != NULL;
}

bool desk_appliance_bytes(const char *name, Arena *arena, const char **file, Text *bytes, Error *error)
{
    char asset_name[200];
    snprintf(asset_name, sizeof asset_name, "appliances/%s.yaml", name);
    const FilesAsset *asset = files_find_asset(asset_name);
    *file = asset ? asset->name : name;
    if (asset) *bytes = (Text){asset->bytes, asset->length};
    if (asset) return true;
    if (!strchr(name, '/') && !strstr(name, ".yaml")) return no_such_appliance(name, arena, error);
    return files_read(name, FILE_LIMIT, arena, bytes, error);
}

/* Only for files that the build has put in; a missing one is a defect of ours. */
static Text asset_text(const char *name)
{
    const FilesAsset *asset = files_find_asset(name);
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

bool desk__build(const char *file, Text bytes, const PlateEntry *plate, int plate_count, Arena *arena,
                 Appliance *appliance, Error *error)
{
    Description description = {0};
    Catalogue *catalogue = arena_take(arena, sizeof *catalogue);
    if (!catalogue) return error_memory(error);
    return appliance_yaml_read(file, bytes, arena, &description, error) &&
           load_catalogue(arena, catalogue, error) &&
           appliance_build(&description, catalogue, plate, plate_count, arena, appliance, error);
}

bool desk_build_appliance(const char *file, Text bytes, Arena *arena, Appliance *appliance, Error *error)
{
    return desk__build(file, bytes, NULL, 0, arena, appliance, error);
}

bool desk_load_appliance(const char *name, const PlateEntry *plate, int plate_count, Arena *arena,
                         Appliance *appliance, Error *error)
{
    const char *file = NULL;
    Text bytes;
    return desk_appliance_bytes(name, arena, &file, &bytes, error) &&
           desk__build(file, bytes, plate, plate_count, arena, appliance, error);
}

bool desk_load_terms(const char *path, Arena *arena, PlanTerms *terms, HistoryTerms *history, Error *error)
{
    static const char own[] = "shop/terms.yaml";
    Text bytes = asset_text(own);
    if (path && !files_read(path, FILE_LIMIT, arena, &bytes, error)) return false;
    return shop_yaml_read_terms(path ? path : own, bytes, arena, terms, history, error);
}

static bool no_such_language(const char *language, Error *error)
{
    error_set(error, ERROR_UNKNOWN_WORD, language, "a language of the program: en or es");
    return false;
}

/* English stands in the files of parts and appliances themselves. */
bool desk_load_words(const char *language, Arena *arena, Words *words, Error *error)
{
    char name[64], catalogue[64];
    const char *spoken = language && language[0] ? language : "en";
    snprintf(name, sizeof name, "words/%.8s.yaml", spoken);
    snprintf(catalogue, sizeof catalogue, "words/catalogue/%.8s.yaml", spoken);
    if (!files_find_asset(name) || strlen(spoken) > 8) return no_such_language(spoken, error);
    return words_read(name, asset_text(name), arena, words, error) &&
           (!files_find_asset(catalogue) || words_add(catalogue, asset_text(catalogue), arena, words, error));
}

/* Current of a rated branch at work, when it gets the voltage of this supply that is nearest to its rating:
 * between the legs, or from a leg to the neutral. */
static double supplied_ampere(const Appliance *appliance, const Branch *branch)
{
    const double legs = appliance->description->supply.volt, leg = appliance->leg_volt[0];
    if (!(branch->rated_watt > 0)) return 0;
    const double volt = fabs(branch->rated_volt - legs) < fabs(branch->rated_volt - leg) ? legs : leg;
    const double impedance =
        sqrt(branch->hot_ohm * branch->hot_ohm + branch->reactance_ohm * branch->reactance_ohm);
    assert(impedance > 0);
    return volt / impedance;
}

const double *desk_supplied_amperes(const Appliance *appliance, Arena *arena)
{
    double *amperes = ARENA_ARRAY(arena, double, (size_t)appliance->branch_count);
    for (int i = 0; amperes && i < appliance->branch_count; i++)
        amperes[i] = supplied_ampere(appliance, &appliance->branches[i]);
    return amperes;
}
