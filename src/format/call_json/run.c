/* run.c: the answer about temperature logs.
 *
 * A figure and its standard uncertainty are two keys, both null when the log does not give it; the finding
 * that says why is in the same document. */
#include "format/call_json/call_json_private.h"

#include <math.h>

enum { SAID_LIMIT = 2000 };

static json_t *said(const TextBuilder *text) { return text->is_cut ? NULL : json_string(text_string(text)); }

static json_t *findings_of(const Words *words, const Run *run, const TextBuilder *out)
{
    json_t *array = json_array();
    for (int i = 0; i < run->finding_count; i++) {
        const RunFinding *finding = &run->findings[i];
        TextBuilder text = text_builder(out->arena, SAID_LIMIT);
        words_say_run_finding(words, run, finding, &text);
        json_t *second = isfinite(finding->second) ? json_real(finding->second - run->from_second) : NULL;
        call_json__append(&array, json_pack("{ss so* so}", "finding", run_finding_word(finding->code),
                                            "second", second, "text", said(&text)));
    }
    return array;
}

static json_t *doors_of(const Run *run)
{
    json_t *array = json_array();
    for (int i = 0; i < run->door_count; i++)
        call_json__append(&array,
                          json_pack("{sf sf}", "from_second", run->doors[i].from_second - run->from_second,
                                    "to_second", run->doors[i].to_second - run->from_second));
    return array;
}

static json_t *budget_of(const Run *run)
{
    const RunBudget *budget = &run->budget;
    if (!isfinite(run->mean_celsius.value)) return json_null();
    return json_pack("{so so so so so so}", "probe_kelvin", call_json__number(budget->probe), "meter_kelvin",
                     call_json__number(budget->meter), "scatter_kelvin", call_json__number(budget->scatter),
                     "sampling_kelvin", call_json__number(budget->sampling), "resolution_kelvin",
                     call_json__number(budget->resolution), "drift_kelvin", call_json__number(budget->drift));
}

static bool add_figure(json_t *root, const char *key, const char *uncertainty_key, RunFigure figure)
{
    return json_object_set_new(root, key, call_json__number(figure.value)) == 0 &&
           json_object_set_new(root, uncertainty_key, call_json__number(figure.uncertainty)) == 0;
}

/* Where a second thermometer was. */
static bool add_sensor(json_t *root, const Run *run)
{
    return !run->has_sensor ||
           (add_figure(root, "sensor_celsius", "sensor_uncertainty_kelvin", run->sensor_celsius) &&
            add_figure(root, "sensor_swing_kelvin", "sensor_swing_uncertainty_kelvin",
                       run->sensor_swing_kelvin));
}

static json_t *run_of(const Words *words, const Run *run, const char *column, const TextBuilder *out)
{
    json_t *root = json_pack("{sb}", "settled", run->is_settled);
    const bool is_whole =
        root && add_figure(root, "mean_celsius", "mean_uncertainty_kelvin", run->mean_celsius) &&
        json_object_set_new(root, "mean_half_width_kelvin", call_json__number(run->half_width_kelvin)) == 0 &&
        add_figure(root, "swing_kelvin", "swing_uncertainty_kelvin", run->swing_kelvin) &&
        add_figure(root, "period_second", "period_uncertainty_second", run->period_second) &&
        json_object_set_new(root, "cycles", json_integer(run->cycles)) == 0 &&
        add_figure(root, "preheat_second", "preheat_uncertainty_second", run->preheat_second) &&
        add_figure(root, "overshoot_kelvin", "overshoot_uncertainty_kelvin", run->overshoot_kelvin) &&
        add_figure(root, "error_kelvin", "error_uncertainty_kelvin", run->error_kelvin) &&
        add_figure(root, "duty", "duty_uncertainty", run->duty) && add_sensor(root, run) &&
        json_object_set_new(root, "set_celsius", call_json__number(run->set_celsius)) == 0 &&
        json_object_set_new(root, "settled_second",
                            call_json__number(run->settled_second - run->from_second)) == 0 &&
        json_object_set_new(root, "column", json_string(column)) == 0 &&
        json_object_set_new(root, "budget", budget_of(run)) == 0 &&
        json_object_set_new(root, "doors", doors_of(run)) == 0 &&
        json_object_set_new(root, "findings", findings_of(words, run, out)) == 0;
    if (is_whole) return root;
    json_decref(root);
    return NULL;
}

static json_t *advice_of(const Words *words, const RunAnswer *answer, const TextBuilder *out)
{
    const RunAdvice *advice = answer->advice;
    TextBuilder text = text_builder(out->arena, SAID_LIMIT);
    words_say_run_advice(words, &answer->runs[0], advice, answer->tolerance_kelvin, &text);
    json_t *offset = isfinite(advice->offset_kelvin) ? json_real(advice->offset_kelvin * 1.8) : NULL;
    return json_pack("{ss ss so* so so so so so so so}", "action", run_action_word(advice->action), "reason",
                     run_reason_word(advice->reason), "offset_fahrenheit", offset, "remaining_kelvin",
                     call_json__number(advice->remaining_kelvin.value), "remaining_uncertainty_kelvin",
                     call_json__number(advice->remaining_kelvin.uncertainty), "shift_kelvin",
                     call_json__number(advice->shift_kelvin.value), "shift_uncertainty_kelvin",
                     call_json__number(advice->shift_kelvin.uncertainty), "slope",
                     call_json__number(advice->slope.value), "slope_uncertainty",
                     call_json__number(advice->slope.uncertainty), "text", said(&text));
}

static json_t *assumptions_of(const RunAnswer *answer)
{
    json_t *array = json_array();
    for (int i = 0; i < answer->assumption_count; i++)
        call_json__append(
            &array, json_pack("{ss ss}", "assumption", answer->assumptions[i], "text", answer->said[i]));
    return array;
}

bool call_json_run(const Words *words, const RunAnswer *answer, TextBuilder *out, Error *error)
{
    json_t *root;
    if (answer->run_count == 1) {
        root = run_of(words, &answer->runs[0], answer->columns[0], out);
    } else {
        json_t *runs = json_array();
        for (int i = 0; i < answer->run_count; i++)
            call_json__append(&runs, run_of(words, &answer->runs[i], answer->columns[i], out));
        root = json_pack("{so}", "runs", runs);
    }
    if (root && (json_object_set_new(root, "advice", advice_of(words, answer, out)) != 0 ||
                 json_object_set_new(root, "assumptions", assumptions_of(answer)) != 0)) {
        json_decref(root);
        root = NULL;
    }
    return call_json__write(root, out, error);
}
