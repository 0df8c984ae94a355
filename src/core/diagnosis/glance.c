/* glance.c: a look over all that is seen from one place, as one check.
 *
 *   chance that nothing is noticed = product over the parts of the chance that nothing is noticed on each
 *   chance that part p alone is noticed, in proportion to its odds (1 - sound(p)) / sound(p)
 *
 * A glance takes in less than a close look: it overlooks a sign now and then, and most of the harmless marks
 * that every good part has are not noticed at all. What somebody has looked at by itself since the last
 * repair is left out, wherever that stands in the trail: the closer look is worth more.
 * Not here: close looks (likelihood.c). Numbers in capitals are common practice, no source.
 *
 * Bad at: two parts that both show something. One is named with the glance, the other by an entry of its own,
 * which then counts as a close look. */
#include <assert.h>

#include "core/diagnosis/diagnosis_private.h"

static const double NOTICED = 0.8;      /* of the signs that a fault shows close up */
static const double HARMLESS = 0.25;    /* of the marks on good parts */
static const double GLANCE_SLIP = 0.03; /* seen wrongly, or written down for another part */

/* Chance that a glance notices this sign on the part. */
static double notice(const DiagnosisModel *model, int part, int word, const Hypothesis *hypothesis)
{
    double absent = 1 - HARMLESS * model->appliance->catalogue->looks[word].otherwise;
    for (int i = 0; i < hypothesis->count; i++) {
        const Fault *fault = diagnosis__fault(model, hypothesis, i);
        if (fault->part != part) continue;
        for (int s = 0; s < fault->mode->sign_count; s++)
            if (fault->mode->signs[s].look == word) absent *= 1 - NOTICED * fault->mode->signs[s].probability;
    }
    return 1 - absent;
}

/* Chance that it notices none at all. */
static double sound(const DiagnosisModel *model, int part, const Hypothesis *hypothesis)
{
    const PartKind *kind = model->appliance->parts[part].kind;
    double chance = 1;
    for (int i = 0; i < kind->look_count; i++)
        if (kind_is_sign(&model->appliance->catalogue->looks[kind->looks[i]]))
            chance *= 1 - notice(model, part, kind->looks[i], hypothesis);
    return chance;
}

static bool is_looked_at(const DiagnosisModel *model, const Call *call, int part)
{
    bool is_done = false;
    for (int e = 0; call && e < call->entry_count; e++) {
        const Entry *entry = &call->entries[e];
        if (entry->is_struck) continue;
        if (entry->kind == ENTRY_REPAIR)
            is_done = false;
        else if (entry->kind == ENTRY_LOOK && entry->part == part && !entry->is_glance &&
                 !model->appliance->catalogue->looks[entry->words[0]].is_power)
            is_done = true;
    }
    return is_done;
}

void diagnosis__begin_glance(const DiagnosisModel *model, const Call *call, int place, int but,
                             Glance *glance)
{
    const Appliance *appliance = model->appliance;
    glance->count = 0;
    glance->all_sound = 1;
    glance->is_told = but >= 0 && is_looked_at(model, call, but);
    for (int p = 0; p < appliance->part_count && glance->count < GLANCE_MOST_PARTS; p++) {
        if (p == but || appliance_seen_from(appliance, p) != place || is_looked_at(model, call, p)) continue;
        glance->parts[glance->count] = p;
        glance->sound[glance->count] = sound(model, p, &model->hypotheses[0]);
        glance->all_sound *= glance->sound[glance->count++];
    }
}

/* Which of the parts in the glance this fault is on, and -1 when it is elsewhere or an earlier fault of the
 * hypothesis is on the same. */
static int find_part(const DiagnosisModel *model, const Glance *glance, const Hypothesis *hypothesis, int i)
{
    const int part = diagnosis__fault(model, hypothesis, i)->part;
    for (int k = 0; k < i; k++)
        if (diagnosis__fault(model, hypothesis, k)->part == part) return -1;
    for (int p = 0; p < glance->count; p++)
        if (glance->parts[p] == part) return p;
    return -1;
}

/* All good but for what the hypothesis says: only its own parts differ from the product. */
static double all_sound(const DiagnosisModel *model, const Glance *glance, const Hypothesis *hypothesis)
{
    double chance = glance->all_sound;
    for (int i = 0; i < hypothesis->count; i++) {
        const int p = find_part(model, glance, hypothesis, i);
        if (p >= 0) chance *= sound(model, glance->parts[p], hypothesis) / glance->sound[p];
    }
    return chance;
}

Likelihood diagnosis__glance(const DiagnosisModel *model, const Glance *glance, const Entry *entry,
                             const Hypothesis *hypothesis)
{
    const double slip = GLANCE_SLIP / (glance->count + 2);
    double fits = all_sound(model, glance, hypothesis);
    if (entry->part >= 0 && !glance->is_told) fits *= notice(model, entry->part, entry->words[0], hypothesis);
    assert(fits >= 0 && fits <= 1);
    return (Likelihood){(1 - GLANCE_SLIP) * fits + slip, slip};
}

/* ---- before it is made */

static int find_sound(const Catalogue *catalogue)
{
    int word = 0;
    while (word + 1 < catalogue->look_count && !catalogue->looks[word].is_sound) word++;
    return word;
}

/* The sign that a fault of this part shows most often, or the first that it can show. */
static int likeliest_sign(const DiagnosisModel *model, int part)
{
    const Part *seen = &model->appliance->parts[part];
    int word = -1;
    double most = 0;
    for (int i = 0; i < seen->kind->look_count && word < 0; i++)
        if (kind_is_sign(&model->appliance->catalogue->looks[seen->kind->looks[i]]))
            word = seen->kind->looks[i];
    for (int f = seen->first_fault; f < seen->first_fault + seen->fault_count; f++) {
        const FaultMode *mode = model->appliance->faults[f].mode;
        for (int s = 0; s < mode->sign_count; s++) {
            if (mode->signs[s].probability <= most ||
                !kind_is_sign(&model->appliance->catalogue->looks[mode->signs[s].look]))
                continue;
            most = mode->signs[s].probability;
            word = mode->signs[s].look;
        }
    }
    return word;
}

static void take_to_front(Glance *glance, int from, int to)
{
    const int part = glance->parts[from];
    const double chance = glance->sound[from];
    glance->parts[from] = glance->parts[to];
    glance->sound[from] = glance->sound[to];
    glance->parts[to] = part;
    glance->sound[to] = chance;
}

/* Parts that the hypotheses asked for are about come first, in their order: those behind the last outcome
 * share it. */
static void sort_parts(const DiagnosisModel *model, const int *which, int count, Glance *glance)
{
    int sorted = 0;
    for (int row = 0; row < count && sorted < DIAGNOSIS_MOST_OUTCOMES - 1; row++) {
        const Hypothesis *hypothesis = &model->hypotheses[which[row]];
        for (int i = 0; i < hypothesis->count; i++) {
            const int p = find_part(model, glance, hypothesis, i);
            if (p >= sorted) take_to_front(glance, p, sorted++);
        }
    }
}

/* Nothing, or one part; the chances of several parts at once are shared among them by their odds. */
static void fill_chances(const DiagnosisModel *model, const Glance *glance, const Hypothesis *hypothesis,
                         int outcomes, double *chance)
{
    double odds[GLANCE_MOST_PARTS], sum = 0;
    for (int p = 0; p < glance->count; p++) odds[p] = 1 / glance->sound[p] - 1;
    for (int i = 0; i < hypothesis->count; i++) {
        const int p = find_part(model, glance, hypothesis, i);
        if (p >= 0) odds[p] = 1 / sound(model, glance->parts[p], hypothesis) - 1;
    }
    for (int p = 0; p < glance->count; p++) sum += odds[p];
    const double nothing = all_sound(model, glance, hypothesis), share = sum > 0 ? (1 - nothing) / sum : 0;
    for (int o = 0; o < outcomes; o++) chance[o] = GLANCE_SLIP / outcomes;
    chance[0] += (1 - GLANCE_SLIP) * (sum > 0 ? nothing : 1);
    for (int p = 0; p < glance->count; p++)
        chance[1 + p < outcomes ? 1 + p : outcomes - 1] += (1 - GLANCE_SLIP) * share * odds[p];
}

void diagnosis__predict_glance(const DiagnosisModel *model, const Call *call, int check, const int *which,
                               int count, Prediction *prediction)
{
    Glance glance;
    diagnosis__begin_glance(model, call, model->appliance->checks[check].places[0], -1, &glance);
    sort_parts(model, which, count, &glance);
    const int outcomes =
        1 + glance.count < DIAGNOSIS_MOST_OUTCOMES ? 1 + glance.count : DIAGNOSIS_MOST_OUTCOMES;
    prediction->outcome_count = outcomes;
    prediction->outcomes[0] =
        (Outcome){.kind = OUTCOME_GLANCE, .word = find_sound(model->appliance->catalogue), .part = -1};
    for (int o = 1; o < outcomes; o++)
        prediction->outcomes[o] = (Outcome){.kind = OUTCOME_GLANCE,
                                            .word = likeliest_sign(model, glance.parts[o - 1]),
                                            .part = glance.parts[o - 1]};
    for (int row = 0; row < count; row++)
        fill_chances(model, &glance, &model->hypotheses[which[row]], outcomes,
                     &prediction->chance[row * DIAGNOSIS_MOST_OUTCOMES]);
}
