/* reread.c: readings that are taken once more. A part that is far off, and a meter that is, are so the second
 * time as well, so what two readings say together follows from the density of two figures that share an error
 * (bivariate normal; the covariance of two such is in JCGM 100:2008, F.1.2.3, from memory). How far two
 * readings of the same lie apart is common practice, no source. */
#include <math.h>

#include "core/diagnosis/diagnosis_private.h"
#include "support/near.h"
#include "support/visit.h"

static const char SUSPECT[] = "bake-element.hot-terminal";

static double odds_of(Visit *visit, const char *fault)
{
    visit_diagnose(visit);
    return visit_probability(visit, fault) / visit_probability(visit, NULL);
}

static int reading_check(const Visit *visit, const Entry *entry)
{
    for (int c = 0; c < visit->appliance.check_count; c++)
        if (diagnosis_is_check(&visit->model, entry, c)) return c;
    fail_msg("no such check");
    return -1;
}

/* What the element shows when it is sound. */
static Display sound_display(Visit *visit, const char *from, const char *to, int *check)
{
    Error error;
    Entry *entry = visit_ohm(visit, from, to, 1, NULL);
    *check = reading_check(visit, entry);
    visit_forget(visit);
    assert_true(diagnosis__connect(&visit->model, *check, NULL, 0, &error));
    return *diagnosis__check_display(&visit->model, *check, 0);
}

/* An element four standard deviations high is suspected once, and not more for being read three times. */
static void a_second_reading_is_no_second_witness(void **state)
{
    Visit *visit = *state;
    int check;
    const Display sound = sound_display(visit, "BK1", "BK2", &check);
    const double high = sound.low + 4 * sound.low_spread;
    double odds[4];
    for (int times = 0; times < 4; times++) {
        visit_forget(visit);
        for (int i = 0; i < times; i++) visit_ohm(visit, "BK1", "BK2", high + 0.1 * (i % 2), NULL);
        odds[times] = odds_of(visit, SUSPECT);
    }
    print_message("%.3g; once %.3g, twice %.3g, three times %.3g\n", odds[0], odds[1], odds[2], odds[3]);
    assert_true(odds[1] > 3 * odds[0]);
    assert_near(odds[2] / odds[1], 1, 0.1);
    assert_near(odds[3] / odds[2], 1, 0.1);
}

/* Two hypotheses with a figure each, whose errors the two readings share but for what reading once more
 * differs by: the odds by the joint normal density, in closed form. */
static void both_readings_are_one_of_the_thing_and_one_of_the_meter(void **state)
{
    Visit *visit = *state;
    int check;
    const Display sound = sound_display(visit, "BK1", "BK2", &check);
    const Display other = {sound.low * 1.1, sound.high * 1.1, sound.low_spread * 1.1,
                           sound.high_spread * 1.1};
    const Connection connection = {.kind = READING_OHM};
    for (double first = sound.low; first < other.low; first += 0.3)
        for (double second = first - 0.2; second < first + 0.3; second += 0.1) {
            const Display same = diagnosis__same_display(&visit->model, READING_OHM, first);
            const Again again = {visit->model.slip, diagnosis__density(&same, READING_OHM, first),
                                 diagnosis__density(&same, READING_OHM, second)};
            double got[2], by_hand[2];
            for (int h = 0; h < 2; h++) {
                const Display *display = h ? &other : &sound;
                const Likelihood before = diagnosis__reading(&visit->model, &connection, first, display),
                                 now = diagnosis__reading(&visit->model, &connection, second, display);
                got[h] = before.all * diagnosis__seen_again(before, 1, now, again).all;
                const double own = same.low_spread * same.low_spread / 2,
                             variance = display->low_spread * display->low_spread,
                             shared = fmax(variance - own, 0), r = shared / variance,
                             x = (first - display->low) / display->low_spread,
                             y = (second - display->low) / display->low_spread;
                by_hand[h] = exp(-(x * x - 2 * r * x * y + y * y) / (2 * (1 - r * r))) / variance;
            }
            assert_near(log(got[1] / got[0]), log(by_hand[1] / by_hand[0]), 0.4);
        }
}

static double after_repair_of(Visit *visit, const char *part, double ohm, int readings)
{
    visit_forget(visit);
    visit_ohm(visit, "BK1", "BK2", ohm, NULL);
    visit_repair(visit, part);
    for (int i = 0; i < readings; i++) visit_ohm(visit, "BK1", "BK2", ohm, NULL);
    return odds_of(visit, SUSPECT);
}

/* It is still the same element when a gasket was replaced, and another one when it was replaced itself. */
static void until_what_moves_it_is_mended(void **state)
{
    Visit *visit = *state;
    int check;
    const Display sound = sound_display(visit, "BK1", "BK2", &check);
    const double high = sound.low + 4 * sound.low_spread;
    assert_near(after_repair_of(visit, "door-gasket", high, 1) /
                    after_repair_of(visit, "door-gasket", high, 0),
                1, 0.1);
    assert_true(after_repair_of(visit, "bake-element", high, 1) >
                3 * after_repair_of(visit, "bake-element", high, 0));
    assert_null(diagnosis__read_before(&visit->model, &visit->call, visit->call.entry_count, check).entry);
}

/* Open, and then as it should be: one of the two was a slip, and a slip reads OL far more often than the
 * value of a sound element. */
static void a_slip_is_found_by_reading_again(void **state)
{
    Visit *visit = *state;
    int check;
    const double right = sound_display(visit, "BK1", "BK2", &check).low;
    visit_complain(visit, "no-bake");
    visit_ohm(visit, "BK1", "BK2", INFINITY, NULL);
    visit_diagnose(visit);
    const double open = visit_probability(visit, "bake-element.open");
    visit_ohm(visit, "BK1", "BK2", right, NULL);
    visit_diagnose(visit);
    assert_true(open > 0.9);
    assert_true(visit_probability(visit, "bake-element.open") < 0.05);
    assert_int_equal(visit->standing.contradiction_count, 1);
    assert_int_equal(visit->standing.contradictions[0].entry, 1);
}

/* A sound element hardly ever shows so much as this one did; read once more it shows that again. With an open
 * one the figure was a slip for sure, and the next reading is as if it were the first. */
static void the_same_is_foreseen(void **state)
{
    Visit *visit = *state;
    int check;
    const Display sound = sound_display(visit, "BK1", "BK2", &check);
    const double shown = sound.low + 3.1 * sound.low_spread;
    const int fault = appliance_find_fault(&visit->appliance, "bake-element.open");
    const int which[] = {0, visit->model.groups[1 + fault].first_hypothesis};
    Arena arena = arena_new((size_t)1 << 20);
    Prediction alone, again;
    Error error;
    assert_true(diagnosis_predict(&visit->model, NULL, check, which, 2, &arena, &alone, &error));
    visit_ohm(visit, "BK1", "BK2", shown, NULL);
    assert_true(diagnosis_predict(&visit->model, &visit->call, check, which, 2, &arena, &again, &error));
    int at = 0;
    while (!(alone.outcomes[at].low <= shown && shown < alone.outcomes[at].high)) at++;
    for (int row = 0; row < 2; row++) {
        double sum = 0;
        for (int o = 0; o < again.outcome_count; o++) sum += again.chance[row * DIAGNOSIS_MOST_OUTCOMES + o];
        assert_near(sum, 1, 1e-12);
    }
    print_message("foreseen %.3g at first, %.3g again\n", alone.chance[at], again.chance[at]);
    assert_true(alone.chance[at] < 0.05 && again.chance[at] > 0.9);
    for (int o = 0; o < again.outcome_count; o++)
        assert_near(again.chance[DIAGNOSIS_MOST_OUTCOMES + o], alone.chance[DIAGNOSIS_MOST_OUTCOMES + o],
                    1e-6);
    arena_free(&arena);
}

#define TEST(name) cmocka_unit_test_setup(name, visit_set_up)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(a_second_reading_is_no_second_witness),
        TEST(both_readings_are_one_of_the_thing_and_one_of_the_meter),
        TEST(until_what_moves_it_is_mended),
        TEST(a_slip_is_found_by_reading_again),
        TEST(the_same_is_foreseen),
    };
    return cmocka_run_group_tests(tests, visit_set_up_group, visit_tear_down_group);
}
