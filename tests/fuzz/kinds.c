/* kinds.c: any bytes as the file of kinds beside the shipped words, and as the file of words. */
#include "support/shipped.h"

#include "format/appliance_yaml/appliance_yaml.h"

static void read_catalogue(Text kinds, Text words)
{
    Arena arena = arena_new(SHIPPED_ARENA_LIMIT);
    Catalogue catalogue;
    Error error = {0};
    if (!catalogue_yaml_read("kinds", kinds, "words", words, &arena, &catalogue, &error))
        shipped_check_error(&error);
    arena_free(&arena);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static Text kinds, words;
    if (!kinds.bytes) {
        kinds = shipped_file("data/parts/kinds.yaml");
        words = shipped_file("data/parts/words.yaml");
    }
    const Text bytes = {(const char *)data, size};
    read_catalogue(bytes, words);
    read_catalogue(kinds, bytes);
    return 0;
}
