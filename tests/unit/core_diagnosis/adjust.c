/* adjust.c: what turning a thermostat does to the suspects, by what was measured before it.
 *
 * What follows from a reading that errs, a screw that goes so far and no further, and a new part is plain
 * reasoning, written beside each test; that a single reading within the cycle is off by up to half the swing
 * is arithmetic. The oven is the shipped range with a thermostat, whose screw goes 50 F (28 K) either way. */
#include <math.h>

#include "support/baked.h"
#include "support/near.h"
#include "support/visit.h"

enum { SEED = 46, SET_CELSIUS = 177 };
static const char *const low = "thermostat.calibrated-low", *const high = "thermostat.calibrated-high";

/* A run of an oven with this fault at one of its severities, or of a sound one. */
static Run *bake(Visit *visit, const char *fault, int slice)
{
    static const BakedTerms typical = {.traits = 0, .probe = 0, .noise_kelvin = 0.3};
    RandomStream stream = random_stream(SEED);
    Run *run = &visit->runs[visit->run_count++];
    const int group = fault ? 1 + appliance_find_fault(&visit->appliance, fault) : 0;
    const Hypothesis *truth = &visit->model.hypotheses[visit->model.groups[group].first_hypothesis + slice];
    baked_run(&visit->model, truth->variants, truth->count, &typical, &stream, &visit->arena, run);
    return run;
}

static void add(Visit *visit, const Run *run)
{
    visit->entries[visit->call.entry_count++] = baked_entry(&visit->model, run);
}

/* A run of the sound oven, but for its mean. */
static Run *add_run(Visit *visit, double off_kelvin)
{
    Run *run = bake(visit, NULL, 0);
    run->mean_celsius.value = run->set_celsius + off_kelvin;
    run->error_kelvin.value = off_kelvin;
    add(visit, run);
    return run;
}

/* The same with all of it moved: what follows is the same oven, and off in the same way. */
static void add_moved(Visit *visit, double off_kelvin)
{
    Run *run = add_run(visit, off_kelvin);
    run->overshoot_kelvin.value += off_kelvin;
    run->end_celsius += off_kelvin;
}

/* Alone or in a pair. */
static double with_any(const Visit *visit, const char *fault)
{
    const int wanted = appliance_find_fault(&visit->appliance, fault);
    double sum = 0;
    for (int h = 0; h < visit->model.hypothesis_count; h++) {
        const HypothesisGroup *group = &visit->model.groups[visit->model.hypotheses[h].group];
        for (int i = 0; i < group->count; i++)
            sum += group->faults[i] == wanted ? visit->standing.probability[h] : 0;
    }
    return sum;
}

static void diagnose_after(Visit *visit, const char *turned)
{
    if (turned) visit_adjust(visit, turned);
    visit_diagnose(visit);
}

static int visit_set_up_thermostat(void **state)
{
    static Visit visit;
    visit_begin(&visit, "range-thermostat");
    *state = &visit;
    return 0;
}

static int visit_tear_down_thermostat(void **state)
{
    visit_end(*state);
    return 0;
}

/* Turned by what a run showed, and the next run is right: that was it. */
static void a_run_tells_how_far(void **state)
{
    Visit *visit = *state;
    visit_complain(visit, "too-cool");
    add_run(visit, -24);
    visit_diagnose(visit);
    assert_true(visit_probability(visit, low) > 0.5);
    diagnose_after(visit, "thermostat");
    assert_true(visit_probability(visit, NULL) > 0.6 && visit_probability(visit, low) < 0.05);
    add_run(visit, 0);
    visit_diagnose(visit);
    assert_true(visit_probability(visit, low) < 0.01);
}

/* A reading of -20 K, turned by that, and still 23 K too cool: the screw has gone 20 of its 28 K, so what is
 * left is beyond it, and the thermostat is what is wrong, not the owner. */
static void what_the_screw_does_not_reach_is_found_out(void **state)
{
    Visit *visit = *state;
    visit_complain(visit, "too-cool");
    visit_spot(visit, SET_CELSIUS - 20, SET_CELSIUS);
    diagnose_after(visit, "thermostat");
    assert_true(visit_probability(visit, low) > 0.1); /* one reading is a poor measure */
    add_run(visit, -23);
    visit_diagnose(visit);
    assert_true(visit_probability(visit, low) > 0.5);
    const HypothesisGroup *group = &visit->model.groups[1 + appliance_find_fault(&visit->appliance, low)];
    for (int h = group->first_hypothesis; h < group->first_hypothesis + group->hypothesis_count; h++)
        assert_false(diagnosis_is_within_reach(&visit->model, &visit->call, visit->call.entry_count,
                                               &visit->model.hypotheses[h], 0));
    /* The same error without the turn before it is within reach. */
    visit_forget(visit);
    add_run(visit, -23);
    visit_diagnose(visit);
    assert_true(diagnosis_is_within_reach(&visit->model, &visit->call, visit->call.entry_count,
                                          &visit->model.hypotheses[group->first_hypothesis], 0));
}

/* Turned as far as it goes, a screw of 28 K leaves 4 of 32, and nobody turns it for 4; of 35 it leaves 7. */
static void the_last_kelvins_are_within_reach(void **state)
{
    Visit *visit = *state;
    static const double off[] = {-32, 32, -35, 35};
    const HypothesisGroup *group = &visit->model.groups[1 + appliance_find_fault(&visit->appliance, low)];
    for (size_t i = 0; i < sizeof off / sizeof *off; i++) {
        visit_forget(visit);
        add_run(visit, off[i]);
        assert_int_equal(diagnosis_is_within_reach(&visit->model, &visit->call, 1,
                                                   &visit->model.hypotheses[group->first_hypothesis], 0),
                         fabs(off[i]) < 33);
    }
}

/* An oven that cycles on its cutout, which opens at 160 C: it settles far too low, whatever its thermostat is
 * set to. Turned, it does the same again, and that tells the two apart: a turn fails once in fifty. */
static void what_cycles_on_its_cutout_does_not_mind_the_thermostat(void **state)
{
    static Visit visit;
    static const char *const early = "cutout.early";
    (void)state;
    visit_begin(&visit, "oven-230");
    visit_complain(&visit, "too-cool");
    const Run *run = bake(&visit, early, 0);
    assert_true(run->mean_celsius.value < SET_CELSIUS - 14);
    add(&visit, run);
    visit_diagnose(&visit);
    const double before = with_any(&visit, early) / with_any(&visit, low);
    visit_adjust(&visit, "thermostat");
    add(&visit, run);
    visit_diagnose(&visit);
    const double after = with_any(&visit, early) / with_any(&visit, low);
    print_message("settles at %.0f C; cutout over thermostat: %.3g, then %.3g\n", run->mean_celsius.value,
                  before, after);
    assert_true(after > 20 * before);
    visit_end(&visit);
}

/* An oven that was right, and was turned down on the word of one reading, is too cool by that now. */
static void a_bad_reading_spoils_a_good_oven(void **state)
{
    Visit *visit = *state;
    add_run(visit, 0);
    visit_spot(visit, SET_CELSIUS + 26, SET_CELSIUS);
    visit_diagnose(visit);
    const double sound = visit_probability(visit, NULL);
    assert_true(sound > visit_probability(visit, high));
    diagnose_after(visit, "thermostat");
    assert_true(with_any(visit, low) > 0.5);
    add(visit, bake(visit, low, 1));
    visit_diagnose(visit);
    assert_true(with_any(visit, low) > 0.5);
}

/* An oven whose owner has a bad thermometer is a sound one: turned down, it overshoots by as much less. So no
 * run tells the two apart, and what makes another oven gains nothing on them by the turn alone. */
static void a_turned_oven_is_the_same_oven(void **state)
{
    Visit *visit = *state;
    static const double WIDER = 1.35; /* so that a wide differential is in question */
    static const char *const misread = "use.bad-thermometer", *const wide = "thermostat.wide-differential";
    visit_complain(visit, "too-hot");
    add_run(visit, 12);
    Run *first = &visit->runs[visit->run_count - 1];
    first->overshoot_kelvin.value += 12;
    first->swing_kelvin.value *= WIDER;
    diagnose_after(visit, "thermostat");
    const double sound = visit_probability(visit, NULL) / visit_probability(visit, misread),
                 swings = visit_probability(visit, wide) / visit_probability(visit, misread);
    add_run(visit, 0);
    visit->runs[visit->run_count - 1].swing_kelvin.value *= WIDER;
    visit_diagnose(visit);
    const double sound_then = visit_probability(visit, NULL) / visit_probability(visit, misread),
                 swings_then = visit_probability(visit, wide) / visit_probability(visit, misread);
    assert_true(sound_then < 1.2 * sound && sound < 1.2 * sound_then);
    assert_true(swings_then < 2 * swings && swings < 2 * swings_then);
}

/* The oven heats up slowly; a new gasket and a new element, and it heats up just as slowly: it was neither.
 * What there was between a sound oven and one with a bad thermometer in it, which heat up alike, is again as
 * it was. */
static void what_goes_on_as_before_was_not_mended(void **state)
{
    Visit *visit = *state;
    static const char *const misread = "use.bad-thermometer", *const torn = "door-gasket.torn";
    visit_complain(visit, "slow");
    add(visit, bake(visit, torn, 1));
    visit_diagnose(visit);
    const double before = visit_probability(visit, NULL) / visit_probability(visit, misread);
    assert_true(visit_probability(visit, torn) > 0.1);
    visit_repair(visit, "door-gasket");
    visit_diagnose(visit);
    assert_true(visit_probability(visit, NULL) / visit_probability(visit, misread) > 2 * before);
    visit_repair(visit, "broil-element");
    add(visit, bake(visit, torn, 1));
    visit_diagnose(visit);
    const double after = visit_probability(visit, NULL) / visit_probability(visit, misread);
    assert_true(after < 1.5 * before && before < 1.5 * after);
}

/* A new thermostat has not been turned, whatever was done to the old one: right again is sound. */
static void a_new_part_has_not_been_turned(void **state)
{
    Visit *visit = *state;
    visit_complain(visit, "too-cool");
    visit_spot(visit, SET_CELSIUS - 20, SET_CELSIUS);
    visit_adjust(visit, "thermostat");
    add_moved(visit, -23);
    visit_repair(visit, "thermostat");
    add_moved(visit, 0);
    visit_diagnose(visit);
    assert_true(visit_probability(visit, NULL) > 0.6);
    assert_true(visit_probability(visit, low) + visit_probability(visit, high) < 0.02);
}

/* Turned up on a bad reading, so that a run shows it too hot, and then replaced: what the new one does has
 * nothing to do with how the old one stood, and a run that is right is right. */
static void a_new_part_does_not_stand_as_the_old_one_was_spoilt(void **state)
{
    Visit *visit = *state;
    visit_complain(visit, "slow");
    visit_spot(visit, SET_CELSIUS - 27, SET_CELSIUS);
    visit_adjust(visit, "thermostat");
    add_moved(visit, 22);
    visit_diagnose(visit);
    assert_true(with_any(visit, high) > 0.5);
    visit_repair(visit, "thermostat");
    add_moved(visit, -2);
    visit_diagnose(visit);
    assert_true(with_any(visit, high) < 0.01 && with_any(visit, low) < 0.01);
    assert_true(visit_probability(visit, NULL) > 0.4); /* the rest is what else makes an oven slow */
}

/* Weights stay weights, whatever is turned, how often and by how much. */
static void probabilities_still_sum_to_one(void **state)
{
    Visit *visit = *state;
    for (int k = 0; k < 5; k++) {
        visit_spot(visit, SET_CELSIUS + 40 * (k % 2 ? 1 : -1), SET_CELSIUS);
        diagnose_after(visit, "thermostat");
        double sum = 0;
        for (int h = 0; h < visit->model.hypothesis_count; h++) {
            assert_true(visit->standing.probability[h] >= 0);
            sum += visit->standing.probability[h];
        }
        assert_near(sum, 1, 1e-9);
    }
}

static int forget(void **state)
{
    visit_forget(*state);
    return 0;
}

#define TEST(name) cmocka_unit_test_setup(name, forget)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(a_run_tells_how_far),
        TEST(what_the_screw_does_not_reach_is_found_out),
        TEST(the_last_kelvins_are_within_reach),
        TEST(what_cycles_on_its_cutout_does_not_mind_the_thermostat),
        TEST(a_bad_reading_spoils_a_good_oven),
        TEST(a_turned_oven_is_the_same_oven),
        TEST(what_goes_on_as_before_was_not_mended),
        TEST(a_new_part_has_not_been_turned),
        TEST(a_new_part_does_not_stand_as_the_old_one_was_spoilt),
        TEST(probabilities_still_sum_to_one),
    };
    return cmocka_run_group_tests(tests, visit_set_up_thermostat, visit_tear_down_thermostat);
}
