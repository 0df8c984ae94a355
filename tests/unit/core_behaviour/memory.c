/* memory.c: behaviours are found again by content and by nothing else; bytes that are cut, changed or foreign
 * are refused and leave the memory as it was.
 *
 * What must hold follows from behaviour.h. Ovens are those of a shipped appliance, each of another family. */
#include <math.h>
#include <string.h>

#include "base/random.h"
#include "core/behaviour/behaviour.h"
#include "core/thermal/thermal.h"
#include "support/near.h"
#include "support/shipped.h"

enum { SEED = 128, OVENS = 24, MANY = 2100, ORIGIN = 7, FLIPS = 1000 };
static const size_t MIB = (size_t)1 << 20;
static const BehaviourTerms TERMS = {.set_celsius = 177, .ambient_celsius = 22, .second = 1200};

typedef struct {
    Arena arena;
    Appliance appliance;
    Circuit circuit;
    ThermalModel model;
    Oven *ovens; /* [MANY], all different */
    const Oven **lanes;
} Kitchen;

static int begin(void **state)
{
    static Kitchen kitchen;
    Error error;
    RandomStream stream = random_stream(SEED);
    kitchen.arena = arena_new(512 * MIB);
    shipped_build("range-thermostat", &kitchen.arena, &kitchen.appliance);
    assert_true(circuit_begin(&kitchen.appliance, 22, &kitchen.arena, &kitchen.circuit, &error));
    assert_true(thermal_begin(&kitchen.circuit, &kitchen.model, &error));
    kitchen.ovens = ARENA_ARRAY(&kitchen.arena, Oven, MANY);
    kitchen.lanes = ARENA_ARRAY(&kitchen.arena, const Oven *, MANY);
    assert_true(kitchen.ovens && kitchen.lanes);
    const int function = thermal_usual_function(&kitchen.model);
    for (int i = 0; i < MANY; i++) {
        ThermalFamily family;
        for (int t = 0; t < THERMAL_FAMILY_COUNT; t++) family.trait[t] = random_normal(&stream);
        assert_true(
            thermal_oven(&kitchen.model, function, TERMS.set_celsius, NULL, 0, &family, &kitchen.ovens[i]));
        kitchen.lanes[i] = &kitchen.ovens[i];
    }
    *state = &kitchen;
    return 0;
}

static int end(void **state)
{
    arena_free(&((Kitchen *)*state)->arena);
    return 0;
}

static void find(BehaviourMemory *memory, const Oven *const *ovens, int count, const BehaviourTerms *terms,
                 Behaviour *behaviours)
{
    Error error;
    assert_true(behaviour_find(memory, ovens, count, terms, behaviours, &error));
}

static BehaviourMemory fresh(Arena *arena)
{
    BehaviourMemory memory;
    Error error;
    assert_true(behaviour_begin(arena, &memory, &error));
    assert_int_equal(memory.count, 0);
    return memory;
}

/* Alone, in other company, twice in one question, in another order. */
static void what_is_known_is_not_simulated_again(void **state)
{
    const Kitchen *kitchen = *state;
    Arena arena = arena_new(64 * MIB);
    BehaviourMemory memory = fresh(&arena), other = fresh(&arena);
    Behaviour first[OVENS], again[OVENS], twice[2];
    find(&memory, kitchen->lanes, OVENS, &TERMS, first);
    assert_int_equal(memory.simulated, OVENS);
    const Oven *backwards[OVENS];
    for (int i = 0; i < OVENS; i++) backwards[i] = kitchen->lanes[OVENS - 1 - i];
    find(&memory, backwards, OVENS, &TERMS, again);
    assert_int_equal(memory.simulated, OVENS);
    for (int i = 0; i < OVENS; i++) assert_memory_equal(&again[i], &first[OVENS - 1 - i], sizeof *first);
    const Oven *pair[2] = {kitchen->lanes[5], kitchen->lanes[5]};
    find(&other, pair, 2, &TERMS, twice);
    assert_int_equal(other.simulated, 1);
    assert_memory_equal(&twice[0], &first[5], sizeof *first);
    assert_memory_equal(&twice[1], &first[5], sizeof *first);
    arena_free(&arena);
}

/* Another set temperature, kitchen, length of run, or the last bit of one coefficient is another oven. */
static void whatever_matters_is_in_the_key(void **state)
{
    const Kitchen *kitchen = *state;
    Arena arena = arena_new(64 * MIB);
    BehaviourMemory memory = fresh(&arena);
    Behaviour behaviour;
    BehaviourTerms terms[3] = {TERMS, TERMS, TERMS};
    terms[0].set_celsius += 1;
    terms[1].ambient_celsius += 1;
    terms[2].second += 600;
    find(&memory, kitchen->lanes, 1, &TERMS, &behaviour);
    for (int i = 0; i < 3; i++) {
        find(&memory, kitchen->lanes, 1, &terms[i], &behaviour);
        assert_int_equal(memory.simulated, 2 + i);
    }
    Oven changed = kitchen->ovens[0];
    changed.control.reset_kelvin = nextafter(changed.control.trip_kelvin - 1, 0);
    const Oven *lane = &changed;
    find(&memory, &lane, 1, &TERMS, &behaviour);
    changed.network.vent[0] = nextafter(changed.network.vent[0], 1);
    find(&memory, &lane, 1, &TERMS, &behaviour);
    assert_int_equal(memory.simulated, 6);
    arena_free(&arena);
}

static void it_grows_and_forgets_nothing(void **state)
{
    const Kitchen *kitchen = *state;
    Arena arena = arena_new(64 * MIB);
    BehaviourMemory memory = fresh(&arena);
    const int capacity = memory.capacity;
    Behaviour *first = ARENA_ARRAY(&arena, Behaviour, MANY), *again = ARENA_ARRAY(&arena, Behaviour, MANY);
    assert_true(first && again);
    for (int i = 0; i < MANY; i += 300)
        find(&memory, kitchen->lanes + i, MANY - i < 300 ? MANY - i : 300, &TERMS, first + i);
    assert_true(memory.capacity > capacity && 2 * memory.count <= memory.capacity);
    assert_int_equal(memory.count, MANY);
    find(&memory, kitchen->lanes, MANY, &TERMS, again);
    assert_int_equal(memory.simulated, MANY);
    assert_memory_equal(first, again, MANY * sizeof *first);
    arena_free(&arena);
}

/* --- as bytes --- */

static Text written(const BehaviourMemory *memory, uint64_t origin, Arena *arena)
{
    TextBuilder bytes = text_builder(arena, 8 * MIB);
    assert_true(behaviour_write(memory, origin, &bytes));
    return (Text){text_string(&bytes), bytes.length};
}

/* What is read answers as what was written; reading it twice or into a filled memory adds nothing. */
static void it_is_read_as_it_was_written(void **state)
{
    const Kitchen *kitchen = *state;
    Arena arena = arena_new(64 * MIB);
    BehaviourMemory memory = fresh(&arena), read = fresh(&arena), empty = fresh(&arena);
    Behaviour first[OVENS], again[OVENS];
    find(&memory, kitchen->lanes, OVENS, &TERMS, first);
    const Text bytes = written(&memory, ORIGIN, &arena);
    assert_true(behaviour_read(&read, ORIGIN, bytes) && behaviour_read(&read, ORIGIN, bytes));
    assert_int_equal(read.count, OVENS);
    find(&read, kitchen->lanes, OVENS, &TERMS, again);
    assert_int_equal(read.simulated, 0);
    assert_memory_equal(first, again, sizeof first);
    assert_true(behaviour_read(&read, ORIGIN, written(&empty, ORIGIN, &arena)));
    assert_int_equal(read.count, OVENS);
    arena_free(&arena);
}

static void assert_refused(uint64_t origin, Text bytes, Arena *arena)
{
    BehaviourMemory memory = fresh(arena);
    assert_false(behaviour_read(&memory, origin, bytes));
    assert_int_equal(memory.count, 0);
}

/* Every truncation, more than was written, every single byte of the head and a thousand anywhere changed. */
static void damaged_and_foreign_bytes_are_refused(void **state)
{
    const Kitchen *kitchen = *state;
    Arena arena = arena_new(64 * MIB);
    BehaviourMemory memory = fresh(&arena);
    RandomStream stream = random_stream(SEED);
    Behaviour behaviours[3];
    find(&memory, kitchen->lanes, 3, &TERMS, behaviours);
    const Text bytes = written(&memory, ORIGIN, &arena);
    char *copy = arena_take(&arena, bytes.length + 1);
    assert_non_null(copy);
    memcpy(copy, bytes.bytes, bytes.length);
    copy[bytes.length] = 0;
    Arena scratch = arena_new(64 * MIB);
    assert_refused(ORIGIN + 1, bytes, &scratch);
    assert_refused(ORIGIN, (Text){copy, bytes.length + 1}, &scratch);
    for (size_t length = 0; length < bytes.length; length++) {
        assert_refused(ORIGIN, (Text){copy, length}, &scratch);
        arena_free(&scratch);
    }
    for (int i = 0; i < FLIPS; i++) {
        const size_t at = i < 40 ? (size_t)i : random_below(&stream, (uint32_t)bytes.length);
        const char was = copy[at];
        copy[at] = (char)(was ^ (1 + random_below(&stream, 255)));
        assert_refused(ORIGIN, (Text){copy, bytes.length}, &scratch);
        copy[at] = was;
        arena_free(&scratch);
    }
    arena_free(&arena);
}

/* A memory that finds no room says so; what it held before stays. */
static void too_little_memory_is_said(void **state)
{
    const Kitchen *kitchen = *state;
    int refused = 0;
    for (double limit = 1000;; limit *= 1.5) {
        Arena arena = arena_new((size_t)limit);
        BehaviourMemory memory;
        Behaviour behaviours[OVENS];
        Error error = {0};
        const bool is_done = behaviour_begin(&arena, &memory, &error) &&
                             behaviour_find(&memory, kitchen->lanes, OVENS, &TERMS, behaviours, &error);
        if (!is_done) assert_int_equal(error.code, ERROR_MEMORY);
        refused += !is_done;
        arena_free(&arena);
        if (is_done) break;
    }
    assert_true(refused > 5);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_known_is_not_simulated_again),
        cmocka_unit_test(whatever_matters_is_in_the_key),
        cmocka_unit_test(it_grows_and_forgets_nothing),
        cmocka_unit_test(it_is_read_as_it_was_written),
        cmocka_unit_test(damaged_and_foreign_bytes_are_refused),
        cmocka_unit_test(too_little_memory_is_said),
    };
    return cmocka_run_group_tests(tests, begin, end);
}
