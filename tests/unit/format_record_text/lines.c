/* lines.c: records as JSON Lines, there and back, and as rows of a table.
 *
 * Outside references: the grammar of RFC 8259 through jansson, RFC 4180, sections 2.5 to 2.7, for the table.
 */
#include <stdio.h>
#include <string.h>

#include "base/random.h"
#include "format/record_text/record_text.h"
#include "support/near.h"

enum { SEED = 41808, ROUNDS = 2000 };

#define ID   "01890a5d-ac96-774b-bcce-b302099a8057"
#define CALL "017f22e2-79b0-7cc3-98c4-dc0c0c07398f"

static const char good[] = "{\"id\":\"" ID "\",\"call\":\"" CALL "\",\"at\":\"2026-11-26T18:00:00.250Z\","
                           "\"by\":\"Ada\",\"device\":\"van\",\"kind\":\"entry\",\"subject\":\"reading\","
                           "\"content\":{\"reading\":\"19.2ohm\",\"between\":[\"BK1\",\"BK2\"]}}\n";

static int begin(void **state)
{
    static Arena arena;
    arena = arena_new(8 << 20);
    *state = &arena;
    return 0;
}

static int end(void **state)
{
    arena_free(*state);
    return 0;
}

static const char *write(const TrailRecord *record, Arena *arena)
{
    TextBuilder out = text_builder(arena, 1 << 20);
    Error error = {0};
    assert_true(record_text_write_json(record, &out, &error));
    return text_string(&out);
}

static void a_line_is_read_and_written_the_same(void **state)
{
    TrailRecord record;
    Error error = {0};
    assert_true(record_text_read_json("calls.jsonl", 3, text_of(good), *state, &record, &error));
    assert_string_equal(record.id, ID);
    assert_string_equal(record.call, CALL);
    assert_true(record.made_millisecond == INT64_C(1795716000250));
    assert_int_equal(record.kind, TRAIL_ENTRY);
    assert_string_equal(record.subject, "reading");
    assert_string_equal(record.payload, "{\"reading\":\"19.2ohm\",\"between\":[\"BK1\",\"BK2\"]}");
    assert_string_equal(record.strikes, "");
    assert_string_equal(write(&record, *state), good);
}

/* Formatted by another program in between, the content is the same to the byte. */
static void other_programs_may_format_it(void **state)
{
    static const char spaced[] =
        "{ \"device\": \"van\", \"kind\": \"entry\", \"subject\": \"reading\", \"by\": \"Ada\",\r"
        " \"call\": \"" CALL "\", \"id\": \"" ID "\", \"at\": \"2026-11-26T19:00:00.25+01:00\","
        "\"content\": { \"reading\" : \"19.2\\u006fhm\", \"between\": [ \"BK1\" , \"BK2\" ] } }";
    TrailRecord record;
    Error error = {0};
    assert_true(record_text_read_json("x", 1, text_of(spaced), *state, &record, &error));
    assert_string_equal(write(&record, *state), good);
}

static void what_does_not_hold_is_refused_whole(void **state)
{
    static const struct {
        const char *find, *put, *found;
    } cases[] = {
        {"\"by\":\"Ada\",", "", "by"},
        {"\"by\":\"Ada\"", "\"by\":7", "by"},
        {"\"by\":\"Ada\"", "\"by\":\"\"", "author of a record"},
        {"\"by\":\"Ada\"", "\"by\":\"Ada\",\"by\":\"Bo\"", NULL},
        {"\"by\":\"Ada\"", "\"by\":\"A\\u0000a\"", NULL},
        {"\"by\"", "\"author\"", "author"},
        {"\"kind\":\"entry\"", "\"kind\":\"erased\"", "erased"},
        {"\"kind\":\"entry\"", "\"kind\":\"struck\"", "struck"},
        {"2026-11-26T", "2026-11-31T", "2026-11-31T18:00:00.250Z"},
        {"\"subject\"", "\"sort\"", "sort"},
        {"8057\"", "8057f\"", "id"},
        {"8057\"", "805G\"", "identifier of a record"},
        {"{\"reading\":\"19.2ohm\",\"between\":[\"BK1\",\"BK2\"]}", "[]", "content"},
        {"}}", "}", NULL},
        {"}}", "}}{", NULL},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char line[600];
        const char *at = strstr(good, cases[i].find);
        assert_non_null(at);
        snprintf(line, sizeof line, "%.*s%s%s", (int)(at - good), good, cases[i].put,
                 at + strlen(cases[i].find));
        TrailRecord record;
        Error error = {0};
        assert_false(record_text_read_json("calls.jsonl", 3, text_of(line), *state, &record, &error));
        assert_int_not_equal(error.code, ERROR_NONE);
        assert_string_equal(error.file, "calls.jsonl");
        assert_int_equal(error.line, 3);
        if (cases[i].found) assert_string_equal(error.found, cases[i].found);
    }
}

/* Deep, long, empty and not an object at all. */
static void hostile_lines_are_refused(void **state)
{
    static char deep[6000], longer[RECORD_TEXT_MOST_BYTES + 2];
    TrailRecord record;
    Error error = {0};
    memset(deep, '[', sizeof deep - 1);
    memset(longer, ' ', sizeof longer - 1);
    static const char *const lines[] = {"", "\n", "null", "[]", "\"text\"", "{}", "\xff\xfe", deep, longer};
    for (size_t i = 0; i < sizeof lines / sizeof lines[0]; i++) {
        error = (Error){0};
        assert_false(record_text_read_json("x", 1, text_of(lines[i]), *state, &record, &error));
        assert_int_not_equal(error.code, ERROR_NONE);
        assert_int_not_equal(error.code, ERROR_MEMORY);
    }
}

static void a_content_that_is_no_object_is_a_defect(void **state)
{
    TrailRecord record = {.author = "Ada", .device = "van", .kind = TRAIL_CLOSED, .payload = "closed"};
    TextBuilder out = text_builder(*state, 1 << 16);
    Error error = {0};
    assert_false(record_text_write_json(&record, &out, &error));
    assert_int_equal(error.code, ERROR_DEFECT);
    assert_int_equal(out.length, 0);
}

/* --- any record at all --- */

static void draw_text(RandomStream *stream, char *text, int most)
{
    static const char *const pieces[] = {"a", "Z", "\"", "\\", ",", "\n", "é", "Ω",
                                         "{", "'", " ",  "\t", "€", "=",  "x"};
    text[0] = '\0';
    for (int i = 1 + (int)random_below(stream, (uint32_t)most); i > 0; i--)
        strcat(text, pieces[random_below(stream, 15)]);
}

static void draw_hex(RandomStream *stream, char *out, int count)
{
    for (int i = 0; i < count; i++)
        if (out[i] != '-') out[i] = "0123456789abcdef"[random_below(stream, 16)];
}

static void draw(RandomStream *stream, TrailRecord *record, char texts[3][200])
{
    *record = (TrailRecord){
        .made_millisecond = (int64_t)(random_bits(stream) % UINT64_C(253402300800000)),
        .author = texts[0],
        .device = texts[1],
        .subject = "",
        .payload = "{\"low\":1.5,\"text\":\"\xc3\xa9\",\"list\":[1,2,{\"deep\":null}],\"x\":0.25}"};
    draw_text(stream, texts[0], 12);
    draw_text(stream, texts[1], 12);
    draw_text(stream, texts[2], 12);
    memcpy(record->id, ID, sizeof ID);
    memcpy(record->call, CALL, sizeof CALL);
    draw_hex(stream, record->id, 36);
    draw_hex(stream, record->call, 36);
    record->kind = (TrailKind)random_below(stream, TRAIL_KIND_COUNT);
    if (record->kind == TRAIL_ENTRY || record->kind == TRAIL_CHANGED) record->subject = texts[2];
    if (record->kind == TRAIL_STRUCK) memcpy(record->strikes, CALL, sizeof CALL);
    if (record->kind == TRAIL_ENTRY && random_below(stream, 2)) draw_hex(stream, record->attachment, 64);
}

static void any_record_comes_back(void **state)
{
    (void)state;
    RandomStream stream = random_stream(SEED);
    print_message("seed %d, %d records\n", SEED, ROUNDS);
    for (int round = 0; round < ROUNDS; round++) {
        Arena arena = arena_new(1 << 20);
        TrailRecord record, back;
        char texts[3][200];
        Error error = {0};
        draw(&stream, &record, texts);
        const char *line = write(&record, &arena);
        if (!record_text_read_json("x", 1, text_of(line), &arena, &back, &error))
            fail_msg("%s: %s", error.found, line);
        const TrailRecord both[] = {record, back};
        Trail trail;
        assert_true(trail_merge(both, 2, NULL, 0, &arena, &trail, &error)); /* differ in nothing */
        assert_int_equal(trail.count, 1);
        assert_string_equal(write(&back, &arena), line);
        assert_ptr_equal(strchr(line, '\n'), line + strlen(line) - 1); /* one line */
        arena_free(&arena);
    }
}

/* --- the table --- */

/* RFC 4180: 2.5 fields in quotes where they need them, 2.6 a comma, a line break, 2.7 a quote written twice.
 */
static void a_row_is_quoted_as_the_standard_says(void **state)
{
    TrailRecord record = {.made_millisecond = 0,
                          .author = "=SUM(A1), \"Ada\"",
                          .device = "van",
                          .kind = TRAIL_STRUCK,
                          .subject = "",
                          .payload = "{\"why\":\"two\\nlines\"}"};
    TextBuilder out = text_builder(*state, 4096);
    memcpy(record.id, ID, sizeof ID);
    memcpy(record.call, CALL, sizeof CALL);
    memcpy(record.strikes, CALL, sizeof CALL);
    record_text_write_csv_head(&out);
    record_text_write_csv(&record, &out);
    assert_string_equal(text_string(&out),
                        "call,at,by,device,kind,subject,content,id,strikes,attachment\r\n" CALL
                        ",1970-01-01T00:00:00.000Z,\"'=SUM(A1), \"\"Ada\"\"\",van,struck,,\"{\"\"why\"\":"
                        "\"\"two\\nlines\"\"}\"," ID "," CALL ",\r\n");
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, begin, end)
    const struct CMUnitTest tests[] = {
        TEST(a_line_is_read_and_written_the_same),     TEST(other_programs_may_format_it),
        TEST(what_does_not_hold_is_refused_whole),     TEST(hostile_lines_are_refused),
        TEST(a_content_that_is_no_object_is_a_defect), TEST(any_record_comes_back),
        TEST(a_row_is_quoted_as_the_standard_says),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
