/* run_alone.c: what one temperature run can tell apart, and what it cannot, on every shipped appliance.
 *
 * Each single fault, in the middle of each slice of its severities, is baked in ovens drawn from the family,
 * whose traits differ by a fifth more than the diagnosis assumes; a thermometer of class 2 logs it, and the
 * run is the only entry. A fault's set are the faults whose likelihood for the run lies within a factor of
 * ten of its own. Sets are named after a leader, with which every member is mixed up in most runs of either;
 * beside a set stand the checks that take it apart best, by expected entropy.
 *
 * The drawn ovens come from the program's own simulation, which is held against closed forms and other
 * integrators in core_oven and bench.oven. This test is about the way from a run to faults. */
#include <math.h>
#include <string.h>

#include "apart.h"
#include "base/mathematics.h"
#include "base/text.h"
#include "support/baked.h"
#include "support/near.h"
#include "support/shipped.h"

enum { SEED = 350, HEALTHY = 200, DRAWS = 3, MOST_GROUPS = 400, LINE = 100, NOTHING = 0 };
static const double WITHIN = 10, FAR = 30, COMMON = 0.5; /* factors of likelihood; share of the runs */
static const size_t MIB = (size_t)1 << 20;
static const BakedTerms TERMS = {.traits = 1.2, .probe = 1, .noise_kelvin = 0.3};

/* A drawn oven: its fault's group (0: none), the run, log likelihoods of 'nothing wrong' and each fault. */
typedef struct {
    int truth, hypothesis;
    Run run;
    double *log_likelihood; /* [groups] */
} Drawn;

/* Groups here are 'nothing wrong' and the single faults: numbers in the model's groups. */
typedef struct {
    const char *name;
    Arena arena, scratch;
    Appliance appliance;
    DiagnosisModel model;
    int groups;
    Drawn *drawn;
    int drawn_count;
    double *mixed; /* [groups][groups]: share of the runs of the first in whose set the second is */
    int *leader;   /* [groups] */
} Study;

/* --- drawing --- */

/* The run's likelihood under a group: its hypotheses weighted by their priors, so posterior over prior. */
static double log_likelihood(const Study *study, const Standing *standing, int group)
{
    const HypothesisGroup *of = &study->model.groups[group];
    double posterior = 0, prior = 0;
    for (int h = of->first_hypothesis; h < of->first_hypothesis + of->hypothesis_count; h++) {
        posterior += standing->probability[h];
        prior += study->model.hypotheses[h].prior;
    }
    return math_log(posterior / prior);
}

static void draw(Study *study, int group, int hypothesis, RandomStream *stream)
{
    Drawn *drawn = &study->drawn[study->drawn_count++];
    const Hypothesis *truth = &study->model.hypotheses[hypothesis];
    Standing standing;
    Error error;
    *drawn = (Drawn){.truth = group, .hypothesis = hypothesis};
    drawn->log_likelihood = ARENA_ARRAY(&study->arena, double, (size_t)study->groups);
    assert_non_null(drawn->log_likelihood);
    baked_run(&study->model, truth->variants, truth->count, &TERMS, stream, &study->scratch, &drawn->run);
    const Entry entry = baked_entry(&study->model, &drawn->run);
    const Call call = {
        .title = "", .entries = &entry, .entry_count = 1, .meter = study->model.meter, .ambient_celsius = 22};
    assert_true(diagnose(&study->model, &call, &study->scratch, &standing, &error));
    for (int g = 0; g < study->groups; g++) drawn->log_likelihood[g] = log_likelihood(study, &standing, g);
    arena_free(&study->scratch);
}

static void draw_all(Study *study, int draws)
{
    RandomStream stream = random_stream(SEED);
    size_t most = HEALTHY;
    for (int g = 1; g < study->groups; g++)
        most += (size_t)study->model.groups[g].hypothesis_count * (size_t)draws;
    study->drawn = ARENA_ARRAY(&study->arena, Drawn, most);
    assert_non_null(study->drawn);
    for (int i = 0; i < HEALTHY; i++) draw(study, NOTHING, 0, &stream);
    for (int g = 1; g < study->groups; g++)
        for (int s = 0; s < study->model.groups[g].hypothesis_count; s++)
            for (int i = 0; i < draws; i++)
                draw(study, g, study->model.groups[g].first_hypothesis + s, &stream);
}

static bool is_in_set(const Drawn *drawn, int group, double factor)
{
    return drawn->log_likelihood[group] >= drawn->log_likelihood[drawn->truth] - math_log(factor);
}

static double best(const Study *study, const Drawn *drawn)
{
    double most = -INFINITY;
    for (int g = 0; g < study->groups; g++) most = fmax(most, drawn->log_likelihood[g]);
    return most;
}

/* --- sets --- */

static double *mixed(const Study *study, int truth, int other)
{
    return &study->mixed[truth * study->groups + other];
}

static void count_mixed(Study *study)
{
    int *runs = ARENA_ARRAY(&study->arena, int, (size_t)study->groups);
    study->mixed = ARENA_ARRAY(&study->arena, double, (size_t)study->groups *(size_t)study->groups);
    assert_true(runs && study->mixed);
    for (int i = 0; i < study->drawn_count; i++) {
        const Drawn *drawn = &study->drawn[i];
        runs[drawn->truth]++;
        for (int g = 0; g < study->groups; g++) *mixed(study, drawn->truth, g) += is_in_set(drawn, g, WITHIN);
    }
    for (int t = 0; t < study->groups; t++)
        for (int g = 0; g < study->groups; g++) *mixed(study, t, g) /= runs[t];
}

static bool are_mixed(const Study *study, int a, int b)
{
    return a == b || (*mixed(study, a, b) >= COMMON && *mixed(study, b, a) >= COMMON);
}

static int count_followers(const Study *study, int leader)
{
    int count = 0;
    for (int g = 0; g < study->groups; g++) count += study->leader[g] < 0 && are_mixed(study, leader, g);
    return count;
}

/* 'Nothing wrong' leads first, then whoever would lead most of those that are left. */
static void find_sets(Study *study)
{
    study->leader = ARENA_ARRAY(&study->arena, int, (size_t)study->groups);
    assert_non_null(study->leader);
    for (int g = 0; g < study->groups; g++) study->leader[g] = -1;
    for (int leader = NOTHING; leader >= 0;) {
        for (int g = 0; g < study->groups; g++)
            if (study->leader[g] < 0 && are_mixed(study, leader, g)) study->leader[g] = leader;
        int most = 0;
        leader = -1;
        for (int g = 0; g < study->groups; g++) {
            const int followers = study->leader[g] < 0 ? count_followers(study, g) : 0;
            if (followers > most) most = followers, leader = g;
        }
    }
}

static int members_of(const Study *study, int leader, int *members)
{
    int count = 0;
    for (int g = 0; g < study->groups; g++)
        if (study->leader[g] == leader) members[count++] = g;
    return count;
}

static int part_of(const Study *study, int group)
{
    return group == NOTHING ? -1 : study->appliance.faults[group - 1].part;
}

/* Nothing but faults of its own part is within the factor, in most of its runs. */
static bool is_told_apart(const Study *study, int group)
{
    for (int g = 0; g < study->groups; g++)
        if (part_of(study, g) != part_of(study, group) && *mixed(study, group, g) >= COMMON) return false;
    return true;
}

/* --- saying it --- */

static const char *name_of(const Study *study, int group)
{
    return group == NOTHING ? "nothing wrong" : study->appliance.faults[group - 1].name;
}

/* What the runs of a set's members look like: means over those that settle, or where the others end. */
static void print_figures(const Study *study, int leader)
{
    int runs = 0, settled = 0;
    double off = 0, swing = 0, end = 0;
    for (int i = 0; i < study->drawn_count; i++) {
        const Drawn *drawn = &study->drawn[i];
        if (study->leader[drawn->truth] != leader) continue;
        const bool is_settled = drawn->run.swing_kelvin.value >= 4;
        runs++;
        settled += is_settled;
        off += is_settled ? drawn->run.error_kelvin.value : 0;
        swing += is_settled ? drawn->run.swing_kelvin.value : 0;
        end += is_settled ? 0 : drawn->run.end_celsius;
    }
    if (2 * settled >= runs)
        print_message("settles %+.0f K off, swing %.0f K", off / settled, swing / settled);
    else
        print_message("does not settle, ends near %.0f C", end / (runs - settled));
}

/* Breaks the line where it gets too long. */
static void print_names(const Study *study, const int *members, int count)
{
    size_t length = LINE;
    for (int m = 0; m < count; m++) {
        const char *name = name_of(study, members[m]);
        const bool breaks = length + strlen(name) + 2 > LINE;
        print_message("%s%s%s", breaks ? "\n        " : " ", name, m + 1 < count ? "," : "\n");
        length = (breaks ? 8 : length + 1) + strlen(name) + 1;
    }
}

static void print_checks(Study *study, const int *members, int count)
{
    int middles[MOST_GROUPS];
    for (int m = 0; m < count; m++) {
        const HypothesisGroup *group = &study->model.groups[members[m]];
        middles[m] = group->first_hypothesis + group->hypothesis_count / 2;
    }
    const Apart checks = apart(&study->model, middles, count);
    if (checks.count == 0) print_message("      no check tells them apart\n");
    for (int i = 0; i < checks.count; i++) {
        print_message("      %s ", i == 0 ? "best" : "then");
        apart_print_check(&study->appliance, checks.checks[i]);
        print_message(": as good as %.1f left\n", checks.left[i]);
    }
}

static void print_sets(Study *study)
{
    int members[MOST_GROUPS];
    for (int leader = 0; leader < study->groups; leader++) {
        if (study->leader[leader] != leader) continue;
        const int count = members_of(study, leader, members);
        print_message("  as %s, %d: ", name_of(study, leader), count);
        print_figures(study, leader);
        print_message("%s", count > 1 ? "" : "\n");
        if (count < 2) continue;
        print_names(study, members, count);
        print_checks(study, members, count);
    }
}

/* --- what must hold --- */

/* Dead, running away, or settled where no oven of the family does: seven standard deviations of what good
 * controls differ by. */
static bool is_plain(const Study *study, int hypothesis)
{
    static const BakedTerms typical = {0};
    const Hypothesis *truth = &study->model.hypotheses[hypothesis];
    RandomStream stream = random_stream(SEED);
    Arena arena = arena_new(64 * MIB);
    Run run;
    baked_run(&study->model, truth->variants, truth->count, &typical, &stream, &arena, &run);
    arena_free(&arena);
    if (run.swing_kelvin.value >= 4)
        return fabs(run.error_kelvin.value) > 7 * study->model.thermal.setting_kelvin;
    return fabs(run.end_celsius - BAKED_SET_CELSIUS) > 100;
}

typedef struct {
    int faulty, faulty_within, healthy_within, plain, plain_as_sound;
} Tally;

static void add(const Study *study, const Drawn *drawn, bool plain, Tally *tally)
{
    const double behind = best(study, drawn) - drawn->log_likelihood[drawn->truth];
    if (drawn->truth == NOTHING) {
        tally->healthy_within += behind <= math_log(WITHIN);
        return;
    }
    tally->faulty++;
    tally->faulty_within += behind <= math_log(FAR);
    tally->plain += plain;
    tally->plain_as_sound += plain && is_in_set(drawn, NOTHING, WITHIN);
    if (plain && is_in_set(drawn, NOTHING, WITHIN))
        print_message("  as nothing wrong: %s, ends at %.0f C\n", name_of(study, drawn->truth),
                      drawn->run.end_celsius);
}

static Tally tally_all(const Study *study)
{
    Tally tally = {0};
    bool plain = false;
    for (int i = 0; i < study->drawn_count; i++) {
        const int h = study->drawn[i].hypothesis;
        if (i == 0 || h != study->drawn[i - 1].hypothesis) plain = h != 0 && is_plain(study, h);
        add(study, &study->drawn[i], plain, &tally);
    }
    return tally;
}

/* Of all that say that the oven is sound, or only its owner's affair. */
static double owners_affair(const Study *study, const Standing *standing)
{
    double sum = 0;
    for (int h = 0; h < study->model.hypothesis_count; h++) {
        const Hypothesis *hypothesis = &study->model.hypotheses[h];
        bool is_owners = true;
        for (int i = 0; i < hypothesis->count; i++) {
            const int fault = study->model.circuit.variants[hypothesis->variants[i]].fault;
            is_owners &=
                text_equal(study->appliance.parts[study->appliance.faults[fault].part].kind->name, "use");
        }
        sum += is_owners ? standing->probability[h] : 0;
    }
    return sum;
}

/* 'Too cool', says the owner of a sound oven, by a thermometer that hangs in it. The technician's run finds
 * it where it was set, and nobody has set an offset: the oven is sound, or what is wrong (a lamp, an element
 * of another function) has nothing to do with it. */
static void assert_sound_is_cleared(Study *study)
{
    static const BakedTerms typical = {.noise_kelvin = 0.3};
    RandomStream stream = random_stream(SEED);
    Standing told, measured;
    Error error;
    Run run;
    const int word = kind_find_complaint(study->appliance.catalogue, "too-cool");
    baked_run(&study->model, NULL, 0, &typical, &stream, &study->scratch, &run);
    const Entry entries[] = {
        {.kind = ENTRY_COMPLAINT, .words = {word}, .word_count = 1, .part = -1},
        baked_entry(&study->model, &run),
        {.kind = ENTRY_SETTING, .part = -1, .text = "offset", .value = {.value = 0, .unit = UNIT_KELVIN}}};
    Call call = {.title = "", .entries = entries, .entry_count = 1, .meter = study->model.meter};
    assert_true(diagnose(&study->model, &call, &study->scratch, &told, &error));
    call.entry_count = study->appliance.control >= 0 ? 3 : 2; /* a thermostat displays nothing */
    assert_true(diagnose(&study->model, &call, &study->scratch, &measured, &error));
    print_message("  'too cool' of a sound oven: the owner's affair with %.2f, after a run %.2f\n",
                  owners_affair(study, &told), owners_affair(study, &measured));
    assert_true(owners_affair(study, &measured) > 2 * owners_affair(study, &told));
    assert_true(measured.nothing_wrong.probability > measured.suspects[0].probability);
    arena_free(&study->scratch);
}

static void print_row(const Study *study, const Tally *tally)
{
    int apart = 0, sound = -1, sets = 0;
    for (int g = 1; g < study->groups; g++) apart += is_told_apart(study, g);
    for (int g = 0; g < study->groups; g++) {
        sound += study->leader[g] == NOTHING;
        sets += study->leader[g] == g;
    }
    print_message("| %-22s | %6d | %5d | %8d | %4d | %6.1f %% | %6.1f %% | %6d of %4d |\n", study->name,
                  study->groups - 1, apart, sound, sets, 100.0 * tally->faulty_within / tally->faulty,
                  100.0 * tally->healthy_within / HEALTHY, tally->plain_as_sound, tally->plain);
}

static void study_appliance(const char *name, int draws, bool says_sets)
{
    static Study study;
    const Meter meter = meter_default();
    Error error;
    study = (Study){.name = name, .arena = arena_new(1024 * MIB), .scratch = arena_new(256 * MIB)};
    shipped_build(name, &study.arena, &study.appliance);
    assert_true(diagnosis_begin(&study.appliance, 22, &meter, NULL, &study.arena, &study.model, &error));
    study.groups = study.appliance.fault_count + 1;
    assert_true(study.groups <= MOST_GROUPS);
    draw_all(&study, draws);
    count_mixed(&study);
    find_sets(&study);
    const Tally tally = tally_all(&study);
    print_row(&study, &tally);
    if (says_sets) print_sets(&study);
    assert_sound_is_cleared(&study);
    assert_true(tally.faulty_within >= 0.97 * tally.faulty);
    assert_true(tally.healthy_within >= 0.95 * HEALTHY);
    assert_int_equal(tally.plain_as_sound, 0);
    arena_free(&study.arena);
}

static const char *only;

static void a_run_alone_finds_its_set(void **state)
{
    (void)state;
    print_message("seed %d\n", SEED);
    study_appliance(only ? only : "oven-230", only ? DRAWS : 2, only != NULL);
}

int main(int argc, char **argv)
{
    only = argc > 1 ? argv[1] : NULL;
    const struct CMUnitTest tests[] = {cmocka_unit_test(a_run_alone_finds_its_set)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
