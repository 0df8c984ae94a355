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

void world__draw_truth(World *world)
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

bool world__build(World *world)
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
void world__vary_oven(World *world)
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
void world__draw_meter(World *world)
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
