/* closed_form.c: small networks whose warming can be written down, made by hand out of the oven's.
 *
 * A node with no capacity per joule never changes: a reservoir. Conductances that are not set are 0.
 * Equations of one node: Incropera, DeWitt, Fundamentals of Heat and Mass Transfer, 5.1 to 5.3 (lumped
 * capacitance; general lumped analysis with radiation). Two nodes in a row and the on/off cycle: closed forms
 * of linear equations, worked out beside each test. */
#include "core/oven/oven.h"
#include "support/near.h"

#include <math.h>
#include <string.h>

static const double AMBIENT = 22; /* celsius, unless a test says otherwise */

/* Nothing touches anything; all nodes are reservoirs; the control always calls for one segment of no watts.
 */
static Oven nothing(void)
{
    Oven oven;
    memset(&oven, 0, sizeof oven);
    oven.network.wire[0] = 1;
    oven.network.ambient[0] = AMBIENT + OVEN_ZERO_CELSIUS;
    oven.network.ambient_fourth[0] = pow(AMBIENT + OVEN_ZERO_CELSIUS, 4);
    oven.control.heating = (OvenPattern){.until_second = {1}, .count = 1};
    oven.control.off_kelvin = INFINITY;
    oven.control.trip_kelvin = INFINITY;
    oven.control.reset_kelvin = -INFINITY;
    return oven;
}

static OvenRun simulate(const Oven *oven, double second, double step, double start, OvenPrecision precision)
{
    static double switches[64];
    const OvenTerms terms = {
        .second = second, .step_second = step, .start_celsius = start, .load_celsius = start};
    OvenRun run = {.switch_second = switches, .switch_room = 64};
    oven_simulate(&oven, &run, 1, &terms, precision);
    return run;
}

static const OvenPrecision precisions[] = {OVEN_SINGLE, OVEN_DOUBLE, OVEN_SCALAR};
enum { PRECISIONS = 3 };

/* An element of 1200 J/K in an oven of 11 kJ/K, 0.12 K/W between them, 0.25 K/W to the kitchen, 2400 W from
 * rest: the two eigenvalues of the linear system give time constants of 3064.79 s and 129.209 s. */
static void element_and_oven(void **state)
{
    (void)state;
    static const double second[] = {60, 300, 600, 1200}, want[] = {24.3341, 56.5928, 107.2208, 198.5422};
    Oven oven = nothing();
    oven.network.per_capacity[OVEN_BOTTOM] = 1 / 1200.0;
    oven.network.per_capacity[OVEN_AIR] = 1 / 11000.0;
    oven.network.forced[OVEN_BOTTOM] = 1 / 0.12;
    oven.network.forced[OVEN_WALLS] = 1 / 0.25;
    oven.control.heating.watt[0][0] = 2400;
    for (int p = 0; p < PRECISIONS; p++)
        for (int i = 0; i < 4; i++) {
            const OvenRun run = simulate(&oven, second[i], 0, AMBIENT, precisions[p]);
            assert_near(run.end_celsius[OVEN_AIR], want[i], p == 0 ? 2e-3 : 2e-4);
            if (i == 2) assert_near(run.end_celsius[OVEN_BOTTOM], 367.3546, p == 0 ? 2e-3 : 2e-4);
            assert_near(run.given_joule, 2400 * second[i], 2400e-6 * second[i]);
        }
}

/* One body of 12 kJ/K losing 4 W/K, heated directly, its sensor and walls a fiftieth of a second behind. */
static Oven one_body(double watt)
{
    Oven oven = nothing();
    oven.network.per_capacity[OVEN_BOTTOM] = 1 / (12000.0 - 1.02); /* less that of the three others */
    oven.network.wool[3] = 4;                                      /* to the reservoir in the insulation */
    oven.network.per_capacity[OVEN_AIR] = 1;
    oven.network.forced[OVEN_BOTTOM] = 100;
    oven.network.per_capacity[OVEN_SENSOR] = 100;
    oven.network.free[OVEN_SENSOR] = 1;
    oven.network.per_capacity[OVEN_WALLS] = 100;
    oven.network.forced[OVEN_WALLS] = 1;
    oven.control.heating.watt[0][0] = watt;
    return oven;
}

static const double BODY_SECOND = 3000;     /* its time constant: 12000 J/K over 4 W/K */
static const double QUICK_STEP = 0.02;      /* of the quick nodes, tied to the body by 100 W/K and less */
static const double SWITCH_TOLERANCE = 0.2; /* seconds: what the quick nodes stay behind, in and out */

/* Seconds from one temperature to another, towards a third. */
static double seconds_between(double from, double to, double towards)
{
    return BODY_SECOND * log((towards - from) / (towards - to));
}

static double after(double from, double second, double towards)
{
    return towards + (from - towards) * exp(-second / BODY_SECOND);
}

/* Held between 170 and 184 C with 2400 W: 94.390 s on, 271.152 s off. */
static void on_and_off(void **state)
{
    (void)state;
    Oven oven = one_body(2400);
    oven.control.off_kelvin = 184 + OVEN_ZERO_CELSIUS;
    oven.control.on_kelvin = 170 + OVEN_ZERO_CELSIUS;
    const double hot = AMBIENT + 2400 / 4.0;
    assert_near(seconds_between(AMBIENT, 184, hot), 944.13, 0.01);
    assert_near(seconds_between(170, 184, hot), 94.390, 0.001);
    assert_near(seconds_between(184, 170, AMBIENT), 271.152, 0.001);
    for (int p = 0; p < PRECISIONS; p++) {
        const OvenRun run = simulate(&oven, 2100, QUICK_STEP, AMBIENT, precisions[p]);
        assert_int_equal(run.switch_count, 7);
        const double *at = run.switch_second;
        assert_near(at[0], 944.13, SWITCH_TOLERANCE);
        for (int i = 1; i + 1 < 7; i += 2) {
            assert_near(at[i] - at[i - 1], 271.152, SWITCH_TOLERANCE);
            assert_near(at[i + 1] - at[i], 94.390, SWITCH_TOLERANCE);
        }
        /* Over one whole cycle: duty 0.25822, mean 619.73 W. */
        const double period = at[4] - at[2], on = at[4] - at[3];
        assert_near(on / period, 0.25822, 5e-4);
        assert_near(2400 * on / period, 619.73, 1.2);
    }
}

/* 15 s of 2400 W in every minute, by exponentials piece by piece; steps of the oven's own choice. */
static void duty_pattern(void **state)
{
    (void)state;
    Oven oven = nothing();
    oven.network.per_capacity[OVEN_BOTTOM] = 1 / 12000.0;
    oven.network.wool[3] = 4;
    oven.control.heating = (OvenPattern){.until_second = {15, 60}, .watt = {{2400}, {0}}, .count = 2};
    double want = AMBIENT;
    for (int minute = 0; minute < 30; minute++) want = after(after(want, 15, AMBIENT + 600), 45, AMBIENT);
    want = after(want, 10, AMBIENT + 600); /* ten seconds into the next */
    for (int p = 0; p < PRECISIONS; p++) {
        const OvenRun run = simulate(&oven, 1810, 0, AMBIENT, precisions[p]);
        assert_near(run.end_celsius[OVEN_BOTTOM], want, p == 0 ? 5e-3 : 2e-4);
        assert_near(run.given_joule, 2400 * (30 * 15 + 10), 20);
    }
}

/* The preheat pattern until the set temperature is first reached, the other one from then on. */
static void preheat_pattern(void **state)
{
    (void)state;
    Oven oven = one_body(1200);
    oven.control.preheat = (OvenPattern){.until_second = {60}, .watt = {{2400}}, .count = 1};
    oven.control.off_kelvin = 184 + OVEN_ZERO_CELSIUS;
    oven.control.on_kelvin = 170 + OVEN_ZERO_CELSIUS;
    const OvenRun run = simulate(&oven, 2100, QUICK_STEP, AMBIENT, OVEN_DOUBLE);
    assert_near(run.switch_second[0], 944.13, SWITCH_TOLERANCE);
    assert_near(run.switch_second[1] - run.switch_second[0], 271.152, SWITCH_TOLERANCE);
    assert_near(run.switch_second[2] - run.switch_second[1], seconds_between(170, 184, AMBIENT + 300),
                SWITCH_TOLERANCE);
}

/* A contact that opens 40 s after it is told to: hotter than 184 C by then, so longer until 170. */
static void sticking_contact(void **state)
{
    (void)state;
    Oven oven = one_body(2400);
    oven.control.off_kelvin = 184 + OVEN_ZERO_CELSIUS;
    oven.control.on_kelvin = 170 + OVEN_ZERO_CELSIUS;
    oven.control.stick_second = 40;
    oven.control.held_watt[0] = 2400;
    const double peak = after(184, 40, AMBIENT + 600);
    const double off = 40 + seconds_between(peak, 170, AMBIENT);
    for (int p = 0; p < PRECISIONS; p++) {
        const OvenRun run = simulate(&oven, 2100, QUICK_STEP, AMBIENT, precisions[p]);
        assert_near(run.switch_second[0], 944.13, SWITCH_TOLERANCE);
        assert_near(run.switch_second[1] - run.switch_second[0], off, SWITCH_TOLERANCE);
        assert_int_equal(run.switch_count, 5); /* off, on, off, on, off; the last long past */
        const double on = run.switch_second[0] + run.switch_second[2] - run.switch_second[1] +
                          run.switch_second[4] - run.switch_second[3] + 3 * 40;
        assert_near(run.given_joule, 2400 * on, 1e-4 * 2400 * on);
    }
}

/* A cutout at 150 C that closes again at 120 C, under a thermostat that would go on. */
static void cutout(void **state)
{
    (void)state;
    Oven oven = one_body(2400);
    oven.control.trip_kelvin = 150 + OVEN_ZERO_CELSIUS;
    oven.control.reset_kelvin = 120 + OVEN_ZERO_CELSIUS;
    oven.control.tripped_watt[0] = 100;
    const double first = seconds_between(AMBIENT, 150, AMBIENT + 600),
                 cool = seconds_between(150, 120, AMBIENT + 25),
                 warm = seconds_between(120, 150, AMBIENT + 600);
    const double second = first + cool + warm + cool + warm / 2; /* half way up once more */
    const double want = after(120, warm / 2, AMBIENT + 600);
    /* Single precision does not carry the small rises of so small steps while it cools slowly. */
    for (int p = 1; p < PRECISIONS; p++) {
        const OvenRun run = simulate(&oven, second, QUICK_STEP, AMBIENT, precisions[p]);
        assert_near(run.end_celsius[OVEN_BOTTOM], want, 0.1);
        assert_int_equal(run.switch_count, 0);
        assert_near(run.given_joule, 2400 * (first + 1.5 * warm) + 100 * 2 * cool, 0.5 * 2400);
    }
    oven.control.reset_kelvin = -INFINITY; /* one shot: it cools for good */
    const OvenRun run = simulate(&oven, first + 3000, QUICK_STEP, AMBIENT, OVEN_DOUBLE);
    assert_near(run.end_celsius[OVEN_BOTTOM], after(150, 3000, AMBIENT + 25), 0.05);
}

/* Radiation alone into surroundings without any: 1/T^3 grows evenly (Incropera, equation 5.19). */
static void cooling_by_radiation(void **state)
{
    (void)state;
    Oven oven = nothing();
    oven.network.ambient_fourth[0] = 0;
    oven.network.outside_radiate[1] = 5.67e-8 * 0.5; /* 0.5 m2, black */
    oven.network.per_capacity[OVEN_PANE] = 1 / 3000.0;
    const double from = 700, rate = 5.67e-8 * 0.5 / 3000;
    const double want = from / cbrt(1 + 3 * rate * from * from * from * 3600);
    for (int p = 0; p < PRECISIONS; p++) {
        const OvenRun run = simulate(&oven, 3600, 4, from - OVEN_ZERO_CELSIUS, precisions[p]);
        assert_near(run.end_celsius[OVEN_PANE] + OVEN_ZERO_CELSIUS, want, p == 0 ? 5e-3 : 1e-4);
        assert_near(run.lost_joule, 3000 * (from - want), p == 0 ? 30 : 0.3);
    }
}

/* Natural convection alone, heat as the difference to the power 5/4: d = d0 (1 + k d0^(1/4) t / 4)^-4. */
static void cooling_by_convection(void **state)
{
    (void)state;
    Oven oven = nothing();
    oven.network.outside_free[0] = 2;
    oven.network.per_capacity[OVEN_SKIN] = 1 / 3000.0;
    const double from = 200;
    const double want = from * pow(1 + 0.25 * 2 / 3000.0 * pow(from, 0.25) * 3600, -4);
    for (int p = 0; p < PRECISIONS; p++) {
        const OvenRun run = simulate(&oven, 3600, 4, AMBIENT + from, precisions[p]);
        assert_near(run.end_celsius[OVEN_SKIN] - AMBIENT, want, p == 0 ? 5e-3 : 1e-4);
    }
}

/* Integral of (a + b exp(-t/T))^4 from 0 to `second`, term by term. */
static double integral_of_fourth(double a, double b, double second)
{
    static const double binomial[] = {1, 4, 6, 4, 1};
    double sum = pow(a, 4) * second;
    for (int k = 1; k <= 4; k++)
        sum +=
            binomial[k] * pow(a, 4 - k) * pow(b, k) * (1 - exp(-k * second / BODY_SECOND)) * BODY_SECOND / k;
    return sum;
}

/* The mean of the fourth power while one body cools, from an instant that no step ends at. */
static void mean_fourth(void **state)
{
    (void)state;
    Oven oven = nothing();
    oven.network.per_capacity[OVEN_BOTTOM] = 1 / 12000.0;
    oven.network.wool[3] = 4;
    const double from = 1003, end = 3600, a = AMBIENT + OVEN_ZERO_CELSIUS, rise = 600;
    oven.control.heating.watt[0][0] = 4 * rise;
    const double want =
        (integral_of_fourth(a + rise, -rise, end) - integral_of_fourth(a + rise, -rise, from)) / (end - from);
    for (int p = 0; p < PRECISIONS; p++) {
        const OvenTerms terms = {
            .second = end, .start_celsius = AMBIENT, .load_celsius = AMBIENT, .mean_from_second = from};
        const Oven *lane = &oven;
        OvenRun run = {.switch_room = 0};
        oven_simulate(&lane, &run, 1, &terms, precisions[p]);
        assert_near(run.mean_fourth[OVEN_BOTTOM], want, 2e-4 * want);
        assert_near(run.mean_fourth[OVEN_CEILING], pow(a, 4), 1e-4 * pow(a, 4));
    }
}

/* Parallel plates, 800 K of emissivity 0.2 and 500 K of 0.7: 3625 W/m2 (Cengel, Heat and Mass Transfer,
 * example 13-7; from memory), as two legs of the radiant star whose resistances add up to the gap's. */
static void radiant_star(void **state)
{
    (void)state;
    Oven oven = nothing();
    OvenNetwork *n = &oven.network;
    const double cold[OVEN_HEATS] = {0}, sigma = 5.67e-8;
    double kelvin[OVEN_STATES], rate[OVEN_STATES];
    for (int i = 0; i < OVEN_STATES; i++) kelvin[i] = 300;
    kelvin[OVEN_FLOOR] = 800;
    kelvin[OVEN_CEILING] = 500;
    n->per_capacity[OVEN_FLOOR] = n->per_capacity[OVEN_CEILING] = 1;
    n->star[OVEN_FLOOR] = sigma / (1 / 0.2 - 0.5);
    n->star[OVEN_CEILING] = sigma / (1 / 0.7 - 0.5);
    n->star_closed[0] = 1 / (n->star[OVEN_FLOOR] + n->star[OVEN_CEILING]);
    oven_rates(n, cold, false, kelvin, rate);
    assert_near(rate[OVEN_CEILING], 3625, 1);
    assert_near(rate[OVEN_FLOOR], -3625, 1);
    /* The door open to black surroundings at 0 K as a third leg: what is given is what is lost. */
    n->ambient_fourth[0] = 0;
    n->open_star[0] = sigma;
    n->star_opened[0] = 1 / (1 / n->star_closed[0] + sigma) - n->star_closed[0];
    oven_rates(n, cold, true, kelvin, rate);
    assert_near(rate[OVEN_FLOOR] + rate[OVEN_CEILING] + rate[OVEN_LOST], 0, 1e-6);
    const double met = (n->star[OVEN_FLOOR] * pow(800, 4) + n->star[OVEN_CEILING] * pow(500, 4)) /
                       (n->star[OVEN_FLOOR] + n->star[OVEN_CEILING] + sigma);
    assert_near(rate[OVEN_LOST], sigma * met, 1e-6 * sigma * met);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(element_and_oven),     cmocka_unit_test(on_and_off),
        cmocka_unit_test(duty_pattern),         cmocka_unit_test(preheat_pattern),
        cmocka_unit_test(sticking_contact),     cmocka_unit_test(cutout),
        cmocka_unit_test(cooling_by_radiation), cmocka_unit_test(cooling_by_convection),
        cmocka_unit_test(mean_fourth),          cmocka_unit_test(radiant_star),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
