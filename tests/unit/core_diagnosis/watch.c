/* watch.c: what is seen of a part that is on. What must be seen follows from the wiring of the shipped wall
 * oven and from the words' chances in its catalogue; a look is seen wrongly now and then, so chances are held
 * to a few per cent. */
#include <math.h>

#include "core/diagnosis/diagnosis.h"
#include "support/near.h"
#include "support/visit.h"

static const double SLIPS = 0.03; /* of looks: seen wrongly */

static Visit visit;

static int begin(void **state)
{
    (void)state;
    visit_begin(&visit, "wall-oven-convection");
    return 0;
}

static int end(void **state)
{
    (void)state;
    visit_end(&visit);
    return 0;
}

static int find_watch(const char *part, const char *function)
{
    const Appliance *appliance = &visit.appliance;
    for (int c = 0; c < appliance->check_count; c++)
        if (appliance->checks[c].kind == CHECK_WATCH &&
            appliance->checks[c].part == appliance_find_part(appliance, part) &&
            appliance->checks[c].function == appliance_find_function(appliance, function))
            return c;
    fail_msg("nobody watches %s in %s", part, function);
    return -1;
}

static const LookWord *word_of(const char *word)
{
    return &visit.appliance.catalogue->looks[kind_find_look(visit.appliance.catalogue, word)];
}

static double predicted(int hypothesis, const char *part, const char *function, const char *word)
{
    Arena arena = arena_new((size_t)1 << 20);
    Prediction prediction;
    Error error;
    double chance = 0;
    assert_true(diagnosis_predict(&visit.model, NULL, find_watch(part, function), &hypothesis, 1, &arena,
                                  &prediction, &error));
    for (int o = 0; o < prediction.outcome_count; o++)
        if (prediction.outcomes[o].word == kind_find_look(visit.appliance.catalogue, word))
            chance += prediction.chance[o];
    arena_free(&arena);
    return chance;
}

/* Chance of the word with that fault alone, or (NULL) with none. */
static double seen(const char *fault, const char *part, const char *function, const char *word)
{
    const int number = fault ? appliance_find_fault(&visit.appliance, fault) : -1;
    if (fault) assert_true(number >= 0);
    return predicted(visit.model.groups[1 + number].first_hypothesis, part, function, word);
}

static void a_chattering_contact_makes_what_it_feeds_come_and_go(void **state)
{
    (void)state;
    const double noticed = word_of("comes-and-goes")->unsteady;
    const char *word = "comes-and-goes";
    assert_near(seen("slow-relay.chatters", "convection-fan", "convection-bake", word), noticed, SLIPS);
    assert_near(seen("fast-relay.chatters", "convection-fan", "convection", word), noticed, SLIPS);
    assert_near(seen("cooling-relay.chatters", "cooling-fan", "bake", word), noticed, SLIPS);
    assert_near(seen("lock-relay.chatters", "door-lock", "lock", word), noticed, SLIPS);
    /* and nothing else: the other speed, another fan, a sound oven */
    assert_true(seen("slow-relay.chatters", "convection-fan", "convection", word) < SLIPS);
    assert_true(seen("fast-relay.chatters", "cooling-fan", "bake", word) < SLIPS);
    assert_true(seen(NULL, "convection-fan", "convection", word) < SLIPS);
}

/* Welded it runs in every function and with everything off; one that lets go late has to be closed first. */
static void a_contact_that_does_not_let_go_makes_it_run_on(void **state)
{
    (void)state;
    const double noticed = word_of("runs-on")->runs_on;
    const char *word = "runs-on";
    assert_near(seen("fast-relay.sticks", "convection-fan", "convection", word), noticed, SLIPS);
    assert_true(seen("fast-relay.sticks", "convection-fan", "convection-bake", word) < SLIPS);
    assert_near(seen("fast-relay.welded", "convection-fan", "convection", word), noticed, SLIPS);
    assert_near(seen("fast-relay.welded", "convection-fan", "convection-bake", word), noticed, SLIPS);
    assert_near(seen("door-switch.welded", "oven-lamp", "light", word), noticed, SLIPS);
    assert_true(seen("line-relay.welded", "convection-fan", "convection", word) < SLIPS); /* feeds no fan */
    assert_true(seen(NULL, "oven-lamp", "light", word) < SLIPS);
}

/* Who does not notice the manner sees what there is to see. */
static void the_rest_is_seen_as_ever(void **state)
{
    (void)state;
    const double noticed = word_of("comes-and-goes")->unsteady;
    assert_near(seen("fast-relay.chatters", "convection-fan", "convection", "turns"), 1 - noticed, SLIPS);
    assert_true(seen("fast-relay.open", "convection-fan", "convection", "still") > 1 - 2 * SLIPS);
    assert_true(seen(NULL, "convection-fan", "convection", "turns") > 1 - SLIPS);
}

/* Of two faults each is seen, and a fan without power neither comes nor goes. */
static void a_pair_shows_what_its_faults_show(void **state)
{
    (void)state;
    const int chatters = appliance_find_fault(&visit.appliance, "fast-relay.chatters");
    const double noticed = word_of("comes-and-goes")->unsteady;
    int pairs = 0, dark = 0;
    for (int g = 0; g < visit.model.group_count; g++) {
        const HypothesisGroup *group = &visit.model.groups[g];
        if (group->count < 2 || (group->faults[0] != chatters && group->faults[1] != chatters)) continue;
        const int h = group->first_hypothesis;
        const double turns = predicted(h, "convection-fan", "convection", "turns"),
                     comes = predicted(h, "convection-fan", "convection", "comes-and-goes"),
                     still = predicted(h, "convection-fan", "convection", "still");
        if (still > 0.5) {
            assert_true(comes < SLIPS);
            dark++;
        } else if (turns + comes > 1 - SLIPS) {
            assert_near(comes, noticed, SLIPS);
        }
        pairs++;
    }
    assert_true(pairs >= 10 && dark > 0 && dark < pairs);
}

/* What was seen weighs as it was foreseen: Bayes' rule on two hypotheses. */
static void what_is_seen_is_weighed(void **state)
{
    (void)state;
    visit_forget(&visit);
    visit_complain(&visit, "uneven");
    visit_diagnose(&visit);
    const double before = visit_probability(&visit, "fast-relay.chatters") / visit_probability(&visit, NULL);
    visit_look(&visit, "convection-fan", "comes-and-goes", "convection");
    visit_diagnose(&visit);
    const double after = visit_probability(&visit, "fast-relay.chatters") / visit_probability(&visit, NULL);
    const double factor = seen("fast-relay.chatters", "convection-fan", "convection", "comes-and-goes") /
                          seen(NULL, "convection-fan", "convection", "comes-and-goes");
    assert_near(after / before, factor, 0.02 * factor);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_chattering_contact_makes_what_it_feeds_come_and_go),
        cmocka_unit_test(a_contact_that_does_not_let_go_makes_it_run_on),
        cmocka_unit_test(the_rest_is_seen_as_ever),
        cmocka_unit_test(a_pair_shows_what_its_faults_show),
        cmocka_unit_test(what_is_seen_is_weighed),
    };
    return cmocka_run_group_tests(tests, begin, end);
}
