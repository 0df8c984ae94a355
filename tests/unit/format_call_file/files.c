/* files.c: call files to records' contents and back: what the program reads of both must be the same. */
#include <stdio.h>
#include <string.h>

#include "format/call_file/call_file.h"
#include "format/yaml/yaml.h"
#include "support/near.h"

static Arena arena;

static int begin(void **state)
{
    (void)state;
    arena = arena_new((size_t)16 << 20);
    return 0;
}

static int end(void **state)
{
    (void)state;
    arena_free(&arena);
    return 0;
}

static void hold_same(const YamlNode *a, const YamlNode *b)
{
    assert_int_equal(a->type, b->type);
    assert_int_equal(a->count, b->count);
    if (a->type == YAML_SCALAR) assert_string_equal(a->text, b->text);
    const YamlNode *one = a->first, *other = b->first;
    for (; one && other; one = one->next, other = other->next) {
        if (a->type == YAML_MAPPING) assert_string_equal(one->key, other->key);
        hold_same(one, other);
    }
}

static TrailRecord record(TrailKind kind, int number, const CallFilePiece *piece)
{
    TrailRecord made = {.made_millisecond = 1000 + number,
                        .author = "Ada",
                        .device = "van",
                        .kind = kind,
                        .subject = kind == TRAIL_ENTRY || kind == TRAIL_CHANGED ? piece->subject : "",
                        .payload = piece->content};
    snprintf(made.id, sizeof made.id, "01890a5d-ac96-774b-bcce-b302099a%04u", (unsigned)number % 10000U);
    memcpy(made.call, "017f22e2-79b0-7cc3-98c4-dc0c0c07398f", sizeof made.call);
    return made;
}

enum { MOST = 40 };

/* The call of that file as records, and the file that they come to. */
static const char *through(const char *file, Text bytes, TrailRecord *records, int *count)
{
    CallFilePiece head;
    const CallFilePiece *entries;
    int entry_count, written, numbers[MOST];
    Trail trail;
    TrailState state;
    Error error = {.code = ERROR_NONE};
    TextBuilder out = text_builder(&arena, 1 << 20);
    if (!call_file_read(file, bytes, &arena, &head, &entries, &entry_count, &error))
        fail_msg("%s", error.found);
    assert_true(entry_count < MOST - 1);
    *count = 0;
    records[(*count)++] = record(TRAIL_OPENED, 0, &head);
    for (int e = 0; e < entry_count; e++) records[(*count)++] = record(TRAIL_ENTRY, e + 1, &entries[e]);
    for (int r = 0; r < *count; r++) assert_true(trail_check(&records[r], &error));
    assert_true(trail_merge(records, *count, NULL, 0, &arena, &trail, &error));
    assert_true(trail_replay(&trail, trail.count, &arena, &state, &error));
    assert_true(call_file_write(&trail, &state, trail.count, &out, numbers, &written, &error));
    assert_int_equal(written, entry_count);
    for (int e = 0; e < written; e++) assert_int_equal(numbers[e], e + 1);
    return text_string(&out);
}

/* Every shipped demo, and the files of the other tests: the tree is the same after the way through records,
 * and the way once more changes no letter. */
static void a_call_comes_back(void **state)
{
    static const char *const files[] = {"data/demo/contradiction.yaml", "data/demo/grounded-element.yaml",
                                        "data/demo/no-heat.yaml",       "data/demo/pale-bottom-measured.yaml",
                                        "data/demo/phone.yaml",         "data/demo/sensor-open.yaml",
                                        "data/demo/worried-owner.yaml", "tests/cli/light-call.yaml"};
    (void)state;
    for (size_t f = 0; f < sizeof files / sizeof files[0]; f++) {
        static char bytes[1 << 16];
        char path[400];
        TrailRecord records[MOST];
        const YamlNode *before, *after;
        int count;
        Error error = {.code = ERROR_NONE};
        snprintf(path, sizeof path, "%s/%s", PROJECT_FOLDER, files[f]);
        FILE *file = fopen(path, "r");
        assert_non_null(file);
        const Text text = {bytes, fread(bytes, 1, sizeof bytes, file)};
        fclose(file);
        const char *once = through(path, text, records, &count);
        assert_true(yaml_read_tree(path, text, &arena, &before, &error));
        if (!yaml_read_tree("written", text_of(once), &arena, &after, &error)) fail_msg("%s", once);
        hold_same(before, after);
        assert_string_equal(through("again", text_of(once), records, &count), once);
    }
}

static void letters_that_yaml_minds_come_back(void **state)
{
    static const char hard[] =
        "call: \"says: 'no heat' # really, {x} \\\"y\\\" \\\\ tab\\t é €\"\nappliance: range-208\n"
        "entries:\n  - note: |\n      two\n      lines - of: it\n  - {run: log.csv, set: 350F}\n";
    TrailRecord records[MOST];
    const YamlNode *before, *after;
    CallFilePiece head;
    const CallFilePiece *entries;
    int count;
    Error error = {.code = ERROR_NONE};
    (void)state;
    const char *written = through("hard", text_of(hard), records, &count);
    assert_true(yaml_read_tree("hard", text_of(hard), &arena, &before, &error));
    assert_true(yaml_read_tree("written", text_of(written), &arena, &after, &error));
    hold_same(before, after);
    assert_true(call_file_read("hard", text_of(hard), &arena, &head, &entries, &count, &error));
    assert_string_equal(entries[0].subject, "note");
    assert_null(entries[0].log);
    assert_string_equal(entries[1].log, "log.csv");
    assert_string_equal(entries[1].content, "{\"run\":\"log.csv\",\"set\":\"350F\"}");
}

/* A struck entry is not in the file, a change of the head is. */
static void the_file_is_what_holds(void **state)
{
    static const char call[] =
        "call: pale\nappliance: range-208\nentries:\n  - {note: one}\n  - {note: two}\n";
    TrailRecord records[MOST];
    int count, entry_count, numbers[MOST];
    Trail trail;
    TrailState after;
    CallFilePiece change;
    Error error = {.code = ERROR_NONE};
    TextBuilder out = text_builder(&arena, 4096);
    (void)state;
    (void)through("call", text_of(call), records, &count);
    assert_true(call_file_read_entry("change", text_of("{ambient: 25C}"), &arena, &change, &error));
    records[count] = record(TRAIL_CHANGED, 10, &change);
    records[count + 1] = record(TRAIL_STRUCK, 11, &change);
    memcpy(records[count + 1].strikes, records[1].id, TRAIL_ID_SIZE);
    assert_true(trail_merge(records, count + 2, NULL, 0, &arena, &trail, &error));
    assert_true(trail_replay(&trail, trail.count, &arena, &after, &error));
    assert_true(call_file_write(&trail, &after, trail.count, &out, numbers, &entry_count, &error));
    assert_string_equal(text_string(&out),
                        "call: \"pale\"\nappliance: \"range-208\"\nambient: \"25C\"\nentries:\n"
                        "  - {\"note\":\"two\"}\n");
    assert_int_equal(entry_count, 1);
    assert_int_equal(numbers[0], 2);
}

static void a_reason_is_one_object(void **state)
{
    static const char *const faults[] = {"bake-element.open", "nothing-wrong"};
    const char *content;
    Error error = {.code = ERROR_NONE};
    (void)state;
    assert_true(call_file_write_reason(&(CallFileReason){.why = "a \"slip\""}, &arena, &content, &error));
    assert_string_equal(content, "{\"why\":\"a \\\"slip\\\"\"}");
    const CallFileReason closing = {.minutes = "85", .confirmed = faults, .confirmed_count = 2};
    assert_true(call_file_write_reason(&closing, &arena, &content, &error));
    assert_string_equal(content,
                        "{\"confirmed\":[\"bake-element.open\",\"nothing-wrong\"],\"minutes\":\"85\"}");
    assert_true(call_file_write_reason(&(CallFileReason){.why = NULL}, &arena, &content, &error));
    assert_string_equal(content, "{}");
    assert_false(call_file_write_reason(&(CallFileReason){.why = "\xff"}, &arena, &content, &error));
    assert_int_equal(error.code, ERROR_SYNTAX);
}

static void what_is_no_entry_is_refused(void **state)
{
    static const char *const wrong[] = {"text", "[1, 2]", "{}", "", "{a: 1, a: 2}", "{a: [}"};
    CallFilePiece piece;
    (void)state;
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        Error error = {.code = ERROR_NONE};
        assert_false(call_file_read_entry("entry", text_of(wrong[i]), &arena, &piece, &error));
        assert_int_not_equal(error.code, ERROR_NONE);
        assert_string_equal(error.file, "entry");
    }
    Trail trail = {.count = 0};
    TrailState nothing = {.opened = -1};
    TextBuilder out = text_builder(&arena, 4096);
    int numbers[1], count;
    Error error = {.code = ERROR_NONE};
    assert_false(call_file_write(&trail, &nothing, 0, &out, numbers, &count, &error));
    assert_int_equal(error.code, ERROR_INCONSISTENT);
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, begin, end)
    const struct CMUnitTest tests[] = {TEST(a_call_comes_back), TEST(letters_that_yaml_minds_come_back),
                                       TEST(the_file_is_what_holds), TEST(what_is_no_entry_is_refused),
                                       TEST(a_reason_is_one_object)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
