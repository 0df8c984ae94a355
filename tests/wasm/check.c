/* check.c: one computation over the floor and the core, folded into a few hashes, the same in WebAssembly and
 * natively. It judges no value (the unit tests do), only that every bit is the same everywhere. */
#include "base/dense.h"
#include "base/mathematics.h"
#include "base/quantity.h"
#include "base/random.h"
#include "core/diagnosis/diagnosis.h"
#include "core/heat/heat.h"
#include "core/oven/oven.h"
#include "core/plan/plan.h"
#include "core/sensor/sensor.h"

#include "oven.h"

#include <inttypes.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#ifdef __wasm__
#define EXPORT(name) __attribute__((export_name(name)))
#else
#define EXPORT(name)
#endif

enum { ROUNDS = 20000, UNKNOWNS = 24 };

/* FNV-1a over the bits of each number. */
static void fold(uint64_t *hash, double value)
{
    uint64_t bits;
    memcpy(&bits, &value, sizeof bits);
    if (value != value) bits = UINT64_C(0x7ff8000000000000); /* which NaN it is, is the processor's affair */
    for (int i = 0; i < 64; i += 8) *hash = (*hash ^ (bits >> i & 0xff)) * UINT64_C(0x100000001b3);
}

static double spread(RandomStream *stream, double low, double high)
{
    return low + (high - low) * random_uniform(stream);
}

static void fold_mathematics(uint64_t *hash)
{
    RandomStream stream = random_stream(1);
    for (int i = 0; i < ROUNDS; i++) {
        const double wide = spread(&stream, -750, 750), near = spread(&stream, -1.5, 1.5);
        const double positive = math_exp(spread(&stream, -300, 300));
        fold(hash, math_exp(wide));
        fold(hash, math_expm1(near));
        fold(hash, math_log(positive));
        fold(hash, math_log1p(near));
        fold(hash, math_pow(positive, near));
        fold(hash, math_sin(wide * 100));
        fold(hash, math_cos(wide * 100));
        fold(hash, math_atan2(near, wide));
        fold(hash, math_erf(near));
        fold(hash, math_erfc(near * 15));
        fold(hash, math_normal_cdf(near * 20));
        fold(hash, math_normal_quantile(random_uniform(&stream)));
        fold(hash, random_normal(&stream));
    }
}

static void fold_text(uint64_t *hash)
{
    RandomStream stream = random_stream(2);
    char written[40];
    for (int i = 0; i < ROUNDS; i++) {
        double read = 0;
        const double value = math_exp(spread(&stream, -20, 20));
        snprintf(written, sizeof written, "%.9f", value);
        if (text_read_number(text_of(written), &read)) fold(hash, read);
        quantity_format(value, UNIT_OHM, written, sizeof written);
        for (const char *c = written; *c; c++) fold(hash, *c);
    }
}

static void fold_dense(uint64_t *hash)
{
    RandomStream stream = random_stream(3);
    Complex matrix[UNKNOWNS * UNKNOWNS], right[UNKNOWNS];
    int pivot[UNKNOWNS];
    for (int round = 0; round < ROUNDS / 200; round++) {
        for (int i = 0; i < UNKNOWNS * UNKNOWNS; i++)
            matrix[i] = (Complex){random_normal(&stream), random_normal(&stream)};
        for (int i = 0; i < UNKNOWNS; i++)
            right[i] = (Complex){random_normal(&stream), random_normal(&stream)};
        if (!dense_factorise(matrix, UNKNOWNS, pivot)) continue;
        dense_solve(matrix, UNKNOWNS, pivot, right);
        for (int i = 0; i < UNKNOWNS; i++) fold(hash, complex_size(right[i]));
    }
}

static void fold_one_sensor(uint64_t *hash, const char *spelled)
{
    SensorKind kind;
    double low, high, shown = 0, back = 0;
    if (!sensor_read_kind(text_of(spelled), &kind, NULL)) return;
    sensor_range(&kind, &low, &high);
    for (int i = 0; i <= 400; i++) {
        const double celsius = low + (high - low) * i / 400;
        const bool is_shown = sensor_is_resistive(&kind) ? sensor_ohm(&kind, celsius, &shown, NULL)
                                                         : sensor_millivolt(&kind, celsius, &shown, NULL);
        const bool is_back = is_shown && (sensor_is_resistive(&kind)
                                              ? sensor_celsius_from_ohm(&kind, shown, &back, NULL)
                                              : sensor_celsius_from_millivolt(&kind, shown, &back, NULL));
        fold(hash, is_shown ? shown : -1);
        fold(hash, is_back ? back : -1);
    }
}

static void fold_sensors(uint64_t *hash)
{
    static const char *const kinds[] = {"pt100", "pt1000", "k", "j", "t", "n", "e", "ntc:100kohm,3950"};
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++) fold_one_sensor(hash, kinds[i]);
}

static void fold_meter(uint64_t *hash)
{
    RandomStream stream = random_stream(4);
    const Meter meter = meter_default();
    for (int i = 0; i < ROUNDS; i++) {
        const double reading = math_exp(spread(&stream, -3, 15));
        const double uncertainty = meter_uncertainty(&meter, METER_OHM, reading);
        fold(hash, meter_display(&meter, METER_OHM, reading));
        fold(hash, uncertainty);
        fold(hash, meter_inside_probability(reading, uncertainty, reading * 0.99, reading * 1.02));
    }
}

/* Every check of the small oven read under every fault, then a call of three readings: posterior and plan. */
static bool fold_readings(uint64_t *hash, DiagnosisModel *model, Arena *arena)
{
    const Appliance *appliance = model->appliance;
    double *values = ARENA_ARRAY(arena, double, (size_t)model->circuit.variant_count);
    if (!values) return false;
    for (int from = 1; from < appliance->mark_count; from++)
        for (int to = from + 1; to < appliance->mark_count; to++)
            for (int kind = READING_OHM; kind <= READING_VOLT; kind++) {
                const Connection connection = {.kind = (ReadingKind)kind,
                                               .from = from,
                                               .to = to,
                                               .function = kind == READING_VOLT,
                                               .power_on = kind == READING_VOLT};
                CircuitMeter meter;
                if (!circuit_connect(&model->circuit, &connection, &meter, NULL)) return false;
                circuit_read_all(&meter, values);
                fold(hash, circuit_read(&meter, NULL, 0).value);
                for (int i = 0; i < model->circuit.variant_count; i++) fold(hash, values[i]);
            }
    return true;
}

static bool fold_standing(uint64_t *hash, DiagnosisModel *model, Arena *arena)
{
    const Appliance *appliance = model->appliance;
    const int line = appliance->legs[0], bottom = appliance_find_mark(appliance, "B1");
    const Entry entries[] = {
        {.kind = ENTRY_READING,
         .connection = {.kind = READING_VOLT, .from = line, .to = appliance->neutral, .power_on = true},
         .value = {.value = 228, .unit = UNIT_VOLT}},
        {.kind = ENTRY_READING,
         .connection = {.kind = READING_OHM, .from = bottom, .to = appliance->neutral},
         .value = {.value = 61, .unit = UNIT_OHM}},
        {.kind = ENTRY_READING,
         .connection = {.kind = READING_OHM, .from = bottom, .to = appliance->frame},
         .value = {.value = 1.0 / 0.0, .is_over = true}},
    };
    const Call call = {.ambient_celsius = 22,
                       .meter = meter_default(),
                       .entries = entries,
                       .entry_count = sizeof entries / sizeof entries[0]};
    const PlanTerms terms = plan_default_terms();
    Standing standing;
    Plan plan;
    if (!diagnose(model, &call, arena, &standing, NULL)) return false;
    if (!plan_next(model, &standing, &terms, arena, &plan, NULL)) return false;
    for (int i = 0; i < model->hypothesis_count; i++) fold(hash, standing.probability[i]);
    for (int i = 0; i < standing.suspect_count; i++) fold(hash, standing.suspects[i].probability);
    for (int i = 0; i < plan.step_count; i++) fold(hash, plan.steps[i].information);
    return true;
}

static void fold_oven(uint64_t *hash)
{
    Arena arena = arena_new(64 << 20);
    const Meter meter = meter_default();
    Appliance appliance;
    DiagnosisModel model;
    Error error = {0};
    const bool is_done = oven_build(&arena, &appliance, &error) &&
                         diagnosis_begin(&appliance, 22, &meter, NULL, &arena, &model, &error) &&
                         fold_readings(hash, &model, &arena) && fold_standing(hash, &model, &arena);
    if (!is_done) *hash = 0; /* shows as no hash at all; the script refuses it */
    arena_free(&arena);
}

/* An oven of typical size, not one of the shipped: its numbers only have to be those of some oven. */
static Oven typical_oven(void)
{
    Oven oven = {
        .control = {.heating = {.until_second = {51, 60}, .watt = {{2500, 0, 0}, {0, 3000, 0}}, .count = 2},
                    .off_kelvin = 453,
                    .on_kelvin = 447,
                    .trip_kelvin = 1e9,
                    .reset_kelvin = -1e9}};
    static const double capacity[OVEN_NODES] = {100,  310, 370,  1,    1600, 3100, 1600, 3000,
                                                1300, 1.5, 2e-3, 2900, 7000, 8000, 1};
    OvenNetwork *n = &oven.network;
    double star = 0;
    for (int i = 0; i < OVEN_NODES; i++) n->per_capacity[i] = 1 / capacity[i];
    for (int i = OVEN_BOTTOM; i < OVEN_STARRED; i++) {
        n->star[i] = i < OVEN_FLOOR ? 1.5e-9 : i < OVEN_SENSOR ? 1.2e-8 : 1e-12 * capacity[i];
        n->free[i] = i < OVEN_FLOOR ? 0.2 : i < OVEN_SENSOR ? 0.6 : 0.015 * capacity[i];
        star += n->star[i];
    }
    n->star_closed[0] = 1 / star;
    n->facing[0] = n->facing[1] = 8e-10;
    n->facing[3] = 1.2e-8;
    for (int i = 0; i < 5; i++) n->wool[i] = i == 3 ? 0 : 0.5 + i;
    n->wool_slope[0] = 0.002;
    for (int i = 0; i < 4; i++) n->metal[i] = 0.5;
    n->outside_free[0] = n->outside_free[1] = 1.5;
    n->outside_radiate[0] = n->outside_radiate[1] = 4e-8;
    n->vent[0] = 1;
    n->wire[0] = 1;
    n->ambient[0] = 295;
    n->ambient_fourth[0] = 295.0 * 295 * 295 * 295;
    return oven;
}

/* Nine of them, so that a full batch and a rest are run, in all three precisions. */
static void fold_warming(uint64_t *hash)
{
    enum { OVENS = 9, SAMPLES = 361 };
    static float trace[OVENS][SAMPLES];
    const OvenTerms terms = {.second = 3600,
                             .sample_second = 10,
                             .sample_count = SAMPLES,
                             .start_celsius = 22,
                             .load_celsius = 22};
    Oven ovens[OVENS];
    const Oven *lanes[OVENS];
    OvenRun runs[OVENS];
    for (int precision = OVEN_SINGLE; precision <= OVEN_SCALAR; precision++) {
        for (int i = 0; i < OVENS; i++) {
            ovens[i] = typical_oven();
            ovens[i].network.vent[0] = 1 + 0.2 * i;
            lanes[i] = &ovens[i];
            runs[i] = (OvenRun){.trace = {trace[i]}};
        }
        oven_simulate(lanes, runs, OVENS, &terms, (OvenPrecision)precision);
        for (int i = 0; i < OVENS; i++) {
            fold(hash, runs[i].given_joule);
            for (int k = 0; k < SAMPLES; k++) fold(hash, (double)trace[i][k]);
        }
    }
}

static void fold_heat(uint64_t *hash)
{
    for (double celsius = 30; celsius < 600; celsius += 7) {
        fold(hash, heat_convection_vertical(0.4, celsius, 22));
        fold(hash, heat_convection_cylinder(0.008, celsius, 180));
        fold(hash, heat_convection_gap(0.015, 0.4, celsius, 60));
        fold(hash, heat_stack_flow(1e-3, 1e-3, 0.4, HEAT_DISCHARGE, celsius, 22));
    }
}

static const struct {
    const char *name;
    void (*fold)(uint64_t *hash);
} parts[] = {
    {"mathematics", fold_mathematics},
    {"text", fold_text},
    {"dense", fold_dense},
    {"sensors", fold_sensors},
    {"meter", fold_meter},
    {"oven", fold_oven},
    {"heat", fold_heat},
    {"warming", fold_warming},
};

EXPORT("check_part_count") int check_part_count(void) { return sizeof parts / sizeof parts[0]; }

EXPORT("check_part_name") const char *check_part_name(int part) { return parts[part].name; }

EXPORT("check_part_hash") uint64_t check_part_hash(int part)
{
    uint64_t hash = UINT64_C(0xcbf29ce484222325);
    parts[part].fold(&hash);
    return hash;
}

#ifndef __wasm__
int main(void)
{
    for (int part = 0; part < check_part_count(); part++)
        printf("%-12s %016" PRIx64 "\n", check_part_name(part), check_part_hash(part));
    return 0;
}
#endif
