/* degrees.c: temperatures as text, in the degrees that the reader has chosen. The conversion is that of NIST
 * SP 811 (2008), B.8: t/C = (t/F - 32)/1.8, and a difference in kelvin is one in F divided by 1.8. */
#include <string.h>

#include "format/words/words_private.h"
#include "support/near.h"

static const Words ways[] = {
    {.degrees = DEGREES_BOTH}, {.degrees = DEGREES_FAHRENHEIT}, {.degrees = DEGREES_CELSIUS}};

/* 392 F is 200 C to the last digit, and a difference of 18 F is 10 K. */
static void a_temperature_has_the_units_that_were_chosen(void **state)
{
    static const char *const wanted[] = {"392 F (200 C)", "392 F", "200 C"};
    char text[60];
    (void)state;
    for (int w = 0; w < 3; w++) {
        words_write_temperature(&ways[w], 200, 0, text, sizeof text);
        assert_string_equal(text, wanted[w]);
    }
    words_write_temperature(&ways[0], 176.6667, 1, text, sizeof text);
    assert_string_equal(text, "350.0 F (176.7 C)");
}

static void a_difference_has_no_zero_point(void **state)
{
    static const char *const signs[] = {"+18.0 F (+10.0 K)", "+18.0 F", "+10.0 K"},
                             *const widths[] = {"18 F (10.0 K)", "18 F", "10.0 K"},
                             *const offsets[] = {"-18 F (-10.0 K)", "-18 F", "-10.0 K"};
    char text[60];
    (void)state;
    for (int w = 0; w < 3; w++) {
        words_write_difference(&ways[w], 10, true, text, sizeof text);
        assert_string_equal(text, signs[w]);
        words_write_width(&ways[w], 10, text, sizeof text);
        assert_string_equal(text, widths[w]);
        words__write_offset(&ways[w], -10, text, sizeof text);
        assert_string_equal(text, offsets[w]);
    }
}

/* Nobody sets 176.67 C: a dial that counts in celsius has marks of its own. */
static void a_dial_is_set_to_one_of_its_marks(void **state)
{
    static const char *const wanted[] = {"350 F (177 C)", "350 F", "175 C"};
    char text[60];
    (void)state;
    for (int w = 0; w < 3; w++) {
        words__write_dial(&ways[w], 176.6667, text, sizeof text);
        assert_string_equal(text, wanted[w]);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_temperature_has_the_units_that_were_chosen),
        cmocka_unit_test(a_difference_has_no_zero_point),
        cmocka_unit_test(a_dial_is_set_to_one_of_its_marks),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
