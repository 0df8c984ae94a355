/* runs.c: what runs, spots and settings do to a call: what gains, what sinks, order, strikes, memory.
 *
 * Runs come from the simulated oven (support/baked.h); what follows from them is the trade's own reasoning,
 * written beside each test. Densities are temperature.c's affair. */
#include <math.h>
#include <string.h>

#include "support/baked.h"
#include "support/near.h"
#include "support/visit.h"

enum { SEED = 318, MOST = 8000 };
static const double FAHRENHEIT = 5.0 / 9;
static const BakedTerms TYPICAL = {.traits = 0, .probe = 0, .noise_kelvin = 0.3};

/* A run of an oven with these faults; it lives as long as the model. */
static Entry *add_run_with(Visit *visit, const int *variants, int count)
{
    RandomStream stream = random_stream(SEED);
    Run *run = ARENA_ARRAY(&visit->arena, Run, 1);
    assert_non_null(run);
    baked_run(&visit->model, variants, count, &TYPICAL, &stream, &visit->arena, run);
    Entry *entry = &visit->entries[visit->call.entry_count++];
    *entry = baked_entry(&visit->model, run);
    return entry;
}

/* A run of an oven with this fault, or none, at the middle of its severities. */
static Entry *add_run(Visit *visit, const char *fault)
{
    const HypothesisGroup *group =
        &visit->model.groups[fault ? 1 + appliance_find_fault(&visit->appliance, fault) : 0];
    const Hypothesis *truth = &visit->model.hypotheses[group->first_hypothesis + group->hypothesis_count / 2];
    return add_run_with(visit, truth->variants, truth->count);
}

/* --- spots and settings --- */

static double factor(const Visit *visit, const char *fault, int entry)
{
    const int wanted = appliance_find_fault(&visit->appliance, fault);
    for (int s = 0; s < visit->standing.suspect_count; s++) {
        const Suspect *suspect = &visit->standing.suspects[s];
        const HypothesisGroup *group = &visit->model.groups[suspect->group];
        if (group->count == 1 && group->faults[0] == wanted) return suspect->factors[entry];
    }
    fail_msg("no suspect %s", fault);
    return NAN;
}

/* 318 F in an oven set to 350 F: what makes it cooler gains, also on a sound oven; what makes it hotter
 * loses.
 */
static void a_cool_spot_points_to_what_cools(void **state)
{
    Visit *visit = *state;
    visit_spot(visit, (318 - 32) * FAHRENHEIT, (350 - 32) * FAHRENHEIT);
    visit_diagnose(visit);
    static const char *const cooler[] = {"control.reads-high", "control.offset-low", "oven-sensor.high"};
    static const char *const hotter[] = {"control.reads-low", "control.offset-high", "oven-sensor.low"};
    for (int i = 0; i < 3; i++) {
        assert_true(factor(visit, cooler[i], 0) > 2);
        assert_true(factor(visit, hotter[i], 0) < 0.5);
    }
    assert_true(visit->standing.nothing_wrong.factors[0] < factor(visit, cooler[0], 0) / 2);
}

static void a_hot_spot_points_the_other_way(void **state)
{
    Visit *visit = *state;
    visit_spot(visit, (382 - 32) * FAHRENHEIT, (350 - 32) * FAHRENHEIT);
    visit_diagnose(visit);
    assert_true(factor(visit, "control.reads-low", 0) > 2 && factor(visit, "control.reads-high", 0) < 0.5);
}

/* -30 F in the display is the fault itself; 0 F says that it is not there. The oven's own shift is left. */
static void a_displayed_offset_settles_the_matter(void **state)
{
    Visit *visit = *state;
    visit_complain(visit, "too-cool");
    visit_offset(visit, -30 * FAHRENHEIT);
    visit_diagnose(visit);
    assert_true(visit->model.groups[visit->standing.suspects[0].group].faults[0] ==
                appliance_find_fault(&visit->appliance, "control.offset-low"));
    assert_true(visit_probability(visit, "control.offset-low") > 0.5);
    visit->entries[1].value.value = 0;
    visit_diagnose(visit);
    assert_true(factor(visit, "control.offset-low", 1) < 1e-2);
    assert_true(factor(visit, "control.reads-high", 1) > 1);
}

/* One run of an oven far too hot after its broken wire was mended may be a slip, and few ovens have a second
 * fault; the same figures once more are no slip, and no trait of a sound oven either (common practice, no
 * source). Odds fall fivefold at least, where a slip that always repeated itself would leave them. */
static void twice_too_hot_is_no_slip(void **state)
{
    Visit *visit = *state;
    visit_look(visit, "bake-element", "dark", "bake");
    visit_ohm(visit, "BK1", "BK2", INFINITY, NULL);
    visit_repair(visit, "bake-element");
    add_run(visit, "control.reads-low");
    visit_diagnose(visit);
    const double once = visit_probability(visit, NULL) / visit_probability(visit, "control.reads-low");
    add_run(visit, "control.reads-low");
    visit_diagnose(visit);
    const double twice = visit_probability(visit, NULL) / visit_probability(visit, "control.reads-low");
    assert_true(twice < once / 5);
}

/* What one sound oven is off it may be off again: a second run that agrees says nothing against it. */
static void twice_right_is_right(void **state)
{
    Visit *visit = *state;
    add_run(visit, NULL);
    visit_diagnose(visit);
    const double once = visit_probability(visit, NULL);
    add_run(visit, NULL);
    visit_diagnose(visit);
    assert_true(visit_probability(visit, NULL) >= once);
}

/* An oven that heats up fast and swings looks like one with a relay that sticks, and most with a thermometer
 * at its sensor, too. With a new control it does the same, so that was not it; and of what is left, a sensor
 * out of its place against nothing at all, the second run says what the first has said already and nothing
 * more. */
static void what_a_new_part_leaves_as_it_was_was_something_else(void **state)
{
    (void)state;
    static Visit visit;
    static const Run run = {.mean_celsius = {181.4, 1.5},
                            .swing_kelvin = {39.3, 0.8},
                            .period_second = {600, 8},
                            .preheat_second = {594, 12},
                            .overshoot_kelvin = {20, 2},
                            .error_kelvin = {4.7, 1.5},
                            .has_sensor = true,
                            .sensor_celsius = {180, 1.5},
                            .sensor_swing_kelvin = {27.8, 0.8},
                            .cycles = 3,
                            .to_second = 3660};
    double odds[2];
    visit_begin(&visit, "range-hidden-bake");
    for (int runs = 0; runs < 2; runs++) {
        if (runs > 0) visit_repair(&visit, "control");
        visit.entries[visit.call.entry_count++] = baked_entry(&visit.model, &run);
        visit_diagnose(&visit);
        odds[runs] = visit_probability(&visit, NULL) / visit_probability(&visit, "oven-sensor.misplaced");
        print_message("sound %.3f, sensor out of its place %.4f\n", visit_probability(&visit, NULL),
                      visit_probability(&visit, "oven-sensor.misplaced"));
    }
    assert_true(odds[1] > odds[0] / 2 && odds[1] < odds[0] * 2);
    visit_end(&visit);
}

/* How far a sensor had drifted went with it, and is no trait of the oven: a right run after a new one speaks
 * for the oven, at whichever end of what was thought likely the drift was. */
static void a_right_run_clears_the_oven_however_far_the_fault_had_gone(void **state)
{
    Visit *visit = *state;
    const int fault = appliance_find_fault(&visit->appliance, "oven-sensor.high");
    const int first = visit->model.circuit.first_variant[fault],
              count = visit->appliance.faults[fault].severity_count;
    for (int s = 0; s < count; s++) {
        visit_forget(visit);
        visit_complain(visit, "too-cool");
        add_run_with(visit, &(int){first + s}, 1);
        visit_repair(visit, "oven-sensor");
        visit_diagnose(visit);
        const double before = visit_probability(visit, NULL);
        add_run(visit, NULL);
        visit_diagnose(visit);
        print_message("drift %d: sound %.3f before the run, %.3f after\n", s, before,
                      visit_probability(visit, NULL));
        assert_true(visit_probability(visit, NULL) > before);
    }
}

/* --- what holds of any call --- */

static void tell(Visit *visit)
{
    visit_complain(visit, "too-cool");
    add_run(visit, "control.reads-high");
    visit_spot(visit, 152, 177);
    visit_offset(visit, 0);
    visit_ohm(visit, "S1", "S2", 1085, NULL);
}

static void the_order_does_not_matter(void **state)
{
    Visit *visit = *state;
    tell(visit);
    const double *ahead = visit_probabilities(visit);
    Entry backwards[VISIT_MOST_ENTRIES];
    const int count = visit->call.entry_count;
    for (int e = 0; e < count; e++) backwards[e] = visit->entries[count - 1 - e];
    memcpy(visit->entries, backwards, (size_t)count * sizeof *backwards);
    const double *back = visit_probabilities(visit);
    for (int h = 0; h < visit->model.hypothesis_count; h++) assert_near(back[h], ahead[h], 1e-12);
}

static void struck_ones_count_nothing(void **state)
{
    Visit *visit = *state;
    static double kept[MOST];
    assert_true(visit->model.hypothesis_count <= MOST);
    tell(visit);
    memcpy(kept, visit_probabilities(visit), (size_t)visit->model.hypothesis_count * sizeof *kept);
    visit_forget(visit);
    add_run(visit, "bake-element.open")->is_struck = true;
    visit_spot(visit, 250, 177)->is_struck = true;
    visit_offset(visit, 15)->is_struck = true;
    tell(visit);
    visit_assert_same_bits(visit, kept, visit_probabilities(visit));
}

/* What a person notes of the same run: mean, swing, period, preheat and overshoot, each to a few degrees or
 * half a minute (the uncertainties of format/call_yaml). It says the same, with a little less certainty. */
static void figures_read_by_hand_say_the_same(void **state)
{
    Visit *visit = *state;
    static const char *const faults[] = {"control.reads-high", "oven-sensor.low", "bake-relay.sticks"};
    for (int f = 0; f < 3; f++) {
        visit_forget(visit);
        Entry *entry = add_run(visit, faults[f]);
        visit_diagnose(visit);
        const Standing of_log = visit->standing;
        const Run *log = entry->run;
        const Run by_hand = {.mean_celsius = {round(log->mean_celsius.value), 5},
                             .error_kelvin = {NAN, 5},
                             .swing_kelvin = {round(log->swing_kelvin.value), 5},
                             .period_second = {30 * round(log->period_second.value / 30), 30},
                             .preheat_second = {30 * round(log->preheat_second.value / 30), 40},
                             .overshoot_kelvin = {round(log->overshoot_kelvin.value), 6},
                             .duty = {NAN, NAN},
                             .is_settled = true};
        entry->run = &by_hand;
        visit_diagnose(visit);
        double apart = 0; /* total variation */
        for (int h = 0; h < visit->model.hypothesis_count; h++)
            apart += fabs(visit->standing.probability[h] - of_log.probability[h]) / 2;
        print_message("%s: %.3f apart\n", faults[f], apart);
        assert_true(apart < 0.2);
    }
}

/* --- a second thermometer --- */

static double after_run(Visit *visit, const char *truth, int slice, bool at_sensor, const char *suspect)
{
    const BakedTerms terms = {.traits = 0, .probe = 0, .noise_kelvin = 0.3, .at_sensor = at_sensor};
    RandomStream stream = random_stream(SEED);
    Run run;
    const int group = truth ? 1 + appliance_find_fault(&visit->appliance, truth) : 0;
    const Hypothesis *made = &visit->model.hypotheses[visit->model.groups[group].first_hypothesis + slice];
    visit_forget(visit);
    visit_complain(visit, "too-cool");
    baked_run(&visit->model, made->variants, made->count, &terms, &stream, &visit->arena, &run);
    visit->entries[visit->call.entry_count++] = baked_entry(&visit->model, &run);
    visit_diagnose(visit);
    return suspect ? visit_probability(visit, suspect) : visit_probabilities(visit)[0];
}

/* At the bulb a thermostat shows itself: what it is set to hold, and how far apart it switches. In the middle
 * of the oven seal, insulation and air have their share, and a sound oven that swings looks like a thermostat
 * that does not switch on in time. */
static void the_bulb_tells_the_thermostat_from_the_oven(void **state)
{
    (void)state;
    static Visit visit;
    static const struct {
        const char *truth, *suspect;
        int slice;
        double more; /* times likelier, at least */
    } cases[] = {{"thermostat.wide-differential", "thermostat.wide-differential", 0, 1.5},
                 {"thermostat.calibrated-low", "thermostat.calibrated-low", 1, 1.2},
                 {"door-gasket.torn", "thermostat.calibrated-low", 0, 0},
                 {NULL, "thermostat.wide-differential", 0, 0}};
    visit_begin(&visit, "range-thermostat");
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        const double without = after_run(&visit, cases[i].truth, cases[i].slice, false, cases[i].suspect),
                     with = after_run(&visit, cases[i].truth, cases[i].slice, true, cases[i].suspect);
        print_message("%s, when it is %s: %.4f without, %.4f with\n", cases[i].suspect,
                      cases[i].truth ? cases[i].truth : "sound", without, with);
        if (cases[i].more > 0)
            assert_true(with / (1 - with) > cases[i].more * without / (1 - without));
        else
            assert_true(with < without);
    }
    visit_end(&visit);
}

/* --- memory --- */

static void diagnose_with(const Visit *visit, BehaviourMemory *memory, Arena *arena, double *kept)
{
    DiagnosisModel model;
    Standing standing;
    Error error;
    assert_true(diagnosis_begin(&visit->appliance, 22, &visit->call.meter, memory, arena, &model, &error));
    assert_true(diagnose(&model, &visit->call, arena, &standing, &error));
    assert_int_equal(model.hypothesis_count, visit->model.hypothesis_count);
    memcpy(kept, standing.probability, (size_t)model.hypothesis_count * sizeof *kept);
}

/* Fresh, filled by the same call, filled by another, written and read again: the same bits, and what is
 * remembered is not simulated again. */
static void memory_changes_no_bit(void **state)
{
    Visit *visit = *state;
    static double fresh_ones[MOST], again[MOST];
    Arena arena = arena_new((size_t)1 << 30);
    BehaviourMemory memory, read;
    Error error;
    tell(visit);
    assert_true(behaviour_begin(&arena, &memory, &error) && behaviour_begin(&arena, &read, &error));
    diagnose_with(visit, &memory, &arena, fresh_ones);
    visit_assert_same_bits(visit, fresh_ones, visit_probabilities(visit));
    const int simulated = memory.simulated;
    assert_true(simulated > 500);
    diagnose_with(visit, &memory, &arena, again);
    visit_assert_same_bits(visit, fresh_ones, again);
    assert_int_equal(memory.simulated, simulated);
    TextBuilder bytes = text_builder(&arena, (size_t)64 << 20);
    assert_true(behaviour_write(&memory, SEED, &bytes));
    assert_true(behaviour_read(&read, SEED, (Text){text_string(&bytes), bytes.length}));
    diagnose_with(visit, &read, &arena, again);
    visit_assert_same_bits(visit, fresh_ones, again);
    assert_int_equal(read.simulated, 0);
    arena_free(&arena);
}

/* Nor does what was asked before. */
static void other_spots_change_no_bit(void **state)
{
    Visit *visit = *state;
    static double alone[MOST], after[MOST];
    Arena arena = arena_new((size_t)1 << 30);
    BehaviourMemory memory;
    Error error;
    visit_spot(visit, 152, 177);
    memcpy(alone, visit_probabilities(visit), (size_t)visit->model.hypothesis_count * sizeof *alone);
    visit_forget(visit);
    visit_spot(visit, 190, 205);
    assert_true(behaviour_begin(&arena, &memory, &error));
    diagnose_with(visit, &memory, &arena, after);
    visit_forget(visit);
    visit_spot(visit, 152, 177);
    diagnose_with(visit, &memory, &arena, after);
    visit_assert_same_bits(visit, alone, after);
    arena_free(&arena);
}

#define TEST(name) cmocka_unit_test_setup(name, visit_set_up)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(a_cool_spot_points_to_what_cools),
        TEST(a_hot_spot_points_the_other_way),
        TEST(a_displayed_offset_settles_the_matter),
        TEST(twice_too_hot_is_no_slip),
        TEST(twice_right_is_right),
        TEST(what_a_new_part_leaves_as_it_was_was_something_else),
        TEST(a_right_run_clears_the_oven_however_far_the_fault_had_gone),
        TEST(the_order_does_not_matter),
        TEST(struck_ones_count_nothing),
        TEST(figures_read_by_hand_say_the_same),
        TEST(the_bulb_tells_the_thermostat_from_the_oven),
        TEST(memory_changes_no_bit),
        TEST(other_spots_change_no_bit),
    };
    return cmocka_run_group_tests(tests, visit_set_up_group, visit_tear_down_group);
}
