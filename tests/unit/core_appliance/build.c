/* build.c: an appliance from a description made by hand, and what refuses to be built. */
#include "base/text.h"
#include "core/appliance/appliance.h"
#include "support/near.h"
#include "support/shipped.h"

#include <math.h>
#include <string.h>

enum { MOST_PARTS = 8 };

/* A hot plate of one element: supply, breaker, element, switch, joined by two wires. */
typedef struct {
    Arena arena;
    Catalogue catalogue;
    Description description;
    DescribedPlace places[2];
    DescribedPart parts[MOST_PARTS];
    DescribedWire wires[3];
    DescribedFunction functions[2];
    Appliance appliance;
    Error error;
} Fixture;

static const DescribedWay supply_ways[] = {
    {"L", "mains", "P", 11}, {"N", "mains", "N", 12}, {"PE", "mains", "PE", 13}};
static const DescribedWay breaker_ways[] = {{"L", "P", "L", 14}};
static const char *const element_marks[] = {"E1", "E2"}, *const switch_marks[] = {"D1", "D2"};
static const DescribedNumber element_numbers[] = {{"watts", 1150, 15}, {"volts", 230, 15}};
static const char *const closes[] = {"switch"};

static void describe(Fixture *f)
{
    f->places[0] = (DescribedPlace){.name = "kitchen", .line = 8};
    f->places[1] = (DescribedPlace){.name = "inside", .open_second = 60, .line = 9};
    f->parts[0] =
        (DescribedPart){.name = "supply", .kind = "supply", .ways = supply_ways, .way_count = 3, .line = 10};
    f->parts[1] = (DescribedPart){
        .name = "breaker", .kind = "breaker", .ways = breaker_ways, .way_count = 1, .line = 14};
    f->parts[2] = (DescribedPart){.name = "plate-element",
                                  .kind = "element",
                                  .reach = "inside",
                                  .terminals = element_marks,
                                  .terminal_count = 2,
                                  .numbers = element_numbers,
                                  .number_count = 2,
                                  .plate = "plate",
                                  .line = 15};
    f->parts[3] = (DescribedPart){
        .name = "switch", .kind = "hand-switch", .terminals = switch_marks, .terminal_count = 2, .line = 16};
    f->wires[0] = (DescribedWire){"L", "D1", 18};
    f->wires[1] = (DescribedWire){"D2", "E1", 19};
    f->wires[2] = (DescribedWire){"E2", "N", 20};
    f->functions[0] = (DescribedFunction){.name = "on", .closes = closes, .close_count = 1, .line = 22};
    f->description = (Description){.name = "hot-plate",
                                   .file = "plate.yaml",
                                   .places = f->places,
                                   .place_count = 2,
                                   .parts = f->parts,
                                   .part_count = 4,
                                   .wires = f->wires,
                                   .wire_count = 3,
                                   .functions = f->functions,
                                   .function_count = 1,
                                   .supply = {.system = SUPPLY_SINGLE_PHASE,
                                              .volt = 230,
                                              .hertz = 50,
                                              .legs = {"L"},
                                              .leg_count = 1,
                                              .neutral = "N",
                                              .frame = "PE",
                                              .breaker_ampere = 16,
                                              .line = 3}};
}

static int begin(void **state)
{
    static Fixture f;
    memset(&f, 0, sizeof f);
    f.arena = arena_new(16 << 20);
    shipped_read_catalogue(&f.arena, &f.catalogue);
    describe(&f);
    *state = &f;
    return 0;
}

static int end(void **state)
{
    arena_free(&((Fixture *)*state)->arena);
    return 0;
}

static bool build(Fixture *f)
{
    f->error = (Error){0};
    return appliance_build(&f->description, &f->catalogue, NULL, 0, &f->arena, &f->appliance, &f->error);
}

static bool build_with_plate(Fixture *f, PlateEntry entry)
{
    f->error = (Error){0};
    return appliance_build(&f->description, &f->catalogue, &entry, 1, &f->arena, &f->appliance, &f->error);
}

static void assert_refused(Fixture *f, ErrorCode code, int line, const char *found)
{
    assert_false(build(f));
    assert_int_equal(f->error.code, code);
    assert_int_equal(f->error.line, line);
    assert_string_equal(f->error.found, found);
    assert_string_equal(f->error.file, "plate.yaml");
    describe(f);
}

static void marks_come_from_what_mentions_them(void **state)
{
    Fixture *f = *state;
    assert_true(build(f));
    assert_int_equal(f->appliance.mark_count, 9); /* earth, P, N, PE, L, E1, E2, D1, D2 */
    assert_string_equal(f->appliance.marks[APPLIANCE_EARTH].name, "earth");
    const Mark *mark = &f->appliance.marks[appliance_find_mark(&f->appliance, "E1")];
    assert_string_equal(f->appliance.parts[mark->part].name, "plate-element");
    assert_int_equal(mark->place, 1);
    assert_true(mark->can_lift);
    assert_false(f->appliance.marks[appliance_find_mark(&f->appliance, "PE")].can_lift);
    assert_int_equal(appliance_find_mark(&f->appliance, "mains"), -1);
}

/* Ohm's law, P = V^2 / R: 230 V and 1150 W are 46 ohm and 5 A. */
static void branches_have_their_ratings(void **state)
{
    Fixture *f = *state;
    assert_true(build(f));
    const Part *element = &f->appliance.parts[appliance_find_part(&f->appliance, "plate-element")];
    const Branch *heater = &f->appliance.branches[element->first_branch];
    assert_near(heater->hot_ohm, 46, 1e-12);
    assert_near(heater->rated_watt, 1150, 1e-9);
    const Branch *insulation = heater + 1;
    assert_int_equal(insulation->type, BRANCH_GAP);
    assert_int_equal(insulation->to, f->appliance.frame);
    int from_mains = 0;
    for (int i = 0; i < f->appliance.branch_count; i++) from_mains += f->appliance.branches[i].leg >= 0;
    assert_int_equal(from_mains, 1);
}

static void wires_are_parts_with_names(void **state)
{
    Fixture *f = *state;
    assert_true(build(f));
    const int wire = appliance_find_part(&f->appliance, "wire-D2-E1");
    assert_true(wire >= 0);
    assert_true(appliance_is_wiring(&f->appliance, f->appliance.parts[wire].first_branch));
    assert_true(appliance_find_fault(&f->appliance, "wire-D2-E1.open") >= 0);
}

static void faults_of_each_way_are_named_after_it(void **state)
{
    Fixture *f = *state;
    assert_true(build(f));
    assert_true(appliance_find_fault(&f->appliance, "supply.L-lost") >= 0);
    assert_true(appliance_find_fault(&f->appliance, "breaker.pole-open") >= 0); /* one way: no way's name */
    const Fault *sag = &f->appliance.faults[appliance_find_fault(&f->appliance, "supply.low-voltage")];
    assert_int_equal(sag->branch_count, 1); /* the leg alone can sag */
    assert_int_equal(f->appliance.branches[sag->branches[0]].leg, 0);
}

static void off_is_always_the_first_function(void **state)
{
    Fixture *f = *state;
    f->description.function_count = 2;
    f->functions[1] = (DescribedFunction){.name = "off", .says = "all off", .line = 23};
    assert_true(build(f));
    assert_int_equal(f->appliance.function_count, 2);
    assert_string_equal(f->appliance.functions[0].says, "all off");
    assert_int_equal(f->appliance.functions[1].contact_count, 1);
}

static void the_plate_takes_the_place_of_the_file(void **state)
{
    Fixture *f = *state;
    const Quantity watts = {.value = 2300, .unit = UNIT_WATT}, volts = {.value = 220, .unit = UNIT_VOLT};
    assert_true(build_with_plate(f, (PlateEntry){.key = "plate", .figure = watts, .line = 1}));
    const Part *element = &f->appliance.parts[appliance_find_part(&f->appliance, "plate-element")];
    assert_near(f->appliance.branches[element->first_branch].hot_ohm, 23, 1e-12);
    assert_near(appliance_number(element, "watts", 0), 2300, 0);
    assert_near(element_numbers[0].value, 1150, 0); /* the description itself stays */
    assert_true(build_with_plate(f, (PlateEntry){.key = "supply", .figure = volts, .line = 1}));
    assert_near(f->appliance.leg_volt[0], 220, 0);
    assert_near(f->description.supply.volt, 230, 0);
}

static void a_plate_that_fits_nothing_is_refused(void **state)
{
    Fixture *f = *state;
    const Quantity watts = {.value = 2300, .unit = UNIT_WATT};
    assert_false(build_with_plate(f, (PlateEntry){.key = "plat", .figure = watts, .line = 4}));
    assert_int_equal(f->error.code, ERROR_UNKNOWN_WORD);
    assert_int_equal(f->error.line, 4);
    assert_string_equal(f->error.hint, "did you mean 'plate'?");
    assert_false(build_with_plate(f, (PlateEntry){.key = "supply", .figure = watts, .line = 4}));
    assert_int_equal(f->error.code, ERROR_WRONG_KIND);
    assert_false(build_with_plate(f, (PlateEntry){.key = "plate", .has_sensor = true, .line = 4}));
    assert_int_equal(f->error.code, ERROR_WRONG_KIND);
}

/* Two of three phases: 208 V between them are 120.09 V each. ANSI C84.1, 208Y/120. */
static void a_split_phase_range_on_208_volts_is_on_two_phases(void **state)
{
    Fixture *f = *state;
    Description description;
    shipped_read("range-relay-control", &f->arena, &description);
    const PlateEntry plate = {.key = "supply", .figure = {.value = 208, .unit = UNIT_VOLT}};
    assert_true(appliance_build(&description, &f->catalogue, &plate, 1, &f->arena, &f->appliance, NULL));
    assert_near(f->appliance.leg_volt[0], 208 / sqrt(3), 1e-12);
    assert_near(f->appliance.leg_degree[1], -120, 0);
    const Part *bake = &f->appliance.parts[appliance_find_part(&f->appliance, "bake-element")];
    assert_near(f->appliance.branches[bake->first_branch].hot_ohm, 23.04, 1e-12);
}

static void unknown_names_are_refused_with_the_known_ones(void **state)
{
    Fixture *f = *state;
    f->parts[2].kind = "elment";
    assert_refused(f, ERROR_UNKNOWN_WORD, 15, "'elment'");
    assert_string_equal(f->error.hint, "did you mean 'element'?");
    f->parts[2].reach = "insid";
    assert_refused(f, ERROR_UNKNOWN_WORD, 15, "'insid'");
    f->parts[3].driver = "controller";
    assert_refused(f, ERROR_UNKNOWN_WORD, 16, "'controller'");
    f->parts[3].replaced_with = "swich";
    assert_refused(f, ERROR_UNKNOWN_WORD, 16, "'swich'");
    static const char *const wrong[] = {"swtch"};
    f->functions[0].closes = wrong;
    assert_refused(f, ERROR_UNKNOWN_WORD, 22, "'swtch'");
    static const DescribedNumber hertz[] = {{"hertz", 50, 17}};
    f->parts[2].numbers = hertz;
    f->parts[2].number_count = 1;
    assert_refused(f, ERROR_UNKNOWN_WORD, 17, "'hertz'");
    f->description.supply.neutral = "NN";
    assert_refused(f, ERROR_UNKNOWN_WORD, 3, "'NN'");
}

static void what_does_not_fit_together_is_refused(void **state)
{
    Fixture *f = *state;
    f->parts[3].name = "plate-element";
    assert_refused(f, ERROR_INCONSISTENT, 16, "plate-element");
    f->parts[2].terminal_count = 1;
    assert_refused(f, ERROR_INCONSISTENT, 15, "plate-element");
    f->parts[1].way_count = 0;
    assert_refused(f, ERROR_MISSING, 14, "breaker");
    f->parts[2].number_count = 0;
    assert_refused(f, ERROR_MISSING, 15, "plate-element");
    f->wires[1] = (DescribedWire){"E1", "E1", 19};
    assert_refused(f, ERROR_INCONSISTENT, 19, "E1");
    f->wires[1] = f->wires[0];
    assert_refused(f, ERROR_INCONSISTENT, 18, "wire-L-D1");
    f->description.supply.system = SUPPLY_SPLIT_PHASE;
    assert_refused(f, ERROR_INCONSISTENT, 3, "supply");
    f->description.supply.legs[0] = "P";
    assert_refused(f, ERROR_MISSING, 3, "P");
    f->places[1].after = "attic";
    assert_refused(f, ERROR_INCONSISTENT, 9, "attic");
    f->description.place_count = 0;
    assert_refused(f, ERROR_MISSING, 0, "no places");
}

static void memory_that_is_out_is_an_error_and_nothing_else(void **state)
{
    Fixture *f = *state;
    bool is_built = false;
    for (size_t limit = 0; !is_built; limit += 512) {
        Arena small = arena_new(limit);
        Error error = {0};
        is_built = appliance_build(&f->description, &f->catalogue, NULL, 0, &small, &f->appliance, &error);
        if (!is_built) assert_int_equal(error.code, ERROR_MEMORY);
        arena_free(&small);
    }
}

static void names_are_found_or_listed(void **state)
{
    Fixture *f = *state;
    int number;
    Error error = {0};
    assert_true(build(f));
    assert_false(appliance_need_mark(&f->appliance, "earth", &number, &error)); /* no probe reaches it */
    assert_string_equal(error.expected, "a mark of this appliance: P, N, PE, L, E1, E2, D1, D2");
    assert_false(appliance_need_function(&f->appliance, "of", &number, &error));
    assert_string_equal(error.hint, "did you mean 'off'?");
    assert_false(appliance_need_part(&f->appliance, "plate", &number, &error));
    assert_string_equal(error.expected, "a part of this appliance: supply, breaker, plate-element, switch");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(marks_come_from_what_mentions_them, begin, end),
        cmocka_unit_test_setup_teardown(branches_have_their_ratings, begin, end),
        cmocka_unit_test_setup_teardown(wires_are_parts_with_names, begin, end),
        cmocka_unit_test_setup_teardown(faults_of_each_way_are_named_after_it, begin, end),
        cmocka_unit_test_setup_teardown(off_is_always_the_first_function, begin, end),
        cmocka_unit_test_setup_teardown(the_plate_takes_the_place_of_the_file, begin, end),
        cmocka_unit_test_setup_teardown(a_plate_that_fits_nothing_is_refused, begin, end),
        cmocka_unit_test_setup_teardown(a_split_phase_range_on_208_volts_is_on_two_phases, begin, end),
        cmocka_unit_test_setup_teardown(unknown_names_are_refused_with_the_known_ones, begin, end),
        cmocka_unit_test_setup_teardown(what_does_not_fit_together_is_refused, begin, end),
        cmocka_unit_test_setup_teardown(memory_that_is_out_is_an_error_and_nothing_else, begin, end),
        cmocka_unit_test_setup_teardown(names_are_found_or_listed, begin, end),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
