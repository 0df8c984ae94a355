/* faults.c: every way in which every part can fail, with its prior; see appliance.h.
 *
 * A fault mode that happens to 'each' way of a part makes one fault for each way, of the same weight.
 *
 * Invariants: (1) faults of one part follow each other, and parts do so in their order; (2) a fault names
 * at most APPLIANCE_MOST_EFFECTS branches, all of its own part; (3) the priors of all faults and of the
 * sound oven sum to 1. So a part with many ways fails more often than one with few, as in life: each of its
 * ways may burn. */
#include "core/appliance/appliance_private.h"

#include "base/text.h"

#include <assert.h>
#include <math.h>

/* Does this effect concern that branch at all? Only the legs of the mains can sag. */
static bool concerns(const FaultMode *mode, const Branch *branch)
{
    return mode->effect != EFFECT_SAG || branch->leg >= 0;
}

static bool add_effect(Builder *builder, Fault *fault, int branch)
{
    if (!concerns(fault->mode, &builder->branches[branch])) return true;
    if (fault->branch_count == APPLIANCE_MOST_EFFECTS)
        return appliance__refuse(builder, ERROR_TOO_LARGE, builder->parts[fault->part].described->line,
                                 builder->parts[fault->part].name,
                                 "at most %d branches for '%s', which affects all", APPLIANCE_MOST_EFFECTS,
                                 fault->mode->name);
    fault->branches[fault->branch_count++] = branch;
    return true;
}

/* A fault that no meter sees has no branches: it shows by looks, complaints and temperature. One that stops
 * the control has none either, since it acts through every contact that is driven. */
static bool set_branches(Builder *builder, Fault *fault, int way)
{
    const Part *part = &builder->parts[fault->part];
    const FaultMode *mode = fault->mode;
    if (!effect_is_electric(mode->effect)) return true;
    if (mode->branch == KIND_EACH_WAY) return add_effect(builder, fault, part->first_branch + way);
    if (mode->branch >= 0) {
        assert(mode->branch < part->branch_count);
        return add_effect(builder, fault, part->first_branch + mode->branch);
    }
    for (int i = 0; i < part->branch_count; i++)
        if (!add_effect(builder, fault, part->first_branch + i)) return false;
    return true;
}

/* `part.fault`; where several ways can have it, `part.way-fault`. Names are what notes, JSON and demo calls
 * hold on to, so they follow from the file alone. */
static bool set_name(Builder *builder, Fault *fault, int way)
{
    const Part *part = &builder->parts[fault->part];
    TextBuilder name = text_builder(builder->arena, 200);
    if (way >= 0 && part->branch_count > 1)
        text_addf(&name, "%s.%s-%s", part->name, builder->branches[part->first_branch + way].name,
                  fault->mode->name);
    else
        text_addf(&name, "%s.%s", part->name, fault->mode->name);
    fault->name = text_string(&name);
    return name.bytes ? true : error_memory(builder->error);
}

/* `way` is -1 for a mode that makes one fault only. */
static bool add_fault(Builder *builder, int part, const FaultMode *mode, int way)
{
    Fault *fault = &builder->faults[builder->appliance->fault_count++];
    *fault = (Fault){.mode = mode, .part = part, .severity_count = 1, .prior = mode->weight};
    if (mode->has_severity) {
        fault->severity_count = KIND_POINTS(mode->severity.samples);
        for (int i = 0; i < fault->severity_count; i++)
            fault->severity[i] = kind_severity_point(&mode->severity, i);
    }
    return set_name(builder, fault, way) && set_branches(builder, fault, way);
}

/* A catalogue that speaks of a branch which this kind does not have is the catalogue's error, yet it shows
 * here, where the part's line is known. */
static bool add_faults_of(Builder *builder, int number)
{
    Part *part = &builder->parts[number];
    part->first_fault = builder->appliance->fault_count;
    for (int m = 0; m < part->kind->mode_count; m++) {
        const FaultMode *mode = &part->kind->modes[m];
        const bool is_each = mode->branch == KIND_EACH_WAY;
        if (mode->branch >= part->branch_count && effect_is_electric(mode->effect))
            return appliance__refuse(builder, ERROR_INCONSISTENT, part->described ? part->described->line : 0,
                                     mode->name, "a fault of a branch that a %s has", part->kind->name);
        for (int way = 0; way < (is_each ? part->branch_count : 1); way++)
            if (!add_fault(builder, number, mode, is_each ? way : -1)) return false;
    }
    part->fault_count = builder->appliance->fault_count - part->first_fault;
    return true;
}

/* Weights become probabilities: all single faults and the sound oven together are 1. */
static bool set_priors(Builder *builder)
{
    Appliance *appliance = builder->appliance;
    double sum = builder->appliance->catalogue->nothing_wrong_weight;
    for (int i = 0; i < appliance->fault_count; i++) sum += builder->faults[i].prior;
    if (!(sum > 0) || !isfinite(sum))
        return appliance__refuse(builder, ERROR_MISSING, 0, "weights of faults",
                                 "at least one weight above 0");
    for (int i = 0; i < appliance->fault_count; i++) builder->faults[i].prior /= sum;
    appliance->nothing_wrong_prior = builder->appliance->catalogue->nothing_wrong_weight / sum;
    return true;
}

/* Counted generously first: a mode makes one fault, or one for each branch. */
bool appliance__add_faults(Builder *builder)
{
    size_t most = 0;
    for (int i = 0; i < builder->appliance->part_count; i++) {
        const Part *part = &builder->parts[i];
        most += (size_t)part->kind->mode_count * (size_t)(part->branch_count > 1 ? part->branch_count : 1);
    }
    builder->faults = ARENA_ARRAY(builder->arena, Fault, most);
    if (!builder->faults) return error_memory(builder->error);
    builder->appliance->faults = builder->faults;
    for (int i = 0; i < builder->appliance->part_count; i++)
        if (!add_faults_of(builder, i)) return false;
    assert((size_t)builder->appliance->fault_count <= most);
    return set_priors(builder);
}
