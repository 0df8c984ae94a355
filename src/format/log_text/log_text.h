/* log_text.h: what loggers and people write, read into a RunLog.
 *
 * Lives here: separators, decimal commas, headings, units, clocks and dates, over-range words; which column
 * holds the oven's temperature. Not here: what the values say (core/run), opening files.
 * Units: celsius and second after reading. Ownership: the log lives in the arena; the bytes may go
 * afterwards. What the text leaves open is an error that says how to close it, or an assumption that is
 * named. */
#ifndef FORMAT_LOG_TEXT_H
#define FORMAT_LOG_TEXT_H

#include "base/arena.h"
#include "base/error.h"
#include "base/text.h"
#include "core/run/run.h"

/* The most that is read: bytes of a file, columns in a line. Rows: RUN_MOST_ROWS. */
enum { LOG_TEXT_MOST_BYTES = 128 << 20, LOG_TEXT_MOST_COLUMNS = 64 };

typedef enum { LOG_TEXT_UNIT_OPEN, LOG_TEXT_CELSIUS, LOG_TEXT_FAHRENHEIT, LOG_TEXT_KELVIN } LogTextUnit;

/* What was taken for granted, and its word in answers. */
#define LOG_TEXT_ASSUMPTION_LIST(X)                                                                          \
    X(SECONDS, "time-in-seconds") /* bare numbers: only so the oven warms as ovens do */                     \
    X(MINUTES, "time-in-minutes")                                                                            \
    X(MILLISECONDS, "time-in-milliseconds")                                                                  \
    X(HOURS_MINUTES, "hours-and-minutes") /* 1:30 */                                                         \
    X(MINUTES_SECONDS, "minutes-and-seconds")                                                                \
    X(DAY_FIRST, "day-first") /* 3/4/2026: the order that makes the log shorter */                           \
    X(MONTH_FIRST, "month-first")                                                                            \
    X(TWELVE_HOURS, "twelve-hour-clock") /* 12:59 and then 1:00 */                                           \
    X(SPREAD, "rows-spread-evenly")      /* several rows with the same time */                               \
    X(COLUMN, "column-chosen")           /* one of several columns, by its name */

#define X(code, word) LOG_TEXT_ASSUMES_##code,
typedef enum { LOG_TEXT_ASSUMPTION_LIST(X) LOG_TEXT_ASSUMPTION_COUNT } LogTextAssumption;
#undef X

typedef struct {
    const char *column; /* name or number (from 1) of the temperature's column; NULL: by its heading */
    LogTextUnit unit;   /* for a log that does not say */
} LogTextTerms;

typedef struct {
    RunLog log;                                      /* with one channel */
    const char *column_names[LOG_TEXT_MOST_COLUMNS]; /* all of the file, "" without a heading */
    int column_count, column;                        /* the one that was read, from 0 */
    bool is_hand_written; /* no heading, whole degrees, half a minute or more from row to row */
    bool has_assumption[LOG_TEXT_ASSUMPTION_COUNT];
} LogText;

/* Reads the whole file, `file` being its name for messages. ERROR_SYNTAX for what is no log or a cell that is
 * no value, ERROR_MISSING without a unit, ERROR_UNKNOWN_WORD for a column that is not there (lists them),
 * ERROR_INCONSISTENT when time goes back, ERROR_TOO_LARGE, ERROR_MEMORY; with line and column. */
bool log_text_read(const char *file, Text bytes, const LogTextTerms *terms, Arena *arena, LogText *log,
                   Error *error) MUST_CHECK;

const char *log_text_assumption_word(LogTextAssumption assumption);

#endif
