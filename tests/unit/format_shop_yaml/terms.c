/* terms.c: a shop's terms as they are read, figure by figure; and that the shipped file is what the core
 * falls back on. Slips of the pen are in tests/cli/bad/terms-*. */
#include "format/shop_yaml/shop_yaml.h"
#include "support/file.h"
#include "support/near.h"

#include <stdlib.h>

static const char written[] =
    "labour-per-hour: 96.50\ncallback: 180\nsecond-visit: 75\nhand-over: 300\n"
    "carrying: 0.5\ncarrying-share: 2%\nproving: 0.5h\npower-off: 90s\npower-on: 30s\n"
    "cooling: 20min\nnoting: 20s\nlive-risk: 5min\njustified: 0.9\nsearch: 40\n"
    "at-hand: [bake-element, oven-sensor]\n";

static void figures_come_in_the_core_s_units(void **state)
{
    (void)state;
    Arena arena = arena_new(1 << 20);
    PlanTerms terms;
    Error error;
    assert_true(shop_yaml_read_terms("t", text_of(written), &arena, &terms, NULL, &error));
    assert_int_equal(terms.labour_minor_per_hour, 9650);
    assert_int_equal(terms.callback_minor, 18000);
    assert_int_equal(terms.second_visit_minor, 7500);
    assert_int_equal(terms.hand_over_minor, 30000);
    assert_int_equal(terms.carrying_minor, 50);
    assert_near(terms.carrying_share, 0.02, 1e-12);
    assert_near(terms.proving_second, 1800, 1e-9);
    assert_near(terms.off_second, 90, 1e-9);
    assert_near(terms.on_second, 30, 1e-9);
    assert_near(terms.cool_second, 1200, 1e-9);
    assert_near(terms.noting_second, 20, 1e-9);
    assert_near(terms.live_risk_second, 300, 1e-9);
    assert_near(terms.justified, 0.9, 1e-12);
    assert_int_equal(terms.nodes, 40);
    assert_int_equal(terms.stock_count, 2);
    assert_string_equal(terms.stock[1], "oven-sensor");
    arena_free(&arena);
}

/* Two places hold the defaults: the file that a shop copies, and the core, which reads no files. */
static void the_shipped_file_is_the_default(void **state)
{
    (void)state;
    Arena arena = arena_new(1 << 20);
    PlanTerms terms;
    Error error;
    const PlanTerms own = plan_default_terms();
    const Text bytes = file_read("data/shop/terms.yaml");
    assert_true(shop_yaml_read_terms("terms.yaml", bytes, &arena, &terms, NULL, &error));
    assert_memory_equal(&terms, &own, sizeof own);
    free((void *)bytes.bytes);
    arena_free(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(figures_come_in_the_core_s_units),
                                       cmocka_unit_test(the_shipped_file_is_the_default)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
