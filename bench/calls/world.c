/* world.c: a virtual call from its draw to its end, and what repairs do to it; see world.h.
 *
 * Numbers in capitals are common practice, no source. */
#include "world.h"

#include <assert.h>
#include <math.h>
#include <string.h>

static const size_t MIB = (size_t)1 << 20;

/* A stream of its own for each thing drawn, so that one more draw in one place moves no other. */
RandomStream world__stream(const World *world, uint64_t about, uint64_t times)
{
    RandomStream first = random_stream(world->seed ^ (about * 0x9E3779B97F4A7C15u));
    return random_stream(random_bits(&first) + times + (world->attempt << 32));
}

/* --- the call --- */

void world_reset(World *world)
{
    arena_free(&world->runs);
    world->left_count = world->drawn_count;
    for (int i = 0; i < world->drawn_count; i++) world->left[i] = i;
    world->adjusted_kelvin = 0;
    world->repairs = world->runs_made = 0;
    memset(world->made, 0, sizeof world->made);
    memset(world->renewed, 0, (size_t)world->assumed->appliance->part_count * sizeof *world->renewed);
}

static bool try_begin(World *world, Error *error)
{
    DiagnosisModel *assumed = world->assumed;
    world->arena = arena_new(256 * MIB);
    world->runs = arena_new(64 * MIB);
    world->renewed = ARENA_ARRAY(&world->arena, int, (size_t)assumed->appliance->part_count);
    if (!world->renewed) return error_memory(error);
    world__draw_meter(world);
    if (!world__build(world)) return error_memory(error);
    if (!diagnosis_begin(&world->built, assumed->circuit.ambient_celsius, &assumed->meter, NULL,
                         &world->arena, &world->model, error))
        return false;
    if (assumed->usual_function >= 0) world__vary_oven(world);
    world_reset(world);
    return world__listen(world, error);
}

bool world_begin(DiagnosisModel *assumed, uint64_t seed, bool only_sound, World *world, Error *error)
{
    assert(assumed->appliance->check_count <= WORLD_MOST_CHECKS);
    for (uint64_t attempt = 0;; attempt++) {
        memset(world, 0, sizeof *world);
        world->assumed = assumed;
        world->seed = seed;
        world->attempt = attempt;
        world__draw_truth(world);
        if (only_sound && !world_was_sound(world)) continue;
        if (!try_begin(world, error)) return false;
        if (world->word_count > 0) return true;
        world_end(world);
    }
}

void world_end(World *world)
{
    arena_free(&world->runs);
    arena_free(&world->arena);
}

/* Of the built appliance's faults, those of one part stand in the order of the assumed one's. */
static int built_fault(const World *world, int number)
{
    const Fault *fault = &world->assumed->appliance->faults[number];
    return world->built.parts[fault->part].first_fault +
           (number - world->assumed->appliance->parts[fault->part].first_fault);
}

int world__hypothesis(const World *world)
{
    int faults[CIRCUIT_MOST_FAULTS];
    for (int i = 0; i < world->left_count; i++) faults[i] = built_fault(world, world->drawn[world->left[i]]);
    for (int g = 0; g < world->model.group_count; g++) {
        const HypothesisGroup *group = &world->model.groups[g];
        bool is_same = group->count == world->left_count;
        for (int i = 0; i < group->count && is_same; i++)
            is_same = group->faults[i] == faults[0] || group->faults[i] == faults[world->left_count - 1];
        if (is_same) return group->first_hypothesis;
    }
    assert(!"the truth is one of the world's hypotheses");
    return 0;
}

/* --- repairs --- */

static const double NEAR_KELVIN = 8;
static const double FAILS = 0.02; /* a new part is faulty or badly fitted, as the diagnosis has it */
enum { ABOUT_REPAIR = 1 << 21 };

static const Fault *left_fault(const World *world, int i)
{
    return &world->assumed->appliance->faults[world->drawn[world->left[i]]];
}

static bool is_cured(const World *world, int i, int part)
{
    const int at = left_fault(world, i)->part;
    return at == part || world->assumed->appliance->parts[at].replaced_with == part;
}

/* What people do with a sound oven. */
static bool is_of_use(const World *world, const Fault *fault)
{
    return text_equal(world->assumed->appliance->parts[fault->part].kind->name, "use");
}

/* What an adjustment can cure; no further than the setting goes, and what little is then left nobody minds.
 */
static bool is_adjusted(const World *world, int i, int part)
{
    const Fault *fault = left_fault(world, i);
    const DescribedRegulation *regulation = &world->assumed->appliance->description->regulation;
    const double wanted = -world->severity[world->left[i]];
    const bool is_setting = fault->mode->effect == EFFECT_SHIFT;
    const bool is_in_reach = !is_setting || fault->mode->setting ||
                             (wanted >= regulation->offset_from_kelvin - NEAR_KELVIN &&
                              wanted <= regulation->offset_to_kelvin + NEAR_KELVIN);
    return fault->part == part && is_in_reach &&
           (is_setting || fault->mode->adjust_second > 0 || is_of_use(world, fault));
}

static bool is_harmless(const World *world, int drawn)
{
    const Fault *fault = &world->assumed->appliance->faults[world->drawn[drawn]];
    return is_of_use(world, fault) &&
           (fault->mode->effect == EFFECT_MISREAD || fault->mode->effect == EFFECT_NONE);
}

bool world_was_sound(const World *world)
{
    bool is_sound = true;
    for (int i = 0; i < world->drawn_count; i++) is_sound &= is_harmless(world, i);
    return is_sound;
}

bool world_is_sound(const World *world)
{
    bool is_sound = true;
    for (int i = 0; i < world->left_count; i++) is_sound &= is_harmless(world, world->left[i]);
    return is_sound;
}

bool world_is_set_right(const World *world, double error_kelvin)
{
    if (world->adjusted_kelvin == 0 || !(fabs(error_kelvin) <= NEAR_KELVIN)) return false;
    for (int i = 0; i < world->left_count; i++)
        if (!is_harmless(world, world->left[i]) && left_fault(world, i)->mode->effect != EFFECT_SHIFT)
            return false;
    return true;
}

bool world_is_cured_by(const World *world, int part)
{
    for (int i = 0; i < world->left_count; i++)
        if (is_cured(world, i, part)) return true;
    return false;
}

static void mend(World *world, int part, bool (*holds)(const World *, int, int))
{
    for (int p = 0; p < world->assumed->appliance->part_count; p++)
        world->renewed[p] += p == part || world->assumed->appliance->parts[p].replaced_with == part;
    RandomStream stream = world__stream(world, ABOUT_REPAIR, (uint64_t)world->repairs++);
    const bool helps = random_uniform(&stream) >= FAILS;
    int kept = 0;
    for (int i = 0; i < world->left_count; i++)
        if (!helps || !holds(world, i, part)) world->left[kept++] = world->left[i];
    world->left_count = kept;
}

/* A thermostat or control, and not a vent that is cleaned. */
static bool is_turned(const World *world, int part)
{
    const Part *turned = &world->assumed->appliance->parts[part];
    bool is_any = false;
    for (int f = turned->first_fault; f < turned->first_fault + turned->fault_count; f++) {
        const FaultMode *mode = world->assumed->appliance->faults[f].mode;
        is_any |= mode->effect == EFFECT_SHIFT && mode->adjust_second > 0;
    }
    return is_any;
}

/* A new thermostat or control has not been turned. */
void world_replace(World *world, int part)
{
    if (is_turned(world, part)) world->adjusted_kelvin = 0;
    mend(world, part, is_cured);
}

/* Where the control was right, or is off further than it can be set, it now holds so much more. */
void world_adjust(World *world, int part, double kelvin)
{
    const DescribedRegulation *regulation = &world->assumed->appliance->description->regulation;
    const bool is_by_degrees = is_turned(world, part) && isfinite(kelvin);
    for (int i = 0; i < world->left_count && is_by_degrees; i++) /* what the fault took is given back first */
        if (is_adjusted(world, i, part) && left_fault(world, i)->mode->effect == EFFECT_SHIFT)
            kelvin += world->severity[world->left[i]];
    if (is_by_degrees)
        world->adjusted_kelvin = fmin(fmax(world->adjusted_kelvin + kelvin, regulation->offset_from_kelvin),
                                      regulation->offset_to_kelvin);
    mend(world, part, is_adjusted);
}
