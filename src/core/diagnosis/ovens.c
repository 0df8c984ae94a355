/* ovens.c: what the oven does under every hypothesis, simulated.
 *
 * Each hypothesis is an oven (core/thermal); equal ovens are simulated once (core/behaviour), and most faults
 * of the wiring make the same oven: one that lacks its bake element does so whichever wire is broken. For a
 * run, single faults are also simulated at both ends of their slice of severities and with each trait of the
 * family moved by one standard deviation; a pair takes those differences from the fault of the two that
 * changes the mean more.
 *
 * The circuit is asked once for each fault; a pair in which one fault changes no watt and no ohm has the
 * watts of the other. (Two faults of which each alone changes nothing and both together do, a second neutral
 * say, are taken as changing nothing. They are rarer than a slip.)
 *
 * Bad at: a pair of faults of degree, which is simulated in the middle of both. */
#include <assert.h>
#include <math.h>
#include <string.h>

#include "core/diagnosis/diagnosis_private.h"

enum { SCRATCH_BYTES = 256 << 20 };

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

/* The ovens of all hypotheses, and for a run of the single faults': ends of the slice, traits. */
static void make_all(Maker *maker, const Simulated *simulated, int singles)
{
    const DiagnosisModel *model = maker->model;
    for (int h = 0; h < model->hypothesis_count; h++)
        add_oven(maker, model->hypotheses[h].variants, model->hypotheses[h].count, NULL);
    for (int h = 0; h < singles && simulated->has_family; h++) {
        const Hypothesis *hypothesis = &model->hypotheses[h];
        add_oven(maker, hypothesis->low, hypothesis->count, NULL);
        add_oven(maker, hypothesis->high, hypothesis->count, NULL);
        for (int t = 0; t < THERMAL_FAMILY_COUNT; t++) {
            ThermalFamily family = {{0}};
            family.trait[t] = 1;
            add_oven(maker, hypothesis->variants, hypothesis->count, &family);
        }
    }
}

/* Seven ovens, simulated together. */
bool diagnosis__find_family(DiagnosisModel *model, Error *error)
{
    if (model->family) return true;
    const Simulated *usual = diagnosis__usual(model, error);
    if (!usual) return false;
    Maker maker;
    Behaviour *family = ARENA_ARRAY(model->arena, Behaviour, THERMAL_FAMILY_COUNT);
    bool went_well =
        begin_maker(model, usual->function, usual->terms.set_celsius, THERMAL_FAMILY_COUNT, &maker) && family;
    for (int t = 0; went_well && t < THERMAL_FAMILY_COUNT; t++) {
        ThermalFamily moved = {{0}};
        moved.trait[t] = 1;
        add_oven(&maker, NULL, 0, &moved);
    }
    went_well = (went_well || error_memory(error)) &&
                behaviour_find(model->memory, maker.lanes, maker.count, &usual->terms, family, error);
    arena_free(&maker.scratch);
    if (went_well) model->family = family;
    return went_well;
}

enum { PER_SINGLE = 2 + THERMAL_FAMILY_COUNT };

static bool simulate(DiagnosisModel *model, Simulated *simulated, Error *error)
{
    Maker maker;
    const int singles = diagnosis__single_count(model);
    const size_t most =
        (size_t)model->hypothesis_count + (simulated->has_family ? (size_t)singles * PER_SINGLE : 0);
    Behaviour *behaviours = ARENA_ARRAY(model->arena, Behaviour, most);
    bool went_well =
        begin_maker(model, simulated->function, simulated->terms.set_celsius, most, &maker) && behaviours;
    if (went_well) make_all(&maker, simulated, singles);
    assert(!went_well || (size_t)maker.count == most);
    went_well = ((went_well && !maker.is_out) || error_memory(error)) &&
                behaviour_find(model->memory, maker.lanes, maker.count, &simulated->terms, behaviours, error);
    arena_free(&maker.scratch);
    simulated->of = behaviours;
    simulated->around = behaviours ? behaviours + model->hypothesis_count : NULL;
    return went_well;
}

const Behaviour *diagnosis__end(const Simulated *simulated, int single, bool is_high)
{
    return &simulated->around[single * PER_SINGLE + is_high];
}

const Behaviour *diagnosis__trait(const Simulated *simulated, int single, int trait)
{
    return &simulated->around[single * PER_SINGLE + 2 + trait];
}

/* A list, searched from its front: a call has few runs, and most are in one function at one temperature. */
const Simulated *diagnosis__simulated(DiagnosisModel *model, int function, double set_celsius, double second,
                                      bool has_family, Error *error)
{
    const BehaviourTerms terms = {
        .set_celsius = set_celsius, .ambient_celsius = model->circuit.ambient_celsius, .second = second};
    for (Simulated *known = model->simulated; known; known = known->next)
        if (known->function == function && known->has_family >= has_family &&
            memcmp(&known->terms, &terms, sizeof terms) == 0)
            return known;
    Simulated *simulated = ARENA_ARRAY(model->arena, Simulated, 1);
    if (!simulated) {
        error_memory(error);
        return NULL;
    }
    *simulated = (Simulated){.function = function, .terms = terms, .has_family = has_family};
    if (!simulate(model, simulated, error)) return NULL;
    simulated->next = model->simulated;
    return model->simulated = simulated;
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
