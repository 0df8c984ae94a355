/* rungs.c: the rungs of odd wiring, line by line; that every branch of every appliance stands in them; and
 * that a drawing comes out right or not at all when memory is short. What is drawn of the shipped ones stands
 * in tests/cli/draw.case for a technician to read; what XML says of it, in svg.py. */
#include "format/appliance_yaml/appliance_yaml.h"
#include "format/drawing/drawing.h"
#include "support/file.h"
#include "support/near.h"
#include "support/shipped.h"

#include <stdlib.h>
#include <string.h>

enum { TEXT_LIMIT = 1 << 20 };

static int begin(void **state)
{
    static Arena arena;
    arena = arena_new(64 << 20);
    *state = &arena;
    return 0;
}

static int end(void **state)
{
    arena_free(*state);
    return 0;
}

static void build_odd(Arena *arena, Appliance *appliance)
{
    Description description = {0};
    Error error = {0};
    Catalogue *catalogue = arena_take(arena, sizeof *catalogue);
    const Text file = file_read("tests/unit/format_drawing/odd.yaml");
    const Text bytes = {arena_copy_text(arena, file.bytes, file.length), file.length};
    free((void *)file.bytes);
    shipped_read_catalogue(arena, catalogue);
    assert_true(appliance_yaml_read("odd.yaml", bytes, arena, &description, &error));
    assert_true(appliance_build(&description, catalogue, NULL, 0, arena, appliance, &error));
}

static const char *rungs_of(const Appliance *appliance, const char *function, Arena *arena)
{
    Error error = {0};
    TextBuilder text = text_builder(arena, TEXT_LIMIT);
    const int number = function ? appliance_find_function(appliance, function) : -1;
    assert_true(drawing_rungs(appliance, number, arena, &text, &error));
    return text_string(&text);
}

static void odd_wiring_has_its_rungs(void **state)
{
    Appliance odd;
    build_odd(*state, &odd);
    assert_string_equal(
        rungs_of(&odd, NULL, *state),
        "feed: mains =supply L1= P1 =line-fuse= L1\n"
        "feed: mains =supply L2= P2 =terminal-block= L2\n"
        "feed: mains =supply N= N\n"
        "feed: mains =supply G= G\n"
        /* two loads in series are one rung */
        "rung: L1 -- W1 /selector one/ W2 -- R1 [first-element] R2 -- R3 [second-element] R4 -- L2\n"
        "rung: (W1) /selector beside/ (W2)\n"
        "rung: (W1) /selector low/ W3 -- R5 [small-element] R6 -- N\n"
        "rung: (R5) -- D4 /bridge/ D3 -- (R2)\n"
        "rung: (W1) /selector high/ W4 -- R7 [long-named-third-element] R8 -- L2\n"
        /* a wire that ends nowhere, at either end */
        "rung: (W4) -- D1 /spare-switch/ D2 -- T1\n"
        "rung: T2 -- (R6)\n"
        /* L2 has no rail at the left */
        "rung: (L2) -- E1 [lamp] E2 -- N\n"
        "rung: (N) -- G\n"
        "rung: (N) -- V2 [pilot] V1 -- (P1)\n");
}

static void power_shows_where_it_goes(void **state)
{
    Appliance odd;
    build_odd(*state, &odd);
    const char *low = rungs_of(&odd, "low", *state);
    assert_non_null(strstr(low, "W1 =selector one= W2 -- R1 [first-element *] R2"));
    assert_non_null(strstr(low, "(W1) /selector high/ W4 -- R7 [long-named-third-element] R8"));
    const char *live = strstr(low, "live in low:");
    assert_non_null(live);
    assert_non_null(strstr(live, " R8")); /* from the other leg, though its own contact is open */
    assert_null(strstr(live, " R6"));     /* the neutral */
    assert_null(strstr(live, " R2")); /* halfway between two legs in counterphase: nothing against earth */
}

static int count(const char *text, const char *wanted)
{
    int found = 0;
    for (const char *at = strstr(text, wanted); at; at = strstr(at + 1, wanted)) found++;
    return found;
}

/* Wires and insulation apart, each branch is named once in the rungs; the control's input is where its loop
 * begins and ends. */
static void every_branch_stands_once(void **state)
{
    for (int i = 0; i < SHIPPED_COUNT; i++) {
        Appliance appliance;
        shipped_build(shipped_names[i], *state, &appliance);
        const char *rungs = rungs_of(&appliance, NULL, *state);
        int parts = 0, wires = 0;
        for (int b = 0; b < appliance.branch_count; b++) {
            const Branch *branch = &appliance.branches[b];
            if (branch->type == BRANCH_GAP || b == appliance.control_input) continue;
            *(appliance.parts[branch->part].described ? &parts : &wires) += 1;
        }
        assert_int_equal(count(rungs, " -- "), wires);
        assert_int_equal(count(rungs, " =") + count(rungs, " /") + count(rungs, " ["), parts);
    }
}

static const DrawingCaptions *captions(void)
{
    static DrawingCaptions all;
    for (int c = 0; c < CAPTION_COUNT; c++) all.text[c] = drawing_caption_key((Caption)c);
    return &all;
}

static void short_memory_is_an_error(void **state)
{
    (void)state;
    Arena outside = arena_new(64 << 20);
    Appliance odd;
    build_odd(&outside, &odd);
    bool has_drawn = false;
    for (size_t limit = 1 << 10; !has_drawn && limit < 64 << 20; limit += limit / 4) {
        Arena arena = arena_new(limit);
        Error error = {0};
        TextBuilder out = text_builder(&arena, TEXT_LIMIT);
        has_drawn = drawing_svg(&odd, 1, captions(), &arena, &out, &error);
        if (has_drawn)
            assert_non_null(strstr(text_string(&out), "</svg>"));
        else
            assert_int_equal(error.code, ERROR_MEMORY);
        arena_free(&arena);
    }
    assert_true(has_drawn);
    arena_free(&outside);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(odd_wiring_has_its_rungs, begin, end),
        cmocka_unit_test_setup_teardown(power_shows_where_it_goes, begin, end),
        cmocka_unit_test_setup_teardown(every_branch_stands_once, begin, end),
        cmocka_unit_test(short_memory_is_an_error),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
