/* glance.c: looks over a whole place. What must hold follows from the product rule of independent chances and
 * from Bayes' rule; how much a glance notices is common practice, no source, and not asked here. */
#include <math.h>

#include "core/diagnosis/diagnosis_private.h"
#include "support/near.h"
#include "support/visit.h"

static const char SUSPECT[] = "wire-BK2-K5.high-resistance";

static int place_of(const Visit *visit, const char *part)
{
    return appliance_seen_from(&visit->appliance, appliance_find_part(&visit->appliance, part));
}

static int glance_at(const Visit *visit, int place)
{
    for (int c = 0; c < visit->appliance.check_count; c++)
        if (visit->appliance.checks[c].kind == CHECK_GLANCE && visit->appliance.checks[c].places[0] == place)
            return c;
    fail_msg("no glance at place %d", place);
    return -1;
}

static Entry *add(Visit *visit, Entry entry)
{
    Error error;
    Entry *added = &visit->entries[visit->call.entry_count++];
    *added = entry;
    assert_true(call_check_entry(&visit->appliance, added, &error));
    return added;
}

static Entry *look_over(Visit *visit, const char *part, const char *word)
{
    const Outcome outcome = {.kind = OUTCOME_GLANCE,
                             .part = part ? appliance_find_part(&visit->appliance, part) : -1,
                             .word = kind_find_look(visit->appliance.catalogue, word)};
    return add(visit, diagnosis_entry(&visit->model, glance_at(visit, place_of(visit, "wire-BK2-K5")),
                                      &outcome, NULL));
}

static double chance_of(Visit *visit)
{
    visit_diagnose(visit);
    return visit_probability(visit, SUSPECT);
}

static void a_sign_points_to_its_part(void **state)
{
    Visit *visit = *state;
    visit_complain(visit, "slow");
    const double before = chance_of(visit);
    Entry *entry = look_over(visit, NULL, "sound");
    assert_true(chance_of(visit) < before);
    entry->is_struck = true;
    look_over(visit, "wire-BK2-K5", "burnt-terminal");
    assert_true(chance_of(visit) > 5 * before);
}

/* In a glance nothing else was seen: other wires there lose what this one gains. */
static void the_rest_is_called_sound(void **state)
{
    Visit *visit = *state;
    visit_complain(visit, "slow");
    visit_diagnose(visit);
    const double before = visit_probability(visit, "wire-K2-BK1.high-resistance");
    look_over(visit, "wire-BK2-K5", "burnt-terminal");
    visit_diagnose(visit);
    const double at_a_glance = visit_probability(visit, "wire-K2-BK1.high-resistance");
    visit_forget(visit);
    visit_complain(visit, "slow");
    visit_look(visit, "wire-BK2-K5", "burnt-terminal", NULL);
    visit_diagnose(visit);
    assert_true(at_a_glance < visit_probability(visit, "wire-K2-BK1.high-resistance"));
    assert_true(at_a_glance < before);
}

/* Whoever has looked at a part by itself knows what is on it: a look over the place afterwards says nothing
 * of it. One before it tells whether the mark leaps to the eye, as a fault's does rather than a harmless one.
 */
static double with_a_close_look(Visit *visit, const char *seen_over, bool is_close_first)
{
    visit_forget(visit);
    visit_complain(visit, "slow");
    if (is_close_first) visit_look(visit, "wire-BK2-K5", "burnt-terminal", NULL);
    if (seen_over) look_over(visit, text_equal(seen_over, "sound") ? NULL : "wire-BK2-K5", seen_over);
    if (!is_close_first) visit_look(visit, "wire-BK2-K5", "burnt-terminal", NULL);
    return chance_of(visit);
}

static void a_close_look_stands_for_itself(void **state)
{
    Visit *visit = *state;
    const double close = with_a_close_look(visit, NULL, true);
    const double leapt = with_a_close_look(visit, "burnt-terminal", false),
                 overlooked = with_a_close_look(visit, "sound", false);
    assert_true(overlooked < close && close < leapt);
    assert_true(with_a_close_look(visit, "sound", true) >= close); /* the others are cleared */
    assert_near(with_a_close_look(visit, "burnt-terminal", true), with_a_close_look(visit, "sound", true),
                0.02);
    /* two witnesses of their own would multiply the odds by tens; signs of faults leap to the eye a few times
     * as often as harmless marks */
    assert_true(leapt / (1 - leapt) < 4 * close / (1 - close));
}

/* A mark that is seen twice is one mark: the odds move no further than a slip had held them back. */
static void a_second_look_is_no_second_witness(void **state)
{
    Visit *visit = *state;
    for (int over = 0; over < 2; over++) {
        double odds[3];
        for (int looks = 0; looks < 3; looks++) {
            visit_forget(visit);
            visit_complain(visit, "slow");
            for (int i = 0; i < looks; i++) {
                if (over)
                    look_over(visit, "wire-BK2-K5", "burnt-terminal");
                else
                    visit_look(visit, "wire-BK2-K5", "burnt-terminal", NULL);
            }
            const double chance = chance_of(visit);
            odds[looks] = chance / (1 - chance);
        }
        print_message("%s: odds %.3g, once %.3g, twice %.3g\n", over ? "over the place" : "close by", odds[0],
                      odds[1], odds[2]);
        assert_true(odds[1] > 5 * odds[0]);
        assert_true(odds[2] > odds[1] && odds[2] < 3 * odds[1]);
    }
}

/* All four ways in which two looks can be slips or not, summed up by hand. */
static void looking_again_is_total_probability(void **state)
{
    (void)state;
    enum { WORDS = 4 };
    static const double slip = DIAGNOSIS_LOOK_SLIP, there[WORDS] = {0.6, 0.25, 0.1, 0.05};
    double sum = 0;
    for (int first = 0; first < WORDS; first++)
        for (int second = 0; second < WORDS; second++) {
            const double each = slip / WORDS,
                         neither = (1 - slip) * (1 - slip) * (first == second) * there[first],
                         one = (1 - slip) * each * (there[first] + there[second]), both = each * each;
            const Likelihood before = {(1 - slip) * there[first] + each, each},
                             now = {(1 - slip) * there[second] + each, each};
            const double got =
                before.all * diagnosis__seen_again(before, 1, now, (Again){slip, 1, first == second}).all;
            assert_near(got, neither + one + both, 1e-15);
            sum += got;
        }
    assert_near(sum, 1, 1e-12);
}

/* However often: the chances of all that three looks can say, one after the other, are those of their slips
 * summed up by hand, where they all say the same. */
static void what_was_seen_often_is_no_slip(void **state)
{
    (void)state;
    static const double slip = DIAGNOSIS_LOOK_SLIP, each = DIAGNOSIS_LOOK_SLIP / 4;
    for (double there = 0.01; there < 0.6; there *= 2) {
        const Likelihood alone = {(1 - slip) * there + each, each};
        const double true_each = 1 - slip + each; /* the mark is there, and is seen or hit by a slip */
        double got = alone.all;
        for (int times = 1; times < 5; times++) {
            got *= diagnosis__seen_again(alone, times, alone, (Again){slip, 1, 1}).all;
            const double looks = times + 1,
                         by_hand = there * pow(true_each, looks) + (1 - there) * pow(each, looks);
            assert_near(got / by_hand, 1, 0.02);
        }
    }
}

/* Until the part is mended; then another one is there to be seen. */
static void a_new_part_is_looked_at_afresh(void **state)
{
    Visit *visit = *state;
    const int part = appliance_find_part(&visit->appliance, "wire-BK2-K5"),
              place = place_of(visit, "wire-BK2-K5");
    visit_complain(visit, "slow");
    visit_look(visit, "wire-BK2-K5", "burnt-terminal", NULL);
    look_over(visit, "wire-BK2-K5", "burnt-terminal");
    assert_non_null(diagnosis__looked_before(&visit->model, &visit->call, 3, part, LOOK_CLOSE).entry);
    assert_non_null(diagnosis__glanced_before(&visit->model, &visit->call, 3, place, -1).entry);
    visit_repair(visit, "door-gasket");
    assert_non_null(diagnosis__looked_before(&visit->model, &visit->call, 4, part, LOOK_CLOSE).entry);
    assert_non_null(diagnosis__glanced_before(&visit->model, &visit->call, 4, place, -1).entry);
    visit_repair(visit, "wire-BK2-K5");
    assert_null(diagnosis__looked_before(&visit->model, &visit->call, 5, part, LOOK_CLOSE).entry);
    assert_null(diagnosis__looked_after(&visit->model, &visit->call, 2, part));
    visit_look(visit, "wire-BK2-K5", "sound", NULL); /* at the new one */
    assert_null(diagnosis__looked_after(&visit->model, &visit->call, 2, part));
    assert_non_null(diagnosis__looked_before(&visit->model, &visit->call, 6, part, LOOK_CLOSE).entry);
    assert_null(diagnosis__glanced_before(&visit->model, &visit->call, 5, place, -1).entry);
}

/* What is foreseen for 'nothing unusual' is what the entry then weighs, but for how a slip is shared out. */
static void foreseen_is_what_is_weighed(void **state)
{
    Visit *visit = *state;
    const int check = glance_at(visit, place_of(visit, "wire-BK2-K5"));
    const HypothesisGroup *group = &visit->model.groups[1 + appliance_find_fault(&visit->appliance, SUSPECT)];
    const int which[] = {0, group->first_hypothesis};
    Arena arena = arena_new((size_t)1 << 20);
    Prediction prediction;
    Glance glance;
    Error error;
    assert_true(diagnosis_predict(&visit->model, NULL, check, which, 2, &arena, &prediction, &error));
    diagnosis__begin_glance(&visit->model, NULL, 0, place_of(visit, "wire-BK2-K5"), &glance);
    const Entry nothing = diagnosis_entry(&visit->model, check, &prediction.outcomes[0], NULL);
    for (int row = 0; row < 2; row++) {
        const Likelihood weighed =
            diagnosis__glance(&visit->model, &glance, &nothing, &visit->model.hypotheses[which[row]]);
        assert_near(prediction.chance[row * DIAGNOSIS_MOST_OUTCOMES], weighed.all, 0.01);
    }
    /* a wire with a hot terminal is noticed more often than not, and first of all */
    const double *faulty = &prediction.chance[DIAGNOSIS_MOST_OUTCOMES];
    assert_int_equal(prediction.outcomes[1].part, appliance_find_part(&visit->appliance, "wire-BK2-K5"));
    assert_true(faulty[1] > 0.5 && faulty[0] < prediction.chance[0] / 2);
    arena_free(&arena);
}

static void what_cannot_be_is_refused(void **state)
{
    Visit *visit = *state;
    Error error;
    Entry entry = *look_over(visit, "wire-BK2-K5", "burnt-terminal");
    entry.place = place_of(visit, "door-gasket");
    assert_false(call_check_entry(&visit->appliance, &entry, &error)); /* not seen from there */
    entry.place = 99;
    assert_false(call_check_entry(&visit->appliance, &entry, &error));
    entry = *look_over(visit, NULL, "sound");
    entry.words[0] = kind_find_look(visit->appliance.catalogue, "torn");
    assert_false(call_check_entry(&visit->appliance, &entry, &error)); /* torn, but which? */
    entry = *look_over(visit, NULL, "sound");
    entry.function = 1;
    assert_false(call_check_entry(&visit->appliance, &entry, &error)); /* nothing is on */
    entry = *look_over(visit, "wire-BK2-K5", "burnt-terminal");
    entry.part = appliance_find_part(&visit->appliance, "door-gasket");
    entry.place = place_of(visit, "door-gasket");
    entry.words[0] = kind_find_look(visit->appliance.catalogue, "torn");
    assert_true(call_check_entry(&visit->appliance, &entry, &error));
    entry.words[0] = kind_find_look(visit->appliance.catalogue, "slips");
    assert_false(call_check_entry(&visit->appliance, &entry, &error)); /* paper is pulled, not seen */
}

#define TEST(name) cmocka_unit_test_setup(name, visit_set_up)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(a_sign_points_to_its_part),
        TEST(the_rest_is_called_sound),
        TEST(a_close_look_stands_for_itself),
        TEST(a_second_look_is_no_second_witness),
        TEST(a_new_part_is_looked_at_afresh),
        cmocka_unit_test(looking_again_is_total_probability),
        cmocka_unit_test(what_was_seen_often_is_no_slip),
        TEST(foreseen_is_what_is_weighed),
        TEST(what_cannot_be_is_refused),
    };
    return cmocka_run_group_tests(tests, visit_set_up_group, visit_tear_down_group);
}
