/* log_answer.c: what is said and drawn of temperature logs. See log_answer.h.
 *
 * Figures that a log does not give have no line: the findings below say why. The parts of the uncertainty are
 * listed from a twentieth of the whole on, so that nobody mends what does not matter. */
#include "edge/cli/log_answer.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { VALUE_LENGTH = 80, SAID_LIMIT = 4000 };

/* One sentence, one line. */
static void say(const LogAnswer *answer, const char *key, const WordValue *values, int count)
{
    TextBuilder *out = &answer->invocation->out;
    words_say(&answer->words, out, key, values, count);
    text_add(out, "\n");
}

/* Which file, which column, how much of it: what a second reader asks first. */
static void say_log(const LogAnswer *answer, int i)
{
    const Run *run = &answer->runs[i];
    const LogText *log = &answer->logs[i];
    char rows[VALUE_LENGTH], length[VALUE_LENGTH], set[VALUE_LENGTH], column[VALUE_LENGTH];
    snprintf(rows, sizeof rows, "%d", log->log.count);
    words_write_time(run->to_second - run->from_second, length, sizeof length);
    words_write_temperature(&answer->words, run->set_celsius, 0, set, sizeof set);
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

/* All of these are there together or not at all (core/run). */
static void say_cycles(const LogAnswer *answer, const Run *run)
{
    char mean[VALUE_LENGTH], width[VALUE_LENGTH], cycles[VALUE_LENGTH], length[VALUE_LENGTH],
        from[VALUE_LENGTH], error[VALUE_LENGTH], swing[VALUE_LENGTH], period[VALUE_LENGTH],
        duty[VALUE_LENGTH];
    words_write_temperature(&answer->words, run->mean_celsius.value, 1, mean,
                            sizeof mean); /* it is as sure as that */
    words_write_difference(&answer->words, run->half_width_kelvin, false, width, sizeof width);
    snprintf(cycles, sizeof cycles, "%d", run->cycles);
    words_write_time(run->cycles * run->period_second.value, length, sizeof length);
    words_write_time(run->settled_second - run->from_second, from, sizeof from);
    words_write_difference(&answer->words, run->error_kelvin.value, true, error, sizeof error);
    words_write_difference(&answer->words, run->swing_kelvin.value, false, swing, sizeof swing);
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

static void say_sensor(const LogAnswer *answer, const Run *run)
{
    char mean[VALUE_LENGTH], swing[VALUE_LENGTH];
    if (!run->has_sensor) return;
    words_write_temperature(&answer->words, run->sensor_celsius.value, 1, mean, sizeof mean);
    words_write_difference(&answer->words, run->sensor_swing_kelvin.value, false, swing, sizeof swing);
    say(answer, "run.sensor", (WordValue[]){{"mean", mean}, {"swing", swing}}, 2);
}

/* Each by itself: a log may have one without the other. */
static void say_preheat(const LogAnswer *answer, const Run *run)
{
    char text[VALUE_LENGTH];
    if (isfinite(run->preheat_second.value)) {
        words_write_time(run->preheat_second.value, text, sizeof text);
        say(answer, "run.preheat", (WordValue[]){{"second", text}}, 1);
    }
    if (isfinite(run->overshoot_kelvin.value)) {
        words_write_difference(&answer->words, run->overshoot_kelvin.value, false, text, sizeof text);
        say(answer, "run.overshoot", (WordValue[]){{"kelvin", text}}, 1);
    }
}

/* Parts of the uncertainty that matter, largest or not: those of a twentieth of it and more. */
static void say_budget(const LogAnswer *answer, const Run *run)
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

/* Figures, picture, findings: what it is, how it looks, why something is missing. */
static bool say_run(const LogAnswer *answer, int i, Error *error)
{
    const Run *run = &answer->runs[i];
    TextBuilder *out = &answer->invocation->out;
    Plot plot;
    if (!desk_draw_run(&answer->words, &answer->logs[i].log, run, answer->tolerance_kelvin,
                       answer->invocation->arena, &plot, error))
        return false;
    say_log(answer, i);
    if (isfinite(run->mean_celsius.value)) {
        say_cycles(answer, run);
        say_sensor(answer, run);
    }
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

/* Assumptions and advice are of all logs together and stand once. */
bool cli__say_logs(const LogAnswer *answer, Error *error)
{
    TextBuilder *out = &answer->invocation->out;
    for (int i = 0; i < answer->count; i++)
        if (!say_run(answer, i, error)) return false;
    if (answer->assumption_count > 0) say(answer, "run.assumed", NULL, 0);
    for (int i = 0; i < answer->assumption_count; i++)
        say(answer, "run.finding-line", (WordValue[]){{"text", answer->said[i]}}, 1);
    if (answer->assumption_count > 0) text_add(out, "\n");
    TextBuilder text = text_builder(answer->invocation->arena, SAID_LIMIT);
    words_say_run_advice(&answer->words, &answer->runs[0], &answer->advice, answer->tolerance_kelvin, &text);
    say(answer, "run.advice", (WordValue[]){{"text", text_string(&text)}}, 1);
    if (isfinite(answer->advice.offset_kelvin)) {
        char kelvin[VALUE_LENGTH], width[VALUE_LENGTH];
        words_write_difference(&answer->words, answer->advice.remaining_kelvin.value, true, kelvin,
                               sizeof kelvin);
        const double half_width = answer->count == 1 ? answer->runs[0].half_width_kelvin
                                                     : 1.96 * answer->advice.remaining_kelvin.uncertainty;
        words_write_difference(&answer->words, half_width, false, width, sizeof width);
        say(answer, "run.remains", (WordValue[]){{"kelvin", kelvin}, {"width", width}}, 2);
    }
    text_add(out, "\n");
    say(answer, "run.caution", NULL, 0);
    return true;
}
