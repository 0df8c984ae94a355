/* likened.c: hypotheses that hardly matter are not simulated in a run but likened (nearby.c), pairs are put
 * together from their faults (usual.c). Held against the same run simulated under all of them, after a
 * complaint that suits it or misleads: the suspects stay as probable as they were. The bounds are ours.
 *
 * Runs come from the simulated oven (support/baked.h), of ovens drawn from its family. */
#include <math.h>
#include <string.h>

#include "core/diagnosis/diagnosis_private.h"
#include "support/baked.h"
#include "support/near.h"
#include "support/visit.h"

enum { SEED = 1128, MOST = 8000, EVERY = 7 };
static const BakedTerms DRAWN = {.traits = 1, .probe = 1, .noise_kelvin = 0.3};
static const double COLD_CELSIUS = 40; /* an oven without power, in a kitchen of 22 */
static const char *const COMPLAINTS[] = {"too-cool", "no-heat", "burnt-bottom"};

/* The probabilities of the standing so far, after the run, simulated under all hypotheses. */
static void weigh_all(Visit *visit, const Entry *run, double *weights)
{
    static double ones[MOST], log_likelihood[MOST];
    Error error;
    const int n = visit->model.hypothesis_count;
    assert_true(n <= MOST);
    for (int h = 0; h < n; h++) ones[h] = 1;
    const Simulated *all = diagnosis__simulate_entry(&visit->model, run, ones, &visit->answers, &error);
    assert_non_null(all);
    for (int h = 0; h < n; h++) {
        Residual seen = diagnosis__no_residual();
        log_likelihood[h] = log(diagnosis__run(&visit->model, run->run, all, h, &seen).all);
        log_likelihood[h] += log(diagnosis__complaint(&visit->model, &visit->call, 0, h, &seen).all);
        weights[h] = visit->model.hypotheses[h].prior;
    }
    diagnosis_update(weights, log_likelihood, n);
}

static double sum_of(const HypothesisGroup *group, const double *weights)
{
    double sum = 0;
    for (int s = 0; s < group->hypothesis_count; s++) sum += weights[group->first_hypothesis + s];
    return sum;
}

/* The largest difference of any suspect's probability. */
static double difference(const Visit *visit, const double *weights)
{
    double most = 0;
    for (int g = 0; g < visit->model.group_count; g++) {
        const HypothesisGroup *group = &visit->model.groups[g];
        most = fmax(most, fabs(sum_of(group, visit->standing.probability) - sum_of(group, weights)));
    }
    return most;
}

static double difference_after(Visit *visit, const char *complaint, int group, RandomStream *stream)
{
    static double weights[MOST];
    const HypothesisGroup *of = &visit->model.groups[group];
    const Hypothesis *truth = &visit->model.hypotheses[of->first_hypothesis + of->hypothesis_count / 2];
    visit_forget(visit);
    visit_complain(visit, complaint);
    visit_diagnose(visit);
    Run run;
    baked_run(&visit->model, truth->variants, truth->count, &DRAWN, stream, &visit->answers, &run);
    Entry *entry = &visit->entries[visit->call.entry_count++];
    *entry = baked_entry(&visit->model, &run);
    weigh_all(visit, entry, weights);
    visit_diagnose(visit);
    return difference(visit, weights);
}

/* Every seventh fault, after each complaint. */
static void likened_ones_change_little(const char *appliance)
{
    Visit visit;
    RandomStream stream = random_stream(SEED);
    double sum = 0, worst = 0;
    int count = 0;
    visit_begin(&visit, appliance);
    for (int g = 0; g < visit.model.group_count && visit.model.groups[g].count < 2; g += EVERY)
        for (size_t c = 0; c < sizeof COMPLAINTS / sizeof *COMPLAINTS; c++, count++) {
            const double moved = difference_after(&visit, COMPLAINTS[c], g, &stream);
            worst = fmax(worst, moved);
            sum += moved;
        }
    visit_end(&visit);
    print_message("%s, seed %d: %d runs, mean %.5f, worst %.5f\n", appliance, SEED, count, sum / count,
                  worst);
    assert_true(count > 50 && sum / count < 0.002 && worst < 0.03);
}

static void on_an_oven_with_a_thermostat(void **state)
{
    (void)state;
    likened_ones_change_little("oven-230");
}

static void on_an_oven_with_a_control(void **state)
{
    (void)state;
    likened_ones_change_little("wall-oven-convection");
}

/* What matters is simulated, the rest is not: a run costs a fraction of what all hypotheses would. */
static void a_run_is_simulated_where_it_matters(void **state)
{
    (void)state;
    Visit visit;
    RandomStream stream = random_stream(SEED);
    visit_begin(&visit, "oven-230");
    const int g = 1 + appliance_find_fault(&visit.appliance, "bake-element.open");
    Run run;
    Error error;
    const Hypothesis *truth = &visit.model.hypotheses[visit.model.groups[g].first_hypothesis];
    visit_complain(&visit, "pale-bottom");
    visit_diagnose(&visit);
    const int usual = visit.model.memory->simulated;
    baked_run(&visit.model, truth->variants, truth->count, &DRAWN, &stream, &visit.arena, &run);
    Entry *entry = &visit.entries[visit.call.entry_count++];
    *entry = baked_entry(&visit.model, &run);
    visit_diagnose(&visit);
    const int near = visit.model.memory->simulated - usual;
    static double ones[MOST];
    for (int h = 0; h < visit.model.hypothesis_count; h++) ones[h] = 1;
    assert_non_null(diagnosis__simulate_entry(&visit.model, entry, ones, &visit.answers, &error));
    const int all = visit.model.memory->simulated - usual;
    print_message("simulated for a run: %d of %d ovens\n", near, all);
    assert_true(near > 0 && near < all / 2);
    visit_end(&visit);
}

/* In the usual run, pairs that are put together from their faults: within what the model does not know of any
 * oven (its discrepancy), weighed by how often such pairs come. */
static void put_together(const char *appliance)
{
    static const Figure figures[] = {MEAN, SWING, PERIOD, PREHEAT, END};
    static double ones[MOST];
    Visit visit;
    Error error;
    visit_begin(&visit, appliance);
    const DiagnosisModel *model = &visit.model;
    for (int h = 0; h < model->hypothesis_count; h++) ones[h] = 1;
    const Simulated *usual = diagnosis__usual(&visit.model, &error);
    assert_non_null(usual);
    const Simulated *all = diagnosis__simulated(&visit.model, usual->function, usual->terms.set_celsius,
                                                usual->terms.second, ones, &visit.answers, &error);
    assert_non_null(all);
    double apart = 0, far = 0, sorts = 0, whole = 0, warmer = 0;
    int cold = 0;
    for (int h = diagnosis__single_count(model); h < model->hypothesis_count; h++) {
        double most = 0;
        bool same = true;
        for (size_t f = 0; f < sizeof figures / sizeof *figures; f++) {
            const double a = diagnosis__coordinate(&usual->of[h], figures[f]),
                         b = diagnosis__coordinate(&all->of[h], figures[f]);
            same &= isfinite(a) == isfinite(b);
            if (isfinite(a) && isfinite(b))
                most = fmax(most, fabs(a - b) / diagnosis__discrepancy(figures[f]));
        }
        const double end = (double)usual->of[h].end_celsius;
        if (end < COLD_CELSIUS) warmer = fmax(warmer, fabs((double)all->of[h].end_celsius - end));
        cold += end < COLD_CELSIUS;
        const double prior = model->hypotheses[h].prior;
        whole += prior;
        apart += prior * most;
        far += most > 1 ? prior : 0;
        sorts += same ? 0 : prior;
    }
    print_message(
        "%s: pairs %.3f discrepancies apart in the mean, %.2f %% by more than one, %.2f %% settle where the "
        "other does not\n",
        appliance, apart / whole, 100 * far / whole, 100 * sorts / whole);
    print_message("%d of them cold, within %.4f K\n", cold, warmer);
    assert_true(apart < 0.1 * whole && far < 0.02 * whole && sorts < 0.02 * whole);
    assert_true(cold > 200 && warmer < 8); /* a grounded element warms it by some */
    visit_end(&visit);
}

static void pairs_are_put_together(void **state)
{
    (void)state;
    put_together("wall-oven-convection");
    put_together("oven-230"); /* where a second fault wakes what the first has put out */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(on_an_oven_with_a_thermostat),
        cmocka_unit_test(on_an_oven_with_a_control),
        cmocka_unit_test(pairs_are_put_together),
        cmocka_unit_test(a_run_is_simulated_where_it_matters),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
