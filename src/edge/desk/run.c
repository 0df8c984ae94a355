/* run.c: a run of a call, and its picture. */
#include "edge/desk/desk_private.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "format/call_yaml/call_yaml.h"

enum { VALUE_LENGTH = 80, SAID_LIMIT = 4000 };

/* How far off its set temperature an oven may be before anybody adjusts it (common practice, no source). */
static const double usual_tolerance_kelvin = 15 / 1.8;

/* What senses without being a sensor has a screw. */
RunControl desk_run_control(const Appliance *appliance)
{
    const DescribedRegulation *regulation = &appliance->description->regulation;
    const int senses = regulation->senses ? appliance_find_part(appliance, regulation->senses) : -1;
    return (RunControl){.offset_from_kelvin = regulation->offset_from_kelvin,
                        .offset_to_kelvin = regulation->offset_to_kelvin,
                        .offset_step_kelvin = regulation->offset_step_kelvin,
                        .differential_kelvin = regulation->differential_kelvin,
                        .is_screw = senses >= 0 && !appliance->parts[senses].described->has_sensor};
}

/* The captions of plots, with their figures. */
bool desk_draw_run(const Words *words, const RunLog *log, const Run *run, double tolerance_kelvin,
                   Arena *arena, Plot *plot, Error *error)
{
    static const char *const labels[] = {"plot.label-mean",   "plot.label-error",   "plot.label-swing",
                                         "plot.label-period", "plot.label-preheat", "plot.label-overshoot"};
    char set[VALUE_LENGTH], mean[VALUE_LENGTH], cycles[VALUE_LENGTH], band[VALUE_LENGTH],
        values[6][VALUE_LENGTH];
    *plot = (Plot){.log = log, .run = run, .tolerance_kelvin = tolerance_kelvin};
    words_write_temperature(words, run->set_celsius, 0, set, sizeof set);
    words_write_temperature(words, run->mean_celsius.value, 1, mean, sizeof mean);
    snprintf(cycles, sizeof cycles, "%d", run->cycles);
    words_write_width(words, tolerance_kelvin, band, sizeof band);
    for (int c = 0; c < PLOT_CAPTION_COUNT; c++) {
        char key[VALUE_LENGTH];
        TextBuilder text = text_builder(arena, SAID_LIMIT);
        snprintf(key, sizeof key, "plot.%s", plot_caption_key((PlotCaption)c));
        words_say(words, &text, key,
                  (WordValue[]){{"celsius", set}, {"mean", mean}, {"cycles", cycles}, {"tolerance", band}},
                  4);
        plot->captions[c] = text_string(&text);
    }
    words_write_temperature(words, run->mean_celsius.value, 1, values[0], VALUE_LENGTH);
    words_write_difference(words, run->error_kelvin.value, true, values[1], VALUE_LENGTH);
    words_write_difference(words, run->swing_kelvin.value, false, values[2], VALUE_LENGTH);
    words_write_time(run->period_second.value, values[3], VALUE_LENGTH);
    words_write_time(run->preheat_second.value, values[4], VALUE_LENGTH);
    words_write_difference(words, run->overshoot_kelvin.value, true, values[5], VALUE_LENGTH);
    const double shown[] = {run->mean_celsius.value,  run->error_kelvin.value,   run->swing_kelvin.value,
                            run->period_second.value, run->preheat_second.value, run->overshoot_kelvin.value};
    PlotFigure *figures = ARENA_ARRAY(arena, PlotFigure, 6);
    if (!figures) return error_memory(error);
    for (int f = 0; f < 6; f++) {
        TextBuilder label = text_builder(arena, SAID_LIMIT);
        words_say(words, &label, labels[f], NULL, 0);
        const char *value = isfinite(shown[f]) ? values[f] : words_find(words, "run.unknown");
        figures[f] = (PlotFigure){text_string(&label), arena_copy_text(arena, value, strlen(value))};
        if (!figures[f].value) return error_memory(error);
    }
    plot->figures = figures;
    plot->figure_count = 6;
    return true;
}

/* ---- of a call on record */

/* The number of the entry that the record became; -1. */
static int entry_of(const DeskCall *found, int record)
{
    int entry = 0;
    for (int r = 0; r < found->trail.count; r++) {
        const bool counts = !found->state.is_struck[r] && found->trail.records[r]->kind == TRAIL_ENTRY;
        if (r == record - 1) return counts ? entry : -1;
        entry += counts;
    }
    return -1;
}

/* In which the oven was set; -1: an appliance that does not bake. */
static int function_of(const Entry *entry, const ThermalModel *model)
{
    return entry->function > 0 ? entry->function : thermal_usual_function(model);
}

/* How a sound oven of this type would have warmed, from where the log begins to heat. An appliance that
 * cannot be simulated has none, and that is no error. */
static bool simulate_sound(const Appliance *appliance, const Call *call, const Entry *entry, Arena *arena,
                           DeskRun *run, Error *error)
{
    enum { EVERY_SECOND = 10, MOST_SAMPLES = 2000 };
    const double length = run->run.to_second - run->run.from_second;
    Circuit circuit;
    ThermalModel model;
    Oven oven;
    OvenRun simulated = {.switch_room = 0}; /* trace 0 is the centre's */
    run->sound = (Plot){.sound = NULL};
    if (!circuit_begin(appliance, call->ambient_celsius, arena, &circuit, error) ||
        !thermal_begin(&circuit, &model, error))
        return false;
    const int function = function_of(entry, &model);
    if (function < 0 || !(length > EVERY_SECOND) ||
        !thermal_oven(&model, function, entry->set_celsius, NULL, 0, NULL, &oven))
        return true;
    const int count = length / EVERY_SECOND < MOST_SAMPLES ? (int)(length / EVERY_SECOND) : MOST_SAMPLES;
    simulated.trace[0] = ARENA_ARRAY(arena, float, (size_t)count);
    if (!simulated.trace[0]) return error_memory(error);
    const OvenTerms terms = {.second = (double)count * EVERY_SECOND,
                             .sample_second = EVERY_SECOND,
                             .sample_count = count,
                             .start_celsius = call->ambient_celsius,
                             .load_celsius = call->ambient_celsius};
    const Oven *ovens[] = {&oven};
    oven_simulate(ovens, &simulated, 1, &terms, OVEN_DOUBLE);
    run->sound = (Plot){.sound = simulated.trace[0],
                        .sound_count = count,
                        .sound_from_second = run->run.from_second,
                        .sound_every_second = EVERY_SECOND};
    return true;
}

bool desk_read_run(Store *store, const DeskCall *found, int record, Arena *arena, DeskRun *run, Error *error)
{
    DeskSource source;
    Appliance appliance;
    Call call;
    Text bytes;
    const int number = entry_of(found, record);
    if (!desk_source(store, found, NULL, arena, &source, error) ||
        !desk_read_call(&source, arena, &appliance, &call, error))
        return false;
    const Entry *entry = number >= 0 && number < call.entry_count ? &call.entries[number] : NULL;
    const char *hash = entry ? found->trail.records[record - 1]->attachment : "";
    if (!entry || entry->kind != ENTRY_RUN || !hash[0])
        return error_set(error, ERROR_MISSING, "a record without a log", "a run with its log attached");
    if (!store_read_attachment(store, hash, arena, &bytes, error)) return false;
    if (!bytes.bytes) return error_set(error, ERROR_MISSING, hash, "an attachment that is in the store");
    run->tolerance_kelvin = usual_tolerance_kelvin;
    if (!desk__analyse(entry->text, bytes, entry, arena, &run->log, &run->run, error)) return false;
    const RunControl control = desk_run_control(&appliance);
    run_advise(&run->run, 1, &control, run->tolerance_kelvin, &run->advice);
    return simulate_sound(&appliance, &call, entry, arena, run, error);
}
