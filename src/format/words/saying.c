/* saying.c: codes and numbers of the core as sentences. See words.h.
 *
 * How it is done: a code chooses a key, numbers are written as text with their unit, and words_say puts
 * them into the sentence of that key. No English stands here, and no grammar either: a language that needs
 * another order of the values has it in its file.
 *
 * Two kinds of names are never translated, because other programs and people's notes hold on to them: those
 * of faults ('bake-element.open') and of steps ('ohm:BK1-BK2:lift=BK1').
 *
 * Bad at: plurals and cases. Sentences are written so that neither is needed; a language where that cannot
 * be done needs more keys. */
#include <assert.h>
#include <math.h>
#include <stdio.h>

#include "format/words/words_private.h"

/* Bytes of a value within a sentence; suspects that one sentence can name
 * before nobody reads on. */
enum { TEXT_LIMIT = 4000, MOST_NAMED = 8 };

TextBuilder words__part_of(const TextBuilder *out) { return text_builder(out->arena, TEXT_LIMIT); }

/* One decimal where it matters: among the nearly impossible and the nearly certain. */
void words__write_percent(double probability, char *out)
{
    const double percent = 100 * probability;
    snprintf(out, WORDS_NUMBER_LENGTH, percent < 0.95 || percent > 99 ? "%.1f %%" : "%.0f %%", percent);
}

/* The name that other programs compare: never translated. */
void words_name_group(const DiagnosisModel *model, int group, TextBuilder *out)
{
    const HypothesisGroup *members = &model->groups[group];
    if (members->count == 0) text_add(out, "nothing-wrong");
    for (int i = 0; i < members->count; i++)
        text_addf(out, "%s%s", i ? "+" : "", model->appliance->faults[members->faults[i]].name);
}

void words_call_group(const Words *words, const DiagnosisModel *model, int group, TextBuilder *out)
{
    const Appliance *appliance = model->appliance;
    const HypothesisGroup *members = &model->groups[group];
    if (members->count == 0) text_add(out, "nothing-wrong");
    for (int i = 0; i < members->count; i++) {
        const Fault *fault = &appliance->faults[members->faults[i]];
        const char *part = appliance->parts[fault->part].name, *called = words_name(words, part, out->arena);
        if (i) text_add(out, "+");
        if (called == part)
            text_add(out, fault->name);
        else
            text_addf(out, "%s: %s", called, words_translate(words, fault->mode->says));
    }
}

/* The words of the fault's own mode; nothing for 'nothing wrong', which is a sentence and no fault. */
void words_say_group(const Words *words, const DiagnosisModel *model, int group, TextBuilder *out)
{
    const HypothesisGroup *members = &model->groups[group];
    for (int i = 0; i < members->count; i++)
        text_addf(out, "%s%s", i ? "; " : "",
                  words_translate(words, model->appliance->faults[members->faults[i]].mode->says));
}

static const char *const unit_signs[] = {[READING_OHM] = "ohm", [READING_VOLT] = "V", [READING_AMP] = "A"};

static Unit unit_of(ReadingKind kind)
{
    return kind == READING_OHM ? UNIT_OHM : kind == READING_VOLT ? UNIT_VOLT : UNIT_AMPERE;
}

/* How the meter was connected, as far as it is not a matter of course. */
static void say_connection(const Words *words, const Appliance *appliance, const Connection *connection,
                           TextBuilder *out)
{
    if (connection->function > 0)
        words_say(
            words, out, "entry.function",
            (WordValue[]){
                {"function", words_name(words, appliance->functions[connection->function].name, out->arena)}},
            1);
    if (connection->low_impedance) words_say(words, out, "entry.low-impedance", NULL, 0);
    for (int i = 0; i < connection->lift_count; i++)
        words_say(words, out, "entry.lift",
                  (WordValue[]){{"mark", appliance->marks[connection->lifts[i]].name}}, 1);
    for (int i = 0; i < connection->unplug_count; i++)
        words_say(words, out, "entry.unplug",
                  (WordValue[]){
                      {"plug", words_name(words, appliance->parts[connection->unplugs[i]].name, out->arena)}},
                  1);
}

/* The value is written anew and not kept as typed: 0.238kV and 238V are the same entry. */
static void say_reading(const Words *words, const Appliance *appliance, const Entry *entry, TextBuilder *out)
{
    const Connection *connection = &entry->connection;
    char value[WORDS_NUMBER_LENGTH];
    quantity_format(entry->value.value, unit_of(connection->kind), value, sizeof value);
    words_say(words, out, "entry.reading",
              (WordValue[]){{"value", value},
                            {"from", appliance->marks[connection->from].name},
                            {"to", appliance->marks[connection->to].name}},
              3);
    say_connection(words, appliance, connection, out);
}

/* Two sentences and not one with a hole: 'seen: dark' and 'seen: dark (set to bake)'. */
static void say_look(const Words *words, const Appliance *appliance, const Entry *entry, TextBuilder *out)
{
    const char *function = entry->function >= 0
                               ? words_name(words, appliance->functions[entry->function].name, out->arena)
                               : NULL;
    if (entry->is_glance) {
        words_say(
            words, out, entry->part < 0 ? "entry.glance" : "entry.glance-at",
            (WordValue[]){
                {"place", words_name(words, appliance->description->places[entry->place].name, out->arena)},
                {"part",
                 entry->part < 0 ? "" : words_name(words, appliance->parts[entry->part].name, out->arena)},
                {"words", words_name(words, appliance->catalogue->looks[entry->words[0]].name, out->arena)}},
            3);
        return;
    }
    words_say(words, out, function ? "entry.look-at" : "entry.look",
              (WordValue[]){
                  {"part", words_name(words, appliance->parts[entry->part].name, out->arena)},
                  {"words", words_name(words, appliance->catalogue->looks[entry->words[0]].name, out->arena)},
                  {"function", function ? function : ""}},
              3);
}

/* Kinds that say nothing of the oven's parts share one short sentence. */
void words_say_entry(const Words *words, const Appliance *appliance, const Entry *entry, TextBuilder *out)
{
    if (entry->kind == ENTRY_READING) {
        say_reading(words, appliance, entry, out);
    } else if (entry->kind == ENTRY_LOOK) {
        say_look(words, appliance, entry, out);
    } else if (entry->kind == ENTRY_COMPLAINT) {
        TextBuilder list = words__part_of(out);
        for (int i = 0; i < entry->word_count; i++)
            text_addf(&list, "%s%s", i ? ", " : "",
                      words_name(words, appliance->catalogue->complaints[entry->words[i]].name, out->arena));
        words_say(words, out, "entry.complaint", (WordValue[]){{"words", text_string(&list)}}, 1);
    } else if (entry->kind == ENTRY_ASKED) {
        words_say(
            words, out, entry->is_yes ? "entry.asked-yes" : "entry.asked-no",
            (WordValue[]){{"words", words_name(words, appliance->catalogue->complaints[entry->words[0]].name,
                                               out->arena)}},
            1);
    } else if (entry->kind == ENTRY_RUN || entry->kind == ENTRY_SPOT || entry->kind == ENTRY_SETTING) {
        words__say_temperature(words, entry, out);
    } else {
        words_say(words, out, "entry.other", (WordValue[]){{"kind", call_entry_kind_name(entry->kind)}}, 1);
    }
}

/* Rounded to the meter's step first, so that 25.683 ohm reads 25.7 as it would on the display, and prefixes
 * as quantity_format has them. */
void words_write_figure(const Meter *meter, ReadingKind kind, double figure, char *out, size_t size)
{
    static const MeterMode modes[] = {
        [READING_OHM] = METER_OHM, [READING_VOLT] = METER_VOLT, [READING_AMP] = METER_AMPERE};
    const double step = meter_resolution(meter, modes[kind], figure);
    const double shown = isfinite(step) ? floor(figure / step + 0.5) * step : INFINITY;
    if (shown == 0)
        snprintf(out, size, "0 %s", unit_signs[kind]);
    else
        quantity_format(shown, unit_of(kind), out, size);
}

void words_say_contradiction(const Words *words, const Standing *standing, const Contradiction *contradiction,
                             TextBuilder *out)
{
    const Appliance *appliance = standing->model->appliance;
    char entry[WORDS_NUMBER_LENGTH], against[WORDS_NUMBER_LENGTH];
    TextBuilder what = words__part_of(out), other = words__part_of(out);
    const bool has_other = contradiction->against >= 0;
    words_say_entry(words, appliance, &standing->call->entries[contradiction->entry], &what);
    if (has_other)
        words_say_entry(words, appliance, &standing->call->entries[contradiction->against], &other);
    snprintf(entry, sizeof entry, "%d", contradiction->entry + 1);
    snprintf(against, sizeof against, "%d", contradiction->against + 1);
    words_say(words, out, has_other ? "contradiction.with" : "contradiction.alone",
              (WordValue[]){{"entry", entry},
                            {"what", text_string(&what)},
                            {"against", against},
                            {"other", text_string(&other)}},
              4);
}

/* 'Found' names the leading suspect alone; a set is named whole, or as far as it can be read. */
void words_say_verdict(const Words *words, const Standing *standing, const Plan *plan, TextBuilder *out)
{
    static const char *const keys[] = {
        [PLAN_GO_ON] = "verdict.go-on",   [PLAN_FOUND] = "verdict.found",
        [PLAN_SET] = "verdict.set",       [PLAN_NOTHING_WRONG] = "verdict.nothing-wrong",
        [PLAN_PROVED] = "verdict.proved", [PLAN_OPEN] = "verdict.open"};
    TextBuilder suspects = words__part_of(out);
    const int all = plan->verdict == PLAN_FOUND ? 1 : plan->set_count,
              named = all < MOST_NAMED ? all : MOST_NAMED;
    for (int i = 0; i < named; i++) {
        if (i) text_add(&suspects, ", ");
        words_call_group(words, standing->model, plan->set[i], &suspects);
    }
    if (all > named) {
        char others[WORDS_NUMBER_LENGTH];
        snprintf(others, sizeof others, "%d", all - named);
        words_say(words, &suspects, "verdict.others", (WordValue[]){{"count", others}}, 1);
    }
    words_say(words, out, keys[plan->verdict], (WordValue[]){{"suspects", text_string(&suspects)}}, 1);
}
