/* checks.c: the list of checks that follows from the wiring of shipped appliances. */
#include "base/text.h"
#include "support/near.h"
#include "support/shipped.h"

typedef struct {
    Arena arena;
    Appliance relays, thermostat, wall, built_in;
} Fixture;

static int begin(void **state)
{
    static Fixture f;
    f.arena = arena_new(24 << 20);
    shipped_build("range-relay-control", &f.arena, &f.relays);
    shipped_build("range-thermostat", &f.arena, &f.thermostat);
    shipped_build("wall-oven-convection", &f.arena, &f.wall);
    shipped_build("oven-230", &f.arena, &f.built_in);
    *state = &f;
    return 0;
}

static int end(void **state)
{
    arena_free(&((Fixture *)*state)->arena);
    return 0;
}

/* The check of that kind between those marks with the knob there; NULL when it is not on the list. */
static const Check *find(const Appliance *appliance, CheckKind kind, const char *from, const char *to,
                         const char *function)
{
    for (int i = 0; i < appliance->check_count; i++) {
        const Check *check = &appliance->checks[i];
        if (check->kind == kind && check->from == appliance_find_mark(appliance, from) &&
            check->to == appliance_find_mark(appliance, to) &&
            check->function == appliance_find_function(appliance, function))
            return check;
    }
    return NULL;
}

static const Check *find_look(const Appliance *appliance, CheckKind kind, const char *part,
                              const char *function)
{
    for (int i = 0; i < appliance->check_count; i++) {
        const Check *check = &appliance->checks[i];
        if (check->kind == kind && check->part == appliance_find_part(appliance, part) &&
            check->function == appliance_find_function(appliance, function))
            return check;
    }
    return NULL;
}

static const char *place(const Appliance *appliance, const Check *check, int i)
{
    return check->places[i] < 0 ? NULL : appliance->description->places[check->places[i]].name;
}

static void ohms_are_measured_dead_and_the_rest_live(void **state)
{
    const Fixture *f = *state;
    const Appliance *all[] = {&f->relays, &f->thermostat, &f->wall};
    for (int a = 0; a < 3; a++)
        for (int i = 0; i < all[a]->check_count; i++) {
            const Check *check = &all[a]->checks[i];
            const bool is_dead =
                check->kind == CHECK_OHM || check->kind == CHECK_SIGHT || check->kind == CHECK_GLANCE;
            const bool is_closed = check->kind == CHECK_RUN || check->kind == CHECK_SPOT;
            const bool is_asked = check->kind == CHECK_ASK;
            assert_int_equal(check->power_on, !is_dead && !is_asked && check->kind != CHECK_STRIP);
            assert_int_equal(check->places[0] >= 0, !is_closed && !is_asked);
            assert_true(check->second > 0 && check->part < all[a]->part_count);
            assert_int_equal(check->part >= 0, !is_closed && !is_asked && check->kind != CHECK_GLANCE);
        }
}

static void an_element_between_open_relays_needs_no_lifting(void **state)
{
    const Fixture *f = *state;
    const Check *check = find(&f->relays, CHECK_OHM, "BK1", "BK2", "off");
    assert_non_null(check);
    assert_int_equal(check->lift_count, 0);
    assert_string_equal(place(&f->relays, check, 0), "behind");
    assert_null(place(&f->relays, check, 1));
}

/* Both elements meet at the shared side: leakage of either shows at both until one is taken off. */
static void leakage_is_told_apart_by_lifting_the_shared_side(void **state)
{
    const Fixture *f = *state;
    const Check *check = find(&f->relays, CHECK_OHM, "BK1", "G", "off");
    assert_non_null(check);
    assert_int_equal(check->lift_count, 1);
    assert_int_equal(check->lifts[0], appliance_find_mark(&f->relays, "BK2"));
    assert_string_equal(place(&f->wall, find(&f->wall, CHECK_OHM, "BK1", "G", "off"), 0), "rear");
    assert_null(
        place(&f->wall, find(&f->wall, CHECK_OHM, "BK1", "G", "off"), 1)); /* the frame is everywhere */
}

static void a_contact_is_measured_open_and_closed(void **state)
{
    const Fixture *f = *state;
    assert_non_null(find(&f->thermostat, CHECK_OHM, "T1", "T2", "off"));
    assert_non_null(find(&f->thermostat, CHECK_OHM, "T1", "T2", "bake"));
    assert_non_null(find(&f->thermostat, CHECK_VOLT, "T1", "T3", "broil"));
    assert_non_null(find(&f->relays, CHECK_OHM, "K1", "K2", "off"));
    assert_null(find(&f->relays, CHECK_OHM, "K1", "K2", "bake")); /* a dead control closes nothing */
    assert_non_null(find(&f->relays, CHECK_VOLT, "K1", "K2", "bake"));
    assert_non_null(find(&f->relays, CHECK_VOLT, "K1", "K2", "off"));
}

static void the_supply_is_measured_idle_and_under_load(void **state)
{
    const Fixture *f = *state;
    assert_non_null(find(&f->relays, CHECK_VOLT, "L1", "L2", "off"));
    assert_non_null(find(&f->relays, CHECK_VOLT, "L1", "L2", "bake"));
    assert_null(find(&f->relays, CHECK_VOLT, "L1", "L2", "light"));
    assert_non_null(find(&f->relays, CHECK_VOLT, "N", "G", "off"));
    assert_non_null(find(&f->relays, CHECK_OHM, "N", "G", "off"));
    assert_null(find(&f->relays, CHECK_OHM, "P1", "C1", "off")); /* the house's side stays live */
}

static void current_is_measured_where_there_should_be_some(void **state)
{
    const Fixture *f = *state;
    assert_non_null(find(&f->relays, CHECK_AMP, "BK1", "BK2", "bake"));
    assert_null(find(&f->relays, CHECK_AMP, "BK1", "BK2", "broil"));
    assert_non_null(find(&f->wall, CHECK_AMP, "RG1", "RG2", "convection"));
    const Check *all = find(&f->wall, CHECK_AMP, "P1", "C1", "convection");
    assert_non_null(all);
    assert_string_equal(place(&f->wall, all, 0), "panel"); /* one end of what a clamp goes around will do */
    assert_null(place(&f->wall, all, 1));
    assert_non_null(find(&f->wall, CHECK_AMP, "B1", "L1", "broil"));
    assert_null(find(&f->wall, CHECK_AMP, "P1", "C1", "lock"));  /* next to nothing to read */
    assert_null(find(&f->wall, CHECK_AMP, "C1", "B1", "broil")); /* what the terminal block shows */
}

static void looks_are_on_the_list(void **state)
{
    const Fixture *f = *state;
    const Check *watch = find_look(&f->relays, CHECK_WATCH, "bake-element", "bake");
    assert_non_null(watch);
    assert_string_equal(place(&f->relays, watch, 0), "kitchen");
    assert_true(watch->second >= 90); /* an element takes its time to glow */
    assert_string_equal(place(&f->relays, find_look(&f->relays, CHECK_SIGHT, "bake-element", "off"), 0),
                        "cavity");
    assert_non_null(find_look(&f->relays, CHECK_SIGHT, "door-gasket", "off"));
    assert_int_equal(find_look(&f->relays, CHECK_STRIP, "door-gasket", "off")->places[0], 0);
    assert_null(find_look(&f->relays, CHECK_STRIP, "door", "off"));
    assert_null(find_look(&f->relays, CHECK_WATCH, "door-gasket", "off"));
    assert_non_null(find_look(&f->wall, CHECK_WATCH, "convection-fan", "convection"));
    assert_non_null(find_look(&f->wall, CHECK_WATCH, "convection-fan", "convection-bake"));
}

static const Check *insulation_of(const Appliance *appliance, const char *part)
{
    const int number = appliance->parts[appliance_find_part(appliance, part)].insulation_check;
    return number < 0 ? NULL : &appliance->checks[number];
}

/* The neutral of the house is tied to the frame: only with it off the terminal block one reading shows what
 * leaks, of all that hangs on the neutral, or that a function joins to a leg. Open relays leave nothing to
 * join. */
static void all_insulation_is_read_with_the_neutral_of_the_house_off(void **state)
{
    static const char *const elements[] = {"bake-element", "top-element", "broil-element", "ring-element"};
    const Fixture *f = *state;
    const Appliance *built_in = &f->built_in;
    for (int i = 0; i < 4; i++) {
        const Check *check = insulation_of(built_in, elements[i]);
        assert_ptr_equal(check, insulation_of(built_in, elements[0]));
        assert_int_equal(check->from, appliance_find_mark(built_in, "N"));
        assert_int_equal(check->to, built_in->frame);
        assert_int_equal(check->function, 0);
        assert_int_equal(check->lift_count, 1);
        assert_int_equal(check->lifts[0], appliance_find_mark(built_in, "BN"));
        assert_string_equal(place(built_in, check, 0), "cabinet");
    }
    const Check *by_hand = insulation_of(&f->thermostat, "bake-element");
    assert_int_equal(by_hand->from, appliance_find_mark(&f->thermostat, "L1"));
    assert_int_equal(by_hand->function, appliance_find_function(&f->thermostat, "bake"));
    assert_null(insulation_of(&f->relays, "bake-element"));
    /* A thermostat leaks nowhere itself, but who fits one has moved the wires of what does. */
    assert_ptr_equal(insulation_of(built_in, "thermostat"), insulation_of(built_in, elements[0]));
    assert_ptr_equal(insulation_of(&f->thermostat, "selector"), by_hand);
    assert_null(insulation_of(&f->relays, "control"));
}

/* At the terminal block, and not at the house's end. */
static void the_cord_comes_off_at_the_terminal_block(void **state)
{
    const Fixture *f = *state;
    const Mark *marks = f->built_in.marks;
    assert_true(marks[appliance_find_mark(&f->built_in, "B1")].can_lift);
    assert_true(marks[appliance_find_mark(&f->built_in, "BN")].can_lift);
    assert_false(marks[appliance_find_mark(&f->built_in, "C1")].can_lift);
    assert_false(marks[appliance_find_mark(&f->built_in, "PN")].can_lift);
}

static int count(const Appliance *appliance, CheckKind kind)
{
    int found = 0;
    for (int i = 0; i < appliance->check_count; i++) found += appliance->checks[i].kind == kind;
    return found;
}

static bool asks(const Appliance *appliance, const char *word)
{
    for (int i = 0; i < appliance->check_count; i++)
        if (appliance->checks[i].kind == CHECK_ASK &&
            appliance->checks[i].word == kind_find_complaint(appliance->catalogue, word))
            return true;
    return false;
}

/* A capillary thermostat displays nothing; only the wall oven has a fan that its owner can miss. */
static void the_oven_as_a_whole_is_checked_once_each(void **state)
{
    const Fixture *f = *state;
    const Appliance *all[] = {&f->relays, &f->thermostat, &f->wall};
    for (int a = 0; a < 3; a++) {
        const bool has_control = all[a] != &f->thermostat;
        assert_int_equal(count(all[a], CHECK_RUN), 1);
        assert_int_equal(count(all[a], CHECK_SPOT), 1);
        assert_int_equal(count(all[a], CHECK_OFFSET), has_control);
        assert_int_equal(count(all[a], CHECK_CODE), has_control);
        assert_int_equal(asks(all[a], "display-blank"), has_control);
        assert_int_equal(asks(all[a], "error-code"), has_control);
        assert_int_equal(asks(all[a], "fan-silent"), all[a] == &f->wall);
        assert_true(asks(all[a], "pale-top") && asks(all[a], "no-broil") && asks(all[a], "tingles"));
    }
}

/* Without materials nothing can be simulated, so no temperature can be judged. */
static void without_materials_no_temperature_is_asked_for(void **state)
{
    const Fixture *f = *state;
    Catalogue catalogue = *f->relays.catalogue;
    Arena arena = arena_new((size_t)32 << 20);
    Appliance bare;
    Error error;
    catalogue.materials.count = 0;
    assert_true(appliance_build(f->relays.description, &catalogue, NULL, 0, &arena, &bare, &error));
    assert_int_equal(count(&bare, CHECK_RUN) + count(&bare, CHECK_SPOT), 0);
    assert_int_equal(bare.check_count, f->relays.check_count - 2);
    arena_free(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(ohms_are_measured_dead_and_the_rest_live),
        cmocka_unit_test(an_element_between_open_relays_needs_no_lifting),
        cmocka_unit_test(leakage_is_told_apart_by_lifting_the_shared_side),
        cmocka_unit_test(a_contact_is_measured_open_and_closed),
        cmocka_unit_test(the_supply_is_measured_idle_and_under_load),
        cmocka_unit_test(current_is_measured_where_there_should_be_some),
        cmocka_unit_test(looks_are_on_the_list),
        cmocka_unit_test(all_insulation_is_read_with_the_neutral_of_the_house_off),
        cmocka_unit_test(the_cord_comes_off_at_the_terminal_block),
        cmocka_unit_test(the_oven_as_a_whole_is_checked_once_each),
        cmocka_unit_test(without_materials_no_temperature_is_asked_for),
    };
    return cmocka_run_group_tests(tests, begin, end);
}
