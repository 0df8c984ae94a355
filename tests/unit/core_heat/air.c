/* air.c: the printed table of air, and that nothing jumps between its rows. */
#include "core/heat/heat.h"
#include "support/table.h"

#include <math.h>

static const char *const KEYS[] = {"given",        "tolerance", "density", "specific-heat",
                                   "conductivity", "viscosity", "prandtl", NULL};

static void check_property(const TableRow *row, const char *key, double got)
{
    if (table_has(row, key)) {
        const double tolerance = table_value(row, "tolerance", UNIT_NONE);
        table_near(row, got, table_value(row, key, UNIT_NONE), tolerance);
    }
}

static void check_row(const TableRow *row)
{
    const HeatAir air = heat_air(table_value(row, "given", UNIT_CELSIUS));
    check_property(row, "density", air.density);
    check_property(row, "specific-heat", air.specific_heat);
    check_property(row, "conductivity", air.conductivity);
    check_property(row, "viscosity", air.viscosity);
    check_property(row, "prandtl", air.prandtl);
}

static void printed_table_holds(void **state)
{
    (void)state;
    assert_true(table_check("heat/air", KEYS, check_row) > 29);
}

/* Density over the whole range against the ideal gas at 101325 Pa and 287.05 J/kgK (dry air). */
static void density_is_that_of_an_ideal_gas(void **state)
{
    (void)state;
    for (double t = -10; t <= 600; t += 0.5) {
        const double ideal = 101325 / (287.05 * (t + 273.15));
        assert_near(heat_air(t).density / ideal, 1, 0.01);
    }
}

static void nothing_jumps(void **state)
{
    (void)state;
    HeatAir last = heat_air(-50);
    for (double t = -50; t <= 700; t += 0.1) {
        const HeatAir air = heat_air(t);
        assert_true(air.density <= last.density && air.conductivity >= last.conductivity);
        assert_near(air.viscosity / last.viscosity, 1, 1e-3);
        last = air;
    }
    assert_near(heat_air(NAN).density, 1.3410, 1e-9);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(printed_table_holds),
        cmocka_unit_test(density_is_that_of_an_ideal_gas),
        cmocka_unit_test(nothing_jumps),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
