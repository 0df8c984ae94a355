/* step.c: an act of the decision as a step that a technician can take: what to open, how long, what it needs,
 * what each outcome leads to, what can be done on the same occasion.
 *
 * Minutes and places are counted from the situation, money is the decision's. Outcomes are told as finely as
 * the check has them; what is expected after each is that of the few outcomes of the decision. */
#include <assert.h>
#include <math.h>

#include "core/plan/plan_private.h"

static const double REPEAT_SECOND = 60;   /* the probes are still at hand */
static const double WORTH_SHARING = 0.02; /* nats: a check that tells less is not worth a word */

bool plan__is_rare(const Planning *planning, DecisionAct act)
{
    return act.kind == DECISION_REPAIR && act.number >= planning->remedies.remedy_count;
}

/* ---- the way */

/* Outermost first. A place lies behind at most all the others, so this ends. */
static void open_place(const Description *description, Situation *after, int place, int depth, Step *step)
{
    if (place < 0 || after->is_open[place] || depth > description->place_count) return;
    open_place(description, after, description_place_before(description, place), depth + 1, step);
    after->is_open[place] = true;
    step->second += description->places[place].open_second;
    if (description->places[place].open_second > 0 && step->open_count < PLAN_MOST_PLACES)
        step->opens[step->open_count++] = place;
}

/* Power goes off before a place that is moved dead, and on again where the step needs it. */
void plan__walk(const Planning *planning, const Situation *situation, const int *places, int place_count,
                DecisionPower power, Step *step)
{
    const Description *description = planning->model->appliance->description;
    const PlanTerms *terms = planning->terms;
    Situation after = *situation;
    bool is_on = situation->power_on, is_moved_dead = false;
    for (int i = 0; i < place_count; i++) open_place(description, &after, places[i], 0, step);
    for (int p = 0; p < description->place_count; p++) {
        const bool closes = step->closes_all && situation->is_open[p];
        if (closes) step->second += description->places[p].close_second;
        is_moved_dead |=
            (closes || after.is_open[p] != situation->is_open[p]) && description->places[p].needs_power_off;
    }
    if (situation->is_hot && step->needs.needs_cool_oven) step->second += terms->cool_second;
    if (is_on && (is_moved_dead || power == DECISION_POWER_OFF)) {
        step->second += terms->off_second;
        is_on = false;
    }
    if (!is_on && power == DECISION_POWER_ON) {
        step->second += terms->on_second;
        is_on = true;
    }
    step->switches_power = is_on != situation->power_on;
}

Situation plan__after(const Planning *planning, const Situation *situation, const Step *step)
{
    Situation after = *situation;
    const Description *description = planning->model->appliance->description;
    for (int i = 0; i < step->open_count; i++)
        for (int place = step->opens[i]; place >= 0; place = description_place_before(description, place))
            after.is_open[place] = true;
    if (step->switches_power) after.power_on = !after.power_on;
    if (step->needs.needs_cool_oven) after.is_hot = false;
    return after;
}

/* ---- what each outcome leads to */

static StepKind kind_of_act(const Planning *planning, DecisionAct act, DecisionPhase phase)
{
    switch (act.kind) {
    case DECISION_TEST: return STEP_CHECK;
    case DECISION_REPAIR: return plan__is_rare(planning, act) ? STEP_HAND_OVER : STEP_REPAIR;
    case DECISION_PROVE:
        return planning->run_check < 0 || act.number == 1 || phase == DECISION_REPAIRED ||
                       phase == DECISION_MENDED || planning->standing->nothing_wrong.probability >= 0.5
                   ? STEP_PROVE
                   : STEP_CHECK;
    case DECISION_END: return STEP_CLOSE;
    default: return STEP_HAND_OVER;
    }
}

static void note_next(Planning *planning, const DecisionState *after, StepBranch *branch)
{
    DecisionChoice choice;
    decision_choose(&planning->decision, DECISION_BY_COMPLETION, after, 1, &choice);
    branch->expected_minor = choice.value;
    branch->next = kind_of_act(planning, choice.act, after->phase);
    if (branch->next == STEP_CHECK)
        branch->next_check =
            choice.act.kind == DECISION_TEST ? planning->checks[choice.act.number] : planning->run_check;
    if (branch->next == STEP_REPAIR) branch->next_part = planning->remedies.remedies[choice.act.number].part;
}

static bool note_outcomes(Planning *planning, DecisionAct act, int slot, Step *step, Error *error)
{
    int outcome_of_branch[PLAN_MOST_BRANCHES];
    DecisionState after = {.belief = ARENA_ARRAY(planning->arena, double, (size_t)planning->cause_count)};
    if (!after.belief) return error_memory(error);
    plan__note_branches(planning->standing, &planning->field, &planning->predictions[slot], step,
                        outcome_of_branch);
    for (int b = 0; b < step->branch_count; b++) {
        double chance;
        decision_follow(&planning->decision, &planning->state, act,
                        planning->merged[slot][outcome_of_branch[b]], &after, &chance);
        if (chance > 0) note_next(planning, &after, &step->branches[b]);
    }
    return true;
}

/* Checks that cost nothing but themselves once the step's way has been made, and would cost a way otherwise.
 */
static void note_shared(const Planning *planning, DecisionAct act, Step *step)
{
    const Decision *decision = &planning->decision;
    bool is_taken[PLAN_MOST_TESTS] = {false};
    DecisionState after = {.belief = NULL};
    after.setup = decision_after(decision, planning->state.setup, act);
    while (step->shared_count < PLAN_MOST_SHARED) {
        int best = -1;
        for (int t = 0; t < planning->problem.test_count; t++) {
            const DecisionAct other = {DECISION_TEST, t};
            const double own = planning->tests[t].cost;
            const bool is_same = act.kind == DECISION_TEST && act.number == t;
            if (is_same || is_taken[t] || planning->nats[t] < WORTH_SHARING ||
                decision_cost(decision, after.setup, other) > own + 1e-6 ||
                decision_cost(decision, planning->state.setup, other) <= own + 1e-6)
                continue;
            if (best < 0 || planning->nats[t] > planning->nats[best]) best = t;
        }
        if (best < 0) return;
        is_taken[best] = true;
        step->shared[step->shared_count++] = planning->checks[best];
    }
}

/* ---- steps of each kind */

/* What follows a repair is not told by its outcomes: they depend on whether the repair was the right one. */
static bool make_check(Planning *planning, const Situation *situation, DecisionAct act, Step *step,
                       Error *error)
{
    const int slot = act.kind == DECISION_TEST ? act.number : PLAN_MOST_TESTS;
    const int number = act.kind == DECISION_TEST ? planning->checks[slot] : planning->run_check;
    const Check *check = &planning->model->appliance->checks[number];
    step->check = number;
    step->part = check->part;
    step->second = act.kind == DECISION_TEST ? check->second + planning->terms->noting_second
                                             : planning->terms->proving_second;
    step->needs = safety_of_check(planning->model->appliance, check, planning->standing->call);
    step->information = act.kind == DECISION_TEST ? planning->nats[slot] : 0;
    const DecisionNeeds needs = plan__needs_of_check(planning, check);
    step->closes_all = needs.closes_all;
    plan__walk(planning, situation, check->places, 2, needs.power, step);
    if (step->role == STEP_THEN) return true;
    note_shared(planning, act, step);
    return note_outcomes(planning, act, slot, step, error);
}

/* An oven that cannot be simulated is proved by eye and thermometer. */
static void make_blind_proof(const Planning *planning, const Situation *situation, Step *step)
{
    step->second = planning->terms->proving_second;
    step->needs.power_on = true;
    step->closes_all = true;
    plan__walk(planning, situation, NULL, 0, DECISION_POWER_ON, step);
}

/* The watching that would have shown the fault. */
static void make_again(const Planning *planning, const Situation *situation, Step *step)
{
    const int watch = step->role == STEP_THEN ? planning->proof_to_come : planning->plain_proof;
    assert(watch >= 0);
    const Check *check = &planning->model->appliance->checks[watch];
    step->check = watch;
    step->part = check->part;
    step->second = check->second;
    step->needs = safety_of_check(planning->model->appliance, check, planning->standing->call);
    step->closes_all = true;
    plan__walk(planning, situation, NULL, 0, DECISION_POWER_ON, step);
}

static void make_repair(const Planning *planning, const Situation *situation, const Remedy *remedy,
                        Step *step)
{
    const Appliance *appliance = planning->model->appliance;
    if (remedy->is_adjustment && step->role != STEP_THEN)
        step->turn_kelvin = plan__turn_kelvin(planning, remedy->part);
    const int place = step->turn_kelvin != 0  ? -1 /* at the knob or the keypad */
                      : remedy->is_adjustment ? plan__adjusting_place(appliance, remedy->part)
                                              : appliance->parts[remedy->part].place;
    step->part = remedy->part;
    step->is_adjustment = remedy->is_adjustment;
    step->needs_second_visit =
        !remedy->is_adjustment && !plan__is_at_hand(planning->terms, &appliance->parts[remedy->part]);
    step->second = remedy->second;
    step->probability = plan__cured_by(planning, remedy->cures);
    const DecisionPower power =
        remedy->is_adjustment ? plan__power_for_hands(planning, place) : DECISION_POWER_OFF;
    if (power == DECISION_POWER_OFF)
        step->needs = safety_of_repair(appliance, remedy->part, planning->standing->call);
    plan__walk(planning, situation, &place, 1, power, step);
    step->needs.power_on = situation->power_on != step->switches_power;
}

bool plan__make_step(Planning *planning, const Situation *situation, DecisionChoice choice, StepRole role,
                     Step *step, Error *error)
{
    const DecisionAct act = choice.act;
    *step = (Step){
        .kind = kind_of_act(planning, act, role == STEP_THEN ? DECISION_REPAIRED : planning->state.phase),
        .role = role,
        .check = -1,
        .entry = -1,
        .part = -1,
        .expected_total_minor = (long long)(choice.value + 0.5)};
    const bool is_again = act.kind == DECISION_PROVE && act.number == 1;
    if (act.kind == DECISION_REPAIR && !plan__is_rare(planning, act)) {
        const Remedy *remedy = &planning->remedies.remedies[act.number];
        make_repair(planning, situation, remedy, step);
        planning->proof_to_come = remedy->proof;
        step->cost_minor =
            remedy->price_minor + (step->needs_second_visit ? planning->terms->second_visit_minor : 0);
    } else if (is_again) {
        make_again(planning, situation, step);
    } else if (act.kind == DECISION_TEST || (act.kind == DECISION_PROVE && planning->run_check >= 0)) {
        if (!make_check(planning, situation, act, step, error)) return false;
    } else if (act.kind == DECISION_PROVE) {
        make_blind_proof(planning, situation, step);
    } else { /* closed or handed over: what may be live is left dead */
        plan__walk(planning, situation, NULL, 0,
                   planning->may_switch_on ? DECISION_POWER_ANY : DECISION_POWER_OFF, step);
        step->needs.power_on = situation->power_on != step->switches_power;
    }
    step->cost_minor += (long long)(plan__labour(planning->terms, step->second) + 0.5);
    return true;
}

/* An entry as the check that it was, for what it needs and where it is made. */
static Check check_of(const Appliance *appliance, const Entry *entry)
{
    static const CheckKind kinds[] = {
        [READING_OHM] = CHECK_OHM, [READING_VOLT] = CHECK_VOLT, [READING_AMP] = CHECK_AMP};
    Check check = {.kind = CHECK_SIGHT,
                   .part = entry->part,
                   .from = -1,
                   .to = -1,
                   .places = {-1, -1},
                   .second = REPEAT_SECOND};
    if (entry->kind == ENTRY_READING) {
        const Connection *connection = &entry->connection;
        check.kind = kinds[connection->kind];
        check.power_on = connection->power_on;
        check.places[0] = appliance->marks[connection->from].place;
        if (check.kind != CHECK_AMP) check.places[1] = appliance->marks[connection->to].place;
    } else if (entry->kind == ENTRY_LOOK) {
        const bool is_strip = appliance->catalogue->looks[entry->words[0]].way == LOOK_STRIP;
        check.kind = entry->is_glance       ? CHECK_GLANCE
                     : entry->function >= 0 ? CHECK_WATCH
                     : is_strip             ? CHECK_STRIP
                                            : CHECK_SIGHT;
        check.power_on = entry->function >= 0;
        check.places[0] = entry->is_glance            ? entry->place
                          : check.kind == CHECK_SIGHT ? appliance->parts[entry->part].seen_from
                                                      : 0; /* from where one stands */
    }
    return check;
}

Step plan__repeat(const Planning *planning, int entry, double rest_minor)
{
    const Appliance *appliance = planning->model->appliance;
    const Check check = check_of(appliance, &planning->standing->call->entries[entry]);
    Step step = {
        .kind = STEP_REPEAT, .check = -1, .entry = entry, .part = check.part, .second = check.second};
    step.needs = safety_of_check(appliance, &check, planning->standing->call);
    plan__walk(planning, &planning->situation, check.places, 2, plan__needs_of_check(planning, &check).power,
               &step);
    step.cost_minor = (long long)(plan__labour(planning->terms, step.second) + 0.5);
    step.expected_total_minor = step.cost_minor + (long long)(rest_minor + 0.5);
    return step;
}
