/* exact.c: the posterior by exact enumeration, against the production path.
 *
 * Random small appliances of a few branches, with faults of one severity and faults of a range. The test has
 * its own of everything that is asked: the faulted nodal matrix written down anew for every hypothesis and
 * solved by Gaussian elimination in long double, the density of a reading, the priors, the sum over all
 * hypotheses. It shares the documented constants and the uncertainty of the meter (core_meter has tests).
 * Formulas: heads of circuit.h, display.c, likelihood.c, model.c. Voltmeters of both
 * impedances and clamps among the readings. What limits the agreement: chances beyond seven spreads are taken
 * as none (1e-12), and a faulted reading is sure to 1e-10 of itself. */
#include <complex.h>
#include <math.h>
#include <string.h>

#include "base/mathematics.h"
#include "base/random.h"
#include "core/diagnosis/diagnosis.h"
#include "made.h"
#include "support/near.h"

enum { SEED = 4711, APPLIANCES = 80, MOST_ENTRIES = 6, MOST_HYPOTHESES = 4000, MARKS = 7 };

typedef long double complex Wide;

/* --- the circuit, written down anew --- */

/* A hypothesis of the test: up to two faults, each at one severity. */
typedef struct {
    int count, faults[2];
    double severities[2];
} Broken;

typedef struct {
    const Made *made;
    bool power_on;
    Wide admittance[MADE_MOST_BRANCHES];
    Wide source[MADE_MOST_BRANCHES];
    Wide matrix[MARKS][MARKS];
    Wide volt[MARKS];
} Net;

static Wide gap(bool power_on)
{
    return CIRCUIT_GAP_SIEMENS + (power_on ? I * 2 * (long double)MATH_PI * 60 * CIRCUIT_GAP_FARAD : 0);
}

static Wide healthy(const Branch *branch, bool power_on)
{
    if (branch->type == BRANCH_GAP || (!power_on && branch->leg >= 0)) return gap(power_on);
    return 1 / (long double)(power_on ? branch->hot_ohm : branch->cold_ohm);
}

static Wide broken(const Net *net, const Fault *fault, double severity, Wide now)
{
    const bool is_open = now == gap(net->power_on);
    switch (fault->mode->effect) {
    case EFFECT_OPEN: return gap(net->power_on);
    case EFFECT_CLOSE: return is_open ? 1 / (long double)severity : now;
    case EFFECT_ADD_OHM: return is_open ? now : 1 / (1 / now + severity);
    case EFFECT_SCALE: return is_open ? now : 1 / (1 / now * severity);
    default: return now;
    }
}

static void write_net(Net *net, const Made *made, bool power_on, const Broken *with)
{
    *net = (Net){.made = made, .power_on = power_on};
    for (int b = 0; b < made->appliance.branch_count; b++) {
        const Branch *branch = &made->branches[b];
        net->admittance[b] = healthy(branch, power_on);
        if (power_on && branch->leg >= 0) {
            const long double angle = made->appliance.leg_degree[branch->leg] * (long double)MATH_PI / 180;
            net->source[b] = made->appliance.leg_volt[branch->leg] * (cosl(angle) + I * sinl(angle));
        }
    }
    for (int i = 0; i < with->count; i++) {
        const Fault *fault = &made->faults[with->faults[i]];
        Wide *admittance = &net->admittance[fault->branches[0]];
        *admittance = broken(net, fault, with->severities[i], *admittance);
    }
}

static void fill_matrix(Net *net)
{
    const int marks = net->made->appliance.mark_count;
    memset(net->matrix, 0, sizeof net->matrix);
    for (int m = 1; m < marks; m++) net->matrix[m][m] = CIRCUIT_MARK_LEAK_SIEMENS;
    for (int b = 0; b < net->made->appliance.branch_count; b++) {
        const int from = net->made->branches[b].from, to = net->made->branches[b].to;
        net->matrix[from][from] += net->admittance[b];
        net->matrix[to][to] += net->admittance[b];
        net->matrix[from][to] -= net->admittance[b];
        net->matrix[to][from] -= net->admittance[b];
    }
}

/* Gaussian elimination with partial pivoting; mark 0 is the earth. */
static void solve(Net *net, const Wide *ampere)
{
    const int n = net->made->appliance.mark_count;
    fill_matrix(net);
    memcpy(net->volt, ampere, sizeof net->volt);
    for (int k = 1; k < n; k++) {
        int best = k;
        for (int i = k + 1; i < n; i++)
            if (cabsl(net->matrix[i][k]) > cabsl(net->matrix[best][k])) best = i;
        for (int j = 1; j < n; j++) {
            const Wide held = net->matrix[k][j];
            net->matrix[k][j] = net->matrix[best][j];
            net->matrix[best][j] = held;
        }
        const Wide held = net->volt[k];
        net->volt[k] = net->volt[best];
        net->volt[best] = held;
        for (int i = k + 1; i < n; i++) {
            const Wide factor = net->matrix[i][k] / net->matrix[k][k];
            for (int j = k; j < n; j++) net->matrix[i][j] -= factor * net->matrix[k][j];
            net->volt[i] -= factor * net->volt[k];
        }
    }
    for (int k = n - 1; k >= 1; k--) {
        for (int j = k + 1; j < n; j++) net->volt[k] -= net->matrix[k][j] * net->volt[j];
        net->volt[k] /= net->matrix[k][k];
    }
    net->volt[0] = 0;
}

static Wide across(const Net *net, int b)
{
    return net->volt[net->made->branches[b].from] - net->volt[net->made->branches[b].to];
}

static bool is_faulted(const Net *net, const Broken *with, int b)
{
    for (int i = 0; i < with->count; i++)
        if (net->made->faults[with->faults[i]].branches[0] == b) return true;
    return false;
}

/* One figure and its spread, the tolerances of the parts by their derivatives, as circuit.h promises. */
typedef struct {
    double shown, spread;
} Figure;

/* The network seen from two marks: its impedance and open volts there, what is across each branch with one
 * ampere through the marks, and with the mains on. */
typedef struct {
    Net net;
    Wide impedance, open_volt, towards[MADE_MOST_BRANCHES], drive[MADE_MOST_BRANCHES];
} Seen;

static void look_from(const Made *made, const Connection *connection, const Broken *with, Seen *seen)
{
    Net *net = &seen->net;
    Wide ampere[MARKS] = {0};
    write_net(net, made, connection->power_on, with);
    ampere[connection->from] += 1;
    ampere[connection->to] -= 1;
    solve(net, ampere);
    seen->impedance = net->volt[connection->from] - net->volt[connection->to];
    for (int b = 0; b < made->appliance.branch_count; b++) seen->towards[b] = across(net, b);
    memset(ampere, 0, sizeof ampere);
    for (int b = 0; b < made->appliance.branch_count; b++) {
        ampere[made->branches[b].from] -= net->admittance[b] * net->source[b];
        ampere[made->branches[b].to] += net->admittance[b] * net->source[b];
    }
    solve(net, ampere);
    seen->open_volt = net->volt[connection->from] - net->volt[connection->to];
    for (int b = 0; b < made->appliance.branch_count; b++) seen->drive[b] = across(net, b) + net->source[b];
}

/* What the tolerances of all branches but one do to the ohms or the open volts, squared. */
static double tolerance_square(const Seen *seen, const Broken *with, bool is_ohm, int but)
{
    double square = 0;
    for (int b = 0; b < seen->net.made->appliance.branch_count; b++) {
        if (b == but || is_faulted(&seen->net, with, b)) continue;
        const Wide drive = is_ohm ? seen->towards[b] : seen->drive[b];
        const double change = seen->net.made->branches[b].tolerance *
                              (double)cabsl(seen->towards[b] * drive * seen->net.admittance[b]);
        square += change * change;
    }
    return square;
}

static Figure read_volt(const Seen *seen, const Connection *connection, const Broken *with)
{
    const double meter = connection->low_impedance ? CIRCUIT_LOW_IMPEDANCE_OHM : CIRCUIT_VOLTMETER_OHM,
                 impedance = (double)cabsl(seen->impedance),
                 share = meter / (double)cabsl(seen->impedance + meter),
                 value = (double)cabsl(seen->open_volt) * share, supply = 0.025 * value,
                 ghost = 0.5 * value * impedance / (impedance + meter);
    return (Figure){value, sqrt(tolerance_square(seen, with, false, -1) * share * share + ghost * ghost +
                                supply * supply)};
}

/* The one branch between the two marks; -1 when there is none or more than one. */
static int branch_between(const Made *made, int from, int to)
{
    int found = -1;
    for (int b = 0; b < made->appliance.branch_count; b++) {
        const Branch *branch = &made->branches[b];
        if ((branch->from != from || branch->to != to) && (branch->from != to || branch->to != from))
            continue;
        if (found >= 0) return -1;
        found = b;
    }
    return found;
}

/* I = y u: u moves with the others' tolerances, I with its own resistance by -I (1 - y Z). */
static Figure read_ampere(const Seen *seen, const Connection *connection, const Broken *with)
{
    const int own = branch_between(seen->net.made, connection->from, connection->to);
    const Wide admittance = seen->net.admittance[own];
    const double value = (double)cabsl(admittance * seen->drive[own]), supply = 0.025 * value,
                 tolerance = is_faulted(&seen->net, with, own) ? 0 : seen->net.made->branches[own].tolerance,
                 of_own = tolerance * value * (double)cabsl(1 - admittance * seen->impedance),
                 per_volt = (double)cabsl(admittance);
    return (Figure){value, sqrt(tolerance_square(seen, with, false, own) * per_volt * per_volt +
                                of_own * of_own + supply * supply)};
}

static Figure take(const Made *made, const Meter *meter, const Connection *connection, const Broken *with)
{
    static const MeterMode modes[] = {
        [READING_OHM] = METER_OHM, [READING_VOLT] = METER_VOLT, [READING_AMP] = METER_AMPERE};
    static const double least[] = {[READING_OHM] = 0.1, [READING_VOLT] = 0.4, [READING_AMP] = 0.08};
    static Seen seen;
    look_from(made, connection, with, &seen);
    const ReadingKind kind = connection->kind;
    const Figure figure = kind == READING_OHM    ? (Figure){(double)creall(seen.impedance),
                                                            sqrt(tolerance_square(&seen, with, true, -1))}
                          : kind == READING_VOLT ? read_volt(&seen, connection, with)
                                                 : read_ampere(&seen, connection, with);
    const double leads = kind == READING_OHM ? meter->lead_ohm : 0, shown = figure.shown + leads;
    if (meter_is_over(meter, modes[kind], shown)) return (Figure){INFINITY, 0};
    const double of_meter = meter_uncertainty(meter, modes[kind], shown);
    return (Figure){shown,
                    sqrt(figure.spread * figure.spread + of_meter * of_meter +
                         1e-4 * figure.shown * figure.shown + leads * leads / 3 + least[kind] * least[kind])};
}

/* --- the density of a reading --- */

static double normal(double x, double mean, double spread)
{
    return exp(-0.5 * pow((x - mean) / spread, 2)) / (spread * sqrt(2 * MATH_PI));
}

static double open_density(bool is_ohm, double shown)
{
    if (isinf(shown)) return is_ohm ? 0.9 : 1;
    return is_ohm && shown >= 2e6 ? 0.1 / (shown * log(100)) : 0;
}

static double cdf(double z) { return 0.5 * erfc(-z / sqrt(2)); }

static double density(Figure low, Figure high, bool is_ohm, double shown)
{
    if (low.shown > high.shown) {
        const Figure held = low;
        low = high;
        high = held;
    }
    if (isinf(low.shown)) return open_density(is_ohm, shown);
    if (isinf(high.shown))
        return 0.5 * open_density(is_ohm, shown) +
               (isinf(shown) ? 0 : 0.5 * normal(shown, low.shown, low.spread));
    if (isinf(shown)) return 0;
    const double width = high.shown - low.shown;
    if (width < 2 * low.spread)
        return normal(shown, (low.shown + high.shown) / 2,
                      sqrt(pow(fmax(low.spread, high.spread), 2) + width * width / 12));
    const double inside = cdf((shown - low.shown) / low.spread) - cdf((shown - high.shown) / high.spread);
    const bool is_wide = low.shown > 0 && high.shown > 1.3 * low.shown;
    const double at = fmin(fmax(shown, low.shown), high.shown);
    return fmax(inside, 0) * (is_wide ? 1 / (at * log(high.shown / low.shown)) : 1 / width);
}

static double likelihood(const Made *made, const Meter *meter, const Entry *entry, const Broken *low,
                         const Broken *high)
{
    const bool is_ohm = entry->connection.kind == READING_OHM;
    const double shown = entry->value.is_over ? INFINITY : entry->value.value;
    const double fits = density(take(made, meter, &entry->connection, low),
                                take(made, meter, &entry->connection, high), is_ohm, shown);
    double slip = entry->connection.kind == READING_VOLT ? 1 / (1.2 * made->description.supply.volt)
                                                         : 1 / (2 * made->description.supply.breaker_ampere);
    if (is_ohm) slip = isinf(shown) ? 0.5 : 0.5 / (fmax(shown, 0.1) * log(1e9));
    return 0.99 * fits + 0.01 * slip;
}

/* --- all hypotheses --- */

typedef struct {
    Broken low, high;
    double prior, weight;
} Enumerated;

static double end_of(const Made *made, int fault, int slice, bool is_high)
{
    const Fault *described = &made->faults[fault];
    if (described->severity_count == 1) return described->severity[0];
    return described->severity[2 * slice + (is_high ? 2 : 0)];
}

static int enumerate(const Made *made, Enumerated *list)
{
    const double second = made->appliance.catalogue->second_fault;
    int count = 0;
    double sum = 0;
    list[count++] = (Enumerated){.prior = made->appliance.nothing_wrong_prior};
    for (int f = 0; f < made->appliance.fault_count; f++) {
        const int slices = made->faults[f].severity_count > 1 ? made->faults[f].severity_count / 2 : 1;
        for (int s = 0; s < slices; s++)
            list[count++] = (Enumerated){.low = {1, {f}, {end_of(made, f, s, false)}},
                                         .high = {1, {f}, {end_of(made, f, s, true)}},
                                         .prior = made->faults[f].prior * (1 - second) / slices};
        sum += made->faults[f].prior;
    }
    for (int a = 0; a < made->appliance.fault_count; a++)
        for (int b = a + 1; b < made->appliance.fault_count; b++) {
            if (made->faults[a].part == made->faults[b].part) continue;
            const int last_a = made->faults[a].severity_count / 2 - 1,
                      last_b = made->faults[b].severity_count / 2 - 1;
            list[count++] = (Enumerated){
                .low = {2, {a, b}, {end_of(made, a, 0, false), end_of(made, b, 0, false)}},
                .high = {2, {a, b}, {end_of(made, a, last_a, true), end_of(made, b, last_b, true)}},
                .prior = second * 2 * made->faults[a].prior * made->faults[b].prior / sum};
        }
    assert_true(count <= MOST_HYPOTHESES);
    return count;
}

/* Probability of the faults of one group of the program's, from the enumeration. */
static double enumerated_probability(const Enumerated *list, int count, const HypothesisGroup *group)
{
    double sum = 0;
    for (int i = 0; i < count; i++) {
        const Broken *low = &list[i].low;
        bool is_same = low->count == group->count;
        for (int k = 0; k < group->count && is_same; k++) is_same = low->faults[k] == group->faults[k];
        if (is_same) sum += list[i].weight;
    }
    return sum;
}

/* --- random appliances and calls --- */

static const Catalogue catalogue = {.second_fault = 0.07};

static void add_fault(Made *made, RandomStream *stream, int branch, EffectType effect, double severity,
                      double to)
{
    const int fault = made_fault(made, branch, effect, severity);
    made->faults[fault].prior = 0.2 + random_uniform(stream);
    if (to <= severity) return;
    const int samples = 1 + (int)random_below(stream, 2);
    const Severity range = {.from = severity, .to = to, .is_log = true, .samples = samples};
    made->faults[fault].severity_count = KIND_POINTS(samples);
    for (int i = 0; i < KIND_POINTS(samples); i++)
        made->faults[fault].severity[i] = kind_severity_point(&range, i);
}

static void make(Made *made, RandomStream *stream)
{
    made_begin(made, MARKS);
    made->appliance.catalogue = &catalogue;
    made->description.supply.volt = 240;
    made->description.supply.breaker_ampere = 40;
    made_leg(made, 1, 0.05, 120, 0);
    made_leg(made, 2, 0.05, 120, 180);
    made_branch(made, BRANCH_GAP, 0, 3, 0);
    for (int m = 2; m < MARKS; m++) /* a chain, so that everything hangs together, and some more */
        made_branch(made, BRANCH_LINK, m - 1, m, 0.5 + 30 * random_uniform(stream));
    for (int extra = 0; extra < 3; extra++) {
        const int from = 1 + (int)random_below(stream, MARKS - 1),
                  to = 1 + (int)random_below(stream, MARKS - 1);
        if (from != to) made_branch(made, BRANCH_LINK, from, to, 5 + 60 * random_uniform(stream));
    }
    for (int b = 3; b < made->appliance.branch_count; b++)
        made->branches[b].tolerance = 0.05 * random_uniform(stream);
    add_fault(made, stream, 0, EFFECT_OPEN, 0, 0);
    add_fault(made, stream, 2, EFFECT_CLOSE, 2, 5000);
    for (int b = 3; b < made->appliance.branch_count; b++) {
        if (random_below(stream, 2)) add_fault(made, stream, b, EFFECT_OPEN, 0, 0);
        if (random_below(stream, 2)) add_fault(made, stream, b, EFFECT_ADD_OHM, 10, 200);
        if (random_below(stream, 3) == 0) add_fault(made, stream, b, EFFECT_SCALE, 2, 0);
    }
    double sum = 1; /* 'nothing wrong' */
    for (int f = 0; f < made->appliance.fault_count; f++) sum += made->faults[f].prior;
    for (int f = 0; f < made->appliance.fault_count; f++) made->faults[f].prior /= sum;
    made->appliance.nothing_wrong_prior = 1 / sum;
}

static Entry read_something(const Made *made, const Meter *meter, RandomStream *stream, const Broken *truth)
{
    Entry entry = {.kind = ENTRY_READING, .part = -1};
    Connection *connection = &entry.connection;
    connection->kind = (ReadingKind)random_below(stream, 3);
    connection->power_on = connection->kind != READING_OHM;
    connection->low_impedance = connection->kind == READING_VOLT && random_below(stream, 2);
    do {
        connection->from = 1 + (int)random_below(stream, MARKS - 1);
        connection->to = (int)random_below(stream, MARKS);
    } while (connection->to == connection->from ||
             (connection->to == 0 && connection->kind != READING_VOLT) ||
             (connection->kind == READING_AMP && branch_between(made, connection->from, connection->to) < 0));
    const Figure figure = take(made, meter, connection, truth);
    entry.value.is_over = isinf(figure.shown);
    entry.value.value =
        isinf(figure.shown) ? INFINITY : fmax(figure.shown + figure.spread * random_normal(stream), 0);
    return entry;
}

static double worst;

static void compare(const Made *made, const Meter *meter, const Call *call, Enumerated *list, int count)
{
    Arena arena = arena_new((size_t)64 << 20);
    DiagnosisModel model;
    Standing standing;
    Error error;
    assert_true(diagnosis_begin(&made->appliance, 22, meter, NULL, &arena, &model, &error));
    assert_true(diagnose(&model, call, &arena, &standing, &error));
    assert_near(model.left_out, 0, 0);
    double sum = 0;
    for (int i = 0; i < count; i++) {
        list[i].weight = list[i].prior;
        for (int e = 0; e < call->entry_count; e++)
            list[i].weight *= likelihood(made, meter, &call->entries[e], &list[i].low, &list[i].high);
        sum += list[i].weight;
    }
    for (int i = 0; i < count; i++) list[i].weight /= sum;
    for (int s = 0; s < standing.suspect_count; s++) {
        const double expected =
            enumerated_probability(list, count, &model.groups[standing.suspects[s].group]);
        worst = fmax(worst, fabs(standing.suspects[s].probability - expected));
        assert_near(standing.suspects[s].probability, expected, 1e-9);
    }
    assert_near(standing.nothing_wrong.probability, list[0].weight, 1e-9);
    arena_free(&arena);
}

static void production_agrees_with_enumeration(void **state)
{
    (void)state;
    static Made made;
    static Enumerated list[MOST_HYPOTHESES];
    RandomStream stream = random_stream(SEED);
    const Meter meter = meter_default();
    int hypotheses = 0, readings = 0;
    for (int a = 0; a < APPLIANCES; a++) {
        Entry entries[MOST_ENTRIES];
        make(&made, &stream);
        const int count = enumerate(&made, list);
        const Broken truth = list[random_below(&stream, (uint32_t)count)].low;
        const int entry_count = 1 + (int)random_below(&stream, MOST_ENTRIES);
        for (int e = 0; e < entry_count; e++) entries[e] = read_something(&made, &meter, &stream, &truth);
        const Call call = {.title = "", .entries = entries, .entry_count = entry_count, .meter = meter};
        compare(&made, &meter, &call, list, count);
        hypotheses += count;
        readings += entry_count;
    }
    print_message(
        "seed %d: %d appliances, %d hypotheses, %d readings; largest difference of a probability %.2g\n",
        SEED, APPLIANCES, hypotheses, readings, worst);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(production_agrees_with_enumeration)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
