/* notice.c: what the owner notices of an oven that is too cool, too hot, slow, swinging or uneven.
 *
 * The owner bakes at THERMAL_MADE_FOR_CELSIUS in the oven's usual function. The simulation says how that goes
 * under each hypothesis; here it becomes a strength between 0 and 1 of each condition: the share of owners
 * who would notice. One half does at `half`, and how differently owners look is `spread`.
 *
 * These two numbers are common practice, no source. An owner's own thermometer may be wrong; that is a
 * hypothesis and shifts what is noticed, not what a technician measures. */
#include <assert.h>
#include <math.h>

#include "base/mathematics.h"
#include "core/diagnosis/diagnosis_private.h"

typedef struct {
    double half, spread;
} Notice;

static const Notice COOLER = {17, 6}, HOTTER = {17, 6}, SWINGS = {DIAGNOSIS_WIDE_KELVIN, 14}; /* kelvin */
static const Notice SLUGGISH = {DIAGNOSIS_SLOW, 0.2}; /* times the sound oven's preheat */
static const Notice PALE = {0.30, 0.12},
                    BURNT = {0.42, 0.15}; /* logarithm of bottom over top, against sound */
static const Notice PATCHY = {0.40, 0.15};

static double both(double a, double b) { return sqrt(a * a + b * b); }

static double share(const Notice *notice, double amount, double family)
{
    return diagnosis__normal((amount - notice->half) / both(notice->spread, family));
}

static double misread(const DiagnosisModel *model, const Hypothesis *hypothesis)
{
    double kelvin = 0;
    for (int i = 0; i < hypothesis->count; i++) {
        const Variant *variant = &model->circuit.variants[hypothesis->variants[i]];
        const Fault *fault = &model->appliance->faults[variant->fault];
        if (fault->mode->effect == EFFECT_MISREAD) kelvin += fault->severity[variant->severity];
    }
    return kelvin;
}

static double settled(const Behaviour *behaviour)
{
    return (double)(behaviour->cycles > 0 ? behaviour->mean_celsius : behaviour->end_celsius);
}

static double balance(const Behaviour *behaviour)
{
    const double top = (double)behaviour->top_flux, bottom = (double)behaviour->bottom_flux;
    return top > 0 && bottom > 0 ? math_log(bottom / top) : NAN;
}

/* How bottom and top bake against each other, and against how they do in a sound oven. */
static void notice_sides(const Behaviour *behaviour, const Behaviour *sound, const Family *family,
                         float *strength)
{
    const double moved = balance(behaviour) - balance(sound);
    if (!isfinite(moved) || behaviour->end_celsius < DIAGNOSIS_COLD_CELSIUS)
        return; /* nobody speaks of uneven */
    strength[CONDITION_BOTTOM_PALE] = (float)share(&PALE, -moved, family->balance);
    strength[CONDITION_TOP_BURNT] = (float)share(&BURNT, -moved, family->balance);
    strength[CONDITION_TOP_PALE] = (float)share(&PALE, moved, family->balance);
    strength[CONDITION_BOTTOM_BURNT] = (float)share(&BURNT, moved, family->balance);
    strength[CONDITION_PATCHY] = (float)share(&PATCHY, fabs(moved), family->balance);
}

static void notice(const DiagnosisModel *model, const Hypothesis *hypothesis, const Behaviour *behaviour,
                   const Behaviour *sound, const Family *family, float *strength)
{
    const double error = settled(behaviour) - settled(sound) + misread(model, hypothesis);
    if (strength[CONDITION_ALL_DEAD] > 0) return; /* that is another complaint */
    strength[CONDITION_COOLER] = (float)share(&COOLER, -error, family->settled_kelvin);
    strength[CONDITION_HOTTER] = (float)share(&HOTTER, error, family->settled_kelvin);
    if (isfinite(behaviour->swing_kelvin))
        strength[CONDITION_SWINGS] =
            (float)share(&SWINGS, (double)behaviour->swing_kelvin, family->swing_kelvin);
    strength[CONDITION_SLUGGISH] =
        isfinite(behaviour->preheat_second)
            ? (float)share(&SLUGGISH, (double)(behaviour->preheat_second / sound->preheat_second),
                           family->preheat_ratio)
        : behaviour->end_celsius < sound->end_celsius ? 1
                                                      : 0;
    notice_sides(behaviour, sound, family, strength);
}

static double moved_by(double trait, double sound) { return isfinite(trait - sound) ? trait - sound : 0; }

/* Traits are independent. */
static void find_spread(Family *family, const Behaviour *sound)
{
    for (int t = 0; t < THERMAL_FAMILY_COUNT; t++) {
        const Behaviour *moved = &family->traits[t];
        family->settled_kelvin = both(family->settled_kelvin, moved_by(settled(moved), settled(sound)));
        family->swing_kelvin =
            both(family->swing_kelvin, moved_by((double)moved->swing_kelvin, (double)sound->swing_kelvin));
        family->preheat_ratio =
            both(family->preheat_ratio, moved_by((double)(moved->preheat_second / sound->preheat_second), 1));
        family->balance = both(family->balance, moved_by(balance(moved), balance(sound)));
    }
}

/* What part of what a run shows beyond the hypothesis is this oven's own, and not what no simulation knows.
 */
static double own_share(double family, Figure figure, const Residual *seen)
{
    const double discrepancy = diagnosis__discrepancy(figure);
    assert(discrepancy > 0 && seen->fit >= 0 && seen->fit <= 1);
    if (!isfinite(seen->of[figure])) return 0;
    return (double)seen->fit * family * family / (family * family + discrepancy * discrepancy);
}

/* The same of single readings, as far as they are no part of their cycle. */
static double own_share_of_reading(double family, const Residual *seen)
{
    const double discrepancy = diagnosis__discrepancy(MEAN), weight = (double)seen->spot_weight;
    return weight > 0 ? family * family / (family * family + discrepancy * discrepancy + 1 / weight) : 0;
}

/* NAN: as the owner bakes there is no such figure. */
static void look_again(float *strength, const Notice *notice, double amount, double family)
{
    if (isfinite(amount)) *strength = (float)share(notice, amount, family);
}

/* An oven of this family that a run has shown to be 13 K too cool is noticed as such, whatever is wrong with
 * it: the words then say less of what it is. */
void diagnosis__notice_seen(const DiagnosisModel *model, int h, const Residual *seen, float *strength)
{
    const Behaviour *behaviour = &model->usual->of[h], *sound = &model->usual->of[0];
    const Family *family = model->family;
    assert(family);
    const double swing = (double)behaviour->swing_kelvin + DIAGNOSIS_SWING_FLOOR;
    if (strength[CONDITION_ALL_DEAD] > 0) return;
    const bool is_run = isfinite(seen->of[MEAN]);
    double own = is_run ? own_share(family->settled_kelvin, MEAN, seen)
                        : own_share_of_reading(family->settled_kelvin, seen);
    if (own > 0) {
        const double rest = family->settled_kelvin * sqrt(1 - own),
                     error = settled(behaviour) - settled(sound) + misread(model, &model->hypotheses[h]) +
                             own * (double)(is_run ? seen->of[MEAN] : seen->spot_kelvin);
        look_again(&strength[CONDITION_COOLER], &COOLER, -error, rest);
        look_again(&strength[CONDITION_HOTTER], &HOTTER, error, rest);
    }
    own = own_share(family->swing_kelvin / swing, SWING, seen);
    if (own > 0)
        look_again(&strength[CONDITION_SWINGS], &SWINGS,
                   swing * math_exp(own * (double)seen->of[SWING]) - DIAGNOSIS_SWING_FLOOR,
                   family->swing_kelvin * sqrt(1 - own));
    own = own_share(family->preheat_ratio, PREHEAT, seen);
    if (own > 0)
        look_again(&strength[CONDITION_SLUGGISH], &SLUGGISH,
                   (double)(behaviour->preheat_second / sound->preheat_second) *
                       math_exp(own * (double)seen->of[PREHEAT]),
                   family->preheat_ratio * sqrt(1 - own));
}

/* Takes a solution of every function and a simulation under every hypothesis; readings do without, so it
 * waits until a complaint or a look asks. */
bool diagnosis__find_conditions(DiagnosisModel *model, Error *error)
{
    if (model->conditions) return true;
    float(*conditions)[CONDITION_COUNT] =
        arena_take_array(model->arena, (size_t)model->hypothesis_count, sizeof *conditions);
    const int function = model->usual_function;
    const Simulated *usual = function < 0 ? NULL : diagnosis__usual(model, error);
    if (!conditions) return error_memory(error);
    if (function >= 0 && (!usual || !diagnosis__find_family(model, error))) return false;
    if (usual) find_spread(model->family, &usual->of[0]);
    for (int h = 0; h < model->hypothesis_count; h++) {
        const Hypothesis *hypothesis = &model->hypotheses[h];
        bool holds[CONDITION_COUNT] = {false};
        circuit_conditions(&model->power, hypothesis->variants, hypothesis->count, holds);
        for (int c = CONDITION_COMPUTED; c < CONDITION_COUNT; c++) conditions[h][c] = holds[c] ? 1 : 0;
        if (usual) notice(model, hypothesis, &usual->of[h], &usual->of[0], model->family, conditions[h]);
    }
    model->conditions = conditions;
    return true;
}
