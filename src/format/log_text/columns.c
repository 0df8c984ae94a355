/* columns.c: which column holds the time and which the temperature.
 *
 * Headings come first, what the cells look like second. With several temperatures and no word from the
 * person, a heading that names the middle of the oven decides, then the probe, then the oven; otherwise the
 * choice is the person's, and the error lists what there is. */
#include "format/log_text/log_text_private.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

typedef enum { COLUMN_EMPTY, COLUMN_NUMBERS, COLUMN_CLOCK, COLUMN_DATE, COLUMN_TEXT } ColumnLook;

typedef struct {
    ColumnLook look;
    LogMomentKind kind;
    LogTextUnit unit;         /* as its cells have it */
    bool is_rising, is_count; /* numbers that never fall; that go up by one */
} Column;

static bool is_letter(char c) { return (c | 0x20) >= 'a' && (c | 0x20) <= 'z'; }

/* Is one of the heading's words in the list, which ends with NULL? */
static bool names(Text heading, const char *const *words)
{
    for (size_t from = 0; from < heading.length;) {
        size_t to = from;
        while (to < heading.length && is_letter(heading.bytes[to])) to++;
        for (int i = 0; to > from && words[i]; i++)
            if (log_text__is_word((Text){heading.bytes + from, to - from}, words[i])) return true;
        from = to > from ? to : from + 1;
    }
    return false;
}

static const char *const time_words[] = {"time",  "elapsed", "second", "seconds",   "sec",     "secs",
                                         "s",     "min",     "mins",   "minute",    "minutes", "hour",
                                         "hours", "clock",   "ms",     "timestamp", "t",       NULL};
static const char *const elapsed_words[] = {"elapsed", "second", "seconds", NULL};

/* Numbers that are no temperature of an oven. */
static const char *const other_words[] = {
    "watt",   "watts",    "kw",       "power",   "energy", "kwh",   "volt",  "volts", "amp",
    "amps",   "humidity", "percent",  "duty",    "state",  "relay", "index", "no",    "nr",
    "number", "record",   "sample",   "row",     "id",     "set",   "note",  "notes", "door",
    "remark", "target",   "setpoint", "battery", "rh",     NULL};

/* Their units, which count in brackets only: channel A is no current. */
static bool has_other_unit(Text heading)
{
    static const char *const units[] = {"(a)", "[a]", "(v)",  "[v]",  "(w)",  "[w]",
                                        "(%)", "[%]", "(ma)", "[ma]", "(mv)", "[mv]"};
    for (size_t u = 0; u < sizeof units / sizeof *units; u++) {
        const size_t length = strlen(units[u]);
        if (heading.length >= length &&
            log_text__is_word((Text){heading.bytes + heading.length - length, length}, units[u]))
            return true;
    }
    return false;
}

/* Temperatures of something else. */
static const char *const outside_words[] = {"ambient",  "room",  "junction", "cj",
                                            "internal", "board", "cold",     NULL};

/* The smallest unit wins, since `ms` in `time [ms]` says more than `time`. */
static double scale_of(Text heading)
{
    static const char *const ms[] = {"ms", "millisecond", "milliseconds", NULL};
    static const char *const second[] = {"s", "sec", "secs", "second", "seconds", NULL};
    static const char *const minute[] = {"min", "mins", "minute", "minutes", NULL};
    static const char *const hour[] = {"h", "hr", "hrs", "hour", "hours", NULL};
    return names(heading, ms)       ? 1e-3
           : names(heading, second) ? 1
           : names(heading, minute) ? 60
           : names(heading, hour)   ? 3600
                                    : 0;
}

/* For 5:10: says the heading mm:ss or hh:mm? */
static double clock_scale_of(Text heading)
{
    static const char *const minutes[] = {"ss", NULL}, *const hours[] = {"hh", NULL};
    return names(heading, hours) ? 1 : names(heading, minutes) ? 1.0 / 60 : 0;
}

/* One cell's vote on what its column is; false for text. */
static bool look_at_cell(Text cell, bool has_comma, Column *column, int *tally, double *last)
{
    LogMoment moment;
    LogCell temperature;
    if (log_text__moment(cell, has_comma, &moment)) {
        if (moment.kind != LOG_MOMENT_NUMBER) {
            tally[moment.kind == LOG_MOMENT_DATE ? COLUMN_DATE : COLUMN_CLOCK]++;
            column->kind = moment.kind;
            return true;
        }
        tally[COLUMN_NUMBERS]++;
        if (moment.value < *last) column->is_rising = false;
        if (moment.value != *last + 1 && isfinite(*last)) column->is_count = false;
        *last = moment.value;
        return true;
    }
    if (!log_text__temperature(cell, has_comma, &temperature)) return false;
    if (isfinite(temperature.value)) {
        tally[COLUMN_NUMBERS]++;
        column->unit = temperature.unit;
        column->is_rising = column->is_count = false;
    }
    return true;
}

/* The most votes win; empty cells have none. */
static Column look_at(const LogSample *sample, const LogLayout *layout, int c)
{
    Column column = {.is_rising = true, .is_count = true};
    int tally[COLUMN_TEXT + 1] = {0};
    double last = -INFINITY;
    for (int r = 0; r < sample->rows; r++)
        if (c < sample->counts[r] &&
            !look_at_cell(sample->cells[r][c], layout->has_comma, &column, tally, &last))
            tally[COLUMN_TEXT]++;
    for (int look = COLUMN_NUMBERS; look <= COLUMN_TEXT; look++)
        if (tally[look] > tally[column.look]) column.look = (ColumnLook)look;
    return column;
}

/* A column that calls itself elapsed goes before a clock, a clock before numbers, named numbers before
 * nameless ones. Nameless numbers are time only where time stands in every log: in front. */
static int find_time(const Column *columns, const LogLayout *layout)
{
    int clock = -1, rising = -1;
    for (int c = layout->column_count - 1; c >= 0; c--)
        if (columns[c].look == COLUMN_CLOCK) clock = c;
    for (int c = 0; c < layout->column_count; c++) {
        if (columns[c].look != COLUMN_NUMBERS || columns[c].unit != LOG_TEXT_UNIT_OPEN) continue;
        if (names(layout->headings[c], elapsed_words)) return c;
        if (clock < 0 && names(layout->headings[c], time_words)) return c;
        if (columns[c].is_rising && rising < 0) rising = c;
    }
    return clock >= 0 ? clock : rising == 0 || (rising == 1 && columns[0].look == COLUMN_TEXT) ? rising : -1;
}

/* Kind and unit of the time, as far as headings and cells say; what is open stays 0 for time.c. */
static bool choose_time(const Column *columns, LogLayout *layout, Error *error)
{
    const int time = find_time(columns, layout);
    if (time < 0) {
        for (int c = 0; c < layout->column_count; c++)
            if (columns[c].look == COLUMN_DATE)
                return error_set(error, ERROR_MISSING, "dates without a time of day", "a column of times");
        error_set(error, ERROR_MISSING, "no column of times", "a column of seconds, minutes or clock times");
        return error_hint(error, "head it `second` or `minute`, or write clock times as 12:30 or 12:30:05");
    }
    const Text heading = layout->headings[time], unit = layout->units[time];
    layout->time_column = time;
    layout->time_kind = columns[time].look == COLUMN_CLOCK ? columns[time].kind : LOG_MOMENT_NUMBER;
    for (int c = 0; c < layout->column_count; c++)
        if (columns[c].look == COLUMN_DATE && layout->time_kind != LOG_MOMENT_NUMBER) layout->date_column = c;
    if (layout->time_kind == LOG_MOMENT_NUMBER)
        layout->time_scale = scale_of(unit) > 0 ? scale_of(unit) : scale_of(heading);
    else if (layout->time_kind == LOG_MOMENT_TWO_PARTS)
        layout->time_scale = clock_scale_of(unit) > 0 ? clock_scale_of(unit) : clock_scale_of(heading);
    else
        layout->time_scale = 1;
    return true;
}

/* Row of units, heading, cells: in the order in which people mean it. */
static LogTextUnit unit_of_column(const LogLayout *layout, const Column *columns, int c)
{
    LogTextUnit unit = log_text__unit_of(layout->units[c]);
    if (unit == LOG_TEXT_UNIT_OPEN) unit = log_text__unit_of(layout->headings[c]);
    return unit != LOG_TEXT_UNIT_OPEN ? unit : columns[c].unit;
}

/* Columns that may be the oven's temperature: if any says its unit, those alone. */
static int list_temperatures(const Column *columns, const LogLayout *layout, int *found)
{
    for (int pass = 0; pass < 3; pass++) {
        int count = 0;
        for (int c = 0; c < layout->column_count; c++) {
            if (columns[c].look != COLUMN_NUMBERS || c == layout->time_column) continue;
            if (names(layout->headings[c], other_words) || has_other_unit(layout->headings[c]) ||
                (pass < 2 && names(layout->headings[c], outside_words)))
                continue;
            if (pass == 0 && unit_of_column(layout, columns, c) == LOG_TEXT_UNIT_OPEN) continue;
            const bool is_numbering = columns[c].is_count && layout->column_count > 2;
            if (is_numbering && unit_of_column(layout, columns, c) == LOG_TEXT_UNIT_OPEN) continue;
            found[count++] = c;
        }
        if (count > 0) return count;
    }
    return 0;
}

/* `centre_celsius, sensor_celsius`, or numbers where there are no headings. */
static void write_list(const LogText *log, const int *found, int count, char *out, size_t size)
{
    size_t length = 0;
    out[0] = '\0';
    for (int i = 0; i < count && length + 1 < size; i++) {
        const char *name = log->column_names[found[i]], *between = i ? ", " : "";
        const int written = *name ? snprintf(out + length, size - length, "%s%s", between, name)
                                  : snprintf(out + length, size - length, "%s%d", between, found[i] + 1);
        length += written > 0 ? (size_t)written : 0;
    }
}

/* Capitals do not count in what a person types. */
static bool same_name(const char *a, const char *b)
{
    for (; *a && *b; a++, b++)
        if ((*a | 0x20) != (*b | 0x20)) return false;
    return *a == *b;
}

/* A name before a number, in case a column is called 2. Any column may be chosen, also one that looks wrong.
 */
static bool choose_by_person(const LogText *log, const char *asked, const int *found, int count, int *chosen,
                             Error *error)
{
    double number;
    for (int c = 0; c < log->column_count; c++) {
        if (!same_name(log->column_names[c], asked)) continue;
        *chosen = c;
        return true;
    }
    if (text_read_number(text_of(asked), &number) && number >= 1 && number <= log->column_count &&
        number == floor(number)) {
        *chosen = (int)number - 1;
        return true;
    }
    char list[300];
    write_list(log, found, count, list, sizeof list);
    return error_set(error, ERROR_UNKNOWN_WORD, asked, "a column of this log: %s, or its number", list);
}

/* Two that match the same word decide nothing: asking is better than the first one. */
static bool choose_by_name(const LogText *log, const LogLayout *layout, const int *found, int count,
                           int *chosen, Error *error)
{
    static const char *const tiers[][5] = {
        {"centre", "center", "middle", "mid", NULL}, {"probe", NULL}, {"oven", "cavity", NULL}};
    char list[300];
    for (size_t t = 0; t < sizeof tiers / sizeof *tiers; t++) {
        int met = 0;
        for (int i = 0; i < count; i++) {
            if (!names(layout->headings[found[i]], tiers[t])) continue;
            *chosen = found[i];
            met++;
        }
        if (met == 1) return true;
        if (met > 1) break;
    }
    write_list(log, found, count, list, sizeof list);
    error_set(error, ERROR_MISSING, "several columns of temperatures", "one of them to be named: %s", list);
    return error_hint(error, "choose with --column NAME, or --column and its number");
}

/* A column of units beside the temperatures: `350.2,F`. */
static LogTextUnit unit_beside(const LogSample *sample, int c)
{
    LogTextUnit unit = LOG_TEXT_UNIT_OPEN;
    for (int r = 0; r < sample->rows; r++) {
        if (c + 1 >= sample->counts[r] || sample->cells[r][c + 1].length > 6) return LOG_TEXT_UNIT_OPEN;
        const LogTextUnit here = log_text__unit_of(sample->cells[r][c + 1]);
        if (here == LOG_TEXT_UNIT_OPEN || (r > 0 && here != unit)) return LOG_TEXT_UNIT_OPEN;
        unit = here;
    }
    return unit;
}

/* A unit on the command line fills what is open and never overrules the log: one of the two would be wrong.
 */
static bool settle_unit(const LogSample *sample, const LogTextTerms *terms, const Column *columns,
                        LogLayout *layout, Error *error)
{
    LogTextUnit own = unit_of_column(layout, columns, layout->temperature_column);
    if (own == LOG_TEXT_UNIT_OPEN) own = unit_beside(sample, layout->temperature_column);
    const LogTextUnit unit = own != LOG_TEXT_UNIT_OPEN ? own : layout->unit;
    if (own != LOG_TEXT_UNIT_OPEN && terms->unit != LOG_TEXT_UNIT_OPEN && own != terms->unit)
        return error_set(error, ERROR_INCONSISTENT, "another unit on the command line",
                         "the unit that the log has itself");
    layout->unit = terms->unit != LOG_TEXT_UNIT_OPEN ? terms->unit : unit;
    if (layout->unit != LOG_TEXT_UNIT_OPEN) return true;
    error_set(error, ERROR_MISSING, "temperatures without a unit",
              "C or F in the heading or behind each number");
    return error_hint(error, "say which with --unit F or --unit C");
}

/* Time first, since its column can be no temperature. */
bool log_text__choose_columns(const LogSample *sample, const LogTextTerms *terms, LogText *log,
                              LogLayout *layout, Error *error)
{
    Column columns[LOG_TEXT_MOST_COLUMNS];
    int found[LOG_TEXT_MOST_COLUMNS];
    for (int c = 0; c < layout->column_count; c++) columns[c] = look_at(sample, layout, c);
    if (!choose_time(columns, layout, error)) return false;
    const int count = list_temperatures(columns, layout, found);
    int chosen = count > 0 ? found[0] : -1;
    if (count == 0 && !terms->column)
        return error_set(error, ERROR_MISSING, "no column of temperatures",
                         "a column of temperatures beside the time");
    if (terms->column && !choose_by_person(log, terms->column, found, count, &chosen, error)) return false;
    if (!terms->column && count > 1) {
        if (!choose_by_name(log, layout, found, count, &chosen, error)) return false;
        log->has_assumption[LOG_TEXT_ASSUMES_COLUMN] = true;
    }
    assert(chosen >= 0 && chosen < layout->column_count);
    if (chosen == layout->time_column)
        return error_set(error, ERROR_INCONSISTENT, "the column of times", "a column of temperatures");
    layout->temperature_column = log->column = chosen;
    return settle_unit(sample, terms, columns, layout, error);
}
