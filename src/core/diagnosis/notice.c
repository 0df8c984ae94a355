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

static double share(const Notice *notice, double amount)
{
    return diagnosis__normal((amount - notice->half) / notice->spread);
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
static void notice_sides(const Behaviour *behaviour, const Behaviour *sound, float *strength)
{
    const double moved = balance(behaviour) - balance(sound);
    if (!isfinite(moved) || behaviour->end_celsius < DIAGNOSIS_COLD_CELSIUS)
        return; /* nobody speaks of uneven */
    strength[CONDITION_BOTTOM_PALE] = (float)share(&PALE, -moved);
    strength[CONDITION_TOP_BURNT] = (float)share(&BURNT, -moved);
    strength[CONDITION_TOP_PALE] = (float)share(&PALE, moved);
    strength[CONDITION_BOTTOM_BURNT] = (float)share(&BURNT, moved);
    strength[CONDITION_PATCHY] = (float)share(&PATCHY, fabs(moved));
}

static void notice(const DiagnosisModel *model, const Hypothesis *hypothesis, const Behaviour *behaviour,
                   const Behaviour *sound, float *strength)
{
    const double error = settled(behaviour) - settled(sound) + misread(model, hypothesis);
    if (strength[CONDITION_ALL_DEAD] > 0) return; /* that is another complaint */
    strength[CONDITION_COOLER] = (float)share(&COOLER, -error);
    strength[CONDITION_HOTTER] = (float)share(&HOTTER, error);
    if (isfinite(behaviour->swing_kelvin))
        strength[CONDITION_SWINGS] = (float)share(&SWINGS, (double)behaviour->swing_kelvin);
    strength[CONDITION_SLUGGISH] =
        isfinite(behaviour->preheat_second)
            ? (float)share(&SLUGGISH, (double)(behaviour->preheat_second / sound->preheat_second))
        : behaviour->end_celsius < sound->end_celsius ? 1
                                                      : 0;
    notice_sides(behaviour, sound, strength);
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
    if (function >= 0 && !usual) return false;
    for (int h = 0; h < model->hypothesis_count; h++) {
        const Hypothesis *hypothesis = &model->hypotheses[h];
        bool holds[CONDITION_COUNT] = {false};
        circuit_conditions(&model->power, hypothesis->variants, hypothesis->count, holds);
        for (int c = CONDITION_COMPUTED; c < CONDITION_COUNT; c++) conditions[h][c] = holds[c] ? 1 : 0;
        if (usual) notice(model, hypothesis, &usual->of[h], &usual->of[0], conditions[h]);
    }
    model->conditions = conditions;
    return true;
}
