/* standing.c: what must hold of any standing, whatever the numbers: probabilities, order, struck entries,
 * repairs, contradictions, explanations, memory. Expectations follow from the laws of probability and from
 * what diagnosis.h promises. */
#include <math.h>
#include <string.h>

#include "support/near.h"
#include "support/visit.h"

enum { MOST = 8000 }; /* hypotheses */

static const double REPAIR_FAILS = 0.02; /* as standing.c has it */

static void tell_of_a_pale_bottom(Visit *visit)
{
    visit_complain(visit, "pale-bottom");
    visit_look(visit, "bake-element", "dark", "bake");
    visit_volt(visit, "L1", "L2", 238, NULL);
    visit_ohm(visit, "S1", "S2", 1090, NULL);
}

static void probabilities_sum_to_one(void **state)
{
    Visit *visit = *state;
    tell_of_a_pale_bottom(visit);
    visit_dead(visit);
    visit_ohm(visit, "BK1", "BK2", INFINITY, "BK1");
    visit_repair(visit, "bake-element");
    visit_ohm(visit, "BK1", "BK2", 23.2, "BK1");
    const int all = visit->call.entry_count;
    for (visit->call.entry_count = 0; visit->call.entry_count <= all; visit->call.entry_count++) {
        const double *probability = visit_probabilities(visit);
        double sum = 0, suspects = visit->standing.nothing_wrong.probability;
        for (int h = 0; h < visit->model.hypothesis_count; h++) {
            assert_true(probability[h] >= 0);
            sum += probability[h];
        }
        for (int s = 0; s < visit->standing.suspect_count; s++) {
            suspects += visit->standing.suspects[s].probability;
            if (s > 0)
                assert_true(visit->standing.suspects[s].probability <=
                            visit->standing.suspects[s - 1].probability);
        }
        assert_near(sum, 1, 1e-12);
        assert_near(suspects, 1, 1e-12);
    }
}

static void the_same_call_gives_the_same_bits(void **state)
{
    Visit *visit = *state;
    tell_of_a_pale_bottom(visit);
    const double *once = visit_probabilities(visit), *twice = visit_probabilities(visit);
    visit_assert_same_bits(visit, once, twice);
    static Visit other; /* nothing remembered */
    visit_begin(&other, "range-relay-control");
    tell_of_a_pale_bottom(&other);
    visit_assert_same_bits(visit, once, visit_probabilities(&other));
    visit_end(&other);
}

static void struck_entries_change_nothing(void **state)
{
    Visit *visit = *state;
    tell_of_a_pale_bottom(visit);
    static double kept[MOST];
    assert_true(visit->model.hypothesis_count <= MOST);
    memcpy(kept, visit_probabilities(visit), (size_t)visit->model.hypothesis_count * sizeof *kept);
    visit_forget(visit);
    visit_complain(visit, "no-heat")->is_struck = true; /* the first complaint is the first that stands */
    visit_repair(visit, "control")->is_struck = true;
    tell_of_a_pale_bottom(visit);
    visit_ohm(visit, "BR1", "BR2", INFINITY, "BR1")->is_struck = true;
    visit_look(visit, "broil-element", "dark", "broil")->is_struck = true;
    visit_assert_same_bits(visit, kept, visit_probabilities(visit));
    for (int s = 0; s < visit->standing.suspect_count; s++) {
        const double *factors = visit->standing.suspects[s].factors;
        assert_near(factors[0], 1, 0);
        assert_near(factors[visit->call.entry_count - 1], 1, 0);
    }
    assert_int_equal(visit->standing.contradiction_count, 0);
}

/* Only the order of readings and looks is free: a repair parts before from after, and the first complaint
 * also tells what the owner did not say. */
static void the_order_of_readings_does_not_matter(void **state)
{
    Visit *visit = *state;
    tell_of_a_pale_bottom(visit);
    visit_ohm(visit, "BK1", "BK2", 900, "BK1");
    const double *ahead = visit_probabilities(visit);
    Entry backwards[VISIT_MOST_ENTRIES];
    const int count = visit->call.entry_count;
    for (int e = 0; e < count; e++) backwards[e] = visit->entries[count - 1 - e];
    memcpy(visit->entries, backwards, (size_t)count * sizeof *backwards);
    const double *back = visit_probabilities(visit);
    for (int h = 0; h < visit->model.hypothesis_count; h++) assert_near(back[h], ahead[h], 1e-12);
}

/* --- repairs --- */

static bool is_cured(const Visit *visit, int fault, int part)
{
    const int at = visit->appliance.faults[fault].part;
    return at == part || visit->appliance.parts[at].replaced_with == part;
}

/* The group with just that fault; 'nothing wrong' for none. */
static int group_of(const Visit *visit, int fault)
{
    for (int g = 0; g < visit->model.group_count; g++) {
        const HypothesisGroup *group = &visit->model.groups[g];
        if (fault < 0 ? group->count == 0 : group->count == 1 && group->faults[0] == fault) return g;
    }
    fail_msg("no group of fault %d", fault);
    return -1;
}

static void sum_groups(const Visit *visit, double *out)
{
    for (int g = 0; g < visit->model.group_count; g++) out[g] = 0;
    for (int h = 0; h < visit->model.hypothesis_count; h++)
        out[visit->model.hypotheses[h].group] += visit->standing.probability[h];
}

static bool is_pair(const Visit *visit, int a, int b)
{
    for (int g = 0; g < visit->model.group_count; g++) {
        const HypothesisGroup *group = &visit->model.groups[g];
        if (group->count == 2 && ((group->faults[0] == a && group->faults[1] == b) ||
                                  (group->faults[0] == b && group->faults[1] == a)))
            return true;
    }
    return false;
}

/* The pairs with the mended fault that are no hypotheses, by the priors: q times twice p(a) p(b) / sum of p
 * beside (1 - q) p(a). */
static void think_of_left_out(const Visit *visit, int mended, int part, double moved, double *probability)
{
    const Appliance *appliance = &visit->appliance;
    const double second = appliance->catalogue->second_fault;
    double sum = 0;
    for (int f = 0; f < appliance->fault_count; f++) sum += appliance->faults[f].prior;
    for (int f = 0; f < appliance->fault_count; f++) {
        if (appliance->faults[f].part == appliance->faults[mended].part || is_cured(visit, f, part) ||
            is_pair(visit, mended, f))
            continue;
        const double share = 2 * second * appliance->faults[f].prior / (sum * (1 - second)) * moved;
        probability[0] -= share;
        probability[group_of(visit, f)] += share;
    }
}

static void move_by_hand(const Visit *visit, int part, double *probability)
{
    for (int g = visit->model.group_count - 1; g > 0; g--) {
        const HypothesisGroup *group = &visit->model.groups[g];
        int cured = 0, left = -1;
        for (int i = 0; i < group->count; i++) {
            if (is_cured(visit, group->faults[i], part))
                cured++;
            else
                left = group->faults[i];
        }
        if (cured == 0) continue;
        const double moved = (1 - REPAIR_FAILS) * probability[g];
        probability[g] -= moved;
        probability[group_of(visit, left)] += moved;
        if (group->count == 1) think_of_left_out(visit, group->faults[0], part, moved, probability);
    }
}

static void assert_repair_moves(Visit *visit, const char *part)
{
    static double before[MOST], after[MOST];
    visit_forget(visit);
    tell_of_a_pale_bottom(visit);
    visit_diagnose(visit);
    sum_groups(visit, before);
    const double sound = visit_probability(visit, NULL);
    move_by_hand(visit, appliance_find_part(&visit->appliance, part), before);
    visit_repair(visit, part);
    visit_diagnose(visit);
    sum_groups(visit, after);
    for (int g = 0; g < visit->model.group_count; g++) assert_near(after[g], before[g], 1e-12);
    assert_true(visit_probability(visit, NULL) > sound);
}

/* What was wrong with the new part is gone, a second fault stays; a new control brings new relays. */
static void a_repair_moves_the_weight_of_what_it_cures(void **state)
{
    assert_repair_moves(*state, "bake-element");
    assert_repair_moves(*state, "control");
    assert_repair_moves(*state, "bake-relay");
}

/* --- contradictions --- */

static void clash(Visit *visit, bool is_open_first)
{
    visit_forget(visit);
    visit_complain(visit, "pale-top");
    visit_look(visit, "broil-element", "dark", "broil");
    visit_ohm(visit, "BR1", "BR2", is_open_first ? INFINITY : 19.6, "BR1");
    visit_ohm(visit, "BR1", "BR2", is_open_first ? 19.6 : INFINITY, "BR1");
    visit_diagnose(visit);
    assert_int_equal(visit->standing.contradiction_count, 1);
    const Contradiction *named = &visit->standing.contradictions[0];
    assert_true((named->entry == 2 && named->against == 3) || (named->entry == 3 && named->against == 2));
    assert_true(named->slip >= 0.4 && named->slip <= 1);
}

static void two_entries_that_clash_are_named_both_ways_round(void **state)
{
    clash(*state, true);
    clash(*state, false);
}

/* Either one alone is no contradiction, and neither is a clash with what was there before a repair. */
static void nothing_clashes_without_its_opponent(void **state)
{
    Visit *visit = *state;
    clash(visit, true);
    visit->entries[2].is_struck = true;
    visit_diagnose(visit);
    assert_int_equal(visit->standing.contradiction_count, 0);
    visit_forget(visit);
    visit_complain(visit, "pale-top");
    visit_ohm(visit, "BR1", "BR2", INFINITY, "BR1");
    visit_repair(visit, "broil-element");
    visit_ohm(visit, "BR1", "BR2", 19.6, "BR1");
    visit_diagnose(visit);
    assert_int_equal(visit->standing.contradiction_count, 0);
}

/* --- explanation --- */

static double odds(double probability) { return probability / (1 - probability); }

/* Each factor is a ratio of odds after and before the entry, so all of them lead from prior to posterior odds
 * (Good 1950: weights of evidence add up). Where the odds are too long for their rounding there is no saying.
 */
static void factors_multiply_to_the_posterior_odds(void **state)
{
    Visit *visit = *state;
    visit_diagnose(visit);
    static double prior[MOST], posterior[MOST];
    sum_groups(visit, prior);
    tell_of_a_pale_bottom(visit);
    visit_diagnose(visit);
    sum_groups(visit, posterior);
    int compared = 0;
    for (int s = 0; s < visit->standing.suspect_count; s++) {
        const Suspect *suspect = &visit->standing.suspects[s];
        double product = odds(prior[suspect->group]);
        for (int e = 0; e < visit->call.entry_count; e++) product *= suspect->factors[e];
        if (posterior[suspect->group] < 1e-12) continue;
        assert_near(product / odds(posterior[suspect->group]), 1, 1e-9);
        compared++;
    }
    assert_true(compared > 100);
}

/* Seven and more readings of each of two broken elements leave everything else less than the rounding of 1.
 * What the next one tells is still what the one before told: the very same reading. */
static void a_sure_suspect_has_sound_factors(void **state)
{
    Visit *visit = *state;
    enum { READINGS = 24 };
    for (int e = 0; e < READINGS; e += 2) {
        visit_ohm(visit, "BR1", "BR2", INFINITY, "BR1");
        visit_ohm(visit, "BK1", "BK2", INFINITY, "BK1");
    }
    visit_diagnose(visit);
    const Suspect *sure = &visit->standing.suspects[0];
    assert_near(sure->probability, 1, 1e-15);
    for (int e = READINGS - 4; e < READINGS; e++) {
        assert_true(sure->factors[e] > 1.5);
        assert_near(sure->factors[e] / sure->factors[e - 2], 1, 1e-3);
    }
}

/* --- memory --- */

/* With less memory than it takes, the answer is an error and never a crash. */
static void too_little_memory_is_said(void **state)
{
    const Visit *visit = *state;
    Entry entries[VISIT_MOST_ENTRIES];
    Visit told = *visit;
    tell_of_a_pale_bottom(&told);
    memcpy(entries, told.entries, sizeof entries);
    const Call call = {.title = "", .entries = entries, .entry_count = 4, .meter = visit->call.meter};
    int refused = 0;
    for (double limit = 1000;; limit *= 1.25) {
        Arena arena = arena_new((size_t)limit);
        DiagnosisModel model;
        Standing standing;
        Error error = {0};
        const bool is_done =
            diagnosis_begin(&visit->appliance, 22, &call.meter, NULL, &arena, &model, &error) &&
            diagnose(&model, &call, &arena, &standing, &error);
        if (!is_done) assert_int_equal(error.code, ERROR_MEMORY);
        refused += !is_done;
        arena_free(&arena);
        if (is_done) break;
    }
    assert_true(refused > 10);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup(probabilities_sum_to_one, visit_set_up),
        cmocka_unit_test_setup(the_same_call_gives_the_same_bits, visit_set_up),
        cmocka_unit_test_setup(struck_entries_change_nothing, visit_set_up),
        cmocka_unit_test_setup(the_order_of_readings_does_not_matter, visit_set_up),
        cmocka_unit_test_setup(a_repair_moves_the_weight_of_what_it_cures, visit_set_up),
        cmocka_unit_test_setup(two_entries_that_clash_are_named_both_ways_round, visit_set_up),
        cmocka_unit_test_setup(nothing_clashes_without_its_opponent, visit_set_up),
        cmocka_unit_test_setup(factors_multiply_to_the_posterior_odds, visit_set_up),
        cmocka_unit_test_setup(a_sure_suspect_has_sound_factors, visit_set_up),
        cmocka_unit_test_setup(too_little_memory_is_said, visit_set_up),
    };
    return cmocka_run_group_tests(tests, visit_set_up_group, visit_tear_down_group);
}
