/* command_run.c: `ovenwright run FILE --set T ...`: what a temperature log says, and what to set.
 *
 * Files and set temperatures belong together in the order in which they are typed; several make one advice,
 * from which a constant shift can be told from one that grows. The plot is part of the text answer, and a
 * drawing with -o.
 *
 * Fahrenheit is the unit of offsets and steps here, since North American controls count in it. */
#include "edge/cli/log_answer.h"

#include "base/quantity.h"
#include "edge/files/files.h"
#include "format/call_json/call_json.h"

#include <stdio.h>

enum { KEY_LENGTH = 80, SAID_LIMIT = 4000 };

/* Common practice, no source: what a control without a description is taken to allow, and how far off its set
 * temperature an oven may be before anybody adjusts it. */
static const RunControl usual_control = {.offset_from_kelvin = -35 / 1.8,
                                         .offset_to_kelvin = 35 / 1.8,
                                         .offset_step_kelvin = 5 / 1.8,
                                         .differential_kelvin = 25 / 1.8};
static const double usual_tolerance_kelvin = 15 / 1.8;

/* Once each, in the order in which they came up: several logs often need the same one. */
static void assume(LogAnswer *answer, const char *word, const WordValue *values, int count)
{
    TextBuilder text = text_builder(answer->invocation->arena, SAID_LIMIT);
    char key[KEY_LENGTH];
    for (int i = 0; i < answer->assumption_count; i++)
        if (text_equal(answer->assumptions[i], word)) return;
    if (answer->assumption_count == LOG_ANSWER_MOST_ASSUMPTIONS) return;
    snprintf(key, sizeof key, "run.assumption.%s", word);
    words_say(&answer->words, &text, key, values, count);
    answer->assumptions[answer->assumption_count] = word;
    answer->said[answer->assumption_count++] = text_string(&text);
}

/* Capitals only, as on every display; Kelvin is no unit that ovens are logged in. */
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
static bool read_class(LogAnswer *answer, Error *error)
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

/* Nothing is assumed of a thermometer that nobody has named, but that is said. */
static bool read_thermometer(LogAnswer *answer, Error *error)
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

/* An appliance's own figures go before the usual ones. */
static bool read_control(LogAnswer *answer, Error *error)
{
    const char *name = cli__option(answer->invocation, OPTION_APPLIANCE, NULL);
    answer->control = usual_control;
    if (!name) {
        assume(answer, "usual-control", NULL, 0);
    } else {
        Appliance *appliance = arena_take(answer->invocation->arena, sizeof *appliance);
        if (!appliance) return error_memory(error);
        if (!load_appliance_with_options(answer->invocation, name, appliance, error)) return false;
        answer->control = desk_run_control(appliance);
    }
    const char *now = cli__option(answer->invocation, OPTION_OFFSET, NULL);
    return !now || quantity_read_difference(text_of(now), &answer->control.offset_now_kelvin, error);
}

/* The set temperature of each file, in order. */
static bool read_set(const LogAnswer *answer, int index, double *celsius, Error *error)
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

/* The log's own words for what it left open. */
static void assume_from_log(LogAnswer *answer, const LogText *log)
{
    for (int i = 0; i < LOG_TEXT_ASSUMPTION_COUNT; i++)
        if (log->has_assumption[i])
            assume(answer, log_text_assumption_word((LogTextAssumption)i),
                   (WordValue[]){{"column", log->column_names[log->column]}}, 1);
    if (log->is_hand_written) assume(answer, "hand-written", NULL, 0);
}

/* The bytes go as soon as the log is read: they have an arena of their own. Both columns from one reading of
 * the file, which may be a pipe. */
static bool read_log(const char *file, const LogTextTerms *terms, const char *sensor, Arena *arena,
                     LogText *log, LogText *second, Error *error)
{
    Arena bytes_arena = arena_new((size_t)LOG_TEXT_MOST_BYTES * 4);
    const LogTextTerms second_terms = {.column = sensor, .unit = terms->unit};
    Text bytes;
    const bool is_read = files_read(file, LOG_TEXT_MOST_BYTES, &bytes_arena, &bytes, error) &&
                         log_text_read(file, bytes, terms, arena, log, error) &&
                         (!sensor || log_text_read(file, bytes, &second_terms, arena, second, error));
    arena_free(&bytes_arena);
    return is_read;
}

/* The place of an error of the analysis is the file: rows have no line numbers any more. */
static bool read_one(LogAnswer *answer, int i, Error *error)
{
    Invocation *invocation = answer->invocation;
    const char *file = invocation->arguments[i];
    LogTextTerms log_terms = {.column = cli__option(invocation, OPTION_COLUMN, NULL)};
    const char *sensor = cli__option(invocation, OPTION_SENSOR, NULL);
    LogText *log = &answer->logs[i], second;
    if (!read_set(answer, i, &answer->terms.set_celsius, error) ||
        !read_unit(invocation, &log_terms.unit, error) ||
        !read_log(file, &log_terms, sensor, invocation->arena, log, &second, error))
        return false;
    assume_from_log(answer, log);
    answer->terms.is_hand_read = log->is_hand_written;
    answer->columns[i] = log->column_names[log->column];
    Run *run = &answer->runs[i];
    const bool is_run = run_analyse(&log->log, 0, &answer->terms, invocation->arena, run, error) &&
                        (!sensor || run_add_sensor(&second.log, 0, invocation->arena, run, error));
    return is_run || error_at(error, file, 0, 0);
}

/* A drawing is of the first log; it is written only when it is whole. */
static bool draw(const LogAnswer *answer, const char *file, Error *error)
{
    Plot plot;
    TextBuilder drawing = text_builder(answer->invocation->arena, 4 << 20);
    if (!desk_draw_run(&answer->words, &answer->logs[0].log, &answer->runs[0], answer->tolerance_kelvin,
                       answer->invocation->arena, &plot, error))
        return false;
    plot_svg(&plot, &drawing);
    if (drawing.is_cut) return error_memory(error);
    return files_write(file, (Text){text_string(&drawing), drawing.length}, error);
}

/* The same figures as the text; the plot is for eyes. */
static bool write_json(const LogAnswer *answer, Error *error)
{
    const RunAnswer json = {.runs = answer->runs,
                            .run_count = answer->count,
                            .advice = &answer->advice,
                            .tolerance_kelvin = answer->tolerance_kelvin,
                            .columns = answer->columns,
                            .assumptions = answer->assumptions,
                            .said = answer->said,
                            .assumption_count = answer->assumption_count};
    return call_json_run(&answer->words, &json, &answer->invocation->out, error);
}

/* A drawing is written before the text, so a full disk is an error and not half an answer. */
bool cli__run(Invocation *invocation, Error *error)
{
    LogAnswer *answer = arena_take(invocation->arena, sizeof *answer);
    const char *file = cli__option(invocation, OPTION_OUTPUT, NULL);
    if (!answer) return error_memory(error);
    answer->invocation = invocation;
    answer->count = invocation->argument_count;
    answer->tolerance_kelvin = usual_tolerance_kelvin;
    if (!desk_load_words(cli__language(), invocation->arena, &answer->words, error) ||
        !read_thermometer(answer, error) || !read_control(answer, error))
        return false;
    for (int i = 0; i < answer->count; i++)
        if (!read_one(answer, i, error)) return false;
    run_advise(answer->runs, answer->count, &answer->control, answer->tolerance_kelvin, &answer->advice);
    if (file && !draw(answer, file, error)) return false;
    return cli__has_option(invocation, OPTION_JSON) ? write_json(answer, error)
                                                    : cli__say_logs(answer, error);
}
