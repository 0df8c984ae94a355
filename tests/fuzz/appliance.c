/* appliance.c: any bytes as an appliance file, through to the built and judged appliance. */
#include "support/shipped.h"

#include "format/appliance_yaml/appliance_yaml.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    Arena arena = arena_new(SHIPPED_ARENA_LIMIT);
    Description description;
    Appliance appliance;
    const Finding *findings;
    int count;
    Error error = {0};
    if (!appliance_yaml_read("fuzz", (Text){(const char *)data, size}, &arena, &description, &error) ||
        !appliance_build(&description, shipped_catalogue(), NULL, 0, &arena, &appliance, &error) ||
        !appliance_judge(&appliance, &arena, &findings, &count, &error))
        shipped_check_error(&error);
    arena_free(&arena);
    return 0;
}
