/* behaviour.c: what a store does, seen from outside. */
#include <sys/stat.h>

#include "support/stores.h"

enum { SEED = 30811 };

static int begin(void **state)
{
    static Stores stores;
    stores_begin(&stores, SEED);
    *state = &stores;
    return 0;
}

static int end(void **state)
{
    stores_end(*state);
    return 0;
}

static void append(Stores *s, const TrailRecord *records, int count, int expected)
{
    int added = -1;
    Error error = {.code = ERROR_NONE};
    if (!store_append(s->store, records, count, &added, &error))
        fail_msg("%s; %s", error.found, error.expected);
    assert_int_equal(added, expected);
}

static int read_call(Stores *s, const char *call, TrailRecord **records)
{
    int count = -1;
    Error error = {.code = ERROR_NONE};
    assert_true(store_read_call(s->store, call, &s->arena, records, &count, &error));
    return count;
}

static int list(Stores *s, StoreFilter filter, StoreSummary **summaries)
{
    int count = -1;
    Error error = {.code = ERROR_NONE};
    assert_true(store_list(s->store, &filter, &s->arena, summaries, &count, &error));
    return count;
}

static void hold_same(const TrailRecord *a, const TrailRecord *b, int count)
{
    Arena arena = arena_new(1 << 20);
    Trail trail;
    Error error = {.code = ERROR_NONE};
    assert_true(trail_merge(a, count, b, count, &arena, &trail, &error));
    assert_int_equal(trail.count, count);
    arena_free(&arena);
}

/* ---- records */

static void what_was_added_is_read_in_order(void **state)
{
    Stores *s = *state;
    TrailRecord made[3], *records;
    made[0] = stores_record(&s->stream, NULL, TRAIL_OPENED, 1000,
                            "{\"call\":\"pale\",\"appliance\":\"range-208\"}");
    made[1] = stores_record(&s->stream, made[0].call, TRAIL_ENTRY, 3000,
                            "{\"note\":\"h\xc3\xa9, 'quotes' \\\"too\\\"\"}");
    made[2] = stores_record(&s->stream, made[0].call, TRAIL_STRUCK, 2000, "{\"why\":\"a slip\"}");
    memcpy(made[2].strikes, made[1].id, TRAIL_ID_SIZE);
    append(s, made, 3, 3);
    assert_int_equal(read_call(s, made[0].call, &records), 3);
    hold_same(made, records, 3);
    assert_string_equal(records[1].id, made[2].id); /* by time */
    assert_string_equal(records[2].payload, made[1].payload);
    assert_int_equal(read_call(s, made[0].id, &records), 0); /* no such call */
    assert_int_equal(stores_check(s->store), 0);
}

static void twice_is_once(void **state)
{
    Stores *s = *state;
    TrailRecord record = stores_record(&s->stream, NULL, TRAIL_OPENED, 1000, "{\"call\":\"x\"}"), *records;
    append(s, &record, 1, 1);
    append(s, &record, 1, 0);
    const TrailRecord both[] = {record, record};
    append(s, both, 2, 0);
    assert_int_equal(read_call(s, record.call, &records), 1);
}

/* Refused whole: neither the forged one nor the good ones beside it. */
static void a_forged_record_takes_all_back(void **state)
{
    Stores *s = *state;
    TrailRecord first = stores_record(&s->stream, NULL, TRAIL_OPENED, 1000, "{\"call\":\"x\"}"), *records;
    append(s, &first, 1, 1);
    TrailRecord batch[] = {stores_record(&s->stream, first.call, TRAIL_ENTRY, 2000, "{\"note\":\"good\"}"),
                           first,
                           stores_record(&s->stream, NULL, TRAIL_OPENED, 3000, "{\"call\":\"other\"}")};
    batch[1].payload = "{\"call\":\"forged\"}";
    int added = -1;
    Error error = {.code = ERROR_NONE};
    assert_false(store_append(s->store, batch, 3, &added, &error));
    assert_int_equal(error.code, ERROR_INCONSISTENT);
    assert_string_equal(error.found, first.id);
    assert_int_equal(added, 0);
    assert_int_equal(read_call(s, first.call, &records), 1);
    assert_string_equal(records[0].payload, first.payload);
    assert_int_equal(read_call(s, batch[2].call, &records), 0);
    batch[1].payload = first.payload; /* and afterwards all is well */
    append(s, batch, 3, 2);
    assert_int_equal(stores_check(s->store), 0);
}

static void what_may_not_stand_is_refused(void **state)
{
    Stores *s = *state;
    int added;
    Error error = {.code = ERROR_NONE};
    TrailRecord record = stores_record(&s->stream, NULL, TRAIL_ENTRY, 1000, "{}");
    record.author = "";
    assert_false(store_append(s->store, &record, 1, &added, &error));
    assert_string_equal(error.found, "author of a record");
    assert_int_equal(stores_check(s->store), 0);
}

/* RFC 9562, section 5.7: 48 bits of milliseconds, version 7, variant 10. The moment is that of its example in
 * appendix A.6, 2022-02-22 19:22:22 UTC: 017f22e2-79b0-7cc3-98c4-dc0c0c07398f. */
static void identifiers_begin_with_their_moment(void **state)
{
    char id[TRAIL_ID_SIZE], other[TRAIL_ID_SIZE];
    (void)state;
    for (int i = 0; i < 200; i++) {
        store_new_id(INT64_C(0x017f22e279b0), id);
        store_new_id(INT64_C(0x017f22e279b0), other);
        assert_int_equal(strncmp(id, "017f22e2-79b0-7", 15), 0);
        assert_non_null(strchr("89ab", id[19]));
        assert_string_not_equal(id, other);
        TrailRecord record = stores_record(&((Stores *)*state)->stream, id, TRAIL_OPENED, 1000, "{}");
        Error error = {.code = ERROR_NONE};
        assert_true(trail_check(&record, &error));
    }
}

static void calls_are_found_by_their_ends(void **state)
{
    Stores *s = *state;
    char call[TRAIL_ID_SIZE];
    Error error = {.code = ERROR_NONE};
    TrailRecord one =
        stores_record(&s->stream, "017f22e2-79b0-7cc3-98c4-dc0c0c07398f", TRAIL_OPENED, 1000, "{}");
    TrailRecord two =
        stores_record(&s->stream, "017f22e2-79b0-7cc3-98c4-dc0c1c07398f", TRAIL_OPENED, 1000, "{}");
    append(s, &one, 1, 1);
    append(s, &two, 1, 1);
    assert_true(store_find(s->store, "0c07398f", call, &error));
    assert_string_equal(call, one.call);
    assert_true(store_find(s->store, two.call, call, &error));
    assert_string_equal(call, two.call);
    static const char *const wrong[] = {"07398f", "8f",   "",
                                        "abcd",   "%98f", "017f22e2-79b0-7cc3-98c4-dc0c0c07398f0"};
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        error = (Error){.code = ERROR_NONE};
        assert_false(store_find(s->store, wrong[i], call, &error));
        assert_int_equal(error.code, ERROR_UNKNOWN_WORD);
    }
}

/* ---- attachments */

/* The one-block message of FIPS 180-4's examples, 'abc'; and nothing at all. */
static void attachments_go_by_the_published_hash(void **state)
{
    Stores *s = *state;
    char hash[TRAIL_HASH_SIZE];
    Text bytes;
    Error error = {.code = ERROR_NONE};
    assert_true(store_attach(s->store, text_of("abc"), hash, &error));
    assert_string_equal(hash, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    assert_true(store_attach(s->store, text_of("abc"), hash, &error));
    assert_true(store_read_attachment(s->store, hash, &s->arena, &bytes, &error));
    assert_true(text_is(bytes, "abc"));
    assert_true(store_attach(s->store, text_of(""), hash, &error));
    assert_string_equal(hash, "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
    assert_true(store_read_attachment(s->store, hash, &s->arena, &bytes, &error));
    assert_true(bytes.bytes && bytes.length == 0);
    hash[0] = 'f';
    assert_true(store_read_attachment(s->store, hash, &s->arena, &bytes, &error));
    assert_null(bytes.bytes);
}

static void a_record_needs_what_it_names(void **state)
{
    Stores *s = *state;
    int added;
    Error error = {.code = ERROR_NONE};
    TrailRecord record = stores_record(&s->stream, NULL, TRAIL_ENTRY, 1000, "{\"run\":\"log\"}");
    memset(record.attachment, 'a', TRAIL_HASH_SIZE - 1);
    assert_false(store_append(s->store, &record, 1, &added, &error));
    char hash[TRAIL_HASH_SIZE];
    assert_true(store_attach(s->store, text_of("second;celsius\n0;20\n"), hash, &error));
    memcpy(record.attachment, hash, sizeof hash);
    append(s, &record, 1, 1);
    assert_int_equal(stores_check(s->store), 0);
}

/* ---- lists */

static void calls_are_found_by_what_holds_of_them(void **state)
{
    Stores *s = *state;
    StoreSummary *found;
    TrailRecord made[6];
    made[0] = stores_record(&s->stream, NULL, TRAIL_OPENED, 1000,
                            "{\"call\":\"Bakes pale\",\"appliance\":\"range-208\"}");
    made[1] = stores_record(&s->stream, made[0].call, TRAIL_ENTRY, 5000,
                            "{\"look\":\"bake-element\",\"sees\":\"blistered\"}");
    made[2] = stores_record(&s->stream, NULL, TRAIL_OPENED, 2000,
                            "{\"call\":\"No heat\",\"appliance\":\"oven-230\"}");
    made[3] =
        stores_record(&s->stream, made[2].call, TRAIL_CLOSED, 3000, "{\"confirmed\":[\"thermostat.open\"]}");
    made[4] =
        stores_record(&s->stream, made[2].call, TRAIL_ENTRY, 2500, "{\"note\":\"smells, the Owner says.\"}");
    made[5] = stores_record(&s->stream, made[2].call, TRAIL_STRUCK, 2600, "{\"why\":\"other oven\"}");
    memcpy(made[5].strikes, made[4].id, TRAIL_ID_SIZE);
    append(s, made, 6, 6);
    assert_int_equal(list(s, (StoreFilter){.most = 0}, &found), 2);
    assert_string_equal(found[0].call, made[0].call); /* changed last */
    assert_string_equal(found[0].title, "Bakes pale");
    assert_string_equal(found[1].appliance, "oven-230");
    assert_int_equal(found[1].phase, TRAIL_IS_CLOSED);
    assert_int_equal(found[1].record_count, 4);
    static const struct {
        StoreFilter filter;
        int count, first;
    } cases[] = {{{.appliance = "oven-230"}, 1, 2},
                 {{.appliance = "oven"}, 0, 0},
                 {{.words = "blistered"}, 1, 0},
                 {{.words = "PALE, bake-element"}, 1, 0},
                 {{.words = "pale thermostat.open"}, 0, 0},
                 {{.words = "ada"}, 2, 0},
                 {{.words = "smells"}, 0, 0}, /* struck */
                 {{.is_open = true}, 1, 0},
                 {{.from_millisecond = 4000}, 1, 0},
                 {{.before_millisecond = 4000}, 1, 2},
                 {{.from_millisecond = 3000, .before_millisecond = 3001}, 1, 2},
                 {{.most = 1}, 1, 0}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        assert_int_equal(list(s, cases[i].filter, &found), cases[i].count);
        if (cases[i].count > 0) assert_string_equal(found[0].call, made[cases[i].first].call);
    }
    assert_int_equal(stores_check(s->store), 0);
}

/* A word is a value, never a piece of a statement. */
static void words_are_only_words(void **state)
{
    Stores *s = *state;
    StoreSummary *found;
    int count;
    Error error = {.code = ERROR_NONE};
    TrailRecord record =
        stores_record(&s->stream, NULL, TRAIL_OPENED, 1000, "{\"call\":\"x'); DROP TABLE record; --\"}");
    append(s, &record, 1, 1);
    assert_int_equal(list(s, (StoreFilter){.words = "drop"}, &found), 1);
    assert_int_equal(list(s, (StoreFilter){.words = "'); DROP TABLE record; --"}, &found), 0);
    assert_int_equal(list(s, (StoreFilter){.appliance = "' OR 1=1 --"}, &found), 0);
    static char many[4000];
    for (int i = 0; i < 100; i++) strcat(many, "word ");
    assert_false(store_list(s->store, &(StoreFilter){.words = many}, &s->arena, &found, &count, &error));
    assert_int_equal(error.code, ERROR_TOO_LARGE);
}

/* ---- files */

static bool opens(const char *path, bool may_create, Error *error)
{
    Store *store = NULL;
    *error = (Error){.code = ERROR_NONE};
    const bool is_open = store_open(path, may_create, &store, error);
    if (is_open) store_close(store);
    return is_open;
}

static void shell(const char *format, const char *folder)
{
    char command[400];
    snprintf(command, sizeof command, format, folder, folder);
    assert_int_equal(system(command), 0);
}

static void only_stores_are_opened(void **state)
{
    Stores *s = *state;
    char path[200];
    Error error;
    snprintf(path, sizeof path, "%s/none.db", s->folder);
    assert_false(opens(path, false, &error));
    assert_int_equal(error.code, ERROR_IO);
    assert_int_equal(access(path, F_OK), -1); /* nothing was made */
    shell("printf 'call: bakes pale and slow, for longer than a header has bytes ....................' > "
          "%s/call.yaml; cp %s/call.yaml /tmp/.",
          s->folder);
    snprintf(path, sizeof path, "%s/call.yaml", s->folder);
    assert_false(opens(path, true, &error));
    assert_int_equal(error.code, ERROR_IO);
    shell("cmp -s %s/call.yaml /tmp/call.yaml && rm /tmp/call.yaml && test -d %s", s->folder);
    snprintf(path, sizeof path, "%s/no/folder.db", s->folder);
    assert_false(opens(path, true, &error));
}

/* Another database, and one of a schema to come: left alone, with a sentence. */
static void a_newer_store_is_refused(void **state)
{
    Stores *s = *state;
    Error error;
    TrailRecord record = stores_record(&s->stream, NULL, TRAIL_OPENED, 1000, "{\"call\":\"x\"}");
    append(s, &record, 1, 1);
    store_close(s->store);
    s->store = NULL;
    shell("sqlite3 %s/calls.db \"UPDATE meta SET value = '2' WHERE key = 'schema'\"; test -d %s", s->folder);
    assert_false(opens(s->path, true, &error));
    assert_string_equal(error.found, "a store of a newer version of this program");
    assert_string_equal(error.file, s->path);
    shell("sqlite3 %s/other.db 'CREATE TABLE recipes (name TEXT)'; test -d %s", s->folder);
    char path[200];
    snprintf(path, sizeof path, "%s/other.db", s->folder);
    assert_false(opens(path, true, &error));
    assert_string_equal(error.found, "a database of something else");
}

/* The file of version 1, kept for good: it opens, is sound, and says what it said then. */
static void a_store_of_version_1_opens(void **state)
{
    Stores *s = *state;
    char command[400];
    TrailRecord *records;
    StoreSummary *found;
    Error error = {.code = ERROR_NONE};
    store_close(s->store);
    s->store = NULL;
    snprintf(command, sizeof command, "cp %s/tests/fixtures/store-1.db %s", PROJECT_FOLDER, s->path);
    assert_int_equal(system(command), 0);
    assert_true(store_open(s->path, false, &s->store, &error));
    assert_int_equal(stores_check(s->store), 0);
    assert_int_equal(list(s, (StoreFilter){.words = "bake-element.open"}, &found), 1);
    assert_string_equal(found[0].title, "bakes pale and slow");
    assert_int_equal(found[0].phase, TRAIL_IS_CLOSED);
    assert_int_equal(read_call(s, found[0].call, &records), 4);
}

static void damage_is_found(void **state)
{
    Stores *s = *state;
    char hash[TRAIL_HASH_SIZE];
    Text bytes;
    Error error = {.code = ERROR_NONE};
    TrailRecord record = stores_record(&s->stream, NULL, TRAIL_OPENED, 1000, "{\"call\":\"x\"}");
    append(s, &record, 1, 1);
    assert_true(store_attach(s->store, text_of("a log"), hash, &error));
    assert_int_equal(stores_check(s->store), 0);
    shell("sqlite3 %s/calls.db \"UPDATE call SET title = 'y'; UPDATE attachment SET content = x'00'; UPDATE "
          "record SET author "
          "= ''\"; test -d %s",
          s->folder);
    assert_int_equal(stores_check(s->store), 3);
    assert_false(store_read_attachment(s->store, hash, &s->arena, &bytes, &error));
    assert_int_equal(error.code, ERROR_IO);
}

static void a_backup_has_all_and_writes_over_nothing(void **state)
{
    Stores *s = *state;
    char path[200];
    TrailRecord *records;
    Error error = {.code = ERROR_NONE};
    TrailRecord record = stores_record(&s->stream, NULL, TRAIL_OPENED, 1000, "{\"call\":\"x\"}");
    append(s, &record, 1, 1);
    snprintf(path, sizeof path, "%s/backup.db", s->folder);
    assert_true(store_backup(s->store, path, &error));
    assert_false(store_backup(s->store, path, &error));
    assert_int_equal(error.code, ERROR_IO);
    store_close(s->store);
    assert_true(store_open(path, false, &s->store, &error));
    assert_int_equal(read_call(s, record.call, &records), 1);
    assert_int_equal(stores_check(s->store), 0);
}

/* ---- two stores */

static void each_gets_what_the_other_has(void **state)
{
    Stores *s = *state, van;
    TrailRecord *records, made[4];
    char hash[TRAIL_HASH_SIZE];
    int given, taken, added, count;
    Text bytes;
    Error error = {.code = ERROR_NONE};
    stores_begin(&van, SEED + 1);
    made[0] = stores_record(&s->stream, NULL, TRAIL_OPENED, 1000, "{\"call\":\"both\"}");
    made[1] = stores_record(&s->stream, made[0].call, TRAIL_ENTRY, 2000, "{\"note\":\"shop\"}");
    made[2] = stores_record(&s->stream, made[0].call, TRAIL_ENTRY, 1500, "{\"run\":\"log\"}");
    made[3] = stores_record(&s->stream, NULL, TRAIL_OPENED, 4000, "{\"call\":\"van alone\"}");
    assert_true(store_attach(van.store, text_of("a log"), hash, &error));
    memcpy(made[2].attachment, hash, sizeof hash);
    append(s, made, 2, 2);
    assert_true(store_append(van.store, (TrailRecord[]){made[0], made[2], made[3]}, 3, &added, &error));
    assert_true(store_sync(s->store, van.store, &given, &taken, &error));
    assert_int_equal(given, 1);
    assert_int_equal(taken, 2);
    assert_true(store_sync(van.store, s->store, &given, &taken, &error)); /* again: nothing */
    assert_int_equal(given + taken, 0);
    assert_int_equal(read_call(s, made[0].call, &records), 3);
    hold_same(made, records, 3);
    assert_true(store_read_call(van.store, made[0].call, &van.arena, &records, &count, &error));
    hold_same(made, records, 3);
    assert_true(store_read_attachment(s->store, hash, &s->arena, &bytes, &error));
    assert_true(text_is(bytes, "a log"));
    assert_int_equal(stores_check(s->store) + stores_check(van.store), 0);
    stores_end(&van);
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, begin, end)
    const struct CMUnitTest tests[] = {
        TEST(what_was_added_is_read_in_order),
        TEST(twice_is_once),
        TEST(a_forged_record_takes_all_back),
        TEST(what_may_not_stand_is_refused),
        TEST(identifiers_begin_with_their_moment),
        TEST(calls_are_found_by_their_ends),
        TEST(attachments_go_by_the_published_hash),
        TEST(a_record_needs_what_it_names),
        TEST(calls_are_found_by_what_holds_of_them),
        TEST(words_are_only_words),
        TEST(only_stores_are_opened),
        TEST(a_newer_store_is_refused),
        TEST(a_store_of_version_1_opens),
        TEST(damage_is_found),
        TEST(a_backup_has_all_and_writes_over_nothing),
        TEST(each_gets_what_the_other_has),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
