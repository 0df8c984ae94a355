/* How kinds and classes of sensors are written. */
#include "core/sensor/sensor.h"
#include "support/near.h"

#include <string.h>

static void each_kind_is_read_and_written_alike(void **state)
{
    (void)state;
    const char *words[] = {
        "pt100", "pt1000", "k", "j", "t", "n", "e", "ntc:10000,3950", "steinhart-hart:0.0011,0.00024,7e-08"};
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        SensorKind kind;
        char written[80];
        assert_true(sensor_read_kind(text_of(words[i]), &kind, NULL));
        sensor_write_kind(&kind, written, sizeof written);
        assert_string_equal(written, words[i]);
    }
    SensorKind kind;
    assert_true(sensor_read_kind(text_of("ntc:10kohm,3950K"), &kind, NULL));
    assert_true(kind.r25_ohm == 10000 && kind.beta_kelvin == 3950);
}

static void junk_is_refused_with_what_is_known(void **state)
{
    (void)state;
    const struct {
        const char *text;
        ErrorCode code;
    } rows[] = {
        {"", ERROR_UNKNOWN_WORD},
        {"pt500", ERROR_UNKNOWN_WORD},
        {"K", ERROR_UNKNOWN_WORD},
        {"PT100", ERROR_UNKNOWN_WORD},
        {"ntc", ERROR_UNKNOWN_WORD},
        {"ntc:", ERROR_SYNTAX},
        {"ntc:1", ERROR_SYNTAX},
        {"ntc:1,2,3", ERROR_SYNTAX},
        {"ntc:10kohm,", ERROR_SYNTAX},
        {"ntc:10V,3950", ERROR_WRONG_KIND},
        {"ntc:-5,3950", ERROR_OUT_OF_RANGE},
        {"ntc:1e4,10", ERROR_OUT_OF_RANGE},
        {"ntc:OL,3950", ERROR_WRONG_KIND},
        {"steinhart-hart:1,2", ERROR_SYNTAX},
        {"steinhart-hart:1e-3,-2e-4,1e-7", ERROR_OUT_OF_RANGE},
        {"steinhart-hart:0,1e-5,0", ERROR_OUT_OF_RANGE},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        SensorKind kind;
        Error error;
        if (sensor_read_kind(text_of(rows[i].text), &kind, &error)) fail_msg("'%s' was read", rows[i].text);
        if (error.code != rows[i].code) fail_msg("'%s': code %d", rows[i].text, error.code);
        assert_true(error.found[0] && error.expected[0]);
    }
    SensorKind kind;
    Error error;
    assert_false(sensor_read_kind(text_of("type-k"), &kind, &error));
    assert_non_null(strstr(error.expected, "pt100, pt1000, k, j, t, n, e, ntc:R25,BETA"));
}

static void errors_of_range_name_the_range(void **state)
{
    (void)state;
    SensorKind kind;
    Error error;
    double value;
    assert_true(sensor_read_kind(text_of("pt1000"), &kind, NULL));
    assert_false(sensor_ohm(&kind, 900, &value, &error));
    assert_string_equal(error.found, "900 C");
    assert_string_equal(error.expected, "no more than 850 C, this sensor goes from -200 to 850 C");
    assert_false(sensor_celsius_from_ohm(&kind, 100, &value, &error));
    assert_string_equal(error.expected,
                        "no less than 185.201 ohm, this sensor goes from 185.201 to 3904.81 ohm");
    assert_false(sensor_millivolt(&kind, 20, &value, &error));
    assert_int_equal(error.code, ERROR_WRONG_KIND);
    assert_false(sensor_celsius_from_ohm(&kind, 0.0 / 0.0, &value, NULL));
    assert_true(sensor_read_kind(text_of("k"), &kind, NULL));
    assert_false(sensor_ohm(&kind, 20, &value, &error));
    assert_int_equal(error.code, ERROR_WRONG_KIND);
    assert_false(sensor_celsius_from_ohm(&kind, 20, &value, NULL) ||
                 sensor_celsius_compensated(&kind, 1, 2000, &value, NULL));
}

static void a_fit_needs_three_sensible_points(void **state)
{
    (void)state;
    SensorKind kind;
    Error error;
    const double celsius[] = {0, 25, 50}, same[] = {100, 100, 100}, rising[] = {100, 200, 300},
                 zero[] = {3, 2, 0};
    assert_false(sensor_fit_steinhart_hart(celsius, same, &kind, &error));
    assert_false(sensor_fit_steinhart_hart(celsius, rising, &kind, &error));
    assert_int_equal(error.code, ERROR_INCONSISTENT);
    assert_false(sensor_fit_steinhart_hart(celsius, zero, &kind, &error));
    assert_int_equal(error.code, ERROR_OUT_OF_RANGE);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_kind_is_read_and_written_alike),
        cmocka_unit_test(junk_is_refused_with_what_is_known),
        cmocka_unit_test(errors_of_range_name_the_range),
        cmocka_unit_test(a_fit_needs_three_sensible_points),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
