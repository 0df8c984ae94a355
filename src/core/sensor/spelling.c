/* spelling.c: how a kind of sensor is written, `pt1000` or `ntc:10kohm,3950`; see sensor.h.
 *
 * A word for each kind that has nothing to be set, `word:numbers` for the others. Capitals are refused with
 * a hint rather than guessed at: K is also a unit. What was read is written back with nine digits, ten for
 * Steinhart-Hart: more than any data sheet has. */
#include "base/quantity.h"
#include "core/sensor/sensor_private.h"

#include <assert.h>
#include <stdio.h>
#include <string.h>

static const struct {
    const char *word;
    SensorKind kind;
} WORDS[] = {
    {"pt100", {.family = SENSOR_PLATINUM, .zero_ohm = 100}},
    {"pt1000", {.family = SENSOR_PLATINUM, .zero_ohm = 1000}},
    {"k", {.family = SENSOR_THERMOCOUPLE, .letter = 'K'}},
    {"j", {.family = SENSOR_THERMOCOUPLE, .letter = 'J'}},
    {"t", {.family = SENSOR_THERMOCOUPLE, .letter = 'T'}},
    {"n", {.family = SENSOR_THERMOCOUPLE, .letter = 'N'}},
    {"e", {.family = SENSOR_THERMOCOUPLE, .letter = 'E'}},
};
enum { WORD_COUNT = sizeof WORDS / sizeof WORDS[0] };

static const char *const KNOWN =
    "pt100, pt1000, k, j, t, n, e, ntc:R25,BETA (such as ntc:10kohm,3950) or steinhart-hart:A,B,C";

/* What follows the colon, cut at its commas into `count` parts. False when there are more or fewer of them:
 * a comma too many is a slip, not an empty number. */
static bool cut(Text text, Text *part, int count)
{
    int found = 0;
    size_t from = 0;
    for (size_t i = 0; i <= text.length; i++) {
        if (i < text.length && text.bytes[i] != ',') continue;
        if (found == count) return false;
        part[found++] = (Text){text.bytes + from, i - from};
        from = i + 1;
    }
    return found == count;
}

/* A number that may carry its unit. */
static bool read_with_unit(Text text, Unit unit, double *value, Error *error)
{
    return text_read_number(text, value) || quantity_read_as(text, unit, value, error);
}

static bool read_beta(Text numbers, const char *found, SensorKind *kind, Error *error)
{
    Text part[2];
    SensorKind read = {.family = SENSOR_BETA};
    if (!cut(numbers, part, 2))
        return error_set(error, ERROR_SYNTAX, found, "two numbers, R25 and BETA, such as ntc:10kohm,3950");
    if (!read_with_unit(part[0], UNIT_OHM, &read.r25_ohm, error)) return false;
    if (!read_with_unit(part[1], UNIT_KELVIN, &read.beta_kelvin, error)) return false;
    if (!sensor__thermistor_is_sound(&read))
        return error_set(error, ERROR_OUT_OF_RANGE, found,
                         "a resistance at 25 C from 1 ohm to 100 Mohm and a beta from 500 to 10000 kelvin");
    *kind = read;
    return true;
}

static bool read_steinhart_hart(Text numbers, const char *found, SensorKind *kind, Error *error)
{
    Text part[3];
    SensorKind read = {.family = SENSOR_STEINHART_HART};
    if (!cut(numbers, part, 3) || !text_read_number(part[0], &read.a) ||
        !text_read_number(part[1], &read.b) || !text_read_number(part[2], &read.c))
        return error_set(error, ERROR_SYNTAX, found,
                         "three plain numbers A,B,C, such as steinhart-hart:1.104e-3,2.389e-4,6.93e-8");
    if (!sensor__thermistor_is_sound(&read))
        return error_set(error, ERROR_OUT_OF_RANGE, found,
                         "coefficients of a curve that falls: B above 0, C not below 0");
    *kind = read;
    return true;
}

static bool starts_with(Text text, const char *word)
{
    return text.length >= strlen(word) && memcmp(text.bytes, word, strlen(word)) == 0;
}

/* Fixed words first, so that `n` is a thermocouple and never the beginning of an unfinished `ntc:`. */
bool sensor_read_kind(Text text, SensorKind *kind, Error *error)
{
    const char ntc[] = "ntc:", steinhart_hart[] = "steinhart-hart:";
    for (int i = 0; i < WORD_COUNT; i++)
        if (text_is(text, WORDS[i].word)) {
            *kind = WORDS[i].kind;
            return true;
        }
    char found[60];
    snprintf(found, sizeof found, "'%.*s'", text.length < 50 ? (int)text.length : 50, text.bytes);
    if (starts_with(text, ntc)) return read_beta((Text){text.bytes + 4, text.length - 4}, found, kind, error);
    if (starts_with(text, steinhart_hart))
        return read_steinhart_hart((Text){text.bytes + 15, text.length - 15}, found, kind, error);
    error_set(error, ERROR_UNKNOWN_WORD, found, "%s", KNOWN);
    if (text.length == 1 || starts_with(text, "P")) error_hint(error, "kinds are written in small letters");
    return false;
}

void sensor_write_kind(const SensorKind *kind, char *out, size_t size)
{
    assert(size > 0);
    switch (kind->family) {
    case SENSOR_PLATINUM: snprintf(out, size, "pt%.6g", kind->zero_ohm); return;
    case SENSOR_THERMOCOUPLE: snprintf(out, size, "%c", kind->letter | 0x20); return;
    case SENSOR_BETA: snprintf(out, size, "ntc:%.9g,%.9g", kind->r25_ohm, kind->beta_kelvin); return;
    case SENSOR_STEINHART_HART:
        snprintf(out, size, "steinhart-hart:%.10g,%.10g,%.10g", kind->a, kind->b, kind->c);
        return;
    }
    assert(!"a family that does not exist");
}
