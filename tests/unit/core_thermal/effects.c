/* effects.c: every fault that acts on an oven acts as physics says, on every shipped appliance that has it.
 *
 * Directions and least sizes are rows of tests/table/thermal/effects.table. What can be said exactly is said
 * here: a sensor that reads so many ohms high, a control that is so many kelvin off. */
#include "baking.h"
#include "core/behaviour/behaviour.h"
#include "support/shipped.h"
#include "support/table.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const char *const KEYS[] = {"given", "function", "set",      "figure",  "more",
                                   "less",  "same",     "at-least", "at-most", NULL};
static const double KITCHEN = 22;
enum { BOTTOM, TOP }; /* heats */

static Baking *bakings; /* [SHIPPED_COUNT]; cmocka's rows have no context */

static int begin_all(void **state)
{
    (void)state;
    bakings = calloc(SHIPPED_COUNT, sizeof *bakings);
    for (int a = 0; a < SHIPPED_COUNT && bakings; a++) baking_begin(&bakings[a], shipped_names[a], KITCHEN);
    return bakings ? 0 : -1;
}

static int end_all(void **state)
{
    (void)state;
    for (int a = 0; a < SHIPPED_COUNT; a++) baking_end(&bakings[a]);
    free(bakings);
    return 0;
}

/* --- the table --- */

static double flux_of(Baking *baking, const Oven *oven, double set, const char *side)
{
    const BehaviourTerms terms = {
        .set_celsius = set, .ambient_celsius = KITCHEN, .second = BEHAVIOUR_MOST_SECOND};
    BehaviourMemory memory;
    Behaviour behaviour;
    Error error;
    assert_true(behaviour_begin(&baking->arena, &memory, &error));
    assert_true(behaviour_find(&memory, &oven, 1, &terms, &behaviour, &error));
    const double top = (double)behaviour.top_flux, bottom = (double)behaviour.bottom_flux;
    return text_equal(side, "top") ? top : text_equal(side, "bottom") ? bottom : (top + bottom) / 2;
}

static double most_of(const Baked *baked)
{
    double most = -300;
    for (int i = 0; i < BAKING_SAMPLES; i++) most = fmax(most, (double)baked->centre[i]);
    return most;
}

static double figure_of(Baking *baking, const TableRow *row, int function, int variant)
{
    const char *figure = table_text(row, "figure");
    const double set = table_value(row, "set", UNIT_CELSIUS);
    Baked baked;
    OvenRun run;
    Oven oven;
    baking_oven(baking, function, set, variant, &oven);
    baking_bake(baking, &oven, set, &baked);
    if (text_equal(figure, "energy")) return baked.run.given_joule / 3.6e6;
    if (text_equal(figure, "preheat")) return baked.figures.preheat_second;
    if (text_equal(figure, "mean")) return baked.figures.mean_celsius;
    if (text_equal(figure, "swing")) return baked.figures.swing_kelvin;
    if (text_equal(figure, "period")) return baked.figures.period_second;
    if (text_equal(figure, "overshoot")) return baked.figures.overshoot_kelvin;
    if (text_equal(figure, "end")) return (double)baked.centre[BAKING_SAMPLES - 1];
    if (text_equal(figure, "most")) return most_of(&baked);
    if (text_equal(figure, "damp")) {
        baking_joule(baking, &oven, 3600, &run);
        return run.end_celsius[OVEN_WOOL];
    }
    return flux_of(baking, &oven, set, figure);
}

/* A preheat that never ends, a mean that does not exist: NAN would pass for nothing, so more is infinite. */
static double or_infinite(double value) { return isfinite(value) ? value : INFINITY; }

static void judge(const TableRow *row, const char *fault, double sound, double spoilt)
{
    const double more = or_infinite(spoilt) - sound;
    bool holds = true;
    if (table_has(row, "more")) holds &= more >= table_value(row, "more", UNIT_NONE);
    if (table_has(row, "less")) holds &= -more >= table_value(row, "less", UNIT_NONE);
    if (table_has(row, "same")) holds &= fabs(more) <= table_value(row, "same", UNIT_NONE);
    if (table_has(row, "at-least")) holds &= spoilt >= table_value(row, "at-least", UNIT_NONE);
    if (table_has(row, "at-most")) holds &= spoilt <= table_value(row, "at-most", UNIT_NONE);
    if (!holds) fail_msg("%s: %s: healthy %.6g, with the fault %.6g", row->where, fault, sound, spoilt);
}

/* Is this the fault that the row means: 'bake-relay.sticks' itself, or 'rtd.misplaced' of any part of kind
 * rtd? */
static bool is_meant(const Baking *baking, const Fault *fault, const char *given)
{
    const char *kind = baking->appliance.parts[fault->part].kind->name;
    const char *dot = strchr(given, '.'), *mode = strchr(fault->name, '.');
    if (text_equal(fault->name, given)) return true;
    return text_is((Text){given, (size_t)(dot - given)}, kind) && text_equal(mode, dot);
}

static int checks_done;

static void check_row(const TableRow *row)
{
    const char *name = table_text(row, "function");
    int seen = 0;
    for (int a = 0; a < SHIPPED_COUNT; a++) {
        Baking *baking = &bakings[a];
        const int function = text_equal(name, "usual") ? thermal_usual_function(&baking->model)
                                                       : appliance_find_function(&baking->appliance, name);
        if (function < 0) continue;
        const double sound = figure_of(baking, row, function, -1);
        for (int f = 0; f < baking->appliance.fault_count; f++) {
            const Fault *fault = &baking->appliance.faults[f];
            if (!is_meant(baking, fault, table_text(row, "given"))) continue;
            judge(row, fault->name, sound,
                  figure_of(baking, row, function, baking_fault(baking, fault->name, 0.5)));
            seen++;
        }
    }
    table_true(row, seen > 0, "no shipped appliance has this fault");
    checks_done += seen;
}

static void every_fault_acts_as_physics_says(void **state)
{
    (void)state;
    assert_true(table_check("thermal/effects", KEYS, check_row) > 40);
    print_message("%d faults of appliances\n", checks_done);
}

/* --- what can be said exactly --- */

/* Over whole cycles after 40 minutes. */
static double mean_of(const float *trace, const Baked *baked)
{
    double sum = 0;
    int first = 1, last;
    while (baked->switches[first] < 2400) first += 2;
    for (last = first; last + 2 < baked->run.switch_count; last += 2) {
    }
    const int from = (int)(baked->switches[first] / BAKING_EVERY),
              to = (int)(baked->switches[last] / BAKING_EVERY);
    for (int i = from; i < to; i++) sum += (double)trace[i];
    return sum / (to - from);
}

/* The sensor's and the middle's mean with a fault less those without. */
static void shift_of(const Baking *baking, int variant, double *sensor_kelvin, double *centre_kelvin)
{
    const int function = thermal_usual_function(&baking->model);
    Baked sound, spoilt;
    Oven oven;
    baking_oven(baking, function, 177, -1, &oven);
    baking_bake(baking, &oven, 177, &sound);
    baking_oven(baking, function, 177, variant, &oven);
    baking_bake(baking, &oven, 177, &spoilt);
    *sensor_kelvin = mean_of(spoilt.sensor, &spoilt) - mean_of(sound.sensor, &sound);
    *centre_kelvin = spoilt.figures.mean_celsius - sound.figures.mean_celsius;
}

/* Pt1000, R = 1000 (1 + A t + B t^2), A = 3.9083e-3, B = -5.775e-7 (IEC 60751:2008, 4.2): so many ohms too
 * many, and the control sees its temperature in an oven that is so much cooler. */
static double celsius_of_ohm(double ohm)
{
    const double a = 3.9083e-3, b = -5.775e-7;
    return (-a + sqrt(a * a - 4 * b * (1 - ohm / 1000))) / (2 * b);
}

static double ohm_of_celsius(double celsius)
{
    return 1000 * (1 + 3.9083e-3 * celsius - 5.775e-7 * celsius * celsius);
}

/* At the temperatures where the control switches, within the readings of a table; in what settles, nearly. */
static void check_ohms(const Baking *baking, const char *fault, double share)
{
    const int variant = baking_fault(baking, fault, share);
    const int function = thermal_usual_function(&baking->model);
    double sensor, centre;
    Oven sound, spoilt;
    if (variant < 0) return;
    baking_oven(baking, function, 177, -1, &sound);
    baking_oven(baking, function, 177, variant, &spoilt);
    shift_of(baking, variant, &sensor, &centre);
    const double off = sound.control.off_kelvin - OVEN_ZERO_CELSIUS;
    const double want = celsius_of_ohm(ohm_of_celsius(off) - baking_severity(baking, variant)) - off;
    assert_near(spoilt.control.off_kelvin - sound.control.off_kelvin, want,
                0.5); /* the control's input too */
    assert_near(sensor, want, 1 + 0.05 * fabs(want));
    assert_near(centre, want, 1 + 0.12 * fabs(want)); /* hotter, the middle is nearer to the sensor */
    checks_done++;
}

static void ohms_too_many_are_kelvins_too_few(void **state)
{
    (void)state;
    checks_done = 0;
    for (int a = 0; a < SHIPPED_COUNT; a++) {
        for (int share = 0; share <= 4; share++) {
            check_ohms(&bakings[a], "oven-sensor.high", share / 4.0);
            check_ohms(&bakings[a], "oven-sensor.low", share / 4.0);
        }
    }
    assert_true(checks_done >= 40);
}

static void check_shift(const Baking *baking, const char *fault)
{
    const int variant = baking_fault(baking, fault, 0.5);
    double sensor, centre;
    if (variant < 0) return;
    const int function = thermal_usual_function(&baking->model);
    const double want = baking_severity(baking, variant);
    Oven sound, spoilt;
    baking_oven(baking, function, 177, -1, &sound);
    baking_oven(baking, function, 177, variant, &spoilt);
    assert_near(spoilt.control.off_kelvin - sound.control.off_kelvin, want, 1e-6);
    assert_near(spoilt.control.on_kelvin - sound.control.on_kelvin, want, 1e-6);
    shift_of(baking, variant, &sensor, &centre);
    assert_near(sensor, want, 1 + 0.05 * fabs(want));
    assert_near(centre, want, fmax(1.5, 0.12 * fabs(want)));
    checks_done++;
}

static void a_control_that_is_off_settles_so_much_off(void **state)
{
    static const char *const faults[] = {"control.offset-low",        "control.offset-high",
                                         "control.reads-high",        "control.reads-low",
                                         "thermostat.calibrated-low", "thermostat.calibrated-high"};
    (void)state;
    checks_done = 0;
    for (int a = 0; a < SHIPPED_COUNT; a++)
        for (size_t f = 0; f < sizeof faults / sizeof *faults; f++) check_shift(&bakings[a], faults[f]);
    assert_true(checks_done >= 20);
}

/* Watts of a heat over a pattern. */
static double mean_watt(const OvenPattern *pattern, int heat)
{
    double sum = 0, from = 0;
    for (int s = 0; s < pattern->count; s++) {
        assert_true(pattern->until_second[s] > from);
        sum += pattern->watt[s][heat] * (pattern->until_second[s] - from);
        from = pattern->until_second[s];
    }
    return sum / from;
}

/* Told to close for `told` of `every` seconds, and so much later to let go: P = P' min(told + late, every) /
 * every, P' with the contact closed. */
static void check_late(const Baking *baking, const char *fault, int heat, double share)
{
    const int variant = baking_fault(baking, fault, share), function = thermal_usual_function(&baking->model);
    Oven sound, late;
    if (variant < 0) return;
    baking_oven(baking, function, 177, -1, &sound);
    baking_oven(baking, function, 177, variant, &late);
    const OvenPattern *patterns[][2] = {{&sound.control.preheat, &late.control.preheat},
                                        {&sound.control.heating, &late.control.heating}};
    for (int p = 0; p < 2; p++) {
        const OvenPattern *told = patterns[p][0];
        double closed = 0;
        for (int s = 0; s < told->count; s++) closed = fmax(closed, told->watt[s][heat]);
        const double every = told->until_second[told->count - 1],
                     second = every * mean_watt(told, heat) / closed;
        const double want = closed * fmin(second + baking_severity(baking, variant), every) / every;
        assert_near(mean_watt(patterns[p][1], heat), want,
                    0.02 * want); /* both on: the leads have some ohms */
        checks_done++;
    }
}

static void a_contact_that_lets_go_late_heats_on_in_its_pattern(void **state)
{
    (void)state;
    checks_done = 0;
    for (int a = 0; a < SHIPPED_COUNT; a++)
        for (int share = 0; share <= 4; share++) {
            check_late(&bakings[a], "broil-relay.sticks", TOP, share / 4.0);
            check_late(&bakings[a], "bake-relay.sticks", BOTTOM, share / 4.0);
        }
    assert_true(checks_done >= 40);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_fault_acts_as_physics_says),
        cmocka_unit_test(ohms_too_many_are_kelvins_too_few),
        cmocka_unit_test(a_control_that_is_off_settles_so_much_off),
        cmocka_unit_test(a_contact_that_lets_go_late_heats_on_in_its_pattern),
    };
    return cmocka_run_group_tests(tests, begin_all, end_all);
}
