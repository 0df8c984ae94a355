/* stages: some contacts closed and others not, as while an oven waits. Expected: Ohm's law on the nameplate;
 * the resistance of IEC 60751 for what the control sees of its sensor. */
#include "support/near.h"
#include "support/shipped.h"

#include "core/circuit/circuit.h"

typedef struct {
    Arena arena;
    Appliance appliance;
    Circuit circuit;
} Wired;

static int wire_up(void **state)
{
    static Wired wired;
    Error error;
    wired.arena = arena_new((size_t)64 << 20);
    shipped_build("range-relay-control", &wired.arena, &wired.appliance);
    assert_true(circuit_begin(&wired.appliance, 22, &wired.arena, &wired.circuit, &error));
    *state = &wired;
    return 0;
}

static int take_down(void **state)
{
    Wired *wired = *state;
    arena_free(&wired->arena);
    return 0;
}

static int contact(const Wired *wired, const char *name)
{
    const int found = appliance_find_contact(&wired->appliance, name);
    assert_true(found >= 0);
    return found;
}

static int variant(const Wired *wired, const char *fault, int point)
{
    const int found = appliance_find_fault(&wired->appliance, fault);
    assert_true(found >= 0);
    return wired->circuit.first_variant[found] + point;
}

static int heater(const Wired *wired, const char *part)
{
    return wired->appliance.parts[appliance_find_part(&wired->appliance, part)].first_branch;
}

static CircuitMeter stage(Wired *wired, const int *contacts, int count)
{
    CircuitMeter live;
    Error error;
    int *kept = ARENA_ARRAY(&wired->arena, int, 4);
    for (int i = 0; i < count; i++) kept[i] = contacts[i];
    assert_true(circuit_stage(&wired->circuit, kept, count, &live, &error));
    return live;
}

/* 240 V across 2500 W of 240 V, in series with the house, the cord and the contacts: some 0.15 ohm on 23. */
static void an_element_gets_its_nameplate(void **state)
{
    Wired *wired = *state;
    const int closed[] = {contact(wired, "line-relay"), contact(wired, "bake-relay")},
              bake = heater(wired, "bake-element");
    const CircuitMeter live = stage(wired, closed, 2);
    double watt;
    circuit_watts(&live, &bake, 1, NULL, 0, &watt);
    assert_near(watt, 2500, 50);
    assert_true(watt < 2500);
}

static void a_stage_is_not_its_function(void **state)
{
    Wired *wired = *state;
    const int closed[] = {contact(wired, "line-relay"), contact(wired, "broil-relay")};
    const int both[] = {heater(wired, "bake-element"), heater(wired, "broil-element")};
    const CircuitMeter live = stage(wired, closed, 2), waiting = stage(wired, closed, 1);
    double watt[2];
    circuit_watts(&live, both, 2, NULL, 0, watt);
    assert_near(watt[0], 0, 1e-3);
    assert_near(watt[1], 3000, 60);
    circuit_watts(&waiting, both, 2, NULL, 0, watt);
    assert_near(watt[0], 0, 1e-3);
    assert_near(watt[1], 0, 1e-3);
}

/* With the double-line break closed a welded relay heats while the control waits. */
static void a_welded_relay_heats_in_a_waiting_oven(void **state)
{
    Wired *wired = *state;
    const int line = contact(wired, "line-relay"), bake = heater(wired, "bake-element"),
              welded = variant(wired, "bake-relay.welded", 0), lost = variant(wired, "supply.L2-lost", 0);
    const CircuitMeter waiting = stage(wired, &line, 1);
    double watt;
    circuit_watts(&waiting, &bake, 1, &welded, 1, &watt);
    assert_near(watt, 2500, 50);
    circuit_watts(&waiting, &bake, 1, (const int[]){welded, lost}, 2, &watt);
    assert_true(watt < 200);
}

/* IEC 60751: 1085.703 ohm at 22 C for R0 = 1000 ohm; plug and harness add some hundredths. */
static void the_control_sees_its_sensor(void **state)
{
    Wired *wired = *state;
    const int line = contact(wired, "line-relay");
    const CircuitMeter live = stage(wired, &line, 1);
    assert_near(circuit_sensed_ohm(&live, NULL, 0), 1085.703, 0.2);
    const int high = variant(wired, "oven-sensor.high", 6);
    assert_near(circuit_sensed_ohm(&live, &high, 1) - circuit_sensed_ohm(&live, NULL, 0), 300, 0.01);
    const int open = variant(wired, "oven-sensor.open", 0);
    assert_true(circuit_sensed_ohm(&live, &open, 1) > 1e5);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(an_element_gets_its_nameplate, wire_up, take_down),
        cmocka_unit_test_setup_teardown(a_stage_is_not_its_function, wire_up, take_down),
        cmocka_unit_test_setup_teardown(a_welded_relay_heats_in_a_waiting_oven, wire_up, take_down),
        cmocka_unit_test_setup_teardown(the_control_sees_its_sensor, wire_up, take_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
