/* rows.c: all rows, once, fast.
 *
 * A log may have a million rows, so cells that are not asked for are stepped over and nothing is kept but one
 * time and one temperature. Time must rise; a clock that falls by half a day has passed midnight. A row that
 * is only half there at the very end is where the logger was switched off. */
#include "format/log_text/log_text_private.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

typedef struct {
    const LogLayout *layout;
    LogText *log;
    double *second, *celsius;
    int count, most;
    double last, carry; /* time of the row above; days that a clock without a date has passed */
    bool is_minutes;    /* first part of a two-part time above 23: minutes and seconds */
    const char *file;
} Rows;

typedef struct {
    Text date, time, temperature;
} RowCells;

/* The only place where a unit is turned. */
static double to_celsius(double value, LogTextUnit unit)
{
    return unit == LOG_TEXT_FAHRENHEIT ? (value - 32) / 1.8
           : unit == LOG_TEXT_KELVIN   ? value - 273.15
                                       : value;
}

/* The three cells that matter; what is not there is empty. */
static RowCells take_cells(const LogLayout *layout, Text line)
{
    const char *at = line.bytes, *end = line.bytes + line.length;
    const Text none = {end, 0};
    RowCells cells = {none, none, none};
    int last =
        layout->temperature_column > layout->time_column ? layout->temperature_column : layout->time_column;
    if (layout->date_column > last) last = layout->date_column;
    Text cell;
    for (int c = 0; c <= last && log_text__next_cell(&at, end, layout->separator, &cell); c++) {
        if (c == layout->time_column) cells.time = cell;
        if (c == layout->date_column) cells.date = cell;
        if (c == layout->temperature_column) cells.temperature = cell;
    }
    return cells;
}

/* What is quoted in a message is cut, not left out. */
static void quote(Text cell, char *out, size_t size)
{
    const int most = (int)size - 1;
    snprintf(out, size, "%.*s", cell.length < (size_t)most ? (int)cell.length : most, cell.bytes);
}

/* Place in characters from the line's first byte, as editors count them. */
static bool bad_cell(const Rows *rows, ErrorCode code, Text cell, Text line, int number, const char *expected,
                     Error *error)
{
    char found[80];
    quote(cell, found, sizeof found);
    error_set(error, code, cell.length ? found : "an empty cell", "%s", expected);
    return error_at(error, rows->file, number, (int)(cell.bytes - line.bytes) + 1);
}

/* False for a day that there is not; a wrong order of day and month shows here at the latest. */
static bool date_to_days(const LogLayout *layout, const LogMoment *moment, double *days)
{
    const bool is_day_first = moment->is_year_first ? false : moment->is_day_first || layout->is_day_first;
    return log_text__day(moment->year, is_day_first ? moment->second : moment->first,
                         is_day_first ? moment->first : moment->second, days);
}

/* A time of day that falls: past midnight, past the hour, or past noon on a clock of twelve hours. */
static bool pass_midnight(Rows *rows, const LogMoment *moment, double *second)
{
    const double fall = rows->last - *second;
    if (moment->kind == LOG_MOMENT_NUMBER || moment->has_date || rows->layout->date_column >= 0) return false;
    double step = 0;
    if (rows->is_minutes && fall > 30 * 3600)
        step = 60 * 3600;
    else if (!rows->is_minutes && fall > 12 * 3600)
        step = 86400;
    else if (!moment->has_half && fall > 11 * 3600)
        step = 43200;
    if (step == 0) return false;
    if (step == 43200) rows->log->has_assumption[LOG_TEXT_ASSUMES_TWELVE_HOURS] = true;
    rows->carry += step;
    *second += step;
    return true;
}

/* Bare numbers do not go through log_text__moment: half the time of reading would be spent there. */
static bool read_time(Rows *rows, const RowCells *cells, double *second, LogMoment *moment)
{
    const LogLayout *layout = rows->layout;
    double days = 0;
    if (layout->time_kind == LOG_MOMENT_NUMBER) {
        moment->kind = LOG_MOMENT_NUMBER;
        if (!log_text__number(cells->time, layout->has_comma, second)) return false;
        if (layout->time_scale > 0) *second *= layout->time_scale;
        return isfinite(*second);
    }
    if (!log_text__moment(cells->time, layout->has_comma, moment) || moment->kind == LOG_MOMENT_NUMBER)
        return false;
    if (moment->kind == LOG_MOMENT_TWO_PARTS && moment->value >= 86400) rows->is_minutes = true;
    *second = moment->value + rows->carry;
    if (moment->has_date && !date_to_days(layout, moment, &days)) return false;
    if (layout->date_column >= 0) {
        LogMoment date;
        if (!log_text__moment(cells->date, layout->has_comma, &date) || !date.has_date) return false;
        if (!date_to_days(layout, &date, &days)) return false;
    }
    *second += 86400 * days;
    return true;
}

/* Rows that say nothing are passed over: empty ones, a heading repeated by a restarted logger, half a row at
 * the very end. Everything else that cannot be read is an error: a log with holes that nobody knows of is
 * worse than none. */
static bool read_row(Rows *rows, Text line, int number, bool is_end, Error *error)
{
    const LogLayout *layout = rows->layout;
    const RowCells cells = take_cells(layout, line);
    LogMoment moment;
    LogCell temperature;
    double second;
    if (cells.temperature.length == 0 && (cells.time.length == 0 || is_end)) return true;
    if (!read_time(rows, &cells, &second, &moment)) {
        const bool is_heading = line.length == layout->heading_line.length &&
                                memcmp(line.bytes, layout->heading_line.bytes, line.length) == 0;
        if (is_heading || is_end) return true;
        return bad_cell(rows, ERROR_SYNTAX, cells.time, line, number, "a time, as in the rows above", error);
    }
    if (second < rows->last && !pass_midnight(rows, &moment, &second)) {
        bad_cell(rows, ERROR_INCONSISTENT, cells.time, line, number, "a time after the one above it", error);
        return error_hint(error, "two runs in one file? cut them apart");
    }
    if (!log_text__temperature(cells.temperature, layout->has_comma, &temperature)) {
        if (is_end) return true;
        return bad_cell(rows, ERROR_SYNTAX, cells.temperature, line, number,
                        "a temperature, or a word for none such as OL or ---", error);
    }
    assert(rows->count < rows->most);
    rows->last = rows->second[rows->count] = second;
    rows->celsius[rows->count++] = to_celsius(
        temperature.value, temperature.unit != LOG_TEXT_UNIT_OPEN ? temperature.unit : layout->unit);
    return true;
}

/* A date with slashes: does a number above 12 tell the order? Otherwise the order in which the first change
 * of date is the smaller one; if the date never changes the order does not matter. */
static void settle_order(const Rows *rows, LogLines lines, LogLayout *layout)
{
    LogMoment before = {0}, moment;
    const char *end = lines.end;
    Text line;
    if (layout->time_kind == LOG_MOMENT_NUMBER) return;
    while (log_text__next_line(&lines, &line)) {
        if (log_text__is_comment(line, layout->separator)) continue;
        const RowCells cells = take_cells(layout, line);
        const Text cell = layout->date_column >= 0 ? cells.date : cells.time;
        if (!log_text__moment(cell, layout->has_comma, &moment)) continue;
        if (!moment.has_date || moment.is_day_first || moment.is_year_first) return;
        if (moment.first > 12 || moment.second > 12) {
            layout->is_day_first = moment.first > 12;
            return;
        }
        const bool has_changed =
            before.has_date && (before.first != moment.first || before.second != moment.second);
        if (has_changed) {
            layout->is_day_first = before.second == moment.second && before.first != moment.first;
            rows->log->has_assumption[layout->is_day_first ? LOG_TEXT_ASSUMES_DAY_FIRST
                                                           : LOG_TEXT_ASSUMES_MONTH_FIRST] = true;
            return;
        }
        before = moment;
    }
    assert(lines.at == end);
}

/* An upper bound, so that both columns are taken once and never moved. */
static int count_lines(const char *at, const char *end)
{
    int count = 1;
    for (; at < end; at++) count += *at == '\n' || *at == '\r';
    return count;
}

/* Comments may stand anywhere. */
static bool read_all(Rows *rows, LogLines lines, Error *error)
{
    Text line;
    while (log_text__next_line(&lines, &line)) {
        if (line.length == 0 || log_text__is_comment(line, rows->layout->separator)) continue;
        if (rows->count == RUN_MOST_ROWS) {
            error_set(error, ERROR_TOO_LARGE, "more rows", "at most %d rows", RUN_MOST_ROWS);
            return error_at(error, rows->file, lines.number, 1);
        }
        if (!read_row(rows, line, lines.number, lines.at >= lines.end, error)) return false;
    }
    return true;
}

/* Sixteen bytes a row are all that is held of a log. */
bool log_text__read_rows(Text text, const char *file, LogLayout *layout, Arena *arena, LogText *log,
                         Error *error)
{
    const char *end = text.bytes + text.length;
    int most = count_lines(layout->first_byte, end);
    if (most > RUN_MOST_ROWS) most = RUN_MOST_ROWS;
    Rows rows = {.layout = layout, .log = log, .most = most, .last = -INFINITY, .file = file};
    rows.second = ARENA_ARRAY(arena, double, (size_t)most);
    rows.celsius = ARENA_ARRAY(arena, double, (size_t)most);
    if (!rows.second || !rows.celsius) return error_memory(error);
    const LogLines lines = {layout->first_byte, end, layout->first_line - 1};
    settle_order(&rows, lines, layout);
    if (!read_all(&rows, lines, error)) return false;
    if (rows.is_minutes && layout->time_scale == 0) layout->time_scale = 1.0 / 60;
    log->log = (RunLog){.second = rows.second, .count = rows.count, .channel_count = 1};
    log->log.channels[0] = (RunChannel){log->column_names[layout->temperature_column], rows.celsius,
                                        layout->unit == LOG_TEXT_FAHRENHEIT};
    return log_text__scale_time(layout, rows.second, rows.celsius, log, error);
}
