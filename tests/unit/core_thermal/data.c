/* data.c: thermal data of a file that cannot be right, and what is then said, with file and line. */
#include "core/thermal/thermal.h"
#include "format/appliance_yaml/appliance_yaml.h"
#include "support/file.h"
#include "support/near.h"
#include "support/shipped.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { MOST = 16, SPOILT_LINE = 77 };

/* A model of range-relay-control with one more number in its thermal data, or one changed. */
typedef struct {
    Arena arena;
    Description description;
    DescribedNumber numbers[MOST];
    Appliance appliance;
    Circuit circuit;
    ThermalModel model;
    Error error;
} Spoilt;

static bool begin(Spoilt *spoilt, const char *name, double value)
{
    *spoilt = (Spoilt){.arena = arena_new(1 << 26)};
    Catalogue *catalogue = arena_take(&spoilt->arena, sizeof *catalogue);
    assert_non_null(catalogue);
    shipped_read_catalogue(&spoilt->arena, catalogue);
    shipped_read("range-relay-control", &spoilt->arena, &spoilt->description);
    Description *description = &spoilt->description;
    int count = description->thermal_count, at = 0;
    assert_true(count > 0 && count < MOST);
    memcpy(spoilt->numbers, description->thermal, (size_t)count * sizeof *spoilt->numbers);
    while (at < count && strcmp(spoilt->numbers[at].name, name) != 0) at++;
    spoilt->numbers[at] = (DescribedNumber){.name = name, .value = value, .line = SPOILT_LINE};
    description->thermal = spoilt->numbers;
    description->thermal_count = at == count ? count + 1 : count;
    assert_true(
        appliance_build(description, catalogue, NULL, 0, &spoilt->arena, &spoilt->appliance, &spoilt->error));
    assert_true(circuit_begin(&spoilt->appliance, 22, &spoilt->arena, &spoilt->circuit, &spoilt->error));
    return thermal_begin(&spoilt->circuit, &spoilt->model, &spoilt->error);
}

static void refuses(const char *name, double value, ErrorCode code, const char *expects)
{
    Spoilt spoilt;
    assert_false(begin(&spoilt, name, value));
    assert_int_equal(spoilt.error.code, code);
    assert_int_equal(spoilt.error.line, SPOILT_LINE);
    assert_string_equal(spoilt.error.file, "data/appliances/range-relay-control.yaml");
    assert_string_equal(spoilt.error.found, name);
    assert_non_null(strstr(spoilt.error.expected, expects));
    arena_free(&spoilt.arena);
}

static void accepts(const char *name, double value)
{
    Spoilt spoilt;
    assert_true(begin(&spoilt, name, value));
    assert_true(spoilt.model.has_own_dimensions);
    arena_free(&spoilt.arena);
}

static void names_that_are_not_known(void **state)
{
    (void)state;
    refuses("cavity.widht", 0.6, ERROR_UNKNOWN_WORD, "cavity (width, height, depth)");
    refuses("walls.steel", 1e-3, ERROR_UNKNOWN_WORD, "liner, floor and insulation (material: thickness)");
    refuses("cavity", 0.6, ERROR_UNKNOWN_WORD, "thermal data");
    refuses("door.panes-more", 2, ERROR_UNKNOWN_WORD, "door (panes, gasket-length)");
}

static void materials_that_are_not_known(void **state)
{
    (void)state;
    refuses("liner.unobtainium", 1e-3, ERROR_UNKNOWN_WORD, "data/parts/materials.yaml");
    refuses("insulation.", 0.05, ERROR_UNKNOWN_WORD, "data/parts/materials.yaml");
    refuses("floor.glass-wul", 1e-3, ERROR_UNKNOWN_WORD, "data/parts/materials.yaml");
}

static void sizes_that_are_a_slip_of_the_pen(void **state)
{
    (void)state;
    refuses("cavity.width", 6.1, ERROR_OUT_OF_RANGE, "a tenth and ten times");
    refuses("cavity.depth", 0.048, ERROR_OUT_OF_RANGE, "a tenth and ten times");
    refuses("cavity.height", -0.42, ERROR_OUT_OF_RANGE, "a tenth and ten times");
    refuses("insulation.glass-wool", 5, ERROR_OUT_OF_RANGE, "a tenth and ten times");
    refuses("liner.steel", 0, ERROR_OUT_OF_RANGE, "a tenth and ten times");
    refuses("door.panes", 0, ERROR_OUT_OF_RANGE, "a tenth and ten times");
    refuses("rack.mass", 100, ERROR_OUT_OF_RANGE, "a tenth and ten times");
}

static void sizes_that_can_be(void **state)
{
    (void)state;
    accepts("cavity.width", 0.40);
    accepts("insulation.glass-wool", 0.02);
    accepts("door.panes", 1);
    accepts("door.panes", 4);
    accepts("vent.area", 3e-4);
    accepts("rack.mass", 4);
}

static void contacts_that_are_not_there(void **state)
{
    (void)state;
    static const char *const cycles[] = {"bake-relay", "brew-relay"};
    Spoilt spoilt;
    assert_true(begin(&spoilt, "rack.mass", 2.5));
    spoilt.description.regulation.cycles = cycles;
    spoilt.description.regulation.cycle_count = 2;
    Appliance appliance = spoilt.appliance;
    appliance.description = &spoilt.description;
    Circuit circuit;
    assert_true(circuit_begin(&appliance, 22, &spoilt.arena, &circuit, &spoilt.error));
    assert_false(thermal_begin(&circuit, &spoilt.model, &spoilt.error));
    assert_string_equal(spoilt.error.found, "brew-relay");
    assert_int_equal(spoilt.error.line, spoilt.description.regulation.line);
    arena_free(&spoilt.arena);
}

/* A file without thermal data: a typical oven stands in, and the model says so. */
static void without_data_a_typical_oven_stands_in(void **state)
{
    (void)state;
    Spoilt spoilt;
    assert_true(begin(&spoilt, "rack.mass", 2.5));
    Description bare = spoilt.description;
    bare.thermal_count = 0;
    Appliance appliance = spoilt.appliance;
    appliance.description = &bare;
    Circuit circuit;
    assert_true(circuit_begin(&appliance, 22, &spoilt.arena, &circuit, &spoilt.error));
    assert_true(thermal_begin(&circuit, &spoilt.model, &spoilt.error));
    assert_false(spoilt.model.has_own_dimensions);
    arena_free(&spoilt.arena);
}

/* The example of doc/appliance-file.md: its thermal data are an oven, whose element gets as hot as one. */
static void the_example_of_the_guide_is_an_oven(void **state)
{
    (void)state;
    Spoilt example = {.arena = arena_new(1 << 26)};
    Catalogue *catalogue = arena_take(&example.arena, sizeof *catalogue);
    assert_non_null(catalogue);
    const Text guide = file_read("doc/appliance-file.md");
    shipped_read_catalogue(&example.arena, catalogue);
    if (!appliance_yaml_read("example", file_example(guide), &example.arena, &example.description,
                             &example.error) ||
        !appliance_build(&example.description, catalogue, NULL, 0, &example.arena, &example.appliance,
                         &example.error) ||
        !circuit_begin(&example.appliance, 22, &example.arena, &example.circuit, &example.error) ||
        !thermal_begin(&example.circuit, &example.model, &example.error))
        fail_msg("%d: %s; expected %s", example.error.line, example.error.found, example.error.expected);
    assert_true(example.model.has_own_dimensions);
    assert_int_equal(thermal_usual_function(&example.model), 1);
    const double sheath = thermal_sheath_celsius(&example.model, 0, 1);
    assert_true(sheath > 400 && sheath < 900);
    free((void *)guide.bytes);
    arena_free(&example.arena);
}

/* A shipped file with one piece of its text replaced, made into an oven. */
static bool begin_replaced(Spoilt *spoilt, const char *name, const char *text, const char *by)
{
    char path[200];
    *spoilt = (Spoilt){.arena = arena_new(1 << 27)};
    Catalogue *catalogue = arena_take(&spoilt->arena, sizeof *catalogue);
    assert_non_null(catalogue);
    shipped_read_catalogue(&spoilt->arena, catalogue);
    snprintf(path, sizeof path, "data/appliances/%s.yaml", name);
    const Text whole = file_read(path);
    const char *bytes = arena_copy_text(&spoilt->arena, whole.bytes, whole.length), *at = strstr(bytes, text);
    assert_non_null(at);
    TextBuilder replaced = text_builder(&spoilt->arena, 1 << 20);
    text_add_bytes(&replaced, bytes, (size_t)(at - bytes));
    text_add(&replaced, by);
    text_add(&replaced, at + strlen(text));
    free((void *)whole.bytes);
    const Text file = {text_string(&replaced), replaced.length};
    assert_true(appliance_yaml_read(path, file, &spoilt->arena, &spoilt->description, &spoilt->error));
    assert_true(appliance_build(&spoilt->description, catalogue, NULL, 0, &spoilt->arena, &spoilt->appliance,
                                &spoilt->error));
    assert_true(circuit_begin(&spoilt->appliance, 22, &spoilt->arena, &spoilt->circuit, &spoilt->error));
    return thermal_begin(&spoilt->circuit, &spoilt->model, &spoilt->error);
}

/* It would switch without end. */
static void a_cutout_resets_below_where_it_trips(void **state)
{
    (void)state;
    Spoilt spoilt;
    assert_false(begin_replaced(&spoilt, "oven-230", "resets: 300C", "resets: 400C"));
    assert_int_equal(spoilt.error.code, ERROR_INCONSISTENT);
    assert_string_equal(spoilt.error.found, "cutout");
    assert_true(spoilt.error.line > 0);
    arena_free(&spoilt.arena);
}

/* A wire has no description of its own, and senses nothing: the control is then taken to have a bulb. */
static void a_wire_may_be_named_as_what_senses(void **state)
{
    (void)state;
    Spoilt spoilt;
    assert_true(begin_replaced(&spoilt, "range-relay-control", "senses: oven-sensor", "senses: wire-L1-K1"));
    assert_near(spoilt.model.setting_kelvin, THERMAL_SETTING_THERMOSTAT, 0);
    arena_free(&spoilt.arena);
}

static void many_functions_have_their_stages(void **state)
{
    (void)state;
    Spoilt spoilt;
    char functions[8000] = "";
    size_t length = 0;
    for (int i = 0; i < 60; i++)
        length +=
            (size_t)snprintf(functions + length, sizeof functions - length,
                             "  warm%d:\n    closes: [thermostat.heat, selector.bottom, selector.top]\n", i);
    snprintf(functions + length, sizeof functions - length, "  light:\n");
    assert_true(begin_replaced(&spoilt, "oven-230", "  light:\n", functions));
    const int last = appliance_find_function(&spoilt.appliance, "warm59");
    assert_true(last > 0 && spoilt.model.functions[last].heating_count == 1);
    arena_free(&spoilt.arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(names_that_are_not_known),
        cmocka_unit_test(materials_that_are_not_known),
        cmocka_unit_test(sizes_that_are_a_slip_of_the_pen),
        cmocka_unit_test(sizes_that_can_be),
        cmocka_unit_test(contacts_that_are_not_there),
        cmocka_unit_test(without_data_a_typical_oven_stands_in),
        cmocka_unit_test(a_cutout_resets_below_where_it_trips),
        cmocka_unit_test(a_wire_may_be_named_as_what_senses),
        cmocka_unit_test(many_functions_have_their_stages),
        cmocka_unit_test(the_example_of_the_guide_is_an_oven),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
