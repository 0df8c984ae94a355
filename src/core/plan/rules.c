/* rules.c: what money does not know, on top of the acts that the decision ranks.
 *
 * DESIGN. The decision (core/decision) gives acts in the order of their expected cost. Some of them no
 * technician would stand for, however cheap: they are barred, or wait until a check has spoken. A part is not
 * replaced while a check can still tell whether it is the one, nor an oven called sound that is probably
 * broken; nothing is turned by degrees before a temperature was taken, nor where that was right; nothing rare
 * is proposed; before a run, what shows from a distance that it would fail is looked at. plan.c makes steps
 * of what is chosen here; what must be measured once more is doubt.c's.
 *
 * Bad at: shops with habits of their own. The numbers in capitals are the same for everybody; common
 * practice, no source, where no other is named. */
#include <math.h>

#include "base/mathematics.h"
#include "core/plan/plan_private.h"

static const double TELLS = 0.05; /* nats about whether a part is broken, or this share of what is open */
static const double HONEST = 0.6; /* that nothing is wrong: less is not called so */
static const double POSSIBLY_SOUND = 0.25;                   /* the same, where no part is suspected more */
static const double AS_GOOD_AS_FOUND = 0.95, PATIENCE = 0.1; /* that a part is broken; of the expected cost */
static const double LEAST_TURN_KELVIN = 5;  /* 10 F: less is not turned, and no thermometer tells it */
static const double NEAR_KELVIN = 15 / 1.8; /* what was turned is right within 15 F, as run advice has it */
static const double BAD_FROM_NEW = 0.75;    /* that a part just fitted is the one to be fitted again */
static const double ON_ONE_READING = 0.5;   /* that what it is turned for is there */
static const double ALL_BUT_CERTAIN = 0.97; /* the same, where only a run says so */
static const double OF_THE_HOUSE = 0.97, ON_A_SPOT = 0.93; /* that a part is broken, as `justified` */
static const double LAST_LOOK_SECOND = 180;
enum { MOST_CHOICES = 40, MOST_TURNS = 3 };
enum { ENOUGH_CHECKS = 60, ENOUGH_RUNS = 5 }; /* that have settled nothing: someone else should look */

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
    return measure->kind == ENTRY_RUN && measure->run
               ? measure->run->mean_celsius.value - measure->set_celsius
               : NAN;
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

/* How sure one must be of what a new part is for. Somebody else is called to the house's supply, and a
 * voltage under load tells; a single temperature, read somewhere in the cycle, is no run. */
static double needed_for(const Planning *planning, const Remedy *remedy)
{
    const double justified = planning->terms->justified;
    const Entry *measure = find_measure(planning);
    if (appliance_part_has_role(planning->model->appliance, remedy->part, "supply"))
        return fmax(justified, OF_THE_HOUSE);
    return measure && measure->kind == ENTRY_SPOT ? fmax(justified, ON_A_SPOT) : justified;
}

/* A part that was fitted on this call, and that nothing but a run speaks against: once it may be a bad new
 * one, if that is all but certain. */
static bool is_unseen_again(const Planning *planning, const Remedy *remedy)
{
    const int times = plan__times_repaired(planning->standing->call, remedy->part, false);
    return !remedy->is_adjustment && times > 0 && !plan__is_seen_broken(planning, remedy->part) &&
           (times > 1 || plan__cured_by(planning, remedy->cures) < ALL_BUT_CERTAIN);
}

/* A new part costs money for good; an adjustment is taken back with a finger, but needs a figure. On that of
 * a single reading only what is out rather than not is turned: where in its cycle the oven was nobody knows,
 * so a right one is then wrong, and needs two runs. */
bool plan__is_justified(const Planning *planning, DecisionAct act)
{
    if (act.kind != DECISION_REPAIR) return true;
    const Remedy *remedy = &planning->remedies.remedies[act.number];
    const double cured = plan__cured_by(planning, remedy->cures);
    if (is_unseen_again(planning, remedy)) return false;
    if (!remedy->is_adjustment)
        return cured >= needed_for(planning, remedy) &&
               (remedy->price_minor == 0 || plan__is_witnessed(planning, remedy->part));
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

/* No part is sold to an oven that is more probably sound than cured by it, nor its wiring or supply mended.
 */
static bool is_guesswork(const Planning *planning, DecisionAct act)
{
    if (act.kind != DECISION_REPAIR || plan__is_rare(planning, act)) return false;
    const Remedy *remedy = &planning->remedies.remedies[act.number];
    return !remedy->is_adjustment && plan__cured_by(planning, remedy->cures) < sound(planning);
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

/* Has the part a screw or setting for its temperature, whether or not that is suspected? */
static bool has_setting(const Appliance *appliance, int part)
{
    const Part *turned = &appliance->parts[part];
    for (int f = turned->first_fault; f < turned->first_fault + turned->fault_count; f++)
        if (appliance->faults[f].mode->effect == EFFECT_SHIFT && appliance->faults[f].mode->adjust_second > 0)
            return true;
    return false;
}

/* Within its specification is what a thermometer says, too: an oven that settles further off is set right
 * before the call is closed, whatever made it so and however probably that is no fault. Who says that a sound
 * oven may be off by 17 K has not met its owner. And who turns it turns it until it is near, unless it does
 * not help. The remedy; -1. */
static int find_setting(const Planning *planning)
{
    const Entry *measure = find_measure(planning);
    if (planning->state.phase != DECISION_PROVED || !measure || measure->kind != ENTRY_RUN) return -1;
    for (int r = 0; r < planning->remedies.remedy_count; r++) {
        const Remedy *remedy = &planning->remedies.remedies[r];
        if (!remedy->is_adjustment || !has_setting(planning->model->appliance, remedy->part)) continue;
        const int times = plan__times_repaired(planning->standing->call, remedy->part, true);
        if (times < MOST_TURNS && fabs(error_of(measure)) > (times ? NEAR_KELVIN : DIAGNOSIS_RIGHT_KELVIN))
            return r;
    }
    return -1;
}

bool plan__is_set_right(const Planning *planning, DecisionAct act)
{
    return act.kind == DECISION_REPAIR && act.number == find_setting(planning);
}

double plan__turn_kelvin(const Planning *planning, int part)
{
    const Entry *measure = find_measure(planning);
    const double kelvin = measure ? error_of(measure) : NAN;
    const bool is_by_degrees = find_setting(planning) >= 0 ? has_setting(planning->model->appliance, part)
                                                           : is_turned_by_degrees(planning, part);
    const DescribedRegulation *range = &planning->model->appliance->description->regulation;
    if (!is_by_degrees || !isfinite(kelvin)) return 0;
    if (range->offset_to_kelvin <= range->offset_from_kelvin) return -kelvin;
    return fmin(fmax(-kelvin, range->offset_from_kelvin), range->offset_to_kelvin);
}

/* What was fitted on this call is fitted again only when little else is left, and once it was seen or
 * measured to be bad: a new part is rarely so, and a run that is as it was before speaks of another. */
static bool is_fitted_again(const Planning *planning, DecisionAct act, const DecisionChoice *all, int count)
{
    if (act.kind != DECISION_REPAIR || plan__is_rare(planning, act)) return false;
    const Remedy *remedy = &planning->remedies.remedies[act.number];
    if (!remedy->is_adjustment && plan__times_repaired(planning->standing->call, remedy->part, false) > 0 &&
        plan__cured_by(planning, remedy->cures) < BAD_FROM_NEW)
        return true;
    if (!is_unseen_again(planning, remedy)) return false;
    for (int i = 0; i < count; i++)
        if (all[i].act.kind == DECISION_TEST && can_tell(planning, all[i].act, remedy->cures)) return false;
    return true;
}

static bool is_barred(const Planning *planning, DecisionAct act, const DecisionChoice *all, int count)
{
    return plan__is_rare(planning, act) || !is_honest(planning, act) || is_guesswork(planning, act) ||
           is_hasty(planning, act) || is_right_already(planning, act) ||
           is_fitted_again(planning, act, all, count);
}

/* Before the call is closed every function is tried: that is, whatever is seen from a distance and costs no
 * more than three minutes above what it is expected to save. The first such look, or the end. */
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

/* What a look on the way to the run saves: the run, where it shows that this would fail; what the control is
 * set to costs a minute to read, and a wrong offset is set right without another run. */
static double saves(const Planning *planning, int test, double extra)
{
    if (planning->model->appliance->checks[planning->checks[test]].kind == CHECK_OFFSET)
        return plan__labour(planning->terms, LAST_LOOK_SECOND) - extra;
    return chance_of_trouble(planning, test) * planning->problem.proving.cost - extra;
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
        if (!plan__is_tried_anyway(planning->model->appliance, planning->checks[t])) continue;
        const double by_way = decision_cost(decision, setup, look) +
                              decision_cost(decision, decision_after(decision, setup, look), proof.act);
        const double saved = saves(planning, t, by_way - direct);
        if (saved <= most) continue;
        most = saved;
        best = (DecisionChoice){look, proof.value - saved};
    }
    return best;
}

/* A part that is nearly surely broken is mended before yet another check, unless that check saves more than a
 * technician's patience. */
static bool is_as_good_as_found(const Planning *planning, DecisionChoice choice, double best)
{
    if (choice.act.kind != DECISION_REPAIR || plan__is_rare(planning, choice.act) ||
        choice.value > (1 + PATIENCE) * best || !plan__is_justified(planning, choice.act) ||
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

bool plan__is_same_act(DecisionAct a, DecisionAct b) { return a.kind == b.kind && a.number == b.number; }

/* The acts that the search has followed, and behind them all others by one step. */
static int list_choices(Planning *planning, const DecisionChoice *followed, int count, DecisionChoice *all)
{
    DecisionChoice others[MOST_CHOICES];
    const int other_count =
        decision_choose(&planning->decision, DECISION_BY_COMPLETION, &planning->state, MOST_CHOICES, others);
    for (int i = 0; i < count; i++) all[i] = followed[i];
    for (int i = 0; i < other_count && count < MOST_CHOICES; i++) {
        bool is_there = false;
        for (int k = 0; k < count; k++) is_there |= plan__is_same_act(all[k].act, others[i].act);
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
    while (first < count && (is_barred(planning, all[first].act, all, count) ||
                             (is_enough && all[first].act.kind == DECISION_TEST)))
        first++;
    if (first == count) return (DecisionChoice){{DECISION_GIVE_UP, 0}, planning->problem.give_up_cost};
    const int setting = find_setting(planning);
    if (setting >= 0) {
        const DecisionAct turn = {DECISION_REPAIR, setting};
        return (DecisionChoice){turn, decision_value(&planning->decision, &planning->state, turn)};
    }
    if (all[first].act.kind == DECISION_TEST)
        for (int i = 0; i < count; i++)
            if (is_as_good_as_found(planning, all[i], all[first].value)) return all[i];
    if (plan__is_justified(planning, all[first].act)) return try_functions(planning, all[first], all, count);
    const int number = all[first].act.number;
    for (int i = 0; i < count; i++)
        if (can_tell(planning, all[i].act, planning->repairs[number].cures)) return all[i];
    for (int i = 0; i < count && planning->remedies.remedies[number].is_adjustment; i++)
        if (all[i].act.kind == DECISION_PROVE) return all[i];
    return all[first];
}

DecisionChoice plan__choose(Planning *planning, const DecisionChoice *followed, int followed_count)
{
    return look_before_run(planning, choose_by_rules(planning, followed, followed_count));
}
