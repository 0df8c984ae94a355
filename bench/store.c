/* store.c: what it takes to open, list and add calls in a store of many.
 *
 * `bench.store [CALLS [FOLDER]]`: makes CALLS calls (20,000; ./dev bench --large: a million) of ten records
 * each in a store in FOLDER, through the program's own calls, and then takes medians. The reference is the
 * library below it: one row, added to a table of its own in the same folder with the same durability. Seeded.
 */
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "base/random.h"
#include "edge/store/store.h"

enum { SEED = 77291, RECORDS = 10, BATCH_CALLS = 500, ROUNDS = 101, MINUTE = 60000 };

static const int64_t START = INT64_C(1577836800000); /* 2020-01-01 */

static double now_second(void)
{
    struct timespec time;
    clock_gettime(CLOCK_MONOTONIC, &time);
    return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

static _Noreturn void stop(const Error *error)
{
    fprintf(stderr, "%s; %s\n", error->found, error->expected);
    exit(1);
}

/* ---- calls made up */

static const char *const appliances[] = {"range-thermostat", "range-relay-control",  "range-hidden-bake",
                                         "range-208",        "wall-oven-convection", "oven-230"};
static const char *const parts[] = {"bake-element", "broil-element", "oven-sensor", "thermostat",
                                    "control",      "selector",      "breaker",     "terminal-block"};
static const char *const words[] = {"pale",  "slow", "cold",    "burnt",  "uneven",   "trips", "smells",
                                    "never", "warm", "kitchen", "tenant", "upstairs", "again", "holiday"};
static const char *const names[] = {"Ada", "Bo", "Cleo", "Dag", "Edda", "Finn", "Gro", "Hal", "Isa", "Jon"};

#define PICK(stream, list) ((list)[random_below(stream, sizeof(list) / sizeof *(list))])

typedef struct {
    RandomStream stream;
    char payloads[BATCH_CALLS * RECORDS][200];
    TrailRecord records[BATCH_CALLS * RECORDS];
} Maker;

static void write_payload(RandomStream *stream, int number, bool is_closed, char *out, size_t size)
{
    const char *part = PICK(stream, parts);
    if (number == 0)
        snprintf(out, size,
                 "{\"call\":\"%s and %s, %d\",\"appliance\":\"%s\",\"plate\":{\"supply\":\"240V\"}}",
                 PICK(stream, words), PICK(stream, words), (int)random_below(stream, 100000),
                 PICK(stream, appliances));
    else if (number == 1)
        snprintf(out, size, "{\"complaint\":[\"too-cool\",\"slow\"]}");
    else if (number == RECORDS - 2)
        snprintf(out, size, "{\"repair\":\"%s\",\"did\":\"replaced\"}", part);
    else if (number == RECORDS - 1 && is_closed)
        snprintf(out, size,
                 "{\"confirmed\":[\"%s.open\"],\"minutes\":\"%d\",\"said\":{\"fault\":\"%s.open\","
                 "\"probability\":\"0.7\"}}",
                 part, 30 + (int)random_below(stream, 90), PICK(stream, parts));
    else
        snprintf(
            out, size,
            "{\"reading\":\"%.1fohm\",\"between\":[\"BK1\",\"BK2\"],\"lift\":[\"BK1\"],\"power\":\"off\"}",
            20 + 0.1 * (double)random_below(stream, 100));
}

/* One call every ten minutes; one in twenty stays open. */
static void make_call(Maker *maker, int64_t number, int slot)
{
    char call[TRAIL_ID_SIZE];
    const int64_t opened = START + number * 10 * MINUTE;
    const char *author = PICK(&maker->stream, names);
    const bool is_closed = random_below(&maker->stream, 20) > 0;
    store_new_id(opened, call);
    for (int r = 0; r < RECORDS; r++) {
        TrailRecord *record = &maker->records[slot * RECORDS + r];
        char *payload = maker->payloads[slot * RECORDS + r];
        write_payload(&maker->stream, r, is_closed, payload, sizeof maker->payloads[0]);
        const TrailKind last = is_closed ? TRAIL_CLOSED : TRAIL_ENTRY;
        const TrailKind kind = r == 0 ? TRAIL_OPENED : r == RECORDS - 1 ? last : TRAIL_ENTRY;
        *record =
            (TrailRecord){.made_millisecond = opened + r * MINUTE,
                          .author = author,
                          .device = "van",
                          .kind = kind,
                          .subject = kind == TRAIL_ENTRY ? (r == RECORDS - 2 ? "repair" : "reading") : "",
                          .payload = payload};
        store_new_id(record->made_millisecond, record->id);
        memcpy(record->call, call, sizeof call);
    }
}

static void fill(Store *store, Maker *maker, int64_t calls)
{
    const double from = now_second();
    Error error = {0};
    for (int64_t call = 0; call < calls; call += BATCH_CALLS) {
        int added;
        for (int slot = 0; slot < BATCH_CALLS; slot++) make_call(maker, call + slot, slot);
        if (!store_append(store, maker->records, BATCH_CALLS * RECORDS, &added, &error)) stop(&error);
        if (call % 50000 == 0 && call > 0) {
            printf("    %7lld calls, %.0f s\n", (long long)call, now_second() - from);
            fflush(stdout);
        }
    }
    printf("%lld calls, %lld records, made in %.0f s\n", (long long)calls, (long long)calls * RECORDS,
           now_second() - from);
}

/* ---- medians */

static int by_size(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static double median(double *seconds)
{
    qsort(seconds, ROUNDS, sizeof *seconds, by_size);
    return 1e3 * seconds[ROUNDS / 2];
}

static void say(const char *what, double millisecond, double goal)
{
    printf("  %-58s %8.2f ms   %s %.0f ms\n", what, millisecond, millisecond <= goal ? "goal" : "OVER", goal);
}

/* Found by the end of its identifier and read whole, in a store that was opened for it. */
static double open_one(const char *path, const char (*calls)[TRAIL_ID_SIZE])
{
    double seconds[ROUNDS];
    for (int round = 0; round < ROUNDS; round++) {
        Arena arena = arena_new((size_t)64 << 20);
        Store *store;
        TrailRecord *records;
        char call[TRAIL_ID_SIZE];
        int count;
        Error error = {0};
        const double from = now_second();
        if (!store_open(path, false, &store, &error) || !store_find(store, calls[round] + 26, call, &error) ||
            !store_read_call(store, call, &arena, &records, &count, &error) || count < RECORDS)
            stop(&error);
        store_close(store);
        seconds[round] = now_second() - from;
        arena_free(&arena);
    }
    return median(seconds);
}

static double list_some(Store *store, const StoreFilter *filter, int *found)
{
    double seconds[ROUNDS];
    for (int round = 0; round < ROUNDS; round++) {
        Arena arena = arena_new((size_t)64 << 20);
        StoreSummary *summaries;
        Error error = {0};
        const double from = now_second();
        if (!store_list(store, filter, &arena, &summaries, found, &error)) stop(&error);
        seconds[round] = now_second() - from;
        arena_free(&arena);
    }
    return median(seconds);
}

static double add_one(Store *store, const char (*calls)[TRAIL_ID_SIZE])
{
    double seconds[ROUNDS];
    for (int round = 0; round < ROUNDS; round++) {
        int added;
        Error error = {0};
        TrailRecord record = {.made_millisecond = START + (int64_t)round,
                              .author = "Ada",
                              .device = "van",
                              .kind = TRAIL_ENTRY,
                              .subject = "note",
                              .payload = "{\"note\":\"gate code on the door\"}"};
        store_new_id(record.made_millisecond, record.id);
        memcpy(record.call, calls[round], sizeof record.call);
        const double from = now_second();
        if (!store_append(store, &record, 1, &added, &error) || added != 1) stop(&error);
        seconds[round] = now_second() - from;
    }
    return median(seconds);
}

/* The same row as a statement of the library's own, committed with the same durability. */
static double add_plain(const char *folder)
{
    double seconds[ROUNDS];
    char path[300];
    sqlite3 *database;
    snprintf(path, sizeof path, "%s/plain.db", folder);
    if (sqlite3_open(path, &database) != SQLITE_OK) exit(1);
    sqlite3_exec(database, "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL; CREATE TABLE t (a TEXT)",
                 NULL, NULL, NULL);
    for (int round = 0; round < ROUNDS; round++) {
        const double from = now_second();
        if (sqlite3_exec(database, "INSERT INTO t VALUES ('{\"note\":\"gate code on the door\"}')", NULL,
                         NULL, NULL) != SQLITE_OK)
            exit(1);
        seconds[round] = now_second() - from;
    }
    sqlite3_close(database);
    return median(seconds);
}

static void draw_calls(Store *store, Maker *maker, char (*calls)[TRAIL_ID_SIZE], int64_t made)
{
    Arena arena = arena_new((size_t)256 << 20);
    Error error = {0};
    for (int round = 0; round < ROUNDS; round++) {
        StoreSummary *summaries;
        int count;
        const int64_t at = START + (int64_t)random_below(&maker->stream, (uint64_t)made) * 10 * MINUTE;
        const StoreFilter filter = {.before_millisecond = at + 30 * MINUTE, .most = 1};
        if (!store_list(store, &filter, &arena, &summaries, &count, &error) || count != 1) stop(&error);
        memcpy(calls[round], summaries[0].call, TRAIL_ID_SIZE);
    }
    arena_free(&arena);
}

static void measure_lists(Store *store)
{
    static const struct {
        const char *what;
        StoreFilter filter;
    } lists[] = {
        {"list: all, the latest", {.most = 0}},
        {"list: what is open", {.is_open = true}},
        {"list: one appliance", {.appliance = "oven-230"}},
        {"list: a part and a technician", {.part = "thermostat", .technician = "Edda"}},
        {"list: a fault, on one appliance, open", {.fault = "selector.open", .appliance = "range-208"}},
        {"list: three words", {.words = "pale upstairs range-208"}},
        {"list: a rare word", {.words = "4711"}},
        {"list: a month",
         {.from_millisecond = START + INT64_C(2678400000),
          .before_millisecond = START + INT64_C(5184000000)}},
        {"list: a word that nobody wrote", {.words = "zeppelin"}}};
    char label[100];
    for (size_t l = 0; l < sizeof lists / sizeof *lists; l++) {
        int found = 0;
        const double millisecond = list_some(store, &lists[l].filter, &found);
        snprintf(label, sizeof label, "%s (%d shown)", lists[l].what, found);
        say(label, millisecond, 100);
    }
}

static void measure_history(Store *store)
{
    Arena arena = arena_new((size_t)512 << 20);
    StoreConfirmed *confirmed;
    int count;
    Error error = {0};
    const double from = now_second();
    if (!store_confirmed(store, &arena, &confirmed, &count, &error)) stop(&error);
    say("what closed calls teach, counted", 1e3 * (now_second() - from), 1000);
    arena_free(&arena);
}

int main(int argc, char **argv)
{
    const int64_t calls = argc > 1 ? strtoll(argv[1], NULL, 10) : 20000;
    char folder[200], path[300], drawn[ROUNDS][TRAIL_ID_SIZE], command[600];
    Maker *maker = calloc(1, sizeof *maker);
    Store *store;
    Error error = {0};
    snprintf(folder, sizeof folder, "%s/ovenwright-bench-XXXXXX", argc > 2 ? argv[2] : "/var/tmp");
    if (!maker || calls < BATCH_CALLS || !mkdtemp(folder)) return 1;
    snprintf(path, sizeof path, "%s/calls.db", folder);
    maker->stream = random_stream(SEED);
    printf("seed %d\n", SEED);
    if (!store_open(path, true, &store, &error)) stop(&error);
    fill(store, maker, calls);
    draw_calls(store, maker, drawn, calls);
    say("open the store, find a call, read it", open_one(path, drawn), 10);
    measure_lists(store);
    const double ours = add_one(store, drawn), plain = add_plain(folder);
    say("add an entry, on the disk when it returns", ours, 10);
    printf("  %-58s %8.2f times a plain row of the library's\n", "", ours / plain);
    measure_history(store);
    store_close(store);
    free(maker);
    snprintf(command, sizeof command,
             "ls -l %s/calls.db | awk '{ printf \"the file has %%.2f GB\\n\", $5 / 1e9 }'; rm -rf %s", folder,
             folder);
    return system(command) == 0 ? 0 : 1;
}
