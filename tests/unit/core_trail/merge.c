/* merge.c: five devices write, strike and exchange in every order, and end with the same calls.
 *
 * Each history: records are made on devices that see only what has reached them; now and then one device
 * takes over what another has. In the end all are merged in an order of their own, some twice, and must agree
 * to the byte; and with a plain reference, a sorted list without doubles, kept on the side. That union is
 * idempotent, commutative and associative is what Shapiro et al. (INRIA RR-7506, section 3.3) ask of a
 * grow-only set. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/random.h"
#include "base/text.h"
#include "core/trail/trail.h"
#include "support/near.h"

enum { HISTORIES = 1000, DEVICES = 5, STEPS = 60, SEED = 70526, MIB = 1 << 20 };

typedef struct {
    TrailRecord all[STEPS]; /* in the order in which they were made */
    int all_count;
    TrailRecord held[DEVICES][STEPS];
    int held_count[DEVICES];
} History;

static const char *const devices[DEVICES] = {"shop", "van", "laptop", "phone", "tablet"};

static void name(RandomStream *stream, char id[TRAIL_ID_SIZE])
{
    const uint64_t a = random_bits(stream), b = random_bits(stream);
    snprintf(id, TRAIL_ID_SIZE, "%08x-%04x-7%03x-a%03x-%012llx", (unsigned)(a >> 32),
             (unsigned)(a >> 16 & 0xffff), (unsigned)(a & 0xfff), (unsigned)(b >> 48 & 0xfff),
             (unsigned long long)(b & 0xffffffffffff));
}

/* Clocks differ by up to a minute either way. */
static void make(History *history, int device, RandomStream *stream)
{
    static const TrailKind kinds[] = {TRAIL_ENTRY,  TRAIL_ENTRY,   TRAIL_ENTRY,  TRAIL_STRUCK,
                                      TRAIL_STRUCK, TRAIL_CHANGED, TRAIL_CLOSED, TRAIL_REOPENED};
    const int held = history->held_count[device];
    TrailRecord record = {.author = "Ada",
                          .device = devices[device],
                          .kind = held ? kinds[random_below(stream, 8)] : TRAIL_OPENED,
                          .subject = "",
                          .payload = "{}"};
    const int64_t clock =
        1000000 + 1000 * (int64_t)history->all_count + (int64_t)random_below(stream, 120000) - 60000;
    record.made_millisecond = trail_time_after(history->held[device], held, clock);
    name(stream, record.id);
    memcpy(record.call, "01890a5d-ac96-774b-bcce-b302099a8057", TRAIL_ID_SIZE);
    if (record.kind == TRAIL_STRUCK)
        memcpy(record.strikes, history->held[device][random_below(stream, (uint32_t)held)].id, TRAIL_ID_SIZE);
    if (record.kind == TRAIL_ENTRY) record.subject = "reading";
    if (record.kind == TRAIL_CHANGED) record.subject = "title";
    Error error = {0};
    assert_true(trail_check(&record, &error));
    history->all[history->all_count++] = record;
    history->held[device][history->held_count[device]++] = record;
}

/* `to` takes over what `from` has. */
static void exchange(History *history, int from, int to)
{
    Arena arena = arena_new(4 * MIB);
    Trail trail;
    Error error = {0};
    static TrailRecord both[STEPS];
    assert_true(trail_merge(history->held[to], history->held_count[to], history->held[from],
                            history->held_count[from], &arena, &trail, &error));
    for (int r = 0; r < trail.count; r++) both[r] = *trail.records[r];
    memcpy(history->held[to], both, sizeof both);
    history->held_count[to] = trail.count;
    arena_free(&arena);
}

static int by_order(const void *a, const void *b) { return trail_compare(a, b); }

/* Everything into one device, in an order of its own. */
static void gather(History *history, int device, RandomStream *stream)
{
    int order[DEVICES];
    for (int d = 0; d < DEVICES; d++) {
        const int at = (int)random_below(stream, (uint32_t)d + 1);
        order[d] = order[at];
        order[at] = d;
    }
    for (int d = 0; d < DEVICES; d++) {
        exchange(history, order[d], device);
        if (random_below(stream, 3) == 0) exchange(history, order[d], device); /* once more changes nothing */
    }
}

static void hold_same_state(const TrailRecord *a, const TrailRecord *b, int count)
{
    Arena arena = arena_new(4 * MIB);
    Trail one, other;
    TrailState first, second;
    Error error = {0};
    assert_true(trail_merge(a, count, NULL, 0, &arena, &one, &error));
    assert_true(trail_merge(b, count, a, count, &arena, &other, &error));
    assert_int_equal(other.count, count);
    assert_true(trail_replay(&one, count, &arena, &first, &error));
    assert_true(trail_replay(&other, count, &arena, &second, &error));
    assert_memory_equal(first.is_struck, second.is_struck, (size_t)count * sizeof(bool));
    assert_int_equal(first.phase, second.phase);
    assert_int_equal(first.reopened_count, second.reopened_count);
    assert_int_equal(first.conflict_count, second.conflict_count);
    for (int c = 0; c < first.conflict_count; c++)
        assert_true(first.conflicts[c].kind == second.conflicts[c].kind &&
                    first.conflicts[c].first == second.conflicts[c].first &&
                    first.conflicts[c].second == second.conflicts[c].second);
    arena_free(&arena);
}

static void every_order_ends_in_the_same_calls(void **state)
{
    (void)state;
    static History history;
    int records = 0;
    print_message("seed %d, %d histories of %d devices\n", SEED, HISTORIES, DEVICES);
    for (int h = 0; h < HISTORIES; h++) {
        RandomStream stream = random_stream(SEED + (uint64_t)h);
        memset(&history, 0, sizeof history);
        make(&history, 0, &stream);
        while (history.all_count < STEPS / 2) {
            const int device = (int)random_below(&stream, DEVICES);
            if (random_below(&stream, 3))
                make(&history, device, &stream);
            else
                exchange(&history, (int)random_below(&stream, DEVICES), device);
        }
        for (int d = 0; d < DEVICES; d++) gather(&history, d, &stream);
        qsort(history.all, (size_t)history.all_count, sizeof *history.all, by_order);
        for (int d = 0; d < DEVICES; d++) {
            assert_int_equal(history.held_count[d], history.all_count); /* nothing lost */
            for (int r = 0; r < history.all_count; r++)
                assert_memory_equal(&history.held[d][r], &history.all[r], sizeof *history.all);
            hold_same_state(history.all, history.held[d], history.all_count);
        }
        records += history.all_count;
    }
    print_message("%d records, the same on all devices\n", records);
}

/* What is struck stays struck wherever it is seen: on the maker's device the strike came later. */
static void a_strike_follows_what_it_strikes(void **state)
{
    (void)state;
    static History history;
    for (int h = 0; h < HISTORIES / 10; h++) {
        RandomStream stream = random_stream(SEED + 5000 + (uint64_t)h);
        memset(&history, 0, sizeof history);
        make(&history, 0, &stream);
        for (int d = 1; d < DEVICES; d++) exchange(&history, 0, d);
        while (history.all_count < STEPS / 2) {
            make(&history, (int)random_below(&stream, DEVICES), &stream);
            exchange(&history, (int)random_below(&stream, DEVICES), (int)random_below(&stream, DEVICES));
        }
        Arena arena = arena_new(4 * MIB);
        Trail trail;
        TrailState after;
        Error error = {0};
        assert_true(trail_merge(history.all, history.all_count, NULL, 0, &arena, &trail, &error));
        assert_true(trail_replay(&trail, trail.count, &arena, &after, &error));
        for (int c = 0; c < after.conflict_count; c++)
            assert_int_not_equal(after.conflicts[c].kind, TRAIL_NOTHING_THERE);
        arena_free(&arena);
    }
}

/* The same identifier with another content is refused, whichever comes first; nothing is chosen silently. */
static void a_forged_record_is_refused(void **state)
{
    (void)state;
    static History history;
    RandomStream stream = random_stream(SEED);
    memset(&history, 0, sizeof history);
    for (int r = 0; r < 3; r++) make(&history, 0, &stream);
    TrailRecord forged = history.all[1];
    Arena arena = arena_new(MIB);
    Trail trail;
    Error error = {0};
    forged.payload = "{\"reading\": \"19 ohm\"}";
    assert_false(trail_merge(history.all, 3, &forged, 1, &arena, &trail, &error));
    assert_int_equal(error.code, ERROR_INCONSISTENT);
    assert_string_equal(error.found, forged.id);
    assert_false(trail_merge(&forged, 1, history.all, 3, &arena, &trail, &error));
    forged.payload = history.all[1].payload;
    assert_true(trail_merge(history.all, 3, &forged, 1, &arena, &trail, &error));
    assert_int_equal(trail.count, 3);
    assert_true(trail_merge(NULL, 0, NULL, 0, &arena, &trail, &error));
    assert_int_equal(trail.count, 0);
    arena_free(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_order_ends_in_the_same_calls),
        cmocka_unit_test(a_strike_follows_what_it_strikes),
        cmocka_unit_test(a_forged_record_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
