/* run.c: what a temperature log says, in sentences. See words.h.
 *
 * Which amount a finding has, core/run's list says; here it gets its unit. */
#include "format/words/words_private.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>

enum { KEY_LENGTH = 60, VALUE_LENGTH = 60 };

/* 45 s, 6 min 5 s, 1 h 12 min. */
void words_write_time(double second, char *out, size_t size)
{
    const double whole = floor(second + 0.5), minutes = floor(whole / 60);
    if (whole < 60)
        snprintf(out, size, "%.0f s", whole);
    else if (minutes < 60)
        snprintf(out, size, "%.0f min %02.0f s", minutes, whole - 60 * minutes);
    else
        snprintf(out, size, "%.0f h %02.0f min", floor(minutes / 60), minutes - 60 * floor(minutes / 60));
}

static void write_amount(const Words *words, const RunFinding *finding, char *out, size_t size)
{
    switch (finding->code) {
    case RUN_LOG_TOO_SHORT:
    case RUN_STARTS_EARLY:
    case RUN_SPARSE:
    case RUN_GAPS: words_write_time(finding->amount, out, size); break;
    case RUN_STARTS_HOT:
    case RUN_NEVER_CYCLES: words_write_temperature(words, finding->amount, 0, out, size); break;
    case RUN_DRIFTING: words_write_difference(words, finding->amount, true, out, size); break;
    case RUN_SPIKES:
    case RUN_OVER_RANGE: snprintf(out, size, "%.0f", finding->amount); break;
    case RUN_UNEVEN_CYCLES: snprintf(out, size, "%.1f", finding->amount); break;
    default: words_write_difference(words, finding->amount, false, out, size);
    }
}

void words_say_run_finding(const Words *words, const Run *run, const RunFinding *finding, TextBuilder *out)
{
    char key[KEY_LENGTH], second[VALUE_LENGTH], amount[VALUE_LENGTH];
    assert(finding->code < RUN_FINDING_COUNT);
    snprintf(key, sizeof key, "run.finding.%s", run_finding_word(finding->code));
    words_write_time(finding->second - run->from_second, second, sizeof second);
    write_amount(words, finding, amount, sizeof amount);
    words_say(words, out, key, (WordValue[]){{"second", second}, {"amount", amount}}, 2);
}

void words_say_run_advice(const Words *words, const Run *run, const RunAdvice *advice,
                          double tolerance_kelvin, TextBuilder *out)
{
    char key[KEY_LENGTH], offset[VALUE_LENGTH], shift[VALUE_LENGTH], swing[VALUE_LENGTH], slope[VALUE_LENGTH],
        hundred[VALUE_LENGTH], tolerance[VALUE_LENGTH];
    const char *unit = words->degrees == DEGREES_CELSIUS ? "K" : "F";
    words__write_offset(words, advice->offset_kelvin, offset, sizeof offset);
    words_write_difference(words, advice->shift_kelvin.value, true, shift, sizeof shift);
    words_write_difference(words, run->swing_kelvin.value, false, swing, sizeof swing);
    snprintf(slope, sizeof slope, "%+.1f %s", 100 * advice->slope.value, unit);
    snprintf(hundred, sizeof hundred, "100 %s", unit);
    words_write_width(words, tolerance_kelvin, tolerance, sizeof tolerance);
    const WordValue values[] = {{"offset", offset}, {"shift", shift},     {"swing", swing},
                                {"slope", slope},   {"hundred", hundred}, {"tolerance", tolerance}};
    snprintf(key, sizeof key, "run.action.%s", run_action_word(advice->action));
    words_say(words, out, key, values, 6);
    text_add(out, " ");
    snprintf(key, sizeof key, "run.reason.%s", run_reason_word(advice->reason));
    words_say(words, out, key, values, 6);
}
