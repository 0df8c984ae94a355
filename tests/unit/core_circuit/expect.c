/* expect.c: what a good part shows, and what is made of a reading, on the shipped ovens.
 *
 * Cold ohms of an element by hand: rated volts squared over rated watts, less the temperature factor 1.008 of
 * NiCr 80/20 near 800 C (published resistance-heating alloy table). Verdicts: JCGM 106:2012, with the meter's
 * own tests in core_meter. */
#include <math.h>
#include <string.h>

#include "core/circuit/circuit.h"
#include "support/near.h"
#include "support/shipped.h"

enum { MIB = 1 << 20 };

typedef struct {
    Arena arena;
    Appliance appliance;
    Circuit circuit;
    Meter meter;
    Connection connection;
    Expectation expectation;
} Asked;

static void begin(Asked *asked, const char *name)
{
    Error error;
    memset(asked, 0, sizeof *asked);
    asked->arena = arena_new((size_t)256 * MIB);
    asked->meter = meter_default();
    shipped_build(name, &asked->arena, &asked->appliance);
    assert_true(circuit_begin(&asked->appliance, 22, &asked->arena, &asked->circuit, &error));
}

static void ask(Asked *asked, ReadingKind kind, const char *from, const char *to)
{
    Error error;
    asked->connection = (Connection){.kind = kind, .power_on = kind != READING_OHM};
    asked->connection.from = appliance_find_mark(&asked->appliance, from);
    asked->connection.to = appliance_find_mark(&asked->appliance, to);
    assert_true(
        circuit_expect(&asked->circuit, &asked->connection, &asked->meter, &asked->expectation, &error));
}

static MeterJudgement judge(const Asked *asked, double reading)
{
    return circuit_judge(&asked->expectation, &asked->connection, &asked->meter, reading);
}

static void an_element_has_its_ohms(void **state)
{
    (void)state;
    static const struct {
        const char *appliance, *from, *to;
        double volt, watt;
    } elements[] = {{"range-relay-control", "BK1", "BK2", 240, 2500},
                    {"range-relay-control", "BR1", "BR2", 240, 3000},
                    {"range-hidden-bake", "BK1", "BK2", 240, 2400},
                    {"wall-oven-convection", "RG1", "RG2", 240, 2500},
                    {"oven-230", "BK1", "BK2", 230, 1100}};
    for (size_t i = 0; i < sizeof elements / sizeof elements[0]; i++) {
        Asked asked;
        begin(&asked, elements[i].appliance);
        ask(&asked, READING_OHM, elements[i].from, elements[i].to);
        const double cold = elements[i].volt * elements[i].volt / elements[i].watt / 1.008;
        assert_near(asked.expectation.value, cold, 1e-3 * cold);
        assert_true(asked.expectation.low < 0.95 * cold && asked.expectation.high > 1.05 * cold);
        assert_true(asked.expectation.low > 0.85 * cold && asked.expectation.high < 1.15 * cold);
        arena_free(&asked.arena);
    }
}

static void limits_with_the_meter_are_wider(void **state)
{
    (void)state;
    Asked asked;
    begin(&asked, "range-relay-control");
    for (int c = 0; c < asked.appliance.check_count; c++) {
        const Check *check = &asked.appliance.checks[c];
        if (check->kind != CHECK_OHM && check->kind != CHECK_VOLT) continue;
        ask(&asked, check->kind == CHECK_OHM ? READING_OHM : READING_VOLT,
            asked.appliance.marks[check->from].name, asked.appliance.marks[check->to].name);
        const Expectation *e = &asked.expectation;
        if (e->is_over) continue;
        assert_true(e->low <= e->value && e->value <= e->high);
        assert_true(e->part_high <= e->high && (e->part_low >= e->low || e->part_low <= 0));
    }
    arena_free(&asked.arena);
}

static void faults_that_show_are_told_apart(void **state)
{
    (void)state;
    Asked asked;
    begin(&asked, "range-relay-control");
    ask(&asked, READING_OHM, "BK1", "BK2");
    for (int f = 0; f < asked.appliance.fault_count; f++) {
        const FaultReading *reading = &asked.expectation.faults[f];
        assert_int_equal(reading->fault, f);
        const bool is_far = isinf(reading->value) || fabs(reading->value - asked.expectation.value) > 8;
        const bool is_near = fabs(reading->value - asked.expectation.value) < 0.5;
        if (is_far) assert_true(reading->is_told_apart);
        if (is_near) assert_false(reading->is_told_apart);
    }
    const int open = appliance_find_fault(&asked.appliance, "bake-element.open");
    assert_true(isinf(asked.expectation.faults[open].value));
    arena_free(&asked.arena);
}

static void readings_are_judged(void **state)
{
    (void)state;
    Asked asked;
    begin(&asked, "range-relay-control");
    ask(&asked, READING_OHM, "BK1", "BK2");
    const Expectation *e = &asked.expectation;
    assert_int_equal(judge(&asked, e->value).verdict, METER_INSIDE);
    assert_int_equal(judge(&asked, e->part_low).verdict, METER_CANNOT_TELL);
    assert_near(judge(&asked, e->part_low).inside_probability, 0.5, 0.01); /* on the limit: even chances */
    assert_int_equal(judge(&asked, e->part_high).verdict, METER_CANNOT_TELL);
    assert_int_equal(judge(&asked, 2 * e->value).verdict, METER_OUTSIDE);
    assert_int_equal(judge(&asked, 0).verdict, METER_OUTSIDE);
    assert_int_equal(judge(&asked, INFINITY).verdict, METER_OUTSIDE);
    arena_free(&asked.arena);
}

/* Where a good one is open, OL is inside and any figure outside; where it is a short, 0 is as good as it
 * gets. */
static void open_and_short_are_judged(void **state)
{
    (void)state;
    Asked asked;
    begin(&asked, "range-thermostat");
    ask(&asked, READING_OHM, "BK1", "G");
    assert_true(asked.expectation.is_over);
    assert_int_equal(judge(&asked, INFINITY).verdict, METER_INSIDE);
    assert_int_equal(judge(&asked, 1900).verdict, METER_OUTSIDE);
    ask(&asked, READING_OHM, "BK2", "W5");
    assert_int_equal(judge(&asked, 0).verdict, METER_INSIDE);
    assert_int_equal(judge(&asked, 30).verdict, METER_OUTSIDE);
    arena_free(&asked.arena);
}

/* A current is what its load makes of it: as uncertain in the wire as in the element. */
static void a_wire_is_no_less_sure_than_its_load(void **state)
{
    (void)state;
    Asked asked;
    Error error;
    begin(&asked, "range-relay-control");
    const int bake = appliance_find_function(&asked.appliance, "bake");
    double spread[2];
    static const char *const ends[2][2] = {{"BK1", "BK2"}, {"K2", "BK1"}};
    for (int i = 0; i < 2; i++) {
        const Connection connection = {.kind = READING_AMP,
                                       .power_on = true,
                                       .function = bake,
                                       .from = appliance_find_mark(&asked.appliance, ends[i][0]),
                                       .to = appliance_find_mark(&asked.appliance, ends[i][1])};
        CircuitMeter meter;
        assert_true(circuit_connect(&asked.circuit, &connection, &meter, &error));
        const CircuitReading reading = circuit_read(&meter, NULL, 0);
        assert_near(reading.value, 240 / 23.04, 0.1); /* 2500 W at 240 V, less what the wiring drops */
        spread[i] = reading.spread;
    }
    assert_near(spread[1], spread[0], 0.01 * spread[0]);
    assert_near(spread[0], 10.4 * sqrt(0.04 * 0.04 + 0.025 * 0.025), 0.02); /* 4 % element, 2.5 % supply */
    arena_free(&asked.arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(an_element_has_its_ohms),
        cmocka_unit_test(limits_with_the_meter_are_wider),
        cmocka_unit_test(faults_that_show_are_told_apart),
        cmocka_unit_test(readings_are_judged),
        cmocka_unit_test(open_and_short_are_judged),
        cmocka_unit_test(a_wire_is_no_less_sure_than_its_load),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
