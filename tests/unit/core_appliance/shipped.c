/* shipped.c: the appliances of data/appliances hold what a technician knows of such ovens. Where no source
 * stands beside a figure it is common practice, no source. */
#include "support/shipped.h"
#include "base/text.h"
#include "support/near.h"

#include <math.h>
#include <string.h>

typedef struct {
    Arena arena;
    Appliance all[SHIPPED_COUNT];
} Fixture;

static int begin(void **state)
{
    static Fixture f;
    f.arena = arena_new(16 << 20);
    for (int i = 0; i < SHIPPED_COUNT; i++) shipped_build(shipped_names[i], &f.arena, &f.all[i]);
    *state = &f;
    return 0;
}

static int end(void **state)
{
    arena_free(&((Fixture *)*state)->arena);
    return 0;
}

static const Appliance *find(const Fixture *f, const char *name)
{
    for (int i = 0; i < SHIPPED_COUNT; i++)
        if (text_equal(f->all[i].name, name)) return &f->all[i];
    fail_msg("no appliance %s", name);
    return NULL;
}

static const Branch *branch_of(const Appliance *appliance, const char *part, int number)
{
    const int found = appliance_find_part(appliance, part);
    if (found < 0) fail_msg("%s has no %s", appliance->name, part);
    return &appliance->branches[appliance->parts[found].first_branch + number];
}

static void nothing_is_found_wrong(void **state)
{
    Fixture *f = *state;
    for (int i = 0; i < SHIPPED_COUNT; i++) {
        const Finding *findings;
        int count = 0;
        assert_true(appliance_judge(&f->all[i], &f->arena, &findings, &count, NULL));
        for (int k = 0; k < count; k++)
            print_error("%s:%d: %s\n", f->all[i].name, findings[k].line, findings[k].text);
        assert_int_equal(count, 0);
    }
}

/* Ohm's law with the rated power: a hot element has V^2/W; cold it has less by the temperature factor of NiCr
 * 80/20, between 1.000 and 1.026 from 20 to 1200 C (published resistance-heating alloy table). */
static void elements_have_the_resistance_of_their_rating(void **state)
{
    static const struct {
        const char *appliance, *part;
        double volt, watt;
    } rows[] = {
        {"range-thermostat", "bake-element", 240, 2500},
        {"range-thermostat", "broil-element", 240, 3000},
        {"range-relay-control", "bake-element", 240, 2500},
        {"range-relay-control", "broil-element", 240, 3000},
        {"range-hidden-bake", "bake-element", 240, 2400},
        {"range-hidden-bake", "broil-element", 240, 3600},
        {"wall-oven-convection", "bake-element", 240, 2800},
        {"wall-oven-convection", "broil-element", 240, 3400},
        {"wall-oven-convection", "ring-element", 240, 2500},
        {"range-208", "bake-element", 240, 2500},
        {"oven-230", "bake-element", 230, 1100},
        {"oven-230", "top-element", 230, 900},
        {"oven-230", "broil-element", 230, 1600},
        {"oven-230", "ring-element", 230, 2000},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const Branch *heater = branch_of(find(*state, rows[i].appliance), rows[i].part, 0);
        assert_near(heater->hot_ohm, rows[i].volt * rows[i].volt / rows[i].watt, 1e-9);
        assert_near(heater->hot_ohm / heater->cold_ohm, 1.013, 0.013);
        assert_near(heater->rated_watt, rows[i].watt, 1e-6);
    }
}

static void sound_elements_of_240_volts_read_15_to_50_ohms(void **state)
{
    const Fixture *f = *state;
    int count = 0;
    for (int i = 0; i < SHIPPED_COUNT; i++)
        for (int b = 0; b < f->all[i].branch_count; b++) {
            const Branch *branch = &f->all[i].branches[b];
            if (branch->type != BRANCH_HEATER || branch->rated_volt != 240) continue;
            assert_in_range((uintmax_t)branch->cold_ohm, 15, 50);
            count++;
        }
    assert_int_equal(count, 11);
}

/* IEC 60751: a platinum resistor of 1000 ohm at 0 C has 1077.9 ohm at 20 C and 1671 at 176.7 C (350 F). */
static void sensors_read_as_their_standard_says(void **state)
{
    const char *const with_sensor[] = {"range-relay-control", "range-hidden-bake", "wall-oven-convection",
                                       "range-208"};
    for (size_t i = 0; i < sizeof with_sensor / sizeof with_sensor[0]; i++) {
        const Branch *sensor = branch_of(find(*state, with_sensor[i]), "oven-sensor", 0);
        assert_int_equal(sensor->type, BRANCH_SENSOR);
        assert_near(sensor->cold_ohm, 1077.9, 0.1);
        assert_near(sensor->hot_ohm, 1673, 3);
        assert_true(sensor->cold_ohm > 1050 && sensor->cold_ohm < 1100);
    }
}

static void names_that_people_use_are_there(void **state)
{
    static const struct {
        const char *appliance, *parts[16], *marks[20], *functions[8];
    } rows[] = {
        {"range-thermostat",
         {"supply", "breaker", "terminal-block", "bake-element", "broil-element", "thermostat", "selector",
          "door-gasket"},
         {"L1", "L2", "N", "G", "BK1", "BK2", "BR1", "BR2", "T1", "T2", "T3"},
         {"off", "bake", "broil"}},
        {"range-relay-control",
         {"supply", "breaker", "terminal-block", "bake-element", "broil-element", "oven-sensor",
          "sensor-plug", "sensor-harness", "control", "bake-relay", "broil-relay", "line-relay",
          "door-gasket"},
         {"L1", "L2", "N", "G", "BK1", "BK2", "BR1", "BR2", "S1", "S2"},
         {"off", "bake", "broil"}},
        {"range-hidden-bake",
         {"control", "line-relay", "sensor-plug"},
         {"BK1", "BR2", "S2"},
         {"off", "bake", "broil"}},
        {"range-208",
         {"control", "line-relay", "sensor-plug"},
         {"BK1", "BR2", "S2"},
         {"off", "bake", "broil"}},
        {"wall-oven-convection",
         {"ring-element", "convection-fan", "cooling-fan", "cutout", "thermal-fuse", "door-lock",
          "line-relay"},
         {"L1", "L2", "N", "G", "S1", "S2"},
         {"off", "bake", "broil", "convection", "light"}},
        {"oven-230",
         {"bake-element", "top-element", "broil-element", "ring-element", "thermostat", "selector", "cutout"},
         {"L", "N", "PE"},
         {"off", "bake", "broil", "convection"}},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const Appliance *appliance = find(*state, rows[i].appliance);
        int number;
        for (int k = 0; k < 16 && rows[i].parts[k]; k++)
            assert_true(appliance_need_part(appliance, rows[i].parts[k], &number, NULL));
        for (int k = 0; k < 20 && rows[i].marks[k]; k++)
            assert_true(appliance_need_mark(appliance, rows[i].marks[k], &number, NULL));
        for (int k = 0; k < 8 && rows[i].functions[k]; k++)
            assert_true(appliance_need_function(appliance, rows[i].functions[k], &number, NULL));
        assert_int_equal(appliance_find_function(appliance, "off"), 0);
    }
}

/* Split phase: two legs of 120 V, 180 degrees apart. 208Y/120: ANSI C84.1, three-phase four-wire; the phases
 * are 120 degrees apart, 208 / sqrt 3 = 120.1 V. Single phase: IEC 60038, 230 V. */
static void supplies_are_as_their_systems(void **state)
{
    const Appliance *split = find(*state, "range-relay-control"), *wye = find(*state, "range-208"),
                    *single = find(*state, "oven-230");
    assert_near(split->leg_volt[0], 120, 1e-12);
    assert_near(split->leg_degree[1] - split->leg_degree[0], 180, 0);
    assert_near(wye->leg_volt[1], 120.09, 0.005);
    assert_near(fabs(wye->leg_degree[1] - wye->leg_degree[0]), 120, 0);
    assert_near(single->leg_volt[0], 230, 0);
    assert_int_equal(single->legs[1], -1);
}

static void priors_are_probabilities(void **state)
{
    const Fixture *f = *state;
    for (int i = 0; i < SHIPPED_COUNT; i++) {
        double sum = f->all[i].nothing_wrong_prior;
        for (int k = 0; k < f->all[i].fault_count; k++) {
            assert_true(f->all[i].faults[k].prior > 0);
            sum += f->all[i].faults[k].prior;
        }
        assert_near(sum, 1, 1e-12);
    }
}

static void every_fault_is_said_and_sourced(void **state)
{
    const Fixture *f = *state;
    for (int i = 0; i < SHIPPED_COUNT; i++)
        for (int k = 0; k < f->all[i].fault_count; k++) {
            const Fault *fault = &f->all[i].faults[k];
            assert_true(fault->mode->says[0]);
            assert_true(strlen(fault->mode->weight_source) > 0);
            assert_int_equal(appliance_find_fault(&f->all[i], fault->name), k);
        }
}

static void what_is_bought_has_a_price_and_a_time(void **state)
{
    const Fixture *f = *state;
    for (int i = 0; i < SHIPPED_COUNT; i++)
        for (int k = 0; k < f->all[i].part_count; k++) {
            const Part *part = &f->all[i].parts[k];
            const char *kind = part->kind->name;
            if (!part->described || text_equal(kind, "supply") || text_equal(kind, "use")) continue;
            const DescribedPart *bought = f->all[i].parts[part->replaced_with].described;
            if (bought->price_minor <= 0 || bought->replace_second <= 0)
                fail_msg("%s has no price", part->name);
        }
}

static void no_conductor_is_without_resistance(void **state)
{
    const Fixture *f = *state;
    for (int i = 0; i < SHIPPED_COUNT; i++)
        for (int k = 0; k < f->all[i].branch_count; k++)
            if (f->all[i].branches[k].type != BRANCH_GAP) {
                assert_true(f->all[i].branches[k].cold_ohm > 0);
                assert_true(f->all[i].branches[k].hot_ohm > 0);
            }
}

static void words_of_the_trade_are_known(void **state)
{
    static const char *const complaints[] = {"too-cool",    "too-hot",      "slow",         "swings",
                                             "pale-bottom", "burnt-bottom", "pale-top",     "burnt-top",
                                             "uneven",      "no-heat",      "trips-breaker"};
    static const char *const looks[] = {"glows",          "warm",  "dark", "blistered",
                                        "burnt-terminal", "loose", "torn", "sound"};
    const Catalogue *catalogue = find(*state, "oven-230")->catalogue;
    for (size_t i = 0; i < sizeof complaints / sizeof complaints[0]; i++)
        assert_true(kind_find_complaint(catalogue, complaints[i]) >= 0);
    for (size_t i = 0; i < sizeof looks / sizeof looks[0]; i++)
        assert_true(kind_find_look(catalogue, looks[i]) >= 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing_is_found_wrong),
        cmocka_unit_test(elements_have_the_resistance_of_their_rating),
        cmocka_unit_test(sound_elements_of_240_volts_read_15_to_50_ohms),
        cmocka_unit_test(sensors_read_as_their_standard_says),
        cmocka_unit_test(names_that_people_use_are_there),
        cmocka_unit_test(supplies_are_as_their_systems),
        cmocka_unit_test(priors_are_probabilities),
        cmocka_unit_test(every_fault_is_said_and_sourced),
        cmocka_unit_test(what_is_bought_has_a_price_and_a_time),
        cmocka_unit_test(no_conductor_is_without_resistance),
        cmocka_unit_test(words_of_the_trade_are_known),
    };
    return cmocka_run_group_tests(tests, begin, end);
}
