/* terms.c: any bytes as the terms of a shop. */
#include "support/shipped.h"

#include "format/shop_yaml/shop_yaml.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    const Text bytes = {(const char *)data, size};
    Arena arena = arena_new(SHIPPED_ARENA_LIMIT);
    PlanTerms terms;
    Error error = {0};
    if (!shop_yaml_read_terms("fuzz", bytes, &arena, &terms, NULL, &error)) shipped_check_error(&error);
    arena_free(&arena);
    return 0;
}
