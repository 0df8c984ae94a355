/* oven.c: two hours of an oven, by our lanes and by SUNDIALS' integrators, from the same right-hand side.
 *
 * Eight ovens: the shipped appliances, typical, odd or faulty. Theirs: CVODE (backward differentiation,
 * Adams) and ARKODE (explicit, order 4), with root finding for the thermostat and stop times for the duty
 * pattern, each at the loosest tolerance of a ladder at which the centre is nowhere more than 0.1 K away from
 * a reference at 1e-10. Ours: the largest step with the same. Ours also integrates the two ledgers of energy;
 * theirs is spared them. One thread. */
#include "measure.h"
#include "sundials_oven.h"

#include "core/thermal/thermal.h"
#include "edge/desk/desk.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

enum { OVENS = 8, SAMPLES = 721, FROM_SECOND_HOUR = 360, TIMINGS = 5 };
static const double SECOND = 7200, SAMPLE_SECOND = 10, MOST_KELVIN = 0.1, TIMED_SECOND = 0.15;
static const double SET_CELSIUS = 177, KITCHEN_CELSIUS = 22;

typedef struct {
    Oven ovens[OVENS];
    const Oven *lanes[OVENS];
    OvenTerms terms;
    double truth[OVENS][SAMPLES], trial[OVENS][SAMPLES];
    float trace[OVENS][SAMPLES];
} Bench;

typedef struct {
    double kelvin, mean_kelvin, millisecond; /* largest error, of the second hour's mean; a run */
} Figures;

/* The first variant with this effect; -1 for a healthy oven. */
static int find_variant(const Circuit *circuit, EffectType effect)
{
    for (int v = 0; v < circuit->variant_count; v++)
        if (circuit->appliance->faults[circuit->variants[v].fault].mode->effect == effect) return v;
    return -1;
}

/* A shipped appliance's oven with an effect's first fault (EFFECT_TYPE_COUNT: none), `odd` standard
 * deviations from the typical. */
static void make_oven(const char *name, EffectType effect, double odd, Oven *oven)
{
    Arena arena = arena_new((size_t)256 << 20);
    Appliance appliance;
    Circuit circuit;
    ThermalModel model;
    Error error = {0};
    demand(desk_load_appliance(name, NULL, 0, &arena, &appliance, &error), &error);
    demand(circuit_begin(&appliance, KITCHEN_CELSIUS, &arena, &circuit, &error), &error);
    demand(thermal_begin(&circuit, &model, &error), &error);
    ThermalFamily family;
    for (int i = 0; i < THERMAL_FAMILY_COUNT; i++) family.trait[i] = i % 2 == 0 ? odd : -odd;
    const int variant = find_variant(&circuit, effect);
    if (!thermal_oven(&model, thermal_usual_function(&model), SET_CELSIUS, &variant, variant >= 0 ? 1 : 0,
                      &family, oven)) {
        fprintf(stderr, "%s does not heat\n", name);
        exit(1);
    }
    arena_free(&arena);
}

static void make_ovens(Bench *bench)
{
    static const struct {
        const char *name;
        EffectType effect;
        double odd;
    } made[OVENS] = {
        {"range-thermostat", EFFECT_TYPE_COUNT, 0},  {"range-relay-control", EFFECT_TYPE_COUNT, 0},
        {"range-hidden-bake", EFFECT_TYPE_COUNT, 1}, {"wall-oven-convection", EFFECT_TYPE_COUNT, 0},
        {"range-208", EFFECT_TYPE_COUNT, -1},        {"oven-230", EFFECT_TYPE_COUNT, 0},
        {"range-relay-control", EFFECT_AJAR, 0.5},   {"range-thermostat", EFFECT_SPREAD, -0.5}};
    for (int i = 0; i < OVENS; i++) {
        make_oven(made[i].name, made[i].effect, made[i].odd, &bench->ovens[i]);
        bench->lanes[i] = &bench->ovens[i];
    }
    bench->terms = (OvenTerms){.second = SECOND,
                               .sample_second = SAMPLE_SECOND,
                               .sample_count = SAMPLES,
                               .start_celsius = KITCHEN_CELSIUS,
                               .load_celsius = KITCHEN_CELSIUS,
                               .mean_from_second = SECOND / 2};
}

static void theirs(Bench *bench, SundialsOven *system, double into[OVENS][SAMPLES], long *evaluations,
                   long *for_jacobian)
{
    *evaluations = *for_jacobian = 0;
    for (int i = 0; i < OVENS; i++) {
        SundialsRun run = {.trace = {into[i]}};
        sundials_oven_run(system, &bench->ovens[i], &bench->terms, &run);
        *evaluations += run.evaluations;
        *for_jacobian += run.for_jacobian;
    }
}

static void ours(Bench *bench, OvenPrecision precision)
{
    OvenRun runs[OVENS];
    for (int i = 0; i < OVENS; i++) runs[i] = (OvenRun){.trace = {bench->trace[i]}};
    oven_simulate(bench->lanes, runs, OVENS, &bench->terms, precision);
}

/* Largest difference from the truth, and of the mean of the second hour. */
static Figures compare(Bench *bench)
{
    Figures figures = {0};
    for (int i = 0; i < OVENS; i++) {
        double sum = 0;
        for (int k = 0; k < SAMPLES; k++) {
            const double difference = bench->trial[i][k] - bench->truth[i][k];
            figures.kelvin = fmax(figures.kelvin, fabs(difference));
            if (k >= FROM_SECOND_HOUR) sum += difference;
        }
        figures.mean_kelvin = fmax(figures.mean_kelvin, fabs(sum) / (SAMPLES - FROM_SECOND_HOUR));
    }
    return figures;
}

/* The best of some timings of one method (system NULL: ours), milliseconds a run. */
static double time_runs(Bench *bench, SundialsOven *system, OvenPrecision precision)
{
    double best = INFINITY;
    for (int timing = 0; timing < TIMINGS; timing++) {
        const double start = now();
        double end;
        long rounds = 0, ignored[2];
        do {
            if (system)
                theirs(bench, system, bench->trial, &ignored[0], &ignored[1]);
            else
                ours(bench, precision);
            rounds++;
            end = now();
        } while (end - start < TIMED_SECOND);
        best = fmin(best, (end - start) / (double)rounds / OVENS);
    }
    return 1e3 * best;
}

static void print_row(const char *name, const char *setting, const Figures *figures, const char *note)
{
    printf("| %-28s | %-14s | %9.4f | %10.0f | %8.4f | %9.5f | %s\n", name, setting, figures->millisecond,
           1e3 / figures->millisecond, figures->kelvin, figures->mean_kelvin, note);
}

/* A method of SUNDIALS at the loosest tolerance that keeps the promise; milliseconds a run. */
static double bench_theirs(Bench *bench, SundialsMethod method, const char *name)
{
    char setting[40], note[80];
    Figures figures = {.kelvin = INFINITY};
    for (double relative = 1e-3; relative > 1e-9; relative *= 0.7498942093324559 /* eighth of a decade */) {
        long evaluations, for_jacobian;
        SundialsOven *system = sundials_oven_new(method, relative, false);
        theirs(bench, system, bench->trial, &evaluations, &for_jacobian);
        figures = compare(bench);
        if (figures.kelvin <= MOST_KELVIN) {
            figures.millisecond = time_runs(bench, system, OVEN_SCALAR);
            snprintf(setting, sizeof setting, "rtol %.1e", relative);
            snprintf(note, sizeof note, "%ld evaluations, %.0f %% of them for the Jacobian",
                     evaluations / OVENS, 100.0 * (double)for_jacobian / (double)evaluations);
            print_row(name, setting, &figures, note);
            sundials_oven_free(system);
            return figures.millisecond;
        }
        sundials_oven_free(system);
    }
    printf("| %-28s | does not get below %g K\n", name, MOST_KELVIN);
    return INFINITY;
}

static Figures try_step(Bench *bench, OvenPrecision precision, double step)
{
    bench->terms.step_second = step;
    ours(bench, precision);
    for (int i = 0; i < OVENS; i++)
        for (int k = 0; k < SAMPLES; k++) bench->trial[i][k] = (double)bench->trace[i][k];
    return compare(bench);
}

/* Our lanes at the largest step that keeps the promise, and at their own choice of step. */
static double bench_ours(Bench *bench, OvenPrecision precision, const char *name)
{
    static const double steps[] = {12, 10, 9, 8, 7, 6, 5, 4, 3, 2, 1, 0.5};
    char setting[40];
    Figures figures = {.millisecond = INFINITY};
    for (size_t i = 0; i < sizeof steps / sizeof *steps; i++) {
        figures = try_step(bench, precision, steps[i]);
        if (!(figures.kelvin <= MOST_KELVIN)) continue;
        figures.millisecond = time_runs(bench, NULL, precision);
        snprintf(setting, sizeof setting, "step %g s", steps[i]);
        print_row(name, setting, &figures, "");
        break;
    }
    Figures usual = try_step(bench, precision, 0);
    usual.millisecond = time_runs(bench, NULL, precision);
    print_row(name, "its own step", &usual, "");
    return fmin(figures.millisecond, usual.kelvin <= MOST_KELVIN ? usual.millisecond : INFINITY);
}

static void print_goal(const char *what, double got, double goal)
{
    printf("%-52s %10.1f, goal %g: %s\n", what, got, goal, got >= goal ? "reached" : "NOT reached");
}

int main(void)
{
    static Bench bench;
    make_ovens(&bench);
    long evaluations, for_jacobian;
    SundialsOven *exact = sundials_oven_new(SUNDIALS_ADAMS, 1e-10, false);
    theirs(&bench, exact, bench.truth, &evaluations, &for_jacobian);
    sundials_oven_free(exact);
    exact = sundials_oven_new(SUNDIALS_BDF, 1e-10, false);
    theirs(&bench, exact, bench.trial, &evaluations, &for_jacobian);
    sundials_oven_free(exact);
    const Figures agreed = compare(&bench);
    printf("SUNDIALS: %s\n", SUNDIALS_BUILD);
    printf(
        "ours: lanes_*.c with gcc -O3 -fno-math-errno, the lanes with -mavx2 where the processor has it\n");
    printf("the right-hand side of all: gcc -O3; theirs one double at a time, which is how they call it\n");
    printf("the reference, Adams at 1e-10, and BDF at 1e-10 differ by at most %.1e K\n\n", agreed.kelvin);
    printf("| %-28s | %-14s | %9s | %10s | %8s | %9s |\n", "method", "setting", "ms a run", "runs/s",
           "error K", "mean K");
    const double bdf = bench_theirs(&bench, SUNDIALS_BDF, "CVODE BDF");
    const double adams = bench_theirs(&bench, SUNDIALS_ADAMS, "CVODE Adams");
    const double explicit = bench_theirs(&bench, SUNDIALS_EXPLICIT, "ARKODE explicit, order 4");
    bench_ours(&bench, OVEN_SCALAR, "ours, one double");
    const double four = bench_ours(&bench, OVEN_DOUBLE, "ours, four doubles");
    const double eight = bench_ours(&bench, OVEN_SINGLE, "ours, eight floats");
    printf("\n");
    print_goal("eight floats over CVODE BDF", bdf / eight, 40);
    print_goal("eight floats over ARKODE explicit", explicit / eight, 15);
    print_goal("two-hour runs per second and core, eight floats", 1e3 / eight, 5000);
    printf(
        "eight floats over CVODE Adams %.1f; four doubles over CVODE BDF %.1f, over ARKODE explicit %.1f\n",
        adams / eight, bdf / four, explicit / four);
    return 0;
}
