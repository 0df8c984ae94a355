/* Figures against closed form (tests/table/run/one_node.table), the two ways to get them against each other,
 * the advice against its rules, and logs that each show one thing. */
#include "base/random.h"
#include "core/run/run.h"
#include "support/table.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { MOST = 30000 };

static double second[MOST], celsius[MOST];

static Arena arena;

static Run analyse(int count, double set, const RunTerms *given)
{
    Run run;
    Error error;
    RunTerms terms = given ? *given : (RunTerms){0};
    terms.set_celsius = set;
    const RunLog log = {
        .second = second, .count = count, .channels = {{"", celsius, false}}, .channel_count = 1};
    arena_free(&arena);
    arena = arena_new((size_t)64 << 20);
    if (!run_analyse(&log, 0, &terms, &arena, &run, &error))
        fail_msg("%s; expected %s", error.found, error.expected);
    return run;
}

/* The closed form, switching at the exact times; `length` and `interval` in seconds. */
static int one_node(double interval, double step, double length)
{
    const double hot = 22 + 2400 / 4.0, cold = 22, tau = 12000 / 4.0;
    double from = 0, start = 22, switches = -tau * log((184 - hot) / (22 - hot));
    bool is_on = true;
    int count = 0;
    for (double t = 0; t <= length && count < MOST; t = interval * count) {
        while (t > switches) {
            from = switches;
            start = is_on ? 184 : 170;
            is_on = !is_on;
            switches =
                from + tau * (is_on ? log((170 - hot) / (184 - hot)) : log((184 - cold) / (170 - cold)));
        }
        const double end = is_on ? hot : cold, value = end + (start - end) * exp(-(t - from) / tau);
        second[count] = t;
        celsius[count++] = step > 0 ? floor(value / step + 0.5) * step : value;
    }
    return count;
}

static const char *const NODE_KEYS[] = {
    "given",         "step",         "set",         "mean",           "period",
    "swing",         "duty",         "preheat",     "overshoot",      "mean-within",
    "period-within", "swing-within", "duty-within", "preheat-within", NULL};

static void check_node(const TableRow *row)
{
    const double set = table_value(row, "set", UNIT_CELSIUS);
    const int count =
        one_node(table_value(row, "given", UNIT_SECOND), table_value(row, "step", UNIT_KELVIN), 9000);
    const Run run = analyse(count, set, NULL);
    table_near(row, run.mean_celsius.value, table_value(row, "mean", UNIT_CELSIUS),
               table_value(row, "mean-within", UNIT_KELVIN));
    table_near(row, run.period_second.value, table_value(row, "period", UNIT_SECOND),
               table_value(row, "period-within", UNIT_SECOND));
    table_near(row, run.swing_kelvin.value, table_value(row, "swing", UNIT_KELVIN),
               table_value(row, "swing-within", UNIT_KELVIN));
    table_near(row, run.duty.value, table_value(row, "duty", UNIT_RATIO),
               table_value(row, "duty-within", UNIT_RATIO));
    table_near(row, run.preheat_second.value, table_value(row, "preheat", UNIT_SECOND),
               table_value(row, "preheat-within", UNIT_SECOND));
    table_near(row, run.overshoot_kelvin.value, table_value(row, "overshoot", UNIT_KELVIN),
               table_value(row, "swing-within", UNIT_KELVIN));
    table_near(row, run.error_kelvin.value, run.mean_celsius.value - set, 1e-9);
    table_true(row, run.is_settled && run.finding_count == 0, "settled, nothing found");
    table_true(row,
               fabs(run.mean_celsius.value - table_value(row, "mean", UNIT_CELSIUS)) <=
                   run.half_width_kelvin + 5e-3,
               "its own interval holds");
}

static void figures_are_those_of_the_closed_form(void **state)
{
    (void)state;
    assert_true(table_check("run/one_node", NODE_KEYS, check_node) >= 9);
}

/* Clean evenly sampled values: one definition of every figure, whoever asks. */
static void both_ways_give_the_same_figures(void **state)
{
    (void)state;
    for (double interval = 6; interval <= 30; interval += 3) {
        RunFigures figures;
        const int count = one_node(interval, 0, 7200);
        const Run run = analyse(count, 177, NULL);
        run_figures(second, celsius, count, 177, &figures);
        assert_near(figures.mean_celsius, run.mean_celsius.value, 1e-9);
        assert_near(figures.swing_kelvin, run.swing_kelvin.value, 1e-9);
        assert_near(figures.period_second, run.period_second.value, 1e-9);
        assert_near(figures.preheat_second, run.preheat_second.value, 1e-9);
        assert_near(figures.overshoot_kelvin, run.overshoot_kelvin.value, 1e-9);
        assert_near(figures.duty, run.duty.value, 1e-9);
        assert_near(figures.end_celsius, run.end_celsius, 1e-9);
        assert_int_equal(figures.cycles, run.cycles);
    }
}

/* A temperature shifted by a constant shifts the mean and nothing else; times counted from elsewhere,
 * nothing. */
static void figures_move_as_they_should(void **state)
{
    (void)state;
    const int count = one_node(10, 0, 7200);
    const Run run = analyse(count, 177, NULL);
    for (int i = 0; i < count; i++) celsius[i] += 8, second[i] += 1e6;
    const Run moved = analyse(count, 185, NULL);
    assert_near(moved.mean_celsius.value, run.mean_celsius.value + 8, 1e-6);
    assert_near(moved.error_kelvin.value, run.error_kelvin.value, 1e-6);
    assert_near(moved.swing_kelvin.value, run.swing_kelvin.value, 1e-6);
    assert_near(moved.period_second.value, run.period_second.value, 1e-5);
    assert_near(moved.preheat_second.value, run.preheat_second.value, 1e-5);
}

/* The thermometer's part of the uncertainty, worked by hand. */
static void thermometers_count(void **state)
{
    (void)state;
    Error error;
    RunTerms terms = {.has_probe = true, .probe_class = SENSOR_CLASS_2};
    assert_true(sensor_read_kind(text_of("k"), &terms.probe, &error));
    const int count = one_node(10, 0, 7200);
    Run run = analyse(count, 177, &terms);
    assert_near(run.budget.probe, 2.5 / sqrt(3), 1e-9); /* IEC 60584-1, class 2 */
    /* A rectangular quantity alone: 95 % of it (GUM 4.3.7); the scatter adds next to nothing. */
    assert_near(run.half_width_kelvin, 0.95 * 2.5, 0.01);
    assert_true(sensor_read_kind(text_of("pt100"), &terms.probe, &error));
    terms.probe_class = SENSOR_CLASS_B;
    terms.has_meter = true;
    assert_true(meter_read_accuracy(text_of("0.5%+2"), &terms.meter, &error));
    terms.resolution_kelvin = 0.1;
    run = analyse(count, 177, &terms);
    const double mean = run.mean_celsius.value;
    assert_near(run.budget.probe, (0.3 + 0.005 * mean) / sqrt(3), 1e-9); /* IEC 60751, class B */
    assert_near(run.budget.meter, (0.005 * mean + 0.2) / sqrt(3), 1e-9);
    terms.probe_class = SENSOR_CLASS_2; /* no class of platinum */
    const RunLog log = {
        .second = second, .count = count, .channels = {{"", celsius, false}}, .channel_count = 1};
    assert_false(run_analyse(&log, 0, &terms, &arena, &run, &error));
    assert_int_equal(error.code, ERROR_WRONG_KIND);
}

/* Logs that each show one thing. */

static void says_why(const Run *run, RunFindingCode code)
{
    if (!run_has_finding(run, code)) fail_msg("should find %s", run_finding_word(code));
}

static int rise_to(double level, double tau, double length)
{
    int count = 0;
    for (double t = 0; t <= length; t += 10) {
        second[count] = t;
        celsius[count++] = level + (22 - level) * exp(-t / tau);
    }
    return count;
}

static void an_oven_that_never_cycles_has_no_mean(void **state)
{
    (void)state;
    const Run run = analyse(rise_to(150, 900, 7200), 177, NULL);
    says_why(&run, RUN_NEVER_CYCLES);
    says_why(&run, RUN_NEVER_REACHES);
    assert_true(isnan(run.mean_celsius.value) && isnan(run.swing_kelvin.value) &&
                isnan(run.preheat_second.value));
    assert_near(run.end_celsius, 150, 0.5);
    assert_false(run.is_settled);
}

/* Held at one temperature: noise of a kelvin alone makes no cycles, however long it goes on. */
static void noise_is_no_cycle(void **state)
{
    (void)state;
    RandomStream stream = random_stream(5);
    for (int trial = 0; trial < 50; trial++) {
        const int count = rise_to(170, 300, 10000);
        for (int i = 0; i < count; i++) celsius[i] += random_normal(&stream);
        const Run run = analyse(count, 177, NULL);
        says_why(&run, RUN_NEVER_CYCLES);
        assert_true(isnan(run.mean_celsius.value));
    }
}

/* Two hours of a dead oven, and of one that runs away, as a display with tenths shows them: neighbours are
 * often equal, and the slow rise at the end turns seldom. Neither has a cycle, and each is told as what it
 * is. */
static void tenths_of_noise_are_no_cycle(void **state)
{
    (void)state;
    static const double noises[] = {0.1, 0.3, 0.6};
    RandomStream stream = random_stream(6);
    for (int trial = 0; trial < 90; trial++) {
        const double noise = noises[trial % 3], rises = trial % 2 ? 390 : 0;
        for (int i = 0; i < 721; i++) {
            second[i] = 10 * i;
            const double value = 22 + rises * (1 - exp(-second[i] / 1500)) + noise * random_normal(&stream);
            celsius[i] = floor(value * 10 + 0.5) / 10;
        }
        const Run run = analyse(721, 177, NULL);
        says_why(&run, rises > 0 ? RUN_RUNS_AWAY : RUN_NEVER_REACHES);
        says_why(&run, RUN_NEVER_CYCLES);
        assert_true(isnan(run.mean_celsius.value));
        assert_int_equal(run.cycles, 0);
    }
}

/* Notes every two or three minutes: peaks and troughs as a person looks at the display. */
static void notes_by_hand_have_cycles(void **state)
{
    (void)state;
    static const double minutes[] = {0, 5, 10, 13, 15, 18, 21, 23, 25, 28, 31, 33, 35, 38, 41, 43, 45, 48};
    static const double shown[] = {72,  180, 290, 340, 362, 351, 338, 349, 364,
                                   352, 337, 350, 363, 351, 338, 349, 364, 352};
    for (int i = 0; i < 18; i++) second[i] = 60 * minutes[i], celsius[i] = (shown[i] - 32) / 1.8;
    const RunTerms terms = {.is_hand_read = true};
    const Run run = analyse(18, (350 - 32) / 1.8, &terms);
    says_why(&run, RUN_SPARSE);
    assert_near(run.period_second.value, 600, 15);
    assert_near(run.mean_celsius.value * 1.8 + 32, 350.5, 2);
    assert_near(run.swing_kelvin.value * 1.8, 26, 4);
}

static void one_that_runs_away_is_found(void **state)
{
    (void)state;
    const Run run = analyse(rise_to(420, 3000, 3600), 177, NULL);
    says_why(&run, RUN_RUNS_AWAY);
    assert_near(run.preheat_second.value, 3000 * log((420 - 22) / (420 - 177.0)), 1);
    assert_true(isnan(run.mean_celsius.value) && isnan(run.overshoot_kelvin.value));
}

static void a_short_log_says_so(void **state)
{
    (void)state;
    const Run run = analyse(one_node(10, 0, 1200), 177, NULL);
    says_why(&run, RUN_LOG_TOO_SHORT);
    assert_true(isnan(run.mean_celsius.value));
    assert_near(run.preheat_second.value, 896.57, 0.1);
}

static void a_hot_start_has_no_preheat(void **state)
{
    (void)state;
    const int count = one_node(10, 0, 9000);
    for (int i = 0; i + 150 < count; i++) celsius[i] = celsius[i + 150];
    const Run run = analyse(count - 150, 177, NULL);
    says_why(&run, RUN_STARTS_HOT);
    assert_true(isnan(run.preheat_second.value) && isnan(run.overshoot_kelvin.value));
    assert_near(run.mean_celsius.value, 176.9325, 0.01);
}

static void waiting_before_the_start_is_left_out(void **state)
{
    (void)state;
    const int count = one_node(10, 0, 7200), wait = 60;
    for (int i = count - 1; i >= wait; i--) celsius[i] = celsius[i - wait];
    for (int i = 0; i < wait; i++) celsius[i] = 22;
    const Run run = analyse(count, 177, NULL);
    says_why(&run, RUN_STARTS_EARLY);
    assert_near(run.preheat_second.value, 896.57, 11);
}

/* An open door: down by 40 kelvin within 20 seconds, back over four minutes. */
static void an_open_door_is_left_out(void **state)
{
    (void)state;
    const int count = one_node(10, 0, 9000);
    for (int i = 0; i < count; i++) {
        const double since = second[i] - 5000;
        if (since > 0) celsius[i] -= since < 20 ? 2 * since : 40 * exp(-(since - 20) / 60);
    }
    const Run run = analyse(count, 177, NULL);
    says_why(&run, RUN_DOOR_OPENED);
    assert_int_equal(run.door_count, 1);
    assert_near(run.doors[0].from_second, 5000, 11);
    assert_near(run.mean_celsius.value, 176.9325, 0.05);
    assert_near(run.swing_kelvin.value, 14, 0.3);
}

/* The logger went on for an hour after the oven was switched off. */
static void cooling_at_the_end_is_left_out(void **state)
{
    (void)state;
    const int count = one_node(10, 0, 9000 + 3600), off = 900;
    for (int i = off; i < count; i++)
        celsius[i] = 22 + (celsius[off - 1] - 22) * exp(-(second[i] - second[off - 1]) / 3000);
    const Run run = analyse(count, 177, NULL);
    says_why(&run, RUN_SWITCHED_OFF);
    assert_near(run.mean_celsius.value, 176.9325, 0.01);
    assert_near(run.swing_kelvin.value, 14, 0.1);
    assert_near(run.preheat_second.value, 896.57, 0.1);
    assert_near(run.to_second, second[count - 1], 0);
}

static void gaps_spikes_and_over_range_rows_are_left_out(void **state)
{
    (void)state;
    int count = one_node(10, 0, 9000), kept = 0;
    for (int i = 0; i < count; i++) {
        if (second[i] > 4000 && second[i] < 4300) continue;
        second[kept] = second[i], celsius[kept++] = celsius[i];
    }
    count = kept;
    celsius[300] += 90, celsius[350] -= 60, celsius[351] -= 70;
    celsius[400] = INFINITY, celsius[500] = NAN;
    const Run run = analyse(count, 177, NULL);
    says_why(&run, RUN_GAPS);
    says_why(&run, RUN_SPIKES);
    says_why(&run, RUN_OVER_RANGE);
    for (int i = 0; i < run.finding_count; i++)
        if (run.findings[i].code == RUN_SPIKES) assert_near(run.findings[i].amount, 3, 0);
    assert_near(run.mean_celsius.value, 176.9325, 0.02);
    assert_near(run.swing_kelvin.value, 14, 0.1);
}

static void few_values_in_a_cycle_are_said(void **state)
{
    (void)state;
    const Run run = analyse(one_node(75, 0, 14000), 177, NULL);
    says_why(&run, RUN_SPARSE);
    assert_true(run.budget.sampling >= 0);
    const Run poor = analyse(one_node(170, 0, 14000), 177, NULL);
    says_why(&poor, RUN_SPARSE);
    assert_true(isnan(poor.mean_celsius.value));
}

static void next_to_nothing_is_no_log(void **state)
{
    (void)state;
    for (int count = 0; count < 3; count++) {
        const Run run = analyse(one_node(10, 0, 10 * count - 1), 177, NULL);
        says_why(&run, RUN_NO_VALUES);
        assert_true(isnan(run.mean_celsius.value));
    }
}

static void time_must_rise(void **state)
{
    (void)state;
    Run run;
    Error error;
    const RunTerms terms = {.set_celsius = 177};
    const int count = one_node(10, 0, 1000);
    second[50] = second[20];
    const RunLog log = {
        .second = second, .count = count, .channels = {{"", celsius, false}}, .channel_count = 1};
    assert_false(run_analyse(&log, 0, &terms, &arena, &run, &error));
    assert_int_equal(error.code, ERROR_INCONSISTENT);
}

/* The advice. */

static const char *const ADVICE_KEYS[] = {"given",        "width",  "range",   "step",    "now",
                                          "differential", "swing",  "preheat", "duty",    "with",
                                          "at-450",       "expect", "offset",  "remains", NULL};

/* A second thermometer at the bulb, in step with the first: a sine of 9 K around 181 C has that mean and
 * twice that swing over any whole cycle; with every second value missing or a loose plug twice, too, and not
 * at all where it logged nothing, which is said. */
static void a_second_thermometer_is_averaged_over_the_same_cycles(void **state)
{
    (void)state;
    static double beside[MOST];
    const double period = 600;
    const int count = one_node(10, 0, 1800);
    for (int i = 0; i < 900; i++) {
        second[i] = 10.0 * i;
        if (i >= count) celsius[i] = 177 + 12 * sin(2 * acos(-1) * (second[i] - 1800) / period);
        beside[i] = 181 + 9 * sin(2 * acos(-1) * (second[i] - 1800) / period);
    }
    const RunLog log = {.second = second,
                        .count = 900,
                        .channels = {{"", celsius, false}, {"bulb", beside, false}},
                        .channel_count = 2};
    for (int round = 0; round < 4; round++) {
        Run run = analyse(900, 177, NULL);
        if (round == 2) beside[602] = 400, beside[700] = -40;
        assert_true(run_add_sensor(&log, 1, &arena, &run, NULL));
        assert_int_equal(run.has_sensor, round < 3);
        assert_int_equal(run_has_finding(&run, RUN_SENSOR_SILENT), round == 3);
        if (round < 3) {
            assert_near(run.sensor_celsius.value, 181, 0.1);
            assert_near(run.sensor_swing_kelvin.value, 18, 0.1);
            assert_true(run.sensor_celsius.uncertainty > 0);
        }
        for (int i = 0; i < 900; i++)
            if (round > 1 || i % 2) beside[i] = NAN;
    }
}

static void add_finding(Run *run, RunFindingCode code)
{
    run->findings[run->finding_count++] = (RunFinding){code, NAN, NAN};
}

static Run run_of(const TableRow *row, const char *key, double set)
{
    const double error = table_value(row, key, UNIT_KELVIN), width = table_value(row, "width", UNIT_KELVIN);
    const char *with = table_text(row, "with");
    Run run = {.set_celsius = set,
               .mean_celsius = {set + error, width},
               .error_kelvin = {error, width},
               .budget = {.probe = width / sqrt(2), .scatter = width / sqrt(2)},
               .swing_kelvin = {table_value(row, "swing", UNIT_KELVIN), 0.1},
               .heat_up_second = table_value(row, "preheat", UNIT_SECOND),
               .duty = {table_value(row, "duty", UNIT_RATIO), 0.01},
               .cycles = 8,
               .is_settled = strcmp(with, "unsettled") != 0};
    if (strcmp(with, "runs-away") == 0) add_finding(&run, RUN_RUNS_AWAY);
    if (strcmp(with, "never-cycles") == 0 || strcmp(with, "weak") == 0) add_finding(&run, RUN_NEVER_CYCLES);
    if (strcmp(with, "weak") == 0) add_finding(&run, RUN_NEVER_REACHES);
    if (strcmp(with, "short") == 0) {
        add_finding(&run, RUN_LOG_TOO_SHORT);
        run.mean_celsius.value = run.error_kelvin.value = NAN;
    }
    return run;
}

static void check_advice(const TableRow *row)
{
    Run runs[2] = {run_of(row, "given", (350 - 32) / 1.8)};
    const int count = table_has(row, "at-450") ? 2 : 1;
    if (count == 2) runs[1] = run_of(row, "at-450", (450 - 32) / 1.8);
    RunControl control = {.offset_step_kelvin = table_value(row, "step", UNIT_KELVIN),
                          .offset_now_kelvin = table_value(row, "now", UNIT_KELVIN),
                          .differential_kelvin = table_value(row, "differential", UNIT_KELVIN),
                          .is_screw = strcmp(table_text(row, "with"), "screw") == 0};
    table_range(row, "range", UNIT_KELVIN, &control.offset_from_kelvin, &control.offset_to_kelvin);
    RunAdvice advice;
    char got[80];
    run_advise(runs, count, &control, 15 / 1.8, &advice);
    snprintf(got, sizeof got, "%s/%s", run_action_word(advice.action), run_reason_word(advice.reason));
    table_true(row, strcmp(got, table_text(row, "expect")) == 0, got);
    if (!table_has(row, "offset")) {
        table_true(row, isnan(advice.offset_kelvin), "no offset is to be set");
        return;
    }
    table_near(row, advice.offset_kelvin, table_value(row, "offset", UNIT_KELVIN), 1e-9);
    table_near(row, advice.remaining_kelvin.value, table_value(row, "remains", UNIT_KELVIN), 0.01);
    table_true(row, advice.remaining_kelvin.uncertainty >= runs[0].budget.probe,
               "the thermometer's part stays");
}

static void advice_follows_its_rules(void **state)
{
    (void)state;
    assert_true(table_check("run/advice", ADVICE_KEYS, check_advice) > 20);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(figures_are_those_of_the_closed_form),
        cmocka_unit_test(both_ways_give_the_same_figures),
        cmocka_unit_test(figures_move_as_they_should),
        cmocka_unit_test(thermometers_count),
        cmocka_unit_test(an_oven_that_never_cycles_has_no_mean),
        cmocka_unit_test(noise_is_no_cycle),
        cmocka_unit_test(tenths_of_noise_are_no_cycle),
        cmocka_unit_test(notes_by_hand_have_cycles),
        cmocka_unit_test(one_that_runs_away_is_found),
        cmocka_unit_test(a_short_log_says_so),
        cmocka_unit_test(a_hot_start_has_no_preheat),
        cmocka_unit_test(waiting_before_the_start_is_left_out),
        cmocka_unit_test(an_open_door_is_left_out),
        cmocka_unit_test(cooling_at_the_end_is_left_out),
        cmocka_unit_test(gaps_spikes_and_over_range_rows_are_left_out),
        cmocka_unit_test(few_values_in_a_cycle_are_said),
        cmocka_unit_test(next_to_nothing_is_no_log),
        cmocka_unit_test(time_must_rise),
        cmocka_unit_test(a_second_thermometer_is_averaged_over_the_same_cycles),
        cmocka_unit_test(advice_follows_its_rules)};
    const int failed = cmocka_run_group_tests(tests, NULL, NULL);
    arena_free(&arena);
    return failed;
}
