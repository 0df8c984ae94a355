/* ovens.c: what the oven does under every hypothesis, simulated.
 *
 * Each hypothesis is an oven (core/thermal); equal ovens are simulated once (core/behaviour), and most faults
 * of the wiring make the same oven: one that lacks its bake element does so whichever wire is broken.
 *
 * The usual run, in which the owner bakes, is simulated under every hypothesis, once. A run that somebody
 * took is simulated under those that matter when it is weighed, and their single faults also at both ends of
 * their slice of severities and with each trait of the family moved by one standard deviation; a pair takes
 * those differences from the fault of the two that changes the mean more. Any other hypothesis is *likened*:
 * it differs from the sound oven as it does in the usual run, and its family as the sound oven's does. That
 * is four fifths of the work, for hypotheses that one in ten thousand ovens has.
 *
 * The circuit is asked once for each fault; a pair in which one fault changes no watt and no ohm has the
 * watts of the other. (Two faults of which each alone changes nothing and both together do, a second neutral
 * say, are taken as changing nothing. They are rarer than a slip.)
 *
 * Bad at: a pair of faults of degree, which is simulated in the middle of both. A hypothesis that did not
 * matter when the run was weighed, and does after what was measured later, keeps what it was likened to. */
#include <assert.h>
#include <math.h>
#include <string.h>

#include "core/diagnosis/diagnosis_private.h"

enum { SCRATCH_BYTES = 256 << 20, PER_SINGLE = 2 + THERMAL_FAMILY_COUNT };
/* A hypothesis with less weight is likened. */
static const double WORTH = 5e-4;
/* How long the owner is taken to bake. */
static const double USUAL_SECOND = 5400;

/* What is needed while the ovens of one set of terms are made. */
typedef struct {
    DiagnosisModel *model;
    Arena scratch; /* of all that is not remembered */
    const ThermalPower *healthy;
    const ThermalPower **powers; /* [variants], found when first asked for */
    int function;
    double set_celsius;
    Oven *ovens;
    const Oven **lanes;
    int count;
    bool is_out; /* of memory */
} Maker;

static bool changes_power(const Fault *fault)
{
    const EffectType effect = fault->mode->effect;
    return effect_is_electric(effect) || effect == EFFECT_STOP || effect == EFFECT_STICK ||
           effect == EFFECT_CHATTER || effect == EFFECT_STILL;
}

static const ThermalPower *power_of(Maker *maker, int variant)
{
    DiagnosisModel *model = maker->model;
    if (maker->powers[variant]) return maker->powers[variant];
    if (!changes_power(&model->appliance->faults[model->circuit.variants[variant].fault]))
        return maker->powers[variant] = maker->healthy;
    ThermalPower *power = ARENA_ARRAY(&maker->scratch, ThermalPower, 1);
    if (!power) {
        maker->is_out = true;
        return maker->healthy;
    }
    thermal_power(&model->thermal, maker->function, &variant, 1, power);
    const bool is_same = memcmp(power, maker->healthy, sizeof *power) == 0;
    return maker->powers[variant] = is_same ? maker->healthy : power;
}

static void add_oven(Maker *maker, const int *variants, int count, const ThermalFamily *family)
{
    DiagnosisModel *model = maker->model;
    ThermalPower both;
    const ThermalPower *power = count > 0 ? power_of(maker, variants[0]) : maker->healthy;
    if (count == 2) {
        const ThermalPower *other = power_of(maker, variants[1]);
        if (power == maker->healthy) {
            power = other;
        } else if (other != maker->healthy) {
            thermal_power(&model->thermal, maker->function, variants, count, &both);
            power = &both;
        }
    }
    Oven *oven = &maker->ovens[maker->count];
    maker->lanes[maker->count++] = oven;
    const bool heats = thermal_oven_with(&model->thermal, maker->function, maker->set_celsius, power,
                                         variants, count, family, oven);
    assert(heats);
    (void)heats;
}

/* Hypotheses of one fault or none stand before the pairs. */
int diagnosis__single_count(const DiagnosisModel *model)
{
    int h = 0;
    while (h < model->hypothesis_count && model->hypotheses[h].count < 2) h++;
    return h;
}

static bool begin_maker(DiagnosisModel *model, int function, double set_celsius, size_t most, Maker *maker)
{
    *maker = (Maker){.model = model,
                     .scratch = arena_new(SCRATCH_BYTES),
                     .function = function,
                     .set_celsius = set_celsius};
    Arena *scratch = &maker->scratch;
    ThermalPower *healthy = ARENA_ARRAY(scratch, ThermalPower, 1);
    maker->healthy = healthy;
    maker->powers = ARENA_ARRAY(scratch, const ThermalPower *, (size_t)model->circuit.variant_count + 1);
    maker->ovens = ARENA_ARRAY(scratch, Oven, most);
    maker->lanes = ARENA_ARRAY(scratch, const Oven *, most);
    if (!healthy || !maker->powers || !maker->ovens || !maker->lanes) return false;
    thermal_power(&model->thermal, function, NULL, 0, healthy);
    return true;
}

static Simulated *new_simulated(const DiagnosisModel *model, int function, double set_celsius, double second,
                                Arena *arena)
{
    Simulated *simulated = ARENA_ARRAY(arena, Simulated, 1);
    if (!simulated) return NULL;
    *simulated = (Simulated){.function = function,
                             .terms = {.set_celsius = set_celsius,
                                       .ambient_celsius = model->circuit.ambient_celsius,
                                       .second = second}};
    return simulated;
}

/* With each trait of the family moved by one standard deviation. */
static void add_traits(Maker *maker, const int *variants, int count)
{
    for (int t = 0; t < THERMAL_FAMILY_COUNT; t++) {
        ThermalFamily family = {{0}};
        family.trait[t] = 1;
        add_oven(maker, variants, count, &family);
    }
}

/* An oven that differs from `base` as `to` does from `from`: temperatures by as much, times by as many times.
 */
static Behaviour liken(const Behaviour *base, const Behaviour *from, const Behaviour *to)
{
    Behaviour like = *base;
    like.mean_celsius += to->mean_celsius - from->mean_celsius;
    like.swing_kelvin = fmaxf(base->swing_kelvin + to->swing_kelvin - from->swing_kelvin, 0);
    like.period_second *= to->period_second / from->period_second;
    like.preheat_second *= to->preheat_second / from->preheat_second;
    like.overshoot_kelvin += to->overshoot_kelvin - from->overshoot_kelvin;
    like.top_flux += to->top_flux - from->top_flux;
    like.bottom_flux += to->bottom_flux - from->bottom_flux;
    like.end_celsius += to->end_celsius - from->end_celsius;
    like.cycles = from->cycles > 0 ? base->cycles * to->cycles / from->cycles : to->cycles;
    return like;
}

/* What was added since the last time, simulated, in that order; in `scratch` of the maker. */
static Behaviour *find(Maker *maker, const BehaviourTerms *terms, Error *error)
{
    const int count = maker->count;
    Behaviour *found = ARENA_ARRAY(&maker->scratch, Behaviour, (size_t)count + 1);
    maker->count = 0;
    if (!found || maker->is_out) {
        error_memory(error);
        return NULL;
    }
    return behaviour_find(maker->model->memory, maker->lanes, count, terms, found, error) ? found : NULL;
}

/* ---- the usual run */

/* The fault in a pair, by itself, in the middle of its severities. */
static const Behaviour *middle_of(const DiagnosisModel *model, const Behaviour *middles,
                                  const Hypothesis *pair, int i)
{
    return &middles[model->circuit.variants[pair->variants[i]].fault];
}

/* Where each of two faults leaves the oven cycling, both together do what each does. */
static bool is_likened(const DiagnosisModel *model, const Behaviour *middles, const Hypothesis *hypothesis)
{
    return hypothesis->count == 2 &&
           diagnosis__has_cycles(middle_of(model, middles, hypothesis, 0), DIAGNOSIS_SURE_CYCLES) &&
           diagnosis__has_cycles(middle_of(model, middles, hypothesis, 1), DIAGNOSIS_SURE_CYCLES);
}

static const Behaviour *find_middles(Maker *maker, const BehaviourTerms *terms, Error *error)
{
    const DiagnosisModel *model = maker->model;
    for (int f = 0; f < model->appliance->fault_count; f++) {
        const int points = model->appliance->faults[f].severity_count;
        const int middle = model->circuit.first_variant[f] + (points - 1) / 2; /* as pairs have it, model.c */
        add_oven(maker, &middle, 1, NULL);
    }
    return find(maker, terms, error);
}

static bool simulate_usual(Maker *maker, const BehaviourTerms *terms, Behaviour *of, Error *error)
{
    const DiagnosisModel *model = maker->model;
    const Behaviour *middles = find_middles(maker, terms, error);
    if (!middles) return false;
    for (int h = 0; h < model->hypothesis_count; h++)
        if (!is_likened(model, middles, &model->hypotheses[h]))
            add_oven(maker, model->hypotheses[h].variants, model->hypotheses[h].count, NULL);
    const Behaviour *found = find(maker, terms, error);
    for (int h = 0; found && h < model->hypothesis_count; h++) {
        const Hypothesis *hypothesis = &model->hypotheses[h];
        of[h] = is_likened(model, middles, hypothesis)
                    ? liken(middle_of(model, middles, hypothesis, 0), &of[0],
                            middle_of(model, middles, hypothesis, 1))
                    : *found++;
    }
    return found != NULL;
}

const Simulated *diagnosis__usual(DiagnosisModel *model, Error *error)
{
    assert(model->usual_function >= 0);
    if (model->usual) return model->usual;
    Maker maker;
    const size_t n = (size_t)model->hypothesis_count;
    Simulated *usual =
        new_simulated(model, model->usual_function, THERMAL_MADE_FOR_CELSIUS, USUAL_SECOND, model->arena);
    Behaviour *of = ARENA_ARRAY(model->arena, Behaviour, n);
    const bool has_begun =
        begin_maker(model, model->usual_function, THERMAL_MADE_FOR_CELSIUS, n, &maker) && usual && of;
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
    Maker maker;
    const Simulated *usual = diagnosis__usual(model, error);
    if (!usual) return false;
    Behaviour *family = ARENA_ARRAY(model->arena, Behaviour, THERMAL_FAMILY_COUNT);
    const bool has_begun =
        begin_maker(model, usual->function, usual->terms.set_celsius, THERMAL_FAMILY_COUNT, &maker) && family;
    if (has_begun) add_traits(&maker, NULL, 0);
    const Behaviour *found = NULL;
    if (has_begun || error_memory(error)) found = find(&maker, &usual->terms, error);
    if (found) memcpy(family, found, THERMAL_FAMILY_COUNT * sizeof *family);
    if (found) model->family = family;
    arena_free(&maker.scratch);
    return found != NULL;
}

/* ---- a run that somebody took */

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
static void add_family(Maker *maker, const Hypothesis *single)
{
    add_oven(maker, single->low, single->count, NULL);
    add_oven(maker, single->high, single->count, NULL);
    add_traits(maker, single->variants, single->count);
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
    for (int t = 2; t < PER_SINGLE; t++) own[t] = liken(&of[single], &of[0], &around[t]);
}

/* What was found stands in the order in which the ovens were added. */
static void spread(const DiagnosisModel *model, const bool *is_near, const Behaviour *usual,
                   const Behaviour *found, Behaviour *of, Behaviour *around)
{
    for (int h = 0; h < model->hypothesis_count; h++)
        of[h] = is_near[h] ? *found++ : liken(&of[0], &usual[0], &usual[h]);
    for (int h = 0; h < diagnosis__single_count(model); h++) {
        if (!is_near[h]) {
            liken_family(model, of, h, around);
            continue;
        }
        memcpy(&around[h * PER_SINGLE], found, PER_SINGLE * sizeof *found);
        found += PER_SINGLE;
    }
}

static bool simulate_run(Maker *maker, const Simulated *usual, const double *weights, Simulated *simulated,
                         Behaviour *of, Behaviour *around, Error *error)
{
    const DiagnosisModel *model = maker->model;
    const int singles = diagnosis__single_count(model);
    bool *is_near = ARENA_ARRAY(&maker->scratch, bool, (size_t)model->hypothesis_count);
    if (!is_near) return error_memory(error);
    mark(model, weights, simulated->function != usual->function, is_near);
    for (int h = 0; h < model->hypothesis_count; h++)
        if (is_near[h]) add_oven(maker, model->hypotheses[h].variants, model->hypotheses[h].count, NULL);
    for (int h = 0; h < singles; h++)
        if (is_near[h]) add_family(maker, &model->hypotheses[h]);
    const Behaviour *found = find(maker, &simulated->terms, error);
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
    Maker maker;
    const size_t n = (size_t)model->hypothesis_count,
                 around_count = (size_t)diagnosis__single_count(model) * PER_SINGLE;
    const Simulated *usual = diagnosis__usual(model, error);
    if (!usual) return NULL;
    Simulated *simulated = new_simulated(model, function, set_celsius, second, arena);
    Behaviour *of = ARENA_ARRAY(arena, Behaviour, n), *around = ARENA_ARRAY(arena, Behaviour, around_count);
    const bool has_begun =
        begin_maker(model, function, set_celsius, n + around_count, &maker) && simulated && of && around;
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

/* Shares of the rated power for which sheaths are watched, once for each heat. */
void diagnosis__watch_sheaths(DiagnosisModel *model)
{
    for (int e = 0; e < OVEN_HEATS; e++)
        for (int i = 0; i < DIAGNOSIS_SHEATHS; i++)
            model->sheath_celsius[e][i] =
                thermal_sheath_celsius(&model->thermal, e, i * DIAGNOSIS_SHEATH_SHARE);
}

/* Between two of those by a straight line; beyond the last as at the last. */
double diagnosis__sheath(const DiagnosisModel *model, int heat, double share)
{
    const double at = fmin(fmax(share, 0) / DIAGNOSIS_SHEATH_SHARE, DIAGNOSIS_SHEATHS - 1);
    const int i = at >= DIAGNOSIS_SHEATHS - 1 ? DIAGNOSIS_SHEATHS - 2 : (int)at;
    const double *sheath = model->sheath_celsius[heat];
    return sheath[i] + (at - i) * (sheath[i + 1] - sheath[i]);
}
