/* judge.c: what is wrong with a description although an appliance can be built from it; see appliance.h.
 *
 * Lives here: the questions asked of the wiring, each a function of its own, and the sentence and the hint
 * that go with it. Not here: what makes building impossible (build and its stages).
 *
 * Policy: a finding is something that a technician would never have drawn. It does not stop the build,
 * since a file is often half-written when it is judged for the first time; `appliance check` reports it as
 * bad input. No finding may rest on taste, and every shipped appliance has none. */
#include "core/appliance/appliance_private.h"

#include "base/text.h"

#include <assert.h>

/* The findings so far, and what the questions share. `most` is more than all questions together can find. */
typedef struct {
    const Appliance *appliance;
    Arena *arena;
    Finding *findings;
    int count, most;
    int *joints;
    bool is_out_of_memory;
} Judge;

/* One finding: `before` the name, the name, and what stands behind it. */
static void find(Judge *judge, int line, const char *hint, const char *before, const char *name,
                 const char *behind)
{
    TextBuilder text = text_builder(judge->arena, 400);
    text_addf(&text, "%s %s%s", before, name, behind);
    assert(judge->count < judge->most);
    judge->is_out_of_memory = judge->is_out_of_memory || !text.bytes;
    judge->findings[judge->count++] = (Finding){line, text_string(&text), hint};
}

/* ', bake' behind the name of a part. */
static const char *branch_of(Judge *judge, const char *branch)
{
    TextBuilder text = text_builder(judge->arena, 200);
    text_addf(&text, ", %s", branch);
    return text_string(&text);
}

static const int *joints_of(const Judge *judge, int function)
{
    return judge->joints + (size_t)function * (size_t)judge->appliance->mark_count;
}

/* Where in the file the reader should look; 0 when the thing is not written there. */
static int line_of(const Judge *judge, int part)
{
    const DescribedPart *described = part < 0 ? NULL : judge->appliance->parts[part].described;
    return described ? described->line : 0;
}

/* A mark that no part owns was written in a wire only; the first such wire is where to look. */
static int line_of_wire(const Judge *judge, int mark)
{
    const Description *description = judge->appliance->description;
    for (int i = 0; i < description->wire_count; i++)
        if (text_equal(description->wires[i].from, judge->appliance->marks[mark].name) ||
            text_equal(description->wires[i].to, judge->appliance->marks[mark].name))
            return description->wires[i].line;
    return 0;
}

/* Parts of the appliance that conduct must be joined to something; a mark with one branch leads nowhere. */
static void judge_marks(Judge *judge)
{
    const Appliance *appliance = judge->appliance;
    for (int m = APPLIANCE_EARTH + 1; m < appliance->mark_count; m++) {
        const Mark *mark = &appliance->marks[m];
        int count = 0;
        for (int i = 0; i < appliance->branch_count; i++) {
            const Branch *branch = &appliance->branches[i];
            if (branch->type != BRANCH_GAP) count += branch->from == m || branch->to == m;
        }
        if (count > 1 || m == appliance->frame) continue;
        find(judge, mark->part < 0 ? line_of_wire(judge, m) : line_of(judge, mark->part),
             "look for a missing wire, or the same terminal written in two ways", "mark", mark->name,
             count ? " is joined to nothing" : " is used by no part");
    }
}

static bool is_ever_powered(const Judge *judge, int branch)
{
    for (int f = 0; f < judge->appliance->function_count; f++)
        if (appliance__is_powered(judge->appliance, joints_of(judge, f), branch)) return true;
    return false;
}

/* Duty patterns close contacts too: a broil relay may help in bake and be named nowhere else. */
static bool is_ever_closed(const Appliance *appliance, int branch)
{
    const Description *description = appliance->description;
    for (int f = 0; f < appliance->function_count; f++)
        if (appliance__function_closes(appliance, f, branch)) return true;
    for (int f = 0; f < description->function_count; f++)
        for (int i = 0; i < description->functions[f].pattern.duty_count; i++)
            if (appliance_find_contact(appliance, description->functions[f].pattern.duties[i].contact) ==
                branch)
                return true;
    return false;
}

/* Three questions to every branch: can it get power, does anything close it, does anything drive it? */
static void judge_branches(Judge *judge)
{
    const Appliance *appliance = judge->appliance;
    for (int i = 0; i < appliance->branch_count; i++) {
        const Branch *branch = &appliance->branches[i];
        const Part *owner = &appliance->parts[branch->part];
        const KindBranch *built =
            owner->kind->has_ways ? &owner->kind->way : &owner->kind->branches[i - owner->first_branch];
        const char *part = owner->name;
        const int line = line_of(judge, branch->part);
        if (branch->rated_watt > 0 && !is_ever_powered(judge, i))
            find(judge, line, "follow its two marks to both conductors of the supply in one function",
                 "never any power for", part, branch_of(judge, branch->name));
        if (branch->type == BRANCH_CONTACT && !is_ever_closed(appliance, i))
            find(judge, line, "name it under 'closes' of a function", "no function closes the contact of",
                 part, branch_of(judge, branch->name));
        if (built->is_driven && branch->driver < 0)
            find(judge, line, "write driver: and the name of the control", "nothing drives the contact of",
                 part, branch_of(judge, branch->name));
    }
}

/* 'off' need not be written down; then the supply, whose short it would be, is the best place. */
static int line_of_function(const Judge *judge, int function)
{
    const Description *description = judge->appliance->description;
    for (int i = 0; i < description->function_count; i++)
        if (text_equal(description->functions[i].name, judge->appliance->functions[function].name))
            return description->functions[i].line;
    return description->supply.line;
}

/* Legs, neutral and earth must stay apart in every function, with nothing but contacts and wires counted. */
static void judge_shorts(Judge *judge)
{
    const Appliance *appliance = judge->appliance;
    for (int f = 0; f < appliance->function_count; f++) {
        const int *joint = joints_of(judge, f);
        const int first = appliance__leg_joint(appliance, joint, 0),
                  second = appliance__leg_joint(appliance, joint, 1);
        const int earth = joint[APPLIANCE_EARTH];
        if (first != earth && second != earth && first != second) continue;
        find(judge, line_of_function(judge, f),
             "follow the contacts that this function closes, from leg to leg", "function",
             appliance->functions[f].name,
             first == second ? " shorts the supply: the legs are joined"
                             : " shorts the supply: a leg is joined to the neutral or the frame");
    }
}

/* Mains must arrive at the terminal block with everything off, or no reading there means anything. */
static void judge_supply(Judge *judge)
{
    const Appliance *appliance = judge->appliance;
    const int line = appliance->description->supply.line;
    const int *joint = joints_of(judge, 0);
    if (joint[appliance->frame] != joint[APPLIANCE_EARTH])
        find(judge, line, "lead the frame's mark through cord and supply to mains", "the frame",
             appliance->marks[appliance->frame].name, " has no path to the earth");
    if (joint[appliance->neutral] != joint[APPLIANCE_EARTH])
        find(judge, line, "lead the neutral's mark through cord and supply to mains", "the neutral",
             appliance->marks[appliance->neutral].name, " has no path to the mains");
    for (int i = 0; i < appliance->description->supply.leg_count; i++) {
        if (joint[appliance->legs[i]] == appliance__leg_joint(appliance, joint, i)) continue;
        find(judge, line, "lead the leg's mark through cord and breaker to the supply", "the leg",
             appliance->marks[appliance->legs[i]].name, " has no path to the mains with everything off");
    }
}

/* A control that cannot run, a sensor that nobody reads, a place that nothing is in. */
static void judge_control(Judge *judge)
{
    const Appliance *appliance = judge->appliance;
    if (appliance->control >= 0 && appliance->control_power >= 0 &&
        !appliance__is_powered(appliance, joints_of(judge, 0), appliance->control_power))
        find(judge, line_of(judge, appliance->control),
             "wire its power terminals to the supply, past all contacts", "the control",
             appliance->parts[appliance->control].name, " has no power with everything off");
    const DescribedRegulation *regulation = &appliance->description->regulation;
    if (regulation->senses && appliance_find_part(appliance, regulation->senses) < 0)
        find(judge, regulation->line, "name the sensor, or the thermostat itself", "regulation senses",
             regulation->senses, ", which is no part");
}

/* The first place is where one stands and needs no reason; another is there because something is reached or
 * seen in it, or lies behind it. */
static void judge_places(Judge *judge)
{
    const Description *description = judge->appliance->description;
    for (int i = 1; i < description->place_count; i++) {
        bool is_used = false;
        for (int p = 0; p < judge->appliance->part_count; p++) {
            const Part *part = &judge->appliance->parts[p];
            is_used = is_used || part->place == i || part->seen_from == i;
        }
        for (int k = 0; k < description->place_count; k++)
            is_used = is_used || text_equal(description->places[k].after, description->places[i].name);
        if (!is_used)
            find(judge, description->places[i].line, "take it out, or let a part be reached there",
                 "nothing is reached at the place", description->places[i].name, "");
    }
}

bool appliance_judge(const Appliance *appliance, Arena *arena, const Finding **findings, int *count,
                     Error *error)
{
    const size_t marks = (size_t)appliance->mark_count, functions = (size_t)appliance->function_count;
    Judge judge = {.appliance = appliance, .arena = arena};
    judge.most = appliance->mark_count + 3 * appliance->branch_count + appliance->function_count +
                 appliance->description->place_count + 8;
    judge.findings = ARENA_ARRAY(arena, Finding, (size_t)judge.most);
    judge.joints = ARENA_ARRAY(arena, int, marks *functions);
    if (!judge.findings || !judge.joints) return error_memory(error);
    for (int f = 0; f < appliance->function_count; f++)
        appliance__find_joints(appliance, f, judge.joints + (size_t)f * marks);
    judge_supply(&judge);
    judge_control(&judge);
    judge_marks(&judge);
    judge_branches(&judge);
    judge_shorts(&judge);
    judge_places(&judge);
    *findings = judge.findings;
    *count = judge.count;
    return judge.is_out_of_memory ? error_memory(error) : true;
}
