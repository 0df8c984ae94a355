/* published.c: simulated ovens against published measurements: a table of preheat, power, swing and the like,
 * and the energy that a wet brick takes, against the European Union's standard consumption.
 *
 * Standard energy consumption: Commission Regulation (EU) No 66/2014, Annex II (and Delegated Regulation
 * 65/2014): SEC = 0.0042 V + 0.55 kWh for an electric cavity of V litres; read where it is quoted. Eight
 * declared ovens of 40 to 73 litres take 0.76 to 1.10 kWh with conventional heat and 0.68 to 0.81 (one 1.23)
 * with a fan, SEC being 0.72 to 0.86.
 *
 * The brick: EN 50304:2009, 8.3.1.2, and EN 60350-1: soaked in cold water, two thermocouples 32 mm deep at
 * (5 +- 2) C (read); the oven from cold in a room of (23 +- 2) C (read); until the thermocouples have risen
 * by 55 K (quoted). From memory: 230 x 114 x 64 mm, 920 g dry with 1050 g of water; the middle of the oven
 * 180 K above the room with conventional heat, 155 K with a fan (the standard interpolates between three
 * settings, we set these). Also from memory, and judged: 0.84 kJ/kgK and 1.0 W/mK of the soaked brick, and
 * 100 g of water that leaves its surface as steam. */
#include "baking.h"
#include "support/shipped.h"
#include "support/table.h"

#include <math.h>

static const char *const KEYS[] = {"given", "function", "set", "figure", "expect", NULL};

static const double KITCHEN = 23;

/* --- the table --- */

static int function_of(const Baking *baking, const TableRow *row)
{
    const char *name = table_text(row, "function");
    const int function = text_equal(name, "usual") ? thermal_usual_function(&baking->model)
                                                   : appliance_find_function(&baking->appliance, name);
    table_true(row, function > 0, "the appliance has the function");
    return function;
}

static double kilowatt_hour(const Baking *baking, const Oven *oven, double second)
{
    OvenRun run;
    return baking_joule(baking, oven, second, &run) / 3.6e6;
}

static double figure_of(const Baking *baking, const TableRow *row, Unit *unit)
{
    const char *figure = table_text(row, "figure");
    const double set = table_value(row, "set", UNIT_CELSIUS);
    Baked baked;
    Oven oven;
    baking_oven(baking, function_of(baking, row), set, -1, &oven);
    baking_bake(baking, &oven, set, &baked);
    const double reached = baking_second_at(&baked, set);
    *unit = UNIT_NONE;
    if (text_equal(figure, "energy")) return kilowatt_hour(baking, &oven, reached);
    if (text_equal(figure, "twenty")) return kilowatt_hour(baking, &oven, 1200);
    if (text_equal(figure, "hour")) return kilowatt_hour(baking, &oven, 3600);
    *unit = UNIT_KELVIN;
    if (text_equal(figure, "swing")) return baked.figures.swing_kelvin;
    if (text_equal(figure, "overshoot")) return baked.figures.overshoot_kelvin;
    *unit = UNIT_SECOND;
    if (text_equal(figure, "preheat")) return reached;
    if (text_equal(figure, "period")) return baked.figures.period_second;
    *unit = UNIT_WATT;
    if (text_equal(figure, "hold")) return baking_mean_watt(baking, &oven, &baked, 3600);
    *unit = UNIT_CELSIUS;
    table_true(row, text_equal(figure, "sheath"), "a figure that is known");
    return thermal_sheath_celsius(&baking->model, 0, 1);
}

static void check_row(const TableRow *row)
{
    double low, high;
    Unit unit;
    Baking baking;
    baking_begin(&baking, table_text(row, "given"), KITCHEN);
    const double got = figure_of(&baking, row, &unit);
    table_range(row, "expect", unit, &low, &high);
    table_near(row, got, (low + high) / 2, (high - low) / 2);
    baking_end(&baking);
}

static void measurements_are_met(void **state)
{
    (void)state;
    assert_true(table_check("thermal/published", KEYS, check_row) > 35);
}

/* --- the brick --- */

static const double LENGTH = 0.230, WIDTH = 0.114, HEIGHT = 0.064;
static const double STARTS = 5, RISES = 55;

/* The core is what lags: its conductance gives it the slowest time constant of the box whose surface is held
 * (product of three plates' first terms; Incropera 5.40, from memory). The steam is heat that the surface
 * takes up without getting hotter; it does so by some 70 K. */
static ThermalLoad wet_brick(void)
{
    const double joule_per_kelvin = 0.920 * 840 + 1.050 * 4186, steam = 0.100 * 2.257e6 / 70;
    const double diffusivity = 1.0 * LENGTH * WIDTH * HEIGHT / joule_per_kelvin;
    const double slowest =
        9.8696 * diffusivity * (1 / (LENGTH * LENGTH) + 1 / (WIDTH * WIDTH) + 1 / (HEIGHT * HEIGHT));
    return (ThermalLoad){.outer_joule_per_kelvin = 0.3 * joule_per_kelvin + steam,
                         .core_joule_per_kelvin = 0.7 * joule_per_kelvin,
                         .between_watt_per_kelvin = 0.7 * joule_per_kelvin * slowest,
                         .area = 2 * (LENGTH * WIDTH + LENGTH * HEIGHT + WIDTH * HEIGHT),
                         .emissivity = 0.93};
}

/* kWh until the core of a load has come from one temperature to another, found by halving the time; the oven
 * so many kelvin above the room. */
static double load_energy(const Baking *baking, int function, double above, const ThermalLoad *load,
                          double from_celsius, double to_celsius)
{
    const double kitchen = baking->circuit.ambient_celsius;
    double early = 60, late = 14400;
    OvenRun run;
    Oven oven;
    const Oven *lane = &oven;
    baking_oven(baking, function, kitchen + above, -1, &oven);
    thermal_put_load(&baking->model, load, &oven);
    for (int i = 0; i < 24; i++) {
        const OvenTerms terms = {
            .second = (early + late) / 2, .start_celsius = kitchen, .load_celsius = from_celsius};
        run = (OvenRun){.trace = {NULL}};
        oven_simulate(&lane, &run, 1, &terms, OVEN_DOUBLE);
        *(run.end_celsius[OVEN_CORE] < to_celsius ? &early : &late) = terms.second;
    }
    print_message("%s, %s: %.2f kWh in %.0f min\n", baking->appliance.name,
                  baking->appliance.functions[function].name, run.given_joule / 3.6e6, late / 60);
    return run.given_joule / 3.6e6;
}

static double standard_energy(const Baking *baking) { return 0.0042 * baking_litre(baking) + 0.55; }

/* Of conventional heat and a fan, where there is one, the one that takes less: as the label has it. */
static void bricks_take_the_standard_energy(void **state)
{
    (void)state;
    const ThermalLoad load = wet_brick();
    for (int a = 0; a < SHIPPED_COUNT; a++) {
        Baking baking;
        baking_begin(&baking, shipped_names[a], KITCHEN);
        const int convection = appliance_find_function(&baking.appliance, "convection");
        double energy =
            load_energy(&baking, thermal_usual_function(&baking.model), 180, &load, STARTS, STARTS + RISES);
        assert_near(energy / standard_energy(&baking), 1, 0.25);
        if (convection > 0)
            energy = fmin(energy, load_energy(&baking, convection, 155, &load, STARTS, STARTS + RISES));
        assert_near(energy / standard_energy(&baking), 1, 0.25);
        baking_end(&baking);
    }
}

/* The load of the American test, from memory: an aluminium cylinder of 3.86 kg (6.25 by 2.8 inches, black),
 * 963 J/kgK, raised by 130 K in an oven 180.6 K above a room of 25 C; 1.0 to 1.2 kWh at 12 to 13 per cent
 * efficiency. From memory all of it, so a quarter more is let pass, and only for ranges of that market. */
static void aluminium_blocks_take_what_is_remembered(void **state)
{
    (void)state;
    const ThermalLoad load = {.outer_joule_per_kelvin = 3.86 * 963 / 2,
                              .core_joule_per_kelvin = 3.86 * 963 / 2,
                              .between_watt_per_kelvin = 150,
                              .area = 0.075,
                              .emissivity = 0.9};
    Baking baking;
    baking_begin(&baking, "range-relay-control", 25);
    const double energy = load_energy(&baking, thermal_usual_function(&baking.model), 180.6, &load, 25, 155);
    assert_true(energy > 1.0 && energy < 1.2 * 1.25);
    baking_end(&baking);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(measurements_are_met),
        cmocka_unit_test(bricks_take_the_standard_energy),
        cmocka_unit_test(aluminium_blocks_take_what_is_remembered),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
