/* unseen.c: a fault that a meter does not see. With another beside it the reading is that of the other to the
 * last bit, which lets a diagnosis of thousands of pairs find few readings. Every check of the shipped
 * appliances, faults drawn at random; that a fault which is not seen reads as nothing wrong was never used to
 * find out whether it is seen. */
#include "base/random.h"
#include "core/circuit/circuit.h"
#include "support/near.h"
#include "support/shipped.h"

enum { SEED = 41, DRAWS = 400 };

static bool same_bits(CircuitReading a, CircuitReading b)
{
    return a.value == b.value && a.spread == b.spread;
}

typedef struct {
    int unseen, seen, moved;
} Counts;

static void draw_faults(const CircuitMeter *meter, RandomStream *stream, Counts *counts)
{
    const Circuit *circuit = meter->circuit;
    const Fault *faults = circuit->appliance->faults;
    for (int draw = 0; draw < DRAWS; draw++) {
        const int one = (int)random_below(stream, (uint32_t)circuit->variant_count),
                  other = (int)random_below(stream, (uint32_t)circuit->variant_count);
        if (faults[circuit->variants[one].fault].part == faults[circuit->variants[other].fault].part)
            continue;
        const CircuitReading sound = circuit_read(meter, NULL, 0), alone = circuit_read(meter, &one, 1);
        if (circuit_sees(meter, one)) {
            counts->seen++;
            counts->moved += !same_bits(alone, sound);
            continue;
        }
        counts->unseen++;
        const CircuitReading rest = circuit_read(meter, &other, 1);
        assert_true(same_bits(alone, sound));
        assert_true(same_bits(circuit_read(meter, (int[]){one, other}, 2), rest));
        assert_true(same_bits(circuit_read(meter, (int[]){other, one}, 2), rest));
    }
}

static Counts ask_appliance(const char *name, RandomStream *stream)
{
    Arena arena = arena_new((size_t)64 << 20);
    Appliance appliance;
    Circuit circuit;
    Counts counts = {0};
    shipped_build(name, &arena, &appliance);
    assert_true(circuit_begin(&appliance, 22, &arena, &circuit, NULL));
    for (int c = 0; c < appliance.check_count; c++) {
        CircuitMeter meter;
        if (appliance.checks[c].kind > CHECK_AMP) continue;
        const Connection connection = appliance_connection(&appliance.checks[c]);
        assert_true(circuit_connect(&circuit, &connection, &meter, NULL));
        draw_faults(&meter, stream, &counts);
    }
    arena_free(&arena);
    return counts;
}

static void what_a_meter_does_not_see_changes_no_bit(void **state)
{
    (void)state;
    RandomStream stream = random_stream(SEED);
    for (int a = 0; a < SHIPPED_COUNT; a++) {
        const Counts counts = ask_appliance(shipped_names[a], &stream);
        print_message("%s, seed %d: %d not seen, %d seen, of which %d move the reading\n", shipped_names[a],
                      (int)SEED, counts.unseen, counts.seen, counts.moved);
        assert_true(counts.unseen > counts.seen / 4); /* else nothing would be saved */
        assert_true(counts.moved > counts.seen / 4);  /* else 'seen' would say little */
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(what_a_meter_does_not_see_changes_no_bit)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
