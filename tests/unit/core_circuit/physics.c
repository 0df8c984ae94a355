/* physics.c: cases worked by hand with Ohm's and Kirchhoff's laws, on circuits of a few branches and on the
 * shipped appliances, where wiring of some hundredths of an ohm makes a percent. */
#include "made.h"

#include "core/circuit/circuit.h"
#include "support/near.h"
#include "support/shipped.h"

#include <math.h>

/* ---------------------------------------------------------------- shipped appliances */

typedef struct {
    Arena arena;
    Appliance appliance;
    Circuit circuit;
    CircuitPower power;
} Fixture;

static void set_up(Fixture *f, const char *name)
{
    f->arena = arena_new((size_t)64 << 20);
    shipped_build(name, &f->arena, &f->appliance);
    assert_true(circuit_begin(&f->appliance, 22, &f->arena, &f->circuit, NULL));
    assert_true(circuit_power_begin(&f->circuit, &f->power, NULL));
}

/* The fault's variant of the largest severity that the kind lists last. */
static int variant(const Fixture *f, const char *name)
{
    const int fault = appliance_find_fault(&f->appliance, name);
    if (fault < 0) fail_msg("no fault %s", name);
    return f->circuit.first_variant[fault + 1] - 1;
}

static double severity(const Fixture *f, int v)
{
    return f->appliance.faults[f->circuit.variants[v].fault].severity[f->circuit.variants[v].severity];
}

static int mark(const Fixture *f, const char *name)
{
    const int found = appliance_find_mark(&f->appliance, name);
    if (found < 0) fail_msg("no mark %s", name);
    return found;
}

static int heater(const Fixture *f, const char *part)
{
    return f->appliance.parts[appliance_find_part(&f->appliance, part)].first_branch;
}

static double read_connection(Fixture *f, const Connection *connection, const int *variants, int count)
{
    CircuitMeter meter;
    Error error;
    if (!circuit_connect(&f->circuit, connection, &meter, &error)) fail_msg("%s", error.found);
    return circuit_read(&meter, variants, count).value;
}

static Connection live(const Fixture *f, const char *function, const char *from, const char *to)
{
    const int setting = appliance_find_function(&f->appliance, function);
    assert_true(setting >= 0);
    return (Connection){.kind = READING_VOLT,
                        .from = mark(f, from),
                        .to = mark(f, to),
                        .function = setting,
                        .power_on = true};
}

/* Volts with one fault; NULL: none. */
static double volts(Fixture *f, const char *function, const char *from, const char *to, const char *fault)
{
    const Connection connection = live(f, function, from, to);
    const int v = fault ? variant(f, fault) : 0;
    return read_connection(f, &connection, &v, fault ? 1 : 0);
}

static double low_impedance_volts(Fixture *f, const char *function, const char *from, const char *to,
                                  const char *fault)
{
    Connection connection = live(f, function, from, to);
    connection.low_impedance = true;
    const int v = fault ? variant(f, fault) : 0;
    return read_connection(f, &connection, &v, fault ? 1 : 0);
}

static double share(const Fixture *f, const char *function, const char *part, const char *fault)
{
    const int v = fault ? variant(f, fault) : 0;
    return circuit_power_share(&f->power, appliance_find_function(&f->appliance, function), heater(f, part),
                               &v, fault ? 1 : 0);
}

static bool holds(const Fixture *f, Condition condition, const char *first, const char *second)
{
    bool found[CONDITION_COUNT] = {false};
    const int variants[2] = {first ? variant(f, first) : 0, second ? variant(f, second) : 0};
    circuit_conditions(&f->power, variants, (first != NULL) + (second != NULL), found);
    return found[condition];
}

/* One leg lost: no current through the element, so nothing across it, and both its ends are at the leg that
 * is left. The classic trap for who measures against ground. */
static void a_lost_leg_leaves_both_ends_live(void **state)
{
    (void)state;
    Fixture f;
    set_up(&f, "range-relay-control");
    assert_near(volts(&f, "bake", "BK1", "BK2", NULL), 240, 3);
    assert_near(low_impedance_volts(&f, "bake", "BK1", "BK2", "supply.L2-lost"), 0, 2);
    assert_near(volts(&f, "bake", "BK1", "G", "supply.L2-lost"), 120, 1);
    assert_near(volts(&f, "bake", "BK2", "G", "supply.L2-lost"), 120, 1);
    assert_near(share(&f, "bake", "bake-element", "supply.L2-lost"), 0, 1e-4);
    assert_true(holds(&f, CONDITION_ALL_DEAD, "supply.L2-lost", NULL));
    assert_false(holds(&f, CONDITION_CONTROL_DEAD, "supply.L2-lost", NULL)); /* lives on L1 and neutral */
    assert_true(holds(&f, CONDITION_CONTROL_DEAD, "supply.L1-lost", NULL));
    arena_free(&f.arena);
}

/* The dead leg's terminal is fed backwards through the element: live against ground, dead against the other.
 */
static void a_lost_leg_is_fed_back_through_the_elements(void **state)
{
    (void)state;
    Fixture f;
    set_up(&f, "range-relay-control");
    assert_near(volts(&f, "bake", "L2", "N", "cord.L2-open"), 120, 1);
    assert_near(volts(&f, "bake", "L1", "L2", "cord.L2-open"), 0, 1);
    const double element = 240.0 * 240 / 2500; /* in series with a meter of 3 kilohm */
    assert_near(low_impedance_volts(&f, "bake", "L2", "N", "cord.L2-open"), 120 * 3000 / (3000 + element),
                0.1);
    assert_near(low_impedance_volts(&f, "off", "L2", "N", "cord.L2-open"), 0,
                0.1); /* nothing feeds it back */
    arena_free(&f.arena);
}

/* Two of three phases: 208 V between them, and (208/240)^2 = 75.1 % of the power of a 240 V element. */
static void a_240_volt_element_on_208_volts_has_three_quarters(void **state)
{
    (void)state;
    Fixture f;
    set_up(&f, "range-208");
    assert_near(volts(&f, "off", "L1", "L2", NULL), 208, 0.1);
    assert_near(volts(&f, "off", "L1", "N", NULL), 208 / sqrt(3), 0.1);
    Fixture on_240;
    set_up(&on_240, "range-relay-control");
    const Branch *element = &f.appliance.branches[heater(&f, "bake-element")];
    const double at_208 = share(&f, "bake", "bake-element", NULL) * element->rated_volt * element->rated_volt;
    const double at_240 = share(&on_240, "bake", "bake-element", NULL) * 240 * 240;
    assert_near(at_208 / at_240, 0.7511, 0.005);
    arena_free(&f.arena);
    arena_free(&on_240.arena);
}

static void a_dead_control_opens_what_it_drives(void **state)
{
    (void)state;
    Fixture f;
    set_up(&f, "range-relay-control");
    assert_near(low_impedance_volts(&f, "bake", "BK1", "BK2", "control.dead"), 0, 1);
    assert_near(low_impedance_volts(&f, "bake", "K1", "G", "control.dead"), 120, 1);
    assert_true(holds(&f, CONDITION_CONTROL_DEAD, "control.dead", NULL));
    assert_true(holds(&f, CONDITION_ALL_DEAD, "control.dead", NULL));
    assert_false(holds(&f, CONDITION_LAMP_DEAD, "control.dead", NULL)); /* a switch by hand */
    arena_free(&f.arena);
}

/* Pt1000 at 22 C: 1000 (1 + 3.9083e-3 * 22 - 5.775e-7 * 22^2) = 1085.70 ohm (IEC 60751, the coefficients). */
static void a_sensor_reads_its_ohms_once_it_is_unplugged(void **state)
{
    (void)state;
    Fixture f;
    set_up(&f, "range-relay-control");
    Connection connection = {.kind = READING_OHM, .from = mark(&f, "S1"), .to = mark(&f, "S2")};
    const double alone = 1085.703, input = 200e3;
    const double wiring = 2 * 0.010 + 2 * 0.030; /* plug and harness, there and back */
    assert_near(read_connection(&f, &connection, NULL, 0),
                alone * (input + wiring) / (alone + input + wiring), 0.001);
    connection.unplugs[connection.unplug_count++] = appliance_find_part(&f.appliance, "sensor-plug");
    assert_near(read_connection(&f, &connection, NULL, 0), alone, 0.001);
    arena_free(&f.arena);
}

/* A sensor that the control is told not to believe: outside 500 to 3000 ohm here. */
static void an_open_sensor_stops_a_control_that_checks_it(void **state)
{
    (void)state;
    Fixture f;
    set_up(&f, "range-relay-control");
    static DescribedNumber numbers[8];
    static DescribedPart described;
    static Part parts[100];
    assert_true(f.appliance.part_count <= 100);
    for (int p = 0; p < f.appliance.part_count; p++) parts[p] = f.appliance.parts[p];
    Part *control = &parts[f.appliance.control];
    described = *control->described;
    int count = 0;
    for (; count < described.number_count; count++) numbers[count] = described.numbers[count];
    numbers[count++] = (DescribedNumber){"sensor-from", 500, 0};
    numbers[count++] = (DescribedNumber){"sensor-to", 3000, 0};
    described.numbers = numbers;
    described.number_count = count;
    control->described = &described;
    f.appliance.parts = parts;
    assert_true(circuit_begin(&f.appliance, 22, &f.arena, &f.circuit, NULL));
    assert_true(circuit_power_begin(&f.circuit, &f.power, NULL));
    assert_near(volts(&f, "bake", "BK1", "BK2", NULL), 240, 3);
    assert_near(low_impedance_volts(&f, "bake", "BK1", "BK2", "oven-sensor.open"), 0, 1);
    assert_near(low_impedance_volts(&f, "bake", "BK1", "BK2", "sensor-harness.1-open"), 0, 1);
    assert_near(low_impedance_volts(&f, "bake", "BK1", "BK2", "oven-sensor.shorted"), 0, 1);
    assert_near(volts(&f, "bake", "BK1", "BK2", "oven-sensor.high"), 240, 3); /* wrong, but believed */
    arena_free(&f.arena);
}

/* 230 V, bake: bottom and top element lie side by side, so an open one hides behind the other. */
static void a_path_around_hides_an_open_element_until_a_wire_is_off(void **state)
{
    (void)state;
    Fixture f;
    set_up(&f, "oven-230");
    Connection connection = {.kind = READING_OHM,
                             .from = mark(&f, "BK1"),
                             .to = mark(&f, "BK2"),
                             .function = appliance_find_function(&f.appliance, "bake")};
    CircuitParallel parallel;
    const int open = variant(&f, "bake-element.open");
    assert_true(circuit_find_parallel(&f.circuit, &connection, &parallel, NULL));
    assert_true(parallel.is_hidden);
    assert_string_equal(f.appliance.parts[parallel.around].name, "top-element");
    assert_near(read_connection(&f, &connection, &open, 1), parallel.hidden_ohm, 1e-6 * parallel.hidden_ohm);
    assert_int_equal(parallel.lift, mark(&f, "BK1"));
    connection.lifts[connection.lift_count++] = parallel.lift;
    assert_true(read_connection(&f, &connection, &open, 1) > 40e6);
    assert_true(circuit_find_parallel(&f.circuit, &connection, &parallel, NULL));
    assert_false(parallel.is_hidden);
    arena_free(&f.arena);
}

/* What the owner notices follows from power, function by function. */
static void conditions_follow_from_the_circuit(void **state)
{
    (void)state;
    Fixture f;
    set_up(&f, "range-relay-control");
    for (int c = CONDITION_COMPUTED; c < CONDITION_COUNT; c++)
        assert_false(holds(&f, (Condition)c, NULL, NULL));
    assert_true(holds(&f, CONDITION_BOTTOM_DEAD, "bake-element.open", NULL));
    assert_false(holds(&f, CONDITION_TOP_DEAD, "bake-element.open", NULL));
    assert_true(holds(&f, CONDITION_BOTTOM_WEAK, "bake-element.weak", NULL));
    assert_true(holds(&f, CONDITION_ALL_DEAD, "line-relay.open", NULL));
    assert_true(holds(&f, CONDITION_ALL_DEAD, "breaker.tripped", NULL));
    assert_true(holds(&f, CONDITION_LAMP_DEAD, "oven-lamp.open", NULL));
    /* Double-line break: one welded relay heats nothing, two do. */
    assert_false(holds(&f, CONDITION_ALWAYS_ON, "bake-relay.welded", NULL));
    assert_true(holds(&f, CONDITION_ALWAYS_ON, "bake-relay.welded", "line-relay.welded"));
    /* An earth fault makes the frame live only where its own conductor is broken. */
    assert_false(holds(&f, CONDITION_LIVE_FRAME, "bake-element.grounded", NULL));
    assert_true(holds(&f, CONDITION_LIVE_FRAME, "bake-element.grounded", "cord.G-open"));
    arena_free(&f.arena);
}

static void a_clamp_needs_something_to_go_around(void **state)
{
    (void)state;
    Fixture f;
    set_up(&f, "range-relay-control");
    Connection connection = live(&f, "bake", "B1", "L1");
    connection.kind = READING_AMP;
    const double element = 240.0 * 240 / 2500;
    assert_near(read_connection(&f, &connection, NULL, 0), 240 / (element + 0.15), 0.25);
    connection.to = mark(&f, "BR1");
    CircuitMeter meter;
    Error error;
    assert_false(circuit_connect(&f.circuit, &connection, &meter, &error));
    assert_int_equal(error.code, ERROR_INCONSISTENT);
    arena_free(&f.arena);
}

/* ---------------------------------------------------------------- a few branches */

static double made_reading(const Made *made, const Connection *connection, int fault)
{
    Arena arena = arena_new((size_t)4 << 20);
    Circuit circuit;
    CircuitMeter meter;
    assert_true(circuit_begin(&made->appliance, 22, &arena, &circuit, NULL));
    assert_true(circuit_connect(&circuit, connection, &meter, NULL));
    const double value = circuit_read(&meter, &fault, fault >= 0).value;
    arena_free(&arena);
    return value;
}

static double made_volts(const Made *made, int from, int to, int fault, bool low_impedance)
{
    const Connection connection = {
        .kind = READING_VOLT, .from = from, .to = to, .power_on = true, .low_impedance = low_impedance};
    return made_reading(made, &connection, fault);
}

/* Loads of 10 and 40 ohm at 120 V each share 240 V when their neutral opens: 48 V and 192 V (the voltage
 * divider; textbook example of the open neutral, from memory). */
static void an_open_neutral_divides_240_volts_between_its_loads(void **state)
{
    (void)state;
    Made made;
    made_begin(&made, 4);
    made_leg(&made, 1, 1e-3, 120, 0);
    made_leg(&made, 2, 1e-3, 120, 180);
    const int neutral = made_branch(&made, BRANCH_LINK, APPLIANCE_EARTH, 3, 1e-3);
    made_branch(&made, BRANCH_LOAD, 1, 3, 10);
    made_branch(&made, BRANCH_LOAD, 2, 3, 40);
    const int lost = made_fault(&made, neutral, EFFECT_OPEN, 0);
    assert_near(made_volts(&made, 1, 3, -1, false), 120, 0.05);
    assert_near(made_volts(&made, 2, 3, -1, false), 120, 0.05);
    assert_near(made_volts(&made, 1, 3, lost, false), 48, 0.01);
    assert_near(made_volts(&made, 2, 3, lost, false), 192, 0.01);
}

/* A burnt contact of 5 ohm in front of 23.04 ohm on 240 V: 240 * 5 / 28.04 = 42.796 V across it. */
static void a_burnt_contact_drops_its_share(void **state)
{
    (void)state;
    Made made;
    made_begin(&made, 4);
    made_leg(&made, 1, 1e-6, 120, 0);
    made_leg(&made, 2, 1e-6, 120, 180);
    const int contact = made_branch(&made, BRANCH_LINK, 1, 3, 1e-6);
    made_branch(&made, BRANCH_HEATER, 3, 2, 23.04);
    const int burnt = made_fault(&made, contact, EFFECT_ADD_OHM, 5);
    assert_near(made_volts(&made, 1, 3, -1, false), 0, 1e-4);
    assert_near(made_volts(&made, 1, 3, burnt, false), 240 * 5 / 28.04, 1e-3);
    assert_near(made_volts(&made, 3, 2, burnt, false), 240 * 23.04 / 28.04, 1e-3);
}

/* A mark beside a live wire: its gap is a divider with the meter. |Yg| / |Yg + Ym| of 120 V, with
 * Yg = 1e-10 + j 2 pi 60 * 60e-12 S and Ym = 1/10 Mohm (and a leak of 1e-11 S): 26.5 V that 3 kilohm take
 * away. */
static void a_ghost_shows_on_a_high_impedance_only(void **state)
{
    (void)state;
    Made made;
    made_begin(&made, 3);
    made_leg(&made, 1, 1e-3, 120, 0);
    made_branch(&made, BRANCH_GAP, 1, 2, 0);
    const double susceptance = 2 * 3.14159265358979 * 60 * 60e-12;
    const double gap = hypot(1e-10, susceptance);
    const double high = 120 * gap / hypot(1e-10 + 1e-7 + 1e-11, susceptance);
    const double low = 120 * gap / hypot(1e-10 + 1 / 3e3 + 1e-11, susceptance);
    assert_near(high, 26.45, 0.01);
    assert_near(made_volts(&made, 2, APPLIANCE_EARTH, -1, false), high, 1e-6);
    assert_near(made_volts(&made, 2, APPLIANCE_EARTH, -1, true), low, 1e-9);
}

/* Supply low by a tenth: every voltage by a tenth. */
static void a_low_supply_lowers_every_voltage(void **state)
{
    (void)state;
    Fixture f;
    set_up(&f, "range-relay-control");
    const double factor = severity(&f, variant(&f, "supply.low-voltage"));
    assert_near(volts(&f, "bake", "BK1", "BK2", "supply.low-voltage") / volts(&f, "bake", "BK1", "BK2", NULL),
                factor, 1e-9);
    assert_near(share(&f, "bake", "bake-element", "supply.low-voltage") /
                    share(&f, "bake", "bake-element", NULL),
                factor * factor, 1e-9);
    arena_free(&f.arena);
}

/* Ohms in parallel and in series, and a wire that is taken off. */
static void ohms_add_up(void **state)
{
    (void)state;
    Made made;
    made_begin(&made, 4);
    made_branch(&made, BRANCH_HEATER, 1, 2, 20);
    made_wire(&made, 2, 3, 0.1);
    made_branch(&made, BRANCH_HEATER, 3, 1, 30);
    Connection connection = {.kind = READING_OHM, .from = 1, .to = 2};
    assert_near(made_reading(&made, &connection, -1), 20 * 30.1 / 50.1, 1e-7);
    connection.lifts[connection.lift_count++] = 3;
    assert_near(made_reading(&made, &connection, -1), 20, 1e-6);
    connection = (Connection){.kind = READING_OHM, .from = 1, .to = 1};
    assert_near(made_reading(&made, &connection, -1), 0, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_lost_leg_leaves_both_ends_live),
        cmocka_unit_test(a_lost_leg_is_fed_back_through_the_elements),
        cmocka_unit_test(a_240_volt_element_on_208_volts_has_three_quarters),
        cmocka_unit_test(a_dead_control_opens_what_it_drives),
        cmocka_unit_test(a_sensor_reads_its_ohms_once_it_is_unplugged),
        cmocka_unit_test(an_open_sensor_stops_a_control_that_checks_it),
        cmocka_unit_test(a_path_around_hides_an_open_element_until_a_wire_is_off),
        cmocka_unit_test(conditions_follow_from_the_circuit),
        cmocka_unit_test(a_clamp_needs_something_to_go_around),
        cmocka_unit_test(an_open_neutral_divides_240_volts_between_its_loads),
        cmocka_unit_test(a_burnt_contact_drops_its_share),
        cmocka_unit_test(a_ghost_shows_on_a_high_impedance_only),
        cmocka_unit_test(a_low_supply_lowers_every_voltage),
        cmocka_unit_test(ohms_add_up),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
