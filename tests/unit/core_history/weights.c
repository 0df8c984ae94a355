/* weights.c: priors updated by confirmed faults, against published posteriors and by what must hold of any.
 */
#include <math.h>

#include "base/random.h"
#include "core/history/history.h"
#include "support/near.h"

enum { SEED = 91127, ROUNDS = 500, MOST = 12 };

static int begin(void **state)
{
    static Arena arena;
    arena = arena_new(1 << 20);
    *state = &arena;
    return 0;
}

static int end(void **state)
{
    arena_free(*state);
    return 0;
}

/* Gelman et al., Bayesian Data Analysis, 3rd ed., section 3.4 (figures from memory): a poll of 727, 583 and
 * 137 answers under a uniform Dirichlet prior has the posterior Dirichlet(728, 584, 138). The prior is worth
 * three calls; with pooling held fixed by an enormous prior of its own nothing else moves. */
static void a_published_posterior(void **state)
{
    const double prior[] = {1.0 / 3, 1.0 / 3, 1.0 / 3}, count[] = {727, 583, 137};
    const int key[] = {0, 1, 2};
    const HistoryFamily family = {prior, key, count, 3};
    const HistoryTerms terms = {.prior_calls = 3, .pooling_calls = 1e12};
    double weights[3];
    HistoryShare share;
    Error error = {0};
    assert_true(history_weights(&family, 1, 3, &terms, 0, *state, weights, &share, &error));
    assert_near(weights[0], 728.0 / 1450, 1e-8);
    assert_near(weights[1], 584.0 / 1450, 1e-8);
    assert_near(weights[2], 138.0 / 1450, 1e-8);
    assert_near(share.own, 1447.0 / 1450, 1e-12);
    assert_near(share.prior, 3.0 / 1450, 1e-8);
}

/* Clayton and Kaldor 1987: with a gamma prior of shape and rate `a`, observed O and expected E have the
 * posterior mean (O + a) / (E + a). Two families, one key in common that fails three times as often as said;
 * the second family has no call of its own and still learns. */
static void one_family_learns_from_another(void **state)
{
    const double prior_a[] = {0.5, 0.3, 0.2}, count_a[] = {20, 70, 10};
    const double prior_b[] = {0.8, 0.2}, count_b[] = {0, 0};
    const int key_a[] = {0, 1, 2}, key_b[] = {0, 1};
    const HistoryFamily families[] = {{prior_a, key_a, count_a, 3}, {prior_b, key_b, count_b, 2}};
    const HistoryTerms terms = {.prior_calls = 50, .pooling_calls = 10};
    double weights[2];
    HistoryShare share;
    Error error = {0};
    assert_true(history_weights(families, 2, 3, &terms, 1, *state, weights, &share, &error));
    const double sound = (20 + 10.0) / (50 + 10), broken = (70 + 10.0) / (30 + 10);
    assert_near(weights[1], 0.2 * broken / (0.2 * broken + 0.8 * sound), 1e-12);
    assert_near(share.own, 0, 0);
    assert_near(share.prior + share.others, 1, 1e-12);
    assert_true(share.others > 0.5);
}

static void nothing_confirmed_changes_nothing(void **state)
{
    const double prior[] = {0.1, 0.6, 0.3}, count[] = {0, 0, 0};
    const int key[] = {0, 1, 1};
    const HistoryFamily family = {prior, key, count, 3};
    const HistoryTerms terms = history_default_terms();
    double weights[3];
    HistoryShare share;
    Error error = {0};
    assert_true(history_weights(&family, 1, 2, &terms, 0, *state, weights, &share, &error));
    for (int i = 0; i < 3; i++) assert_near(weights[i], prior[i], 1e-15);
    assert_near(share.prior, 1, 1e-15);
}

typedef struct {
    double prior[MOST], count[MOST];
    int key[MOST];
    HistoryFamily family;
} Drawn;

static void draw(RandomStream *stream, Drawn *drawn)
{
    double sum = 0;
    const int n = 2 + (int)random_below(stream, MOST - 2);
    for (int i = 0; i < n; i++) {
        drawn->prior[i] = random_uniform(stream);
        drawn->count[i] = random_below(stream, 3) ? 0 : random_below(stream, 40);
        drawn->key[i] = i ? 1 + (int)random_below(stream, 6) : 0;
        sum += drawn->prior[i];
    }
    for (int i = 0; i < n; i++) drawn->prior[i] /= sum;
    drawn->family = (HistoryFamily){drawn->prior, drawn->key, drawn->count, n};
}

/* Weights are shares; one more confirmed fault never makes it rarer; and with ever more calls they come to
 * what was confirmed, whatever the priors. */
static void what_holds_of_any_history(void **state)
{
    static Drawn drawn[3];
    RandomStream stream = random_stream(SEED);
    const HistoryTerms terms = history_default_terms();
    print_message("seed %d\n", SEED);
    for (int round = 0; round < ROUNDS; round++) {
        HistoryFamily families[3];
        for (int f = 0; f < 3; f++) {
            draw(&stream, &drawn[f]);
            families[f] = drawn[f].family;
        }
        double before[MOST], after[MOST], sum = 0, confirmed = 0;
        HistoryShare share;
        Error error = {0};
        const int n = families[0].fault_count, which = (int)random_below(&stream, (uint32_t)n);
        assert_true(history_weights(families, 3, 7, &terms, 0, *state, before, &share, &error));
        for (int i = 0; i < n; i++) sum += before[i];
        assert_near(sum, 1, 1e-12);
        assert_near(share.prior + share.others + share.own, 1, 1e-12);
        drawn[0].count[which]++;
        assert_true(history_weights(families, 3, 7, &terms, 0, *state, after, &share, &error));
        assert_true(after[which] > before[which]);
        for (int i = 0; i < n; i++) confirmed += drawn[0].count[i] *= 1e6;
        assert_true(history_weights(families, 3, 7, &terms, 0, *state, after, &share, &error));
        for (int i = 0; i < n; i++) assert_near(after[i], drawn[0].count[i] / confirmed, 1e-3);
        arena_free(*state);
    }
}

static void what_makes_no_sense_is_refused(void **state)
{
    double prior[] = {0.4, 0.6}, count[] = {0, 3};
    int key[] = {0, 1};
    const HistoryFamily family = {prior, key, count, 2};
    HistoryTerms terms = history_default_terms();
    double weights[2];
    HistoryShare share;
    Error error = {0};
    prior[0] = 0.5;
    assert_false(history_weights(&family, 1, 2, &terms, 0, *state, weights, &share, &error));
    prior[0] = 0.4;
    count[1] = -1;
    assert_false(history_weights(&family, 1, 2, &terms, 0, *state, weights, &share, &error));
    count[1] = NAN;
    assert_false(history_weights(&family, 1, 2, &terms, 0, *state, weights, &share, &error));
    count[1] = 3;
    key[1] = 2;
    assert_false(history_weights(&family, 1, 2, &terms, 0, *state, weights, &share, &error));
    key[1] = 1;
    terms.prior_calls = 0;
    assert_false(history_weights(&family, 1, 2, &terms, 0, *state, weights, &share, &error));
    assert_string_equal(error.found, "weight of the priors");
}

/* ---- calls */

static void a_callback_corrects(void **state)
{
    (void)state;
    double counts[4];
    HistoryCall calls[] = {
        {.family = 1, .faults = {2}, .fault_count = 1, .closings = 1, .visits = 1, .minute = 60},
        {.family = 1, .faults = {3}, .fault_count = 1, .closings = 2, .visits = 2, .minute = 140}, /* 2 at
                                                                                                      first */
        {.family = 1, .faults = {0}, .fault_count = 1, .closings = 1, .visits = 1, .minute = 40},
        {.family = 1, .faults = {1, 2}, .fault_count = 2, .closings = 1, .visits = 2, .minute = 120},
        {.family = 1, .closings = 0, .visits = 1, .minute = 30}, /* still open */
        {.family = 1, .closings = 1, .visits = 1, .minute = 20}, /* never confirmed */
        {.family = 0, .faults = {1}, .fault_count = 1, .closings = 1, .visits = 1, .minute = 50}};
    const int count = sizeof calls / sizeof calls[0];
    history_count(calls, count, 1, 4, counts);
    const double expected[] = {1, 1, 2, 1};
    for (int i = 0; i < 4; i++) assert_near(counts[i], expected[i], 0);
    const HistoryFigures figures = history_figures(calls, count, 1);
    assert_int_equal(figures.calls, 6);
    assert_int_equal(figures.closed, 5);
    assert_int_equal(figures.callbacks, 1);
    assert_int_equal(figures.first_visit, 3);
    assert_near(figures.minute, (60 + 140 + 40 + 120 + 20) / 5.0, 1e-12);
    assert_int_equal(history_figures(calls, count, -1).calls, 7);
}

/* Newcombe, Statistics in Medicine 17 (1998) 857, table I (figures from memory): Wilson's interval for 81 of
 * 263 is 0.2553 to 0.3662, for 15 of 148 0.0624 to 0.1605, for 0 of 20 0 to 0.1611, for 1 of 29 0.0061 to
 * 0.1718. */
static void the_interval_is_the_published_one(void **state)
{
    static const struct {
        int of, first;
        double low, high;
    } cases[] = {
        {263, 81, 0.2553, 0.3662}, {148, 15, 0.0624, 0.1605}, {20, 0, 0, 0.1611}, {29, 1, 0.0061, 0.1718}};
    static HistoryCall calls[263];
    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        for (int c = 0; c < cases[i].of; c++)
            calls[c] = (HistoryCall){.closings = c < cases[i].first ? 1 : 2, .visits = 1};
        const HistoryFigures figures = history_figures(calls, cases[i].of, -1);
        assert_near(figures.low, cases[i].low, 5e-5);
        assert_near(figures.high, cases[i].high, 5e-5);
    }
    const HistoryFigures none = history_figures(NULL, 0, -1);
    assert_true(isnan(none.first_visit_share) && isnan(none.low) && isnan(none.minute));
}

static void what_was_said_is_counted_by_tenths(void **state)
{
    (void)state;
    const HistoryCall calls[] = {{.closings = 1, .said = 0.92, .has_said = true, .came = true},
                                 {.closings = 1, .said = 0.98, .has_said = true, .came = false},
                                 {.closings = 1, .said = 1, .has_said = true, .came = true},
                                 {.closings = 1, .said = 0, .has_said = true, .came = false},
                                 {.closings = 1, .said = 0.5, .has_said = false},
                                 {.closings = 0, .said = 0.5, .has_said = true}};
    const HistoryFigures figures = history_figures(calls, 6, -1);
    assert_int_equal(figures.bins[9].count, 3);
    assert_int_equal(figures.bins[9].came, 2);
    assert_near(figures.bins[9].said, (0.92 + 0.98 + 1) / 3, 1e-12);
    assert_int_equal(figures.bins[0].count, 1);
    assert_int_equal(figures.bins[5].count, 0);
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, begin, end)
    const struct CMUnitTest tests[] = {
        TEST(a_published_posterior),
        TEST(one_family_learns_from_another),
        TEST(nothing_confirmed_changes_nothing),
        TEST(what_holds_of_any_history),
        TEST(what_makes_no_sense_is_refused),
        TEST(a_callback_corrects),
        TEST(the_interval_is_the_published_one),
        TEST(what_was_said_is_counted_by_tenths),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
