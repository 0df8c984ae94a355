/* temperature.c: entries and outcomes that are temperatures, in a line each. Not here: how degrees are
 * written (degrees.c). */
#include "format/words/words_private.h"

#include <math.h>
#include <stdio.h>

enum { VALUE_LENGTH = 60 };

static void temperature(const Words *words, double celsius, char *out)
{
    words_write_temperature(words, celsius, 0, out, VALUE_LENGTH);
}

static void offset(const Words *words, double kelvin, char *out)
{
    words__write_offset(words, kelvin, out, VALUE_LENGTH);
}

/* By hand, one of the two may be missing. */
static void say_sensor(const Words *words, const Run *run, TextBuilder *out)
{
    char value[VALUE_LENGTH] = "", swing[VALUE_LENGTH] = "";
    const bool has_mean = isfinite(run->sensor_celsius.value),
               has_swing = isfinite(run->sensor_swing_kelvin.value);
    if (has_mean) temperature(words, run->sensor_celsius.value, value);
    if (has_swing) words_write_width(words, run->sensor_swing_kelvin.value, swing, sizeof swing);
    words_say(words, out,
              !has_swing  ? "entry.sensor-mean"
              : !has_mean ? "entry.sensor-swing"
                          : "entry.sensor",
              (WordValue[]){{"value", value}, {"swing", swing}}, 2);
}

static void say_run(const Words *words, const Entry *entry, const char *set, TextBuilder *out)
{
    char value[VALUE_LENGTH] = "", swing[VALUE_LENGTH] = "";
    const char *key = "entry.run-file";
    if (entry->run && isfinite(entry->run->mean_celsius.value)) {
        key = "entry.run";
        temperature(words, entry->run->mean_celsius.value, value);
        words_write_width(words, entry->run->swing_kelvin.value, swing, sizeof swing);
    } else if (entry->run) {
        key = "entry.run-unsettled";
        temperature(words, entry->run->end_celsius, value);
    }
    words_say(words, out, key,
              (WordValue[]){{"file", entry->text}, {"set", set}, {"value", value}, {"swing", swing}}, 4);
    if (entry->run && entry->run->has_sensor) say_sensor(words, entry->run, out);
}

void words__say_temperature(const Words *words, const Entry *entry, TextBuilder *out)
{
    char set[VALUE_LENGTH], value[VALUE_LENGTH];
    temperature(words, entry->set_celsius, set);
    if (entry->kind == ENTRY_RUN) {
        say_run(words, entry, set, out);
    } else if (entry->kind == ENTRY_SPOT) {
        temperature(words, entry->value.value, value);
        words_say(words, out, "entry.spot", (WordValue[]){{"value", value}, {"set", set}}, 2);
    } else {
        offset(words, entry->value.value, value);
        words_say(words, out, "entry.setting",
                  (WordValue[]){{"setting", entry->text}, {"value", entry->shows ? entry->shows : value}}, 2);
    }
}

/* 'below 325 F', 'above 325 F', 'from 325 F to 375 F'. */
static void say_range(const Words *words, const Outcome *outcome, TextBuilder *out)
{
    void (*write)(const Words *, double, char *) = outcome->kind == OUTCOME_OFFSET ? offset : temperature;
    char low[VALUE_LENGTH], high[VALUE_LENGTH];
    write(words, outcome->low, low);
    write(words, outcome->high, high);
    words_say(words, out,
              isinf(outcome->low)    ? "why.below"
              : isinf(outcome->high) ? "why.above"
                                     : "why.between",
              (WordValue[]){{"low", low}, {"high", high}}, 2);
}

/* An oven that does not cycle is told by how, which says more than where it ends. */
void words__say_oven(const Words *words, const Outcome *outcome, TextBuilder *out)
{
    static const char *const keys[] = {
        [OUTCOME_CELSIUS] = "why.celsius",         [OUTCOME_OFFSET] = "why.offset",
        [OUTCOME_SETTLES] = "why.settles",         [OUTCOME_SLOW] = "why.slow",
        [OUTCOME_SWINGS] = "why.swings",           [OUTCOME_STAYS_COLD] = "why.stays-cold",
        [OUTCOME_STOPS_SHORT] = "why.stops-short", [OUTCOME_RUNS_AWAY] = "why.runs-away"};
    TextBuilder range = text_builder(out->arena, 4 * VALUE_LENGTH);
    say_range(words, outcome, &range);
    words_say(words, out, keys[outcome->kind], (WordValue[]){{"range", text_string(&range)}}, 1);
}
