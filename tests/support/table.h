/* table.h: checks as rows of text that an expert can read (tests/table/<room>/<name>.table).
 *
 *   # name of the source: standard, edition, table or clause; how it was confirmed
 *   sensor pt100    tolerance 0.005 ohm
 *   given    0 C    expect 100.00 ohm
 *   given  900 C    expect error out-of-range   # a note
 *
 * A line is keys with their values, in any order. A line without `given` sets keys for all rows below it,
 * until another line sets the same key again; a line with `given` is a check. The first line has to name a
 * source. */
#ifndef SUPPORT_TABLE_H
#define SUPPORT_TABLE_H

#include "base/quantity.h"
#include "support/near.h"

enum { TABLE_MOST_KEYS = 24 };

typedef struct {
    const char *const *keys;         /* as given to table_check */
    char value[TABLE_MOST_KEYS][80]; /* of each key, words joined by single spaces; empty when not set */
    char where[120];                 /* file:line, for messages */
} TableRow;

/* Calls `check` for each row of the table, `name` being `sensor/rtd` for example, and gives the number of
 * rows; fails the test when there is no such file, no source, no row or a key that is not in `keys` (ends
 * with NULL). */
int table_check(const char *name, const char *const *keys, void (*check)(const TableRow *row));

const char *table_text(const TableRow *row, const char *key); /* "" when the row does not have it */
bool table_has(const TableRow *row, const char *key);
double table_value(const TableRow *row, const char *key, Unit unit); /* fails the test when it is not one */
void table_range(const TableRow *row, const char *key, Unit unit, double *low, double *high);

/* Fails, naming the row, unless |got - want| <= tolerance. */
void table_near(const TableRow *row, double got, double want, double tolerance);
void table_true(const TableRow *row, bool holds, const char *what);

#endif
