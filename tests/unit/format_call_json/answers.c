/* answers.c: the JSON that other programs read, key by key as doc/interface.md lists them, and the sentences
 * in it: none with a placeholder or a key left over. */
#include <jansson.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "format/call_json/call_json.h"
#include "support/file.h"
#include "support/near.h"
#include "support/shipped.h"

enum { MIB = 1 << 20, LIMIT = 8 * MIB };

typedef struct {
    Arena arena;
    Appliance appliance;
    DiagnosisModel model;
    Words words;
    Meter meter;
} Fixture;

static void begin(Fixture *f, const char *name)
{
    Error error;
    memset(f, 0, sizeof *f);
    f->arena = arena_new((size_t)512 * MIB);
    f->meter = meter_default();
    shipped_build(name, &f->arena, &f->appliance);
    const Text bytes = file_read("data/words/en.yaml");
    assert_true(words_read("en.yaml", bytes, &f->arena, &f->words, &error));
    free((void *)bytes.bytes);
    assert_true(diagnosis_begin(&f->appliance, 22, &f->meter, NULL, &f->arena, &f->model, &error));
}

static json_t *parse(const TextBuilder *out)
{
    json_error_t error;
    json_t *root = json_loads(text_string(out), JSON_REJECT_DUPLICATES, &error);
    if (!root) fail_msg("line %d: %s", error.line, error.text);
    return root;
}

static void assert_has(const json_t *object, const char *keys)
{
    char copy[300], *rest = copy;
    snprintf(copy, sizeof copy, "%s", keys);
    for (char *key = strtok_r(copy, " ", &rest); key; key = strtok_r(NULL, " ", &rest))
        if (!json_object_get(object, key)) fail_msg("no key %s", key);
}

static json_t *expectation(Fixture *f, Connection connection)
{
    Expectation answer;
    Error error;
    TextBuilder out = text_builder(&f->arena, LIMIT);
    assert_true(circuit_expect(&f->model.circuit, &connection, &f->meter, &answer, &error));
    assert_true(call_json_expectation(&f->model.circuit, &connection, &f->meter, &answer, NULL, NULL, 0, &out,
                                      &error));
    return parse(&out);
}

static void expect_has_its_keys(void **state)
{
    (void)state;
    Fixture f;
    begin(&f, "range-relay-control");
    const Connection across = {.kind = READING_OHM,
                               .from = appliance_find_mark(&f.appliance, "BK1"),
                               .to = appliance_find_mark(&f.appliance, "BK2")};
    json_t *root = expectation(&f, across);
    const json_t *healthy = json_object_get(root, "healthy");
    assert_has(root, "healthy faults warnings");
    assert_has(healthy, "value unit low high display");
    assert_near(json_real_value(json_object_get(healthy, "value")), 240.0 * 240 / 2500 / 1.008, 0.05);
    assert_string_equal(json_string_value(json_object_get(healthy, "unit")), "ohm");
    size_t i;
    json_t *fault;
    bool is_open_seen = false;
    json_array_foreach(json_object_get(root, "faults"), i, fault)
    {
        assert_has(fault, "fault value unit display told_apart");
        if (!text_equal(json_string_value(json_object_get(fault, "fault")), "bake-element.open")) continue;
        is_open_seen = true;
        assert_true(json_is_null(json_object_get(fault, "value")));
        assert_string_equal(json_string_value(json_object_get(fault, "display")), "OL");
        assert_true(json_is_true(json_object_get(fault, "told_apart")));
    }
    assert_true(is_open_seen);
    assert_int_equal(i, f.appliance.fault_count);
    json_decref(root);
    arena_free(&f.arena);
}

static void open_circuit_is_null_and_ol(void **state)
{
    (void)state;
    Fixture f;
    begin(&f, "range-relay-control");
    const Connection insulation = {.kind = READING_OHM,
                                   .from = appliance_find_mark(&f.appliance, "BK1"),
                                   .to = appliance_find_mark(&f.appliance, "G")};
    json_t *root = expectation(&f, insulation);
    const json_t *healthy = json_object_get(root, "healthy");
    assert_true(json_is_null(json_object_get(healthy, "value")));
    assert_string_equal(json_string_value(json_object_get(healthy, "display")), "OL");
    json_decref(root);
    arena_free(&f.arena);
}

/* A shorter list: its last line is as probable as was asked for, and what it leaves out is counted. */
static void assert_counts_the_rest(Fixture *f, const Standing *standing, const Plan *plan)
{
    Error error;
    TextBuilder out = text_builder(&f->arena, LIMIT);
    assert_true(call_json_standing(&f->words, standing, plan, NULL, 0.01, &out, &error));
    json_t *root = parse(&out);
    double sum = json_real_value(json_object_get(root, "nothing_wrong"));
    const json_t *list = json_object_get(root, "suspects"), *unlisted = json_object_get(root, "unlisted");
    size_t i;
    json_t *suspect;
    json_array_foreach(list, i, suspect)
    {
        assert_true(json_real_value(json_object_get(suspect, "probability")) >= 0.01);
        sum += json_real_value(json_object_get(suspect, "probability"));
    }
    assert_int_equal(json_integer_value(json_object_get(unlisted, "suspects")),
                     standing->suspect_count - (int)json_array_size(list));
    assert_near(sum + json_real_value(json_object_get(unlisted, "probability")), 1, 1e-12);
    json_decref(root);
}

static void assert_sums(const json_t *root)
{
    double sum = json_real_value(json_object_get(root, "nothing_wrong")), last = 1;
    size_t i;
    json_t *suspect;
    bool has_pair = false;
    json_array_foreach(json_object_get(root, "suspects"), i, suspect)
    {
        assert_has(suspect, "fault part probability");
        const double probability = json_real_value(json_object_get(suspect, "probability"));
        assert_true(probability <= last);
        last = probability;
        sum += probability;
        has_pair |= strchr(json_string_value(json_object_get(suspect, "fault")), '+') != NULL;
    }
    assert_near(sum, 1, 1e-9);
    assert_true(has_pair);
}

static void assert_said(const char *text)
{
    assert_non_null(text);
    assert_null(strchr(text, '{'));
    assert_null(strchr(text, '['));
}

static void diagnose_has_its_keys(void **state)
{
    (void)state;
    Fixture f;
    begin(&f, "range-relay-control");
    Entry entries[] = {{.kind = ENTRY_COMPLAINT,
                        .words = {kind_find_complaint(f.appliance.catalogue, "pale-bottom")},
                        .word_count = 1},
                       {.kind = ENTRY_READING, .part = -1},
                       {.kind = ENTRY_READING, .part = -1},
                       {.kind = ENTRY_RUN, .text = "run.csv", .set_celsius = 177}};
    for (int e = 1; e < 3; e++) { /* two that clash */
        entries[e].connection.from = appliance_find_mark(&f.appliance, "BK1");
        entries[e].connection.to = appliance_find_mark(&f.appliance, "BK2");
        entries[e].value.value = e == 1 ? 23.2 : INFINITY;
        entries[e].value.is_over = e == 2;
        entries[e].connection.lift_count = e - 1;
        entries[e].connection.lifts[0] = entries[e].connection.from;
    }
    const Call call = {.title = "", .entries = entries, .entry_count = 4, .meter = f.meter};
    const PlanTerms terms = plan_default_terms();
    Standing standing;
    Plan plan;
    PlanVisit visit;
    Error error;
    TextBuilder out = text_builder(&f.arena, LIMIT);
    assert_true(diagnose(&f.model, &call, &f.arena, &standing, &error));
    assert_true(plan_next(&f.model, &standing, &terms, &f.arena, &plan, &error));
    assert_true(plan_before_visit(&f.model, &standing, &terms, &f.arena, &visit, &error));
    assert_true(call_json_standing(&f.words, &standing, &plan, &visit, 0, &out, &error));
    json_t *root = parse(&out);
    assert_has(root,
               "suspects unlisted nothing_wrong contradictions steps done verdict warnings set not_weighed "
               "currency floor_minor before_visit");
    assert_sums(root);
    assert_false(json_is_true(json_object_get(root, "done")));
    assert_int_equal(json_integer_value(json_array_get(json_object_get(root, "not_weighed"), 0)), 4);
    const json_t *clash = json_array_get(json_object_get(root, "contradictions"), 0);
    assert_has(clash, "entries text");
    assert_int_equal(json_array_size(json_object_get(clash, "entries")), 2);
    assert_said(json_string_value(json_object_get(clash, "text")));
    size_t i;
    json_t *step;
    json_array_foreach(json_object_get(root, "steps"), i, step)
    {
        assert_has(step, "step kind minutes cost_minor power text why expected_total_minor");
        const char *power = json_string_value(json_object_get(step, "power"));
        assert_true(text_equal(power, "on") || text_equal(power, "off") || text_equal(power, "any"));
        assert_said(json_string_value(json_object_get(step, "text")));
        assert_said(json_string_value(json_object_get(step, "why")));
    }
    assert_true(i > 0);
    json_decref(root);
    assert_counts_the_rest(&f, &standing, &plan);
    arena_free(&f.arena);
}

/* Every check of every oven as a step: instruction, what comes before it, short name. */
static void every_check_can_be_said(void **state)
{
    (void)state;
    for (int a = 0; a < SHIPPED_COUNT; a++) {
        Fixture f;
        begin(&f, shipped_names[a]);
        const Call call = {.title = "", .meter = f.meter};
        Standing standing;
        Error error;
        assert_true(diagnose(&f.model, &call, &f.arena, &standing, &error));
        for (int c = 0; c < f.appliance.check_count; c++) {
            Arena arena = arena_new(MIB);
            TextBuilder text = text_builder(&arena, 4000), before = text, name = text;
            Step step = {.kind = STEP_CHECK, .check = c, .entry = -1, .part = f.appliance.checks[c].part};
            step.needs = safety_of_check(&f.appliance, &f.appliance.checks[c], &call);
            words_say_step(&f.words, &standing, &step, &text);
            words_say_before(&f.words, &standing, &step, &before);
            words_name_step(&f.appliance, &step, &name);
            assert_said(text_string(&text));
            assert_said(text_string(&before));
            assert_null(strchr(text_string(&name), ' '));
            arena_free(&arena);
        }
        arena_free(&f.arena);
    }
}

/* Every warning that a fault can give has a sentence. */
static void every_warning_can_be_said(void **state)
{
    (void)state;
    for (int a = 0; a < SHIPPED_COUNT; a++) {
        Fixture f;
        begin(&f, shipped_names[a]);
        int said = 0;
        for (int i = 0; i < f.appliance.fault_count; i++) {
            const char *key = safety_warning_key(&f.appliance, &f.appliance.faults[i]);
            char path[80];
            if (!key) continue;
            snprintf(path, sizeof path, "warning.%s", key);
            assert_non_null(words_find(&f.words, path));
            said++;
        }
        assert_true(said > 0);
        arena_free(&f.arena);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(expect_has_its_keys),       cmocka_unit_test(open_circuit_is_null_and_ol),
        cmocka_unit_test(diagnose_has_its_keys),     cmocka_unit_test(every_check_can_be_said),
        cmocka_unit_test(every_warning_can_be_said),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
