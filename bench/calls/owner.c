/* owner.c: what the owner of a virtual oven noticed, and says of it; see world.h.
 *
 * Owners are those that the diagnosis assumes: half of them notice an oven that settles 17 K off, and so on
 * (core/diagnosis/notice.c, words.yaml). What there is to notice is the true oven's own: its simulation with
 * its own coefficients and severities, beside the typical sound oven that the owner is used to.
 */
#include "world.h"

#include "base/mathematics.h"

#include <assert.h>
#include <math.h>
#include <string.h>

/* Half of the owners notice at `half`; how differently they look is `spread`. */
typedef struct {
    double half, spread;
} Notice;

static const Notice OFF = {17, 6}, SWINGS = {62, 14}; /* kelvin */
static const Notice SLUGGISH = {1.45, 0.2};           /* times the sound oven's preheat */
static const Notice PALE = {0.30, 0.12}, BURNT = {0.42, 0.15}, PATCHY = {0.40, 0.15}; /* log of a ratio */
static const double COLD_CELSIUS = 70, BAKES_SECOND = 5400;
enum { ABOUT_WORDS = 1 << 22 };

static double noticed_by(const Notice *notice, double amount)
{
    return isfinite(amount) ? math_normal_cdf((amount - notice->half) / notice->spread) : 0;
}

static double settled(const Behaviour *behaviour)
{
    return (double)(behaviour->cycles > 0 ? behaviour->mean_celsius : behaviour->end_celsius);
}

/* Bottom over top, in the logarithm. */
static double balance(const Behaviour *behaviour)
{
    const double top = (double)behaviour->top_flux, bottom = (double)behaviour->bottom_flux;
    return top > 0 && bottom > 0 ? math_log(bottom / top) : NAN;
}

static double misread_kelvin(const World *world)
{
    double kelvin = 0;
    for (int i = 0; i < world->drawn_count; i++)
        if (world->assumed->appliance->faults[world->drawn[i]].mode->effect == EFFECT_MISREAD)
            kelvin += world->severity[i];
    return kelvin;
}

static void notice(World *world, const Behaviour *now, const Behaviour *sound)
{
    double *strength = world->strength;
    const double off = settled(now) - settled(sound) + misread_kelvin(world),
                 moved = balance(now) - balance(sound);
    strength[CONDITION_COOLER] = noticed_by(&OFF, -off);
    strength[CONDITION_HOTTER] = noticed_by(&OFF, off);
    strength[CONDITION_SWINGS] = noticed_by(&SWINGS, (double)now->swing_kelvin);
    strength[CONDITION_SLUGGISH] =
        isfinite(now->preheat_second)
            ? noticed_by(&SLUGGISH, (double)(now->preheat_second / sound->preheat_second))
            : now->end_celsius < sound->end_celsius;
    if (now->end_celsius < COLD_CELSIUS) return;
    strength[CONDITION_BOTTOM_PALE] = noticed_by(&PALE, -moved);
    strength[CONDITION_TOP_BURNT] = noticed_by(&BURNT, -moved);
    strength[CONDITION_TOP_PALE] = noticed_by(&PALE, moved);
    strength[CONDITION_BOTTOM_BURNT] = noticed_by(&BURNT, moved);
    strength[CONDITION_PATCHY] = noticed_by(&PATCHY, fabs(moved));
}

static bool bake(DiagnosisModel *model, const Oven *oven, Behaviour *behaviour, Error *error)
{
    const BehaviourTerms terms = {.set_celsius = THERMAL_MADE_FOR_CELSIUS,
                                  .ambient_celsius = model->circuit.ambient_celsius,
                                  .second = BAKES_SECOND};
    return behaviour_find(model->memory, &oven, 1, &terms, behaviour, error);
}

/* What nothing computes the faults declare. */
static void add_declared(World *world)
{
    for (int i = 0; i < world->drawn_count; i++) {
        const FaultMode *mode = world->assumed->appliance->faults[world->drawn[i]].mode;
        for (int c = 0; c < CONDITION_COUNT; c++)
            world->strength[c] = 1 - (1 - world->strength[c]) * (1 - mode->condition[c]);
    }
}

static bool find_strengths(World *world, Error *error)
{
    const Hypothesis *truth = &world->model.hypotheses[world__hypothesis(world)];
    bool holds[CONDITION_COUNT] = {false};
    circuit_conditions(&world->model.power, truth->variants, truth->count, holds);
    for (int c = CONDITION_COMPUTED; c < CONDITION_COUNT; c++) world->strength[c] = holds[c] ? 1 : 0;
    Oven oven, typical;
    Behaviour now, sound;
    const int function = world->assumed->usual_function;
    if (world__oven(world, THERMAL_MADE_FOR_CELSIUS, &oven) && !holds[CONDITION_ALL_DEAD] &&
        thermal_oven(&world->assumed->thermal, function, THERMAL_MADE_FOR_CELSIUS, NULL, 0, NULL, &typical)) {
        if (!bake(&world->model, &oven, &now, error) || !bake(world->assumed, &typical, &sound, error))
            return false;
        notice(world, &now, &sound);
    }
    add_declared(world);
    return true;
}

/* Causes add up as in a noisy-or; the owner of a sound oven calls for reasons of his own. */
double world_chance_of_word(const World *world, int word)
{
    const ComplaintWord *said = &world->assumed->appliance->catalogue->complaints[word];
    if (world->drawn_count == 0) return said->nothing_wrong;
    double absent = 1 - said->otherwise;
    for (int c = 0; c < CONDITION_COUNT; c++) absent *= 1 - said->when[c] * world->strength[c];
    return 1 - absent;
}

/* Asked for it, the owner would say so with the chance of the word; unasked, owners use one of several words
 * for the same thing, so that silence has the fourth root of a denial's chance, as the diagnosis has it. */
static void say(World *world, RandomStream *stream)
{
    world->word_count = 0;
    for (int w = 0; w < world->assumed->appliance->catalogue->complaint_count; w++) {
        const double chance = world_chance_of_word(world, w), at = random_uniform(stream);
        world->would_say[w] = at < chance;
        if (at < 1 - sqrt(sqrt(1 - chance)) && world->word_count < CALL_MOST_WORDS)
            world->words[world->word_count++] = w;
    }
}

bool world__listen(World *world, Error *error)
{
    RandomStream stream = world__stream(world, ABOUT_WORDS, 0);
    assert(world->assumed->appliance->catalogue->complaint_count <= WORLD_MOST_WORDS);
    if (!find_strengths(world, error)) return false;
    say(world, &stream);
    return true;
}

Entry world_complaint(const World *world)
{
    Entry entry = {.kind = ENTRY_COMPLAINT, .part = -1, .function = -1, .word_count = world->word_count};
    memcpy(entry.words, world->words, sizeof world->words);
    return entry;
}
