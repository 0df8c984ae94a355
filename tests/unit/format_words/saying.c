/* saying.c: what the program says of steps, verdicts and contradictions: a few sentences word for word, as a
 * technician would read them, and no sentence of any plan with a hole in it. The sentences of all checks are
 * held in format_call_json.answers. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "format/words/words.h"
#include "support/file.h"
#include "support/near.h"
#include "support/shipped.h"
#include "support/walk.h"

enum { LIMIT = 8000, CALLS = 2, ENTRIES = 8, SEED = 31 };

typedef struct {
    Arena arena;
    Words words;
    Visit visit;
} Fixture;

static int begin(void **state)
{
    static Fixture f;
    Error error;
    f.arena = arena_new((size_t)64 << 20);
    const Text bytes = file_read("data/words/en.yaml");
    const bool is_read = words_read("en.yaml", bytes, &f.arena, &f.words, &error);
    free((void *)bytes.bytes);
    visit_begin(&f.visit, "oven-230");
    *state = &f;
    return is_read ? 0 : 1;
}

static int end(void **state)
{
    Fixture *f = *state;
    visit_end(&f->visit);
    arena_free(&f->arena);
    return 0;
}

static int fresh(void **state)
{
    Fixture *f = *state;
    visit_forget(&f->visit);
    return 0;
}

/* --- word for word --- */

typedef void (*SayStep)(const Words *, const Standing *, const Step *, TextBuilder *);

static const char *said(Fixture *f, SayStep say, const Step *step)
{
    TextBuilder out = text_builder(&f->arena, LIMIT);
    say(&f->words, &f->visit.standing, step, &out);
    return text_string(&out);
}

/* The first check of that kind between these marks in that function, as a step. */
static Step check_step(Fixture *f, CheckKind kind, const char *from, const char *to, const char *function)
{
    const Appliance *appliance = &f->visit.appliance;
    const int a = appliance_find_mark(appliance, from), b = appliance_find_mark(appliance, to),
              at = appliance_find_function(appliance, function);
    for (int c = 0; c < appliance->check_count; c++) {
        const Check *check = &appliance->checks[c];
        if (check->kind != kind || check->from != a || check->to != b || check->function != at) continue;
        Step step = {.kind = STEP_CHECK, .check = c, .entry = -1, .part = check->part};
        step.needs = safety_of_check(appliance, check, &f->visit.call);
        step.switches_power = true;
        return step;
    }
    fail_msg("no check of kind %d between %s and %s in %s", kind, from, to, function);
    return (Step){0};
}

static void readings_are_said_with_marks_part_and_function(void **state)
{
    Fixture *f = *state;
    visit_diagnose(&f->visit);
    const Step ohm = check_step(f, CHECK_OHM, "BK1", "BK2", "off");
    assert_string_equal(said(f, words_say_step, &ohm),
                        "Measure resistance between BK1 and BK2 (bake-element)");
    assert_string_equal(said(f, words_say_before, &ohm),
                        "Let the oven cool down first. Disconnect from the supply and prove dead before "
                        "touching terminals; put that on the record.");
    const Step volt = check_step(f, CHECK_VOLT, "BK1", "BK2", "bake");
    assert_string_equal(said(f, words_say_step, &volt),
                        "Measure voltage between BK1 and BK2 (bake-element), set to bake");
    assert_non_null(strstr(said(f, words_say_before, &volt), "Live work: mains voltage at the probes."));
}

/* Outermost first, dead even for a live reading. */
static void places_are_opened_in_order_and_dead(void **state)
{
    Fixture *f = *state;
    visit_diagnose(&f->visit);
    Step volt = check_step(f, CHECK_VOLT, "BK1", "BK2", "bake");
    const Appliance *appliance = &f->visit.appliance;
    for (int p = 0; p < appliance->description->place_count; p++) {
        const char *name = appliance->description->places[p].name;
        if (text_equal(name, "cabinet") || text_equal(name, "console")) volt.opens[volt.open_count++] = p;
    }
    const char *before = said(f, words_say_before, &volt);
    assert_non_null(strstr(before, "Open first: cabinet, then console."));
    assert_non_null(strstr(before, "Open up with the power off, then switch on for the reading."));
    assert_null(strstr(before, "Switch the power on."));
    assert_null(strstr(before, "prove dead"));
}

static int oven_check(const Appliance *appliance, CheckKind kind, const char *word)
{
    for (int c = 0; c < appliance->check_count; c++)
        if (appliance->checks[c].kind == kind &&
            (!word || appliance->checks[c].word == kind_find_complaint(appliance->catalogue, word)))
            return c;
    fail_msg("no check of kind %d", kind);
    return -1;
}

static Step oven_step(Fixture *f, CheckKind kind, const char *word)
{
    const Appliance *appliance = &f->visit.appliance;
    Step step = {.kind = STEP_CHECK, .check = oven_check(appliance, kind, word), .entry = -1, .part = -1};
    step.needs = safety_of_check(appliance, &appliance->checks[step.check], &f->visit.call);
    step.switches_power = true;
    return step;
}

static void the_owner_is_asked_a_question(void **state)
{
    Fixture *f = *state;
    visit_diagnose(&f->visit);
    const Step ask = oven_step(f, CHECK_ASK, "pale-top");
    assert_string_equal(said(f, words_say_step, &ask), "Ask the owner: Does the top stay pale?");
    assert_string_equal(said(f, words_say_before, &ask), ""); /* the power may stay as it is */
    assert_string_equal(words_name_power(&ask.needs), "any");
    TextBuilder out = text_builder(&f->arena, LIMIT);
    words_name_step(&f->visit.appliance, &ask, &out);
    assert_string_equal(text_string(&out), "ask:pale-top");
}

/* 350 F, as the dial has it, in the function that the owner bakes in; a hot oven is warned of. */
static void a_run_is_said_with_its_caution(void **state)
{
    Fixture *f = *state;
    visit_diagnose(&f->visit);
    const Step run = oven_step(f, CHECK_RUN, NULL);
    assert_non_null(strstr(said(f, words_say_step, &run), "set bake to 350 F (177 C)"));
    assert_non_null(strstr(said(f, words_say_before, &run), "The oven gets hot"));
    assert_non_null(strstr(said(f, words_say_before, &run), "Switch the power on."));
    const Step prove = {.kind = STEP_PROVE, .needs.power_on = true};
    assert_non_null(strstr(said(f, words_say_before, &prove), "The oven gets hot"));
    const Step unwatched = {.kind = STEP_PROVE, .check = -1};
    assert_non_null(
        strstr(said(f, words_say_why, &unwatched), "goes where thermostat feels the temperature"));
}

static void answers_are_said(void **state)
{
    Fixture *f = *state;
    Entry asked = {.kind = ENTRY_ASKED, .word_count = 1};
    asked.words[0] = kind_find_complaint(f->visit.appliance.catalogue, "pale-top");
    TextBuilder no = text_builder(&f->arena, LIMIT), yes = no;
    words_say_entry(&f->words, &f->visit.appliance, &asked, &no);
    asked.is_yes = true;
    words_say_entry(&f->words, &f->visit.appliance, &asked, &yes);
    assert_string_equal(text_string(&no), "asked for pale-top: no");
    assert_string_equal(text_string(&yes), "asked for pale-top: yes");
}

static void steps_have_short_names(void **state)
{
    Fixture *f = *state;
    const Step ohm = check_step(f, CHECK_OHM, "BK1", "BK2", "off"),
               volt = check_step(f, CHECK_VOLT, "BK1", "BK2", "bake");
    const Step others[] = {{.kind = STEP_REPEAT, .entry = 3},
                           {.kind = STEP_REPAIR, .part = appliance_find_part(&f->visit.appliance, "cutout")},
                           {.kind = STEP_PROVE}};
    static const char *const names[] = {"repeat:4", "repair:cutout", "prove"};
    TextBuilder out = text_builder(&f->arena, LIMIT);
    words_name_step(&f->visit.appliance, &ohm, &out);
    text_add(&out, " ");
    words_name_step(&f->visit.appliance, &volt, &out);
    assert_string_equal(text_string(&out), "ohm:BK1-BK2 volt:BK1-BK2:bake");
    for (int i = 0; i < 3; i++) {
        out = text_builder(&f->arena, LIMIT);
        words_name_step(&f->visit.appliance, &others[i], &out);
        assert_string_equal(text_string(&out), names[i]);
    }
}

static void other_steps_are_said(void **state)
{
    Fixture *f = *state;
    visit_complain(&f->visit, "no-bake");
    visit_look(&f->visit, "bake-element", "dark", "bake");
    visit_ohm(&f->visit, "BK1", "BK2", INFINITY, "BK1");
    visit_ohm(&f->visit, "BK1", "BK2", 48.0, "BK1");
    visit_diagnose(&f->visit);
    assert_int_equal(f->visit.standing.contradiction_count, 1);
    const Step repeat = {.kind = STEP_REPEAT, .entry = 2}, prove = {.kind = STEP_PROVE},
               repair = {.kind = STEP_REPAIR,
                         .part = appliance_find_part(&f->visit.appliance, "bake-element")};
    assert_non_null(strstr(said(f, words_say_step, &repeat), "Repeat entry 3: OL between BK1 and BK2"));
    assert_non_null(strstr(said(f, words_say_why, &repeat), "does not fit"));
    assert_string_equal(said(f, words_say_step, &repair), "Replace or mend bake-element");
    assert_non_null(strstr(said(f, words_say_why, &repair), " % likely to be behind it."));
    assert_string_equal(
        said(f, words_say_step, &prove),
        "All covers back on, then a proving run: does it reach and hold the set temperature?");
    TextBuilder out = text_builder(&f->arena, LIMIT);
    words_say_contradiction(&f->words, &f->visit.standing, &(Contradiction){3, 2, 0.5}, &out);
    assert_non_null(strstr(text_string(&out), "Entry 4 (48.0 ohm between BK1 and BK2"));
    assert_non_null(strstr(text_string(&out), "does not fit entry 3 (OL between BK1 and BK2"));
    out = text_builder(&f->arena, LIMIT);
    words_say_contradiction(&f->words, &f->visit.standing, &(Contradiction){3, -1, 0.5}, &out);
    assert_non_null(strstr(text_string(&out), "does not fit what the others say"));
}

static void verdicts_name_their_suspects(void **state)
{
    Fixture *f = *state;
    visit_diagnose(&f->visit);
    static const char *const sentences[] = {
        [PLAN_GO_ON] = "Not settled yet.",
        [PLAN_FOUND] = "Found: supply.L-lost.",
        [PLAN_SET] =
            "One of these, and telling them apart costs more than it saves: supply.L-lost, nothing-wrong.",
        [PLAN_NOTHING_WRONG] = "Within its specification as far as these checks can see.",
        [PLAN_PROVED] = "Repaired, and proved right by a run.",
        [PLAN_OPEN] = "No check or repair at hand is worth what it would cost, and nothing stands out."};
    for (int v = PLAN_GO_ON; v <= PLAN_OPEN; v++) {
        const Plan plan = {.verdict = (PlanVerdict)v, .set = {1, 0}, .set_count = v == PLAN_SET ? 2 : 1};
        TextBuilder out = text_builder(&f->arena, LIMIT);
        words_say_verdict(&f->words, &f->visit.standing, &plan, &out);
        assert_memory_equal(text_string(&out), sentences[v], strlen(sentences[v]));
    }
}

/* A pair is written a+b, and said one after the other. */
static void pairs_are_joined(void **state)
{
    Fixture *f = *state;
    const DiagnosisModel *model = &f->visit.model;
    int pair = 0;
    while (model->groups[pair].count < 2) pair++;
    const Fault *first = &f->visit.appliance.faults[model->groups[pair].faults[0]],
                *second = &f->visit.appliance.faults[model->groups[pair].faults[1]];
    TextBuilder name = text_builder(&f->arena, LIMIT), text = text_builder(&f->arena, LIMIT),
                expected = text_builder(&f->arena, LIMIT);
    words_name_group(model, pair, &name);
    text_addf(&expected, "%s+%s", first->name, second->name);
    assert_string_equal(text_string(&name), text_string(&expected));
    words_say_group(&(Words){.count = 0}, model, pair, &text);
    expected = text_builder(&f->arena, LIMIT);
    text_addf(&expected, "%s; %s", first->mode->says, second->mode->says);
    assert_string_equal(text_string(&text), text_string(&expected));
    name = text_builder(&f->arena, LIMIT);
    words_name_group(model, 0, &name);
    assert_string_equal(text_string(&name), "nothing-wrong");
}

/* --- no holes --- */

static void assert_whole(const TextBuilder *out, bool may_be_empty)
{
    const char *text = text_string(out);
    assert_false(out->is_cut);
    if (!may_be_empty) assert_true(text[0] != '\0');
    if (strpbrk(text, "{}[]") || strstr(text, "  ") || strstr(text, "nan") || strstr(text, "inf "))
        fail_msg("%s", text);
}

/* Every outcome of every check of the whole oven, each as a branch of its step. */
static void every_outcome_of_the_oven_is_said(void **state)
{
    Fixture *f = *state;
    const int sound = 0;
    visit_diagnose(&f->visit);
    for (int c = 0; c < f->visit.appliance.check_count; c++) {
        if (f->visit.appliance.checks[c].kind < CHECK_RUN) continue;
        Arena arena = arena_new((size_t)1 << 20);
        Prediction prediction;
        Error error;
        assert_true(diagnosis_predict(&f->visit.model, NULL, c, &sound, 1, &arena, &prediction, &error));
        for (int o = 0; o < prediction.outcome_count; o++) {
            Step step = {.kind = STEP_CHECK, .check = c, .branch_count = 1};
            step.branches[0] = (StepBranch){.outcome = prediction.outcomes[o], .chance = 0.5};
            TextBuilder why = text_builder(&arena, LIMIT);
            words_say_why(&f->words, &f->visit.standing, &step, &why);
            assert_whole(&why, false);
            assert_true(text_string(&why)[0] != ' ' && text_string(&why)[0] != '(');
        }
        arena_free(&arena);
    }
}

/* The range of a run that is right, 25 F to either side. */
static void outcomes_of_a_run_are_said_in_degrees(void **state)
{
    Fixture *f = *state;
    const int sound = 0;
    Prediction prediction;
    Error error;
    Step step = oven_step(f, CHECK_RUN, NULL);
    visit_diagnose(&f->visit);
    assert_true(
        diagnosis_predict(&f->visit.model, NULL, step.check, &sound, 1, &f->arena, &prediction, &error));
    step.branch_count = 1;
    step.branches[0] = (StepBranch){.outcome = prediction.outcomes[0],
                                    .chance = 0.9,
                                    .group_probability = 0.5,
                                    .next = STEP_CLOSE,
                                    .expected_minor = 1300};
    assert_true(prediction.outcomes[0].is_right);
    assert_string_equal(
        said(f, words_say_why, &step),
        "it settles at 325 F (163 C) to 376 F (191 C) (90 %): then most likely nothing is wrong "
        "(50 %), next close the call (13 EUR to the end)");
}

static void say_plan(Visit *visit, const Plan *plan, void *context)
{
    const Words *words = context;
    Arena arena = arena_new((size_t)8 << 20);
    TextBuilder verdict = text_builder(&arena, LIMIT);
    words_say_verdict(words, &visit->standing, plan, &verdict);
    assert_whole(&verdict, false);
    for (int s = 0; s < plan->step_count; s++) {
        const Step *step = &plan->steps[s];
        TextBuilder text = text_builder(&arena, LIMIT), before = text, why = text, name = text;
        words_say_step(words, &visit->standing, step, &text);
        words_say_before(words, &visit->standing, step, &before);
        words_say_why(words, &visit->standing, step, &why);
        words_name_step(&visit->appliance, step, &name);
        assert_whole(&text, false);
        assert_whole(&before, true);
        assert_whole(&why, false);
        assert_whole(&name, false);
        assert_int_equal(strstr(text_string(&before), "prove dead") != NULL, step->needs.needs_proof);
        assert_int_equal(strstr(text_string(&before), "Switch the power off.") != NULL,
                         step->switches_power && !step->needs.power_on && !step->needs.needs_proof);
        assert_int_equal(strstr(text_string(&before), "Live work") != NULL, step->needs.is_live_work);
        assert_int_equal(strstr(text_string(&before), "cool down") != NULL, step->needs.needs_cool_oven);
    }
    for (int c = 0; c < visit->standing.contradiction_count; c++) {
        TextBuilder clash = text_builder(&arena, LIMIT);
        words_say_contradiction(words, &visit->standing, &visit->standing.contradictions[c], &clash);
        assert_whole(&clash, false);
    }
    for (int w = 0; w < plan->warning_count; w++) {
        TextBuilder key = text_builder(&arena, LIMIT);
        text_addf(&key, "warning.%s", plan->warnings[w].key);
        assert_non_null(words_find(words, text_string(&key)));
    }
    arena_free(&arena);
}

static void no_sentence_of_any_plan_has_a_hole(void **state)
{
    Fixture *f = *state;
    for (int i = 0; i < SHIPPED_COUNT; i++)
        walk_calls(shipped_names[i], CALLS, ENTRIES, SEED, say_plan, &f->words);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup(readings_are_said_with_marks_part_and_function, fresh),
        cmocka_unit_test_setup(places_are_opened_in_order_and_dead, fresh),
        cmocka_unit_test_setup(the_owner_is_asked_a_question, fresh),
        cmocka_unit_test_setup(a_run_is_said_with_its_caution, fresh),
        cmocka_unit_test_setup(answers_are_said, fresh),
        cmocka_unit_test_setup(every_outcome_of_the_oven_is_said, fresh),
        cmocka_unit_test_setup(outcomes_of_a_run_are_said_in_degrees, fresh),
        cmocka_unit_test_setup(steps_have_short_names, fresh),
        cmocka_unit_test_setup(other_steps_are_said, fresh),
        cmocka_unit_test_setup(verdicts_name_their_suspects, fresh),
        cmocka_unit_test_setup(pairs_are_joined, fresh),
        cmocka_unit_test(no_sentence_of_any_plan_has_a_hole),
    };
    return cmocka_run_group_tests(tests, begin, end);
}
