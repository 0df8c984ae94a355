/* command_run.c: `ovenwright run FILE --set T ...`: what a temperature log says, and what to set.
 *
 * Files and set temperatures belong together in the order in which they are typed; several make one advice,
 * from which a constant shift can be told from one that grows. The plot is part of the text answer, and a
 * drawing with -o.
 *
 * Fahrenheit is the unit of offsets and steps here, since North American controls count in it. */
#include "edge/cli/command.h"

#include "base/quantity.h"
#include "core/run/run.h"
#include "edge/cli/files.h"
#include "edge/cli/load.h"
#include "format/call_json/call_json.h"
#include "format/log_text/log_text.h"
#include "format/plot/plot.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { VALUE_LENGTH = 80, SAID_LIMIT = 4000, MOST_ASSUMPTIONS = 24 };

/* Common practice, no source: what a control without a description is taken to allow, and how far off its set
 * temperature an oven may be before anybody adjusts it. */
static const RunControl usual_control = {.offset_from_kelvin = -35 / 1.8,
                                         .offset_to_kelvin = 35 / 1.8,
                                         .offset_step_kelvin = 5 / 1.8,
                                         .differential_kelvin = 25 / 1.8};
static const double tolerance_kelvin = 15 / 1.8;

/* What every routine below needs. */
typedef struct {
    Invocation *invocation;
    Words words;
    LogText logs[COMMAND_MOST_ARGUMENTS];
    Run runs[COMMAND_MOST_ARGUMENTS];
    RunTerms terms;
    RunControl control;
    RunAdvice advice;
    const char *columns[COMMAND_MOST_ARGUMENTS];
    const char *assumptions[MOST_ASSUMPTIONS], *said[MOST_ASSUMPTIONS];
    int count, assumption_count;
} Answer;

static void assume(Answer *answer, const char *word, const WordValue *values, int count)
{
    TextBuilder text = text_builder(answer->invocation->arena, SAID_LIMIT);
    char key[VALUE_LENGTH];
    for (int i = 0; i < answer->assumption_count; i++)
        if (text_equal(answer->assumptions[i], word)) return;
    if (answer->assumption_count == MOST_ASSUMPTIONS) return;
    snprintf(key, sizeof key, "run.assumption.%s", word);
    words_say(&answer->words, &text, key, values, count);
    answer->assumptions[answer->assumption_count] = word;
    answer->said[answer->assumption_count++] = text_string(&text);
}

static bool read_unit(const Invocation *invocation, LogTextUnit *unit, Error *error)
{
    const char *typed = cli__option(invocation, OPTION_UNIT, NULL);
    *unit = LOG_TEXT_UNIT_OPEN;
    if (!typed) return true;
    if (text_equal(typed, "C")) *unit = LOG_TEXT_CELSIUS;
    if (text_equal(typed, "F")) *unit = LOG_TEXT_FAHRENHEIT;
    return *unit != LOG_TEXT_UNIT_OPEN ? true : error_set(error, ERROR_USAGE, typed, "--unit C or F");
}

/* The classes that sensors are sold in when nobody says: 2 for thermocouples, B for platinum. */
static bool read_class(Answer *answer, Error *error)
{
    const char *typed = cli__option(answer->invocation, OPTION_CLASS, NULL);
    RunTerms *terms = &answer->terms;
    const bool has_classes =
        terms->probe.family == SENSOR_PLATINUM || terms->probe.family == SENSOR_THERMOCOUPLE;
    if (typed) return sensor_read_class(text_of(typed), &terms->probe, &terms->probe_class, error);
    if (!has_classes) return true;
    const bool is_platinum = terms->probe.family == SENSOR_PLATINUM;
    terms->probe_class = is_platinum ? SENSOR_CLASS_B : SENSOR_CLASS_2;
    assume(answer, "thermometer-class", (WordValue[]){{"class", is_platinum ? "B" : "2"}}, 1);
    return true;
}

static bool read_thermometer(Answer *answer, Error *error)
{
    const char *probe = cli__option(answer->invocation, OPTION_PROBE, NULL);
    const char *meter = cli__option(answer->invocation, OPTION_METER, NULL);
    RunTerms *terms = &answer->terms;
    terms->has_probe = probe != NULL;
    terms->has_meter = meter != NULL;
    if (!probe && cli__has_option(answer->invocation, OPTION_CLASS))
        return error_set(error, ERROR_USAGE, "--class without --probe", "the sensor that is of this class");
    if (!probe && !meter) assume(answer, "no-thermometer", NULL, 0);
    if (probe && (!sensor_read_kind(text_of(probe), &terms->probe, error) || !read_class(answer, error)))
        return false;
    return !meter || meter_read_accuracy(text_of(meter), &terms->meter, error);
}

static bool read_control(Answer *answer, Error *error)
{
    const char *name = cli__option(answer->invocation, OPTION_APPLIANCE, NULL);
    answer->control = usual_control;
    if (!name) {
        assume(answer, "usual-control", NULL, 0);
    } else {
        Appliance *appliance = arena_take(answer->invocation->arena, sizeof *appliance);
        if (!appliance) return error_memory(error);
        if (!load_appliance_with_options(answer->invocation, name, appliance, error)) return false;
        const DescribedRegulation *regulation = &appliance->description->regulation;
        const int senses = regulation->senses ? appliance_find_part(appliance, regulation->senses) : -1;
        answer->control =
            (RunControl){.offset_from_kelvin = regulation->offset_from_kelvin,
                         .offset_to_kelvin = regulation->offset_to_kelvin,
                         .offset_step_kelvin = regulation->offset_step_kelvin,
                         .differential_kelvin = regulation->differential_kelvin,
                         .is_screw = senses >= 0 && !appliance->parts[senses].described->has_sensor};
    }
    const char *now = cli__option(answer->invocation, OPTION_OFFSET, NULL);
    return !now || quantity_read_difference(text_of(now), &answer->control.offset_now_kelvin, error);
}

/* The set temperature of each file, in order. */
static bool read_set(const Answer *answer, int index, double *celsius, Error *error)
{
    int found = 0;
    const Invocation *invocation = answer->invocation;
    for (int i = 0; i < invocation->option_count; i++) {
        if (invocation->options[i].code != OPTION_SET || found++ != index) continue;
        return quantity_read_as(text_of(invocation->options[i].words[0]), UNIT_CELSIUS, celsius, error);
    }
    return error_set(error, ERROR_USAGE, "too few --set",
                     "one for each log: the temperature that the oven was set to");
}

static void assume_from_log(Answer *answer, const LogText *log)
{
    for (int i = 0; i < LOG_TEXT_ASSUMPTION_COUNT; i++)
        if (log->has_assumption[i])
            assume(answer, log_text_assumption_word((LogTextAssumption)i),
                   (WordValue[]){{"column", log->column_names[log->column]}}, 1);
    if (log->is_hand_written) assume(answer, "hand-written", NULL, 0);
}

/* The bytes go as soon as the log is read: they have an arena of their own. */
static bool read_log(const char *file, const LogTextTerms *terms, Arena *arena, LogText *log, Error *error)
{
    Arena bytes_arena = arena_new((size_t)LOG_TEXT_MOST_BYTES * 4);
    Text bytes;
    const bool is_read = files_read(file, LOG_TEXT_MOST_BYTES, &bytes_arena, &bytes, error) &&
                         log_text_read(file, bytes, terms, arena, log, error);
    arena_free(&bytes_arena);
    return is_read;
}

static bool read_one(Answer *answer, int i, Error *error)
{
    Invocation *invocation = answer->invocation;
    const char *file = invocation->arguments[i];
    LogTextTerms log_terms = {.column = cli__option(invocation, OPTION_COLUMN, NULL)};
    LogText *log = &answer->logs[i];
    if (!read_set(answer, i, &answer->terms.set_celsius, error) ||
        !read_unit(invocation, &log_terms.unit, error) ||
        !read_log(file, &log_terms, invocation->arena, log, error))
        return false;
    assume_from_log(answer, log);
    answer->terms.is_hand_read = log->is_hand_written;
    answer->columns[i] = log->column_names[log->column];
    if (run_analyse(&log->log, 0, &answer->terms, invocation->arena, &answer->runs[i], error)) return true;
    return error_at(error, file, 0, 0);
}

/* Sentences with the figures of one run. */

static void say(const Answer *answer, const char *key, const WordValue *values, int count)
{
    TextBuilder *out = &answer->invocation->out;
    words_say(&answer->words, out, key, values, count);
    text_add(out, "\n");
}

static void write_mean(const Run *run, char *out, size_t size)
{
    snprintf(out, size, "%.1f F (%.1f C)", run->mean_celsius.value * 1.8 + 32, run->mean_celsius.value);
}

static void say_log(const Answer *answer, int i)
{
    const Run *run = &answer->runs[i];
    const LogText *log = &answer->logs[i];
    char rows[VALUE_LENGTH], length[VALUE_LENGTH], set[VALUE_LENGTH], column[VALUE_LENGTH];
    snprintf(rows, sizeof rows, "%d", log->log.count);
    words_write_time(run->to_second - run->from_second, length, sizeof length);
    words_write_temperature(run->set_celsius, set, sizeof set);
    TextBuilder name = text_builder(answer->invocation->arena, SAID_LIMIT);
    snprintf(column, sizeof column, "%d", log->column + 1);
    words_say(&answer->words, &name, "run.column",
              (WordValue[]){{"name", *answer->columns[i] ? answer->columns[i] : column}}, 1);
    say(answer, "run.log",
        (WordValue[]){{"file", answer->invocation->arguments[i]},
                      {"column", text_string(&name)},
                      {"rows", rows},
                      {"length", isfinite(run->from_second) ? length : "-"},
                      {"unit", log->log.channels[0].is_fahrenheit ? "F" : "C"}},
        5);
    say(answer, "run.set", (WordValue[]){{"celsius", set}}, 1);
}

static void say_cycles(const Answer *answer, const Run *run)
{
    char mean[VALUE_LENGTH], width[VALUE_LENGTH], cycles[VALUE_LENGTH], length[VALUE_LENGTH],
        from[VALUE_LENGTH], error[VALUE_LENGTH], swing[VALUE_LENGTH], period[VALUE_LENGTH],
        duty[VALUE_LENGTH];
    write_mean(run, mean, sizeof mean);
    words_write_difference(run->half_width_kelvin, false, width, sizeof width);
    snprintf(cycles, sizeof cycles, "%d", run->cycles);
    words_write_time(run->cycles * run->period_second.value, length, sizeof length);
    words_write_time(run->settled_second - run->from_second, from, sizeof from);
    words_write_difference(run->error_kelvin.value, true, error, sizeof error);
    words_write_difference(run->swing_kelvin.value, false, swing, sizeof swing);
    words_write_time(run->period_second.value, period, sizeof period);
    snprintf(duty, sizeof duty, "%.0f %%", 100 * run->duty.value);
    say(answer, "run.mean",
        (WordValue[]){
            {"mean", mean}, {"width", width}, {"cycles", cycles}, {"length", length}, {"from", from}},
        5);
    say(answer, "run.error", (WordValue[]){{"kelvin", error}}, 1);
    say(answer, "run.swing", (WordValue[]){{"kelvin", swing}}, 1);
    say(answer, "run.period", (WordValue[]){{"second", period}, {"duty", duty}}, 2);
}

static void say_preheat(const Answer *answer, const Run *run)
{
    char text[VALUE_LENGTH];
    if (isfinite(run->preheat_second.value)) {
        words_write_time(run->preheat_second.value, text, sizeof text);
        say(answer, "run.preheat", (WordValue[]){{"second", text}}, 1);
    }
    if (isfinite(run->overshoot_kelvin.value)) {
        words_write_difference(run->overshoot_kelvin.value, false, text, sizeof text);
        say(answer, "run.overshoot", (WordValue[]){{"kelvin", text}}, 1);
    }
}

/* Parts of the uncertainty that matter, largest or not: those of a twentieth of it and more. */
static void say_budget(const Answer *answer, const Run *run)
{
    const RunBudget *b = &run->budget;
    const struct {
        const char *key;
        double kelvin;
    } parts[] = {{"run.part.probe", b->probe},           {"run.part.meter", b->meter},
                 {"run.part.scatter", b->scatter},       {"run.part.sampling", b->sampling},
                 {"run.part.resolution", b->resolution}, {"run.part.drift", b->drift}};
    TextBuilder list = text_builder(answer->invocation->arena, SAID_LIMIT);
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) {
        char kelvin[VALUE_LENGTH];
        if (!(parts[i].kelvin > 0.05 * run->mean_celsius.uncertainty)) continue;
        snprintf(kelvin, sizeof kelvin, "%.2f F", parts[i].kelvin * 1.8);
        if (list.length > 0) text_add(&list, ", ");
        words_say(&answer->words, &list, parts[i].key, (WordValue[]){{"kelvin", kelvin}}, 1);
    }
    if (list.length > 0) say(answer, "run.because", (WordValue[]){{"parts", text_string(&list)}}, 1);
}

/* The captions of plots, with their figures. */
static bool make_plot(const Answer *answer, int i, Plot *plot, Error *error)
{
    static const char *const labels[] = {"plot.label-mean",   "plot.label-error",   "plot.label-swing",
                                         "plot.label-period", "plot.label-preheat", "plot.label-overshoot"};
    const Run *run = &answer->runs[i];
    Arena *arena = answer->invocation->arena;
    char set[VALUE_LENGTH], mean[VALUE_LENGTH], cycles[VALUE_LENGTH], band[VALUE_LENGTH],
        values[6][VALUE_LENGTH];
    *plot = (Plot){.log = &answer->logs[i].log, .run = run, .tolerance_kelvin = tolerance_kelvin};
    words_write_temperature(run->set_celsius, set, sizeof set);
    write_mean(run, mean, sizeof mean);
    snprintf(cycles, sizeof cycles, "%d", run->cycles);
    snprintf(band, sizeof band, "%.0f F", tolerance_kelvin * 1.8);
    for (int c = 0; c < PLOT_CAPTION_COUNT; c++) {
        char key[VALUE_LENGTH];
        TextBuilder text = text_builder(arena, SAID_LIMIT);
        snprintf(key, sizeof key, "plot.%s", plot_caption_key((PlotCaption)c));
        words_say(&answer->words, &text, key,
                  (WordValue[]){{"celsius", set}, {"mean", mean}, {"cycles", cycles}, {"tolerance", band}},
                  4);
        plot->captions[c] = text_string(&text);
    }
    snprintf(values[0], VALUE_LENGTH, "%.1f F (%.1f C)", run->mean_celsius.value * 1.8 + 32,
             run->mean_celsius.value);
    words_write_difference(run->error_kelvin.value, true, values[1], VALUE_LENGTH);
    words_write_difference(run->swing_kelvin.value, false, values[2], VALUE_LENGTH);
    words_write_time(run->period_second.value, values[3], VALUE_LENGTH);
    words_write_time(run->preheat_second.value, values[4], VALUE_LENGTH);
    words_write_difference(run->overshoot_kelvin.value, true, values[5], VALUE_LENGTH);
    const double shown[] = {run->mean_celsius.value,  run->error_kelvin.value,   run->swing_kelvin.value,
                            run->period_second.value, run->preheat_second.value, run->overshoot_kelvin.value};
    PlotFigure *figures = ARENA_ARRAY(arena, PlotFigure, 6);
    if (!figures) return error_memory(error);
    for (int f = 0; f < 6; f++) {
        TextBuilder label = text_builder(arena, SAID_LIMIT);
        words_say(&answer->words, &label, labels[f], NULL, 0);
        const char *value = isfinite(shown[f]) ? values[f] : words_find(&answer->words, "run.unknown");
        figures[f] = (PlotFigure){text_string(&label), arena_copy_text(arena, value, strlen(value))};
        if (!figures[f].value) return error_memory(error);
    }
    plot->figures = figures;
    plot->figure_count = 6;
    return true;
}

static bool say_run(const Answer *answer, int i, Error *error)
{
    const Run *run = &answer->runs[i];
    TextBuilder *out = &answer->invocation->out;
    Plot plot;
    if (!make_plot(answer, i, &plot, error)) return false;
    say_log(answer, i);
    if (isfinite(run->mean_celsius.value)) say_cycles(answer, run);
    say_preheat(answer, run);
    if (isfinite(run->mean_celsius.value)) say_budget(answer, run);
    text_add(out, "\n");
    plot_text(&plot, out);
    text_add(out, "\n");
    if (run->finding_count > 0) say(answer, "run.findings", NULL, 0);
    for (int f = 0; f < run->finding_count; f++) {
        TextBuilder text = text_builder(answer->invocation->arena, SAID_LIMIT);
        words_say_run_finding(&answer->words, run, &run->findings[f], &text);
        say(answer, "run.finding-line", (WordValue[]){{"text", text_string(&text)}}, 1);
    }
    if (run->finding_count > 0) text_add(out, "\n");
    return true;
}

static bool say_all(const Answer *answer, Error *error)
{
    TextBuilder *out = &answer->invocation->out;
    for (int i = 0; i < answer->count; i++)
        if (!say_run(answer, i, error)) return false;
    if (answer->assumption_count > 0) say(answer, "run.assumed", NULL, 0);
    for (int i = 0; i < answer->assumption_count; i++)
        say(answer, "run.finding-line", (WordValue[]){{"text", answer->said[i]}}, 1);
    if (answer->assumption_count > 0) text_add(out, "\n");
    TextBuilder text = text_builder(answer->invocation->arena, SAID_LIMIT);
    words_say_run_advice(&answer->words, &answer->runs[0], &answer->advice, tolerance_kelvin, &text);
    say(answer, "run.advice", (WordValue[]){{"text", text_string(&text)}}, 1);
    if (isfinite(answer->advice.offset_kelvin)) {
        char kelvin[VALUE_LENGTH], width[VALUE_LENGTH];
        words_write_difference(answer->advice.remaining_kelvin.value, true, kelvin, sizeof kelvin);
        const double half_width = answer->count == 1 ? answer->runs[0].half_width_kelvin
                                                     : 1.96 * answer->advice.remaining_kelvin.uncertainty;
        words_write_difference(half_width, false, width, sizeof width);
        say(answer, "run.remains", (WordValue[]){{"kelvin", kelvin}, {"width", width}}, 2);
    }
    text_add(out, "\n");
    say(answer, "run.caution", NULL, 0);
    return true;
}

/* A drawing is of the first log; it is written only when it is whole. */
static bool draw(const Answer *answer, const char *file, Error *error)
{
    Plot plot;
    TextBuilder drawing = text_builder(answer->invocation->arena, 4 << 20);
    if (!make_plot(answer, 0, &plot, error)) return false;
    plot_svg(&plot, &drawing);
    if (drawing.is_cut) return error_memory(error);
    return files_write(file, (Text){text_string(&drawing), drawing.length}, error);
}

static bool write_json(const Answer *answer, Error *error)
{
    const RunAnswer json = {.runs = answer->runs,
                            .run_count = answer->count,
                            .advice = &answer->advice,
                            .tolerance_kelvin = tolerance_kelvin,
                            .columns = answer->columns,
                            .assumptions = answer->assumptions,
                            .said = answer->said,
                            .assumption_count = answer->assumption_count};
    return call_json_run(&answer->words, &json, &answer->invocation->out, error);
}

bool cli__run(Invocation *invocation, Error *error)
{
    Answer *answer = arena_take(invocation->arena, sizeof *answer);
    const char *file = cli__option(invocation, OPTION_OUTPUT, NULL);
    if (!answer) return error_memory(error);
    answer->invocation = invocation;
    answer->count = invocation->argument_count;
    if (!load_words(invocation->arena, &answer->words, error) || !read_thermometer(answer, error) ||
        !read_control(answer, error))
        return false;
    for (int i = 0; i < answer->count; i++)
        if (!read_one(answer, i, error)) return false;
    run_advise(answer->runs, answer->count, &answer->control, tolerance_kelvin, &answer->advice);
    if (file && !draw(answer, file, error)) return false;
    return cli__has_option(invocation, OPTION_JSON) ? write_json(answer, error) : say_all(answer, error);
}
