/* nearby.c: what the oven does in a run that somebody took, under the hypotheses that matter.
 *
 * Those are simulated, and their single faults also at both ends of their slice of severities and with each
 * trait of the family moved by one standard deviation; a pair takes those differences from the fault of the
 * two that changes the mean more (temperature.c). Any other hypothesis is likened: it differs from the sound
 * oven as it does in the usual run, and its family as the sound oven's does. That is nine tenths of the work,
 * for hypotheses that one oven in two thousand has.
 *
 * Bad at: what is likened may be off where the run is far from the usual one, in its set temperature say.
 * Only what gains by it is simulated after all (standing.c). */
#include <string.h>

#include "core/diagnosis/ovens_private.h"

enum { PER_SINGLE = 2 + THERMAL_FAMILY_COUNT };
/* A hypothesis with less weight is likened. */
static const double WORTH = 5e-4;

/* 'Nothing wrong', what has some weight, and the single faults of such pairs, which lend them their family.
 * In another function than the usual one nothing is like anything else. */
static void mark(const DiagnosisModel *model, const double *weights, bool is_all, bool *is_near)
{
    for (int h = 0; h < model->hypothesis_count; h++) {
        const Hypothesis *hypothesis = &model->hypotheses[h];
        if (h > 0 && weights[h] < WORTH && !is_all) continue;
        is_near[h] = true;
        for (int i = 0; i < hypothesis->count && hypothesis->count > 1; i++) {
            const HypothesisGroup *group =
                &model->groups[1 + model->circuit.variants[hypothesis->variants[i]].fault];
            memset(&is_near[group->first_hypothesis], true, (size_t)group->hypothesis_count);
        }
    }
}

/* At the low and the high end of its slice, and with each trait moved. */
static void add_family(OvenMaker *maker, const Hypothesis *single)
{
    diagnosis__add_oven(maker, single->low, single->count, NULL);
    diagnosis__add_oven(maker, single->high, single->count, NULL);
    diagnosis__add_traits(maker, single->variants, single->count);
}

/* The ends of a likened one are its neighbours of the same fault. */
static void liken_family(const DiagnosisModel *model, const Behaviour *of, int single, Behaviour *around)
{
    const int fault = model->circuit.variants[model->hypotheses[single].variants[0]].fault;
    const HypothesisGroup *group = &model->groups[1 + fault];
    const int last = group->first_hypothesis + group->hypothesis_count - 1;
    Behaviour *own = &around[single * PER_SINGLE];
    own[0] = of[single > group->first_hypothesis ? single - 1 : single];
    own[1] = of[single < last ? single + 1 : single];
    for (int t = 2; t < PER_SINGLE; t++) own[t] = diagnosis__liken(&of[single], &of[0], &around[t]);
}

/* What was found stands in the order in which the ovens were added. */
static void spread(const DiagnosisModel *model, const bool *is_near, const Behaviour *usual,
                   const Behaviour *found, Behaviour *of, Behaviour *around)
{
    for (int h = 0; h < model->hypothesis_count; h++)
        of[h] = is_near[h] ? *found++ : diagnosis__liken(&of[0], &usual[0], &usual[h]);
    for (int h = 0; h < diagnosis__single_count(model); h++) {
        if (!is_near[h]) {
            liken_family(model, of, h, around);
            continue;
        }
        memcpy(&around[h * PER_SINGLE], found, PER_SINGLE * sizeof *found);
        found += PER_SINGLE;
    }
}

static bool simulate_run(OvenMaker *maker, const Simulated *usual, const double *weights,
                         Simulated *simulated, Behaviour *of, Behaviour *around, Error *error)
{
    const DiagnosisModel *model = maker->model;
    const int singles = diagnosis__single_count(model);
    bool *is_near = ARENA_ARRAY(&maker->scratch, bool, (size_t)model->hypothesis_count);
    if (!is_near) return error_memory(error);
    mark(model, weights, simulated->function != usual->function, is_near);
    for (int h = 0; h < model->hypothesis_count; h++)
        if (is_near[h])
            diagnosis__add_oven(maker, model->hypotheses[h].variants, model->hypotheses[h].count, NULL);
    for (int h = 0; h < singles; h++)
        if (is_near[h]) add_family(maker, &model->hypotheses[h]);
    const Behaviour *found = diagnosis__find_ovens(maker, &simulated->terms, error);
    if (found) spread(model, is_near, usual->of, found, of, around);
    simulated->of = of;
    simulated->around = around;
    return found != NULL;
}

/* How long a sound oven takes to get there, for whoever asks whether a run was slow. */
static bool note_sound(DiagnosisModel *model, const Simulated *simulated)
{
    if (diagnosis__find_sound(model, simulated->function, simulated->terms.set_celsius)) return true;
    SoundRun *sound = ARENA_ARRAY(model->arena, SoundRun, 1);
    if (!sound) return false;
    *sound = (SoundRun){.function = simulated->function,
                        .set_celsius = simulated->terms.set_celsius,
                        .preheat_second = (double)simulated->of[0].preheat_second,
                        .next = model->sound};
    model->sound = sound;
    return true;
}

const SoundRun *diagnosis__find_sound(const DiagnosisModel *model, int function, double set_celsius)
{
    const SoundRun *sound = model->sound;
    while (sound && (sound->function != function || sound->set_celsius != set_celsius)) sound = sound->next;
    return sound;
}

const Simulated *diagnosis__simulated(DiagnosisModel *model, int function, double set_celsius, double second,
                                      const double *weights, Arena *arena, Error *error)
{
    OvenMaker maker;
    const size_t n = (size_t)model->hypothesis_count,
                 around_count = (size_t)diagnosis__single_count(model) * PER_SINGLE;
    const Simulated *usual = diagnosis__usual(model, error);
    if (!usual) return NULL;
    Simulated *simulated = diagnosis__new_simulated(model, function, set_celsius, second, arena);
    Behaviour *of = ARENA_ARRAY(arena, Behaviour, n), *around = ARENA_ARRAY(arena, Behaviour, around_count);
    const bool has_begun = diagnosis__begin_maker(model, function, set_celsius, n + around_count, &maker) &&
                           simulated && of && around;
    const bool went_well = (has_begun || error_memory(error)) &&
                           simulate_run(&maker, usual, weights, simulated, of, around, error) &&
                           (note_sound(model, simulated) || error_memory(error));
    arena_free(&maker.scratch);
    return went_well ? simulated : NULL;
}

const Behaviour *diagnosis__end(const Simulated *simulated, int single, bool is_high)
{
    return &simulated->around[single * PER_SINGLE + is_high];
}

const Behaviour *diagnosis__trait(const Simulated *simulated, int single, int trait)
{
    return &simulated->around[single * PER_SINGLE + 2 + trait];
}
