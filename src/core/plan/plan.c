/* plan.c: the next step, by expected cost, within the rules of the house.
 *
 * DESIGN. The standing becomes a problem of decision (problem.c), the decision gives its best acts in order
 * (core/decision), and one of them that no rule bars is chosen (rules.c), unless an entry must be made once
 * more first (doubt.c). Then acts become steps, the first of them the proposal. With a frame that may be live
 * nothing is switched on (safety, S7: the problem has no such acts then).
 *
 * Invariants: (1) there is always a first step unless S7 leaves none; (2) a repair is followed by a proving
 * run or by a reason against it; (3) the call is closed only after its proof: a run that was right, or
 * looking again at what no run shows.
 *
 * Bad at: two technicians. Everything is done one after the other. */
#include <math.h>

#include "core/plan/plan_private.h"

static const double PASSED_OVER = 0.99;  /* of the proposal's expected cost; a rollout's margin is less */
static const double ALL_BUT_SOUND = 0.9; /* nothing wrong: only the run is left to say so */
static const double WORTH_ASKING = 0.01; /* nats that an answer tells */
/* Repairs in a row, so that what must stand between them and the proof, and the proof, have room. */
enum { MOST_INSTEAD = 2, MOST_IN_A_ROW = PLAN_MOST_STEPS - PLAN_MOST_CLOSING - 1 };

/* 120 an hour; a minute to the breaker, another to prove dead; 40 minutes for a proving run. A callback costs
 * the journey (90), the whole work once more (some 250), and as much again for the owner's trust. Common
 * practice, no source. */
PlanTerms plan_default_terms(void)
{
    return (PlanTerms){.labour_minor_per_hour = 12000,
                       .callback_minor = 70000,
                       .second_visit_minor = 9000,
                       .hand_over_minor = 60000,
                       .carrying_minor = 100,
                       .carrying_share = 0.01,
                       .proving_second = 2400,
                       .off_second = 120,
                       .on_second = 60,
                       .cool_second = 1500,
                       .noting_second = 15,
                       .live_risk_second = 240,
                       .justified = 0.85,
                       .nodes = 80};
}

/* ---- warnings */

/* Does a repair among the steps so far mend this fault? */
static bool is_mended(const Appliance *appliance, const Plan *plan, int fault)
{
    const int part = appliance->faults[fault].part;
    for (int s = 0; s < plan->step_count; s++) {
        const Step *step = &plan->steps[s];
        if (step->kind != STEP_REPAIR || step->role == STEP_INSTEAD) continue;
        if (step->part == (step->is_adjustment ? part : appliance->parts[part].replaced_with)) return true;
    }
    return false;
}

/* Probability of each fault once the repairs of the plan are made, for the warnings: of a pair whose two
 * faults give the same warning only one counts, or the pair would be warned of twice. */
static void fill_fault_probabilities(const Standing *standing, const Plan *plan, double *probability)
{
    const DiagnosisModel *model = standing->model;
    for (int h = 1; h < model->hypothesis_count; h++) {
        const char *before = NULL;
        for (int i = 0; i < model->hypotheses[h].count; i++) {
            const int fault = model->circuit.variants[model->hypotheses[h].variants[i]].fault;
            if (is_mended(model->appliance, plan, fault)) continue;
            const char *key = safety_warning_key(model->appliance, &model->appliance->faults[fault]);
            if (!before || !key || !text_equal(key, before)) probability[fault] += standing->probability[h];
            before = key;
        }
    }
}

/* What must be warned of once the repairs among the plan's steps so far are made. */
static bool find_warnings(const Standing *standing, const Plan *plan, Arena *arena,
                          const SafetyWarning **warnings, int *count, Error *error)
{
    const Appliance *appliance = standing->model->appliance;
    double *probability = ARENA_ARRAY(arena, double, (size_t)appliance->fault_count + 1);
    if (!probability) return error_memory(error);
    fill_fault_probabilities(standing, plan, probability);
    return safety_warnings(appliance, probability, arena, warnings, count, error);
}

/* ---- the steps */

static bool add_step(Planning *planning, const Situation *situation, DecisionChoice choice, StepRole role,
                     Plan *plan, Error *error)
{
    if (plan->step_count == PLAN_MOST_STEPS) return true;
    return plan__make_step(planning, situation, choice, role, &plan->steps[plan->step_count++], error);
}

/* S8. The first is what is proposed, unless it follows a repair that is still to come. */
static void add_closing(const Planning *planning, const Situation *situation, int part, bool is_to_come,
                        double rest_minor, Plan *plan)
{
    int checks[PLAN_MOST_CLOSING];
    const int count = plan__list_closing(planning, situation, part, is_to_come, checks);
    for (int i = 0; i < count && plan->step_count < PLAN_MOST_STEPS; i++) {
        const StepRole role = plan->step_count > 0 ? STEP_THEN : STEP_PROPOSED;
        plan->steps[plan->step_count] = plan__closing(planning, situation, checks[i], role, rest_minor);
        plan->step_count++;
    }
}

/* S7: these may show where the frame gets its voltage from, or that it does not. */
static bool add_dead_checks(Planning *planning, const Situation *situation, Plan *plan, Error *error)
{
    for (int t = 0; t < planning->problem.test_count && plan->step_count < 1 + MOST_INSTEAD; t++) {
        const DecisionAct act = {DECISION_TEST, t};
        if (planning->tests[t].needs.power == DECISION_POWER_ON) continue;
        if (!add_step(planning, situation, (DecisionChoice){act, 0}, STEP_THEN, plan, error)) return false;
    }
    return true;
}

/* May the power come on once the repairs among the steps so far are made (safety, S7)? */
static bool may_switch_on_then(const Planning *planning, const Plan *plan, bool *may, Error *error)
{
    const SafetyWarning *left;
    int count;
    if (!find_warnings(planning->standing, plan, planning->arena, &left, &count, error)) return false;
    *may = safety_may_switch_on(left, count);
    return true;
}

/* What follows a repair: perhaps another, then the proving run, unless the frame may still be live then. */
static bool add_what_follows(Planning *planning, DecisionChoice proposed, Plan *plan, Error *error)
{
    const size_t causes = (size_t)planning->cause_count;
    Situation situation = planning->situation;
    DecisionState state = planning->state, after = {.belief = ARENA_ARRAY(planning->arena, double, causes)};
    DecisionChoice choice = proposed;
    if (!after.belief) return error_memory(error);
    while (choice.act.kind == DECISION_REPAIR) {
        double chance;
        situation = plan__after(planning, &situation, &plan->steps[plan->step_count - 1]);
        decision_follow(&planning->decision, &state, choice.act, 0, &after, &chance);
        state = after;
        after.belief = ARENA_ARRAY(planning->arena, double, causes);
        if (!after.belief) return error_memory(error);
        decision_choose(&planning->decision, DECISION_BY_COMPLETION, &state, 1, &choice);
        const DecisionAct proof = {DECISION_PROVE, state.phase == DECISION_MENDED};
        /* what is at hand then is proposed when it has been mended: who knows what that will show */
        if (plan__is_rare(planning, choice.act) || choice.act.kind == DECISION_TEST) choice.act = proof;
        if (choice.act.kind == DECISION_REPAIR &&
            (plan->step_count >= MOST_IN_A_ROW || !plan__is_justified(planning, choice.act)))
            choice.act = proof;
        bool may_prove = true;
        if (choice.act.kind == DECISION_PROVE && !may_switch_on_then(planning, plan, &may_prove, error))
            return false;
        if (!may_prove) return add_dead_checks(planning, &situation, plan, error);
        const Step *last = &plan->steps[plan->step_count - 1];
        if (choice.act.kind == DECISION_PROVE && last->kind == STEP_REPAIR && !last->is_adjustment)
            add_closing(planning, &situation, last->part, true, choice.value, plan);
        if (!add_step(planning, &situation, choice, STEP_THEN, plan, error)) return false;
    }
    return true;
}

static bool is_listed(const Planning *planning, const Plan *plan, DecisionAct act)
{
    for (int s = 0; s < plan->step_count; s++)
        if (act.kind == DECISION_TEST && plan->steps[s].check == planning->checks[act.number]) return true;
    return false;
}

/* The runners-up. What promises clearly less than the proposal was passed over by a rule, and is no
 * alternative. */
static bool add_instead(Planning *planning, DecisionChoice proposed, const DecisionChoice *choices, int count,
                        Plan *plan, Error *error)
{
    const double first = fmax(proposed.value, (double)plan->steps[0].expected_total_minor);
    int added = 0;
    for (int i = 0; i < count && added < MOST_INSTEAD; i++) {
        if (plan__is_same_act(choices[i].act, proposed.act) || is_listed(planning, plan, choices[i].act) ||
            plan__is_rare(planning, choices[i].act) || !plan__is_justified(planning, choices[i].act) ||
            choices[i].act.kind == DECISION_GIVE_UP || choices[i].value < PASSED_OVER * first)
            continue;
        if (!add_step(planning, &planning->situation, choices[i], STEP_INSTEAD, plan, error)) return false;
        added++;
    }
    return true;
}

static PlanVerdict judge(const Planning *planning, const Plan *plan, DecisionAct act)
{
    if (plan__is_set_right(planning, act)) return PLAN_GO_ON; /* that finds nothing */
    switch (act.kind) {
    case DECISION_REPAIR: return plan->set_count > 1 ? PLAN_SET : PLAN_FOUND;
    case DECISION_END: return planning->situation.has_repair ? PLAN_PROVED : PLAN_NOTHING_WRONG;
    case DECISION_GIVE_UP: return PLAN_OPEN;
    case DECISION_PROVE:
        return !planning->situation.has_repair &&
                       planning->standing->nothing_wrong.probability >= ALL_BUT_SOUND
                   ? PLAN_NOTHING_WRONG
                   : PLAN_GO_ON;
    default: return PLAN_GO_ON;
    }
}

/* A doubtful entry comes before all else, one that a part rests on before the part, and what safety wants
 * measured before the proof. */
static bool add_steps(Planning *planning, DecisionChoice proposed, const DecisionChoice *choices, int count,
                      Plan *plan, Error *error)
{
    int doubtful = plan__find_doubtful(planning);
    if (doubtful < 0) doubtful = plan__find_decisive(planning, proposed.act);
    if (doubtful >= 0)
        plan->steps[plan->step_count++] = plan__repeat(planning, doubtful, proposed.value);
    else if (proposed.act.kind == DECISION_PROVE)
        add_closing(planning, &planning->situation, plan__unproved_part(planning), false, proposed.value,
                    plan);
    if (plan->step_count > 0) plan->verdict = PLAN_GO_ON;
    if (!add_step(planning, &planning->situation, proposed, plan->step_count > 0 ? STEP_THEN : STEP_PROPOSED,
                  plan, error))
        return false;
    if (doubtful < 0 && proposed.act.kind == DECISION_REPAIR &&
        !add_what_follows(planning, proposed, plan, error))
        return false;
    return add_instead(planning, proposed, choices, count, plan, error);
}

static bool begin(DiagnosisModel *model, const Standing *standing, const PlanTerms *terms, int questions,
                  Arena *arena, Plan *plan, Planning **planning, Error *error)
{
    if (!find_warnings(standing, plan, arena, &plan->warnings, &plan->warning_count, error)) return false;
    *planning = plan__begin(model, standing, terms, safety_may_switch_on(plan->warnings, plan->warning_count),
                            questions, arena, error);
    return *planning != NULL;
}

bool plan_next(DiagnosisModel *model, const Standing *standing, const PlanTerms *terms, Arena *arena,
               Plan *plan, Error *error)
{
    Planning *planning;
    DecisionChoice choices[DECISION_MOST_CHOICES];
    *plan = (Plan){.verdict = PLAN_GO_ON};
    if (!begin(model, standing, terms, 0, arena, plan, &planning, error)) return false;
    const int count = decision_choose(&planning->decision, DECISION_BY_ROLLOUT, &planning->state,
                                      DECISION_MOST_CHOICES, choices);
    const DecisionChoice proposed = plan__choose(planning, choices, count);
    plan__find_set(standing, plan);
    plan->floor_minor = decision_full_information(&planning->decision, &planning->state);
    plan->verdict = judge(planning, plan, proposed.act);
    if (!add_steps(planning, proposed, choices, count, plan, error)) return false;
    plan->is_done = plan->verdict != PLAN_GO_ON;
    return true;
}

/* ---- before the visit */

/* That a new part is needed: something is broken that only replacing it cures. */
static double needed(const Planning *planning, const Remedy *remedy)
{
    uint64_t adjustable = 0;
    for (int r = 0; r < planning->remedies.remedy_count; r++)
        if (planning->remedies.remedies[r].is_adjustment) adjustable |= planning->remedies.remedies[r].cures;
    double sum = 0;
    for (int c = 0; c < planning->cause_count; c++)
        if (planning->broken[c] & remedy->cures & ~adjustable) sum += planning->belief[c];
    return sum;
}

static bool list_parts(Planning *planning, PlanVisit *visit, Error *error)
{
    PlanPart *parts = ARENA_ARRAY(planning->arena, PlanPart, PLAN_MOST_REMEDIES);
    if (!parts) return error_memory(error);
    for (int r = 0; r < planning->remedies.remedy_count; r++) {
        const Remedy *remedy = &planning->remedies.remedies[r];
        if (remedy->is_adjustment || remedy->price_minor == 0) continue;
        const double probability = needed(planning, remedy);
        const double saves = probability * (double)planning->terms->second_visit_minor -
                             (double)planning->terms->carrying_minor -
                             planning->terms->carrying_share * (double)remedy->price_minor;
        const PlanPart part = {remedy->part, probability, (long long)floor(saves + 0.5), saves > 0};
        int at = visit->part_count++;
        for (; at > 0 && parts[at - 1].saves_minor < part.saves_minor; at--) parts[at] = parts[at - 1];
        parts[at] = part;
    }
    visit->parts = parts;
    return true;
}

static bool is_question(const Planning *planning, int test)
{
    return planning->model->appliance->checks[planning->checks[test]].kind == CHECK_ASK;
}

/* The most telling first. */
static bool list_questions(Planning *planning, PlanVisit *visit, Error *error)
{
    bool is_taken[PLAN_MOST_TESTS] = {false};
    while (visit->question_count < PLAN_MOST_QUESTIONS) {
        int best = -1;
        for (int t = 0; t < planning->problem.test_count; t++)
            if (!is_taken[t] && is_question(planning, t) && planning->nats[t] >= WORTH_ASKING &&
                (best < 0 || planning->nats[t] > planning->nats[best]))
                best = t;
        if (best < 0) return true;
        is_taken[best] = true;
        const DecisionAct act = {DECISION_TEST, best};
        const DecisionChoice choice = {act, decision_value(&planning->decision, &planning->state, act)};
        if (!plan__make_step(planning, &planning->situation, choice, STEP_PROPOSED,
                             &visit->questions[visit->question_count++], error))
            return false;
    }
    return true;
}

bool plan_before_visit(DiagnosisModel *model, const Standing *standing, const PlanTerms *terms, Arena *arena,
                       PlanVisit *visit, Error *error)
{
    Plan plan = {.verdict = PLAN_GO_ON};
    Planning *planning;
    *visit = (PlanVisit){.part_count = 0};
    return begin(model, standing, terms, PLAN_MOST_QUESTIONS, arena, &plan, &planning, error) &&
           list_parts(planning, visit, error) && list_questions(planning, visit, error);
}
