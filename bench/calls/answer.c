/* answer.c: what a virtual oven shows to meter, ear and thermometer; see world.h. What the eye sees on its
 * parts is in marks.c.
 *
 * A reading is the true circuit's, off by the meter's own error; of a part that is on one of the words is
 * seen that this kind of part can show, by their chances under the truth; a run is the true oven's, baked and
 * logged with the technician's thermocouple, and analysed like any other log.
 *
 * One reading in a hundred is a slip: taken beside the mark that was meant, on a wrong range, or misread.
 * Numbers in capitals are common practice, no source. */
#include "world.h"

#include "base/mathematics.h"

#include <assert.h>
#include <math.h>

static const double SLIP = 0.01, NOISE_KELVIN = 0.3, SAMPLE_SECOND = 10;
static const double OWNER_ERRS = 0.05;
static const double CLIPPED_KELVIN = 2; /* of a probe clipped to a bulb, one standard deviation */
static const double SPOT_KELVIN = 3, SPOT_CYCLE_SECOND = 600; /* read off a moving display, within a cycle */
enum { ABOUT_RUN = 1 << 23, MOST_SAMPLES = 1000, SCRATCH_BYTES = 8 << 20 };

static const MeterMode modes[] = {METER_OHM, METER_VOLT, METER_AMPERE};

/* --- readings --- */

static bool read_true(World *world, const Connection *connection, double *value, Error *error)
{
    CircuitMeter meter;
    const Hypothesis *truth = &world->model.hypotheses[world__hypothesis(world)];
    if (!circuit_connect(&world->model.circuit, connection, &meter, error)) return false;
    *value = circuit_read(&meter, truth->variants, truth->count).value;
    return true;
}

bool world_true_reading(World *world, const Connection *connection, double *value, Error *error)
{
    return read_true(world, connection, value, error);
}

/* Systematic in its ratio, new each time in its counts. */
static double display(const World *world, MeterMode mode, double value, RandomStream *stream)
{
    const Meter *meter = &world->assumed->meter;
    if (meter_is_over(meter, mode, value)) return INFINITY;
    const double counts = meter->dial[mode].accuracy.counts * meter_resolution(meter, mode, value);
    const double leads = mode == METER_OHM ? world->meter_error.lead_ohm : 0;
    const double off = world->meter_error.ratio[mode] * value + counts * (2 * random_uniform(stream) - 1);
    return meter_display(meter, mode, fmax(value + off + leads, 0));
}

/* Another mark in the same place, where a probe may land. */
static int mark_beside(const Appliance *appliance, int mark, int other, RandomStream *stream)
{
    int found = mark, count = 0;
    for (int m = 1; m < appliance->mark_count; m++) {
        if (m == mark || m == other || appliance->marks[m].place != appliance->marks[mark].place) continue;
        if (random_below(stream, (uint32_t)++count) == 0) found = m;
    }
    return found;
}

/* A clamp goes around a wire, so it has no mark to miss. */
static bool slip(World *world, const Connection *meant, double *shown, RandomStream *stream, Error *error)
{
    const MeterMode mode = modes[meant->kind];
    const uint32_t sort = random_below(stream, 3);
    if (sort == 0 && meant->kind != READING_AMP) {
        Connection connection = *meant;
        double value;
        connection.to = mark_beside(&world->built, meant->to, meant->from, stream);
        if (!read_true(world, &connection, &value, error)) return false;
        *shown = display(world, mode, value, stream);
    } else if (sort == 1 && meant->kind == READING_OHM) {
        *shown = INFINITY; /* on a range below it */
    } else if (isfinite(*shown)) {
        *shown = meter_display(&world->assumed->meter, mode, *shown * (random_below(stream, 2) ? 0.1 : 0.6));
    }
    return true;
}

static bool answer_reading(World *world, int check, RandomStream *stream, Entry *entry, Error *error)
{
    const Outcome any = {.kind = OUTCOME_DISPLAY};
    const Connection connection = diagnosis_entry(world->assumed, check, &any, NULL).connection;
    double value;
    if (!read_true(world, &connection, &value, error)) return false;
    double shown = display(world, modes[connection.kind], value, stream);
    if (random_uniform(stream) < SLIP && !slip(world, &connection, &shown, stream, error)) return false;
    if (connection.kind != READING_OHM && isinf(shown)) shown = 0; /* a voltmeter shows no OL */
    const Outcome seen = {.kind = OUTCOME_DISPLAY, .low = shown, .high = shown};
    *entry = diagnosis_entry(world->assumed, check, &seen, NULL);
    return true;
}

/* --- what is on, and what is displayed --- */

/* How a part goes that is on, and whether a code is displayed, by their chances under the truth. */
static bool answer_watched(World *world, int check, RandomStream *stream, Entry *entry, Error *error)
{
    Arena scratch = arena_new(SCRATCH_BYTES);
    Prediction prediction;
    const int truth = world__hypothesis(world);
    const bool went_well =
        diagnosis_predict(&world->model, NULL, check, &truth, 1, &scratch, &prediction, error);
    if (went_well) {
        double at = random_uniform(stream);
        int o = 0;
        while (o + 1 < prediction.outcome_count && at >= prediction.chance[o]) at -= prediction.chance[o++];
        *entry = diagnosis_entry(world->assumed, check, &prediction.outcomes[o], NULL);
    }
    arena_free(&scratch);
    return went_well;
}

/* --- what is said and displayed --- */

/* Now and then the owner takes the question wrongly; what was said of his own accord stands. */
static void answer_question(const World *world, int check, RandomStream *stream, Entry *entry)
{
    const int word = world->assumed->appliance->checks[check].word;
    bool is_yes = world->would_say[word] != (random_uniform(stream) < OWNER_ERRS);
    for (int i = 0; i < world->word_count; i++) is_yes |= world->words[i] == word;
    const Outcome said = {.kind = is_yes ? OUTCOME_YES : OUTCOME_NO};
    *entry = diagnosis_entry(world->assumed, check, &said, NULL);
}

/* A whole number of steps. */
static void answer_offset(const World *world, int check, Entry *entry)
{
    const DescribedRegulation *regulation = &world->assumed->appliance->description->regulation;
    double kelvin = world->set_offset_kelvin;
    for (int i = 0; i < world->left_count; i++)
        if (world->assumed->appliance->faults[world->drawn[world->left[i]]].mode->setting)
            kelvin = world->severity[world->left[i]];
    if (regulation->offset_step_kelvin > 0)
        kelvin = regulation->offset_step_kelvin * floor(kelvin / regulation->offset_step_kelvin + 0.5);
    const Outcome shown = {.kind = OUTCOME_OFFSET, .low = kelvin, .high = kelvin};
    *entry = diagnosis_entry(world->assumed, check, &shown, NULL);
}

/* --- temperatures --- */

bool world__oven(const World *world, double set_celsius, Oven *oven)
{
    const Hypothesis *truth = &world->model.hypotheses[world__hypothesis(world)];
    if (world->assumed->usual_function < 0 ||
        !thermal_oven(&world->model.thermal, world->assumed->usual_function, set_celsius, truth->variants,
                      truth->count, &world->family, oven))
        return false;
    oven->control.off_kelvin += world->adjusted_kelvin;
    oven->control.on_kelvin += world->adjusted_kelvin;
    return true;
}

static void bake(const World *world, const Oven *oven, int samples, float *trace, float *sensor)
{
    const double kitchen = world->assumed->circuit.ambient_celsius;
    OvenRun run = {.trace = {[OVEN_TRACE_CENTRE] = trace, [OVEN_TRACE_SENSOR] = sensor}};
    const OvenTerms terms = {.second = (samples - 1) * SAMPLE_SECOND,
                             .sample_second = SAMPLE_SECOND,
                             .sample_count = samples,
                             .start_celsius = kitchen,
                             .load_celsius = kitchen};
    oven_simulate(&oven, &run, 1, &terms, OVEN_SINGLE);
}

/* The second thermometer is another one, and clipped to the bulb it touches it more or less well. */
static bool analyse(World *world, const float *centre, const float *sensor, int samples, RandomStream *stream,
                    Run *run, Error *error)
{
    double second[MOST_SAMPLES], celsius[2][MOST_SAMPLES];
    const double probe_kelvin = world->meter_error.probe_kelvin;
    RunTerms terms = {.set_celsius = WORLD_SET_CELSIUS, .has_probe = true, .probe_class = SENSOR_CLASS_2};
    if (!sensor_read_kind(text_of("k"), &terms.probe, error)) return false;
    for (int i = 0; i < samples; i++) {
        second[i] = i * SAMPLE_SECOND;
        celsius[0][i] = (double)centre[i] + probe_kelvin + NOISE_KELVIN * random_normal(stream);
    }
    const double clipped_kelvin = CLIPPED_KELVIN * random_normal(stream);
    for (int i = 0; i < samples; i++)
        celsius[1][i] = (double)sensor[i] + clipped_kelvin + NOISE_KELVIN * random_normal(stream);
    const RunLog log = {.second = second,
                        .count = samples,
                        .channels = {{"", celsius[0], false}, {"sensor", celsius[1], false}},
                        .channel_count = 2};
    return run_analyse(&log, 0, &terms, &world->runs, run, error) &&
           run_add_sensor(&log, 1, &world->runs, run, error);
}

bool world_run(World *world, double second, Entry *entry, Error *error)
{
    float centre[MOST_SAMPLES], sensor[MOST_SAMPLES];
    Oven oven;
    RandomStream stream = world__stream(world, ABOUT_RUN, (uint64_t)world->runs_made++);
    const int samples = (int)fmin(second / SAMPLE_SECOND, MOST_SAMPLES - 1) + 1;
    Run *run = ARENA_ARRAY(&world->runs, Run, 1);
    if (!run) return error_memory(error);
    *entry = (Entry){.kind = ENTRY_RUN,
                     .part = -1,
                     .function = world->assumed->usual_function,
                     .set_celsius = WORLD_SET_CELSIUS,
                     .text = "log",
                     .run = run};
    if (!world__oven(world, WORLD_SET_CELSIUS, &oven)) {
        entry->run = NULL;
        return true;
    }
    bake(world, &oven, samples, centre, sensor);
    return analyse(world, centre, sensor, samples, &stream, run, error);
}

/* What stands there at some moment of a cycle: a technician comes back to the oven when there is time to. */
static bool answer_spot(World *world, int check, RandomStream *stream, Entry *entry, Error *error)
{
    float trace[MOST_SAMPLES];
    Oven oven;
    const double second =
        world->assumed->appliance->checks[check].second + SPOT_CYCLE_SECOND * random_uniform(stream);
    const int samples = (int)fmin(second / SAMPLE_SECOND, MOST_SAMPLES - 1) + 1;
    if (!world__oven(world, WORLD_SET_CELSIUS, &oven))
        return error_set(error, ERROR_DEFECT, "spot", "an oven that can be simulated");
    bake(world, &oven, samples, trace, NULL);
    const double shown =
        (double)trace[samples - 1] + world->meter_error.probe_kelvin + SPOT_KELVIN * random_normal(stream);
    const Outcome seen = {.kind = OUTCOME_CELSIUS, .low = shown, .high = shown};
    *entry = diagnosis_entry(world->assumed, check, &seen, NULL);
    return true;
}

/* --- any check --- */

bool world_answer(World *world, int check, Entry *entry, Error *error)
{
    assert(check >= 0 && check < world->assumed->appliance->check_count);
    RandomStream stream = world__stream(world, (uint64_t)check, (uint64_t)world->made[check]++);
    const Check *asked = &world->assumed->appliance->checks[check];
    switch (asked->kind) {
    case CHECK_SIGHT:
    case CHECK_STRIP: return world__look(world, check, &stream, entry, error);
    case CHECK_GLANCE: return world__look_over(world, check, &stream, entry, error);
    case CHECK_WATCH:
    case CHECK_CODE: return answer_watched(world, check, &stream, entry, error);
    case CHECK_RUN: return world_run(world, asked->second, entry, error);
    case CHECK_SPOT: return answer_spot(world, check, &stream, entry, error);
    case CHECK_OFFSET: answer_offset(world, check, entry); return true;
    case CHECK_ASK: answer_question(world, check, &stream, entry); return true;
    default: return answer_reading(world, check, &stream, entry, error);
    }
}
