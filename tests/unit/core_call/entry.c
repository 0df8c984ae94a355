/* entry.c: which entries may stand on an appliance, and what the others are told. */
#include "base/text.h"
#include "core/call/call.h"
#include "support/near.h"
#include "support/shipped.h"

#include <math.h>
#include <string.h>

typedef struct {
    Arena arena;
    Appliance appliance;
    Error error;
} Fixture;

static int begin(void **state)
{
    static Fixture f;
    f.arena = arena_new(16 << 20);
    shipped_build("range-relay-control", &f.arena, &f.appliance);
    *state = &f;
    return 0;
}

static int end(void **state)
{
    arena_free(&((Fixture *)*state)->arena);
    return 0;
}

static bool stands(Fixture *f, const Entry *entry)
{
    f->error = (Error){0};
    return call_check_entry(&f->appliance, entry, &f->error);
}

static void assert_refused(Fixture *f, const Entry *entry, ErrorCode code, const char *hint)
{
    assert_false(stands(f, entry));
    assert_int_equal(f->error.code, code);
    if (!strstr(f->error.hint, hint)) fail_msg("hint is '%s'", f->error.hint);
}

static Entry reading(const Fixture *f, ReadingKind kind, double value, const char *from, const char *to)
{
    static const Unit units[] = {UNIT_OHM, UNIT_VOLT, UNIT_AMPERE};
    return (Entry){.kind = ENTRY_READING,
                   .value = {.value = value, .unit = units[kind]},
                   .connection = {.kind = kind,
                                  .from = appliance_find_mark(&f->appliance, from),
                                  .to = appliance_find_mark(&f->appliance, to),
                                  .power_on = kind != READING_OHM}};
}

static void readings_stand(void **state)
{
    Fixture *f = *state;
    Entry ohm = reading(f, READING_OHM, 23, "BK1", "BK2"), volt = reading(f, READING_VOLT, 238, "L1", "L2");
    assert_true(stands(f, &ohm));
    assert_true(stands(f, &volt));
    ohm.value = (Quantity){.value = INFINITY, .is_over = true};
    assert_true(stands(f, &ohm));
    ohm.connection.lifts[ohm.connection.lift_count++] = appliance_find_mark(&f->appliance, "BK1");
    ohm.connection.unplugs[ohm.connection.unplug_count++] = appliance_find_part(&f->appliance, "sensor-plug");
    assert_true(stands(f, &ohm));
    volt.value.value = 2; /* what induction leaves on a dead circuit */
    volt.connection.power_on = false;
    assert_true(stands(f, &volt));
}

static void readings_that_cannot_be_are_refused(void **state)
{
    Fixture *f = *state;
    Entry live_ohm = reading(f, READING_OHM, 23, "BK1", "BK2"),
          dead_amp = reading(f, READING_AMP, 10, "BK1", "BK2");
    Entry dead_volt = reading(f, READING_VOLT, 238, "L1", "L2"), over = dead_volt, odd = dead_volt;
    live_ohm.connection.power_on = true;
    dead_amp.connection.power_on = dead_volt.connection.power_on = false;
    over.value = (Quantity){.value = INFINITY, .is_over = true};
    odd.value.unit = UNIT_WATT;
    assert_refused(f, &live_ohm, ERROR_INCONSISTENT, "prove it dead");
    assert_refused(f, &dead_amp, ERROR_INCONSISTENT, "no current flows");
    assert_refused(f, &dead_volt, ERROR_INCONSISTENT, "not dead: stop");
    assert_refused(f, &over, ERROR_WRONG_KIND, "");
    assert_refused(f, &odd, ERROR_WRONG_KIND, "");
    Entry negative = reading(f, READING_OHM, -1, "BK1", "BK2"),
          nan = reading(f, READING_OHM, NAN, "BK1", "BK2");
    assert_refused(f, &negative, ERROR_OUT_OF_RANGE, "");
    assert_refused(f, &nan, ERROR_OUT_OF_RANGE, "");
}

static void probes_go_to_two_marks_of_this_appliance(void **state)
{
    Fixture *f = *state;
    Entry same = reading(f, READING_OHM, 1, "BK1", "BK1"), none = reading(f, READING_OHM, 1, "BK1", "ZZ");
    Entry earth = reading(f, READING_OHM, 1, "BK1", "earth"), far = reading(f, READING_VOLT, 1, "L1", "L2");
    far.connection.function = 99;
    assert_refused(f, &same, ERROR_INCONSISTENT, "");
    assert_refused(f, &none, ERROR_OUT_OF_RANGE, "");
    assert_refused(f, &earth, ERROR_WRONG_KIND, "");
    assert_refused(f, &far, ERROR_OUT_OF_RANGE, "");
}

static void only_what_comes_off_is_lifted_or_unplugged(void **state)
{
    Fixture *f = *state;
    Entry lift = reading(f, READING_OHM, 1, "BK1", "BK2"), unplug = lift, many = lift;
    lift.connection.lifts[lift.connection.lift_count++] = appliance_find_mark(&f->appliance, "S1");
    unplug.connection.unplugs[unplug.connection.unplug_count++] =
        appliance_find_part(&f->appliance, "control");
    many.connection.lift_count = CONNECTION_MOST_LIFTS + 1;
    assert_refused(f, &lift, ERROR_INCONSISTENT, "no wire comes off at S1");
    assert_refused(f, &unplug, ERROR_WRONG_KIND, "");
    assert_refused(f, &many, ERROR_TOO_LARGE, "");
}

static void looks_are_those_of_the_part(void **state)
{
    Fixture *f = *state;
    const Catalogue *catalogue = f->appliance.catalogue;
    Entry look = {.kind = ENTRY_LOOK,
                  .part = appliance_find_part(&f->appliance, "bake-element"),
                  .function = -1,
                  .words = {kind_find_look(catalogue, "blistered")},
                  .word_count = 1};
    assert_true(stands(f, &look));
    look.words[0] = kind_find_look(catalogue, "torn");
    assert_refused(f, &look, ERROR_WRONG_KIND, "");
    assert_string_equal(
        f->error.expected,
        "what the kind 'element' can show: glows, warm, dark, blistered, burnt-terminal, sound");
    look.words[0] = 1000;
    assert_refused(f, &look, ERROR_OUT_OF_RANGE, "");
}

static void complaints_are_known_words_once_each(void **state)
{
    Fixture *f = *state;
    Entry complaint = {.kind = ENTRY_COMPLAINT, .words = {0, 1}, .word_count = 2};
    assert_true(stands(f, &complaint));
    complaint.words[1] = 0;
    assert_refused(f, &complaint, ERROR_INCONSISTENT, "");
    complaint.words[1] = f->appliance.catalogue->complaint_count;
    assert_refused(f, &complaint, ERROR_OUT_OF_RANGE, "");
    complaint.word_count = 0;
    assert_refused(f, &complaint, ERROR_MISSING, "");
}

static void one_known_word_is_asked_for(void **state)
{
    Fixture *f = *state;
    Entry asked = {.kind = ENTRY_ASKED, .words = {3}, .word_count = 1, .is_yes = true};
    assert_true(stands(f, &asked));
    asked.words[0] = f->appliance.catalogue->complaint_count;
    assert_refused(f, &asked, ERROR_OUT_OF_RANGE, "");
    asked.words[0] = -1;
    assert_refused(f, &asked, ERROR_OUT_OF_RANGE, "");
    asked.words[0] = 3;
    asked.word_count = 2;
    assert_refused(f, &asked, ERROR_MISSING, "");
}

static void adjusting_is_no_replacing(void **state)
{
    (void)state;
    Entry repair = {.kind = ENTRY_REPAIR, .text = "adjusted"};
    assert_true(call_is_adjusted(&repair));
    repair.text = "replaced";
    assert_false(call_is_adjusted(&repair));
    repair = (Entry){.kind = ENTRY_NOTE, .text = "adjusted"};
    assert_false(call_is_adjusted(&repair));
}

static void temperatures_and_texts_are_there(void **state)
{
    Fixture *f = *state;
    Entry spot = {.kind = ENTRY_SPOT, .value = {.value = 160, .unit = UNIT_CELSIUS}, .set_celsius = 177};
    Entry run = {.kind = ENTRY_RUN, .set_celsius = 177},
          note = {.kind = ENTRY_NOTE, .text = "dog in the kitchen"};
    assert_true(stands(f, &spot));
    spot.value.value = NAN;
    assert_refused(f, &spot, ERROR_OUT_OF_RANGE, "");
    assert_refused(f, &run, ERROR_MISSING, "");
    assert_true(stands(f, &note));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(readings_stand),
        cmocka_unit_test(readings_that_cannot_be_are_refused),
        cmocka_unit_test(probes_go_to_two_marks_of_this_appliance),
        cmocka_unit_test(only_what_comes_off_is_lifted_or_unplugged),
        cmocka_unit_test(looks_are_those_of_the_part),
        cmocka_unit_test(complaints_are_known_words_once_each),
        cmocka_unit_test(one_known_word_is_asked_for),
        cmocka_unit_test(adjusting_is_no_replacing),
        cmocka_unit_test(temperatures_and_texts_are_there),
    };
    return cmocka_run_group_tests(tests, begin, end);
}
