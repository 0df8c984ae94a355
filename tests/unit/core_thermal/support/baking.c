/* baking.c: see baking.h. */
#include "baking.h"

#include "base/text.h"
#include "support/near.h"
#include "support/shipped.h"

#include <math.h>
#include <string.h>

enum { ARENA_SIZE = 1 << 28 };

static void begin(Baking *baking, const char *name, double ambient, const PlateEntry *plate, int plate_count)
{
    Error error = {0};
    *baking = (Baking){.arena = arena_new(ARENA_SIZE)};
    Catalogue *catalogue = arena_take(&baking->arena, sizeof *catalogue);
    Description *description = arena_take(&baking->arena, sizeof *description);
    assert_non_null(catalogue);
    assert_non_null(description);
    shipped_read_catalogue(&baking->arena, catalogue);
    shipped_read(name, &baking->arena, description);
    if (!appliance_build(description, catalogue, plate, plate_count, &baking->arena, &baking->appliance,
                         &error) ||
        !circuit_begin(&baking->appliance, ambient, &baking->arena, &baking->circuit, &error) ||
        !thermal_begin(&baking->circuit, &baking->model, &error))
        fail_msg("%s: %s; expected %s", name, error.found, error.expected);
}

void baking_begin(Baking *baking, const char *appliance, double ambient_celsius)
{
    begin(baking, appliance, ambient_celsius, NULL, 0);
}

void baking_begin_on(Baking *baking, const char *appliance, double ambient_celsius, double supply_volt)
{
    const PlateEntry supply = {.key = "supply", .figure = {.value = supply_volt, .unit = UNIT_VOLT}};
    begin(baking, appliance, ambient_celsius, &supply, 1);
}

void baking_end(Baking *baking) { arena_free(&baking->arena); }

int baking_fault(const Baking *baking, const char *name, double share)
{
    const int number = appliance_find_fault(&baking->appliance, name);
    if (number < 0) return -1;
    const int last = baking->appliance.faults[number].severity_count - 1;
    return baking->circuit.first_variant[number] + (int)floor(share * last + 0.5);
}

double baking_severity(const Baking *baking, int variant)
{
    const Variant *of = &baking->circuit.variants[variant];
    return baking->appliance.faults[of->fault].severity[of->severity];
}

void baking_oven(const Baking *baking, int function, double set_celsius, int variant, Oven *oven)
{
    assert_true(
        thermal_oven(&baking->model, function, set_celsius, &variant, variant >= 0 ? 1 : 0, NULL, oven));
}

void baking_bake(const Baking *baking, const Oven *oven, double set_celsius, Baked *baked)
{
    double second[BAKING_SAMPLES], celsius[BAKING_SAMPLES];
    const double kitchen = baking->circuit.ambient_celsius;
    const OvenTerms terms = {.second = BAKING_SECOND,
                             .sample_second = BAKING_EVERY,
                             .sample_count = BAKING_SAMPLES,
                             .start_celsius = kitchen,
                             .load_celsius = kitchen};
    memset(baked, 0, sizeof *baked);
    baked->run = (OvenRun){.trace = {baked->centre, baked->sensor, baked->liner},
                           .switch_second = baked->switches,
                           .switch_room = BAKING_MOST_SWITCHES};
    oven_simulate(&oven, &baked->run, 1, &terms, OVEN_DOUBLE);
    for (int i = 0; i < BAKING_SAMPLES; i++) {
        second[i] = i * BAKING_EVERY;
        celsius[i] = (double)baked->centre[i];
    }
    run_figures(second, celsius, BAKING_SAMPLES, set_celsius, &baked->figures);
}

double baking_joule(const Baking *baking, const Oven *oven, double second, OvenRun *run)
{
    const double kitchen = baking->circuit.ambient_celsius;
    const OvenTerms terms = {.second = second, .start_celsius = kitchen, .load_celsius = kitchen};
    *run = (OvenRun){.trace = {NULL}};
    oven_simulate(&oven, run, 1, &terms, OVEN_DOUBLE);
    return run->given_joule;
}

/* The control calls from the start: the switch of an odd number is one that begins to call. */
double baking_mean_watt(const Baking *baking, const Oven *oven, const Baked *baked, double from_second)
{
    const int count = baked->run.switch_count;
    assert_true(count < BAKING_MOST_SWITCHES);
    int first = 1, last;
    while (first < count && baked->switches[first] < from_second) first += 2;
    for (last = first; last + 2 < count; last += 2) {
    }
    assert_true(last > first);
    OvenRun run;
    const double until = baked->switches[last], from = baked->switches[first];
    return (baking_joule(baking, oven, until, &run) - baking_joule(baking, oven, from, &run)) /
           (until - from);
}

double baking_second_at(const Baked *baked, double celsius)
{
    for (int i = 1; i < BAKING_SAMPLES; i++) {
        const double from = (double)baked->centre[i - 1], to = (double)baked->centre[i];
        if (to >= celsius) return BAKING_EVERY * (i - 1 + (celsius - from) / (to - from));
    }
    return NAN;
}

double baking_litre(const Baking *baking)
{
    const Description *description = baking->appliance.description;
    double litre = 1000;
    for (int i = 0; i < description->thermal_count; i++)
        if (strncmp(description->thermal[i].name, "cavity.", strlen("cavity.")) == 0)
            litre *= description->thermal[i].value;
    return litre;
}

double baking_rated_watt(const Baking *baking, int heat)
{
    double watt = 0;
    for (int h = 0; h < baking->model.heater_count; h++)
        if (baking->model.heat_of[h] == heat)
            watt += baking->appliance.branches[baking->model.heaters[h]].rated_watt;
    return watt;
}
