/* Are the stated intervals honest? A thousand ovens of a few nodes, each with a log that goes wrong in its
 * own way; the true mean of each is known. Of the stated 95 % intervals between 93 and 97 % must hold it. */
#include "core/run/run.h"
#include "made_oven.h"
#include "support/near.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

enum { OVENS = 1000 };

typedef struct {
    const char *name;
    int count, held;
    double half_width, off_by;
} Tally;

enum { ALL, FAST, SPARSE, FINE, COARSE, DOORS, GAPS, SPIKES, PLAIN, FEW, MANY, TALLIES };

static void add(Tally *tally, const Run *run, double truth)
{
    const double off = fabs(run->mean_celsius.value - truth);
    tally->count++;
    tally->held += off <= run->half_width_kelvin;
    tally->half_width += run->half_width_kelvin;
    tally->off_by += off;
}

static void sort_in(Tally *tallies, const MadeOven *oven, const MadeFlaws *flaws, const Run *run,
                    double truth)
{
    add(&tallies[ALL], run, truth);
    add(&tallies[flaws->interval_second < 30 ? FAST : SPARSE], run, truth);
    add(&tallies[flaws->step_kelvin < 0.5 ? FINE : COARSE], run, truth);
    if (oven->door_count) add(&tallies[DOORS], run, truth);
    if (flaws->gaps) add(&tallies[GAPS], run, truth);
    if (flaws->spikes) add(&tallies[SPIKES], run, truth);
    if (!oven->door_count && !flaws->gaps && !flaws->spikes) add(&tallies[PLAIN], run, truth);
    add(&tallies[run->cycles < 6 ? FEW : MANY], run, truth);
}

/* One oven and its log; false when the log is too short for a mean. */
static bool try_one(RandomStream *stream, bool has_probe, Tally *tallies)
{
    static MadeLog log;
    Arena arena = arena_new((size_t)64 << 20);
    Error error;
    Run run;
    const MadeOven oven = made_oven(stream);
    MadeFlaws flaws = made_flaws(stream);
    const double truth = made_true_mean(&oven);
    RunTerms terms = {.set_celsius = oven.set_celsius, .has_probe = has_probe, .probe_class = SENSOR_CLASS_2};
    double half_width;
    assert_true(sensor_read_kind(text_of("k"), &terms.probe, &error));
    assert_true(sensor_tolerance(&terms.probe, terms.probe_class, truth, &half_width, &error));
    if (has_probe) flaws.offset_kelvin = half_width * (2 * random_uniform(stream) - 1);
    made_log(&oven, &flaws, stream, &log);
    const RunLog rows = {
        .second = log.second, .count = log.count, .channels = {{"", log.celsius, false}}, .channel_count = 1};
    if (!run_analyse(&rows, 0, &terms, &arena, &run, &error))
        fail_msg("%s; expected %s", error.found, error.expected);
    const bool has_mean = isfinite(run.mean_celsius.value);
    if (has_mean) sort_in(tallies, &oven, &flaws, &run, truth);
    if (getenv("SHOW_MISSES") &&
        (!has_mean || fabs(run.mean_celsius.value - truth) > run.half_width_kelvin)) {
        printf("h %g step %.2f noise %.2f doors %d gaps %d spikes %d diff %.1f set %.1f: off %+.3f +-%.3f "
               "cycles %d swing %.2f period %.0f",
               flaws.interval_second, flaws.step_kelvin, flaws.noise_kelvin, oven.door_count, flaws.gaps,
               flaws.spikes, 2 * oven.half_differential, oven.set_celsius, run.mean_celsius.value - truth,
               run.half_width_kelvin, run.cycles, run.swing_kelvin.value, run.period_second.value);
        printf(" scat %.3f samp %.3f res %.3f drift %.3f;", run.budget.scatter, run.budget.sampling,
               run.budget.resolution, run.budget.drift);
        for (int i = 0; i < run.finding_count; i++) printf(" %s", run_finding_word(run.findings[i].code));
        printf("\n");
    }
    arena_free(&arena);
    return has_mean;
}

static void report(const char *title, const Tally *tallies, unsigned seed, int without)
{
    printf("%s, seed %u: %d logs gave no mean\n", title, seed, without);
    for (int i = 0; i < TALLIES; i++)
        printf("  %-28s %5d logs  %5.1f %% held  mean half-width %.2f K, mean error %.2f K\n",
               tallies[i].name, tallies[i].count, 100.0 * tallies[i].held / tallies[i].count,
               tallies[i].half_width / tallies[i].count, tallies[i].off_by / tallies[i].count);
}

static void try_all(bool has_probe, unsigned seed, Tally *tallies, int *without)
{
    static const char *const names[TALLIES] = {
        "all",  "every 2 to 15 s", "every 30 or 60 s", "steps of 0.1 C", "steps of 1 F",     "door opened",
        "gaps", "spikes",          "undisturbed",      "under 6 cycles", "6 cycles and more"};
    RandomStream stream = random_stream(seed);
    for (int i = 0; i < TALLIES; i++) tallies[i] = (Tally){.name = names[i]};
    *without = 0;
    for (int i = 0; i < OVENS; i++) *without += !try_one(&stream, has_probe, tallies);
    report(has_probe ? "type K, class 2" : "without the thermometer's part", tallies, seed, *without);
}

static unsigned seed_given(void)
{
    const char *text = getenv("SEED");
    return text ? (unsigned)strtoul(text, NULL, 10) : 20260101u;
}

static void intervals_hold_the_true_mean(void **state)
{
    (void)state;
    Tally tallies[TALLIES];
    int without;
    try_all(true, seed_given(), tallies, &without);
    const double held = 100.0 * tallies[ALL].held / tallies[ALL].count;
    assert_in_range((int)(held * 10), 930, 970);
    assert_true(without < OVENS / 15);
}

static void the_logs_own_part_is_honest_too(void **state)
{
    (void)state;
    Tally tallies[TALLIES];
    int without;
    try_all(false, seed_given() + 1, tallies, &without);
    for (int i = 0; i < TALLIES; i++) assert_true(100.0 * tallies[i].held / tallies[i].count >= 90);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(intervals_hold_the_true_mean),
                                       cmocka_unit_test(the_logs_own_part_is_honest_too)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
