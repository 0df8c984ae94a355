/* radiation.c: exchange between grey surfaces against worked examples, the star against the exact enclosure.
 */
#include "core/heat/heat.h"
#include "support/table.h"

#include <math.h>

static const char *const KEYS[] = {"given", "form",      "emissivity", "other", "other-emissivity",
                                   "flux",  "tolerance", NULL};

static void check_flux(const TableRow *row)
{
    const double celsius = table_value(row, "given", UNIT_CELSIUS);
    const double other = table_value(row, "other", UNIT_CELSIUS);
    const double emissivity = table_value(row, "emissivity", UNIT_NONE);
    const double got = text_equal(table_text(row, "form"), "small")
                           ? heat_radiation_small(emissivity, celsius, other)
                           : heat_radiation_parallel(emissivity, celsius,
                                                     table_value(row, "other-emissivity", UNIT_NONE), other);
    table_near(row, got, table_value(row, "flux", UNIT_NONE), table_value(row, "tolerance", UNIT_NONE));
}

static void worked_examples_hold(void **state)
{
    (void)state;
    table_check("heat/radiation", KEYS, check_flux);
}

/* Sides of a cube: 0.1998; Incropera, Figure 13.4 and tables of view factors, from memory. Very close plates
 * see nothing but each other. */
static void view_factors_hold(void **state)
{
    (void)state;
    assert_near(heat_view_parallel(1, 1, 1), 0.1998, 0.00005);
    assert_near(heat_view_parallel(0.5, 1, 0.5), heat_view_parallel(1, 0.5, 0.5), 1e-15);
    assert_near(heat_view_parallel(1, 1, 1e-4), 1, 5e-4);
    assert_true(heat_view_parallel(1, 1, 10) < 0.01);
}

/* Massoud, Engineering Thermofluids, problem 32: plates of 0.5 m x 1 m, 0.5 m apart, 900 and 1200 C,
 * emissivities 0.8 and 0.6, in a room of 35 C: radiosities 95710 and 171200 W/m2, 23270 and 71790 W. Read;
 * the book rounds its view factor, so 0.3 percent. */
static void two_plates_in_a_room(void **state)
{
    (void)state;
    const double f = heat_view_parallel(0.5, 1, 0.5);
    const double view[] = {0, f, 1 - f, f, 0, 1 - f, 0, 0, 1}; /* a large room sees itself */
    const double emissivity[] = {0.8, 0.6, 1}, celsius[] = {900, 1200, 35};
    double flux[3], radiosity[3];
    heat_radiation_enclosure(3, view, emissivity, celsius, flux, radiosity);
    assert_near(radiosity[0] / 95710, 1, 0.003);
    assert_near(radiosity[1] / 171200, 1, 0.003);
    assert_near(0.5 * flux[0] / 23270, 1, 0.003);
    assert_near(0.5 * flux[1] / 71790, 1, 0.003);
}

/* Six sides of a box as a star. Heat that leaves adds up to none, whatever the temperatures. */
enum { SIDES = 6 };
static const double AREA[SIDES] = {0.18, 0.18, 0.16, 0.16, 0.17, 0.17};

static void star_flux(const double *emissivity, const double *celsius, double *flux)
{
    double factor[SIDES], area[SIDES];
    heat_star_factors(SIDES, AREA, factor);
    for (int i = 0; i < SIDES; i++) area[i] = heat_star_area(AREA[i], emissivity[i], factor[i]);
    const double node = heat_black_flux(heat_star_celsius(SIDES, area, celsius));
    for (int i = 0; i < SIDES; i++) flux[i] = area[i] / AREA[i] * (heat_black_flux(celsius[i]) - node);
}

static void star_gives_and_takes_alike(void **state)
{
    (void)state;
    const double emissivity[SIDES] = {0.9, 0.9, 0.9, 0.8, 0.9, 0.5},
                 celsius[SIDES] = {300, 180, 190, 120, 200, 170};
    double flux[SIDES], sum = 0;
    star_flux(emissivity, celsius, flux);
    for (int i = 0; i < SIDES; i++) sum += flux[i] * AREA[i];
    assert_near(sum, 0, 1e-9);
    assert_true(flux[0] > 0 && flux[3] < 0);
}

/* A cube, whose views are known (opposite 0.1998, the other four share the rest): one hot side. */
static void star_is_close_to_the_exact_cube(void **state)
{
    (void)state;
    const double f = heat_view_parallel(1, 1, 1), area[SIDES] = {1, 1, 1, 1, 1, 1};
    const double emissivity[SIDES] = {0.9, 0.9, 0.9, 0.9, 0.9, 0.3},
                 celsius[SIDES] = {300, 180, 180, 150, 180, 180};
    double view[SIDES * SIDES], exact[SIDES], radiosity[SIDES], factor[SIDES], star[SIDES], worst = 0;
    for (int i = 0; i < SIDES; i++)
        for (int j = 0; j < SIDES; j++) view[i * SIDES + j] = i == j ? 0 : j == (i ^ 1) ? f : (1 - f) / 4;
    heat_radiation_enclosure(SIDES, view, emissivity, celsius, exact, radiosity);
    heat_star_factors(SIDES, area, factor);
    for (int i = 0; i < SIDES; i++) {
        assert_near(factor[i], 1.2, 1e-9); /* each sees five sixths of all */
        star[i] = heat_star_area(1, emissivity[i], factor[i]);
    }
    const double node = heat_black_flux(heat_star_celsius(SIDES, star, celsius));
    for (int i = 0; i < SIDES; i++) {
        const double got = star[i] * (heat_black_flux(celsius[i]) - node);
        worst = fmax(worst, fabs(got - exact[i]) / fabs(exact[0]));
    }
    print_message("star against exact: %.2g of the hot side's flux\n", worst);
    assert_near(worst, 0, 0.01);
}

/* However different the areas, factors stay finite: a large cavity and two small elements. */
static void star_of_unlike_surfaces_stays_bounded(void **state)
{
    (void)state;
    const double area[3] = {1.0, 0.06, 0.05};
    double factor[3];
    heat_star_factors(3, area, factor);
    assert_near(factor[0], 4, 0.01);
    assert_true(factor[1] > 1 && factor[1] < 1.1);
}

static void linear_coefficient_is_the_quotient(void **state)
{
    (void)state;
    const double got = heat_radiation_coefficient(200, 180) * 20;
    assert_near(got, heat_black_flux(200) - heat_black_flux(180), 1e-9);
    assert_near(heat_radiation_coefficient(26.85, 26.85), 6.12, 0.005); /* 4 sigma T^3 at 300 K */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(worked_examples_hold),
        cmocka_unit_test(view_factors_hold),
        cmocka_unit_test(two_plates_in_a_room),
        cmocka_unit_test(star_gives_and_takes_alike),
        cmocka_unit_test(star_is_close_to_the_exact_cube),
        cmocka_unit_test(star_of_unlike_surfaces_stays_bounded),
        cmocka_unit_test(linear_coefficient_is_the_quotient),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
