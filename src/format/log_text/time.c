/* time.c: bare numbers and ambiguous clocks into seconds, by how fast ovens warm.
 *
 * 0, 1, 2 ... may be seconds or minutes, 5:10 minutes and seconds or hours and minutes. An oven's middle
 * rises by 0.05 to 0.5 kelvin a second while it heats, so of two readings sixty times apart at most one is
 * possible. It is an assumption and is named as one; where none fits, or two, the person must say. */
#include "format/log_text/log_text_private.h"

#include <assert.h>
#include <math.h>

/* Slower or faster no oven warms (common practice, no source). */
static const double slowest = 0.008, fastest = 1.5;

/* A smaller rise says nothing. */
static const double least_rise_kelvin = 5;

/* Kelvin in a unit of the log's time, over the first four fifths of the rise to the highest value. */
static double rate_of(const LogText *log, const double *second, const double *celsius)
{
    int first = 0;
    double highest = -INFINITY;
    const int count = log->log.count;
    while (first < count && !isfinite(celsius[first])) first++;
    for (int i = first; i < count; i++)
        if (isfinite(celsius[i])) highest = fmax(highest, celsius[i]);
    if (first == count || highest - celsius[first] < least_rise_kelvin) return 0;
    const double level = celsius[first] + 0.8 * (highest - celsius[first]);
    int i = first;
    while (i < count && !(isfinite(celsius[i]) && celsius[i] >= level)) i++;
    assert(i < count);
    return second[i] > second[first] ? (celsius[i] - celsius[first]) / (second[i] - second[first]) : 0;
}

typedef struct {
    double scale;
    LogTextAssumption assumption;
} Reading;

/* None possible, or two: the same question, since the log does not answer it. */
static bool guess(const LogLayout *layout, double rate, double *scale, LogText *log, Error *error)
{
    static const Reading numbers[] = {
        {1, LOG_TEXT_ASSUMES_SECONDS}, {60, LOG_TEXT_ASSUMES_MINUTES}, {1e-3, LOG_TEXT_ASSUMES_MILLISECONDS}};
    static const Reading clocks[] = {{1, LOG_TEXT_ASSUMES_HOURS_MINUTES},
                                     {1.0 / 60, LOG_TEXT_ASSUMES_MINUTES_SECONDS}};
    const bool is_clock = layout->time_kind == LOG_MOMENT_TWO_PARTS;
    const Reading *readings = is_clock ? clocks : numbers;
    int possible = 0;
    for (int i = 0; i < (is_clock ? 2 : 3); i++) {
        const double real = rate / readings[i].scale;
        if (real < slowest || real > fastest) continue;
        *scale = readings[i].scale;
        log->has_assumption[readings[i].assumption] = true;
        possible++;
    }
    if (possible == 1) return true;
    error_set(error, ERROR_MISSING, is_clock ? "times such as 5:10" : "times as bare numbers",
              is_clock ? "minutes and seconds, or hours and minutes" : "seconds or minutes");
    return error_hint(error, is_clock ? "head the column `mm:ss` or `hh:mm`"
                                      : "head the column `second` or `minute`");
}

/* Rows with one and the same time: they came at equal distances within the clock's last digit. A run at the
 * start is the end of its minute, any other its beginning. */
static void spread_rows(double *second, int count, double digit, LogText *log)
{
    int longest = 1;
    for (int i = 0, j; i < count; i = j) {
        for (j = i + 1; j < count && second[j] == second[i]; j++) {
        }
        if (j - i > longest) longest = j - i;
    }
    if (longest == 1) return;
    log->has_assumption[LOG_TEXT_ASSUMES_SPREAD] = true;
    for (int i = 0, j; i < count; i = j) {
        const double at = second[i];
        for (j = i + 1; j < count && second[j] == at; j++) {
        }
        const int missing = i == 0 ? longest - j : 0;
        for (int k = i; k < j; k++) second[k] = at + digit * (k - i + missing) / longest;
    }
}

/* Loggers write headings, or fractions of a degree, or several rows a minute. */
static bool is_hand_written(const LogLayout *layout, const LogText *log, const double *celsius)
{
    const int count = log->log.count;
    const double size = log->log.channels[0].is_fahrenheit ? 1.8 : 1,
                 zero = log->log.channels[0].is_fahrenheit ? 32 : 0;
    if (layout->has_headings || count < 2 || count > 500) return false;
    if ((log->log.second[count - 1] - log->log.second[0]) / (count - 1) < 30) return false;
    for (int i = 0; i < count; i++) {
        const double shown = celsius[i] * size + zero;
        if (isfinite(shown) && fabs(shown - floor(shown + 0.5)) > 1e-6) return false;
    }
    return true;
}

/* Scaled before spread: the clock's last digit is a second or a minute only then. */
bool log_text__scale_time(const LogLayout *layout, double *second, const double *celsius, LogText *log,
                          Error *error)
{
    const int count = log->log.count;
    double scale = layout->time_scale;
    const bool is_number = layout->time_kind == LOG_MOMENT_NUMBER;
    if (scale == 0 && !guess(layout, rate_of(log, second, celsius), &scale, log, error)) return false;
    if (!(is_number && layout->time_scale > 0)) /* numbers with a unit are scaled already */
        for (int i = 0; i < count; i++) second[i] *= scale;
    const double digit = layout->time_kind == LOG_MOMENT_TWO_PARTS ? 60 * scale : is_number ? 0 : 1;
    if (digit > 0) spread_rows(second, count, digit, log);
    log->is_hand_written = is_hand_written(layout, log, celsius);
    return true;
}
