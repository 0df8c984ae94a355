/* state.c: what single records must look like, what strikes do, when a call is open, what contradicts what.
 */
#include <string.h>

#include "base/text.h"
#include "core/trail/trail.h"
#include "support/near.h"

enum { MOST = 16 };

typedef struct {
    TrailRecord records[MOST];
    int count;
    Arena arena;
    Trail trail;
    TrailState state;
} Case;

static int begin(void **state)
{
    static Case one;
    one = (Case){.arena = arena_new(1 << 20)};
    *state = &one;
    return 0;
}

static int end(void **state)
{
    arena_free(&((Case *)*state)->arena);
    return 0;
}

/* Identifiers in the order in which they are handed out: an ending that counts up. */
static void name(int number, char id[TRAIL_ID_SIZE])
{
    memcpy(id, "01890a5d-ac96-774b-bcce-b302099a8000", TRAIL_ID_SIZE);
    id[34] = (char)('0' + number / 10 % 10);
    id[35] = (char)('0' + number % 10);
}

/* One record a second; `strikes` is the number of another record, or -1. */
static TrailRecord *add(Case *one, TrailKind kind, const char *subject, int strikes, const char *device)
{
    TrailRecord *record = &one->records[one->count];
    *record = (TrailRecord){.made_millisecond = 1000 * (one->count + 1),
                            .author = "Ada",
                            .device = device,
                            .kind = kind,
                            .subject = subject,
                            .payload = "{}"};
    name(one->count++, record->id);
    name(99, record->call);
    if (strikes >= 0) name(strikes, record->strikes);
    return record;
}

static void replay(Case *one, int count)
{
    Error error = {0};
    assert_true(trail_merge(one->records, one->count, NULL, 0, &one->arena, &one->trail, &error));
    assert_true(trail_replay(&one->trail, count < 0 ? one->count : count, &one->arena, &one->state, &error));
}

/* ---- one record */

/* The example of a version 7 identifier in RFC 9562, appendix A.6. */
static void a_published_identifier_stands(void **state)
{
    Case *one = *state;
    Error error = {0};
    TrailRecord *record = add(one, TRAIL_ENTRY, "look", -1, "van");
    memcpy(record->id, "017f22e2-79b0-7cc3-98c4-dc0c0c07398f", TRAIL_ID_SIZE);
    assert_true(trail_check(record, &error));
    record->id[0] = 'G';
    assert_false(trail_check(record, &error));
    assert_string_equal(error.found, "identifier of a record");
}

static void each_kind_has_what_it_needs(void **state)
{
    static const struct {
        TrailKind kind;
        const char *subject;
        int strikes;
        bool is_right;
    } cases[] = {{TRAIL_OPENED, "", -1, true},       {TRAIL_OPENED, "title", -1, false},
                 {TRAIL_CHANGED, "title", -1, true}, {TRAIL_CHANGED, "title", 7, true},
                 {TRAIL_CHANGED, "", -1, false},     {TRAIL_ENTRY, "reading", -1, true},
                 {TRAIL_ENTRY, "", -1, false},       {TRAIL_ENTRY, "reading", 7, false},
                 {TRAIL_STRUCK, "", 7, true},        {TRAIL_STRUCK, "", -1, false},
                 {TRAIL_STRUCK, "note", 7, false},   {TRAIL_CLOSED, "", -1, true},
                 {TRAIL_CLOSED, "", 7, false},       {TRAIL_REOPENED, "", -1, true}};
    Case *one = *state;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        Error error = {0};
        one->count = 0;
        const TrailRecord *record = add(one, cases[i].kind, cases[i].subject, cases[i].strikes, "van");
        assert_int_equal(trail_check(record, &error), cases[i].is_right);
        assert_int_equal(error.code == ERROR_NONE, cases[i].is_right);
    }
}

static void what_is_malformed_is_named(void **state)
{
    Case *one = *state;
    Error error = {0};
    TrailRecord record = *add(one, TRAIL_ENTRY, "run", -1, "van");
    TrailRecord wrong = record;
    wrong.author = "";
    assert_false(trail_check(&wrong, &error));
    assert_string_equal(error.found, "author of a record");
    wrong = record;
    wrong.device = NULL;
    assert_false(trail_check(&wrong, &error));
    wrong = record;
    wrong.made_millisecond = -1;
    assert_false(trail_check(&wrong, &error));
    wrong = record;
    memset(wrong.attachment, 'a', TRAIL_HASH_SIZE - 1);
    assert_true(trail_check(&wrong, &error));
    wrong.attachment[5] = 'A';
    assert_false(trail_check(&wrong, &error));
    wrong = record;
    wrong.kind = TRAIL_STRUCK;
    wrong.subject = "";
    memcpy(wrong.strikes, wrong.id, TRAIL_ID_SIZE);
    assert_false(trail_check(&wrong, &error)); /* itself */
    wrong = record;
    static char name[TRAIL_MOST_NAME + 2];
    memset(name, 'x', TRAIL_MOST_NAME);
    wrong.device = name;
    assert_true(trail_check(&wrong, &error));
    name[TRAIL_MOST_NAME] = 'x';
    assert_false(trail_check(&wrong, &error));
    wrong = record;
    memset(wrong.id, 'a', TRAIL_ID_SIZE); /* no end */
    assert_false(trail_check(&wrong, &error));
}

static void names_of_kinds_go_both_ways(void **state)
{
    (void)state;
    TrailKind kind = TRAIL_CLOSED;
    assert_false(trail_kind_of("opening", &kind));
    assert_int_equal(kind, TRAIL_CLOSED);
    for (int k = 0; k < TRAIL_KIND_COUNT; k++) {
        assert_true(trail_kind_of(trail_kind_name((TrailKind)k), &kind));
        assert_int_equal(kind, k);
    }
}

/* A clock that runs behind does not put a strike before what it strikes. */
static void a_slow_clock_comes_after_what_it_has_seen(void **state)
{
    Case *one = *state;
    add(one, TRAIL_OPENED, "", -1, "van");
    add(one, TRAIL_ENTRY, "look", -1, "van");
    assert_true(trail_time_after(one->records, 2, 500) == 2001);
    assert_true(trail_time_after(one->records, 2, 2000) == 2001);
    assert_true(trail_time_after(one->records, 2, 9000) == 9000);
    assert_true(trail_time_after(NULL, 0, 77) == 77);
}

/* ---- strikes */

static void a_strike_takes_out_and_its_strike_brings_back(void **state)
{
    Case *one = *state;
    add(one, TRAIL_OPENED, "", -1, "van");
    add(one, TRAIL_ENTRY, "reading", -1, "van");
    add(one, TRAIL_STRUCK, "", 1, "shop");
    add(one, TRAIL_STRUCK, "", 2, "van");
    replay(one, 2);
    assert_false(one->state.is_struck[1]);
    replay(one, 3);
    assert_true(one->state.is_struck[1]);
    replay(one, 4);
    assert_false(one->state.is_struck[1]);
    assert_true(one->state.is_struck[2]);
    assert_int_equal(one->state.conflict_count, 0);
}

/* Made up by somebody: two that strike each other. Only the later one can count. */
static void strikes_do_not_go_in_circles(void **state)
{
    Case *one = *state;
    add(one, TRAIL_STRUCK, "", 1, "van");
    add(one, TRAIL_STRUCK, "", 0, "van");
    replay(one, -1);
    assert_true(one->state.is_struck[0]);
    assert_false(one->state.is_struck[1]);
}

static void a_strike_of_nothing_is_shown(void **state)
{
    Case *one = *state;
    add(one, TRAIL_OPENED, "", -1, "van");
    add(one, TRAIL_STRUCK, "", 42, "van");
    replay(one, -1);
    assert_int_equal(one->state.conflict_count, 1);
    assert_int_equal(one->state.conflicts[0].kind, TRAIL_NOTHING_THERE);
    assert_int_equal(one->state.conflicts[0].first, -1);
    assert_int_equal(one->state.conflicts[0].second, 1);
}

/* ---- open, closed, reopened */

static void a_call_opens_closes_and_comes_back(void **state)
{
    static const TrailPhase phases[] = {TRAIL_IS_NOTHING,  TRAIL_IS_OPEN,     TRAIL_IS_OPEN,  TRAIL_IS_CLOSED,
                                        TRAIL_IS_REOPENED, TRAIL_IS_REOPENED, TRAIL_IS_CLOSED};
    Case *one = *state;
    add(one, TRAIL_OPENED, "", -1, "van");
    add(one, TRAIL_ENTRY, "repair", -1, "van");
    add(one, TRAIL_CLOSED, "", -1, "van");
    add(one, TRAIL_REOPENED, "", -1, "shop");
    add(one, TRAIL_ENTRY, "reading", -1, "van");
    add(one, TRAIL_CLOSED, "", -1, "van");
    for (int count = 0; count <= 6; count++) {
        replay(one, count);
        assert_int_equal(one->state.phase, phases[count]);
        assert_int_equal(one->state.conflict_count, 0);
    }
    assert_int_equal(one->state.closed, 5);
    assert_int_equal(one->state.reopened_count, 1);
}

/* Closing was a slip: struck, the call is open as if it had never been closed. */
static void a_struck_closing_leaves_the_call_open(void **state)
{
    Case *one = *state;
    add(one, TRAIL_OPENED, "", -1, "van");
    add(one, TRAIL_CLOSED, "", -1, "van");
    add(one, TRAIL_STRUCK, "", 1, "van");
    add(one, TRAIL_ENTRY, "look", -1, "van");
    replay(one, -1);
    assert_int_equal(one->state.phase, TRAIL_IS_OPEN);
    assert_int_equal(one->state.closed, -1);
    assert_int_equal(one->state.conflict_count, 0);
}

static void two_closings_and_a_late_entry_are_shown(void **state)
{
    Case *one = *state;
    add(one, TRAIL_OPENED, "", -1, "van");
    add(one, TRAIL_CLOSED, "", -1, "van");
    add(one, TRAIL_ENTRY, "look", -1, "phone");
    add(one, TRAIL_CLOSED, "", -1, "phone");
    replay(one, -1);
    assert_int_equal(one->state.conflict_count, 2);
    assert_int_equal(one->state.conflicts[0].kind, TRAIL_AFTER_CLOSE);
    assert_int_equal(one->state.conflicts[1].kind, TRAIL_TWICE_CLOSED);
    assert_int_equal(one->state.closed, 3); /* the later one counts */
    add(one, TRAIL_STRUCK, "", 1, "shop");  /* and with one of them struck all is well */
    replay(one, -1);
    assert_int_equal(one->state.conflict_count, 0);
}

/* ---- fields */

static void a_field_has_its_last_value(void **state)
{
    Case *one = *state;
    add(one, TRAIL_OPENED, "", -1, "van");
    add(one, TRAIL_CHANGED, "title", -1, "van");
    add(one, TRAIL_CHANGED, "ambient", -1, "van");
    add(one, TRAIL_CHANGED, "title", 1, "shop");
    replay(one, -1);
    assert_int_equal(trail_find_field(&one->trail, &one->state, one->count, "title"), 3);
    assert_int_equal(trail_find_field(&one->trail, &one->state, 3, "title"), 1);
    assert_int_equal(trail_find_field(&one->trail, &one->state, one->count, "meter"), -1);
    assert_int_equal(one->state.conflict_count, 0);
}

/* Two set the title on top of the same one. Nothing is lost; striking one of them settles it. */
static void two_values_of_a_field_are_shown(void **state)
{
    Case *one = *state;
    add(one, TRAIL_OPENED, "", -1, "van");
    add(one, TRAIL_CHANGED, "title", -1, "van");
    add(one, TRAIL_CHANGED, "title", 1, "shop");
    add(one, TRAIL_CHANGED, "title", 1, "van");
    replay(one, -1);
    assert_int_equal(one->state.conflict_count, 1);
    assert_int_equal(one->state.conflicts[0].kind, TRAIL_TWO_VALUES);
    assert_int_equal(one->state.conflicts[0].first, 2);
    assert_int_equal(one->state.conflicts[0].second, 3);
    add(one, TRAIL_STRUCK, "", 3, "shop");
    replay(one, -1);
    assert_int_equal(one->state.conflict_count, 0);
    assert_int_equal(trail_find_field(&one->trail, &one->state, one->count, "title"), 2);
}

/* The value in the middle of a chain is struck: the last one was made by someone who knew the first. */
static void a_struck_value_between_makes_no_rivals(void **state)
{
    Case *one = *state;
    add(one, TRAIL_OPENED, "", -1, "van");
    add(one, TRAIL_CHANGED, "title", -1, "van");
    add(one, TRAIL_CHANGED, "title", 1, "van");
    add(one, TRAIL_CHANGED, "title", 2, "van");
    add(one, TRAIL_STRUCK, "", 2, "van");
    replay(one, -1);
    assert_int_equal(one->state.conflict_count, 0);
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, begin, end)
    const struct CMUnitTest tests[] = {
        TEST(a_published_identifier_stands),
        TEST(each_kind_has_what_it_needs),
        TEST(what_is_malformed_is_named),
        TEST(names_of_kinds_go_both_ways),
        TEST(a_slow_clock_comes_after_what_it_has_seen),
        TEST(a_strike_takes_out_and_its_strike_brings_back),
        TEST(strikes_do_not_go_in_circles),
        TEST(a_strike_of_nothing_is_shown),
        TEST(a_call_opens_closes_and_comes_back),
        TEST(a_struck_closing_leaves_the_call_open),
        TEST(two_closings_and_a_late_entry_are_shown),
        TEST(a_field_has_its_last_value),
        TEST(two_values_of_a_field_are_shown),
        TEST(a_struck_value_between_makes_no_rivals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
