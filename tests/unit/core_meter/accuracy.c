/* Accuracy, ranges, display and leads of a meter. */
#include "core/meter/meter.h"
#include "support/table.h"

#include <math.h>

static void check_limits(const TableRow *row)
{
    static Meter meter;
    Error error;
    MeterDial *dial = &meter.dial[METER_VOLT];
    table_true(row, meter_read_accuracy(text_of(table_text(row, "accuracy")), &dial->accuracy, &error),
               "no accuracy");
    dial->counts = 6000, dial->ranges = 1;
    dial->smallest_range = 6000 * table_value(row, "step", UNIT_VOLT);
    const double reading = table_value(row, "given", UNIT_VOLT);
    const double half = meter_half_width(&meter, METER_VOLT, reading);
    table_near(row, reading - half, table_value(row, "low", UNIT_VOLT), 1e-9);
    table_near(row, reading + half, table_value(row, "high", UNIT_VOLT), 1e-9);
    table_near(row, meter_uncertainty(&meter, METER_VOLT, reading), 0.57735 * half,
               1e-5 * half); /* GUM 4.3.7 */
}

static void worked_examples_hold(void **state)
{
    (void)state;
    static const char *const keys[] = {"mode", "accuracy", "step", "given", "low", "high", NULL};
    table_check("meter/accuracy", keys, check_limits);
}

static void accuracies_are_read_as_printed(void **state)
{
    (void)state;
    const char *same[] = {"0.8%+3", "0.8 % + 3", "\u00b1(0.8%+3)", "+-0.8%+3", "+-(0.8 % + 3)"};
    MeterAccuracy accuracy;
    for (int i = 0; i < 5; i++) {
        assert_true(meter_read_accuracy(text_of(same[i]), &accuracy, NULL));
        assert_near(accuracy.ratio, 0.008, 1e-17);
        assert_near(accuracy.counts, 3, 0);
    }
    assert_true(meter_read_accuracy(text_of("1%"), &accuracy, NULL) && accuracy.counts == 0);
    const char *junk[] = {
        "",       "%",       "0.8",     "0.8+3",  "0.8%3",
        "0.8%+",  "0.8%+-3", "0.8%+3V", "-1%+3",  "99%+1",
        "1%+1e9", "nan%",    "0.8%++3", "1%+3+4", "11111111111111111111111111111111111111111111111111%"};
    for (size_t i = 0; i < sizeof junk / sizeof junk[0]; i++) {
        Error error;
        if (meter_read_accuracy(text_of(junk[i]), &accuracy, &error)) fail_msg("'%s' was read", junk[i]);
        assert_true(error.found[0] && error.expected[0] && error.hint[0]);
    }
}

static void ranges_follow_each_other(void **state)
{
    (void)state;
    const Meter meter = meter_default();
    assert_near(meter_resolution(&meter, METER_OHM, 19.2), 0.1, 1e-15);
    assert_near(meter_resolution(&meter, METER_OHM, 599.9), 0.1, 1e-15);
    assert_near(meter_resolution(&meter, METER_OHM, 600), 1, 1e-15);
    assert_near(meter_resolution(&meter, METER_OHM, 1080), 1, 1e-15);
    assert_near(meter_resolution(&meter, METER_OHM, 5e7), 1e4, 1e-9);
    assert_near(meter_resolution(&meter, METER_VOLT, -240), 0.1, 1e-15);
    assert_near(meter_resolution(&meter, METER_AMPERE, 11.4), 0.01, 1e-15);
    assert_near(meter_resolution(&meter, METER_CELSIUS, 177), 0.1, 1e-15);
    assert_true(meter_is_over(&meter, METER_OHM, 6.1e7) && meter_is_over(&meter, METER_OHM, INFINITY));
    assert_false(meter_is_over(&meter, METER_OHM, 5.9e7));
    assert_true(isinf(meter_half_width(&meter, METER_OHM, INFINITY)) &&
                isinf(meter_uncertainty(&meter, METER_OHM, 1e9)));
}

static void the_display_rounds_to_its_step(void **state)
{
    (void)state;
    const Meter meter = meter_default();
    assert_near(meter_display(&meter, METER_OHM, 23.04), 23.3, 1e-12); /* leads come on top */
    assert_near(meter_value(&meter, METER_OHM, 23.3), 23.0, 1e-12);
    assert_near(meter_display(&meter, METER_VOLT, 239.96), 240.0, 1e-12);
    assert_near(meter_display(&meter, METER_OHM, 599.67), 600, 1e-12); /* already on the next range */
    assert_true(isinf(meter_display(&meter, METER_OHM, INFINITY)) &&
                isinf(meter_display(&meter, METER_OHM, 7e7)));
    assert_near(meter_value(&meter, METER_OHM, 0.1), 0, 0);
    assert_near(meter_value(&meter, METER_VOLT, 236), 236, 0);
}

static void leads_add_to_the_uncertainty_of_ohms(void **state)
{
    (void)state;
    const Meter meter = meter_default();
    /* 0.8 % of 20 + 3 * 0.1 = 0.46; leads 0.1: sqrt((0.46^2 + 0.1^2) / 3), by hand. */
    assert_near(meter_uncertainty(&meter, METER_OHM, 20), 0.271784, 1e-6);
    assert_near(meter_uncertainty(&meter, METER_VOLT, 240), 2.7 / sqrt(3), 1e-12);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(worked_examples_hold),
        cmocka_unit_test(accuracies_are_read_as_printed),
        cmocka_unit_test(ranges_follow_each_other),
        cmocka_unit_test(the_display_rounds_to_its_step),
        cmocka_unit_test(leads_add_to_the_uncertainty_of_ohms),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
