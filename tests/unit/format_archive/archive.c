/* archive.c: archives that are whole, and those that must be refused whole.
 *
 * Outside references: the layout of a zip archive, PKWARE's APPNOTE.TXT 6.3, sections 4.3.7 (local header)
 * and 4.3.12 (central directory), by which bytes are changed below; FIPS 180-4 for the hash of 'abc'. That
 * another program reads what is written here is held by tests/cli/session.py. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <zip.h>

#include "base/random.h"
#include "format/archive/archive.h"
#include "support/near.h"

enum { SEED = 60221, ARENA_BYTES = 600 << 20 };

#define ABC "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"

static TrailRecord records[2];
static ArchiveAttachment attachments[1] = {{.hash = ABC, .bytes = {"abc", 3}}};

static int begin(void **state)
{
    static Arena arena;
    arena = arena_new(ARENA_BYTES);
    *state = &arena;
    for (int r = 0; r < 2; r++)
        records[r] =
            (TrailRecord){.call = "017f22e2-79b0-7cc3-98c4-dc0c0c07398f",
                          .made_millisecond = 1000 + r,
                          .author = "Ada",
                          .device = "van",
                          .kind = r ? TRAIL_ENTRY : TRAIL_OPENED,
                          .subject = r ? "run" : "",
                          .payload = r ? "{\"run\":\"a.csv\",\"set\":\"350F\"}" : "{\"call\":\"x\"}"};
    strcpy(records[0].id, "01890a5d-ac96-774b-bcce-b302099a8057");
    strcpy(records[1].id, "01890a5d-ac96-774b-bcce-b302099a8058");
    strcpy(records[1].attachment, ABC);
    return 0;
}

static int end(void **state)
{
    arena_free(*state);
    return 0;
}

static Text write_good(Arena *arena)
{
    const Archive archive = {records, attachments, 2, 1, text_of("call: x\n")};
    Text bytes;
    Error error = {0};
    if (!archive_write(&archive, arena, &bytes, &error)) fail_msg("%s", error.found);
    return bytes;
}

/* "" when it was read. */
static const char *why_refused(Text bytes, Error *error)
{
    Arena arena = arena_new(ARENA_BYTES);
    Archive archive;
    *error = (Error){0};
    const bool is_read = archive_read("calls.zip", bytes, &arena, &archive, error);
    arena_free(&arena);
    if (is_read) return "";
    assert_true(error->code != ERROR_NONE && error->code != ERROR_MEMORY && error->found[0]);
    assert_string_equal(error->file, "calls.zip");
    return error->found;
}

static void what_is_written_is_read(void **state)
{
    Archive archive;
    Error error = {0};
    Trail trail;
    const Text bytes = write_good(*state);
    assert_true(archive_is(bytes));
    assert_true(archive_read("calls.zip", bytes, *state, &archive, &error));
    assert_int_equal(archive.record_count, 2);
    assert_int_equal(archive.attachment_count, 1);
    assert_string_equal(archive.attachments[0].hash, ABC);
    assert_true(text_is(archive.attachments[0].bytes, "abc"));
    assert_true(trail_merge(records, 2, archive.records, 2, *state, &trail, &error)); /* no two differ */
    assert_int_equal(trail.count, 2);
    const Text again = write_good(*state);
    assert_int_equal(again.length, bytes.length);
    assert_memory_equal(again.bytes, bytes.bytes, bytes.length);
}

static void nothing_and_text_are_no_archive(void **state)
{
    Error error;
    (void)state;
    assert_false(archive_is(text_of("{\"id\":")));
    assert_false(archive_is(text_of("")));
    why_refused(text_of("PK\3\4"), &error);
    assert_int_equal(error.code, ERROR_SYNTAX);
    why_refused((Text){NULL, 0}, &error);
    assert_true(error.hint[0] != '\0');
}

/* Cut off anywhere it is refused: the directory stands at the end (4.3.6). */
static void each_truncation_is_refused(void **state)
{
    Error error;
    const Text bytes = write_good(*state);
    for (size_t length = 0; length < bytes.length; length++)
        if (!why_refused((Text){bytes.bytes, length}, &error)[0]) fail_msg("read with %zu bytes", length);
}

/* Each bit of it turned over: refused, or of no consequence (a date, a comment's owner, what is for people).
 */
static void each_changed_bit_is_refused_or_harmless(void **state)
{
    const Text bytes = write_good(*state);
    char *copy = arena_copy_text(*state, bytes.bytes, bytes.length);
    int refused = 0;
    for (size_t at = 0; at < bytes.length; at++)
        for (int bit = 0; bit < 8; bit++) {
            Arena arena = arena_new(ARENA_BYTES);
            Archive archive;
            Error error = {0};
            Trail trail;
            copy[at] = (char)(copy[at] ^ 1 << bit);
            if (archive_read("calls.zip", (Text){copy, bytes.length}, &arena, &archive, &error)) {
                assert_int_equal(archive.attachment_count, 1);
                assert_true(
                    trail_merge(records, 2, archive.records, archive.record_count, &arena, &trail, &error));
                assert_int_equal(trail.count, 2);
            } else {
                assert_true(error.code != ERROR_MEMORY);
                refused++;
            }
            copy[at] = (char)(copy[at] ^ 1 << bit);
            arena_free(&arena);
        }
    print_message("%d of %d changed bits refused\n", refused, 8 * (int)bytes.length);
    assert_true(refused > 4 * (int)bytes.length);
}

/* ---- archives of a hostile hand */

typedef struct {
    const char *name;
    const char *bytes;
    size_t length;
    int method; /* ZIP_CM_... */
    bool is_encrypted;
} File;

static char *lines; /* of the good records */
static size_t lines_length;

static void find_lines(Arena *arena)
{
    const Text bytes = write_good(arena);
    zip_source_t *source = zip_source_buffer_create(bytes.bytes, bytes.length, 0, NULL);
    zip_t *zip = zip_open_from_source(source, ZIP_RDONLY, NULL);
    zip_stat_t stat;
    assert_int_equal(zip_stat(zip, "records.jsonl", 0, &stat), 0);
    zip_file_t *file = zip_fopen(zip, "records.jsonl", 0);
    lines = arena_take(arena, stat.size + 1);
    lines_length = stat.size;
    assert_int_equal(zip_fread(file, lines, stat.size), (int)stat.size);
    zip_fclose(file);
    zip_discard(zip);
}

static Text pack(const File *files, int count, Arena *arena)
{
    zip_source_t *source = zip_source_buffer_create(NULL, 0, 0, NULL);
    zip_t *zip = zip_open_from_source(source, ZIP_CREATE | ZIP_TRUNCATE, NULL);
    zip_stat_t stat;
    zip_source_keep(source);
    for (int f = 0; f < count; f++) {
        const zip_int64_t index = zip_file_add(
            zip, files[f].name, zip_source_buffer(zip, files[f].bytes, files[f].length, 0), ZIP_FL_ENC_UTF_8);
        assert_true(index >= 0);
        assert_int_equal(zip_set_file_compression(zip, (zip_uint64_t)index, files[f].method, 0), 0);
        if (files[f].is_encrypted)
            assert_int_equal(zip_file_set_encryption(zip, (zip_uint64_t)index, ZIP_EM_AES_256, "secret"), 0);
    }
    assert_int_equal(zip_close(zip), 0);
    assert_int_equal(zip_source_stat(source, &stat), 0);
    assert_int_equal(zip_source_open(source), 0);
    char *copy = arena_take(arena, stat.size + 1);
    assert_true(zip_source_read(source, copy, stat.size) == (zip_int64_t)stat.size);
    zip_source_close(source);
    zip_source_free(source);
    return (Text){copy, stat.size};
}

static void want_refused(const File *files, int count, ErrorCode code, Arena *arena)
{
    Error error;
    const char *found = why_refused(pack(files, count, arena), &error);
    if (!found[0]) fail_msg("read, with %s", files[count - 1].name);
    assert_int_equal(error.code, code);
    assert_true(error.hint[0] || error.line);
}

static void names_that_lead_elsewhere_are_refused(void **state)
{
    static const char *const names[] = {
        "../records.jsonl",
        "/etc/passwd",
        "..\\..\\x",
        "attachments/../../x",
        "attachments/",
        "attachments/x/" ABC,
        "attachments/" ABC ".zip",
        "attachments/BA7816BF8F01CFEA414140DE5DAE2223B00361A396177A9CB410FF61F20015AD",
        "Records.jsonl",
        "records.jsonl/",
        "inner.zip",
        "call.yaml ",
        "C:call.yaml"};
    find_lines(*state);
    for (size_t n = 0; n < sizeof names / sizeof names[0]; n++) {
        const File files[] = {{"records.jsonl", lines, lines_length, ZIP_CM_DEFLATE, false},
                              {"attachments/" ABC, "abc", 3, ZIP_CM_STORE, false},
                              {names[n], "abc", 3, ZIP_CM_DEFLATE, false}};
        want_refused(files, 3, ERROR_UNKNOWN_WORD, *state);
    }
}

static void what_does_not_fit_together_is_refused(void **state)
{
    find_lines(*state);
    const File good = {"records.jsonl", lines, lines_length, ZIP_CM_DEFLATE, false};
    const File log = {"attachments/" ABC, "abc", 3, ZIP_CM_STORE, false};
    want_refused(&log, 1, ERROR_MISSING, *state);  /* no records */
    want_refused(&good, 1, ERROR_MISSING, *state); /* no log */
    want_refused((File[]){good, {"attachments/" ABC, "abd", 3, ZIP_CM_STORE, false}}, 2, ERROR_INCONSISTENT,
                 *state); /* not its hash */
    const File other = {"attachments/e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855", "", 0,
                        ZIP_CM_STORE, false};
    want_refused((File[]){good, log, other}, 3, ERROR_INCONSISTENT, *state); /* nobody names it */
    want_refused((File[]){{"records.jsonl", lines, lines_length - 9, ZIP_CM_DEFLATE, false}, log}, 2,
                 ERROR_SYNTAX, *state); /* half a line */
    File secret = log;
    secret.is_encrypted = true;
    want_refused((File[]){good, secret}, 2, ERROR_SYNTAX, *state);
    File odd = log;
    odd.method = ZIP_CM_BZIP2;
    want_refused((File[]){good, odd}, 2, ERROR_SYNTAX, *state);
}

/* ---- sizes that lie */

/* Little-endian, four bytes at `at` (4.4.1.4). */
static void put_number(char *at, size_t number)
{
    for (int b = 0; b < 4; b++) at[b] = (char)(number >> (8 * b));
}

/* The uncompressed size stands 22 bytes into a local header and 24 into one of the directory, for each entry
 * of that name. */
static void declare_size(Text bytes, const char *name, size_t size)
{
    char *at = (char *)bytes.bytes;
    for (size_t i = 0; i + 46 + strlen(name) <= bytes.length; i++) {
        const bool is_local =
            memcmp(at + i, "PK\3\4", 4) == 0 && memcmp(at + i + 30, name, strlen(name)) == 0;
        const bool is_central =
            memcmp(at + i, "PK\1\2", 4) == 0 && memcmp(at + i + 46, name, strlen(name)) == 0;
        if (is_local) put_number(at + i + 22, size);
        if (is_central) put_number(at + i + 24, size);
    }
}

static void bombs_are_refused(void **state)
{
    Error error;
    const size_t much = (size_t)70 << 20;
    char *zeros = calloc(much, 1);
    find_lines(*state);
    assert_non_null(zeros);
    /* one that says how large it is */
    const File open[] = {{"records.jsonl", lines, lines_length, ZIP_CM_DEFLATE, false},
                         {"attachments/" ABC, zeros, much, ZIP_CM_DEFLATE, false}};
    const Text said = pack(open, 2, *state);
    assert_true(said.length < 100000);
    why_refused(said, &error);
    assert_int_equal(error.code, ERROR_TOO_LARGE);
    /* one that lies: no more than the lie is unpacked */
    declare_size(said, "attachments/" ABC, 3);
    why_refused(said, &error);
    assert_int_equal(error.code, ERROR_SYNTAX);
    const File records_only[] = {{"records.jsonl", zeros, (size_t)33 << 20, ZIP_CM_DEFLATE, false}};
    want_refused(records_only, 1, ERROR_TOO_LARGE, *state);
    /* many that are small enough each and too much together */
    static File many[8];
    static char names[8][100];
    for (int f = 0; f < 8; f++) {
        snprintf(names[f], sizeof names[f], "attachments/%064d", f);
        many[f] = (File){names[f], zeros, (size_t)60 << 20, ZIP_CM_DEFLATE, false};
    }
    want_refused(many, 8, ERROR_TOO_LARGE, *state);
    free(zeros);
}

static void too_many_entries_are_refused(void **state)
{
    static File many[ARCHIVE_MOST_ENTRIES + 1];
    static char names[ARCHIVE_MOST_ENTRIES + 1][100];
    for (int f = 0; f <= ARCHIVE_MOST_ENTRIES; f++) {
        snprintf(names[f], sizeof names[f], "attachments/%064d", f);
        many[f] = (File){names[f], "", 0, ZIP_CM_STORE, false};
    }
    want_refused(many, ARCHIVE_MOST_ENTRIES + 1, ERROR_TOO_LARGE, *state);
}

/* A second entry of the same name, made by renaming one of the same length in both its headers. */
static void a_name_twice_is_refused(void **state)
{
    static const char other[] =
        "attachments/aa7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
    Error error;
    find_lines(*state);
    const File files[] = {{"records.jsonl", lines, lines_length, ZIP_CM_DEFLATE, false},
                          {"attachments/" ABC, "abc", 3, ZIP_CM_STORE, false},
                          {other, "abc", 3, ZIP_CM_STORE, false}};
    const Text bytes = pack(files, 3, *state);
    char *at = (char *)bytes.bytes;
    for (size_t i = 0; i + strlen(other) <= bytes.length; i++)
        if (memcmp(at + i, other, strlen(other)) == 0) memcpy(at + i, files[1].name, strlen(other));
    assert_true(why_refused(bytes, &error)[0] != '\0');
}

/* Anything at all: read or refused, and nothing worse. The fuzz target goes on from here. */
static void random_bytes_are_refused(void **state)
{
    RandomStream stream = random_stream(SEED);
    Error error;
    const Text bytes = write_good(*state);
    char *copy = arena_copy_text(*state, bytes.bytes, bytes.length);
    for (int round = 0; round < 3000; round++) {
        memcpy(copy, bytes.bytes, bytes.length);
        for (int change = 0; change < 6; change++)
            copy[random_below(&stream, bytes.length)] = (char)random_bits(&stream);
        why_refused((Text){copy, bytes.length}, &error);
    }
    print_message("seed %d\n", SEED);
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, begin, end)
    const struct CMUnitTest tests[] = {
        TEST(what_is_written_is_read),
        TEST(nothing_and_text_are_no_archive),
        TEST(each_truncation_is_refused),
        TEST(each_changed_bit_is_refused_or_harmless),
        TEST(names_that_lead_elsewhere_are_refused),
        TEST(what_does_not_fit_together_is_refused),
        TEST(bombs_are_refused),
        TEST(too_many_entries_are_refused),
        TEST(a_name_twice_is_refused),
        TEST(random_bytes_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
