/* behaviour.c: what a store does, seen from outside; the same of both engines. */
#include <sys/stat.h>

#include "support/stores.h"

enum { SEED = 30811 };

static Stores stores;

static int begin(void **state, StoresEngine engine)
{
    stores_begin(&stores, engine, SEED);
    *state = &stores;
    return 0;
}

static int begin_sqlite(void **state) { return begin(state, STORES_SQLITE); }
static int begin_postgresql(void **state) { return begin(state, STORES_POSTGRESQL); }

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
    TrailRecord made[7];
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
    made[6] = stores_record(&s->stream, made[2].call, TRAIL_ENTRY, 2700,
                            "{\"repair\":\"thermostat\",\"did\":\"replaced\"}");
    made[6].author = "Bo of the North";
    made[5] = stores_record(&s->stream, made[2].call, TRAIL_STRUCK, 2600, "{\"why\":\"other oven\"}");
    memcpy(made[5].strikes, made[4].id, TRAIL_ID_SIZE);
    append(s, made, 7, 7);
    assert_int_equal(list(s, (StoreFilter){.most = 0}, &found), 2);
    assert_string_equal(found[0].call, made[0].call); /* changed last */
    assert_string_equal(found[0].title, "Bakes pale");
    assert_string_equal(found[1].appliance, "oven-230");
    assert_int_equal(found[1].phase, TRAIL_IS_CLOSED);
    assert_int_equal(found[1].record_count, 5);
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
                 {{.is_open = true, .appliance = "oven-230"}, 0, 0},
                 {{.technician = "Ada"}, 2, 0},
                 {{.technician = "bo of the north"}, 1, 2},
                 {{.technician = "bo"}, 0, 0},
                 {{.words = "bo"}, 1, 2},
                 {{.part = "thermostat"}, 1, 2},
                 {{.part = "bake-element"}, 0, 0}, /* looked at, not repaired */
                 {{.fault = "thermostat.open"}, 1, 2},
                 {{.fault = "thermostat.open", .technician = "ada", .words = "no heat"}, 1, 2},
                 {{.words = "part:thermostat"}, 0, 0}, /* a label is no word */
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

static void only_stores_are_opened(void **state)
{
    Stores *s = *state;
    char path[200];
    Error error;
    snprintf(path, sizeof path, "%s/none.db", s->folder);
    assert_false(opens(path, false, &error));
    assert_int_equal(error.code, ERROR_IO);
    assert_int_equal(access(path, F_OK), -1); /* nothing was made */
    snprintf(path, sizeof path, "%s/call.yaml", s->folder);
    stores_shell(
        "printf 'call: bakes pale and slow, for longer than a header has bytes ....................' > %s;"
        " cp %s %s.before",
        path, path, path);
    assert_false(opens(path, true, &error));
    assert_int_equal(error.code, ERROR_IO);
    stores_shell("cmp -s %s %s.before", path, path);
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
    stores_sql(s, "UPDATE meta SET value = '3' WHERE key = 'schema'");
    assert_false(opens(s->path, true, &error));
    assert_string_equal(error.found, "a store of a newer version of this program");
    assert_true(error.file[0] && error.hint[0]);
    stores_sql(s, "UPDATE meta SET value = '2' WHERE key = 'schema'");
    assert_true(opens(s->path, false, &error)); /* nothing was changed */
    stores_sql(s, "ALTER TABLE meta RENAME TO recipes");
    assert_false(opens(s->path, true, &error));
    assert_string_equal(error.found, "a database of something else");
}

/* The file of version 1, kept for good: it opens, is sound, and says what it said then. */
static void a_store_of_version_1_opens(void **state)
{
    Stores *s = *state;
    TrailRecord *records;
    StoreSummary *found;
    Error error = {.code = ERROR_NONE};
    store_close(s->store);
    s->store = NULL;
    stores_shell("cp %s/tests/fixtures/store-1.db %s", PROJECT_FOLDER, s->path);
    assert_true(store_open(s->path, false, &s->store, &error));
    assert_int_equal(store_found_schema(s->store), 1);
    assert_int_equal(stores_check(s->store), 0);
    assert_int_equal(list(s, (StoreFilter){.words = "bake-element.open"}, &found), 1);
    assert_string_equal(found[0].title, "bakes pale and slow");
    assert_int_equal(found[0].phase, TRAIL_IS_CLOSED);
    assert_int_equal(read_call(s, found[0].call, &records), 4);
    char call[TRAIL_ID_SIZE];
    assert_true(store_find(s->store, found[0].call + 28, call, &error)); /* what version 2 has beyond it */
    assert_int_equal(list(s, (StoreFilter){.fault = "bake-element.open"}, &found), 1);
    store_close(s->store);
    assert_true(store_open(s->path, false, &s->store, &error));
    assert_int_equal(store_found_schema(s->store), STORE_SCHEMA); /* and it is so from now on */
}

/* A store of version 2, kept when it was the newest. */
static void a_store_of_version_2_opens(void **state)
{
    Stores *s = *state;
    StoreSummary *found;
    StoreCustomer customer;
    Error error = {.code = ERROR_NONE};
    store_close(s->store);
    s->store = NULL;
    stores_shell("cp %s/tests/fixtures/store-2.db %s", PROJECT_FOLDER, s->path);
    assert_true(store_open(s->path, false, &s->store, &error));
    assert_int_equal(stores_check(s->store), 0);
    assert_int_equal(list(s, (StoreFilter){.customer = "fern"}, &found), 1);
    assert_true(store_read_customer(s->store, found[0].call, &s->arena, &customer, &error));
    assert_string_equal(customer.address, "12 Fern Row");
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
    stores_sql(s, "UPDATE call SET title = 'y'");
    stores_sql(s, s->engine == STORES_SQLITE ? "UPDATE attachment SET content = x'00'"
                                             : "UPDATE attachment SET content = 'zero'");
    stores_sql(s, "UPDATE record SET author = ''");
    assert_int_equal(stores_check(s->store), 3);
    assert_false(store_read_attachment(s->store, hash, &s->arena, &bytes, &error));
    assert_int_equal(error.code, ERROR_IO);
}

/* Somebody takes a record away, past the program: the call's summary and the chain say so. */
static void what_is_missing_is_found(void **state)
{
    Stores *s = *state;
    TrailRecord made[3];
    made[0] = stores_record(&s->stream, NULL, TRAIL_OPENED, 1000, "{\"call\":\"x\"}");
    for (int i = 1; i < 3; i++)
        made[i] = stores_record(&s->stream, made[0].call, TRAIL_ENTRY, 1000 + i, "{\"note\":\"same\"}");
    append(s, made, 3, 3);
    assert_int_equal(stores_check(s->store), 0);
    char sql[200];
    snprintf(sql, sizeof sql, "DELETE FROM record WHERE id = '%s'", made[1].id);
    stores_sql(s, sql);
    assert_int_equal(stores_check(s->store), 2);
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

static int take(Store *store, Store *from)
{
    int taken = -1;
    Error error = {.code = ERROR_NONE};
    if (!store_take(store, from, &taken, &error)) fail_msg("%s; %s", error.found, error.expected);
    return taken;
}

static void each_gets_what_the_other_has(void **state)
{
    Stores *s = *state, van;
    TrailRecord *records, made[4];
    char hash[TRAIL_HASH_SIZE];
    int added, count;
    Text bytes;
    Error error = {.code = ERROR_NONE};
    stores_begin(&van, STORES_SQLITE, SEED + 1);
    made[0] = stores_record(&s->stream, NULL, TRAIL_OPENED, 1000, "{\"call\":\"both\"}");
    made[1] = stores_record(&s->stream, made[0].call, TRAIL_ENTRY, 2000, "{\"note\":\"shop\"}");
    made[2] = stores_record(&s->stream, made[0].call, TRAIL_ENTRY, 1500, "{\"run\":\"log\"}");
    made[3] = stores_record(&s->stream, NULL, TRAIL_OPENED, 4000, "{\"call\":\"van alone\"}");
    assert_true(store_attach(van.store, text_of("a log"), hash, &error));
    memcpy(made[2].attachment, hash, sizeof hash);
    append(s, made, 2, 2);
    assert_true(store_append(van.store, (TrailRecord[]){made[0], made[2], made[3]}, 3, &added, &error));
    assert_int_equal(take(van.store, s->store), 1);
    assert_int_equal(take(s->store, van.store), 2);
    assert_int_equal(take(van.store, s->store), 0); /* again: nothing */
    assert_int_equal(take(s->store, van.store), 0);
    assert_int_equal(read_call(s, made[0].call, &records), 3);
    hold_same(made, records, 3);
    assert_true(store_read_call(van.store, made[0].call, &van.arena, &records, &count, &error));
    hold_same(made, records, 3);
    assert_true(store_read_attachment(s->store, hash, &s->arena, &bytes, &error));
    assert_true(text_is(bytes, "a log"));
    assert_int_equal(stores_check(s->store) + stores_check(van.store), 0);
    stores_end(&van);
}

/* Only what came since is looked at: a record that is put among the old ones, past the program, is not. */
static void only_what_came_since_is_taken(void **state)
{
    Stores *s = *state, van;
    TrailRecord made[3], *records;
    stores_begin(&van, STORES_SQLITE, SEED + 2);
    made[0] = stores_record(&s->stream, NULL, TRAIL_OPENED, 1000, "{\"call\":\"x\"}");
    made[1] = stores_record(&s->stream, made[0].call, TRAIL_ENTRY, 2000, "{\"note\":\"one\"}");
    made[2] = stores_record(&s->stream, made[0].call, TRAIL_ENTRY, 3000, "{\"note\":\"two\"}");
    append(s, made, 2, 2);
    assert_int_equal(take(van.store, s->store), 2);
    append(s, &made[2], 1, 1);
    assert_int_equal(take(van.store, s->store), 1);
    stores_sql(&van, "DELETE FROM record WHERE made = 2000");
    assert_int_equal(take(van.store, s->store), 0); /* the mark says that it had it */
    /* ... but a store whose past has changed is looked at from its beginning */
    stores_sql(s, "UPDATE record SET chain = chain + 1 WHERE made = 3000");
    assert_int_equal(take(van.store, s->store), 1);
    Error error = {.code = ERROR_NONE};
    int count;
    assert_true(store_read_call(van.store, made[0].call, &van.arena, &records, &count, &error));
    hold_same(made, records, 3);
    stores_end(&van);
}

/* A file that was copied by hand is two stores with one name, and each goes its own way. */
static void a_copy_by_hand_loses_nothing(void **state)
{
    Stores *s = *state, shop;
    char path[200];
    Store *copy;
    Error error = {.code = ERROR_NONE};
    int added;
    stores_begin(&shop, STORES_SQLITE, SEED + 3);
    TrailRecord made[4];
    made[0] = stores_record(&s->stream, NULL, TRAIL_OPENED, 1000, "{\"call\":\"x\"}");
    for (int i = 1; i < 4; i++)
        made[i] = stores_record(&s->stream, made[0].call, TRAIL_ENTRY, 1000 + i, "{\"note\":\"n\"}");
    append(s, made, 1, 1);
    store_close(s->store);
    snprintf(path, sizeof path, "%s/copy.db", s->folder);
    stores_shell("cp %s %s", s->path, path);
    assert_true(store_open(s->path, false, &s->store, &error));
    assert_true(store_open(path, false, &copy, &error));
    append(s, &made[1], 1, 1);
    append(s, &made[2], 1, 1);
    assert_true(store_append(copy, &made[3], 1, &added, &error));
    assert_int_equal(take(shop.store, s->store), 3);
    assert_int_equal(take(shop.store, copy), 1);
    assert_int_equal(take(s->store, shop.store), 1);
    assert_int_equal(take(copy, shop.store), 2);
    assert_int_equal(stores_check(s->store) + stores_check(shop.store) + stores_check(copy), 0);
    store_close(copy);
    stores_end(&shop);
}

/* Put back to an older state, a store goes on; what it then makes is not taken for what was had of it. */
static void a_restored_store_is_met_anew(void **state)
{
    Stores *s = *state, shop;
    char path[200];
    Store *old;
    Error error = {.code = ERROR_NONE};
    int added;
    stores_begin(&shop, STORES_SQLITE, SEED + 4);
    TrailRecord made[3];
    made[0] = stores_record(&s->stream, NULL, TRAIL_OPENED, 1000, "{\"call\":\"x\"}");
    made[1] = stores_record(&s->stream, made[0].call, TRAIL_ENTRY, 2000, "{\"note\":\"lost\"}");
    made[2] = stores_record(&s->stream, made[0].call, TRAIL_ENTRY, 3000, "{\"note\":\"new\"}");
    append(s, made, 1, 1);
    snprintf(path, sizeof path, "%s/backup.db", s->folder);
    assert_true(store_backup(s->store, path, &error));
    append(s, &made[1], 1, 1);
    assert_int_equal(take(shop.store, s->store), 2);
    assert_true(store_open(path, false, &old, &error));
    assert_true(store_append(old, &made[2], 1, &added, &error));
    assert_int_equal(take(shop.store, old), 1);
    assert_int_equal(take(old, shop.store), 1);
    assert_int_equal(stores_check(old) + stores_check(shop.store), 0);
    store_close(old);
    stores_end(&shop);
}

/* ---- customers */

static StoreCustomer customer_of(Store *store, const char *call, Arena *arena)
{
    StoreCustomer customer;
    Error error = {.code = ERROR_NONE};
    if (!store_read_customer(store, call, arena, &customer, &error)) fail_msg("%s", error.found);
    return customer;
}

static void set_customer(Store *store, const char *call, int64_t made, const char *name)
{
    const StoreCustomer customer = {.name = name, .address = "3 Quince Lane", .phone = "555 0100"};
    Error error = {.code = ERROR_NONE};
    if (!store_set_customer(store, call, made, &customer, &error)) fail_msg("%s", error.found);
}

static void customers_stand_apart(void **state)
{
    Stores *s = *state;
    StoreSummary *found;
    Error error = {.code = ERROR_NONE};
    TrailRecord record = stores_record(&s->stream, NULL, TRAIL_OPENED, 1000, "{\"call\":\"x\"}");
    append(s, &record, 1, 1);
    assert_string_equal(customer_of(s->store, record.call, &s->arena).name, "");
    set_customer(s->store, record.call, 2000, "Iris O'Hara");
    set_customer(s->store, record.call, 1500, "Somebody earlier"); /* what was made later stays */
    assert_string_equal(customer_of(s->store, record.call, &s->arena).name, "Iris O'Hara");
    assert_string_equal(customer_of(s->store, record.call, &s->arena).phone, "555 0100");
    assert_int_equal(list(s, (StoreFilter){.customer = "o'hara"}, &found), 1);
    assert_int_equal(list(s, (StoreFilter){.customer = "quince lane"}, &found), 1);
    assert_int_equal(list(s, (StoreFilter){.customer = "plum"}, &found), 0);
    assert_int_equal(list(s, (StoreFilter){.words = "iris"}, &found), 0); /* in no word */
    const StoreCustomer nobody = {"x", "", "", false};
    assert_false(store_set_customer(s->store, record.id, 1, &nobody, &error)); /* no such call */
    assert_int_equal(error.code, ERROR_UNKNOWN_WORD);
    assert_int_equal(stores_check(s->store), 0);
}

static void an_erased_customer_is_gone(void **state)
{
    Stores *s = *state;
    Error error = {.code = ERROR_NONE};
    TrailRecord record = stores_record(&s->stream, NULL, TRAIL_OPENED, 1000, "{\"call\":\"x\"}"), *records;
    append(s, &record, 1, 1);
    set_customer(s->store, record.call, 2000, "Quintessa Underwood-Abernathy");
    assert_true(store_erase_customer(s->store, record.call, 3000, &error));
    assert_string_equal(customer_of(s->store, record.call, &s->arena).name, "");
    assert_true(customer_of(s->store, record.call, &s->arena).is_erased);
    const StoreCustomer again = {"Quintessa", "", "", false};
    assert_false(store_set_customer(s->store, record.call, 4000, &again, &error));
    assert_int_equal(error.code, ERROR_INCONSISTENT);
    assert_int_equal(read_call(s, record.call, &records), 1); /* the record of the work stays */
    if (s->engine == STORES_SQLITE) {
        stores_shell("! grep -q Underwood %s*", s->path);
    }
}

/* The van entered the name, the shop erased it: wherever they meet, it is gone. */
static void an_erasure_travels(void **state)
{
    Stores *s = *state, van;
    Error error = {.code = ERROR_NONE};
    TrailRecord record = stores_record(&s->stream, NULL, TRAIL_OPENED, 1000, "{\"call\":\"x\"}");
    stores_begin(&van, STORES_SQLITE, SEED + 5);
    append(s, &record, 1, 1);
    set_customer(s->store, record.call, 2000, "Quintessa Underwood");
    take(van.store, s->store);
    assert_string_equal(customer_of(van.store, record.call, &van.arena).name, "Quintessa Underwood");
    assert_true(store_erase_customer(s->store, record.call, 3000, &error));
    set_customer(van.store, record.call, 9000, "Quintessa Underwood, moved"); /* not knowing */
    take(s->store, van.store);
    assert_string_equal(customer_of(s->store, record.call, &s->arena).name, "");
    take(van.store, s->store);
    assert_string_equal(customer_of(van.store, record.call, &van.arena).name, "");
    stores_shell("! grep -q Underwood %s*", van.path);
    stores_end(&van);
}

/* ---- what closed calls teach */

static void close_call(Stores *s, const char *appliance, int64_t at, const char *closing)
{
    char head[100];
    snprintf(head, sizeof head, "{\"call\":\"x\",\"appliance\":\"%s\"}", appliance);
    TrailRecord made[2];
    made[0] = stores_record(&s->stream, NULL, TRAIL_OPENED, at, head);
    made[1] = stores_record(&s->stream, made[0].call, TRAIL_CLOSED, at + 1, closing);
    append(s, made, 2, 2);
}

static void closed_calls_are_counted(void **state)
{
    Stores *s = *state;
    StoreConfirmed *confirmed;
    StoreOutcome *outcomes;
    int count;
    Error error = {.code = ERROR_NONE};
    close_call(
        s, "oven-230", 1000,
        "{\"confirmed\":[\"thermostat.open\"],\"minutes\":\"45\",\"said\":{\"fault\":\"thermostat.open\","
        "\"probability\":\"0.75\"}}");
    close_call(s, "oven-230", 2000, "{\"confirmed\":[\"thermostat.open\"],\"visits\":\"2\"}");
    close_call(s, "oven-230", 3000,
               "{\"confirmed\":[\"cutout.open\",\"wiring.loose\"],\"said\":{\"fault\":\"thermostat.open\","
               "\"probability\":\"0.5\"}}");
    close_call(s, "range-208", 4000, "{\"confirmed\":[\"nothing-wrong\"]}");
    close_call(s, "range-208", 5000, "{}");
    assert_true(store_confirmed(s->store, &s->arena, &confirmed, &count, &error));
    assert_int_equal(count, 3);
    assert_string_equal(confirmed[0].confirmed, "cutout.open\nwiring.loose");
    assert_string_equal(confirmed[1].confirmed, "nothing-wrong");
    assert_string_equal(confirmed[1].appliance, "range-208");
    assert_string_equal(confirmed[2].confirmed, "thermostat.open");
    assert_int_equal(confirmed[2].calls, 2);
    assert_true(store_outcomes(s->store, &s->arena, &outcomes, &count, &error));
    assert_int_equal(count, 5);
    double minutes = 0;
    int visits = 0, came = 0, named = 0;
    for (int o = 0; o < count; o++) {
        minutes += outcomes[o].minute;
        visits += outcomes[o].visits;
        came += outcomes[o].came;
        named += outcomes[o].said >= 0;
    }
    assert_near(minutes, 45, 1e-9);
    assert_int_equal(visits, 6); /* unless said, it was one */
    assert_int_equal(came, 1);
    assert_int_equal(named, 2);
}

/* What came back is not known any more, until it is closed again. */
static void a_callback_takes_back_what_was_confirmed(void **state)
{
    Stores *s = *state;
    StoreConfirmed *confirmed;
    StoreOutcome *outcomes;
    int count;
    Error error = {.code = ERROR_NONE};
    TrailRecord made[4];
    made[0] = stores_record(&s->stream, NULL, TRAIL_OPENED, 1000, "{\"appliance\":\"oven-230\"}");
    made[1] = stores_record(&s->stream, made[0].call, TRAIL_CLOSED, 2000, "{\"confirmed\":[\"a.b\"]}");
    made[2] = stores_record(&s->stream, made[0].call, TRAIL_REOPENED, 3000, "{\"why\":\"again\"}");
    made[3] = stores_record(&s->stream, made[0].call, TRAIL_CLOSED, 4000, "{\"confirmed\":[\"c.d\"]}");
    append(s, made, 3, 3);
    assert_true(store_confirmed(s->store, &s->arena, &confirmed, &count, &error));
    assert_int_equal(count, 0);
    append(s, &made[3], 1, 1);
    assert_true(store_confirmed(s->store, &s->arena, &confirmed, &count, &error));
    assert_int_equal(count, 1);
    assert_string_equal(confirmed[0].confirmed, "c.d");
    assert_true(store_outcomes(s->store, &s->arena, &outcomes, &count, &error));
    assert_int_equal(count, 1);
    assert_int_equal(outcomes[0].closings, 2);
}

static bool count_each(void *context, const TrailRecord *records, int count, Error *error)
{
    (void)error;
    assert_true(count > 0 && records[0].id[0]);
    *(int *)context += count;
    return true;
}

static void every_record_is_handed_out(void **state)
{
    Stores *s = *state;
    int count = 0;
    Error error = {.code = ERROR_NONE};
    static TrailRecord made[1203]; /* more than two batches and no round number */
    for (int r = 0; r < 1203; r++)
        made[r] = stores_record(&s->stream, r % 9 ? made[r - r % 9].call : NULL,
                                r % 9 ? TRAIL_ENTRY : TRAIL_OPENED, 1000 + r, "{\"note\":\"x\"}");
    append(s, made, 1203, 1203);
    assert_true(store_each(s->store, count_each, &count, &error));
    assert_int_equal(count, 1203);
}

int main(void)
{
#define SQLITE(name) cmocka_unit_test_setup_teardown(name, begin_sqlite, end)
#define BOTH(name)                                                                                           \
    SQLITE(name), { #name "_in_postgresql", name, begin_postgresql, end, NULL }
    const struct CMUnitTest tests[] = {
        BOTH(what_was_added_is_read_in_order),
        BOTH(twice_is_once),
        BOTH(a_forged_record_takes_all_back),
        BOTH(what_may_not_stand_is_refused),
        SQLITE(identifiers_begin_with_their_moment),
        BOTH(calls_are_found_by_their_ends),
        BOTH(attachments_go_by_the_published_hash),
        BOTH(a_record_needs_what_it_names),
        BOTH(calls_are_found_by_what_holds_of_them),
        BOTH(words_are_only_words),
        SQLITE(only_stores_are_opened),
        BOTH(a_newer_store_is_refused),
        SQLITE(a_store_of_version_1_opens),
        SQLITE(a_store_of_version_2_opens),
        BOTH(damage_is_found),
        BOTH(what_is_missing_is_found),
        BOTH(a_backup_has_all_and_writes_over_nothing),
        BOTH(each_gets_what_the_other_has),
        BOTH(only_what_came_since_is_taken),
        SQLITE(a_copy_by_hand_loses_nothing),
        BOTH(a_restored_store_is_met_anew),
        BOTH(customers_stand_apart),
        BOTH(an_erased_customer_is_gone),
        BOTH(an_erasure_travels),
        BOTH(closed_calls_are_counted),
        BOTH(a_callback_takes_back_what_was_confirmed),
        BOTH(every_record_is_handed_out),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
