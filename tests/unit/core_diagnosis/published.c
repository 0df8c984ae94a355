/* published.c: the posterior code against published examples.
 *
 * Chest clinic: Lauritzen and Spiegelhalter, Local computations with probabilities on graphical structures
 * and their application to expert systems, J. R. Statist. Soc. B 50 (1988). All joint states are hypotheses,
 * each observation is an entry. Priors of tuberculosis .0104, lung cancer .055, bronchitis .45, and the
 * posteriors after a visit to Asia and dyspnoea (P(e) = .004501375) are as published software documentation
 * prints them; those with an X-ray are computed from the same tables by enumeration in another program.
 *
 * Polybox: de Kleer and Williams, Diagnosing multiple faults, Artificial Intelligence 32 (1987): three
 * multipliers, two adders, outputs read 10 and 12 where 12 and 12 are predicted. Structure from the paper,
 * from memory; figures by enumeration of the 32 states, in another program.
 *
 * Contaminated normal: after Box and Tiao, Biometrika 55 (1968); figures computed from the formula. */
#include <math.h>
#include <string.h>

#include "base/mathematics.h"
#include "core/diagnosis/diagnosis.h"
#include "support/near.h"

/* --- chest clinic --- */

enum {
    ASIA,
    TUBERCULOSIS,
    SMOKER,
    LUNG_CANCER,
    BRONCHITIS,
    XRAY,
    DYSPNOEA,
    VARIABLES,
    STATES = 1 << VARIABLES
};

static bool is_yes(int state, int variable) { return state >> variable & 1; }

static double chance(double of_yes, bool yes) { return yes ? of_yes : 1 - of_yes; }

static double joint(int state)
{
    const bool either = is_yes(state, TUBERCULOSIS) || is_yes(state, LUNG_CANCER);
    const double dyspnoea =
        either ? (is_yes(state, BRONCHITIS) ? 0.9 : 0.7) : (is_yes(state, BRONCHITIS) ? 0.8 : 0.1);
    return chance(0.01, is_yes(state, ASIA)) *
           chance(is_yes(state, ASIA) ? 0.05 : 0.01, is_yes(state, TUBERCULOSIS)) *
           chance(0.5, is_yes(state, SMOKER)) *
           chance(is_yes(state, SMOKER) ? 0.1 : 0.01, is_yes(state, LUNG_CANCER)) *
           chance(is_yes(state, SMOKER) ? 0.6 : 0.3, is_yes(state, BRONCHITIS)) *
           chance(either ? 0.98 : 0.05, is_yes(state, XRAY)) * chance(dyspnoea, is_yes(state, DYSPNOEA));
}

static void fill(double *weights)
{
    for (int s = 0; s < STATES; s++) weights[s] = joint(s);
}

/* Takes 'the variable is yes' or 'no' as an entry; returns ln P(entry | before). */
static double observe(double *weights, int variable, bool yes)
{
    double log_likelihood[STATES];
    for (int s = 0; s < STATES; s++) log_likelihood[s] = is_yes(s, variable) == yes ? 0 : -INFINITY;
    return diagnosis_update(weights, log_likelihood, STATES);
}

static double probability(const double *weights, int variable)
{
    double sum = 0;
    for (int s = 0; s < STATES; s++) sum += is_yes(s, variable) ? weights[s] : 0;
    return sum;
}

static void clinic_before_any_entry(void **state)
{
    (void)state;
    double weights[STATES];
    fill(weights);
    assert_near(probability(weights, TUBERCULOSIS), 0.0104, 1e-12);
    assert_near(probability(weights, LUNG_CANCER), 0.055, 1e-12);
    assert_near(probability(weights, BRONCHITIS), 0.45, 1e-12);
}

static void clinic_after_asia_and_dyspnoea(void **state)
{
    (void)state;
    double weights[STATES];
    fill(weights);
    const double log_evidence = observe(weights, ASIA, true) + observe(weights, DYSPNOEA, true);
    assert_near(math_exp(log_evidence), 0.004501375, 5e-10);
    assert_near(probability(weights, TUBERCULOSIS), 0.08775, 5e-6);
    assert_near(probability(weights, LUNG_CANCER), 0.09953, 5e-6);
    assert_near(probability(weights, BRONCHITIS), 0.81140, 5e-6);
}

static void clinic_with_an_xray(void **state)
{
    (void)state;
    double clear[STATES], shadow[STATES];
    fill(clear);
    observe(clear, ASIA, true);
    observe(clear, DYSPNOEA, true);
    memcpy(shadow, clear, sizeof clear);
    observe(clear, XRAY, false);
    assert_near(probability(clear, TUBERCULOSIS), 0.0022487, 5e-8);
    assert_near(probability(clear, LUNG_CANCER), 0.0025504, 5e-8);
    assert_near(probability(clear, BRONCHITIS), 0.8627608, 5e-8);
    observe(shadow, XRAY, true);
    assert_near(probability(shadow, TUBERCULOSIS), 0.3917117, 5e-8);
    assert_near(probability(shadow, LUNG_CANCER), 0.4442705, 5e-8);
    assert_near(probability(shadow, BRONCHITIS), 0.6288218, 5e-8);
}

static void order_of_entries_does_not_matter(void **state)
{
    (void)state;
    double one[STATES], other[STATES];
    fill(one);
    fill(other);
    observe(one, ASIA, true);
    observe(one, XRAY, true);
    observe(one, DYSPNOEA, true);
    observe(other, DYSPNOEA, true);
    observe(other, XRAY, true);
    observe(other, ASIA, true);
    for (int s = 0; s < STATES; s++) assert_near(one[s], other[s], 1e-15);
}

/* --- polybox --- */

/* Components A1, A2 (adders), M1, M2, M3 (multipliers); inputs 3, 2, 2, 3, 3. F = X + Y, G = Y + Z. */
enum { A1, A2, M1, M2, M3, COMPONENTS, SETS = 1 << COMPONENTS };

/* Is there any output of the broken components with which F = 10 and G = 12 come about? A broken one may show
 * anything; X = Z = 6 and Y = 6 where the multipliers work. */
static bool is_consistent(int broken)
{
    const bool x_free = broken >> M1 & 1, y_free = broken >> M2 & 1, z_free = broken >> M3 & 1;
    const bool f_free = broken >> A1 & 1, g_free = broken >> A2 & 1;
    for (int y = -50; y <= 50; y++) {
        if (!y_free && y != 6) continue;
        const bool f_fits = f_free || x_free || 6 + y == 10, g_fits = g_free || z_free || y + 6 == 12;
        if (f_fits && g_fits) return true;
    }
    return false;
}

static double prior_of(int broken)
{
    double product = 1;
    for (int c = 0; c < COMPONENTS; c++) product *= broken >> c & 1 ? 0.01 : 0.99;
    return product;
}

static double entropy_of(const double *weights) /* bits */
{
    double entropy = 0;
    for (int s = 0; s < SETS; s++)
        if (weights[s] > 0) entropy -= weights[s] * math_log(weights[s]) / math_log(2);
    return entropy;
}

static void polybox_candidates(void **state)
{
    (void)state;
    double weights[SETS], log_likelihood[SETS];
    for (int s = 0; s < SETS; s++) {
        weights[s] = prior_of(s);
        log_likelihood[s] = is_consistent(s) ? 0 : -INFINITY;
    }
    diagnosis_update(weights, log_likelihood, SETS);
    assert_near(weights[0], 0, 0); /* something is broken */
    assert_near(weights[1 << A1], 0.478026, 5e-7);
    assert_near(weights[1 << M1], 0.478026, 5e-7);
    assert_near(weights[1 << M2 | 1 << M3], 0.004829, 5e-7);
    assert_near(weights[1 << A2 | 1 << M2], 0.004829, 5e-7);
    assert_near(entropy_of(weights), 1.359445, 5e-7);
}

/* With the same chance for each of 16 values of what a candidate leaves open. What is settled of the outputs
 * X, Y, Z of the multipliers: by those that work, and by the adders that work, backwards. */
enum { VALUES = 16, OPEN = -100 };

static bool settle(int broken, int adder, int sum, int *one, int *other)
{
    const bool is_predicted = !(broken >> adder & 1) && *one != OPEN && *other != OPEN;
    if (broken >> adder & 1) return is_predicted;
    if (*one == OPEN && *other != OPEN) *one = sum - *other;
    if (*other == OPEN && *one != OPEN) *other = sum - *one;
    return is_predicted;
}

/* ln P(F = 10, G = 12 | broken); `settled` are X, Y, Z then. */
static double log_of_outputs(int broken, int *settled)
{
    const double open = -math_log(VALUES);
    for (int m = 0; m < 3; m++) settled[m] = broken >> (M1 + m) & 1 ? OPEN : 6;
    const bool f_is_predicted = settle(broken, A1, 10, &settled[0], &settled[1]);
    if (f_is_predicted && settled[0] + settled[1] != 10) return -INFINITY;
    const bool g_is_predicted = settle(broken, A2, 12, &settled[1], &settled[2]);
    if (g_is_predicted && settled[1] + settled[2] != 12) return -INFINITY;
    settle(broken, A1, 10, &settled[0], &settled[1]); /* what G told of Y tells of X */
    return (f_is_predicted ? 0 : open) + (g_is_predicted ? 0 : open);
}

/* Entropy to expect after one of X, Y, Z is read: 0 to 15, each value an entry of its own. */
static double entropy_after(const double *weights, int settled[][3], int probe)
{
    double expected = 0;
    for (int value = 0; value < VALUES; value++) {
        double after[SETS], log_likelihood[SETS];
        memcpy(after, weights, sizeof after);
        for (int s = 0; s < SETS; s++)
            log_likelihood[s] = settled[s][probe] == OPEN    ? -math_log(VALUES)
                                : settled[s][probe] == value ? 0
                                                             : -INFINITY;
        const double chance_of_value = math_exp(diagnosis_update(after, log_likelihood, SETS));
        expected += chance_of_value * entropy_of(after);
    }
    return expected;
}

static void polybox_measurement(void **state)
{
    (void)state;
    double weights[SETS], log_likelihood[SETS];
    int settled[SETS][3];
    for (int s = 0; s < SETS; s++) {
        weights[s] = prior_of(s);
        log_likelihood[s] = log_of_outputs(s, settled[s]);
    }
    diagnosis_update(weights, log_likelihood, SETS);
    assert_near(weights[1 << A1], 0.496225, 5e-7);
    assert_near(weights[1 << M1], 0.496225, 5e-7);
    assert_near(weights[1 << M2 | 1 << M3], 0.000313, 5e-7);
    assert_near(entropy_of(weights), 1.071352, 5e-7);
    assert_near(entropy_after(weights, settled, 0), 0.038337, 5e-7);
    assert_near(entropy_after(weights, settled, 1), 1.063548, 5e-7);
    assert_near(entropy_after(weights, settled, 2), 1.067007, 5e-7);
}

/* --- contaminated normal --- */

/* Odds of mean 3 against mean 0 after reading 8, spread 1, a slip anywhere in a range of 100. */
static double odds(double slip)
{
    const double means[2] = {0, 3};
    double weights[2] = {0.5, 0.5}, log_likelihood[2];
    for (int i = 0; i < 2; i++) {
        const double z = 8 - means[i];
        const double normal = math_exp(-0.5 * z * z) / sqrt(2 * MATH_PI);
        log_likelihood[i] = math_log((1 - slip) * normal + slip / 100);
    }
    diagnosis_update(weights, log_likelihood, 2);
    return weights[1] / weights[0];
}

static void one_slip_costs_a_bounded_amount(void **state)
{
    (void)state;
    assert_near(odds(0) / 2.9427e8, 1, 1e-4);
    assert_near(odds(0.01), 1.014719, 5e-7);
    assert_near(odds(0.05), 1.002825, 5e-7);
}

static void impossible_entries_leave_the_weights(void **state)
{
    (void)state;
    double weights[3] = {0.2, 0.3, 0.5};
    const double none[3] = {-INFINITY, -INFINITY, -INFINITY};
    assert_true(isinf(diagnosis_update(weights, none, 3)));
    assert_near(weights[0] + weights[1] + weights[2], 1, 1e-15);
    assert_near(weights[2], 0.5, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(clinic_before_any_entry),
        cmocka_unit_test(clinic_after_asia_and_dyspnoea),
        cmocka_unit_test(clinic_with_an_xray),
        cmocka_unit_test(order_of_entries_does_not_matter),
        cmocka_unit_test(polybox_candidates),
        cmocka_unit_test(polybox_measurement),
        cmocka_unit_test(one_slip_costs_a_bounded_amount),
        cmocka_unit_test(impossible_entries_leave_the_weights),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
