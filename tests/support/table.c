/* table.c: see table.h. */
#include "support/table.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static int find_key(const char *const *keys, const char *word)
{
    for (int i = 0; keys[i]; i++)
        if (strcmp(keys[i], word) == 0) return i;
    return -1;
}

static void add_word(char *value, const char *word)
{
    const size_t length = strlen(value);
    snprintf(value + length, sizeof((TableRow *)0)->value[0] - length, "%s%s", length ? " " : "", word);
}

/* Puts the keys of one line into the row; says whether it is a check. */
static bool read_line(char *line, TableRow *row)
{
    bool is_check = false;
    int key = -1;
    for (char *word = strtok(line, " \t\r\n"); word && word[0] != '#'; word = strtok(NULL, " \t\r\n")) {
        const int next = find_key(row->keys, word);
        if (next >= 0) {
            key = next;
            row->value[key][0] = '\0';
            is_check |= strcmp(word, "given") == 0;
        } else if (key < 0) {
            fail_msg("%s: '%s' is not a key", row->where, word);
        } else {
            add_word(row->value[key], word);
        }
    }
    return is_check;
}

int table_check(const char *name, const char *const *keys, void (*check)(const TableRow *row))
{
    char path[300], line[400];
    snprintf(path, sizeof path, "%s/tests/table/%s.table", PROJECT_FOLDER, name);
    FILE *file = fopen(path, "r");
    if (!file) fail_msg("%s cannot be opened", path);
    TableRow settings = {.keys = keys};
    int rows = 0;
    for (int number = 1; fgets(line, sizeof line, file); number++) {
        if (number == 1 && line[0] != '#') fail_msg("%s: the first line has to name the source", path);
        TableRow row = settings;
        snprintf(row.where, sizeof row.where, "%s.table:%d", name, number);
        const bool is_check = read_line(line, &row);
        if (is_check)
            check(&row);
        else
            settings = row;
        rows += is_check;
    }
    fclose(file);
    print_message("%s: %d rows\n", name, rows);
    assert_true(rows > 0);
    return rows;
}

const char *table_text(const TableRow *row, const char *key)
{
    const int at = find_key(row->keys, key);
    assert_true(at >= 0);
    return row->value[at];
}

bool table_has(const TableRow *row, const char *key) { return table_text(row, key)[0] != '\0'; }

double table_value(const TableRow *row, const char *key, Unit unit)
{
    double value = 0;
    Error error;
    if (!quantity_read_as(text_of(table_text(row, key)), unit, &value, &error))
        fail_msg("%s: %s: %s; expected %s", row->where, key, error.found, error.expected);
    return value;
}

void table_range(const TableRow *row, const char *key, Unit unit, double *low, double *high)
{
    Error error;
    if (!quantity_read_range(text_of(table_text(row, key)), unit, low, high, &error))
        fail_msg("%s: %s: %s; expected %s", row->where, key, error.found, error.expected);
}

void table_near(const TableRow *row, double got, double want, double tolerance)
{
    if (!(fabs(got - want) <= tolerance))
        fail_msg("%s: got %.12g, want %.12g within %.3g (off by %.3g)", row->where, got, want, tolerance,
                 got - want);
}

void table_true(const TableRow *row, bool holds, const char *what)
{
    if (!holds) fail_msg("%s: %s", row->where, what);
}
