/* closing.c: what is measured and looked over between a repair and the covers (safety, S8).
 *
 * A new part can have pinched a wire, and a ground wire that was off can have stayed off: the run shows
 * neither. So once a part has been replaced, and while hands are still there, the ground is read and the
 * insulation of what was fitted, and what is in sight is looked over: a terminal that runs hot beside the
 * part that failed is there again in a year (common practice, no source). No place is opened for it, which
 * keeps it at a few minutes; what lies behind a cover that stayed on was not disturbed.
 *
 * That protective conductor and insulation are verified after a repair, before the appliance is used again,
 * is what EN 50678 asks for in Europe (from memory); the readings here are those of an ohmmeter, and no
 * substitute for the instrument that a local code may want. */
#include <assert.h>

#include "core/plan/plan_private.h"

int plan__unproved_part(const Planning *planning)
{
    const Call *call = planning->standing->call;
    int part = -1;
    for (int e = 0; e < call->entry_count; e++) {
        const Entry *entry = &call->entries[e];
        if (entry->is_struck) continue;
        if (entry->kind == ENTRY_RUN) part = -1;
        if (entry->kind == ENTRY_REPAIR && !call_is_adjusted(entry))
            part = planning->model->appliance->parts[entry->part].replaced_with;
    }
    return part;
}

static bool is_within_reach(const Situation *situation, const Check *check)
{
    for (int i = 0; i < 2; i++)
        if (check->places[i] >= 0 && !situation->is_open[check->places[i]]) return false;
    return true;
}

static bool joins(const Check *check, int one, int other)
{
    return (check->from == one && check->to == other) || (check->from == other && check->to == one);
}

/* Neutral to frame at the terminal block: the way of a fault current. Insulation: all that hangs together
 * with the part at once, or else frame to anything of the part itself but the neutral. Each place over which
 * one can look. */
typedef enum { WANTED_GROUND, WANTED_ALL_INSULATION, WANTED_INSULATION, WANTED_GLANCE, WANTED_COUNT } Wanted;

static bool is_wanted(const Appliance *appliance, int number, int part, Wanted wanted)
{
    const Check *check = &appliance->checks[number];
    switch (wanted) {
    case WANTED_GLANCE: return check->kind == CHECK_GLANCE;
    case WANTED_ALL_INSULATION: return number == appliance->parts[part].insulation_check;
    case WANTED_GROUND:
        return check->kind == CHECK_OHM && check->lift_count == 0 &&
               joins(check, appliance->neutral, appliance->frame);
    default:
        return check->kind == CHECK_OHM && check->part == part &&
               (check->from == appliance->frame || check->to == appliance->frame) &&
               !is_wanted(appliance, number, part, WANTED_GROUND);
    }
}

int plan__list_closing(const Planning *planning, const Situation *situation, int part, bool is_to_come,
                       int checks[PLAN_MOST_CLOSING])
{
    const Appliance *appliance = planning->model->appliance;
    bool is_found[WANTED_COUNT] = {false};
    int count = 0;
    if (part < 0 || appliance->parts[part].branch_count == 0) return 0;
    for (int wanted = 0; wanted < WANTED_COUNT; wanted++)
        for (int c = 0; c < appliance->check_count && count < PLAN_MOST_CLOSING; c++) {
            if (wanted == WANTED_INSULATION && is_found[WANTED_ALL_INSULATION]) break;
            if (!is_wanted(appliance, c, part, (Wanted)wanted) ||
                !is_within_reach(situation, &appliance->checks[c]))
                continue;
            is_found[wanted] = true;
            if (is_to_come || !plan__is_done(planning->model, planning->standing->call, c))
                checks[count++] = c;
            if (wanted != WANTED_GLANCE) break; /* one reading is enough, one look serves one place */
        }
    return count;
}

Step plan__closing(const Planning *planning, const Situation *situation, int number, StepRole role,
                   double rest_minor)
{
    const Check *check = &planning->model->appliance->checks[number];
    Step step = {.kind = STEP_CHECK,
                 .role = role,
                 .check = number,
                 .entry = -1,
                 .part = check->part,
                 .is_closing = true,
                 .second = check->second + planning->terms->noting_second};
    step.needs = safety_of_check(planning->model->appliance, check, planning->standing->call);
    plan__walk(planning, situation, check->places, 2,
               check->kind == CHECK_GLANCE ? plan__power_for_hands(planning, check->places[0])
                                           : DECISION_POWER_OFF,
               &step);
    step.cost_minor = (long long)(plan__labour(planning->terms, step.second) + 0.5);
    step.expected_total_minor = step.cost_minor + (long long)(rest_minor + 0.5);
    return step;
}
