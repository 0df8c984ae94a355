/* world.c: virtual ovens against the circuit and the oven that they are drawn from.
 *
 * A drawn oven differs from the assumed one by tolerances only, so what is measured on it must lie where the
 * circuit says a reading lies, with the coverage that the GUM gives two standard uncertainties (JCGM
 * 100:2008, table G.1: 95.45 %). Everything else here must hold for any seed. */
#include <math.h>
#include <string.h>

#include "support/near.h"
#include "support/shipped.h"
#include "world.h"

enum { SEED = 7000, WORLDS = 40, MIB = 1 << 20 };

typedef struct {
    Arena arena;
    Appliance appliance;
    DiagnosisModel model;
} Assumed;

static int set_up(void **state)
{
    static Assumed assumed;
    const Meter meter = meter_default();
    Error error = {0};
    assumed.arena = arena_new(1024 * (size_t)MIB);
    shipped_build("range-relay-control", &assumed.arena, &assumed.appliance);
    assert_true(
        diagnosis_begin(&assumed.appliance, 22, &meter, NULL, &assumed.arena, &assumed.model, &error));
    *state = &assumed;
    return 0;
}

static int tear_down(void **state)
{
    arena_free(&((Assumed *)*state)->arena);
    return 0;
}

static World *begin(Assumed *assumed, uint64_t seed)
{
    static World world;
    Error error = {0};
    assert_true(world_begin(&assumed->model, seed, false, &world, &error));
    return &world;
}

/* Sound ovens alone, when only those are asked for, and of all kinds: what the owner does is no fault of it.
 */
static void only_sound_ovens_are_drawn(void **state)
{
    static World world;
    Assumed *assumed = *state;
    int used = 0;
    for (uint64_t seed = 1; seed <= 12; seed++) {
        Error error = {0};
        assert_true(world_begin(&assumed->model, seed, true, &world, &error));
        assert_true(world_was_sound(&world) && world.word_count > 0);
        used += world.drawn_count > 0;
        world_end(&world);
    }
    assert_true(used > 0 && used < 12);
}

static bool is_reading(const Check *check) { return check->kind <= CHECK_AMP; }

/* How many of all readings lie within two standard uncertainties of what the assumed circuit shows with the
 * same faults: the parts' tolerances, and what its own model leaves open. */
static void count_inside(Assumed *assumed, World *world, const int *variants, int count, int *inside,
                         int *all)
{
    Error error;
    for (int c = 0; c < assumed->appliance.check_count; c += 3) {
        if (!is_reading(&assumed->appliance.checks[c])) continue;
        const Connection connection = appliance_connection(&assumed->appliance.checks[c]);
        CircuitMeter meter;
        double value;
        assert_true(circuit_connect(&assumed->model.circuit, &connection, &meter, &error));
        assert_true(world_true_reading(world, &connection, &value, &error));
        const CircuitReading expected = circuit_read(&meter, variants, count);
        const bool is_open = isinf(expected.value) || expected.value > 1e6;
        const double reach = 2 * expected.spread + 0.02 * expected.value + 0.2;
        *inside += is_open ? value > 1e5 : fabs(value - expected.value) <= reach;
        ++*all;
    }
}

static void readings_are_those_of_the_circuit_with_the_truth_in_it(void **state)
{
    Assumed *assumed = *state;
    int inside = 0, all = 0, worlds = 0;
    for (int i = 0; i < 3 * WORLDS && worlds < WORLDS; i++) {
        World *world = begin(assumed, SEED + (uint64_t)i);
        int variants[CIRCUIT_MOST_FAULTS];
        bool is_plain = true;
        for (int f = 0; f < world->drawn_count; f++) {
            variants[f] = assumed->model.circuit.first_variant[world->drawn[f]];
            is_plain &= assumed->appliance.faults[world->drawn[f]].severity_count == 1;
        }
        if (is_plain) count_inside(assumed, world, variants, world->drawn_count, &inside, &all);
        worlds += is_plain;
        world_end(world);
    }
    print_message("seed %d, %d worlds: %d of %d readings inside\n", SEED, worlds, inside, all);
    assert_true(worlds >= 10);
    assert_true(inside >= 0.95 * all);
}

/* Leads, ratio and counts of the meter's accuracy, a step of its display; one in a hundred is a slip. */
static void answers_are_off_by_the_meter_at_most(void **state)
{
    Assumed *assumed = *state;
    const Meter *meter = &assumed->model.meter;
    static const MeterMode modes[] = {METER_OHM, METER_VOLT, METER_AMPERE};
    int inside = 0, all = 0;
    Error error;
    for (int i = 0; i < 10; i++) {
        World *world = begin(assumed, SEED + (uint64_t)i);
        for (int c = i; c < assumed->appliance.check_count; c += 4) {
            if (!is_reading(&assumed->appliance.checks[c])) continue;
            const Connection connection = appliance_connection(&assumed->appliance.checks[c]);
            const MeterMode mode = modes[connection.kind];
            double value;
            Entry entry;
            assert_true(world_true_reading(world, &connection, &value, &error));
            assert_true(world_answer(world, c, &entry, &error));
            assert_true(call_check_entry(&assumed->appliance, &entry, &error));
            const double leads = mode == METER_OHM ? meter->lead_ohm + meter->lead_half_width_ohm : 0;
            const double reach = meter_half_width(meter, mode, entry.value.value) + leads +
                                 meter_resolution(meter, mode, entry.value.value);
            inside += entry.value.is_over ? meter_is_over(meter, mode, value)
                                          : fabs(entry.value.value - value) <= 1.02 * reach;
            all++;
        }
        world_end(world);
    }
    print_message("%d of %d answers within the meter's limits\n", inside, all);
    assert_true(inside >= 0.97 * all);
    assert_true(inside < all); /* people slip */
}

/* Good controls settle within some kelvin of what is set; common practice, no source: 4 K and what ovens of
 * one type differ by besides. */
static void a_sound_oven_holds_its_temperature(void **state)
{
    Assumed *assumed = *state;
    double sum = 0, square = 0;
    int count = 0;
    for (int i = 0; count < 15; i++) {
        World *world = begin(assumed, 100 * SEED + (uint64_t)i);
        Entry entry;
        Error error;
        world->left_count = 0; /* as if nothing had been wrong */
        assert_true(world_run(world, 5400, &entry, &error));
        assert_true(entry.run->is_settled);
        const double off = entry.run->mean_celsius.value - WORLD_SET_CELSIUS;
        assert_true(fabs(off) < 35);
        sum += off;
        square += off * off;
        count++;
        world_end(world);
    }
    const double mean = sum / count, deviation = sqrt(square / count - mean * mean);
    print_message("sound ovens settle %+.1f K off, +-%.1f K\n", mean, deviation);
    assert_true(fabs(mean) < 6);
    assert_true(deviation > 1 && deviation < 12);
}

static void the_same_seed_is_the_same_call_and_the_order_of_checks_does_not_matter(void **state)
{
    Assumed *assumed = *state;
    Error error;
    double first[8];
    World *world = begin(assumed, SEED);
    const int drawn = world->drawn[0], words = world->word_count;
    Entry entry;
    for (int c = 0; c < 8; c++) {
        assert_true(world_answer(world, c, &entry, &error));
        first[c] = entry.value.value;
    }
    world_reset(world);
    for (int c = 7; c >= 0; c--) {
        assert_true(world_answer(world, c, &entry, &error));
        assert_true(entry.value.value == first[c]);
    }
    world_end(world);
    world = begin(assumed, SEED);
    assert_int_equal(world->drawn[0], drawn);
    assert_int_equal(world->word_count, words);
    assert_true(words > 0);
    world_end(world);
}

/* One in fifty does not help. */
static void a_new_part_cures_its_faults_and_no_other(void **state)
{
    Assumed *assumed = *state;
    int cured = 0, all = 0;
    for (int i = 0; i < 20; i++) {
        World *world = begin(assumed, SEED + (uint64_t)i);
        if (world->drawn_count == 1) {
            const int part = assumed->appliance.faults[world->drawn[0]].part,
                      bought = assumed->appliance.parts[part].replaced_with;
            const int other = bought == 0 ? 1 : 0;
            world_replace(world, other);
            assert_int_equal(world->left_count, 1);
            assert_true(world_is_cured_by(world, bought));
            assert_false(world_is_cured_by(world, other));
            world_replace(world, bought);
            cured += world->left_count == 0;
            all++;
            world_reset(world);
            assert_int_equal(world->left_count, 1);
        }
        world_end(world);
    }
    assert_true(all > 5 && cured >= all - 2);
}

/* --- marks --- */

static int count_check(const Assumed *assumed, CheckKind kind, int *first)
{
    int count = 0;
    for (int c = assumed->appliance.check_count - 1; c >= 0; c--) {
        if (assumed->appliance.checks[c].kind != kind) continue;
        *first = c;
        count++;
    }
    return count;
}

static Entry look(World *world, int check)
{
    Error error;
    Entry entry;
    assert_true(world_answer(world, check, &entry, &error));
    return entry;
}

static bool is_same(const Entry *a, const Entry *b)
{
    return a->part == b->part && a->words[0] == b->words[0];
}

/* Two of a hundred looks are slips that say something else. */
static void who_looks_twice_sees_the_same(void **state)
{
    Assumed *assumed = *state;
    int same = 0, all = 0;
    World *world = begin(assumed, SEED);
    for (int c = 0; c < assumed->appliance.check_count; c++) {
        const CheckKind kind = assumed->appliance.checks[c].kind;
        if (kind != CHECK_SIGHT && kind != CHECK_GLANCE) continue;
        const Entry first = look(world, c);
        for (int i = 0; i < 3; i++, all++) {
            const Entry again = look(world, c);
            same += is_same(&first, &again);
        }
    }
    world_end(world);
    print_message("%d of %d looks say the same\n", same, all);
    assert_true(all > 50 && same >= 0.9 * all && same < all);
}

/* On a sound oven, new parts each time: a look over a place notices nothing as often as the diagnosis says
 * within sampling error, and else any of the parts, none of them much more often than another. */
static void harmless_marks_are_on_any_part(void **state)
{
    enum { LOOKS = 2000 };
    Assumed *assumed = *state;
    const int sound = 0, parts = assumed->appliance.part_count;
    int check = -1, nothing = 0, most = 0, seen[256] = {0}, different = 0;
    Arena arena = arena_new((size_t)8 * MIB);
    Prediction prediction, said = {.outcome_count = 0};
    Error error;
    assert_true(parts <= 256 && count_check(assumed, CHECK_GLANCE, &check) > 0);
    for (int c = 0; c < assumed->appliance.check_count; c++) { /* the place with most parts in sight */
        if (assumed->appliance.checks[c].kind != CHECK_GLANCE) continue;
        assert_true(diagnosis_predict(&assumed->model, NULL, c, &sound, 1, &arena, &prediction, &error));
        if (prediction.outcome_count <= said.outcome_count) continue;
        said = prediction;
        check = c;
    }
    World *world = begin(assumed, SEED);
    world->left_count = 0;
    for (int i = 0; i < LOOKS; i++) {
        for (int p = 0; p < parts; p++) world->renewed[p] = i;
        const Entry entry = look(world, check);
        if (entry.part < 0) {
            nothing++;
        } else if (++seen[entry.part] > most) {
            most = seen[entry.part];
        }
    }
    world_end(world);
    for (int p = 0; p < parts; p++) different += seen[p] > 0;
    const double expected = said.chance[0] * LOOKS, deviation = sqrt(expected * (1 - said.chance[0]));
    print_message("nothing noticed %d times, expected %.0f +- %.0f; %d parts named, one at most %d times\n",
                  nothing, expected, deviation, different, most);
    arena_free(&arena);
    assert_true(fabs(nothing - expected) < 4 * deviation);
    assert_true(different >= 10 && most < 2.0 * (LOOKS - nothing) / different);
}

/* --- what is turned --- */

static void cleaning_a_vent_turns_no_thermostat(void **state)
{
    Assumed *assumed = *state;
    World *world = begin(assumed, SEED);
    world_adjust(world, appliance_find_part(&assumed->appliance, "vent"), -14);
    assert_true(world->adjusted_kelvin == 0);
    world_adjust(world, assumed->appliance.control, -14);
    assert_true(world->adjusted_kelvin < 0);
    world_end(world);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(readings_are_those_of_the_circuit_with_the_truth_in_it),
        cmocka_unit_test(answers_are_off_by_the_meter_at_most),
        cmocka_unit_test(a_sound_oven_holds_its_temperature),
        cmocka_unit_test(the_same_seed_is_the_same_call_and_the_order_of_checks_does_not_matter),
        cmocka_unit_test(a_new_part_cures_its_faults_and_no_other),
        cmocka_unit_test(who_looks_twice_sees_the_same),
        cmocka_unit_test(harmless_marks_are_on_any_part),
        cmocka_unit_test(only_sound_ovens_are_drawn),
        cmocka_unit_test(cleaning_a_vent_turns_no_thermostat)};
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
