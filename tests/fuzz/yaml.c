/* yaml.c: any bytes as a document. */
#include "support/shipped.h"

#include "format/yaml/yaml.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    Arena arena = arena_new(SHIPPED_ARENA_LIMIT);
    const YamlNode *root;
    Error error = {0};
    if (!yaml_read_tree("fuzz", (Text){(const char *)data, size}, &arena, &root, &error))
        shipped_check_error(&error);
    arena_free(&arena);
    return 0;
}
