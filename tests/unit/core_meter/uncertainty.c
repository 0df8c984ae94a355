/* The worked examples of the GUM and of JCGM 106. */
#include "base/mathematics.h"
#include "core/meter/meter.h"
#include "support/table.h"

#include <math.h>
#include <stdio.h>

/* JCGM 100:2008, H.1: calibration of an end gauge. Contributions in nm and their degrees of freedom as in
 * table H.1; the GUM prints u = 32 nm, 16 degrees of freedom (truncated), U99 = 93 nm with t99(16) = 2.92
 * and, with second-order terms, 34 nm. */
static void end_gauge_is_that_of_the_gum(void **state)
{
    (void)state;
    const double contributions[] = {25, 16.599, 6.7, 5.8, 3.9, 2.887};
    const double freedom[] = {18, 2, 8, 24, 5, 50};
    const double u = meter_combine(contributions, 6);
    assert_near(u, 31.66, 0.005);
    assert_near(round(u), 32, 0);
    const double nu = meter_effective_freedom(contributions, freedom, 6);
    assert_near(nu, 16.75, 0.005);
    assert_near(2.92 * u, 93, 0.6);
    const double with_second_order[] = {u, 11.7, 1.7};
    assert_near(round(meter_combine(with_second_order, 3)), 34, 0);
}

/* JCGM 100:2008, H.2: resistance, reactance and impedance from V, I and phi measured together. */
static void impedance_is_that_of_the_gum(void **state)
{
    (void)state;
    const double v = 4.999, i = 19.661e-3, phi = 1.04446;
    const double u[] = {3.2e-3, 9.5e-6, 7.5e-4};
    const double r[] = {1, -0.36, 0.86, -0.36, 1, -0.65, 0.86, -0.65, 1};
    const double resistance = v / i * math_cos(phi), reactance = v / i * math_sin(phi), impedance = v / i;
    const double by_r[] = {resistance / v, -resistance / i, -reactance};
    const double by_x[] = {reactance / v, -reactance / i, resistance};
    const double by_z[] = {impedance / v, -impedance / i, 0};
    assert_near(resistance, 127.732, 0.0005);
    assert_near(reactance, 219.847, 0.0005);
    assert_near(impedance, 254.260, 0.0005);
    assert_near(meter_combine_correlated(by_r, u, r, 3), 0.070, 0.0015);
    assert_near(meter_combine_correlated(by_x, u, r, 3), 0.296, 0.0015);
    assert_near(meter_combine_correlated(by_z, u, r, 3), 0.237, 0.0015);
}

static void check_conformity(const TableRow *row)
{
    double estimate, uncertainty, want, tolerance, low = -INFINITY, high;
    table_true(row, sscanf(table_text(row, "limits"), "%lf %lf", &low, &high) == 2, "two limits");
    estimate = table_value(row, "given", UNIT_NONE);
    uncertainty = table_value(row, "uncertainty", UNIT_NONE);
    want = table_value(row, "inside", UNIT_NONE);
    tolerance = table_value(row, "tolerance", UNIT_NONE);
    table_near(row, meter_inside_probability(estimate, uncertainty, low, high), want, tolerance);
    table_near(row, meter_inside_probability(-estimate, uncertainty, -high, -low), want, tolerance);
}

static void probabilities_are_those_of_jcgm_106(void **state)
{
    (void)state;
    static const char *const keys[] = {"given", "uncertainty", "limits", "inside", "tolerance", NULL};
    table_check("meter/conformity", keys, check_conformity);
}

/* JCGM 106:2012, 9.5.4: radial error of a ball bearing, gamma distributed (k = 4, scale 0.25 um), limit 2 um,
 * measured with u = 0.25 um. Consumer's risk: nonconforming and yet accepted at or below `limit`. */
static double consumer_risk(double accepted_below)
{
    const double step = 1e-4, u = 0.25, scale = 0.25;
    double risk = 0;
    for (double truth = 2 + step / 2; truth < 12; truth += step) {
        const double density = truth * truth * truth * math_exp(-truth / scale) / (6 * math_pow(scale, 4));
        risk += density * meter_inside_probability(truth, u, -INFINITY, accepted_below) * step;
    }
    return risk;
}

static void ball_bearing_is_that_of_jcgm_106(void **state)
{
    (void)state;
    assert_near(consumer_risk(INFINITY), 0.04238, 0.000005);
    assert_near(consumer_risk(2), 0.00802, 0.000005);
    assert_near(consumer_risk(2 - 0.328), 0.001, 0.00001);
}

static void verdicts_have_three_answers(void **state)
{
    (void)state;
    assert_int_equal(meter_judge(23, 0.3, 21, 25, 0.95).verdict, METER_INSIDE);
    assert_int_equal(meter_judge(26, 0.3, 21, 25, 0.95).verdict, METER_OUTSIDE);
    assert_int_equal(meter_judge(25.2, 0.3, 21, 25, 0.95).verdict, METER_CANNOT_TELL);
    assert_int_equal(meter_judge(24.8, 0.3, 21, 25, 0.95).verdict, METER_CANNOT_TELL);
    assert_int_equal(meter_judge(INFINITY, 1, 21, 25, 0.95).verdict, METER_OUTSIDE);
    assert_int_equal(meter_judge(23, INFINITY, 21, 25, 0.95).verdict, METER_CANNOT_TELL);
    assert_int_equal(meter_judge(25, 0, 21, 25, 0.95).verdict, METER_INSIDE);
    assert_int_equal(meter_judge(25.001, 0, 21, 25, 0.95).verdict, METER_OUTSIDE);
    /* far out, the probability keeps its digits */
    const double far = meter_inside_probability(100, 1, -INFINITY, 80);
    assert_near(far / 2.7536241186062337e-89, 1, 1e-9); /* computed in 200-bit arithmetic */
}

static void guard_band_gives_its_coverage(void **state)
{
    (void)state;
    assert_near(meter_guard_band(0.3, 0.95), 1.645 * 0.3,
                0.0002);                                  /* ISO 14253-1:2017, g = 1.65 u, from memory */
    assert_near(meter_guard_band(1, 0.97725), 2, 0.0001); /* ILAC-G8: w = U with k = 2 */
    const double edge = 25 - meter_guard_band(0.3, 0.95);
    assert_near(meter_judge(edge, 0.3, -INFINITY, 25, 0.95).inside_probability, 0.95, 1e-12);
    assert_near(meter_guard_band(1, 0.5), 0, 1e-15);
}

static void combining_has_its_limits(void **state)
{
    (void)state;
    const double c[] = {1, -1}, u[] = {2, 2}, tied[] = {1, 1, 1, 1}, free_ones[] = {1, 0, 0, 1},
                 none[] = {0, 0};
    const double endless[] = {INFINITY, INFINITY};
    assert_near(meter_combine_correlated(c, u, tied, 2), 0, 0); /* fully correlated errors cancel */
    assert_near(meter_combine_correlated(c, u, free_ones, 2), sqrt(8), 1e-15);
    assert_true(isinf(meter_effective_freedom(u, endless, 2)) &&
                isinf(meter_effective_freedom(none, endless, 2)));
    assert_near(meter_combine(NULL, 0), 0, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(end_gauge_is_that_of_the_gum),
        cmocka_unit_test(impedance_is_that_of_the_gum),
        cmocka_unit_test(probabilities_are_those_of_jcgm_106),
        cmocka_unit_test(ball_bearing_is_that_of_jcgm_106),
        cmocka_unit_test(verdicts_have_three_answers),
        cmocka_unit_test(guard_band_gives_its_coverage),
        cmocka_unit_test(combining_has_its_limits),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
