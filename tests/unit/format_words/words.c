/* words.c: sentences by key. The sentences here are the test's own: what is held is how they are found and
 * filled, no fact of the trade. */
#include "format/words/words.h"

#include "support/near.h"

#include <string.h>

static const char file[] = "step:\n"
                           "  ohm: \"Measure {part} between {from} and {to}.\"\n"
                           "  look: Look at {part}\n"
                           "done: Nothing left to do.\n";

typedef struct {
    Arena arena;
    Words words;
    TextBuilder out;
} Fixture;

static int begin(void **state)
{
    static Fixture fixture;
    Error error;
    fixture = (Fixture){.arena = arena_new(1 << 20)};
    if (!words_read("test.yaml", text_of(file), &fixture.arena, &fixture.words, &error)) return 1;
    fixture.out = text_builder(&fixture.arena, 1000);
    *state = &fixture;
    return 0;
}

static int end(void **state)
{
    arena_free(&((Fixture *)*state)->arena);
    return 0;
}

static void values_stand_where_the_braces_are(void **state)
{
    Fixture *f = *state;
    words_say(&f->words, &f->out, "step.ohm",
              (WordValue[]){{"to", "BK2"}, {"part", "the bake element"}, {"from", "BK1"}}, 3);
    assert_string_equal(text_string(&f->out), "Measure the bake element between BK1 and BK2.");
}

static void sentence_without_values(void **state)
{
    Fixture *f = *state;
    words_say(&f->words, &f->out, "done", NULL, 0);
    assert_string_equal(text_string(&f->out), "Nothing left to do.");
}

static void missing_key_shows(void **state)
{
    Fixture *f = *state;
    words_say(&f->words, &f->out, "step.amp", NULL, 0);
    assert_string_equal(text_string(&f->out), "[step.amp]");
    assert_null(words_find(&f->words, "step"));
    assert_null(words_find(&f->words, ""));
}

static void missing_value_shows(void **state)
{
    Fixture *f = *state;
    words_say(&f->words, &f->out, "step.look", (WordValue[]){{"par", "no"}, {"partner", "no"}}, 2);
    assert_string_equal(text_string(&f->out), "Look at {part}");
}

static void value_with_braces_is_not_filled_again(void **state)
{
    Fixture *f = *state;
    words_say(&f->words, &f->out, "step.look", (WordValue[]){{"part", "{part}"}}, 1);
    assert_string_equal(text_string(&f->out), "Look at {part}");
}

static void refuse(const char *bytes, const char *line)
{
    Arena arena = arena_new(1 << 20);
    Words words;
    Error error = {0};
    char says[1400];
    assert_false(words_read("bad.yaml", text_of(bytes), &arena, &words, &error));
    error_line(&error, says, sizeof says);
    if (strncmp(says, line, strlen(line)) != 0) fail_msg("%s\nshould begin with %s", says, line);
    arena_free(&arena);
}

static void bad_files_are_refused_with_their_place(void **state)
{
    (void)state;
    refuse("a: text\nb: half {open\n", "bad.yaml:2:4: cannot be read");
    refuse("a: \"{one {two}\"\n", "bad.yaml:1:4: cannot be read");
    refuse("a: [one, two]\n", "bad.yaml:1:4: wrong kind of value");
    refuse("just text\n", "bad.yaml:1:1: wrong kind of value");
}

static void every_cut_of_a_good_file_is_read_or_refused(void **state)
{
    (void)state;
    for (size_t length = 0; length < sizeof file; length++) {
        Arena arena = arena_new(1 << 20);
        Words words = {0};
        Error error = {0};
        if (!words_read("cut.yaml", (Text){file, length}, &arena, &words, &error))
            assert_int_not_equal(error.code, ERROR_NONE);
        arena_free(&arena);
    }
}

static void memory_ends_at_any_moment(void **state)
{
    (void)state;
    bool is_read = false;
    for (size_t limit = 0; !is_read; limit += 512) {
        Arena arena = arena_new(limit);
        Words words = {0};
        Error error = {0};
        is_read = words_read("test.yaml", text_of(file), &arena, &words, &error);
        if (!is_read) assert_true(error.code == ERROR_MEMORY || error.code == ERROR_TOO_LARGE);
        arena_free(&arena);
    }
}

/* What a second file says of a key that is there already does not count. */
static void a_catalogue_is_added(void **state)
{
    static const char more[] = "says:\n"
                               "  \"terminal loose, and hot\": \"borne flojo y caliente\"\n"
                               "done: Another end.\n";
    Fixture *f = *state;
    Error error = {0};
    assert_string_equal(words_translate(&f->words, "terminal loose, and hot"), "terminal loose, and hot");
    assert_true(words_add("more.yaml", text_of(more), &f->arena, &f->words, &error));
    assert_string_equal(words_translate(&f->words, "terminal loose, and hot"), "borne flojo y caliente");
    assert_string_equal(words_translate(&f->words, "terminal"), "terminal");
    assert_null(words_translate(&f->words, NULL));
    assert_string_equal(words_find(&f->words, "done"), "Nothing left to do.");
    assert_non_null(words_find(&f->words, "step.ohm"));
    static char long_text[400];
    memset(long_text, 'x', sizeof long_text - 1);
    assert_ptr_equal(words_translate(&f->words, long_text), long_text);
    assert_false(words_add("bad.yaml", text_of("says: [1]\n"), &f->arena, &f->words, &error));
    assert_string_equal(error.file, "bad.yaml");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(values_stand_where_the_braces_are, begin, end),
        cmocka_unit_test_setup_teardown(sentence_without_values, begin, end),
        cmocka_unit_test_setup_teardown(missing_key_shows, begin, end),
        cmocka_unit_test_setup_teardown(missing_value_shows, begin, end),
        cmocka_unit_test_setup_teardown(value_with_braces_is_not_filled_again, begin, end),
        cmocka_unit_test_setup_teardown(a_catalogue_is_added, begin, end),
        cmocka_unit_test(bad_files_are_refused_with_their_place),
        cmocka_unit_test(every_cut_of_a_good_file_is_read_or_refused),
        cmocka_unit_test(memory_ends_at_any_moment),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
