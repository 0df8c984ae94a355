/* guide.c: the example of doc/appliance-file.md is an appliance that builds, and nothing is wrong with it. */
#include "base/text.h"
#include "format/appliance_yaml/appliance_yaml.h"
#include "support/file.h"
#include "support/near.h"
#include "support/shipped.h"

#include <stdlib.h>

static void the_example_builds_and_nothing_is_wrong(void **state)
{
    (void)state;
    Arena arena = arena_new(16 << 20);
    Catalogue catalogue;
    Description description;
    Appliance appliance;
    Error error = {0};
    const Finding *findings;
    int count = 0;
    const Text guide = file_read("doc/appliance-file.md");
    shipped_read_catalogue(&arena, &catalogue);
    if (!appliance_yaml_read("example", file_example(guide), &arena, &description, &error) ||
        !appliance_build(&description, &catalogue, NULL, 0, &arena, &appliance, &error))
        fail_msg("%d: %s; expected %s", error.line, error.found, error.expected);
    assert_true(appliance_judge(&appliance, &arena, &findings, &count, &error));
    for (int i = 0; i < count; i++) print_error("%d: %s\n", findings[i].line, findings[i].text);
    assert_int_equal(count, 0);
    assert_true(appliance.check_count > 20);
    free((void *)guide.bytes);
    arena_free(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(the_example_builds_and_nothing_is_wrong)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
