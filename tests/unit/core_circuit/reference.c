/* reference.c: readings of every shipped appliance against ngspice.
 *
 * First every pair of marks in every function, whole: ngspice solves each state with one ampere across each
 * edge of a tree over all marks, and with the mains on; readings between any two marks follow by
 * superposition and Thevenin's theorem. Then random settings, with faults, lifted wires, open plugs and the
 * meter itself in ngspice's circuit. Agreement: 1e-6 of the reading, or a billionth of an ohm, volt or
 * ampere; what is 'OL' for both agrees. */
#include "support/netlist.h"
#include "support/spice.h"

#include "base/random.h"
#include "support/near.h"
#include "support/shipped.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { MOST_MARKS = 150, SETTINGS = 2000 };

static const double RELATIVE = 1e-6, OVER_OHM = 40e6, LEAST_OHM = 1e-9, LEAST_VOLT = 1e-9,
                    LEAST_AMPERE = 1e-9;
static const double AMBIENT_CELSIUS = 22;

/* How far apart, as a multiple of what is allowed. */
static double disagreement(ReadingKind kind, double ours, double theirs)
{
    if (kind == READING_OHM && ours > OVER_OHM && theirs > OVER_OHM) return 0;
    const double least = kind == READING_VOLT ? LEAST_VOLT : kind == READING_AMP ? LEAST_AMPERE : LEAST_OHM;
    const double off = fabs(ours - theirs) / fmax(RELATIVE * fabs(theirs), least);
    return off >= 0 ? off : INFINITY; /* NaN is no agreement */
}

/* ---------------------------------------------------------------- every pair, whole */

/* A tree over all marks, through what conducts best. */
typedef struct {
    int from, to; /* `to` hangs on `from` */
} Edge;

typedef struct {
    const Setting *setting;
    int marks, edge_count;
    Edge edges[MOST_MARKS];
    int parent_edge[MOST_MARKS], depth[MOST_MARKS];
    Complex across[MOST_MARKS][MOST_MARKS]; /* [driven edge][edge]: ohm */
    Complex volt[MOST_MARKS];               /* of each mark, the mains on */
    Complex ampere[400];                    /* of each branch */
} Solved;

static double edge_ohm(const Setting *setting, int branch)
{
    const BranchState state = netlist_state(setting, branch);
    return state.is_open ? 1e10 : state.ohm + state.reactance_ohm;
}

/* The branch of least ohms that joins a mark in the tree to one outside (Prim). */
static bool grow_tree(Solved *solved, const bool *is_in)
{
    const Appliance *appliance = solved->setting->appliance;
    double least = INFINITY;
    for (int b = 0; b < appliance->branch_count; b++) {
        const Branch *branch = &appliance->branches[b];
        if (is_in[branch->from] == is_in[branch->to] || edge_ohm(solved->setting, b) >= least) continue;
        least = edge_ohm(solved->setting, b);
        const bool is_forward = is_in[branch->from];
        solved->edges[solved->edge_count] =
            (Edge){is_forward ? branch->from : branch->to, is_forward ? branch->to : branch->from};
    }
    return least < INFINITY;
}

static void find_tree(Solved *solved)
{
    bool is_in[MOST_MARKS] = {false};
    is_in[APPLIANCE_EARTH] = true; /* neutral and ground meet there */
    solved->depth[APPLIANCE_EARTH] = 0;
    solved->edge_count = 0;
    for (int m = 1; m < solved->marks; m++) {
        if (!grow_tree(solved, is_in)) { /* nothing joins the rest: any edge will do */
            int outside = 1;
            while (is_in[outside]) outside++;
            solved->edges[solved->edge_count] = (Edge){APPLIANCE_EARTH, outside};
        }
        const Edge edge = solved->edges[solved->edge_count];
        solved->parent_edge[edge.to] = solved->edge_count++;
        solved->depth[edge.to] = solved->depth[edge.from] + 1;
        is_in[edge.to] = true;
    }
}

static void note_edges(Solved *solved, int driven)
{
    for (int e = 0; e < solved->edge_count; e++)
        solved->across[driven][e] =
            complex_subtract(spice_volt(solved->edges[e].from), spice_volt(solved->edges[e].to));
}

static void run(const Setting *setting)
{
    if (setting->power_on)
        spice_run_mains(netlist_hertz(setting->appliance));
    else
        spice_run_direct();
}

static void silence_mains(const Setting *setting)
{
    const Appliance *appliance = setting->appliance;
    for (int b = 0; b < appliance->branch_count; b++)
        if (appliance->branches[b].leg >= 0) spice_command("alter @v%d[acmag]=0", 300 + b);
}

static void solve_by_spice(const Setting *setting, Solved *solved)
{
    solved->setting = setting;
    solved->marks = setting->appliance->mark_count;
    find_tree(solved);
    spice_begin_circuit();
    netlist_write(setting, -1);
    for (int e = 0; e < solved->edge_count; e++)
        spice_line("i%d %d %d dc 0 ac 0", e, solved->edges[e].to, solved->edges[e].from);
    spice_load_circuit();
    if (setting->power_on) {
        run(setting);
        for (int m = 0; m < solved->marks; m++) solved->volt[m] = spice_volt(m);
        for (int b = 0; b < setting->appliance->branch_count; b++)
            solved->ampere[b] = netlist_ampere(setting, b);
        silence_mains(setting);
    }
    const char *strength = setting->power_on ? "acmag" : "dc";
    for (int e = 0; e < solved->edge_count; e++) {
        spice_command("alter @i%d[%s]=1", e, strength);
        run(setting);
        note_edges(solved, e);
        spice_command("alter @i%d[%s]=0", e, strength);
    }
}

/* The way from mark a to mark b: edges, and +1 where it goes along the edge. */
static int find_way(const Solved *solved, int a, int b, int *edges, int *signs)
{
    int count = 0;
    while (a != b) {
        const bool is_a_deeper = solved->depth[a] >= solved->depth[b];
        int *deeper = is_a_deeper ? &a : &b;
        edges[count] = solved->parent_edge[*deeper];
        signs[count++] = is_a_deeper ? -1 : 1;
        *deeper = solved->edges[edges[count - 1]].from;
    }
    return count;
}

static Complex impedance(const Solved *solved, int a, int b)
{
    int edges[MOST_MARKS], signs[MOST_MARKS];
    const int count = find_way(solved, a, b, edges, signs);
    Complex sum = {0, 0};
    for (int i = 0; i < count; i++)
        for (int j = 0; j < count; j++)
            sum = complex_add(sum, complex_scale(solved->across[edges[i]][edges[j]], signs[i] * signs[j]));
    return sum;
}

static double expected(const Solved *solved, const Connection *connection)
{
    const int a = connection->from, b = connection->to;
    if (connection->kind == READING_OHM) return impedance(solved, a, b).re;
    const double meter = connection->low_impedance ? CIRCUIT_LOW_IMPEDANCE_OHM : CIRCUIT_VOLTMETER_OHM;
    const Complex open = complex_subtract(solved->volt[a], solved->volt[b]);
    const Complex loop = complex_add(impedance(solved, a, b), (Complex){meter, 0});
    return meter * complex_size(open) / complex_size(loop);
}

static double expected_ampere(const Solved *solved, const Connection *connection)
{
    const Appliance *appliance = solved->setting->appliance;
    Complex sum = {0, 0};
    for (int b = 0; b < appliance->branch_count; b++) {
        const Branch *branch = &appliance->branches[b];
        if (branch->type == BRANCH_GAP) continue;
        if (branch->from == connection->from && branch->to == connection->to)
            sum = complex_add(sum, solved->ampere[b]);
        else if (branch->from == connection->to && branch->to == connection->from)
            sum = complex_subtract(sum, solved->ampere[b]);
    }
    return complex_size(sum);
}

typedef struct {
    int count;
    double worst;
} Tally;

static void compare(Circuit *circuit, const Solved *solved, const Connection *connection, const int *stop,
                    int stop_count, Tally *tally)
{
    CircuitMeter meter;
    Error error;
    if (!circuit_connect(circuit, connection, &meter, &error)) fail_msg("%s", error.found);
    const double ours = circuit_read(&meter, stop, stop_count).value;
    const double theirs =
        connection->kind == READING_AMP ? expected_ampere(solved, connection) : expected(solved, connection);
    const double off = disagreement(connection->kind, ours, theirs);
    tally->count++;
    tally->worst = fmax(tally->worst, off);
    if (off <= 1) return;
    const Appliance *appliance = circuit->appliance;
    print_error("%s, %s, power %s, control %s, %s to %s, kind %d: %.15g, ngspice %.15g\n", appliance->name,
                appliance->functions[connection->function].name, connection->power_on ? "on" : "off",
                solved->setting->control_runs ? "runs" : "stopped", appliance->marks[connection->from].name,
                appliance->marks[connection->to].name, (int)connection->kind, ours, theirs);
}

static void compare_pairs(const Setting *setting, const int *stop, int stop_count, Tally *tally)
{
    static Solved solved;
    Arena arena = arena_new((size_t)512 << 20);
    Circuit circuit;
    assert_true(circuit_begin(setting->appliance, AMBIENT_CELSIUS, &arena, &circuit, NULL));
    solve_by_spice(setting, &solved);
    Connection connection = {.kind = setting->power_on ? READING_VOLT : READING_OHM,
                             .function = setting->function,
                             .power_on = setting->power_on};
    for (int a = 1; a < solved.marks; a++)
        for (int b = a + 1; b < solved.marks; b++) {
            connection.from = a;
            connection.to = b;
            connection.low_impedance = setting->power_on && (a + b) % 7 == 0; /* a sample */
            compare(&circuit, &solved, &connection, stop, stop_count, tally);
        }
    connection.kind = READING_AMP;
    for (int b = 0; setting->power_on && b < setting->appliance->branch_count; b++) {
        const Branch *branch = &setting->appliance->branches[b];
        if (branch->type == BRANCH_GAP || branch->from == APPLIANCE_EARTH) continue;
        connection.from = branch->from;
        connection.to = branch->to;
        compare(&circuit, &solved, &connection, stop, stop_count, tally);
    }
    arena_free(&arena);
}

/* The fault that only stops the control, as a variant; -1 without a control. */
static int stopping_variant(const Appliance *appliance)
{
    int variant = 0;
    for (int f = 0; f < appliance->fault_count; variant += appliance->faults[f++].severity_count)
        if (appliance->faults[f].mode->effect == EFFECT_STOP) return variant;
    return -1;
}

static void every_pair_of_marks_agrees(void **state)
{
    (void)state;
    for (int i = 0; i < SHIPPED_COUNT; i++) {
        Arena arena = arena_new((size_t)16 << 20);
        Appliance appliance;
        shipped_build(shipped_names[i], &arena, &appliance);
        const int stop = stopping_variant(&appliance);
        Tally tally = {0, 0};
        for (int f = 0; f < appliance.function_count; f++) {
            Setting setting = {.appliance = &appliance, .ambient_celsius = AMBIENT_CELSIUS, .function = f};
            compare_pairs(&setting, NULL, 0, &tally);
            setting.power_on = true;
            setting.control_runs = netlist_control_runs(&setting);
            assert_true(setting.control_runs);
            compare_pairs(&setting, NULL, 0, &tally);
            setting.control_runs = false;
            if (stop >= 0) compare_pairs(&setting, &stop, 1, &tally);
        }
        print_message("%s: %d readings, worst %.2g of what is allowed\n", appliance.name, tally.count,
                      tally.worst);
        assert_true(tally.worst <= 1);
        arena_free(&arena);
    }
}

/* ---------------------------------------------------------------- random settings */

static int random_mark(const Appliance *appliance, RandomStream *stream)
{
    return 1 + (int)random_below(stream, (uint32_t)appliance->mark_count - 1);
}

static void choose_faults(Setting *setting, RandomStream *stream)
{
    const Appliance *appliance = setting->appliance;
    const int wanted = (int)random_below(stream, CIRCUIT_MOST_FAULTS + 1);
    while (setting->fault_count < wanted) {
        const int fault = (int)random_below(stream, (uint32_t)appliance->fault_count);
        const int severities = appliance->faults[fault].severity_count;
        if (setting->fault_count == 1 &&
            appliance->faults[setting->faults[0].fault].part == appliance->faults[fault].part)
            continue;
        setting->faults[setting->fault_count++] =
            (Variant){fault, (int)random_below(stream, (uint32_t)severities)};
    }
}

static void choose_opened(Setting *setting, RandomStream *stream)
{
    const Appliance *appliance = setting->appliance;
    const int wanted = (int)random_below(stream, 3);
    for (int i = 0; i < wanted; i++) {
        const int mark = random_mark(appliance, stream);
        if (appliance->marks[mark].can_lift) setting->lifts[setting->lift_count++] = mark;
    }
    const int plug = appliance_find_part(appliance, "sensor-plug");
    if (plug >= 0 && random_below(stream, 3) == 0) setting->unplugs[setting->unplug_count++] = plug;
}

static Setting random_setting(const Appliance *appliance, RandomStream *stream)
{
    Setting setting = {.appliance = appliance, .ambient_celsius = 5 + 30 * random_uniform(stream)};
    setting.function = (int)random_below(stream, (uint32_t)appliance->function_count);
    setting.power_on = random_below(stream, 2);
    choose_faults(&setting, stream);
    choose_opened(&setting, stream);
    return setting;
}

/* Marks of a random branch, of a branch that a fault touches, or any two. */
static void choose_marks(const Setting *setting, RandomStream *stream, Connection *connection)
{
    const Appliance *appliance = setting->appliance;
    int branch = (int)random_below(stream, (uint32_t)appliance->branch_count);
    if (setting->fault_count > 0 && random_below(stream, 2) == 0) {
        const Fault *fault = &appliance->faults[setting->faults[0].fault];
        if (fault->branch_count > 0) branch = fault->branches[0];
    }
    connection->from = appliance->branches[branch].from;
    connection->to = appliance->branches[branch].to;
    const bool is_any = connection->kind != READING_AMP && random_below(stream, 3) == 0;
    if (is_any) connection->from = random_mark(appliance, stream);
    if (is_any) connection->to = random_mark(appliance, stream);
    if (connection->kind == READING_AMP && appliance->branches[branch].type == BRANCH_GAP)
        connection->kind = READING_VOLT;
}

static Connection random_connection(const Setting *setting, RandomStream *stream)
{
    Connection connection = {.kind = READING_OHM,
                             .function = setting->function,
                             .power_on = setting->power_on,
                             .lift_count = setting->lift_count,
                             .unplug_count = setting->unplug_count};
    memcpy(connection.lifts, setting->lifts, sizeof connection.lifts);
    memcpy(connection.unplugs, setting->unplugs, sizeof connection.unplugs);
    if (setting->power_on) connection.kind = random_below(stream, 4) ? READING_VOLT : READING_AMP;
    connection.low_impedance = connection.kind == READING_VOLT && random_below(stream, 4) == 0;
    choose_marks(setting, stream, &connection);
    return connection;
}

/* What ngspice's meter shows: the meter is a part of its circuit. */
static double read_by_spice(const Setting *setting, const Connection *connection)
{
    spice_begin_circuit();
    netlist_write(setting, -1);
    if (connection->kind == READING_OHM) spice_line("i0 %d %d dc 1", connection->to, connection->from);
    if (connection->kind == READING_VOLT && connection->from != connection->to)
        spice_line("rmeter %d %d %.17g", connection->from, connection->to,
                   connection->low_impedance ? CIRCUIT_LOW_IMPEDANCE_OHM : CIRCUIT_VOLTMETER_OHM);
    spice_load_circuit();
    run(setting);
    const Complex volt = complex_subtract(spice_volt(connection->from), spice_volt(connection->to));
    if (connection->kind == READING_OHM) return volt.re;
    if (connection->kind == READING_VOLT) return complex_size(volt);
    Solved solved = {.setting = setting};
    for (int b = 0; b < setting->appliance->branch_count; b++) solved.ampere[b] = netlist_ampere(setting, b);
    return expected_ampere(&solved, connection);
}

static double read_by_circuit(const Setting *setting, const Connection *connection)
{
    Arena arena = arena_new((size_t)64 << 20);
    Circuit circuit;
    CircuitMeter meter;
    Error error;
    int variants[CIRCUIT_MOST_FAULTS];
    assert_true(circuit_begin(setting->appliance, setting->ambient_celsius, &arena, &circuit, &error));
    if (!circuit_connect(&circuit, connection, &meter, &error)) fail_msg("%s", error.found);
    for (int i = 0; i < setting->fault_count; i++)
        variants[i] = circuit.first_variant[setting->faults[i].fault] + setting->faults[i].severity;
    const double value = circuit_read(&meter, variants, setting->fault_count).value;
    arena_free(&arena);
    return value;
}

static void describe(const Setting *setting, const Connection *connection, double ours, double theirs)
{
    const Appliance *appliance = setting->appliance;
    print_error("%s, %s, power %s, control %s, %s to %s, kind %d%s:", appliance->name,
                appliance->functions[setting->function].name, setting->power_on ? "on" : "off",
                setting->control_runs ? "runs" : "stopped", appliance->marks[connection->from].name,
                appliance->marks[connection->to].name, (int)connection->kind,
                connection->low_impedance ? " low impedance" : "");
    for (int i = 0; i < setting->fault_count; i++)
        print_error(" %s %g,", appliance->faults[setting->faults[i].fault].name,
                    appliance->faults[setting->faults[i].fault].severity[setting->faults[i].severity]);
    for (int i = 0; i < setting->lift_count; i++)
        print_error(" lift %s,", appliance->marks[setting->lifts[i]].name);
    print_error("%s %.15g, ngspice %.15g\n", setting->unplug_count ? " unplugged," : "", ours, theirs);
}

static void random_settings_agree(void **state)
{
    (void)state;
    const uint64_t seed = 20240917;
    RandomStream stream = random_stream(seed);
    Arena arena = arena_new((size_t)16 << 20);
    Appliance appliances[SHIPPED_COUNT];
    for (int i = 0; i < SHIPPED_COUNT; i++) shipped_build(shipped_names[i], &arena, &appliances[i]);
    double worst = 0;
    int stopped = 0, over = 0;
    for (int n = 0; n < SETTINGS; n++) {
        Setting setting = random_setting(&appliances[random_below(&stream, SHIPPED_COUNT)], &stream);
        const Connection connection = random_connection(&setting, &stream);
        setting.control_runs = setting.power_on && netlist_control_runs(&setting);
        const double theirs = read_by_spice(&setting, &connection);
        const double ours = read_by_circuit(&setting, &connection);
        const double off = disagreement(connection.kind, ours, theirs);
        worst = fmax(worst, off);
        if (off > 1) describe(&setting, &connection, ours, theirs);
        stopped += setting.power_on && !setting.control_runs;
        over += connection.kind == READING_OHM && theirs > OVER_OHM;
    }
    print_message(
        "seed %llu: %d settings, %d with the control stopped, %d open; worst %.2g of what is allowed\n",
        (unsigned long long)seed, (int)SETTINGS, stopped, over, worst);
    assert_true(worst <= 1);
    arena_free(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_pair_of_marks_agrees),
        cmocka_unit_test(random_settings_agree),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
