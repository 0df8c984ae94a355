/* crash.c: what was acknowledged is there, and nothing half, whatever happens to the writer or its disk.
 *
 * A writer adds batches of records and says so through a pipe once the store has acknowledged them. It is
 * killed at a random moment after a random one of them, or its disk fails, fills up, or may not be written,
 * or the wire to the server is cut. Then the store is opened again: every batch that was said to be there is
 * there, every batch is whole or absent, and the store finds nothing wrong with itself. */
#include <errno.h>
#include <signal.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>

#include "support/cut_wire.h"
#include "support/failing_disk.h"
#include "support/stores.h"

enum { SEED = 52603, BATCH = 3, MOST_BATCHES = 4000, MOST_AWAITED = 16 };

static int kills = 30; /* `crash N` kills N writers */

/* A call of its own for each batch, whose identifier tells its number. */
static void name_call(int run, int batch, char call[TRAIL_ID_SIZE])
{
    snprintf(call, TRAIL_ID_SIZE, "%08x-%04x-7000-a000-000000000000", (unsigned)run, (unsigned)batch);
}

static bool add_batch(Store *store, RandomStream *stream, int run, int batch, Error *error)
{
    TrailRecord records[BATCH];
    char call[TRAIL_ID_SIZE], payload[200];
    int added;
    name_call(run, batch, call);
    snprintf(payload, sizeof payload,
             "{\"note\":\"batch %d of run %d, and some words more than a page has room for\"}", batch, run);
    for (int r = 0; r < BATCH; r++)
        records[r] =
            stores_record(stream, call, r ? TRAIL_ENTRY : TRAIL_OPENED, 1000 * (batch + 1) + r, payload);
    return store_append(store, records, BATCH, &added, error) && added == BATCH;
}

/* How many batches of the run are there; a half one fails the test. */
static int count_batches(Store *store, int run, int acknowledged)
{
    int there = 0;
    for (int batch = 0; batch < MOST_BATCHES; batch++) {
        Arena arena = arena_new((size_t)8 << 20);
        TrailRecord *records;
        char call[TRAIL_ID_SIZE];
        int count = -1;
        Error error = {.code = ERROR_NONE};
        name_call(run, batch, call);
        assert_true(store_read_call(store, call, &arena, &records, &count, &error));
        arena_free(&arena);
        assert_true(count == 0 || count == BATCH);
        if (batch < acknowledged) assert_int_equal(count, BATCH);
        there += count == BATCH;
        if (batch > acknowledged && count == 0) break; /* one may have been in flight */
    }
    return there;
}

/* ---- killed */

static _Noreturn void write_until_killed(const char *path, int run, int out)
{
    Store *store;
    Error error = {.code = ERROR_NONE};
    RandomStream stream = random_stream(SEED + 7919 * (uint64_t)run);
    if (!store_open(path, false, &store, &error)) _exit(3);
    for (int batch = 0; batch < MOST_BATCHES; batch++) {
        if (!add_batch(store, &stream, run, batch, &error)) _exit(4);
        if (write(out, "x", 1) != 1) _exit(5);
    }
    _exit(0);
}

/* A number of batches is awaited, and not a time, so that a slow machine is killed at its work too; one
 * writer in so many is killed while it may still be opening the store. */
static int kill_one(const char *path, int run, RandomStream *stream, int most_microsecond)
{
    const int awaited = (int)random_below(stream, MOST_AWAITED);
    const long microsecond = (long)random_below(stream, (uint64_t)most_microsecond);
    const struct timespec moment = {.tv_nsec = 1000 * (awaited ? microsecond / MOST_AWAITED : microsecond)};
    int ends[2], acknowledged = 0, status;
    char byte;
    assert_int_equal(pipe(ends), 0);
    const pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) write_until_killed(path, run, ends[1]);
    close(ends[1]);
    while (acknowledged < awaited && read(ends[0], &byte, 1) == 1) acknowledged++;
    nanosleep(&moment, NULL);
    kill(child, SIGKILL);
    while (read(ends[0], &byte, 1) == 1) acknowledged++;
    close(ends[0]);
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFSIGNALED(status) && WTERMSIG(status) == SIGKILL); /* it did not end by itself */
    return acknowledged;
}

static void kill_writers(StoresEngine engine, int most_microsecond)
{
    static Stores s;
    int acknowledged = 0, there = 0;
    stores_begin(&s, engine, SEED);
    store_close(s.store);
    s.store = NULL;
    for (int run = 0; run < kills; run++) {
        const int said = kill_one(s.path, run, &s.stream, most_microsecond);
        Error error = {.code = ERROR_NONE};
        assert_true(store_open(s.path, false, &s.store, &error));
        acknowledged += said;
        there += count_batches(s.store, run, said);
        if (run % 25 == 0 || run == kills - 1) assert_int_equal(stores_check(s.store), 0);
        store_close(s.store);
        s.store = NULL;
    }
    print_message("seed %d: %d writers killed, %d batches acknowledged, %d there\n", SEED, kills,
                  acknowledged, there);
    assert_true(acknowledged > kills && there >= acknowledged && there <= acknowledged + kills);
    stores_end(&s);
}

static void what_was_acknowledged_survives_a_kill(void **state)
{
    (void)state;
    kill_writers(STORES_SQLITE, 60000);
}

/* To connect takes a while. */
static void what_a_server_acknowledged_survives_a_kill(void **state)
{
    (void)state;
    kill_writers(STORES_POSTGRESQL, 120000);
}

/* Two at once: each waits for the other, and nothing is lost. */
static void write_with_two(StoresEngine engine)
{
    static Stores s;
    pid_t children[2];
    stores_begin(&s, engine, SEED);
    store_close(s.store);
    s.store = NULL;
    for (int c = 0; c < 2; c++) {
        children[c] = fork();
        if (children[c] != 0) continue;
        Store *store;
        Error error = {.code = ERROR_NONE};
        RandomStream stream = random_stream(SEED + (uint64_t)c);
        bool went_well = store_open(s.path, false, &store, &error);
        for (int batch = 0; batch < 40 && went_well; batch++)
            went_well = add_batch(store, &stream, c, batch, &error);
        _exit(went_well ? 0 : 1);
    }
    for (int c = 0; c < 2; c++) {
        int status;
        assert_int_equal(waitpid(children[c], &status, 0), children[c]);
        assert_true(WIFEXITED(status) && WEXITSTATUS(status) == 0);
    }
    Error error = {.code = ERROR_NONE};
    assert_true(store_open(s.path, false, &s.store, &error));
    for (int c = 0; c < 2; c++) assert_int_equal(count_batches(s.store, c, 40), 40);
    assert_int_equal(stores_check(s.store), 0);
    stores_end(&s);
}

static void two_writers_lose_nothing(void **state)
{
    (void)state;
    write_with_two(STORES_SQLITE);
}

static void two_writers_on_a_server_lose_nothing(void **state)
{
    (void)state;
    write_with_two(STORES_POSTGRESQL);
}

/* ---- a wire that is cut */

/* The same store goes on by itself once the wire is whole again; doing it again settles what nobody knew. */
static bool cut_one(Stores *s, int run, CutMoment moment, int bytes, bool *was_kept)
{
    char through[400];
    Store *store;
    Error error = {.code = ERROR_NONE};
    RandomStream stream = random_stream(SEED + (uint64_t)run), again;
    bool was_cut = false;
    CutWire wire = cut_wire_begin(s->path, moment, bytes, through, sizeof through);
    if (store_open(through, false, &store, &error)) {
        again = stream;
        cut_wire_arm(&wire);
        was_cut = !add_batch(store, &stream, run, 0, &error);
        if (was_cut) {
            assert_int_equal(error.code, ERROR_IO);
            assert_true(error.hint[0] && error.file[0]);
            *was_kept = count_batches(s->store, run, 0) == 1; /* whole or absent, seen past the wire */
            error = (Error){.code = ERROR_NONE};
            const bool is_added = add_batch(store, &again, run, 0, &error);
            if (!is_added && error.code != ERROR_NONE) fail_msg("%s %s", error.found, error.expected);
        }
        store_close(store);
    }
    cut_wire_end(&wire);
    assert_int_equal(count_batches(s->store, run, 1), 1);
    return was_cut;
}

static void a_cut_commit_is_whole_or_absent(void **state)
{
    static Stores s;
    bool was_kept = false;
    int kept = 0, cuts = 0;
    (void)state;
    stores_begin(&s, STORES_POSTGRESQL, SEED);
    for (int run = 0; run < 5; run++) {
        assert_true(cut_one(&s, 2 * run, CUT_BEFORE_COMMIT, 0, &was_kept));
        assert_false(was_kept);
        assert_true(cut_one(&s, 2 * run + 1, CUT_AFTER_COMMIT, 0, &was_kept));
        assert_true(was_kept); /* the server kept it, and nobody was told */
    }
    for (int run = 10; run < 60; run++) {
        was_kept = false;
        cuts += cut_one(&s, run, CUT_ANYWHERE, (int)random_below(&s.stream, 16000), &was_kept);
        kept += was_kept;
    }
    print_message("seed %d: cut at %d random bytes, %d of them kept\n", SEED, cuts, kept);
    assert_true(cuts > 10);
    assert_int_equal(stores_check(s.store), 0);
    stores_end(&s);
}

/* ---- a disk that fails */

/* Opens, adds, and closes on a disk that fails at that call; how many batches were acknowledged. */
static int write_on_failing_disk(const char *path, int run, int at, bool *has_failed)
{
    Store *store = NULL;
    Error error = {.code = ERROR_NONE};
    RandomStream stream = random_stream(SEED + (uint64_t)at);
    int acknowledged = 0;
    failing_disk_set(at);
    if (store_open(path, false, &store, &error)) {
        while (acknowledged < 3 && add_batch(store, &stream, run, acknowledged, &error)) acknowledged++;
        *has_failed = acknowledged < 3;
        store_close(store);
    } else {
        *has_failed = true;
    }
    if (*has_failed) {
        assert_int_equal(error.code, ERROR_IO);
        assert_true(error.found[0] && error.file[0]);
    }
    const bool was_reached = failing_disk_calls() >= at;
    failing_disk_set(0);
    *has_failed = was_reached;
    return acknowledged;
}

static void an_error_of_the_disk_loses_nothing(void **state)
{
    static Stores s;
    bool has_failed = true;
    int run = 0;
    (void)state;
    stores_begin(&s, STORES_SQLITE, SEED);
    store_close(s.store);
    for (int at = 1; has_failed; at++, run++) {
        const int said = write_on_failing_disk(s.path, run, at, &has_failed);
        Error error = {.code = ERROR_NONE};
        if (!store_open(s.path, false, &s.store, &error)) fail_msg("after call %d: %s", at, error.found);
        assert_true(count_batches(s.store, run, said) >= said);
        assert_int_equal(stores_check(s.store), 0);
        store_close(s.store);
        assert_true(run < 2000);
    }
    s.store = NULL;
    print_message("the disk failed at each of %d calls\n", run - 1);
    assert_true(run > 20);
    stores_end(&s);
}

/* ---- a disk that is full, a file that may not be written */

/* No file may grow beyond this: what a quota does. */
static void a_full_disk_loses_nothing(void **state)
{
    static Stores s;
    struct rlimit limit, before;
    int acknowledged = 0;
    Error error = {.code = ERROR_NONE};
    (void)state;
    stores_begin(&s, STORES_SQLITE, SEED);
    signal(SIGXFSZ, SIG_IGN);
    assert_int_equal(getrlimit(RLIMIT_FSIZE, &before), 0);
    limit = before;
    limit.rlim_cur = 400000;
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &limit), 0);
    while (acknowledged < MOST_BATCHES && add_batch(s.store, &s.stream, 1, acknowledged, &error))
        acknowledged++;
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &before), 0);
    print_message("full after %d batches: %s\n", acknowledged, error.found);
    assert_true(acknowledged > 0 && acknowledged < MOST_BATCHES);
    assert_int_equal(error.code, ERROR_IO);
    assert_int_equal(count_batches(s.store, 1, acknowledged), acknowledged); /* readable while it is full */
    assert_true(add_batch(s.store, &s.stream, 2, 0, &error)); /* and goes on when there is room */
    assert_int_equal(stores_check(s.store), 0);
    stores_end(&s);
}

/* As somebody who may read the file and not write it; root may do everything, so root becomes nobody. */
static void a_file_that_may_not_be_written_is_left_alone(void **state)
{
    static Stores s;
    int status;
    Error error = {.code = ERROR_NONE};
    (void)state;
    stores_begin(&s, STORES_SQLITE, SEED);
    assert_true(add_batch(s.store, &s.stream, 1, 0, &error));
    store_close(s.store);
    assert_int_equal(chmod(s.path, 0444), 0);
    assert_int_equal(chmod(s.folder, 0555), 0);
    const pid_t child = fork();
    if (child == 0) {
        Store *store = NULL;
        if (getuid() == 0 && setuid(65534) != 0) _exit(9);
        if (!store_open(s.path, false, &store, &error))
            _exit(error.code == ERROR_IO && error.hint[0] ? 0 : 2);
        _exit(!add_batch(store, &s.stream, 1, 1, &error) && error.code == ERROR_IO && error.hint[0] ? 0 : 3);
    }
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFEXITED(status));
    assert_int_equal(WEXITSTATUS(status), 0);
    assert_int_equal(chmod(s.folder, 0755), 0);
    assert_int_equal(chmod(s.path, 0644), 0);
    assert_true(store_open(s.path, false, &s.store, &error));
    assert_int_equal(count_batches(s.store, 1, 1), 1);
    stores_end(&s);
}

int main(int argc, char **argv)
{
    if (argc > 1) kills = (int)strtol(argv[1], NULL, 10);
    failing_disk_install();
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_was_acknowledged_survives_a_kill),
        cmocka_unit_test(what_a_server_acknowledged_survives_a_kill),
        cmocka_unit_test(two_writers_lose_nothing),
        cmocka_unit_test(two_writers_on_a_server_lose_nothing),
        cmocka_unit_test(a_cut_commit_is_whole_or_absent),
        cmocka_unit_test(an_error_of_the_disk_loses_nothing),
        cmocka_unit_test(a_full_disk_loses_nothing),
        cmocka_unit_test(a_file_that_may_not_be_written_is_left_alone),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
