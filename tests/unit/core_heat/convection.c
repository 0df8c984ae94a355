/* convection.c: correlations against worked examples, and that they behave over every state of an oven. */
#include "core/heat/heat.h"
#include "support/table.h"

#include <math.h>

static const char *const NUSSELT_KEYS[] = {"given",   "form",      "prandtl", "aspect",
                                           "nusselt", "tolerance", NULL};
static const char *const KEYS[] = {"given",  "form",        "surface",   "air",
                                   "height", "coefficient", "tolerance", NULL};

static bool is_form(const TableRow *row, const char *form)
{
    return text_equal(table_text(row, "form"), form);
}

static double nusselt(const TableRow *row, double rayleigh)
{
    if (is_form(row, "upward")) return heat_nusselt_upward(rayleigh);
    if (is_form(row, "downward")) return heat_nusselt_downward(rayleigh);
    if (is_form(row, "gap")) return heat_nusselt_gap(rayleigh, table_value(row, "aspect", UNIT_NONE));
    const double prandtl = table_value(row, "prandtl", UNIT_NONE);
    if (is_form(row, "vertical")) return heat_nusselt_vertical(rayleigh, prandtl);
    if (is_form(row, "laminar")) return heat_nusselt_vertical_laminar(rayleigh, prandtl);
    table_true(row, is_form(row, "cylinder"), "no such form");
    return heat_nusselt_cylinder(rayleigh, prandtl);
}

static void check_nusselt(const TableRow *row)
{
    const double got = nusselt(row, table_value(row, "given", UNIT_NONE));
    table_near(row, got, table_value(row, "nusselt", UNIT_NONE), table_value(row, "tolerance", UNIT_NONE));
}

static void check_coefficient(const TableRow *row)
{
    const double length = table_value(row, "given", UNIT_METRE);
    const double surface = table_value(row, "surface", UNIT_CELSIUS);
    const double air = table_value(row, "air", UNIT_CELSIUS);
    double got;
    if (is_form(row, "gap"))
        got = heat_convection_gap(length, table_value(row, "height", UNIT_METRE), surface, air);
    else if (is_form(row, "vertical"))
        got = heat_convection_vertical(length, surface, air);
    else
        got = heat_convection_cylinder(length, surface, air);
    table_near(row, got, table_value(row, "coefficient", UNIT_NONE),
               table_value(row, "tolerance", UNIT_NONE));
}

static void worked_examples_hold(void **state)
{
    (void)state;
    table_check("heat/convection", NUSSELT_KEYS, check_nusselt);
    table_check("heat/coefficient", KEYS, check_coefficient);
}

/* Incropera, Example 9.2 again: 1060 W from the door, to 1.5 percent. */
static void glass_door_loses_what_the_book_says(void **state)
{
    (void)state;
    const double watt = heat_convection_vertical(0.71, 232, 23) * 0.71 * 1.02 * (232 - 23);
    assert_near(watt, 1060, 0.015 * 1060);
}

/* A wall of 65 C in a room of 20 C: 3 to 6 W/m2K by natural convection, common practice. A hot shelf loses
 * more upward than downward; a cold one the other way round. */
static void directions_are_right(void **state)
{
    (void)state;
    const double wall = heat_convection_vertical(0.6, 65, 20);
    assert_true(wall > 3 && wall < 6);
    assert_true(heat_convection_horizontal(0.1, 200, 150, true) >
                heat_convection_horizontal(0.1, 200, 150, false));
    assert_true(heat_convection_horizontal(0.1, 20, 150, false) >
                heat_convection_horizontal(0.1, 20, 150, true));
    assert_near(heat_convection_horizontal(0.1, 20, 20, true), 0, 0);
}

static void demand_sound(double coefficient)
{
    if (!(isfinite(coefficient) && coefficient >= 0 && coefficient < 1000)) fail_msg("%g W/m2K", coefficient);
}

static void every_state_of_an_oven_gives_a_figure(void **state)
{
    (void)state;
    for (double surface = -20; surface <= 1000; surface += 37)
        for (double air = -20; air <= 500; air += 23) {
            demand_sound(heat_convection_vertical(0.4, surface, air));
            demand_sound(heat_convection_horizontal(0.1, surface, air, true));
            demand_sound(heat_convection_horizontal(0.1, surface, air, false));
            demand_sound(heat_convection_cylinder(0.0065, surface, air));
            demand_sound(heat_convection_gap(0.015, 0.35, surface, air));
            demand_sound(heat_convection_forced(0.4, 2, surface, air));
        }
}

/* Incropera, Example 7.1, from memory: air of 300 C over a plate of 27 C, 0.5 m long, at 10 m/s and 6 kPa;
 * here the same Reynolds number 9597 at one atmosphere, Nu = 57.4. */
static void blown_plate(void **state)
{
    (void)state;
    const HeatAir air = heat_air((300 + 27) / 2.0);
    const double speed = 9597 * air.viscosity / 0.5;
    const double got = heat_convection_forced(0.5, speed, 27, 300) * 0.5 / air.conductivity;
    assert_near(got, 57.4, 0.4);
    assert_near(heat_convection_mixed(5, 0), 5, 1e-12);
    assert_near(heat_convection_mixed(3, 3), 3 * cbrt(2), 1e-12);
    assert_near(heat_convection_forced(0.5, 0, 27, 300), 0, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(worked_examples_hold), cmocka_unit_test(glass_door_loses_what_the_book_says),
        cmocka_unit_test(directions_are_right), cmocka_unit_test(every_state_of_an_oven_gives_a_figure),
        cmocka_unit_test(blown_plate),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
