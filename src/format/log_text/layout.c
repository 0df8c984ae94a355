/* layout.c: how a file is laid out: what separates its cells, where its values begin, what heads them.
 *
 * The separator is the one with which most cells of the first lines are values. A comma is tried as a
 * separator before it is tried as a decimal comma, and blanks come last, since dates and headings have them
 * inside. Above the first line of values stand titles, one line of headings with as many cells, and perhaps a
 * line of units.
 *
 * What it is bad at: commas both between cells and inside numbers cannot be told apart; where the headings
 * give that away it is an error. */
#include "format/log_text/log_text_private.h"

#include <assert.h>
#include <string.h>

enum { MOST_LINES = 400, MOST_SCORED = 120 };

typedef struct {
    char separator;
    bool has_comma;
} Writing;

/* Cells beyond the limit are not looked at; the rows are read all the same. */
static int split(Text line, char separator, Text *cells)
{
    const char *at = line.bytes;
    int count = 0;
    while (count < LOG_TEXT_MOST_COLUMNS &&
           log_text__next_cell(&at, line.bytes + line.length, separator, &cells[count]))
        count++;
    return count;
}

/* A word for none is no value here: a title may have one. */
static bool is_value(Text cell, bool has_comma)
{
    LogMoment moment;
    LogCell temperature;
    if (cell.length == 0) return false;
    if (log_text__moment(cell, has_comma, &moment)) return true;
    return log_text__temperature(cell, has_comma, &temperature) && temperature.unit != LOG_TEXT_UNIT_OPEN;
}

/* Values and cells that are nothing known; words for 'none' and 'too much' are neither. */
static void count_cells(const Text *cells, int count, bool has_comma, int *values, int *strange)
{
    LogCell temperature;
    *values = *strange = 0;
    for (int i = 0; i < count; i++) {
        if (is_value(cells[i], has_comma))
            ++*values;
        else if (!log_text__temperature(cells[i], has_comma, &temperature))
            ++*strange;
    }
}

/* A line of values: a moment among its first two cells, and something behind it. */
static bool is_row(const Text *cells, int count, bool has_comma)
{
    LogMoment moment;
    LogCell temperature;
    if (count < 2) return false;
    const bool is_first = log_text__moment(cells[0], has_comma, &moment);
    if (!is_first && !log_text__moment(cells[1], has_comma, &moment)) return false;
    for (int i = is_first ? 1 : 2; i < count; i++)
        if (cells[i].length > 0 && log_text__temperature(cells[i], has_comma, &temperature)) return true;
    return false;
}

/* Strange cells count against, more than half a value each; rows as long as the one before count a little
 * extra. */
static double score(Text text, Writing writing)
{
    LogLines lines = {text.bytes, text.bytes + text.length, 0};
    Text line, cells[LOG_TEXT_MOST_COLUMNS];
    double sum = 0;
    int scored = 0, last_count = 0;
    while (scored < MOST_SCORED && lines.number < MOST_LINES && log_text__next_line(&lines, &line)) {
        if (log_text__is_comment(line, writing.separator)) continue;
        const int count = split(line, writing.separator, cells);
        int values, strange;
        if (!is_row(cells, count, writing.has_comma)) continue;
        count_cells(cells, count, writing.has_comma, &values, &strange);
        sum += values - 0.6 * strange + (count == last_count ? 0.25 : 0);
        last_count = count;
        scored++;
    }
    return sum;
}

/* Strictly better replaces, so the order of the list decides between equals. */
static bool find_writing(Text text, LogLayout *layout, Error *error)
{
    static const Writing writings[] = {{'\t', false}, {'\t', true}, {';', false}, {';', true}, {'|', false},
                                       {'|', true},   {',', false}, {' ', false}, {' ', true}};
    double best = 0;
    for (size_t i = 0; i < sizeof writings / sizeof *writings; i++) {
        const double sum = score(text, writings[i]);
        if (sum <= best) continue;
        best = sum;
        layout->separator = writings[i].separator;
        layout->has_comma = writings[i].has_comma;
    }
    if (best > 0) return true;
    error_set(error, ERROR_SYNTAX, "no rows of a time and a temperature",
              "lines such as `12:30, 350` or `630;176,5`");
    return error_hint(error, "each row needs its time and at least one temperature");
}

/* The first rows, as cells; the file's columns are as many as most of them have. */
static void take_sample(Text text, LogLayout *layout, LogSample *sample)
{
    LogLines lines = {text.bytes, text.bytes + text.length, 0};
    Text line;
    int tally[LOG_TEXT_MOST_COLUMNS + 1] = {0};
    sample->rows = 0;
    while (sample->rows < LOG_SAMPLE_ROWS) {
        const char *from = lines.at;
        if (!log_text__next_line(&lines, &line)) break;
        if (log_text__is_comment(line, layout->separator)) continue;
        Text *cells = sample->cells[sample->rows];
        const int count = split(line, layout->separator, cells);
        if (!is_row(cells, count, layout->has_comma)) continue;
        if (sample->rows == 0) {
            layout->first_line = lines.number;
            layout->first_byte = from;
        }
        sample->counts[sample->rows] = count;
        sample->lines[sample->rows++] = lines.number;
        tally[count]++;
    }
    for (int i = 1; i <= LOG_TEXT_MOST_COLUMNS; i++)
        if (tally[i] > tally[layout->column_count]) layout->column_count = i;
}

/* The text of a heading that stands behind a comment sign. */
static Text without_sign(Text line)
{
    while (line.length > 0 && (strchr("#%!/; \t", line.bytes[0]) != NULL)) line.bytes++, line.length--;
    return line;
}

/* At least half the cells must be units: `no, time, c` is a row of headings. Behind a comment all must: a
 * remark may have as many cells as the headings that follow it. */
static bool is_unit_row(const Text *cells, int count, bool needs_all)
{
    static const char *const units[] = {"s",        "sec",   "min", "h", "ms", "hh:mm",
                                        "hh:mm:ss", "mm:ss", "w",   "v", "-",  "%"};
    int known = 0;
    for (int i = 0; i < count; i++) {
        bool is_known = cells[i].length <= 10 && log_text__unit_of(cells[i]) != LOG_TEXT_UNIT_OPEN;
        for (size_t u = 0; u < sizeof units / sizeof *units; u++)
            is_known |= log_text__is_word(cells[i], units[u]);
        for (size_t k = 0; k < cells[i].length; k++)
            if (strchr("()[]", cells[i].bytes[k]) && k == 0 && cells[i].length <= 10) is_known = true;
        known += is_known;
    }
    return known > 0 && (needs_all ? known == count : 2 * known >= count);
}

/* Headings in front of the values: the last line with as many cells, or the one before if that has units. A
 * comment may hold them too. */
static void find_headings(Text text, LogLayout *layout)
{
    LogLines lines = {text.bytes, layout->first_byte, 0};
    Text line, cells[LOG_TEXT_MOST_COLUMNS];
    bool is_remark = false;
    while (log_text__next_line(&lines, &line)) {
        const Text plain = without_sign(line);
        const bool is_comment = log_text__is_comment(line, layout->separator);
        const int count = split(plain, layout->separator, cells);
        if (log_text__unit_of(plain) != LOG_TEXT_UNIT_OPEN) layout->unit = log_text__unit_of(plain);
        if (count != layout->column_count || plain.length == 0) {
            if (count > 1 && layout->separator == ',' && count == (layout->column_count + 2) / 2)
                layout->heading_line = line;
            continue;
        }
        if (layout->has_headings && is_unit_row(cells, count, is_remark && !is_comment)) {
            memcpy(layout->units, cells, (size_t)count * sizeof *cells);
            continue;
        }
        memcpy(layout->headings, cells, (size_t)count * sizeof *cells);
        layout->has_headings = true;
        layout->heading_line = line;
        is_remark = is_comment;
    }
}

/* Half the cells in the headings, and every other cell of a row a bare whole number: decimal commas. */
static bool check_commas(const LogLayout *layout, const LogSample *sample, Error *error)
{
    if (layout->has_headings || layout->heading_line.length == 0 || layout->separator != ',') return true;
    error_set(error, ERROR_SYNTAX, "commas between cells and inside numbers",
              "as many cells in each row as there are headings");
    error_hint(error, "export the log with semicolons, or with decimal points");
    return error_at(error, "", sample->lines[0], 1);
}

/* Copies: the bytes of the file go before the answer is written. */
static bool keep_names(const LogLayout *layout, Arena *arena, LogText *log, Error *error)
{
    log->column_count = layout->column_count;
    for (int i = 0; i < layout->column_count; i++) {
        const Text name = layout->headings[i];
        log->column_names[i] = arena_copy_text(arena, name.length ? name.bytes : "", name.length);
        if (!log->column_names[i]) return error_memory(error);
    }
    return true;
}

/* The sample is some 60 kB and lives in the arena: too much for a stack in a browser. */
bool log_text__lay_out(Text text, const LogTextTerms *terms, LogText *log, Arena *arena, LogLayout *layout,
                       Error *error)
{
    *layout = (LogLayout){.date_column = -1, .time_column = -1, .temperature_column = -1};
    if (!find_writing(text, layout, error)) return false;
    LogSample *sample = arena_take(arena, sizeof *sample);
    if (!sample) return error_memory(error);
    take_sample(text, layout, sample);
    assert(sample->rows > 0 && layout->column_count >= 2);
    find_headings(text, layout);
    return check_commas(layout, sample, error) && keep_names(layout, arena, log, error) &&
           log_text__choose_columns(sample, terms, log, layout, error);
}
