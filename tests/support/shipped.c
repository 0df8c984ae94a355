/* shipped.c: see shipped.h. */
#include "support/shipped.h"

#include "format/appliance_yaml/appliance_yaml.h"
#include "support/file.h"
#include "support/near.h"

#include <stdio.h>
#include <stdlib.h>

const char *const shipped_names[SHIPPED_COUNT] = {"range-thermostat",  "range-relay-control",
                                                  "range-hidden-bake", "wall-oven-convection",
                                                  "range-208",         "oven-230"};

static void demand(bool is_done, const Error *error)
{
    char line[1200];
    if (is_done) return;
    error_line(error, line, sizeof line);
    fail_msg("%s", line);
}

void shipped_read_catalogue(Arena *arena, Catalogue *catalogue)
{
    Error error = {0};
    const CatalogueFiles files = {.kinds_file = "kinds.yaml",
                                  .words_file = "words.yaml",
                                  .materials_file = "parts/materials.yaml",
                                  .kinds = file_read("data/parts/kinds.yaml"),
                                  .words = file_read("data/parts/words.yaml"),
                                  .materials = file_read("data/parts/materials.yaml")};
    demand(catalogue_yaml_read(&files, arena, catalogue, &error), &error);
    free((void *)files.kinds.bytes);
    free((void *)files.words.bytes);
    free((void *)files.materials.bytes);
}

void shipped_read(const char *name, Arena *arena, Description *description)
{
    Error error = {0};
    char path[200];
    snprintf(path, sizeof path, "data/appliances/%s.yaml", name);
    const Text bytes = file_read(path);
    demand(appliance_yaml_read(path, bytes, arena, description, &error), &error);
    free((void *)bytes.bytes);
}

void shipped_build(const char *name, Arena *arena, Appliance *appliance)
{
    Error error = {0};
    Catalogue *catalogue = arena_take(arena, sizeof *catalogue);
    Description *description = arena_take(arena, sizeof *description);
    assert_non_null(catalogue);
    assert_non_null(description);
    shipped_read_catalogue(arena, catalogue);
    shipped_read(name, arena, description);
    demand(appliance_build(description, catalogue, NULL, 0, arena, appliance, &error), &error);
}
