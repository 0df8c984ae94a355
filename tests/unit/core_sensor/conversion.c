/* Sensors against the printed tables in tests/table/sensor, against a separate evaluation of the standards'
 * equations in extended precision, and against themselves there and back. */
#include "core/sensor/sensor.h"
#include "support/table.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char *const KEYS[] = {"sensor", "tolerance", "given", "expect", "junction",
                                   "fit",    "class",     "width", "range",  NULL};

/* `out-of-range` in a table is the error's name here. */
static ErrorCode code_of(const TableRow *row, const char *text)
{
    if (strcmp(text, "error out-of-range") == 0) return ERROR_OUT_OF_RANGE;
    if (strcmp(text, "error wrong-kind") == 0) return ERROR_WRONG_KIND;
    table_true(row, strncmp(text, "error", 5) != 0, "no such error");
    return ERROR_NONE;
}

static SensorKind kind_of(const TableRow *row)
{
    SensorKind kind;
    Error error;
    if (table_has(row, "fit")) {
        double celsius[3], ohm[3];
        const int found = sscanf(table_text(row, "fit"), "%lf C %lf ohm / %lf C %lf ohm / %lf C %lf ohm",
                                 &celsius[0], &ohm[0], &celsius[1], &ohm[1], &celsius[2], &ohm[2]);
        table_true(row, found == 6, "three points are needed");
        table_true(row, sensor_fit_steinhart_hart(celsius, ohm, &kind, &error), "no fit");
    } else {
        table_true(row, sensor_read_kind(text_of(table_text(row, "sensor")), &kind, &error),
                   "no such sensor");
    }
    return kind;
}

static bool convert(const SensorKind *kind, const TableRow *row, Quantity given, double *result, Error *error)
{
    if (given.unit == UNIT_OHM) return sensor_celsius_from_ohm(kind, given.value, result, error);
    if (given.unit == UNIT_VOLT && table_has(row, "junction"))
        return sensor_celsius_compensated(kind, given.value * 1e3, table_value(row, "junction", UNIT_CELSIUS),
                                          result, error);
    if (given.unit == UNIT_VOLT) return sensor_celsius_from_millivolt(kind, given.value * 1e3, result, error);
    table_true(row, given.unit == UNIT_CELSIUS, "cannot be converted");
    return sensor_is_resistive(kind) ? sensor_ohm(kind, given.value, result, error)
                                     : sensor_millivolt(kind, given.value, result, error);
}

/* A printed value has to come back, too: within what its rounding amounts to in kelvin. */
static void check_way_back(const SensorKind *kind, const TableRow *row, double celsius, double shown,
                           double tolerance)
{
    double back, low, high, below = 0, above = 0;
    sensor_range(kind, &low, &high);
    low = fmax(low, celsius - 0.5), high = fmin(high, celsius + 0.5);
    const bool is_ohm = sensor_is_resistive(kind);
    table_true(row,
               is_ohm ? sensor_celsius_from_ohm(kind, shown, &back, NULL)
                      : sensor_celsius_from_millivolt(kind, shown, &back, NULL),
               "does not come back");
    table_true(row,
               is_ohm
                   ? sensor_ohm(kind, low, &below, NULL) && sensor_ohm(kind, high, &above, NULL)
                   : sensor_millivolt(kind, low, &below, NULL) && sensor_millivolt(kind, high, &above, NULL),
               "no slope");
    const double slope = fabs(above - below) / (high - low);
    table_near(row, back, celsius,
               0.001 + (celsius < -240 ? 3 : 1.01) * tolerance / slope); /* flat there: slope varies */
}

static void check_conversion(const TableRow *row)
{
    const SensorKind kind = kind_of(row);
    Quantity given, expected, tolerance = {0};
    double result = -1e9;
    Error error;
    table_true(row, quantity_read(text_of(table_text(row, "given")), &given, &error), "given cannot be read");
    const bool converted = convert(&kind, row, given, &result, &error);
    const ErrorCode code = code_of(row, table_text(row, "expect"));
    if (code != ERROR_NONE) {
        table_true(row, !converted && error.code == code && result == -1e9, "should be refused");
        return;
    }
    if (!converted) fail_msg("%s: %s; expected %s", row->where, error.found, error.expected);
    table_true(row, quantity_read(text_of(table_text(row, "expect")), &expected, &error),
               "expect cannot be read");
    if (expected.unit == UNIT_CELSIUS) {
        table_near(row, result, expected.value, table_value(row, "tolerance", UNIT_KELVIN));
        return;
    }
    table_true(row, quantity_read(text_of(table_text(row, "tolerance")), &tolerance, &error), "no tolerance");
    const double to_shown = expected.unit == UNIT_VOLT ? 1e3 : 1;
    table_near(row, result, expected.value * to_shown, tolerance.value * to_shown * (1 + 1e-9));
    check_way_back(&kind, row, given.value, expected.value * to_shown, tolerance.value * to_shown);
}

static void printed_tables_hold(void **state)
{
    (void)state;
    assert_true(table_check("sensor/rtd", KEYS, check_conversion) > 80);
    assert_true(table_check("sensor/thermocouple", KEYS, check_conversion) > 150);
    table_check("sensor/thermistor", KEYS, check_conversion);
}

/* The class's half-width, in ohm where the table prints ohms: half the step in resistance from below to
 * above. */
static double width_in_ohm(const SensorKind *kind, double celsius, double kelvin)
{
    double below = 0, above = 0;
    assert_true(sensor_ohm(kind, celsius - 0.5, &below, NULL) &&
                sensor_ohm(kind, celsius + 0.5, &above, NULL));
    return kelvin * (above - below);
}

static void check_class(const TableRow *row)
{
    const SensorKind kind = kind_of(row);
    const double celsius = table_value(row, "given", UNIT_CELSIUS);
    SensorClass tolerance_class;
    double kelvin;
    Error error;
    const bool is_read =
        sensor_read_class(text_of(table_text(row, "class")), &kind, &tolerance_class, &error);
    const bool is_known = is_read && sensor_tolerance(&kind, tolerance_class, celsius, &kelvin, &error);
    const ErrorCode code = code_of(row, table_text(row, "width"));
    if (code != ERROR_NONE) {
        table_true(row, !is_known && error.code == code, "should be refused");
        return;
    }
    table_true(row, is_known, "has this class here");
    if (strstr(table_text(row, "width"), "ohm"))
        table_near(row, width_in_ohm(&kind, celsius, kelvin), table_value(row, "width", UNIT_OHM),
                   table_value(row, "tolerance", UNIT_OHM));
    else
        table_near(row, kelvin, table_value(row, "width", UNIT_KELVIN),
                   table_value(row, "tolerance", UNIT_KELVIN));
}

static void classes_are_those_of_the_standards(void **state)
{
    (void)state;
    table_check("sensor/class", KEYS, check_class);
}

/* A second evaluation of ITS-90, from coefficients in a text file, in long double, power by power. */
typedef struct {
    double from, to;
    long double c[15], gaussian[3];
    int count;
} Reference;
static Reference reference[5][2];
static const char LETTERS[] = "kjtne";

static void take_coefficient(const TableRow *row)
{
    double low, high;
    table_range(row, "range", UNIT_CELSIUS, &low, &high);
    const char *order = table_text(row, "given");
    const int type = (int)(strchr(LETTERS, table_text(row, "sensor")[0]) - LETTERS);
    Reference *piece = &reference[type][low >= 0];
    long double value;
    table_true(row, sscanf(table_text(row, "expect"), "%Lf", &value) == 1, "no number");
    piece->from = low, piece->to = high;
    if (order[0] == 'a') {
        piece->gaussian[order[1] - '0'] = value;
        return;
    }
    table_true(row, atoi(order) == piece->count, "orders come one after the other");
    piece->c[piece->count++] = value;
}

static long double reference_emf(int type, long double t)
{
    const Reference *piece = &reference[type][t >= reference[type][1].from];
    long double sum = 0, power = 1;
    for (int i = 0; i < piece->count; i++, power *= t) sum += piece->c[i] * power;
    const long double *a = piece->gaussian;
    return sum + a[0] * expl(a[1] * (t - a[2]) * (t - a[2]));
}

static void emf_agrees_with_extended_precision_everywhere(void **state)
{
    (void)state;
    memset(reference, 0, sizeof reference);
    table_check("sensor/its90_coefficients", KEYS, take_coefficient);
    double worst = 0, worst_back = 0;
    for (int type = 0; type < 5; type++) {
        SensorKind kind;
        assert_true(sensor_read_kind((Text){LETTERS + type, 1}, &kind, NULL));
        double low, high;
        sensor_range(&kind, &low, &high);
        assert_near(low, reference[type][0].from, 0);
        assert_near(high, reference[type][1].to, 0);
        for (double t = low; t <= high; t += 0.125) {
            const double want = (double)reference_emf(type, t);
            double got, back;
            assert_true(sensor_millivolt(&kind, t, &got, NULL));
            assert_true(sensor_celsius_from_millivolt(&kind, want, &back, NULL));
            worst = fmax(worst, fabs(got - want));
            worst_back = fmax(worst_back, fabs(back - t));
        }
    }
    print_message("worst %.2g mV, back %.2g K\n", worst, worst_back);
    assert_near(worst, 0, 1e-9);
    assert_near(worst_back, 0, 1e-6);
}

/* IEC 60751 solved for t by halving in long double. */
static double reference_rtd_celsius(long double ratio)
{
    long double low = -201, high = 851;
    for (int i = 0; i < 80; i++) {
        const long double t = (low + high) / 2;
        const long double cubic = t < 0 ? -4.183e-12L * (t - 100) * t * t * t : 0;
        if (1 + 3.9083e-3L * t - 5.775e-7L * t * t + cubic < ratio)
            low = t;
        else
            high = t;
    }
    return (double)low;
}

static void platinum_comes_back_everywhere(void **state)
{
    (void)state;
    SensorKind kind;
    assert_true(sensor_read_kind(text_of("pt1000"), &kind, NULL));
    double worst = 0;
    for (double t = -200; t <= 850; t += 0.0625) {
        double ohm, back = 0;
        assert_true(sensor_ohm(&kind, t, &ohm, NULL) && sensor_celsius_from_ohm(&kind, ohm, &back, NULL));
        worst = fmax(worst, fmax(fabs(back - t), fabs(back - reference_rtd_celsius(ohm / 1000))));
    }
    print_message("worst %.2g K\n", worst);
    assert_near(worst, 0, 1e-9);
}

static void thermistors_come_back_everywhere(void **state)
{
    (void)state;
    const char *kinds[] = {"ntc:10kohm,3950", "ntc:2.2kohm,3500K", "ntc:100kohm,4400",
                           "steinhart-hart:1.1041591248e-3,2.3891794671e-4,6.9316265e-8",
                           "steinhart-hart:1.009249522e-3,2.378405444e-4,2.019202697e-7"};
    for (int i = 0; i < 5; i++) {
        SensorKind kind;
        assert_true(sensor_read_kind(text_of(kinds[i]), &kind, NULL));
        double last = INFINITY;
        for (double t = -100; t <= 400; t += 0.25) {
            double ohm, back = 0;
            assert_true(sensor_ohm(&kind, t, &ohm, NULL) && sensor_celsius_from_ohm(&kind, ohm, &back, NULL));
            assert_true(ohm < last);
            assert_near(back, t, 1e-9);
            last = ohm;
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(printed_tables_hold),
        cmocka_unit_test(classes_are_those_of_the_standards),
        cmocka_unit_test(emf_agrees_with_extended_precision_everywhere),
        cmocka_unit_test(platinum_comes_back_everywhere),
        cmocka_unit_test(thermistors_come_back_everywhere),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
