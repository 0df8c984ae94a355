/* glance.c: a look over all that is seen from one place, as one check.
 *
 *   chance that nothing is noticed = product over the parts of the chance that nothing is noticed on each
 *   chance that part p alone is noticed, in proportion to its odds (1 - sound(p)) / sound(p)
 *
 * A glance takes in less than a close look: it overlooks a sign now and then, and most of the harmless marks
 * that every good part has are not noticed at all. What somebody has looked at by itself before is known and
 * left out. Of what is looked at by itself later a glance has told only whether the mark that is seen there
 * leaps to the eye.
 * Not here: close looks (likelihood.c). Numbers in capitals are common practice, no source.
 *
 * Bad at: two parts that both show something. One is named with the glance, the other by an entry of its own,
 * which then counts as a close look. */
#include <assert.h>

#include "core/diagnosis/diagnosis_private.h"

static const double NOTICED = 0.8;   /* of the signs that a fault shows close up */
static const double HARMLESS = 0.25; /* of the marks on good parts */

/* Chance that this sign is on the part and noticed: so many of the signs of a fault are, and of the harmless
 * ones. */
static double chance_of(const DiagnosisModel *model, int part, int word, const Hypothesis *hypothesis,
                        double signs, double harmless)
{
    double absent = 1 - harmless * model->appliance->catalogue->looks[word].otherwise;
    for (int i = 0; i < hypothesis->count; i++) {
        const Fault *fault = diagnosis__fault(model, hypothesis, i);
        if (fault->part != part) continue;
        for (int s = 0; s < fault->mode->sign_count; s++)
            if (fault->mode->signs[s].look == word) absent *= 1 - signs * fault->mode->signs[s].probability;
    }
    return 1 - absent;
}

static double notice(const DiagnosisModel *model, int part, int word, const Hypothesis *hypothesis)
{
    return chance_of(model, part, word, hypothesis, NOTICED, HARMLESS);
}

/* Chance that it notices none at all. */
static double sound(const DiagnosisModel *model, int part, const Hypothesis *hypothesis)
{
    const PartKind *kind = model->appliance->parts[part].kind;
    double chance = 1;
    for (int i = 0; i < kind->look_count; i++)
        if (kind_is_sign(&model->appliance->catalogue->looks[kind->looks[i]], LOOK_CLOSE))
            chance *= 1 - notice(model, part, kind->looks[i], hypothesis);
    return chance;
}

/* Of a sign that is there: does it leap to the eye? */
static double leaps(const DiagnosisModel *model, int part, int word, const Hypothesis *hypothesis)
{
    const double there = chance_of(model, part, word, hypothesis, 1, 1);
    assert(there >= 0 && there <= 1);
    return there > 0 ? notice(model, part, word, hypothesis) / there : 0;
}

/* Chance that the glance notices nothing on the part, and that it notices a word, after a close look (-1:
 * there is none). */
static double unnoticed(const DiagnosisModel *model, int part, int close, const Hypothesis *hypothesis)
{
    if (close < 0) return sound(model, part, hypothesis);
    if (!kind_is_sign(&model->appliance->catalogue->looks[close], LOOK_CLOSE)) return 1;
    return 1 - leaps(model, part, close, hypothesis);
}

static double noticed(const DiagnosisModel *model, int part, int word, int close,
                      const Hypothesis *hypothesis)
{
    if (close < 0) return notice(model, part, word, hypothesis);
    return close == word ? leaps(model, part, word, hypothesis) : 0;
}

void diagnosis__begin_glance(const DiagnosisModel *model, const Call *call, int number, int place,
                             Glance *glance)
{
    const Appliance *appliance = model->appliance;
    glance->count = 0;
    glance->all_sound = 1;
    for (int p = 0; p < appliance->part_count && glance->count < GLANCE_MOST_PARTS; p++) {
        if (appliance_seen_from(appliance, p) != place ||
            (call && diagnosis__looked_before(model, call, number, p, LOOK_CLOSE).entry))
            continue;
        const Entry *close = call ? diagnosis__looked_after(model, call, number, p) : NULL;
        const int at = glance->count++;
        glance->parts[at] = p;
        glance->close[at] = close ? close->words[0] : -1;
        glance->sound[at] = unnoticed(model, p, glance->close[at], &model->hypotheses[0]);
        glance->all_sound *= glance->sound[at];
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

static double unnoticed_at(const DiagnosisModel *model, const Glance *glance, int at,
                           const Hypothesis *hypothesis)
{
    return unnoticed(model, glance->parts[at], glance->close[at], hypothesis);
}

/* All good but for what the hypothesis says: only its own parts differ from the product. */
static double all_sound(const DiagnosisModel *model, const Glance *glance, const Hypothesis *hypothesis)
{
    double chance = glance->all_sound;
    for (int i = 0; i < hypothesis->count; i++) {
        const int p = find_part(model, glance, hypothesis, i);
        if (p >= 0) chance *= unnoticed_at(model, glance, p, hypothesis) / glance->sound[p];
    }
    return chance;
}

Likelihood diagnosis__glance(const DiagnosisModel *model, const Glance *glance, const Entry *entry,
                             const Hypothesis *hypothesis)
{
    const double slip = DIAGNOSIS_LOOK_SLIP / (glance->count + 1);
    double fits = all_sound(model, glance, hypothesis);
    for (int p = 0; p < glance->count; p++)
        if (glance->parts[p] == entry->part)
            fits *= noticed(model, entry->part, entry->words[0], glance->close[p], hypothesis) /
                    unnoticed_at(model, glance, p, hypothesis);
    assert(fits >= 0 && fits <= 1);
    return (Likelihood){(1 - DIAGNOSIS_LOOK_SLIP) * fits + slip, slip};
}

double diagnosis__glance_at(const DiagnosisModel *model, const Entry *entry, int part, int close,
                            const Hypothesis *hypothesis)
{
    const double fits = entry->part == part ? noticed(model, part, entry->words[0], close, hypothesis)
                                            : unnoticed(model, part, close, hypothesis);
    return (1 - DIAGNOSIS_LOOK_SLIP) * fits + DIAGNOSIS_LOOK_SLIP / GLANCE_MOST_PARTS;
}

/* ---- before it is made */

/* The sign that a fault of this part shows most often, or the first that it can show. */
static int likeliest_sign(const DiagnosisModel *model, int part)
{
    const Part *seen = &model->appliance->parts[part];
    int word = -1;
    double most = 0;
    for (int i = 0; i < seen->kind->look_count && word < 0; i++)
        if (kind_is_sign(&model->appliance->catalogue->looks[seen->kind->looks[i]], LOOK_CLOSE))
            word = seen->kind->looks[i];
    for (int f = seen->first_fault; f < seen->first_fault + seen->fault_count; f++) {
        const FaultMode *mode = model->appliance->faults[f].mode;
        for (int s = 0; s < mode->sign_count; s++) {
            if (mode->signs[s].probability <= most ||
                !kind_is_sign(&model->appliance->catalogue->looks[mode->signs[s].look], LOOK_CLOSE))
                continue;
            most = mode->signs[s].probability;
            word = mode->signs[s].look;
        }
    }
    return word;
}

static void take_to_front(Glance *glance, int from, int to)
{
    const int part = glance->parts[from], close = glance->close[from];
    const double chance = glance->sound[from];
    glance->parts[from] = glance->parts[to];
    glance->close[from] = glance->close[to];
    glance->sound[from] = glance->sound[to];
    glance->parts[to] = part;
    glance->close[to] = close;
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
        if (p >= 0) odds[p] = 1 / unnoticed_at(model, glance, p, hypothesis) - 1;
    }
    for (int p = 0; p < glance->count; p++) sum += odds[p];
    const double nothing = all_sound(model, glance, hypothesis), share = sum > 0 ? (1 - nothing) / sum : 0;
    for (int o = 0; o < outcomes; o++) chance[o] = DIAGNOSIS_LOOK_SLIP / outcomes;
    chance[0] += (1 - DIAGNOSIS_LOOK_SLIP) * (sum > 0 ? nothing : 1);
    for (int p = 0; p < glance->count; p++)
        chance[1 + p < outcomes ? 1 + p : outcomes - 1] += (1 - DIAGNOSIS_LOOK_SLIP) * share * odds[p];
}

/* Upon an earlier look over the place: the same, or a slip. */
static void expect_again(const DiagnosisModel *model, const Glance *glance, const SeenBefore *seen,
                         const Hypothesis *hypothesis, const Prediction *prediction, double *chance)
{
    const Entry *before = seen->entry;
    const Likelihood first = diagnosis__glance(model, glance, before, hypothesis);
    const int outcomes = prediction->outcome_count;
    int same = 0;
    for (int o = 1; o < outcomes; o++)
        if (prediction->outcomes[o].part == before->part) same = o;
    if (before->part >= 0 && same == 0) same = outcomes - 1; /* it shares the last outcome */
    for (int o = 0; o < outcomes; o++) {
        const Likelihood now = {chance[o], DIAGNOSIS_LOOK_SLIP / outcomes};
        const Again again = {DIAGNOSIS_LOOK_SLIP, 1, o == same};
        chance[o] = diagnosis__seen_again(first, seen->times, now, again).all;
    }
}

void diagnosis__predict_glance(const DiagnosisModel *model, const Call *call, int check, const int *which,
                               int count, Prediction *prediction)
{
    const int place = model->appliance->checks[check].places[0];
    Glance glance;
    diagnosis__begin_glance(model, call, call ? call->entry_count : 0, place, &glance);
    sort_parts(model, which, count, &glance);
    const int outcomes =
        1 + glance.count < DIAGNOSIS_MOST_OUTCOMES ? 1 + glance.count : DIAGNOSIS_MOST_OUTCOMES;
    prediction->outcome_count = outcomes;
    prediction->outcomes[0] =
        (Outcome){.kind = OUTCOME_GLANCE, .word = kind_find_sound(model->appliance->catalogue), .part = -1};
    for (int o = 1; o < outcomes; o++)
        prediction->outcomes[o] = (Outcome){.kind = OUTCOME_GLANCE,
                                            .word = likeliest_sign(model, glance.parts[o - 1]),
                                            .part = glance.parts[o - 1]};
    const SeenBefore before =
        call ? diagnosis__glanced_before(model, call, call->entry_count, place, -1) : (SeenBefore){NULL, 0};
    for (int row = 0; row < count; row++) {
        const Hypothesis *hypothesis = &model->hypotheses[which[row]];
        double *chance = &prediction->chance[row * DIAGNOSIS_MOST_OUTCOMES];
        fill_chances(model, &glance, hypothesis, outcomes, chance);
        if (before.entry) expect_again(model, &glance, &before, hypothesis, prediction, chance);
    }
}
