/* reference.c: two hours of every shipped oven, healthy and with forty faults, and of doors that open,
 * against CVODE (SUNDIALS 6.4, Adams and backward differentiation) at a relative tolerance of 1e-9.
 *
 * CVODE is given the same right-hand side and writes thermostat, pattern, contact, cutout and door once more
 * by root finding and stop times (sundials_oven.h), so what is checked is everything in time: steps,
 * switching, samples, ledgers. The right-hand side itself is checked by closed_form.c and by the balance of
 * energy. */
#include "core/thermal/thermal.h"
#include "sundials_oven.h"
#include "support/near.h"
#include "support/shipped.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    SAMPLES = 721,
    SWITCHES = 256,
    OF_OVEN = 4,
    OF_CIRCUIT = 3,
    CASES = SHIPPED_COUNT * (1 + OF_OVEN + OF_CIRCUIT) + 8
};
static const double SECOND = 7200, SAMPLE_SECOND = 10, SET_CELSIUS = 177, KITCHEN_CELSIUS = 22;
/* At the step of the oven's own choice; at one of a second, which has to come closer; around a door. */
static const double MOST_KELVIN = 0.1, MOST_SECOND = 0.5, FINE_STEP = 1, FINE_KELVIN = 0.02,
                    FINE_SECOND = 0.02, DOOR_KELVIN = 0.03;
enum { MOST_INSTANTS = 20 }; /* ten cycles */

/* A pattern by the clock and a thermostat by the sensor can together make an oven that doubles every
 * difference from one cycle to the next, as any two clocks that push each other. Where CVODE's own two
 * methods part by more than this, comparing has no more sense. */
static const double PARTED_KELVIN = 0.005;

typedef struct {
    char name[100];
    Oven oven;
    OvenTerms terms;
} Case;

typedef struct {
    double kelvin, second, balance; /* largest errors; the balance's as a share of what was given */
} Worst;

static Case cases[CASES];
static int case_count;
static Worst worst[3]; /* double, single, double in fine steps */

static OvenTerms usual_terms(void)
{
    return (OvenTerms){.second = SECOND,
                       .sample_second = SAMPLE_SECOND,
                       .sample_count = SAMPLES,
                       .start_celsius = KITCHEN_CELSIUS,
                       .load_celsius = KITCHEN_CELSIUS};
}

static Case *add_case(const char *name, const Oven *oven)
{
    assert_true(case_count < CASES);
    Case *added = &cases[case_count++];
    snprintf(added->name, sizeof added->name, "%s", name);
    added->oven = *oven;
    added->terms = usual_terms();
    return added;
}

/* Up to `most` of the faults that make another oven of it, spread over the list: those that act on the oven
 * itself, or those of its circuit. */
static void add_faults(const char *appliance, const ThermalModel *model, const Oven *healthy, bool is_of_oven,
                       int most)
{
    const Circuit *circuit = model->circuit;
    int *other = calloc((size_t)circuit->variant_count, sizeof *other), count = 0;
    const int function = thermal_usual_function(model);
    Oven oven;
    for (int v = 0; v < circuit->variant_count; v++) {
        const Fault *fault = &circuit->appliance->faults[circuit->variants[v].fault];
        if ((fault->mode->effect >= EFFECT_OVEN) != is_of_oven) continue;
        if (!thermal_oven(model, function, SET_CELSIUS, &v, 1, NULL, &oven)) continue;
        if (memcmp(&oven, healthy, sizeof oven) != 0) other[count++] = v;
    }
    for (int i = 0; i < most && i < count; i++) {
        const int v = other[(2 * i + 1) * count / (2 * most)];
        const Variant *variant = &circuit->variants[v];
        const Fault *fault = &circuit->appliance->faults[variant->fault];
        char name[100];
        snprintf(name, sizeof name, "%s: %s %.3g", appliance, fault->name,
                 fault->severity[variant->severity]);
        assert_true(thermal_oven(model, function, SET_CELSIUS, &v, 1, NULL, &oven));
        add_case(name, &oven);
    }
    free(other);
}

/* Doors, contacts, cutouts: what few faults bring together. */
static void add_events(const char *appliance, const Oven *healthy)
{
    char name[100];
    snprintf(name, sizeof name, "%s: door opened four times", appliance);
    Case *door = add_case(name, healthy);
    door->terms.opening_count = 4;
    for (int i = 0; i < 4; i++) {
        door->terms.open_from_second[i] = 1500.3 + 1234.5 * i;
        door->terms.open_until_second[i] = door->terms.open_from_second[i] + 10 + 15 * i;
    }
    snprintf(name, sizeof name, "%s: contact holds on for 25 s", appliance);
    Case *contact = add_case(name, healthy);
    contact->oven.control.stick_second = 25;
    memcpy(contact->oven.control.held_watt, healthy->control.heating.watt[0],
           sizeof contact->oven.control.held_watt);
    snprintf(name, sizeof name, "%s: cutout at 160 C, back at 130 C", appliance);
    Case *cutout = add_case(name, healthy);
    cutout->oven.control.trip_kelvin = 160 + OVEN_ZERO_CELSIUS;
    cutout->oven.control.reset_kelvin = 130 + OVEN_ZERO_CELSIUS;
}

static void add_appliance(const char *name)
{
    Arena arena = arena_new((size_t)256 << 20);
    Appliance appliance;
    Circuit circuit;
    ThermalModel model;
    Error error = {0};
    Oven healthy;
    shipped_build(name, &arena, &appliance);
    if (!circuit_begin(&appliance, KITCHEN_CELSIUS, &arena, &circuit, &error) ||
        !thermal_begin(&circuit, &model, &error))
        fail_msg("%s: %s", error.found, error.expected);
    assert_true(thermal_oven(&model, thermal_usual_function(&model), SET_CELSIUS, NULL, 0, NULL, &healthy));
    add_case(name, &healthy);
    add_faults(name, &model, &healthy, true, OF_OVEN);
    add_faults(name, &model, &healthy, false, OF_CIRCUIT);
    if (strcmp(name, "range-relay-control") == 0 || strcmp(name, "oven-230") == 0) add_events(name, &healthy);
    arena_free(&arena);
}

/* Heat that the water in the insulation has taken by `celsius`: its capacity is a bell around 100 C, half of
 * its height at 15 K to either side (balance_private.h). */
static double water_joule(const OvenNetwork *n, double celsius)
{
    return n->wet[0] * 15 * atan((celsius - 100) / 15);
}

static void check_balance(const Case *that, const OvenRun *run, Worst *most)
{
    const OvenNetwork *n = &that->oven.network;
    const double stored = oven_stored_joule(n, run->end_celsius, that->terms.start_celsius) +
                          water_joule(n, run->end_celsius[OVEN_WOOL]) -
                          water_joule(n, that->terms.start_celsius);
    const double open = run->given_joule - run->lost_joule - stored;
    assert_near(open, 0, 1e-3 * run->given_joule + 10);
    if (run->given_joule > 1e4) most->balance = fmax(most->balance, fabs(open) / run->given_joule);
}

typedef struct {
    double centre[SAMPLES], switch_second[SWITCHES], second; /* compared until then */
    SundialsRun run;
} Wanted;

static void check_run(const Case *that, const Wanted *want, OvenPrecision precision, double step, Worst *most)
{
    const double most_kelvin = step > 0                        ? FINE_KELVIN
                               : that->terms.opening_count > 0 ? DOOR_KELVIN
                                                               : MOST_KELVIN,
                 most_second = step > 0 ? FINE_SECOND : MOST_SECOND;
    OvenTerms terms = that->terms;
    terms.step_second = step;
    static float trace[SAMPLES];
    static double switches[SWITCHES];
    const Oven *oven = &that->oven;
    OvenRun run = {.trace = {trace}, .switch_second = switches, .switch_room = SWITCHES};
    oven_simulate(&oven, &run, 1, &terms, precision);
    double kelvin = 0, second = 0;
    for (int i = 0; i < SAMPLES && i * SAMPLE_SECOND < want->second; i++) {
        assert_near((double)trace[i], want->centre[i], most_kelvin);
        kelvin = fmax(kelvin, fabs((double)trace[i] - want->centre[i]));
    }
    for (int i = 0; i < MOST_INSTANTS && i < want->run.switch_count; i++) {
        if (want->switch_second[i] > want->second) break;
        assert_true(i < run.switch_count);
        assert_near(switches[i], want->switch_second[i], most_second);
        second = fmax(second, fabs(switches[i] - want->switch_second[i]));
    }
    if (want->second >= SECOND) assert_int_equal(run.switch_count, want->run.switch_count);
    check_balance(that, &run, most);
    assert_near(run.given_joule, want->run.given_joule, 2e-3 * want->run.given_joule + 10);
    assert_near(run.lost_joule, want->run.lost_joule, 2e-3 * want->run.given_joule + 10);
    most->kelvin = fmax(most->kelvin, kelvin);
    most->second = fmax(most->second, second);
    print_message("%-60s %s: %2d switches, %.4f K, %.4f s, until %.0f s\n", that->name,
                  precision == OVEN_DOUBLE ? "double" : "single", run.switch_count, kelvin, second,
                  fmin(want->second, SECOND));
}

static void integrate(const Case *that, SundialsMethod method, Wanted *want)
{
    want->run =
        (SundialsRun){.trace = {want->centre}, .switch_second = want->switch_second, .switch_room = SWITCHES};
    SundialsOven *system = sundials_oven_new(method, 1e-9, true);
    sundials_oven_run(system, &that->oven, &that->terms, &want->run);
    sundials_oven_free(system);
}

static void agrees(void **state)
{
    const Case *that = *state;
    static Wanted want, other;
    integrate(that, SUNDIALS_ADAMS, &want);
    integrate(that, SUNDIALS_BDF, &other);
    want.second = INFINITY;
    for (int i = SAMPLES - 1; i >= 0; i--)
        if (!(fabs(want.centre[i] - other.centre[i]) <= PARTED_KELVIN)) want.second = i * SAMPLE_SECOND;
    assert_true(want.second >= SECOND / 2);
    check_run(that, &want, OVEN_DOUBLE, 0, &worst[0]);
    check_run(that, &want, OVEN_SINGLE, 0, &worst[1]);
    check_run(that, &want, OVEN_DOUBLE, FINE_STEP, &worst[2]);
}

int main(void)
{
    for (int i = 0; i < SHIPPED_COUNT; i++) add_appliance(shipped_names[i]);
    struct CMUnitTest tests[CASES];
    for (int i = 0; i < case_count; i++)
        tests[i] =
            (struct CMUnitTest){.name = cases[i].name, .test_func = agrees, .initial_state = &cases[i]};
    const int failed = _cmocka_run_group_tests("reference", tests, (size_t)case_count, NULL, NULL);
    static const char *const said[] = {"double", "single", "double, steps of a second"};
    for (int i = 0; i < 3; i++)
        printf("%s: at worst %.4f K, %.4f s over ten cycles, balance open by %.5f %%\n", said[i],
               worst[i].kelvin, worst[i].second, 100 * worst[i].balance);
    return failed;
}
