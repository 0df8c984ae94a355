/* plan.c: the next step, by expected cost, within the rules of the house.
 *
 * DESIGN. The standing becomes a problem of decision (problem.c), the decision gives its best acts in order
 * (core/decision), and a few rules that money does not know are put on top: an entry that contradicts the
 * others is made once more before anything rests on it; a part is not replaced while a check can still tell
 * whether it is the one, nothing is turned by degrees before a temperature was taken, nor where that was
 * right; nothing rare is proposed; with a frame that may be live nothing is switched on (safety, S7: the
 * problem has no such acts then). Then acts become steps, the first of them the proposal.
 *
 * Invariants: (1) there is always a first step unless S7 leaves none; (2) a repair is followed by a proving
 * run or by a reason against it; (3) the call is closed only after its proof: a
 * run that was right, or looking again at what no run shows.
 *
 * Bad at: two technicians. Everything is done one after the other. */
#include <assert.h>
#include <math.h>

#include "base/mathematics.h"
#include "core/plan/plan_private.h"

static const double TELLS = 0.05; /* nats about whether a part is broken, or this share of what is open */
static const double HONEST = 0.6; /* that nothing is wrong: less is not called so */
static const double POSSIBLY_SOUND = 0.25; /* the same, where no part is suspected more */
static const double PASSED_OVER = 0.99;    /* of the proposal's expected cost; a rollout's margin is less */
static const double AS_GOOD_AS_FOUND = 0.95, PATIENCE = 0.1; /* that a part is broken; of the expected cost */
static const double ALL_BUT_CERTAIN = 0.97,
                    DECISIVE = 10;         /* that a part is broken; times likelier by an entry */
static const double LEAST_TURN_KELVIN = 5; /* 10 F: less is not turned, and no thermometer tells it */
static const double BAD_FROM_NEW = 0.75;   /* that a part just fitted is the one to be fitted again */
static const double ON_ONE_READING = 0.5;  /* that what it is turned for is there */
static const double LAST_LOOK_SECOND = 180;
static const double ALL_BUT_SOUND = 0.9; /* nothing wrong: only the run is left to say so */
/* Repairs in a row, so that what must stand between them and the proof, and the proof, have room. */
enum { MOST_CHOICES = 40, MOST_INSTEAD = 2, MOST_IN_A_ROW = PLAN_MOST_STEPS - PLAN_MOST_CLOSING - 1 };
enum { ENOUGH_CHECKS = 60, ENOUGH_RUNS = 5 }; /* that have settled nothing: someone else should look */

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

/* ---- the rules that money does not know */

/* Nats that a test or the proving run tells about whether a repair cures something. */
static double tells_about(const Planning *planning, DecisionAct act, uint64_t cures, double *open)
{
    const DecisionTest *test = act.kind == DECISION_TEST ? &planning->tests[act.number]
                               : act.number              ? &planning->problem.again
                                                         : &planning->problem.proving;
    const size_t causes = (size_t)planning->cause_count;
    const double hit = plan__cured_by(planning, cures);
    double left = 0;
    for (int o = 0; o < test->outcome_count; o++) {
        double all = 0, mine = 0;
        for (size_t c = 0; c < causes; c++) {
            const double joint = planning->belief[c] * test->chance[(size_t)o * causes + c];
            all += joint;
            if (planning->broken[c] & cures) mine += joint;
        }
        if (mine > 0) left -= mine * math_log(mine / all);
        if (all - mine > 0) left -= (all - mine) * math_log((all - mine) / all);
    }
    *open = hit > 0 && hit < 1 ? -hit * math_log(hit) - (1 - hit) * math_log(1 - hit) : 0;
    return *open - left;
}

/* Is what the part would be adjusted for a matter of kelvins, and not of a clip that has come off? */
static bool is_turned_by_degrees(const Planning *planning, int part)
{
    const DiagnosisModel *model = planning->model;
    double kelvins = 0, others = 0;
    for (int h = 1; h < model->hypothesis_count; h++) {
        const HypothesisGroup *group = &model->groups[model->hypotheses[h].group];
        for (int i = 0; i < group->count; i++) {
            const Fault *fault = &model->appliance->faults[group->faults[i]];
            if (fault->part != part || fault->mode->adjust_second <= 0) continue;
            *(fault->mode->effect == EFFECT_SHIFT ? &kelvins : &others) += planning->standing->probability[h];
        }
    }
    return kelvins > others;
}

/* How far to turn a screw, or what to set, is known only from where the oven settles or what the control
 * displays, since the last repair: the last entry that says so; NULL. */
static const Entry *find_measure(const Planning *planning)
{
    const Call *call = planning->standing->call;
    for (int e = call->entry_count - 1; e >= 0; e--) {
        const Entry *entry = &call->entries[e];
        if (entry->is_struck) continue;
        if (entry->kind == ENTRY_REPAIR) break;
        if (entry->kind == ENTRY_RUN || entry->kind == ENTRY_SPOT ||
            (entry->kind == ENTRY_SETTING && text_equal(entry->text, "offset")))
            return entry;
    }
    return NULL;
}

static double error_of(const Entry *measure)
{
    if (measure->kind == ENTRY_SPOT) return measure->value.value - measure->set_celsius;
    return measure->kind == ENTRY_RUN && measure->run ? measure->run->error_kelvin.value : NAN;
}

/* What is right by the thermometer is not turned, whatever is suspected. */
static bool is_right_already(const Planning *planning, DecisionAct act)
{
    if (act.kind != DECISION_REPAIR || plan__is_rare(planning, act)) return false;
    const Remedy *remedy = &planning->remedies.remedies[act.number];
    const Entry *measure = find_measure(planning);
    return remedy->is_adjustment && measure && is_turned_by_degrees(planning, remedy->part) &&
           fabs(error_of(measure)) < LEAST_TURN_KELVIN;
}

/* A new part costs money for good; an adjustment is taken back with a finger, but needs a figure. On that of
 * a single reading only what is out rather than not is turned: where in its cycle the oven was nobody knows,
 * so a right one is then wrong, and needs two runs. */
static bool is_justified(const Planning *planning, DecisionAct act)
{
    if (act.kind != DECISION_REPAIR) return true;
    const Remedy *remedy = &planning->remedies.remedies[act.number];
    const double cured = plan__cured_by(planning, remedy->cures);
    if (!remedy->is_adjustment) return cured >= planning->terms->justified;
    if (!is_turned_by_degrees(planning, remedy->part)) return true;
    const Entry *measure = find_measure(planning);
    return measure && !is_right_already(planning, act) &&
           (measure->kind != ENTRY_SPOT || cured >= ON_ONE_READING);
}

static bool can_tell(const Planning *planning, DecisionAct act, uint64_t cures)
{
    double open;
    if (act.kind != DECISION_TEST && act.kind != DECISION_PROVE) return false;
    const double nats = tells_about(planning, act, cures, &open);
    return nats >= fmin(TELLS, TELLS * open + 1e-3);
}

static double sound(const Planning *planning)
{
    double sum = 0;
    for (int c = 0; c < planning->cause_count; c++)
        if (!planning->broken[c]) sum += planning->belief[c];
    return sum;
}

/* "Within its specification" is not said of an oven that is probably broken, however cheap that would be;
 * unless no remedy is suspected more than 'nothing wrong' by so much that it would be justified between the
 * two: then nothing was found, and the run was right. */
static bool is_honest(const Planning *planning, DecisionAct act)
{
    const double right = sound(planning);
    if (act.kind != DECISION_END || right >= HONEST) return true;
    if (right < POSSIBLY_SOUND) return false;
    for (int r = 0; r < planning->remedies.remedy_count; r++) {
        const double hit = plan__cured_by(planning, planning->repairs[r].cures);
        if (hit >= planning->terms->justified * (hit + right)) return false;
    }
    return true;
}

/* No part is sold to an oven that is more probably sound than cured by it. */
static bool is_guesswork(const Planning *planning, DecisionAct act)
{
    if (act.kind != DECISION_REPAIR || plan__is_rare(planning, act)) return false;
    const Remedy *remedy = &planning->remedies.remedies[act.number];
    return !remedy->is_adjustment && remedy->price_minor > 0 &&
           plan__cured_by(planning, remedy->cures) < sound(planning);
}

/* What was just adjusted is not replaced before a temperature shows what the adjusting did; unless nothing
 * may be switched on, or all is seen to be as it was. */
static bool is_hasty(const Planning *planning, DecisionAct act)
{
    if (act.kind != DECISION_REPAIR || plan__is_rare(planning, act) || !planning->may_switch_on ||
        planning->state.phase == DECISION_FAILED)
        return false;
    const Remedy *remedy = &planning->remedies.remedies[act.number];
    const Call *call = planning->standing->call;
    for (int e = call->entry_count - 1; e >= 0 && !remedy->is_adjustment; e--) {
        const Entry *entry = &call->entries[e];
        if (entry->is_struck) continue;
        if (entry->kind == ENTRY_RUN || entry->kind == ENTRY_SPOT) break;
        if (entry->kind == ENTRY_REPAIR && call_is_adjusted(entry) &&
            planning->model->appliance->parts[entry->part].replaced_with == remedy->part)
            return true;
    }
    return false;
}

/* What was fitted on this call is fitted again only when little else is left: a new part is rarely bad. */
static bool is_fitted_again(const Planning *planning, DecisionAct act)
{
    if (act.kind != DECISION_REPAIR || plan__is_rare(planning, act)) return false;
    const Remedy *remedy = &planning->remedies.remedies[act.number];
    return !remedy->is_adjustment && plan__was_repaired(planning->standing->call, remedy->part, false) &&
           plan__cured_by(planning, remedy->cures) < BAD_FROM_NEW;
}

static bool is_barred(const Planning *planning, DecisionAct act)
{
    return plan__is_rare(planning, act) || !is_honest(planning, act) || is_guesswork(planning, act) ||
           is_hasty(planning, act) || is_right_already(planning, act) || is_fitted_again(planning, act);
}

/* Before the call is closed every function is tried: that is, whatever is seen from a distance and costs no
 * more than two minutes above what it is expected to save. The first such look, or the end. */
static DecisionChoice try_functions(const Planning *planning, DecisionChoice end, const DecisionChoice *all,
                                    int count)
{
    const double most = end.value + plan__labour(planning->terms, LAST_LOOK_SECOND);
    for (int i = 0; i < count && end.act.kind == DECISION_END; i++)
        if (all[i].act.kind == DECISION_TEST && all[i].value <= most &&
            planning->model->appliance->checks[planning->checks[all[i].act.number]].kind == CHECK_WATCH)
            return all[i];
    return end;
}

/* Chance that a check shows an oven of which the run will say that it is not right. */
static double chance_of_trouble(const Planning *planning, int test)
{
    const DecisionTest *look = &planning->tests[test];
    const int causes = planning->cause_count;
    double trouble = 0;
    for (int o = 0; o < look->outcome_count; o++) {
        double all = 0, right = 0;
        for (int c = 0; c < causes; c++) {
            const double joint = planning->belief[c] * look->chance[o * causes + c];
            all += joint;
            right += joint * plan__chance_to_pass(planning, c);
        }
        if (right < all / 2) trouble += all;
    }
    return trouble;
}

/* Between a repair and the run that proves it, once safety has its checks: whatever shows from a distance
 * that the run would fail, a minute against forty. It pays with the run that it saves for the way to it. */
static DecisionChoice look_before_run(const Planning *planning, DecisionChoice proof)
{
    const Decision *decision = &planning->decision;
    const DecisionSetup setup = planning->state.setup;
    int closing[PLAN_MOST_CLOSING];
    double most = 0;
    DecisionChoice best = proof;
    if (proof.act.kind != DECISION_PROVE || proof.act.number != 0 ||
        planning->state.phase != DECISION_REPAIRED || !planning->may_switch_on ||
        plan__list_closing(planning, &planning->situation, plan__unproved_part(planning), false, closing) > 0)
        return proof;
    const double direct = decision_cost(decision, setup, proof.act);
    for (int t = 0; t < planning->problem.test_count; t++) {
        const DecisionAct look = {DECISION_TEST, t};
        if (planning->model->appliance->checks[planning->checks[t]].kind != CHECK_WATCH) continue;
        const double by_way = decision_cost(decision, setup, look) +
                              decision_cost(decision, decision_after(decision, setup, look), proof.act);
        const double saves =
            chance_of_trouble(planning, t) * planning->problem.proving.cost - (by_way - direct);
        if (saves <= most) continue;
        most = saves;
        best = (DecisionChoice){look, proof.value - saves};
    }
    return best;
}

/* A part that is nearly surely broken is mended before yet another check, unless that check saves more than a
 * technician's patience. */
static bool is_as_good_as_found(const Planning *planning, DecisionChoice choice, double best)
{
    if (choice.act.kind != DECISION_REPAIR || plan__is_rare(planning, choice.act) ||
        choice.value > (1 + PATIENCE) * best || !is_justified(planning, choice.act) ||
        is_hasty(planning, choice.act))
        return false;
    return plan__cured_by(planning, planning->repairs[choice.act.number].cures) >= AS_GOOD_AS_FOUND;
}

/* Since the last repair: what was looked at, measured, asked. */
static int checks_made(const Call *call)
{
    int made = 0;
    for (int e = 0; e < call->entry_count; e++) {
        const EntryKind kind = call->entries[e].kind;
        if (call->entries[e].is_struck) continue;
        made += kind == ENTRY_LOOK || kind == ENTRY_READING || kind == ENTRY_ASKED || kind == ENTRY_SETTING;
        if (kind == ENTRY_REPAIR) made = 0;
    }
    return made;
}

/* Runs of this visit that were not right. */
static int runs_failed(const Planning *planning)
{
    const Call *call = planning->standing->call;
    int failed = 0;
    for (int e = 0; e < call->entry_count; e++) {
        const Entry *entry = &call->entries[e];
        failed += !entry->is_struck && entry->kind == ENTRY_RUN && diagnosis_weighs(planning->model, entry) &&
                  !diagnosis_is_right(planning->model, entry);
    }
    return failed;
}

static bool is_same_act(DecisionAct a, DecisionAct b) { return a.kind == b.kind && a.number == b.number; }

/* The acts that the search has followed, and behind them all others by one step. */
static int list_choices(Planning *planning, const DecisionChoice *followed, int count, DecisionChoice *all)
{
    DecisionChoice others[MOST_CHOICES];
    const int other_count =
        decision_choose(&planning->decision, DECISION_BY_COMPLETION, &planning->state, MOST_CHOICES, others);
    for (int i = 0; i < count; i++) all[i] = followed[i];
    for (int i = 0; i < other_count && count < MOST_CHOICES; i++) {
        bool is_there = false;
        for (int k = 0; k < count; k++) is_there |= is_same_act(all[k].act, others[i].act);
        if (!is_there) all[count++] = others[i];
    }
    return count;
}

/* The best act that may be proposed: nothing rare, no dishonest end; and not a part that a check might still
 * acquit: then the best of those checks, or the run for what is turned by degrees. */
static DecisionChoice choose_by_rules(Planning *planning, const DecisionChoice *followed, int followed_count)
{
    DecisionChoice all[MOST_CHOICES];
    const int count = list_choices(planning, followed, followed_count, all);
    const bool is_enough = checks_made(planning->standing->call) >= ENOUGH_CHECKS;
    int first = runs_failed(planning) < ENOUGH_RUNS ? 0 : count;
    while (first < count &&
           (is_barred(planning, all[first].act) || (is_enough && all[first].act.kind == DECISION_TEST)))
        first++;
    if (first == count) return (DecisionChoice){{DECISION_GIVE_UP, 0}, planning->problem.give_up_cost};
    if (all[first].act.kind == DECISION_TEST)
        for (int i = 0; i < count; i++)
            if (is_as_good_as_found(planning, all[i], all[first].value)) return all[i];
    if (is_justified(planning, all[first].act)) return try_functions(planning, all[first], all, count);
    const int number = all[first].act.number;
    for (int i = 0; i < count; i++)
        if (can_tell(planning, all[i].act, planning->repairs[number].cures)) return all[i];
    for (int i = 0; i < count && planning->remedies.remedies[number].is_adjustment; i++)
        if (all[i].act.kind == DECISION_PROVE) return all[i];
    return all[first];
}

static DecisionChoice choose(Planning *planning, const DecisionChoice *followed, int followed_count)
{
    return look_before_run(planning, choose_by_rules(planning, followed, followed_count));
}

static bool is_same_entry(const Entry *a, const Entry *b)
{
    if (a->kind != b->kind || a->is_struck || b->is_struck) return false;
    if (a->is_glance || b->is_glance) return a->is_glance && b->is_glance && a->place == b->place;
    if (a->kind == ENTRY_LOOK) return a->part == b->part && a->function == b->function;
    if (a->kind != ENTRY_READING) return false;
    const Connection *c = &a->connection, *d = &b->connection;
    return c->kind == d->kind && c->from == d->from && c->to == d->to && c->function == d->function &&
           c->power_on == d->power_on && c->lift_count == d->lift_count && c->unplug_count == d->unplug_count;
}

static bool may_be_repeated(const Planning *planning, int number)
{
    const Call *call = planning->standing->call;
    const Entry *entry = &call->entries[number];
    if (entry->is_struck || (entry->kind != ENTRY_READING && entry->kind != ENTRY_LOOK)) return false;
    for (int e = 0; e < call->entry_count; e++)
        if (e != number && is_same_entry(entry, &call->entries[e])) return false;
    return planning->may_switch_on || !plan__repeat(planning, number, 0).needs.power_on;
}

/* The earliest entry in doubt that has not been made once more already; -1. A repeat that the frame bars
 * waits (S7). */
static int find_doubtful(const Planning *planning)
{
    const Standing *standing = planning->standing;
    for (int c = 0; c < standing->contradiction_count; c++)
        if (may_be_repeated(planning, standing->contradictions[c].entry))
            return standing->contradictions[c].entry;
    return -1;
}

static const Suspect *find_suspect(const Planning *planning, int part)
{
    const Standing *standing = planning->standing;
    const Appliance *appliance = planning->model->appliance;
    for (int s = 0; s < standing->suspect_count; s++) {
        const HypothesisGroup *group = &planning->model->groups[standing->suspects[s].group];
        for (int i = 0; i < group->count; i++)
            if (appliance->parts[appliance->faults[group->faults[i]].part].replaced_with == part)
                return &standing->suspects[s];
    }
    return NULL;
}

/* Measured twice, sold once: the reading or look that a part to be bought rests on, while it is not all but
 * certain and nobody has made it once more; -1. A slip costs a part, a repeat costs a minute. */
static int find_decisive(const Planning *planning, DecisionAct act)
{
    if (act.kind != DECISION_REPAIR || plan__is_rare(planning, act)) return -1;
    const Remedy *remedy = &planning->remedies.remedies[act.number];
    if (remedy->is_adjustment || remedy->price_minor == 0 ||
        plan__cured_by(planning, remedy->cures) >= ALL_BUT_CERTAIN)
        return -1;
    const Suspect *suspect = find_suspect(planning, remedy->part);
    int decisive = -1;
    double most = DECISIVE;
    for (int e = 0; suspect && e < planning->standing->call->entry_count; e++) {
        const Entry *entry = &planning->standing->call->entries[e];
        if (entry->kind == ENTRY_REPAIR) decisive = -1, most = DECISIVE; /* another oven */
        if (suspect->factors[e] < most || (entry->kind != ENTRY_READING && entry->kind != ENTRY_LOOK))
            continue;
        decisive = e;
        most = suspect->factors[e];
    }
    return decisive >= 0 && may_be_repeated(planning, decisive) ? decisive : -1;
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
            (plan->step_count >= MOST_IN_A_ROW || !is_justified(planning, choice.act)))
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
        if (is_same_act(choices[i].act, proposed.act) || is_listed(planning, plan, choices[i].act) ||
            plan__is_rare(planning, choices[i].act) || !is_justified(planning, choices[i].act) ||
            choices[i].act.kind == DECISION_GIVE_UP || choices[i].value < PASSED_OVER * first)
            continue;
        if (!add_step(planning, &planning->situation, choices[i], STEP_INSTEAD, plan, error)) return false;
        added++;
    }
    return true;
}

static PlanVerdict judge(const Planning *planning, const Plan *plan, DecisionAct act)
{
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
    int doubtful = find_doubtful(planning);
    if (doubtful < 0) doubtful = find_decisive(planning, proposed.act);
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
    const DecisionChoice proposed = choose(planning, choices, count);
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
            if (!is_taken[t] && is_question(planning, t) && planning->nats[t] >= TELLS / 5 &&
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
