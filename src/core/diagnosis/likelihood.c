/* likelihood.c: how well an entry fits a hypothesis.
 *
 * Readings: the density of what the meter would show (display.c), and a small chance of a slip that can show
 * anything (a contaminated distribution; Box and Tiao 1968).
 * Complaints: each word is said with a chance that follows from what the owner can notice; causes add up as
 * in a noisy-or (Pearl 1988, 4.3.2). An answer is yes with the same chance. Looks: what is seen of a
 * part that is on is in watch.c; signs follow from the fault mode's own list.
 *
 * Numbers in capitals are common practice, no source.
 *
 * Every likelihood is positive, whatever was entered: nothing that a person writes down may rule a fault
 * out for good, since the person may be wrong. How far one entry can move the odds is bounded by the chance
 * of a slip.
 *
 * Bad at: entries that are wrong for the same reason. Two readings with a meter on the wrong range count as
 * two slips, that is, as next to impossible. */
#include <assert.h>
#include <math.h>
#include <string.h>

#include "base/mathematics.h"
#include "core/diagnosis/diagnosis_private.h"

static const double SLIP_OVER_SHARE = 0.5; /* slips that show OL: a range too low, no contact, a wrong mark */
static const double SMALLEST_OHM = 0.1;    /* slips are spread evenly in the logarithm from here */
static const double OWNER_ERRS = 0.05;     /* of answers to a question */

/* Density of a slip at a display; for OL the chance. Ohms: half of them OL, the rest even in the logarithm
 * over nine powers of ten. Volts: anything up to a fifth over the supply. Amperes: anything up to twice the
 * breaker. */
static double slip_density(const DiagnosisModel *model, const Connection *connection, double shown)
{
    const DescribedSupply *supply = &model->appliance->description->supply;
    switch (connection->kind) {
    case READING_OHM:
        if (isinf(shown)) return SLIP_OVER_SHARE;
        return (1 - SLIP_OVER_SHARE) / (fmax(shown, SMALLEST_OHM) * math_log(1e9));
    case READING_VOLT: return 1 / (1.2 * supply->volt);
    default: return 1 / (2 * fmax(supply->breaker_ampere, 16));
    }
}

/* The two parts are returned apart, since the share of the slip is what a contradiction is made of. */
Likelihood diagnosis__reading(const DiagnosisModel *model, const Connection *connection, double shown,
                              const Display *display)
{
    const double fits = diagnosis__density(display, connection->kind, shown);
    const double slip = model->slip * slip_density(model, connection, shown);
    return (Likelihood){(1 - model->slip) * fits + slip, slip};
}

/* How strongly the owner notices a condition: declared by the faults, or computed. */
static double strength(const DiagnosisModel *model, const Hypothesis *hypothesis, const float *strengths,
                       int condition)
{
    double absent = 1 - (double)strengths[condition];
    for (int i = 0; i < hypothesis->count; i++)
        absent *= 1 - diagnosis__fault(model, hypothesis, i)->mode->condition[condition];
    return 1 - absent;
}

/* The owner of a sound oven calls for other reasons than a broken one's: that word has a chance of its own.
 */
static double chance_of_word(const DiagnosisModel *model, const ComplaintWord *word,
                             const Hypothesis *hypothesis, const float *strengths)
{
    if (hypothesis->count == 0) return word->nothing_wrong;
    double absent = 1 - word->otherwise;
    for (int c = 0; c < CONDITION_COUNT; c++)
        if (word->when[c] > 0) absent *= 1 - word->when[c] * strength(model, hypothesis, strengths, c);
    return 1 - absent;
}

/* The strengths of the conditions, in `room` where a run has shown more of them. */
static const float *strengths_of(const DiagnosisModel *model, int h, const Residual *seen,
                                 float room[CONDITION_COUNT])
{
    if (!seen || !model->usual) return model->conditions[h];
    memcpy(room, model->conditions[h], sizeof model->conditions[h]);
    diagnosis__notice_seen(model, h, seen, room);
    return room;
}

bool diagnosis__has_word(const Entry *entry, int word)
{
    for (int i = 0; i < entry->word_count; i++)
        if (entry->words[i] == word) return true;
    return false;
}

/* Only a first complaint counts for what it leaves out. */
Heard diagnosis__heard(const Call *call, int number, int word)
{
    Heard heard = HEARD_NOTHING;
    for (int e = 0; e < number; e++) {
        const Entry *entry = &call->entries[e];
        if (entry->kind != ENTRY_COMPLAINT || entry->is_struck) continue;
        if (diagnosis__has_word(entry, word)) return HEARD_SAID;
        heard = HEARD_LEFT_OUT;
    }
    return heard;
}

/* The part of a chance that is left when a word was not said: owners use one of several words for the same
 * thing, so silence counts with its fourth root. A floor keeps one word from ruling anything out. */
static double chance_of_silence(double chance) { return sqrt(sqrt(fmax(1 - chance, 1e-3))); }

/* Of a sound mind and a sound eye, an owner who was silent denies with what is left of (1 - chance) after its
 * fourth root, so that silence and denial together are one denial; who has said it stands by it. */
Likelihood diagnosis__answer(const DiagnosisModel *model, int word, bool is_yes, int h, Heard heard,
                             const Residual *seen)
{
    float room[CONDITION_COUNT];
    const double chance = chance_of_word(model, &model->appliance->catalogue->complaints[word],
                                         &model->hypotheses[h], strengths_of(model, h, seen, room));
    const double no = heard == HEARD_SAID       ? 0
                      : heard == HEARD_LEFT_OUT ? fmax(1 - chance, 1e-3) / chance_of_silence(chance)
                                                : 1 - chance;
    assert(no >= 0 && no <= 1);
    return (Likelihood){OWNER_ERRS + (1 - 2 * OWNER_ERRS) * (is_yes ? 1 - no : no), 0};
}

static bool was_asked(const Call *call, int number, int word)
{
    for (int e = 0; e < number; e++)
        if (call->entries[e].kind == ENTRY_ASKED && !call->entries[e].is_struck &&
            diagnosis__has_word(&call->entries[e], word))
            return true;
    return false;
}

/* A second complaint adds words; what was answered before has counted already. */
Likelihood diagnosis__complaint(const DiagnosisModel *model, const Call *call, int number, int h,
                                const Residual *seen)
{
    float room[CONDITION_COUNT];
    const float *strengths = strengths_of(model, h, seen, room);
    const Catalogue *catalogue = model->appliance->catalogue;
    double likelihood = 1;
    for (int w = 0; w < catalogue->complaint_count; w++) {
        const double chance =
            chance_of_word(model, &catalogue->complaints[w], &model->hypotheses[h], strengths);
        assert(chance >= 0 && chance <= 1);
        if (was_asked(call, number, w)) continue;
        if (diagnosis__has_word(&call->entries[number], w))
            likelihood *= fmax(chance, 1e-4);
        else if (diagnosis__heard(call, number, w) == HEARD_NOTHING)
            likelihood *= chance_of_silence(chance);
    }
    return (Likelihood){likelihood, 0};
}

/* Chance of a sign of trouble on the part: of its faults' own, or seen on a good part. */
double diagnosis__sign_chance(const DiagnosisModel *model, int part, int word, const Hypothesis *hypothesis)
{
    const LookWord *look = &model->appliance->catalogue->looks[word];
    const float *strengths = model->conditions[hypothesis - model->hypotheses];
    double absent = 1 - look->otherwise;
    for (int c = 0; c < CONDITION_COUNT; c++)
        if (look->when[c] > 0) absent *= 1 - look->when[c] * strength(model, hypothesis, strengths, c);
    for (int i = 0; i < hypothesis->count; i++) {
        const Fault *fault = diagnosis__fault(model, hypothesis, i);
        if (fault->part != part) continue;
        for (int s = 0; s < fault->mode->sign_count; s++)
            if (fault->mode->signs[s].look == word) absent *= 1 - fault->mode->signs[s].probability;
    }
    return 1 - absent;
}

/* Chance that nothing unusual is to be seen: none of the signs that this kind of part can show. */
static double sound_chance(const DiagnosisModel *model, int part, LookWay way, const Hypothesis *hypothesis)
{
    const PartKind *kind = model->appliance->parts[part].kind;
    double chance = 1;
    for (int i = 0; i < kind->look_count; i++) {
        const LookWord *look = &model->appliance->catalogue->looks[kind->looks[i]];
        if (kind_is_sign(look, way))
            chance *= 1 - diagnosis__sign_chance(model, part, kind->looks[i], hypothesis);
    }
    return chance;
}

/* A slip of a look is any of the words that this part can show, or none of them. */
Likelihood diagnosis__look(const DiagnosisModel *model, int part, int word, Watched watched,
                           const Hypothesis *hypothesis)
{
    const LookWord *look = &model->appliance->catalogue->looks[word];
    const double slip = DIAGNOSIS_LOOK_SLIP / (model->appliance->parts[part].kind->look_count + 1);
    const double fits = look->way == LOOK_POWER
                            ? diagnosis__watch_chance(model, part, word, watched, hypothesis)
                        : look->is_sound ? sound_chance(model, part, look->way, hypothesis)
                                         : diagnosis__sign_chance(model, part, word, hypothesis);
    return (Likelihood){(1 - DIAGNOSIS_LOOK_SLIP) * fits + slip, slip};
}
