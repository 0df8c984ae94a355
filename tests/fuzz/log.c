/* log.c: any bytes as a temperature log, and what was read analysed. The first byte says what the person
 * said: unit, column, probe, and how much memory there is. */
#include "support/shipped.h"

#include "core/run/run.h"
#include "format/log_text/log_text.h"

#include <assert.h>
#include <math.h>

/* What core/run promises of its figures, whatever the log. */
static void check_run(const Run *run)
{
    const bool has_mean = isfinite(run->mean_celsius.value);
    assert(has_mean == (run->cycles >= 2) && has_mean == !!isfinite(run->swing_kelvin.value));
    assert(has_mean == !!isfinite(run->period_second.value) &&
           has_mean == !!isfinite(run->error_kelvin.value));
    assert(has_mean || run->finding_count > 0);
    assert(!has_mean || (run->mean_celsius.uncertainty >= 0 && run->half_width_kelvin >= 0));
    assert(isfinite(run->preheat_second.value) || run->finding_count > 0);
    assert(run->finding_count <= RUN_MOST_FINDINGS);
}

static void analyse(const LogText *log, const RunTerms *terms, Arena *arena)
{
    Run run;
    RunAdvice advice;
    Error error = {0};
    const RunControl control = {-20, 20, 2.5, 14, 0, false};
    if (!run_analyse(&log->log, 0, terms, arena, &run, &error)) {
        assert(error.code != ERROR_NONE && error.found[0]);
        return;
    }
    check_run(&run);
    run_advise(&run, 1, &control, 8, &advice);
    assert(!isfinite(advice.offset_kelvin) || fabs(advice.offset_kelvin) <= 20);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    if (size < 1) return 0;
    const LogTextTerms log_terms = {.column = data[0] & 4 ? "2" : NULL, .unit = (LogTextUnit)(data[0] & 3)};
    RunTerms terms = {.set_celsius = 177, .has_probe = data[0] & 8, .probe_class = SENSOR_CLASS_2};
    terms.probe = (SensorKind){.family = SENSOR_THERMOCOUPLE, .letter = 'K'};
    Arena arena = arena_new(data[0] & 16 ? 20000 : SHIPPED_ARENA_LIMIT);
    LogText log;
    Error error = {0};
    if (log_text_read("fuzz", (Text){(const char *)data + 1, size - 1}, &log_terms, &arena, &log, &error))
        analyse(&log, &terms, &arena);
    else
        shipped_check_error(&error);
    arena_free(&arena);
    return 0;
}
