/* command_diagnose.c: `ovenwright diagnose CALL.yaml`: what the entries of a call say, and what to do next.
 * The order of the work is the program in one routine: read the call, diagnose, plan, say it.
 *
 * What is shown is a selection for one screen: suspects above one in a hundred, reasons that moved them by
 * half as much again, four steps. Whatever is cut off is counted, so that nobody takes a part for the
 * whole; `--all` shows every suspect, `--json` everything. */
#include "core/plan/plan.h"

#include "edge/cli/answer_call.h"
#include "edge/cli/load.h"
#include "edge/files/files.h"
#include "format/call_json/call_json.h"
#include "format/call_yaml/call_yaml.h"

#include <math.h>
#include <stdio.h>

enum { CALL_LIMIT = 1 << 20, SAID_LIMIT = 8000, NUMBER_LENGTH = 40, LEADING_SUSPECTS = 5, MOST_REASONS = 4 };

static const double LEADING_PROBABILITY = 0.01; /* suspects below this are only counted */
static const double MOVED = 1.5;                /* a factor nearer to 1 than this is no reason */

/* What every routine below needs. */
typedef struct {
    const Call *call;
    const Appliance *appliance;
    const Standing *standing;
    const Plan *plan;
    const PlanVisit *visit;     /* NULL once the visit has begun */
    const DeskLearned *learned; /* NULL: the file's own chances */
    int imagined;               /* the last entries, which nobody has made */
    const Words *words;
    Arena *arena;
    TextBuilder *out;
} Report;

static void write_percent(double probability, char *out)
{
    snprintf(out, NUMBER_LENGTH, "%5.1f %%", 100 * probability);
}

/* Beyond a million times a factor says no more than 'certainly'. */
static void write_factor(const Words *words, double factor, TextBuilder *out)
{
    char number[NUMBER_LENGTH];
    const double times = factor >= 1 ? factor : 1 / factor;
    snprintf(number, sizeof number, times >= 9.95 ? "%.0f" : "%.1f", times < 1e6 ? times : 1e6);
    words_say(words, out, factor >= 1 ? "factor.likelier" : "factor.unlikelier",
              (WordValue[]){{"factor", number}}, 1);
}

static void say_line(const Report *report, const char *key, const WordValue *values, int count)
{
    words_say(report->words, report->out, key, values, count);
    text_add(report->out, "\n");
}

static const char *entry_text(const Report *report, int entry)
{
    TextBuilder what = text_builder(report->arena, SAID_LIMIT);
    words_say_entry(report->words, report->appliance, &report->call->entries[entry], &what);
    return text_string(&what);
}

static void write_share(double share, char *out) { snprintf(out, NUMBER_LENGTH, "%.0f %%", 100 * share); }

/* How much of what follows comes from this shop's own calls; nothing where there are none. */
static void say_chances(const Report *report)
{
    const DeskLearned *learned = report->learned;
    char prior[NUMBER_LENGTH], others[NUMBER_LENGTH], own[NUMBER_LENGTH], calls[NUMBER_LENGTH],
        rest[NUMBER_LENGTH];
    if (!learned || learned->all == 0) return;
    write_share(learned->share.prior, prior);
    write_share(learned->share.others, others);
    write_share(learned->share.own, own);
    snprintf(calls, sizeof calls, "%d", learned->calls);
    snprintf(rest, sizeof rest, "%d", learned->all);
    say_line(
        report, "call.chances",
        (WordValue[]){{"prior", prior}, {"others", others}, {"own", own}, {"calls", calls}, {"rest", rest}},
        5);
}

/* Entries that have not been weighed are named at once: a temperature log that moved nothing must not look
 * as if it had. */
static void say_head(const Report *report)
{
    char count[NUMBER_LENGTH], weighed[NUMBER_LENGTH], number[NUMBER_LENGTH];
    int counted = 0;
    for (int e = 0; e < report->call->entry_count; e++)
        counted += diagnosis_weighs(report->standing->model, &report->call->entries[e]);
    snprintf(count, sizeof count, "%d", report->call->entry_count);
    snprintf(weighed, sizeof weighed, "%d", counted);
    say_line(report, "call.head", (WordValue[]){{"title", report->call->title}}, 1);
    say_line(report, "call.appliance",
             (WordValue[]){{"appliance", report->appliance->name},
                           {"says", words_translate(report->words, report->appliance->description->says)}},
             2);
    say_line(report, "call.entries", (WordValue[]){{"count", count}, {"weighed", weighed}}, 2);
    for (int e = report->call->entry_count - report->imagined; e < report->call->entry_count; e++)
        say_line(report, "call.imagined", (WordValue[]){{"what", entry_text(report, e)}}, 1);
    if (report->standing->model->usual_function >= 0 && !report->standing->model->thermal.has_own_dimensions)
        say_line(report, "call.typical-oven", NULL, 0);
    for (int e = 0; e < report->call->entry_count; e++) {
        const EntryKind kind = report->call->entries[e].kind;
        if ((kind != ENTRY_RUN && kind != ENTRY_SPOT) ||
            diagnosis_weighs(report->standing->model, &report->call->entries[e]))
            continue;
        snprintf(number, sizeof number, "%d", e + 1);
        say_line(report, "call.not-weighed",
                 (WordValue[]){{"entry", number}, {"what", entry_text(report, e)}}, 2);
    }
}

/* Before the suspects: a frame that may be live comes before the question of which part it is. */
static void say_warnings(const Report *report)
{
    for (int w = 0; w < report->plan->warning_count; w++) {
        char probability[NUMBER_LENGTH], key[NUMBER_LENGTH];
        snprintf(probability, sizeof probability, "%.0f %%", 100 * report->plan->warnings[w].probability);
        snprintf(key, sizeof key, "warning.%s", report->plan->warnings[w].key);
        text_add(report->out, "\n");
        say_line(report, "call.warning",
                 (WordValue[]){{"probability", probability},
                               {"fault", report->appliance->faults[report->plan->warnings[w].fault].name}},
                 2);
        say_line(report, key, NULL, 0);
    }
}

/* The entries that moved a suspect most, strongest first. */
static void say_reasons(const Report *report, const Suspect *suspect)
{
    bool is_said[1024] = {false};
    const int count = report->call->entry_count < 1024 ? report->call->entry_count : 1024;
    for (int said = 0; said < MOST_REASONS; said++) {
        int best = -1;
        double most = MOVED;
        for (int e = 0; e < count; e++) {
            const double factor = suspect->factors[e],
                         times = factor > 0 ? fmax(factor, 1 / factor) : INFINITY;
            if (is_said[e] || !diagnosis_weighs(report->standing->model, &report->call->entries[e]) ||
                times <= most)
                continue;
            most = times;
            best = e;
        }
        if (best < 0) return;
        is_said[best] = true;
        char entry[NUMBER_LENGTH];
        TextBuilder factor = text_builder(report->arena, SAID_LIMIT);
        snprintf(entry, sizeof entry, "%d", best + 1);
        write_factor(report->words, suspect->factors[best], &factor);
        say_line(report, "call.because",
                 (WordValue[]){
                     {"factor", text_string(&factor)}, {"entry", entry}, {"what", entry_text(report, best)}},
                 3);
    }
}

static void say_suspect(const Report *report, const Suspect *suspect)
{
    char probability[NUMBER_LENGTH];
    TextBuilder fault = text_builder(report->arena, SAID_LIMIT),
                says = text_builder(report->arena, SAID_LIMIT);
    write_percent(suspect->probability, probability);
    words_name_group(report->standing->model, suspect->group, &fault);
    words_say_group(report->words, report->standing->model, suspect->group, &says);
    say_line(report, suspect->group ? "call.suspect" : "call.nothing-wrong",
             (WordValue[]){
                 {"probability", probability}, {"fault", text_string(&fault)}, {"says", text_string(&says)}},
             3);
    say_reasons(report, suspect);
}

/* Suspects above one in a hundred, five at the most, 'nothing wrong' in its place among them; the rest as one
 * sum, so that nobody thinks the list is complete. */
static void say_suspects(const Report *report, bool all)
{
    const Standing *standing = report->standing;
    char count[NUMBER_LENGTH], rest[NUMBER_LENGTH];
    double listed = 0;
    bool sound_said = false;
    int s = 0;
    text_add(report->out, "\n");
    say_line(report, "call.suspects", NULL, 0);
    for (; s < standing->suspect_count; s++) {
        const double probability = standing->suspects[s].probability;
        if (!sound_said && standing->nothing_wrong.probability >= probability) {
            sound_said = true;
            if (standing->nothing_wrong.probability >= LEADING_PROBABILITY || all)
                say_suspect(report, &standing->nothing_wrong);
        }
        if (!all && (s >= LEADING_SUSPECTS || (s > 0 && probability < LEADING_PROBABILITY))) break;
        say_suspect(report, &standing->suspects[s]);
        listed += probability;
    }
    snprintf(count, sizeof count, "%d", standing->suspect_count - s);
    write_percent(fmax(1 - listed - standing->nothing_wrong.probability, 0), rest);
    if (s < standing->suspect_count)
        say_line(report, "call.others", (WordValue[]){{"count", count}, {"probability", rest}}, 2);
}

/* Silence where there is none; an empty heading would read like a doubt. */
static void say_contradictions(const Report *report)
{
    if (report->standing->contradiction_count == 0) return;
    text_add(report->out, "\n");
    say_line(report, "call.contradictions", NULL, 0);
    for (int c = 0; c < report->standing->contradiction_count; c++) {
        text_add(report->out, "  ");
        words_say_contradiction(report->words, report->standing, &report->standing->contradictions[c],
                                report->out);
        text_add(report->out, "\n");
    }
}

static const char *money_text(const Report *report, double minor)
{
    TextBuilder money = text_builder(report->arena, NUMBER_LENGTH);
    words_say_money(report->appliance, minor, &money);
    return text_string(&money);
}

/* What it takes: minutes are rounded up, nobody is grateful for a minute less. */
static void say_takes(const Report *report, const Step *step)
{
    char minutes[NUMBER_LENGTH];
    const char *key = step->needs.any_power  ? "call.minutes-any"
                      : step->needs.power_on ? "call.minutes-on"
                                             : "call.minutes-off";
    quantity_format(60 * ceil(step->second / 60), UNIT_SECOND, minutes, sizeof minutes);
    text_add(report->out, "     ");
    words_say(report->words, report->out, key, (WordValue[]){{"minutes", minutes}}, 1);
    text_add(report->out, "; ");
    words_say(report->words, report->out, "call.cost",
              (WordValue[]){{"cost", money_text(report, (double)step->cost_minor)},
                            {"total", money_text(report, (double)step->expected_total_minor)}},
              2);
    text_add(report->out, "\n");
}

/* One reason a line. */
static void say_list(const Report *report, const TextBuilder *reasons)
{
    for (const char *at = text_string(reasons), *end; *at; at = *end ? end + 2 : end) {
        for (end = at; *end && !(end[0] == ';' && end[1] == ' ');) end++;
        text_addf(report->out, "     - %.*s\n", (int)(end - at), at);
    }
}

static void say_step(const Report *report, const Step *step, int number)
{
    static const char *const keys[] = {
        [STEP_PROPOSED] = "call.step", [STEP_THEN] = "call.then", [STEP_INSTEAD] = "call.instead"};
    char position[NUMBER_LENGTH];
    TextBuilder text = text_builder(report->arena, SAID_LIMIT),
                before = text_builder(report->arena, SAID_LIMIT);
    TextBuilder why = text_builder(report->arena, SAID_LIMIT),
                shared = text_builder(report->arena, SAID_LIMIT);
    snprintf(position, sizeof position, "%d", number + 1);
    words_say_step(report->words, report->standing, step, &text);
    words_say_before(report->words, report->standing, step, &before);
    words_say_why(report->words, report->standing, step, &why);
    words_say_shared(report->words, report->standing, step, &shared);
    text_add(report->out, "  ");
    say_line(report, keys[step->role], (WordValue[]){{"number", position}, {"text", text_string(&text)}}, 2);
    if (step->kind < STEP_CLOSE) say_takes(report, step);
    if (before.length) text_addf(report->out, "     %s\n", text_string(&before));
    say_list(report, &why);
    if (shared.length) text_addf(report->out, "     %s\n", text_string(&shared));
}

/* Verdict before steps: whoever reads one line reads that one. The caution comes last and always. */
static void say_plan(const Report *report)
{
    text_add(report->out, "\n");
    TextBuilder verdict = text_builder(report->arena, SAID_LIMIT);
    words_say_verdict(report->words, report->standing, report->plan, &verdict);
    say_line(report, "call.verdict", (WordValue[]){{"text", text_string(&verdict)}}, 1);
    text_add(report->out, "\n");
    say_line(report, "call.next", NULL, 0);
    for (int s = 0; s < report->plan->step_count; s++) say_step(report, &report->plan->steps[s], s);
    text_add(report->out, "\n");
    say_line(report, "appliance.caution", NULL, 0);
}

/* Questions with what each answer would change, and what to put on the truck. */
static void say_before_visit(const Report *report)
{
    int carried = 0;
    if (!report->visit) return;
    text_add(report->out, "\n");
    say_line(report, "call.questions", NULL, 0);
    for (int q = 0; q < report->visit->question_count; q++) say_step(report, &report->visit->questions[q], q);
    text_add(report->out, "\n");
    say_line(report, "call.parts", NULL, 0);
    for (int p = 0; p < report->visit->part_count; p++) {
        const PlanPart *part = &report->visit->parts[p];
        char probability[NUMBER_LENGTH];
        if (!part->is_carried) continue;
        write_percent(part->probability, probability);
        say_line(
            report, "call.part",
            (WordValue[]){{"part", report->appliance->parts[part->part].name}, {"probability", probability}},
            2);
        carried++;
    }
    if (carried == 0) say_line(report, "call.no-parts", NULL, 0);
}

static void say_report(const Report *report, bool all)
{
    say_head(report);
    say_chances(report);
    say_warnings(report);
    say_suspects(report, all);
    say_contradictions(report);
    say_before_visit(report);
    say_plan(report);
}

/* The entries of --if, one after the other at the end of the call. */
static int imagined_entries(const Invocation *invocation, const char **entries)
{
    int count = 0;
    for (int i = 0; i < invocation->option_count; i++)
        if (invocation->options[i].code == OPTION_IF) entries[count++] = invocation->options[i].words[0];
    return count;
}

/* Sentences are loaded first, so that a program with a broken file of words says so before it computes. */
bool answer_call(Invocation *invocation, const DeskSource *source, Error *error)
{
    Arena *arena = invocation->arena;
    const char *imagined[COMMAND_MOST_OPTIONS];
    DeskStanding stands;
    Plan plan;
    Words words;
    PlanTerms terms;
    PlanVisit visit;
    if (!desk_load_words(cli__language(), arena, &words, error) ||
        !load_terms(invocation, &terms, NULL, error) ||
        !desk_stand(source, imagined, imagined_entries(invocation, imagined), NULL, arena, &invocation->notes,
                    &stands, error) ||
        !plan_next(stands.model, &stands.standing, &terms, arena, &plan, error))
        return false;
    const PlanVisit *before = desk_has_begun(&stands.call) ? NULL : &visit;
    if (before && !plan_before_visit(stands.model, &stands.standing, &terms, arena, &visit, error))
        return false;
    desk_keep(stands.memory);
    if (cli__has_option(invocation, OPTION_JSON))
        return call_json_standing(&words, &stands.standing, &plan, before, 0, &invocation->out, error);
    const Report report = {.call = &stands.call,
                           .appliance = &stands.appliance,
                           .standing = &stands.standing,
                           .plan = &plan,
                           .visit = before,
                           .learned = source->learned,
                           .imagined = stands.imagined,
                           .words = &words,
                           .arena = arena,
                           .out = &invocation->out};
    say_report(&report, cli__has_option(invocation, OPTION_ALL));
    return true;
}

bool cli__diagnose(Invocation *invocation, Error *error)
{
    const char *path = invocation->arguments[0];
    DeskSource source = {.name = path, .read = desk_read_log_beside, .context = (void *)path};
    return files_read(path, CALL_LIMIT, invocation->arena, &source.bytes, error) &&
           answer_call(invocation, &source, error);
}
