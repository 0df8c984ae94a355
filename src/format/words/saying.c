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

/* Bytes of a number with its unit; bytes of a value within a sentence; suspects that one sentence can name
 * before nobody reads on. */
enum { NUMBER_LENGTH = 40, TEXT_LIMIT = 4000, MOST_NAMED = 8 };

/* A builder of its own for a value that goes into a sentence. */
static TextBuilder part_of(const TextBuilder *out) { return text_builder(out->arena, TEXT_LIMIT); }

/* One decimal where it matters: among the nearly impossible and the nearly certain. */
static void write_percent(double probability, char *out)
{
    const double percent = 100 * probability;
    snprintf(out, NUMBER_LENGTH, percent < 0.95 || percent > 99 ? "%.1f %%" : "%.0f %%", percent);
}

/* The name that other programs compare: never translated. */
void words_name_group(const DiagnosisModel *model, int group, TextBuilder *out)
{
    const HypothesisGroup *members = &model->groups[group];
    if (members->count == 0) text_add(out, "nothing-wrong");
    for (int i = 0; i < members->count; i++)
        text_addf(out, "%s%s", i ? "+" : "", model->appliance->faults[members->faults[i]].name);
}

/* The words of the fault's own mode; nothing for 'nothing wrong', which is a sentence and no fault. */
void words_say_group(const DiagnosisModel *model, int group, TextBuilder *out)
{
    const HypothesisGroup *members = &model->groups[group];
    for (int i = 0; i < members->count; i++)
        text_addf(out, "%s%s", i ? "; " : "", model->appliance->faults[members->faults[i]].mode->says);
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
        words_say(words, out, "entry.function",
                  (WordValue[]){{"function", appliance->functions[connection->function].name}}, 1);
    if (connection->low_impedance) words_say(words, out, "entry.low-impedance", NULL, 0);
    for (int i = 0; i < connection->lift_count; i++)
        words_say(words, out, "entry.lift",
                  (WordValue[]){{"mark", appliance->marks[connection->lifts[i]].name}}, 1);
    for (int i = 0; i < connection->unplug_count; i++)
        words_say(words, out, "entry.unplug",
                  (WordValue[]){{"plug", appliance->parts[connection->unplugs[i]].name}}, 1);
}

/* The value is written anew and not kept as typed: 0.238kV and 238V are the same entry. */
static void say_reading(const Words *words, const Appliance *appliance, const Entry *entry, TextBuilder *out)
{
    const Connection *connection = &entry->connection;
    char value[NUMBER_LENGTH];
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
    const char *function = entry->function >= 0 ? appliance->functions[entry->function].name : NULL;
    words_say(words, out, function ? "entry.look-at" : "entry.look",
              (WordValue[]){{"part", appliance->parts[entry->part].name},
                            {"words", appliance->catalogue->looks[entry->words[0]].name},
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
        TextBuilder list = part_of(out);
        for (int i = 0; i < entry->word_count; i++)
            text_addf(&list, "%s%s", i ? ", " : "", appliance->catalogue->complaints[entry->words[i]].name);
        words_say(words, out, "entry.complaint", (WordValue[]){{"words", text_string(&list)}}, 1);
    } else if (entry->kind == ENTRY_ASKED) {
        words_say(words, out, entry->is_yes ? "entry.asked-yes" : "entry.asked-no",
                  (WordValue[]){{"words", appliance->catalogue->complaints[entry->words[0]].name}}, 1);
    } else if (entry->kind == ENTRY_RUN || entry->kind == ENTRY_SPOT || entry->kind == ENTRY_SETTING) {
        words__say_temperature(words, entry, out);
    } else {
        words_say(words, out, "entry.other", (WordValue[]){{"kind", call_entry_kind_name(entry->kind)}}, 1);
    }
}

static const char *const check_names[] = {
    [CHECK_OHM] = "ohm",     [CHECK_VOLT] = "volt", [CHECK_AMP] = "amp",   [CHECK_SIGHT] = "sight",
    [CHECK_WATCH] = "watch", [CHECK_RUN] = "run",   [CHECK_SPOT] = "spot", [CHECK_OFFSET] = "offset",
    [CHECK_CODE] = "code",   [CHECK_ASK] = "ask"};

/* Kind, place, setting, what comes off first: enough to know the same step again tomorrow. */
static void name_check(const Appliance *appliance, const Check *check, TextBuilder *out)
{
    text_add(out, check_names[check->kind]);
    if (check->from >= 0)
        text_addf(out, ":%s-%s", appliance->marks[check->from].name, appliance->marks[check->to].name);
    else if (check->kind == CHECK_ASK)
        text_addf(out, ":%s", appliance->catalogue->complaints[check->word].name);
    else if (check->part >= 0)
        text_addf(out, ":%s", appliance->parts[check->part].name);
    if (check->function > 0) text_addf(out, ":%s", appliance->functions[check->function].name);
    for (int i = 0; i < check->lift_count; i++)
        text_addf(out, ":lift=%s", appliance->marks[check->lifts[i]].name);
    if (check->unplug >= 0) text_addf(out, ":unplug=%s", appliance->parts[check->unplug].name);
}

/* Entries are counted from 1, here as in all that is shown. */
void words_name_step(const Appliance *appliance, const Step *step, TextBuilder *out)
{
    switch (step->kind) {
    case STEP_CHECK: name_check(appliance, &appliance->checks[step->check], out); break;
    case STEP_REPEAT: text_addf(out, "repeat:%d", step->entry + 1); break;
    case STEP_REPAIR:
        text_addf(out, "%s:%s", step->is_adjustment ? "adjust" : "repair", appliance->parts[step->part].name);
        break;
    case STEP_PROVE: text_add(out, "prove"); break;
    case STEP_CLOSE: text_add(out, "close"); break;
    case STEP_HAND_OVER: text_add(out, "hand-over"); break;
    }
}

static void say_question(const Words *words, const Appliance *appliance, const Check *check, TextBuilder *out)
{
    TextBuilder key = part_of(out), question = part_of(out);
    text_addf(&key, "question.%s", appliance->catalogue->complaints[check->word].name);
    words_say(words, &question, text_string(&key), NULL, 0);
    words_say(words, out, "step.ask", (WordValue[]){{"question", text_string(&question)}}, 1);
}

/* A continuity reading depends on the knob even with the power off, so its setting is said when it is not
 * off. */
static void say_check(const Words *words, const DiagnosisModel *model, const Check *check, TextBuilder *out)
{
    const Appliance *appliance = model->appliance;
    char key[NUMBER_LENGTH], set[NUMBER_LENGTH];
    if (check->kind == CHECK_ASK) {
        say_question(words, appliance, check, out);
        return;
    }
    const bool has_marks = check->from >= 0;
    const int number = check->function >= 0 ? check->function : model->usual_function;
    const char *function = number >= 0 ? appliance->functions[number].name : "";
    const bool is_idle = check->kind == CHECK_WATCH && check->function == 0;
    words__write_dial(THERMAL_MADE_FOR_CELSIUS, set, sizeof set);
    snprintf(key, sizeof key, "step.%s", check_names[check->kind]);
    words_say(words, out, is_idle ? "step.watch-idle" : key,
              (WordValue[]){{"from", has_marks ? appliance->marks[check->from].name : ""},
                            {"to", has_marks ? appliance->marks[check->to].name : ""},
                            {"part", check->part >= 0 ? appliance->parts[check->part].name : ""},
                            {"function", function},
                            {"set", set}},
              5);
    if (check->kind == CHECK_OHM && check->function > 0)
        words_say(words, out, "step.at-function", (WordValue[]){{"function", function}}, 1);
    for (int i = 0; i < check->lift_count; i++)
        words_say(words, out, "step.lift", (WordValue[]){{"mark", appliance->marks[check->lifts[i]].name}},
                  1);
    if (check->unplug >= 0)
        words_say(words, out, "step.unplug", (WordValue[]){{"plug", appliance->parts[check->unplug].name}},
                  1);
}

void words_say_step(const Words *words, const Standing *standing, const Step *step, TextBuilder *out)
{
    const Appliance *appliance = standing->model->appliance;
    char entry[NUMBER_LENGTH];
    if (step->kind == STEP_CHECK) {
        say_check(words, standing->model, &appliance->checks[step->check], out);
    } else if (step->kind == STEP_REPEAT) {
        TextBuilder what = part_of(out);
        words_say_entry(words, appliance, &standing->call->entries[step->entry], &what);
        snprintf(entry, sizeof entry, "%d", step->entry + 1);
        words_say(words, out, "step.repeat", (WordValue[]){{"entry", entry}, {"what", text_string(&what)}},
                  2);
    } else if (step->kind == STEP_REPAIR) {
        words_say(words, out, step->is_adjustment ? "step.adjust" : "step.repair",
                  (WordValue[]){{"part", appliance->parts[step->part].name}}, 1);
    } else {
        words_say(words, out,
                  step->kind == STEP_PROVE   ? "step.prove"
                  : step->kind == STEP_CLOSE ? "step.close"
                                             : "step.hand-over",
                  NULL, 0);
    }
}

static void say_sentence(const Words *words, const char *key, TextBuilder *out)
{
    if (out->length) text_add(out, " ");
    words_say(words, out, key, NULL, 0);
}

/* In the order in which they are opened: the last of them is where the work is. */
static void say_places(const Words *words, const Appliance *appliance, const Step *step, TextBuilder *out)
{
    TextBuilder places = part_of(out);
    for (int i = 0; i < step->open_count; i++)
        text_addf(&places, "%s%s", i ? ", then " : "", appliance->description->places[step->opens[i]].name);
    words_say(words, out, "step.open", (WordValue[]){{"places", text_string(&places)}}, 1);
}

const char *words_name_power(const SafetyNeeds *needs)
{
    return needs->any_power ? "any" : needs->power_on ? "on" : "off";
}

/* A run heats the oven, whatever it is made for. */
static bool heats_the_oven(const Appliance *appliance, const Step *step)
{
    if (step->kind != STEP_CHECK) return step->kind == STEP_PROVE;
    const CheckKind kind = appliance->checks[step->check].kind;
    return kind == CHECK_RUN || kind == CHECK_SPOT;
}

/* The order is that of the hands: cool down, disconnect and prove, open up, switch on, and then care. */
void words_say_before(const Words *words, const Standing *standing, const Step *step, TextBuilder *out)
{
    const SafetyNeeds *needs = &step->needs;
    TextBuilder said = part_of(out);
    if (needs->needs_cool_oven) say_sentence(words, "step.cool", &said);
    if (needs->needs_proof)
        say_sentence(words, "step.dead", &said);
    else if (step->switches_power && !needs->power_on && !needs->any_power) /* a look touches no terminal */
        say_sentence(words, "step.switch-off", &said);
    if (step->open_count) {
        if (said.length) text_add(&said, " ");
        say_places(words, standing->model->appliance, step, &said);
    }
    if (needs->opens_dead && step->open_count)
        say_sentence(words, "step.opens-dead", &said);
    else if (step->switches_power && needs->power_on)
        say_sentence(words, "step.switch-on", &said);
    if (needs->is_live_work) say_sentence(words, "step.live", &said);
    if (heats_the_oven(standing->model->appliance, step)) say_sentence(words, "step.hot", &said);
    text_add(out, text_string(&said));
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

static ReadingKind kind_of(CheckKind kind)
{
    assert(kind <= CHECK_AMP);
    return kind == CHECK_OHM ? READING_OHM : kind == CHECK_VOLT ? READING_VOLT : READING_AMP;
}

/* Three shapes of an outcome: OL, from here up, from here to there. */
static void say_display(const Words *words, const DiagnosisModel *model, CheckKind kind,
                        const Outcome *outcome, TextBuilder *out)
{
    char low[NUMBER_LENGTH], high[NUMBER_LENGTH];
    if (isinf(outcome->low)) {
        words_say(words, out, "why.over", NULL, 0);
        return;
    }
    words_write_figure(&model->meter, kind_of(kind), outcome->low, low, sizeof low);
    if (isinf(outcome->high)) {
        words_say(words, out, "why.above", (WordValue[]){{"low", low}}, 1);
        return;
    }
    words_write_figure(&model->meter, kind_of(kind), outcome->high, high, sizeof high);
    words_say(words, out, "why.between", (WordValue[]){{"low", low}, {"high", high}}, 2);
}

static void say_outcome(const Words *words, const DiagnosisModel *model, const Check *check,
                        const Outcome *outcome, TextBuilder *out)
{
    if (outcome->kind == OUTCOME_LOOK)
        text_add(out, model->appliance->catalogue->looks[outcome->word].name);
    else if (outcome->kind == OUTCOME_DISPLAY)
        say_display(words, model, check->kind, outcome, out);
    else if (outcome->kind == OUTCOME_NO)
        words_say(words, out, check->kind == CHECK_CODE ? "why.no-code" : "why.no", NULL, 0);
    else if (outcome->kind == OUTCOME_YES)
        words_say(words, out, check->kind == CHECK_CODE ? "why.code" : "why.yes", NULL, 0);
    else
        words__say_oven(words, outcome, out);
}

/* One outcome: what the meter or the eye would show, how likely that is, who would lead then. */
static void say_branch(const Words *words, const DiagnosisModel *model, const Step *step,
                       const StepBranch *branch, TextBuilder *out)
{
    char chance[NUMBER_LENGTH], probability[NUMBER_LENGTH];
    TextBuilder shows = part_of(out), leads = part_of(out);
    say_outcome(words, model, &model->appliance->checks[step->check], &branch->outcome, &shows);
    words_name_group(model, branch->group, &leads);
    write_percent(branch->chance, chance);
    write_percent(branch->group_probability, probability);
    words_say(words, out, branch->group == 0 ? "why.outcome-sound" : "why.outcome",
              (WordValue[]){{"shows", text_string(&shows)},
                            {"chance", chance},
                            {"leads", text_string(&leads)},
                            {"probability", probability}},
              4);
}

/* How likely it is that buying this part helps: everything that its replacement would cure. */
static double part_probability(const Standing *standing, int part)
{
    const Appliance *appliance = standing->model->appliance;
    double sum = 0;
    for (int s = 0; s < standing->suspect_count; s++) {
        const HypothesisGroup *group = &standing->model->groups[standing->suspects[s].group];
        bool is_behind = false;
        for (int i = 0; i < group->count; i++)
            is_behind |= appliance->parts[appliance->faults[group->faults[i]].part].replaced_with == part;
        if (is_behind) sum += standing->suspects[s].probability;
    }
    return sum;
}

/* A check gives its reasons by its outcomes; the other steps have one sentence each. */
void words_say_why(const Words *words, const Standing *standing, const Step *step, TextBuilder *out)
{
    char figure[NUMBER_LENGTH];
    if (step->kind == STEP_REPAIR) {
        write_percent(part_probability(standing, step->part), figure);
        words_say(words, out, "why.repair", (WordValue[]){{"probability", figure}}, 1);
    } else if (step->kind == STEP_REPEAT) {
        write_percent(standing->contradictions[0].slip, figure);
        words_say(words, out, "why.repeat", (WordValue[]){{"slip", figure}}, 1);
    } else if (step->kind == STEP_PROVE) {
        words_say(words, out, "why.prove", NULL, 0);
    } else if (step->kind == STEP_CLOSE || step->kind == STEP_HAND_OVER) {
        words_say(words, out, step->kind == STEP_CLOSE ? "why.close" : "why.hand-over", NULL, 0);
    }
    for (int b = 0; b < step->branch_count; b++) {
        if (b) text_add(out, "; ");
        say_branch(words, standing->model, step, &step->branches[b], out);
    }
}

void words_say_contradiction(const Words *words, const Standing *standing, const Contradiction *contradiction,
                             TextBuilder *out)
{
    const Appliance *appliance = standing->model->appliance;
    char entry[NUMBER_LENGTH], against[NUMBER_LENGTH];
    TextBuilder what = part_of(out), other = part_of(out);
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
    static const char *const keys[] = {[PLAN_GO_ON] = "verdict.go-on",
                                       [PLAN_FOUND] = "verdict.found",
                                       [PLAN_SET] = "verdict.set",
                                       [PLAN_NOTHING_WRONG] = "verdict.nothing-wrong",
                                       [PLAN_OPEN] = "verdict.open"};
    TextBuilder suspects = part_of(out);
    const int all = plan->verdict == PLAN_FOUND ? 1 : plan->set_count,
              named = all < MOST_NAMED ? all : MOST_NAMED;
    for (int i = 0; i < named; i++) {
        if (i) text_add(&suspects, ", ");
        words_name_group(standing->model, plan->set[i], &suspects);
    }
    if (all > named) {
        char others[NUMBER_LENGTH];
        snprintf(others, sizeof others, "%d", all - named);
        words_say(words, &suspects, "verdict.others", (WordValue[]){{"count", others}}, 1);
    }
    words_say(words, out, keys[plan->verdict], (WordValue[]){{"suspects", text_string(&suspects)}}, 1);
}
