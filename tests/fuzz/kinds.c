/* kinds.c: any bytes as the file of kinds beside the shipped others, as the file of words and as that of
 * materials. */
#include "support/shipped.h"

#include "format/appliance_yaml/appliance_yaml.h"

static void read_catalogue(Text kinds, Text words, Text materials)
{
    const CatalogueFiles files = {.kinds_file = "kinds",
                                  .words_file = "words",
                                  .materials_file = "materials",
                                  .kinds = kinds,
                                  .words = words,
                                  .materials = materials};
    Arena arena = arena_new(SHIPPED_ARENA_LIMIT);
    Catalogue catalogue;
    Error error = {0};
    if (!catalogue_yaml_read(&files, &arena, &catalogue, &error)) shipped_check_error(&error);
    arena_free(&arena);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static Text kinds, words, materials;
    if (!kinds.bytes) {
        kinds = shipped_file("data/parts/kinds.yaml");
        words = shipped_file("data/parts/words.yaml");
        materials = shipped_file("data/parts/materials.yaml");
    }
    const Text bytes = {(const char *)data, size};
    read_catalogue(bytes, words, materials);
    read_catalogue(kinds, bytes, materials);
    read_catalogue(kinds, words, bytes);
    return 0;
}
