/* schema.c: mappings become structs by rows, and each kind of mistake is refused in one way. */
#include "format/yaml/yaml.h"
#include "support/near.h"
#include "support/shortage.h"

#include <string.h>

typedef struct {
    const char *name;
    double second;
    int line;
} Stage;

typedef struct {
    const char *title, *name, *colour;
    const char *const *tags;
    int tag_count;
    bool is_open;
    int mode, pieces;
    double volt, share;
    Stage first;
    const Stage *stages;
    int stage_count;
    const Stage *steps;
    int step_count;
    const YamlNode *rest;
    int length;
} Thing;

static const char *const modes[] = {"slow", "fast", NULL};
static const char *const colours[] = {"red", "green", NULL};

static const YamlField stage_fields[] = {
    {"lasts", YAML_AS_NUMBER, .is_required = true, .offset = offsetof(Stage, second), .unit = UNIT_SECOND},
};
static const YamlSchema stage_schema = {.what = "a stage",
                                        .size = sizeof(Stage),
                                        .fields = stage_fields,
                                        .field_count = 1,
                                        .has_name = true,
                                        .name_offset = offsetof(Stage, name),
                                        .has_line = true,
                                        .line_offset = offsetof(Stage, line)};
static const YamlSchema step_schema = {
    .what = "a step", .size = sizeof(Stage), .fields = stage_fields, .field_count = 1};

static bool read_length(const YamlReader *reader, const YamlField *field, const YamlNode *node, void *into,
                        Error *error)
{
    if (node->type != YAML_SCALAR)
        return yaml_refuse(reader, node, ERROR_WRONG_KIND, error, "a text for %s", field->key);
    *(int *)into = (int)strlen(node->text);
    return true;
}

static const YamlField fields[] = {
    {"title", YAML_AS_TEXT, .is_required = true, .offset = offsetof(Thing, title)},
    {"name", YAML_AS_NAME, .offset = offsetof(Thing, name)},
    {"colour", YAML_AS_CHOICE, .offset = offsetof(Thing, colour), .words = colours},
    {"tags", YAML_AS_NAMES, .offset = offsetof(Thing, tags), .count_offset = offsetof(Thing, tag_count)},
    {"open", YAML_AS_YES, .offset = offsetof(Thing, is_open)},
    {"mode", YAML_AS_WORD, .offset = offsetof(Thing, mode), .words = modes},
    {"pieces", YAML_AS_COUNT, .offset = offsetof(Thing, pieces), .least = 1, .most = 9},
    {"volts", YAML_AS_NUMBER, .offset = offsetof(Thing, volt), .unit = UNIT_VOLT, .least = 0, .most = 500},
    {"share", YAML_AS_SHARE, .offset = offsetof(Thing, share), .least = 0, .most = 1},
    {"first", YAML_AS_STRUCT, .offset = offsetof(Thing, first), .schema = &step_schema},
    {"stages", YAML_AS_STRUCTS, .offset = offsetof(Thing, stages),
     .count_offset = offsetof(Thing, stage_count), .schema = &stage_schema},
    {"steps", YAML_AS_STRUCTS, .offset = offsetof(Thing, steps), .count_offset = offsetof(Thing, step_count),
     .schema = &step_schema},
    {"rest", YAML_AS_NODE, .offset = offsetof(Thing, rest)},
    {"length", YAML_AS_FUNCTION, .offset = offsetof(Thing, length), .function = read_length},
};
static const YamlSchema schema = {
    .what = "a thing", .fields = fields, .field_count = sizeof fields / sizeof fields[0]};

static bool read_thing(Arena *arena, const char *input, Thing *thing, Error *error)
{
    const YamlReader reader = {.file = "f", .arena = arena};
    const YamlNode *root;
    *thing = (Thing){0};
    return yaml_read_tree("f", text_of(input), arena, &root, error) &&
           yaml_read_struct(&reader, root, &schema, thing, error);
}

static const char good[] = "title: A thing\nname: part.way\ncolour: green\ntags: [a-1, b_2]\nopen: yes\n"
                           "mode: fast\npieces: 3\nvolts: 240V\nshare: 3%\nfirst: {lasts: 2min}\n"
                           "stages:\n  warm: {lasts: 5s}\n  hot: {lasts: 1h}\nsteps: [{lasts: 1s}]\n"
                           "rest: {x: y}\nlength: four\n";

static void each_type_of_row_reads_its_value(void **state)
{
    (void)state;
    Arena arena = arena_new(1 << 20);
    Thing thing;
    Error error = {0};
    assert_true(read_thing(&arena, good, &thing, &error));
    assert_string_equal(thing.title, "A thing");
    assert_string_equal(thing.name, "part.way");
    assert_string_equal(thing.colour, "green");
    assert_int_equal(thing.tag_count, 2);
    assert_string_equal(thing.tags[1], "b_2");
    assert_true(thing.is_open);
    assert_int_equal(thing.mode, 1);
    assert_int_equal(thing.pieces, 3);
    assert_near(thing.volt, 240, 0);
    assert_near(thing.share, 0.03, 1e-15);
    assert_near(thing.first.second, 120, 0);
    assert_int_equal(thing.stage_count, 2);
    assert_string_equal(thing.stages[1].name, "hot");
    assert_near(thing.stages[1].second, 3600, 0);
    assert_int_equal(thing.stages[1].line, 13);
    assert_int_equal(thing.step_count, 1);
    assert_string_equal(yaml_child(thing.rest, "x")->text, "y");
    assert_int_equal(thing.length, 4);
    arena_free(&arena);
}

static const struct {
    const char *input, *line;
} refused[] = {
    {"tilte: x\n",
     "f:1:1: unknown word: 'tilte'; expected one of title, name, colour, tags, open, mode, pieces, "
     "volts, share, first, stages, steps, rest, length\n  did you mean 'title'?"},
    {"name: x\n", "f:1:1: something is missing: a thing without 'title'; expected 'title' in a thing"},
    {"{title: x, and y}\n",
     "f:1:12: unknown word: 'and y'; expected one of title, name, colour, tags, open, mode, "
     "pieces, volts, share, first, stages, steps, rest, length\n  a text with a comma "
     "between braces needs quotes around it"},
    {"title:\n", "f:1:7: something is missing: nothing; expected text"},
    {"title: [a]\n", "f:1:8: wrong kind of value: a list; expected text"},
    {"- title\n",
     "f:1:1: wrong kind of value: a list; expected a thing: 'key: value' lines, or {key: value}"},
    {"title: x\nname: a b\n",
     "f:2:7: wrong kind of value: 'a b'; expected a name: letters and digits, '-' or '_' "
     "between them, at most 63"},
    {"title: x\ncolour: blue\n", "f:2:9: unknown word: 'blue'; expected one of red, green"},
    {"title: x\ntags: a\n", "f:2:7: wrong kind of value: 'a'; expected a list of names, like [a, b]"},
    {"title: x\ntags: []\n",
     "f:2:7: wrong kind of value: an empty list; expected a list of names, like [a, b]"},
    {"title: x\ntags: [a, a]\n", "f:2:11: does not fit together: 'a'; expected each name once"},
    {"title: x\nopen: maybe\n", "f:2:7: unknown word: 'maybe'; expected one of no, yes"},
    {"title: x\nmode: fats\n",
     "f:2:7: unknown word: 'fats'; expected one of slow, fast\n  did you mean 'fast'?"},
    {"title: x\npieces: 2.5\n", "f:2:9: wrong kind of value: '2.5'; expected a whole number"},
    {"title: x\npieces: 10\n", "f:2:9: out of range: '10'; expected from 1 to 9"},
    {"title: x\nvolts: 900V\n", "f:2:8: out of range: '900V'; expected from 0 to 500 V"},
    {"title: x\nvolts: {a: 1}\n",
     "f:2:8: wrong kind of value: a mapping; expected a voltage, like 236V or 12mV"},
    {"title: x\nshare: 3V\n", "f:2:8: wrong kind of value: '3V'; expected a share, like 0.03 or 3%"},
    {"title: x\nshare: 130%\n", "f:2:8: out of range: '130%'; expected from 0 to 1"},
    {"title: x\nstages: {warm: {}}\n",
     "f:2:10: something is missing: 'warm' has no 'lasts'; expected 'lasts' in a stage"},
    {"title: x\nstages: {a.b: {lasts: 1s}}\n", "f:2:10: wrong kind of value: 'a.b'; expected a name: letters "
                                               "and digits, '-' or '_' between them, at most "
                                               "63"},
    {"title: x\nstages: {}\n",
     "f:2:9: something is missing: an empty mapping; expected a stage, with its name as key"},
    {"title: x\nstages: [1]\n",
     "f:2:9: wrong kind of value: a list; expected a mapping of names: 'key: value' lines, or {key: value}"},
    {"title: x\nsteps: {a: 1}\n", "f:2:8: wrong kind of value: a mapping; expected a list"},
    {"title: x\nlength: []\n", "f:2:9: wrong kind of value: an empty list; expected a text for length"},
};

static void each_mistake_is_refused_with_its_place(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof refused / sizeof refused[0]; i++) {
        Arena arena = arena_new(1 << 20);
        Thing thing;
        Error error = {0};
        char line[1200];
        if (read_thing(&arena, refused[i].input, &thing, &error)) fail_msg("%s was read", refused[i].input);
        error_line(&error, line, sizeof line);
        assert_string_equal(line, refused[i].line);
        arena_free(&arena);
    }
}

static void a_wrong_unit_is_refused_with_its_place(void **state)
{
    (void)state;
    static const char *const wrong[] = {"240", "240W", "OL", "1,5V", "nan", "inf", "0x10V", "1e999V", "V"};
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        Arena arena = arena_new(1 << 20);
        Thing thing;
        Error error = {0};
        TextBuilder input = text_builder(&arena, 100);
        text_addf(&input, "title: x\nvolts: %s\n", wrong[i]);
        assert_false(read_thing(&arena, text_string(&input), &thing, &error));
        assert_int_equal(error_exit_status(error.code), 3);
        assert_int_equal(error.line, 2);
        assert_int_equal(error.column, 8);
        assert_non_null(strstr(error.found, wrong[i]));
        arena_free(&arena);
    }
}

/* A long word in many-byte letters is cut between letters, so that a message is always UTF-8. */
static void a_message_never_cuts_a_letter(void **state)
{
    (void)state;
    for (int ahead = 0; ahead < 4; ahead++) {
        Arena arena = arena_new(1 << 20);
        Thing thing;
        Error error = {0};
        TextBuilder input = text_builder(&arena, 2000);
        text_addf(&input, "title: x\nmode: %.*s", ahead, "aaaa");
        for (int i = 0; i < 200; i++) text_add(&input, "\xE2\x84\xA6");
        assert_false(read_thing(&arena, text_string(&input), &thing, &error));
        const size_t length = strlen(error.found);
        assert_memory_equal(error.found + length - 7, "\xE2\x84\xA6...'", 7);
        arena_free(&arena);
    }
}

static bool read_short(void *of, Text bytes, Arena *arena, Error *error)
{
    (void)of;
    (void)bytes;
    Thing thing;
    return read_thing(arena, good, &thing, error);
}

static void each_allocation_may_fail(void **state)
{
    (void)state;
    shortage_of_memory(read_short, NULL, text_of(good));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_type_of_row_reads_its_value),
        cmocka_unit_test(each_mistake_is_refused_with_its_place),
        cmocka_unit_test(a_wrong_unit_is_refused_with_its_place),
        cmocka_unit_test(a_message_never_cuts_a_letter),
        cmocka_unit_test(each_allocation_may_fail),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
