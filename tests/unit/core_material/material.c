/* material.c: lines over temperature, their ends, and the curve of a heating wire.
 * What stands in data/parts/materials.yaml is read and held by format_appliance_yaml/catalogue. */
#include "core/material/material.h"
#include "support/near.h"

#include <string.h>

static const MaterialPoint points[] = {{20, 1}, {100, 1.006}, {500, 1.026}, {700, 1.010}};
static const Material rows[] = {
    {.name = "wool",
     .density = 32,
     .specific_heat = 840,
     .conductivity = 0.04,
     .conductivity_slope = 0.00015},
    {.name = "wire",
     .density = 8400,
     .specific_heat = 450,
     .specific_heat_slope = 0.2,
     .conductivity = 13,
     .conductivity_slope = -0.05,
     .resistance = points,
     .resistance_count = 4},
};
static const MaterialTable table = {rows, 2};

static void materials_are_found_by_name(void **state)
{
    (void)state;
    assert_ptr_equal(material_find(&table, "wire"), &rows[1]);
    assert_null(material_find(&table, "wir"));
    assert_null(material_find(&(MaterialTable){0}, "wire"));
}

static void lines_hold_and_stop_at_their_ends(void **state)
{
    (void)state;
    assert_near(material_conductivity(&rows[0], 20), 0.04, 0);
    assert_near(material_conductivity(&rows[0], 200), 0.067, 1e-12);
    assert_near(material_conductivity(&rows[0], -40), material_conductivity(&rows[0], 0), 0);
    assert_near(material_conductivity(&rows[0], 4000), material_conductivity(&rows[0], 1000), 0);
    assert_near(material_conductivity(&rows[1], 900), 1.3, 1e-12); /* the line would be below zero */
    assert_near(material_specific_heat(&rows[0], 500), 840, 0);
}

/* Against the sum of small steps. */
static void heat_is_the_integral_of_specific_heat(void **state)
{
    (void)state;
    double sum = 0;
    for (int i = 0; i < 180; i++) sum += material_specific_heat(&rows[1], 20.5 + i);
    assert_near(material_heat_between(&rows[1], 20, 200), sum, 1e-6);
    assert_near(material_heat_between(&rows[1], 200, 20), -sum, 1e-6);
}

static void resistance_follows_its_points(void **state)
{
    (void)state;
    for (int i = 0; i < 4; i++)
        assert_near(material_resistance_ratio(&rows[1], points[i].celsius), points[i].ratio, 1e-15);
    assert_near(material_resistance_ratio(&rows[1], 300), 1.016, 1e-12);
    assert_near(material_resistance_ratio(&rows[1], 0), 1, 0);
    assert_near(material_resistance_ratio(&rows[1], 1500), 1.010, 0);
    assert_near(material_resistance_ratio(&rows[0], 500), 1, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(materials_are_found_by_name),
        cmocka_unit_test(lines_hold_and_stop_at_their_ends),
        cmocka_unit_test(heat_is_the_integral_of_specific_heat),
        cmocka_unit_test(resistance_follows_its_points),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
