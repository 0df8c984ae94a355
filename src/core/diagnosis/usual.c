/* usual.c: how the owner bakes, under every hypothesis, simulated once.
 *
 * All single faults are simulated, and such pairs as are more than the sum of their faults. The others are
 * put together from the two, and an oven that one fault leaves cold is as cold with another: that is most of
 * the work, for what few ovens have.
 *
 * Not here: runs that somebody took (nearby.c), what an owner notices (notice.c). */
#include <assert.h>
#include <math.h>
#include <string.h>

#include "core/diagnosis/ovens_private.h"

/* How long the owner is taken to bake. */
static const double USUAL_SECOND = 5400;
/* Less is a share of an element that no log shows. */
static const double NEAR_WATT = 20;

/* The fault in a pair, by itself, in the middle of its severities. */
static const Behaviour *middle_of(const DiagnosisModel *model, const Behaviour *middles,
                                  const Hypothesis *pair, int i)
{
    return &middles[model->circuit.variants[pair->variants[i]].fault];
}

/* Does the oven with this fault behave as the sound one, but for what no log would show? */
static bool is_slight(const Behaviour *behaviour, const Behaviour *sound)
{
    static const double SLIGHT[FIGURE_COUNT] = {1, 0.02, 0.02, 0.02, 1, 1, 1, 0.02}; /* in the coordinates */
    if (behaviour->cycles != sound->cycles) return false;
    for (int f = 0; f < FIGURE_COUNT; f++)
        if (!(fabs(diagnosis__coordinate(behaviour, (Figure)f) - diagnosis__coordinate(sound, (Figure)f)) <=
              SLIGHT[f]))
            return false;
    return true;
}

/* Four powers: with both faults, with each, with none. */
typedef struct {
    const ThermalPower *both, *first, *second, *none;
} Powers;

static bool figures_add_up(const double *both, const double *first, const double *second, const double *none,
                           int count)
{
    for (int i = 0; i < count; i++)
        if (fabs(first[i] + second[i] - none[i] - both[i]) > NEAR_WATT) return false;
    return true;
}

static bool patterns_add_up(const OvenPattern *both, const OvenPattern *first, const OvenPattern *second,
                            const OvenPattern *none)
{
    const size_t times = sizeof none->until_second;
    return both->count == none->count && first->count == none->count && second->count == none->count &&
           memcmp(both->until_second, none->until_second, times) == 0 &&
           memcmp(first->until_second, none->until_second, times) == 0 &&
           memcmp(second->until_second, none->until_second, times) == 0 &&
           figures_add_up(&both->watt[0][0], &first->watt[0][0], &second->watt[0][0], &none->watt[0][0],
                          OVEN_HEATS * none->count);
}

/* Or does one fault hide the other? A relay that is welded feeds nothing when its element is open. */
static bool powers_add_up(const Powers *of)
{
    return patterns_add_up(&of->both->preheat, &of->first->preheat, &of->second->preheat,
                           &of->none->preheat) &&
           patterns_add_up(&of->both->heating, &of->first->heating, &of->second->heating,
                           &of->none->heating) &&
           figures_add_up(of->both->idle_watt, of->first->idle_watt, of->second->idle_watt,
                          of->none->idle_watt, OVEN_HEATS) &&
           figures_add_up(of->both->held_watt, of->first->held_watt, of->second->held_watt,
                          of->none->held_watt, OVEN_HEATS) &&
           figures_add_up(of->both->tripped_watt, of->first->tripped_watt, of->second->tripped_watt,
                          of->none->tripped_watt, OVEN_HEATS);
}

static bool watts_add_up(OvenMaker *maker, const Hypothesis *pair)
{
    const Powers of = {diagnosis__power_of_pair(maker, pair->variants),
                       diagnosis__power_of(maker, pair->variants[0]),
                       diagnosis__power_of(maker, pair->variants[1]), maker->healthy};
    return of.first == maker->healthy || of.second == maker->healthy || powers_add_up(&of);
}

/* Where the watts add up, and each of two faults leaves the oven cycling or one of them does next to nothing,
 * both together do what each does. */
static bool is_likened(OvenMaker *maker, const Behaviour *middles, const Behaviour *sound,
                       const Hypothesis *hypothesis)
{
    const Behaviour *first = middle_of(maker->model, middles, hypothesis, 0),
                    *second = middle_of(maker->model, middles, hypothesis, 1);
    return (is_slight(first, sound) || is_slight(second, sound) ||
            (diagnosis__has_cycles(first, DIAGNOSIS_SURE_CYCLES) &&
             diagnosis__has_cycles(second, DIAGNOSIS_SURE_CYCLES))) &&
           watts_add_up(maker, hypothesis);
}

/* Next to no power in any phase: no log shows what little there is. */
static bool is_cold(const ThermalPower *power)
{
    double most = 0;
    for (int e = 0; e < OVEN_HEATS; e++) {
        most = fmax(most, fmax(power->idle_watt[e], fmax(power->held_watt[e], power->tripped_watt[e])));
        for (int i = 0; i < power->preheat.count; i++) most = fmax(most, power->preheat.watt[i][e]);
        for (int i = 0; i < power->heating.count; i++) most = fmax(most, power->heating.watt[i][e]);
    }
    return most < NEAR_WATT;
}

/* The fault of a pair that leaves the oven cold, where the other does not wake it: as cold as by itself,
 * whatever else is wrong. NULL: there is none. */
static const Behaviour *find_cold(OvenMaker *maker, const Behaviour *middles, const Hypothesis *pair)
{
    for (int i = 0; i < pair->count; i++)
        if (is_cold(diagnosis__power_of(maker, pair->variants[i])))
            return is_cold(diagnosis__power_of_pair(maker, pair->variants))
                       ? middle_of(maker->model, middles, pair, i)
                       : NULL;
    return NULL;
}

/* What a pair does, from what its faults do; false: it has to be simulated. */
static bool put_together(OvenMaker *maker, const Behaviour *middles, const Hypothesis *hypothesis,
                         Behaviour *of)
{
    const DiagnosisModel *model = maker->model;
    const Behaviour *sound = &middles[model->appliance->fault_count];
    if (hypothesis->count < 2) return false;
    if (is_likened(maker, middles, sound, hypothesis)) {
        *of = diagnosis__liken(middle_of(model, middles, hypothesis, 0), sound,
                               middle_of(model, middles, hypothesis, 1));
        return true;
    }
    const Behaviour *cold = find_cold(maker, middles, hypothesis);
    if (cold) *of = *cold;
    return cold != NULL;
}

/* Of every fault, and behind them the sound oven. */
static const Behaviour *find_middles(OvenMaker *maker, const BehaviourTerms *terms, Error *error)
{
    const DiagnosisModel *model = maker->model;
    for (int f = 0; f < model->appliance->fault_count; f++) {
        const int points = model->appliance->faults[f].severity_count;
        const int middle = model->circuit.first_variant[f] + (points - 1) / 2; /* as pairs have it, model.c */
        diagnosis__add_oven(maker, &middle, 1, NULL);
    }
    diagnosis__add_oven(maker, NULL, 0, NULL);
    return diagnosis__find_ovens(maker, terms, error);
}

static bool simulate_usual(OvenMaker *maker, const BehaviourTerms *terms, Behaviour *of, Error *error)
{
    const DiagnosisModel *model = maker->model;
    const Behaviour *middles = find_middles(maker, terms, error);
    if (!middles) return false;
    bool *is_simulated = ARENA_ARRAY(&maker->scratch, bool, (size_t)model->hypothesis_count);
    if (!is_simulated) return error_memory(error);
    for (int h = 0; h < model->hypothesis_count; h++) {
        const Hypothesis *hypothesis = &model->hypotheses[h];
        is_simulated[h] = !put_together(maker, middles, hypothesis, &of[h]);
        if (is_simulated[h]) diagnosis__add_oven(maker, hypothesis->variants, hypothesis->count, NULL);
    }
    const Behaviour *found = diagnosis__find_ovens(maker, terms, error);
    for (int h = 0; found && h < model->hypothesis_count; h++)
        if (is_simulated[h]) of[h] = *found++;
    return found != NULL;
}

const Simulated *diagnosis__usual(DiagnosisModel *model, Error *error)
{
    assert(model->usual_function >= 0);
    if (model->usual) return model->usual;
    OvenMaker maker;
    const size_t n = (size_t)model->hypothesis_count;
    Simulated *usual = diagnosis__new_simulated(model, model->usual_function, THERMAL_MADE_FOR_CELSIUS,
                                                USUAL_SECOND, model->arena);
    Behaviour *of = ARENA_ARRAY(model->arena, Behaviour, n);
    const bool has_begun =
        diagnosis__begin_maker(model, model->usual_function, THERMAL_MADE_FOR_CELSIUS, n + 1, &maker) &&
        usual && of;
    if (has_begun ? simulate_usual(&maker, &usual->terms, of, error) : error_memory(error)) {
        usual->of = of;
        model->usual = usual;
    }
    arena_free(&maker.scratch);
    return model->usual;
}

bool diagnosis__find_family(DiagnosisModel *model, Error *error)
{
    if (model->family) return true;
    OvenMaker maker;
    const Simulated *usual = diagnosis__usual(model, error);
    if (!usual) return false;
    Family *family = ARENA_ARRAY(model->arena, Family, 1);
    const bool has_begun = diagnosis__begin_maker(model, usual->function, usual->terms.set_celsius,
                                                  THERMAL_FAMILY_COUNT, &maker) &&
                           family;
    if (has_begun) diagnosis__add_traits(&maker, NULL, 0);
    const Behaviour *found = NULL;
    if (has_begun || error_memory(error)) found = diagnosis__find_ovens(&maker, &usual->terms, error);
    if (found) memcpy(family->traits, found, sizeof family->traits);
    if (found) model->family = family;
    arena_free(&maker.scratch);
    return found != NULL;
}
