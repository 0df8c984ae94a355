/* situation.c: where the technician stands after the trail: what is open, power, heat, what is proved.
 *
 * The trail is all there is, and nobody is asked what really stands open: a wrong guess costs a minute in a
 * ranking and no more. What safety needs to know is worked out apart from it (core/safety), from the entries
 * alone. */
#include <assert.h>

#include "core/plan/plan_private.h"

/* To get behind a place, all that lies before it was opened, dead where that is done dead. */
static void open_place(const Appliance *appliance, Situation *situation, int place)
{
    const Description *description = appliance->description;
    /* A place lies behind at most all the others, so this ends. */
    for (int depth = 0; place >= 0 && depth < description->place_count; depth++) {
        assert(place < DESCRIPTION_MOST_PLACES);
        if (!situation->is_open[place] && description->places[place].needs_power_off)
            situation->power_on = false;
        if (description->places[place].needs_cool_oven) situation->is_hot = false;
        situation->is_open[place] = true;
        place = description_place_before(description, place);
    }
}

/* For a run everything was closed, and the oven is hot after it. */
static void take_temperature(const DiagnosisModel *model, const Entry *entry, Situation *situation)
{
    const bool has_repair = situation->has_repair;
    DecisionPhase phase = situation->phase;
    int runs = situation->runs;
    if (entry->kind == ENTRY_RUN && diagnosis_weighs(model, entry)) {
        phase = diagnosis_is_right(model, entry) ? DECISION_PROVED : DECISION_FAILED;
        runs++;
    }
    *situation =
        (Situation){.power_on = true, .is_hot = true, .phase = phase, .has_repair = has_repair, .runs = runs};
}

/* From afar what is switched on is watched; close up one looks at a part from where it is seen. */
static void look(const Appliance *appliance, const Entry *entry, Situation *situation)
{
    if (entry->function >= 0)
        situation->power_on = true;
    else if (appliance->catalogue->looks[entry->words[0]].way == LOOK_STRIP)
        return; /* the door is closed for it, and opened again */
    else if (entry->is_glance)
        open_place(appliance, situation, entry->place);
    else
        open_place(appliance, situation, appliance->parts[entry->part].seen_from);
}

static void mend(const Appliance *appliance, const Entry *repair, Situation *situation)
{
    const bool is_adjusted = call_is_adjusted(repair);
    open_place(appliance, situation,
               is_adjusted ? plan__adjusting_place(appliance, repair->part)
                           : appliance->parts[repair->part].place);
    situation->power_on = situation->power_on && is_adjusted;
    situation->phase = DECISION_REPAIRED;
    situation->has_repair = true;
    situation->runs = 0;
}

/* Where a probe was, something was open, and a clamp needs but one end of a wire; a repair is made dead. */
Situation plan__situation(const DiagnosisModel *model, const Call *call)
{
    const Appliance *appliance = model->appliance;
    Situation situation = {.power_on = true, .phase = DECISION_FRESH};
    for (int e = 0; e < call->entry_count; e++) {
        const Entry *entry = &call->entries[e];
        if (entry->is_struck) continue;
        if (entry->kind == ENTRY_READING) {
            open_place(appliance, &situation, appliance->marks[entry->connection.from].place);
            if (entry->connection.kind != READING_AMP)
                open_place(appliance, &situation, appliance->marks[entry->connection.to].place);
            situation.power_on = entry->connection.power_on;
        } else if (entry->kind == ENTRY_LOOK) {
            look(appliance, entry, &situation);
        } else if (entry->kind == ENTRY_DEAD) {
            situation.power_on = false;
        } else if (entry->kind == ENTRY_SETTING) {
            situation.power_on = true; /* a display without power shows nothing */
        } else if (entry->kind == ENTRY_REPAIR) {
            mend(appliance, entry, &situation);
        } else if (entry->kind == ENTRY_RUN || entry->kind == ENTRY_SPOT) {
            take_temperature(model, entry, &situation);
        }
    }
    return situation;
}

/* A repair makes every check worth doing again: the oven is another one. */
bool plan__is_done(const DiagnosisModel *model, const Call *call, int check)
{
    bool is_done = false;
    for (int e = 0; e < call->entry_count; e++) {
        const Entry *entry = &call->entries[e];
        if (entry->is_struck) continue;
        if (entry->kind == ENTRY_REPAIR)
            is_done = false;
        else if (diagnosis_is_check(model, entry, check))
            is_done = true;
    }
    return is_done;
}

int plan__times_repaired(const Call *call, int part, bool is_adjustment)
{
    int times = 0;
    for (int e = 0; e < call->entry_count; e++) {
        const Entry *entry = &call->entries[e];
        times += !entry->is_struck && entry->kind == ENTRY_REPAIR && entry->part == part &&
                 call_is_adjusted(entry) == is_adjustment;
    }
    return times;
}
