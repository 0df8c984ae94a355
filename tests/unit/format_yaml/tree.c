/* tree.c: documents become trees with places; what is no plain data is refused with its place.
 * Source of what is YAML and what is not: YAML 1.1 (2005), as far as the library reads it. */
#include "format/yaml/yaml.h"
#include "support/near.h"
#include "support/shortage.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static bool read_tree(Arena *arena, const char *input, const YamlNode **root, Error *error)
{
    return yaml_read_tree("f", text_of(input), arena, root, error);
}

static void nodes_have_the_place_of_the_value(void **state)
{
    (void)state;
    Arena arena = arena_new(1 << 20);
    const YamlNode *root;
    Error error = {0};
    assert_true(
        read_tree(&arena, "# note\na: 1\nlist:\n  - x\n  - {b: 'y z', c: }\n\xC3\xA9: 2\n", &root, &error));
    assert_int_equal(root->type, YAML_MAPPING);
    assert_int_equal(root->count, 3);
    assert_int_equal(root->line, 2);
    const YamlNode *a = yaml_child(root, "a"), *list = yaml_child(root, "list");
    assert_string_equal(a->text, "1");
    assert_int_equal(a->line, 2);
    assert_int_equal(a->column, 4);
    assert_int_equal(a->key_column, 1);
    assert_int_equal(list->type, YAML_LIST);
    assert_int_equal(list->count, 2);
    const YamlNode *inner = list->first->next;
    assert_int_equal(inner->type, YAML_MAPPING);
    assert_null(inner->key);
    assert_string_equal(yaml_child(inner, "b")->text, "y z");
    assert_int_equal(yaml_child(inner, "b")->line, 5);
    assert_int_equal(yaml_child(inner, "b")->column, 9);
    assert_string_equal(yaml_child(inner, "c")->text, "");
    assert_null(yaml_child(root, "b"));
    assert_int_equal(yaml_child(root, "\xC3\xA9")->column, 4); /* columns count letters, not bytes */
    arena_free(&arena);
}

static void byte_order_mark_and_line_ends_do_no_harm(void **state)
{
    (void)state;
    Arena arena = arena_new(1 << 20);
    const YamlNode *root;
    Error error = {0};
    assert_true(read_tree(&arena, "\xEF\xBB\xBF---\r\na: 1\r\nb: 2\r\n", &root, &error));
    assert_string_equal(yaml_child(root, "a")->text, "1");
    assert_int_equal(yaml_child(root, "b")->line, 3);
    arena_free(&arena);
}

static const struct {
    const char *input, *line;
} refused[] = {
    {"", "f:1:1: something is missing: an empty file; expected 'key: value' lines"},
    {"# only a comment\n", "f:1:1: something is missing: an empty file; expected 'key: value' lines"},
    {"a: &x 1\n", "f:1:4: cannot be read: an anchor (&); expected plain values, written out each time"},
    {"a: *x\n", "f:1:4: cannot be read: an alias (*); expected plain values, written out each time"},
    {"a: !!int 1\n", "f:1:4: cannot be read: a tag (!); expected plain values without tags"},
    {"a: !x [1]\n", "f:1:4: cannot be read: a tag (!); expected plain values without tags"},
    {"a: 1\n---\nb: 2\n", "f:2:1: cannot be read: a second document (---); expected one in a file"},
    {"a: 1\nb: 2\na: 3\n",
     "f:3:1: does not fit together: 'a'; expected each key once; it stands in line 1 already"},
    {"[a]: 1\n", "f:1:1: cannot be read: a key that is no word; expected a word as key, then a colon"},
    {"? {a: 1}\n: 2\n", "f:1:3: cannot be read: a key that is no word; expected a word as key, then a colon"},
    {"'': 1\n", "f:1:1: cannot be read: an empty key; expected a word as key, then a colon"},
    {"a: \"\\0b\"\n",
     "f:1:4: cannot be read: an escaped control character; expected text without control characters"},
    {"a: \"\\a\"\n",
     "f:1:4: cannot be read: an escaped control character; expected text without control characters"},
    {"a:\n\tb: 1\n",
     "f:2:1: cannot be read: found character that cannot start any token (while scanning for the "
     "next token that starts in line 2); expected YAML: 'key: value' on each line, indented "
     "with spaces\n  indent with spaces; there is a tab in this line"},
    {"a: [1, 2\n",
     "f:2:1: cannot be read: did not find expected ',' or ']' (while parsing a flow sequence that "
     "starts in line 1); expected YAML: 'key: value' on each line, indented with spaces"},
    {"a: 1\n b: 2\n", "f:2:3: cannot be read: mapping values are not allowed in this context; expected YAML: "
                      "'key: value' on each line, indented with spaces"},
    {"a: 1\x01\n", "f:1:5: cannot be read: byte 0x01; expected text in UTF-8 without control characters\n"
                   "  delete this character"},
    {"a: \xFF\n", "f:1:4: cannot be read: byte 0xFF; expected text in UTF-8 without control characters\n"
                  "  save the file as UTF-8"},
    {"a: \xC0\x80\n", "f:1:4: cannot be read: byte 0xC0; expected text in UTF-8 without control characters\n"
                      "  save the file as UTF-8"},
    {"a: \xED\xA0\x80\n",
     "f:1:4: cannot be read: byte 0xED; expected text in UTF-8 without control characters\n"
     "  save the file as UTF-8"},
    {"a: \xE2\x82", "f:1:4: cannot be read: byte 0xE2; expected text in UTF-8 without control characters\n"
                    "  save the file as UTF-8"},
};

static void what_is_not_plain_data_is_refused_with_its_place(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof refused / sizeof refused[0]; i++) {
        Arena arena = arena_new(1 << 20);
        const YamlNode *root;
        Error error = {0};
        char line[1200];
        assert_false(read_tree(&arena, refused[i].input, &root, &error));
        error_line(&error, line, sizeof line);
        assert_string_equal(line, refused[i].line);
        arena_free(&arena);
    }
}

static void a_byte_of_zero_is_refused(void **state)
{
    (void)state;
    Arena arena = arena_new(1 << 20);
    const YamlNode *root;
    Error error = {0};
    assert_false(yaml_read_tree("f", (Text){"a: 1\nb: \0", 9}, &arena, &root, &error));
    assert_int_equal(error.line, 2);
    assert_int_equal(error.column, 4);
    assert_string_equal(error.hint, "this looks like a binary file");
    arena_free(&arena);
}

/* `count` times `piece`, to be freed. */
static char *repeat(const char *piece, size_t count)
{
    const size_t length = strlen(piece);
    char *text = malloc(length * count + 1);
    assert_non_null(text);
    for (size_t i = 0; i < count; i++) memcpy(text + i * length, piece, length);
    text[length * count] = '\0';
    return text;
}

static void expect_too_large(const char *piece, size_t count, const char *found)
{
    Arena arena = arena_new(64 << 20);
    const YamlNode *root;
    Error error = {0};
    char *text = repeat(piece, count);
    assert_false(read_tree(&arena, text, &root, &error));
    assert_int_equal(error.code, ERROR_TOO_LARGE);
    assert_string_equal(error.found, found);
    assert_true(error.line > 0);
    free(text);
    arena_free(&arena);
}

static void size_depth_and_number_have_limits(void **state)
{
    (void)state;
    expect_too_large("#", YAML_MOST_BYTES + 1, "a larger file");
    expect_too_large("[", 5000, "more lists and mappings inside one another");
    expect_too_large("{a: ", YAML_MOST_DEPTH + 1, "more lists and mappings inside one another");
    expect_too_large("- a\n", YAML_MOST_NODES, "more values in the file");
    expect_too_large("x", YAML_LONGEST_TEXT + 1, "a longer text");
}

static void too_many_keys_are_refused(void **state)
{
    (void)state;
    enum { COUNT = YAML_MOST_KEYS + 1, LONGEST = 12 };
    Arena arena = arena_new(64 << 20);
    const YamlNode *root;
    Error error = {0};
    char *text = malloc(COUNT * LONGEST + 1);
    assert_non_null(text);
    size_t length = 0;
    for (int i = 0; i < COUNT; i++) length += (size_t)snprintf(text + length, LONGEST + 1, "k%d: 1\n", i);
    assert_false(read_tree(&arena, text, &root, &error));
    assert_string_equal(error.found, "more keys in one mapping");
    assert_int_equal(error.line, COUNT);
    free(text);
    arena_free(&arena);
}

static void depth_up_to_the_limit_is_read(void **state)
{
    (void)state;
    Arena arena = arena_new(1 << 20);
    const YamlNode *root;
    Error error = {0};
    char text[2 * YAML_MOST_DEPTH + 1] = "";
    memset(text, '[', YAML_MOST_DEPTH);
    memset(text + YAML_MOST_DEPTH, ']', YAML_MOST_DEPTH);
    assert_true(read_tree(&arena, text, &root, &error));
    arena_free(&arena);
}

/* The arena's limit is raised step by step until the tree fits: every allocation fails once. */
static bool read_short(void *of, Text bytes, Arena *arena, Error *error)
{
    (void)of;
    const YamlNode *root;
    return yaml_read_tree("f", bytes, arena, &root, error);
}

static void each_allocation_may_fail(void **state)
{
    (void)state;
    shortage_of_memory(read_short, NULL, text_of("a: 1\nb: [x, y, {c: d}]\n"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nodes_have_the_place_of_the_value),
        cmocka_unit_test(byte_order_mark_and_line_ends_do_no_harm),
        cmocka_unit_test(what_is_not_plain_data_is_refused_with_its_place),
        cmocka_unit_test(a_byte_of_zero_is_refused),
        cmocka_unit_test(size_depth_and_number_have_limits),
        cmocka_unit_test(too_many_keys_are_refused),
        cmocka_unit_test(depth_up_to_the_limit_is_read),
        cmocka_unit_test(each_allocation_may_fail),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
