/* proof.c: repairs that need no temperature run to be proved: what was mended is seen to work.
 *
 * A lamp, a cooling fan, a display do nothing for the temperature: a run would pass with the fault in it.
 * Such a repair is plain, and is proved by the watching that would show the fault. What the run can see is
 * proved by the run, and so is everything once anything of that sort was mended since the last one, or once
 * the owner speaks of a temperature that nothing mended explains.
 *
 * Invariant: a repair is plain only if there is a check that tells its fault from a sound oven. */
#include <assert.h>
#include <math.h>

#include "core/plan/plan_private.h"

static const double AS_SOUND = 0.85;   /* of a sound oven's chance to pass the run: the run does not see it */
static const double ALMOST_ALL = 0.95; /* of what a repair may cure */
static const double TOLD_APART = 0.6;  /* Bhattacharyya coefficient below which one look tells */
static const double EXPLAINS = 1.5;    /* times likelier to be said than with the most of others */
static const double WORKS = 0.99, STILL_BROKEN = 0.03; /* chances that looking again is satisfied */
static const double AGAIN_SECOND = 180;
static const size_t SCRATCH_BYTES = (size_t)1 << 20;

/* Chance to pass the proving run of the typical cause of a class. */
static double pass_of_class(const Planning *planning, uint64_t broken)
{
    double pass = 0;
    for (int c = 0; c < planning->cause_count; c++) /* the typical one is the last */
        if (planning->broken[c] == broken) pass = plan__chance_to_pass(planning, c);
    return pass;
}

/* How alike a check looks under a hypothesis and with nothing wrong; 1 when memory is out. */
static double likeness(Planning *planning, int check, int hypothesis)
{
    const int both[] = {0, hypothesis};
    Arena scratch = arena_new(SCRATCH_BYTES);
    Prediction prediction;
    Error error;
    double overlap = 1;
    if (diagnosis_predict(planning->model, planning->standing->call, check, both, 2, &scratch, &prediction,
                          &error)) {
        overlap = 0;
        for (int o = 0; o < prediction.outcome_count; o++)
            overlap += sqrt(prediction.chance[o] * prediction.chance[DIAGNOSIS_MOST_OUTCOMES + o]);
    }
    arena_free(&scratch);
    return overlap;
}

static int find_watch(Planning *planning, int hypothesis)
{
    const Appliance *appliance = planning->model->appliance;
    for (int check = 0; check < appliance->check_count; check++)
        if (appliance->checks[check].kind == CHECK_WATCH &&
            likeness(planning, check, hypothesis) < TOLD_APART)
            return check;
    return -1;
}

/* The likeliest component that the remedy cures, when nearly all that it may cure is out of the run's sight.
 */
static int plain_component(const Planning *planning, uint64_t cures)
{
    const double sound = pass_of_class(planning, 0);
    double plain = 0, all = 1e-12;
    int likeliest = -1;
    for (int i = 0; i < planning->remedies.component_count; i++) {
        const uint64_t bit = (uint64_t)1 << i;
        if (!(cures & bit)) continue;
        const double mass = 1e-12 + plan__cured_by(planning, bit);
        all += mass;
        if (pass_of_class(planning, bit) < AS_SOUND * sound) continue;
        plain += mass;
        if (likeliest < 0) likeliest = i; /* components stand in falling probability */
    }
    return plain >= ALMOST_ALL * all ? likeliest : -1;
}

void plan__find_plain(Planning *planning)
{
    for (int r = 0; r < planning->remedies.remedy_count; r++) {
        Remedy *remedy = &planning->remedies.remedies[r];
        const int component = planning->run_check < 0 ? -1 : plain_component(planning, remedy->cures);
        remedy->proof = component < 0 ? -1 : find_watch(planning, planning->remedies.likeliest[component]);
        if (remedy->proof < 0) continue;
        for (int i = 0; i < planning->remedies.component_count; i++)
            if (remedy->cures >> i & 1) planning->plain_components |= (uint64_t)1 << i;
    }
}

/* Looking again is not satisfied with what is plain and still broken; of the rest it sees nothing. */
bool plan__make_again(Planning *planning, Error *error)
{
    const size_t causes = (size_t)planning->cause_count;
    double *chance = ARENA_ARRAY(planning->arena, double, 2 * causes);
    if (!chance) return error_memory(error);
    for (size_t c = 0; c < causes; c++) {
        chance[c] = planning->broken[c] & planning->plain_components ? STILL_BROKEN : WORKS;
        chance[causes + c] = 1 - chance[c];
    }
    planning->problem.again = (DecisionTest){.cost = plan__labour(planning->terms, AGAIN_SECOND),
                                             .needs = {.closes_all = true, .power = DECISION_POWER_ON},
                                             .outcome_count = planning->plain_components ? 2 : 0,
                                             .chance = chance};
    planning->problem.again_passes = 1;
    return true;
}

/* Which remedy a repair in the trail was; -1 when its part is no suspect any more. */
static const Remedy *remedy_of(const Planning *planning, const Entry *repair)
{
    const Appliance *appliance = planning->model->appliance;
    const bool is_adjustment = call_is_adjusted(repair);
    const int part = is_adjustment ? repair->part : appliance->parts[repair->part].replaced_with;
    for (int r = 0; r < planning->remedies.remedy_count; r++) {
        const Remedy *remedy = &planning->remedies.remedies[r];
        if (remedy->part == part && remedy->is_adjustment == is_adjustment) return remedy;
    }
    return NULL;
}

/* ---- was what the owner complains of mended? */

/* Said of what a thermometer shows: what makes owners say it most of all is nothing that can be watched. */
static bool is_of_temperature(const ComplaintWord *word)
{
    const Condition first = kind_first_cause(word);
    return first == CONDITION_COOLER || first == CONDITION_HOTTER || first == CONDITION_SWINGS ||
           first == CONDITION_SLUGGISH;
}

static bool is_said(const Planning *planning, int check)
{
    const Call *call = planning->standing->call;
    for (int e = 0; e < call->entry_count; e++) {
        const Entry *entry = &call->entries[e];
        if (!entry->is_struck && diagnosis_is_check(planning->model, entry, check) &&
            (entry->kind == ENTRY_COMPLAINT || entry->is_yes))
            return true;
    }
    return false;
}

/* Was a fault of this part mended on this call? */
static bool is_mended(const Planning *planning, int part)
{
    const Call *call = planning->standing->call;
    const Part *parts = planning->model->appliance->parts;
    for (int e = 0; e < call->entry_count; e++) {
        const Entry *entry = &call->entries[e];
        if (!entry->is_struck && entry->kind == ENTRY_REPAIR &&
            (entry->part == part || parts[part].replaced_with == entry->part))
            return true;
    }
    return false;
}

static double chance_said(const Prediction *prediction, int h)
{
    assert(prediction->outcomes[1].kind == OUTCOME_YES);
    return prediction->chance[h * DIAGNOSIS_MOST_OUTCOMES + 1];
}

/* Would the owner rather say so with what was mended than with the most of other faults? */
static bool explains(const Planning *planning, const Prediction *prediction, int singles)
{
    const DiagnosisModel *model = planning->model;
    double mended = 0, weight = 0;
    int less = 0;
    for (int h = 1; h < singles; h++) {
        const int fault = model->groups[model->hypotheses[h].group].faults[0];
        if (!is_mended(planning, model->appliance->faults[fault].part)) continue;
        mended += model->hypotheses[h].prior * chance_said(prediction, h);
        weight += model->hypotheses[h].prior;
    }
    for (int h = 1; h < singles; h++) less += mended >= EXPLAINS * weight * chance_said(prediction, h);
    return 2 * less > singles;
}

/* An owner who says that the oven bakes too hot is not told that the lamp was the fault: when no repair
 * explains what was said of the temperature, a run has to answer it. Memory out: it does. */
static bool is_complaint_open(Planning *planning)
{
    const Appliance *appliance = planning->model->appliance;
    int singles = 1;
    while (singles < planning->model->hypothesis_count && planning->model->hypotheses[singles].count == 1)
        singles++;
    bool is_open = false;
    for (int check = 0; check < appliance->check_count && !is_open; check++) {
        const Check *asked = &appliance->checks[check];
        if (asked->kind != CHECK_ASK || !is_of_temperature(&appliance->catalogue->complaints[asked->word]) ||
            !is_said(planning, check))
            continue;
        Arena scratch = arena_new(SCRATCH_BYTES);
        Prediction prediction;
        Error error;
        int *which = ARENA_ARRAY(&scratch, int, (size_t)singles);
        for (int h = 0; which && h < singles; h++) which[h] = h;
        is_open =
            !which ||
            !diagnosis_predict(planning->model, NULL, check, which, singles, &scratch, &prediction, &error) ||
            !explains(planning, &prediction, singles);
        arena_free(&scratch);
    }
    return is_open;
}

/* After plain repairs alone since the last run, the phase is settled by whether they were looked at again:
 * what works by then is proved, unless something else is suspected or what the owner said of the temperature
 * is not explained, which a run has to show. */
DecisionPhase plan__phase_of_plain(Planning *planning)
{
    const Call *call = planning->standing->call;
    DecisionPhase phase = planning->situation.phase;
    planning->plain_proof = -1;
    if (phase != DECISION_REPAIRED) return phase;
    int watch = -1;
    bool is_watched = false;
    for (int e = 0; e < call->entry_count; e++) {
        const Entry *entry = &call->entries[e];
        if (entry->is_struck) continue;
        if (entry->kind == ENTRY_RUN) watch = -1;
        if (entry->kind == ENTRY_REPAIR) {
            const Remedy *remedy = remedy_of(planning, entry);
            if (!remedy || remedy->proof < 0) return phase;
            watch = remedy->proof;
            is_watched = false;
        } else if (watch >= 0 && diagnosis_is_check(planning->model, entry, watch)) {
            is_watched = true;
        }
    }
    if (watch < 0) return phase;
    planning->plain_proof = watch;
    if (!is_watched) return DECISION_MENDED;
    if (planning->class_mass[0] >= AS_SOUND) return is_complaint_open(planning) ? phase : DECISION_PROVED;
    return plan__cured_by(planning, planning->plain_components) < 1 - AS_SOUND ? phase : DECISION_FAILED;
}
