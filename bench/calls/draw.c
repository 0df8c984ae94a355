/* draw.c: the draw of one call; see world.h.
 *
 * What is wrong follows the appliance's priors, as the diagnosis has them: nothing, one fault, or, with the
 * catalogue's chance, a second one of another part. The oven as built is the appliance with every resistance
 * off by its tolerance; of its faults only those of the broken parts are kept (and the cutout's, which the
 * oven's simulation asks for), each with one severity, so that the program's own circuit and oven, fed with
 * them, are the truth.
 *
 * Numbers in capitals are common practice, no source. */
#include "world.h"

#include "base/mathematics.h"

#include <assert.h>
#include <math.h>
#include <string.h>

static const double COEFFICIENT_SPREAD = 0.08; /* of the logarithm of each coefficient of the oven */
static const double SUPPLY_HALF_WIDTH = 0.02;
static const double OFFSET_TAKEN = 0.12, OFFSET_KELVIN = 9; /* owners set offsets, as the diagnosis has it */
static const size_t MIB = (size_t)1 << 20;

/* A stream of its own for each thing drawn, so that one more draw in one place moves no other. */
RandomStream world__stream(const World *world, uint64_t about, uint64_t times)
{
    RandomStream first = random_stream(world->seed ^ (about * 0x9E3779B97F4A7C15u));
    return random_stream(random_bits(&first) + times + (world->attempt << 32));
}

enum { ABOUT_FAULT = 1 << 20, ABOUT_VALUES, ABOUT_OVEN, ABOUT_METER };

static double half_width(RandomStream *stream, double width)
{
    return width * (2 * random_uniform(stream) - 1);
}

/* --- what is wrong --- */

/* A fault by its prior, of any part but `but`; the priors of the others are scaled up. */
static int draw_fault(const Appliance *appliance, int but, RandomStream *stream)
{
    double sum = 0;
    for (int f = 0; f < appliance->fault_count; f++)
        sum += appliance->faults[f].part == but ? 0 : appliance->faults[f].prior;
    double at = sum * random_uniform(stream);
    int last = -1;
    for (int f = 0; f < appliance->fault_count; f++) {
        if (appliance->faults[f].part == but) continue;
        last = f;
        at -= appliance->faults[f].prior;
        if (at < 0) return f;
    }
    return last;
}

static double draw_severity(const FaultMode *mode, RandomStream *stream)
{
    const Severity *severity = &mode->severity;
    const double share = random_uniform(stream);
    if (!mode->has_severity) return 0;
    if (severity->is_log && severity->from > 0 && severity->to > 0)
        return severity->from * math_pow(severity->to / severity->from, share);
    return severity->from + (severity->to - severity->from) * share;
}

static void draw_truth(World *world)
{
    const Appliance *appliance = world->assumed->appliance;
    RandomStream stream = world__stream(world, ABOUT_FAULT, 0);
    if (random_uniform(&stream) < appliance->nothing_wrong_prior) return;
    const bool is_pair = random_uniform(&stream) < appliance->catalogue->second_fault;
    for (int i = 0; i < (is_pair ? 2 : 1); i++) {
        world->drawn[i] = draw_fault(appliance, i ? appliance->faults[world->drawn[0]].part : -1, &stream);
        world->severity[i] = draw_severity(appliance->faults[world->drawn[i]].mode, &stream);
        world->drawn_count++;
    }
}

/* --- the oven as built --- */

static bool is_kept(const World *world, int part)
{
    const Appliance *appliance = world->assumed->appliance;
    bool is_broken = part == world->assumed->thermal.cutout;
    for (int i = 0; i < world->drawn_count; i++) is_broken |= appliance->faults[world->drawn[i]].part == part;
    return is_broken;
}

static Fault fault_as_drawn(const World *world, int number)
{
    Fault fault = world->assumed->appliance->faults[number];
    fault.severity[0] = fault.severity[fault.severity_count / 2];
    fault.severity_count = 1;
    for (int i = 0; i < world->drawn_count; i++)
        if (world->drawn[i] == number) fault.severity[0] = world->severity[i];
    return fault;
}

static bool keep_faults(World *world, Part *parts)
{
    const Appliance *assumed = world->assumed->appliance;
    Fault *faults = ARENA_ARRAY(&world->arena, Fault, (size_t)assumed->fault_count + 1);
    if (!faults) return false;
    int count = 0;
    for (int p = 0; p < assumed->part_count; p++) {
        const Part *from = &assumed->parts[p];
        parts[p].first_fault = count;
        parts[p].fault_count = is_kept(world, p) ? from->fault_count : 0;
        for (int i = 0; i < parts[p].fault_count; i++)
            faults[count++] = fault_as_drawn(world, from->first_fault + i);
    }
    world->built.faults = faults;
    world->built.fault_count = count;
    return true;
}

/* A tolerance is a relative standard uncertainty; in the logarithm, so that no contact gets below 0. */
static void vary_branch(Branch *branch, RandomStream *stream)
{
    const double factor = math_exp(branch->tolerance * random_normal(stream));
    branch->cold_ohm *= factor;
    branch->hot_ohm *= factor;
    branch->reactance_ohm *= factor;
}

/* A sensor's resistance comes from its kind at its temperature, so the kind is what varies. */
static bool vary_sensor(World *world, Part *part, double tolerance, RandomStream *stream)
{
    if (!part->described || !part->described->has_sensor) return true;
    DescribedPart *described = ARENA_ARRAY(&world->arena, DescribedPart, 1);
    if (!described) return false;
    const double factor = 1 + tolerance * random_normal(stream);
    *described = *part->described;
    described->sensor.zero_ohm *= factor;
    described->sensor.r25_ohm *= factor;
    part->described = described;
    return true;
}

static bool vary_values(World *world, Branch *branches, Part *parts)
{
    RandomStream stream = world__stream(world, ABOUT_VALUES, 0);
    const double supply = 1 + half_width(&stream, SUPPLY_HALF_WIDTH);
    for (int leg = 0; leg < 2; leg++) world->built.leg_volt[leg] *= supply;
    for (int b = 0; b < world->built.branch_count; b++) {
        if (branches[b].type == BRANCH_SENSOR &&
            !vary_sensor(world, &parts[branches[b].part], branches[b].tolerance, &stream))
            return false;
        vary_branch(&branches[b], &stream);
    }
    return true;
}

static bool build(World *world)
{
    const Appliance *assumed = world->assumed->appliance;
    world->built = *assumed;
    Branch *branches = ARENA_ARRAY(&world->arena, Branch, (size_t)assumed->branch_count);
    Part *parts = ARENA_ARRAY(&world->arena, Part, (size_t)assumed->part_count);
    if (!branches || !parts) return false;
    memcpy(branches, assumed->branches, (size_t)assumed->branch_count * sizeof *branches);
    memcpy(parts, assumed->parts, (size_t)assumed->part_count * sizeof *parts);
    world->built.branches = branches;
    world->built.parts = parts;
    return keep_faults(world, parts) && vary_values(world, branches, parts);
}

/* --- the oven --- */

static void vary(double *coefficients, int count, RandomStream *stream)
{
    for (int i = 0; i < count; i++) coefficients[i] *= math_exp(COEFFICIENT_SPREAD * random_normal(stream));
}

/* Sums of the star follow from its legs; the wire's curve is a property of nichrome; the kitchen is the
 * kitchen. Its maker calibrated the type, not this oven. */
static void vary_oven(World *world)
{
    RandomStream stream = world__stream(world, ABOUT_OVEN, 0);
    OvenNetwork *network = &world->model.thermal.network;
    const OvenNetwork same = *network;
#define X(name, count) vary(network->name, count, &stream);
    OVEN_NETWORK(X)
#undef X
    memcpy(network->wire, same.wire, sizeof same.wire);
    memcpy(network->star_closed, same.star_closed, sizeof same.star_closed);
    memcpy(network->star_opened, same.star_opened, sizeof same.star_opened);
    memcpy(network->ambient, same.ambient, sizeof same.ambient);
    memcpy(network->ambient_fourth, same.ambient_fourth, sizeof same.ambient_fourth);
    for (int t = 0; t < THERMAL_FAMILY_COUNT; t++) world->family.trait[t] = random_normal(&stream);
    for (int f = 0; f < world->built.function_count; f++)
        world->model.thermal.functions[f].correction_kelvin =
            world->assumed->thermal.functions[f].correction_kelvin;
}

/* --- the meter --- */

/* Within its stated accuracy; a thermocouple of class 2, +-2.5 K here (IEC 60584-1). */
static void draw_meter(World *world)
{
    RandomStream stream = world__stream(world, ABOUT_METER, 0);
    const Meter *meter = &world->assumed->meter;
    for (int mode = 0; mode < METER_MODE_COUNT; mode++)
        world->meter_error.ratio[mode] = half_width(&stream, meter->dial[mode].accuracy.ratio);
    world->meter_error.lead_ohm = half_width(&stream, meter->lead_half_width_ohm);
    world->meter_error.probe_kelvin = half_width(&stream, 2.5);
    const double taken = random_uniform(&stream), kelvin = OFFSET_KELVIN * random_normal(&stream);
    world->set_offset_kelvin = taken < OFFSET_TAKEN ? kelvin : 0;
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
}

static bool try_begin(World *world, Error *error)
{
    DiagnosisModel *assumed = world->assumed;
    world->arena = arena_new(256 * MIB);
    world->runs = arena_new(64 * MIB);
    draw_truth(world);
    draw_meter(world);
    if (!build(world)) return error_memory(error);
    if (!diagnosis_begin(&world->built, assumed->circuit.ambient_celsius, &assumed->meter, NULL,
                         &world->arena, &world->model, error))
        return false;
    if (assumed->usual_function >= 0) vary_oven(world);
    world_reset(world);
    return world__listen(world, error);
}

bool world_begin(DiagnosisModel *assumed, uint64_t seed, World *world, Error *error)
{
    assert(assumed->appliance->check_count <= WORLD_MOST_CHECKS);
    for (uint64_t attempt = 0;; attempt++) {
        memset(world, 0, sizeof *world);
        world->assumed = assumed;
        world->seed = seed;
        world->attempt = attempt;
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

/* What an adjustment can cure, and no further than the setting goes. */
static bool is_adjusted(const World *world, int i, int part)
{
    const Fault *fault = left_fault(world, i);
    const DescribedRegulation *regulation = &world->assumed->appliance->description->regulation;
    const double wanted = -world->severity[world->left[i]];
    const bool is_setting = fault->mode->effect == EFFECT_SHIFT;
    const bool is_in_reach =
        !is_setting || fault->mode->setting ||
        (wanted >= regulation->offset_from_kelvin && wanted <= regulation->offset_to_kelvin);
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

static bool is_any(const World *world, int part, bool (*holds)(const World *, int, int))
{
    for (int i = 0; i < world->left_count; i++)
        if (holds(world, i, part)) return true;
    return false;
}

bool world_is_cured_by(const World *world, int part) { return is_any(world, part, is_cured); }
bool world_is_adjusted_by(const World *world, int part) { return is_any(world, part, is_adjusted); }

static void mend(World *world, int part, bool (*holds)(const World *, int, int))
{
    RandomStream stream = world__stream(world, ABOUT_REPAIR, (uint64_t)world->repairs++);
    const bool helps = random_uniform(&stream) >= FAILS;
    int kept = 0;
    for (int i = 0; i < world->left_count; i++)
        if (!helps || !holds(world, i, part)) world->left[kept++] = world->left[i];
    world->left_count = kept;
}

void world_replace(World *world, int part) { mend(world, part, is_cured); }

/* Where the control was right its new setting is wrong by so much. */
void world_adjust(World *world, int part, double kelvin)
{
    if (!world_is_adjusted_by(world, part) && isfinite(kelvin)) world->adjusted_kelvin += kelvin;
    mend(world, part, is_adjusted);
}
