/* judge.c: one mistake at a time in the description of a shipped range, and the finding that it must give. */
#include "base/text.h"
#include "support/near.h"
#include "support/shipped.h"

#include <string.h>

enum { MOST = 80 };

typedef struct {
    Arena arena;
    Catalogue catalogue;
    Description description;
    DescribedPart parts[MOST];
    DescribedWire wires[MOST];
    DescribedFunction functions[MOST];
} Fixture;

static int begin(void **state)
{
    static Fixture f;
    memset(&f, 0, sizeof f);
    f.arena = arena_new(16 << 20);
    shipped_read_catalogue(&f.arena, &f.catalogue);
    shipped_read("range-relay-control", &f.arena, &f.description);
    const Description *d = &f.description;
    memcpy(f.parts, d->parts, (size_t)d->part_count * sizeof *d->parts);
    memcpy(f.wires, d->wires, (size_t)d->wire_count * sizeof *d->wires);
    memcpy(f.functions, d->functions, (size_t)d->function_count * sizeof *d->functions);
    f.description.parts = f.parts;
    f.description.wires = f.wires;
    f.description.functions = f.functions;
    *state = &f;
    return 0;
}

static int end(void **state)
{
    arena_free(&((Fixture *)*state)->arena);
    return 0;
}

static DescribedPart *part(Fixture *f, const char *name)
{
    for (int i = 0; i < f->description.part_count; i++)
        if (text_equal(f->parts[i].name, name)) return &f->parts[i];
    fail_msg("no part %s", name);
    return NULL;
}

static void remove_wire(Fixture *f, const char *from, const char *to)
{
    for (int i = 0; i < f->description.wire_count; i++)
        if (text_equal(f->wires[i].from, from) && text_equal(f->wires[i].to, to)) {
            f->wires[i] = f->wires[--f->description.wire_count];
            return;
        }
    fail_msg("no wire");
}

/* Among the findings there is one that says so, on that line. */
static void assert_found(Fixture *f, int line, const char *says)
{
    Appliance appliance;
    const Finding *findings;
    int count = 0;
    Error error = {0};
    assert_true(appliance_build(&f->description, &f->catalogue, NULL, 0, &f->arena, &appliance, &error));
    assert_true(appliance_judge(&appliance, &f->arena, &findings, &count, &error));
    for (int i = 0; i < count; i++) {
        assert_true(findings[i].hint[0]);
        if (strstr(findings[i].text, says) && findings[i].line == line) return;
    }
    for (int i = 0; i < count; i++) print_error("%d: %s\n", findings[i].line, findings[i].text);
    fail_msg("not found: %d: %s", line, says);
}

static void a_missing_wire(void **state)
{
    Fixture *f = *state;
    remove_wire(f, "K2", "BK1");
    assert_found(f, part(f, "bake-element")->line, "mark BK1 is joined to nothing");
    assert_found(f, part(f, "bake-relay")->line, "mark K2 is joined to nothing");
    assert_found(f, part(f, "bake-element")->line, "never any power for bake-element");
}

static void a_mark_written_in_two_ways(void **state)
{
    Fixture *f = *state;
    for (int i = 0; i < f->description.wire_count; i++)
        if (text_equal(f->wires[i].to, "BR1")) f->wires[i].to = "Br1";
    assert_found(f, part(f, "broil-element")->line, "mark BR1 is joined to nothing");
}

static void a_contact_that_no_function_closes(void **state)
{
    Fixture *f = *state;
    f->description.function_count = 2; /* without 'light' */
    assert_found(f, part(f, "door-switch")->line, "no function closes the contact of door-switch");
    assert_found(f, part(f, "oven-lamp")->line, "never any power for oven-lamp");
}

static void a_relay_that_nothing_drives(void **state)
{
    Fixture *f = *state;
    part(f, "line-relay")->driver = NULL;
    assert_found(f, part(f, "line-relay")->line, "nothing drives the contact of line-relay");
}

static void a_short_from_leg_to_leg(void **state)
{
    Fixture *f = *state;
    static const char *const across[] = {"K2", "L2"};
    f->wires[f->description.wire_count++] = (DescribedWire){across[0], across[1], 99};
    assert_found(f, f->functions[0].line, "function bake shorts the supply: the legs are joined");
}

static void a_short_from_leg_to_frame(void **state)
{
    Fixture *f = *state;
    f->wires[f->description.wire_count++] = (DescribedWire){"L1", "G", 99};
    assert_found(f, f->description.supply.line,
                 "function off shorts the supply: a leg is joined to the neutral");
}

static void a_frame_without_ground(void **state)
{
    Fixture *f = *state;
    static DescribedWay ways[4];
    DescribedPart *cord = part(f, "cord");
    memcpy(ways, cord->ways, 3 * sizeof *ways); /* L1, L2, N: the old three-wire cord */
    cord->ways = ways;
    cord->way_count = 3;
    assert_found(f, f->description.supply.line, "the frame G has no path to the earth");
}

static void a_control_without_power(void **state)
{
    Fixture *f = *state;
    remove_wire(f, "N", "A2");
    assert_found(f, part(f, "control")->line, "the control control has no power with everything off");
}

static void a_regulation_that_senses_nothing(void **state)
{
    Fixture *f = *state;
    f->description.regulation.senses = "thermometer";
    assert_found(f, f->description.regulation.line, "regulation senses thermometer, which is no part");
}

static void a_place_without_parts(void **state)
{
    Fixture *f = *state;
    static DescribedPlace places[MOST];
    memcpy(places, f->description.places, (size_t)f->description.place_count * sizeof *places);
    places[f->description.place_count] = (DescribedPlace){.name = "attic", .line = 98};
    f->description.places = places;
    f->description.place_count++;
    assert_found(f, 98, "nothing is reached at the place attic");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_missing_wire, begin, end),
        cmocka_unit_test_setup_teardown(a_mark_written_in_two_ways, begin, end),
        cmocka_unit_test_setup_teardown(a_contact_that_no_function_closes, begin, end),
        cmocka_unit_test_setup_teardown(a_relay_that_nothing_drives, begin, end),
        cmocka_unit_test_setup_teardown(a_short_from_leg_to_leg, begin, end),
        cmocka_unit_test_setup_teardown(a_short_from_leg_to_frame, begin, end),
        cmocka_unit_test_setup_teardown(a_frame_without_ground, begin, end),
        cmocka_unit_test_setup_teardown(a_control_without_power, begin, end),
        cmocka_unit_test_setup_teardown(a_regulation_that_senses_nothing, begin, end),
        cmocka_unit_test_setup_teardown(a_place_without_parts, begin, end),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
