/* standing.c: the standing of a call and the next steps, as JSON.
 *
 * Invariant: the probabilities of `suspects`, `unlisted` and `nothing_wrong` sum to 1 within 1e-9. For a
 * program that is to have them all, as doc/interface.md promises, what is unlisted is below LEFT_UNLISTED.
 *
 * Sentences stand beside the codes that they were made from, never instead of them: a program reads
 * `verdict` and `step`, a person `verdict_text` and `text`. */
#include <math.h>

#include "format/call_json/call_json_private.h"

static const double LEFT_UNLISTED = 1e-10;
/* Some thousand suspects are listed so that the sum is right; only these are worth an explanation. */
static const double WORTH_EXPLAINING = 1e-3;

enum { SAID_LIMIT = 8000 };

/* Sentences are made in a builder of their own, in the arena of the answer. */
static TextBuilder sentence(const TextBuilder *out) { return text_builder(out->arena, SAID_LIMIT); }

/* A pair is `a+b` in one text, as the interface has it. */
static json_t *group_name(const Standing *standing, int group, const TextBuilder *out)
{
    TextBuilder name = sentence(out);
    words_name_group(standing->model, group, &name);
    return json_string(text_string(&name));
}

/* The part of the first fault: of a pair, the one that a technician would name first. */
static const char *group_part(const Standing *standing, int group)
{
    const DiagnosisModel *model = standing->model;
    const int fault = model->groups[group].faults[0];
    return model->appliance->parts[model->appliance->faults[fault].part].name;
}

/* How many times likelier each entry made it; entries that are not weighed are left out. */
static json_t *factors(const Standing *standing, const Suspect *suspect)
{
    if (suspect->probability < WORTH_EXPLAINING) return NULL;
    json_t *list = json_array();
    for (int e = 0; e < standing->call->entry_count; e++)
        if (diagnosis_weighs(standing->model, &standing->call->entries[e]))
            call_json__append(&list, json_pack("{si so}", "entry", e + 1, "factor",
                                               call_json__number(suspect->factors[e])));
    return list;
}

/* How many come before the first that is less probable than asked for, or before what is left is nothing. */
static int listed_count(const Standing *standing, double least_probability)
{
    double left = 1 - standing->nothing_wrong.probability;
    int s = 0;
    for (; s < standing->suspect_count && left > LEFT_UNLISTED; s++) {
        if (standing->suspects[s].probability < least_probability) break;
        left -= standing->suspects[s].probability;
    }
    return s;
}

static json_t *unlisted(const Standing *standing, int listed)
{
    double probability = 0;
    for (int s = standing->suspect_count; s > listed; s--)
        probability += standing->suspects[s - 1].probability;
    return json_pack("{si so}", "suspects", standing->suspect_count - listed, "probability",
                     call_json__number(probability));
}

static json_t *suspects(const Words *words, const Standing *standing, int listed, const TextBuilder *out)
{
    json_t *list = json_array();
    for (int s = 0; s < listed; s++) {
        const Suspect *suspect = &standing->suspects[s];
        TextBuilder says = sentence(out);
        words_say_group(words, standing->model, suspect->group, &says);
        call_json__append(&list,
                          json_pack("{so ss so ss so*}", "fault", group_name(standing, suspect->group, out),
                                    "part", group_part(standing, suspect->group), "probability",
                                    call_json__number(suspect->probability), "says", text_string(&says),
                                    "factors", factors(standing, suspect)));
    }
    return list;
}

/* Entries are counted from 1, as people count them. */
static json_t *contradictions(const Words *words, const Standing *standing, const TextBuilder *out)
{
    json_t *list = json_array();
    for (int c = 0; c < standing->contradiction_count; c++) {
        const Contradiction *contradiction = &standing->contradictions[c];
        TextBuilder said = sentence(out);
        words_say_contradiction(words, standing, contradiction, &said);
        json_t *entries = json_pack("[i]", contradiction->entry + 1);
        if (contradiction->against >= 0)
            call_json__append(&entries, json_integer(contradiction->against + 1));
        call_json__append(
            &list, json_pack("{so si so ss}", "entries", entries, "repeat", contradiction->entry + 1, "slip",
                             call_json__number(contradiction->slip), "text", text_string(&said)));
    }
    return list;
}

static const char *step_kind_name(StepKind kind)
{
    static const char *const names[] = {
        [STEP_CHECK] = "check", [STEP_REPEAT] = "repeat", [STEP_REPAIR] = "repair",
        [STEP_PROVE] = "prove", [STEP_CLOSE] = "close",   [STEP_HAND_OVER] = "hand-over"};
    return names[kind];
}

/* Outcomes as a program wants them; `text` says the same. */
static json_t *outcomes(const Words *words, const Standing *standing, const Step *step,
                        const TextBuilder *out)
{
    json_t *list = json_array();
    for (int b = 0; b < step->branch_count; b++) {
        const StepBranch *branch = &step->branches[b];
        TextBuilder said = sentence(out);
        words_say_outcome(words, standing->model, step, branch, &said);
        call_json__append(&list,
                          json_pack("{so so so sI ss}", "chance", call_json__number(branch->chance), "leads",
                                    group_name(standing, branch->group, out), "probability",
                                    call_json__number(branch->group_probability), "expected_minor",
                                    (json_int_t)(branch->expected_minor + 0.5), "text", text_string(&said)));
    }
    return list;
}

/* Names of the checks that are worth making on the same occasion. */
static json_t *shared(const Standing *standing, const Step *step, const TextBuilder *out)
{
    json_t *list = json_array();
    for (int i = 0; i < step->shared_count; i++) {
        TextBuilder name = sentence(out);
        words_name_step(standing->model->appliance, &(Step){.kind = STEP_CHECK, .check = step->shared[i]},
                        &name);
        call_json__append(&list, json_string(text_string(&name)));
    }
    return list;
}

static const char *role_name(StepRole role)
{
    return role == STEP_PROPOSED ? "proposed" : role == STEP_THEN ? "then" : "instead";
}

/* `before` is what must be done and heeded first; kept apart from the instruction, so that a page can show it
 * where the step is. */
static json_t *step(const Words *words, const Standing *standing, const Step *next, const TextBuilder *out)
{
    TextBuilder name = sentence(out), text = sentence(out), before = sentence(out), why = sentence(out);
    words_name_step(standing->model->appliance, next, &name);
    words_say_step(words, standing, next, &text);
    words_say_before(words, standing, next, &before);
    words_say_why(words, standing, next, &why);
    return json_pack(
        "{ss ss ss sf sI ss sb sb sb ss ss ss so so sI so so si sf}", "step", text_string(&name), "kind",
        step_kind_name(next->kind), "role", role_name(next->role), "minutes", next->second / 60, "cost_minor",
        (json_int_t)next->cost_minor, "power", words_name_power(&next->needs), "live_work",
        next->needs.is_live_work, "proved_dead_first", next->needs.needs_proof, "second_visit",
        next->needs_second_visit, "text", text_string(&text), "before", text_string(&before), "why",
        text_string(&why), "outcomes", outcomes(words, standing, next, out), "shared",
        shared(standing, next, out), "expected_total_minor", (json_int_t)next->expected_total_minor, "asks",
        call_json__step_entry(standing, next), "opens", call_json__step_places(standing, next), "repeats",
        next->kind == STEP_REPEAT ? next->entry + 1 : 0, "turn_kelvin", next->turn_kelvin);
}

static json_t *steps(const Words *words, const Standing *standing, const Plan *plan, const TextBuilder *out)
{
    json_t *list = json_array();
    for (int s = 0; s < plan->step_count; s++)
        call_json__append(&list, step(words, standing, &plan->steps[s], out));
    return list;
}

/* While the verdict is go-on this is who leads, with those that no open check tells from it. */
static json_t *set_names(const Standing *standing, const Plan *plan, const TextBuilder *out)
{
    json_t *list = json_array();
    for (int i = 0; i < plan->set_count; i++)
        call_json__append(&list, group_name(standing, plan->set[i], out));
    return list;
}

/* In the order of the plan, most pressing first: a page that shows one shows the right one. */
static json_t *warnings_said(const Words *words, const Standing *standing, const Plan *plan,
                             const TextBuilder *out)
{
    json_t *list = json_array();
    for (int w = 0; w < plan->warning_count; w++) {
        TextBuilder key = sentence(out), said = sentence(out);
        text_addf(&key, "warning.%s", plan->warnings[w].key);
        words_say(words, &said, text_string(&key), NULL, 0);
        call_json__append(&list, json_pack("{ss ss so ss}", "warning", plan->warnings[w].key, "fault",
                                           standing->model->appliance->faults[plan->warnings[w].fault].name,
                                           "probability", call_json__number(plan->warnings[w].probability),
                                           "text", text_string(&said)));
    }
    return list;
}

/* What is in the trail and has moved no suspect yet: nobody should think that it has. */
static json_t *not_weighed(const Standing *standing)
{
    json_t *list = json_array();
    for (int e = 0; e < standing->call->entry_count; e++) {
        const Entry *entry = &standing->call->entries[e];
        if (!entry->is_struck && (entry->kind == ENTRY_RUN || entry->kind == ENTRY_SPOT) &&
            !diagnosis_weighs(standing->model, entry))
            call_json__append(&list, json_integer(e + 1));
    }
    return list;
}

/* These names are promised (doc/interface.md); the enumeration's may change. */
static const char *verdict_name(PlanVerdict verdict)
{
    static const char *const names[] = {[PLAN_GO_ON] = "go-on",   [PLAN_FOUND] = "found",
                                        [PLAN_SET] = "set",       [PLAN_NOTHING_WRONG] = "nothing-wrong",
                                        [PLAN_PROVED] = "proved", [PLAN_OPEN] = "open"};
    return names[verdict];
}

/* What to ask and to carry; null once the visit has begun. */
static json_t *before_visit(const Words *words, const Standing *standing, const PlanVisit *visit,
                            const TextBuilder *out)
{
    if (!visit) return json_null();
    json_t *questions = json_array(), *parts = json_array();
    for (int q = 0; q < visit->question_count; q++)
        call_json__append(&questions, step(words, standing, &visit->questions[q], out));
    for (int p = 0; p < visit->part_count; p++)
        call_json__append(&parts, json_pack("{ss so sI sb}", "part",
                                            standing->model->appliance->parts[visit->parts[p].part].name,
                                            "probability", call_json__number(visit->parts[p].probability),
                                            "saves_minor", (json_int_t)visit->parts[p].saves_minor, "carry",
                                            visit->parts[p].is_carried));
    return json_pack("{so so}", "questions", questions, "parts", parts);
}

bool call_json_standing(const Words *words, const Standing *standing, const Plan *plan,
                        const PlanVisit *visit, double least_probability, TextBuilder *out, Error *error)
{
    const int listed = listed_count(standing, least_probability);
    TextBuilder verdict = sentence(out);
    words_say_verdict(words, standing, plan, &verdict);
    json_t *root = json_pack(
        "{ss sb so so so so so so so so so ss? sI so sb ss ss}", "appliance",
        standing->model->appliance->name, "typical_oven", !standing->model->thermal.has_own_dimensions,
        "warnings", warnings_said(words, standing, plan, out), "suspects",
        suspects(words, standing, listed, out), "unlisted", unlisted(standing, listed), "nothing_wrong",
        call_json__number(standing->nothing_wrong.probability), "left_out",
        call_json__number(standing->model->left_out), "contradictions", contradictions(words, standing, out),
        "steps", steps(words, standing, plan, out), "set", set_names(standing, plan, out), "not_weighed",
        not_weighed(standing), "currency", standing->model->appliance->description->currency, "floor_minor",
        (json_int_t)(plan->floor_minor + 0.5), "before_visit", before_visit(words, standing, visit, out),
        "done", plan->is_done, "verdict", verdict_name(plan->verdict), "verdict_text", text_string(&verdict));
    return call_json__write(root, out, error);
}
