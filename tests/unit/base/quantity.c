/* Spelled quantities: definitions of the units are from the SI brochure and NIST SP 811 (5/9 for the degree
 * Fahrenheit, 0.0254 m for the inch), all exact. */
#include "base/quantity.h"
#include "support/near.h"

#include <math.h>
#include <string.h>

static void spelled_quantities_become_si(void **state)
{
    (void)state;
    const struct {
        const char *text;
        Unit unit;
        double value;
    } rows[] = {
        {"350F", UNIT_CELSIUS, 176.66666666666666},
        {"177C", UNIT_CELSIUS, 177},
        {"-40F", UNIT_CELSIUS, -40},
        {"293.15K", UNIT_CELSIUS, 20},
        {"350 F", UNIT_CELSIUS, 176.66666666666666},
        {"212\u00b0F", UNIT_CELSIUS, 100},
        {"19.2ohm", UNIT_OHM, 19.2},
        {"1.08kohm", UNIT_OHM, 1080},
        {"0.5Mohm", UNIT_OHM, 5e5},
        {"1.08k\u03a9", UNIT_OHM, 1080},
        {"19.2 \u2126", UNIT_OHM, 19.2},
        {"50mohm", UNIT_OHM, 0.05},
        {"236V", UNIT_VOLT, 236},
        {"12mV", UNIT_VOLT, 0.012},
        {"11.4A", UNIT_AMPERE, 11.4},
        {"20mA", UNIT_AMPERE, 0.02},
        {"2500W", UNIT_WATT, 2500},
        {"3kW", UNIT_WATT, 3000},
        {"6min", UNIT_SECOND, 360},
        {"12s", UNIT_SECOND, 12},
        {"1h", UNIT_SECOND, 3600},
        {"20ms", UNIT_SECOND, 0.02},
        {"610mm", UNIT_METRE, 0.61},
        {"0.5m", UNIT_METRE, 0.5},
        {"24in", UNIT_METRE, 0.6096},
        {"65L", UNIT_CUBIC_METRE, 0.065},
        {"12kg", UNIT_KILOGRAM, 12},
        {"300g", UNIT_KILOGRAM, 0.3},
        {"60Hz", UNIT_HERTZ, 60},
        {"0.8%", UNIT_RATIO, 0.008},
        {"12", UNIT_NONE, 12},
        {"-1.5e3", UNIT_NONE, -1500},
        {"25USD", UNIT_MONEY, 2500},
        {"12.34 EUR", UNIT_MONEY, 1234},
        {"500JPY", UNIT_MONEY, 500},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        Quantity quantity;
        Error error;
        assert_true(quantity_read(text_of(rows[i].text), &quantity, &error));
        assert_int_equal(quantity.unit, rows[i].unit);
        assert_near(quantity.value, rows[i].value, 1e-13 * fabs(rows[i].value));
        assert_false(quantity.is_over);
    }
}

static void over_range_is_no_number(void **state)
{
    (void)state;
    Quantity quantity;
    assert_true(quantity_read(text_of("OL"), &quantity, NULL));
    assert_true(quantity.is_over && quantity.unit == UNIT_NONE && isinf(quantity.value));
    double value;
    Error error;
    assert_false(quantity_read_as(text_of("OL"), UNIT_OHM, &value, &error));
    assert_int_equal(error.code, ERROR_WRONG_KIND);
}

static void money_keeps_its_currency(void **state)
{
    (void)state;
    Quantity quantity;
    assert_true(quantity_read(text_of("89.95USD"), &quantity, NULL));
    assert_near(quantity.value, 8995, 0);
    assert_string_equal(quantity.currency, "USD");
    assert_false(quantity_read(text_of("1.234USD"), &quantity, NULL));
    assert_false(quantity_read(text_of("1e20USD"), &quantity, NULL));
}

static void a_difference_is_not_a_temperature(void **state)
{
    (void)state;
    double kelvin;
    assert_true(quantity_read_difference(text_of("10F"), &kelvin, NULL));
    assert_near(kelvin, 50.0 / 9, 1e-15);
    assert_true(quantity_read_difference(text_of("-30F"), &kelvin, NULL));
    assert_near(kelvin, -150.0 / 9, 1e-14);
    assert_true(quantity_read_difference(text_of("6C"), &kelvin, NULL) && kelvin == 6);
    assert_true(quantity_read_difference(text_of("-600K"), &kelvin, NULL) && kelvin == -600);
    assert_false(quantity_read_difference(text_of("6V"), &kelvin, NULL));
}

static void junk_is_refused_and_leaves_the_result_alone(void **state)
{
    (void)state;
    const char *junk[] = {"",       " ",         "F",     "ohm",    "350 F ", " 350F", "3 50F",
                          "350  F", "1,5kohm",   "nan",   "inf",    "nanohm", "infV",  "0x10V",
                          "1e400V", "1e308kohm", "12q",   "12 ",    "12OHM",  "350f",  "--5V",
                          "5..V",   "5V5",       "OLohm", "-300C",  "-500F",  "-1K",   "12usd",
                          "12US",   "12USDX",    "+-3V",  "1e5e5V", ".V",     "5.V"};
    for (size_t i = 0; i < sizeof junk / sizeof junk[0]; i++) {
        Quantity quantity = {.value = 77};
        Error error;
        if (quantity_read(text_of(junk[i]), &quantity, &error)) fail_msg("'%s' was read", junk[i]);
        assert_near(quantity.value, 77, 0);
        assert_true(error.code != ERROR_NONE && error.expected[0] && error.found[0]);
    }
    char bytes[300];
    memset(bytes, 'x', sizeof bytes);
    bytes[3] = '\n';
    Quantity quantity;
    Error error;
    assert_false(quantity_read((Text){bytes, sizeof bytes}, &quantity, &error));
    assert_null(strchr(error.found, '\n'));
}

static void expect_message(const char *text, Unit unit, const char *expected, const char *hint)
{
    double value;
    Error error;
    assert_false(quantity_read_as(text_of(text), unit, &value, &error));
    assert_string_equal(error.expected, expected);
    assert_string_equal(error.hint, hint);
}

static void errors_say_what_was_expected(void **state)
{
    (void)state;
    expect_message("236V", UNIT_OHM, "a resistance, such as 19.2ohm or 1.08kohm", "this is a voltage");
    expect_message("236", UNIT_VOLT, "a voltage, such as 236V or 12mV", "add the unit");
    expect_message("1,5kohm", UNIT_OHM, "a resistance, such as 19.2ohm or 1.08kohm",
                   "write the decimal point as a point: 1.5, not 1,5");
    expect_message("350f", UNIT_CELSIUS, "a temperature, such as 350F or 177C", "write the unit as 'F'");
    expect_message("warm", UNIT_CELSIUS, "a temperature, such as 350F or 177C", "");
    expect_message("-300C", UNIT_CELSIUS, "a temperature above absolute zero, -273.15C or -459.67F", "");
    expect_message("5K", UNIT_NONE, "a plain number, such as 12", "this is a temperature");
}

static void ranges_have_two_ends_in_order(void **state)
{
    (void)state;
    double low, high;
    assert_true(quantity_read_range(text_of("-35F..35F"), UNIT_KELVIN, &low, &high, NULL));
    assert_near(low, -175.0 / 9, 1e-14);
    assert_near(high, 175.0 / 9, 1e-14);
    assert_true(quantity_read_range(text_of("0s..51s"), UNIT_SECOND, &low, &high, NULL));
    assert_true(low == 0 && high == 51);
    assert_true(quantity_read_range(text_of("170F..550F"), UNIT_CELSIUS, &low, &high, NULL));
    assert_near(low, 690.0 / 9, 1e-13);
    assert_true(quantity_read_range(text_of("1.5kohm..2.5kohm"), UNIT_OHM, &low, &high, NULL));
    assert_true(low == 1500 && high == 2500);
    const char *junk[] = {"", "..", "1s", "1s..", "..1s", "2s..1s", "1s..2V", "1s...2s", "1s-2s", "1..2"};
    for (size_t i = 0; i < sizeof junk / sizeof junk[0]; i++) {
        Error error;
        if (quantity_read_range(text_of(junk[i]), UNIT_SECOND, &low, &high, &error))
            fail_msg("'%s' was read", junk[i]);
        assert_true(error.expected[0]);
    }
}

static void values_are_written_for_people(void **state)
{
    (void)state;
    const struct {
        double value;
        Unit unit;
        const char *text;
    } rows[] = {
        {1080, UNIT_OHM, "1.08 kohm"},  {23.04, UNIT_OHM, "23.0 ohm"},       {0.35, UNIT_OHM, "0.35 ohm"},
        {999.6, UNIT_OHM, "1.00 kohm"}, {999.4, UNIT_OHM, "999 ohm"},        {2.2e6, UNIT_OHM, "2.20 Mohm"},
        {0, UNIT_OHM, "0.00 ohm"},      {INFINITY, UNIT_OHM, "OL"},          {9.996, UNIT_OHM, "10.0 ohm"},
        {240, UNIT_VOLT, "240 V"},      {-0.0, UNIT_VOLT, "0.00 V"},         {0.0123, UNIT_VOLT, "12.3 mV"},
        {11.4, UNIT_AMPERE, "11.4 A"},  {0.0008, UNIT_AMPERE, "0.80 mA"},    {2500, UNIT_WATT, "2.50 kW"},
        {480, UNIT_SECOND, "8 min"},    {12, UNIT_SECOND, "12 s"},           {7200, UNIT_SECOND, "2 h"},
        {510, UNIT_SECOND, "8.5 min"},  {176.667, UNIT_CELSIUS, "176.7 C"},  {5.5556, UNIT_KELVIN, "5.6 K"},
        {0.61, UNIT_METRE, "610 mm"},   {0.065, UNIT_CUBIC_METRE, "65.0 L"}, {12, UNIT_KILOGRAM, "12.0 kg"},
        {0.008, UNIT_RATIO, "0.8 %"},   {2500, UNIT_MONEY, "25.00"},         {1.5, UNIT_NONE, "1.5"},
        {60, UNIT_HERTZ, "60.0 Hz"},    {-13.2, UNIT_VOLT, "-13.2 V"},       {NAN, UNIT_VOLT, "-"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char text[40];
        assert_int_equal(quantity_format(rows[i].value, rows[i].unit, text, sizeof text),
                         strlen(rows[i].text));
        assert_string_equal(text, rows[i].text);
    }
    char tiny[4];
    assert_int_equal(quantity_format(1080, UNIT_OHM, tiny, sizeof tiny), 9);
    assert_string_equal(tiny, "1.0");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(spelled_quantities_become_si),
        cmocka_unit_test(over_range_is_no_number),
        cmocka_unit_test(money_keeps_its_currency),
        cmocka_unit_test(a_difference_is_not_a_temperature),
        cmocka_unit_test(junk_is_refused_and_leaves_the_result_alone),
        cmocka_unit_test(errors_say_what_was_expected),
        cmocka_unit_test(ranges_have_two_ends_in_order),
        cmocka_unit_test(values_are_written_for_people),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
