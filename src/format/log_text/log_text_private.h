/* log_text_private.h: what the files of format/log_text share. Not for other rooms. */
#ifndef FORMAT_LOG_TEXT_PRIVATE_H
#define FORMAT_LOG_TEXT_PRIVATE_H

#include "format/log_text/log_text.h"

#include <stdint.h>

/* Walks over lines, whatever ends them (LF, CR LF, CR). */
typedef struct {
    const char *at, *end;
    int number; /* of the line last given, from 1 */
} LogLines;

bool log_text__next_line(LogLines *lines, Text *line);

/* The same text in UTF-8 without a byte order mark; UTF-16 is turned. */
bool log_text__decode(Text bytes, Arena *arena, Text *decoded, Error *error) MUST_CHECK;

bool log_text__is_comment(Text line, char separator);

/* The next cell of a line, without blanks and quotes around; false behind the last one. *at begins at the
 * line's first byte. Separator ' ' stands for any run of blanks. */
bool log_text__next_cell(const char **at, const char *end, char separator, Text *cell);

/* Is the text this word, which is in small letters? */
bool log_text__is_word(Text text, const char *word);

/* A number with a decimal point or comma, the whole cell; no locale. */
bool log_text__number(Text cell, bool has_comma, double *value);

typedef struct {
    double value; /* NAN: nothing was noted; INFINITY: more than the display can show */
    LogTextUnit unit;
} LogCell;

/* A temperature: a number, with or without its unit, or a word for none. */
bool log_text__temperature(Text cell, bool has_comma, LogCell *temperature);

/* The unit at the end of a heading, or on its own in a row of units. */
LogTextUnit log_text__unit_of(Text heading);

/* How a moment is written. */
typedef enum {
    LOG_MOMENT_NUMBER,
    LOG_MOMENT_TWO_PARTS,   /* 12:30, or 5:10 */
    LOG_MOMENT_THREE_PARTS, /* 12:30:05 */
    LOG_MOMENT_DATE         /* without a time */
} LogMomentKind;

typedef struct {
    LogMomentKind kind;
    double value;  /* the number; seconds since midnight, two parts as hours and minutes */
    bool has_date; /* the parts of the date as written */
    int first, second, year;
    bool is_year_first, is_day_first; /* known from how it is written: 2026-04-03, 3.4.2026 */
    bool has_half;                    /* am or pm */
} LogMoment;

bool log_text__moment(Text cell, bool has_comma, LogMoment *moment);

/* Days since some day, of a date in the Gregorian calendar; false for a date that there is not. */
bool log_text__day(int year, int month, int day, double *days);

/* How a file is laid out. */
typedef struct {
    char separator;
    bool has_comma; /* decimal */
    Text headings[LOG_TEXT_MOST_COLUMNS], units[LOG_TEXT_MOST_COLUMNS];
    int column_count;
    bool has_headings;
    Text heading_line;
    int first_line; /* the first with values */
    const char *first_byte;
    int date_column, time_column, temperature_column; /* date: -1 when there is none */
    LogMomentKind time_kind;
    double time_scale; /* seconds in its unit; 0 when nobody said */
    LogTextUnit unit;
    bool is_day_first; /* of dates written with slashes */
} LogLayout;

bool log_text__lay_out(Text text, const LogTextTerms *terms, LogText *log, Arena *arena, LogLayout *layout,
                       Error *error) MUST_CHECK;

/* Which columns hold time and temperature. `sample` are the first rows' cells. */
enum { LOG_SAMPLE_ROWS = 60 };
typedef struct {
    Text cells[LOG_SAMPLE_ROWS][LOG_TEXT_MOST_COLUMNS];
    int counts[LOG_SAMPLE_ROWS], lines[LOG_SAMPLE_ROWS];
    int rows;
} LogSample;

bool log_text__choose_columns(const LogSample *sample, const LogTextTerms *terms, LogText *log,
                              LogLayout *layout, Error *error) MUST_CHECK;

/* Reads all rows into the log; times are in the unit of the layout, or in bare numbers. */
bool log_text__read_rows(Text text, const char *file, LogLayout *layout, Arena *arena, LogText *log,
                         Error *error) MUST_CHECK;

/* Turns bare numbers and ambiguous clocks into seconds, and spreads rows that share a time. */
bool log_text__scale_time(const LogLayout *layout, double *second, const double *celsius, LogText *log,
                          Error *error) MUST_CHECK;

#endif
