/* ovens.c: ovens of hypotheses, made and simulated; see ovens_private.h.
 *
 * The circuit is asked once for each fault; a pair in which one fault changes no watt and no ohm has the
 * watts of the other. (Two faults of which each alone changes nothing and both together do, a second neutral
 * say, are taken as changing nothing. They are rarer than a slip.)
 *
 * Bad at: a pair of faults of degree, which is simulated in the middle of both. */
#include <assert.h>
#include <math.h>
#include <string.h>

#include "core/diagnosis/ovens_private.h"

enum { SCRATCH_BYTES = 256 << 20 };

/* Hypotheses of one fault or none stand before the pairs. */
int diagnosis__single_count(const DiagnosisModel *model)
{
    int h = 0;
    while (h < model->hypothesis_count && model->hypotheses[h].count < 2) h++;
    return h;
}

Simulated *diagnosis__new_simulated(const DiagnosisModel *model, int function, double set_celsius,
                                    double second, Arena *arena)
{
    Simulated *simulated = ARENA_ARRAY(arena, Simulated, 1);
    if (!simulated) return NULL;
    *simulated = (Simulated){.function = function,
                             .terms = {.set_celsius = set_celsius,
                                       .ambient_celsius = model->circuit.ambient_celsius,
                                       .second = second}};
    return simulated;
}

static bool changes_power(const Fault *fault)
{
    const EffectType effect = fault->mode->effect;
    return effect_is_electric(effect) || effect == EFFECT_STOP || effect == EFFECT_STICK ||
           effect == EFFECT_CHATTER || effect == EFFECT_STILL;
}

const ThermalPower *diagnosis__power_of(OvenMaker *maker, int variant)
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

const ThermalPower *diagnosis__power_of_pair(OvenMaker *maker, const int *variants)
{
    const ThermalPower *first = diagnosis__power_of(maker, variants[0]),
                       *second = diagnosis__power_of(maker, variants[1]);
    if (first == maker->healthy) return second;
    if (second == maker->healthy) return first;
    if (maker->pair[0] != variants[0] || maker->pair[1] != variants[1])
        thermal_power(&maker->model->thermal, maker->function, variants, 2, &maker->both);
    memcpy(maker->pair, variants, sizeof maker->pair);
    return &maker->both;
}

void diagnosis__add_oven(OvenMaker *maker, const int *variants, int count, const ThermalFamily *family)
{
    DiagnosisModel *model = maker->model;
    const ThermalPower *power = count == 2   ? diagnosis__power_of_pair(maker, variants)
                                : count == 1 ? diagnosis__power_of(maker, variants[0])
                                             : maker->healthy;
    Oven *oven = &maker->ovens[maker->count];
    maker->lanes[maker->count++] = oven;
    const bool heats = thermal_oven_with(&model->thermal, maker->function, maker->set_celsius, power,
                                         variants, count, family, oven);
    assert(heats);
    (void)heats;
}

bool diagnosis__begin_maker(DiagnosisModel *model, int function, double set_celsius, size_t most,
                            OvenMaker *maker)
{
    *maker = (OvenMaker){.model = model,
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

void diagnosis__add_traits(OvenMaker *maker, const int *variants, int count)
{
    for (int t = 0; t < THERMAL_FAMILY_COUNT; t++) {
        ThermalFamily family = {{0}};
        family.trait[t] = 1;
        diagnosis__add_oven(maker, variants, count, &family);
    }
}

Behaviour diagnosis__liken(const Behaviour *base, const Behaviour *from, const Behaviour *to)
{
    Behaviour like = *base;
    like.mean_celsius += to->mean_celsius - from->mean_celsius;
    like.swing_kelvin += to->swing_kelvin - from->swing_kelvin;
    if (like.swing_kelvin < 0) like.swing_kelvin = 0; /* NAN stays */
    like.period_second *= to->period_second / from->period_second;
    like.preheat_second *= to->preheat_second / from->preheat_second;
    like.overshoot_kelvin += to->overshoot_kelvin - from->overshoot_kelvin;
    like.sensor_celsius += to->sensor_celsius - from->sensor_celsius;
    like.sensor_swing_kelvin += to->sensor_swing_kelvin - from->sensor_swing_kelvin;
    if (like.sensor_swing_kelvin < 0) like.sensor_swing_kelvin = 0;
    like.top_flux += to->top_flux - from->top_flux;
    like.bottom_flux += to->bottom_flux - from->bottom_flux;
    like.end_celsius += to->end_celsius - from->end_celsius;
    like.cycles = from->cycles > 0 ? base->cycles * to->cycles / from->cycles : to->cycles;
    return like;
}

Behaviour *diagnosis__find_ovens(OvenMaker *maker, const BehaviourTerms *terms, Error *error)
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

/* ---- sheaths */

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
