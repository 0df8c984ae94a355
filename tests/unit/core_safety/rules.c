/* rules.c: the rules S1 to S7 of safety.h, each over all checks, parts and faults of all shipped appliances.
 *
 * The rules themselves are the source: disconnect and prove dead before resistance is measured (as in EN
 * 50110-1, 6.2, from memory), and what the trade warns of. The limits of probability are common practice, no
 * source. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/random.h"
#include "core/safety/safety.h"
#include "support/near.h"
#include "support/shipped.h"

enum { MOST_FAULTS = 400, DRAWS = 50, SEED = 77 };

typedef struct {
    Arena arena;
    Appliance ovens[SHIPPED_COUNT];
} Fixture;

static int begin(void **state)
{
    static Fixture f;
    f.arena = arena_new((size_t)1024 << 20);
    for (int i = 0; i < SHIPPED_COUNT; i++) shipped_build(shipped_names[i], &f.arena, &f.ovens[i]);
    *state = &f;
    return 0;
}

static int end(void **state)
{
    arena_free(&((Fixture *)*state)->arena);
    return 0;
}

/* --- trails --- */

static const Entry dead = {.kind = ENTRY_DEAD};
static const Entry ohms = {.kind = ENTRY_READING, .connection = {.kind = READING_OHM}};
static const Entry volts = {.kind = ENTRY_READING, .connection = {.kind = READING_VOLT, .power_on = true}};
static const Entry watched = {.kind = ENTRY_LOOK, .function = 1};
static const Entry seen = {.kind = ENTRY_LOOK, .function = -1};
static const Entry mended = {.kind = ENTRY_REPAIR};
static const Entry spot = {.kind = ENTRY_SPOT};
static const Entry run = {.kind = ENTRY_RUN};
static const Entry setting = {.kind = ENTRY_SETTING};
static const Entry asked = {.kind = ENTRY_ASKED};

/* The need for a proof after up to three entries. */
typedef struct {
    const Entry *entries[3];
    int count, struck; /* the entry that is struck out; -1 */
    bool needs_proof;
} Trail;

static const Trail trails[] = {
    {{NULL}, 0, -1, true},
    {{&dead}, 1, -1, false},
    {{&dead}, 1, 0, true},
    {{&volts, &dead}, 2, -1, false},
    {{&dead, &volts}, 2, -1, true},
    {{&dead, &volts}, 2, 1, false},
    {{&dead, &watched}, 2, -1, true},
    {{&dead, &run}, 2, -1, true},
    {{&dead, &spot}, 2, -1, true},
    {{&dead, &setting}, 2, -1, true}, /* a display is on */
    {{&dead, &asked}, 2, -1, false},
    {{&dead, &ohms}, 2, -1, false},
    {{&dead, &seen}, 2, -1, false},
    {{&dead, &mended}, 2, -1, false},
    {{&ohms}, 1, -1, true},
    {{&dead, &volts, &dead}, 3, -1, false},
    {{&dead, &volts, &ohms}, 3, -1, true},
};
enum { TRAILS = sizeof trails / sizeof trails[0] };

static Call call_of(const Trail *trail, Entry *entries)
{
    for (int e = 0; e < trail->count; e++) {
        entries[e] = *trail->entries[e];
        entries[e].is_struck = e == trail->struck;
    }
    return (Call){.title = "", .entries = entries, .entry_count = trail->count};
}

static const Call nothing_yet = {.title = ""};

static bool touches_terminals(const Check *check) { return check->kind <= CHECK_AMP; }

/* --- checks and repairs --- */

/* Runs `visit` on each check of each appliance. */
static void each_check(void **state, void (*visit)(const Appliance *, const Check *))
{
    const Fixture *f = *state;
    for (int i = 0; i < SHIPPED_COUNT; i++)
        for (int c = 0; c < f->ovens[i].check_count; c++) visit(&f->ovens[i], &f->ovens[i].checks[c]);
}

static void hold_s1(const Appliance *appliance, const Check *check)
{
    if (check->kind != CHECK_OHM) return;
    assert_false(check->power_on);
    Check asked_live = *check; /* whatever a list of checks says */
    asked_live.power_on = true;
    assert_false(safety_of_check(appliance, check, &nothing_yet).power_on);
    assert_false(safety_of_check(appliance, &asked_live, &nothing_yet).power_on);
    assert_false(safety_of_check(appliance, &asked_live, &nothing_yet).is_live_work);
}

static void s1_resistance_is_measured_with_the_power_off(void **state) { each_check(state, hold_s1); }

static void hold_s2(const Appliance *appliance, const Check *check)
{
    Entry entries[3];
    for (int t = 0; t < TRAILS; t++) {
        const Call call = call_of(&trails[t], entries);
        const SafetyNeeds needs = safety_of_check(appliance, check, &call);
        const bool expected = trails[t].needs_proof && touches_terminals(check) && !check->power_on;
        if (needs.needs_proof != expected) fail_msg("check of %d after trail %d", check->kind, t);
    }
}

static void s2_dead_terminals_are_proved_dead_first(void **state) { each_check(state, hold_s2); }

static void s2_and_so_are_those_of_a_part_to_be_replaced(void **state)
{
    const Fixture *f = *state;
    Entry entries[3];
    for (int i = 0; i < SHIPPED_COUNT; i++)
        for (int p = 0; p < f->ovens[i].part_count; p++)
            for (int t = 0; t < TRAILS; t++) {
                const Call call = call_of(&trails[t], entries);
                const SafetyNeeds needs = safety_of_repair(&f->ovens[i], p, &call);
                assert_int_equal(needs.needs_proof, trails[t].needs_proof);
                assert_false(needs.power_on);
                assert_false(needs.is_live_work);
            }
}

/* S3: a meter at open terminals with the power on. */
static void hold_s3(const Appliance *appliance, const Check *check)
{
    const SafetyNeeds needs = safety_of_check(appliance, check, &nothing_yet);
    assert_int_equal(needs.power_on, check->power_on);
    assert_int_equal(needs.is_live_work,
                     check->power_on && (check->kind == CHECK_VOLT || check->kind == CHECK_AMP));
    assert_false(needs.is_live_work && needs.needs_proof);
}

static void s3_live_work_is_marked(void **state) { each_check(state, hold_s3); }

/* Temperatures and displays need the power and no probe at mains voltage; a question needs nothing, nor
 * does paper in the door. */
static void hold_oven(const Appliance *appliance, const Check *check)
{
    Entry entries[3];
    const bool needs_nothing = check->kind == CHECK_ASK || check->kind == CHECK_STRIP;
    if (check->kind < CHECK_STRIP) return;
    for (int t = 0; t < TRAILS; t++) {
        const Call call = call_of(&trails[t], entries);
        const SafetyNeeds needs = safety_of_check(appliance, check, &call);
        assert_false(needs.is_live_work || needs.needs_proof || needs.needs_cool_oven || needs.opens_dead);
        assert_int_equal(needs.power_on, !needs_nothing); /* S7 bars what needs it */
        assert_int_equal(needs.any_power, needs_nothing);
    }
}

static void temperatures_displays_and_questions_touch_no_terminal(void **state)
{
    each_check(state, hold_oven);
}

/* Does a place, or one that must be open before it, ask for that? Written down a second time. */
static bool asks(const Description *description, int place, bool for_cool)
{
    while (place >= 0) {
        const DescribedPlace *described = &description->places[place];
        if (for_cool ? described->needs_cool_oven : described->needs_power_off) return true;
        place = -1;
        for (int p = 0; described->after && p < description->place_count; p++)
            if (strcmp(description->places[p].name, described->after) == 0) place = p;
    }
    return false;
}

static bool asks_either(const Appliance *appliance, const Check *check, bool for_cool)
{
    return asks(appliance->description, check->places[0], for_cool) ||
           asks(appliance->description, check->places[1], for_cool);
}

static void hold_s5(const Appliance *appliance, const Check *check)
{
    const SafetyNeeds needs = safety_of_check(appliance, check, &nothing_yet);
    assert_int_equal(needs.needs_cool_oven, asks_either(appliance, check, true));
}

/* S5, also for what lies behind a hot place. */
static void s5_hot_places_are_opened_cool(void **state)
{
    const Fixture *f = *state;
    each_check(state, hold_s5);
    for (int i = 0; i < SHIPPED_COUNT; i++)
        for (int p = 0; p < f->ovens[i].part_count; p++)
            assert_int_equal(safety_of_repair(&f->ovens[i], p, &nothing_yet).needs_cool_oven,
                             asks(f->ovens[i].description, f->ovens[i].parts[p].place, true));
}

static void hold_s6(const Appliance *appliance, const Check *check)
{
    const SafetyNeeds needs = safety_of_check(appliance, check, &nothing_yet);
    assert_int_equal(needs.opens_dead, check->power_on && asks_either(appliance, check, false));
}

/* S6, also where the check itself is live. */
static void s6_dead_places_are_opened_dead(void **state) { each_check(state, hold_s6); }

/* --- warnings --- */

/* What is warned of, by what has failed; NULL: nothing is. */
typedef struct {
    const char *part, *mode, *key;
} Danger;

static const Danger dangers[] = {
    {"bake-element", "grounded", "frame-leakage"},
    {"broil-element", "grounded", "frame-leakage"},
    {"ring-element", "grounded", "frame-leakage"},
    {"bake-element", "hot-terminal", "hot-connection"},
    {"bake-relay", "welded", "welded-contact"},
    {"line-relay", "welded", "welded-contact"},
    {"thermostat", "welded", "welded-contact"},
    {"thermostat", "bake-welded", "welded-contact"},
    {"thermal-fuse", "open", "look-for-cause"},
    {"supply", "G-lost", "missing-ground"},
    {"supply", "PE-lost", "missing-ground"},
    {"cord", "G-open", "missing-ground"},
    {"cord", "PE-open", "missing-ground"},
    {"terminal-block", "G-open", "missing-ground"},
    {"bake-element", "open", NULL},
    {"oven-sensor", "open", NULL},
};

/* Warnings of one fault with some probability and all others with none. */
static int warn_of(const Appliance *appliance, int fault, double probability, Arena *arena,
                   const SafetyWarning **warnings)
{
    double all[MOST_FAULTS] = {0};
    int count;
    Error error;
    assert_true(appliance->fault_count <= MOST_FAULTS);
    all[fault] = probability;
    assert_true(safety_warnings(appliance, all, arena, warnings, &count, &error));
    assert_in_range(count, 0, 1);
    if (count) assert_int_equal((*warnings)[0].fault, fault);
    return count;
}

static const char *key_of(const Appliance *appliance, int fault, Arena *arena)
{
    const SafetyWarning *warnings;
    return warn_of(appliance, fault, 1, arena, &warnings) ? warnings[0].key : NULL;
}

/* S4 for every danger that the catalogue knows, on whatever oven has the part. */
static void s4_dangers_are_warned_of(void **state)
{
    Fixture *f = *state;
    for (size_t d = 0; d < sizeof dangers / sizeof dangers[0]; d++) {
        int found = 0;
        for (int i = 0; i < SHIPPED_COUNT; i++) {
            char name[80];
            snprintf(name, sizeof name, "%s.%s", dangers[d].part, dangers[d].mode);
            const int fault = appliance_find_fault(&f->ovens[i], name);
            if (fault < 0) continue;
            const char *key = key_of(&f->ovens[i], fault, &f->arena);
            if (dangers[d].key)
                assert_string_equal(key, dangers[d].key);
            else
                assert_null(key);
            found++;
        }
        if (!found) fail_msg("no oven has %s.%s", dangers[d].part, dangers[d].mode);
    }
}

/* An open neutral is a danger where two legs share it; on one leg it is an oven that stays cold. */
static void s4_open_neutral_is_a_matter_of_two_legs(void **state)
{
    Fixture *f = *state;
    for (int i = 0; i < SHIPPED_COUNT; i++) {
        const int fault = appliance_find_fault(&f->ovens[i], "supply.N-lost");
        assert_true(fault >= 0);
        const char *key = key_of(&f->ovens[i], fault, &f->arena);
        if (f->ovens[i].description->supply.leg_count > 1)
            assert_string_equal(key, "open-neutral");
        else
            assert_null(key);
    }
}

/* Prior of all faults that are warned of with that key. */
static double prior_of(const Appliance *appliance, const char *key, Arena *arena)
{
    double sum = 0;
    for (int k = 0; k < appliance->fault_count; k++) {
        const char *other = key_of(appliance, k, arena);
        if (other && strcmp(other, key) == 0) sum += appliance->faults[k].prior;
    }
    return sum;
}

static void s4_warns_from_the_limit_on_and_not_below(void **state)
{
    Fixture *f = *state;
    for (int i = 0; i < SHIPPED_COUNT; i++) {
        const Appliance *appliance = &f->ovens[i];
        for (int k = 0; k < appliance->fault_count; k++) {
            const SafetyWarning *warnings;
            const char *key = key_of(appliance, k, &f->arena);
            if (!key) continue;
            const double limit =
                fmax(SAFETY_WARN_FROM, SAFETY_WARN_RAISED * prior_of(appliance, key, &f->arena));
            assert_true(limit < 0.5);
            assert_int_equal(warn_of(appliance, k, limit * (1 + 1e-9), &f->arena, &warnings), 1);
            assert_int_equal(warn_of(appliance, k, limit * (1 - 1e-9), &f->arena, &warnings), 0);
        }
    }
}

/* Several small suspicions of one danger are a large one. */
static void assert_complete(const Appliance *appliance, const double *probability,
                            const SafetyWarning *warnings, int count, Arena *arena)
{
    for (int w = 0; w < count; w++) {
        double sum = 0;
        for (int k = 0; k < appliance->fault_count; k++) {
            const char *key = key_of(appliance, k, arena);
            if (!key || strcmp(key, warnings[w].key) != 0) continue;
            sum += probability[k];
            assert_true(probability[k] <= probability[warnings[w].fault]);
        }
        assert_near(warnings[w].probability, sum, 1e-12);
        if (w > 0) assert_true(warnings[w].probability <= warnings[w - 1].probability);
        for (int v = 0; v < w; v++) assert_string_not_equal(warnings[v].key, warnings[w].key);
    }
}

static void s4_most_pressing_first_and_each_once(void **state)
{
    Fixture *f = *state;
    RandomStream stream = random_stream(SEED);
    Error error;
    for (int draw = 0; draw < DRAWS; draw++) {
        const Appliance *appliance = &f->ovens[draw % SHIPPED_COUNT];
        double probability[MOST_FAULTS];
        for (int k = 0; k < appliance->fault_count; k++)
            probability[k] = random_below(&stream, 8) ? 0 : 0.1 * random_uniform(&stream);
        Arena arena = arena_new((size_t)256 << 20);
        const SafetyWarning *warnings;
        int count;
        assert_true(safety_warnings(appliance, probability, &arena, &warnings, &count, &error));
        assert_complete(appliance, probability, warnings, count, &arena);
        arena_free(&arena);
    }
}

static void s4_the_prior_alone_warns_of_nothing(void **state)
{
    Fixture *f = *state;
    for (int i = 0; i < SHIPPED_COUNT; i++) {
        double probability[MOST_FAULTS];
        const SafetyWarning *warnings;
        int count;
        Error error;
        for (int k = 0; k < f->ovens[i].fault_count; k++) probability[k] = f->ovens[i].faults[k].prior;
        assert_true(safety_warnings(&f->ovens[i], probability, &f->arena, &warnings, &count, &error));
        assert_int_equal(count, 0);
    }
}

static void s7_nothing_is_switched_on_while_the_frame_may_be_live(void **state)
{
    (void)state;
    static const char *const keys[] = {"frame-leakage",  "missing-ground", "open-neutral",
                                       "welded-contact", "hot-connection", "look-for-cause"};
    for (int k = 0; k < 6; k++) {
        const SafetyWarning others[] = {{"hot-connection", 0.9, 0}, {keys[k], SAFETY_BAR_FROM, 0}},
                            below = {keys[k], SAFETY_BAR_FROM * (1 - 1e-9), 0};
        assert_int_equal(safety_may_switch_on(others, 2), k > 1);
        assert_true(safety_may_switch_on(&below, 1));
    }
    /* A leak and a lost ground are one danger to a hand: neither is likely here, one of them is. */
    const SafetyWarning both[] = {{"frame-leakage", 0.6 * SAFETY_BAR_FROM, 0},
                                  {"missing-ground", 0.4 * SAFETY_BAR_FROM + 1e-9, 0}};
    assert_false(safety_may_switch_on(both, 2));
    assert_true(safety_may_switch_on(both, 1));
    assert_true(safety_may_switch_on(NULL, 0));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(s1_resistance_is_measured_with_the_power_off),
        cmocka_unit_test(s2_dead_terminals_are_proved_dead_first),
        cmocka_unit_test(s2_and_so_are_those_of_a_part_to_be_replaced),
        cmocka_unit_test(s3_live_work_is_marked),
        cmocka_unit_test(temperatures_displays_and_questions_touch_no_terminal),
        cmocka_unit_test(s4_dangers_are_warned_of),
        cmocka_unit_test(s4_open_neutral_is_a_matter_of_two_legs),
        cmocka_unit_test(s4_warns_from_the_limit_on_and_not_below),
        cmocka_unit_test(s4_most_pressing_first_and_each_once),
        cmocka_unit_test(s4_the_prior_alone_warns_of_nothing),
        cmocka_unit_test(s5_hot_places_are_opened_cool),
        cmocka_unit_test(s6_dead_places_are_opened_dead),
        cmocka_unit_test(s7_nothing_is_switched_on_while_the_frame_may_be_live),
    };
    return cmocka_run_group_tests(tests, begin, end);
}
