/* notice.c: what owners notice, against ovens drawn from the family.
 *
 * Each drawn oven is baked and logged, and owners look at it: half of them notice one that settles 17 K off,
 * with a spread of 6 K (doc/method/diagnosis.md; common practice, no source). What share of all owners that
 * is, and of those whose oven a run has found to be so far off, is counted; the rest is arithmetic. */
#include <math.h>

#include "core/diagnosis/diagnosis_private.h"
#include "support/baked.h"
#include "support/near.h"
#include "support/visit.h"

enum { SEED = 17, OVENS = 400 };
static const double HALF_KELVIN = 17, SPREAD_KELVIN = 6;
/* Its oven is a sound one, and its owner has something to complain of. */
static const char *const sound_oven = "use.crowded";

typedef struct {
    double off_kelvin[OVENS]; /* of drawn ovens, against the typical one */
    int hypothesis;
} Drawn;

static double notices_cooler(double off_kelvin)
{
    return 0.5 * erfc((off_kelvin + HALF_KELVIN) / (SPREAD_KELVIN * sqrt(2)));
}

static void draw_ovens(Visit *visit, Drawn *drawn)
{
    static const BakedTerms typical = {0}, any = {.traits = 1};
    RandomStream stream = random_stream(SEED);
    Run run;
    print_message("%s, seed %d\n", visit->appliance.name, SEED);
    drawn->hypothesis =
        visit->model.groups[1 + appliance_find_fault(&visit->appliance, sound_oven)].first_hypothesis;
    baked_run(&visit->model, NULL, 0, &typical, &stream, &visit->answers, &run);
    const double middle = run.mean_celsius.value;
    for (int i = 0; i < OVENS; i++) {
        Arena scratch = arena_new((size_t)8 << 20);
        baked_run(&visit->model, NULL, 0, &any, &stream, &scratch, &run);
        drawn->off_kelvin[i] = run.mean_celsius.value - middle;
        arena_free(&scratch);
    }
}

/* Of all owners. */
static void hold_all(const Visit *visit, const Drawn *drawn)
{
    double sum = 0, square = 0;
    for (int i = 0; i < OVENS; i++) {
        const double share = notices_cooler(drawn->off_kelvin[i]);
        sum += share / OVENS;
        square += share * share / OVENS;
    }
    const double error = sqrt((square - sum * sum) / OVENS),
                 said = (double)visit->model.conditions[drawn->hypothesis][CONDITION_COOLER];
    print_message("notice it: %.4f said, %.4f +- %.4f of drawn ovens\n", said, sum, error);
    assert_true(fabs(said - sum) < 3 * error + 0.004); /* the family is not quite normal */
}

/* Of those whose oven is so far off. */
static void hold_seen(const Visit *visit, const Drawn *drawn, double from_kelvin, double to_kelvin)
{
    double counted = 0, said = 0;
    int count = 0;
    for (int i = 0; i < OVENS; i++) {
        const double off = drawn->off_kelvin[i];
        if (off < from_kelvin || off >= to_kelvin) continue;
        float strengths[CONDITION_COUNT] = {0};
        Residual seen = diagnosis__no_residual();
        seen.of[MEAN] = (float)off;
        diagnosis__notice_seen(&visit->model, drawn->hypothesis, &seen, strengths);
        counted += notices_cooler(off);
        said += (double)strengths[CONDITION_COOLER];
        count++;
    }
    print_message("%d ovens %.0f to %.0f K off: %.3f said, %.3f notice it\n", count, from_kelvin, to_kelvin,
                  said / count, counted / count);
    assert_true(count > 0 && fabs(said - counted) < 0.1 * count);
}

static void hold(const char *appliance)
{
    static Visit visit;
    static Drawn drawn;
    visit_begin(&visit, appliance);
    visit_complain(&visit, "too-cool");
    visit_diagnose(&visit); /* finds the conditions */
    draw_ovens(&visit, &drawn);
    hold_all(&visit, &drawn);
    hold_seen(&visit, &drawn, -20, -8);
    hold_seen(&visit, &drawn, -8, 0);
    hold_seen(&visit, &drawn, 0, 20);
    visit_end(&visit);
}

static void owners_of_thermostats_speak_of_their_own(void **state)
{
    (void)state;
    hold("range-thermostat");
}

static void owners_of_controls_speak_of_their_own(void **state)
{
    (void)state;
    hold("range-208");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(owners_of_thermostats_speak_of_their_own),
        cmocka_unit_test(owners_of_controls_speak_of_their_own),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
