/* kirchhoff.c: solutions of every shipped appliance keep Kirchhoff's first law, and are those that LAPACK
 * finds for the whole nodal matrix. */
#include "core/circuit/circuit_private.h"

#include "base/random.h"
#include "support/near.h"
#include "support/shipped.h"

#include <lapacke.h>
#include <math.h>
#include <string.h>

enum { MOST_MARKS = 150, FAULTED_EACH = 40 };

static const double RESIDUAL = 1e-9;

typedef struct {
    Arena arena;
    Appliance appliance;
    Circuit circuit;
} Fixture;

static void set_up(Fixture *fixture, int number)
{
    fixture->arena = arena_new((size_t)64 << 20);
    shipped_build(shipped_names[number], &fixture->arena, &fixture->appliance);
    assert_true(circuit_begin(&fixture->appliance, 22, &fixture->arena, &fixture->circuit, NULL));
}

static double residual(Fixture *fixture, int function, bool power_on, const int *variants, int count)
{
    double found = NAN;
    assert_true(circuit_residual(&fixture->circuit, function, power_on, variants, count, &found, NULL));
    return found;
}

static void currents_at_every_mark_sum_to_nothing(void **state)
{
    (void)state;
    for (int i = 0; i < SHIPPED_COUNT; i++) {
        Fixture fixture;
        set_up(&fixture, i);
        double worst = 0;
        for (int f = 0; f < fixture.appliance.function_count; f++)
            for (int power_on = 0; power_on < 2; power_on++)
                worst = fmax(worst, residual(&fixture, f, power_on, NULL, 0));
        print_message("%s: worst residual %.2g of the largest current\n", fixture.appliance.name, worst);
        assert_near(worst, 0, RESIDUAL);
        arena_free(&fixture.arena);
    }
}

/* Two faults of different parts. */
static int choose_faults(const Circuit *circuit, RandomStream *stream, int *variants)
{
    const Fault *faults = circuit->appliance->faults;
    for (int i = 0; i < 2; i++) variants[i] = (int)random_below(stream, (uint32_t)circuit->variant_count);
    const int parts[] = {faults[circuit->variants[variants[0]].fault].part,
                         faults[circuit->variants[variants[1]].fault].part};
    return parts[0] == parts[1] ? 1 : 2;
}

static void so_do_those_with_faults(void **state)
{
    (void)state;
    RandomStream stream = random_stream(7);
    for (int i = 0; i < SHIPPED_COUNT; i++) {
        Fixture fixture;
        set_up(&fixture, i);
        double worst = 0;
        for (int n = 0; n < FAULTED_EACH; n++) {
            int variants[2];
            const int count = choose_faults(&fixture.circuit, &stream, variants);
            const int function = (int)random_below(&stream, (uint32_t)fixture.appliance.function_count);
            worst = fmax(worst, residual(&fixture, function, n % 2, variants, count));
        }
        print_message("%s: worst residual with faults %.2g\n", fixture.appliance.name, worst);
        assert_near(worst, 0, RESIDUAL);
        arena_free(&fixture.arena);
    }
}

/* The nodal matrix without the earth, row by row, and the currents that the sources drive into the marks. */
static void write_matrix(const CircuitNetwork *network, Complex *matrix, Complex *right)
{
    const int n = network->marks - 1;
    memset(matrix, 0, sizeof(Complex) * (size_t)(n * n));
    memset(right, 0, sizeof(Complex) * (size_t)n);
    for (int i = 0; i < n; i++) matrix[i * n + i].re = CIRCUIT_MARK_LEAK_SIEMENS;
    for (int b = 0; b < network->branches; b++) {
        const int ends[2] = {network->wiring[b].from - 1, network->wiring[b].to - 1};
        const Complex y = network->admittance[b], driven = complex_multiply(y, network->source[b]);
        for (int e = 0; e < 2; e++) {
            if (ends[e] < 0) continue;
            Complex *own = &matrix[ends[e] * n + ends[e]];
            *own = complex_add(*own, y);
            right[ends[e]] = complex_add(right[ends[e]], complex_scale(driven, e == 0 ? -1 : 1));
            if (ends[1 - e] < 0) continue;
            Complex *other = &matrix[ends[e] * n + ends[1 - e]];
            *other = complex_subtract(*other, y);
        }
    }
}

/* LAPACK gets pivots of insulation beside wires by subtraction, so marks that hang on insulation alone are
 * known to it to five digits or so; only marks that the mains reach are held against it: above a volt, and
 * with next to no impedance to earth. */
static double compare_with_lapack(const CircuitNetwork *network, int *compared)
{
    static Complex matrix[MOST_MARKS * MOST_MARKS], right[MOST_MARKS];
    static lapack_int pivot[MOST_MARKS];
    const int n = network->marks - 1;
    Complex column[MOST_MARKS];
    double worst = 0;
    write_matrix(network, matrix, right);
    assert_int_equal(LAPACKE_zgesv(LAPACK_ROW_MAJOR, n, 1, (lapack_complex_double *)matrix, n, pivot,
                                   (lapack_complex_double *)right, 1),
                     0);
    for (int m = 1; m < network->marks; m++) {
        circuit__solve_pair(network->pattern, &network->factors, m, APPLIANCE_EARTH, column);
        if (complex_size(right[m - 1]) < 1 || complex_size(column[m]) > 1e4) continue;
        const double off = complex_size(complex_subtract(network->volt[m], right[m - 1]));
        worst = fmax(worst, off / complex_size(right[m - 1]));
        ++*compared;
    }
    return worst;
}

static void volts_are_those_that_lapack_finds(void **state)
{
    (void)state;
    for (int i = 0; i < SHIPPED_COUNT; i++) {
        Fixture fixture;
        set_up(&fixture, i);
        double worst = 0;
        int compared = 0;
        for (int f = 0; f < fixture.appliance.function_count; f++)
            for (int mode = MODE_RUNNING; mode <= MODE_STOPPED; mode++)
                worst =
                    fmax(worst, compare_with_lapack(circuit__network(&fixture.circuit, f, (NetworkMode)mode,
                                                                     &(Opened){.count = 0}),
                                                    &compared));
        print_message("%s: %d volts, worst %.2g away from zgesv\n", fixture.appliance.name, compared, worst);
        assert_true(compared > 50);
        assert_near(worst, 0, 1e-9);
        arena_free(&fixture.arena);
    }
}

/* A network is solved once, however often it is asked for. */
static void a_network_is_solved_once(void **state)
{
    (void)state;
    Fixture fixture;
    set_up(&fixture, 1);
    CircuitMeter meter;
    for (int i = 0; i < 20; i++) {
        const Connection connection = {.kind = READING_OHM, .from = 1 + i, .to = 2 + i};
        assert_true(circuit_connect(&fixture.circuit, &connection, &meter, NULL));
        circuit_read(&meter, NULL, 0);
    }
    assert_int_equal(fixture.circuit.solves, 1);
    arena_free(&fixture.arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(currents_at_every_mark_sum_to_nothing),
        cmocka_unit_test(so_do_those_with_faults),
        cmocka_unit_test(volts_are_those_that_lapack_finds),
        cmocka_unit_test(a_network_is_solved_once),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
