/* call.c: any bytes as a call on a shipped appliance. */
#include "support/shipped.h"

#include "format/call_yaml/call_yaml.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    const Text bytes = {(const char *)data, size};
    Arena arena = arena_new(SHIPPED_ARENA_LIMIT);
    Call call;
    Error error = {0};
    if (!call_yaml_read_head("fuzz", bytes, &arena, &call, &error)) shipped_check_error(&error);
    error = (Error){0};
    if (!call_yaml_read("fuzz", bytes, shipped_appliance(), &arena, &call, &error))
        shipped_check_error(&error);
    arena_free(&arena);
    return 0;
}
