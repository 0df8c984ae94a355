/* made.c: see made.h. */
#include "made.h"

#include <assert.h>
#include <string.h>

static const PartKind plain = {.name = "plain"}, wiring = {.name = "wire", .role = "wiring"};

void made_begin(Made *made, int marks)
{
    assert(marks <= MADE_MOST_MARKS);
    memset(made, 0, sizeof *made);
    for (int m = 0; m < marks; m++) made->marks[m] = (Mark){.name = "mark", .part = -1};
    made->description.supply.hertz = 60;
    made->off.name = "off";
    made->appliance = (Appliance){.name = "made",
                                  .description = &made->description,
                                  .marks = made->marks,
                                  .mark_count = marks,
                                  .branches = made->branches,
                                  .parts = made->parts,
                                  .faults = made->faults,
                                  .functions = &made->off,
                                  .function_count = 1,
                                  .frame = 1,
                                  .control = -1,
                                  .control_power = -1,
                                  .control_input = -1};
}

static int add(Made *made, const PartKind *kind, const Branch *branch)
{
    const int number = made->appliance.branch_count++;
    assert(number < MADE_MOST_BRANCHES);
    made->branches[number] = *branch;
    made->branches[number].part = number;
    made->parts[number] = (Part){
        .name = "part", .kind = kind, .first_branch = number, .branch_count = 1, .replaced_with = number};
    made->appliance.part_count++;
    return number;
}

int made_branch(Made *made, BranchType type, int from, int to, double ohm)
{
    const Branch branch = {.name = "branch",
                           .from = from,
                           .to = to,
                           .type = type,
                           .cold_ohm = ohm,
                           .hot_ohm = ohm,
                           .driver = -1,
                           .leg = -1};
    return add(made, &plain, &branch);
}

int made_wire(Made *made, int from, int to, double ohm)
{
    const int number = made_branch(made, BRANCH_LINK, from, to, ohm);
    made->parts[number].kind = &wiring;
    return number;
}

int made_leg(Made *made, int to, double ohm, double volt, double degree)
{
    const int number = made_branch(made, BRANCH_LINK, APPLIANCE_EARTH, to, ohm);
    const int leg = made->appliance.legs[0] == 0 ? 0 : 1;
    made->branches[number].leg = leg;
    made->appliance.legs[leg] = to;
    made->appliance.leg_volt[leg] = volt;
    made->appliance.leg_degree[leg] = degree;
    return number;
}

int made_fault(Made *made, int branch, EffectType effect, double severity)
{
    const int number = made->appliance.fault_count++;
    assert(number < MADE_MOST_FAULTS);
    made->modes[number] = (FaultMode){.name = "fault", .effect = effect};
    made->faults[number] = (Fault){.name = "fault",
                                   .mode = &made->modes[number],
                                   .part = branch,
                                   .branches = {branch},
                                   .branch_count = 1,
                                   .severity = {severity},
                                   .severity_count = 1};
    return number;
}
