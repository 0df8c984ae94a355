/* temperature.c: entries that are temperatures, in a line each.
 *
 * Fahrenheit first and celsius behind it: North American controls count in the one, thermometers and the rest
 * of the world in the other, and an entry must be recognised by whoever wrote it. */
#include "format/words/words_private.h"

#include <math.h>
#include <stdio.h>

enum { VALUE_LENGTH = 60 };

static void temperature(double celsius, char *out)
{
    snprintf(out, VALUE_LENGTH, "%.0f F (%.0f C)", celsius * 1.8 + 32, celsius);
}

static void difference(double kelvin, char *out)
{
    snprintf(out, VALUE_LENGTH, "%+.0f F (%+.1f K)", kelvin * 1.8, kelvin);
}

static void say_run(const Words *words, const Entry *entry, const char *set, TextBuilder *out)
{
    char value[VALUE_LENGTH] = "", swing[VALUE_LENGTH] = "";
    const char *key = "entry.run-file";
    if (entry->run && isfinite(entry->run->mean_celsius.value)) {
        key = "entry.run";
        temperature(entry->run->mean_celsius.value, value);
        snprintf(swing, sizeof swing, "%.0f F", entry->run->swing_kelvin.value * 1.8);
    } else if (entry->run) {
        key = "entry.run-unsettled";
        temperature(entry->run->end_celsius, value);
    }
    words_say(words, out, key,
              (WordValue[]){{"file", entry->text}, {"set", set}, {"value", value}, {"swing", swing}}, 4);
}

void words__say_temperature(const Words *words, const Entry *entry, TextBuilder *out)
{
    char set[VALUE_LENGTH], value[VALUE_LENGTH];
    temperature(entry->set_celsius, set);
    if (entry->kind == ENTRY_RUN) {
        say_run(words, entry, set, out);
    } else if (entry->kind == ENTRY_SPOT) {
        temperature(entry->value.value, value);
        words_say(words, out, "entry.spot", (WordValue[]){{"value", value}, {"set", set}}, 2);
    } else {
        difference(entry->value.value, value);
        words_say(words, out, "entry.setting",
                  (WordValue[]){{"setting", entry->text}, {"value", entry->shows ? entry->shows : value}}, 2);
    }
}
