/* strip.c: a strip of paper in the closed door. What must hold follows from Bayes' rule and from a door that
 * gaps whoever pulls at the paper; the chances are the catalogue's, common practice, no source. */
#include <math.h>

#include "core/diagnosis/diagnosis_private.h"
#include "support/near.h"
#include "support/visit.h"

static double odds(Visit *visit, const char *fault)
{
    visit_diagnose(visit);
    return visit_probability(visit, fault) / visit_probability(visit, NULL);
}

/* Chance that the paper slips, or holds, out of a door that gaps or one that presses, slips of the
 * technician's own shared out among the words of the gasket and one more. */
static double chance(const Visit *visit, const char *word, bool gaps)
{
    const Catalogue *catalogue = visit->appliance.catalogue;
    const LookWord *slips = &catalogue->looks[kind_find_look(catalogue, "slips")];
    const PartKind *kind = visit->appliance.parts[appliance_find_part(&visit->appliance, "door-gasket")].kind;
    const double holds = (1 - slips->otherwise) * (gaps ? 1 - slips->when[CONDITION_DOOR_GAPS] : 1);
    return 0.97 * (word[0] == 's' ? 1 - holds : holds) + 0.03 / (kind->look_count + 1);
}

/* Of whichever part makes it gap: the paper is at the gasket, and the hinge lets the door stand off. */
static void odds_move_by_the_ratio_of_the_chances(void **state)
{
    Visit *visit = *state;
    static const char *const faults[] = {"door-gasket.torn", "door-gasket.loose", "door.sprung"},
                             *const words[] = {"slips", "grips"};
    for (int w = 0; w < 2; w++)
        for (int f = 0; f < 3; f++) {
            visit_forget(visit);
            visit_complain(visit, "slow");
            const double before = odds(visit, faults[f]);
            visit_look(visit, "door-gasket", words[w], NULL);
            assert_near(odds(visit, faults[f]) / before,
                        chance(visit, words[w], true) / chance(visit, words[w], false), 1e-9);
        }
    assert_true(chance(visit, "slips", true) > 10 * chance(visit, "slips", false));
}

static void a_second_strip_is_no_second_witness(void **state)
{
    Visit *visit = *state;
    visit_complain(visit, "slow");
    visit_look(visit, "door-gasket", "slips", NULL);
    const double once = odds(visit, "door-gasket.torn");
    visit_look(visit, "door-gasket", "slips", NULL);
    const double twice = odds(visit, "door-gasket.torn");
    assert_true(twice > once && twice < 1.5 * once);
}

static const Entry *strip_before(Visit *visit)
{
    return diagnosis__looked_before(&visit->model, &visit->call, visit->call.entry_count,
                                    appliance_find_part(&visit->appliance, "door-gasket"), LOOK_STRIP)
        .entry;
}

/* Another element leaves the door as it was; a new hinge does not, though the paper was at the gasket. */
static void what_can_gap_is_tried_afresh(void **state)
{
    Visit *visit = *state;
    visit_complain(visit, "slow");
    visit_look(visit, "door-gasket", "torn", NULL);
    assert_null(strip_before(visit)); /* that was seen */
    const Entry *slips = visit_look(visit, "door-gasket", "slips", NULL);
    visit_repair(visit, "bake-element");
    assert_ptr_equal(strip_before(visit), slips);
    visit_repair(visit, "door");
    assert_null(strip_before(visit));
    visit_look(visit, "door-gasket", "grips", NULL);
    assert_non_null(strip_before(visit));
    visit_repair(visit, "door-gasket");
    assert_null(strip_before(visit));
}

static int strip_check(const Visit *visit)
{
    int check = 0;
    while (visit->appliance.checks[check].kind != CHECK_STRIP) check++;
    return check;
}

/* What is foreseen is what the entry then weighs, scaled to sum to 1; and the entry is that check and not a
 * look. */
static void foreseen_is_what_is_weighed(void **state)
{
    Visit *visit = *state;
    const int check = strip_check(visit), torn = appliance_find_fault(&visit->appliance, "door-gasket.torn"),
              which[] = {0, visit->model.groups[1 + torn].first_hypothesis};
    Arena arena = arena_new((size_t)1 << 20);
    Prediction prediction;
    Error error;
    assert_true(diagnosis_predict(&visit->model, NULL, check, which, 2, &arena, &prediction, &error));
    assert_int_equal(prediction.outcome_count, 2);
    for (int row = 0; row < 2; row++) {
        const double slips = chance(visit, "slips", row), grips = chance(visit, "grips", row);
        assert_near(prediction.chance[row * DIAGNOSIS_MOST_OUTCOMES], slips / (slips + grips), 1e-12);
    }
    const Entry entry = diagnosis_entry(&visit->model, check, &prediction.outcomes[0], NULL);
    for (int c = 0; c < visit->appliance.check_count; c++)
        assert_int_equal(diagnosis_is_check(&visit->model, &entry, c), c == check);
    arena_free(&arena);
}

#define TEST(name) cmocka_unit_test_setup(name, visit_set_up)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(odds_move_by_the_ratio_of_the_chances),
        TEST(a_second_strip_is_no_second_witness),
        TEST(what_can_gap_is_tried_afresh),
        TEST(foreseen_is_what_is_weighed),
    };
    return cmocka_run_group_tests(tests, visit_set_up_group, visit_tear_down_group);
}
