/* predict.c: outcomes of checks and their chances, over every check of shipped ovens. What must hold follows
 * from diagnosis.h: chances sum to 1, classes of displays follow each other, a hypothesis shows what it
 * predicts. */
#include <math.h>
#include <string.h>

#include "core/diagnosis/diagnosis.h"
#include "support/near.h"
#include "support/visit.h"

enum { ROWS = 60 };

/* 'Nothing wrong' and hypotheses from all over the list, pairs among them. */
static void choose_rows(const DiagnosisModel *model, int *which)
{
    for (int i = 0; i < ROWS; i++) which[i] = i * (model->hypothesis_count - 1) / (ROWS - 1);
}

static void chances_sum_to_one(const Prediction *prediction)
{
    for (int row = 0; row < ROWS; row++) {
        const double *chance = &prediction->chance[row * DIAGNOSIS_MOST_OUTCOMES];
        double sum = 0;
        for (int o = 0; o < prediction->outcome_count; o++) {
            assert_true(chance[o] >= 0 && chance[o] <= 1);
            sum += chance[o];
        }
        assert_near(sum, 1, 1e-9);
    }
}

static void classes_follow_each_other(const Prediction *prediction)
{
    const int last = prediction->outcome_count - 1;
    const Outcome *outcomes = prediction->outcomes;
    for (int o = 0; o < last; o++) {
        assert_true(outcomes[o].low <= outcomes[o].high);
        if (o + 1 < last) assert_near(outcomes[o].high, outcomes[o + 1].low, 0);
    }
    assert_true(isinf(outcomes[last].low)); /* OL has a class of its own */
}

/* Chance of a row in the outcome that another row shows most probably. */
static double chance_of_same(const Prediction *prediction, int row, int other)
{
    const double *likely = &prediction->chance[other * DIAGNOSIS_MOST_OUTCOMES];
    int most = 0;
    for (int o = 1; o < prediction->outcome_count; o++)
        if (likely[o] > likely[most]) most = o;
    return prediction->chance[row * DIAGNOSIS_MOST_OUTCOMES + most];
}

/* Between the full voltage under load and half of it lies what a thousand hypotheses would show, each hard to
 * tell from the next: the ends are foreseen as different all the same (6 ohms in a line of 17 take a quarter
 * of its voltage, by Ohm's law; it is known to 5 %). */
static void a_chain_of_neighbours_is_not_one_outcome(void **state)
{
    (void)state;
    static Visit visit;
    static int which[4000];
    Error error;
    visit_begin(&visit, "oven-230");
    const DiagnosisModel *model = &visit.model;
    const int poor = 1 + appliance_find_fault(&visit.appliance, "supply.L-poor-connection");
    Entry *asked = visit_volt(&visit, "L", "N", 230, "convection");
    int check = 0, count = 0;
    while (!diagnosis_is_check(model, asked, check)) check++;
    which[count++] = 0;
    which[count++] = model->groups[poor].first_hypothesis + model->groups[poor].hypothesis_count - 1;
    for (int h = 1; h < model->hypothesis_count && count < 600; h++)
        if (h != which[1]) which[count++] = h;
    Arena arena = arena_new((size_t)16 << 20);
    Prediction prediction;
    visit_forget(&visit);
    assert_true(diagnosis_predict(&visit.model, NULL, check, which, count, &arena, &prediction, &error));
    const double sound = chance_of_same(&prediction, 0, 0), faulty = chance_of_same(&prediction, 1, 0);
    print_message("as the sound oven: %.3f, with the bad connection %.3f\n", sound, faulty);
    assert_true(sound > 0.8 && faulty < 0.2);
    arena_free(&arena);
    visit_end(&visit);
}

static void every_check_is_predicted(void **state)
{
    (void)state;
    static const char *const names[] = {"range-thermostat", "wall-oven-convection"};
    for (int a = 0; a < 2; a++) {
        static Visit visit;
        int which[ROWS];
        Error error;
        visit_begin(&visit, names[a]);
        choose_rows(&visit.model, which);
        for (int c = 0; c < visit.appliance.check_count; c++) {
            Arena arena = arena_new((size_t)4 << 20);
            Prediction prediction;
            assert_true(diagnosis_predict(&visit.model, NULL, c, which, ROWS, &arena, &prediction, &error));
            assert_true(prediction.outcome_count >= 1 && prediction.outcome_count <= DIAGNOSIS_MOST_OUTCOMES);
            chances_sum_to_one(&prediction);
            if (visit.appliance.checks[c].from >= 0) classes_follow_each_other(&prediction);
            arena_free(&arena);
        }
        visit_end(&visit);
    }
}

static int check_between(const Appliance *appliance, CheckKind kind, const char *from, const char *to)
{
    for (int c = 0; c < appliance->check_count; c++) {
        const Check *check = &appliance->checks[c];
        if (check->kind == kind && check->from == appliance_find_mark(appliance, from) &&
            check->to == appliance_find_mark(appliance, to))
            return c;
    }
    fail_msg("no check between %s and %s", from, to);
    return -1;
}

/* A sound element and a broken one are two outcomes, each next to certain for its own hypothesis. */
static void sound_and_broken_are_two_outcomes(void **state)
{
    (void)state;
    static Visit visit;
    Error error;
    visit_begin(&visit, "range-relay-control");
    const int check = check_between(&visit.appliance, CHECK_OHM, "BK1", "BK2");
    const int open = appliance_find_fault(&visit.appliance, "bake-element.open");
    const int which[] = {0, visit.model.groups[1 + open].first_hypothesis};
    Arena arena = arena_new((size_t)1 << 20);
    Prediction prediction;
    assert_true(diagnosis_predict(&visit.model, NULL, check, which, 2, &arena, &prediction, &error));
    double overlap = 0;
    for (int o = 0; o < prediction.outcome_count; o++)
        overlap += fmin(prediction.chance[o], prediction.chance[DIAGNOSIS_MOST_OUTCOMES + o]);
    assert_true(overlap < 0.05);
    arena_free(&arena);
    visit_end(&visit);
}

/* The entry that a check would be is that check, whichever way round the probes were. */
static void an_entry_knows_its_check(void **state)
{
    (void)state;
    static Visit visit;
    const int sound = 0;
    visit_begin(&visit, "oven-230");
    for (int c = 0; c < visit.appliance.check_count; c++) {
        Arena arena = arena_new((size_t)1 << 20);
        Prediction prediction;
        Error error;
        Run run;
        assert_true(diagnosis_predict(&visit.model, NULL, c, &sound, 1, &arena, &prediction, &error));
        Entry entry = diagnosis_entry(&visit.model, c, &prediction.outcomes[0], &run);
        assert_true(diagnosis_is_check(&visit.model, &entry, c));
        arena_free(&arena);
        if (visit.appliance.checks[c].from < 0) continue;
        const int held = entry.connection.from;
        entry.connection.from = entry.connection.to;
        entry.connection.to = held;
        assert_true(diagnosis_is_check(&visit.model, &entry, c));
        entry.connection.power_on = !entry.connection.power_on;
        assert_false(diagnosis_is_check(&visit.model, &entry, c));
    }
    visit_end(&visit);
}

/* Two wires off are two wires off, whichever was written down first; one of them alone is another check. */
static void the_order_of_lifts_is_no_matter(void **state)
{
    (void)state;
    static Visit visit;
    visit_begin(&visit, "range-relay-control");
    const int check = check_between(&visit.appliance, CHECK_OHM, "BK1", "BK2");
    Check two = visit.appliance.checks[check];
    two.lifts[0] = appliance_find_mark(&visit.appliance, "BK1");
    two.lifts[1] = appliance_find_mark(&visit.appliance, "BK2");
    two.lift_count = 2;
    Appliance changed = visit.appliance;
    changed.checks = &two;
    changed.check_count = 1;
    DiagnosisModel model = visit.model;
    model.appliance = &changed;
    Entry entry = diagnosis_entry(&model, 0, &(Outcome){.low = 23, .high = 23}, NULL);
    assert_true(diagnosis_is_check(&model, &entry, 0));
    entry.connection.lifts[0] = two.lifts[1];
    entry.connection.lifts[1] = two.lifts[0];
    assert_true(diagnosis_is_check(&model, &entry, 0));
    entry.connection.lift_count = 1;
    assert_false(diagnosis_is_check(&model, &entry, 0));
    visit_end(&visit);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_check_is_predicted),
        cmocka_unit_test(a_chain_of_neighbours_is_not_one_outcome),
        cmocka_unit_test(sound_and_broken_are_two_outcomes),
        cmocka_unit_test(an_entry_knows_its_check),
        cmocka_unit_test(the_order_of_lifts_is_no_matter),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
