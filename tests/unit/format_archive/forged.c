/* forged.c: archives put together byte by byte, sound ones and forged ones.
 *
 * Outside references: the layout of a zip archive, PKWARE's APPNOTE.TXT 6.3, sections 4.3.7 (local header),
 * 4.3.9 (data descriptor), 4.3.12 (central header), 4.3.16 (end of the directory) and 4.4.4 to 4.4.10 (their
 * fields), written down here a second time, without libzip; CRC-32 as in 4.4.7, held against the check value
 * cbf43926 of '123456789'; FIPS 180-4 for the hashes of 'abc' and of nothing. Which sound archives must be
 * refused all the same, because no archive of calls is such: archive.h. */
#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "format/archive/archive.h"
#include "support/near.h"

enum { ARENA_BYTES = 600 << 20, END_SIZE = 22 };

#define ABC   "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
#define EMPTY "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"
#define RECORD(last, rest)                                                                                   \
    "{\"id\":\"01890a5d-ac96-774b-bcce-b302099a805" last "\",\"call\":\"017f22e2-79b0-7cc3-98c4-"            \
    "dc0c0c07398f\",\"at\":\"2026-11-26T18:00:00.250Z\",\"by\":\"Ada\",\"device\":\"van\","                  \
    "\"kind\":\"entry\",\"subject\":\"run\",\"content\":{}" rest "}\n"

static const char lines[] = RECORD("7", ",\"attachment\":\"" ABC "\"") RECORD("8", "");

/* 0 and NULL: as it should be. */
typedef struct {
    const char *name, *local_name;
    size_t name_length; /* where there is a NUL in it */
    const char *data;
    size_t data_length;
    unsigned flags, method, wrong_sum;
    int more_size, more_local_size, more_packed; /* declared beyond what is there */
    const char *before;                          /* bytes that belong to no entry */
    const char *extra;                           /* in both headers */
    size_t extra_length;
    bool has_descriptor, is_ghost; /* ghost: in the directory only, at `start` */
    size_t start;
} Forged;

static int begin(void **state)
{
    static Arena arena;
    arena = arena_new(ARENA_BYTES);
    *state = &arena;
    return 0;
}

static int end(void **state)
{
    arena_free(*state);
    return 0;
}

/* ---- a packer that believes whatever it is told */

static unsigned check_sum(const char *bytes, size_t length)
{
    unsigned sum = 0xffffffffu;
    for (size_t i = 0; i < length; i++) {
        sum ^= (unsigned char)bytes[i];
        for (int bit = 0; bit < 8; bit++) sum = sum >> 1 ^ (sum & 1 ? 0xedb88320u : 0);
    }
    return ~sum;
}

static void put(TextBuilder *out, size_t value, int width)
{
    for (int b = 0; b < width; b++, value >>= 8) {
        const char byte = (char)value;
        text_add_bytes(out, &byte, 1);
    }
}

/* Flags, method, moment, check sum and sizes stand in both headers in this order. */
static void put_common(TextBuilder *out, const Forged *file, bool is_local)
{
    const bool is_later = is_local && file->has_descriptor;
    const size_t length = file->data_length;
    put(out, file->flags | (file->has_descriptor ? 8u : 0), 2);
    put(out, file->method, 2);
    put(out, 33u << 16, 4);
    put(out, is_later ? 0 : check_sum(file->data, length) ^ file->wrong_sum, 4);
    put(out, is_later ? 0 : length + (size_t)file->more_packed, 4);
    put(out, is_later ? 0 : length + (size_t)file->more_size + (size_t)(is_local ? file->more_local_size : 0),
        4);
}

static size_t name_length(const Forged *file)
{
    return file->name_length ? file->name_length : strlen(file->name);
}

static void put_local(TextBuilder *out, const Forged *file)
{
    const char *name = file->local_name ? file->local_name : file->name;
    if (file->before) text_add(out, file->before);
    text_add_bytes(out, "PK\3\4\x14", 6);
    put_common(out, file, true);
    put(out, name_length(file), 2);
    put(out, file->extra_length, 2);
    text_add_bytes(out, name, name_length(file));
    text_add_bytes(out, file->extra, file->extra_length);
    text_add_bytes(out, file->data, file->data_length);
    if (!file->has_descriptor) return;
    text_add_bytes(out, "PK\7\10", 4);
    put(out, check_sum(file->data, file->data_length), 4);
    put(out, file->data_length, 4);
    put(out, file->data_length, 4);
}

static void put_central(TextBuilder *out, const Forged *file, size_t start)
{
    text_add_bytes(out, "PK\1\2\x14\0\x14", 8);
    put_common(out, file, false);
    put(out, name_length(file), 2);
    put(out, file->extra_length, 2);
    put(out, 0, 2 + 2 + 2 + 4); /* comment, disk, attributes */
    put(out, start, 4);
    text_add_bytes(out, file->name, name_length(file));
    text_add_bytes(out, file->extra, file->extra_length);
}

static Text forge(const Forged *files, int count, Arena *arena)
{
    TextBuilder out = text_builder(arena, 80 << 20);
    size_t *starts = arena_take_array(arena, (size_t)count, sizeof *starts);
    for (int f = 0; f < count; f++) {
        starts[f] =
            files[f].is_ghost ? files[f].start : out.length + (files[f].before ? strlen(files[f].before) : 0);
        if (!files[f].is_ghost) put_local(&out, &files[f]);
    }
    const size_t directory = out.length;
    for (int f = 0; f < count; f++) put_central(&out, &files[f], starts[f]);
    const size_t size = out.length - directory;
    text_add_bytes(&out, "PK\5\6\0\0\0", 8);
    put(&out, (size_t)count << 16 | (size_t)count, 4);
    put(&out, size, 4);
    put(&out, directory, 4);
    put(&out, 0, 2);
    assert_false(out.is_cut);
    return (Text){text_string(&out), out.length};
}

/* ---- what becomes of it */

/* ERROR_NONE: it was read. Whatever is refused leaves nothing behind, and says so in letters. */
static ErrorCode judge(Text bytes, Error *error)
{
    Arena arena = arena_new(ARENA_BYTES);
    Archive archive;
    *error = (Error){0};
    const bool is_read = archive_read("calls.zip", bytes, &arena, &archive, error);
    if (!is_read) {
        assert_true(error->code != ERROR_NONE && error->found[0] && error->expected[0]);
        assert_string_equal(error->file, "calls.zip");
        for (const char *c = error->found; *c; c++) assert_true(*c >= ' ' && *c <= '~');
        assert_true(!archive.records && !archive.attachments);
        assert_int_equal(archive.record_count + archive.attachment_count, 0);
    } else {
        assert_int_equal(archive.record_count, 2);
        assert_int_equal(archive.attachment_count, 1);
        assert_true(text_is(archive.attachments[0].bytes, "abc"));
    }
    arena_free(&arena);
    return is_read ? ERROR_NONE : error->code;
}

static void set_good(Forged files[3])
{
    files[0] = (Forged){.name = "records.jsonl", .data = lines, .data_length = sizeof lines - 1};
    files[1] = (Forged){.name = "attachments/" ABC, .data = "abc", .data_length = 3};
    files[2] = (Forged){.name = "call.yaml", .data = "call: x\n", .data_length = 8};
}

static void the_check_sum_is_the_published_one(void **state)
{
    (void)state;
    assert_true(check_sum("123456789", 9) == 0xcbf43926u);
}

/* Other hands may pack it: in any order, with sizes behind the bytes, with fields that nobody knows. */
static void sound_archives_of_other_hands_are_read(void **state)
{
    Forged files[3];
    Error error;
    set_good(files);
    assert_int_equal(judge(forge(files, 3, *state), &error), ERROR_NONE);
    assert_int_equal(judge(forge(files, 2, *state), &error), ERROR_NONE); /* without a call file */
    files[0].has_descriptor = files[1].has_descriptor = files[2].has_descriptor = true;
    if (judge(forge(files, 3, *state), &error) != ERROR_NONE) fail_msg("%s", error.found);
    set_good(files);
    files[1].extra = "\x55\x54\5\0\1\0\0\0\0", files[1].extra_length = 9; /* 4.6.1: a moment */
    assert_int_equal(judge(forge(files, 3, *state), &error), ERROR_NONE);
    const Forged turned[] = {files[2], files[1], files[0]};
    assert_int_equal(judge(forge(turned, 3, *state), &error), ERROR_NONE);
}

/* Extra field 0x7075 of 4.6.9: another name, if the sum of the first one is right. */
static const char other_name[] = "\x75\x70\x12\0\1\x5f\x1c\xa2\3"
                                 "records.jsonl";

typedef struct {
    const char *what;
    int at; /* 0 records, 1 attachment, 2 call file */
    Forged with;
    ErrorCode code;
} Case;

static void change(Forged *file, const Forged *with)
{
    if (with->name) file->name = with->name, file->name_length = with->name_length;
    if (with->data) file->data = with->data, file->data_length = with->data_length;
    file->local_name = with->local_name;
    file->flags = with->flags, file->method = with->method, file->wrong_sum = with->wrong_sum;
    file->more_size = with->more_size, file->more_packed = with->more_packed;
    file->more_local_size = with->more_local_size;
    file->before = with->before;
    file->extra = with->extra, file->extra_length = with->extra_length;
}

static void each_forgery_is_refused(void **state)
{
    static const Case cases[] = {
        {"sum of the records", 0, {.wrong_sum = 1}, ERROR_SYNTAX},
        {"sum of the attachment", 1, {.wrong_sum = 1u << 31}, ERROR_SYNTAX},
        {"sum of the call file", 2, {.wrong_sum = 1}, ERROR_SYNTAX},
        {"records longer than stored", 0, {.more_size = 1}, ERROR_SYNTAX},
        {"records shorter than stored", 0, {.more_size = -1}, ERROR_SYNTAX},
        {"call file shorter than stored", 2, {.more_size = -1}, ERROR_SYNTAX},
        {"size in one header", 1, {.more_local_size = 1}, ERROR_SYNTAX},
        {"sizes that reach into the next", 1, {.more_size = 5, .more_packed = 5}, ERROR_SYNTAX},
        {"sizes that leave a rest", 1, {.more_size = -1, .more_packed = -1}, ERROR_SYNTAX},
        {"sizes beyond the archive", 2, {.more_size = 1 << 19, .more_packed = 1 << 19}, ERROR_SYNTAX},
        {"size of all 32 bits", 1, {.more_size = -4, .more_packed = -4}, ERROR_SYNTAX},
        {"deflated to nothing", 1, {.method = 8, .more_size = 3 << 20}, ERROR_SYNTAX},
        {"what is no deflate stream", 1, {.method = 8}, ERROR_SYNTAX},
        {"a method of 1993", 1, {.method = 9}, ERROR_SYNTAX},
        {"a method that nobody knows", 2, {.method = 0xffff}, ERROR_SYNTAX},
        {"encrypted", 1, {.flags = 1}, ERROR_SYNTAX},
        {"strongly encrypted", 1, {.flags = 1 << 6}, ERROR_SYNTAX},
        {"with a masked directory", 0, {.flags = 1 << 13}, ERROR_SYNTAX},
        {"bytes of no entry in front", 0, {.before = "#!/bin/sh\n"}, ERROR_SYNTAX},
        {"bytes of no entry between", 1, {.before = "nobody knows"}, ERROR_SYNTAX},
        {"another name inside", 0, {.local_name = "RECORDS.jsonl"}, ERROR_SYNTAX},
        {"another name by a field",
         0,
         {.name = "Records.jsonl", .extra = other_name, .extra_length = sizeof other_name - 1},
         ERROR_UNKNOWN_WORD},
        {"a NUL in the name", 0, {.name = "records.jsonl\0/../x", .name_length = 19}, ERROR_UNKNOWN_WORD},
        {"a NUL behind the name", 2, {.name = "call.yaml", .name_length = 10}, ERROR_UNKNOWN_WORD},
        {"a terminal's words", 2, {.name = "\33]0;x\7\x9b\xff"}, ERROR_UNKNOWN_WORD},
        {"no name", 2, {.name = ""}, ERROR_UNKNOWN_WORD},
        {"a name twice",
         2,
         {.name = "attachments/" ABC, .data = "abc", .data_length = 3},
         ERROR_INCONSISTENT},
        {"records twice", 2, {.name = "records.jsonl", .data = "\n", .data_length = 1}, ERROR_INCONSISTENT},
        {"nobody names it",
         2,
         {.name = "attachments/" EMPTY, .data = "", .data_length = 0},
         ERROR_INCONSISTENT},
        {"not its hash", 1, {.data = "abd", .data_length = 3}, ERROR_INCONSISTENT},
        {"a bad line", 0, {.data = "{\"id\":7}\n", .data_length = 9}, ERROR_MISSING},
        {"lines without records", 0, {.data = "\n\n\n", .data_length = 3}, ERROR_SYNTAX},
    };
    for (size_t c = 0; c < sizeof cases / sizeof cases[0]; c++) {
        Forged files[3];
        Error error;
        set_good(files);
        change(&files[cases[c].at], &cases[c].with);
        const ErrorCode code = judge(forge(files, 3, *state), &error);
        if (code != cases[c].code)
            fail_msg("%s: %s, %s", cases[c].what, error_says(code), code ? error.found : "read");
    }
}

/* An entry within an entry, and one entry under two lines of the directory. */
static void entries_that_overlap_are_refused(void **state)
{
    Error error;
    Forged files[4];
    TextBuilder inner = text_builder(*state, 1000);
    set_good(files);
    put_local(&inner, &files[1]);
    const size_t behind_records = 30 + strlen(files[0].name) + files[0].data_length;
    const Forged within[] = {files[0],
                             {.name = "call.yaml", .data = text_string(&inner), .data_length = inner.length},
                             {.name = files[1].name,
                              .data = "abc",
                              .data_length = 3,
                              .is_ghost = true,
                              .start = behind_records + 39}};
    const Text bytes = forge(within, 3, *state);
    assert_memory_equal(bytes.bytes + within[2].start, "PK\3\4", 4);
    assert_int_equal(judge(bytes, &error), ERROR_SYNTAX);
    assert_non_null(strstr(error.found, "overlap"));
    files[3] = files[2];
    files[3].is_ghost = true;
    files[3].start = behind_records + 30 + strlen(files[1].name) + 3;
    assert_int_equal(judge(forge(files, 4, *state), &error), ERROR_SYNTAX);
    assert_non_null(strstr(error.found, "overlap"));
}

/* 4.3.16: nothing in the last 22 bytes is of no consequence, and nothing may follow them. */
static void the_end_is_held_to_the_bit(void **state)
{
    Forged files[3];
    Error error;
    set_good(files);
    const Text bytes = forge(files, 3, *state);
    char *copy = arena_copy_text(*state, bytes.bytes, bytes.length);
    for (size_t at = bytes.length - END_SIZE; at < bytes.length; at++)
        for (int bit = 0; bit < 8; bit++) {
            copy[at] = (char)(copy[at] ^ 1 << bit);
            if (judge((Text){copy, bytes.length}, &error) == ERROR_NONE) fail_msg("read, byte %zu", at);
            copy[at] = (char)(copy[at] ^ 1 << bit);
        }
    assert_int_equal(judge((Text){copy, bytes.length + 1}, &error), ERROR_SYNTAX); /* the NUL behind */
    assert_int_equal(judge((Text){copy, bytes.length}, &error), ERROR_NONE);
}

/* What would take seconds or gigabytes is refused for what it is. Counts, since they are the same everywhere:
 * common practice, no source. */
static void little_memory_is_taken_before_it_is_refused(void **state)
{
    enum { MUCH = 32 << 20 };
    Forged files[3];
    Error error = {0};
    Archive archive;
    char *blank = malloc(MUCH);
    assert_non_null(blank);
    memset(blank, '\n', MUCH);
    set_good(files);
    files[0].data = blank, files[0].data_length = MUCH;
    Arena arena = arena_new(MUCH + (1 << 20));
    assert_false(archive_read("calls.zip", forge(files, 3, *state), &arena, &archive, &error));
    assert_int_equal(error.code, ERROR_SYNTAX);
    arena_free(&arena);
    /* a directory of half a million entries, which the end says are 2000, and all of them */
    const size_t count = MUCH / 47;
    for (size_t e = 0; e < count; e++) memcpy(blank + 47 * e, "PK\1\2", 4);
    for (size_t said = 2000; said <= 65535; said += 63535) {
        TextBuilder out = text_builder(*state, MUCH + 100);
        text_add_bytes(&out, blank, 47 * count);
        text_add_bytes(&out, "PK\5\6\0\0\0", 8);
        put(&out, said << 16 | said, 4);
        put(&out, 47 * count, 4);
        put(&out, 0, 4 + 2);
        arena = arena_new(1 << 20);
        assert_false(
            archive_read("calls.zip", (Text){text_string(&out), out.length}, &arena, &archive, &error));
        assert_int_equal(error.code, said > ARCHIVE_MOST_ENTRIES ? ERROR_TOO_LARGE : ERROR_SYNTAX);
        arena_free(&arena);
    }
    free(blank);
}

/* Each amount of memory that is too small is told and leaves nothing behind. */
static void every_want_of_memory_is_told(void **state)
{
    Forged files[3];
    set_good(files);
    const Text bytes = forge(files, 3, *state);
    int wants = 0;
    for (size_t limit = 0;; limit += 16) {
        Arena arena = arena_new(limit);
        Archive archive;
        Error error = {0};
        const bool is_read = archive_read("calls.zip", bytes, &arena, &archive, &error);
        arena_free(&arena);
        if (is_read) break;
        /* record_text does not tell the arena's limit from its own for a content: then it names the line. */
        assert_true(error.code == ERROR_MEMORY || (error.code == ERROR_TOO_LARGE && error.line > 0));
        assert_true(!archive.records && !archive.attachments && archive.record_count == 0);
        wants++;
    }
    print_message("%d limits were too small\n", wants);
    assert_true(wants > 20);
}

/* ---- out */

static TrailRecord make_record(int number, const char *hash)
{
    TrailRecord record = {.call = "017f22e2-79b0-7cc3-98c4-dc0c0c07398f",
                          .made_millisecond = 1000 + number,
                          .author = "Ada",
                          .device = "van",
                          .kind = TRAIL_ENTRY,
                          .subject = "run",
                          .payload = "{}"};
    snprintf(record.id, sizeof record.id, "01890a5d-ac96-774b-bcce-%012x", (unsigned)number);
    snprintf(record.attachment, sizeof record.attachment, "%s", hash);
    return record;
}

static void want_same(Text got, Text want)
{
    assert_int_equal(got.length, want.length);
    assert_memory_equal(got.bytes, want.bytes, want.length);
}

/* In whatever order they come in, and one of no bytes too. */
static void the_order_of_attachments_is_of_no_consequence(void **state)
{
    TrailRecord records[3] = {make_record(1, ABC), make_record(2, EMPTY), make_record(3, ABC)};
    ArchiveAttachment attachments[2] = {{EMPTY, {NULL, 0}}, {ABC, {"abc", 3}}};
    ArchiveAttachment turned[2] = {attachments[1], attachments[0]};
    Archive archive = {records, attachments, 3, 2, {NULL, 0}}, back;
    Error error = {0};
    Text bytes, again;
    if (!archive_write(&archive, *state, &bytes, &error)) fail_msg("%s", error.found);
    assert_string_equal(attachments[0].hash, EMPTY); /* the caller's own order stays */
    assert_true(archive_read("calls.zip", bytes, *state, &back, &error));
    assert_int_equal(back.record_count, 3);
    assert_int_equal(back.attachment_count, 2);
    assert_string_equal(back.attachments[0].hash, ABC);
    assert_int_equal(back.attachments[1].bytes.length, 0);
    assert_true(archive_write(&back, *state, &again, &error));
    want_same(again, bytes);
    archive.attachments = turned;
    assert_true(archive_write(&archive, *state, &again, &error));
    want_same(again, bytes);
}

/* The directory of an archive that is attached is not mistaken for the directory of the whole. */
static void an_attached_archive_comes_back(void **state)
{
    Forged files[3];
    Error error = {0};
    Archive archive, back;
    Text bytes, written;
    unsigned char digest[crypto_hash_sha256_BYTES];
    char hash[TRAIL_HASH_SIZE], name[100];
    set_good(files);
    const Text inner = forge(files, 3, *state);
    crypto_hash_sha256(digest, (const unsigned char *)inner.bytes, inner.length);
    sodium_bin2hex(hash, sizeof hash, digest, sizeof digest);
    TrailRecord record = make_record(1, hash);
    ArchiveAttachment attachment = {.bytes = inner};
    memcpy(attachment.hash, hash, sizeof hash);
    archive = (Archive){&record, &attachment, 1, 1, {NULL, 0}};
    assert_true(archive_write(&archive, *state, &written, &error));
    assert_true(archive_read("calls.zip", written, *state, &back, &error));
    want_same(back.attachments[0].bytes, inner);
    /* and stored as it is, where its end is seen */
    snprintf(name, sizeof name, "attachments/%s", hash);
    TextBuilder line = text_builder(*state, 4096);
    text_add(&line, lines);
    char *at = strstr(line.bytes, ABC);
    assert_non_null(at);
    memcpy(at, hash, sizeof hash - 1);
    files[0].data = line.bytes;
    files[1] = (Forged){.name = name, .data = inner.bytes, .data_length = inner.length};
    bytes = forge(files, 2, *state);
    if (!archive_read("calls.zip", bytes, *state, &back, &error)) fail_msg("%s", error.found);
    want_same(back.attachments[0].bytes, inner);
}

static void want_unwritten(const Archive *archive, ErrorCode code, Arena *arena)
{
    Error error = {0};
    Text bytes;
    assert_false(archive_write(archive, arena, &bytes, &error));
    if (error.code != code) fail_msg("%s: %s", error_says(error.code), error.found);
}

static void what_would_not_be_read_is_not_written(void **state)
{
    TrailRecord records[2] = {make_record(1, ABC), make_record(2, "")};
    ArchiveAttachment good[2] = {{ABC, {"abc", 3}}, {ABC, {"abc", 3}}};
    ArchiveAttachment other[1] = {{ABC, {"abd", 3}}};
    want_unwritten(&(Archive){records, good, 2, 0, {NULL, 0}}, ERROR_MISSING, *state);
    want_unwritten(&(Archive){records + 1, good, 1, 1, {NULL, 0}}, ERROR_INCONSISTENT, *state);
    want_unwritten(&(Archive){records, good, 2, 2, {NULL, 0}}, ERROR_INCONSISTENT, *state); /* twice */
    want_unwritten(&(Archive){records, other, 2, 1, {NULL, 0}}, ERROR_INCONSISTENT, *state);
}

/* Too large, and not out of memory: the caller can do something about it. */
static void what_is_too_large_is_not_written(void **state)
{
    enum {
        MUCH = ARCHIVE_MOST_FILE_BYTES + 1,
        CONTENT = 200000,
        COUNT = 1 + ARCHIVE_MOST_RECORDS_BYTES / CONTENT
    };
    char *zeros = calloc(MUCH, 1), *content = malloc(CONTENT + 1);
    TrailRecord *records = ARENA_ARRAY((Arena *)*state, TrailRecord, COUNT);
    assert_true(zeros && content && records);
    ArchiveAttachment large = {ABC, {zeros, MUCH}};
    records[0] = make_record(1, ABC);
    want_unwritten(&(Archive){records, &large, 1, 1, {NULL, 0}}, ERROR_TOO_LARGE, *state);
    want_unwritten(&(Archive){records, &large, 0, 0, {zeros, ARCHIVE_MOST_CALL_BYTES + 1}}, ERROR_TOO_LARGE,
                   *state);
    snprintf(content, CONTENT + 1, "{\"say\":\"%0*d\"}", CONTENT - 10, 0);
    for (int r = 0; r < COUNT; r++) {
        records[r] = make_record(r, "");
        records[r].payload = content;
    }
    want_unwritten(&(Archive){records, NULL, COUNT, 0, {NULL, 0}}, ERROR_TOO_LARGE, *state);
    free(zeros);
    free(content);
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, begin, end)
    const struct CMUnitTest tests[] = {
        TEST(the_check_sum_is_the_published_one),
        TEST(sound_archives_of_other_hands_are_read),
        TEST(each_forgery_is_refused),
        TEST(entries_that_overlap_are_refused),
        TEST(the_end_is_held_to_the_bit),
        TEST(little_memory_is_taken_before_it_is_refused),
        TEST(every_want_of_memory_is_told),
        TEST(the_order_of_attachments_is_of_no_consequence),
        TEST(an_attached_archive_comes_back),
        TEST(what_would_not_be_read_is_not_written),
        TEST(what_is_too_large_is_not_written),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
