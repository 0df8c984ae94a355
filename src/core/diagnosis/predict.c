/* predict.c: what a look would show under each hypothesis, as a handful of outcomes, and which file foresees
 * the other checks: readings predict_reading.c, looks over a place glance.c, the whole oven predict_oven.c.
 *
 * A look has the words that its part can show as outcomes. Invariant: the chances of all outcomes under one
 * hypothesis sum to 1. */
#include <assert.h>
#include <string.h>

#include "core/diagnosis/diagnosis_private.h"

static bool is_asked(const LookWord *look, CheckKind kind) { return look->way == diagnosis__way_of(kind); }

/* What was seen of a part before, in the same way and in a look over its place; NULL: nothing. */
typedef struct {
    SeenBefore close, glance;
} PartBefore;

static PartBefore find_seen_before(const DiagnosisModel *model, const Call *call, const Check *asked)
{
    PartBefore seen = {{NULL, 0}, {NULL, 0}};
    if (!call || asked->kind == CHECK_WATCH) return seen;
    seen.close =
        diagnosis__looked_before(model, call, call->entry_count, asked->part, diagnosis__way_of(asked->kind));
    if (!seen.close.entry && asked->kind == CHECK_SIGHT)
        seen.glance = diagnosis__glanced_before(
            model, call, call->entry_count, appliance_seen_from(model->appliance, asked->part), asked->part);
    return seen;
}

/* Of a sign, or none, upon what was seen before. */
static double chance_upon(const DiagnosisModel *model, const Check *asked, const PartBefore *seen, int word,
                          const Hypothesis *hypothesis)
{
    const Watched unwatched = {.share = 0};
    const Likelihood now = diagnosis__look(model, asked->part, word, unwatched, hypothesis);
    if (seen->close.entry) {
        const int before = seen->close.entry->words[0];
        return diagnosis__seen_again(diagnosis__look(model, asked->part, before, unwatched, hypothesis),
                                     seen->close.times, now, (Again){DIAGNOSIS_LOOK_SLIP, 1, before == word})
            .all;
    }
    return seen->glance.entry
               ? now.all * diagnosis__glance_at(model, seen->glance.entry, asked->part, word, hypothesis)
               : now.all;
}

static bool has_fault_of(const DiagnosisModel *model, int hypothesis, int part)
{
    for (int i = 0; i < model->hypotheses[hypothesis].count; i++)
        if (diagnosis__fault(model, &model->hypotheses[hypothesis], i)->part == part) return true;
    return false;
}

/* Do two hypotheses look the same to one who watches: the same share of its power, and no fault of its own?
 */
static bool is_watched_alike(DiagnosisModel *model, int check, int one, int other)
{
    const Watched first = diagnosis__check_watched(model, check, one),
                  second = diagnosis__check_watched(model, check, other);
    const int part = model->appliance->checks[check].part;
    return first.share == second.share && first.manner == second.manner && !has_fault_of(model, one, part) &&
           !has_fault_of(model, other, part);
}

/* A look has the words of its kind as outcomes; their chances are scaled to sum to 1, since the likelihoods
 * of different words need not. */
static void predict_look(DiagnosisModel *model, const Call *call, int check, const int *which, int count,
                         Prediction *prediction)
{
    const Check *asked = &model->appliance->checks[check];
    const PartBefore seen = find_seen_before(model, call, asked);
    const PartKind *kind = model->appliance->parts[asked->part].kind;
    const LookWord *looks = model->appliance->catalogue->looks;
    int outcomes = 0;
    for (int i = 0; i < kind->look_count && outcomes < DIAGNOSIS_MOST_OUTCOMES; i++)
        if (is_asked(&looks[kind->looks[i]], asked->kind))
            prediction->outcomes[outcomes++] = (Outcome){.kind = OUTCOME_LOOK, .word = kind->looks[i]};
    const bool is_watch = asked->kind == CHECK_WATCH;
    for (int row = 0; row < count; row++) {
        double *chance = &prediction->chance[row * DIAGNOSIS_MOST_OUTCOMES], sum = 0;
        const Hypothesis *hypothesis = &model->hypotheses[which[row]];
        if (is_watch && row > 0 && is_watched_alike(model, check, which[row], which[row - 1])) {
            memcpy(chance, chance - DIAGNOSIS_MOST_OUTCOMES, (size_t)outcomes * sizeof *chance);
            continue;
        }
        const Watched watched =
            is_watch ? diagnosis__check_watched(model, check, which[row]) : (Watched){.share = 0};
        for (int o = 0; o < outcomes; o++) {
            const int word = prediction->outcomes[o].word;
            chance[o] = is_watch ? diagnosis__look(model, asked->part, word, watched, hypothesis).all
                                 : chance_upon(model, asked, &seen, word, hypothesis);
            sum += chance[o];
        }
        for (int o = 0; o < outcomes; o++) chance[o] /= sum;
    }
    prediction->outcome_count = outcomes;
}

bool diagnosis_predict(DiagnosisModel *model, const Call *call, int check, const int *which, int count,
                       Arena *arena, Prediction *prediction, Error *error)
{
    assert(check >= 0 && check < model->appliance->check_count && count > 0);
    const CheckKind kind = model->appliance->checks[check].kind;
    *prediction = (Prediction){.chance = ARENA_ARRAY(arena, double, (size_t)count *DIAGNOSIS_MOST_OUTCOMES)};
    if (!prediction->chance) return error_memory(error);
    if (kind >= CHECK_RUN)
        return diagnosis__predict_oven(model, call, check, which, count, prediction, error);
    if (kind == CHECK_GLANCE) {
        diagnosis__predict_glance(model, call, check, which, count, prediction);
        return true;
    }
    if (!diagnosis__connect(model, check, which, count, error)) return false;
    if (kind <= CHECK_AMP)
        return diagnosis__predict_reading(model, call, check, which, count, arena, prediction, error);
    if (!diagnosis__find_conditions(model, error)) return false;
    predict_look(model, call, check, which, count, prediction);
    return true;
}
