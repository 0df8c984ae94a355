/* shipped.c: see shipped.h. */
#include "support/shipped.h"

#include "format/appliance_yaml/appliance_yaml.h"

#include <stdio.h>
#include <stdlib.h>

static void give_up(const Error *error)
{
    char line[1200];
    error_line(error, line, sizeof line);
    fprintf(stderr, "%s\n", line);
    abort();
}

/* One arena for all that stays. */
static Arena *kept(void)
{
    static Arena arena;
    if (arena.limit_bytes == 0) arena = arena_new(SHIPPED_ARENA_LIMIT);
    return &arena;
}

Text shipped_file(const char *path)
{
    enum { MOST = 1 << 20 };
    char name[600];
    snprintf(name, sizeof name, "%s/%s", PROJECT_FOLDER, path);
    FILE *file = fopen(name, "rb");
    char *bytes = arena_take(kept(), MOST);
    if (!file || !bytes) abort();
    const size_t length = fread(bytes, 1, MOST, file);
    fclose(file);
    return (Text){bytes, length};
}

const Catalogue *shipped_catalogue(void)
{
    static Catalogue catalogue;
    Error error = {0};
    if (catalogue.kind_count) return &catalogue;
    const CatalogueFiles files = {.kinds_file = "kinds.yaml",
                                  .words_file = "words.yaml",
                                  .materials_file = "parts/materials.yaml",
                                  .kinds = shipped_file("data/parts/kinds.yaml"),
                                  .words = shipped_file("data/parts/words.yaml"),
                                  .materials = shipped_file("data/parts/materials.yaml")};
    if (!catalogue_yaml_read(&files, kept(), &catalogue, &error)) give_up(&error);
    return &catalogue;
}

const Appliance *shipped_appliance(void)
{
    static Appliance appliance;
    static Description description;
    Error error = {0};
    if (appliance.mark_count) return &appliance;
    if (!appliance_yaml_read("appliance", shipped_file("data/appliances/range-relay-control.yaml"), kept(),
                             &description, &error) ||
        !appliance_build(&description, shipped_catalogue(), NULL, 0, kept(), &appliance, &error))
        give_up(&error);
    return &appliance;
}

void shipped_check_error(const Error *error)
{
    const bool is_complete = error->code > ERROR_NONE && error->code < ERROR_COUNT && error->expected[0];
    const bool is_fault_of_input = error_exit_status(error->code) == 3;
    if (is_complete && (!is_fault_of_input || error->line > 0)) return;
    give_up(error);
}
