/* Logs as loggers and people write them, against tests/table/log_text; each of them cut off at every byte;
 * and with too little memory. */
#include "format/log_text/log_text.h"
#include "support/file.h"
#include "support/table.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char *const KEYS[] = {"given",   "rows", "reads",  "from",      "to", "length",
                                   "assumes", "unit", "choose", "tolerance", NULL};

static Text read_example(const TableRow *row)
{
    char path[200];
    snprintf(path, sizeof path, "tests/unit/format_log_text/logs/%s", table_text(row, "given"));
    return file_read(path);
}

static LogTextTerms terms_of(const TableRow *row)
{
    const char *unit = table_text(row, "unit");
    return (LogTextTerms){.column = table_has(row, "choose") ? table_text(row, "choose") : NULL,
                          .unit = *unit == 'F'   ? LOG_TEXT_FAHRENHEIT
                                  : *unit == 'C' ? LOG_TEXT_CELSIUS
                                                 : LOG_TEXT_UNIT_OPEN};
}

static void list_assumptions(const LogText *log, char *out, size_t size)
{
    size_t length = 0;
    out[0] = '\0';
    for (int i = 0; i < LOG_TEXT_ASSUMPTION_COUNT; i++)
        if (log->has_assumption[i])
            length += (size_t)snprintf(out + length, size - length, "%s%s", length ? " " : "",
                                       log_text_assumption_word((LogTextAssumption)i));
}

static void check_log(const TableRow *row)
{
    Arena arena = arena_new((size_t)16 << 20);
    const Text bytes = read_example(row);
    const LogTextTerms terms = terms_of(row);
    LogText log;
    Error error;
    char number[20], assumptions[200];
    if (!log_text_read(table_text(row, "given"), bytes, &terms, &arena, &log, &error))
        fail_msg("%s: %s; expected %s", row->where, error.found, error.expected);
    free((void *)bytes.bytes);
    const int count = log.log.count;
    const double *celsius = log.log.channels[0].celsius,
                 tolerance = table_value(row, "tolerance", UNIT_KELVIN);
    table_near(row, count, table_value(row, "rows", UNIT_NONE), 0);
    snprintf(number, sizeof number, "%d", log.column + 1);
    const char *name = log.column_names[log.column], *reads = table_text(row, "reads");
    table_true(row, strcmp(reads, name) == 0 || strcmp(reads, number) == 0, "another column was read");
    table_near(row, celsius[0], table_value(row, "from", UNIT_CELSIUS), tolerance);
    table_near(row, celsius[count - 1], table_value(row, "to", UNIT_CELSIUS), tolerance);
    table_near(row, log.log.second[count - 1] - log.log.second[0], table_value(row, "length", UNIT_SECOND),
               1e-4);
    list_assumptions(&log, assumptions, sizeof assumptions);
    table_true(row, strcmp(assumptions, table_text(row, "assumes")) == 0, assumptions);
    arena_free(&arena);
}

static void logs_are_read(void **state)
{
    (void)state;
    assert_true(table_check("log_text/reads", KEYS, check_log) > 30);
}

/* Every truncation is a log or an error, and what is read is in order of time. The bytes stand in a block of
 * their own size, so that a step beyond them is found out. */
static void check_truncations(const TableRow *row)
{
    const Text bytes = read_example(row);
    const LogTextTerms terms = terms_of(row);
    for (size_t length = 0; length < bytes.length; length++) {
        Arena arena = arena_new((size_t)16 << 20);
        LogText log;
        Error error = {0};
        char *copy = malloc(length ? length : 1);
        memcpy(copy, bytes.bytes, length);
        if (log_text_read("cut", (Text){copy, length}, &terms, &arena, &log, &error)) {
            for (int i = 1; i < log.log.count; i++) assert_true(log.log.second[i] >= log.log.second[i - 1]);
        } else {
            assert_true(error.code != ERROR_NONE && error.found[0] && error.expected[0]);
        }
        free(copy);
        arena_free(&arena);
    }
    free((void *)bytes.bytes);
}

static void a_log_may_end_anywhere(void **state)
{
    (void)state;
    table_check("log_text/reads", KEYS, check_truncations);
}

static void check_memory(const TableRow *row)
{
    const Text bytes = read_example(row);
    const LogTextTerms terms = terms_of(row);
    bool is_read = false;
    for (size_t limit = 0; !is_read; limit += 4096) {
        Arena arena = arena_new(limit);
        LogText log;
        Error error = {0};
        is_read = log_text_read("small", bytes, &terms, &arena, &log, &error);
        if (!is_read) assert_int_equal(error.code, ERROR_MEMORY);
        arena_free(&arena);
    }
    free((void *)bytes.bytes);
}

static void too_little_memory_is_an_error(void **state)
{
    (void)state;
    table_check("log_text/reads", KEYS, check_memory);
}

static LogText read_text(Text text, Arena *arena)
{
    LogText log;
    Error error;
    const LogTextTerms terms = {NULL, LOG_TEXT_UNIT_OPEN};
    if (!log_text_read("text", text, &terms, arena, &log, &error))
        fail_msg("%s; expected %s", error.found, error.expected);
    return log;
}

static void over_range_is_told_from_nothing(void **state)
{
    (void)state;
    Arena arena = arena_new((size_t)16 << 20);
    const Text bytes = file_read("tests/unit/format_log_text/logs/over.csv");
    const LogText log = read_text(bytes, &arena);
    const double *celsius = log.log.channels[0].celsius;
    assert_int_equal(log.log.count, 9);
    assert_true(isinf(celsius[0]) && isnan(celsius[1]) && isnan(celsius[3]) && isnan(celsius[4]));
    assert_true(isinf(celsius[5]) && isnan(celsius[7]));
    assert_near(celsius[8], 95, 1e-12);
    free((void *)bytes.bytes);
    arena_free(&arena);
}

/* Rows written out with every separator, decimal sign and unit read back the same. */
static void what_is_written_is_read(void **state)
{
    (void)state;
    static const char *const separators[] = {";", "\t", " | ", "  ", ","};
    for (int s = 0; s < 5; s++) {
        for (int comma = 0; comma < (s < 4 ? 2 : 1); comma++) {
            Arena arena = arena_new((size_t)16 << 20);
            TextBuilder text = text_builder(&arena, 1 << 16);
            text_addf(&text, "second%scelsius\n", separators[s]);
            for (int i = 0; i < 200; i++)
                text_addf(&text, "%d%s%d%s%02d\n", 5 * i, separators[s], 20 + i, comma ? "," : ".",
                          (37 * i) % 100);
            const LogText log = read_text(text_of(text_string(&text)), &arena);
            assert_int_equal(log.log.count, 200);
            for (int i = 0; i < 200; i++) {
                assert_near(log.log.second[i], 5 * i, 0);
                assert_near(log.log.channels[0].celsius[i], 20 + i + (37 * i) % 100 / 100.0, 1e-12);
            }
            arena_free(&arena);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(logs_are_read), cmocka_unit_test(a_log_may_end_anywhere),
        cmocka_unit_test(too_little_memory_is_an_error), cmocka_unit_test(over_range_is_told_from_nothing),
        cmocka_unit_test(what_is_written_is_read)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
