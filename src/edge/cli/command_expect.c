/* command_expect.c: `ovenwright expect A --between M1 M2 ...`: what the meter should show there, healthy and
 * under each single fault, and whether another path would hide a fault.
 *
 * The same circuit, meter and judgement as a call's, without a call: for the technician who only wants to
 * know what should be there, and for whoever doubts a diagnosis and asks where a number came from. */
#include "core/circuit/circuit.h"

#include "edge/cli/load.h"
#include "format/call_json/call_json.h"

#include <math.h>
#include <stdio.h>

enum { SAID_LIMIT = 2000, DISPLAY_LENGTH = 40, MOST_WARNINGS = 2 };

static const Unit units[] = {
    [READING_OHM] = UNIT_OHM, [READING_VOLT] = UNIT_VOLT, [READING_AMP] = UNIT_AMPERE};

/* What every routine below needs. */
typedef struct {
    const Invocation *invocation;
    Appliance appliance;
    Connection connection;
    Circuit circuit;
    Meter meter;
    Expectation expectation;
    bool has_reading;
    Quantity reading;
    MeterJudgement judgement;
    Words words;
    const char *warnings[MOST_WARNINGS];
    int warning_count;
} Expect;

/* What the meter is set to; ohms unless said otherwise, the reading that is safe to take. */
static bool read_measure(const Invocation *invocation, ReadingKind *kind, Error *error)
{
    static const char *const names[] = {
        [READING_OHM] = "ohm", [READING_VOLT] = "volt", [READING_AMP] = "amp"};
    const char *typed = cli__option(invocation, OPTION_MEASURE, "ohm");
    for (int i = 0; i < 3; i++) {
        if (!text_equal(typed, names[i])) continue;
        *kind = (ReadingKind)i;
        return true;
    }
    return error_set(error, ERROR_USAGE, typed, "--measure ohm, volt or amp");
}

/* Power follows from the meter when it is not said: off for ohms, on for volts and amperes. */
static bool read_power(const Invocation *invocation, Connection *connection, Error *error)
{
    const char *otherwise = connection->kind == READING_OHM ? "off" : "on";
    const char *typed = cli__option(invocation, OPTION_POWER, otherwise);
    connection->power_on = text_equal(typed, "on");
    if (!connection->power_on && !text_equal(typed, "off"))
        return error_set(error, ERROR_USAGE, typed, "--power on or off");
    return true;
}

/* The last --between counts, like every option that is no list. */
static bool read_marks(const Expect *expect, Connection *connection, Error *error)
{
    const Invocation *invocation = expect->invocation;
    const char *const *ends = NULL;
    for (int i = 0; i < invocation->option_count; i++)
        if (invocation->options[i].code == OPTION_BETWEEN) ends = invocation->options[i].words;
    if (!ends)
        return error_set(error, ERROR_USAGE, "no marks", "--between M1 M2, the marks where the probes are");
    return appliance_need_mark(&expect->appliance, ends[0], &connection->from, error) &&
           appliance_need_mark(&expect->appliance, ends[1], &connection->to, error);
}

/* Wires taken off and plugs opened, in the order in which they were typed. */
static bool read_opened(const Expect *expect, Connection *connection, Error *error)
{
    const Invocation *invocation = expect->invocation;
    for (int i = 0; i < invocation->option_count; i++) {
        const OptionGiven *given = &invocation->options[i];
        const bool is_lift = given->code == OPTION_LIFT, is_unplug = given->code == OPTION_UNPLUG;
        if (!is_lift && !is_unplug) continue;
        if (connection->lift_count == CONNECTION_MOST_LIFTS ||
            connection->unplug_count == CONNECTION_MOST_LIFTS)
            return error_set(error, ERROR_USAGE, "too many --lift or --unplug", "at most %d",
                             CONNECTION_MOST_LIFTS);
        if (is_lift && !appliance_need_mark(&expect->appliance, given->words[0],
                                            &connection->lifts[connection->lift_count++], error))
            return false;
        if (is_unplug && !appliance_need_part(&expect->appliance, given->words[0],
                                              &connection->unplugs[connection->unplug_count++], error))
            return false;
    }
    return true;
}

/* The connection as typed; it must be one that a call could hold. */
static bool read_connection(Expect *expect, Error *error)
{
    Connection *connection = &expect->connection;
    const Invocation *invocation = expect->invocation;
    const char *function = cli__option(invocation, OPTION_FUNCTION, "off");
    *connection = (Connection){.low_impedance = cli__has_option(invocation, OPTION_LOW_IMPEDANCE)};
    if (!read_measure(invocation, &connection->kind, error) || !read_power(invocation, connection, error) ||
        !read_marks(expect, connection, error) ||
        !appliance_need_function(&expect->appliance, function, &connection->function, error) ||
        !read_opened(expect, connection, error))
        return false;
    Entry entry = {.kind = ENTRY_READING, .connection = *connection, .part = -1};
    entry.value = (Quantity){.value = 0, .unit = units[connection->kind]};
    return call_check_entry(&expect->appliance, &entry, error);
}

/* Warns when another path would hide an open part between the marks. */
static bool find_warnings(Expect *expect, Error *error)
{
    const Appliance *appliance = &expect->appliance;
    CircuitParallel parallel;
    if (!circuit_find_parallel(&expect->circuit, &expect->connection, &parallel, error)) return false;
    if (!parallel.is_hidden) return true;
    char ohm[DISPLAY_LENGTH];
    quantity_format(parallel.hidden_ohm, UNIT_OHM, ohm, sizeof ohm);
    const bool lifts = parallel.lift >= 0, unplugs = !lifts && parallel.unplug >= 0;
    TextBuilder said = text_builder(expect->invocation->arena, SAID_LIMIT);
    words_say(&expect->words, &said,
              lifts     ? "expect.lift"
              : unplugs ? "expect.unplug"
                        : "expect.hidden",
              (WordValue[]){{"ohm", ohm},
                            {"around", parallel.around >= 0 ? appliance->parts[parallel.around].name : "?"},
                            {"mark", lifts ? appliance->marks[parallel.lift].name : ""},
                            {"plug", unplugs ? appliance->parts[parallel.unplug].name : ""}},
              4);
    expect->warnings[expect->warning_count++] = text_string(&said);
    return true;
}

/* A reading that was taken there: of the same unit as the meter's setting, or OL. */
static bool judge_reading(Expect *expect, Error *error)
{
    const char *typed = cli__option(expect->invocation, OPTION_READING, NULL);
    if (!typed) return true;
    if (!quantity_read(text_of(typed), &expect->reading, error)) return false;
    if (!expect->reading.is_over && expect->reading.unit != units[expect->connection.kind])
        return error_set(error, ERROR_WRONG_KIND, typed, "%s, as the meter is set",
                         quantity_unit_says(units[expect->connection.kind]));
    expect->has_reading = true;
    expect->judgement = circuit_judge(&expect->expectation, &expect->connection, &expect->meter,
                                      expect->reading.is_over ? INFINITY : expect->reading.value);
    return true;
}

static void say_judgement(const Expect *expect, TextBuilder *out)
{
    static const char *const keys[] = {[METER_INSIDE] = "expect.inside",
                                       [METER_OUTSIDE] = "expect.outside",
                                       [METER_CANNOT_TELL] = "expect.cannot-tell"};
    char reading[DISPLAY_LENGTH], probability[DISPLAY_LENGTH];
    if (!expect->has_reading) return;
    words_write_figure(&expect->meter, expect->connection.kind,
                       expect->reading.is_over ? INFINITY : expect->reading.value, reading, sizeof reading);
    snprintf(probability, sizeof probability, "%.1f %%", 100 * expect->judgement.inside_probability);
    words_say(&expect->words, out, keys[expect->judgement.verdict],
              (WordValue[]){{"reading", reading}, {"probability", probability}}, 2);
    text_add(out, "\n");
}

/* All figures as this meter's display has them, so that they can be compared by eye. */
static void say_healthy(const Expect *expect, TextBuilder *out)
{
    const Expectation *expectation = &expect->expectation;
    const ReadingKind kind = expect->connection.kind;
    char value[DISPLAY_LENGTH], low[DISPLAY_LENGTH], high[DISPLAY_LENGTH];
    words_write_figure(&expect->meter, kind, expectation->is_over ? INFINITY : expectation->value, value,
                       sizeof value);
    words_write_figure(&expect->meter, kind, expectation->low, low, sizeof low);
    words_write_figure(&expect->meter, kind, expectation->high, high, sizeof high);
    words_say(&expect->words, out, expectation->is_over ? "expect.healthy-over" : "expect.healthy",
              (WordValue[]){{"value", value}, {"low", low}, {"high", high}}, 3);
    text_add(out, "\n");
}

/* What can be told from a healthy part is worth a line each; the rest is a number. */
static void say_faults(const Expect *expect, bool told_apart, TextBuilder *out)
{
    char value[DISPLAY_LENGTH];
    for (int f = 0; f < expect->appliance.fault_count; f++) {
        const FaultReading *reading = &expect->expectation.faults[f];
        if (reading->is_told_apart != told_apart) continue;
        const Fault *fault = &expect->appliance.faults[f];
        words_write_figure(&expect->meter, expect->connection.kind, reading->value, value, sizeof value);
        text_addf(out, "  %-14s %-36s %s\n", value, fault->name, fault->mode->says);
    }
}

/* First what hands must do, then the figure, then what would make it lie, then the faults. */
static void say_all(const Expect *expect, TextBuilder *out)
{
    int alike = 0;
    for (int f = 0; f < expect->appliance.fault_count; f++)
        alike += !expect->expectation.faults[f].is_told_apart;
    if (!expect->connection.power_on)
        words_say(&expect->words, out, "expect.dead", NULL, 0);
    else
        words_say(&expect->words, out, "expect.live", NULL, 0);
    text_add(out, "\n\n");
    say_healthy(expect, out);
    say_judgement(expect, out);
    for (int w = 0; w < expect->warning_count; w++) text_addf(out, "%s\n", expect->warnings[w]);
    text_add(out, "\n");
    words_say(&expect->words, out, "expect.different", NULL, 0);
    text_add(out, "\n");
    say_faults(expect, true, out);
    char count[DISPLAY_LENGTH];
    snprintf(count, sizeof count, "%d", alike);
    words_say(&expect->words, out, "expect.alike", (WordValue[]){{"count", count}}, 1);
    text_add(out, "\n");
}

bool cli__expect(Invocation *invocation, Error *error)
{
    Expect *expect = ARENA_ARRAY(invocation->arena, Expect, 1);
    if (!expect) return error_memory(error);
    expect->invocation = invocation;
    expect->meter = meter_default();
    double ambient;
    const char *typed = cli__option(invocation, OPTION_AMBIENT, "22C");
    if (!load_appliance_with_options(invocation, invocation->arguments[0], &expect->appliance, error) ||
        !desk_load_words(cli__language(), invocation->arena, &expect->words, error) ||
        !quantity_read_as(text_of(typed), UNIT_CELSIUS, &ambient, error) || !read_connection(expect, error) ||
        !circuit_begin(&expect->appliance, ambient, invocation->arena, &expect->circuit, error) ||
        !circuit_expect(&expect->circuit, &expect->connection, &expect->meter, &expect->expectation, error) ||
        !find_warnings(expect, error) || !judge_reading(expect, error))
        return false;
    if (cli__has_option(invocation, OPTION_JSON))
        return call_json_expectation(&expect->circuit, &expect->connection, &expect->meter,
                                     &expect->expectation, expect->has_reading ? &expect->judgement : NULL,
                                     expect->warnings, expect->warning_count, &invocation->out, error);
    say_all(expect, &invocation->out);
    return true;
}
