/* appliance.c: a shipped appliance as it is read, word for word, and what its readers do when cut short.
 * Mistakes that a person makes in such a file stand as files with their messages in tests/cli/bad. */
#include "format/appliance_yaml/appliance_yaml.h"
#include "support/file.h"
#include "support/near.h"
#include "support/shortage.h"

#include <stdlib.h>
#include <string.h>

typedef struct {
    Text bytes;
    Arena arena;
    Description description;
    Error error;
} Fixture;

static int begin(void **state)
{
    static Fixture f;
    f = (Fixture){.bytes = file_read("data/appliances/range-relay-control.yaml"),
                  .arena = arena_new(4 << 20)};
    *state = &f;
    return 0;
}

static int end(void **state)
{
    Fixture *f = *state;
    free((void *)f->bytes.bytes);
    arena_free(&f->arena);
    return 0;
}

static bool read_description(Fixture *f, Text bytes)
{
    f->error = (Error){0};
    return appliance_yaml_read("range.yaml", bytes, &f->arena, &f->description, &f->error);
}

static void head_supply_and_places_are_read(void **state)
{
    Fixture *f = *state;
    assert_true(read_description(f, f->bytes));
    const Description *d = &f->description;
    assert_string_equal(d->name, "range-relay-control");
    assert_string_equal(d->file, "range.yaml");
    assert_string_equal(d->currency, "USD");
    assert_int_equal(d->supply.system, SUPPLY_SPLIT_PHASE);
    assert_near(d->supply.volt, 240, 0);
    assert_near(d->supply.hertz, 60, 0);
    assert_near(d->supply.breaker_ampere, 40, 0);
    assert_int_equal(d->supply.leg_count, 2);
    assert_string_equal(d->supply.legs[1], "L2");
    assert_string_equal(d->supply.frame, "G");
    assert_string_equal(d->places[0].name, "kitchen");
    const DescribedPlace *console = &d->places[d->place_count - 1];
    assert_string_equal(console->name, "console");
    assert_string_equal(console->after, "behind");
    assert_near(console->open_second, 240, 0);
    assert_true(console->needs_power_off);
    assert_false(console->needs_cool_oven);
}

static const DescribedPart *find_part(const Description *description, const char *name)
{
    for (int i = 0; i < description->part_count; i++)
        if (text_equal(description->parts[i].name, name)) return &description->parts[i];
    fail_msg("no part %s", name);
    return NULL;
}

static double find_number(const DescribedNumber *numbers, int count, const char *name)
{
    for (int i = 0; i < count; i++)
        if (text_equal(numbers[i].name, name)) return numbers[i].value;
    fail_msg("no number %s", name);
    return 0;
}

static void parts_are_read(void **state)
{
    Fixture *f = *state;
    assert_true(read_description(f, f->bytes));
    const DescribedPart *bake = find_part(&f->description, "bake-element"),
                        *sensor = find_part(&f->description, "oven-sensor"),
                        *block = find_part(&f->description, "terminal-block"),
                        *relay = find_part(&f->description, "bake-relay");
    assert_string_equal(bake->kind, "element");
    assert_string_equal(bake->terminals[0], "BK1");
    assert_near(find_number(bake->numbers, bake->number_count, "watts"), 2500, 0);
    assert_string_equal(bake->heats, "bottom");
    assert_string_equal(bake->plate, "bake");
    assert_true(bake->price_minor == 4800);
    assert_near(bake->replace_second, 900, 0);
    assert_true(bake->line > 20);
    assert_true(sensor->has_sensor);
    assert_int_equal(sensor->sensor.family, SENSOR_PLATINUM);
    assert_near(sensor->sensor.zero_ohm, 1000, 0);
    assert_int_equal(block->way_count, 4);
    assert_string_equal(block->ways[2].name, "N");
    assert_string_equal(block->ways[2].from, "BN");
    assert_string_equal(relay->driver, "control");
    assert_string_equal(relay->replaced_with, "control");
    assert_null(bake->driver);
}

static void wires_functions_and_the_rest_are_read(void **state)
{
    Fixture *f = *state;
    assert_true(read_description(f, f->bytes));
    const Description *d = &f->description;
    assert_string_equal(d->wires[0].from, "L1");
    assert_string_equal(d->wires[0].to, "K1");
    assert_true(d->wires[1].line == d->wires[0].line + 1);
    const DescribedFunction *bake = &d->functions[0];
    assert_string_equal(bake->name, "bake");
    assert_int_equal(bake->close_count, 2);
    assert_near(bake->pattern.period_second, 60, 0);
    assert_int_equal(bake->pattern.duty_count, 2);
    assert_string_equal(bake->pattern.duties[1].contact, "broil-relay");
    assert_near(bake->pattern.duties[1].from_second, 51, 0);
    assert_string_equal(d->regulation.senses, "oven-sensor");
    assert_near(d->regulation.differential_kelvin, 10 / 1.8, 1e-12);
    assert_near(d->regulation.offset_from_kelvin, -35 / 1.8, 1e-12);
    assert_near(find_number(d->thermal, d->thermal_count, "cavity.width"), 0.61, 1e-12);
    assert_near(find_number(d->thermal, d->thermal_count, "door.panes"), 2, 0);
}

static bool read_short(void *of, Text bytes, Arena *arena, Error *error)
{
    (void)of;
    Description description;
    return appliance_yaml_read("range.yaml", bytes, arena, &description, error);
}

static void every_truncation_is_read_or_refused(void **state)
{
    shortage_of_bytes(read_short, NULL, ((Fixture *)*state)->bytes, 1, true);
}

static void every_allocation_may_fail(void **state)
{
    shortage_of_memory(read_short, NULL, ((Fixture *)*state)->bytes);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(head_supply_and_places_are_read, begin, end),
        cmocka_unit_test_setup_teardown(parts_are_read, begin, end),
        cmocka_unit_test_setup_teardown(wires_functions_and_the_rest_are_read, begin, end),
        cmocka_unit_test_setup_teardown(every_truncation_is_read_or_refused, begin, end),
        cmocka_unit_test_setup_teardown(every_allocation_may_fail, begin, end),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
