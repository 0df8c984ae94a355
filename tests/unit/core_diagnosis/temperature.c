/* temperature.c: densities of runs, spots and settings, by hand, against LAPACK, as integrals, and whether
 * what they predict comes true as often as they say.
 *
 * Ovens of the first tests are made up: a typical run, what traits and severities move. Constants as the
 * room's temperature.c has them. Standard normal density at 0 and 1: Abramowitz and Stegun, Handbook of
 * Mathematical Functions, table 26.1: 0.39894 22804, 0.24197 07245. */
#include <lapacke.h>
#include <math.h>
#include <string.h>

#include "base/mathematics.h"
#include "core/diagnosis/diagnosis_private.h"
#include "support/baked.h"
#include "support/near.h"
#include "support/visit.h"

enum { SEED = 1964, FIGURES = 7 }; /* mean, swing, period, preheat, overshoot; at the sensor mean, swing */
static const double AT_0 = 0.3989422804, AT_1 = 0.2419707245;
static const double DISCREPANCY[FIGURES] = {2.5, 0.13, 0.16, 0.14, 4, 3, 0.10}, END_DISCREPANCY = 15;
static const double ANYTHING[FIGURES] = {150, 2.5, 2.5, 2.5, 80, 150, 2.5};
static const double SLIP = 0.02, SORT = 0.98 + 0.02 / 2, SWING_FLOOR = 3;

/* --- ovens made up --- */

/* Hypothesis 0 has no fault, 1 has one. */
typedef struct {
    DiagnosisModel model;
    Hypothesis hypotheses[2];
    Behaviour of[2], around[2 * (2 + THERMAL_FAMILY_COUNT)];
    Simulated simulated;
} Made;

static const Behaviour TYPICAL = {.mean_celsius = 177,
                                  .swing_kelvin = 21,
                                  .period_second = 440,
                                  .preheat_second = 700,
                                  .overshoot_kelvin = 12,
                                  .sensor_celsius = 181,
                                  .sensor_swing_kelvin = 9,
                                  .duty = 0.4f,
                                  .end_celsius = 178,
                                  .cycles = 12};

static void make(Made *made)
{
    memset(made, 0, sizeof *made);
    made->hypotheses[1].count = 1;
    for (int h = 0; h < 2; h++) made->of[h] = TYPICAL;
    for (size_t i = 0; i < sizeof made->around / sizeof *made->around; i++) made->around[i] = TYPICAL;
    made->model = (DiagnosisModel){.hypotheses = made->hypotheses, .hypothesis_count = 2, .slip = 0.01};
    made->simulated = (Simulated){.of = made->of, .around = made->around};
}

static Behaviour *trait(Made *made, int h, int t)
{
    return (Behaviour *)diagnosis__trait(&made->simulated, h, t);
}

static Run typical_run(void)
{
    return (Run){.mean_celsius = {177, 1.5},
                 .swing_kelvin = {21, 0.5},
                 .period_second = {440, 6},
                 .preheat_second = {700, 12},
                 .overshoot_kelvin = {12, 2},
                 .has_sensor = true,
                 .sensor_celsius = {181, 1.5},
                 .sensor_swing_kelvin = {9, 0.5},
                 .cycles = 12};
}

/* --- by hand --- */

static double spot_density(Made *made, double celsius, int h)
{
    Residual none = diagnosis__no_residual();
    const Likelihood got = diagnosis__spot(&made->model, celsius, &made->simulated, h, &none);
    assert_near(got.slip, SLIP / 300, 1e-15);
    return (got.all - got.slip) / (1 - SLIP);
}

/* sqrt(4^2 + 2.5^2) = 4.71699, one standard deviation above the mean; then a trait that moves it by 3 K, and
 * a slice of severities 12 K wide, whose variance is 12^2 / 12. */
static void a_spot_is_a_normal_density(void **state)
{
    (void)state;
    static Made made;
    make(&made);
    made.of[0].swing_kelvin = made.of[1].swing_kelvin = 0;
    assert_near(spot_density(&made, 177 + 4.7169905661, 0), AT_1 / 4.7169905661, 1e-10);
    assert_near(spot_density(&made, 177, 0), AT_0 / 4.7169905661, 1e-10);
    trait(&made, 0, THERMAL_SETTING)->mean_celsius = 180;
    assert_near(spot_density(&made, 177 - 5.5901699437, 0), AT_1 / 5.5901699437, 1e-10);
    ((Behaviour *)diagnosis__end(&made.simulated, 1, false))->mean_celsius = 171;
    ((Behaviour *)diagnosis__end(&made.simulated, 1, true))->mean_celsius = 183;
    assert_near(spot_density(&made, 177 + 5.8523499554, 1), AT_1 / 5.8523499554, 1e-10);
}

/* A reading anywhere in a cycle of 16 K: a sine's variance is 16^2 / 8. */
static void a_cycle_widens_a_spot(void **state)
{
    (void)state;
    static Made made;
    make(&made);
    made.of[0].swing_kelvin = 16;
    assert_near(spot_density(&made, 177 + 7.3654599313, 0), AT_1 / 7.3654599313, 1e-10);
}

/* A sound oven's display: 0 and nobody near it, or with twelve chances in a hundred set by somebody. */
static void an_offset_of_nothing_is_expected(void **state)
{
    (void)state;
    static Made made;
    make(&made);
    const Entry shows_none = {.kind = ENTRY_SETTING, .text = "offset", .value = {.value = 0}};
    const Likelihood got = diagnosis__setting(&made.model, &shows_none, 0);
    assert_near(got.all, 0.99 * (0.88 * AT_0 + 0.12 * AT_0 / 9) + 0.01 / 150, 1e-10);
}

/* --- against LAPACK --- */

static void coordinates(const Behaviour *behaviour, double out[FIGURES])
{
    out[0] = (double)behaviour->mean_celsius;
    out[1] = log((double)behaviour->swing_kelvin + SWING_FLOOR);
    out[2] = log((double)behaviour->period_second);
    out[3] = log((double)behaviour->preheat_second);
    out[4] = (double)behaviour->overshoot_kelvin;
    out[5] = (double)behaviour->sensor_celsius;
    out[6] = log((double)behaviour->sensor_swing_kelvin + SWING_FLOOR);
}

static void run_coordinates(const Run *run, double shown[FIGURES], double spread[FIGURES])
{
    const RunFigure *swing = &run->swing_kelvin, *period = &run->period_second,
                    *preheat = &run->preheat_second, *at_sensor = &run->sensor_swing_kelvin;
    shown[0] = run->mean_celsius.value;
    shown[1] = log(swing->value + SWING_FLOOR);
    shown[2] = log(period->value);
    shown[3] = log(preheat->value);
    shown[4] = run->overshoot_kelvin.value;
    shown[5] = run->sensor_celsius.value;
    shown[6] = log(at_sensor->value + SWING_FLOOR);
    spread[0] = run->mean_celsius.uncertainty;
    spread[1] = swing->uncertainty / (swing->value + SWING_FLOOR);
    spread[2] = period->uncertainty / period->value;
    spread[3] = preheat->uncertainty / preheat->value;
    spread[4] = run->overshoot_kelvin.uncertainty;
    spread[5] = run->sensor_celsius.uncertainty;
    spread[6] = at_sensor->uncertainty / (at_sensor->value + SWING_FLOOR);
}

static void covariance(const Made *made, const double spread[FIGURES], double out[FIGURES][FIGURES])
{
    double typical[FIGURES], moved[FIGURES];
    memset(out, 0, sizeof(double[FIGURES][FIGURES]));
    coordinates(&made->of[0], typical);
    for (int t = 0; t < THERMAL_FAMILY_COUNT; t++) {
        coordinates(diagnosis__trait(&made->simulated, 0, t), moved);
        for (int i = 0; i < FIGURES; i++)
            for (int j = 0; j < FIGURES; j++) out[i][j] += (moved[i] - typical[i]) * (moved[j] - typical[j]);
    }
    for (int i = 0; i < FIGURES; i++) out[i][i] += spread[i] * spread[i] + DISCREPANCY[i] * DISCREPANCY[i];
}

static double normal_by_lapack(double *matrix, double *difference, int n)
{
    double exponent = 0, density = 1;
    assert_int_equal(LAPACKE_dpotrf(LAPACK_ROW_MAJOR, 'L', n, matrix, n), 0);
    assert_int_equal(LAPACKE_dtrtrs(LAPACK_ROW_MAJOR, 'L', 'N', 'N', n, 1, matrix, n, difference, 1), 0);
    for (int i = 0; i < n; i++) {
        exponent += difference[i] * difference[i] / 2;
        density *= AT_0 / matrix[i * n + i];
    }
    return density * exp(-exponent);
}

/* Traits that move several figures at once, drawn anew each time. */
static void draw_traits(Made *made, RandomStream *stream)
{
    for (int t = 0; t < THERMAL_FAMILY_COUNT; t++) {
        Behaviour *moved = trait(made, 0, t);
        *moved = made->of[0];
        moved->mean_celsius += (float)(3 * random_normal(stream));
        moved->swing_kelvin *= (float)exp(0.1 * random_normal(stream));
        moved->period_second *= (float)exp(0.1 * random_normal(stream));
        moved->preheat_second *= (float)exp(0.08 * random_normal(stream));
        moved->overshoot_kelvin += (float)(3 * random_normal(stream));
        moved->sensor_celsius += (float)(3 * random_normal(stream));
        moved->sensor_swing_kelvin *= (float)exp(0.1 * random_normal(stream));
    }
}

static Run draw_run(RandomStream *stream)
{
    Run run = typical_run();
    run.mean_celsius.value += 5 * random_normal(stream);
    run.swing_kelvin.value *= exp(0.2 * random_normal(stream));
    run.period_second.value *= exp(0.3 * random_normal(stream));
    run.preheat_second.value *= exp(0.2 * random_normal(stream));
    run.overshoot_kelvin.value += 8 * random_normal(stream);
    run.sensor_celsius.value += 5 * random_normal(stream);
    run.sensor_swing_kelvin.value *= exp(0.2 * random_normal(stream));
    return run;
}

static double slip_density(void)
{
    double density = SLIP / 2;
    for (int i = 0; i < FIGURES; i++) density /= ANYTHING[i];
    return density;
}

static void a_run_is_a_normal_density_of_many_figures(void **state)
{
    (void)state;
    static Made made;
    RandomStream stream = random_stream(SEED);
    make(&made);
    for (int round = 0; round < 200; round++) {
        double shown[FIGURES], spread[FIGURES], expected[FIGURES], matrix[FIGURES][FIGURES];
        draw_traits(&made, &stream);
        const Run run = draw_run(&stream);
        run_coordinates(&run, shown, spread);
        coordinates(&made.of[0], expected);
        covariance(&made, spread, matrix);
        for (int i = 0; i < FIGURES; i++) shown[i] -= expected[i];
        const double density = normal_by_lapack(&matrix[0][0], shown, FIGURES);
        Residual none = diagnosis__no_residual();
        const Likelihood got = diagnosis__run(&made.model, &run, &made.simulated, 0, &none);
        assert_near(got.slip / slip_density(), 1, 1e-12);
        assert_near((got.all - got.slip) / ((1 - SLIP) * SORT * density), 1, 1e-9);
    }
}

/* Single readings of the oven that the run is of are off by its own error, too: all at once they are one
 * normal density, in which a reading goes with the other figures as the mean does. The variance of what it is
 * off besides: as in a_cycle_widens_a_spot. Of a reading less than a hundredth weighs as a slip. */
static void readings_and_a_run_of_one_oven_are_one_density(void **state)
{
    (void)state;
    enum { READINGS = 2, ALL = READINGS + FIGURES };
    static const double variance = 4 * 4 + 21 * 21 / 8.0;
    static Made made;
    RandomStream stream = random_stream(SEED);
    make(&made);
    for (int round = 0; round < 200; round++) {
        double spread[FIGURES], figure[FIGURES], expected[FIGURES], of_run[FIGURES][FIGURES],
            matrix[ALL][ALL], shown[ALL], density = 1;
        draw_traits(&made, &stream);
        const Run run = draw_run(&stream);
        run_coordinates(&run, figure, spread);
        coordinates(&made.of[0], expected);
        covariance(&made, spread, of_run);
        Residual seen = diagnosis__no_residual();
        for (int r = 0; r < READINGS; r++) {
            const double celsius = 177 + 4 * random_normal(&stream);
            shown[r] = celsius - expected[0];
            const Likelihood got = diagnosis__spot(&made.model, celsius, &made.simulated, 0, &seen);
            density *= (got.all - got.slip) / (1 - SLIP);
        }
        const Likelihood got = diagnosis__run(&made.model, &run, &made.simulated, 0, &seen);
        density *= (got.all - got.slip) / ((1 - SLIP) * SORT);
        for (int i = 0; i < ALL; i++)
            for (int j = 0; j < ALL; j++)
                matrix[i][j] = of_run[i < READINGS ? 0 : i - READINGS][j < READINGS ? 0 : j - READINGS] -
                               (i != j && i <= READINGS && j <= READINGS ? spread[0] * spread[0] : 0);
        for (int r = 0; r < READINGS; r++) matrix[r][r] += variance - spread[0] * spread[0];
        for (int i = 0; i < FIGURES; i++) shown[READINGS + i] = figure[i] - expected[i];
        assert_near(density / normal_by_lapack(&matrix[0][0], shown, ALL), 1, 0.01);
    }
}

/* --- as integrals --- */

/* Importance sampling from independent normals wider than the density: the mean of the quotient is what the
 * density sums up to over all runs that settle. */
static void a_run_is_some_run(void **state)
{
    (void)state;
    enum { SAMPLES = 120000 };
    static const double width[FIGURES] = {8, 0.45, 0.5, 0.35, 14, 9, 0.4};
    static Made made;
    RandomStream stream = random_stream(SEED);
    double sum = 0, expected[FIGURES];
    make(&made);
    draw_traits(&made, &stream);
    coordinates(&made.of[0], expected);
    for (int n = 0; n < SAMPLES; n++) {
        double z[FIGURES], proposed = 1;
        for (int i = 0; i < FIGURES; i++) {
            z[i] = random_normal(&stream);
            proposed *= AT_0 / width[i] * exp(-z[i] * z[i] / 2);
        }
        Run run = {.mean_celsius = {expected[0] + width[0] * z[0], 0},
                   .swing_kelvin = {exp(expected[1] + width[1] * z[1]) - SWING_FLOOR, 0},
                   .period_second = {exp(expected[2] + width[2] * z[2]), 0},
                   .preheat_second = {exp(expected[3] + width[3] * z[3]), 0},
                   .overshoot_kelvin = {expected[4] + width[4] * z[4], 1},
                   .has_sensor = true,
                   .sensor_celsius = {expected[5] + width[5] * z[5], 0},
                   .sensor_swing_kelvin = {exp(expected[6] + width[6] * z[6]) - SWING_FLOOR, 0}};
        if (run.swing_kelvin.value < 4) continue; /* that is no run that has settled */
        Residual none = diagnosis__no_residual();
        const Likelihood got = diagnosis__run(&made.model, &run, &made.simulated, 0, &none);
        sum += (got.all - got.slip) / proposed;
    }
    print_message("sums up to %.4f of %.4f, seed %d\n", sum / SAMPLES, (1 - SLIP) * SORT, SEED);
    assert_near(sum / SAMPLES / ((1 - SLIP) * SORT), 1, 0.02);
}

static void spots_and_offsets_sum_up_to_one(void **state)
{
    (void)state;
    static Made made;
    double spots = 0, offsets = 0;
    make(&made);
    for (double x = -100; x < 100; x += 0.01) {
        spots += spot_density(&made, 177 + x, 0) * 0.01;
        const Entry shows = {.kind = ENTRY_SETTING, .text = "offset", .value = {.value = x}};
        const Likelihood got = diagnosis__setting(&made.model, &shows, 0);
        offsets += (got.all - got.slip) / 0.99 * 0.01;
    }
    assert_near(spots, 1, 1e-6);
    assert_near(offsets, 1, 1e-6);
}

/* --- does it come true? --- */

enum { DRAWS = 500, BINS = 8 }; /* with 1,500 the bins come within a tenth of what they say */

static int draw_group(const DiagnosisModel *model, int groups, RandomStream *stream)
{
    double all = 0, at;
    for (int h = 0; h < model->hypothesis_count && model->hypotheses[h].group < groups; h++)
        all += model->hypotheses[h].prior;
    at = all * random_uniform(stream);
    int h = 0;
    while ((at -= model->hypotheses[h].prior) > 0) h++;
    return h;
}

/* Ends and middle of the slice with the weights of Simpson's rule, whose variance is that of an even spread.
 */
static const int *draw_variants(const Hypothesis *hypothesis, RandomStream *stream)
{
    const double at = 6 * random_uniform(stream);
    return at < 1 ? hypothesis->low : at < 2 ? hypothesis->high : hypothesis->variants;
}

/* What the model does not know, put on the figures. */
static void disturb(Run *run, RandomStream *stream)
{
    RunFigure *swing = &run->swing_kelvin;
    run->mean_celsius.value += DISCREPANCY[0] * random_normal(stream);
    swing->value = (swing->value + SWING_FLOOR) * exp(DISCREPANCY[1] * random_normal(stream)) - SWING_FLOOR;
    run->period_second.value *= exp(DISCREPANCY[2] * random_normal(stream));
    run->preheat_second.value *= exp(DISCREPANCY[3] * random_normal(stream));
    run->overshoot_kelvin.value += DISCREPANCY[4] * random_normal(stream);
    run->end_celsius += END_DISCREPANCY * random_normal(stream);
    swing = &run->sensor_swing_kelvin;
    run->sensor_celsius.value += DISCREPANCY[5] * random_normal(stream);
    swing->value = (swing->value + SWING_FLOOR) * exp(DISCREPANCY[6] * random_normal(stream)) - SWING_FLOOR;
}

typedef struct {
    double said[BINS]; /* sums of stated probabilities */
    int came[BINS], count[BINS];
} Reliability;

static void tally(const Visit *visit, const Standing *standing, int truth, Reliability *reliability)
{
    static const double edges[BINS] = {0.003, 0.01, 0.03, 0.1, 0.25, 0.5, 0.8, 2};
    const int groups = visit->appliance.fault_count + 1;
    double sum[400] = {0}, all = 0;
    assert_true(groups <= 400);
    for (int h = 0; h < visit->model.hypothesis_count && visit->model.hypotheses[h].group < groups; h++) {
        sum[visit->model.hypotheses[h].group] += standing->probability[h];
        all += standing->probability[h];
    }
    for (int g = 0; g < groups; g++) {
        int bin = 0;
        while (sum[g] / all >= edges[bin]) bin++;
        reliability->said[bin] += sum[g] / all;
        reliability->count[bin]++;
        reliability->came[bin] += g == truth;
    }
}

static void draw_one(Visit *visit, RandomStream *stream, Reliability *reliability)
{
    static const BakedTerms terms = {.traits = 1, .probe = 1, .noise_kelvin = 0.3, .at_sensor = true};
    const Hypothesis *truth =
        &visit->model.hypotheses[draw_group(&visit->model, visit->appliance.fault_count + 1, stream)];
    Arena arena = arena_new((size_t)64 << 20);
    Standing standing;
    Error error;
    Run run;
    baked_run(&visit->model, draw_variants(truth, stream), truth->count, &terms, stream, &arena, &run);
    disturb(&run, stream);
    const Entry entry = baked_entry(&visit->model, &run);
    const Call call = {
        .title = "", .entries = &entry, .entry_count = 1, .meter = visit->call.meter, .ambient_celsius = 22};
    assert_true(diagnose(&visit->model, &call, &arena, &standing, &error));
    tally(visit, &standing, truth->group, reliability);
    arena_free(&arena);
}

/* Of all groups that are given a probability in a range, as many are the true one as the range says. */
static void what_is_said_comes_true_that_often(void **state)
{
    (void)state;
    static Visit visit;
    Reliability reliability = {0};
    RandomStream stream = random_stream(SEED);
    visit_begin(&visit, "range-relay-control");
    for (int i = 0; i < DRAWS; i++) draw_one(&visit, &stream, &reliability);
    print_message("seed %d, %d runs\n| said | came true | of |\n", SEED, DRAWS);
    for (int b = 0; b < BINS; b++)
        print_message("| %7.1f | %4d | %6d |\n", reliability.said[b], reliability.came[b],
                      reliability.count[b]);
    for (int b = 0; b < BINS; b++)
        assert_near(reliability.came[b], reliability.said[b],
                    3.3 * sqrt(reliability.said[b]) + 0.1 * reliability.said[b]);
    visit_end(&visit);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_spot_is_a_normal_density),
        cmocka_unit_test(a_cycle_widens_a_spot),
        cmocka_unit_test(readings_and_a_run_of_one_oven_are_one_density),
        cmocka_unit_test(an_offset_of_nothing_is_expected),
        cmocka_unit_test(a_run_is_a_normal_density_of_many_figures),
        cmocka_unit_test(a_run_is_some_run),
        cmocka_unit_test(spots_and_offsets_sum_up_to_one),
        cmocka_unit_test(what_is_said_comes_true_that_often),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
