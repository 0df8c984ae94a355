/* step.c: a step as an instruction, what goes before it, why it is worth its minutes.
 *
 * Names of steps ('ohm:BK1-BK2:lift=BK1') are never translated: other programs hold on to them. */
#include <assert.h>
#include <math.h>
#include <stdio.h>

#include "format/words/words_private.h"

static const char *const check_names[] = {
    [CHECK_OHM] = "ohm",     [CHECK_VOLT] = "volt", [CHECK_AMP] = "amp",       [CHECK_SIGHT] = "sight",
    [CHECK_WATCH] = "watch", [CHECK_RUN] = "run",   [CHECK_SPOT] = "spot",     [CHECK_OFFSET] = "offset",
    [CHECK_CODE] = "code",   [CHECK_ASK] = "ask",   [CHECK_GLANCE] = "glance", [CHECK_STRIP] = "strip"};

/* Of a look over a place; other checks say their places in words_say_before. */
static const char *place_of(const Appliance *appliance, const Check *check)
{
    return check->kind == CHECK_GLANCE ? appliance->description->places[check->places[0]].name : "";
}

/* Kind, place, setting, what comes off first: enough to know the same step again tomorrow. */
static void name_check(const Appliance *appliance, const Check *check, TextBuilder *out)
{
    text_add(out, check_names[check->kind]);
    if (check->from >= 0)
        text_addf(out, ":%s-%s", appliance->marks[check->from].name, appliance->marks[check->to].name);
    else if (check->kind == CHECK_ASK)
        text_addf(out, ":%s", appliance->catalogue->complaints[check->word].name);
    else if (check->kind == CHECK_GLANCE)
        text_addf(out, ":%s", place_of(appliance, check));
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

/* Empty for none. */
static const char *part_of(const Words *words, const Appliance *appliance, int part, const TextBuilder *out)
{
    return part >= 0 ? words_name(words, appliance->parts[part].name, out->arena) : "";
}

static void say_question(const Words *words, const Appliance *appliance, const Check *check, TextBuilder *out)
{
    TextBuilder key = words__part_of(out), question = words__part_of(out);
    text_addf(&key, "question.%s", appliance->catalogue->complaints[check->word].name);
    words_say(words, &question, text_string(&key), NULL, 0);
    words_say(words, out, "step.ask", (WordValue[]){{"question", text_string(&question)}}, 1);
}

/* Of what can run on, half of what there is to see comes when it is switched off. */
static bool is_watched_off(const Appliance *appliance, const Check *check)
{
    if (check->kind != CHECK_WATCH || check->function == 0) return false;
    const PartKind *kind = appliance->parts[check->part].kind;
    bool can_run_on = false;
    for (int i = 0; i < kind->look_count; i++)
        can_run_on |= appliance->catalogue->looks[kind->looks[i]].runs_on > 0;
    return can_run_on;
}

/* A continuity reading depends on the knob even with the power off, so its setting is said when it is not
 * off. */
static void say_check(const Words *words, const DiagnosisModel *model, const Check *check, TextBuilder *out)
{
    const Appliance *appliance = model->appliance;
    char key[WORDS_NUMBER_LENGTH], set[WORDS_NUMBER_LENGTH];
    if (check->kind == CHECK_ASK) {
        say_question(words, appliance, check, out);
        return;
    }
    const bool has_marks = check->from >= 0;
    const int number = check->function >= 0 ? check->function : model->usual_function;
    const char *function =
        number >= 0 ? words_name(words, appliance->functions[number].name, out->arena) : "";
    const bool is_idle = check->kind == CHECK_WATCH && check->function == 0;
    words__write_dial(words, THERMAL_MADE_FOR_CELSIUS, set, sizeof set);
    snprintf(key, sizeof key, "step.%s", check_names[check->kind]);
    words_say(words, out, is_idle ? "step.watch-idle" : key,
              (WordValue[]){{"from", has_marks ? appliance->marks[check->from].name : ""},
                            {"to", has_marks ? appliance->marks[check->to].name : ""},
                            {"part", part_of(words, appliance, check->part, out)},
                            {"place", words_name(words, place_of(appliance, check), out->arena)},
                            {"function", function},
                            {"set", set}},
              6);
    if (is_watched_off(appliance, check)) words_say(words, out, "step.watch-off", NULL, 0);
    if (check->kind == CHECK_OHM && check->function > 0)
        words_say(words, out, "step.at-function", (WordValue[]){{"function", function}}, 1);
    for (int i = 0; i < check->lift_count; i++)
        words_say(words, out, "step.lift", (WordValue[]){{"mark", appliance->marks[check->lifts[i]].name}},
                  1);
    if (check->unplug >= 0)
        words_say(words, out, "step.unplug",
                  (WordValue[]){{"plug", part_of(words, appliance, check->unplug, out)}}, 1);
}

void words_say_step(const Words *words, const Standing *standing, const Step *step, TextBuilder *out)
{
    const Appliance *appliance = standing->model->appliance;
    char entry[WORDS_NUMBER_LENGTH];
    if (step->kind == STEP_CHECK) {
        say_check(words, standing->model, &appliance->checks[step->check], out);
    } else if (step->kind == STEP_REPEAT) {
        TextBuilder what = words__part_of(out);
        words_say_entry(words, appliance, &standing->call->entries[step->entry], &what);
        snprintf(entry, sizeof entry, "%d", step->entry + 1);
        words_say(words, out, "step.repeat", (WordValue[]){{"entry", entry}, {"what", text_string(&what)}},
                  2);
    } else if (step->kind == STEP_REPAIR) {
        char degrees[WORDS_NUMBER_LENGTH];
        words_write_width(words, fabs(step->turn_kelvin), degrees, sizeof degrees);
        words_say(words, out,
                  step->turn_kelvin > 0   ? "step.hotter"
                  : step->turn_kelvin < 0 ? "step.cooler"
                  : step->is_adjustment   ? "step.adjust"
                                          : "step.repair",
                  (WordValue[]){{"part", part_of(words, appliance, step->part, out)}, {"degrees", degrees}},
                  2);
    } else if (step->kind == STEP_PROVE && step->check >= 0 &&
               appliance->checks[step->check].kind == CHECK_WATCH) {
        words_say(words, out, "step.prove-again", NULL, 0);
        text_add(out, " ");
        say_check(words, standing->model, &appliance->checks[step->check], out);
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
    TextBuilder places = words__part_of(out);
    for (int i = 0; i < step->open_count; i++) {
        if (i > 0) words_say(words, &places, "step.and-then", NULL, 0);
        text_add(&places, words_name(words, appliance->description->places[step->opens[i]].name, out->arena));
    }
    words_say(words, out, "step.open", (WordValue[]){{"places", text_string(&places)}}, 1);
}

const char *words_name_power(const SafetyNeeds *needs)
{
    return needs->any_power ? "any" : needs->power_on ? "on" : "off";
}

static bool is_run(const Appliance *appliance, const Step *step)
{
    if (step->kind == STEP_PROVE) /* by a run, unless a lamp or a fan is only watched */
        return step->check < 0 || appliance->checks[step->check].kind != CHECK_WATCH;
    return step->kind == STEP_CHECK && appliance->checks[step->check].kind == CHECK_RUN;
}

/* It does, whatever it is made for. */
static bool heats_the_oven(const Appliance *appliance, const Step *step)
{
    return is_run(appliance, step) ||
           (step->kind == STEP_CHECK && appliance->checks[step->check].kind == CHECK_SPOT);
}

static bool is_at_the_door(const Appliance *appliance, const Step *step)
{
    return step->kind == STEP_CHECK && appliance->checks[step->check].kind == CHECK_STRIP;
}

/* The order is that of the hands: cool down, disconnect and prove, open up, switch on, and then care. */
void words_say_before(const Words *words, const Standing *standing, const Step *step, TextBuilder *out)
{
    const SafetyNeeds *needs = &step->needs;
    TextBuilder said = words__part_of(out);
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
    if (is_at_the_door(standing->model->appliance, step)) say_sentence(words, "step.edge", &said);
    text_add(out, text_string(&said));
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
    char low[WORDS_NUMBER_LENGTH], high[WORDS_NUMBER_LENGTH];
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

static void say_noticed(const Words *words, const Appliance *appliance, const Outcome *outcome,
                        TextBuilder *out)
{
    if (outcome->part < 0)
        words_say(words, out, "why.nothing-seen", NULL, 0);
    else
        words_say(words, out, "entry.look",
                  (WordValue[]){{"part", part_of(words, appliance, outcome->part, out)},
                                {"words", words_name(words, appliance->catalogue->looks[outcome->word].name,
                                                     out->arena)}},
                  2);
}

static void say_outcome(const Words *words, const DiagnosisModel *model, const Check *check,
                        const Outcome *outcome, TextBuilder *out)
{
    if (outcome->kind == OUTCOME_LOOK)
        text_add(out, words_name(words, model->appliance->catalogue->looks[outcome->word].name, out->arena));
    else if (outcome->kind == OUTCOME_GLANCE)
        say_noticed(words, model->appliance, outcome, out);
    else if (outcome->kind == OUTCOME_DISPLAY)
        say_display(words, model, check->kind, outcome, out);
    else if (outcome->kind == OUTCOME_NO)
        words_say(words, out, check->kind == CHECK_CODE ? "why.no-code" : "why.no", NULL, 0);
    else if (outcome->kind == OUTCOME_YES)
        words_say(words, out, check->kind == CHECK_CODE ? "why.code" : "why.yes", NULL, 0);
    else
        words__say_oven(words, outcome, out);
}

/* What would be done then, in a few words. */
static void say_next(const Words *words, const Appliance *appliance, const StepBranch *branch,
                     TextBuilder *out)
{
    static const char *const keys[] = {[STEP_REPAIR] = "next.repair",
                                       [STEP_PROVE] = "next.prove",
                                       [STEP_CLOSE] = "next.close",
                                       [STEP_HAND_OVER] = "next.hand-over"};
    if (branch->next != STEP_CHECK) {
        const char *part = part_of(words, appliance, branch->next_part, out);
        words_say(words, out, keys[branch->next], (WordValue[]){{"part", part}}, 1);
        return;
    }
    char key[WORDS_NUMBER_LENGTH];
    const Check *check = &appliance->checks[branch->next_check];
    const bool has_marks = check->from >= 0, is_question = check->kind == CHECK_ASK;
    snprintf(key, sizeof key, "next.%s", check_names[check->kind]);
    words_say(words, out, key,
              (WordValue[]){
                  {"from", has_marks ? appliance->marks[check->from].name : ""},
                  {"to", has_marks ? appliance->marks[check->to].name : ""},
                  {"part", part_of(words, appliance, check->part, out)},
                  {"place", words_name(words, place_of(appliance, check), out->arena)},
                  {"word", is_question ? words_name(words, appliance->catalogue->complaints[check->word].name,
                                                    out->arena)
                                       : ""}},
              5);
}

void words_say_money(const Appliance *appliance, double minor, TextBuilder *out)
{
    const char *currency = appliance->description->currency;
    text_addf(out, "%.0f%s%s", minor / 100, currency ? " " : "", currency ? currency : "");
}

/* One outcome: what the meter or the eye would show, how likely that is, who would lead then, what next. */
void words_say_outcome(const Words *words, const DiagnosisModel *model, const Step *step,
                       const StepBranch *branch, TextBuilder *out)
{
    char chance[WORDS_NUMBER_LENGTH], probability[WORDS_NUMBER_LENGTH];
    TextBuilder shows = words__part_of(out), leads = words__part_of(out), next = words__part_of(out),
                money = words__part_of(out);
    say_outcome(words, model, &model->appliance->checks[step->check], &branch->outcome, &shows);
    words_call_group(words, model, branch->group, &leads);
    say_next(words, model->appliance, branch, &next);
    words_say_money(model->appliance, branch->expected_minor, &money);
    words__write_percent(branch->chance, chance);
    words__write_percent(branch->group_probability, probability);
    words_say(words, out, branch->group == 0 ? "why.outcome-sound" : "why.outcome",
              (WordValue[]){{"shows", text_string(&shows)},
                            {"chance", chance},
                            {"leads", text_string(&leads)},
                            {"probability", probability},
                            {"next", text_string(&next)},
                            {"money", text_string(&money)}},
              6);
}

static void say_why_repeat(const Words *words, const Standing *standing, int entry, TextBuilder *out)
{
    char figure[WORDS_NUMBER_LENGTH];
    for (int c = 0; c < standing->contradiction_count; c++) {
        if (standing->contradictions[c].entry != entry) continue;
        words__write_percent(standing->contradictions[c].slip, figure);
        words_say(words, out, "why.repeat", (WordValue[]){{"slip", figure}}, 1);
        return;
    }
    words_say(words, out, "why.twice", NULL, 0);
}

/* A second thermometer goes where the oven itself feels the temperature; nothing where the file names no such
 * part. */
static void say_clip(const Words *words, const Appliance *appliance, TextBuilder *out)
{
    const char *senses = appliance->description->regulation.senses;
    const int part = senses ? appliance_find_part(appliance, senses) : -1;
    if (part < 0) return;
    if (out->length) text_add(out, " ");
    words_say(words, out, "why.clip", (WordValue[]){{"part", part_of(words, appliance, part, out)}}, 1);
}

/* A check gives its reasons by its outcomes; the other steps have one sentence each, a run what else it could
 * tell. */
void words_say_why(const Words *words, const Standing *standing, const Step *step, TextBuilder *out)
{
    static const char *const keys[] = {
        [STEP_PROVE] = "why.prove", [STEP_CLOSE] = "why.close", [STEP_HAND_OVER] = "why.hand-over"};
    char figure[WORDS_NUMBER_LENGTH];
    if (step->kind == STEP_REPAIR) {
        words__write_percent(step->probability, figure);
        words_say(words, out, "why.repair", (WordValue[]){{"probability", figure}}, 1);
        if (step->turn_kelvin != 0 && step->probability < 0.5) say_sentence(words, "why.set-right", out);
        if (step->needs_second_visit) say_sentence(words, "why.second-visit", out);
    } else if (step->kind == STEP_REPEAT) {
        say_why_repeat(words, standing, step->entry, out);
    } else if (step->kind > STEP_REPAIR) {
        words_say(words, out, keys[step->kind], NULL, 0);
    }
    if (step->kind == STEP_PROVE && is_run(standing->model->appliance, step))
        say_clip(words, standing->model->appliance, out);
    if (step->kind == STEP_CHECK && step->branch_count == 0)
        words_say(words, out, step->is_closing ? "why.closing" : "why.after", NULL, 0);
    for (int b = 0; b < step->branch_count; b++) {
        if (b || out->length) text_add(out, "; ");
        words_say_outcome(words, standing->model, step, &step->branches[b], out);
    }
}

void words_say_shared(const Words *words, const Standing *standing, const Step *step, TextBuilder *out)
{
    TextBuilder checks = words__part_of(out);
    if (step->shared_count == 0) return;
    for (int i = 0; i < step->shared_count; i++) {
        const StepBranch as_next = {.next = STEP_CHECK, .next_check = step->shared[i], .next_part = -1};
        if (i) text_add(&checks, ", ");
        say_next(words, standing->model->appliance, &as_next, &checks);
    }
    words_say(words, out, "why.shared", (WordValue[]){{"checks", text_string(&checks)}}, 1);
}
