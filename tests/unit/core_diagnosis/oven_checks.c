/* oven_checks.c: checks of the whole oven (run, spot, displays, questions): what they would say, against what
 * drawn ovens say, and what an owner's answer and an adjustment do to the suspects.
 *
 * Sources: 25 F (14 K) off the set temperature as what is still called right is common practice, no source;
 * the same holds for the words of a technician that sort_run spells out. Chances of words are those of
 * data/parts/words.yaml; by hand where it says so. */
#include <math.h>
#include <string.h>

#include "base/mathematics.h"
#include "core/diagnosis/diagnosis_private.h"
#include "support/baked.h"
#include "support/near.h"
#include "support/shipped.h"
#include "support/visit.h"

enum { SEED = 350, DRAWN = 60 };
static const size_t MIB = (size_t)1 << 20;

static int find_check(const Appliance *appliance, CheckKind kind, const char *word)
{
    for (int c = 0; c < appliance->check_count; c++) {
        const Check *check = &appliance->checks[c];
        if (check->kind == kind &&
            (kind != CHECK_ASK || check->word == kind_find_complaint(appliance->catalogue, word)))
            return c;
    }
    return -1;
}

static int hypothesis(const Visit *visit, const char *fault, int slice)
{
    if (!fault) return 0;
    const int number = appliance_find_fault(&visit->appliance, fault);
    if (number < 0) fail_msg("no fault %s", fault);
    assert_true(slice < visit->model.groups[1 + number].hypothesis_count);
    return visit->model.groups[1 + number].first_hypothesis + slice;
}

/* --- every appliance, every hypothesis --- */

static void hold_sums(const Visit *visit, const Prediction *prediction)
{
    assert_true(prediction->outcome_count >= 2 && prediction->outcome_count <= 12);
    for (int h = 0; h < visit->model.hypothesis_count; h++) {
        const double *chance = &prediction->chance[h * DIAGNOSIS_MOST_OUTCOMES];
        double sum = 0;
        for (int o = 0; o < prediction->outcome_count; o++) {
            assert_true(chance[o] > 0 && chance[o] < 1); /* nothing is ruled out */
            sum += chance[o];
        }
        assert_near(sum, 1, 1e-9);
    }
}

/* One outcome of a run is right, and it is what a sound oven shows most. */
static void hold_right(const Prediction *prediction)
{
    int right = 0, best = 0;
    for (int o = 0; o < prediction->outcome_count; o++) {
        right += prediction->outcomes[o].is_right;
        if (prediction->chance[o] > prediction->chance[best]) best = o;
    }
    assert_int_equal(right, 1);
    assert_true(prediction->outcomes[best].is_right);
    assert_true(prediction->chance[best] > 0.75);
}

static void chances_sum_to_one_everywhere(void **state)
{
    (void)state;
    for (int a = 0; a < SHIPPED_COUNT; a++) {
        static Visit visit;
        static int which[4000];
        Error error;
        visit_begin(&visit, shipped_names[a]);
        assert_true(visit.model.hypothesis_count <= 4000);
        for (int h = 0; h < visit.model.hypothesis_count; h++) which[h] = h;
        int kinds[CHECK_ASK + 1] = {0};
        for (int c = 0; c < visit.appliance.check_count; c++) {
            const CheckKind kind = visit.appliance.checks[c].kind;
            Arena arena = arena_new(4 * MIB);
            Prediction prediction;
            if (kind < CHECK_RUN) continue;
            assert_true(diagnosis_predict(&visit.model, NULL, c, which, visit.model.hypothesis_count, &arena,
                                          &prediction, &error));
            hold_sums(&visit, &prediction);
            if (kind == CHECK_RUN) hold_right(&prediction);
            kinds[kind]++;
            arena_free(&arena);
        }
        assert_int_equal(kinds[CHECK_RUN], 1);
        assert_int_equal(kinds[CHECK_SPOT], 1);
        assert_int_equal(kinds[CHECK_CODE], visit.appliance.control >= 0);
        assert_true(kinds[CHECK_ASK] > 12);
        visit_end(&visit);
    }
}

/* Seven more ovens are all that a run costs once a complaint was weighed. */
static void a_run_is_predicted_without_new_simulations(void **state)
{
    Visit *visit = *state;
    const int sound = 0;
    Prediction prediction;
    Error error;
    assert_true(diagnosis__find_conditions(&visit->model, &error));
    const int before = visit->model.memory->simulated;
    assert_true(diagnosis_predict(&visit->model, NULL, find_check(&visit->appliance, CHECK_RUN, NULL), &sound,
                                  1, &visit->answers, &prediction, &error));
    assert_true(visit->model.memory->simulated - before <= THERMAL_FAMILY_COUNT);
}

/* --- against drawn ovens --- */

/* What a technician would say of a log; the order of the outcomes is that of diagnosis.h. */
static int sort_run(const Run *run, double sound_preheat)
{
    const double set = 177, end = run->end_celsius, mean = run->mean_celsius.value;
    if (!isfinite(mean) || run->swing_kelvin.value < 4) return end < 70 ? 7 : end < set + 14 ? 8 : 9;
    if (mean < set - 40) return 4;
    if (mean < set - 14) return 3;
    if (mean > set + 40) return 6;
    if (mean > set + 14) return 5;
    if (run->preheat_second.value > 1.45 * sound_preheat) return 1;
    return run->swing_kelvin.value > 62 ? 2 : 0;
}

/* Ovens of the family, with a fault at the middle of its slice, baked and logged. The prediction knows less
 * than the drawn oven (it allows for what the model does not know, and for the rest of the slice), so it must
 * not be surer than they are, nor far from them. */
static void compare_with_drawn(Visit *visit, const char *fault, int slice, RandomStream *stream)
{
    const BakedTerms terms = {.traits = 1, .probe = 1, .noise_kelvin = 0.2};
    const int h = hypothesis(visit, fault, slice);
    const Hypothesis *drawn = &visit->model.hypotheses[h];
    double share[10] = {0}, distance = 0;
    Prediction prediction;
    Error error;
    assert_true(diagnosis_predict(&visit->model, NULL, find_check(&visit->appliance, CHECK_RUN, NULL), &h, 1,
                                  &visit->answers, &prediction, &error));
    const double sound = (double)diagnosis__usual(&visit->model, &error)->of[0].preheat_second;
    for (int i = 0; i < DRAWN; i++) {
        Arena arena = arena_new(16 * MIB);
        Run run;
        baked_run(&visit->model, drawn->variants, drawn->count, &terms, stream, &arena, &run);
        share[sort_run(&run, sound)] += 1.0 / DRAWN;
        arena_free(&arena);
    }
    for (int o = 0; o < 10; o++) distance += fabs(share[o] - prediction.chance[o]) / 2;
    print_message("  %-28s %d:", fault ? fault : "nothing wrong", slice);
    for (int o = 0; o < 10; o++) print_message(" %.2f/%.2f", prediction.chance[o], share[o]);
    print_message("  apart %.2f\n", distance);
    /* 60 draws alone are some 0.1 apart from their own distribution. */
    assert_true(distance < 0.3);
}

static void runs_of_drawn_ovens_come_out_as_predicted(void **state)
{
    Visit *visit = *state;
    RandomStream stream = random_stream(SEED);
    print_message("seed %d, predicted/drawn shares of each outcome\n", SEED);
    compare_with_drawn(visit, NULL, 0, &stream);
    compare_with_drawn(visit, "oven-sensor.high", 1, &stream);
    compare_with_drawn(visit, "oven-sensor.high", 2, &stream);
    compare_with_drawn(visit, "oven-sensor.low", 1, &stream);
    compare_with_drawn(visit, "control.reads-low", 0, &stream);
    compare_with_drawn(visit, "bake-relay.welded", 0, &stream);
    compare_with_drawn(visit, "bake-relay.high-resistance", 2, &stream);
    compare_with_drawn(visit, "supply.L1-lost", 0, &stream);
}

/* --- an outcome as an entry --- */

/* How many times likelier the entry made each group than 'nothing wrong', by the diagnosis. */
static void weigh_outcome(Visit *visit, int check, const Outcome *outcome, double *odds)
{
    Run run;
    Error error;
    visit_forget(visit);
    visit->entries[0] = diagnosis_entry(&visit->model, check, outcome, &run);
    assert_true(call_check_entry(&visit->appliance, &visit->entries[0], &error));
    assert_true(diagnosis_is_check(&visit->model, &visit->entries[0], check));
    visit->call.entry_count = 1;
    assert_true(diagnosis_weighs(&visit->model, &visit->entries[0]));
    visit_diagnose(visit);
    const double *after = visit->standing.probability;
    for (int h = 0; h < visit->model.hypothesis_count; h++)
        odds[h] = after[h] / after[0] / (visit->model.hypotheses[h].prior / visit->model.hypotheses[0].prior);
}

/* Where an outcome is foreseen at least five times as often as in a sound oven, or as seldom, its entry must
 * speak for the fault, or against it. An entry is one point of an outcome; of a fault that is far from that
 * point it says nothing. */
static void hold_direction(Visit *visit, int check)
{
    static int which[4000];
    static double odds[4000];
    Arena arena = arena_new(16 * MIB);
    Prediction prediction;
    Error error;
    int asked = 0, other_way = 0;
    const int singles = diagnosis__single_count(&visit->model);
    for (int h = 0; h < singles; h++) which[h] = h;
    assert_true(diagnosis_predict(&visit->model, NULL, check, which, singles, &arena, &prediction, &error));
    for (int o = 0; o < prediction.outcome_count; o++) {
        weigh_outcome(visit, check, &prediction.outcomes[o], odds);
        for (int h = 1; h < singles; h++) {
            const double ratio = prediction.chance[h * DIAGNOSIS_MOST_OUTCOMES + o] / prediction.chance[o];
            if (ratio < 5 && ratio > 0.2) continue;
            asked++;
            other_way += (ratio > 1) != (odds[h] > 1);
        }
    }
    print_message("  kind %d: %d of %d the other way\n", visit->appliance.checks[check].kind, other_way,
                  asked);
    assert_true(other_way <= 0.02 * asked);
    arena_free(&arena);
}

static void an_outcome_speaks_as_its_entry_does(void **state)
{
    Visit *visit = *state;
    static const CheckKind kinds[] = {CHECK_RUN, CHECK_SPOT, CHECK_OFFSET, CHECK_CODE};
    for (int k = 0; k < 4; k++) hold_direction(visit, find_check(&visit->appliance, kinds[k], NULL));
    for (int c = 0; c < visit->appliance.check_count; c++)
        if (visit->appliance.checks[c].kind == CHECK_ASK) hold_direction(visit, c);
}

/* An offset of -20 to -6 K (data/parts/kinds.yaml) is displayed as one that is set low. */
static void an_offset_is_displayed(void **state)
{
    Visit *visit = *state;
    const int which[] = {0, hypothesis(visit, "control.offset-low", 0),
                         hypothesis(visit, "control.offset-high", 1)};
    Prediction prediction;
    Error error;
    assert_true(diagnosis_predict(&visit->model, NULL, find_check(&visit->appliance, CHECK_OFFSET, NULL),
                                  which, 3, &visit->answers, &prediction, &error));
    assert_int_equal(prediction.outcome_count, 3);
    assert_true(prediction.chance[1] > 0.85); /* none: one owner in eight has set another */
    assert_true(prediction.chance[DIAGNOSIS_MOST_OUTCOMES] > 0.95);
    assert_true(prediction.chance[2 * DIAGNOSIS_MOST_OUTCOMES + 2] > 0.95);
}

/* --- answers --- */

static Entry *answer(Visit *visit, const char *word, bool is_yes)
{
    Entry *entry = &visit->entries[visit->call.entry_count++];
    *entry = (Entry){.kind = ENTRY_ASKED,
                     .part = -1,
                     .words = {kind_find_complaint(visit->appliance.catalogue, word)},
                     .word_count = 1,
                     .is_yes = is_yes};
    return entry;
}

/* P(fault) / P(nothing wrong). */
static double odds_of(Visit *visit, const char *fault)
{
    arena_free(&visit->answers);
    visit_diagnose(visit);
    return visit_probability(visit, fault) / visit_probability(visit, NULL);
}

/* light-out: 0.6 from a dead lamp on top of 0.01 otherwise, 0.01 from a sound oven; one answer in twenty is
 * wrong: yes 0.05 + 0.9 * 0.604 against 0.05 + 0.9 * 0.01, no the rest. */
static void an_answer_weighs_what_its_word_says(void **state)
{
    Visit *visit = *state;
    const double chance = 1 - 0.99 * 0.4, yes = 0.05 + 0.9 * chance, yes_sound = 0.05 + 0.9 * 0.01;
    const double before = odds_of(visit, "oven-lamp.open");
    Entry *asked = answer(visit, "light-out", true);
    assert_near(odds_of(visit, "oven-lamp.open") / before, yes / yes_sound, 1e-6);
    asked->is_yes = false;
    assert_near(odds_of(visit, "oven-lamp.open") / before, (1 - yes) / (1 - yes_sound), 1e-6);
    asked->is_struck = true;
    assert_near(odds_of(visit, "oven-lamp.open") / before, 1, 1e-12);
}

/* However often it is denied: each 'no' moves the odds by 19 to 1 at most, 0.95 against 0.05. */
static void a_mistaken_owner_rules_nothing_out(void **state)
{
    Visit *visit = *state;
    for (int w = 0; w < visit->appliance.catalogue->complaint_count; w++)
        for (int is_yes = 0; is_yes < 2; is_yes++) {
            visit_forget(visit);
            answer(visit, visit->appliance.catalogue->complaints[w].name, is_yes);
            visit_diagnose(visit);
            for (int s = 0; s < visit->standing.suspect_count; s++) {
                const double factor = visit->standing.suspects[s].factors[0];
                assert_true(factor > 1.0 / 19.001 && factor < 19.001);
            }
        }
}

/* A first complaint that leaves the lamp out says (1 - chance)^(1/4) of it. A denial after that, but for the
 * owner's mistakes, says (1 - chance)^(3/4): both together are one denial. */
static void silence_is_not_denied_twice(void **state)
{
    Visit *visit = *state;
    const double chance = 1 - 0.99 * 0.4;
    visit_complain(visit, "no-bake");
    const double before = odds_of(visit, "oven-lamp.open");
    answer(visit, "light-out", false);
    const double no = 0.05 + 0.9 * math_pow(1 - chance, 0.75), no_sound = 0.05 + 0.9 * math_pow(0.99, 0.75);
    const double after = odds_of(visit, "oven-lamp.open");
    assert_near(after / before, no / no_sound, 1e-6);
    /* The other way round: asked first, the complaint's silence about it says nothing. */
    visit_forget(visit);
    answer(visit, "light-out", false);
    const double denied = odds_of(visit, "oven-lamp.open");
    visit_complain(visit, "no-bake");
    const double with_complaint = odds_of(visit, "oven-lamp.open");
    visit_forget(visit);
    const double prior = odds_of(visit, "oven-lamp.open");
    visit_complain(visit, "no-bake");
    const double silent = odds_of(visit, "oven-lamp.open");
    const double silence = sqrt(sqrt((1 - chance) / 0.99));
    assert_near(with_complaint / denied, silent / prior / silence, 1e-6);
}

/* What the owner has said need not be asked, and tells nothing more when it is. */
static void what_was_said_is_known(void **state)
{
    Visit *visit = *state;
    const int check = find_check(&visit->appliance, CHECK_ASK, "light-out");
    const Entry *said = visit_complain(visit, "light-out");
    assert_true(diagnosis_is_check(&visit->model, said, check));
    assert_false(diagnosis_is_check(&visit->model, said, find_check(&visit->appliance, CHECK_ASK, "slow")));
    const double before = odds_of(visit, "oven-lamp.open");
    answer(visit, "light-out", true);
    assert_near(odds_of(visit, "oven-lamp.open"), before, 1e-9);
}

/* What the planner foresees of an answer is what the diagnosis then weighs, before and after a complaint. */
static void answers_are_foreseen_as_they_are_weighed(void **state)
{
    Visit *visit = *state;
    const int check = find_check(&visit->appliance, CHECK_ASK, "light-out");
    const int which[] = {0, hypothesis(visit, "oven-lamp.open", 0)};
    for (int has_complaint = 0; has_complaint < 2; has_complaint++) {
        Arena arena = arena_new(MIB);
        Prediction prediction;
        Error error;
        visit_forget(visit);
        if (has_complaint) visit_complain(visit, "no-bake");
        const double before = odds_of(visit, "oven-lamp.open");
        assert_true(
            diagnosis_predict(&visit->model, &visit->call, check, which, 2, &arena, &prediction, &error));
        Entry *asked = answer(visit, "light-out", false);
        for (int o = 0; o < 2; o++) {
            asked->is_yes = prediction.outcomes[o].kind == OUTCOME_YES;
            assert_near(odds_of(visit, "oven-lamp.open") / before,
                        prediction.chance[DIAGNOSIS_MOST_OUTCOMES + o] / prediction.chance[o], 1e-6);
        }
        arena_free(&arena);
    }
}

/* --- adjusted or replaced --- */

static double after_repair(Visit *visit, const char *part, const char *did, const char *fault)
{
    visit_forget(visit);
    visit_repair(visit, part)->text = did;
    visit_diagnose(visit);
    return visit_probability(visit, fault);
}

/* Probability of what of a fault the screw or the setting can take away. */
static double within_reach(const Visit *visit, const char *fault)
{
    const HypothesisGroup *group = &visit->model.groups[1 + appliance_find_fault(&visit->appliance, fault)];
    double sum = 0;
    for (int h = group->first_hypothesis; h < group->first_hypothesis + group->hypothesis_count; h++)
        if (diagnosis_is_within_reach(&visit->model, &visit->call, visit->call.entry_count,
                                      &visit->model.hypotheses[h], 0))
            sum += visit->standing.probability[h];
    return sum;
}

/* A repair without entries moves priors: 2 % of what it cures stays (it failed), the rest goes to 'nothing
 * wrong', or to the fault that is left of a pair. */
static void adjusting_cures_what_can_be_adjusted(void **state)
{
    (void)state;
    static Visit visit;
    visit_begin(&visit, "range-thermostat");
    visit_diagnose(&visit);
    const double low = visit_probability(&visit, "thermostat.calibrated-low"),
                 reached = within_reach(&visit, "thermostat.calibrated-low"),
                 off = visit_probability(&visit, "thermostat.bulb-off-clip"),
                 welded = visit_probability(&visit, "thermostat.bake-welded"),
                 sound = visit_probability(&visit, NULL);
    assert_true(reached > 0 && reached < low); /* the screw goes 50 F either way, the fault up to 50 K */
    assert_near(after_repair(&visit, "thermostat", "adjusted", "thermostat.calibrated-low"),
                low - 0.98 * reached, 1e-12);
    assert_near(visit_probability(&visit, "thermostat.bulb-off-clip"), 0.02 * off, 1e-12);
    assert_true(visit_probability(&visit, "thermostat.bake-welded") >=
                welded); /* and what pairs leave of it */
    assert_true(visit_probability(&visit, NULL) > sound + 0.97 * (reached + off));
    assert_near(after_repair(&visit, "thermostat", "replaced", "thermostat.bake-welded"), 0.02 * welded,
                1e-12);
    assert_near(visit_probability(&visit, "thermostat.calibrated-low"), 0.02 * low, 1e-12);
    assert_near(after_repair(&visit, "thermostat", "repaired", "thermostat.bake-welded"), 0.02 * welded,
                1e-12);
    /* An element has nothing to adjust. */
    visit_forget(&visit);
    visit_diagnose(&visit);
    const double open = visit_probability(&visit, "bake-element.open");
    assert_near(after_repair(&visit, "bake-element", "adjusted", "bake-element.open"), open, 1e-12);
    visit_end(&visit);
}

/* Adjusting a control does not mend the relay on it; replacing it does. */
static void adjusting_mends_nothing_that_comes_with_the_part(void **state)
{
    Visit *visit = *state;
    visit_diagnose(visit);
    const double open = visit_probability(visit, "bake-relay.open");
    assert_true(after_repair(visit, "control", "adjusted", "bake-relay.open") >= open);
    assert_true(after_repair(visit, "control", "replaced", "bake-relay.open") < 0.03 * open);
}

#define TEST(name) cmocka_unit_test_setup(name, visit_set_up)

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(chances_sum_to_one_everywhere),
        TEST(a_run_is_predicted_without_new_simulations),
        TEST(runs_of_drawn_ovens_come_out_as_predicted),
        TEST(an_outcome_speaks_as_its_entry_does),
        TEST(an_offset_is_displayed),
        TEST(an_answer_weighs_what_its_word_says),
        TEST(a_mistaken_owner_rules_nothing_out),
        TEST(silence_is_not_denied_twice),
        TEST(what_was_said_is_known),
        TEST(answers_are_foreseen_as_they_are_weighed),
        cmocka_unit_test(adjusting_cures_what_can_be_adjusted),
        TEST(adjusting_mends_nothing_that_comes_with_the_part),
    };
    return cmocka_run_group_tests(tests, visit_set_up_group, visit_tear_down_group);
}
