/* entry.c: the two ways between a check and its entry, so that a proposal that was carried out is recognised
 * as done, and an outcome can be imagined as if it had been written down.
 *
 * Not here: which outcomes a check has (predict.c, predict_oven.c), what an entry means (likelihood.c,
 * temperature.c). Invariant: the entry of any outcome of a check is that check.
 *
 * Bad at: runs at other temperatures. Within SAME_SET of the usual one a run counts as made, beyond that as
 * another check, whatever it says. */
#include <assert.h>
#include <math.h>

#include "core/diagnosis/diagnosis_private.h"

static const double SAME_SET = 30;     /* kelvin between set temperatures; common practice, no source */
static const double RUN_SECOND = 5400; /* of an imagined run: as long as the simulation that foresaw it */
static const double WIDE_KELVIN = 15, WIDE_SHARE = 0.3; /* how much an outcome without an end leaves open */
static const double BEYOND_RATIO = 1.3, BEYOND_KELVIN = 10; /* stand for all beyond an edge */

/* In the middle of what an outcome reaches over; where that has no end, somewhat beyond the other. */
static double middle(const Outcome *outcome)
{
    const bool has_low = isfinite(outcome->low), has_high = isfinite(outcome->high);
    if (has_low && has_high) return (outcome->low + outcome->high) / 2;
    if (outcome->kind == OUTCOME_DISPLAY) return has_low ? BEYOND_RATIO * outcome->low : INFINITY; /* OL */
    if (has_low) return outcome->low + BEYOND_KELVIN;
    return has_high ? outcome->high - BEYOND_KELVIN : 0;
}

static Entry reading_entry(const Check *asked, const Outcome *outcome)
{
    static const Unit units[] = {[CHECK_OHM] = UNIT_OHM, [CHECK_VOLT] = UNIT_VOLT, [CHECK_AMP] = UNIT_AMPERE};
    const double shown = middle(outcome);
    return (Entry){.kind = ENTRY_READING,
                   .part = asked->part,
                   .value = {.value = shown, .unit = units[asked->kind], .is_over = isinf(shown)},
                   .connection = appliance_connection(asked)};
}

LookWay diagnosis__way_of(CheckKind kind)
{
    return kind == CHECK_WATCH ? LOOK_POWER : kind == CHECK_STRIP ? LOOK_STRIP : LOOK_CLOSE;
}

static Entry look_entry(const Check *asked, const Outcome *outcome)
{
    return (Entry){.kind = ENTRY_LOOK,
                   .part = asked->part,
                   .function = asked->kind == CHECK_WATCH ? asked->function : -1,
                   .words = {outcome->word},
                   .word_count = 1};
}

static Entry glance_entry(const Check *asked, const Outcome *outcome)
{
    return (Entry){.kind = ENTRY_LOOK,
                   .part = outcome->part,
                   .is_glance = true,
                   .place = asked->places[0],
                   .function = -1,
                   .words = {outcome->word},
                   .word_count = 1};
}

/* The figures are those in the middle of the outcome, and as uncertain as the outcome is wide: flat over a
 * width, its variance is a twelfth of the square of it (GUM 4.3.7). */
static Run imagined_run(const Outcome *outcome)
{
    const RunFigures *figures = &outcome->figures;
    const double width = outcome->high - outcome->low,
                 mean_kelvin = isfinite(width) ? width / sqrt(12) : WIDE_KELVIN;
    return (Run){.set_celsius = THERMAL_MADE_FOR_CELSIUS,
                 .mean_celsius = {figures->mean_celsius, mean_kelvin},
                 .error_kelvin = {figures->mean_celsius - THERMAL_MADE_FOR_CELSIUS, mean_kelvin},
                 .swing_kelvin = {figures->swing_kelvin, WIDE_SHARE * figures->swing_kelvin},
                 .period_second = {figures->period_second, WIDE_SHARE * figures->period_second},
                 .preheat_second = {figures->preheat_second, WIDE_SHARE * figures->preheat_second},
                 .overshoot_kelvin = {figures->overshoot_kelvin, NAN},
                 .duty = {figures->duty, NAN},
                 .cycles = figures->cycles,
                 .is_settled = figures->cycles > 0,
                 .to_second = RUN_SECOND,
                 .settled_second = NAN,
                 .heat_up_second = NAN,
                 .end_celsius = figures->end_celsius};
}

static Entry run_entry(const Outcome *outcome, Run *run)
{
    assert(run);
    *run = imagined_run(outcome);
    if (!run->is_settled) {
        const bool is_away = outcome->kind == OUTCOME_RUNS_AWAY;
        const double amount = run->end_celsius - (is_away ? run->set_celsius : 0);
        run->findings[run->finding_count++] =
            (RunFinding){is_away ? RUN_RUNS_AWAY : RUN_NEVER_CYCLES, NAN, amount};
    }
    return (Entry){.kind = ENTRY_RUN,
                   .part = -1,
                   .function = -1,
                   .set_celsius = THERMAL_MADE_FOR_CELSIUS,
                   .text = "by-hand",
                   .run = run};
}

static Entry setting_entry(const Check *asked, const Outcome *outcome)
{
    Entry entry = {.kind = ENTRY_SETTING, .part = -1, .text = "fault-code"};
    if (asked->kind == CHECK_CODE) {
        entry.shows = outcome->kind == OUTCOME_YES ? "a code" : "none";
    } else {
        entry.text = "offset";
        entry.value = (Quantity){.value = middle(outcome), .unit = UNIT_KELVIN};
    }
    return entry;
}

Entry diagnosis_entry(const DiagnosisModel *model, int check, const Outcome *outcome, Run *run)
{
    assert(check >= 0 && check < model->appliance->check_count);
    const Check *asked = &model->appliance->checks[check];
    switch (asked->kind) {
    case CHECK_SIGHT:
    case CHECK_STRIP:
    case CHECK_WATCH: return look_entry(asked, outcome);
    case CHECK_GLANCE: return glance_entry(asked, outcome);
    case CHECK_RUN: return run_entry(outcome, run);
    case CHECK_SPOT:
        return (Entry){.kind = ENTRY_SPOT,
                       .part = -1,
                       .function = -1,
                       .set_celsius = THERMAL_MADE_FOR_CELSIUS,
                       .value = {.value = middle(outcome), .unit = UNIT_CELSIUS}};
    case CHECK_OFFSET:
    case CHECK_CODE: return setting_entry(asked, outcome);
    case CHECK_ASK:
        return (Entry){.kind = ENTRY_ASKED,
                       .part = -1,
                       .words = {asked->word},
                       .word_count = 1,
                       .is_yes = outcome->kind == OUTCOME_YES};
    default: return reading_entry(asked, outcome);
    }
}

static bool same_pair(const Connection *a, const Connection *b)
{
    return (a->from == b->from && a->to == b->to) || (a->from == b->to && a->to == b->from);
}

static bool contains_all(const int *numbers, int count, const int *wanted, int wanted_count)
{
    for (int w = 0; w < wanted_count; w++) {
        bool is_there = false;
        for (int i = 0; i < count; i++) is_there |= numbers[i] == wanted[w];
        if (!is_there) return false;
    }
    return true;
}

/* The same things are off and open, in whichever order they were written down. */
static bool same_opened(const Connection *a, const Connection *b)
{
    return contains_all(a->lifts, a->lift_count, b->lifts, b->lift_count) &&
           contains_all(b->lifts, b->lift_count, a->lifts, a->lift_count) &&
           contains_all(a->unplugs, a->unplug_count, b->unplugs, b->unplug_count) &&
           contains_all(b->unplugs, b->unplug_count, a->unplugs, a->unplug_count);
}

static bool same_reading(const Entry *entry, const Check *asked)
{
    if (entry->kind != ENTRY_READING) return false;
    const Connection wanted = appliance_connection(asked);
    const Connection *a = &entry->connection, *b = &wanted;
    return a->kind == b->kind && same_pair(a, b) && a->function == b->function &&
           a->power_on == b->power_on && a->low_impedance == b->low_impedance && same_opened(a, b);
}

/* A look without a function counts for any: it was on while it was watched. */
static bool same_look(const Appliance *appliance, const Entry *entry, const Check *asked)
{
    if (entry->kind != ENTRY_LOOK || entry->part != asked->part) return false;
    const LookWay way = appliance->catalogue->looks[entry->words[0]].way;
    if (way != diagnosis__way_of(asked->kind)) return false;
    return way != LOOK_POWER || entry->function < 0 || entry->function == asked->function;
}

static bool same_temperature(const DiagnosisModel *model, const Entry *entry, CheckKind kind)
{
    if (entry->kind != ENTRY_RUN && (entry->kind != ENTRY_SPOT || kind == CHECK_RUN)) return false;
    return fabs(entry->set_celsius - THERMAL_MADE_FOR_CELSIUS) <= SAME_SET &&
           (entry->function < 0 || entry->function == model->usual_function);
}

bool diagnosis_is_check(const DiagnosisModel *model, const Entry *entry, int check)
{
    assert(check >= 0 && check < model->appliance->check_count);
    const Check *asked = &model->appliance->checks[check];
    switch (asked->kind) {
    case CHECK_SIGHT:
    case CHECK_STRIP:
    case CHECK_WATCH: return same_look(model->appliance, entry, asked);
    case CHECK_GLANCE:
        return entry->kind == ENTRY_LOOK && entry->is_glance && entry->place == asked->places[0];
    case CHECK_RUN:
    case CHECK_SPOT: return same_temperature(model, entry, asked->kind);
    case CHECK_OFFSET: return entry->kind == ENTRY_SETTING && text_equal(entry->text, "offset");
    case CHECK_CODE: return entry->kind == ENTRY_SETTING && !text_equal(entry->text, "offset");
    case CHECK_ASK:
        return (entry->kind == ENTRY_ASKED || entry->kind == ENTRY_COMPLAINT) &&
               diagnosis__has_word(entry, asked->word);
    default: return same_reading(entry, asked);
    }
}
