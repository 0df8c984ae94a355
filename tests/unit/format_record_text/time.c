/* time.c: moments against the examples of RFC 3339, section 5.8, and every day of four centuries against the
 * C library's calendar. */
#include <stdio.h>
#include <string.h>
#include <time.h>

#include "format/record_text/record_text.h"
#include "support/near.h"

static int64_t read(const char *text)
{
    int64_t millisecond = -1;
    if (!record_text_read_time(text_of(text), &millisecond)) fail_msg("not read: %s", text);
    return millisecond;
}

/* Section 5.8: 20 minutes and 50.52 seconds after the 23rd hour of April 12th, 1985; 16:39:57 on December
 * 19th, 1996 in the Pacific is 00:39:57 the day after in UTC; a leap second at the end of 1990, there and in
 * the Pacific. The last one, 1937 in the Netherlands, lies before 1970. Seconds since then were worked out
 * with `date -u +%s`. */
static void examples_of_the_standard(void **state)
{
    (void)state;
    assert_true(read("1985-04-12T23:20:50.52Z") == INT64_C(482196050520));
    assert_true(read("1996-12-19T16:39:57-08:00") == INT64_C(851042397000));
    assert_true(read("1996-12-20T00:39:57Z") == INT64_C(851042397000));
    assert_true(read("1990-12-31T23:59:60Z") == INT64_C(662688000000));
    assert_true(read("1990-12-31T15:59:60-08:00") == INT64_C(662688000000));
    assert_true(read("1937-01-01T12:00:27.87+00:20") == INT64_C(-1041337172130));
}

static void both_letters_and_any_digits(void **state)
{
    (void)state;
    assert_true(read("1970-01-01t00:00:00z") == 0);
    assert_true(read("1970-01-01T00:00:00.001999999Z") == 1);
    assert_true(read("1970-01-01T00:00:01.5+00:00") == 1500);
}

static void what_is_no_moment_is_refused(void **state)
{
    static const char *const wrong[] = {"",
                                        "2026-11-26",
                                        "2026-11-26 18:00:00Z",
                                        "2026-11-26T18:00Z",
                                        "2026-11-26T18:00:00",
                                        "2026-02-29T18:00:00Z",
                                        "1900-02-29T18:00:00Z",
                                        "2026-13-01T00:00:00Z",
                                        "2026-00-01T00:00:00Z",
                                        "2026-11-31T00:00:00Z",
                                        "2026-11-26T24:00:00Z",
                                        "2026-11-26T18:60:00Z",
                                        "2026-11-26T18:00:61Z",
                                        "2026-11-26T18:00:00.Z",
                                        "2026-11-26T18:00:00.0123456789Z",
                                        "2026-11-26T18:00:00+1:00",
                                        "2026-11-26T18:00:00+0100",
                                        "2026-11-26T18:00:00Zulu",
                                        "+2026-11-26T18:00:00Z",
                                        "2026-11-26T18:00:00,5Z"};
    (void)state;
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        int64_t millisecond = 42;
        assert_false(record_text_read_time(text_of(wrong[i]), &millisecond));
        assert_true(millisecond == 42);
    }
    assert_true(read("2024-02-29T18:00:00Z") > 0 && read("2000-02-29T18:00:00Z") > 0);
}

/* gmtime_r is the reference; a moment of each day, another one each time. */
static void each_day_is_written_as_the_c_library_has_it(void **state)
{
    (void)state;
    for (int64_t day = -25567; day < 120000; day++) { /* from 1900 on */
        const int64_t millisecond =
            (day * 86400 + (day * 7919 % 86400 + 86400) % 86400) * 1000 + (day * 31 % 1000 + 1000) % 1000;
        const time_t second = (time_t)(millisecond / 1000 - (millisecond % 1000 < 0));
        struct tm parts;
        char expected[40], with[50], written[RECORD_TEXT_TIME_SIZE];
        assert_non_null(gmtime_r(&second, &parts));
        strftime(expected, sizeof expected, "%Y-%m-%dT%H:%M:%S", &parts);
        snprintf(with, sizeof with, "%s.%03dZ", expected, (int)(millisecond - (int64_t)second * 1000));
        record_text_write_time(millisecond, written);
        assert_string_equal(written, with);
        assert_true(read(written) == millisecond);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(examples_of_the_standard),
        cmocka_unit_test(both_letters_and_any_digits),
        cmocka_unit_test(what_is_no_moment_is_refused),
        cmocka_unit_test(each_day_is_written_as_the_c_library_has_it),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
