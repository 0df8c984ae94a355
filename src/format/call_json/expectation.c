/* expectation.c: what a meter should show, as JSON.
 *
 * `value` is for programs and `display` for eyes: the second is what this meter shows, rounded to its step.
 * An open circuit is null with the display OL, since JSON has no infinity. */
#include <assert.h>
#include <math.h>

#include "format/call_json/call_json_private.h"

static const char *const unit_names[] = {
    [READING_OHM] = "ohm", [READING_VOLT] = "volt", [READING_AMP] = "ampere"};

enum { DISPLAY_LENGTH = 40 };

static json_t *display(const Meter *meter, double value, ReadingKind kind)
{
    char text[DISPLAY_LENGTH];
    words_write_figure(meter, kind, value, text, sizeof text);
    return json_string(text);
}

/* `severity` is the middle one of a fault that has a degree, 0 for one that has none. */
static json_t *fault_reading(const Circuit *circuit, const Meter *meter, const FaultReading *reading,
                             ReadingKind kind)
{
    return json_pack("{ss so ss so so sb}", "fault", circuit->appliance->faults[reading->fault].name, "value",
                     call_json__number(reading->value), "unit", unit_names[kind], "display",
                     display(meter, reading->value, kind), "severity", call_json__number(reading->severity),
                     "told_apart", reading->is_told_apart);
}

/* NULL leaves the key out altogether: no reading was given, so there is no verdict to be unsure of. */
static json_t *judged(const MeterJudgement *judgement)
{
    static const char *const verdicts[] = {
        [METER_INSIDE] = "inside", [METER_OUTSIDE] = "outside", [METER_CANNOT_TELL] = "cannot-tell"};
    if (!judgement) return NULL;
    return json_pack("{ss so}", "verdict", verdicts[judgement->verdict], "inside_probability",
                     call_json__number(judgement->inside_probability));
}

bool call_json_expectation(const Circuit *circuit, const Connection *connection, const Meter *meter,
                           const Expectation *expectation, const MeterJudgement *judgement,
                           const char *const *warnings, int warning_count, TextBuilder *out, Error *error)
{
    const ReadingKind kind = connection->kind;
    const double value = expectation->is_over ? INFINITY : expectation->value;
    assert(kind <= READING_AMP);
    json_t *faults = json_array();
    for (int f = 0; f < circuit->appliance->fault_count; f++)
        call_json__append(&faults, fault_reading(circuit, meter, &expectation->faults[f], kind));
    json_t *healthy =
        json_pack("{so ss so so so}", "value", call_json__number(value), "unit", unit_names[kind], "low",
                  call_json__number(expectation->is_over ? INFINITY : expectation->low), "high",
                  call_json__number(expectation->is_over ? INFINITY : expectation->high), "display",
                  display(meter, value, kind));
    json_t *root = json_pack("{so so so so*}", "healthy", healthy, "faults", faults, "warnings",
                             call_json__texts(warnings, warning_count), "reading", judged(judgement));
    return call_json__write(root, out, error);
}
