/* baked.c: see baked.h. */
#include "support/baked.h"

#include "support/near.h"

#include <math.h>

enum { SAMPLES = (int)(BAKED_SECOND / BAKED_EVERY) + 1 };

static void draw_family(const BakedTerms *terms, RandomStream *stream, ThermalFamily *family)
{
    for (int t = 0; t < THERMAL_FAMILY_COUNT; t++) family->trait[t] = terms->traits * random_normal(stream);
}

static void bake(const DiagnosisModel *model, const int *variants, int count, const ThermalFamily *family,
                 float *trace, float *sensor)
{
    Oven oven;
    const Oven *lane = &oven;
    OvenRun run = {.trace = {[OVEN_TRACE_CENTRE] = trace, [OVEN_TRACE_SENSOR] = sensor}};
    const double kitchen = model->circuit.ambient_celsius;
    const OvenTerms terms = {.second = BAKED_SECOND,
                             .sample_second = BAKED_EVERY,
                             .sample_count = SAMPLES,
                             .start_celsius = kitchen,
                             .load_celsius = kitchen};
    assert_true(thermal_oven(&model->thermal, model->usual_function, BAKED_SET_CELSIUS, variants, count,
                             family, &oven));
    oven_simulate(&lane, &run, 1, &terms, OVEN_DOUBLE);
}

static RunTerms thermometer(void)
{
    RunTerms terms = {.set_celsius = BAKED_SET_CELSIUS, .has_probe = true, .probe_class = SENSOR_CLASS_2};
    Error error;
    assert_true(sensor_read_kind(text_of("k"), &terms.probe, &error));
    return terms;
}

void baked_run(const DiagnosisModel *model, const int *variants, int count, const BakedTerms *terms,
               RandomStream *stream, Arena *arena, Run *run)
{
    float trace[SAMPLES], sensor[SAMPLES];
    double second[SAMPLES], celsius[SAMPLES], beside[SAMPLES], limit;
    ThermalFamily family;
    Error error;
    const RunTerms asked = thermometer();
    assert_true(sensor_tolerance(&asked.probe, asked.probe_class, BAKED_SET_CELSIUS, &limit, &error));
    draw_family(terms, stream, &family);
    bake(model, variants, count, &family, trace, sensor);
    const double off = terms->probe * limit * (2 * random_uniform(stream) - 1);
    for (int i = 0; i < SAMPLES; i++) {
        second[i] = i * BAKED_EVERY;
        celsius[i] = (double)trace[i] + off + terms->noise_kelvin * random_normal(stream);
    }
    const RunLog log = {.second = second,
                        .count = SAMPLES,
                        .channels = {{"", celsius, false}, {"sensor", beside, false}},
                        .channel_count = 2};
    if (!run_analyse(&log, 0, &asked, arena, run, &error))
        fail_msg("%s; expected %s", error.found, error.expected);
    if (!terms->at_sensor) return;
    const double beside_off = terms->probe * limit * (2 * random_uniform(stream) - 1);
    for (int i = 0; i < SAMPLES; i++)
        beside[i] = (double)sensor[i] + beside_off + terms->noise_kelvin * random_normal(stream);
    assert_true(run_add_sensor(&log, 1, arena, run, &error));
}

Entry baked_entry(const DiagnosisModel *model, const Run *run)
{
    return (Entry){.kind = ENTRY_RUN,
                   .part = -1,
                   .function = model->usual_function,
                   .set_celsius = BAKED_SET_CELSIUS,
                   .text = "log.csv",
                   .run = run};
}
