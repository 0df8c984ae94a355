/* catalogue.c: the shipped kinds and words as they are read, and what is refused in such files.
 * Only what the files themselves say is held here; whether it is right, other tests ask. */
#include "format/appliance_yaml/appliance_yaml.h"
#include "support/file.h"
#include "support/shipped.h"
#include "support/shortage.h"
#include "support/table.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char *const kinds_path = "data/parts/kinds.yaml", *const words_path = "data/parts/words.yaml",
                         *const materials_path = "data/parts/materials.yaml";

typedef struct {
    Text kinds, words, materials;
    Arena arena;
    Catalogue catalogue;
    Error error;
} Fixture;

static int begin(void **state)
{
    static Fixture f;
    f = (Fixture){.kinds = file_read(kinds_path),
                  .words = file_read(words_path),
                  .materials = file_read(materials_path),
                  .arena = arena_new(4 << 20)};
    *state = &f;
    return 0;
}

static int end(void **state)
{
    Fixture *f = *state;
    free((void *)f->kinds.bytes);
    free((void *)f->words.bytes);
    free((void *)f->materials.bytes);
    arena_free(&f->arena);
    return 0;
}

static CatalogueFiles files_of(Text kinds, Text words, Text materials)
{
    return (CatalogueFiles){.kinds_file = "kinds",
                            .words_file = "words",
                            .materials_file = "materials",
                            .kinds = kinds,
                            .words = words,
                            .materials = materials};
}

static bool read_files(Fixture *f, Text kinds, Text words, Text materials)
{
    const CatalogueFiles files = files_of(kinds, words, materials);
    f->error = (Error){0};
    return catalogue_yaml_read(&files, &f->arena, &f->catalogue, &f->error);
}

static bool read_catalogue(Fixture *f, Text kinds, Text words)
{
    return read_files(f, kinds, words, f->materials);
}

static void shipped_words_are_read(void **state)
{
    Fixture *f = *state;
    assert_true(read_catalogue(f, f->kinds, f->words));
    const Catalogue *catalogue = &f->catalogue;
    assert_true(catalogue->nothing_wrong_weight > 0);
    assert_true(catalogue->second_fault > 0 && catalogue->second_fault < 1);
    const int glows = kind_find_look(catalogue, "glows"), sound = kind_find_look(catalogue, "sound");
    assert_true(glows >= 0 && sound >= 0);
    assert_true(catalogue->looks[glows].way == LOOK_POWER);
    assert_near(catalogue->looks[glows].ratio_from, 0.35, 1e-12);
    assert_true(catalogue->looks[sound].is_sound);
    const LookWord *comes = &catalogue->looks[kind_find_look(catalogue, "comes-and-goes")],
                   *runs_on = &catalogue->looks[kind_find_look(catalogue, "runs-on")];
    assert_true(comes->way == LOOK_POWER && runs_on->way == LOOK_POWER && comes->ratio_to == 0 &&
                runs_on->ratio_to == 0);
    assert_near(comes->unsteady, 0.7, 1e-12);
    assert_near(runs_on->runs_on, 0.85, 1e-12);
    assert_true(comes->runs_on == 0 && runs_on->unsteady == 0);
    const ComplaintWord *cool = &catalogue->complaints[kind_find_complaint(catalogue, "too-cool")];
    assert_near(cool->when[CONDITION_COOLER], 0.8, 1e-12);
    assert_near(cool->when[CONDITION_HOTTER], 0, 0);
    assert_true(cool->otherwise > 0 && cool->otherwise < 0.2); /* was written in percent */
}

static const FaultMode *find_mode(const PartKind *kind, const char *name)
{
    for (int i = 0; i < kind->mode_count; i++)
        if (text_equal(kind->modes[i].name, name)) return &kind->modes[i];
    fail_msg("no mode %s", name);
    return NULL;
}

static void shipped_kinds_are_read(void **state)
{
    Fixture *f = *state;
    assert_true(read_catalogue(f, f->kinds, f->words));
    const PartKind *element = &f->catalogue.kinds[kind_find(&f->catalogue, "element")];
    assert_int_equal(element->terminal_count, 2);
    assert_false(element->has_ways);
    assert_int_equal(element->branches[0].type, BRANCH_HEATER);
    assert_int_equal(element->branches[0].from, 0);
    assert_int_equal(element->branches[0].to, 1);
    assert_near(element->branches[0].tolerance, 0.04, 1e-12);
    assert_int_equal(element->branches[1].to, KIND_FRAME);
    const FaultMode *open = find_mode(element, "open"), *grounded = find_mode(element, "grounded");
    assert_int_equal(open->effect, EFFECT_OPEN);
    assert_int_equal(open->branch, 0);
    assert_false(open->has_severity);
    assert_int_equal(open->signs[0].look, kind_find_look(&f->catalogue, "blistered"));
    assert_non_null(open->weight_source);
    assert_int_equal(grounded->branch, 1);
    assert_true(grounded->has_severity && grounded->severity.is_log);
    assert_near(grounded->severity.to, 20e3, 0);
    const PartKind *block = &f->catalogue.kinds[kind_find(&f->catalogue, "terminal-block")];
    assert_true(block->has_ways);
    assert_int_equal(block->way.type, BRANCH_LINK);
    assert_null(block->role);
    assert_string_equal(f->catalogue.kinds[kind_find(&f->catalogue, "harness")].role, "wiring");
    assert_int_equal(find_mode(block, "open")->branch, KIND_EACH_WAY);
}

static const struct {
    const char *kinds, *place, *expected;
} refused[] = {
    {"k: {says: x, role: wires}", "kinds:1:20", "one of wiring"},
    {"k: {says: x, terminals: 2, branches: {b: {type: heater, between: [1, 1]}}}", "kinds:1:66",
     "two different"},
    {"k: {says: x, terminals: 2, branches: {b: {type: heater, between: [1, 3]}}}", "kinds:1:1",
     "terminals 1 to 2"},
    {"k: {says: x, terminals: 2, branches: {b: {type: heater, between: [0, 1]}}}", "kinds:1:67", "from 1 to"},
    {"k: {says: x, terminals: 2, branches: {b: {type: glow, between: [1, 2]}}}", "kinds:1:49",
     "one of heater"},
    {"k: {says: x, terminals: 2, ways: {type: link}}", "kinds:1:1", "not both"},
    {"k: {says: x, looks: [shiny]}", "kinds:1:22", "one of glows"},
    {"k: {says: x, ways: {type: link}, faults: {f: {says: y, effect: open, on: one, weight: 1}}}",
     "kinds:1:74", "one of all, each"},
    {"k: {says: x, ways: {type: link}, faults: {f: {says: y, effect: open, weight: 1}}}", "kinds:1:43",
     "'on'"},
    {"k: {says: x, ways: {type: link}, faults: {f: {says: y, effect: open, on: each, weight: 0}}}",
     "kinds:1:88", "from"},
    {"k: {says: x, ways: {type: link}, faults: {f: {says: y, effect: scale, on: each, weight: 1}}}",
     "kinds:1:43", "a severity"},
    {"k: {says: x, ways: {type: link}, faults: {f: {says: y, effect: open, on: each, weight: 1,\n"
     "  severity: {from: 1ohm, to: 2ohm}}}}",
     "kinds:2:13", "no severity"},
    {"k: {says: x, ways: {type: link}, faults: {f: {says: y, effect: add-ohm, on: each, weight: 1,\n"
     "  severity: {from: 3ohm, to: 2ohm}}}}",
     "kinds:2:30", "not less than"},
    {"k: {says: x, ways: {type: link}, faults: {f: {says: y, effect: add-ohm, on: each, weight: 1,\n"
     "  severity: {from: -1ohm, to: 2ohm, spread: log}}}}",
     "kinds:2:20", "more than 0"},
    {"k: {says: x, ways: {type: link}, faults: {f: {says: y, effect: scale, on: each, weight: 1,\n"
     "  severity: {from: 1ohm, to: 2ohm}}}}",
     "kinds:2:20", "plain number"},
    {"k: {says: x, ways: {type: link}, faults: {f: {says: y, effect: none, weight: 1, oven: {bottom-ded: "
     "1}}}}",
     "kinds:1:88", "one of cooler"},
    {"k: {says: x, ways: {type: link}, faults: {f: {says: y, effect: none, weight: 1, oven: {cooler: 2}}}}",
     "kinds:1:96", "from 0 to 1"},
    {"k: {says: x, looks: [glows], faults: {f: {says: y, effect: none, weight: 1, signs: {dark: 0.5}}}}",
     "kinds:1:85", "looks of this kind"},
    {"{}", "kinds:1:1", "a kind"},
};

static void mistakes_in_kinds_are_refused_where_they_stand(void **state)
{
    Fixture *f = *state;
    for (size_t i = 0; i < sizeof refused / sizeof refused[0]; i++) {
        char line[1200];
        if (read_catalogue(f, text_of(refused[i].kinds), f->words)) fail_msg("%s was read", refused[i].kinds);
        error_line(&f->error, line, sizeof line);
        if (strncmp(line, refused[i].place, strlen(refused[i].place)) != 0 ||
            !strstr(line, refused[i].expected))
            fail_msg("%s\ngives %s", refused[i].kinds, line);
    }
}

/* Printed factors of the alloy and a figure of DIN EN 12524 as they stand in the file; a use of each. */
static void shipped_materials_are_read(void **state)
{
    Fixture *f = *state;
    assert_true(read_catalogue(f, f->kinds, f->words));
    const MaterialTable *materials = &f->catalogue.materials;
    static const char *const needed[] = {
        "steel",           "stainless-steel", "enamelled-steel", "galvanised-steel", "aluminium-foil",
        "glass",           "mineral-wool",    "glass-wool",      "nichrome",         "sheath",
        "magnesium-oxide", "copper",          "water",           "test-brick"};
    for (size_t i = 0; i < sizeof needed / sizeof needed[0]; i++)
        if (!material_find(materials, needed[i])) fail_msg("no %s", needed[i]);
    assert_near(material_find(materials, "glass")->density, 2500, 0);
    assert_near(material_resistance_ratio(material_find(materials, "nichrome"), 450), 1.0255, 1e-12);
    for (int i = 0; i < materials->count; i++) assert_true(strlen(materials->rows[i].source) > 5);
}

static const char *const INSULATION_KEYS[] = {"given", "material", "conductivity", "share", NULL};

static void check_conductivity(const TableRow *row)
{
    Arena arena = arena_new(4 << 20);
    Catalogue catalogue;
    shipped_read_catalogue(&arena, &catalogue);
    const Material *material = material_find(&catalogue.materials, table_text(row, "material"));
    table_true(row, material != NULL, "no such material");
    const double got = material_conductivity(material, table_value(row, "given", UNIT_CELSIUS));
    const double want = table_value(row, "conductivity", UNIT_NONE);
    table_near(row, got, want, table_value(row, "share", UNIT_NONE) * want);
    arena_free(&arena);
}

static void printed_conductivities_hold(void **state)
{
    (void)state;
    table_check("material/insulation", INSULATION_KEYS, check_conductivity);
}

static const struct {
    const char *materials, *place, *expected;
} refused_materials[] = {
    {"steel: {density: 1}", "materials:1:1", "materials"},
    {"materials: {a: {density: 7800}}", "materials:1:13", "specific-heat"},
    {"materials: {a: {density: 7.8e9}}", "materials:1:26", "from 1 to"},
    {"materials: {a: {density: 7800, specific-heat: 450, conductivity: 50, emissivity: 1.2}}",
     "materials:1:82", "from 0.005 to 1"},
    {"materials: {a: {density: 7800, specific-heat: 450, conductivity: 50}}", "materials:1:13", "source"},
    {"materials: {a: {density: 1, specific-heat: 450, conductivity: 50, resistance: [[20C, 1], [20C, 1]]}}",
     "materials:1:90", "hotter"},
    {"materials: {a: {density: 1, specific-heat: 450, conductivity: 50, resistance: [20C, 1]}}",
     "materials:1:80", "a temperature and a ratio"},
};

static void mistakes_in_materials_are_refused_where_they_stand(void **state)
{
    Fixture *f = *state;
    for (size_t i = 0; i < sizeof refused_materials / sizeof refused_materials[0]; i++) {
        const char *materials = refused_materials[i].materials;
        char line[1200];
        if (read_files(f, f->kinds, f->words, text_of(materials))) fail_msg("%s was read", materials);
        error_line(&f->error, line, sizeof line);
        if (strncmp(line, refused_materials[i].place, strlen(refused_materials[i].place)) != 0 ||
            !strstr(line, refused_materials[i].expected))
            fail_msg("%s\ngives %s", materials, line);
    }
}

static const struct {
    const char *words, *place, *expected;
} refused_words[] = {
    {"looks: {}", "words:1:1", "'nothing-wrong'"},
    {"nothing-wrong: {weight: -1}", "words:1:25", "from"},
    {"nothing-wrong: {weight: 1}\nsecond-fault: 4", "words:2:15", "from 0 to"},
    {"nothing-wrong: {weight: 1}\nsecond-fault: 4%\nlooks: {a: {says: x}}", "words:3:9", "one of power"},
    {"nothing-wrong: {weight: 1}\nsecond-fault: 4%\nlooks: {a: {says: x, power: [0, 1], unsteady: 70%}}",
     "words:3:9", "one of power, unsteady, runs-on"},
    {"nothing-wrong: {weight: 1}\nsecond-fault: 4%\nlooks: {a: {says: x, power: [0, 1], strip: yes}}",
     "words:3:9", "otherwise or sound with strip"},
    {"nothing-wrong: {weight: 1}\nsecond-fault: 4%\nlooks: {a: {says: x, runs-on: 2}}", "words:3:31",
     "from 0.01 to 1"},
    {"nothing-wrong: {weight: 1}\nsecond-fault: 4%\nlooks: {a: {says: x, power: [2, 1]}}", "words:3:29",
     "lower"},
    {"nothing-wrong: {weight: 1}\nsecond-fault: 4%\nlooks: {a: {says: x, power: 2}}", "words:3:29",
     "two shares"},
    {"nothing-wrong: {weight: 1}\nsecond-fault: 4%\nlooks: {a: {says: x, sound: yes}}\n"
     "complaints: {c: {says: y, when: {warmer: 1}, otherwise: 1%, nothing-wrong: 1%}}",
     "words:4:34", "one of cooler"},
};

static void mistakes_in_words_are_refused_where_they_stand(void **state)
{
    Fixture *f = *state;
    for (size_t i = 0; i < sizeof refused_words / sizeof refused_words[0]; i++) {
        char line[1200];
        if (read_catalogue(f, f->kinds, text_of(refused_words[i].words)))
            fail_msg("%s was read", refused_words[i].words);
        error_line(&f->error, line, sizeof line);
        if (strncmp(line, refused_words[i].place, strlen(refused_words[i].place)) != 0 ||
            !strstr(line, refused_words[i].expected))
            fail_msg("%s\ngives %s", refused_words[i].words, line);
    }
}

static bool read_short(void *of, Text kinds, Arena *arena, Error *error)
{
    const Fixture *f = of;
    const CatalogueFiles files = files_of(kinds, f->words, f->materials);
    Catalogue catalogue;
    return catalogue_yaml_read(&files, arena, &catalogue, error);
}

/* Of some ten thousand bytes. */
static void every_truncation_is_read_or_refused(void **state)
{
    shortage_of_bytes(read_short, *state, ((Fixture *)*state)->kinds, 7, false);
}

static void every_allocation_may_fail(void **state)
{
    shortage_of_memory(read_short, *state, ((Fixture *)*state)->kinds);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(shipped_words_are_read, begin, end),
        cmocka_unit_test_setup_teardown(shipped_kinds_are_read, begin, end),
        cmocka_unit_test_setup_teardown(mistakes_in_kinds_are_refused_where_they_stand, begin, end),
        cmocka_unit_test_setup_teardown(mistakes_in_words_are_refused_where_they_stand, begin, end),
        cmocka_unit_test_setup_teardown(shipped_materials_are_read, begin, end),
        cmocka_unit_test(printed_conductivities_hold),
        cmocka_unit_test_setup_teardown(mistakes_in_materials_are_refused_where_they_stand, begin, end),
        cmocka_unit_test_setup_teardown(every_truncation_is_read_or_refused, begin, end),
        cmocka_unit_test_setup_teardown(every_allocation_may_fail, begin, end),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
