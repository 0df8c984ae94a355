/* exact.c: a reading with faults, from the sound network and a few currents (Woodbury 1950), is the reading
 * of a network that was built with those faults in it. Random graphs, so that faults fall in bridges, in
 * loops and side by side. */
#include "made.h"

#include "base/random.h"
#include "core/circuit/circuit.h"
#include "support/near.h"

#include <math.h>

enum { GRAPHS = 300, READINGS_EACH = 30 };

static const double RELATIVE = 1e-9, OVER_OHM = 40e6, LEAST = 1e-9;

static double random_ohm(RandomStream *stream)
{
    static const double ohms[] = {0.003, 0.008, 0.015, 0.5, 20, 23.04, 1000, 200e3};
    return ohms[random_below(stream, sizeof ohms / sizeof ohms[0])] * (0.9 + 0.2 * random_uniform(stream));
}

static int random_mark(const Made *made, RandomStream *stream)
{
    return 1 + (int)random_below(stream, (uint32_t)made->appliance.mark_count - 1);
}

static void add_random_branch(Made *made, RandomStream *stream, int from, int to)
{
    const uint32_t sort = random_below(stream, 6);
    if (from == to) return;
    if (sort == 0)
        made_branch(made, BRANCH_GAP, from, to, 0);
    else if (sort < 3)
        made_wire(made, from, to, random_ohm(stream));
    else
        made_branch(made, BRANCH_LINK, from, to, random_ohm(stream));
}

/* Two legs, a path through all marks so that hardly any float, then branches at random. */
static void make_graph(Made *made, RandomStream *stream)
{
    const int marks = 4 + (int)random_below(stream, 16);
    made_begin(made, marks);
    made_leg(made, 1, 0.03, 120, 0);
    made_leg(made, 2, 0.03, 120, 180);
    if (random_below(stream, 2)) made_branch(made, BRANCH_LINK, APPLIANCE_EARTH, 3, 0.03);
    for (int m = 2; m < marks; m++)
        add_random_branch(made, stream, 1 + (int)random_below(stream, (uint32_t)m - 1), m);
    const int more = (int)random_below(stream, (uint32_t)marks);
    for (int i = 0; i < more; i++)
        add_random_branch(made, stream, random_mark(made, stream), random_mark(made, stream));
    for (int b = 0; b < made->appliance.branch_count; b++) {
        made_fault(made, b, EFFECT_OPEN, 0);
        made_fault(made, b, EFFECT_ADD_OHM, 0.5 + 50 * random_uniform(stream));
        made_fault(made, b, EFFECT_SCALE, 1.5);
        if (made->branches[b].type == BRANCH_GAP) made_fault(made, b, EFFECT_CLOSE, random_ohm(stream));
    }
}

/* The branch is what the fault makes of it. */
static void build_in(Made *made, int number)
{
    const Fault *fault = &made->faults[number];
    Branch *branch = &made->branches[fault->branches[0]];
    const bool is_gap = branch->type == BRANCH_GAP;
    const EffectType effect = fault->mode->effect;
    if (effect == EFFECT_OPEN) branch->type = BRANCH_GAP;
    if (effect == EFFECT_CLOSE && is_gap) {
        branch->type = BRANCH_LINK;
        branch->cold_ohm = branch->hot_ohm = fault->severity[0];
    }
    if (effect == EFFECT_ADD_OHM) branch->cold_ohm += fault->severity[0];
    if (effect == EFFECT_SCALE) branch->cold_ohm *= fault->severity[0];
    branch->hot_ohm = branch->cold_ohm;
}

static void take_off(Made *made, int mark)
{
    for (int b = 0; b < made->appliance.branch_count; b++)
        if ((made->branches[b].from == mark || made->branches[b].to == mark) &&
            appliance_is_wiring(&made->appliance, b))
            made->branches[b].type = BRANCH_GAP;
}

static double read(const Made *made, const Connection *connection, const int *variants, int count,
                   int *solves)
{
    Arena arena = arena_new((size_t)16 << 20);
    Circuit circuit;
    CircuitMeter meter;
    assert_true(circuit_begin(&made->appliance, 22, &arena, &circuit, NULL));
    assert_true(circuit_connect(&circuit, connection, &meter, NULL));
    const double value = circuit_read(&meter, variants, count).value;
    *solves += circuit.solves;
    arena_free(&arena);
    return value;
}

static int choose_faults(const Made *made, RandomStream *stream, int *variants)
{
    const int wanted = 1 + (int)random_below(stream, 2);
    for (int i = 0; i < wanted; i++)
        variants[i] = (int)random_below(stream, (uint32_t)made->appliance.fault_count);
    if (wanted == 2 && made->faults[variants[0]].part == made->faults[variants[1]].part) return 1;
    return wanted;
}

static Connection random_connection(const Made *made, RandomStream *stream)
{
    Connection connection = {.kind = random_below(stream, 2) ? READING_OHM : READING_VOLT,
                             .from = random_mark(made, stream),
                             .to = random_mark(made, stream)};
    connection.power_on = connection.kind == READING_VOLT;
    connection.low_impedance = random_below(stream, 2);
    if (random_below(stream, 3) == 0) connection.lifts[connection.lift_count++] = random_mark(made, stream);
    return connection;
}

/* The same reading both ways; gives how many times what is allowed they are apart. */
static double compare(Made *sound, uint64_t graph_seed, RandomStream *stream, int *compared)
{
    static Made broken; /* made by the same random numbers */
    int variants[2], solves = 0;
    RandomStream again = random_stream(graph_seed);
    make_graph(&broken, &again);
    Connection connection = random_connection(sound, stream);
    const int count = choose_faults(sound, stream, variants);
    for (int i = 0; i < count; i++) build_in(&broken, variants[i]);
    for (int i = 0; i < connection.lift_count; i++) take_off(&broken, connection.lifts[i]);
    const double quick = read(sound, &connection, variants, count, &solves);
    connection.lift_count = 0;
    const double built = read(&broken, &connection, NULL, 0, &solves);
    assert_int_equal(solves, 2);
    if (connection.kind == READING_OHM && built > OVER_OHM && quick > OVER_OHM) return 0;
    ++*compared;
    const double off = fabs(quick - built) / fmax(RELATIVE * built, LEAST);
    if (!(off <= 1))
        print_error("graph %llu, %s %d to %d, %d faults (%d on %d, %d on %d): %.15g, built %.15g\n",
                    (unsigned long long)graph_seed, connection.power_on ? "volts" : "ohms", connection.from,
                    connection.to, count, (int)sound->faults[variants[0]].mode->effect,
                    sound->faults[variants[0]].part, (int)sound->faults[variants[count - 1]].mode->effect,
                    sound->faults[variants[count - 1]].part, quick, built);
    return off;
}

static void faults_read_as_if_built_in(void **state)
{
    (void)state;
    static Made sound;
    double worst = 0;
    int compared = 0;
    RandomStream stream = random_stream(99);
    for (uint64_t seed = 0; seed < GRAPHS; seed++) {
        RandomStream graph = random_stream(seed);
        make_graph(&sound, &graph);
        for (int i = 0; i < READINGS_EACH; i++)
            worst = fmax(worst, compare(&sound, seed, &stream, &compared));
    }
    print_message("%d readings that are not open, worst %.2g of what is allowed\n", compared, worst);
    assert_true(compared > GRAPHS * READINGS_EACH / 2);
    assert_true(worst <= 1);
}

/* What circuit_read gives one by one, circuit_read_all gives at once, to the last bit. */
static void the_dictionary_is_the_readings(void **state)
{
    (void)state;
    static Made made;
    RandomStream stream = random_stream(5);
    for (int n = 0; n < 50; n++) {
        make_graph(&made, &stream);
        Arena arena = arena_new((size_t)16 << 20);
        Circuit circuit;
        CircuitMeter meter;
        double values[MADE_MOST_FAULTS];
        const Connection connection = random_connection(&made, &stream);
        assert_true(circuit_begin(&made.appliance, 22, &arena, &circuit, NULL));
        assert_true(circuit_connect(&circuit, &connection, &meter, NULL));
        circuit_read_all(&meter, values);
        for (int v = 0; v < circuit.variant_count; v++)
            assert_true(values[v] == circuit_read(&meter, &v, 1).value);
        arena_free(&arena);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(faults_read_as_if_built_in),
        cmocka_unit_test(the_dictionary_is_the_readings),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
