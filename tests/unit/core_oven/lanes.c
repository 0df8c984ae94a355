/* lanes.c: an oven's run is the same bits alone or in company, in any lane, on any processor.
 *
 * The networks are made by hand with coefficients of an oven's magnitude, all different, so that lanes
 * switch, finish their patterns and sample at different instants; doors open, contacts stick, cutouts trip.
 */
#include "base/random.h"
#include "core/oven/oven_private.h"
#include "support/near.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { SAMPLES = 361, SWITCHES = 64, OVENS = OVEN_MOST_LANES };

typedef struct {
    float trace[OVEN_TRACES][SAMPLES], watt[OVEN_HEATS][SAMPLES];
    double switch_second[SWITCHES];
    OvenRun run;
} Kept;

static const OvenTerms terms = {.second = 3600,
                                .sample_second = 10,
                                .sample_count = SAMPLES,
                                .start_celsius = 21,
                                .load_celsius = 5,
                                .mean_from_second = 1234.5,
                                .open_from_second = {1500.25, 2000},
                                .open_until_second = {1530, 2010.5},
                                .opening_count = 2};

/* Anything within a factor of two of an oven. */
static double about(RandomStream *stream, double typical)
{
    return typical * (0.7 + 0.6 * random_uniform(stream));
}

static void fill(RandomStream *stream, double *values, int count, double typical)
{
    for (int i = 0; i < count; i++) values[i] = about(stream, typical);
}

static void make_network(RandomStream *stream, OvenNetwork *n)
{
    static const double capacity[OVEN_NODES] = {100,  450, 500, 300,  1400, 3200, 1400, 2800,
                                                1300, 3,   1,   2800, 2700, 4000, 1500};
    double sum = 0;
    for (int i = 0; i < OVEN_NODES; i++) n->per_capacity[i] = 1 / about(stream, capacity[i]);
    fill(stream, n->free, OVEN_SENSOR, 0.6);
    fill(stream, n->free + OVEN_SENSOR, 2, 0.03);
    fill(stream, n->forced, OVEN_STARRED, 0.2);
    n->forced[OVEN_SENSOR] = n->forced[OVEN_CENTRE] = 0.01;
    fill(stream, n->star, OVEN_SENSOR, 4e-9);
    n->star[OVEN_SENSOR] = n->star[OVEN_CENTRE] = 4e-11;
    for (int i = OVEN_BOTTOM; i < OVEN_STARRED; i++) sum += n->star[i];
    n->open_star[0] = about(stream, 1e-8);
    n->star_closed[0] = 1 / sum;
    n->star_opened[0] = 1 / (sum + n->open_star[0]) - 1 / sum;
    fill(stream, n->facing, 4, 2e-9);
    fill(stream, n->wool, 5, 0.6);
    n->wool_slope[0] = 1e-3;
    fill(stream, n->metal, 6, 1);
    n->metal[5] = 0.002;
    fill(stream, n->outside_free, 2, 1);
    fill(stream, n->outside_radiate, 2, 2e-8);
    n->vent[0] = about(stream, 0.5);
    n->open_vent[0] = about(stream, 20);
    n->wet[0] = about(stream, 2000);
    n->wire[0] = 1.02;
    n->wire[1] = -0.02;
    n->ambient[0] = 21 + OVEN_ZERO_CELSIUS;
    n->ambient_fourth[0] = pow(n->ambient[0], 4);
}

/* Even ones have a duty pattern and a sticking contact; one has a cutout that trips. */
static Oven make_oven(int number)
{
    RandomStream stream = random_stream((uint64_t)number + 1);
    Oven oven;
    memset(&oven, 0, sizeof oven);
    make_network(&stream, &oven.network);
    OvenControl *control = &oven.control;
    control->heating = (OvenPattern){.until_second = {1}, .watt = {{about(&stream, 2500)}}, .count = 1};
    if (number % 2 == 0) {
        control->preheat =
            (OvenPattern){.until_second = {40, 60}, .watt = {{2500, 0, 0}, {0, 3000, 0}}, .count = 2};
        control->heating =
            (OvenPattern){.until_second = {43.7, 61.3}, .watt = {{2500, 0, 300}, {0, 3000, 0}}, .count = 2};
        control->stick_second = 7.77;
        control->held_watt[0] = 2000;
    }
    control->off_kelvin = OVEN_ZERO_CELSIUS + 120 + 5 * number;
    control->on_kelvin = control->off_kelvin - about(&stream, 8);
    control->trip_kelvin = number == 3 ? OVEN_ZERO_CELSIUS + 110 : INFINITY;
    control->reset_kelvin = OVEN_ZERO_CELSIUS + 90;
    return oven;
}

static void prepare(Kept *kept)
{
    memset(kept, 0, sizeof *kept);
    for (int k = 0; k < OVEN_TRACES; k++) kept->run.trace[k] = kept->trace[k];
    for (int e = 0; e < OVEN_HEATS; e++) kept->run.watt[e] = kept->watt[e];
    kept->run.switch_second = kept->switch_second;
    kept->run.switch_room = SWITCHES;
}

static void assert_same(const Kept *got, const Kept *want)
{
    assert_memory_equal(got->trace, want->trace, sizeof got->trace);
    assert_memory_equal(got->watt, want->watt, sizeof got->watt);
    assert_memory_equal(got->switch_second, want->switch_second, sizeof got->switch_second);
    assert_memory_equal(got->run.mean_fourth, want->run.mean_fourth, sizeof got->run.mean_fourth);
    assert_memory_equal(got->run.end_celsius, want->run.end_celsius, sizeof got->run.end_celsius);
    assert_memory_equal(&got->run.given_joule, &want->run.given_joule, sizeof(double));
    assert_memory_equal(&got->run.lost_joule, &want->run.lost_joule, sizeof(double));
    assert_int_equal(got->run.switch_count, want->run.switch_count);
}

/* `count` ovens from the `first` on, counted around, in one call. */
static void run_some(OvenKernel *kernel, const Oven *ovens, int first, int count, Kept *kept)
{
    const Oven *lanes[OVENS] = {NULL};
    OvenRun runs[OVENS] = {{.switch_count = 0}};
    for (int i = 0; i < count; i++) {
        lanes[i] = &ovens[(first + i) % OVENS];
        prepare(&kept[i]);
        runs[i] = kept[i].run;
    }
    kernel(lanes, runs, count, &terms);
    for (int i = 0; i < count; i++) kept[i].run = runs[i];
}

static void make_ovens(Oven *ovens)
{
    for (int i = 0; i < OVENS; i++) ovens[i] = make_oven(i);
}

static void compare(OvenKernel *alone, OvenKernel *kernel, int most)
{
    static Oven ovens[OVENS];
    static Kept one[OVENS], some[OVENS];
    make_ovens(ovens);
    for (int i = 0; i < OVENS; i++) run_some(alone, ovens, i, 1, &one[i]);
    for (int count = 1; count <= most; count++)
        for (int first = 0; first < OVENS; first++) {
            run_some(kernel, ovens, first, count, some);
            for (int i = 0; i < count; i++) assert_same(&some[i], &one[(first + i) % OVENS]);
        }
}

static void single_alone_or_in_company(void **state)
{
    (void)state;
    compare(oven__run_single, oven__run_single, 8);
}

static void double_alone_or_in_company(void **state)
{
    (void)state;
    compare(oven__run_double, oven__run_double, 4);
}

/* The doubles side by side are the one double's. */
static void double_as_scalar(void **state)
{
    (void)state;
    compare(oven__run_scalar, oven__run_double, 4);
}

static void wide_as_plain(void **state)
{
    (void)state;
#ifdef __x86_64__
    if (!__builtin_cpu_supports("avx2")) skip();
    compare(oven__run_single, oven__run_single_wide, 8);
    compare(oven__run_double, oven__run_double_wide, 4);
#else
    skip();
#endif
}

/* The ovens are what they are meant to be: they switch, the one trips, they all get warm. */
static void something_happens(void **state)
{
    (void)state;
    static Oven ovens[OVENS];
    static Kept kept[OVENS];
    make_ovens(ovens);
    run_some(oven__run_single, ovens, 0, OVENS, kept);
    for (int i = 0; i < OVENS; i++) {
        print_message("oven %d: %d switches, sensor at the end %.1f C\n", i, kept[i].run.switch_count,
                      kept[i].run.end_celsius[OVEN_SENSOR]);
        assert_true(kept[i].trace[1][SAMPLES - 1] > 80 && kept[i].trace[1][SAMPLES - 1] < 250);
        if (i != 3) assert_true(kept[i].run.switch_count >= 3);
    }
}

/* Any number of ovens in one call: lanes are filled again and again. */
static void many(void **state)
{
    (void)state;
    enum { MANY = 19 };
    static Oven ovens[OVENS];
    static Kept one[OVENS];
    static float trace[MANY][SAMPLES];
    const Oven *lanes[MANY];
    OvenRun runs[MANY];
    make_ovens(ovens);
    for (int i = 0; i < OVENS; i++) run_some(oven__run_single, ovens, i, 1, &one[i]);
    for (int i = 0; i < MANY; i++) {
        lanes[i] = &ovens[(i * 5) % OVENS];
        runs[i] = (OvenRun){.trace = {trace[i]}};
    }
    oven_simulate(lanes, runs, MANY, &terms, OVEN_SINGLE);
    for (int i = 0; i < MANY; i++) {
        assert_memory_equal(trace[i], one[(i * 5) % OVENS].trace[0], sizeof trace[i]);
        assert_memory_equal(runs[i].mean_fourth, one[(i * 5) % OVENS].run.mean_fourth,
                            sizeof runs[i].mean_fourth);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(something_happens),
        cmocka_unit_test(single_alone_or_in_company),
        cmocka_unit_test(double_alone_or_in_company),
        cmocka_unit_test(double_as_scalar),
        cmocka_unit_test(wide_as_plain),
        cmocka_unit_test(many),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
